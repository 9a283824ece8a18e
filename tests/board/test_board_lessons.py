"""Lessons: every question is answered a second time from the network and its pressures, the wrong choices as well."""

from __future__ import annotations

import re
from collections import Counter, deque
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

import pytest
from bench_by_hand import JOBS, Bed, few, opened, places, study_of

from boostcarb.bench import Bench
from boostcarb.board.answer import answer_record
from boostcarb.board.lesson.questions import KINDS, lesson_record
from boostcarb.board.study import Asked, Study
from boostcarb.checks.parting import BenchStage
from boostcarb.errors import BadDescription
from boostcarb.fueling.mixture import Point
from boostcarb.network.model import Diaphragm, Way

SEEDS = 51
STILL_PA, APART_PA, HEAD_PA = 50.0, 1000.0, 300.0
NAMES = {"air": "air", "fuel vapor": "vapor", "mixture": "mixture", "liquid fuel": "liquid_fuel",
         "burnt gas": "exhaust", "crankcase gas": "crankcase_gas"}  # fmt: skip


@dataclass(frozen=True)
class Marked:
    """One question with what it takes to answer it again."""

    study: Study
    asked: Asked
    question: dict

    @property
    def bench(self) -> Bench:
        return self.study.bench(self.asked.mode)

    @property
    def right(self) -> str:
        return next(each["text"] for each in self.question["choices"] if each["id"] == self.question["right"])

    @property
    def wrong(self) -> list[str]:
        return [each["text"] for each in self.question["choices"] if each["id"] != self.question["right"]]

    @property
    def base(self) -> dict[str, str]:
        return self.study.configuration(self.asked)

    @property
    def changed(self) -> dict[str, str]:
        return {**self.base, **self.question["changes"]}

    @property
    def diaphragm(self) -> Diaphragm:
        return self.bench.network.diaphragms[self.question["about"]["diaphragms"][0]]

    @cached_property
    def state(self) -> str:
        return self.question["state"]

    @cached_property
    def drive(self) -> list:
        return [state for state in self.bench.view(self.base).states if not state.event]

    def pressure(self, space: str, state: str, configuration: Mapping[str, str] | None = None) -> tuple[float, float]:
        return self.bench.view(configuration or self.changed).pressures.range_of(space, state)

    def order(self, one: str, other: str) -> int | None:
        """1 where the first is clearly higher, -1 where the other is, 0 where they are one; None: not to be asked."""
        a, b = self.pressure(one, self.state), self.pressure(other, self.state)
        if abs(a[0] - b[0]) < STILL_PA and abs(a[1] - b[1]) < STILL_PA and a[1] - a[0] < STILL_PA:
            return 0
        return 1 if a[0] > b[1] + APART_PA else -1 if b[0] > a[1] + APART_PA else None

    def the(self, space: str) -> str:
        return f"the {self.bench.network.title_of(space)}"

    def valve(self, each: Diaphragm, state: str, configuration: Mapping[str, str]) -> str | None:
        """Open or shut by the numbers of the valve; None where it is too near its setting to tell."""
        valve = each.valves[configuration[each.part or ""]]
        first, second = (self.pressure(side, state, configuration) for side in (each.first, each.second))
        least, most = first[0] - second[1], first[1] - second[0]
        if most < valve.setting_pa - valve.spread_pa:
            return "open" if valve.opens_below else "shut"
        if least > valve.setting_pa + valve.spread_pa:
            return "shut" if valve.opens_below else "open"
        return None

    def is_open(self, way: Way, state: str, configuration: Mapping[str, str]) -> bool:
        """Whether air passes a way in a state, whichever direction."""
        if way.carries != "air" or any(configuration[item] not in forms for item, forms in way.conditions):
            return False
        if way.gate is None:
            return True
        level = way.gate.level_pa
        if way.gate.level_is_gauge:
            level += self.pressure("ambient", state, configuration)[0]
        return (self.pressure(way.gate.senses, state, configuration)[0] > level) == way.gate.open_above

    def reached(self, start: str, state: str, configuration: Mapping[str, str], *, into: bool) -> set[str]:
        """Sources that air comes from to a space, or that it gets to with `into`; through spaces that are no source."""
        spaces = self.bench.network.spaces
        found: set[str] = set()
        seen, queue = {start}, deque([start])
        while queue:
            here = queue.popleft()
            for way in self.bench.network.ways:
                if here not in (way.a, way.b) or not self.is_open(way, state, configuration):
                    continue
                one_way = way.one_way or (way.inline is not None and configuration[way.inline] == "one_way_valve")
                if one_way and (way.a == here) != into:
                    continue
                end = way.b if way.a == here else way.a
                if spaces[end].source:
                    found.add(end)
                elif end not in seen:
                    seen.add(end)
                    queue.append(end)
        return found

    def titles(self, configuration: Mapping[str, str]) -> list[str]:
        return [finding.title for finding in self.bench.findings(configuration)]


