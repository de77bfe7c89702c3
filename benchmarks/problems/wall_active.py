"""Rigid wall moved away from sand without turning, with wall friction from none to that of the sand: active coefficient against slip lines."""

from __future__ import annotations

from benchmarks.common import flat_part
from benchmarks.earth_pressure import against_movement, coefficient, draw, lower_bound, pushed_by
from benchmarks.problem import Answer, Problem, Row
from benchmarks.slip_lines import earth_pressure

CASES = ((30, 0), (30, 1 / 3), (30, 2 / 3), (30, 1), (20, 2 / 3))
"""Friction of the sand [deg] and share of that angle on the wall: delta = 2/3 phi, not tan(delta) = 2/3 tan(phi)."""

QUICK = 0.4
"""Mesh of the quick set [m], on which the third case runs alone."""

MOVE, STEPS = -0.004, 16
"""Movement [m], and steps short enough for plain Newton: relaxation at a wall held still would take the ground off its limit."""

STIFF = "associated, so the limit is unique; displacement elements err on the stiff side, here low: 3 % up to 0.12 m at the toe, then in proportion"
FAN = "the same and half as much again, as the stress turns through its whole fan at the top of the wall"
BOUND = "ground that can hold more leaves less on the wall: not above the closed form (0.2 % of slack in the equilibrium)"
FLAT = "moved far past the limit; the last third of the movement may take off half a per cent"


def run(h) -> Answer:
    """``h``: size of the triangles at the toe and at the top of the wall [m]."""
    rows, levels, curves, triangles = [], [], {}, None
    for phi, share in CASES if h < QUICK else CASES[2:3]:
        delta = share * phi
        name = f"phi {phi}, delta {delta:.3g}"
        curve, triangles = pushed_by(MOVE, h, phi, delta, steps=STEPS)
        exact, bound, limit = earth_pressure(phi, delta, False), lower_bound(phi, delta, False), 0.03 * max(1, h / 0.12) * (1.5 if share == 1 else 1)
        curves[name] = coefficient(curve)
        found = curves[name][-1]
        rows.append(Row(f"{name}: coefficient", exact, found, -limit, 0.03, FAN if share == 1 else STIFF))
        if delta:
            rows.append(Row(f"{name}: beside the closed form", bound, found, exact * (1 - limit) / bound - 1, 0.002, BOUND))
        rows.append(Row(f"{name}: largest over smallest in the last third", 1.0, flat_part(curve), 0.0, 0.005, FLAT))
        levels.append(exact)
    return Answer(rows, triangles, against_movement(levels, curves, MOVE))


PROBLEM = Problem(
    "rough wall, active",
    "Rigid wall of 5 m moved away from sand without turning; horizontal coefficient of the thrust, no surcharge; delta is a share of the angle phi",
    "slip lines for self-weight computed for the project (slip_lines.py); bound by Lancellotta 2002, as EN 1997-1:2004 annex C (from memory)",
    run, (QUICK,), (0.24, 0.12, 0.05), lambda ax: draw(ax, False, "phi, delta"),
)
