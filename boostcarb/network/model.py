"""The carburetor as a graph: spaces, ways between them, and the items that decide which ways are open.

An *item* is anything that can be in one of a few forms: a passage (open, plugged, absent), a part (which one is
fitted) or a line (where it is led). A *configuration* names the form of every item; with it the graph is fixed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Final, Literal

from boostcarb.description.material import Verdict

Configuration = Mapping[str, str]
Conditions = tuple[tuple[str, frozenset[str]], ...]

OPEN, PLUGGED, ABSENT = "open", "plugged", "absent"
NONE, ONE_WAY_VALVE = "none", "one_way_valve"
FITTED = "fitted"
"""The one form of a backfire check in which it shuts: missing or stuck open it does not, stuck shut it is a plug."""
SOUND, TORN = "sound", "torn"
AMBIENT, BOX = "ambient", "box"
INLINE, MATERIAL = ".inline", ".material"
LATENT: Final = "latent"
"""Kind of an item that nobody changes: it is sound until it fails."""
COOLER, WASTEGATE = "charge_cooler", "wastegate_line"
"""Items of the surroundings whose form changes the air path."""


@dataclass(frozen=True, slots=True)
class Space:
    """A volume with one pressure; a source takes it from the air path, or from another source that it is open to."""

    name: str
    title: str
    casting: str
    holds: str
    volume_m3: float | None
    source: bool
    same_as: str | None = None


@dataclass(frozen=True, slots=True)
class Gate:
    """A way that is open only while a sensed pressure is above, or not above, a level."""

    senses: str
    level_pa: float
    level_is_gauge: bool
    open_above: bool


@dataclass(frozen=True, slots=True)
class Way:
    """A way from space `a` to space `b`, there when all its conditions hold.

    `area_m2` is the effective area (discharge coefficient included) of all `count` holes together; `bore_m` is the
    bore of one, where it has one. A one-way valve passes only from `a` to `b`; `valve` is the part that makes it so.
    A `ring` is left by a rod in a jet: its bore is that of a round hole of the same area.
    """

    name: str
    title: str
    kind: str
    a: str
    b: str
    area_m2: float
    carries: str
    casting: str
    stage: str
    item: str
    conditions: Conditions
    one_way: bool = False
    inline: str | None = None
    guard: str | None = None
    gate: Gate | None = None
    bore_m: float | None = None
    count: int = 1
    bore_measured: bool = False
    valve: str | None = None
    ring: bool = False

    @property
    def items(self) -> frozenset[str]:
        """Items that decide whether it is there and which way it passes; its guard is none of them."""
        names = {item for item, _ in self.conditions}
        return frozenset(names if self.inline is None else {*names, self.inline})

    def other(self, space: str) -> str:
        """The space at the other end."""
        return self.b if space == self.a else self.a

    def exists(self, configuration: Configuration) -> bool:
        """Whether all conditions hold."""
        for item, forms in self.conditions:  # noqa: SIM110  asked more often than anything: a loop is quicker
            if configuration[item] not in forms:
                return False
        return True

    def is_checked(self, configuration: Configuration) -> bool:
        """Whether the backfire check that belongs to it is fitted."""
        return self.guard is not None and configuration.get(self.guard) == FITTED

    def turned(self, name: str, conditions: Conditions) -> Way:
        """The same way where it passes from `b` to `a` only."""
        return replace(self, name=name, a=self.b, b=self.a, conditions=conditions, one_way=True)

    def is_one_way(self, configuration: Configuration) -> bool:
        """Whether it passes from `a` to `b` only."""
        return self.one_way or (self.inline is not None and configuration[self.inline] == ONE_WAY_VALVE)


@dataclass(frozen=True, slots=True)
class Valve:
    """How a diaphragm's difference, first side minus second, moves its valve. Pa. A stuck one is `fixed` as it is."""

    opens_below: bool
    setting_pa: float
    spread_pa: float
    fixed: Literal["open", "shut"] | None = None


