"""Before the first screw, what to look at while stripping down, and the last test before fuel."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from typing import Final

from boostcarb.answers import Planned
from boostcarb.bench import Doubt
from boostcarb.work.placing import is_start
from boostcarb.work.proving import TEST_SHARE, full_boost_pa
from boostcarb.work.steps import Expected, Phase, Step

LOOKING: Final = 2
"""Minutes to look at one thing (assumption)."""

BENCH: Final = "carburetor_off"


def first_steps(planned: Planned, strip: Sequence[str]) -> Iterator[Step]:
    """Records, safety, and what can be seen with nothing off."""
    network = planned.bench.network
    yield Step(
        0,
        Phase.prepare,
        "Write down what there is",
        "Photographs from all sides, every hose with both its ends, screw settings in turns, fuel level, linkage. Lay "
        "out the parts list: what is not there is not started.",
        minutes=30,
    )
    yield Step(
        0,
        Phase.prepare,
        "Make it safe",
        "Engine cold, battery off, fuel pressure let down into a can, fuel shut off at the tank, extinguisher at hand, "
        "doors open.",
        minutes=15,
        cautions=(
            "Gasoline and alcohol vapor burn and explode: no flame, no heater, no sparks.",
            "Local codes and the judgement of a licensed mechanic come before this list.",
        ),
    )
    yield Step(
        0,
        Phase.check_as_found,
        "Measure it as it runs",
        "If it runs: idle vacuum and speed, timing, mixture at idle and cruise, leaks, smell. These are what you "
        "compare with afterwards. Then make it safe again.",
        minutes=20,
    )
    yield from look_steps(planned, [name for name in network.stages if is_start(network, name)], Phase.check_as_found)
    yield from out_of_reach(planned, strip)


def look_steps(planned: Planned, stages: Collection[str], phase: Phase) -> Iterator[Step]:
    """What nobody has looked at and can be seen at a stage, what could change the plan first."""
    items = planned.bench.network.items
    for stage in stages:
        if stage == BENCH:
            yield Step(
                0,
                phase,
                "Try it as it came off",
                "Play of the shafts, plates shut against a lamp, flanges under a straight edge, every chamber with a "
                "diaphragm on the hand pump. Write it down: what fails now is not your doing.",
                stage=stage,
                minutes=20,
                cautions=("Carburetor drained; no air pressure on fuel.",),
            )
        here = [doubt for doubt in planned.doubts if items[doubt.item].stage == stage]
        for casting, title in planned.bench.network.castings.items():
            if group := [doubt for doubt in here if items[doubt.item].casting == casting]:
                yield Step(
                    0,
                    phase,
                    f"Look at the {title}, nobody has",
                    _listed(planned, group),
                    stage=stage,
                    casting=casting,
                    minutes=LOOKING * len(group),
                )


def out_of_reach(planned: Planned, strip: Sequence[str]) -> Iterator[Step]:
    """What nobody has looked at and this strip-down does not reach, where it could change the plan."""
    network = planned.bench.network
    hidden = [
        doubt
        for doubt in planned.doubts
        if doubt.otherwise
        and network.items[doubt.item].stage not in strip
        and not is_start(network, network.items[doubt.item].stage)
    ]
    if hidden:
        yield Step(
            0,
            Phase.check_as_found,
            "Decide: what this strip-down does not show",
            f"{_listed(planned, hidden)} To see these, more has to come off than the plan needs; that time is not "
            "counted here.",
        )


def _listed(planned: Planned, doubts: Sequence[Doubt]) -> str:
    items = planned.bench.network.items
    serious = [_seen(planned, doubt) for doubt in doubts if doubt.otherwise]
    others = [items[doubt.item].title for doubt in doubts if not doubt.otherwise]
    parts = [f"Could change the plan: {'; '.join(serious)}."] if serious else []
    parts += [f"{'Also' if serious else 'Look at'}: {'; '.join(others)}."] if others else []
    return " ".join([*parts, "Otherwise than assumed: write it in the job and plan again."] if serious else parts)


def _seen(planned: Planned, doubt: Doubt) -> str:
    item = planned.bench.network.items[doubt.item]
    return f"{item.title} (assumed: {item.forms[doubt.assumed].title})"


def leak_test(planned: Planned) -> Iterator[Step]:
    """The dry test of a boosted carburetor on the bench, before it meets fuel."""
    if planned.bench.job.target == "blow_through":
        yield _pressure_test(
            planned,
            Phase.reassemble,
            "Leak test on the bench, dry",
            "Base on a blank plate with its gasket, bonnet clamped on as it will be, fuel inlets and fittings capped. "
            "Let air in through a regulator and a relief valve up to the test pressure and brush soapy water on every "
            "joint, plug and shaft. Bubbles at a plug or a bowl joint: take it apart again. A little at shaft "
            "seals is usual: no more than 5 l/min in all.",
            "air_horn",
            BENCH,
        )


def duct_test(planned: Planned) -> Iterator[Step]:
    """The dry test of what holds mixture under pressure after a draw-through compressor."""
    if planned.bench.job.target == "draw_through":
        yield _pressure_test(
            planned,
            Phase.reference_and_hoses,
            "Leak test of ducts and manifold, dry",
            "Before any fuel: close the ends, let air in through a regulator and a relief valve up to the test "
            "pressure and brush soapy water on every joint, hose end and port. Any bubble is a fire later on.",
            "manifold",
            None,
        )


def _pressure_test(planned: Planned, phase: Phase, title: str, text: str, space: str, stage: str | None) -> Step:
    pressure = round(TEST_SHARE * full_boost_pa(planned), -3)
    return Step(
        0,
        phase,
        title,
        text,
        stage=stage,
        minutes=30,
        cautions=("Stand clear, eye protection. Never with fuel in it.",),
        expected=(Expected("test", space, "gauge", pressure, pressure),),
    )
