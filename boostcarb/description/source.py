"""Reading description files: size and encoding checks, YAML with places, includes.

Typical use: ``validate(Job, read_document(path))``; writing goes through ``save_text``.
"""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, NoReturn

from boostcarb.description.saving import save_text
from boostcarb.description.validation import validate
from boostcarb.description.yaml_places import NESTING_LIMIT, PathKey, Place, dotted, parse_yaml
from boostcarb.errors import BadDescription, Problem
from boostcarb.suggest import suggest

__all__ = [
    "INCLUDE_DEPTH_LIMIT",
    "NESTING_LIMIT",
    "SIZE_LIMIT",
    "Document",
    "PathKey",
    "Place",
    "data_files",
    "dotted",
    "merge",
    "read_document",
    "save_text",
    "suggest",
    "validate",
]

SIZE_LIMIT: Final = 1024 * 1024
"""Largest file read, bytes."""
INCLUDE_DEPTH_LIMIT: Final = 8
_INCLUDE_COUNT_LIMIT: Final = 64
_INCLUDE: Final = "include"


@dataclass(frozen=True, slots=True)
class Document:
    """What a file says, includes merged in, and where it says it.

    Attributes:
        path: the file that was read.
        data: its content as plain dictionaries, lists and scalars.
        places: file and line of each value by its path of keys and indices.
    """

    path: Path
    data: dict[str, Any]
    places: Mapping[PathKey, Place]

    def place(self, path: PathKey) -> Place:
        """Place of a value, or of the nearest thing around it that has one."""
        for length in range(len(path), -1, -1):
            place = self.places.get(path[:length])
            if place is not None:
                return place
        return Place(self.path, 1)


def read_document(path: Path, *, text: str | None = None) -> Document:
    """Read a description file and the files it includes.

    A top-level ``include:`` names one file or a list of files, relative to the file that includes
    them. Later files win over earlier ones and a file's own content wins over all it includes;
    mappings merge, lists and scalars replace.

    Args:
        path: the file.
        text: its content, if it was read elsewhere; ``path`` then only names it.

    Raises:
        BadDescription: it cannot be read, is no YAML, or includes itself.

    >>> read_document(Path("job.yaml"), text="engine: {redline: 6500 rpm}").data
    {'engine': {'redline': '6500 rpm'}}
    """
    return _Reader().read(path, text, ())


def data_files(folder: Path, what: str) -> list[Path]:
    """The files of a folder of data, by name.

    Args:
        folder: where they are.
        what: what they are called in messages, for example "rules".

    Raises:
        BadDescription: none there, or a file that ends in .yml: passed over in silence it would be missed.
    """
    wrong = sorted(folder.glob("*.yml"))
    if wrong:
        raise BadDescription([Problem(f"name it {path.stem}.yaml; .yml files are not read", path) for path in wrong])
    paths = sorted(folder.glob("*.yaml"))
    if not paths:
        raise BadDescription(Problem(f"no {what} here: expected files named *.yaml", file=folder))
    return paths


class _Reader:
    """Reads one file and everything it includes."""

    def __init__(self) -> None:
        self.count = 0

    def read(self, path: Path, text: str | None, above: tuple[Path, ...]) -> Document:
        own = _read_one(path, text)
        includes = list(_included(own))
        if not includes:
            return own
        chain = (*above, path)
        merged = Document(path, {}, {})
        for name, place in includes:
            self._check(place, chain, path.parent / name)
            merged = merge(merged, self.read(path.parent / name, None, chain))
        data = {key: value for key, value in own.data.items() if key != _INCLUDE}
        return merge(merged, Document(path, data, own.places))

    def _check(self, place: Place, chain: tuple[Path, ...], wanted: Path) -> None:
        self.count += 1
        resolved = [os.path.realpath(file) for file in chain]
        if os.path.realpath(wanted) in resolved:
            cycle = chain[resolved.index(os.path.realpath(wanted)) :]
            shown = " -> ".join(file.name for file in (*cycle, wanted))
            _fail(f"files include each other in a circle: {shown}; remove one of these includes", place)
        if len(chain) > INCLUDE_DEPTH_LIMIT:
            _fail(f"is more than {INCLUDE_DEPTH_LIMIT} includes deep; include it further up", place)
        if self.count > _INCLUDE_COUNT_LIMIT:
            _fail(f"more than {_INCLUDE_COUNT_LIMIT} files are included in all; join some of them", place)
        if not os.path.exists(wanted):  # also for a name that no file can have
            _fail(f"there is no file '{wanted}'; the path is relative to the including file", place)


