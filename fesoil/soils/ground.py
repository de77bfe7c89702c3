"""The ground of one stage: which law acts at which integration point, with parameters that follow the level."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fesoil.case.soil import Soil
from fesoil.case.stiffness import growing, is_small_strain, working_modulus
from fesoil.soils.elastic import Elastic, Update
from fesoil.soils.mohr_coulomb import NO_LIMIT, MohrCoulomb
from fesoil.soils.small_strain import N_PARTS, Parts


def plain_law(soil: Soil, p, level):
    """Law with one stiffness of a soil at points with mean stress before the works (n,) [kPa] and level (n,) [m]."""
    E, nu, strength = working_modulus(soil, p, level), soil.poisson_ratio, soil.strength
    if strength is None:
        return Elastic(nu, E)
    if soil.drainage == "undrained":
        return MohrCoulomb(nu, 0.0, 0.0, E, growing(strength.undrained_strength, strength, level), np.full(len(level), min(strength.tension_limit, NO_LIMIT)))
    c = growing(strength.effective_cohesion, strength, level)
    return MohrCoulomb(nu, strength.friction_angle, strength.dilation_angle, E, c, np.full(len(level), strength.tension_limit))


def law_of(soil: Soil, p, level):
    """Law of a soil at points with mean stress before the works (n,) [kPa] and level (n,) [m]."""
    whole = plain_law(soil, p, level)
    return Parts.of(soil, whole, p, level) if is_small_strain(soil) else whole


@dataclass(frozen=True)
class Ground:
    """Laws by group of points: ``groups`` of (indices, law), which together cover 0 ... n - 1."""

    groups: tuple
    n: int

    def update(self, increment, state, theta=0.0, tangent=True) -> Update:
        """As a law's ``update``, for all points (n, 4) and states (n, parts, 4)."""
        stress, new = np.empty((self.n, 4)), np.zeros_like(state)
        D, yielded = np.empty((self.n, 4, 4)) if tangent else None, np.empty(self.n, np.int8)
        for points, law in self.groups:
            part = law.update(increment[points], state[points], theta, tangent)
            stress[points], yielded[points] = part.stress, part.yielded
            new[points, : part.state.shape[1]] = part.state
            if tangent:
                D[points] = part.tangent
        return Update(stress, D, new, yielded)

    def mobilised(self, state):
        """Share of strength used at each point (n,)."""
        return self._each("mobilised", state)

    def stiffness_left(self, state):
        """Share of the stiffness at very small strain that is left at each point (n,)."""
        return self._each("stiffness_left", state)

    def _each(self, reading, state):
        values = np.empty(self.n)
        for points, law in self.groups:
            values[points] = getattr(law, reading)(state[points])
        return values

    def split(self, stress):
        """State (n, parts, 4) of the ground in a stress of rest (n, 4)."""
        pieces = [(points, law.split(stress[points])) for points, law in self.groups]
        state = np.zeros((self.n, max((parts.shape[1] for _, parts in pieces), default=1), 4))
        for points, parts in pieces:
            state[points, : parts.shape[1]] = parts
        return state

    def whole(self) -> Ground:
        """The same ground with one stiffness a soil, whose points have one part: for what depends on strength alone."""
        return Ground(tuple((points, getattr(law, "whole", law)) for points, law in self.groups), self.n)

    def reduced(self, factor) -> Ground:
        """The same ground with its strength divided by ``factor``."""
        return Ground(tuple((points, law.reduced(factor)) for points, law in self.groups), self.n)


def parts_of(soils) -> int:
    """How many parts the state of a point has in ground of these soils."""
    return N_PARTS if any(is_small_strain(soil) for soil in soils) else 1


def ground_of(soils, material, p, level, law=law_of) -> Ground:
    """Ground of points with material (n,) (index into ``soils``), mean stress before the works ``p`` (n,) [kPa] and level (n,) [m]."""
    groups = [(np.flatnonzero(material == i), soil) for i, soil in enumerate(soils)]
    return Ground(tuple((points, law(soil, p[points], level[points])) for points, soil in groups if len(points)), len(material))
