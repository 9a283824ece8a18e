"""Single faults as text: what each brings, where first, what the driver notices, what the bench reveals."""

from __future__ import annotations

from collections.abc import Iterator

from boostcarb.answers import Faulted
from boostcarb.findings import Severity
from boostcarb.report.cautions import cautions
from boostcarb.report.fault_lines import alike, outcome_lines
from boostcarb.report.plan_text import own_lines, section
from boostcarb.report.wording import MODES, count
from boostcarb.report.wrapping import wrapped

HEADINGS = {
    Severity.stop: "STOP  one of these failing destroys the engine or endangers people",
    Severity.fix: "FIX  these do harm in the long run, or spoil the running",
    Severity.advise: "TO KNOW  these are felt, and do no harm",
}


def faults_text(faulted: Faulted, *, everything: bool) -> str:
    """The whole answer; with `everything` also the faults that change nothing."""
    return "\n".join(_lines(faulted, everything))


def _lines(faulted: Faulted, everything: bool) -> Iterator[str]:
    bench = faulted.bench
    job, network = bench.job, bench.network
    titles = faulted.titles
    yield wrapped(job.job)
    which = "as planned" if faulted.as_planned else "as found"
    yield wrapped(f"{bench.family.family.title}, target {MODES[job.target]}, fuel {job.fuel}, {which}", first="  ")
    yield from own_lines(bench)
    yield from section("VERDICT")
    yield wrapped(_verdict(faulted), first="  ")
    for severity, heading in HEADINGS.items():
        of_this = [each for each in faulted.outcomes if each.severity is severity]
        if of_this:
            yield from section(f"{heading}: {len(of_this)}")
            for first, *others in alike(of_this):
                yield from outcome_lines(first, network, titles, faulted.signs[first.fault.name])
                for each in others:
                    yield wrapped(f"and in the same way: {each.fault.title}", first="    ", rest="      ")
    harmless = [each for each in faulted.outcomes if each.severity is None]
    if harmless and everything:
        yield from section(f"NO EFFECT that the rules can see: {len(harmless)}")
        for each in harmless:
            yield wrapped(each.fault.title, first="  - ")
    elif harmless:
        yield ""
        yield wrapped(f"No effect that the rules can see: {count(len(harmless), 'fault')}; --all lists them.")
    yield from section("CAUTIONS")
    for text in cautions(job.target, job.fuel):
        yield wrapped(text, first="  - ")


def _verdict(faulted: Faulted) -> str:
    by = [sum(1 for each in faulted.outcomes if each.severity is severity) for severity in (*Severity, None)]
    stops, fixes, advice, none = by
    tried = f"{count(len(faulted.outcomes), 'single fault')} tried in {count(len(faulted.titles), 'state')}"
    return f"{tried}: {stops} to stop for, {fixes} that do harm in time, {advice} to know of, {none} without effect."
