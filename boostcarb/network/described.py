"""What a family, its surroundings and a job say together, for one target mode."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeVar

from boostcarb.description import family as described
from boostcarb.description.job import NOT_LOOKED_AT, Job, State
from boostcarb.network.enclosure import in_a_box, without_replaced
from boostcarb.network.model import ABSENT, COOLER, FITTED, INLINE, MATERIAL, NONE, ONE_WAY_VALVE, OPEN, PLUGGED

SAME_WORDS = {
    "drilled": (OPEN,),
    "leaking": (OPEN,),
    "sound": (PLUGGED,),
    "missing": (ABSENT, NONE),
    "none": (ABSENT,),
    "fitted": (OPEN,),
}
"""Words of the bench for forms that some items call otherwise."""

SEVERAL = {
    "plenum": "carburetor_plenum", "bonnets": "carburetor_bonnets", "references": "carburetor_references",
}  # fmt: skip
"""Fields of a job with several carburetors, and the items of which they say the form."""

Entry = TypeVar("Entry", described.Space, described.Passage, described.Part, described.Line, described.Diaphragm)


class Described:
    """Every entry that exists in the target mode, every word a job may use for it, and what was found."""

    def __init__(
        self,
        family: described.Family,
        surroundings: described.Family,
        job: Job,
        variants: Sequence[described.Family] = (),
    ) -> None:
        boxed = family if job.enclosure is None else in_a_box(family)
        self.sources = (without_replaced(surroundings, variants), *variants, boxed)
        self.own = frozenset({*family.passages, *family.parts, *family.lines})
        self.carburetors = job.carburetors.count if job.carburetors is not None else 1
        self.job = job
        self.mode = job.target
        self.rest_confirmed = job.rest != NOT_LOOKED_AT
        self.spaces = self._collect("spaces", described.Space)
        self.passages = self._collect("passages", described.Passage)
        self.parts = self._collect("parts", described.Part)
        self.lines = self._collect("lines", described.Line)
        self.diaphragms = self._collect("diaphragms", described.Diaphragm)
        self.known = self._every_item_name()
        self.found = {name: self.in_our_words(name, state) for name, state in job.found.items()}
        if job.charge is not None and job.charge.cooler is not None:
            self.found.setdefault(COOLER, State.model_validate({"is": FITTED}))
        for field, item in SEVERAL.items() if job.carburetors is not None else ():
            self.found.setdefault(item, State.model_validate({"is": getattr(job.carburetors, field)}))

    def _collect(self, section: str, kind: type[Entry]) -> dict[str, Entry]:
        gathered: dict[str, Entry] = {}
        for source in self.sources:
            for name, entry in getattr(source, section).items():
                if entry.modes is None or self.mode in entry.modes:
                    gathered[name] = entry
        return gathered

    def _every_item_name(self) -> dict[str, tuple[str, ...]]:
        """Forms by item, those of other target modes included: a job may speak of them, and is told."""
        known: dict[str, tuple[str, ...]] = {}
        for source in self.sources:
            known.update(dict.fromkeys(source.passages, (OPEN, PLUGGED, ABSENT)))
            for name, part in source.parts.items():
                known[name] = tuple(part.options)
                if part.made_of is not None:
                    known[name + MATERIAL] = tuple(part.made_of.choices)
            for name, line in source.lines.items():
                known[name] = tuple(line.taps)
                known[name + INLINE] = (NONE, ONE_WAY_VALVE)
        return known

    def in_our_words(self, name: str, state: State) -> State:
        """A find with the bench's other words put in ours: a passage that is `drilled` is open."""
        forms = self.known.get(name, ())
        if state.is_ in forms or state.is_ == NOT_LOOKED_AT:
            return state
        same = next((form for form in SAME_WORDS.get(state.is_, ()) if form in forms), state.is_)
        return state.model_copy(update={"is_": same})

    def form_found(self, name: str, as_built: str) -> tuple[str, bool]:
        """The form an item has, as found or else as built, and whether somebody has looked."""
        state = self.found.get(name)
        if state is None:
            return as_built, self.rest_confirmed
        if state.is_ == NOT_LOOKED_AT:
            return as_built, False
        return state.is_, True

    def with_it_found(self, name: str, suffix: str, word: str | None, as_built: str) -> tuple[str, bool]:
        """The same for what goes with an item: in its line, or what it is made of. Said there, or under its own name.

        Whoever has looked at the item has seen what stands in its line; not what it is made of, unless that is said.
        """
        own, item = self.found.get(name + suffix), self.found.get(name)
        said = own.is_ if own is not None else word
        if said is None:
            unseen = item is not None and item.is_ == NOT_LOOKED_AT
            return as_built, self.rest_confirmed and not unseen
        return (as_built, False) if said == NOT_LOOKED_AT else (said, True)
