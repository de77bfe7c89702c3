"""The smooth strip on clay with ground that is stiff at small strain: the limit load is that of plain ground."""

from __future__ import annotations

import numpy as np

from benchmarks.footing import draw_footing, load_graph, undrained
from benchmarks.problem import Answer, Problem
from benchmarks.small_strain import UNIQUE, beside, both_laws, by_points, clay, either

EXACT = 2 + np.pi
REASON = "displacement elements err high; limits of the plain problem"
COARSE = 0.06


def run(h) -> Answer:
    """``h``: size at the edge of the footing, in half-widths.

    The finer mesh is coarser than that of the plain problem, where parts need relaxation even in steps of 0.01 m.
    """
    settlement, steps, high = (0.6, 12, 0.02) if h >= COARSE else (0.5, 20, 0.008)
    both, triangles = either(lambda law: undrained(h, settlement, steps, by_points(law, clay())))
    graph = load_graph("Pressure / su", {"2 + pi": EXACT}, both_laws(settlement, both))
    return Answer(beside("Nc", EXACT, both, (-0.002, high, REASON), UNIQUE), triangles, graph)


PROBLEM = Problem(
    "small strain, footing on clay", "Smooth rigid strip on clay, su = 10 kPa, G0 = 500 su: parts and plain law",
    "Nc = 2 + pi: Prandtl 1920 (from memory)", run, (COARSE,), (COARSE, 0.02), lambda ax: draw_footing(ax, "su = 10 kPa"),
)  # fmt: skip
