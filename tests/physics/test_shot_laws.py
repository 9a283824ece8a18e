"""Properties of the accelerator pump's shot and what boost does to it."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boostcarb.physics.shot import (
    boost_load,
    boosted_travel,
    fade_pressure,
    pump_stroke,
    rated_capacity,
    shot_duration,
)

AREA = 1.134e-3
BOOST = {
    "travel_m": 5e-3,
    "override_preload_n": 35.0,
    "override_rate_n_m": 4e3,
    "override_free_travel_m": 4e-3,
    "dry_pressure_pa_abs": 101325.0,
    "effective_area_m2": AREA,
}
SHOT = {
    "volume_m3": 3e-6,
    "nozzles_effective_area_m2": 0.4e-6,
    "screw_effective_area_m2": 1.5e-6,
    "pump_pressure_pa_abs": 131325.0,
    "nozzle_pressure_pa_abs": 101325.0,
    "density_kg_m3": 745.0,
}
lifts = st.floats(0.0, 0.02)


@given(lift=lifts, ratio=st.floats(0.3, 3.0), travel=lifts)
def test_stroke_accounts_for_all_travel(lift: float, ratio: float, travel: float) -> None:
    stroke = pump_stroke(cam_lift_m=lift, lever_ratio=ratio, diaphragm_travel_m=travel, effective_area_m2=AREA)
    assert stroke.travel_m + stroke.bottoming_m == pytest.approx(lift * ratio, rel=1e-12, abs=1e-300)
    assert stroke.travel_m + stroke.unused_m == pytest.approx(travel, rel=1e-12, abs=1e-300)
    assert min(stroke.bottoming_m, stroke.unused_m) == 0.0
    assert stroke.volume_m3 == stroke.travel_m * AREA


@given(lift=lifts, more=lifts)
def test_larger_cam_never_shoots_less(lift: float, more: float) -> None:
    pump = {"lever_ratio": 1.4, "diaphragm_travel_m": 8e-3, "effective_area_m2": AREA}
    assert pump_stroke(cam_lift_m=lift + more, **pump).volume_m3 >= pump_stroke(cam_lift_m=lift, **pump).volume_m3
    # At this lift the cam just uses the diaphragm's travel; both laws give the same there.
    fits = pump_stroke(cam_lift_m=8e-3 / 1.4, **pump)
    assert fits.volume_m3 == pytest.approx(8e-3 * AREA, rel=1e-12)


def test_ten_strokes() -> None:
    assert rated_capacity(stroke_volume_m3=3e-6) == pytest.approx(30e-6, rel=1e-12)
    with pytest.raises(ValueError, match="stroke_volume_m3 must be finite and at least 0"):
        rated_capacity(stroke_volume_m3=-1e-6)


@given(share=st.floats(1.01, 4.0))
def test_wider_openings_and_more_pressure_shorten_the_shot(share: float) -> None:
    base = shot_duration(**SHOT)
    for name in ("nozzles_effective_area_m2", "screw_effective_area_m2"):
        assert shot_duration(**(SHOT | {name: SHOT[name] * share})) < base
    assert shot_duration(**(SHOT | {"pump_pressure_pa_abs": 101325.0 + 30e3 * share})) < base
    assert shot_duration(**(SHOT | {"volume_m3": 3e-6 * share})) == pytest.approx(base * share, rel=1e-12)


def test_wide_screw_leaves_the_nozzles_alone() -> None:
    alone = 3e-6 / (0.4e-6 * math.sqrt(2.0 * 30e3 / 745.0))
    assert shot_duration(**(SHOT | {"screw_effective_area_m2": 1.0})) == pytest.approx(alone, rel=1e-9)


def test_no_pressure_no_shot() -> None:
    with pytest.raises(ValueError, match="pump_pressure_pa_abs must lift the fuel"):
        shot_duration(**(SHOT | {"pump_pressure_pa_abs": 101325.0}))


@given(preload=st.floats(0.0, 100.0))
def test_load_at_the_fade_pressure_is_the_preload(preload: float) -> None:
    fade = fade_pressure(override_preload_n=preload, dry_pressure_pa_abs=101325.0, effective_area_m2=AREA)
    load = boost_load(wet_pressure_pa_abs=fade, dry_pressure_pa_abs=101325.0, effective_area_m2=AREA)
    assert load == pytest.approx(preload, rel=1e-9, abs=1e-9)


@given(wet=st.floats(5e4, 4e5), more=st.floats(0.0, 1e5))
def test_more_boost_never_leaves_more_travel(wet: float, more: float) -> None:
    left = boosted_travel(wet_pressure_pa_abs=wet, **BOOST)
    assert 1e-3 - 1e-15 <= boosted_travel(wet_pressure_pa_abs=wet + more, **BOOST) <= left <= 5e-3


def test_travel_has_no_jump_where_the_spring_gives_and_where_it_binds() -> None:
    fade = fade_pressure(override_preload_n=35.0, dry_pressure_pa_abs=101325.0, effective_area_m2=AREA)
    assert boosted_travel(wet_pressure_pa_abs=fade - 1.0, **BOOST) == 5e-3
    assert boosted_travel(wet_pressure_pa_abs=fade + 1.0, **BOOST) == pytest.approx(5e-3, abs=1e-6)
    bound = fade + 4e3 * 4e-3 / AREA
    assert boosted_travel(wet_pressure_pa_abs=bound - 1.0, **BOOST) == pytest.approx(1e-3, abs=1e-6)
    assert boosted_travel(wet_pressure_pa_abs=bound + 1.0, **BOOST) == pytest.approx(1e-3, rel=1e-12)
    soft = BOOST | {"override_free_travel_m": 0.02}
    assert boosted_travel(wet_pressure_pa_abs=4e5, **soft) == 0.0


def test_dry_side_referenced_to_the_bowl_keeps_the_shot() -> None:
    referenced = BOOST | {"dry_pressure_pa_abs": 171e3}
    assert boosted_travel(wet_pressure_pa_abs=171e3, **referenced) == 5e-3


@pytest.mark.parametrize("name", ["travel_m", "override_preload_n", "override_rate_n_m", "effective_area_m2"])
def test_boosted_travel_limits(name: str) -> None:
    with pytest.raises(ValueError, match=f"{name} must be finite"):
        boosted_travel(wet_pressure_pa_abs=171e3, **(BOOST | {name: -1.0}))


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"cam_lift_m": -1e-3}, "cam_lift_m must be finite and at least 0"),
        ({"lever_ratio": 0.0}, "lever_ratio must be finite and above 0"),
        ({"effective_area_m2": math.nan}, "effective_area_m2 must be finite and above 0"),
    ],
)
def test_stroke_limits(change: dict[str, float], message: str) -> None:
    arguments = {"cam_lift_m": 4e-3, "lever_ratio": 1.0, "diaphragm_travel_m": 5e-3, "effective_area_m2": AREA}
    with pytest.raises(ValueError, match=message):
        pump_stroke(**(arguments | change))
