"""Plans: right, cheapest, explained, and stable."""

from __future__ import annotations

import itertools
import random

import pytest

from boostcarb import pipeline
from boostcarb.answers import Planned
from boostcarb.bench import Bench
from boostcarb.changes.offer import planning_problem
from boostcarb.changes.oracle import RulebookOracle
from boostcarb.errors import BadDescription
from boostcarb.planning.problem import Cost
from boostcarb.planning.search import Impossible, Plan


def changed(planned: Planned) -> dict[str, str]:
    assert isinstance(planned.outcome, Plan)
    return {choice.item: choice.option for choice in planned.outcome.changes}


def enrichment(planned: Planned) -> dict[str, str]:
    """The changes that concern the primary power valve and jets."""
    names = ("primary.power_valve", "primary.main_jets")
    return {item: form for item, form in changed(planned).items() if item.startswith(names)}


RICH_CRUISE = ["boost_mixture_at_cruise"]


def test_switched_reference_is_found_where_nothing_is_pinned(bench):
    """Rich in boost, lean at cruise: what a road engine needs."""
    found = enrichment(pipeline.plan(bench()))
    assert found["primary.power_valve_reference_line"] == "switched"
    assert found["primary.power_valve_vacuum_passage"] == "plugged"


def test_blanking_and_larger_jets_are_found_where_a_rich_cruise_is_accepted(bench):
    """An engine for the strip: no drilling at all."""
    planned = pipeline.plan(bench(pinned={"accept": RICH_CRUISE}))
    assert enrichment(planned) == {"primary.power_valve": "blank", "primary.main_jets": "for_full_boost"}
    accepted = [finding for finding in planned.remaining if finding.accepted]
    assert {finding.rule for finding in accepted} == set(RICH_CRUISE)
    assert planned.clean


def test_new_reference_is_found_where_a_rich_cruise_is_accepted_and_jets_and_valve_are_kept(bench):
    pins = {"accept": RICH_CRUISE, "keep": ["primary.main_jets", "primary.power_valve"]}
    found = enrichment(pipeline.plan(bench(pinned=pins)))
    assert found["primary.power_valve_reference_port"] == "open"
    assert found["primary.power_valve_reference_line"] == "air_horn"
    assert found["primary.power_valve_vacuum_passage"] == "plugged"


def test_another_valve_is_found_where_the_switch_is_avoided_and_its_vent_is_accepted(bench):
    pins = {
        "accept": ["torn_diaphragm_sprays_fuel"],
        "avoid": {"primary.power_valve_reference_line": ["switched"]},
    }
    found = enrichment(pipeline.plan(bench(pinned=pins)))
    assert found["primary.power_valve"] == "bowl_opened"
    assert found["primary.power_valve_vacuum_passage"] == "plugged"
    assert found["primary.power_valve_reference_line"] == "ambient"
    assert found["primary.main_jets"] == "for_wide_open"


def test_a_stop_cannot_be_accepted(bench):
    with pytest.raises(BadDescription, match="cannot be accepted"):
        bench(pinned={"accept": ["enrichment_shut_in_boost"]})


def test_pins_that_leave_no_plan_are_named_and_releasing_them_gives_one(bench):
    planned = pipeline.plan(bench(pinned={"keep": ["primary.main_jets", "primary.power_valve_reference_port"]}))
    outcome = planned.outcome
    assert isinstance(outcome, Impossible)
    assert not planned.clean
    assert outcome.pins
    assert set(outcome.release) <= set(planned.problem.pins)
    assert outcome.relaxed_plan is not None
    assert "enrichment_shut_in_boost" in {failure.reason.rule for failure in outcome.core}


@pytest.mark.parametrize("target", ["naturally_aspirated", "blow_through", "draw_through"])
def test_a_planned_carburetor_planned_again_needs_nothing(bench, target):
    first = bench(target=target)
    planned = pipeline.plan(first)
    assert isinstance(planned.outcome, Plan)
    again = pipeline.plan(_as_if_found(bench, target, first, planned.configuration))
    assert isinstance(again.outcome, Plan)
    assert again.outcome.changes == ()
    assert again.clean


def _as_if_found(bench, target: str, made: Bench, configuration: dict[str, str]) -> Bench:
    found = {}
    for name, item in made.network.items.items():
        form = configuration[name]
        if form != item.found or name in made.job.found:
            found[name] = form
    return bench(target=target, found=found)


