"""What rules leave unjudged because the job does not say enough, and which fields would let it be judged."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from boostcarb.description.job import Job
from boostcarb.findings import NotJudged
from boostcarb.network.model import Network
from boostcarb.network.tracing import matching
from boostcarb.rulebook import schema
from boostcarb.rulebook.margins import NEEDS, given_groups

JETS, NEEDLE, FUEL_PUMP = "jets", "needle", "fuel pump"

WHAT: Mapping[str, tuple[str | None, str]] = {
    "needle_flow": (NEEDLE, "whether needle and seat pass enough fuel"),
    "needle_closing": (NEEDLE, "whether the float shuts the needle"),
    "needle_after_lift_off": (NEEDLE, "whether the needle holds after lift-off"),
    "fuel_pump_flow": (FUEL_PUMP, "whether the fuel pump delivers enough"),
    "pump_override": (None, "whether the accelerator pump's shot lasts in boost"),
    "pump_parts": (None, "whether the accelerator pump's parts are of one size"),
    "pump_nozzle_seals": (None, "whether the pump nozzle's seals are there"),
    "jet_cover": (None, "whether the jets stay covered under way"),
    "float_clearance": (None, "whether pickup extensions clear the float"),
    "bowl_boiling": (None, "whether a hot bowl boils at lift-off"),
}
"""By margin: what a verdict must name as not proved, if it must, and what is not judged."""


def not_judged(rules: Iterable[schema.Rule], network: Network, job: Job) -> Iterator[NotJudged]:
    """What the rules that apply leave unjudged in a job: the mixture first, then the margins in their order."""
    book = list(rules)
    yield from _mixture(book, network)
    for of, (subject, what) in WHAT.items():
        of_this = tuple(r.id for r in book if isinstance(r.requirement, schema.Margin) and r.requirement.of == of)
        missing = tuple(_missing(of, network, job)) if of_this else ()
        if missing:
            yield NotJudged(of_this, subject, what, missing)


def _mixture(rules: Iterable[schema.Rule], network: Network) -> Iterator[NotJudged]:
    of_this = tuple(rule.id for rule in rules if isinstance(rule.requirement, schema.Mixture))
    circuits = [network.circuits[group] for group in sorted(network.circuits)]
    missing = [
        f"found.{each.jet_hole}.bore"
        for each in circuits
        if each.jet_hole in network.items and not each.variable and each.jet_sizes not in network.items
    ]
    if of_this and missing:
        yield NotJudged(of_this, JETS, "the mixture", (*missing, "or metering.measured"))


def _missing(of: str, network: Network, job: Job) -> Iterator[str]:
    """The fields that the job would have to give, of every barrel group that has the part."""
    path = NEEDS[of]
    if of == "needle_after_lift_off" and job.supply is not None and job.supply.return_line:
        return
    given = given_groups(job, path)
    if "*" not in path:
        if not given:
            yield ".".join(path)
        return
    section, fields = path[0], path[2:] or ("set",)
    places = network.spaces if section == "bowls" else network.items
    part = "*.bowl" if section == "bowls" else "*.pump"
    for group in sorted(name.partition(".")[0] for name in matching(part, places)):
        if group not in given:
            yield ".".join((section, group, *fields))
