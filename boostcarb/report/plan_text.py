"""A plan as text for the bench: what to do first, then why, then the numbers."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import groupby

from boostcarb.answers import Faulted, Planned
from boostcarb.bench import Bench, Doubt
from boostcarb.findings import Finding, NotJudged
from boostcarb.network.model import Item, Network
from boostcarb.planning.problem import Choice, Cost, Excluded, Failure, Pin
from boostcarb.planning.search import Impossible, Plan
from boostcarb.quantities import UnitSystem, format_length
from boostcarb.report.cautions import cautions
from boostcarb.report.fault_lines import worst_fault_lines
from boostcarb.report.states_text import state_lines
from boostcarb.report.wording import MODES, arrangement, assumed_text, count, finding_lines, form_text, minutes
from boostcarb.report.wrapping import wrapped

SIZES_ELSEWHERE = (
    "`boostcarb fuel` with this job sizes jets and restrictions from the bores that are usual, with how sure it is. "
    "Give the bores you measured, or a measured lambda, and the sizes and the mixture of every state stand here and "
    "are judged."
)
IN_WORKING_ORDER = (
    "By kind of change here. In working order, with drawings, parts, bench checks and boxes to tick: `boostcarb sheet` "
    "with this job and --out FILE.html."
)
OF_MATERIAL = "Of a material that suits the fuel"
GROUPS = ("Plug", "Open", "Swap", "Fit what is missing", "Re-reference", "In the lines", OF_MATERIAL)


def plan_text(planned: Planned, system: UnitSystem, faulted: Faulted | None = None) -> str:
    """The whole answer, with the single faults that matter most if they were tried."""
    return "\n".join(_lines(planned, system, faulted))


def _lines(planned: Planned, system: UnitSystem, faulted: Faulted | None) -> Iterator[str]:
    bench = planned.bench
    yield from heading(planned, system)
    if isinstance(planned.outcome, Impossible):
        yield from no_plan_lines(planned, planned.outcome, system)
    else:
        yield from _plan(planned, planned.outcome, system)
        if faulted is not None:
            yield from worst_fault_lines(faulted)
        yield from unjudged_lines(bench.not_judged)
        yield from _fuel(planned, system)
    yield from section("NUMBERS  absolute pressures in the " + _which(planned))
    yield from state_lines(bench.network, planned.states, system)
    yield from section("ASSUMED  put your own values in the job file where you know better")
    for assumed in bench.defaults(planned.configuration):
        yield wrapped(assumed_text(assumed, system), first="  - ")
    for note, titles in bench.state_notes(planned.configuration).items():
        yield wrapped(f"{', '.join(titles)}: {note}", first="  - ")
    yield from caution_lines(bench)


def caution_lines(bench: Bench) -> Iterator[str]:
    """What can hurt somebody, for this target and fuel."""
    yield from section("CAUTIONS")
    for text in cautions(bench.job.target, bench.job.fuel):
        yield wrapped(text, first="  - ")


def _fuel(planned: Planned, system: UnitSystem) -> Iterator[str]:
    """Sizes and mixtures where the job gives bores or a reading; sizes of usual bores are not for a work list."""
    yield from section("FUEL  what the jets and the enrichment must become")
    bench = planned.bench
    if not bench.judges_mixture:
        yield wrapped(SIZES_ELSEWHERE, first="  ")
        return
    from boostcarb.report.fuel_lines import plan_fuel_lines  # noqa: PLC0415  other plans do without

    yield from plan_fuel_lines(planned.fueling, system, measured=bool(bench.job.metering.measured))


def _which(planned: Planned) -> str:
    return "planned carburetor" if isinstance(planned.outcome, Plan) else "carburetor as found"


def heading(planned: Planned, system: UnitSystem) -> Iterator[str]:
    """Job, carburetor, target."""
    job = planned.bench.job
    yield wrapped(job.job)
    title = f"{planned.bench.family.family.title}, target {MODES[job.target]}, fuel {job.fuel}"
    yield wrapped(", ".join([title, *arrangement(job)]), first="  ")
    if planned.bench.unused_finds:
        names = ", ".join(planned.bench.unused_finds)
        yield wrapped(f"not part of a {MODES[job.target]} set-up, so not used: {names}", first="  ")
    yield from bore_lines(planned.bench, system)
    yield from own_lines(planned.bench)


def bore_lines(bench: Bench, system: UnitSystem) -> Iterator[str]:
    """A note for each bore that is not as usual."""
    for each in bench.unusual_bores:
        bore, low, high = (format_length(size, system) for size in (each.bore_m, each.low_m, each.high_m))
        yield wrapped(f"{each.passage}: {bore} as measured, usually {low} to {high}; measure it again", first="  ")


def own_lines(bench: Bench) -> Iterator[str]:
    """What a folder of the user's own adds, and what it replaces."""
    own = bench.own
    if own is None:
        return
    counts = [(own.rules, "rule", None), (own.families, "family", "families"), (own.materials, "material", None)]
    added = ", ".join(count(len(names), noun, plural) for names, noun, plural in counts if names)
    yield wrapped(f"with your own data from {own.folder}: {added}", first="  ")
    if own.replaced:
        yield wrapped(f"YOURS IN PLACE OF OURS: {', '.join(own.replaced)}", first="  ")


