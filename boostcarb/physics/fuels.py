"""Fuels: what a liter of one weighs, needs in air, takes in heat and gives back."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal

from boostcarb.physics.constants import require_not_negative, require_positive, require_within
from boostcarb.physics.evaporation import ETHANOL_VAPOR, METHANOL_VAPOR, VaporCurve, reid_curve

OXYGEN_IN_AIR: Final = 0.2095
"""Mole fraction of oxygen in dry air."""

MOLAR_MASS_AIR: Final = 28.9644e-3
"""Molar mass of dry air, kg/mol (US Standard Atmosphere, 1976)."""

_CARBON, _HYDROGEN, _OXYGEN = 12.011e-3, 1.008e-3, 15.999e-3
_BTU_A_POUND: Final = 2326.0

Status = Literal["published", "library", "computed", "estimate", "given"]


@dataclass(frozen=True, slots=True)
class Source:
    """Where one value comes from, and whether it was read in a published copy, taken from a property library,
    computed from other values, estimated, or given by the user.
    """

    text: str
    status: Status


@dataclass(frozen=True, slots=True)
class Composition:
    """Mass fractions of carbon, hydrogen and oxygen; what is missing to 1 does not burn.

    >>> round(Composition.of_formula(carbon=2, hydrogen=6, oxygen=1).oxygen, 4)
    0.3473
    """

    carbon: float
    hydrogen: float
    oxygen: float = 0.0

    def __post_init__(self) -> None:
        for name in ("carbon", "hydrogen", "oxygen"):
            require_not_negative(name, getattr(self, name))
        require_within("carbon + hydrogen + oxygen", self.carbon + self.hydrogen + self.oxygen, 0.0, 1.0 + 1e-9)

    @classmethod
    def of_formula(cls, *, carbon: float, hydrogen: float, oxygen: float = 0.0) -> Composition:
        """Mass fractions from numbers of atoms. Raises: ValueError for a negative number, or no atoms."""
        for name, count in (("carbon", carbon), ("hydrogen", hydrogen), ("oxygen", oxygen)):
            require_not_negative(name, count)
        masses = (carbon * _CARBON, hydrogen * _HYDROGEN, oxygen * _OXYGEN)
        total = sum(masses)
        require_positive("mass of the formula", total)
        return cls(*(mass / total for mass in masses))


def stoichiometric_air_fuel_ratio(*, composition: Composition) -> float:
    """Mass of dry air that burns unit mass of fuel completely.

    Raises: ValueError for a fuel that carries as much oxygen as it needs, or more.

    References:
        1. J. B. Heywood, Internal Combustion Engine Fundamentals, 1988, equation 3.6 (cited from memory).

    >>> round(stoichiometric_air_fuel_ratio(composition=Composition.of_formula(carbon=8, hydrogen=18)), 3)
    15.129
    """
    oxygen_moles = (
        composition.carbon / _CARBON + 0.25 * composition.hydrogen / _HYDROGEN - 0.5 * composition.oxygen / _OXYGEN
    )
    require_positive("oxygen needed", oxygen_moles)
    return oxygen_moles / OXYGEN_IN_AIR * MOLAR_MASS_AIR


@dataclass(frozen=True, slots=True, kw_only=True)
class Fuel:
    """A fuel at 20 C.

    Attributes:
        name: what to call it.
        composition: mass fractions.
        density_kg_m3: density of the liquid, kg/m3.
        latent_heat_j_kg: heat of evaporation, J/kg.
        heat_capacity_j_kg_k: specific heat of the liquid, J/(kg K).
        viscosity_pa_s: dynamic viscosity of the liquid, Pa s.
        lower_heating_value_j_kg: heat of combustion with the water as vapor, J/kg.
        sources: one source for each value above, by attribute name.
        vapor: vapor curve, or None where no simple curve would be honest (blends with alcohol).

    Raises: ValueError for a value that is not finite and above 0, or a value without a source.
    """

    name: str
    composition: Composition
    density_kg_m3: float
    latent_heat_j_kg: float
    heat_capacity_j_kg_k: float
    viscosity_pa_s: float
    lower_heating_value_j_kg: float
    sources: Mapping[str, Source]
    vapor: VaporCurve | None = None

    def __post_init__(self) -> None:
        for name in _VALUES:
            require_positive(name, getattr(self, name))
        missing = [name for name in ("composition", *_VALUES) if name not in self.sources]
        if missing:
            raise ValueError(f"sources must name the origin of every value, missing {', '.join(missing)}")
        object.__setattr__(self, "sources", MappingProxyType(dict(self.sources)))

    @property
    def stoichiometric_air_fuel_ratio(self) -> float:
        """Mass of dry air that burns unit mass of the fuel, no unit."""
        return stoichiometric_air_fuel_ratio(composition=self.composition)


_VALUES: Final = (
    "density_kg_m3", "latent_heat_j_kg", "heat_capacity_j_kg_k", "viscosity_pa_s", "lower_heating_value_j_kg",
)  # fmt: skip


def custom_fuel(
    *,
    name: str,
    composition: Composition,
    density_kg_m3: float,
    latent_heat_j_kg: float,
    heat_capacity_j_kg_k: float,
    viscosity_pa_s: float,
    lower_heating_value_j_kg: float,
    source: str,
    vapor: VaporCurve | None = None,
) -> Fuel:
    """A fuel whose values somebody gives, all from one source; see :class:`Fuel` for units and what it raises."""
    return Fuel(
        name=name,
        composition=composition,
        density_kg_m3=density_kg_m3,
        latent_heat_j_kg=latent_heat_j_kg,
        heat_capacity_j_kg_k=heat_capacity_j_kg_k,
        viscosity_pa_s=viscosity_pa_s,
        lower_heating_value_j_kg=lower_heating_value_j_kg,
        sources=dict.fromkeys(("composition", *_VALUES), Source(source, "given")),
        vapor=vapor,
    )


_DOE: Final = Source("US DOE, Alternative Fuels Data Center, Properties of Fuels (copies of the sheet)", "published")
_FORMULA: Final = Source("molecular formula", "computed")


def gasoline(*, reid_vapor_pressure_pa: float = 60e3) -> Fuel:
    """Gasoline without alcohol, of a given volatility (summer grades 45 to 60 kPa, winter up to 100 kPa).

    Raises: ValueError for a Reid vapor pressure outside 7 to 138 kPa.

    >>> round(gasoline().stoichiometric_air_fuel_ratio, 2)
    14.7
    """
    return Fuel(
        name="gasoline",
        composition=Composition.of_formula(carbon=1.0, hydrogen=1.94),
        density_kg_m3=745.0,
        latent_heat_j_kg=150.0 * _BTU_A_POUND,
        heat_capacity_j_kg_k=2010.0,
        viscosity_pa_s=4.1e-4,
        lower_heating_value_j_kg=18676.0 * _BTU_A_POUND,
        sources={
            "composition": Source("CH1.94, for the usual 14.7; 14 % hydrogen, the sheet: 12 to 15", "estimate"),
            "density_kg_m3": Source("middle of the sheet's 719 to 779 kg/m3", "estimate"),
            "latent_heat_j_kg": _DOE,
            "heat_capacity_j_kg_k": _DOE,
            "viscosity_pa_s": Source("middle of the sheet's 0.37 to 0.44 mPa s", "estimate"),
            "lower_heating_value_j_kg": _DOE,
        },
        vapor=reid_curve(reid_vapor_pressure_pa=reid_vapor_pressure_pa),
    )


def _alcohol_sources(library: str) -> dict[str, Source]:
    sources = dict.fromkeys(_VALUES, Source(f"{library}, 293.15 K", "library"))
    return sources | {"composition": _FORMULA, "lower_heating_value_j_kg": _DOE}


GASOLINE: Final = gasoline()
"""Gasoline without alcohol, Reid vapor pressure 60 kPa."""

ETHANOL: Final = Fuel(
    name="ethanol",
    composition=Composition.of_formula(carbon=2, hydrogen=6, oxygen=1),
    density_kg_m3=789.4,
    latent_heat_j_kg=926.0e3,
    heat_capacity_j_kg_k=2396.0,
    viscosity_pa_s=1.194e-3,
    lower_heating_value_j_kg=11585.0 * _BTU_A_POUND,
    sources=_alcohol_sources("CoolProp 8.0, ethanol"),
    vapor=ETHANOL_VAPOR,
)
"""Pure ethanol."""

METHANOL: Final = Fuel(
    name="methanol",
    composition=Composition.of_formula(carbon=1, hydrogen=4, oxygen=1),
    density_kg_m3=791.0,
    latent_heat_j_kg=1176.6e3,
    heat_capacity_j_kg_k=2504.6,
    viscosity_pa_s=5.853e-4,
    lower_heating_value_j_kg=8637.0 * _BTU_A_POUND,
    sources=_alcohol_sources("CoolProp 8.0, methanol"),
    vapor=METHANOL_VAPOR,
)
"""Pure methanol."""


def blend(*, name: str, parts: Sequence[tuple[Fuel, float]]) -> Fuel:
    """Fuel mixed by volume.

    Args:
        name: what to call the blend.
        parts: fuels with their volume shares (no unit), each at least 0, together 1.

    Returns:
        The blend. Density by volume; composition, heats and heat capacity by mass; viscosity by the
        logarithm over volume. The vapor curve is lost, unless one part is all there is.

    Valid as ideal mixing; the viscosity is an estimate. The vapor pressure of an alcohol blend lies above
    both its parts and is not modeled.

    Raises: ValueError for a negative share, or shares whose sum is not 1.

    References:
        1. Conservation of mass, elements and energy; S. Arrhenius 1887 for the viscosity.

    >>> round(blend(name="", parts=[(GASOLINE, 0.9), (ETHANOL, 0.1)]).stoichiometric_air_fuel_ratio, 2)
    14.1
    """
    for _, share in parts:
        require_not_negative("volume share", share)
    require_within("sum of the volume shares", math.fsum(share for _, share in parts), 1.0 - 1e-9, 1.0 + 1e-9)
    used = [(fuel, share) for fuel, share in parts if share > 0.0]
    density = math.fsum(share * fuel.density_kg_m3 for fuel, share in used)
    weights = [(fuel, share * fuel.density_kg_m3 / density) for fuel, share in used]

    def by_mass(values: Sequence[float]) -> float:
        return math.fsum(weight * value for (_, weight), value in zip(weights, values, strict=True))

    fuels = [fuel for fuel, _ in used]
    shares = ", ".join(f"{100.0 * share:.4g} % {fuel.name}" for fuel, share in used)
    sources = dict.fromkeys(("composition", *_VALUES), Source(f"mixed from {shares} by volume", "computed"))
    sources["viscosity_pa_s"] = Source(f"mixed from {shares} by volume, logarithms", "estimate")
    return Fuel(
        name=name,
        composition=Composition(
            carbon=by_mass([fuel.composition.carbon for fuel in fuels]),
            hydrogen=by_mass([fuel.composition.hydrogen for fuel in fuels]),
            oxygen=by_mass([fuel.composition.oxygen for fuel in fuels]),
        ),
        density_kg_m3=density,
        latent_heat_j_kg=by_mass([fuel.latent_heat_j_kg for fuel in fuels]),
        heat_capacity_j_kg_k=by_mass([fuel.heat_capacity_j_kg_k for fuel in fuels]),
        viscosity_pa_s=math.exp(math.fsum(share * math.log(fuel.viscosity_pa_s) for fuel, share in used)),
        lower_heating_value_j_kg=by_mass([fuel.lower_heating_value_j_kg for fuel in fuels]),
        sources=sources,
        vapor=fuels[0].vapor if len(fuels) == 1 else None,
    )


def ethanol_blend(*, name: str, ethanol_volume_share: float) -> Fuel:
    """Gasoline with ethanol. Pump E85 holds 51 to 83 % ethanol by season: give the share that was measured.

    Source of the range: ASTM D5798, from memory. Raises: ValueError for a share outside 0 to 1.

    >>> round(ethanol_blend(name="winter E85", ethanol_volume_share=0.70).stoichiometric_air_fuel_ratio, 2)
    10.64
    """
    require_within("ethanol_volume_share", ethanol_volume_share, 0.0, 1.0)
    return blend(name=name, parts=[(GASOLINE, 1.0 - ethanol_volume_share), (ETHANOL, ethanol_volume_share)])


E10: Final = ethanol_blend(name="E10", ethanol_volume_share=0.10)
"""Gasoline with 10 % ethanol by volume."""


def e85(*, ethanol_volume_share: float = 0.85) -> Fuel:
    """Pump E85 with the ethanol share it really has; see :func:`ethanol_blend`.

    >>> round(e85().stoichiometric_air_fuel_ratio, 2)
    9.82
    """
    return ethanol_blend(name="E85", ethanol_volume_share=ethanol_volume_share)
