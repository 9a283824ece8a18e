"""Small but complete families of carburetors made up at random, as their files would say them."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from hypothesis import strategies as st

NAME = "generated"
PLACES = ("ambient", "air_horn", "base", "manifold", "main.venturi_throat", "compressor_outlet", "crankcase")
CHAMBERS = ("main.power_valve_chamber", "main.reference_fitting", "main.dry_side", "main.vacuum_chamber")
CASTINGS = ("body", "cover", "plate")
Draw = Callable[[st.SearchStrategy[Any]], Any]
Entry = dict[str, Any]


def _works(draw: Draw, stages: Sequence[str], likely: int = 3) -> Entry | None:
    """What a change takes, or that it cannot be had; `likely` in `likely + 1` it can."""
    if not draw(st.integers(0, likely)):
        return None
    work: Entry = {"how": "do it", "minutes": draw(st.integers(1, 30)), "parts": draw(st.integers(0, 2))}
    if not draw(st.integers(0, 5)):
        work["irreversible"] = True
    if not draw(st.integers(0, 3)):
        work["stage"] = draw(st.sampled_from(stages))
    return work


def _stages(draw: Draw, castings: Sequence[str]) -> dict[str, Entry]:
    stages: dict[str, Entry] = {"on_engine": {"title": "on the engine, nothing off", "minutes": 0}}
    lifted = {casting: f"{casting}_off" for casting in castings[1:]}
    names = draw(st.permutations([*lifted.values(), "carburetor_off", *draw(st.sampled_from([[], ["turned_over"]]))]))
    for name in names:
        after = draw(st.lists(st.sampled_from(list(stages)), unique=True, min_size=draw(st.integers(0, 1)), max_size=2))
        off = [casting for casting, stage in lifted.items() if stage == name]
        stages[name] = {
            "title": name.replace("_", " "), "minutes": draw(st.integers(0 if after else 1, 30)), "after": after,
            **({"takes_off": off} if off else {}),
        }  # fmt: skip
    return stages


def _condition(draw: Draw, parts: Mapping[str, Entry], rarely: int) -> dict[str, list[str]]:
    if not parts or draw(st.integers(0, rarely)):
        return {}
    part = draw(st.sampled_from(sorted(parts)))
    forms = list(parts[part]["options"])
    some = draw(st.lists(st.sampled_from(forms), unique=True, min_size=1, max_size=max(1, len(forms) - 1)))
    return {part: some}


def _passage(draw: Draw, at: Mapping[str, Sequence[str]], parts: Mapping[str, Entry], joins: list[str]) -> Entry:
    passage: Entry = {
        "title": f"from {joins[0]} to {joins[1]}", "joins": joins,
        "kind": draw(st.sampled_from(["bore", "restriction", "port", "clearance", "joint", "gasket_window", "slot"])),
        "area": f"{draw(st.sampled_from([0.2, 1, 4, 30]))} mm2",
        "as_built": draw(st.sampled_from(["open", "open", "plugged", "absent"])),
        "one_way": not draw(st.integers(0, 5)),
        "casting": draw(st.sampled_from(at["castings"])), "stage": draw(st.sampled_from(at["stages"])),
        "when": _condition(draw, parts, 5), "blocked_by": _condition(draw, parts, 9),
        "only_back_by": _condition(draw, parts, 9),
    }  # fmt: skip
    for change in ("close", "reopen", "drill"):
        passage[change] = _works(draw, at["stages"], 7)
    if "main.reference_check" in parts and draw(st.booleans()):
        passage["guard"] = "main.reference_check"
    return {key: value for key, value in passage.items() if value is not None}


def fuel_ways(stages: Sequence[str]) -> dict[str, Entry]:
    """What every carburetor has: a needle, a main jet, a nozzle."""
    ends = {
        "needle_seat": ("fuel_line", "main.bowl", "seat", "2 mm", "fuel"),
        "main_jet_hole": ("main.bowl", "main.main_well", "restriction", "1.4 mm", "fuel"),
        "nozzle": ("main.main_well", "main.booster_throat", "bore", "4 mm", "emulsion"),
    }
    return {
        f"main.{name}": {
            "title": name.replace("_", " "), "joins": [a, b], "kind": kind, "bore": bore, "carries": carries,
            "casting": "body", "stage": stages[-1],
        }
        for name, (a, b, kind, bore, carries) in ends.items()
    }  # fmt: skip


def _passages(
    draw: Draw, at: Mapping[str, Sequence[str]], parts: Mapping[str, Entry], inner: Sequence[str], most: int
) -> dict[str, Entry]:
    passages = fuel_ways(at["stages"])
    vent = _passage(draw, at, {}, ["main.bowl", "air_horn"])
    passages["main.bowl_vent"] = {**vent, "area": "20 mm2", "one_way": False, "as_built": "open", "kind": "bore"}
    for number in range(draw(st.integers(1, most))):
        one = draw(st.sampled_from(inner))
        other = draw(st.sampled_from([each for each in (*PLACES, *inner) if each != one]))
        joins = [one, other] if draw(st.booleans()) else [other, one]
        passages[f"main.passage_{number}"] = _passage(draw, at, parts, joins)
    return passages


def _parts(draw: Draw, at: Mapping[str, Sequence[str]], chamber: bool) -> dict[str, Entry]:
    stages, castings = at["stages"], at["castings"]

    def part(title: str, options: dict[str, Entry], **more: Any) -> Entry:
        for option in options.values():
            work = _works(draw, stages, 7)
            option.update({"work": work} if work else {})
        return {
            "title": title, "casting": draw(st.sampled_from(castings)), "stage": draw(st.sampled_from(stages)),
            "as_built": draw(st.sampled_from(list(options))), "options": options, **more,
        }  # fmt: skip

    every = ["cruise", "wide_open", "full_boost"]
    sizes = draw(st.sampled_from([every[::2], every, every, every[::2], ["cruise"]]))
    jets = {f"for_{size}": {"title": f"sized for {size}", "mixture_for": size} for size in sizes}
    parts = {"main.main_jets": part("main jet", jets, feeds="main")}
    if draw(st.booleans()):
        check = {"fitted": {"title": "normally open backfire check"}, "missing": {"title": "none"}}
        parts["main.reference_check"] = part("backfire check", check)
    for number in range(draw(st.integers(0, 2))):
        forms = {form: {"title": f"insert {form}"} for form in ("as_made", "drilled_through", "blanked")}
        kept = dict(list(forms.items())[: draw(st.integers(2, 3))])
        kept["as_made"].update(draw(st.sampled_from([{}, {}, {"fails": True}])))
        condition = _condition(draw, parts, 6)
        if not draw(st.integers(0, 4)):
            kept[draw(st.sampled_from(sorted(kept)))]["not_with"] = {
                "main.main_jets": [draw(st.sampled_from(sorted(jets)))]
            }
        parts[f"main.insert_{number}"] = part("insert", kept, **({"when": condition} if condition else {}))
    if chamber and draw(st.booleans()):
        limits = {"forward": "250 kPa", "reverse": "100 kPa"}
        forms = {
            "vacuum_held": {"valve": {"opens": "below", "setting": draw(st.sampled_from(["4 inHg", "8.5 inHg"]))}},
            "boost_opened": {"valve": {"opens": "above", "setting": "1 psi"}},
            "blanked": {},
        }
        options = {
            form: {"title": form.replace("_", " "), **data, **({"limits": limits} if data else {})}
            for form, data in forms.items()
        }
        parts["main.power_valve"] = part("power valve", options)
    return parts


def _line(draw: Draw, at: Mapping[str, Sequence[str]], of: str) -> Entry:
    taps: dict[str, Entry] = {"capped": {"title": "capped"}}
    for place in draw(st.lists(st.sampled_from(["air_horn", "manifold", "base", "ambient"]), unique=True, max_size=2)):
        taps[place] = {"title": f"to the {place}", "to": place}
    if not draw(st.integers(0, 3)):
        level = draw(st.sampled_from(["3 inHg vacuum", "110 kPa abs"]))
        switched = {"senses": "manifold", "level": level, "below": "manifold", "above": "air_horn"}
        taps["switched"] = {"title": "switched", "switched": switched}
    for tap in taps.values():
        work = _works(draw, at["stages"], 7)
        tap.update({"work": work} if work else {})
    line: Entry = {
        "title": f"line of {of}", "of": of, "bore": "3 mm", "stage": "on_engine",
        "as_built": draw(st.sampled_from(list(taps))), "taps": taps,
        "inline": draw(st.sampled_from(["none", "none", "one_way_valve"])),
    }  # fmt: skip
    for change in ("fit_one_way_valve", "remove_one_way_valve"):
        work = _works(draw, at["stages"], 1)
        line.update({change: work} if work else {})
    return line


def _diaphragms(draw: Draw, parts: Mapping[str, Entry], inner: Sequence[str]) -> dict[str, Entry]:
    found: dict[str, Entry] = {}
    limits = {"forward": "250 kPa", "reverse": "100 kPa"}
    if CHAMBERS[0] in inner:
        wall: Entry = {"title": "power valve diaphragm", "between": ["main.bowl", CHAMBERS[0]], "role": "enrichment"}
        own = {"valve": {"opens": "below", "setting": "6.5 inHg"}, "limits": limits}
        wall.update({"part": "main.power_valve"} if "main.power_valve" in parts else own)
        wall.update(draw(st.sampled_from([{}, {"wets": "first"}])))
        found["main.power_valve_diaphragm"] = {**wall, "feeds": "main", "works_through": ["main.main_jet_hole"]}
    if len(inner) > 2 and draw(st.booleans()):
        between = draw(st.permutations(inner))[:2]
        role = draw(st.sampled_from(["choke", "secondary", "other"]))
        found["main.other_diaphragm"] = {"title": "other", "between": list(between), "role": role, "limits": limits}
    if found.get("main.power_valve_diaphragm") and draw(st.booleans()):
        found["main.power_valve_diaphragm"]["works_through"] = []
    return found


@st.composite
def families(draw: Draw, most_passages: int = 5) -> Entry:
    """Families of one barrel, as their file says them."""
    castings = CASTINGS[: draw(st.integers(1, 3))]
    stages = _stages(draw, castings)
    at = {"castings": castings, "stages": list(stages)}
    chambers = CHAMBERS[: draw(st.integers(0, 3))]
    inner = ["main.bowl", *chambers]
    spaces: dict[str, Entry] = {
        name: {
            "title": name.partition(".")[2].replace("_", " "), "casting": draw(st.sampled_from(castings)),
            "volume": draw(st.sampled_from(["2 cm3", "5 cm3", "50 cm3"])),
        }
        for name in inner
    }  # fmt: skip
    spaces["main.main_well"] = {"title": "main well", "casting": "body", "holds": "emulsion", "volume": "2 cm3"}
    parts = _parts(draw, at, bool(chambers))
    lined = draw(st.lists(st.sampled_from(chambers), unique=True, max_size=2)) if chambers else []
    return {
        "family": NAME, "title": "a carburetor made up at random", "summary": "one barrel", "groups": ["main"],
        "castings": {casting: casting for casting in castings}, "stages": stages,
        "flow": {
            "rated_flow": "240 cfm", "rated_drop": "3 inHg", "booster_gain": 2,
            "venturis": {"main": {"count": 1, "bore": "32 mm"}},
        },
        "spaces": spaces, "passages": _passages(draw, at, parts, inner, most_passages), "parts": parts,
        "lines": {f"{name}_line": _line(draw, at, name) for name in lined},
        "diaphragms": _diaphragms(draw, parts, inner),
    }  # fmt: skip


PLAIN: Entry = {
    "family": NAME, "title": "as little as there can be", "summary": "a bowl and its ways", "groups": ["main"],
    "castings": {"body": "body"}, "stages": {"on_engine": {"title": "on the engine", "minutes": 0}},
    "flow": {
        "rated_flow": "240 cfm", "rated_drop": "3 inHg", "booster_gain": 2,
        "venturis": {"main": {"count": 1, "bore": "32 mm"}},
    },
    "spaces": {
        "main.bowl": {"title": "bowl", "casting": "body"},
        "main.main_well": {"title": "well", "casting": "body", "holds": "emulsion"},
    },
    "passages": {
        **fuel_ways(["on_engine"]),
        "main.bowl_vent": {
            "title": "vent", "joins": ["main.bowl", "air_horn"], "area": "20 mm2", "casting": "body",
            "stage": "on_engine",
        },
    },
    "parts": {
        "main.main_jets": {
            "title": "jets", "casting": "body", "stage": "on_engine", "as_built": "full", "feeds": "main",
            "options": {"full": {"title": "for full boost", "mixture_for": "full_boost"}},
        }
    },
}  # fmt: skip
"""A carburetor that needs nothing itself: what is planned for it is planned for what stands round it."""
