"""Which layer may import which, read from the source: arrows point from the command line down to physics."""

from __future__ import annotations

import ast
import json
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import networkx as nx
import pytest

import boostcarb

PACKAGE = Path(boostcarb.__file__).parent
NAME = "boostcarb"

# Layer: what it may import, as a layer ("physics") or as one module of a layer ("description.job").
# A layer may always import itself. What is not listed is refused.
ALLOWED: dict[str, set[str]] = {
    "errors": set(),
    "suggest": set(),
    "findings": set(),
    "assumed": set(),
    "drills": {"errors"},
    "quantities": {"errors", "suggest", "drills"},
    "physics": {"errors"},
    "states": {"physics", "errors"},
    "description": {"quantities", "suggest", "errors"},
    "network": {"description.family", "description.job", "description.material", "findings", "suggest", "errors"},
    "solving": {
        "assumed", "findings", "network.model", "states", "physics", "description.family", "description.job",
        "description.supply",
        "errors",
    },
    "fueling": {
        "network.model", "solving", "states.carburetor_air", "states.inputs", "states.operating_state", "states.root",
        "states.air_path", "physics", "description.family", "description.job", "description.metering",
        "description.supply",
        "description.typical_values", "drills", "errors",
    },
    "transient": {
        "network.build", "network.model", "network.tracing", "solving.balance", "solving.diaphragms",
        "solving.pressures", "solving.situation", "states.air_path", "states.inputs", "physics", "description.job",
        "errors",
    },
    "rulebook": {
        "network", "solving", "transient.lag", "fueling", "states.catalogue", "description.family", "description.job",
        "description.library", "description.loading", "description.metering", "description.source",
        "description.variants", "findings", "quantities", "suggest", "errors",
    },
    "planning": {"errors"},
    "changes": {"network.model", "rulebook", "planning", "description.job", "suggest", "errors"},
    "bench": {
        "assumed", "rulebook", "fueling", "solving", "network.model", "description.job", "description.loading",
        "findings",
    },
    "faults": {
        "bench", "description.job", "planning.problem", "quantities", "rulebook.judging", "rulebook.schema",
        "rulebook.view", "solving.situation", "states.inputs", "network", "findings", "errors",
    },
    "checks": {
        "bench", "faults.catalogue", "network.latent", "network.model", "planning.problem", "planning.selection",
        "errors",
    },
    "answers": {"faults", "bench", "planning", "fueling", "solving.table", "findings", "errors", "suggest"},
    "work": {
        "answers", "bench", "planning.problem", "planning.search", "network.model", "fueling.mixture",
        "fueling.targets", "solving.situation", "solving.table", "description.job", "drills", "quantities", "errors",
    },
    "pipeline": {
        "answers", "bench", "changes", "checks", "faults", "planning", "rulebook", "fueling", "solving", "transient",
        "network", "description", "findings", "suggest", "errors",
    },
    "examples": {
        "pipeline", "bench", "description.job", "description.library", "description.source",
        "rulebook.loading", "rulebook.schema", "findings", "errors",
    },
    "family_trial": {
        "pipeline", "description.family", "description.family_check", "description.job", "description.library",
        "description.loading", "description.source", "findings", "errors",
    },
    "report": {
        "assumed", "answers", "bench", "checks.model", "drills", "examples", "family_trial", "faults",
        "description.material",
        "planning.problem", "planning.search", "rulebook.schema", "fueling", "solving.table", "transient",
        "network.model",
        "description.family", "description.job", "findings", "quantities", "work.shopping", "work.steps", "errors",
    },
    "interview": {
        "bench", "description", "findings", "network.items", "network.model", "network.tracing", "quantities",
        "rulebook.forms", "rulebook.judging", "states.inputs", "suggest", "errors",
    },
    "sheet": {
        "answers", "bench", "checks.model", "drills", "faults", "findings", "fueling", "network.model",
        "planning.problem", "planning.search", "quantities", "report", "solving.table", "work.shopping", "work.steps",
    },
    "board": {
        "pipeline", "answers", "bench", "checks", "faults", "planning", "rulebook.judging", "rulebook.view",
        "fueling.metering", "fueling.mixture", "solving", "states", "network", "description", "findings", "report",
        "quantities", "suggest", "errors",
    },
    "manual": {
        "description.family", "description.job", "description.loading", "description.material", "description.saving",
        "description.source", "fueling.calibration", "fueling.evaporation", "fueling.job_fuel", "fueling.metering",
        "fueling.spreads", "fueling.targets", "physics.evaporation", "physics.fuels", "quantities", "report.rule_text",
        "report.wording", "rulebook.loading", "rulebook.schema", "solving.air_inputs", "states.inputs",
        "transient.checks", "transient.inputs", "transient.pulse", "transient.relief", "suggest", "errors",
    },
    "cli": {
        "board", "interview", "manual", "pipeline", "examples", "family_trial", "network.graph_files", "network.model",
        "report", "sheet", "work.order", "rulebook.loading", "rulebook.schema", "description.family_check",
        "description.job", "description.library", "description.loading", "description.material", "description.saving",
        "quantities", "suggest", "errors",
    },
    "__main__": {"cli"},
}  # fmt: skip

