"""Rules, families and materials as text."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from boostcarb.description.family import Family, Passage
from boostcarb.description.material import Material, Verdict
from boostcarb.report.wording import count
from boostcarb.report.wrapping import wrapped
from boostcarb.rulebook.schema import Rule

if TYPE_CHECKING:
    from boostcarb.examples import Checked
    from boostcarb.family_trial import FamilyCheck

CELL = len("check grade")
"""Widest word of a table of materials."""


def rules_text(rules: Iterable[Rule], *, of: int) -> str:
    """One line a rule, worst first, and how many of all they are."""
    order = ("stop", "fix", "advise")
    listed = sorted(rules, key=lambda rule: (order.index(rule.severity), rule.id))
    longest = max((len(rule.id) for rule in listed), default=0)
    lines = []
    for severity in order:
        members = [rule for rule in listed if rule.severity == severity]
        if members:
            lines.append(f"{severity.upper()}  {count(len(members), 'rule')}")
            lines += [
                wrapped(f"{rule.id.ljust(longest)}  {rule.title}", first="  ", rest=" " * (longest + 4))
                for rule in members
            ]
    if not lines:
        return f"No rule of {of} is like that. `boostcarb rules` lists them all."
    lines.append(f"{len(listed)} of {of} rules. One explained: boostcarb rules {listed[0].id}")
    return "\n".join(lines)


def checked_text(checked: Checked) -> str:
    """What a folder of one's own adds, checked."""
    own = checked.own
    counts = [(own.rules, "rule", None), (own.families, "family", "families"), (own.materials, "material", None)]
    found = ", ".join(count(len(names), noun, plural) for names, noun, plural in counts if names)
    lines = [wrapped(f"{own.folder}: {found}; all sound.")]
    if own.rules:
        lines.append(f"  {count(checked.examples, 'example')} worked out, each as it says")
    if own.replaced:
        lines.append(wrapped(f"takes the place of ours: {', '.join(own.replaced)}", first="  "))
    return "\n".join(lines)


def materials_text(table: Sequence[tuple[Material, Sequence[Verdict]]]) -> str:
    """One line a material: what becomes of it in each fuel."""
    fuels = [verdict.fuel for verdict in table[0][1]]
    name = max(len(material.material) for material, _ in table)
    lines, kind = [], ""
    for material, verdicts in sorted(table, key=lambda row: (row[0].kind, row[0].material)):
        if material.kind != kind:
            kind = material.kind
            lines.append(f"{kind.upper().ljust(name + 2)}  " + "  ".join(fuel.ljust(CELL) for fuel in fuels))
        cells = "  ".join(verdict.rating.ljust(CELL) for verdict in verdicts)
        lines.append(f"  {material.material.ljust(name)}  {cells}".rstrip())
    note = (
        "check grade: sources differ, and the grade at hand may be either's; `boostcarb materials NAME` shows them. "
        "A rating is a place to start: the maker of the part knows its grade."
    )
    return "\n".join([*lines, wrapped(note)])


def material_text(material: Material, verdicts: Sequence[Verdict]) -> str:
    """One material: how to tell it, and what each source says of it in each fuel."""
    lines = [f"{material.material}  {material.title}", wrapped(material.summary, first="  ")]
    for verdict in verdicts:
        lines.append(f"{verdict.fuel.ljust(9)}{verdict.rating.upper()}")
        for rating in verdict.ratings:
            said = f"{rating.rating}, {rating.confidence} confidence: {rating.source}"
            lines.append(wrapped(said, first="  - ", rest="    "))
            if rating.note:
                lines.append(wrapped(rating.note, first="    "))
    return "\n".join(lines)


def family_check_text(check: FamilyCheck) -> str:
    """A family that can be used: what is in it, how it does as built, what is worth a second look."""
    family = check.family
    parts = ", ".join(
        count(len(getattr(family, section)), section.rstrip("s"))
        for section in ("spaces", "passages", "parts", "lines", "diaphragms", "stages")
    )
    lines = [wrapped(f"{family.family}: sound. {parts}.")]
    lines.append("As built, before any change:")
    for trial in check.trials:
        broken = f"{count(trial.stops, 'stop')}, {count(trial.fixes, 'fix', 'fixes')}"
        lines.append(f"  {trial.mode.replace('_', ' ')}: {broken}")
    if check.advice:
        lines.append("Worth a second look:")
        lines += [wrapped(str(problem), first="  ", rest="    ") for problem in check.advice]
    lines.append(wrapped(f"Use it: put the file into DIR/families/{family.family}.yaml and add --data DIR."))
    return "\n".join(lines)


