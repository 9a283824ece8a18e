import pytest

from boostcarb.physics.constants import GAMMA_AIR
from boostcarb.physics.gas import critical_pressure_ratio
from boostcarb.states.carburetor_air import (
    BOTH_GROUPS,
    PRIMARIES_ONLY,
    Opening,
    choke_area,
    share_of,
    throat_pressures,
    wide_open,
)
from boostcarb.states.inputs import Carburetor


def throats(carburetor: Carburetor, flow: float, flowing: frozenset[str]) -> dict[str, float]:
    return throat_pressures(carburetor, mass_flow_kg_s=flow, air_horn_pa_abs=1e5, temperature_k=290.0, flowing=flowing)


def test_shares_add_up(carburetor: Carburetor) -> None:
    both = [share_of(carburetor, group, flowing=BOTH_GROUPS) for group in BOTH_GROUPS]
    assert sum(both) == pytest.approx(1.0)
    assert share_of(carburetor, "primary", flowing=PRIMARIES_ONLY) == 1.0
    assert share_of(carburetor, "secondary", flowing=PRIMARIES_ONLY) == 0.0


def test_groups_share_the_rated_area(carburetor: Carburetor) -> None:
    whole = wide_open(carburetor, flowing=BOTH_GROUPS).effective_area_m2
    primaries = wide_open(carburetor, flowing=PRIMARIES_ONLY).effective_area_m2
    assert primaries / whole == pytest.approx(15.8 / 33.3)


def test_booster_multiplies_the_pull(carburetor: Carburetor) -> None:
    found = throats(carburetor, 0.2, BOTH_GROUPS)
    pull = 1e5 - found["primary.venturi_throat"]
    assert 1e5 - found["primary.booster_throat"] == pytest.approx(carburetor.booster_gain * pull)


def test_shut_group_stands_at_air_horn(carburetor: Carburetor) -> None:
    found = throats(carburetor, 0.1, PRIMARIES_ONLY)
    assert found["secondary.venturi_throat"] == found["secondary.booster_throat"] == 1e5
    assert found["primary.venturi_throat"] < 1e5


def test_booster_stops_where_its_throat_chokes(carburetor: Carburetor) -> None:
    opening = Opening(1.0, choke_area(carburetor, flowing=PRIMARIES_ONLY))
    most = opening.choked_flow(air_horn_pa_abs=1e5, temperature_k=290.0)
    found = throats(carburetor, most, PRIMARIES_ONLY)
    critical = critical_pressure_ratio(gamma=GAMMA_AIR) * 1e5
    assert found["primary.venturi_throat"] == pytest.approx(critical, rel=1e-5)
    assert found["primary.booster_throat"] == pytest.approx(critical)


def test_no_more_than_the_venturis_pass() -> None:
    wide_throttle = Opening(effective_area_m2=2e-3, choke_area_m2=1e-3)
    most = wide_throttle.choked_flow(air_horn_pa_abs=1e5, temperature_k=290.0)
    passed = wide_throttle.passes(air_horn_pa_abs=1e5, base_pa_abs=4e4, temperature_k=290.0)
    assert passed == pytest.approx(most)
    assert wide_throttle.passes(air_horn_pa_abs=1e5, base_pa_abs=1.1e5, temperature_k=290.0) < 0.0


def test_single_group_has_no_secondary_spaces() -> None:
    single = Carburetor(rated_flow_m3_s=0.1, primary_venturi_area_m2=1e-3)
    assert set(throats(single, 0.05, PRIMARIES_ONLY)) == {"primary.venturi_throat", "primary.booster_throat"}
