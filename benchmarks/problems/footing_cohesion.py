"""Rigid strip footing on ground with friction and cohesion but no weight: Nc.

Such ground carries what ground without cohesion carries under a surcharge of c cot(phi), less that (Caquot 1934, from memory). So this also
checks that the law treats the tip of the cone like any other place.
"""

from __future__ import annotations

from benchmarks.footing import at_angles, bearing_factors, cohesive, draw_footing, fullest
from benchmarks.problem import Answer, Problem

SETTLEMENTS = {20: 0.08, 30: 0.13}
"""Friction [deg] and settlement [m], two to three times that at collapse."""

ANGLES = {0.10: (20, 30), 0.05: (20,), 0.02: (20,)}
"""Angles solved by mesh size; the steep one takes minutes on finer ones. Triangles are counted for the last."""

STEPS = 24


def run(h) -> Answer:
    """``h``: size at the edge of the footing, in half-widths."""
    run_at = lambda phi, settlement: cohesive(phi, h, settlement, STEPS)  # noqa: E731
    return at_angles(ANGLES[h], SETTLEMENTS, lambda phi: bearing_factors(phi)[1], run_at, "Nc", "Pressure / cohesion")


PROBLEM = Problem(
    "footing on cohesion with friction", "Smooth rigid strip on associated ground without weight, c = 10 kPa",
    "Nc: Prandtl 1920 (from memory)", run, (), (0.10, 0.05, 0.02), lambda ax: draw_footing(ax, "c = 10 kPa, no weight", width=6), graph=fullest,
)  # fmt: skip
