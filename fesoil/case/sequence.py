"""What stands where after each stage: the sequence of a case walked through without any analysis.

Everything that asks "what is here now" (validation, drawing, meshing, solving, hand methods) asks it here.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from fesoil.case.frames import preload
from fesoil.case.keys import Line
from fesoil.case.model import Case, Cure
from fesoil.case.soil import DRAINED, Soil

OUTSIDE_LEFT, OUTSIDE_RIGHT = "left", "right"
AXIS = "axis"
EVERYWHERE = "everywhere"


@dataclass(frozen=True)
class Zone:
    """A strip of the section between neighbouring walls. ``name``: innermost cofferdam, or 'left' or 'right' outside."""

    name: str
    x0: float
    x1: float


@dataclass(frozen=True)
class Earthwork:
    """Ground taken away (``soil`` None) above ``line``, or filled: below ``line`` in [x0, x1], or within ``line`` as an outline."""

    line: Line
    x0: float
    x1: float
    soil: int | None = None
    is_outline: bool = False


@dataclass(frozen=True)
class Situation:
    """What stands after a stage (index 0: before the first).

    ``toes`` by standing wall [m]; ``water`` by zone [m] or None; ``frames`` by name: 'fitted', 'pressurised' or 'locked';
    ``preload`` by pressurised frame [kN/m]; ``slabs`` by name, with what they are made of now; ``ground_water`` by zone [m], that of ``water`` but where the ground lags behind; ``seepage`` whether pore pressure is of steady seepage;
    ``wells`` level [m] by well in use; ``drained`` undrained soils whose excess pressure has gone.
    """

    index: int
    name: str
    toes: dict[str, float] = field(default_factory=dict)
    stopped_short: dict[str, str] = field(default_factory=dict)
    earthworks: tuple[Earthwork, ...] = ()
    water: tuple[float | None, ...] = ()
    frames: dict[str, str] = field(default_factory=dict)
    preload: dict[str, float] = field(default_factory=dict)
    slabs: dict[str, Cure] = field(default_factory=dict)
    loads: frozenset[str] = frozenset()
    ground_water: tuple[float | None, ...] = ()
    seepage: bool = False
    wells: dict[str, float] = field(default_factory=dict)
    drained: frozenset[str] = frozenset()


def level_at(line: Line, x):
    """Level [m] of a polyline at x, going on level beyond its ends; at a step, the value on the left for x at the step."""
    px, py = np.asarray(line, float).T
    return np.interp(x, px, py)


def in_outline(outline: Line, x, y):
    """Whether points lie within a closed outline (even-odd rule), any direction of the corners."""
    x, y = np.broadcast_arrays(np.asarray(x, float), np.asarray(y, float))
    inside = np.zeros(x.shape, bool)
    corners = np.asarray(outline, float)
    for (x1, y1), (x2, y2) in zip(corners, np.roll(corners, -1, axis=0)):
        if y1 != y2:
            crosses = (y1 > y) != (y2 > y)
            inside ^= crosses & (x < x1 + (y - y1) * (x2 - x1) / (y2 - y1))
    return inside


def surface(case: Case) -> Line:
    """Ground surface before the first stage."""
    return case.section.surface or case.layers[0].top


def cofferdams(case: Case) -> dict[str, tuple[float, float]]:
    """Left and right wall (x, in m) of each cofferdam; the axis 0 is the left one in a half section."""
    spans: dict[str, list[float]] = {}
    for wall in case.walls:
        spans.setdefault(wall.cofferdam or wall.name, []).append(wall.x)
    if case.section.half:
        return {name: (0.0, max(xs)) for name, xs in spans.items()}
    return {name: (min(xs), max(xs)) for name, xs in spans.items()}


def walls_of(case: Case, name: str) -> list[str]:
    """Walls meant by a name: the wall itself, or the walls of the cofferdam."""
    return [w.name for w in case.walls if name in (w.name, w.cofferdam)]


def dug_side(case: Case, wall_name: str) -> int:
    """Side of a wall on which its cofferdam lies: -1 to the left (smaller x), +1 to the right."""
    wall = next(w for w in case.walls if w.name == wall_name)
    x0, x1 = cofferdams(case)[wall.cofferdam or wall.name]
    return -1 if wall.x == x1 else 1


def zones(case: Case) -> tuple[Zone, ...]:
    """Strips between the walls, from left to right; the outermost reach to infinity (the axis in a half)."""
    spans = cofferdams(case)
    xs = sorted({w.x for w in case.walls})
    edges = [0.0 if case.section.half else -np.inf, *xs, np.inf]
    found = []
    for x0, x1 in zip(edges[:-1], edges[1:]):
        around = [(b - a, name) for name, (a, b) in spans.items() if a <= x0 and x1 <= b]
        outside = OUTSIDE_RIGHT if x1 == np.inf else OUTSIDE_LEFT
        found.append(Zone(min(around)[1] if around else outside, x0, x1))
    return tuple(found)


def set_levels(case: Case, water: tuple[float | None, ...], levels: dict[str, float]) -> tuple[float | None, ...]:
    """Water levels by zone after a change; the more particular name wins over 'outside' and 'inside'."""
    result = list(water)
    inside = set(cofferdams(case))
    for i, zone in enumerate(zones(case)):
        general = "inside" if zone.name in inside else "outside"
        result[i] = levels.get(zone.name, levels.get(general, result[i]))
    return tuple(result)


def start_of(case: Case) -> Situation:
    """What stands before the first stage."""
    water: tuple[float | None, ...] = (None,) * len(zones(case))
    if case.water is not None:
        outside = case.water.levels.get("outside")
        water = set_levels(case, (outside,) * len(water), case.water.levels)
    return Situation(0, "Before the works", water=water, ground_water=water, loads=frozenset(l.name for l in case.loads if l.from_start))


def situations(case: Case) -> tuple[Situation, ...]:
    """The start and what stands after each stage, ``len(case.stages) + 1`` of them."""
    walk = [start_of(case)]
    for stage in case.stages:
        walk.append(_after(case, walk[-1], stage))
    return tuple(walk)


def _after(case: Case, before: Situation, stage) -> Situation:
    toes, stopped = dict(before.toes), dict(before.stopped_short)
    for name, drive in stage.drive.items():
        for wall in walls_of(case, name):
            toes[wall] = drive.toe
            stopped.pop(wall, None)
            if drive.stopped_short:
                stopped[wall] = drive.stopped_short
    for name in stage.extract:
        for wall in walls_of(case, name):
            toes.pop(wall, None)
            stopped.pop(wall, None)
    frames, loads = dict(before.frames), dict(before.preload)
    for name in stage.fit:
        frames[name] = "fitted"
    for name, given in stage.pressurise.items():
        frames[name], loads[name] = "pressurised", preload(next(f for f in case.frames if f.name == name), given)
    for name in stage.lock:
        frames[name] = "locked"
    slabs = dict(before.slabs)
    by_name = {s.name: s for s in case.slabs}
    for name in stage.cast:
        slabs[name] = Cure(E=by_name[name].E, strength=by_name[name].strength)
    slabs.update(stage.cure)
    for name in stage.remove:
        for standing in (frames, loads, slabs):
            standing.pop(name, None)
    water = set_levels(case, set_levels(case, before.water, stage.water), stage.flood)
    ground_water = set_levels(case, water if stage.water or stage.flood else before.ground_water, stage.ground_water)
    wells = {name: level for name, level in {**before.wells, **stage.pump}.items() if name not in stage.shut}
    return replace(
        before, index=before.index + 1, name=stage.name, toes=toes, stopped_short=stopped, frames=frames, preload=loads, slabs=slabs, water=water,
        ground_water=ground_water,
        earthworks=before.earthworks + _earthworks(case, stage), loads=(before.loads | set(stage.load)) - set(stage.unload),
        seepage=before.seepage if stage.seepage is None else stage.seepage, wells=wells, drained=before.drained | set(stage.dissipate),
    )


def _earthworks(case: Case, stage) -> tuple[Earthwork, ...]:
    index = {soil.name: i for i, soil in enumerate(case.soils)}
    spans = {**cofferdams(case), EVERYWHERE: (-np.inf, np.inf)}

    def narrow_first(table):  # a fill of the inner pit takes its place before one of the outer, whatever their order in the file
        return sorted(table.items(), key=lambda item: (spans[item[0]][1] - spans[item[0]][0], item[0]))

    works = [Earthwork(line, *spans[name]) for name, line in narrow_first(stage.dig)]
    works += [Earthwork(fill.to, *spans[name], index[fill.soil]) for name, fill in narrow_first(stage.backfill)]
    works += [Earthwork(p.outline, -np.inf, np.inf, index[p.soil], True) for p in stage.place]
    return tuple(works)


def material_at(case: Case, situation: Situation, x, y):
    """Index of the soil at points (any shape) in a situation; -1 where there is none."""
    x, y = np.broadcast_arrays(np.asarray(x, float), np.asarray(y, float))
    index = {soil.name: i for i, soil in enumerate(case.soils)}
    material = np.full(x.shape, -1)
    for layer in case.layers:
        material[y <= level_at(layer.top, x)] = index[layer.soil]
    material[y > level_at(surface(case), x)] = -1
    for block in case.blocks:
        material[in_outline(block.outline, x, y)] = index[block.soil]
    for work in situation.earthworks:
        _apply(work, material, x, y)
    return material


def _apply(work: Earthwork, material, x, y) -> None:
    if work.is_outline:
        material[in_outline(work.line, x, y)] = work.soil
        return
    within, level = (x > work.x0) & (x < work.x1), level_at(work.line, x)
    if work.soil is None:
        material[within & (y > level)] = -1
    else:
        material[within & (y <= level) & (material < 0)] = work.soil


def ground_level(case: Case, situation: Situation, x):
    """Level of the ground surface [m] at x (any shape) in a situation."""
    x = np.asarray(x, float)
    level = level_at(surface(case), x)
    for work in situation.earthworks:
        if work.is_outline:
            level = np.maximum(level, _outline_top(work.line, x))
            continue
        within, line = (x > work.x0) & (x < work.x1), level_at(work.line, x)
        level = np.where(within, np.minimum(level, line) if work.soil is None else np.maximum(level, line), level)
    return level


def _outline_top(outline: Line, x):
    """Highest level of a closed outline at x; minus infinity beside it."""
    top = np.full(x.shape, -np.inf)
    corners = np.asarray(outline, float)
    for (x1, y1), (x2, y2) in zip(corners, np.roll(corners, -1, axis=0)):
        if x1 != x2:
            spans = (x >= min(x1, x2)) & (x <= max(x1, x2))
            top = np.where(spans, np.maximum(top, y1 + (x - x1) * (y2 - y1) / (x2 - x1)), top)
    return top


def extent(case: Case) -> tuple[float, float, float]:
    """Left, right and bottom boundary [m]: as given, or placed by rule.

    Notes
    -----
    Rule (common practice, no source): sides 5 dig depths (8 where there is undrained soil, whose trough is wide; at least 3 toe depths, 20 m) from the
    outermost wall, bottom 2 dig depths (at least 8 m) below the deepest toe or dig; loads lie at least one dig depth inside.
    """
    walk = situations(case)
    top = max(y for _, y in surface(case))
    toes = [t for s in walk for t in s.toes.values()]
    digs = [y for s in walk for w in s.earthworks if w.soil is None for _, y in w.line]
    depth = max(top - min(digs, default=top), 3.0)
    wide = 8 if any(soil.drainage != "drained" for soil in case.soils) else 5
    reach = max(wide * depth, 3 * (top - min(toes, default=top)), 20.0)
    ends = [e for load in case.loads for e in (load.start, load.end, load.x) if e is not None]
    xs = [w.x for w in case.walls] or [0.0]
    given = case.section
    right = given.right if given.right is not None else max([max(xs) + reach, *(e + depth for e in ends)])
    left = given.left if given.left is not None else min([min(xs) - reach, *(e - depth for e in ends)])
    deepest = min([*toes, *digs, *(y for layer in case.layers for _, y in layer.top)])
    bottom = given.bottom_level if given.bottom_level is not None else np.floor(deepest - max(2 * depth, 8.0))
    return (0.0 if given.half else float(left)), float(right), float(bottom)


def zone_of(case: Case, x):
    """Index of the zone between walls for places x (any shape); a place on a wall belongs to the zone on its right."""
    edges = [z.x1 for z in zones(case)[:-1]]
    return np.searchsorted(edges, x, side="right")


def free_level(case: Case, situation: Situation, zone):
    """Water level [m] of zones (any shape); minus infinity where dry."""
    levels = np.array([-np.inf if w is None else w for w in situation.water])
    return levels[zone]


def drained_zones(case: Case, situation: Situation):
    """(index, level) of the zones between walls whose water level [m] lies below the ground, where a situation asks for seepage: a drain holds it there."""
    found, pits = zones(case), cofferdams(case)
    levels = [(i, level) for i, level in enumerate(situation.water) if found[i].name in pits and level is not None and situation.seepage]
    return [(i, level) for i, level in levels if level < ground_level(case, situation, (found[i].x0 + found[i].x1) / 2) - 1e-6]


def drains(soil: Soil, situation: Situation) -> bool:
    """Whether water moves freely through a soil in a situation: drained soils, and those whose excess pore pressure has gone by then."""
    return soil.drainage == DRAINED or soil.name in situation.drained
