"""YAML text to plain data, with the line of every value.

A small subset of YAML 1.2: one document of mappings, lists and scalars under the core schema.
Anchors, aliases, merge keys and tags are refused. The parser's events are consumed one by one
with an explicit stack, so that no input can exhaust the call stack.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from math import isfinite
from pathlib import Path
from typing import Any, Final, NoReturn

import yaml

from boostcarb.errors import BadDescription, Problem

NESTING_LIMIT: Final = 32
_TOO_DEEP: Final = f"is nested more than {NESTING_LIMIT} deep; flatten it"
_LONGEST_NUMBER: Final = 40
LONGEST_NAME: Final = 200
LONGEST_TEXT: Final = 4000
"""Characters of a name and of a text: messages and tables show both."""
# Also what breaks lines unseen, and what turns the direction of the text after it (Unicode UAX #9, table 4).
_CONTROL: Final = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x84\x86-\x9f\u2028-\u202e\u2066-\u2069\ud800-\udfff\ufffe\uffff]"
)
_INTEGER: Final = re.compile(r"[-+]?[0-9]+|0o[0-7]+|0x[0-9a-fA-F]+")
_FLOAT: Final = re.compile(r"[-+]?(?:\.[0-9]+|[0-9]+(?:\.[0-9]*)?)(?:[eE][-+]?[0-9]+)?")
_NOT_FINITE: Final = re.compile(r"[-+]?\.(?:inf|Inf|INF)|\.(?:nan|NaN|NAN)")
_WORDS: Final[Mapping[str, bool | None]] = {
    "": None, "~": None, "null": None, "Null": None, "NULL": None,
    "true": True, "True": True, "TRUE": True, "false": False, "False": False, "FALSE": False,
}  # fmt: skip
_PLAINER: Final = (
    (
        "mapping values are not allowed",
        "a ':' where none can stand: check that both lines are indented alike, or put a text that holds ': ' in quotes",
    ),
    ("could not find expected ':'", "a name without ':' and its value"),
    ("did not find expected key", "indentation that does not line up, or an unclosed quote"),
    ("did not find expected '-' indicator", "a list item that does not line up"),
    ("unexpected end of stream", "a quote that is never closed"),
    ("cannot start any token", "a character that needs quotes around the text"),
)

PathKey = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Place:
    """A line of a file, counted from 1."""

    file: Path
    line: int


@dataclass(slots=True)
class _Open:
    """A mapping or list that is still being read."""

    path: PathKey
    line: int
    value: dict[str, Any] | list[Any]
    key: str | None = None
    key_line: int = 0
    key_lines: dict[str, int] = field(default_factory=dict)


def parse_yaml(text: str, file: Path) -> tuple[Any, dict[PathKey, Place]]:
    """Read one YAML document.

    Args:
        text: the document.
        file: named in messages and places.

    Returns:
        The data, and the place of every value by its path of keys and indices. The place of a value
        in a mapping is the line of its key.

    Raises:
        BadDescription: not YAML, or something outside the subset.

    >>> data, places = parse_yaml("bore: 1.2 mm\\nlist: [on, 3]", Path("job.yaml"))
    >>> data, places[("list", 1)].line
    ({'bore': '1.2 mm', 'list': ['on', 3]}, 2)
    """
    refused = _CONTROL.search(text)
    if refused:
        line = text.count("\n", 0, refused.start()) + 1
        _fail(file, line, f"has a control character (code {ord(refused[0])}); delete it")
    return _Builder(file).build(_events(text, file))


def _fail(file: Path, line: int, message: str, path: PathKey = ()) -> NoReturn:
    raise BadDescription(Problem(message, file, line, dotted(path) or None))


def dotted(path: PathKey) -> str:
    """A path as people write it.

    >>> dotted(("spaces", 2, "bore"))
    'spaces[2].bore'
    """
    text = "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in path)
    return text.removeprefix(".")


def _events(text: str, file: Path) -> Iterator[yaml.Event]:
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    try:
        yield from yaml.parse(text, Loader=loader)
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        last = text.rstrip().count("\n") + 1
        line = min(mark.line + 1, last) if mark is not None else 1
        raise BadDescription(Problem(_explain(error, text, line), file, line)) from error
    except yaml.YAMLError as error:
        raise BadDescription(Problem(f"is not YAML: {error}", file, 1)) from error


def _explain(error: yaml.MarkedYAMLError, text: str, line: int) -> str:
    lines = text.split("\n")
    around = lines[line - 1] if line <= len(lines) else ""
    if "\t" in around[: len(around) - len(around.lstrip())] or "'\\t'" in str(error.problem):
        return "has a tab in the indentation; use spaces"
    problem = str(error.problem or error.context)
    if "maximum nesting" in problem:  # the parser looks ahead and may get there first
        return _TOO_DEEP
    for theirs, ours in _PLAINER:
        if theirs in problem:
            return f"is not YAML here or on the line before: {ours}"
    return f"is not YAML here: {problem}"


def _line(event: yaml.Event) -> int:
    return event.start_mark.line + 1 if event.start_mark is not None else 1


class _Builder:
    """Builds the data from parser events, innermost open container last."""

    def __init__(self, file: Path) -> None:
        self.file = file
        self.open: list[_Open] = []
        self.places: dict[PathKey, Place] = {}
        self.root: Any = None
        self.documents = 0

    def build(self, events: Iterator[yaml.Event]) -> tuple[Any, dict[PathKey, Place]]:
        for event in events:
            line = _line(event)
            if isinstance(event, yaml.DocumentStartEvent):
                self._start_document(line)
            elif isinstance(event, yaml.AliasEvent):
                self._refuse(line, "uses '*', a reference to another value; write the value out")
            elif isinstance(event, yaml.NodeEvent):
                self._node(event, line)
            elif isinstance(event, yaml.CollectionEndEvent):
                self.open.pop()
        return self.root, self.places

    def _start_document(self, line: int) -> None:
        self.documents += 1
        if self.documents > 1:
            self._refuse(line, "starts a second document with '---'; keep one document in a file")

    def _node(self, event: yaml.NodeEvent, line: int) -> None:
        if event.anchor is not None:
            self._refuse(line, f"uses '&{event.anchor[:40]}', a label; write the value out where it is needed")
        if getattr(event, "tag", None) is not None:
            self._refuse(line, f"uses the tag '{event.tag[:40]}'; remove it")  # type: ignore[attr-defined]
        if isinstance(event, yaml.ScalarEvent):
            self._scalar(event, line)
        else:
            self._container({} if isinstance(event, yaml.MappingStartEvent) else [], line)

    def _scalar(self, event: yaml.ScalarEvent, line: int) -> None:
        text: str = event.value
        if _CONTROL.search(text):
            self._refuse(line, "has an escaped control character; delete it")
        top = self.open[-1] if self.open else None
        if top is not None and isinstance(top.value, dict) and top.key is None:
            self._key(top, text, line)
        else:
            value = self._resolve(text, line) if event.implicit[0] else text
            if isinstance(value, str) and len(value) > LONGEST_TEXT:
                self._refuse(line, f"found a text of {len(value)} characters; write at most {LONGEST_TEXT}")
            self._put(value, line)

    def _key(self, top: _Open, key: str, line: int) -> None:
        if key == "<<":
            self._refuse(line, "uses '<<' to merge; use a top-level 'include:' or write the values out")
        if not key:
            self._refuse(line, "has a value without a name; write 'name: value'")
        if len(key) > LONGEST_NAME or not key.isprintable():
            self._refuse(line, f"has a name that is not one line of at most {LONGEST_NAME} characters; shorten it")
        if key in top.key_lines:
            _fail(
                self.file,
                line,
                f"is given twice, on lines {top.key_lines[key]} and {line}; keep one",
                (*top.path, key),
            )
        top.key, top.key_line = key, line
        top.key_lines[key] = line

    def _container(self, value: dict[str, Any] | list[Any], line: int) -> None:
        if len(self.open) >= NESTING_LIMIT:
            self._refuse(line, _TOO_DEEP)
        top = self.open[-1] if self.open else None
        if top is not None and isinstance(top.value, dict) and top.key is None:
            self._refuse(line, "has a list or mapping as a name; a name is plain text")
        path = self._put(value, line)
        self.open.append(_Open(path, line, value))

    def _put(self, value: Any, line: int) -> PathKey:
        """Store a finished scalar or a new container where it belongs."""
        if not self.open:
            self.root = value
            self.places[()] = Place(self.file, line)
            return ()
        top = self.open[-1]
        if isinstance(top.value, list):
            path: PathKey = (*top.path, len(top.value))
            top.value.append(value)
        else:
            assert top.key is not None  # noqa: S101  a value follows its key
            path, line = (*top.path, top.key), top.key_line
            top.value[top.key] = value
            top.key = None
        self.places[path] = Place(self.file, line)
        return path

    def _resolve(self, text: str, line: int) -> Any:
        """A plain scalar under the core schema of YAML 1.2."""
        if text in _WORDS:
            return _WORDS[text]
        if _INTEGER.fullmatch(text):
            self._check_length(text, line)
            return int(text, 0) if text[:2] in {"0o", "0x"} else int(text)
        if _FLOAT.fullmatch(text):
            self._check_length(text, line)
            value = float(text)
            if not isfinite(value):
                self._refuse(line, f"found {text}, which is too large a number")
            return value
        if _NOT_FINITE.fullmatch(text):
            self._refuse(line, f"found {text}; write a finite number")
        return text

    def _check_length(self, text: str, line: int) -> None:
        if len(text) > _LONGEST_NUMBER:
            self._refuse(line, f"found a number of {len(text)} characters; shorten it")

    def _refuse(self, line: int, message: str) -> NoReturn:
        _fail(self.file, line, message, self._here())

    def _here(self) -> PathKey:
        if not self.open or len(self.open) >= NESTING_LIMIT:
            return ()
        top = self.open[-1]
        if isinstance(top.value, list):
            return (*top.path, len(top.value))
        return top.path if top.key is None else (*top.path, top.key)
