"""`boostcarb manual`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from boostcarb.manual.pages import Page

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
    """A line on every page."""
    from boostcarb.report.wrapping import wrapped

    longest = max(len(page.name) for page in pages)
    lines = [wrapped(page.about, first=f"  {page.name.ljust(longest)}  ") for page in pages]
    return "\n".join(["PAGES  boostcarb manual PAGE prints one", *lines])