# --- each kind answered again --------------------------------------------------------------------------------------


def valve(each: Marked) -> None:
    now = each.valve(each.diaphragm, each.state, each.changed)
    assert now is not None
    assert each.right.startswith(now)
    assert not any(text.startswith(now) for text in each.wrong)


def valve_state(each: Marked) -> None:
    wanted = "open" if each.question["question"].endswith("open?") else "shut"
    names = {state.title: state.name for state in each.drive}
    assert each.valve(each.diaphragm, names[each.right], each.base) == wanted
    others = {each.valve(each.diaphragm, names[text], each.base) for text in each.wrong}
    assert others == {"shut" if wanted == "open" else "open"}


def moves(each: Marked) -> None:
    order = each.order(each.diaphragm.first, each.diaphragm.second)
    toward = {1: each.the(each.diaphragm.second), -1: each.the(each.diaphragm.first)}
    assert order is not None
    if order == 0:
        assert each.right.startswith("not at all")
    else:
        assert each.right == f"toward {toward[order]}"


def higher(each: Marked) -> None:
    one, other = each.question["about"]["spaces"]
    order = each.order(one, other)
    assert each.right == {1: each.the(one), -1: each.the(other), 0: "the same in both"}[order]
    assert sorted([each.right, *each.wrong]) == sorted([each.the(one), each.the(other), "the same in both"])


def feels(each: Marked) -> None:
    (space,) = each.question["about"]["spaces"]
    names = {title: name for name in each.bench.network.spaces if (title := each.the(name))}
    low, high = each.pressure(space, each.state)
    feeding = each.reached(space, each.state, each.base, into=False)
    for text in (each.right, *each.wrong):
        said = re.fullmatch(r"that of (.*), ([\d.]+) kPa", text)
        if said is not None:
            source = names[said[1]]
            there = each.pressure(source, each.state)[0]
            assert float(said[2]) == pytest.approx(there / 1000, abs=0.051)
            holds = source in feeding and max(abs(low - there), abs(high - there)) < STILL_PA
        elif text.startswith("something between"):
            fed = [each.pressure(source, each.state)[0] for source in feeding]
            holds = len(fed) > 1 and min(fed) + APART_PA < low <= high < max(fed) - APART_PA
        else:
            out = each.reached(space, each.state, each.base, into=True)
            holds = not feeding and not out
        assert holds == (text == each.right), text


def holds(each: Marked) -> None:
    """Against what the board shows for the same state: the words are checked here, the rest in tests/solving."""
    (space,) = each.question["about"]["spaces"]
    shown = answer_record(each.study, each.asked)["states"][each.state]["contents"][space]
    said = {text: {NAMES[word] for word in re.split(", | and ", text) if word != "nothing else"}
            for text in (each.right, *each.wrong)}  # fmt: skip
    assert said[each.right] == set(shown)
    assert all(said[text] != set(shown) for text in each.wrong)


def parted(each: Marked, stages: Iterable[BenchStage]) -> BenchStage:
    """The stage on the bench with the castings off that a question names: a lid may be off before the carburetor is."""
    said = re.match(r"On the bench the castings are parted \((.*) off\); you spray ", each.question["question"])
    assert (said is None) == each.question["question"].startswith("The carburetor lies on the bench in one piece, ")
    named = said[1] if said is not None else ""
    titles = each.bench.network.castings
    (stage,) = [one for one in stages if not one.on_engine and ", ".join(titles[off] for off in one.off) == named]
    return stage


