"""Flow into a pit between two walls: discharge, head at the toe, exit gradient, and the mean head under the prism that may heave, by conformal mapping."""

from __future__ import annotations

import numpy as np

from benchmarks.problem import Answer, Graph, Problem, Row
from benchmarks.seepage import Pair, mean_along
from fesoil.water.flow import outflow_gradient

PAIRS = {
    "as drawn": Pair(4.0, 4.0, 8.0, 15.0), "wide": Pair(10.0, 5.0, 10.0, 20.0), "no dig": Pair(5.0, 5.0, 5.0, 10.0), "shallow layer": Pair(5.0, 3.0, 9.0, 12.0),
    "short toe": Pair(2.5, 1.1, 4.1, 11.0),
}  # fmt: skip
"""Half width, penetration inside and outside, thickness of the layer [m]."""

FLOW = "1 % with triangles of a twelfth of the penetration at the toe, by the size above that: too great by a share of the size where the wall ends"
HEAD = "1 % with triangles of a twelfth of the penetration, by the size above"
GRADIENT = "5 %: what leaves at a node over a share of length, at a corner of the mesh"


def rows_of(name, pair: Pair, h):
    """Rows, triangles, and places and exit gradients of the ground inside by finite elements."""
    mesh, found, head = pair.solved(h * pair.inner)
    inside, outside = pair.faces(mesh)
    x, y = mesh.points.T
    toe, width = np.argmin(np.hypot(x - pair.b, y + pair.outer)), min(pair.inner / 2, pair.b)
    gradient, share = outflow_gradient(mesh, found, np.ones((len(mesh.triangles), 2)), inside) / head, (found.head + pair.step) / head
    at_wall, high = inside & (np.abs(x - pair.b) < 1e-9), 0.01 * max(1.0, 12 * h)
    rows = [
        Row(f"discharge of a half over k h, {name}", pair.discharge, found.inflow[outside].sum() / head, -0.001, high, FLOW),
        Row(f"head at the toe over h, {name}", pair.toe_head, share[toe], -high, high, HEAD),
        Row(f"mean head under the prism over h, {name}", pair.mean_head(width), mean_along(mesh, share, pair.b - width, pair.b, -pair.outer), -high, high, HEAD),
        Row(f"exit gradient at the wall over h [1/m], {name}", pair.exit_gradient(), gradient[at_wall][0], -0.05, 0.05, GRADIENT),
    ]
    order = np.flatnonzero(inside)[np.argsort(x[inside])]
    return rows, len(mesh.triangles), (x[order], gradient[order])


def run(h) -> Answer:
    """``h``: size of the triangles at the toe in terms of the penetration inside."""
    found = [rows_of(name, pair, h) for name, pair in PAIRS.items()]
    first, angles = next(iter(PAIRS.values())), np.linspace(0.0, np.pi / 2, 40)
    graph = Graph("Distance from the axis [m]", "Exit gradient over h [1/m]", (("conformal mapping", *first.inside(angles)),), (("fesoil", *found[0][2]),))
    return Answer([row for rows, _, _ in found for row in rows], round(np.mean([n for _, n, _ in found])), graph)


PROBLEM = Problem(
    "seepage into a pit", "Water flows under the two walls of a pit, of five shapes, into ground at its bottom (half of it, head h between the ground outside and inside)",
    "conformal mapping after Schwarz and Christoffel, integrals evaluated here; discharge by elliptic integrals as in Harr 1962 (from memory)",
    run, (1 / 12,), (1 / 4, 1 / 12, 1 / 36), next(iter(PAIRS.values())).sketch,
)  # fmt: skip
