"""One process of several that review files: a question on a line of standard input, its answer on a line of output."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from pathlib import Path

from boostcarb.cli.options import Format
from boostcarb.cli.review_many import Way, reviewer, to_plain
from boostcarb.cli.workers import serve
from boostcarb.quantities import UnitSystem


def main() -> None:
    """Review until there is nothing more to read; arguments: folder of own data or "", format, units or ""."""
    serve(answering(*sys.argv[1:]))


def answering(data: str, output: str, units: str) -> Callable[[str], str]:
    """What makes an answer of a question, a file's name. Raises: BadDescription where the user's own data are wrong."""
    one = reviewer(Way(Path(data) if data else None, Format(output), UnitSystem(units) if units else None))
    return lambda question: json.dumps(to_plain(one(Path(json.loads(question)))))
