"""Beam on an elastic bed of joints under one load: endless, and of finite length with the load in its middle and at its end."""

from __future__ import annotations

import numpy as np

from benchmarks import sketch
from benchmarks.beams import along, bend, draw_bed, moments, on_bed, point, upright
from benchmarks.problem import Answer, Graph, Problem, Row

EI, K, P, L = 20e3, 10e3, 100.0, 6.0
"""Rigidity [kN m2/m], bed [kN/m3], load [kN/m], length of the finite beam [m]."""

LAM = (K / (4 * EI)) ** 0.25
USUAL = 0.25

REASON = "bed and bending are sums over pieces: 0.5 % with pieces of 0.25 m, far above their error, and by the square of the piece elsewhere"


def loaded(length, piece, where):
    """Places along the beam [m], movements there [m] and largest moment [kN m/m], with the load at a share of the length."""
    mesh, nodes = upright(length, round(length / piece))
    model, state, balance = on_bed(mesh, EI, K, 100.0)
    node = nodes[round(where * (len(nodes) - 1))]
    state = bend(mesh, model, balance + point(mesh, node, P), state=state)[-1].state
    return along(mesh, nodes), state.w[nodes, 0], np.abs(moments(mesh, state)).max()


def middle_loaded():
    """Movement of the middle and of the ends [m], and moment in the middle [kN m/m], of the finite beam loaded there."""
    b = LAM * L
    d = np.sinh(b) + np.sin(b)
    middle = P * LAM / (2 * K) * (np.cosh(b) + np.cos(b) + 2) / d
    return middle, 2 * P * LAM / K * np.cosh(b / 2) * np.cos(b / 2) / d, P / (4 * LAM) * (np.cosh(b) - np.cos(b)) / d


def end_loaded():
    """Movement of the loaded end and of the other [m]."""
    b = LAM * L
    sinh, cosh, sin, cos = np.sinh(b), np.cosh(b), np.sin(b), np.cos(b)
    factor = 2 * P * LAM / K / (sinh**2 - sin**2)
    return factor * (sinh * cosh - sin * cos), factor * (sinh * cos - cosh * sin)


def endless(x):
    """Movement [m] at a distance from the load on the endless beam."""
    s = LAM * np.abs(x)
    return P * LAM / (2 * K) * np.exp(-s) * (np.cos(s) + np.sin(s))


def run(piece) -> Answer:
    """``piece``: length of a piece of the beam [m]."""
    x, w, M = loaded(40.0, piece, 0.5)
    _, middle, M_middle = loaded(L, piece, 0.5)
    _, end, _ = loaded(L, piece, 1.0)
    at_middle, at_ends, moment = middle_loaded()
    at_end, at_other = end_loaded()
    found = [
        ("endless beam: movement under the load [m]", endless(0), w[len(w) // 2]),
        ("endless beam: moment there [kN m/m]", P / (4 * LAM), M),
        ("free beam, load in the middle: movement there [m]", at_middle, middle[len(middle) // 2]),
        ("free beam, load in the middle: movement of the ends [m]", at_ends, middle[0]),
        ("free beam, load in the middle: moment there [kN m/m]", moment, M_middle),
        ("free beam, load at an end: movement there [m]", at_end, end[-1]),
        ("free beam, load at an end: movement of the other [m]", at_other, end[0]),
    ]
    high, near = 5e-3 * (piece / USUAL) ** 2, np.abs(x - 20) < 8
    fine = np.linspace(-8, 8, 120)
    known, ours = ("Hetenyi", fine, 1e3 * endless(fine)), ("fesoil", x[near][::4] - 20, 1e3 * w[near][::4])
    graph = Graph("Distance from the load [m]", "Movement [mm]", (known,), (ours,))
    return Answer([Row(name, expected, value, -high, high, REASON) for name, expected, value in found], graph=graph)


def draw(ax):
    draw_bed(ax)
    sketch.say(ax, 4, 0.9, "EI")
    sketch.say(ax, 4, -3.2, "k")


PROBLEM = Problem(
    "beam on a bed", "Beam EI = 20,000 kN m2/m on a bed of 10,000 kN/m3, load 100 kN/m: endless (40 m), and of 6 m with free ends; cut into pieces",
    "Hetenyi 1946, closed form (from memory)", run, (USUAL,), (0.5, USUAL, 0.125), draw,
)
