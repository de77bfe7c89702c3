"""Block dug out of elastic ground and set in again as it would have followed its border: everything returns to what it was."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from benchmarks import sketch
from benchmarks.common import boxed, lattice, mesh_of, movement, no_wall_force, one_material
from benchmarks.consistency import GAMMA, NU, E
from benchmarks.problem import Answer, Graph, Problem, Row
from fesoil.elements.triangle import N_POINTS
from fesoil.result.state import blank_state
from fesoil.soils.elastic import Elastic
from fesoil.solve.newton import equilibrate
from fesoil.solve.system import make_base

WIDTH, DEPTH = 12.0, 8.0
LEFT, RIGHT, DUG = 2.0, 6.0, 4.0
"""Sides of the block, and its depth below the surface at y = 0 [m]."""

RETURNS = "elastic ground remembers no order; each stage is solved to rounding, here against what the dig changed"


class Ground:
    """Elastic ground on a mesh, of which some triangles are active at a time."""

    def __init__(self, mesh):
        self.mesh, self.base = mesh, make_base(mesh)
        x, y = mesh.points[mesh.triangles[:, :3]].mean(axis=1).T
        self.block = (x > LEFT) & (x < RIGHT) & (y > -DUG)
        self.in_block, self.in_rest = (self.nodes(active) for active in (self.block, ~self.block))

    def nodes(self, active):
        """Mask (n,) of the nodes of triangles."""
        return np.isin(np.arange(len(self.mesh.points)), self.mesh.triangles[active])

    def weight(self, active):
        """Nodal weights (n, 2) of triangles."""
        density = np.where(active, GAMMA, 0.0)[:, None, None] * np.array([0.0, -1.0])
        return self.base.triangles.body_force(np.broadcast_to(density, (len(active), N_POINTS, 2)))

    def settled(self, state, active, fixed, moves=None, force=0.0):
        """State in balance, to rounding, with the weight of the active triangles and nodal forces, after the fixed freedoms have moved."""
        model = one_material(self.mesh, lambda points: Elastic(NU, np.full(len(points), E)), fixed, active)
        load = model.reduce(self.weight(active) + force, no_wall_force(self.mesh))
        outcome = equilibrate(model, state, load, np.linalg.norm(load), movement(model, moves), tolerance=1e-12)
        return outcome.state if outcome.converged else replace(outcome.state, u=np.full(state.u.shape, np.nan))

    def at_first(self):
        """Gravity turned on in all of the ground."""
        return self.settled(blank_state(self.mesh), self.block | ~self.block, boxed(self.mesh))

    def dug(self, first, force=0.0):
        """The block taken away, with nodal forces in its place."""
        return self.settled(first, ~self.block, boxed(self.mesh), force=force)

    def held_up(self, first):
        """Nodal forces (n, 2) that the block exerts on the rest."""
        from_block = self.weight(self.block) - self.base.soil_forces(first.stress[:, 0].reshape(-1, N_POINTS, 4), self.block)
        return np.where(self.in_rest[:, None], from_block, 0.0)

    def set_in(self, first, dug):
        """The dug state with the block back in its hole: strained from the first state by the movement of its border, not yet let go."""
        fixed = np.repeat((self.in_block & self.in_rest)[:, None], 2, axis=1)
        followed = self.settled(first, self.block, fixed, dug.u - first.u)
        points = np.repeat(self.block, N_POINTS)[:, None, None]
        return replace(dug, u=np.where(self.in_rest[:, None], dug.u, followed.u), stress=np.where(points, followed.stress, dug.stress))

    def restored(self, first, dug):
        """The block set in and let go."""
        return self.settled(self.set_in(first, dug), self.block | ~self.block, boxed(self.mesh))


def ground(cells_by_metre) -> Ground:
    """Ground between smooth sides, on triangles of a lattice."""
    points, triangles = lattice(round(WIDTH * cells_by_metre), round(DEPTH * cells_by_metre))
    return Ground(mesh_of(points * [WIDTH, DEPTH] - [0.0, DEPTH], triangles))


def run(h) -> Answer:
    """``h``: size of the lattice's cells [m]."""
    soil = ground(1 / h)
    first = soil.at_first()
    dug, propped = soil.dug(first), soil.dug(first, soil.held_up(first))
    back = soil.restored(first, dug)
    changes = {
        "block restored: movements": (back.u - first.u, dug.u - first.u),
        "block restored: stresses": (back.stress - first.stress, dug.stress - first.stress),
        "block replaced by its forces: movements": (propped.u - first.u, dug.u - first.u),
    }
    shares = {name: np.abs(change).max() / np.abs(by_dig).max() for name, (change, by_dig) in changes.items()}
    rows = [Row(f"{name}, 1 + largest change over that by the dig", 1.0, 1 + share, -1e-15, 1e-8, RETURNS) for name, share in shares.items()]
    return Answer(rows, len(soil.mesh.triangles), graph(soil, first, dug, back))


def graph(soil, first, dug, back):
    """Settlement of the level of the block's base."""
    x, y = soil.mesh.points.T
    level = np.flatnonzero(np.isclose(y, -DUG))
    level = level[np.argsort(x[level])]
    settlement = lambda state: -1e3 * state.u[level, 1]  # noqa: E731
    marks = (("fesoil, dug", x[level], settlement(dug)), ("fesoil, restored", x[level], settlement(back)))
    return Graph("Place [m]", f"Settlement {DUG:g} m down [mm]", (("before the dig", x[level], settlement(first)),), marks)


def draw(ax):
    sketch.box(ax, 0, WIDTH, -DEPTH, 0)
    ax.plot([LEFT, LEFT, RIGHT, RIGHT], [0, -DUG, -DUG, 0], color=sketch.INK, linewidth=0.8, linestyle=":")
    sketch.arrow(ax, (3.5, -2.5), (3.5, 0.8), "out")
    sketch.arrow(ax, (5.0, 0.8), (5.0, -2.5), "in")
    sketch.measure(ax, (LEFT, -DUG - 0.7), (RIGHT, -DUG - 0.7), "4 m")
    sketch.measure(ax, (RIGHT + 0.7, 0), (RIGHT + 0.7, -DUG), "4 m")
    sketch.measure(ax, (-0.8, 0), (-0.8, -DEPTH), "8 m")


PROBLEM = Problem(
    "dug and restored", "Block of 4 m by 4 m dug out of elastic ground, 20 kN/m3, E = 20 MPa, nu = 0.3, and set in again strained with its hole",
    "superposition in linear elasticity", run, (1.0,), (1.0,), draw,
)  # fmt: skip
