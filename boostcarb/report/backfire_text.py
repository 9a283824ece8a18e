"""A backfire as text: what exceeds first, every diaphragm, every check, the relief valve, signals, what was assumed."""

from __future__ import annotations

import math
from collections.abc import Iterator

from boostcarb.bench import Bench
from boostcarb.network.model import Limit
from boostcarb.quantities import UnitSystem, format_absolute, format_fraction, format_pressure, format_value
from boostcarb.quantities import units as unit_kinds
from boostcarb.report.wording import MODES, count
from boostcarb.report.wrapping import wrapped
from boostcarb.transient.answer import BackfireAnswer, BackfireCase, DiaphragmCase, Peak, ProtectionCase, ReliefCase
from boostcarb.transient.inputs import Input

CAUTIONS = (
    "Nobody has published how hard a gasoline backfire hits a manifold: peak, rise and duration are assumptions. Try a "
    "higher peak with --peak; the bound is 9.5.",
    "A check that shuts in time here has to be tried on the bench: it must shut at a puff, and open again at once.",
    "Chambers are single volumes: pressure waves in hoses, fuel thrown about and one-way valves that are slow to seat "
    "are not in these numbers.",
    "A relief plate of the usual size is partial protection, not proof: as large and as light as fits, vented away "
    "from people and hot parts.",
)


def backfire_text(bench: Bench, configuration_is: str, answer: BackfireAnswer, system: UnitSystem) -> str:
    """The whole answer."""
    return "\n".join(_lines(bench, configuration_is, answer, system))


def _lines(bench: Bench, configuration_is: str, answer: BackfireAnswer, system: UnitSystem) -> Iterator[str]:
    yield wrapped(f"{bench.job.job}: a backfire, {configuration_is}, {MODES[bench.job.target]}")
    yield ""
    yield "VERDICT"
    yield from _verdict(answer, system)
    for case in answer.cases:
        yield ""
        yield f"{case.title.upper()}  out of: {case.before_title}"
        yield from _case(case, system)
    if answer.signals:
        yield ""
        yield "SIGNALS  how long they take when the state changes at once"
        for signal in answer.signals:
            taken = "never" if math.isinf(signal.time_s) else f"after {_time(signal.time_s)}"
            text = f"{signal.title} {signal.waits_for} {taken}, from {signal.before_title} to {signal.after_title}"
            yield wrapped(text, first="  ", rest="    ")
    yield ""
    yield "TAKEN FOR IT  put what you know under `backfire:` in the job file"
    for each in answer.inputs:
        yield wrapped(_input(each, system), first="  ", rest="    ")
    for name in answer.volumes_assumed:
        yield wrapped(f"{bench.network.title_of(name)}: volume 5 cm3 (assumed, the family gives none)", first="  ")
    yield ""
    yield "CAUTIONS"
    for text in CAUTIONS:
        yield wrapped(text, first="  - ", rest="    ")


def _verdict(answer: BackfireAnswer, system: UnitSystem) -> Iterator[str]:
    exceeding = answer.exceeding
    if not exceeding:
        yield wrapped("No diaphragm carries more than it stands, as far as limits are known.", first="  ")
    else:
        first = exceeding[0]
        yield wrapped(
            f"{count(len(exceeding), 'time a diaphragm carries', 'times a diaphragm carries')} more than it stands. "
            f"First: {first.title}, {_time(first.exceeds_at_s or 0.0)} into the {first.state.replace('_', ' at ', 1)}; "
            f"{first.verdict}.".replace("_", " "),
            first="  ",
        )
    hot = sorted(
        {
            each.title
            for case in answer.cases
            for each in case.diaphragms
            if each.hottest_exceeds and not each.verdict.exceeds
        }
    )
    if hot:
        yield wrapped(
            f"Not sure: with burned gas in place of charge, the worst there is, too much for: {'; '.join(hot)}.",
            first="  ",
        )
    if answer.torn:
        yield wrapped(f"Torn already, and not judged: {', '.join(answer.torn)}.", first="  ")


