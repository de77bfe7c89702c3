"""A rigid plate upright in level ground, with joints on every face that has ground: moved as a whole, and the force that it takes."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from benchmarks.common import at_rest_in, movement, no_wall_force, push, weight
from fesoil.elements.beam import make_beams
from fesoil.elements.joint import Joints, simpson
from fesoil.result.state import State
from fesoil.soils.ground import Ground
from fesoil.solve.system import Model, make_base, make_model

LEFT, RIGHT = -1.0, 1.0
"""Direction of the ground from the plate, on its two faces."""

HORIZONTAL, UPWARD = 0, 1


class Bond(NamedTuple):
    """Joint between plate and ground: normal and shear stiffness [kN/m3], adhesion [kPa], tan(friction angle), weight of water in a gap [kN/m3]."""

    normal: float
    shear: float
    adhesion: float = 0.0
    tan_friction: float = 0.0
    water: float = 0.0


class Plate(NamedTuple):
    """Model with a plate; ``start`` at rest, ``load`` (zero + 1,) of the ground's weight."""

    model: Model
    start: State
    load: np.ndarray

    def moved(self, state, way, by, steps, tolerance=1e-6):
        """Curve of the force [kN/m] that moves the plate further from a state: ``way`` HORIZONTAL or UPWARD, ``by`` [m] at the end."""
        numbers = self.model.unknowns.wall[:, way]
        wall = np.zeros(self.model.unknowns.wall.shape)
        wall[:, way] = by
        read = lambda _, held: held[numbers].sum()  # noqa: E731
        scale = float(np.linalg.norm(self.load))
        return push(self.model, state, self.load, scale, movement(self.model, wall=wall), np.linspace(0, 1, steps + 1)[1:], read, tolerance)

    def faces(self, state):
        """Levels [m], normal (tension positive) and shear traction [kPa], and the ground's horizontal movement [m], of all pairs of nodes."""
        joints = self.model.joints
        normal, shear = state.traction.reshape(-1, 2)[self.model.pairs].T
        return self.model.base.mesh.points[joints.soil, 1], normal, shear, state.u[joints.soil, 0]


def bonded(mesh, bond: Bond):
    """Joints on all faces of walls that have ground, and their places."""
    area = np.repeat(simpson(np.abs(np.diff(mesh.segment_levels, axis=1)).ravel())[:, None], 2, axis=1).ravel()
    facing = np.broadcast_to(np.array([LEFT, RIGHT])[None, :, None], mesh.face_nodes.shape).ravel()
    wall = np.repeat(mesh.segments[:, None], 2, axis=1).ravel()
    soil = mesh.face_nodes.ravel()
    pairs = np.flatnonzero(soil >= 0)
    n = len(pairs)
    normal = np.column_stack([facing[pairs], np.zeros(n)])
    adhesion, friction, in_gap = np.full(n, bond.adhesion), np.full(n, bond.tan_friction), -bond.water * mesh.points[soil[pairs], 1]
    return Joints(soil[pairs], wall[pairs], normal, area[pairs], np.tile([bond.normal, bond.shear], (n, 1)), adhesion, friction, in_gap), pairs


def plate_in(mesh, law, fixed, bond: Bond, gamma, ratio) -> Plate:
    """Plate along the walls of a mesh of level ground with its surface at 0: weight [kN/m3] and at-rest ratio."""
    base, (joints, pairs) = make_base(mesh), bonded(mesh, bond)
    places, s = base.triangles.points.reshape(-1, 2), len(mesh.segments)
    ground = Ground(((np.arange(len(places)), law(places)),), len(places))
    beams = make_beams(mesh.wall_points, mesh.segments, np.tile([1e7, 1e5, 1e6], (s, 1)), np.full(s, np.inf))
    held = np.ones((len(mesh.wall_points), 3), bool)
    model = make_model(base, np.ones(len(mesh.triangles), bool), ground, np.ones(s, bool), beams, joints, pairs, [], fixed, held)
    start = at_rest_in(model, lambda points: gamma * points[:, 1:] * np.array([ratio, 1.0, ratio, 0.0]))
    pressure = ratio * gamma * mesh.points[joints.soil, 1]
    start.gap.reshape(-1)[pairs] = start.traction.reshape(-1, 2)[pairs, 0] = pressure
    return Plate(model, start, model.reduce(weight(base, gamma), no_wall_force(mesh)))
