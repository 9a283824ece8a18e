"""How sure lambda is: the sampling against the exact law, the air path solved again, and propagation by hand."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pytest
from metering_jobs import answer, model

from boostcarb.errors import NotSolved
from boostcarb.fueling.air_sensitivity import AIR_SIDE, air_changed
from boostcarb.fueling.answer import FuelAnswer
from boostcarb.fueling.circuit import Circuit
from boostcarb.fueling.mixture import Status
from boostcarb.fueling.spreads import Kind, Spread, bore_name, spreads_of
from boostcarb.fueling.uncertainty import BOWL_RANGE, VALVE, Regression, Sampler, Sure, how_sure, sampler
from boostcarb.physics.fuels import ethanol_blend

TARGETS = ("blow_through", "draw_through", "naturally_aspirated")


@pytest.fixture(scope="module")
def street() -> FuelAnswer:
    return answer("blow_through")


@pytest.fixture(scope="module")
def sampling(street: FuelAnswer) -> Sampler:
    return sampler(street.model, street.planned)


def deviations(sampling: Sampler, **moved: float) -> np.ndarray:
    names = [spread.name for spread in sampling.spreads]
    row = np.zeros((1, len(names)))
    for name, value in moved.items():
        row[0, names.index(name)] = value
    return row


def row_of(rows: tuple[Sure, ...], state: str, group: str | None) -> Sure:
    return next(row for row in rows if (row.state, row.group) == (state, group))


# --- against the exact model ------------------------------------------------------------------------------------


@pytest.mark.parametrize("target", TARGETS)
def test_without_deviations_it_is_the_table(target: str) -> None:
    found = answer(target)
    sampling = sampler(found.model, found.planned)
    lambdas = dict(zip(sampling.lanes, sampling.lambdas(deviations(sampling))[0], strict=True))
    compared = 0
    for state in found.planned.table:
        for group in state.groups:
            if group.leanest is not None and group.leanest is group.richest:
                assert lambdas[state.state, group.group] == pytest.approx(group.leanest.mixture, rel=1e-9)
                compared += 1
    assert compared == len(sampling.lanes) > 3


@pytest.mark.parametrize("factor", ["booster_gain", "jets", "channels", "bleeds"])
def test_a_factor_is_exact(factor: str, street: FuelAnswer, sampling: Sampler) -> None:
    """Against the scalar law with the same factor."""
    now = street.model.factors
    metering = replace(street.planned.metering, factors=replace(now, **{factor: getattr(now, factor) * math.exp(0.07)}))
    compare(sampling, sampling.lambdas(deviations(sampling, **{factor: 0.07})), metering, street.planned.circuits)


def test_spill_height_and_drilled_bores_are_exact(street: FuelAnswer, sampling: Sampler) -> None:
    higher = replace(street.planned.metering, spill_height_m=street.model.spill_height_m + 1e-3)
    compare(sampling, sampling.lambdas(deviations(sampling, spill_height=1e-3)), higher, street.planned.circuits)
    primary = street.planned.circuits["primary"]
    assert primary.main is not None
    passage = primary.main.passage
    wider = primary.with_bores({passage: primary.main.bore_m + 3e-5})
    moved = sampling.lambdas(deviations(sampling, **{bore_name(passage): 3e-5}))
    compare(sampling, moved, street.planned.metering, {**street.planned.circuits, "primary": wider})


def test_ethanol_is_the_blend() -> None:
    found = answer("blow_through", fuel="E85", fuel_detail={"ethanol": "70 %"})
    sampling = sampler(found.model, found.planned)
    moved = sampling.lambdas(deviations(sampling, ethanol=-0.05))
    less = replace(found.planned.metering, fuel=ethanol_blend(name="", ethanol_volume_share=0.65))
    compare(sampling, moved, less, found.planned.circuits)


def compare(sampling: Sampler, lambdas: np.ndarray, metering: object, circuits: Mapping[str, Circuit]) -> None:
    """Lanes against the scalar law; the lanes' own statuses are held."""
    from boostcarb.fueling.metering import Metering

    assert isinstance(metering, Metering)
    states = {state.name: state for state in metering.states}
    base = sampling.lambdas(deviations(sampling))
    for (name, group), found, before in zip(sampling.lanes, lambdas[0], base[0], strict=True):
        pull = metering.pull(states[name], circuits[group])
        point = metering.point(states[name], circuits[group], pull, pull.bowl_low_pa_abs, undecided_open=False)
        assert point is not None
        assert found == pytest.approx(point.mixture, rel=1e-9)
        assert np.isfinite(before)


