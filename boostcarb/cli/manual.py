"""`boostcarb manual`."""

from __future__ import annotations

import shutil
import textwrap
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from boostcarb.manual.pages import Page

WIDEST, USUAL, NARROWEST = 100, 80, 40

Name = Annotated[str | None, typer.Argument(metavar="[PAGE]", help="One page, in full.", show_default=False)]
Out = Annotated[
    Path | None, typer.Option("--out", metavar="FILE", help="Write the page into this file.", show_default=False)
]
Force = Annotated[bool, typer.Option("--force", help="Overwrite the file.")]


def manual(page: Name = None, out: Out = None, force: Force = False) -> None:
    """The manual: its pages with a line on each, or one of them in full, as Markdown.

    Example: boostcarb manual builder
    """
    from boostcarb.manual import pages

    if page is None:
        if out is not None:
            from boostcarb.errors import BadDescription, Problem

            raise BadDescription(Problem("names a file, but no page for it; say which one", field="--out"))
        typer.echo(_listed(pages.pages()))
        return
    text = pages.page(page).text
    if out is None:
        typer.echo(text, nl=False)
        return
    from boostcarb.description.saving import save_text

    save_text(out, text, force=force)
    typer.echo(f"wrote {out}")


def _listed(pages: tuple[Page, ...]) -> str:
    """A line on every page, wrapped to the terminal; the wording of reports would load too much for that."""
    columns = max(NARROWEST, min(WIDEST, shutil.get_terminal_size((USUAL, 24)).columns))
    longest = max(len(page.name) for page in pages)
    lines = ["PAGES  boostcarb manual PAGE prints one"]
    for page in pages:
        start = f"  {page.name.ljust(longest)}  "
        rest = " " * len(start)
        lines.append(textwrap.fill(page.about, width=columns, initial_indent=start, subsequent_indent=rest))
    return "\n".join(lines)
