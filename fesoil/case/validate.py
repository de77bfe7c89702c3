"""Cross checks of a case: what no single key can show to be wrong. First the tables, then (``validate_stages``) the work stage by stage."""

from __future__ import annotations

import math
from collections import Counter

import numpy as np

from fesoil import units
from fesoil.case.faults import Fault, item_path, nearest
from fesoil.case.frames import frame_stiffness
from fesoil.case.model import Case
from fesoil.case.sequence import AXIS, EVERYWHERE, OUTSIDE_LEFT, OUTSIDE_RIGHT, cofferdams, level_at, surface
from fesoil.case.small_strain_checks import key_faults, work_faults
from fesoil.case.soil import DRAINED, EFFECTIVE_STRESS, TOTAL_STRESS
from fesoil.case.undrained_checks import placed_faults, pore_fluid_faults
from fesoil.case.validate_stages import stage_faults
from fesoil.case.water_checks import water_faults

RESERVED = (AXIS, EVERYWHERE, OUTSIDE_LEFT, OUTSIDE_RIGHT, "inside", "outside")
SOIL_WORDS = ("very soft", "unusual stiffness", "unusual strength", "unusual weight")
STAGE_WORDS = ("dig below toe", "water inside above outside", "load inside", "unsupported removal", "frame below dig", "dig before lock")
CLOSEST_WALLS = 0.05  # m; walls nearer than this would be one wall


def faults_of(case: Case) -> list[Fault]:
    """All faults of a case; the stages are walked through only when what they are made of is sound."""
    if not case.layers:
        return [Fault("layers", "none", "at least one layer", "Add [[layers]].")]
    structure = [*_name_faults(case), *_reference_faults(case), *_wall_faults(case), *_frame_faults(case), *_preload_faults(case), *_load_faults(case),
                 *_layer_faults(case), *_outline_faults(case)]
    tables = [*_soil_faults(case), *_section_faults(case)]
    found = structure + tables + ([] if structure else [*stage_faults(case), *water_faults(case)])
    return found or list(work_faults(case))


def paths(case: Case, table: str):
    """(path, entry) of every entry of a list of tables."""
    return [(item_path(table, i, getattr(e, "name", None)), e) for i, e in enumerate(getattr(case, table))]


def _metres(value: float) -> str:
    return units.text(value, "m")


def _name_faults(case: Case):
    if not case.stages:
        yield Fault("stages", "none", "at least one stage", "Add [[stages]] with a name and what is done.")
    for tables in (("soils",), ("blocks",), ("walls",), ("frames", "slabs"), ("loads",), ("wells",), ("stages",)):
        entries = [pair for table in tables for pair in paths(case, table)]
        seen = set()
        for path, entry in entries:
            if entry.name in seen:
                yield Fault(path, f"'{entry.name}' twice", "one name for each", "Give one of them another name.")
            seen.add(entry.name)
    shared = Counter(w.cofferdam for w in case.walls)
    for path, wall in paths(case, "walls"):
        for word in {wall.name, wall.cofferdam} & set(RESERVED):
            yield Fault(path, f"the name '{word}'", f"none of {', '.join(RESERVED)}", "Choose another name; this word has a meaning of its own.")
        if shared[wall.name] and not (wall.cofferdam == wall.name and shared[wall.name] == 1):
            yield Fault(f"{path}.name", f"'{wall.name}', also the name of a cofferdam", "different names", "Rename the wall or the cofferdam.")


def _reference_faults(case: Case):
    for path, kind, words, known in _references(case):
        for word in words:
            if word not in known:
                yield Fault(path, f"'{word}'", f"the name of {kind}", nearest(word, known))


