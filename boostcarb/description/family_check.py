"""What is worth a second look in a family that can be read, and a right entry of each section to copy from."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from boostcarb.description.family import Family

EXAMPLES: Final = {
    "groups": "groups: [main]",
    "castings": "castings: {body: main body, bowl: float bowl}",
    "stages": "stages: {on_engine: {title: nothing off, minutes: 0}, "
    "carburetor_off: {title: carburetor off the engine, minutes: 20, after: [on_engine]}}",
    "spaces": "spaces: {main.bowl: {title: float bowl, casting: bowl, volume: 60 cm3}}",
    "passages": "passages: {main.bowl_vent: {title: bowl vent, joins: [main.bowl, air_horn], bore: 6 mm, "
    "casting: body, stage: carburetor_off, reopen: {how: clear the vent, minutes: 10}}}",
    "parts": "parts: {main.throttle_shaft: {title: throttle shaft, casting: body, stage: carburetor_off, "
    "as_built: plain, options: {plain: {title: plain}, sealed: {title: sealed, "
    "work: {how: fit shaft seals, minutes: 60, parts: 2}}}}}",
    "lines": "lines: {main.signal_line: {title: signal line, of: main.chamber, bore: 3 mm, stage: on_engine, "
    "as_built: capped, taps: {capped: {title: capped off}, air_horn: {title: bonnet, to: air_horn}}}}",
    "diaphragms": "diaphragms: {main.valve: {title: diaphragm of the valve, between: [main.bowl, main.chamber], "
    "role: enrichment, feeds: main, valve: {opens: below, setting: 6.5 inHg}}}",
    "flow": "flow: {rated_flow: 250 cfm, rated_drop: 3 inHg, booster_gain: 2, "
    "venturis: {main: {count: 2, bore: 28 mm}}}",
    "circuits": "circuits: {secondary: {bowl: primary.bowl}}",
    "without": 'without: {passages: [choke_shaft_gap, "secondary.*"]}',
}
"""One right entry of every section of a family file."""


@dataclass(frozen=True, slots=True)
class Advice:
    """Something that reads well and yet makes answers poorer; `path` is where it stands."""

    path: tuple[str, ...]
    message: str


def advice(family: Family) -> Iterator[Advice]:
    """What makes answers poorer."""
    if "on_engine" not in family.stages:
        yield Advice(("stages",), "has no stage 'on_engine': what stands round the carburetor is reached there")
    if "carburetor_off" not in family.stages:
        yield Advice(("stages",), "has no stage 'carburetor_off': bench tests off the engine need it")
    if family.stages and not any(stage.takes_off for stage in family.stages.values()):
        yield Advice(("stages",), "no stage says `takes_off: [casting]`: bench tests will find nothing taken apart")
    yield from _bowls(family)
    yield from _joined(family)
    yield from _unseen(family)


def _bowls(family: Family) -> Iterator[Advice]:
    ends = {frozenset(passage.joins): passage for passage in family.passages.values()}
    for name in family.spaces:
        if name.rpartition(".")[2] != "bowl":
            continue
        if not any(name in pair and pair & {"air_horn", "ambient"} for pair in ends):
            yield Advice(("spaces", name), "has no vent: write a passage that joins it to air_horn")
        if not any(name in passage.joins and passage.kind == "seat" for passage in family.passages.values()):
            yield Advice(("spaces", name), "no fuel gets in: write a passage of kind seat from fuel_line to it")


def _joined(family: Family) -> Iterator[Advice]:
    used = {end for passage in family.passages.values() for end in passage.joins}
    used |= {line.of for line in family.lines.values()}
    used |= {end for diaphragm in family.diaphragms.values() for end in diaphragm.between}
    for name, space in family.spaces.items():
        if name not in used and not space.source:
            yield Advice(("spaces", name), "nothing leads to it: no passage, line or diaphragm names it")


def _unseen(family: Family) -> Iterator[Advice]:
    for section in ("passages", "parts", "lines"):
        blind = [name for name, entry in getattr(family, section).items() if entry.look is None]
        if blind:
            more = f" and {len(blind) - 1} more" if len(blind) > 1 else ""
            message = f"{blind[0]}{more}: no `look`, so nobody is told where to look on the bench"
            yield Advice((section, blind[0]), message)
