"""Steady seepage: closed forms, exact solutions by conformal mapping, balance, free surface, and what happens where nothing is given."""

from dataclasses import replace

import numpy as np
import pytest

from benchmarks.common import plain_mesh
from benchmarks.problems import seepage_dam as dam
from benchmarks.problems import seepage_sheet_pile as sheet_pile
from benchmarks.problems import seepage_well as well
from benchmarks.seepage import Pair, beside, flow, given, mean_along
from fesoil.errors import FesoilError, NoFreeSurface
from fesoil.solve.system import make_base
from fesoil.water import flow as water
from fesoil.water.flow import outflow_gradient, steady, stream_function

ONE = (1.0, 1.0)


def boxed_column(h=0.5, walls=()):
    """Mesh of a box 6 m wide and 4 m high with a line at half its height, and coordinates."""
    mesh = plain_mesh((0.0, 6.0, 0.0, 4.0), h, [(0.0, 0.0, 4.0)], [(0.0, 2.0, 6.0, 2.0)], walls=np.array(walls, float).reshape(-1, 3))
    return mesh, *mesh.points.T


def pressure(mesh, found):
    return np.maximum(found.head - mesh.points[:, 1], 0.0)


def balance(found):
    """What enters the ground less what leaves it, over what enters; written here once more."""
    return abs(found.inflow.sum() - found.drips.sum()) / (np.maximum(found.inflow, 0).sum() + np.maximum(-found.drips, 0).sum())


def faced(side, length=6.0, high=4.0, h=0.5, points=()):
    """Ground of a length and height whose face at x = 0 is a wall, the ground on its left (-1) or right (+1), and coordinates."""
    box = (*sorted((side * length, -side * 1.0)), 0.0, high)
    mesh = plain_mesh(box, h, [(0.0, 0.0, high)], points=points, walls=np.array([[0.0, 0.0, high]]), keep=lambda c: side * c[:, 0] > 0)
    return mesh, *mesh.points.T


def leaking(mesh, heads, leakage, level, seeps=None, k=ONE, about_axis=False):
    """Flow with all pieces of wall standing and leaking [1/s], free water of a level beyond them, minus infinity for air."""
    s, n, m = len(mesh.segments), len(mesh.points), len(mesh.triangles)
    seeps = np.zeros(n, bool) if seeps is None else seeps
    k = np.broadcast_to(np.asarray(k, float), (m, 2))
    return steady(mesh, make_base(mesh).triangles, k, np.ones(s, bool), heads, seeps, np.full(s, leakage), about_axis, np.full((s, 2), level))


def pit(seed, h=1.0, scatter=0.0):
    """A pit between two walls in random layers, each triangle off by as many powers of ten as ``scatter`` says, water outside below the ground: mesh, permeabilities, heads, seepage nodes, nodes of the bottom."""
    rng = np.random.default_rng(seed)
    uniform = lambda *limits: np.round(rng.uniform(*limits), 2)  # noqa: E731
    thick, dig, toe, b, far = uniform(14, 25), uniform(2, 6), uniform(1.5, 5), uniform(2, 8), 40.0
    level, layers = -uniform(0, 0.8 * dig), np.round(-thick * np.array([0.15, 0.4, 0.7]) + rng.uniform(-1, 1, 3), 2)
    lines = [(-far, y, far, y) for y in layers] + [(-b, -dig, b, -dig)]
    walls = np.array([[-b, -dig - toe, 0.0], [b, -dig - toe, 0.0]])
    mesh = plain_mesh((-far, far, -thick, 0.0), h, [(-b, -dig - toe, 0), (b, -dig - toe, 0)], lines, [(-far, level), (far, level)], walls)
    middle = mesh.centroids
    layer, between = (middle[:, 1:] < layers).sum(axis=1), np.abs(middle[:, 0]) < b
    k = 10.0 ** (rng.uniform(-4, 0, (4, 1)) + rng.uniform(-1, 1, (4, 1)) * [1.0, 0.0])[layer]
    k *= 10.0 ** rng.uniform(-scatter, scatter, (len(k), 1))
    k[between & (middle[:, 1] > -dig)] = 0.0
    x, y = mesh.points.T
    bottom = (np.abs(y + dig) < 1e-9) & (np.abs(x) < b + 1e-9) & beside(mesh, lambda c: np.abs(c[:, 0]) < b)
    bottom &= ~beside(mesh, lambda c: np.abs(c[:, 0]) > b)
    sides = np.abs(np.abs(x) - far) < 1e-9
    heads = given(mesh, (sides, level), *([(bottom, -dig)] if seed % 2 else []))
    return mesh, k, heads, bottom & np.isnan(heads), bottom


