"""The stress in the ground before the works, from the column of weight above each place."""

from __future__ import annotations

import numpy as np

from fesoil.case.model import Case
from fesoil.case.sequence import Situation, extent, free_level, level_at, material_at, start_of, surface, zone_of
from fesoil.case.soil import DRAINED, TOTAL_STRESS


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
        wet_top = np.clip(table, lower, upper) if soil.drainage == DRAINED else upper
        stress = stress + soil.unit_weight.saturated * (wet_top - lower) + soil.unit_weight.moist * (upper - wet_top)
    return stress


def mean_pressure(case: Case, x, y):
    """Mean effective stress (total in total-stress soils) [kPa], compression positive, at points (n,) before the works; zero above the ground."""
    first = start_of(case)
    material = material_at(case, first, x, y)
    porous = np.array([s.drainage != TOTAL_STRESS for s in case.soils] + [False])[material]
    ratio = np.array([s.at_rest_ratio for s in case.soils] + [0.0])[material]
    table = free_level(case, first, zone_of(case, x))
    pore = np.where(porous & np.isfinite(table), (case.water.unit_weight if case.water else 0.0) * np.maximum(np.where(np.isfinite(table), table, 0.0) - y, 0.0), 0.0)
    vertical = np.maximum(weight_above(case, first, x, y) - pore, 0.0)
    return np.where(material >= 0, vertical * (1 + 2 * ratio) / 3, 0.0)


def beside_walls(case: Case) -> list[float]:
    """A place x [m] half a metre outside the outermost wall on each side; on the right alone in a half section."""
    xs = [w.x for w in case.walls] or [0.0]
    return [max(xs) + 0.5] + ([] if case.section.half else [min(xs) - 0.5])


def layers_at(case: Case, x):
    """(soil, top, bottom) [m] of each layer at a place x, from the ground surface down to the deepest rigid base."""
    bottom = extent(case)[2] if case.section.deeper_bottom_level is None else case.section.deeper_bottom_level
    soils, ground = {soil.name: soil for soil in case.soils}, float(level_at(surface(case), x))
    for i, layer in enumerate(case.layers):
        top = min(float(level_at(layer.top, x)), ground)
        under = max([bottom, *(float(level_at(lower.top, x)) for lower in case.layers[i + 1 :])])
        if top > under:
            yield soils[layer.soil], top, under
