"""Bench tests as text: where, how, what to hold shut, what must happen, and what it means if it does not."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from boostcarb.checks.model import BenchAnswer, BenchChecks, Check, Deviation, Kind, Outcome, Route, Unseen
from boostcarb.quantities import UnitSystem
from boostcarb.report.checks_wording import changed, exits_otherwise, how_lines, must_text, named, put_text
from boostcarb.report.plan_text import own_lines, section
from boostcarb.report.wording import MODES, count, minutes
from boostcarb.report.wrapping import wrapped

SAFETY = (
    "Never put air pressure on a carburetor that holds fuel: drain it, dry it, let the vapor go. All tests here are "
    "done dry.",
    "Regulated air only, never more than 50 kPa (7 psi), and stand clear of plugs and caps.",
    "Eye protection and gloves for spray: cleaner comes back out of holes you do not look at. No flame, no spark, "
    "fresh air.",
    "Local codes, and the judgement of a licensed mechanic, come before this list.",
)
AFTERWARDS = (
    "A hole half blocked, or of the wrong size, passes as open: compare both barrels, and measure.",
    "Where a test fails, put it right and do this test and those before it in the same stage again.",
)
INDENT = " " * 10
HANGING = INDENT + "  "


def checks_text(checks: BenchChecks, system: UnitSystem) -> str:
    """The whole answer."""
    return "\n".join(_lines(checks, system))


def _lines(checks: BenchChecks, system: UnitSystem) -> Iterator[str]:
    bench, answer = checks.bench, checks.answer
    job = bench.job
    yield wrapped(job.job)
    which = "as planned" if checks.as_planned else "as found"
    yield wrapped(f"{bench.family.family.title}, target {MODES[job.target]}, fuel {job.fuel}, {which}", first="  ")
    yield from own_lines(bench)
    yield from section("VERDICT")
    if not checks.has_plan:
        yield wrapped("There is no plan; `boostcarb plan` says why. These are the tests as found.", first="  ")
    yield wrapped(_verdict(answer), first="  ")
    yield from section("BEFORE YOU START")
    for text in SAFETY:
        yield wrapped(text, first="  - ")
    for text in (*how_lines(checks, system), *AFTERWARDS):
        yield wrapped(text, first="  - ")
    yield from _tests(checks, system)
    yield from _not_shown(answer)
    yield from _routes(checks)


def _verdict(answer: BenchAnswer) -> str:
    unseen = sum(1 for each in answer.unseen if each.passage)
    return (
        f"{count(len(answer.checks), 'test')} in {minutes(answer.minutes)} show {answer.mistakes - unseen} of "
        f"{count(answer.mistakes, 'single mistake')} in passages, checks and diaphragms; no test shows the other "
        f"{unseen}. No cheaper set of the {answer.tried} tests compared shows as much."
    )


def _tests(checks: BenchChecks, system: UnitSystem) -> Iterator[str]:
    stage = ""
    for number, check in enumerate(checks.answer.checks, 1):
        if check.test.stage != stage:
            stage = check.test.stage
            yield from _stage(checks, stage)
        yield from _test(checks, check, number)


def _stage(checks: BenchChecks, name: str) -> Iterator[str]:
    stage = checks.answer.stages[name]
    castings = checks.bench.network.castings
    yield from section(stage.title.upper())
    if stage.off:
        yield wrapped(f"off: {', '.join(castings[each] for each in stage.off)}; all else in place", first="  ")
    if stage.extra_minutes:
        why = "of strip-down that only tests need" if checks.as_planned else "to get here"
        yield wrapped(f"{minutes(stage.extra_minutes)} {why}", first="  ")


def _test(checks: BenchChecks, check: Check, number: int) -> Iterator[str]:
    answer = checks.answer
    yield wrapped(f"{_what(answer, check)} ({minutes(check.minutes)})", first=f"  [ ] {number:>2}. ", rest=INDENT)
    if check.test.blocked:
        yield wrapped(f"hold shut: {named(answer, check.test.blocked)}", first=INDENT, rest=HANGING)
    yield wrapped(f"must: {must_text(checks, check.sound)}", first=INDENT, rest=HANGING)
    yield from _deviations(checks, check)


def _deviations(checks: BenchChecks, check: Check) -> Iterator[str]:
    """What each deviation means; those that speak for themselves are one line for all."""
    leaking, shut, others = [], [], []
    for each in check.deviations:
        more, less = changed(check.sound, each.outcome)
        own = {mistake.item for mistake in each.mistakes} == {checks.answer.holes[n].item for n in (*more, *less)}
        titles = [mistake.title for mistake in each.mistakes]
        if own and len(more) == 1 and not less:
            leaking += titles
        elif own and len(less) == 1 and not more and each.outcome.exits:
            shut += titles
        else:
            others.append(each)
    for each in others:
        text = f"{_instead(checks, check.sound, each)} - means: {' / '.join(m.title for m in each.mistakes)}"
        yield wrapped(text, first=f"{INDENT}- ", rest=HANGING)
    for words, titles in ((f"{'also ' if check.sound.exits else ''}at one of these", leaking), ("not at one", shut)):
        if titles:
            yield wrapped(f"{words} - means just that: {' / '.join(titles)}", first=f"{INDENT}- ", rest=HANGING)


def _what(answer: BenchAnswer, check: Check) -> str:
    test = check.test
    if test.kind is Kind.pressure:
        if answer.stages[test.stage].on_engine:
            return "Put air into the whole intake, air horn to manifold, its inlet covered and no fuel in it"
        return "Put air into the bores, air horn and base covered"
    return put_text(answer, test)


def _instead(checks: BenchChecks, sound: Outcome, each: Deviation) -> str:
    outcome = each.outcome
    if outcome.holds is not None:
        if outcome.holds != sound.holds:
            return "it holds" if outcome.holds else "it does not hold"
        return _moves_otherwise(checks, sound, outcome)
    return exits_otherwise(checks.answer, sound, outcome)


def _moves_otherwise(checks: BenchChecks, sound: Outcome, outcome: Outcome) -> str:
    titles = {name: each.title for name, each in checks.bench.network.diaphragms.items()}
    still = [f"the {titles[name]} does not move" for name in sound.moves if name not in outcome.moves]
    moving = [f"the {titles[name]} moves" for name in outcome.moves if name not in sound.moves]
    return f"it holds, but {' and '.join([*still, *moving])}"


def _not_shown(answer: BenchAnswer) -> Iterator[str]:
    passage = [each for each in answer.unseen if each.passage]
    others = [each for each in answer.unseen if not each.passage]
    if passage:
        yield from section(f"NO TEST SHOWS THESE: {len(passage)}  look, or try by hand")
        yield from _unseen(passage)
    if others:
        yield from section(f"NO FLOW TELLS THESE: {len(others)}  look")
        for each in others:
            yield wrapped(each.mistake.title, first="  [ ] ")


def _unseen(group: Iterable[Unseen]) -> Iterator[str]:
    for each in group:
        yield wrapped(each.mistake.title, first="  [ ] ")
        if each.look:
            yield wrapped(each.look, first="      ")


def _routes(checks: BenchChecks) -> Iterator[str]:
    answer = checks.answer
    for stage in dict.fromkeys(route.stage for route in answer.routes):
        here = [route for route in answer.routes if route.stage == stage]
        shown = answer.stages[stage]
        heading = "all castings parted" if shown.off else "the whole carburetor"
        yield from section(f"SPRAY HERE, IT COMES OUT THERE  {heading}")
        for route in here:
            if route.before or route.after:
                yield from _route(answer, route, both=checks.as_planned)
        silent = [route for route in here if not route.before and not route.after]
        if silent:
            holes = named(answer, (route.hole for route in silent))
            yield wrapped(f"nothing comes out from: {holes}", first="  ", rest="    ")


def _route(answer: BenchAnswer, route: Route, *, both: bool) -> Iterator[str]:
    yield wrapped(answer.holes[route.hole].title, first="  ", rest="    ")
    if not both or not route.changed:
        yield wrapped(_there(answer, route.before), first="      -> ", rest="         ")
        return
    yield wrapped(f"as found: {_there(answer, route.before)}", first="      -> ", rest="         ")
    yield wrapped(f"planned: {_there(answer, route.after)}", first="      -> ", rest="         ")


def _there(answer: BenchAnswer, exits: tuple[str, ...] | None) -> str:
    if exits is None:
        return "no such hole"
    return named(answer, exits) if exits else "nowhere"
