"""Thick cylinder of undrained clay pushed out from inside: partly plastic, and to collapse, with little and with almost no compressibility."""

from __future__ import annotations

import numpy as np

from benchmarks.common import flat_part, mohr_coulomb
from benchmarks.opening import draw_ring, expand, radial, ring
from benchmarks.problem import Answer, Graph, Problem, Row

SU, E, A, B, RP = 25.0, 21e3, 1.0, 2.0, 1.5
"""Strength and Young's modulus [kPa], radii [m], and the plastic radius [m] at which answers are compared."""

LIMIT = 2 * SU * np.log(B / A)
RATIOS = (0.3, 0.49)
"""Poisson's ratios."""

FARTHEST = 8
"""Largest movement in terms of that at which the plastic radius is RP."""

PARTLY = "0.5 % with cells of 1/12 (a finer mesh changes it by a tenth at most), by the size elsewhere, since the border of yield cuts triangles"
COLLAPSE = "nearly incompressible and yet no locking; errs high"


def partly(rp, nu):
    """Pressure [kPa], movement [m] of the inside and of the outside with a plastic radius."""
    outside = SU * (1 - rp**2 / B**2)
    p = 2 * SU * np.log(rp / A) + outside
    at_rp = (1 + nu) / E * SU * rp * ((1 - 2 * nu) * rp**2 / B**2 + 1)
    inner = (at_rp * rp - (1 + nu) * (1 - 2 * nu) / E * (A**2 * p - rp**2 * outside)) / A
    return p, inner, 2 * (1 - nu**2) * SU * rp**2 / (E * B)


def known(nu, end):
    """Movement of the inside [mm] and pressure [kPa] as far as a movement [m]."""
    p, inner, _ = partly(np.linspace(A, B, 50), nu)
    return np.array([0.0, *inner, end]) * 1e3, np.array([0.0, *p, LIMIT])


def run(h) -> Answer:
    """``h``: share of the quarter round that a cell takes."""
    around = round(1 / h)
    mesh, _ = ring(A, B, around, int(0.44 * around) + 1)
    rows, lines, marks, high = [], [], [], 0.005 * 12 * h
    shares = np.concatenate([np.arange(1, 9) / 8, np.arange(3, 2 * FARTHEST + 1) / 2]) / FARTHEST
    for nu in RATIOS:
        p, inner, outer = partly(RP, nu)
        curve, _ = expand(mesh, mohr_coulomb(E, nu, 0, 0, SU), 0.0, FARTHEST * inner, shares)
        rows += [
            Row(f"pressure with plastic radius 1.5 m, nu = {nu} [kPa]", p, curve[7].value, -high, high, PARTLY),
            Row(f"movement of the outside then, nu = {nu} [m]", outer, radial(mesh, curve[7].state, B), -high, high, PARTLY),
            Row(f"pressure at collapse, nu = {nu} [kPa]", LIMIT, curve[-1].value, -0.001, high, COLLAPSE),
            Row(f"pressure in the last third, largest/smallest, nu = {nu}", 1.0, flat_part(curve), -1e-12, 1e-3, "a plateau"),
        ]
        lines.append((f"Hill, nu = {nu}", *known(nu, FARTHEST * inner)))
        marks.append((f"fesoil, nu = {nu}", [1e3 * FARTHEST * inner * point.share for point in curve], [point.value for point in curve]))
    graph = Graph("Movement of the inside [mm]", "Pressure [kPa]", tuple(lines), tuple(marks))
    return Answer(rows, len(mesh.triangles), graph)


PROBLEM = Problem(
    "cylinder, clay", "Thick cylinder of undrained clay (su = 25 kPa, E = 21 MPa, radii 1 and 2 m) pushed out from inside",
    "Hill 1950, chapter V (from memory), closed form in the file", run, (1 / 12,), (1 / 6, 1 / 12, 1 / 24),
    lambda ax: draw_ring(ax, A, B, ("a = 1 m", "b = 2 m")),
)  # fmt: skip
