"""Everything that one file can show without the program: worked out beforehand, every single change included."""

from __future__ import annotations

import zlib
from base64 import b64encode
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import partial
from itertools import product
from typing import Any

from boostcarb.board.answer import answer_record
from boostcarb.board.dial import dial_record
from boostcarb.board.lesson.hunt import hunt_record
from boostcarb.board.lesson.questions import lesson_record
from boostcarb.board.merge_patch import difference
from boostcarb.board.question import Record, as_json
from boostcarb.board.repair import repair_record
from boostcarb.board.scene import scene_record
from boostcarb.board.signals import spray_record, trace_record
from boostcarb.board.study import Asked, Study
from boostcarb.errors import BudgetSpent, NotSolved

GRID = {"boost_pa": (0, 0.4, 0.8, 1), "throttle": (0, 0.4, 1), "rpm": (0, 0.5, 1)}
"""The grid of the dials, in shares of what each can be turned."""

LESSONS, QUESTIONS, HUNTS = 3, 12, 4
"""Lessons with as many questions each, and hunts, of every base."""


@dataclass(frozen=True, slots=True)
class _Place:
    """One base of one target mode, with what is known of it already."""

    study: Study
    asked: Asked
    scene: Mapping[str, Any]
    answer: Record
    seed: int

    def with_change(self, item: str, form: str) -> Asked:
        """The base with a single change."""
        return Asked(self.asked.mode, self.asked.base, {item: form})

    def singles(self) -> Iterator[tuple[str, str]]:
        """Every item that is there in another form than that of the base."""
        base = self.study.configuration(self.asked)
        for item, data in self.scene["items"].items():
            if all(base[other] in forms for other, forms in data.get("on", {}).items()):
                yield from ((item, form) for form in data["forms"] if form != base[item])

    def failures(self) -> Iterator[tuple[str, str]]:
        """Those of the single changes that come about by themselves."""
        return (each for each in self.singles() if self.scene["items"][each[0]]["forms"][each[1]].get("fails"))


def pack_record(study: Study, *, version: str, seed: int, told: Callable[[str], None] = lambda _: None) -> Record:
    """All target modes that can be looked at, with all their bases.

    The same study and seed give the same record, in the same order.

    Args:
        study: the job under study.
        version: of this program.
        seed: the first seed of lessons and hunts.
        told: hears how far it is.

    Raises:
        NotSolved, BudgetSpent: a base itself has no answer. A single change without one is packed as refused.
    """
    pack: Record = {"made": {"version": version}, "scenes": {}}
    pack |= {name: {} for name in _PARTS}
    for mode in [mode for mode, why in study.modes().items() if why is None]:
        scene = scene_record(study, mode)
        pack["scenes"][mode] = scene
        for base in study.bases(mode):
            told(f"{scene['title']}, {scene['bases'][base]['title']}: every single change...")
            asked = Asked(mode, base, {})
            place = _Place(study, asked, scene, answer_record(study, asked), seed)
            for name, work in _PARTS.items():
                pack[name].setdefault(mode, {})[base] = work(place)
    return pack


def pressed(pack: Record) -> str:
    """A pack as text a tenth as long: its JSON in the zlib format (RFC 1950), in base64 (RFC 4648, section 4)."""
    return b64encode(zlib.compress(as_json(pack), level=9)).decode("ascii")


def _answer(place: _Place) -> Record:
    return place.answer


def _changes(place: _Place) -> Record:
    """A merge patch onto the answer of the base for every single change."""
    return {
        f"{item}={form}": difference(place.answer, answer_record(place.study, place.with_change(item, form)))
        for item, form in place.singles()
    }


def _dials(place: _Place) -> Record:
    """States on a grid of boost, throttle and speed, by their places on it."""
    axes = _axes(place.scene["dial"])
    states = {}
    for places in product(*(range(len(axis)) for axis in axes.values())):
        boost, throttle, speed = (axis[place_] for axis, place_ in zip(axes.values(), places, strict=True))
        dialed = dial_record(place.study, place.asked, boost_pa=boost, throttle=throttle, rpm=speed)
        states[",".join(map(str, places))] = dialed.get("state", dialed)
    return {**axes, "states": states}


def _axes(dial: Mapping[str, Any]) -> dict[str, list[float]]:
    """The grid within the bounds of the dials: Pa gauge, opening, rpm. Without a turbo there is no boost to dial."""
    bounds = {"boost_pa": dial.get("boost_pa", [0, 0]), "throttle": [0, 1], "rpm": dial["rpm"]}
    return {
        name: sorted({round(least + share * (most - least), 2) for share in GRID[name]})
        for name, (least, most) in bounds.items()
    }


def _traces(place: _Place) -> Record:
    trace = partial(trace_record, place.study, place.asked)
    return {space: _or_refused(partial(trace, space)) for space in place.scene["spaces"]}


def _sprays(place: _Place) -> Record:
    """Into every space, and into every way."""
    spaces, ways = place.scene["spaces"], place.scene["ways"]
    spray = partial(spray_record, place.study, place.asked)
    return {
        "spaces": {name: _or_refused(partial(spray, space=name)) for name in spaces},
        "ways": {name: _or_refused(partial(spray, way=name)) for name in ways},
    }


def _lessons(place: _Place) -> Record:
    seeds = range(place.seed, place.seed + LESSONS)
    return {str(seed): lesson_record(place.study, place.asked, seed=seed, count=QUESTIONS) for seed in seeds}


def _hunts(place: _Place) -> Record:
    seeds = range(place.seed, place.seed + HUNTS)
    return {str(seed): hunt_record(place.study, place.asked, seed=seed) for seed in seeds}


def _repairs(place: _Place) -> Record:
    """What rids the base of what is wrong with it; as a patch onto that, what rids it of a single failure as well."""
    whole = _or_refused(partial(repair_record, place.study, place.asked))
    repairs = {"": whole}
    for item, form in place.failures():
        failed = place.with_change(item, form)
        repairs[f"{item}={form}"] = difference(whole, _or_refused(partial(repair_record, place.study, failed)))
    return repairs


def _or_refused(work: Callable[[], Record]) -> Record:
    """A record, or why there is none."""
    try:
        return work()
    except (NotSolved, BudgetSpent) as error:
        return {"refused": {"what": str(error), "why": "it has no answer in this configuration"}}


_PARTS: Mapping[str, Callable[[_Place], Record]] = {
    "answers": _answer,
    "changes": _changes,
    "dials": _dials,
    "traces": _traces,
    "sprays": _sprays,
    "lessons": _lessons,
    "hunts": _hunts,
    "repairs": _repairs,
}
