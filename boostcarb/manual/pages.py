"""The pages of the manual, as they stand beside this file. Nothing else is loaded to show one."""

from __future__ import annotations

from dataclasses import dataclass
from importlib.resources import files

from boostcarb.errors import BadDescription, Problem
from boostcarb.suggest import suggest

PAGES = (
    "builder", "reviewer", "teacher", "job_file", "families", "rulebook", "physics", "sources", "changelog",
)  # fmt: skip
"""Names of all pages, in the order in which they are listed."""


@dataclass(frozen=True, slots=True)
class Page:
    """One page: its name, its title, what it is about in a line, and the whole of it as Markdown."""

    name: str
    title: str
    about: str
    text: str


def page(name: str) -> Page:
    """One page by its name. Raises: BadDescription where there is none.

    >>> page("builder").title
    'The builder'
    """
    if name not in PAGES:
        raise BadDescription(Problem(f"no such page {name!r}; {suggest(name, PAGES)}", field="PAGE"))
    text = files(__package__).joinpath(f"{name}.md").read_text(encoding="utf-8")
    head, about, *_ = text.split("\n\n", 2)
    return Page(name, head.removeprefix("# "), " ".join(about.split()), text)


def pages() -> tuple[Page, ...]:
    """All pages, in the order in which they are listed."""
    return tuple(page(name) for name in PAGES)
