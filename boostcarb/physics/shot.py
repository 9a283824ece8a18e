"""The accelerator pump: how much it shoots, for how long, and what boost takes away."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from boostcarb.physics.constants import require_not_negative, require_positive
from boostcarb.physics.liquid import effective_area_in_series, liquid_orifice_mass_flow

RATED_STROKES: Final = 10
"""Full strokes whose output the trade gives as a pump's capacity: common practice, no standard."""


@dataclass(frozen=True, slots=True)
class PumpStroke:
    """One full stroke of a diaphragm pump.

    Attributes:
        travel_m: travel of the diaphragm, m.
        volume_m3: fuel it displaces, m3.
        bottoming_m: travel the cam asks for beyond the diaphragm's, m; the override spring must take it.
        unused_m: travel of the diaphragm that the cam does not use, m.
    """

    travel_m: float
    volume_m3: float
    bottoming_m: float
    unused_m: float


def pump_stroke(
    *, cam_lift_m: float, lever_ratio: float, diaphragm_travel_m: float, effective_area_m2: float
) -> PumpStroke:
    """Fuel a pump displaces in one full stroke: the smaller of what the cam asks and the diaphragm can.

    Args:
        cam_lift_m: lift of the pump cam over the whole throttle, m, at least 0.
        lever_ratio: travel at the diaphragm over lift at the cam, above 0 (no unit).
        diaphragm_travel_m: free travel of the diaphragm in its cover, m, at least 0.
        effective_area_m2: volume the diaphragm displaces per travel, m2, above 0; some six tenths of the
            area inside its clamp for a diaphragm with a plate of half the diameter.

    Returns:
        The stroke. Less comes out of the nozzles: leaks past the checks and slow tip-in take their share.

    Raises:
        ValueError: an argument outside its range above, or not a number.

    References:
        1. Geometry.

    >>> stroke = pump_stroke(cam_lift_m=4e-3, lever_ratio=1.5, diaphragm_travel_m=5e-3, effective_area_m2=6e-4)
    >>> round(stroke.volume_m3 * 1e6, 3), round(stroke.bottoming_m * 1e3, 3)
    (3.0, 1.0)
    """
    require_not_negative("cam_lift_m", cam_lift_m)
    require_positive("lever_ratio", lever_ratio)
    require_not_negative("diaphragm_travel_m", diaphragm_travel_m)
    require_positive("effective_area_m2", effective_area_m2)
    asked = cam_lift_m * lever_ratio
    travel = min(asked, diaphragm_travel_m)
    return PumpStroke(travel, travel * effective_area_m2, asked - travel, diaphragm_travel_m - travel)


def rated_capacity(*, stroke_volume_m3: float) -> float:
    """Capacity of a pump as the trade gives it, m3: the output of ten full strokes of a volume in m3.

    Raises: ValueError for a negative volume, or not a number. Source: common practice.

    >>> round(rated_capacity(stroke_volume_m3=3e-6) * 1e6, 9)
    30.0
    """
    require_not_negative("stroke_volume_m3", stroke_volume_m3)
    return RATED_STROKES * stroke_volume_m3


def shot_duration(
    *,
    volume_m3: float,
    nozzles_effective_area_m2: float,
    screw_effective_area_m2: float,
    pump_pressure_pa_abs: float,
    nozzle_pressure_pa_abs: float,
    density_kg_m3: float,
    rise_m: float = 0.0,
) -> float:
    """Time a shot lasts through the hollow screw and the nozzles behind it.

    Args:
        volume_m3: fuel of the shot, m3, at least 0.
        nozzles_effective_area_m2: discharge coefficient times area of all nozzles together, m2, above 0.
        screw_effective_area_m2: the same of the screw's holes together, m2, above 0.
        pump_pressure_pa_abs: pressure of the fuel in the pump, Pa absolute, at least 0.
        nozzle_pressure_pa_abs: pressure where the nozzles end, Pa absolute, at least 0.
        density_kg_m3: density of the fuel, kg/m3, above 0.
        rise_m: height from pump to nozzles, m.

    Returns:
        Duration, s.

    Valid while the override spring, not the pedal, moves the diaphragm at a nearly steady force.

    Raises:
        ValueError: a pressure in the pump that does not lift the fuel to the nozzles, or an argument
            outside its range above.

    References:
        1. Torricelli's law with both areas in series.

    >>> round(shot_duration(volume_m3=3e-6, nozzles_effective_area_m2=0.4e-6, screw_effective_area_m2=2e-6,
    ...     pump_pressure_pa_abs=131325.0, nozzle_pressure_pa_abs=101325.0, density_kg_m3=745.0), 2)
    0.85
    """
    require_not_negative("volume_m3", volume_m3)
    require_positive("nozzles_effective_area_m2", nozzles_effective_area_m2)
    require_positive("screw_effective_area_m2", screw_effective_area_m2)
    mass_flow = liquid_orifice_mass_flow(
        effective_area_m2=effective_area_in_series(
            effective_areas_m2=(nozzles_effective_area_m2, screw_effective_area_m2)
        ),
        pressure_1_pa_abs=pump_pressure_pa_abs,
        pressure_2_pa_abs=nozzle_pressure_pa_abs,
        density_kg_m3=density_kg_m3,
        rise_m=rise_m,
    )
    if mass_flow <= 0.0:
        raise ValueError(
            f"pump_pressure_pa_abs must lift the fuel by {rise_m!r} m against nozzle_pressure_pa_abs "
            f"{nozzle_pressure_pa_abs!r}, got {pump_pressure_pa_abs!r}"
        )
    return volume_m3 * density_kg_m3 / mass_flow


