"""A hidden single fault, suspects, and bench tests that tell them apart."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from random import Random

from boostcarb.board.lesson.cheapest import Priced, cheapest, cheapest_with_work
from boostcarb.board.lesson.clues import Clues, result
from boostcarb.board.lesson.drafting import shuffled
from boostcarb.board.lesson.ground import Ground, sentence
from boostcarb.board.question import Record
from boostcarb.board.study import Asked, Study
from boostcarb.checks.model import Candidate, Mistake
from boostcarb.errors import BadDescription, Problem
from boostcarb.faults.outcome import outcomes
from boostcarb.faults.signs import noticed

FEWEST, MOST = 8, 14
"""Suspects of a hunt."""

MOST_ALIKE = 3
"""Faults that show alike on every test and still make one suspect that a person can read."""

TESTS = 14
"""Tests that are offered, unless more are needed to tell all suspects apart."""

TELLS_ALL = 4
"""More outcomes than this make a test that all but solves a hunt; it is offered only where it is needed."""

QUIET = "nothing"
"""How a story begins that no driver tells."""


@dataclass(frozen=True, slots=True)
class Suspect:
    """Faults that no test tells apart, as one; `story` is what the driver notices of the first."""

    faults: tuple[Mistake, ...]
    story: str

    @property
    def title(self) -> str:
        """What it is called; that several are in it is said."""
        titles = " - or: ".join(fault.title for fault in self.faults)
        return f"{titles} (no bench test tells these apart)" if self.faults[1:] else titles


def hunt_record(study: Study, asked: Asked, *, seed: int) -> Record:
    """A hidden fault that the driver notices and a bench test shows, with suspects and tests; same seed, same bytes.

    `par_minutes` is the least that the tests offered cost, without the strip-down, until only the hidden suspect is
    left; `par_with_strip_down_minutes` counts what it takes to get there as well (`stages` has these minutes).

    Raises:
        BadDescription: an unknown mode, base, item or form, or a carburetor on which nothing can be hunted.
        NotSolved: a balance that does not close.
    """
    ground = Ground.of(study, asked)
    rng = Random(f"hunt {seed} {asked.mode} {asked.base}")  # noqa: S311  no secret
    stories = _stories(ground)
    clues = Clues.of(ground, stories)
    every = _suspects(clues, stories)
    noisy = [each for each in every if not each.story.startswith(QUIET)]
    if len(every) < 2 or not noisy:
        message = "there is no single fault that a driver notices and a bench test shows; hunt in another base"
        raise BadDescription(Problem(message, field="base"))
    hidden = rng.choice(noisy)
    suspects = _lineup(every, hidden, rng)
    return _Hunt(ground, clues, suspects, suspects.index(hidden), rng).record(seed)


def _stories(ground: Ground) -> dict[Mistake, str]:
    """Every single fault with what the driver notices of it."""
    boosted = frozenset(state.name for state in ground.view.states if state.boosted)
    found = outcomes(ground.bench, ground.configuration)
    told = {Mistake(each.fault.item, each.fault.form, each.fault.title): noticed(each, boosted) for each in found}
    return dict(sorted(told.items(), key=lambda each: each[0].name))


def _suspects(clues: Clues, stories: Mapping[Mistake, str]) -> list[Suspect]:
    """Faults that some test shows, those that no test tells apart as one."""
    alike: dict[object, list[Mistake]] = {}
    shown = {fault for test in clues.tests for fault in test.shown}
    for fault in (fault for fault in stories if fault in shown):
        alike.setdefault(clues.signature(fault), []).append(fault)
    groups = (
        sorted(group, key=lambda fault: (stories[fault].startswith(QUIET), fault.name)) for group in alike.values()
    )
    return [Suspect(tuple(group), stories[group[0]]) for group in groups if len(group) <= MOST_ALIKE]


def _lineup(every: Sequence[Suspect], hidden: Suspect, rng: Random) -> list[Suspect]:
    """The hidden one among those with the same story, and some others; mixed."""
    same = [each for each in every if each.story == hidden.story and each is not hidden]
    others = [each for each in every if each.story != hidden.story]
    loud = [each for each in others if not each.story.startswith(QUIET)]
    quiet = [each for each in others if each.story.startswith(QUIET)]
    size = rng.randint(FEWEST, MOST)
    chosen = [hidden, *shuffled(rng, same), *shuffled(rng, loud), *shuffled(rng, quiet)]
    return shuffled(rng, chosen[:size])


@dataclass(frozen=True)
class _Hunt:
    ground: Ground
    clues: Clues
    suspects: Sequence[Suspect]
    hidden: int
    rng: Random

    def record(self, seed: int) -> Record:
        tests = self._offered()
        names = {f"t{number}": test for number, test in enumerate(tests, 1)}
        priced = [
            Priced(name, test.minutes, frozenset(self._clears(test)), self.clues.depth(test))
            for name, test in names.items()
        ]
        others = [_id(index) for index in range(len(self.suspects)) if index != self.hidden]
        to_reach = {depth: self.clues.reach_minutes[stage.name] for depth, stage in enumerate(self.clues.stages)}
        par, work = cheapest(priced, others), cheapest_with_work(priced, others, to_reach)
        if par is None or work is None:
            raise ValueError("the tests offered do not tell all suspects apart")
        hidden = self.suspects[self.hidden]
        return {
            "seed": seed,
            "mode": self.ground.asked.mode,
            "base": self.ground.asked.base,
            "story": f"The driver notices: {hidden.story}.",
            "suspects": [_suspect(index, each) for index, each in enumerate(self.suspects)],
            "hidden": _id(self.hidden),
            "tests": [self._test(name, test) for name, test in names.items()],
            "stages": self._stages(tests),
            "par_minutes": par[0],
            "par_tests": list(par[1]),
            "par_with_strip_down_minutes": work[0],
            "par_with_strip_down_tests": list(work[1]),
            "because": self._because([names[name] for name in par[1]], par[0], work[0]),
        }

    def _shown(self, test: Candidate, index: int) -> object:
        return result(test, self.suspects[index].faults[0])

    def _clears(self, test: Candidate) -> list[str]:
        """Suspects that would show something else than what is seen."""
        seen = self._shown(test, self.hidden)
        return [_id(index) for index in range(len(self.suspects)) if self._shown(test, index) != seen]

    def _offered(self) -> list[Candidate]:
        """Tests that tell every suspect from every other, cheap ones first, and some more to choose from."""
        distinct = self._distinct()
        narrowing = [test for test in distinct if self._narrows(test)]
        plain = [test for test in distinct if len(self._kinds(test)) <= TELLS_ALL]
        left = set(combinations(range(len(self.suspects)), 2))
        chosen: list[Candidate] = []
        for useful in (narrowing, plain, distinct):
            chosen += self._parting(useful, left)
        if left:
            raise ValueError("no test tells these suspects apart")
        spare = [test for test in narrowing if test not in chosen]
        chosen += self.rng.sample(spare, max(0, min(TESTS - len(chosen), len(spare))))
        return sorted(chosen, key=lambda test: (self.clues.depth(test), test.test))

    def _parting(self, useful: Sequence[Candidate], left: set[tuple[int, int]]) -> list[Candidate]:
        """Tests that part pairs of suspects, most for their minutes first; what they part is taken out of `left`."""
        chosen = []
        while useful and left:
            parts = [self._parts(test, left) for test in useful]
            best = max(range(len(useful)), key=lambda index: (len(parts[index]) / self._cost(useful[index]), -index))
            if not parts[best]:
                break
            left -= parts[best]
            chosen.append(useful[best])
        return chosen

    def _narrows(self, test: Candidate) -> bool:
        """Whether a test leaves more than one suspect, whatever it shows: several must be put together."""
        return len(self._kinds(test)) <= TELLS_ALL and min(self._kinds(test).values()) > 1

    def _distinct(self) -> list[Candidate]:
        """Of tests that part the suspects in the same way the cheapest; those that part none are left out."""
        kept: dict[tuple[int, ...], Candidate] = {}
        for test in sorted(self.clues.tests, key=lambda test: (self._cost(test), test.test)):
            kinds = {shown: number for number, shown in enumerate(self._kinds(test))}
            if len(kinds) > 1:
                parting = tuple(kinds[self._shown(test, index)] for index in range(len(self.suspects)))
                kept.setdefault(parting, test)
        return list(kept.values())

    def _kinds(self, test: Candidate) -> Counter[object]:
        """What the suspects show on a test, each outcome with how many do."""
        return Counter(self._shown(test, index) for index in range(len(self.suspects)))

    def _cost(self, test: Candidate) -> int:
        return test.minutes + self.clues.reach_minutes[test.test.stage] // 4

    def _parts(self, test: Candidate, pairs: set[tuple[int, int]]) -> set[tuple[int, int]]:
        shown = [self._shown(test, index) for index in range(len(self.suspects))]
        return {(one, other) for one, other in pairs if shown[one] != shown[other]}

    def _test(self, name: str, test: Candidate) -> Record:
        return {
            "id": name,
            "title": self.clues.title(test),
            "how": self.clues.how(test),
            "minutes": test.minutes,
            "stage": test.test.stage,
            "put": test.test.kind.value,
            "at": list(test.test.at),
            "shut": list(test.test.blocked),
            "must": self.clues.outcome(test, test.sound),
            "shows": self.clues.outcome(test, result(test, self.suspects[self.hidden].faults[0])),
            "clears": self._clears(test),
        }

    def _stages(self, tests: Sequence[Candidate]) -> Record:
        used = {test.test.stage for test in tests}
        return {
            stage.name: {"title": stage.title, "minutes": self.clues.reach_minutes[stage.name]}
            for stage in self.clues.stages
            if stage.name in used
        }

    def _because(self, best: Sequence[Candidate], minutes: int, with_work: int) -> str:
        hidden = self.suspects[self.hidden]
        lines = [
            f"{self.clues.title(test)} ({self.clues.how(test)}): sound, {self.clues.outcome(test, test.sound)}; "
            f"here {self.clues.outcome(test, result(test, hidden.faults[0]))}"
            for test in best
        ]
        return (
            f"It is: {hidden.title}. {'. '.join(map(sentence, lines))}. Nothing else among the suspects shows this. It "
            f"can be found in {minutes} minutes of these tests, or in {with_work} minutes with the strip-down they "
            "take, and not sooner."
        )


def _suspect(index: int, each: Suspect) -> Record:
    faults = [{"item": fault.item, "form": fault.form} for fault in each.faults]
    return {"id": _id(index), "title": each.title, "faults": faults}


def _id(index: int) -> str:
    return f"s{index + 1}"
