"""Single faults worked out by hand, and laws that the table of faults must keep.

The verdicts follow from pressure balances: which side of a wall is higher, and what the chamber then feels. The
reasons stand beside each case. Where a case rests on trade experience it says: common practice, no source.
"""

from __future__ import annotations

import time
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import yaml

from boostcarb import pipeline
from boostcarb.answers import Faulted
from boostcarb.description.job import Job
from boostcarb.description.library import ReadJob
from boostcarb.description.source import Document, validate
from boostcarb.faults.air_path import air_faults, air_outcome
from boostcarb.faults.outcome import Outcome, outcome
from boostcarb.findings import Severity
from boostcarb.quantities import PressureLevel

BASE = Path(__file__).parents[2] / "rules" / "examples" / "base"
SCENARIOS = Path(__file__).parents[2] / "scenarios"
BT, DT, NA = "blow_through", "draw_through", "naturally_aspirated"


def read(target: str, found: dict[str, Any]) -> ReadJob:
    data = yaml.safe_load((BASE / f"{target}.yaml").read_text(encoding="utf-8"))
    data["found"] = {**data["found"], **found}
    document = Document(BASE / f"{target}.yaml", data, {})
    return ReadJob(document, validate(Job, document))


@cache
def faulted(target: str, planned: bool, found: tuple[tuple[str, str], ...] = ()) -> Faulted:
    return pipeline.faults(read(target, dict(found)), planned=planned)


def named(answer: Faulted, name: str) -> Outcome:
    return next(each for each in answer.outcomes if each.fault.name == name)


@dataclass(frozen=True)
class Case:
    """A fault, what it must do, and why."""

    why: str
    target: str
    fault: str
    effects: set[str]
    severity: Severity | None = None
    rules: set[str] = field(default_factory=set)
    into: str | None = None
    planned: bool = True
    found: tuple[tuple[str, str], ...] = ()
    absent: set[str] = field(default_factory=set)


