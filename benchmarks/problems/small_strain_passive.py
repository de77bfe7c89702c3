"""Walls pushed into sand that is stiff at small strain: the passive thrust is that of plain ground."""

from __future__ import annotations

from benchmarks.earth_pressure import GAMMA, H, at_rest, draw, rankine, rough_wall
from benchmarks.footing import load_graph, lowered
from benchmarks.problem import Answer, Problem
from benchmarks.slip_lines import earth_pressure
from benchmarks.small_strain import BETWEEN, NOT_UNIQUE, UNIQUE, beside, both_laws, by_points, either, sand
from fesoil.soils.ground import law_of, plain_law

PHI, FRICTION, PUSH = 30, 20, 1.5
"""Friction of the sand and of the rough wall [deg], movement of the smooth wall [m]."""


def mean_stress(points):
    """Mean stress at rest [kPa] beside the walls."""
    return -at_rest(points, 0.5)[:, :3].mean(axis=1)


def smooth(psi, apart):
    """Rows and graph of the smooth wall."""
    soil = sand(PHI, psi, 0.5)
    both = [rankine(by_points(law, soil, mean_stress), PUSH, (10, 4), steps=15) for law in (plain_law, law_of)]
    exact = 1.5 * GAMMA * H**2
    rows = beside(f"smooth [kN/m], psi {psi} deg", exact, both, (-0.02, 0.02, "the whole block yields; limits of the plain problem"), apart)
    return rows, load_graph("Thrust [kN/m]", {"Rankine": exact}, both_laws(PUSH, both), "Movement [mm]")


def rough(h, psi, move, steps, apart):
    """Rows of the rough wall, and the number of triangles."""
    soil = sand(PHI, psi, 0.5)
    both, triangles = either(lambda law: rough_wall(FRICTION, move, h, steps=steps, law=by_points(law, soil, mean_stress), settled=0.0))
    exact, least = (GAMMA * H**2 / 2 * earth_pressure(angle, FRICTION, True) for angle in (PHI, lowered(PHI, 0)))
    limits = (-0.01, 0.04, "displacement elements err high; limits of the plain problem") if psi else (least / exact - 1, 0.04, BETWEEN)
    return beside(f"rough [kN/m], psi {psi} deg", exact, both, limits, apart), triangles


def run(h) -> Answer:
    """``h``: size at the toe of the rough wall [m]; None leaves it out."""
    rows, graph, triangles = [], None, None
    for psi, move, steps, apart in ((PHI, 0.25, 50, UNIQUE), (0, 0.6, 12, NOT_UNIQUE)):
        found, picture = smooth(psi, apart)
        rows, graph = rows + found, graph or picture
        if h is not None:
            found, triangles = rough(h, psi, move, steps, apart)
            rows += found
    return Answer(rows, triangles, graph)


PROBLEM = Problem(
    "small strain, passive thrust", "Smooth and rough rigid wall of 5 m pushed into sand of 30 deg: parts and plain law",
    "smooth: Rankine; rough (20 deg): slip lines computed for the project (slip_lines.py)", run, (None,), (0.12,),
    lambda ax: draw(ax, True, "phi = 30 deg"),
)  # fmt: skip
