"""Walls as beams on springs at their limit: in very stiff ground they fall where moments and forces of the whole active and passive pressure say so."""

from __future__ import annotations

import numpy as np

from benchmarks.embedment import draw, full_depth, propped_depth, propped_load
from benchmarks.problem import Answer, Graph, Problem, Row
from benchmarks.problems.hand_walls import JOB, Ground
from fesoil import read_text
from fesoil.hand.limits import Choice
from fesoil.hand.springs_staged import staged_beam

HEIGHT, FREE, PROP = 6.0, 4.0, 0.0
"""Dig before the propped wall and before the cantilever, depth of the prop [m]: at the top, so that no ground above it helps."""

STIFF, CLOSE = 1e3, 1e-4
"""Factor on the slope of the springs; width [m] to which the least toe is found."""

FRAME = """declared = ["dig before lock", "frame below dig"]
fit = ["prop"]
lock = ["prop"]
[[frames]]
name = "prop"
between = ["wall", "axis"]
level = {level}
stiffness = "1 GPa"
"""

TOE = "all is at its limit but a short length about the point of turning, which shrinks with the movement: 0.1 %, the width of the search is 0.003 %"
FORCES = "as for the embedment, on forces: 0.5 %, with levels 0.1 m apart for the greatest moment"


def last_stage(embedment, dig, prop, factor):
    """The wall with an embedment [m], dug out in one stage."""
    text = JOB.format(**Ground(18, 30)._asdict(), toe=-dig - embedment, dig=-dig)
    if prop:
        text += FRAME.format(level=-PROP)
    return staged_beam(read_text(text), "wall", choice=Choice(factor), stiffness_factor=STIFF)[-1]


def least(dig, prop, factor, between):
    """Least embedment [m] at which the wall stands, by halving, and the stage with it."""
    low, high = between
    while high - low > CLOSE:
        middle = (low + high) / 2
        low, high = (low, middle) if last_stage(middle, dig, prop, factor).stands else (middle, high)
    return high, last_stage(high, dig, prop, factor)


def run(h) -> Answer:
    rows, graph = [], None
    for factor in (1.0, 1.25):
        depth, name = propped_depth(HEIGHT, PROP, factor), f"prop at the top, factor {factor:g} on tan(phi)"
        found, stage = least(HEIGHT, True, factor, (0.5 * depth, 2 * depth))
        z, exact = moments(depth, factor)
        rows.append(Row(f"{name}: least embedment [m]", depth, found, -1e-3, 1e-3, TOE))
        rows.append(Row(f"{name}: prop [kN/m]", propped_load(HEIGHT, depth, factor), stage.loads["prop"], -5e-3, 5e-3, FORCES))
        rows.append(Row(f"{name}: greatest moment [kN m/m]", exact.max(), stage.balance.moment.max(), -5e-3, 5e-3, FORCES))
        line = stage.balance
        graph = graph or Graph("Moment [kN m/m]", "Level [m]", (("by hand", exact, -z),), (("fesoil", line.moment[::8], line.level[::8]),))
        depth = full_depth(FREE, factor)
        rows.append(Row(f"cantilever, factor {factor:g} on tan(phi): least embedment [m]", depth, least(FREE, False, factor, (0.5 * depth, 2 * depth))[0], -1e-3, 1e-3, TOE))
    return Answer(rows, graph=graph)


def moments(embedment, factor):
    """Depths [m] and moments [kN m/m] of the propped wall by the triangles of pressure."""
    K = np.tan(np.pi / 4 - np.arctan(np.tan(np.pi / 6) / factor) / 2) ** 2
    z = np.linspace(0, HEIGHT + embedment, 800)
    return z, propped_load(HEIGHT, embedment, factor) * np.maximum(z - PROP, 0) - 18 * (K * z**3 - np.maximum(z - HEIGHT, 0) ** 3 / K) / 6


PROBLEM = Problem(
    "hand, beam at collapse", "Dry sand: a wall over a dig of 6 m with a prop at its top and a cantilever over one of 4 m, as beams on springs a thousand times as stiff as usual",
    "moments and forces of triangles of pressure, closed form", run, (None,), (None,), lambda ax: draw(ax, HEIGHT, propped_depth(HEIGHT, PROP, 1.0), PROP),
)  # fmt: skip
