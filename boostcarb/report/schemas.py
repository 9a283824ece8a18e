"""JSON Schema of the description files."""

from __future__ import annotations

import json

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
    schema = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **MODELS[kind].model_json_schema(by_alias=True),
    }
    return json.dumps(schema, indent=2, ensure_ascii=False) + "\n"
