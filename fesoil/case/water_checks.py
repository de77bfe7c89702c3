"""Checks of the water of a case: is what seepage needs there, can the wells and leaks be, and what of water the analysis leaves unchecked.

Limits without a source are common practice.
"""

from __future__ import annotations

import numpy as np

from fesoil import units
from fesoil.case.faults import Doubt, Fault, item_path, nearest
from fesoil.case.model import Case
from fesoil.case.sequence import OUTSIDE_LEFT, OUTSIDE_RIGHT, cofferdams, extent, ground_level, material_at, zones
from fesoil.case.soil import DRAINED
from fesoil.case.validate_stages import Step, steps

MOST_ANISOTROPY = 100.0
"""Permeability along a layer over that across it from which one of the two looks like a slip."""

ABSURD_ANISOTROPY = 1e5
"""The same from which it is a mistake."""

SHALLOW = 0.3
"""Difference of level [m] from one side of a wall to the other up to which water that seeps is no matter."""

SAMPLES = 200
"""Places down a column at which the ground below a pit is looked up."""

NEAR_WALL = 0.05
"""Distance [m] of a well from a wall under which it would be in it."""


def water_faults(case: Case):
    """What the water of a case lacks, or cannot be; names of sides, soils and walls must be sound already."""
    for kind in (_permeability_faults, _well_faults, _leak_faults):
        yield from kind(case)
    asked = False
    for step in steps(case):
        for check in (_pump_faults, _ground_water_faults, _dissipate_faults):
            yield from check(step)
        if step.after.seepage and not asked:
            asked = True
            yield from _seepage_faults(step)


def _metres(value: float) -> str:
    return units.text(float(value), "m")


def _permeability_faults(case: Case):
    for i, soil in enumerate(case.soils):
        if soil.permeability is not None:
            along, across = soil.permeability.both
            if not 1 / ABSURD_ANISOTROPY <= across / along <= ABSURD_ANISOTROPY:
                yield Fault(f"{item_path('soils', i, soil.name)}.permeability.vertical", f"{across / along:.1e} times that along the layer", "0.01 to 1 times it, as in most layers",
                            "One of the two has a slip in its power of ten.")


def _well_faults(case: Case):
    left, right, bottom = extent(case)
    for i, well in enumerate(case.wells):
        path = item_path("wells", i, well.name)
        if well.top <= well.bottom:
            yield Fault(f"{path}.to_level", _metres(well.bottom), f"a level below from_level, {_metres(well.top)}", "Exchange or mend them.")
        if not left <= well.x <= right or well.bottom < bottom:
            yield Fault(path, f"x {_metres(well.x)}, down to {_metres(well.bottom)}", f"a well within the section, {left:g} to {right:g} m and above {bottom:g} m", "Move it, or widen the section.")
        for wall in case.walls:
            if abs(wall.x - well.x) < NEAR_WALL:
                yield Fault(f"{path}.x", f"{_metres(well.x)}, at wall '{wall.name}'", "a well beside the wall", "Move it away from the wall.")


def _leak_faults(case: Case):
    for i, wall in enumerate(case.walls):
        for j, leak in enumerate(wall.leaks):
            path = f"{item_path('walls', i, wall.name)}.leaks[{j}]"
            if leak.top <= leak.bottom:
                yield Fault(f"{path}.to_level", _metres(leak.bottom), f"a level below from_level, {_metres(leak.top)}", "Exchange or mend them.")
            elif leak.top > wall.top_level:
                yield Fault(f"{path}.from_level", _metres(leak.top), f"a level below the top of the wall, {_metres(wall.top_level)}", "Mend it.")


def _pump_faults(step: Step):
    wells = {w.name: w for w in step.case.wells}
    for name in {*step.stage.pump, *step.stage.shut} - set(wells):
        yield step.fault("pump" if name in step.stage.pump else "shut", f"'{name}'", "the name of a well", nearest(name, wells))
    for name, level in step.stage.pump.items():
        if name in wells and level < wells[name].bottom:
            yield step.fault(f"pump.{name}", _metres(level), f"a level within the well, above {_metres(wells[name].bottom)}", "Raise the level, or make the well deeper.")
        if name in step.stage.shut:
            yield step.fault("shut", f"'{name}', pumped in the same stage", "one or the other", "Make two stages of it.")
    for name in step.stage.shut:
        if name in wells and name not in step.before.wells:
            yield step.fault("shut", f"'{name}', which is not in use", "a well in use", "Take it out of the list.")
    if step.stage.pump and not step.after.seepage:
        yield step.fault("pump", "wells without seepage", "seepage = true in this stage or before", "Wells act in the flow of ground water only: add it.")


