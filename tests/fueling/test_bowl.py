"""Fuel at the jets under way: which uncover at what, with and without extensions."""

from __future__ import annotations

from typing import Any

import pytest
from fuel_jobs import given, solved
from hypothesis import given as drawn
from hypothesis import settings
from hypothesis import strategies as st

from boostcarb.fueling.bowl import BowlUnderway, Cover, bowls

GRAVITY = 9.80665


def bowl(group: str, *, driving: dict[str, Any] | None = None, **said: Any) -> BowlUnderway:
    job = solved("naturally_aspirated", bowls={group: said}, driving=driving or {})
    return next(each for each in bowls(job, given(job)) if each.group == group)


def cover(found: BowlUnderway, maneuver: str, *, extension: bool = False) -> Cover:
    return next(each for each in found.covers if (each.maneuver, each.extension) == (maneuver, extension))


def test_the_bowls_sit_on_opposite_sides_of_their_jets() -> None:
    front, rear = bowl("primary"), bowl("secondary")
    assert cover(front, "launch").uncovers_at is None
    assert cover(front, "braking").uncovers_at is not None
    assert cover(rear, "launch").uncovers_at is not None
    assert cover(rear, "braking").uncovers_at is None


def test_front_and_rear_bowl_mirror_each_other() -> None:
    braking, launch = cover(bowl("primary"), "braking"), cover(bowl("secondary"), "launch")
    assert braking.uncovers_at is not None
    assert launch.uncovers_at is not None
    assert braking.uncovers_at.value == pytest.approx(launch.uncovers_at.value)


def test_turned_round_the_front_bowl_behaves_as_the_rear() -> None:
    turned = bowl("primary", jets_ahead="25 mm")
    assert cover(turned, "launch").uncovers_at is not None
    assert cover(turned, "braking").uncovers_at is None


@settings(max_examples=30, deadline=None)
@drawn(st.floats(0.05, 1.0))
def test_at_the_acceleration_that_uncovers_it_the_fuel_just_reaches_the_inlet(share: float) -> None:
    level = 8.0 + 40.0 * share
    at = cover(bowl("secondary", level=f"{level:.3f} mm"), "launch").uncovers_at
    if at is None or not 1e-3 < at.value < 29.0:
        return
    depth = cover(bowl("secondary", level=f"{level:.3f} mm", driving={"launch": f"{at.value:.12f} m/s2"}), "launch")
    assert depth.level.value == pytest.approx(0.0, abs=1e-6)


def test_uncovering_by_the_textbook_while_neither_floor_nor_lid_is_reached() -> None:
    """a = g (level - inlet) / distance."""
    found = cover(bowl("secondary", length="60 mm", height="120 mm", level="40 mm", jets_ahead="25 mm",
                       jet_height="15 mm"), "launch")  # fmt: skip
    assert found.uncovers_at is not None
    assert found.uncovers_at.value == pytest.approx(GRAVITY * 25.0 / 25.0)


def test_a_higher_level_and_a_lower_jet_stand_more() -> None:
    def at(**said: str) -> float:
        found = cover(bowl("secondary", height="120 mm", **said), "launch").uncovers_at
        assert found is not None
        return found.value

    assert at(level="30 mm") < at(level="36 mm") < at(level="42 mm")
    assert at(jet_height="12 mm") < at(jet_height="6 mm")


def test_extensions_keep_the_jets_covered_in_a_launch() -> None:
    found = bowl("secondary", level="30 mm", driving={"launch": "1.3 g"})
    without, extended = cover(found, "launch"), cover(found, "launch", extension=True)
    assert without.level.value < 0.0 < extended.level.value
    assert not without.covered
    assert extended.covered


def test_an_extension_that_reaches_too_far_trades_one_for_the_other() -> None:
    found = bowl("secondary", extension_reach="50 mm")
    assert cover(found, "braking").uncovers_at is None
    assert cover(found, "braking", extension=True).uncovers_at is not None


def test_a_grade_takes_from_what_a_launch_may_be() -> None:
    found = bowl("secondary", driving={"grade": "20 %"})
    level, climbing = cover(found, "launch").uncovers_at, cover(found, "launch on the grade").uncovers_at
    assert level is not None
    assert climbing is not None
    assert level.value - climbing.value == pytest.approx(0.2 * GRAVITY, rel=0.2)


def test_cornering_is_the_same_to_both_sides_and_leaves_extensions_out() -> None:
    found = bowl("primary")
    plain, extended = cover(found, "cornering").uncovers_at, cover(found, "cornering", extension=True).uncovers_at
    assert plain is not None
    assert extended is not None
    assert plain.value == extended.value


@pytest.mark.parametrize(
    ("extensions", "floated", "fouls"),
    [("none", "whole", False), ("fitted", "whole", True), ("fitted", "cut away", False)],
)
def test_extensions_need_a_float_that_clears_them(extensions: str, floated: str, fouls: bool) -> None:
    assert bowl("secondary", extensions=extensions, float=floated).extension_fouls_float is fouls


def test_the_worst_is_the_least_margin_of_what_is_fitted() -> None:
    found = bowl("primary")
    assert found.worst is not None
    margins = [each.margin.value for each in found.covers if not each.extension and each.margin is not None]
    assert found.worst.margin is not None
    assert found.worst.margin.value == min(margins)


def test_standing_still_asks_nothing() -> None:
    found = bowl("primary", driving={"launch": "0 g", "braking": "0 g", "cornering": "0 g", "grade": 0})
    assert found.worst is None
    assert all(each.covered for each in found.covers)
