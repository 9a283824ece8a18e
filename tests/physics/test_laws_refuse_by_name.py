"""Every law refuses each argument outside the range its docstring states, by the argument's own name.

The ranges are written out here once more, apart from the code: a limit that is left out, moved or put on another
argument shows. Limits themselves are accepted.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pytest

from boostcarb.physics import (
    atmosphere,
    chamber,
    charge,
    cylinder,
    evaporation,
    filling,
    fuels,
    gas,
    isentropic,
    iso_6358,
    liquid,
    metering,
    shot,
    slosh,
)


@dataclass(frozen=True)
class Range:
    accepted: tuple[float, ...]
    refused: tuple[float, ...]


ABOVE_0 = Range((), (0.0, -1.0, math.inf, math.nan))
AT_LEAST_0 = Range((0.0,), (-1e-9, math.inf, math.nan))
ABOVE_1 = Range((), (1.0, 0.5, math.inf, math.nan))


def within(low: float, high: float) -> Range:
    beyond = 1e-6 * (high - low)
    return Range((low, high), (low - beyond, high + beyond, math.nan))


SHARE = within(0.0, 1.0)
COEFFICIENT = Range((1.0,), (0.0, 1.000001, math.nan))
ALTITUDE = within(-2000.0, 11000.0)
LIQUID = {"pressure_1_pa_abs": (1.1e5, AT_LEAST_0), "density_kg_m3": (745.0, ABOVE_0)}
CHAMBER = {
    "volume_m3": (1e-5, ABOVE_0), "effective_area_m2": (1e-6, ABOVE_0), "gamma": (1.4, ABOVE_1),
    "gas_constant": (287.0, ABOVE_0),
}  # fmt: skip
MACH = {"mach": (0.5, AT_LEAST_0), "gamma": (1.4, ABOVE_1)}

# Each law with an argument that is right for each of its parameters, and the range of that parameter.
LAWS: list[tuple[Callable[..., object], dict[str, tuple[Any, Range]]]] = [
    (atmosphere.geopotential_altitude, {"geometric_m": (0.0, ALTITUDE)}),
    (atmosphere.standard_temperature, {"altitude_m": (0.0, ALTITUDE)}),
    (atmosphere.standard_pressure, {"altitude_m": (0.0, ALTITUDE)}),
    (
        chamber.sealed_pressure,
        dict.fromkeys(["sealed_temperature_k", "temperature_k"], (300.0, ABOVE_0))
        | {"sealed_pressure_pa_abs": (1e5, ABOVE_0), "volume_ratio": (1.0, ABOVE_0)},
    ),
    (chamber.time_constant, CHAMBER | {"temperature_k": (300.0, ABOVE_0)}),
    (
        charge.compressor_outlet_temperature,
        {
            "inlet_temperature_k": (300.0, ABOVE_0), "efficiency": (0.7, COEFFICIENT), "gamma": (1.4, ABOVE_1),
            "pressure_ratio": (2.0, Range((1.0,), (0.999, math.inf, math.nan))),
        },
    ),
    (
        charge.cooler_outlet_temperature,
        {
            "inlet_temperature_k": (390.0, ABOVE_0), "coolant_temperature_k": (300.0, ABOVE_0),
            "effectiveness": (0.7, SHARE),
        },
    ),
    (
        charge.cooler_pressure_loss,
        {
            "mass_flow_kg_s": (0.2, AT_LEAST_0), "rated_mass_flow_kg_s": (0.4, ABOVE_0),
            "rated_loss_pa": (8e3, AT_LEAST_0),
        },
    ),
    (
        cylinder.engine_air_flow,
        {
            "displacement_m3": (5e-3, ABOVE_0), "speed_rev_s": (50.0, AT_LEAST_0),
            "volumetric_efficiency": (0.9, AT_LEAST_0), "pressure_pa_abs": (1e5, ABOVE_0),
            "temperature_k": (300.0, ABOVE_0),
        },
    ),
    (
        cylinder.ideal_volumetric_efficiency_factor,
        {
            "intake_pressure_pa_abs": (1e5, ABOVE_0), "exhaust_pressure_pa_abs": (2e5, ABOVE_0),
            "compression_ratio": (8.5, ABOVE_1), "gamma": (1.4, ABOVE_1),
        },
    ),
    (
        evaporation.antoine_curve,
        {"a": (16.9, Range((), ())), "b": (3795.0, ABOVE_0), "c": (231.0, Range((), ())),
         "lowest_c": (3.0, Range((), ())), "highest_c": (96.0, Range((), ())), "source": ("", Range((), ()))},
    ),
    (
        evaporation.reid_curve,
        {"reid_vapor_pressure_pa": (6e4, within(6894.757293168, 137895.14586336)),
         "distillation_slope": (3.0, within(2.0, 5.0))},
    ),
    (
        evaporation.evaporative_temperature_drop,
        {
            "evaporated_share": (0.5, SHARE), "air_fuel_ratio": (15.0, ABOVE_0), "latent_heat_j_kg": (3e5, ABOVE_0),
            "fuel_heat_capacity_j_kg_k": (2e3, AT_LEAST_0), "air_heat_capacity_j_kg_k": (1006.0, ABOVE_0),
        },
    ),
    (
        evaporation.flash_share,
        {
            "temperature_k": (335.0, ABOVE_0), "boiling_temperature_k": (320.0, ABOVE_0),
            "heat_capacity_j_kg_k": (2e3, ABOVE_0), "latent_heat_j_kg": (3e5, ABOVE_0),
        },
    ),
    (
        evaporation.dew_point,
        {"temperature_k": (293.15, within(228.15, 333.15)), "relative_humidity": (0.5, within(0.01, 1.0))},
    ),
    (
        evaporation.icing_risk,
        {
            "temperature_k": (283.15, within(228.15, 333.15)), "relative_humidity": (0.9, within(0.01, 1.0)),
            "temperature_drop_k": (14.0, AT_LEAST_0),
        },
    ),
    (
        filling.isothermal_choked_vent_time,
        CHAMBER
        | {
            "temperature_k": (300.0, ABOVE_0), "pressure_start_pa_abs": (4e5, ABOVE_0),
            "pressure_end_pa_abs": (2e5, ABOVE_0), "pressure_outside_pa_abs": (1e5, ABOVE_0),
        },
    ),
    (
        filling.adiabatic_choked_vent_time,
        CHAMBER
        | {
            "temperature_start_k": (300.0, ABOVE_0), "pressure_start_pa_abs": (4e5, ABOVE_0),
            "pressure_end_pa_abs": (2e5, ABOVE_0), "pressure_outside_pa_abs": (1e5, ABOVE_0),
        },
    ),
    (
        filling.isothermal_choked_fill_time,
        CHAMBER
        | {
            "temperature_k": (300.0, ABOVE_0), "pressure_supply_pa_abs": (4e5, ABOVE_0),
            "pressure_start_pa_abs": (1e5, ABOVE_0), "pressure_end_pa_abs": (2e5, ABOVE_0),
        },
    ),
    (
        filling.isothermal_subsonic_fill_time,
        CHAMBER
        | {
            "temperature_k": (300.0, ABOVE_0), "pressure_supply_pa_abs": (2e5, ABOVE_0),
            "pressure_start_pa_abs": (1.2e5, ABOVE_0), "pressure_end_pa_abs": (1.9e5, ABOVE_0),
        },
    ),
    (
        filling.adiabatic_fill_temperature,
        {
            "supply_temperature_k": (300.0, ABOVE_0), "start_temperature_k": (300.0, ABOVE_0),
            "pressure_start_pa_abs": (1e5, ABOVE_0), "pressure_end_pa_abs": (2e5, ABOVE_0), "gamma": (1.4, ABOVE_1),
        },
    ),
    (fuels.gasoline, {"reid_vapor_pressure_pa": (6e4, within(6894.757293168, 137895.14586336))}),
    (fuels.e85, {"ethanol_volume_share": (0.85, SHARE)}),
    (gas.density, {"pressure_pa_abs": (1e5, ABOVE_0), "temperature_k": (300.0, ABOVE_0)}),
    (gas.critical_pressure_ratio, {"gamma": (1.4, ABOVE_1)}),
    (gas.choked_flow_function, {"gamma": (1.4, ABOVE_1)}),
    (gas.flow_function, {"pressure_ratio": (0.9, SHARE), "gamma": (1.4, ABOVE_1)}),
    (
        gas.flow_function_slope,
        {"pressure_ratio": (0.9, Range((0.0,), (-1e-9, 1.0, 1.1, math.nan))), "gamma": (1.4, ABOVE_1)},
    ),
    (
        gas.laminar_flow_function,
        {
            "pressure_ratio": (0.9, SHARE), "gamma": (1.4, ABOVE_1),
            "laminar_ratio": (0.999, Range((gas.critical_pressure_ratio(),), (0.52, 1.0, math.nan))),
        },
    ),
    (
        gas.orifice_mass_flow,
        {
            "effective_area_m2": (1e-6, AT_LEAST_0), "pressure_1_pa_abs": (2e5, ABOVE_0),
            "pressure_2_pa_abs": (1e5, ABOVE_0), "temperature_k": (300.0, ABOVE_0), "gamma": (1.4, ABOVE_1),
            "gas_constant": (287.0, ABOVE_0),
        },
    ),
    (
        gas.effective_area_for_flow,
        {
            "mass_flow_kg_s": (0.1, AT_LEAST_0), "pressure_up_pa_abs": (1e5, ABOVE_0),
            "pressure_down_pa_abs": (9e4, ABOVE_0), "temperature_k": (300.0, ABOVE_0), "gamma": (1.4, ABOVE_1),
            "gas_constant": (287.0, ABOVE_0),
        },
    ),
    (
        gas.effective_area_from_rating,
        {
            "volume_flow_m3_s": (0.28, AT_LEAST_0), "pressure_drop_pa": (5e3, ABOVE_0),
            "pressure_up_pa_abs": (1e5, ABOVE_0), "temperature_k": (300.0, ABOVE_0),
        },
    ),
    (isentropic.isentropic_temperature_ratio, MACH),
    (isentropic.isentropic_pressure_ratio, MACH),
    (isentropic.isentropic_density_ratio, MACH),
    (isentropic.isentropic_area_ratio, MACH | {"mach": (0.5, ABOVE_0)}),
    (
        isentropic.throat_pressure,
        {
            "mass_flow_kg_s": (0.05, AT_LEAST_0), "effective_area_m2": (5e-4, ABOVE_0),
            "pressure_pa_abs": (1e5, ABOVE_0), "temperature_k": (300.0, ABOVE_0),
        },
    ),
    (
        iso_6358.iso_6358_mass_flow,
        {
            "sonic_conductance_m3_s_pa": (1e-8, AT_LEAST_0),
            "critical_ratio": (0.3, Range((0.0,), (-1e-9, 1.0, math.nan))),
            "pressure_up_pa_abs": (7e5, ABOVE_0), "pressure_down_pa_abs": (1e5, ABOVE_0),
            "temperature_k": (300.0, ABOVE_0),
        },
    ),
    (
        liquid.effective_bore_area,
        {"diameter_m": (1e-3, AT_LEAST_0), "discharge_coefficient": (0.75, COEFFICIENT)},
    ),
    (
        liquid.column_pressure,
        {
            "density_kg_m3": (745.0, ABOVE_0), "height_m": (1.0, within(-1e6, 1e6)),
            "acceleration_m_s2": (9.8, within(-1e6, 1e6)),
        },
    ),
    (
        liquid.liquid_orifice_mass_flow,
        LIQUID | {"effective_area_m2": (1e-6, AT_LEAST_0), "pressure_2_pa_abs": (1e5, AT_LEAST_0)},
    ),
    (
        liquid.liquid_effective_area_for_flow,
        LIQUID
        | {
            "mass_flow_kg_s": (1e-3, AT_LEAST_0), "pressure_2_pa_abs": (1e5, AT_LEAST_0),
            "pressure_1_pa_abs": (1.1e5, Range((), (-1.0, 1e5, math.inf, math.nan))),
        },
    ),
    (
        liquid.needle_seat_effective_area,
        {
            "seat_diameter_m": (2e-3, AT_LEAST_0), "lift_m": (1e-3, AT_LEAST_0),
            "cone_angle_rad": (1.0, Range((math.pi,), (0.0, 3.15, math.nan))),
            "discharge_coefficient": (0.6, COEFFICIENT),
        },
    ),
    (
        liquid.friction_factor,
        {
            "reynolds": (1e5, Range((1e8,), (0.0, 1.0001e8, math.nan))),
            "relative_roughness": (1e-3, within(0.0, 0.05)),
        },
    ),
    (
        liquid.line_pressure_loss,
        {
            "mass_flow_kg_s": (0.03, AT_LEAST_0), "length_m": (3.0, AT_LEAST_0), "diameter_m": (8e-3, ABOVE_0),
            "density_kg_m3": (745.0, ABOVE_0), "viscosity_pa_s": (5e-4, ABOVE_0), "roughness_m": (2e-6, AT_LEAST_0),
            "loss_coefficient": (1.5, AT_LEAST_0),
        },
    ),
    (
        metering.elementary_flow,
        {
            "effective_area_m2": (1e-6, AT_LEAST_0), "density_kg_m3": (745.0, ABOVE_0),
            "depression_pa": (8e3, AT_LEAST_0), "lip_m": (5e-3, AT_LEAST_0),
        },
    ),
    (
        metering.elementary_air_fuel_ratio,
        {
            "venturi_effective_area_m2": (2.5e-4, AT_LEAST_0), "jet_effective_area_m2": (7e-7, AT_LEAST_0),
            "air_density_kg_m3": (1.2, ABOVE_0), "fuel_density_kg_m3": (745.0, ABOVE_0),
            "depression_pa": (8e3, ABOVE_0), "lip_m": (5e-3, AT_LEAST_0),
        },
    ),
    (
        metering.spill_over_air_speed,
        {"air_density_kg_m3": (1.2, ABOVE_0), "fuel_density_kg_m3": (745.0, ABOVE_0), "lip_m": (5e-3, AT_LEAST_0)},
    ),
    (
        metering.air_fuel_ratio_at_density,
        {
            "air_fuel_ratio": (14.7, ABOVE_0), "density_kg_m3": (0.9, ABOVE_0),
            "reference_density_kg_m3": (1.2, ABOVE_0), "exponent": (0.4, within(0.0, 0.5)),
        },
    ),
    (
        metering.main_circuit,
        {
            "main_jet_effective_area_m2": (1.5e-6, AT_LEAST_0), "nozzle_effective_area_m2": (6e-6, ABOVE_0),
            "bowl_pressure_pa_abs": (101325.0, ABOVE_0), "air_horn_pressure_pa_abs": (101325.0, ABOVE_0),
            "booster_pressure_pa_abs": (93000.0, ABOVE_0), "air_temperature_k": (288.15, ABOVE_0),
            "fuel_density_kg_m3": (745.0, ABOVE_0), "power_effective_area_m2": (1e-6, AT_LEAST_0),
            "bleed_effective_area_m2": (6e-7, AT_LEAST_0),
        },
    ),
    (
        shot.pump_stroke,
        {
            "cam_lift_m": (4e-3, AT_LEAST_0), "lever_ratio": (1.5, ABOVE_0), "diaphragm_travel_m": (5e-3, AT_LEAST_0),
            "effective_area_m2": (6e-4, ABOVE_0),
        },
    ),
    (shot.rated_capacity, {"stroke_volume_m3": (3e-6, AT_LEAST_0)}),
    (
        shot.shot_duration,
        {
            "volume_m3": (3e-6, AT_LEAST_0), "nozzles_effective_area_m2": (4e-7, ABOVE_0),
            "screw_effective_area_m2": (2e-6, ABOVE_0),
            "pump_pressure_pa_abs": (1.3e5, Range((), (1e5,))), "nozzle_pressure_pa_abs": (1e5, Range((0.0,), ())),
            "density_kg_m3": (745.0, ABOVE_0),
        },
    ),
    (
        shot.boost_load,
        {
            "wet_pressure_pa_abs": (1.7e5, AT_LEAST_0), "dry_pressure_pa_abs": (1e5, AT_LEAST_0),
            "effective_area_m2": (1e-3, ABOVE_0),
        },
    ),
    (
        shot.fade_pressure,
        {
            "override_preload_n": (35.0, AT_LEAST_0), "dry_pressure_pa_abs": (1e5, AT_LEAST_0),
            "effective_area_m2": (1e-3, ABOVE_0),
        },
    ),
    (
        shot.boosted_travel,
        {
            "travel_m": (5e-3, AT_LEAST_0), "override_preload_n": (35.0, AT_LEAST_0),
            "override_rate_n_m": (4e3, ABOVE_0), "override_free_travel_m": (8e-3, AT_LEAST_0),
            "wet_pressure_pa_abs": (1.4e5, AT_LEAST_0), "dry_pressure_pa_abs": (1e5, AT_LEAST_0),
            "effective_area_m2": (1e-3, ABOVE_0),
        },
    ),
    (
        slosh.surface_slope,
        {"acceleration_m_s2": (7.0, within(-1e4, 1e4)), "grade_rad": (0.1, within(-1.5707963, 1.5707963))},
    ),
    (
        slosh.free_surface,
        {
            "length_m": (0.1, ABOVE_0), "height_m": (0.04, ABOVE_0), "still_level_m": (0.02, within(0.0, 0.04)),
            "slope": (0.1, within(-1e6, 1e6)),
        },
    ),
    (
        slosh.uncovering_slope,
        {
            "length_m": (0.1, ABOVE_0), "height_m": (0.05, ABOVE_0), "still_level_m": (0.025, within(0.0, 0.05)),
            "position_m": (0.04, within(-0.05, 0.05)), "jet_height_m": (0.005, within(0.0, 0.05)),
        },
    ),
    (
        slosh.uncovering_acceleration,
        {"slope": (0.5, Range((0.0, math.inf), (-1e-9, math.nan))),
         "grade_rad": (0.1, within(-1.5707963, 1.5707963))},
    ),
]  # fmt: skip

# What another law, called for part of the work, calls the same argument.
CALLED = {
    ("adiabatic_choked_vent_time", "temperature_start_k"): "temperature_k",
    ("elementary_air_fuel_ratio", "air_density_kg_m3"): "density_kg_m3",
    ("elementary_air_fuel_ratio", "fuel_density_kg_m3"): "density_kg_m3",
    ("elementary_air_fuel_ratio", "jet_effective_area_m2"): "effective_area_m2",
    ("elementary_air_fuel_ratio", "venturi_effective_area_m2"): "effective_area_m2",
    ("main_circuit", "fuel_density_kg_m3"): "density_kg_m3",
    ("spill_over_air_speed", "fuel_density_kg_m3"): "density_kg_m3",
}


EACH = [
    pytest.param(law, name, parameters, id=f"{law.__name__}-{name}") for law, parameters in LAWS for name in parameters
]


@pytest.mark.parametrize(("law", "name", "parameters"), EACH)
def test_argument_outside_its_range_is_refused_by_name(
    law: Callable[..., object], name: str, parameters: dict[str, tuple[Any, Range]]
) -> None:
    right = {each: value for each, (value, _) in parameters.items()}
    law(**right)
    bounds = parameters[name][1]
    for value in bounds.accepted:
        law(**(right | {name: value}))
    called = CALLED.get((law.__name__, name), name)
    for value in bounds.refused:
        with pytest.raises(ValueError, match=rf"^{called} must (be|lift)"):
            law(**(right | {name: value}))