def boost_load(*, wet_pressure_pa_abs: float, dry_pressure_pa_abs: float, effective_area_m2: float) -> float:
    """Force with which the pressure over the fuel pushes the pump diaphragm back onto its linkage.

    Args:
        wet_pressure_pa_abs: pressure over the fuel in the bowl, Pa absolute, at least 0.
        dry_pressure_pa_abs: pressure on the diaphragm's dry side, Pa absolute, at least 0.
        effective_area_m2: effective area of the diaphragm, m2, above 0.

    Returns:
        Force, N: positive against the stroke.

    Raises:
        ValueError: an argument outside its range above, or not a number.

    References:
        1. Pressure times area.

    >>> round(boost_load(wet_pressure_pa_abs=171e3, dry_pressure_pa_abs=101e3, effective_area_m2=1.134e-3), 1)
    79.4
    """
    require_not_negative("wet_pressure_pa_abs", wet_pressure_pa_abs)
    require_not_negative("dry_pressure_pa_abs", dry_pressure_pa_abs)
    require_positive("effective_area_m2", effective_area_m2)
    return (wet_pressure_pa_abs - dry_pressure_pa_abs) * effective_area_m2


def fade_pressure(*, override_preload_n: float, dry_pressure_pa_abs: float, effective_area_m2: float) -> float:
    """Pressure over the fuel from which the override spring gives way and the shot fades.

    Args:
        override_preload_n: force at which the override spring starts to give, N, at least 0.
        dry_pressure_pa_abs: pressure on the diaphragm's dry side, Pa absolute, at least 0.
        effective_area_m2: effective area of the diaphragm, m2, above 0.

    Returns:
        Pressure, Pa absolute. The return spring's force comes off the preload before.

    Raises:
        ValueError: an argument outside its range above, or not a number.

    References:
        1. Balance of forces on the diaphragm.

    >>> round(fade_pressure(override_preload_n=35.0, dry_pressure_pa_abs=101325.0, effective_area_m2=1.134e-3), -2)
    132200.0
    """
    require_not_negative("override_preload_n", override_preload_n)
    require_not_negative("dry_pressure_pa_abs", dry_pressure_pa_abs)
    require_positive("effective_area_m2", effective_area_m2)
    return dry_pressure_pa_abs + override_preload_n / effective_area_m2


def boosted_travel(
    *,
    travel_m: float,
    override_preload_n: float,
    override_rate_n_m: float,
    override_free_travel_m: float,
    wet_pressure_pa_abs: float,
    dry_pressure_pa_abs: float,
    effective_area_m2: float,
) -> float:
    """Travel of the diaphragm that is left under boost, when the override spring gives way.

    Args:
        travel_m: travel without boost, m, at least 0.
        override_preload_n: force at which the override spring starts to give, N, at least 0.
        override_rate_n_m: stiffness of the override spring, N/m, above 0.
        override_free_travel_m: how far the spring can give until its coils bind and the linkage pushes
            solid, m, at least 0.
        wet_pressure_pa_abs: pressure over the fuel in the bowl, Pa absolute, at least 0.
        dry_pressure_pa_abs: pressure on the diaphragm's dry side, Pa absolute, at least 0.
        effective_area_m2: effective area of the diaphragm, m2, above 0.

    Returns:
        Travel, m: all of it up to the fade pressure, then less; never below what coil bind forces.

    Valid at rest: the pressure the shot itself needs at the nozzles comes off earlier.

    Raises:
        ValueError: an argument outside its range above, or not a number.

    References:
        1. Balance of forces on the diaphragm, Hooke's law.

    >>> round(boosted_travel(travel_m=5e-3, override_preload_n=35.0, override_rate_n_m=4e3,
    ...     override_free_travel_m=8e-3, wet_pressure_pa_abs=141325.0, dry_pressure_pa_abs=101325.0,
    ...     effective_area_m2=1.134e-3) * 1e3, 2)
    2.41
    """
    require_not_negative("travel_m", travel_m)
    require_not_negative("override_preload_n", override_preload_n)
    require_positive("override_rate_n_m", override_rate_n_m)
    require_not_negative("override_free_travel_m", override_free_travel_m)
    load = boost_load(
        wet_pressure_pa_abs=wet_pressure_pa_abs,
        dry_pressure_pa_abs=dry_pressure_pa_abs,
        effective_area_m2=effective_area_m2,
    )
    given_way = max(0.0, load - override_preload_n) / override_rate_n_m
    return max(0.0, travel_m - min(given_way, override_free_travel_m))
