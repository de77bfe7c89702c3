"""Pore pressure from the levels on each side of the walls, without a flow analysis.

Along each standing wall the head falls linearly on the path from one side round the toe to the other; below the toe it is constant, so the pressure
is continuous there. Between two walls it is interpolated; outside the outermost it returns to the outer level over ``FADE`` path lengths. An
approximation (two hydrostatic levels would be no equilibrium); the rule for the fade is ours. Zero above the water table: no suction.
Undrained ground on the path seals it: no head is lost, and what lies beneath the seal has the level of the side that is open to it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fesoil.case.model import Case
from fesoil.case.sequence import Situation, drains, ground_level, material_at, zones
from fesoil.case.soil import TOTAL_STRESS

FADE = 2.0
SAMPLES = 2001
"""Points at which a path along a wall is searched for impervious ground."""


@dataclass(frozen=True)
class _Wall:
    """Head [m] along a standing wall: levels, starts of the path (left, right), toe level, head at the toe; ``seals`` level of the underside of
    impervious ground on each side, minus infinity for none: with any there is no flow."""

    levels: tuple[float, float]
    starts: tuple[float, float]
    toe: float
    toe_head: float
    seals: tuple[float, float]

    def head(self, side, y):
        """Head on the left (0) or right (1) face at levels y."""
        level, start = self.levels[side], self.starts[side]
        if max(self.seals) > -np.inf:
            return np.where(y < self.seals[side], self._beneath(), level)
        run = np.clip((start - y) / max(start - self.toe, 1e-9), 0.0, 1.0)
        return level + (self.toe_head - level) * run

    def _beneath(self):
        """Level of the water beneath a seal: that of the side without one, else the higher."""
        open_sides = [level for level, seal in zip(self.levels, self.seals) if seal == -np.inf]
        return open_sides[0] if open_sides else max(self.levels)

    @property
    def path(self):
        """Length of the path round the toe [m]."""
        return sum(start - self.toe for start in self.starts)


def _wall(case: Case, situation: Situation, wall, left, right) -> _Wall | None:
    """The path round a wall; None where it does not stand or a side is dry."""
    if wall.name not in situation.toes or left is None or right is None:
        return None
    toe, beside = situation.toes[wall.name], np.array([wall.x - 1e-6, wall.x + 1e-6])
    starts = tuple(max(min(level, ground), toe) for level, ground in zip((left, right), ground_level(case, situation, beside)))
    lengths = [start - toe for start in starts]
    share = lengths[0] / sum(lengths) if sum(lengths) > 0 else 0.5
    seals = tuple(_seal(case, situation, x, start, toe) for x, start in zip(beside, starts))
    return _Wall((left, right), starts, toe, left + (right - left) * share, seals)


def _seal(case: Case, situation: Situation, x, start, toe) -> float:
    """Level [m] of the underside of the lowest impervious (undrained) ground that the path down to a toe meets at x; minus infinity for none."""
    bottom = min(toe, *(y for layer in case.layers for _, y in layer.top)) - 1.0
    y = np.linspace(start, bottom, SAMPLES)[1:]
    material = material_at(case, situation, np.full(len(y), x), y)
    tight = is_undrained(case, situation, material)
    met = np.flatnonzero(tight & (y > toe - 1e-6))
    if not len(met):
        return -np.inf
    beyond = np.flatnonzero(~tight[met[-1]:])
    return float(y[met[-1] + beyond[0]]) if len(beyond) else float(toe)


def head(case: Case, situation: Situation, zone, x, y):
    """Head [m] at points (n,) of zones (n,); minus infinity in a dry zone."""
    strips = zones(case)
    by_x = {w.x: w for w in case.walls}
    result = np.full(np.shape(x), -np.inf)
    for i, strip in enumerate(strips):
        chosen, level = zone == i, situation.ground_water[i]
        if level is None or not np.any(chosen):
            continue
        px, py = x[chosen], y[chosen]
        ends = []
        for j, edge, side in ((i - 1, strip.x0, 1), (i + 1, strip.x1, 0)):
            wall = by_x.get(edge)
            pair = (situation.ground_water[j], level) if side == 1 else (level, situation.ground_water[j]) if wall else None
            path = _wall(case, situation, wall, *pair) if wall else None
            ends.append((edge, path, path.head(side, py)) if path else None)
        result[chosen] = _between(level, ends, px, strip, case.section.half and i == 0)
    return result


def _between(level, ends, x, strip, from_axis):
    """Head between the two edges of a strip, each None (no flow there) or (x, path, head along its face)."""
    left, right = ends
    if left is None and right is None:
        return np.full(len(x), level)
    if left is not None and right is not None:
        share = (x - strip.x0) / (strip.x1 - strip.x0)
        return left[2] * (1 - share) + right[2] * share
    edge, path, along = left or right
    if from_axis:
        return along
    run = strip.x1 - strip.x0
    fade = np.clip(1 - np.abs(x - edge) / (run if np.isfinite(run) else max(FADE * path.path, 1e-9)), 0, 1)
    return level + (along - level) * fade


def pore_pressure(case: Case, situation: Situation, zone, x, y):
    """Pore pressure [kPa], compression positive, at points (n,) of zones (n,); not for total-stress layers, where it is zero."""
    if case.water is None:
        return np.zeros(np.shape(x))
    return case.water.unit_weight * np.maximum(head(case, situation, zone, x, y) - y, 0.0)


def is_pervious(case: Case, material):
    """Whether points of a material (n,) carry pore pressure: all soils but those in total stress, and nothing (-1) does not."""
    return np.array([s.drainage != TOTAL_STRESS for s in case.soils] + [False])[material]


def is_undrained(case: Case, situation: Situation, material):
    """Whether no water moves through points of a material (n,): undrained soils of both kinds, until they drain; not nothing (-1)."""
    return np.array([not drains(s, situation) for s in case.soils] + [False])[material]
