"""What was assumed for a state, and where it falls short of what was asked, in plain words."""

from __future__ import annotations

from typing import Final

from boostcarb.states.balance import Balance
from boostcarb.states.carburetor_air import Opening
from boostcarb.states.charge_path import ChargePath
from boostcarb.states.inputs import Carburetor
from boostcarb.states.operating_state import Boost, OperatingState, Throttle
from boostcarb.states.turbo_air import TurboAir

_ROUNDING: Final = 1.0e-9


def throttle_notes(state: OperatingState, found: Balance, *, target_pa_abs: float) -> tuple[str, ...]:
    """Where the throttle stands; `target_pa_abs` is the manifold pressure asked of part throttle."""
    if state.throttle is Throttle.shut:
        times = "" if state.opening_factor == 1.0 else f" times {state.opening_factor:g}"
        return (f"throttle opening of idle{times}",)
    if state.throttle is not Throttle.manifold:
        return ()
    asked = f"{target_pa_abs / 1e3:.1f} kPa absolute"
    if abs(found.manifold_pa_abs - target_pa_abs) <= _ROUNDING * target_pa_abs:
        return (f"throttle set for {asked} in the manifold",)
    return (f"wide open: even so the manifold does not come to {asked}",)


def choke_notes(found: Balance, path: ChargePath, *, choke_area_m2: float) -> tuple[str, ...]:
    """A warning where the venturis that flow, of this effective area in all, choke."""
    most = Opening(found.area_m2, choke_area_m2).choked_flow(
        air_horn_pa_abs=found.air_horn_pa_abs,
        temperature_k=path.air_horn_temperature(found.pressure_ratio),
    )
    if found.flow_kg_s < most * (1.0 - _ROUNDING):
        return ()
    return (
        f"carburetor too small: its venturis choke at {most:.3g} kg/s of air; "
        "check the venturi area or fit a larger carburetor",
    )


def air_valve_notes(state: OperatingState, carburetor: Carburetor, *, flowing: frozenset[str]) -> tuple[str, ...]:
    """What the pressures below an air valve leave out: the pull it holds is more than the loss of the open bore."""
    pulls = [each.depression_pa for each in carburetor.barrels if each.name in flowing and each.depression_pa]
    if not pulls or state.throttle is Throttle.manifold or not state.wide_open:
        return ()
    return (
        f"an air valve holds a pull of {max(pulls) / 1e3:.2g} kPa until it is fully open; what of it is lost for good "
        "at part lift is left out of the pressures below the throttle",
    )


def turbo_notes(state: OperatingState, found: Balance, turbo_air: TurboAir, *, before: str) -> tuple[str, ...]:
    """What the turbo does; `before` is the title of the state that this one follows."""
    if state.boost is Boost.not_yet:
        return (f"the turbo still turns as at {before}",)
    if state.boost is Boost.held:
        return (
            f"the compressor still holds the pressure ratio of {before} and the manifold follows the "
            "throttle at once: the worst of the sweep",
        )
    if state.throttle is Throttle.wide_open and turbo_air.falls_short(found):
        return (
            f"the turbo makes a pressure ratio of {found.pressure_ratio:.2f} here, less than the wastegate would hold",
        )
    return ()
