"""Requirements on how fast a signal arrives."""

from __future__ import annotations

import math
from collections.abc import Iterator

from boostcarb.findings import Quantity, Witness
from boostcarb.network.model import Network
from boostcarb.network.tracing import matching
from boostcarb.rulebook import schema
from boostcarb.rulebook.kind import Kind, Place
from boostcarb.rulebook.valves import diaphragm_scope
from boostcarb.rulebook.view import Breach, View
from boostcarb.transient.lag import Change, Lag, opening_lag


class FollowsInTime(Kind[schema.FollowsInTime]):
    """A valve that its signal opens soon enough after the state has changed."""

    def places(self, network: Network) -> list[Place]:
        """The diaphragms that the pattern covers."""
        return [(name,) for name in matching(self.requirement.diaphragm, network.diaphragms)]

    def scope(self, network: Network, place: Place) -> frozenset[str]:
        """Items of both sides' regions and of the diaphragm itself."""
        return diaphragm_scope(network.diaphragms[place[0]], self.reachable)

    def breaches(self, view: View, place: Place) -> Iterator[Breach]:
        """The state into which the signal takes longest."""
        late = {state: lag.time_s for state, lag in self._lags(view, place[0]) if lag.time_s > self.requirement.within}
        if not late:
            return
        diaphragm = view.network.diaphragms[place[0]]
        worst = max(late, key=lambda state: late[state])
        never = math.isinf(late[worst])
        time, within = late[worst], self.requirement.within
        yield Breach(
            place=diaphragm.name,
            place_title=diaphragm.title,
            statement="its chamber never follows the signal" if never else "its signal comes too late",
            witness=Witness(
                readings=(view.reading(diaphragm.first, worst), view.reading(diaphragm.second, worst)),
                quantity=None if never else Quantity("time until it opens", time, time, within, "s"),
                items=view.item_forms(sorted(diaphragm.items())),
            ),
            state=worst,
            states=tuple(late),
        )

    def _lags(self, view: View, name: str) -> Iterator[tuple[str, Lag]]:
        """How long the valve waits, by the state that is gone into."""
        for before in view.named([self.requirement.from_state]):
            for after in view.named(self.requirement.to_states):
                change = Change(view.network, view.configuration, view.pressures, before, after)
                lag = opening_lag(change, view.network.diaphragms[name], enough_s=self.requirement.within)
                if lag is not None:
                    yield after.name, lag
