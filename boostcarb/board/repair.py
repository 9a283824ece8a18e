"""The cheapest repair of what stands on the board, and the job file that proposes its changes."""

from __future__ import annotations

from boostcarb import pipeline
from boostcarb.answers import Planned
from boostcarb.bench import Bench
from boostcarb.board.answer import key_of
from boostcarb.board.proposal import proposal_text
from boostcarb.board.question import Record
from boostcarb.board.study import Asked, Study
from boostcarb.description.job import State
from boostcarb.errors import BadDescription, Problem
from boostcarb.findings import Finding
from boostcarb.network.model import LATENT, Configuration
from boostcarb.planning.search import Plan


def repair_record(study: Study, asked: Asked) -> Record:
    """The cheapest changes after which nothing blocks, from what stands on the board, each with why it is needed.

    What has failed by itself is mended first. `needless` are changes on the board without which nothing more blocks;
    `not_blocking`: nothing has to be changed.

    Raises: BadDescription; BudgetSpent where the search finds no answer within its limit; NotSolved.
    """
    bench = study.bench(asked.mode)
    study.configuration(asked)  # what does not exist is said first
    failed = [item for item, form in asked.changes.items() if bench.network.items[item].falls_into(form)]
    left = {item: form for item, form in asked.changes.items() if item not in failed}
    changes = _from_found(bench, study.configuration(Asked(asked.mode, asked.base, left)))
    planned = study.planned(asked.mode) if not changes else _planned_from(study, asked.mode, changes)
    record: Record = {
        "possible": isinstance(planned.outcome, Plan),
        "mend": [_named(bench, item) for item in failed],
        "needless": [
            _named(bench, item)
            for item, form in asked.changes.items()
            if bench.network.items[item].forms[form].labor is not None and _needless(study, asked, item)
        ],
    }
    if not isinstance(planned.outcome, Plan):
        return record | {"changes": []}
    network = planned.bench.network
    cost = planned.outcome.cost
    record["changes"] = [
        {
            "item": change.item,
            "title": network.items[change.item].title,
            "from": network.items[change.item].found,
            "to": change.option,
            "to_title": network.items[change.item].forms[change.option].title,
            "why": list(dict.fromkeys(_reasons(planned, change.item))),
        }
        for change in planned.outcome.changes
    ]
    return record | {"minutes": cost.minutes, "parts": cost.parts}


def _from_found(bench: Bench, configuration: Configuration) -> dict[str, str]:
    """Items that are otherwise than found, but for what has failed."""
    items = bench.network.items
    return {
        item: form for item, form in configuration.items() if form != items[item].found and items[item].kind != LATENT
    }


def _planned_from(study: Study, mode: str, changes: dict[str, str]) -> Planned:
    job = study.bench(mode).job
    states = {item: State.model_validate({"is": form}) for item, form in changes.items()}
    return pipeline.plan(pipeline.set_up(study.read, pipeline.with_changes(study.read, states, job)), alternatives=0)


def _reasons(planned: Planned, item: str) -> list[str]:
    return [
        failure.reason.title
        for choice, failures in planned.reasons.items()
        if choice.item == item
        for failure in failures
        if isinstance(failure.reason, Finding)
    ]


def _named(bench: Bench, item: str) -> Record:
    return {"item": item, "title": bench.network.items[item].title}


def _needless(study: Study, asked: Asked, item: str) -> bool:
    """Whether nothing more blocks without a change than with it."""
    bench = study.bench(asked.mode)
    with_it = study.configuration(asked)
    without = {**with_it, item: study.base(asked)[item]}
    return _blocking(bench.findings(without)) <= _blocking(bench.findings(with_it))


def _blocking(findings: list[Finding]) -> set[str]:
    return {key_of(each) for each in findings if each.blocks}


def job_record(study: Study, asked: Asked) -> Record:
    """The job file with what stands on the board as its proposal, and a name to save it under.

    Raises: BadDescription where nothing that can be proposed has been changed.
    """
    bench = study.bench(asked.mode)
    changes = _from_found(bench, study.configuration(asked))
    if not changes:
        raise BadDescription(Problem("nothing is changed that work could bring about: a fault is no proposal"))
    path = bench.read.document.path
    text = proposal_text(study.read, changes, asked.mode)
    return {"name": f"{path.stem}_proposed{path.suffix}", "text": text, "left_out": _left_out(study, asked)}


def _left_out(study: Study, asked: Asked) -> list[Record]:
    """Faults among the changes: of an item that the carburetor has in a job, they stand in the proposal."""
    bench = study.bench(asked.mode)
    return [_named(bench, item) for item in asked.changes if bench.network.items[item].kind == LATENT]
