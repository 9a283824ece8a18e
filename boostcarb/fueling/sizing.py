"""Sizes of jets and channel restrictions for the mixtures that are wanted, as drills."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from boostcarb.drills import Drill
from boostcarb.fueling.circuit import Circuit, Drilling
from boostcarb.fueling.metering import Factors, Metering
from boostcarb.fueling.mixture import Enrichment, Pull, Status
from boostcarb.fueling.sizes import (
    PLACES,
    SERIES_SHOWN,
    DrillChoice,
    GroupSizes,
    Part,
    RichStart,
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
NARROW_WINDOW = math.sqrt(0.5)
"""A channel that passes more than this share of what its valve's window does is metered by the window: there the
restriction is as large as the window (two equal holes in series pass 1 / root 2 of one)."""
OF_WINDOW = 0.5
"""Restrictions stay at most at this share of the window's area, lest the window meters (common practice, no source)."""
UNDER_NOZZLE = 1.5
"""The nozzle has at least this many times the area of what feeds it, lest the nozzle meters (common practice)."""


@dataclass(frozen=True, slots=True)
class _Need:
    """The effective liquid area that a state needs for its target."""

    state: StateView
    pull: Pull
    area_m2: float


class Sizer:
    """Sizes one group of one configuration; `factors` of the metering count.

    `rich_start` are the factors at the lean end of their spans: each boost size gets the drill to start with.
    """

    def __init__(
        self, metering: Metering, circuit: Circuit, carries: str | None, *, rich_start: Factors | None = None
    ) -> None:
        self.metering = metering
        self.leanest = replace(metering, factors=rich_start) if rich_start is not None else None
        self.circuit = circuit
        self.carries = carries
        self._states = [state for state in metering.states if self._is_predicted(state)]
        self._needs: dict[str, _Need | None] = {}

    def sizes(self) -> GroupSizes:
        """Main jets first, then the restrictions for what they leave out, and which holes are tight for them."""
        sizes = self._sizes()
        return replace(sizes, tight=tuple(self._tight(sizes.sizes)))

    def _sizes(self) -> GroupSizes:
        """Main jets first, then the restrictions for what they leave out."""
        group, main = self.circuit.group, self.circuit.main
        if main is None or self.circuit.nozzle is None or not self._states:
            return GroupSizes(group, (), not_sized=(f"{group}: in no state does a main circuit set the mixture",))
        starting = self._cruise_only_starts()
        if starting is not None:
            said = (
                f"{group} main jets: in {starting.title!r} the main circuit only just starts, so that jets for cruise "
                "cannot be sized by it; jets sized in any richer state would not leave room for the enrichment"
            )
            return GroupSizes(group, (), not_sized=(said,))
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
        return self._status(state) is Status.predicted

    def _cruise_only_starts(self) -> StateView | None:
        """A cruise that jets for cruise are for, but where the transition circuit sets the mixture, not they."""
        if self.carries != "cruise" or any(state.needs_enrichment is False for state in self._states):
            return None
        flowing = [
            state for state in self.metering.states
            if state.needs_enrichment is False and self.circuit.group in state.flowing_groups
        ]  # fmt: skip
        return next((state for state in flowing if self._status(state) is Status.starting), None)

    def _status(self, state: StateView) -> Status:
        return self.metering.status(state, self.circuit, self.metering.pull(state, self.circuit))

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
            rich_start=self._rich_start(part, found, need, beside_m2),
        )

    def _rich_start(self, part: Part, found: Drilling, need: _Need, beside_m2: float) -> RichStart | None:
        """The drill that is rich enough in boost even with every factor at the lean end of its span.

        What feeds beside it is taken as proved before, without boost: it grew as the whole did.
        """
        lean = self.leanest
        if lean is None or not need.state.boosted:
            return None
        area = Sizer(lean, self.circuit, self.carries)._area_for(need.pull, lean.targets.in_state(need.state))
        if area is None:
            return RichStart(None)
        own = (need.area_m2 - beside_m2) * area / need.area_m2 / lean.factors.jets
        if part is not Part.main_jets:
            own /= lean.factors.channels
        window = self._window() if part is Part.restrictions else None
        if window is not None:
            if own >= NARROW_WINDOW * window.area_m2:
                return RichStart(None)
            own = own / math.sqrt(1.0 - (own / window.area_m2) ** 2)
        bore = found.bore_for(max(0.0, own))
        drills = [drill for series in SERIES_SHOWN for drill in three_around(series, bore) if drill is not None]
        enough = [drill for drill in drills if drill.diameter_m >= bore - 1e-9]
        return RichStart(min(enough, key=lambda drill: drill.diameter_m, default=None))

    def _mixture_with(self, part: Part, found: Drilling, drill: Drill, need: _Need, beside_m2: float) -> float | None:
        factors = self.metering.factors
        area = found.with_bore(drill.diameter_m).area_m2 * factors.jets
        if part is not Part.main_jets:
            area *= factors.channels
        if part is Part.restrictions:
            area = self._through_window(area)
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
            said = f"{group} {Part.restrictions}: {self._window_too_small(need.area_m2 - main_area_m2)}"
            return GroupSizes(group, (jets,), not_sized=(said,))
        return self._staged(jets, size, need, main_area_m2)

    def _restriction(
        self, part: Part, found: Drilling, need: _Need, beside_m2: float, area_m2: float
    ) -> Size | None:
        """Restrictions that pass an effective area, factors included, with the valve's window before them.

        A second stage has a valve of its own, whose window is not known: none is counted.
        """
        own = area_m2 / (self.metering.factors.jets * self.metering.factors.channels)
        window = self._window() if part is Part.restrictions else None
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
        return (first, second) if first is not None and second is not None else ()

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

    def _window_too_small(self, area_m2: float) -> str:
        """Restrictions at half of a window pass 0.5 / root (1 + 0.5^2) of what the window does alone."""
        window, factor = self._window(), self.metering.factors.jets * self.metering.factors.channels
        if window is None:
            raise ValueError(f"{self.circuit.group}: a window that is not there cannot be too small")
        enough = window.bore_for(area_m2 / factor * math.hypot(1.0, OF_WINDOW) / OF_WINDOW)
        return (
            f"the window of the valve is too small; drill it from {window.bore_m * 1e3:.2f} to {enough * 1e3:.2f} mm "
            "or fit a larger valve"
        )

    def _tight(self, sizes: Sequence[Size]) -> Iterator[str]:
        """Window and nozzle that are small for what is fitted, and the bores that would do."""
        fitted = {size.part: size.found.with_bore(size.fit.diameter_m).area_m2 for size in sizes}
        window, nozzle, group = self._window(), self.circuit.nozzle, self.circuit.group
        holes = fitted.get(Part.restrictions)
        if window is not None and holes is not None and holes > OF_WINDOW * window.area_m2:
            yield (
                f"{group} {Part.restrictions}: they have {holes / window.area_m2:.0%} of the area of the valve's "
                f"window, more than {OF_WINDOW:.0%}, so that the window meters too. A window of "
                f"{window.bore_for(holes / OF_WINDOW) * 1e3:.2f} mm would do (now {window.bore_m * 1e3:.2f} mm)"
            )
        factors = self.metering.factors
        fed = factors.jets * fitted.get(Part.main_jets, 0.0)
        fed += self._through_window(factors.jets * factors.channels * holes) if holes is not None else 0.0
        if nozzle is not None and fed > nozzle.area_m2 / UNDER_NOZZLE:
            yield (
                f"{group} main nozzles: they have {nozzle.area_m2 / fed:.2f} times the area of what feeds them, less "
                f"than {UNDER_NOZZLE:g}, so that the nozzles meter too. Nozzles of "
                f"{nozzle.bore_for(fed * UNDER_NOZZLE) * 1e3:.2f} mm would do (now {nozzle.bore_m * 1e3:.2f} mm)"
            )

    @staticmethod
    def _nozzle_too_small() -> str:
        return "no jet is large enough, the nozzle lets too little through or the bowl has too little pressure"
