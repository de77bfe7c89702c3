"""Vertical cut in clay that stands in tension: the stability number is known to 0.03 %."""

from __future__ import annotations

from benchmarks.common import mohr_coulomb
from benchmarks.cuts import Slope, reduced
from benchmarks.problem import Answer, Graph, Problem, Row

SU, GAMMA, HEIGHT = 30.0, 18.0, 5.0
"""Undrained strength [kPa], unit weight [kN/m3], height [m]."""

STATIC, KINEMATIC = 3.7752, 3.7776
"""Bounds on gamma H / su."""

CUT = Slope(90, HEIGHT, 1.5 * HEIGHT, HEIGHT, 0.5 * HEIGHT, finest=(0.0,))
REASON = "last bracket of 0.2 %; displacement elements err high"


def run(h) -> Answer:
    """``h``: mesh size at the toe [m]."""
    mesh = CUT.mesh(h)
    found = reduced(mesh, mohr_coulomb(300 * SU, 0.49, 0, 0, SU), GAMMA)
    known = [n * SU / (GAMMA * HEIGHT) for n in (STATIC, KINEMATIC)]
    rows = [Row("safety factor", sum(known) / 2, found.factor, -0.005, 0.02, REASON)]
    lines = [(name, [at, at], [0, 1e3 * found.moved.max(initial=0)]) for name, at in zip(("static bound", "kinematic bound"), known)]
    marks = (("fesoil, standing", found.stood, 1e3 * found.moved),)
    return Answer(rows, len(mesh.triangles), Graph("Factor F", "Movement [mm]", tuple(lines), marks))


PROBLEM = Problem(
    "vertical cut", "Vertical cut of 5 m in clay that stands in tension, su = 30 kPa, 18 kN/m3",
    "gamma H / su between 3.7752 and 3.7776: Kammoun, Pastor, Smaoui & Pastor 2010 (abstract)", run, (0.1,), (0.1, 0.05, 0.025), CUT.draw,
)  # fmt: skip
