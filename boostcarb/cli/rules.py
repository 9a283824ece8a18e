"""`boostcarb rules`."""

from __future__ import annotations

from typing import Annotated

import typer

from boostcarb.cli.options import Format, FormatOption
from boostcarb.errors import BadDescription, Problem
from boostcarb.suggest import suggest

RuleId = Annotated[str | None, typer.Argument(metavar="[ID]", help="One rule, explained.", show_default=False)]


def rules(rule: RuleId = None, output: FormatOption = Format.text) -> None:
    """The rulebook: every rule on a line, or one of them explained.

    Example: boostcarb rules enrichment_shut_in_boost
    """
    from boostcarb.report import catalogue_text
    from boostcarb.rulebook.loading import shipped_rules

    book = {each.id: each for each in shipped_rules()}
    if rule is not None and rule not in book:
        raise BadDescription(Problem(f"no such rule {rule!r}; {suggest(rule, book)}", field="ID"))
    shown = list(book.values()) if rule is None else [book[rule]]
    if output is Format.json:
        from boostcarb.report import records

        typer.echo(records.as_json(records.rules_record(shown)))
    else:
        typer.echo(catalogue_text.rules_text(shown) if rule is None else catalogue_text.rule_text(shown[0]))
