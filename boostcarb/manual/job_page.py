"""The job file as a page: every key with its kind of value, meaning, default and an example, from the models."""

from __future__ import annotations

import types
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from pathlib import Path
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from boostcarb.description.job import Job
from boostcarb.description.source import read_document
from boostcarb.manual.markdown import code, item, paragraph, plain
from boostcarb.manual.usual import example, typical_records, usual
from boostcarb.quantities import Bounds, Kind, units
from boostcarb.quantities.fields import Written

ROOT = Path(__file__).parents[2]
HEAD = """\
# The job file

Every key of a job file: what it is, the kind of value, what is taken where it is left out, an example.

A job file is YAML. Start it with `# yaml-language-server: $schema=job.schema.json` and put what `boostcarb schema job`
prints beside it: an editor then helps as you type. Sizes carry their unit; a pressure says `abs`, `gauge` or `vacuum`,
and a boost is gauge unless it says otherwise. ITEM stands for a passage, part or line of the carburetor or round it,
GROUP for a barrel group: [the families](families.md) lists them. Only what is marked *needed* must be there; a plan
lists under ASSUMED what it took for the rest of engine and air path. Examples are from the shipped scenarios where one
of them has the key."""
FOOT = "This page is made from the models of the job file by `python -m boostcarb.manual.generated`."
LONGEST_EXAMPLE = 60
WILDCARD = {"found": "ITEM", "proposed": "ITEM"}
NAMED = {str: "text", int: "whole number", float: "number", bool: "true or false", type(None): "nothing"}


@dataclass(frozen=True, slots=True)
class Section:
    """One record of a job file: its dotted path, its model, and every example of it that is at hand."""

    path: str
    model: type[BaseModel]
    examples: tuple[Mapping[str, Any], ...]


def job_page() -> str:
    """The whole page. Raises: OSError outside a checkout, which has the scenarios."""
    lines = [HEAD]
    for section in all_sections():
        lines += ["", f"## {section.path or 'At the top'}", ""]
        about = " ".join((section.model.__doc__ or "").split())
        lines += [paragraph(plain(about)), ""]
        lines += [_key(section, name, field) for name, field in section.model.model_fields.items()]
    lines += ["", "## Units", "", *_units(), "", FOOT]
    return "\n".join(lines) + "\n"


def all_sections() -> tuple[Section, ...]:
    """Every record of a job file, in the order of its keys. Raises: OSError outside a checkout."""
    return tuple(_sections(Section("", Job, tuple(_examples()))))


def _examples() -> Iterator[Mapping[str, Any]]:
    """Job files, and the parts of them that the examples of rules lay over a base."""
    for path in sorted((ROOT / "scenarios").glob("*.yaml")):
        yield read_document(path).data
    for path in sorted((ROOT / "rules" / "examples").glob("*.yaml")):
        data = read_document(path).data
        yield from (entry for kind in ("violates", "satisfies") for entry in data.get(kind, ()))
    yield from typical_records()


def _sections(section: Section) -> Iterator[Section]:
    """A record and all records inside it, each model once."""
    seen: set[type[BaseModel]] = set()
    waiting = [section]
    while waiting:
        now = waiting.pop(0)
        if now.model in seen:
            continue
        seen.add(now.model)
        yield now
        inner = [found for name, field in now.model.model_fields.items() if (found := _inside(now, name, field))]
        waiting[:0] = inner


def _inside(section: Section, name: str, field: FieldInfo) -> Section | None:
    """The record that a key holds, one of them if it holds several."""
    key = field.alias or name
    path = f"{section.path}.{key}" if section.path else key
    values = [each[key] for each in section.examples if key in each]
    for part in _parts(field.annotation):
        if get_origin(part) is dict and _is_record(get_args(part)[1]):
            many = [value for each in values if isinstance(each, Mapping) for value in each.values()]
            return _section(f"{path}.{WILDCARD.get(key, 'GROUP')}", get_args(part)[1], many)
        if get_origin(part) is list and _is_record(get_args(part)[0]):
            return _section(f"{path}, each", get_args(part)[0], [value for each in values for value in each])
        if _is_record(part):
            return _section(path, part, values)
    return None


def _section(path: str, annotation: Any, values: Sequence[Any]) -> Section:
    (model,) = _parts(annotation)
    return Section(path, model, tuple(value for value in values if isinstance(value, Mapping)))


def _is_record(annotation: Any) -> bool:
    return any(isinstance(part, type) and issubclass(part, BaseModel) for part in _parts(annotation))


def _parts(annotation: Any) -> list[Any]:
    """What a value can be, without None; annotations taken off."""
    if get_origin(annotation) in (Union, types.UnionType):
        return [part for each in get_args(annotation) for part in _parts(each) if part is not type(None)]
    if get_origin(annotation) is Annotated:
        return _parts(get_args(annotation)[0])
    return [annotation]


def _extras(annotation: Any) -> list[Any]:
    """Everything that annotates a value."""
    if get_origin(annotation) in (Union, types.UnionType):
        return [extra for each in get_args(annotation) for extra in _extras(each)]
    if get_origin(annotation) is Annotated:
        inner, *extras = get_args(annotation)
        return [*_extras(inner), *extras]
    return [annotation] if isinstance(annotation, FieldInfo) else []


