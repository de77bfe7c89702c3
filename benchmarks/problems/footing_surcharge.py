"""Rigid strip footing on ground without weight and cohesion, beside which a surcharge lies: Nq."""

from __future__ import annotations

from benchmarks.common import end_of
from benchmarks.footing import ERRS_HIGH, bearing_factors, draw_footing, flat_row, fullest, load_graph, surcharged
from benchmarks.problem import Answer, Problem, Row

SETTLEMENTS = {20: 0.03, 25: 0.045, 30: 0.07}
"""Friction [deg] and settlement [m], two to three times that at collapse."""

ANGLES = {0.08: (20,), 0.10: (20, 25, 30), 0.05: (20, 25, 30), 0.02: (20,)}
"""Angles solved by mesh size; each has a mesh as wide as it needs, and triangles are counted for the last.

Steep ones take minutes on the finest mesh. At 35 deg a point beside the edge loses all stress, and Newton's method stalls near the limit load.
"""

STEPS = 24


def run(h) -> Answer:
    """``h``: size at the edge of the footing, in half-widths."""
    rows, known, found, triangles = [], {}, {}, None
    for phi in ANGLES[h]:
        exact, label = bearing_factors(phi)[0], f"Nq, {phi} deg"
        curve, triangles = surcharged(phi, h, SETTLEMENTS[phi], STEPS)
        rows += [Row(label, exact, end_of(curve), -0.002, 0.03, ERRS_HIGH), flat_row(label, curve)]
        known[f"exact, {phi} deg"], found[f"{phi} deg"] = exact, (SETTLEMENTS[phi], curve)
    return Answer(rows, triangles, load_graph("Pressure / surcharge", known, found))


PROBLEM = Problem(
    "footing beside a surcharge", "Smooth rigid strip on associated ground without weight and cohesion, q = 10 kPa beside it",
    "Nq: Reissner 1924 (from memory)", run, (0.08,), (0.10, 0.05, 0.02), lambda ax: draw_footing(ax, "c = 0, no weight", "10 kPa", 6), graph=fullest,
)  # fmt: skip