def section(title: str) -> Iterator[str]:
    """A heading with a blank line before it."""
    yield ""
    yield title


# --- a plan ------------------------------------------------------------------------------------------------


def _plan(planned: Planned, plan: Plan, system: UnitSystem) -> Iterator[str]:
    network = planned.bench.network
    titles = {row.name: row.title for row in planned.states}
    yield from section("VERDICT")
    yield wrapped(verdict_text(planned, plan), first="  ")
    yield from doubt_lines(planned.doubts, network)
    numbers: dict[Choice, int] = {}
    if plan.changes:
        yield from section(f"DO THIS  {cost_text(plan.cost)}, strip-down included")
        yield wrapped(IN_WORKING_ORDER, first="  ")
        yield from change_lines(network, plan.changes, numbers)
        yield from section("WHY  drop any one of these and this comes back")
        for change, number in sorted(numbers.items(), key=lambda pair: pair[1]):
            item = network.items[change.item]
            yield wrapped(
                f"{number}. {item.title}: {form_text(network, item.name, change.option)}", first="  ", rest="     "
            )
            yield from reason_lines(planned.reasons[change], network, titles, system)
        yield from cheaper_lines(plan)
        yield from _alternatives(network, plan)
    known = [finding for finding in planned.remaining if not finding.rule_is_about_looking]
    if known:
        yield from section("STILL TO KNOW  after the plan")
        for _, alike in groupby(known, key=lambda finding: finding.rule):
            first, *others = alike
            *lines, rule = finding_lines(first, network, titles, system, "  ")
            yield from lines
            for finding in others:
                yield wrapped(f"and {finding.place_title}: {finding.statement}", first="    ", rest="      ")
            yield rule


def verdict_text(planned: Planned, plan: Plan) -> str:
    """How many changes, how many findings before, and what is not clean afterwards."""
    as_found = sum(1 for finding in planned.as_found if finding.blocks and not finding.rule_is_about_looking)
    left = [finding for finding in planned.remaining if finding.blocks]
    unproved = unproved_text(planned.bench.not_judged)
    done = f"{count(len(plan.changes), 'change')} needed" if plan.changes else "No change needed"
    if as_found:
        done += f"; as found, {count(as_found, 'finding')} would block"
    if left:
        unseen = sum(1 for finding in left if finding.rule_is_about_looking)
        sizes = len(left) - unseen
        parts = [f"{count(unseen, 'item')} nobody has looked at"] if unseen else []
        parts += [f"{count(sizes, 'finding')} that only another size or setting cures"] if sizes else []
        return f"{done}. Not clean yet: {' and '.join(parts)}, listed below{unproved}."
    return f"{done}. Nothing that the rules can see blocks afterwards{unproved}."


def cheaper_lines(plan: Plan) -> Iterator[str]:
    """That nothing cheaper will do, and how far that was looked into."""
    yield from section("CHEAPER?")
    yield wrapped(
        f"No: every set of changes that costs less than {cost_text(plan.proof.lower_bound)} leaves something that "
        f"blocks. Proved from {count(plan.proof.clauses, 'requirement')} in {count(plan.proof.rounds, 'round')}.",
        first="  ",
    )


