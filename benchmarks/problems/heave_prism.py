"""Heave of the prism beside a wall: the head under it by finite elements and by conformal mapping, and what the checks make of it."""

from __future__ import annotations

import numpy as np

from benchmarks.problem import Answer, Graph, Problem, Row
from benchmarks.seepage import Pair, mean_along
from fesoil.checks.factors import heave_sets
from fesoil.checks.hydraulic import Column, exit_gradient, heave_effective, heave_lumped, heave_total, prism_width
from fesoil.checks.level import head_to_act, level_to_act
from fesoil.water.flow import outflow_gradient

PIT = Pair(4.0, 4.0, 8.0, 15.0)
"""Half width, penetration inside and outside, thickness of the layer [m]."""

GAMMA_W, SUBMERGED = 9.81, 10.0
"""Unit weight of water and submerged unit weight of the ground [kN/m3]."""

HEAD = "1 % with triangles of a twelfth of the penetration, by the size above: that of the mean head, to which it is inversely proportional"
GRADIENT = "5 %: what leaves at a node over a share of length, at a corner of the mesh"


def expected(share):
    """Factor at a head of the step, and heads [m] at which the lumped factor is 1 and the two forms of EN 1997-1:2004 are just satisfied, for a mean head of a share of h."""
    depth, weight = PIT.inner, SUBMERGED * PIT.inner
    critical = weight / (GAMMA_W * share)
    total = (0.9 / 1.35 * (SUBMERGED + GAMMA_W) / GAMMA_W - 1) * depth / share
    return critical / PIT.step, critical, 0.9 / 1.35 * critical, total


def flow_by_elements(h):
    """Mean head under the prism and exit gradient at the wall [1/m], over the difference of head, and triangles."""
    mesh, found, head = PIT.solved(h * PIT.inner)
    inside, _ = PIT.faces(mesh)
    gradient = outflow_gradient(mesh, found, np.ones((len(mesh.triangles), 2)), inside)
    at_wall = inside & (np.abs(mesh.points[:, 0] - PIT.b) < 1e-9)
    width = prism_width(PIT.inner, 2 * PIT.b)
    share = mean_along(mesh, (found.head + PIT.step) / head, PIT.b - width, PIT.b, -PIT.outer)
    return share, gradient[at_wall][0] / head, len(mesh.triangles)


def run(h) -> Answer:
    """``h``: size of the triangles at the toe in terms of the penetration inside."""
    (share, gradient, triangles), factors = flow_by_elements(h), heave_sets()["EN 1997-1:2004, recommended"]
    column = lambda head: Column([PIT.inner], [SUBMERGED + GAMMA_W], share * head, GAMMA_W)  # noqa: E731
    lumped, totals = heave_lumped(column(PIT.step), 1.0), [heave_total(column(head), factors) for head in (1.0, 4.0)]
    leaving = exit_gradient(gradient * PIT.step, SUBMERGED + GAMMA_W, 1.0, GAMMA_W)
    factor, critical, effective, total = expected(PIT.mean_head(PIT.inner / 2))
    high = 0.01 * max(1.0, 12 * h)
    rows = [
        Row("factor against heave, h = 4 m", factor, lumped.factor, -high, high, HEAD),
        Row("head at which the factor is 1 [m]", critical, head_to_act(lumped, PIT.step), -high, high, HEAD),
        Row("head to act, effective stress [m]", effective, head_to_act(heave_effective(column(PIT.step), factors), PIT.step), -high, high, HEAD),
        Row("head to act, total stress [m]", total, level_to_act((1.0, 4.0), totals), -high, high, HEAD),
        Row("factor on the exit gradient, h = 4 m", SUBMERGED / GAMMA_W / (PIT.exit_gradient() * PIT.step), leaving.factor, -0.05, 0.05, GRADIENT),
    ]
    fine, few = np.linspace(2.0, 12.0, 60), np.linspace(2.0, 12.0, 6)
    ours = [heave_lumped(column(head), 1.0).factor for head in few]
    graph = Graph("Difference of head [m]", "Factor against heave", (("conformal mapping", fine, critical / fine),), (("fesoil", few, ours),))
    return Answer(rows, triangles, graph)


PROBLEM = Problem(
    "heave of the prism beside a wall",
    "Water flows into a pit between two walls; the prism beside the wall, half as wide as deep, is lifted where the mean head under it balances its submerged weight (10 kN/m3)",
    "Terzaghi 1943 and EN 1997-1:2004, 2.4.7.5 (from memory) on the mean head by conformal mapping after Schwarz and Christoffel, integrals evaluated here",
    run, (1 / 12,), (1 / 4, 1 / 12, 1 / 36), PIT.sketch,
)  # fmt: skip
