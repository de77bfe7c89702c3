"""Base of a braced cut in clay: stability number beside bounds from limit analysis and the usual hand methods."""

from __future__ import annotations

import numpy as np

from benchmarks import sketch
from benchmarks.common import boxed, mohr_coulomb, plain_mesh
from benchmarks.cuts import reduced
from benchmarks.problem import Answer, Graph, Problem, Row

DEPTH, GAMMA, SU = 6.0, 18.0, 20.0
"""Depth of the cut [m], unit weight [kN/m3], undrained strength [kPa]."""

BOUNDS = {0.25: (5.81, 5.87), 0.5: (6.17, 6.22), 1.0: (6.60, 6.65), 2.0: (7.15, 7.21)}
"""Lower and upper bound on gamma H / su by H / B: finite-element limit analysis, computed for the project."""

REASON = "from the lower bound less 1 % to the upper plus 3 %: displacement elements err high"


def cut_mesh(width, size):
    """Right half of the cut and the ground beside it: x = 0 is the wall, y = 0 the surface."""
    box = (-width / 2, max(2 * width, 20.0), -DEPTH - max(width, 6.0), 0.0)
    lines = [(0.0, -DEPTH, 0.0, 0.0), (box[0], -DEPTH, 0.0, -DEPTH)]
    return plain_mesh(box, size, [(0.0, -DEPTH, -DEPTH)], lines, keep=lambda p: (p[:, 0] > 0) | (p[:, 1] < -DEPTH))


def held(mesh):
    """Fixed freedoms (n, 2): those of the box, and the face of the cut sideways.

    The wall has no weight and settles with the soil, so that it needs no part in the mesh; limit analysis gave the same for a rough and a smooth one.
    """
    fixed, (x, y) = boxed(mesh), mesh.points.T
    fixed[(np.abs(x) < 1e-9) & (y > -DEPTH - 1e-9), 0] = True
    return fixed


def terzaghi(ratio):
    """Terzaghi 1943, strength reduced in the base and along the side of the settling strip, which is 0.7 B wide."""
    return 5.7 + ratio / 0.7


def skempton(ratio):
    """Bjerrum & Eide 1956 with Skempton's factor (1951)."""
    return np.minimum(5 * (1 + 0.2 * ratio), 7.5)


def run(h) -> Answer:
    """``h``: mesh size at the foot of the wall, as a share of the lesser of depth and width of the cut."""
    rows, ours, triangles = [], [], 0
    for ratio, (lower, upper) in BOUNDS.items():
        width = DEPTH / ratio
        mesh = cut_mesh(width, h * min(width, DEPTH))
        number = reduced(mesh, mohr_coulomb(500 * SU, 0.49, 0, 0, SU), GAMMA, held(mesh)).factor * GAMMA * DEPTH / SU
        known = (lower + upper) / 2
        rows.append(Row(f"gamma H / su, H/B = {ratio:g}", known, number, 0.99 * lower / known - 1, 1.03 * upper / known - 1, REASON))
        ours.append(number)
        triangles += len(mesh.triangles)
    return Answer(rows, triangles // len(BOUNDS), graph(ours))


def graph(ours):
    """Stability numbers by H / B: bounds and hand methods as lines, ours as marks."""
    ratios, fine = np.array(list(BOUNDS)), np.linspace(0.1, 2.2, 30)
    lower, upper = np.array(list(BOUNDS.values())).T
    lines = (
        ("lower bound", ratios, lower), ("upper bound", ratios, upper),
        ("Terzaghi, all strength reduced", fine, terzaghi(fine)), ("Bjerrum & Eide, Skempton", fine, skempton(fine)),
    )  # fmt: skip
    return Graph("H / B", "gamma H / su at collapse", lines, (("fesoil", ratios, ours),))


def draw(ax):
    half, far, bottom = 4.0, 14.0, -14.0
    sketch.ground(ax, [(-far, bottom), (far, bottom), (far, 0), (half, 0), (half, -DEPTH), (-half, -DEPTH), (-half, 0), (-far, 0)])
    for x in (-half, half):
        sketch.wall(ax, (x, -DEPTH), (x, 0.4))
    for y in (-1.0, -4.0):
        ax.plot([-half, half], [y, y], color=sketch.STEEL, linewidth=1.0)
    sketch.measure(ax, (-half, -7.5), (half, -7.5), "B")
    sketch.measure(ax, (half + 1.5, -DEPTH), (half + 1.5, 0), "H")


PROBLEM = Problem(
    "base of a braced cut",
    "Cut of 6 m in clay, H/B 0.25 to 2; the rigid wall without weight ends at formation level, is held sideways and free to settle",
    "bounds by finite-element limit analysis, computed for the project; from memory: Terzaghi 1943 (both terms reduced), Skempton 1951, "
    "Bjerrum & Eide 1956",
    run, (0.1,), (0.1, 0.05, 0.025), draw,
)  # fmt: skip
