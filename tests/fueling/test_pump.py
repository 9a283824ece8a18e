"""The accelerator pump: stroke, duration, mixed sets, seals and boost."""

from __future__ import annotations

from itertools import product
from typing import Any

import pytest
from fuel_jobs import side

from boostcarb.description.supply import PumpSet
from boostcarb.fueling.pump import Shot
from boostcarb.fueling.pump_set import CAPACITY_M3, SPRING_OF, verdict

SEALED = {"primary.pump_cover": "sealed", "primary.pump_reference_line": "air_horn"}


def shot(target: str = "blow_through", found: dict[str, Any] | None = None, **pump: Any) -> Shot:
    shots = side(target, found=found or {}, pump={"primary": pump}).shots
    return next(each for each in shots if each.group == "primary")


# --- the shot -----------------------------------------------------------------------------------------------------


def test_ten_strokes_are_the_capacity() -> None:
    found = shot()
    assert found.capacity.value == pytest.approx(10.0 * found.stroke.value)
    assert found.capacity.value == pytest.approx(30e-6, rel=0.05)


def test_a_measured_capacity_is_taken_as_it_is() -> None:
    found = shot(capacity="24 cm3")
    assert found.capacity.value == pytest.approx(24e-6)
    assert found.limited_by == "as measured"


def test_more_cam_gives_more_until_the_diaphragm_bottoms() -> None:
    found = [shot(cam_lift=lift) for lift in ("1 mm", "2 mm", "3 mm", "4 mm", "5 mm")]
    strokes = [each.stroke.value for each in found]
    assert strokes[:3] == sorted(strokes[:3])
    assert strokes[1] == pytest.approx(2.0 * strokes[0])
    assert strokes[3] == strokes[4]
    assert [each.limited_by for each in found] == ["limited by the cam"] * 3 + ["bottoms in its cover"] * 2


def test_a_larger_nozzle_and_a_hollow_screw_shorten_the_shot() -> None:
    times = {}
    for bore, screw in product(("0.5 mm", "0.8 mm"), ("hollow", "solid")):
        found = shot(nozzle_bore=bore, screw=screw)
        times[bore, screw] = dict(found.by_screw)[screw].value
    assert times["0.5 mm", "hollow"] > times["0.8 mm", "hollow"]
    assert times["0.8 mm", "solid"] > times["0.8 mm", "hollow"]
    # The wider the nozzles, the more the screw counts.
    assert times["0.8 mm", "solid"] / times["0.8 mm", "hollow"] > times["0.5 mm", "solid"] / times["0.5 mm", "hollow"]


def test_mechanical_secondaries_have_two_pumps_and_vacuum_secondaries_one() -> None:
    assert [each.group for each in side("blow_through").shots] == ["primary", "secondary"]
    vacuum = side("blow_through", found={"secondary.opening": "vacuum"}).shots
    assert [each.group for each in vacuum] == ["primary"]


@pytest.mark.parametrize(("seals", "leaks"), [("both", False), ("top missing", True), ("bottom missing", True)])
def test_a_missing_seal_is_told(seals: str, leaks: bool) -> None:
    assert (shot(seals=seals).leaks is not None) is leaks


def test_a_larger_engine_wants_a_larger_shot() -> None:
    small, large = (side("naturally_aspirated", engine={"displacement": size}).shots[0].needed
                    for size in ("3 l", "6 l"))  # fmt: skip
    assert [each.value for each in large] == pytest.approx([2.0 * each.value for each in small])


# --- boost --------------------------------------------------------------------------------------------------------


def test_the_shot_fades_where_the_load_of_boost_is_the_springs_force() -> None:
    found = shot(override_preload="35 N", return_force="5 N")
    area = next(each.value for each in found.fades_at.inputs if each.unit == "m2")
    assert found.fades_at.value * area == pytest.approx(30.0)


