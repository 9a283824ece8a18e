"""Unit factors and drill diameters against published values.

Sources: scipy.constants, which encodes CODATA and NIST SP 811; NIST Special Publication 811 (2008),
appendix B.8, to the seven digits printed there; ASME B94.11M, table of number and letter drills.
"""

from __future__ import annotations

import pytest
from scipy import constants

from boostcarb.drills import drill_diameter_m
from boostcarb.quantities import parse, units

EXACT = 1e-14  # both sides are products of exact factors: only rounding may differ


@pytest.mark.parametrize(
    ("kind", "text", "si"),
    [
        (units.DIFFERENCE, "1 psi", constants.psi),
        (units.DIFFERENCE, "1 atm", constants.atm),
        (units.DIFFERENCE, "1 bar", constants.bar),
        (units.LENGTH, "1 in", constants.inch),
        (units.LENGTH, "1 ft", constants.foot),
        (units.LENGTH, "1 thou", constants.mil),
        (units.VOLUME, "1 gal", constants.gallon_US),
        (units.VOLUME, "1 l", constants.liter),
        (units.VOLUME_FLOW, "1 cfm", constants.foot**3 / constants.minute),
        (units.VOLUME_FLOW, "1 gal/h", constants.gallon_US / constants.hour),
        (units.MASS_FLOW, "1 lb/min", constants.lb / constants.minute),
        (units.MASS, "1 oz", constants.oz),
        (units.FORCE, "1 lbf", constants.lbf),
        (units.ANGLE, "1 deg", constants.degree),
        (units.DURATION, "1 h", constants.hour),
        (units.TEMPERATURE, "140 degF", constants.convert_temperature(140, "F", "K")),
        (units.TEMPERATURE, "60 degC", constants.convert_temperature(60, "C", "K")),
    ],
)
def test_factors_agree_with_scipy(kind: units.Kind, text: str, si: float) -> None:
    assert parse(kind, text) == pytest.approx(si, rel=EXACT)


def test_mercury_agrees_with_scipy_to_the_torr() -> None:
    # The torr (atm/760) and the conventional millimeter of mercury differ by 1.4e-7 by definition.
    assert parse(units.DIFFERENCE, "1 mmHg") == pytest.approx(constants.torr, rel=2e-7)
    assert parse(units.DIFFERENCE, "1 inHg") == pytest.approx(constants.torr * 25.4, rel=2e-7)


@pytest.mark.parametrize(
    ("kind", "text", "printed"),
    [
        (units.DIFFERENCE, "1 inHg", 3.386389e3),
        (units.DIFFERENCE, "1 mmHg", 1.333224e2),
        (units.DIFFERENCE, "1 inH2O", 2.490889e2),
        (units.DIFFERENCE, "1 psi", 6.894757e3),
        (units.VOLUME_FLOW, "1 cfm", 4.719474e-4),
        (units.VOLUME_FLOW, "1 gal/min", 6.309020e-5),
        (units.MASS_FLOW, "1 lb/min", 7.559873e-3),
        (units.FORCE, "1 lbf", 4.448222),
        (units.VOLUME, "1 in3", 1.638706e-5),
        (units.DENSITY, "1 lb/ft3", 1.601846e1),
        (units.DENSITY, "1 lb/gal", 1.198264e2),
    ],
)
def test_factors_agree_with_nist_sp_811(kind: units.Kind, text: str, printed: float) -> None:
    assert parse(kind, text) == pytest.approx(printed, rel=5e-7)  # the last printed digit


# fmt: off
NUMBER_DRILLS_INCH = {
    80: .0135, 79: .0145, 78: .016, 77: .018, 76: .020, 75: .021, 74: .0225, 73: .024, 72: .025, 71: .026,
    70: .028, 69: .0292, 68: .031, 67: .032, 66: .033, 65: .035, 64: .036, 63: .037, 62: .038, 61: .039,
    60: .040, 59: .041, 58: .042, 57: .043, 56: .0465, 55: .052, 54: .055, 53: .0595, 52: .0635, 51: .067,
    50: .070, 49: .073, 48: .076, 47: .0785, 46: .081, 45: .082, 44: .086, 43: .089, 42: .0935, 41: .096,
    40: .098, 39: .0995, 38: .1015, 37: .104, 36: .1065, 35: .110, 34: .111, 33: .113, 32: .116, 31: .120,
    30: .1285, 29: .136, 28: .1405, 27: .144, 26: .147, 25: .1495, 24: .152, 23: .154, 22: .157, 21: .159,
    20: .161, 19: .166, 18: .1695, 17: .173, 16: .177, 15: .180, 14: .182, 13: .185, 12: .189, 11: .191,
    10: .1935, 9: .196, 8: .199, 7: .201, 6: .204, 5: .2055, 4: .209, 3: .213, 2: .221, 1: .228,
}
LETTER_DRILLS_INCH = {
    "A": .234, "B": .238, "C": .242, "D": .246, "E": .250, "F": .257, "G": .261, "H": .266, "I": .272,
    "J": .277, "K": .281, "L": .290, "M": .295, "N": .302, "O": .316, "P": .323, "Q": .332, "R": .339,
    "S": .348, "T": .358, "U": .368, "V": .377, "W": .386, "X": .397, "Y": .404, "Z": .413,
}
# fmt: on


def test_drills_agree_with_the_standard() -> None:
    listed = {f"#{number}": size for number, size in NUMBER_DRILLS_INCH.items()} | LETTER_DRILLS_INCH
    assert len(listed) == 106
    ours = {name: round((drill_diameter_m(name) or 0) / 0.0254, 6) for name in listed}
    assert ours == listed
