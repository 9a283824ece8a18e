"""Everything that `boostcarb fuel` says of one job."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from boostcarb.fueling.calibration import CALIBRATED_SHARE, SPREADS, Calibration
from boostcarb.fueling.mixture import StateMixture
from boostcarb.fueling.model import Fueling, FuelModel
from boostcarb.fueling.notes import Note, notes
from boostcarb.fueling.records import Worked
from boostcarb.fueling.size_work import size_work
from boostcarb.fueling.sizes import Size
from boostcarb.fueling.spreads import SPILL_HEIGHT_M
from boostcarb.fueling.targets import Targets
from boostcarb.fueling.worked import fuel_change, stoichiometric, work_of
from boostcarb.physics.fuels import Fuel


@dataclass(frozen=True, slots=True)
class Effect:
    """An uncertain value with its usual span, and lambda at cruise and at full load, sizes fitted, at its ends.

    `full_load_span` is the wider span taken at full load, where only readings at cruise calibrated the value.
    """

    name: str
    title: str
    value: float
    low: float
    high: float
    unit: str
    calibrated: bool
    cruise: tuple[float | None, float | None]
    full_load: tuple[float | None, float | None]
    full_load_span: tuple[float, float] | None = None


@dataclass(frozen=True)
class FuelAnswer:
    """Mixtures as found, as proposed and as planned, with the sizes to fit and what they rest on."""

    model: FuelModel
    as_found: Fueling
    proposed: Fueling | None
    planned: Fueling
    has_plan: bool

    @property
    def fuel(self) -> Fuel:
        """What it runs on."""
        return self.model.fuel

    @property
    def targets(self) -> Targets:
        """What is wanted."""
        return self.model.targets

    @property
    def calibration(self) -> Calibration | None:
        """From readings, if there are any."""
        return self.model.calibration

    @cached_property
    def configurations(self) -> Mapping[str, Fueling]:
        """By name: as found, as proposed if there is a proposal, as planned."""
        proposed = {"proposed": self.proposed} if self.proposed else {}
        return {"as_found": self.as_found, **proposed, "planned": self.planned}

    @cached_property
    def sizes(self) -> tuple[Size, ...]:
        """Every size to fit in the planned carburetor."""
        return tuple(size for group in self.planned.sizes.values() for size in group.sizes)

    @cached_property
    def stages(self) -> tuple[Size, ...]:
        """The same work in two stages, where one is absurdly rich before boost."""
        return tuple(size for group in self.planned.sizes.values() for size in group.stages)

    @cached_property
    def fuel_change(self) -> Worked | None:
        """What a change of fuel does to every jet, or None without a change."""
        before = self.model.fuel_before
        return None if before == self.fuel else fuel_change(before, self.fuel)

    @cached_property
    def notes(self) -> tuple[Note, ...]:
        """What the builder must know, what blocks first."""
        return tuple(notes(self.model, self.configurations, has_plan=self.has_plan))

    @property
    def clean(self) -> bool:
        """Whether nothing blocks."""
        return not any(note.blocks for note in self.notes)

    @cached_property
    def work(self) -> dict[str, Worked]:
        """Every number by name, with all that is needed to follow it by hand."""
        found = {f"fuel/{self.fuel.name}/stoichiometric": stoichiometric(self.fuel)}
        if self.fuel_change is not None:
            found["fuel/change"] = self.fuel_change
        for staged, sizes in ((False, self.sizes), (True, self.stages)):
            for size in sizes:
                circuit = self.planned.circuits[size.group]
                found.update(size_work(self.planned.metering, circuit, size, staged=staged))
        for name, fueling in self.configurations.items():
            found.update(work_of(name, fueling))
        return found

    @cached_property
    def effects(self) -> tuple[Effect, ...]:
        """What the uncertain values could do to lambda."""
        return tuple(self._effects())

    def _effects(self) -> Iterator[Effect]:
        model, planned = self.model, self.planned
        factors, usual = model.factors, model.usual_factors
        moved = self.calibration.moved if self.calibration else {}
        for name, spread in SPREADS.items():
            value = float(getattr(factors, name))
            given = name == "booster_gain" and model.job.metering.booster_gain is not None
            known = name in moved or given
            low, high = (1 - CALIBRATED_SHARE, 1 + CALIBRATED_SHARE) if known else (spread.low, spread.high)
            if known or name != "booster_gain":
                low, high = low * value, high * value
            changed = [replace(factors if known else usual, **{name: end}) for end in (low, high)]
            ends = [model.under(planned, each if known else model.variant(factors=each).factors) for each in changed]
            effect = self._effect(name, spread.title, (value, low, high), "", known, ends)
            if self.calibration is not None and name in moved and not given and not self.calibration.has_full_load:
                usual_value = model.usual_factors.booster_gain if name == "booster_gain" else 1.0
                wide = (value * min(1.0, spread.low / usual_value), value * max(1.0, spread.high / usual_value))
                ends = [model.under(planned, replace(factors, **{name: end})) for end in wide]
                full_load_ends = (lambda_at(ends[0], "full load"), lambda_at(ends[1], "full load"))
                effect = replace(effect, full_load=full_load_ends, full_load_span=wide)
            yield effect
        value = model.spill_height_m
        given = model.job.metering.spill_height is not None
        usual_low, usual_high = SPILL_HEIGHT_M
        low, high = (value, value) if given else (min(usual_low, value), max(usual_high, value))
        others = [model.variant(spill_height_m=end) for end in (low, high)]
        ends = [other.under(planned, other.factors) for other in others]
        yield self._effect("spill_height", "spill height", (value, low, high), "m", given, ends)

    @staticmethod
    def _effect(
        name: str, title: str, span: tuple[float, float, float], unit: str, known: bool, ends: list[Fueling]
    ) -> Effect:
        low, high = ends
        return Effect(
            name, title, *span, unit, known,
            cruise=(lambda_at(low, "cruise"), lambda_at(high, "cruise")),
            full_load=(lambda_at(low, "full load"), lambda_at(high, "full load")),
        )  # fmt: skip


def lambda_at(fueling: Fueling, load: str) -> float | None:
    """Leanest lambda of the whole engine at cruise, or of the highest load there is; None where it is not known."""
    states = [state for state in fueling.table if state.leanest is not None]
    if load == "cruise":
        return next((state.leanest for state in states if state.state == "cruise"), None)
    return max((state.leanest for state in full_load(states) if state.leanest is not None), default=None)


def full_load(states: list[StateMixture]) -> list[StateMixture]:
    """The states whose target is the richest of all."""
    richest = min((state.target for state in states), default=0.0)
    return [state for state in states if state.target == richest]
