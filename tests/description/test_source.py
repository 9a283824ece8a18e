"""Reading, including, checking and saving description files."""

from __future__ import annotations

import os
import stat
from pathlib import Path
from typing import Annotated, Any, Literal

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel, ConfigDict, Field, model_validator
from pydantic_core._pydantic_core import list_all_errors

from boostcarb.description import source, yaml_places
from boostcarb.description.source import Place, read_document, save_text, suggest, validate
from boostcarb.errors import BadDescription, Problem
from boostcarb.quantities import Length, bounded

JOB = Path("job.yaml")


class Strict(BaseModel):
    model_config = ConfigDict(extra="forbid")


class Jet(Strict):
    kind: Literal["jet"]
    bore: Annotated[Length, bounded("0.1 mm", "100 mm", "a bore")]


class Valve(Strict):
    kind: Literal["valve"]
    sides: list[str] = Field(min_length=2)


class Model(Strict):
    name: str
    count: int = Field(default=1, ge=1)
    mode: Literal["blow_through", "draw_through"] = "blow_through"
    parts: dict[str, Annotated[Jet | Valve, Field(discriminator="kind")]] = {}
    either: str | list[str] = "x"
    word: Annotated[str, Field(pattern="^[a-z]+$", description="a lower-case word")] = "a"
    inner: Jet | None = None

    @model_validator(mode="after")
    def _check(self) -> Model:
        if self.name == "bad":
            raise ValueError("this name is taken; choose another")
        return self


def problems_of(text: str, model: type[BaseModel] = Model) -> list[Problem]:
    with pytest.raises(BadDescription) as caught:
        validate(model, read_document(JOB, text=text))
    return list(caught.value.problems)


def only_problem(text: str) -> Problem:
    problems = problems_of(text)
    assert len(problems) == 1, problems
    return problems[0]


def refusal(path: Path, text: str | None = None) -> Problem:
    with pytest.raises(BadDescription) as caught:
        read_document(path, text=text)
    assert len(caught.value.problems) == 1
    return caught.value.problems[0]


# Scalars and places


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("yes", "yes"),
        ("on", "on"),
        ("No", "No"),
        ("true", True),
        ("FALSE", False),
        ("null", None),
        ("~", None),
        ("", None),
        ("12", 12),
        ("0o17", 15),
        ("0x1F", 31),
        ("017", 17),
        ("1_000", "1_000"),
        ("1:30", "1:30"),
        ("2024-01-31", "2024-01-31"),
        ("1.5", 1.5),
        ("1e3", 1000.0),
        ("'12'", "12"),
        ("'true'", "true"),
        ("3/64 in", "3/64 in"),
        ("=", "="),
    ],
)
def test_scalars_follow_the_core_schema(text: str, value: object) -> None:
    found = read_document(JOB, text=f"a: {text}").data["a"]
    assert found == value
    assert type(found) is type(value)


def test_names_are_always_text() -> None:
    assert read_document(JOB, text="on: 1\n12: 2\ntrue: 3").data == {"on": 1, "12": 2, "true": 3}


def test_places_are_the_lines_of_names_and_entries() -> None:
    document = read_document(JOB, text="a:\n  b:\n    c: 1\nd:\n  - x\n  - {e: 1,\n     f: 2}\n")
    lines = {path: place.line for path, place in document.places.items()}
    assert lines == {
        (): 1, ("a",): 1, ("a", "b"): 2, ("a", "b", "c"): 3,
        ("d",): 4, ("d", 0): 5, ("d", 1): 6, ("d", 1, "e"): 6, ("d", 1, "f"): 7,
    }  # fmt: skip
    assert document.place(("a", "b", "zzz", 3)) == Place(JOB, 2)


names = st.text("abcdef", min_size=1, max_size=4)
trees = st.recursive(
    st.one_of(st.none(), st.booleans(), st.integers(-(10**9), 10**9), st.text("abc :#-'\"\n%é", max_size=8)),
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(names, inner, max_size=3)),
    max_leaves=12,
)