@pytest.mark.parametrize("target", TARGETS)
def test_first_order_air_is_close_to_the_air_path_solved_again(target: str) -> None:
    """40 random samples of all air-side inputs at once.

    Lambda is off by less than 0.15 % in every sample and state, a twentieth of the 3 % (one standard deviation) that
    the air side alone moves it, and by less than 0.02 % in the middle of them.
    """
    found = answer(target)
    sampling = sampler(found.model, found.planned)
    drawn = sampling.draw(np.random.default_rng(7), 40)
    on_air = [spread.name in AIR_SIDE for spread in sampling.spreads]
    drawn[:, ~np.array(on_air)] = 0.0
    first_order = sampling.lambdas(drawn)
    errors = []
    for row, lambdas in zip(drawn, first_order, strict=True):
        moved = {spread.name: float(each) for spread, each in zip(sampling.spreads, row, strict=True) if each != 0.0}
        metering = air_changed(found.planned.metering, moved)
        states = {state.name: state for state in metering.states}
        for (name, group), value in zip(sampling.lanes, lambdas, strict=True):
            circuit = found.planned.circuits[group]
            pull = metering.pull(states[name], circuit)
            point = metering.point(states[name], circuit, pull, pull.bowl_low_pa_abs, undecided_open=False)
            assert point is not None
            errors.append(abs(value / point.mixture - 1.0))
    assert max(errors) < 1.5e-3
    assert np.median(errors) < 2e-4
    assert max(errors) > 1e-7, "solving again must not be what the first order uses"


# --- against propagation by hand --------------------------------------------------------------------------------


def elementary(sampling: Sampler, spreads: tuple[Spread, ...]) -> Sampler:
    """No bleed, no spill height, a nozzle without resistance, the bowl at the air horn's pressure."""

    def plain(circuit: Circuit) -> Circuit:
        assert circuit.nozzle is not None
        return replace(circuit, bleed=None, channels=(), nozzle=replace(circuit.nozzle, bore_m=0.5))

    base = sampling.air.base.copy()
    base[:, 4:] = 0.0
    slopes = np.zeros((0, *base.shape))
    air = replace(sampling.air, base=base, names=(), slopes=slopes)
    circuits = {group: plain(circuit) for group, circuit in sampling.circuits.items()}
    metering = replace(sampling.metering, spill_height_m=0.0)
    return replace(sampling, metering=metering, circuits=circuits, spreads=spreads, air=air)


def test_elementary_law_propagates_as_by_hand(sampling: Sampler) -> None:
    """ln lambda = const - ln jets - 1/2 ln density - 1/2 ln gain - ln ratio: log-variances add with squared exponents.

    Law of propagation of uncertainty, GUM (JCGM 100:2008), 5.1, equation 10, from memory; exact for logarithms here.
    Sampling error of a standard deviation from 20 000 samples is 0.5 %, of a share less than 0.01.
    """
    shares = {
        "jets": (1.0, 0.05),
        "fuel_density": (0.5, 0.04),
        "booster_gain": (0.5, 0.08),
        "stoichiometric": (1, 0.01),
    }
    spreads = tuple(Spread(name, name, Kind.factor, 1 / (1 + s), 1 + s, "", "") for name, (_, s) in shares.items())
    simple = elementary(sampling, spreads)
    drawn = simple.draw(np.random.default_rng(3), 20_000)
    lambdas = simple.lambdas(drawn)
    expected = {name: (power * math.log(1 + s) / 2) ** 2 for name, (power, s) in shares.items()}
    variance = sum(expected.values())
    regression = Regression.of(drawn, spreads)
    for column in range(lambdas.shape[1]):
        assert np.log(lambdas[:, column]).std() == pytest.approx(math.sqrt(variance), rel=0.02)
        explained, found = regression.shares(lambdas[:, column])
        assert explained == pytest.approx(1.0, abs=1e-4)
        by_name = {share.name: share for share in found}
        for name, part in expected.items():
            if part / variance > 0.02:
                assert by_name[name].share == pytest.approx(part / variance, abs=0.015)
                assert by_name[name].leaner is False
    high, low = np.percentile(lambdas[:, 0], [95, 5])
    assert high / low == pytest.approx(math.exp(2 * 1.644854 * math.sqrt(variance)), rel=0.01)


def test_spreads_of_two_different_sides() -> None:
    """Half of the values lie below, each side a half normal with its own deviation."""
    spread = Spread("gain", "gain", Kind.factor, 0.7, 1.1, "", "")
    found = model("blow_through")
    base = sampler(found, found.fueling(found.found, fit_sizes=True))
    drawn = replace(base, spreads=(spread,)).draw(np.random.default_rng(5), 40_000)[:, 0]
    assert np.mean(drawn < 0.0) == pytest.approx(0.5, abs=0.01)
    assert np.percentile(drawn, 2.275) == pytest.approx(math.log(0.7), rel=0.03)
    assert np.percentile(drawn, 97.725) == pytest.approx(math.log(1.1), rel=0.03)