@pytest.mark.parametrize("share", [0.2, 0.4, 0.6, 0.8])
def test_sheet_pile(share):
    discharge, gradient = sheet_pile.exact(share)
    _, ours, leaves, toe = sheet_pile.solved(share, 0.3)
    assert 0 < ours / discharge - 1 < 0.01
    assert leaves == pytest.approx(gradient, rel=0.05) and toe == pytest.approx(0.5, rel=0.01)


@pytest.mark.parametrize("seed", range(6))
def test_pairs_of_walls_of_random_shape(seed):
    rng = np.random.default_rng(seed)
    pair = Pair(*np.round([rng.uniform(2, 8), rng.uniform(2, 5), rng.uniform(5, 9), rng.uniform(12, 20)], 2))
    assert pair.mean_head(pair.b) * pair.b / pair.inner == pytest.approx(pair.discharge, rel=1e-7)  # what flows up through the level of the toe is what leaves
    mesh, found, head = pair.solved(pair.inner / 12)
    inside, _ = pair.faces(mesh)
    x, y = mesh.points.T
    share, gradient = (found.head + pair.step) / head, outflow_gradient(mesh, found, np.ones((len(mesh.triangles), 2)), inside) / head
    assert 0 < -found.inflow[inside].sum() / head / pair.discharge - 1 < 0.01
    assert share[np.argmin(np.hypot(x - pair.b, y + pair.outer))] == pytest.approx(pair.toe_head, rel=0.01)
    assert gradient[inside & (np.abs(x - pair.b) < 1e-9)][0] == pytest.approx(pair.exit_gradient(), rel=0.05)
    width = min(pair.inner / 2, pair.b)
    assert mean_along(mesh, share, pair.b - width, pair.b, -pair.outer) == pytest.approx(pair.mean_head(width), rel=0.01)
    assert balance(found) < 1e-8


@pytest.mark.parametrize("tail", [0.0, 3.0, 6.0])
@pytest.mark.parametrize("ground", [(ONE, ONE), ((1.0, 4.0), (1.0, 4.0)), ((1e-3, 1e-3), ONE), (ONE, (1e-3, 1e-3))])
def test_dam(ground, tail):
    mesh, found = dam.solved(ground, tail, 0.3)
    x, y = mesh.points.T
    assert found.inflow[x < 1e-9].sum() == pytest.approx(dam.exact(ground, tail), rel=0.01)
    seepage = (x > dam.LENGTH - 1e-9) & (y > tail + 1e-9)
    assert np.all(found.inflow[seepage] <= 0) and np.all(pressure(mesh, found)[seepage] < 1e-9)
    assert balance(found) < 1e-8


@pytest.mark.parametrize("leakage, tail", [(0.01, 0.0), (0.01, 2.0), (1.0, 5.0), (100.0, 2.0)])
def test_dam_with_a_leaking_wall(leakage, tail, monkeypatch):
    monkeypatch.setattr(dam, "LEAKAGE", leakage)
    mesh, found = dam.solved((ONE, ONE), tail, 0.3, leakage)
    assert found.inflow[mesh.points[:, 0] < 1e-9].sum() == pytest.approx(dam.exact_with_core(tail), rel=0.01)
    assert balance(found) < 1e-8


def test_a_seepage_face_has_no_pressure_where_nothing_leaves():
    """A case where the heads of the second step alone would have some."""
    mesh, found = dam.solved((ONE, ONE), 4.0, 0.5)
    x, y = mesh.points.T
    seepage = (x > dam.LENGTH - 1e-9) & (y > 4.0 + 1e-9)
    assert np.any(found.inflow[seepage] == 0) and np.all(pressure(mesh, found)[seepage] < 1e-9)


def test_water_leaves_a_dam_above_the_tail_water():
    mesh, found = dam.solved((ONE, ONE), 0.0, 0.15)
    x, y = mesh.points.T
    leaves = y[(x > dam.LENGTH - 1e-9) & (found.inflow < 0)]
    assert 1.5 < leaves.max() < dam.HIGH / 2
    assert not np.any(pressure(mesh, found)[y > dam.HIGH])


