"""The fuel of a job, and the one its jets were right for."""

from __future__ import annotations

from boostcarb.description.job import Job
from boostcarb.description.metering import FuelDetail
from boostcarb.physics.fuels import ETHANOL, GASOLINE, METHANOL, Composition, Fuel, Source, ethanol_blend

ETHANOL_SHARE = {"E10": 0.10, "E85": 0.85}
"""Ethanol by volume where the job gives none. E85 by its name: it needs the most fuel, so it errs on the rich side."""

NOT_GIVEN = Source("not given for the custom fuel; that of gasoline", "estimate")
GIVEN = Source("job file", "given")


def fuel_of(job: Job) -> Fuel:
    """What the engine runs on.

    >>> from boostcarb.description.metering import FuelDetail
    >>> round(blend_named("E85", FuelDetail(ethanol="74 %")).stoichiometric_air_fuel_ratio, 2)
    10.42
    """
    detail = job.fuel_detail or FuelDetail()
    if job.fuel != "custom":
        return blend_named(job.fuel, detail)
    if detail.elements is None or detail.density is None:
        raise ValueError("a custom fuel without elements or density")
    elements = detail.elements
    return Fuel(
        name="custom fuel",
        composition=Composition(carbon=elements.carbon, hydrogen=elements.hydrogen, oxygen=elements.oxygen),
        density_kg_m3=detail.density,
        latent_heat_j_kg=GASOLINE.latent_heat_j_kg,
        heat_capacity_j_kg_k=GASOLINE.heat_capacity_j_kg_k,
        viscosity_pa_s=GASOLINE.viscosity_pa_s,
        lower_heating_value_j_kg=GASOLINE.lower_heating_value_j_kg,
        sources={
            "composition": GIVEN,
            "density_kg_m3": GIVEN,
            "latent_heat_j_kg": NOT_GIVEN,
            "heat_capacity_j_kg_k": NOT_GIVEN,
            "viscosity_pa_s": NOT_GIVEN,
            "lower_heating_value_j_kg": NOT_GIVEN,
        },
    )


def fuel_before(job: Job) -> Fuel:
    """What the jets were right for: the job's own fuel unless it says otherwise."""
    right_for = job.metering.right_for
    if right_for is None or right_for.fuel is None:
        return fuel_of(job)
    return blend_named(right_for.fuel, FuelDetail(ethanol=right_for.ethanol))


def blend_named(name: str, detail: FuelDetail) -> Fuel:
    """A fuel by its name in a job, with its real ethanol content where that is known."""
    if name in ETHANOL_SHARE:
        share = ETHANOL_SHARE[name] if detail.ethanol is None else detail.ethanol
        return ethanol_blend(name=name, ethanol_volume_share=share)
    return {"gasoline": GASOLINE, "ethanol": ETHANOL, "methanol": METHANOL}[name]
