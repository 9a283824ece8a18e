"""A review as text: what is wrong, what of the proposal does harm or nothing, what is missing."""

from __future__ import annotations

from collections.abc import Iterator

from boostcarb.answers import ProposedChange, Reviewed
from boostcarb.errors import visible
from boostcarb.planning.search import Impossible
from boostcarb.quantities import UnitSystem
from boostcarb.report.plan_text import doubt_lines, own_lines, section, unjudged_lines, unproved_text
from boostcarb.report.wording import MODES, arrangement, count, finding_lines, form_text
from boostcarb.report.wrapping import wrapped

ORDER = ("harmful", "needed, but harmful too", "needless", "already so", "needed")


def review_text(reviewed: Reviewed, system: UnitSystem) -> str:
    """The whole answer for one job."""
    return "\n".join(_lines(reviewed, system))


def _lines(reviewed: Reviewed, system: UnitSystem) -> Iterator[str]:
    bench = reviewed.bench
    job, network = bench.job, bench.network
    titles = {view.name: view.title for view in bench.view(network.found()).states}
    yield wrapped(f"{visible(str(bench.read.document.path))}: {job.job}")
    title = f"{bench.family.family.title}, target {MODES[job.target]}, fuel {job.fuel}"
    yield wrapped(", ".join([title, *arrangement(job)]), first="  ")
    yield from own_lines(bench)
    yield from section("VERDICT")
    yield wrapped(_verdict(reviewed), first="  ")
    shown = [finding for finding in reviewed.findings if not finding.rule_is_about_looking]
    if shown:
        yield from section("WRONG" + (" with the proposed changes made" if reviewed.proposed else " as found"))
        for finding in shown:
            yield from finding_lines(finding, network, titles, system, "  ")
            yield wrapped(f"remedy: {finding.remedy}", first="    ", rest="      ")
    if reviewed.proposed:
        yield from section("PROPOSED CHANGES, one by one")
        for change in sorted(reviewed.proposed, key=lambda each: (ORDER.index(each.verdict), each.item)):
            yield from _proposed(reviewed, change, titles)
    yield from _missing(reviewed)
    yield from unjudged_lines(bench.not_judged)
    yield from doubt_lines(reviewed.doubts, network)


def tally(reviewed: Reviewed) -> dict[str, int]:
    """How many findings of each kind."""
    fixes = [f for f in reviewed.findings if f.severity.value == "fix" and f.blocks and not f.rule_is_about_looking]
    return {
        "stop": sum(1 for finding in reviewed.findings if finding.severity.value == "stop"),
        "fix": len(fixes),
        "know": sum(1 for finding in reviewed.findings if not finding.blocks),
        "not_looked_at": len(reviewed.doubts),
    }


def _verdict(reviewed: Reviewed) -> str:
    found = tally(reviewed)
    parts = [f"{found['stop']} to stop for", f"{found['fix']} to fix", f"{found['know']} to know"]
    if reviewed.doubts:
        parts.append(f"{found['not_looked_at']} not looked at")
    unproved = unproved_text(reviewed.bench.not_judged)
    return f"{'Nothing blocks' if reviewed.clean else 'Not fit to run'}: {', '.join(parts)}{unproved}."


def _proposed(reviewed: Reviewed, change: ProposedChange, titles: dict[str, str]) -> Iterator[str]:
    network = reviewed.bench.network
    item = network.items.get(change.item)
    title = f"{item.title}: {form_text(network, item.name, change.after)}" if item else f"{change.item}: {change.after}"
    yield wrapped(f"{change.verdict.upper()}  {title}", first="  ")
    for mark, findings in (("brings", change.causes), ("prevents", change.prevents)):
        for finding in findings:
            where = f" in {titles.get(finding.state, finding.state)}" if finding.state else ""
            text = f"{mark} {finding.severity.value}: {finding.rule} at {finding.place_title}{where}"
            yield wrapped(text, first="    ", rest="      ")


def _missing(reviewed: Reviewed) -> Iterator[str]:
    completed = reviewed.completed
    if completed is None:
        return
    network = reviewed.bench.network
    if isinstance(completed.outcome, Impossible):
        yield from section("MISSING")
        yield wrapped("No set of changes puts this right; `boostcarb plan` says why.", first="  ")
        return
    if completed.outcome.changes:
        yield from section(f"MISSING  {count(len(completed.outcome.changes), 'change')} that would put it right")
        for change in completed.outcome.changes:
            item = network.items[change.item]
            labor = item.forms[change.option].labor
            yield wrapped(
                f"{item.title}: {labor.how if labor else form_text(network, item.name, change.option)}", first="  [ ] "
            )
