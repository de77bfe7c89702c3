"""Slope 2:1 on a firm base, with and without dilation."""

from __future__ import annotations

import numpy as np

from benchmarks.common import mohr_coulomb
from benchmarks.cuts import Slope, reduced
from benchmarks.problem import Answer, Graph, Problem, Row

HEIGHT, GAMMA, PHI, C = 10.0, 20.0, 20.0, 0.05 * 20.0 * 10.0
"""Height [m], unit weight [kN/m3], friction [deg], cohesion [kPa]."""

LOWER, UPPER = 1.3748, 1.3834
"""Bounds on the safety factor with associated flow, by finite-element limit analysis, computed for the project."""

SLOPE = Slope(np.degrees(np.arctan(0.5)), HEIGHT, 1.2 * HEIGHT)

CASES = (
    (PHI, 1.379, -0.005, 0.022, "limit analysis brackets it by 1.3748 and 1.3834; displacement elements err high, up to 1.41"),
    (0.0, 1.380, -0.0145, 0.022, "published finite elements 1.4 and chart 1.380; without dilation 1.36 to 1.41 holds all known solutions"),
)
"""Dilation [deg], expected factor, its tolerance and the reason."""


def run(h) -> Answer:
    """``h``: mesh size at toe and crest [m]."""
    mesh, rows, marks = SLOPE.mesh(h), [], []
    for psi, expected, low, high, reason in CASES:
        found = reduced(mesh, mohr_coulomb(1e5, 0.3, PHI, psi, C), GAMMA)
        rows.append(Row(f"safety factor, dilation {psi:.0f} deg", expected, found.factor, low, high, reason))
        marks.append((f"fesoil, standing, dilation {psi:.0f} deg", found.stood, 1e3 * found.moved))
    top = max(moved.max(initial=0) for _, _, moved in marks)
    lines = [(name, [at, at], [0, top]) for name, at in (("lower bound", LOWER), ("upper bound", UPPER))]
    return Answer(rows, len(mesh.triangles), Graph("Factor F", "Movement [mm]", tuple(lines), tuple(marks)))


PROBLEM = Problem(
    "slope", "Slope 2:1, 10 m, friction 20 deg, c = 0.05 gamma H, firm base at the toe",
    "Limit analysis computed for the project; Griffiths & Lane 1999, example 1 (1.4) and Bishop & Morgenstern 1960 (1.380), both from memory",
    run, (0.2,), (0.2, 0.1, 0.05), lambda ax: SLOPE.draw(ax, "2 : 1"),
)  # fmt: skip
