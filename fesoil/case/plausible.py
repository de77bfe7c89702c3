"""What is unusual in a sound case: told, never refused. Also the hand arithmetic that needs no analysis.

Things that the case declares as meant so are not mentioned. Distances without a source are common practice.
"""

from __future__ import annotations

import math
from dataclasses import fields, is_dataclass

import numpy as np

from fesoil import units
from fesoil.case.faults import Doubt, item_path
from fesoil.case.frames import frame_forces, frame_stiffness, preload
from fesoil.case.model import Case, Frame
from fesoil.case.soil import DRAINED, TOTAL_STRESS, Soil
from fesoil.case.sequence import AXIS, EVERYWHERE, cofferdams, extent, ground_level, in_outline, level_at, material_at, surface, walls_of, zones
from fesoil.case.small_strain_checks import small_strain_doubts
from fesoil.case.undrained_checks import undrained_doubts
from fesoil.case.validate_stages import BESIDE, Step, steps
from fesoil.case.water_checks import water_doubts

LARGEST_LIFT = 1.0  # m below a frame before it is locked; common practice, no source
DEEPEST_DIG = 40.0  # m; common practice, no source
LEAST_EMBEDMENT = 1.1  # m of toe below the dig while driving ahead; common practice, no source
DEEPEST_CANTILEVER = 3.0  # m of ground held by a sheet that no frame or slab bears on; common practice, no source
HIGHEST_BARE_FACE = 1.0  # m of upright ground that no sheet covers; common practice, no source
FRAME_SPACING = (0.8, 3.5)  # m; common practice, no source
BEARING = ("locked", "pressurised")  # states of a frame that holds its walls
EXCUSES = {"unit_weight": ("unusual weight", "very soft"), "stiffness": ("unusual stiffness", "very soft"),
           "strength": ("unusual strength", "very soft"),
           "at_rest": ("unusual strength",)}


def warnings_of(case: Case) -> list[Doubt]:
    """All that is unusual in a case that has been read without a fault, and notes of what follows from it by hand.

    Returns
    -------
    list of Doubt
        ``is_note`` marks the pieces of information that ask for nothing.
    """
    found = [*_usual(case, ""), *_taken(case)]
    for i, soil in enumerate(case.soils):
        found += _soil_doubts(item_path("soils", i, soil.name), soil)
    found += [*_water_doubts(case), *_surcharge_doubts(case), *_extent_doubts(case), *_size_doubts(case), *_spacing_doubts(case), *_unused(case), *_left_standing(case), *_cantilever_doubts(case), *_bare_doubts(case),
              *small_strain_doubts(case), *water_doubts(case), *undrained_doubts(case)]
    for i, frame in enumerate(case.frames):
        found += _frame_doubts(case, item_path("frames", i, frame.name), frame)
    for step in steps(case):
        for check in (_idle_doubts, _lift_doubts, _toe_doubts, _lock_doubts, _preload_doubts, _removal_doubts, _flooded_dig_doubts, _drive_doubts, _fill_doubts):
            found += check(step)
    return found


def _metres(value: float) -> str:
    return f"{float(value):.2f} m"


def _taken(case: Case):
    """What is taken by default, in one note for each kind: the numbers that a checker wants to see."""
    ratios = [f"{soil.name} {soil.at_rest_ratio:.2f}" for soil in case.soils if soil.at_rest is None]
    if ratios:
        yield Doubt("soils", f"at_rest by default: {', '.join(ratios)}.", is_note=True)
    smooth = [soil.name for soil in case.soils if not soil.wall_friction.angle and not soil.wall_friction.adhesion]
    if smooth and case.walls:
        yield Doubt("soils", f"smooth against the walls: {', '.join(smooth)}.", is_note=True)
    left, right, bottom = extent(case)
    given = case.section
    sides = [("left", left, given.left is None and not given.half), ("right", right, given.right is None), ("bottom_level", bottom, given.bottom_level is None)]
    placed = [f"{name} {_metres(value)}" for name, value, by_rule in sides if by_rule]
    if placed:
        yield Doubt("section", f"boundaries placed by rule: {', '.join(placed)}.", is_note=True)


