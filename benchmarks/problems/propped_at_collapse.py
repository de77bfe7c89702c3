"""Wall with one prop at collapse: strength reduction against free earth support with the same factor.

With a prop that yields at the load of free earth support the factor is exact. From below: Rankine's states on both sides and that load are in
balance, and the ground under the toe bears. From above: the wall can move as a whole, against Rankine's passive and with his active wedge. A prop
that never yields makes the wall turn about it; the ground behind then arches, Rankine's states are a lower bound only, and the factor is higher.
"""

from __future__ import annotations

import numpy as np

from benchmarks.embedment import FACTOR, Prop, against_factor, draw, propped_depth, propped_load, reduced
from benchmarks.problem import Answer, Problem, Row

HEIGHT, PROP = 6.0, 1.0
"""Depth of the dig, and of the prop [m]."""

DEPTH = propped_depth(HEIGHT, PROP, FACTOR)
LOAD = propped_load(HEIGHT, DEPTH, FACTOR)
"""Embedment [m] and load of the prop [kN/m] by free earth support: 3.188 m and 87.25 kN/m."""

EXACT = "exact; displacement elements at the toe and the width of the search's bracket: 5 %"
BOUND = "not below the lower bound, but for the bracket; no closed form tells how much arching adds"


def run(h) -> Answer:
    """``h``: size of the triangles beside the wall [m]."""
    found = {name: reduced(HEIGHT, DEPTH, h, Prop(PROP, limit)) for name, limit in (("prop that yields", LOAD), ("prop without limit", None))}
    factors = [f.factor for f in found.values()]
    rows = [
        Row("prop that yields at the load of free earth support: factor", FACTOR, factors[0], -0.05, 0.05, EXACT),
        Row("prop without limit: factor beside free earth support", FACTOR, factors[1], -0.005, np.inf, BOUND),
    ]
    return Answer(rows, found["prop that yields"].triangles, against_factor({"free earth support": FACTOR}, found, "toe"))


PROBLEM = Problem(
    "propped wall at collapse",
    "Stiff smooth sheet in dry sand of 30 deg, 6 m dig, prop at 1 m, embedded for a factor of 1.25 on tan(phi); strength reduction",
    "free earth support with Rankine's coefficients, closed form; exact by both theorems of limit analysis where the prop yields", run,
    (0.6,), (0.6, 0.3), lambda ax: draw(ax, HEIGHT, DEPTH, PROP),
)
