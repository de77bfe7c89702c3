"""Water through leaking walls: between the ground on two faces, and between the ground on one face and air or free water on the other.

What passes is in proportion to the difference of head, at one level that of pressure head; a face in air, or on dry ground, has none, and no wall sucks.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from fesoil.elements.joint import simpson
from fesoil.mesh.split import LEFT, RIGHT, Mesh


class Leaks(NamedTuple):
    """Conductivity of leaking walls [m2/s per m, of the whole circle m2/s] at soil nodes.

    ``pairs`` (j, 2) across pieces with ground that carries water on both faces, ``through`` (j,) between them; and for pieces with such ground on one face only ``piece`` (i,), ``node`` (i,),
    ``out`` (i,), and the pressure head ``beyond`` (i,) on the other face [m].
    """

    pairs: np.ndarray
    through: np.ndarray
    piece: np.ndarray
    node: np.ndarray
    out: np.ndarray
    beyond: np.ndarray

    def at(self, unknown):
        """The leaks in terms of unknowns (n,) of the soil nodes; those at nodes without one, -1, are dropped."""
        pairs, node = unknown[self.pairs].reshape(-1, 2), unknown[self.node]
        both, there = np.all(pairs >= 0, axis=1), node >= 0
        return Leaks(pairs[both], self.through[both], self.piece[there], node[there], self.out[there], self.beyond[there])

    def drips(self, pressure, s):
        """What leaves the ground [m3/s per m] through each of ``s`` pieces of wall with ground on one face, with pressure heads (n,) [m] at the nodes; negative where it enters."""
        return summed(self.piece, self.out * (pressure[self.node] - self.beyond), s)


def summed(index, values, n):
    """Sums (n,) of values (i,) by their index (i,)."""
    total = np.zeros(n)
    np.add.at(total, index, values)
    return total


def leaks_of(mesh: Mesh, carries, standing, leakage, beyond, around) -> Leaks:
    """Leaks of standing pieces of wall (mask (s,)) between ground that carries water (mask (m,)) and what is beside it.

    ``leakage`` (s,) [1/s]; ``beyond`` (s, 2) levels of free water [m] on the left and right face, minus infinity for air, nan where nothing passes; None for either where there is none;
    ``around`` (n,) way round the axis [m] of the nodes, 1 where there is none.
    """
    s = len(standing)
    passes = np.zeros(s) if leakage is None else np.asarray(leakage)
    free = np.full((s, 2), np.nan) if beyond is None else np.asarray(beyond)
    ground = (mesh.faces >= 0) & carries[mesh.faces] if s else np.zeros((0, 2), bool)
    ends = mesh.wall_points[mesh.segments[:, :2]]
    conducts = simpson(np.linalg.norm(ends[:, 0] - ends[:, 1], axis=1)) * passes[:, None]
    leaking = standing & (passes > 0)
    both = leaking & ground.all(axis=1)
    pairs = mesh.face_nodes[both][:, [LEFT, RIGHT]].swapaxes(1, 2).reshape(-1, 2)
    pieces, face = np.nonzero(leaking[:, None] & ground & ~np.isnan(free[:, ::-1]) & ~both[:, None])
    nodes = mesh.face_nodes[pieces, face].ravel()
    pressure = np.maximum(np.repeat(free[pieces, 1 - face], 3) - mesh.points[nodes, 1], 0.0)
    return Leaks(pairs, conducts[both].ravel() * around[pairs[:, 0]], np.repeat(pieces, 3), nodes, conducts[pieces].ravel() * around[nodes], pressure)


def past_ground(mesh: Mesh, standing, leakage, beyond):
    """What passes each piece of wall (s,) with no ground on either face from left to right [m3/s for each metre run]: ``leakage`` (s,) [1/s] times the difference of the pressure heads of free
    water at levels ``beyond`` (s, 2) [m], summed over its height; see ``leaks_of``."""
    upper, lower = mesh.wall_points[mesh.segments[:, :2], 1].T[..., None]
    pressed = (np.maximum(beyond - lower, 0.0) ** 2 - np.maximum(beyond - upper, 0.0) ** 2) / 2
    return np.where(standing & ~np.isnan(beyond).any(axis=1), leakage * (pressed[:, LEFT] - pressed[:, RIGHT]), 0.0)
