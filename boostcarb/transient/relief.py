"""A relief valve on the manifold: what it takes off the peak of a backfire, from when on.

The pulse is what the manifold would see without a valve: burning and venting elsewhere give it a rate of rise. The
valve adds its own venting to that rate:

    d ln p / dt = d ln p_pulse / dt - gamma A psi(p_outside / p) sqrt(R T) / V

Honest bound: a plate of the usual size is small for the volume, and opens late. It is partial protection.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from boostcarb.physics.constants import GAMMA_AIR, GAS_CONSTANT_AIR
from boostcarb.physics.gas import laminar_flow_function
from boostcarb.transient.pulse import Curve

RELIEF_AREA_M2: Final = 20e-4
"""Opening of one spring plate of 50 mm (assumption: the usual single plate is 40 to 60 mm, 12 to 28 cm2)."""

RELIEF_DISCHARGE: Final = 0.6
"""Discharge coefficient of a plate that has lifted (common practice, no source)."""

RELIEF_CRACK_SHARE: Final = 1.2
"""Gauge pressure at which it cracks over full boost (common practice: 15 to 25 % above)."""

RELIEF_DELAY_S: Final = 2.5e-3
"""Time from its cracking pressure to a lifted plate (assumption: 2 to 3 ms of plate inertia)."""

STEPS: Final = 1200
"""Steps of the integration over the whole time: one equation without stiffness."""


@dataclass(frozen=True, slots=True)
class Relief:
    """Opening m2, cracking pressure Pa absolute, delay s, the volume it stands on m3, pressure outside Pa absolute."""

    area_m2: float
    crack_pa_abs: float
    delay_s: float
    volume_m3: float
    outside_pa_abs: float


@dataclass(frozen=True, slots=True)
class Relieved:
    """The manifold with the valve; when the plate is open, s, or None where it never opens."""

    curve: Curve
    opens_at_s: float | None


def relieved(pulse: Curve, relief: Relief, gas_k: Callable[[float], float], *, end_s: float) -> Relieved:
    """Pressure of the manifold with a relief valve, of a pulse without; `gas_k` is the gas at a pressure, K.

    The plate shuts again when the pressure has fallen under its cracking pressure. Midpoint rule on the logarithm of
    the pressure over `STEPS` steps.
    """
    step = end_s / STEPS
    offset = 0.0
    cracked_at = opens_at = None
    corners = [(0.0, pulse.at(0.0))]
    for index in range(STEPS):
        time = index * step
        pressure = corners[-1][1]
        if pressure < relief.crack_pa_abs:
            cracked_at = None
        elif cracked_at is None:
            cracked_at = time
        if cracked_at is not None and time >= cracked_at + relief.delay_s:
            opens_at = time if opens_at is None else opens_at
            half = offset - 0.5 * step * _venting(pressure, relief, gas_k)
            middle = max(pulse.at(time + 0.5 * step) * math.exp(half), relief.outside_pa_abs)
            offset -= step * _venting(middle, relief, gas_k)
        # What has gone out is missing while the pulse lasts; what the engine then draws is not.
        floor = min(pulse.at(time + step), max(relief.outside_pa_abs, pulse.at(0.0)))
        corners.append((time + step, max(pulse.at(time + step) * math.exp(offset), floor)))
    return Relieved(Curve.of(corners), opens_at)


def _venting(pressure: float, relief: Relief, gas_k: Callable[[float], float]) -> float:
    """Rate at which the valve lowers the logarithm of the pressure, 1/s."""
    if pressure <= relief.outside_pa_abs:
        return 0.0
    psi = laminar_flow_function(pressure_ratio=relief.outside_pa_abs / pressure)
    sonic = math.sqrt(GAS_CONSTANT_AIR * gas_k(pressure))
    return GAMMA_AIR * RELIEF_DISCHARGE * relief.area_m2 * psi * sonic / relief.volume_m3
