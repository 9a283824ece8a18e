"""How many small faults in the code the tests notice; each fault (a mutant) is tried in a process of its own.

    pip install -e '.[test,mutation]'
    python tests/mutation/run.py physics --sample 150 --seed 1

Mutants are made by the operators of mutmut. Those that no test notices are printed as differences, to be judged by
hand: they change nothing, or only the words of a message, or no test looks there. Not part of the gate: it takes long.
"""

from __future__ import annotations

import argparse
import difflib
import importlib
import math
import os
import random
import signal
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from importlib.machinery import SourceFileLoader
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]

TESTS = {
    "physics": ("tests/physics", "tests/reference", "boostcarb/physics"),
    "network": ("tests/network", "tests/families", "tests/solving", "boostcarb/network"),
    "planning": ("tests/planning", "boostcarb/planning"),
}
SLOW = "tests/reference/test_pressure_balance.py"  # about solving, and half of all the time

# What the tests load besides the package: loaded once, before any process is split off.
LOADED_ONCE = (
    "CoolProp.CoolProp", "ambiance", "cantera", "fluids", "hypothesis", "jsonschema", "networkx", "numpy", "pydantic",
    "pysat.examples.rc2", "pysat.solvers", "scipy.integrate", "scipy.optimize", "yaml",
)  # fmt: skip
OPTIONS = (
    "-x", "-q", "-o", "addopts=", "--import-mode=importlib", "--doctest-modules", "--benchmark-disable",
    "-p", "no:cacheprovider", "-W", "ignore::pytest.PytestAssertRewriteWarning", f"--ignore={SLOW}",
)  # fmt: skip


@dataclass(frozen=True)
class Mutant:
    """One fault: the file, and all of its text with the fault in it."""

    path: Path
    text: str

    def difference(self) -> str:
        lines = difflib.unified_diff(self.path.read_text().splitlines(), self.text.splitlines(), n=0, lineterm="")
        return "\n".join([str(self.path.relative_to(ROOT)), *list(lines)[2:]])

    def pytest_collection_modifyitems(self, items: list[Any]) -> None:
        """The tests named after the file run first: they are the likeliest to notice."""
        items.sort(key=lambda item: self.path.stem not in item.nodeid.split("::")[0])


def mutants_of(path: Path) -> Iterator[Mutant]:
    """Every mutant of a file but those of annotations, decorators, imports and docstrings."""
    import libcst as cst
    from mutmut.mutation.mutators import mutation_operators

    def changes(node: Any) -> Iterator[tuple[Any, Any]]:
        if isinstance(node, cst.Annotation | cst.Decorator | cst.Import | cst.ImportFrom):
            return
        if isinstance(node, cst.Expr) and isinstance(node.value, cst.SimpleString):
            return
        for kind, operator in mutation_operators:
            if isinstance(node, kind):
                yield from ((node, changed) for changed in operator(node))
        for child in node.children:
            yield from changes(child)

    module = cst.parse_module(path.read_text())
    seen = {module.code}
    pieces = [module.code_for_node(statement) for statement in module.body]
    head = module.code[: module.code.index("".join(pieces))]
    for n, statement in enumerate(module.body):
        for node, changed in changes(statement):
            piece = module.code_for_node(statement.deep_replace(node, changed))
            text = head + "".join([*pieces[:n], piece, *pieces[n + 1 :]])
            if text not in seen:
                seen.add(text)
                yield Mutant(path, text)


def survives(mutant: Mutant | None, tests: tuple[str, ...], seconds: float) -> bool:
    """Whether all tests pass with the fault, in a process of its own and in so much processor time."""
    child = os.fork()
    if child:
        return os.waitpid(child, 0)[1] == 0
    signal.setitimer(signal.ITIMER_PROF, seconds)  # the signal that comes then ends the process
    silence = os.open(os.devnull, os.O_WRONLY)
    os.dup2(silence, 1)
    os.dup2(silence, 2)
    try:
        import pytest

        if mutant is not None:
            code, target = compile(mutant.text, mutant.path, "exec"), str(mutant.path)
            as_it_is = SourceFileLoader.get_code
            SourceFileLoader.get_code = lambda self, name: code if self.path == target else as_it_is(self, name)
        os._exit(int(pytest.main([*OPTIONS, *tests], plugins=[mutant] if mutant else [])))
    finally:
        os._exit(1)


def interval(share: float, number: int) -> tuple[float, float]:
    """Wilson's 95 % interval of a share found in a sample (E. B. Wilson, J. Am. Stat. Assoc. 22, 1927; from memory)."""
    z = 1.96
    middle = share + z * z / (2 * number)
    half = z * math.sqrt(share * (1 - share) / number + z * z / (4 * number * number))
    return (middle - half) / (1 + z * z / number), (middle + half) / (1 + z * z / number)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("layer", choices=TESTS)
    parser.add_argument("--files", default="*.py", help="which files of the layer")
    parser.add_argument("--sample", type=int, default=150, help="how many mutants")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=120.0, help="processor time a mutant may take")
    chosen = parser.parse_args()
    os.chdir(ROOT)
    os.environ["CI"] = "1"  # properties on the same examples every time
    sys.dont_write_bytecode = True
    sys.path.insert(0, str(ROOT))  # these files and no installed copy
    for name in LOADED_ONCE:
        importlib.import_module(name)
    tests = TESTS[chosen.layer]
    if not survives(None, tests, 600.0):
        sys.exit("the tests fail without any fault: put them right first")
    files = sorted((ROOT / "boostcarb" / chosen.layer).glob(chosen.files))
    everything = [mutant for path in files for mutant in mutants_of(path)]
    mutants = random.Random(chosen.seed).sample(everything, min(chosen.sample, len(everything)))
    survivors = [mutant for mutant in mutants if survives(mutant, tests, chosen.seconds)]
    print(*(mutant.difference() for mutant in survivors), sep="\n\n")
    share = 1 - len(survivors) / len(mutants)
    low, high = interval(share, len(mutants))
    print(f"\n{len(mutants)} of {len(everything)} mutants, noticed {share:.1%} (95 %: {low:.1%} to {high:.1%})")


if __name__ == "__main__":
    main()
