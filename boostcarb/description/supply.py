"""What a job may say about the fuel side: supply, accelerator pump, float bowls, and how hard it is driven.

Everything is optional. What is left out is taken from the family's typical values, which have the same form.
"""



from itertools import pairwise
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from boostcarb.description.family import Id, Strict
from boostcarb.quantities import (
    Acceleration,
    Angle,
    Difference,
    Force,
    Fraction,
    Length,
    SignedLength,
    Temperature,
    Volume,
    VolumeFlow,
    bounded,
)

Size = Literal["small", "large"]
Acting = Annotated[Acceleration, bounded("0 m/s2", "30 m/s2", "an acceleration of a car")]
Grade = Annotated[Fraction, Field(ge=0, le=1, description="rise over run: 20 % climbs 20 m in 100 m")]
Inside = Annotated[Length, bounded("5 mm", "300 mm", "a size of a bowl")]
Offset = Annotated[SignedLength, bounded("-150 mm", "150 mm", "a position in a bowl")]
Push = Annotated[Force, bounded("0 N", "1000 N", "a force of a spring or float")]
Stroke = Annotated[Length, bounded("0.1 mm", "50 mm")]


class PumpPoint(Strict):
    """What the fuel pump delivers against one pressure."""

    pressure: Annotated[Difference, bounded("0 kPa", "1000 kPa", "a fuel pump's pressure")] = Field(
        description="against which it delivers"
    )
    flow: Annotated[VolumeFlow, bounded("0 l/h", "2000 l/h")] = Field(description="what it delivers")


class FuelPump(Strict):
    """The fuel pump's curve, as measured or as its maker gives it."""

    curve: list[PumpPoint] = Field(min_length=2, description="at least two points, by rising pressure")
    note: str | None = Field(default=None, description="voltage and temperature of the curve")

    @model_validator(mode="after")
    def _falls(self) -> Self:
        for before, after in pairwise(self.curve):
            if after.pressure <= before.pressure or after.flow > before.flow:
                raise ValueError("the curve must go by rising pressure, and its flow must not rise")
        return self


class FuelLine(Strict):
    """The line from the tank to the regulator."""

    bore: Annotated[Length, bounded("2 mm", "30 mm")] | None = Field(default=None, description="inside")
    length: Annotated[Length, bounded("0.1 m", "20 m")] | None = Field(default=None, description="tank to regulator")
    lift: Annotated[SignedLength, bounded("-2 m", "3 m")] | None = Field(
        default=None, description="height of the carburetor above the fuel in the tank"
    )


class Supply(Strict):
    """What brings the fuel to the bowls."""

    regulator_pressure: Annotated[Difference, bounded("1 kPa", "100 kPa", "a carburetor's fuel pressure")] | None = (
        Field(default=None, description="set pressure of the regulator over its reference")
    )
    needle_lift: Annotated[Length, bounded("0.1 mm", "5 mm")] | None = Field(
        default=None, description="how far the float lets the needle off its seat"
    )
    needle_cone: Annotated[Angle, bounded("20 deg", "180 deg", "a cone")] | None = Field(
        default=None, description="full angle of the needle's tip; 180 deg is a flat one"
    )
    needle_discharge: Annotated[Fraction, Field(gt=0.2, le=1)] | None = Field(
        default=None, description="discharge coefficient of needle and seat"
    )
    float_force: Push | None = Field(default=None, description="with which float and lever shut the needle")
    line: FuelLine | None = Field(default=None, description="line from the tank")
    pump: FuelPump | None = Field(default=None, description="fuel pump")
    return_line: bool | None = Field(
        default=None, alias="return", description="true: the regulator returns to the tank; false: dead-head"
    )
    bowl_temperature: Annotated[Temperature, bounded("0 degC", "110 degC")] | None = Field(
        default=None, description="of the fuel in the bowl, hot"
    )
    reid_vapor_pressure: Annotated[Difference, bounded("7 kPa", "137 kPa", "a Reid vapor pressure")] | None = Field(
        default=None, description="of the gasoline, for boiling in the bowl"
    )


