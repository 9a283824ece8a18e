"""The manual: links lead somewhere, commands do what is shown, generated pages are current, all of it is shipped."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Annotated, Any

import pytest
import yaml
from pydantic import TypeAdapter
from shown_commands import MANUAL, README, ROOT, blocks, check, commands_of, everywhere, pages

from boostcarb.description.job import Job
from boostcarb.manual.generated import GENERATED
from boostcarb.manual.job_page import Section, all_sections, example_of
from boostcarb.manual.pages import PAGES
from boostcarb.manual.pages import pages as shipped_pages
from boostcarb.rulebook.loading import shipped_rules
from boostcarb.rulebook.schema import Examples, Rule

LINKED = (README, "DEVELOPERS.md", "boostcarb/description/families/TUTORIAL.md", *pages()[1:])
ONLY_HERE = [command for command in everywhere() if command not in commands_of(README)]
FENCED = re.compile(r"^```.*?^```$", re.MULTILINE | re.DOTALL)
LINK = re.compile(r"\]\(([^)\s]+)\)")
HEADING = re.compile(r"^#{1,6} (.+)$", re.MULTILINE)
WRITES_OR_WAITS = re.compile(r"boostcarb (?:new|board|sheet|graph)\b|--out\b|--check\b|--data\b|^>|review incoming/")
"""What may be shown without being run: it asks, waits, writes, or takes a folder that is not ours."""


@cache
def prose(path: Path) -> str:
    """A page without what stands in its blocks."""
    return FENCED.sub("", path.read_text(encoding="utf-8"))


@cache
def anchors(path: Path) -> frozenset[str]:
    """Names of the headings as GitHub makes them: lower case, blanks to hyphens, no other signs (from memory)."""
    named = (
        re.sub(r"[^\w\- ]", "", heading.strip().lower()).replace(" ", "-") for heading in HEADING.findall(prose(path))
    )
    return frozenset(named)


def dead_links(name: str) -> Iterator[str]:
    """Links of a file to a file or a heading that is not there."""
    here = ROOT / name
    for link in LINK.findall(prose(here)):
        file, _, anchor = link.partition("#")
        target = (here.parent / file).resolve() if file else here
        if "://" in link or not target.is_file() or (anchor and anchor not in anchors(target)):
            yield link


@pytest.mark.parametrize("name", LINKED)
def test_no_link_is_dead(name: str) -> None:
    assert list(dead_links(name)) == []


def test_a_dead_link_is_found(tmp_path: Path) -> None:
    page = tmp_path / "page.md"
    page.write_text("# A page\n\n[a](#a-page) [b](#b) [c](c.md) [d](https://example.org)\n", encoding="utf-8")
    assert list(dead_links(str(page))) == ["#b", "c.md", "https://example.org"]


@pytest.mark.parametrize("name", PAGES)
def test_page_links_only_to_what_is_shipped_with_it(name: str) -> None:
    files = [link.partition("#")[0] for link in LINK.findall(prose(MANUAL / f"{name}.md"))]
    assert all((MANUAL / file).resolve().is_relative_to(ROOT / "boostcarb") for file in files)


@pytest.mark.parametrize("command", ONLY_HERE)
def test_command_of_the_manual_says_what_is_shown(
    command: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    check(command, monkeypatch, capsys)


def test_every_command_of_the_manual_is_run() -> None:
    """Those that README has as well are run by its own test, with the lines of the manual."""
    manual = {command for name in pages()[1:] for command in commands_of(name)}
    assert manual <= {*ONLY_HERE, *commands_of(README)}


@pytest.mark.parametrize("name", pages()[1:])
def test_text_blocks_show_only_what_cannot_be_run(name: str) -> None:
    shown = blocks("text", (ROOT / name).read_text(encoding="utf-8"))
    assert [block for block in shown if not WRITES_OR_WAITS.search(block)] == []


def test_pages_are_those_that_are_there() -> None:
    assert {f"{name}.md" for name in PAGES} == {path.name for path in MANUAL.glob("*.md")}
    for page in shipped_pages():
        assert 20 < len(page.about) < 130, page.name
        assert "`" not in page.title


@pytest.mark.parametrize("name", GENERATED)
def test_generated_page_is_current(name: str) -> None:
    """Mend with `python -m boostcarb.manual.generated`."""
    assert (MANUAL / f"{name}.md").read_text(encoding="utf-8") == GENERATED[name]()


def markdown_files() -> list[Path]:
    outside = {"node_modules", ".venv"}
    return [path for path in ROOT.rglob("*.md") if not outside & {*path.relative_to(ROOT).parts}]


def test_no_line_of_markdown_is_too_long() -> None:
    exempt = ("|", "python3 ", "$ ")
    long = [
        f"{path.relative_to(ROOT)}:{number}"
        for path in markdown_files()
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
        if len(line) > 120 and not line.startswith(exempt)
    ]
    assert long == []


@pytest.mark.parametrize("name", [name for name in PAGES if name != "sources"])
def test_page_is_in_us_spelling(name: str) -> None:
    """Sources have the titles that they have."""
    text = (MANUAL / f"{name}.md").read_text(encoding="utf-8")
    assert not re.search(r"colour|aluminium|carburett|behaviour|\blitre", text)


def test_manual_is_part_of_the_package() -> None:
    """All files of the package go into the wheel, unless they are excluded, or ignored by version control."""
    built = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["hatch"]["build"]
    assert built["targets"]["wheel"]["packages"] == ["boostcarb"]
    assert not {"exclude", "only-include"} & {*built, *built["targets"]["wheel"]}
    ignored = (ROOT / ".gitignore").read_text(encoding="utf-8").split()
    assert not any(name.endswith((".md", ".png")) or "manual" in name for name in ignored)


def test_pictures_can_be_looked_at_on_the_way() -> None:
    for name in ("board", "sheet"):
        data = (MANUAL / "pictures" / f"{name}.png").read_bytes()
        assert data[:8] == b"\x89PNG\r\n\x1a\n"
        assert len(data) < 300_000


# --- what the pages say -------------------------------------------------------------------------------------


def test_every_rule_is_in_the_rulebook_once_and_in_its_index() -> None:
    headings = HEADING.findall(prose(MANUAL / "rulebook.md"))
    links = LINK.findall(prose(MANUAL / "rulebook.md"))
    for rule in shipped_rules():
        assert headings.count(rule.id) == 1
        assert links.count(f"#{rule.id}") == 1


def keys_of(schema: Mapping[str, Any]) -> set[tuple[str, str]]:
    """Every key of a JSON Schema with the record that has it."""
    records = {**schema["$defs"], "Job": schema}
    return {(name, key) for name, record in records.items() for key in record.get("properties", {})}


def test_job_page_has_every_key_of_the_schema() -> None:
    named = {
        (section.model.__name__, field.alias or name)
        for section in all_sections()
        for name, field in section.model.model_fields.items()
    }
    schema = Job.model_json_schema(by_alias=True)
    assert named == keys_of(schema)
    text = (MANUAL / "job_file.md").read_text(encoding="utf-8")
    assert [key for _, key in named if f"\n- `{key}`: " not in text] == []
    described = [
        record["properties"] for record in ({**schema["$defs"], "Job": schema}).values() if "properties" in record
    ]
    assert [key for each in described for key, value in each.items() if "description" not in value] == []


@pytest.mark.parametrize("section", all_sections(), ids=lambda section: section.path)
def test_examples_of_keys_are_accepted(section: Section) -> None:
    for name, field in section.model.model_fields.items():
        shown = example_of(section, name, field)
        if shown:
            annotated = Annotated[field.annotation, *field.metadata] if field.metadata else field.annotation  # type: ignore[valid-type]
            TypeAdapter(annotated).validate_python(yaml.safe_load(shown))


@pytest.mark.parametrize(
    ("page", "block"),
    [(name, block) for name in PAGES for block in blocks("yaml", (MANUAL / f"{name}.md").read_text(encoding="utf-8"))],
)
def test_files_that_are_shown_are_sound(page: str, block: str) -> None:
    """A whole job, a rule, its examples, or a piece of a job, whose records must be right."""
    data = yaml.safe_load(block)
    if "id" in data:
        Rule.model_validate(data)
    elif "violates" in data:
        Examples.model_validate(data)
    elif "engine" in data:
        Job.model_validate(data)
    else:
        for key, value in data.items():
            TypeAdapter(Job.model_fields[key].annotation).validate_python(value)
