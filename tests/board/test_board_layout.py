"""The drawing of the signal board: geometric invariants, which need no source, on every scenario and on made-up
networks."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from itertools import combinations, pairwise, product
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from boostcarb import pipeline
from boostcarb.board.layout.plan import drawing
from boostcarb.board.layout.records import SYMBOL_LONG, SYMBOL_WIDE, Drawing, Membrane, Panel, Place, Point, Route
from boostcarb.board.layout.strands import AMBIENT, exclusive, strands_of
from boostcarb.board.layout.titles import box_size, wrapped
from boostcarb.description.library import read_job
from boostcarb.network.model import Diaphragm, Network, Space, Way

SCENARIOS = Path(__file__).parents[2] / "scenarios"
JOBS = sorted(path.name for path in SCENARIOS.glob("*.yaml"))
MODES = ("blow_through", "draw_through", "naturally_aspirated")
AROUND = {"air_path", "engine", "turbo", "fuel_system", "engine_bay"}
IN_ALL_MODES = {
    "street_blow_through.yaml", "step_up_pistons_blow_through_e85.yaml", "side_draught_in_pressure_box.yaml",
    "constant_depression_draw_through.yaml",
}  # fmt: skip
SHORTEST_OPEN_END = 11
CLOSEST = 10

Segment = tuple[Point, Point]
Box = tuple[float, float, float, float]


@cache
def of_job(name: str, mode: str) -> tuple[Network, Drawing]:
    read = read_job(SCENARIOS / name, pipeline.library(None))
    network = pipeline.set_up(read, read.job.model_copy(update={"target": mode}), latent=True).network
    return network, drawing(network, set(network.castings) - AROUND)


def modes_of(name: str) -> tuple[str, ...]:
    """Target modes that a job is looked at in: its own; one job of each kind of carburetor in all."""
    if name in IN_ALL_MODES:
        return MODES
    return (read_job(SCENARIOS / name, pipeline.library(None)).job.target,)


every_job = pytest.mark.parametrize(("job", "mode"), [(name, mode) for name in JOBS for mode in modes_of(name)])


def box(place: Place | Panel) -> Box:
    return place.x, place.y, place.x + place.w, place.y + place.h


def apart(one: Box, two: Box, by: float = 0) -> bool:
    return one[2] + by <= two[0] or two[2] + by <= one[0] or one[3] + by <= two[1] or two[3] + by <= one[1]


def inside(one: Box, two: Box) -> bool:
    return two[0] <= one[0] and two[1] <= one[1] and one[2] <= two[2] and one[3] <= two[3]


def on_edge(point: Point, place: Place) -> bool:
    left, top, right, bottom = box(place)
    x, y = point
    return (x in (left, right) and top <= y <= bottom) or (y in (top, bottom) and left <= x <= right)


def segments(points: tuple[Point, ...]) -> Iterator[Segment]:
    return pairwise(points)


def span(segment: Segment) -> Box:
    (x0, y0), (x1, y1) = segment
    return min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1)


def symbol_box(x: int, y: int, angle: int, along: int = SYMBOL_LONG, across: int = SYMBOL_WIDE) -> Box:
    wide, high = (along, across) if angle % 180 == 0 else (across, along)
    return x - wide / 2, y - high / 2, x + wide / 2, y + high / 2


def overlap(one: Segment, two: Segment) -> int:
    """How long two segments lie on top of each other."""
    a, b = span(one), span(two)
    across, along = min(a[2], b[2]) - max(a[0], b[0]), min(a[3], b[3]) - max(a[1], b[1])
    return int(max(across, along)) if min(across, along) == 0 and max(across, along) > 0 else 0


def lines_of(network: Network, drawn: Drawing) -> list[tuple[tuple[Way, ...], tuple[Point, ...]]]:
    """What is drawn once: its ways and its points; the link of a diaphragm without ways included."""
    lines = []
    for strand in strands_of(network):
        points = drawn.routes[strand.ways[0].name].points if strand.ways else drawn.membranes[strand.diaphragms[0]].link
        lines.append((tuple(strand.ways), points))
    return lines


def may_share(one: tuple[Way, ...], two: tuple[Way, ...]) -> bool:
    return bool(one) and bool(two) and exclusive(one, two)


def check_places(network: Network, drawn: Drawing) -> None:
    """Geometric invariant: every space has a rectangle on the board, apart from all others."""
    assert set(drawn.places) == set(network.spaces)
    board = (0, 0, drawn.width, drawn.height)
    for name, place in drawn.places.items():
        assert inside(box(place), board), name
    for (a, one), (b, two) in combinations(drawn.places.items(), 2):
        assert apart(box(one), box(two), by=CLOSEST), (a, b)
    for name, panel in drawn.panels.items():
        assert inside(box(panel), board), name
    for (a, first), (b, second) in combinations(drawn.panels.items(), 2):
        nested = inside(box(first), box(second)) or inside(box(second), box(first))
        assert apart(box(first), box(second)) or nested, (a, b)
    for name, place in drawn.places.items():
        if place.shape == "box":
            for casting, panel in drawn.panels.items():
                assert inside(box(place), box(panel)) or apart(box(place), box(panel)), (name, casting)
            assert inside(box(place), box(drawn.panels[network.spaces[name].casting])), name


def check_titles(network: Network, drawn: Drawing) -> None:
    """Geometric invariant: a title fits its box, 0.55 em of 15 px a letter, 16 px a line."""
    for name, place in drawn.places.items():
        if place.shape == "box":
            lines = wrapped(network.title_of(name), int((place.w - 8) / 8.25))
            assert max(map(len, lines)) * 8.25 <= place.w - 8, name
            assert len(lines) * 16 <= place.h, name


def check_ends(network: Network, drawn: Drawing) -> None:
    """Geometric invariant: a route runs square from edge to edge, or from an edge to the open air."""
    assert set(drawn.routes) == {way.name for way in network.ways}
    assert set(drawn.membranes) == set(network.diaphragms)
    for way in network.ways:
        route = drawn.routes[way.name]
        assert route.vent == (AMBIENT in (way.a, way.b)), way.name
        for end, point in ((way.a, route.points[0]), (way.b, route.points[-1])):
            if end != AMBIENT:
                assert on_edge(point, drawn.places[end]), (way.name, end)
        for (x0, y0), (x1, y1) in segments(route.points):
            assert (x0 == x1) != (y0 == y1), way.name
        assert sum(abs(x1 - x0) + abs(y1 - y0) for (x0, y0), (x1, y1) in segments(route.points)) >= SHORTEST_OPEN_END


def check_clear_of_boxes(network: Network, drawn: Drawing) -> None:
    """Geometric invariant: no route touches a box it does not end at; behind a bar it goes straight down."""
    for strand, (_, points) in zip(strands_of(network), lines_of(network, drawn), strict=True):
        for name, place in drawn.places.items():
            for segment in segments(points):
                if name in (strand.a, strand.b) or apart(span(segment), box(place), by=1):
                    continue
                left, top, right, bottom = span(segment)
                assert place.shape == "bar", (strand.name, name)
                assert left == right, (strand.name, name)
                assert top < place.y < place.y + place.h < bottom, (strand.name, name)


def check_apart(network: Network, drawn: Drawing) -> None:
    """Geometric invariant: two lines that can be there together never lie on each other and keep their distance."""
    lines = lines_of(network, drawn)
    for (one, first), (two, second) in combinations(lines, 2):
        if may_share(one, two):
            continue
        for a, b in product(segments(first), segments(second)):
            assert overlap(a, b) <= 1, (one, two)
            if not apart(span(a), span(b), by=CLOSEST - 0.5):
                vertical = (a[0][0] == a[1][0], b[0][0] == b[1][0])
                assert vertical[0] != vertical[1], (one, two)


def check_symbols(network: Network, drawn: Drawing) -> None:
    """Geometric invariant: symbols stand on straight stretches, clear of boxes, of each other and of foreign lines."""
    strands = strands_of(network)
    lines = lines_of(network, drawn)
    placed = []
    for strand, (ways, points) in zip(strands, lines, strict=True):
        if strand.host is not None:
            continue
        if strand.diaphragms:
            membrane = drawn.membranes[strand.diaphragms[0]]
            area = symbol_box(membrane.x, membrane.y, membrane.angle, 24, 32)
            reach = 12.0
            center = (membrane.x, membrane.y)
        else:
            x, y, angle = drawn.routes[ways[0].name].symbol
            area, reach, center = symbol_box(x, y, angle), SYMBOL_LONG / 2, (x, y)
        on = [segment for segment in segments(points) if inside((*center, *center), span(segment))]
        assert any(min(abs(center[0] - x) + abs(center[1] - y) for x, y in segment) >= reach for segment in on), (
            strand.name
        )
        for name, place in drawn.places.items():
            assert apart(area, box(place)), (strand.name, name)
        placed.append((strand.name, ways, area))
    for (name, one, area), (ways, points) in product(placed, lines):
        if ways != one and not may_share(one, ways):
            for segment in segments(points):
                assert apart(area, span(segment)), (name, ways)
    for (name, one, first), (other, two, second) in combinations(placed, 2):
        assert may_share(one, two) or apart(first, second), (name, other)


def check_angles(network: Network, drawn: Drawing) -> None:
    """Geometric invariant: a symbol looks along its stretch, from a to b."""
    for way in network.ways:
        route = drawn.routes[way.name]
        x, y, angle = route.symbol
        heading = {0: (1, 0), 90: (0, 1), 180: (-1, 0), 270: (0, -1)}[angle]
        assert any(
            inside((x, y, x, y), span(((x0, y0), (x1, y1))))
            and ((x1 > x0) - (x1 < x0), (y1 > y0) - (y1 < y0)) == heading
            for (x0, y0), (x1, y1) in segments(route.points)
        ), way.name


CHECKS = (check_places, check_titles, check_ends, check_clear_of_boxes, check_apart, check_symbols, check_angles)


@pytest.mark.parametrize("check", CHECKS)
@every_job  # nearest: all checks of a drawing one after the other, so that few are made in more than one process
def test_every_scenario_in_every_mode(check: object, job: str, mode: str) -> None:
    network, drawn = of_job(job, mode)
    check(network, drawn)  # type: ignore[operator]


def test_same_network_same_drawing() -> None:
    """Geometric invariant: nothing depends on order of hashing or on what was drawn before."""
    network, drawn = of_job("roadster_draw_through.yaml", "draw_through")
    assert drawing(network, sorted(set(network.castings) - AROUND, reverse=True)) == drawn


def test_four_barrel_fits_a_landscape_sheet() -> None:
    """Regression value: the largest scenario stays within about 1900 by 1200 units."""
    _, drawn = of_job("street_blow_through.yaml", "blow_through")
    assert drawn.width <= 1900
    assert drawn.height <= 1200
    assert drawn.width > 1.3 * drawn.height


def test_a_route_is_turned_with_its_way() -> None:
    """Geometric invariant: two directions of one hole share the line, and look opposite ways."""
    _, drawn = of_job("street_blow_through.yaml", "blow_through")
    there, back = drawn.routes["primary.bowl_vent"], drawn.routes["primary.bowl_vent/back only"]
    assert there.points == back.points[::-1]
    assert there.symbol[:2] == back.symbol[:2]
    assert abs(there.symbol[2] - back.symbol[2]) == 180


def test_a_torn_diaphragm_leaks_through_its_symbol() -> None:
    """Geometric invariant."""
    _, drawn = of_job("street_blow_through.yaml", "blow_through")
    membrane = drawn.membranes["primary.pump_diaphragm"]
    assert isinstance(membrane, Membrane)
    for name in ("primary.pump_diaphragm.tear", "primary.pump_diaphragm_leak"):
        route = drawn.routes[name]
        assert isinstance(route, Route)
        assert route.symbol[:2] == (membrane.x, membrane.y)
        assert route.points == membrane.link


@every_job
def test_stands_as_it_is_built(job: str, mode: str) -> None:
    """Common practice, no source: air comes in at the top and leaves at the bottom, bowls outside the metering blocks,
    the primary side opposite the secondary, boosters above the venturis."""
    _, drawn = of_job(job, mode)
    places, panels = drawn.places, drawn.panels
    assert places["air_horn"].y < places["base"].y < places["manifold"].y
    if "main_body" in panels:
        assert places["air_horn"].y < panels["main_body"].y < places["base"].y
        if "secondary_block" in panels:
            assert inside(box(panels["air_path"]), box(panels["main_body"]))
    across = [name for name in ("primary_bowl", "primary_block", "main_body") if name in panels]
    across += [name for name in ("secondary_block", "secondary_bowl") if name in panels]
    for left, right in pairwise(across):
        assert panels[left].x < panels[right].x, (left, right)
    throats = [name for name in places if name.endswith(".booster_throat")]
    for booster in throats:
        assert places[booster].y < places[booster.replace("booster", "venturi")].y


TITLES = ("bowl", "dry side of the pump diaphragm", "well", "fitting for the gauge", "chamber of the actuator")


@st.composite
def networks(draw: st.DrawFn) -> tuple[Network, set[str]]:
    """A carburetor of any size and its surroundings, joined at random."""
    groups = draw(st.sampled_from([(), ("only",), ("left", "right"), ("one", "two", "three")]))
    castings = ["body", *(f"{group}_bowl" for group in groups), "lid", "shop", "rig"]
    spaces: dict[str, Space] = {}

    def add(name: str, casting: str, title: str, source: bool = False, holds: str = "air") -> None:
        spaces[name] = Space(name, title, casting, holds, None, source)

    add(AMBIENT, "rig", "atmosphere", source=True)
    for bar in draw(st.sets(st.sampled_from(["air_horn", "base", "manifold"]), min_size=1).map(sorted)):
        add(bar, "rig", bar, source=True)
    add("fuel_line", "shop", "fuel line", source=True, holds="fuel")
    for number in range(draw(st.integers(5, 30))):
        group = draw(st.sampled_from([*groups, ""]))
        own = [casting for casting in castings if not group or casting.startswith(group) or casting == "body"]
        add(f"{group}.s{number}" if group else f"s{number}", draw(st.sampled_from(own)), draw(st.sampled_from(TITLES)))
    names = list(spaces)
    ways: list[Way] = []
    for number in range(draw(st.integers(0, 2 * len(names)))):
        a, b = draw(st.lists(st.sampled_from(names), min_size=2, max_size=2, unique=True))
        ways.append(Way(f"w{number}", f"way {number}", "bore", a, b, 1e-6, "air", "body", "none", f"w{number}", ()))
    tables: dict[str, list[Way]] = {name: [] for name in names}
    for way in ways:
        tables[way.a].append(way)
        tables[way.b].append(way)
    diaphragms = {}
    if draw(st.booleans()):
        a, b = draw(st.lists(st.sampled_from(names[1:]), min_size=2, max_size=2, unique=True))
        diaphragms["d"] = Diaphragm("d", "diaphragm", a, b, "other", None, None, (), (), {}, {})
    network = Network(
        spaces, tuple(ways), diaphragms, {}, {}, {casting: casting for casting in castings}, {},
        {name: tuple(table) for name, table in tables.items()},
    )  # fmt: skip
    return network, set(castings) - {"rig", "shop"}


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(networks())
def test_any_network(made: tuple[Network, set[str]]) -> None:
    network, own = made
    drawn = drawing(network, own)
    for check in CHECKS:
        check(network, drawn)


@given(st.lists(st.text("abcdefgh", min_size=1, max_size=11), min_size=1, max_size=8).map(" ".join))
def test_a_box_holds_its_title(title: str) -> None:
    """Geometric invariant."""
    width, height = box_size(title)
    assert len(wrapped(title, int((width * 11 - 8) / 8.25))) * 16 <= height * 11
