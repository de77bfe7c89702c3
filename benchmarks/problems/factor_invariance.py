"""Safety factor of a slope: the same whatever the stiffness, and the same when all weights and cohesions are ten times as large."""

from __future__ import annotations

from benchmarks.common import mohr_coulomb
from benchmarks.cuts import Slope, reduced
from benchmarks.problem import Answer, Graph, Problem, Row

HEIGHT, GAMMA, PHI, C, WIDTH = 10.0, 20.0, 20.0, 20.0, 0.0005
"""Height [m], unit weight [kN/m3], friction [deg], cohesion [kPa]; last bracket of the search, four times as narrow as elsewhere."""

SLOPE = Slope(45, HEIGHT, 1.2 * HEIGHT)

STIFF = "collapse does not depend on stiffness with associated flow: 0.2 %"
SCALED = "the same search to the last digit: 1e-6"
VARIANTS = (
    ("E a hundredth", 0.01, 0.3, 1, 0.002, STIFF),
    ("Poisson's ratio 0.45", 1, 0.45, 1, 0.002, STIFF),
    ("gamma and c ten times", 1, 0.3, 10, 1e-6, SCALED),
)
"""Name, E over the plain one, Poisson's ratio, factor on gamma and c, limit and its reason."""


def slope(mesh, stiffer=1.0, nu=0.3, heavier=1.0):
    """Search, its movements made free of dimension by E / (gamma H2)."""
    E = 1e5 * stiffer
    found = reduced(mesh, mohr_coulomb(E, nu, PHI, PHI, heavier * C), heavier * GAMMA, width=WIDTH)
    return found._replace(moved=found.moved * E / (heavier * GAMMA * HEIGHT**2))


def run(h) -> Answer:
    """``h``: mesh size at toe and crest [m]."""
    mesh = SLOPE.mesh(h)
    plain = slope(mesh)
    found = {name: slope(mesh, *given) for name, *given, _, _ in VARIANTS}
    rows = [Row(f"safety factor, {name}", plain.factor, found[name].factor, -limit, limit, reason) for name, *_, limit, reason in VARIANTS]
    marks = tuple((name, search.stood, search.moved) for name, search in found.items())
    order = plain.stood.argsort()
    lines = (("plain", plain.stood[order], plain.moved[order]),)
    return Answer(rows, len(mesh.triangles), Graph("Factor F", "Movement, times E / (gamma H²)", lines, marks))


PROBLEM = Problem(
    "invariance of the factor", "Slope 1:1, 10 m, friction 20 deg, c = 0.1 gamma H: other stiffness, and all loads and cohesions ten times",
    "the computation itself: limit loads do not depend on stiffness, and scale with strength",
    run, (), (0.8, 0.4), lambda ax: SLOPE.draw(ax, "1 : 1"),
)  # fmt: skip
