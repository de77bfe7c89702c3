"""Block of Mohr-Coulomb ground squeezed between rough plates, as it stands and turned by 30 degrees with all that acts on it."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from benchmarks import sketch
from benchmarks.common import end_of, lattice, mesh_of, mohr_coulomb, movement, no_wall_force, one_material, pressed, push
from benchmarks.consistency import furthest_off
from benchmarks.problem import Answer, Graph, Problem, Row
from fesoil.elements.triangle import N_POINTS
from fesoil.result.state import blank_state
from fesoil.solve.system import make_base

ANGLE = 30.0
E, NU, PHI, PSI, C, GAMMA = 20e3, 0.3, 30.0, 10.0, 10.0, 20.0
"""Turn [degrees]; Young's modulus [kPa], Poisson's ratio, friction and dilation [degrees], cohesion [kPa], weight [kN/m3]."""

CONFINED, SQUEEZE = 30.0, np.array([0.004, -0.01])
"""Pressure on the free sides [kPa] and movement of the upper plate [m] on a block 1 m wide and high."""

SAME = "no direction is set apart in the plane; what remains is the tolerance of equilibrium, 1e-11, and rounding"


class Found(NamedTuple):
    """Movements (n, 2) [m], stresses (k, 4) [kPa], thrust of the plate against the squeeze [kN/m], share of points at yield, triangles."""

    u: np.ndarray
    stress: np.ndarray
    thrust: float
    yielded: float
    triangles: int


def turn(degrees):
    """Matrix that turns a vector anticlockwise."""
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    return np.array([[c, -s], [s, c]])


def squeezed(cells, degrees) -> Found:
    """The block on a lattice of cells, turned by an angle: gravity and pressure turn with it, and so does the movement of its plate."""
    R, law = turn(degrees), mohr_coulomb(E, NU, PHI, PSI, C)
    points, triangles = lattice(cells, cells)
    lower, upper, sides = points[:, 1] < 1e-9, points[:, 1] > 1 - 1e-9, np.abs(points[:, 0] - 0.5) > 0.5 - 1e-9
    mesh = mesh_of(points @ R.T, triangles)
    model = one_material(mesh, law, np.repeat((lower | upper)[:, None], 2, axis=1))
    body = make_base(mesh).triangles.body_force(np.tile(GAMMA * R @ [0.0, -1.0], (len(triangles), N_POINTS, 1)))
    load = model.reduce(body + pressed(mesh, sides, CONFINED), no_wall_force(mesh))
    move = movement(model, np.where(upper[:, None], R @ SQUEEZE, 0.0))
    on_plate = movement(model, np.where(upper[:, None], R @ [0.0, -1.0], 0.0))
    free = model.unknowns.free
    curve = push(model, blank_state(mesh), load, np.linalg.norm(load), move, np.linspace(0.1, 1, 10), lambda s, held: on_plate @ held[free:-1], 1e-11)
    state = curve[-1].state
    return Found(state.u, state.stress[:, 0], end_of(curve), law(model.points).at_yield(state.stress).mean(), len(triangles))


def turned(stress, degrees):
    """Stresses (k, 4) in a body that has been turned."""
    xx, yy, zz, xy = stress.T
    tensor = turn(degrees) @ np.stack([xx, xy, xy, yy], axis=-1).reshape(-1, 2, 2) @ turn(degrees).T
    return np.column_stack([tensor[:, 0, 0], tensor[:, 1, 1], zz, tensor[:, 0, 1]])


def invariants(stress):
    """Mean stress, radius of the circle in the plane, and stress across the plane [kPa] of stresses (k, 4)."""
    xx, yy, zz, xy = stress.T
    return {"centre of the circle": (xx + yy) / 2, "radius of the circle": np.hypot((xx - yy) / 2, xy), "stress across the plane": zz}


def run(h) -> Answer:
    """``h``: share of the block's side that a cell takes."""
    upright, tilted = (squeezed(round(1 / h), degrees) for degrees in (0.0, ANGLE))
    known, ours = upright.u @ turn(ANGLE).T, tilted.u
    pairs = {"movements": (ours, known), "stresses": (tilted.stress, turned(upright.stress, ANGLE))}
    before, after = invariants(upright.stress), invariants(tilted.stress)
    pairs |= {name: (after[name], before[name]) for name in before}
    rows = [Row(f"{name}: 1 + largest error over largest", 1.0, 1 + furthest_off(*pair), -1e-15, 1e-8, SAME) for name, pair in pairs.items()]
    rows += [
        Row("thrust of the plate [kN/m], turned against upright", upright.thrust, tilted.thrust, -1e-8, 1e-8, SAME),
        Row("share of points at yield, turned against upright", upright.yielded, tilted.yielded, 0.0, 0.0, "the same points yield"),
    ]
    ends = 1e3 * np.array([known.min(), known.max()])
    marks = tuple((f"fesoil, along {axis}", 1e3 * known[:, k], 1e3 * ours[:, k]) for k, axis in enumerate("xy"))
    graph = Graph("Movement of the upright block, turned [mm]", "Computed on the turned block [mm]", (("equal", ends, ends),), marks)
    return Answer(rows, tilted.triangles, graph)


def draw(ax):
    corners = np.array([(0, 0), (1, 0), (1, 1), (0, 1)])
    for degrees, away in ((0.0, 0.0), (ANGLE, 2.2)):
        placed = corners @ turn(degrees).T + [away, 0.0]
        sketch.ground(ax, placed)
        sketch.wall(ax, placed[0], placed[1])
        sketch.wall(ax, placed[3], placed[2])
        middle, down = placed.mean(axis=0), turn(degrees) @ [0.0, -1.0]
        sketch.arrow(ax, middle - 1.0 * down, middle - 0.55 * down, "plate")
        sketch.arrow(ax, middle - 0.2 * down, middle + 0.2 * down, "weight")
    sketch.say(ax, 2.2, -0.25, "all turned by 30 degrees")


PROBLEM = Problem(
    "turned axes", "Block of Mohr-Coulomb ground, 1 m wide, squeezed and sheared between rough plates: upright, and turned by 30 degrees",
    "objectivity: isotropic ground has no axes of its own", run, (1 / 4,), (1 / 4,), draw,
)  # fmt: skip
