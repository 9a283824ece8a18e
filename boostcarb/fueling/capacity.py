"""Is the carburetor large enough: air it must pass in each state against its rating, and what that costs."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from boostcarb.fueling.air_margins import all_open, choke_margin, rated_share
from boostcarb.fueling.given import FROM_JOB, FROM_NETWORK, FROM_STATES, USUAL
from boostcarb.fueling.records import Input, Worked
from boostcarb.fueling.solved import AIR_HORN, BASE, Solved
from boostcarb.physics.gas import density
from boostcarb.solving.diaphragms import difference
from boostcarb.solving.situation import StateView
from boostcarb.states.carburetor_air import choke_area, wide_open

SETTING_FACTOR: Final = 1.5
"""How far above the drop that flow alone makes a vacuum-held valve must be set (common practice, no source)."""

GENEROUS_SHARE: Final = 0.5
"""Below this share of the flow at the rated drop the venturis pull weakly at low speed (common practice, no source)."""

ENRICHMENT: Final = "enrichment"
_ORIFICE: Final = "compressible orifice (Saint-Venant and Wantzel)"


class Fit(StrEnum):
    """How a carburetor's size goes with its engine."""

    chokes = "too small: its venturis choke"
    too_small = "too small: more flow than at its rated drop"
    fits = "fits"
    generous = "generous: weak pull at low speed"


@dataclass(frozen=True, slots=True)
class AirLoad:
    """What one state asks of the carburetor.

    `all_open` says that every barrel group flows. `share` is the air flow over the flow at the rated drop with this
    air and these barrels; `choke_margin` the choked flow of the venturis over the air flow. `loss` is from air horn
    to base, the throttle plates included.
    """

    state: str
    title: str
    wide_open: bool
    all_open: bool
    volume_flow: Worked
    loss: Worked
    share: Worked
    choke_margin: Worked


@dataclass(frozen=True, slots=True)
class HeldValve:
    """A vacuum-held valve against what flow alone puts across it, wide open; `ratio` is None where nothing does."""

    diaphragm: str
    title: str
    worst_state: str
    needed_setting: Worked
    setting: Input
    ratio: Worked | None


@dataclass(frozen=True, slots=True)
class Capacity:
    """The carburetor's size: every flowing state, the worst, the verdict, and the settings that go with the loss."""

    rated_flow: Input
    rated_drop: Input
    loads: tuple[AirLoad, ...]
    worst: AirLoad
    fit: Fit
    base_setting: Worked
    valves: tuple[HeldValve, ...]


def capacity(solved: Solved) -> Capacity:
    """Judge the carburetor's size in every state in which the engine runs."""
    loads = tuple(_load(solved, state) for state in solved.running if state.result.mass_flow_kg_s > 0.0)
    worst = max((load for load in loads if load.wide_open and load.all_open), key=lambda load: load.share.value)
    tightest = min(loads, key=lambda load: load.choke_margin.value)
    if tightest.choke_margin.value <= 1.0 + 1e-6:
        fit = Fit.chokes
    elif worst.share.value > 1.0:
        fit = Fit.too_small
    else:
        fit = Fit.generous if worst.share.value < GENEROUS_SHARE else Fit.fits
    rated_flow, rated_drop = _rating(solved)
    highest = max((load for load in loads if load.wide_open), key=lambda load: load.loss.value)
    return Capacity(
        rated_flow, rated_drop, loads, worst, fit, _setting(highest.loss, highest.title), tuple(_valves(solved))
    )


def _rating(solved: Solved) -> tuple[Input, Input]:
    carburetor, given = solved.carburetor, solved.job.flow
    drop_given = given is not None and given.rated_drop is not None
    return (
        Input("rated flow", carburetor.rated_flow_m3_s, "m3/s", FROM_JOB if given else USUAL),
        Input("rated drop", carburetor.rated_drop_pa, "Pa", FROM_JOB if drop_given else USUAL),
    )


def _load(solved: Solved, state: StateView) -> AirLoad:
    result, carburetor = state.result, solved.carburetor
    horn, temperature = result.pressures_pa_abs[AIR_HORN], result.temperatures_k[AIR_HORN]
    flow = Input("air flow", result.mass_flow_kg_s, "kg/s", FROM_STATES)
    at_horn = Input("air horn, absolute", horn, "Pa", FROM_STATES)
    below = Input("base, absolute", result.pressures_pa_abs[BASE], "Pa", FROM_STATES)
    warm = Input("air horn temperature", temperature, "K", FROM_STATES)
    dense = density(pressure_pa_abs=horn, temperature_k=temperature)
    area = wide_open(carburetor, flowing=state.flowing_groups)
    open_area = Input("effective area, wide open", area.effective_area_m2, "m2", FROM_NETWORK)
    choked = Input("venturi area", choke_area(carburetor, flowing=state.flowing_groups), "m2", FROM_NETWORK)
    return AirLoad(
        state=state.name,
        title=state.title,
        wide_open=state.wide_open,
        all_open=all_open(solved, state),
        volume_flow=Worked("air at the air horn", flow.value / dense, "m3/s", "air flow / (p / (R T))",
                           (flow, at_horn, warm), "perfect gas"),
        loss=Worked("loss from air horn to base", horn - below.value, "Pa", "air horn - base", (at_horn, below)),
        share=Worked("share of the flow at the rated drop", rated_share(solved, state), "",
                     "air flow / flow of the area at the rated drop and this air",
                     (flow, open_area, at_horn, warm, _rating(solved)[1]), _ORIFICE),
        choke_margin=Worked("choked flow over air flow", choke_margin(solved, state), "",
                            "choked flow of the venturis / air flow", (flow, choked, at_horn, warm), _ORIFICE),
    )  # fmt: skip


def _setting(loss: Worked, where: str) -> Worked:
    return Worked(
        "setting needed against this loss",
        SETTING_FACTOR * loss.value,
        "Pa",
        "factor x loss from air horn to base",
        (Input("factor", SETTING_FACTOR, "", USUAL), Input(f"loss, {where}", loss.value, "Pa", FROM_STATES)),
        USUAL,
    )


def _valves(solved: Solved) -> Iterator[HeldValve]:
    wide = [state for state in solved.running if state.wide_open]
    for diaphragm in solved.network.diaphragms.values():
        valve = diaphragm.valve(solved.configuration)
        if diaphragm.role != ENRICHMENT or valve is None or not diaphragm.exists(solved.configuration):
            continue
        if not valve.opens_below or valve.setting_pa <= 0.0:
            continue
        differences = {
            state.title: difference(diaphragm, solved.configuration, solved.pressures, state.name).high_pa
            for state in wide
        }
        worst = max(differences, key=differences.__getitem__)
        across = Input(f"bowl minus chamber, {worst}", differences[worst], "Pa", FROM_STATES)
        factor = Input("factor", SETTING_FACTOR, "", USUAL)
        setting = Input("setting", valve.setting_pa, "Pa", FROM_NETWORK)
        ratio = None
        if across.value > 0.0:
            ratio = Worked("setting over what would shut it", setting.value / across.value, "",
                           "setting / (bowl - chamber)", (setting, across))  # fmt: skip
        yield HeldValve(
            diaphragm=diaphragm.name,
            title=diaphragm.title,
            worst_state=worst,
            needed_setting=Worked("setting needed", max(0.0, SETTING_FACTOR * across.value), "Pa",
                                  "factor x (bowl - chamber), at least 0", (factor, across), USUAL),
            setting=setting,
            ratio=ratio,
        )  # fmt: skip
