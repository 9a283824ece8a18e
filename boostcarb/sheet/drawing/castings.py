"""One drawing a casting: its spaces, its passages as found and as planned, and the changes that are made on it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from boostcarb.network.model import ABSENT, OPEN, PLUGGED, Configuration, Diaphragm, Way
from boostcarb.quantities import UnitSystem, format_length
from boostcarb.report.wording import form_text
from boostcarb.sheet.answers import Answers
from boostcarb.sheet.document import Figure
from boostcarb.sheet.drawing.ladder import Place, Remark, Rung, ladder
from boostcarb.sheet.drawing.symbols import Symbol

IN_THE_AIR = ("line", "duct")
SYMBOLS = {
    "bore": Symbol.line,
    "port": Symbol.line,
    "gasket_window": Symbol.line,
    "restriction": Symbol.restriction,
    "slot": Symbol.restriction,
    "clearance": Symbol.restriction,
    "seat": Symbol.adjustable,
    "check_valve": Symbol.check,
    "joint": Symbol.leak,
}


@dataclass(frozen=True, slots=True)
class _State:
    """How a passage is in a configuration: `open`, `plugged`, `closed` by what else is fitted, or `absent`."""

    form: str
    way: Way
    checked: bool = False
    passes: str = ""
    """Where it passes to, if only one way."""


def casting_figures(answers: Answers) -> tuple[Figure, ...]:
    """The drawings: every casting of the carburetor, then of what stands round it those that are changed."""
    figures: list[Figure] = []
    own = answers.planned.bench.family.family.castings
    castings = answers.network.castings
    for casting in sorted(castings, key=lambda each: each not in own):
        rungs = [*_passages(answers, casting), *_diaphragms(answers, casting)]
        shown = {number for rung in rungs for number in rung.numbers}
        remarks = tuple(
            Remark(change.number, f"{change.title}: {change.becomes}")
            for change in answers.changes
            if change.casting == casting and change.number not in shown
            and answers.network.items[change.choice.item].kind not in ("line", "inline")
        )  # fmt: skip
        if (casting in own and (rungs or remarks)) or any(rung.changed for rung in rungs):
            caption = castings[casting][:1].upper() + castings[casting][1:]
            name = f"casting-{casting.replace('.', '-')}"
            figures += ladder(caption, name, _places(answers, casting, rungs), rungs, remarks)
    return tuple(figures)


def _places(answers: Answers, casting: str, rungs: Sequence[Rung]) -> list[Place]:
    spaces = answers.network.spaces
    names = dict.fromkeys(rung.place for rung in rungs)
    ends = {rung.to for rung in rungs}
    inside = [name for name in spaces if spaces[name].casting == casting and (name in names or name in ends)]
    return [
        Place(name, spaces[name].title, spaces[name].casting == casting)
        for name in dict.fromkeys((*inside, *names))
    ]


# --- passages ---------------------------------------------------------------------------------------------------


def _passages(answers: Answers, casting: str) -> Iterator[Rung]:
    groups: dict[tuple[str, frozenset[str]], list[Way]] = {}
    for way in answers.network.ways:
        if way.casting == casting and way.kind not in IN_THE_AIR:
            groups.setdefault((way.item, frozenset((way.a, way.b))), []).append(way)
    pairs = [
        (found, planned)
        for ways in groups.values()
        if (found := _state(ways, answers.found)) and (planned := _state(ways, answers.becomes))
        and _worth_drawing(answers, found, planned)
    ]  # fmt: skip
    spaces = answers.network.spaces
    often = Counter(end for _, planned in pairs for end in (planned.way.a, planned.way.b))
    for found, planned in pairs:
        ends = (planned.way.a, planned.way.b)
        first = max(ends, key=lambda end: (spaces[end].casting == casting, often[end], end == ends[0]))
        yield _rung(answers, found, planned, first)


def _state(ways: Sequence[Way], configuration: Configuration) -> _State:
    """The way that is there, or the one that would be, with how it is."""
    there = [way for way in ways if way.exists(configuration)]
    for way in there:
        return _State(
            OPEN,
            way,
            way.is_checked(configuration),
            way.b if way.is_one_way(configuration) else "",
        )
    form = configuration[ways[0].item]
    others = any(
        all(configuration[item] in forms for item, forms in way.conditions if item != way.item) for way in ways
    )
    if form == OPEN:
        return _State("closed", ways[0])
    return _State(form if form == PLUGGED and others else ABSENT, ways[0])


def _worth_drawing(answers: Answers, found: _State, planned: _State) -> bool:
    """What is or was open; what is plugged, but for joints and caps that are simply sound."""
    forms = (found.form, planned.form)
    if OPEN in forms:
        return True
    sound = answers.network.items[planned.way.item].forms.get(PLUGGED)
    return planned.form == PLUGGED and planned.way.kind != "joint" and (sound is None or sound.title != "sound")


def _rung(answers: Answers, found: _State, planned: _State, first: str) -> Rung:
    way = planned.way if planned.form == OPEN else found.way
    network = answers.network
    other = way.other(first)
    return Rung(
        place=first,
        title=way.title if network.items[way.item].confirmed else f"{way.title} (not looked at)",
        symbol=_symbol(planned, first),
        to=other,
        to_title=network.title_of(other),
        size=_size(way, answers.system),
        tag=_tag(found, planned, itself=way.item in answers.number_of),
        numbers=_numbers(answers, way) if _differs(found, planned) else (),
        broken=planned.form in ("closed", ABSENT),
    )


def _symbol(planned: _State, first: str) -> Symbol:
    if planned.form == PLUGGED:
        return Symbol.plugged
    if planned.form != OPEN:
        return Symbol.gone
    if planned.passes:
        return Symbol.check_back if planned.passes == first else Symbol.check
    if planned.checked:
        return Symbol.open_check
    if planned.way.kind == "check_valve":
        return Symbol.check_back if planned.way.b == first else Symbol.check
    return SYMBOLS.get(planned.way.kind, Symbol.line)


def _tag(found: _State, planned: _State, *, itself: bool) -> str:
    """What is done to it; `itself` where the change is of the passage and not of what closes or opens it."""
    if found.form != planned.form:
        opened = "DRILL" if found.form == ABSENT else "OPEN"
        return {
            OPEN: opened if itself else "FIT",
            PLUGGED: "PLUG",
            "closed": "NO LONGER OPEN",
            ABSENT: "NO LONGER THERE",
        }[planned.form]
    if planned.form == PLUGGED:
        return "plugged as found"
    if found.passes != planned.passes:
        return "FIT ONE-WAY VALVE"
    return "FIT CHECK" if planned.checked and not found.checked else ""


def _size(way: Way, system: UnitSystem) -> str:
    if way.bore_m is None:
        return ""
    times = f"{way.count} of " if way.count > 1 else ""
    usual = "" if way.bore_measured else "~"
    return f"{times}{usual}{format_length(way.bore_m, system)}"


def _differs(found: _State, planned: _State) -> bool:
    return (found.form, found.checked, found.passes) != (planned.form, planned.checked, planned.passes)


def _numbers(answers: Answers, way: Way) -> tuple[int, ...]:
    """The changes that make the difference."""
    variants = [each for each in answers.network.ways if each.item == way.item]
    items = {name for each in variants for name in (each.item, each.inline, each.guard) if name}
    for each in variants:
        for item, forms in each.conditions:
            if (answers.found[item] in forms) != (answers.becomes[item] in forms):
                items.add(item)
    return tuple(sorted(answers.number_of[item] for item in items if item in answers.number_of))


# --- diaphragms -------------------------------------------------------------------------------------------------


def _diaphragms(answers: Answers, casting: str) -> Iterator[Rung]:
    network = answers.network
    for diaphragm in network.diaphragms.values():
        if diaphragm.exists(answers.becomes) and _stands_on(answers, diaphragm) == casting:
            first, second = diaphragm.first, diaphragm.second
            if network.spaces[second].casting == casting and network.spaces[first].casting != casting:
                first, second = second, first
            number = answers.number_of.get(diaphragm.part or "")
            form = form_text(network, diaphragm.part, answers.becomes[diaphragm.part]) if diaphragm.part else ""
            yield Rung(
                place=first,
                title=f"{diaphragm.title}: {form}" if form else diaphragm.title,
                symbol=Symbol.piston if diaphragm.leak else Symbol.diaphragm,
                to=second,
                to_title=network.title_of(second),
                tag="FIT" if number else "",
                numbers=(number,) if number else (),
            )


def _stands_on(answers: Answers, diaphragm: Diaphragm) -> str:
    part = answers.network.items.get(diaphragm.part or "")
    return part.casting if part else answers.network.spaces[diaphragm.first].casting
