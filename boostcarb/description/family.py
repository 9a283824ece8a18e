"""What a carburetor family file, and the file of its surroundings, may say."""

# Annotations are evaluated as written, not kept as text: compiling each again would slow every start.
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationInfo, field_validator

from boostcarb.quantities import Area, Difference, Fraction, Length, Pressure, Volume, VolumeFlow, bounded

Id = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_.]*$", description="lower-case words joined by _ and .")]
Bore = Annotated[Length, bounded("0.1 mm", "150 mm")]
RatedDrop = Annotated[Difference, bounded("0.1 inHg", "20 inHg", "a rated drop")]
Strength = Annotated[Difference, bounded("1 kPa", "10000 kPa", "what a diaphragm stands")]
Condition = dict[str, list[str]]
Look = Annotated[
    str, Field(min_length=10, max_length=300, description="where to look on the bench, and what each form looks like")
]
Holds = Literal["air", "mixture", "fuel", "emulsion", "crankcase_gas"]
Mode = Literal["naturally_aspirated", "blow_through", "draw_through"]

DISCHARGE_OF_A_DRILLED_PASSAGE = 0.8
"""Discharge coefficient of a short drilled passage in air (common practice, no source; 0.6 to 0.9)."""

VALVE_SPREAD_PA = 2000.0
"""Half-width of the band round a valve's setting in which it may be open or shut (common practice, no source)."""


class Strict(BaseModel):
    """A record that refuses keys it does not know and cannot be changed once read."""

    # Built when first used: only the outermost record of a file pays, not every record inside it.
    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True, defer_build=True)


class Work(Strict):
    """What it takes to make one change, on top of the strip-down that reaches it."""

    how: str
    minutes: int = Field(ge=1, le=600)
    parts: int = Field(default=0, ge=0, le=20)
    irreversible: bool = False
    stage: Id | None = Field(default=None, description="strip-down stage, if not the one of the item itself")
    only_in: list[Mode] | None = Field(default=None, description="target modes in which this is offered")


class Renews(Strict):
    """Something that is never fitted twice once its seam was open."""

    what: str
    quantity: int = Field(default=1, ge=1, le=40)
    covered_by: list[Id] = Field(default=[], description="items whose change brings it new anyway")
    part: Id | None = Field(default=None, description="part that must be there for it")
    not_as: list[Id] = Field(default=[], description="forms of that part which have none")
    only_as: list[Id] = Field(default=[], description="forms of that part which alone have it; left out: all")


class Stage(Strict):
    """One step of the strip-down, the steps that come before it, and its share of the time."""

    title: str
    minutes: int = Field(ge=0, le=600)
    after: list[Id] = []
    takes_off: list[Id] = Field(default=[], description="castings that are off the carburetor from here on")
    taking_off: str | None = Field(default=None, description="how it is done, and what to mind")
    putting_back: str | None = Field(default=None, description="what to mind as it is closed")
    renews: list[Renews] | None = Field(default=None, description="what is renewed once it was open")
    tools: list[str] = Field(default=[], description="what a change at this stage takes besides the usual")


class Space(Strict):
    """A volume with one pressure."""

    title: str
    casting: Id
    holds: Holds = "air"
    volume: Volume | None = None
    source: bool = Field(default=False, description="its pressure comes from the air path, not from the passages")
    same_as: Id | None = Field(default=None, description="of a source: the source whose pressure it has")
    modes: list[Mode] | None = None


