"""Seepage through a dam with upright faces: the discharge is known exactly, the shape of the free surface apart."""

from __future__ import annotations

import numpy as np

from benchmarks.common import plain_mesh
from benchmarks.problem import Answer, Graph, Problem, Row
from benchmarks.seepage import flow, given
from benchmarks.sketch import LOAD, STEEL, box, measure

LENGTH, HIGH, TOP, BORDER = 10.0, 8.0, 10.0, 4.0
"""Length of the dam, water on its left, its top, and the border of layers where it has two [m]."""

GROUNDS = {"uniform": ((1.0, 1.0), (1.0, 1.0)), "flows better level": ((10.0, 1.0), (10.0, 1.0)), "poor over good": ((1.0, 1.0), (10.0, 10.0)), "good over poor": ((10.0, 10.0), (1.0, 1.0))}
"""Permeabilities along x and y above and below the border [m/s], relative."""

TAILS = (0.0, 2.0, 5.0)
"""Water on the right [m]."""

CORE, LEAKAGE = 4.0, 0.05
"""Place [m] and leakage [1/s] of an upright wall through uniform ground."""

REASON = "1 %, whatever the mesh: the search for the surface finds the discharge on the average; the triangles that the surface cuts keep only a share of their permeability"


def exact(ground, tail):
    """Discharge: k times the pressure head, integrated over the height, falls evenly along the dam."""
    over, under = ground[0][0], ground[1][0]
    stored = lambda level: under * level**2 / 2 + (over - under) * max(level - BORDER, 0.0) ** 2 / 2  # noqa: E731
    return (stored(HIGH) - stored(tail)) / LENGTH


def exact_with_core(tail):
    """Discharge through uniform ground with the wall: what leaks is what the pressure heads on its faces differ by, which the discharge also fixes on both sides."""
    return (HIGH**2 - tail**2) / 2 / (LENGTH + 1 / LEAKAGE)


def solved(ground, tail, h, leakage=None):
    """Mesh and flow by finite elements, with the wall if its leakage is given."""
    marks, walls = [(0.0, HIGH)] + [(LENGTH, tail)] * (tail > 0), np.array([[CORE, 0.0, TOP]] * (leakage is not None)).reshape(-1, 3)
    mesh = plain_mesh((0.0, LENGTH, 0.0, TOP), h, [(LENGTH, 0.0, TOP)], [(0.0, BORDER, LENGTH, BORDER)], marks, walls)
    x, y = mesh.points.T
    right = np.abs(x - LENGTH) < 1e-9
    k = np.where(mesh.centroids[:, 1:] > BORDER, *ground)
    return mesh, flow(mesh, given(mesh, (np.abs(x) < 1e-9, HIGH), (right & (y < tail + 1e-9), tail)), k, right & (y > tail + 1e-9), leakage)


def run(h) -> Answer:
    """``h``: size of the triangles at the right face [m]."""
    rows, marks = [], {}
    for name, ground in GROUNDS.items():
        for tail in TAILS:
            mesh, found = solved(ground, tail, h)
            ours = found.inflow[np.abs(mesh.points[:, 0]) < 1e-9].sum()
            rows.append(Row(f"discharge, {name}, tail {tail:g} m [m2/s]", exact(ground, tail), ours, -0.01, 0.01, REASON))
            marks.setdefault(name, []).append(ours)
    for tail in TAILS:
        core, found = solved(GROUNDS["uniform"], tail, h, LEAKAGE)
        ours = found.inflow[np.abs(core.points[:, 0]) < 1e-9].sum()
        rows.append(Row(f"discharge, leaking wall, tail {tail:g} m [m2/s]", exact_with_core(tail), ours, -0.01, 0.01, REASON))
    fine = np.linspace(0.0, HIGH, 81)
    lines = tuple((name, fine, [exact(ground, tail) for tail in fine]) for name, ground in GROUNDS.items())
    return Answer(rows, len(mesh.triangles), Graph("Tail water [m]", "Discharge [m2/s]", lines, tuple((f"fesoil, {n}", TAILS, q) for n, q in marks.items())))


def draw(ax):
    """The dam and its water."""
    box(ax, 0, LENGTH, 0, TOP)
    ax.plot([-4, 0], [HIGH] * 2, color=LOAD)
    ax.plot([LENGTH, LENGTH + 4], [2.0] * 2, color=LOAD)
    ax.plot([0, LENGTH], [BORDER] * 2, "k--", linewidth=0.6)
    ax.plot([CORE] * 2, [0, TOP], color=STEEL, linewidth=1.2, linestyle=":")
    measure(ax, (-2, 0), (-2, HIGH), "8 m")
    measure(ax, (LENGTH + 2, 0), (LENGTH + 2, 2.0), "tail")
    measure(ax, (0, 0.8), (LENGTH, 0.8), "10 m")


PROBLEM = Problem(
    "seepage through a dam", "Water at 8 m seeps through a dam of 10 m with upright faces to a tail water of 0, 2 and 5 m; uniform, anisotropic and layered ground, and with a leaking wall",
    "Dupuit's discharge k (h1^2 - h2^2) / (2 L), exact with a free surface and a seepage face (Charny 1951, from memory); with layers by the potential of Girinsky 1946 "
    "(from memory); both, and the wall, derived afresh",
    run, (0.3,), (0.6, 0.3, 0.15), draw,
)  # fmt: skip
