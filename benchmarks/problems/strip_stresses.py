"""Stresses in elastic ground under a flexible strip load, and how much more its middle settles than its edge."""

from __future__ import annotations

import numpy as np

from benchmarks import sketch
from benchmarks.common import boxed, movement, no_wall_force, one_material, plain_mesh, pressed, push
from benchmarks.problem import Answer, Graph, Problem, Row
from fesoil.result.state import blank_state
from fesoil.soils.elastic import Elastic

A, Q, E, NU = 5.0, 100.0, 20e3, 0.3
"""Half-width [m], pressure [kPa], Young's modulus [kPa], Poisson's ratio."""

BOX = 20
"""Width and depth of the mesh in half-widths.

Its sides move as the half-plane does: stress falls no faster than distance grows, so if they were held, the sideways stress would err by a third
where it is small, even at 50 half-widths.
"""

PLACES = ((0, 1), (1, 1), (2, 1), (0, 2))
"""Distance from the middle and depth, in half-widths."""

FINE = 0.05


def limit(h):
    """Greatest difference allowed, and why."""
    if h <= FINE:
        return 0.005, "smooth field, stresses as means of the triangles round the place: half a per cent on a fine mesh"
    return 0.02, "smooth field, stresses as means of the triangles round the place: two per cent on a default mesh"


def exact(x, z):
    """Upright, sideways and shear stress [kPa] at a distance and a depth [half-widths], compression positive.

    Flamant's line load summed over the strip.
    """
    first, last = np.arctan2(x - 1, z), np.arctan2(x + 1, z)
    open_, turn = last - first, last + first
    return Q / np.pi * np.array([open_ + np.sin(open_) * np.cos(turn), open_ - np.sin(open_) * np.cos(turn), np.sin(open_) * np.sin(turn)])


def far_movement(points):
    """Movement (n, 2) [m] of the half-plane far from the strip, but for a settlement of the whole.

    Flamant's line load (Timoshenko and Goodier 1970, from memory), at four places of the strip.
    """
    modulus, ratio = E / (1 - NU**2), NU / (1 - NU)  # in plane strain
    moved = np.zeros(points.shape)
    for place, share in zip(*np.polynomial.legendre.leggauss(4)):
        x, z = points[:, 0] - place * A, -points[:, 1]
        r, turn = np.hypot(x, z), np.arctan2(x, z)
        unit = share * Q * A / (np.pi * modulus)
        radial = -unit * (2 * np.cos(turn) * np.log(r) + (1 - ratio) * turn * np.sin(turn))
        across = unit * ((1 + ratio + 2 * np.log(r)) * np.sin(turn) - (1 - ratio) * turn * np.cos(turn))
        moved += np.column_stack([radial * np.sin(turn) + across * np.cos(turn), across * np.sin(turn) - radial * np.cos(turn)])
    return moved


def solved(h):
    """Mesh and state of half the ground."""
    far = BOX * A
    upright = [(x * A, 0.0, x * A, -2 * A) for x in (1, 2)]
    places = [(A, 0.0), *((x * A, -z * A) for x, z in PLACES)]
    mesh = plain_mesh((0.0, far, -far, 0.0), h * A, [(x * A, -2 * A, 0.0) for x in (0, 1, 2)], upright, places)
    (x, y), fixed = mesh.points.T, boxed(mesh)
    fixed[x > far - 1e-9] = True
    model = one_material(mesh, lambda points: Elastic(NU, np.full(len(points), E)), fixed)
    load = model.reduce(pressed(mesh, (np.abs(y) < 1e-9) & (x < A + 1e-9), Q), no_wall_force(mesh))
    move = movement(model, far_movement(mesh.points))
    return mesh, push(model, blank_state(mesh), load, Q, move, [1.0], lambda *_: 0.0, 1e-10)[-1].state


def at_corners(mesh, state):
    """Upright, sideways and shear stress (n, 3) at corners, compression positive: means over the triangles that meet there; nan at other nodes.

    Each triangle's stress is a plane through its three points, of which each is nearest to one corner.
    """
    stress = state.stress.sum(axis=1).reshape(-1, 3, 4)
    corners = mesh.triangles[:, :3].ravel()
    here = (2 * stress - stress.mean(axis=1, keepdims=True)).reshape(-1, 4)
    meet = np.bincount(corners, minlength=len(mesh.points))
    with np.errstate(invalid="ignore"):
        mean = np.column_stack([np.bincount(corners, part, len(mesh.points)) / meet for part in here.T])
    return mean[:, [1, 0, 3]] * [-1, -1, 1]


def run(h) -> Answer:
    """``h``: size under the load and beside it, in half-widths."""
    mesh, state = solved(h)
    stress, rows, (high, reason) = at_corners(mesh, state), [], limit(h)
    node = lambda x, z: np.argmin(np.hypot(*(mesh.points - [x * A, -z * A]).T))  # noqa: E731
    for x, z in PLACES:
        for name, expected, value in zip(("upright", "sideways", "shear"), exact(x, z), stress[node(x, z)]):
            if x or name != "shear":
                rows.append(Row(f"{name} stress at x = {x} a, depth {z} a [kPa]", expected, value, -high, high, reason))
    deeper = state.u[node(1, 0), 1] - state.u[node(0, 0), 1]
    rows.append(Row("settlement, middle less edge [m]", 4 * (1 - NU**2) * Q * A * np.log(2) / (np.pi * E), deeper, -high, high, reason))
    return Answer(rows, len(mesh.triangles), depth_graph(mesh, stress))


def depth_graph(mesh, stress) -> Graph:
    """Stresses under the middle by depth."""
    x, y = mesh.points.T
    middle = np.flatnonzero((x < 1e-9) & (y > -5 * A) & np.isfinite(stress[:, 0]))
    fine = np.linspace(0.02, 5, 80)
    known = np.array([exact(0, z) for z in fine])
    pairs = tuple(enumerate(("upright", "sideways")))
    lines = tuple((name, fine, known[:, k]) for k, name in pairs)
    marks = tuple((f"fesoil, {name}", -y[middle] / A, stress[middle, k]) for k, name in pairs)
    return Graph("Depth under the middle [half-widths]", "Stress [kPa]", lines, marks)


def draw(ax):
    sketch.box(ax, -4, 4, -3, 0)
    sketch.pressure(ax, -1, 1, 0, 0.6, "100 kPa")
    sketch.measure(ax, (0, -0.3), (1, -0.3), "a = 5 m")
    for x, z in PLACES:
        ax.plot(x, -z, "o", color=sketch.INK, markersize=3)
    sketch.say(ax, -2.3, -2.2, "half-plane")


PROBLEM = Problem(
    "strip, stresses", "Flexible strip of 100 kPa, 10 m wide, on an elastic half-plane (E = 20 MPa, nu = 0.3)",
    "Flamant's line load summed over the strip, closed form (Poulos and Davis 1974, from memory)", run, (0.2,), (0.2, 0.1, FINE), draw,
)  # fmt: skip
