"""One rule explained: what must hold, in plain words, and its examples worked out."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from boostcarb.examples import Worked
from boostcarb.quantities import UnitSystem, format_pressure, format_value
from boostcarb.quantities import units as unit_kinds
from boostcarb.report.wording import MODES, finding_lines
from boostcarb.report.wrapping import wrapped
from boostcarb.rulebook.schema import (
    AreaRatio,
    Connected,
    Enriched,
    EnrichedOnce,
    EqualPressure,
    FollowsInTime,
    FollowsSource,
    FormRequired,
    FreeOf,
    Guarded,
    Isolated,
    LookedAt,
    Margin,
    Mixture,
    NotEnriched,
    OneReference,
    Opens,
    Requirement,
    Rule,
    SettingMargin,
    SuitsFuel,
    WithinLimit,
)

DURING = {
    "drive": "in every state of driving",
    "running": "while the engine runs",
    "boost": "in boost",
    "without_boost": "without boost",
    "wide_open": "wide open",
    "wide_open_without_boost": "wide open without boost",
    "cruise": "at cruise",
    "events": "in a backfire and other events",
    "all": "in every state",
}
MARGINS = {
    "venturi_flow": "what the venturis can pass, over what the engine takes",
    "rated_flow": "what the carburetor passes at its rated drop, over what the engine takes",
    "needle_flow": "what needle and seat pass, over what the engine burns",
    "needle_closing": "the closing force of the float, over the push of the fuel",
    "needle_after_lift_off": "the closing force of the float, over the push of the pressure held after lift-off",
    "fuel_pump_flow": "what the fuel pump delivers against its pressure, over what the engine burns",
    "pump_override": "the force of the pump's override spring, over the load of boost on its diaphragm",
    "pump_parts": "diaphragm, cover, spring and cam of the pump are of one size (1 yes, 0 no)",
    "pump_nozzle_seals": "seals of the pump nozzle, of the two it needs",
    "jet_cover": "the acceleration that still leaves the jets covered, over the one wanted",
    "float_clearance": "pickup extensions clear the float (1 yes, 0 no)",
    "bowl_boiling": "pressure on the bowl after lift-off, over the vapor pressure of its fuel",
}
LOAD = {"wide_open": "wide open before boost", "boost": "in boost"}


def rule_text(rule: Rule, worked: Sequence[Worked], system: UnitSystem) -> str:
    """One rule, explained, with its examples worked out."""
    return "\n".join([*_rule_lines(rule, system), *_example_lines(worked, system)])


def _rule_lines(rule: Rule, system: UnitSystem) -> Iterator[str]:
    yield f"{rule.id}"
    yield wrapped(rule.title, first="  ")
    yield wrapped(weight(rule), first="  ")
    for title, text in facts(rule, system):
        yield wrapped(f"{title}: {text}", first="  ", rest="    ")


def weight(rule: Rule) -> str:
    """How bad a finding of the rule is, and whom it endangers."""
    return f"{rule.severity.upper()}, endangers {' and '.join(rule.endangers)}"


def facts(rule: Rule, system: UnitSystem) -> Iterator[tuple[str, str]]:
    """What a rule says, each with its heading: where it goes, what must hold, why, what to do, what it rests on."""
    yield "targets", ", ".join(MODES[mode] for mode in rule.modes)
    if rule.families != "any":
        yield "families", ", ".join(rule.families)
    if rule.fuels != "any":
        yield "fuels", ", ".join(rule.fuels)
    yield "must hold", must_hold(rule.requirement, system)
    for item, forms in rule.when.items():
        yield "where", f"{item} is {' or '.join(forms)}"
    if rule.not_in_a_box:
        yield "not judged", "what stands in a pressure box, where leaks lose nothing"
    for title, text in (("why", rule.why), ("limits", rule.limits), ("remedy", rule.remedy)):
        if text:
            yield title, text
    yield "basis", rule.basis.kind + (f": {rule.basis.reference}" if rule.basis.reference else ", no source")


# --- what must hold -----------------------------------------------------------------------------------------


def must_hold(requirement: Requirement, system: UnitSystem) -> str:
    """A requirement as a sentence without its full stop; names as they stand in the files, `*` for any."""
    return _WORDS[requirement.kind](requirement, system)


def _isolated(r: Isolated, _: UnitSystem) -> str:
    kinds = f" by a {' or '.join(kind.replace('_', ' ') for kind in r.kinds)}" if r.kinds else ""
    only = f", where {r.if_valve_on} works a valve" if r.if_valve_on else ""
    return f"no open {'air ' if r.carries == 'air' else ''}way leads from {r.from_} to {r.to}{kinds}{only}"


def _connected(r: Connected, _: UnitSystem) -> str:
    area = "" if r.least_area is None else f", with at least {format_value(unit_kinds.AREA, r.least_area, 'mm2')}"
    return f"an open way joins {r.from_} to {r.to}{area}"


def _guarded(r: Guarded, _: UnitSystem) -> str:
    return f"every open way from {r.from_} to the {r.to} side of {r.diaphragm} passes a backfire check"


def _equal(r: EqualPressure, system: UnitSystem) -> str:
    return f"{r.space} is within {format_pressure(r.within, system)} of {r.to} {DURING[r.during]}"


def _follows(r: FollowsSource, _: UnitSystem) -> str:
    old = "one that a one-way valve holds" if r.trapped_by == "one_way_valve" else "the one it was sealed with"
    only = f", where {r.if_valve_on} works a valve" if r.if_valve_on else ""
    only += f", where there is {r.if_diaphragm}" if r.if_diaphragm else ""
    return f"{r.space} has the present pressure of its sources, not {old}{only}"


def _one_reference(r: OneReference, system: UnitSystem) -> str:
    return f"{r.space} is not open to two sources more than {format_pressure(r.within, system)} apart"


def _enriched(r: Enriched, _: UnitSystem) -> str:
    return f"every barrel group that flows has its enrichment {LOAD[r.load]}, from an open valve or from its jets"


def _not_enriched(r: NotEnriched, _: UnitSystem) -> str:
    by = " by a valve" if r.by == "a valve" else ""
    return f"{DURING[r.during]} no barrel group that flows is richer than {r.richer_than.replace('_', ' ')} needs{by}"


def _once(r: EnrichedOnce, _: UnitSystem) -> str:
    return "where jets carry the highest load of a barrel group on their own, no valve adds to them"


def _mixture(r: Mixture, _: UnitSystem) -> str:
    if r.leaner_by is not None:
        return f"{DURING[r.during]} lambda is at most {r.leaner_by:.0%} above its target"
    return f"{DURING[r.during]} lambda is at least {r.richer_than}"


def _opens(r: Opens, _: UnitSystem) -> str:
    return f"{r.diaphragm} opens what it works in: {', '.join(r.states)}"


def _within(r: WithinLimit, _: UnitSystem) -> str:
    return f"the pressure across {r.diaphragm} stays within what it stands {DURING[r.during]}"


def _setting(r: SettingMargin, _: UnitSystem) -> str:
    return f"{r.diaphragm} is set at {r.factor:g} times what would shut it, or more, in: {', '.join(r.states)}"


def _margin(r: Margin, _: UnitSystem) -> str:
    return f"{MARGINS[r.of]}: at least {r.at_least:g}"


def _form(r: FormRequired, _: UnitSystem) -> str:
    if r.one_of is not None:
        return f"{r.item} is {' or '.join(r.one_of)}"
    return f"{r.item} is not {' or '.join(r.none_of or ())}"


def _suits(r: SuitsFuel, _: UnitSystem) -> str:
    return f"no source, or not all of them, rates {r.item} in the job's fuel as: {', '.join(r.none_of)}"


def _areas(r: AreaRatio, _: UnitSystem) -> str:
    return f"the area of {r.of} is at least {r.at_least:g} times that of {r.over}, where both were measured"


def _free_of(r: FreeOf, _: UnitSystem) -> str:
    held = [content.replace("_", " ") for content in r.contents]
    return f"{DURING[r.during]} {r.space} can hold no {' and no '.join(held)}"


def _in_time(r: FollowsInTime, _: UnitSystem) -> str:
    within = format_value(unit_kinds.DURATION, r.within, "ms")
    change = f"the change from {r.from_state} to: {', '.join(r.to_states)}"
    return f"{r.diaphragm} has opened its valve within {within} of {change}"


def _looked_at(r: LookedAt, _: UnitSystem) -> str:
    return "somebody has looked at every passage, part and line"


_WORDS: dict[str, Callable[[Any, UnitSystem], str]] = {
    "isolated": _isolated,
    "connected": _connected,
    "guarded": _guarded,
    "equal_pressure": _equal,
    "follows_source": _follows,
    "one_reference": _one_reference,
    "enriched": _enriched,
    "not_enriched": _not_enriched,
    "enriched_once": _once,
    "mixture": _mixture,
    "opens": _opens,
    "within_limit": _within,
    "setting_margin": _setting,
    "margin": _margin,
    "form": _form,
    "suits_fuel": _suits,
    "area_ratio": _areas,
    "free_of": _free_of,
    "follows_in_time": _in_time,
    "looked_at": _looked_at,
}


# --- examples -----------------------------------------------------------------------------------------------


def _example_lines(worked: Sequence[Worked], system: UnitSystem) -> Iterator[str]:
    """What breaks the rule, and what keeps it, each as the program judges it."""
    for each in worked:
        entry, network = each.example.entry, each.bench.network
        mark = "EXAMPLE" if each.example.kind == "violates" else "PUT RIGHT"
        yield ""
        yield wrapped(f"{mark}, {MODES[entry.target]}: {entry.says}", first="  ", rest="    ")
        for name, value in _said(entry.model_extra or {}):
            yield wrapped(f"{name}: {value}", first="    ", rest="      ")
        titles = {view.name: view.title for view in each.bench.view(network.found()).states}
        for finding in each.findings:
            yield from finding_lines(finding, network, titles, system, "    ")
        if not each.findings:
            yield "    this rule finds nothing"


def _said(sections: Mapping[str, object], path: str = "") -> Iterator[tuple[str, str]]:
    """What an example says of its job, one line a value, by the dotted path of the job file."""
    for name, value in sections.items():
        where = f"{path}.{name}" if path else name
        if isinstance(value, Mapping):
            yield from _said(value, where)
        else:
            yield where, ", ".join(map(str, value)) if isinstance(value, list) else str(value)
