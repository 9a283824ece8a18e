"""One thing that a page may ask, and the JSON of what it is told."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

Record = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Question:
    """From the body of a request to a record, in two steps: what is wrong with a request is said at once.

    `answer` checks a body, raising BadDescription, and gives what works the record out. With `newest_only` a later
    question of the same tab stands for those that wait.
    """

    answer: Callable[[bytes], Callable[[], Record]]
    newest_only: bool = False


def as_json(record: Mapping[str, Any]) -> bytes:
    """A record as JSON on one line. Raises ValueError for NaN, which no answer may hold.

    What UTF-8 cannot write, in the name of a file, stands as its escape (RFC 8259, section 8.2).
    """
    text = json.dumps(record, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return text.encode("utf-8", "backslashreplace")
