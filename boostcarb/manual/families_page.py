"""The carburetor families as a page, from their files."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from importlib.resources import as_file, files
from typing import Any

from pydantic import BaseModel

from boostcarb.description.family import Diaphragm, Family, Line, Option, Part, Passage, Space, Tap, ValveAction
from boostcarb.description.loading import SURROUNDINGS, shipped_families, shipped_family
from boostcarb.description.source import read_document
from boostcarb.manual.markdown import code, codes, item, paragraph, plain

HEAD = """\
# The carburetor families

What each family is made of, by the names that a job file uses: spaces, passages, parts, lines, diaphragms.

Compare the casting in front of you with this page: a passage that is not here is not judged. The same in the
terminal, without the typical values: `boostcarb families NAME`. A carburetor that is none of these is a file of its
own: [how to write one](../description/families/TUTORIAL.md). Sizes are typical of the family (common practice, no
source); measure yours. A passage is found *open*, *plugged* or *absent*; what can be done with it stands last."""
FOOT = "This page is made from the family files by `python -m boostcarb.manual.generated`."
SECTIONS = ("spaces", "passages", "parts", "lines", "diaphragms")
WORK = (("close", "closed"), ("reopen", "reopened"), ("drill", "drilled where it is absent"))


def families_page() -> str:
    """The whole page."""
    names = sorted(shipped_families(), key=lambda name: (shipped_family(name).family.based_on is not None, name))
    families = [shipped_family(name).family for name in (*names, SURROUNDINGS)]
    lines = [HEAD, ""]
    lines += [item(f"[{family.family}](#{family.family}): {plain(family.title)}") for family in families]
    for family in families:
        lines += ["", *_family(family)]
    lines += ["", FOOT]
    return "\n".join(lines) + "\n"


def _family(family: Family) -> Iterator[str]:
    yield f"## {family.family}"
    yield ""
    yield paragraph(plain(f"{family.title[0].upper()}{family.title[1:]}. {family.summary}"))
    base = shipped_family(family.based_on).family if family.based_on is not None else None
    if base is not None:
        link = f"[{base.family}](#{base.family})"
        yield ""
        yield paragraph(f"Based on {link}: what is the same there is not repeated here. {_left_out(family, base)}")
    yield from _barrels(family)
    for section in SECTIONS:
        entries = _own(getattr(family, section), getattr(base, section) if base is not None else {})
        if entries:
            yield ""
            yield f"### {section.capitalize()} of {family.family}"
            yield ""
            yield from (item(f"{code(name)}: {plain(_SAID[section](entry))}") for name, entry in entries)
    yield from _typical(family)


def _own(entries: Mapping[str, BaseModel], base: Mapping[str, BaseModel]) -> list[tuple[str, Any]]:
    return sorted((name, entry) for name, entry in entries.items() if base.get(name) != entry)


def _left_out(family: Family, base: Family) -> str:
    """How many of its base's entries it does not have; those of a whole barrel group are not named one by one."""
    gone = [name for each in SECTIONS for name in getattr(base, each) if name not in getattr(family, each)]
    groups = [group for group in base.groups if group not in family.groups]
    others = [name for name in gone if name.partition(".")[0] not in groups]
    said = [f"all of the {group} barrels" for group in groups] + ([codes(sorted(others))] if others else [])
    return f"It has none of these: {', '.join(said)}." if said else ""


def _barrels(family: Family) -> Iterator[str]:
    if family.flow is None:
        return
    flow = family.flow
    yield ""
    rated = f"{flow.rated_flow * 60 / 0.3048**3:.0f} cfm at {flow.rated_drop / 3386.389:g} inHg"
    yield paragraph(f"Rated {rated}; boosters pull {flow.booster_gain:g} times as hard as their venturis. Barrels:")
    yield ""
    for group, venturis in flow.venturis.items():
        said = f"{code(group)}: {venturis.count} of {_mm(venturis.bore)}"
        if venturis.depression is not None:
            said += f", an air valve holds a pull of {venturis.depression / 1e3:g} kPa"
        later = flow.opening.get(group)
        if later is not None:
            said += "; opens after the others, "
            said += f"{code(later.part)} says how" if later.part else "by linkage"
        yield item(said)


