"""Hunts: what each test shows and clears is worked out a second time; the cheapest set is tried against all sets."""

from __future__ import annotations

import hashlib
import itertools
import json
import os
import subprocess
import sys

import pytest
from bench_by_hand import JOBS, Bed, few, opened, places, study_of
from hypothesis import given
from hypothesis import strategies as st

from boostcarb.board.lesson.cheapest import Priced, cheapest, cheapest_with_work
from boostcarb.board.lesson.hunt import MOST, hunt_record
from boostcarb.board.study import Asked
from boostcarb.errors import BadDescription
from boostcarb.faults.catalogue import faults_of
from boostcarb.faults.outcome import outcomes
from boostcarb.faults.signs import noticed

SEEDS = 51


def shown_by(record: dict, mode: str, configuration: dict) -> dict[str, dict[str, object]]:
    """What each suspect shows on each test, worked out by hand; faults put together as one must show alike."""
    network, stages = opened(study_of(record["job"]).bench(mode))
    table: dict[str, dict[str, object]] = {}
    for test in record["tests"]:
        for suspect in [*record["suspects"], {"id": "sound", "faults": [{}]}]:
            seen = set()
            for fault in suspect["faults"]:
                broken = {**configuration, **({fault["item"]: fault["form"]} if fault else {})}
                bed = Bed(network, stages[test["stage"]], broken, test["put"], tuple(test["at"]), tuple(test["shut"]))
                seen.add(bed.seen())
            assert len(seen) == 1, (suspect["title"], test["title"], seen)
            table.setdefault(test["id"], {})[suspect["id"]] = seen.pop()
    return table


def least_of_all_sets(tests: list[dict], others: set[str], stages: dict) -> tuple[int, int]:
    """Least minutes without and with the strip-down, by trying every set of tests."""
    best = work = 10**9
    for size in range(1, len(tests) + 1):
        for chosen in itertools.combinations(tests, size):
            if set().union(*(test["clears"] for test in chosen)) >= others:
                minutes = sum(test["minutes"] for test in chosen)
                best = min(best, minutes)
                work = min(work, minutes + max(stages[test["stage"]]["minutes"] for test in chosen))
    return best, work


@pytest.mark.parametrize("job", JOBS)
def test_hunt_holds_against_a_second_working(job: str) -> None:
    study = study_of(job)
    for number, (mode, base) in enumerate(places(job)):
        for seed in few(SEEDS, job, number, 1):
            record = hunt_record(study, Asked(mode, base, {}), seed=seed)
            holds_against_a_second_working({**record, "job": job}, mode, study.bases(mode)[base])


def holds_against_a_second_working(record: dict, mode: str, configuration: dict) -> None:
    ids = [suspect["id"] for suspect in record["suspects"]]
    hidden = record["hidden"]
    assert hidden in ids
    assert 2 <= len(ids) == len(set(ids)) <= MOST
    table = shown_by(record, mode, configuration)
    for test in record["tests"]:
        shown = table[test["id"]]
        assert set(test["clears"]) == {each for each in ids if shown[each] != shown[hidden]}
        assert hidden not in test["clears"]
        assert (test["must"] == test["shows"]) == (shown["sound"] == shown[hidden])
    for guilty in ids:  # whoever it were, the tests offered would find them
        cleared = {each for each in ids for shown in table.values() if shown[each] != shown[guilty]}
        assert cleared == set(ids) - {guilty}
    best = least_of_all_sets(record["tests"], set(ids) - {hidden}, record["stages"])
    assert best == (record["par_minutes"], record["par_with_strip_down_minutes"])
    clears = {test["id"]: (set(test["clears"]), test["minutes"]) for test in record["tests"]}
    assert set().union(*(clears[name][0] for name in record["par_tests"])) == set(ids) - {hidden}
    assert sum(clears[name][1] for name in record["par_tests"]) == record["par_minutes"]


