"""What the problems share: plain meshes, models of one material, and a driver for prescribed movement.

Units kN, m, kPa. Meshes here have their own local coordinates and usually no wall.
"""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from fesoil.elements import beam as line
from fesoil.elements.beam import make_beams
from fesoil.elements.joint import Joints
from fesoil.elements.triangle import N_POINTS, SIDES
from fesoil.mesh.order import elimination_rank
from fesoil.mesh.section import Plan, split_at_crossings
from fesoil.mesh.split import Mesh, open_walls
from fesoil.mesh.triangulate import triangulate_plan
from fesoil.result.state import State, blank_state
from fesoil.soils.ground import Ground
from fesoil.soils.mohr_coulomb import MohrCoulomb
from fesoil.solve.newton import equilibrate
from fesoil.solve.system import Base, Model, make_base, make_model

NONE = np.zeros(0)
NO_BEAMS = make_beams(np.zeros((0, 2)), np.zeros((0, 3), int), np.zeros((0, 3)), NONE)
NO_PAIRS = NONE.astype(int)
NO_JOINTS = Joints(NO_PAIRS, NO_PAIRS, np.zeros((0, 2)), NONE, np.zeros((0, 2)), NONE, NONE, NONE)
NO_WALLS = np.zeros((0, 3))


def lattice(nx: int, ny: int):
    """Lattice of the unit square, nx by ny cells of two triangles: points (n, 2) and six-node triangles (2 nx ny, 6)."""
    wide = 2 * nx + 1
    eta, xi = np.meshgrid(np.linspace(0, 1, 2 * ny + 1), np.linspace(0, 1, wide), indexing="ij")
    j, i = np.meshgrid(2 * np.arange(ny), 2 * np.arange(nx), indexing="ij")
    first = (wide * j + i).ravel()
    cell = first[:, None] + np.array([0, 1, 2]) + wide * np.arange(3)[:, None, None]  # (row, cell, column)
    at = lambda *places: np.column_stack([cell[r, :, c] for r, c in places])  # noqa: E731
    falling = [at((0, 0), (0, 2), (2, 0), (0, 1), (1, 1), (1, 0)), at((0, 2), (2, 2), (2, 0), (1, 2), (2, 1), (1, 1))]
    rising = [at((0, 0), (0, 2), (2, 2), (0, 1), (1, 2), (1, 1)), at((0, 0), (2, 2), (2, 0), (1, 1), (2, 1), (1, 0))]
    odd = ((i + j) // 2 % 2).ravel()[:, None] == 1
    triangles = np.concatenate([np.where(odd, r, f) for r, f in zip(rising, falling)])
    return np.column_stack([xi.ravel(), eta.ravel()]), triangles


def straightened(points, triangles):
    """Points with the middle nodes put half-way between the ends of their sides."""
    points = points.copy()
    for a, b, middle in SIDES:
        points[triangles[:, middle]] = (points[triangles[:, a]] + points[triangles[:, b]]) / 2
    return points


def box_of(points):
    """Left, right, bottom, top of points."""
    (left, bottom), (right, top) = points.min(axis=0), points.max(axis=0)
    return left, right, bottom, top


def mesh_of(points, triangles, walls=NO_WALLS, keep=None) -> Mesh:
    """Mesh of given points (n, 2) and six-node triangles (m, 6), opened along ``walls`` (rows x, toe, top)."""
    keep = np.ones(len(triangles), bool) if keep is None else keep
    return open_walls(np.zeros(2), box_of(points), 0.0, points, triangles, walls, keep, elimination_rank)


def plain_mesh(box, size, fine, lines=(), points=(), walls=NO_WALLS, keep=None) -> Mesh:
    """Graded mesh of a box (left, right, bottom, top).

    Parameters
    ----------
    size : float
        Size [m] at the places ``fine`` (rows x, bottom, top), from which it grows by a tenth of the distance.
    lines, points
        Further lines (x1, y1, x2, y2) and points (x, y) that the mesh must follow.
    walls
        Walls to open, rows x, toe, top.
    keep : callable or None
        From centroids (m, 2) to a mask of the triangles that are ground; the rest is left out.
    """
    left, right, bottom, top = box
    corners = [(left, bottom), (right, bottom), (right, top), (left, top)]
    outline = [(*a, *b) for a, b in zip(corners, corners[1:] + corners[:1])]
    upright = [(x, toe, x, head) for x, toe, head in walls]
    points = np.array(points, float).reshape(-1, 2)
    segments = split_at_crossings(np.array([*outline, *lines, *upright], float), points)
    nodes, triangles, _ = triangulate_plan(Plan(np.zeros(2), box, segments, points, np.array(fine, float), size))
    return mesh_of(nodes, triangles, np.asarray(walls, float), None if keep is None else keep(nodes[triangles[:, :3]].mean(axis=1)))


def mohr_coulomb(E, nu, phi, psi, c, t=np.inf):
    """Law by points: Mohr-Coulomb with angles in degrees, uniform."""
    return lambda points: MohrCoulomb(nu, np.radians(phi), np.radians(psi), *(np.full(len(points), float(v)) for v in (E, c, t)))


def one_material(mesh: Mesh, law, fixed, active=None) -> Model:
    """Model without walls: ``law`` from points (k, 2) to a law, ``fixed`` (n, 2) freedoms with prescribed movement."""
    base = make_base(mesh)
    active = np.ones(len(mesh.triangles), bool) if active is None else active
    places = base.triangles.points[active].reshape(-1, 2)
    ground = Ground(((np.arange(len(places)), law(places)),), len(places))
    standing = np.zeros(len(mesh.segments), bool)
    return make_model(base, active, ground, standing, NO_BEAMS, NO_JOINTS, NO_PAIRS, [], fixed)


def at_rest_in(model: Model, stress) -> State:
    """State of a model's ground that rests, unmoved, in the stress that ``stress`` gives at points (k, 2) as (k, 4); all triangles active."""
    return replace(blank_state(model.base.mesh), stress=model.ground.split(stress(model.triangles.points.reshape(-1, 2))))


def boxed(mesh: Mesh):
    """Fixed freedoms (n, 2): rollers on the sides, no movement at the bottom."""
    left, right, bottom, _ = mesh.box
    x, y = mesh.points.T
    fixed = np.zeros((len(x), 2), bool)
    fixed[:, 0] = (np.abs(x - left) < 1e-9) | (np.abs(x - right) < 1e-9)
    fixed[np.abs(y - bottom) < 1e-9] = True
    return fixed


def weight(base: Base, gamma):
    """Nodal forces (n, 2) of a unit weight [kN/m3]."""
    return base.triangles.body_force(np.full((len(base.mesh.triangles), N_POINTS, 1), gamma) * np.array([0.0, -1.0]))


def pressed(mesh: Mesh, on, pressure):
    """Nodal forces (n, 2) of a pressure [kPa] against outer sides, straight or curved, whose three nodes are all in the mask ``on`` (n,)."""
    outer = mesh.edges[:, 1] < 0
    nodes = mesh.triangles[mesh.edges[outer, 0][:, None], SIDES[mesh.edge_sides[outer, 0]]]
    nodes = nodes[np.all(on[nodes], axis=1)]
    along = np.einsum("gi,eid->egd", line.slopes(line.POINTS), mesh.points[nodes])
    inward = np.stack([-along[..., 1], along[..., 0]], axis=-1)  # the body is on the left of its sides
    force = np.zeros(mesh.points.shape)
    np.add.at(force, nodes, pressure * np.einsum("gi,egd->eid", line.shapes(line.POINTS), inward))
    return force


def no_wall_force(mesh: Mesh):
    return np.zeros((len(mesh.wall_points), 3))


def movement(model: Model, soil=None, wall=None):
    """Movements (n, 2) of soil and (b, 3) of wall nodes as a vector of the prescribed unknowns."""
    free, zero = model.unknowns.free, model.unknowns.zero
    vector = np.zeros(zero - free)
    for numbers, moves in ((model.unknowns.soil, soil), (model.unknowns.wall, wall)):
        if moves is not None:
            held = (numbers >= free) & (numbers < zero)
            vector[numbers[held] - free] = np.asarray(moves)[held]
    return vector


class Point(NamedTuple):
    """A point of a load-movement curve: share of the movement, value read, state, whether it is in equilibrium, and whether that took relaxation: at a wall held still it takes ground off its
    limit, so that the value lies inside it."""

    share: float
    value: float
    state: State
    converged: bool
    relaxed: bool


def push(model: Model, state: State, load, scale, move, shares, read, tolerance=1e-4, load_from=None, settled=0.0):
    """Apply a prescribed movement bit by bit and read a value after each; stops where equilibrium is lost, or on a plateau.

    Parameters
    ----------
    load : array (zero + 1,)
        Nodal forces at the end; ``load_from`` at the start, if another.
    move : array (zero - free,) or callable
        Whole movement, or the movement at a share; ``shares`` increasing shares of it, up to 1.
    read : callable
        From (state, forces (zero + 1,) that the model holds less the load) to a number.
    settled : float
        The plateau is reached when three steps on end change the value by less than this share of it.
    """
    curve, before = [], 0.0
    first = load if load_from is None else load_from
    moved = move if callable(move) else lambda share: share * move
    for share in shares:
        now = first + share * (load - first)
        outcome = equilibrate(model, state, now, scale, moved(share) - moved(before), tolerance=tolerance)
        state, before = outcome.state, share
        held = model.evaluate(state, np.zeros(len(load)), tangent=False).force - now
        curve.append(Point(share, float(read(state, held)), state, outcome.converged, outcome.effort.relaxations > 0))
        values = [p.value for p in curve[-4:]]
        if not outcome.converged or (len(values) == 4 and max(values) - min(values) < settled * abs(values[-1])):
            break
    return curve


def end_of(curve):
    """Value at the end of a curve; nan where equilibrium was lost."""
    return curve[-1].value if curve[-1].converged else np.nan


def flat_part(curve, part=1 / 3):
    """Largest over smallest value in the last ``part`` of a curve's movement; nan where equilibrium was lost.

    Where three points or more there were found without relaxation, theirs: the others lie inside the limit, one by more than another.
    """
    last = [p for p in curve if p.share > 1 - part + 1e-9]
    on_limit = [p.value for p in last if not p.relaxed]
    values = on_limit if len(on_limit) >= 3 else [p.value for p in last]
    return max(values) / min(values) if curve[-1].converged else np.nan