# Package: the layers or modules that may use it. Anything not listed is refused, so that a new one is a decision.
OUTSIDE: dict[str, set[str]] = {
    "pydantic": {"quantities", "description", "rulebook", "report", "interview", "board.requests", "manual"},
    "pydantic_core": {"quantities", "description"},
    "yaml": {"description"},
    "typer": {"cli"},
    "numpy": {"solving", "transient", "physics.metering_arrays", "fueling.air_sensitivity", "fueling.uncertainty",
              "planning.branching"},
    "networkx": {"network", "rulebook"},
    "pysat": {"planning"},
    "scipy": {"transient.stiff", "solving.linear"},
    "starlette": {"board.server", "board.guard"},
    "uvicorn": {"board.server"},
}

# A report formats records. What it takes from these layers must be a record or a constant, never a function.
RECORDS_ONLY = (
    "answers", "bench", "checks", "faults", "pipeline", "planning", "fueling", "solving", "transient", "network",
    "rulebook", "description", "work",
)  # fmt: skip


@dataclass(frozen=True)
class Import:
    """One import statement of one of our modules."""

    module: str
    line: int
    target: str
    names: tuple[str, ...]
    when_loaded: bool

    @property
    def layer(self) -> str:
        return self.module.split(".")[1]

    def __str__(self) -> str:
        return f"{self.module.replace('.', '/')}.py:{self.line} imports {', '.join(self.names)} from {self.target}"


def modules() -> dict[str, Path]:
    found = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        parts = path.relative_to(PACKAGE.parent).with_suffix("").parts
        found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return found


MODULES = modules()


def imports_of(module: str, path: Path) -> Iterator[Import]:
    def walk(node: ast.AST, when_loaded: bool) -> Iterator[Import]:
        for child in ast.iter_child_nodes(node):
            now = when_loaded and not isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef)
            if isinstance(child, ast.If) and "TYPE_CHECKING" in ast.unparse(child.test):
                now = False
            if isinstance(child, ast.Import):
                for alias in child.names:
                    yield Import(module, child.lineno, alias.name, (alias.name,), now)
            elif isinstance(child, ast.ImportFrom):
                assert child.level == 0, f"{path}:{child.lineno} has a relative import; write it in full"
                yield from split(module, child, now)
            else:
                yield from walk(child, now)

    def split(module: str, node: ast.ImportFrom, now: bool) -> Iterator[Import]:
        """`from boostcarb.network import build` is an import of the module boostcarb.network.build."""
        source = str(node.module)
        rest = []
        for alias in node.names:
            if f"{source}.{alias.name}" in MODULES:
                yield Import(module, node.lineno, f"{source}.{alias.name}", (alias.name,), now)
            else:
                rest.append(alias.name)
        if rest:
            yield Import(module, node.lineno, source, tuple(rest), now)

    yield from walk(ast.parse(path.read_text(encoding="utf-8")), True)


IMPORTS = [each for module, path in MODULES.items() if module != NAME for each in imports_of(module, path)]
OURS = [each for each in IMPORTS if each.target.split(".")[0] == NAME]
THEIRS = [each for each in IMPORTS if each.target.split(".")[0] not in {NAME, *sys.stdlib_module_names}]


def may_import(each: Import) -> bool:
    target = each.target.split(".")[1:]
    if not target:
        return each.layer == "cli" and each.names == ("__version__",)
    granted = ALLOWED[each.layer] | {each.layer}
    return target[0] in granted or ".".join(target[:2]) in granted


def test_every_layer_has_its_place_in_the_table() -> None:
    layers = {module.split(".")[1] for module in MODULES if module != NAME}
    assert layers == set(ALLOWED)


@pytest.mark.parametrize("layer", sorted(ALLOWED))
def test_layer_imports_only_what_it_may(layer: str) -> None:
    wrong = [str(each) for each in OURS if each.layer == layer and not may_import(each)]
    assert not wrong, "\n".join(wrong)


