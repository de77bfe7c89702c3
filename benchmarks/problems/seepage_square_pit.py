"""Flow into square and rectangular pits by finite volumes: in plane strain by conformal mapping, round by finite elements, and limits in space that are known."""

from __future__ import annotations

import numpy as np

from benchmarks.problem import Answer, Graph, Problem, Row
from benchmarks.seepage import Pair, mean_along
from benchmarks.sketch import STEEL, arrow, ground, measure, say
from fesoil.water.box import Layer, Pit, factors, in_circle, in_plane, in_space

WIDTH, UNDER = 4.8, 8.0
"""Width of the pits, and ground below their floor [m]."""

SHAPES = {"h 3 m, d 1.2 m": (3.0, 1.2), "h 1.6 m, d 1.2 m": (1.6, 1.2), "h 3 m, d 3 m": (3.0, 3.0)}
"""Ground and water outside above the floor, penetration below it [m]."""

TIGHT, PLUG = 1e-6, 2.0
"""Permeability [m/s], where that of the other ground is 1, and thickness [m] of a plug that the sheets reach through."""

LONG = 40.0
"""Length over width of a long pit."""

GRID = "1 % with cells of a sixteenth of the penetration at the toe, by the size above: two grids, off by 1 to 2 %, carried on by the first power of the size"
GRADIENT = "2 %, by the size above: a cell of a quarter of the penetration at the floor"
ROUND = "1 % as the grid, of which triangles of a 24th of the penetration take a part"
LIMIT = "0.1 %: what the good ground takes of the head"
PLANE = "0.1 %: the ends are 20 widths away"
SETTLED = "1 %: factors are wanted to 2 %"


def pit_of(h, d, length=WIDTH) -> Pit:
    """A pit in uniform ground."""
    return Pit(length, WIDTH, h, 0.0, -d, (Layer(-UNDER, 1.0, 1.0),), h)


def pair_of(h, d) -> Pair:
    """Half of its section."""
    return Pair(WIDTH / 2, d, d + h, UNDER + h)


def in_section(name, h, d, size):
    """Rows of plane strain and of the round pit."""
    pit, pair, high = pit_of(h, d), pair_of(h, d), 0.01 * max(1.0, 16 * size)
    plane, circle = in_plane(pit, size), in_circle(pit, size)
    mesh, flow, _ = pair.solved(d / 24, about_axis=True)
    ring = mean_along(mesh, flow.head + pair.step, WIDTH / 2 - pit.prism, WIDTH / 2, -pair.outer, about_axis=True)
    return [
        Row(f"mean head under the prism, plane, {name} [m]", h * pair.mean_head(pit.prism), plane.head[0], -high, high, GRID),
        Row(f"exit gradient, plane, {name}", h * pair.exit_gradient(), plane.gradient[0], -2 * high, 2 * high, GRADIENT),
        Row(f"discharge, plane, {name} [m2/s]", 2 * h * pair.discharge, plane.discharge, -high, high, GRID),
        Row(f"mean head under the prism, round, {name} [m]", ring, circle.head[0], -high, high, ROUND),
        Row(f"discharge, round, {name} [m3/s]", flow.inflow[pair.faces(mesh)[1]].sum(), circle.discharge, -high, high, ROUND),
    ]


def at_limits(size):
    """Rows of pits in space whose answer is known."""
    h, d = 3.0, 2.5
    plugged = in_space(Pit(6.0, WIDTH, h, 0.0, -d, (Layer(0.0, 1.0, 1.0), Layer(-PLUG, TIGHT, TIGHT), Layer(-UNDER, 1.0, 1.0)), h), size)
    long = factors(pit_of(*SHAPES["h 3 m, d 1.2 m"], LONG * WIDTH), size)
    return [
        Row("discharge through a plug [m3/s]", 6.0 * WIDTH * TIGHT * h / PLUG, plugged.discharge, -0.001, 0.001, LIMIT),
        Row("exit gradient from it, corner", h / PLUG, plugged.gradient[2], -0.001, 0.001, LIMIT),
        Row("factor, middle of a long pit", 1.0, long.long_side, -0.001, 0.001, PLANE),
    ]


def run(size) -> Answer:
    """``size``: FINEST of the finer grid, see fesoil.water.box."""
    found = {name: factors(pit_of(*shape), size) for name, shape in SHAPES.items()}
    rows = [row for name, shape in SHAPES.items() for row in in_section(name, *shape, size)] + at_limits(size)
    depths, fine, h = np.array([0.8, 1.2, 2.0, 3.0]), np.linspace(0.8, 3.0, 12), 3.0
    space, plane = [in_space(pit_of(h, d), size).head / h for d in depths], [in_plane(pit_of(h, d), size).head[0] / h for d in depths]
    line = (("plane strain, conformal mapping", fine, [pair_of(h, d).mean_head(pit_of(h, d).prism) for d in fine]),)
    marks = (("plane", depths, plane), ("middle of a side", depths, [s[0] for s in space]), ("corner", depths, [s[2] for s in space]))
    return Answer(rows, None, Graph("Penetration below the floor [m]", "Mean head under the prism over h, h 3 m", line, marks), found)


def across(answers):
    """Rows that hold the factors of each grid against those of the finest."""
    *rougher, finest = answers
    return [
        Row(f"factor, {place}, {name}, {2 ** (len(answers) - i)} times rougher grid", getattr(finest.found[name], key), getattr(answer.found[name], key), -0.01, 0.01, SETTLED)
        for i, answer in enumerate(rougher, 1)
        for name in SHAPES
        for place, key in (("middle of a side", "long_side"), ("corner", "corner"))
    ]


def draw(ax):
    """A quarter of the plan, with the places that are read."""
    far, half, block = 7.0, WIDTH / 2, 0.6
    ground(ax, [(half, 0), (far, 0), (far, far), (0, far), (0, half), (half, half)])
    ax.plot([half - block, half - block, half], [half, half - block, half - block], color=STEEL, linewidth=0.8)
    ax.plot([half - block] * 2, [0, half - block], color=STEEL, linewidth=0.8, linestyle="--")
    arrow(ax, (far, 1.2), (half, 1.2))
    measure(ax, (0, -0.6), (half, -0.6), f"{half:g} m")
    say(ax, 1.2, 1.2, "pit")


PROBLEM = Problem(
    "seepage into a square pit", "Water flows from ground at 1.6 or 3 m above the floor of a pit, 4.8 m square, under sheets that reach 1.2 or 3 m below it, impervious ground at 8 m; a long pit; "
    "and a pit with a tight plug",
    "in plane strain conformal mapping, see 'seepage into a pit'; round by the finite elements about an axis of fesoil.water.flow; Darcy's law through the plug",
    run, (1 / 16,), (1 / 8, 1 / 16, 1 / 32), draw, across,
)  # fmt: skip
