"""The standard atmosphere against its tables and two independent libraries."""

from __future__ import annotations

import fluids
import pytest
from ambiance import Atmosphere

from boostcarb.physics.atmosphere import geopotential_altitude, standard_pressure, standard_temperature
from boostcarb.physics.constants import GAS_CONSTANT_AIR
from boostcarb.physics.gas import density

HEIGHTS = [-500.0, 0.0, 1000.0, 1500.0, 2000.0, 3000.0, 5000.0, 9000.0]


# Source: US Standard Atmosphere 1976 (T0 288.15 K, p0 101325 Pa, 6.5 K/km, g0 9.80665, R* 8.31432, M 28.9644
# found in public copies; the rows recomputed from them), by geopotential altitude.
# Tolerance: half of the last printed digit.
@pytest.mark.parametrize(
    ("altitude", "temperature", "pressure", "rho"),
    [
        (0.0, 288.150, 101325.0, 1.22500),
        (1000.0, 281.650, 89874.6, 1.11164),
        (1500.0, 278.400, 84556.0, 1.05807),
        (2000.0, 275.150, 79495.2, 1.00649),
        (3000.0, 268.650, 70108.5, 0.90912),
    ],
)
def test_table_by_geopotential_altitude(
    altitude: float, temperature: float, pressure: float, rho: float
) -> None:
    found_temperature = standard_temperature(altitude_m=altitude)
    found_pressure = standard_pressure(altitude_m=altitude)
    assert found_temperature == pytest.approx(temperature, abs=5e-4)
    assert found_pressure == pytest.approx(pressure, abs=0.051)
    assert density(pressure_pa_abs=found_pressure, temperature_k=found_temperature) == pytest.approx(
        rho, abs=5.1e-6
    )


# Oracle: ambiance, by geometric height. Tolerance 0.05 Pa and 1e-4 K: ambiance takes the gas constant of
# ISO 2533, 287.05287, one in a million below the one of the US Standard Atmosphere.
@pytest.mark.parametrize("height", HEIGHTS)
def test_geometric_heights_match_ambiance(height: float) -> None:
    oracle = Atmosphere(height)
    altitude = geopotential_altitude(geometric_m=height)
    assert altitude == pytest.approx(float(oracle.H[0]), abs=0.01)
    assert standard_temperature(altitude_m=altitude) == pytest.approx(float(oracle.temperature[0]), abs=1e-4)
    assert standard_pressure(altitude_m=altitude) == pytest.approx(float(oracle.pressure[0]), abs=0.05)


# Oracle: fluids.ATMOSPHERE_1976, by geometric height. Tolerance 0.005 Pa and 1e-4 K: both take
# the constants of 1976; what is left is rounding of the Earth's radius.
@pytest.mark.parametrize("height", HEIGHTS)
def test_geometric_heights_match_fluids(height: float) -> None:
    oracle = fluids.ATMOSPHERE_1976(height)
    altitude = geopotential_altitude(geometric_m=height)
    assert standard_temperature(altitude_m=altitude) == pytest.approx(oracle.T, abs=1e-4)
    assert standard_pressure(altitude_m=altitude) == pytest.approx(oracle.P, abs=0.005)


# Source: the trap between the two kinds of height, 12.6 Pa at 3000 m (recomputed; both libraries above side
# with the larger pressure). Tolerance: half of the last digit.
def test_the_two_kinds_of_height_differ() -> None:
    surveyed = standard_pressure(altitude_m=geopotential_altitude(geometric_m=3000.0))
    assert surveyed - standard_pressure(altitude_m=3000.0) == pytest.approx(12.6, abs=0.06)


# Source: ISO 2533 and US Standard Atmosphere 1976, tropopause at 11 km: 216.65 K, 22632 Pa (from memory).
# Tolerance 0.1 Pa: tables print 22632.0 and 22632.1.
def test_tropopause() -> None:
    assert standard_temperature(altitude_m=11000.0) == pytest.approx(216.65, abs=1e-9)
    assert standard_pressure(altitude_m=11000.0) == pytest.approx(22632.05, abs=0.1)


# Source: ISO 2533 prints 287.05287 J/(kg K) (from memory); ambiance carries the same number. Tolerance 1e-6:
# the US Standard Atmosphere rounds the molar mass to 28.9644, which raises the constant by 7e-7.
def test_gas_constant() -> None:
    assert pytest.approx(287.05287, rel=1e-6) == GAS_CONSTANT_AIR
