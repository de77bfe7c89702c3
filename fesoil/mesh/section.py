"""The section as points and lines, in local coordinates: everything that a mesh edge must follow at some stage.

One mesh serves all stages, so its lines are the union of the levels of all of them. Coordinates are local (origin at the middle of the works,
top of the ground) and rounded, so that a case moved by a kilometre meets the same numbers.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from fesoil.case.model import Case
from fesoil.case.sequence import cofferdams, drained_zones, extent, ground_level, level_at, situations, surface, zones
from fesoil.errors import MeshError

ROUNDING = 6
"""Decimals of a metre to which local coordinates are rounded."""


@dataclass(frozen=True)
class Plan:
    """What the mesher is given, in local coordinates [m].

    ``origin`` (2,) of the local system in the case's; ``box`` left, right, bottom, top; ``segments`` (k, 4) x1, y1, x2, y2, crossing
    nowhere but at their ends; ``points`` (p, 2) further places that must be nodes; ``walls`` (w, 3) x, deepest toe, top; ``corners`` (c, 2) of
    sloping earthworks and ground; ``wanted`` size beside walls and corners, or None; ``coarseness`` factor on all sizes.
    """

    origin: np.ndarray
    box: tuple[float, float, float, float]
    segments: np.ndarray
    points: np.ndarray
    walls: np.ndarray
    wanted: float | None
    corners: np.ndarray = field(default_factory=lambda: np.zeros((0, 2)))
    coarseness: float = 1.0


def plan(case: Case) -> Plan:
    """Collect the lines of a case."""
    walk = situations(case)
    left, right, bottom = extent(case)
    origin = _origin(case)
    top = _top(case, walk)
    segments, points = _ground_lines(case, left, right), []
    for situation in walk:
        _stage_lines(case, situation, left, right, segments, points)
    walls = _walls(case, walk)
    for x, toe, head in walls:
        segments.append((x, toe, x, head))
    box = (left - origin[0], right - origin[0], bottom - origin[1], top - origin[1])
    local = np.array([np.array(s) - np.tile(origin, 2) for s in segments]).reshape(-1, 4)
    clipped = _clip(np.round(local, ROUNDING), np.round(box, ROUNDING))
    extra = np.round(np.array(points, float).reshape(-1, 2) - origin, ROUNDING)
    local_walls = np.array([(x - origin[0], t - origin[1], h - origin[1]) for x, t, h in walls]).reshape(-1, 3)
    return Plan(origin, tuple(np.round(box, ROUNDING)), split_at_crossings(clipped, extra), extra, np.round(local_walls, ROUNDING), case.section.element_size, _corners(case, walk, origin, box))


def _origin(case: Case) -> np.ndarray:
    spans = list(cofferdams(case).values())
    x = 0.0 if case.section.half or not spans else min(a for a, _ in spans) / 2 + max(b for _, b in spans) / 2
    return np.array([x, max(y for _, y in surface(case))])


def _top(case: Case, walk) -> float:
    filled = [y for s in walk for w in s.earthworks if w.soil is not None for _, y in w.line]
    return max([*(y for _, y in surface(case)), *(w.top_level for w in case.walls), *filled])


def _corners(case: Case, walk, origin, box):
    """Corners (c, 2) of the ground surface and of earthworks that are more than a level, within the box."""
    lines = [surface(case)] + [work.line for situation in walk for work in situation.earthworks]
    places = sorted({(x - origin[0], y - origin[1]) for line in lines if len(line) > 1 for x, y in line})
    left, right, bottom, top = box
    inside = [(x, y) for x, y in places if left <= x <= right and bottom <= y <= top]
    return np.round(np.array(inside).reshape(-1, 2), ROUNDING)


def _walls(case: Case, walk) -> list[tuple[float, float, float]]:
    """x, deepest toe and top of each wall; a wall that is never driven is left out of the mesh by a zero length."""
    deepest = {w.name: min((s.toes[w.name] for s in walk if w.name in s.toes), default=w.top_level) for w in case.walls}
    return [(w.x, deepest[w.name], w.top_level) for w in case.walls]


def _polyline(line, x0, x1):
    """Segments of a level-continued polyline within [x0, x1]; the x of a single point is no place."""
    inner = [p for p in line if x0 < p[0] < x1 and len(line) > 1]
    first, last = (x0, float(level_at(line, x0))), (x1, float(level_at(line, x1)))
    path = [first, *inner, last]
    return [(*a, *b) for a, b in zip(path[:-1], path[1:]) if a != b]


def _outline(corners):
    return [(*a, *b) for a, b in zip(corners, [*corners[1:], corners[0]])]


def _ground_lines(case: Case, left, right):
    lines = _polyline(surface(case), left, right)
    for layer in case.layers:
        lines += _polyline(layer.top, left, right)
    for block in case.blocks:
        lines += _outline(block.outline)
    return lines


def _stage_lines(case: Case, situation, left, right, segments, points) -> None:
    """Lines and points that a stage adds: earthworks, toes, frames, slabs, loads, water levels on the walls."""
    for work in situation.earthworks:
        segments += _outline(work.line) if work.is_outline else _polyline(work.line, max(work.x0, left), min(work.x1, right))
    by_name = {w.name: w for w in case.walls}
    points += [(by_name[name].x, toe) for name, toe in situation.toes.items()]
    points += [(by_name[name].x, level) for name in situation.toes for level in situation.water if level is not None]
    for frame in case.frames:
        points += [(by_name[n].x, frame.level) for n in frame.between if n in by_name and frame.name in situation.frames]
    for slab in case.slabs:
        points += [(by_name[n].x, slab.top_level - slab.thickness / 2) for n in slab.between if n in by_name and slab.name in situation.slabs]
    segments += [(well.x, well.top, well.x, well.bottom) for well in case.wells if well.name in situation.wells]
    strips = zones(case)
    segments += [(max(strips[i].x0, left), level, min(strips[i].x1, right), level) for i, level in drained_zones(case, situation)]
    leaking = [by_name[name] for name in situation.toes if situation.seepage]
    points += [(wall.x, level) for wall in leaking for leak in wall.leaks for level in (leak.top, leak.bottom)]
    for load in case.loads:
        if load.name in situation.loads:
            _load_lines(case, situation, load, segments, points)


def _load_lines(case: Case, situation, load, segments, points) -> None:
    ends = [e for e in (load.start, load.end, load.x) if e is not None]
    levels = [load.level if load.level is not None else float(ground_level(case, situation, e)) for e in ends]
    points += list(zip(ends, levels))
    if load.level is not None and load.x is None:
        segments.append((ends[0], load.level, ends[1], load.level))


def _clip(segments, box):
    """Segments cut to the box; what lies outside or has no length is dropped."""
    left, right, bottom, top = box
    kept = []
    for x1, y1, x2, y2 in segments:
        t0, t1 = 0.0, 1.0
        for p, d, lo, hi in ((x1, x2 - x1, left, right), (y1, y2 - y1, bottom, top)):
            if d == 0:
                t0, t1 = (t0, t1) if lo <= p <= hi else (1.0, 0.0)
            else:
                a, b = sorted(((lo - p) / d, (hi - p) / d))
                t0, t1 = max(t0, a), min(t1, b)
        if t1 - t0 > 0:
            kept.append((x1 + t0 * (x2 - x1), y1 + t0 * (y2 - y1), x1 + t1 * (x2 - x1), y1 + t1 * (y2 - y1)))
    frame = [(left, bottom, right, bottom), (right, bottom, right, top), (right, top, left, top), (left, top, left, bottom)]
    rounded = np.round(np.array(kept + frame), ROUNDING)
    return rounded[np.hypot(rounded[:, 2] - rounded[:, 0], rounded[:, 3] - rounded[:, 1]) > 10.0**-ROUNDING]


def split_at_crossings(segments, points, tolerance=2e-6):
    """Segments (k, 4) cut wherever two of them or a point (p, 2) meet; no two pieces coincide.

    Raises
    ------
    MeshError
        Where two pieces would be shorter than a millimetre: almost coincident lines that the engineer surely meant to coincide.
    """
    start, end = segments[:, :2], segments[:, 2:]
    direction = end - start
    length = np.hypot(*direction.T)
    pieces = set()
    for i in range(len(segments)):
        candidates = [start, end, points, _crossings(i, start, direction)]
        p = np.concatenate(candidates)
        along = (p - start[i]) @ direction[i] / length[i]
        across = np.abs((p - start[i]) @ np.array([-direction[i, 1], direction[i, 0]])) / length[i]
        on = (across < tolerance) & (along > -tolerance) & (along < length[i] + tolerance)
        order = np.argsort(along[on], kind="stable")
        places = np.round(p[on][order], ROUNDING)
        chain = [places[0]]
        for q in places[1:]:
            if np.hypot(*(q - chain[-1])) > tolerance:
                chain.append(q)
        for a, b in zip(chain[:-1], chain[1:]):
            if np.hypot(*(b - a)) < 1e-3:
                raise MeshError(f"two lines of the section nearly meet: local x, y = {a} and {b} lie {np.hypot(*(b - a)) * 1e3:.2g} mm apart; make their levels equal")
            pieces.add(tuple(sorted((tuple(a), tuple(b)))))
    return np.array([[*a, *b] for a, b in sorted(pieces)])


def _crossings(i, start, direction):
    """Points where segment i properly crosses the others."""
    cross = direction[i, 0] * direction[:, 1] - direction[i, 1] * direction[:, 0]
    offset = start - start[i]
    with np.errstate(divide="ignore", invalid="ignore"):
        t = (offset[:, 0] * direction[:, 1] - offset[:, 1] * direction[:, 0]) / cross
        s = (offset[:, 0] * direction[i, 1] - offset[:, 1] * direction[i, 0]) / cross
    inside = (np.abs(cross) > 1e-12) & (t > 0) & (t < 1) & (s > 0) & (s < 1)
    return start[i] + t[inside, None] * direction[i]
