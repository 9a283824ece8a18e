"""Networks for the tests of the solver: random ones, small ones written by hand, and real carburetors."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from boostcarb.description.job import Job
from boostcarb.description.loading import SURROUNDINGS, shipped_family
from boostcarb.description.material import shipped_material
from boostcarb.network.build import build_network
from boostcarb.network.model import Gate, Item, Network, Space, Way
from boostcarb.solving.balance import Orifices
from boostcarb.solving.pressures import PressureSolver, Sealing, StateInput

KPA = 1e3
AMBIENT = 101.3 * KPA
SEALING = Sealing(pressure_pa_abs=AMBIENT, temperature_k=293.15, coldest_k=258.15, hottest_k=373.15)


def random_orifices(
    rng: np.random.Generator, free: int, sources: int, *, ways: int, one_way: float = 0.0, decades: float = 2.0
) -> Orifices:
    """A network in which every free space has a way to a source, areas spread over some decades."""
    ends = []
    for space in range(free):
        other = int(rng.integers(0, space + sources))
        ends.append((space, other if other < space else free + other - space))
    while len(ends) < ways:
        a, b = (int(end) for end in rng.integers(0, free + sources, 2))
        if a != b and min(a, b) < free:
            ends.append((a, b))
    turned = [(b, a) if rng.random() < 0.5 else (a, b) for a, b in ends]
    start, end = np.array(turned).T
    return Orifices(
        free=free,
        start=start,
        end=end,
        area_m2=1e-6 * 10 ** rng.uniform(-decades, 0, len(ends)),
        one_way=rng.random(len(ends)) < one_way,
    )


def near_orifices(rng: np.random.Generator, free: int, *, one_way: float = 0.0, decades: float = 2.0) -> Orifices:
    """A network in which bores join what lies near, as in a casting, with a source to every twenty spaces.

    Five ways to three spaces; the number of sources is that of all spaces less `free`.
    """
    sources = max(3, free // 20)
    ends = [(space, int(rng.integers(max(0, space - 8), space))) for space in range(1, free)]
    ends += [(int((source + rng.random()) * free / sources), free + source) for source in range(sources)]
    while len(ends) < free * 5 // 3:
        space = int(rng.integers(0, free))
        other = space + int(rng.integers(1, 13))
        if other < free:
            ends.append((space, other))
    start, end = np.array([(b, a) if rng.random() < 0.5 else (a, b) for a, b in ends]).T
    area = 1e-6 * 10 ** rng.uniform(-decades, 0, len(ends))
    return Orifices(free, start, end, area, rng.random(len(ends)) < one_way)


def random_sources(rng: np.random.Generator, cases: int, sources: int, ratio: float = 3.0) -> np.ndarray:
    return 1e5 * np.exp(rng.uniform(0, np.log(ratio), (cases, sources)))


def way(name: str, a: str, b: str, *, area: float = 1e-6, **more: object) -> Way:
    """A way that is open unless its own item is `plugged`."""
    fields: dict[str, object] = {
        "title": name,
        "kind": "bore",
        "carries": "air",
        "casting": "body",
        "stage": "on_engine",
        "item": name,
        "conditions": ((name, frozenset({"open"})),),
    }
    return Way(name=name, a=a, b=b, area_m2=area, **{**fields, **more})  # type: ignore[arg-type]


def network(ways: Sequence[Way], sources: Sequence[str], extra: Sequence[str] = (), **holds: str) -> Network:
    """A network of these ways; `holds` says which spaces hold something else than air."""
    names = sorted({end for each in ways for end in (each.a, each.b)} | set(extra) | set(sources))
    spaces = {name: Space(name, name, "body", holds.get(name, "air"), None, name in sources) for name in names}
    items: dict[str, Item] = {}
    return Network(
        spaces=spaces,
        ways=tuple(ways),
        diaphragms={},
        items=items,
        stages={},
        castings={},
        aliases={},
        ways_of={name: tuple(each for each in ways if name in (each.a, each.b)) for name in names},
    )


def all_open(built: Network, **others: str) -> dict[str, str]:
    return {**{each.item: "open" for each in built.ways}, **others}


def state(name: str = "state", *, event: bool = False, follows: str | None = None, **kpa: float) -> StateInput:
    """A state with source pressures in kPa absolute."""
    return StateInput(name, {key: value * KPA for key, value in kpa.items()}, AMBIENT, event, follows)


def solver(built: Network, *states: StateInput, sealing: Sealing = SEALING) -> PressureSolver:
    return PressureSolver(built, states, sealing)


def gate(senses: str, level_kpa: float, *, above: bool, gauge: bool = False) -> Gate:
    return Gate(senses, level_kpa * KPA, gauge, above)


# --- the modular four-barrel ------------------------------------------------------------------------------


def four_barrel(target: str, found: Mapping[str, object]) -> Network:
    """The shipped four-barrel on a plain engine, as built but for what was found."""
    described = {
        "job": "test",
        "carburetor": "modular_four_barrel",
        "target": target,
        "rest": "as built",
        "found": dict(found),
        "engine": {
            "displacement": "5.0 l",
            "idle_speed": "850 rpm",
            "cruise_speed": "2300 rpm",
            "torque_peak_speed": "3600 rpm",
            "redline_speed": "5600 rpm",
        },
    }
    if target != "naturally_aspirated":
        described["charge"] = {"boost": "70 kPa", "full_boost_speed": "3000 rpm"}
    job = Job.model_validate(described)
    return build_network(
        shipped_family("modular_four_barrel").family, shipped_family(SURROUNDINGS).family, job, shipped_material
    )
