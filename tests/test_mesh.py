"""The mesh: it fills the section, follows every line, opens along the walls and nowhere else, and does not depend on where the job lies."""

from collections import Counter
from pathlib import Path

import numpy as np
import pytest
from build import DRIVE, ELASTIC, HALF, SAND, build, mirrored, moved, soil, table, wall

from fesoil import MeshError, case_from, read_case
from fesoil.case.sequence import extent, level_at, surface
from fesoil.elements.triangle import SIDES
from fesoil.mesh import make_mesh
from fesoil.mesh.section import plan, split_at_crossings
from fesoil.mesh.split import min_angle, sharing

CASES = Path(__file__).parents[1] / "cases"
CONCRETE = soil(ELASTIC, name="concrete", at_rest=None)
LINES = table(
    [DRIVE, {"name": "dig", "dig": {"wall": -2.0}}], layers=[("sand", 0.0), ("sand", -3.3)], soils=[SAND, CONCRETE], water={"outside": -1.4},
    blocks=[{"name": "base", "soil": "concrete", "outline": [[1.0, -4.0], [3.0, -4.0], [3.0, -5.0], [1.0, -5.0]]}],
)  # fmt: skip
SLOPE = table(
    [{"name": "drive", "drive": {"pit": -7.0}}, {"name": "dig", "dig": {"pit": -2.5}}], walls=[wall("l", -3.0, 0.2, cofferdam="pit"), wall("r", 3.0, 1.2, cofferdam="pit")],
    layers=[("sand", [[-3.0, 0.0], [3.0, 1.0], [9.0, 2.0]]), ("sand", -4.0)], section={"half": False, "left": -12.0, "right": 14.0},
)  # fmt: skip
TWO = table(
    [{"name": "outer", "drive": {"outer": -6.0}}, {"name": "dig", "dig": {"outer": -1.5}}, {"name": "inner", "drive": {"inner": -8.0}}, {"name": "deep", "dig": {"inner": -3.5}}],
    walls=[wall("outer", 5.0), wall("inner", 2.0, -1.2)],
)  # fmt: skip
ALL = {"lines": LINES, "slope": SLOPE, "two": TWO, "plain": table([DRIVE]), "no wall": table([], walls=[])}


@pytest.fixture(scope="module", params=ALL)
def made(request):
    case = case_from(ALL[request.param])
    return case, make_mesh(case)


def corner_area(mesh):
    a, b, c = (mesh.points[mesh.triangles[:, i]] for i in range(3))
    return 0.5 * ((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0])


def ground_beside(case, x):
    return float(level_at(surface(case), x))


def ground_area(case):
    """Area of the ground between the boundaries, by the trapezoid rule of its surface (a polyline)."""
    left, right, bottom = extent(case)
    x = np.unique(np.clip([left, right, *(p for p, _ in surface(case))], left, right))
    return np.trapezoid(level_at(surface(case), x) - bottom, x)


def test_triangles_fill_the_ground(made):
    case, mesh = made
    area = corner_area(mesh)
    assert np.all(area > 0)
    assert area.sum() == pytest.approx(ground_area(case), rel=1e-9)


def test_middle_nodes_lie_in_the_middle(made):
    _, mesh = made
    for a, b, middle in SIDES:
        ends = (mesh.points[mesh.triangles[:, a]] + mesh.points[mesh.triangles[:, b]]) / 2
        assert mesh.points[mesh.triangles[:, middle]] == pytest.approx(ends, abs=1e-9)


def border(mesh, case, x, y):
    """Whether points lie on the outline of the ground."""
    left, right, bottom, _ = mesh.box
    on = (np.abs(x - left) < 1e-6) | (np.abs(x - right) < 1e-6) | (np.abs(y - bottom) < 1e-6)
    return on | (np.abs(y + mesh.origin[1] - level_at(surface(case), x + mesh.origin[0])) < 1e-6)


