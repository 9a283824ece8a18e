"""A family written as another one with additions, changes and removals.

The documents are merged before anything is validated, entry by entry and inside an entry key by key, so that every
value keeps the file and line it was written at. A key with an empty value takes the base's away.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from fnmatch import fnmatchcase
from pathlib import Path
from typing import Any, Final

from boostcarb.description.source import Document, PathKey, Place, dotted, merge, read_document
from boostcarb.description.wording import shown
from boostcarb.errors import BadDescription, Problem
from boostcarb.suggest import suggest

BASED_ON, WITHOUT, GROUPS = "based_on", "without", "groups"
DEPTH_LIMIT: Final = 8
PLACEHOLDER: Final = "{group}"
_HANDED_ON: Final = "removals of bases"
"""Key under which a merged document carries what its bases take out; no file can hold it."""
REMOVABLE: Final = (
    "castings", "stages", "spaces", "passages", "parts", "lines", "diaphragms", "also_called", "circuits",
    "flow.venturis", "flow.opening",
)  # fmt: skip
"""Sections out of which entries can be taken."""
BY_GROUP: Final = (("flow", "venturis"), ("flow", "opening"), ("circuits",), ("group_titles",))
"""Sections that hold one entry for each barrel group."""

Find = Callable[[str, Path], Path | None]
"""Where the file of a base is, by its name and the file that names it."""


def read_inherited(path: Path, find: Find, *, text: str | None = None) -> Document:
    """Read a family file with everything it is based on; removals of entries named with `{group}` made.

    `without` stays in the document: `take_out` makes the other removals once the groups are spread.

    Raises:
        BadDescription: no such base, families based on each other in a circle, or a removal that takes nothing out.
    """
    return _read(path, find, (), text)


def _read(path: Path, find: Find, above: tuple[Path, ...], text: str | None = None) -> Document:
    own = read_document(path, text=text)
    if BASED_ON not in own.data:
        if own.data.get(WITHOUT):
            raise BadDescription(_problem(own, (WITHOUT,), "takes entries out of a base; say which with `based_on:`"))
        return own
    name, chain = own.data[BASED_ON], (*above, path)
    if not isinstance(name, str):
        message = f"found {shown(name)}; write the name of one family, as in 'based_on: modular_four_barrel'"
        raise BadDescription(_problem(own, (BASED_ON,), message))
    base_path = find(name, path)
    if base_path is None:
        message = f"no family {name!r} here; it must stand beside this file or travel with the package"
        raise BadDescription(_problem(own, (BASED_ON,), message))
    if base_path.resolve() in [each.resolve() for each in chain] or len(chain) > DEPTH_LIMIT:
        shown_chain = " -> ".join(each.stem for each in (*chain, base_path))
        message = f"families are based on each other: {shown_chain}; base one of them on nothing"
        raise BadDescription(_problem(own, (BASED_ON,), message))
    base = _read(base_path, find, chain)
    base_groups = base.data.get(GROUPS, [])
    merged = _without_empty(merge(_bare(base), own), own)
    return _spreadable(_take_out(merged, own, spread=False), base_groups)


def _bare(base: Document) -> Document:
    """A base without what goes for itself alone; what it takes out later is handed on."""
    data = {key: value for key, value in base.data.items() if key not in (BASED_ON, WITHOUT)}
    later = [(section, pattern, [base.path]) for section, _, pattern in _removals(base, spread=True)]
    data[_HANDED_ON] = [(section, name, [*kept, base.path]) for section, name, kept in base.data.get(_HANDED_ON, ())]
    data[_HANDED_ON] += later
    return Document(base.path, data, base.places)


def _without_empty(document: Document, own: Document) -> Document:
    """Keys that the file itself leaves empty are gone, and what stood under them."""
    empty = [path for path in own.places if len(path) > 1 and _at(own.data, path) is None]
    data: dict[str, Any] = _copied(document.data)
    for path in empty:
        inside = _at(data, path[:-1])
        if isinstance(inside, dict):
            inside.pop(path[-1], None)
    return Document(document.path, data, document.places)


def _spreadable(document: Document, base_groups: Any) -> Document:
    """Without what the base says of groups that this family has not."""
    groups = document.data.get(GROUPS, [])
    if not isinstance(groups, list) or not isinstance(base_groups, list):
        return document
    gone = {group for group in base_groups if group not in groups}
    if not gone:
        return document
    data: dict[str, Any] = _copied(document.data)
    for path in BY_GROUP:
        inside = _at(data, path)
        for group in gone if isinstance(inside, dict) else ():
            place = document.places.get((*path, group))
            if place is None or place.file != document.path:
                inside.pop(group, None)
    for section in data.values():
        for name, entry in section.items() if isinstance(section, dict) else ():
            if isinstance(name, str) and PLACEHOLDER in name and isinstance(entry, dict):
                _forget_groups(entry, gone)
    return Document(document.path, data, document.places)


def _forget_groups(entry: dict[str, Any], gone: set[str]) -> None:
    if isinstance(entry.get("only"), list):
        entry["only"] = [group for group in entry["only"] if group not in gone]
    if isinstance(entry.get("per"), dict):
        entry["per"] = {group: own for group, own in entry["per"].items() if group not in gone}


# --- removals ---------------------------------------------------------------------------------------------


def take_out(document: Document) -> Document:
    """The document, groups spread, without the entries that its `without` and its bases' name. Raises: BadDescription.

    A pattern with * takes out nothing that the file itself, or one based on it, adds.
    """
    taken = _take_out(document, document, spread=True)
    data: dict[str, Any] = _copied(taken.data)
    for section, pattern, kept in data.pop(_HANDED_ON, ()):
        entries = _at(data, tuple(section.split(".")))
        for name in _named(pattern, entries):
            if not _is_from(document, section, name, [*kept, document.path]) or "*" not in pattern:
                entries.pop(name)
    return Document(document.path, data, document.places)


def _take_out(document: Document, own: Document, *, spread: bool) -> Document:
    data: dict[str, Any] = _copied(document.data)
    for section, index, pattern in _removals(own, spread=spread):
        entries = _at(data, tuple(section.split(".")))
        found = _named(pattern, entries)
        if not found:
            known = [str(name) for name in entries] if isinstance(entries, dict) else []
            message = f"nothing named {pattern!r} in the base; {suggest(pattern, known) if known else 'it has none'}"
            raise BadDescription(_problem(own, (WITHOUT, section, index), message))
        for name in found:
            if "*" not in pattern or not _is_from(document, section, name, [own.path]):
                entries.pop(name)
    return Document(document.path, data, document.places)


def _named(pattern: str, entries: Any) -> list[str]:
    names = [name for name in entries if isinstance(name, str)] if isinstance(entries, dict) else []
    return [name for name in names if fnmatchcase(name, pattern.replace("[", "[[]"))]


def _is_from(document: Document, section: str, name: str, files: list[Path]) -> bool:
    place = document.places.get((*section.split("."), name))
    return place is not None and place.file in files


def _removals(document: Document, *, spread: bool) -> Iterator[tuple[str, int, str]]:
    """Section, index and pattern of the removals that are made before the groups are spread, or after it."""
    without = document.data.get(WITHOUT) or {}
    if not isinstance(without, Mapping):
        message = f"found {shown(without)}; write lists by section, as in '{{passages: [choke_shaft_gap]}}'"
        raise BadDescription(_problem(document, (WITHOUT,), message))
    for section, patterns in without.items():
        if section not in REMOVABLE:
            message = f"unknown section {section!r}; {suggest(str(section), REMOVABLE)}"
            raise BadDescription(_problem(document, (WITHOUT, section), message))
        if not isinstance(patterns, list) or not all(isinstance(pattern, str) for pattern in patterns):
            message = f"found {shown(patterns)}; write a list of names, as in '[choke_shaft_gap]'"
            raise BadDescription(_problem(document, (WITHOUT, section), message))
        for index, pattern in enumerate(patterns):
            if (PLACEHOLDER not in pattern) is spread:
                yield section, index, pattern


# --- small ------------------------------------------------------------------------------------------------


def _problem(document: Document, path: PathKey, message: str) -> Problem:
    place: Place = document.place(path)
    return Problem(message, file=place.file, line=place.line, field=dotted(path))


def _at(data: Any, path: PathKey) -> Any:
    """What stands at a path; an ellipsis where there is nothing."""
    for key in path:
        in_mapping = isinstance(data, dict) and key in data
        if not in_mapping and not (isinstance(data, list) and isinstance(key, int) and key < len(data)):
            return ...
        data = data[key]
    return data


def _copied(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _copied(each) for key, each in value.items()}
    return value
