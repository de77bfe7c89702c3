"""Thick elastic cylinder under inside pressure: curved elements against Lame's closed form."""

from __future__ import annotations

import numpy as np

from benchmarks.common import movement, no_wall_force, one_material, pressed, push
from benchmarks.opening import at_radius, draw_ring, radial, ring, symmetric
from benchmarks.problem import Answer, Graph, Problem, Row
from fesoil.result.state import blank_state
from fesoil.soils.elastic import Elastic

A, B, PRESSURE, E, NU = 1.0, 5.0, 100.0, 50e3, 0.3
"""Radii [m], pressure inside [kPa], Young's modulus [kPa], Poisson's ratio."""

REASON = "curved sides on 8 x 8 cells: 0.1 % (known from another code); straight ones would miss by 0.7 %"


def outward(r):
    """Movement [m] at a radius [m]."""
    return (1 + NU) / E * PRESSURE * A**2 / (B**2 - A**2) * ((1 - 2 * NU) * r + B**2 / r)


def run(h) -> Answer:
    """``h``: share of the quarter round that a cell takes."""
    cells = round(1 / h)
    mesh, _ = ring(A, B, cells, cells)
    model = one_material(mesh, lambda points: Elastic(NU, np.full(len(points), E)), symmetric(mesh))
    load = model.reduce(pressed(mesh, at_radius(mesh, A)[0], PRESSURE), no_wall_force(mesh))
    end = push(model, blank_state(mesh), load, PRESSURE, movement(model), [1.0], lambda s, _: radial(mesh, s, A), 1e-10)[-1]
    rows = [
        Row(f"movement at {where} [m]", outward(r), radial(mesh, end.state, r), -0.005, 0.005, REASON)
        for where, r in (("the inside", A), ("the outside", B))
    ]
    radii, fine = np.unique(np.round(np.hypot(*mesh.points.T), 9)), np.linspace(A, B, 50)
    ours = [1e3 * radial(mesh, end.state, r) for r in radii[::2]]
    graph = Graph("Radius [m]", "Outward movement [mm]", (("Lame", fine, 1e3 * outward(fine)),), (("fesoil", radii[::2], ours),))
    return Answer(rows, len(mesh.triangles), graph)


PROBLEM = Problem(
    "cylinder, elastic", "Thick cylinder under inside pressure", "Lame's closed form (from memory)", run, (1 / 8,), (1 / 4, 1 / 8, 1 / 16),
    lambda ax: draw_ring(ax, A, B, ("a = 1 m", "b = 5 m")),
)  # fmt: skip
