"""Rules and families as text."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from boostcarb.description.family import Family
from boostcarb.report.wording import MODES, wrapped
from boostcarb.rulebook.schema import Rule


def rules_text(rules: Iterable[Rule]) -> str:
    """One line a rule, worst first."""
    order = ("stop", "fix", "advise")
    listed = sorted(rules, key=lambda rule: (order.index(rule.severity), rule.id))
    longest = max((len(rule.id) for rule in listed), default=0)
    lines = []
    for severity in order:
        members = [rule for rule in listed if rule.severity == severity]
        if members:
            lines.append(f"{severity.upper()}  {len(members)} rules")
            lines += [
                wrapped(f"{rule.id.ljust(longest)}  {rule.title}", first="  ", rest=" " * (longest + 4))
                for rule in members
            ]
    return "\n".join(lines)


def rule_text(rule: Rule) -> str:
    """One rule, explained."""
    return "\n".join(_rule_lines(rule))


def _rule_lines(rule: Rule) -> Iterator[str]:
    yield f"{rule.id}"
    yield wrapped(rule.title, first="  ")
    yield wrapped(f"{rule.severity.upper()}, endangers {' and '.join(rule.endangers)}", first="  ")
    yield wrapped(f"targets: {', '.join(MODES[mode] for mode in rule.modes)}", first="  ")
    if rule.families != "any":
        yield wrapped(f"families: {', '.join(rule.families)}", first="  ")
    requirement = rule.requirement.model_dump(mode="json", by_alias=True, exclude_none=True)
    kind = requirement.pop("kind").replace("_", " ")
    yield wrapped(
        f"must hold: {kind}; " + "; ".join(f"{key} {_plain(value)}" for key, value in requirement.items()),
        first="  ",
        rest="    ",
    )
    for item, forms in rule.when.items():
        yield wrapped(f"where {item} is {' or '.join(forms)}", first="  ")
    for title, text in (("why", rule.why), ("limits", rule.limits), ("remedy", rule.remedy)):
        if text:
            yield wrapped(f"{title}: {text}", first="  ", rest="    ")
    basis = rule.basis.kind + (f": {rule.basis.reference}" if rule.basis.reference else ", no source")
    yield wrapped(f"basis: {basis}", first="  ", rest="    ")


def _plain(value: object) -> str:
    return ", ".join(map(str, value)) if isinstance(value, list) else str(value)


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
    lines.append("PASSAGES  found: open, plugged, absent or not looked at")
    for name, passage in sorted(family.passages.items()):
        lines.append(
            wrapped(
                f"{name}: {passage.title}; {' to '.join(passage.joins)}; as built {passage.as_built}",
                first="  ",
                rest="      ",
            )
        )
    lines.append("PARTS  found: one of these forms, or not looked at")
    for name, part in sorted(family.parts.items()):
        forms = ", ".join(form + (" (as built)" if form == part.as_built else "") for form in part.options)
        lines.append(wrapped(f"{name}: {forms}", first="  ", rest="      "))
    lines.append("LINES  found: where they lead, or not looked at")
    for name, line in sorted(family.lines.items()):
        taps = ", ".join(tap + (" (as built)" if tap == line.as_built else "") for tap in line.taps)
        lines.append(wrapped(f"{name}: {taps}", first="  ", rest="      "))
    lines.append("STRIP-DOWN")
    lines += [wrapped(f"{name}: {stage.title}", first="  ") for name, stage in family.stages.items()]
    lines.append("SPACES")
    lines += [
        wrapped(f"{name}: {space.title}", first="  ", rest="      ") for name, space in sorted(family.spaces.items())
    ]
    return "\n".join(lines)