def cost_text(cost: Cost) -> str:
    """Bench time, parts, and what cannot be undone."""
    drilled = count(cost.irreversible, "irreversible change") if cost.irreversible else "nothing irreversible"
    return f"{minutes(cost.minutes)}, {count(cost.parts, 'part')}, {drilled}"


def change_lines(network: Network, changes: Iterable[Choice], numbers: dict[Choice, int]) -> Iterator[str]:
    """The changes by kind of work, in the order of the strip-down; enters the number of each into `numbers`."""
    grouped: dict[str, list[Choice]] = {name: [] for name in GROUPS}
    for change in changes:
        grouped[group_of(network.items[change.item], change.option)].append(change)
    order = {stage: index for index, stage in enumerate(network.stages)}
    for name, members in grouped.items():
        if not members:
            continue
        yield f"  {name}"
        for change in sorted(members, key=lambda c: (order[network.stage_of(*c)], c)):
            numbers[change] = len(numbers) + 1
            item = network.items[change.item]
            labor = item.forms[change.option].labor
            how = labor.how if labor else form_text(network, item.name, change.option)
            if item.kind == "material":
                how += f": {item.forms[change.option].title}"
            yield wrapped(f"{item.title}: {how}", first=f"  [ ] {numbers[change]:>2}. ")
            notes = [network.castings[item.casting], network.stages[network.stage_of(*change)].title]
            if labor:
                notes.append(minutes(labor.minutes))
            final = labor is not None and labor.irreversible
            if not item.confirmed:
                notes.append("NOT LOOKED AT: LOOK BEFORE YOU CUT" if final else "NOT LOOKED AT")
            if final:
                notes.append("CANNOT BE UNDONE")
            yield wrapped(f"({'; '.join(notes)})", first="          ")


def group_of(item: Item, form: str) -> str:
    """The kind of work, one of `GROUPS`."""
    if item.kind == "passage":
        return "Open" if form == "open" else "Plug"
    if item.kind == "line":
        return "Re-reference"
    if item.kind == "inline":
        return "In the lines"
    if item.kind == "material":
        return OF_MATERIAL
    return "Fit what is missing" if item.found in ("absent", "missing", "none") else "Swap"


def reason_lines(
    failures: Iterable[Failure], network: Network, titles: dict[str, str], system: UnitSystem
) -> Iterator[str]:
    """Why a change is needed."""
    for failure in failures:
        if isinstance(failure.reason, Finding):
            yield from finding_lines(failure.reason, network, titles, system, "     ")
        elif isinstance(failure.reason, Pin):
            yield wrapped(f"your choice: {failure.reason.label}", first="     ")
        elif isinstance(failure.reason, Excluded):
            pairs = " with ".join(f"{choice.item}: {choice.option}" for choice in sorted(failure.reason.choices))
            yield wrapped(f"cannot go together: {pairs}", first="     ")


def _alternatives(network: Network, plan: Plan) -> Iterator[str]:
    if not plan.alternatives:
        return
    yield from section("NEXT BEST  if you would rather not do one of these")
    mine = set(plan.changes)
    for number, other in enumerate(plan.alternatives):
        yield wrapped(f"{'AB'[number] if number < 2 else number + 1}. {cost_text(other.cost)}", first="  ")
        theirs = set(other.changes)
        for mark, choices in (("instead", sorted(theirs - mine)), ("leaves out", sorted(mine - theirs))):
            for choice in choices:
                item = network.items[choice.item]
                yield wrapped(
                    f"{mark}: {item.title}: {form_text(network, item.name, choice.option)}",
                    first="     ",
                    rest="         ",
                )


# --- no plan -----------------------------------------------------------------------------------------------


