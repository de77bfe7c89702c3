"""Thrust of the ground on a rigid wall that moves without turning: what the problems about it share."""

from __future__ import annotations

import numpy as np

from benchmarks import sketch, slip_lines
from benchmarks.common import (
    at_rest_in, boxed, flat_part, lattice, mesh_of, mohr_coulomb, movement, no_wall_force, one_material, plain_mesh, pressed, push, weight,
)
from benchmarks.problem import Answer, Graph, Row
from fesoil.elements.beam import make_beams
from fesoil.elements.joint import Joints, simpson
from fesoil.soils.ground import Ground
from fesoil.solve.system import make_base, make_model

H, GAMMA = 5.0, 20.0
"""Height of the wall [m] and unit weight [kN/m3]."""


def at_rest(points, ratio, surcharge=0.0):
    """Stress (k, 4) under level ground at y = 0 with an at-rest ratio."""
    return (GAMMA * points[:, 1:] - surcharge) * np.array([ratio, 1.0, ratio, 0.0])


def coefficient(curve):
    """Horizontal coefficients of the weight along a curve of thrust; nan where equilibrium was lost."""
    return np.array([2 * p.value / (GAMMA * H**2) if p.converged else np.nan for p in curve])


def lower_bound(phi, delta, passive=True):
    """Closed form of the horizontal coefficient; angles in degrees.

    The stress turns in a fan as under a surcharge, nowhere beyond the strength: a lower bound on the passive coefficient, an upper one on the active
    (Lancellotta 2002; the same as annex C of EN 1997-1:2004 for an upright wall and level ground; both from memory).
    """
    sign = 1 if passive else -1
    phi, delta = np.radians([phi, delta]) * sign
    wall = np.cos(delta) * (np.cos(delta) + sign * np.sqrt(np.sin(phi) ** 2 - np.sin(delta) ** 2)) / (1 - np.sin(phi))
    return wall * np.exp((np.arcsin(np.sin(delta) / np.sin(phi)) + delta) * np.tan(phi))


# ------------------------------------------------------------------------------------------------------------- smooth wall and base


def rankine(law, move, cells, ratio=0.5, steps=20):
    """Curve of the thrust [kN/m] on a smooth wall pushed into a block on a smooth base by ``move`` [m]."""
    points, triangles = lattice(*cells)
    mesh = mesh_of((points - [0, 1]) * [12.0, H], triangles)
    x, y = mesh.points.T
    fixed = np.column_stack([(np.abs(x) < 1e-9) | (np.abs(x - 12) < 1e-9), np.abs(y + H) < 1e-9])
    model = one_material(mesh, law, fixed)
    state = at_rest_in(model, lambda points: at_rest(points, ratio))
    load = model.reduce(weight(model.base, GAMMA), no_wall_force(mesh))
    numbers = np.unique(model.unknowns.soil[np.abs(x) < 1e-9, 0])
    pushed = movement(model, np.where((np.abs(x) < 1e-9)[:, None], [move, 0.0], 0.0))
    return push(model, state, load, GAMMA * H**2 / 2, pushed, np.linspace(0, 1, steps + 1)[1:], lambda _, f: f[numbers].sum())


# -------------------------------------------------------------------------------------------------------------------- rough wall


def rough_wall(friction, move, size, ratio=0.5, steps=40, E=2e5, law=None, settled=1e-3, adhesion=0.0, surcharge=0.0):
    """Curve of the thrust [kN/m] on a rigid wall of height H with joints (friction [deg], adhesion [kPa]), moved by ``move`` [m]; triangles.

    Joints by E [kPa]; associated sand of 30 deg with this E unless another law is given; ``surcharge`` [kPa] on the whole surface.
    The wall also takes what the side below its toe leaves at the toe's node: a sixth of that side's length more.
    """
    model = _behind_a_wall(size, law or mohr_coulomb(E, 0.3, 30, 30, 0.0), E / H, friction, adhesion)
    mesh = model.base.mesh
    state = at_rest_in(model, lambda points: at_rest(points, ratio, surcharge))
    state.gap[:, 1] = state.traction[:, 1, :, 0] = ratio * (GAMMA * mesh.wall_points[mesh.segments, 1] - surcharge)
    forces = weight(model.base, GAMMA) + pressed(mesh, np.abs(mesh.points[:, 1]) < 1e-9, surcharge)
    load = model.reduce(forces, no_wall_force(mesh))
    numbers = model.unknowns.wall[:, 0]
    moves = movement(model, wall=np.tile([move, 0.0, 0.0], (len(mesh.wall_points), 1)))
    shares = np.linspace(0, 1, steps + 1)[1:]
    scale = GAMMA * H**2 * (4.0 if move > 0 else 0.25)  # of the order of the thrust, so that what is out of balance does not show in it
    curve = push(model, state, load, scale, moves, shares, lambda _, f: f[numbers].sum(), settled=settled)
    return curve, len(mesh.triangles)


def pushed_by(move, size, phi, delta, psi=None, steps=16):
    """As ``rough_wall``, to the end of the movement, for sand of a friction, wall friction and dilation (associated when left out) [deg]."""
    E = 2e5
    return rough_wall(delta, move, size, steps=steps, E=E, law=mohr_coulomb(E, 0.3, phi, phi if psi is None else psi, 0.0), settled=0.0)


