"""Questions on changes: what a change does to the mixture, what it cures, what comes of it or of its absence."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from random import Random

from boostcarb.board.lesson.drafting import Draft, shuffled
from boostcarb.board.lesson.felt import enrichers, setting_text, title_of_valve, valve_in
from boostcarb.board.lesson.ground import Ground, kpa, pressure_text, sentence
from boostcarb.board.study import PLANNED
from boostcarb.faults.catalogue import faults_of
from boostcarb.findings import Finding, Witness
from boostcarb.network.model import LATENT
from boostcarb.rulebook.judging import Judged, findings_in
from boostcarb.solving.contents import BELOW_THE_LEVEL
from boostcarb.solving.diaphragms import ValveState
from boostcarb.solving.pressures import AIR
from boostcarb.solving.situation import StateView

CHOICES = 4

# --- mixture -----------------------------------------------------------------------------------------------------

LEANER, RICHER, SAME = "leaner", "richer", "the same"
BECOMES = {LEANER: "So it gets leaner.", RICHER: "So it gets richer.", SAME: "So it stays the same."}
CLEAR_SHARE, ALIKE_SHARE = 0.05, 0.002
"""Shares of the pressure that drives the fuel beyond which it clearly differs, and below which it does not."""

NOZZLES = "booster_throat"

DRAINED = frozenset({"duct", "slot", "throttle"})
"""Kinds of ways that are part of the air path itself."""


def mixture(ground: Ground, rng: Random) -> Iterator[Draft]:
    """What a change of a passage, a gasket or a signal line does to the mixture in boost."""
    groups = [group for group in ground.bench.family.family.groups if f"{group}.bowl" in ground.network.spaces]
    states = [state for state in ground.drive if state.boosted or (state.running and state.wide_open)]
    airy = _airy(ground)
    asked = [
        (group, state, item, form)
        for group in groups
        for state in states
        if group in state.flowing_groups
        for item, form in airy
    ]
    for group, state, item, form in shuffled(rng, asked):
        draft = _mixture(ground, group, state, item, form)
        if draft is not None:
            yield draft


def _airy(ground: Ground) -> list[tuple[str, str]]:
    """Single changes, by hand or by failure, of what only leads air: no bleed, and nothing that lets fuel run."""
    names = []
    for name, item in ground.network.items.items():
        ways = ground.ways_of_item.get(name, ())
        dry = all(way.carries == AIR and way.kind not in DRAINED for way in ways)
        ends = {end for way in ways for end in (way.a, way.b)}
        bleeds = any(ground.network.spaces[end].holds in ("fuel", "emulsion") for end in ends)
        wet = any(way.kind in BELOW_THE_LEVEL and any(end.endswith(".bowl") for end in (way.a, way.b)) for way in ways)
        both_sources = any(ground.network.spaces[way.a].source and ground.network.spaces[way.b].source for way in ways)
        if ways and dry and not (bleeds or wet) and not both_sources and item.kind in ("passage", "line", LATENT):
            names.append(name)
    failing = [
        (fault.item, fault.form) for fault in faults_of(ground.network, ground.configuration) if fault.item in names
    ]
    return list(dict.fromkeys([*ground.offered(names), *failing]))


def _drive(ground: Ground, group: str, state: StateView) -> float | None:
    """What drives the fuel of a group, Pa: pressure over the fuel less that at the nozzles, in the booster throats."""
    bowl, throat = f"{group}.bowl", f"{group}.{NOZZLES}"
    if throat not in ground.network.spaces or not ground.is_point(bowl, state):
        return None
    return ground.range_of(bowl, state)[0] - ground.range_of(throat, state)[0]


def _valves(ground: Ground, group: str, state: StateView) -> tuple[ValveState, ...]:
    return tuple(valve_in(ground, each, valve, state) for each, valve in enrichers(ground) if each.feeds == group)


def effect(before: Ground, after: Ground, group: str, state: StateView) -> str | None:
    """Leaner, richer or the same; None where it is not decided. What drives the fuel and what the valve does decide."""
    drives = _drive(before, group, state), _drive(after, group, state)
    valves = _valves(before, group, state), _valves(after, group, state)
    was, now = drives
    if was is None or now is None or was <= 0.0 or len(valves[0]) != len(valves[1]):
        return None
    if ValveState.undecided in (*valves[0], *valves[1]):
        return None
    votes = {0}
    if abs(now - was) > CLEAR_SHARE * was:
        votes.add(1 if now > was else -1)
    elif abs(now - was) > ALIKE_SHARE * was:
        return None
    for old, new in zip(*valves, strict=True):
        if old is not new:
            votes.add(1 if new is ValveState.open else -1)
    total = sum(votes)
    if total == 0 and votes != {0}:
        return None
    return {1: RICHER, -1: LEANER, 0: SAME}[total]


def _mixture(ground: Ground, group: str, state: StateView, item: str, form: str) -> Draft | None:
    after = ground.with_change(item, form)
    found = effect(ground, after, group, state)
    if found is None:
        return None
    ways = [way.name for way in ground.ways_of_item[item]]
    ends = [end for way in ground.ways_of_item[item] for end in (way.a, way.b)]
    bowl = f"{group}.bowl"
    if found == SAME and not _is_near(after, group, ends):
        return None
    why, spaces, shown = after.why_pressure(bowl, state)
    end = f"{_valve_text(ground, after, group, state)}{_becomes(after, group, state, found)}"
    before, now = (here.range_of(bowl, state)[0] for here in (ground, after))
    text = (
        f"over the fuel it was {kpa(before)} and is {kpa(now)} afterwards, against "
        f"{ground.pressure(f'{group}.{NOZZLES}', state)} at the nozzles, in the booster throats"
    )
    return Draft(
        kind="mixture",
        question=f"Suppose this is changed - {ground.change(item, form)}. {sentence(state.title)}: what becomes of the "
        f"mixture of the {group} barrels?",
        subject=f"{item}={form}",
        sort=found,
        right=found,
        wrong=tuple(each for each in (LEANER, RICHER, SAME) if each != found),
        because=f"{sentence(text)}: {why}. {end}",
        level=3 if found != SAME else 2,
        state=state.name,
        changes={item: form},
        about={"spaces": [bowl], "ways": ways},
        shows={"spaces": spaces, "ways": list(dict.fromkeys([*shown, *ways]))},
    )


def _becomes(after: Ground, group: str, state: StateView, found: str) -> str:
    drive = _drive(after, group, state)
    starves = found == LEANER and drive is not None and drive <= 0.0
    return "So nothing pushes fuel up any more, and it gets far too lean." if starves else BECOMES[found]


def _is_near(ground: Ground, group: str, ends: Iterable[str]) -> bool:
    """Whether a change touches the bowl, or what a diaphragm of the group borders, so that it is worth asking."""
    sides = {f"{group}.bowl"}
    for each in ground.network.diaphragms.values():
        if each.feeds == group or each.first == f"{group}.bowl":
            sides |= {each.first, each.second}
    beside = {way.other(side) for side in sides if not ground.network.spaces[side].source
              for way in ground.network.ways_of[side] if way.exists(ground.configuration)}  # fmt: skip
    return not (sides | {name for name in beside if not ground.network.spaces[name].source}).isdisjoint(ends)


def _valve_text(before: Ground, after: Ground, group: str, state: StateView) -> str:
    parts = []
    for (each, valve), (_, changed) in zip(enrichers(before), enrichers(after), strict=False):
        if each.feeds != group:
            continue
        was, now = valve_in(before, each, valve, state), valve_in(after, each, changed, state)
        chamber = each.second if each.first.endswith(".bowl") else each.first
        why = after.why_pressure(chamber, state)[0]
        stays = f"is {now.value} as before" if was is now else f"was {was.value} and is {now.value} now"
        parts.append(f"The {title_of_valve(before, each)} {stays}: {why}. {setting_text(before, each, valve)} ")
    return "".join(parts)


# --- what cures a finding ----------------------------------------------------------------------------------------

NOT_ASKED = frozenset({"form", "looked_at", "suits_fuel", "margin", "area_ratio", "mixture"})
"""Kinds of requirement whose cure the title gives away, or that no such change cures."""


def cures(ground: Ground, rng: Random) -> Iterator[Draft]:
    """Which single change of four puts a finding right."""
    judge = ground.bench.judge
    healthy = judge.each(ground.configuration)
    found = [
        (index, judged[0].finding)
        for index, judged in enumerate(healthy)
        if judged and judged[0].finding.blocks and judge.instances[index].rule.requirement.kind not in NOT_ASKED
    ]
    for index, finding in shuffled(rng, found):
        draft = _cures(ground, index, finding, rng)
        if draft is not None:
            yield draft


def _cures(ground: Ground, index: int, finding: Finding, rng: Random) -> Draft | None:
    judge = ground.bench.judge
    scope = judge.scope(index)
    place = finding.place.partition(".")[0]
    items = ground.network.items.values()
    kin = [item.name for item in items if item.name.startswith(f"{place}.") and item.kind != "material"]
    curing: list[tuple[str, str]] = []
    vain: list[tuple[str, str]] = []
    for item, form in ground.offered(dict.fromkeys([*scope, *kin])):
        fails = judge.fails(index, {**ground.configuration, item: form})
        (vain if fails else curing).append((item, form))
    vain = [each for each in shuffled(rng, vain) if each[0] not in {item for item, _ in curing}]
    apart = list({item: (item, form) for item, form in vain}.values())
    if not curing or len(apart) < CHOICES - 1:
        return None
    near = sorted(apart, key=lambda each: (not each[0].startswith(f"{place}."), each[0] not in scope))
    right = rng.choice(curing)
    witness = finding.witness
    return Draft(
        kind="cure",
        question=f'This stands: "{finding.title}" ({finding.place_title}). Which one of these changes alone puts it '
        "right?",
        subject=f"{finding.rule}|{finding.place}",
        sort="cure",
        right=ground.change(*right),
        wrong=tuple(ground.change(*each) for each in near[: CHOICES - 1]),
        because=f"{finding.remedy}{_shown(ground, finding)} With the others the rule stays broken.",
        level=2,
        state=finding.state,
        about={"spaces": [step.into for step in witness.path], "ways": [step.way for step in witness.path]},
        shows=_of_witness(witness),
    )


def _shown(ground: Ground, finding: Finding) -> str:
    """The path and the pressures that show a finding, in words."""
    witness = finding.witness
    path = f" The path: {ground.path(witness.start, witness.path)}." if witness.start and witness.path else ""
    readings = ", ".join(
        f"in {ground.the(each.space)} {pressure_text(each.low_pa_abs, each.high_pa_abs)}" for each in witness.readings
    )
    return f"{path} Pressures: {readings}." if readings else path


def _of_witness(witness: Witness) -> dict[str, list[str]]:
    spaces = [*(step.into for step in witness.path), *(reading.space for reading in witness.readings)]
    return {"spaces": list(dict.fromkeys(spaces)), "ways": [step.way for step in witness.path]}


# --- what comes of a fault, or of a change left out --------------------------------------------------------------


def follows(ground: Ground, rng: Random) -> Iterator[Draft]:
    """What follows from a single failure."""
    faults = [(each.item, each.form) for each in faults_of(ground.network, ground.configuration)]
    yield from _consequences(ground, shuffled(rng, faults), rng, kind="follows", words="Suppose this happens")


def left_out(ground: Ground, rng: Random) -> Iterator[Draft]:
    """What comes back if one change of the plan is not made."""
    if ground.asked.base != PLANNED:
        return
    found = ground.network.found()
    base = ground.study.base(ground.asked)
    made = [item for item in base if base[item] != found[item] and ground.configuration[item] == base[item]]
    undone = [(item, found[item]) for item in made if ground.network.items[item].is_there(ground.configuration)]
    words = "Suppose you leave one change out, and this stays as it was"
    yield from _consequences(ground, shuffled(rng, undone), rng, kind="left_out", words=words)


def _consequences(
    ground: Ground, changes: list[tuple[str, str]], rng: Random, *, kind: str, words: str
) -> Iterator[Draft]:
    judge = ground.bench.judge
    healthy = judge.each(ground.configuration)
    pool: dict[str, str] = {rule.id: rule.title for rule in judge.rules if rule.severity in ("stop", "fix")}
    given_away = {rule.id for rule in judge.rules if rule.requirement.kind in NOT_ASKED}
    for item, form in changes:
        after = judge.each_with(healthy, {**ground.configuration, item: form}, item)
        new = _new(healthy, after)
        new = [each for each in new if each.rule not in given_away]
        if not new:
            continue
        broken = {each.title for each in findings_in(after)}
        wrong = sorted({title for rule, title in pool.items() if title not in broken and rule not in given_away})
        if len(wrong) >= CHOICES - 1:
            yield _consequence(ground, kind, words, (item, form), new, rng.sample(wrong, CHOICES - 1))


def _new(healthy: Judged, after: Judged) -> list[Finding]:
    """Blocking findings of rules that nothing broke before, the worst first."""
    rules = {finding.rule for finding in findings_in(healthy)}
    return [each for each in findings_in(after) if each.blocks and each.rule not in rules]


def _consequence(
    ground: Ground, kind: str, words: str, change: tuple[str, str], new: list[Finding], wrong: list[str]
) -> Draft:
    item, form = change
    worst = new[0]
    witness = worst.witness
    title = {state.name: state.title for state in ground.view.states}
    where = f"{worst.place_title} {worst.statement}".strip()
    in_state = f" Worst in the state '{title[worst.state]}'." if worst.state in title else ""
    return Draft(
        kind=kind,
        question=f"{words} - {_as_found(ground, item, form)}. Which of these follows?",
        subject=item,
        sort=worst.rule,
        right=worst.title,
        wrong=tuple(wrong),
        because=f"{sentence(where)}.{in_state}{_shown(ground, worst)}",
        level=2,
        state=worst.state,
        changes={item: form},
        about={"ways": [way.name for way in ground.ways_of_item.get(item, ())]},
        shows=_of_witness(witness),
    )


def _as_found(ground: Ground, item: str, form: str) -> str:
    found = ground.network.items[item]
    return f"{found.title}: {found.forms[form].title}"
