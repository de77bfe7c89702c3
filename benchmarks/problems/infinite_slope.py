"""Infinite slope: one strip of it, whose two ends move as one."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from benchmarks import sketch
from benchmarks.common import lattice, mesh_of, mohr_coulomb, one_material
from benchmarks.cuts import search
from benchmarks.problem import Answer, Graph, Problem, Row
from fesoil.elements.triangle import N_POINTS

BETA, PHI, C, GAMMA = 20.0, 25.0, 5.0, 18.0
"""Inclination and friction [deg], cohesion [kPa], unit weight [kN/m3]."""

DEPTHS = (1.5, 3.0, 6.0)
"""Vertical depths of the rough rock below the surface [m]."""

REASON = "closed form, less the last bracket of 0.2 %; 1 % above, since the ground slips half-way up the lowest cells rather than on the rock"


def factor(depth):
    """Safety factor of sliding on a plane at a vertical depth [m]."""
    beta = np.radians(BETA)
    return np.tan(np.radians(PHI)) / np.tan(beta) + C / (GAMMA * depth * np.sin(beta) * np.cos(beta))


def joined(mesh):
    """The mesh with its left and right end moving as one: to the solver they are the two faces of a wall that does not stand."""
    left, right = (np.flatnonzero(np.abs(mesh.points[:, 0] - x) < 1e-9) for x in mesh.box[:2])
    pieces = np.arange(0, len(left) - 1, 2)[:, None] + np.array([0, 2, 1])
    faces = [end[np.argsort(mesh.points[end, 1])][pieces] for end in (left, right)]
    return replace(mesh, segments=np.zeros(pieces.shape, int), faces=np.zeros((len(pieces), 2), int), face_nodes=np.stack(faces, axis=1))


def strip(depth, cells):
    """Search on a strip a quarter as wide as thick, turned level, with the weight turned instead; x runs down the slope."""
    thickness, beta = depth * np.cos(np.radians(BETA)), np.radians(BETA)
    points, triangles = lattice(cells // 4, cells)
    mesh = joined(mesh_of(points * thickness * np.array([0.25, 1.0]), triangles))
    on_rock = np.abs(mesh.points[:, 1]) < 1e-9
    model = one_material(mesh, mohr_coulomb(5e4, 0.3, PHI, PHI, C), np.column_stack([on_rock, on_rock]))
    density = np.full((len(triangles), N_POINTS, 1), GAMMA) * np.array([np.sin(beta), -np.cos(beta)])
    return search(model, model.base.triangles.body_force(density))


def run(h) -> Answer:
    """``h``: share of the thickness that a cell takes."""
    cells = round(1 / h)
    ours = [strip(depth, cells).factor for depth in DEPTHS]
    rows = [Row(f"safety factor, {depth:g} m deep", factor(depth), found, -0.002, 0.01, REASON) for depth, found in zip(DEPTHS, ours)]
    fine = np.linspace(DEPTHS[0] / 1.3, 1.3 * DEPTHS[-1], 40)
    return Answer(rows, cells**2 // 2, Graph("Depth [m]", "Safety factor", (("closed form", fine, factor(fine)),), (("fesoil", DEPTHS, ours),)))


def draw(ax):
    beta = np.radians(BETA)
    rock = np.array([[0.0, 0.0], [9 * np.cos(beta), -9 * np.sin(beta)]])
    surface = rock[::-1] + np.array([0.0, DEPTHS[1]])
    sketch.ground(ax, np.vstack([rock, surface]))
    sketch.wall(ax, *rock)
    middle = rock.mean(axis=0)
    sketch.measure(ax, middle, middle + np.array([0.0, DEPTHS[1]]), "depth")
    sketch.say(ax, 7.0, -4.0, "20 deg")


PROBLEM = Problem(
    "infinite slope", "Layer on rough rock at 20 deg, friction 25 deg, c = 5 kPa, 18 kN/m3, associated flow",
    "closed form: tan(phi) / tan(beta) + c / (gamma z sin(beta) cos(beta)), any textbook of soil mechanics",
    run, (1 / 8,), (1 / 8, 1 / 16, 1 / 32), draw,
)  # fmt: skip
