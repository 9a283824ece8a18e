"""Questions on what a space holds, and on where fuel goes when a diaphragm tears."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from random import Random

from boostcarb.board.lesson.drafting import Draft, shuffled
from boostcarb.board.lesson.ground import Ground, sentence
from boostcarb.faults.catalogue import Fault, FaultKind
from boostcarb.faults.spill import Spill, spills
from boostcarb.network.latent import TEAR
from boostcarb.network.model import AMBIENT, TORN, Diaphragm
from boostcarb.solving.contents import Content
from boostcarb.solving.situation import StateView

WORDS = {
    Content.air: "air",
    Content.vapor: "fuel vapor",
    Content.mixture: "mixture",
    Content.liquid_fuel: "liquid fuel",
    Content.exhaust: "burnt gas",
    Content.crankcase_gas: "crankcase gas",
}
COMMON = (
    (Content.air,), (Content.air, Content.vapor), (Content.air, Content.mixture),
    (Content.air, Content.vapor, Content.liquid_fuel), (Content.air, Content.vapor, Content.mixture),
    (Content.air, Content.crankcase_gas),
)  # fmt: skip
CHOICES = 4


def holds(ground: Ground, rng: Random) -> Iterator[Draft]:
    """What can be in a space in a state: whatever was shut in, flows in or breathes in."""
    spaces = [
        name
        for name, space in ground.network.spaces.items()
        if space.holds == "air" and name != AMBIENT and ground.is_in_use(name)
    ]
    states = [state for state in ground.drive if state.running]
    for space, state in shuffled(rng, [(space, state) for space in spaces for state in states]):
        yield _holds(ground, space, state, rng)


def _almost(now: tuple[Content, ...]) -> list[tuple[Content, ...]]:
    """What is not quite what a space holds: one thing more or less, or what is common; at least three."""
    extra = (Content.vapor, Content.mixture, Content.crankcase_gas)
    less = [tuple(each for each in now if each is not gone) for gone in now if gone is not Content.air]
    more = [tuple(each for each in Content if each in now or each is new) for new in extra if new not in now]
    wrong = dict.fromkeys((*less, *more))
    wrong.update(dict.fromkeys(COMMON if len(wrong) < CHOICES - 1 else ()))
    return [each for each in wrong if each and set(each) != set(now)]


def contents_text(contents: Iterable[Content]) -> str:
    """What is in a space, in words."""
    words = [WORDS[each] for each in Content if each in tuple(contents)]
    if words == ["air"]:
        return "air and nothing else"
    return f"{', '.join(words[:-1])} and {words[-1]}" if words[1:] else f"{words[0]} and nothing else"


def _holds(ground: Ground, space: str, state: StateView, rng: Random) -> Draft:
    now = ground.view.contents.of(space, state.name)
    near = shuffled(rng, _almost(now))[: CHOICES - 1]
    lines, spaces, ways = [], [space], []
    for content in (each for each in now if each is not Content.air):
        origin = next(ground.view.contents.origins(space, [content], [state.name]))
        if origin.path:
            lines.append(f"{WORDS[content]} comes by {ground.path(origin.start, origin.path)}")
            spaces += [origin.start, *(step.into for step in origin.path)]
            ways += [step.way for step in origin.path if step.way in ground.ways]
        else:
            lines.append(f"{WORDS[content]} is there of itself")
    text = "; ".join(lines)
    if not lines:
        text = f"{ground.why_pressure(space, state)[0]}; no open way lets anything but air in"
    plain = now == (Content.air,)
    return Draft(
        kind="holds",
        question=f"{sentence(state.title)}: what can be in here: {ground.the(space)}? (There is always the air that it "
        "was closed with.)",
        subject=space,
        sort="air" if plain else "more",
        right=contents_text(now),
        wrong=tuple(contents_text(each) for each in near),
        because=f"{sentence(text)}.",
        level=2 if plain else 3,
        state=state.name,
        about={"spaces": [space]},
        shows={"spaces": list(dict.fromkeys(spaces)), "ways": list(dict.fromkeys(ways))},
    )


# --- tears -------------------------------------------------------------------------------------------------------


def tears(ground: Ground, rng: Random) -> Iterator[Draft]:
    """Where the fuel goes first when a diaphragm tears."""
    for diaphragm in shuffled(rng, ground.network.diaphragms.values()):
        there = diaphragm.exists(ground.configuration) and not diaphragm.is_torn(ground.configuration)
        if there and diaphragm.wets is not None and diaphragm.tear is not None:
            draft = _tear(ground, diaphragm, rng)
            if draft is not None:
                yield draft


def _tear(ground: Ground, diaphragm: Diaphragm, rng: Random) -> Draft | None:
    tear = f"{diaphragm.name}{TEAR}"
    torn = ground.with_change(tear, TORN)
    fault = Fault(tear, TORN, FaultKind.torn, diaphragm.title)
    found = [each for each in spills(torn.view, fault) if not each.backward]
    order = {state.name: index for index, state in enumerate(ground.drive)}
    titles = {state.name: state.title for state in ground.drive}
    if any(not each.states for each in found):
        return None
    if not found:
        right = NOWHERE
        because = (
            f"behind the {diaphragm.title} lies {ground.the(diaphragm.dry)}, and no open way leads on from there to "
            "where the pressure is lower in any state"
        )
        sinks = shuffled(rng, ["manifold", AMBIENT, "air_horn"])
        wrong = [_runs(ground, sink, titles[state]) for sink, state in zip(sinks, _some(ground, rng), strict=False)]
        shown: Spill | None = None
    else:
        first = min(order[each.states[0]] for each in found)
        soonest = [each for each in found if order[each.states[0]] == first]
        if len(soonest) > 1:
            return None
        shown = soonest[0]
        right = _runs(ground, shown.into, titles[shown.states[0]])
        because = _why(torn, diaphragm, shown)
        wrong = _otherwise(ground, shown, rng)
    return Draft(
        kind="tear",
        question=f"The {diaphragm.title} tears. Where does fuel run through it, and in which state first?",
        subject=diaphragm.name,
        sort="nowhere" if shown is None else shown.into,
        right=right,
        wrong=tuple(wrong[: CHOICES - 1]),
        because=f"{sentence(because)}.",
        level=3,
        changes={tear: TORN},
        about={"diaphragms": [diaphragm.name], "spaces": [diaphragm.first, diaphragm.second]},
        shows={
            "spaces": [diaphragm.dry] if shown is None else [shown.start, *(step.into for step in shown.path)],
            "ways": [] if shown is None else [step.way for step in shown.path],
        },
    )


NOWHERE = "nowhere: no way leads on from the dry side to where the pressure is lower"


def _runs(ground: Ground, into: str, state: str) -> str:
    where = "outside" if into == AMBIENT else f"into {ground.the(into)}"
    return f"{where}, first in the state '{state}'"


def _some(ground: Ground, rng: Random) -> list[str]:
    return [state.name for state in rng.sample(list(ground.drive), CHOICES - 1)]


def _otherwise(ground: Ground, shown: Spill, rng: Random) -> list[str]:
    """Other places and other states; all wrong, as there is one first state and one place in it."""
    title = {state.name: state.title for state in ground.drive}
    sinks = [name for name in (AMBIENT, "manifold", "air_horn", "base") if name != shown.into]
    sink = rng.choice([name for name in sinks if name in ground.network.spaces])
    other = rng.choice([state.name for state in ground.drive if state.name != shown.states[0]])
    return [
        _runs(ground, shown.into, title[other]),
        _runs(ground, sink, title[shown.states[0]]),
        _runs(ground, sink, title[other]),
    ]


def _why(torn: Ground, diaphragm: Diaphragm, shown: Spill) -> str:
    state = next(state for state in torn.drive if state.name == shown.states[0])
    wet = torn.pressure(shown.start, state)
    goal = torn.pressure(shown.into, state)
    return (
        f"through the tear fuel gets into {torn.the(diaphragm.dry)} and runs on by "
        f"{torn.path(shown.start, shown.path)}. First in the state '{state.title}': {wet} over the fuel and its head "
        f"push it to where there is {goal}"
    )
