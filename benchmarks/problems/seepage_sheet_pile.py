"""Flow under a sheet pile in a layer of finite depth: discharge, exit gradient and the head at the toe, by elliptic integrals."""

from __future__ import annotations

import numpy as np
from scipy.special import ellipk

from benchmarks.common import plain_mesh
from benchmarks.problem import Answer, Graph, Problem, Row
from benchmarks.seepage import FAR, beside, flow, given
from benchmarks.sketch import box, measure, wall
from fesoil.water.flow import outflow_gradient

T = 10.0
"""Thickness of the layer [m]; head 1 m on the left, none on the right."""

SHARES = (0.25, 0.5, 0.75)
"""Penetration over the thickness of the layer."""

FLOW = "1 % with triangles of 0.3 m at the toe, by the size above that: the flow of approximate heads is too great, by a share of the size where the wall ends"
GRADIENT = "5 %: what leaves at a node over a share of length, at a corner of the mesh"
TOE = "1 % with triangles of 0.3 m, by the size above; half the difference by symmetry, but the mesh has none"


def exact(share):
    """Discharge over k and head, and exit gradient beside the pile over head [1/m]."""
    modulus = np.sin(np.pi * share / 2)
    K, other = ellipk(modulus**2), ellipk(1 - modulus**2)
    return other / (2 * K), np.pi / (4 * K * T * modulus)


def solved(share, h):
    """Mesh, flow, discharge, exit gradient and head at the toe by finite elements."""
    toe = -share * T
    mesh = plain_mesh((-FAR * T, FAR * T, -T, 0.0), h, [(0.0, toe, toe)], walls=np.array([[0.0, toe, 0.0]]))
    x, y = mesh.points.T
    top = np.abs(y) < 1e-9
    left, right = top & beside(mesh, lambda c: c[:, 0] < 0), top & beside(mesh, lambda c: c[:, 0] > 0)
    found = flow(mesh, given(mesh, (left, 1.0), (right, 0.0)))
    gradient = outflow_gradient(mesh, found, np.ones((len(mesh.triangles), 2)), right)
    return mesh, found.inflow[left].sum(), gradient[right & (np.abs(x) < 1e-9)][0], found.head[np.argmin(np.hypot(x, y - toe))]


def run(h) -> Answer:
    """``h``: size of the triangles at the toe [m]."""
    rows, marks, triangles, high = [], [], 0, 0.01 * max(1.0, h / 0.3)
    for share in SHARES:
        (discharge, gradient), name = exact(share), f"s/T = {share:g}"
        mesh, ours, leaves, toe = solved(share, h)
        rows += [
            Row(f"discharge over k h, {name}", discharge, ours, -0.001, high, FLOW),
            Row(f"exit gradient beside the pile [1/m], {name}", gradient, leaves, -0.05, 0.05, GRADIENT),
            Row(f"head at the toe, {name}", 0.5, toe, -high, high, TOE),
        ]
        marks.append(ours)
        triangles += len(mesh.triangles) / len(SHARES)
    fine = np.linspace(0.05, 0.95, 91)
    line = (("elliptic integrals", fine, [exact(s)[0] for s in fine]),)
    return Answer(rows, round(triangles), Graph("Penetration over thickness of the layer", "Discharge over k h", line, (("fesoil", SHARES, marks),)))


def draw(ax):
    """The layer and the pile."""
    box(ax, -12, 12, -T, 0)
    wall(ax, (0, -T / 2), (0, 2))
    measure(ax, (1.5, -T / 2), (1.5, 0), "s")
    measure(ax, (8, -T), (8, 0), "T")
    measure(ax, (-3, 0), (-3, 1.5), "h")


PROBLEM = Problem(
    "seepage under a sheet pile", "Water flows under a sheet pile that reaches a quarter, a half and three quarters down a layer of 10 m",
    "elliptic integrals, Harr 1962, Groundwater and Seepage (from memory)", run, (0.3,), (1.0, 0.3, 0.1), draw,
)  # fmt: skip
