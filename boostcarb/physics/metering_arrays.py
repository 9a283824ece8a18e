"""The main circuit's law for arrays: thousands of samples and states at once."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from boostcarb.errors import NotSolved
from boostcarb.physics.constants import GAMMA_AIR, GAS_CONSTANT_AIR, STANDARD_GRAVITY
from boostcarb.physics.gas import choked_flow_function, critical_pressure_ratio
from boostcarb.physics.metering import LARGEST_RESIDUAL, NO_FLOW_KG_S

MOST_STEPS: Final = 120
"""Most steps of the hybrid; it needs some 6, and 60 where it has to halve all the way."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class MainCircuitArrays:
    """Flows of many main circuits, all of one shape: kg/s, Pa absolute, kg/m3."""

    fuel_kg_s: Floats
    bleed_air_kg_s: Floats
    well_pressure_pa_abs: Floats
    mixture_density_kg_m3: Floats
    residual_kg_s: Floats


@dataclass(frozen=True, slots=True)
class _Lanes:
    """Coefficients of the balances still to be solved, one number a lane; see the scalar law."""

    fuel_scale: Floats
    fuel_drive: Floats
    fuel_density: Floats
    air_scale: Floats
    air_drive: Floats
    air_pressure: Floats
    booster: Floats
    specific_energy: Floats
    nozzle: Floats

    def picked(self, which: NDArray[np.bool_]) -> _Lanes:
        return _Lanes(*(getattr(self, name)[which] for name in self.__slots__))

    def flows(self, rise: Floats) -> tuple[Floats, Floats, Floats]:
        """Fuel, air and volume flow at a rise of the well's pressure over the booster's."""
        fuel = self.fuel_scale * np.sqrt(np.maximum(0.0, self.fuel_drive - rise))
        psi, _ = _flow_function(np.maximum(0.0, self.air_drive - rise) / self.air_pressure)
        air = self.air_scale * psi
        return fuel, air, fuel / self.fuel_density + air * self.specific_energy / (self.booster + rise)

    def excess_and_slope(self, rise: Floats) -> tuple[Floats, Floats]:
        """What the nozzle could take too much, squared, and its slope; where a flow starts it has none."""
        head = np.maximum(0.0, self.fuel_drive - rise)
        fuel = self.fuel_scale * np.sqrt(head)
        psi, psi_slope = _flow_function(np.maximum(0.0, self.air_drive - rise) / self.air_pressure)
        air = self.air_scale * psi
        air_volume = self.specific_energy / (self.booster + rise)
        total, volume = fuel + air, fuel / self.fuel_density + air * air_volume
        fuel_slope = np.where(head > 0.0, -0.5 * fuel / np.where(head > 0.0, head, 1.0), 0.0)
        air_slope = -self.air_scale * psi_slope / self.air_pressure
        volume_slope = (
            fuel_slope / self.fuel_density + air_slope * air_volume - air * air_volume / (self.booster + rise)
        )
        slope = self.nozzle - (fuel_slope + air_slope) * volume - total * volume_slope
        return self.nozzle * rise - total * volume, slope


def _flow_function(drop: Floats) -> tuple[Floats, Floats]:
    """The gas flow function at 1 - drop of the upstream pressure, and its slope over the drop."""
    critical = 1.0 - critical_pressure_ratio()
    logarithm = np.log1p(-np.minimum(drop, critical))
    head = -np.expm1(logarithm * (GAMMA_AIR - 1.0) / GAMMA_AIR)
    narrowed = np.exp(logarithm / GAMMA_AIR)
    root = np.sqrt(2.0 * GAMMA_AIR / (GAMMA_AIR - 1.0) * head)
    choked = drop >= critical
    psi = np.where(choked, choked_flow_function(), narrowed * root)
    flowing = (drop > 0.0) & ~choked
    squared_slope = narrowed * (2.0 * narrowed / (1.0 - drop * flowing) - (GAMMA_AIR + 1.0))
    slope = np.where(flowing, -squared_slope / (GAMMA_AIR - 1.0) / np.where(flowing, psi, 1.0), 0.0)
    return psi, slope


