"""Tests at the bench: where to put what, what must happen, and what it means if it does not."""

from __future__ import annotations

from itertools import groupby

from boostcarb.checks.model import BenchAnswer, BenchChecks, Check, Deviation, Kind, Outcome
from boostcarb.report.checks_text import SAFETY
from boostcarb.report.checks_wording import exits_otherwise, how_lines, must_text, named, put_text
from boostcarb.report.wording import count, minutes
from boostcarb.sheet.answers import Answers
from boostcarb.sheet.document import Block, Entries, Entry, Paragraph, Part, Section, Table

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
    how = Entries(tuple(Entry(text) for text in how_lines(checks, answers.system)))
    numbered = list(enumerate(answer.checks, 1))
    stages = [
        _stage(checks, name, list(members)) for name, members in groupby(numbered, key=lambda pair: pair[1].test.stage)
    ]
    return Section("Bench checks", (safety, Paragraph(told), how, *stages, *_unseen(answer), *_routes(checks)))


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


def _check(checks: BenchChecks, check: Check, number: int) -> Entry:
    answer = checks.answer
    lines = [f"hold shut: {named(answer, check.test.blocked)}"] if check.test.blocked else []
    lines.append(f"must: {must_text(checks, check.sound)}")
    lines += [_deviation(answer, check.sound, each) for each in check.deviations]
    return Entry(f"{_where(answer, check)} ({minutes(check.minutes)})", f"Check {number}", lines=tuple(lines))


def _where(answer: BenchAnswer, check: Check) -> str:
    test = check.test
    if test.kind is Kind.pressure:
        if answer.stages[test.stage].on_engine:
            return "Put air into the whole intake, from the air horn to the manifold, its inlet covered, no fuel in it"
        return "Put air into the bores, air horn and base covered"
    return put_text(answer, test)


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
    return exits_otherwise(answer, sound, outcome)


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
    return named(answer, exits) if exits else "nowhere"
