"""Requirements on what is fitted, and on whether anybody has looked."""

from __future__ import annotations

from collections.abc import Iterator

from boostcarb.findings import Witness
from boostcarb.network.model import Network
from boostcarb.network.tracing import matching
from boostcarb.rulebook import schema
from boostcarb.rulebook.kind import Kind, Place
from boostcarb.rulebook.view import Breach, View


class FormRequired(Kind[schema.FormRequired]):
    """A part or line in one of some forms, or in none of some."""

    def places(self, network: Network) -> list[Place]:
        """The items that the pattern covers."""
        return [(name,) for name in matching(self.requirement.item, network.items)]

    def scope(self, network: Network, place: Place) -> frozenset[str]:
        """The item, and those it exists by."""
        item = network.items[place[0]]
        return self.reachable.movable({item.name, *(name for name, _ in item.conditions)})

    def allowed(self, form: str) -> bool:
        """Whether the requirement allows a form."""
        one_of, none_of = self.requirement.one_of, self.requirement.none_of
        return (one_of is None or form in one_of) and (none_of is None or form not in none_of)

    def breaches(self, view: View, place: Place) -> Iterator[Breach]:
        """The form it has."""
        item = view.network.items[place[0]]
        if any(view.configuration[name] not in forms for name, forms in item.conditions):
            return
        form = view.configuration[item.name]
        if not self.allowed(form):
            cure = {(item.name, other) for other in self.reachable.forms[item.name] if self.allowed(other)}
            for name, forms in item.conditions:
                cure |= {(name, other) for other in self.reachable.forms[name] if other not in forms}
            yield Breach(
                place=item.name,
                place_title=item.title,
                statement=item.forms[form].title,
                witness=Witness(items=((item.name, form),)),
                cure=frozenset(cure),
            )


class LookedAt(Kind[schema.LookedAt]):
    """Every item confirmed. A change to an item settles it: whoever makes the change has looked."""

    def places(self, network: Network) -> list[Place]:
        """Items nobody has looked at."""
        return [(name,) for name in network.unconfirmed()]

    def scope(self, network: Network, place: Place) -> frozenset[str]:
        """The item itself, and those it exists by."""
        item = network.items[place[0]]
        return self.reachable.movable({item.name, *(name for name, _ in item.conditions)})

    def breaches(self, view: View, place: Place) -> Iterator[Breach]:
        """The item with the form that is assumed for it, unless it is changed anyway."""
        item = view.network.items[place[0]]
        if view.configuration[item.name] != item.found:
            return
        if any(view.configuration[name] not in forms for name, forms in item.conditions):
            return
        yield Breach(
            place=item.name,
            place_title=item.title,
            statement=f"nobody has looked; taken to be: {item.forms[item.found].title}",
            witness=Witness(items=((item.name, item.found),)),
        )
