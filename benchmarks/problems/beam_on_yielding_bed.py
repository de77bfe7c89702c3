"""Endless beam on springs that yield at a limit: movement and moment under the load."""

from __future__ import annotations

import numpy as np

from benchmarks import sketch
from benchmarks.beams import beam_model, bend, draw_bed, moments, node_lengths, point, prop, sprung, upright
from benchmarks.problem import Answer, Graph, Problem, Row

EI, K, LIMIT = 20e3, 10e3, 20.0
"""Rigidity [kN m2/m], bed [kN/m3] and its limit [kN/m2]."""

LAM = (K / (4 * EI)) ** 0.25
USUAL = 0.125

REASON = "the end of the yielded length falls within a piece: 1 % with pieces of 0.125 m, in proportion to the piece elsewhere"


def exact(al):
    """Load [kN/m], movement under it [m] and moment there [kN m/m] when half of the yielded length is al / lambda.

    Each half of the beam: under an even load, the limit, up to there, and beyond it Hetenyi's half-endless beam, whose end moves by limit / K.
    """
    be = (1 + 2 * al + 2 * al**2 + 2 * al**3 / 3) / (1 + al) ** 2
    P, M, a = be * 2 * LIMIT / LAM, LIMIT / LAM**2 * (be * al - al**2 / 2 + be - al - 0.5), al / LAM
    return P, LIMIT / K - (-M * a**2 / 2 + P * a**3 / 12 - LIMIT * a**4 / 24) / EI, M


def sprung_beam(mesh, nodes):
    """Model of the beam on a spring that yields, both ways, at each of its nodes, and their names."""
    area = np.zeros(len(nodes))
    np.add.at(area, mesh.segments, node_lengths(mesh))
    names = [f"bed {i}" for i in range(len(nodes))]
    springs = [prop(i, K * area[i], LIMIT * area[i], True, name) for i, name in enumerate(names)]
    return beam_model(mesh, EI, held=[(nodes[-1], 1)], springs=springs), names


def run(piece) -> Answer:
    """``piece``: length of a piece of the beam [m]."""
    mesh, nodes = upright(40.0, round(40.0 / piece))
    model, names = sprung_beam(mesh, nodes)
    middle, blank, rows, high = nodes[len(nodes) // 2], sprung(mesh, dict.fromkeys(names, 0.0)), [], 1e-2 * piece / USUAL
    loads, moved = [], []
    for al in (0.5, 1.0, 1.5, 2.0):
        P, w, M = exact(al)
        state = bend(mesh, model, point(mesh, middle, P), state=blank)[-1].state
        label = f"yielded length {2 * al:g}/lambda"
        rows.append(Row(f"{label}: movement under the load [m]", w, state.w[middle, 0], -high, high, REASON))
        rows.append(Row(f"{label}: moment there [kN m/m]", M, np.abs(moments(mesh, state)).max(), -high, high, REASON))
        loads.append(P), moved.append(1e3 * state.w[middle, 0])
    P, w, _ = np.array([exact(al) for al in np.linspace(0, 2.2, 40)]).T
    line = ("closed form", [0, *(1e3 * w)], [0, *P])
    return Answer(rows, graph=Graph("Movement under the load [mm]", "Load [kN/m]", (line,), (("fesoil", moved, loads),)))


def draw(ax):
    draw_bed(ax)
    sketch.measure(ax, (-3, -3.4), (3, -3.4), "yielded")


PROBLEM = Problem(
    "beam on a bed that yields",
    "Endless beam EI = 20,000 kN m2/m (40 m) on a bed of 10,000 kN/m3 that yields at 20 kN/m2, both ways; cut into pieces",
    "closed form computed for the project, in the file", run, (USUAL,), (0.25, USUAL, 0.0625), draw,
)
