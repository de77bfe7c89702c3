"""Drained biaxial compression at a constant side pressure: strength, strain at yield, and flow after it."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from benchmarks import sketch
from benchmarks.common import mohr_coulomb
from benchmarks.paths import ALGEBRA, HOLDS, compressed
from benchmarks.problem import Answer, Graph, Problem, Row
from benchmarks.small_strain import by_points, sand
from fesoil.soils.ground import law_of

E, NU, PHI, C, SIDE, END = 30e3, 0.3, 30.0, 10.0, 100.0, 0.05
"""Young's modulus [kPa], Poisson's ratio, friction [deg], cohesion [kPa], side pressure [kPa] and shortening at the end."""

FAR = 0.15
"""Shortening of the ground that is stiff at small strain, whose last part yields late."""


class Yield(NamedTuple):
    """Stress [kPa] upright and out of the plane, and strains, where ground compressed from an even pressure yields; by Hooke's law."""

    stress: float
    out_of_plane: float
    upright: float
    sideways: float


def ratio(angle):
    """(1 + sin) / (1 - sin) of an angle [deg]."""
    return np.tan(np.pi / 4 + np.radians(angle) / 2) ** 2


def strength(c):
    """Upright stress at failure [kPa]."""
    return ratio(PHI) * SIDE + 2 * c * np.sqrt(ratio(PHI))


def first_yield():
    rise = strength(C) - SIDE
    return Yield(strength(C), SIDE + NU * rise, (1 - NU**2) * rise / E, -NU * (1 + NU) * rise / E)


def widening(psi, upright):
    """Sideways strain at an upright strain: elastic, then flow that widens by (1 + sin psi) / (1 - sin psi) of what it shortens."""
    limit = first_yield()
    elastic = np.minimum(upright, limit.upright)
    return limit.sideways / limit.upright * elastic - ratio(psi) * (upright - elastic)


def run(_) -> Answer:
    limit, even, rows, marks = first_yield(), (SIDE, SIDE, SIDE), [], []
    upright = np.array([*np.linspace(0, limit.upright, 4)[1:], *np.linspace(limit.upright, END, 9)[1:]])
    for psi in (0.0, 10.0, PHI):
        path = compressed(mohr_coulomb(E, NU, PHI, psi, C), even, upright)
        found = (
            ("upright stress at yield [kPa]", limit.stress, path.stress[2, 1]),
            ("stress out of the plane at yield [kPa]", limit.out_of_plane, path.stress[2, 2]),
            ("sideways strain at yield", limit.sideways, path.strain[2, 0]),
            ("upright stress at the end [kPa]", limit.stress, path.stress[-1, 1]),
            ("sideways strain at the end", widening(psi, END), path.strain[-1, 0]),
            ("side pressure with its scatter between points [kPa]", SIDE, path.stress[-1, 0] + path.scatter.max()),
        )
        rows += [Row(f"psi {psi:g} deg: {name}", expected, value, -HOLDS, HOLDS, ALGEBRA) for name, expected, value in found]
        marks.append((f"fesoil, psi {psi:g} deg", 100 * upright, -100 * path.strain[:, 0]))
    fine = np.linspace(0, END, 50)
    lines = tuple((f"psi {psi:g} deg", 100 * fine, -100 * widening(psi, fine)) for psi in (0.0, 10.0, PHI))
    return Answer(rows + small_strain_rows(), graph=Graph("Shortening [%]", "Widening [%]", lines, tuple(marks)))


def small_strain_rows() -> list[Row]:
    """Ground that is stiff at small strain, without cohesion: its parts must add up to the strength of plain ground."""
    rows, reason = [], "once the last part yields, all flow in one direction and their strengths add up to the soil's"
    for psi in (0.0, 10.0, PHI):
        path = compressed(by_points(law_of, sand(PHI, psi, 1.0)), (SIDE, SIDE, SIDE), np.geomspace(1e-4, FAR, 25))
        label = f"stiff at small strain, psi {psi:g} deg: upright stress at the end [kPa]"
        rows.append(Row(label, strength(0.0), path.stress[-1, 1], -HOLDS, HOLDS, reason))
    return rows


def draw(ax):
    sketch.box(ax, 0, 1, 0, 1)
    sketch.arrow(ax, (0.5, 1.5), (0.5, 1.03), "shortening")
    sketch.arrow(ax, (0.5, -0.5), (0.5, -0.03))
    for y in (0.25, 0.75):
        sketch.arrow(ax, (1.45, y), (1.03, y))
        sketch.arrow(ax, (-0.45, y), (-0.03, y))
    sketch.say(ax, 1.45, 0.5, "100 kPa")
    sketch.say(ax, 0.5, 0.5, "1 m")


PROBLEM = Problem(
    "path, biaxial, drained",
    "A square metre compressed upright at a side pressure of 100 kPa: E = 30 MPa, nu = 0.3, 30 deg, c = 10 kPa; also ground stiff at small strain",
    "s1 = N s3 + 2 c sqrt(N), Hooke's law up to it and Mohr-Coulomb flow after it, closed form", run, (None,), (None,), draw,
)
