"""Sizes of jets and channel restrictions for the mixtures that are wanted, as drills."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from boostcarb.drills import Drill
from boostcarb.fueling.circuit import Circuit, Drilling
from boostcarb.fueling.metering import Metering
from boostcarb.fueling.mixture import Enrichment, Pull, Status
from boostcarb.fueling.sizes import (
    PLACES,
    SERIES_SHOWN,
    DrillChoice,
    GroupSizes,
    Part,
    Size,
    first_not_smaller,
    three_around,
)
from boostcarb.physics.liquid import effective_area_in_series
from boostcarb.solving.situation import StateView
from boostcarb.states.root import find_root

WIDEST, WIDENING = 100.0, 1.3
"""No jet is looked for beyond this many times the nozzle's effective area; the step of the search for a bracket."""
TOO_RICH = 0.75
"""A lambda below which an engine without boost loses power, fouls its plugs and washes its bores (common practice)."""
NARROW_WINDOW = 0.98
"""A channel cannot pass more than this share of what its valve's window does: the rest has no restriction to set it."""


@dataclass(frozen=True, slots=True)
class _Need:
    """The effective liquid area that a state needs for its target."""

    state: StateView
    pull: Pull
    area_m2: float


class Sizer:
    """Sizes one group of one configuration; `factors` of the metering count."""

    def __init__(self, metering: Metering, circuit: Circuit, carries: str | None) -> None:
        self.metering = metering
        self.circuit = circuit
        self.carries = carries
        self._states = [state for state in metering.states if self._is_predicted(state)]
        self._needs: dict[str, _Need | None] = {}

    def sizes(self) -> GroupSizes:
        """Main jets first, then the restrictions for what they leave out."""
        group, main = self.circuit.group, self.circuit.main
        if main is None or self.circuit.nozzle is None or not self._states:
            return GroupSizes(group, (), not_sized=(f"{group}: in no state does a main circuit set the mixture",))
        need = self._largest(self._main_states())
        if need is None:
            return GroupSizes(group, (), not_sized=(f"{group} main jets: {self._nozzle_too_small()}",))
        jets = self._size(Part.main_jets, main, need, need.area_m2 / self.metering.factors.jets, 0.0)
        fitted = self.metering.main_area(self.circuit.with_bores({main.passage: jets.fit.diameter_m}))
        if self.carries == "full_boost":
            return self._alone(jets, need, fitted)
        return self._with_restrictions(jets, fitted)

    def _alone(self, jets: Size, need: _Need, fitted_m2: float) -> GroupSizes:
        """Jets that carry full boost alone: what they do before boost, and smaller jets with a second stage."""
        before = [state for state in self._states if state.needs_enrichment and not state.boosted]
        richest = self._richest(before, fitted_m2) if need.state.boosted else None
        first = self._largest(before) if richest is not None and richest < TOO_RICH else None
        if first is None or first.area_m2 >= need.area_m2:
            return GroupSizes(self.circuit.group, (jets,), (), richest)
        smaller = self._size(Part.main_jets, jets.found, first, first.area_m2 / self.metering.factors.jets, 0.0)
        holes = self.circuit.restriction or replace(
            jets.found, passage=f"{self.circuit.group}.power_restriction", title=Part.second_stage.value
        )
        second = self._restriction(Part.second_stage, holes, need, first.area_m2, need.area_m2 - first.area_m2)
        return GroupSizes(self.circuit.group, (jets,), (smaller, second) if second else (), richest)

    # --- which states count -----------------------------------------------------------------------------------

    def _is_predicted(self, state: StateView) -> bool:
        if self.circuit.group not in state.flowing_groups:
            return False
        pull = self.metering.pull(state, self.circuit)
        return self.metering.status(state, self.circuit, pull) is Status.predicted

    def _main_states(self) -> list[StateView]:
        boosted = [state for state in self._states if state.boosted and state.wide_open]
        wide_open = [state for state in self._states if state.needs_enrichment and not state.boosted]
        cruise = [state for state in self._states if state.needs_enrichment is False]
        by_load = {"cruise": cruise or wide_open, "full_boost": boosted or wide_open}
        return by_load.get(self.carries or "", wide_open) or self._states

    def _full_load(self) -> list[StateView]:
        boosted = [state for state in self._states if state.boosted and state.wide_open]
        return boosted or [state for state in self._states if state.wide_open]

    def _open_in(self, states: Sequence[StateView]) -> list[StateView]:
        return [state for state in states if self.metering.enrichment(state, self.circuit) is Enrichment.open]

    # --- areas ------------------------------------------------------------------------------------------------

    def _largest(self, states: Sequence[StateView]) -> _Need | None:
        needs = [self._need(state) for state in states]
        known = [need for need in needs if need is not None]
        return max(known, key=lambda need: need.area_m2) if len(known) == len(needs) and known else None

    def _need(self, state: StateView) -> _Need | None:
        if state.name not in self._needs:
            pull = self.metering.pull(state, self.circuit)
            area = self._area_for(pull, self.metering.targets.in_state(state))
            self._needs[state.name] = None if area is None else _Need(state, pull, area)
        return self._needs[state.name]

    def _area_for(self, pull: Pull, target: float) -> float | None:
        """The effective liquid area that gives a lambda; None where even a wide open hole gives too little fuel."""
        wanted = pull.air_kg_s / (target * self.metering.stoichiometric)
        head = pull.bowl_low_pa_abs - self.metering.booster_pressure(pull) - self.metering.lift_pa
        if head <= 0.0:
            return None
        density = self.metering.fuel.density_kg_m3

        def surplus(area: float) -> float:
            return self.metering.flow(self.circuit, pull, pull.bowl_low_pa_abs, area, 0.0).fuel_kg_s / wanted - 1.0

        # With the whole pull across the jet this is enough; the nozzle takes a part of it.
        low = high = wanted / math.sqrt(2.0 * density * head)
        widest = WIDEST * (self.circuit.nozzle.area_m2 if self.circuit.nozzle else 0.0)
        while surplus(high) < 0.0:
            if high > widest:
                return None
            low, high = high, WIDENING * high
        return find_root(surplus, low, high, place=f"{self.circuit.group} jets") if high > low else low

    # --- sizes ------------------------------------------------------------------------------------------------

    def _size(self, part: Part, found: Drilling, need: _Need, area_m2: float, beside_m2: float) -> Size:
        """Holes of an effective area, in a state with other holes of an area, factors included, beside them."""
        bore = found.bore_for(area_m2)
        choices = tuple(
            DrillChoice(drill, place, self._mixture_with(part, found, drill, need, beside_m2))
            for series in SERIES_SHOWN
            for place, drill in zip(PLACES, three_around(series, bore), strict=True)
            if drill is not None
        )
        return Size(
            group=self.circuit.group, part=part, found=found, state=need.state.name, state_title=need.state.title,
            target=self.metering.targets.in_state(need.state), enrichment_open=part is not Part.main_jets,
            area_m2=area_m2, bore_m=bore, fit=first_not_smaller(bore, choices), drills=choices,
        )

    def _mixture_with(self, part: Part, found: Drilling, drill: Drill, need: _Need, beside_m2: float) -> float | None:
        factors = self.metering.factors
        area = found.with_bore(drill.diameter_m).area_m2 * factors.jets
        if part is not Part.main_jets:
            area = self._through_window(area * factors.channels)
        point = self.metering.point_of_areas(self.circuit, need.pull, need.pull.bowl_low_pa_abs, beside_m2 + area, 0.0)
        return point.mixture if point else None

    def _with_restrictions(self, jets: Size, main_area_m2: float) -> GroupSizes:
        group, restriction = self.circuit.group, self.circuit.restriction
        needing = self._open_in(self._full_load())
        if restriction is None or not needing:
            return GroupSizes(group, (jets,), not_sized=tuple(self._without_valve(restriction)))
        need = self._largest(needing)
        if need is None:
            return GroupSizes(group, (jets,), not_sized=(f"{group} {Part.restrictions}: {self._nozzle_too_small()}",))
        if need.area_m2 <= main_area_m2:
            said = f"{group} {Part.restrictions}: none needed, the main jets alone are rich enough at full load"
            return GroupSizes(group, (jets,), not_sized=(said,))
        size = self._restriction(Part.restrictions, restriction, need, main_area_m2, need.area_m2 - main_area_m2)
        if size is None:
            said = f"{group} {Part.restrictions}: the window of the valve is too small; drill it or fit a larger valve"
            return GroupSizes(group, (jets,), not_sized=(said,))
        return self._staged(jets, size, need, main_area_m2)

    def _restriction(
        self, part: Part, found: Drilling, need: _Need, beside_m2: float, area_m2: float
    ) -> Size | None:
        """Restrictions that pass an effective area, factors included, with the valve's window before them."""
        own = area_m2 / (self.metering.factors.jets * self.metering.factors.channels)
        window = self._window()
        if window is not None:
            if own >= NARROW_WINDOW * window.area_m2:
                return None
            own = own / math.sqrt(1.0 - (own / window.area_m2) ** 2)
        return self._size(part, found, need, own, beside_m2)

    def _window(self) -> Drilling | None:
        return self.circuit.channels[0].window if self.circuit.channels else None

    def _through_window(self, area_m2: float) -> float:
        window = self._window()
        if window is None:
            return area_m2
        factor = self.metering.factors.jets * self.metering.factors.channels
        return effective_area_in_series(effective_areas_m2=[area_m2, factor * window.area_m2])

    def _staged(self, jets: Size, size: Size, need: _Need, main_area_m2: float) -> GroupSizes:
        """What the single stage does at full load before boost, and two stages where that is absurd."""
        before = self._open_in([state for state in self._states if state.needs_enrichment and not state.boosted])
        factor = self.metering.factors.jets * self.metering.factors.channels
        full = self._through_window(factor * size.found.with_bore(size.fit.diameter_m).area_m2)
        richest = self._richest(before, main_area_m2 + full) if need.state.boosted else None
        stages: tuple[Size, ...] = ()
        if richest is not None and richest < TOO_RICH:
            stages = self._two_stages(size.found, before, need, main_area_m2)
        return GroupSizes(self.circuit.group, (jets, size), stages, richest)

    def _richest(self, states: Sequence[StateView], area_m2: float) -> float | None:
        mixtures = []
        for state in states:
            pull = self.metering.pull(state, self.circuit)
            point = self.metering.point_of_areas(self.circuit, pull, pull.bowl_low_pa_abs, area_m2, 0.0)
            mixtures += [point.mixture] if point else []
        return min(mixtures, default=None)

    def _two_stages(
        self, holes: Drilling, before: Sequence[StateView], top: _Need, main_area_m2: float
    ) -> tuple[Size, ...]:
        need = self._largest(before)
        if need is None or not main_area_m2 < need.area_m2 < top.area_m2:
            return ()
        first = self._restriction(Part.restrictions, holes, need, main_area_m2, need.area_m2 - main_area_m2)
        second = self._restriction(Part.second_stage, holes, top, need.area_m2, top.area_m2 - need.area_m2)
        return tuple(size for size in (first, second) if size is not None)

    # --- words ------------------------------------------------------------------------------------------------

    def _without_valve(self, restriction: Drilling | None) -> list[str]:
        group = self.circuit.group
        if self.carries == "full_boost" or not self._full_load():
            return []
        if restriction is not None:
            return [f"{group} {Part.restrictions}: not sized, their valve is not open for sure at full load"]
        if self.carries == "cruise" or any(state.boosted for state in self._full_load()):
            return [f"{group}: nothing enriches these barrels at full load; its main jets are not meant to do it alone"]
        return []

    @staticmethod
    def _nozzle_too_small() -> str:
        return "no jet is large enough, the nozzle lets too little through or the bowl has too little pressure"