@pytest.mark.parametrize("tail", [2.0, 8.0])
def test_stretched_ground_has_the_same_heads(tail):
    """With x' = a x and k_x' = a^2 k_x the equations are the same; what flows through a metre of height grows by a. Confined at a tail water of 8 m, water 9 m before it."""
    mesh = plain_mesh((0.0, 10.0, 0.0, 8.0), 0.5, [(10.0, 0.0, 8.0)], points=[(10.0, 2.0)])
    a, (x, y) = 3.0, mesh.points.T
    right = x > 10.0 - 1e-9
    heads, seeps = given(mesh, (x < 1e-9, 9.0), (right & (y < tail + 1e-9), tail)), right & (y > tail + 1e-9)
    found, other = flow(mesh, heads, ONE, seeps), flow(replace(mesh, points=mesh.points * [a, 1.0]), heads, (a**2, 1.0), seeps)
    assert pressure(mesh, other) == pytest.approx(pressure(mesh, found), abs=1e-10)
    assert other.inflow == pytest.approx(a * found.inflow, abs=1e-10)


@pytest.mark.parametrize("seed, scatter", [*((seed, 0.0) for seed in range(5)), *((seed, 1.5) for seed in range(8, 13))])
def test_pits_in_random_layers_settle(seed, scatter):
    mesh, k, heads, seeps, bottom = pit(seed, scatter=scatter)
    found = flow(mesh, heads, k, seeps)
    assert found.inflow[bottom].sum() < 0 and balance(found) < 1e-7
    assert not np.any(pressure(mesh, found)[seeps] > 1e-9) and np.all(found.inflow[seeps] <= 0)
    assert np.nanmax(found.head[pressure(mesh, found) > 0]) <= np.nanmax(heads) + 1e-3  # six-node triangles overshoot a little in anisotropic ground
    assert np.all((found.saturation >= 0) & (found.saturation <= 1))


def test_drawdown_beside_a_pit_hardly_depends_on_the_mesh():
    into = [-flow(mesh, heads, k, seeps).inflow[bottom].sum() for mesh, k, heads, seeps, bottom in (pit(1, 0.8), pit(1, 0.3))]
    assert into[0] == pytest.approx(into[1], rel=0.02)


def test_water_drips_through_dry_ground_beneath_a_poor_layer():
    """Head 1 m on 2 m of poor ground over good ground that drains: it falls through the good ground without pressure, k (2 + 1) / 2 of the poor ground."""
    mesh, x, y = boxed_column()
    poor = mesh.centroids[:, 1] > 2.0
    found = flow(mesh, given(mesh, (y > 4.0 - 1e-9, 5.0), (y < 1e-9, 0.0)), np.where(poor[:, None], 0.01, 1.0) * np.ones(2))
    assert found.inflow[y > 4.0 - 1e-9].sum() == pytest.approx(6.0 * 0.01 * 1.5, rel=1e-6)
    assert pressure(mesh, found)[y <= 2.0 + 1e-9].max() < 1e-6
    assert found.saturation[~poor] == pytest.approx(0.015, rel=1e-4)


@pytest.mark.parametrize("leakage", [0.01, 1.0, 100.0])
def test_leaking_wall(leakage):
    mesh, x, y = boxed_column(walls=[(3.0, 0.0, 4.0)])
    found = flow(mesh, given(mesh, (x < 1e-9, 8.0), (x > 6.0 - 1e-9, 5.0)), leakage=leakage)
    assert found.inflow[x < 1e-9].sum() == pytest.approx(4.0 * 3.0 / (6.0 + 1 / leakage), rel=1e-9)


@pytest.mark.parametrize("side", [-1, 1])
@pytest.mark.parametrize("leakage", [0.01, 1.0, 100.0])
@pytest.mark.parametrize("level", [5.0, 11.0])
def test_leak_between_ground_and_free_water(side, leakage, level):
    """Two resistances one after the other, 6 m of ground and the wall; out of the ground or into it."""
    mesh, x, y = faced(side)
    found = leaking(mesh, given(mesh, (np.abs(x) > 6.0 - 1e-9, 8.0)), leakage, level)
    rate = (8.0 - level) / (6.0 + 1 / leakage)
    assert found.drips.sum() == pytest.approx(4.0 * rate, rel=1e-9)
    assert found.head == pytest.approx(level + rate * (1 / leakage + np.abs(x)), abs=1e-9)
    assert balance(found) < 1e-8


