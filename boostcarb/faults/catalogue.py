"""Every single fault that a carburetor can have: one item in a form that it falls into by itself."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum

from boostcarb.network.latent import HOSE, TEAR, VALVE
from boostcarb.network.model import ABSENT, LATENT, NONE, ONE_WAY_VALVE, OPEN, PLUGGED, Configuration, Item, Network

NOT_BLOCKED = frozenset({"joint", "clearance", "gasket_window", "duct", "slot"})
"""Kinds of passage that nothing blocks: gaps, and ways too wide for dirt."""

LEAKS = frozenset({"joint", "clearance", "gasket_window"})
"""Kinds of passage that nobody drilled: open means leaking."""


class FaultKind(StrEnum):
    """How a thing fails, the likeliest first."""

    torn = "torn"
    hose_off = "hose off"
    hose_pinched = "hose pinched"
    one_way = "one-way valve"
    part = "part"
    leak = "leak"
    plug_lost = "plug lost"
    blocked = "blocked"


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing in another form than it should have."""

    item: str
    form: str
    kind: FaultKind
    title: str
    floods: str | None = None

    @property
    def name(self) -> str:
        """How it is called on the command line."""
        return f"{self.item}={self.form}"


def faults_of(network: Network, configuration: Configuration) -> tuple[Fault, ...]:
    """Every single fault of a configuration, in the order of its items. `network` has its latent items."""
    kinds = {way.item: way.kind for way in network.ways}
    found = [
        fault
        for item in network.items.values()
        if item.is_there(configuration)
        for fault in _of_item(network, item, configuration, kinds)
    ]
    return tuple(found)


def _of_item(network: Network, item: Item, configuration: Configuration, kinds: Mapping[str, str]) -> Iterator[Fault]:
    if item.kind == LATENT:
        yield from _latent(network, item, configuration)
    elif item.kind == "passage":
        yield from _passage(item, configuration[item.name], kinds.get(item.name, ""))
    elif item.kind == "part":
        yield from _part(item, configuration)
    elif item.kind == "inline" and configuration[item.name] == ONE_WAY_VALVE:
        yield Fault(item.name, NONE, FaultKind.one_way, f"{item.title}: its one-way valve lets flow pass back")


def _latent(network: Network, item: Item, configuration: Configuration) -> Iterator[Fault]:
    sound, *failing = item.forms
    if configuration[item.name] != sound:
        return
    for form in failing:
        title = f"{item.title}: {item.forms[form].title}"
        if item.name.endswith(TEAR):
            if network.diaphragms[item.name.removesuffix(TEAR)].exists(configuration):
                yield Fault(item.name, form, FaultKind.torn, title)
        elif item.name.endswith(HOSE):
            if _matters(network, item, form, configuration):
                kind = FaultKind.hose_off if form == "off" else FaultKind.hose_pinched
                yield Fault(item.name, form, kind, title)
        elif item.name.endswith(VALVE):
            yield Fault(item.name, form, FaultKind.one_way, title)


def _matters(network: Network, item: Item, form: str, configuration: Configuration) -> bool:
    """Whether a fault of a hose changes any way: a capped line has no hose to pinch."""
    failed = {**configuration, item.name: form}
    return any(
        way.exists(configuration) != way.exists(failed)
        for way in network.ways
        if any(name == item.name for name, _ in way.conditions)
    )


def _passage(item: Item, form: str, kind: str) -> Iterator[Fault]:
    if form == PLUGGED and OPEN in item.forms:
        leak = kind in LEAKS
        words = "leaks" if leak else "plug lost"
        yield Fault(item.name, OPEN, FaultKind.leak if leak else FaultKind.plug_lost, f"{item.title}: {words}")
    elif form == OPEN and kind not in NOT_BLOCKED:
        shut = next((each for each in (PLUGGED, ABSENT) if each in item.forms), None)
        if shut is not None:
            yield Fault(item.name, shut, FaultKind.blocked, f"{item.title}: blocked")


def _part(item: Item, configuration: Configuration) -> Iterator[Fault]:
    for form, data in item.forms.items():
        if data.fails and form != configuration[item.name] and data.goes_with(configuration):
            yield Fault(item.name, form, FaultKind.part, f"{item.title}: {data.title}", data.floods)
