"""What a rule file and its file of examples may say. A requirement names one of a few kinds of condition."""

# Annotations are evaluated as written, not kept as text: compiling each again would slow every start.
from typing import Annotated, Any, Literal, Self

from pydantic import BeforeValidator, ConfigDict, Field, model_validator

from boostcarb.description.family import Condition, Id, Mode, Strict
from boostcarb.description.metering import FuelName
from boostcarb.quantities import Area, Difference, Duration, Fraction, bounded

Pattern = Annotated[str, Field(pattern=r"^[a-z*][a-z0-9_.*]*$", description="a name, or a pattern such as *.bowl")]
During = Literal[
    "drive", "running", "boost", "without_boost", "wide_open", "wide_open_without_boost", "cruise", "events", "all"
]
Load = Literal["wide_open", "boost"]
WayKind = Literal[
    "bore", "restriction", "slot", "clearance", "seat", "check_valve", "gasket_window", "joint", "port", "duct", "line"
]


class Isolated(Strict):
    """No open path leads from the first space to the second."""

    kind: Literal["isolated"]
    from_: Pattern = Field(alias="from")
    to: Pattern
    carries: Literal["air", "any"] = "any"
    kinds: list[WayKind] | None = Field(default=None, description="only ways of these kinds")
    if_valve_on: Pattern | None = Field(
        default=None, description="only where this diaphragm borders the first space and works a valve"
    )


class Connected(Strict):
    """An open path joins the two spaces, with at least this effective area."""

    kind: Literal["connected"]
    from_: Pattern = Field(alias="from")
    to: Id
    least_area: Area | None = None


class Guarded(Strict):
    """Every open path from the first space to a diaphragm's chamber passes a backfire check that is fitted."""

    kind: Literal["guarded"]
    from_: Id = Field(alias="from")
    diaphragm: Pattern
    to: Literal["first", "second"] = "second"


class EqualPressure(Strict):
    """The pressures of two spaces differ by no more than this."""

    kind: Literal["equal_pressure"]
    space: Pattern
    to: Id
    within: Difference
    during: During = "drive"


class FollowsSource(Strict):
    """The pressure of the space is the present one of its sources: nothing traps it."""

    kind: Literal["follows_source"]
    space: Pattern
    trapped_by: Literal["one_way_valve", "sealing"]
    if_valve_on: Pattern | None = Field(default=None, description="only where this diaphragm works a valve")
    if_diaphragm: Pattern | None = Field(default=None, description="only where there is such a diaphragm")


class OneReference(Strict):
    """The space is not joined to two sources whose pressures differ by more than this."""

    kind: Literal["one_reference"]
    space: Pattern
    within: Difference


class Enriched(Strict):
    """Every barrel group that flows has its enrichment, from an open valve or from its jets."""

    kind: Literal["enriched"]
    load: Load


class NotEnriched(Strict):
    """No barrel group that flows without boost is richer than this load needs."""

    kind: Literal["not_enriched"]
    during: Literal["cruise", "wide_open"] = "cruise"
    richer_than: Literal["cruise", "wide_open"] = "cruise"
    by: Literal["anything", "a valve"] = Field(
        default="anything", description="what makes it rich: also jets, or a valve"
    )

    @model_validator(mode="after")
    def _wide_open_must_be_rich(self) -> Self:
        if self.during == "wide_open" and self.richer_than == "cruise":
            raise ValueError("wide open the mixture must be richer than at cruise: say `richer_than: wide_open`")
        return self


class EnrichedOnce(Strict):
    """Where jets carry the highest load of a barrel group on their own, no valve adds to them."""

    kind: Literal["enriched_once"]


class Mixture(Strict):
    """The computed mixture of every barrel group is no leaner than its target by more than a share, or no richer than
    a lambda; judged only where the job gives bores of jets or a measured lambda.
    """

    kind: Literal["mixture"]
    during: During
    leaner_by: Annotated[Fraction, Field(gt=0, le=0.5)] | None = Field(
        default=None, description="share by which lambda may be above the target of its state"
    )
    richer_than: Annotated[float, Field(gt=0.3, lt=1)] | None = Field(
        default=None, description="lambda that it must not be below"
    )

    @model_validator(mode="after")
    def _one_bound(self) -> Self:
        if (self.leaner_by is None) == (self.richer_than is None):
            raise ValueError("say one of `leaner_by` and `richer_than`")
        return self


class Opens(Strict):
    """The diaphragm opens what it works, in these states."""

    kind: Literal["opens"]
    diaphragm: Pattern
    states: list[Id]


class WithinLimit(Strict):
    """The pressure difference across the diaphragm stays within what it stands."""

    kind: Literal["within_limit"]
    diaphragm: Pattern
    during: During = "drive"


class SettingMargin(Strict):
    """The setting of a vacuum-held valve is at least this many times the difference that would shut it."""

    kind: Literal["setting_margin"]
    diaphragm: Pattern
    factor: Annotated[float, Field(ge=1, le=5)]
    states: list[Id]


