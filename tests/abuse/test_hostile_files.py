"""Spoiled files through every command: one clear message or an answer, never a traceback, a hang or a page of others.

The files are spoiled as by `spoiling.py`, always the same ones here; it runs as a script for as long as one likes.
"""

from __future__ import annotations

import os
import random
from collections.abc import Callable
from pathlib import Path

import pytest
import yaml
from abused import HEAVY, JOB, LIGHT, Heard, arguments_for, attempted, check_page, elements, heard
from spoiling import KINDS, MARKUP, ROOT, bomb, hostile_names, loaded, spoiled

from boostcarb.board.page.assemble import page
from boostcarb.description.yaml_places import LONGEST_NAME, LONGEST_TEXT

TRIED = {"job": 10, "family": 6, "rule": 7, "example": 1, "material": 7}
"""How many spoiled files of each kind the ordinary tests try."""
QUICK = {
    kind: tuple(path for path in KINDS[kind].shipped if "constant_depression" in path.name)
    for kind in ("job", "family")
}
TEXT = loaded(JOB)


@pytest.mark.parametrize("kind", sorted(TRIED))
def test_spoiled_files(kind: str, tmp_path: Path) -> None:
    for number in range(TRIED[kind] + 1):
        chance = random.Random(f"{kind}/{number}/1")
        text = loaded(chance.choice(QUICK.get(kind, KINDS[kind].shipped)))
        content = spoiled(text, chance) if number else text.encode()
        folder = tmp_path / str(number)
        said = attempted(arguments_for(KINDS[kind], content, folder, chance, heavy=0.1), folder)
        assert number > 0 or said.code in (0, 1), "the first is as shipped: the commands are called rightly"


def every(*kinds: tuple[tuple[str, ...], ...]) -> list[tuple[str, ...]]:
    return [each for kind in kinds for each in kind]


@pytest.mark.parametrize("words", every(LIGHT, HEAVY), ids=" ".join)
def test_every_command_refuses_a_wrong_job_alike(words: tuple[str, ...], tmp_path: Path) -> None:
    job = tmp_path / "job.yaml"
    job.write_text(TEXT.replace("fuel: ", "fuel: [x] #"), encoding="utf-8")
    filled = [str(tmp_path / word) if word.startswith("OUT") else word.replace("JOB", str(job)) for word in words]
    said = attempted(filled, tmp_path)
    assert said.code == 2
    line = next(number for number, each in enumerate(TEXT.splitlines(), 1) if each.startswith("fuel:"))
    assert said.err.startswith(f"boostcarb: {job}:{line}: fuel: found a list of 1; choose from: ")


# What stands where a file should be


def refused(said: Heard, place: str, words: str) -> None:
    assert (said.code, said.out) == (2, ""), said
    assert said.err.startswith(f"boostcarb: {place}"), said.err
    assert words in said.err
    assert len(said.err.splitlines()) == 1


def folder(path: Path) -> None:
    path.mkdir()


def loop(path: Path) -> None:
    path.symlink_to(path)


def device(path: Path) -> None:
    path.symlink_to("/dev/zero")


def nowhere(path: Path) -> None:
    path.symlink_to(path.with_name("nothing"))


STANDS: dict[str, tuple[Callable[[Path], None], str]] = {
    "folder": (folder, "is a folder; give a YAML file"),
    "pipe": (os.mkfifo, "is not an ordinary file; give a YAML file"),
    "device without end": (device, "is not an ordinary file; give a YAML file"),
    "loop of links": (loop, "cannot be read: Too many levels of symbolic links"),
    "link to nowhere": (nowhere, "there is no such file; check the path"),
    "empty": (lambda path: path.write_bytes(b"") and None, "is empty; write 'name: value' lines"),
    "10 MB": (lambda path: path.write_bytes(b"#" * 10_000_000) and None, "a description file is at most 1 MiB"),
}


