"""Requirements on the computed mixture of a barrel group."""

from __future__ import annotations

from collections.abc import Iterator

from boostcarb.findings import Quantity, Witness
from boostcarb.fueling.mixture import GroupMixture, Status
from boostcarb.network.model import Network
from boostcarb.rulebook import schema
from boostcarb.rulebook.kind import Kind, Place
from boostcarb.rulebook.valves import diaphragm_scope
from boostcarb.rulebook.view import Breach, Reachable, View

LAMBDA = "lambda"
WITHOUT_FUEL = (Status.no_fuel, Status.no_circuit)


class Mixture(Kind[schema.Mixture]):
    """The mixture of a group no leaner, or no richer, than this; no verdict where nobody gave bores or a reading."""

    def __init__(self, requirement: schema.Mixture, reachable: Reachable) -> None:
        super().__init__(requirement, reachable)
        network = reachable.network
        sizes = {group: network.circuit(group).jet_sizes for group in network.circuits}
        self.jets = {group: name for group, name in sizes.items() if name in network.items}

    def places(self, network: Network) -> list[Place]:
        """Barrel groups whose sizes somebody knows."""
        return [(group,) for group in sorted(self.jets)]

    def scope(self, network: Network, place: Place) -> frozenset[str]:
        """Jets and their sizes, the bowl, every valve of the group, and every passage of its main circuit."""
        group = place[0]
        names = {self.jets[group], *(item.name for item in network.items.values() if item.feeds == group)}
        for way in network.ways:
            if network.circuit(group).well in (way.a, way.b):
                names.update(item for item, _ in way.conditions)
        scope = self.reachable.movable(names) | self.reachable.pressure_scope(network.circuit(group).bowl)
        for diaphragm in network.diaphragms.values():
            if diaphragm.feeds == group:
                scope |= diaphragm_scope(diaphragm, self.reachable)
        return scope

    def breaches(self, view: View, place: Place) -> Iterator[Breach]:
        """The worst state of those in which the mixture is out of bounds."""
        if view.mixtures is None:
            return
        group = place[0]
        mixtures = view.mixtures(view.configuration, group)
        failing = [
            (excess, state.name)
            for state in view.during(self.requirement.during)
            if state.name in mixtures and (excess := self._excess(mixtures[state.name])) > 0.0
        ]
        if not failing:
            return
        title = view.network.group_title(group)
        _, worst = max(failing, key=lambda each: each[0])
        items = [self.jets[group], *sorted(i.name for i in view.network.items.values() if i.feeds == group)]
        yield Breach(
            place=group,
            place_title=title,
            statement=self._statement(mixtures[worst]),
            witness=Witness(quantity=self._quantity(title, mixtures[worst]), items=view.item_forms(items)),
            state=worst,
            states=tuple(name for _, name in failing),
        )

    def _limit(self, mixture: GroupMixture) -> float:
        if self.requirement.richer_than is not None:
            return self.requirement.richer_than
        return mixture.target * (1.0 + (self.requirement.leaner_by or 0.0))

    def _excess(self, mixture: GroupMixture) -> float:
        """How far the mixture is out of bounds, relative; infinite without fuel.

        Where the main circuit only just starts nothing is known: `fuel` blocks on that in boost.
        """
        lean = self.requirement.leaner_by is not None
        if mixture.status in WITHOUT_FUEL:
            return float("inf") if lean else 0.0
        point = mixture.leanest if lean else mixture.richest
        if point is None:
            return 0.0
        ratio = point.mixture / self._limit(mixture)
        return ratio - 1.0 if lean else 1.0 - ratio

    def _statement(self, mixture: GroupMixture) -> str:
        if mixture.status in WITHOUT_FUEL:
            return "get no fuel"
        return f"are {'leaner' if self.requirement.leaner_by is not None else 'richer'} than they may be"

    def _quantity(self, title: str, mixture: GroupMixture) -> Quantity | None:
        if mixture.leanest is None or mixture.richest is None:
            return None
        low, high = mixture.richest.mixture, mixture.leanest.mixture
        return Quantity(f"lambda of the {title}", low, high, self._limit(mixture), LAMBDA)