def test_every_edge_has_two_triangles_or_lies_on_the_outline(made):
    """No hanging node and no crack: an edge known by its end nodes is used twice, but for the outline, and but for walls, which are open."""
    case, mesh = made
    uses = np.sort(mesh.triangles[:, SIDES][..., :2].reshape(-1, 2), axis=1)
    edges, counts = np.unique(uses, axis=0, return_counts=True)
    assert counts.max() == 2
    lone = mesh.points[edges[counts == 1]].mean(axis=1)
    on_wall = np.zeros(len(lone), bool)
    if len(mesh.segments):
        ends = mesh.wall_points[mesh.segments]
        on_wall = np.any(np.all(np.isclose(lone[:, None], ends[None, :, 2], atol=1e-9), axis=2), axis=1)
    assert np.all(on_wall | border(mesh, case, *lone.T))


def test_nodes_are_used_and_only_walls_have_copies(made):
    _, mesh = made
    assert np.array_equal(np.unique(mesh.triangles), np.arange(len(mesh.points)))
    places = Counter(map(tuple, mesh.points.round(9)))
    doubled = {p for p, n in places.items() if n > 1}
    assert doubled <= set(map(tuple, mesh.wall_points.round(9)))
    assert max(places.values()) <= 2
    assert len(set(map(tuple, mesh.wall_points.round(9)))) == len(mesh.wall_points)


def test_walls_are_lined_once_on_each_side(made):
    case, mesh = made
    assert len(np.unique(mesh.wall_points[mesh.segments[:, 2]], axis=0)) == len(mesh.segments)
    for i, w in enumerate(case.walls):
        pieces = np.flatnonzero(mesh.segment_wall == i)
        upper, lower = mesh.segment_levels[pieces].T
        assert upper[0] == pytest.approx(w.top_level) and np.all(upper > lower)
        assert upper[1:] == pytest.approx(lower[:-1])  # from the top down without a gap
    there = mesh.faces >= 0
    for side in (0, 1):
        s = np.flatnonzero(there[:, side])
        assert len(np.unique(mesh.faces[s, side])) == len(s)
        assert mesh.points[mesh.face_nodes[s, side]] == pytest.approx(mesh.wall_points[mesh.segments[s]], abs=1e-9)
        x = mesh.points[mesh.triangles[mesh.faces[s, side], :3]].mean(axis=1)[:, 0]
        assert np.all((x - mesh.wall_points[mesh.segments[s, 2], 0]) * (-1, 1)[side] > 0)
    assert np.array_equal(mesh.face_nodes[~there], np.full((np.sum(~there), 3), -1))


def test_copies_are_apart_along_a_wall_and_one_at_its_ends(made):
    case, mesh = made
    for i in range(len(case.walls)):
        pieces = np.flatnonzero((mesh.segment_wall == i) & np.all(mesh.faces >= 0, axis=1))
        left, right = mesh.face_nodes[pieces, 0], mesh.face_nodes[pieces, 1]
        buried = case.walls[i].top_level < ground_beside(case, case.walls[i].x) - 1e-6  # a top in the ground is an end like the toe
        expected = np.zeros(left.shape, bool)
        expected[-1, 1], expected[0, 0] = True, buried
        assert np.array_equal(left == right, expected)


def test_sharing_joins_what_does_not_stand(made):
    """Without walls every place has one leader; with all standing every node leads itself; driven halfway, the rest is closed."""
    case, mesh = made
    none, every = np.zeros(len(mesh.segments), bool), np.ones(len(mesh.segments), bool)
    leader = sharing(mesh, none)
    assert len(np.unique(leader)) == len(np.unique(mesh.points.round(9), axis=0))
    assert np.array_equal(mesh.points[leader].round(9), mesh.points.round(9))
    assert np.array_equal(sharing(mesh, every), np.arange(len(mesh.points)))
    if len(mesh.segments):
        half = mesh.segment_levels[:, 1] > np.median(mesh.segment_levels[:, 1])
        leader = sharing(mesh, half)
        both = np.all(mesh.faces >= 0, axis=1)
        left, right = mesh.face_nodes[..., 0, :], mesh.face_nodes[..., 1, :]
        assert np.array_equal(leader[left[both & ~half]], leader[right[both & ~half]])
        upper = both & half
        assert np.all(leader[left[upper, 2]] != leader[right[upper, 2]])


