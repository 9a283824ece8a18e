"""The tutorial as it stands, `families --check`, and notes on bores that are not usual."""

from __future__ import annotations

import json
import re
import shlex
from collections.abc import Callable
from pathlib import Path

import pytest
from command_line import Said, edited
from family_jobs import JOB, PLAIN, SHED, TUTORIAL

from boostcarb.description.family_check import EXAMPLES
from boostcarb.description.loading import read_family, shipped_families

Here = Callable[..., Said]


def flat(said: Said) -> str:
    """What was said, wherever its lines were broken."""
    return " ".join(said.out.split())


@pytest.fixture
def shed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The files of the tutorial where it says they are, and that folder to work in."""
    (tmp_path / "mine" / "families").mkdir(parents=True)
    for path in (tmp_path / "shed_single.yaml", tmp_path / "mine" / "families" / "shed_single.yaml"):
        path.write_text(SHED, encoding="utf-8")
    (tmp_path / "mine" / "families" / "shed_single_plain.yaml").write_text(PLAIN, encoding="utf-8")
    (tmp_path / "job.yaml").write_text(JOB, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_every_command_of_the_tutorial_does_what_it_says(here: Here, shed: Path) -> None:
    lines = re.findall(r"```bash\n(.*?)```", TUTORIAL.read_text(encoding="utf-8"), re.DOTALL)
    commands = [line for block in lines for line in block.splitlines()]
    assert commands == ["boostcarb families --check shed_single.yaml", "boostcarb plan job.yaml --data mine"]
    checked, planned = (here(*shlex.split(command)[1:]) for command in commands)
    assert (checked.code, checked.err) == (0, "")
    assert "shed_single: sound." in checked.out
    assert "Worth a second look" not in checked.out
    assert (planned.code, planned.err) == (0, "")
    assert re.search(r"\d+ changes needed", planned.out)


def test_the_second_family_of_the_tutorial_is_sound_too(here: Here, shed: Path) -> None:
    assert here("families", "--check", "mine/families/shed_single_plain.yaml").code == 0


@pytest.mark.parametrize("name", shipped_families())
def test_shipped_families_pass_their_own_check(here: Here, name: str) -> None:
    said = here("families", "--check", TUTORIAL.with_name(f"{name}.yaml"), "--format", "json")
    assert (said.code, said.err) == (0, "")
    record = json.loads(said.out)
    assert record["family"] == name
    assert {trial["mode"] for trial in record["as_built"]} == {"naturally_aspirated", "blow_through", "draw_through"}
    assert not [each for each in record["advice"] if not each["field"].startswith(("passages", "parts", "lines"))]


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("joins: [main.bowl, air_horn]", "joins: [main.bowl, air_hron]", ("did you mean 'air_horn'?", "passages:")),
        ("bore: 1.4 mm", "bore: 1.4", ("found 1.4", "passages:")),
        ("castings: {body", "castigns: {body", ("did you mean 'castings'?",)),
        ("role: enrichment", "role: enrichmnt", ("did you mean 'enrichment'?", "diaphragms:")),
        ("rated_flow: 180 cfm", "rated_flow: 18000 cfm", ("flow:", "cfm")),
        ("takes_off: [cover]", "takes_off: [lid]", ("unknown casting 'lid'", "stages:")),
    ],
)
def test_mistakes_are_named_and_a_right_entry_is_shown(
    here: Here, shed: Path, old: str, new: str, says: tuple[str, ...]
) -> None:
    assert SHED.count(old) == 1
    path = shed / "shed_single.yaml"
    path.write_text(SHED.replace(old, new), encoding="utf-8")
    said = here("families", "--check", path)
    assert (said.code, said.out) == (2, "")
    line = SHED[: SHED.index(old)].count("\n") + 1
    assert f"{path}:{line}: " in said.err
    for words in says:
        assert words in said.err


def test_what_is_worth_a_second_look(here: Here, shed: Path) -> None:
    text = SHED.replace("[main.bowl, air_horn]", "[main.idle_well, air_horn]").replace(", takes_off: [cover]", "")
    text = text.replace(", takes_off: [side_plate]", "").replace("[main.bowl, ambient]", "[main.idle_well, ambient]")
    (shed / "shed_single.yaml").write_text(text, encoding="utf-8")
    said = here("families", "--check", "shed_single.yaml")
    assert said.code == 0
    assert "has no vent: write a passage that joins it to air_horn" in flat(said)
    assert "no stage says `takes_off: [casting]`" in flat(said)


def test_every_example_entry_is_right(tmp_path: Path) -> None:
    """Together, in a family that has what they name."""
    spaces = EXAMPLES["spaces"].removesuffix("}") + ", main.chamber: {title: chamber, casting: body}}"
    sections = [EXAMPLES[name] for name in ("groups", "castings", "stages", "passages", "parts", "lines", "flow")]
    text = "\n".join(["family: example", "title: t", "summary: s", *sections, spaces, EXAMPLES["diaphragms"]])
    (tmp_path / "example.yaml").write_text(text, encoding="utf-8")
    assert read_family(tmp_path / "example.yaml").family.parts


def test_a_bore_outside_its_range_gets_a_note_and_is_used(here: Here, tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(edited("found:\n", "found:\n  primary.pump_nozzle: {is: open, bore: 1.6 mm}\n"), encoding="utf-8")
    said = here("plan", path)
    assert "primary.pump_nozzle: 1.6 mm as measured, usually 0.5 mm to 1.1 mm; measure it again" in flat(said)
    record = json.loads(here("plan", path, "--format", "json").out)
    assert [each["passage"] for each in record["unusual_bores"]] == ["primary.pump_nozzle"]
    path.write_text(edited("found:\n", "found:\n  primary.pump_nozzle: {is: open, bore: 0.6 mm}\n"), encoding="utf-8")
    assert "as measured, usually" not in here("plan", path).out


def test_family_in_full_says_barrels_sizes_and_walls(here: Here) -> None:
    said = here("families", "modular_four_barrel")
    assert said.code == 0
    for words in (
        "primary: primary barrels, 2 of 32 mm", "secondary.opening says how", "usually 0.5 to 1.1 mm",
        "primary.power_valve_diaphragm: diaphragm between",
    ):  # fmt: skip
        assert words in flat(said)