def _usual(item, path: str):
    """Values outside the trade's usual range, anywhere in the case."""
    for field in fields(item):
        value, name = getattr(item, field.name), field.metadata["name"] or field.name
        here = f"{path}.{name}" if path else name
        if isinstance(item, Soil) and (item.strength is None or set(item.declared) & set(EXCUSES.get(field.name, ()))):
            continue  # an elastic material is no soil; the ranges are those of soils
        if isinstance(value, tuple) and value and is_dataclass(value[0]):
            for i, entry in enumerate(value):
                yield from _usual(entry, item_path(here, i, getattr(entry, "name", None)))
        elif is_dataclass(value):
            yield from _usual(value, here)
        elif field.metadata["usual"] and value is not None:
            yield from _outside_usual(here, units.from_internal(value, field.metadata["unit"]), field.metadata)


def _outside_usual(path, value, meta):
    low, high = meta["usual"]
    if low * (1 - 1e-9) <= value <= high * (1 + 1e-9):
        return
    slip = any(low <= value * factor <= high for factor in (1e3, 1e6, 1e-3, 1e-6))
    hint = " Is it a slip of a thousand in the unit?" if slip and meta["unit"] else ""
    yield Doubt(path, f"{units.number(value)} {meta['unit'] or ''}".rstrip() + f" is outside the usual {units.number(low)} to {units.number(high)}.{hint}")


def _soil_doubts(path: str, soil: Soil):
    weight, friction = soil.unit_weight, soil.wall_friction
    if weight.saturated < weight.moist and "unusual weight" not in soil.declared:
        yield Doubt(f"{path}.unit_weight",
                    f"saturated {weight.saturated:g} kN/m3 is lighter than moist {weight.moist:g} kN/m3. Was a buoyant weight entered?")
    if soil.strength is None:
        return
    if soil.drainage == TOTAL_STRESS:
        if friction.adhesion > soil.strength.undrained_strength:
            yield Doubt(f"{path}.wall_friction.adhesion",
                        f"{units.text(friction.adhesion, 'kPa')} is above the undrained strength {units.text(soil.strength.undrained_strength, 'kPa')}.")
        return
    c, phi, psi = soil.strength.effective_cohesion, soil.strength.friction_angle, soil.strength.dilation_angle
    degrees = math.degrees(phi)
    if psi > max(0.0, phi - math.radians(30)) + 1e-9 and "unusual strength" not in soil.declared:
        yield Doubt(f"{path}.strength.dilation_angle",
                    f"{math.degrees(psi):g} deg is above phi' - 30 (at least 0), {max(0.0, degrees - 30):g} deg (rule of thumb).")
    active = math.tan(math.pi / 4 - phi / 2) ** 2
    if soil.at_rest is not None and not active <= soil.at_rest <= 1 / active:
        yield Doubt(f"{path}.at_rest",
                    f"K0 = {soil.at_rest:g} lies outside active {active:.3g} to passive {1 / active:.3g}: the ground would yield at the start.")
    if friction.angle > 2 / 3 * phi + 1e-9:
        yield Doubt(f"{path}.wall_friction.angle",
                    f"{math.degrees(friction.angle):.3g} deg is above two thirds of the friction angle, {2 / 3 * degrees:.3g} deg, usual for steel.")
    if friction.adhesion > c and soil.drainage == DRAINED:
        yield Doubt(f"{path}.wall_friction.adhesion", f"{units.text(friction.adhesion, 'kPa')} is above the effective cohesion {units.text(c, 'kPa')}.")


def _water_doubts(case: Case):
    if case.water is None or not case.water.levels:
        yield Doubt("water", "no water level is given: the ground is dry throughout.")
    by_levels = [step for step in steps(case) if not step.after.seepage]
    spreads = {step.path: max(levels) - min(levels) for step in by_levels if (levels := [w for w in step.after.water if w is not None])}
    worst = max(spreads, key=spreads.get, default=None)
    if worst and spreads[worst] > 1e-6:
        yield Doubt(f"{worst}.water", f"levels differ by {_metres(spreads[worst])}, the most of all stages without seepage: head falls linearly along the path round the toe "
                    "(approximate).", is_note=True)


def _surcharge_doubts(case: Case):
    xs = [w.x for w in case.walls]
    applied = {name for step in steps(case) for name in step.after.loads}
    ends = [(e, load.name) for load in case.loads for e in (load.start, load.end, load.x) if e is not None]
    if xs and not any(name in applied and (e > max(xs) or not case.section.half and e < min(xs)) for e, name in ends):
        yield Doubt("loads", "no load acts beside the walls at any stage; the minimum surcharge of the trade is 10 kPa (BS 8002:1994, since superseded).")


