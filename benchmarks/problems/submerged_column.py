"""Level ground under water: effective stresses by the case file, by buoyant weight, and by saturated weight less pore pressure."""

from __future__ import annotations

import numpy as np

from benchmarks import sketch
from benchmarks.common import boxed, lattice, mesh_of, pressed, straightened, weight
from benchmarks.consistency import GAMMA, NU, M, furthest_off, held, places, staged
from benchmarks.problem import Answer, Graph, Problem, Row
from fesoil.elements.triangle import make_triangles
from fesoil.solve.system import PRESSURE, make_base

DEPTH, WATER, WIDTH = 10.0, 3.0, 4.0
"""Depth of ground below its surface at y = 0, depth of water above it, width [m]."""

GAMMA_W = 9.81
"""Unit weight of water [kN/m3]."""

REST = NU / (1 - NU)
"""Horizontal over vertical effective stress of elastic ground that cannot widen."""

CASE_REST = 0.5
"""The same by case file: the rule for elastic soils without an at-rest ratio of their own, which the start keeps to by either way."""

EXACT = "the stress is linear and the movement quadratic, which these triangles hold exactly; what remains is rounding"

STILL = "water above the surface presses on the pores alone; an imbalance below the tolerance of equilibrium, 1e-4 of the weight, would not show"


def vertical(y):
    """Vertical effective stress [kPa], compression positive, at a level [m]."""
    return -(GAMMA - GAMMA_W) * y


def settlement(y):
    """Settlement [m] at a level [m] when the buoyant weight is turned on."""
    return (GAMMA - GAMMA_W) * (DEPTH**2 - y**2) / (2 * M)


def column(cells):
    """Column of triangles whose lattice is bent inside."""
    points, triangles = lattice(cells, 2 * cells)
    points = points + 0.05 * np.prod(np.sin(2 * np.pi * points), axis=1)[:, None]
    return mesh_of(straightened(points, triangles) * [WIDTH, DEPTH] - [0.0, DEPTH], triangles)


def buoyant(mesh):
    """Nodal forces (n, 2) on the grains: buoyant weight alone."""
    return weight(make_base(mesh), GAMMA - GAMMA_W)


def saturated(mesh):
    """The same as saturated weight, water standing on the surface, and pore pressure in the ground."""
    base = make_base(mesh)
    pore = GAMMA_W * (WATER - base.triangles.points[..., 1, None]) * PRESSURE
    return weight(base, GAMMA) + pressed(mesh, mesh.points[:, 1] > -1e-9, GAMMA_W * WATER) + base.soil_forces(pore)


def flooded(h, start):
    """Result of a case with its initial stress by a rule and water at the surface, which then rises above it."""
    section = f'left = 0\nright = {WIDTH}\nbottom_level = {-DEPTH}\nelement_size = {h}\nstart = "{start}"'
    return staged(section, [f"water = {{ outside = {WATER} }}"], f"\n[water]\noutside = 0\nunit_weight = {GAMMA_W}\n")


def plain_route(mesh, forces):
    """Levels [m] and effective stresses (k, 4) [kPa] of integration points, and movements (n, 2) [m], under nodal forces."""
    model, state = held(mesh, boxed(mesh), forces)
    return model.triangles.points[..., 1].ravel(), state.stress[:, 0], state.u


def case_route(result):
    """The same from a result."""
    level = make_triangles(places(result), result.mesh.triangles).points[..., 1].ravel()
    return level, result.states[-1].stress.sum(axis=1), result.states[-1].u


def run(h) -> Answer:
    """``h``: size of the triangles [m]."""
    mesh = column(round(WIDTH / h))
    plain = {"buoyant weight": plain_route(mesh, buoyant(mesh)), "saturated weight less pore pressure": plain_route(mesh, saturated(mesh))}
    cases = {f"case file, {start}": case_route(flooded(h, start)) for start in ("gravity", "at rest")}
    known = np.column_stack([0 * mesh.points[:, 0], -settlement(mesh.points[:, 1])])
    rows = [row(f"{name}: vertical stress", -stress[:, 1], vertical(y)) for name, (y, stress, _) in (plain | cases).items()]
    for ratio, routes in ((REST, plain), (CASE_REST, cases)):
        rows += [row(f"{name}: horizontal stress", -stress[:, 0], ratio * vertical(y)) for name, (y, stress, _) in routes.items()]
    rows += [row(f"{name}: movement", u, known) for name, (_, _, u) in plain.items()]
    for name, (_, _, u) in cases.items():
        moved = np.abs(u).max() / settlement(0.0)
        rows.append(Row(f"{name}: 1 + movement as the water rises over settlement under the weight", 1.0, 1 + moved, -1e-15, 1e-7, STILL))
    return Answer(rows, len(mesh.triangles), graph(plain | cases))


def row(name, ours, known):
    """Row on the largest error of an effective stress or a movement."""
    return Row(f"{name}, 1 + largest error over largest", 1.0, 1 + furthest_off(ours, known), -1e-15, 1e-7, EXACT)


def graph(routes):
    """Vertical effective stress by level, a few points of each route."""
    marks = []
    for name, (y, stress, _) in routes.items():
        some = np.argsort(y)[:: max(1, len(y) // 12)]
        marks.append((f"fesoil, {name}", -stress[some, 1], y[some]))
    levels = np.array([-DEPTH, 0.0])
    return Graph("Vertical effective stress [kPa]", "Level [m]", (("closed form", vertical(levels), levels),), tuple(marks))


def draw(ax):
    sketch.box(ax, 0, WIDTH, -DEPTH, 0)
    ax.plot([0, WIDTH], [WATER, WATER], color=sketch.LOAD, linewidth=1.2)
    ax.plot([0, WIDTH], [-DEPTH, -DEPTH], color=sketch.INK, linewidth=2.0)
    sketch.say(ax, WIDTH / 2, WATER / 2, "water", sketch.LOAD)
    sketch.measure(ax, (-1, 0), (-1, WATER), "3 m")
    sketch.measure(ax, (-1, -DEPTH), (-1, 0), "10 m")


PROBLEM = Problem(
    "submerged column", "Ten metres of elastic ground, 20 kN/m3, E = 20 MPa, nu = 0.3, between smooth sides under three metres of water",
    "principle of effective stress (Terzaghi 1936, from memory) and one-dimensional elasticity, closed form",
    run, (1.0,), (1.0,), draw,
)  # fmt: skip
