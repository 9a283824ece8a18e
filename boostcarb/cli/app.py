"""The application: its commands, and what becomes of errors.

Exit codes: 0 nothing blocks, 1 something does, 2 bad input.
"""

from __future__ import annotations

import os
import sys

import typer

from boostcarb import __version__
from boostcarb.cli import (
    backfire,
    bench,
    board,
    families,
    faults,
    fuel,
    graph,
    manual,
    materials,
    new,
    plan,
    review,
    rules,
    schema,
    sheet,
    trace,
)
from boostcarb.errors import BadDescription, BoostcarbError, visible

BLOCKED, BAD_INPUT = 1, 2

app = typer.Typer(
    name="boostcarb",
    help="What to plug, open, swap, re-reference and protect in a carburetor so that it can feed a turbocharged "
    "engine, or be brought back - and why.",
    no_args_is_help=True,
    add_completion=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"boostcarb {__version__}")
        raise typer.Exit


@app.callback()
def _options(
    version: bool = typer.Option(False, "--version", callback=_version, is_eager=True, help="Print the version."),
) -> None:
    """Exit codes: 0 nothing blocks; 1 something does, or no plan exists; 2 bad input."""


app.command("new")(new.new)
app.command("plan")(plan.plan)
app.command("sheet")(sheet.sheet)
app.command("board")(board.board)
app.command("review")(review.review)
app.command("fuel")(fuel.fuel)
app.command("faults")(faults.faults)
app.command("bench")(bench.bench)
app.command("trace")(trace.trace)
app.command("backfire")(backfire.backfire)
app.command("graph")(graph.graph)
app.command("rules")(rules.rules)
app.command("families")(families.families)
app.command("materials")(materials.materials)
app.command("schema")(schema.schema)
app.command("manual")(manual.manual)


def main() -> None:
    """Run the command line; every error of ours becomes a message and an exit code."""
    try:
        app(prog_name="boostcarb")
    except BadDescription as error:
        for problem in error.problems:
            typer.echo(f"boostcarb: {problem}", err=True)
        sys.exit(BAD_INPUT)
    except BoostcarbError as error:
        typer.echo(f"boostcarb: no answer: {error}", err=True)
        sys.exit(BLOCKED)
    except BrokenPipeError:
        _drop_output()  # the reader has gone, as with `| head`
        sys.exit(BLOCKED)
    except OSError as error:  # a disk that is full, a folder that may not be looked into, a name that cannot be
        if error.filename is None:
            _drop_output()
        place = "output" if error.filename is None else visible(str(error.filename))
        typer.echo(f"boostcarb: {place}: {error.strerror or error}", err=True)
        sys.exit(BAD_INPUT)


def _drop_output() -> None:
    """Keep the interpreter from complaining when it flushes what cannot be written."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
