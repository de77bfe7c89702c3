"""Earth-pressure coefficients of the simple method beside numbers that are found without them: a fan of stress step by step, and slip lines."""

from __future__ import annotations

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from benchmarks import earth_pressure, slip_lines
from benchmarks.problem import Answer, Graph, Problem, Row
from fesoil.hand.coefficients import closed_active, closed_passive, cohesion_active, cohesion_passive

ANGLES, SHARES = (20.0, 30.0, 40.0), (0.0, 0.5, 1.0)
"""Friction of the ground [deg], and that of the wall as shares of it."""

SAME = "the same field of stress by another way: the digits of the integration (rtol 1e-10)"
BELOW = "a lower bound on the passive, an upper one on the active; slip lines with 50 lines err by up to 0.2 %. 1 to 21 % below and 0.2 to 3 % above are known of the closed form"


def by_steps(phi, alpha, passive, surcharge, cohesion):
    """Pressure on a wall [kPa] of weightless ground under a surcharge, with adhesion ``alpha`` times the strength of the ground on the wall; angle in radians.

    Mean stress plus c cot(phi) is called m. Along a fan dm = 2 m tan(phi) dt, and at the wall the direction is sought at which the shear is that share of the strength.
    """
    sign = 1 if passive else -1
    s, H = np.sin(phi), cohesion / np.tan(phi)
    first = (surcharge + H) / (1 - sign * s)

    def wall(w):
        """Shear less what the wall bears, over m; ``w`` the turn of the stress from the ground's surface to the wall."""
        return s * np.sin(2 * w) - alpha * np.tan(phi) * (1 + sign * s * np.cos(2 * w))

    most = np.pi / 4 + sign * phi / 2  # where the wall itself is a slip line
    end = brentq(wall, 0.0, most) if wall(most) > 0 else most
    m = solve_ivp(lambda _, m: sign * 2 * m * np.tan(phi), (0, end), [first], rtol=1e-10, atol=1e-12).y[0, -1]
    return m * (1 + sign * s * np.cos(2 * end)) - H


def rows_of(phi, share) -> list[Row]:
    """Rows of one pair of angles."""
    p, d, found = np.radians(phi), np.radians(share * phi), []
    alpha = np.tan(d) / np.tan(p)
    for name, passive, ours, added in (("passive", True, closed_passive, cohesion_passive), ("active", False, closed_active, cohesion_active)):
        what = f"phi {phi:g}, delta {share * phi:g}, {name}"
        sign, value = 1 if passive else -1, float(ours(p, d))
        found.append(Row(f"{what}: surcharge", by_steps(p, alpha, passive, 1.0, 0.0), value, -1e-7, 1e-7, SAME))
        found.append(Row(f"{what}: cohesion", sign * by_steps(p, alpha, passive, 0.0, 1.0), float(added(p, alpha)), -1e-7, 1e-7, SAME))
        limits = (-0.22, 0.002) if passive else (-0.002, 0.035)
        found.append(Row(f"{what}: weight, beside slip lines", slip_lines.earth_pressure(phi, share * phi, passive), value, *limits, BELOW))
    return found


def run(h) -> Answer:
    rows = [row for phi in ANGLES for share in SHARES for row in rows_of(phi, share)]
    fine, marks = np.radians(np.linspace(15, 42, 60)), np.radians(np.array(ANGLES))
    lines = tuple((f"fan by steps, delta = {s:g} phi", np.degrees(fine), np.array([by_steps(p, np.tan(s * p) / np.tan(p), True, 1.0, 0.0) for p in fine])) for s in SHARES)
    ours = tuple((f"fesoil, delta = {s:g} phi", np.array(ANGLES), closed_passive(marks, s * marks)) for s in SHARES)
    return Answer(rows, graph=Graph("Friction of the ground [deg]", "Passive coefficient", lines, ours))


PROBLEM = Problem(
    "hand, coefficients", "Active and passive coefficients of the simple method for friction of 20 to 40 deg and walls from smooth to fully rough",
    "fan of stress integrated step by step; slip lines with weight", run, (None,), (None,), lambda ax: earth_pressure.draw(ax, words="weight, surcharge or cohesion"),
)  # fmt: skip
