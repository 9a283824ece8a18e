"""Properties of the standard atmosphere and its limits."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boostcarb.physics.atmosphere import geopotential_altitude, standard_pressure, standard_temperature
from boostcarb.physics.constants import GAS_CONSTANT_AIR, STANDARD_GRAVITY

altitudes = st.floats(-2000.0, 10999.0)


@given(altitude=altitudes)
def test_air_column_carries_itself(altitude: float) -> None:
    # Hydrostatic balance dp/dh = -rho g over 1 m; the midpoint rule is good to 1e-7 here.
    lower, upper = standard_pressure(altitude_m=altitude), standard_pressure(altitude_m=altitude + 1.0)
    rho = standard_pressure(altitude_m=altitude + 0.5) / (
        GAS_CONSTANT_AIR * standard_temperature(altitude_m=altitude + 0.5)
    )
    assert lower - upper == pytest.approx(rho * STANDARD_GRAVITY, rel=1e-6)


@given(height=st.floats(0.001, 11000.0))
def test_geopotential_altitude_is_never_above_the_height(height: float) -> None:
    altitude = geopotential_altitude(geometric_m=height)
    assert 0.998 * height < altitude < height


@pytest.mark.parametrize("bad", [math.nan, -2000.5, 11000.5, math.inf])
def test_limits(bad: float) -> None:
    for law in (standard_pressure, standard_temperature):
        with pytest.raises(ValueError, match="altitude_m must be from -2000 to 11000"):
            law(altitude_m=bad)
    with pytest.raises(ValueError, match="geometric_m must be from -2000 to 11000"):
        geopotential_altitude(geometric_m=bad)
