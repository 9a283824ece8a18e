"""What a job file may say: this carburetor, on this engine, for this target."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, model_validator

from boostcarb.description.family import Bore, Id, Mode, Strict
from boostcarb.quantities import (
    Boost,
    Difference,
    Fraction,
    Length,
    Pressure,
    Speed,
    Temperature,
    Volume,
    VolumeFlow,
    bounded,
)

NOT_LOOKED_AT = "not looked at"
AS_BUILT = "as built"


class State(Strict):
    """How one passage, part or line was found, or shall be: `plugged`, or a record with more."""

    is_: str = Field(alias="is")
    inline: Literal["none", "one_way_valve"] | None = None
    setting: Difference | None = None
    bore: Bore | None = None
    note: str | None = None


def _short_form(value: Any) -> Any:
    return {"is": value} if isinstance(value, str) else value


ItemState = Annotated[State, BeforeValidator(_short_form)]


class Engine(Strict):
    """The engine as the air path needs it. Speeds of the crankshaft."""

    displacement: Annotated[Volume, bounded("50 cm3", "30 l")]
    idle_speed: Annotated[Speed, bounded("300 rpm", "2500 rpm")]
    cruise_speed: Annotated[Speed, bounded("800 rpm", "8000 rpm")]
    torque_peak_speed: Annotated[Speed, bounded("1000 rpm", "12000 rpm")]
    redline_speed: Annotated[Speed, bounded("1500 rpm", "15000 rpm")]
    volumetric_efficiency: Annotated[Fraction, Field(gt=0.3, le=1.3)] | None = None
    compression_ratio: Annotated[float, Field(gt=4, le=20)] | None = None
    idle_manifold: Pressure | None = None
    cruise_manifold: Pressure | None = None

    @model_validator(mode="after")
    def _speeds_rise(self) -> Engine:
        speeds = (self.idle_speed, self.cruise_speed, self.redline_speed)
        if list(speeds) != sorted(set(speeds)) or not self.idle_speed < self.torque_peak_speed <= self.redline_speed:
            raise ValueError(
                "speeds must rise: idle below cruise and torque peak, and neither of them above the redline"
            )
        return self


class Cooler(Strict):
    """A charge cooler between compressor and engine."""

    effectiveness: Annotated[Fraction, Field(ge=0, le=1)] | None = None
    pressure_loss: Difference | None = None


class Charge(Strict):
    """The charge system."""

    boost: Boost
    full_boost_speed: Annotated[Speed, bounded("800 rpm", "10000 rpm")]
    compressor_efficiency: Annotated[Fraction, Field(gt=0.3, le=0.9)] | None = None
    cooler: Cooler | None = None
    filter_loss: Difference | None = None
    maximum_pressure_ratio: Annotated[float, Field(gt=1, le=6)] | None = None


class Site(Strict):
    """Where it runs and where it was assembled."""

    altitude: Annotated[Length, bounded("-500 m", "6000 m")] | None = None
    ambient_pressure: Pressure | None = None
    ambient_temperature: Annotated[Temperature, bounded("-50 degC", "60 degC")] | None = None
    coldest_start: Annotated[Temperature, bounded("-60 degC", "60 degC")] | None = None
    hot_soak: Annotated[Temperature, bounded("20 degC", "200 degC")] | None = None
    assembled_at: Annotated[Temperature, bounded("-30 degC", "60 degC")] | None = None
    assembled_altitude: Annotated[Length, bounded("-500 m", "6000 m")] | None = None


class CarburetorFlow(Strict):
    """Rated flow of this carburetor and the drop at which it is rated."""

    rated_flow: Annotated[VolumeFlow, bounded("50 cfm", "2000 cfm")]
    rated_drop: Difference | None = None


class Pins(Strict):
    """Choices the builder has made beforehand."""

    keep: list[Id] = Field(default=[], description="items left as found")
    use: dict[Id, str] = Field(default={}, description="items that must end in this form")
    avoid: dict[Id, list[str]] = Field(default={}, description="forms that must not be used")
    irreversible_work: bool = Field(default=True, description="false: no drilling, nothing that cannot be undone")


class Job(Strict):
    """One job: the carburetor as found, the engine, the charge system and the target mode."""

    job: str = Field(min_length=1, max_length=120)
    notes: str | None = None
    carburetor: Id
    target: Mode
    rest: Literal["as built", "not looked at"] = Field(
        default="not looked at", description="what goes for every item that `found` does not name"
    )
    found: dict[Id, ItemState] = {}
    proposed: dict[Id, ItemState] | None = None
    pinned: Pins = Pins()
    flow: CarburetorFlow | None = None
    engine: Engine
    charge: Charge | None = None
    fuel: Literal["petrol", "E10", "E85", "ethanol", "methanol"] = "petrol"
    site: Site = Site()

    @model_validator(mode="after")
    def _charge_goes_with_target(self) -> Job:
        if self.target != "naturally_aspirated" and self.charge is None:
            raise ValueError(f"target {self.target} needs a `charge:` section with the boost")
        return self
