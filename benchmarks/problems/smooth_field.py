"""A smooth movement kept up by a body force: errors of movements and strains fall with the third and the second power of the mesh size."""

from __future__ import annotations

import numpy as np

from benchmarks import sketch
from benchmarks.common import lattice, mesh_of, straightened
from benchmarks.consistency import LAME, G, border, held
from benchmarks.problem import Answer, Graph, Problem, Row, order
from fesoil.elements.triangle import gradients, shapes
from fesoil.solve.system import make_base

SIZE = 1e-3
"""Amplitude of the movement [m]."""

FINE = np.array([(i + k / 3, j + k / 3) for k in (1, 2) for i in range(4) for j in range(5 - k - i)]) / 4
"""Centres of the sixteen equal parts of a triangle, at which errors are summed up."""

MOVED = "at most (size of a cell)^3 / 2: twice the error of quadratic interpolation of a half sine wave"
STRAINED = "at most 1.7 (size of a cell)^2: twice the error of the slope of quadratic interpolation"
ORDER = "theory: 3 for movements, 2 for strains; 0.2 less while meshes are coarse, a tenth more where some places are better than the rest"


def movement(x, y):
    """Movement (2, ...) [m] at places of the unit square."""
    return SIZE * np.array([np.sin(np.pi * x) * np.cos(np.pi * y / 2), np.cos(np.pi * x / 2) * np.sin(np.pi * y)])


def slopes(x, y):
    """Derivatives (2, 2, ...) of the movement (first index) by x and by y."""
    p, half = np.pi, np.pi / 2
    by_x = [p * np.cos(p * x) * np.cos(half * y), -half * np.sin(half * x) * np.sin(p * y)]
    by_y = [-half * np.sin(p * x) * np.sin(half * y), p * np.cos(half * x) * np.cos(p * y)]
    return SIZE * np.stack([by_x, by_y], axis=1)


def body_force(x, y):
    """Body force (..., 2) [kN/m3]: - (lame + G) grad div u - G laplace u."""
    p, half, u = np.pi, np.pi / 2, movement(x, y)
    mixed = -SIZE * p * half * np.array([np.sin(half * x) * np.cos(p * y), np.cos(p * x) * np.sin(half * y)])  # d2/dx dy of the other movement
    along = -(p**2) * u  # second derivative along the movement itself
    return -np.moveaxis((LAME + G) * (along + mixed) - G * (p**2 + half**2) * u, 0, -1)


def skewed(cells):
    """Straight-sided triangles on the unit square, whose lattice is bent inside."""
    points, triangles = lattice(cells, cells)
    points = points + 0.03 * np.prod(np.sin(2 * np.pi * points), axis=1)[:, None]
    return mesh_of(straightened(points, triangles), triangles)


def solved(mesh):
    """Triangles and movements (n, 2) [m] with the exact movement on the border."""
    triangles, on = make_base(mesh).triangles, np.repeat(border(mesh)[:, None], 2, axis=1)
    force = triangles.body_force(body_force(*np.moveaxis(triangles.points, -1, 0)))
    _, state = held(mesh, on, force, np.where(on, movement(*mesh.points.T).T, 0.0))
    return triangles, state.u


def errors(mesh, triangles, u):
    """Root mean square errors of movements and of their slopes, over the same of the exact."""
    area = triangles.weight.sum(axis=1)[:, None]
    nodal, places = u[triangles.nodes], np.einsum("ki,eid->dek", shapes(FINE), mesh.points[triangles.nodes])
    ours = np.einsum("ki,eid->dek", shapes(FINE), nodal)
    # straight sides: the inverse of the Jacobian is the same all over a triangle
    steep = np.einsum("eab,kai,eid->dbek", triangles.inverse[:, 0], gradients(FINE), nodal)
    norm = lambda field: np.sqrt(np.sum(area * field**2))  # noqa: E731
    pairs = (ours, movement(*places)), (steep, slopes(*places))
    return [norm(found - exact) / norm(exact) for found, exact in pairs]


def run(h) -> Answer:
    """``h``: share of the square's side that a cell takes."""
    mesh = skewed(round(1 / h))
    triangles, u = solved(mesh)
    moved, strained = errors(mesh, triangles, u)
    rows = [
        Row("movements: 1 + error, root mean square over that of all", 1.0, 1 + moved, -1e-15, 0.5 * h**3, MOVED),
        Row("slopes: 1 + error, root mean square over that of all", 1.0, 1 + strained, -1e-15, 1.7 * h**2, STRAINED),
    ]
    at = np.flatnonzero(np.abs(mesh.points[:, 1] - 0.5) < 1e-9)
    fine = np.linspace(0, 1, 60)
    line, marks = ("given field", fine, 1e3 * movement(fine, 0.5)[0]), ("fesoil", mesh.points[at, 0], 1e3 * u[at, 0])
    return Answer(rows, len(mesh.triangles), Graph("x [m], at mid-height", "Movement along x [mm]", (line,), (marks,)), (h, moved, strained))


def across(answers) -> list[Row]:
    """Orders of convergence."""
    sizes, *errors = zip(*(answer.found for answer in answers))
    return [
        Row(f"order of convergence of {name}", expected, order(sizes, found), -0.2 / expected, 0.1, ORDER)
        for name, expected, found in zip(("movements", "slopes"), (3, 2), errors)
    ]


def draw(ax):
    sketch.box(ax, 0, 1, 0, 1)
    x, y = np.meshgrid(np.linspace(0, 1, 9), np.linspace(0, 1, 9))
    ax.quiver(x, y, *movement(x, y), color=sketch.LOAD, width=0.006, zorder=3)


PROBLEM = Problem(
    "smooth field", "Elastic square of 1 m with a movement of sines prescribed on its border and the body force that belongs to it",
    "the field itself; orders 3 and 2 of quadratic triangles (standard theory, from memory)",
    run, (1 / 8, 1 / 16), (1 / 8, 1 / 16, 1 / 32), draw, across,
)  # fmt: skip
