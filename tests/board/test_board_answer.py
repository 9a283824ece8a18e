"""What the signal board says of a configuration is what the rest of the program says of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import networkx as nx
import pytest
from chosen_jobs import PATHS

from boostcarb import pipeline
from boostcarb.board.answer import answer_record, clashes
from boostcarb.board.dial import dial_record
from boostcarb.board.repair import job_record, repair_record
from boostcarb.board.scene import scene_record
from boostcarb.board.signals import spray_record, trace_record
from boostcarb.board.state import deciding_items, states_record
from boostcarb.board.study import Asked, Study
from boostcarb.description.job import Job
from boostcarb.description.library import read_job
from boostcarb.description.source import read_document, validate
from boostcarb.errors import BadDescription
from boostcarb.network.model import Network
from boostcarb.solving.contents import is_fuel_source

SCENARIOS = Path(__file__).parents[2] / "scenarios"
FILES = PATHS
ONE_EACH = [path for path in FILES if path.stem in {
    "street_blow_through", "fuel_side_blow_through", "step_up_pistons_blow_through_e85", "side_draught_in_pressure_box",
    "constant_depression_pair_blow_through",
}]  # fmt: skip


def study_of(name: str) -> Study:
    return Study.of(read_job(SCENARIOS / f"{name}.yaml"))


@pytest.fixture(scope="module")
def street() -> Study:
    return study_of("street_blow_through")


@pytest.fixture(scope="module")
def found(street: Study) -> Asked:
    return Asked("blow_through", "found", {})


# --- answers -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_pressures_valves_and_findings_are_those_of_the_other_commands(path: Path) -> None:
    study = Study.of(read_job(path))
    mode = study.read.job.target
    bench = pipeline.set_up(study.read)
    record = answer_record(study, Asked(mode, "found", {}))
    rows = {row.name: row for row in bench.states(bench.network.found())}
    assert record["states"].keys() == rows.keys()
    for name, row in rows.items():
        state = record["states"][name]
        for space, values in row.spaces.items():
            if is_fuel_source(bench.network.spaces[space]):
                assert space not in state["spaces"], "the network does not know what the pump gives"
                continue
            assert state["spaces"][space] == pytest.approx([values.low_pa_abs, values.high_pa_abs], abs=0.5)
        for diaphragm, values_ in row.diaphragms.items():
            assert state["diaphragms"][diaphragm].get("valve") == values_.valve
    findings = bench.findings(bench.network.found())
    assert sorted(each["rule"] for each in record["findings"].values()) == sorted(each.rule for each in findings)
    assert not record["gone"]
    assert not any(each.get("new") for each in record["findings"].values())


def test_planned_base_has_nothing_that_blocks(street: Study) -> None:
    record = answer_record(street, Asked("blow_through", "planned", {}))
    assert (record["verdict"]["stop"], record["verdict"]["fix"]) == (0, 0)


def test_plugging_a_bowl_vent_is_a_new_finding_with_its_path_and_state(street: Study) -> None:
    """In blow-through the bowl must stand at bonnet pressure, or fuel stops flowing: by the pressures across a jet."""
    record = answer_record(street, Asked("blow_through", "planned", {"primary.bowl_vent": "plugged"}))
    new = [each for each in record["findings"].values() if each.get("new")]
    assert {"stop"} <= {each["severity"] for each in new}
    assert record["ways"]["primary.bowl_vent"]["how"] == "plugged"
    assert record["configuration"]["primary.bowl_vent"] == "plugged"
    assert any("primary.bowl" in each["spaces"] for each in new)


def test_taking_a_change_of_the_plan_back_brings_a_finding_back(street: Study) -> None:
    planned = street.bases("blow_through")["planned"]
    as_found = street.bench("blow_through").network.found()
    for item in [each for each, form in planned.items() if form != as_found[each]]:
        record = answer_record(street, Asked("blow_through", "planned", {item: as_found[item]}))
        assert "refused" in record or any(
            each.get("new") and each["severity"] != "advise" for each in record["findings"].values()
        ), item


def test_flow_goes_from_the_higher_pressure_to_the_lower(street: Study, found: Asked) -> None:
    record, scene = answer_record(street, found), scene_record(street, "blow_through")
    for name, state in record["states"].items():
        for way, direction in state["flows"].items():
            a, b = (state["spaces"][scene["ways"][way][end]] for end in ("a", "b"))
            above, below = (a, b) if direction > 0 else (b, a)
            assert above[1] > below[0], (name, way)
            assert way not in state["shut"]


def test_torn_diaphragm_neither_moves_nor_holds(street: Study) -> None:
    record = answer_record(street, Asked("blow_through", "found", {"primary.power_valve_diaphragm.tear": "torn"}))
    for state in record["states"].values():
        assert state["diaphragms"]["primary.power_valve_diaphragm"]["moves"] == "none"
    assert record["ways"]["primary.power_valve_diaphragm.tear"]["how"] == "open"


def test_parts_that_do_not_go_together_are_named(street: Study) -> None:
    network = street.bench("blow_through").network
    choke = network.items["choke"]
    electric = replace(choke.forms["electric"], not_with=(("primary.power_valve", frozenset({"bowl_opened"})),))
    other = replace(
        network, items={**network.items, "choke": replace(choke, forms={**choke.forms, "electric": electric})}
    )
    configuration = {**network.found(), "choke": "electric", "primary.power_valve": "bowl_opened"}
    (said,) = clashes(other, configuration, ["choke", "primary.power_valve"])
    assert "does not go with" in said
    assert not list(clashes(other, {**configuration, "choke": "removed"}, ["choke", "primary.power_valve"]))


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (Asked("blowthrough", "found", {}), "no such target"),
        (Asked("blow_through", "foundd", {}), "no base"),
        (Asked("blow_through", "proposed", {}), "there is none"),
        (Asked("blow_through", "found", {"primary.bowl_vnt": "open"}), "primary.bowl_vent"),
        (Asked("blow_through", "found", {"primary.bowl_vent": "plugedd"}), "plugged"),
    ],
)
def test_what_does_not_exist_is_named_with_the_nearest_word(street: Study, asked: Asked, said: str) -> None:
    with pytest.raises(BadDescription, match=said):
        answer_record(street, asked)


def test_a_job_without_boost_is_looked_at_in_its_own_target_only() -> None:
    modes = study_of("back_to_naturally_aspirated").modes()
    assert modes["naturally_aspirated"] is None
    assert "charge" in (modes["blow_through"] or "")


# --- scenes --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("mode", ["blow_through", "draw_through", "naturally_aspirated"])
def test_everything_of_the_network_is_on_the_scene(street: Study, mode: str) -> None:
    scene, network = scene_record(street, mode), street.bench(mode).network
    assert scene["spaces"].keys() == network.spaces.keys()
    assert scene["ways"].keys() == {way.name for way in network.ways}
    assert scene["diaphragms"].keys() == network.diaphragms.keys()
    assert scene["items"].keys() == network.items.keys()
    titles = [each["title"] for each in scene["items"].values()]
    assert len(set(titles)) == len(titles), "two things of one name"
    record = answer_record(street, Asked(mode, "found", {}))
    assert record["states"].keys() <= scene["states"].keys()


# --- the dial --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["street_blow_through", "roadster_draw_through", "back_to_naturally_aspirated"])
def test_dialed_wide_open_at_the_redline_is_the_state_of_the_catalogue(name: str) -> None:
    """Two ways to one state: the catalogue's own, and the dial's, whose throttle is computed otherwise."""
    study = study_of(name)
    mode = study.read.job.target
    bench = study.bench(mode)
    views = bench.situations.for_(bench.network.found()).views
    top = max(view.result.speed_rev_s for view in views)
    redline = [view for view in views if view.wide_open and not view.event and view.result.speed_rev_s == top]
    assert redline
    state = max(redline, key=lambda view: view.result.mass_flow_kg_s).result
    turbo = bench.situations.for_(bench.network.found()).inputs.turbo
    record = dial_record(
        study,
        Asked(mode, "found", {}),
        boost_pa=0.0 if turbo is None else turbo.boost_pa_gauge,
        throttle=1.0,
        rpm=60 * state.speed_rev_s,
    )
    for space in ("air_horn", "base", "manifold"):
        expected = state.pressures_pa_abs[space]
        assert record["state"]["spaces"][space][0] == pytest.approx(expected, abs=1.0)


def test_opening_the_throttle_never_lowers_the_manifold(street: Study, found: Asked) -> None:
    """At one speed more opening passes more air, and a speed-density engine swallows it at a higher pressure."""
    manifolds = [
        dial_record(street, found, boost_pa=40e3, throttle=step / 10, rpm=3000)["state"]["spaces"]["manifold"][0]
        for step in range(11)
    ]
    assert manifolds == sorted(manifolds)
    assert manifolds[0] < 0.5 * manifolds[-1]


def test_boost_out_of_reach_is_refused_without_a_number(street: Study, found: Asked) -> None:
    record = dial_record(street, found, boost_pa=900e3, throttle=1.0, rpm=3000)
    assert record.keys() == {"refused"}


def test_speed_above_the_redline_is_refused(street: Study, found: Asked) -> None:
    record = dial_record(street, found, boost_pa=0.0, throttle=1.0, rpm=29_000)
    assert "redline" in record["refused"]["what"]


# --- signals -------------------------------------------------------------------------------------------------------


def test_trace_reaches_what_a_general_graph_library_reaches(street: Study, found: Asked) -> None:
    """Oracle: networkx, descendants of a node in the directed graph of open ways; sources end a path."""
    network = street.bench("blow_through").network
    configuration = network.found()
    graph: nx.DiGraph[str] = nx.DiGraph()
    for way in network.existing(configuration):
        if not network.spaces[way.a].source or way.a == "primary.bowl":
            graph.add_edge(way.a, way.b)
        if not way.is_one_way(configuration) and not network.spaces[way.b].source:
            graph.add_edge(way.b, way.a)
    reaches = trace_record(street, found, "primary.bowl")["reaches"]
    into = {name for name, each in reaches.items() if each["how"] in ("into", "both")}
    assert into == nx.descendants(graph, "primary.bowl")


def test_trace_names_the_states_in_which_a_pressure_switch_lets_it_through(street: Study) -> None:
    """As planned a switch leads the chamber to the manifold under vacuum, else to the air horn."""
    planned = Asked("blow_through", "planned", {})
    chamber = "primary.power_valve_chamber"
    trace = trace_record(street, planned, "air_horn")["reaches"]
    states = trace[chamber]["states"]
    assert "full_boost_torque_peak" in states
    assert "idle" not in states
    assert "states" not in trace["primary.bowl"]
    for view in street.bench("blow_through").view(street.configuration(planned)).states:
        assert (view.name in states) == (chamber in trace_record(street, planned, "air_horn", view.name)["reaches"])


def test_spray_comes_out_where_a_general_graph_library_gets_to(street: Study, found: Asked) -> None:
    network = street.bench("blow_through").network
    configuration = network.found()
    graph: nx.DiGraph[str] = nx.DiGraph()
    through = set(spray_record(street, found, space="primary.power_valve_chamber")["ways"])
    for way in network.existing(configuration):
        for start, end in ((way.a, way.b), (way.b, way.a)):
            if not network.spaces[start].source and not (way.is_one_way(configuration) and start == way.b):
                graph.add_edge(start, end)
    for space in ("primary.power_valve_chamber", "primary.idle_well", "primary.bowl"):
        record = spray_record(street, found, space=space)
        expected = {name for name in nx.descendants(graph, space) if network.spaces[name].source}
        assert {each["space"] for each in record["exits"]} <= expected
        assert record["exits"]
    assert "primary.power_valve_vacuum_passage" in through


def test_spray_into_a_plugged_way_goes_nowhere(street: Study) -> None:
    asked = Asked("blow_through", "found", {"primary.bowl_external_vent": "plugged"})
    record = spray_record(street, asked, way="primary.bowl_external_vent")
    assert record["blocked"]
    assert not record["exits"]


# --- repairs and proposals -------------------------------------------------------------------------------------------


def test_repair_of_the_carburetor_as_found_is_the_plan(street: Study, found: Asked) -> None:
    record = repair_record(street, found)
    planned = pipeline.plan(pipeline.set_up(street.read))
    assert {(each["item"], each["to"]) for each in record["changes"]} == set(planned.outcome.changes)  # type: ignore[union-attr]
    assert all(each["why"] for each in record["changes"])


def test_after_its_repair_nothing_blocks(street: Study) -> None:
    changes = {"primary.bowl_vent": "plugged", "primary.bowl_external_vent": "plugged"}
    record = repair_record(street, Asked("blow_through", "found", changes))
    repaired = changes | {each["item"]: each["to"] for each in record["changes"]}
    verdict = answer_record(street, Asked("blow_through", "found", repaired))["verdict"]
    assert (verdict["stop"], verdict["fix"]) == (0, 0)


def test_a_change_that_helps_nothing_is_called_needless(street: Study) -> None:
    asked = Asked(
        "blow_through", "planned", {"primary.bowl_external_vent": "plugged", "secondary.bowl_external_vent": "plugged"}
    )
    items = {each["item"] for each in repair_record(street, asked)["needless"]}
    assert "primary.bowl_external_vent" in items


def test_what_has_failed_is_mended_first(street: Study) -> None:
    record = repair_record(street, Asked("blow_through", "found", {"primary.power_valve_diaphragm.tear": "torn"}))
    assert [each["item"] for each in record["mend"]] == ["primary.power_valve_diaphragm.tear"]


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_proposal_reads_back_as_the_job_with_its_changes(path: Path) -> None:
    study = Study.of(read_job(path))
    mode = study.read.job.target
    items = study.bench(mode).network.items
    offered = [(name, form) for name, item in items.items() for form, each in item.forms.items() if each.labor]
    changes = dict([each for each in offered if each[1] != items[each[0]].found][:3])
    assert len(changes) > 1
    record = job_record(study, Asked(mode, "found", changes))
    job = validate(Job, read_document(path, text=record["text"]))
    assert {item: state.is_ for item, state in (job.proposed or {}).items()} == changes
    assert job.model_copy(update={"proposed": None}) == study.read.job.model_copy(update={"proposed": None})


def test_proposal_keeps_the_comments_of_the_job(tmp_path: Path) -> None:
    text = (SCENARIOS / "street_blow_through.yaml").read_text(encoding="utf-8")
    path = tmp_path / "job.yaml"
    path.write_text(text + "# of old\nproposed:\n  choke: removed\n\n# the end\n", encoding="utf-8")
    study = Study.of(read_job(path))
    record = job_record(study, Asked("blow_through", "found", {"primary.bowl_external_vent": "plugged"}))
    assert record["text"].startswith(text.rstrip())
    assert "# the end" in record["text"]
    assert "# of old" in record["text"]
    assert "choke: removed" not in record["text"]
    path.write_text(record["text"], encoding="utf-8")
    again = job_record(Study.of(read_job(path)), Asked("blow_through", "found", {"choke": "removed"}))
    assert again["text"].count("# What was changed") == 1


def test_nothing_changed_is_nothing_to_propose(street: Study, found: Asked) -> None:
    with pytest.raises(BadDescription, match="nothing is changed"):
        job_record(street, found)


@pytest.mark.parametrize("path", ONE_EACH, ids=lambda path: path.stem)
def test_states_that_are_kept_are_those_that_would_be_worked_out(path: Path) -> None:
    """Whatever is not among the deciding items changes no pressure, valve, content or mixture.

    Items that do not hang on each other are changed together, each to its first other form, its second and so on:
    where none of them decides anything, all of them together do not either.
    """
    study = Study.of(read_job(path))
    mode = study.read.job.target
    bench = study.bench(mode)
    found = bench.network.found()
    base = study.states(mode, found)
    groups = apart(bench.network, sorted(bench.network.items.keys() - deciding_items(bench.network)))
    others = {name: [form for form in item.forms if form != item.found] for name, item in bench.network.items.items()}
    tried = set()
    for group in groups:
        for turn in range(max(len(others[item]) for item in group)):
            changes = {item: others[item][turn] for item in group if turn < len(others[item])}
            tried |= changes.items()
            other = {**found, **changes}
            assert study.states(mode, other) is base
            view = bench.view(other)
            mixtures = {group: bench.fuel.mixtures(other, group) for group in bench.family.family.groups}
            assert states_record(view, view.states, mixtures) == base, changes
    assert tried == {(item, form) for group in groups for item in group for form in others[item]}


def apart(network: Network, items: Sequence[str]) -> list[list[str]]:
    """Items in at least four groups, none beside one that it is there with or not, or that shares a way with it."""
    near = {item: {other for other, _ in network.items[item].conditions} for item in items}
    for way in network.ways:
        together = {item for item, _ in way.conditions}
        for item in together & near.keys():
            near[item] |= together - {item}
    groups: list[list[str]] = [[] for _ in range(4)]
    for number, item in enumerate(items):
        free = [
            group
            for group in [*groups[number % 4 :], *groups[: number % 4]]
            if not any(other in near[item] or item in near[other] for other in group)
        ]
        if not free:
            groups.append([])
            free = groups[-1:]
        free[0].append(item)
    return [group for group in groups if group]
