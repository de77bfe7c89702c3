"""What acts in a situation, as nodal forces: weights, pore pressure, free water, loads, preloads."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fesoil.case.model import Case
from fesoil.case.sequence import Situation, free_level, material_at, zone_of
from fesoil.case.soil import DRAINED
from fesoil.elements.joint import SIMPSON, simpson
from fesoil.errors import MeshError
from fesoil.mesh.sides import ON_GROUND, Sides, exposed_sides, level_sides, standing_pieces
from fesoil.mesh.split import LEFT, RIGHT, Mesh
from fesoil.solve.system import PRESSURE, Base, Model
from fesoil.water.hydrostatic import is_undrained
from fesoil.water.pore import at_points, free_on_face, on_walls

OUTWARD = np.array([[-1.0, 0.0], [1.0, 0.0]])
"""From a wall into the soil on its left and right face."""


@dataclass(frozen=True)
class Actions:
    """A situation in arrays.

    ``material`` (m,) index of the soil, -1 for none; ``standing`` (s,) pieces of wall; ``pore`` (m, 3) pore pressure [kPa];
    ``face_pore`` (s, 2, 3) pore pressure at the faces [kPa], with ``gap_water`` (s, 2, 3) that of a gap in undrained soil; ``weight`` (n, 2) nodal weights of
    the ground; ``soil`` (n, 2) and ``wall`` (b, 3) all external forces [kN/m].
    """

    material: np.ndarray
    standing: np.ndarray
    pore: np.ndarray
    face_pore: np.ndarray
    gap_water: np.ndarray
    weight: np.ndarray
    soil: np.ndarray
    wall: np.ndarray

    @property
    def active(self):
        """Triangles that are ground now (m,)."""
        return self.material >= 0


@dataclass(frozen=True)
class Step:
    """A stage ready to be solved or just solved: its situation, actions, model, load (zero + 1,), scale of residuals [kN/m] and the frames
    held at a constant load [kN/m]."""

    situation: Situation
    acting: Actions
    model: Model
    load: np.ndarray
    scale: float
    pushed: dict[str, float]


def pushed_frames(case: Case, situation: Situation) -> dict[str, float]:
    """Frames held at a constant load in a stage: those pressurised and not locked before."""
    now = case.stages[situation.index - 1].pressurise if situation.index else {}
    return {name: situation.preload[name] for name, status in situation.frames.items() if status == "pressurised" or name in now}


def actions(case: Case, base: Base, situation: Situation, head, pushed: dict[str, float] | None = None) -> Actions:
    """Forces of a situation with heads (n,) [m] of seepage, nan where there are none; ``pushed`` are the frames held at a constant load [kN/m]."""
    mesh = base.mesh
    material = material_at(case, situation, *mesh.centroids.T)
    standing = standing_pieces(case, mesh, situation)
    pore = at_points(case, mesh, situation, material, head)
    weight = base.triangles.body_force(_density(case, material, pore)[..., None] * np.array([0.0, -1.0]))
    soil, wall = weight + base.soil_forces(pore[..., None] * PRESSURE), np.zeros((len(mesh.wall_points), 3))
    face_pore = on_walls(case, mesh, situation, material, head) * standing[:, None, None]
    gap_water = _gap_water(case, mesh, situation, material, face_pore)
    _push_faces(mesh, standing, material, face_pore, soil, wall)
    exposed = exposed_sides(mesh, material >= 0, standing)
    _free_water(case, mesh, situation, exposed, soil)
    _loads(case, mesh, situation, material, exposed, soil)
    _slabs(case, mesh, situation, material, exposed, head, soil, wall)
    _wall_weight(case, mesh, standing, wall)
    for name, load in (pushed or {}).items():
        for node, direction in frame_ends(case, mesh, next(f for f in case.frames if f.name == name)):
            if node is not None:
                wall[node, 0] += direction * load
    return Actions(material, standing, pore, face_pore, gap_water, weight, soil, wall)


def _density(case, material, pore):
    """Unit weight (m, 3): saturated under pore pressure and in undrained soils, zero where there is no ground."""
    moist = np.array([s.unit_weight.moist for s in case.soils] + [0.0])[material]
    saturated = np.array([s.unit_weight.saturated for s in case.soils] + [0.0])[material]
    wet = (pore > 0) | np.array([s.drainage != DRAINED for s in case.soils] + [False])[material][:, None]
    return np.where(wet, saturated[:, None], moist[:, None])


def _gap_water(case, mesh, situation, material, face_pore):
    """Pressure (s, 2, 3) that water would have in a gap that opens beside undrained soil, beyond the pore pressure ``face_pore`` (s, 2, 3) counted at the face already."""
    gap = np.zeros((len(mesh.segments), 2, 3))
    filled = np.array([s.wall_friction.water_filled_gap for s in case.soils] + [False])
    for face in (LEFT, RIGHT) if case.water else ():
        there = face_material(mesh, material, face)
        water = np.where(filled[there][:, None], free_on_face(case, mesh, situation, face), 0.0)
        gap[:, face] = np.where(is_undrained(case, situation, there)[:, None], water - face_pore[:, face], 0.0)
    return gap


def face_material(mesh, material, face):
    """Material (s,) of the ground on a face of each piece of wall, -1 for none."""
    triangle = mesh.faces[:, face]
    return np.where(triangle >= 0, material[triangle], -1)


def face_areas(mesh: Mesh):
    """Share of the length (s, 3) at upper end, lower end and middle of each piece of wall [m]."""
    ends = mesh.wall_points[mesh.segments[:, :2]]
    return simpson(np.linalg.norm(ends[:, 0] - ends[:, 1], axis=1))


def _push_faces(mesh, standing, material, pressure, soil, wall) -> None:
    """Water pressure on the faces pushes soil and wall apart, and the wall alone where the soil is gone."""
    area = face_areas(mesh)
    for face in (LEFT, RIGHT):
        push = (pressure[:, face] * area)[..., None] * OUTWARD[face]
        nodes = mesh.face_nodes[:, face]
        there = (nodes >= 0) & (standing & (face_material(mesh, material, face) >= 0))[:, None]
        np.add.at(soil, nodes[there], push[there])
        np.add.at(wall[:, :2], mesh.segments[standing], -push[standing])


def _press(sides: Sides, pressure, soil) -> None:
    """Pressure (k, 3) against sides, at their nodes."""
    np.add.at(soil, sides.nodes, -(pressure * SIMPSON)[..., None] * sides.area[:, None])


def _free_water(case, mesh, situation, exposed: Sides, soil) -> None:
    """Water stands against bare ground with the level of the side that the ground faces."""
    if case.water is None:
        return
    facing = mesh.points[exposed.nodes[:, 2], 0] + mesh.origin[0] + 1e-3 * np.sign(np.round(exposed.area[:, 0], 9))
    level = free_level(case, situation, zone_of(case, facing))
    y = mesh.points[exposed.nodes, 1] + mesh.origin[1]
    _press(exposed, case.water.unit_weight * np.maximum(level[:, None] - y, 0.0), soil)


def _loads(case, mesh, situation, material, exposed, soil) -> None:
    for load in case.loads:
        if load.name not in situation.loads:
            continue
        if load.x is not None:
            soil[_loaded_node(mesh, load, material, exposed), 1] -= load.amount
            continue
        sides = exposed if load.level is None else level_sides(mesh, load.level, material)
        x = mesh.points[sides.nodes[:, 2], 0] + mesh.origin[0]
        under = (x > load.start) & (x < load.end) & (sides.area[:, 1] > 1e-9)
        width = sides.area[under, 1].sum()
        first, last = max(load.start, mesh.box[0] + mesh.origin[0]), min(load.end, mesh.box[1] + mesh.origin[0])
        if abs(width - (last - first)) > 1e-6 * max(last - first, 1.0):
            raise MeshError(f'load "{load.name}": only {width:.3f} m of its {last - first:.3f} m lie on ground in stage "{situation.name}"; move it or unload it before the dig')
        force = load.amount * sides.area[under, 1]
        np.add.at(soil[:, 1], sides.nodes[under], -force[:, None] * SIMPSON)


def _loaded_node(mesh, load, material, exposed):
    sides = exposed if load.level is None else level_sides(mesh, load.level, material)
    nodes = np.unique(sides.nodes[sides.area[:, 1] > 1e-9])
    gap = np.abs(mesh.points[nodes, 0] + mesh.origin[0] - load.x)
    if not len(nodes) or gap.min() > 1e-6:
        raise MeshError(f'load "{load.name}": there is no ground at x = {load.x:g} m to stand on')
    return nodes[np.argmin(gap)]


def _hang(case, mesh, slab, at, width, wall) -> None:
    """The weight of a slab without ground under it is carried by its walls."""
    walls = [name for name in slab.between if name in at]
    for name in walls:
        wall[wall_node(case, mesh, name, slab.top_level - slab.thickness / 2), 1] -= slab.unit_weight * slab.thickness * width / len(walls)


def _slabs(case, mesh, situation, material, exposed, head, soil, wall) -> None:
    """The weight of cast slabs rests on the ground between their walls, less that of the water or the fill that the model has in their place.

    Where water that seeps presses harder from below, the ground is under that pressure, and the sheets hold the slab down with what its weight leaves of it.
    """
    at = {w.name: w.x for w in case.walls}
    for slab in case.slabs:
        if slab.name not in situation.slabs:
            continue
        x0, x1 = sorted(at.get(n, 0.0) for n in slab.between)
        under = slab.top_level - slab.thickness
        level = level_sides(mesh, under, material)
        for sides in (level, exposed):
            x, y = (mesh.points[sides.nodes[:, 2]] + mesh.origin).T
            chosen = (x > x0) & (x < x1) & (sides.area[:, 1] > 1e-9) & (y < slab.top_level) & (y > under - ON_GROUND)
            if np.any(chosen):
                break
        else:
            _hang(case, mesh, slab, at, x1 - x0, wall)
            continue
        weight = slab.unit_weight * slab.thickness - _displaced(case, situation, slab, x[chosen])
        nodes = sides.nodes[chosen]
        held = np.maximum(_excess_head(case, mesh, situation, nodes, head) - weight[:, None], 0.0) * sides.area[chosen, 1:] * SIMPSON
        np.add.at(soil[:, 1], nodes, -weight[:, None] * sides.area[chosen, 1:] * SIMPSON - held)
        walls = [name for name in slab.between if name in at]
        for name in walls:
            wall[wall_node(case, mesh, name, slab.top_level - slab.thickness / 2), 1] += held.sum() / len(walls)


def _excess_head(case, mesh, situation, nodes, head):
    """Pressure (k, 3) [kPa] of water that seeps, above that of free water of the level there; nothing where there is no seepage."""
    if case.water is None:
        return np.zeros(nodes.shape)
    x, y = np.moveaxis(mesh.points[nodes] + mesh.origin, -1, 0)
    free = np.maximum(free_level(case, situation, zone_of(case, x[:, 2:])), y)
    return case.water.unit_weight * np.nan_to_num(np.maximum(head[nodes] - free, 0.0))


def _displaced(case, situation, slab, x):
    """Weight [kPa] of fill or free water that stands in the volume of a slab at places x."""
    middle = slab.top_level - slab.thickness / 2
    fill = material_at(case, situation, x, np.full(len(x), middle))
    level = free_level(case, situation, zone_of(case, x))
    wet = np.clip(level - (slab.top_level - slab.thickness), 0.0, slab.thickness)
    weights = np.array([(s.unit_weight.moist, s.unit_weight.saturated) for s in case.soils] + [(0.0, 0.0)])
    filled = np.where(level > middle, weights[fill, 1], weights[fill, 0]) * slab.thickness
    return np.where(fill >= 0, filled, (case.water.unit_weight if case.water else 0.0) * wet)


def _wall_weight(case, mesh, standing, wall) -> None:
    weight = np.array([w.sheet.weight for w in case.walls])
    if len(mesh.segments):
        force = weight[mesh.segment_wall, None] * face_areas(mesh)
        np.add.at(wall[:, 1], mesh.segments[standing], -force[standing])


def wall_node(case: Case, mesh: Mesh, name: str, level: float) -> int:
    """Node of a wall nearest to a level."""
    i = next(k for k, w in enumerate(case.walls) if w.name == name)
    nodes = np.unique(mesh.segments[mesh.segment_wall == i])
    return int(nodes[np.argmin(np.abs(mesh.wall_points[nodes, 1] + mesh.origin[1] - level))])


def frame_ends(case: Case, mesh: Mesh, frame, level=None):
    """Both ends of a prop as (node of the wall or None for the axis, -1 for the end on the left or +1), left one first."""
    at = {w.name: w.x for w in case.walls}
    names = sorted(frame.between, key=lambda n: at.get(n, 0.0))
    level = frame.level if level is None else level
    return [(None if n not in at else wall_node(case, mesh, n, level), d) for n, d in zip(names, (-1, 1))]
