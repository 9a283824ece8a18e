"""Requirements on what is fitted, and on whether anybody has looked."""

from __future__ import annotations

from collections.abc import Iterator

from boostcarb.findings import Witness
from boostcarb.network.model import Item, Network
from boostcarb.network.tracing import matching
from boostcarb.rulebook import schema
from boostcarb.rulebook.kind import Kind, Place, R
from boostcarb.rulebook.view import Breach, View


class OfForm(Kind[R]):
    """A requirement on the form of each item of a pattern, whatever its neighbors are."""

    def scope(self, network: Network, place: Place) -> frozenset[str]:
        """The item, and those it exists by."""
        item = network.items[place[0]]
        return self.reachable.movable({item.name, *(name for name, _ in item.conditions)})

    def allowed(self, item: Item, form: str) -> bool:
        """Whether the requirement allows a form."""
        raise NotImplementedError

    def statement(self, view: View, item: Item, form: str) -> str:
        """How a form fails."""
        return item.forms[form].title

    def breaches(self, view: View, place: Place) -> Iterator[Breach]:
        """The form it has."""
        item = view.network.items[place[0]]
        if not item.is_there(view.configuration):
            return
        form = view.configuration[item.name]
        if not self.allowed(item, form):
            cure = {(item.name, other) for other in self.reachable.forms[item.name] if self.allowed(item, other)}
            for name, forms in item.conditions:
                cure |= {(name, other) for other in self.reachable.forms[name] if other not in forms}
            yield Breach(
                place=item.name,
                place_title=item.title,
                statement=self.statement(view, item, form),
                witness=Witness(items=((item.name, form),)),
                cure=frozenset(cure),
            )


class FormRequired(OfForm[schema.FormRequired]):
    """A part or line in one of some forms, or in none of some."""

    def places(self, network: Network) -> list[Place]:
        """The items that the pattern covers."""
        return [(name,) for name in matching(self.requirement.item, network.items)]

    def allowed(self, item: Item, form: str) -> bool:
        """Whether the form is one of those required, or none of those refused."""
        one_of, none_of = self.requirement.one_of, self.requirement.none_of
        return (one_of is None or form in one_of) and (none_of is None or form not in none_of)


class SuitsFuel(OfForm[schema.SuitsFuel]):
    """What meets the fuel is of a material that stands it."""

    def places(self, network: Network) -> list[Place]:
        """The items of the pattern that say what they are made of."""
        named = matching(self.requirement.item, network.items)
        return [(name,) for name in named if network.items[name].kind == "material"]

    def allowed(self, item: Item, form: str) -> bool:
        """Whether the material is rated well enough for the job's fuel."""
        suits = item.forms[form].suits
        return suits is None or suits.rating not in self.requirement.none_of

    def statement(self, view: View, item: Item, form: str) -> str:
        """The material, the fuel, and what each source says where they differ."""
        suits = item.forms[form].suits
        said = item.forms[form].title
        if suits is None:
            return said
        if suits.rating == "no data":
            return f"{said}, in {suits.fuel}: no source speaks of it"
        rating: str = suits.rating
        if suits.conflict:
            rating = f"check the grade, sources differ: {' or '.join(dict.fromkeys(r.rating for r in suits.ratings))}"
        return f"{said}, in {suits.fuel}: {rating} (sources: boostcarb materials {suits.material})"


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
        if not item.is_there(view.configuration):
            return
        if any(view.network.items[name].found not in forms for name, forms in item.conditions):
            return  # it comes only with a new part: whoever fits that has looked
        yield Breach(
            place=item.name,
            place_title=item.title,
            statement=f"nobody has looked; taken to be: {item.forms[item.found].title}",
            witness=Witness(items=((item.name, item.found),)),
        )
