"""Faults of the work: the stages walked through one after the other.

All verbs of a stage act together, so what a verb needs may come from the same stage; it is judged by what stands after it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fesoil import units
from fesoil.case.faults import Fault, item_path
from fesoil.case.model import Case, Stage
from fesoil.case.sequence import (AXIS, EVERYWHERE, OUTSIDE_LEFT, OUTSIDE_RIGHT, Situation, cofferdams, extent, ground_level, level_at, situations,
                                  surface, walls_of, zones)

BESIDE = 1e-6  # m; just beside a wall
LEVEL = 1e-6  # m; levels nearer than this are one
UPWARDS = "levels are upwards, so deeper is more negative"


@dataclass(frozen=True)
class Step:
    """One stage with what stands before and after it."""

    case: Case
    path: str
    stage: Stage
    before: Situation
    after: Situation

    def fault(self, key: str, found: str, expected: str, remedy: str) -> Fault:
        return Fault(f"{self.path}.{key}" if key else self.path, found, expected, remedy)

    @cached_property
    def walls(self) -> dict:
        return {w.name: w for w in self.case.walls}

    def ground_beside(self, wall: str, situation: Situation | None = None):
        """Ground level to the left and to the right of a wall, after the stage unless told."""
        x = self.walls[wall].x
        return ground_level(self.case, situation or self.after, np.array([x - BESIDE, x + BESIDE]))

    def ground_between(self, between) -> float:
        """Highest ground level between the ends of a frame or slab, beside its walls, after the stage."""
        xs = sorted(0.0 if end == AXIS else self.walls[end].x for end in between)
        return float(ground_level(self.case, self.after, np.array([xs[0] + BESIDE, xs[1] - BESIDE])).max())


def steps(case: Case) -> list[Step]:
    """The stages with what stands before and after each."""
    walk = situations(case)
    return [Step(case, item_path("stages", i, s.name), s, walk[i], walk[i + 1]) for i, s in enumerate(case.stages)]


def stage_faults(case: Case):
    """All faults of the sequence; the tables must be sound already. Where a toe or a dig lies above its place, as with a wrong sign, only that is told: most of the rest
    would follow from it."""
    yield from _start_faults(case)
    bottom, walk = extent(case)[2], steps(case)
    too_high = [fault for step in walk for check in (_drive_faults, _depth_faults) for fault in check(step)]
    if too_high:
        yield from too_high
        return
    for step in walk:
        for check in (_extract_faults, _dig_faults, _toe_faults, _fit_faults, _preload_faults, _lock_faults, _slab_faults,
                      _remove_faults, _water_faults, _load_faults):
            yield from check(step)
        yield from _bottom_faults(step, bottom)
    yield from _load_inside_faults(case)


def _metres(value: float) -> str:
    return units.text(float(value), "m")


def _start_faults(case: Case):
    start = situations(case)[0]
    for zone, other, level, beyond in _unheld(case, start):
        if not _sloping(case, start):
            yield Fault("water", f"{_level(level)} in '{zone}' beside {_level(beyond)} in '{other}'", "one level before any wall stands",
                        "Lower the water in the stage that does it: water = { inside = ... }.")
            return


def _sloping(case: Case, situation: Situation) -> bool:
    """Whether the water outside stands higher on one side than on the other (a full section)."""
    return not case.section.half and situation.water[0] != situation.water[-1]


def _unheld(case: Case, situation: Situation):
    """(zone, next zone, level, next level) at every place where different water levels meet and no wall stands."""
    found, walls = zones(case), {w.x: w.name for w in case.walls}
    for (a, b), (level, beyond) in zip(zip(found, found[1:]), zip(situation.water, situation.water[1:])):
        if walls[a.x1] not in situation.toes and level != beyond:
            yield a.name, b.name, level, beyond


def _level(level: float | None) -> str:
    return "none" if level is None else _metres(level)


def _drive_faults(step: Step):
    """Toes too high: one fault for a cofferdam."""
    for name, drive in step.stage.drive.items():
        for wall in walls_of(step.case, name):
            top, toe = step.walls[wall].top_level, drive.toe
            if toe >= top:
                yield step.fault(f"drive.{name}", f"toe {_metres(toe)}, above the top of wall '{wall}' {_metres(top)}", "a toe below the top",
                                 f"Mend the toe or top_level; {UPWARDS}.")
                break
            elif toe > step.before.toes.get(wall, np.inf) + LEVEL:
                yield step.fault(f"drive.{name}", f"toe {_metres(toe)} above the toe so far, {_metres(step.before.toes[wall])}", "a deeper toe",
                                 f"Sheets are driven downwards only; {UPWARDS}.")
                break
            elif toe >= step.ground_beside(wall).max():
                yield step.fault(f"drive.{name}", f"toe {_metres(toe)} above the ground", "a toe in the ground",
                                 "Drive deeper, or drive before the dig.")
                break


def _extract_faults(step: Step):
    for name in step.stage.extract:
        for wall in walls_of(step.case, name):
            if wall not in step.before.toes:
                yield step.fault("extract", f"wall '{wall}', which does not stand", "a standing wall", "Drive it first, or take it out of the list.")
            if any(wall in walls_of(step.case, driven) for driven in step.stage.drive):
                yield step.fault("extract", f"wall '{wall}' driven in the same stage", "one or the other", "Make two stages of it.")
            for frame in _frames(step, step.after.frames):
                if wall in frame.between:
                    yield step.fault("extract", f"wall '{wall}', on which frame '{frame.name}' still bears", "no frame at the wall",
                                     f"remove = [\"{frame.name}\"] first.")


def _depth_faults(step: Step):
    for name, line in step.stage.dig.items():
        x = _places(step.case, name, line)
        ground = ground_level(step.case, step.before, x)
        if (level_at(line, x) >= ground - LEVEL).all():
            yield step.fault(f"dig.{name}", f"{_metres(level_at(line, x).max())}, not below the ground there, {_metres(ground.max())}",
                             "a level below the ground", f"Dig deeper; to raise the ground use backfill; {UPWARDS}.")


def _dig_faults(step: Step):
    for name in step.stage.dig:
        if name == EVERYWHERE:
            continue
        for wall in walls_of(step.case, name):
            if wall not in step.after.toes:
                yield step.fault(f"dig.{name}", f"wall '{wall}', which does not stand", "walls driven before the dig between them",
                                 "Drive it first; an open dig without walls is dig = { everywhere = [[x, level], ...] }.")


def _places(case: Case, name: str, line) -> np.ndarray:
    """Places x at which an earthwork within a cofferdam is compared with the ground: beside its ends, walls and corners."""
    left, right, _ = extent(case)
    x0, x1 = {**cofferdams(case), EVERYWHERE: (left, right)}[name]
    corners = [x for x, _ in (*line, *surface(case))] + [w.x for w in case.walls]
    x = np.concatenate([np.linspace(x0, x1, 41), *([c - 10 * BESIDE, c + 10 * BESIDE] for c in corners)])
    return np.unique(np.clip(x, x0 + 10 * BESIDE, x1 - 10 * BESIDE))


def _toe_faults(step: Step):
    """A wall whose toe is laid bare on one side."""
    if "dig below toe" in step.stage.declared or not (step.stage.dig or step.stage.drive):
        return
    for wall, toe in step.after.toes.items():
        ground = step.ground_beside(wall).min()
        unchanged = wall in step.before.toes and ground == step.ground_beside(wall, step.before).min() and toe == step.before.toes[wall]
        if ground <= toe and not unchanged:
            key = next((f"dig.{n}" for n in step.stage.dig if n == EVERYWHERE or wall in walls_of(step.case, n)), f"drive.{wall}")
            yield step.fault(key, f"ground at {_metres(ground)} beside wall '{wall}' with its toe at {_metres(toe)}", "a toe below the dig",
                             "Drive deeper or dig less; if it is meant so, declared = [\"dig below toe\"].")


def _bottom_faults(step: Step, bottom: float):
    for name, drive in step.stage.drive.items():
        if drive.toe <= bottom:
            yield step.fault(f"drive.{name}", _metres(drive.toe), f"a toe above the bottom of the section, {_metres(bottom)}",
                             "Lower section.bottom_level.")
    for name, line in step.stage.dig.items():
        if min(y for _, y in line) <= bottom:
            yield step.fault(f"dig.{name}", _metres(min(y for _, y in line)), f"a level above the bottom of the section, {_metres(bottom)}",
                             "Lower section.bottom_level.")


def _bearing_faults(step: Step, verb: str, item, level: float):
    """What a frame or slab needs when it is put in place: its walls stand, and reach from above its level to below it."""
    for wall in item.between:
        if wall != AXIS and wall not in step.after.toes:
            yield step.fault(verb, f"'{item.name}' against wall '{wall}', which does not stand", "standing walls", "Drive the wall first.")
        elif wall != AXIS and level <= step.after.toes[wall]:
            yield step.fault(verb, f"'{item.name}' at {_metres(level)}, below the toe of wall '{wall}' {_metres(step.after.toes[wall])}",
                             "a level above the toe", "Raise it or drive deeper.")


def _frames(step: Step, names):
    return [f for f in step.case.frames if f.name in names]


def _fit_faults(step: Step):
    for frame in _frames(step, step.stage.fit):
        if frame.name in step.before.frames or step.stage.fit.count(frame.name) > 1:
            yield step.fault("fit", f"'{frame.name}' fitted twice", "one fitting", "Remove it from the list, or remove the frame before.")
        if frame.name in step.stage.remove:
            yield step.fault("remove", f"'{frame.name}' fitted in the same stage", "one or the other", "Make two stages of it.")
            continue
        yield from _bearing_faults(step, "fit", frame, frame.level)
        stands = all(w == AXIS or w in step.after.toes for w in frame.between)
        if stands and frame.level <= step.ground_between(frame.between) and "frame below dig" not in step.stage.declared:
            yield step.fault("fit", f"'{frame.name}' at {_metres(frame.level)}, in ground at {_metres(step.ground_between(frame.between))}",
                             "a frame above the dig",
                             "Dig below its level first; if it is meant so, declared = [\"frame below dig\"].")


def _preload_faults(step: Step):
    for name in step.stage.pressurise:
        state = step.before.frames.get(name)
        if state is None and name not in step.stage.fit:
            yield step.fault(f"pressurise.{name}", "a frame that is not fitted", "a fitted frame", f"fit = [\"{name}\"] in this stage or before.")
        if state == "locked":
            yield step.fault(f"pressurise.{name}", "a frame that is locked already", "a preload before the lock",
                             "Pressurise in an earlier stage or in the one that locks.")
        if name in step.stage.lock and step.stage.dig:
            yield step.fault("dig", f"a dig in the stage that pressurises and locks '{name}'", "the dig in a later stage",
                             "The lock holds what the preload has done; dig in the stage after.")


def _lock_faults(step: Step):
    for frame in _frames(step, step.stage.lock):
        state = step.before.frames.get(frame.name)
        if state is None and frame.name not in step.stage.fit:
            yield step.fault("lock", f"'{frame.name}', which is not fitted", "a fitted frame", f"fit = [\"{frame.name}\"] in this stage or before.")
        elif state == "locked" or step.stage.lock.count(frame.name) > 1:
            yield step.fault("lock", f"'{frame.name}' locked twice", "one lock", "Take it out of the list.")
        elif frame.name not in step.stage.fit:
            yield from _bearing_faults(step, "lock", frame, frame.level)


def _slab_faults(step: Step):
    for slab in step.case.slabs:
        if slab.name in step.stage.cast:
            bottom = slab.top_level - slab.thickness
            if slab.name in step.before.slabs:
                yield step.fault("cast", f"'{slab.name}' cast twice", "one casting", "Take it out of the list; `cure` changes its stiffness.")
            yield from _bearing_faults(step, "cast", slab, bottom)
            stands = all(w == AXIS or w in step.after.toes for w in slab.between)
            if stands and step.ground_between(slab.between) > bottom + LEVEL:
                yield step.fault("cast",
                                 f"'{slab.name}' with its underside at {_metres(bottom)}, in ground at {_metres(step.ground_between(slab.between))}",
                                 "a slab on or above the ground", "Dig to its underside first, or mend top_level and thickness.")
        if slab.name in step.stage.cure and slab.name not in (*step.before.slabs, *step.stage.cast):
            yield step.fault(f"cure.{slab.name}", "a slab that is not cast", "a cast slab", f"cast = [\"{slab.name}\"] before.")


def _remove_faults(step: Step):
    for name in step.stage.remove:
        if name not in (*step.before.frames, *step.before.slabs, *step.stage.fit):
            yield step.fault("remove", f"'{name}', which is not in place", "a frame fitted or a slab cast before",
                             "Take it out of the list, or fit it first.")


def _water_faults(step: Step):
    if step.after.water == step.before.water and step.after.toes == step.before.toes:
        return
    found, levels = zones(step.case), step.after.water
    key = "flood" if step.stage.flood else "water" if step.stage.water else "extract" if step.stage.extract else "drive"
    before = set(_unheld(step.case, step.before))
    for zone, other, level, beyond in _unheld(step.case, step.after):
        if not _sloping(step.case, step.after) and (zone, other, level, beyond) not in before:
            yield step.fault(key, f"{_level(level)} in '{zone}' beside {_level(beyond)} in '{other}', with no wall between",
                             "one level where no wall stands", "Drive the wall first, or bring the levels together.")
    for wall, top in ((w, step.walls[w].top_level) for w in step.after.toes):
        i = next(i for i, zone in enumerate(found) if zone.x1 == step.walls[wall].x)
        sides = [-np.inf if v is None else v for v in levels[i:i + 2]]
        if max(sides) > top + LEVEL and sides[0] != sides[1]:
            yield step.fault(key, f"water at {_metres(max(sides))}, above the top of wall '{wall}' {_metres(top)}", "water that the wall can hold",
                             "Raise top_level, or flood the other side too.")
    yield from _inside_above_outside(step, key)


def _inside_above_outside(step: Step, key: str):
    found, pits = zones(step.case), cofferdams(step.case)
    before, after = (_above_outside(found, pits, situation.water) for situation in (step.before, step.after))
    if "water inside above outside" in step.stage.declared:
        return
    for name, (level, outside) in after.items():
        if before.get(name) != (level, outside) and name not in step.stage.flood and "inside" not in step.stage.flood:
            yield step.fault(key, f"water at {_metres(level)} in '{name}', above {_metres(outside)} outside",
                             "water inside not above the water outside",
                             "Use flood = { inside = ... } if it is let in on purpose, or declared = [\"water inside above outside\"].")


def _above_outside(found, pits, levels) -> dict:
    """(level, level outside) by zone, where the water between walls stands above the higher of the outside levels."""
    outside = max((w for z, w in zip(found, levels) if z.name not in pits and w is not None), default=np.inf)
    return {z.name: (w, outside) for z, w in zip(found, levels) if z.name in pits and w is not None and w > outside + LEVEL}


def _load_faults(step: Step):
    for load in step.case.loads:
        if load.name in step.stage.load and (load.name in step.before.loads or step.stage.load.count(load.name) > 1):
            yield step.fault("load", f"'{load.name}' put on twice", "one time", "Take it out of the list, or set from_start = false.")
        if load.name in step.stage.unload and load.name not in step.before.loads:
            yield step.fault("unload", f"'{load.name}', which is not on", "a load put on before", "Take it out of the list, or load it first.")
        if load.name in step.stage.load and load.level is not None:
            ground = ground_level(step.case, step.after,
                                  np.array([load.x] * 2 if load.x is not None else [load.start + BESIDE, load.end - BESIDE])).max()
            if load.level > ground + LEVEL:
                yield step.fault("load", f"'{load.name}' at {_metres(load.level)}, above the ground at {_metres(ground)}",
                                 "a load on or in the ground", "Mend its level, or leave it out for the ground surface.")


def _load_inside_faults(case: Case):
    """Loads that stand where ground has been dug away between walls, told once for each load."""
    told, pits = set(), [(z.name, z.x0, z.x1) for z in zones(case) if z.name not in (OUTSIDE_LEFT, OUTSIDE_RIGHT)]
    for step in steps(case):
        for load in (l for l in case.loads if l.name in step.after.loads and l.name not in told):
            x0, x1 = (load.x, load.x) if load.x is not None else (load.start, load.end)
            for name, a, b in pits:
                x = np.clip([x0, x1], a + BESIDE, b - BESIDE)
                dug = (ground_level(case, step.after, x) < level_at(surface(case), x) - LEVEL).any()
                if x0 < b and x1 > a and dug and load.name not in told:
                    told.add(load.name)
                    if "load inside" not in step.stage.declared:
                        yield step.fault("load", f"'{load.name}' on dug ground in '{name}'", "loads outside the dig",
                                         "Move or unload it; if plant works inside, declared = [\"load inside\"].")
