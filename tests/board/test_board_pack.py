"""What is packed into one file, on a small made-up study whose every answer is known."""

from __future__ import annotations

import base64
import json
import zlib
from collections.abc import Mapping
from itertools import islice
from pathlib import Path
from typing import Any

import pytest

from boostcarb.board import pack, study
from boostcarb.board.answer import answer_record
from boostcarb.board.merge_patch import apply
from boostcarb.board.study import Asked
from boostcarb.description.library import read_job
from boostcarb.errors import BudgetSpent, NotSolved

SCENARIO = Path(__file__).parents[2] / "scenarios" / "street_blow_through.yaml"
Record = dict[str, Any]
ITEMS: Record = {
    "vent": {"forms": {"open": {}, "plugged": {}}},
    "valve": {"forms": {"fitted": {}, "blanked": {}}},
    "valve.tear": {"forms": {"sound": {}, "torn": {"fails": True}}, "on": {"valve": ["fitted"]}},
}
BASES = {
    "found": {"vent": "open", "valve": "fitted", "valve.tear": "sound"},
    "planned": {"vent": "plugged", "valve": "blanked", "valve.tear": "sound"},
}


class Study:
    """Two modes that can be looked at and one that cannot."""

    def modes(self) -> dict[str, str | None]:
        return {"blow_through": None, "draw_through": "no such thing", "naturally_aspirated": None}

    def bases(self, mode: str) -> dict[str, dict[str, str]]:
        return BASES

    def configuration(self, asked: Asked) -> dict[str, str]:
        return {**BASES[asked.base], **asked.changes}


def answer(study: Study, asked: Asked) -> Record:
    """Any record that depends on every item, with things that come and go."""
    configuration = study.configuration(asked)
    if configuration["vent"] == "plugged" and asked.base == "found":
        return {"mode": asked.mode, "base": asked.base, "refused": {"what": "no", "why": "sealed"}}
    low = 100_000 + len(configuration["valve"])
    flows = {"vent": 1} if configuration["vent"] == "open" else {}
    tears = [name for name, form in configuration.items() if form == "torn"]
    states = {"idle": {"spaces": {"bowl": [low, low + 1]}, "flows": flows, "shut": tears}}
    return {"mode": asked.mode, "base": asked.base, "changes": dict(asked.changes), "states": states}


