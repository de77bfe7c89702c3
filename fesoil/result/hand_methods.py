"""What the finite elements and each simple method give for a wall, stage by stage, in the same words. A further method is a further entry of ``METHODS``."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Callable

import numpy as np

from fesoil.case.column import Column, column_beside
from fesoil.case.model import Case
from fesoil.case.sequence import Situation, dug_side
from fesoil.hand import envelopes
from fesoil.hand.envelopes import Envelope
from fesoil.hand.pressures import WallPressures, wall_pressures
from fesoil.hand.springs_staged import PINNED_TOE, StageByBeam, staged_beam
from fesoil.hand.staged import StageByHand, staged, supports
from fesoil.hand.statics import cut
from fesoil.result.base_in_clay import clay_strength
from fesoil.result.reading import Result

MOMENT_DUG, MOMENT_SOIL, SHEAR, DEFLECTION, TOE = "moment, dug face", "moment, soil face", "shear", "deflection", "toe"
LOAD = "load of "
UNITS = {MOMENT_DUG: "kN m/m", MOMENT_SOIL: "kN m/m", SHEAR: "kN/m", DEFLECTION: "mm", TOE: "m"}

LEAST_HEIGHT = 6.0
"""Depth of the cut [m] above which envelopes are set beside a result (after Peck 1969, from memory: most of the measured cuts were deeper)."""

BASE_MOVES = 5.14
"""Load over strength of the clay below a cut beyond which its base takes part and Henkel's envelope applies (FHWA-IF-99-015, from memory: 5.14 of its formula)."""

NOTHING_DRIVES = "nothing drives the wall towards the dig"


@dataclass(frozen=True)
class Given:
    """What one way of computing gives for a wall after a stage.

    ``numbers`` by quantity: moments with tension on one face and shear, all without sign; loads positive in compression; the greatest deflection towards the dig; ``TOE`` a level, by hand of the
    least toe that holds. What is not in it is not given; ``words`` say why, or by what rule the numbers are and what is to be borne in mind with them. ``curves`` "moment" and "deflection":
    levels (k,) [m] and values (k,) [kN m/m, mm].
    """

    numbers: dict[str, float]
    words: str = ""
    curves: dict[str, tuple[np.ndarray, np.ndarray]] = field(default_factory=dict)

    @property
    def has_numbers(self) -> bool:
        """Whether there is more than a least toe."""
        return bool(self.numbers.keys() - {TOE})


@dataclass(frozen=True)
class Method:
    """A simple method: ``short`` name for tables, ``words`` what it is; ``stages`` gives what it finds for a wall of a result, by number of the stage (1 is the first)."""

    short: str
    words: str
    stages: Callable[[Result, str], dict[int, Given]]


def unit_of(quantity: str) -> str:
    """Unit of a quantity."""
    return UNITS.get(quantity, "kN/m")


def stages_of(result: Result, wall: str) -> list[int]:
    """Numbers of the stages reached in which a wall stands."""
    return [i for i in range(1, len(result.records)) if wall in result.situations[i].toes]


def by_finite_elements(result: Result, wall: str) -> dict[int, Given]:
    """Numbers of the analysis for a wall; none in a stage without equilibrium."""
    lines, found = result.wall(wall).lines, {}
    bears = {p.name for p in (*result.case.frames, *result.case.slabs) if wall in p.between}
    for i in stages_of(result, wall):
        record, line = result.records[i], lines[i - 1]
        if not record.converged:
            found[i] = Given({}, "no equilibrium")
            continue
        numbers = of_moment(line.moment) | {SHEAR: float(np.abs(line.shear).max()), DEFLECTION: float(1e3 * line.deflection.max()), TOE: result.situations[i].toes[wall]}
        numbers |= {LOAD + name: load for name, load in record.frames.items() if name in bears}
        found[i] = Given(numbers, "", {"moment": (line.level, line.moment), "deflection": (line.level, 1e3 * line.deflection)})
    return found


def of_moment(moment) -> dict[str, float]:
    """Greatest moments with tension on the dug and on the soil face [kN m/m], from moments (n,) positive with tension on the dug face."""
    return {MOMENT_DUG: max(float(moment.max()), 0.0), MOMENT_SOIL: max(float(-moment.min()), 0.0)}


# ------------------------------------------------------------------------------------------------------------------------ limiting equilibrium


def of_stage(stage: StageByHand) -> Given:
    """Numbers of a stage by hand; none where the method cannot bear them out, but the least toe where only the wall is too short for it."""
    found = stage.balance
    if found is None or stage.words:
        return Given({}, stage.words)
    if not stage.stands:
        return Given({TOE: found.toe}, f"holds only with a toe at {found.toe:.2f} m, and it is at {stage.toe:.2f} m")
    numbers = of_moment(found.moment) | {SHEAR: float(np.abs(found.shear).max()), TOE: found.toe}
    numbers |= {LOAD + name: load for name, load in stage.loads.items()}
    return Given(numbers, stage.doubt, {"moment": (found.level, found.moment)})


def hinges(result: Result, wall: str) -> dict[int, Given]:
    """``staged`` with hinges at the frames and the head of water lost along a straight line round the toe."""
    return _by_hinges(staged(result.case, wall), stages_of(result, wall))


def _by_hinges(found: list[StageByHand], stages) -> dict[int, Given]:
    """What is given in stages by number, of those that hinges found anything for."""
    given = {stage.index: of_stage(stage) for stage in found}
    return {i: given.get(i, Given({}, NOTHING_DRIVES)) for i in stages}


