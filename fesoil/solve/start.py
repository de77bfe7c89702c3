"""The stress in the ground before the works: at-rest ratios on the weight above, or gravity turned on where the ground is not level."""

from __future__ import annotations

import numpy as np

from fesoil.case.model import Case
from fesoil.case.overburden import mean_pressure, weight_above
from fesoil.case.sequence import Situation, surface
from fesoil.case.stiffness import working_modulus
from fesoil.elements.triangle import N_POINTS
from fesoil.soils.elastic import Elastic
from fesoil.soils.ground import Ground, ground_of, plain_law
from fesoil.solve.actions import Actions
from fesoil.solve.system import Base

GRAVITY_RATIO = 0.48
"""Largest Poisson's ratio used to turn gravity on: at-rest ratios above 0.92 cannot be had from weight alone."""


def is_level(case: Case) -> bool:
    """Whether surface and layers are level, without blocks."""
    lines = [surface(case), *(layer.top for layer in case.layers)]
    return not case.blocks and all(len({y for _, y in line}) == 1 for line in lines)


def uses_gravity(case: Case) -> bool:
    """Whether the start is gravity turned on rather than at-rest ratios."""
    return (case.section.start or ("at rest" if is_level(case) else "gravity")) == "gravity"


def at_rest_stress(case: Case, base: Base, situation: Situation, acting: Actions):
    """Effective stress (3 m, 4) from the weight above and the at-rest ratio of each soil (total in total-stress soils)."""
    x, y = (base.triangles.points + base.mesh.origin).reshape(-1, 2).T
    material = np.repeat(acting.material, N_POINTS)
    vertical = weight_above(case, situation, x, y) - acting.pore.ravel()
    ratio = np.array([s.at_rest_ratio for s in case.soils] + [0.0])[material]
    stress = np.zeros((len(x), 4))
    stress[:, 1] = -vertical
    stress[:, 0] = stress[:, 2] = -ratio * vertical
    stress[material < 0] = 0.0
    return stress


def gravity_ground(case: Case, base: Base, acting: Actions) -> Ground:
    """Elastic ground in which weight alone gives the at-rest ratio on level ground: nu = K0 / (1 + K0)."""
    chosen = acting.active
    x, level = (base.triangles.points[chosen] + base.mesh.origin).reshape(-1, 2).T
    p = mean_pressure(case, x, level)
    material = np.repeat(acting.material[chosen], N_POINTS)
    groups = []
    for i, soil in enumerate(case.soils):
        points = np.flatnonzero(material == i)
        if len(points):
            k0 = soil.at_rest_ratio
            groups.append((points, Elastic(min(k0 / (1 + k0), GRAVITY_RATIO), working_modulus(soil, p[points], level[points]))))
    return Ground(tuple(groups), len(material))


def start_ground(case: Case, base: Base, acting: Actions) -> Ground:
    """Ground of one stiffness a soil, in which the stress before the works comes to rest: all of it drained, in the long time that it had."""
    x, level = (base.triangles.points[acting.active] + base.mesh.origin).reshape(-1, 2).T
    material = np.repeat(acting.material[acting.active], N_POINTS)
    return ground_of(case.soils, material, mean_pressure(case, x, level), level, {soil.name for soil in case.soils}, plain_law)
