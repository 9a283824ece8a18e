from collections.abc import Callable

import pytest

from boostcarb.errors import BadDescription
from boostcarb.states.inputs import Backfire, Carburetor, Cooler, Engine, Site, Turbo


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: Engine(displacement_m3=0.0), "engine.displacement_m3"),
        (lambda: Engine(displacement_m3=5e-3, cruise_speed_rev_s=200.0), "engine.redline_speed_rev_s"),
        (lambda: Engine(displacement_m3=5e-3, compression_ratio=1.0), "engine.compression_ratio"),
        (lambda: Engine(displacement_m3=5e-3, idle_manifold_pa_gauge=38e3), "engine.idle_manifold_pa_gauge"),
        (
            lambda: Engine(displacement_m3=5e-3, volumetric_efficiency=((50.0, 0.8), (40.0, 0.9))),
            "engine.volumetric_efficiency",
        ),
        (lambda: Engine(displacement_m3=5e-3, volumetric_efficiency=()), "engine.volumetric_efficiency"),
        (lambda: Engine(displacement_m3=5e-3, volumetric_efficiency=85.0), "engine.volumetric_efficiency"),
        (
            lambda: Carburetor(rated_flow_m3_s=-0.1, primary_venturi_area_m2=1e-3),
            "carburetor.rated_flow_m3_s",
        ),
        (
            lambda: Carburetor(rated_flow_m3_s=0.1, primary_venturi_area_m2=1e-3, secondary_opening="vacuum"),
            "carburetor.secondary_opening",
        ),
        (
            lambda: Carburetor(rated_flow_m3_s=0.1, primary_venturi_area_m2=1e-3, booster_gain=0.5),
            "carburetor.booster_gain",
        ),
        (lambda: Cooler(effectiveness=1.2), "turbo.cooler.effectiveness"),
        (lambda: Turbo(boost_pa_gauge=-1.0, full_boost_speed_rev_s=50.0), "turbo.boost_pa_gauge"),
        (
            lambda: Turbo(boost_pa_gauge=7e4, full_boost_speed_rev_s=50.0, efficiency=70.0),
            "turbo.efficiency",
        ),
        (lambda: Site(ambient_pa_abs=0.0), "site.ambient_pa_abs"),
        (lambda: Site(bay_cold_k=300.0, bay_hot_k=290.0), "site.bay_hot_k"),
        (lambda: Site(hot_soak_k=270.0), "site.hot_soak_k"),
        (lambda: Backfire(peak_ratio=0.9), "backfire.peak_ratio"),
        (lambda: Backfire(peak_ratio=10.0), "backfire.peak_ratio"),
    ],
)
def test_refuses_and_names_the_field(make: Callable[[], object], field: str) -> None:
    with pytest.raises(BadDescription) as caught:
        make()
    assert [each.field for each in caught.value.problems] == [field]


def test_gathers_all_that_is_wrong() -> None:
    with pytest.raises(BadDescription) as caught:
        Site(ambient_pa_abs=-1.0, ambient_temperature_k=0.0)
    assert len(caught.value.problems) == 2


def test_manifold_readings_are_absolute_where_they_were_taken() -> None:
    engine = Engine(displacement_m3=5e-3, manifold_read_at_pa_abs=83e3, idle_manifold_pa_gauge=-45e3)
    assert engine.idle_manifold_pa_abs == pytest.approx(38e3)


def test_site_at_altitude_is_thinner_and_colder() -> None:
    site = Site.at_altitude(2000.0)
    assert site.ambient_pa_abs < 80e3
    assert site.ambient_temperature_k < 276.0
