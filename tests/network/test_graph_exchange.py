"""GraphML and DOT out, GraphML in: nothing lost on the way, nothing dangerous let in."""

from __future__ import annotations

import re
from pathlib import Path

import networkx as nx
import pytest

from boostcarb import pipeline
from boostcarb.errors import BadDescription
from boostcarb.network.graph import graph_of, network_of
from boostcarb.network.graph_files import DEPTH_LIMIT, SIZE_LIMIT, dot_text, graphml_text, read_graphml
from boostcarb.network.latent import with_latent
from boostcarb.network.model import Network

SCENARIOS = sorted((Path(__file__).parents[2] / "scenarios").glob("*.yaml"))
PLAIN = """\
<?xml version="1.0" encoding="UTF-8"?>
<graphml xmlns="http://graphml.graphdrawing.org/xmlns">
<key id="d0" for="edge" attr.name="area_m2" attr.type="double"/>
<graph edgedefault="{direction}"><node id="bowl"/><node id="air_horn"/>
<edge id="vent" source="bowl" target="air_horn"><data key="d0">{area}</data></edge></graph></graphml>
"""


def network(path: Path) -> Network:
    return pipeline.set_up(pipeline.load(path)).network


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_round_trip_is_the_same_network(path: Path, tmp_path: Path) -> None:
    built = network(path)
    file = tmp_path / "network.graphml"
    file.write_text(graphml_text(built), encoding="utf-8")
    read = read_graphml(file)
    assert read == built
    assert list(read.stages) == list(built.stages)
    assert graphml_text(read) == graphml_text(built)


def test_round_trip_with_everything_that_can_fail(tmp_path: Path) -> None:
    built = with_latent(network(SCENARIOS[0]))
    assert network_of(graph_of(built)) == built


def test_a_general_library_reads_the_same_spaces_and_ways(tmp_path: Path) -> None:
    """Oracle: networkx, which knows nothing of carburetors."""
    built = network(SCENARIOS[0])
    file = tmp_path / "network.graphml"
    file.write_text(graphml_text(built), encoding="utf-8")
    graph = nx.read_graphml(file, force_multigraph=True)
    assert set(graph.nodes) == set(built.spaces)
    assert graph.number_of_edges() == len(built.ways) + len(built.diaphragms)
    areas = {key: values["area_m2"] for _, _, key, values in graph.edges(keys=True, data=True) if "area_m2" in values}
    assert areas == {way.name: way.area_m2 for way in built.ways}
    assert graph.nodes["primary.bowl"]["title"] == built.spaces["primary.bowl"].title


@pytest.mark.parametrize("direction", ["directed", "undirected"])
def test_a_plain_drawing_is_a_network(tmp_path: Path, direction: str) -> None:
    file = tmp_path / "drawn.graphml"
    file.write_text(PLAIN.format(direction=direction, area="0.0002"), encoding="utf-8")
    drawn = read_graphml(file)
    (way,) = drawn.ways
    assert ({way.a, way.b}, way.area_m2, way.exists(drawn.found())) == ({"bowl", "air_horn"}, 2e-4, True)


@pytest.mark.parametrize(("area", "message"), [("0", "above 0"), ("-1", "above 0"), ("nan", "above 0"), ("x", "read")])
def test_areas_that_no_hole_has(tmp_path: Path, area: str, message: str) -> None:
    file = tmp_path / "drawn.graphml"
    file.write_text(PLAIN.format(direction="directed", area=area), encoding="utf-8")
    with pytest.raises(BadDescription, match=message) as caught:
        read_graphml(file)
    assert caught.value.problems[0].file == file


PAIRS = zip("abcde", "bcdef", strict=True)
def test_two_ways_of_one_name_are_refused(tmp_path: Path) -> None:
    file = tmp_path / "drawn.graphml"
    text = PLAIN.format(direction="directed", area="0.0002")
    edge = text[text.index("<edge") : text.index("</graph>")]
    other = edge.replace('source="bowl" target="air_horn"', 'source="air_horn" target="bowl"')
    file.write_text(text.replace(edge, edge + other), encoding="utf-8")
    with pytest.raises(BadDescription, match="names two ways"):
        read_graphml(file)


