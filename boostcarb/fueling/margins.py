"""Named margins of the fuel side: what rules hold against a limit. 1 is just enough, below it is too little."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from boostcarb.fueling.bowl import bowls
from boostcarb.fueling.demand import Demand, demand, density_of
from boostcarb.fueling.evaporation import evaporation
from boostcarb.fueling.fuel_pump import pump_needs
from boostcarb.fueling.given import Given
from boostcarb.fueling.job_fuel import fuel_of
from boostcarb.fueling.needle import BowlSupply, bowl_supply, felt_by_regulator, seats
from boostcarb.fueling.pump import Shot, dry_side, shots
from boostcarb.fueling.records import Margin
from boostcarb.fueling.side import mixture_wanted
from boostcarb.fueling.solved import Solved
from boostcarb.fueling.supply import dead_head


def margins(solved: Solved, quantity: str) -> tuple[Margin, ...]:
    """All margins of one kind in a configuration. Raises: KeyError for a kind that is not known."""
    given = Given(solved.job, solved.typical)
    return tuple(QUANTITIES[quantity](solved, given))


def _demand(solved: Solved) -> Demand:
    return demand(solved, fuel_of(solved.job), mixture_wanted(solved))


def _bowls(solved: Solved, given: Given) -> Iterator[BowlSupply]:
    wanted = _demand(solved)
    return (bowl_supply(solved, given, seat, wanted) for seat in seats(solved, given))


def _needle_flow(solved: Solved, given: Given) -> Iterator[Margin]:
    fed = {seat.group for seat in seats(solved, given)}
    name = "flow through the needle over demand"
    for where, groups in _demand(solved).by_state.items():
        for group in groups:
            if group not in fed:
                yield Margin(f"{group}.needle_seat", f"{group} needle and seat", name, 0.0,
                             "is closed: no fuel reaches the bowl", where, (f"{group}.bowl",))  # fmt: skip
    for bowl in _bowls(solved, given):
        for state in bowl.states:
            if state.margin is not None:
                yield Margin(f"{bowl.seat.group}.needle_seat", bowl.seat.title, name,
                             state.margin.value,
                             "passes too little fuel for the bowl", state.state, _felt(solved, bowl))  # fmt: skip


def _needle_closing(solved: Solved, given: Given) -> Iterator[Margin]:
    for bowl in _bowls(solved, given):
        for state in bowl.states:
            if state.closing is not None:
                yield Margin(f"{bowl.seat.group}.needle_seat", bowl.seat.title,
                             "closing force over the push of the fuel", state.closing.value,
                             "the fuel pushes too hard against the float", state.state,
                             _felt(solved, bowl))  # fmt: skip


def _felt(solved: Solved, bowl: BowlSupply) -> tuple[str, ...]:
    return (f"{bowl.seat.group}.bowl", felt_by_regulator(solved))


def _fuel_pump_flow(solved: Solved, given: Given) -> Iterator[Margin]:
    for need in pump_needs(solved, given, _demand(solved)):
        if need.margin is not None:
            yield Margin("fuel_line", "fuel pump", "pump flow over demand", need.margin.value,
                         "is not proven: its curve ends below the pressure it must make" if need.beyond_curve
                         else "delivers too little against the pressure it must make", need.state,
                         (felt_by_regulator(solved),))  # fmt: skip


def _needle_after_lift_off(solved: Solved, given: Given) -> Iterator[Margin]:
    if given.word("supply.return_line", "return line") == "yes":
        return
    found = dead_head(solved, given, seats(solved, given))
    if found is not None and found.closing is not None:
        yield Margin("fuel_line", "fuel line without a return", "closing force over the push of the held pressure",
                     found.closing.value,
                     f"keeps the pressure of boost when the throttle shuts, worst at the {found.group} needle",
                     "overrun", (f"{found.group}.bowl", felt_by_regulator(solved)))  # fmt: skip


def _shots(solved: Solved, given: Given) -> Iterator[Shot]:
    return shots(solved, given, density_of(fuel_of(solved.job)))


def _pump_override(solved: Solved, given: Given) -> Iterator[Margin]:
    for shot in _shots(solved, given):
        if shot.override_margin is not None:
            worst = max(shot.states, key=lambda state: state.load.value)
            yield Margin(f"{shot.group}.pump", f"{shot.group} accelerator pump",
                         "override force over the load of boost", shot.override_margin.value,
                         "its override spring gives way in boost and the shot fades",
                         worst.state, (f"{shot.group}.bowl", dry_side(solved, shot.group)))  # fmt: skip


def _pump_parts(solved: Solved, given: Given) -> Iterator[Margin]:
    for shot in _shots(solved, given):
        if shot.parts is None:
            continue
        effects = "; ".join(f"{a} with {b}: {each.effect}" for each in shot.parts.mismatches for a, b in [each.parts])
        yield Margin(f"{shot.group}.pump", f"{shot.group} accelerator pump", "parts of one size",
                     1.0 if shot.parts.one_size else 0.0, f"is made up of two sizes: {effects}",
                     items=(f"{shot.group}.pump", f"{shot.group}.pump_cover"))  # fmt: skip


def _pump_nozzle_seals(solved: Solved, given: Given) -> Iterator[Margin]:
    for shot in _shots(solved, given):
        yield Margin(f"{shot.group}.pump_nozzle", f"{shot.group} pump nozzle", "seals fitted of two",
                     1.0 if shot.leaks is None else 0.5, shot.leaks or "", items=(f"{shot.group}.pump",))  # fmt: skip


def _jet_cover(solved: Solved, given: Given) -> Iterator[Margin]:
    for bowl in bowls(solved, given):
        for cover in bowl.covers:
            if cover.extension == bowl.extensions and cover.margin is not None:
                yield Margin(f"{bowl.group}.main_jet_hole", f"{bowl.group} main jets",
                             "acceleration that uncovers them over that wanted", cover.margin.value,
                             f"come out of the fuel: {cover.maneuver}", items=(f"{bowl.group}.float",))  # fmt: skip


def _float_clearance(solved: Solved, given: Given) -> Iterator[Margin]:
    for bowl in bowls(solved, given):
        yield Margin(f"{bowl.group}.float", f"{bowl.group} float", "clears the pickup extensions",
                     0.0 if bowl.extension_fouls_float else 1.0, "is not cut away over the pickup extensions",
                     items=(f"{bowl.group}.float",))  # fmt: skip


def _bowl_boiling(solved: Solved, given: Given) -> Iterator[Margin]:
    for boiling in evaporation(solved, given, fuel_of(solved.job), mixture_wanted(solved)).boiling:
        bowl = f"{boiling.group}.bowl"
        yield Margin(bowl, solved.network.title_of(bowl), "pressure after lift-off over vapor pressure",
                     boiling.margin.value,
                     "boils when the boost is let off" + (f" ({boiling.bound})" if boiling.bound else ""), "overrun",
                     (f"{boiling.group}.bowl",))  # fmt: skip


QUANTITIES: Mapping[str, Callable[[Solved, Given], Iterator[Margin]]] = {
    "needle_flow": _needle_flow,
    "needle_closing": _needle_closing,
    "needle_after_lift_off": _needle_after_lift_off,
    "fuel_pump_flow": _fuel_pump_flow,
    "pump_override": _pump_override,
    "pump_parts": _pump_parts,
    "pump_nozzle_seals": _pump_nozzle_seals,
    "jet_cover": _jet_cover,
    "float_clearance": _float_clearance,
    "bowl_boiling": _bowl_boiling,
}
"""How each named margin of the fuel side is found; those of the air stand apart."""
