"""Jobs for the tests of the fuel side: a base job with sections laid over it, solved as found."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

import yaml

from boostcarb.description.job import Job
from boostcarb.description.loading import SURROUNDINGS, shipped_family
from boostcarb.description.material import shipped_material
from boostcarb.description.typical_values import typical_fuel_side
from boostcarb.fueling.given import Given
from boostcarb.fueling.side import FuelSide, fuel_side
from boostcarb.fueling.solved import Solved, solved_for
from boostcarb.network.build import build_network
from boostcarb.solving.situation import Situations

BASE = Path(__file__).parents[2] / "rules" / "examples" / "base"
BONNET = {"regulator.reference_line": "air_horn"}


def solved(target: str, **sections: Any) -> Solved:
    """The base job of a target with some sections changed, solved in every state as found."""
    return _solved(target, json.dumps(sections, sort_keys=True))


@cache
def _solved(target: str, sections: str) -> Solved:
    base = yaml.safe_load((BASE / f"{target}.yaml").read_text())
    for name, section in json.loads(sections).items():
        merge = isinstance(section, dict) and isinstance(base.get(name), dict)
        base[name] = {**base[name], **section} if merge else section
    job = Job.model_validate(base)
    family = shipped_family(job.carburetor).family
    assert family.flow is not None
    network = build_network(family, shipped_family(SURROUNDINGS).family, job, shipped_material)
    return solved_for(network, Situations(network, job, family.flow), network.found())


def given(found: Solved) -> Given:
    """The values of a solved job."""
    return Given(found.job, typical_fuel_side(found.job.carburetor))


def side(target: str, **sections: Any) -> FuelSide:
    """The whole fuel side of such a job."""
    return fuel_side(solved(target, **sections))
