"""Slopes of several angles, on a firm base and on deep ground, beside the log-spiral upper bound."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from benchmarks.common import mohr_coulomb
from benchmarks.cuts import Slope, friction_at, reduced, spiral_bound, spiral_factor
from benchmarks.problem import Answer, Graph, Problem, Row

HEIGHT, GAMMA = 10.0, 20.0
"""Height [m] and unit weight [kN/m3]; only c / (gamma H) matters."""

TWO_TO_ONE = float(np.degrees(np.arctan(0.5)))
PUBLISHED = {(45.0, 20): 16.16, (60.0, 20): 10.39}
"""gamma H / c of the spiral by angle of the slope and friction [deg]: Chen 1975, from memory."""

REASON = "2 % above for the mesh; an upper bound, which lies 1.5 % above the known loads of the vertical cut in clay and of a slope 2:1; 2 % below was set after trial runs"


class Ground(NamedTuple):
    """Friction angle [deg], c / (gamma H), and the depth of ground below the toe over the height."""

    phi: float
    strength: float
    depth: float = 0.0


CASES = (
    (45.0, Ground(20, 0.1)), (45.0, Ground(30, 10 / 144)), (90.0, Ground(30, 0.2)), (60.0, Ground(0, 0.24)), (TWO_TO_ONE, Ground(20, 0.05, 1.0)),
    (TWO_TO_ONE, Ground(20, 0.1, 1.0)),
)  # fmt: skip
"""Angle of the slope [deg] and its ground."""


def section(angle, depth):
    """A firm base needs only a little room before the toe, deep ground that of the mechanism."""
    return Slope(angle, HEIGHT, *((1.5 * HEIGHT, 1.5 * HEIGHT) if depth else (1.2 * HEIGHT, 0.2 * HEIGHT)), depth * HEIGHT)


def run(h) -> Answer:
    """``h``: mesh size at toe and crest [m]."""
    rows, points, triangles = [], [], 0
    for angle, ground in CASES:
        mesh = section(angle, ground.depth).mesh(h)
        factor = reduced(mesh, mohr_coulomb(1e5, 0.3, ground.phi, ground.phi, ground.strength * GAMMA * HEIGHT), GAMMA).factor
        base = "deep ground" if ground.depth else "firm base"
        bound = spiral_factor(angle, ground.phi, ground.strength, firm=not ground.depth)
        rows.append(Row(f"factor, {angle:.0f} deg, friction {ground.phi} deg, c / (gamma H) {ground.strength:.2g}, {base}", bound, factor, -0.02, 0.02, REASON))
        points.append((friction_at(ground.phi, factor), factor / ground.strength))
        triangles += len(mesh.triangles)
    return Answer(rows, triangles // len(CASES), graph(points))


def graph(points):
    """Stability numbers by friction: ours, and the bound for each angle."""
    lines = []
    for angle, (least, most), firm in ((90.0, (0, 32), True), (60.0, (0, 28), True), (45.0, (10, 26), True), (TWO_TO_ONE, (6, 16), False)):
        angles = np.linspace(least, most, 9)
        lines.append((f"log spiral, {angle:.0f} deg" + ("" if firm else ", deep"), angles, [spiral_bound(angle, phi, firm) for phi in angles]))
    return Graph("Friction at collapse [deg]", "gamma H / c at collapse", tuple(lines), (("fesoil", *zip(*points)),))


def across(answers) -> list[Row]:
    """The bound computed here beside the published one."""
    name = "gamma H / c of the spiral, {:.0f} deg, friction {} deg"
    return [Row(name.format(*case), known, spiral_bound(*case), -0.001, 0.001, "published with two decimals") for case, known in PUBLISHED.items()]


PROBLEM = Problem(
    "slopes by log spiral",
    "Slopes of 27 to 90 deg in ground with cohesion, with and without friction, associated flow, on a firm base at the toe or deep ground",
    "log-spiral upper bound, minimised here; Chen 1975, Limit Analysis and Soil Plasticity (from memory)",
    run, (), (0.2, 0.1), lambda ax: section(45.0, 0.0).draw(ax, "27 to 90 deg"), across,
)  # fmt: skip
