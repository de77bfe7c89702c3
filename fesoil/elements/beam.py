"""Three-node Timoshenko beams: strain operator, forces and stiffness of all of them at once.

Nodes: end, end, middle; freedoms at a node: ux, uy, rotation (anticlockwise). Section strains and forces are
``[axial, curvature, shear]`` and ``[N, M, V]``; N is tension positive. Two integration points on everything: no locking, and a
tip-loaded cantilever is exact with one element (standard, e.g. Hughes 1987, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

POINTS = np.array([-1.0, 1.0]) / np.sqrt(3)


def shapes(s):
    """Quadratic shape functions at local places s in [-1, 1]: (k, 3)."""
    s = np.asarray(s, float)
    return np.column_stack([s * (s - 1) / 2, s * (s + 1) / 2, 1 - s**2])


def slopes(s):
    """Derivatives of the shape functions by s: (k, 3)."""
    s = np.asarray(s, float)
    return np.column_stack([s - 0.5, s + 0.5, -2 * s])


@dataclass(frozen=True)
class Beams:
    """Straight beam elements.

    ``nodes`` (m, 3); ``operator`` (m, 2, 3, 9) from the nine freedoms to section strains; ``weight`` (m, 2) [m];
    ``rigidity`` (m, 3): EA [kN/m], EI [kN m2/m], GA [kN/m]; ``capacity`` (m,) moment at which a hinge forms [kN m/m], infinite for none.
    """

    nodes: np.ndarray
    operator: np.ndarray
    weight: np.ndarray
    rigidity: np.ndarray
    capacity: np.ndarray

    def update(self, increment, section):
        """Section forces (m, 2, 3) and their tangents (m, 2, 3) after increments (m, 9) of the freedoms, from forces ``section``."""
        trial = section + self.rigidity[:, None] * np.einsum("eksi,ei->eks", self.operator, increment)
        tangent = np.repeat(self.rigidity[:, None], len(POINTS), axis=1)
        limit = self.capacity[:, None]
        hinged = np.abs(trial[..., 1]) >= limit * (1 - 1e-12)  # a hinge formed before counts as one at the start of a step
        trial[..., 1] = np.clip(trial[..., 1], -limit, limit)
        # a small share of EI is kept in the tangent of a hinge, so that a mechanism does not make the matrix singular
        tangent[..., 1] *= np.where(hinged, 1e-4, 1.0)
        return trial, tangent

    def hinging(self, increment, direction, section):
        """Shares (j,) of further increments ``direction`` (m, 9) at which a point begins or ceases to hinge, from ``increment`` and forces ``section``."""
        curvature = self.operator[:, :, 1]
        moment = section[..., 1] + self.rigidity[:, 1:2] * np.einsum("eki,ei->ek", curvature, increment)
        further = self.rigidity[:, 1:2] * np.einsum("eki,ei->ek", curvature, direction)
        limit = np.where(np.isfinite(self.capacity), self.capacity, np.nan)[:, None]
        with np.errstate(divide="ignore", invalid="ignore"):
            shares = np.stack([(limit - moment) / further, (-limit - moment) / further])
        return shares[np.isfinite(shares)]

    def forces(self, section):
        """Nodal forces (m, 9) of section forces (m, 2, 3)."""
        return np.einsum("eksi,eks,ek->ei", self.operator, section, self.weight)

    def stiffness(self, tangent):
        """Stiffness (m, 9, 9) with section tangents (m, 2, 3)."""
        return np.einsum("eksi,eks,ek,eksj->eij", self.operator, tangent, self.weight, self.operator)


def make_beams(points, nodes, rigidity, capacity) -> Beams:
    """Beams ``nodes`` (m, 3) on ``points`` (n, 2) with section rigidities (m, 3) and moment capacities (m,)."""
    span = points[nodes[:, 1]] - points[nodes[:, 0]]
    length = np.linalg.norm(span, axis=1)
    along = span / length[:, None]
    across = np.column_stack([-along[:, 1], along[:, 0]])
    m = len(nodes)
    operator = np.zeros((m, len(POINTS), 3, 3, 3))  # element, point, strain, node, freedom
    slope = slopes(POINTS)[None] * (2 / length)[:, None, None]
    operator[:, :, 0, :, :2] = slope[..., None] * along[:, None, None, :]
    operator[:, :, 1, :, 2] = slope
    operator[:, :, 2, :, :2] = slope[..., None] * across[:, None, None, :]
    operator[:, :, 2, :, 2] = -shapes(POINTS)
    weight = np.repeat(length[:, None] / 2, len(POINTS), axis=1)
    return Beams(nodes, operator.reshape(m, len(POINTS), 3, 9), weight, np.asarray(rigidity, float), np.asarray(capacity, float))


def at_nodes(section):
    """Section forces (m, 2, 3) at the integration points carried on linearly to the ends: (m, 2, 3)."""
    a, b = section[:, 0], section[:, 1]
    mean, half = (a + b) / 2, np.sqrt(3) * (b - a) / 2
    return np.stack([mean - half, mean + half], axis=1)
