"""The text of a job file, with comments that a person would like to read."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby
from pathlib import Path

from boostcarb.description.job import NOT_LOOKED_AT, Job
from boostcarb.description.source import read_document, validate
from boostcarb.description.yaml_places import parse_yaml
from boostcarb.errors import BadDescription
from boostcarb.interview.question import Answers, Question
from boostcarb.interview.questions import MEASURED
from boostcarb.interview.strip_down import FOUND
from boostcarb.network.model import Item

SCHEMA_LINE = "# yaml-language-server: $schema=job.schema.json"
WIDTH = 110
_SECTIONS = {
    "engine": "The engine; speeds are those of the crankshaft.",
    "charge": "The charge system; boost is counted from the atmosphere.",
    "fuel_detail": "What is known of the fuel beyond its name.",
    "site": "Where the car runs.",
    "carburetors": "How many of this kind feed the engine; all below goes for each of them.",
    "flow": "What the carburetor flows, all barrels open.",
    "supply": "What brings the fuel to the bowls.",
    "pump": "The accelerator pumps.",
    "bowls": "The float bowls.",
    "driving": "What the car shall stand without the fuel leaving the jets.",
    "metering": "Mixtures as measured, carburetor as found.",
}
_HEAD = ("job", "carburetor", "target", "fuel", "enclosure")


class BadlyWritten(RuntimeError):
    """The text does not read back as the job it was written from: a fault of this program."""


def job_text(
    questions: Sequence[Question],
    answers: Answers,
    *,
    family: tuple[str, str],
    stages: Mapping[str, str],
    untold: Sequence[tuple[Item, str]] = (),
) -> str:
    """A whole job file.

    Args:
        questions: those that matter, in order.
        answers: what was said; what is missing was not looked at.
        family: name and title of the carburetor family.
        stages: titles of the strip-down stages, by name.
        untold: items that nobody was asked about one by one, and what is said of them.
    """
    said = {question.path: question for question in questions if answers.get(question.name) and question.path}
    lines = [
        SCHEMA_LINE,
        "# Written by `boostcarb new`. Change what you like, then: boostcarb plan, and the name of this file.",
        *_head(said, answers, family),
    ]
    for section, comment in _SECTIONS.items():
        inside = {path: question for path, question in said.items() if path[0] == section}
        if inside:
            lines += ["", f"# {comment}", *_section(section, inside, answers)]
    lines += ["", *_found(questions, answers, stages, untold)]
    return "\n".join(lines) + "\n"


def check(text: str, file: Path, job: Job) -> None:
    """Read a text back. Raises BadlyWritten where it is not the job that was meant."""
    try:
        read = validate(Job, read_document(file, text=text))
    except BadDescription as error:
        raise BadlyWritten(str(error)) from error
    if read != job:
        raise BadlyWritten("the file would not say what was answered")


def _head(said: Mapping[tuple[str, ...], Question], answers: Answers, family: tuple[str, str]) -> Iterator[str]:
    for name in _HEAD:
        if name == "carburetor":
            yield f"carburetor: {family[0]}  # {family[1]}"
        elif (name,) in said:
            question = said[(name,)]
            word = answers[name] or ""
            title = next((choice.title for choice in question.choices if choice.word == word), "")
            yield _commented(f"{name}: {_scalar(question, word)}", title)
    yield f"rest: {NOT_LOOKED_AT}  # goes for whatever is not named under found"


def _section(section: str, said: Mapping[tuple[str, ...], Question], answers: Answers) -> Iterator[str]:
    if section == MEASURED[0]:
        yield from (f"{section}:", f"  {MEASURED[1]}:")
        for path, question in said.items():
            yield f"    - {{state: {path[2]}, lambda: {_scalar(question, answers[question.name] or '')}}}"
        return
    open_blocks: tuple[str, ...] = ()
    for path, question in sorted(said.items(), key=lambda each: _grouping(list(said), each[0])):
        for depth in range(len(path) - 1):
            if open_blocks[: depth + 1] != path[: depth + 1]:
                yield f"{'  ' * depth}{path[depth]}:"
                open_blocks = path[: depth + 1]
        open_blocks = path[:-1]
        leaf = f"{'  ' * (len(path) - 1)}{path[-1]}: {_scalar(question, answers[question.name] or '')}"
        said_already = question.title.startswith(path[-1].replace("_", " "))
        yield _commented(leaf, "" if said_already else question.title)


def _grouping(paths: list[tuple[str, ...]], path: tuple[str, ...]) -> list[int]:
    """Key that keeps the blocks of a section together, each where its first entry stands."""
    return [
        next(index for index, other in enumerate(paths) if other[:depth] == path[:depth])
        for depth in range(1, len(path) + 1)
    ]


def _found(
    questions: Sequence[Question], answers: Answers, stages: Mapping[str, str], untold: Sequence[tuple[Item, str]]
) -> Iterator[str]:
    follow_ups: dict[str, dict[str, Question]] = {}
    for question in questions:
        if question.path[:1] == (FOUND,) and len(question.path) == 3 and answers.get(question.name):
            follow_ups.setdefault(question.path[1], {})[question.path[2]] = question
    items = [question for question in questions if question.item is not None]
    yield "# The carburetor and what stands round it, in the order of the strip-down."
    if not items:
        return
    yield f"{FOUND}:"
    for stage, of_stage in groupby(items, key=lambda question: question.stage):
        yield f"  # == {stages[stage]} =="
        for casting, of_casting in groupby(of_stage, key=lambda question: question.casting):
            yield f"  # {casting}"
            for question in of_casting:
                yield from _item(question, answers, follow_ups.get(question.path[1], {}))
    if untold:
        yield "  # == not asked one by one: the target says so, or no rule for it hangs on these =="
    for item, word in untold:
        title = f": {item.forms[word].title}" if word in item.forms else ""
        yield _commented(f"  {item.name}: {_plain(word)}", f"{item.title}{title}")


def _item(question: Question, answers: Answers, more: Mapping[str, Question]) -> Iterator[str]:
    name, word = question.path[1], answers.get(question.name)
    if word is None:
        if question.look:
            yield from textwrap.wrap(f"look: {question.look}", WIDTH, initial_indent="  # ", subsequent_indent="  #   ")
        yield _commented(f"  {name}: {NOT_LOOKED_AT}", question.title)
        return
    title = next((choice.title for choice in question.choices if choice.word == word), "")
    state = _scalar(question, word)
    if more:
        fields = ", ".join(f"{field}: {_scalar(each, answers[each.name] or '')}" for field, each in more.items())
        state = f"{{is: {state}, {fields}}}"
    yield _commented(f"  {name}: {state}", f"{question.title}: {title}" if title else question.title)


def _commented(line: str, comment: str) -> str:
    return f"{line}  # {comment}" if comment else line


def _scalar(question: Question, answer: str) -> str:
    """An answer as it was typed, in quotes where it would be read as something else."""
    text = question.typed(answer)
    return _plain(text) if isinstance(question.value(answer), str) else text


def _plain(text: str) -> str:
    """A text without quotes, if it reads back as the same text wherever it stands."""
    for around in ("x: {}\n", "x: {{y: {}, z: 1}}\n"):
        try:
            read, _ = parse_yaml(around.format(text), Path("text"))
        except BadDescription:
            return json.dumps(text, ensure_ascii=False)
        inside = read["x"]
        if inside not in (text, {"y": text, "z": 1}):
            return json.dumps(text, ensure_ascii=False)
    return text