@pytest.mark.parametrize("name", ["gate", "inline", "item"])
def test_names_that_lead_nowhere_are_refused(tmp_path: Path, name: str) -> None:
    file = tmp_path / "drawn.graphml"
    value = {"gate": '{"senses": "x", "level_pa": 1, "level_is_gauge": true, "open_above": true}'}.get(name, "x")
    key = f'<key id="d1" for="edge" attr.name="{name}" attr.type="string"/><graph '
    text = PLAIN.format(direction="directed", area="0.0002").replace("<graph ", key, 1)
    data = f'<data key="d1">{value.replace(chr(34), "&quot;")}</data></edge>'
    file.write_text(text.replace("</edge>", data), encoding="utf-8")
    with pytest.raises(BadDescription, match="unknown"):
        read_graphml(file)


BOMB = '<!ENTITY a "xxxxxxxx">' + "".join(f'<!ENTITY {b} "{f"&{a};" * 10}">' for a, b in PAIRS)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (f"<!DOCTYPE graphml [{BOMB}]><graphml>&f;</graphml>", "document type"),
        ("<!doctype graphml SYSTEM 'file:///etc/passwd'><graphml/>", "document type"),
        ('<?xml version="1.0" encoding="UTF-16"?><graphml/>', "save it as UTF-8"),
        ("<graphml>" + "<graph>" * DEPTH_LIMIT + "</graph>" * DEPTH_LIMIT + "</graphml>", "nested more than"),
        ("<graphml>", "no GraphML"),
        ("plain text", "no GraphML"),
        ("", "no GraphML"),
        ("<html/>", "no GraphML"),
    ],
)
def test_what_is_refused(tmp_path: Path, text: str, message: str) -> None:
    file = tmp_path / "bad.graphml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(BadDescription, match=message):
        read_graphml(file)


def test_too_large_not_text_and_not_there(tmp_path: Path) -> None:
    file = tmp_path / "bad.graphml"
    file.write_bytes(b" " * (SIZE_LIMIT + 1))
    with pytest.raises(BadDescription, match="larger than"):
        read_graphml(file)
    file.write_text("<graphml/>", encoding="utf-16")
    with pytest.raises(BadDescription, match="UTF-8"):
        read_graphml(file)
    with pytest.raises(BadDescription, match="no such file"):
        read_graphml(tmp_path / "none.graphml")


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('"found": "', '"found": "x', "unknown form"),
        ('"kind": "passage"', '"kind": "pasage"', "one of passage"),
        ('"fails": false', '"fails": 3', "true or false"),
    ],
)
def test_a_spoiled_file_is_refused_by_name(tmp_path: Path, old: str, new: str, message: str) -> None:
    file = tmp_path / "network.graphml"
    text = graphml_text(network(SCENARIOS[0]))
    quoted = [each.replace('"', "&quot;") if "&quot;" in text else each for each in (old, new)]
    assert quoted[0] in text
    file.write_text(text.replace(*quoted, 1), encoding="utf-8")
    with pytest.raises(BadDescription, match=message):
        read_graphml(file)


def test_dot_names_every_space_and_way_once_and_balances() -> None:
    """The DOT language as its grammar has it: quoted names, one statement a line, braces that close."""
    built = network(SCENARIOS[0])
    text = dot_text(built)
    assert text.startswith("digraph carburetor {")
    assert text.count("{") == text.count("}")
    edges = re.findall(r'^  "((?:[^"\\]|\\.)*)" -> "((?:[^"\\]|\\.)*)" \[id="((?:[^"\\]|\\.)*)"', text, re.MULTILINE)
    assert sorted(edges) == sorted(
        [*((way.a, way.b, way.name) for way in built.ways),
         *((wall.first, wall.second, name) for name, wall in built.diaphragms.items())]
    )  # fmt: skip
    nodes = re.findall(r'^    "((?:[^"\\]|\\.)*)" \[label=', text, re.MULTILINE)
    assert sorted(nodes) == sorted(built.spaces)
