"""Ways in which water kills a cofferdam, checked after each stage with seepage: heave beside the sheets, exit gradient, uplift of tight layers and slabs, creep.

The heads are those of the section. In a pit that is small in plan they stand higher beside the sheets, most of all in the corners: with the plan size given they are multiplied by what a flow in
space gives over one in plane strain (``water.box``); without it that is said, and such a check is not a pass.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from fesoil.case.model import Case
from fesoil.case.sequence import Situation, cofferdams, dug_side, ground_level, level_at, material_at, zones
from fesoil.case.soil import Soil
from fesoil.case.stiffness import growing
from fesoil.checks import hydraulic, uplift
from fesoil.checks.check import Check
from fesoil.checks.factors import heave_sets, lumped_factor, uplift_sets
from fesoil.water import box
from fesoil.water.hydrostatic import drains
from fesoil.water.seepage import Seepage

BESIDE = 1e-3
"""Distance [m] from a wall at which heads and layers beside it are read."""

SAMPLES = 41
"""Places over the width of a prism at which the head is read."""

FLAT = 1e-6


@dataclass(frozen=True)
class Side:
    """What stands and flows beside a wall on its dug side.

    ``wall``, ``pit`` names; ``x`` just inside [m]; ``inward`` -1 or +1; ``width`` of the ground inside in the section, ``across`` that of the whole pit [m]; ``floor``, ``toe``, ``inside``
    (water, at the floor where it is pumped below and leaves there), ``outside`` levels [m]; ``zone`` index.
    """

    wall: str
    pit: str
    x: float
    inward: int
    width: float
    across: float
    length: float | None
    floor: float
    toe: float
    inside: float
    outside: float
    ground_outside: float
    zone: int

    @property
    def exit(self) -> float:
        """Level [m] at which the water leaves: the floor, or a drain below it."""
        return min(self.floor, self.inside)

    @property
    def head(self) -> float:
        """Level outside above that inside [m]."""
        return self.outside - self.inside


@dataclass(frozen=True)
class Plan:
    """By how much the heads of the section are multiplied in plan: ``factors`` None where the plan size is not known or the flow cannot be worked out, and ``why``; ``inflow`` of the pit
    over that of the same length of section; ``heads`` (middle of a side, corner) under the prism at the toe that the flow in space gives by itself [m]."""

    factors: box.Factors | None
    inflow: float | None
    heads: tuple[float, float] = (0.0, 0.0)
    why: str = ""


@dataclass(frozen=True)
class Found:
    """A check at a place, in words; ``is_whole`` False where it holds for a long trench only; ``pit`` whose base it is about, where it is about one."""

    place: str
    check: Check
    is_whole: bool = True
    pit: str = ""


def sides(case: Case, situation: Situation) -> list[Side]:
    """Standing walls whose dug side has ground below a lower water level than outside."""
    found, strips, by_name = [], zones(case), {w.name: w for w in case.walls}
    for name, toe in situation.toes.items():
        wall, inward = by_name[name], dug_side(case, name)
        zone = next(i for i, z in enumerate(strips) if (z.x1 if inward < 0 else z.x0) == wall.x)
        beyond = zone - inward
        x0, x1 = strips[zone].x0, strips[zone].x1
        x = wall.x + inward * BESIDE
        floor, ground = (float(ground_level(case, situation, np.array([at]))[0]) for at in (x, wall.x - inward * BESIDE))
        outside = situation.ground_water[beyond]
        inside = situation.water[zone] if situation.water[zone] is not None else floor
        if outside is None or outside <= inside + FLAT or floor <= toe + FLAT or not np.isfinite(x1 - x0):
            continue
        whole = cofferdams(case)[wall.cofferdam or wall.name]
        across = 2 * whole[1] if case.section.half else whole[1] - whole[0]
        found.append(Side(name, strips[zone].name, x, inward, x1 - x0, across, wall.plan_length, floor, toe, inside, outside, ground, zone))
    return found


def layers_down(case: Case, situation: Situation, x, top, bottom):
    """Levels (n + 1,) [m] from ``top`` down to ``bottom`` at x where the material may change, and the materials (n,) between."""
    marks = [level_at(layer.top, x) for layer in case.layers] + [y for w in situation.earthworks for _, y in w.line] + [y for b in case.blocks for _, y in b.outline]
    levels = np.unique(np.round([top, bottom, *(m for m in marks if bottom < m < top)], 6))[::-1]
    return levels, material_at(case, situation, np.full(len(levels) - 1, x), (levels[1:] + levels[:-1]) / 2)


def column(case: Case, situation: Situation, side: Side, base, excess) -> hydraulic.Column:
    """Column of ground beside a wall from the floor down to the level ``base`` [m], with a mean excess head [m]."""
    levels, material = layers_down(case, situation, side.x, side.floor, base)
    if base < side.inside < side.floor:
        at = np.searchsorted(-levels, -side.inside)
        levels, material = np.insert(levels, at, side.inside), np.insert(material, at, material[at - 1])
    wet = levels[:-1] <= side.inside + FLAT
    weights = np.array([(s.unit_weight.moist, s.unit_weight.saturated) for s in case.soils] + [(0.0, 0.0)])[material]
    tight = np.array([not drains(s, situation) for s in case.soils] + [False])[material]
    unit_weight = np.where(wet | tight, weights[:, 1], weights[:, 0])
    return hydraulic.Column(-np.diff(levels), unit_weight, max(excess, 0.0), case.water.unit_weight, _on_the_floor(case, situation, side), side.inside - side.floor)


def _on_the_floor(case: Case, situation: Situation, side: Side) -> float:
    """Weight [kPa] of cast slabs beside a wall."""
    return sum(s.unit_weight * s.thickness for s in case.slabs if s.name in situation.slabs and side.wall in s.between)


def excess_head(water: Seepage, side: Side, base) -> float:
    """Mean head over the base of the prism at a level, above the water inside [m]; nan where no water is carried there."""
    wide = hydraulic.prism_width(side.floor - base, side.width)
    x = side.x + side.inward * np.linspace(0.0, max(wide - 2 * BESIDE, 0.0), SAMPLES)
    head = water.head_at(x, np.full(SAMPLES, base))
    return float(np.mean(head)) - side.inside


def in_plan(case: Case, situation: Situation, side: Side, water: Seepage) -> Plan:
    """What the plan of a pit does to the heads beside its sheets, and to the water that comes in."""
    if side.length is None:
        return Plan(None, None, why="its plan_length is not given")
    outer = side.x - 2 * side.inward * BESIDE
    bottom = water.mesh.box[2] + water.mesh.origin[1]
    top = min(side.ground_outside, side.outside)
    levels, material = layers_down(case, situation, outer, top, bottom)
    carries = np.array([s.permeability is not None and drains(s, situation) for s in case.soils] + [False])[material]
    tight = np.flatnonzero(~carries)
    last = tight[0] if len(tight) else len(material)
    if last == 0 or levels[last] >= side.toe:
        return Plan(None, None, why="tight layers meet the sheets: the flow in plan is not worked out")
    layers = tuple(box.Layer(float(y), *case.soils[m].permeability.both) for y, m in zip(levels[1 : last + 1], material[:last]))
    right, left = water.mesh.box[1] + water.mesh.origin[0], water.mesh.box[0] + water.mesh.origin[0]
    flooded = side.outside > side.ground_outside - FLAT
    reach = float(abs((left if side.inward > 0 else right) - outer)) if case.water.far_boundary == "recharge" else None
    a, b = sorted((side.length, side.across))
    try:
        pit = box.Pit(b, a, top, side.exit, side.toe, layers, side.head, reach, flooded)
    except ValueError as fault:
        return Plan(None, None, why=str(fault).partition(":")[0])
    found = _in_plan(pit)
    return replace(found, heads=(0.0, 0.0)) if situation.wells else found  # the flow in space knows of no wells


@lru_cache(maxsize=64)
def _in_plan(pit: box.Pit) -> Plan:
    space, plane = box.in_space(pit), box.in_plane(pit)
    return Plan(box.factors(pit), space.discharge / plane.discharge / pit.length, heads=(float(space.head[:2].max()), float(space.head.max())))


def heave(case: Case, situation: Situation, side: Side, water: Seepage, plan: Plan) -> list[Found]:
    """Terzaghi's prism, and both forms of EN 1997-1, at the base that comes off worst: the toe, or a change of layer above it."""
    levels, _ = layers_down(case, situation, side.x, side.floor, side.toe)
    bases = [y for y in levels[1:] if y < side.inside - FLAT]
    bases = [(y, excess) for y in bases if np.isfinite(excess := excess_head(water, side, y + (BESIDE if y > side.toe else 0.0)))]
    worst = min(bases, key=lambda base: _lumped(column(case, situation, side, *base)).factor, default=None)
    if worst is None:
        return []
    base, excess = worst
    factors = plan.factors
    places = [("section", 1.0, 0.0)]
    if factors is not None:  # a water table that falls towards the pit makes the head of the section too low: the flow in space has its own say
        times = max(factors.long_side, factors.short_side)
        places = [(place, t, head * (base <= side.toe + FLAT)) for place, t, head in zip(("middle of a side", "corner"), (times, max(factors.corner, times)), plan.heads)]
    found = []
    for place, times, least in places:
        there, sets = column(case, situation, side, base, min(max(times * excess, least), side.head)), heave_sets().values()  # nowhere more than all of the head
        checks = [_lumped(there), *(form(there, s) for s in sets for form in (hydraulic.heave_effective, hydraulic.heave_total, hydraulic.heave_total_excess))]
        where = f"wall {side.wall}, {place}, base {base:.2f} m"
        found += [Found(where, check, factors is not None, side.pit) for check in checks]
    return found


