"""Envelopes of strut loads measured in braced cuts, drawn as apparent pressures.

The coefficients named ``Peck 1969`` are from memory; the benchmarks hold two of the envelopes against worked examples that were re-read. They bound loads of struts over many sites and are no pressure on any one wall; water is added to those for sand. The measured cuts were mostly deeper than 6 m: for shallower ones an outside
check and no more.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fesoil.hand.coefficients import rankine_active
from fesoil.hand.statics import force_between, simple_spans

LEAST_HENKEL = 0.22
"""Least coefficient of Henkel's envelope (FHWA-IF-99-015, from memory)."""


@dataclass(frozen=True)
class Envelope:
    """Apparent pressure [kPa] by depth below the ground [m], linear between points (k,) from the ground down to the dig."""

    name: str
    depth: np.ndarray
    pressure: np.ndarray

    @property
    def total(self) -> float:
        """Force of the whole envelope [kN/m]."""
        return float(np.trapezoid(self.pressure, self.depth))


def sand(height, unit_weight, phi) -> Envelope:
    """Drained sand, water added apart: even 0.65 Ka gamma H over the height H [m] (Peck 1969); ``phi`` [rad]."""
    pressure = 0.65 * rankine_active(phi) * unit_weight * height
    return Envelope("Peck 1969, sand", np.array([0.0, height]), np.array([pressure, pressure]))


def soft_clay(height, unit_weight, su, m=1.0) -> Envelope:
    """Soft to medium clay: the greater of gamma H - 4 m su and 0.3 gamma H, growing over the upper quarter and even below (Peck 1969).

    ``m`` 1, or 0.4 where soft clay goes on deep below the dig. Raises ValueError where gamma H / su is below 4: see ``stiff_clay``.
    """
    if unit_weight * height < 4 * su:
        raise ValueError(f"gamma H / su is {unit_weight * height / su:.1f}: the envelope of soft to medium clay begins at 4")
    return _ramped("Peck 1969, soft to medium clay", height, max(unit_weight * height - 4 * m * su, 0.3 * unit_weight * height))


def stiff_clay(height, unit_weight, su, share=0.4) -> Envelope:
    """Stiff fissured clay: 0.2 to 0.4 gamma H over the middle half, going to nothing at the ground and at the dig (Peck 1969).

    Raises ValueError where gamma H / su is above 6 (from 4 to 6 the greater of this and ``soft_clay``) or the share is not 0.2 to 0.4.
    """
    if unit_weight * height > 6 * su or not 0.2 <= share <= 0.4:
        raise ValueError(f"gamma H / su is {unit_weight * height / su:.1f}, share {share:g}: the envelope of stiff clay needs at most 6, and a share of 0.2 to 0.4")
    pressure = share * unit_weight * height
    return Envelope("Peck 1969, stiff clay", height * np.array([0, 0.25, 0.75, 1]), pressure * np.array([0.0, 1, 1, 0]))


def henkel(height, unit_weight, su, su_below, depth_below) -> Envelope:
    """Deep soft clay whose base moves: Ka = 1 - 4 su / (gamma H) + 2 sqrt 2 (d / H)(1 - 5.14 su_b / (gamma H)), at least 0.22 (Henkel 1971, FHWA-IF-99-015, from memory).

    ``su_below`` [kPa] strength and ``depth_below`` [m] depth d of the slip surface below the dig. The total force 0.5 Ka gamma H^2 is drawn with the shape of ``soft_clay``.
    """
    weight = unit_weight * height
    moved = max(1 - 5.14 * su_below / weight, 0.0)
    coefficient = max(1 - 4 * su / weight + 2 * np.sqrt(2) * depth_below / height * moved, LEAST_HENKEL)
    return _ramped("Henkel 1971, deep soft clay", height, coefficient * weight / 1.75)


def _ramped(name, height, pressure) -> Envelope:
    return Envelope(name, height * np.array([0, 0.25, 1]), pressure * np.array([0.0, 1, 1]))


def frame_loads(envelope: Envelope, depths):
    """Loads (n,) [kN/m] of frames at depths (n,) [m], from the top down, by tributary area: each to half way to its neighbours, the top one from the ground, the lowest to half way to the dig.

    What is left below goes to the ground. Raises ValueError where the depths are not in order within the cut.
    """
    depths, bottom = _within(envelope, depths), envelope.depth[-1]
    edges = np.append(0.0, (depths + np.append(depths[1:], bottom)) / 2)
    return force_between(-envelope.depth, envelope.pressure, -edges[:-1], -edges[1:])


def hinged_loads(envelope: Envelope, depths):
    """The same (n,) with the sheet as simple spans, hinged at each frame but the top and the lowest, which carry what lies beyond them (as in textbooks after Terzaghi and Peck 1967).

    The lowest frame carries the ground down to the dig. One frame carries everything.
    """
    depths = _within(envelope, depths)
    if len(depths) == 1:
        return np.array([envelope.total])
    ends = np.concatenate([[0.0], depths[1:-1], envelope.depth[-1:]])
    return simple_spans(-envelope.depth, envelope.pressure, -depths, -ends)


def _within(envelope, depths):
    """Depths as an array, if they are in order and within the cut."""
    depths = np.asarray(depths, float)
    if np.any(np.diff(depths) <= 0) or depths[0] < 0 or depths[-1] >= envelope.depth[-1]:
        raise ValueError("the depths of the frames must grow, within the cut")
    return depths
