"""What a job may say about its fuel and its mixture: the fuel's make-up, targets, and what was measured."""

# Annotations are evaluated as written, not kept as text: compiling each again would slow every start.
from typing import Annotated, Any, Literal, get_args

from pydantic import BeforeValidator, Field, ValidationInfo, field_validator

from boostcarb.description.family import Id, Strict
from boostcarb.quantities import Altitude, Density, Fraction, Length, Temperature, bounded, format_fraction

FuelName = Literal["gasoline", "E10", "E85", "ethanol", "methanol", "custom"]


def _named_fuel(value: Any) -> Any:
    """The fuel by its name here, written in capitals or not; petrol is gasoline."""
    if not isinstance(value, str):
        return value
    written = "gasoline" if value.lower() == "petrol" else value.lower()
    return next((name for name in get_args(FuelName) if name.lower() == written), value)


FuelAsWritten = Annotated[FuelName, BeforeValidator(_named_fuel)]
BLENDS = ("E10", "E85")
"""Fuels whose ethanol content can be given."""

EthanolContent = Annotated[Fraction, Field(ge=0, le=1, description="share of ethanol by volume, as measured")]
Lambda = Annotated[float, Field(ge=0.4, le=1.6)]
LEANEST_IN_BOOST = 0.95
"""No boost target may be leaner: there the exhaust is hottest and knock nearest (common practice, no source)."""
Share = Annotated[Fraction, Field(ge=0, le=1)]
FuelDensity = Annotated[Density, bounded("600 kg/m3", "1200 kg/m3", "a density of a fuel")]
SpillHeight = Annotated[Length, bounded("0 mm", "40 mm", "a spill height")]


class Elements(Strict):
    """Shares of carbon, hydrogen and oxygen by mass; what is missing to 100 % does not burn."""

    carbon: Share = Field(description="by mass")
    hydrogen: Annotated[Fraction, Field(ge=0, le=0.3)] = Field(description="by mass")
    oxygen: Share = Field(default=0.0, validate_default=True, description="by mass")

    @field_validator("oxygen")
    @classmethod
    def _together_at_most_one(cls, oxygen: float, info: ValidationInfo) -> float:
        total = oxygen + float(info.data.get("carbon", 0.0)) + float(info.data.get("hydrogen", 0.0))
        if total > 1.0 + 1e-9:
            raise ValueError(f"carbon, hydrogen and oxygen come to {format_fraction(total, digits=4)}; at most 100 %")
        if info.data.get("carbon", 0.0) / 12.011 + info.data.get("hydrogen", 0.0) / 4.032 <= oxygen / 31.998:
            raise ValueError("this carries all the oxygen it needs, or more; it is no fuel for an engine")
        return oxygen


class FuelDetail(Strict):
    """What is known of the fuel beyond its name."""

    ethanol: EthanolContent | None = Field(default=None, description="of E10 or E85: what it really holds, by volume")
    elements: Elements | None = Field(default=None, description="of a custom fuel")
    density: FuelDensity | None = Field(default=None, description="of a custom fuel, at 20 degC")


class Targets(Strict):
    """Mixtures wanted, as lambda; left out: the starting points for the fuel."""

    cruise: Lambda | None = Field(default=None, description="steady part throttle, without boost")
    wide_open: Lambda | None = Field(default=None, description="full load without boost")
    boost: Lambda | None = Field(default=None, description="full boost; light boost lies between")

    @field_validator("boost")
    @classmethod
    def _rich_in_boost(cls, boost: float | None, info: ValidationInfo) -> float | None:
        wide_open = info.data.get("wide_open")
        if boost is not None and boost > LEANEST_IN_BOOST:
            raise ValueError(
                f"lambda {boost:.2f} in boost is too lean; at most {LEANEST_IN_BOOST}, or the engine knocks and burns "
                "its pistons"
            )
        if boost is not None and wide_open is not None and boost > wide_open:
            raise ValueError(
                f"lambda {boost:.2f} in boost is leaner than {wide_open:.2f} at full load without boost; boost needs "
                "the richer mixture"
            )
        return boost


class Measured(Strict):
    """One reading of a wideband, with the carburetor as found."""

    state: Id = Field(description="operating state, for example cruise")
    lambda_: Lambda = Field(alias="lambda", description="what the wideband read")
    group: Id | None = Field(default=None, description="barrel group, if only its cylinders were read; else the whole")


