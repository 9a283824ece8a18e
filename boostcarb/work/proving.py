"""First start and proving under load in steps, with the values to expect from the computed states."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from math import ceil
from typing import TYPE_CHECKING, Final

from boostcarb.answers import Planned
from boostcarb.errors import BoostcarbError
from boostcarb.fueling.targets import targets_of
from boostcarb.network.model import Diaphragm, Network
from boostcarb.quantities import PressureLevel
from boostcarb.solving.situation import Situations, StateView
from boostcarb.solving.table import StateRow, state_table
from boostcarb.work.steps import Expected, Phase, Step

if TYPE_CHECKING:
    from boostcarb.fueling.mixture import StateMixture

FIRST_SHARE: Final = 1 / 3
"""Share of the boost at which the enrichment is proved first (common practice, no source)."""

LARGEST_STEP_PA: Final = 20e3
"""Most by which the boost rises from one step to the next (common practice: 15 to 20 kPa)."""

TEST_SHARE: Final = 1.25
"""Pressure of the dry leak test over full boost (common practice, no source)."""

GAUGE_STEP_PA: Final = 100.0
"""To what expected pressures are rounded: no gauge in a car shows less."""

LEAN_LIMIT: Final = 0.05
"""Lambda above the target at which to stop (common practice: 0.7 of air-fuel ratio on gasoline)."""

AIR_HORN, MANIFOLD, BASE, AMBIENT = "air_horn", "manifold", "base", "ambient"
REGULATOR: Final = "regulator.reference_side"
THROTTLED: Final = (
    "part_throttle_boost_light", "part_throttle_boost_mid", "part_throttle_boost_deep", "part_throttle_boost_fast",
)  # fmt: skip
OPEN_WIDE: Final = ("full_boost_torque_peak", "full_boost_redline")
WITHOUT_BOOST: Final = (
    "cruise", "tip_in", "wide_open_before_boost", "secondary_call", "wide_open_torque_peak", "wide_open_redline",
    "overrun",
)  # fmt: skip

LOADED: Final = (*THROTTLED, *OPEN_WIDE, *(name for name in WITHOUT_BOOST if name != "overrun"))
"""States in which a lambda is wanted."""

LOG: Final = (
    "Log against time: engine speed, throttle angle, pressures of air horn and manifold, bowl against air horn by a "
    "difference gauge, {chamber}fuel pressure, lambda of each bank, knock, spark, exhaust, air horn and fuel "
    "temperature, oil pressure, volts."
)
STOP_LEAN: Final = f"Stop: lambda leaner than the target by {LEAN_LIMIT:g}, or any knock."
STOP_SPILL: Final = "Stop: smell of fuel, a damp joint, or fuel pressure that falls while the load is held."
STOP_BOWL: Final = "Stop: a bowl more than 0.3 kPa off what is expected{valve}."
STOP_BOOST: Final = "Stop: more boost than this step allows."
NO_TRICKS: Final = "Never block a relief valve, the overboost cut or the wastegate to get further."
WIDEBAND: Final = (
    "Wideband and pressure gauge stay fitted until the re-check. A wideband reads lean when a cylinder misfires: "
    "correct by lambda only."
)
OUTSIDE: Final = "Extinguisher at hand, nobody beside hood or tires. On a dynamometer or closed road; local codes hold."
LICENSED: Final = "Have a licensed mechanic look at fuel, brakes and throttle before it goes on the road."


def start_steps(planned: Planned) -> Iterator[Step]:
    """From the first fuel to a warm idle."""
    boosted = planned.bench.job.charge is not None
    yield _step(
        Phase.first_start,
        "Fuel only",
        "Battery on, ignition off, fuel pump on for 60 s, nobody cranks. No drip anywhere; the level at the sight plug "
        "or by dip, and it stays. Look again after five minutes.",
        15,
        cautions=("Extinguisher at hand, no spark, no lamp with a bulb.", STOP_SPILL),
        expected=_in_states(planned, ("engine_off",)),
    )
    if boosted:
        yield _step(
            Phase.first_start,
            "Take the boost away",
            "Hold the wastegate open, or fit its weakest spring, so that no boost can build up in the next steps.",
            15,
        )
    yield _step(
        Phase.first_start,
        "Crank without ignition",
        f"Crank until oil pressure shows. Watch {_shot(planned.bench.network)}that nothing drips from a bore.",
        5,
        expected=_in_states(planned, ("crank",)),
    )
    yield _step(
        Phase.first_start,
        "Idle until warm",
        "Start, and look for leaks first: soapy water where there is pressure, smoke where there is vacuum, shafts "
        "included. Then timing, idle mixture and speed, starting rich. Throttle must shut by itself.",
        30,
        cautions=(
            "Extinguisher in hand, hood open, nobody over the carburetor.",
            *(("Methanol burns without a flame that can be seen.",) if planned.bench.job.fuel == "methanol" else ()),
            STOP_SPILL,
        ),
        expected=_in_states(planned, ("idle",)),
    )


def proving_steps(planned: Planned) -> Iterator[Step]:
    """From a drive without boost to the signature."""
    boosted = planned.bench.job.charge is not None
    yield _step(
        Phase.prove,
        "Drive without boost",
        f"Ten points of cruise, tip-in, then wide open from low speed with no boost. {_log(planned.bench.network)}",
        60,
        cautions=(WIDEBAND, OUTSIDE, LICENSED, STOP_LEAN, STOP_SPILL),
        expected=_in_states(planned, WITHOUT_BOOST),
    )
    if boosted:
        yield from _boost_steps(planned)
        yield _step(
            Phase.prove,
            "Lift off from full boost",
            "Shut the throttle from full boost, from low and from high speed: no flooding, no surge of the compressor, "
            "fuel pressure back at once, clean pickup.",
            15,
            cautions=(STOP_SPILL,),
            expected=_in_states(planned, ("lift_off", "overrun")),
        )
    yield _step(
        Phase.prove,
        "Hot soak and restart",
        "Shut off hot, wait 20 minutes with the hood shut, look for drips and vapor, restart.",
        30,
        expected=_in_states(planned, ("hot_soak",)),
    )
    yield _step(
        Phase.prove,
        "Brake, launch, corner",
        "Hard stop, hard start, both corners, at a level of fuel that is known: no stumble, no flooding.",
        20,
    )
    yield _step(
        Phase.prove,
        "Check again, cold",
        "Bonnet, hoses, clamps, every plug that was set, bowl screws, float level, oil for fuel smell, spark plugs, "
        "return springs. Write down the settings and sign.",
        45,
    )


def levels_pa(boost_pa: float) -> tuple[float, ...]:
    """The boosts at which to prove, Pa gauge: first a third, then up to full in steps of at most 20 kPa.

    >>> [round(level / 1000) for level in levels_pa(60e3)]
    [20, 40, 60]
    """
    first = boost_pa * FIRST_SHARE
    steps = ceil((boost_pa - first) / LARGEST_STEP_PA - 1e-9)
    return tuple(first + (boost_pa - first) * index / steps for index in range(steps + 1))


def full_boost_pa(planned: Planned) -> float:
    """Boost of the job against the atmosphere, Pa; 0 without a turbo."""
    charge = planned.bench.job.charge
    if charge is None:
        return 0.0
    ambient = planned.states[0].spaces[AMBIENT].low_pa_abs
    return float(charge.boost.absolute(ambient) - ambient)


def _boost_steps(planned: Planned) -> Iterator[Step]:
    first, *others = levels_pa(full_boost_pa(planned))
    yield _step(
        Phase.prove,
        "Throttled boost at a third of full boost",
        "Boost limited to a third. Part throttle first, where the enrichment is most in danger: hold 2 to 3 s at each "
        "point of speed and throttle, rising. Then wide open. If the weakest spring gives more, go by the throttle.",
        60,
        cautions=(STOP_LEAN, _stop_bowl(planned.bench.network), STOP_BOOST, STOP_SPILL, NO_TRICKS, WIDEBAND),
        expected=_in_boost(planned, first, full=False),
    )
    for number, level in enumerate(others, 1):
        last = number == len(others)
        yield _step(
            Phase.prove,
            "Full boost" if last else f"Step {number} toward full boost",
            "Raise the boost by this step only, after the log of the last one was read. Part throttle first, then wide "
            "open, a few seconds each; let it cool between.",
            30,
            cautions=(STOP_LEAN, _stop_bowl(planned.bench.network), STOP_BOOST, STOP_SPILL),
            expected=_in_boost(planned, level, full=last),
        )


def _in_boost(planned: Planned, level_pa: float, *, full: bool) -> tuple[Expected, ...]:
    """What to expect in boost; at less than full boost the mixture is not computed, only what is wanted."""
    names = (*THROTTLED, *OPEN_WIDE)
    limit = Expected("this step", "boost", "gauge", level_pa, level_pa)
    if full:
        return (limit, *_in_states(planned, names))
    values = _readings(planned, _at_less_boost(planned, level_pa), names)
    return (limit, *(replace(each, state=each.state.replace("full boost", "boost of this step")) for each in values))


def _at_less_boost(planned: Planned, boost_pa: float) -> tuple[tuple[StateRow, StateView], ...]:
    """The states of the planned carburetor at less boost; none where it does not balance there."""
    bench, flow = planned.bench, planned.bench.family.family.flow
    if bench.job.charge is None or flow is None:
        return ()
    charge = bench.job.charge.model_copy(update={"boost": PressureLevel(boost_pa, "gauge")})
    situations = Situations(bench.network, bench.job.model_copy(update={"charge": charge}), flow)
    try:
        situation = situations.for_(planned.configuration)
        pressures = situation.pressures(planned.configuration)
    except BoostcarbError:
        return ()
    rows = state_table(bench.network, planned.configuration, situation.views, pressures)
    return tuple(zip(rows, situation.views, strict=True))


def _in_states(planned: Planned, names: Sequence[str]) -> tuple[Expected, ...]:
    """What to expect in states at full boost, with the mixture where it is judged."""
    views = planned.bench.view(planned.configuration).states
    mixtures = {each.state: each for each in _mixtures(planned)}
    return tuple(_readings(planned, zip(planned.states, views, strict=True), names, mixtures))


def _mixtures(planned: Planned) -> tuple[StateMixture, ...]:
    return planned.fueling.table if planned.bench.judges_mixture else ()


def _readings(
    planned: Planned,
    solved: Iterable[tuple[StateRow, StateView]],
    names: Sequence[str],
    mixtures: Mapping[str, StateMixture] | None = None,
) -> Iterator[Expected]:
    targets = targets_of(planned.bench.job, ambient_pa_abs=planned.states[0].spaces[AMBIENT].low_pa_abs)
    known = mixtures or {}
    for row, view in solved:
        if row.name not in names:
            continue
        yield from _of_row(row, with_regulator=planned.bench.job.target == "blow_through")
        mixture = known.get(row.name)
        if mixture is not None and mixture.leanest is not None and mixture.richest is not None:
            low, high = sorted((mixture.richest, mixture.leanest))
            yield Expected(row.title, "lambda as computed", "lambda", low, high)
        if row.name in LOADED:
            target = targets.in_state(view)
            yield Expected(row.title, "lambda wanted", "lambda", target, target)


def _of_row(row: StateRow, *, with_regulator: bool) -> Iterator[Expected]:
    """Air horn and manifold against the atmosphere, bowls and regulator against the air horn, valves."""
    ambient, horn = row.spaces[AMBIENT], row.spaces[AIR_HORN]
    shown = [AIR_HORN, MANIFOLD]
    if row.spaces[BASE] != row.spaces[MANIFOLD]:
        shown.insert(1, BASE)
    for name in shown:
        space = row.spaces[name]
        low, high = space.low_pa_abs - ambient.low_pa_abs, space.high_pa_abs - ambient.high_pa_abs
        yield Expected(row.title, name, "gauge", _shown(low), _shown(high))
    compared = [name for name in row.spaces if name.rpartition(".")[2] == "bowl"]
    for name in [*compared, REGULATOR] if with_regulator else compared:
        space = row.spaces[name]
        low, high = space.low_pa_abs - horn.high_pa_abs, space.high_pa_abs - horn.low_pa_abs
        yield Expected(row.title, name, "difference", _shown(low), _shown(high))
    for name, diaphragm in row.diaphragms.items():
        if diaphragm.valve is not None:
            yield Expected(row.title, name, "word", word=diaphragm.valve)


def _shown(pressure_pa: float) -> float:
    """To the nearest that a gauge shows; no minus before a zero."""
    return GAUGE_STEP_PA * round(pressure_pa / GAUGE_STEP_PA) + 0.0


def _step(
    phase: Phase,
    title: str,
    text: str,
    minutes: int,
    *,
    cautions: tuple[str, ...] = (),
    expected: tuple[Expected, ...] = (),
) -> Step:
    return Step(0, phase, title, text, minutes=minutes, cautions=cautions, expected=expected)


# --- words that hang on what the carburetor has -----------------------------------------------------------------


def _enrichments(network: Network) -> list[Diaphragm]:
    return [each for each in network.diaphragms.values() if each.role == "enrichment"]


def _log(network: Network) -> str:
    """What to log: of an enrichment valve its chamber, of a piston what is below it."""
    walls = _enrichments(network)
    chamber = ""
    if walls:
        chamber = "space below the piston" if all(each.leak for each in walls) else "power valve chamber"
        chamber += " through a restrictor, "
    return LOG.format(chamber=chamber)


def _stop_bowl(network: Network) -> str:
    return STOP_BOWL.format(valve=", or an enrichment valve shut in boost" if _enrichments(network) else "")


def _shot(network: Network) -> str:
    """What to watch of an accelerator pump, if there is one."""
    holes = [way.count for way in network.ways if way.name.rpartition(".")[2] == "pump_nozzle"]
    if not holes:
        return ""
    return f"the pump shot from {'both nozzles' if max(holes) > 1 else 'the nozzle'}, and "
