"""Pore pressure where it is needed: at the integration points of the ground and on the faces of walls, by steady seepage or by levels.

Where seepage is asked for, ground that drains but is cut off from all water keeps the pressure of before the works: it is trapped. Undrained soils in total stress carry none. An undrained soil in effective stress keeps the steady pressure of before the works until it drains.
"""

from __future__ import annotations

import numpy as np

from fesoil.case.model import Case
from fesoil.case.sequence import Situation, free_level, start_of, zone_of
from fesoil.elements.triangle import POINTS, shapes
from fesoil.mesh.split import LEFT, RIGHT, Mesh
from fesoil.water.hydrostatic import is_pervious, is_undrained, pore_pressure

BESIDE = 1e-3
"""Distance [m] from a wall at which the zone on its left or right is looked up."""


def at_points(case: Case, mesh: Mesh, situation: Situation, material, head):
    """Pore pressure (m, 3) [kPa] at the integration points of ground of a ``material`` (m,), with heads (n,) [m] of seepage, nan where there are none."""
    x, y = np.moveaxis(np.einsum("ki,eid->ekd", shapes(POINTS), mesh.points[mesh.triangles]) + mesh.origin, -1, 0)
    return _pressure(case, situation, zone_of(case, mesh.centroids[:, 0]), material, x, y, head[mesh.triangles] @ shapes(POINTS).T)


def on_face(case: Case, mesh: Mesh, situation: Situation, pieces, face, material, head):
    """Pore pressure (k, 3) [kPa] of the ground at the nodes of ``pieces`` (k,) of wall on a face, where the ground there, of a ``material`` (k,), carries any."""
    x, y = np.moveaxis(mesh.wall_points[mesh.segments[pieces]] + mesh.origin, -1, 0)
    nodes = mesh.face_nodes[pieces, face]
    return _pressure(case, situation, _zone_beside(case, x[:, 0], face), material, x, y, np.where(nodes >= 0, head[nodes], np.nan))


def on_walls(case: Case, mesh: Mesh, situation: Situation, material, head):
    """Water pressure (s, 2, 3) [kPa] on the left and right face of each piece of wall: of the ground there, of free water where there is none."""
    pressure = np.zeros((len(mesh.segments), 2, 3))
    if case.water is None or not len(mesh.segments):
        return pressure
    for face in (LEFT, RIGHT):
        there = np.where(mesh.faces[:, face] >= 0, material[mesh.faces[:, face]], -1)
        ground = on_face(case, mesh, situation, slice(None), face, there, head)
        pressure[:, face] = np.where(there[:, None] >= 0, ground, free_on_face(case, mesh, situation, face))
    return pressure


def free_on_face(case: Case, mesh: Mesh, situation: Situation, face):
    """Pressure (s, 3) [kPa] that free water of the side's level has at each piece of wall."""
    x, y = np.moveaxis(mesh.wall_points[mesh.segments] + mesh.origin, -1, 0)
    level = free_level(case, situation, _zone_beside(case, x[:, 0], face))
    return case.water.unit_weight * np.maximum(level[:, None] - y, 0.0)


def _zone_beside(case: Case, x, face):
    return zone_of(case, x + (BESIDE if face == RIGHT else -BESIDE))


def _pressure(case: Case, situation: Situation, zone, material, x, y, head):
    """Pressure [kPa] at places (k, 3) in ground of a zone and material (k,): from heads (k, 3) where there are any, else by levels."""
    if case.water is None:
        return np.zeros(x.shape)
    otherwise = _by_level(case, start_of(case) if situation.seepage else situation, zone, x, y)
    pressure = np.where(np.isnan(head), otherwise, case.water.unit_weight * np.maximum(head - y, 0.0))
    frozen = is_undrained(case, situation, material)[:, None]
    if np.any(frozen):
        pressure = np.where(frozen, _by_level(case, start_of(case), zone, x, y), pressure)
    return pressure * is_pervious(case, material)[:, None]


def _by_level(case: Case, situation: Situation, zone, x, y):
    return pore_pressure(case, situation, np.repeat(zone, x.shape[1]), x.ravel(), y.ravel()).reshape(x.shape)