def test_copies_go_together_in_the_elimination_and_all_else_one_by_one(made):
    _, mesh = made
    ranks = {}
    for place, rank in zip(map(tuple, mesh.points.round(9)), mesh.rank.tolist()):
        assert ranks.setdefault(place, rank) == rank
    assert len(set(ranks.values())) == len(ranks)
    for place, rank in zip(map(tuple, mesh.wall_points.round(9)), mesh.wall_rank.tolist()):
        assert rank == ranks.get(place, rank) and rank >= 0


def has_edges(mesh, start, end):
    """Whether edges of triangles cover a straight line in the case's coordinates."""
    start, end = np.array(start) - mesh.origin, np.array(end) - mesh.origin
    along = (end - start) / np.linalg.norm(end - start)
    uses = mesh.points[np.unique(np.sort(mesh.triangles[:, SIDES][..., :2].reshape(-1, 2), axis=1), axis=0)]
    off = np.abs((uses - start) @ np.array([-along[1], along[0]])).max(axis=1)
    place = (uses - start) @ along
    on = (off < 1e-6) & (place.min(axis=1) > -1e-6) & (place.max(axis=1) < np.linalg.norm(end - start) + 1e-6)
    spans = {tuple(np.sort(p).round(6)) for p in place[on]}
    return sum(b - a for a, b in spans) == pytest.approx(np.linalg.norm(end - start), rel=1e-6)


def test_every_line_of_a_case_is_followed():
    mesh = make_mesh(case_from(LINES))
    for line in (((0, -3.3), (14, -3.3)), ((0, -2.0), (2, -2.0)), ((1, -4), (3, -4)), ((3, -4), (3, -5)), ((2, 0), (2, -7)), ((0, 0), (14, 0))):
        assert has_edges(mesh, *line), line
    assert not has_edges(mesh, (2.0, -2.0), (8.0, -2.0))  # a dig ends at its wall
    levels = mesh.wall_points[:, 1] + mesh.origin[1]
    for level in (0.0, -1.4, -2.0, -3.3, -4.0, -5.0, -7.0):  # top, water, dig, layer, block, toe
        assert np.abs(levels - level).min() < 1e-9


def test_a_slope_with_different_levels_on_the_two_sides():
    mesh = make_mesh(case_from(SLOPE))
    for line in (((-3, 0), (3, 1)), ((3, 1), (9, 2)), ((-12, 0), (-3, 0)), ((9, 2), (14, 2)), ((-3, -2.5), (3, -2.5))):
        assert has_edges(mesh, *line), line
    assert mesh.origin == pytest.approx([0.0, 2.0])


def test_a_wall_above_ground_has_nodes_without_soil():
    mesh = make_mesh(build([DRIVE], walls=[wall(top=1.5)]))
    free = mesh.segment_levels[:, 1] > -1e-9
    assert free.any() and np.all(mesh.faces[free] == -1) and np.all(mesh.faces[~free] >= 0)
    assert (mesh.points[:, 1] + mesh.origin[1]).max() == pytest.approx(0.0)


def test_filled_ground_above_the_surface_is_meshed():
    place = {"soil": "sand", "outline": [[6.0, 0.0], [10.0, 0.0], [9.0, 1.0], [7.0, 1.0]]}
    mesh = make_mesh(build([{"name": "heap", "place": [place]}]))
    assert corner_area(mesh).sum() == pytest.approx(14 * 11 + 3.0, rel=1e-9)


@pytest.mark.parametrize("gap", [2e-4, 9e-4])
def test_lines_that_nearly_coincide_are_refused(gap):
    with pytest.raises(MeshError, match="nearly meet"):
        make_mesh(build([DRIVE, {"name": "dig", "dig": {"wall": -3.0 - gap}}], layers=[("sand", 0.0), ("sand", -3.0)]))


