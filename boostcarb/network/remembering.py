"""Answers kept by the forms of the items that were looked at to find them: most configurations differ elsewhere."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from operator import itemgetter
from typing import Generic, TypeVar

from boostcarb.network.model import Configuration

T = TypeVar("T")
Forms = Callable[[Configuration], object]


def forms_of(items: Iterable[str]) -> Forms:
    """What reads the forms of some items from a configuration, to be compared and hashed."""
    names = tuple(items)
    return itemgetter(*names) if names else lambda configuration: ()


class Remembered(Generic[T]):
    """What was found in configurations: found once for all that agree in the items that were looked at.

    >>> whistle = Remembered[str]()
    >>> whistle.at({"valve": "shut", "hose": "on"}, lambda: (["valve"], "silent"))
    'silent'
    >>> whistle.at({"valve": "shut", "hose": "off"}, lambda: (["valve", "hose"], "not asked"))
    'silent'
    """

    def __init__(self) -> None:
        self._kept: dict[frozenset[str], tuple[Forms, dict[object, T]]] = {}

    def at(self, configuration: Configuration, look: Callable[[], tuple[Iterable[str], T]]) -> T:
        """What is found in a configuration.

        Args:
            configuration: the form of every item.
            look: the items that were looked at, and what was found. Both must hang on the forms of these items alone.
        """
        for forms, known in self._kept.values():
            key = forms(configuration)
            if key in known:
                return known[key]
        items, found = look()
        names = frozenset(items)
        if names not in self._kept:
            self._kept[names] = forms_of(names), {}
        forms, known = self._kept[names]
        known[forms(configuration)] = found
        return found
