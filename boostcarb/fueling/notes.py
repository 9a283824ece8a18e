"""What a builder must know beside the numbers: what blocks, what is doubtful, what to measure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from boostcarb.fueling.calibration import SPREADS
from boostcarb.fueling.circuit import Circuit, Origin
from boostcarb.fueling.mixture import Enrichment, GroupMixture, StateMixture, Status
from boostcarb.fueling.model import Fueling, FuelModel
from boostcarb.fueling.sizes import GroupSizes
from boostcarb.fueling.sizing import TOO_RICH

LEANER_BY = 0.05
"""Share by which lambda may be above its target in boost before that blocks."""
RICHER_AT_CRUISE = 0.15
BELIEVED_AT_CRUISE = (0.75, 1.3)
"""Lambdas at which an engine cruises at all (common practice, no source)."""
NO_FUEL = "no fuel flows."
CANNOT = ("no jet is large enough", "too small", "only just starts")
"""Words of sizes that cannot be had: they block."""
LEAN = "leaner in boost than wanted."
BEFORE = {"as_found": "as found", "proposed": "as proposed", "planned": "as planned"}


@dataclass(frozen=True, slots=True)
class Note:
    """One thing to know; `configuration` says of which carburetor, or nothing for all."""

    blocks: bool
    configuration: str | None
    text: str


def notes(model: FuelModel, configurations: Mapping[str, Fueling], *, has_plan: bool) -> list[Note]:
    """All of them, what blocks first."""
    found = list(_all(model, configurations, has_plan))
    return sorted(found, key=lambda note: not note.blocks)


def _all(model: FuelModel, configurations: Mapping[str, Fueling], has_plan: bool) -> Iterator[Note]:
    if not has_plan:
        yield Note(True, None, "No plan exists for this job; `boostcarb plan` says why. Sizes are for what was found.")
    for name, fueling in configurations.items():
        yield from _mixtures(name, fueling)
    for group in configurations["planned"].sizes.values():
        yield from _sizes(group)
    yield from _rich_at_cruise(configurations["planned"])
    yield from _doubts(model, configurations["as_found"])
    yield from _targets(model)
    yield from _calibration(model)


def _mixtures(name: str, fueling: Fueling) -> Iterator[Note]:
    """One note for each fault of a group, with all the states that have it; the planned carburetor must have none."""
    faults: dict[tuple[str, str, bool], list[str]] = {}
    for state in fueling.table:
        for group in state.groups:
            for text, blocks in _faults(group, state):
                faults.setdefault((group.group, text, blocks), []).append(_with_value(group, state, text))
    for (barrels, text, blocks), states in faults.items():
        said = f"{barrels} barrels {BEFORE[name]}: {text} In: {'; '.join(states)}."
        yield Note(blocks and name == "planned", name, said)


def _faults(group: GroupMixture, state: StateMixture) -> Iterator[tuple[str, bool]]:
    if group.status is Status.no_fuel:
        vents = " The bowl stands below the air horn: its vents are wrong." if _bowl_below(group) > 0.0 else ""
        yield f"{NO_FUEL}{vents}", True
    elif group.status is Status.no_circuit or (group.status is Status.starting and state.boosted):
        yield f"{group.status.value}.", True
    if group.fuel_leaves_bleed:
        yield "fuel comes out of the high-speed bleed; the main well stands above the air horn.", True
    if group.enrichment is Enrichment.undecided and group.status is Status.predicted:
        yield "the enrichment valve may be open or shut; both lambdas are given.", False
    lean = group.leanest is not None and group.leanest.mixture > group.target * (1 + LEANER_BY)
    if lean and state.boosted:
        yield LEAN, True


def _with_value(group: GroupMixture, state: StateMixture, text: str) -> str:
    if text.startswith(NO_FUEL) and _bowl_below(group) > 0.0:
        return f"{state.title} ({_bowl_below(group) / 1e3:.1f} kPa)"
    if text == LEAN and group.leanest is not None:
        return f"{state.title} ({group.leanest.mixture:.2f}, wanted {group.target:.2f})"
    return state.title


def _bowl_below(group: GroupMixture) -> float:
    return group.pull.air_horn_pa_abs - group.pull.bowl_low_pa_abs if group.pull else 0.0


def _rich_at_cruise(planned: Fueling) -> Iterator[Note]:
    cruise = next((state for state in planned.table if state.state == "cruise"), None)
    if cruise is not None and cruise.richest is not None and cruise.richest < cruise.target - RICHER_AT_CRUISE:
        yield Note(
            False, "planned",
            f"Lambda is {cruise.richest:.2f} at cruise: jets that carry full load alone, or a valve that is open at "
            "cruise too, are this rich there.",
        )  # fmt: skip


def _sizes(group: GroupSizes) -> Iterator[Note]:
    for text in group.not_sized:
        yield Note(any(words in text for words in CANNOT), "planned", f"{text}.")
    for text in group.tight:
        yield Note(False, "planned", f"{text}.")
    if group.single_stage_mixture is not None and group.single_stage_mixture < TOO_RICH:
        second = "Two stages are sized beside it: only boost may open the second." if len(group.stages) > 1 else (
            "A second stage that only boost opens would cure it."
        )
        yield Note(
            False, "planned",
            f"{group.group} barrels: one stage that is right in boost gives lambda {group.single_stage_mixture:.2f} at "
            f"full load before boost, absurdly rich. {second}",
        )  # fmt: skip


def _doubts(model: FuelModel, found: Fueling) -> Iterator[Note]:
    blind = [group for group, circuit in found.circuits.items() if _unknown(circuit)]
    if blind:
        yield Note(
            False, "as_found",
            f"Nobody gave the bores of the main jets ({' and '.join(blind)}), and they are not those that are usual: "
            "their mixture as found is not known.",
        )  # fmt: skip
    elif not model.is_known:
        yield Note(
            False, "as_found",
            "Nobody gave the bores of the jets or a measured lambda: the mixture as found rests on bores that are "
            "usual for the family and is not judged. Measure the bores, or better a lambda at cruise.",
        )  # fmt: skip
    cruise = next((state for state in found.table if state.state == "cruise"), None)
    low, high = BELIEVED_AT_CRUISE
    cruising = cruise.leanest if cruise is not None and model.calibration is None else None
    if cruising is not None and not low <= cruising <= high:
        yield Note(
            False, "as_found",
            f"Lambda {cruising:.2f} at cruise as found is absurd: no engine drives like that. The bores or the "
            "defaults below do not fit this carburetor; give a measured lambda before you trust any size here.",
        )  # fmt: skip


def _targets(model: FuelModel) -> Iterator[Note]:
    for target in model.targets.loads.values():
        if target.unusual and (target.load != "boost" or model.job.target != "naturally_aspirated"):
            side = "leaner" if target.value > target.high else "richer"
            yield Note(
                False, None,
                f"The lambda wanted for {target.load.replace('_', ' ')}, {target.value:.2f}, is {side} than the usual "
                f"{target.low:.2f} to {target.high:.2f}.",
            )  # fmt: skip


def _calibration(model: FuelModel) -> Iterator[Note]:
    calibration = model.calibration
    if calibration is None:
        return
    for name in calibration.at_limit:
        value = calibration.moved[name]
        yield Note(
            True, None,
            f"The readings ask for a {SPREADS[name].title} beyond {value:.3g}, which is not believed: check the bores, "
            "the readings, and whether the valve was as described.",
        )  # fmt: skip
    for name in calibration.unusual:
        value, spread = calibration.moved[name], SPREADS[name]
        yield Note(
            False, None,
            f"The readings ask for a {spread.title} of {value:.3g}, outside the usual {spread.low:.3g} to "
            f"{spread.high:.3g}: check the bores, the readings, and which fuel and place they are of before you trust "
            "sizes that rest on it.",
        )  # fmt: skip
    if model.fuel_before != model.fuel:
        yield Note(
            False, None,
            f"The readings are taken as made on {model.fuel_before.name}, as `right_for` says, not on "
            f"{model.fuel.name}. If they were made on {model.fuel.name}, take `right_for.fuel` out.",
        )  # fmt: skip
    if not calibration.has_full_load:
        load = "full-load" if model.job.target == "naturally_aspirated" else "boost"
        yield Note(
            False, None,
            f"There is no reading at full load: {load} sizes may be about 10 % lean, since the transition circuit may "
            "feed at cruise. Start rich, and give a lambda at full load as soon as there is one.",
        )  # fmt: skip
    if calibration.one_factor_only:
        yield Note(False, None, "The readings do not tell two causes apart: only the booster gain was moved.")
    guessed = [group for group, circuit in _circuits(model).items() if _guessed(circuit)]
    if guessed:
        yield Note(
            False, None,
            f"The readings were taken with jets of unmeasured bore ({', '.join(guessed)}): sizes are right as "
            "multiples of the jets as found, not in millimeters. Measure those jets.",
        )  # fmt: skip


def _circuits(model: FuelModel) -> Mapping[str, Circuit]:
    return model.fueling(model.found).circuits


def _unknown(circuit: Circuit) -> bool:
    return circuit.main is not None and circuit.main.origin is Origin.unknown


def _guessed(circuit: Circuit) -> bool:
    return circuit.main is not None and circuit.main.origin is not Origin.measured