def spray(each: Marked) -> None:
    network, stages = opened(each.bench)
    stage = parted(each, stages.values())
    said = re.search(r"cleaner in at the (.*)\. Where", each.question["question"])
    assert said is not None
    (hole,) = [hole.name for hole in stage.holes.values() if hole.title == said[1]]
    exits = Bed(network, stage, each.base, "spray", (hole,), ()).seen()
    titles = " and ".join(f"at the {stage.holes[name].title}" for name in exits)
    assert each.right == titles if exits else each.right.startswith("nowhere")
    assert all(text != titles for text in each.wrong)


def mixture(each: Marked) -> None:
    """Leaner or richer as the pressure over the fuel falls or rises against the throats, or the valve turns."""
    said = re.search(r"mixture of the (\w+) barrels", each.question["question"])
    assert said is not None
    group, configurations = said[1], (each.base, each.changed)
    drives = [
        each.pressure(f"{group}.bowl", each.state, configuration)[0]
        - each.pressure(f"{group}.booster_throat", each.state, configuration)[0]
        for configuration in configurations
    ]
    valves = []
    for diaphragm in each.bench.network.diaphragms.values():
        if diaphragm.feeds == group and each.base[diaphragm.part or ""] in diaphragm.valves:
            was, now = (each.valve(diaphragm, each.state, configuration) for configuration in configurations)
            assert was is not None and now is not None  # noqa: PT018
            valves.append(0 if was == now else 1 if now == "open" else -1)
    shift = drives[1] / drives[0] - 1
    votes = {*valves, 0 if abs(shift) < 0.003 else 1 if shift > 0.04 else -1 if shift < -0.04 else None} - {0}
    assert len(votes) <= 1
    assert each.right == {1: "richer", -1: "leaner", 0: "the same"}[votes.pop() if votes else 0]
    assert sorted([each.right, *each.wrong]) == ["leaner", "richer", "the same"]
    predicted = [each.bench.fuel.mixtures(configuration, group).get(each.state) for configuration in configurations]
    points = [None if found is None else found.leanest for found in predicted]
    if points[0] is not None and points[1] is not None and holes(points[0]) == holes(points[1]):
        was, now = (point.mixture for point in points)
        same = abs(now / was - 1) < 0.003
        assert each.right == ("the same" if same else "leaner" if now > was else "richer")


def holes(point: Point) -> tuple[float, ...]:
    """What is drilled: sizes not given are fitted to a configuration, and then the mixtures are of other jets."""
    return point.main_area_m2, point.power_area_m2, point.bleed_area_m2, point.nozzle_area_m2


def tear(each: Marked) -> None:
    diaphragm = each.diaphragm
    assert each.question["changes"] == {**each.asked.changes, f"{diaphragm.name}.tear": "torn"}
    runs: dict[str, list[str]] = {}
    for state in each.drive:
        for sink in each.reached(diaphragm.dry, state.name, each.changed, into=True):
            pushed = each.pressure(diaphragm.wets, state.name)[1] + HEAD_PA > each.pressure(sink, state.name)[0]
            if pushed or diaphragm.wets == "fuel_line":
                runs.setdefault(state.name, []).append(sink)
    titles = {state.name: state.title for state in each.drive}
    if not runs:
        assert each.right.startswith("nowhere")
        return
    first = next(state.name for state in each.drive if state.name in runs)
    (sink,) = runs[first]
    where = "outside" if sink == "ambient" else f"into {each.the(sink)}"
    assert each.right == f"{where}, first in the state '{titles[first]}'"
    assert each.right not in each.wrong


def cure(each: Marked) -> None:
    said = re.fullmatch(r'This stands: "(.*)" \((.*)\)\. Which one .*', each.question["question"])
    assert said is not None
    items = each.bench.network.items
    words = {
        f"{item.title}: {form.title} instead of {item.forms[each.base[name]].title}": (name, key)
        for name, item in items.items()
        for key, form in item.forms.items()
        if key != each.base[name]
    }

    def stands(configuration: Mapping[str, str]) -> bool:
        return any((f.title, f.place_title) == said.groups() for f in each.bench.findings(configuration))

    assert stands(each.base)
    for text in (each.right, *each.wrong):
        item, form = words[text]
        assert stands({**each.base, item: form}) == (text != each.right), text


