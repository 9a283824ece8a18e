"""Small but complete carburetors made up at random, and jobs on them.

A family is made as its file would say it, with castings, stages of the strip-down, spaces, passages, parts, lines and
diaphragms, and goes through the reading of files like any other; round it stand the shipped surroundings. Names that
the rulebook knows are kept, so that its rules have places to judge.

How many are tried: every test says how many do for the gate, and the environment variable `PROPERTIES` multiplies that.
A campaign at the bench:

    PROPERTIES=50 .venv/bin/pytest -n 0 tests/properties

Making a failing carburetor smaller takes minutes; with `PROPERTIES_AS_FOUND=1` it is shown as it was found.
"""

from __future__ import annotations

import json
import os
import random
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

from generated_families import NAME, PLAIN, Draw, Entry, families, fuel_ways
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st

from boostcarb import pipeline
from boostcarb.bench import Bench
from boostcarb.description.job import Job
from boostcarb.description.library import Library, ReadJob
from boostcarb.description.loading import read_family, shipped_families
from boostcarb.description.source import read_document, validate
from boostcarb.network.model import Network
from boostcarb.planning.search import Plan

MODES = ("naturally_aspirated", "blow_through", "draw_through")


def tried(examples: int) -> settings:
    """So many examples in the gate, and as many times more as `PROPERTIES` says."""
    times = float(os.environ.get("PROPERTIES", "1"))
    phases = [Phase.explicit, Phase.reuse, Phase.generate]
    return settings(
        phases=phases if os.environ.get("PROPERTIES_AS_FOUND") else [*phases, Phase.shrink],
        max_examples=max(1, round(examples * times)),
        deadline=None,
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much, HealthCheck.data_too_large],
    )


@dataclass(frozen=True)
class Made:
    """What the files of a family and of a job on it say; without a family, of a job on a shipped one."""

    family: Entry | None
    job: Entry

    def read(self) -> ReadJob:
        """Read as if from files."""
        document = read_document(Path("job.yaml"), text=json.dumps(self.job))
        library = Library()
        if self.family is not None:
            read = read_family(Path(f"{NAME}.yaml"), text=json.dumps(self.family))
            library = Library(None, {NAME: read})
        return ReadJob(document, validate(Job, document), library)

    def bench(self, *, latent: bool = False) -> Bench:
        """Ready to be judged."""
        return pipeline.set_up(self.read(), latent=latent)

    def with_job(self, **sections: Any) -> Made:
        """The same with other sections of the job."""
        return replace(self, job={**self.job, **sections})

    def with_entry(self, section: str, name: str, entry: Entry) -> Made:
        """The same with another entry of the family."""
        assert self.family is not None
        return replace(self, family={**self.family, section: {**self.family[section], name: entry}})

    def with_found(self, found: Mapping[str, str]) -> Made:
        """The same with these finds as well."""
        return self.with_job(found={**self.job["found"], **found})

    def __repr__(self) -> str:
        return f"Made(family={json.dumps(self.family)}, job={json.dumps(self.job)})"


ENGINE: Entry = {
    "displacement": "2 l", "idle_speed": "900 rpm", "cruise_speed": "2600 rpm", "torque_peak_speed": "3600 rpm",
    "redline_speed": "5500 rpm",
}  # fmt: skip
MIXTURE_RULES = (
    "boost_mixture_at_cruise", "power_valve_open_at_cruise", "boost_jets_left_in", "power_valve_setting_too_low",
    "power_valve_chamber_sealed", "enriched_twice",
)  # fmt: skip
"""Rules of the mixture that a builder may accept; hardly any carburetor made up at random meets them all."""


def job_of(mode: str, carburetor: str = NAME, **sections: Any) -> Entry:
    """A job with nothing found, as built."""
    charge = {} if mode == MODES[0] else {"charge": {"boost": "50 kPa gauge", "full_boost_speed": "2800 rpm"}}
    return {
        "job": "invented", "carburetor": carburetor, "target": mode, "rest": "as built", "found": {}, "engine": ENGINE,
        **charge, **sections,
    }  # fmt: skip


