"""What is asked, in which order, and what is not."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import Any

from boostcarb import pipeline
from boostcarb.interview.question import CAR
from boostcarb.interview.questions import Questions, job_data
from boostcarb.interview.strip_down import REST, question_of, ruled_out
from boostcarb.network.model import INLINE
from boostcarb.rulebook.judging import LOOKED_AT

ENGINE = {
    "job": "x",
    "carburetor": "modular_four_barrel",
    "engine.displacement": "5 l",
    "engine.idle_speed": "800 rpm",
    "engine.cruise_speed": "2200 rpm",
    "engine.torque_peak_speed": "3500 rpm",
    "engine.redline_speed": "5500 rpm",
}
CHARGE = {"charge.boost": "8 psi", "charge.full_boost_speed": "3000 rpm"}


def car(target: str, **said: str | None) -> dict[str, str | None]:
    charge = {} if target == "naturally_aspirated" else CHARGE
    return {**ENGINE, "target": target, **charge, **said}


def names(questions: Questions, answers: dict[str, str | None]) -> list[str]:
    return [question.name for question in questions.asked(answers)]


def test_names_are_unique_and_every_question_leads_somewhere(room: Any, target: str) -> None:
    asked = room.questions().asked(car(target, sizes="yes"))
    assert len({question.name for question in asked}) == len(asked)
    for question in asked:
        assert question.path or question.name in ("sizes", REST)
        assert question.needed or question.otherwise or question.choices, question.name
        assert question.choices or question.example, question.name


def test_order_is_that_of_the_strip_down(room: Any, target: str) -> None:
    questions = room.questions()
    answers = car(target, sizes="yes")
    subject = questions.subject(answers)
    order = [CAR, *subject.stages, REST]
    places = [order.index(question.stage) for question in questions.asked(answers)]
    assert places == sorted(places)


def test_an_item_is_asked_for_at_its_stage_and_after_what_it_exists_by(room: Any, target: str) -> None:
    questions = room.questions()
    answers = car(target)
    subject = questions.subject(answers)
    asked = questions.asked(answers)
    index = {question.name: place for place, question in enumerate(asked)}
    for question in asked:
        item = questions.item(question, answers)
        if item is None:
            continue
        waits = [subject.stages.index(subject.stage_of(other)) for other, _ in item.conditions]
        assert subject.stages.index(question.stage) == max([subject.stages.index(item.stage), *waits])
        for other, _ in item.conditions:
            assert index[question_of(other)] < index[question.name]


def test_items_of_one_casting_stand_together(room: Any, target: str) -> None:
    """But for those that wait for another part, which follow it."""
    asked = [question for question in room.questions().asked(car(target)) if question.item is not None]
    changes = sum(a.casting != b.casting or a.stage != b.stage for a, b in pairwise(asked))
    places = len({(question.stage, question.casting) for question in asked})
    assert changes < 2 * places


def test_only_what_a_rule_of_the_target_hangs_on_is_asked(room: Any, target: str) -> None:
    questions, answers = room.questions(), car(target)
    judge = questions.bench(answers).judge
    hang: set[str] = set()
    for instance in judge.instances:
        if instance.rule.requirement.kind != LOOKED_AT:
            hang |= {*instance.scope, *instance.place}
    network = questions.bench(answers).network
    needed = {other for name in hang if name in network.items for other, _ in network.items[name].conditions}
    for question in questions.asked(answers):
        assert question.item is None or question.item in hang | needed, question.name


def test_nothing_that_is_there_is_forgotten(room: Any, target: str) -> None:
    questions, answers = room.questions(), car(target)
    subject = questions.subject(answers)
    told = {question.item for question in questions.asked(answers)} | {
        item.name for item, _ in questions.untold(answers)
    }
    for name, item in questions.bench(answers).network.items.items():
        line_unknown = name.endswith(INLINE)
        assert name in told or line_unknown or ruled_out(item, answers, subject), name


def test_no_bonnet_and_no_boost_in_a_naturally_aspirated_job(room: Any) -> None:
    asked = names(room.questions(), car("naturally_aspirated", sizes="yes"))
    assert not [name for name in asked if "bonnet" in name or name.startswith("charge") or "wastegate" in name]
    assert any("bonnet" in name for name in names(room.questions(), car("blow_through")))


def test_what_a_find_rules_out_is_not_asked(room: Any) -> None:
    questions = room.questions()
    electric, removed = (car("blow_through", **{"found.choke": form}) for form in ("hot_air", "removed"))
    assert "found.choke_heat_tube" in names(questions, electric)
    assert "found.choke_heat_tube" not in names(questions, removed)
    assert "found.choke_heat_tube" not in names(questions, car("blow_through", **{"found.choke": None}))


def test_what_stands_in_a_line_is_asked_only_where_the_line_leads_somewhere(room: Any) -> None:
    questions = room.questions()
    for form, wanted in (("manifold", True), ("capped", False), (None, False)):
        asked = names(questions, car("blow_through", **{"found.advance_line": form}))
        assert ("found.advance_line.inline" in asked) is wanted


def test_follow_ups_come_right_after_their_part(room: Any) -> None:
    said = {"found.primary.power_valve": "vacuum_held", "found.advance_line": "manifold"}
    asked = names(room.questions(), car("blow_through", **said))
    for name, more in (("found.primary.power_valve", "setting"), ("found.advance_line", "inline")):
        assert asked[asked.index(name) + 1] == f"{name}.{more}"
    blank = names(room.questions(), car("blow_through", **{"found.primary.power_valve": "blank"}))
    assert "found.primary.power_valve.setting" not in blank


def test_sizes_are_asked_for_only_by_who_has_measured(room: Any) -> None:
    questions = room.questions()
    hole = {"found.primary.main_jet_hole": "open"}
    without = names(questions, car("blow_through", **hole))
    with_sizes = names(questions, car("blow_through", sizes="yes", **hole))
    for name in ("found.primary.main_jet_hole.bore", "supply.regulator_pressure", "bowls.primary.level"):
        assert name not in without
        assert name in with_sizes
    assert set(without) < set(with_sizes)


def test_a_bore_is_not_asked_of_a_hole_nobody_has_seen(room: Any) -> None:
    asked = names(room.questions(), car("blow_through", sizes="yes", **{"found.primary.main_jet_hole": None}))
    assert "found.primary.main_jet_hole.bore" not in asked


def test_a_section_is_asked_for_only_where_a_rule_judges_it(room: Any) -> None:
    everywhere = names(room.questions(), car("naturally_aspirated", sizes="yes"))
    in_boost = names(room.questions(), car("blow_through", sizes="yes"))
    assert "pump.primary.override_preload" in in_boost
    assert "pump.primary.override_preload" not in everywhere
    assert "supply.bowl_temperature" not in everywhere


def test_extras_need_their_part(room: Any) -> None:
    asked = names(room.questions(), car("blow_through", **{"found.primary.pump": "absent"}))
    assert "pump.primary.seals" not in asked
    assert "pump.secondary.seals" in asked


def test_a_fuel_of_ones_own_is_left_to_the_file(room: Any) -> None:
    (fuel,) = [question for question in room.questions().asked(car("blow_through")) if question.name == "fuel"]
    assert "custom" not in {choice.word for choice in fuel.choices}
    assert "fuel_detail.ethanol" in names(room.questions(), car("blow_through", fuel="E85"))


def test_the_first_word_of_every_item_is_the_form_it_was_built_with(room: Any, target: str) -> None:
    questions, answers = room.questions(), car(target)
    for question in questions.asked(answers):
        if question.item is not None:
            assert question.choices[0].as_built, question.name
            assert not question.choices[0].rare
            assert question.look == "" or (question.look[0].isupper() and question.look.endswith(".")), question.look


def test_every_word_offered_can_be_set_up(room: Any) -> None:
    """One word of each question at a time; none of them is refused on its own, but by what it contradicts."""
    questions, answers = room.questions(), car("blow_through")
    for question in questions.asked(answers):
        for choice in question.choices if question.item is not None else ():
            wrong = questions.wrong({**answers, question.name: choice.word})
            assert not [
                problem for problem in wrong if problem.field == question.name and "contra" not in problem.message
            ]


def test_speeds_that_do_not_rise_are_caught_where_they_are_said(room: Any) -> None:
    answers: dict[str, str | None] = {"job": "x", "target": "blow_through", "engine.idle_speed": "900 rpm"}
    (problem,) = room.questions().wrong({**answers, "engine.cruise_speed": "850 rpm"})
    assert problem.field == "engine.cruise_speed"
    assert "must be above idle_speed" in problem.message
    assert room.questions().wrong({**answers, "engine.cruise_speed": "2000 rpm"}) == []


def test_answers_that_contradict_each_other_are_caught(room: Any) -> None:
    said = {"found.primary.power_valve": "vacuum_held", "found.primary.power_valve.setting": "200 kPa"}
    (problem,) = room.questions().wrong(car("blow_through", **said))
    assert problem.field == "found.primary.power_valve.setting"


def test_a_question_costs_little(room: Any, replies: dict[str, Callable[..., Any]]) -> None:
    """No gate on time: that the carburetor is worked out once is what makes it so."""
    built = []
    set_up = pipeline.set_up
    questions = room.questions()
    object.__setattr__(questions.workshop, "set_up", lambda read: built.append(1) or set_up(read))
    answers = car("blow_through")
    for _ in range(5):
        questions.asked(answers)
    assert len(built) == 1


def test_several_carburetors_in_a_box_become_fields_of_the_job(room: Any) -> None:
    questions = room.questions()
    said = car("blow_through", **{"carburetors.count": "2", "enclosure": "pressure_box"})
    asked = names(questions, said)
    assert {"carburetors.plenum", "carburetors.bonnets", "carburetors.references"} <= set(asked)
    assert any(name.endswith("box_drain") for name in asked)
    data = job_data(questions.asked(said), said, "modular_four_barrel", whole=True)
    assert (data["carburetors"], data["enclosure"]) == ({"count": 2}, "pressure_box")


def test_one_carburetor_in_the_open_is_asked_no_more_about_it(room: Any) -> None:
    asked = names(room.questions(), car("draw_through"))
    assert "carburetors.count" in asked
    assert not {"carburetors.plenum", "enclosure"} & set(asked)
