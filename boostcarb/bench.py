"""One carburetor as described by a job, ready to be judged, solved and asked about in any configuration."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from boostcarb.assumed import Assumed
from boostcarb.description.job import Job
from boostcarb.description.loading import (
    Read,
    ReadFamily,
)
from boostcarb.findings import Finding, NotJudged
from boostcarb.network.model import Configuration, Network
from boostcarb.rulebook.judging import Judge
from boostcarb.rulebook.loading import OwnData
from boostcarb.rulebook.view import View
from boostcarb.solving.situation import Situations
from boostcarb.solving.table import StateRow, state_table

if TYPE_CHECKING:
    from boostcarb.fueling.calibration import Calibration
    from boostcarb.fueling.mixture import GroupMixture
    from boostcarb.fueling.model import FuelModel


@dataclass(frozen=True, slots=True)
class Doubt:
    """An item nobody has looked at: what is assumed, and what blocks if it has another form."""

    item: str
    assumed: str
    otherwise: Mapping[str, tuple[Finding, ...]]


@dataclass(frozen=True, slots=True)
class UnusualBore:
    """A bore as measured, in m, that lies outside the range that is usual for its passage."""

    passage: str
    bore_m: float
    low_m: float
    high_m: float


@dataclass(frozen=True, slots=True)
class Before:
    """What a proposal starts from: the carburetor as found, and the calibration from lambdas measured on it."""

    found: Configuration
    calibration: Calibration | None


@dataclass(frozen=True)
class FuelSource:
    """The metering of a job, loaded when first asked for."""

    job: Job
    family: ReadFamily
    network: Network
    situations: Situations
    before: Before | None

    @cached_property
    def model(self) -> FuelModel:
        """Metering and sizing of every configuration."""
        from boostcarb.fueling.model import FuelModel  # noqa: PLC0415  most plans never ask
        from boostcarb.fueling.solved import solved_for  # noqa: PLC0415

        found, calibration = self.network.found(), None
        if self.before is not None:
            found.update({item: form for item, form in self.before.found.items() if item in found})
            calibration = self.before.calibration
        return FuelModel(
            self.job,
            self.family.family,
            found,
            lambda configuration: solved_for(self.network, self.situations, configuration),
            calibration=calibration,
        )

    def mixtures(self, configuration: Configuration, group: str) -> Mapping[str, GroupMixture]:
        """Mixtures of a barrel group in a configuration, by state."""
        return self.model.mixtures(configuration, group)


@dataclass(frozen=True)
class Bench:
    """One carburetor as described by a job, ready to be judged in any configuration."""

    job: Job
    read: Read
    family: ReadFamily
    network: Network
    situations: Situations
    judge: Judge
    fuel: FuelSource
    own: OwnData | None = None

    def view(self, configuration: Configuration) -> View:
        """A configuration, solved when asked."""
        return View(self.network, configuration, self.situations, self.fuel.mixtures)

    @property
    def judges_mixture(self) -> bool:
        """Whether somebody gave bores of jets or a measured lambda, so that the mixture can be judged."""
        return any(each.jet_sizes in self.network.items for each in self.network.circuits.values())

    @property
    def not_judged(self) -> tuple[NotJudged, ...]:
        """What the rules leave unjudged because the job does not say enough."""
        return self.judge.not_judged()

    def findings(self, configuration: Configuration) -> list[Finding]:
        """All findings of a configuration, worst first."""
        return self.judge.findings(configuration)

    def states(self, configuration: Configuration) -> tuple[StateRow, ...]:
        """Pressures and valves of a configuration in every operating state."""
        view = self.view(configuration)
        return state_table(self.network, configuration, view.states, view.pressures)

    def defaults(self, configuration: Configuration) -> tuple[Assumed, ...]:
        """What the job does not say and had to be assumed."""
        return self.situations.for_(configuration).defaults

    def state_notes(self, configuration: Configuration) -> dict[str, tuple[str, ...]]:
        """What the air path of each state rests on: the note, and the titles of the states it goes for."""
        notes: dict[str, tuple[str, ...]] = {}
        for view in self.situations.for_(configuration).views:
            for text in view.result.assumptions:
                notes[text] = (*notes.get(text, ()), view.title)
        return notes

    @property
    def unused_finds(self) -> tuple[str, ...]:
        """Items that were found but do not exist with this target."""
        return tuple(sorted(name for name in self.job.found if name not in self.network.items))

    @property
    def unusual_bores(self) -> tuple[UnusualBore, ...]:
        """Bores as measured that no such carburetor usually has: right, it may be, but worth measuring again."""
        found = []
        for name, state in sorted(self.job.found.items()):
            passage = self.family.family.passages.get(name)
            usual = passage.range if passage is not None else None
            if usual is not None and state.bore is not None and not usual[0] <= state.bore <= usual[1]:
                found.append(UnusualBore(name, state.bore, *usual))
        return tuple(found)

    def doubts(self, configuration: Configuration) -> tuple[Doubt, ...]:
        """Items nobody has looked at, in strip-down order, with what would go wrong if they turn out otherwise."""
        known = {finding.key for finding in self.findings(configuration)}
        found = self.network.found()
        doubts = []
        for name in self.network.unconfirmed():
            item = self.network.items[name]
            settled = configuration[name] != item.found
            # What comes only with a new part is looked at by whoever fits it.
            if settled or not (item.is_there(configuration) and item.is_there(found)):
                continue
            worse = {
                form: tuple(
                    finding
                    for finding in self.findings({**configuration, name: form})
                    if finding.blocks and not finding.rule_is_about_looking and finding.key not in known
                )
                for form in item.forms
                if form != item.found
            }
            doubts.append(Doubt(name, item.found, {form: found for form, found in worse.items() if found}))
        return tuple(doubts)
