"""The rulebook as a page, from the rule files."""

from __future__ import annotations

from collections.abc import Iterator

from boostcarb.manual.markdown import item, paragraph, plain
from boostcarb.quantities import UnitSystem
from boostcarb.report.rule_text import facts, weight
from boostcarb.report.wording import MODES
from boostcarb.rulebook.loading import shipped_rules
from boostcarb.rulebook.schema import Rule

SEVERITIES = ("stop", "fix", "advise")
NO_EFFECT = "nothing yet"
HEAD = """\
# The rulebook

Every rule: how bad it is, where it goes, whom it endangers, what must hold, why, what to do, and what it rests on.

A *stop* blocks whatever happens. A *fix* blocks too; under `pinned: accept:` you can say that you knowingly live with
it. *Advise* does not block. In names `*` stands for anything: `*.bowl` is every bowl. One rule with an example that
breaks it and one that keeps it, worked out: `boostcarb rules ID`.

Rules stand under what a carburetor does that breaks them; what has the most stops comes first."""
FOOT = "This page is made from the rule files by `python -m boostcarb.manual.generated`."


def rulebook_page() -> str:
    """The whole page."""
    groups = _groups()
    lines = [HEAD, ""]
    lines += [item(f"[{_heading(effect)}](#{_anchor(effect)}): {_counts(rules)}") for effect, rules in groups.items()]
    lines += [item("[All rules by name](#all-rules-by-name)")]
    for effect, rules in groups.items():
        lines += ["", f"## {_heading(effect)}"]
        for rule in rules:
            lines += ["", *_rule(rule)]
    lines += ["", "## All rules by name", "", "| rule | severity | targets |", "|---|---|---|", *_index(), "", FOOT]
    return "\n".join(lines) + "\n"


def _groups() -> dict[str, list[Rule]]:
    """Rules by effect: the effect with the most stops first, stops first within it."""
    found: dict[str, list[Rule]] = {}
    for rule in sorted(shipped_rules(), key=lambda rule: (SEVERITIES.index(rule.severity), rule.id)):
        found.setdefault(rule.effect or NO_EFFECT, []).append(rule)
    return dict(sorted(found.items(), key=lambda pair: (pair[0] == NO_EFFECT, -_number(pair[1], "stop"), pair[0])))


def _number(rules: list[Rule], severity: str) -> int:
    return sum(rule.severity == severity for rule in rules)


def _counts(rules: list[Rule]) -> str:
    return ", ".join(f"{_number(rules, each)} {each}" for each in SEVERITIES if _number(rules, each))


def _heading(effect: str) -> str:
    return effect[0].upper() + effect[1:]


def _anchor(effect: str) -> str:
    return effect.replace(" ", "-")


def _rule(rule: Rule) -> Iterator[str]:
    yield f"### {rule.id}"
    yield ""
    yield paragraph(f"**{plain(rule.title)}.** {weight(rule)}.")
    yield ""
    for title, text in facts(rule, UnitSystem.METRIC):
        yield item(plain(f"{title}: {text}"))


def _index() -> Iterator[str]:
    for rule in shipped_rules():
        targets = ", ".join(MODES[mode] for mode in rule.modes)
        yield f"| [{rule.id}](#{rule.id}) | {rule.severity} | {targets} |"
