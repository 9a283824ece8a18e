"""Questions about the car, before anything is taken apart."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from boostcarb.description.metering import BLENDS
from boostcarb.interview.question import CAR, Answers, Choice, Question
from boostcarb.quantities import format_fraction, format_gauge, format_pressure
from boostcarb.states.inputs import (
    COMPRESSION_RATIO,
    COMPRESSOR_EFFICIENCY,
    CRUISE_MANIFOLD_PA_GAUGE,
    FILTER_LOSS_PA,
    IDLE_MANIFOLD_PA_GAUGE,
    VOLUMETRIC_EFFICIENCY,
)

NATURALLY_ASPIRATED = "naturally_aspirated"
SIZES = "sizes"
YES_NO = (Choice("yes", "", written="true"), Choice("no", "", written="false"))

_SHARED = (Choice("shared", "all share one"), Choice("split", "each has its own"))
_TARGETS = (
    Choice(NATURALLY_ASPIRATED, "no turbo, or back to none"),
    Choice("blow_through", "the turbo blows into the carburetor"),
    Choice("draw_through", "the turbo draws through the carburetor"),
)
_FUELS = (
    Choice("gasoline", "pump gasoline, up to a few percent of alcohol"),
    Choice("E10", "gasoline with about 10 % ethanol"),
    Choice("E85", "50 to 85 % ethanol, by season"),
    Choice("ethanol", "ethanol alone"),
    Choice("methanol", "methanol alone"),
)


def car_questions(answers: Answers, families: Mapping[str, str]) -> list[Question]:
    """Everything asked before the strip-down, as far as the answers so far make it matter.

    Args:
        answers: what was said so far.
        families: titles of the carburetor families, by name.
    """
    boosted = answers.get("target") not in (None, NATURALLY_ASPIRATED)
    return [
        *_job(families),
        *_engine(),
        *(_charge() if boosted else ()),
        *_fuel(answers),
        *_site(),
        *_carburetor(answers),
        *_arrangement(answers),
        *(_driving() if wants_sizes(answers) else ()),
        *(_readings(boosted) if wants_sizes(answers) else ()),
    ]


def wants_sizes(answers: Answers) -> bool:
    """Whether somebody has measured, so that sizes are asked for."""
    return answers.get(SIZES) == "yes"


def _needed(name: str, title: str, look: str, example: str) -> Question:
    return Question(name, tuple(name.split(".")), CAR, title, look=look, example=example, needed=True)


def _optional(name: str, title: str, look: str, example: str, otherwise: str) -> Question:
    return replace(_needed(name, title, look, example), needed=False, otherwise=otherwise)


def _job(families: Mapping[str, str]) -> Iterator[Question]:
    name = _needed("job", "name of this job", "One line to tell it from your other jobs.", "Coupe, small V8, 8 psi")
    yield replace(name, is_text=True)
    kinds = tuple(Choice(family, title) for family, title in families.items())
    if len(kinds) > 1:
        look = "How many barrels, which parts unbolt."
        yield replace(_needed("carburetor", "kind of carburetor", look, ""), choices=kinds)
    yield replace(
        _needed("target", "what it shall become", "How it will run when the job is done.", ""), choices=_TARGETS
    )


def _engine() -> Iterator[Question]:
    look = "From the papers; or bore x bore x stroke x 0.785, times the number of cylinders."
    yield _needed("engine.displacement", "displacement of the engine", look, "302 cu in")
    yield _needed("engine.idle_speed", "idle speed", "Warm, on the tachometer.", "850 rpm")
    yield _needed("engine.cruise_speed", "cruise speed", "Engine speed on the open road in top gear.", "2300 rpm")
    look = "From the papers or a dyno sheet; where it pulls hardest."
    yield _needed("engine.torque_peak_speed", "speed of most torque", look, "3600 rpm")
    yield _needed("engine.redline_speed", "redline", "The highest speed you will use.", "5600 rpm")
    look, ratio = "From the papers of the pistons and heads.", f"{COMPRESSION_RATIO:g} is taken"
    yield _optional("engine.compression_ratio", "compression ratio", look, "8.5", ratio)
    look = "Known only from a dyno or a flow test."
    efficiency = f"{format_fraction(VOLUMETRIC_EFFICIENCY)} is taken"
    yield _optional("engine.volumetric_efficiency", "volumetric efficiency", look, "85 %", efficiency)
    idle, cruise = (f"{format_gauge(pa, 'inHg')} is taken" for pa in (IDLE_MANIFOLD_PA_GAUGE, CRUISE_MANIFOLD_PA_GAUGE))
    look = "On a vacuum gauge at the intake manifold, warm, at idle."
    yield _optional("engine.idle_manifold", "manifold vacuum at idle", look, "18 inHg vacuum", idle)
    look = "The same gauge at a steady cruise on level road."
    yield _optional("engine.cruise_manifold", "manifold vacuum at cruise", look, "13 inHg vacuum", cruise)


def _charge() -> Iterator[Question]:
    look = "What the wastegate shall hold, above the atmosphere."
    yield _needed("charge.boost", "boost", look, "8 psi")
    look = "Lowest engine speed with the whole boost, throttle wide open."
    yield _needed("charge.full_boost_speed", "speed of full boost", look, "3000 rpm")
    look, taken = "From the compressor's map, near full load.", f"{format_fraction(COMPRESSOR_EFFICIENCY)} is taken"
    yield _optional("charge.compressor_efficiency", "efficiency of the compressor", look, "68 %", taken)
    look, taken = "On a gauge between filter and compressor, full load.", f"{format_pressure(FILTER_LOSS_PA)} is taken"
    yield _optional("charge.filter_loss", "loss of filter and intake pipe", look, "3 kPa", taken)


def _fuel(answers: Answers) -> Iterator[Question]:
    look = "What will be in the tank when the job is done. Another fuel: put its make-up into the file afterwards."
    fuel = _optional("fuel", "fuel", look, "", "gasoline is taken")
    yield replace(fuel, choices=_FUELS)
    if answers.get("fuel") in BLENDS:
        look = "Shake a sample with water in a marked tube; the share that goes into the water."
        yield _optional(
            "fuel_detail.ethanol", "ethanol in it, by volume", look, "70 %", "the usual for this fuel is taken"
        )


def _site() -> Iterator[Question]:
    look = "Where it mostly runs, above the sea."
    yield _optional("site.altitude", "altitude", look, "300 m", "sea level is taken")
    look, taken = "On a usual day in its season.", "that of the standard atmosphere is taken"
    yield _optional("site.ambient_temperature", "temperature of the air", look, "25 degC", taken)
    look, taken = "The coldest morning on which it must start.", "a usual one is taken"
    yield _optional("site.coldest_start", "coldest start", look, "-10 degC", taken)


def _carburetor(answers: Answers) -> Iterator[Question]:
    look = "As its maker rates it, all barrels open; leave it if you have only hearsay."
    taken = "the usual for the family is taken"
    yield _optional("flow.rated_flow", "rated flow of the carburetor", look, "650 cfm", taken)
    if answers.get("flow.rated_flow"):
        look = "Four barrels are mostly rated at 1.5 inHg, two barrels at 3 inHg."
        yield _optional("flow.rated_drop", "drop at which it is rated", look, "1.5 inHg", taken)
    look = "Bores of jets and bleeds, fuel pressure, fuel level, lambda. With no they are not asked for."
    sizes = Question(SIZES, (), CAR, "have you measured sizes", look=look, choices=YES_NO)
    yield replace(sizes, otherwise="no; you can add them to the file later")


def _arrangement(answers: Answers) -> Iterator[Question]:
    """Whether there are several of it, and whether it stands in a box."""
    look = "Enter for one; or count those of this kind that feed the engine, and describe one, which goes for each."
    yield _optional("carburetors.count", "number of carburetors", look, "2", "one is taken")
    if answers.get("carburetors.count"):
        for name, look in (
            ("plenum", "Below the throttles: one chamber that all feed is shared; runners of its own for each, split."),
            ("bonnets", "One bonnet or air box over all is shared; one on each, split."),
            ("references", "One line to regulator and signals for all is shared; one set for each, split."),
        ):
            asked = _optional(f"carburetors.{name}", f"{name} of the carburetors", look, "", "shared is taken")
            yield replace(asked, choices=_SHARED)
    if answers.get("target") == "blow_through":
        look = "Boost then reaches it from outside as well: shaft, line and lid seals go through the wall of the box."
        box = _optional("enclosure", "what the carburetor stands in", look, "", "the open engine bay is taken")
        yield replace(box, choices=(Choice("pressure_box", "the whole carburetor is in a box at bonnet pressure"),))


def _driving() -> Iterator[Question]:
    taken = "a usual road car's is taken"
    for name, look, example in (
        ("launch", "Hardest start that lasts a tenth of a second or more.", "0.6 g"),
        ("braking", "Hardest stop.", "0.9 g"),
        ("cornering", "Hardest corner.", "0.8 g"),
    ):
        yield _optional(f"driving.{name}", f"{name}, in g", look, example, taken)
    yield _optional("driving.grade", "steepest grade", "Rise over run.", "20 %", taken)


def _readings(boosted: bool) -> Iterator[Question]:
    full = "wide_open_before_boost" if boosted else "wide_open_torque_peak"
    where = "wide open before the turbo makes boost" if boosted else "wide open at the torque peak"
    for state, title, example in (("cruise", "at cruise", "0.98"), (full, where, "0.88")):
        look = "Wideband reading with the carburetor as found, warm and steady."
        yield _optional(f"metering.measured.{state}", f"lambda {title}", look, example, "not measured")
