"""Which casting stands where: the carburetor in the middle as it is built, and round it what stands round it.

The air comes in at the top, through the air horn, and leaves through the manifold at the bottom. What belongs to one
group of barrels stands to the left or right of the body, the farther from the fuel line the nearer to the body.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection
from dataclasses import dataclass, field

from boostcarb.network.model import AMBIENT, Network

AIR_HORN, BASE, MANIFOLD = "air_horn", "base", "manifold"
BARS = (AIR_HORN, BASE, MANIFOLD)
GROUP_AT_LEAST = 3
IN_A_COLUMN = 6
BESIDE_UP_TO = 2  # ways from the fuel line: bowls and metering blocks
FARTHEST = 99


@dataclass(slots=True)
class Block:
    """A casting with its boxes in columns, each from top to bottom; a lying one has its boxes side by side."""

    casting: str
    columns: list[list[str]] = field(default_factory=list)
    lying: bool = False
    stream: tuple[int, ...] = ()  # which columns are the air stream, a panel within the panel

    def boxes(self) -> list[str]:
        """All its boxes."""
        return [name for column in self.columns for name in column]


@dataclass(slots=True)
class Arrangement:
    """Stacks of castings from left to right, the row beneath the body, and the row at the very bottom."""

    stacks: list[list[Block]]
    center: int
    hung: list[Block]
    below: list[Block]
    stream: str | None
    groups: list[str]


def group_of(name: str, groups: Collection[str]) -> str | None:
    """The group of barrels a space belongs to."""
    prefix = name.partition(".")[0]
    return prefix if prefix in groups else None


def groups_of(network: Network, own: Collection[str]) -> list[str]:
    """Groups of barrels, told by the names of the spaces in the castings of the carburetor."""
    count = Counter(
        name.partition(".")[0] for name, space in network.spaces.items() if "." in name and space.casting in own
    )
    order = dict.fromkeys(name.partition(".")[0] for name in network.spaces if "." in name)
    return [prefix for prefix in order if count[prefix] >= GROUP_AT_LEAST]


def arranged(network: Network, own_castings: Collection[str]) -> Arrangement:
    """Every space but the bars and the atmosphere in a block."""
    own = set(own_castings)
    groups = groups_of(network, own)
    inside: dict[str, list[str]] = {casting: [] for casting in network.castings}
    for name, space in network.spaces.items():
        if name != AMBIENT and name not in BARS:
            inside.setdefault(space.casting, []).append(name)
    horn = network.spaces.get(AIR_HORN)
    stream = horn.casting if horn is not None and horn.casting not in own else None
    stream_boxes = inside.pop(stream) if stream is not None else []
    inside = {casting: boxes for casting, boxes in inside.items() if boxes}
    distance = _distances(network)
    carburetor = {casting: boxes for casting, boxes in inside.items() if casting in own}
    belongs = {casting: _owner(boxes, groups) for casting, boxes in carburetor.items()}
    body = _body(carburetor, belongs) if len(groups) > 1 else _body_of_one_group(network, carburetor)
    left: list[list[Block]] = []
    right: list[list[Block]] = []
    hung: list[Block] = []
    sides = {group: (left, right)[index % 2] for index, group in enumerate(groups)}
    beside: dict[str, list[str]] = {}
    for casting, boxes in carburetor.items():
        if casting == body:
            continue
        near = min(distance.get(name, FARTHEST) for name in boxes)
        group = belongs[casting]
        if near <= BESIDE_UP_TO and (group is not None or not groups):
            beside.setdefault(group or "", []).append(casting)
        else:
            hung.append(Block(casting, [[name] for name in boxes], lying=True))
    for group, castings in beside.items():
        castings.sort(key=lambda casting: min(distance.get(name, FARTHEST) for name in carburetor[casting]))
        for depth, casting in enumerate(castings):
            side = sides.get(group, left)
            while len(side) <= depth:
                side.append([])
            side[depth].append(Block(casting, _columns(carburetor[casting])))
    center = _center(body, carburetor.get(body or "", []), stream, stream_boxes, groups)
    around = {casting: boxes for casting, boxes in inside.items() if casting not in own}
    fuel, air, below = _surroundings(network, around)
    stacks = [fuel, *left, [center] if center.columns else [], *reversed(right), air]
    middle = 1 + len(left)
    return Arrangement(stacks, middle, hung, below, stream if stream_boxes else None, groups)


def _distances(network: Network) -> dict[str, int]:
    """Ways from the nearest space of liquid fuel outside the carburetor, counted over what is not air path."""
    starts = [name for name, space in network.spaces.items() if space.source and space.holds == "fuel"]
    reached = dict.fromkeys(starts, 0)
    for name in starts:
        for way in network.ways_of.get(name, ()):
            other = way.other(name)
            if other not in reached and not network.spaces[other].source:
                reached[other] = reached[name] + 1
                starts.append(other)
    return reached


def _owner(boxes: list[str], groups: list[str]) -> str | None:
    owners = {group_of(name, groups) for name in boxes} - {None}
    return owners.pop() if len(owners) == 1 else None


def _body(carburetor: dict[str, list[str]], belongs: dict[str, str | None]) -> str | None:
    common = [casting for casting in carburetor if belongs[casting] is None] or list(carburetor)
    return max(common, key=lambda casting: len(carburetor[casting]), default=None)


def _body_of_one_group(network: Network, carburetor: dict[str, list[str]]) -> str | None:
    """With one group of barrels every casting may belong to it: the body is where most ways meet the air stream."""
    count = Counter(way.casting for way in network.ways if {way.a, way.b} & set(BARS))
    return max(carburetor, key=lambda casting: (count[casting], len(carburetor[casting])), default=None)


def _columns(boxes: list[str], most: int = IN_A_COLUMN) -> list[list[str]]:
    count = max(1, -(-len(boxes) // most))
    size = -(-len(boxes) // count)
    return [boxes[start : start + size] for start in range(0, len(boxes), size)]


def _center(
    body: str | None, boxes: list[str], stream: str | None, stream_boxes: list[str], groups: list[str]
) -> Block:
    halves: tuple[list[str], list[str]] = ([], [])
    for name in boxes:
        group = group_of(name, groups)
        if group is not None:
            halves[groups.index(group) % 2].append(name)
    for name in boxes:
        if group_of(name, groups) is None:
            min(halves[::-1], key=len).append(name)
    columns = _columns(halves[0]) if halves[0] else []
    streams: tuple[list[str], list[str]] = ([], [])
    for name in stream_boxes:
        group = group_of(name, groups)
        streams[groups.index(group) % 2 if group is not None else 0].append(name)
    before = len(columns)
    columns += [column for side in streams if side for column in _columns(side)]
    middle = tuple(range(before, len(columns)))
    columns += _columns(halves[1]) if halves[1] else []
    return Block(body or stream or "", columns, stream=middle)


def _surroundings(network: Network, around: dict[str, list[str]]) -> tuple[list[Block], list[Block], list[Block]]:
    """Fuel to the left, what blows or cools to the right, the rest at the bottom."""
    fuel: list[Block] = []
    air: list[Block] = []
    below: list[Block] = []
    for casting, boxes in around.items():
        holds = {network.spaces[name].holds for name in boxes}
        if "fuel" in holds:
            fuel.append(Block(casting, _columns(boxes)))
        elif any("compressor" in name for name in boxes):
            air.append(Block(casting, _columns(boxes)))
        else:
            below.append(Block(casting, [[name] for name in boxes], lying=True))
    return fuel, air, below
