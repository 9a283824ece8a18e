"""A backfire in whole carburetors: what must exceed does, what is protected is, and each input moves the right way."""

from __future__ import annotations

import copy
from typing import Any

import pytest
from benches import JOB, read

from boostcarb import pipeline
from boostcarb.states.inputs import BACKFIRE_BOUND
from boostcarb.transient.answer import BackfireAnswer, DiaphragmCase, ProtectionCase, Verdict
from boostcarb.transient.checks import ball_closing_time
from boostcarb.transient.pulse import BURNED_GAS_K, Pulse
from boostcarb.transient.relief import Relief, relieved

VALVE = "primary.power_valve_diaphragm"
FULL_LOAD = "backfire_full_load"
REFERENCED = {
    "primary.power_valve_vacuum_passage": "plugged",
    "primary.power_valve_reference_port": "open",
    "primary.power_valve_reference_line": "manifold",
    "primary.reference_check": "fitted",
}


def answer(target: str, found: dict[str, Any] | None = None, **backfire: Any) -> BackfireAnswer:
    job = copy.deepcopy(JOB)
    job["target"], job["backfire"] = target, backfire
    if target == "naturally_aspirated":
        job.pop("charge")
    job["found"] = {**job["found"], **(found or {})}
    return pipeline.backfire(pipeline.set_up(read(job)))[1]


def valve(found: BackfireAnswer, state: str = FULL_LOAD) -> DiaphragmCase:
    (case,) = (case for case in found.cases if case.state == state)
    return next(each for each in case.diaphragms if each.diaphragm == VALVE)


def check(found: BackfireAnswer) -> ProtectionCase:
    (case,) = (case for case in found.cases if case.state == FULL_LOAD)
    return next(each for each in case.protections if each.diaphragm == VALVE)


@pytest.mark.parametrize("target", ["naturally_aspirated", "blow_through", "draw_through"])
def test_without_a_check_it_exceeds_and_with_one_it_stays_below(target: str) -> None:
    bare = valve(answer(target, {"primary.backfire_check": "missing"}))
    assert bare.verdict is Verdict.no_check
    assert bare.over_pa is not None
    assert bare.over_pa > 0.0
    checked = valve(answer(target))
    assert checked.verdict is Verdict.protected
    assert checked.over_pa is not None
    assert checked.over_pa < 0.0
    assert checked.unchecked.reverse_pa == pytest.approx(bare.peak.reverse_pa, rel=1e-3)


def test_only_a_check_that_works_protects() -> None:
    """Whatever else the family calls a check that leaves its passage open protects nothing."""
    bench = pipeline.set_up(read(JOB))
    tried = 0
    for form in sorted(bench.network.items["primary.backfire_check"].forms.keys() & {"missing", "stuck_open"}):
        assert valve(answer("naturally_aspirated", {"primary.backfire_check": form})).verdict is Verdict.no_check
        tried += 1
    assert tried


def test_a_slow_check_is_told_from_a_missing_one_and_what_would_do_is_right() -> None:
    slow = answer("blow_through", check_closing_time="5 ms")
    assert valve(slow).verdict is Verdict.slow_check
    needed = check(slow).in_time_s
    assert needed is not None
    assert 0.0 < needed < 5e-3
    just, late = (f"{1e3 * needed + shift:.4f} ms" for shift in (-0.03, 0.05))
    assert valve(answer("blow_through", check_closing_time=just)).verdict is Verdict.protected
    assert valve(answer("blow_through", check_closing_time=late)).verdict is Verdict.slow_check


def test_a_longer_closing_time_a_higher_peak_and_a_wider_passage_each_make_it_worse() -> None:
    closing = [valve(answer("blow_through", check_closing_time=f"{ms} ms")).peak.reverse_pa for ms in (0, 0.5, 1, 2, 4)]
    assert closing == sorted(closing)
    peaks = [valve(answer("blow_through", peak_ratio=ratio)).peak.reverse_pa for ratio in (1.5, 2, 3, 5, 9)]
    assert peaks == sorted(peaks)
    passage = "primary.power_valve_vacuum_passage"
    bores = [valve(answer("blow_through", {passage: {"is": "open", "bore": f"{mm} mm"}})) for mm in (0.5, 1, 2, 3)]
    assert [each.peak.reverse_pa for each in bores] == sorted(each.peak.reverse_pa for each in bores)


def test_no_chamber_ever_exceeds_what_burns() -> None:
    """A chamber fills from the pulse: it may not go above it by more than the tolerance of the integration."""
    for target in ("naturally_aspirated", "blow_through", "draw_through"):
        for case in answer(target, {"primary.backfire_check": "missing"}).cases:
            highest = max(case.curves[name].peak_pa_abs for name in case.burning if name in case.curves)
            assert all(curve.peak_pa_abs <= highest * 1.001 for curve in case.curves.values())


