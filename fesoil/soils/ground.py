"""The ground of one stage: which law acts at which integration point, with parameters that follow the level."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fesoil.case.soil import EFFECTIVE_STRESS, TOTAL_STRESS, Soil
from fesoil.case.stiffness import cohesion, is_small_strain, pore_fluid_modulus, undrained_strength, working_modulus
from fesoil.soils.elastic import Elastic, Update
from fesoil.soils.mohr_coulomb import NO_LIMIT, MohrCoulomb
from fesoil.soils.pore_fluid import PoreFluid
from fesoil.soils.small_strain import N_PARTS, Parts


def plain_law(soil: Soil, p, level):
    """Law with one stiffness of a soil, without pore water, at points with mean stress before the works (n,) [kPa] and level (n,) [m]."""
    E, nu, strength = working_modulus(soil, p, level), soil.poisson_ratio, soil.strength
    if strength is None:
        return Elastic(nu, E)
    if soil.drainage == TOTAL_STRESS:
        return MohrCoulomb(nu, 0.0, 0.0, E, undrained_strength(soil, level), np.full(len(level), min(strength.tension_limit, NO_LIMIT)))
    return MohrCoulomb(nu, strength.friction_angle, strength.dilation_angle, E, cohesion(soil, level), np.full(len(level), strength.tension_limit))


def law_of(soil: Soil, p, level):
    """Law of a soil, without pore water, at points with mean stress before the works (n,) [kPa] and level (n,) [m]."""
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
        pieces = [(points, law.split(stress[points]), isinstance(law, PoreFluid)) for points, law in self.groups]
        wet = any(is_wet for *_, is_wet in pieces)
        state = np.zeros((self.n, max((parts.shape[1] + (wet and not is_wet) for _, parts, is_wet in pieces), default=1), 4))
        for points, parts, _ in pieces:  # that of the water, the last of all, is zero at rest wherever it is put
            state[points, : parts.shape[1]] = parts
        return state

    def whole(self) -> Ground:
        """The same ground with one stiffness a soil, whose points have one part: for what depends on strength alone."""
        return Ground(tuple((points, getattr(law, "whole", law)) for points, law in self.groups), self.n)

    def reduced(self, factor) -> Ground:
        """The same ground with its strength divided by ``factor``."""
        return Ground(tuple((points, law.reduced(factor)) for points, law in self.groups), self.n)


def holds_water(soils) -> bool:
    """Whether the last part of a state is that of pore water, in ground of these soils."""
    return any(soil.drainage == EFFECTIVE_STRESS for soil in soils)


def parts_of(soils) -> int:
    """How many parts the state of a point has in ground of these soils."""
    return (N_PARTS if any(is_small_strain(soil) for soil in soils) else 1) + holds_water(soils)


def effective(state, soils):
    """Effective stress (n, 4) of states (n, parts, 4) of ground of these soils (total in total-stress soils)."""
    return (state[:, :-1] if holds_water(soils) else state).sum(axis=1)


def excess(state, soils):
    """Excess pore pressure (n,) [kPa], compression positive, of states (n, parts, 4) of ground of these soils."""
    return -state[:, -1, 0] if holds_water(soils) else np.zeros(len(state))


def merged(state, soils):
    """States (n, parts, 4) as those of the same ground with one stiffness a soil (``Ground.whole``): its effective stress, and the part of its water if there is any."""
    return np.concatenate([effective(state, soils)[:, None], state[:, -1:]], axis=1) if holds_water(soils) else state.sum(axis=1, keepdims=True)


def without_excess(state, soils, material, drained):
    """States (n, parts, 4) of points with material (n,) (index into ``soils``, -1 for none) once the excess pore pressure of the soils named in ``drained`` has gone."""
    gone = np.array([soil.drainage == EFFECTIVE_STRESS and soil.name in drained for soil in soils] + [False])[material]
    if not np.any(gone):
        return state
    state = state.copy()
    state[gone, -1] = 0.0
    return state


def ground_of(soils, material, p, level, drained=frozenset(), law=law_of) -> Ground:
    """Ground of points with material (n,) (index into ``soils``), mean stress before the works ``p`` (n,) [kPa] and level (n,) [m].

    Soils named in ``drained`` drain, whatever their drainage says; others that are undrained in effective stress hold their pore water.
    """

    def at(soil, points):
        skeleton = law(soil, p[points], level[points])
        if soil.drainage != EFFECTIVE_STRESS or soil.name in drained:
            return skeleton
        return PoreFluid(skeleton, pore_fluid_modulus(soil, p[points], level[points]))

    groups = [(np.flatnonzero(material == i), soil) for i, soil in enumerate(soils)]
    return Ground(tuple((points, at(soil, points)) for points, soil in groups if len(points)), len(material))
