"""Questions on pressures: which is higher, what a space feels, which way a diaphragm moves, what a valve does."""

from __future__ import annotations

from collections.abc import Iterator
from fnmatch import fnmatchcase
from itertools import combinations
from random import Random

from boostcarb.board.lesson.drafting import Draft, shuffled
from boostcarb.board.lesson.ground import ALIKE_PA, CLEAR_PA, Ground, kpa, sentence
from boostcarb.network.model import AMBIENT, Diaphragm, Valve
from boostcarb.solving.diaphragms import ValveState, difference, valve_state
from boostcarb.solving.pressures import Nature
from boostcarb.solving.situation import StateView

DULL = ("exhaust_heat", "fuel_line", "cabin_gauge", "*.booster_throat", "crankcase", "distributor")
"""Spaces of which a pressure teaches nothing about the carburetor."""

SAME = "the same in both"
CHOICES = 4


def worth_asking(ground: Ground) -> list[str]:
    """Spaces whose pressure is worth a question: with air in them, part of the carburetor or its signals."""
    spaces = ground.network.spaces.values()
    return sorted(
        space.name
        for space in spaces
        if space.holds in ("air", "mixture")
        and ground.is_in_use(space.name)
        and not any(fnmatchcase(space.name, pattern) for pattern in DULL)
    )


# --- which of two ------------------------------------------------------------------------------------------------


def higher(ground: Ground, rng: Random) -> Iterator[Draft]:
    """Which of two spaces has the higher pressure; at least one of them is no source."""
    across = {frozenset((each.first, each.second)) for each in ground.network.diaphragms.values()}
    pairs = [
        (one, other)
        for one, other in combinations(worth_asking(ground), 2)
        if not (ground.network.spaces[one].source and ground.network.spaces[other].source)
    ]
    near = [pair for pair in pairs if frozenset(pair) in across]
    for pair in [*shuffled(rng, near), *shuffled(rng, pairs)]:
        for state in shuffled(rng, ground.drive)[:4]:
            one, other = pair if rng.random() < 0.5 else pair[::-1]
            order = ground.compared(one, other, state)
            if order is not None:
                yield _higher(ground, one, other, state, order)
                break


def _higher(ground: Ground, one: str, other: str, state: StateView, order: int) -> Draft:
    texts = [ground.the(one), ground.the(other), SAME]
    right = SAME if order == 0 else texts[0] if order > 0 else texts[1]
    (why_one, spaces, ways), (why_other, more_spaces, more_ways) = (
        ground.why_pressure(each, state) for each in (one, other)
    )
    end = "So both have the same." if order == 0 else f"So the pressure is higher in {right}."
    source = any(ground.network.spaces[each].source for each in (one, other))
    return Draft(
        kind="higher",
        question=f"{sentence(state.title)}: where is the pressure higher, in {texts[0]} or in {texts[1]}?",
        subject="|".join(sorted((one, other))),
        sort="same" if order == 0 else "differs",
        right=right,
        wrong=tuple(text for text in texts if text != right),
        because=f"{sentence(why_one)}. {sentence(why_other)}. {end}",
        level=1 if source else 2,
        state=state.name,
        about={"spaces": [one, other]},
        shows={"spaces": list(dict.fromkeys(spaces + more_spaces)), "ways": list(dict.fromkeys(ways + more_ways))},
    )


# --- what a space feels ------------------------------------------------------------------------------------------

OFFERED = ("air_horn", "base", "manifold", AMBIENT, "compressor_outlet", "compressor_inlet", "*.venturi_throat")
SEALED = "none of the sources: it is sealed and keeps what was shut in"
BETWEEN = "something between two sources, as it is open to both"


def feels(ground: Ground, rng: Random) -> Iterator[Draft]:
    """Which source sets the pressure of a space."""
    spaces = [space for space in worth_asking(ground) if not ground.network.spaces[space].source]
    asked = [(space, state) for space in spaces for state in ground.drive]
    for space, state in shuffled(rng, asked):
        draft = _feels(ground, space, state, rng)
        if draft is not None:
            yield draft


def sources(ground: Ground) -> list[str]:
    """Sources that a person could name."""
    names = ground.network.spaces
    return [name for name in names if names[name].source and any(fnmatchcase(name, each) for each in OFFERED)]