@pytest.fixture
def asked_for(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Puts answers that are known in the place of the model, and notes what is asked."""
    asked: list[str] = []

    def known(kind: str, record: Any) -> Any:
        def told(study: Study, asked_: Asked, *places: str, **more: Any) -> Record:
            asked.append(kind)
            return {kind: [asked_.mode, asked_.base, dict(asked_.changes), *map(str, places), json.dumps(more)]}

        return record or told

    scene = {
        "title": "a mode",
        "bases": {"found": {"title": "as found"}, "planned": {"title": "as planned"}},
        "items": ITEMS,
        "spaces": {"bowl": {}, "atmosphere": {}},
        "ways": {"vent": {}},
    }
    dials = {"blow_through": {"boost_pa": [0, 60_000], "rpm": [900, 5400]}, "naturally_aspirated": {"rpm": [900, 5400]}}
    monkeypatch.setattr(pack, "scene_record", lambda study, mode: {**scene, "mode": mode, "dial": dials[mode]})
    monkeypatch.setattr(pack, "answer_record", answer)
    for name in ("dial", "trace", "spray", "lesson", "hunt", "repair"):
        monkeypatch.setattr(pack, f"{name}_record", known(name, None))
    return asked


def packed(seed: int = 1, **options: Any) -> Record:
    return pack.pack_record(Study(), version="0", seed=seed, **options)  # type: ignore[arg-type]


def test_every_mode_that_can_be_looked_at_with_every_base(asked_for: list[str]) -> None:
    made = packed()
    assert made["made"] == {"version": "0"}
    assert set(made) == {
        "made", "scenes", "answers", "changes", "dials", "traces", "sprays", "lessons", "hunts", "repairs"
    }  # fmt: skip
    for name in set(made) - {"made"}:
        assert list(made[name]) == ["blow_through", "naturally_aspirated"], name
    for name in set(made) - {"made", "scenes"}:
        assert list(made[name]["blow_through"]) == ["found", "planned"], name


def test_every_single_change_leads_to_its_answer(asked_for: list[str]) -> None:
    """A patch put onto the answer of the base is the answer itself (RFC 7396)."""
    made = packed()
    for mode, base in (("blow_through", "found"), ("blow_through", "planned"), ("naturally_aspirated", "found")):
        patches: Mapping[str, Record] = made["changes"][mode][base]
        for change, patch in patches.items():
            item, form = change.split("=")
            right = answer(Study(), Asked(mode, base, {item: form}))
            assert apply(made["answers"][mode][base], patch) == right


def test_changes_are_those_of_items_that_are_there(asked_for: list[str]) -> None:
    """A blanked valve has no diaphragm that could tear."""
    made = packed()["changes"]["blow_through"]
    assert set(made["found"]) == {"vent=plugged", "valve=blanked", "valve.tear=torn"}
    assert set(made["planned"]) == {"vent=open", "valve=fitted"}


def test_repairs_of_bases_and_of_what_fails_by_itself(asked_for: list[str]) -> None:
    made = packed()["repairs"]["blow_through"]
    assert set(made["found"]) == {"", "valve.tear=torn"}
    assert set(made["planned"]) == {""}
    whole = apply(made["found"][""], made["found"]["valve.tear=torn"])
    assert whole == {"repair": ["blow_through", "found", {"valve.tear": "torn"}, "{}"]}


def test_dials_on_the_whole_grid(asked_for: list[str]) -> None:
    made = packed()["dials"]["blow_through"]["found"]
    axes = {name: made[name] for name in ("boost_pa", "throttle", "rpm")}
    ends = {name: (axis[0], axis[-1]) for name, axis in axes.items()}
    assert ends == {"boost_pa": (0, 60_000), "throttle": (0, 1), "rpm": (900, 5400)}, "as far as the dials go"
    assert all(axis == sorted(set(axis)) for axis in axes.values())
    assert len(made["states"]) == len(axes["boost_pa"]) * len(axes["throttle"]) * len(axes["rpm"])
    for places, state in made["states"].items():
        i, j, k = map(int, places.split(","))
        right = {"boost_pa": axes["boost_pa"][i], "throttle": axes["throttle"][j], "rpm": axes["rpm"][k]}
        assert json.loads(state["dial"][-1]) == right


def test_nobody_dials_boost_where_there_is_none(asked_for: list[str]) -> None:
    assert packed()["dials"]["naturally_aspirated"]["found"]["boost_pa"] == [0]


def test_sprays_into_every_space_and_way(asked_for: list[str]) -> None:
    made = packed()["sprays"]["blow_through"]["found"]
    assert set(made["spaces"]) == {"bowl", "atmosphere"}
    assert set(made["ways"]) == {"vent"}
    assert json.loads(made["ways"]["vent"]["spray"][-1]) == {"way": "vent"}


def test_seeds_follow_the_one_that_is_given(asked_for: list[str]) -> None:
    made = packed(seed=7)
    assert list(made["lessons"]["blow_through"]["found"]) == [str(7 + each) for each in range(pack.LESSONS)]
    assert list(made["hunts"]["blow_through"]["found"]) == [str(7 + each) for each in range(pack.HUNTS)]
    (_, _, _, said) = made["hunts"]["blow_through"]["found"]["8"]["hunt"]
    assert json.loads(said) == {"seed": 8}


@pytest.mark.parametrize("error", [NotSolved("the balance", places=("bowl",)), BudgetSpent("the repair", rounds=9)])
def test_what_has_no_answer_is_packed_as_refused(
    asked_for: list[str], monkeypatch: pytest.MonkeyPatch, error: Exception
) -> None:
    def failing(*_: Any, **__: Any) -> Record:
        raise error

    for name in ("repair_record", "trace_record", "spray_record"):
        monkeypatch.setattr(pack, name, failing)
    made = packed()
    for record in (made["repairs"]["blow_through"]["found"][""], made["traces"]["blow_through"]["found"]["bowl"]):
        assert str(error) in record["refused"]["what"]


def test_base_without_an_answer_is_an_error(asked_for: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    def failing(*_: Any, **__: Any) -> Record:
        raise NotSolved("the balance")

    monkeypatch.setattr(pack, "answer_record", failing)
    with pytest.raises(NotSolved):
        packed()


def test_says_how_far_it_is(asked_for: list[str]) -> None:
    told: list[str] = []
    packed(told=told.append)
    assert len(told) == 4
    assert all("a mode" in each for each in told)


def test_pack_of_a_real_job(monkeypatch: pytest.MonkeyPatch) -> None:
    """One target with a part of its single changes: all of it is JSON, and patches lead to what Python answers."""
    every = pack._Place.singles
    monkeypatch.setattr(pack._Place, "singles", lambda place: islice(every(place), 0, None, 30))
    monkeypatch.setattr(pack, "HUNTS", 1)
    monkeypatch.setattr(pack, "LESSONS", 1)
    monkeypatch.setattr(study.Study, "modes", lambda _: {"naturally_aspirated": None, "draw_through": "left out"})
    real = study.Study.of(read_job(SCENARIO))
    made = json.loads(pack.as_json(pack.pack_record(real, version="0", seed=3)))
    patches = made["changes"]["naturally_aspirated"]["planned"]
    assert len(patches) >= 10
    for change, patch in patches.items():
        item, form = change.rsplit("=", 1)
        right = answer_record(real, Asked("naturally_aspirated", "planned", {item: form}))
        assert apply(made["answers"]["naturally_aspirated"]["planned"], patch) == json.loads(pack.as_json(right))
    again = pack.pack_record(study.Study.of(read_job(SCENARIO)), version="0", seed=3)
    assert pack.as_json(again) == pack.as_json(made), "the same job and seed, the same bytes"


def test_pack_as_text_opens_by_any_reader_of_the_formats(asked_for: list[str]) -> None:
    """Base64 (RFC 4648, section 4) of a whole zlib stream (RFC 1950)."""
    made = packed()
    text = pack.pressed(made)
    opened = zlib.decompressobj()
    plain = opened.decompress(base64.b64decode(text, validate=True)) + opened.flush()
    assert opened.eof
    assert json.loads(plain) == made
    assert text == pack.pressed(packed()), "the same pack, the same text"