def _ground_water_faults(step: Step):
    outer = {OUTSIDE_LEFT, OUTSIDE_RIGHT, "outside"}
    for name in set(step.stage.ground_water) - outer:
        yield step.fault(f"ground_water.{name}", f"'{name}'", "'outside', 'left' or 'right'", "Within the works the level is that of `water`.")
    if step.stage.ground_water and step.case.water is None:
        yield step.fault("ground_water", "a level", "[water]", "Give the levels of the start.")


def _dissipate_faults(step: Step):
    for name in step.stage.dissipate:
        if name in step.before.drained:
            yield step.fault("dissipate", f"'{name}', which drains already", "a soil that does not drain yet", "Take it out of the list.")


def _seepage_faults(step: Step):
    """What the first stage with seepage lacks; a material that never yields (old concrete) is tight unless its permeability is stated."""
    if step.case.water is None:
        yield step.fault("seepage", "no water", "[water] with the levels of the start", "Give them: seepage runs from one level to another.")
        return
    present = {layer.soil for layer in step.case.layers} | {block.soil for block in step.case.blocks}
    present |= {p.soil for s in step.case.stages for p in (*s.place, *s.backfill.values())}
    drained = {name for s in step.case.stages for name in s.dissipate}
    for i, soil in enumerate(step.case.soils):
        if soil.name in present and soil.strength is not None and soil.permeability is None and (soil.drainage == DRAINED or soil.name in drained):
            yield Fault(f"{item_path('soils', i, soil.name)}.permeability", "nothing", "a permeability [m/s]", f'Add it: stage "{step.stage.name}" asks for seepage, and this soil drains.')


def water_doubts(case: Case):
    """What is unusual in the water of a case, and what is left unchecked."""
    for i, soil in enumerate(case.soils):
        if soil.permeability is not None:
            along, across = soil.permeability.both
            if not 1 / MOST_ANISOTROPY <= across / along <= MOST_ANISOTROPY or across > along:
                yield Doubt(f"{item_path('soils', i, soil.name)}.permeability", f"{across / along:.3g} times as pervious across the layer as along it; layers are mostly 0.1 to 1.")
    walked, seeps = steps(case), any(step.after.seepage for step in steps(case))
    if not seeps and any(wall.leakage or wall.leaks for wall in case.walls):
        yield Doubt("walls", "leakage acts in stages with seepage = true only, and there is none.")
    yield from _unchecked(case, walked)
    yield from _touching(case, walked)
    for step in walked:
        left, right, _ = extent(case)
        for i, x in ((-1, right), (0, left)):
            ground = float(ground_level(case, step.after, np.array([x]))[0])
            if step.stage.ground_water and step.after.ground_water[i] is not None and step.after.ground_water[i] > max(ground, step.after.water[i] or -np.inf) + SHALLOW:
                yield Doubt(f"{step.path}.ground_water", f"{_metres(step.after.ground_water[i])} stands above the ground and the free water there: the ground would burst.")
                break
    yield from _open_windows(case, walked)
    for step in walked:
        if step.stage.dissipate and any(getattr(step.stage, verb) for verb in ("dig", "water", "load", "unload", "remove", "backfill", "place", "extract")):
            yield Doubt(f"{step.path}.dissipate", "with other work in the same stage: short and long term can be set side by side only where nothing else changes.")
    if seeps and case.water.far_boundary == "closed" and not any(_free_outside(step) for step in walked):
        yield Doubt("water.far_boundary", "closed, and no free water outside: nothing feeds the ground, and in time all of it is drawn down to the lowest level given.")