def _feels(ground: Ground, space: str, state: StateView, rng: Random) -> Draft | None:
    nature = ground.nature(space)
    feeds = ground.feeds(space, state)
    apart = [name for name in sources(ground) if ground.compared(space, name, state) in (1, -1)]
    if nature is Nature.sealed:
        right, sort, wrong = SEALED, "sealed", [name for name in sources(ground) if name not in feeds]
    elif nature is Nature.tied and ground.is_point(space, state):
        setting = [name for name in feeds if _alike(ground, space, name, state)]
        if setting and setting[0] in sources(ground):
            right, sort, wrong = _source_text(ground, setting[0], state), setting[0], apart
        elif len(feeds) > 1 and len(apart) == len(sources(ground)):
            right, sort, wrong = BETWEEN, "between", apart
        else:
            return None
    else:
        return None
    others = [_source_text(ground, name, state) for name in shuffled(rng, wrong)]
    wrongs = list(dict.fromkeys([*others[: CHOICES - 2], *(each for each in (SEALED,) if each != right)]))
    if len(wrongs) < 2:
        return None
    why, shown, ways = ground.why_pressure(space, state)
    against = [f"in {ground.the(name)} {ground.pressure(name, state)}" for name in shuffled(rng, apart)[:2]]
    return Draft(
        kind="feels",
        question=f"{sentence(state.title)}: which pressure does {ground.the(space)} feel?",
        subject=space,
        sort=sort,
        right=right,
        wrong=tuple(wrongs[: CHOICES - 1]),
        because=". ".join([sentence(why), *([f"For comparison: {' and '.join(against)}"] if against else [])]) + ".",
        level=1 if sort == "sealed" else 3 if sort == "between" or len(ways) > 2 else 2,
        state=state.name,
        about={"spaces": [space]},
        shows={"spaces": shown, "ways": ways},
    )


def _alike(ground: Ground, space: str, source: str, state: StateView) -> bool:
    a, b = ground.range_of(space, state), ground.range_of(source, state)
    return max(a[1], b[1]) - min(a[0], b[0]) < ALIKE_PA


def _source_text(ground: Ground, source: str, state: StateView) -> str:
    return f"that of {ground.the(source)}, {ground.pressure(source, state)}"


# --- diaphragms --------------------------------------------------------------------------------------------------

STAYS = "not at all: the pressures on both sides are the same"


def moves(ground: Ground, rng: Random) -> Iterator[Draft]:
    """Which way a diaphragm is pushed."""
    there = [each for each in ground.network.diaphragms.values() if each.exists(ground.configuration)]
    for diaphragm, state in shuffled(rng, [(each, state) for each in there for state in ground.drive]):
        order = ground.compared(diaphragm.first, diaphragm.second, state)
        if order is None or diaphragm.is_torn(ground.configuration):
            continue
        towards = [f"toward {ground.the(side)}" for side in (diaphragm.first, diaphragm.second)]
        right = STAYS if order == 0 else towards[1] if order > 0 else towards[0]
        why, spaces, ways = both_sides(ground, diaphragm, state)
        end = "nothing pushes it" if order == 0 else f"the higher pressure pushes it {right}"
        yield Draft(
            kind="moves",
            question=f"{sentence(state.title)}: which way does air pressure push the {diaphragm.title}?",
            subject=diaphragm.name,
            sort="stays" if order == 0 else "first" if order < 0 else "second",
            right=right,
            wrong=tuple(text for text in (*towards, STAYS) if text != right),
            because=f"{why}: {end}.",
            level=1,
            state=state.name,
            about={"diaphragms": [diaphragm.name], "spaces": [diaphragm.first, diaphragm.second]},
            shows={"spaces": spaces, "ways": ways},
        )


def both_sides(ground: Ground, diaphragm: Diaphragm, state: StateView) -> tuple[str, list[str], list[str]]:
    """Both pressures of a diaphragm with the reason for each, their difference, and what shows it."""
    (one, spaces, ways), (other, more_spaces, more_ways) = (
        ground.why_pressure(side, state) for side in (diaphragm.first, diaphragm.second)
    )
    across = difference(diaphragm, ground.configuration, ground.view.pressures, state.name)
    nearest, farthest = sorted((abs(across.low_pa), abs(across.high_pa)))
    if across.low_pa < 0.0 < across.high_pa:
        nearest = 0.0
    apart = kpa(farthest) if farthest - nearest < ALIKE_PA else f"{kpa(nearest)} to {kpa(farthest)}"
    text = f"{sentence(one)}. {sentence(other)}. Between them lie {apart}"
    return text, list(dict.fromkeys(spaces + more_spaces)), list(dict.fromkeys(ways + more_ways))


# --- enrichment valves -------------------------------------------------------------------------------------------

OPEN, SHUT = "open: it adds fuel", "shut: it adds no fuel"


def enrichers(ground: Ground) -> Iterator[tuple[Diaphragm, Valve]]:
    """Diaphragms that work an enrichment valve, with it."""
    for each in ground.network.diaphragms.values():
        valve = each.valve(ground.configuration) if each.exists(ground.configuration) else None
        if each.role == "enrichment" and valve is not None and not each.is_torn(ground.configuration):
            yield each, valve


def valve_in(ground: Ground, diaphragm: Diaphragm, valve: Valve, state: StateView) -> ValveState:
    """Open, shut or undecided; undecided also where it lies too near its setting to ask about."""
    across = difference(diaphragm, ground.configuration, ground.view.pressures, state.name)
    near = across.low_pa - CLEAR_PA / 2 < valve.setting_pa < across.high_pa + CLEAR_PA / 2
    return ValveState.undecided if near else valve_state(valve, across)


def title_of_valve(ground: Ground, diaphragm: Diaphragm) -> str:
    """What a person calls the valve of a diaphragm."""
    return ground.network.items[diaphragm.part].title if diaphragm.part else diaphragm.title