def _lumped(there: hydraulic.Column) -> Check:
    return hydraulic.heave_lumped(there, lumped_factor("heave"))


def gradients(case: Case, situation: Situation, side: Side, water: Seepage, plan: Plan) -> list[Found]:
    """Greatest gradient with which water leaves the floor, against the critical one of the soil there."""
    found = _out_of_floor(water, side)
    if found is None:
        return []
    x, gradient = found
    material = int(material_at(case, situation, np.clip(x, *sorted((side.x, side.x + side.inward * (side.width - 2 * BESIDE)))), side.exit - BESIDE))
    times = plan.factors.corner if plan.factors else 1.0
    check = hydraulic.exit_gradient(times * gradient, case.soils[material].unit_weight.saturated, lumped_factor("exit_gradient"), case.water.unit_weight)
    return [Found(f"floor beside wall {side.wall}" + (", corner" if plan.factors else ", section"), check, plan.factors is not None)]


def _out_of_floor(water: Seepage, side: Side):
    """Place x [m] and value of the greatest gradient out of the floor; None where no water leaves there."""
    gradient, (x, y) = water.exit_gradient(side.pit), (water.mesh.points + water.mesh.origin).T
    away = side.inward * (x - side.x)
    near = np.isfinite(gradient) & (gradient > 0) & (away > -2 * BESIDE) & (away < side.width) & (y < side.floor + FLAT)
    if not np.any(near):
        return None
    at = np.flatnonzero(near)[np.argmax(gradient[near])]
    return x[at], gradient[at]


