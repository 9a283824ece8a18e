"""The operating states of a job with a configuration: the air path first, then a solver for the passages."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from boostcarb.description.family import Flow
from boostcarb.description.job import Job
from boostcarb.description.supply import FuelSide
from boostcarb.errors import BadDescription
from boostcarb.network.model import Configuration, Network
from boostcarb.solving.air_inputs import AirPathInputs, in_job_terms
from boostcarb.solving.pressures import Pressures, PressureSolver, StateInput
from boostcarb.states.air_path import StateResult, boundary_states
from boostcarb.states.inputs import Backfire
from boostcarb.states.operating_state import Boost, Mode

__all__ = ["AirPathInputs", "Situation", "Situations", "StateView"]

BOOST_MARGIN_PA = 500.0
"""A state counts as boosted when the turbo is up and the manifold is this much above the atmosphere."""


@dataclass(frozen=True, slots=True)
class StateView:
    """One operating state, as rules and reports see it."""

    name: str
    title: str
    needs_enrichment: bool | None
    event: bool
    running: bool
    wide_open: bool
    boosted: bool
    flowing_groups: frozenset[str]
    result: StateResult


class Situation:
    """All operating states for one form of the air path, and the solver for the passages in them."""

    def __init__(self, network: Network, results: tuple[StateResult, ...], inputs: AirPathInputs) -> None:
        site = inputs.site
        self.network = network
        self.inputs = inputs
        self.defaults = inputs.defaults()
        self.views = tuple(_view(result) for result in results)
        self.index = {view.name: index for index, view in enumerate(self.views)}
        names = set(self.index)
        state_inputs = [
            StateInput(
                name=result.state.id,
                sources_pa_abs=result.pressures_pa_abs,
                ambient_pa_abs=site.ambient_pa_abs,
                event=result.state.event,
                follows=next((name for name in result.state.follows if name in names), None),
            )
            for result in results
        ]
        self._solver = PressureSolver(network, state_inputs, inputs.sealing)

    def pressures(self, configuration: Configuration) -> Pressures:
        """Pressures of all spaces in all states."""
        return self._solver.solve(configuration)


class Situations:
    """Situations of one job, made when first asked for and kept."""

    def __init__(self, network: Network, job: Job, flow: Flow, fuel_side: Callable[[], FuelSide] | None = None) -> None:
        self._network = network
        self.job = job
        self.fuel_side = fuel_side
        self._flow = flow
        self._made: dict[tuple[str | None, ...], Situation] = {}

    def for_(self, configuration: Configuration) -> Situation:
        """The situation that goes with a configuration.

        Raises:
            BadDescription: engine, carburetor and boost do not go together.
            NotSolved: an air path that does not balance.
        """
        key = tuple(configuration.get(item) for item in self._network.air_path_items)
        if key not in self._made:
            inputs = AirPathInputs(self.job, self._flow, configuration)
            try:
                results = boundary_states(
                    Mode(self.job.target), inputs.engine, inputs.carburetor, inputs.turbo, inputs.site, self._backfire()
                )
            except BadDescription as error:
                raise BadDescription([in_job_terms(problem) for problem in error.problems]) from error
            self._made[key] = Situation(self._network, tuple(map(self._with_alike, results)), inputs)
        return self._made[key]

    def _with_alike(self, result: StateResult) -> StateResult:
        """With the sources that are open to another one, and so have its pressure and temperature."""
        alike = {name: space.same_as for name, space in self._network.spaces.items() if space.same_as}
        if not alike:
            return result
        pressures, temperatures = dict(result.pressures_pa_abs), dict(result.temperatures_k)
        for name, other in alike.items():
            pressures[name] = pressures[other]
            if other in temperatures:
                temperatures[name] = temperatures[other]
        return replace(result, pressures_pa_abs=pressures, temperatures_k=temperatures)

    def _backfire(self) -> Backfire:
        said = self.job.backfire.peak_ratio if self.job.backfire is not None else None
        return Backfire() if said is None else Backfire(said)


def _view(result: StateResult) -> StateView:
    state = result.state
    manifold, ambient = result.pressures_pa_abs["manifold"], result.pressures_pa_abs["ambient"]
    return StateView(
        name=state.id,
        title=state.title,
        needs_enrichment=state.needs_enrichment,
        event=state.event,
        running=state.running,
        wide_open=state.wide_open,
        boosted=not state.event and state.boost is not Boost.not_yet and manifold > ambient + BOOST_MARGIN_PA,
        flowing_groups=result.flowing_groups,
        result=result,
    )