def hinges_in_own_water(result: Result, wall: str) -> dict[int, Given]:
    """The same in the water pressure of the finite elements, stage by stage; what it would be below the driven toe is not known, and is taken as that at the toe."""
    if result.case.water is None:
        return hinges(result, wall)
    lines = {i: line for i, line in enumerate(result.water_on(wall), 1) if line}
    reached = replace(result.case, stages=result.case.stages[: len(result.stages)])
    return _by_hinges(staged(reached, wall, water={i: ((line.level, line.left), (line.level, line.right)) for i, line in lines.items()}), stages_of(result, wall))


# --------------------------------------------------------------------------------------------------------------------------------------- springs


def of_beam(stage: StageByBeam) -> Given:
    """Numbers of a wall on springs after a stage; none where it is not in balance. Its words may also be a doubt about the numbers."""
    line = stage.balance
    if line is None:
        return Given({}, stage.words)
    deflection = 1e3 * line.deflection
    numbers = of_moment(line.moment) | {SHEAR: float(np.abs(line.shear).max()), DEFLECTION: float(deflection.max())}
    numbers |= {LOAD + name: load for name, load in stage.loads.items() if name != PINNED_TOE}
    return Given(numbers, stage.words, {"moment": (line.level, line.moment), "deflection": (line.level, deflection)})


def springs(result: Result, wall: str) -> dict[int, Given]:
    """``staged_beam`` in water of a straight line round the toe."""
    stages = stages_of(result, wall)
    return {stage.index: of_beam(stage) for stage in staged_beam(result.case, wall) if stage.index in stages}


# ------------------------------------------------------------------------------------------------------------------------------------- envelopes


def envelope_loads(result: Result, wall: str) -> dict[int, Given]:
    """Frame loads by envelopes of measured ones, by tributary area, in ground of one kind beside a cut deeper than 6 m; water is added to sand."""
    found = {}
    for i in stages_of(result, wall):
        try:
            found[i] = by_envelope(result.case, result.situations[i], wall)
        except ValueError as error:
            found[i] = Given({}, str(error))
    return found


def by_envelope(case: Case, situation: Situation, name: str) -> Given:
    """Frame loads of a wall by envelope; raises ValueError where none applies."""
    pressures = wall_pressures(case, situation, name)
    wall, side = next(w for w in case.walls if w.name == name), dug_side(case, name)
    beside, before = (column_beside(case, situation, wall, s) for s in (-side, side))
    height, props = beside.ground - pressures.dig, supports(case, situation, name, pressures.dig)
    if height <= LEAST_HEIGHT:
        raise ValueError(f"envelopes are of cuts deeper than {LEAST_HEIGHT:g} m")
    if not props:
        raise ValueError("no frame bears")
    if beside.free > beside.ground or wall.top_level < beside.ground:
        raise ValueError("envelopes are of ground that the wall holds in full, without free water on it")
    depths = beside.ground - np.array(list(props.values()))
    envelope, water = _envelope(beside, before, pressures, height)
    loads = envelopes.frame_loads(envelope, depths) + envelopes.frame_loads(water, depths)
    return Given({LOAD + n: float(load) for n, load in zip(props, loads)}, envelope.name)


def _envelope(beside: Column, before: Column, pressures: WallPressures, height: float) -> tuple[Envelope, Envelope]:
    """Envelope of the ground beside a cut, and the net water pressure on the wall above the dig in the same form.

    Raises ValueError where the ground is neither all drained nor all clay in total stress.
    """
    face, front = pressures.retained, pressures.dug
    level, net = cut(face.level, face.water - front.water, pressures.dig)
    below_ground = level <= beside.ground
    water = Envelope("net water", beside.ground - level[below_ground], net[below_ground])
    edges, soils = beside.between(beside.ground, pressures.dig)
    share, kinds = -np.diff(edges) / height, [beside.case.soils[i] for i in soils]
    _, su = clay_strength(beside, beside.ground, pressures.dig)
    if all(map(beside.drains, kinds)):
        phi = float(share @ [soil.strength.friction_angle for soil in kinds])
        return envelopes.sand(height, np.interp(-pressures.dig, -face.level, face.effective) / height, phi), water
    if np.any(np.isnan(su)):
        raise ValueError("envelopes are of drained sand or of clay in total stress, not of both in one cut")
    unit_weight = np.interp(-pressures.dig, -face.level, face.vertical) / height
    return _clay_envelope(before, height, unit_weight, float(share @ su)), water


def _clay_envelope(before: Column, height, unit_weight, su) -> Envelope:
    """The one with the greatest force of those that apply: soft to medium clay from gamma H / su of 4, stiff clay up to 6, and Henkel's where the clay below the dig yields."""
    found = [envelopes.soft_clay(height, unit_weight, su)] if unit_weight * height >= 4 * su else []
    found += [envelopes.stiff_clay(height, unit_weight, su)] if unit_weight * height <= 6 * su else []
    edges, below = clay_strength(before, before.ground, before.ground - height)
    clay = np.cumprod(np.isfinite(below)).astype(bool)
    soft = clay & (unit_weight * height > BASE_MOVES * np.where(clay, below, np.inf))
    if np.any(soft):
        thickness = -np.diff(edges)[soft]
        found.append(envelopes.henkel(height, unit_weight, su, float(thickness @ below[soft] / thickness.sum()), float(thickness.sum())))
    return max(found, key=lambda envelope: envelope.total)


METHODS = (
    Method("hinges", "limiting equilibrium with hinges at the frames, free earth support below the lowest, water in a straight line round the toe", hinges),
    Method("FE water", "the same in the water pressures of the finite elements", hinges_in_own_water),
    Method("springs", "the wall as a beam on springs of ground that yield, stage after stage, water in a straight line round the toe", springs),
    Method("envelope", "envelopes of measured frame loads (Peck 1969; Henkel 1971), for cuts deeper than 6 m", envelope_loads),
)
"""The simple methods, the first of which is held against the analysis stage by stage."""