def _extent_doubts(case: Case):
    """Boundaries that were given and are nearer than they should be (common practice, no source)."""
    left, right, bottom = extent(case)
    toes, xs = [t for s in steps(case) for t in s.after.toes.values()], [w.x for w in case.walls]
    digs = [y for stage in case.stages for line in stage.dig.values() for _, y in line]
    if not toes or not digs:
        return
    depth = max(y for _, y in surface(case)) - min(digs)
    if min([*toes, *digs]) - bottom < depth:
        yield Doubt("section.bottom_level", f"{_metres(bottom)} is less than one dig depth ({_metres(depth)}) below the deepest toe.")
    for name, gap in (("right", right - max(xs)), ("left", min(xs) - left)):
        if gap < 3 * depth and not (name == "left" and case.section.half):
            yield Doubt(f"section.{name}", f"the boundary is {_metres(gap)} from the wall, less than three dig depths ({_metres(3 * depth)}).")


def _size_doubts(case: Case):
    """Depths and sizes that hint at another unit (limits are common practice, no source)."""
    top = max(y for _, y in surface(case))
    depth = top - min((y for stage in case.stages for line in stage.dig.values() for _, y in line), default=top)
    if depth > DEEPEST_DIG:
        yield Doubt("stages", f"a dig of {_metres(depth)} below the ground surface is deeper than {DEEPEST_DIG:g} m: is a level in another unit?")
    if case.section.element_size and depth > 0 and case.section.element_size > depth / 8:
        yield Doubt("section.element_size", f"{_metres(case.section.element_size)} is coarse for a dig of {_metres(depth)}; an eighth of it at most.")
    for i, wall in enumerate(case.walls):
        below = float(np.min(ground_level(case, steps(case)[0].before, wall.x + np.array([-BESIDE, BESIDE])))) - wall.top_level
        if below > 0.5 and wall.cofferdam is None and not _dug_before(case, wall):
            yield Doubt(item_path("walls", i, wall.name) + ".top_level", f"the top lies {_metres(below)} below the ground beside it.")


def _dug_before(case: Case, wall) -> bool:
    """Whether the ground beside a wall is below its top in the stage that first drives it."""
    first = next((s for s in steps(case) if wall.name in s.after.toes), None)
    return first is not None and float(np.min(ground_level(case, first.after, wall.x + np.array([-BESIDE, BESIDE])))) <= wall.top_level


def _idle_doubts(step: Step):
    idle = {f.name for f in fields(step.stage)} - {"name", "declared", "strength_reduction"}
    if not step.stage.strength_reduction and not any(getattr(step.stage, verb) for verb in idle):
        yield Doubt(step.path, "nothing is done in this stage; is a verb missing?")


def _spacing_doubts(case: Case):
    for between in dict.fromkeys(f.between for f in case.frames):
        rows = sorted((f for f in case.frames if f.between == between), key=lambda f: -f.level)
        for upper, lower in zip(rows, rows[1:]):
            span = upper.level - lower.level
            if not FRAME_SPACING[0] <= span <= FRAME_SPACING[1]:
                yield Doubt(item_path("frames", case.frames.index(lower), lower.name) + ".level",
                            f"{_metres(span)} below frame '{upper.name}'; usual is {FRAME_SPACING[0]:g} to {FRAME_SPACING[1]:g} m (common practice).")


def _unused(case: Case):
    stages = case.stages
    used = {
        "soils": [e.soil for e in (*case.layers, *case.blocks)] + [e.soil for s in stages for e in (*s.place, *s.backfill.values())],
        "walls": [w for s in stages for name in s.drive for w in walls_of(case, name)],
        "frames": [n for s in stages for n in s.fit], "slabs": [n for s in stages for n in s.cast],
        "loads": [n for s in stages for n in s.load] + [load.name for load in case.loads if load.from_start],
    }
    words = {"soils": "used", "walls": "driven", "frames": "fitted", "slabs": "cast", "loads": "put on"}
    for table, names in used.items():
        for i, entry in enumerate(getattr(case, table)):
            if entry.name not in names:
                yield Doubt(item_path(table, i, entry.name), f"is never {words[table]}.")


def _left_standing(case: Case):
    if not case.stages:
        return
    last = steps(case)[-1].after
    if last.frames:
        yield Doubt("stages",
                    f"frame{'s' * (len(last.frames) > 1)} {', '.join(last.frames)} still in place after the last stage: taking out is not analysed.")
    elif last.toes:
        yield Doubt("stages", f"wall{'s' * (len(last.toes) > 1)} {', '.join(last.toes)} left in the ground after the last stage.", is_note=True)


