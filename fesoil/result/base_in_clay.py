"""The base of a cut in clay beside a wall of a case, by hand: what lies where, handed to the plain formulae of ``fesoil.checks.base``."""

from __future__ import annotations

from math import inf

import numpy as np

from fesoil.case.column import Column, column_beside
from fesoil.case.model import Case
from fesoil.case.sequence import Situation, cofferdams, dug_side
from fesoil.case.soil import TOTAL_STRESS
from fesoil.case.stiffness import undrained_strength
from fesoil.checks.base import TERZAGHI_REACH, bjerrum_eide, terzaghi
from fesoil.checks.check import Check
from fesoil.hand.pressures import wall_pressures


def clay_strength(column: Column, high: float, low: float):
    """Levels (m + 1,) [m] between two levels, and the mean undrained strength (m,) [kPa] of clay in total stress in each interval, nan in all other ground."""
    edges, soils = column.between(high, low)
    middle, found = (edges[:-1] + edges[1:]) / 2, np.full(len(soils), np.nan)
    for i in {*soils.tolist()} - {-1}:
        soil = column.case.soils[i]
        if soil.drainage == TOTAL_STRESS and soil.strength is not None and not column.drains(soil):
            found[soils == i] = undrained_strength(soil, middle)[soils == i]
    return edges, found


def base_in_clay(case: Case, situation: Situation, name: str) -> tuple[Check, Check] | None:
    """Terzaghi's and Bjerrum and Eide's check of the cut before a wall; None where no clay in total stress lies at the floor, or nothing drives the ground towards the cut.

    The clay fails down to the depth that gives the least factor of each form: 0.7 of the width of the cut, or any change of the ground above that, at which other ground counts as firm.
    """
    wall, side = next(w for w in case.walls if w.name == name), dug_side(case, name)
    beside, before = (column_beside(case, situation, wall, s) for s in (-side, side))
    x0, x1 = cofferdams(case)[wall.cofferdam or name]
    width = (2 if case.section.half else 1) * (x1 - x0)
    depths, strengths = _below(before, TERZAGHI_REACH * width)
    height, load = beside.ground - before.ground, _load(case, situation, name)
    if not len(depths) or height <= 0 or load is None or load <= 0:
        return None
    edges, above = clay_strength(beside, beside.ground, before.ground)
    held = float(np.nansum(above * -np.diff(edges)) / height)
    length = wall.plan_length or inf
    by_terzaghi = [terzaghi(load, height, held, su, width, depth) for depth, su in zip(depths, strengths)]
    by_factor = [bjerrum_eide(load, height, su, width, length) for su in strengths]
    return min(by_terzaghi, key=lambda c: c.factor), min(by_factor, key=lambda c: c.factor)


def _below(column: Column, depth: float):
    """Depths (k,) [m] below the floor to which clay may fail, and its mean strength (k,) [kPa] down to each; empty where other ground lies at the floor."""
    edges, su = clay_strength(column, column.ground, column.ground - depth)
    last = int(np.argmax(np.isnan(su))) if np.any(np.isnan(su)) else len(su)
    steps = -np.diff(edges)[:last]
    depths = np.cumsum(steps)
    return depths, np.cumsum(su[:last] * steps) / depths


def _load(case: Case, situation: Situation, name: str) -> float | None:
    """Upright stress beside the cut at the level of its floor, with wide surcharge, less that of water on the floor [kPa]; None where the ground beside the wall has no limits."""
    try:
        found = wall_pressures(case, situation, name)
    except ValueError:
        return None
    behind, front = (np.interp(-found.dig, -face.level, face.vertical) for face in (found.retained, found.dug))
    return float(behind - front)