def families_text(families: Mapping[str, Family]) -> str:
    """One paragraph a family."""
    lines = []
    for name, family in families.items():
        lines.append(f"{name}  {family.title}")
        lines.append(wrapped(family.summary, first="  "))
    return "\n".join(lines)


def family_text(family: Family) -> str:
    """What one family knows: spaces, passages, parts and lines, with the words a job file uses."""
    lines = [f"{family.family}  {family.title}", wrapped(family.summary, first="  ")]
    if family.based_on is not None:
        lines.append(wrapped(f"based on {family.based_on}: what is said there holds here too", first="  "))
    lines += _barrels(family)
    lines.append("PASSAGES  found: open, plugged, absent or not looked at")
    for name, passage in sorted(family.passages.items()):
        lines.append(
            wrapped(
                f"{name}: {passage.title}; {' to '.join(passage.joins)}; as built {passage.as_built}{_size(passage)}",
                first="  ",
                rest="      ",
            )
        )
    lines.append("PARTS  found: one of these forms, or not looked at")
    for name, part in sorted(family.parts.items()):
        forms = ", ".join(form + (" (as built)" if form == part.as_built else "") for form in part.options)
        lines.append(wrapped(f"{name}: {forms}", first="  ", rest="      "))
        if part.made_of is not None:
            of = ", ".join(m + (" (as built)" if m == part.made_of.as_built else "") for m in part.made_of.choices)
            lines.append(wrapped(f"{name}.material, of the {part.made_of.what}: {of}", first="  ", rest="      "))
    lines.append("LINES  found: where they lead, or not looked at")
    for name, line in sorted(family.lines.items()):
        taps = ", ".join(tap + (" (as built)" if tap == line.as_built else "") for tap in line.taps)
        lines.append(wrapped(f"{name}: {taps}", first="  ", rest="      "))
    if family.diaphragms:
        lines.append("DIAPHRAGMS AND PISTONS")
    for name, wall in sorted(family.diaphragms.items()):
        leak = f", leaks past {wall.leaks_past}" if wall.leaks_past else ""
        between = " and ".join(wall.between)
        lines.append(wrapped(f"{name}: {wall.kind} between {between}; {wall.role}{leak}", first="  ", rest="      "))
    lines.append("STRIP-DOWN")
    lines += [wrapped(f"{name}: {stage.title}", first="  ") for name, stage in family.stages.items()]
    lines.append("SPACES")
    lines += [
        wrapped(f"{name}: {space.title}", first="  ", rest="      ") for name, space in sorted(family.spaces.items())
    ]
    return "\n".join(lines)


def _barrels(family: Family) -> list[str]:
    """Barrel groups with their venturis, and what opens them."""
    if family.flow is None:
        return []
    lines = ["BARRELS"]
    for group, venturis in family.flow.venturis.items():
        title = family.group_titles.get(group, f"{group} barrels")
        said = f"{group}: {title}, {venturis.count} of {venturis.bore * 1e3:g} mm"
        if venturis.depression is not None:
            said += f", an air valve holds a pull of {venturis.depression / 1e3:g} kPa"
        later = family.flow.opening.get(group)
        if later is not None:
            said += "; opens after the others"
            said += f", {later.part} says how" if later.part else " by linkage"
        lines.append(wrapped(said, first="  ", rest="      "))
    return lines


def _size(passage: Passage) -> str:
    """The usual bore of a passage, and its range."""
    if passage.bore is None:
        return f"; {passage.area * 1e6:g} mm2" if passage.area is not None else ""
    holes = f"{passage.count} of " if passage.count > 1 else ""
    size = f"; {holes}{passage.bore * 1e3:g} mm"
    if passage.range is not None:
        low, high = passage.range
        size += f", usually {low * 1e3:g} to {high * 1e3:g} mm"
    return size