@pytest.mark.parametrize(
    ("job", "mode", "base"),
    [
        ("street_blow_through", "blow_through", "planned"),
        ("roadster_draw_through", "draw_through", "found"),
        ("back_to_naturally_aspirated", "naturally_aspirated", "found"),
    ],
)
def test_hidden_fault_is_one_that_the_driver_notices(job: str, mode: str, base: str) -> None:
    study = study_of(job)
    bench, configuration = study.bench(mode), study.bases(mode)[base]
    boosted = frozenset(state.name for state in bench.view(configuration).states if state.boosted)
    stories = {each.fault.name: noticed(each, boosted) for each in outcomes(bench, configuration)}
    known = {fault.name for fault in faults_of(bench.network, configuration)}
    for seed in range(4):
        record = hunt_record(study, Asked(mode, base, {}), seed=seed)
        suspects = {
            each["id"]: [f"{fault['item']}={fault['form']}" for fault in each["faults"]] for each in record["suspects"]
        }
        assert {name for names in suspects.values() for name in names} <= known
        told = stories[suspects[record["hidden"]][0]]
        assert not told.startswith("nothing")
        assert record["story"] == f"The driver notices: {told}."
        alike = [each["title"] for each in record["suspects"] if each["faults"][1:]]
        assert all("no bench test tells these apart" in title for title in alike)


@given(
    tests=st.lists(
        st.tuples(st.integers(1, 20), st.frozensets(st.sampled_from("abcdef")), st.integers(0, 2)), max_size=7
    ),
    suspects=st.frozensets(st.sampled_from("abcdef"), min_size=1),
)
def test_cheapest_set_is_that_of_trying_all_sets(
    tests: list[tuple[int, frozenset[str], int]], suspects: frozenset[str]
) -> None:
    priced = [Priced(f"t{number}", *each) for number, each in enumerate(tests)]
    to_reach = {0: 0, 1: 10, 2: 25}
    sets = [
        chosen
        for size in range(1, len(priced) + 1)
        for chosen in itertools.combinations(priced, size)
        if frozenset().union(*(test.clears for test in chosen)) >= suspects
    ]
    plain = min((sum(test.minutes for test in chosen) for chosen in sets), default=None)
    work = min(
        (sum(test.minutes for test in each) + to_reach[max(test.depth for test in each)] for each in sets), default=None
    )
    found, with_work = cheapest(priced, suspects), cheapest_with_work(priced, suspects, to_reach)
    assert (None if found is None else found[0]) == plain
    assert (None if with_work is None else with_work[0]) == work


def test_unknown_base_is_refused() -> None:
    with pytest.raises(BadDescription, match="no base 'nowhere'"):
        hunt_record(study_of("street_blow_through"), Asked("blow_through", "nowhere", {}), seed=0)


DIGEST = """
import hashlib, json, sys
from bench_by_hand import study_of
from boostcarb.board.lesson.hunt import hunt_record
from boostcarb.board.lesson.questions import lesson_record
from boostcarb.board.study import Asked
asked = Asked("blow_through", "found", {})
study = study_of("street_blow_through")
records = [lesson_record(study, asked, seed=seed, count=24) for seed in (3, 4)]
records += [hunt_record(study, asked, seed=seed) for seed in (3, 4)]
print(hashlib.sha256(json.dumps(records).encode()).hexdigest())
"""


def digest_in_another_process(hash_seed: str) -> str:
    path = os.pathsep.join([os.path.dirname(__file__), *sys.path])
    environment = {**os.environ, "PYTHONHASHSEED": hash_seed, "PYTHONPATH": path}
    done = subprocess.run(
        [sys.executable, "-c", DIGEST], env=environment, capture_output=True, text=True, check=True, timeout=120
    )
    return done.stdout.strip()


def test_same_seed_gives_the_same_bytes_in_every_process() -> None:
    digests = {digest_in_another_process(seed) for seed in ("1", "12345")}
    assert len(digests) == 1
    assert len(digests.pop()) == hashlib.sha256().digest_size * 2


def test_another_seed_gives_another_hunt() -> None:
    asked = Asked("blow_through", "planned", {})
    study = study_of("street_blow_through")
    hunts = {json.dumps(hunt_record(study, asked, seed=seed)["suspects"]) for seed in range(3)}
    assert len(hunts) == 3
