"""Rigid plate pulled upward out of the ground: adhesion and friction on both of its faces, under the pressure at rest.

The joints give way a hundred times as much as the ground, so that the pressure on them stays what it was. With joints as stiff as walls usually get
it does not: what the plate drags along draws away from it below the surface, however stiff the ground, and the pull comes out a fifth less
(82 kN/m, which a separate solution with quadratic elements of scikit-fem and rigid contact confirms).
"""

from __future__ import annotations

import numpy as np

from benchmarks import sketch
from benchmarks.common import boxed, end_of, flat_part, plain_mesh
from benchmarks.plates import UPWARD, Bond, plate_in
from benchmarks.problem import Answer, Graph, Problem, Row
from fesoil.soils.elastic import Elastic

D, GAMMA, RATIO, ADHESION, FRICTION, E, NU = 5.0, 18.0, 0.5, 2.0, 20.0, 1e6, 0.3
"""Depth of the plate [m], weight [kN/m3], at-rest ratio, adhesion [kPa], friction [deg], Young's modulus [kPa] and Poisson's ratio of the ground."""

TAN = np.tan(np.radians(FRICTION))
EXACT = 2 * (ADHESION * D + RATIO * GAMMA * D**2 / 2 * TAN)
"""Pull [kN/m] with the pressure at rest on both faces."""

STIFFNESS = E / (100 * D)
"""Normal and shear stiffness of the joints [kN/m3]."""

MOVE, STEPS = 0.02, 20
"""Movement of the plate [m], twice that at which the last joint slides, and its steps."""

REASON = "what the plate drags along changes the pressure by about a hundredth, as the joint gives way a hundred times as much as the ground: 2 %"
FLAT = "all of both faces slides and takes no more"


def run(h) -> Answer:
    """``h``: size of triangles along the plate [m]."""
    mesh = plain_mesh((-3 * D, 3 * D, -3 * D, 0.0), h, [(0.0, -D, 0.0)], walls=np.array([[0.0, -D, 0.0]]))
    law = lambda points: Elastic(NU, np.full(len(points), E))  # noqa: E731
    plate = plate_in(mesh, law, boxed(mesh), Bond(STIFFNESS, STIFFNESS, ADHESION, TAN), GAMMA, RATIO)
    curve = plate.moved(plate.start, UPWARD, MOVE, STEPS)
    rows = [
        Row("pull [kN/m]", EXACT, end_of(curve), -0.02, 0.02, REASON),
        Row("last third: largest over smallest pull", 1.0, flat_part(curve), -1e-12, 1e-4, FLAT),
    ]
    moved, pulls = [1e3 * MOVE * p.share for p in curve], [p.value for p in curve]
    known, ours = ("pressure at rest", [0, 1e3 * MOVE], [EXACT] * 2), ("fesoil", [0, *moved], [0, *pulls])
    return Answer(rows, len(mesh.triangles), Graph("Upward movement [mm]", "Pull [kN/m]", (known,), (ours,)))


def draw(ax):
    sketch.box(ax, -6, 6, -8, 0)
    sketch.wall(ax, (0, -D), (0, 0.6))
    sketch.arrow(ax, (0, 0.6), (0, 2.6))
    for y in (-1.5, -3.0, -4.5):
        for side in (-0.5, 0.5):
            sketch.arrow(ax, (side, y + 0.7), (side, y - 0.5))
    sketch.measure(ax, (1.8, -D), (1.8, 0), "5 m")


PROBLEM = Problem(
    "plate pulled out",
    "Rigid plate of 5 m pulled upward out of elastic ground (E = 1 GPa, 18 kN/m3, at-rest ratio 0.5); adhesion 2 kPa, friction 20 deg on both faces",
    "Coulomb's friction under the pressure at rest, closed form", run, (0.5,), (1.0, 0.5, 0.25), draw,
)
