"""Patch test: irregular triangles reproduce linear and quadratic movements of their border, and an even pressure, exactly."""

from __future__ import annotations

from typing import Callable, NamedTuple

import numpy as np

from benchmarks.common import lattice, mesh_of, pressed, straightened
from benchmarks.consistency import LAME, G, border, furthest_off, held, stress_of
from benchmarks.problem import Answer, Graph, Problem, Row
from fesoil.elements.triangle import N_POINTS
from fesoil.solve.system import make_base

PRESSURE = 100.0
SQUEEZE = PRESSURE / (2 * (LAME + G))
"""Pressure [kPa] and the strain under it in both directions of the plane."""

EXACT = "algebra: these triangles hold all quadratic movements; what remains is rounding"


class Field(NamedTuple):
    """Movements (x, y) and strains (xx, yy, xy) [mm, thousandths] of places x, y, and the body force that keeps them in balance [kN/m3]."""

    movement: Callable
    strain: Callable
    body: tuple[float, float] = (0.0, 0.0)


FIELDS = {
    "linear": Field(lambda x, y: (9 + x + 2 * y, 8 + 3 * x - y), lambda x, y: (1 + 0 * x, -1 + 0 * x, 5 + 0 * x)),
    "quadratic": Field(
        lambda x, y: (9 + x * x + x * y, 8 + y * y - 2 * x * y), lambda x, y: (2 * x + y, 2 * y - 2 * x, x - 2 * y),
        (-2e-3 * G, -1e-3 * (3 * LAME + 5 * G)),
    ),
}  # fmt: skip


def irregular(cells):
    """Straight-sided triangles on the unit square, the inner corners moved about."""
    points, triangles = lattice(cells, cells)
    inner = np.all((points > 1e-9) & (points < 1 - 1e-9), axis=1)
    points[inner] += np.random.default_rng(3).uniform(-0.25, 0.25, (inner.sum(), 2)) / cells
    return mesh_of(straightened(points, triangles), triangles)


def prescribed(mesh, field: Field):
    """Known and computed movements (n, 2) [m], and stresses [kPa], with the field's movement on the border."""
    known, base = 1e-3 * np.column_stack(field.movement(*mesh.points.T)), make_base(mesh)
    on = np.repeat(border(mesh)[:, None], 2, axis=1)
    force = base.triangles.body_force(np.tile(field.body, (len(mesh.triangles), N_POINTS, 1)))
    _, state = held(mesh, on, force, np.where(on, known, 0.0))
    strain = 1e-3 * np.array(field.strain(*base.triangles.points.reshape(-1, 2).T))
    return known, state.u, stress_of(*strain), state.stress[:, 0]


def squeezed(mesh):
    """The same for an even pressure all round, held at two corners only."""
    x, y = mesh.points.T
    fixed = np.column_stack([np.hypot(x, y) < 1e-9, (y < 1e-9) & ((x < 1e-9) | (x > 1 - 1e-9))])
    _, state = held(mesh, fixed, pressed(mesh, border(mesh), PRESSURE))
    strain = -SQUEEZE * np.ones(len(state.stress))
    return -SQUEEZE * mesh.points, state.u, stress_of(strain, strain, 0 * strain), state.stress[:, 0]


def run(h) -> Answer:
    """``h``: share of the square's side that a cell takes."""
    mesh = irregular(round(1 / h))
    solved = {f"{name} movement": prescribed(mesh, field) for name, field in FIELDS.items()} | {"even pressure": squeezed(mesh)}
    rows, marks = [], []
    for name, (known, ours, known_stress, stress) in solved.items():
        rows.append(Row(f"{name}: movements, 1 + largest error over largest", 1.0, 1 + furthest_off(ours, known), -1e-15, 1e-10, EXACT))
        rows.append(Row(f"{name}: stresses, 1 + largest error over largest", 1.0, 1 + furthest_off(stress, known_stress), -1e-15, 1e-10, EXACT))
        inner = ~border(mesh)
        marks.append((f"fesoil, {name}", 1e3 * known[inner].ravel(), 1e3 * ours[inner].ravel()))
    ends = np.array([-SQUEEZE * 1e3, 12.0])
    return Answer(rows, len(mesh.triangles), Graph("Known movement of inner nodes [mm]", "Computed [mm]", (("equal", ends, ends),), tuple(marks)))


def draw(ax):
    mesh = irregular(4)
    corners = mesh.triangles[:, [0, 1, 2, 0]]
    ax.plot(*mesh.points[corners].transpose(2, 1, 0), color="#3b3b3b", linewidth=0.6)


PROBLEM = Problem(
    "patch", "Irregular patch of elastic triangles, 1 m wide: linear and quadratic movements prescribed on its border, and an even pressure on it",
    "the fields themselves; patch test after Irons and Razzaque 1972 (from memory)", run, (1 / 4,), (1 / 4,), draw,
)  # fmt: skip
