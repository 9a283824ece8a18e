"""What is renewed because its seam was opened, as the family says."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from boostcarb.network.model import MATERIAL, Configuration, Network, Renews
from boostcarb.planning.problem import Choice


@dataclass(frozen=True, slots=True)
class Renewal:
    """Something that is never fitted twice, and the stage that takes it apart."""

    name: str
    quantity: int
    stage: str
    note: str = ""


def renewals(
    network: Network, stages: Iterable[str], changes: Iterable[Choice], configuration: Configuration
) -> Iterator[Renewal]:
    """What to renew at the seams that these stages open, but for what the changes bring anyway.

    Quantities are those of all carburetors together.
    """
    changed = {change.item.removesuffix(MATERIAL) for change in changes}
    for stage in stages:
        renews = network.stages[stage].renews
        if renews is None:
            title = f"gaskets and seals of: {network.stages[stage].title}"
            yield Renewal(title, network.carburetors, stage, "one set" if network.carburetors == 1 else "sets")
            continue
        for each in renews:
            if changed.isdisjoint(each.covered_by) and _is_there(each, network, configuration):
                yield Renewal(each.what, each.quantity * network.carburetors, stage)


def _is_there(each: Renews, network: Network, configuration: Configuration) -> bool:
    if each.part is None:
        return True
    item = network.items.get(each.part)
    if item is None or not item.is_there(configuration):
        return False
    form = configuration[item.name]
    return form not in each.not_as and (not each.only_as or form in each.only_as)


TAKING_OFF: Final = "Mark it, take it off straight, bag its screws."
PUTTING_BACK: Final = "In reverse, with new seals."
"""What to mind at a stage of which its family says nothing."""
