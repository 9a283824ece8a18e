"""Faults of the air path: a wastegate that sticks changes the boost itself, and all is set up anew."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from boostcarb.bench import Bench
from boostcarb.description.job import Charge, Job
from boostcarb.errors import BadDescription
from boostcarb.faults.catalogue import Fault, FaultKind
from boostcarb.faults.outcome import Consequence, Outcome, ordered, with_findings
from boostcarb.findings import Severity
from boostcarb.network.model import Configuration
from boostcarb.quantities import PressureLevel
from boostcarb.rulebook.judging import findings_in
from boostcarb.states.inputs import MAXIMUM_PRESSURE_RATIO

SHARE_OF_LIMIT = (0.95, 0.8, 0.65, 0.5)
"""Shares of the compressor's limit tried for a wastegate that stays shut, the worst that still balances counts."""

STUCK_OPEN_SHARE = 0.15
"""Boost that is left of the target with the wastegate open (assumption)."""

LIMIT, FITTED = "boost_limit", "fitted"
BYPASS, NONE = "bypass_outlet", "none"

SetUp = Callable[[Job], Bench]
"""A job set up with everything that can fail."""


@dataclass(frozen=True, slots=True)
class AirFault:
    """A stuck wastegate: the fault and the boosts that may come of it, Pa gauge, the worst first."""

    fault: Fault
    boosts_pa: tuple[float, ...]
    uncontrolled: bool


def air_faults(bench: Bench, whole: Configuration) -> Iterator[AirFault]:
    """What can stick in the air path of a boosted job."""
    charge = bench.job.charge
    if charge is None or bench.job.target == "naturally_aspirated":
        return
    ambient = bench.view(bench.network.found()).states[0].result.pressures_pa_abs["ambient"]
    limit = (charge.maximum_pressure_ratio or MAXIMUM_PRESSURE_RATIO) * ambient - ambient
    wanted = charge.boost.value_pa - (0.0 if charge.boost.reference == "gauge" else ambient)
    shut = tuple(share * limit for share in SHARE_OF_LIMIT if share * limit > wanted)
    yield AirFault(Fault("wastegate", "stuck_shut", FaultKind.part, "wastegate: stuck shut"), shut, True)
    low = (max(STUCK_OPEN_SHARE * wanted, 1000.0),)
    yield AirFault(Fault("wastegate", "stuck_open", FaultKind.part, "wastegate: stuck open"), low, False)
    if whole.get(BYPASS, NONE) != NONE:
        yield AirFault(Fault("bypass_valve", "stuck_open", FaultKind.part, "bypass valve: stuck open"), low, False)
        # Lift-off is always judged as if it stayed shut: nothing can come of it that was not judged before.
        yield AirFault(Fault("bypass_valve", "stuck_shut", FaultKind.part, "bypass valve: stuck shut"), (), False)


def air_outcome(bench: Bench, whole: Configuration, fault: AirFault, set_up: SetUp) -> Outcome:
    """What a stuck wastegate brings: the findings at the boost it makes, and that nothing holds the boost.

    Raises:
        NotSolved: a balance that does not close.
    """
    if not fault.boosts_pa:
        return Outcome(fault.fault, ())
    consequences = list(_uncontrolled(whole)) if fault.uncontrolled else [_lost()]
    for boost in fault.boosts_pa:
        try:
            other = set_up(_with_boost(bench.job, boost))
        except BadDescription:
            continue  # more than engine and carburetor can take in: the next lower boost is tried
        known = {finding.key for finding in findings_in(bench.judge.each(whole))}
        found = [finding for finding in findings_in(other.judge.each(whole)) if finding.key not in known]
        consequences += with_findings(other, other.view(whole), found)
        told = replace(fault.fault, title=f"{fault.fault.title}, boost of {boost / 1000:.0f} kPa")
        return Outcome(told, ordered(consequences, other.view(whole)))
    return Outcome(fault.fault, ordered(consequences, bench.view(whole)))


def _with_boost(job: Job, boost_pa: float) -> Job:
    charge: Charge | None = job.charge
    if charge is None:
        raise ValueError("a job without boost has no wastegate")
    return job.model_copy(update={"charge": charge.model_copy(update={"boost": PressureLevel(boost_pa, "gauge")})})


def _uncontrolled(whole: Configuration) -> Iterator[Consequence]:
    limited = whole.get(LIMIT) == FITTED
    yield Consequence(
        "uncontrolled boost", Severity.fix if limited else Severity.stop, ("engine",), "full_boost_torque_peak",
        ("full_boost_torque_peak", "full_boost_redline"),
    )  # fmt: skip


def _lost() -> Consequence:
    return Consequence("less power", Severity.advise, ("engine",), "full_boost_torque_peak",
                       ("full_boost_torque_peak", "full_boost_redline"))  # fmt: skip