@given(st.dictionaries(names, trees, min_size=1, max_size=4), st.booleans())
def test_what_was_written_is_read(data: dict[str, Any], flow: bool) -> None:
    assert read_document(JOB, text=yaml.safe_dump({"z": data}, default_flow_style=flow)).data == {"z": data}


@given(st.text())
def test_any_text_is_read_or_refused_with_a_place(text: str) -> None:
    refused = None
    try:
        read_document(JOB, text=text)
    except BadDescription as error:
        refused = error
    assert refused is None or refused.problems[0].file == JOB


# What is refused


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        ("a: 1\nb: 2\na: 3", 3, "is given twice, on lines 1 and 3"),
        ("a: &x 1\nb: *x", 1, "uses '&x'"),
        ("a: *x", 1, "uses '*'"),
        ("a: 1\n<<: {b: 1}", 2, "uses '<<' to merge"),
        ("a: !!python/object:os.system x", 1, "uses the tag"),
        ("a: !thing {b: 1}", 1, "uses the tag '!thing'"),
        ("a: 1\n---\nb: 2", 2, "second document"),
        ("a:\n\tb: 1", 2, "tab in the indentation"),
        ("a: 1\nb: \x00", 2, "control character (code 0)"),
        ("a: \x1b[31m", 1, "control character"),
        ('a: "\\e[31m"', 1, "escaped control character"),
        ("? [a]\n: 1", 1, "has a list or mapping as a name"),
        ("'': 1", 1, "value without a name"),
        ("a: .inf", 1, "write a finite number"),
        ("a: -.INF", 1, "write a finite number"),
        ("a: .nan", 1, "write a finite number"),
        ("a: 1e999", 1, "too large a number"),
        ("a: " + "9" * 10_000, 1, "a number of 10000 characters"),
        ("- a\n- b", 1, "found a list"),
        ("word", 1, "found only 'word'"),
        ("", None, "is empty"),
        ("# only a comment\n", None, "is empty"),
        ("a: 'open", 1, "a quote that is never closed"),
        ("a: b: c", 1, "check that both lines are indented alike"),
        ("a: @x", 1, "needs quotes"),
        ("a: [1, 2", 1, "is not YAML"),
    ],
)
@pytest.mark.parametrize("parser", ["C", "Python"])
def test_refused_with_line(
    text: str, line: int | None, said: str, parser: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    if parser == "Python":
        monkeypatch.delattr(yaml, "CSafeLoader", raising=False)
    problem = refusal(JOB, text)
    if parser == "C" or "YAML" not in problem.message:
        assert said in problem.message
        assert problem.line == line
    assert problem.file == JOB


@pytest.mark.parametrize("text", ["[" * 100_000, "a: " + "{b: " * 100_000, "- " * 100_000])
def test_deep_nesting_is_one_message(text: str) -> None:
    assert "nested more than 32 deep" in refusal(JOB, text).message


def test_the_deepest_allowed_nesting_is_read() -> None:
    levels = yaml_places.NESTING_LIMIT
    text = "{a: " * levels + "1" + "}" * levels
    assert read_document(JOB, text=text).places[("a",) * levels] == Place(JOB, 1)
    assert "nested" in refusal(JOB, "{a: " + text + "}").message


def test_a_billion_laughs_are_refused() -> None:
    lines = ["a0: &a0 [lol, lol]"]
    lines += [f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 9)}]" for i in range(1, 10)]
    assert "uses '&a0'" in refusal(JOB, "\n".join(lines)).message


