"""Cantilever under three loads, slender and with shear: the beam element against beam theory."""

from __future__ import annotations

import numpy as np

from benchmarks import sketch
from benchmarks.beams import STIFF, along, beam_model, bend, clamp, draw_cantilever, moments, nodal, point, upright
from benchmarks.problem import Answer, Graph, Problem, Row, order

L, EI, GA, P, Q = 10.0, 50e3, 400e3, 100.0, 20.0
"""Length [m], rigidities [kN m2/m, kN/m], load at the tip [kN/m] and largest distributed load [kN/m2]."""

PIECES = (8, 16, 32)

EXACT = "the element is exact at its nodes but for the last digits; 0.1 % is what a designer would not notice"
LINEAR = "moments are linear in a piece and miss q h^2 / 12, 0.2 % with 16 pieces; 0.5 % there, by the square of the piece elsewhere"


def loads(mesh, top):
    """Name, nodal forces, tip movement by bending and by shear [m], moment at the foot [kN m/m] of each load."""
    return (
        ("tip load", point(mesh, top, P), P * L**3 / (3 * EI), P * L / GA, P * L),
        ("even load", nodal(mesh, lambda y: Q + 0 * y), Q * L**4 / (8 * EI), Q * L**2 / (2 * GA), Q * L**2 / 2),
        ("triangular load", nodal(mesh, lambda y: -Q * y / L), Q * L**4 / (30 * EI), Q * L**2 / (6 * GA), Q * L**2 / 6),
    )


def run(pieces) -> Answer:
    """``pieces``: how many the beam is cut into."""
    mesh, nodes = upright(L, pieces)
    foot, top = nodes[0], nodes[-1]
    rows, high, misses = [], 5e-3 * (16 / pieces) ** 2, {}
    for name, force, bending, shearing, moment in loads(mesh, top):
        for kind, rigidity, expected in (("slender", STIFF, bending), ("with shear", GA, bending + shearing)):
            state = bend(mesh, beam_model(mesh, EI, rigidity, held=clamp(foot)), force)[-1].state
            rows.append(Row(f"{name}, {kind}: movement of the tip [m]", expected, state.w[top, 0], -1e-3, 1e-3, EXACT))
        rows.append(Row(f"{name}: moment at the foot [kN m/m]", moment, np.abs(moments(mesh, state)).max(), -high, high, LINEAR))
        misses[name] = rows[-1].difference
    return Answer(rows, graph=compared(mesh, nodes), found=misses)


def compared(mesh, nodes) -> Graph:
    """The slender beam's bending line under each load."""
    model, s, x = beam_model(mesh, EI, held=clamp(nodes[0])), np.linspace(0, L, 50), along(mesh, nodes)
    lines = (
        ("tip load", P * s**2 * (3 * L - s) / (6 * EI)),
        ("even load", Q * s**2 * (6 * L**2 - 4 * L * s + s**2) / (24 * EI)),
        ("triangular load", Q * s**2 * (10 * L**3 - 10 * L**2 * s + 5 * L * s**2 - s**3) / (120 * EI * L)),
    )
    forces = [(name, force) for name, force, *_ in loads(mesh, nodes[-1])]
    ours = [(f"fesoil, {name}", x[::2], bend(mesh, model, force)[-1].state.w[nodes[::2], 0]) for name, force in forces]
    return Graph("Distance from the foot [m]", "Movement [m]", tuple((name, s, w) for name, w in lines), tuple(ours))


def across(answers) -> list[Row]:
    """How fast the moment at the foot nears the exact one."""
    reason = "q h^2 / 12 falls with the square of the piece; the slope of three sizes leaves little to choose"
    orders = {name: order(1 / np.array(PIECES), [a.found[name] for a in answers]) for name in ("even load", "triangular load")}
    return [Row(f"{name}: order of convergence of the moment at the foot", 2.0, found, -0.05, 0.05, reason) for name, found in orders.items()]


def draw(ax):
    draw_cantilever(ax, L, "q")
    sketch.arrow(ax, (2.5, L), (0.1, L), "P")
    sketch.measure(ax, (1.4, 0), (1.4, L), "10 m")


PROBLEM = Problem(
    "cantilever", "Cantilever of 10 m, EI = 50,000 kN m2/m, kGA = 400,000 kN/m (also slender), cut into pieces", "beam theory, closed form",
    run, (16,), PIECES, draw, across,
)
