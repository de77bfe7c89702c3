"""Steady seepage in a situation of a case: what is given where, the flow on the mesh, and how much water goes where.

Given heads: free water against bare ground; the level at the sides of the section, unless they are closed; the level kept in wells. Water may leave at bare ground above its free water, at
the open length of a well above its level, and, between walls, along the line of a water level that lies below the ground: a pumped level is held by a drain across the pit at that
level. Ground under a slab is sealed by it. A well that would feed the ground does nothing.

Leaking walls let water through between ground, air and free water; tight ground and a cast slab seal the face that they stand at. What comes through them into a pit is pumped from it: it does not
enter the ground again.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fesoil.case.model import Case
from fesoil.case.sequence import Situation, cofferdams, drained_zones, drains, free_level, material_at, zone_of, zones
from fesoil.elements.triangle import Triangles, shapes
from fesoil.mesh.sides import ON_GROUND, Sides, exposed_sides, standing_pieces
from fesoil.mesh.split import LEFT, RIGHT, Mesh
from fesoil.water.flow import Flow, outflow_gradient, steady, stream_function
from fesoil.water.leaks import past_ground, summed

NEAR = 1e-6
"""Distance [m] within which a node lies on a line: coordinates of the mesh are rounded to this."""

FEEDS = 1e-9
"""Share of all that flows below which a flow is none."""

STILL = 1e-9
"""The same, over the flow of a metre of head across a square of the most pervious ground: in water at rest all flow is round-off."""


@dataclass(frozen=True)
class Conditions:
    """What is given where.

    ``fixed`` (n,) heads [m, level of the case], nan for none; ``may_seep`` (n,); ``places`` masks (n,) by name of what water passes through: wells, strips between walls, and
    'left', 'right' outside; no node is in two of them.
    """

    fixed: np.ndarray
    may_seep: np.ndarray
    places: dict[str, np.ndarray]


@dataclass(frozen=True)
class Seepage:
    """Steady seepage in a situation: the flow on the mesh, what was given, and the permeability (m, 2) [m/s]. Heads are levels of the case [m].

    ``through_walls`` what comes into the free space of each strip through leaking walls, out of ground or of free water on their other face [m3/s for each metre run]; negative where it goes.
    """

    mesh: Mesh
    triangles: Triangles
    flow: Flow
    conditions: Conditions
    k: np.ndarray
    through_walls: dict[str, float]

    @cached_property
    def head(self):
        """Heads (n,) [m, level of the case], nan where no ground carries water or no given head reaches."""
        return self.flow.head + self.mesh.origin[1]

    @cached_property
    def out(self) -> dict[str, float]:
        """What comes to each place [m3/s for each metre run], out of the ground and through leaking walls, so that it is what a pit's pumps lift; negative where it goes from there."""
        risen = {name: -float(self.flow.inflow[np.unique(self.flow.leader[mask])].sum()) for name, mask in self.conditions.places.items()}
        return {name: value + self.through_walls.get(name, 0.0) for name, value in risen.items()}

    @property
    def balance(self) -> float:
        """What enters the ground less what leaves it, over what enters; 0 without flow."""
        return self.flow.balance if self.flow.enters > self.least else 0.0

    @cached_property
    def least(self) -> float:
        """Flow [m3/s for each metre run] below which there is none."""
        return max(FEEDS * float(np.abs(self.flow.inflow).sum()), STILL * float(self.k.max(initial=0.0)))

    def head_at(self, x, y):
        """Head (k,) [m] at places (k,) of the case; nan where no ground carries water. A place on a wall is of either face: keep off it."""
        places = np.column_stack([x, y]) - self.mesh.origin
        chosen = np.flatnonzero(self.flow.carries)
        corner = self.mesh.points[self.triangles.nodes[chosen, 0]]
        local = np.einsum("eab,keb->kea", self.triangles.inverse[chosen, 0], places[:, None] - corner)
        inside = np.minimum(local.min(axis=2), 1 - local.sum(axis=2))
        best, rows = inside.argmax(axis=1), np.arange(len(places))
        values = np.einsum("ki,ki->k", shapes(local[rows, best]), self.head[self.triangles.nodes[chosen[best]]])
        return np.where(inside[rows, best] > -NEAR, values, np.nan)

    def exit_gradient(self, place):
        """Hydraulic gradient (n,) with which water leaves bare ground at a place, nan elsewhere."""
        return outflow_gradient(self.mesh, self.flow, self.k, self.conditions.places[place])

    def stream_function(self):
        """Stream function (n,) [m2/s]; see ``flow.stream_function``."""
        return stream_function(self.mesh, self.triangles, self.flow)