def test_a_huge_file_is_not_read(tmp_path: Path) -> None:
    path = tmp_path / "huge.yaml"
    with path.open("wb") as stream:
        stream.truncate(50 * 1024 * 1024)
    assert "is 50.0 MiB; a description file is at most 1 MiB" in refusal(path).message


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    assert "no such file" in refusal(tmp_path / "none.yaml").message
    assert "is a folder" in refusal(tmp_path).message
    assert "cannot be read" in refusal(tmp_path / ("x" * 5000)).message
    assert "cannot be read" in refusal(Path("a\0b")).message
    latin = tmp_path / "latin.yaml"
    latin.write_bytes(b"a: 1\nb: caf\xe9\n")
    assert refusal(latin) == Problem("is not UTF-8 text; save it as UTF-8", latin, 2)
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    assert "not an ordinary file" in refusal(pipe).message


def test_a_byte_order_mark_is_no_matter(tmp_path: Path) -> None:
    path = tmp_path / "bom.yaml"
    path.write_bytes(b"\xef\xbb\xbfa: 1\r\nb: 2\r\n")
    document = read_document(path)
    assert document.data == {"a": 1, "b": 2}
    assert document.place(("b",)).line == 2
    assert read_document(JOB, text="\ufeffa: 1").data == {"a": 1}


# Includes


def write(folder: Path, **files: str) -> None:
    for name, text in files.items():
        (folder / f"{name}.yaml").write_text(text, encoding="utf-8")


def test_includes_merge_and_keep_their_places(tmp_path: Path) -> None:
    write(
        tmp_path,
        base="engine:\n  idle: 1\n  redline: 2\nlist:\n  - a\n  - b\n",
        more="engine:\n  idle: 3\nfuel: {kind: x}\n",
        job="include: [base.yaml, more.yaml]\nengine:\n  redline: 9\nlist: [c]\nfuel: none\n",
    )
    document = read_document(tmp_path / "job.yaml")
    assert document.data == {"engine": {"idle": 3, "redline": 9}, "list": ["c"], "fuel": "none"}
    assert document.place(("engine", "idle")) == Place(tmp_path / "more.yaml", 2)
    assert document.place(("engine", "redline")) == Place(tmp_path / "job.yaml", 3)
    assert ("list", 1) not in document.places
    assert ("fuel", "kind") not in document.places
    assert document.path == tmp_path / "job.yaml"


def test_a_path_is_relative_to_the_including_file(tmp_path: Path) -> None:
    (tmp_path / "sub").mkdir()
    write(tmp_path, job="include: sub/a.yaml\n", shared="x: 1\n")
    write(tmp_path / "sub", a="include: ../shared.yaml\ny: 2\n")
    assert read_document(tmp_path / "job.yaml").data == {"x": 1, "y": 2}


@pytest.mark.parametrize(
    ("files", "said"),
    [
        ({"job": "include: job.yaml"}, "in a circle: job.yaml -> job.yaml"),
        (
            {"job": "include: a.yaml", "a": "include: b.yaml", "b": "x: 1\ninclude: a.yaml"},
            "in a circle: a.yaml -> b.yaml -> a.yaml",
        ),
        ({"job": "include: none.yaml"}, "there is no file"),
        ({"job": "include: 3"}, "write the name of a file"),
        ({"job": "include: {a: b}"}, "write the name of a file"),
        ({"job": "include: ['']"}, "write the name of a file"),
        (
            {"job": "include: f0.yaml"} | {f"f{i}": f"include: f{i + 1}.yaml" for i in range(20)},
            "more than 8 includes deep",
        ),
        (
            {"job": "include: [f0.yaml, f0.yaml, f0.yaml]", "f7": "x: 1"}
            | {f"f{i}": f"include: [f{i + 1}.yaml, f{i + 1}.yaml, f{i + 1}.yaml]" for i in range(7)},
            "more than 64 files",
        ),
    ],
)
def test_includes_that_cannot_be(tmp_path: Path, files: dict[str, str], said: str) -> None:
    write(tmp_path, **files)
    problem = refusal(tmp_path / "job.yaml")
    assert said in problem.message
    assert problem.field == "include"
    assert problem.line is not None


