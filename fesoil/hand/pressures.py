"""Earth and water pressure on the two faces of a wall, level by level, in a situation of a case.

What the method assumes: each face feels its own column of ground as it is dug now, as if the ground were level on that side and no other wall near; earth pressure lies between its active and its
passive limit (closed form of Lancellotta 2002); friction on the wall holds the ground up on the active and down on the passive side.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fesoil.case.column import Column, column_beside, merged
from fesoil.case.model import Case, Load, Wall
from fesoil.case.sequence import Situation, dug_side, ground_level
from fesoil.hand.limits import Choice, Limits, Stress, earth_limits
from fesoil.hand.loads import line_pressure, strip_pressure
from fesoil.hand.water import STRAIGHT_LINE, heads

STEP = 0.1
"""Greatest distance [m] between levels: pressures of strips and lines are curved."""

WIDE = 0.1
"""A strip that begins nearer to the wall than this share of the depth from the load to the toe, and reaches further than that depth, is a surcharge on all of the ground (a rule of ours)."""


@dataclass(frozen=True)
class FacePressure:
    """Pressures on one face, all (n,) [kPa], compression positive, at levels (n,) [m] from the top of the wall to its toe; each level stands twice, so that pressure may jump there.

    ``vertical`` total upright stress in the ground, with wide surcharge; ``water`` on the wall; ``active``, ``at_rest`` and ``passive`` earth pressure: effective where water moves freely, total in
    undrained ground, where ``water`` is 0. Active and at-rest hold the pressure of loads; the passive one counts on none.
    """

    level: np.ndarray
    vertical: np.ndarray
    water: np.ndarray
    active: np.ndarray
    at_rest: np.ndarray
    passive: np.ndarray

    @property
    def effective(self) -> np.ndarray:
        """Upright stress (n,) [kPa]: effective where water moves freely, total in undrained ground."""
        return self.vertical - self.water


@dataclass(frozen=True)
class WallPressures:
    """Both faces of a wall at the same levels; ``dug_side`` -1 where the dig is on the left, +1 on the right; ``dig`` level of the ground there, ``toe`` that of the toe [m]."""

    left: FacePressure
    right: FacePressure
    dug_side: int
    dig: float
    toe: float

    @property
    def dug(self) -> FacePressure:
        """The face towards the dig."""
        return self.left if self.dug_side < 0 else self.right

    @property
    def retained(self) -> FacePressure:
        """The other face."""
        return self.right if self.dug_side < 0 else self.left


def wall_pressures(case: Case, situation: Situation, name: str, water=STRAIGHT_LINE, choice: Choice = Choice()) -> WallPressures:
    """Pressures on a wall.

    Parameters
    ----------
    name : str
        Name of a wall that stands in the situation.
    water : str or pair of pairs
        ``AT_REST`` or ``STRAIGHT_LINE`` of ``fesoil.hand.water``, or (levels, pressures) [m, kPa] on the left and on the right face.

    Raises
    ------
    NoLimits
        There is ground without strength beside the wall (elastic materials have no limits).
    ValueError
        The wall does not stand, or the way of the water is unknown.
    """
    wall = next((w for w in case.walls if w.name == name), None)
    if wall is None or name not in situation.toes:
        raise ValueError(f"wall {name!r} does not stand in {situation.name!r}")
    toe, columns = situation.toes[name], tuple(column_beside(case, situation, wall, side) for side in (-1, 1))
    edges = _edges(columns, wall.top_level, toe, [] if isinstance(water, str) else [level for level, _ in water])
    _, kinks = _both(wall, columns, toe, edges, water, choice)
    faces, _ = _both(wall, columns, toe, merged([*edges, *kinks]), water, choice)
    side = dug_side(case, name)
    return WallPressures(*faces, side, columns[(side + 1) // 2].ground, toe)


def _edges(columns, top, toe, more):
    """Levels (m,) [m] from above all ground and water down to the toe: wherever something changes, and ``STEP`` apart along the wall."""
    even = top - STEP * np.arange(1, np.ceil((top - toe) / STEP))
    bends = np.concatenate([[top, toe], even, *(c.bends() for c in columns), *more])
    return merged(bends[bends >= toe])


def _both(wall: Wall, columns, toe, edges, water, choice: Choice):
    """Pressures on both faces, and the levels between edges at which an active pressure is cut off."""
    level = np.repeat(edges, 2)[1:-1]
    if isinstance(water, str):
        pores = [c.gamma_w * np.maximum(head - level, 0.0) for c, head in zip(columns, heads(columns, toe, water, edges))]
    else:
        pores = [np.interp(level, *_rising(*given)) for given in water]
    low, kinks, faces = min(c.ground for c in columns), [], []
    for column, share, side, pore in zip(columns, wall.friction_share, (-1, 1), pores):
        stress, load = _stress(column, edges, level, pore), np.zeros(level.shape)
        for given in (g for g in column.case.loads if g.name in column.situation.loads):
            surcharge, pressure = _load(column, given, side * np.array(_ends(given)) - side * wall.x, low, toe, level)
            stress, load = stress._replace(surcharge=stress.surcharge + surcharge), load + pressure
        limits = earth_limits(column, share, choice, stress)
        kinks += _crossings(level, limits.pull - limits.floor)
        faces.append(_face(wall, stress, limits, load))
    return faces, kinks


def _rising(level, pressure):
    """Levels and pressures in the order of growing levels."""
    order = np.argsort(level, kind="stable")
    return np.asarray(level, float)[order], np.asarray(pressure, float)[order]


def _stress(column: Column, edges, level, pore) -> Stress:
    """Stress in a column at levels that each stand twice; above the ground the pore pressure is that of free water."""
    material = np.repeat(column.soils(edges), 2)
    total = np.repeat(column.weight(edges), 2)[1:-1]
    free = column.gamma_w * np.maximum(column.free - level, 0.0)
    return Stress(level, material, total, np.zeros(level.shape), np.where(material >= 0, pore, free))


def _face(wall: Wall, stress: Stress, limits: Limits, load) -> FacePressure:
    """What of a column lies along the wall."""
    on = np.repeat(stress.level[::2] <= wall.top_level, 2)
    upright = stress.total + stress.surcharge
    return FacePressure(*(values[on] for values in (stress.level, upright, limits.water, limits.active + load, limits.at_rest + load, limits.passive)))


def _crossings(level, values) -> list[float]:
    """Levels at which values (n,), linear between the two ends of each interval, change their sign within one."""
    (y0, y1), (a, b) = level.reshape(-1, 2).T, values.reshape(-1, 2).T
    hit = a * b < 0
    return list(y0[hit] + (y1 - y0)[hit] * a[hit] / (a - b)[hit])


# ------------------------------------------------------------------------------------------------------------------------------ loads


def _ends(load: Load) -> tuple[float, float]:
    """Both ends of a strip [m]; the place of a line load twice."""
    return (load.x, load.x) if load.force is not None else (load.start, load.end)


def _load(column: Column, load: Load, ends, low, toe, level):
    """Wide surcharge and pressure (n,) [kPa] that a load lays on a face, from the distances (2,) [m] of its ends, positive on the side of the face; ``low`` level of the lower ground [m]."""
    near, far = max(ends.min(), 0.0), ends.max()
    nothing = np.zeros(level.shape)
    if far <= 0:
        return nothing, nothing
    at = load.level if load.level is not None else float(ground_level(column.case, column.situation, sum(_ends(load)) / 2))
    depth, below = at - level, np.repeat((at - level)[1::2] > 0, 2)
    if load.force is not None:
        height = at - low if at - low > 1e-6 else at - toe
        return nothing, line_pressure(load.force, near, height, depth)
    if near < WIDE * (at - toe) and far > at - toe:
        return np.where(below, load.amount, 0.0), nothing
    return nothing, np.where(below, strip_pressure(load.amount, near, far, depth), 0.0)
