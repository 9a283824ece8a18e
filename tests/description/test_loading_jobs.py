"""Jobs and families read from files, and every name in a family checked."""

from __future__ import annotations

from pathlib import Path

import pytest

from boostcarb.description.job import Job
from boostcarb.description.library import read_job
from boostcarb.description.loading import (
    SURROUNDINGS,
    read_family,
    shipped_families,
    shipped_family,
)
from boostcarb.errors import BadDescription, Problem

SCENARIOS = Path(__file__).parents[2] / "scenarios"

FAMILY = """\
family: one_barrel
title: one barrel
summary: an invented carburetor
groups: [only]
castings: {body: body}
stages:
  on_engine: {title: on the engine, minutes: 0}
  top_off: {title: top off, minutes: 5, after: [on_engine]}
spaces:
  only.bowl: {title: bowl, casting: body}
  chamber: {title: chamber, casting: body}
passages:
  vent: {title: vent, joins: [only.bowl, air_horn], bore: 6 mm, casting: body, stage: top_off, guard: check,
         when: {choke: [electric]}, close: {how: close it, minutes: 5, stage: top_off}}
parts:
  choke:
    title: choke
    casting: body
    stage: on_engine
    as_built: electric
    options:
      electric: {title: electric}
      none: {title: none, not_with: {check: [fitted]}, work: {how: take it off, minutes: 5, stage: top_off}}
  check: {title: check, casting: body, stage: on_engine, as_built: fitted, options: {fitted: {title: fitted}}}
lines:
  hose:
    title: hose
    of: chamber
    bore: 3 mm
    stage: on_engine
    as_built: capped
    taps:
      capped: {title: capped}
      bonnet: {title: bonnet, to: air_horn}
      valve: {title: valve, switched: {senses: manifold, level: 90 kPa abs, below: manifold, above: air_horn}}
diaphragms:
  wall: {title: wall, between: [only.bowl, chamber], part: check, works_through: [vent], feeds: only}
flow: {rated_flow: 200 cfm, rated_drop: 3 inHg, booster_gain: 2, venturis: {only: {count: 1, bore: 30 mm}}}
also_called: {float_bowl: only.bowl}
"""


def family_file(folder: Path, text: str) -> Path:
    path = folder / "family.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def test_family_that_is_right(tmp_path: Path) -> None:
    read = read_family(family_file(tmp_path, FAMILY))
    assert read.family.passages["vent"].bore == pytest.approx(0.006)