def follows(each: Marked) -> None:
    before, after = each.titles(each.base), each.titles(each.changed)
    assert each.right in after
    assert each.right not in before
    assert not set(each.wrong) & set(after)


CHECKS: dict[str, Callable[[Marked], None]] = {
    "valve": valve, "valve_state": valve_state, "moves": moves, "higher": higher, "feels": feels, "holds": holds,
    "spray": spray, "mixture": mixture, "tear": tear, "cure": cure, "follows": follows, "left_out": follows,
}  # fmt: skip


def marked(job: str, mode: str, base: str, seed: int, count: int) -> list[Marked]:
    asked = Asked(mode, base, {})
    record = lesson_record(study_of(job), asked, seed=seed, count=count)
    assert (record["seed"], record["mode"], record["base"]) == (seed, mode, base)
    return [Marked(study_of(job), asked, question) for question in record["questions"]]


@pytest.mark.parametrize("job", JOBS)
def test_every_answer_is_right_and_every_other_choice_wrong(job: str) -> None:
    for number, (mode, base) in enumerate(places(job)):
        for seed in few(SEEDS, job, number, 3):
            for each in marked(job, mode, base, seed, 24):
                CHECKS[each.question["kind"]](each)


@pytest.mark.parametrize("job", JOBS)
def test_lessons_are_well_formed(job: str) -> None:
    for number, (mode, base) in enumerate(places(job)):
        (seed,) = few(SEEDS, job, number, 1)
        lesson = marked(job, mode, base, seed, 24)
        network = study_of(job).bench(mode).network
        ways = {way.name for way in network.ways}
        assert len(lesson) == 24
        assert len({each.question["question"] for each in lesson}) == 24
        assert [each.question["id"] for each in lesson] == [f"q{number}" for number in range(1, 25)]
        for each in lesson:
            question = each.question
            texts = [choice["text"] for choice in question["choices"]]
            assert 2 <= len(set(texts)) == len(texts)
            assert question["because"].endswith(".")
            assert None not in question.values()
            for shown in (question["about"], question["shows"]):
                assert set(shown["spaces"]) <= set(network.spaces)
                assert set(shown["ways"]) <= ways
            assert set(question["about"]["diaphragms"]) <= set(network.diaphragms)
            assert all(form in network.items[item].forms for item, form in question["changes"].items())


def test_answers_give_nothing_away() -> None:
    """No place of the right answer, and no sort of answer, is much likelier than the others."""
    places_of_right: Counter[tuple[int, str]] = Counter()
    sorts: dict[str, Counter[str]] = {"valve": Counter(), "mixture": Counter(), "moves": Counter()}
    for seed in range(40):
        for each in marked("street_blow_through", "blow_through", "planned", seed, 24):
            places_of_right[len(each.question["choices"]), each.question["right"]] += 1
            if each.question["kind"] in sorts:
                sorts[each.question["kind"]][each.right.partition(":")[0].partition(" ")[0]] += 1
    for choices in (2, 3, 4):
        counts = [number for (many, _), number in places_of_right.items() if many == choices]
        assert len(counts) == choices
        assert max(counts) < 1.6 * min(counts), (choices, counts)
    for kind, counter in sorts.items():
        assert len(counter) >= 2
        assert max(counter.values()) < 0.75 * counter.total(), (kind, counter)


def test_every_kind_is_asked_somewhere() -> None:
    kinds = Counter(each.question["kind"] for each in marked("street_blow_through", "blow_through", "planned", 1, 24))
    kinds += Counter(each.question["kind"] for each in marked("street_blow_through", "draw_through", "found", 1, 24))
    assert set(kinds) == set(KINDS)


def test_changes_on_the_board_are_counted_in() -> None:
    asked = Asked("blow_through", "planned", {"primary.bowl_external_vent": "open"})
    study = study_of("street_blow_through")
    for question in lesson_record(study, asked, seed=5, count=24)["questions"]:
        CHECKS[question["kind"]](Marked(study, asked, question))


def test_unknown_form_is_refused() -> None:
    asked = Asked("blow_through", "found", {"primary.bowl_vent": "sideways"})
    with pytest.raises(BadDescription, match="no form 'sideways'"):
        lesson_record(study_of("street_blow_through"), asked, seed=0, count=3)