def test_boost_takes_from_the_shot_only_beyond_the_fade() -> None:
    found = shot(override_preload="30 N")
    area = next(each.value for each in found.fades_at.inputs if each.unit == "m2")
    for state in found.states:
        faded = state.load.value > found.fades_at.value * area * (1 + 1e-9)
        assert (state.share_left.value < 1.0) is faded
        assert (state.duration is None) is faded
    assert any(state.share_left.value < 1.0 for state in found.states)


def test_more_boost_never_leaves_more_of_the_shot() -> None:
    left = []
    for boost in ("3 psi", "6 psi", "9 psi", "12 psi"):
        shots = side("blow_through", charge={"boost": boost}).shots
        state = next(each for each in shots[0].states if each.state == "full_boost_torque_peak")
        left.append(state.share_left.value)
    assert left == sorted(left, reverse=True)
    assert left[-1] < left[0] == 1.0


def test_a_sealed_cover_led_to_the_bonnet_takes_the_load_away() -> None:
    found = shot(found=SEALED, override_preload="30 N")
    assert all(abs(state.load.value) < 1.0 for state in found.states)
    assert all(state.share_left.value == 1.0 for state in found.states)
    assert found.override_margin is None or found.override_margin.value > 20.0


def test_in_draw_through_boost_never_reaches_the_pump() -> None:
    assert all(state.share_left.value == 1.0 for state in shot("draw_through", override_preload="30 N").states)


def test_a_stiffer_spring_for_the_reinforced_diaphragm_is_the_usual_one() -> None:
    plain, reinforced = (
        shot(found={"primary.pump": form}).fades_at.value for form in ("standard_diaphragm", "reinforced_diaphragm")
    )
    assert reinforced > 2.0 * plain


# --- mixed sets ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("size", ["small", "large"])
def test_parts_of_one_size_give_that_sizes_shot(size: Any) -> None:
    found = verdict(PumpSet(diaphragm=size, cover=size, spring=SPRING_OF[size], cam=size))
    assert found.one_size
    assert found.capacity_m3 == CAPACITY_M3[size]


def test_every_mixed_set_is_told_and_only_those() -> None:
    for diaphragm, cover, spring, cam in product(("small", "large"), ("small", "large"), ("straight", "conical"),
                                                 ("small", "large")):  # fmt: skip
        parts = PumpSet.model_validate({"diaphragm": diaphragm, "cover": cover, "spring": spring, "cam": cam})
        sizes = {diaphragm, cover, cam, "small" if spring == "straight" else "large"}
        assert verdict(parts).one_size == (len(sizes) == 1), parts


@pytest.mark.parametrize(
    ("parts", "says", "leaks", "capacity"),
    [
        (("large", "large", "conical", "small"), "small shot", False, 30e-6),
        (("small", "small", "straight", "large"), "bottoms", False, 0.0),
        (("small", "small", "conical", "small"), "binds", False, None),
        (("large", "large", "straight", "large"), "hole", True, None),
        (("large", "small", "conical", "large"), "taller", False, None),
    ],
)
def test_what_a_mixed_set_does(parts: tuple[str, ...], says: str, leaks: bool, capacity: float | None) -> None:
    names = ("diaphragm", "cover", "spring", "cam")
    found = verdict(PumpSet.model_validate(dict(zip(names, parts, strict=True))))
    assert [says in each.effect for each in found.mismatches] == [True]
    assert [each.leaks for each in found.mismatches] == [leaks]
    assert found.capacity_m3 == capacity


def test_one_known_part_gives_no_verdict() -> None:
    assert shot(set={"diaphragm": "large"}).parts is None
    assert shot().parts is None


def test_a_closed_nozzle_gives_no_shot_and_no_time() -> None:
    found = shot(found={"primary.pump_nozzle": "plugged"})
    assert "no shot" in found.limited_by
    assert found.by_screw == ()
    assert all(state.duration is None for state in found.states)