@pytest.mark.parametrize("target", ["blow_through", "draw_through"])
def test_every_change_is_needed_and_the_bound_is_the_cost(bench, target):
    """Drop any change and a blocking rule breaks; the last relaxation costs what the plan costs."""
    made = bench(target=target)
    planned = pipeline.plan(made)
    assert isinstance(planned.outcome, Plan)
    assert planned.outcome.proof.lower_bound == planned.outcome.cost
    for change in planned.outcome.changes:
        without = {**planned.configuration, change.item: made.network.items[change.item].found}
        assert any(finding.blocks for finding in made.findings(without)), change
        assert planned.reasons[change]


@pytest.mark.parametrize("seed", range(6))
def test_brute_force_over_every_configuration_finds_nothing_cheaper(bench, seed):
    """A carburetor with few free choices: all are tried, each judged afresh, and the cheapest acceptable one costs
    what the search says."""
    rng = random.Random(seed)
    everything = bench()
    plan = changed(pipeline.plan(everything))
    full = planning_problem(everything.network, everything.judge.reachable, everything.job.pinned)
    # The items of one plan, as a start, with a few others that are free to be used instead.
    valve = [item.name for item in full.items if item.name.startswith("primary.power_valve")]
    start = {*rng.sample(sorted(plan), 2), *rng.sample(valve, 3), "primary.main_jets"}
    items = everything.network.items
    free = sorted(start | {name for name in plan if any(other in start for other, _ in items[name].conditions)})
    settled = {name: form for name, form in plan.items() if name not in free}
    made = bench(
        found={**settled},
        pinned={"keep": [item.name for item in full.items if item.name not in free]},
    )
    problem = planning_problem(made.network, made.judge.reachable, made.job.pinned)
    allowed = {item.name: list(item.options) if item.name in free else [item.current] for item in problem.items}
    best: Cost | None = None
    oracle = RulebookOracle(made.judge, problem)
    names = sorted(allowed)
    for combination in itertools.product(*(allowed[name] for name in names)):
        assignment = dict(zip(names, combination, strict=True))
        cost = problem.cost(assignment)
        if (best is None or cost < best) and not oracle.failures(assignment):
            best = cost
    outcome = pipeline.plan(made).outcome
    if best is None:
        assert isinstance(outcome, Impossible)
    else:
        assert isinstance(outcome, Plan)
        assert outcome.cost == best


def test_alternatives_cost_no_less_and_are_acceptable(bench):
    made = bench()
    outcome = pipeline.plan(made).outcome
    assert isinstance(outcome, Plan)
    assert len(outcome.alternatives) == 2
    costs = [outcome.cost, *(other.cost for other in outcome.alternatives)]
    assert costs == sorted(costs)
    for other in outcome.alternatives:
        configuration = {**made.network.found(), **other.assignment}
        assert not [f for f in made.findings(configuration) if f.blocks]
        assert not set(outcome.changes) <= set(other.changes)


def test_an_item_nobody_looked_at_never_gives_a_clean_verdict(bench):
    made = bench(found={"secondary.needle_seat": "not looked at"})
    planned = pipeline.plan(made)
    assert isinstance(planned.outcome, Plan)
    assert not planned.clean
    assert [doubt.item for doubt in planned.doubts] == ["secondary.needle_seat"]


def test_an_item_nobody_looked_at_shows_what_it_could_change(bench):
    planned = pipeline.plan(bench(found={"secondary.bowl_external_vent": "not looked at"}))
    (doubt,) = planned.doubts
    assert "bowl_open_to_atmosphere" in {finding.rule for finding in doubt.otherwise["open"]}


def test_the_same_job_gives_the_same_plan_whatever_the_order_of_its_finds(bench):
    found = {"primary.bowl_external_vent": "open", "choke": "hot_air", "secondary.opening": "vacuum"}
    one = pipeline.plan(bench(found=found)).outcome
    other = pipeline.plan(bench(found=dict(reversed(found.items())))).outcome
    assert isinstance(one, Plan)
    assert isinstance(other, Plan)
    assert one.changes == other.changes
    assert [a.changes for a in one.alternatives] == [a.changes for a in other.alternatives]