def test_table_has_no_circle() -> None:
    graph = nx.DiGraph((layer, target.split(".")[0]) for layer, targets in ALLOWED.items() for target in targets)
    assert nx.is_directed_acyclic_graph(graph), list(nx.simple_cycles(graph))


def test_table_grants_nothing_that_nobody_uses() -> None:
    """Grants for errors and suggest are for everybody; any other that is not used is taken away."""
    used = {(each.layer, ".".join(each.target.split(".")[1:3])) for each in OURS}
    unused = [
        f"{layer}: {target}"
        for layer, targets in ALLOWED.items()
        for target in targets - {"errors", "suggest"}
        if not any(user == layer and (name + ".").startswith(target + ".") for user, name in used)
    ]
    assert not unused, unused


def test_modules_do_not_load_each_other_in_a_circle() -> None:
    graph = nx.DiGraph()
    for each in OURS:
        if each.when_loaded and each.target in MODULES and not MODULES[each.target].name.startswith("__init__"):
            graph.add_edge(each.module, each.target)
    assert nx.is_directed_acyclic_graph(graph), list(nx.simple_cycles(graph))


def test_reports_take_only_records() -> None:
    wrong = [
        str(each)
        for each in OURS
        if each.layer in {"report", "sheet"}
        and each.target.split(".")[1] in RECORDS_ONLY
        and any(not name[0].isupper() for name in each.names)
    ]
    assert not wrong, "\n".join(wrong)


def test_packages_of_others_are_used_only_where_they_belong() -> None:
    wrong = [
        str(each)
        for each in THEIRS
        if not OUTSIDE.get(each.target.split(".")[0], set()) & {each.layer, each.module.removeprefix(f"{NAME}.")}
    ]
    assert not wrong, "\n".join(wrong)


def test_the_table_of_packages_is_complete() -> None:
    assert {each.target.split(".")[0] for each in THEIRS} == set(OUTSIDE)


def test_stiff_integration_and_sparse_matrices_are_loaded_only_where_they_are_called() -> None:
    wrong = [str(each) for each in THEIRS if each.target.startswith("scipy") and each.when_loaded]
    assert not wrong, "\n".join(wrong)


def test_the_solver_of_selections_is_loaded_only_where_it_is_called() -> None:
    themselves_late = {"boostcarb.planning.cores", "boostcarb.planning.branching"}  # a test below checks
    wrong = [
        str(each)
        for each in THEIRS
        if each.target.startswith("pysat") and each.when_loaded and each.module not in themselves_late
    ]
    assert not wrong, "\n".join(wrong)


HEAVY = ("numpy", "networkx", "pysat", "scipy", "pydantic", "yaml", "rich", "matplotlib", "starlette", "uvicorn")

LOADED_AFTER = """
import contextlib, io, json, sys
from boostcarb.cli import main
sys.argv = ["boostcarb", *sys.argv[1:]]
said = io.StringIO()
with contextlib.redirect_stdout(said), contextlib.suppress(SystemExit):
    main()
assert len(said.getvalue()) > 100, said.getvalue()
print(json.dumps(sorted({name.split(".")[0] for name in sys.modules})))
"""


def loaded_by(*arguments: str) -> set[str]:
    """Which of the heavy packages a command loads, in a process of its own."""
    done = subprocess.run(
        [sys.executable, "-c", LOADED_AFTER, *arguments], capture_output=True, text=True, check=True, timeout=120
    )
    return set(json.loads(done.stdout.splitlines()[-1])) & set(HEAVY)


@pytest.mark.parametrize(
    ("arguments", "needed"),
    [
        (("--help",), set()),
        (("plan", "--help"), {"pydantic"}),
        (("board", "--help"), {"pydantic"}),
        (("schema", "job"), {"pydantic", "yaml"}),
        (("families",), {"pydantic", "yaml"}),
        (("manual",), {"pydantic"}),
        (("manual", "builder"), {"pydantic"}),
        (("families", "modular_four_barrel"), {"pydantic", "yaml"}),
        (("rules",), {"pydantic", "yaml", "networkx"}),
        (("rules", "bowl_open_to_atmosphere"), {"pydantic", "yaml", "networkx", "numpy"}),
        (("materials",), {"pydantic", "yaml"}),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, tuple) else "",
)
def test_command_loads_only_what_it_needs(arguments: tuple[str, ...], needed: set[str]) -> None:
    assert loaded_by(*arguments) <= needed


def test_plan_does_without_the_packages_of_the_tests() -> None:
    job = PACKAGE.parent / "scenarios" / "street_blow_through.yaml"
    loaded = loaded_by("plan", str(job))
    assert {"numpy", "pysat"} <= loaded <= {"numpy", "networkx", "pysat", "pydantic", "yaml"}