WRONG_NAMES = [
    ("casting: body, stage: top_off, guard", "casting: bdy, stage: top_off, guard", "passages.vent.casting",
     "unknown casting 'bdy'; did you mean 'body'?"),
    ("casting: body, stage: top_off, guard", "casting: body, stage: topoff, guard", "passages.vent.stage",
     "unknown stage 'topoff'; did you mean 'top_off'?"),
    ("joins: [only.bowl, air_horn]", "joins: [only.bowl, air_hron]", "passages.vent.joins.1",
     "unknown space 'air_hron'; did you mean 'air_horn'?"),
    ("joins: [only.bowl, air_horn]", "joins: [air_horn, air_horn]", "passages.vent.joins",
     "found 'air_horn' twice"),
    ("guard: check", "guard: chek", "passages.vent.guard", "did you mean 'check'?"),
    ("when: {choke: [electric]}", "when: {chok: [electric]}", "passages.vent.when.chok", "did you mean 'choke'?"),
    ("when: {choke: [electric]}", "when: {choke: [electrc]}", "passages.vent.when.choke", "form of choke 'electrc'"),
    ("bore: 6 mm, casting", "casting", "passages.vent", "needs one of bore and area; found neither"),
    ("bore: 6 mm, casting", "bore: 6 mm, area: 5 mm2, casting", "passages.vent",
     "needs one of bore and area; found both"),
    ("close it, minutes: 5, stage: top_off", "close it, minutes: 5, stage: top", "passages.vent.close.stage",
     "unknown stage 'top'"),
    ("as_built: electric", "as_built: electrical", "parts.choke.as_built", "did you mean 'electric'?"),
    ("not_with: {check: [fitted]}", "not_with: {chek: [fitted]}", "parts.choke.options.none.not_with.chek",
     "did you mean 'check'?"),
    ("not_with: {check: [fitted]}", "not_with: {check: [fited]}", "parts.choke.options.none.not_with.check",
     "did you mean 'fitted'?"),
    ("it off, minutes: 5, stage: top_off", "it off, minutes: 5, stage: of", "parts.choke.options.none.work.stage",
     "unknown stage 'of'"),
    ("of: chamber", "of: chambre", "lines.hose.of", "did you mean 'chamber'?"),
    ("as_built: capped", "as_built: caped", "lines.hose.as_built", "did you mean 'capped'?"),
    ("to: air_horn}", "to: airhorn}", "lines.hose.taps.bonnet.to", "did you mean 'air_horn'?"),
    ("to: air_horn}", "to: air_horn, switched: {senses: manifold, level: 90 kPa abs, below: base, above: base}}",
     "lines.hose.taps.bonnet", "has both `to` and `switched`"),
    ("senses: manifold", "senses: manifld", "lines.hose.taps.valve.switched.senses", "did you mean 'manifold'?"),
    ("below: manifold", "below: manifld", "lines.hose.taps.valve.switched.below", "did you mean 'manifold'?"),
    ("between: [only.bowl, chamber]", "between: [only.bowl, chamer]", "diaphragms.wall.between.1",
     "did you mean 'chamber'?"),
    ("part: check", "part: chek", "diaphragms.wall.part", "did you mean 'check'?"),
    ("works_through: [vent]", "works_through: [vnt]", "diaphragms.wall.works_through", "did you mean 'vent'?"),
    ("feeds: only", "feeds: ony", "diaphragms.wall.feeds", "did you mean 'only'?"),
    ("after: [on_engine]", "after: [on_engin]", "stages.top_off.after", "did you mean 'on_engine'?"),
    ("minutes: 0}", "minutes: 0, after: [top_off]}", "stages.on_engine.after",
     "wait for each other: on_engine, top_off"),
    ("venturis: {only:", "venturis: {main:", "flow.venturis.main", "unknown group 'main'"),
    ("float_bowl: only.bowl", "float_bowl: only.bwl", "also_called.float_bowl", "did you mean 'only.bowl'?"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("old", "new", "field", "message"), WRONG_NAMES, ids=[f"{w[2]}-{i}" for i, w in enumerate(WRONG_NAMES)]
)
def test_wrong_name_in_a_family(old: str, new: str, field: str, message: str, tmp_path: Path) -> None:
    assert FAMILY.count(old) == 1
    text = FAMILY.replace(old, new)
    with pytest.raises(BadDescription) as caught:
        read_family(family_file(tmp_path, text))
    (problem,) = caught.value.problems
    assert (problem.file, problem.field) == (tmp_path / "family.yaml", field)
    assert problem.line is not None
    near = "\n".join(text.splitlines()[problem.line - 1 : problem.line + 1])
    assert new.partition(":")[0].strip("{ ") in near, f"line {problem.line} is not where it is"
    assert message in problem.message


def test_family_typo_names_the_line_and_the_nearest_field(tmp_path: Path) -> None:
    path = family_file(tmp_path, FAMILY.replace("as_built: capped", "as_bulit: capped"))
    with pytest.raises(BadDescription) as caught:
        read_family(path)
    said = str(caught.value)
    assert f"{path}:31: lines.hose.as_bulit: unknown name; did you mean 'as_built'?" in said
    assert "lines.hose.as_built: is missing" in said


def test_negative_strength_and_spread_are_refused(tmp_path: Path) -> None:
    valve = "valve: {opens: below, setting: -3 kPa, spread: -1 kPa}"
    limits = "limits: {forward: -1 kPa, reverse: 9 kPa}"
    path = family_file(tmp_path, FAMILY.replace("works_through: [vent]", f"works_through: [vent], {valve}, {limits}"))
    with pytest.raises(BadDescription) as caught:
        read_family(path)
    assert [problem.field for problem in caught.value.problems] == [
        "diaphragms.wall.valve.spread",
        "diaphragms.wall.limits.forward",
    ]


def test_shipped_families_are_right_and_surroundings_are_not_one_of_them() -> None:
    assert "modular_four_barrel" in shipped_families()
    assert SURROUNDINGS not in shipped_families()
    for name in (*shipped_families(), SURROUNDINGS):
        read = shipped_family(name)
        assert read.family.family == name


def test_every_shipped_family_has_a_flow_section() -> None:
    assert all(shipped_family(name).family.flow is not None for name in shipped_families())


@pytest.mark.parametrize("path", sorted(SCENARIOS.glob("*.yaml")), ids=lambda path: path.stem)
def test_scenarios_are_jobs(path: Path) -> None:
    assert isinstance(read_job(path).job, Job)


def test_job_can_include_another(tmp_path: Path) -> None:
    engine = (SCENARIOS / "street_blow_through.yaml").read_text(encoding="utf-8")
    (tmp_path / "base.yaml").write_text(engine, encoding="utf-8")
    path = tmp_path / "job.yaml"
    path.write_text("include: base.yaml\ncharge: {boost: 6 psi}\n", encoding="utf-8")
    job = read_job(path).job
    assert job.charge is not None
    assert job.charge.boost.value_pa == pytest.approx(6 * 6894.757293168361)
    assert job.charge.full_boost_speed == pytest.approx(50.0)


def test_problem_in_an_included_file_names_that_file(tmp_path: Path) -> None:
    (tmp_path / "base.yaml").write_text("fuel: gasolin\n", encoding="utf-8")
    path = tmp_path / "job.yaml"
    scenario = (SCENARIOS / "street_blow_through.yaml").read_text(encoding="utf-8")
    path.write_text("include: base.yaml\n" + scenario.replace("fuel: gasoline\n", ""), encoding="utf-8")
    with pytest.raises(BadDescription) as caught:
        read_job(path)
    (problem,) = caught.value.problems
    assert (problem.file, problem.line, problem.field) == (tmp_path / "base.yaml", 1, "fuel")


def test_later_problem_finds_its_line_by_its_field() -> None:
    read = read_job(SCENARIOS / "street_blow_through.yaml")
    lines = read.document.path.read_text(encoding="utf-8").splitlines()
    located = read.located(Problem("is wrong", field="found.primary.power_valve.setting"))
    assert located.line is not None
    assert "power_valve" in lines[located.line - 1]
    assert located.field == "found.primary.power_valve.setting"


def test_problem_that_has_its_place_keeps_it() -> None:
    read = read_job(SCENARIOS / "street_blow_through.yaml")
    problem = Problem("is wrong", file=Path("other.yaml"), line=3)
    assert read.located(problem) is problem