STOP, FIX = Severity.stop, Severity.fix
CASES = [
    Case("bowl at bonnet pressure, chamber at the atmosphere: more vacuum than the spring holds, the valve shuts",
         BT, "primary.power_valve_reference_line.hose=off", {"lean", "mixture outside"}, STOP,
         {"enrichment_shut_in_boost", "bonnet_open_to_atmosphere"}),
    Case("a pinched hose leaves the chamber at the pressure it had: shut when caught at cruise",
         BT, "primary.power_valve_reference_line.hose=pinched", {"lean"}, STOP, {"enrichment_shut_in_boost"},
         absent={"mixture outside"}),
    Case("the plug between chamber and base lost: two openings, in deep throttled boost the chamber sits near the base",
         BT, "primary.power_valve_vacuum_passage=open", {"lean"}, STOP, {"enrichment_shut_in_boost"}),
    Case("chamber referred below the throttle, where the pressure is always under the bowl's: fuel runs in there",
         BT, "primary.power_valve_diaphragm.tear=torn", {"rich"}, None, set(), "base", planned=False,
         absent={"fuel outside"}),
    Case("chamber open to the atmosphere: the boosted bowl sprays out of the hose",
         BT, "primary.power_valve_diaphragm.tear=torn", {"fuel outside"}, STOP, set(), "ambient", planned=False,
         found=(("primary.power_valve_vacuum_passage", "plugged"), ("primary.power_valve_reference_port", "open"),
                ("primary.power_valve_reference_line", "ambient"))),
    Case("nothing passes the restrictions: the same as a valve that stays shut",
         BT, "primary.power_restriction=plugged", {"lean"}, STOP, {"enrichment_shut_in_boost"}),
    Case("a boosted bowl open to the outside loses fuel, and its pressure with it",
         BT, "primary.bowl_external_vent=open", {"fuel outside", "lean"}, STOP,
         {"bowl_open_to_atmosphere", "bowl_off_air_horn_pressure"}),
    Case("the regulator then holds its set pressure over the atmosphere: less than a boosted bowl has",
         BT, "regulator.reference_line.hose=off", {"lean"}, STOP, {"regulator_off_air_horn_pressure"}),
    Case("below the throttle boost pushes mixture out", BT, "base_gasket_leak=open", {"mixture outside"}, STOP),
    Case("the bonnet is above the atmosphere in boost", BT, "bonnet_seal_leak=open", {"mixture outside"}, STOP),
    Case("fuel at bowl pressure against a dry side at the atmosphere: it sprays out round the lever",
         BT, "primary.pump_diaphragm.tear=torn", {"fuel outside"}, STOP, set(), "ambient"),
    Case("boost runs back into the crankcase", BT, "crankcase_valve_with_check.one_way=leaks",
         {"pressure in the crankcase"}, STOP, {"crankcase_pressurized_by_boost"}),
    Case("the servo fills with boost and mixture", BT, "brake_booster_line.inline=none",
         {"wrong signal elsewhere"}, None, {"brake_booster_without_one_way_valve"}),
    Case("referred to the manifold after the compressor: in boost above the bowl, which is at the air horn's",
         DT, "primary.power_valve_diaphragm.tear=torn", {"fuel outside"}, STOP, set(), "primary.bowl"),
    Case("hose off: the chamber is at the atmosphere like the bowl, so the valve opens; mixture sprays from the hose",
         DT, "primary.power_valve_reference_line.hose=off", {"rich", "mixture outside"}, STOP,
         {"manifold_open_to_atmosphere"}, absent={"lean"}),
    Case("plug to the base lost: the base is in vacuum at part throttle, the valve is drawn shut in boost",
         DT, "primary.power_valve_vacuum_passage=open", {"lean"}, STOP, {"enrichment_shut_in_boost"}),
    Case("without boost the pump's fuel drips", DT, "primary.pump_diaphragm.tear=torn", {"fuel outside"}, None, set(),
         "ambient"),
    Case("idle vacuum draws fuel from the bowl into the engine", NA, "primary.power_valve_diaphragm.tear=torn",
         {"rich"}, None, set(), "base", absent={"fuel outside"}),
    Case("without boost a leak below the throttle draws air in", NA, "base_gasket_leak=open", {"air leak"}, None,
         {"air_leak_below_throttle"}, absent={"mixture outside"}),
    Case("its passage blocked, the chamber keeps what it had: open or shut, nobody knows",
         NA, "primary.power_valve_vacuum_passage=plugged", {"lean"}, None, {"power_valve_chamber_sealed"}),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case.target}-{case.fault}-{case.found[-1:]}")
def test_verdict_worked_out_by_hand(case: Case) -> None:
    found = named(faulted(case.target, case.planned, case.found), case.fault)
    assert case.effects <= set(found.effects), found.effects
    assert not case.absent & set(found.effects), found.effects
    if case.severity is not None:
        assert found.severity is case.severity
    assert case.rules <= {each.finding.rule for each in found.consequences if each.finding is not None}
    if case.into is not None:
        assert case.into in {each.spill.into for each in found.consequences if each.spill is not None}


def test_nothing_comes_out_below_the_throttle_while_there_is_vacuum() -> None:
    found = named(faulted(BT, True), "base_gasket_leak=open")
    states = {state for each in found.consequences if each.effect == "mixture outside" for state in each.states}
    assert "full_boost_redline" in states
    assert not states & {"crank", "idle", "cruise", "lift_off", "overrun"}


def test_a_carburetor_without_boost_has_no_boosted_faults() -> None:
    effects = {effect for each in faulted(NA, False).outcomes for effect in each.effects}
    assert "mixture outside" not in effects
    assert "pressure in the crankcase" not in effects


@pytest.mark.parametrize("target", [NA, BT, DT])
def test_faults_are_ranked_and_each_is_one_thing(target: str) -> None:
    answer = faulted(target, True)
    names = [each.fault.name for each in answer.outcomes]
    assert len(names) == len(set(names))
    assert len(names) > 60
    order = [Severity.stop, Severity.fix, Severity.advise, None]
    ranks = [order.index(each.severity) for each in answer.outcomes]
    assert ranks == sorted(ranks)
    for each in answer.outcomes:
        noticed, revealed = answer.signs[each.fault.name]
        assert noticed
        assert revealed
        assert (noticed == "nothing") == (each.severity is None)


