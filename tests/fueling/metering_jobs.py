"""Fuel models for the tests of metering: a base job with sections laid over it."""

from __future__ import annotations

from typing import Any

import yaml
from fuel_jobs import BASE

from boostcarb import pipeline
from boostcarb.description.job import Job
from boostcarb.description.library import ReadJob
from boostcarb.description.source import read_document, validate
from boostcarb.fueling.answer import FuelAnswer
from boostcarb.fueling.circuit import circuits_of
from boostcarb.fueling.metering import Metering
from boostcarb.fueling.mixture import GroupMixture, Point
from boostcarb.fueling.model import Fueling, FuelModel

OPEN_IN_BOOST = {
    "primary.power_valve_reference_port": "open",
    "primary.power_valve_vacuum_passage": "plugged",
    "primary.power_valve_reference_line": "switched",
}
"""The primary power valve's reference switched: shut at cruise, open at full load with boost and without."""


def job_of(target: str, **sections: Any) -> dict[str, Any]:
    job: dict[str, Any] = yaml.safe_load((BASE / f"{target}.yaml").read_text())
    for name, section in sections.items():
        merge = isinstance(section, dict) and isinstance(job.get(name), dict)
        job[name] = {**job[name], **section} if merge else section
    return job


def read(target: str, **sections: Any) -> ReadJob:
    document = read_document(BASE / "job.yaml", text=yaml.safe_dump(job_of(target, **sections)))
    return ReadJob(document, validate(Job, document))


def model(target: str, **sections: Any) -> FuelModel:
    return pipeline.set_up(read(target, **sections)).fuel.model


def as_found(target: str, **sections: Any) -> Fueling:
    found = model(target, **sections)
    return found.fueling(found.found)


def sized(target: str, **sections: Any) -> Fueling:
    """The found configuration with every computed size fitted."""
    found = model(target, **sections)
    return found.fueling(found.found, fit_sizes=True)


def answer(target: str, **sections: Any) -> FuelAnswer:
    return pipeline.fuel(read(target, **sections)).answer


def group(fueling: Fueling, state: str, name: str = "primary") -> GroupMixture:
    row = next(row for row in fueling.table if row.state == state)
    return next(each for each in row.groups if each.group == name)


def point(fueling: Fueling, state: str, name: str = "primary") -> Point:
    found = group(fueling, state, name).leanest
    assert found is not None
    return found


def metering(target: str, **sections: Any) -> Metering:
    return as_found(target, **sections).metering


__all__ = ["OPEN_IN_BOOST", "answer", "as_found", "circuits_of", "group", "metering", "model", "point", "read", "sized"]