def _frame_doubts(case: Case, path: str, frame: Frame):
    walls = {w.name: w.x for w in case.walls}
    ends = [0.0 if end == AXIS else walls[end] for end in frame.between]
    distance = abs(ends[0] - ends[1]) * (2 if AXIS in frame.between else 1)
    length = frame.members.leg_length if frame.members else frame.struts.length if frame.struts else None
    if length is not None and abs(length - distance) > 0.15 * distance:
        name = "members.leg_length" if frame.members else "struts.length"
        yield Doubt(f"{path}.{name}", f"{_metres(length)}, but the walls are {_metres(distance)} apart.")
    if frame.members:
        mean, middle = frame_stiffness(frame)
        yield Doubt(path,
                    f"stiffness {units.number(mean, 4)} kN/m2 by the mean of the side, {units.number(middle, 4)} kN/m2 at mid-span ({mean / middle:.2f} times softer); "
                    f"the analysis uses the {frame.members.used} value.", is_note=True)


def _cantilever_doubts(case: Case):
    """Walls that hold much ground by their toes alone, each in its worst stage."""
    for wall in case.walls:
        free = [(float(np.ptp(step.ground_beside(wall.name))), step.path) for step in steps(case) if step.stage.dig and wall.name in step.after.toes and not _is_held(step, wall.name)]
        depth, path = max(free, default=(0.0, ""), key=lambda found: found[0])
        if depth > DEEPEST_CANTILEVER + 1e-9:
            yield Doubt(f"{path}.dig", f"wall '{wall.name}' holds {_metres(depth)} of ground without a frame or slab; usual is {DEEPEST_CANTILEVER:g} m at most (common practice).")


def _is_held(step: Step, wall: str) -> bool:
    """Whether a frame that bears, or a slab, stands at a wall after a stage."""
    frames = [f for f in step.case.frames if step.after.frames.get(f.name) in BEARING]
    return any(wall in item.between for item in (*frames, *(s for s in step.case.slabs if s.name in step.after.slabs)))


def _bare_doubts(case: Case):
    """Upright faces of ground that no sheet covers, each in the stage that makes it highest."""
    left, right, _ = extent(case)
    corners = [x for stage in case.stages for line in stage.dig.values() for x, _ in line]
    for x in sorted({x for x in (*corners, *(wall.x for wall in case.walls)) if left < x < right}):
        faces = [(_bare_face(step.case, step.after, x), _bare_face(step.case, step.before, x), step.path) for step in steps(case)]
        height, before, path = max(faces, key=lambda found: found[0])
        if height > max(HIGHEST_BARE_FACE, before) + 1e-9:
            yield Doubt(path, f"an upright face of ground at x = {x:g} m stands {_metres(height)} high without a sheet; usual is {HIGHEST_BARE_FACE:g} m at most (common practice).")


def _bare_face(case: Case, situation, x: float) -> float:
    """Height [m] of the upright face of ground at x that no sheet covers; 0 where it is of a material that never yields."""
    low, high = sorted((float(y), place) for place in (x - BESIDE, x + BESIDE) for y in ground_level(case, situation, np.array([place])))
    bare = high[0] - low[0] - sum(max(min(high[0], w.top_level) - max(low[0], situation.toes[w.name]), 0.0) for w in case.walls if w.x == x and w.name in situation.toes)
    material = int(material_at(case, situation, high[1], (low[0] + high[0]) / 2))
    return bare if material >= 0 and case.soils[material].strength is not None else 0.0


def _preload_doubts(step: Step):
    frames = {f.name: f for f in step.case.frames}
    for name, given in step.stage.pressurise.items():
        frame, load = frames[name], preload(frames[name], given)
        path, forces = f"{step.path}.pressurise.{name}", {"load": load, **frame_forces(frames[name], load)}
        kinds = {"load": "kN/m", "moment": "kN m", "axial": "kN"}
        said = ", ".join(f"{key} {units.number(value, 4)} {kinds[key]}" for key, value in forces.items())
        yield Doubt(path, f"by hand, as a uniform load: {said}.", is_note=True)
        for key, unit in kinds.items():
            capacity = getattr(frame.capacity, key, None)
            if capacity is not None and key in forces and forces[key] > capacity:
                yield Doubt(path,
                            f"the preload alone gives {key} {units.number(forces[key], 4)} {unit}, "
                            f"above the capacity {units.number(capacity, 4)} {unit} ({frame.capacity.basis}).")
        if frame.limit_load is not None and load > frame.limit_load:
            yield Doubt(path, f"the preload {units.number(load, 4)} kN/m is above the frame's limit_load {units.number(frame.limit_load, 4)} kN/m.")