def _references(case: Case):
    """(path, kind of thing, words used, words known) wherever one table calls another by name."""
    names = {table: [e.name for e in getattr(case, table)] for table in ("soils", "walls", "frames", "slabs", "loads")}
    pits = list(cofferdams(case))
    sides = ["outside", "inside", OUTSIDE_RIGHT, *pits] + ([] if case.section.half else [OUTSIDE_LEFT])
    ends = names["walls"] + ([AXIS] if case.section.half else [])
    for table in ("layers", "blocks"):
        yield from ((f"{path}.soil", "a soil", [e.soil], names["soils"]) for path, e in paths(case, table))
    for table in ("frames", "slabs"):
        yield from ((f"{path}.between", "a wall" + (" or 'axis'" if case.section.half else ""), e.between, ends) for path, e in paths(case, table))
    if case.water:
        yield "water", "a side ('outside', 'inside', ... or a cofferdam)", case.water.levels, sides
    for path, soil in paths(case, "soils"):
        yield f"{path}.declared", "something that can be declared", soil.declared, SOIL_WORDS
    for path, stage in paths(case, "stages"):
        soils = [p.soil for p in stage.place] + [b.soil for b in stage.backfill.values()]
        yield f"{path}.backfill", "a cofferdam or 'everywhere'", stage.backfill, [*pits, EVERYWHERE]
        yield f"{path}.dig", "a cofferdam or 'everywhere'", stage.dig, [*pits, EVERYWHERE]
        yield f"{path}", "a soil", soils, names["soils"]
        for verb in ("drive", "extract"):
            yield f"{path}.{verb}", "a wall or cofferdam", getattr(stage, verb), list(dict.fromkeys(names["walls"] + pits))
        for verb in ("fit", "pressurise", "lock"):
            yield f"{path}.{verb}", "a frame", getattr(stage, verb), names["frames"]
        for verb in ("cast", "cure"):
            yield f"{path}.{verb}", "a slab", getattr(stage, verb), names["slabs"]
        yield f"{path}.remove", "a frame or slab", stage.remove, names["frames"] + names["slabs"]
        yield f"{path}.water", "a side ('outside', 'inside', ... or a cofferdam)", stage.water, sides
        yield f"{path}.flood", "'inside' or a cofferdam", stage.flood, ["inside", *pits]
        for verb in ("load", "unload"):
            yield f"{path}.{verb}", "a load", getattr(stage, verb), names["loads"]
        yield f"{path}.dissipate", f"a soil of drainage '{EFFECTIVE_STRESS}'", stage.dissipate, [s.name for s in case.soils if s.drainage == EFFECTIVE_STRESS]
        yield f"{path}.declared", "something that can be declared", stage.declared, STAGE_WORDS


def _soil_faults(case: Case):
    for path, soil in paths(case, "soils"):
        if soil.stiffness.per_metre_depth and soil.stiffness.at_level is None:
            yield Fault(f"{path}.stiffness.at_level", "nothing", "a level", "Say from which level the stiffness grows.")
        yield from key_faults(path, soil)
        yield from pore_fluid_faults(path, soil)
        yield from placed_faults(path, case, soil)
        if soil.strength is None:
            continue
        if soil.strength.per_metre_depth and soil.strength.at_level is None:
            yield Fault(f"{path}.strength.at_level", "nothing", "a level", "Say from which level the strength grows.")
        check = {DRAINED: _drained_faults, TOTAL_STRESS: _undrained_faults, EFFECTIVE_STRESS: _effective_faults}[soil.drainage]
        yield from check(f"{path}.strength", soil.strength)
        if soil.drainage == TOTAL_STRESS and soil.wall_friction.angle:
            yield Fault(f"{path}.wall_friction.angle", units.text(soil.wall_friction.angle, "deg"), "0 in an undrained soil", "Use adhesion instead.")


def _drained_faults(path, strength):
    if strength.undrained_strength is not None:
        yield Fault(f"{path}.undrained_strength", units.text(strength.undrained_strength, "kPa"), "no such key in a drained soil",
                    "Remove it, or set drainage = \"undrained\" and give it alone.")
    yield from _effective_faults(path, strength)


