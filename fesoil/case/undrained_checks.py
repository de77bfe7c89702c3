"""Checks of soils that are undrained in effective stress: what their c' and phi' make of the undrained strength, which nobody has typed."""

from __future__ import annotations

import numpy as np

from fesoil import units
from fesoil.case.faults import Doubt, Fault, item_path
from fesoil.case.model import Case
from fesoil.case.overburden import beside_walls, layers_at, mean_pressure
from fesoil.case.soil import EFFECTIVE_STRESS, Soil
from fesoil.case.stiffness import implied_strength, undrained_strength

PLACES = np.array([0.1, 0.5, 0.9])
"""Depths within a layer at which strengths are compared."""

MEASURED = (0.19, 0.27)
"""Undrained strength over the upright effective stress in normally consolidated clay, 0.23 with 0.04 either way (Jamiolkowski et al. 1985, from memory)."""


def pore_fluid_faults(path: str, soil: Soil):
    """What cannot be in a soil's pore water, or in the strength of one that holds it."""
    if soil.drainage != EFFECTIVE_STRESS:
        if soil.undrained_poisson_ratio is not None:
            yield Fault(f"{path}.undrained_poisson_ratio", "a value", f"no such key unless drainage = \"{EFFECTIVE_STRESS}\"", "Remove it.")
        return
    if soil.poisson_ratio >= soil.undrained_ratio:
        yield Fault(f"{path}.stiffness.poisson_ratio", f"{soil.poisson_ratio:g}", f"a drained value, below the undrained one, {soil.undrained_ratio:g}",
                    "Give that of the soil's skeleton, about 0.2 to 0.35; the pore water makes the rest.")
    strength = soil.strength
    if strength is None:
        return
    if strength.dilation_angle:
        yield Fault(f"{path}.strength.dilation_angle", units.text(strength.dilation_angle, "deg"), "0 where pore water cannot leave",
                    "Leave it out: ground that wants to grow and cannot draws suction, and strength, without end.")
    if strength.undrained_strength is None and (strength.per_metre_depth or strength.smallest or strength.at_level is not None):
        yield Fault(f"{path}.strength.undrained_strength", "nothing", "a value, since at_level, per_metre_depth and least belong to it in this soil",
                    "Add it, or leave these keys out: c' does not grow with depth in such a soil.")


def placed_faults(path: str, case: Case, soil: Soil):
    """Such a soil cannot be placed: without effective stress it has hardly any strength, and no weight of its own would bring some."""
    placed = {p.soil for s in case.stages for p in s.place} | {b.soil for s in case.stages for b in s.backfill.values()}
    if soil.drainage == EFFECTIVE_STRESS and soil.name in placed:
        yield Fault(f"{path}.drainage", f"'{EFFECTIVE_STRESS}' in a soil that is placed", "another drainage", "Its weight would all go into the pore water. Describe the fill as a soil of its own.")


def undrained_doubts(case: Case):
    """The undrained strength that follows in each layer, whether it is above what was measured, and what else is easily overlooked."""
    yield from dict.fromkeys(doubt for x in beside_walls(case) for doubt in _strength_doubts(case, x))
    drained = {name for stage in case.stages for name in stage.dissipate}
    for i, soil in enumerate(case.soils):
        if soil.drainage != EFFECTIVE_STRESS or soil.strength is None:
            continue
        path, friction = item_path("soils", i, soil.name), soil.wall_friction
        if soil.name not in drained:
            yield Doubt(path, "no stage lets its excess pore pressure go (dissipate): the long term, in which a cut in clay is often less safe, is not analysed.", is_note=True)
            if friction.angle:
                yield Doubt(f"{path}.wall_friction.angle", "acts only once the soil drains, which it does in no stage; until then the face holds by adhesion.")
        elif friction.adhesion > soil.strength.effective_cohesion:
            yield Doubt(f"{path}.wall_friction.adhesion", f"{friction.adhesion:g} kPa goes on acting beside friction once the soil drains, and is above c', {soil.strength.effective_cohesion:g} kPa.")


def _strength_doubts(case: Case, x):
    """Of the layers at x."""
    index = {soil.name: i for i, soil in enumerate(case.soils)}
    for soil, top, under in layers_at(case, x):
        if soil.drainage != EFFECTIVE_STRESS or soil.strength is None:
            continue
        level, path = top - PLACES * (top - under), item_path("soils", index[soil.name], soil.name)
        p = mean_pressure(case, np.full(len(level), x), level)
        given = implied_strength(soil, p, level)
        said = f"layer from {top:.2f} to {under:.2f} m: c' and phi' make an undrained strength of {given.min():.3g} to {given.max():.3g} kPa"
        yield from _adhesion_doubts(path, soil, given)
        if soil.strength.undrained_strength is None:
            yield _by_ratio(path, said, given * (1 + 2 * soil.at_rest_ratio) / np.maximum(3 * p, 1e-9))
        else:
            yield _by_strength(path, said, given, undrained_strength(soil, level), level)


def _by_ratio(path, said, ratio) -> Doubt:
    """Strength beside what normally consolidated clay has, ``ratio`` (k,) over the upright effective stress."""
    low, high = MEASURED
    said = f"{said}, {ratio.min():.2f} to {ratio.max():.2f} of the upright effective stress; normally consolidated clay has {low:g} to {high:g} (Jamiolkowski et al. 1985, from memory)"
    if ratio.max() <= high:
        return Doubt(f"{path}.strength", said + ".", is_note=True)
    return Doubt(f"{path}.strength", said + ". Unless the clay was loaded more before, that is on the unsafe side; state undrained_strength to compare with.")


def _by_strength(path, said, given, measured, level) -> Doubt:
    """Strength (k,) beside the one stated (k,) at levels (k,)."""
    over = given / measured
    worst = int(np.argmax(over))
    said = f"{said}, beside {measured.min():.3g} to {measured.max():.3g} kPa as stated"
    if over[worst] <= 1 + 1e-9:
        return Doubt(f"{path}.strength", said + ".", is_note=True)
    return Doubt(f"{path}.strength", f"{said}: at {level[worst]:.2f} m it is {over[worst]:.2f} times as much. The analysis would be on the unsafe side: lower phi' or c', or use drainage = \"undrained\".")


def _adhesion_doubts(path, soil: Soil, given):
    """Adhesion above the undrained strength (k,) somewhere in the layer."""
    if soil.wall_friction.adhesion > given.min():
        yield Doubt(f"{path}.wall_friction.adhesion", f"{soil.wall_friction.adhesion:g} kPa is above the undrained strength that c' and phi' make in a part of the layer, {given.min():.3g} kPa.")
