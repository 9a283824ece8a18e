"""The cheapest set of tests that leaves one suspect: exact."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Priced:
    """A test with its minutes, the suspects that its result clears, and how far things come apart for it."""

    name: str
    minutes: int
    clears: frozenset[str]
    depth: int = 0


def cheapest(tests: Sequence[Priced], suspects: Iterable[str]) -> tuple[int, tuple[str, ...]] | None:
    """Least minutes after which all these suspects are cleared, with the tests; None where they never are.

    Whoever chooses tests one after the other pays at least as much: at the end all of them must be cleared by tests
    that were done. Of equally cheap sets the one with the fewest tests, then the first by name.

    >>> tests = [Priced("a", 5, frozenset("xy")), Priced("b", 2, frozenset("x")), Priced("c", 2, frozenset("y"))]
    >>> cheapest(tests, "xy")
    (4, ('b', 'c'))
    """
    bits = {name: 1 << place for place, name in enumerate(sorted(suspects))}
    wanted = (1 << len(bits)) - 1
    best: dict[int, tuple[int, int, tuple[str, ...]]] = {0: (0, 0, ())}
    for test in sorted(tests, key=lambda each: each.name):
        mask = sum(bits[name] for name in test.clears if name in bits)
        for cleared, (minutes, number, names) in list(best.items()):
            now = cleared | mask
            found = (minutes + test.minutes, number + 1, (*names, test.name))
            if now != cleared and (now not in best or found < best[now]):
                best[now] = found
    return None if wanted not in best else (best[wanted][0], best[wanted][2])


def cheapest_with_work(
    tests: Sequence[Priced], suspects: Iterable[str], to_reach: Mapping[int, int]
) -> tuple[int, tuple[str, ...]] | None:
    """The same with the strip-down down to the deepest test added; `to_reach` has its minutes for each depth."""
    wanted = list(suspects)
    found = []
    for depth, minutes in sorted(to_reach.items()):
        within = cheapest([test for test in tests if test.depth <= depth], wanted)
        if within is not None:
            found.append((within[0] + minutes, within[1]))
    return min(found) if found else None