def _effective_faults(path, strength):
    c, phi, psi = strength.effective_cohesion, strength.friction_angle, strength.dilation_angle
    for name, value in (("effective_cohesion", c), ("friction_angle", phi)):
        if value is None:
            yield Fault(f"{path}.{name}", "nothing", "a value, for a soil with effective strength", "Add it (0 is allowed for one of the two).")
    if c is None or phi is None:
        return
    angle = units.text(phi, "deg")
    if c == 0 and phi == 0:
        yield Fault(path, "effective_cohesion and friction_angle both 0", "some strength",
                    "Give one of them a value; leave strength out for an elastic material.")
    if 0 < phi < math.radians(1.2):
        yield Fault(f"{path}.friction_angle", angle, "an angle in degrees",
                    f"It looks like radians: {phi * 180 / math.pi:g} rad is {math.degrees(units.from_internal(phi, 'deg')):.1f} deg.")
    if psi > phi:
        yield Fault(f"{path}.dilation_angle", units.text(psi, "deg"), f"at most the friction angle, {angle}",
                    "Lower it; 0 is safe for wall movement.")
    if phi > 0 and strength.tension_limit > c / math.tan(phi) * (1 + 1e-9):
        yield Fault(f"{path}.tension_limit", units.text(strength.tension_limit, "kPa"), f"at most c' cot(phi'), {units.number(c / math.tan(phi), 3)} kPa",
                    "Lower it, or leave it out for none.")


def _undrained_faults(path, strength):
    if strength.undrained_strength is None:
        yield Fault(f"{path}.undrained_strength", "nothing", "a value, for an undrained soil", "Add it, or set drainage = \"drained\".")
    for name in ("effective_cohesion", "friction_angle", "dilation_angle"):
        if getattr(strength, name):
            yield Fault(f"{path}.{name}", "a value", "no such key in an undrained soil",
                        "Remove it, or set drainage = \"drained\" and leave undrained_strength out.")


def both_sides(*lines) -> np.ndarray:
    """Places x just beside every corner of the polylines, where a comparison of levels decides."""
    corners = np.array([x for line in lines for x, _ in line])
    return np.unique(np.concatenate([corners - 1e-6, corners + 1e-6]))


def _layer_faults(case: Case):
    rows = paths(case, "layers")
    first, ground = rows[0][1].top, surface(case)
    x = both_sides(first, ground)
    gap = level_at(ground, x) - level_at(first, x)
    if gap.max() > 1e-6:
        yield Fault("layers[0].top_level", f"a top {gap.max():.3g} m below the ground surface at x = {x[gap.argmax()]:.2f} m",
                    "a first layer that reaches the surface", "Raise its top, or lower section.surface.")
    for (_, upper), (path, lower) in zip(rows, rows[1:]):
        x = both_sides(upper.top, lower.top)
        rise = level_at(lower.top, x) - level_at(upper.top, x)
        if rise.max() > 1e-6:
            yield Fault(f"{path}.top_level",
                        f"{_metres(level_at(lower.top, x[rise.argmax()]))}, above the top of the layer before it at x = {x[rise.argmax()]:.2f} m",
                        "layers from the top down", "Put the layers in order, or mend the level (levels are upwards, depths would be negative).")
        elif rise.min() > -1e-6:
            yield Fault(f"{path}.top_level", "the level of the layer before it", "a layer with some thickness",
                        "Remove one of the two, or mend the level.")


def _outline_faults(case: Case):
    for path, block in paths(case, "blocks"):
        yield from _crossing_faults(f"{path}.outline", block.outline)
        left, right = _limits(case)
        if any(y > level_at(surface(case), x) + 1e-6 for x, y in block.outline):
            yield Fault(f"{path}.outline", "a corner above the ground surface", "a block in the ground",
                        "Lower it, or raise section.surface, or `place` it in a stage.")
        if any(not left <= x <= right for x, _ in block.outline):
            yield Fault(f"{path}.outline", "a corner outside the section", f"x from {left:g} to {right:g} m", "Widen the section or mend the corner.")
    for path, stage in paths(case, "stages"):
        for i, placed in enumerate(stage.place):
            yield from _crossing_faults(f"{path}.place[{i}].outline", placed.outline)


