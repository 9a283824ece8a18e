"""What a job file may say: this carburetor, on this engine, for this target."""

# Annotations are evaluated as written, not kept as text: compiling each again would slow every start.
from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, Field, ValidationInfo, field_validator

from boostcarb.description.family import Bore, Id, Mode, RatedDrop, Strict
from boostcarb.description.metering import FuelAsWritten, FuelDetail, Metering, check_detail
from boostcarb.description.supply import AcceleratorPump, Bowl, Driving, Supply
from boostcarb.description.wording import shown
from boostcarb.quantities import (
    Altitude,
    Area,
    Boost,
    Difference,
    Duration,
    Fraction,
    Pressure,
    PressureLevel,
    Speed,
    Temperature,
    UnitSystem,
    Volume,
    VolumeFlow,
    bounded,
    format_value,
    units,
)

Setting = Annotated[Difference, bounded("0 kPa", "100 kPa", "a setting")]
LivableAltitude = Annotated[Altitude, bounded("-500 m", "6000 m", "an altitude")]

NOT_LOOKED_AT = "not looked at"
AS_BUILT = "as built"


class State(Strict):
    """How one passage, part or line was found, or shall be: `plugged`, or a record with more."""

    is_: str = Field(alias="is", description="the form it has, for example plugged")
    inline: Literal["none", "one_way_valve"] | None = Field(default=None, description="of a line: what stands in it")
    setting: Setting | None = Field(default=None, description="of a valve: the difference at which it moves")
    bore: Bore | None = Field(default=None, description="of a passage: its bore as measured")
    material: Id | None = Field(default=None, description="of a part: what the piece that meets the fuel is made of")
    note: str | None = Field(default=None, description="your own words; nothing is made of them")


def _short_form(value: Any) -> Any:
    if isinstance(value, str):
        return {"is": value}
    if isinstance(value, (Mapping, State)):
        return value
    raise ValueError(f"found {shown(value)}; write the form it has, as in 'plugged', or '{{is: plugged, note: ..}}'")


ItemState = Annotated[State, BeforeValidator(_short_form, json_schema_input_type=str | State)]


def _absolute(level: PressureLevel) -> PressureLevel:
    if level.reference != "absolute":
        raise ValueError("an ambient pressure counts from zero; write for example '98 kPa abs'")
    return level


ManifoldVacuum = Annotated[Pressure, bounded("5 kPa abs", "101 kPa abs", "a manifold below ambient")]
AmbientPressure = Annotated[
    Pressure, AfterValidator(_absolute), bounded("45 kPa abs", "110 kPa abs", "an ambient pressure")
]
Loss = Annotated[Difference, bounded("0 kPa", "50 kPa", "a pressure loss")]


class Engine(Strict):
    """The engine as the air path needs it. Speeds of the crankshaft."""

    displacement: Annotated[Volume, bounded("50 cm3", "30 l")] = Field(
        examples=["302 cu in", "5.0 l"], description="swept volume of all cylinders"
    )
    idle_speed: Annotated[Speed, bounded("300 rpm", "2500 rpm")] = Field(
        examples=["850 rpm"], description="warm, out of gear"
    )
    cruise_speed: Annotated[Speed, bounded("800 rpm", "8000 rpm")] = Field(
        examples=["2300 rpm"], description="steady, on a level road"
    )
    torque_peak_speed: Annotated[Speed, bounded("1000 rpm", "12000 rpm")] = Field(
        examples=["3600 rpm"], description="where it pulls most"
    )
    redline_speed: Annotated[Speed, bounded("1500 rpm", "15000 rpm")] = Field(
        examples=["5600 rpm"], description="fastest it is run"
    )
    volumetric_efficiency: Annotated[Fraction, Field(gt=0.3, le=1.3)] | None = Field(
        default=None, description="air drawn over what the swept volume holds at the state of the manifold"
    )
    compression_ratio: Annotated[float, Field(gt=4, le=20)] | None = Field(
        default=None, description="largest over smallest volume of a cylinder"
    )
    idle_manifold: ManifoldVacuum | None = Field(
        default=None, description="at warm idle, read below the throttle before the turbo"
    )
    cruise_manifold: ManifoldVacuum | None = Field(default=None, description="the same at cruise")

    @field_validator("cruise_speed", "torque_peak_speed", "redline_speed")
    @classmethod
    def _speeds_rise(cls, value: float, info: ValidationInfo) -> float:
        name = str(info.field_name)
        before = _SPEEDS[_SPEEDS.index(name) - 1]
        least = info.data.get(before)
        if least is not None and (value < least or (value == least and name != "redline_speed")):
            found, wanted = (format_value(units.SPEED, speed, "rpm", digits=5) for speed in (value, least))
            raise ValueError(f"found {found}; must be above {before}, which is {wanted}")
        return value


_SPEEDS = ("idle_speed", "cruise_speed", "torque_peak_speed", "redline_speed")
"""Speeds of an engine in the order in which they must rise."""


class Cooler(Strict):
    """A charge cooler between compressor and engine."""

    effectiveness: Annotated[Fraction, Field(ge=0, le=1)] | None = Field(
        default=None, description="share of the way from compressor outlet to ambient temperature that it cools"
    )
    pressure_loss: Loss | None = Field(default=None, description="at full boost at the redline")


