"""Requirements on how wide one hole must be for another."""

from __future__ import annotations

from collections.abc import Iterator

from boostcarb.findings import Quantity, Witness
from boostcarb.network.model import Network, Way
from boostcarb.network.tracing import matching
from boostcarb.rulebook import schema
from boostcarb.rulebook.kind import Kind, Place
from boostcarb.rulebook.view import Breach, View


class AreaRatio(Kind[schema.AreaRatio]):
    """A hole at least so many times as wide as the ones that shall meter, where somebody measured both."""

    def places(self, network: Network) -> list[Place]:
        """Pairs of passages of one barrel group."""
        pairs: list[Place] = []
        for name in matching(self.requirement.of, network.items):
            head, _, tail = self.requirement.of.partition("*")
            other = self.requirement.over.replace("*", name[len(head) : len(name) - len(tail)], 1)
            if other in network.items and self._measured(network, name) and self._measured(network, other):
                pairs.append((name, other))
        return pairs

    @staticmethod
    def _way(network: Network, name: str) -> Way | None:
        return next((way for way in network.ways if way.name == name), None)

    def _measured(self, network: Network, name: str) -> bool:
        way = self._way(network, name)
        return way is not None and way.bore_measured

    def scope(self, network: Network, place: Place) -> frozenset[str]:
        """Whatever decides whether the two passages are open."""
        ways = [way for name in place if (way := self._way(network, name)) is not None]
        return self.reachable.movable({item for way in ways for item, _ in way.conditions})

    def breaches(self, view: View, place: Place) -> Iterator[Breach]:
        """The ratio of their areas, where both are open and it is too small."""
        wide, narrow = (self._way(view.network, name) for name in place)
        if wide is None or narrow is None or not all(way.exists(view.configuration) for way in (wide, narrow)):
            return
        ratio = wide.area_m2 / narrow.area_m2
        if ratio < self.requirement.at_least:
            yield Breach(
                place=wide.name,
                place_title=wide.title,
                statement=f"too narrow for the {narrow.title}: it meters in their place",
                witness=Witness(
                    quantity=Quantity(
                        f"area over that of the {narrow.title}", ratio, ratio, self.requirement.at_least, ""
                    ),
                    items=view.item_forms(place),
                ),
            )
