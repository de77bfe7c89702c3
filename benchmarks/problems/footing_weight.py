"""Rigid strip footing on heavy ground with hardly any cohesion: Ngamma, smooth.

A load without any cohesion could not be reached by steps: at the surface beside the footing the ground has no strength at all. So the slip lines take
the same small cohesion; and without it they are held against the published factor.
"""

from __future__ import annotations

from benchmarks.footing import ERRS_HIGH, HALF, draw_footing, end_of, flat_row, heavy, load_graph
from benchmarks.problem import Answer, Problem, Row
from benchmarks.slip_lines import smooth_footing

N_GAMMA = {20: 1.57862, 25: 3.46106, 30: 7.65300, 35: 17.5770}
"""Smooth base: Martin 2005 (IACMAG, Turin), from memory; the march of slip_lines.py must give the same for a vanishing cohesion."""

GAMMA, C = 20.0, 2.0
"""Unit weight [kN/m3] and cohesion [kPa]."""

PUSHES = {20: (0.06, 30), 25: (0.12, 60)}
"""Friction [deg]: settlement [m], about twice that at collapse, and steps."""

ANGLES = {0.08: (20,), 0.06: (20, 25), 0.04: (20,), 0.025: (20,)}
"""Angles solved by mesh size: the steeper ones on finer meshes need relaxation, take minutes and waver by more than a per cent."""


def slip_lines() -> Answer:
    agree = "the two agree to four digits, as check of the slip lines that the elements are held against"
    rows = [
        Row(f"Ngamma, {phi} deg, no cohesion, by slip lines", published, smooth_footing(phi, 1.0, 1e-6, 1.0), -1e-3, 1e-3, agree)
        for phi, published in N_GAMMA.items()
    ]
    return Answer(rows)


def run(h) -> Answer:
    """``h``: size at the surface under the footing, in half-widths; None for the slip lines."""
    if h is None:
        return slip_lines()
    rows, known, found, triangles = [], {}, {}, None
    for phi in ANGLES[h]:
        exact, label = smooth_footing(phi, GAMMA, C, HALF) / (GAMMA * HALF), f"2 p / (gamma B), {phi} deg"
        curve, triangles = heavy(phi, h, *PUSHES[phi], C, exact, GAMMA)
        rows += [Row(label, exact, end_of(curve), -0.002, 0.05, ERRS_HIGH), flat_row(label, curve)]
        known[f"slip lines, {phi} deg"], found[f"{phi} deg"] = exact, (PUSHES[phi][0], curve)
    return Answer(rows, triangles, load_graph("2 p / (gamma B)", known, found))


def across(answers):
    excess = [answer.rows[0].difference for answer in answers if answer.triangles]
    if len(excess) < 2:
        return []
    return [Row("excess at 20 deg, finest/coarsest mesh", 0.5, excess[-1] / excess[0], -1.0, 0.9, "must fall under refinement")]


PROBLEM = Problem(
    "footing on heavy ground", "Smooth rigid strip of 8 m, associated, 20 kN/m3, c = 2 kPa",
    "slip lines computed for the project (slip_lines.py); for no cohesion Martin 2005 (from memory)", run, (None, 0.08), (None, 0.06, 0.04, 0.025),
    lambda ax: draw_footing(ax, "20 kN/m3, c = 2 kPa", width=5), across,
)  # fmt: skip
