"""A question before it is numbered, and how a lesson is put together out of many."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from itertools import islice
from random import Random
from typing import TypeVar

from boostcarb.board.lesson.ground import Ground
from boostcarb.board.question import Record

Value = TypeVar("Value")

LOOKED_AT = 16
"""Drafts of a kind that are compared for one that keeps the right answers balanced."""


@dataclass(frozen=True, slots=True)
class Draft:
    """A question with its right answer, wrong ones, and the reason.

    `subject` is what it is about: a lesson asks about each once before it asks again. `sort` says which sort of answer
    is right; a lesson keeps the sorts of a kind even. `level` is 1 to 3.
    """

    kind: str
    question: str
    subject: str
    sort: str
    right: str
    wrong: tuple[str, ...]
    because: str
    level: int = 2
    state: str | None = None
    changes: Mapping[str, str] = field(default_factory=dict)
    about: Mapping[str, list[str]] = field(default_factory=dict)
    shows: Mapping[str, list[str]] = field(default_factory=dict)


Kind = Callable[[Ground, Random], Iterator[Draft]]


def put_together(kinds: Mapping[str, Kind], ground: Ground, rng: Random, count: int) -> list[Draft]:
    """So many questions of all kinds in turn, easy ones first; fewer where the carburetor gives no more."""
    names = list(kinds)
    rng.shuffle(names)
    waiting = {}
    for name in names:
        own = Random(rng.random())  # noqa: S311  no secret
        waiting[name] = _Source(kinds[name](ground, own), own)
    chosen: list[Draft] = []
    while waiting and len(chosen) < count:
        for name in list(waiting):
            if len(chosen) == count:
                break
            draft = waiting[name].next()
            if draft is None:
                del waiting[name]
            else:
                chosen.append(draft)
    return sorted(chosen, key=lambda draft: draft.level)


class _Source:
    """The drafts of one kind: new subjects first, right answers of all sorts in turn."""

    def __init__(self, drafts: Iterator[Draft], rng: Random) -> None:
        self._drafts = drafts
        self._rng = rng
        self._pool: list[Draft] = []
        self._sorts: Counter[str] = Counter()
        self._subjects: Counter[str] = Counter()
        self._asked: set[str] = set()

    def next(self) -> Draft | None:
        """The next question, or None when there is no new one."""
        self._pool += islice(self._drafts, max(0, LOOKED_AT - len(self._pool)))
        self._pool = [draft for draft in self._pool if draft.question not in self._asked]
        if not self._pool:
            return None
        least = min(map(self._used, self._pool))
        fresh = {each.sort: each for each in reversed(self._pool) if self._used(each) == least}
        best = fresh[self._rng.choice(sorted(fresh))]
        self._pool.remove(best)
        self._asked.add(best.question)
        self._sorts[best.sort] += 1
        self._subjects[best.subject] += 1
        return best

    def _used(self, draft: Draft) -> tuple[int, int]:
        return self._subjects[draft.subject], self._sorts[draft.sort]


def question_record(draft: Draft, number: int, ground: Ground, rng: Random) -> Record:
    """A draft with its choices in an order that gives nothing away; what the air path carries on has no way to show."""
    texts = [draft.right, *draft.wrong]
    rng.shuffle(texts)
    choices = [{"id": letter, "text": text} for letter, text in zip("abcdefgh", texts, strict=False)]
    record: Record = {
        "id": f"q{number}",
        "kind": draft.kind,
        "level": draft.level,
        "question": draft.question,
        "changes": {**ground.asked.changes, **draft.changes},
        "about": {
            "spaces": draft.about.get("spaces", []),
            "ways": [way for way in draft.about.get("ways", []) if way in ground.ways],
            "diaphragms": draft.about.get("diaphragms", []),
        },
        "choices": choices,
        "right": next(choice["id"] for choice in choices if choice["text"] == draft.right),
        "because": draft.because,
        "shows": {
            "spaces": draft.shows.get("spaces", []),
            "ways": [way for way in draft.shows.get("ways", []) if way in ground.ways],
        },
    }
    return record | ({"state": draft.state} if draft.state is not None else {})


def shuffled(rng: Random, values: Iterable[Value]) -> list[Value]:
    """The values in another order."""
    mixed = list(values)
    rng.shuffle(mixed)
    return mixed
