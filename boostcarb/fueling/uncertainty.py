"""How sure is lambda: seeded sampling of every stated spread at once, and which inputs dominate.

Per sample the air side is first-order (see `air_sensitivity`), the main circuit's law exact. Inputs are independent;
a factor's logarithm and an offset are normal, with its own deviation on either side of the value. Dominance is the
squared standardized regression coefficient of ln lambda on the deviations: each input's share of the variance where
lambda goes as a product of powers, since independent log-variances add (law of propagation of uncertainty, GUM, JCGM
100:2008, 5.1; cited from memory). `explained` is their sum's counterpart, the share of the variance that the
regression explains.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from boostcarb.fueling.air_sensitivity import AirSensitivity, Floats, Lane, Pulls, air_sensitivity
from boostcarb.fueling.circuit import Circuit, Drilling
from boostcarb.fueling.metering import Metering
from boostcarb.fueling.mixture import Enrichment, StateMixture, Status
from boostcarb.fueling.model import Fueling, FuelModel
from boostcarb.fueling.spreads import Kind, Spread, bore_name, spreads_of
from boostcarb.physics.constants import GAMMA_AIR
from boostcarb.physics.fuels import ETHANOL, GASOLINE
from boostcarb.physics.gas import critical_pressure_ratio
from boostcarb.physics.metering_arrays import main_circuit_arrays
from boostcarb.solving.situation import StateView

SAMPLES, SEED = 10_000, 1
FEWEST, MOST = 100, 200_000
AT_ONCE: Final = 10_000
PERCENTILES: Final = (5, 50, 95)
SHOWN_SHARE: Final = 0.01
"""Inputs with less of the variance than this are not named."""
SMALLEST_BORE: Final = 0.05
"""A drilled bore never counts as less than this share of what was meant."""
VALVE, BOWL_RANGE = "undecided_valve", "bowl_range"
DIGITS: Final = 6
LEAST_SPREAD: Final = 1e-12
"""A standard deviation of ln lambda below which nothing is uncertain but rounding."""


@dataclass(frozen=True, slots=True)
class Share:
    """One input's squared standardized regression coefficient, and whether more of it makes the mixture leaner."""

    name: str
    title: str
    share: float
    leaner: bool


@dataclass(frozen=True, slots=True)
class Sure:
    """Lambda of one group in a state, or of all that flow (`group` None), at the 5th, 50th and 95th percentile.

    None is a percentile without fuel. `leaner` is the share of the samples leaner than wanted, `no_fuel` without fuel.
    """

    state: str
    title: str
    group: str | None
    wanted: float
    low: float | None
    middle: float | None
    high: float | None
    leaner: float
    no_fuel: float
    explained: float | None
    shares: tuple[Share, ...]


@dataclass(frozen=True, slots=True)
class HowSure:
    """The whole answer: full boost first."""

    samples: int
    seed: int
    spreads: tuple[Spread, ...]
    rows: tuple[Sure, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True)
