"""Gravity turned on in elastic ground between smooth sides: settlement, and the at-rest stresses."""

from __future__ import annotations

import numpy as np

from benchmarks import sketch
from benchmarks.common import boxed, lattice, mesh_of, straightened, weight
from benchmarks.consistency import GAMMA, NU, M, furthest_off, held
from benchmarks.problem import Answer, Graph, Problem, Row
from fesoil.solve.system import make_base

HEIGHT, WIDTH = 10.0, 3.0
EXACT = "the movement is quadratic, which these triangles hold exactly; what remains is rounding"


def settlement(y):
    """Settlement [m] at a height above the base [m]."""
    return GAMMA * (HEIGHT * y - y**2 / 2) / M


def column(cells):
    """Column of triangles whose lattice is bent inside."""
    points, triangles = lattice(cells, 3 * cells)
    points = points + 0.05 * np.prod(np.sin(2 * np.pi * points), axis=1)[:, None]
    return mesh_of(straightened(points, triangles) * [WIDTH, HEIGHT], triangles)


def run(h) -> Answer:
    """``h``: share of the width that a cell takes."""
    mesh = column(round(1 / h))
    model, state = held(mesh, boxed(mesh), weight(make_base(mesh), GAMMA))
    y, down, stress = mesh.points[:, 1], -state.u[:, 1], state.stress[:, 0]
    vertical = -GAMMA * (HEIGHT - model.triangles.points[..., 1].ravel())
    rest = NU / (1 - NU)
    moved, known = np.column_stack([0 * y, -settlement(y)]), np.column_stack([rest * vertical, vertical, rest * vertical, 0 * vertical])
    rows = [
        Row("settlement of the top [m]", settlement(HEIGHT), down[np.isclose(y, HEIGHT)].mean(), -1e-9, 1e-9, EXACT),
        Row("movements: 1 + largest error over largest", 1.0, 1 + furthest_off(state.u, moved), -1e-15, 1e-9, EXACT),
        Row("stresses: 1 + largest error over largest", 1.0, 1 + furthest_off(stress, known), -1e-15, 1e-9, EXACT),
        Row("horizontal over vertical stress, where it is furthest off", rest, furthest(stress[:, 0] / stress[:, 1], rest), -1e-9, 1e-9, EXACT),
    ]
    fine = np.linspace(0, HEIGHT, 40)
    line, left = ("closed form", 1e3 * settlement(fine), fine), np.isclose(mesh.points[:, 0], 0)
    return Answer(rows, len(mesh.triangles), Graph("Settlement [mm]", "Height [m]", (line,), (("fesoil", 1e3 * down[left], y[left]),)))


def furthest(values, known):
    """The value furthest from the known one."""
    return values[np.argmax(np.abs(values - known))]


def draw(ax):
    sketch.box(ax, 0, WIDTH, 0, HEIGHT)
    sketch.arrow(ax, (WIDTH / 2, 7), (WIDTH / 2, 4), "weight")
    sketch.measure(ax, (-1, 0), (-1, HEIGHT), "10 m")
    ax.plot([0, WIDTH], [0, 0], color=sketch.INK, linewidth=2.0)


PROBLEM = Problem(
    "gravity column", "Weight of 20 kN/m3 turned on in 10 m of elastic ground (E = 20 MPa, nu = 0.3) between smooth sides",
    "one-dimensional elasticity, closed form", run, (1 / 2,), (1 / 2,), draw,
)  # fmt: skip
