import pytest

from boostcarb.states.catalogue import (
    STATES,
    Boost,
    ManifoldTarget,
    Mode,
    Speed,
    Throttle,
    state,
    states_for,
)

RICH = {
    "tip_in",
    "wide_open_before_boost",
    "wide_open_torque_peak",
    "wide_open_redline",
    "part_throttle_boost_light",
    "part_throttle_boost_mid",
    "part_throttle_boost_deep",
    "part_throttle_boost_fast",
    "secondary_call",
    "full_boost_torque_peak",
    "full_boost_redline",
}
LEAN = {"idle", "cruise", "overrun"}


def test_ids_are_unique() -> None:
    assert len({each.id for each in STATES}) == len(STATES)


def test_mixture_wanted_in_each_state() -> None:
    assert {each.id for each in STATES if each.needs_enrichment} == RICH
    assert {each.id for each in STATES if each.needs_enrichment is False} == LEAN


def test_unboosted_drive() -> None:
    assert [each.id for each in states_for(Mode.naturally_aspirated)] == [
        "engine_off",
        "crank",
        "idle",
        "cruise",
        "tip_in",
        "wide_open_torque_peak",
        "wide_open_redline",
        "overrun",
        "hot_soak",
        "backfire_idle",
        "backfire_full_load",
    ]


@pytest.mark.parametrize("mode", [Mode.blow_through, Mode.draw_through])
def test_boosted_drive(mode: Mode) -> None:
    assert [each.id for each in states_for(mode, diaphragm_secondaries=True)] == [
        "engine_off",
        "crank",
        "idle",
        "cruise",
        "tip_in",
        "wide_open_before_boost",
        "part_throttle_boost_light",
        "part_throttle_boost_mid",
        "part_throttle_boost_deep",
        "part_throttle_boost_fast",
        "secondary_call",
        "full_boost_torque_peak",
        "full_boost_redline",
        "lift_off",
        "overrun",
        "hot_soak",
        "backfire_idle",
        "backfire_full_load",
    ]


@pytest.mark.parametrize("mode", list(Mode))
@pytest.mark.parametrize("diaphragm", [True, False])
def test_every_state_follows_one_before_it(mode: Mode, diaphragm: bool) -> None:
    before: set[str] = set()
    for each in states_for(mode, diaphragm_secondaries=diaphragm):
        assert not each.follows or before.intersection(each.follows), each.id
        before.add(each.id)


@pytest.mark.parametrize("each", STATES, ids=lambda each: each.id)
def test_records_hold_together(each) -> None:  # type: ignore[no-untyped-def]
    assert each.title[0].islower()
    assert "_" not in each.title
    assert (each.throttle is Throttle.manifold) == (each.manifold is not None)
    assert (each.manifold is ManifoldTarget.share_of_boost) == (each.boost_share > 0.0)
    assert (each.boost in {Boost.not_yet, Boost.held} or each.event) == bool(each.follows)
    assert (each.speed is Speed.as_before) == each.event
    assert each.running == (each.throttle is not Throttle.any) or each.event


def test_unknown_state() -> None:
    with pytest.raises(KeyError, match="cruising"):
        state("cruising")
