"""Rigid strip footing on ground without weight and cohesion, beside which a surcharge lies: Nq."""

from __future__ import annotations

from benchmarks.footing import at_angles, bearing_factors, draw_footing, fullest, surcharged
from benchmarks.problem import Answer, Problem

SETTLEMENTS = {20: 0.03, 25: 0.045, 30: 0.07}
"""Friction [deg] and settlement [m], two to three times that at collapse."""

ANGLES = {0.08: (20,), 0.10: (20, 25, 30), 0.05: (20, 25, 30), 0.02: (20,)}
"""Angles solved by mesh size; each has a mesh as wide as it needs, and triangles are counted for the last.

Steep ones take minutes on the finest mesh. At 35 deg a point beside the edge loses all stress, and Newton's method stalls near the limit load.
"""

STEPS = 24


def run(h) -> Answer:
    """``h``: size at the edge of the footing, in half-widths."""
    run_at = lambda phi, settlement: surcharged(phi, h, settlement, STEPS)  # noqa: E731
    return at_angles(ANGLES[h], SETTLEMENTS, lambda phi: bearing_factors(phi)[0], run_at, "Nq", "Pressure / surcharge")


PROBLEM = Problem(
    "footing beside a surcharge", "Smooth rigid strip on associated ground without weight and cohesion, q = 10 kPa beside it",
    "Nq: Reissner 1924 (from memory)", run, (0.08,), (0.10, 0.05, 0.02), lambda ax: draw_footing(ax, "c = 0, no weight", "10 kPa", 6), graph=fullest,
)  # fmt: skip
