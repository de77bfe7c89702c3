"""The ground of one stage: which law acts at which integration point, with parameters that follow the level."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fesoil.case.model import Soil
from fesoil.soils.elastic import Elastic, Update
from fesoil.soils.mohr_coulomb import NO_LIMIT, MohrCoulomb

def growing(value, profile, level):
    """A parameter [kPa] that grows by ``profile.per_metre_depth`` below ``profile.at_level`` and is never below ``profile.smallest``."""
    top = profile.at_level
    depth = 0.0 if top is None else np.maximum(top - np.asarray(level, float), 0.0)
    return np.maximum(value + profile.per_metre_depth * depth + 0 * np.asarray(level, float), profile.smallest)


def youngs_modulus(soil: Soil, level):
    """Young's modulus [kPa] at levels [m]."""
    return growing(soil.stiffness.E, soil.stiffness, level)


def law_of(soil: Soil, level):
    """Law of a soil at points with levels (n,) [m]."""
    E, nu, strength = youngs_modulus(soil, level), soil.poisson_ratio, soil.strength
    if strength is None:
        return Elastic(nu, E)
    if soil.drainage == "undrained":
        return MohrCoulomb(nu, 0.0, 0.0, E, growing(strength.undrained_strength, strength, level), np.full(len(level), min(strength.tension_limit, NO_LIMIT)))
    c = growing(strength.effective_cohesion, strength, level)
    return MohrCoulomb(nu, strength.friction_angle, strength.dilation_angle, E, c, np.full(len(level), strength.tension_limit))


@dataclass(frozen=True)
class Ground:
    """Laws by group of points: ``groups`` of (indices, law), which together cover 0 ... n - 1."""

    groups: tuple
    n: int

    def update(self, increment, state, theta=0.0, tangent=True) -> Update:
        """As a law's ``update``, for all points (n, 4) and states (n, parts, 4)."""
        if len(self.groups) == 1:
            return self.groups[0][1].update(increment, state, theta, tangent)
        stress, new = np.empty((self.n, 4)), np.empty_like(state)
        D, yielded = np.empty((self.n, 4, 4)) if tangent else None, np.empty(self.n, np.int8)
        for points, law in self.groups:
            part = law.update(increment[points], state[points], theta, tangent)
            stress[points], new[points], yielded[points] = part.stress, part.state, part.yielded
            if tangent:
                D[points] = part.tangent
        return Update(stress, D, new, yielded)

    def mobilised(self, stress):
        """Share of strength used at each point (n,)."""
        share = np.empty(self.n)
        for points, law in self.groups:
            share[points] = law.mobilised(stress[points])
        return share

    def reduced(self, factor) -> Ground:
        """The same ground with its strength divided by ``factor``."""
        return Ground(tuple((points, law.reduced(factor)) for points, law in self.groups), self.n)


def ground_of(soils, material, level) -> Ground:
    """Ground of points with material (n,) (index into ``soils``) and level (n,) [m]."""
    groups = [(np.flatnonzero(material == i), soil) for i, soil in enumerate(soils)]
    return Ground(tuple((points, law_of(soil, level[points])) for points, soil in groups if len(points)), len(material))
