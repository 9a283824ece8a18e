"""Where every line leads, before and after, as a drawing and as records for a table."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from boostcarb.network.model import INLINE, Configuration, Item, Way
from boostcarb.sheet.answers import Answers
from boostcarb.sheet.document import Figure
from boostcarb.sheet.drawing.ladder import Place, Rung, ladder
from boostcarb.sheet.drawing.symbols import Symbol


@dataclass(frozen=True, slots=True)
class Hose:
    """A line: the chamber it starts at, where it led and where it leads, what stands in it, the changes on it."""

    title: str
    chamber: str
    chamber_title: str
    before: str
    after: str
    inside: str
    numbers: tuple[int, ...]
    rungs: tuple[Rung, ...]


def hoses(answers: Answers) -> tuple[Hose, ...]:
    """Every line that leads somewhere before or after the plan; those that are changed first."""
    network = answers.network
    ways: dict[str, list[Way]] = {}
    for way in network.ways:
        if way.kind == "line":
            ways.setdefault(way.item, []).append(way)
    lines = [hose for name, own in ways.items() if (hose := _hose(answers, network.items[name], own)) is not None]
    return tuple(sorted(lines, key=lambda hose: (not hose.numbers, hose.numbers)))


def hose_figures(answers: Answers) -> tuple[Figure, ...]:
    """The lines that are changed, each as it was and as it becomes."""
    changed = [hose for hose in hoses(answers) if hose.numbers]
    if not changed:
        return ()
    places = [Place(hose.chamber, hose.chamber_title) for hose in changed]
    return ladder("Lines that change", "hoses", places, [rung for hose in changed for rung in hose.rungs])


def _hose(answers: Answers, item: Item, ways: list[Way]) -> Hose | None:
    found = [way for way in ways if way.exists(answers.found)]
    planned = [way for way in ways if way.exists(answers.becomes)]
    unusual = any(answers.found[name] not in forms for name, forms in item.conditions)
    if (not found and not planned) or (unusual and not planned):
        return None
    inline = item.name + INLINE
    numbers = tuple(sorted(answers.number_of[name] for name in (item.name, inline) if name in answers.number_of))
    chamber = (planned or found)[0].a
    before, after = (item.forms[c[item.name]].title for c in (answers.found, answers.becomes))
    inside = ""
    if planned and inline in answers.network.items:
        inside = answers.network.items[inline].forms[answers.becomes[inline]].title
    return Hose(
        title=item.title,
        chamber=chamber,
        chamber_title=answers.network.title_of(chamber),
        before=before,
        after=after,
        inside=inside,
        numbers=numbers,
        rungs=tuple(_rungs(answers, item, numbers, (found, planned))),
    )


def _rungs(
    answers: Answers, item: Item, numbers: tuple[int, ...], ways: tuple[list[Way], list[Way]]
) -> Iterator[Rung]:
    found, planned = ways
    chamber = (planned or found)[0].a
    before, after = (item.forms[each[item.name]].title for each in (answers.found, answers.becomes))
    if before != after:
        was = Symbol.gone if found else Symbol.plugged
        name = f"{item.name}/before"
        yield Rung(chamber, item.title, was, name, before, tag="BEFORE", broken=bool(found), leads=bool(found))
    symbol = _symbol(planned, answers.becomes)
    yield Rung(
        chamber,
        item.title,
        symbol,
        f"{item.name}/after",
        after,
        tag="AFTER",
        numbers=numbers,
        leads=bool(planned),
    )


def _symbol(ways: list[Way], configuration: Configuration) -> Symbol:
    if not ways:
        return Symbol.plugged
    if any(way.gate is not None for way in ways):
        return Symbol.switch
    return Symbol.check if any(way.is_one_way(configuration) for way in ways) else Symbol.line