def _unchecked(case: Case, walked):
    """Stages in which water stands higher outside than inside, on pervious ground, without seepage: said once, where the difference is greatest."""
    worst = max(((_difference(step), step) for step in walked if not step.after.seepage), key=lambda found: found[0], default=(0.0, None))
    if worst[0] > SHALLOW:
        yield Doubt(f"{worst[1].path}.water", f"water outside stands {_metres(worst[0])} above that in the pit, with ground that drains beneath it, and no seepage is asked for: heave and "
                    "uplift of the base, piping and flow are not checked. Add seepage = true and the permeability of the soils.")


def _touching(case: Case, walked):
    """Toes that end just on tight ground, each in the first stage with seepage in which it is so."""
    told = set()
    for step in (step for step in walked if step.after.seepage):
        for i, wall in enumerate(case.walls):
            toe = step.after.toes.get(wall.name)
            if toe is None or wall.name in told:
                continue
            above, below = material_at(case, step.after, np.full(2, wall.x), np.array([toe + 1e-3, toe - 1e-3]))
            if above >= 0 and below >= 0 and _passes(case.soils[above]) and not _passes(case.soils[below]):
                told.add(wall.name)
                yield Doubt(item_path("walls", i, wall.name), f"ends at {_metres(toe)} just on tight ground: in the analysis some water passes under it, as through a gap of about the size of the "
                            "triangles there. On rock or concrete that may well be so; in clay drive it deeper.")


def _passes(soil) -> bool:
    return soil.drainage == DRAINED and soil.permeability is not None


def _open_windows(case: Case, walked):
    """Windows in a wall with ground on one face only, each in the first stage with seepage in which it is so: what water carries with it is not modelled."""
    for i, wall in enumerate(case.walls):
        for j, leak in enumerate(wall.leaks):
            step = next((step for step in walked if step.after.seepage and _opens(step, wall, leak)), None)
            if step is not None:
                yield Doubt(f"{item_path('walls', i, wall.name)}.leaks[{j}]", f'opens from ground into the clear in stage "{step.stage.name}": the water that comes through counts, but whether it washes '
                            "ground out, and what ground is lost, is not checked.")


def _opens(step: Step, wall, leak) -> bool:
    """Whether a window lies between ground that drains and none, over some of its height above the toe."""
    toe = step.after.toes.get(wall.name, np.inf)
    if leak.top <= toe:
        return False
    y = np.linspace(leak.top, max(leak.bottom, toe), 13)[1:-1]
    left, right = (material_at(step.case, step.after, np.full(len(y), wall.x + aside), y) for aside in (-1e-3, 1e-3))
    drained = np.array([soil.drainage == DRAINED for soil in step.case.soils] + [False])
    return bool(np.any(drained[left] & (right < 0) | drained[right] & (left < 0)))


def _difference(step: Step) -> float:
    """Greatest difference of the outer water level over that in a pit with ground that drains below its floor [m]."""
    case, now, pits = step.case, step.after, cofferdams(step.case)
    outside = max((w for z, w in zip(zones(case), now.water) if z.name not in pits and w is not None), default=None)
    toes = {w.x: now.toes[w.name] for w in case.walls if w.name in now.toes}
    found = 0.0
    for zone, level in zip(zones(case), now.water):
        edge = next((x for x in (zone.x1, zone.x0) if x in toes), None)
        if zone.name not in pits or outside is None or edge is None:
            continue
        beside = edge - 1e-3 if edge == zone.x1 else edge + 1e-3
        floor = float(ground_level(case, now, np.array([beside]))[0])
        below = material_at(case, now, np.full(SAMPLES, beside), np.linspace(floor, extent(case)[2], SAMPLES + 1)[1:])
        if any(case.soils[m].drainage == DRAINED for m in set(below[below >= 0].tolist())):
            found = max(found, outside - (floor if level is None else max(level, floor)))
    return found


def _free_outside(step: Step) -> bool:
    """Whether free water stands on the ground outside the works."""
    left, right, _ = extent(step.case)
    sides = [(step.after.water[-1], right)] + ([] if step.case.section.half else [(step.after.water[0], left)])
    return any(level is not None and level > float(ground_level(step.case, step.after, np.array([x]))[0]) for level, x in sides)