class Charge(Strict):
    """The charge system."""

    boost: Annotated[Boost, bounded("1 kPa gauge", "400 kPa gauge", "a boost")] = Field(
        description="what the wastegate holds, where it senses it"
    )
    full_boost_speed: Annotated[Speed, bounded("800 rpm", "10000 rpm")] = Field(
        examples=["3000 rpm"], description="lowest engine speed with that boost, wide open"
    )
    compressor_efficiency: Annotated[Fraction, Field(gt=0.3, le=0.9)] | None = Field(
        default=None, description="isentropic, from the compressor map"
    )
    cooler: Cooler | None = Field(default=None, description="figures of the cooler, where one is fitted")
    filter_loss: Loss | None = Field(default=None, description="filter and intake pipe, at full boost at the redline")
    maximum_pressure_ratio: Annotated[float, Field(gt=1, le=6)] | None = Field(
        default=None, description="where the compressor runs out of speed"
    )


class Site(Strict):
    """Where it runs and where it was assembled."""

    altitude: LivableAltitude | None = Field(
        default=None, description="of the place; it gives the air pressure, and the temperature, that are not given"
    )
    ambient_pressure: AmbientPressure | None = Field(
        default=None, description="as read there, not brought to sea level"
    )
    ambient_temperature: Annotated[Temperature, bounded("-50 degC", "60 degC")] | None = Field(
        default=None, description="of the air before the filter"
    )
    coldest_start: Annotated[Temperature, bounded("-60 degC", "60 degC")] | None = Field(
        default=None, description="coldest that a sealed chamber gets"
    )
    hot_soak: Annotated[Temperature, bounded("20 degC", "200 degC")] | None = Field(
        default=None, description="hottest that a chamber gets, parked after a hard drive"
    )
    assembled_at: Annotated[Temperature, bounded("-30 degC", "60 degC")] | None = Field(
        default=None, description="temperature of the bench where chambers were sealed"
    )
    assembled_altitude: LivableAltitude | None = Field(default=None, description="height of that bench")
    humidity: Annotated[Fraction, Field(ge=0.01, le=1)] | None = Field(
        default=None, description="relative humidity of the air, for icing"
    )


class CarburetorFlow(Strict):
    """Rated flow of this carburetor and the drop at which it is rated."""

    rated_flow: Annotated[VolumeFlow, bounded("50 cfm", "2000 cfm")] = Field(description="all barrels wide open")
    rated_drop: RatedDrop | None = Field(default=None, description="drop at which that flow was read")


class Carburetors(Strict):
    """Several carburetors of the same kind on one engine; all that the job says goes for each of them."""

    count: int = Field(ge=2, le=12, description="how many")
    plenum: Literal["shared", "split"] = Field(
        default="shared", description="shared: all feed one plenum; split: each feeds its own runners"
    )
    bonnets: Literal["shared", "split"] = Field(
        default="shared", description="shared: all breathe from one bonnet or air box; split: each from its own"
    )
    references: Literal["shared", "split"] = Field(
        default="shared", description="shared: regulator and signal lines join at one place; split: one set for each"
    )


class Enclosure(Strict):
    """What stands round the carburetor instead of the atmosphere."""

    kind: Literal["pressure_box"] = Field(description="what it is")


def _enclosure(value: Any) -> Any:
    return {"kind": value} if isinstance(value, str) else value


class Pins(Strict):
    """Choices the builder has made beforehand."""

    keep: list[Id] = Field(default=[], description="items left as found")
    use: dict[Id, str] = Field(default={}, description="items that must end in this form")
    avoid: dict[Id, list[str]] = Field(default={}, description="forms that must not be used")
    accept: list[Id] = Field(
        default=[], description="rules of severity fix that the builder knowingly lives with; a stop cannot be accepted"
    )
    irreversible_work: bool = Field(default=True, description="false: no drilling, nothing that cannot be undone")


