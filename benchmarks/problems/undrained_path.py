"""Compression at constant volume: the strength that friction gives, its growth with dilation, and total stress clay."""

from __future__ import annotations

import numpy as np

from benchmarks import sketch
from benchmarks.common import mohr_coulomb
from benchmarks.paths import ALGEBRA, HOLDS, compressed
from benchmarks.problem import Answer, Graph, Problem, Row
from benchmarks.small_strain import SU as SOFT, by_points, clay
from fesoil.soils.ground import law_of

E, NU, PHI, C, SU, END = 30e3, 0.3, 30.0, 10.0, 40.0, 0.05
"""Young's modulus [kPa], Poisson's ratio, friction [deg], cohesion and undrained strength [kPa], shortening at the end."""

STARTS = {"stress all round": (100.0, 100.0, 100.0), "at-rest ratio 0.5": (50.0, 100.0, 50.0)}
"""Stress before (xx, yy, zz) [kPa]."""

SIN, COS, G = np.sin(np.radians(PHI)), np.cos(np.radians(PHI)), E / (2 * (1 + NU))


def radius(before, psi, upright):
    """Radius of the circle of stress [kPa] at an upright strain: elastic, then on the strength line.

    Elastic ground keeps the mean of the circle. With dilation flow gives sin(psi) of its shear strain as volume, which elastic compression
    must take: the mean grows by G / (1 - 2 nu) of that, and the radius by sin(phi) of the mean.
    """
    mean, first = (before[0] + before[1]) / 2, (before[1] - before[0]) / 2
    strength = C * COS + mean * SIN
    shear = 2 * np.asarray(upright)  # upright less sideways strain
    beyond = np.maximum(shear - (strength - first) / G, 0)
    lift = SIN * np.sin(np.radians(psi)) / (1 - 2 * NU)
    return np.minimum(first + G * shear, strength) + G * lift / (1 + lift) * beyond


def clay_row(label, su, law, before, upright) -> Row:
    """Strength of clay by total stress, whatever its stress before."""
    path = compressed(law, before, upright, -upright)
    return Row(f"{label}: radius at the end [kPa]", su, (path.stress[-1, 1] - path.stress[-1, 0]) / 2, -HOLDS, HOLDS, ALGEBRA)


def run(_) -> Answer:
    upright, fine, rows, lines, marks = np.linspace(0, END, 26)[1:], np.linspace(0, END, 200), [], [], []
    for start, before in STARTS.items():
        mean = (before[0] + before[1]) / 2
        for psi in (0.0, 2.0):
            path, label = compressed(mohr_coulomb(E, NU, PHI, psi, C), before, upright, -upright), f"{start}, psi {psi:g} deg"
            half = (path.stress[:, 1] - path.stress[:, 0]) / 2
            rows.append(Row(f"{label}: radius of the circle at the end [kPa]", radius(before, psi, END), half[-1], -HOLDS, HOLDS, ALGEBRA))
            if psi == 0:
                rows.append(Row(f"{label}: its mean at the end [kPa]", mean, path.stress[-1, :2].mean(), -HOLDS, HOLDS, ALGEBRA))
            lines.append((label, 100 * fine, radius(before, psi, fine)))
            marks.append((f"fesoil, {label}", 100 * upright, half))
        rows.append(clay_row(f"total stress clay, {start}", SU, mohr_coulomb(1e3 * SU, 0.495, 0, 0, SU), before, upright))
    stiff = by_points(law_of, clay())
    rows.append(clay_row("total stress clay, stiff at small strain", SOFT, stiff, (SOFT, SOFT, SOFT), np.geomspace(1e-4, 0.1, 25)))
    return Answer(rows, graph=Graph("Shortening [%]", "Radius of the circle of stress [kPa]", tuple(lines), tuple(marks)))


def draw(ax):
    sketch.box(ax, 0, 1, 0, 1)
    sketch.arrow(ax, (0.5, 1.5), (0.5, 1.03))
    sketch.arrow(ax, (0.5, -0.5), (0.5, -0.03))
    for y in (0.25, 0.75):
        sketch.arrow(ax, (1.03, y), (1.45, y))
        sketch.arrow(ax, (-0.03, y), (-0.45, y))
    sketch.say(ax, 0.5, 0.5, "constant volume")


PROBLEM = Problem(
    "path, constant volume",
    "A square metre shortened and widened alike: E = 30 MPa, nu = 0.3, 30 deg, c = 10 kPa, psi 0 and 2 deg; clay of su = 40 kPa by total stress",
    "c cos phi + mean sin phi, elastic ground keeps the mean, closed form", run, (None,), (None,), draw,
)
