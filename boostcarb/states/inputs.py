"""What must be known of engine, carburetor, turbo and site to find the pressures of each state.

SI, absolute pressures, kelvin; a name that ends in `_pa_gauge` is relative to the ambient pressure.
Every default is a constant with its reason beside it, so that a report can name what was assumed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, Literal

from boostcarb.errors import BadDescription, Problem
from boostcarb.physics.atmosphere import standard_pressure, standard_temperature
from boostcarb.physics.constants import STANDARD_PRESSURE, STANDARD_TEMPERATURE

RPM: Final = 1.0 / 60.0
"""One revolution a minute in revolutions a second."""

# Pulls of a warm street engine with a mild camshaft (common practice, no source). Measure them.
IDLE_MANIFOLD_PA_GAUGE: Final = -63.0e3
CRUISE_MANIFOLD_PA_GAUGE: Final = -43.0e3
# A two-valve street engine, averaged over its speeds (common practice, no source).
VOLUMETRIC_EFFICIENCY: Final = 0.85
COMPRESSION_RATIO: Final = 9.0
# Starter motor with a warm engine (common practice, no source).
CRANK_SPEED_REV_S: Final = 200.0 * RPM
# Clean air cleaner of an unboosted engine, wide open at the redline (common practice, no source).
AIR_CLEANER_LOSS_PA: Final = 1.0e3

# The trade rates four-barrels at 1.5 inHg (common practice, no source).
RATED_DROP_PA: Final = 1.5 * 3386.389
# Pull at the booster throat over pull at the main venturi: 1.5 to 3 by booster shape (common
# practice, no source).
BOOSTER_GAIN: Final = 2.0
# Flow coefficient of a main venturi; textbook carburetor examples use 0.80 to 0.94.
VENTURI_COEFFICIENT: Final = 0.94

# Middle of a well-matched compressor map (common practice, no source).
COMPRESSOR_EFFICIENCY: Final = 0.70
# Clean filter and intake pipe of a boosted engine at full load (common practice, no source).
FILTER_LOSS_PA: Final = 2.5e3
# Where a single-stage street compressor runs out of speed (common practice, no source).
MAXIMUM_PRESSURE_RATIO: Final = 2.8
# Air-to-air cooler of adequate size (common practice, no source).
COOLER_EFFECTIVENESS: Final = 0.70
COOLER_LOSS_PA: Final = 7.0e3

# Engine bay from a cold morning to slow traffic, and parked after a hard drive (assumption).
BAY_COLD_K: Final = 263.15
BAY_HOT_K: Final = 353.15
HOT_SOAK_K: Final = 363.15

# A backfire with its charge vented through the carburetor multiplies the absolute pressure by two
# to four (assumption; no measurement with gasoline was found). Upper bound: combustion at constant
# volume, 9.5 for isooctane, computed by chemical equilibrium.
BACKFIRE_PEAK_RATIO: Final = 3.0
BACKFIRE_BOUND: Final = 9.5

SecondaryOpening = Literal["vacuum", "mechanical", "none"]
WastegateSense = Literal["compressor_outlet", "air_horn", "manifold"]
VolumetricEfficiency = float | tuple[tuple[float, float], ...]


class _Checks:
    """Gathers everything that is wrong with one record, then raises once."""

    def __init__(self, record: str) -> None:
        self._record = record
        self._problems: list[Problem] = []

    def require(self, holds: bool, field: str, message: str) -> None:
        """Note a problem with a field unless something holds."""
        if not holds:
            self._problems.append(Problem(message, field=f"{self._record}.{field}"))

    def positive(self, **values: float) -> None:
        """Each value must be above zero and finite."""
        for field, value in values.items():
            self.require(0.0 < value < float("inf"), field, f"must be above zero, found {value:g}")

    def not_negative(self, **values: float) -> None:
        """Each value must be zero or more and finite."""
        for field, value in values.items():
            self.require(0.0 <= value < float("inf"), field, f"must not be below zero, found {value:g}")

    def done(self) -> None:
        """Raise BadDescription when anything was wrong."""
        if self._problems:
            raise BadDescription(self._problems)


@dataclass(frozen=True, slots=True)
class Engine:
    """A four-stroke engine. Speeds in revolutions a second, displacement in cubic meters.

    `volumetric_efficiency` is one number or pairs of (speed, value) with rising speed, relative to
    manifold pressure and temperature; between pairs it is a straight line, outside it stays level.
    The two manifold readings are gauge readings taken where the ambient pressure was
    `manifold_read_at_pa_abs` (sea level unless given): an engine needs about the same air at idle and
    cruise wherever it runs, so its absolute manifold pressure is carried to the site, not its pull.
    Raises: BadDescription.

    >>> Engine(displacement_m3=0.005).idle_manifold_pa_abs
    38325.0
    """

    displacement_m3: float
    idle_speed_rev_s: float = 800.0 * RPM
    cruise_speed_rev_s: float = 2200.0 * RPM
    torque_peak_speed_rev_s: float = 3500.0 * RPM
    redline_speed_rev_s: float = 5500.0 * RPM
    volumetric_efficiency: VolumetricEfficiency = VOLUMETRIC_EFFICIENCY
    compression_ratio: float = COMPRESSION_RATIO
    idle_manifold_pa_gauge: float = IDLE_MANIFOLD_PA_GAUGE
    cruise_manifold_pa_gauge: float = CRUISE_MANIFOLD_PA_GAUGE
    manifold_read_at_pa_abs: float = STANDARD_PRESSURE
    crank_speed_rev_s: float = CRANK_SPEED_REV_S
    air_cleaner_loss_pa: float = AIR_CLEANER_LOSS_PA

    def __post_init__(self) -> None:
        checks = _Checks("engine")
        checks.positive(
            displacement_m3=self.displacement_m3,
            crank_speed_rev_s=self.crank_speed_rev_s,
            manifold_read_at_pa_abs=self.manifold_read_at_pa_abs,
        )
        checks.not_negative(air_cleaner_loss_pa=self.air_cleaner_loss_pa)
        checks.require(
            0.0
            < self.idle_speed_rev_s
            < self.cruise_speed_rev_s
            < self.torque_peak_speed_rev_s
            <= self.redline_speed_rev_s,
            "redline_speed_rev_s",
            "speeds must rise from idle over cruise and torque peak to redline",
        )
        checks.require(self.compression_ratio > 1.0, "compression_ratio", "must be above 1")
        for field in ("idle", "cruise"):
            gauge: float = getattr(self, f"{field}_manifold_pa_gauge")
            checks.require(
                -self.manifold_read_at_pa_abs < gauge < 0.0,
                f"{field}_manifold_pa_gauge",
                f"must be a vacuum, below zero and above a full vacuum, found {gauge:g} Pa",
            )
        self._check_volumetric_efficiency(checks)
        checks.done()

    def _check_volumetric_efficiency(self, checks: _Checks) -> None:
        given = self.volumetric_efficiency
        pairs = given if isinstance(given, tuple) else ((0.0, given),)
        speeds = [speed for speed, _ in pairs]
        checks.require(
            bool(pairs) and all(a < b for a, b in pairwise(speeds)),
            "volumetric_efficiency",
            "pairs of speed and value must rise in speed",
        )
        checks.require(
            all(0.0 < value < 1.5 for _, value in pairs),
            "volumetric_efficiency",
            "must be above 0, below 1.5",
        )

    @property
    def idle_manifold_pa_abs(self) -> float:
        """Manifold pressure at idle, Pa absolute."""
        return self.manifold_read_at_pa_abs + self.idle_manifold_pa_gauge

    @property
    def cruise_manifold_pa_abs(self) -> float:
        """Manifold pressure at cruise, Pa absolute."""
        return self.manifold_read_at_pa_abs + self.cruise_manifold_pa_gauge


GroupOpening = Literal["always", "vacuum", "mechanical"]


@dataclass(frozen=True, slots=True)
class Barrels:
    """One barrel group: its venturi area in square meters, all barrels together, and when it opens.

    With a `depression_pa` an air valve opens as the flow rises and holds this pull; the area is then that of the whole
    opening, of which `rest_share` stays with the air valve at rest.
    """

    name: str
    area_m2: float
    opening: GroupOpening = "always"
    depression_pa: float | None = None
    rest_share: float = 0.02


@dataclass(frozen=True, slots=True)
class Carburetor:
    """The air side of a carburetor. Areas in square meters, total of each barrel group.

    `rated_flow_m3_s` is its flow of standard air at `rated_drop_pa`, all barrels wide open. `count` carburetors of this
    kind feed the engine together. With `groups` the areas of primary and secondary are their sums: those that open
    with the throttle, and those that open after them.
    Raises: BadDescription.
    """

    rated_flow_m3_s: float
    primary_venturi_area_m2: float
    secondary_venturi_area_m2: float = 0.0
    rated_drop_pa: float = RATED_DROP_PA
    booster_gain: float = BOOSTER_GAIN
    secondary_opening: SecondaryOpening = "none"
    venturi_coefficient: float = VENTURI_COEFFICIENT
    groups: tuple[Barrels, ...] = ()
    count: int = 1

    @classmethod
    def of_groups(
        cls,
        groups: Sequence[Barrels],
        *,
        rated_flow_m3_s: float,
        rated_drop_pa: float = RATED_DROP_PA,
        booster_gain: float = BOOSTER_GAIN,
        count: int = 1,
    ) -> Carburetor:
        """A carburetor of barrel groups of any names. Raises: BadDescription."""
        later = [group for group in groups if group.opening != "always"]
        opening: SecondaryOpening = "none"
        if later:
            opening = "vacuum" if any(group.opening == "vacuum" for group in later) else "mechanical"
        return cls(
            rated_flow_m3_s=rated_flow_m3_s,
            primary_venturi_area_m2=sum(group.area_m2 for group in groups if group.opening == "always"),
            secondary_venturi_area_m2=sum(group.area_m2 for group in later),
            rated_drop_pa=rated_drop_pa,
            booster_gain=booster_gain,
            secondary_opening=opening,
            groups=tuple(groups),
            count=count,
        )

    @property
    def barrels(self) -> tuple[Barrels, ...]:
        """The barrel groups; `primary` and `secondary` where no others are named."""
        if self.groups:
            return self.groups
        first = Barrels("primary", self.primary_venturi_area_m2)
        if self.secondary_opening == "none":
            return (first,)
        return first, Barrels("secondary", self.secondary_venturi_area_m2, self.secondary_opening)

    def __post_init__(self) -> None:
        checks = _Checks("carburetor")
        checks.require(self.count >= 1, "count", "must be 1 or more")
        checks.positive(
            rated_flow_m3_s=self.rated_flow_m3_s,
            rated_drop_pa=self.rated_drop_pa,
            primary_venturi_area_m2=self.primary_venturi_area_m2,
            venturi_coefficient=self.venturi_coefficient,
        )
        checks.not_negative(secondary_venturi_area_m2=self.secondary_venturi_area_m2)
        checks.require(self.booster_gain >= 1.0, "booster_gain", "must be 1 (no booster) or more")
        checks.require(
            (self.secondary_opening == "none") == (self.secondary_venturi_area_m2 == 0.0),
            "secondary_opening",
            "must be vacuum or mechanical with a secondary venturi area, and none without",
        )
        checks.done()


@dataclass(frozen=True, slots=True)
class Cooler:
    """A charge cooler; it cools towards ambient, and its loss is rated at full boost at the redline."""

    effectiveness: float = COOLER_EFFECTIVENESS
    rated_loss_pa: float = COOLER_LOSS_PA

    def __post_init__(self) -> None:
        checks = _Checks("turbo.cooler")
        checks.require(0.0 <= self.effectiveness <= 1.0, "effectiveness", "must be from 0 to 1")
        checks.not_negative(rated_loss_pa=self.rated_loss_pa)
        checks.done()


@dataclass(frozen=True, slots=True)
class Turbo:
    """A turbo with its wastegate, filter and, maybe, charge cooler.

    `boost_pa_gauge` is what the wastegate holds at the place it senses. `full_boost_speed_rev_s` is
    the lowest engine speed with that boost, wide open. The filter loss is rated at full boost at the
    redline. Raises: BadDescription.
    """

    boost_pa_gauge: float
    full_boost_speed_rev_s: float
    wastegate_senses: WastegateSense = "compressor_outlet"
    efficiency: float = COMPRESSOR_EFFICIENCY
    cooler: Cooler | None = None
    filter_loss_pa: float = FILTER_LOSS_PA
    maximum_pressure_ratio: float = MAXIMUM_PRESSURE_RATIO

    def __post_init__(self) -> None:
        checks = _Checks("turbo")
        checks.not_negative(boost_pa_gauge=self.boost_pa_gauge, filter_loss_pa=self.filter_loss_pa)
        checks.positive(full_boost_speed_rev_s=self.full_boost_speed_rev_s)
        checks.require(0.0 < self.efficiency <= 1.0, "efficiency", "must be above 0, at most 1")
        checks.require(self.maximum_pressure_ratio > 1.0, "maximum_pressure_ratio", "must be above 1")
        checks.done()


@dataclass(frozen=True, slots=True)
class Site:
    """The air around the car, and how cold and hot the engine bay can be. Pa absolute, kelvin."""

    ambient_pa_abs: float = STANDARD_PRESSURE
    ambient_temperature_k: float = STANDARD_TEMPERATURE
    bay_cold_k: float = BAY_COLD_K
    bay_hot_k: float = BAY_HOT_K
    hot_soak_k: float = HOT_SOAK_K

    def __post_init__(self) -> None:
        checks = _Checks("site")
        checks.positive(
            ambient_pa_abs=self.ambient_pa_abs,
            ambient_temperature_k=self.ambient_temperature_k,
            bay_cold_k=self.bay_cold_k,
        )
        checks.require(self.bay_cold_k <= self.bay_hot_k, "bay_hot_k", "must not be below bay_cold_k")
        warm = self.hot_soak_k >= self.ambient_temperature_k
        checks.require(warm, "hot_soak_k", "must not be below ambient_temperature_k")
        checks.done()

    @classmethod
    def at_altitude(cls, altitude_m: float) -> Site:
        """A site in standard air at an altitude in meters, with the default engine bay.

        >>> Site.at_altitude(0.0) == Site()
        True
        """
        return cls(
            ambient_pa_abs=standard_pressure(altitude_m=altitude_m),
            ambient_temperature_k=standard_temperature(altitude_m=altitude_m),
        )


@dataclass(frozen=True, slots=True)
class Backfire:
    """Peak of a backfire: absolute manifold pressure over the absolute pressure just before it."""

    peak_ratio: float = BACKFIRE_PEAK_RATIO

    def __post_init__(self) -> None:
        checks = _Checks("backfire")
        checks.require(
            1.0 <= self.peak_ratio <= BACKFIRE_BOUND,
            "peak_ratio",
            f"must be from 1 to {BACKFIRE_BOUND:g}, the bound of combustion in a closed space, "
            f"found {self.peak_ratio:g}",
        )
        checks.done()
