"""Ways in which water kills a cofferdam, checked after each stage with seepage: heave beside the sheets, exit gradient, uplift of tight layers and slabs, creep.

The heads are those of the section. In a pit that is small in plan they stand higher beside the sheets, most of all in the corners: with the plan size given they are multiplied by what a flow in
space gives over one in plane strain (``water.box``); without it that is said, and such a check is not a pass.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from fesoil.case.column import column_at
from fesoil.case.model import Case
from fesoil.case.sequence import Situation, cofferdams, drained_zones, drains, dug_side, ground_level, material_at, zones
from fesoil.case.soil import Soil
from fesoil.case.stiffness import growing
from fesoil.checks import hydraulic, uplift
from fesoil.checks.check import Check, weight
from fesoil.checks.factors import heave_sets, lumped_factor, uplift_sets
from fesoil.errors import FesoilError
from fesoil.water import box
from fesoil.water.seepage import Seepage

BESIDE = 1e-3
"""Distance [m] from a wall at which heads and layers beside it are read."""

SAMPLES = 41
"""Places over the width of a prism at which the head is read."""

FLAT = 1e-6

SLOWER = 10.0
"""Permeability across a layer over that of the one above it from which the upper one is looked at as a lid on the lower (a choice)."""


LESS = ", pressure less that of the water in the pit"
"""Both are of one water, so no factor stands between them; the check counts on the water in the pit."""


@dataclass(frozen=True)
class Side:
    """What stands and flows beside a wall on its dug side.

    ``wall``, ``pit`` names; ``x`` just inside [m]; ``inward`` -1 or +1; ``width`` of the ground inside in the section, ``across`` that of the whole pit [m]; ``floor``, ``toe``, ``inside``
    (water, at the floor where it is pumped below and leaves there), ``outside``, ``highest`` anywhere in the section, levels [m]; ``zone`` index.
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
    highest: float
    ground_outside: float
    zone: int

    @property
    def exit(self) -> float:
        """Level [m] at which the water leaves: the floor, or a drain below it."""
        return min(self.floor, self.inside)

    @property
    def head(self) -> float:
        """Level outside above that inside [m]; not above zero where the water comes from further off."""
        return self.outside - self.inside

    @property
    def is_bare(self) -> bool:
        """Whether the dig has reached the toe."""
        return self.floor <= self.toe + FLAT


@dataclass(frozen=True)
class Plan:
    """By how much the heads of the section are multiplied in plan: ``factors`` None where the plan size is not known or the flow cannot be worked out, and ``why``; ``inflow`` of the pit
    over that of the same length of section; ``heads`` (middle of a side, corner) under the prism at the toe that the flow in space gives by itself [m]; ``gradient`` out of the floor in a corner over
    that of the section."""

    factors: box.Factors | None
    inflow: float | None
    heads: tuple[float, float] = (0.0, 0.0)
    gradient: float = 1.0
    why: str = ""


@dataclass(frozen=True)
class Found:
    """A check at a place, in words; ``is_whole`` False where it holds for a long trench only; ``pit`` whose base it is about, where it is about one."""

    place: str
    check: Check
    is_whole: bool = True
    pit: str = ""


def feeding_levels(case: Case, situation: Situation):
    """Level (zones,) [m] with which the water of each strip feeds the ground: of the ground far off, or of free water on it where that is higher; minus infinity where dry."""
    strips = zones(case)
    middle = np.array([z.x0 + 1.0 if z.x1 == np.inf else z.x1 - 1.0 if z.x0 == -np.inf else (z.x0 + z.x1) / 2 for z in strips])
    free, far = (np.array([-np.inf if w is None else w for w in levels]) for levels in (situation.water, situation.ground_water))
    return np.where(free > ground_level(case, situation, middle), np.maximum(free, far), far)


def sides(case: Case, situation: Situation) -> list[Side]:
    """Standing walls on whose dug side the water is lower than anywhere else in the section: it need not come from just behind the wall."""
    found, strips, by_name = [], zones(case), {w.name: w for w in case.walls}
    feeding = feeding_levels(case, situation)
    for name, toe in situation.toes.items():
        wall, inward = by_name[name], dug_side(case, name)
        zone = next(i for i, z in enumerate(strips) if (z.x1 if inward < 0 else z.x0) == wall.x)
        beyond = zone - inward
        x0, x1 = strips[zone].x0, strips[zone].x1
        x = wall.x + inward * BESIDE
        floor, ground = (float(ground_level(case, situation, np.array([at]))[0]) for at in (x, wall.x - inward * BESIDE))
        floor = _lowest_beside(case, situation, x, inward, min(floor - toe, 2 * (x1 - x0)), floor)
        inside = situation.water[zone] if situation.water[zone] is not None else floor
        outside, highest = float(feeding[beyond]), float(feeding.max())
        if highest <= inside + FLAT or not np.isfinite(x1 - x0):
            continue
        whole = cofferdams(case)[wall.cofferdam or wall.name]
        across = 2 * whole[1] if case.section.half else whole[1] - whole[0]
        found.append(Side(name, strips[zone].name, x, inward, x1 - x0, across, wall.plan_length, floor, toe, inside, outside, highest, ground, zone))
    return found