# --- the answer -------------------------------------------------------------------------------------------------


def test_same_seed_same_answer(street: FuelAnswer) -> None:
    first = how_sure(street.model, street.planned, samples=500, seed=4)
    assert first == how_sure(street.model, street.planned, samples=500, seed=4)
    assert first.rows != how_sure(street.model, street.planned, samples=500, seed=5).rows


def test_full_boost_first_and_percentiles_in_order(street: FuelAnswer) -> None:
    sure = how_sure(street.model, street.planned, samples=2000)
    assert [row.state for row in sure.rows[:6]] == ["full_boost_torque_peak"] * 3 + ["full_boost_redline"] * 3
    assert {row.group for row in sure.rows[:3]} == {"primary", "secondary", None}
    for row in sure.rows:
        assert row.low is not None
        assert row.middle is not None
        assert row.high is not None
        assert row.low < row.middle < row.high
        assert 0.0 <= row.leaner <= 1.0
        assert row.explained == pytest.approx(1.0, abs=0.01)
        assert sum(share.share for share in row.shares) == pytest.approx(1.0, abs=0.06)
    table = {state.state: state for state in street.planned.table}
    whole = row_of(sure.rows, "full_boost_redline", None)
    # The spreads of gain and jets are wider to one side: the middle lies near the planned value, not on it.
    assert whole.middle == pytest.approx(table["full_boost_redline"].leanest, rel=0.03)


def test_more_samples_than_are_done_at_once_are_all_counted(street: FuelAnswer) -> None:
    few = how_sure(street.model, street.planned, samples=10_000)
    many = how_sure(street.model, street.planned, samples=12_500)
    assert many.samples == 12_500
    one, other = (row_of(each.rows, "cruise", "primary") for each in (few, many))
    assert one != other
    assert one.middle == pytest.approx(other.middle, rel=0.01)


def test_where_no_fuel_flows_there_is_no_percentile() -> None:
    found = answer("blow_through", found={"primary.bowl_external_vent": "open"})
    dry = [
        (state.state, group.group) for state in found.as_found.table for group in state.groups
        if group.status is Status.no_fuel
    ]  # fmt: skip
    assert dry
    sure = how_sure(found.model, found.as_found, samples=500)
    row = row_of(sure.rows, *dry[-1])
    assert row.no_fuel > 0.9
    assert row.high is None
    assert row.shares == ()


def test_samples_without_fuel_are_left_out_of_the_regression() -> None:
    spreads = tuple(Spread(name, name, Kind.factor, 0.9, 1.1, "", "") for name in "ab")
    drawn = np.random.default_rng(1).standard_normal((1000, 2))
    lambdas = np.exp(0.3 * drawn[:, 0] - 0.1 * drawn[:, 1])
    lambdas[::5] = np.inf
    explained, shares = Regression.of(drawn, spreads).shares(lambdas)
    assert explained == pytest.approx(1.0, abs=1e-9)
    assert [(share.name, share.leaner) for share in shares] == [("a", True), ("b", False)]
    lambdas[::2] = np.inf
    lambdas[1::4] = np.inf
    assert Regression.of(drawn, spreads).shares(lambdas) == (None, ())


def test_a_valve_that_may_be_open_is_drawn_either_way() -> None:
    """Its lambda has two heaps; a valve that is known is not among the inputs."""
    found = answer("draw_through")
    undecided = [
        (state.state, group.group) for state in found.as_found.table for group in state.groups
        if group.enrichment.name == "undecided" and group.leanest is not None
    ]  # fmt: skip
    sampling = sampler(found.model, found.as_found)
    assert (VALVE in {spread.name for spread in sampling.spreads}) == bool(undecided)
    for lane in undecided:
        column = sampling.lanes.index(lane)
        shut, is_open = (sampling.lambdas(deviations(sampling, **{VALVE: each}))[0, column] for each in (0.9, 0.1))
        assert is_open < 0.9 * shut


@pytest.mark.parametrize(("samples", "seed"), [(99, 1), (200_001, 1), (500, -1)])
def test_refuses_absurd_requests(samples: int, seed: int, street: FuelAnswer) -> None:
    with pytest.raises(ValueError, match="samples must be"):
        how_sure(street.model, street.planned, samples=samples, seed=seed)


# --- spreads ----------------------------------------------------------------------------------------------------


def spreads(target: str = "blow_through", **sections: object) -> dict[str, Spread]:
    found = model(target, **sections)
    fueling = found.fueling(found.found, fit_sizes=True)
    every = spreads_of(found, fueling.metering, tuple(fueling.circuits.values()))
    assert len({each.name for each in every}) == len(every)
    assert all(each.source for each in every)
    return {each.name: each for each in every}


