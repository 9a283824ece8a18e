"""`boostcarb rules`."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from boostcarb.cli.options import DataOption, Format, FormatOption, Fuel, Target, UnitsOption
from boostcarb.errors import BadDescription, Problem
from boostcarb.quantities import UnitSystem
from boostcarb.suggest import suggest

if TYPE_CHECKING:
    from boostcarb.description.library import Library
    from boostcarb.rulebook.schema import Rule


class Severity(StrEnum):
    """How bad a finding is."""

    stop = "stop"
    fix = "fix"
    advise = "advise"


class Danger(StrEnum):
    """Whom a fault endangers."""

    engine = "engine"
    people = "people"


RuleId = Annotated[str | None, typer.Argument(metavar="[ID]", help="One rule, explained.", show_default=False)]
TargetFilter = Annotated[Target | None, typer.Option("--target", help="Only rules of this target.")]
SeverityFilter = Annotated[Severity | None, typer.Option("--severity", help="Only rules of this severity.")]
DangerFilter = Annotated[Danger | None, typer.Option("--endangers", help="Only rules about danger to these.")]
FamilyFilter = Annotated[str | None, typer.Option("--family", metavar="NAME", help="Only rules for this family.")]
FuelFilter = Annotated[Fuel | None, typer.Option("--fuel", help="Only rules for this fuel.")]
About = Annotated[
    str | None, typer.Option("--about", metavar="WORD", help="Only rules that speak of this, in title, places or why.")
]
Check = Annotated[
    Path | None,
    typer.Option("--check", metavar="DIR", help="Check a folder of your own rules, families and materials, and stop."),
]


def rules(
    rule: RuleId = None,
    target: TargetFilter = None,
    severity: SeverityFilter = None,
    endangers: DangerFilter = None,
    family: FamilyFilter = None,
    fuel: FuelFilter = None,
    about: About = None,
    data: DataOption = None,
    check: Check = None,
    output: FormatOption = Format.text,
    units: UnitsOption = None,
) -> None:
    """The rulebook: every rule on a line, or one of them explained with a worked example.

    Example: boostcarb rules --target blow_through --severity stop --about bowl
    """
    if check is not None:
        _check(check, output)
        return
    from boostcarb.description.library import open_library
    from boostcarb.report import catalogue_text
    from boostcarb.rulebook.loading import rules_of

    library = open_library(data)
    book = {each.id: each for each in rules_of(library)}
    if rule is not None:
        if rule not in book:
            raise BadDescription(Problem(f"no such rule {rule!r}; {suggest(rule, book)}", field="ID"))
        _explain(book[rule], library, output, units or UnitSystem.METRIC)
        return
    if family is not None and family not in library.families():
        raise BadDescription(
            Problem(f"unknown family {family!r}; {suggest(family, library.families())}", field="--family")
        )
    wanted = {"target": target, "severity": severity, "endangers": endangers, "family": family, "fuel": fuel}
    shown = [each for each in book.values() if _fits(each, wanted) and (about is None or each.speaks_of(about))]
    if output is Format.json:
        from boostcarb.report import records

        typer.echo(records.as_json(records.rules_record(shown)))
    else:
        typer.echo(catalogue_text.rules_text(shown, of=len(book)))


def _fits(rule: Rule, wanted: dict[str, str | None]) -> bool:
    target, family, fuel, endangers = (wanted[name] for name in ("target", "family", "fuel", "endangers"))
    return (
        (target is None or target in rule.modes)
        and wanted["severity"] in (None, rule.severity)
        and (endangers is None or endangers in rule.endangers)
        and (family is None or rule.families == "any" or family in rule.families)
        and (fuel is None or rule.fuels == "any" or fuel in rule.fuels)
    )


def _explain(rule: Rule, library: Library, output: Format, units: UnitSystem) -> None:
    from boostcarb import examples
    from boostcarb.report import records, rule_text

    worked = [examples.work_out(each) for each in examples.first_of_each(rule.id, library)]
    if output is Format.json:
        typer.echo(records.as_json(records.rules_record([rule], worked)))
    else:
        typer.echo(rule_text.rule_text(rule, worked, units))


def _check(folder: Path, output: Format) -> None:
    from boostcarb import examples
    from boostcarb.report import catalogue_text, records

    checked = examples.check(folder)
    if checked.problems:
        raise BadDescription(checked.problems)
    if output is Format.json:
        typer.echo(records.as_json(records.checked_record(checked)))
    else:
        typer.echo(catalogue_text.checked_text(checked))