@dataclass(frozen=True, slots=True)
class Limit:
    """Largest difference first minus second, and second minus first, that a diaphragm stands. Pa."""

    forward_pa: float
    reverse_pa: float


@dataclass(frozen=True, slots=True)
class Diaphragm:
    """An elastic wall between two spaces; valve and limit follow from the form of its part.

    `wets` is the side that liquid fuel stands against, `tear` the latent item that says whether it is torn. A piston
    has a `leak`: the passage past its side. It holds no pressure by itself and cannot tear.
    """

    name: str
    title: str
    first: str
    second: str
    role: str
    part: str | None
    feeds: str | None
    works_through: tuple[str, ...]
    conditions: Conditions
    valves: Mapping[str, Valve]
    limits: Mapping[str, Limit]
    wets: str | None = None
    tear: str | None = None
    leak: str | None = None

    @property
    def dry(self) -> str:
        """The side that no liquid fuel stands against; the second where none does."""
        return self.first if self.wets == self.second else self.second

    def is_torn(self, configuration: Configuration) -> bool:
        """Whether it is torn: then no difference moves it."""
        return self.tear is not None and configuration[self.tear] == TORN

    def form(self, configuration: Configuration) -> str:
        """The form of the part it belongs to, or an empty string."""
        return configuration[self.part] if self.part else ""

    def exists(self, configuration: Configuration) -> bool:
        """Whether there is a diaphragm at all: a blanking plug has none."""
        if not all(configuration[item] in forms for item, forms in self.conditions):
            return False
        form = self.form(configuration)
        return form in self.valves or form in self.limits

    def valve(self, configuration: Configuration) -> Valve | None:
        """What moves, with the part as it is."""
        return self.valves.get(self.form(configuration))

    def limit(self, configuration: Configuration) -> Limit | None:
        """What it stands, with the part as it is."""
        return self.limits.get(self.form(configuration))

    def items(self) -> frozenset[str]:
        """Items that decide what it is."""
        own = {name for name in (self.part, self.tear) if name}
        return frozenset(own | {item for item, _ in self.conditions})


@dataclass(frozen=True, slots=True)
class Labor:
    """What one change takes, besides the strip-down."""

    how: str
    minutes: int
    parts: int
    irreversible: bool
    stage: str


@dataclass(frozen=True, slots=True)
class Form:
    """One form an item can have; without labor it is never proposed. Of a material: whether it suits the fuel."""

    title: str
    labor: Labor | None = None
    mixture_for: str | None = None
    not_with: Conditions = ()
    suits: Verdict | None = None
    fails: bool = False
    floods: str | None = None

    def goes_with(self, configuration: Configuration) -> bool:
        """Whether nothing is in a form that cannot go with this one."""
        return not any(configuration[other] in forms for other, forms in self.not_with)


@dataclass(frozen=True, slots=True)
class Item:
    """Something that is in one of a few forms; `found` is the one it has now (assumed if not confirmed)."""

    name: str
    title: str
    kind: Literal["passage", "part", "line", "inline", "material", "latent"]
    casting: str
    stage: str
    forms: Mapping[str, Form]
    found: str
    confirmed: bool
    conditions: Conditions = ()
    feeds: str | None = None
    look: str | None = None
    done: str | None = None

    def is_there(self, configuration: Configuration) -> bool:
        """Whether everything that it exists by is in the form that it takes."""
        return all(configuration[other] in forms for other, forms in self.conditions)

    def falls_into(self, form: str) -> bool:
        """Whether it comes to be in a form by itself, and nobody gives it that form."""
        return self.forms[form].fails or (self.kind == LATENT and form != self.found)


