"""JSON Schema of the description files."""

from __future__ import annotations

import json
from typing import Any

from pydantic import BaseModel

from boostcarb.description.family import Family
from boostcarb.description.job import Job
from boostcarb.description.material import Material
from boostcarb.rulebook.schema import Examples, Rule

MODELS: dict[str, type[BaseModel]] = {
    "job": Job,
    "family": Family,
    "rule": Rule,
    "example": Examples,
    "material": Material,
}


def schema_text(kind: str) -> str:
    """The schema of a kind of file, a key of `MODELS`, ending in a newline."""
    schema = MODELS[kind].model_json_schema(by_alias=True)
    if kind == "family":
        schema = _whole_or_based_on(schema)
    whole = {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}
    return json.dumps(whole, indent=2, ensure_ascii=False) + "\n"


CHANGE, REFERENCE = "Change", "#/$defs/"
"""Ending of the names of records that only say what differs from those of a base."""


def _whole_or_based_on(schema: dict[str, Any]) -> dict[str, Any]:
    """A family as it must be whole; one that is based on another may leave out, or leave empty, whatever it likes."""
    records = schema.pop("$defs")
    changes = {f"{name}{CHANGE}": _change(record) for name, record in records.items()}
    top = {"Family": schema, f"Family{CHANGE}": _change(schema)}
    return {
        "$defs": {**records, **changes, **top},
        "if": {"type": "object", "required": ["based_on"]},
        "then": {"$ref": f"{REFERENCE}Family{CHANGE}"},
        "else": {"$ref": f"{REFERENCE}Family"},
    }


def _change(value: Any) -> Any:
    """A schema where nothing is required and everything may be left empty."""
    if isinstance(value, list):
        return [_change(each) for each in value]
    if not isinstance(value, dict):
        return value
    changed = {key: _change(each) for key, each in value.items() if key != "required"}
    if isinstance(changed.get("$ref"), str):
        changed["$ref"] += CHANGE
    for key in ("properties", "patternProperties"):
        if isinstance(changed.get(key), dict):
            changed[key] = {name: _or_empty(each) for name, each in changed[key].items()}
    if isinstance(changed.get("additionalProperties"), dict):
        changed["additionalProperties"] = _or_empty(changed["additionalProperties"])
    return changed


def _or_empty(schema: Any) -> dict[str, Any]:
    return {"anyOf": [schema, {"type": "null"}]}
