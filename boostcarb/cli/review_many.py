"""Reviews of many files, on several processors, told in the order in which the files were given."""

from __future__ import annotations

import gc
import os
import sys
import traceback
from collections.abc import Generator, Sequence
from contextlib import AbstractContextManager, closing, nullcontext
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from boostcarb.cli.options import Format, units_for
from boostcarb.cli.review import why_not
from boostcarb.cli.workers import Died, over_workers
from boostcarb.errors import BoostcarbError, Problem
from boostcarb.quantities import UnitSystem
from boostcarb.report.reviews import FileReview, Summary, document_head, document_tail, summary_text, unread_line

if TYPE_CHECKING:
    from boostcarb.description.library import Library

WORKER = "boostcarb.cli.review_worker"
ENDED_BY_USER = 130
"""Exit code after Ctrl+C, as shells have it: 128 and the number of the signal (POSIX.1-2017, section 2.8.2)."""
ENOUGH_FOR_ONE = 6
"""Files that one process reviews as soon as a second one is ready to begin."""
ERASED = "\r\x1b[K"
_SUFFIXES = (".yaml", ".yml")


@dataclass(frozen=True, slots=True)
class Way:
    """How files are reviewed: the user's own data, and how an answer is written; without units as each job says."""

    data: Path | None
    output: Format
    units: UnitSystem | None


def review_many(jobs: Sequence[Path], way: Way, workers: int | None) -> int:
    """Review all files and say what came of them; the exit code.

    Args:
        jobs: files, and folders that stand for the files in them.
        way: how.
        workers: how many processes; None: as many as there are processors and work for them.
    """
    files = [file for job in jobs for file in _files(job)]
    summary = Summary(len(files))
    desk = _Desk(way.output, len(files))
    try:
        with desk, closing(_reviews(files, way, workers)) as reviews:
            for review in reviews:
                summary.add(review)
                desk.tell(review)
    except KeyboardInterrupt:
        summary.stopped = True
    desk.end(summary)
    return ENDED_BY_USER if summary.stopped else summary.code


def _files(job: Path) -> list[Path]:
    """A file, or the job files of a folder by name; a folder without any is a file that cannot be read."""
    if not os.path.isdir(job):
        return [job]
    try:
        inside = sorted(job / name for name in os.listdir(job) if name.endswith(_SUFFIXES))
    except OSError:  # said when it is read
        inside = []
    return inside or [job]


def _reviews(files: Sequence[Path], way: Way, workers: int | None) -> Generator[FileReview]:
    """The review of every file, in order."""
    if workers is None:
        workers = min(_processors(), len(files) // ENOUGH_FOR_ONE)
    if workers <= 1:
        one = reviewer(way)
        yield from (one(file) for file in files)
        return
    arguments = (str(way.data or ""), way.output.value, way.units.value if way.units else "")
    with closing(over_workers(WORKER, arguments, [str(file) for file in files], workers)) as answers:
        for file, answer in zip(files, answers, strict=True):
            yield _died(file, answer) if isinstance(answer, Died) else from_plain(answer)


def _processors() -> int:
    """Processors that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _died(file: Path, death: Died) -> FileReview:
    message = f"no answer: the process that reviewed it {death.how}; review this file alone"
    return FileReview(str(file), 1, problems=(Problem(message, file),))


class Reviewer:
    """Reviews one file after the other, whatever becomes of each."""

    def __init__(self, library: Library, way: Way) -> None:
        self._library = library
        self._way = way

    def __call__(self, file: Path) -> FileReview:
        """What came of a file."""
        try:
            return self._reviewed(file)
        finally:
            gc.collect()  # a network and its states hold each other: without this all of them would stay

    def _reviewed(self, file: Path) -> FileReview:
        from boostcarb import pipeline
        from boostcarb.report import records, review_text

        try:
            reviewed = pipeline.review(pipeline.load(file, self._library))
        except BoostcarbError as error:
            problems, code = why_not(error, file)
            return FileReview(str(file), code, problems=problems)
        except Exception as error:  # noqa: BLE001  a fault of ours in one file is told, and costs no other its review
            traceback.print_exception(error, file=sys.stderr)
            message = f"no answer: the program failed ({type(error).__name__}: {str(error)[:200]}); please report it"
            return FileReview(str(file), 1, problems=(Problem(message, file),))
        if self._way.output is Format.json:
            shown = records.as_json(records.review_record(reviewed), lines=True)
        else:
            shown = review_text.review_text(reviewed, units_for(reviewed.bench.job, self._way.units))
        tally = tuple(review_text.tally(reviewed).items())
        return FileReview(str(file), 0 if reviewed.clean else 1, shown, tally=tally)


def reviewer(way: Way) -> Reviewer:
    """Whoever reviews in this process. Raises: BadDescription where the user's own data are wrong."""
    from boostcarb import pipeline

    library = pipeline.library(way.data)
    gc.freeze()  # the rulebook and the families stay
    return Reviewer(library, way)


def to_plain(review: FileReview) -> dict[str, Any]:
    """A review as JSON can carry it between processes."""
    problems = [[each.message, each.file and str(each.file), each.line, each.field] for each in review.problems]
    counted = {"code": review.code, "problems": problems, "tally": review.tally}
    return {"file": review.file, "shown": review.shown, **counted}


def from_plain(plain: dict[str, Any]) -> FileReview:
    """The review that `to_plain` was given."""
    problems = tuple(
        Problem(message, None if file is None else Path(file), line, field)
        for message, file, line, field in plain["problems"]
    )
    tally = tuple((str(kind), int(number)) for kind, number in plain["tally"])
    return FileReview(plain["file"], plain["code"], plain["shown"], problems, tally)


class _Desk:
    """Writes reviews as they come, and shows how far it is to somebody before a screen."""

    def __init__(self, output: Format, files: int) -> None:
        self._json = output is Format.json
        self._shows = sys.stderr.isatty() and files > 1
        self._bar: Any = None
        self._length = files
        self._written = 0

    def __enter__(self) -> _Desk:
        bar: AbstractContextManager[Any] = nullcontext()
        if self._shows:
            bar = typer.progressbar(length=self._length, label="reviewed", show_pos=True, file=sys.stderr)
        self._context = bar
        self._bar = bar.__enter__()
        if self._json:
            self._write(document_head(), more=True)
        return self

    def __exit__(self, *error: Any) -> None:
        self._erase()
        self._context.__exit__(*error)

    def tell(self, review: FileReview) -> None:
        """One review, and why there is none."""
        self._erase()
        for problem in review.problems:
            typer.echo(f"boostcarb: {problem}", err=True)
        if self._json:
            comma = ",\n" if self._written else "\n"
            self._write(comma + (unread_line(review) if review.problems else review.shown), more=True)
        elif review.shown:
            self._write(review.shown + "\n")
        self._written += 1
        if self._bar is not None:
            self._bar.update(1)

    def end(self, summary: Summary) -> None:
        """What came of all."""
        self._write("\n" + document_tail(summary) if self._json else summary_text(summary))

    def _erase(self) -> None:
        if self._bar is not None:
            typer.echo(ERASED, err=True, nl=False)

    def _write(self, text: str, *, more: bool = False) -> None:
        typer.echo(text, nl=not more)
