"""The stress in the ground before the works: at-rest ratios on the weight above, or gravity turned on where the ground is not level."""

from __future__ import annotations

import numpy as np

from fesoil.case.model import Case
from fesoil.case.sequence import Situation, level_at, surface
from fesoil.elements.triangle import N_POINTS
from fesoil.soils.elastic import Elastic
from fesoil.soils.ground import Ground, youngs_modulus
from fesoil.solve.actions import Actions
from fesoil.solve.system import Base
from fesoil.water.hydrostatic import free_level, zone_of

GRAVITY_RATIO = 0.48
"""Largest Poisson's ratio used to turn gravity on: at-rest ratios above 0.92 cannot be had from weight alone."""


def is_level(case: Case) -> bool:
    """Whether surface and layers are level, without blocks."""
    lines = [surface(case), *(layer.top for layer in case.layers)]
    return not case.blocks and all(len({y for _, y in line}) == 1 for line in lines)


def uses_gravity(case: Case) -> bool:
    """Whether the start is gravity turned on rather than at-rest ratios."""
    return (case.section.start or ("at rest" if is_level(case) else "gravity")) == "gravity"


def weight_above(case: Case, situation: Situation, x, y):
    """Total vertical stress [kPa], compression positive, at points (n,), from the column above: layers, water table, free water."""
    top = level_at(surface(case), x)
    table = free_level(case, situation, zone_of(case, x))
    stress = np.where(np.isfinite(table), (case.water.unit_weight if case.water else 0.0) * np.maximum(np.where(np.isfinite(table), table, 0) - top, 0), 0.0)
    soils = {s.name: s for s in case.soils}
    for i, layer in enumerate(case.layers):
        upper = np.minimum(level_at(layer.top, x), top)
        lower = np.maximum(level_at(case.layers[i + 1].top, x), y) if i + 1 < len(case.layers) else y
        lower = np.minimum(np.maximum(lower, y), upper)
        soil = soils[layer.soil]
        wet_top = upper if soil.drainage == "undrained" else np.clip(table, lower, upper)
        stress = stress + soil.unit_weight.saturated * (wet_top - lower) + soil.unit_weight.moist * (upper - wet_top)
    return stress


def at_rest_stress(case: Case, base: Base, situation: Situation, acting: Actions):
    """Effective stress (3 m, 4) from the weight above and the at-rest ratio of each soil (total stress in undrained soils)."""
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
    level = (base.triangles.points[chosen] + base.mesh.origin)[..., 1].ravel()
    material = np.repeat(acting.material[chosen], N_POINTS)
    groups = []
    for i, soil in enumerate(case.soils):
        points = np.flatnonzero(material == i)
        if len(points):
            k0 = soil.at_rest_ratio
            groups.append((points, Elastic(min(k0 / (1 + k0), GRAVITY_RATIO), youngs_modulus(soil, level[points]))))
    return Ground(tuple(groups), len(material))

