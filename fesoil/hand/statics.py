"""Forces and moments of pressures that are linear between levels, and jump where a level stands twice. Exact: parabolas for forces, cubics for moments."""

from __future__ import annotations

import numpy as np


def running(level, pressure):
    """Force (n,) [kN/m] and its moment about the level itself (n,) [kN m/m] of all pressure above each level.

    ``level`` (n,) [m] from the top down, ``pressure`` (n,) [kPa]. The moment is the double integral of the pressure over depth.
    """
    depth = -np.diff(level)
    above, below = pressure[:-1], pressure[1:]
    force = _summed(depth * (above + below) / 2)
    moment = _summed(depth * force[:-1] + depth**2 * (2 * above + below) / 6)
    return force, moment


def _summed(steps):
    return np.concatenate([[0.0], np.cumsum(steps)])


def cut(level, values, end):
    """Levels (m,) and values (m, ...) down to a level ``end`` within them, and no further."""
    stay = level > end
    last = int(stay.sum())
    if last == len(level):
        return level, values
    if last == 0:
        return level[:1], values[:1]
    high, low = level[last - 1], level[last]
    at_end = values[last - 1] + (values[last] - values[last - 1]) * (high - end) / (high - low)
    return np.append(level[:last], end), np.concatenate([values[:last], at_end[None]])


def from_level(level, values, start):
    """Levels (m,) and values (m, ...) from a level ``start`` down."""
    turned, kept = cut(-level[::-1], values[::-1], -start)
    return -turned[::-1], kept[::-1]


def force_between(level, pressure, high, low):
    """Force (k,) [kN/m] of the pressure between levels ``high`` and ``low`` (k,) [m]."""

    def above(end):
        return running(*cut(level, pressure, end))[0][-1]

    return np.array([above(b) - above(a) for a, b in zip(high, low)])


def with_levels(level, values, extra):
    """The same levels and values (n, ...) with each of some further levels in it twice, so that something may jump there."""
    for y in extra:
        upper, lower = cut(level, values, y), from_level(level, values, y)
        level, values = np.concatenate([upper[0], lower[0]]), np.concatenate([upper[1], lower[1]])
    return level, values


def simple_spans(level, pressure, props, ends):
    """Loads (k,) [kN/m] of props at levels (k,) [m] under simple spans: span i (of k - 1) rests on props i and i + 1 and carries the pressure between ``ends`` i and i + 1 (k,) [m]."""
    force, moment = np.array([[at[-1] for at in running(*cut(level, pressure, end))] for end in ends]).T
    about_zero = np.diff(moment + force * ends)  # moment about level 0, less that about the end, is force times level
    force = np.diff(force)
    lower = (force * props[:-1] - about_zero) / (props[:-1] - props[1:])
    return np.append(force - lower, 0.0) + np.append(0.0, lower)
