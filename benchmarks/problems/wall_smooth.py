"""Smooth wall on a smooth base: the whole block yields in Rankine's state, passive or active, with cohesion and without."""

from __future__ import annotations

import numpy as np

from benchmarks.common import mohr_coulomb
from benchmarks.common import flat_part
from benchmarks.earth_pressure import GAMMA, H, against_movement, coefficient, draw, rankine
from benchmarks.problem import Answer, Problem, Row

PHI, K = 30.0, 3.0
"""Friction [deg], and Rankine's passive coefficient for it."""

WAYS = (("passive", 1, 0.0, 0.3), ("active", -1, 10.0, -0.05))
"""Name, sign, dilation [deg], movement [m]."""

REASON = "the whole block yields; two per cent is what a designer may expect"
FLAT = "the stress is the same along the whole block, so nothing is left to yield later"


def thrust(sign, c):
    """Rankine's thrust [kN/m] with a cohesion [kPa]; ground that can pull."""
    return GAMMA * H**2 / 2 * K**sign + sign * 2 * c * H * np.sqrt(K**sign)


def run(h) -> Answer:
    """``h``: height of a cell [m]."""
    cells, rows, levels, curves = (round(12 / h), round(H / h)), [], [], {}
    for name, sign, psi, move in WAYS:
        for c in (0.0, 10.0):
            curve = rankine(mohr_coulomb(5e4, 0.3, PHI, psi, c), move, cells)
            values, what = coefficient(curve) * GAMMA * H**2 / 2, f"{name}, c = {c:.0f} kPa"
            rows.append(Row(f"{name} thrust, c = {c:.0f} kPa [kN/m]", thrust(sign, c), values[-1], -0.02, 0.02, REASON))
            rows.append(Row(f"{what}: largest over smallest in the last third", 1.0, flat_part(curve), 0.0, 0.005, FLAT))
            levels.append(thrust(sign, c))
            curves[what] = values
    return Answer(rows, 2 * cells[0] * cells[1], against_movement(levels, curves, y="Thrust [kN/m]"))


PROBLEM = Problem(
    "smooth wall", "Wall of 5 m, smooth, on a smooth base; friction 30 deg, 20 kN/m3; passive without dilation, active with 10 deg",
    "Rankine's states, closed form", run, (1.25,), (2.5, 1.25, 0.625), lambda ax: draw(ax, True, "phi = 30 deg"),
)
