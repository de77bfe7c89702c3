"""Cantilever under an even load with a rigid prop at its top: load of the prop, moments and bending line."""

from __future__ import annotations

import numpy as np

from benchmarks import sketch
from benchmarks.beams import along, beam_model, bend, clamp, draw_cantilever, moments, nodal, upright
from benchmarks.problem import Answer, Graph, Problem, Row

L, EI, Q = 10.0, 50e3, 20.0
"""Length [m], rigidity [kN m2/m], load [kN/m2]."""

EXACT = "the element is exact at its nodes but for the last digits; 0.2 % is what a designer would not notice"
LINEAR = "moments are linear in a piece and miss q h^2 / 12 of them, 0.3 % with 16 pieces; 0.5 % there, by the square of the piece elsewhere"
LARGEST = "largest of linear pieces, twice as far as at the foot, and by the square of the piece too"
NEAREST = "largest of the nodes, half a piece apart: flat at the largest, so 0.2 % with 16 pieces, by the square of the piece elsewhere"


def deflection(x):
    """Movement [m] of the slender beam at a distance from its prop [m]."""
    return Q * x * (L**3 - 3 * L * x**2 + 2 * x**3) / (48 * EI)


def run(pieces) -> Answer:
    """``pieces``: how many the beam is cut into."""
    mesh, nodes = upright(L, pieces)
    foot, top = nodes[0], nodes[-1]
    model, coarser = beam_model(mesh, EI, held=[*clamp(foot), (top, 0)]), (16 / pieces) ** 2
    end = bend(mesh, model, nodal(mesh, lambda y: Q + 0 * y), read=lambda _, f: -f[model.unknowns.wall[top, 0]])[-1]
    M, moved = moments(mesh, end.state), end.state.w[nodes, 0]
    fixing = M[np.argmin(mesh.wall_points[mesh.segments[:, 1], 1]), 1]
    most = deflection(L * (1 + np.sqrt(33)) / 16)  # where its slope vanishes
    rows = [
        Row("load of the prop [kN/m]", 3 * Q * L / 8, end.value, -2e-3, 2e-3, EXACT),
        Row("moment at the foot [kN m/m]", Q * L**2 / 8, abs(fixing), -5e-3 * coarser, 5e-3 * coarser, LINEAR),
        Row("moment in the span [kN m/m]", 9 * Q * L**2 / 128, np.max(-np.sign(fixing) * M), -1e-2 * coarser, 1e-2 * coarser, LARGEST),
        Row("largest movement [m]", most, np.abs(moved).max(), -2e-3 * coarser, 2e-3 * coarser, NEAREST),
    ]
    x, s = L - along(mesh, nodes), np.linspace(0, L, 60)
    graph = Graph("Distance from the prop [m]", "Movement [mm]", (("beam theory", s, 1e3 * deflection(s)),), (("fesoil", x, 1e3 * moved),))
    return Answer(rows, graph=graph)


def draw(ax):
    draw_cantilever(ax, L, "20 kN/m2")
    sketch.wall(ax, (0, L), (2.5, L))
    sketch.box(ax, 2.5, 3.0, L - 0.8, L + 0.8)
    sketch.measure(ax, (1.2, 0), (1.2, L), "10 m")


PROBLEM = Problem(
    "propped cantilever", "Cantilever of 10 m, EI = 50,000 kN m2/m, under 20 kN/m2 with a rigid prop at its top, cut into pieces",
    "beam theory, closed form", run, (16,), (8, 16, 32), draw,
)