@pytest.mark.parametrize("name", STANDS)
def test_what_is_no_file(name: str, tmp_path: Path) -> None:
    make, words = STANDS[name]
    odd = tmp_path / "odd.yaml"
    make(odd)
    refused(heard(["trace", str(odd), "--from", "manifold"]), f"{odd}: ", words)
    refused(heard(["families", "--check", str(odd)]), f"{odd}: ", words)
    including = tmp_path / "job.yaml"
    including.write_text(f"include: odd.yaml\n{TEXT}", encoding="utf-8")
    said = heard(["trace", str(including), "--from", "manifold"])
    refused(said, f"{tmp_path}/", "there is no file" if name in ("loop of links", "link to nowhere") else words)


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="who is root reads everything")
def test_file_that_may_not_be_read(tmp_path: Path) -> None:
    job = tmp_path / "job.yaml"
    job.write_text(TEXT, encoding="utf-8")
    job.chmod(0)
    refused(heard(["trace", str(job), "--from", "manifold"]), f"{job}: ", "cannot be read: Permission denied")


def test_data_folder_of_a_name_that_cannot_be() -> None:
    name = "x" * 300
    refused(heard(["rules", "--data", name]), f"{name}: ", "File name too long")
    refused(heard(["rules", "--check", name]), f"{name}: ", "File name too long")


# What a file can hold

LONG = "y" * (LONGEST_TEXT + 1)
HOLDS: dict[str, tuple[bytes, str]] = {
    "references to references": (bomb(TEXT, random.Random(1)).encode(), "1: l0: uses '&l0', a label"),
    "merge key": (f"<<: {{fuel: E85}}\n{TEXT}".encode(), "1: uses '<<' to merge"),
    "tag of an object": (TEXT.replace("job: ", "job: !!python/object/apply:os.system ").encode(), "uses the tag"),
    "UTF-16": (TEXT.encode("utf-16"), "is not UTF-8 text"),
    "Latin-1": ((TEXT + "# caf\xe9").encode("latin-1"), "is not UTF-8 text"),
    "half of a pair": (TEXT.encode() + b'note: "\\ud800"\n', "invalid Unicode character escape code"),
    "zero byte": (TEXT.encode() + b"note: a\0b\n", "has a control character (code 0)"),
    "turned text": (TEXT.encode() + "note: a\u202eb\n".encode(), "has a control character (code 8238)"),
    "hidden line": (TEXT.encode() + "note: a\u2028b\n".encode(), "has a control character (code 8232)"),
    "turned text, escaped": (TEXT.encode() + b'note: "\\u202e"\n', "has an escaped control character"),
    "long text": (f"{TEXT}note: {LONG}\n".encode(), f"note: found a text of {len(LONG)} characters"),
    "long name": (f"{TEXT}{'k' * (LONGEST_NAME + 1)}: 1\n".encode(), "has a name that is not one line"),
    "name of two lines": (TEXT.encode() + b'"a\\nb": 1\n', "has a name that is not one line"),
    "name twice": (f"{TEXT}job: again\n".encode(), "job: is given twice"),
    "not a number": (TEXT.replace("fuel:", "x: .nan\nfuel:").encode(), "write a finite number"),
    "number too large": (TEXT.replace("fuel:", "x: 1e999\nfuel:").encode(), "too large a number"),
    "include of a long name": (f"include: {'x' * 300}\n{TEXT}".encode(), "1: include: there is no file"),
    "include of a device": (f"include: /dev/zero\n{TEXT}".encode(), "is not an ordinary file"),
    "include of no description": (f"include: {__file__}\n{TEXT}".encode(), "is not YAML"),
    "deep": (f"{TEXT}deep: {'[' * 5000}{']' * 5000}\n".encode(), "nested more than 32 deep"),
}  # fmt: skip


@pytest.mark.parametrize("name", HOLDS)
def test_what_no_file_may_hold(name: str, tmp_path: Path) -> None:
    content, words = HOLDS[name]
    job = tmp_path / "job.yaml"
    job.write_bytes(content)
    refused(heard(["trace", str(job), "--from", "manifold"]), "", words)


