"""Differences between records as JSON Merge Patches.

Objects are merged, lists and plain values replaced, null takes away: what JSON Merge Patch (RFC 7396) says.
"""

from __future__ import annotations

from typing import Any

Json = Any
"""What JSON can hold: an object, a list, text, a number, true, false or null."""


def apply(target: Json, patch: Json) -> Json:
    """What a patch makes of a record; neither is altered (RFC 7396, section 2).

    >>> apply({"a": 1, "b": {"c": 2}}, {"a": None, "b": {"d": 3}})
    {'b': {'c': 2, 'd': 3}}
    """
    if not isinstance(patch, dict):
        return patch
    merged = dict(target) if isinstance(target, dict) else {}
    for name, value in patch.items():
        if value is None:
            merged.pop(name, None)
        else:
            merged[name] = apply(merged.get(name), value)
    return merged


def difference(old: Json, new: Json) -> Json:
    """The patch that makes one record of another, as small as a merge patch can be.

    Raises:
        ValueError: the new record has an object with a null in it, which no merge patch can write.

    >>> difference({"a": 1, "b": {"c": 2}}, {"b": {"c": 2, "d": 3}})
    {'a': None, 'b': {'d': 3}}
    """
    if not isinstance(new, dict):
        return new
    _refuse_null(new)
    if not isinstance(old, dict):
        return new
    patch: dict[str, Json] = {name: None for name in old if name not in new}
    for name, value in new.items():
        if name not in old or not _same(old[name], value):
            patch[name] = difference(old.get(name), value)
    return patch


def _same(old: Json, new: Json) -> bool:
    """Equal as JSON: true is no 1, though Python takes them for equal."""
    if isinstance(old, dict) and isinstance(new, dict):
        return old.keys() == new.keys() and all(_same(old[name], new[name]) for name in old)
    if isinstance(old, list) and isinstance(new, list):
        return len(old) == len(new) and all(map(_same, old, new))
    return isinstance(old, bool) == isinstance(new, bool) and bool(old == new)


def _refuse_null(record: dict[str, Json]) -> None:
    for name, value in record.items():
        if value is None:
            raise ValueError(f"{name!r} is null, which a merge patch takes for 'take away'; leave it out instead")
        if isinstance(value, dict):
            _refuse_null(value)
