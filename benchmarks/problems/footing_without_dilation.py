"""Rigid strip footing on frictional ground that dilates little or not at all: the load lies between two closed forms.

Slip bands come and go in such ground. Without dilation the load wavers by some per cent however short the steps are, so means over a part of
the movement are compared.
"""

from __future__ import annotations

import numpy as np

from benchmarks.common import mohr_coulomb
from benchmarks.footing import bearing_factors, draw_footing, load_graph, lowered, surcharged
from benchmarks.problem import Answer, Problem, Row

PHI, DILATIONS = 30.0, (10.0, 0.0)
"""Angles of friction and dilation [deg]."""

SETTLEMENT, STEPS = 0.20, 40

BETWEEN = "between the closed forms for the friction lowered by Davis 1968 and for the whole, which elements overstep"
NO_RISE = "it wavers but does not rise: a mechanism carries no more load however far it moves (means, chosen after it had been seen to waver by 5 %)"


def mean_between(curve, start, end):
    """Mean load between two shares of the movement; nan where equilibrium was lost before."""
    return np.mean([p.value for p in curve if start < p.share <= end + 1e-9]) if curve[-1].converged else np.nan


def run(h) -> Answer:
    """``h``: size at the edge of the footing, in half-widths."""
    exact = bearing_factors(PHI)[0]
    rows, known, found, triangles = [], {"exact, associated": exact}, {}, None
    for psi in DILATIONS:
        least, label = bearing_factors(lowered(PHI, psi))[0], f"Nq, psi {psi:g} deg"
        curve, triangles = surcharged(PHI, h, SETTLEMENT, STEPS, mohr_coulomb(1e5, 0.3, PHI, psi, 0.0))
        before, last = mean_between(curve, 1 / 3, 2 / 3), mean_between(curve, 2 / 3, 1)
        rows.append(Row(f"{label}, mean of the last third", exact, last, least / exact - 1, 0.03, BETWEEN))
        rows.append(Row(f"{label}: mean load, last third/the third before", 1.0, last / before, -0.02, 0.02, NO_RISE))
        known[f"lowered, psi {psi:g} deg"], found[f"psi {psi:g} deg"] = least, (SETTLEMENT, curve)
    return Answer(rows, triangles, load_graph("Pressure / surcharge", known, found))


PROBLEM = Problem(
    "footing, little dilation", "Smooth rigid strip on ground of 30 deg without weight and cohesion, dilation 0 or 10 deg, q = 10 kPa beside it",
    "Nq: Reissner 1924, with tan(phi) lowered by cos(psi) cos(phi) / (1 - sin(psi) sin(phi)): Davis 1968 (both from memory)", run, (), (0.20, 0.10),
    lambda ax: draw_footing(ax, "30 deg, c = 0, no weight", "10 kPa"),
)  # fmt: skip
