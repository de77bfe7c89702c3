"""The column of ground at a place as it stands in a situation: what lies where, how much it weighs, and where along it something may bend or jump."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fesoil.case.model import Case, Wall
from fesoil.case.sequence import Situation, drains, ground_level, level_at, material_at, surface, zone_of
from fesoil.case.soil import DRAINED, Soil

BESIDE = 1e-6
"""Distance from the wall [m] at which its column is read."""

APART = 1e-9
"""Distance [m] within which levels are as good as one."""


@dataclass(frozen=True)
class Column:
    """Ground at a place, such as beside a wall.

    ``x`` place [m]; ``ground`` level of its surface [m]; ``free`` level of free water and ``table`` that of the water in the ground, minus infinity where dry [m].
    """

    case: Case
    situation: Situation
    x: float
    ground: float
    free: float
    table: float

    @property
    def gamma_w(self) -> float:
        """Unit weight of water [kN/m3], 0 in a dry case."""
        return self.case.water.unit_weight if self.case.water else 0.0

    def soils(self, level):
        """Index of the soil (m,) in each interval of levels (m + 1,), from its middle; -1 where there is none."""
        middle = (level[:-1] + level[1:]) / 2
        return material_at(self.case, self.situation, np.full(middle.shape, self.x), middle)

    def between(self, high: float, low: float):
        """Levels (m + 1,) [m] from ``high`` down to ``low`` between which one ground lies, and the index of its soil (m,), -1 for none."""
        edges = merged([high, low, *(y for y in self.bends() if low < y < high)])
        return edges, self.soils(edges)

    def layers(self, high: float, low: float):
        """The same with neighbouring intervals of one soil taken together."""
        edges, soils = self.between(high, low)
        starts = np.append(True, soils[1:] != soils[:-1])[: len(soils)]
        return np.append(edges[:-1][starts], edges[-1]), soils[starts]

    def drains(self, soil: Soil) -> bool:
        """Whether water moves freely through a soil by now."""
        return drains(soil, self.situation)

    def weight(self, level):
        """Total upright stress (m + 1,) [kPa] at levels from above all ground and water down, with free water."""
        depth, middle = -np.diff(level), (level[:-1] + level[1:]) / 2
        table, unit = self.table, np.where(middle < self.free, self.gamma_w, 0.0)
        for i in np.unique(material := self.soils(level)):
            if i >= 0:
                soil, here = self.case.soils[i], material == i
                wet = (middle < table) | (soil.drainage != DRAINED)
                unit[here] = np.where(wet, soil.unit_weight.saturated, soil.unit_weight.moist)[here]
        return np.concatenate([[0.0], np.cumsum(unit * depth)])

    def bends(self) -> list[float]:
        """Levels [m] at which the ground, its strength or the water changes."""
        case, lines = self.case, [surface(self.case), *(layer.top for layer in self.case.layers)]
        outlines = [block.outline for block in case.blocks] + [w.line for w in self.situation.earthworks if w.is_outline]
        lines += [w.line for w in self.situation.earthworks if not w.is_outline]
        levels = [self.ground, self.free, self.table, *(float(level_at(line, self.x)) for line in lines)]
        levels += [y for outline in outlines for y in _crossings(outline, self.x)]
        return [y for y in levels + [y for soil in case.soils for y in _strength_bends(soil)] if np.isfinite(y)]


def merged(levels):
    """Levels in order from the top down, those that are as good as one put together."""
    levels = np.sort(levels)[::-1]
    return levels[np.append(True, -np.diff(levels) > APART)]


def column_beside(case: Case, situation: Situation, wall: Wall, side: int) -> Column:
    """Column on the left (-1) or right (+1) of a wall."""
    return column_at(case, situation, wall.x + side * BESIDE)


def column_at(case: Case, situation: Situation, x: float) -> Column:
    """Column at a place x [m]."""
    zone = int(zone_of(case, x))
    free, table = (-np.inf if levels[zone] is None else levels[zone] for levels in (situation.water, situation.ground_water))
    return Column(case, situation, x, float(ground_level(case, situation, x)), free, table)


def _crossings(outline, x) -> list[float]:
    """Levels [m] at which a closed outline crosses a plumb line."""
    first = np.asarray(outline, float)
    last = np.roll(first, -1, axis=0)
    hit = (first[:, 0] < x) != (last[:, 0] < x)
    (x0, y0), (x1, y1) = first[hit].T, last[hit].T
    return list(y0 + (x - x0) / (x1 - x0) * (y1 - y0))


def _strength_bends(soil: Soil) -> list[float]:
    """Levels [m] where strength begins to grow, and where it grows beyond its least value."""
    given = soil.strength
    if given is None or given.at_level is None:
        return []
    value = given.undrained_strength if given.undrained_strength is not None else given.effective_cohesion
    late = [given.at_level - (given.smallest - value) / given.per_metre_depth] if given.per_metre_depth > 0 and given.smallest > value else []
    return [given.at_level, *late]
