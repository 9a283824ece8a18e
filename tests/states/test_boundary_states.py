"""What must hold of every solved air path, whatever the engine."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from boostcarb.errors import BadDescription
from boostcarb.states.air_path import StateResult, boundary_states
from boostcarb.states.inputs import RPM, Backfire, Carburetor, Cooler, Engine, Site, Turbo
from boostcarb.states.operating_state import Mode

BOOSTED = [Mode.blow_through, Mode.draw_through]


def solve(
    mode: Mode, engine: Engine, carburetor: Carburetor, turbo: Turbo | None, site: Site | None = None
) -> dict[str, StateResult]:
    results = boundary_states(mode, engine, carburetor, turbo, site or Site(), Backfire())
    return {each.state.id: each for each in results}


@st.composite
def setups(draw: st.DrawFn) -> tuple[Mode, Engine, Carburetor, Turbo | None, Site]:
    """Engines of 0.4 to 8 L, carburetors of half to four times the need, turbos small and large."""

    def number(low: float, high: float) -> float:
        return draw(st.floats(low, high))

    mode = draw(st.sampled_from(list(Mode)))
    displacement, redline = number(4e-4, 8e-3), number(4500.0, 9000.0) * RPM
    engine = Engine(
        displacement_m3=displacement,
        torque_peak_speed_rev_s=number(0.5, 0.9) * redline,
        redline_speed_rev_s=redline,
        cruise_speed_rev_s=2000.0 * RPM,
        compression_ratio=number(7.0, 12.0),
        volumetric_efficiency=draw(st.sampled_from([0.8, 1.05, ((20.0, 0.7), (60.0, 1.0), (150.0, 0.8))])),
        idle_manifold_pa_gauge=number(-70e3, -40e3),
        cruise_manifold_pa_gauge=number(-55e3, -15e3),
    )
    rated = displacement * redline / 2.0 * number(0.5, 4.0)
    opening = draw(st.sampled_from(["vacuum", "mechanical", "none"]))
    venturis = rated / 92.0 * number(0.8, 1.3)
    share = 1.0 if opening == "none" else number(0.3, 0.6)
    carburetor = Carburetor(
        rated_flow_m3_s=rated,
        primary_venturi_area_m2=share * venturis,
        secondary_venturi_area_m2=(1.0 - share) * venturis,
        secondary_opening=opening,  # type: ignore[arg-type]
        booster_gain=number(1.0, 3.0),
    )
    site = Site(ambient_pa_abs=number(65e3, 104e3), ambient_temperature_k=number(245.0, 320.0))
    if mode is Mode.naturally_aspirated:
        return mode, engine, carburetor, None, site
    places = ["compressor_outlet", "manifold", *(["air_horn"] if mode is Mode.blow_through else [])]
    turbo = Turbo(
        boost_pa_gauge=number(0.0, 150e3),
        full_boost_speed_rev_s=number(0.3, 1.0) * redline,
        wastegate_senses=draw(st.sampled_from(places)),  # type: ignore[arg-type]
        efficiency=number(0.55, 0.8),
        cooler=draw(st.sampled_from([None, Cooler(0.7, 8e3)])),
        filter_loss_pa=number(0.0, 6e3),
        maximum_pressure_ratio=number(1.5, 4.0),
    )
    return mode, engine, carburetor, turbo, site


@settings(max_examples=150, deadline=None)
@given(setup=setups())
def test_every_air_path(setup: tuple[Mode, Engine, Carburetor, Turbo | None, Site]) -> None:
    mode, engine, carburetor, turbo, site = setup
    try:
        results = solve(mode, engine, carburetor, turbo, site)
    except BadDescription:
        assume(False)
    for result in results.values():
        check_balance(result)
        if not result.state.event:
            check_order(result, mode)


def check_balance(result: StateResult) -> None:
    assert result.residual < 1e-9
    assert all(pressure > 0.0 for pressure in result.pressures_pa_abs.values())
    assert (result.mass_flow_kg_s > 0.0) == result.state.running


def check_order(result: StateResult, mode: Mode) -> None:
    """Each part of the path only loses pressure, except the compressor, which only gains."""
    at = result.pressures_pa_abs
    slack = 1.0 + 1e-12
    for group in ("primary", "secondary"):
        if f"{group}.venturi_throat" in at:
            assert at["air_horn"] * slack >= at[f"{group}.venturi_throat"] >= at[f"{group}.booster_throat"]
    assert at["air_horn"] * slack >= at["base"]
    if mode is Mode.naturally_aspirated:
        assert at["ambient"] >= at["air_horn"]
        assert at["base"] == at["manifold"]
        assert "compressor_outlet" not in at
    elif mode is Mode.blow_through:
        assert at["ambient"] >= at["compressor_inlet"]
        assert at["compressor_inlet"] <= at["compressor_outlet"]
        assert at["compressor_outlet"] >= at["air_horn"]
        assert at["base"] == at["manifold"]
    else:
        assert at["ambient"] >= at["air_horn"]
        assert at["base"] == at["compressor_inlet"] <= at["compressor_outlet"]
        assert at["compressor_outlet"] * slack >= at["manifold"]


@pytest.mark.parametrize("mode", list(Mode))
def test_standing_engine_is_at_ambient(mode: Mode, engine: Engine, carburetor: Carburetor, turbo: Turbo) -> None:
    results = solve(mode, engine, carburetor, turbo)
    for name in ("engine_off", "hot_soak"):
        assert set(results[name].pressures_pa_abs.values()) == {101325.0}
    assert results["hot_soak"].temperatures_k["manifold"] == Site().hot_soak_k
    assert results["hot_soak"].temperatures_k["ambient"] == Site().ambient_temperature_k
    assert results["engine_off"].temperatures_k["manifold"] == Site().ambient_temperature_k


def test_turbo_without_boost_and_losses_changes_nothing(engine: Engine, carburetor: Carburetor) -> None:
    engine = replace(engine, air_cleaner_loss_pa=0.0, torque_peak_speed_rev_s=3500.0 * RPM)
    idle_turbo = Turbo(boost_pa_gauge=0.0, full_boost_speed_rev_s=3000.0 * RPM, filter_loss_pa=0.0)
    without = solve(Mode.naturally_aspirated, engine, carburetor, None)
    fitted = solve(Mode.blow_through, engine, carburetor, idle_turbo)
    pairs = [(name, name) for name in ("crank", "idle", "cruise", "tip_in", "overrun", "secondary_call")]
    pairs += [
        ("wide_open_redline", "full_boost_redline"),
        ("wide_open_torque_peak", "full_boost_torque_peak"),
    ]
    for bare, turbocharged in pairs:
        for space, pressure in without[bare].pressures_pa_abs.items():
            assert fitted[turbocharged].pressures_pa_abs[space] == pytest.approx(pressure, rel=1e-8), space


@pytest.mark.parametrize("mode", BOOSTED)
def test_more_boost_means_more_pressure_and_air(
    mode: Mode, engine: Engine, carburetor: Carburetor, turbo: Turbo
) -> None:
    rows = [
        solve(mode, engine, carburetor, replace(turbo, boost_pa_gauge=boost)) for boost in (20e3, 50e3, 80e3, 110e3)
    ]
    for name in ("full_boost_torque_peak", "full_boost_redline", "part_throttle_boost_mid"):
        manifolds = [row[name].pressures_pa_abs["manifold"] for row in rows]
        flows = [row[name].mass_flow_kg_s for row in rows]
        assert manifolds == sorted(manifolds)
        assert manifolds[0] < manifolds[-1]
        # At part throttle the manifold gains less than the hotter, uncooled charge costs.
        assert flows == sorted(flows) or name == "part_throttle_boost_mid"


def test_altitude_thins_everything(engine: Engine, carburetor: Carburetor) -> None:
    rows = [
        solve(Mode.naturally_aspirated, engine, carburetor, None, Site.at_altitude(altitude))
        for altitude in (0.0, 1000.0, 2000.0, 3000.0)
    ]
    for name in ("wide_open_redline", "tip_in", "crank"):
        flows = [row[name].mass_flow_kg_s for row in rows]
        assert flows == sorted(flows, reverse=True)
    assert len({row["idle"].pressures_pa_abs["manifold"] for row in rows}) == 1


@pytest.mark.parametrize("senses", ["compressor_outlet", "air_horn", "manifold"])
def test_wastegate_holds_the_place_it_senses(
    senses: Any, engine: Engine, carburetor: Carburetor, cooled: Turbo
) -> None:
    results = solve(Mode.blow_through, engine, carburetor, replace(cooled, wastegate_senses=senses))
    for name in ("full_boost_torque_peak", "full_boost_redline"):
        assert results[name].pressures_pa_abs[senses] == pytest.approx(101325.0 + 68.95e3, rel=1e-9)


@pytest.mark.parametrize("senses", ["compressor_outlet", "manifold"])
@pytest.mark.parametrize("cooler", [None, Cooler()])
def test_draw_through_wastegate_holds_the_place_it_senses(
    senses: Any, cooler: Cooler | None, engine: Engine, carburetor: Carburetor, turbo: Turbo
) -> None:
    turbo = replace(turbo, wastegate_senses=senses, cooler=cooler)
    results = solve(Mode.draw_through, engine, carburetor, turbo)
    for name in ("full_boost_torque_peak", "full_boost_redline"):
        assert results[name].pressures_pa_abs[senses] == pytest.approx(101325.0 + 68.95e3, rel=1e-9)


def test_wastegate_on_the_manifold_lets_the_compressor_run_up_at_part_throttle(
    engine: Engine, carburetor: Carburetor, turbo: Turbo
) -> None:
    # Small turbo: at part throttle its exhaust could make far more than the boost.
    turbo = replace(turbo, full_boost_speed_rev_s=2000.0 * RPM)
    ahead = solve(Mode.blow_through, engine, carburetor, turbo)["part_throttle_boost_deep"]
    behind = solve(Mode.blow_through, engine, carburetor, replace(turbo, wastegate_senses="manifold"))[
        "part_throttle_boost_deep"
    ]
    assert ahead.pressures_pa_abs["compressor_outlet"] == pytest.approx(101325.0 + 68.95e3, rel=1e-9)
    assert behind.pressures_pa_abs["compressor_outlet"] > 101325.0 + 90e3
    assert behind.pressure_ratio <= turbo.maximum_pressure_ratio


def test_turbo_at_its_limit_falls_short_and_says_so(engine: Engine, carburetor: Carburetor, turbo: Turbo) -> None:
    turbo = replace(turbo, wastegate_senses="manifold", maximum_pressure_ratio=1.74)
    result = solve(Mode.blow_through, engine, carburetor, turbo)["full_boost_redline"]
    assert result.pressure_ratio == pytest.approx(1.74)
    assert result.pressures_pa_abs["manifold"] < 101325.0 + 68.95e3
    assert any("less than the wastegate would hold" in each for each in result.assumptions)


def test_boost_out_of_reach(engine: Engine, carburetor: Carburetor, turbo: Turbo) -> None:
    with pytest.raises(BadDescription, match=r"lower the boost.*pressure ratio of 2\.\d\d, the highest is 1\.50"):
        solve(
            Mode.blow_through,
            engine,
            carburetor,
            replace(turbo, boost_pa_gauge=150e3, maximum_pressure_ratio=1.5),
        )


def test_boost_no_compressor_gives(engine: Engine, turbo: Turbo) -> None:
    choked = Carburetor(rated_flow_m3_s=0.02, primary_venturi_area_m2=2e-4)
    with pytest.raises(BadDescription, match="more than any compressor gives"):
        solve(Mode.draw_through, engine, choked, turbo)


def test_boost_above_the_redline(engine: Engine, carburetor: Carburetor, turbo: Turbo) -> None:
    with pytest.raises(BadDescription, match="redline"):
        solve(Mode.blow_through, engine, carburetor, replace(turbo, full_boost_speed_rev_s=120.0))


@pytest.mark.parametrize("mode", BOOSTED)
def test_boosted_mode_without_turbo(mode: Mode, engine: Engine, carburetor: Carburetor) -> None:
    with pytest.raises(BadDescription, match="describe the turbo"):
        solve(mode, engine, carburetor, None)


def test_wastegate_on_a_draw_through_air_horn(engine: Engine, carburetor: Carburetor, cooled: Turbo) -> None:
    with pytest.raises(BadDescription, match="connect the wastegate behind the compressor"):
        solve(Mode.draw_through, engine, carburetor, cooled)


def test_choked_venturis_limit_the_air_and_say_so(engine: Engine, turbo: Turbo) -> None:
    narrow = Carburetor(rated_flow_m3_s=0.28, primary_venturi_area_m2=9e-4)
    result = solve(Mode.naturally_aspirated, engine, narrow, None)["wide_open_redline"]
    assert result.residual < 1e-9
    assert any("carburetor too small" in each for each in result.assumptions)
    assert result.pressures_pa_abs["primary.venturi_throat"] == pytest.approx(
        0.5283 * result.pressures_pa_abs["air_horn"], rel=1e-3
    )


def test_flowing_groups_follow_linkage_and_diaphragm(engine: Engine, carburetor: Carburetor, turbo: Turbo) -> None:
    both, primary = {"primary", "secondary"}, {"primary"}
    vacuum = solve(Mode.blow_through, engine, carburetor, turbo)
    linked = solve(Mode.blow_through, engine, replace(carburetor, secondary_opening="mechanical"), turbo)
    assert vacuum["wide_open_before_boost"].flowing_groups == primary
    assert linked["wide_open_before_boost"].flowing_groups == both
    assert vacuum["full_boost_redline"].flowing_groups == both
    assert vacuum["secondary_call"].flowing_groups == vacuum["idle"].flowing_groups == primary
    assert "secondary_call" not in linked
    booster = "primary.booster_throat"
    call, opened = vacuum["secondary_call"], vacuum["full_boost_redline"]
    assert call.pressures_pa_abs[booster] < opened.pressures_pa_abs[booster]


def test_cruise_that_outgrows_the_throttle_is_taken_wide_open(engine: Engine, carburetor: Carburetor) -> None:
    engine = replace(engine, cruise_manifold_pa_gauge=-30e3)
    cruise = solve(Mode.naturally_aspirated, engine, carburetor, None, Site.at_altitude(4000.0))["cruise"]
    assert any(each.startswith("wide open") for each in cruise.assumptions)
    assert cruise.pressures_pa_abs["manifold"] < cruise.pressures_pa_abs["air_horn"]


@pytest.mark.parametrize("mode", list(Mode))
def test_backfire_fills_what_holds_charge(mode: Mode, engine: Engine, carburetor: Carburetor, turbo: Turbo) -> None:
    results = boundary_states(mode, engine, carburetor, turbo, Site(), Backfire(4.0))
    by_id = {each.state.id: each for each in results}
    loaded = "wide_open_torque_peak" if mode is Mode.naturally_aspirated else "full_boost_torque_peak"
    filled = {"manifold", "base"}
    if mode is Mode.draw_through:
        filled |= {"compressor_inlet", "compressor_outlet"}
    for event, before in (("backfire_idle", "idle"), ("backfire_full_load", loaded)):
        for space, pressure in by_id[before].pressures_pa_abs.items():
            factor = 4.0 if space in filled else 1.0
            assert by_id[event].pressures_pa_abs[space] == pytest.approx(factor * pressure)
        assert by_id[event].state.event
        assert by_id[event].speed_rev_s == by_id[before].speed_rev_s


def test_lift_off_is_the_greatest_difference_across_the_throttle(
    engine: Engine, carburetor: Carburetor, cooled: Turbo
) -> None:
    results = solve(Mode.blow_through, engine, carburetor, cooled)

    def difference(result: StateResult) -> float:
        return result.pressures_pa_abs["air_horn"] - result.pressures_pa_abs["base"]

    greatest = max((each for each in results.values() if not each.state.event), key=difference)
    assert greatest.state.id == "lift_off"
    assert results["lift_off"].pressure_ratio == results["full_boost_redline"].pressure_ratio
    assert results["lift_off"].throttle_area_m2 == results["idle"].throttle_area_m2


@pytest.mark.parametrize("mode", BOOSTED)
def test_boost_beyond_one_bar_is_taken_spooled(
    mode: Mode, engine: Engine, carburetor: Carburetor, turbo: Turbo
) -> None:
    # Above a pressure ratio of 2 an unspooled balance exists beside the spooled one.
    turbo = replace(turbo, boost_pa_gauge=130e3, full_boost_speed_rev_s=3500.0 * RPM)
    result = solve(mode, engine, carburetor, turbo)["full_boost_torque_peak"]
    assert result.pressures_pa_abs["compressor_outlet"] == pytest.approx(231325.0, rel=1e-9)


def test_results_cannot_be_changed(engine: Engine, carburetor: Carburetor) -> None:
    idle = solve(Mode.naturally_aspirated, engine, carburetor, None)["idle"]
    with pytest.raises(TypeError):
        idle.pressures_pa_abs["manifold"] = 0.0  # type: ignore[index]
