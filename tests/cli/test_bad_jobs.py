"""Jobs that are wrong: one message each, with file, line, field, what was found and what would be right."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest
from command_line import JOB, Said, edited, line_of

CHARGE = "charge:\n  boost: 8 psi\n  full_boost_speed: 3000 rpm\n"
CHOKE = "choke: hot_air"


@dataclass(frozen=True)
class Bad:
    """A piece of the job replaced, and what the message must then say."""

    name: str
    old: str
    new: str
    at: str
    field: str
    words: tuple[str, ...]
    command: str = "plan"


def pinned(name: str, pins: str, field: str, *words: str) -> Bad:
    return Bad(name, "  altitude: 300 m\n", f"  altitude: 300 m\npinned:\n  {pins}\n", pins, f"pinned.{field}", words)


def found(name: str, state: str, field: str, *words: str) -> Bad:
    return Bad(name, CHOKE, state, state.splitlines()[-1].strip(), f"found.{field}", words)


def proposed(name: str, state: str, field: str, *words: str) -> Bad:
    new = f"  altitude: 300 m\nproposed:\n  {state}\n"
    return Bad(name, "  altitude: 300 m\n", new, state, f"proposed.{field}", words, "review")


def quantity(name: str, old: str, new: str, field: str, *words: str) -> Bad:
    return Bad(name, old, new, new.splitlines()[-1].strip(), field, words)


CASES = [
    # names
    Bad("unknown_family", "modular_four_barrel", "modular_four_barel", "carburetor:", "carburetor",
        ("'modular_four_barel'", "did you mean 'modular_four_barrel'?")),
    Bad("surroundings_are_no_family", "modular_four_barrel", "surroundings", "carburetor:", "carburetor",
        ("'surroundings'", "modular_four_barrel")),
    Bad("target_typo", "target: blow_through", "target: blowthrough", "target:", "target",
        ("'blowthrough'", "did you mean 'blow_through'?")),
    Bad("fuel_typo", "fuel: gasoline", "fuel: gasolin", "fuel:", "fuel", ("'gasolin'", "did you mean 'gasoline'?")),
    Bad("rest_typo", "rest: as built", "rest: asbuilt", "rest:", "rest", ("'asbuilt'", "did you mean 'as built'?")),
    Bad("field_typo", "fuel: gasoline", "fule: gasoline", "fule:", "fule", ("did you mean 'fuel'?",)),
    found("unknown_item", "chok: hot_air", "chok", "no such passage, part or line", "did you mean 'choke'?"),
    found("unknown_option", "choke: hotair", "choke", "'hotair'", "did you mean 'hot_air'?"),
    found("item_is_no_name", "Choke Heat: hot_air", "Choke Heat", "lower-case words"),
    found("inline_typo", "advance_line: {is: manifold, inline: oneway_valve}", "advance_line.inline",
          "'oneway_valve'", "did you mean 'one_way_valve'?"),
    found("inline_item_typo", "advance_line.inline: oneway", "advance_line.inline", "'oneway'", "one_way_valve"),
    # finds that are no finds
    found("list_for_a_find", "choke: [hot_air]", "choke", "a list of 1", "'plugged'"),
    found("number_for_a_find", "choke: 5", "choke", "found 5", "'plugged'"),
    found("nothing_for_a_find", "choke:", "choke", "found nothing", "'plugged'"),
    found("find_without_its_form", "choke: {note: rusty}", "choke.is", "is missing", "for example plugged"),
    # finds that contradict themselves or each other
    found("absent_with_a_bore", "primary.bowl_vent: {is: absent, bore: 3 mm}", "primary.bowl_vent.bore",
          "absent", "open or plugged"),
    found("blank_with_a_setting", "secondary.power_valve: {is: blank, setting: 6.5 inHg}",
          "secondary.power_valve.setting", "blank has no valve"),
    found("passage_with_a_setting", "primary.bowl_vent: {is: open, setting: 3 kPa}", "primary.bowl_vent.setting",
          "a passage has no setting"),
    found("part_with_a_bore", "choke: {is: hot_air, bore: 3 mm}", "choke.bore", "only a passage has a bore"),
    found("part_with_a_valve_inline", "choke: {is: hot_air, inline: one_way_valve}", "choke.inline", "only a line"),
    found("pump_where_there_is_none", "secondary.opening: vacuum\n  secondary.pump: standard_diaphragm",
          "secondary.pump", "contradicts secondary.opening", "vacuum", "mechanical"),
    found("passage_of_another_part", "choke: removed\n  choke_vacuum: open", "choke_vacuum",
          "contradicts choke", "removed", "hot_air"),
    # sizes
    found("negative_bore", "primary.bowl_vent: {is: open, bore: -3 mm}", "primary.bowl_vent.bore", "'-3 mm'"),
    found("zero_bore", "primary.bowl_vent: {is: open, bore: 0 mm}", "primary.bowl_vent.bore", "0 mm", "0.1 mm"),
    found("absurd_bore", "primary.bowl_vent: {is: open, bore: 3 m}", "primary.bowl_vent.bore", "3 m", "150 mm"),
    quantity("negative_setting", "setting: 6.5 inHg", "setting: -6.5 inHg", "found.primary.power_valve.setting",
             "-6.5 inHg", "a setting lies between"),
    quantity("absurd_setting", "setting: 6.5 inHg", "setting: 6000 inHg", "found.primary.power_valve.setting",
             "6000 inHg", "a setting lies between"),
    quantity("setting_as_a_level", "setting: 6.5 inHg", "setting: 6.5 inHg vacuum",
             "found.primary.power_valve.setting", "'6.5 inHg vacuum'", "write '6.5 inHg'"),
    quantity("unknown_unit", "5.0 l", "5.0 litre", "engine.displacement", "'5.0 litre'", "write '5 l'"),
    quantity("no_unit", "5.0 l", "5.0", "engine.displacement", "without a unit", "350 cu in"),
    quantity("negative_displacement", "5.0 l", "-5 l", "engine.displacement", "'-5 l'", "below zero"),
    quantity("nan", "5.0 l", ".nan", "engine.displacement", ".nan", "finite"),
    quantity("nan_with_a_unit", "5.0 l", "nan l", "engine.displacement", "'nan l'", "50 cm3"),
    quantity("nan_number", "ratio: 8.5", "ratio: .nan", "engine.compression_ratio", ".nan", "finite"),
    quantity("infinite_number", "ratio: 8.5", "ratio: .inf", "engine.compression_ratio", ".inf", "finite"),
    quantity("absurd_compression", "ratio: 8.5", "ratio: 85", "engine.compression_ratio", "85", "at most 20"),
    quantity("level_without_reference", "18 inHg vacuum", "18 inHg", "engine.idle_manifold", "'18 inHg'", "abs"),
    quantity("idle_above_ambient", "18 inHg vacuum", "5 psi gauge", "engine.idle_manifold", "5 psi gauge",
             "a manifold below ambient"),
    quantity("idle_below_nothing", "18 inHg vacuum", "40 inHg vacuum", "engine.idle_manifold", "40 inHg vacuum",
             "smaller vacuum"),
    quantity("speed_below_the_one_before", "cruise_speed: 2300 rpm", "cruise_speed: 820 rpm", "engine.cruise_speed",
             "found 820 rpm", "above idle_speed, which is 850 rpm"),
    quantity("torque_peak_above_redline", "redline_speed: 5600 rpm", "redline_speed: 3500 rpm",
             "engine.redline_speed", "found 3500 rpm", "above torque_peak_speed, which is 3600 rpm"),
    quantity("no_boost_at_all", "boost: 8 psi", "boost: 0 psi", "charge.boost", "0 psi", "a boost lies between"),
    quantity("negative_boost", "boost: 8 psi", "boost: -2 psi", "charge.boost", "'-2 psi'", "write for example"),
    quantity("boost_as_vacuum", "boost: 8 psi", "boost: 8 inHg vacuum", "charge.boost", "8 inHg vacuum",
             "a boost lies between"),
    quantity("negative_filter_loss", "boost: 8 psi", "boost: 8 psi\n  filter_loss: -3 kPa", "charge.filter_loss",
             "-3 kPa", "a pressure loss lies between"),
    quantity("negative_cooler_loss", "boost: 8 psi", "boost: 8 psi\n  cooler: {pressure_loss: -3 kPa}",
             "charge.cooler.pressure_loss", "-3 kPa", "a pressure loss lies between"),
    quantity("too_high", "altitude: 300 m", "altitude: 30 km", "site.altitude", "30 km", "an altitude lies between"),
    quantity("ambient_as_gauge", "altitude: 300 m", "altitude: 300 m\n  ambient_pressure: 3 psi gauge",
             "site.ambient_pressure", "98 kPa abs"),
    quantity("absurd_ambient", "altitude: 300 m", "altitude: 300 m\n  ambient_pressure: 900 kPa abs",
             "site.ambient_pressure", "900 kPa abs", "an ambient pressure lies between"),
    quantity("negative_rated_drop", "fuel: gasoline",
             "fuel: gasoline\nflow: {rated_flow: 600 cfm, rated_drop: -1.5 inHg}",
             "flow.rated_drop", "-1.5 inHg", "a rated drop lies between"),
    quantity("zero_rated_drop", "fuel: gasoline", "fuel: gasoline\nflow: {rated_flow: 600 cfm, rated_drop: 0 inHg}",
             "flow.rated_drop", "0 inHg", "a rated drop lies between"),
    # sections that must go together
    Bad("no_boost", "  boost: 8 psi\n", "", "charge:", "charge.boost", ("is missing", "boost: 8 psi")),
    Bad("boost_never_reached", "boost_speed: 3000 rpm", "boost_speed: 9000 rpm", "charge:", "charge",
        ("full_boost_speed", "the redline, 5600 rpm")),
    # pins
    pinned("pin_that_cannot_be_had", "use: {choke: removed}", "use.choke", "'removed'", "hot_air, electric"),
    pinned("pin_of_another_target", "use: {primary.power_valve: chamber_opened}", "use.primary.power_valve",
           "'chamber_opened'", "bowl_opened"),
    pinned("pin_of_an_unknown_item", "use: {chokee: electric}", "use.chokee", "did you mean 'choke'?"),
    pinned("pin_of_an_unknown_form", "use: {primary.bowl_vent: shut}", "use.primary.bowl_vent", "'shut'", "plugged"),
    pinned("kept_unknown_item", "keep: [primary.bowl_vnt]", "keep", "did you mean 'primary.bowl_vent'?"),
    pinned("avoided_unknown_form", "avoid: {choke: [electrical]}", "avoid.choke", "did you mean 'electric'?"),
    # proposals
    proposed("proposed_unknown_item", "primary.bowl_vnt: plugged", "primary.bowl_vnt", "'primary.bowl_vent'"),
    proposed("proposed_unknown_form", "primary.bowl_vent: shut", "primary.bowl_vent", "'shut'", "plugged"),
    proposed("proposed_contradiction", "secondary.power_valve: {is: blank, setting: 6.5 inHg}",
             "secondary.power_valve.setting", "blank has no valve"),
]  # fmt: skip


@pytest.mark.parametrize("bad", CASES, ids=lambda bad: bad.name)
def test_wrong_job(bad: Bad, tmp_path: Path, here: Callable[..., Said]) -> None:
    text = edited(bad.old, bad.new)
    path = tmp_path / "job.yaml"
    path.write_text(text, encoding="utf-8")
    said = here(bad.command, path)
    assert said.code == 2
    assert said.out == ""
    assert len(said.err.splitlines()) == 1, said.err
    place, message = said.err.split(": ", 1)[1].split(": ", 1)
    assert place == f"{path}:{line_of(text, bad.at)}"
    assert message.startswith(f"{bad.field}: "), message
    for word in bad.words:
        assert word in message
    assert "_pa" not in message
    assert "rev_s" not in message


def test_line_that_is_described_in_two_ways(tmp_path: Path, here: Callable[..., Said]) -> None:
    text = edited(CHOKE, "advance_line: {is: manifold, inline: none}\n  advance_line.inline: one_way_valve")
    path = tmp_path / "job.yaml"
    path.write_text(text, encoding="utf-8")
    said = here("plan", path)
    assert (said.code, said.out) == (2, "")
    assert f"{path}:{line_of(text, 'found:')}: found: advance_line says inline: none" in said.err
    assert "advance_line.inline says one_way_valve; keep one of them" in said.err


def test_boosted_target_without_a_charge_section(tmp_path: Path, here: Callable[..., Said]) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(edited(CHARGE, ""), encoding="utf-8")
    said = here("plan", path)
    assert (said.code, said.out) == (2, "")
    assert f"{path}:1: charge is missing; target blow_through needs a `charge:` section" in said.err


def test_unreachable_boost(tmp_path: Path, here: Callable[..., Said]) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(edited("boost: 8 psi", "boost: 40 psi"), encoding="utf-8")
    said = here("plan", path)
    assert (said.code, said.out) == (2, "")
    assert said.err.startswith(f"boostcarb: {path}:")
    assert "lower the boost" in said.err
    assert "pressure ratio" in said.err


def test_every_problem_is_told_in_the_order_of_the_lines(tmp_path: Path, here: Callable[..., Said]) -> None:
    text = edited("fuel: gasoline", "fuel: gasolin", edited("5.0 l", "5.0", edited("target: b", "target: bb")))
    path = tmp_path / "job.yaml"
    path.write_text(text, encoding="utf-8")
    said = here("plan", path)
    assert said.code == 2
    fields = [line.split(": ")[2] for line in said.err.splitlines()]
    assert fields == ["target", "engine.displacement", "fuel"]


def deep(levels: int) -> str:
    return "a: " + "[" * levels + "]" * levels


FILES = {
    "not_a_mapping": (b"- a\n- b\n", "1: found a list; a file holds 'name: value' lines"),
    "only_a_word": (b"hello\n", "1: found only 'hello'"),
    "empty": (b"", " is empty"),
    "not_yaml": (b"a: [1, 2\nb: 3\n", "2: is not YAML here"),
    "tab": (b"a:\n\tb: 1\n", "2: has a tab in the indentation; use spaces"),
    "not_utf8": ("job: caf\xe9\n".encode("latin-1"), "1: is not UTF-8 text"),
    "control_character": (b"job: a\0b\n", "1: has a control character"),
    "fifty_megabytes": (b"a: b\n" * (10 * 1024 * 1024), " is 50.0 MiB; a description file is at most 1 MiB"),
    "deep_nesting": (deep(5000).encode(), "1: is nested more than 32 deep"),
    "label": (b"a: &a [x, x]\nb: [*a, *a]\n", "1: a: uses '&a', a label"),
    "given_twice": (JOB.replace(CHOKE, "choke: hot_air\n  choke: electric").encode(),
                    "8: found.choke: is given twice, on lines 7 and 8; keep one"),
    "includes_itself": (b"include: job.yaml\n", "1: include: files include each other in a circle"),
    "includes_nothing": (b"include: nope.yaml\n", "1: include: there is no file"),
}  # fmt: skip


@pytest.mark.parametrize("name", FILES)
def test_wrong_file(name: str, tmp_path: Path, here: Callable[..., Said]) -> None:
    content, message = FILES[name]
    path = tmp_path / "job.yaml"
    path.write_bytes(content)
    said = here("plan", path)
    assert (said.code, said.out) == (2, "")
    assert said.err.startswith(f"boostcarb: {path}:{message}"), said.err
    assert len(said.err.splitlines()) == 1


def test_files_that_include_each_other(tmp_path: Path, here: Callable[..., Said]) -> None:
    (tmp_path / "a.yaml").write_text("include: b.yaml\n", encoding="utf-8")
    (tmp_path / "b.yaml").write_text("include: a.yaml\n", encoding="utf-8")
    said = here("plan", tmp_path / "a.yaml")
    assert said.code == 2
    assert "a.yaml -> b.yaml -> a.yaml" in said.err


def test_folder(tmp_path: Path, here: Callable[..., Said]) -> None:
    said = here("plan", tmp_path)
    assert (said.code, said.out) == (2, "")
    assert said.err == f"boostcarb: {tmp_path}: is a folder; give a YAML file\n"


def test_no_such_file(tmp_path: Path, here: Callable[..., Said]) -> None:
    said = here("plan", tmp_path / "none.yaml")
    assert (said.code, said.out) == (2, "")
    assert "there is no such file; check the path" in said.err


def test_file_below_a_file(job: Path, here: Callable[..., Said]) -> None:
    said = here("plan", job / "inside.yaml")
    assert (said.code, said.out) == (2, "")
    assert "cannot be read" in said.err


def test_pipe_is_no_file(tmp_path: Path, here: Callable[..., Said]) -> None:
    path = tmp_path / "pipe"
    os.mkfifo(path)
    said = here("plan", path)
    assert (said.code, said.out) == (2, "")
    assert "is not an ordinary file" in said.err


def test_name_of_a_file_that_no_file_can_have(here: Callable[..., Said]) -> None:
    said = here("plan", "x" * 5000)
    assert (said.code, said.out) == (2, "")
    assert "cannot be read" in said.err


def test_sea_below_sea_level_is_fine(tmp_path: Path, here: Callable[..., Said]) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(edited("altitude: 300 m", "altitude: -100 m"), encoding="utf-8")
    said = here("trace", path, "--from", "manifold", "--state", "idle")
    assert (said.code, said.err) == (0, "")
