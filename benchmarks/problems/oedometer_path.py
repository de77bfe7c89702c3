"""Compression without side movement: elastic, then along the edge of Mohr-Coulomb, and back."""

from __future__ import annotations

import numpy as np

from benchmarks import sketch
from benchmarks.common import mohr_coulomb
from benchmarks.paths import ALGEBRA, HOLDS, compressed
from benchmarks.problem import Answer, Graph, Problem, Row

E, PHI, BEFORE, END = 30e3, 30.0, 20.0, 0.02
"""Young's modulus [kPa], friction [deg], stress all round before [kPa], largest shortening. No cohesion."""

N = np.tan(np.pi / 4 + np.radians(PHI) / 2) ** 2


def moduli(nu):
    """Lame's two and the modulus without side movement [kPa]."""
    lame, G = E * nu / ((1 + nu) * (1 - 2 * nu)), E / (2 * (1 + nu))
    return lame, G, lame + 2 * G


def slopes_at_yield(nu, psi):
    """Growth of upright and side stress by shortening [kPa] once the ground yields.

    Both side stresses are alike and stay so: flow shortens by f and widens each of the two other ways by f K / 2, K = (1 + sin psi) / (1 - sin psi),
    and elastic strain makes up for it. On the strength line upright stress grows N times as fast as side stress, which sets f.
    """
    lame, G, one_way = moduli(nu)
    half = np.tan(np.pi / 4 + np.radians(psi) / 2) ** 2 / 2
    # growth of (upright, side) = (one_way, lame) - f (a, s), with elastic strains 1 - f upright and f half each other way
    a, s = one_way - 2 * lame * half, lame - 2 * (lame + G) * half
    f = (one_way - N * lame) / (a - N * s)
    return one_way - f * a, lame - f * s


def upright_stress(nu, psi, strain):
    """Upright stress [kPa] at a shortening, first loading."""
    lame, _, one_way = moduli(nu)
    limit = np.inf if one_way <= N * lame else (N - 1) * BEFORE / (one_way - N * lame)
    elastic = np.minimum(strain, limit)
    return BEFORE + one_way * elastic + (strain - elastic) * (slopes_at_yield(nu, psi)[0] if np.isfinite(limit) else 0.0)


def run(_) -> Answer:
    down = np.linspace(0, END, 21)[1:]
    path, rows, lines, marks = np.append(down, 0.98 * END), [], [], []
    fine = np.linspace(0, END, 100)
    for nu, psi in ((0.3, 0.0), (0.1, 0.0), (0.1, 10.0)):
        lame, _, one_way = moduli(nu)
        found = compressed(mohr_coulomb(E, nu, PHI, psi, 0.0), (BEFORE, BEFORE, BEFORE), path, 0 * path)
        upright, side = found.stress[:-1, 1], found.stress[:-1, 0]
        last = upright_stress(nu, psi, END)
        beside = BEFORE + lame * END if one_way <= N * lame else last / N
        label = f"nu {nu:g}, psi {psi:g} deg"
        listed = (
            ("upright stress at the end [kPa]", last, upright[-1]),
            ("side stress at the end [kPa]", beside, side[-1]),
            ("stress out of the plane at the end [kPa]", beside, found.stress[-2, 2]),
            ("modulus of unloading [kPa]", one_way, (upright[-1] - found.stress[-1, 1]) / (path[-2] - path[-1])),
        )
        rows += [Row(f"{label}: {name}", expected, value, -HOLDS, HOLDS, ALGEBRA) for name, expected, value in listed]
        lines.append((label, 100 * fine, upright_stress(nu, psi, fine)))
        marks.append((f"fesoil, {label}", 100 * down, upright))
    return Answer(rows, graph=Graph("Shortening [%]", "Upright stress [kPa]", tuple(lines), tuple(marks)))


def draw(ax):
    sketch.box(ax, 0, 1, 0, 1)
    for left, right, bottom, top in ((-0.12, 0, 0, 1), (1, 1.12, 0, 1), (-0.12, 1.12, -0.12, 0)):
        sketch.rigid(ax, left, right, bottom, top)
    sketch.pressure(ax, 0, 1, 1.03, 0.3, "shortening")
    sketch.say(ax, 0.5, 0.5, "1 m")


PROBLEM = Problem(
    "path, oedometer",
    "A square metre without cohesion, 30 deg, compressed up to 2 % between rigid sides: elastic (nu = 0.3), and at yield (nu = 0.1); then unloaded",
    "Hooke's law, and the strength line with flow along its edge, closed form", run, (None,), (None,), draw,
)
