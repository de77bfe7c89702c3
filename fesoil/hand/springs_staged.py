"""A wall stage by stage as a beam on springs of ground that yield (a subgrade-reaction method): movement, moments and loads of frames that depend on stiffness and on what came before.

Each face has springs all along it. They begin with the pressure at rest of the first situation in which the wall stands there, and stay between the active and the passive limit
of the situation now (``hand.pressures``). From stage to stage a spring keeps its pressure; where the upright stress beside it changes, it changes by as much as the pressure at rest does, before
the wall moves: so fill comes at rest, ground that is dug out and filled again comes back to where it was, and the method needs no number of its own for unloading. Within a stage all acts at once.

What it leaves out: springs do not know of each other (no arching, no movement of the ground as a whole, so that movements are of the right order at best), of the wall at the other end of a frame
(which is taken to move alike), of hinges and of the shear of the sheets. Where the two faces differ before anything is dug (loads, slopes), the first stage moves the wall.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from fesoil.case.column import column_beside
from fesoil.case.frames import support_stiffness
from fesoil.case.model import Case, Wall
from fesoil.case.overburden import mean_pressure
from fesoil.case.sequence import Situation, dug_side, situations
from fesoil.case.soil import EFFECTIVE_STRESS, Soil
from fesoil.case.stiffness import working_modulus
from fesoil.hand.limits import Choice, NoLimits
from fesoil.hand.pressures import FacePressure, WallPressures, wall_pressures
from fesoil.hand.springs import Beam, NoBalance, Springs, find_balance, make_beam, pieces, section_forces, together
from fesoil.hand.staged import pit_within
from fesoil.hand.water import STRAIGHT_LINE

SIDES = np.array([-1.0, 1.0])
"""Left and right face: where the movement goes that loads its ground."""

MATCHED = 0.5 * 4 * (3 * np.sqrt(3) / 8) ** 4
"""Slope of the springs times the length c over the plane modulus, see ``slope_of_ground``."""

HARD = 1e6
"""Stiffness [kN/m2] with which a toe is held that is pinned to something hard: next to no movement."""

APART = 0.02
"""Distance [m] within which two props share a node: shorter pieces would lose the digits of the balance. Their loads act at their own levels all the same."""

LARGE = 0.02
"""Movement over the length of the wall beyond which it is said to be near its limit (common practice, no source)."""

PINNED_TOE = "pinned toe"


@dataclass(frozen=True)
class BeamLine:
    """A wall in balance, from the top down; each interval gives its upper and its lower end, all (k,).

    ``level`` [m]; ``deflection`` [m], towards the dig, since the wall was driven; ``earth`` and ``water`` (2, k) pressure on the left and the right face [kPa]; ``shear`` [kN/m] and ``moment``
    [kN m/m], positive with tension on the dug face, shear the slope of the moment with depth.
    """

    level: np.ndarray
    deflection: np.ndarray
    earth: np.ndarray
    water: np.ndarray
    shear: np.ndarray
    moment: np.ndarray

    @property
    def greatest(self) -> tuple[float, float]:
        """Moment that is greatest without regard to sign [kN m/m], and its level [m]."""
        k = int(np.argmax(np.abs(self.moment)))
        return float(self.moment[k]), float(self.level[k])


@dataclass(frozen=True)
class StageByBeam:
    """A wall after a stage: ``index`` and ``name`` of the situation; ``toe`` [m]; the ``balance``, None where none was found; ``loads`` [kN/m] by frame or slab, with the "pinned toe" of
    sheets that stopped on something hard. ``words`` say why there is no balance, or what the method cannot bear out."""

    index: int
    name: str
    toe: float
    balance: BeamLine | None
    loads: dict[str, float]
    words: str

    @property
    def stands(self) -> bool:
        """Whether the wall is in balance."""
        return self.balance is not None


class Prop(NamedTuple):
    """A frame, a slab or a pinned toe as a spring: ``level`` [m]; ``toward`` +1 or -1, where its other end lies; ``stiffness`` [kN/m2] by one wall's movement; ``held`` [kN/m] where the wall
    stands now, negative by what a gap would need to close; limits [kN/m]."""

    level: float
    toward: float
    stiffness: float
    held: float
    low: float = 0.0
    high: float = np.inf


class Memory(NamedTuple):
    """What a wall remembers: the situation; freedoms (2 n,) of the beam; earth pressure (2, p) and that at rest (2, p) at its points; ``held`` [kN/m] by prop that is a spring."""

    situation: Situation
    move: np.ndarray
    earth: np.ndarray
    at_rest: np.ndarray
    held: dict[str, float]


class Ground(NamedTuple):
    """Ground and water at the points of the beam (2, p) on the left and the right face: pressure at rest, the limits, water [kPa], slope of the springs [kPa/m]."""

    at_rest: np.ndarray
    low: np.ndarray
    high: np.ndarray
    water: np.ndarray
    slope: np.ndarray


def staged_beam(case: Case, wall: str, water=STRAIGHT_LINE, choice: Choice = Choice(), stiffness_factor=1.0) -> list[StageByBeam]:
    """A wall after each stage in which it stands.

    Parameters
    ----------
    water, choice
        As for ``wall_pressures``; the water may also be a dictionary of these by index of the situation. A strength factor acts from the first stage on.
    stiffness_factor : float
        Multiplies the slope of the ground's springs (``slope_of_ground``): half and double show what it matters.

    Raises
    ------
    ValueError
        There is no such wall, or the way of the water is unknown. A stage without balance, or beside ground without limits, raises nothing: it says so, and so do those after it.
    """
    given = next((w for w in case.walls if w.name == wall), None)
    if given is None:
        raise ValueError(f"the case has no wall {wall!r}")
    walk = [s for s in situations(case) if wall in s.toes]
    pressures = [_pressures(case, s, wall, water[s.index] if isinstance(water, dict) else water, choice) for s in walk]
    nodes, edges = _grid(case, given, walk, [p for p in pressures if isinstance(p, WallPressures)])
    found, memory, failed = [], None, None
    for situation, pressure in zip(walk, pressures):
        if failed:
            found.append(_without(given, situation, f"not worked out, for there is no balance in {failed!r} before"))
            continue
        if isinstance(pressure, NoLimits):
            found.append(_without(given, situation, str(pressure)))
            failed = situation.name
            continue
        if memory is not None and memory.situation.index + 1 < situation.index:
            memory = None  # pulled in between, and driven anew
        beam = make_beam(*(given.top_level - part[part >= pressure.toe] for part in (nodes, edges)), _bending_stiffness(given))
        try:
            stage, memory = _stage(case, given, situation, pressure, beam, memory, stiffness_factor)
        except NoBalance as error:
            stage, failed = _without(given, situation, str(error)), situation.name
        found.append(stage)
    return found


def _pressures(case, situation, wall, water, choice) -> WallPressures | NoLimits:
    """Pressures on a wall, or why there are none."""
    try:
        return wall_pressures(case, situation, wall, water, choice)
    except NoLimits as error:
        return error


def _without(wall: Wall, situation: Situation, words) -> StageByBeam:
    """A stage without balance."""
    return StageByBeam(situation.index, situation.name, situation.toes[wall.name], None, {}, words)


def _bending_stiffness(wall: Wall) -> float:
    return wall.sheet.EI * wall.sheet.stiffness_factor


def _grid(case: Case, wall: Wall, walk, pressures: list[WallPressures]):
    """Levels (n,) of the nodes and (m + 1,) of the edges [m] for all stages, from the top down: nodes at toes and props, edges there and wherever a pressure bends."""
    toes = [s.toes[wall.name] for s in walk]
    props = [f.level for f in case.frames if wall.name in f.between] + [_slab_level(s) for s in case.slabs if wall.name in s.between]
    props = [y for y in props if min(toes) < y < wall.top_level]
    corners = [wall.top_level, *toes]
    for y in props:
        if np.abs(np.array(corners) - y).min() > APART:
            corners.append(y)
    nodes = pieces(corners)
    return nodes[::-1], np.unique(np.concatenate([nodes, props, *(p.left.level for p in pressures)]))[::-1]


def _stage(case, wall: Wall, situation, pressure: WallPressures, beam: Beam, memory, factor) -> tuple[StageByBeam, Memory]:
    """One stage, and what is remembered of it."""
    ground = _ground(case, wall, situation, pressure, beam, factor)
    memory = _fresh(situation, ground, beam) if memory is None else _grown(memory, ground, beam)
    props = _props(case, wall, memory.situation, situation, memory.held)
    springs = together(*_faces(beam, ground, memory), _as_springs(wall, beam, props, memory.move))
    push = beam.shape.T @ (beam.length.ravel() * (ground.water[0] - ground.water[1]))
    move = find_balance(beam, springs, push, memory.move)
    count = ground.at_rest.size
    earth, loads = np.split(springs.press(move), [count])
    earth = earth.reshape(ground.at_rest.shape)
    held = np.minimum(springs.trial(move), springs.high)[count:]
    springy = {name: float(value) for (name, prop), value in zip(props.items(), held) if prop.stiffness > 0}
    line = _line(case, wall, beam, move, earth, ground.water, props, loads)
    stage = StageByBeam(situation.index, situation.name, pressure.toe, line, dict(zip(props, loads.tolist())), "; ".join(_doubts(case, wall, situation, line)))
    return stage, Memory(situation, move, earth, ground.at_rest, springy)


def _doubts(case, wall: Wall, situation: Situation, line: BeamLine):
    """What the method cannot bear out, in words."""
    if within := pit_within(case, situation, wall.name):
        yield within
    if np.abs(line.deflection).max() > LARGE * (wall.top_level - situation.toes[wall.name]):
        yield f"it moves by more than {LARGE:g} of its length: the ground that holds it is near its limit"
    if wall.sheet.moment_capacity and abs(line.greatest[0]) > wall.sheet.moment_capacity:
        yield "the moment passes the bending resistance of the sheets, which are taken as elastic"


def _line(case, wall: Wall, beam: Beam, move, earth, water, props, loads) -> BeamLine:
    """What is read of a wall in balance."""
    dug = dug_side(case, wall.name)
    net = dug * np.subtract(*(earth + water)).reshape(beam.depth.shape)
    against = loads * dug * np.array([p.toward for p in props.values()])
    shear, moment = section_forces(beam, net, np.array([wall.top_level - p.level for p in props.values()]), against)

    def ends(values):
        return values.reshape(*values.shape[:-1], -1, 3)[..., ::2].reshape(*values.shape[:-1], -1)

    level, deflection = wall.top_level - ends(beam.depth.ravel()), dug * ends(beam.shape @ move)
    return BeamLine(level, deflection, ends(earth), ends(water), shear.ravel(), moment.ravel())


# ------------------------------------------------------------------------------------------------------------------------------ ground


def slope_of_ground(plane_modulus, EI):
    """Slope of the springs [kPa/m]: E* / (2.81 c) with c = (2 EI / E*)^(1/3), for plane moduli E* = E / (1 - nu^2) (n,) [kPa] and a wall of ``EI`` [kN m2/m].

    The one with which an endless beam on springs (moment P / (4 lambda) under a line load P; Hetenyi 1946) has the moment that it has on an elastic half-plane, 2 P c / (3 sqrt(3)) (after Biot
    1937; both from memory). On walls, whose movement is not only local, it is a convention (common practice, no source): rules in use differ by several times either way.
    """
    return MATCHED * plane_modulus * np.cbrt(plane_modulus / (2 * EI))


def _plane_modulus(soil: Soil, drains: bool, p, level):
    """E / (1 - nu^2) [kPa] of the modulus at work, undrained where the soil does not drain (with the same shear modulus)."""
    now = soil.undrained_ratio if soil.drainage == EFFECTIVE_STRESS and not drains else soil.poisson_ratio
    return working_modulus(soil, p, level) / ((1 + soil.poisson_ratio) * (1 - now))


def _ground(case: Case, wall: Wall, situation, pressure: WallPressures, beam: Beam, factor) -> Ground:
    """Ground at the points; the passive limit, which counts on no loads, is nowhere below the active one, which holds them."""
    level, faces = wall.top_level - beam.depth, (pressure.left, pressure.right)
    at_rest, low, high, water = (np.array([_at(face, name, level) for face in faces]) for name in ("at_rest", "active", "passive", "water"))
    slope = np.array([_slopes(case, wall, situation, side, level) for side in (-1, 1)])
    return Ground(at_rest, low, np.maximum(low, high), water, factor * slope)


def _at(face: FacePressure, name, level):
    """Values (p,) of a face at points (m, 3) of intervals that lie within its own."""
    upper, lower = face.level[::2], face.level[1::2]
    k = np.clip(np.searchsorted(-lower, -level[:, 1]), 0, len(lower) - 1)
    above, below = (getattr(face, name)[part::2][k, None] for part in (0, 1))
    return (above + (below - above) * (upper[k, None] - level) / (upper - lower)[k, None]).ravel()


def _slopes(case: Case, wall: Wall, situation, side, level):
    """Slope (p,) [kPa/m] of the springs of a face at points (m, 3)."""
    column = column_beside(case, situation, wall, side)
    material = np.repeat(column.soils(np.append(level[:, 0], level[-1, 2])), 3)
    level, slope = level.ravel(), np.zeros(material.shape)
    for i in np.unique(material[material >= 0]):
        here, soil = material == i, case.soils[i]
        p = mean_pressure(case, np.full(here.sum(), column.x), level[here])
        slope[here] = slope_of_ground(_plane_modulus(soil, column.drains(soil), p, level[here]), _bending_stiffness(wall))
    return slope


def _faces(beam: Beam, ground: Ground, memory: Memory) -> list[Springs]:
    """Springs of both faces: the pressure that they had, changed by as much as that at rest."""
    start = memory.earth + ground.at_rest - memory.at_rest
    start = start - SIDES[:, None] * ground.slope * (beam.shape @ memory.move)
    length = beam.length.ravel()
    return [Springs(beam.shape, np.full(length.shape, side), length, *parts) for side, *parts in zip(SIDES, ground.slope, start, ground.low, ground.high)]


def _fresh(situation: Situation, ground: Ground, beam: Beam) -> Memory:
    """Memory of a wall that has just been driven: straight, at rest."""
    return Memory(situation, np.zeros(len(beam.stiffness)), ground.at_rest, ground.at_rest, {})


def _grown(memory: Memory, ground: Ground, beam: Beam) -> Memory:
    """Memory of a wall that may be longer now: what is new goes on straight, with the ground beside it at rest as it is now. A shorter one forgets the rest."""
    n, p = len(beam.stiffness), ground.at_rest.shape[1]
    old, known = memory.move[:n], min(p, memory.earth.shape[1])
    moved, turned = old[-2:]
    last = len(old) // 2
    further = beam.nodes[last:] - beam.nodes[last - 1]
    more = np.column_stack([moved + turned * further, np.full(further.shape, turned)]).ravel()
    earth, at_rest = (np.hstack([part[:, :known], ground.at_rest[:, known:]]) for part in (memory.earth, memory.at_rest))
    return memory._replace(move=np.concatenate([old, more]), earth=earth, at_rest=at_rest)


# ------------------------------------------------------------------------------------------------------------------------------ props


def _props(case: Case, wall: Wall, before: Situation, situation: Situation, held) -> dict[str, Prop]:
    """Frames, slabs and a pinned toe that act on a wall."""
    found = {}
    for frame in (f for f in case.frames if wall.name in f.between):
        acting = _frame(case, wall, situation, frame, held)
        found |= {frame.name: acting} if acting else {}
    for slab in (s for s in case.slabs if s.name in situation.slabs and wall.name in s.between):
        found[slab.name] = _slab(case, wall, before, situation, slab, held)
    if situation.stopped_short.get(wall.name) == "pinned":
        found[PINNED_TOE] = Prop(situation.toes[wall.name], dug_side(case, wall.name), HARD, held.get(PINNED_TOE, 0.0), -np.inf)
    return found


def _frame(case: Case, wall: Wall, situation: Situation, frame, held) -> Prop | None:
    """A frame that acts: with a constant load in stages in which it is pressurised, then as a spring with the load or the slack that it was locked with."""
    status, toward = situation.frames.get(frame.name), _toward(case, wall, frame)
    if status == "pressurised" or status and frame.name in case.stages[situation.index - 1].pressurise:
        load = situation.preload[frame.name]
        return Prop(frame.level, toward, 0.0, load, load, load)
    if status != "locked":
        return None
    k = support_stiffness(frame)
    return Prop(frame.level, toward, k, held.get(frame.name, situation.preload.get(frame.name, -frame.slack * k)), 0.0, frame.limit_load or np.inf)


def _slab(case: Case, wall: Wall, before: Situation, situation: Situation, slab, held) -> Prop:
    """A slab as a spring, by one wall's movement: the other end is the axis, or moves alike."""
    E, half = situation.slabs[slab.name].E, 0.5 if "axis" not in slab.between else 1.0
    k = E * slab.thickness / (half * abs(_other_end(case, wall, slab) - wall.x))
    load = held.get(slab.name, -slab.gap * k)
    cured = E / before.slabs[slab.name].E if slab.name in before.slabs and load < 0 else 1.0  # what a gap needs to close grows with the slab's stiffness
    return Prop(_slab_level(slab), _toward(case, wall, slab), k, load * cured)


def _slab_level(slab) -> float:
    return slab.top_level - slab.thickness / 2


def _other_end(case: Case, wall: Wall, prop) -> float:
    """Place [m] of the other end of a frame or slab; the axis is at 0."""
    other = prop.between[1 - prop.between.index(wall.name)]
    return next((w.x for w in case.walls if w.name == other), 0.0)


def _toward(case: Case, wall: Wall, prop) -> float:
    return float(np.sign(_other_end(case, wall, prop) - wall.x))


def _as_springs(wall: Wall, beam: Beam, props: dict[str, Prop], move) -> Springs:
    """Props as springs of the beam."""
    level, toward, stiffness, held, low, high = np.array([*props.values()], float).reshape(-1, 6).T
    rows = beam.at(wall.top_level - level)
    return Springs(rows, toward, np.ones(len(level)), stiffness, held - toward * stiffness * (rows @ move), low, high)