def into_drain(water: Seepage, side: Side, plan: Plan) -> float | None:
    """Greatest gradient into a drain below the floor, over a tenth of the depth from there to the toe; None without a drain."""
    if side.exit > side.floor - FLAT:
        return None
    x, down = side.x + side.inward * np.linspace(0.0, side.width - 2 * BESIDE, SAMPLES), 0.1 * (side.exit - side.toe)
    gradient = (water.head_at(x, np.full(SAMPLES, side.exit - down)) - side.exit) / down
    return None if np.all(np.isnan(gradient)) else float(np.nanmax(gradient)) * (plan.factors.corner if plan.factors else 1.0)


def creep(case: Case, situation: Situation, side: Side) -> list[Found]:
    """Path of creep down and up the sheets over the head, where a soil at the toe states the ratio wanted."""
    toe = case.soils[int(material_at(case, situation, side.x, side.toe))]
    if toe.creep_ratio is None:
        return []
    path = min(side.ground_outside, side.outside) - side.toe + side.exit - side.toe
    return [Found(f"along wall {side.wall}", hydraulic.creep_lane(side.head, path, 0.0, toe.creep_ratio))]


def lifted(case: Case, situation: Situation, side: Side, water: Seepage) -> list[Found]:
    """Uplift of tight layers below the floor over ground that carries water."""
    x = side.x + side.inward * (side.width / 2 if not case.section.half else side.width - 2 * BESIDE)
    bottom = water.mesh.box[2] + water.mesh.origin[1]
    levels, material = layers_down(case, situation, x, side.floor, bottom)
    flows = np.array([s.permeability is not None and drains(s, situation) for s in case.soils] + [False])[material]
    contacts = np.flatnonzero(~flows[:-1] & flows[1:]) + 1
    found = []
    for i in contacts[:1]:
        head = water.head_at(np.array([x]), levels[[i]] - BESIDE)[0]
        if not np.isfinite(head):
            continue
        soils = [case.soils[m] for m in material[:i]]
        strength = [_undrained_strength(s, (a + b) / 2) for s, a, b in zip(soils, levels, levels[1:])]
        plan = uplift.Plan(*sorted((side.across, side.length or np.inf)))
        pressure = case.water.unit_weight * max(head - levels[i] - max(side.inside - side.floor, 0.0), 0.0)
        for factors in uplift_sets().values():
            checks = uplift.uplift_of_layers(-np.diff(levels[: i + 1]), [s.unit_weight.saturated for s in soils], pressure, factors, lumped_factor("uplift"), plan, strength)
            found += [Found(f"ground over {levels[i]:.2f} m in {side.pit}" + ("" if k < 2 else ", with its sides"), check) for k, check in enumerate(checks)]
    return list(dict.fromkeys(found))


