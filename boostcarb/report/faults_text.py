"""Single faults as text: what each brings, where first, what the driver notices, what the bench reveals."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from boostcarb.answers import Faulted
from boostcarb.faults.outcome import Consequence, Outcome, Relief
from boostcarb.findings import Severity
from boostcarb.network.model import Network
from boostcarb.report.cautions import cautions
from boostcarb.report.plan_text import own_lines, section
from boostcarb.report.wording import DANGERS, MODES, count, form_text, minutes, path_text, wrapped

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
            for first, *alike in _alike(of_this):
                yield from outcome_lines(first, network, titles, faulted.signs[first.fault.name])
                for each in alike:
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


def _alike(outcomes: Iterable[Outcome]) -> list[list[Outcome]]:
    """Faults of the barrel groups that bring the same, together; in the order of the first of each."""
    groups: dict[object, list[Outcome]] = {}
    for each in outcomes:
        rules = tuple(dict.fromkeys(one.finding.rule for one in each.consequences if one.finding is not None))
        key = (each.fault.item.partition(".")[2] or each.fault.item, each.fault.form, each.effects, rules)
        groups.setdefault(key, []).append(each)
    return list(groups.values())


def _verdict(faulted: Faulted) -> str:
    by = [sum(1 for each in faulted.outcomes if each.severity is severity) for severity in (*Severity, None)]
    stops, fixes, advice, none = by
    tried = f"{count(len(faulted.outcomes), 'single fault')} tried in {count(len(faulted.titles), 'state')}"
    return f"{tried}: {stops} to stop for, {fixes} that do harm in time, {advice} to know of, {none} without effect."


def outcome_lines(
    outcome: Outcome, network: Network, titles: Mapping[str, str], signs: tuple[str, str], indent: str = "  "
) -> Iterator[str]:
    """One fault as a person reads it: what it does and where first, what shows it, what would rid one of it."""
    inner, rest = indent + "  ", indent + "    "
    worst = outcome.consequences[0]
    dangers = " and ".join(DANGERS[each] for each in worst.endangers)
    yield wrapped(outcome.fault.title, first=indent, rest=rest)
    yield wrapped(f"{', '.join(outcome.effects)} ({dangers}); first: {_first(worst, titles)}", first=inner, rest=rest)
    yield from _evidence(outcome, network, titles, inner, rest)
    noticed, revealed = signs
    yield wrapped(f"driver: {noticed}", first=inner, rest=rest)
    yield wrapped(f"bench: {revealed}", first=inner, rest=rest)
    if outcome.relief is not None:
        yield wrapped(relief_text(outcome.relief, network), first=inner, rest=rest)


def relief_text(relief: Relief, network: Network) -> str:
    """A change that takes the worst of a fault away, with its price."""
    item = network.items[relief.choice.item]
    price = f"{minutes(relief.minutes)}, {count(relief.parts, 'part')}, strip-down not counted"
    price += ", CANNOT BE UNDONE" if relief.irreversible else ""
    return f"no more with: {item.title}: {form_text(network, item.name, relief.choice.option)} ({price})"


def _evidence(
    outcome: Outcome, network: Network, titles: Mapping[str, str], inner: str, rest: str
) -> Iterator[str]:
    """The way of the fuel or of the worst finding, then the rules that fail."""
    for each in outcome.consequences:
        if each.spill is not None:
            spill = each.spill
            from_ = titles[spill.states[0]] if spill.states else "whenever fuel stands there"
            what = "blown into the bowl, out of its vents" if spill.backward else "fuel runs"
            way = path_text(spill.start, spill.path, network)
            yield wrapped(f"{what}: {way}; from: {from_}", first=inner, rest=rest)
    findings = [each.finding for each in outcome.consequences if each.finding is not None]
    shown = next((each for each in findings if each.witness.path and each.witness.start), None)
    if shown is not None and shown.witness.start is not None:
        yield wrapped(f"path: {path_text(shown.witness.start, shown.witness.path, network)}", first=inner, rest=rest)
    for severity in Severity:
        rules = dict.fromkeys(each.rule for each in findings if each.severity is severity)
        if rules:
            yield wrapped(f"{severity.value}: {', '.join(rules)}", first=inner, rest=rest)


def _first(worst: Consequence, titles: Mapping[str, str]) -> str:
    return titles[worst.state] if worst.state is not None else "at once"