class Margin(Strict):
    """A named margin of the fuel side, computed, is at least this; judged only where the job gives what it hangs on."""

    kind: Literal["margin"]
    of: Literal[
        "venturi_flow", "rated_flow", "needle_flow", "needle_closing", "needle_after_lift_off", "fuel_pump_flow",
        "pump_override", "pump_parts", "pump_nozzle_seals", "jet_cover", "float_clearance", "bowl_boiling",
    ]  # fmt: skip
    at_least: Annotated[float, Field(gt=0, le=5)]


class FormRequired(Strict):
    """The part or line has one of these forms, or none of those."""

    kind: Literal["form"]
    item: Pattern
    one_of: list[str] | None = None
    none_of: list[str] | None = None


class SuitsFuel(Strict):
    """What meets the fuel is of a material that sources do not rate so for it."""

    kind: Literal["suits_fuel"]
    item: Pattern
    none_of: list[Literal["limited", "check grade", "unsuitable", "no data"]] = Field(min_length=1)


class AreaRatio(Strict):
    """One hole is at least so many times as wide as another of its barrel group; judged where both were measured."""

    kind: Literal["area_ratio"]
    of: Pattern
    over: Pattern
    at_least: Annotated[float, Field(gt=0, le=20)]


class FreeOf(Strict):
    """The space can hold none of these: nothing that holds them flows or breathes into it."""

    kind: Literal["free_of"]
    space: Pattern
    contents: list[Literal["air", "vapor", "mixture", "liquid_fuel", "exhaust", "crankcase_gas"]] = Field(min_length=1)
    during: During = "drive"


class FollowsInTime(Strict):
    """A signal is there in time: the diaphragm has opened its valve this soon after the state has changed at once."""

    kind: Literal["follows_in_time"]
    diaphragm: Pattern
    from_state: Id
    to_states: list[Id] = Field(min_length=1)
    within: Annotated[Duration, bounded("1 ms", "5 s", "a time")]


class LookedAt(Strict):
    """Somebody has looked at every passage, part and line."""

    kind: Literal["looked_at"]


Requirement = Annotated[
    Isolated
    | Connected
    | Guarded
    | EqualPressure
    | FollowsSource
    | OneReference
    | Enriched
    | NotEnriched
    | EnrichedOnce
    | Mixture
    | Opens
    | WithinLimit
    | SettingMargin
    | Margin
    | FormRequired
    | SuitsFuel
    | AreaRatio
    | FollowsInTime
    | FreeOf
    | LookedAt,
    Field(discriminator="kind"),
]


Effect = Literal[
    "fuel outside", "mixture outside", "lean", "flooding", "uncontrolled boost", "throttle stays open",
    "diaphragm overloaded", "pressure in the crankcase", "wrong signal elsewhere", "diaphragm unprotected", "rich",
    "air leak", "less power",
    "wear",
]  # fmt: skip


class Basis(Strict):
    """What a rule rests on."""

    kind: Literal["physics", "common practice", "standard"]
    reference: str | None = None


class Rule(Strict):
    """One rule: what must hold, where, why, and what to do where it does not."""

    id: Id
    title: str = Field(max_length=90)
    modes: list[Mode]
    families: list[Id] | Literal["any"] = "any"
    fuels: list[FuelName] | Literal["any"] = Field(default="any", description="judged only on these fuels")
    not_in_a_box: bool = Field(
        default=False, description="true: not judged of what stands in a pressure box, where leaks lose nothing"
    )
    severity: Literal["stop", "fix", "advise"]
    endangers: list[Literal["engine", "people"]] = Field(min_length=1)
    effect: Effect | None = Field(default=None, description="what a carburetor does that breaks it; none: nothing yet")
    requirement: Requirement
    when: Condition = Field(default={}, description="judged only where these items have one of these forms")
    why: str
    limits: str | None = Field(default=None, description="where the rule itself does not reach")
    remedy: str
    basis: Basis

    def speaks_of(self, words: str) -> bool:
        """Whether all of these words stand in its id, title, places, why or remedy; upper and lower case are one."""
        places = " ".join(str(value) for value in self.requirement.model_dump(by_alias=True).values())
        said = f"{self.id} {self.title} {places} {self.why} {self.remedy}".replace("_", " ").lower()
        return all(word in said for word in words.replace("_", " ").lower().split())


def _as_list(value: Any) -> Any:
    return [value] if isinstance(value, str) else value


class Entry(Strict):
    """One example: sections of a job laid over the base job of its target."""

    model_config = ConfigDict(extra="allow", frozen=True, defer_build=True)
    says: str = Field(min_length=3, max_length=160)
    target: Mode
    place: Annotated[list[str] | None, BeforeValidator(_as_list, json_schema_input_type=str | list[str] | None)] = (
        Field(default=None, description="where it must be found, if one wants to be sure")
    )
    states: list[str] | None = Field(default=None, description="operating states in which it must be found")


class Examples(Strict):
    """The examples of one rule."""

    rule: Id
    violates: list[Entry] = Field(min_length=1)
    satisfies: list[Entry] = Field(min_length=1)
