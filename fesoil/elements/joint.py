"""Zero-thickness joints between soil and wall, as pairs of nodes with a share of the wall's length.

Nodal (Simpson) integration makes each pair an independent point spring: no traction oscillation, and an at-rest start in exact
balance. At a pair ``gap`` is the movement of the soil away from the wall [m] and ``slip`` that of the soil along it [m]; tractions are
``[normal, shear]`` [kPa], normal tension positive.

Normal: elastic in the total gap, so that a joint that opened closes again at the same place; no tension. Shear: elastic and perfectly plastic,
|shear| <= adhesion + pressure tan(friction); an open joint carries none. Coulomb 1776; Goodman, Taylor and Brekke 1968 (both from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

RESIDUAL = 1e-3
"""Share of the stiffness kept in the tangent, never in the traction, of joints that are open or slide."""


@dataclass(frozen=True)
class Joints:
    """Pairs of nodes.

    ``soil``, ``wall`` (k,) nodes; ``normal`` (k, 2) unit vector from wall to soil; ``area`` (k,) share of the length [m];
    ``stiffness`` (k, 2) normal and shear [kN/m3]; ``adhesion`` (k,) [kPa]; ``tan_friction`` (k,);
    ``gap_pressure`` (k,) pressure of water that would stand in a gap [kPa], beyond the pore pressure already counted.
    """

    soil: np.ndarray
    wall: np.ndarray
    normal: np.ndarray
    area: np.ndarray
    stiffness: np.ndarray
    adhesion: np.ndarray
    tan_friction: np.ndarray
    gap_pressure: np.ndarray

    @property
    def along(self):
        """Unit vectors along the wall (k, 2)."""
        return np.column_stack([-self.normal[:, 1], self.normal[:, 0]])

    def update(self, movement, normal_elastic, shear):
        """Tractions after a relative movement of soil against wall.

        Parameters
        ----------
        movement : array (k, 2)
            Increment of the soil's displacement less the wall's [m], in x and y.
        normal_elastic : array (k,)
            Normal traction that the gap would give without the tension limit [kPa]; this is the memory of the gap.
        shear : array (k,)
            Shear traction before [kPa].

        Returns
        -------
        traction (k, 2), tangent (k, 2, 2), normal_elastic (k,)
            Tangent by [gap, slip].
        """
        k_n, k_s = self.stiffness.T
        elastic = normal_elastic + k_n * np.einsum("kd,kd->k", movement, self.normal)
        trial = shear + k_s * np.einsum("kd,kd->k", movement, self.along)
        is_open = elastic > -self.gap_pressure
        normal = np.where(is_open, -self.gap_pressure, elastic)
        limit = np.where(is_open, 0.0, self.adhesion + np.maximum(-normal - self.gap_pressure, 0.0) * self.tan_friction)
        slides = np.abs(trial) > limit
        tangent = np.zeros((len(elastic), 2, 2))
        tangent[:, 0, 0] = np.where(is_open, RESIDUAL, 1.0) * k_n
        tangent[:, 1, 1] = np.where(slides, RESIDUAL, 1.0) * k_s
        tangent[:, 1, 0] = np.where(slides & ~is_open, -np.sign(trial) * self.tan_friction * k_n, 0.0)
        return np.column_stack([normal, np.clip(trial, -limit, limit)]), tangent, elastic

    def forces(self, traction):
        """Forces (k, 2) with which the pairs' tractions hold the soil back; the wall feels the opposite."""
        return self.area[:, None] * (traction[:, :1] * self.normal + traction[:, 1:] * self.along)

    def stiffness_blocks(self, tangent):
        """Stiffness (k, 2, 2) by the relative movement in x and y, with tangents (k, 2, 2) by [gap, slip]."""
        frame = np.stack([self.normal, self.along], axis=1)
        return self.area[:, None, None] * np.einsum("kai,kab,kbj->kij", frame, tangent, frame)


SIMPSON = np.array([1, 1, 4]) / 6
"""Shares of a three-node edge that go to its nodes: end, end, middle."""


def simpson(lengths):
    """Lengths of three-node edges (m,) shared out to their nodes: (m, 3)."""
    return np.asarray(lengths)[:, None] * SIMPSON
