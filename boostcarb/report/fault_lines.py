"""One fault as lines, and the few that a plan must name."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from boostcarb.answers import Faulted
from boostcarb.faults.outcome import Consequence, Outcome, Relief
from boostcarb.findings import Severity
from boostcarb.network.model import Network
from boostcarb.report.wording import DANGERS, count, form_text, minutes, path_text
from boostcarb.report.wrapping import wrapped

NAMED, NAMED_EACH = 6, 2
"""Most faults that a plan names, and most of one effect."""


def worst_fault_lines(faulted: Faulted) -> Iterator[str]:
    """The few single faults that matter most after the plan, and the changes that would rid one of them."""
    worst = alike(each for each in faulted.outcomes if each.severity is Severity.stop)
    if not worst:
        return
    stops = sum(map(len, worst))
    yield ""
    yield f"IF ONE THING FAILS  {count(stops, 'single fault')} would still be one to stop for"
    for group in _few(worst):
        yield from _named(group, faulted)
    yield wrapped("`boostcarb faults` with this job shows them all, with the way of the fuel.", first="  ")


def _few(groups: list[list[Outcome]]) -> list[list[Outcome]]:
    """No more than some of each effect, those with a cheap way out first; in the order of their rank."""
    by_effect: dict[str, list[list[Outcome]]] = {}
    for group in groups:
        by_effect.setdefault(group[0].effects[0], []).append(group)
    kept = []
    for of_this in by_effect.values():
        kept += sorted(of_this, key=lambda group: group[0].relief is None)[:NAMED_EACH]
    return [group for group in groups if group in kept][:NAMED]


def _named(group: list[Outcome], faulted: Faulted) -> Iterator[str]:
    first = group[0]
    worst = first.consequences[0]
    others = f", and {count(len(group) - 1, 'more')} like it" if len(group) > 1 else ""
    first_state = faulted.titles[worst.state] if worst.state is not None else "at once"
    text = f"{first.fault.title}{others}: {', '.join(first.effects)}; first: {first_state}"
    yield wrapped(text, first="  - ")
    if first.relief is not None:
        yield wrapped(relief_text(first.relief, faulted.bench.network), first="      ", rest="        ")


def alike(outcomes: Iterable[Outcome]) -> list[list[Outcome]]:
    """Faults of the barrel groups that bring the same, together; in the order of the first of each."""
    groups: dict[object, list[Outcome]] = {}
    for each in outcomes:
        rules = tuple(dict.fromkeys(one.finding.rule for one in each.consequences if one.finding is not None))
        key = (each.fault.item.partition(".")[2] or each.fault.item, each.fault.form, each.effects, rules)
        groups.setdefault(key, []).append(each)
    return list(groups.values())


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
    """What takes the worst of a fault away, with its price."""
    changes = "; and ".join(
        f"{network.items[each.item].title}: {form_text(network, each.item, each.option)}" for each in relief.choices
    )
    price = f"{minutes(relief.minutes)}, {count(relief.parts, 'part')}, strip-down not counted"
    price += ", CANNOT BE UNDONE" if relief.irreversible else ""
    return f"no more with: {changes} ({price})"


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