class PumpSet(Strict):
    """Size of each part of the pump; all four must be one size."""

    diaphragm: Size | None = Field(default=None, description="size of the diaphragm")
    cover: Size | None = Field(default=None, description="size of its cover")
    spring: Literal["straight", "conical"] | None = Field(default=None, description="the return spring in the fuel")
    cam: Size | None = Field(default=None, description="size of the cam")


class AcceleratorPump(Strict):
    """The accelerator pump of one barrel group."""

    capacity: Annotated[Volume, bounded("1 cm3", "200 cm3")] | None = Field(
        default=None, description="output of ten full strokes, as measured"
    )
    diaphragm: Annotated[Length, bounded("10 mm", "80 mm")] | None = Field(
        default=None, description="diameter inside its clamp"
    )
    effective_share: Annotated[Fraction, Field(gt=0.2, le=1)] | None = Field(
        default=None, description="of that circle which displaces fuel"
    )
    travel: Stroke | None = Field(default=None, description="free travel of the diaphragm in its cover")
    cam_lift: Stroke | None = Field(default=None, description="lift of the cam on the throttle shaft")
    lever_ratio: Annotated[float, Field(ge=0.2, le=5)] | None = Field(
        default=None, description="movement at the diaphragm over movement at the cam"
    )
    nozzle_bore: Annotated[Length, bounded("0.2 mm", "3 mm")] | None = Field(
        default=None, description="of each hole of the pump nozzle"
    )
    nozzle_holes: Annotated[int, Field(ge=1, le=8)] | None = Field(default=None, description="how many there are")
    screw: Literal["hollow", "solid"] | None = Field(default=None, description="that holds the nozzle")
    seals: Literal["both", "top missing", "bottom missing"] | None = Field(
        default=None, description="of the nozzle, above and below it"
    )
    override_preload: Push | None = Field(
        default=None, description="force at which the override spring on the lever starts to give"
    )
    override_preloads: dict[Id, Push] = Field(default={}, description="the same by form of the diaphragm")
    override_rise: Push | None = Field(default=None, description="how much its force grows until its coils bind")
    override_travel: Stroke | None = Field(default=None, description="how far it gives until then")
    return_force: Push | None = Field(default=None, description="of the return spring under the diaphragm")
    parts: PumpSet = Field(default=PumpSet(), alias="set", description="size of each part; all four must be one")


class Bowl(Strict):
    """A float bowl as a box, seen from the middle of it; lengths along the car."""

    length: Inside | None = Field(default=None, description="inside, along the car")
    width: Inside | None = Field(default=None, description="inside, across the car")
    height: Inside | None = Field(default=None, description="from floor to lid")
    level: Inside | None = Field(default=None, description="of the fuel above the floor, standing")
    jets_ahead: Offset | None = Field(default=None, description="where the jets draw, ahead of the bowl's middle")
    jets_aside: Annotated[Length, bounded("0 mm", "150 mm")] | None = Field(
        default=None, description="distance of the outer jet from the middle"
    )
    jet_height: Annotated[Length, bounded("0 mm", "100 mm")] | None = Field(
        default=None, description="of the jets' inlet above the floor"
    )
    extensions: Literal["fitted", "none"] | None = Field(default=None, description="pickup tubes on the jets")
    extension_reach: Annotated[Length, bounded("1 mm", "150 mm")] | None = Field(
        default=None, description="how far they carry the inlet into the bowl"
    )
    float_: Literal["whole", "cut away"] | None = Field(
        default=None, alias="float", description="whether the float is notched so as to clear the extensions"
    )


class Driving(Strict):
    """Accelerations, lasting a tenth of a second or more, and grades that the fuel shall stand."""

    launch: Acting | None = Field(default=None, description="forward")
    braking: Acting | None = Field(default=None, description="backward")
    cornering: Acting | None = Field(default=None, description="to either side")
    grade: Grade | None = Field(default=None, description="up or down; 20 % climbs 20 m in 100 m")


class FuelSide(Strict):
    """Typical values of a family, in the form of a job's sections: common practice, no source."""

    supply: Supply
    pump: dict[Id, AcceleratorPump] = Field(default={}, description="none where there is no accelerator pump")
    bowls: dict[Id, Bowl]
    driving: Driving
