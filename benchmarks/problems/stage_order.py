"""Two pits and a load between them in elastic ground: the end is the same in every order of the stages."""

from __future__ import annotations

from itertools import permutations

import numpy as np

from benchmarks import sketch
from benchmarks.consistency import furthest_off, places, staged
from benchmarks.problem import Answer, Graph, Problem, Row

LEFT = [(-20, 0), (-10, 0), (-8.5, -3), (-5, -3), (-3.5, 0), (20, 0)]
RIGHT = [(-20, 0), (3.5, 0), (6, -5), (9, -5), (11.5, 0), (20, 0)]
LOAD = (-2.0, 2.0, 60.0)
"""Lines dug down to [m], and ends [m] and pressure [kPa] of the load."""



def dig(*line):
    """Keys of a stage that digs everything down to a line."""
    return f"dig = {{ everywhere = {[list(corner) for corner in line]} }}"


STAGES = {"left pit": dig(*LEFT), "right pit": dig(*RIGHT), "load": 'load = ["load"]'}
AT_ONCE = f"{dig(*LEFT[:-1], *RIGHT[1:])}\n{STAGES['load']}"
"""Keys of the stages, and of one stage in which all is done."""

REASON = "the end of linear ground is one and the same (Ishihara 1970, from memory), and each stage is solved to rounding"


def after(stages, h):
    """Result of some stages, each given by the keys of what is done in it."""
    first, last, pressure = LOAD
    loads = f'\n[[loads]]\nname = "load"\nfrom = {first}\nto = {last}\npressure = {pressure}\n'
    return staged(f"left = -20\nright = 20\nbottom_level = -15\nelement_size = {h}", stages, loads)


def under_the_load(result):
    """Settlement [m] of the middle of the load at the start and after each stage."""
    node = np.argmin(np.hypot(*places(result).T))
    return -np.array([state.u[node, 1] for state in result.states])


def at_the_end(result, reference):
    """Largest difference from the end of the reference, over its largest value: of the movements and of the stresses of the ground that is left."""
    ours, known = (r.field(len(r.states) - 1) for r in (result, reference))
    left = np.unique(known.triangles)
    return furthest_off(ours.displacement[left], known.displacement[left]), furthest_off(ours.stress, known.stress)


def run(h) -> Answer:
    """``h``: size of the triangles at the corners of the pits [m]."""
    at_once = after([AT_ONCE], h)
    known = under_the_load(at_once)[-1]
    orders = {order: after([STAGES[name] for name in order], h) for order in permutations(STAGES)}
    ways = {", ".join(order): under_the_load(result) for order, result in orders.items()}
    rows = [Row(f"settlement under the load: {way} [m]", known, settled[-1], -1e-8, 1e-8, REASON) for way, settled in ways.items()]
    movement, stress = np.max([at_the_end(result, at_once) for result in orders.values()], axis=0)
    rows.append(Row("movements, any order: 1 + largest difference over largest", 1.0, 1 + movement, -1e-12, 1e-8, REASON))
    rows.append(Row("stresses, any order: 1 + largest difference over largest", 1.0, 1 + stress, -1e-12, 1e-8, REASON))
    marks = tuple((way, np.arange(4), 1e3 * settled) for way, settled in ways.items())
    end = "both pits and the load at once", np.array([0, 3]), np.full(2, 1e3 * known)
    return Answer(rows, len(at_once.mesh.triangles), Graph("Stage", "Settlement under the load [mm]", (end,), marks))


def draw(ax):
    sketch.ground(ax, [(-20, -15), (20, -15), *reversed(RIGHT[1:]), *reversed(LEFT[:-1])])
    first, last, _ = LOAD
    sketch.pressure(ax, first, last, 0, 2, "60 kPa")
    sketch.say(ax, -6.75, -1.2, "3 m")
    sketch.say(ax, 7.5, -2, "5 m")


PROBLEM = Problem(
    "order of stages", "Two pits of 3 and 5 m and 60 kPa between them in elastic ground (E = 20 MPa, nu = 0.3, 20 kN/m3), in all six orders",
    "the same works at once; uniqueness of linear elasticity", run, (1.2,), (0.6,), draw,
)  # fmt: skip