@pytest.mark.parametrize("ending", ["\r\n", "\n"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_what_a_file_may_well_have(ending: str, mark: bytes, tmp_path: Path) -> None:
    """Ends of lines and a byte order mark of other systems; signs of any script; a bad line is still found."""
    job = tmp_path / "job.yaml"
    text = TEXT.replace(yaml.safe_load(TEXT)["job"], "Größe 👩‍🔧 مكربن").replace("\n", ending)
    job.write_bytes(mark + text.encode())
    assert heard(["trace", str(job), "--from", "manifold"]).code == 0
    job.write_bytes(mark + f"{text}what: 1{ending}".encode())
    place = f"{job}:{TEXT.count(chr(10)) + 1}: what: "
    refused(heard(["trace", str(job), "--from", "manifold"]), place, "unknown name")


def test_message_does_not_grow_with_what_was_found(tmp_path: Path) -> None:
    job = tmp_path / "job.yaml"
    for field in ("carburetor", "target", "fuel", "rest"):
        line = next(each for each in TEXT.split("\n") if each.startswith(f"{field}:"))
        job.write_text(TEXT.replace(line, f"{field}: {'z' * LONGEST_TEXT}"), encoding="utf-8")
        said = heard(["trace", str(job), "--from", "manifold"])
        assert said.code == 2
        assert len(said.err) < 2500


def test_message_about_a_file_cannot_steer_the_terminal(tmp_path: Path) -> None:
    odd = tmp_path / "a\x1b[31mb\n\u202e.yaml"
    said = heard(["trace", str(odd), "--from", "manifold"])
    assert said.err == f"boostcarb: {tmp_path}/a\\x1b[31mb\\n\\u202e.yaml: there is no such file; check the path\n"


# Names that would break out of a page


@pytest.fixture(scope="module")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A job, its family, and rules and materials, all with markup for names."""
    base = tmp_path_factory.mktemp("hostile")
    chance = random.Random(1)

    def spoil(source: Path, target: Path) -> None:
        tree = yaml.safe_load(loaded(source))
        hostile_names(tree, chance)
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_text(yaml.safe_dump(tree, sort_keys=False, allow_unicode=True), encoding="utf-8")

    spoil(JOB, base / "job.yaml")
    for name in ("constant_depression_single", "surroundings"):
        spoil(ROOT / f"boostcarb/description/families/{name}.yaml", base / "data" / "families" / f"{name}.yaml")
    for rule in ("bowl_open_to_atmosphere", "backfire_check_upside_down", "bonnet_holds_mixture"):
        spoil(ROOT / f"rules/{rule}.yaml", base / "data" / "rules" / f"{rule}.yaml")
    spoil(ROOT / "boostcarb/description/materials/nitrile.yaml", base / "data" / "materials" / "nitrile.yaml")
    return base


def test_sheet_and_drawing_keep_hostile_names_as_text(hostile: Path, tmp_path: Path) -> None:
    """The elements and attributes are those of the same sheet with plain names, as an HTML parser reads them."""
    plain, odd = tmp_path / "plain.html", tmp_path / "odd.html"
    data = ["--data", str(hostile / "data")]
    assert heard(["sheet", str(JOB), "--out", str(plain)]).code == 0
    said = heard(["sheet", str(hostile / "job.yaml"), "--out", str(odd), "--date", MARKUP, *data])
    assert said.code in (0, 1), said.err
    text = odd.read_text(encoding="utf-8")
    assert text.count("&lt;img src=x") > 20
    assert "<img" not in text
    assert elements(text) <= elements(plain.read_text(encoding="utf-8"))
    drawing = tmp_path / "odd.svg"
    assert heard(["backfire", str(hostile / "job.yaml"), "--out", str(drawing), *data]).code in (0, 1)
    check_page(drawing.read_text(encoding="utf-8"), ".svg")
    graph = tmp_path / "odd.graphml"
    assert heard(["graph", str(hostile / "job.yaml"), "--out", str(graph), *data]).code == 0
    assert heard(["graph", "--check", str(graph)]).code == 0


def test_markdown_keeps_hostile_names_as_text(hostile: Path, tmp_path: Path) -> None:
    """CommonMark 0.31, section 6.6: `<` before a letter or `/` begins raw HTML unless it is escaped."""
    out = tmp_path / "odd.md"
    said = heard(
        ["sheet", str(hostile / "job.yaml"), "--out", str(out), "--format", "md", "--data", str(hostile / "data")]
    )
    assert said.code in (0, 1)
    text = out.read_text(encoding="utf-8")
    assert "onerror" in text
    for marked in ("<img", "<svg", "</script", "<b "):
        assert text.count(marked) == text.count(f"\\{marked}")


def test_page_of_the_board_keeps_hostile_names_as_text() -> None:
    plain = page("Board", {"title": "x", "pack": ["y"]})
    odd = page(f"Board {MARKUP}", {"title": MARKUP, MARKUP: [MARKUP, {"<!--": "]]>"}]})
    assert elements(odd) == elements(plain)
    assert odd.count("<script") == plain.count("<script")
