"""Checking a document against a model, with messages that name file, line and field."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final, TypeVar

from pydantic import BaseModel, ValidationError

from boostcarb.description.wording import describe
from boostcarb.description.yaml_places import PathKey, dotted
from boostcarb.errors import BadDescription, Problem

if TYPE_CHECKING:
    from pydantic_core import ErrorDetails

    from boostcarb.description.source import Document

M = TypeVar("M", bound=BaseModel)

PROBLEM_LIMIT: Final = 20
_READINGS_LIMIT: Final = 64
_ABSENT: Final = object()


def validate(model: type[M], document: Document) -> M:
    """Build a model from a document.

    Args:
        model: what the document must fit.
        document: from ``read_document``.

    Raises:
        BadDescription: it does not fit; one problem for each thing that is wrong, at most 20.
    """
    try:
        return model.model_validate(document.data)
    except ValidationError as error:
        details = error.errors(include_url=False)
    problems = _problems(model, document, details)
    left = len(problems) - PROBLEM_LIMIT
    if left > 0:
        problems = problems[:PROBLEM_LIMIT]
        problems.append(Problem(f"and {left} more; mend these first", document.path))
    raise BadDescription(problems)


def _problems(model: type[BaseModel], document: Document, details: Sequence[ErrorDetails]) -> list[Problem]:
    """One problem a place, in the order of the file's lines."""
    messages: dict[PathKey, list[str]] = {}
    through_union: set[PathKey] = set()
    for detail in details:
        path = _path(document.data, detail)
        if len(path) < len(detail["loc"]) and detail["type"] not in _AT_NAME:
            through_union.add(path)
        found = messages.setdefault(path, [])
        message = describe(model, detail)
        if message not in found:
            found.append(message)
    problems = []
    for path, found in messages.items():
        if path in through_union and _has_deeper(path, messages):
            continue  # another branch of the union fits better and says what is wrong inside
        place = document.place(path)
        problems.append(Problem(_join(found), place.file, place.line, dotted(path) or None))
    return sorted(problems, key=lambda problem: (problem.file != document.path, problem.line or 0))


def _has_deeper(path: PathKey, paths: dict[PathKey, list[str]]) -> bool:
    return any(len(other) > len(path) and other[: len(path)] == path for other in paths)


def _join(messages: list[str]) -> str:
    """Several ways to be right, as one message: the shared start is said once."""
    first, *rest = messages
    start, separator, _ = first.partition("; ")
    tails = [message.removeprefix(start + separator) for message in rest]
    return " or ".join([first, *(tail.removeprefix("write ") for tail in tails)])


_AT_NAME: Final = {"missing", "union_tag_not_found", "union_tag_invalid"}


def _path(data: Any, detail: ErrorDetails) -> PathKey:
    """The path in the file for a location that may hold union tags and other marks."""
    location = detail["loc"]
    if location and location[-1] == "[key]":
        location = location[:-1]
    kind = detail["type"]
    named = location[-1:] if kind == "missing" else ()
    if named:
        location = location[:-1]
    path = _matching(data, location, detail["input"], kind)
    if kind in {"union_tag_invalid", "union_tag_not_found"}:
        named = (str(detail.get("ctx", {}).get("discriminator", "")).strip("'"),)
    return (*path, *named)


def _matching(data: Any, location: PathKey, found: Any, kind: str) -> PathKey:
    """The reading of a location that leads to the very object that was refused."""
    first: PathKey | None = None
    pending: list[tuple[int, Any, PathKey]] = [(0, data, ())]
    for _ in range(_READINGS_LIMIT * (len(location) + 1)):
        if not pending:
            break
        index, value, path = pending.pop()
        if index == len(location):
            first = path if first is None else first
            if value is found:
                return path
            continue
        step = location[index]
        inside = _step(value, step)
        if inside is _ABSENT:
            pending.append((index + 1, value, path))
            continue
        pending.append((index + 1, value, path))  # a union tag that happens to be a name here
        pending.append((index + 1, inside, (*path, step)))
    return first if first is not None else ()


def _step(value: Any, step: str | int) -> Any:
    if isinstance(value, dict):
        return value.get(step, _ABSENT)
    if isinstance(value, list) and isinstance(step, int) and 0 <= step < len(value):
        return value[step]
    return _ABSENT