def _lowest_beside(case: Case, situation: Situation, x, inward, depth, floor) -> float:
    """Lowest floor [m] within half a depth [m] of a wall: a trench beside a berm has less ground over the toe than the berm."""
    if depth <= 0:
        return floor
    return float(ground_level(case, situation, x + inward * np.linspace(0.0, depth / 2, SAMPLES)).min())


def column(case: Case, situation: Situation, side: Side, base, excess) -> hydraulic.Column:
    """Column of ground beside a wall from the floor down to the level ``base`` [m], with a mean excess head [m]."""
    thickness, unit_weight = _weights_down(case, situation, *column_at(case, situation, side.x).between(side.floor, base), side.inside)
    return hydraulic.Column(thickness, unit_weight, max(excess, 0.0), case.water.unit_weight, _on_the_floor(case, situation, side), side.inside - side.floor)


def _weights_down(case: Case, situation: Situation, levels, material, inside):
    """Thickness (k,) [m] and unit weight (k,) [kN/m3] of layers between levels (n + 1,), of a material (n,): saturated below the water inside and where it does not drain."""
    if levels[-1] < inside < levels[0]:
        at = np.searchsorted(-levels, -inside)
        levels, material = np.insert(levels, at, inside), np.insert(material, at, material[at - 1])
    wet = levels[:-1] <= inside + FLAT
    weights = np.array([(s.unit_weight.moist, s.unit_weight.saturated) for s in case.soils] + [(0.0, 0.0)])[material]
    tight = np.array([not drains(s, situation) for s in case.soils] + [False])[material]
    return -np.diff(levels), np.where(wet | tight, weights[:, 1], weights[:, 0])


def _on_the_floor(case: Case, situation: Situation, side: Side) -> float:
    """Weight [kPa] of cast slabs that lie on the floor beside a wall, less that of the water in their place, which counts as water on the floor."""
    at, total = {w.name: w.x for w in case.walls}, 0.0
    for slab in (s for s in case.slabs if s.name in situation.slabs):
        x0, x1 = sorted(at.get(n, 0.0) for n in slab.between)
        if x0 < side.x < x1 and abs(slab.top_level - slab.thickness - side.floor) < FLAT:
            total += slab.unit_weight * slab.thickness - case.water.unit_weight * float(np.clip(side.inside - side.floor, 0.0, slab.thickness))
    return total


def excess_head(water: Seepage, side: Side, base) -> float:
    """Mean head over the base of the prism at a level, above the water inside [m]; nan where no water is carried there."""
    wide = hydraulic.prism_width(side.floor - base, side.width)
    x = side.x + side.inward * np.linspace(0.0, max(wide - 2 * BESIDE, 0.0), SAMPLES)
    head = water.head_at(x, np.full(SAMPLES, base))
    return float(np.nanmean(head)) - side.inside if np.any(np.isfinite(head)) else np.nan


def in_plan(case: Case, situation: Situation, side: Side, water: Seepage) -> Plan:
    """What the plan of a pit does to the heads beside its sheets, and to the water that comes in."""
    if side.length is None:
        return Plan(None, None, why="its plan_length is not given")
    outer = side.x - 2 * side.inward * BESIDE
    bottom = water.mesh.box[2] + water.mesh.origin[1]
    top = min(side.ground_outside, side.outside)
    levels, material = column_at(case, situation, outer).layers(top, bottom)
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
        found = _in_plan(box.Pit(b, a, top, side.exit, side.toe, layers, side.head, reach, flooded), side.across)
    except (ValueError, FesoilError) as fault:
        return Plan(None, None, why=str(fault).partition(":")[0])
    return replace(found, heads=(0.0, 0.0)) if situation.wells else found  # the flow in space knows of no wells


