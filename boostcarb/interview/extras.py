"""Questions that belong to a part on the bench but to another section of the job: fuel supply, pump, bowls, cooler."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from boostcarb.interview.car import YES_NO
from boostcarb.interview.question import Choice

USUAL = "not measured; the usual for the family is taken"
NOT_SEEN = "left out; the usual for the family is taken"
NOT_JUDGED = "left out, and not judged"
GROUP, FIRST = "{group}", "{first}"


def _words(*words: str) -> tuple[Choice, ...]:
    return tuple(Choice(word, "") for word in words)


_SIZE = _words("large", "small")


@dataclass(frozen=True, slots=True)
class Extra:
    """A question that follows the one about an item.

    Attributes:
        name: where the answer goes in a job.
        after: the item it follows, `{group}` for the one of each barrel group.
        margins: it matters only where a rule judges one of these margins; none: always.
        not_with: forms of the item with which it is not asked.
        only_with: another answer without which it is not asked, as (question, answer).
        measured: whether it takes a gauge or a ruler, and not just eyes.
    """

    name: str
    after: str
    title: str
    look: str
    example: str = ""
    choices: tuple[Choice, ...] = ()
    margins: tuple[str, ...] = ()
    not_with: tuple[str, ...] = ()
    only_with: tuple[str, str] | None = None
    measured: bool = True
    otherwise: str = USUAL

    def of(self, group: str) -> Extra:
        """The same for one barrel group."""
        only = self.only_with
        return Extra(
            self.name.replace(GROUP, group), self.after.replace(GROUP, group), self.title.replace(GROUP, group),
            self.look, self.example, self.choices, self.margins, self.not_with,
            (only[0].replace(GROUP, group), only[1]) if only else None, self.measured, self.otherwise,
        )  # fmt: skip


_NEEDLE = ("needle_flow", "needle_closing", "needle_after_lift_off")
_LINE = ("needle_flow", "needle_closing", "fuel_pump_flow")
_PUMP, _FLOAT, _REGULATOR, _SEAT = "{group}.pump", "{group}.float", "fuel_regulator", "{first}.needle_seat"
_NO_PUMP = ("absent",)

EXTRAS = (
    Extra("charge.cooler.effectiveness", "charge_cooler", "effectiveness of the charge cooler",
          "Drop of the charge over the most it could drop, at full load.", "60 %", not_with=("absent",),
          otherwise="a usual one is taken"),
    Extra("charge.cooler.pressure_loss", "charge_cooler", "pressure loss of the charge cooler",
          "On a gauge before and after it, at full load.", "5 kPa", not_with=("absent",),
          otherwise="a usual one is taken"),
    Extra("supply.return", _REGULATOR, "does the regulator return to the tank",
          "Three fittings, one with a hose to the tank: yes. Two fittings: no.", choices=YES_NO, measured=False,
          otherwise=NOT_SEEN, margins=("needle_after_lift_off", "bowl_boiling")),
    Extra("supply.regulator_pressure", _REGULATOR, "fuel pressure",
          "On a gauge after the regulator, engine idling, reference at the atmosphere.", "6 psi", margins=_LINE),
    Extra("supply.line.bore", _REGULATOR, "bore of the fuel line", "Inside, from tank to regulator.", "8 mm",
          margins=_LINE),
    Extra("supply.line.length", _REGULATOR, "length of the fuel line", "From tank to regulator.", "4 m",
          margins=_LINE),
    Extra("supply.line.lift", _REGULATOR, "height of the carburetor above the fuel", "Tank a quarter full.", "0.4 m",
          margins=_LINE),
    Extra("supply.bowl_temperature", _REGULATOR, "temperature of the fuel in the bowl, hot",
          "Thermometer in the bowl or on its wall after a hard drive.", "60 degC", margins=("bowl_boiling",)),
    Extra("supply.needle_lift", _SEAT, "lift of the needle", "Feeler gauge, float hanging.", "1.5 mm", margins=_NEEDLE),
    Extra("supply.float_force", _SEAT, "force with which the float shuts the needle",
          "Spring balance at the float, times the ratio of its lever.", "0.8 N", margins=_NEEDLE),
    Extra("bowls.{group}.extensions", _FLOAT, "pickup extensions on the {group} jets",
          "Short tubes that carry the jets' inlets away from the wall.", choices=_words("fitted", "none"),
          margins=("jet_cover", "float_clearance"), measured=False, otherwise=NOT_JUDGED),
    Extra("bowls.{group}.extension_reach", _FLOAT, "reach of the {group} pickup extensions",
          "From the face of the metering block.", "28 mm", margins=("jet_cover", "float_clearance"),
          only_with=("bowls.{group}.extensions", "fitted")),
    Extra("bowls.{group}.float", _FLOAT, "is the {group} float notched to clear the extensions",
          "A corner is cut away on the side of the jets, or none is.", choices=_words("whole", "cut away"),
          only_with=("bowls.{group}.extensions", "fitted"), margins=("float_clearance",), measured=False,
          otherwise=NOT_SEEN),
    Extra("bowls.{group}.level", _FLOAT, "fuel level in the {group} bowl", "Above the floor of the bowl, standing.",
          "38 mm", margins=("jet_cover", "needle_closing")),
    Extra("pump.{group}.set.diaphragm", _PUMP, "size of the {group} pump's diaphragm",
          "Across the ring where the cover clamps it; lay it on one of known size.", choices=_SIZE,
          margins=("pump_parts",), not_with=_NO_PUMP, measured=False, otherwise=NOT_JUDGED),
    Extra("pump.{group}.set.cover", _PUMP, "size of the {group} pump's cover",
          "Depth of the cover: a large one lets the diaphragm move further.", choices=_SIZE, margins=("pump_parts",),
          not_with=_NO_PUMP, measured=False, otherwise=NOT_JUDGED),
    Extra("pump.{group}.set.spring", _PUMP, "return spring of the {group} pump",
          "In the fuel under the diaphragm: straight coils, or wider at one end.",
          choices=_words("straight", "conical"), margins=("pump_parts",), not_with=_NO_PUMP, measured=False,
          otherwise=NOT_JUDGED),
    Extra("pump.{group}.set.cam", _PUMP, "size of the {group} pump's cam",
          "Cam on the throttle lever that works the pump lever; lay it on one of known size.", choices=_SIZE,
          margins=("pump_parts",), not_with=_NO_PUMP, measured=False, otherwise=NOT_JUDGED),
    Extra("pump.{group}.seals", _PUMP, "seals of the {group} pump nozzle",
          "One gasket above the nozzle and one below it.",
          choices=_words("both", "top missing", "bottom missing"), margins=("pump_nozzle_seals",), not_with=_NO_PUMP,
          measured=False, otherwise=NOT_JUDGED),
    Extra("pump.{group}.screw", _PUMP, "screw of the {group} pump nozzle",
          "Hollow: drilled crosswise, feeds the nozzle through itself. Solid: a plain screw.",
          choices=_words("hollow", "solid"), margins=("pump_override",), not_with=_NO_PUMP, measured=False,
          otherwise=NOT_SEEN),
    Extra("pump.{group}.nozzle_bore", _PUMP, "bore of the {group} pump nozzle", "Drill shank or pin gauge.", "0.7 mm",
          margins=("pump_override",), not_with=_NO_PUMP),
    Extra("pump.{group}.capacity", _PUMP, "output of the {group} pump", "Ten full strokes into a measuring glass.",
          "28 cm3", margins=("pump_override",), not_with=_NO_PUMP),
    Extra("pump.{group}.override_preload", _PUMP, "force at which the {group} pump's override spring gives",
          "Spring on the pump lever's bolt; push the lever with a spring balance.", "32 N", margins=("pump_override",),
          not_with=_NO_PUMP, otherwise=NOT_JUDGED),
)  # fmt: skip


def extras(groups: list[str]) -> Iterator[Extra]:
    """Every such question, one for each barrel group where it goes by group."""
    for extra in EXTRAS:
        if GROUP in extra.name:
            yield from (extra.of(group) for group in groups)
        else:
            yield replace(extra, after=extra.after.replace(FIRST, groups[0]))
