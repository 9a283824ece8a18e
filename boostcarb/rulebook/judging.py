"""Judging a configuration by the rules: each rule at each of its places, each judged once for what it hangs on."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from boostcarb.findings import Finding, NotJudged, Severity, ordered
from boostcarb.network.model import Configuration, Network
from boostcarb.network.remembering import Remembered
from boostcarb.rulebook import (
    areas,
    contents,
    enrichment,
    forms,
    lag,
    margins,
    mixture,
    pressure,
    reach,
    schema,
    valves,
)
from boostcarb.rulebook.kind import Kind, Place
from boostcarb.rulebook.unjudged import not_judged
from boostcarb.rulebook.view import Breach, Mixtures, Reachable, View
from boostcarb.solving.situation import Situations

KINDS: dict[str, type[Kind[Any]]] = {
    "isolated": reach.Isolated,
    "connected": reach.Connected,
    "guarded": reach.Guarded,
    "equal_pressure": pressure.EqualPressure,
    "follows_source": pressure.FollowsSource,
    "one_reference": pressure.OneReference,
    "enriched": enrichment.Enriched,
    "not_enriched": enrichment.NotEnriched,
    "enriched_once": enrichment.EnrichedOnce,
    "mixture": mixture.Mixture,
    "opens": valves.Opens,
    "within_limit": valves.WithinLimit,
    "setting_margin": valves.SettingMargin,
    "margin": margins.Margin,
    "form": forms.FormRequired,
    "suits_fuel": forms.SuitsFuel,
    "area_ratio": areas.AreaRatio,
    "free_of": contents.FreeOf,
    "follows_in_time": lag.FollowsInTime,
    "looked_at": forms.LookedAt,
}


LOOKED_AT = "looked_at"
NO_CHANGE_CURES = frozenset({LOOKED_AT, "margin", "area_ratio"})
"""Kinds that no change of a passage, part or line cures: somebody must look, or fit another size."""


@dataclass(frozen=True, slots=True)
class Judgement:
    """One finding with what the planner needs: the cure, if known, and the scope it hangs on."""

    finding: Finding
    instance: int
    cure: frozenset[tuple[str, str]] | None


Judged = tuple[tuple[Judgement, ...], ...]
"""What each instance finds."""


def findings_in(judged: Judged) -> list[Finding]:
    """The findings of all instances, worst first."""
    return ordered([judgement.finding for found in judged for judgement in found])


@dataclass(frozen=True)
class Instance:
    """One rule at one place."""

    rule: schema.Rule
    requirement: Kind[Any]
    place: Place

    @cached_property
    def scope(self) -> tuple[str, ...]:
        """The items that its verdict hangs on, whatever the configuration."""
        reachable = self.requirement.reachable
        scope = self.requirement.scope(reachable.network, self.place) | reachable.movable(self.rule.when)
        return tuple(sorted(scope))


def _applies(rule: schema.Rule, configuration: Configuration) -> bool:
    return all(configuration[item] in allowed for item, allowed in rule.when.items())


class Judge:
    """Judges configurations of one network by the rules that apply to its mode and family."""

    def __init__(
        self,
        network: Network,
        situations: Situations,
        rules: Iterable[schema.Rule],
        *,
        mode: str,
        family: str,
        accepted: Iterable[str] = (),
        mixtures: Mixtures | None = None,
        every_form: bool = False,
    ) -> None:
        self.network = network
        self.situations = situations
        self.reachable = Reachable(network, every_form=every_form)
        self.accepted = frozenset(accepted)
        self.mixtures = mixtures
        self.rules = tuple(self._applying(rules, mode, family))
        self.instances = tuple(self._instances())
        self._judged = tuple(Remembered[tuple[Judgement, ...]]() for _ in self.instances)
        self._failing = tuple(Remembered[bool]() for _ in self.instances)
        self._near = tuple(Remembered[tuple[str, ...]]() for _ in self.instances)

    def _applying(self, rules: Iterable[schema.Rule], mode: str, family: str) -> Iterator[schema.Rule]:
        for rule in sorted(rules, key=lambda rule: rule.id):
            if mode not in rule.modes or (rule.families != "any" and family not in rule.families):
                continue
            if rule.fuels != "any" and self.situations.job.fuel not in rule.fuels:
                continue
            if any(item not in self.network.items for item in rule.when):
                continue
            yield rule

    def _instances(self) -> Iterator[Instance]:
        for rule in self.rules:
            requirement = KINDS[rule.requirement.kind](rule.requirement, self.reachable)
            for place in requirement.places(self.network):
                if rule.not_in_a_box and self._in_a_box(place[0]):
                    continue
                yield Instance(rule, requirement, place)

    def _in_a_box(self, name: str) -> bool:
        """Whether an item or a space stands in a pressure box."""
        network = self.network
        there = network.items.get(name) or network.spaces.get(name)
        return there is not None and there.casting in network.boxed

    def not_judged(self) -> tuple[NotJudged, ...]:
        """What the rules that apply leave unjudged because the job does not say enough."""
        return tuple(not_judged(self.rules, self.network, self.situations.job))

    def findings(self, configuration: Configuration) -> list[Finding]:
        """Every finding of a configuration, worst first."""
        return ordered([judgement.finding for judgement in self.judgements(configuration)])

    def each(self, configuration: Configuration) -> Judged:
        """What every instance finds in a configuration, in the order of the instances."""
        view = View(self.network, configuration, self.situations, self.mixtures)
        return tuple(self._judge(index, view) for index in range(len(self.instances)))

    def each_with(self, before: Judged, configuration: Configuration, *items: str) -> Judged:
        """The same where some items have changed since: only the instances that hang on these are judged again."""
        view = View(self.network, configuration, self.situations, self.mixtures)
        again = frozenset().union(*(self._hanging.get(item, ()) for item in items))
        return tuple(self._judge(index, view) if index in again else found for index, found in enumerate(before))

    @cached_property
    def effects(self) -> dict[str, schema.Effect | None]:
        """What a carburetor does that breaks a rule, by the rule's id."""
        return {rule.id: rule.effect for rule in self.rules}

    @cached_property
    def _hanging(self) -> dict[str, frozenset[int]]:
        """Instances by the items that their verdicts hang on."""
        hanging: dict[str, set[int]] = {}
        for index, instance in enumerate(self.instances):
            for item in instance.scope:
                hanging.setdefault(item, set()).add(index)
        return {item: frozenset(indices) for item, indices in hanging.items()}

    def judgements(self, configuration: Configuration, *, blocking: bool = False) -> list[Judgement]:
        """Every finding with its cure; with `blocking`, only those that a change must cure."""
        view = View(self.network, configuration, self.situations, self.mixtures)
        found: list[Judgement] = []
        for index, instance in enumerate(self.instances):
            if blocking and not self.curable(instance.rule):
                continue
            found += self._judge(index, view)
        return found

    def fails(self, index: int, configuration: Configuration) -> bool:
        """Whether one instance fails in a configuration."""

        def look() -> tuple[tuple[str, ...], bool]:
            instance = self.instances[index]
            view = View(self.network, configuration, self.situations, self.mixtures)
            fails = _applies(instance.rule, configuration) and instance.requirement.fails(view, instance.place)
            return self.scope_near(index, configuration), fails

        return self._failing[index].at(configuration, look)

    def scope(self, index: int) -> tuple[str, ...]:
        """The items that an instance hangs on."""
        return self.instances[index].scope

    def scope_near(self, index: int, configuration: Configuration) -> tuple[str, ...]:
        """The items of which one must change before an instance can be judged otherwise than in a configuration."""

        def look() -> tuple[frozenset[str], tuple[str, ...]]:
            items = self._scope_near(self.instances[index], configuration)
            return items, tuple(sorted(items))

        return self._near[index].at(configuration, look)

    def _scope_near(self, instance: Instance, configuration: Configuration) -> frozenset[str]:
        near = instance.requirement.near(configuration, instance.place)
        return near | self.reachable.movable(instance.rule.when)

    def curable(self, rule: schema.Rule) -> bool:
        """Whether a finding of the rule blocks and a change can cure it: looking is not a change, nor another size."""
        blocks = rule.severity != Severity.advise and rule.id not in self.accepted
        return blocks and rule.requirement.kind not in NO_CHANGE_CURES

    def _judge(self, index: int, view: View) -> tuple[Judgement, ...]:
        def look() -> tuple[Iterable[str], tuple[Judgement, ...]]:
            instance = self.instances[index]
            rule, breaches = instance.rule, instance.requirement.breaches(view, instance.place)
            found = tuple(
                Judgement(self._finding(rule, breach), index, self._cure(rule, breach, view))
                for breach in (breaches if _applies(rule, view.configuration) else ())
            )
            far = instance.requirement.far
            return instance.scope if far else self._scope_near(instance, view.configuration), found

        return self._judged[index].at(view.configuration, look)

    def _cure(self, rule: schema.Rule, breach: Breach, view: View) -> frozenset[tuple[str, str]] | None:
        if breach.cure is None:
            return None
        otherwise = {
            (item, form)
            for item, allowed in rule.when.items()
            for form in self.reachable.others(item, view.configuration)
            if form not in allowed
        }
        return breach.cure | otherwise

    def _finding(self, rule: schema.Rule, breach: Breach) -> Finding:
        return Finding(
            rule=rule.id,
            title=rule.title,
            severity=Severity(rule.severity),
            endangers=tuple(rule.endangers),
            place=breach.place,
            place_title=breach.place_title,
            statement=breach.statement,
            state=breach.state,
            states=breach.states,
            witness=breach.witness,
            remedy=" ".join(rule.remedy.split()),
            rule_is_about_looking=rule.requirement.kind == LOOKED_AT,
            accepted=rule.id in self.accepted,
        )
