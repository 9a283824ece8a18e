"""The short form of a plan: what to do, what to look at, and how sure the verdict is, on a page or two."""

from __future__ import annotations

from collections.abc import Iterator

from boostcarb.answers import Planned
from boostcarb.planning.search import Impossible, Plan
from boostcarb.quantities import UnitSystem
from boostcarb.report.plan_text import (
    caution_lines,
    change_lines,
    cheaper_lines,
    cost_text,
    heading,
    no_plan_lines,
    section,
    unjudged_lines,
    verdict_text,
)
from boostcarb.report.wording import count
from boostcarb.report.wrapping import wrapped

IN_FULL = (
    "Without --brief: where to look and what it looks like, why each change is needed, what is next best, single "
    "faults, fuel, pressures, and what was assumed."
)


def plan_brief_text(planned: Planned, system: UnitSystem) -> str:
    """Verdict, what nobody has looked at, the changes, what stays, what is not judged, cautions."""
    return "\n".join(_lines(planned, system))


def _lines(planned: Planned, system: UnitSystem) -> Iterator[str]:
    bench = planned.bench
    yield from heading(planned, system)
    if isinstance(planned.outcome, Impossible):
        yield from no_plan_lines(planned, planned.outcome, system)
    else:
        yield from _plan(planned, planned.outcome)
        yield from unjudged_lines(bench.not_judged)
    yield from caution_lines(bench)
    yield from section("MORE")
    yield wrapped(IN_FULL, first="  ")


def _plan(planned: Planned, plan: Plan) -> Iterator[str]:
    network = planned.bench.network
    yield from section("VERDICT")
    yield wrapped(verdict_text(planned, plan), first="  ")
    serious = [doubt for doubt in planned.doubts if doubt.otherwise]
    if serious:
        yield from section(f"LOOK AT THESE FIRST  {len(serious)} not looked at could change the verdict")
        yield wrapped("; ".join(network.items[doubt.item].title for doubt in serious), first="  ")
    if plan.changes:
        yield from section(f"DO THIS  {cost_text(plan.cost)}, strip-down included")
        yield from change_lines(network, plan.changes, {})
        yield from cheaper_lines(plan)
    known = [finding for finding in planned.remaining if not finding.rule_is_about_looking]
    if known:
        yield from section("STILL TO KNOW  after the plan")
        places: dict[str, int] = {}
        for finding in known:
            title = f"{finding.severity.upper()} {finding.title}"
            places[title] = places.get(title, 0) + 1
        for title, number in places.items():
            yield wrapped(title + (f", in {count(number, 'place')}" if number > 1 else ""), first="  - ")