def _key(section: Section, name: str, field: FieldInfo) -> str:
    key = field.alias or name
    path = f"{section.path}.{key}" if section.path else key
    extras = _extras(field.annotation) + list(field.metadata)
    said = f"{field.description or ''}. {_capital(_kind(field.annotation, extras))}".lstrip(". ")
    taken = _taken(path.replace(".GROUP", ""), field)
    shown = example_of(section, name, field)
    last = f" Example: {code(f'{key}: {shown}')}." if shown else ""
    return item(f"{code(key)}: {plain(said)}. {taken}{last}")


def _capital(text: str) -> str:
    return text if text.startswith("`") else text[:1].upper() + text[1:]


def _taken(path: str, field: FieldInfo) -> str:
    """What holds where the key is left out."""
    if field.is_required():
        return "*Needed.*"
    value = field.default
    if isinstance(value, BaseModel) or value in (None, [], {}):
        words = usual(path)
        return f"Left out: {words}." if words else "May be left out."
    shown = value.value if isinstance(value, Enum) else str(value).lower() if isinstance(value, bool) else value
    return f"Left out: {code(str(shown))}."


def _kind(annotation: Any, extras: Sequence[Any]) -> str:
    """The kind of value, with its limits."""
    written = next((each.kind for each in extras if isinstance(each, Written)), None)
    if written is not None:
        return written.noun.partition(" ")[2] + _limits(extras, written)
    return " or ".join(dict.fromkeys(_named(part, extras) for part in _parts(annotation)))


def _named(part: Any, extras: Sequence[Any]) -> str:
    origin = get_origin(part)
    if origin is Literal:
        return " or ".join(code(str(choice)) for choice in get_args(part))
    if origin is list:
        return f"list of {_plural(_kind(get_args(part)[0], ()))}"
    if origin is dict:
        held = get_args(part)[1]
        inner = "a record" if _is_record(held) else _kind(held, _extras(held))
        return f"by name: {inner}"
    if isinstance(part, type) and issubclass(part, BaseModel):
        return "record"
    if isinstance(part, type) and issubclass(part, Enum):
        return " or ".join(code(str(choice.value)) for choice in part)
    return NAMED[part] + _limits(extras, None)


def _plural(noun: str) -> str:
    return {"text": "names", "record": "records"}.get(noun, noun)


def _limits(extras: Sequence[Any], kind: Kind | None) -> str:
    """The limits of a value as they are written."""
    plain_ones = [each for extra in extras for each in (extra.metadata if isinstance(extra, FieldInfo) else [extra])]
    bounds = [each for each in plain_ones if isinstance(each, Bounds)]
    if bounds:
        return f", {bounds[-1].low} to {bounds[-1].high}"
    low = next((v for each in plain_ones for a in ("ge", "gt") if (v := getattr(each, a, None)) is not None), None)
    high = next((v for each in plain_ones for a in ("le", "lt") if (v := getattr(each, a, None)) is not None), None)
    if low is None and high is None:
        return ""
    shown = [f"{value * 100:g} %" if kind is units.FRACTION else f"{value:g}" for value in (low or 0, high or 0)]
    return f", {shown[0]} to {shown[1]}"


def example_of(section: Section, name: str, field: FieldInfo) -> str:
    """A value as somebody wrote it, else one that could be; nothing for a record, which has examples of its own."""
    key = field.alias or name
    records = any(_is_record(part) for part in _parts(field.annotation))
    for each in section.examples:
        value = each.get(key)
        if value is None or (records and isinstance(value, Mapping)):
            continue
        shown = _flow(value)
        if isinstance(value, Mapping) and len(shown) > LONGEST_EXAMPLE:
            shown = _flow(dict([next(iter(value.items()))]))
        if len(shown) <= LONGEST_EXAMPLE:
            return shown
    path = f"{section.path}.{key}" if section.path else key
    return example(path.replace(".GROUP", ""))


def _flow(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{key}: {_flow(each)}" for key, each in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(_flow(each) for each in value) + "]"
    return str(value).lower() if isinstance(value, bool) else " ".join(str(value).split())


def _units() -> Iterator[str]:
    """Every kind of quantity with the units it can be written in."""
    kinds = (
        units.LENGTH, units.AREA, units.VOLUME, units.DIFFERENCE, units.TEMPERATURE, units.SPEED, units.VOLUME_FLOW,
        units.ANGLE, units.FORCE, units.DURATION, units.DENSITY, units.ACCELERATION, units.FRACTION,
    )  # fmt: skip
    for kind in kinds:
        noun = kind.noun.partition(" ")[2]
        yield item(f"{noun}: {', '.join(kind.units)}; as in {' or '.join(code(each) for each in kind.examples)}")
    yield item("a bore also as a fraction or a drill: `3/64 in`, `#55 drill`, `D drill`")
    for kind, how in ((units.PRESSURE, "with"), (units.BOOST, "gauge where it does not say")):
        noun = kind.noun.partition(" ")[2]
        says = f"the units of a pressure difference, {how} `abs`, `gauge` or `vacuum`"
        yield item(f"{noun}: {says}; as in {' or '.join(code(each) for each in kind.examples)}")
