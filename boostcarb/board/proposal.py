"""A job file with other changes proposed: everything else in it stays as it was written, comments included."""

from __future__ import annotations

import re
from collections.abc import Mapping

from boostcarb import pipeline
from boostcarb.description.job import Job, State
from boostcarb.description.library import ReadJob
from boostcarb.description.source import read_document, validate
from boostcarb.errors import BadDescription, Problem

TOP_LEVEL = re.compile(r"^[^\s#].*$")
SECTION = "proposed"
COMMENT = "# What was changed on the signal board."


def proposal_text(read: ReadJob, changes: Mapping[str, str], target: str) -> str:
    """The text of a job file with these changes, item to form, as its proposal for a target.

    Raises:
        BadDescription: the file is written so that the proposal cannot be put in its place, or it has gone.
    """
    path = read.document.path
    try:
        lines = path.read_text(encoding="utf-8-sig").splitlines()
    except OSError as error:
        raise BadDescription(Problem(f"cannot be read any more: {error.strerror}", path)) from error
    titles = _titles(read, target)
    lines = _without_section(lines, SECTION)
    if target != read.job.target:
        lines = [f"target: {target}" if line.startswith("target:") else line for line in lines]
    while lines and not lines[-1].strip():
        lines.pop()
    added = [f"  {item}: {form}  # {titles[item]}" for item, form in sorted(changes.items())]
    text = "\n".join([*lines, "", COMMENT, f"{SECTION}:", *added, ""])
    _check(read, text, changes, target)
    return text


def _titles(read: ReadJob, target: str) -> dict[str, str]:
    job = read.job.model_copy(update={"target": target, "proposed": None})
    network = pipeline.set_up(read, job, latent=True).network
    return {name: " ".join(item.title.split()) for name, item in network.items.items()}


def _without_section(lines: list[str], name: str) -> list[str]:
    """The lines without a section of the top level; comments in the first column stay, but for that of this module."""
    kept: list[str] = []
    inside = False
    for line in lines:
        if line.startswith("#"):
            inside = False  # it belongs to what follows it
        elif TOP_LEVEL.match(line):
            inside = line.startswith(f"{name}:")
        if not inside and line != COMMENT:
            kept.append(line)
    return kept


def _check(read: ReadJob, text: str, changes: Mapping[str, str], target: str) -> None:
    """Whether the text reads back as the job with the proposal, and as nothing else."""
    path = read.document.path
    wanted = {item: State.model_validate({"is": form}) for item, form in changes.items()}
    job = validate(Job, read_document(path, text=text))
    same = job.model_copy(update={"target": read.job.target, "proposed": None})
    if job.proposed != wanted or job.target != target or same != read.job.model_copy(update={"proposed": None}):
        message = f"is written so that a `{SECTION}:` section cannot be put into it; write the changes in by hand"
        raise BadDescription(Problem(message, path))
