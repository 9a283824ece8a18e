"""What is written and read again is the same, and two processes answer alike to the byte: on generated carburetors.

For the scenarios GraphML is in `tests/network/test_graph_exchange.py`, lessons and hunts of one of them in
`tests/board/test_board_hunt.py`.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

import yaml
from generated_carburetors import Made, carburetors, shipped, tried
from generated_families import NAME
from hypothesis import assume, event, given
from hypothesis import strategies as st

from boostcarb import pipeline
from boostcarb.board.proposal import proposal_text
from boostcarb.description.library import ReadJob
from boostcarb.description.saving import save_text
from boostcarb.network.graph import graph_of, network_of
from boostcarb.network.graph_files import graphml_text, read_graphml

anything = st.one_of(carburetors(), carburetors(around=True), shipped())


@tried(8)
@given(anything, st.booleans())
def test_a_network_is_the_same_after_a_general_graph_and_after_a_file(made: Made, latent: bool) -> None:
    network = made.bench(latent=latent).network
    assert network_of(graph_of(network)) == network
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "network.graphml"
        path.write_text(graphml_text(network), encoding="utf-8")
        read = read_graphml(path)
    assert read == network
    for field in ("spaces", "diaphragms", "items", "stages", "castings"):
        assert list(getattr(read, field)) == list(getattr(network, field)), field
    assert graphml_text(read) == graphml_text(network)


# --- files ------------------------------------------------------------------------------------------------


def saved(folder: str, made: Made, text: str) -> ReadJob:
    """A job of this text in a folder of its own with its family, read as the commands read it."""
    data, path = Path(folder) / "mine", Path(folder) / "job.yaml"
    if made.family is not None:
        (data / "families").mkdir(parents=True, exist_ok=True)
        save_text(data / "families" / f"{NAME}.yaml", json.dumps(made.family), force=True)
    save_text(path, text, force=True)
    return pipeline.load(path, pipeline.library(data if made.family is not None else None))


@st.composite
def job_texts(draw: Any, job: dict[str, Any]) -> str:
    """The file of a job as somebody may have written it: sections in any order, comments, empty lines, an old plan."""
    sections = dict(job)
    if draw(st.integers(0, 3)):
        sections["proposed"] = {"fuel_hose": "rated"}
    lines: list[str] = []
    for name in draw(st.permutations(sorted(sections))):
        if draw(st.booleans()):
            written = yaml.safe_dump({name: sections[name]}, width=draw(st.sampled_from([40, 999])))
        else:
            flow = yaml.safe_dump(sections[name], default_flow_style=True, width=9999)
            written = f"{name}: {flow.removesuffix('...' + chr(10))}"
        before = draw(st.sampled_from([["# kept: a remark"], ["", "# proposed: none yet"], ["   "], []]))
        lines += [*before, f"# about {name}", *written.splitlines()]
    return draw(st.sampled_from(["\n", "\n", "\r\n"])).join([*lines, ""])


@tried(8)
@given(st.data(), anything)
def test_a_proposal_written_into_a_job_file_reads_back_as_it_was_made(data: st.DataObject, made: Made) -> None:
    """Everything else in the file says what it said, and every remark stays."""
    text = data.draw(job_texts(made.job))
    with tempfile.TemporaryDirectory() as folder:
        read = saved(folder, made, text)
        assert read.job == made.read().job.model_copy(update={"proposed": read.job.proposed})
        network = pipeline.set_up(read).network
        some = data.draw(st.lists(st.sampled_from(sorted(network.items)), unique=True, min_size=1, max_size=5))
        changes = {name: data.draw(st.sampled_from(list(network.items[name].forms))) for name in some}
        once = proposal_text(read, changes, read.job.target)
        again = saved(folder, made, once)
        assert {name: state.is_ for name, state in (again.job.proposed or {}).items()} == changes
        assert again.job.model_copy(update={"proposed": None}) == read.job.model_copy(update={"proposed": None})
        remarks = [line for line in text.splitlines() if line.startswith("#")]
        assert [line for line in once.splitlines() if line.startswith("#")][: len(remarks)] == remarks
        assert proposal_text(again, changes, read.job.target).split() == once.split()
        event("with an older proposal" if read.job.proposed else "first proposal")


# --- the same in every process ----------------------------------------------------------------------------

ANSWERS = """
import json, sys
from pathlib import Path
from boostcarb import pipeline
from boostcarb.board.answering import questions
from boostcarb.board.study import Study
from boostcarb.errors import BadDescription
from boostcarb.network.graph_files import graphml_text
from boostcarb.report.checks_records import checks_record
from boostcarb.report.faults_records import faults_record
from boostcarb.report.records import as_json, plan_record, review_record, trace_record
for folder in map(Path, sys.argv[1:]):
    read = pipeline.load(folder / "job.yaml", pipeline.library(folder / "mine"))
    planned = pipeline.plan(pipeline.set_up(read))
    faulted = pipeline.faults_after(planned, read)
    print(as_json(plan_record(planned, faulted)))
    print(as_json(checks_record(pipeline.bench_checks_after(planned, read))))
    print(as_json(checks_record(pipeline.bench_checks(read, planned=False))))
    print(as_json(review_record(pipeline.review(read))))
    bench = pipeline.set_up(read)
    print(as_json(trace_record(bench, pipeline.trace(bench, "base"))))
    print(graphml_text(bench.network))
    mode = read.job.target
    asked = questions(Study.of(read))
    for path, body in (
        ("/scene", {}), ("/answer", {"base": "found"}), ("/trace", {"base": "found", "space": "air_horn"}),
        ("/spray", {"base": "found", "space": "main.bowl"}), ("/repair", {"base": "found"}),
        ("/lesson", {"base": "found", "seed": 5, "count": 6}), ("/hunt", {"base": "found", "seed": 5}),
    ):
        try:
            print(path, json.dumps(asked[path].answer(json.dumps({"mode": mode, **body}).encode())()))
        except BadDescription as error:
            print(path, error)
"""


def answers_of(folders: list[str], hash_seed: str) -> bytes:
    """All answers about some jobs, from a process with its own order of sets."""
    environment = {**os.environ, "PYTHONHASHSEED": hash_seed, "PYTHONPATH": os.pathsep.join(sys.path)}
    done = subprocess.run(
        [sys.executable, "-c", ANSWERS, *folders], env=environment, capture_output=True, check=False, timeout=600
    )
    assert done.returncode == 0, done.stderr.decode()
    return done.stdout


@tried(1)
@given(st.lists(carburetors(), min_size=2, max_size=2))
def test_two_processes_answer_alike_to_the_byte(some: list[Made]) -> None:
    """Plan, faults, bench tests, review, trace, graph, and what the board answers, lessons and hunts included."""
    assume(len({json.dumps(made.family) for made in some}) == len(some))
    with tempfile.TemporaryDirectory() as folder:
        folders = []
        for number, made in enumerate(some):
            place = Path(folder) / str(number)
            place.mkdir()
            saved(str(place), made, yaml.safe_dump(made.job))
            folders.append(str(place))
        first, second = (answers_of(folders, seed) for seed in ("0", "4711"))
    assert len(first) > 10_000
    assert first == second
