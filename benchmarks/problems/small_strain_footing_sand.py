"""The smooth strip on weightless sand with ground that is stiff at small strain: the limit load is that of plain ground."""

from __future__ import annotations

from benchmarks.footing import bearing_factors, draw_footing, load_graph, lowered, surcharged
from benchmarks.problem import Answer, Problem
from benchmarks.small_strain import BETWEEN, NOT_UNIQUE, UNIQUE, P, beside, both_laws, by_points, either, sand

PHI = 20
COARSE = 0.3
"""So coarse that it oversteps the closed form by 7 %, which the ratio of the two laws does not feel."""


def run(h) -> Answer:
    """``h``: size at the edge of the footing, in half-widths."""
    rows, graph, triangles = [], None, None
    exact = bearing_factors(PHI)[0]
    for psi, settlement, steps, apart in ((PHI, 0.5, 20, UNIQUE), (0, 1.2, 12, NOT_UNIQUE)):
        least = bearing_factors(lowered(PHI, psi))[0]
        both, triangles = either(lambda law: surcharged(PHI, h, settlement, steps, by_points(law, sand(PHI, psi, 1.0)), P))
        limits = (-0.002, 0.03, "displacement elements err high; limits of the plain problem") if psi else (least / exact - 1, 0.03, BETWEEN)
        rows += beside(f"Nq, psi {psi} deg", None if h >= COARSE else exact, both, limits, apart)
        graph = graph or load_graph("Pressure / surcharge", {"Nq": exact}, both_laws(settlement, both))
    return Answer(rows, triangles, graph)


PROBLEM = Problem(
    "small strain, footing on sand", "Smooth rigid strip, sand of 20 deg, surcharge 100 kPa, no weight: parts and plain law",
    "Nq: Reissner 1924 (from memory); least value without dilation: Davis 1968 (from memory)",
    run, (COARSE,), (COARSE, 0.1), lambda ax: draw_footing(ax, "phi = 20 deg", "q"),
)  # fmt: skip
