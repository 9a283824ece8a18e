"""What is in a network that was written or read, in a few lines."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from boostcarb.network.model import Network
from boostcarb.report.records import schema_name
from boostcarb.report.wording import count
from boostcarb.report.wrapping import wrapped


def graph_text(network: Network, written: Path | None) -> str:
    """The size of a network, and where it was written."""
    sizes = ", ".join(
        (
            count(len(network.spaces), "space"), count(len(network.ways), "way"),
            count(len(network.diaphragms), "diaphragm"), count(len(network.items), "item"),
        )
    )  # fmt: skip
    return wrapped(f"{'sound' if written is None else written}: {sizes}")


def graph_record(network: Network, written: Path | None) -> dict[str, Any]:
    """The answer of `graph`."""
    return {
        "schema": schema_name("graph"),
        "job": None,
        "written": None if written is None else str(written),
        "spaces": len(network.spaces),
        "ways": len(network.ways),
        "diaphragms": len(network.diaphragms),
        "items": len(network.items),
    }