@lru_cache(maxsize=64)
def _in_plan(pit: box.Pit, across) -> Plan:
    """Against plane strain over the width ``across`` of the section, which may be the longer side."""
    section = replace(pit, length=max(across, pit.length), width=across)
    space, plane = box.in_space(pit), box.in_plane(section)
    gradient = float(space.gradient.max() / plane.gradient[0])
    return Plan(box.factors(pit, section=section), space.discharge / plane.discharge / pit.length, (float(space.head[:2].max()), float(space.head.max())), gradient)


def heave(case: Case, situation: Situation, side: Side, water: Seepage, plan: Plan) -> list[Found]:
    """Terzaghi's prism, and both forms of EN 1997-1, at the base that comes off worst: the toe, or a change of layer above it."""
    levels, _ = column_at(case, situation, side.x).layers(side.floor, side.toe)
    bases = [y for y in levels[1:] if y < side.inside - FLAT]
    bases = [(y, excess) for y in bases if np.isfinite(excess := excess_head(water, side, y + (BESIDE if y > side.toe else 0.0)))]
    places = [("section", 1.0, 0.0)]
    if (factors := plan.factors) is not None:  # a water table that falls towards the pit makes the head of the section too low: the flow in space has its own say
        times = max(factors.long_side, factors.short_side)
        places = [(place, t, head) for place, t, head in zip(("middle of a side", "corner"), (times, max(factors.corner, times)), plan.heads)]
    found = []
    for place, times, least in places if bases else ():
        columns = [
            (base, column(case, situation, side, base, min(max(times * excess, least * (base <= side.toe + FLAT)), side.highest - side.inside))) for base, excess in bases
        ]  # fmt: skip
        base, there = min(columns, key=lambda item: _lumped(item[1]).factor)
        sets = heave_sets().values()
        checks = [_lumped(there), *(form(there, s) for s in sets for form in (hydraulic.heave_effective, hydraulic.heave_total, hydraulic.heave_total_excess))]
        where = f"wall {side.wall}, {place}, base {base:.2f} m"
        found += [Found(where, check, _is_whole(case, plan), side.pit) for check in checks]
    return found


def _is_whole(case: Case, plan: Plan) -> bool:
    """Whether heads cover the pit: its plan is in them, and they are not those of ground that nothing feeds, which are greatest at first."""
    return plan.factors is not None and case.water.far_boundary == "recharge"


def bare(case: Case, side: Side) -> list[Found]:
    """A wall whose toe the dig has reached: nothing holds back the water."""
    words = f"the dig has reached the toe at {side.toe:.2f} m: there is no ground to resist"
    return [Found(f"wall {side.wall}, toe bare", Check(hydraulic.LUMPED, case.water.unit_weight * (side.highest - side.inside), 0.0, "kPa", lumped_factor("heave"), words), True, side.pit)]


def _lumped(there: hydraulic.Column) -> Check:
    return hydraulic.heave_lumped(there, lumped_factor("heave"))


def gradients(case: Case, situation: Situation, side: Side, water: Seepage, plan: Plan) -> list[Found]:
    """Greatest gradient with which water leaves the floor, against the critical one of the soil there."""
    found = _out_of_floor(water, side)
    if found is None:
        return []
    x, gradient = found
    material = int(material_at(case, situation, np.clip(x, *sorted((side.x, side.x + side.inward * (side.width - 2 * BESIDE)))), side.exit - BESIDE))
    times = max(plan.factors.corner, plan.gradient) if plan.factors else 1.0
    check = hydraulic.exit_gradient(times * gradient, case.soils[material].unit_weight.saturated, lumped_factor("exit_gradient"), case.water.unit_weight)
    return [Found(f"floor beside wall {side.wall}" + (", corner" if plan.factors else ", section"), check, _is_whole(case, plan), side.pit)]


def _out_of_floor(water: Seepage, side: Side):
    """Place x [m] and value of the greatest gradient out of the floor; None where no water leaves there."""
    gradient, (x, y) = water.exit_gradient(side.pit), (water.mesh.points + water.mesh.origin).T
    away = side.inward * (x - side.x)
    near = np.isfinite(gradient) & (gradient > 0) & (away > -2 * BESIDE) & (away < side.width) & (y < side.floor + FLAT)
    if not np.any(near):
        return None
    at = np.flatnonzero(near)[np.argmax(gradient[near])]
    return x[at], gradient[at]