class Sampler:
    """One carburetor's lanes, a state and a group each, with all that a sample needs."""

    metering: Metering
    circuits: dict[str, Circuit]
    states: dict[str, StateView]
    spreads: tuple[Spread, ...]
    air: AirSensitivity

    @property
    def lanes(self) -> tuple[Lane, ...]:
        """The lanes, in the order of the columns."""
        return self.air.lanes

    def draw(self, generator: np.random.Generator, samples: int) -> Floats:
        """Deviations, one row a sample, one column a spread."""
        found = np.empty((samples, len(self.spreads)))
        for column, spread in enumerate(self.spreads):
            normal = generator.standard_normal(samples)
            below, above = spread.deviations
            found[:, column] = normal * np.where(normal < 0.0, below, above)
            if spread.kind is Kind.open:
                found[:, column] = generator.random(samples)
        return found

    def pulls(self, deviations: Floats) -> Pulls:
        """What drives the lanes in every sample."""
        columns = [spread.name for spread in self.spreads]
        return self.air.pulls(deviations[:, [columns.index(name) for name in self.air.names]])

    def lambdas(self, deviations: Floats) -> Floats:
        """Lambda, one row a sample, one column a lane; infinite where no fuel flows. Raises: NotSolved."""
        named = {spread.name: deviations[:, column] for column, spread in enumerate(self.spreads)}
        zero = np.zeros(len(deviations))
        pulls = self.pulls(deviations)
        gain = np.maximum(1.0, self.metering.factors.booster_gain * np.exp(named.get("booster_gain", zero)))
        choked = critical_pressure_ratio(gamma=GAMMA_AIR) * pulls.horn_pa_abs
        booster = np.maximum(pulls.horn_pa_abs - gain[:, None] * pulls.venturi_pull_pa, choked)
        open_bowl = named.get(BOWL_RANGE, zero)[:, None]
        bowl = pulls.bowl_low_pa_abs + open_bowl * (pulls.bowl_high_pa_abs - pulls.bowl_low_pa_abs)
        main, power, bleed, nozzle = (np.stack(each, axis=1) for each in zip(*self._areas(named, zero), strict=True))
        density, stoichiometric = self._fuel(named, zero)
        spill = np.maximum(0.0, self.metering.spill_height_m + named.get("spill_height", zero))
        flow = main_circuit_arrays(
            main_jet_effective_area_m2=main, power_effective_area_m2=power, bleed_effective_area_m2=bleed,
            nozzle_effective_area_m2=nozzle, bowl_pressure_pa_abs=bowl, air_horn_pressure_pa_abs=pulls.horn_pa_abs,
            booster_pressure_pa_abs=booster, air_temperature_k=pulls.temperature_k,
            fuel_density_kg_m3=density[:, None], spill_height_m=spill[:, None],
        )  # fmt: skip
        fuel = flow.fuel_kg_s * stoichiometric[:, None]
        return np.where(fuel > 0.0, pulls.air_kg_s / np.where(fuel > 0.0, fuel, 1.0), np.inf)

    def whole(self, lambdas: Floats, deviations: Floats, columns: Sequence[int]) -> Floats:
        """Lambda of all groups that flow together in a state."""
        air = self.pulls(deviations).air_kg_s[:, columns]
        fuel_for_one = np.sum(air / lambdas[:, columns], axis=1)
        return np.where(fuel_for_one > 0.0, air.sum(axis=1) / np.where(fuel_for_one > 0.0, fuel_for_one, 1.0), np.inf)

    def _areas(self, named: dict[str, Floats], zero: Floats) -> Iterator[tuple[Floats, Floats, Floats, Floats]]:
        """Effective areas of main jets, open channels, bleed and nozzle, lane by lane."""
        factors = self.metering.factors
        jets = factors.jets * np.exp(named.get("jets", zero))
        channel_factor = jets * factors.channels * np.exp(named.get("channels", zero))
        bleeds = factors.bleeds * np.exp(named.get("bleeds", zero))
        nozzles = np.exp(named.get("nozzle", zero))

        def drilled(drilling: Drilling) -> Floats:
            off = named.get(bore_name(drilling.passage), zero) / drilling.bore_m
            return drilling.area_m2 * np.maximum(SMALLEST_BORE, 1.0 + off) ** 2

        for name, group in self.lanes:
            circuit, state = self.circuits[group], self.states[name]
            power = zero
            certain = self.metering.open_channels(state, circuit, undecided_open=False)
            for channel in self.metering.open_channels(state, circuit, undecided_open=True):
                area = channel_factor * drilled(channel.restriction)
                if channel.window is not None:
                    window = channel_factor * channel.window.area_m2
                    area = area * window / np.hypot(area, window)
                is_open = 1.0 if channel in certain else named.get(VALVE, zero) < 0.5
                power = power + area * is_open
            main = jets * drilled(circuit.main) if circuit.main else zero
            bleed = bleeds * circuit.bleed.area_m2 if circuit.bleed else zero
            nozzle = nozzles * circuit.nozzle.area_m2 if circuit.nozzle else zero
            yield main, power, bleed, nozzle

    def _fuel(self, named: dict[str, Floats], zero: Floats) -> tuple[Floats, Floats]:
        """Density and stoichiometric ratio of the fuel."""
        fuel = self.metering.fuel
        density, ratio = zero + fuel.density_kg_m3, zero + fuel.stoichiometric_air_fuel_ratio
        if "ethanol" in named:
            gasoline, alcohol = GASOLINE.density_kg_m3, ETHANOL.density_kg_m3
            share = np.clip((fuel.density_kg_m3 - gasoline) / (alcohol - gasoline) + named["ethanol"], 0.0, 1.0)
            density = share * alcohol + (1.0 - share) * gasoline
            by_mass = share * alcohol / density
            of_ethanol, of_gasoline = ETHANOL.stoichiometric_air_fuel_ratio, GASOLINE.stoichiometric_air_fuel_ratio
            ratio = by_mass * of_ethanol + (1.0 - by_mass) * of_gasoline
        return density * np.exp(named.get("fuel_density", zero)), ratio * np.exp(named.get("stoichiometric", zero))


def sampler(model: FuelModel, planned: Fueling) -> Sampler:
    """What samples one carburetor. Raises: NotSolved."""
    metering, circuits = planned.metering, dict(planned.circuits)
    predicted = [
        (state, group) for state in planned.table for group in state.groups
        if group.status in (Status.predicted, Status.no_fuel)
    ]  # fmt: skip
    lanes = [(state.state, group.group) for state, group in predicted]
    spreads = list(spreads_of(model, metering, tuple(circuits.values())))
    if any(group.enrichment is Enrichment.undecided for _, group in predicted):
        spreads.append(Spread(VALVE, "enrichment valve that may be open or shut", Kind.open, 0.0, 1.0, "", "solved"))
    if any(group.pull and group.pull.bowl_high_pa_abs > group.pull.bowl_low_pa_abs for _, group in predicted):
        spreads.append(Spread(BOWL_RANGE, "pressure in the bowl, within its range", Kind.open, 0.0, 1.0, "", "solved"))
    air = air_sensitivity(metering, circuits, lanes, spreads)
    return Sampler(metering, circuits, {state.name: state for state in metering.states}, tuple(spreads), air)


