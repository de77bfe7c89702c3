"""Rigid wall moved away from sand without turning, with wall friction from none to that of the sand: active coefficient against slip lines."""

from __future__ import annotations

from benchmarks.earth_pressure import beside_slip_lines, draw
from benchmarks.problem import Answer, Problem

CASES = ((30, 0), (30, 1 / 3), (30, 2 / 3), (30, 1), (20, 2 / 3))
"""Friction of the sand [deg] and share of that angle on the wall: delta = 2/3 phi, not tan(delta) = 2/3 tan(phi)."""

QUICK = 0.4
"""Mesh of the quick set [m], on which the third case runs alone."""

MOVE, STEPS = -0.004, 16
"""Movement [m], and steps short enough for plain Newton: relaxation at a wall held still would take the ground off its limit."""

STIFF = "associated, so the limit is unique; displacement elements err on the stiff side, here low: 3 % up to 0.12 m at the toe, then in proportion (a rule set after trial runs)"
BOUND = "ground that can hold more leaves less on the wall: not above the closed form (0.2 % of slack in the equilibrium)"
FLAT = "moved far past the limit; the last third of the movement may take off half a per cent"


def run(h) -> Answer:
    """``h``: size of the triangles at the toe and at the top of the wall [m]."""
    cases = CASES if h < QUICK else CASES[2:3]
    return beside_slip_lines(h, cases, False, MOVE, STEPS, (0.03, 0.03), (STIFF, BOUND, FLAT))


PROBLEM = Problem(
    "rough wall, active",
    "Rigid wall of 5 m moved away from sand without turning; horizontal coefficient of the thrust, no surcharge; delta is a share of the angle phi",
    "slip lines for self-weight computed for the project (slip_lines.py); bound by Lancellotta 2002, as EN 1997-1:2004 annex C (from memory)",
    run, (QUICK,), (0.24, 0.12, 0.05), lambda ax: draw(ax, False, "phi, delta"),
)
