"""`boostcarb board`."""

from __future__ import annotations

import gc
import os
import signal
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from boostcarb import __version__
from boostcarb.cli.options import DataOption, JobFile, Target, UnitsOption, units_for
from boostcarb.quantities import UnitSystem

if TYPE_CHECKING:
    from boostcarb.board.study import Study

ModeOption = Annotated[
    Target | None,
    typer.Option("--mode", help="The target to show first; without it that of the job.", show_default=False),
]
Port = Annotated[
    int, typer.Option("--port", metavar="N", min=0, max=65535, help="Port of this machine to listen on; 0: any free.")
]
NoBrowser = Annotated[bool, typer.Option("--no-browser", help="Print the address, and open nothing.")]
Out = Annotated[
    Path | None,
    typer.Option(
        "--out", metavar="FILE.html", help="Write one file that works without this program.", show_default=False
    ),
]
Seed = Annotated[
    int, typer.Option("--seed", metavar="N", min=0, max=1_000_000, help="With --out: which lessons and hunts.")
]
Force = Annotated[bool, typer.Option("--force", help="With --out: overwrite a file that exists.")]


def board(
    job: JobFile,
    mode: ModeOption = None,
    port: Port = 0,
    no_browser: NoBrowser = False,
    out: Out = None,
    seed: Seed = 1,
    force: Force = False,
    units: UnitsOption = None,
    data: DataOption = None,
) -> None:
    """The passages drawn and colored by pressure: plug or open any with a click, and see what follows in every state.

    It is served to this machine alone, and ends with Ctrl+C. With --out it becomes one file for a class instead.

    Exit codes: 0 served and closed, or written; 1 a balance could not be solved; 2 bad input.

    Example: boostcarb board scenarios/street_blow_through.yaml --out board.html
    """
    target = None if mode is None else mode.value
    if out is not None:
        _check_free(out, job, force=force)
        _write(_study(job, data), out, target, units, seed, force=force)
        return
    # Being told to end is not a failure, even before everything is set up.
    before = signal.signal(signal.SIGTERM, signal.default_int_handler)
    try:
        _serve(job, data, target, units, port, show=sys.stdout.isatty() and not no_browser)
    except KeyboardInterrupt:
        pass  # as it should be
    finally:
        signal.signal(signal.SIGTERM, before)
    typer.echo("board closed")


def _serve(job: Path, data: Path | None, mode: str | None, units: UnitSystem | None, port: int, *, show: bool) -> None:
    from boostcarb.board.answering import opened, questions
    from boostcarb.board.desk import Desk
    from boostcarb.board.guard import House
    from boostcarb.board.opening import first_mode, served_page
    from boostcarb.board.server import ADDRESS, application, listening, new_token, serve

    with listening(port) as listener:  # a port in use is said before the work
        house = House(listener.getsockname()[1], new_token())
        study = _study(job, data)
        first = first_mode(study, mode)
        page = served_page(study, first, units_for(study.read.job, units).value, version=__version__, token=house.token)
        _told("working out every state...")
        opened(study, first)  # what cannot be solved is said here, and the first answer is quick
        gc.collect()
        gc.freeze()  # what is there now stays: no answer waits for the collector to look through it
        address = f"http://{ADDRESS}:{house.port}/"
        desk = Desk()

        def started() -> None:
            typer.echo(f"board at {address} - end it with Ctrl+C")
            sys.stdout.flush()
            if show:
                _open(address)

        try:
            serve(application(page, questions(study), house, desk), listener, started)
        finally:
            desk.close()


def _open(address: str) -> None:
    """The address in the browser of the user, which may take its time to start."""
    import threading
    import webbrowser

    threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()


def _study(job: Path, data: Path | None) -> Study:
    from boostcarb import pipeline
    from boostcarb.board.study import Study

    _told("reading the job...")
    return Study.of(pipeline.load(job, pipeline.library(data)))


def _told(words: str) -> None:
    """How far it is, for somebody before a screen and nobody else."""
    if sys.stderr.isatty():
        typer.echo(words, err=True)


def _check_free(out: Path, job: Path, *, force: bool) -> None:
    """Say before the work what would fail after it. Raises: BadDescription."""
    from boostcarb.errors import BadDescription, Problem

    message = None
    if os.path.realpath(out) == os.path.realpath(job):
        message = "is the job itself; choose another name"
    elif out.is_dir():
        message = "is a folder; name a file in it"
    elif os.path.lexists(out) and not force:
        message = "exists already; choose another name, or overwrite it with --force"
    elif not out.parent.is_dir():
        message = "cannot be written: its folder does not exist"
    if message is not None:
        raise BadDescription(Problem(message, out))


def _write(study: Study, out: Path, mode: str | None, units: UnitSystem | None, seed: int, *, force: bool) -> None:
    from boostcarb.board.opening import first_mode, packed_page
    from boostcarb.description.saving import save_text

    first = first_mode(study, mode)
    gc.freeze()
    text = packed_page(study, first, units_for(study.read.job, units).value, version=__version__, seed=seed, told=_told)
    save_text(out, text, force=force)
    typer.echo(f"wrote {out}")
