"""What is renewed because its seam was opened, and how a stage is taken off. Common practice, no source."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from boostcarb.network.model import Configuration, Network
from boostcarb.planning.problem import Choice


@dataclass(frozen=True, slots=True)
class Renewal:
    """Something that is never fitted twice, and the stage that takes it apart."""

    name: str
    quantity: int
    stage: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class _Wear:
    """`covered_by`: last words of the items whose change brings it new; `part` must be there, in the right form."""

    name: str
    quantity: int
    covered_by: tuple[str, ...] = ()
    part: str | None = None
    not_as: tuple[str, ...] = ()
    only_as: tuple[str, ...] = ()


_WEAR: Final[dict[str, tuple[_Wear, ...]]] = {
    "bonnet_off": (_Wear("seal under the air cleaner or bonnet", 1, ("bonnet_seal_leak",)),),
    "carburetor_off": (_Wear("base gasket", 1, ("base_gasket_leak",)),),
    "bowl_off": (
        _Wear("{group}bowl gasket", 1, ("block_gasket", "block_gasket_leak", "bowl_gasket_leak")),
        _Wear("{group}bowl screw washers", 4, ("bowl_gasket_leak", "fasteners")),
        _Wear("{group}needle and seat with gaskets", 1, ("needle",)),
        _Wear("{group}pump diaphragm", 1, ("pump", "pump_wear"), "pump", ("absent",)),
        _Wear("{group}inlet screen and nut gaskets", 1, ("inlet_screen",)),
    ),
    "block_off": (
        _Wear("{group}block gasket", 1, ("block_gasket", "block_gasket_leak", "bowl_gasket_leak")),
        _Wear(
            "{group}power valve, same setting, with gasket", 1, ("power_valve", "power_valve_hold"), "power_valve",
            not_as=("blank",),
        ),
        _Wear(
            "gasket of the {group}blanking plug", 1, ("power_valve", "power_valve_gasket"), "power_valve",
            only_as=("blank",),
        ),
    ),
    "throttle_body_off": (
        _Wear("gasket between main body and throttle body", 1, ("body_joint_leak",)),
        _Wear("O-rings of the idle mixture screws", 4, ("idle_screw_leak",)),
    ),
    "shafts_out": (_Wear("screws of the throttle plates", 8, ("plate_screws",)),),
}  # fmt: skip


def renewals(
    network: Network, stages: Iterable[str], changes: Iterable[Choice], configuration: Configuration
) -> Iterator[Renewal]:
    """What to renew at the seams that these stages open, but for what the changes bring anyway."""
    changed = {_without_material(change.item) for change in changes}
    for stage in stages:
        group, _, tail = stage.rpartition(".")
        wear = _WEAR.get(tail)
        if wear is None:
            yield Renewal(f"gaskets and seals of: {network.stages[stage].title}", 1, stage, "one set")
            continue
        for each in wear:
            if changed.isdisjoint(_names(group, each.covered_by)) and _is_there(each, group, network, configuration):
                yield Renewal(each.name.format(group=f"{group} " if group else ""), each.quantity, stage)


def _without_material(item: str) -> str:
    return item.removesuffix(".material")


def _names(group: str, tails: Iterable[str]) -> set[str]:
    return {name for tail in tails for name in (tail, f"{group}.{tail}")}


def _is_there(wear: _Wear, group: str, network: Network, configuration: Configuration) -> bool:
    if wear.part is None:
        return True
    item = network.items.get(f"{group}.{wear.part}")
    if item is None or not all(configuration[other] in forms for other, forms in item.conditions):
        return False
    form = configuration[item.name]
    return form not in wear.not_as and (not wear.only_as or form in wear.only_as)


TAKING_OFF: Final = {
    "bonnet_off": "Tag every hose at both ends before it comes off. Photograph linkage and springs.",
    "carburetor_off": (
        "Fuel line off at the carburetor, its end capped; linkage off. Lift it level, drain it into a metal can, cap "
        "the manifold at once."
    ),
    "bowl_off": "Drain it first. Pull the bowl straight off; lay screws, float and needle out as they came.",
    "block_off": "Pull the block straight off its pins, no lever between the faces. Measure and bag the jets.",
    "throttle_body_off": "Turn it over on blocks, screws out crosswise, pump linkage off first.",
    "shafts_out": (
        "Mark each plate to its bore and side. File the staked screw ends flush before you turn them; draw the shafts "
        "out without a burr through the bore."
    ),
}

PUTTING_BACK: Final = {
    "bonnet_off": "New seal, evenly clamped. Turn the throttle by hand: nothing may touch.",
    "carburetor_off": "New base gasket on a flat flange; tightened crosswise. The throttle must open and shut fully.",
    "bowl_off": "Gasket laid on both faces once more, then the bowl; screws crosswise with new washers.",
    "block_off": "New gasket, a window over every passage that stays open. The ring round the valve must be whole.",
    "throttle_body_off": "Compare the gasket hole by hole with both faces and with what was plugged.",
    "shafts_out": "Plates centered in shut bores against a lamp, new screws, then staked. The shaft must turn freely.",
}
