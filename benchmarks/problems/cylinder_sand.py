"""Thick cylinder of Mohr-Coulomb ground pushed out from inside: first yield, partly plastic, and the limit pressure."""

from __future__ import annotations

import numpy as np

from benchmarks.common import flat_part, mohr_coulomb
from benchmarks.opening import Friction, draw_ring, expand, radial, ring, square_cells
from benchmarks.problem import Answer, Graph, Problem, Row

A, B, P0, RP = 1.0, 5.0, 50.0, 2.0
"""Radii [m], pressure outside and in the ground before [kPa], and the plastic radius [m] at which answers are compared."""

DILATIONS = (0.0, 10.0)
BEYOND = 3
"""Largest movement in terms of that at which all is plastic."""

SHARES = 0.9 + 0.02 * np.arange(16)
"""Steps in which first yield is looked for, in terms of the movement at which it is due."""

FIRST = "one step low; high by the step, and by the innermost points, which lie up to a fifth of a cell inside"
PARTLY = "1 % with cells of 1/16, and by the size elsewhere, since the border of yield cuts triangles"
MOVED = "half as much again as the pressure, which rises ever less with the movement"
COLLAPSE = "as the partly plastic cylinder; displacement elements err high"


def elastic_part(soil: Friction, rp):
    """Stress measure D [kPa] and (b / rp)^2 of the elastic ring outside a plastic radius."""
    (N, Y, _), m = soil.yielding, (B / rp) ** 2
    return (P0 * (N - 1) + Y) / ((m - 1) + N * (m + 1)), m


def partly(soil: Friction, rp):
    """Pressure [kPa], movement [m] of the inside and of the outside with a plastic radius; elastic strains kept in the plastic zone."""
    (N, _, H), K, nu, G, (D, m) = soil.yielding, soil.flow, soil.nu, soil.G, elastic_part(soil, rp)
    falls = (N - 1) / N
    p = (P0 + D * (m - 1) + H) * (rp / A) ** falls - H
    at_rp = rp * ((1 - nu) * D * (m + 1) + nu * D * (m - 1)) / (2 * G)
    B1 = (K * ((1 - nu) - nu / N) + (1 - nu) / N - nu) / (2 * G) * (p + H) * A**falls
    B0 = -(P0 + H) * (1 - 2 * nu) * (1 + K) / (2 * G)
    to = lambda r: B1 * r ** (1 + 1 / K - falls) / (1 + 1 / K - falls) + B0 * r ** (1 + 1 / K) / (1 + 1 / K)  # noqa: E731
    return p, (at_rp * rp ** (1 / K) + (to(rp) - to(A)) / K) / A ** (1 / K), B * (1 - nu) * D / G


def known(soil: Friction, end):
    """Movement of the inside [mm] and pressure [kPa] as far as a movement [m]."""
    p, inner, _ = partly(soil, np.linspace(A, B, 60))
    return np.array([0.0, *inner, end]) * 1e3, np.array([P0, *p, p[-1]])


def run(h) -> Answer:
    """``h``: share of the quarter round that a cell takes."""
    mesh, _ = ring(A, B, round(1 / h), square_cells(A, B, round(1 / h)))
    answers = [expanded(mesh, Friction(psi=psi), f"dilation {psi:.0f} deg", h) for psi in DILATIONS]
    rows, lines, marks = zip(*answers)
    return Answer(sum(rows, []), len(mesh.triangles), Graph("Movement of the inside [mm]", "Pressure [kPa]", lines, marks))


def expanded(mesh, soil: Friction, name, h):
    """Rows, line of the known answer and marks of ours for one dilation angle."""
    (p_first, first, _), (p, inner, outer), (limit, whole, _) = (partly(soil, rp) for rp in (A, RP, B))
    stretches = (first * SHARES[-1], inner, 8), (inner, whole, 9), (whole, BEYOND * whole, 13)
    moves = np.concatenate([first * SHARES, *(np.linspace(*stretch)[1:] for stretch in stretches)])
    curve, model = expand(mesh, mohr_coulomb(*soil[:2], soil.phi, soil.psi, soil.c), P0, moves[-1], moves / moves[-1])
    ours = np.array([point.value for point in curve])
    yields = next(point.value for point in curve if model.ground.mobilised(point.state.stress).max() > 1 - 1e-9)
    then, high = curve[len(SHARES) + 6], 0.01 * 16 * h
    step = 0.02 * (1 - P0 / p_first)
    inside = 0.4 * np.pi / 2 * h * (1 - P0 / p_first)
    rows = [
        Row(f"pressure at first yield, {name} [kPa]", p_first, yields, -step, step + inside, FIRST),
        Row(f"pressure with plastic radius 2 m, {name} [kPa]", p, then.value, -high, high, PARTLY),
        Row(f"movement of the inside under that pressure, {name} [m]", inner, np.interp(p, ours, moves[: len(ours)]), -1.5 * high, 1.5 * high, MOVED),
        Row(f"movement of the outside then, {name} [m]", outer, radial(mesh, then.state, B), -high, high, PARTLY),
        Row(f"limit pressure, {name} [kPa]", limit, curve[-1].value if curve[-1].converged else np.nan, -high, high, COLLAPSE),
        Row(f"pressure in the last third, largest/smallest, {name}", 1.0, flat_part(curve), -1e-12, 1e-3, "a plateau"),
    ]
    drawn = np.r_[0 : len(SHARES) : 8, len(SHARES) : len(ours)]
    return rows, (f"closed form, {name}", *known(soil, moves[-1])), (f"fesoil, {name}", 1e3 * moves[drawn], ours[drawn])


PROBLEM = Problem(
    "cylinder, sand", "Thick cylinder (radii 1 and 5 m, E = 50 MPa, nu = 0.3, c = 5 kPa, 30 deg) under 50 kPa, pushed out from inside",
    "small-strain limit of Yu 1992, Computers and Geotechnics 14 (from memory); derived afresh, closed form in the file",
    run, (1 / 8,), (1 / 8, 1 / 16, 1 / 32), lambda ax: draw_ring(ax, A, B, ("a = 1 m", "b = 5 m"), endless=True),
)  # fmt: skip