def _undrained_strength(soil: Soil, y) -> float:
    """su [kPa] at a level, 0 where none is stated."""
    given = soil.strength
    return 0.0 if given is None or given.undrained_strength is None else float(growing(given.undrained_strength, given, np.array([y]))[0])


def slabs(case: Case, situation: Situation, water: Seepage) -> list[Found]:
    """Uplift of cast slabs, without and with bond to the sheets."""
    at, found = {w.name: w for w in case.walls}, []
    for slab in (s for s in case.slabs if s.name in situation.slabs):
        x0, x1 = sorted(at[n].x if n in at else 0.0 for n in slab.between)
        under = slab.top_level - slab.thickness
        head = water.head_at(np.linspace(x0 + BESIDE, x1 - BESIDE, SAMPLES), np.full(SAMPLES, under - FLAT))
        if not np.any(np.isfinite(head)):
            continue
        level_in = situation.water[next(i for i, z in enumerate(zones(case)) if z.x0 <= (x0 + x1) / 2 < z.x1)]
        standing = 0.0 if level_in is None else max(level_in - slab.top_level, 0.0)
        pressure = case.water.unit_weight * max(float(np.nanmean(head)) - under - standing, 0.0)
        length = next((at[n].plan_length for n in slab.between if n in at and at[n].plan_length), None)
        plan = uplift.Plan((x1 - x0) * (2 if case.section.half else 1), length or np.inf)
        for factors in uplift_sets().values():
            free, bonded = uplift.uplift_of_plug(slab.thickness, slab.unit_weight, pressure, plan, slab.bond or 0.0, factors)
            found += [Found(f"slab {slab.name}, " + words, check) for words, check in (("without bond", free), ("with bond", bonded))[: 1 if slab.bond is None else 2]]
    return found
