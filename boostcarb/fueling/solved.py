"""One configuration of a job, solved in every state: what all of the fuel side is computed from."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property

from boostcarb.description.job import Job
from boostcarb.description.supply import FuelSide
from boostcarb.description.typical_values import typical_fuel_side
from boostcarb.network.model import ABSENT, Configuration, Network, Way
from boostcarb.solving.pressures import Pressures
from boostcarb.solving.situation import AirPathInputs, Situations, StateView
from boostcarb.states.inputs import Carburetor

AMBIENT, AIR_HORN, BASE, MANIFOLD = "ambient", "air_horn", "base", "manifold"


@dataclass(frozen=True)
class Solved:
    """A job's network in one configuration with the pressures of every state."""

    job: Job
    network: Network
    configuration: Configuration
    inputs: AirPathInputs
    states: tuple[StateView, ...]
    pressures: Pressures
    usual: Callable[[], FuelSide] | None = None

    @property
    def typical(self) -> FuelSide:
        """Typical values of the family's fuel side. Raises: BadDescription where there are none."""
        return typical_fuel_side(self.job.carburetor) if self.usual is None else self.usual()

    @property
    def carburetor(self) -> Carburetor:
        """The air side of the carburetor, as the air path took it."""
        return self.inputs.carburetor

    @property
    def ambient_pa_abs(self) -> float:
        """Pressure of the atmosphere at the site."""
        return self.inputs.site.ambient_pa_abs

    @property
    def running(self) -> tuple[StateView, ...]:
        """States in which the engine turns, backfires left out."""
        return tuple(state for state in self.states if state.running and not state.event)

    def state(self, name: str) -> StateView | None:
        """The state of this name, if the mode has it."""
        return self._by_name.get(name)

    def range_of(self, space: str, state: StateView) -> tuple[float, float]:
        """Lowest and highest pressure of a space in a state, Pa absolute."""
        return self.pressures.range_of(space, state.name)

    def ways_of_kind(self, ending: str) -> tuple[Way, ...]:
        """The ways that are there whose names end so, one for each barrel group: `needle_seat`."""
        return tuple(
            way
            for way in self.network.ways
            if way.name.rpartition(".")[2] == ending and way.exists(self.configuration)
        )

    def form(self, item: str) -> str:
        """The form of an item; `absent` for one that this carburetor does not have."""
        return self.configuration.get(item, ABSENT)

    @cached_property
    def _by_name(self) -> Mapping[str, StateView]:
        return {state.name: state for state in self.states}


def solved_for(network: Network, situations: Situations, configuration: Configuration) -> Solved:
    """A configuration solved in every state. Raises: BadDescription, NotSolved."""
    situation = situations.for_(configuration)
    pressures = situation.pressures(configuration)
    inputs = situation.inputs
    return Solved(inputs.job, network, configuration, inputs, situation.views, pressures, situations.fuel_side)
