"""Requirements on named margins of the fuel side. Judged only where the job gives what the margin hangs on."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from functools import cached_property

from boostcarb.description.job import Job
from boostcarb.findings import Quantity, Witness
from boostcarb.fueling import records
from boostcarb.fueling.air_margins import air_margins
from boostcarb.fueling.solved import Solved, solved_for
from boostcarb.network.model import Network
from boostcarb.network.tracing import matching
from boostcarb.rulebook import schema
from boostcarb.rulebook.kind import Kind, Place
from boostcarb.rulebook.view import Breach, View

EVERYTHING: tuple[str, ...] = ()
NEEDS: Mapping[str, tuple[str, ...]] = {
    "venturi_flow": EVERYTHING,
    "rated_flow": EVERYTHING,
    "needle_flow": ("supply", "regulator_pressure"),
    "needle_closing": ("supply", "float_force"),
    "needle_after_lift_off": ("supply", "float_force"),
    "fuel_pump_flow": ("supply", "pump"),
    "pump_override": ("pump", "*", "override_preload"),
    "pump_parts": ("pump", "*"),
    "pump_nozzle_seals": ("pump", "*", "seals"),
    "jet_cover": ("bowls", "*", "level"),
    "float_clearance": ("bowls", "*", "extensions"),
    "bowl_boiling": ("supply", "bowl_temperature"),
}
"""What the job must give before a margin is judged, `*` for any barrel group: a guess makes no finding."""

FELT = ("*.bowl", "*.pump_dry_side", "regulator.reference_side")
FITTED = ("fuel_regulator", "*.needle_seat", "*.pump", "*.pump_delivery", "*.pump_nozzle", "*.float", "*.pump_cover")


class Margin(Kind[schema.Margin]):
    """A named margin that is at least so much."""

    def places(self, network: Network) -> list[Place]:
        """The margin; the finding names where."""
        return [(self.requirement.of,)]

    def scope(self, network: Network, place: Place) -> frozenset[str]:
        """The air path; for the fuel side also what the bowls, the pumps and the regulator feel and what is fitted."""
        if not NEEDS[self.requirement.of]:
            return self.reachable.movable(network.air_path_items)
        return self._fitted.union(*(self.reachable.pressure_scope(space) for space in self._felt))

    @cached_property
    def _felt(self) -> tuple[str, ...]:
        return tuple(name for pattern in FELT for name in matching(pattern, self.reachable.network.spaces))

    @cached_property
    def _fitted(self) -> frozenset[str]:
        """What is fitted, as far as it can change, with what it exists by."""
        every = self.reachable.network.items
        items = {name for pattern in FITTED for name in matching(pattern, every)}
        return self.reachable.movable(items.union(other for name in items for other, _ in every[name].conditions))

    def breaches(self, view: View, place: Place) -> Iterator[Breach]:
        """At each place the least margin, where it is below the limit."""
        job = view.situations.job
        groups = given_groups(job, NEEDS[self.requirement.of])
        if not groups:
            return
        short: dict[str, list[records.Margin]] = {}
        for margin in self._margins(solved_for(view.network, view.situations, view.configuration)):
            group = margin.place.partition(".")[0]
            if margin.value < self.requirement.at_least and (group in groups or "*" in groups):
                short.setdefault(margin.place, []).append(margin)
        for found in short.values():
            yield self._breach(view, found)

    def _margins(self, solved: Solved) -> Iterable[records.Margin]:
        if not NEEDS[self.requirement.of]:
            return air_margins(solved, self.requirement.of)
        from boostcarb.fueling.margins import margins  # noqa: PLC0415  only where the job says something of the fuel side

        return margins(solved, self.requirement.of)

    def _breach(self, view: View, found: list[records.Margin]) -> Breach:
        worst = min(found, key=lambda margin: margin.value)
        return Breach(
            place=worst.place,
            place_title=worst.place_title,
            statement=worst.statement,
            witness=Witness(
                readings=() if worst.state is None else tuple(view.reading(each, worst.state) for each in worst.spaces),
                quantity=Quantity(worst.name, worst.value, worst.value, self.requirement.at_least, ""),
                items=view.item_forms(worst.items),
            ),
            state=worst.state,
            states=tuple(margin.state for margin in found if margin.state is not None),
        )


def given_groups(job: Job, path: tuple[str, ...]) -> frozenset[str]:
    """Barrel groups for which the job gives what a margin needs; `*` where it is not a matter of groups."""
    if "*" not in path:
        return frozenset("*") if _at(job, path) else frozenset()
    section = getattr(job, path[0]) or {}
    return frozenset(group for group, said in section.items() if _at(said, path[2:]))


def _at(record: object, path: tuple[str, ...]) -> bool:
    for name in path:
        record = getattr(record, name, None)
        if record is None:
            return False
    return True
