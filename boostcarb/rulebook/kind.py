"""What every kind of requirement can tell: where it applies, what it hangs on there, how it fails."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterator
from copy import copy
from typing import ClassVar, Generic, TypeVar

from boostcarb.network.model import Configuration, Network
from boostcarb.rulebook.view import Breach, Reachable, View

Place = tuple[str, ...]
R = TypeVar("R")


class Kind(ABC, Generic[R]):
    """A requirement of one rule, ready to be judged on a network."""

    far: ClassVar[bool] = False
    """Whether a verdict is kept by its whole scope: where `near` is hardly smaller and takes its time."""

    def __init__(self, requirement: R, reachable: Reachable) -> None:
        self.requirement = requirement
        self.reachable = reachable

    @abstractmethod
    def places(self, network: Network) -> list[Place]:
        """Where it applies."""

    @abstractmethod
    def scope(self, network: Network, place: Place) -> frozenset[str]:
        """Every movable item that its verdict at a place could hang on."""

    def near(self, configuration: Configuration, place: Place) -> frozenset[str]:
        """The movable items of which one must change before it breaks otherwise than in a configuration."""
        here = copy(self)
        here.reachable = self.reachable.near(configuration)
        return here.scope(self.reachable.network, place)

    @abstractmethod
    def breaches(self, view: View, place: Place) -> Iterator[Breach]:
        """How it fails at a place; nothing where it holds."""

    def fails(self, view: View, place: Place) -> bool:
        """Whether it fails at a place: the same answer as `breaches`, for kinds that can give it faster."""
        return next(self.breaches(view, place), None) is not None