def test_an_error_in_an_included_file_names_that_file(tmp_path: Path) -> None:
    write(tmp_path, base="name: x\ncount: many\n", job="include: base.yaml\nmode: x\n")
    with pytest.raises(BadDescription) as caught:
        validate(Model, read_document(tmp_path / "job.yaml"))
    found = {(problem.file, problem.line, problem.field) for problem in caught.value.problems}
    assert found == {(tmp_path / "base.yaml", 2, "count"), (tmp_path / "job.yaml", 2, "mode")}


# Validation


@pytest.mark.parametrize(
    ("text", "line", "field", "said"),
    [
        ("name: x\ncuont: 3", 2, "cuont", "unknown name; did you mean 'count'?"),
        ("name: x\nzzz: 3", 2, "zzz", "unknown name; choose from: name, count, mode"),
        ("count: 3", 1, "name", "is missing; add it"),
        ("name: x\ncount: few", 2, "count", "found 'few'; write a whole number"),
        ("name: x\ncount: 0", 2, "count", "found 0; must be at least 1"),
        ("name: 3", 1, "name", "found 3; write text, in quotes if it looks like a number"),
        ("name: x\nmode: blow_thru", 2, "mode", "found 'blow_thru'; did you mean 'blow_through'?"),
        ("name: x\nword: ABC", 2, "word", "found 'ABC'; write a lower-case word"),
        ("name: x\nparts: [1]", 2, "parts", "found a list of 1; write indented 'name: value' lines"),
        (
            "name: x\nparts:\n  a:\n    kind: jet\n    bore: -3 mm",
            5,
            "parts.a.bore",
            "found '-3 mm'; a length cannot be below zero",
        ),
        ("name: x\nparts:\n  a: {kind: jet, bore: 3 m}", 3, "parts.a.bore", "is 3 m; a bore lies between"),
        ("name: x\nparts:\n  jet: {kind: jet, bore: 2}", 3, "parts.jet.bore", "found 2 without a unit"),
        ("name: x\nparts:\n  a: {kind: jett}", 3, "parts.a.kind", "did you mean 'jet'?"),
        ("name: x\nparts:\n  a: {bore: 1 mm}", 3, "parts.a.kind", "is missing"),
        (
            "name: x\nparts:\n  a: {kind: jet}",
            3,
            "parts.a.bore",
            "is missing; add for example 'bore: 1.2 mm'",
        ),
        ("name: x\nparts:\n  a: {kind: jet, bore: 1 mm, bor: 2}", 3, "parts.a.bor", "did you mean 'bore'?"),
        (
            "name: x\nparts:\n  a:\n    kind: valve\n    sides: [a]",
            5,
            "parts.a.sides",
            "at least 2 entries, has 1",
        ),
        ("name: x\neither: [a, 1]", 2, "either[1]", "found 1; write text"),
        ("name: x\neither: 3", 2, "either", "looks like a number or a list"),
        ("name: x\ninner: {kind: jet, bore: 1 mm, x: 1}", 2, "inner.x", "choose from: kind, bore"),
        ("name: bad", 1, None, "this name is taken; choose another"),
    ],
)
def test_each_error_names_line_field_and_cure(text: str, line: int, field: str | None, said: str) -> None:
    problem = only_problem(text)
    assert (problem.file, problem.line, problem.field) == (JOB, line, field)
    assert said in problem.message


def test_all_errors_are_given_in_the_order_of_the_file() -> None:
    problems = problems_of("mode: x\ncount: 0\nword: 3\n")
    assert [(problem.line, problem.field) for problem in problems] == [
        (1, "name"), (1, "mode"), (2, "count"), (3, "word"),
    ]  # fmt: skip


def test_many_errors_are_cut_short() -> None:
    problems = problems_of("name: x\n" + "".join(f"x{i}: 1\n" for i in range(50)))
    assert len(problems) == 21
    assert problems[-1].message == "and 30 more; mend these first"


def test_found_values_are_shortened() -> None:
    assert len(only_problem(f"name: x\ncount: {'y' * 5000}").message) < 120


