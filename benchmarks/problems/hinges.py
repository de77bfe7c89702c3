"""Beams with a moment capacity: the load of a prop once the foot has a hinge, and the collapse of a beam fixed at both ends."""

from __future__ import annotations

import numpy as np

from benchmarks import sketch
from benchmarks.beams import beam_model, bend, clamp, nodal, upright
from benchmarks.common import flat_part
from benchmarks.problem import Answer, Graph, Problem, Row

L, EI, Q, CAPACITY = 10.0, 50e3, 20.0, 200.0
"""Length [m], rigidity [kN m2/m], load [kN/m2], moment at which a hinge forms [kN m/m]."""

USUAL = 80
LATE = "a hinge sits at an integration point, a fifth of a piece from its end: 0.5 % with 80 pieces, in proportion to the piece elsewhere"
HIGH = "the same shortens both halves, which errs high: half as much again as four such offsets over the length"


def propped(mesh, nodes):
    """Load of a rigid prop at the top [kN/m] as an even load grows to its end."""
    model = beam_model(mesh, EI, capacity=CAPACITY, held=[*clamp(nodes[0]), (nodes[-1], 0)])
    read = lambda _, f: -f[model.unknowns.wall[nodes[-1], 0]]  # noqa: E731
    return bend(mesh, model, nodal(mesh, lambda y: Q + 0 * y), shares=np.linspace(0.1, 1, 10), read=read)[-1].value


def fixed(mesh, nodes, pushed=0.4):
    """Curve of the force [kN/m] that pushes the middle of a beam fixed at both ends."""
    middle = nodes[len(nodes) // 2]
    model = beam_model(mesh, EI, capacity=CAPACITY, held=[*clamp(nodes[0]), *clamp(nodes[-1]), (middle, 0)])
    move, nothing = np.zeros((len(nodes), 3)), np.zeros((len(nodes), 3))
    move[middle, 0] = pushed
    return bend(mesh, model, nothing, move, np.linspace(0.05, 1, 20), read=lambda _, f: f[model.unknowns.wall[middle, 0]])


def run(pieces) -> Answer:
    """``pieces``: how many the beam is cut into."""
    mesh, nodes = upright(L, pieces)
    offset = (1 - 1 / np.sqrt(3)) / 2 * L / pieces
    curve, late, collapse = fixed(mesh, nodes), 5e-3 * USUAL / pieces, 8 * CAPACITY / L
    rows = [
        Row("propped cantilever, hinge at its foot: load of the prop [kN/m]", Q * L / 2 - CAPACITY / L, propped(mesh, nodes), -late, late, LATE),
        Row("beam fixed at both ends: central load at collapse [kN/m]", collapse, curve[-1].value, 0.0, 1.5 * 4 * offset / L, HIGH),
        Row("the same, last third: largest over smallest load", 1.0, flat_part(curve), -1e-3, 1e-3, "a mechanism carries no more load"),
    ]
    first = collapse * L**3 / (192 * EI)  # a beam with equal moments at both ends and in the middle: its three hinges form at once
    known = (("plastic theory", [0, first, 0.4], [0, collapse, collapse]),)
    ours = (("fesoil", [0.4 * p.share for p in curve], [p.value for p in curve]),)
    return Answer(rows, graph=Graph("Movement of the middle [m]", "Central load [kN/m]", known, ours))


def draw(ax):
    sketch.wall(ax, (0, 0), (L, 0))
    for x in (0, L):
        sketch.box(ax, x - 0.5 if x == 0 else x, x if x == 0 else x + 0.5, -1.5, 1.5)
    for x in (0.15, L / 2, L - 0.15):
        ax.plot(x, 0, "o", color=sketch.LOAD, markersize=5, zorder=6)
    sketch.arrow(ax, (L / 2, 2.5), (L / 2, 0.2), "P")
    sketch.measure(ax, (0, -2), (L, -2), "10 m")


PROBLEM = Problem(
    "hinges", "Beam of 10 m, EI = 50,000 kN m2/m, with a moment capacity of 200 kN m/m, cut into pieces", "plastic theory of beams, closed form",
    run, (USUAL,), (40, USUAL, 160), draw,
)
