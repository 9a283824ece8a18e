"""Plans and reviews of shipped scenarios, with a few things found otherwise."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import yaml

from boostcarb import pipeline
from boostcarb.answers import Planned, Reviewed
from boostcarb.bench import Bench
from boostcarb.description.job import Job
from boostcarb.description.library import ReadJob
from boostcarb.description.source import read_document, validate
from boostcarb.findings import Finding
from boostcarb.planning.search import Plan

SCENARIOS = Path(__file__).parents[2] / "scenarios"


def job(name: str, **changes: Any) -> dict[str, Any]:
    """A scenario with other sections; `found` adds to what the scenario found."""
    said = yaml.safe_load((SCENARIOS / f"{name}.yaml").read_text(encoding="utf-8"))
    found = {**said.get("found", {}), **changes.pop("found", {})}
    return {**said, **changes, "found": found}


def bench(said: dict[str, Any]) -> Bench:
    """A job ready to be judged."""
    document = read_document(Path("job.yaml"), text=yaml.safe_dump(said))
    return pipeline.set_up(ReadJob(document, validate(Job, document)))


def plan(said: dict[str, Any]) -> Planned:
    """The plan of a job."""
    return pipeline.plan(bench(said), alternatives=0)


def changes(planned: Planned) -> dict[str, str]:
    """The changes of a plan: item and form."""
    assert isinstance(planned.outcome, Plan), [failure.reason for failure in planned.outcome.core]
    return {choice.item: choice.option for choice in planned.outcome.changes}


def needs(planned: Planned, item: str) -> set[str]:
    """Rules that come back when one change is left out."""
    (change,) = [choice for choice in planned.reasons if choice.item == item]
    reasons = (failure.reason for failure in planned.reasons[change])
    return {reason.rule for reason in reasons if isinstance(reason, Finding)}


def reviewed(said: dict[str, Any]) -> Reviewed:
    """What a review says of the changes proposed in a job."""
    document = read_document(Path("job.yaml"), text=yaml.safe_dump(said))
    return pipeline.review(ReadJob(document, validate(Job, document)))


def broken(said: dict[str, Any]) -> set[str]:
    """Rules that block the carburetor as found."""
    judged = bench(said)
    return {finding.rule for finding in judged.findings(judged.network.found()) if finding.blocks}