@pytest.mark.parametrize("target", [BT, DT])
def test_a_cheap_way_out_takes_the_harm_away(target: str) -> None:
    """What is offered, made as planned, leaves of the fault nothing to stop for, at the price it says."""
    answer = faulted(target, True)
    offered = [each for each in answer.outcomes if each.relief is not None]
    assert offered
    bench = answer.bench
    planned = pipeline.plan(pipeline.set_up(read(target, {})), alternatives=0).configuration
    for each in offered:
        assert each.relief is not None
        works = [bench.network.items[choice.item].forms[choice.option].labor for choice in each.relief.choices]
        assert sum(work.minutes for work in works if work is not None) == each.relief.minutes
        changed = {**bench.network.found(), **planned, **{c.item: c.option for c in each.relief.choices}}
        left = outcome(bench, changed, bench.judge.each(changed), each.fault)
        assert left.severity is not Severity.stop
        assert not [f for f in bench.findings(changed) if f.blocks]


def test_a_torn_pump_diaphragm_sprays_no_more_under_a_cover_led_to_the_bonnet() -> None:
    """With the bonnet's pressure behind it nothing pushes fuel out: worked out by hand."""
    relief = named(faulted(BT, True), "primary.pump_diaphragm.tear=torn").relief
    assert relief is not None
    assert {(c.item, c.option) for c in relief.choices} == {
        ("primary.pump_cover", "sealed"), ("primary.pump_reference_line", "air_horn"),
    }  # fmt: skip


def test_a_wastegate_that_stays_shut_is_one_to_stop_for_where_nothing_else_limits_the_boost() -> None:
    limited, free = faulted(BT, False, (("boost_limit", "fitted"),)), faulted(BT, False)
    shut = named(free, "wastegate=stuck_shut")
    assert shut.severity is Severity.stop
    assert "uncontrolled boost" in shut.effects
    assert named(limited, "wastegate=stuck_shut").consequences[-1].effect == "uncontrolled boost"
    overloaded = {each.finding.place for each in shut.consequences if each.finding is not None}
    assert not overloaded & {"advance_diaphragm"}, "already overloaded at its usual boost, so it is nothing new"
    assert named(free, "wastegate=stuck_open").effects == ("less power",)
    assert named(free, "bypass_valve=stuck_shut").severity is None


def test_more_boost_than_meant_overloads_what_stands_the_boost_that_is_meant() -> None:
    """A plain pump diaphragm stands 40 kPa; at 30 kPa of boost it holds, with the wastegate shut it does not."""
    data = read(BT, {})
    charge = data.job.charge
    assert charge is not None
    job = data.job.model_copy(update={"charge": charge.model_copy(update={"boost": PressureLevel(25e3, "gauge")})})
    bench = pipeline.set_up(ReadJob(data.document, job), latent=True)
    whole = bench.network.found()
    (shut,) = [each for each in air_faults(bench, whole) if each.fault.form == "stuck_shut" and each.uncontrolled]
    found = air_outcome(bench, whole, shut, lambda job: pipeline.set_up(ReadJob(data.document, job), latent=True))
    assert "pump_diaphragm_overloaded" in {each.finding.rule for each in found.consequences if each.finding is not None}


def test_the_sound_carburetor_is_untouched_by_what_could_fail() -> None:
    """With everything sound the latent items change no pressure and no finding."""
    read_job = read(BT, {})
    plain, latent = pipeline.set_up(read_job), pipeline.set_up(read_job, latent=True)
    assert [f.key for f in plain.findings(plain.network.found())] == [
        f.key for f in latent.findings(latent.network.found())
    ]
    for a, b in zip(plain.states(plain.network.found()), latent.states(latent.network.found()), strict=True):
        assert a.spaces == b.spaces
        assert a.diaphragms == b.diaphragms


def test_the_whole_table_takes_a_second_or_two() -> None:
    """The aim is a second or two; the bound is loose, for busy machines."""
    start = time.perf_counter()
    pipeline.faults(pipeline.load(SCENARIOS / "street_blow_through.yaml"), planned=True)
    assert time.perf_counter() - start < 15
