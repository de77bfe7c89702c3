"""Isotropic linear elasticity, and what every soil law gives back.

A law takes the strain increment and the state of all its points and returns an ``Update``. Stress and strain are `[xx, yy, zz, xy]`, tension
positive, with the engineering shear strain; the strain along zz is zero in plane strain but may be anything.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np


ELASTIC, SHEAR, TENSION = 0, 1, 2  # what a point does in a step


class Update(NamedTuple):
    """What a law returns for n points (stress in kPa, effective).

    stress : (n, 4), to be put in equilibrium.
    tangent : (n, 4, 4), d stress / d increment, or None where it was not asked for.
    state : (n, parts, 4), what the point remembers once the step is accepted; the parts add up to its stress.
    yielded : (n,) int8, one of ELASTIC, SHEAR, TENSION.
    """

    stress: np.ndarray
    tangent: np.ndarray | None
    state: np.ndarray
    yielded: np.ndarray


def elastic_matrix(nu):
    """Elastic stiffness (4, 4) for E = 1 kPa, Poisson's ratio `nu` in (-1, 0.5)."""
    lame, G = nu / ((1 + nu) * (1 - 2 * nu)), 0.5 / (1 + nu)
    D = np.diag([2 * G, 2 * G, 2 * G, G])
    D[:3, :3] += lame
    return D


def elastic_stiffness(E, nu):
    """Elastic stiffness (n, 4, 4) in kPa of points with Young's moduli `E` (n,) and Poisson's ratios `nu` (n,) or one.

    In memory the points come last, so that sums and products over all of them are fast; so it is with every tangent.
    """
    G = 0.5 * E / (1 + nu)
    D = np.zeros((4, 4, len(E)))
    D[:3, :3] = 2 * G * nu / (1 - 2 * nu)
    D[[0, 1, 2], [0, 1, 2]] += 2 * G
    D[3, 3] = G
    return np.moveaxis(D, -1, 0)


@dataclass(frozen=True, eq=False)
class Elastic:
    """Linear elastic ground: `nu` one number, `E` (n,) in kPa. It never yields and has no strength to reduce."""

    nu: float
    E: np.ndarray

    def update(self, increment, state, theta=0.0, tangent=True):
        """Stress after the strain `increment` (n, 4) from `state` (n, 1, 4); `theta` changes nothing here."""
        stress = state[:, 0] + self.E[:, None] * (increment @ elastic_matrix(self.nu))
        D = elastic_stiffness(self.E, self.nu) if tangent else None
        return Update(stress, D, stress[:, None], np.full(len(stress), ELASTIC, np.int8))

    def split(self, stress):
        """State (n, 1, 4) in a stress of rest (n, 4)."""
        return stress[:, None]

    def mobilised(self, state):
        """Share of the strength in use (n,): none."""
        return np.zeros(len(state))

    def stiffness_left(self, state):
        """Share of the stiffness that is left (n,): all."""
        return np.ones(len(state))

    def reduced(self, factor):
        """The same ground: strength reduction leaves an elastic material as it is."""
        return self
