"""JSON of `backfire`: SI, absolute pressures; a time that never comes is null."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from boostcarb.bench import Bench
from boostcarb.network.model import Limit
from boostcarb.report.records import Record, job_record, schema_name
from boostcarb.transient.answer import BackfireAnswer, BackfireCase, DiaphragmCase, ProtectionCase, Signal


def backfire_record(bench: Bench, configuration_is: str, answer: BackfireAnswer) -> Record:
    """The answer of `backfire`."""
    return {
        "schema": schema_name("backfire"),
        "job": job_record(bench),
        "configuration": configuration_is,
        "clean": answer.clean,
        "exceeding": [{"diaphragm": each.diaphragm, "state": each.state} for each in answer.exceeding],
        "backfires": [_case(case) for case in answer.cases],
        "signals": [_signal(signal) for signal in answer.signals],
        "inputs": [asdict(each) for each in answer.inputs],
        "volumes_assumed": list(answer.volumes_assumed),
        "torn_diaphragms": list(answer.torn),
    }


def _case(case: BackfireCase) -> Record:
    return {
        "state": case.state,
        "title": case.title,
        "before": case.before,
        "burning": list(case.burning),
        "diaphragms": [_diaphragm(each) for each in case.diaphragms],
        "checks": [_check(each) for each in case.protections],
        "relief": None if case.relief is None else asdict(case.relief),
        "curves": {
            name: {"times_s": list(curve.times_s), "pressures_pa_abs": list(curve.pressures_pa_abs)}
            for name, curve in case.curves.items()
        },
    }


def _diaphragm(each: DiaphragmCase) -> Record:
    return {
        "diaphragm": each.diaphragm,
        "title": each.title,
        "first": each.first,
        "second": each.second,
        "verdict": each.verdict.name,
        "limit": _limit(each.limit),
        "before": asdict(each.before),
        "peak": asdict(each.peak),
        "peak_without_checks": asdict(each.unchecked),
        "peak_with_burned_gas": asdict(each.hottest),
        "over_pa": each.over_pa,
        "exceeds_at_s": each.exceeds_at_s,
        "burned_gas_exceeds": each.hottest_exceeds,
    }


def _check(each: ProtectionCase) -> Record:
    return {
        "check": each.check,
        "title": each.title,
        "form": each.form,
        "works": each.works,
        "diaphragm": each.diaphragm,
        "needed": each.needed,
        "peak_with": asdict(each.with_it),
        "peak_without": asdict(each.without_it),
        "shuts_at_s": each.shuts_at_s,
        "longest_closing_time_s": each.in_time_s,
    }


def _signal(signal: Signal) -> Record:
    record: Mapping[str, Any] = asdict(signal)
    return {**record, "time_s": signal.time_s if math.isfinite(signal.time_s) else None}


def _limit(limit: Limit | None) -> Record | None:
    return None if limit is None else asdict(limit)