def _case(case: BackfireCase, system: UnitSystem) -> Iterator[str]:
    for each in case.diaphragms:
        yield wrapped(f"{each.title}: {each.verdict}", first="  ", rest="    ")
        yield wrapped(_load(each, system), first="    ", rest="      ")
    if not case.diaphragms:
        yield wrapped("reaches no diaphragm", first="  ")
    for check in case.protections:
        yield from _check(check, system)
    if case.relief is not None:
        yield wrapped(_relief(case.relief, system), first="  ", rest="    ")


def _load(each: DiaphragmCase, system: UnitSystem) -> str:
    text = f"carries {_worst(each.peak, each.limit, system)}"
    if each.unchecked != each.peak:
        text += f"; without a check {_worst(each.unchecked, each.limit, system)}"
    return f"{text}; with burned gas {_worst(each.hottest, each.limit, system)}"


def _worst(peak: Peak, limit: Limit | None, system: UnitSystem) -> str:
    """The side nearer to its limit: how much, which way, when, of how much."""
    if limit is None:
        value = max(peak.forward_pa, peak.reverse_pa)
        return f"up to {format_pressure(value, _unit(system))}"
    forward = peak.forward_pa - limit.forward_pa >= peak.reverse_pa - limit.reverse_pa
    value, at, most = (
        (peak.forward_pa, peak.forward_at_s, limit.forward_pa)
        if forward
        else (peak.reverse_pa, peak.reverse_at_s, limit.reverse_pa)
    )
    unit = _unit(system)
    if value <= 0.0:
        return f"none in the direction of its limit of {format_pressure(most, unit)}"
    return f"{format_pressure(value, unit)} of {format_pressure(most, unit)} at {_time(at)}"


def _check(check: ProtectionCase, system: UnitSystem) -> Iterator[str]:
    state = "works" if check.works else f"does not work: {check.form.replace('_', ' ')}"
    yield wrapped(f"{check.title} ({state})", first="  ", rest="    ")
    limit = check.limit
    text = f"with it {_worst(check.with_it, limit, system)}, without {_worst(check.without_it, limit, system)}"
    yield wrapped(text, first="    ", rest="      ")
    if check.needed and check.in_time_s is None:
        yield wrapped("no closing time is short enough", first="    ")
    elif check.needed and check.in_time_s is not None:
        yield wrapped(f"must shut within {_time(check.in_time_s)}", first="    ")
    elif check.needed is False:
        yield wrapped("not needed against this backfire", first="    ")


def _relief(relief: ReliefCase, system: UnitSystem) -> str:
    name = "relief valve on the manifold" + ("" if relief.fitted else " (not fitted; if it were)")
    if relief.opens_at_s is None:
        return f"{name}: does not open"
    unit = _unit(system)
    before, after = (format_absolute(pa, unit) for pa in (relief.peak_without_pa_abs, relief.peak_with_pa_abs))
    return f"{name}: open after {_time(relief.opens_at_s)}, takes the peak from {before} to {after}"


def _input(each: Input, system: UnitSystem) -> str:
    value = {
        "ratio": lambda: f"{each.value:g}",
        "duration": lambda: _time(each.value),
        "fraction": lambda: format_fraction(each.value),
        "area": lambda: format_value(unit_kinds.AREA, each.value, "cm2" if system is UnitSystem.METRIC else "in2"),
        "volume": lambda: format_value(unit_kinds.VOLUME, each.value, "l" if system is UnitSystem.METRIC else "in3"),
        "absolute": lambda: format_absolute(each.value, _unit(system)),
    }[each.kind]()
    return f"{each.words} {value} ({'given' if each.given else f'assumed: {each.reason}'})"


def _unit(system: UnitSystem) -> str:
    return "kPa" if system is UnitSystem.METRIC else "psi"


def _time(seconds: float) -> str:
    """A time in ms below a second.

    >>> _time(0.00123), _time(2.0)
    ('1.2 ms', '2 s')
    """
    if seconds >= 1.0:
        return f"{seconds:.3g} s"
    return f"{1e3 * seconds:.1f} ms"