def test_lines_that_coincide_to_rounding_are_one():
    exact, rounded = (make_mesh(build([DRIVE, {"name": "dig", "dig": {"wall": y}}], layers=[("sand", 0.0), ("sand", -3.0)])) for y in (-3.0, -3.0 - 1e-9))
    assert np.array_equal(exact.points, rounded.points)


def test_crossings_are_cut_and_nothing_is_lost():
    """A cross in a box: length before is length after, and no two pieces meet but at their ends."""
    lines = np.array([[0, 0, 4, 0], [4, 0, 4, 4], [0, 4, 4, 4], [0, 0, 0, 4], [0, 0, 4, 4], [0, 4, 4, 0], [1, 1, 3, 3.0]], float)
    pieces = split_at_crossings(lines, np.array([[2.0, 0.0]]))
    assert np.hypot(*(pieces[:, 2:] - pieces[:, :2]).T).sum() == pytest.approx(16 + 2 * np.hypot(4, 4))
    assert {(2.0, 2.0), (2.0, 0.0)} <= {tuple(p) for p in pieces.reshape(-1, 2)}


@pytest.mark.parametrize("name", ["lines", "slope", "two"])
def test_a_case_moved_by_a_kilometre_has_the_same_mesh(name):
    here = make_mesh(case_from(ALL[name]))
    there = make_mesh(case_from(moved(ALL[name], dx=0.0 if ALL[name]["section"]["half"] else 1000.0, dy=1000.0)))
    assert there.origin[1] - here.origin[1] == pytest.approx(1000.0)
    for field in ("points", "triangles", "rank", "wall_points", "segments", "segment_wall", "faces", "face_nodes", "edges"):
        assert np.array_equal(getattr(here, field), getattr(there, field)), field
    assert here.box == there.box


def test_the_order_of_walls_changes_no_node():
    turned = TWO | {"walls": TWO["walls"][::-1]}
    one, other = make_mesh(case_from(TWO)), make_mesh(case_from(turned))
    assert np.array_equal(one.points, other.points) and np.array_equal(one.triangles, other.triangles) and np.array_equal(one.rank, other.rank)


def test_the_same_mesh_twice_in_one_process():
    """gmsh keeps a global state; nothing of it may stay from one mesh to the next."""
    first = make_mesh(case_from(LINES))
    make_mesh(case_from(SLOPE))
    again = make_mesh(case_from(LINES))
    for field in ("points", "triangles", "rank", "segments", "face_nodes"):
        assert np.array_equal(getattr(first, field), getattr(again, field))


@pytest.mark.parametrize("path", sorted(CASES.glob("*.toml")), ids=lambda p: p.stem)
def test_triangles_of_the_shipped_cases_are_well_shaped(path):
    """A smallest angle of 20 degrees is what a refinement by Delaunay may promise (Shewchuk 2002, from memory); one tenth of the triangles at most below 35."""
    mesh = make_mesh(read_case(path))
    assert min_angle(mesh.points, mesh.triangles) > 20
    each = np.array([min_angle(mesh.points, mesh.triangles[i : i + 1]) for i in range(0, len(mesh.triangles), 7)])
    assert np.mean(each < 35) < 0.1


def test_triangles_are_as_small_as_asked_beside_the_wall_and_grow_away_from_it():
    mesh = make_mesh(build([DRIVE], section={"element_size": 0.5}))
    centre = mesh.points[mesh.triangles[:, :3]].mean(axis=1)
    side = np.sqrt(corner_area(mesh) / (np.sqrt(3) / 4))
    beside, far = (np.abs(centre[:, 0] - 2) < 0.6) & (centre[:, 1] > -7), centre[:, 0] > 12
    assert 0.3 < np.median(side[beside]) < 0.7  # an equilateral one has the side asked for
    assert np.median(side[far]) > 1.4 * np.median(side[beside])


def test_full_and_half_section_share_their_outline():
    full, half = plan(case_from(mirrored(LINES | {"blocks": []}))), plan(case_from(LINES | {"blocks": []}))
    assert full.box == (-half.box[1], *half.box[1:]) and HALF["right"] == half.box[1]