class Backfire(Strict):
    """A backfire and what protects from it; each field has a documented default."""

    peak_ratio: Annotated[float, Field(ge=1, le=9.5)] | None = Field(
        default=None, description="absolute peak over the absolute pressure just before it"
    )
    rise: Annotated[Duration, bounded("0.2 ms", "100 ms", "a rise")] | None = Field(
        default=None, description="from its start to the peak"
    )
    duration: Annotated[Duration, bounded("1 ms", "500 ms", "a duration")] | None = Field(
        default=None, validate_default=True, description="from the start of the rise until the pressure has gone"
    )
    check_closing_time: Annotated[Duration, bounded("0 ms", "100 ms", "a closing time")] | None = Field(
        default=None, description="from the first reverse flow until a backfire check is shut"
    )
    into_air_horn: Annotated[Fraction, Field(ge=0, le=1)] | None = Field(
        default=None, description="share of the rise that comes up the throttle into the air horn"
    )
    through_compressor: Annotated[Fraction, Field(ge=0, le=1)] | None = Field(
        default=None, description="share of the rise that comes back through the compressor in draw-through"
    )
    manifold_volume: Annotated[Volume, bounded("0.1 l", "100 l", "a manifold")] | None = Field(
        default=None, description="manifold and plenum, which a relief valve empties"
    )
    relief_area: Annotated[Area, bounded("10 mm2", "500 cm2", "a relief opening")] | None = Field(
        default=None, description="opening of the relief valve"
    )
    relief_crack: Annotated[Boost, bounded("1 kPa gauge", "600 kPa gauge", "a cracking pressure")] | None = Field(
        default=None, description="manifold pressure at which the relief valve starts to open"
    )
    relief_delay: Annotated[Duration, bounded("0 ms", "100 ms", "a delay")] | None = Field(
        default=None, description="from its cracking pressure until the plate of the relief valve has lifted"
    )

    @field_validator("duration")
    @classmethod
    def _lasts_longer_than_it_rises(cls, duration: float | None, info: ValidationInfo) -> float | None:
        rise = info.data.get("rise")
        if duration is not None and rise is not None and duration <= rise:
            raise ValueError(f"must be longer than its rise, {format_value(units.DURATION, rise, 'ms')}")
        return duration


class Job(Strict):
    """One job: the carburetor as found, the engine, the charge system and the target mode."""

    job: str = Field(min_length=1, max_length=120, description="title of the job")
    notes: str | None = Field(default=None, description="your own words; nothing is made of them")
    units: UnitSystem = Field(default=UnitSystem.METRIC, description="units of texts and drawings: metric or us")
    carburetor: Id = Field(description="family, as `boostcarb families` lists it")
    target: Mode = Field(description="what the engine shall be")
    rest: Literal["as built", "not looked at"] = Field(
        default="not looked at", description="what goes for every item that `found` does not name"
    )
    found: dict[Id, ItemState] = Field(default={}, description="what was seen, item by item")
    proposed: dict[Id, ItemState] | None = Field(default=None, description="changes of a plan to be reviewed")
    pinned: Pins = Field(default=Pins(), description="choices made beforehand")
    flow: CarburetorFlow | None = Field(default=None, description="rated flow, where it is not the usual of the family")
    carburetors: Carburetors | None = Field(default=None, description="where more than one feeds the engine")
    enclosure: Annotated[
        Enclosure | None, BeforeValidator(_enclosure, json_schema_input_type=Literal["pressure_box"] | Enclosure | None)
    ] = Field(default=None, description="pressure_box: the whole carburetor stands in a box at bonnet pressure")
    engine: Engine = Field(description="the engine as the air path needs it")
    charge: Charge | None = Field(
        default=None, validate_default=True, description="the turbo; every target but naturally_aspirated needs it"
    )
    fuel: FuelAsWritten = Field(default="gasoline", description="what it runs on")
    fuel_detail: FuelDetail | None = Field(
        default=None, validate_default=True, description="what is known of the fuel beyond its name"
    )
    metering: Metering = Field(default=Metering(), description="targets, readings, and what is known of the jets")
    site: Site = Field(default=Site(), description="where it runs and where it was assembled")
    supply: Supply | None = Field(default=None, description="what brings the fuel to the bowls")
    pump: dict[Id, AcceleratorPump] | None = Field(default=None, description="accelerator pump of each barrel group")
    bowls: dict[Id, Bowl] | None = Field(default=None, description="float bowl of each barrel group")
    driving: Driving | None = Field(default=None, description="accelerations and grades the car shall stand")
    backfire: Backfire | None = Field(default=None, description="a backfire, and what protects from it")

    @field_validator("found", "proposed")
    @classmethod
    def _one_word_for_each(cls, states: dict[str, State] | None) -> dict[str, State] | None:
        for name, state in (states or {}).items():
            own = (states or {}).get(f"{name}.inline")
            if state.inline is not None and own is not None and own.is_ != state.inline:
                raise ValueError(f"{name} says inline: {state.inline}, {name}.inline says {own.is_}; keep one of them")
            stuff = (states or {}).get(f"{name}.material")
            if state.material is not None and stuff is not None and stuff.is_ != state.material:
                raise ValueError(
                    f"{name} says material: {state.material}, {name}.material says {stuff.is_}; keep one of them"
                )
        return states

    @field_validator("charge")
    @classmethod
    def _charge_fits(cls, charge: Charge | None, info: ValidationInfo) -> Charge | None:
        target, engine = info.data.get("target", "naturally_aspirated"), info.data.get("engine")
        if charge is None:
            if target != "naturally_aspirated":
                raise ValueError(f"charge is missing; target {target} needs a `charge:` section with the boost")
        elif engine is not None and charge.full_boost_speed > engine.redline_speed:
            redline = format_value(units.SPEED, engine.redline_speed, "rpm", digits=5)
            raise ValueError(f"full_boost_speed is above the redline, {redline}; the engine would never see its boost")
        return charge

    @field_validator("fuel_detail")
    @classmethod
    def _detail_fits_the_fuel(cls, detail: FuelDetail | None, info: ValidationInfo) -> FuelDetail | None:
        check_detail(info.data.get("fuel", "gasoline"), detail)
        return detail