class RightFor(Strict):
    """What the jets were right for before; left out: the job's own fuel and place."""

    fuel: Annotated[
        Literal["gasoline", "E10", "E85", "ethanol", "methanol"] | None, BeforeValidator(_named_fuel)
    ] = Field(default=None, description="fuel then")
    ethanol: EthanolContent | None = Field(default=None, description="what that fuel held, of E10 or E85")
    altitude: Annotated[Altitude, bounded("-500 m", "6000 m", "an altitude")] | None = Field(
        default=None, description="height of the place then"
    )
    temperature: Annotated[Temperature, bounded("-50 degC", "60 degC")] | None = Field(
        default=None, description="of the air then"
    )

    @field_validator("ethanol")
    @classmethod
    def _ethanol_of_a_blend(cls, ethanol: float | None, info: ValidationInfo) -> float | None:
        if ethanol is not None and info.data.get("fuel") not in BLENDS:
            raise ValueError("only E10 and E85 have an ethanol content to give; name one of them as `fuel`")
        return ethanol


ShareEitherWay = Annotated[Fraction, Field(ge=0, le=0.5)]


class Spread(Strict):
    """How far the true value may lie from the one taken, either way, 19 times in 20; for `fuel --how-sure`."""

    volumetric_efficiency: ShareEitherWay | None = Field(default=None, description="of the engine")
    boost: ShareEitherWay | None = Field(default=None, description="of the gauge pressure that the wastegate holds")
    rated_flow: ShareEitherWay | None = Field(default=None, description="of the carburetor")
    venturi_coefficient: ShareEitherWay | None = Field(default=None, description="flow coefficient of the venturis")
    compressor_efficiency: ShareEitherWay | None = Field(default=None, description="by way of the charge temperature")
    cooler_effectiveness: ShareEitherWay | None = Field(default=None, description="by way of the charge temperature")
    ambient_temperature: (
        Annotated[Temperature, bounded("0 K", "40 K", "a spread of temperature, in K,")] | None
    ) = Field(default=None, description="kelvin either way")
    booster_gain: ShareEitherWay | None = Field(default=None, description="pull of the booster over the venturi's")
    jets: ShareEitherWay | None = Field(default=None, description="discharge of jets and channel restrictions")
    channels: ShareEitherWay | None = Field(default=None, description="discharge of the channels over that of the jets")
    bleeds: ShareEitherWay | None = Field(default=None, description="discharge of the air bleeds")
    nozzle: ShareEitherWay | None = Field(default=None, description="discharge of the nozzle for fuel with air")
    spill_height: Annotated[Length, bounded("0 mm", "10 mm", "a spread of the spill height")] | None = Field(
        default=None, description="from the fuel up to the nozzle"
    )
    drill: Annotated[Length, bounded("0 mm", "0.3 mm", "a spread of a drilled bore")] | None = Field(
        default=None, description="each bore, against the drill's size"
    )
    fuel_density: ShareEitherWay | None = Field(default=None, description="of the fuel")
    ethanol: Annotated[Fraction, Field(ge=0, le=0.5)] | None = Field(
        default=None, description="of the share by volume, in points: 5 % about 70 % is 65 to 75 %"
    )
    stoichiometric: ShareEitherWay | None = Field(default=None, description="air that the fuel needs")


class Metering(Strict):
    """Targets, readings and what is known of the main circuit."""

    targets: Targets = Field(default=Targets(), description="mixtures wanted")
    measured: list[Measured] = Field(
        default=[], max_length=40, description="readings with the carburetor as found, on the fuel of right_for"
    )
    right_for: RightFor | None = Field(default=None, description="what the jets were right for before")
    booster_gain: Annotated[float, Field(ge=1, le=6)] | None = Field(
        default=None, description="pull of the booster over pull of its venturi"
    )
    jet_discharge: Annotated[Fraction, Field(ge=0.5, le=0.95)] | None = Field(
        default=None, description="discharge coefficient of the jets and channel restrictions, as measured"
    )
    spill_height: SpillHeight | None = Field(default=None, description="from the fuel in the bowl up to the nozzle")
    spread: Spread = Field(default=Spread(), description="how far inputs may be off, for `fuel --how-sure`")


def check_detail(fuel: str, detail: FuelDetail | None) -> None:
    """Whether what is said of a fuel fits its name. Raises: ValueError."""
    if fuel == "custom" and (detail is None or detail.elements is None or detail.density is None):
        raise ValueError("a custom fuel needs its `elements` (carbon, hydrogen, oxygen by mass) and its `density`")
    if detail is None:
        return
    if detail.ethanol is not None and fuel not in BLENDS:
        raise ValueError(f"found ethanol, but the fuel is {fuel}; only E10 and E85 have an ethanol content to give")
    if fuel != "custom" and (detail.elements is not None or detail.density is not None):
        raise ValueError(f"elements and density are for `fuel: custom`; found fuel {fuel}")