def _crossing_faults(path, outline):
    sides = list(zip(outline, outline[1:] + outline[:1]))
    for i, (a, b) in enumerate(sides):
        for c, d in sides[i + 1:]:
            if _turn(a, b, c) * _turn(a, b, d) < 0 and _turn(c, d, a) * _turn(c, d, b) < 0:
                yield Fault(path, "sides that cross", "a simple outline", "Give the corners in order around it.")
                return
    if abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in sides)) < 1e-9:
        yield Fault(path, "corners on one line", "an outline with an area", "Mend the corners.")


def _turn(a, b, c) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _limits(case: Case) -> tuple[float, float]:
    """Left and right boundary as far as they are given."""
    section = case.section
    left = 0.0 if section.half else (-np.inf if section.left is None else section.left)
    return left, np.inf if section.right is None else section.right


def _section_faults(case: Case):
    left, right = _limits(case)
    bottom, deeper = case.section.bottom_level, case.section.deeper_bottom_level
    if deeper is not None and (bottom is None or deeper >= bottom):
        yield Fault("section.deeper_bottom_level", _metres(deeper), "a level below bottom_level", "State both, the deeper one below the other.")
    if case.section.half and case.section.left not in (None, 0.0):
        yield Fault("section.left", _metres(case.section.left), "0 in a half section", "Leave it out.")
    if left >= right:
        yield Fault("section.right", _metres(right), f"a boundary to the right of x = {left:g} m", "Mend the boundaries.")
    if not case.section.half:
        return
    lines = [("section.surface", surface(case))] + [(f"{p}.top_level", e.top) for p, e in paths(case, "layers")]
    lines += [(f"{p}.dig.{name}", line) for p, s in paths(case, "stages") for name, line in s.dig.items()]
    lines += [(f"{p}.backfill.{name}.to", fill.to) for p, s in paths(case, "stages") for name, fill in s.backfill.items()]
    lines += [(f"{p}.place[{i}].outline", placed.outline) for p, s in paths(case, "stages") for i, placed in enumerate(s.place)]
    for path, line in lines:
        if min(x for x, _ in line) < 0:
            yield Fault(path, "x below 0", "x >= 0 in a half section", "Describe the right half only, or set half = false and describe both.")


def _wall_faults(case: Case):
    left, right = _limits(case)
    rows = paths(case, "walls")
    for path, wall in rows:
        if not left < wall.x < right:
            yield Fault(f"{path}.x", _metres(wall.x), f"a place within the section, {left:g} to {right:g} m",
                        "A half section has its walls at x > 0; else widen the section.")
    by_place = sorted(rows, key=lambda row: row[1].x)
    for (_, a), (path, b) in zip(by_place, by_place[1:]):
        if b.x - a.x < CLOSEST_WALLS:
            yield Fault(f"{path}.x", f"{_metres(b.x)}, the place of wall '{a.name}'", "walls apart from each other",
                        "Move one; a wall that goes deeper is driven again, not written twice.")
    wanted, how = (1, "one wall (the axis is the other side)") if case.section.half else (2, "two walls")
    for name, count in Counter(w.cofferdam or w.name for w in case.walls).items():
        if count != wanted:
            path = next(p for p, w in rows if name in (w.name, w.cofferdam))
            yield Fault(f"{path}.cofferdam", f"{count} wall{'s' * (count > 1)} in cofferdam '{name}'", how,
                        "Give the walls of one cofferdam the same `cofferdam`, or set section.half.")
    spans = sorted((a, b, name) for name, (a, b) in cofferdams(case).items())
    for i, (a0, a1, a) in enumerate(spans):
        for b0, b1, b in spans[i + 1:]:
            if a0 < b0 < a1 < b1:
                yield Fault("walls", f"cofferdams '{a}' ({a0:g} to {a1:g} m) and '{b}' ({b0:g} to {b1:g} m)", "one inside the other, or apart",
                            "Mend the places of their walls.")


