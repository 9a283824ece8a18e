"""How sure lambda is as plain data for JSON: null for a percentile without fuel."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from boostcarb.fueling.spreads import Spread
from boostcarb.fueling.uncertainty import HowSure, Sure

Record = dict[str, Any]


def sure_record(sure: HowSure) -> Record:
    """Percentiles of lambda by state and group, full boost first, with the inputs that dominate."""
    return {
        "of": "planned",
        "samples": sure.samples,
        "seed": sure.seed,
        "states": [_row(row) for row in sure.rows],
        "spreads": [_spread(spread) for spread in sure.spreads],
        "notes": list(sure.notes),
    }


def _row(row: Sure) -> Record:
    return {
        "state": row.state,
        "group": row.group,
        "target_lambda": row.wanted,
        "lambda_percentiles": {"5": row.low, "50": row.middle, "95": row.high},
        "share_leaner_than_wanted": row.leaner,
        "share_without_fuel": row.no_fuel,
        "variance_explained": row.explained,
        "dominated_by": [asdict(share) for share in row.shares],
    }


def _spread(spread: Spread) -> Record:
    return {
        "name": spread.name,
        "title": spread.title,
        "kind": spread.kind.name,
        "low": spread.low,
        "high": spread.high,
        "unit": spread.unit,
        "source": spread.source,
    }
