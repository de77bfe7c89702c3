"""Cantilever wall at collapse: strength reduction against the full and the simplified hand calculation with the same factor."""

from __future__ import annotations

from benchmarks.embedment import FACTOR, against_factor, draw, full_depth, full_factor, reduced, simple_depth
from benchmarks.problem import Answer, Problem, Row

HEIGHT = 4.0
"""Depth of the dig [m]."""

FULL_DEPTH, SIMPLE_DEPTH = full_depth(HEIGHT, FACTOR), simple_depth(HEIGHT, FACTOR)
"""Embedments [m] by the full and by the simplified method: 5.213 and 5.893."""

HIGHER = full_factor(HEIGHT, SIMPLE_DEPTH)
"""Factor by the full method of the wall made by the simplified one."""

REASON = "Rankine's states are a lower bound, and above the pivot they move as a mechanism; elements at the toe and the search's bracket: 5 %"
SAFE = "the simplified method is on the safe side: not below it but for the bracket, nor further above the full method than 5 %"


def run(h) -> Answer:
    """``h``: size of the triangles beside the wall [m]."""
    walls = {"wall of the full method": FULL_DEPTH, "wall of the simplified method": SIMPLE_DEPTH}
    found = {name: reduced(HEIGHT, depth, h) for name, depth in walls.items()}
    full, simple = (f.factor for f in found.values())
    rows = [
        Row("wall of the full method: factor", FACTOR, full, -0.05, 0.05, REASON),
        Row("wall of the simplified method: factor beside the full method", HIGHER, simple, -0.05, 0.05, REASON),
        Row("wall of the simplified method: factor beside the simplified method", FACTOR, simple, -0.005, HIGHER * 1.05 / FACTOR - 1, SAFE),
    ]
    known = {"full method, its own wall": FACTOR, "full method, the other wall": HIGHER}
    return Answer(rows, found["wall of the full method"].triangles, against_factor(known, found, "top"))


PROBLEM = Problem(
    "cantilever wall at collapse",
    "Stiff smooth sheet in dry sand of 30 deg, 4 m dig, embedded for a factor of 1.25 on tan(phi) by two methods; strength reduction",
    "cantilever method, full and simplified, with Rankine's coefficients, closed form (as in CIRIA report 104, from memory)", run,
    (), (0.6, 0.3), lambda ax: draw(ax, HEIGHT, FULL_DEPTH),
)
