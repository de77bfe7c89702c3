"""Rigid wall moved in sand that does not dilate: thrust between slip lines with the strength of the sand and with Davis's lowered one."""

from __future__ import annotations

import numpy as np

from benchmarks.common import flat_part
from benchmarks.earth_pressure import against_movement, coefficient, draw, pushed_by
from benchmarks.problem import Answer, Problem, Row
from benchmarks.slip_lines import earth_pressure

PHI, DELTA = 30.0, 20.0
"""Friction of the sand and of the wall [deg]."""

LOWERED = float(np.degrees(np.arctan(np.sin(np.radians(PHI)))))
"""Friction that a slip line of no dilation carries [deg]: tan = sin(phi) for psi = 0 (Davis 1968)."""

WAYS = ((True, 0.072, 24), (False, -0.004, 16))
"""Passive or active, movement [m], steps."""

REASON = "no unique limit without dilation: between Davis's lowered strength and the whole one; the elements may be too stiff by 4 and 3 %"
FLAT = "slip bands come and go without dilation: the curve may waver by 3 %"


def run(h) -> Answer:
    """``h``: size of the triangles at the toe and at the top of the wall [m]."""
    rows, levels, curves, triangles = [], [], {}, None
    for passive, move, steps in WAYS:
        curve, triangles = pushed_by(move, h, PHI, DELTA, 0.0, steps)
        whole, least = earth_pressure(PHI, DELTA, passive), earth_pressure(LOWERED, DELTA, passive)
        name = "passive" if passive else "active"
        low, high = (least / whole - 1, 0.04) if passive else (-0.03, least / whole - 1)
        rows.append(Row(f"{name}: coefficient beside that with dilation", whole, coefficient(curve)[-1], low, high, REASON))
        rows.append(Row(f"{name}: largest over smallest in the last third", 1.0, flat_part(curve), 0.0, 0.03, FLAT))
        levels += [whole, least]
        curves[f"{name}, {1e3 * abs(move):g} mm"] = coefficient(curve)
    return Answer(rows, triangles, against_movement(levels, curves))


PROBLEM = Problem(
    "wall, sand without dilation", "Rigid wall of 5 m moved in sand of 30 deg that does not dilate, without turning; wall of 20 deg",
    "Davis 1968 (from memory), with slip lines for self-weight computed for the project (slip_lines.py)", run, (), (0.24, 0.12),
    lambda ax: draw(ax, True, "phi = 30 deg, psi = 0"),
)
