"""Questions on cleaner that is sprayed into a hole on the bench: where does it come out?"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from random import Random

from boostcarb.board.lesson.drafting import Draft, shuffled
from boostcarb.board.lesson.ground import Ground, sentence
from boostcarb.checks.candidates import is_there
from boostcarb.checks.model import Hole, Kind, Test
from boostcarb.checks.parting import CARBURETOR_OFF, ROOMY_M3, BenchStage, bench_stages, stage_order
from boostcarb.checks.passing import Passes, passing, with_fuel_valves
from boostcarb.checks.trying import StageTrials

NOWHERE = "nowhere: something holds it in"
MOST_EXITS, CHOICES = 2, 4


def sprayed(ground: Ground, rng: Random) -> Iterator[Draft]:
    """Where cleaner comes out, with the carburetor as it leaves the engine and with its castings parted."""
    network = with_fuel_valves(ground.network)
    passes = passing(network, ground.configuration)
    stages = bench_stages(network, frozenset(ground.bench.family.family.castings), stage_order(network))
    asked = []
    for stage in (stage for stage in stages if stage.name == CARBURETOR_OFF or stage == stages[-1]):
        if stage.on_engine:
            continue
        trials = StageTrials(network, stage)
        exits = {name: _exits(trials, name, passes) for name in sorted(stage.holes) if _is_asked(ground, stage, name)}
        asked += [(trials, name, exits) for name in exits if len(exits[name]) <= MOST_EXITS]
    for trials, name, exits in shuffled(rng, asked):
        draft = _sprayed(ground, trials, name, exits, passes, rng)
        if draft is not None:
            yield draft


def _is_asked(ground: Ground, stage: BenchStage, name: str) -> bool:
    hole = stage.holes[name]
    return hole.applied and is_there(ground.network, hole, ground.configuration)


def _exits(trials: StageTrials, name: str, passes: Mapping[str, Passes]) -> frozenset[str]:
    return trials.reach(Test(trials.stage.name, Kind.spray, (name,)), passes).exits


def _sprayed(
    ground: Ground,
    trials: StageTrials,
    name: str,
    every: Mapping[str, frozenset[str]],
    passes: Mapping[str, Passes],
    rng: Random,
) -> Draft | None:
    holes = trials.stage.holes
    exits = every[name]
    inside = sorted(trials.reach(Test(trials.stage.name, Kind.spray, (name,)), passes).inside)
    if not exits and any(_is_roomy(ground, each) for each in inside):
        return None  # it is not held in there: the room is just not filled
    right = _there(holes, exits)
    near = _near(trials, name)
    others = {
        _there(holes, each): (each.isdisjoint(near), rng.random())
        for start, each in every.items()
        if start != name and 0 < len(each) <= MOST_EXITS and each != exits and each.isdisjoint({name})
    }
    wrong = [text for text in sorted(others, key=lambda text: others[text]) if text != right][: CHOICES - 1]
    if right != NOWHERE and len(wrong) == CHOICES - 1:
        wrong[-1] = NOWHERE
    if len(wrong) < CHOICES - 1:
        return None
    straight = any(holes[each].item == holes[name].item and holes[name].item is not None for each in exits)
    return Draft(
        kind="spray",
        question=f"{_where(ground, trials.stage)} you spray cleaner in at the {holes[name].title}. "
        "Where does it come out?",
        subject=f"{trials.stage.name}|{name}",
        sort="nowhere" if not exits else "straight" if straight else "elsewhere",
        right=right,
        wrong=tuple(wrong),
        because=_because(ground, trials, name, exits, inside, passes),
        level=1 if straight else 3 if len(inside) > 1 else 2,
        about={"spaces": [holes[name].space], "ways": _ways_of(ground, holes[name])},
        shows={"spaces": inside, "ways": _through(trials, {*inside, name, *exits}, passes)},
    )


def _is_roomy(ground: Ground, name: str) -> bool:
    space = ground.network.spaces.get(name)
    return space is not None and (space.volume_m3 or 0.0) >= ROOMY_M3


def _near(trials: StageTrials, name: str) -> set[str]:
    """Holes that an open or closed way leads to from where a hole ends: mistakes that somebody could make."""
    inside = {name}
    for _ in range(3):
        inside |= {end for ends in trials.ends.values() if not inside.isdisjoint(ends) for end in ends}
    return inside


def _where(ground: Ground, stage: BenchStage) -> str:
    if not stage.off:
        return "The carburetor lies on the bench in one piece, hoses off, throttle open;"
    off = ", ".join(ground.network.castings[each] for each in stage.off)
    return f"On the bench the castings are parted ({off} off);"


def _there(holes: Mapping[str, Hole], exits: Collection[str]) -> str:
    return " and ".join(f"at the {holes[name].title}" for name in sorted(exits)) or NOWHERE


def _ways_of(ground: Ground, hole: Hole) -> list[str]:
    return [way.name for way in ground.network.ways if way.item == hole.item and hole.space in (way.a, way.b)]


def _through(trials: StageTrials, ends: Collection[str], passes: Mapping[str, Passes]) -> list[str]:
    """Ways that pass between any of these spaces and holes."""
    return [way for way, (a, b) in sorted(trials.ends.items()) if way in passes and a in ends and b in ends]


def _because(
    ground: Ground,
    trials: StageTrials,
    name: str,
    exits: Collection[str],
    inside: Collection[str],
    passes: Mapping[str, Passes],
) -> str:
    """The spaces it gets into, what holds it in, and where it leaves."""
    path = " and ".join(ground.the(each) for each in inside if each in ground.network.spaces)
    text = f"from the {trials.stage.holes[name].title} it gets into {path}" if path else "it goes straight through"
    if exits:
        return f"{sentence(text)}, and comes out {_there(trials.stage.holes, exits)}."
    around = {*inside, name}
    shut = [
        ground.ways[way].title
        for way, ends in sorted(trials.ends.items())
        if way not in passes and not around.isdisjoint(ends) and way in ground.ways
    ]
    listed = ", ".join(dict.fromkeys(shut[:3]))
    held = f" Not open there: {listed}." if listed else ""
    return (f"{sentence(text)}, and no way out of it is open." if path else "It goes no further than the hole.") + held
