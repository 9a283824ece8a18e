"""Cheap changes after which a dangerous fault is none any more."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from boostcarb.bench import Bench
from boostcarb.faults.outcome import Outcome, Relief, outcome
from boostcarb.findings import Finding, Severity
from boostcarb.network.model import Configuration
from boostcarb.planning.problem import Choice

CHEAP_MINUTES = 120
"""A change that takes longer than this is no small one (assumption)."""


def with_relief(bench: Bench, configuration: Configuration, found: Outcome) -> Outcome:
    """The outcome with the cheapest single change that takes its worst harm away, if there is one."""
    whole = {**bench.network.found(), **configuration}
    healthy = bench.findings(whole)
    failed = {**whole, found.fault.item: found.fault.form}
    failing = _failing(bench, healthy, failed)
    for _, choice, relief in sorted(_candidates(bench, whole, found), key=lambda each: each[0]):
        still = any(bench.judge.fails(index, {**failed, choice.item: choice.option}) for index in failing)
        if not still and _helps(bench, whole, healthy, found, choice):
            return replace(found, relief=relief)
    return found


def _failing(bench: Bench, healthy: Sequence[Finding], failed: Configuration) -> frozenset[int]:
    """Instances of rules to stop for that fail with the fault alone: quick to judge again."""
    known = {finding.key for finding in healthy}
    return frozenset(
        each.instance
        for each in bench.judge.judgements(failed)
        if _bad(each.finding.severity) and each.finding.key not in known
    )


def _candidates(
    bench: Bench, whole: Configuration, found: Outcome
) -> Iterator[tuple[tuple[bool, int, int, str, str], Choice, Relief]]:
    """Single changes that could touch the fault, with their price, cheapest first when sorted."""
    network = bench.network
    for name in sorted(_touching(bench, found)):
        item = network.items[name]
        for form, data in item.forms.items():
            labor = data.labor
            if labor is None or form == whole[name] or labor.minutes > CHEAP_MINUTES:
                continue
            if any(whole[other] in forms for other, forms in data.not_with):
                continue
            relief = Relief(Choice(name, form), labor.minutes, labor.parts, labor.irreversible)
            yield (labor.irreversible, labor.minutes, labor.parts, name, form), relief.choice, relief


def _touching(bench: Bench, found: Outcome) -> frozenset[str]:
    """Items that the harm of a fault hangs on: scopes of the rules that fail, and what lies on the way of the fuel."""
    rules = {each.finding.rule for each in found.consequences if each.finding is not None and _bad(each.severity)}
    names = {
        name
        for index, instance in enumerate(bench.judge.instances)
        if instance.rule.id in rules
        for name in bench.judge.scope(index)
    }
    ways = {way.name: way for way in bench.network.ways}
    for each in found.consequences:
        for step in each.spill.path if each.spill is not None else ():
            names.update(item for item, _ in ways[step.way].conditions)
            names.update(item for end in (ways[step.way].a, ways[step.way].b) for item in _at(bench, end))
    return frozenset(name for name in names if bench.network.items[name].kind != "latent" and name != found.fault.item)


def _at(bench: Bench, space: str) -> Iterator[str]:
    """Items of the ways at a space that is no source: there the fuel could be led elsewhere."""
    if not bench.network.spaces[space].source:
        for way in bench.network.ways_of[space]:
            yield from (item for item, _ in way.conditions)


def _bad(severity: Severity) -> bool:
    return severity is Severity.stop


def _helps(
    bench: Bench, whole: Configuration, healthy: Sequence[Finding], found: Outcome, choice: Choice
) -> bool:
    """Whether a change harms nothing in health, and leaves of the fault nothing to stop for."""
    changed = {**whole, choice.item: choice.option}
    known = {finding.key for finding in healthy}
    sound = bench.findings(changed)
    if any(finding.blocks and finding.key not in known for finding in sound):
        return False
    left = outcome(bench, changed, sound, found.fault)
    return not any(_bad(each.severity) for each in left.consequences)
