"""Cantilever with an elastic prop: preloaded, locked, loaded, yielding, and left when the load turns."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from benchmarks import sketch
from benchmarks.beams import beam_model, bend, clamp, draw_cantilever, nodal, point, prop, sprung, upright
from benchmarks.problem import Answer, Graph, Problem, Row

L, EI, Q, K, PRELOAD, LIMIT = 10.0, 50e3, 20.0, 2e3, 30.0, 70.0
"""Length [m], rigidity [kN m2/m], load [kN/m2], prop's stiffness [kN/m2], its preload and the load at which it yields [kN/m]."""

EXACT = "two springs side by side, and a beam that is exact at its nodes: 0.1 % is what a designer would not notice"

BEAM = 3 * EI / L**3
"""Stiffness of the beam at its top [kN/m2]."""

FREE = Q * L**4 / (8 * EI)
"""Movement of the beam's top without a prop [m]."""


def run(_) -> Answer:
    mesh, nodes = upright(L, 16)
    foot, top = nodes[0], nodes[-1]
    even, names = nodal(mesh, lambda y: Q + 0 * y), ("prop",)
    alone = beam_model(mesh, EI, held=clamp(foot))
    with_prop = lambda limit=np.inf: beam_model(mesh, EI, held=clamp(foot), springs=[prop(top, K, limit)])  # noqa: E731
    blank = sprung(mesh, dict.fromkeys(names, 0.0))
    loaded = lambda model, state, share: bend(mesh, model, share * even, state=state)[-1].state  # noqa: E731

    unstressed = loaded(with_prop(), blank, 1)
    pushed = bend(mesh, alone, point(mesh, top, -PRELOAD))[-1].state  # a jack pushes the wall back
    locked = loaded(with_prop(), replace(pushed, springs={"prop": PRELOAD}), 0)
    shares = np.linspace(0.1, 1, 10)
    curve = [loaded(with_prop(LIMIT), locked, share) for share in shares]
    left = loaded(with_prop(LIMIT), locked, -1)
    elastic = FREE / (1 / K + 1 / BEAM)
    beyond = FREE - LIMIT / BEAM
    rows = [
        ("load of a prop without preload [kN/m]", elastic, unstressed.springs["prop"]),
        ("preload once it is locked [kN/m]", PRELOAD, locked.springs["prop"]),
        ("movement of the top then [m]", -PRELOAD / BEAM, locked.w[top, 0]),
        ("load of the preloaded prop under half the load [kN/m]", PRELOAD + elastic / 2, curve[4].springs["prop"]),
        ("load of the prop that yields [kN/m]", LIMIT, curve[-1].springs["prop"]),
        ("movement of the top beside the prop that yields [m]", beyond, curve[-1].w[top, 0]),
        ("movement of the top that leaves the prop [m]", -FREE, left.w[top, 0]),
    ]
    known = np.array([0.0, (LIMIT - PRELOAD) / elastic, 1.0])
    ours = [state.springs["prop"] for state in curve]
    graph = Graph("Share of the load", "Load of the prop [kN/m]", (("two springs", known, [PRELOAD, LIMIT, LIMIT]),), (("fesoil", shares, ours),))
    return Answer([Row(name, expected, found, -1e-3, 1e-3, EXACT) for name, expected, found in rows], graph=graph)


def draw(ax):
    draw_cantilever(ax, L, "q")
    sketch.spring(ax, (0, L), (4, L))
    sketch.box(ax, 4, 4.5, L - 0.8, L + 0.8)
    sketch.say(ax, 2.2, L + 1.2, "k, preload")
    sketch.measure(ax, (1.2, 0), (1.2, L), "10 m")


PROBLEM = Problem(
    "strut and preload",
    "Cantilever of 10 m, EI = 50,000 kN m2/m, under up to 20 kN/m2, with a prop of 2,000 kN/m2 at its top, preloaded with 30 and yielding at 70 kN/m",
    "beam theory and two springs, closed form", run, (None,), (None,), draw,
)
