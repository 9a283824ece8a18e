"""`boostcarb graph`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from boostcarb.cli.options import DataOption, Format, FormatOption
from boostcarb.errors import BadDescription, Problem

if TYPE_CHECKING:
    from boostcarb.network.model import Network

GRAPHML, DOT = ".graphml", ".dot"
Source = Annotated[
    Path | None,
    typer.Argument(metavar="[JOB]", help="Job file (YAML), or a network in GraphML.", show_default=False),
]
Out = Annotated[
    Path | None, typer.Option("--out", metavar="FILE", help="File to write: FILE.graphml or FILE.dot.")
]
Check = Annotated[
    Path | None,
    typer.Option("--check", metavar="FILE", help="Check a network in GraphML, say what is in it, and stop."),
]
Force = Annotated[bool, typer.Option("--force", help="Overwrite a file that exists.")]


def graph(
    source: Source = None,
    out: Out = None,
    check: Check = None,
    force: Force = False,
    data: DataOption = None,
    output: FormatOption = Format.text,
) -> None:
    """The network of a carburetor as found, for general graph tools: GraphML or DOT out, GraphML in.

    Example: boostcarb graph scenarios/street_blow_through.yaml --out street.graphml
    """
    from boostcarb.report import graph_text

    given = check if check is not None else source
    if given is None:
        raise BadDescription(Problem("name a job, or a network with --check FILE.graphml", field="JOB"))
    if check is None and out is None:
        raise BadDescription(Problem("name a file to write, as in --out network.graphml", field="--out"))
    if out is not None and out.suffix not in (GRAPHML, DOT):
        raise BadDescription(Problem(f"found {out.name!r}; end it in {GRAPHML} or {DOT}", field="--out"))
    network = _network(given, data, must_be_graphml=check is not None)
    if out is not None and check is None:
        _write(network, out, force=force)
    if output is Format.json:
        from boostcarb.report.records import as_json

        typer.echo(as_json(graph_text.graph_record(network, None if check else out)))
    else:
        typer.echo(graph_text.graph_text(network, None if check else out))


def _network(given: Path, data: Path | None, *, must_be_graphml: bool) -> Network:
    from boostcarb import pipeline
    from boostcarb.network.graph_files import read_graphml

    if must_be_graphml or given.suffix == GRAPHML:
        return read_graphml(given)
    return pipeline.set_up(pipeline.load(given, pipeline.library(data))).network


def _write(network: Network, out: Path, *, force: bool) -> None:
    from boostcarb.description.saving import save_text
    from boostcarb.network.graph_files import dot_text, graphml_text

    save_text(out, dot_text(network) if out.suffix == DOT else graphml_text(network), force=force)
