"""Active and passive thrust of dry sand on a wall that moves without turning."""

from __future__ import annotations

import numpy as np

from benchmarks.common import (
    FULL, Problem, Row, at_rest_in, boxed, lattice, mesh_of, mohr_coulomb, movement, no_wall_force, one_material, plain_mesh, push, weight,
)
from benchmarks.slip_lines import earth_pressure
from fesoil.elements.beam import make_beams
from fesoil.elements.joint import Joints, simpson
from fesoil.soils.ground import Ground
from fesoil.solve.system import make_base, make_model

H, GAMMA = 5.0, 20.0


def at_rest(points, ratio):
    """Stress (k, 4) under level ground at y = 0 with an at-rest ratio."""
    return GAMMA * points[:, 1:] * np.array([ratio, 1.0, ratio, 0.0])


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


def rankine_rows(size):
    rows, K = [], 3.0
    for name, sign, psi, cells, move in (("passive", 1, 0.0, (10, 4), 0.3), ("active", -1, 10.0, (6, 3), -0.05)):
        for c in (0.0, 10.0):
            expected = GAMMA * H**2 / 2 * K**sign + sign * 2 * c * H * np.sqrt(K**sign)
            end = rankine(mohr_coulomb(5e4, 0.3, 30, psi, c), move, cells)[-1]
            reason = "the whole block yields; two per cent is what a designer may expect"
            rows.append(Row(f"{name} thrust, c = {c:.0f} kPa [kN/m]", expected, end.value if end.converged else np.nan, -0.02, 0.02, reason))
    return rows


# -------------------------------------------------------------------------------------------------------------------- rough wall


def rough_wall(friction, move, size, ratio=0.5, steps=40, E=2e5, law=None, settled=1e-3):
    """Curve of the thrust [kN/m] on a rigid wall of height H with joints (friction [deg]), moved by ``move`` [m]; joints by E [kPa].

    Associated sand of 30 deg with this E unless another law is given.
    """
    wall = np.array([[0.0, -H, 0.0]])
    mesh = plain_mesh((0.0, 6 * H, -2 * H, 0.0), size, [(0.0, -H, -H)], walls=wall)
    base, fixed = make_base(mesh), boxed(mesh)
    fixed[(np.abs(mesh.points[:, 0]) < 1e-9) & (mesh.points[:, 1] > -H - 1e-9), 0] = False
    places = base.triangles.points.reshape(-1, 2)
    law = law or mohr_coulomb(E, 0.3, 30, 30, 0.0)
    ground = Ground(((np.arange(len(places)), law(places)),), len(places))
    s = len(mesh.segments)
    area = simpson(np.abs(np.diff(mesh.segment_levels, axis=1)).ravel()).ravel()
    n = len(area)
    stiffness = np.tile([50 * E / H, 20 * E / H], (n, 1))
    joints = Joints(
        mesh.face_nodes[:, 1].ravel(), mesh.segments.ravel(), np.tile([1.0, 0.0], (n, 1)), area, stiffness, np.zeros(n),
        np.full(n, np.tan(np.radians(friction))), np.zeros(n),
    )
    pairs = ((2 * np.arange(s) + 1)[:, None] * 3 + np.arange(3)).ravel()
    beams = make_beams(mesh.wall_points, mesh.segments, np.tile([1e7, 1e5, 1e6], (s, 1)), np.full(s, np.inf))
    everything = np.ones((len(mesh.wall_points), 3), bool)
    model = make_model(base, np.ones(len(mesh.triangles), bool), ground, np.ones(s, bool), beams, joints, pairs, [], fixed, everything)
    state = at_rest_in(model, lambda points: at_rest(points, ratio))
    state.gap[:, 1] = state.traction[:, 1, :, 0] = ratio * GAMMA * mesh.wall_points[mesh.segments, 1]
    load = model.reduce(weight(base, GAMMA), no_wall_force(mesh))
    numbers = model.unknowns.wall[:, 0]
    moves = movement(model, wall=np.tile([move, 0.0, 0.0], (len(mesh.wall_points), 1)))
    shares = np.linspace(0, 1, steps + 1)[1:]
    curve = push(model, state, load, GAMMA * H**2 * 2, moves, shares, lambda _, f: f[numbers].sum(), settled=settled)
    return curve, len(mesh.triangles)


def rough_rows(size):
    rows, sizes = [], (0.12, 0.05) if size == FULL else (0.12,)
    for h in sizes:
        for name, passive, move, low, high in (("passive", True, 0.06, -0.01, 0.04), ("active", False, -0.006, -0.03, 0.03)):
            curve, n = rough_wall(20.0, move, h)
            expected = earth_pressure(30, 20, passive)
            end = curve[-1]
            found = 2 * end.value / (GAMMA * H**2) if end.converged else np.nan
            rows.append(Row(
                f"{name} coefficient, {n} triangles", expected, found, low, high,
                "associated, so the limit is unique; displacement elements err on the stiff side",
            ))
    return rows


PROBLEMS = (
    Problem("smooth wall", "Wall of 5 m, smooth, on a smooth base; friction 30 deg, 20 kN/m3", "Rankine's states, closed form", rankine_rows),
    Problem(
        "rough wall", "Rigid wall of 5 m in sand of 30 deg, wall friction 20 deg, moved without turning; horizontal coefficient of the thrust",
        "slip lines for self-weight computed for the project (slip_lines.py): 4.939 passive, 0.2827 active; tables about 4.98 (from memory)",
        rough_rows,
    ),
)
