"""What a lesson stands on: one configuration with its pressures and paths, and words for them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from boostcarb.bench import Bench
from boostcarb.board.study import Asked, Study
from boostcarb.findings import Step
from boostcarb.network.model import LATENT, Configuration, Item, Network, Way
from boostcarb.network.tracing import reached
from boostcarb.rulebook.view import View
from boostcarb.solving.pressures import AIR, Nature
from boostcarb.solving.situation import StateView

CLEAR_PA, ALIKE_PA = 2000.0, 50.0
"""Pressures further apart than the first are told apart, nearer than the second they are one (assumption)."""


@dataclass(frozen=True)
class Ground:
    """One configuration that questions are asked of."""

    study: Study
    asked: Asked
    bench: Bench
    configuration: Configuration

    @classmethod
    def of(cls, study: Study, asked: Asked) -> Ground:
        """What stands on the board. Raises: BadDescription for an unknown mode, base, item or form."""
        return cls(study, asked, study.bench(asked.mode), study.configuration(asked))

    @property
    def network(self) -> Network:
        """The graph."""
        return self.bench.network

    @cached_property
    def view(self) -> View:
        """The configuration, solved when asked."""
        return self.bench.view(self.configuration)

    @cached_property
    def drive(self) -> tuple[StateView, ...]:
        """States that last: no backfires."""
        return tuple(state for state in self.view.states if not state.event)

    @cached_property
    def ways(self) -> Mapping[str, Way]:
        """Ways by name."""
        return {way.name: way for way in self.network.ways}

    @cached_property
    def ways_of_item(self) -> Mapping[str, tuple[Way, ...]]:
        """Ways that an item has a say in, by its name."""
        found: dict[str, list[Way]] = {}
        for way in self.network.ways:
            for item in dict.fromkeys([*(name for name, _ in way.conditions), *([way.inline] if way.inline else [])]):
                found.setdefault(item, []).append(way)
        return {item: tuple(ways) for item, ways in found.items()}

    def with_change(self, item: str, form: str) -> Ground:
        """The same with one item in another form."""
        return replace(self, configuration={**self.configuration, item: form})

    # --- pressures ------------------------------------------------------------------------------------------

    def range_of(self, space: str, state: StateView) -> tuple[float, float]:
        """Lowest and highest pressure of a space, Pa absolute."""
        return self.view.pressures.range_of(space, state.name)

    def is_point(self, space: str, state: StateView) -> bool:
        """Whether the pressure of a space is one number."""
        low, high = self.range_of(space, state)
        return high - low < ALIKE_PA

    def nature(self, space: str) -> Nature:
        """Why a space has the pressure it has."""
        return self.view.pressures.spaces[space].nature

    def compared(self, one: str, other: str, state: StateView) -> int | None:
        """1 where the first space clearly has the higher pressure, -1 the second, 0 where they are alike, else None."""
        a, b = self.range_of(one, state), self.range_of(other, state)
        if a[0] - b[1] > CLEAR_PA:
            return 1
        if b[0] - a[1] > CLEAR_PA:
            return -1
        return 0 if max(a[1], b[1]) - min(a[0], b[0]) < ALIKE_PA else None

    def feeds(self, space: str, state: StateView) -> dict[str, tuple[Step, ...]]:
        """Sources that a space is open to in a state, each with the path from the space to it, nearest first."""

        def keep(way: Way) -> bool:
            return way.carries == AIR and self.view.passes_in(way, state)

        paths = reached(self.network, self.configuration, space, keep, against=True)
        found = {name: path for name, path in paths.items() if self.network.spaces[name].source and name != space}
        return dict(sorted(found.items(), key=lambda each: (len(each[1]), each[0])))

    # --- changes --------------------------------------------------------------------------------------------

    def is_in_use(self, space: str) -> bool:
        """Whether a space has an open way or a diaphragm: one of what is not fitted has neither."""
        if any(way.exists(self.configuration) for way in self.network.ways_of[space]):
            return True
        sides = (each for each in self.network.diaphragms.values() if each.exists(self.configuration))
        return any(space in (each.first, each.second) for each in sides)

    def offered(self, names: Iterable[str]) -> Iterator[tuple[str, str]]:
        """Single changes of these items that somebody could make, and that leave the air path as it is."""
        for name in names:
            item = self.network.items[name]
            if item.kind == LATENT or name in self.network.air_path_items or not item.is_there(self.configuration):
                continue
            for form in self.bench.judge.reachable.offered[name]:
                if form != self.configuration[name] and not self._clashes(item, form):
                    yield name, form

    def _clashes(self, item: Item, form: str) -> bool:
        return not item.forms[form].goes_with(self.configuration) or any(
            form in forms
            for other in self.network.items.values()
            for name, forms in other.forms[self.configuration[other.name]].not_with
            if name == item.name
        )

    # --- words ----------------------------------------------------------------------------------------------

    def the(self, space: str) -> str:
        """A space with its article."""
        return f"the {self.network.title_of(space)}"

    def pressure(self, space: str, state: StateView) -> str:
        """The pressure of a space in words."""
        return pressure_text(*self.range_of(space, state))

    def path(self, start: str, steps: Iterable[Step]) -> str:
        """A path as a line: space > [way] > space."""
        parts = [self.network.title_of(start)]
        for step in steps:
            way = self.ways.get(step.way)
            parts += [f"[{way.title if way else step.way}]", self.network.title_of(step.into)]
        return " > ".join(parts)

    def change(self, item: str, form: str) -> str:
        """A change in words: what, and from which form to which."""
        found = self.network.items[item]
        return f"{found.title}: {found.forms[form].title} instead of {found.forms[self.configuration[item]].title}"

    def why_pressure(self, space: str, state: StateView) -> tuple[str, list[str], list[str]]:
        """Why a space has its pressure in a state, in words, with the spaces and ways that show it."""
        text = f"in {self.the(space)} there is {self.pressure(space, state)}"
        nature = self.nature(space)
        feeds = self.feeds(space, state) if nature is Nature.tied else {}
        if not feeds:
            return f"{text} ({NATURES[nature]})", [space], []
        sources = list(feeds)[:2]
        lines = [self.path(space, feeds[source]) for source in sources]
        steps = [step for source in sources for step in feeds[source]]
        words = f"{text}, as it is open to {' and '.join(self.the(source) for source in sources)} ({'; '.join(lines)})"
        return words, list(dict.fromkeys([space, *(step.into for step in steps)])), [step.way for step in steps]


NATURES = {
    Nature.source: "the air path sets it",
    Nature.tied: "open ways set it",
    Nature.held: "a one-way valve holds it",
    Nature.sealed: "sealed: it keeps what was shut in when it was put together, warmer or colder",
    Nature.metering: "the metering sets it",
}


def kpa(pa: float) -> str:
    """A pressure or a difference in words.

    >>> kpa(152930.6), kpa(450.0)
    ('152.9 kPa', '0.45 kPa')
    """
    return f"{pa / 1000:.2f} kPa" if 0.0 < abs(pa) < 1000.0 else f"{pa / 1000:.1f} kPa"


def pressure_text(low: float, high: float) -> str:
    """A pressure or its range, absolute.

    >>> pressure_text(97773.0, 97773.0), pressure_text(81794.0, 127175.0)
    ('97.8 kPa', '81.8 to 127.2 kPa')
    """
    return kpa(low) if kpa(low) == kpa(high) else f"{low / 1000:.1f} to {kpa(high)}"


def sentence(text: str) -> str:
    """Text with a capital first letter.

    >>> sentence("light boost")
    'Light boost'
    """
    return text[:1].upper() + text[1:]
