"""`plan --brief`: the same answer as the whole text, and nothing to do left out of it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from command_line import JOB, Said

Here = Callable[..., Said]
NO_PLAN = JOB + "pinned:\n  keep: [fuel_hose]\n"


def sections(text: str) -> dict[str, str]:
    """The lines below each heading, by its capital words."""
    found: dict[str, list[str]] = {}
    name = ""
    for line in text.splitlines():
        if line and not line.startswith(" "):
            name = line.split("  ")[0]
        found.setdefault(name, []).append(line)
    return {heading: "\n".join(lines).strip() for heading, lines in found.items()}


def test_what_to_do_is_the_same_word_for_word(here: Here, job: Path) -> None:
    whole, brief = here("plan", job), here("plan", job, "--brief")
    assert (brief.code, brief.err) == (whole.code, "")
    full, short = sections(whole.out), sections(brief.out)
    for heading in ("VERDICT", "CHEAPER?", "NOT JUDGED", "CAUTIONS"):
        assert short[heading] == full[heading]
    elsewhere = full["DO THIS"].index("  Plug")
    assert short["DO THIS"].split("  Plug")[1] == full["DO THIS"][elsewhere:].split("  Plug")[1]
    assert len(brief.out) < len(whole.out) / 2


def test_nothing_that_stays_is_left_out(here: Here, job: Path) -> None:
    whole, brief = here("plan", job), here("plan", job, "--brief")
    stays = sections(whole.out)["STILL TO KNOW"]
    said = " ".join(sections(brief.out)["STILL TO KNOW"].split())
    titles = [line.split(") ", 1)[1] for line in stays.splitlines() if line.startswith("  ADVISE")]
    assert titles
    assert all(title in said for title in titles)


def test_what_nobody_has_looked_at_is_named(here: Here, job: Path) -> None:
    job.write_text(JOB.replace("rest: as built", "rest: not looked at"), encoding="utf-8")
    said = here("plan", job, "--brief")
    assert said.code == 1
    assert "LOOK AT THESE FIRST" in said.out
    assert "NOT LOOKED AT" in said.out


def test_no_plan(here: Here, job: Path) -> None:
    job.write_text(NO_PLAN, encoding="utf-8")
    said = here("plan", job, "--brief")
    assert said.code == 1
    assert sections(said.out)["RELEASE THIS"] == sections(here("plan", job).out)["RELEASE THIS"]


def test_json_is_whole_either_way(here: Here, job: Path) -> None:
    assert here("plan", job, "--brief", "--format", "json") == here("plan", job, "--format", "json")


@pytest.mark.parametrize("units", ["metric", "us"])
def test_units(here: Here, job: Path, units: str) -> None:
    assert here("plan", job, "--brief", "--units", units).code == here("plan", job).code