def into_drain(case: Case, situation: Situation, water: Seepage, side: Side, plan: Plan) -> float | None:
    """Greatest gradient into a drain below the floor, over a tenth of the depth from there to the toe; None without a drain."""
    if side.zone not in dict(drained_zones(case, situation)) or side.exit > side.floor - FLAT or side.exit <= side.toe + FLAT:
        return None
    x, down = side.x + side.inward * np.linspace(0.0, side.width - 2 * BESIDE, SAMPLES), 0.1 * (side.exit - side.toe)
    gradient = (water.head_at(x, np.full(SAMPLES, side.exit - down)) - side.exit) / down
    return None if np.all(np.isnan(gradient)) else float(np.nanmax(gradient)) * (plan.factors.corner if plan.factors else 1.0)


def creep(case: Case, situation: Situation, side: Side) -> list[Found]:
    """Path of creep down and up the sheets over the head, where a soil at the toe states the ratio wanted."""
    toe = case.soils[int(material_at(case, situation, side.x, side.toe))]
    if toe.creep_ratio is None or side.head <= FLAT:
        return []
    path = min(side.ground_outside, side.outside) - side.toe + side.exit - side.toe
    return [Found(f"along wall {side.wall}", hydraulic.creep_lane(side.head, path, 0.0, toe.creep_ratio))]


def lifted(case: Case, situation: Situation, side: Side, water: Seepage) -> list[Found]:
    """Uplift of tight layers below the floor over ground that carries water."""
    x = side.x + side.inward * (side.width / 2 if not case.section.half else side.width - 2 * BESIDE)
    bottom, floor = water.mesh.box[2] + water.mesh.origin[1], float(ground_level(case, situation, np.array([x]))[0])
    levels, material = column_at(case, situation, x).between(floor, bottom)
    across = np.array([s.permeability.both[1] if s.permeability is not None and drains(s, situation) else 0.0 for s in case.soils] + [0.0])[material]
    slower = (across[1:] > SLOWER * across[:-1]) & ((across[:-1] == 0.0) | (levels[1:-1] < side.toe - FLAT))  # above the toe a layer that drains is the prism's
    found = []
    for i in np.flatnonzero(slower) + 1:
        head = water.head_at(np.array([x]), levels[[i]] - BESIDE)[0]
        if not np.isfinite(head):
            continue
        soils = [case.soils[m] for m in material[:i]]
        strength = [0.0 if drains(s, situation) else _on_the_sides(s, (a + b) / 2, side.toe) for s, a, b in zip(soils, levels, levels[1:])]
        sides = uplift.side_resistance(-np.diff(levels[: i + 1]), strength, uplift.Plan(*sorted((side.across, side.length or np.inf))))
        thickness, unit_weight = _weights_down(case, situation, levels[: i + 1], material[:i], side.inside)
        weights, standing = weight(thickness, unit_weight), max(side.inside - floor, 0.0)
        pressure = case.water.unit_weight * max(head - levels[i] - standing, 0.0)
        where = f"ground over {levels[i]:.2f} m in {side.pit}" + LESS * (standing > 0)
        for f in uplift_sets().values():
            found += [Found(where, c) for c in (uplift.uplift_lumped(weights, pressure, lumped_factor("uplift")), uplift.uplift_partial(weights, pressure, f))]
            if sides:
                found += [Found(where + ", with its sides", c) for c in (uplift.uplift_lumped(weights, pressure, lumped_factor("uplift"), sides),
                                                                          uplift.uplift_partial(weights, pressure, f, sides, f.undrained_strength))]
    return list(dict.fromkeys(found))


def _on_the_sides(soil: Soil, y, toe) -> float:
    """Shear [kPa] on the sides of a block that lifts, at a level: su, 0 where none is stated; at the sheets no more than the adhesion."""
    given = soil.strength
    if given is None or given.undrained_strength is None:
        return 0.0
    strength = float(growing(given.undrained_strength, given, np.array([y]))[0])
    return min(strength, soil.wall_friction.adhesion) if y > toe else strength


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
        pressure, weights = case.water.unit_weight * max(float(np.nanmean(head)) - under - standing, 0.0), slab.unit_weight * slab.thickness
        length = next((at[n].plan_length for n in slab.between if n in at and at[n].plan_length), None)
        plan = uplift.Plan((x1 - x0) * (2 if case.section.half else 1), length or np.inf)
        bonds = [("without bond", 0.0)] + ([("with bond", uplift.side_resistance(slab.thickness, slab.bond, plan))] if slab.bond else [])
        found += [Found(f"slab {slab.name}, {words}{LESS * (standing > 0)}", uplift.uplift_partial(weights, pressure, f, held)) for f in uplift_sets().values() for words, held in bonds]
    return found