@cache
def put_right(mode: str) -> dict[str, str]:
    """What has to be done round a carburetor in a mode: with it found so, only the carburetor is left to plan."""
    job = job_of(mode, NAME, pinned={"accept": list(MIXTURE_RULES)})
    outcome = pipeline.plan(Made(PLAIN, job).bench(), alternatives=0).outcome
    assert isinstance(outcome, Plan), mode
    return {change.item: change.option for change in outcome.changes}


@cache
def kept_around(mode: str) -> tuple[str, ...]:
    """Everything round a carburetor that a pin can name."""
    items = Made(PLAIN, job_of(mode, NAME)).bench().network.items
    return tuple(name for name, item in items.items() if not name.startswith("main.") and item.kind != "material"
                 and not name.endswith(".inline"))  # fmt: skip


@st.composite
def jobs(draw: Draw, carburetor: str = NAME, mode: str | None = None, around: bool = False) -> Entry:
    """Jobs in the three modes; unless `around`, what stands round the carburetor is right and stays as it is."""
    mode = mode or draw(st.sampled_from(MODES))
    sections: Entry = {}
    if mode != MODES[0]:
        boost = draw(st.sampled_from(["20 kPa gauge", "50 kPa gauge", "90 kPa gauge"]))
        sections["charge"] = {"boost": boost, "full_boost_speed": "2800 rpm"}
    if draw(st.booleans()):
        sections["site"] = {"altitude": draw(st.sampled_from(["0 m", "1500 m"])), "hot_soak": "110 degC"}
    sections["found"] = {} if around and draw(st.booleans()) else dict(put_right(mode))
    accepted = list(draw(st.sampled_from([MIXTURE_RULES, MIXTURE_RULES, MIXTURE_RULES[:1], ()])))
    sections["pinned"] = {"accept": accepted, **({} if around else {"keep": list(kept_around(mode))})}
    return job_of(mode, carburetor, **sections)


@st.composite
def carburetors(draw: Draw, most_passages: int = 5, around: bool = False) -> Made:
    """A family and a job on it, with finds at random."""
    made = Made(draw(families(most_passages)), draw(jobs(around=around)))
    return made.with_found(draw(_finds(made, made.bench().network)))


def _finds(made: Made, network: Network) -> st.SearchStrategy[dict[str, str]]:
    """Forms of passages that hang on nothing, at random."""
    own = [name for name in network.items if made.family is not None and name in made.family["passages"]]
    free = [name for name in own if not network.items[name].conditions and name not in fuel_ways([""])]
    return st.dictionaries(st.sampled_from(free), st.sampled_from(["open", "plugged"]), max_size=3)


@st.composite
def shipped(draw: Draw) -> Made:
    """A job on a shipped family with whatever goes with it, as built."""
    return Made(None, draw(jobs(draw(st.sampled_from(shipped_families())), around=True)))


def configurations(network: Network, only: Callable[[str], bool] = lambda name: True) -> st.SearchStrategy[Any]:
    """Any form of any item, the others as found: nobody has to be able to make it so."""
    names = sorted(name for name, item in network.items.items() if len(item.forms) > 1 and only(name))
    each = st.sampled_from(names).flatmap(
        lambda name: st.tuples(st.just(name), st.sampled_from(list(network.items[name].forms)))
    )
    return st.lists(each, max_size=8).map(lambda some: {**network.found(), **dict(some)})


def own_items(made: Made) -> frozenset[str]:
    """Items of the carburetor itself."""
    family = made.family or {}
    names = {name for section in ("passages", "parts", "lines") for name in family.get(section, {})}
    return frozenset(names | {f"{name}.inline" for name in family.get("lines", {})})


def shuffled(made: Made, rng: random.Random) -> Made:
    """The same files with their entries in another order.

    Stages and castings stay: their order is the order of the work. So do forms: the first of a part is its right one.
    """
    assert made.family is not None
    family, job = dict(made.family), dict(made.job)
    for section in ("spaces", "passages", "parts", "lines", "diaphragms"):
        names = rng.sample(sorted(family[section]), len(family[section]))
        family[section] = {name: family[section][name] for name in names}
    job["found"] = {name: job["found"][name] for name in rng.sample(sorted(job["found"]), len(job["found"]))}
    job["pinned"] = {name: rng.sample(pins, len(pins)) for name, pins in reversed(job["pinned"].items())}
    return Made({name: family[name] for name in rng.sample(sorted(family), len(family))}, job)
