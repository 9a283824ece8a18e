"""The pages that follow from the data: `python -m boostcarb.manual.generated` writes them anew, in a checkout."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from types import MappingProxyType

from boostcarb.description.saving import save_text
from boostcarb.manual.families_page import families_page
from boostcarb.manual.job_page import job_page
from boostcarb.manual.rulebook_page import rulebook_page
from boostcarb.manual.sources_page import sources_page

HERE = Path(__file__).parent

GENERATED: Mapping[str, Callable[[], str]] = MappingProxyType(
    {"rulebook": rulebook_page, "families": families_page, "job_file": job_page, "sources": sources_page}
)
"""What makes each of these pages, by its name."""


def write(folder: Path = HERE) -> None:
    """Write these pages into a folder, over those that are there."""
    for name, made in GENERATED.items():
        save_text(folder / f"{name}.md", made(), force=True)


if __name__ == "__main__":
    write()
