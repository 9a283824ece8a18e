"""Entries written once for all barrel groups, spread out to one entry for each."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from boostcarb.description.source import Document, PathKey, Place, dotted
from boostcarb.description.wording import shown
from boostcarb.errors import BadDescription, Problem
from boostcarb.suggest import suggest

PLACEHOLDER = "{group}"
SECTIONS = ("castings", "stages", "spaces", "passages", "parts", "lines", "diaphragms", "circuits", "group_titles")


def spread_groups(document: Document) -> Document:
    """Return the document with every entry named with `{group}` repeated for each of its `groups`.

    `only: [..]` limits an entry to some groups; `per: {group: {..}}` replaces keys of the entry for one group.

    Raises:
        BadDescription: a placeholder without `groups`, an unknown group or the wrong kind of value under `only` or
            `per`, or two entries that come out with one name.
    """
    groups = _group_names(document)
    data: dict[str, Any] = dict(document.data)
    places: dict[PathKey, Place] = {}
    inside: dict[PathKey, list[tuple[PathKey, Place]]] = {}
    for path, place in document.places.items():
        if path and path[0] in SECTIONS and len(path) > 1:
            inside.setdefault(path[:2], []).append((path, place))
        else:
            places[path] = place
    for section in SECTIONS:
        entries = document.data.get(section)
        if not isinstance(entries, Mapping):
            continue
        data[section] = {}
        for key, entry in entries.items():
            source = (section, key)
            for group in _groups_of(document, source, key, entry, groups):
                new_key = _filled(key, group)
                if new_key in data[section]:
                    message = f"comes out as {new_key!r}, which is there already; keep one of them"
                    raise BadDescription(_problem(document, source, message))
                data[section][new_key] = _entry_for(entry, group)
                for path, place in inside.get(source, ()):
                    places[(section, new_key, *path[2:])] = place
                    if len(path) > 4 and path[2] == "per" and path[3] == group:
                        places[(section, new_key, *path[4:])] = place
    return Document(document.path, data, places)


def _group_names(document: Document) -> list[str]:
    """The `groups` of the file; an empty list where it has none."""
    groups = document.data.get("groups", [])
    if not isinstance(groups, list) or not all(isinstance(group, str) for group in groups):
        message = f"found {shown(groups)}; write a list of names, as in [primary, secondary]"
        raise BadDescription(_problem(document, ("groups",), message))
    return groups


def _groups_of(document: Document, path: PathKey, key: Any, entry: Any, groups: list[str]) -> list[str | None]:
    if not (isinstance(key, str) and PLACEHOLDER in key):
        return [None]
    if not groups:
        raise BadDescription(_problem(document, path, f"{PLACEHOLDER} in a name needs a `groups:` list in the file"))
    if not isinstance(entry, Mapping):
        return list(groups)
    only, per = entry.get("only", groups), entry.get("per", {})
    if not isinstance(only, list):
        message = f"found {shown(only)}; write a list of groups, as in [{groups[0]}]"
        raise BadDescription(_problem(document, (*path, "only"), message))
    if not isinstance(per, Mapping) or not all(isinstance(own, Mapping) for own in per.values()):
        message = f"write the keys to change under the name of the group, as in {{{groups[0]}: {{as_built: ..}}}}"
        raise BadDescription(_problem(document, (*path, "per"), message))
    for field, named in (("only", only), ("per", per)):
        for name in named:
            if name not in groups:
                message = f"unknown group {name!r}; {suggest(str(name), groups)}"
                raise BadDescription(_problem(document, (*path, field), message))
    return [group for group in groups if group in only]


def _problem(document: Document, path: PathKey, message: str) -> Problem:
    place = document.place(path)
    return Problem(message, file=place.file, line=place.line, field=dotted(path))


def _entry_for(entry: Any, group: str | None) -> Any:
    if not isinstance(entry, Mapping):
        return _filled(entry, group)
    own = {key: value for key, value in entry.items() if key not in ("per", "only")}
    own.update(entry.get("per", {}).get(group, {}) if group else {})
    return _filled(own, group)


def _filled(value: Any, group: str | None) -> Any:
    if group is None:
        return value
    if isinstance(value, str):
        return value.replace(PLACEHOLDER, group)
    if isinstance(value, Mapping):
        return {_filled(key, group): _filled(item, group) for key, item in value.items()}
    if isinstance(value, list):
        return [_filled(item, group) for item in value]
    return value