def how_sure(model: FuelModel, planned: Fueling, *, samples: int = SAMPLES, seed: int = SEED) -> HowSure:
    """Percentiles of lambda of a carburetor in every state, and the inputs that dominate; same seed, same answer.

    Raises:
        ValueError: a number of samples outside 100 to 200 000, or a negative seed.
        NotSolved: a balance that does not close.
    """
    if not FEWEST <= samples <= MOST or seed < 0:
        raise ValueError(f"samples must be {FEWEST} to {MOST} and the seed at least 0, got {samples} and {seed}")
    sampling = sampler(model, planned)
    generator = np.random.Generator(np.random.PCG64(seed))
    drawn, found = [], []
    for start in range(0, samples, AT_ONCE):
        deviations = sampling.draw(generator, min(AT_ONCE, samples - start))
        drawn.append(deviations)
        found.append(sampling.lambdas(deviations) if sampling.lanes else np.zeros((len(deviations), 0)))
    rows = tuple(_rows(sampling, planned, np.concatenate(drawn), np.concatenate(found)))
    notes = sampling.air.notes
    if model.calibration is not None:
        said = "readings already hold part of what the air side is off by: the spread is rather too wide than too small"
        notes = (*notes, said)
    return HowSure(samples, seed, sampling.spreads, rows, notes)


def _rows(sampling: Sampler, planned: Fueling, deviations: Floats, lambdas: Floats) -> Iterator[Sure]:
    regression = Regression.of(deviations, sampling.spreads)

    def boosted_first(state: StateMixture) -> tuple[bool, bool]:
        view = sampling.states[state.state]
        return not (view.boosted and view.wide_open), not view.boosted

    for state in sorted(planned.table, key=boosted_first):
        columns = [index for index, (name, _) in enumerate(sampling.lanes) if name == state.state]
        flowing = [group for group in state.groups if group.status is not Status.shut]
        for column in columns:
            yield _row(state, sampling.lanes[column][1], lambdas[:, column], regression)
        if len(columns) > 1 and len(columns) == len(flowing):
            yield _row(state, None, sampling.whole(lambdas, deviations, columns), regression)


def _row(state: StateMixture, group: str | None, lambdas: Floats, regression: Regression) -> Sure:
    ordered = np.sort(lambdas)
    at = [ordered[max(0, int(np.ceil(percent / 100.0 * len(ordered))) - 1)] for percent in PERCENTILES]
    low, middle, high = (_rounded(float(value)) if np.isfinite(value) else None for value in at)
    explained, shares = regression.shares(lambdas)
    leaner, dry = float(np.mean(lambdas > state.target)), float(np.mean(np.isinf(lambdas)))
    return Sure(state.state, state.title, group, state.target, low, middle, high, leaner, dry, explained, shares)


def _rounded(value: float) -> float:
    """Digits beyond which machines may differ."""
    return float(f"{value:.{DIGITS}g}")


@dataclass(frozen=True, slots=True)
class Regression:
    """The deviations, centered and by their standard deviation, ready to explain any lambda."""

    spreads: tuple[Spread, ...]
    scaled: Floats

    @classmethod
    def of(cls, deviations: NDArray[np.float64], spreads: tuple[Spread, ...]) -> Regression:
        """Deviations, one row a sample, one column a spread; none of them constant."""
        return cls(spreads, (deviations - deviations.mean(axis=0)) / deviations.std(axis=0))

    def shares(self, lambdas: Floats) -> tuple[float | None, tuple[Share, ...]]:
        """Share of the variance of ln lambda explained, and the inputs that explain it, most first.

        Samples without fuel are left out; with fewer than half left there is nothing to say.
        """
        finite = np.isfinite(lambdas)
        if not self.spreads or finite.mean() < 0.5:
            return None, ()
        logarithm = np.log(lambdas[finite])
        spread = float(logarithm.std())
        if spread <= LEAST_SPREAD:
            return None, ()
        scaled, wanted = self.scaled[finite], (logarithm - logarithm.mean()) / spread
        scaled = scaled - scaled.mean(axis=0)
        slopes = np.linalg.solve(scaled.T @ scaled, scaled.T @ wanted)
        explained = 1.0 - float(np.mean((wanted - scaled @ slopes) ** 2))
        shares = [
            Share(each.name, each.title, _rounded(float(slope**2)), bool(slope > 0.0))
            for each, slope in zip(self.spreads, slopes, strict=True)
            if slope**2 >= SHOWN_SHARE
        ]
        return _rounded(explained), tuple(sorted(shares, key=lambda share: -share.share))
