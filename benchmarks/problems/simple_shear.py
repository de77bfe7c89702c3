"""Simple shear at a constant upright stress: the shear stress once stress and flow have one direction."""

from __future__ import annotations

import numpy as np

from benchmarks import sketch
from benchmarks.common import mohr_coulomb
from benchmarks.paths import HOLDS
from benchmarks.problem import Answer, Graph, Problem, Row

E, NU, PHI, C, UPRIGHT, SIDE = 30e3, 0.3, 30.0, 10.0, 100.0, 50.0
"""Young's modulus [kPa], Poisson's ratio, friction [deg], cohesion, upright and side stress before [kPa]."""

END, STEPS = 0.3, 150
REASON = "the axes of stress turn towards those of flow and are there long before the end"


def exact(psi):
    """Shear stress at the end [kPa]: Davis 1968, from memory."""
    phi, psi = np.radians([PHI, psi])
    return np.cos(psi) * (UPRIGHT * np.sin(phi) + C * np.cos(phi)) / (1 - np.sin(phi) * np.sin(psi))


def sheared(psi):
    """Shear strain, shear stress [kPa] and widening upright of one point, whose upright stress is kept by Newton's method."""
    law = mohr_coulomb(E, NU, PHI, psi, C)(np.zeros((1, 2)))
    state, found, height = np.array([[[-SIDE, -UPRIGHT, -SIDE, 0.0]]]), [], 0.0
    for step in range(STEPS):
        increment = np.array([[0.0, 0.0, 0.0, END / STEPS]])
        for _ in range(30):
            now = law.update(increment, state)
            short = -UPRIGHT - now.stress[0, 1]
            if abs(short) < 1e-10 * UPRIGHT:
                break
            increment[0, 1] += short / now.tangent[0, 1, 1]
        else:
            return np.full((3, STEPS), np.nan)
        state, height = now.state, height + increment[0, 1]
        found.append([END * (step + 1) / STEPS, now.stress[0, 3], height])
    return np.transpose(found)


def run(_) -> Answer:
    rows, lines, marks = [], [], []
    for psi in (0.0, 10.0, 30.0):
        strain, stress, height = sheared(psi)
        label, dilation = f"psi {psi:g} deg", (height[-1] - height[-2]) / (strain[-1] - strain[-2])
        rows.append(Row(f"{label}: shear stress at the end [kPa]", exact(psi), stress[-1], -HOLDS, HOLDS, REASON))
        expected = 1 + np.tan(np.radians(psi))
        rows.append(Row(f"{label}: 1 + upright widening over shear strain there", expected, 1 + dilation, -HOLDS, HOLDS, REASON))
        lines.append((label, [0, 5], [exact(psi)] * 2))
        marks.append((f"fesoil, {label}", 100 * strain[:25], stress[:25]))
    return Answer(rows, graph=Graph("Shear strain [%]", "Shear stress [kPa]", tuple(lines), tuple(marks)))


def draw(ax):
    sketch.ground(ax, [(0, 0), (1, 0), (1.25, 1), (0.25, 1)])
    sketch.pressure(ax, 0.25, 1.25, 1.03, 0.3, "100 kPa")
    sketch.arrow(ax, (1.4, 0.95), (1.85, 0.95))
    sketch.arrow(ax, (-0.15, 0.05), (-0.6, 0.05))


PROBLEM = Problem(
    "path, simple shear", "One point sheared by up to 30 % at an upright stress of 100 kPa: E = 30 MPa, nu = 0.3, 30 deg, c = 10 kPa",
    "Davis 1968, Theories of plasticity and the failure of soil masses (from memory)", run, (None,), (None,), draw,
)
