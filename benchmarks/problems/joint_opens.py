"""Smooth wall moved away from clay that stands by itself, and back: the joint opens, carries nothing but water, and closes where it opened."""

from __future__ import annotations

import numpy as np
from scipy.optimize import bisect

from benchmarks import sketch
from benchmarks.common import boxed, end_of, mohr_coulomb, plain_mesh
from benchmarks.plates import HORIZONTAL, Bond, plate_in
from benchmarks.problem import Answer, Graph, Problem, Row

H, GAMMA, RATIO, E, NU, AWAY = 4.0, 18.0, 0.8, 40e3, 0.3, 0.02
"""Height of the wall [m], weight [kN/m3], at-rest ratio, Young's modulus [kPa] and Poisson's ratio of the clay, how far the wall moves [m]."""

CLAYS = {"clay that yields": 30.0, "clay that stays elastic": 1e4}
"""Undrained strength [kPa]; a vertical cut of this height falls at gamma H / 3.78 = 19."""

NORMAL, WATER = 50 * E / H, 9.81
"""Normal stiffness of the joint and unit weight of water [kN/m3]."""

AT_REST = RATIO * GAMMA * H**2 / 2
NEAR = 1e-4
"""How near the search for the movement at which the wall bears again comes, as a share of the way."""

NOTHING = "an open joint carries no pressure, to the last digit; measured against the pressure at rest"
REACHES = "where the clay's face stands furthest out; twice what the search for it leaves open"
FLOODED = "water in an open joint presses with its depth alone, however stiff the joint"
RETURNS = "elastic ground and a joint that remembers its gap come back to where they were; what is left is the tolerance of equilibrium"


def moved_away(h, su, bond):
    """Plate, and curve of its thrust [kN/m] as it moves away from clay of an undrained strength [kPa]."""
    mesh = plain_mesh((0.0, 5 * H, -2 * H, 0.0), h, [(0.0, -H, -H)], walls=np.array([[0.0, -H, 0.0]]))
    fixed = boxed(mesh)
    fixed[(np.abs(mesh.points[:, 0]) < 1e-9) & (mesh.points[:, 1] > -H + 1e-9), 0] = False
    plate = plate_in(mesh, mohr_coulomb(E, NU, 0, 0, su), fixed, bond, GAMMA, RATIO)
    return plate, plate.moved(plate.start, HORIZONTAL, -AWAY, 10)


def bears_again(plate, state):
    """Share of the way back from a state at which the wall takes its first load."""
    return bisect(lambda share: plate.moved(state, HORIZONTAL, share * AWAY, 1)[-1].value - 1e-9 * AT_REST, 0.0, 1.0, xtol=NEAR)


def run(h) -> Answer:
    """``h``: size of triangles at the foot of the wall [m]."""
    rows, marks = [], []
    for clay, su in CLAYS.items():
        plate, away = moved_away(h, su, Bond(NORMAL, 0.0))
        back = plate.moved(away[-1].state, HORIZONTAL, AWAY, 10)
        level, normal, _, face = plate.faces(away[-1].state)
        carried = np.abs(normal).max() / (RATIO * GAMMA * H) if away[-1].converged else np.nan
        front = face + RATIO * GAMMA * level / NORMAL  # the joint springs back too, from its pressure at rest
        meets, bears = 1 + front.min() / AWAY, bears_again(plate, away[-1].state)
        rows += [
            Row(f"{clay}: 1 + pressure in the open joint over that at rest", 1.0, 1 + carried, 0.0, 0.0, NOTHING),
            Row(f"{clay}: share of the way back at which the wall bears again", meets, bears, -2 * NEAR, 2 * NEAR, REACHES),
        ]
        marks.append((f"fesoil, {clay}", [1e3 * AWAY * (1 - p.share) for p in back], [p.value for p in back]))
    rows.append(Row("clay that stays elastic: thrust once the wall is back [kN/m]", AT_REST, end_of(back), -1e-4, 1e-4, RETURNS))
    known = (("at rest", [0, 1e3 * AWAY], [AT_REST] * 2), ("open", [0, 1e3 * AWAY], [0, 0]))
    graph = Graph("Wall's distance from its place [mm], on the way back", "Thrust [kN/m]", known, tuple(marks))
    return Answer(rows + flooded_rows(h), len(plate.model.base.mesh.triangles), graph)


def flooded_rows(h) -> list[Row]:
    """Thrust with the gap full of water, for a stiff and a soft joint."""
    rows = []
    for normal in (NORMAL, NORMAL / 10):
        _, away = moved_away(h, CLAYS["clay that yields"], Bond(normal, 0.0, water=WATER))
        label = f"gap full of water, joint of {normal:,.0f} kN/m3: thrust [kN/m]"
        rows.append(Row(label, WATER * H**2 / 2, end_of(away), -1e-8, 1e-8, FLOODED))
    return rows


def draw(ax):
    sketch.ground(ax, [(0, 0), (8, 0), (8, -8), (0, -8)])
    sketch.wall(ax, (-0.5, -H), (-0.5, 0))
    sketch.arrow(ax, (-0.6, -H / 2), (-2.2, -H / 2))
    sketch.arrow(ax, (-2.2, -0.65 * H), (-0.6, -0.65 * H))
    sketch.say(ax, 4, -4, "clay")
    sketch.measure(ax, (-2.8, -H), (-2.8, 0), "4 m")


PROBLEM = Problem(
    "joint that opens",
    "Smooth rigid wall of 4 m moved 20 mm away from clay (18 kN/m3, E = 40 MPa, at-rest ratio 0.8, su = 30 kPa or much more), and back",
    "no tension across a joint; water pressure; elastic ground forgets nothing", run, (1.0,), (1.0, 0.5, 0.25), draw,
)
