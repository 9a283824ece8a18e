"""Benches set up from a complete job with a few things changed."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import yaml

from boostcarb.description.job import Job
from boostcarb.description.library import ReadJob
from boostcarb.description.source import read_document, validate

JOB: dict[str, Any] = {
    "job": "an invented five-liter engine",
    "carburetor": "modular_four_barrel",
    "target": "blow_through",
    "rest": "as built",
    "found": {"fuel_regulator": "referenced_one_to_one"},
    "engine": {
        "displacement": "5.0 l",
        "compression_ratio": 8.5,
        "idle_speed": "850 rpm",
        "cruise_speed": "2300 rpm",
        "torque_peak_speed": "3600 rpm",
        "redline_speed": "5600 rpm",
    },
    "charge": {"boost": "10 psi", "full_boost_speed": "3000 rpm"},
}


def read(job: dict[str, Any]) -> ReadJob:
    """A job as if read from a file."""
    document = read_document(Path("job.yaml"), text=yaml.safe_dump(job))
    return ReadJob(document, validate(Job, document))