@pytest.mark.parametrize("side", [-1, 1])
@pytest.mark.parametrize("leakage", [0.01, 1.0, 100.0])
def test_drip_from_confined_ground(side, leakage):
    """The head 8 - (8 - y) s / (6 + 1 / leakage), s from the far end, given there, at top and bottom, keeps continuity and leaks in proportion to the pressure at each place."""
    mesh, x, y = faced(side)
    exact = 8.0 - (8.0 - y) * (6.0 - np.abs(x)) / (6.0 + 1 / leakage)
    found = leaking(mesh, given(mesh, ((np.abs(x) > 6.0 - 1e-9) | (y < 1e-9) | (y > 4.0 - 1e-9), 0.0)) + exact, leakage, -np.inf)
    assert found.head == pytest.approx(exact, abs=1e-9)
    ends = mesh.wall_points[mesh.segments[:, :2], 1]
    assert found.drips == pytest.approx((8.0 - ends.mean(axis=1)) * (ends[:, 0] - ends[:, 1]) / (6.0 + 1 / leakage), rel=1e-9)
    assert balance(found) < 1e-8


@pytest.mark.parametrize("side", [-1, 1])
@pytest.mark.parametrize("leakage, tail", [(0.01, 0.0), (0.1, 0.0), (0.1, 2.0), (1.0, 0.0), (1.0, 5.0), (100.0, 2.0)])
def test_dam_with_a_leaking_face(side, leakage, tail):
    """With a free surface what leaks is what the pressure heads before and behind the wall differ by, which the discharge fixes before it: (8^2 - tail^2) / 2 / (10 + 1 / leakage)."""
    mesh, x, y = faced(side, 10.0, 10.0, 0.3, [(0.0, tail)] * (tail > 0))
    found = leaking(mesh, given(mesh, ((np.abs(x) > 10.0 - 1e-9) & (y < 8.0 + 1e-9), 8.0)), leakage, tail if tail else -np.inf)
    assert found.drips.sum() == pytest.approx((8.0**2 - tail**2) / 2 / (10.0 + 1 / leakage), rel=0.01)
    assert np.all(found.drips[mesh.segment_levels[:, 1] > 8.0] == 0) and balance(found) < 1e-8
    if not tail:
        assert np.all(found.drips >= 0)  # no wall sucks air, as one with 0.1 would by the heads alone


@pytest.mark.parametrize("leakage, tail", [(0.01, 0.0), (1.0, 5.0), (100.0, 2.0)])
def test_well_behind_a_leaking_ring(leakage, tail):
    """As the dam, with the logarithm of the radius: pi (8^2 - tail^2) / (ln 20 + 1 / leakage) for a ring at a radius of 1 m."""
    marks, wall = [(well.REACH, well.HIGH)] + [(well.WELL, tail)] * (tail > 0), np.array([[well.WELL, 0.0, well.TOP]])
    mesh = plain_mesh((0.0, well.REACH, 0.0, well.TOP), 0.25, [(well.WELL, 0.0, well.TOP)], points=marks, walls=wall, keep=lambda c: c[:, 0] > well.WELL)
    x, y = mesh.points.T
    found = leaking(mesh, given(mesh, ((x > well.REACH - 1e-9) & (y < well.HIGH + 1e-9), well.HIGH)), leakage, tail if tail else -np.inf, about_axis=True)
    assert found.drips.sum() == pytest.approx(np.pi * (well.HIGH**2 - tail**2) / (np.log(well.REACH / well.WELL) + 1 / (well.WELL * leakage)), rel=0.01)
    assert balance(found) < 1e-8


def test_dry_ground_takes_what_leaks_into_it():
    """Free water of 3 m beyond a tight wall, ground that drains at its bottom: it falls down the face without pressure, leakage 3^2 / 2."""
    mesh, x, y = faced(1, points=[(0.0, 3.0)])
    found = leaking(mesh, given(mesh, (y < 1e-9, 0.0)), 0.01, 3.0)
    assert -found.drips.sum() == pytest.approx(0.01 * 4.5, rel=1e-9) and found.inflow.sum() == pytest.approx(-0.01 * 4.5, rel=1e-9)
    assert pressure(mesh, found).max() < 1e-6


