"""The small family of the tutorial, others based on it, and jobs on them: all invented."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from boostcarb import pipeline
from boostcarb.bench import Bench
from boostcarb.description.job import Job
from boostcarb.description.library import Library, ReadJob
from boostcarb.description.loading import ReadFamily, read_family
from boostcarb.description.source import Document, validate

TUTORIAL = Path(pipeline.__file__).parent / "description" / "families" / "TUTORIAL.md"
SHED, JOB, PLAIN = re.findall(r"```yaml\n(.*?)```", TUTORIAL.read_text(encoding="utf-8"), re.DOTALL)
"""The files of the tutorial, in its order."""

ENGINE = {
    "displacement": "2 l", "idle_speed": "900 rpm", "cruise_speed": "2600 rpm", "torque_peak_speed": "3600 rpm",
    "redline_speed": "5500 rpm",
}  # fmt: skip
CHARGE = {"boost": "50 kPa gauge", "full_boost_speed": "2800 rpm"}

PISTON = """\
family: piston_single
based_on: shed_single
title: the same with a piston in place of the diaphragm
summary: A piston on a spring, its rod in the jet; it leaks past its side.
parts:
  main.step_up_piston:
    title: step-up piston
    casting: body
    stage: cover_off
    as_built: free
    options:
      free: {title: moves freely, valve: {opens: below, setting: 6.5 inHg}}
      stuck_up: {title: stuck up, fails: true, valve: {opens: always}}
      stuck_down: {title: stuck down, fails: true, valve: {opens: never}}
    look: "push it down with a finger: it must come back"
passages:
  main.step_up_piston_clearance:
    title: clearance past the step-up piston
    joins: [main.bowl, main.power_valve_chamber]
    kind: clearance
    area: 1.5 mm2
    casting: body
    stage: cover_off
    look: "side of the piston in its bore"
diaphragms:
  main.power_valve_diaphragm:
    title: step-up piston
    kind: piston
    leaks_past: main.step_up_piston_clearance
    part: main.step_up_piston
    valve:
    limits:
"""

AIR_VALVE = """\
family: shed_air_valve
title: single-barrel with an air valve
summary: A piston under a suction chamber opens the bore; a needle on it opens the jet.
groups: [main]
castings: {body: body, cap: suction chamber, bowl_casting: float bowl}
stages:
  on_engine: {title: "on the engine, nothing off", minutes: 0}
  cap_off: {title: suction chamber off, minutes: 5, after: [on_engine], takes_off: [cap]}
  carburetor_off: {title: carburetor off the engine, minutes: 15, after: [on_engine]}
flow:
  rated_flow: 220 cfm
  rated_drop: 3 inHg
  booster_gain: 1
  venturis: {main: {count: 1, bore: 44 mm, depression: 2 kPa, at_rest: 3 %}}
spaces:
  main.bowl: {title: float bowl, casting: bowl_casting, volume: 60 cm3}
  main.suction_chamber: {title: suction chamber, casting: cap, volume: 120 cm3}
  main.under_side: {title: under side of the piston, casting: body, volume: 60 cm3}
passages:
  main.bowl_vent: {title: bowl vent, joins: [main.bowl, air_horn], bore: 5 mm, casting: body, stage: cap_off}
  main.needle_seat:
    {title: needle and seat, joins: [fuel_line, main.bowl], kind: seat, bore: 1.8 mm, carries: fuel,
     casting: bowl_casting, stage: on_engine}
  main.main_jet_hole:
    {title: jet less needle, joins: [main.bowl, main.venturi_throat], area: 2 mm2, carries: fuel, casting: body,
     stage: cap_off}
  main.transfer_holes:
    {title: holes in the piston, joins: [main.suction_chamber, main.venturi_throat], bore: 4 mm, casting: cap,
     stage: cap_off, reopen: {how: clear the holes, minutes: 5}}
  main.under_side_vent:
    {title: vent of the under side in the flange, joins: [main.under_side, air_horn], bore: 7 mm, casting: body,
     stage: on_engine, reopen: {how: clear the vent, minutes: 5}}
  main.under_side_outer_vent:
    {title: vent of the under side to the outside, joins: [main.under_side, ambient], bore: 7 mm, as_built: absent,
     casting: body, stage: on_engine}
  main.air_valve_clearance:
    {title: clearance past the piston, joins: [main.under_side, main.suction_chamber], kind: clearance, area: 1 mm2,
     casting: cap, stage: cap_off}
diaphragms:
  main.air_valve:
    title: air valve piston
    between: [main.under_side, main.suction_chamber]
    kind: piston
    leaks_past: main.air_valve_clearance
    role: air_valve
    valve: {opens: above, setting: 1.2 kPa, spread: 0.2 kPa}
"""


def families(folder: Path, *texts: str) -> dict[str, ReadFamily]:
    """Families written into a folder and read, by name."""
    for text in (SHED, *texts):
        (folder / f"{text.split(None, 2)[1]}.yaml").write_text(text, encoding="utf-8")
    reads = [read_family(path) for path in sorted(folder.glob("*.yaml"))]
    return {read.family.family: read for read in reads}


def bench_of(reads: dict[str, ReadFamily], family: str, target: str = "blow_through", **sections: Any) -> Bench:
    """A job on a family, as built but for its sections, ready to be judged."""
    said: dict[str, Any] = {
        "job": "invented", "carburetor": family, "target": target, "rest": "as built", "engine": ENGINE, **sections,
    }  # fmt: skip
    if target != "naturally_aspirated":
        said.setdefault("charge", CHARGE)
    document = Document(Path("job.yaml"), said, {})
    return pipeline.set_up(ReadJob(document, validate(Job, document), Library(None, reads)))


def rules_broken(bench: Bench) -> set[str]:
    """The rules that the carburetor as found breaks."""
    return {finding.rule for finding in bench.findings(bench.network.found())}