def _fail(message: str, place: Place) -> NoReturn:
    raise BadDescription(Problem(message, place.file, place.line, _INCLUDE))


def _included(document: Document) -> Iterator[tuple[str, Place]]:
    if _INCLUDE not in document.data:
        return
    wanted = document.data[_INCLUDE]
    names = wanted if isinstance(wanted, list) else [wanted]
    for index, name in enumerate(names):
        place = document.place((_INCLUDE, index))
        if not isinstance(name, str) or not name.strip():
            _fail("write the name of a file, or a list of them", place)
        yield name, place


def merge(base: Document, over: Document) -> Document:
    """Both documents in one; where both give a value, ``over`` wins."""
    replaced: set[PathKey] = set()
    data = _merge_mappings(base.data, over.data, (), replaced)
    kept = {
        path: place
        for path, place in base.places.items()
        if not any(path[:length] in replaced for length in range(1, len(path) + 1))
    }
    return Document(over.path, data, kept | dict(over.places))


def _merge_mappings(
    base: dict[str, Any], over: dict[str, Any], path: PathKey, replaced: set[PathKey]
) -> dict[str, Any]:
    """Merge, noting the paths of ``base`` that are gone; no deeper than files may nest."""
    merged = dict(base)
    for key, value in over.items():
        below = merged.get(key)
        if isinstance(below, dict) and isinstance(value, dict):
            merged[key] = _merge_mappings(below, value, (*path, key), replaced)
        else:
            replaced.add((*path, key))
            merged[key] = value
    return merged


def _read_one(path: Path, text: str | None) -> Document:
    content = _read_text(path) if text is None else text.removeprefix("\ufeff")
    if len(content) > SIZE_LIMIT:
        raise BadDescription(Problem(_too_large(len(content)), path))
    data, places = parse_yaml(content, path)
    if data is None:
        raise BadDescription(Problem("is empty; write 'name: value' lines", path))
    if not isinstance(data, dict):
        found = "a list" if isinstance(data, list) else f"only {str(data)[:40]!r}"
        raise BadDescription(Problem(f"found {found}; a file holds 'name: value' lines", path, 1))
    return Document(path, data, places)


def _read_text(path: Path) -> str:
    """The text of a regular file of acceptable size."""
    try:
        status = path.stat()
        if stat.S_ISDIR(status.st_mode):
            raise BadDescription(Problem("is a folder; give a YAML file", path))
        if not stat.S_ISREG(status.st_mode):
            raise BadDescription(Problem("is not an ordinary file; give a YAML file", path))
        if status.st_size > SIZE_LIMIT:
            raise BadDescription(Problem(_too_large(status.st_size), path))
        with path.open("rb") as stream:
            raw = stream.read(SIZE_LIMIT + 1)
    except FileNotFoundError as error:
        raise BadDescription(Problem("there is no such file; check the path", path)) from error
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise BadDescription(Problem(f"cannot be read: {reason}", path)) from error
    if len(raw) > SIZE_LIMIT:
        raise BadDescription(Problem(_too_large(len(raw)), path))
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise BadDescription(Problem("is not UTF-8 text; save it as UTF-8", path, line)) from error


def _too_large(size: int) -> str:
    return f"is {size / 1024 / 1024:.1f} MiB; a description file is at most {SIZE_LIMIT // 1024 // 1024} MiB"
