"""One configuration in all states, as a page shows it: pressures, valves, what flows, mixture, findings."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping

from boostcarb.board.passages import ways_record
from boostcarb.board.question import Record
from boostcarb.board.study import Asked, Study
from boostcarb.errors import BadDescription, NotSolved
from boostcarb.findings import Finding, Severity
from boostcarb.network.model import Configuration, Network
from boostcarb.quantities import UnitSystem
from boostcarb.report.wording import quantity_text, reading_text


def answer_record(study: Study, asked: Asked) -> Record:
    """What a configuration is and does. Pressures in Pa absolute, differences in Pa, flow in kg/s.

    Where it cannot be, or its air path does not balance, `refused` stands instead of any number.

    Raises: BadDescription for an unknown mode, base, item or form; NotSolved where the base itself has no answer.
    """
    configuration = study.configuration(asked)
    bench = study.bench(asked.mode)
    network = bench.network
    found = network.found()
    record: Record = {
        "mode": asked.mode,
        "base": asked.base,
        "changes": dict(asked.changes),
        "configuration": {item: form for item, form in configuration.items() if form != found[item]},
        "ways": ways_record(network, configuration),
    }
    sound = study.sound_findings(asked)
    clash = next(clashes(network, configuration, asked.changes), None)
    if clash is not None:
        return record | {"refused": {"what": clash, "why": "take one of the two back"}}
    try:
        return record | _solved(study, asked.mode, configuration, sound)
    except (NotSolved, BadDescription) as error:
        return record | {"refused": {"what": str(error), "why": "this cannot be worked out; take the last change back"}}


def clashes(network: Network, configuration: Configuration, changes: Iterable[str]) -> Iterator[str]:
    """Changes that do not go together with something else, in words."""
    for item in changes:
        form = network.items[item].forms[configuration[item]]
        for other, forms in form.not_with:
            if configuration[other] in forms:
                also = network.items[other]
                yield (
                    f"{network.items[item].title}: {form.title} does not go with "
                    f"{also.title}: {also.forms[configuration[other]].title}"
                )


def _solved(study: Study, mode: str, configuration: Configuration, sound: Iterable[Finding]) -> Record:
    bench = study.bench(mode)
    states = study.states(mode, configuration)
    findings = bench.findings(configuration)
    known, now = ({key_of(each): each for each in group} for group in (sound, findings))
    severities = Counter(each.severity.value for each in findings if not each.accepted)
    rules = {rule.id: " ".join(rule.why.split()) for rule in bench.judge.rules}

    def said(finding: Finding) -> Record:
        return finding_record(finding, bench.network) | {"why": rules[finding.rule]}

    return {
        "states": states,
        "findings": {key: said(each) | ({} if key in known else {"new": True}) for key, each in now.items()},
        "gone": {key: said(each) for key, each in known.items() if key not in now},
        "verdict": {severity.value: severities[severity.value] for severity in Severity},
    }


def key_of(finding: Finding) -> str:
    """The identity of a finding across configurations, as one word."""
    rule, place, path = finding.key
    return "|".join((rule, place, *(step.way for step in path)))


def finding_record(finding: Finding, network: Network) -> Record:
    """A finding in words, with the spaces and ways that show it."""
    witness = finding.witness
    quantity = witness.quantity
    shown = [reading_text(each, network, UnitSystem.METRIC) for each in witness.readings]
    if quantity is not None:
        shown.insert(0, quantity_text(quantity, network, UnitSystem.METRIC))
    spaces = [step.into for step in witness.path] + [reading.space for reading in witness.readings]
    if witness.start is not None:
        spaces.insert(0, witness.start)
    record: Record = {
        "rule": finding.rule,
        "severity": finding.severity.value,
        "title": finding.title,
        "place": finding.place_title,
        "states": list(finding.states),
        "remedy": finding.remedy,
        "endangers": list(finding.endangers),
        "spaces": [name for name in dict.fromkeys(spaces) if name in network.spaces],
        "ways": [step.way for step in witness.path],
        "items": [item for item, _ in witness.items],
    }
    named: Mapping[str, object] = {
        "statement": finding.statement,
        "state": finding.state,
        "shown": shown,
        "looking": finding.rule_is_about_looking,
        "accepted": finding.accepted,
    }
    return record | {key: value for key, value in named.items() if value}