def test_a_referenced_chamber_in_draw_through() -> None:
    found = answer("draw_through", REFERENCED)
    assert valve(found).verdict in (Verdict.protected, Verdict.slow_check)
    assert check(found).check == "primary.reference_check"
    assert valve(answer("draw_through", {**REFERENCED, "primary.reference_check": "missing"})).verdict.exceeds


def test_a_chamber_on_the_bonnet_is_not_reached() -> None:
    found = answer("blow_through", {**REFERENCED, "primary.power_valve_reference_line": "air_horn"})
    assert not [each for case in found.cases for each in case.diaphragms if each.diaphragm == VALVE]


def test_burned_gas_is_the_worse_case() -> None:
    one = valve(answer("blow_through"))
    assert one.hottest.reverse_pa >= one.peak.reverse_pa


def test_the_bounds_are_those_of_combustion_in_a_closed_space() -> None:
    """Equilibrium of isooctane and air at constant volume, lambda 1, 298.15 K, by an independent library.

    Its data are for isooctane, gasoline is a blend: 1 %.
    """
    cantera = pytest.importorskip("cantera")
    gas = cantera.Solution(
        thermo="ideal-gas",
        species=[
            each
            for each in cantera.Species.list_from_file("nasa_gas.yaml")
            if each.name in {"C8H18,isooctane", "O2", "N2", "CO2", "CO", "H2O", "H2", "OH", "O", "H", "NO"}
        ],
    )
    gas.TPX = 298.15, 101325.0, "C8H18,isooctane:1, O2:12.5, N2:47"
    gas.equilibrate("UV")
    assert pytest.approx(gas.P / 101325.0, rel=0.01) == BACKFIRE_BOUND
    assert pytest.approx(gas.T, rel=0.01) == BURNED_GAS_K


def test_a_relief_valve_takes_something_off_and_more_with_more_area() -> None:
    curve = Pulse().curve(170e3, end_s=0.025)
    peaks = []
    for area in (0.0, 10e-4, 20e-4, 60e-4, 200e-4):
        relief = Relief(max(area, 1e-9), 190e3, 2.5e-3, 5e-3, 101e3)
        peaks.append(relieved(curve, relief, lambda pressure: 400.0, end_s=0.025).curve.peak_pa_abs)
    assert peaks[0] == pytest.approx(curve.peak_pa_abs, rel=1e-3)
    assert peaks == sorted(peaks, reverse=True)
    assert peaks[-1] < 0.95 * peaks[0]
    fast = relieved(curve, Relief(20e-4, 190e3, 0.5e-3, 5e-3, 101e3), lambda pressure: 400.0, end_s=0.025)
    assert fast.curve.peak_pa_abs < peaks[2]


def test_a_relief_valve_opens_only_above_its_cracking_pressure() -> None:
    curve = Pulse(peak_ratio=1.1).curve(170e3, end_s=0.025)
    shut = relieved(curve, Relief(20e-4, 190e3, 2.5e-3, 5e-3, 101e3), lambda pressure: 400.0, end_s=0.025)
    assert shut.opens_at_s is None
    assert shut.curve.peak_pa_abs == pytest.approx(curve.peak_pa_abs)


def test_a_fitted_relief_valve_lowers_what_the_diaphragm_feels() -> None:
    bare = {"primary.backfire_check": "missing"}
    large = {"relief_area": "60 cm2", "relief_delay": "0.5 ms"}
    without = valve(answer("blow_through", bare, **large))
    with_it = valve(answer("blow_through", {**bare, "manifold_relief": "fitted"}, **large))
    assert with_it.peak.reverse_pa < without.peak.reverse_pa


def test_a_heavier_ball_is_slower_and_a_weak_difference_does_not_lift_it() -> None:
    ball = {"lift_m": 1e-3, "area_m2": 19.6e-6, "weight_n": 5e-3}
    light, heavy = (ball_closing_time(mass_kg=mass, difference_pa=50e3, **ball) for mass in (0.1e-3, 0.5e-3))
    assert light < heavy
    assert ball_closing_time(mass_kg=0.5e-3, difference_pa=100.0, **ball) == float("inf")


def signal_time(found: BackfireAnswer) -> float:
    return max(each.time_s for each in found.signals if each.name == VALVE)


def test_a_signal_through_a_fine_restrictor_is_slow() -> None:
    port = "primary.power_valve_reference_port"
    times = [
        signal_time(answer("blow_through", {**REFERENCED, port: {"is": "open", "bore": bore}}))
        for bore in ("3 mm", "1 mm", "0.4 mm", "0.3 mm")
    ]
    assert times == sorted(times)
    assert times[0] < 0.01
    assert times[3] > 0.05
