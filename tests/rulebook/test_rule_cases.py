"""Every rule against the carburetors that break it and those that do not: one file of cases a rule."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import yaml

from boostcarb import pipeline
from boostcarb.findings import Finding

CASES = Path(__file__).parents[1] / "cases"
EXPECTED = ("place", "states")
Judged = Callable[[str], tuple[Finding, ...]]


@dataclass(frozen=True)
class Case:
    """One job, as changes to its target's base job, and whether it breaks the rule."""

    rule: str
    violates: bool
    says: str
    target: str
    job: str
    places: list[str] | None
    states: tuple[str, ...] | None

    @property
    def name(self) -> str:
        """What the test is called."""
        return f"{self.rule}-{'breaks' if self.violates else 'keeps'}-{self.target}-{self.says[:40]}"


def merged(base: Mapping[str, Any], changes: Mapping[str, Any]) -> dict[str, Any]:
    """The base job with a case's sections laid over it."""
    result = dict(base)
    for key, value in changes.items():
        is_section = isinstance(value, dict) and isinstance(base.get(key), dict)
        result[key] = {**base[key], **value} if is_section else value
    return result


def _several(value: str | list[str]) -> list[str]:
    return [value] if isinstance(value, str) else value


def read_cases() -> Iterator[Case]:
    """All cases of all files."""
    bases = {path.stem: yaml.safe_load(path.read_text()) for path in (CASES / "base").glob("*.yaml")}
    for path in sorted((CASES / "rules").glob("*.yaml")):
        data = yaml.safe_load(path.read_text())
        assert set(data) == {"rule", "violates", "satisfies"}, path
        assert data["rule"] == path.stem, path
        for kind in ("violates", "satisfies"):
            for entry in data[kind]:
                changes = {key: value for key, value in entry.items() if key not in ("says", "target", *EXPECTED)}
                yield Case(
                    rule=data["rule"],
                    violates=kind == "violates",
                    says=entry["says"],
                    target=entry["target"],
                    job=json.dumps(merged(bases[entry["target"]], changes)),
                    places=sorted(_several(entry["place"])) if "place" in entry else None,
                    states=tuple(entry["states"]) if "states" in entry else None,
                )


ALL_CASES = tuple(read_cases())


@pytest.fixture(scope="module")
def findings_of(tmp_path_factory: pytest.TempPathFactory) -> Judged:
    """Findings of a job as found; cases that share a job share the work."""
    folder = tmp_path_factory.mktemp("jobs")

    @cache
    def judged(job: str) -> tuple[Finding, ...]:
        path = folder / "job.yaml"
        path.write_text(job)
        bench = pipeline.set_up(pipeline.load(path))
        return tuple(bench.findings(bench.network.found()))

    return judged


@pytest.mark.parametrize("case", ALL_CASES, ids=lambda case: case.name)
def test_case(case: Case, findings_of: Judged) -> None:
    found = [finding for finding in findings_of(case.job) if finding.rule == case.rule]
    if not case.violates:
        assert [(finding.place, finding.statement, finding.states) for finding in found] == []
        return
    assert found, f"{case.rule} found nothing"
    if case.places is not None:
        assert sorted({finding.place for finding in found}) == case.places
    if case.states is not None:
        assert [finding.states for finding in found] == [case.states]


@pytest.mark.parametrize("case", [case for case in ALL_CASES if case.violates], ids=lambda case: case.name)
def test_finding_says_what_to_do_and_shows_why(case: Case, findings_of: Judged) -> None:
    for finding in findings_of(case.job):
        if finding.rule != case.rule:
            continue
        assert finding.statement
        assert finding.remedy
        witness = finding.witness
        assert witness.path or witness.readings or witness.items, finding
