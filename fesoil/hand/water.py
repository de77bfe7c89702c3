"""Water pressure on the two faces of a wall without finite elements: at rest on each side, or with the head lost evenly on the path round the toe."""

from __future__ import annotations

import numpy as np

from fesoil.case.column import Column

AT_REST, STRAIGHT_LINE = "at rest on each side", "straight line round the toe"


def heads(columns: tuple[Column, Column], toe: float, way: str, edges):
    """Head (2, 2 m) [m] of the water in the ground on the left and the right face at both ends of each interval between edges (m + 1,) down to a toe [m]; minus infinity on a dry side.

    By the straight line the head falls evenly along the wall, from the lower of table and ground on one side to that on the other (from memory: the usual rule; it may be unsafe for the lift
    inside a narrow pit). Undrained ground on the path seals it: nothing flows, and beneath the lowest seal of a side stands the level of the open side, else the higher of the two.
    Raises ValueError for a way that is none of the two.
    """
    if way not in (AT_REST, STRAIGHT_LINE):
        raise ValueError(f"water pressure {way!r}: it is {AT_REST!r}, {STRAIGHT_LINE!r}, or levels and pressures for each face")
    tables = np.array([c.table for c in columns])
    level, middle = np.repeat(edges, 2)[1:-1], np.repeat((edges[:-1] + edges[1:]) / 2, 2)
    still = np.tile(tables[:, None], len(level))
    if way == AT_REST or not np.all(np.isfinite(tables)):
        return still
    seals = np.array([_seal(column, toe) for column in columns])
    if np.any(np.isfinite(seals)):
        open_sides = tables[np.isneginf(seals)]
        beneath = open_sides[0] if len(open_sides) else tables.max()
        return np.where(middle < seals[:, None], beneath, still)
    starts = np.array([max(min(c.table, c.ground), toe) for c in columns])
    path = starts - toe
    share = path[0] / path.sum() if path.sum() > 0 else 0.5
    at_toe = tables[0] + (tables[1] - tables[0]) * share
    run = np.clip((starts[:, None] - level) / np.maximum(path, BARE)[:, None], 0, 1)
    return still + (at_toe - still) * run


BARE = 1e-9
"""Length [m] below which a path is none."""


def _seal(column: Column, toe: float) -> float:
    """Level [m] of the underside of the lowest undrained ground that the column meets above a toe, as far as it is known (not below the toe); minus infinity for none."""
    if column.ground <= toe:
        return -np.inf
    edges, soils = column.between(column.ground, toe)
    tight = [i >= 0 and not column.drains(column.case.soils[i]) for i in soils]
    return float(edges[1:][tight].min()) if any(tight) else -np.inf