def no_plan_lines(planned: Planned, outcome: Impossible, system: UnitSystem) -> Iterator[str]:
    """Why there is no plan, and which of the user's choices to let go."""
    network = planned.bench.network
    titles = {row.name: row.title for row in planned.states}
    yield from section("VERDICT")
    if outcome.pins:
        yield wrapped("No plan exists with the choices you pinned.", first="  ")
    else:
        yield wrapped("No plan exists: what is wrong cannot be put right by any change known for it.", first="  ")
    yield from doubt_lines(planned.doubts, network)
    if outcome.pins:
        yield from section("THESE CHOICES OF YOURS")
        for pin in outcome.pins:
            yield wrapped(pin.label, first="  - ")
    yield from section("CLASH WITH WHAT MUST HOLD" if outcome.pins else "WHAT CANNOT BE CURED")
    for failure in outcome.core:
        if isinstance(failure.reason, Finding):
            yield from finding_lines(failure.reason, network, titles, system, "  ")
            options = sorted(failure.clause)
            cures = "; or ".join(
                f"{network.items[c.item].title}: {form_text(network, c.item, c.option)}" for c in options
            )
            yield wrapped(f"would need: {cures or 'something that is not offered'}", first="    ", rest="        ")
    for exclusion in outcome.exclusions:
        yield wrapped(
            "cannot go together: " + " with ".join(f"{c.item}: {c.option}" for c in sorted(exclusion)), first="  "
        )
    if outcome.release:
        yield from section("RELEASE THIS")
        for pin in outcome.release:
            yield wrapped(pin.label, first="  - ")
        if outcome.relaxed_plan is not None:
            yield wrapped(f"Then a plan exists: {cost_text(outcome.relaxed_plan.cost)}:", first="  ")
            for change in outcome.relaxed_plan.changes:
                item = network.items[change.item]
                yield wrapped(f"{item.title}: {form_text(network, item.name, change.option)}", first="    - ")


# --- not judged --------------------------------------------------------------------------------------------


def unproved_text(unjudged: Iterable[NotJudged]) -> str:
    """What a verdict must add where the fuel side is not proved."""
    names = list(dict.fromkeys(each.subject for each in unjudged if each.subject is not None))
    if not names:
        return ""
    listed = " and ".join([", ".join(names[:-1]), names[-1]] if names[1:] else names)
    one = len(names) == 1 and names != ["jets"]
    return f"; {listed} {'is' if one else 'are'} not judged: see NOT JUDGED"


def unjudged_lines(unjudged: Iterable[NotJudged]) -> Iterator[str]:
    """What the job does not let the rules judge, and what to give."""
    listed = list(unjudged)
    if not listed:
        return
    yield from section("NOT JUDGED  not proved safe until you give this in the job file")
    for each in listed:
        yield wrapped(f"{each.what}: {', '.join(each.give).replace(', or ', ' or ')}", first="  - ")


# --- not looked at -----------------------------------------------------------------------------------------


def doubt_lines(doubts: Iterable[Doubt], network: Network) -> Iterator[str]:
    """What nobody has looked at, in the order of the strip-down: first what could change the verdict."""
    doubts = list(doubts)
    if not doubts:
        return
    serious = [doubt for doubt in doubts if doubt.otherwise]
    yield from section(f"LOOK AT THESE FIRST  {len(doubts)} not looked at, {len(serious)} could change the verdict")
    for stage, members in groupby(doubts, key=lambda doubt: network.items[doubt.item].stage):
        yield wrapped(network.stages[stage].title, first="  ")
        here = list(members)
        for doubt in here:
            if doubt.otherwise:
                yield from _serious_doubt(doubt, network)
        others = [network.items[doubt.item].title for doubt in here if not doubt.otherwise]
        if others:
            yield wrapped(f"and, for completeness: {'; '.join(others)}", first="  [ ] ")


def _serious_doubt(doubt: Doubt, network: Network) -> Iterator[str]:
    item = network.items[doubt.item]
    yield wrapped(f"{item.title}; taken to be: {form_text(network, item.name, doubt.assumed)}", first="  [ ] ! ")
    if item.look:
        yield wrapped(f"look: {item.look}", first="        ", rest="          ")
    for form, findings in doubt.otherwise.items():
        rules = ", ".join(sorted({finding.rule for finding in findings}))
        yield wrapped(f"if {form_text(network, item.name, form)}: {rules}", first="        ", rest="          ")
