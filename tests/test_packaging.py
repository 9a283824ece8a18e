"""What travels with the package, and what stands in its files about it."""

from __future__ import annotations

import importlib.metadata
import json
import re
import tomllib
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml

import boostcarb
from boostcarb.description.loading import SURROUNDINGS, shipped_families
from boostcarb.report.schemas import schema_text
from boostcarb.rulebook.loading import shipped_rules, shipped_rules_folder

ROOT = Path(__file__).parents[1]
FAMILIES = ROOT / "boostcarb" / "description" / "families"
FOLDERS = {
    "job": ROOT / "scenarios",
    "rule": ROOT / "rules",
    "example": ROOT / "rules" / "examples",
    "family": FAMILIES,
    "material": ROOT / "boostcarb" / "description" / "materials",
}
FILES = [(kind, path) for kind, folder in FOLDERS.items() for path in sorted(folder.glob("*.yaml"))]
IDS = [f"{kind}-{path.stem}" for kind, path in FILES]
HINT = re.compile(r"# yaml-language-server: \$schema=(\S+)\n")


def project() -> dict[str, Any]:
    return tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))


@cache
def validator_of(kind: str) -> jsonschema.Draft202012Validator:
    return jsonschema.Draft202012Validator(json.loads(schema_text(kind)))


@pytest.mark.parametrize("kind", FOLDERS)
def test_schema_copies_are_up_to_date(kind: str) -> None:
    """Mend with `boostcarb schema KIND > FILE`."""
    copy = FOLDERS[kind] / f"{kind}.schema.json"
    assert copy.read_text(encoding="utf-8") == schema_text(kind)


@pytest.mark.parametrize(("kind", "path"), FILES, ids=IDS)
def test_file_tells_editors_its_schema(kind: str, path: Path) -> None:
    with path.open(encoding="utf-8") as lines:
        hint = HINT.fullmatch(next(lines))
    assert hint is not None, f"{path.name} must start with '# yaml-language-server: $schema={kind}.schema.json'"
    schema = (path.parent / hint[1]).resolve()
    assert schema == FOLDERS[kind] / f"{kind}.schema.json"
    assert schema.is_file()


@pytest.mark.parametrize(("kind", "path"), FILES, ids=IDS)
def test_schema_accepts_the_file(kind: str, path: Path) -> None:
    whole = yaml.safe_load(path.read_text(encoding="utf-8"))
    errors = [error.message for error in validator_of(kind).iter_errors(whole)]
    assert errors == []


@pytest.mark.parametrize(
    ("kind", "broken"),
    [
        ("job", {"fule": "gasoline"}),
        ("job", {"engine": {"displacement": "5.0 litre"}}),
        ("job", {"found": {"choke": 5}}),
        ("job", {"target": "blowthrough"}),
        ("rule", {"severity": "maybe"}),
        ("rule", {"requirement": {"kind": "isolatd"}}),
        ("family", {"flow": {"rated_flow": "650"}}),
    ],
)
def test_schema_refuses(kind: str, broken: dict[str, Any]) -> None:
    schema = json.loads(schema_text(kind))
    jsonschema.Draft202012Validator.check_schema(schema)
    path = next(path for which, path in FILES if which == kind and path.stem != SURROUNDINGS)
    whole = yaml.safe_load(path.read_text(encoding="utf-8"))
    validator = jsonschema.Draft202012Validator(schema)
    assert validator.is_valid(whole)
    assert not validator.is_valid({**whole, **broken})


def test_version_is_said_once() -> None:
    assert boostcarb.__version__ == project()["project"]["version"]
    assert importlib.metadata.version("boostcarb") == boostcarb.__version__


def test_rules_go_into_the_wheel_where_the_package_looks_for_them() -> None:
    included = project()["tool"]["hatch"]["build"]["targets"]["wheel"]["force-include"]
    assert included == {"rules": "boostcarb/rules"}
    assert shipped_rules_folder() in (ROOT / "rules", ROOT / "boostcarb" / "rules")
    assert len(shipped_rules()) == len(list((ROOT / "rules").glob("*.yaml")))


def test_every_family_file_is_shipped() -> None:
    assert {*shipped_families(), SURROUNDINGS} == {path.stem for path in FAMILIES.glob("*.yaml")}


def test_sources_hold_all_that_the_tests_and_the_wheel_need() -> None:
    included = project()["tool"]["hatch"]["build"]["targets"]["sdist"]["include"]
    assert {"boostcarb", "rules", "scenarios", "tests", "README.md", "DEVELOPERS.md", "LICENSE"} <= set(included)
    assert all((ROOT / name).exists() for name in included)


def test_runtime_needs_nothing_of_the_tests() -> None:
    names = {re.split(r"[^A-Za-z0-9_.-]", each)[0].lower() for each in project()["project"]["dependencies"]}
    assert names == {
        "networkx", "numpy", "pydantic", "python-sat", "pyyaml", "scipy", "starlette", "typer", "uvicorn"
    }  # fmt: skip