def _frame_faults(case: Case):
    walls = {w.name: w for w in case.walls}
    for table in ("frames", "slabs"):
        for path, item in paths(case, table):
            if item.between[0] == item.between[1] or item.between[0] == AXIS:
                yield Fault(f"{path}.between", f"{list(item.between)}", "two different ends, the axis as the second",
                            'Write ["wall", "axis"] or two walls.')
            level, key = (item.level, "level") if table == "frames" else (item.top_level, "top_level")
            for name in item.between:
                if name in walls and level > walls[name].top_level:
                    yield Fault(f"{path}.{key}", _metres(level), f"a level below the top of wall '{name}', {_metres(walls[name].top_level)}",
                                "Lower it, or raise the top of the wall.")
    for path, frame in paths(case, "frames"):
        given = [k for k in ("stiffness", "members", "struts") if getattr(frame, k) is not None]
        if len(given) != 1:
            yield Fault(path, " and ".join(given) or "no stiffness", "exactly one of stiffness, members, struts", "Keep the one that is meant.")
        elif frame.members and not min(frame_stiffness(frame)) > 0:
            yield Fault(f"{path}.members", f"a rigid frame of {frame.members.waling_span:g} m by {frame.members.leg_length:g} m", "a side that gives way to its load",
                        "The long side pushes this short one outwards; work the frame out apart and give its stiffness.")
        yield from _capacity_faults(f"{path}.capacity", frame)


def _capacity_faults(path, frame):
    capacity = frame.capacity
    if capacity is None:
        return
    if capacity.load is capacity.moment is capacity.axial is None:
        yield Fault(path, "no value", "load, moment or axial", "Give at least one of them.")
    if capacity.moment is not None and frame.members is None:
        yield Fault(f"{path}.moment", units.text(capacity.moment, "kN m"), "members to work the moment from",
                    "Give members, or the capacity as load.")
    if capacity.axial is not None and frame.members is None and frame.struts is None:
        yield Fault(f"{path}.axial", units.text(capacity.axial, "kN"), "members or struts to work the thrust from",
                    "Give them, or the capacity as load.")


def _preload_faults(case: Case):
    frames = {f.name: f for f in case.frames}
    for path, stage in paths(case, "stages"):
        for name, given in stage.pressurise.items():
            here, frame = f"{path}.pressurise.{name}", frames.get(name)
            kinds = [k for k in ("mean_load", "ram_force", "ram_pressure") if getattr(given, k) is not None]
            if len(kinds) != 1:
                yield Fault(here, " and ".join(kinds) or "no load", "exactly one of mean_load, ram_force, ram_pressure",
                            "Keep the one that is meant.")
            if frame and "ram_pressure" in kinds and (frame.members is None or frame.members.ram_area is None):
                yield Fault(f"{here}.ram_pressure", units.text(given.ram_pressure, "kPa"), "a frame with ram_area",
                            "Add members.ram_area to the frame, or give ram_force.")
            elif frame and "ram_force" in kinds and frame.members is None and frame.struts is None:
                yield Fault(f"{here}.ram_force", units.text(given.ram_force, "kN"), "a frame with members or struts",
                            "Give mean_load, or the members of the frame.")


def _load_faults(case: Case):
    left, right = _limits(case)
    for path, load in paths(case, "loads"):
        strip, line = [load.start, load.end], [load.x, load.force]
        if not (None not in strip and line == [None, None] or None not in line and strip == [None, None]):
            yield Fault(path, "neither a whole strip nor a whole line load", "from, to (and pressure), or x and force", "Keep the keys of one kind.")
            continue
        if load.x is None and load.end <= load.start:
            yield Fault(f"{path}.to", _metres(load.end), f"a place to the right of `from`, {_metres(load.start)}", "Exchange or mend them.")
        for name, x in (("from", load.start), ("to", load.end), ("x", load.x)):
            if x is not None and not left <= x <= right:
                yield Fault(f"{path}.{name}", _metres(x), f"a place within the section, {left:g} to {right:g} m",
                            "A half section has x >= 0; else widen the section.")