def test_free_water_beyond_a_leak_fills_the_ground_and_air_does_not():
    mesh, x, y = faced(1, points=[(0.0, 3.0)])
    nothing = np.full(len(x), np.nan)
    filled, dry = leaking(mesh, nothing, 0.01, 3.0), leaking(mesh, nothing, 0.01, -np.inf)
    assert pressure(mesh, filled) == pytest.approx(np.maximum(3.0 - y, 0), abs=1e-6) and np.abs(filled.drips).max() < 1e-7
    assert np.all(np.isnan(dry.head)) and not np.any(dry.drips)


def test_nothing_passes_to_what_seals_a_wall():
    mesh, x, y = faced(1)
    heads = given(mesh, (x > 6.0 - 1e-9, 8.0))
    for found in (leaking(mesh, heads, 1.0, np.nan), flow(mesh, heads, leakage=1.0)):
        assert not np.any(found.drips) and found.head == pytest.approx(8.0, abs=1e-9)


@pytest.mark.parametrize("seed, scatter", [*((seed, 0.0) for seed in range(5)), *((seed, 1.5) for seed in range(8, 13))])
@pytest.mark.parametrize("leakage", [1e-3, 0.1])
def test_pits_behind_leaking_walls_settle(seed, scatter, leakage):
    mesh, k, heads, seeps, bottom = pit(seed, scatter=scatter)
    found, tight = leaking(mesh, heads, leakage, -np.inf, seeps, k), flow(mesh, heads, k, seeps)
    assert balance(found) < 1e-8 and np.all(found.drips >= 0)
    assert found.drips.sum() - found.inflow[bottom].sum() > -tight.inflow[bottom].sum()
    assert not np.any(pressure(mesh, found)[seeps] > 1e-9) and np.all(found.inflow[seeps] <= 0)


def test_walls_part_the_heads_only_where_they_stand():
    mesh, x, y = boxed_column(walls=[(3.0, 1.0, 4.0)])
    heads = given(mesh, (x < 1e-9, 8.0), (x > 6.0 - 1e-9, 5.0))
    gone, stands = flow(mesh, heads, standing=False), flow(mesh, heads)
    assert gone.head == pytest.approx(8.0 - 0.5 * x, abs=1e-9)
    faces = [beside(mesh, lambda c, s=s: s * (c[:, 0] - 3.0) > 0) & (np.abs(x - 3.0) < 1e-9) & (y > 3.0) for s in (-1, 1)]
    assert stands.head[faces[0]].min() > stands.head[faces[1]].max() + 0.5


def test_no_given_head_no_flow():
    mesh, x, y = boxed_column()
    nothing = flow(mesh, np.full(len(x), np.nan))
    assert np.all(np.isnan(nothing.head)) and not np.any(nothing.inflow) and not np.any(nothing.carries)
    assert np.all(np.isnan(stream_function(mesh, make_base(mesh).triangles, nothing)))
    assert np.all(np.isnan(outflow_gradient(mesh, nothing, np.ones((len(mesh.triangles), 2)), y > 0)))


def test_ground_cut_off_has_no_head():
    mesh, x, y = boxed_column(walls=[(3.0, 0.0, 4.0)])
    found = flow(mesh, given(mesh, (x < 1e-9, 3.3)))
    right = beside(mesh, lambda c: c[:, 0] > 3.0)
    assert np.all(np.isnan(found.head[right])) and pressure(mesh, found)[~right] == pytest.approx(np.maximum(3.3 - y[~right], 0), abs=1e-6)


def test_water_at_rest():
    mesh, x, y = boxed_column(walls=[(3.0, 1.0, 4.0)])
    found = flow(mesh, given(mesh, ((x < 1e-9) | (x > 6 - 1e-9), 3.3)), (1.0, 0.2), y > 4.0 - 1e-9)
    assert pressure(mesh, found) == pytest.approx(np.maximum(3.3 - y, 0), abs=1e-6)
    assert np.abs(found.inflow).max() < 1e-7 and np.abs(found.velocity).max() < 1e-6


def test_stream_function_grows_by_the_discharge():
    mesh, found = dam.solved((ONE, ONE), 2.0, 0.3)
    psi, (x, y) = stream_function(mesh, make_base(mesh).triangles, found), mesh.points.T
    left = x < 1e-9
    assert psi[left & (y == dam.TOP)][0] - psi[left & (y == 0)][0] == pytest.approx(dam.exact((ONE, ONE), 2.0), rel=0.01)
    assert np.ptp(psi[y == 0]) < 1e-2 * np.ptp(psi)