@dataclass(frozen=True, slots=True)
class Renews:
    """Something never fitted twice: which items bring it new anyway, and the part that must be there, and how."""

    what: str
    quantity: int
    covered_by: frozenset[str] = frozenset()
    part: str | None = None
    not_as: frozenset[str] = frozenset()
    only_as: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Stage:
    """One step of the strip-down: what comes off with it, what to mind, what is renewed (None: nobody said)."""

    name: str
    title: str
    minutes: int
    after: tuple[str, ...]
    takes_off: tuple[str, ...] = ()
    taking_off: str | None = None
    putting_back: str | None = None
    renews: tuple[Renews, ...] | None = None
    tools: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class GroupCircuit:
    """Names of the fuel side of one barrel group; `variable`: its jet opens with an air valve."""

    bowl: str
    well: str
    idle_well: str
    enrichment_side: str
    jets: str
    jet_hole: str
    jet_sizes: str
    variable: bool = False

    @classmethod
    def usual(cls, group: str) -> GroupCircuit:
        """The names that hold where a family gives no others.

        >>> GroupCircuit.usual("primary").jets
        'primary.main_jets'
        """
        return cls(
            bowl=f"{group}.bowl",
            well=f"{group}.main_well",
            idle_well=f"{group}.idle_well",
            enrichment_side=f"{group}.power_valve_fuel_side",
            jets=f"{group}.main_jets",
            jet_hole=f"{group}.main_jet_hole",
            jet_sizes=f"{group}.jet_sizes",
        )


@dataclass(frozen=True, slots=True)
class Network:
    """Everything that does not depend on which changes are made.

    `carburetors` of this kind feed the engine together; each has all that the network has. The form of one of the
    `air_path_items` changes the pressures of the sources. The `boxed` castings stand in a pressure box.
    """

    spaces: Mapping[str, Space]
    ways: tuple[Way, ...]
    diaphragms: Mapping[str, Diaphragm]
    items: Mapping[str, Item]
    stages: Mapping[str, Stage]
    castings: Mapping[str, str]
    aliases: Mapping[str, str]
    ways_of: Mapping[str, tuple[Way, ...]] = field(repr=False)
    circuits: Mapping[str, GroupCircuit] = field(default_factory=dict)
    group_titles: Mapping[str, str] = field(default_factory=dict)
    carburetors: int = 1
    air_path_items: tuple[str, ...] = (COOLER, WASTEGATE)
    boxed: frozenset[str] = frozenset()

    def found(self) -> dict[str, str]:
        """The configuration as found."""
        return {name: item.found for name, item in self.items.items()}

    def unconfirmed(self) -> tuple[str, ...]:
        """Items nobody has looked at, in the order of the strip-down."""
        order = {stage: index for index, stage in enumerate(self.stages)}
        names = [name for name, item in self.items.items() if not item.confirmed]
        return tuple(sorted(names, key=lambda name: (order[self.items[name].stage], name)))

    def existing(self, configuration: Configuration) -> Iterator[Way]:
        """Ways that are there, in a fixed order."""
        return (way for way in self.ways if way.exists(configuration))

    def stage_of(self, item: str, form: str) -> str:
        """The stage of the strip-down at which an item can be given a form."""
        labor = self.items[item].forms[form].labor
        return labor.stage if labor is not None else self.items[item].stage

    def circuit(self, group: str) -> GroupCircuit:
        """Names of the fuel side of a barrel group."""
        return self.circuits.get(group) or GroupCircuit.usual(group)

    def outside_of(self, space: str) -> str:
        """What is round the casting of a space: the atmosphere, or the box that it stands in or breathes from."""
        inside = self.spaces[space].casting in self.boxed
        if not inside and self.boxed and BOX in self.spaces:
            inside = space == self.spaces[BOX].same_as
        return BOX if inside else AMBIENT

    def group_title(self, group: str) -> str:
        """What a person calls a barrel group."""
        return self.group_titles.get(group, f"{group} barrels")

    def title_of(self, space: str) -> str:
        """What a person calls a space."""
        return self.spaces[space].title


def items_of(ways: Iterable[Way]) -> frozenset[str]:
    """Every item that has a say in any of these ways."""
    return frozenset(item for way in ways for item in way.items)