def permeability(case: Case, situation: Situation, material):
    """Permeability (m, 2) [m/s] of a material (m,): zero for nothing, for undrained soils, and where none is stated."""
    return np.array([s.permeability.both if s.permeability and drains(s, situation) else (0.0, 0.0) for s in case.soils] + [(0.0, 0.0)])[material]


def leakage(case: Case, mesh: Mesh):
    """Leakage (s,) of each piece of wall [1/s]: of the wall, or of the leak in which its middle lies."""
    found = np.array([w.leakage for w in case.walls] or [0.0])[mesh.segment_wall]
    middle = mesh.segment_levels.mean(axis=1)
    for i, wall in enumerate(case.walls):
        for leak in wall.leaks:
            found[(mesh.segment_wall == i) & (middle < leak.top) & (middle > leak.bottom)] = leak.leakage
    return found


def free_beside(case: Case, mesh: Mesh, situation: Situation, material):
    """Levels (s, 2) of free water on the left and right face of each piece of wall [m, level of the mesh], minus infinity for air, nan where ground of a ``material`` (m,) or a slab stands."""
    stands = (mesh.faces >= 0) & (material[mesh.faces] >= 0)
    return np.where(stands | _at_slabs(case, mesh, situation), np.nan, free_level(case, situation, _strips_beside(case, mesh)) - mesh.origin[1])


def _strips_beside(case: Case, mesh: Mesh):
    """Index (s, 2) of the strips on the left and right of each piece of wall."""
    right = zone_of(case, np.array([w.x for w in case.walls]))[mesh.segment_wall]
    return np.column_stack([right - 1, right])


def _at_slabs(case: Case, mesh: Mesh, situation: Situation):
    """Faces (s, 2) of pieces of wall at which a cast slab ends."""
    x, y = (mesh.wall_points[mesh.segments[:, 2]] + mesh.origin).T
    found = np.zeros((len(x), 2), bool)
    for slab, *ends in _cast_slabs(case, situation):
        beside = (y < slab.top_level) & (y > slab.top_level - slab.thickness)
        for face, end in zip((RIGHT, LEFT), ends):
            found[:, face] |= beside & (np.abs(x - end) < NEAR)
    return found


def _into_strips(case: Case, mesh: Mesh, free, drips, past) -> dict[str, float]:
    """What comes into the free space of each strip: ``drips`` (s,) out of the ground on one face to the free one, ``past`` (s,) from left to right of walls with free faces (s, 2) only."""
    into = np.where(np.isnan(free), 0.0, drips[:, None]) + past[:, None] * np.array([-1.0, 1.0])
    strips, by_strip = zones(case), dict.fromkeys((z.name for z in zones(case)), 0.0)
    for i, q in enumerate(summed(_strips_beside(case, mesh).ravel(), into.ravel(), len(strips))):
        by_strip[strips[i].name] += float(q)
    return by_strip


def seepage(case: Case, mesh: Mesh, triangles: Triangles, situation: Situation) -> Seepage:
    """Steady seepage in a situation on the mesh of a case.

    Raises
    ------
    NoFreeSurface
    """
    material, standing = material_at(case, situation, *mesh.centroids.T), standing_pieces(case, mesh, situation)
    k, through, free = permeability(case, situation, material), leakage(case, mesh), free_beside(case, mesh, situation, material)
    past = past_ground(mesh, standing, through, free)
    wells, unfed = dict(situation.wells), np.zeros(len(mesh.points), bool)
    while True:
        given = conditions(case, mesh, situation, material, standing, wells, unfed)
        flow = steady(mesh, triangles, k, standing, given.fixed - mesh.origin[1], given.may_seep, through, beyond=free)
        dry = given.may_seep & np.isnan(flow.head)
        if np.any(dry & ~unfed):
            unfed = unfed | dry
            continue
        found = Seepage(mesh, triangles, flow, given, k, _into_strips(case, mesh, free, flow.drips, past))
        feeding = [name for name in wells if found.out[name] < -found.least]
        if not feeding:
            return found
        wells = {name: level for name, level in wells.items() if name not in feeding}


