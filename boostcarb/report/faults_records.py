"""Single faults as plain data for JSON."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from boostcarb.answers import Faulted
from boostcarb.faults.outcome import Consequence, Outcome
from boostcarb.network.model import Network
from boostcarb.report.cautions import cautions
from boostcarb.report.records import finding_record, job_record, path_record, schema_name

Record = dict[str, Any]


def faults_record(faulted: Faulted) -> Record:
    """The answer of `faults`, every fault tried, worst first."""
    bench = faulted.bench
    return {
        "schema": schema_name("faults"),
        "job": job_record(bench),
        "of": "planned" if faulted.as_planned else "found",
        "clean": faulted.clean,
        "faults": [outcome_record(each, bench.network, faulted.signs[each.fault.name]) for each in faulted.outcomes],
        "cautions": list(cautions(bench.job.target, bench.job.fuel)),
    }


def outcome_record(outcome: Outcome, network: Network, signs: tuple[str, str]) -> Record:
    """One fault."""
    fault, relief = outcome.fault, outcome.relief
    return {
        "fault": fault.name,
        "item": fault.item,
        "form": fault.form,
        "kind": fault.kind.value,
        "title": fault.title,
        "severity": outcome.severity.value if outcome.severity is not None else None,
        "effects": list(outcome.effects),
        "first_state": outcome.consequences[0].state if outcome.consequences else None,
        "consequences": [_consequence(each, network) for each in outcome.consequences],
        "cures": [finding_record(finding, network) for finding in outcome.gone],
        "driver_notices": signs[0],
        "bench_reveals": signs[1],
        "no_more_with": None if relief is None else asdict(relief),
    }


def _consequence(each: Consequence, network: Network) -> Record:
    spill = each.spill
    return {
        "effect": each.effect,
        "severity": each.severity.value,
        "endangers": list(each.endangers),
        "state": each.state,
        "states": list(each.states),
        "finding": finding_record(each.finding, network) if each.finding is not None else None,
        "fuel_runs": None
        if spill is None
        else {
            "from": spill.start,
            "into": spill.into,
            "blown_into_the_bowl": spill.backward,
            "path": path_record(spill.path, network),
        },
    }
