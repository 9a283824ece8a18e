"""The fuel of one job in any of its configurations: mixtures, sizes, calibration."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

from boostcarb.description.family import Family
from boostcarb.description.job import Job
from boostcarb.description.metering import Measured
from boostcarb.errors import BadDescription, NotSolved, Problem
from boostcarb.fueling.circuit import Circuit, circuits_of, jet_holes
from boostcarb.fueling.job_fuel import fuel_before, fuel_of
from boostcarb.fueling.metering import SPILL_HEIGHT_M, Factors, Metering, whole_mixture
from boostcarb.fueling.mixture import Enrichment, GroupMixture, StateMixture, Status
from boostcarb.fueling.sizes import GroupSizes
from boostcarb.fueling.sizing import Sizer
from boostcarb.fueling.solved import Solved
from boostcarb.fueling.targets import Targets, targets_of
from boostcarb.network.model import Configuration
from boostcarb.physics.atmosphere import standard_pressure, standard_temperature
from boostcarb.physics.constants import GAS_CONSTANT_AIR
from boostcarb.physics.fuels import Fuel
from boostcarb.solving.diaphragms import valve_states
from boostcarb.solving.pressures import AIR
from boostcarb.solving.situation import StateView

if TYPE_CHECKING:
    from boostcarb.fueling.calibration import Calibration, Reading

AS_COMPUTED = "as_computed"


@dataclass(frozen=True)
class Fueling:
    """The metering of one configuration with the holes it has: what was found, what was computed, what comes out."""

    metering: Metering
    circuits: Mapping[str, Circuit]
    sizes: Mapping[str, GroupSizes]

    @cached_property
    def table(self) -> tuple[StateMixture, ...]:
        """Every state with the mixture of every group."""
        return self.metering.table(self.circuits)


class FuelModel:
    """Metering and sizing of one job.

    `solve` gives a configuration with its pressures; `found` is the configuration in which lambdas were measured,
    unless a calibration is given.
    """

    def __init__(
        self,
        job: Job,
        family: Family,
        found: Configuration,
        solve: Callable[[Configuration], Solved],
        *,
        calibration: Calibration | None = None,
        factors: Factors | None = None,
        spill_height_m: float | None = None,
    ) -> None:
        self.job = job
        self.family = family
        self.found = found
        self.solve = solve
        self._calibration = calibration
        self._factors = factors
        self._mixtures: dict[object, dict[str, GroupMixture]] = {}
        self.fuel: Fuel = fuel_of(job)
        self.fuel_before: Fuel = fuel_before(job)
        spill = job.metering.spill_height
        usual_spill = SPILL_HEIGHT_M if spill is None else spill
        self.spill_height_m = usual_spill if spill_height_m is None else spill_height_m

    # --- what holds for every configuration -------------------------------------------------------------------

    @cached_property
    def _as_found(self) -> Solved:
        return self.solve(self.found)

    @cached_property
    def targets(self) -> Targets:
        """The lambdas wanted."""
        return targets_of(self.job, ambient_pa_abs=self._as_found.ambient_pa_abs)

    @cached_property
    def reference_density_kg_m3(self) -> float:
        """Density of the air for which the jets were right: the site's, unless the job says where that was."""
        site, before = self._as_found.inputs.site, self.job.metering.right_for
        pressure, temperature = site.ambient_pa_abs, site.ambient_temperature_k
        if before is not None and before.altitude is not None:
            pressure = standard_pressure(altitude_m=before.altitude)
            temperature = standard_temperature(altitude_m=before.altitude)
        if before is not None and before.temperature is not None:
            temperature = before.temperature
        return pressure / (GAS_CONSTANT_AIR * temperature)

    @cached_property
    def usual_factors(self) -> Factors:
        """Factors before any calibration."""
        if self._factors is not None:
            return self._factors
        given = self.job.metering.booster_gain
        return Factors(booster_gain=self._as_found.carburetor.booster_gain if given is None else given)

    def variant(self, *, factors: Factors | None = None, spill_height_m: float | None = None) -> FuelModel:
        """The same job with other values to start from; readings calibrate it anew."""
        spill = self.spill_height_m if spill_height_m is None else spill_height_m
        usual = factors or self.usual_factors
        return FuelModel(self.job, self.family, self.found, self.solve, factors=usual, spill_height_m=spill)

    @cached_property
    def calibration(self) -> Calibration | None:
        """Factors from the readings that the job gives, or None without any.

        Readings are of the carburetor as found: they were taken on the fuel for which its jets were right.

        Raises: BadDescription for a reading that no main circuit sets, or that was taken in other air.
        """
        measured = self.job.metering.measured
        if self._calibration is not None or not measured:
            return self._calibration
        from boostcarb.fueling.calibration import calibrate  # noqa: PLC0415  only where there are readings

        self._check_site_of_readings()
        metering = replace(self._metering(self._as_found, self.usual_factors), fuel=self.fuel_before)
        circuits = circuits_of(self._as_found)
        readings = [
            self._reading(metering, circuits, f"reading {number}", each) for number, each in enumerate(measured, 1)
        ]
        return calibrate(self.usual_factors, readings)

    def check_readings(self) -> None:
        """Raises: BadDescription for a reading that cannot calibrate, or targets that no engine should get."""
        _ = self.targets
        _ = self.calibration

    @property
    def factors(self) -> Factors:
        """Calibrated factors where there are readings, else the usual ones."""
        return self.calibration.factors if self.calibration else self.usual_factors

    @cached_property
    def rich_start(self) -> Factors | None:
        """Factors at the lean end of what is usual, for the first run in boost; none with a reading at full load.

        The span of the gain goes with its value before any calibration. A gain that the job gives is kept.
        """
        from boostcarb.fueling.calibration import SPREADS  # noqa: PLC0415  as above

        if self.calibration is not None and self.calibration.has_full_load:
            return None
        now, usual = self.factors, self.usual_factors.booster_gain
        share = 1.0 if self.job.metering.booster_gain is not None else min(1.0, SPREADS["booster_gain"].low / usual)
        return replace(
            now,
            booster_gain=max(1.0, now.booster_gain * share),
            jets=now.jets * (SPREADS["jets"].low if self.job.metering.jet_discharge is None else 1.0),
            channels=now.channels * SPREADS["channels"].low,
        )

    @property
    def is_known(self) -> bool:
        """Whether the job gives enough to judge the mixture as found: bores of jets, or a measured lambda."""
        return bool(self.job.metering.measured) or any(
            state.bore is not None and name in jet_holes(self._as_found.network)
            for name, state in self.job.found.items()
        )

    # --- one configuration ------------------------------------------------------------------------------------

    def fueling(self, configuration: Configuration, *, fit_sizes: bool = False) -> Fueling:
        """A configuration with the holes it has, or with every computed size fitted.

        Holes whose size is not known, because the jets are no longer those that were found, are taken as computed.
        """
        metering = self._metering(self.solve(configuration), self.factors)
        circuits = circuits_of(metering.solved)
        sizes = {group: self._sizes(metering, circuit) for group, circuit in circuits.items()}
        if fit_sizes:
            fitted = {group: circuit.with_bores(sizes[group].bores) for group, circuit in circuits.items()}
        else:
            fitted = {group: self._with_its_holes(metering, circuit) for group, circuit in circuits.items()}
        return Fueling(metering, fitted, sizes)

    def mixtures(self, configuration: Configuration, group: str) -> Mapping[str, GroupMixture]:
        """The mixture of one group by state, with the holes it has; the same question is worked out once."""
        solved = self.solve(configuration)
        key = self._key(solved, group)
        if key not in self._mixtures:
            metering, circuit = self._metering(solved, self.factors), circuits_of(solved)[group]
            circuit = self._with_its_holes(metering, circuit)
            self._mixtures[key] = {state.name: metering.mixture(state, circuit) for state in metering.states}
        return self._mixtures[key]

    def _with_its_holes(self, metering: Metering, circuit: Circuit) -> Circuit:
        """The holes as measured or usual, as computed where they are no longer those found, or not known at all."""
        configuration = metering.solved.configuration
        computed = self._computed(configuration, circuit)
        if computed:
            bores = self._sizes(metering, circuit).bores
            circuit = circuit.with_bores({passage: bore for passage, bore in bores.items() if passage in computed})
        if circuit.main is not None and circuit.main.passage not in computed and not self._jets_known(circuit.group):
            return circuit.with_unknown_jets()
        return circuit

    def _sizes(self, metering: Metering, circuit: Circuit) -> GroupSizes:
        carries = self._carries(metering.solved.configuration, circuit.group)
        sizes = Sizer(metering, circuit, carries, rich_start=self.rich_start).sizes()
        return sizes if self._jets_known(circuit.group) else sizes.from_unknown_jets()

    @staticmethod
    def _key(solved: Solved, group: str) -> object:
        """All that the mixture of a group hangs on: air path, bowl, valves, the forms of its jets and passages."""
        network, configuration = solved.network, solved.configuration
        names = network.circuit(group)
        bowl = solved.pressures.spaces[names.bowl]
        valves = []
        for diaphragm in network.diaphragms.values():
            valve = diaphragm.valve(configuration) if diaphragm.feeds == group else None
            if valve is not None and diaphragm.exists(configuration):
                valves.append((diaphragm.name, valve_states(diaphragm, valve, configuration, solved.pressures)))
        items = [*network.air_path_items, names.jets, names.jet_sizes]
        items += [
            way.item
            for end in (names.well, names.enrichment_side)
            for way in network.ways_of.get(end, ())
            if way.carries != AIR
        ]
        forms = tuple(configuration.get(item) for item in items)
        return group, forms, tuple(valves), bowl.low.tobytes(), bowl.high.tobytes()

    def under(self, fueling: Fueling, factors: Factors) -> Fueling:
        """The holes of another answer under factors, and this model's spill height: what an uncertainty does."""
        metering = replace(fueling.metering, factors=factors, spill_height_m=self.spill_height_m)
        return replace(fueling, metering=metering)

    def _metering(self, solved: Solved, factors: Factors) -> Metering:
        return Metering(solved, self.fuel, self.targets, self.reference_density_kg_m3, factors, self.spill_height_m)

    def _carries(self, configuration: Configuration, group: str) -> str | None:
        jets = self._as_found.network.circuit(group).jets
        part, form = self.family.parts.get(jets), configuration.get(jets)
        return part.options[form].mixture_for if part is not None and form in part.options else None

    def _computed(self, configuration: Configuration, circuit: Circuit) -> set[str]:
        """The passages whose bores are as computed: asked for so, or no longer those that were found."""
        drilled = {each.passage for each in (circuit.main, circuit.restriction) if each is not None}
        names = self._as_found.network.circuit(circuit.group)
        if configuration.get(names.jet_sizes) == AS_COMPUTED:
            return drilled
        changed = {passage for passage in drilled if configuration.get(passage) != self.found.get(passage)}
        if circuit.main is not None and configuration.get(names.jets) != self.found.get(names.jets):
            changed.add(circuit.main.passage)
        return changed

    def _jets_known(self, group: str) -> bool:
        """Whether the main jets as found are of a measured bore, or of the kind for which a bore is usual."""
        names = self._as_found.network.circuit(group)
        said, part = self.job.found.get(names.jet_hole), self.family.parts.get(names.jets)
        if (said is not None and said.bore is not None) or self.job.metering.measured or part is None:
            return True
        return self.found.get(names.jets) == part.as_built

    # --- readings ---------------------------------------------------------------------------------------------

    def _check_site_of_readings(self) -> None:
        """The air path is solved for the job's own site only: readings from another would move the wrong factor."""
        before = self.job.metering.right_for
        for name in ("altitude", "temperature"):
            if before is not None and getattr(before, name) is not None:
                raise BadDescription(
                    Problem(
                        "lambdas measured at another place or in other air cannot be computed here: give `measured` "
                        f"read at the job's own site and leave `right_for.{name}` out, or make a job for the old site, "
                        "calibrate there, and give its gain here as `booster_gain`",
                        field=f"metering.right_for.{name}",
                    )
                )

    def _reading(
        self, metering: Metering, circuits: Mapping[str, Circuit], called: str, reading: Measured
    ) -> Reading:
        name, group = reading.state, reading.group
        state, flowing = self._read_in(metering, circuits, called, reading)

        def computed(factors: Factors) -> float:
            now = replace(metering, factors=factors)
            mixtures = []
            for circuit in flowing:
                pull = now.pull(state, circuit)
                point = now.point(state, circuit, pull, pull.bowl_low_pa_abs, undecided_open=False)
                mixtures.append(
                    GroupMixture(circuit.group, name, Status.predicted, Enrichment.none, 0.0, pull, point, point)
                )
            whole, _ = whole_mixture(mixtures)
            if whole is None:
                raise NotSolved("a measured lambda, where the model gives no fuel", places=(name,))
            return whole

        from boostcarb.fueling.calibration import Reading  # noqa: PLC0415

        return Reading(name, state.title, group, reading.lambda_, computed, full_load=state.wide_open)

    def _read_in(
        self, metering: Metering, circuits: Mapping[str, Circuit], called: str, reading: Measured
    ) -> tuple[StateView, list[Circuit]]:
        name, group = reading.state, reading.group

        def wrong_reading(message: str) -> BadDescription:
            return BadDescription(Problem(f"{called}: {message}", field="metering.measured"))

        states = {state.name: state for state in metering.states}
        if name not in states:
            known = ", ".join(states)
            raise wrong_reading(f"no such running state {name!r}; one of {known}")
        if group is not None and group not in circuits:
            raise wrong_reading(f"no such barrel group {group!r}; one of {', '.join(circuits)}")
        state = states[name]
        flowing = [
            circuit for circuit in circuits.values()
            if circuit.group in state.flowing_groups and group in (None, circuit.group)
        ]  # fmt: skip
        mixtures = [metering.mixture(state, circuit) for circuit in flowing]
        wrong = next((each for each in mixtures if each.status is not Status.predicted), None)
        if not mixtures or wrong is not None:
            why = wrong.status.value if wrong else Status.shut.value
            raise wrong_reading(f"cannot calibrate in {state.title!r}: {why}")
        if any(each.enrichment is Enrichment.undecided for each in mixtures):
            raise wrong_reading(f"cannot calibrate in {state.title!r}: the enrichment valve may be open or shut")
        return state, flowing
