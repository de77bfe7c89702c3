"""Steady flow of ground water by finite elements: heads at the nodes of the mesh, with the free surface and seepage faces.

Darcy's law and continuity with h = y + p: the pressure head p >= 0 and the saturation S <= 1 take turns, p (1 - S) = 0, in div(k grad p + k S grad y) = 0
(Brezis, Kinderlehrer and Stampacchia 1978; Alt 1980; both from memory). No water is held by suction. Two steps:

1. Where the water stands. Each six-node triangle is cut into four linear ones. A node is wet (S = 1, p unknown) or dry (p = 0, S unknown); where water may seep
   out p = 0, and the node lets water out or is dry. Newton's method on these piecewise linear equations, from wet ground, is exact once the sets stay.
2. The heads. Six-node triangles with the share S of their permeability that the first step found: as accurate as the triangles, and exact for water at rest.

Standing walls part the heads of their two faces; a leaking one lets water through in proportion to the difference of head, also between ground on one face and air or free water on the other.

The section is that of a metre run, or one half of a body of revolution about x = 0: then each piece of it counts by its way round the axis, 2 pi x.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from scipy import sparse
from scipy.sparse.csgraph import connected_components

from fesoil.elements.joint import simpson
from fesoil.elements.triangle import N_POINTS, POINTS, SIDES, Triangles, gradients
from fesoil.errors import NoFreeSurface
from fesoil.linear import Singular, solve
from fesoil.mesh.split import Mesh, sharing
from fesoil.water.leaks import Leaks, leaks_of, summed

ITERATIONS = 100
"""Most iterations of the search for the free surface; common ones take 2 to 13."""

CALM = 15
"""Iteration from which only the nodes that are most wrong turn, so that sets which turn back and forth settle."""

TIE = 1e-9
"""Pressure head [m] or saturation by which a node must be wrong to turn dry or wet."""

LEVEL = 1e-6
"""Height [m] by which a node may lie above a given head and still hold it: levels of the mesh are rounded."""

TRACE = 1e-9
"""Share of the permeability that dry ground keeps, only so that every node has a head."""

PARTS = np.array([[0, 3, 5], [3, 1, 4], [5, 4, 2], [3, 4, 5]])
"""Local nodes of the four linear triangles in a six-node one; the first three hold an integration point each."""


@dataclass(frozen=True)
class Flow:
    """Steady flow.

    ``head`` (n,) [m] at soil nodes, nan where no ground carries water or no given head reaches; no higher than the node where it is dry. ``inflow`` (n,) [m3/s per m] that
    enters the ground at a node, negative where water leaves, but for ``drips`` (s,) [m3/s per m], what leaves the ground through pieces of wall with ground on one face only, negative where it
    enters. ``saturation`` (m, 3) and ``velocity`` (m, 3, 2) [m/s] (Darcy's) at the integration points, zero in dry
    ground; ``carries`` (m,) triangles with a head; ``leader`` (n,) of copies that share a head: the inflow stands at it; ``iterations`` of the search. With ``about_axis``
    inflow and drips are those of the whole circle [m3/s].
    """

    head: np.ndarray
    inflow: np.ndarray
    drips: np.ndarray
    saturation: np.ndarray
    velocity: np.ndarray
    carries: np.ndarray
    leader: np.ndarray
    iterations: int
    about_axis: bool = False

    @property
    def enters(self) -> float:
        """All that enters the ground [m3/s per m, of the whole circle m3/s]."""
        return float(np.maximum(self.inflow, 0.0).sum() + np.maximum(-self.drips, 0.0).sum())

    @property
    def balance(self) -> float:
        """What enters less what leaves, over what enters; 0 without flow."""
        return abs(float(self.inflow.sum() - self.drips.sum())) / self.enters if self.enters else 0.0


def steady(mesh: Mesh, triangles: Triangles, k, standing, fixed, may_seep, leakage=None, about_axis=False, beyond=None) -> Flow:
    """Steady flow.

    Parameters
    ----------
    k : (m, 2) permeability of each triangle along x and y [m/s]; zero where it carries no water.
    standing : (s,) pieces of wall that part the heads.
    fixed : (n,) given heads [m], in the mesh's own levels; nan where there is none. One below its node counts for none: no water stands there.
    may_seep : (n,) nodes at which water may leave the ground at no pressure.
    leakage : (s,) flow through each square metre of a piece of wall for each metre of difference in head [1/s]; none when left out.
    about_axis : bool
        The line x = 0 of the mesh is an axis of revolution; k along x is radial.
    beyond : (s, 2) levels of free water on the left and right face of each piece of wall [m], in the mesh's own levels: minus infinity for air, nan where nothing passes. They count on faces without
        ground that carries water; when left out nothing passes there.

    Raises
    ------
    NoFreeSurface
        Where the search for the free surface finds no end.
    ValueError
        Where a node lies on the far side of the axis.
    """
    if about_axis and mesh.points[:, 0].min() < -LEVEL:
        raise ValueError(f"the axis of revolution is x = 0, but the mesh reaches to x = {mesh.points[:, 0].min():g} m")
    system = _system(mesh, triangles, k, standing, fixed, may_seep, leakage, about_axis, beyond)
    if not len(system.level):
        return _on_mesh(mesh, system, np.zeros((0, N_POINTS)), np.zeros(0), np.zeros(0), np.zeros(len(standing)), 0)
    water = _find_water(system)
    head, inflow, pressure = _heads(system, water)
    drips = system.leaks.drips(pressure, len(standing))
    return _on_mesh(mesh, system, water.saturation, np.where(water.wet, head, np.minimum(head, system.level)), inflow, drips, water.iterations)


@dataclass(frozen=True)
class _System:
    """Ground that a given head reaches, in unknowns u: one for each place, two where a wall parts it.

    ``leader`` (n,) of each soil node; ``used`` (u,) soil nodes of the unknowns; ``level`` (u,); ``order`` (u,) of elimination; ``pressure`` (u,) given pressure heads, nan for
    none; ``seeps`` (u,); ``chosen`` (c,) triangles, ``nodes`` (c, 6) their unknowns, ``corners`` (c, 6, 2) their places; ``k`` (c, 2); ``slope`` (c, 3, 2, 6) of the shape
    functions, ``weight`` (c, 3) area of the points, times their way round the axis if there is one; ``leaks`` at the unknowns, ``walls`` (u, u) from pressure heads to what they let out
    of the ground at each, but for ``fed`` (u,) by free water on their other face; ``about_axis``.
    """

    leader: np.ndarray
    used: np.ndarray
    level: np.ndarray
    order: np.ndarray
    pressure: np.ndarray
    seeps: np.ndarray
    chosen: np.ndarray
    nodes: np.ndarray
    corners: np.ndarray
    k: np.ndarray
    slope: np.ndarray
    weight: np.ndarray
    leaks: Leaks
    walls: sparse.csr_matrix
    fed: np.ndarray
    about_axis: bool

    def solve(self, K, rhs, free):
        """Values (u,) of the unknowns in the mask ``free`` from their equations, zero at the others."""
        order, values = self.order[free[self.order]], np.zeros(len(rhs))
        if len(order):
            values[order] = solve(K[order][:, order].tocsc(), rhs[order])
        return values


def _around(x, about_axis):
    """Way round the axis [m] at distances x [m] from it, 1 where there is none."""
    return 2 * np.pi * x if about_axis else np.ones_like(x)


def _system(mesh: Mesh, triangles: Triangles, k, standing, fixed, may_seep, leakage, about_axis, beyond) -> _System:
    leader, carries = sharing(mesh, standing), np.all(k > 0, axis=1)
    leaks = leaks_of(mesh, carries, standing, leakage, beyond, _around(mesh.points[:, 0], about_axis))
    pressure = fixed - mesh.points[:, 1]
    given = pressure >= -LEVEL
    sources = np.concatenate([leader[given], leader[leaks.node[leaks.beyond > 0]]])
    chosen = np.flatnonzero(carries)[_reached(leader[mesh.triangles[carries]], leader[leaks.pairs], sources, len(leader))]
    used, nodes = np.unique(leader[mesh.triangles[chosen]], return_inverse=True)
    number = np.full(len(leader), -1)
    number[used] = np.arange(len(used))
    unknown, u, some = number[leader], len(used), triangles.subset(chosen)
    there = unknown >= 0
    held, seeps = np.full(u, -np.inf), np.zeros(u, bool)
    np.maximum.at(held, unknown[there & given], np.maximum(pressure[there & given], 0.0))
    seeps[unknown[there & may_seep]] = True
    held[~np.isfinite(held)] = np.nan
    leaks = leaks.at(unknown)
    return _System(
        leader, used, mesh.points[used, 1], np.argsort(mesh.rank[used], kind="stable"), held, seeps & np.isnan(held), chosen, nodes.reshape(-1, 6),
        mesh.points[mesh.triangles[chosen]], k[chosen], np.einsum("ekab,kai->ekbi", some.inverse, gradients(POINTS)),
        some.weight * _around(some.points[..., 0], about_axis), leaks, _wall_matrix(leaks, u), summed(leaks.node, leaks.out * leaks.beyond, u), about_axis,
    )  # fmt: skip


def _wall_matrix(leaks: Leaks, u):
    """Matrix (u, u) from pressure heads to what leaves the ground at each unknown through leaking walls."""
    across = _assembled(leaks.pairs, leaks.through[:, None, None] * np.array([[1.0, -1.0], [-1.0, 1.0]]), u)
    return across + sparse.diags_array(summed(leaks.node, leaks.out, u))


def _reached(nodes, pairs, sources, n):
    """Which triangles with nodes (c, 6) are joined, by others or by leaking walls, to one of the nodes ``sources``, at which water can come in."""
    a, b = np.concatenate([np.repeat(nodes[:, 0], 5), pairs[:, 0]]), np.concatenate([nodes[:, 1:].ravel(), pairs[:, 1]])
    _, label = connected_components(sparse.coo_matrix((np.ones(len(a), bool), (a, b)), shape=(n, n)), directed=False)
    return np.isin(label[nodes[:, 0]], label[sources])


def _assembled(nodes, blocks, u):
    """Sum of blocks (e, i, i) of elements with nodes (e, i) as a matrix (u, u)."""
    size = nodes.shape[1]
    rows, columns = np.repeat(nodes, size, axis=1), np.tile(nodes, (1, size))
    return sparse.csr_matrix((blocks.ravel(), (rows.ravel(), columns.ravel())), shape=(u, u))


def _linear_blocks(corners, k, about_axis):
    """Conductivity (4 c, 3, 3) of the linear triangles in six-node ones with places (c, 6, 2) and permeability (c, 2)."""
    p = corners[:, PARTS].reshape(-1, 3, 2)
    facing = p[:, [2, 0, 1]] - p[:, [1, 2, 0]]
    area = (facing[:, 0, 0] * facing[:, 1, 1] - facing[:, 0, 1] * facing[:, 1, 0]) / 2
    slope = np.stack([-facing[..., 1], facing[..., 0]], axis=1) / (2 * area[:, None, None])
    return np.einsum("e,ed,edi,edj->eij", area * _around(p[..., 0].mean(axis=1), about_axis), np.repeat(k, len(PARTS), axis=0), slope, slope)


def _falling(system: _System, parts, blocks):
    """Water that falls by its weight through linear triangles with nodes (e, 3) and conductivity (e, 3, 3): matrix (u, u) from saturations to what flows out of each node, and
    the shares (e, 3) of its nodes in the saturation of a triangle.

    A node hands its water down: what leaves an upper node of a triangle with that node's saturation arrives at the lower ones in the proportion of saturated ground. Then all
    that leaves arrives, no node takes from a lower one, and the sets of wet and dry nodes settle.
    """
    out = np.einsum("eij,ej->ei", blocks, system.level[parts])
    leaves, arrives = np.maximum(out, 0), np.maximum(-out, 0)
    total = leaves.sum(axis=1, keepdims=True)
    share = np.divide(leaves, total, out=np.full_like(leaves, 1 / 3), where=total > 0)
    handed = leaves[:, :, None] * np.eye(3) - arrives[:, :, None] * share[:, None, :]
    return _assembled(parts, handed, len(system.level)), share


class _Water(NamedTuple):
    """Where the water stands: ``wet`` nodes (u,), which may have a pressure; ``drains`` (u,) seepage nodes that let water out; ``saturation`` (c, 3) of integration points."""

    wet: np.ndarray
    drains: np.ndarray
    saturation: np.ndarray
    iterations: int


def _find_water(system: _System) -> _Water:
    """Step 1."""
    parts, blocks, u = system.nodes[:, PARTS].reshape(-1, 3), _linear_blocks(system.corners, system.k, system.about_axis), len(system.level)
    pressing = _assembled(parts, blocks, u) + system.walls
    falls, share = _falling(system, parts, blocks)
    size, free = pressing.diagonal(), np.isnan(system.pressure)
    constant = pressing @ np.where(free, 0.0, system.pressure) + falls @ np.ones(u) - system.fed
    pass_on = falls + sparse.diags_array(1e-3 * TRACE * size)  # the trace: a node with nothing beneath it hands nothing down
    let_out, keep = system.seeps * size, sparse.diags_array((~system.seeps).astype(float))
    when_wet = pressing @ keep + sparse.diags_array(let_out)
    wet = np.ones(u, bool)
    for iteration in range(1, ITERATIONS + 1):
        # by node: pressure head where wet, outflow over its conductivity where wet and seeping, saturation less one where dry
        value = _try(system, when_wet @ sparse.diags_array(wet * 1.0) + pass_on @ sparse.diags_array(~wet * 1.0), -constant, free)
        turned = np.where(wet, value < -TIE, value > TIE)
        if not np.any(turned):
            saturation = (share * np.where(wet, 1.0, 1.0 + value)[parts]).sum(axis=1).reshape(-1, len(PARTS))
            return _Water(wet & ~system.seeps, wet & system.seeps & (value > TIE), _at_points(np.clip(saturation, 0.0, 1.0)), iteration)
        wrong = np.abs(value) * turned
        wet ^= turned if iteration < CALM else wrong > wrong.max() / 10
    raise NoFreeSurface(
        f"the free surface of the ground water was not found in {ITERATIONS} iterations: the ground at {np.count_nonzero(turned)} places of the mesh turns wet and dry in "
        "turn; try a finer mesh there, or less contrast between the permeabilities"
    )


def _try(system: _System, K, rhs, free):
    try:
        return system.solve(K, rhs, free)
    except Singular as fault:
        raise NoFreeSurface("the flow of ground water has no single solution: is there water that no given head reaches, or do permeabilities differ by too many powers of ten?") from fault


def _at_points(saturation):
    """Saturation (c, 3) at the integration points from that of the linear triangles (c, 4): the one around a point, with a third of the middle one."""
    return 0.75 * saturation[:, :N_POINTS] + 0.25 * saturation[:, N_POINTS:]


def _heads(system: _System, water: _Water):
    """Step 2: heads, inflow but for that by leaks from free space, and pressure heads on the faces of walls (u,), by six-node triangles.

    Seepage nodes that would draw water in are closed; so are nodes at which a wall would suck air.
    """
    ground = _assembled(system.nodes, _quadratic_blocks(system, np.maximum(water.saturation, TRACE)), len(system.level))
    drains, wet, bare = water.drains, water.wet, np.isin(np.arange(len(system.level)), system.leaks.node)
    while True:
        held = np.where(drains, 0.0, system.pressure) + system.level
        free = np.isnan(held)
        head = np.where(free, 0.0, held)
        K = (ground + system.walls @ sparse.diags_array(wet * 1.0)).tocsr()
        drip = -system.walls @ (wet * system.level) - system.fed  # on the dry face of a leaking wall there is no pressure, however the water runs off
        head += _try(system, K, -drip - K @ head, free)
        inflow = np.where(free, 0.0, K @ head + drip)
        draws, sucks = drains & (inflow > 0), wet & bare & (head < system.level)
        if not np.any(draws | sucks):
            return head, inflow, np.where(wet, head - system.level, 0.0)
        drains, wet = drains & ~draws, wet & ~sucks


def _quadratic_blocks(system: _System, share):
    """Conductivity (c, 6, 6) of the six-node triangles with a share (c, 3) of the permeability at their points."""
    weight = (system.weight * share)[..., None] * system.k[:, None]
    return np.einsum("ekd,ekdi,ekdj->eij", weight, system.slope, system.slope, optimize=True)


def _on_mesh(mesh: Mesh, system: _System, saturation, head, inflow, drips, iterations) -> Flow:
    """Result on the whole mesh."""
    n, m = len(mesh.points), len(mesh.triangles)
    heads, into, wet, velocity, carries = np.full(n, np.nan), np.zeros(n), np.zeros((m, N_POINTS)), np.zeros((m, N_POINTS, 2)), np.zeros(m, bool)
    heads[system.used], into[system.used], wet[system.chosen], carries[system.chosen] = head, inflow, saturation, True
    velocity[system.chosen] = -saturation[..., None] * system.k[:, None] * np.einsum("ekdi,ei->ekd", system.slope, head[system.nodes], optimize=True)
    return Flow(heads[system.leader], into, drips, wet, velocity, carries, system.leader, iterations, system.about_axis)


def outflow_gradient(mesh: Mesh, flow: Flow, k, where):
    """Hydraulic gradient (n,) with which water leaves the ground across sides whose three nodes are all in the mask ``where`` (n,); nan elsewhere and on an axis of revolution, negative
    where it enters.

    What leaves at a node over its share of the sides' length and the permeability ``k`` (m, 2) across them: beside a wall far more accurate than the gradient in a triangle.
    """
    nodes, triangle = _outer_sides(mesh, flow.carries, where)
    along = mesh.points[nodes[:, 1]] - mesh.points[nodes[:, 0]]
    length = np.linalg.norm(along, axis=1)
    across = (k[triangle] * (along[:, ::-1] / length[:, None]) ** 2).sum(axis=1)
    passes = np.bincount(flow.leader[nodes].ravel(), (simpson(length * across) * _around(mesh.points[nodes, 0], flow.about_axis)).ravel(), len(mesh.points))
    return np.where(passes > 0, -flow.inflow / np.where(passes > 0, passes, 1.0), np.nan)[flow.leader]


def _outer_sides(mesh: Mesh, carries, where):
    """Sides of the ground that carries water, nodes (j, 3) all in the mask ``where``, and the triangle (j,) at each."""
    inside = (mesh.edges >= 0) & carries[mesh.edges]
    outer = np.flatnonzero(inside.sum(axis=1) == 1)
    which = inside[outer].argmax(axis=1)
    triangle = mesh.edges[outer, which]
    nodes = mesh.triangles[triangle[:, None], SIDES[mesh.edge_sides[outer, which]]]
    chosen = np.all(where[nodes], axis=1)
    return nodes[chosen], triangle[chosen]


def stream_function(mesh: Mesh, triangles: Triangles, flow: Flow):
    """Stream function (n,) [m2/s, of the whole circle m3/s], nan where no water is carried: on any way it grows by what flows across the way from its left to its right, and lines
    of equal value are flow lines.

    The one whose slope is nearest to the velocity turned by a right angle (least squares over the triangles), known but for a constant. Not for ground with wells in it.
    """
    result = np.full(len(mesh.points), np.nan)
    if not np.any(flow.carries):
        return result
    used, nodes = np.unique(flow.leader[mesh.triangles[flow.carries]], return_inverse=True)
    nodes, some, velocity = nodes.reshape(-1, 6), triangles.subset(flow.carries), flow.velocity[flow.carries]
    slope = np.einsum("ekab,kai->ekbi", some.inverse, gradients(POINTS))
    turned = np.stack([-velocity[..., 1], velocity[..., 0]], axis=-1) * _around(some.points[..., :1], flow.about_axis)
    K = _assembled(nodes, np.einsum("ek,ekdi,ekdj->eij", some.weight, slope, slope, optimize=True), len(used))
    K = K + sparse.diags_array(TRACE * K.diagonal())  # holds the constant
    rhs = np.bincount(nodes.ravel(), np.einsum("ek,ekdi,ekd->ei", some.weight, slope, turned, optimize=True).ravel(), len(used))
    order, values = np.argsort(mesh.rank[used], kind="stable"), np.zeros(len(used))
    values[order] = solve(K[order][:, order].tocsc(), rhs[order])
    result[used] = values
    return result[flow.leader]