class Passage(Strict):
    """A way from one space to another inside the castings, or out of them."""

    title: str
    joins: tuple[Id, Id]
    kind: Literal[
        "bore", "restriction", "slot", "clearance", "seat", "check_valve", "gasket_window", "joint", "port", "duct"
    ] = "bore"
    bore: Bore | None = None
    area: Area | None = None
    range: tuple[Bore, Bore] | None = Field(
        default=None, description="smallest and largest bore that is usual; one measured outside it gets a note"
    )
    count: int = Field(default=1, ge=1, le=64)
    ring: bool = Field(
        default=False, description="a jet round a rod: its bore is that of a round hole of the same area, no drill"
    )
    discharge: float = Field(default=DISCHARGE_OF_A_DRILLED_PASSAGE, gt=0, le=1)
    carries: Literal["air", "fuel", "emulsion"] = "air"
    as_built: Literal["open", "plugged", "absent"] = "open"
    one_way: bool = Field(default=False, description="lets flow pass only from the first space to the second")
    guard: Id | None = Field(default=None, description="part that stands in this passage and may guard it")
    valve: Id | None = Field(
        default=None, description="part that makes a one-way passage so; the first of its forms is the right one"
    )
    penetrates_box: bool = Field(
        default=False, description="it leads to the atmosphere even where the carburetor stands in a pressure box"
    )
    casting: Id
    stage: Id
    close: Work | None = None
    reopen: Work | None = None
    drill: Work | None = Field(default=None, description="how it is made where it was never drilled")
    when: Condition = Field(default={}, description="parts that must be in one of these forms for it to exist")
    blocked_by: Condition = Field(default={}, description="forms of a part in it that shut it altogether")
    only_back_by: Condition = Field(
        default={}, description="forms of a part in it that let flow pass from the second space to the first only"
    )
    modes: list[Mode] | None = None
    look: Look | None = None


class ValveAction(Strict):
    """How the pressure difference first minus second of a diaphragm or piston moves its valve, or that it does not."""

    opens: Literal["below", "above", "always", "never"]
    setting: Difference | None = Field(default=None, validate_default=True, description="left out where it is stuck")
    spread: Annotated[Difference, bounded("0 kPa", "20 kPa", "a spread")] = VALVE_SPREAD_PA

    @field_validator("setting")
    @classmethod
    def _setting_where_it_moves(cls, setting: float | None, info: ValidationInfo) -> float | None:
        moves = info.data.get("opens") in ("below", "above")
        if moves and setting is None:
            raise ValueError("is missing; say at which difference it moves, as in '6.5 inHg'")
        if not moves and setting is not None:
            raise ValueError(f"a valve that opens {info.data.get('opens')} has no setting; leave it out")
        return setting


class Limits(Strict):
    """Largest pressure difference a diaphragm stands, first side over second and the reverse."""

    forward: Strength
    reverse: Strength


class Option(Strict):
    """One form a part can have."""

    title: str
    work: Work | None = Field(default=None, description="how to fit it; without this it is never proposed")
    valve: ValveAction | None = None
    limits: Limits | None = None
    mixture_for: Literal["cruise", "wide_open", "full_boost"] | None = Field(
        default=None, description="the load up to which these jets carry the mixture on their own"
    )
    not_with: Condition = Field(default={}, description="forms of other parts that cannot go with it")
    fails: bool = Field(default=False, description="a form that a sound part can fall into by itself")
    floods: Id | None = Field(default=None, description="space that it lets run over with fuel")


class MadeOf(Strict):
    """What the part of something that meets the fuel can be made of."""

    what: str = Field(description="the piece that meets the fuel, for example: needle tip")
    as_built: Id
    choices: list[Id] = Field(min_length=1, description="materials, by the names of their files")
    work: Work | None = Field(default=None, description="how to fit one of another material")
    only_with: list[Id] | None = Field(default=None, description="forms of the part that have it; left out: all")
    look: Look | None = None


class Part(Strict):
    """Something that is fitted, in one of a few forms."""

    title: str
    casting: Id
    stage: Id
    as_built: Id
    options: dict[Id, Option]
    feeds: str | None = Field(default=None, description="barrel group whose mixture it sets")
    sizes_of: list[Id] = Field(
        default=[],
        description="passages whose bores it stands for: it exists only where one of them, or a mixture, was measured",
    )
    when: Condition = Field(default={}, description="forms of other parts without which it does not exist")
    made_of: MadeOf | None = None
    done: Literal["bare_metal", "closing", "assembled", "fuel_in_the_bowl"] | None = Field(
        default=None,
        description="when a change of it is made: on the bare casting, as its joint is closed, on the assembled "
        "carburetor, or with fuel in the bowl; left out: as its kind suggests",
    )
    modes: list[Mode] | None = None
    look: Look | None = None


class SwitchedTap(Strict):
    """A three-way valve worked by a pressure: which space the line feels below and above its level."""

    senses: Id
    level: Pressure
    below: Id
    above: Id


class Tap(Strict):
    """Where a line can be led."""

    title: str
    to: Id | None = Field(default=None, description="the space it then feels; left out: capped off")
    switched: SwitchedTap | None = None
    work: Work | None = None
    modes: list[Mode] | None = None


