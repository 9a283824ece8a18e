"""Plans of all scenarios and base jobs, each made once.

A test that takes `any_job` is run for every one of them, one that takes `boosted_job` for those with a turbo.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import pytest
import yaml
from chosen_jobs import PATHS, plan_of

from boostcarb import pipeline
from boostcarb.answers import Planned
from boostcarb.network.model import Network
from boostcarb.planning.search import Plan
from boostcarb.work.order import WorkOrder, work_order

ROOT = Path(__file__).parents[2]
JOBS = {
    path.stem if path.parent.name == "scenarios" else f"base_{path.stem}": path
    for path in (*PATHS, *sorted((ROOT / "rules/examples/base").glob("*.yaml")))
}


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Name the jobs."""
    if "any_job" in metafunc.fixturenames:
        metafunc.parametrize("any_job", list(JOBS))
    if "boosted_job" in metafunc.fixturenames:
        boosted = [name for name, path in JOBS.items() if "target: naturally_aspirated" not in path.read_text("utf-8")]
        metafunc.parametrize("boosted_job", boosted)


class Jobs:
    """Plans and orders of work by the name of the job."""

    def planned(self, name: str) -> Planned:
        """The plan of a scenario or base job."""
        return plan_of(JOBS[name])

    @cache  # noqa: B019  one for the session
    def order_of(self, name: str) -> WorkOrder:
        """Its order of work."""
        return work_order(self.planned(name))

    def plan(self, name: str) -> Plan:
        """What is changed."""
        outcome = self.planned(name).outcome
        assert isinstance(outcome, Plan)
        return outcome

    def network_of(self, name: str) -> Network:
        """Its network."""
        return self.planned(name).bench.network

    def plan_of(self, folder: Path, name: str, **sections: Any) -> Planned:
        """The plan of a job with sections laid over it."""
        job = yaml.safe_load(JOBS[name].read_text())
        for section, value in sections.items():
            job[section] = {**job.get(section, {}), **value}
        path = folder / "job.yaml"
        path.write_text(yaml.safe_dump(job))
        return pipeline.plan(pipeline.set_up(pipeline.load(path)), alternatives=0)


@pytest.fixture(scope="session")
def jobs() -> Jobs:
    """All of them."""
    return Jobs()
