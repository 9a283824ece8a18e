"""Cheap changes after which a dangerous fault is none any more."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import combinations

from boostcarb.bench import Bench
from boostcarb.faults.catalogue import Fault
from boostcarb.faults.outcome import Outcome, Relief, outcome
from boostcarb.faults.spill import spills
from boostcarb.findings import Severity
from boostcarb.network.model import AMBIENT, LATENT, Configuration
from boostcarb.planning.problem import Choice
from boostcarb.rulebook.judging import Judged, findings_in

CHEAP_MINUTES = 120
"""Changes that take longer than this together are no small ones (assumption)."""

PAIRS_TRIED = 120
"""Most pairs of changes tried for one fault."""


def with_relief(bench: Bench, configuration: Configuration, found: Outcome) -> Outcome:
    """The outcome with the cheapest change, or else pair of changes, that takes its worst harm away, if there is one.
    """
    whole = {**bench.network.found(), **configuration}
    healthy = bench.judge.each(whole)
    failing = _failing(bench, healthy, whole, found.fault)
    singles = sorted(_candidates(bench, whole, found), key=_price)
    pairs = [_both(a, b) for a, b in combinations(singles, 2) if a.choices[0].item != b.choices[0].item]
    cheap = sorted((pair for pair in pairs if pair.minutes <= CHEAP_MINUTES), key=_price)[:PAIRS_TRIED]
    for relief in (*singles, *cheap):
        changed = {**whole, **{choice.item: choice.option for choice in relief.choices}}
        if _promising(bench, changed, found, failing) and _helps(
            bench, changed, relief.choices, healthy, found
        ):
            return replace(found, relief=relief)
    return found


def _price(relief: Relief) -> tuple[bool, int, int, tuple[Choice, ...]]:
    return relief.irreversible, relief.minutes, relief.parts, relief.choices


def _both(a: Relief, b: Relief) -> Relief:
    return Relief(
        (*a.choices, *b.choices), a.minutes + b.minutes, a.parts + b.parts, a.irreversible or b.irreversible
    )


def _failing(bench: Bench, healthy: Judged, whole: Configuration, fault: Fault) -> frozenset[int]:
    """Instances of rules to stop for that fail with the fault alone: quick to judge again."""
    known = {finding.key for finding in findings_in(healthy)}
    return frozenset(
        each.instance
        for judged in bench.judge.each_with(healthy, {**whole, fault.item: fault.form}, fault.item)
        for each in judged
        if _bad(each.finding.severity) and each.finding.key not in known
    )


def _candidates(bench: Bench, whole: Configuration, found: Outcome) -> Iterator[Relief]:
    """Single changes that could touch the fault, with their price."""
    network = bench.network
    for name in sorted(_touching(bench, found)):
        item = network.items[name]
        for form, data in item.forms.items():
            labor = data.labor
            if labor is None or form == whole[name] or labor.minutes > CHEAP_MINUTES:
                continue
            if data.goes_with(whole):
                yield Relief((Choice(name, form),), labor.minutes, labor.parts, labor.irreversible)


def _touching(bench: Bench, found: Outcome) -> frozenset[str]:
    """Items that the harm of a fault hangs on: scopes of the rules that fail, and what lies on the way of the fuel."""
    rules = {each.finding.rule for each in found.consequences if each.finding is not None and _bad(each.severity)}
    names = {
        name
        for index, instance in enumerate(bench.judge.instances)
        if instance.rule.id in rules and instance.rule.requirement.kind != "isolated"
        for name in bench.judge.scope(index)
    }
    ways = {way.name: way for way in bench.network.ways}
    paths = [each.spill.path for each in found.consequences if each.spill is not None]
    paths += [each.finding.witness.path for each in found.consequences if each.finding is not None]
    for path in paths:
        for step in path:
            if step.way not in ways:
                continue  # through the engine's own air path, which nobody changes
            names.update(item for item, _ in ways[step.way].conditions)
            names.update(item for end in (ways[step.way].a, ways[step.way].b) for item in _at(bench, end))
    return frozenset(name for name in names if bench.network.items[name].kind != LATENT and name != found.fault.item)


def _at(bench: Bench, space: str) -> Iterator[str]:
    """Items of the ways at a space that is no source: there the fuel could be led elsewhere."""
    if not bench.network.spaces[space].source:
        for way in bench.network.ways_of[space]:
            yield from (item for item, _ in way.conditions)


def _bad(severity: Severity) -> bool:
    return severity is Severity.stop


def _promising(bench: Bench, changed: Configuration, found: Outcome, failing: frozenset[int]) -> bool:
    """Whether the rules that failed hold with the fault and the change, and no fuel runs out: quick to tell."""
    failed = {**changed, found.fault.item: found.fault.form}
    if any(bench.judge.fails(index, failed) for index in failing):
        return False
    return not any(spill.backward or spill.into == AMBIENT for spill in spills(bench.view(failed), found.fault))


def _helps(
    bench: Bench, changed: Configuration, choices: Iterable[Choice], healthy: Judged, found: Outcome
) -> bool:
    """Whether choices, made in `changed`, harm nothing in health, and leave of the fault nothing to stop for."""
    known = {finding.key for finding in findings_in(healthy)}
    sound = bench.judge.each_with(healthy, changed, *(choice.item for choice in choices))
    if any(finding.blocks and finding.key not in known for finding in findings_in(sound)):
        return False
    left = outcome(bench, changed, sound, found.fault)
    return not any(_bad(each.severity) for each in left.consequences)
