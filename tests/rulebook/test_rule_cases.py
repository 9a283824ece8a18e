"""Every rule against its examples: carburetors that break it and carburetors that do not."""

from __future__ import annotations

import json

import pytest

from boostcarb.description.library import SHIPPED
from boostcarb.examples import Example, Worked, examples_of, work_out
from boostcarb.findings import Finding
from boostcarb.rulebook.loading import shipped_rules

ALL = tuple(example for rule in shipped_rules() for example in examples_of(rule.id, SHIPPED))
_FOUND: dict[str, tuple[Worked, tuple[Finding, ...]]] = {}


def findings_of(example: Example) -> Worked:
    """What a rule finds in an example; examples that share a job share the work."""
    job = json.dumps(example.read.document.data, sort_keys=True)
    if job not in _FOUND:
        worked = work_out(example)
        _FOUND[job] = (worked, tuple(worked.bench.findings(worked.bench.network.found())))
    worked, findings = _FOUND[job]
    return Worked(example, worked.bench, tuple(finding for finding in findings if finding.rule == example.rule))


def name(example: Example) -> str:
    kind = "breaks" if example.kind == "violates" else "keeps"
    return f"{example.rule}-{kind}-{example.entry.target}-{example.entry.says[:40]}"


@pytest.mark.parametrize("example", ALL, ids=name)
def test_rule_finds_what_its_example_says(example: Example) -> None:
    assert findings_of(example).surprise is None


@pytest.mark.parametrize("example", [each for each in ALL if each.kind == "violates"], ids=name)
def test_finding_says_what_to_do_and_shows_why(example: Example) -> None:
    for finding in findings_of(example).findings:
        assert finding.statement
        assert finding.remedy
        witness = finding.witness
        assert witness.path or witness.readings or witness.items, finding
