"""Plans for the three base jobs, and for jobs with one thing wrong: they exist, suffice and need nothing more."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from boostcarb import pipeline
from boostcarb.answers import Planned
from boostcarb.errors import BadDescription
from boostcarb.network.model import INLINE
from boostcarb.planning.search import Plan

BASE = Path(__file__).parents[2] / "rules" / "examples" / "base"
TARGETS = ("naturally_aspirated", "blow_through", "draw_through")


def job_of(target: str, **sections: dict[str, Any]) -> dict[str, Any]:
    job = yaml.safe_load((BASE / f"{target}.yaml").read_text())
    return {**job, **{name: {**job.get(name, {}), **section} for name, section in sections.items()}}


def planned(folder: Path, job: dict[str, Any]) -> Planned:
    path = folder / "job.yaml"
    path.write_text(yaml.safe_dump(job))
    return pipeline.plan(pipeline.set_up(pipeline.load(path)), alternatives=0)


def changes_of(result: Planned) -> dict[str, str]:
    assert isinstance(result.outcome, Plan), [failure.reason for failure in result.outcome.core]
    return {choice.item: choice.option for choice in result.outcome.changes}


def with_changes(job: dict[str, Any], changes: dict[str, str]) -> dict[str, Any]:
    """The job after the work: what was changed is what is found."""
    found = dict(job["found"])
    for item, form in changes.items():
        if item.endswith(INLINE):
            found[item] = form
        elif isinstance(found.get(item), dict) and "inline" in found[item]:
            found[item] = {"is": form, "inline": found[item]["inline"]}
        else:
            found[item] = form
    return {**job, "found": found}


def blocking(result: Planned) -> list[str]:
    return [finding.rule for finding in result.remaining if finding.blocks]


@pytest.mark.parametrize("target", TARGETS)
def test_plan_leaves_nothing_blocking_and_the_planned_job_needs_nothing(target: str, tmp_path: Path) -> None:
    job = job_of(target)
    first = planned(tmp_path, job)
    changes = changes_of(first)
    assert blocking(first) == []
    again = planned(tmp_path, with_changes(job, changes))
    assert changes_of(again) == {}
    assert [f.rule for f in again.as_found] == [f.rule for f in first.remaining]


def test_a_sound_carburetor_without_boost_needs_nothing(tmp_path: Path) -> None:
    result = planned(tmp_path, job_of("naturally_aspirated"))
    assert changes_of(result) == {}
    assert result.as_found == []


def test_every_change_of_a_plan_has_its_reason(tmp_path: Path) -> None:
    for target in TARGETS[1:]:
        result = planned(tmp_path, job_of(target))
        assert isinstance(result.outcome, Plan)
        assert set(result.reasons) == set(result.outcome.changes)
        assert all(result.reasons.values())


def test_blow_through_switches_the_power_valve_reference(tmp_path: Path) -> None:
    changes = changes_of(planned(tmp_path, job_of("blow_through")))
    assert changes["primary.power_valve_reference_line"] == "switched"
    assert changes["primary.power_valve_vacuum_passage"] == "plugged"
    assert changes["primary.reference_check"] == "fitted"
    assert changes["regulator.reference_line"] == "air_horn"
    assert "primary.main_jets" not in changes


def test_draw_through_refers_the_power_valve_to_after_the_compressor(tmp_path: Path) -> None:
    changes = changes_of(planned(tmp_path, job_of("draw_through")))
    assert changes["primary.power_valve_reference_line"] == "manifold"
    assert changes["primary.power_valve_vacuum_passage"] == "plugged"
    assert changes["primary.reference_check"] == "fitted"
    assert "regulator.reference_line" not in changes
    assert not any(item.endswith((".throttle_shaft", ".float", ".pump")) for item in changes)


def test_there_and_back_again(tmp_path: Path) -> None:
    """A carburetor that was converted to blow-through can be brought back."""
    there = changes_of(planned(tmp_path, job_of("blow_through")))
    boosted_only = {"bonnet_fixing", "boost_limit", "ignition_retard"}
    found = {item: form for item, form in there.items() if item not in boosted_only}
    back = planned(tmp_path, job_of("naturally_aspirated", found={"fuel_pump": "electric", **found}))
    changes = changes_of(back)
    assert blocking(back) == []
    assert changes["secondary.main_jets"] == "for_wide_open"
    assert changes.keys().isdisjoint({"primary.throttle_shaft", "secondary.throttle_shaft"})


@pytest.mark.parametrize(
    ("altitude", "boost"), [("0 m", "3 psi"), ("0 m", "20 psi"), ("2000 m", "8 psi"), ("3000 m", "14 psi")]
)
@pytest.mark.parametrize("target", TARGETS[1:])
def test_plan_exists_at_any_boost_and_altitude(target: str, altitude: str, boost: str, tmp_path: Path) -> None:
    result = planned(tmp_path, job_of(target, charge={"boost": boost}, site={"altitude": altitude}))
    assert changes_of(result)
    assert blocking(result) == []


def forms_alone(target: str) -> list[tuple[str, str]]:
    """Every item with each form other than the one it is found in."""
    path = BASE / f"{target}.yaml"
    items = pipeline.set_up(pipeline.load(path)).network.items
    return [(name, form) for name, item in items.items() for form in item.forms if form != item.found]


@pytest.mark.parametrize("target", TARGETS)
def test_every_single_fault_has_a_cure(target: str, tmp_path: Path) -> None:
    """Whatever one thing is found in another form, a plan exists: each blocking rule has a reachable cure."""
    tried = 0
    for item, form in forms_alone(target)[:: 2 if target == "naturally_aspirated" else 15]:
        job = job_of(target, found={item: form})
        path = tmp_path / "job.yaml"
        path.write_text(yaml.safe_dump(job))
        read = pipeline.load(path)
        try:
            bench = pipeline.set_up(read)
        except BadDescription:
            continue  # a part that only goes with another form of a second part
        outcome = pipeline.plan(bench, alternatives=0).outcome
        assert isinstance(outcome, Plan), (item, form)
        tried += 1
    assert tried > 12
