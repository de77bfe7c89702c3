"""Rigid wall moved in undrained clay without turning, smooth or with adhesion: passive and active thrust against the exact coefficient of su."""

from __future__ import annotations

import numpy as np

from benchmarks.common import mohr_coulomb
from benchmarks.common import flat_part
from benchmarks.earth_pressure import GAMMA, H, against_movement, draw, rough_wall
from benchmarks.problem import Answer, Problem, Row

SU, E = 40.0, 1e5
"""Undrained strength and Young's modulus [kPa]."""

SHARES = (0.0, 0.5, 1.0)
"""Adhesion on the wall over su."""

MOVE, STEPS = 0.05, 12
"""Movement [m] and its steps."""

WAYS = (("passive", 1, 0.0), ("active", -1, 4 * SU))
"""Name, sign, surcharge [kPa]: in the active case what keeps the joint closed up to the surface."""

REASON = "associated, so the limit is exact; displacement elements err high both ways: 4 % to 0.12 m at the toe, then in proportion (a rule set after trial runs)"
FLAT = "moved far past the limit; the last third of the movement may add half a per cent"


def exact(share):
    """Kc in thrust = (gamma H / 2 + q) H +- Kc su H.

    Passive: below the surface the mean stress is su more than the vertical one. On the wall the shear share x su turns the principal stresses by half
    of asin(share), over which the mean grows by 2 su times the turn (Hencky); the horizontal stress is sqrt(1 - share^2) su more. Weight adds the
    same to all normal stresses.
    """
    return 1 + np.arcsin(share) + np.sqrt(1 - share**2)


def run(h) -> Answer:
    """``h``: size of the triangles at the toe and at the top of the wall [m]."""
    rows, curves, high, triangles, law = [], {}, 0.04 * max(1, h / 0.12), None, mohr_coulomb(E, 0.495, 0.0, 0.0, SU)
    for way, sign, surcharge in WAYS:
        for share in SHARES:
            curve, triangles = rough_wall(0.0, sign * MOVE, h, 1.0, STEPS, E, law, 0.0, share * SU, surcharge)
            curve = [p._replace(value=sign * (p.value / H - GAMMA * H / 2 - surcharge) / SU) for p in curve]
            name, found = f"{way}, adhesion {share:g} su", curve[-1].value if curve[-1].converged else np.nan
            curves[name] = np.array([p.value for p in curve])
            rows.append(Row(f"{name}: Kc", exact(share), found, -0.005, high, REASON))
            rows.append(Row(f"{name}: largest over smallest in the last third", 1.0, flat_part(curve), 0.0, 0.005, FLAT))
    return Answer(rows, triangles, against_movement([exact(share) for share in SHARES], curves, MOVE, "Kc"))


PROBLEM = Problem(
    "wall in clay",
    "Rigid wall of 5 m moved into or from undrained clay of 40 kPa without turning, smooth to rough; active under a surcharge of four times that",
    "slip lines, exact: Kc = 1 + asin(a / su) + sqrt(1 - (a / su)^2), after Hencky 1923 (derived anew)", run, (0.4,), (0.24, 0.1, 0.05),
    lambda ax: draw(ax, True, "su, adhesion a", True),
)
