"""Earth and water pressure on both faces of a wall as the finite elements find them: a reading of the joints' tractions."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fesoil.case.sequence import material_at
from fesoil.elements.joint import simpson
from fesoil.mesh.sides import standing_pieces
from fesoil.result.reading import Result
from fesoil.water.pore import on_walls

DOWNWARD = np.array([1.0, -1.0])
"""Sign of the joints' shear on the left and the right face where the ground goes down along the wall."""


@dataclass(frozen=True)
class EarthLine:
    """Pressures on a wall after one stage, left face first, compression positive; from the top down, each piece gives its upper end, middle and lower end.

    ``level`` (k,) [m]; ``length`` (k,) of wall that belongs to each place [m]; ``earth`` (2, k) [kPa] of the ground, 0 where there is none: effective where water moves freely, total in soils that
    are undrained in total stress, with excess pressure in those that are undrained in effective stress; ``water`` (2, k) [kPa], steady, of pore water or free water; ``friction`` (2, k)
    [kPa], positive where the ground goes down along the wall.
    """

    level: np.ndarray
    length: np.ndarray
    earth: np.ndarray
    water: np.ndarray
    friction: np.ndarray

    @property
    def total(self) -> np.ndarray:
        """Pressure (2, k) of ground and water together [kPa]."""
        return self.earth + self.water

    def force(self, values, high=np.inf, low=-np.inf):
        """Force [kN/m] of values (k,) [kPa] between two levels [m]; exact where these are ends of pieces, as the surface of the ground is, and by shares of a piece elsewhere."""
        depth = -np.append(self.level[::3], self.level[-1])
        above = np.append(0.0, np.cumsum((values * self.length).reshape(-1, 3).sum(axis=1)))
        return float(np.interp(-low, depth, above) - np.interp(-high, depth, above))


def earth_on(result: Result, name: str) -> tuple[EarthLine | None, ...]:
    """Pressures on both faces of a wall, by stage, None where it does not stand.

    Raises
    ------
    KeyError
        For a name that the case does not have.
    """
    names = [wall.name for wall in result.case.walls]
    if name not in names:
        raise KeyError(f"no wall {name!r}; the case has {', '.join(names)}")
    index = names.index(name)
    return tuple(_line(result, index, now, state) for now, state in zip(result.situations[1:], result.states[1:]))


def _line(result: Result, wall: int, situation, state) -> EarthLine | None:
    case, mesh = result.case, result.mesh
    if case.walls[wall].name not in situation.toes:
        return None
    material = material_at(case, situation, *mesh.centroids.T)
    pieces = np.flatnonzero(standing_pieces(case, mesh, situation) & (mesh.segment_wall == wall))
    order = [0, 2, 1]  # upper end, middle, lower end
    nodes = mesh.segments[pieces][:, order].ravel()
    faces = mesh.faces[pieces]
    ground = np.repeat((faces >= 0) & (material[faces] >= 0), 3, axis=0).T
    normal, shear = (state.traction[pieces][:, :, order, k].swapaxes(0, 1).reshape(2, -1) for k in (0, 1))
    water = on_walls(case, mesh, situation, material, state.head)[pieces][:, :, order].swapaxes(0, 1).reshape(2, -1)
    ends = mesh.wall_points[mesh.segments[pieces, :2], 1]
    length = simpson(ends[:, 0] - ends[:, 1])[:, order].ravel()
    return EarthLine(mesh.wall_points[nodes, 1] + mesh.origin[1], length, np.where(ground, 0.0 - normal, 0.0), water, np.where(ground, DOWNWARD[:, None] * shear, 0.0))