def _mm(length_m: float) -> str:
    return f"{length_m * 1e3:g} mm"


def _space(space: Space) -> str:
    volume = "" if space.volume is None else f", {space.volume * 1e6:g} cm3"
    where = "; its pressure comes from the air path" if space.source else f"; in: {space.casting.replace('_', ' ')}"
    return f"{space.title}; holds {space.holds.replace('_', ' ')}{volume}{where}"


def _passage(passage: Passage) -> str:
    way = " to ".join(passage.joins) + (", one way" if passage.one_way else "")
    said = f"{passage.title}; {passage.kind.replace('_', ' ')} from {way}; as built {passage.as_built}{_size(passage)}"
    can = [words for field, words in WORK if getattr(passage, field) is not None]
    return f"{said}; can be {' or '.join(can)}" if can else said


def _size(passage: Passage) -> str:
    holes = f"{passage.count} of " if passage.count > 1 else ""
    if passage.bore is None:
        return "" if passage.area is None else f"; {holes}{passage.area * 1e6:g} mm2"
    usual = ""
    if passage.range is not None:
        low, high = passage.range
        usual = f", usually {low * 1e3:g} to {_mm(high)}"
    return f"; {holes}{_mm(passage.bore)}{usual}"


def _part(part: Part) -> str:
    forms = _forms(part.options, part.as_built)
    if part.made_of is None:
        return f"{part.title}. Forms: {forms}"
    of = f"{codes(part.made_of.choices)}; as built {code(part.made_of.as_built)}"
    return f"{part.title}. Forms: {forms}. Its {part.made_of.what} can be of {of}"


def _line(line: Line) -> str:
    return f"{line.title}; {_mm(line.bore)}, from {line.of}. Can lead to: {_forms(line.taps, line.as_built)}"


def _forms(forms: Mapping[str, Option | Tap], as_built: str) -> str:
    return "; ".join(
        f"{code(name)} {form.title}" + (" (as built)" if name == as_built else "") for name, form in forms.items()
    )


def _diaphragm(wall: Diaphragm) -> str:
    said = f"{wall.title}; {wall.kind} between {' and '.join(wall.between)}; moves: {wall.role.replace('_', ' ')}"
    if wall.leaks_past is not None:
        said += f"; leaks past {wall.leaks_past}"
    if wall.part is not None:
        said += f"; {wall.part} says how it acts"
    if wall.valve is not None:
        said += f"; {_action(wall.valve)}"
    if wall.limits is not None:
        said += f"; stands {wall.limits.forward / 1e3:g} kPa, {wall.limits.reverse / 1e3:g} kPa the other way"
    return said


def _action(valve: ValveAction) -> str:
    if valve.setting is None:
        return f"{valve.opens} open" if valve.opens == "always" else "never opens"
    return f"opens {valve.opens} {valve.setting / 1e3:g} kPa, first side less second"


_SAID: Mapping[str, Any] = {
    "spaces": _space, "passages": _passage, "parts": _part, "lines": _line, "diaphragms": _diaphragm,
}  # fmt: skip


def _typical(family: Family) -> Iterator[str]:
    """What the fuel side usually looks like, as its file says it."""
    entry = files("boostcarb.description").joinpath("typical", f"{family.family}.yaml")
    if not entry.is_file():
        return
    with as_file(entry) as path:
        said = read_document(path).data
    yield ""
    yield f"### Typical fuel side of {family.family}"
    yield ""
    for section, values in said.items():
        yield item(f"{code(str(section))}: " + "; ".join(_flat(values)))


def _flat(values: Any, path: Sequence[str] = ()) -> Iterator[str]:
    if isinstance(values, Mapping):
        for key, value in values.items():
            yield from _flat(value, (*path, str(key)))
    else:
        said = str(values).lower() if isinstance(values, bool) else values
        yield f"{'.'.join(path)} {said}"