class Line(Strict):
    """A hose from a chamber to a place that can be chosen, with what may stand in it."""

    title: str
    of: Id
    bore: Bore
    casting: Id = "engine_bay"
    stage: Id
    as_built: Id
    taps: dict[Id, Tap]
    inline: Literal["none", "one_way_valve"] = "none"
    fit_one_way_valve: Work | None = None
    remove_one_way_valve: Work | None = None
    modes: list[Mode] | None = None
    look: Look | None = None


class Diaphragm(Strict):
    """A moving wall between two spaces; what it moves follows from the part fitted. A piston leaks past its side."""

    title: str
    between: tuple[Id, Id]
    kind: Literal["diaphragm", "piston"] = "diaphragm"
    leaks_past: Id | None = Field(
        default=None, description="of a piston: the passage that is its clearance, between the same two spaces"
    )
    role: Literal[
        "enrichment", "secondary", "pump", "regulator", "advance", "choke", "air_valve", "other"
    ] = "other"
    part: Id | None = Field(default=None, description="part whose form says how it acts and what it stands")
    valve: ValveAction | None = None
    limits: Limits | None = None
    feeds: str | None = Field(default=None, description="barrel group that an enrichment valve feeds")
    works_through: list[Id] = Field(default=[], description="passages without which its valve has no effect")
    wets: Literal["first", "second"] | None = Field(default=None, description="side against which liquid fuel stands")
    when: Condition = {}
    modes: list[Mode] | None = None


class Venturis(Strict):
    """The main venturis of one barrel group."""

    count: int = Field(ge=1, le=8)
    bore: Annotated[Length, bounded("10 mm", "80 mm")]
    depression: Annotated[Difference, bounded("0.3 kPa", "10 kPa", "a depression")] | None = Field(
        default=None,
        description="pull that an air valve holds by opening as the air flow rises; `bore` is then that of the whole "
        "opening. Left out: a fixed venturi",
    )
    at_rest: Annotated[Fraction, Field(gt=0, lt=1)] = Field(
        default=0.02, description="share of the whole opening that stays with the air valve at rest"
    )


class LaterOpening(Strict):
    """What opens a barrel group after the others."""

    part: Id | None = Field(default=None, description="part that says how; left out: always by linkage")
    by_vacuum: list[Id] = Field(
        default=[], description="forms of it that open the group by a pressure; all others do so by linkage"
    )


class CircuitNames(Strict):
    """Where the fuel side of one barrel group is, if its names are not `<group>.` and the usual ones."""

    bowl: Id | None = None
    well: Id | None = None
    idle_well: Id | None = None
    enrichment_side: Id | None = None
    jets: Id | None = None
    jet_hole: Id | None = None
    jet_sizes: Id | None = None


class Flow(Strict):
    """Air-side sizes of the family, used where the job gives none."""

    rated_flow: Annotated[VolumeFlow, bounded("50 cfm", "2000 cfm")]
    rated_drop: RatedDrop
    venturis: dict[str, Venturis]
    booster_gain: float = Field(ge=1, le=6, description="pull of a booster over that of its venturi; 1: no booster")
    opening: dict[str, LaterOpening] = Field(default={}, description="barrel groups that open after the others")


class Family(Strict):
    """A carburetor family: its spaces, passages, parts, lines and strip-down, written once."""

    family: Id
    title: str
    summary: str
    based_on: Id | None = Field(default=None, description="family whose entries hold where this file says nothing else")
    without: dict[str, list[str]] = Field(
        default={}, description="entries of that family that are left out, by section; * stands for anything"
    )
    groups: list[str] = []
    group_titles: dict[str, str] = Field(default={}, description="what a person calls a barrel group")
    castings: dict[Id, str] = {}
    stages: dict[Id, Stage] = {}
    spaces: dict[Id, Space] = {}
    passages: dict[Id, Passage] = {}
    parts: dict[Id, Part] = {}
    lines: dict[Id, Line] = {}
    diaphragms: dict[Id, Diaphragm] = {}
    flow: Flow | None = None
    circuits: dict[str, CircuitNames] = Field(default={}, description="by barrel group: names that are not the usual")
    also_called: dict[Id, Id] = Field(default={}, description="other names for spaces")