def _behind_a_wall(size, law, bedding, friction, adhesion):
    """Ground to the right of a rigid wall that is moved as a whole; joints by ``bedding`` [kN/m3]."""
    mesh = plain_mesh((0.0, 6 * H, -2 * H, 0.0), size, [(0.0, -H, -H), (0.0, 0.0, 0.0)], walls=np.array([[0.0, -H, 0.0]]))
    base, fixed, s = make_base(mesh), boxed(mesh), len(mesh.segments)
    fixed[(np.abs(mesh.points[:, 0]) < 1e-9) & (mesh.points[:, 1] > -H - 1e-9), 0] = False
    places = base.triangles.points.reshape(-1, 2)
    ground = Ground(((np.arange(len(places)), law(places)),), len(places))
    pairs = ((2 * np.arange(s) + 1)[:, None] * 3 + np.arange(3)).ravel()
    beams = make_beams(mesh.wall_points, mesh.segments, np.tile([1e7, 1e5, 1e6], (s, 1)), np.full(s, np.inf))
    everything = np.ones((len(mesh.wall_points), 3), bool)
    joints = _joints(mesh, bedding, friction, adhesion)
    return make_model(base, np.ones(len(mesh.triangles), bool), ground, np.ones(s, bool), beams, joints, pairs, [], fixed, everything)


def _joints(mesh, bedding, friction, adhesion):
    """Joints between the wall's right face and the ground, with 50 and 20 times the bedding [kN/m3] normal and along."""
    area = simpson(np.abs(np.diff(mesh.segment_levels, axis=1)).ravel()).ravel()
    each = np.ones(len(area))
    return Joints(
        mesh.face_nodes[:, 1].ravel(), mesh.segments.ravel(), np.outer(each, [1.0, 0.0]), area, np.outer(each, [50 * bedding, 20 * bedding]),
        adhesion * each, np.tan(np.radians(friction)) * each, 0 * each,
    )  # fmt: skip


def beside_slip_lines(h, cases, passive, move, steps, limits, reasons) -> Answer:
    """Coefficients of a rough wall beside slip lines and beside the closed form that bounds them, and how flat the curves end.

    Parameters
    ----------
    h : float
        Size of the triangles at the toe and at the top of the wall [m].
    cases : pairs of the sand's friction [deg] and the share of that angle on the wall.
    limits : share by which elements may err on the stiff side (up to 0.12 m, in proportion above), and on the other.
    reasons : why these limits, why the bound, why the flatness.
    """
    rows, levels, curves, triangles = [], [], {}, None
    stiff, other = limits[0] * max(1, h / 0.12), limits[1]
    for phi, share in cases:
        delta = share * phi
        name = f"phi {phi}, delta {delta:.3g}"
        curve, triangles = pushed_by(move, h, phi, delta, steps=steps)
        exact, bound = slip_lines.earth_pressure(phi, delta, passive), lower_bound(phi, delta, passive)
        low, high = (-other, stiff) if passive else (-stiff, other)
        curves[name] = coefficient(curve)
        rows.append(Row(f"{name}: coefficient", exact, curves[name][-1], low, high, reasons[0]))
        if delta:
            ends = (-0.002, exact * (1 + high) / bound - 1) if passive else (exact * (1 + low) / bound - 1, 0.002)
            rows.append(Row(f"{name}: beside the closed form", bound, curves[name][-1], *ends, reasons[1]))
        rows.append(Row(f"{name}: largest over smallest in the last third", 1.0, flat_part(curve), 0.0, 0.005, reasons[2]))
        levels.append(exact)
    return Answer(rows, triangles, against_movement(levels, curves, move))


# ------------------------------------------------------------------------------------------------------------------------ pictures


def against_movement(levels, curves, move=None, y="Coefficient"):
    """Graph of values (names to arrays) that come after even steps of a whole ``move`` [m], or its shares; and of their known limits ``levels``."""
    whole, x = (1.0, "Share of the wall's movement") if move is None else (1e3 * abs(move), "Movement of the wall [mm]")
    known = np.array([(0.0, level, whole, level, np.nan, np.nan) for level in levels]).reshape(-1, 2)
    marks = tuple((name, np.linspace(0, whole, len(v) + 1)[1:], v) for name, v in curves.items())
    return Graph(x, y, (("known limit", *known.T),), marks)


def draw(ax, passive=True, words="", surcharge=False):
    """Ground behind the wall, which goes into it or away from it."""
    sketch.box(ax, 0, 2.2 * H, -1.6 * H, 0)
    sketch.wall(ax, (0, -H), (0, 0))
    sketch.arrow(ax, *((-2.4, -H / 2), (-0.3, -H / 2))[:: 1 if passive else -1])
    sketch.measure(ax, (-3.2, -H), (-3.2, 0), f"{H:g} m")
    sketch.say(ax, 1.2 * H, -0.8 * H, words)
    if surcharge:
        sketch.pressure(ax, 0.2, 2.2 * H, 0, 1.0, "q")
