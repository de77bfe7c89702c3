"""Elastic ground loaded and dug without drainage, then left to drain: what the water takes at first, and that the end is that of ground that drained all the time."""

from __future__ import annotations

import numpy as np

from benchmarks import sketch
from benchmarks.consistency import E, G, NU, M, furthest_off, places
from benchmarks.problem import Answer, Graph, Problem, Row
from fesoil.case import read_text
from fesoil.case.stiffness import bulk_ratio
from fesoil.solve.analyse import analyse

DEPTH, WIDE, LOAD, NU_U = 12.0, 24.0, 50.0, 0.499
"""Depth and width of the section [m], load over all of it [kPa], Poisson's ratio of soil and water together."""

WATER = (bulk_ratio(NU_U) - bulk_ratio(NU)) * G
"""Bulk modulus that the pore water adds [kPa]."""

DIG = [[0, -4], [6, -4], [10, 0], [WIDE, 0]]
"""Line dug down to [m]."""

LINEAR = "linear ground, solved to rounding"
PATH = "the end of linear ground does not depend on the path"


def done(h, drainage, stages):
    """Result of stages, each by its keys, in ground of a drainage with water at -1 m."""
    steps = "".join(f'\n[[stages]]\nname = "Stage {k}"\n{keys}\n' for k, keys in enumerate(stages, 1))
    return analyse(read_text(f"""
title = "Elastic ground"
[section]
left = 0
right = {WIDE}
bottom_level = {-DEPTH}
element_size = {h}
[water]
outside = -1
[[soils]]
name = "elastic"
drainage = "{drainage}"
unit_weight = {{ moist = 20, saturated = 20 }}
stiffness = {{ E = {E}, poisson_ratio = {NU} }}
[[layers]]
soil = "elastic"
top_level = 0
[[layers]]
soil = "elastic"
top_level = -1
[[layers]]
soil = "elastic"
top_level = -4
[[loads]]
name = "wide"
from = 0
to = {WIDE}
pressure = {LOAD}
{steps}"""))  # fmt: skip


def column(h):
    """Rows of the wide load, and settlement of the surface [m] at the start, under the load, and drained."""
    result = done(h, "undrained effective", ['load = "wide"', 'dissipate = "elastic"'])
    at_top = np.abs(places(result)[:, 1]) < 1e-9
    settled = [-state.u[at_top, 1].mean() for state in result.states]
    both = M + WATER
    return [
        Row("settlement without drainage [m]", LOAD * DEPTH / both, settled[1], -1e-8, 1e-8, LINEAR),
        Row("excess pressure over the load", WATER / both, result.field(1).excess.mean() / LOAD, -1e-8, 1e-8, LINEAR),
        Row("settlement once drained [m]", LOAD * DEPTH / M, settled[2], -1e-8, 1e-8, LINEAR),
    ]  # fmt: skip


def run(h) -> Answer:
    """``h``: size of the triangles at the corners of the dig [m]."""
    dig = f"dig = {{ everywhere = {DIG} }}\nwater = {{ outside = -4 }}"
    wet, dry = done(h, "undrained effective", [dig, 'dissipate = "elastic"']), done(h, "drained", [dig])
    first, last, known = wet.field(1), wet.field(2), dry.field(1)
    left = np.unique(known.triangles)
    ends = (("movements", last.displacement[left], known.displacement[left]), ("stresses", last.stress, known.stress))
    rows = column(h) + [Row(f"dug, then drained: 1 + largest difference of {name} over largest", 1.0, 1 + furthest_off(a, b), -1e-12, 1e-8, PATH) for name, a, b in ends]
    floor = left[np.abs(known.points[left, 1] - np.interp(known.points[left, 0], *np.transpose(DIG))) < 1e-6]
    floor = floor[np.argsort(known.points[floor, 0])]
    x, heave = known.points[floor, 0], [1e3 * field.displacement[floor, 1] for field in (known, first, last)]
    marks = (("fesoil, without drainage", x, heave[1]), ("fesoil, drained afterwards", x, heave[2]))
    return Answer(rows, len(wet.mesh.triangles), Graph("x [m]", "Heave of the surface [mm]", (("fesoil, drained all the time", x, heave[0]),), marks))


def draw(ax):
    sketch.ground(ax, [(0, -DEPTH), (WIDE, -DEPTH), *[tuple(corner) for corner in reversed(DIG)]])
    sketch.say(ax, WIDE / 2, -9, "dug 4 m, water down to the floor")


PROBLEM = Problem(
    "dissipation, elastic ground",
    "Elastic ground (E = 20 MPa, nu = 0.3, 20 kN/m3, water at -1 m), 12 m deep: loaded all over with 50 kPa, or dug 4 m, without drainage (nu_u = 0.499, the default), then drained",
    "Hooke's law in one dimension, with and without the water; uniqueness of linear elasticity", run, (1.0,), (1.0, 0.5), draw,
)  # fmt: skip
