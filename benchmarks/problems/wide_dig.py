"""Ground taken off everywhere, in one stage or in many: heave of the formation and of what is below it."""

from __future__ import annotations

import numpy as np

from benchmarks import sketch
from benchmarks.consistency import GAMMA, M, places, staged
from benchmarks.problem import Answer, Graph, Problem, Row

DUG, DEPTH = 5.0, 15.0
"""Ground taken off and ground in all [m]."""

STAGES = (5, 20)

EXACT = "a quadratic field is exact for these elements; what remains is the tolerance of equilibrium, 1e-4"
ORDER = "elastic ground remembers no order (Ishihara 1970, from memory), and a linear stage is solved to rounding"


def heave(y):
    """Heave [m] at a level [m]."""
    return GAMMA * DUG * (y + DEPTH) / M


def dug(stages, h):
    """Result of the dig in a number of stages, with triangles of a size."""
    section = f"left = 0\nright = 10\nbottom_level = {-DEPTH}\nelement_size = {h}"
    return staged(section, [f"dig = {{ everywhere = {-DUG * (k + 1) / stages} }}" for k in range(stages)])


def formation(result):
    """Heave [m] of the nodes of the formation."""
    return result.states[-1].u[np.abs(places(result)[:, 1] + DUG) < 1e-6, 1]


def run(h) -> Answer:
    """``h``: size of the triangles [m]."""
    results = {stages: dug(stages, h) for stages in (1, *STAGES)}
    once = formation(results[1])
    rows = [
        Row("heave of the formation in one stage [m]", heave(-DUG), once.mean(), -2e-4, 2e-4, EXACT),
        Row("heave in one stage: largest less smallest, over the mean", 1.0, 1 + np.ptp(once) / once.mean(), -1e-6, 2e-4, EXACT),
    ]
    for stages in STAGES:
        found = formation(results[stages]).mean()
        rows.append(Row(f"heave in {stages} stages [m]", heave(-DUG), found, -2e-4, 2e-4, EXACT))
        rows.append(Row(f"heave in {stages} stages over that in one", 1.0, found / once.mean(), -1e-8, 1e-8, ORDER))
    return Answer(rows, len(results[1].mesh.triangles), graph(results))


def graph(results):
    """Heave by level on the left side."""
    marks = []
    for stages, result in results.items():
        x, y = places(result).T
        left = np.flatnonzero((np.abs(x) < 1e-6) & (y < -DUG + 1e-6))
        left = left[np.argsort(y[left])][::4]
        marks.append((f"fesoil, {stages} stage{'s' if stages > 1 else ''}", 1e3 * result.states[-1].u[left, 1], y[left]))
    levels = np.array([-DEPTH, -DUG])
    return Graph("Heave [mm]", "Level [m]", (("closed form", 1e3 * heave(levels), levels),), tuple(marks))


def draw(ax):
    sketch.box(ax, 0, 10, -DEPTH, -DUG)
    ax.plot([0, 0, 10, 10], [-DUG, 0, 0, -DUG], color=sketch.INK, linewidth=0.6, linestyle=":")
    sketch.measure(ax, (3, 0), (3, -DUG), "5 m dug")
    sketch.measure(ax, (3, -DUG), (3, -DEPTH), "10 m left")


PROBLEM = Problem(
    "wide dig", "Five metres taken off 15 m of elastic ground, 20 kN/m3, E = 20 MPa, nu = 0.3, in one stage, in 5 and in 20",
    "one-dimensional elasticity, closed form", run, (1.0,), (1.0,), draw,
)  # fmt: skip
