"""Differences between records, against JSON Merge Patch (RFC 7396)."""

from __future__ import annotations

import json
from copy import deepcopy
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boostcarb.board.merge_patch import apply, difference

# RFC 7396, appendix A, all of it: original, patch, result.
APPENDIX_A = [
    ('{"a":"b"}', '{"a":"c"}', '{"a":"c"}'),
    ('{"a":"b"}', '{"b":"c"}', '{"a":"b","b":"c"}'),
    ('{"a":"b"}', '{"a":null}', "{}"),
    ('{"a":"b","b":"c"}', '{"a":null}', '{"b":"c"}'),
    ('{"a":["b"]}', '{"a":"c"}', '{"a":"c"}'),
    ('{"a":"c"}', '{"a":["b"]}', '{"a":["b"]}'),
    ('{"a":{"b":"c"}}', '{"a":{"b":"d","c":null}}', '{"a":{"b":"d"}}'),
    ('{"a":[{"b":"c"}]}', '{"a":[1]}', '{"a":[1]}'),
    ('["a","b"]', '["c","d"]', '["c","d"]'),
    ('{"a":"b"}', '["c"]', '["c"]'),
    ('{"a":"foo"}', "null", "null"),
    ('{"a":"foo"}', '"bar"', '"bar"'),
    ('{"e":null}', '{"a":1}', '{"e":null,"a":1}'),
    ("[1,2]", '{"a":"b","c":null}', '{"a":"b"}'),
    ("{}", '{"a":{"bb":{"ccc":null}}}', '{"a":{"bb":{}}}'),
]


@pytest.mark.parametrize(("original", "patch", "result"), APPENDIX_A)
def test_examples_of_the_standard(original: str, patch: str, result: str) -> None:
    assert apply(json.loads(original), json.loads(patch)) == json.loads(result)


def test_example_document_of_the_standard() -> None:
    """RFC 7396, section 3."""
    original = {
        "title": "Goodbye!",
        "author": {"givenName": "John", "familyName": "Doe"},
        "tags": ["example", "sample"],
        "content": "This will be unchanged",
    }
    patch = {
        "title": "Hello!",
        "phoneNumber": "+01-123-456-7890",
        "author": {"familyName": None},
        "tags": ["example"],
    }
    result = {
        "title": "Hello!",
        "author": {"givenName": "John"},
        "tags": ["example"],
        "content": "This will be unchanged",
        "phoneNumber": "+01-123-456-7890",
    }
    before = deepcopy(original)
    assert apply(original, patch) == result
    assert original == before, "the original stays as it was"
    assert difference(original, result) == patch


PLAIN = st.one_of(st.booleans(), st.integers(-3, 3), st.floats(-2, 2), st.text(max_size=3))
NAMES = st.sampled_from("abcd")
RECORDS: st.SearchStrategy[Any] = st.recursive(
    PLAIN, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(NAMES, inner, max_size=4), max_leaves=12
)
OBJECTS = st.dictionaries(NAMES, RECORDS, max_size=4)


def as_text(record: Any) -> str:
    """JSON with sorted names: tells true from 1, as Python's comparison does not."""
    return json.dumps(record, sort_keys=True)


@given(OBJECTS, OBJECTS)
def test_difference_leads_from_one_to_the_other(old: dict[str, Any], new: dict[str, Any]) -> None:
    assert apply(old, difference(old, new)) == new
    assert as_text(apply(old, difference(old, new))).replace(".0", "") == as_text(new).replace(".0", "")


@given(OBJECTS)
def test_no_difference_is_an_empty_patch(record: dict[str, Any]) -> None:
    assert difference(record, deepcopy(record)) == {}


@pytest.mark.parametrize("new", [{"a": None}, {"a": {"b": None}}, {"x": {"a": {"b": None}}}])
def test_null_in_a_record_is_refused(new: dict[str, Any]) -> None:
    """RFC 7396, section 1: a merge patch cannot set anything to null."""
    with pytest.raises(ValueError, match="null"):
        difference({"x": 1}, new)