def test_exit_gradient_of_even_flow():
    mesh, x, y = boxed_column()
    k, top = np.tile([5.0, 0.3], (len(mesh.triangles), 1)), y > 4.0 - 1e-9
    found = flow(mesh, given(mesh, (y < 1e-9, 7.0), (top, 4.0)), k)
    assert outflow_gradient(mesh, found, k, top)[top] == pytest.approx(0.75, rel=1e-9)


@pytest.mark.parametrize("tail", [1.0, 3.0, 6.0])
@pytest.mark.parametrize("ground", [(ONE, ONE), ((0.1, 0.1), ONE), ((2.0, 0.5), (1.0, 3.0))])
def test_well(ground, tail):
    mesh, found, discharge = well.solved(ground, tail, 0.25)
    assert discharge == pytest.approx(well.exact(ground, tail), rel=0.01)
    assert balance(found) < 1e-8


def test_confined_well():
    """Heads by the logarithm of the radius; 1e-4 of the head for parabolas of a quarter of the radius."""
    mesh, found, discharge = well.solved((ONE, ONE), 0.0, 0.25, confined=True)
    assert found.head == pytest.approx(well.TOP + well.HIGH * np.log(mesh.points[:, 0] / well.WELL) / np.log(well.REACH / well.WELL), abs=1e-4 * well.HIGH)
    assert discharge == pytest.approx(well.exact_confined((ONE, ONE)), rel=1e-3)


@pytest.mark.parametrize("leakage, tail", [(0.01, 0.0), (1.0, 5.0), (100.0, 2.0)])
def test_well_in_a_leaking_ring(leakage, tail, monkeypatch):
    monkeypatch.setattr(well, "LEAKAGE", leakage)
    _, found, discharge = well.solved((ONE, ONE), tail, 0.25, leakage=leakage)
    assert discharge == pytest.approx(well.exact_through_ring(tail), rel=0.01)
    assert balance(found) < 1e-8


def test_even_flow_up_a_round_column():
    """Head, flow, exit gradient and Stokes's stream function, - pi r^2 v on the way out from the axis, which parabolas hold exactly but for the trace that holds its constant."""
    mesh, x, y = boxed_column()
    k, top = np.tile([5.0, 0.3], (len(mesh.triangles), 1)), y > 4.0 - 1e-9
    found = flow(mesh, given(mesh, (y < 1e-9, 7.0), (top, 4.0)), k, about_axis=True)
    assert found.head == pytest.approx(7.0 - 0.75 * y, abs=1e-9)
    assert found.inflow[top].sum() == pytest.approx(-np.pi * 36.0 * 0.3 * 0.75, rel=1e-9)
    gradient = outflow_gradient(mesh, found, k, top)
    assert gradient[top & (x > 1e-9)] == pytest.approx(0.75, rel=1e-6) and np.all(np.isnan(gradient[top & (x < 1e-9)]))
    psi = stream_function(mesh, make_base(mesh).triangles, found)
    assert psi - psi[np.argmin(np.hypot(x, y))] == pytest.approx(-np.pi * x**2 * 0.3 * 0.75, abs=1e-5)


def test_water_at_rest_about_an_axis():
    mesh, x, y = boxed_column(walls=[(3.0, 1.0, 4.0)])
    found = flow(mesh, given(mesh, (x > 6 - 1e-9, 3.3)), (1.0, 0.2), y > 4.0 - 1e-9, about_axis=True)
    assert pressure(mesh, found) == pytest.approx(np.maximum(3.3 - y, 0), abs=1e-6) and np.abs(found.inflow).max() < 1e-6


def test_ground_beyond_the_axis_is_an_error():
    mesh, x, _ = boxed_column()
    with pytest.raises(ValueError, match="reaches to x = -1 m"):
        flow(replace(mesh, points=mesh.points - [1.0, 0.0]), given(mesh, (x < 1e-9, 5.0)), about_axis=True)


def test_a_search_without_end_is_an_error(monkeypatch):
    monkeypatch.setattr(water, "ITERATIONS", 2)
    with pytest.raises(NoFreeSurface, match="free surface of the ground water was not found in 2 iterations.* places of the mesh") as caught:
        dam.solved((ONE, ONE), 2.0, 0.3)
    assert isinstance(caught.value, FesoilError)