def valve_open(ground: Ground, rng: Random) -> Iterator[Draft]:
    """Whether an enrichment valve is open, as the board stands or with a signal line led elsewhere."""
    for diaphragm, valve in shuffled(rng, list(enrichers(ground))):
        changed = [ground.with_change(*each) for each in ground.offered(_signals(ground, diaphragm))]
        grounds = [ground, *shuffled(rng, changed)]
        asked = [(here, state) for here in grounds for state in ground.drive if state.running]
        for here, state in shuffled(rng, asked):
            is_now = valve_in(here, diaphragm, valve, state)
            if is_now is not ValveState.undecided:
                yield _valve_open(ground, here, diaphragm, valve, state, is_now)


def _signals(ground: Ground, diaphragm: Diaphragm) -> list[str]:
    """Lines that end near the chamber of an enrichment valve."""
    sides = {diaphragm.first, diaphragm.second}
    beside = sides | {way.other(side) for side in sides for way in ground.network.ways_of[side]}
    chambers = {name for name in beside if not ground.network.spaces[name].source}
    return sorted({way.item for way in ground.network.ways if way.kind == "line" and way.a in chambers})


def _valve_open(
    ground: Ground, here: Ground, diaphragm: Diaphragm, valve: Valve, state: StateView, is_now: ValveState
) -> Draft:
    title = title_of_valve(ground, diaphragm)
    changes = {item: form for item, form in here.configuration.items() if form != ground.configuration[item]}
    suppose = "".join(f"Suppose this is changed: {ground.change(*each)}. " for each in changes.items())
    why, spaces, ways = both_sides(here, diaphragm, state)
    right, wrong = (OPEN, SHUT) if is_now is ValveState.open else (SHUT, OPEN)
    return Draft(
        kind="valve",
        question=f"{suppose}{sentence(state.title)}: is the {title} open or shut?",
        subject=f"{diaphragm.name}|{state.name}|{bool(changes)}",
        sort=is_now.value,
        right=right,
        wrong=(wrong,),
        because=f"{why}. {setting_text(ground, diaphragm, valve)} So it is {is_now.value}.",
        level=3 if changes else 2,
        state=state.name,
        changes=changes,
        about={"diaphragms": [diaphragm.name], "spaces": [diaphragm.first, diaphragm.second]},
        shows={"spaces": spaces, "ways": ways},
    )


def setting_text(ground: Ground, diaphragm: Diaphragm, valve: Valve) -> str:
    """When a valve opens, in words."""
    high, low = ground.the(diaphragm.first), ground.the(diaphragm.second)
    if valve.setting_pa < 0:
        high, low = low, high
    # Turning both sides round turns the sense of the comparison round as well.
    below = valve.opens_below == (valve.setting_pa >= 0)
    word = "less" if below else "more"
    return f"The valve opens when {high} is {word} than {kpa(abs(valve.setting_pa))} above {low}."


def valve_states_of(ground: Ground, rng: Random) -> Iterator[Draft]:
    """In which one of some states an enrichment valve is open, or shut."""
    for diaphragm, valve in shuffled(rng, list(enrichers(ground))):
        by_now: dict[ValveState, list[StateView]] = {ValveState.open: [], ValveState.shut: []}
        for state in ground.drive:
            is_now = valve_in(ground, diaphragm, valve, state)
            if state.running and is_now in by_now:
                by_now[is_now].append(state)
        for wanted, other in shuffled(rng, [(ValveState.open, ValveState.shut), (ValveState.shut, ValveState.open)]):
            if len(by_now[other]) < CHOICES - 1:
                continue
            for state in shuffled(rng, by_now[wanted]):
                others = rng.sample(by_now[other], CHOICES - 1)
                yield _one_state(ground, diaphragm, valve, wanted, [state, *others])


def _one_state(
    ground: Ground, diaphragm: Diaphragm, valve: Valve, wanted: ValveState, states: list[StateView]
) -> Draft:
    lines = []
    for state in states:
        one, other = (ground.pressure(side, state) for side in (diaphragm.first, diaphragm.second))
        lines.append(f"{state.title}: {one} against {other}")
    right, *wrong = (state.title for state in states)
    over = f"{ground.the(diaphragm.first)} against {ground.the(diaphragm.second)}"
    title = title_of_valve(ground, diaphragm)
    return Draft(
        kind="valve_state",
        question=f"In which one of these states is the {title} {wanted.value}?",
        subject=f"{diaphragm.name}|{wanted.value}",
        sort=wanted.value,
        right=right,
        wrong=tuple(wrong),
        because=f"{setting_text(ground, diaphragm, valve)} {sentence(over)}: {'; '.join(lines)}. "
        f"Only in the state '{right}' it is {wanted.value}.",
        level=3,
        about={"diaphragms": [diaphragm.name], "spaces": [diaphragm.first, diaphragm.second]},
        shows={"spaces": [diaphragm.first, diaphragm.second]},
    )