def conditions(case: Case, mesh: Mesh, situation: Situation, material, standing, wells: dict[str, float], unfed) -> Conditions:
    """What is given where, with the ``wells`` in use at their levels [m]; ``unfed`` (n,) nodes in ground that no head given elsewhere reaches: there the levels of pits are given."""
    ground = np.zeros(len(mesh.points), bool)
    ground[mesh.triangles[permeability(case, situation, material).all(axis=1)]] = True
    fixed, may_seep = np.full(len(mesh.points), np.nan), np.zeros(len(mesh.points), bool)
    level_of, places = mesh.points[:, 1] + mesh.origin[1], _places(case, mesh, situation)
    _at_bare_ground(case, mesh, situation, _unsealed(case, mesh, situation, exposed_sides(mesh, material >= 0, standing)), fixed, may_seep, places)
    _at_drains(case, mesh, situation, ground, fixed, may_seep, places)
    for i, strip in enumerate(zones(case)):
        if strip.name in cofferdams(case) and situation.water[i] is not None:
            fixed[_on_level(case, mesh, i, situation.water[i]) & may_seep & unfed] = situation.water[i]
    if case.water.far_boundary == "recharge":
        _at_sides(case, mesh, situation, fixed, places)
    for well in case.wells:
        if well.name in wells:
            open_ = ground & (np.abs(mesh.points[:, 0] + mesh.origin[0] - well.x) < NEAR) & (level_of < well.top + NEAR) & (level_of > well.bottom - NEAR)
            below = open_ & (level_of <= wells[well.name] + NEAR)
            fixed[open_], fixed[below], may_seep[open_] = np.nan, wells[well.name], True
            _claim(places, well.name, open_)
    may_seep &= np.isnan(fixed)
    return Conditions(fixed, may_seep, places)


def _places(case: Case, mesh: Mesh, situation: Situation):
    return {name: np.zeros(len(mesh.points), bool) for name in [*situation.wells, *dict.fromkeys(z.name for z in zones(case))]}


def _claim(places, name, nodes) -> None:
    """Give nodes (n,) to a place, and take them from all others."""
    for mask in places.values():
        mask &= ~nodes
    places[name] |= nodes


def _cast_slabs(case: Case, situation: Situation):
    """Cast slabs, each with the places x of its left and right end [m]."""
    at = {w.name: w.x for w in case.walls}
    return [(slab, *sorted(at.get(name, 0.0) for name in slab.between)) for slab in case.slabs if slab.name in situation.slabs]


def _unsealed(case: Case, mesh: Mesh, situation: Situation, sides: Sides) -> Sides:
    """Sides that no cast slab lies on."""
    x, y = (mesh.points[sides.nodes[:, 2]] + mesh.origin).T
    covered = np.zeros(len(x), bool)
    for slab, x0, x1 in _cast_slabs(case, situation):
        covered |= (x > x0) & (x < x1) & (y < slab.top_level) & (y > slab.top_level - slab.thickness - ON_GROUND)
    return Sides(sides.nodes[~covered], sides.triangle[~covered], sides.area[~covered])


def _at_bare_ground(case, mesh, situation, sides: Sides, fixed, may_seep, places) -> None:
    """Free water stands against bare ground; above it water may leave, and so on the floor of a pit that is pumped just to it: there is nothing there to feed the ground."""
    facing = mesh.points[sides.nodes[:, 2], 0] + mesh.origin[0] + 1e-3 * np.sign(np.round(sides.area[:, 0], 9))
    zone = zone_of(case, facing)
    level = np.repeat(free_level(case, situation, zone), 3)
    nodes, pits = sides.nodes.ravel(), np.array([strip.name in cofferdams(case) for strip in zones(case)])
    under = mesh.points[nodes, 1] + mesh.origin[1] <= level + np.where(np.repeat(pits[zone], 3), -NEAR, NEAR)
    fixed[nodes[under]] = level[under]
    may_seep[nodes] = True
    for i, strip in enumerate(zones(case)):
        mask = np.zeros(len(mesh.points), bool)
        mask[sides.nodes[zone == i]] = True
        _claim(places, strip.name, mask)


def _at_drains(case, mesh, situation, ground, fixed, may_seep, places) -> None:
    """A level below the ground between walls is held by a drain, where water leaves."""
    for i, level in drained_zones(case, situation):
        on = _on_level(case, mesh, i, level) & ground & ~(np.isfinite(fixed) | may_seep)
        may_seep[on] = True
        _claim(places, zones(case)[i].name, on)


def _on_level(case: Case, mesh: Mesh, zone, level):
    """Nodes (n,) of triangles within a zone on a level [m]; tells the two faces of a wall apart."""
    within = np.zeros(len(mesh.points), bool)
    within[mesh.triangles[zone_of(case, mesh.centroids[:, 0]) == zone]] = True
    return within & (np.abs(mesh.points[:, 1] + mesh.origin[1] - level) < NEAR)


def _at_sides(case, mesh, situation, fixed, places) -> None:
    """Levels at the sides of the section, of which the axis of a half section is none."""
    x, strips = mesh.points[:, 0], zones(case)
    for side, name in ((0, strips[0].name), (-1, strips[-1].name)):
        if side == 0 and case.section.half or situation.ground_water[side] is None:
            continue
        on = np.abs(x - mesh.box[0 if side == 0 else 1]) < NEAR
        fixed[on] = situation.ground_water[side]
        _claim(places, name, on)
