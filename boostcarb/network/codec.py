"""Records of the network as plain data for JSON, and back, checked against their types."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import MISSING, fields, is_dataclass
from functools import cache
from types import NoneType, UnionType
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints


def plain(value: Any) -> Any:
    """A record, or anything made of records, as plain data; sets come out sorted.

    >>> plain(frozenset({"b", "a"}))
    ['a', 'b']
    """
    if is_dataclass(value) and not isinstance(value, type):
        return {each.name: plain(getattr(value, each.name)) for each in fields(value)}
    if hasattr(value, "model_dump"):
        return value.model_dump(mode="json", by_alias=True)
    if isinstance(value, Mapping):
        return {str(key): plain(each) for key, each in value.items()}
    if isinstance(value, frozenset | set):
        return sorted(plain(each) for each in value)
    if isinstance(value, list | tuple):
        return [plain(each) for each in value]
    return value


class Unfit(ValueError):
    """Plain data that a type does not allow; the message says where."""


def record(kind: Any, value: Any) -> Any:
    """Plain data as what a type says.

    Raises:
        Unfit: the data does not fit.
    """
    origin, inside = get_origin(kind), get_args(kind)
    if origin in (Union, UnionType):
        return None if value is None and NoneType in inside else record(_not_none(inside), value)
    if origin is Literal and value not in inside:
        raise Unfit(f"found {value!r}; one of {', '.join(map(str, inside))}")
    if origin in (tuple, frozenset, list):
        return _series(origin, inside, value)
    if isinstance(origin, type) and issubclass(origin, Mapping):
        return {record(inside[0], key): _named(str(key), inside[1], each) for key, each in _mapping(value).items()}
    return _record(kind, _mapping(value)) if is_dataclass(kind) else _single(kind, value)


def _not_none(kinds: tuple[Any, ...]) -> Any:
    return next(each for each in kinds if each is not NoneType)


def _mapping(value: Any) -> dict[str, Any]:
    if isinstance(value, dict):
        return value
    raise Unfit(f"found {value!r}; write names with values")


def _single(kind: Any, value: Any) -> Any:
    if hasattr(kind, "model_validate"):
        return kind.model_validate(value)
    if kind is float and isinstance(value, int) and not isinstance(value, bool):
        return float(value)
    if kind in (str, int, float, bool) and type(value) is not kind:
        raise Unfit(f"found {value!r}; write {_WORDS[kind]}")
    return value


_WORDS = {str: "a text", int: "a whole number", float: "a number", bool: "true or false"}


def _series(origin: Any, inside: tuple[Any, ...], value: Any) -> Any:
    entries = value if isinstance(value, list) else None
    if entries is None:
        raise Unfit(f"found {value!r}; write a list")
    if origin is tuple and Ellipsis not in inside:
        if len(entries) != len(inside):
            raise Unfit(f"found {len(entries)} entries; write {len(inside)}")
        return tuple(record(kind, each) for kind, each in zip(inside, entries, strict=True))
    return origin(record(inside[0], each) for each in entries)


def _record(kind: Any, value: dict[str, Any]) -> Any:
    """A record; what is left out and may be None is None."""
    hints = _hints(kind)
    unknown = sorted(set(value) - set(hints))
    if unknown:
        raise Unfit(f"unknown name {unknown[0]!r}")
    given = {name: _named(name, hints[name], each) for name, each in value.items()}
    for each in fields(kind):
        if each.name in given or each.default is not MISSING or each.default_factory is not MISSING:
            continue
        if NoneType not in get_args(hints[each.name]):
            raise Unfit(f"{each.name} is missing")
        given[each.name] = None
    return kind(**given)


def _named(name: str, kind: Any, value: Any) -> Any:
    try:
        return record(kind, value)
    except ValueError as error:
        raise Unfit(f"{name}: {error}") from error


@cache
def _hints(kind: Any) -> dict[str, Any]:
    return get_type_hints(kind)
