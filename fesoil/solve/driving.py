"""Sheets driven into stressed ground, and pulled out of it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from fesoil.case.model import Case
from fesoil.elements.triangle import N_POINTS
from fesoil.mesh.split import LEFT, RIGHT, Mesh
from fesoil.result.state import State
from fesoil.solve.actions import OUTWARD, Step, face_areas, face_material
from fesoil.solve.system import PRESSURE, Base, Model
from fesoil.water.pore import on_face


def drive(case: Case, base: Base, before: Step, new, state: State) -> State:
    """Joints of pieces just driven take over the traction that the ground had on that plane; the sheets follow the line of those above.

    The traction is the nodal force that one side had from the other, copy by copy, over the length that belongs to it: what is taken apart is put
    together again exactly, so that driving as such moves nothing.
    """
    mesh, acting = base.mesh, before.acting
    stress = state.stress.sum(axis=1).reshape(-1, N_POINTS, 4) - acting.pore[..., None] * PRESSURE
    force = acting.soil - base.soil_forces(acting.pore[..., None] * PRESSURE)  # external forces without the pore pressure that the stress now contains
    unbalanced = force - base.soil_forces(stress, acting.active) - _held_by_joints(before.model, state, len(mesh.points))
    area, gap, traction = face_areas(mesh), state.gap.copy(), state.traction.copy()
    for face in (LEFT, RIGHT):
        there = face_material(mesh, acting.material, face) >= 0
        # a toe node shares its plane with the ground below, so the length of pieces still to come belongs to it as well
        shares = there & ~acting.standing
        length = np.zeros(len(mesh.points))
        np.add.at(length, mesh.face_nodes[shares, face], area[shares])
        s = np.flatnonzero(new & there)
        nodes = mesh.face_nodes[s, face]
        total = unbalanced[nodes] / length[nodes][..., None]
        alone = _is_tip(mesh, nodes)
        total[alone] = np.repeat(total[:, 2:], 3, axis=1)[alone]
        normal = total @ OUTWARD[face] + _pore_on_face(case, base, before, state.head, s, face)
        gap[s, face] = normal
        traction[s, face] = np.stack([normal, total @ np.array([-OUTWARD[face, 1], OUTWARD[face, 0]])], axis=-1)
    section = state.section.copy()
    section[new] = 0.0
    return replace(state, gap=gap, traction=traction, section=section, w=_carried_on(mesh, acting.standing, new, state.w))


def _is_tip(mesh: Mesh, nodes):
    """Nodes (k, 3) at which the wall ends inside the ground: one soil node for both faces."""
    left, right = mesh.face_nodes[:, LEFT], mesh.face_nodes[:, RIGHT]
    both = np.intersect1d(left[left >= 0], right[right >= 0])
    return np.isin(nodes, both)


def _held_by_joints(model: Model, state: State, n):
    """Forces (n, 2) of existing joints on soil nodes, copies apart."""
    held = model.joints.forces(state.traction.reshape(-1, 2)[model.pairs])
    return np.column_stack([np.bincount(model.joints.soil, held[:, d], n) for d in range(2)])


def _pore_on_face(case, base, before: Step, head, s, face):
    """Pore pressure (k, 3) at the nodes of pieces ``s`` before they were driven, where the ground carries it."""
    mesh = base.mesh
    return on_face(case, mesh, before.situation, s, face, face_material(mesh, before.acting.material, face)[s], head)


def _carried_on(mesh: Mesh, old, new, w):
    """Movements (b, 3) with new wall nodes set on the straight continuation of the piece above them (zero for a wall just begun)."""
    w = w.copy()
    standing = np.zeros(len(w), bool)
    standing[mesh.segments[old].ravel()] = True
    for i in np.unique(mesh.segment_wall[new]):
        nodes = np.unique(mesh.segments[new & (mesh.segment_wall == i)])
        nodes = nodes[~standing[nodes]]
        above = np.unique(mesh.segments[old & (mesh.segment_wall == i)])
        w[nodes] = 0.0
        if len(above):
            toe = above[np.argmin(mesh.wall_points[above, 1])]
            depth = mesh.wall_points[toe, 1] - mesh.wall_points[nodes, 1]
            w[nodes] = w[toe]
            w[nodes, 0] += w[toe, 2] * depth
    return w


def withdraw(mesh: Mesh, gone, standing, state: State) -> State:
    """Pieces pulled out keep no forces; nodes that no piece stands on forget their movement."""
    section, gap, traction, w = state.section.copy(), state.gap.copy(), state.traction.copy(), state.w.copy()
    section[gone], gap[gone], traction[gone] = 0.0, 0.0, 0.0
    left = np.setdiff1d(mesh.segments[gone], mesh.segments[standing])
    w[left] = 0.0
    return replace(state, section=section, gap=gap, traction=traction, w=w)
