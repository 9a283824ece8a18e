"""The answer on fuel as plain data for JSON: SI units, absolute pressures; null where there is no number to give."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict

from boostcarb.answers import Fueled
from boostcarb.fueling.answer import Effect, FuelAnswer
from boostcarb.fueling.calibration import Calibration
from boostcarb.fueling.records import Worked
from boostcarb.fueling.targets import Targets
from boostcarb.fueling.uncertainty import HowSure
from boostcarb.report.cautions import cautions
from boostcarb.report.metering_records import holes_record, size_record, states_record
from boostcarb.report.records import Record, job_record, schema_name
from boostcarb.report.supply_records import supply_record
from boostcarb.report.sure_records import sure_record
from boostcarb.report.work_text import work_records


def fuel_record(fueled: Fueled, *, sure: HowSure | None = None, work: Mapping[str, Worked] | None = None) -> Record:
    """The answer of `fuel`; how sure it is and the work behind it where they were asked for, else null."""
    answer, job = fueled.answer, fueled.bench.job
    return {
        "schema": schema_name("fuel"),
        "job": job_record(fueled.bench),
        "clean": fueled.clean,
        "fuel": _fuel(answer),
        "fuel_change": _worked(answer.fuel_change) if answer.fuel_change else None,
        "targets": _targets(answer.targets),
        "sizes": [size_record(size) for size in answer.sizes],
        "two_stages_instead": [size_record(size) for size in answer.stages],
        "states": states_record(answer.configurations),
        "holes": {name: holes_record(fueling.circuits) for name, fueling in answer.configurations.items()},
        "fuel_side": supply_record(fueled.side),
        "calibration": _calibration(answer.calibration) if answer.calibration else None,
        "assumptions": [_effect(effect) for effect in answer.effects],
        "how_sure": sure_record(sure) if sure is not None else None,
        "work": work_records(work) if work is not None else None,
        "notes": [asdict(note) for note in fueled.notes],
        "cautions": list(cautions(job.target, job.fuel)),
    }


def _fuel(answer: FuelAnswer) -> Record:
    fuel = answer.fuel
    return {
        "name": fuel.name,
        "stoichiometric_air_fuel_ratio": fuel.stoichiometric_air_fuel_ratio,
        "density_kg_m3": fuel.density_kg_m3,
        "composition": asdict(fuel.composition),
        "sources": {name: source.text for name, source in fuel.sources.items()},
    }


def _worked(worked: Worked) -> Record:
    return asdict(worked)


def _targets(targets: Targets) -> Record:
    return {
        load: {"lambda": target.value, "usual_low": target.low, "usual_high": target.high, "given": target.given}
        for load, target in targets.loads.items()
    }


def _calibration(calibration: Calibration) -> Record:
    return {
        "moved": dict(calibration.moved),
        "at_limit": list(calibration.at_limit),
        "readings": [
            {
                "state": reading.state,
                "group": reading.group,
                "measured": reading.measured,
                "before": reading.before,
                "after": reading.after,
                "residual": reading.residual,
            }
            for reading in calibration.readings
        ],
    }


def _effect(effect: Effect) -> Record:
    return {
        "name": effect.name,
        "title": effect.title,
        "value": effect.value,
        "low": effect.low,
        "high": effect.high,
        "unit": effect.unit,
        "calibrated_or_given": effect.calibrated,
        "full_load_span": list(effect.full_load_span) if effect.full_load_span is not None else None,
        "lambda_at_cruise": list(effect.cruise),
        "lambda_at_full_load": list(effect.full_load),
    }
