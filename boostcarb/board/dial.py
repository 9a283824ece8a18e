"""A state of one's own: boost, throttle and speed as they are dialed."""

from __future__ import annotations

from boostcarb.bench import Before, FuelSource
from boostcarb.board.question import Record
from boostcarb.board.state import states_record
from boostcarb.board.study import Asked, Study
from boostcarb.errors import BadDescription, NotSolved
from boostcarb.network.model import Configuration
from boostcarb.rulebook.view import View
from boostcarb.solving.situation import Situation, Situations
from boostcarb.states.free_state import FREE, free_state
from boostcarb.states.operating_state import Mode


class _Dialed(Situations):
    """Situations with one more state in each."""

    def __init__(self, usual: Situations, added: dict[str, float]) -> None:
        self._usual = usual
        self._added = added
        self.job = usual.job
        self.fuel_side = usual.fuel_side
        self._ready: dict[int, Situation] = {}

    def for_(self, configuration: Configuration) -> Situation:
        """The usual situation with the dialed state; a chamber that keeps its past has been through all of them."""
        usual = self._usual.for_(configuration)
        if id(usual) not in self._ready:
            inputs = usual.inputs
            dialed = free_state(
                Mode(self.job.target), inputs.engine, inputs.carburetor, inputs.turbo, inputs.site, **self._added
            )
            results = (*(view.result for view in usual.views), dialed)
            self._ready[id(usual)] = Situation(usual.network, results, inputs)
        return self._ready[id(usual)]


def dial_record(study: Study, asked: Asked, *, boost_pa: float, throttle: float, rpm: float) -> Record:
    """The state that is dialed, as one state of an answer; `refused` where it cannot be.

    Args:
        study: the job under study.
        asked: what stands on the board.
        boost_pa: what the wastegate holds, Pa over the atmosphere; of no matter to a naturally aspirated engine.
        throttle: from 0, as at idle, to 1, wide open.
        rpm: engine speed.

    Raises:
        BadDescription: no such mode, base, item or form.
    """
    configuration = study.configuration(asked)
    bench = study.bench(asked.mode)
    added = {"speed_rev_s": rpm / 60, "throttle": throttle, "boost_pa_gauge": max(0.0, boost_pa)}
    situations = _Dialed(bench.situations, added)
    calibrated = Before(bench.fuel.model.found, bench.fuel.model.calibration)
    fuel = FuelSource(bench.job, bench.family, bench.network, situations, calibrated)
    try:
        view = View(bench.network, configuration, situations, fuel.mixtures)
        state = next(each for each in view.states if each.name == FREE)
        mixtures = {group: fuel.mixtures(configuration, group) for group in bench.family.family.groups}
        record = states_record(view, [state], mixtures)[FREE]
    except (NotSolved, BadDescription) as error:
        return {"refused": {"what": str(error), "why": "the engine does not run like this; turn the dials back"}}
    return {"state": record}
