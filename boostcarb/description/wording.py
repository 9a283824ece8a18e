"""Validation errors in plain words: what was found and what would be right."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from types import UnionType
from typing import TYPE_CHECKING, Annotated, Final, Literal, Union, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from boostcarb.suggest import suggest

if TYPE_CHECKING:
    from pydantic_core import ErrorDetails

_LONGEST: Final = 60
_BLOCKS: Final = {dict, Mapping}
_LISTS: Final = {list, tuple, set, frozenset, Sequence}
_BLOCK: Final = "write indented 'name: value' lines"
_WANTED: Final = {
    "string_type": "write text, in quotes if it looks like a number",
    "bool_type": "write true or false",
    "bool_parsing": "write true or false",
    "int_type": "write a whole number",
    "int_parsing": "write a whole number",
    "int_parsing_size": "write a smaller number",
    "int_from_float": "write a whole number",
    "float_type": "write a number",
    "float_parsing": "write a number",
    "finite_number": "write a finite number",
    "list_type": "write a list",
    "tuple_type": "write a list",
    "set_type": "write a list",
    "frozen_set_type": "write a list",
    "dict_type": _BLOCK,
    "mapping_type": _BLOCK,
    "model_type": _BLOCK,
    "model_attributes_type": _BLOCK,
    "dataclass_type": _BLOCK,
    "none_required": "leave it empty",
    "greater_than": "must be more than {gt}",
    "greater_than_equal": "must be at least {ge}",
    "less_than": "must be less than {lt}",
    "less_than_equal": "must be at most {le}",
    "multiple_of": "must be a multiple of {multiple_of}",
    "string_too_short": "must have at least {min_length} characters",
    "string_too_long": "must have at most {max_length} characters",
    "too_short": "must have at least {min_length} entries, has {actual_length}",
    "too_long": "must have at most {max_length} entries",
}


def describe(model: type[BaseModel], detail: ErrorDetails) -> str:
    """One validation error in plain words.

    Args:
        model: the model at the top, to look up names and descriptions.
        detail: one entry of ``ValidationError.errors()``.
    """
    kind = detail["type"]
    special = _SPECIAL.get(kind)
    if special is not None:
        return special(model, detail)
    wanted = _WANTED.get(kind)
    tail = wanted.format(**detail.get("ctx", {})) if wanted else _other(detail["msg"])
    return f"found {shown(detail['input'])}; {tail}"


def _missing(model: type[BaseModel], detail: ErrorDetails) -> str:
    return f"is missing; {_what_to_add(model, detail['loc'])}"


def _unknown_name(model: type[BaseModel], detail: ErrorDetails) -> str:
    location = detail["loc"]
    return f"unknown name; {suggest(str(location[-1]), _names(model, location[:-1]))}"


def _own_words(model: type[BaseModel], detail: ErrorDetails) -> str:
    return str(detail.get("ctx", {}).get("error", "")) or "is not right"


def _wrong_choice(model: type[BaseModel], detail: ErrorDetails) -> str:
    return _not_among(detail["input"], str(detail.get("ctx", {}).get("expected", "")))


def _wrong_tag(model: type[BaseModel], detail: ErrorDetails) -> str:
    context = detail.get("ctx", {})
    return _not_among(context.get("tag"), str(context.get("expected_tags", "")))


def _no_tag(model: type[BaseModel], detail: ErrorDetails) -> str:
    return "is missing; it says which kind this is"


def _wrong_pattern(model: type[BaseModel], detail: ErrorDetails) -> str:
    description = _description(model, detail["loc"])
    pattern = detail.get("ctx", {}).get("pattern")
    return f"found {shown(detail['input'])}; " + (
        f"write {description}" if description else f"must fit the pattern {pattern}"
    )


_SPECIAL: Final[dict[str, Callable[[type[BaseModel], ErrorDetails], str]]] = {
    "missing": _missing,
    "extra_forbidden": _unknown_name,
    "value_error": _own_words,
    "assertion_error": _own_words,
    "literal_error": _wrong_choice,
    "enum": _wrong_choice,
    "union_tag_invalid": _wrong_tag,
    "union_tag_not_found": _no_tag,
    "string_pattern_mismatch": _wrong_pattern,
}


def shown(value: object) -> str:
    """A value as it stands in a file, shortened.

    >>> shown("x" * 100)[-6:], shown(None), shown({"a": 1})
    ('xxx...', 'nothing', 'a block of names')
    """
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "a block of names" if value else "an empty block"
    if isinstance(value, list):
        return f"a list of {len(value)}" if value else "an empty list"
    text = repr(value)
    return text if len(text) <= _LONGEST else f"{text[:_LONGEST]}..."


def _not_among(found: object, expected: str) -> str:
    choices = re.findall(r"'([^']*)'", expected) or [expected]
    return f"found {shown(found)}; {suggest(str(found), choices)}"


def _other(message: str) -> str:
    """Any further message of the validator, in our form."""
    message = re.sub(r"^(?:\w+ )?(?:[Ii]nput|Value|String|Data) should", "must", message)
    message = re.sub(r",? [^,;]*https?://\S+", "", message)
    return message[:1].lower() + message[1:]


def _what_to_add(model: type[BaseModel], location: tuple[int | str, ...]) -> str:
    info = _info(model, location)
    examples = _examples(info) if info is not None else []
    if examples:
        return f"add for example '{location[-1]}: {examples[0]}'"
    if info is not None and info.description:
        return f"add it: {info.description}"
    return "add it"


def _examples(info: FieldInfo) -> list[object]:
    if info.examples:
        return list(info.examples)
    choices = [arg for form in _members(info.annotation) if get_origin(form) is Literal for arg in get_args(form)]
    kinds = [kind for kind in (getattr(mark, "kind", None) for mark in info.metadata) if kind is not None]
    return choices or [example for kind in kinds for example in kind.examples]


def _names(model: type[BaseModel], location: tuple[int | str, ...]) -> list[str]:
    """The names allowed in the block at a location."""
    names: dict[str, None] = {}
    for form in _forms(model, location):
        if isinstance(form, type) and issubclass(form, BaseModel):
            names.update((info.alias or name, None) for name, info in form.model_fields.items())
    return list(names)


def _info(model: type[BaseModel], location: tuple[int | str, ...]) -> FieldInfo | None:
    for form in _forms(model, location[:-1]):
        if isinstance(form, type) and issubclass(form, BaseModel):
            for name, info in form.model_fields.items():
                if location[-1] in {name, info.alias}:
                    return info
    return None


def _description(model: type[BaseModel], location: tuple[int | str, ...]) -> str | None:
    """What the model says of a text, for a field, a list entry or a name of a block."""
    if location and location[-1] == "[key]":
        for form in _forms(model, location[:-2]):
            if get_origin(form) in _BLOCKS:
                return _described(get_args(form)[0])
        return None
    info = _info(model, location)
    if info is not None:
        return info.description
    for form in _forms(model, location[:-1]):
        if get_origin(form) in _LISTS | _BLOCKS:
            return _described(get_args(form)[-1])
    return None


def _described(form: object) -> str | None:
    for mark in get_args(form)[1:] if get_origin(form) is Annotated else ():
        if isinstance(mark, FieldInfo) and mark.description:
            return mark.description
    return None


def _forms(model: type[BaseModel], location: tuple[int | str, ...]) -> list[object]:
    """The types a value at a location may have."""
    forms: list[object] = [model]
    for step in location:
        inside = [inner for form in forms for inner in _inside(form, step)]
        # A step that leads nowhere is the mark of one branch of a union.
        forms = inside or [form for form in forms if _is_branch(form, step)] or forms
    return forms


def _inside(form: object, step: int | str) -> Iterator[object]:
    origin, args = get_origin(form), get_args(form)
    if isinstance(form, type) and issubclass(form, BaseModel):
        for name, info in form.model_fields.items():
            if step in {name, info.alias}:
                yield from _members(info.annotation)
    elif origin in _BLOCKS and isinstance(step, str):
        yield from _members(args[1])
    elif origin in _LISTS and isinstance(step, int):
        fixed = origin is tuple and args[-1] is not Ellipsis
        yield from _members(args[step] if fixed and step < len(args) else args[0])


def _members(form: object) -> Iterator[object]:
    """The branches of a type, without annotations."""
    origin, args = get_origin(form), get_args(form)
    if origin is Annotated:
        yield from _members(args[0])
    elif origin is Union or isinstance(form, UnionType):
        for arg in args:
            yield from _members(arg)
    else:
        yield form


def _is_branch(form: object, step: int | str) -> bool:
    if not (isinstance(form, type) and issubclass(form, BaseModel)):
        return False
    tags = (arg for info in form.model_fields.values() for arg in get_args(info.annotation))
    return form.__name__ == step or step in tags