def main_circuit_arrays(
    *,
    main_jet_effective_area_m2: ArrayLike,
    nozzle_effective_area_m2: ArrayLike,
    bowl_pressure_pa_abs: ArrayLike,
    air_horn_pressure_pa_abs: ArrayLike,
    booster_pressure_pa_abs: ArrayLike,
    air_temperature_k: ArrayLike,
    fuel_density_kg_m3: ArrayLike,
    spill_height_m: ArrayLike = 0.0,
    fuel_level_m: ArrayLike = 0.0,
    power_effective_area_m2: ArrayLike = 0.0,
    bleed_effective_area_m2: ArrayLike = 0.0,
) -> MainCircuitArrays:
    """Fuel and bleed air of many main circuits: the law of :func:`boostcarb.physics.metering.main_circuit`.

    Args:
        main_jet_effective_area_m2: as in the scalar law, as are all others; each a number or an array,
            broadcast together (samples by states, for instance).

    Returns:
        The flows, in the common shape.

    Valid where the scalar law is; equal to it to 1e-9.

    Raises:
        ValueError: an argument outside the range of the scalar law, anywhere, or shapes that do not fit.
        NotSolved: a residual above a ten-millionth of the flow, anywhere; the largest is given.

    References:
        1. As the scalar law; Newton's steps inside a bracket that is halved when they do not help.

    >>> flow = main_circuit_arrays(main_jet_effective_area_m2=1.5e-6, nozzle_effective_area_m2=6e-6,
    ...     bowl_pressure_pa_abs=101325.0, air_horn_pressure_pa_abs=101325.0,
    ...     booster_pressure_pa_abs=[93000.0, 101325.0], air_temperature_k=288.15, fuel_density_kg_m3=745.0)
    >>> [round(1e3 * float(fuel), 2) for fuel in flow.fuel_kg_s]
    [5.13, 0.0]
    """
    positive = {
        "nozzle_effective_area_m2": nozzle_effective_area_m2,
        "bowl_pressure_pa_abs": bowl_pressure_pa_abs,
        "air_horn_pressure_pa_abs": air_horn_pressure_pa_abs,
        "booster_pressure_pa_abs": booster_pressure_pa_abs,
        "air_temperature_k": air_temperature_k,
        "fuel_density_kg_m3": fuel_density_kg_m3,
    }
    not_negative = {
        "main_jet_effective_area_m2": main_jet_effective_area_m2,
        "power_effective_area_m2": power_effective_area_m2,
        "bleed_effective_area_m2": bleed_effective_area_m2,
    }
    heights = {"spill_height_m": spill_height_m, "fuel_level_m": fuel_level_m}
    every = positive | not_negative | heights
    arrays = [np.asarray(value, dtype=np.float64) for value in every.values()]
    for name, array in zip(every, arrays, strict=True):
        _require(name, array, positive=name in positive, signed=name in heights)
    shape = np.broadcast_shapes(*(array.shape for array in arrays))
    nozzle, bowl, horn, booster, temperature, fuel_density, main, power, bleed, spill, level = (
        np.broadcast_to(array, shape).ravel() for array in arrays
    )
    specific_energy = GAS_CONSTANT_AIR * temperature
    lanes = _Lanes(
        fuel_scale=(main + power) * np.sqrt(2.0 * fuel_density),
        fuel_drive=bowl - booster - fuel_density * STANDARD_GRAVITY * (spill - level),
        fuel_density=fuel_density,
        air_scale=bleed * horn / np.sqrt(specific_energy),
        air_drive=horn - booster,
        air_pressure=horn,
        booster=booster,
        specific_energy=specific_energy,
        nozzle=2.0 * nozzle * nozzle,
    )
    rise = _solved(lanes)
    fuel, air, volume = lanes.flows(rise)
    flowing = fuel + air > NO_FLOW_KG_S
    fuel, air, rise = (np.where(flowing, array, 0.0) for array in (fuel, air, rise))
    total = fuel + air
    density = np.where(flowing, total / np.where(flowing, volume, 1.0), fuel_density)
    residual = np.where(flowing, nozzle * np.sqrt(2.0 * density * rise) - total, 0.0)
    # Where air or fuel is about to stop, its flow hangs on the last bits of the rise: no number can be closer.
    _, slope = lanes.excess_and_slope(np.where(flowing, rise, 0.0))
    last_bits = np.where(flowing, 8e-16 * np.abs(slope) * rise / np.where(flowing, 2.0 * volume, 1.0), 0.0)
    share = np.maximum(np.abs(residual) - last_bits, 0.0) / np.where(flowing, total, 1.0)
    if not np.all(share <= LARGEST_RESIDUAL):
        worst = int(np.argmax(np.where(np.isfinite(share), share, np.inf)))
        raise NotSolved("the main circuit's flow", places=(f"sample {worst}",), residual=float(residual[worst]))
    found = (fuel, air, booster + rise, density, residual)
    return MainCircuitArrays(*(array.reshape(shape) for array in found))


def _require(name: str, array: Floats, *, positive: bool, signed: bool) -> None:
    fits = np.isfinite(array)
    if not signed:
        fits &= (array > 0.0) if positive else (array >= 0.0)
    if not np.all(fits):
        limit = "" if signed else (" and above 0" if positive else " and at least 0")
        raise ValueError(f"{name} must be finite{limit}, got {float(array[~fits].flat[0])!r}")


def _solved(lanes: _Lanes) -> Floats:
    """Rise of the well's pressure over the booster's in each lane, Pa."""
    at_booster, _ = lanes.excess_and_slope(np.zeros_like(lanes.booster))
    high = np.minimum(np.maximum(0.0, np.maximum(lanes.fuel_drive, lanes.air_drive)), -at_booster / lanes.nozzle)
    rise = high.copy()
    open_lanes = np.flatnonzero(high > 0.0)
    lanes, high = lanes.picked(high > 0.0), high[open_lanes]
    low, x, last_step = np.zeros_like(high), 0.5 * high, high.copy()
    for _ in range(MOST_STEPS):
        if open_lanes.size == 0:
            break
        excess, slope = lanes.excess_and_slope(x)
        low, high = np.where(excess < 0.0, x, low), np.where(excess < 0.0, high, x)
        step = -excess / np.where(slope > 0.0, slope, 1.0)
        halved = 0.5 * (low + high)
        trusted = (slope > 0.0) & (x + step >= low) & (x + step <= high) & (np.abs(step) <= 0.5 * last_step)
        new = np.where(trusted, x + step, halved)
        last_step = np.where(trusted, np.abs(step), 0.5 * (high - low))
        rise[open_lanes] = new
        left = (np.abs(new - x) > 4e-16 * new) & (excess != 0.0) & (high - low > 4e-16 * high)
        rise[open_lanes[excess == 0.0]] = x[excess == 0.0]
        open_lanes, lanes = open_lanes[left], lanes.picked(left)
        low, high, x, last_step = low[left], high[left], new[left], last_step[left]
    return rise
