"""The work behind numbers: names, completeness, and each formula followed again from the inputs as printed."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path

import pytest

from boostcarb import pipeline
from boostcarb.answers import Fueled
from boostcarb.description.library import read_job
from boostcarb.errors import BadDescription
from boostcarb.fueling.records import Worked
from boostcarb.physics.gas import flow_function, orifice_mass_flow
from boostcarb.physics.liquid import line_pressure_loss
from boostcarb.physics.metering import main_circuit
from boostcarb.report.work_text import DIGITS, work_text

SCENARIOS = Path(__file__).parents[2] / "scenarios"
JOBS = (
    "street_blow_through", "roadster_draw_through", "fuel_side_blow_through", "back_to_naturally_aspirated",
)  # fmt: skip
R_AIR = 287.05287
CHOKED = (2 / 2.4) ** 3.5


@cache
def fueled(name: str) -> Fueled:
    return pipeline.fuel(read_job(SCENARIOS / f"{name}.yaml"))


def printed(value: float) -> float:
    """A value as the text prints it."""
    return float(f"{value:.{DIGITS}g}")


class Given:
    """Inputs of a number as printed, by position or by the start of their name."""

    def __init__(self, worked: Worked) -> None:
        self.values = [(each.name, printed(each.value)) for each in worked.inputs]

    def __getitem__(self, key: int | str) -> float:
        if isinstance(key, int):
            return self.values[key][1]
        return next(value for name, value in self.values if name.startswith(key))

    def __iter__(self) -> Iterator[float]:
        return iter(value for _, value in self.values)

    def __len__(self) -> int:
        return len(self.values)


def _fuel(g: Given) -> float:
    area = g["effective area of the main jets"] + g["effective area of the open channels"]
    density = g["density"]
    return area * math.sqrt(2 * density * (g["bowl"] - g["main well"] - density * g["g"] * g["spill height"]))


def _well(g: Given) -> float:
    return main_circuit(
        main_jet_effective_area_m2=g["effective area of the main jets"],
        power_effective_area_m2=g["effective area of the open channels"],
        nozzle_effective_area_m2=g["effective area of the nozzle"],
        bleed_effective_area_m2=g["effective area of the bleed"],
        bowl_pressure_pa_abs=g["bowl"],
        air_horn_pressure_pa_abs=g["air horn"],
        booster_pressure_pa_abs=g["booster throat"],
        air_temperature_k=g["air horn temperature"],
        fuel_density_kg_m3=g["density"],
        spill_height_m=g["spill height"],
    ).well_pressure_pa_abs


def _bleed_air(g: Given) -> float:
    ratio = min(1.0, g["main well"] / g["air horn"])
    return g[0] * g[1] / math.sqrt(R_AIR * g["air horn temperature"]) * flow_function(pressure_ratio=ratio)


def _whole(g: Given) -> float:
    airs, lambdas = list(g)[::2], list(g)[1::2]
    return sum(airs) / sum(air / each for air, each in zip(airs, lambdas, strict=True))


def _rated(g: Given) -> float:
    return g[0] / orifice_mass_flow(
        effective_area_m2=g[1], pressure_1_pa_abs=g[2], pressure_2_pa_abs=g[2] - g[4], temperature_k=g[3]
    )


def _choked(g: Given) -> float:
    flow = orifice_mass_flow(
        effective_area_m2=g[1], pressure_1_pa_abs=g[2], pressure_2_pa_abs=0.4 * g[2], temperature_k=g[3]
    )
    return flow / g[0]


def _line(g: Given) -> float:
    return line_pressure_loss(
        mass_flow_kg_s=g["fuel"], length_m=g["length"], diameter_m=g["bore"], density_kg_m3=g["density"],
        viscosity_pa_s=g["viscosity"], loss_coefficient=g["losses"],
    )  # fmt: skip


def _ratio(g: Given) -> float:
    return g[0] / g[1]


def _circle(g: Given) -> float:
    return g[0] / (g[1] * math.pi * g[2] ** 2 / 4)


LAWS: dict[str, Callable[[Given], float]] = {
    "(C / 12.011 + H / 4.032 - O / 31.998) / 0.2095 x 28.9644, C, H, O being shares by mass": lambda g: (
        (g[0] / 12.011 + g[1] / 4.032 - g[2] / 31.998) / 0.2095 * 28.9644
    ),
    "air / (lambda x stoichiometric ratio)": lambda g: g[0] / (g[1] * g[2]),
    "root of (4 x area / (pi x holes x discharge coefficient))": lambda g: math.sqrt(
        4 * g[0] / (math.pi * g[1] * g[2])
    ),
    "air / (fuel x stoichiometric ratio), the fuel": lambda g: g[0] / (g[1] * g["stoichiometric"]),
    "holes x discharge coefficient x pi / 4 x bore^2": lambda g: g[0] * g[1] * math.pi / 4 * g[2] ** 2,
    "air of the engine x share of the group by venturi area": lambda g: g[0] * g[1],
    "p / (R T)": lambda g: g[0] / (g[2] * g[1]),
    "root of (density here / density where they were right)": lambda g: math.sqrt(g[0] / g[1]),
    "air horn - gain x (air horn - venturi throat)": lambda g: max(g[0] - g[2] * (g[0] - g[1]), CHOKED * g[0]),
    "where jets and bleed pass": _well,
    "(jets + channels) x root of": _fuel,
    "bleed area x p / root of (R T)": _bleed_air,
    "air / fuel": _ratio,
    "air-fuel ratio / stoichiometric air-fuel ratio": _ratio,
    "sum of air / sum of (air / lambda)": _whole,
    "air flow / (p / (R T))": lambda g: g[0] / (g[1] / (R_AIR * g[2])),
    "air horn - base": lambda g: g[0] - g[1],
    "air flow / flow of the area": _rated,
    "choked flow of the venturis / air flow": _choked,
    "factor x loss": lambda g: g[0] * g[1],
    "factor x (bowl - chamber)": lambda g: max(0.0, g[0] * g[1]),
    "Cd x the smaller of": lambda g: g[3] * min(math.pi * g[0] ** 2 / 4, math.pi * g[0] * g[1] * math.sin(g[2] / 2)),
    "set pressure + reference - bowl": lambda g: g[0] + g[1] - g[2],
    "area x sqrt(2 density (line - bowl))": lambda g: g[0] * math.sqrt(2 * g[1] * max(0.0, g[2])),
    "float force / ((line - bowl) pi d^2 / 4)": _circle,
    "air flow x share / (lambda x stoichiometric ratio)": lambda g: g[0] * g[1] / (g[2] * g[3]),
    "flow / demand": _ratio,
    "sum over the bowls": sum,
    "(f L / D + fittings) density v^2 / 2": _line,
    "set pressure + reference + line loss + density g lift": lambda g: g[0] + g[1] + g[2] + g[4] * 9.80665 * g[3],
    "pressure + density x acceleration x length": lambda g: g[0] + g[1] * g[2] * g[3],
    "the smaller of cam lift x ratio and travel, x area": lambda g: min(g[0] * g[1], g[2]) * g[3],
    "10 x stroke": lambda g: 10 * g[0],
    "(preload - return spring) / ": lambda g: (g[0] - g[1]) / g[2],
    "rate x displacement in liters": lambda g: g[0] * g[1] * 1e3,
    "(bowl or air horn - dry side) x area": lambda g: (g[0] - g[1]) * g[2],
    "uncovers at / wanted": _ratio,
    "p / vapor pressure": _ratio,
    "ln p = a - b / (T + c), for T": lambda g: g["b"] / (g["a"] - math.log(g[0])) - g["c"],
    "ln p = a - b / (T + c)": lambda g: math.exp(g["a"] - g["b"] / (g["fuel in the hot bowl"] + g["c"])),
    "c (T - boiling point) / latent heat": lambda g: g[2] * (g[0] - g[1]) / g[3],
    "share x latent / (ratio x cp of air + c of fuel)": lambda g: g[0] * g[2] / (g[1] * g[4] + g[3]),
    "delivered / demand": _ratio,
    "set pressure + reference in boost - bowl after": lambda g: g[0] + g[1] - g[2],
    "float force / (across pi d^2 / 4)": _circle,
    "fuel given back / (length x width)": lambda g: g[0] / (g[1] * g[2]),
    "ten strokes / 10": lambda g: g[0] / 10,
}
"""Formula, or its start, and the law it names; the longest start that fits counts."""

DIFFERENCES = (
    "(jets + channels)",
    "bleed area",
    "air horn - ",
    "(bowl or",
    "c (T",
    "set pressure +",
    "air flow / flow",
)
"""Formulas with a difference of pressures or temperatures: the last printed digit of each weighs more."""


def law_of(formula: str) -> str | None:
    return max((start for start in LAWS if formula.startswith(start)), key=len, default=None)


@pytest.mark.parametrize("job", JOBS)
def test_following_a_formula_by_hand_gives_what_is_printed(job: str) -> None:
    """Within a few of the last of seven digits; 1e-3 where two nearly equal pressures are taken apart."""
    followed = 0
    for name, worked in fueled(job).work.items():
        start = law_of(worked.formula)
        if start is not None:
            loose = start.startswith(DIFFERENCES)
            by_hand = LAWS[start](Given(worked))
            assert by_hand == pytest.approx(worked.value, rel=1e-3 if loose else 5e-6, abs=0.1 if loose else 1e-12), (
                name
            )
            followed += 1
    assert followed > 0.7 * len(fueled(job).work)


def test_every_law_is_followed_somewhere() -> None:
    used = {law_of(worked.formula) for job in JOBS for worked in fueled(job).work.values()}
    assert set(LAWS) <= used


def test_sized_area_passes_the_fuel_wanted() -> None:
    """Main jets: the printed area with its factor, in the main circuit, passes the printed fuel."""
    checked = 0
    for job in JOBS:
        for name, worked in fueled(job).work.items():
            if name.endswith("main_jets/area"):
                g = Given(worked)
                flow = main_circuit(
                    main_jet_effective_area_m2=printed(worked.value) * g["factor of the jets"],
                    nozzle_effective_area_m2=g["effective area of the nozzle"],
                    bleed_effective_area_m2=g["effective area of the bleed"],
                    bowl_pressure_pa_abs=g["bowl"],
                    air_horn_pressure_pa_abs=g["air horn"],
                    booster_pressure_pa_abs=g["booster throat"],
                    air_temperature_k=g["air horn temperature"],
                    fuel_density_kg_m3=g["density"],
                    spill_height_m=g["spill height"],
                )
                assert flow.fuel_kg_s == pytest.approx(g["fuel"], rel=1e-4)
                checked += 1
    assert checked >= 4


@pytest.mark.parametrize("job", JOBS)
def test_every_number_has_formula_inputs_origins_and_source(job: str) -> None:
    for name, worked in fueled(job).work.items():
        assert worked.formula, name
        assert worked.source, name
        assert worked.inputs, name
        assert all(each.name and each.origin for each in worked.inputs), name
        assert math.isfinite(worked.value), name


@pytest.mark.parametrize("job", JOBS)
def test_an_origin_that_names_a_number_names_one_there_is(job: str) -> None:
    work = fueled(job).work
    tops = {name.split("/")[0] for name in work}
    named = {
        each.origin for worked in work.values() for each in worked.inputs
        if each.origin.split("/")[0] in tops and "/" in each.origin
    }  # fmt: skip
    assert named
    loose = {
        origin for origin in named if origin not in work and not any(name.startswith(origin + "/") for name in work)
    }
    assert not loose


@pytest.mark.parametrize("job", JOBS)
def test_every_lambda_and_size_that_is_printed_has_its_work(job: str) -> None:
    answer, work = fueled(job).answer, fueled(job).work
    for called, fueling in answer.configurations.items():
        for state in fueling.table:
            assert work[f"{called}/{state.state}/wanted"].value == state.target
            if state.leanest is not None and state.leanest == state.richest:
                assert work[f"{called}/{state.state}/lambda"].value == state.leanest
            for group in state.groups:
                if group.leanest is not None and group.leanest is group.richest:
                    assert work[f"{called}/{state.state}/{group.group}/lambda"].value == group.leanest.mixture
    for place, sizes in (("sizes", answer.sizes), ("stages", answer.stages)):
        for size in sizes:
            assert work[f"{place}/{size.group}/{size.part.name}/bore"].value == size.bore_m
            for choice in size.drills:
                if choice.mixture is not None:
                    named = f"{place}/{size.group}/{size.part.name}/drill/{choice.drill.name}"
                    assert work[named].value == choice.mixture


def test_names_patterns_and_the_start_of_a_name() -> None:
    street = fueled("street_blow_through")
    one = "planned/full_boost_redline/primary/lambda"
    assert list(street.work_named(one)) == [one]
    below = street.work_named("planned/full_boost_redline/primary")
    assert one in below
    assert len(below) > 5
    assert all(name.startswith("planned/full_boost_redline/primary/") for name in below)
    assert street.work_named("planned/full_boost_redline/primary/") == below
    lambdas = street.work_named("planned/*/secondary/lambda")
    assert {name.split("/")[1] for name in lambdas} >= {"full_boost_torque_peak", "full_boost_redline"}
    with pytest.raises(BadDescription, match=r"did you mean 'sizes/primary/main_jets/bore'.*list"):
        street.work_named("sizes/primary/main_jet/bore")


def test_text_shows_all_of_it() -> None:
    street = fueled("street_blow_through")
    name = "sizes/primary/main_jets/bore"
    text = work_text(street.work_named(name))
    worked = street.work[name]
    assert text.startswith(name + "\n")
    assert f"{worked.value:.{DIGITS}g} m" in text
    assert worked.formula in text
    assert worked.source in text
    for each in worked.inputs:
        assert f"{each.name} = {each.value:.{DIGITS}g}" in text
        assert each.origin in text
