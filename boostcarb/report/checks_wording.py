"""Words of the bench tests that the text and the job sheet share."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from boostcarb.checks.model import (
    AIR_MOST_PA,
    HAND_VACUUM_PA,
    HOLD_S,
    LOSS_PA,
    UNIT_PA,
    BenchAnswer,
    BenchChecks,
    Kind,
    Outcome,
    Test,
)
from boostcarb.quantities import UnitSystem, format_pressure
from boostcarb.report.wording import PRESSURE_UNIT

PUT = {Kind.spray: "Spray cleaner in at", Kind.air: "Blow air in at", Kind.vacuum: "Hand pump on"}


def how_lines(checks: BenchChecks, system: UnitSystem) -> Iterator[str]:
    """How each kind of test that is listed is done."""
    answer, unit = checks.answer, PRESSURE_UNIT[system]
    if not checks.as_planned:
        yield "As found there is fuel in it: nothing but a hand pump until it is off the engine, drained and dry."
    kinds = {check.test.kind for check in answer.checks}
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


def named(answer: BenchAnswer, holes: Iterable[str]) -> str:
    """Holes by their titles."""
    return "; ".join(answer.holes[name].title for name in holes)


def put_text(answer: BenchAnswer, test: Test) -> str:
    """Where to put what, for a test at holes; one of the whole inside has its own words."""
    where = named(answer, test.at)
    return f"{PUT[test.kind]}: {f'a cup over {where}' if test.at[1:] else where}"


def must_text(checks: BenchChecks, sound: Outcome) -> str:
    """What must happen on the sound carburetor."""
    if sound.holds is None:
        return f"come out at {named(checks.answer, sound.exits)}" if sound.exits else "come out nowhere"
    if not sound.holds:
        return "not hold: air must come in"
    moves = [checks.bench.network.diaphragms[name].title for name in sound.moves]
    return f"hold, and move the {' and the '.join(moves)}" if moves else "hold"


def changed(sound: Outcome, outcome: Outcome) -> tuple[list[str], list[str]]:
    """Holes that it comes out of as well, and holes that it no longer comes out of."""
    more = [name for name in outcome.exits if name not in sound.exits]
    return more, [name for name in sound.exits if name not in outcome.exits]


def exits_otherwise(answer: BenchAnswer, sound: Outcome, outcome: Outcome) -> str:
    """How what comes out differs from the sound carburetor."""
    more, less = changed(sound, outcome)
    if less and not outcome.exits:
        return "it comes out nowhere"
    parts = [f"not at {named(answer, less)}"] if less else []
    if more:
        parts.append(f"{'but' if less else 'also' if sound.exits else 'it comes out'} at {named(answer, more)}")
    return ", ".join(parts)
