"""Flow through a bought pneumatic part, described by sonic conductance and critical ratio (ISO 6358)."""

from __future__ import annotations

import math
from typing import Final

from boostcarb.physics.constants import require_not_negative, require_positive

ISO_6358_REFERENCE_DENSITY: Final = 1.185
"""Air density at the reference state of ISO 6358 (100 kPa, 293.15 K, 65 % humidity), kg/m3."""

ISO_6358_REFERENCE_TEMPERATURE: Final = 293.15
"""Temperature of the reference state of ISO 6358, K."""


def iso_6358_mass_flow(
    *,
    sonic_conductance_m3_s_pa: float,
    critical_ratio: float,
    pressure_up_pa_abs: float,
    pressure_down_pa_abs: float,
    temperature_k: float,
) -> float:
    """Mass flow of air through a bought part described by sonic conductance and critical ratio.

    Args:
        sonic_conductance_m3_s_pa: sonic conductance C, m3/(s Pa) at the reference state, at least 0;
            1 dm3/(s bar) is 1e-8 m3/(s Pa).
        critical_ratio: pressure ratio b at and below which the part is choked, 0 to below 1 (no unit).
        pressure_up_pa_abs: upstream pressure, Pa absolute, above 0.
        pressure_down_pa_abs: downstream pressure, Pa absolute, above 0, at most the upstream pressure.
        temperature_k: upstream temperature, K, above 0.

    Returns:
        Mass flow, kg/s.

    Valid for air, with the elliptic subsonic branch of the 1989 edition (index 0.5 of the later one).

    Raises:
        ValueError: a negative conductance, a critical ratio outside 0 to below 1, a downstream pressure
            above the upstream one, a pressure or temperature not above 0, or not a number.

    References:
        1. ISO 6358:1989, Pneumatic fluid power - components using compressible fluids (cited from
           memory and from public documentation of the formula; the standard itself was not consulted).

    >>> flow = iso_6358_mass_flow(sonic_conductance_m3_s_pa=1e-8, critical_ratio=0.3,
    ...     pressure_up_pa_abs=7e5, pressure_down_pa_abs=1e5, temperature_k=293.15)
    >>> round(flow * 1000.0, 3)
    8.295
    """
    require_not_negative("sonic_conductance_m3_s_pa", sonic_conductance_m3_s_pa)
    if not 0.0 <= critical_ratio < 1.0:
        raise ValueError(f"critical_ratio must be from 0 to below 1, got {critical_ratio!r}")
    require_positive("pressure_up_pa_abs", pressure_up_pa_abs)
    require_positive("pressure_down_pa_abs", pressure_down_pa_abs)
    if pressure_down_pa_abs > pressure_up_pa_abs:
        raise ValueError(
            f"pressure_down_pa_abs must be at most pressure_up_pa_abs {pressure_up_pa_abs!r}, "
            f"got {pressure_down_pa_abs!r}"
        )
    require_positive("temperature_k", temperature_k)
    choked_flow = (
        sonic_conductance_m3_s_pa
        * pressure_up_pa_abs
        * ISO_6358_REFERENCE_DENSITY
        * math.sqrt(ISO_6358_REFERENCE_TEMPERATURE / temperature_k)
    )
    excess = pressure_down_pa_abs / pressure_up_pa_abs - critical_ratio
    if excess <= 0.0:
        return choked_flow
    return choked_flow * math.sqrt(1.0 - (excess / (1.0 - critical_ratio)) ** 2)
