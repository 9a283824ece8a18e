"""A maker of benches for the tests of answers."""

from __future__ import annotations

import copy
from collections.abc import Callable
from typing import Any

import pytest
from benches import JOB, read

from boostcarb import pipeline
from boostcarb.bench import Bench

BenchMaker = Callable[..., Bench]


@pytest.fixture
def bench() -> BenchMaker:
    """Make a bench: `bench(target=..., found={...})`; `found` names items with colons for dots left out."""

    def make(found: dict[str, Any] | None = None, **changes: Any) -> Bench:
        job = copy.deepcopy(JOB)
        job.update(changes)
        if job["target"] == "naturally_aspirated":
            job.pop("charge", None)
        job["found"] = {**job["found"], **(found or {})}
        return pipeline.set_up(read(job))

    return make
