"""The order of work for plans of generated carburetors, carried out step by step by hands of its own.

On the scenarios this is in `tests/work/test_order_of_work.py`; here the strip-down is made up at random, and changes
stand at any of its stages.
"""

from __future__ import annotations

from generated_carburetors import MIXTURE_RULES, Made, carburetors, job_of, put_right, shipped, tried
from generated_families import PLAIN
from hypothesis import assume, event, given
from hypothesis import strategies as st

from boostcarb import pipeline
from boostcarb.answers import Planned
from boostcarb.planning.search import Plan
from boostcarb.work.order import WorkOrder, executed, work_order
from boostcarb.work.steps import Phase

anything = st.one_of(carburetors(), carburetors(around=True), carburetors(around=True), shipped())


def ordered(made: Made) -> tuple[Planned, Plan, WorkOrder]:
    """A carburetor that has a plan, with the order of its work."""
    planned = pipeline.plan(made.bench(), alternatives=0)
    assume(isinstance(planned.outcome, Plan))
    assert isinstance(planned.outcome, Plan)
    return planned, planned.outcome, work_order(planned)


@tried(15)
@given(anything)
def test_carrying_out_every_step_makes_the_planned_carburetor(made: Made) -> None:
    """Each part comes off once, after what is over it, and goes back in reverse; work is done where it is open."""
    planned, plan, order = ordered(made)
    network = planned.bench.network
    stages = {name: stage.after for name, stage in network.stages.items()}
    at_hand = {name for name, stage in network.stages.items() if not stage.after and not stage.minutes}
    configuration, opened, off, minutes = network.found(), list[str](), list[str](), 0
    for number, step in enumerate(order.steps, 1):
        assert step.number == number
        if step.opens:
            assert step.opens not in off
            assert set(stages[step.opens]) <= {*opened, *at_hand}, step.opens
            opened.append(step.opens)
            off.append(step.opens)
            minutes += network.stages[step.opens].minutes
        for change in step.changes:
            labor = network.items[change.item].forms[change.option].labor
            assert labor is not None
            assert labor.stage in {*opened, *at_hand}, (step.title, labor.stage)
            assert configuration[change.item] == network.items[change.item].found
            configuration[change.item] = change.option
            minutes += labor.minutes
        if step.closes:
            assert not any(step.closes in stages[other] for other in opened), step.closes
            assert opened.pop() == step.closes
    assert not opened
    assert configuration == planned.configuration == executed(order, network, network.found())
    assert minutes == order.planned_minutes == plan.cost.minutes
    assert sum(step.irreversible for step in order.steps) == plan.cost.irreversible
    needed = {network.stage_of(*change) for change in plan.changes}
    while more := {before for stage in needed for before in stages[stage]} - needed:
        needed |= more
    assert set(off) == needed - at_hand
    event(f"{min(len(off), 4)} parts off")
    assert_nothing_is_cut_before_the_last_look(order)


def assert_nothing_is_cut_before_the_last_look(order: WorkOrder) -> None:
    """What cannot be undone comes after all other changes on the bench."""
    phases = [list(Phase).index(step.phase) for step in order.steps]
    assert phases == sorted(phases)
    for_good = [step.number for step in order.steps if step.irreversible]
    changes = [step for step in order.steps if step.phase is Phase.change and step.changes]
    other = [step.number for step in changes if not step.irreversible]
    if for_good:
        event("something cannot be undone")
        assert max(other, default=0) < min(for_good)
        assert order.steps[min(for_good) - 2].title == "Last look before you cut"


def test_a_hose_behind_a_casting_is_led_elsewhere_before_that_is_closed() -> None:
    """A family may say that a hose ends where only the strip-down reaches it."""
    stages = {**PLAIN["stages"], "lid_off": {"title": "lid off", "minutes": 5, "after": ["on_engine"]}}
    work = {"how": "lead it to the bonnet", "minutes": 5, "stage": "lid_off"}
    taps = {"outside": {"title": "outside", "to": "ambient"}, "bonnet": {"title": "in", "to": "air_horn", "work": work}}
    line = {"title": "hose", "of": "main.bowl", "bore": "3 mm", "stage": "on_engine", "as_built": "outside"}
    family = {**PLAIN, "stages": stages, "lines": {"main.hose": {**line, "taps": taps}}}
    accepted = {"accept": list(MIXTURE_RULES)}
    made = Made(family, job_of("blow_through", found=put_right("blow_through"), pinned=accepted))
    planned = pipeline.plan(made.bench(), alternatives=0)
    order = work_order(planned)
    assert "main.hose" in {change.item for step in order.steps for change in step.changes}
    network = planned.bench.network
    assert executed(order, network, network.found()) == planned.configuration
