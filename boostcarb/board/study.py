"""One job under study: every target mode that it can be looked at in, and the configurations to start from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from boostcarb import pipeline
from boostcarb.answers import Planned
from boostcarb.bench import Bench
from boostcarb.board.question import Record
from boostcarb.board.state import deciding_items, states_record
from boostcarb.description.library import ReadJob
from boostcarb.errors import BadDescription, NotSolved, Problem
from boostcarb.findings import Finding
from boostcarb.network.model import Configuration
from boostcarb.planning.search import Plan
from boostcarb.states.operating_state import Mode
from boostcarb.suggest import suggest

FOUND, PROPOSED, PLANNED = "found", "proposed", "planned"
BASES = {FOUND: "as found", PROPOSED: "as proposed", PLANNED: "as planned"}
MOST_KEPT = 64
"""Configurations whose states are kept; the oldest goes first."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What stands on the board: a base of a target mode, with changes laid over it."""

    mode: str
    base: str
    changes: Mapping[str, str]


@dataclass(frozen=True)
class Study:
    """A job with what has been worked out of it so far. Not for two threads at once."""

    read: ReadJob
    scenes: dict[str, Record] = field(default_factory=dict, repr=False)
    _benches: dict[str, Bench] = field(default_factory=dict, repr=False)
    _planned: dict[str, Planned] = field(default_factory=dict, repr=False)
    _bases: dict[str, dict[str, dict[str, str]]] = field(default_factory=dict, repr=False)
    _deciding: dict[str, tuple[str, ...]] = field(default_factory=dict, repr=False)
    _states: dict[tuple[str, ...], Record] = field(default_factory=dict, repr=False)
    _sound: dict[tuple[str, str], tuple[Finding, ...]] = field(default_factory=dict, repr=False)

    @classmethod
    def of(cls, read: ReadJob) -> Study:
        """A job, looked at in its own target mode first.

        Raises:
            BadDescription: what the job says does not fit its family or itself.
            NotSolved: an air path that does not balance.
        """
        study = cls(read)
        study.bench(read.job.target)
        return study

    def modes(self) -> dict[str, str | None]:
        """Every target mode, the job's own first, with why it cannot be looked at; None where it can."""
        own = self.read.job.target
        return {mode: self._why_not(mode) for mode in sorted(map(str, Mode), key=lambda mode: mode != own)}

    def _why_not(self, mode: str) -> str | None:
        if mode != Mode.naturally_aspirated and self.read.job.charge is None:
            return "the job has no charge section: give the boost and the speed from which it is there"
        try:
            self.bench(mode)
        except BadDescription as error:
            return "; ".join(problem.message for problem in error.problems)
        except NotSolved as error:
            return str(error)
        return None

    def bench(self, mode: str) -> Bench:
        """The carburetor in a target mode, with everything in it that can fail.

        Raises:
            BadDescription: no such mode, or one that the job does not fit.
            NotSolved: an air path that does not balance.
        """
        if mode not in self._benches:
            if mode not in list(Mode):
                raise BadDescription(Problem(f"no such target {mode!r}; {suggest(mode, list(Mode))}", field="mode"))
            job = self.read.job
            if mode != job.target:
                job = job.model_copy(update={"target": mode, "proposed": None})
            self._benches[mode] = pipeline.set_up(self.read, job, latent=True)
        return self._benches[mode]

    def planned(self, mode: str) -> Planned:
        """The plan of a target mode. Raises: BadDescription, NotSolved, BudgetSpent."""
        if mode not in self._planned:
            self._planned[mode] = pipeline.plan(pipeline.set_up(self.read, self.bench(mode).job), alternatives=0)
        return self._planned[mode]

    def bases(self, mode: str) -> dict[str, dict[str, str]]:
        """The whole configurations to start from: as found, as the job proposes, as planned.

        A proposal is there in the job's own target only, a plan where there is one. Raises: as `planned`.
        """
        if mode not in self._bases:
            found = self.bench(mode).network.found()
            bases = {FOUND: found}
            job = self.read.job
            if job.proposed and mode == job.target:
                proposed = pipeline.set_up(self.read, pipeline.with_changes(self.read, job.proposed)).network.found()
                bases[PROPOSED] = {**found, **{item: form for item, form in proposed.items() if item in found}}
            planned = self.planned(mode)
            if isinstance(planned.outcome, Plan):
                bases[PLANNED] = {**found, **planned.outcome.assignment}
            self._bases[mode] = bases
        return self._bases[mode]

    def base(self, asked: Asked) -> dict[str, str]:
        """The base of what is asked. Raises: BadDescription where there is none of this name; as `planned`."""
        bases = {FOUND: self.bench(asked.mode).network.found()} if asked.base == FOUND else self.bases(asked.mode)
        if asked.base not in bases:
            why = "there is none in this target" if asked.base in BASES else suggest(asked.base, bases)
            raise BadDescription(Problem(f"no base {asked.base!r}: {why}", field="base"))
        return bases[asked.base]

    def configuration(self, asked: Asked) -> dict[str, str]:
        """The form of every item.

        Raises:
            BadDescription: no such mode, base, item or form.
        """
        items = self.bench(asked.mode).network.items
        for item, form in asked.changes.items():
            if item not in items:
                raise BadDescription(Problem(f"no such item {item!r}; {suggest(item, items)}", field="changes"))
            if form not in items[item].forms:
                message = f"{item} has no form {form!r}; {suggest(form, items[item].forms)}"
                raise BadDescription(Problem(message, field=f"changes.{item}"))
        return {**self.base(asked), **asked.changes}

    def states(self, mode: str, configuration: Configuration) -> Record:
        """Every state of a configuration, as a page shows it; not to be changed by who gets it. Raises: NotSolved.

        Most parts and all materials change no pressure, valve or mixture: with them it is what it was.
        """
        bench = self.bench(mode)
        if mode not in self._deciding:
            self._deciding[mode] = tuple(sorted(deciding_items(bench.network)))
        key = (mode, *(configuration[item] for item in self._deciding[mode]))
        if key not in self._states:
            if len(self._states) >= MOST_KEPT:
                self._states.pop(next(iter(self._states)))
            view = bench.view(configuration)
            mixtures = {group: bench.fuel.mixtures(configuration, group) for group in bench.family.family.groups}
            self._states[key] = states_record(view, view.states, mixtures)
        return self._states[key]

    def sound_findings(self, asked: Asked) -> tuple[Finding, ...]:
        """The findings of the base of what is asked. Raises: NotSolved."""
        key = (asked.mode, asked.base)
        if key not in self._sound:
            self._sound[key] = tuple(self.bench(asked.mode).findings(self.base(asked)))
        return self._sound[key]
