"""A process of a review of many that dies over two of its files, in two ways."""

from __future__ import annotations

import json
import os
import signal
import sys
from pathlib import Path

from boostcarb.cli.workers import serve


def main() -> None:
    """Die over 4.yaml and 9.yaml, and otherwise review, or only repeat what was asked."""
    if sys.argv[1:] == ["echo"]:
        serve(lambda line: die_or(line) and line.strip())
        return
    from boostcarb.cli import review_worker

    data, output, units = sys.argv[1:]
    one = review_worker.answering(data, output, units)
    serve(lambda line: die_or(line) and one(line))


def die_or(line: str) -> bool:
    """Whether this one is to be lived through."""
    name = Path(json.loads(line)).name
    if name in ("4.yaml", "04.yaml"):
        os.kill(os.getpid(), signal.SIGKILL)
    if name in ("9.yaml", "09.yaml"):
        os._exit(3)
    return True