def test_the_job_overrides_every_spread() -> None:
    said = {
        "volumetric_efficiency": "3 %", "boost": "2 %", "rated_flow": "1 %", "venturi_coefficient": "2 %",
        "compressor_efficiency": "4 %", "ambient_temperature": "5 K", "booster_gain": "6 %", "jets": "2 %",
        "channels": "3 %", "bleeds": "4 %", "nozzle": "5 %", "spill_height": "0.5 mm", "drill": "0.01 mm",
        "fuel_density": "1 %", "stoichiometric": "2 %",
    }  # fmt: skip
    found = spreads(metering={"spread": said})
    assert {each.source for each in found.values()} == {"job file"}
    assert found["boost"].high == pytest.approx(1.02)
    assert found["boost"].low == pytest.approx(1 / 1.02)
    assert found["ambient_temperature"].high == pytest.approx(5.0)
    assert found["spill_height"].high == pytest.approx(5e-4)
    assert {each.high for name, each in found.items() if name.startswith("bore of")} == {1e-5}


def test_a_spread_of_nothing_is_not_varied() -> None:
    assert "boost" not in spreads(metering={"spread": {"boost": "0 %"}})


def test_what_the_job_measured_is_surer() -> None:
    usual = spreads()
    measured = spreads(metering={"booster_gain": 2.0, "jet_discharge": "78 %", "spill_height": "7 mm"})
    for name in ("booster_gain", "jets"):
        assert measured[name].high == pytest.approx(1.03)
        assert measured[name].low > usual[name].low
    assert measured["spill_height"].high == pytest.approx(1e-3)
    assert (usual["spill_height"].low, usual["spill_height"].high) == pytest.approx((-3e-3, 4e-3))


def test_a_calibrated_factor_is_surer() -> None:
    found = spreads(metering={"measured": [{"state": "wide_open_before_boost", "lambda": 0.87}]})
    assert found["booster_gain"].high == pytest.approx(1.03)
    assert found["bleeds"].high == pytest.approx(1.2)


def test_a_reading_at_cruise_makes_full_load_no_surer() -> None:
    found = spreads(metering={"measured": [{"state": "cruise", "lambda": 1.0}]})
    assert (found["booster_gain"].low, found["booster_gain"].high) == pytest.approx(
        (spreads()["booster_gain"].low, spreads()["booster_gain"].high)
    )


def test_ethanol_is_varied_only_in_a_blend() -> None:
    assert "ethanol" not in spreads()
    pump_fuel = spreads(fuel="E85")["ethanol"]
    assert (pump_fuel.low, pump_fuel.high) == pytest.approx((-0.34, 0.0))
    measured = spreads(fuel="E85", fuel_detail={"ethanol": "99 %"})["ethanol"]
    assert (measured.low, measured.high) == pytest.approx((-0.02, 0.01))


def test_no_turbo_no_boost() -> None:
    assert not {"boost", "compressor_efficiency", "cooler_effectiveness"} & set(spreads("naturally_aspirated"))


def test_range_of_a_bowl_is_sampled_when_there_is_one() -> None:
    found = answer("blow_through")
    widths = [
        group.pull.bowl_high_pa_abs - group.pull.bowl_low_pa_abs
        for state in found.planned.table for group in state.groups
        if group.pull is not None and group.status is Status.predicted
    ]  # fmt: skip
    names = {spread.name for spread in sampler(found.model, found.planned).spreads}
    assert (BOWL_RANGE in names) == any(width > 0.0 for width in widths)


def test_an_input_at_its_limit_is_taken_one_sided_and_said_so() -> None:
    """The job's boost is just within what the compressor can do: much more of it cannot be had."""
    solved = answer("blow_through").planned.metering.solved
    highest = max(state.result.pressure_ratio for state in solved.states)
    wide = {"spread": {"boost": "45 %"}}
    found = answer("blow_through", charge={"maximum_pressure_ratio": 1.002 * highest}, metering=wide)
    sure = how_sure(found.model, found.planned, samples=200)
    assert any("boost held by the wastegate" in note and "cannot go up" in note for note in sure.notes)


def test_a_drive_that_cannot_be_moved_is_an_error(street: FuelAnswer) -> None:
    from boostcarb.fueling.air_sensitivity import air_sensitivity

    spread = Spread("boost", "boost", Kind.factor, 0.9, 1.1, "", "")
    lanes = [("no_such_state", "primary")]
    with pytest.raises(NotSolved, match="dependence on boost"):
        air_sensitivity(street.planned.metering, street.planned.circuits, lanes, [spread])
