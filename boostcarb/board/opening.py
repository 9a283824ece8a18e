"""A board as it is first seen: served from here, or packed into one file."""

from __future__ import annotations

from collections.abc import Callable

from boostcarb.board.pack import pack_record, pressed
from boostcarb.board.page.assemble import Page, assembled, page
from boostcarb.board.question import Record
from boostcarb.board.study import Study
from boostcarb.errors import BadDescription, Problem


def first_mode(study: Study, wanted: str | None) -> str:
    """The target to show first: the one that is wanted, else that of the job, else the first that can be looked at.

    Raises:
        BadDescription: what is wanted, or everything, cannot be looked at; says why.
    """
    modes = study.modes()
    if wanted is not None:
        if modes.get(wanted, "is no target of this job") is not None:
            raise BadDescription(Problem(f"{wanted} cannot be looked at: {modes.get(wanted)}", field="--mode"))
        return wanted
    own = study.read.job.target
    for mode in (own, *modes):
        if mode in modes and modes[mode] is None:
            return mode
    raise BadDescription([Problem(f"{mode} cannot be looked at: {why}") for mode, why in modes.items()])


def served_page(study: Study, mode: str, units: str, *, version: str, token: str) -> Page:
    """The page that asks a server for everything, with the token it must show in the header `X-Board-Token`.

    It starts from `version`, `mode`, `units` (`metric` or `us`), `modes` (name to an object; `why` in it says why one
    cannot be looked at) and `token`.
    """
    return assembled(_title(study), {**_start(study, mode, units, version), "token": token}, connect="'self'")


def packed_page(
    study: Study, mode: str, units: str, *, version: str, seed: int, told: Callable[[str], None] = lambda _: None
) -> str:
    """The page with everything in it: it starts from the same record, with `pack` instead of `token`, pressed
    together.

    `told` hears how far it is. Raises what working it out raises.
    """
    pack = pack_record(study, version=version, seed=seed, told=told)
    return page(_title(study), {**_start(study, mode, units, version), "pack": pressed(pack)})


def _start(study: Study, mode: str, units: str, version: str) -> Record:
    modes = {name: ({"why": why} if why else {}) for name, why in study.modes().items()}
    return {"version": version, "mode": mode, "units": units, "modes": modes}


def _title(study: Study) -> str:
    return study.read.job.job
