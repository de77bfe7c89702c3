"""Rigid strip footing on ground with friction and cohesion but no weight: Nc.

Such ground carries what ground without cohesion carries under a surcharge of c cot(phi), less that (Caquot 1934, from memory). So this also
checks that the law treats the tip of the cone like any other place.
"""

from __future__ import annotations

from benchmarks.common import end_of
from benchmarks.footing import ERRS_HIGH, bearing_factors, cohesive, draw_footing, flat_row, fullest, load_graph
from benchmarks.problem import Answer, Problem, Row

SETTLEMENTS = {20: 0.08, 30: 0.13}
"""Friction [deg] and settlement [m], two to three times that at collapse."""

ANGLES = {0.10: (20, 30), 0.05: (20,), 0.02: (20,)}
"""Angles solved by mesh size; the steep one takes minutes on finer ones. Triangles are counted for the last."""

STEPS = 24


def run(h) -> Answer:
    """``h``: size at the edge of the footing, in half-widths."""
    rows, known, found, triangles = [], {}, {}, None
    for phi in ANGLES[h]:
        exact, label = bearing_factors(phi)[1], f"Nc, {phi} deg"
        curve, triangles = cohesive(phi, h, SETTLEMENTS[phi], STEPS)
        rows += [Row(label, exact, end_of(curve), -0.002, 0.03, ERRS_HIGH), flat_row(label, curve)]
        known[f"exact, {phi} deg"], found[f"{phi} deg"] = exact, (SETTLEMENTS[phi], curve)
    return Answer(rows, triangles, load_graph("Pressure / cohesion", known, found))


PROBLEM = Problem(
    "footing on cohesion with friction", "Smooth rigid strip on associated ground without weight, c = 10 kPa",
    "Nc: Prandtl 1920 (from memory)", run, (), (0.10, 0.05, 0.02), lambda ax: draw_footing(ax, "c = 10 kPa, no weight", width=6), graph=fullest,
)  # fmt: skip
