"""Which sides of the ground lie bare, which under a level line, and which pieces of wall stand."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fesoil.case.model import Case
from fesoil.case.sequence import Situation
from fesoil.elements.triangle import SIDES
from fesoil.mesh.split import Mesh


ON_GROUND = 0.05
"""Distance [m] between the underside of a slab and the ground up to which it rests on it."""


@dataclass(frozen=True)
class Sides:
    """Sides of ground that face no ground: ``nodes`` (k, 3) end, end, middle; ``triangle`` (k,); ``area`` (k, 2) outward normal times length [m]."""

    nodes: np.ndarray
    triangle: np.ndarray
    area: np.ndarray


def _sides_of(mesh: Mesh, triangle, side) -> Sides:
    nodes = mesh.triangles[triangle[:, None], SIDES[side]]
    along = mesh.points[nodes[:, 1]] - mesh.points[nodes[:, 0]]  # anticlockwise round the triangle, so outwards is to the right
    return Sides(nodes, triangle, np.column_stack([along[:, 1], -along[:, 0]]))


def exposed_sides(mesh: Mesh, active, standing) -> Sides:
    """Sides of the active ground towards air or water, neither on the box nor on a standing wall."""
    there = (mesh.edges >= 0) & active[mesh.edges]
    one = there.sum(axis=1) == 1
    if len(standing):
        one &= ~((mesh.edge_segment >= 0) & standing[mesh.edge_segment])
    which = np.argmax(there, axis=1)
    rows = np.flatnonzero(one)
    sides = _sides_of(mesh, mesh.edges[rows, which[rows]], mesh.edge_sides[rows, which[rows]])
    left, right, bottom, _ = mesh.box
    middle = mesh.points[sides.nodes[:, 2]]
    inside = (middle[:, 0] > left + 1e-6) & (middle[:, 0] < right - 1e-6) & (middle[:, 1] > bottom + 1e-6)
    return Sides(sides.nodes[inside], sides.triangle[inside], sides.area[inside])


def level_sides(mesh: Mesh, level, material) -> Sides:
    """Upper sides of the ground of a ``material`` (m,), -1 for none, under a level line [m, level of the case]."""
    sides = _sides_of(mesh, np.repeat(np.arange(len(mesh.triangles)), 3), np.tile(np.arange(3), len(mesh.triangles)))
    y = mesh.points[sides.nodes, 1] + mesh.origin[1]
    on = np.all(np.abs(y - level) < 1e-6, axis=1) & (sides.area[:, 1] > 0) & (material[sides.triangle] >= 0)
    return Sides(sides.nodes[on], sides.triangle[on], sides.area[on])


def standing_pieces(case: Case, mesh: Mesh, situation: Situation):
    """Pieces of wall (s,) that stand: those between a wall's top and its toe."""
    toe = np.array([situation.toes.get(w.name, np.inf) for w in case.walls])
    return mesh.segment_levels[:, 1] > toe[mesh.segment_wall] - 1e-6 if len(mesh.segments) else np.zeros(0, bool)
