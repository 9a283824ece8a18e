"""A backfire in one configuration: pressures of all spaces over time, and what it does to every diaphragm."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from boostcarb.network.model import FITTED, Configuration, Diaphragm, Limit, Network
from boostcarb.network.tracing import matching
from boostcarb.solving.pressures import Pressures
from boostcarb.solving.situation import Situation, StateView
from boostcarb.transient.answer import (
    BackfireAnswer,
    BackfireCase,
    DiaphragmCase,
    Peak,
    ProtectionCase,
    ReliefCase,
    Signal,
    Verdict,
)
from boostcarb.transient.chambers import Piece, pieces, volumes_assumed
from boostcarb.transient.event import Event, Sides
from boostcarb.transient.inputs import BackfireInputs
from boostcarb.transient.lag import Change, arrival_lag, opening_lag
from boostcarb.transient.pulse import BURNED_GAS_K, Curve

MISSING = "missing"
RELIEF_ITEM = "manifold_relief"
RESOLUTION_S = 2e-5
"""How close the longest closing time that does is found, s."""

MOVED_PA = 1e3
"""A space is shown when its pressure moves by more than this, Pa."""


def backfire_answer(
    network: Network, configuration: Configuration, situation: Situation, inputs: BackfireInputs
) -> BackfireAnswer:
    """Every backfire that the catalogue knows, in one configuration.

    Raises:
        NotSolved: an integration that fails, naming the chambers.
    """
    pressures = situation.pressures(configuration)
    cases, assumed = [], set[str]()
    for view in situation.views:
        before = followed(situation, view)
        if view.event and before is not None:
            study = _Study(network, configuration, pressures, Event.of(view, before, network, inputs), inputs)
            cases.append(study.case())
            assumed.update(volumes_assumed(network, study.pieces))
    return BackfireAnswer(
        cases=tuple(cases),
        inputs=inputs.listed,
        volumes_assumed=tuple(sorted(assumed)),
        torn=tuple(name for name, each in network.diaphragms.items() if each.is_torn(configuration)),
        signals=tuple(signals(network, configuration, situation)),
    )


def followed(situation: Situation, view: StateView) -> StateView | None:
    """The state that an event comes out of."""
    names = (name for name in view.result.state.follows if name in situation.index)
    name = next(names, None)
    return None if name is None else situation.views[situation.index[name]]


class _Study:
    """One event in one configuration, and in those that differ from it by a check."""

    def __init__(
        self,
        network: Network,
        configuration: Configuration,
        pressures: Pressures,
        event: Event,
        inputs: BackfireInputs,
    ) -> None:
        self.network, self.configuration, self.pressures = network, configuration, pressures
        self.relief = event.relieved(inputs.relief)
        fitted = configuration.get(RELIEF_ITEM) == FITTED
        self.event = event if self.relief is None or not fitted else event.with_manifold(self.relief.curve)
        self.hot = self.event.hotter(BURNED_GAS_K)
        self.bare, self.relief_fitted, self.inputs = event, fitted, inputs
        self.pieces = self._pieces(configuration)

    def case(self) -> BackfireCase:
        """The whole answer for this event."""
        found = tuple(self._diaphragms())
        return BackfireCase(
            state=self.event.name,
            title=self.event.title,
            before=self.event.before.name,
            before_title=self.event.before.title,
            end_s=self.event.end_s,
            curves=self._curves(found),
            burning=self.event.burning,
            diaphragms=found,
            protections=tuple(self._protections()),
            relief=self._relief(),
        )

    # --- diaphragms ---------------------------------------------------------------------------------------

    def _reached(self) -> Iterator[Diaphragm]:
        """Diaphragms of which a side moves, those left out that are torn: nothing can burst them."""
        moving = {name for piece in self.pieces for name in piece.names} | set(self.event.burning)
        for diaphragm in self.network.diaphragms.values():
            whole = diaphragm.exists(self.configuration) and not diaphragm.is_torn(self.configuration)
            if whole and {diaphragm.first, diaphragm.second} & moving:
                yield diaphragm

    def _diaphragms(self) -> Iterator[DiaphragmCase]:
        for diaphragm in self._reached():
            as_is = self._sides(self.event, self.pieces, diaphragm)
            bare = tuple(piece.without(piece.checks) for piece in self.pieces)
            limit = diaphragm.limit(self.configuration)
            peak, unchecked = as_is.peak(), self._sides(self.event, bare, diaphragm).peak()
            yield DiaphragmCase(
                diaphragm=diaphragm.name,
                title=diaphragm.title,
                first=diaphragm.first,
                second=diaphragm.second,
                state=self.event.name,
                limit=limit,
                before=as_is.start(),
                peak=peak,
                unchecked=unchecked,
                hottest=self._sides(self.hot, self.pieces, diaphragm).peak(),
                exceeds_at_s=None if limit is None else as_is.exceeds_at(limit),
                verdict=self._verdict(diaphragm, limit, as_is, unchecked),
            )

    def _verdict(self, diaphragm: Diaphragm, limit: Limit | None, as_is: Sides, unchecked: Peak) -> Verdict:
        if limit is None:
            return Verdict.not_known
        if as_is.peak().over(limit) <= 0.0:
            return Verdict.stands if unchecked.over(limit) <= 0.0 else Verdict.protected
        if as_is.start().over(limit) > 0.0:
            return Verdict.before
        guards = [check for check, _ in self._guards() if diaphragm in self._behind(check)]
        if not guards:
            return Verdict.no_place
        best = self._with(dict.fromkeys(guards, FITTED))
        if self._sides(self.event.closing(0.0), best, diaphragm).peak().over(limit) > 0.0:
            return Verdict.beyond_checks
        working = any(self.configuration.get(check) == FITTED for check in guards)
        return Verdict.slow_check if working else Verdict.no_check

    def _sides(self, event: Event, among: tuple[Piece, ...], diaphragm: Diaphragm) -> Sides:
        return event.sides(self.pressures, among, diaphragm.first, diaphragm.second)

    # --- checks -------------------------------------------------------------------------------------------

    def _guards(self) -> Iterator[tuple[str, str]]:
        """Places for checks in ways that a backfire can run, with their titles."""
        seen = set()
        for way in self.network.ways:
            if way.guard is None or way.guard in seen or way.guard not in self.network.items:
                continue
            if any(way.name == each.way for piece in self._with({way.guard: FITTED}) for each in piece.openings):
                seen.add(way.guard)
                yield way.guard, self.network.items[way.guard].title

    def _behind(self, check: str) -> list[Diaphragm]:
        """Diaphragms with a side in a piece that a check, when it works, stands in."""
        inside = {name for each in self._with({check: FITTED}) if check in each.checks for name in each.names}
        return [each for each in self._reached() if {each.first, each.second} & inside]

    def _with(self, forms: Mapping[str, str]) -> tuple[Piece, ...]:
        """The pieces with some items in other forms."""
        return self._pieces({**self.configuration, **forms})

    def _pieces(self, configuration: Configuration) -> tuple[Piece, ...]:
        return pieces(self.network, configuration, self.event.passes, self.event.burning)

    def _protections(self) -> Iterator[ProtectionCase]:
        for check, title in self._guards():
            with_it, without = self._with({check: FITTED}), self._with({check: MISSING})
            form = self.configuration[check]
            for diaphragm in self._behind(check):
                limit = diaphragm.limit(self.configuration)
                checked = self._sides(self.event, with_it, diaphragm)
                unchecked = self._sides(self.event, without, diaphragm).peak()
                yield ProtectionCase(
                    check=check,
                    title=title,
                    form=form,
                    works=form == FITTED,
                    diaphragm=diaphragm.name,
                    state=self.event.name,
                    with_it=checked.peak(),
                    without_it=unchecked,
                    limit=limit,
                    shuts_at_s=checked.shut_at_s.get(check),
                    in_time_s=self._in_time(diaphragm, with_it, limit, unchecked),
                )

    def _in_time(
        self, diaphragm: Diaphragm, among: tuple[Piece, ...], limit: Limit | None, unchecked: Peak
    ) -> float | None:
        """The longest closing time with which a diaphragm stays within its limit, s."""
        if limit is None or unchecked.over(limit) <= 0.0:
            return None

        def stands(closing_s: float) -> bool:
            return self._sides(self.event.closing(closing_s), among, diaphragm).peak().over(limit) <= 0.0

        if not stands(0.0):
            return None
        quick, slow = 0.0, self.event.pulse.rise_s
        while stands(slow):
            quick, slow = slow, 2.0 * slow
            if slow > self.event.end_s:
                return quick
        while slow - quick > RESOLUTION_S:
            middle = 0.5 * (quick + slow)
            quick, slow = (middle, slow) if stands(middle) else (quick, middle)
        return quick

    # --- relief, curves -----------------------------------------------------------------------------------

    def _relief(self) -> ReliefCase | None:
        if self.relief is None:
            return None
        return ReliefCase(
            fitted=self.relief_fitted,
            state=self.event.name,
            peak_without_pa_abs=self.bare.manifold.peak_pa_abs,
            peak_with_pa_abs=self.relief.curve.peak_pa_abs,
            opens_at_s=self.relief.opens_at_s,
        )

    def _curves(self, found: tuple[DiaphragmCase, ...]) -> dict[str, Curve]:
        """Where charge burns, both sides of every diaphragm that is reached, and every chamber that moves."""
        curves = {name: self.event.sources[name] for name in self.event.burning}
        for piece in self.pieces:
            run = self.event.runs(self.pressures, piece)[-1]
            for name, values in run.pressures_pa_abs.items():
                curves[name] = Curve.of(zip(run.times_s.tolist(), values.tolist(), strict=True))
        shown = {side for each in found for side in (each.first, each.second)}
        for side in sorted(shown - curves.keys()):
            curves[side] = Curve.level(self.pressures.range_of(side, self.event.before.name)[1])
        return {
            name: curve
            for name, curve in curves.items()
            if name in shown or curve.peak_pa_abs - min(curve.pressures_pa_abs) > MOVED_PA
        }


# --- signals ----------------------------------------------------------------------------------------------

CRUISE, TIP_IN = "cruise", "tip_in"
INTO_LOAD = (TIP_IN, "part_throttle_boost_light", "part_throttle_boost_mid")
INTO_BOOST = (("wide_open_before_boost", "full_boost_torque_peak"), (CRUISE, "wide_open_torque_peak"))
ENRICHMENT = "enrichment"
FOLLOWS_BOOST = ("regulator.reference_side", "*.bowl")
SHORT_BY_PA = 2e3
"""How near to its pressure a space counts as arrived, Pa."""


def signals(network: Network, configuration: Configuration, situation: Situation) -> Iterator[Signal]:
    """How long enrichment valves wait for their signal, and how long regulator and bowls take to follow boost."""
    pressures = situation.pressures(configuration)

    def change(before: str, after: str) -> Change | None:
        if before not in situation.index or after not in situation.index:
            return None
        views = (situation.views[situation.index[name]] for name in (before, after))
        return Change(network, configuration, pressures, *views)

    for name, diaphragm in network.diaphragms.items():
        for after in INTO_LOAD if diaphragm.role == ENRICHMENT else ():
            step = change(CRUISE, after)
            lag = None if step is None else opening_lag(step, diaphragm)
            if step is not None and lag is not None:
                yield Signal(name, diaphragm.title, "opens", step.before.title, step.after.title, lag.time_s)
    for before, after in INTO_BOOST:
        step = change(before, after)
        for name in (name for pattern in FOLLOWS_BOOST for name in matching(pattern, network.spaces)):
            lag = None if step is None else arrival_lag(step, name, short_by_pa=SHORT_BY_PA)
            if step is not None and lag is not None and lag.time_s > 0.0:
                title = network.title_of(name)
                yield Signal(name, title, "has followed", step.before.title, step.after.title, lag.time_s)
