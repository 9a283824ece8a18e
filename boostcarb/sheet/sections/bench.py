"""Tests at the bench: where to put what, what must happen, and what it means if it does not."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby

from boostcarb.checks.model import (
    AIR_MOST_PA,
    HAND_VACUUM_PA,
    HOLD_S,
    LOSS_PA,
    UNIT_PA,
    BenchAnswer,
    BenchChecks,
    Check,
    Deviation,
    Kind,
    Outcome,
)
from boostcarb.quantities import UnitSystem, format_pressure
from boostcarb.report.checks_text import SAFETY
from boostcarb.report.wording import PRESSURE_UNIT, count, minutes
from boostcarb.sheet.answers import Answers
from boostcarb.sheet.document import Block, Entries, Entry, Paragraph, Part, Section, Table

PUT = {Kind.spray: "Spray cleaner in at", Kind.air: "Blow air in at", Kind.vacuum: "Hand pump on"}
NAMED = 6
"""Most mistakes that are named for what a test shows."""


def bench_checks(answers: Answers) -> Section | None:
    """The tests in the order in which they are done, what none of them shows, and where cleaner comes out."""
    checks = answers.checks
    if checks is None or not checks.answer.checks:
        return None
    answer = checks.answer
    hidden = sum(1 for each in answer.unseen if each.passage)
    told = (
        f"{count(len(answer.checks), 'test')} in {minutes(answer.minutes)} show {answer.mistakes - hidden} of "
        f"{count(answer.mistakes, 'single mistake')} in passages, checks and diaphragms; no test shows the other "
        f"{hidden}. Where one fails, put it right and do that test and those before it in the same stage again."
    )
    safety = Entries(tuple(Entry(text) for text in SAFETY), cautions=True)
    how = Entries(tuple(Entry(text) for text in _how(checks, answers.system)))
    numbered = list(enumerate(answer.checks, 1))
    stages = [
        _stage(checks, name, list(members)) for name, members in groupby(numbered, key=lambda pair: pair[1].test.stage)
    ]
    return Section("Bench checks", (safety, Paragraph(told), how, *stages, *_unseen(answer), *_routes(checks)))


def _how(checks: BenchChecks, system: UnitSystem) -> Iterable[str]:
    unit = PRESSURE_UNIT[system]
    kinds = {check.test.kind for check in checks.answer.checks}
    if not checks.as_planned:
        yield "As found there is fuel in it: nothing but a hand pump until it is off the engine, drained and dry."
    if Kind.spray in kinds:
        yield "Spray: slow flow; backfire checks stay open. A wet hole counts as one it comes out of."
    if Kind.air in kinds:
        most = format_pressure(AIR_MOST_PA, unit)
        yield f"Air: a brisk puff, at most {most}; backfire checks shut. Soapy water or a wet finger shows where."
    if Kind.vacuum in kinds:
        drawn, loss = format_pressure(HAND_VACUUM_PA, unit), format_pressure(LOSS_PA, unit)
        yield f"Hand pump: draw {drawn}. It holds if it loses no more than {loss} in {HOLD_S} s."
    if Kind.pressure in kinds:
        inside = format_pressure(UNIT_PA, unit)
        yield f"Whole inside: raise it slowly to {inside} and no further; soapy water on every joint and shaft."


def _stage(checks: BenchChecks, name: str, members: list[tuple[int, Check]]) -> Part:
    stage = checks.answer.stages[name]
    castings = checks.bench.network.castings
    blocks: list[Block] = []
    if stage.off:
        off = ", ".join(castings[each] for each in stage.off)
        blocks.append(Paragraph(f"Off: {off}; all else in place."))
    if stage.extra_minutes:
        blocks.append(Paragraph(f"{minutes(stage.extra_minutes)} of strip-down that is needed for tests only."))
    blocks.append(Entries(tuple(_check(checks, check, number) for number, check in members), boxes=True))
    return Part(stage.title[:1].upper() + stage.title[1:], tuple(blocks))


def _named(answer: BenchAnswer, holes: Iterable[str]) -> str:
    return "; ".join(answer.holes[each].title for each in holes)


def _check(checks: BenchChecks, check: Check, number: int) -> Entry:
    answer = checks.answer
    lines = [f"hold shut: {_named(answer, check.test.blocked)}"] if check.test.blocked else []
    lines.append(f"must: {_must(checks, check.sound)}")
    lines += [_deviation(answer, check.sound, each) for each in check.deviations]
    return Entry(f"{_where(answer, check)} ({minutes(check.minutes)})", f"Check {number}", lines=tuple(lines))


def _where(answer: BenchAnswer, check: Check) -> str:
    test = check.test
    if test.kind is Kind.pressure:
        if answer.stages[test.stage].on_engine:
            return "Put air into the whole intake, from the air horn to the manifold, its inlet covered, no fuel in it"
        return "Put air into the bores, air horn and base covered"
    holes = _named(answer, test.at)
    return f"{PUT[test.kind]}: a cup over {holes}" if test.at[1:] else f"{PUT[test.kind]}: {holes}"


def _must(checks: BenchChecks, sound: Outcome) -> str:
    if sound.holds is None:
        return f"come out at {_named(checks.answer, sound.exits)}" if sound.exits else "come out nowhere"
    if not sound.holds:
        return "not hold: air must come in"
    moves = [checks.bench.network.diaphragms[each].title for each in sound.moves]
    return f"hold, and move the {' and the '.join(moves)}" if moves else "hold"


def _deviation(answer: BenchAnswer, sound: Outcome, deviation: Deviation) -> str:
    titles = [each.title for each in deviation.mistakes]
    left = len(titles) - NAMED
    more = f" / one of {left} more" if left > 0 else ""
    return f"if {_instead(answer, sound, deviation.outcome)}: {' / '.join(titles[:NAMED])}{more}"


def _instead(answer: BenchAnswer, sound: Outcome, outcome: Outcome) -> str:
    if outcome.holds is not None:
        if outcome.holds != sound.holds:
            return "it holds" if outcome.holds else "it does not hold"
        return "it holds, but not the same things move"
    less = [each for each in sound.exits if each not in outcome.exits]
    more = [each for each in outcome.exits if each not in sound.exits]
    if less and not outcome.exits:
        return "it comes out nowhere"
    parts = [f"not at {_named(answer, less)}"] if less else []
    if more:
        parts.append(f"{'but' if less else 'also' if sound.exits else 'it comes out'} at {_named(answer, more)}")
    return ", ".join(parts)


def _unseen(answer: BenchAnswer) -> tuple[Part, ...]:
    hidden = [each for each in answer.unseen if each.passage]
    others = [each.mistake.title for each in answer.unseen if not each.passage]
    parts = []
    if hidden:
        entries = tuple(Entry(each.mistake.title, lines=(each.look,) if each.look else ()) for each in hidden)
        parts.append(Part("No test shows these: look, or try by hand", (Entries(entries, boxes=True),)))
    if others:
        entries = tuple(Entry(each) for each in others)
        parts.append(Part("No flow tells these: look", (Entries(entries, boxes=True, compact=True),)))
    return tuple(parts)


def _routes(checks: BenchChecks) -> tuple[Part, ...]:
    """Where cleaner comes out, for the holes where the work changes it."""
    answer = checks.answer
    tables = []
    for stage, members in groupby(answer.routes, key=lambda route: route.stage):
        rows = tuple(
            (answer.holes[each.hole].title, _exits(answer, each.before), _exits(answer, each.after))
            for each in members
            if each.changed
        )
        if rows and checks.as_planned:
            where = "all castings parted" if answer.stages[stage].off else "the whole carburetor"
            tables.append(Table(f"Where the work changes it, {where}", ("Sprayed in at", "As found", "Planned"), rows))
    return (Part("Spray here, it comes out there", tuple(tables)),) if tables else ()


def _exits(answer: BenchAnswer, exits: tuple[str, ...] | None) -> str:
    if exits is None:
        return "no such hole"
    return _named(answer, exits) if exits else "nowhere"
