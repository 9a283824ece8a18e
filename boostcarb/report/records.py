"""Results as plain data for JSON: versioned, complete, SI units, absolute pressures."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from boostcarb.answers import Faulted, Planned, ProposedChange, Reviewed, Traced
from boostcarb.bench import Bench, Doubt
from boostcarb.description.family import Family
from boostcarb.description.material import Material, Verdict
from boostcarb.errors import Problem
from boostcarb.findings import Finding, Severity, Step
from boostcarb.network.model import Network
from boostcarb.planning.problem import Choice, Excluded, Failure, Pin
from boostcarb.planning.search import Impossible, Plan
from boostcarb.report.cautions import cautions
from boostcarb.report.metering_records import plan_fuel_record
from boostcarb.rulebook.schema import Rule
from boostcarb.solving.table import StateRow

if TYPE_CHECKING:
    from boostcarb.examples import Checked, Worked
    from boostcarb.family_trial import FamilyCheck

VERSION = 1
Record = dict[str, Any]


def as_json(record: Record, *, lines: bool = False) -> str:
    """One JSON object: indented, or on one line. Never NaN or Infinity.

    What UTF-8 cannot write, in the name of a file, stands as its escape (RFC 8259, section 8.2).
    """
    text = json.dumps(record, indent=None if lines else 2, ensure_ascii=False, allow_nan=False)
    return text.encode("utf-8", "backslashreplace").decode("utf-8")


def schema_name(command: str) -> str:
    """The versioned name of a command's output.

    >>> schema_name("plan")
    'boostcarb.plan.v1'
    """
    return f"boostcarb.{command}.v{VERSION}"


def job_record(bench: Bench) -> Record:
    """What the answer is about."""
    job = bench.job
    return {
        "file": str(bench.read.document.path),
        "title": job.job,
        "carburetor": job.carburetor,
        "target": job.target,
        "fuel": job.fuel,
        **({"own_data": asdict(bench.own)} if bench.own is not None else {}),
    }


def plan_record(planned: Planned, faulted: Faulted | None = None) -> Record:
    """The answer of `plan`, with the single faults to stop for if they were tried."""
    bench = planned.bench
    network = bench.network
    outcome = planned.outcome
    record: Record = {
        "schema": schema_name("plan"),
        "job": job_record(bench),
        "clean": planned.clean,
        "changes": [],
        "findings": [finding_record(finding, network) for finding in planned.remaining],
        "findings_as_found": [finding_record(finding, network) for finding in planned.as_found],
        "not_looked_at": [doubt_record(doubt, network) for doubt in planned.doubts],
        "not_judged": [asdict(each) for each in bench.not_judged],
        "unusual_bores": [asdict(each) for each in bench.unusual_bores],
        "states": [state_record(row) for row in planned.states],
        "fuel": plan_fuel_record(planned.fueling),
        "assumptions": [asdict(assumed) for assumed in bench.defaults(planned.configuration)],
        "state_notes": {note: list(titles) for note, titles in bench.state_notes(planned.configuration).items()},
        "cautions": list(cautions(bench.job.target, bench.job.fuel)),
    }
    if faulted is not None:
        record["faults_to_stop_for"] = [
            {
                "fault": each.fault.name,
                "title": each.fault.title,
                "effects": list(each.effects),
                "first_state": each.consequences[0].state,
                "no_more_with": None if each.relief is None else asdict(each.relief),
            }
            for each in faulted.outcomes
            if each.severity is Severity.stop
        ]
    if isinstance(outcome, Plan):
        record["changes"] = [_change(network, change, planned.reasons[change]) for change in outcome.changes]
        record["strip_down"] = [{"stage": step, "title": network.stages[step].title} for step in outcome.steps]
        record["cost"] = asdict(outcome.cost)
        record["proof"] = {
            "lower_bound": asdict(outcome.proof.lower_bound),
            "rounds": outcome.proof.rounds,
            "clauses": outcome.proof.clauses,
        }
        record["alternatives"] = [
            {"cost": asdict(other.cost), "changes": [_choice(network, choice) for choice in other.changes]}
            for other in outcome.alternatives
        ]
        record["alternatives_complete"] = outcome.alternatives_complete
    else:
        record["impossible"] = _impossible(network, outcome)
    return record


def _choice(network: Network, choice: Choice) -> Record:
    item = network.items[choice.item]
    return {
        "item": item.name,
        "title": item.title,
        "kind": item.kind,
        "from": item.found,
        "to": choice.option,
        "to_title": item.forms[choice.option].title,
    }


def _change(network: Network, choice: Choice, reasons: Iterable[Failure]) -> Record:
    item = network.items[choice.item]
    labor = item.forms[choice.option].labor
    return {
        **_choice(network, choice),
        "how": labor.how if labor else None,
        "minutes": labor.minutes if labor else None,
        "parts": labor.parts if labor else None,
        "irreversible": labor.irreversible if labor else None,
        "stage": labor.stage if labor else None,
        "casting": item.casting,
        "looked_at": item.confirmed,
        "reasons": [_reason(reason, network) for reason in reasons],
    }


def _reason(failure: Failure, network: Network) -> Record:
    reason = failure.reason
    if isinstance(reason, Finding):
        return finding_record(reason, network)
    if isinstance(reason, Pin):
        return {"pin": reason.label}
    if isinstance(reason, Excluded):
        return {"cannot_go_together": [list(choice) for choice in sorted(reason.choices)]}
    raise TypeError(f"no record for a reason of type {type(reason).__name__}")


def _impossible(network: Network, outcome: Impossible) -> Record:
    return {
        "pins": [pin.label for pin in outcome.pins],
        "clash": [
            {**_reason(failure, network), "would_need": [_choice(network, c) for c in sorted(failure.clause)]}
            for failure in outcome.core
        ],
        "cannot_go_together": [[list(choice) for choice in sorted(each)] for each in outcome.exclusions],
        "release": [pin.label for pin in outcome.release],
        "plan_after_release": None
        if outcome.relaxed_plan is None
        else {
            "cost": asdict(outcome.relaxed_plan.cost),
            "changes": [_choice(network, choice) for choice in outcome.relaxed_plan.changes],
        },
    }


def finding_record(finding: Finding, network: Network) -> Record:
    """A finding with its witness."""
    witness = finding.witness
    quantity = witness.quantity
    return {
        "rule": finding.rule,
        "title": finding.title,
        "severity": finding.severity.value,
        "accepted": finding.accepted,
        "endangers": list(finding.endangers),
        "place": finding.place,
        "place_title": finding.place_title,
        "statement": finding.statement,
        "state": finding.state,
        "states": list(finding.states),
        "value": None if quantity is None else {"low": quantity.low, "high": quantity.high, "unit": quantity.unit},
        "limit": None if quantity is None else quantity.limit,
        "witness": {
            "quantity": None if quantity is None else quantity.name,
            "start": witness.start,
            "path": path_record(witness.path, network),
            "pressures": [asdict(reading) for reading in witness.readings],
            "items": [{"item": item, "form": form} for item, form in witness.items],
        },
        "remedy": finding.remedy,
    }


def path_record(path: Iterable[Step], network: Network) -> list[Record]:
    """A path: each way with the space it leads into."""
    titles = {way.name: way.title for way in network.ways}
    return [
        {
            "way": step.way,
            "way_title": titles.get(step.way, step.way),
            "into": step.into,
            "into_title": network.title_of(step.into),
        }
        for step in path
    ]


def doubt_record(doubt: Doubt, network: Network) -> Record:
    """An item nobody has looked at."""
    item = network.items[doubt.item]
    return {
        "item": item.name,
        "title": item.title,
        "stage": item.stage,
        "casting": item.casting,
        "look": item.look,
        "assumed": doubt.assumed,
        "if_otherwise": {form: sorted({f.rule for f in found}) for form, found in doubt.otherwise.items()},
    }


def state_record(row: StateRow) -> Record:
    """One operating state with all pressures and diaphragms."""
    return {
        "state": row.name,
        "title": row.title,
        "speed_rev_s": row.speed_rev_s,
        "mass_flow_kg_s": row.mass_flow_kg_s,
        "boosted": row.boosted,
        "needs_enrichment": row.needs_enrichment,
        "flowing_groups": list(row.flowing_groups),
        "pressures": {name: asdict(space) for name, space in row.spaces.items()},
        "diaphragms": {name: asdict(diaphragm) for name, diaphragm in row.diaphragms.items()},
    }


def review_record(reviewed: Reviewed) -> Record:
    """The answer of `review` for one job."""
    bench = reviewed.bench
    network = bench.network
    completed = reviewed.completed
    missing: list[Record] | None = []
    if completed is not None:
        missing = (
            [_change(network, c, completed.reasons[c]) for c in completed.outcome.changes]
            if isinstance(completed.outcome, Plan)
            else None
        )
    return {
        "schema": schema_name("review"),
        "job": job_record(bench),
        "clean": reviewed.clean,
        "mixture_judged": bench.judges_mixture,
        "findings": [finding_record(finding, network) for finding in reviewed.findings],
        "proposed": [_proposed(change, network) for change in reviewed.proposed],
        "missing": missing,
        "not_looked_at": [doubt_record(doubt, network) for doubt in reviewed.doubts],
        "not_judged": [asdict(each) for each in bench.not_judged],
    }


def _proposed(change: ProposedChange, network: Network) -> Record:
    return {
        "item": change.item,
        "from": change.before,
        "to": change.after,
        "verdict": change.verdict,
        "prevents": [finding_record(finding, network) for finding in change.prevents],
        "causes": [finding_record(finding, network) for finding in change.causes],
    }


def unread_record(file: str, problems: Iterable[Problem]) -> Record:
    """A job file that could not be read, in a review of many."""
    return {
        "schema": schema_name("review"),
        "job": {"file": file},
        "clean": False,
        "findings": [],
        "problems": [
            {
                "file": str(problem.file) if problem.file else file,
                "line": problem.line,
                "field": problem.field,
                "message": problem.message,
            }
            for problem in problems
        ],
    }


def trace_record(bench: Bench, traced: Traced) -> Record:
    """The answer of `trace`."""
    network = bench.network
    return {
        "schema": schema_name("trace"),
        "job": job_record(bench),
        "from": traced.start,
        "paths": [
            {
                "space": space,
                "title": network.title_of(space),
                "feels": found.reach.name,
                "path": path_record(found.path, network),
                "pressures": {row.name: asdict(row.spaces[space]) for row in traced.states if space in row.spaces},
                "contents": {state: list(held) for state, held in traced.contents[space].items()},
            }
            for space, found in traced.spaces.items()
        ],
    }


def rules_record(rules: Iterable[Rule], worked: Iterable[Worked] = ()) -> Record:
    """The answer of `rules`; of one rule with its examples."""
    return {
        "schema": schema_name("rules"),
        "job": None,
        "rules": [rule.model_dump(mode="json", by_alias=True, exclude_none=True) for rule in rules],
        "examples": [
            {
                "breaks": each.example.kind == "violates",
                "says": each.example.entry.says,
                "target": each.example.entry.target,
                "job": each.example.read.document.data,
                "findings": [finding_record(finding, each.bench.network) for finding in each.findings],
            }
            for each in worked
        ],
    }


def checked_record(checked: Checked) -> Record:
    """The answer of `rules --check`."""
    return {"schema": schema_name("check"), "own_data": asdict(checked.own), "examples": checked.examples}


def family_check_record(check: FamilyCheck) -> Record:
    """The answer of `families --check`."""
    return {
        "schema": schema_name("family_check"),
        "job": None,
        "family": check.family.family,
        "as_built": [asdict(trial) for trial in check.trials],
        "advice": [
            {"file": str(each.file), "line": each.line, "field": each.field, "message": each.message}
            for each in check.advice
        ],
    }


def materials_record(table: Iterable[tuple[Material, Iterable[Verdict]]]) -> Record:
    """The answer of `materials`."""
    return {
        "schema": schema_name("materials"),
        "job": None,
        "materials": [
            {
                **material.model_dump(mode="json", exclude_none=True, exclude={"ratings"}),
                "fuels": {
                    verdict.fuel: {
                        "rating": verdict.rating,
                        "sources": [rating.model_dump(mode="json", exclude_none=True) for rating in verdict.ratings],
                    }
                    for verdict in verdicts
                },
            }
            for material, verdicts in table
        ],
    }


def families_record(families: Mapping[str, Family], *, whole: bool) -> Record:
    """The answer of `families`."""
    return {
        "schema": schema_name("families"),
        "job": None,
        "families": [
            family.model_dump(mode="json", by_alias=True, exclude_none=True)
            if whole
            else {"family": name, "title": family.title, "summary": " ".join(family.summary.split())}
            for name, family in families.items()
        ],
    }
