"""Props as springs: locked frames, slabs, and the ground under a toe; what they remember from stage to stage."""

from __future__ import annotations

import numpy as np

from fesoil.case.frames import support_stiffness
from fesoil.case.model import Case
from fesoil.case.overburden import mean_pressure
from fesoil.case.sequence import Situation
from fesoil.case.stiffness import working_modulus
from fesoil.mesh.split import Mesh
from fesoil.solve.actions import Actions, frame_ends, pushed_frames, wall_node
from fesoil.solve.system import Prop

TOE_SUPPORT = 10.0
"""Stiffness of the bearing of a toe on the ground below it, for each metre run, in terms of the ground's Young's modulus."""


def props_of(case: Case, mesh: Mesh, situation: Situation, acting: Actions) -> list[Prop]:
    """Props of a situation: locked frames, slabs, toes."""
    pushed, springs = pushed_frames(case, situation), []
    for frame in case.frames:
        if situation.frames.get(frame.name) == "locked" and frame.name not in pushed:
            springs.append(Prop(f"frame:{frame.name}", *_ends(case, mesh, frame), support_stiffness(frame) / _walls(frame), frame.limit_load or np.inf, False))
    for slab in case.slabs:
        if slab.name in situation.slabs:
            level = slab.top_level - slab.thickness / 2
            springs.append(Prop(f"slab:{slab.name}", *_ends(case, mesh, slab, level), slab_stiffness(case, slab, situation.slabs[slab.name].E), np.inf, False))
    for name, level in situation.toes.items():
        springs += _toe(case, mesh, name, level, situation.stopped_short.get(name) == "pinned", acting)
    return springs


def _ends(case, mesh, prop, level=None):
    return [None if node is None else ("wall", node, 0) for node, _ in frame_ends(case, mesh, prop, level)]


def _walls(prop) -> int:
    """Number of walls that a prop acts on: with two, half of one wall's stiffness lies between them, and twice its slack."""
    return 1 if "axis" in prop.between else 2


def slab_stiffness(case: Case, slab, E):
    """Axial stiffness of a slab between its ends [kN/m2]: E t / length, to the axis in a half section."""
    at = {w.name: w.x for w in case.walls}
    x0, x1 = (at.get(n, 0.0) for n in slab.between)
    return E * slab.thickness / abs(x1 - x0)


def _toe(case, mesh, name, level, is_pinned, acting):
    """Supports of a toe: it rests on the ground below; when pinned to something hard it is held both ways and in both directions."""
    node = wall_node(case, mesh, name, level)
    segment = np.flatnonzero(mesh.segments[:, 1] == node)[0]
    soil = max(mesh.face_nodes[segment, :, 1])
    triangles = np.flatnonzero(np.any(mesh.triangles == soil, axis=1) & acting.active)
    if not len(triangles):
        return []
    x, level = mesh.wall_points[node, :1] + mesh.origin[0], np.array([level])
    E = max(float(working_modulus(case.soils[i], mean_pressure(case, x, level), level)[0]) for i in set(acting.material[triangles]))
    springs = [Prop(f"toe:{name}:y", ("soil", soil, 1), ("wall", node, 1), TOE_SUPPORT * E, np.inf, is_pinned)]
    if is_pinned:
        springs.append(Prop(f"toe:{name}:x", ("soil", soil, 0), ("wall", node, 0), TOE_SUPPORT * E, np.inf, True))
    return springs


def memory_of(case: Case, before: Situation, situation: Situation, memory: dict[str, float]) -> dict[str, float]:
    """Memory of the props at the entry of a stage: lock-in load, or how far a gap has to close, as the load it would need."""
    pushed, new = pushed_frames(case, situation), {}
    for frame in case.frames:
        if situation.frames.get(frame.name) == "locked" and frame.name not in pushed:
            key = f"frame:{frame.name}"
            held = situation.preload.get(frame.name, -frame.slack * support_stiffness(frame))
            new[key] = memory[key] if before.frames.get(frame.name) == "locked" and key in memory else held
    for slab in case.slabs:
        if slab.name in situation.slabs:
            key, E = f"slab:{slab.name}", situation.slabs[slab.name].E
            held = memory.get(key, -slab.gap * _walls(slab) * slab_stiffness(case, slab, E))
            cured = E / before.slabs[slab.name].E if slab.name in before.slabs else 1.0
            new[key] = held if held > 0 else held * cured
    for name, level in situation.toes.items():
        stays = before.toes.get(name) == level
        directions = "xy" if situation.stopped_short.get(name) == "pinned" else "y"
        new |= {f"toe:{name}:{d}": memory.get(f"toe:{name}:{d}", 0.0) if stays else 0.0 for d in directions}
    return new