def _lift_doubts(step: Step):
    if not step.stage.dig or "dig before lock" in step.stage.declared:
        return
    for frame in step.case.frames:
        locked = "locked" in (step.before.frames.get(frame.name), step.after.frames.get(frame.name))
        comes = any(frame.name in s.lock for s in step.case.stages[step.before.index:])
        if comes and not locked and all(end == AXIS or end in step.after.toes for end in frame.between):
            lift = frame.level - step.ground_between(frame.between)
            if lift > LARGEST_LIFT + 1e-9:
                yield Doubt(f"{step.path}.dig",
                            f"dug {_metres(lift)} below frame '{frame.name}' before it is locked; "
                            f"usual is {LARGEST_LIFT:g} m at most (common practice).")


def _toe_doubts(step: Step):
    if not step.stage.dig or "dig below toe" in step.stage.declared:
        return
    for wall, toe in step.after.toes.items():
        ground = step.ground_beside(wall).min()
        dug = ground < step.ground_beside(wall, step.before).min() - 1e-6
        if dug and ground - toe < LEAST_EMBEDMENT - 1e-9:
            yield Doubt(f"{step.path}.dig",
                        f"the toe of wall '{wall}' is {_metres(ground - toe)} below the dig; "
                        f"usual is {LEAST_EMBEDMENT:g} m at least (common practice).")


def _lock_doubts(step: Step):
    for frame in step.case.frames:
        if frame.name in step.stage.lock and frame.name not in step.after.preload and frame.slack == 0:
            yield Doubt(f"{step.path}.lock",
                        f"frame '{frame.name}' is locked without preload and with slack 0; each millimetre of gap is a millimetre of wall movement.")


def _removal_doubts(step: Step):
    if "unsupported removal" in step.stage.declared:
        return
    bearing = [f for f in step.case.frames if step.after.frames.get(f.name) in BEARING]
    bearing += [s for s in step.case.slabs if s.name in step.after.slabs]
    for item in (*step.case.frames, *step.case.slabs):
        if item.name not in step.stage.remove or any(end != AXIS and end not in step.after.toes for end in item.between):
            continue
        level = getattr(item, "level", getattr(item, "top_level", None))
        bare = level - step.ground_between(item.between)
        if bare > LARGEST_LIFT and not any(other.between == item.between for other in bearing):
            yield Doubt(f"{step.path}.remove",
                        f"'{item.name}' is taken out with {_metres(bare)} of bare wall below it and nothing else between the walls.")


def _flooded_dig_doubts(step: Step):
    pits = cofferdams(step.case)
    for zone, level in zip(zones(step.case), step.after.water):
        if zone.name not in pits or level is None or step.stage.flood or not ({zone.name, EVERYWHERE} & set(step.stage.dig)):
            continue
        ground = float(ground_level(step.case, step.after, np.array([zone.x0 + BESIDE, zone.x1 - BESIDE])).min())
        if level > ground + 1e-6:
            yield Doubt(f"{step.path}.dig",
                        f"the dig in '{zone.name}' at {_metres(ground)} is under {_metres(level - ground)} of water; "
                        "lower the water if it is to be dry.")


def _drive_doubts(step: Step):
    elastic = {s.name for s in step.case.soils if s.strength is None}
    for name in step.stage.drive:
        for wall in walls_of(step.case, name):
            for block in (b for b in step.case.blocks if b.soil in elastic):
                levels = np.linspace(step.after.toes[wall], step.before.toes.get(wall, step.walls[wall].top_level), 201)
                if in_outline(block.outline, step.walls[wall].x, levels).any():
                    yield Doubt(f"{step.path}.drive.{name}", f"wall '{wall}' passes through block '{block.name}', which never yields.")


def _fill_doubts(step: Step):
    spans = {**cofferdams(step.case), EVERYWHERE: extent(step.case)[:2]}
    for name, fill in step.stage.backfill.items():
        x = np.linspace(*spans[name], 201)[1:-1]
        if (level_at(fill.to, x) <= ground_level(step.case, step.before, x) + 1e-6).all():
            yield Doubt(f"{step.path}.backfill.{name}", "does not raise the ground anywhere.")
    for slab in step.case.slabs:
        gap = slab.top_level - slab.thickness - (step.ground_between(slab.between) if slab.name in step.stage.cast else np.inf)
        if gap > 0.05:
            yield Doubt(f"{step.path}.cast", f"slab '{slab.name}' hangs {_metres(gap)} above the ground; its weight acts on the ground below.")
