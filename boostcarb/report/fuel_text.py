"""The metering as text for the bench: what to fit first, then the mixture state by state, then what it rests on."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from boostcarb.answers import Fueled
from boostcarb.fueling.answer import Effect, FuelAnswer
from boostcarb.fueling.calibration import Calibration
from boostcarb.fueling.uncertainty import HowSure
from boostcarb.quantities import UnitSystem, format_length
from boostcarb.report.cautions import cautions
from boostcarb.report.fuel_lines import STARTING_POINT, lambda_lines, size_lines
from boostcarb.report.plan_text import own_lines, section
from boostcarb.report.supply_text import supply_sections
from boostcarb.report.sure_text import sure_lines
from boostcarb.report.wording import MODES, arrangement, each_of
from boostcarb.report.wrapping import wrapped


def fuel_text(fueled: Fueled, system: UnitSystem, sure: HowSure | None = None) -> str:
    """The whole answer, with how sure it is if that was asked."""
    return "\n".join(_lines(fueled, system, sure))


def _lines(fueled: Fueled, system: UnitSystem, sure: HowSure | None) -> Iterator[str]:
    bench, answer = fueled.bench, fueled.answer
    job = bench.job
    yield wrapped(job.job)
    title = f"{bench.family.family.title}, target {MODES[job.target]}, {_fuel(answer)}"
    yield wrapped(", ".join([title, *arrangement(job)]), first="  ")
    yield from own_lines(bench)
    if not fueled.clean:
        yield from section("FIRST")
        yield from _notes(note.text for note in fueled.notes if note.blocks)
    yield from section(f"FIT THESE  in the planned carburetor{each_of(bench.network)}")
    yield from size_lines(answer.sizes, answer.stages, system)
    yield wrapped(STARTING_POINT, first="  ")
    ratio = answer.fuel.stoichiometric_air_fuel_ratio
    yield from section(f"LAMBDA  state by state; stoichiometric air-fuel ratio {ratio:.2f}")
    yield from lambda_lines(answer.configurations)
    if sure is not None:
        yield from section("HOW SURE  lambda of the planned carburetor, full boost first")
        yield from sure_lines(sure, system)
    yield from _fuel_change(answer, system)
    known = [note.text for note in fueled.notes if not note.blocks]
    if known:
        yield from section("TO KNOW")
        yield from _notes(known)
    yield from supply_sections(fueled.side, bench.network, system)
    if answer.calibration is not None:
        yield from section("CALIBRATED  from the lambdas you measured")
        yield from _calibration(answer.calibration)
    yield from section("ASSUMED  with its span, and lambda at cruise and full load at the ends of it, sizes as fitted")
    yield from _assumed(answer, system)
    yield from section("CAUTIONS")
    yield from _notes(cautions(job.target, job.fuel))


def _notes(texts: Iterable[str]) -> Iterator[str]:
    for text in texts:
        yield wrapped(text, first="  - ")


def _fuel(answer: FuelAnswer) -> str:
    return f"fuel {answer.fuel.name}, {answer.fuel.density_kg_m3:.0f} kg/m3"


# --- what it rests on -------------------------------------------------------------------------------------------


def _fuel_change(answer: FuelAnswer, system: UnitSystem) -> Iterator[str]:
    change = answer.fuel_change
    if change is None:
        return
    yield from section(f"CHANGE OF FUEL  {answer.model.fuel_before.name} to {answer.fuel.name}")
    yield wrapped(
        f"Every jet needs {change.value:.2f} times the area at the same lambda, {change.value**0.5:.2f} times the "
        "bore; idle feeds, pump nozzles, needles, pump and line as well.", first="  ",
    )  # fmt: skip
    for group, circuit in answer.as_found.circuits.items():
        if circuit.idle_feed is not None:
            bore = circuit.idle_feed.bore_m
            wanted = format_length(bore * change.value**0.5, system)
            yield wrapped(f"{group} idle feed: from {format_length(bore, system)} to {wanted}", first="    ")


def _calibration(calibration: Calibration) -> Iterator[str]:
    for name, value in calibration.moved.items():
        yield wrapped(f"{name.replace('_', ' ')}: {value:.3g}", first="  ")
    for reading in calibration.readings:
        group = f", {reading.group} barrels" if reading.group else ""
        yield wrapped(
            f"{reading.title}{group}: measured {reading.measured:.3f}, computed {reading.before:.3f} before and "
            f"{reading.after:.3f} after; off by {reading.residual:+.3f}", first="  - ",
        )  # fmt: skip


def _assumed(answer: FuelAnswer, system: UnitSystem) -> Iterator[str]:
    for target in answer.targets.loads.values():
        said = "as you say" if target.given else f"usual {target.low:.2f} to {target.high:.2f}, a starting point"
        yield wrapped(f"lambda for {target.load.replace('_', ' ')} {target.value:.2f}, {said}", first="  - ")
    for effect in answer.effects:
        yield wrapped(_effect(effect, system), first="  - ")
    yield wrapped(
        "At cruise and light load the transition circuit adds fuel that is not counted here: the real mixture is a "
        "little richer.", first="  - ",
    )  # fmt: skip
    yield wrapped(f"{answer.fuel.name}: {answer.fuel.sources['density_kg_m3'].text}; 20 degC", first="  - ")


def _effect(effect: Effect, system: UnitSystem) -> str:
    def shown(value: float) -> str:
        return format_length(value, system, digits=3) if effect.unit == "m" else f"{value:.3g}"

    known = ", calibrated or given" if effect.calibrated else ", common practice, no source"
    loads = {"cruise": effect.cruise, "full load": effect.full_load}
    moves = "; ".join(f"{load} {_ends(ends)}" for load, ends in loads.items() if all(ends))
    span = f"{shown(effect.low)} to {shown(effect.high)}{known}"
    if effect.full_load_span is not None:
        low, high = effect.full_load_span
        span += f"; at full load, where no reading is, {shown(low)} to {shown(high)}"
    return f"{effect.title} {shown(effect.value)} ({span}): {moves}"


def _ends(ends: tuple[float | None, float | None]) -> str:
    return " to ".join("?" if end is None else f"{end:.2f}" for end in ends)
