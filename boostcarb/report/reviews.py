"""Reviews of many files: one document, and what came of them all."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Final

from boostcarb.errors import Problem
from boostcarb.report.plan_text import section
from boostcarb.report.records import Record, as_json, schema_name, unread_record
from boostcarb.report.wording import count
from boostcarb.report.wrapping import wrapped

NOTHING_BLOCKS, BLOCKED, NOT_READ = 0, 1, 2
_TITLES: Final = {"stop": "to stop for", "fix": "to fix", "know": "to know", "not_looked_at": "not looked at"}


@dataclass(frozen=True, slots=True)
class FileReview:
    """What came of one file.

    Attributes:
        file: its name as it was given.
        code: 0 nothing blocks, 1 something does or there is no answer, 2 it could not be read.
        shown: its review as text, or as JSON on one line; empty where there is none.
        problems: why it has no review.
        tally: how many findings of each kind.
    """

    file: str
    code: int
    shown: str = ""
    problems: tuple[Problem, ...] = ()
    tally: tuple[tuple[str, int], ...] = ()


@dataclass(slots=True)
class Summary:
    """What came of all files so far; `stopped` where the rest was given up."""

    files: int
    codes: dict[int, int] = field(default_factory=dict)
    tally: dict[str, int] = field(default_factory=lambda: dict.fromkeys(_TITLES, 0))
    without: list[FileReview] = field(default_factory=list)
    stopped: bool = False

    def add(self, review: FileReview) -> None:
        """Count one more."""
        if review.problems:
            self.without.append(review)
        else:
            self.codes[review.code] = self.codes.get(review.code, 0) + 1
        for kind, number in review.tally:
            self.tally[kind] += number

    @property
    def code(self) -> int:
        """The worst of all: 2 before 1 before 0."""
        return max([*self.codes, *(review.code for review in self.without)], default=NOTHING_BLOCKS)

    @property
    def reviewed(self) -> int:
        """How many have a review."""
        return sum(self.codes.values())

    def left_out(self, code: int) -> list[FileReview]:
        """Those without a review: they could not be read (2), or there is no answer (1)."""
        return [review for review in self.without if review.code == code]


def summary_text(summary: Summary) -> str:
    """The end of a review of many files."""
    return "\n".join(_lines(summary)).removeprefix("\n")


def _lines(summary: Summary) -> Iterator[str]:
    unread, unanswered = summary.left_out(NOT_READ), summary.left_out(BLOCKED)
    yield from section(f"ALL {count(summary.files, 'FILE', 'FILES')}")
    said = [
        f"{summary.codes.get(BLOCKED, 0)} not fit to run",
        f"{summary.codes.get(NOTHING_BLOCKS, 0)} where nothing blocks",
        f"{len(unread)} that could not be read",
    ]
    said += [f"{len(unanswered)} without an answer"] if unanswered else []
    left = summary.files - summary.reviewed - len(summary.without)
    said += [f"{left} not looked at: stopped"] if left else []
    yield wrapped(", ".join(said) + ".", first="  ")
    findings = ", ".join(f"{number} {_TITLES[kind]}" for kind, number in summary.tally.items())
    yield wrapped(f"Findings in all: {findings}.", first="  ")
    for title, reviews in (("COULD NOT BE READ", unread), ("NO ANSWER", unanswered)):
        if reviews:
            yield from section(title)
            yield from (wrapped(str(each), first="  ", rest="    ") for review in reviews for each in review.problems)


def unread_line(review: FileReview) -> str:
    """What stands in the document for a file without a review."""
    return as_json(unread_record(review.file, review.problems), lines=True)


def document_head() -> str:
    """The start of one JSON document of many reviews, each of which follows on a line of its own."""
    head: Record = {"schema": schema_name("reviews"), "job": None}
    return as_json(head, lines=True).removesuffix("}") + ', "reviews": ['


def document_tail(summary: Summary) -> str:
    """The end of the document: what came of all files."""
    tail: Record = {
        "summary": {
            "files": summary.files,
            "not_fit": summary.codes.get(BLOCKED, 0),
            "nothing_blocks": summary.codes.get(NOTHING_BLOCKS, 0),
            "not_read": _named(summary.left_out(NOT_READ)),
            "no_answer": _named(summary.left_out(BLOCKED)),
            "findings": dict(summary.tally),
            "stopped": summary.stopped,
        }
    }
    return "], " + as_json(tail, lines=True).removeprefix("{")


def _named(reviews: Iterable[FileReview]) -> list[Record]:
    return [{"file": each.file, "problems": unread_record(each.file, each.problems)["problems"]} for each in reviews]