def test_a_good_document_becomes_the_model() -> None:
    model = validate(Model, read_document(JOB, text="name: x\nparts: {a: {kind: jet, bore: '#55 drill'}}"))
    assert model.parts["a"] == Jet(kind="jet", bore="0.052 in")  # type: ignore[arg-type]


def test_no_message_speaks_of_input_or_links() -> None:
    from boostcarb.description.wording import describe

    for entry in list_all_errors():
        detail = {
            "type": entry["type"],
            "loc": ("name",),
            "msg": entry["example_message_python"],
            "input": "x",
            "ctx": entry["example_context"] or {},
        }
        message = describe(Model, detail)  # type: ignore[arg-type]
        assert not message.startswith("Input")
        assert "nput should" not in message
        assert "http" not in message


def test_suggest_offers_the_nearest_or_the_first_few() -> None:
    assert suggest("Blow-Through", ["blow_through", "draw_through"]) == "did you mean 'blow_through'?"
    assert suggest("q", [f"word{i}" for i in range(20)]).endswith("word15, ...")
    assert suggest("q", []) == ""


# Saving


def test_saves_a_new_file_and_nothing_else(tmp_path: Path) -> None:
    path = tmp_path / "new.yaml"
    save_text(path, "größe: 1\n")
    assert path.read_bytes() == "größe: 1\n".encode()
    assert [entry.name for entry in tmp_path.iterdir()] == ["new.yaml"]
    plain = tmp_path / "plain"
    plain.touch()
    assert path.stat().st_mode == plain.stat().st_mode


def test_keeps_a_file_that_exists(tmp_path: Path) -> None:
    path = tmp_path / "old.yaml"
    path.write_text("mine")
    with pytest.raises(BadDescription, match=r"exists already; .*--force"):
        save_text(path, "other")
    assert path.read_text() == "mine"
    assert len(list(tmp_path.iterdir())) == 1


@pytest.mark.parametrize("links", [True, False])
def test_keeps_a_file_that_appears_at_the_last_moment(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, links: bool
) -> None:
    path = tmp_path / "old.yaml"
    path.write_text("mine")
    monkeypatch.setattr(os.path, "lexists", lambda p: Path(p).exists() and Path(p).name != "old.yaml")
    if not links:
        monkeypatch.setattr(os, "link", no_links)
    with pytest.raises(BadDescription, match="exists already"):
        save_text(path, "other")
    assert path.read_text() == "mine"
    assert len(list(tmp_path.iterdir())) == 1


def no_links(*args: object, **kwargs: object) -> None:
    raise PermissionError("no hard links here")


def test_saves_where_there_are_no_hard_links(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "link", no_links)
    save_text(tmp_path / "new.yaml", "a: 1\n")
    assert (tmp_path / "new.yaml").read_text() == "a: 1\n"
    assert len(list(tmp_path.iterdir())) == 1


def test_force_overwrites_and_keeps_mode_and_link(tmp_path: Path) -> None:
    path, link = tmp_path / "old.yaml", tmp_path / "link.yaml"
    path.write_text("mine")
    path.chmod(0o640)
    link.symlink_to(path)
    save_text(link, "other", force=True)
    assert link.is_symlink()
    assert path.read_text() == "other"
    assert stat.S_IMODE(path.stat().st_mode) == 0o640


def test_a_failure_leaves_nothing_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "folder").mkdir()
    for path in (tmp_path / "none" / "x.yaml", tmp_path / "folder", tmp_path / ("x" * 300)):
        with pytest.raises(BadDescription, match="cannot be written"):
            save_text(path, "a", force=True)
    with pytest.raises(BadDescription, match="cannot be written"):
        save_text(tmp_path / "x.yaml", "\ud800")
    monkeypatch.setattr(os, "fsync", no_links)
    with pytest.raises(BadDescription, match="cannot be written"):
        save_text(tmp_path / "x.yaml", "a")
    assert [entry.name for entry in tmp_path.iterdir()] == ["folder"]


def test_public_names() -> None:
    assert all(hasattr(source, name) for name in source.__all__)
