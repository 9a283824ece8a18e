"""The fuel side as text and as data."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from typing import Any

import pytest
from fuel_jobs import BONNET, side, solved

from boostcarb.quantities import UnitSystem
from boostcarb.report.supply_records import supply_record
from boostcarb.report.supply_text import supply_sections

TARGETS = ("naturally_aspirated", "blow_through", "draw_through")
EVERYTHING: dict[str, Any] = {
    "supply": {
        "return": False,
        "pump": {"curve": [{"pressure": "0 psi", "flow": "200 l/h"}, {"pressure": "9 psi", "flow": "100 l/h"}]},
    },
    "pump": {"primary": {"seals": "top missing", "set": {"diaphragm": "large", "spring": "straight"}}},
    "bowls": {"secondary": {"extensions": "fitted"}, "primary": {"level": "20 mm"}},
    "driving": {"braking": "1.5 g"},
}


def text(target: str, system: UnitSystem = UnitSystem.METRIC, **sections: Any) -> str:
    network = solved(target, **sections).network
    return "\n".join(supply_sections(side(target, **sections), network, system))


@pytest.mark.parametrize("target", TARGETS)
@pytest.mark.parametrize("system", UnitSystem)
def test_every_section_is_there_and_fits_the_page(target: str, system: UnitSystem) -> None:
    said = text(target, system)
    for heading in ("CARBURETOR SIZE", "FUEL SUPPLY", "ACCELERATOR PUMP", "FLOAT BOWLS UNDER WAY", "ASSUMED"):
        assert heading in said
    assert ("EVAPORATION AND ICE" in said) == (target != "blow_through")
    assert ("HOT BOWL" in said) == (target == "blow_through")
    assert max(map(len, said.splitlines())) <= 100
    assert "nan" not in said
    assert "inf" not in said.replace("inflow", "")


def test_units_are_the_ones_asked_for() -> None:
    assert "psi" in text("blow_through", UnitSystem.US)
    assert "kPa" not in text("blow_through", UnitSystem.US)
    assert "psi" not in text("blow_through", UnitSystem.METRIC)


def test_what_is_wrong_is_said() -> None:
    said = " ".join(text("blow_through", **EVERYTHING).split())
    for words in ("MIXED SET", "FUEL LEAK", "NOZZLE SEALS", "EXTENSIONS FOUL THE FLOAT", "JETS RUN DRY", "runs dry",
                  "beyond the end of its curve", "Dead-head"):  # fmt: skip
        assert words in said


def test_what_is_right_is_not_called_wrong() -> None:
    said = " ".join(text("blow_through", found=BONNET).split())
    for words in ("MIXED SET", "FUEL LEAK", "NOZZLE SEALS", "FOUL THE FLOAT", "JETS RUN DRY", "FORCED OPEN"):
        assert words not in said
    assert "primary needle and seat, 2.8 mm bore: enough" in said


def test_defaults_stand_where_a_job_would_give_them() -> None:
    said = text("naturally_aspirated", supply={"needle_lift": "1 mm"})
    assumed = said[said.index("ASSUMED") :]
    assert "needle_cone 60 deg" in assumed
    assert "needle_lift" not in assumed


def numbers(record: object) -> Iterator[dict[str, Any]]:
    if isinstance(record, dict):
        if "formula" in record:
            yield record
        for value in record.values():
            yield from numbers(value)
    elif isinstance(record, list):
        for value in record:
            yield from numbers(value)


@pytest.mark.parametrize("target", TARGETS)
def test_every_number_shows_its_working(target: str) -> None:
    record = json.loads(json.dumps(supply_record(side(target, **EVERYTHING)), allow_nan=False))
    found = list(numbers(record))
    assert len(found) > 150
    for each in found:
        assert each["formula"]
        assert each["inputs"], each["name"]
        assert all(given["origin"] for given in each["inputs"]), each["name"]
        assert math.isfinite(each["value"])


def test_simple_formulas_come_out_of_their_inputs() -> None:
    """Ratios, sums and differences, recomputed from the inputs that are printed beside them."""
    found = list(numbers(supply_record(side("blow_through", **EVERYTHING))))
    checked = set()
    for each in found:
        values = [given["value"] for given in each["inputs"]]
        expected = {
            "air horn - base": lambda v: v[0] - v[1],
            "flow / demand": lambda v: v[0] / v[1],
            "delivered / demand": lambda v: v[0] / v[1],
            "set pressure + reference - bowl": lambda v: v[0] + v[1] - v[2],
            "10 x stroke": lambda v: 10 * v[0],
            "uncovers at / wanted": lambda v: v[0] / v[1],
            "sum over the bowls": sum,
            "float force / ((line - bowl) pi d^2 / 4)": lambda v: v[0] / (v[1] * math.pi * v[2] ** 2 / 4),
            "share x pi D^2 / 4": lambda v: v[1] * math.pi * v[0] ** 2 / 4,
            "air flow x share / (lambda x stoichiometric ratio)": lambda v: v[0] * v[1] / (v[2] * v[3]),
        }.get(each["formula"])
        if expected is not None:
            assert each["value"] == pytest.approx(expected(values)), each
            checked.add(each["formula"])
    assert len(checked) >= 8
