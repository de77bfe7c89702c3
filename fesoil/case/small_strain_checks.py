"""Checks of ground that is stiff at small strain: are its numbers complete, do curve and strength agree, is what the job does to it within what the law can say.

The limits of the ratio X, of dilation and of the state of rest come from a study of a braced pit (see DEVELOPERS.md); limits without a source are common practice.
"""

from __future__ import annotations

import math

import numpy as np

from fesoil import units
from fesoil.case.faults import Doubt, Fault, item_path
from fesoil.case.model import Case
from fesoil.case.soil import CLAY_CURVE, DRAINED, SAND_CURVE, TOTAL_STRESS, SmallStrain, Soil
from fesoil.case.overburden import beside_walls, layers_at, mean_pressure
from fesoil.case.sequence import level_at, surface
from fesoil.case.stiffness import LEAST_PRESSURE, Agreement, agreement, is_small_strain, sources
from fesoil.case.validate_stages import steps

AGREEING = (0.5, 1.5)
"""Ratio X of curve to strength outside which the two come from different soils."""

X_IS = " (reference strain x G0 / strength: about 1 where curve and strength are of one soil)"

MOST_DILATION = math.radians(5)
SOFT_AT_REST = 0.85
FAR_STRESS = 4.0
"""Factor between the mean stress of a layer and that of a typed reference strain from which the latter is stretched (common practice, no source)."""

SMALL_COHESION = 2.0
"""Effective cohesion [kPa] up to which it may have been entered for the sake of the computation (common practice, no source)."""

NEARLY_ISOTROPIC = 0.05
"""Distance of an at-rest ratio from 1 within which the direction of the shear stress at rest is chance (a choice of ours, from one pit at 0.98, 1 and 1.02)."""

PLACES = (0.1, 0.5, 0.9)
"""Depths within a layer at which curve and strength are compared."""

LEAST_CAP = 3.0
IDLE = {"G0_by": ("at_stress", "at_level", "per_metre_depth"), "curve_by": ("strain_at_stress", "strain_power")}
"""Keys of typed values, which would mean nothing beside a correlation."""

NEEDS = {SAND_CURVE: ("void_ratio", "relative_density", "uniformity"), CLAY_CURVE: ("plasticity_index",)}


def key_faults(path: str, soil: Soil):
    """What is missing in a soil's small-strain stiffness, or written twice."""
    given, by_stress = soil.stiffness, soil.drainage != TOTAL_STRESS
    if not isinstance(given, SmallStrain):
        return
    if soil.strength is None:
        yield Fault(f"{path}.stiffness", "a curve without a strength", "one Young's modulus for an elastic material", "Write stiffness = { E = ... }, or add the strength.")
        return
    at = f"{path}.stiffness"
    yield from _one_of(at, given, ("G0",), "G0_by", ("void_ratio",))
    yield from _one_of(at, given, ("reference_strain", "curvature"), "curve_by", NEEDS.get(given.curve_by, ()))
    if given.G0 is not None and by_stress and (given.at_stress is None) == (given.at_level is None):
        yield Fault(f"{at}.at_stress", "both" if given.at_stress else "nothing", "at_stress or at_level", "Say at which mean effective stress, or from which level, G0 holds.")
    if given.reference_strain is not None and by_stress and given.strain_at_stress is None:
        yield Fault(f"{at}.strain_at_stress", "nothing", "the mean effective stress to which the reference strain belongs", "Add it: a reference strain means little without its stress.")
    if not by_stress and given.curve_by == SAND_CURVE:
        yield Fault(f"{at}.curve_by", f"'{SAND_CURVE}'", "a curve for clay, or values", "The curve for sand follows effective stress, which a soil in total stress does not have.")
    for name in ("at_stress", "G0_by", "strain_at_stress", "compression_modulus"):
        if not by_stress and getattr(given, name) is not None:
            yield Fault(f"{at}.{name}", "a value", "no such key in an undrained soil in total stress", "Give G0 by level (at_level, per_metre_depth); total stress says nothing of effective stress.")


def _one_of(path, given, typed, by, needs):
    """Either all values of ``typed``, or the correlation ``by`` with what it needs."""
    there = [name for name in typed if getattr(given, name) is not None]
    if getattr(given, by) is not None:
        for name in there + [name for name in IDLE[by] if getattr(given, name)]:
            yield Fault(f"{path}.{name}", f"a value beside {by}", "one of the two", "Keep the one that is meant.")
        for name in needs:
            if getattr(given, name) is None:
                yield Fault(f"{path}.{name}", "nothing", f"a value, for {by} = \"{getattr(given, by)}\"", "Add it.")
        return
    for name in typed:
        if name not in there:
            yield Fault(f"{path}.{name}", "nothing", f"a value, or {by}", "Add it.")


def work_faults(case: Case):
    """What the law cannot say of this job: a state of rest that the curve does not carry, rising mean stress without a compression modulus, undrained
    ground without a known rigid base."""
    for path, soil, _, places in layers_of(case):
        for found in places:
            if found.at_rest > 1:
                yield Fault(f"{path}.at_rest", f"K0 = {units.number(soil.at_rest_ratio, 3)}, which uses {100 * found.at_rest:.0f} % of the strength at {found.level:.2f} m",
                            "a state of rest within the strength", "Look at at_rest and the strength.")
                break
            if found.X / found.reference_strain * soil.stiffness.full_strength_strain < LEAST_CAP:
                yield Fault(f"{path}.stiffness.G0", f"{units.number(found.G0, 3)} kPa", f"a stiffness that uses the strength well before a strain of {soil.stiffness.full_strength_strain:g}",
                            "Check G0 and strength against each other.")
                break
            if found.at_rest > found.at_full:
                yield Fault(f"{path}.stiffness", f"a curve that uses {100 * found.at_full:.0f} % of the strength at a strain of {soil.stiffness.full_strength_strain:g}, "
                            f"where the state of rest uses {100 * found.at_rest:.0f} %", "a curve that carries the state of rest",
                            "Raise G0 or the reference strain, or look at at_rest and the strength.")
                break
    for path, soil in _elsewhere(case):
        found = agreement(soil, LEAST_PRESSURE, 0.0)
        if found.X / found.reference_strain * soil.stiffness.full_strength_strain < LEAST_CAP:
            yield Fault(f"{path}.stiffness.G0", f"{units.number(found.G0, 3)} kPa", f"a stiffness that uses the strength well before a strain of {soil.stiffness.full_strength_strain:g}",
                        "Check G0 and strength against each other.")
    yield from _compression_faults(case)
    undrained = [soil.name for soil in case.soils if is_small_strain(soil) and soil.drainage != DRAINED]
    section = case.section
    if undrained and (section.bottom_level is None or section.deeper_bottom_level is None):
        yield Fault("section.bottom_level", "no level" if section.bottom_level is None else "one level only",
                    f"two depths of the rigid base, bottom_level and deeper_bottom_level, below {undrained[0]}",
                    "State the likeliest and the deepest: settlement in undrained ground depends on it, and is given as a band.")


def _compression_faults(case: Case):
    """Stages that raise the mean stress of ground that drains, then or later, and whose compression is not known."""
    draining = [soil for soil in case.soils if soil.drainage == DRAINED or any(soil.name in stage.dissipate for stage in case.stages)]
    lacking = [soil.name for soil in draining if is_small_strain(soil) and soil.stiffness.compression_modulus is None]
    for step in steps(case) if lacking else ():
        verbs = [verb for verb in ("place", "backfill", "load") if getattr(step.stage, verb)]
        lowered = any(after is None or after < before for before, after in zip(step.before.water, step.after.water) if before is not None)
        for verb in verbs + ["water"] * lowered:
            yield Fault(f"{step.path}.{verb}", "a rise of mean stress in drained ground", f"a compression_modulus in the stiffness of {', '.join(lacking)}",
                        "Add it: at small-strain stiffness such ground would hardly be compressed at all.")
            return


def _elsewhere(case: Case):
    """Soils with a curve that are placed in a stage or stand in a block, whose stress before the works says nothing of them."""
    names = {b.soil for b in case.blocks} | {e.soil for s in case.stages for e in (*s.place, *s.backfill.values())}
    return [(item_path("soils", i, soil.name), soil) for i, soil in enumerate(case.soils) if soil.name in names and is_small_strain(soil)]


def layers_of(case: Case):
    """(path of the soil, soil, (top, bottom), agreements at ``PLACES``) of each layer of ground that is stiff at small strain, beside the outermost walls: on one side
    where both are alike."""
    found = [list(_agreements_at(case, x)) for x in beside_walls(case)]
    yield from found[0]
    for row in found[1] if len(found) > 1 else []:
        if row not in found[0]:
            yield row


def _agreements_at(case: Case, x):
    index = {soil.name: i for i, soil in enumerate(case.soils)}
    for soil, top, under in layers_at(case, x):
        if is_small_strain(soil):
            levels = top - np.array(PLACES) * (top - under)
            pressures = mean_pressure(case, np.full(len(levels), x), levels)
            yield item_path("soils", index[soil.name], soil.name), soil, (top, under), [agreement(soil, float(p), float(y)) for p, y in zip(pressures, levels)]


def small_strain_doubts(case: Case):
    """What to look at in ground that is stiff at small strain, and for each layer a note of how curve and strength agree."""
    for i, (path, soil, (top, under), places) in enumerate(layers_of(case)):
        yield Doubt(path, agreement_text(soil, top, under, places, first=i == 0), is_note=True)
        X = places[len(places) // 2].X
        if not AGREEING[0] <= X <= AGREEING[1]:
            meaning = "uses the strength too late" if X < 1 else "stays stiff almost to failure"
            yield Doubt(f"{path}.stiffness", f"X = reference strain x G0 / strength is {X:.2f} in the middle of the layer, outside {AGREEING[0]:g} to {AGREEING[1]:g}: the curve {meaning}. "
                        "Are strength and stiffness of the same soil?")
        if max(a.at_rest for a in places) > SOFT_AT_REST:
            yield Doubt(f"{path}.at_rest", f"the state of rest uses {100 * max(a.at_rest for a in places):.0f} % of the strength: the retained side starts very soft.")
        yield from _stretched(path, soil, places)
    for i, soil in enumerate(case.soils):
        if is_small_strain(soil) and soil.strength.dilation_angle > MOST_DILATION + 1e-9:
            yield Doubt(item_path("soils", i, soil.name) + ".strength.dilation_angle", f"{math.degrees(soil.strength.dilation_angle):.3g} deg: with a curve of stiffness the ground dilates from "
                        "the smallest strain on, and settlement comes out too small; 0 is usual, 5 deg the most.")
    yield from _isotropic_doubts(case)
    yield from _placed_doubts(case)
    yield from _cohesion_doubts(case)


def agreement_text(soil: Soil, top: float, under: float, places: list[Agreement], first: bool = True) -> str:
    """One sentence on a layer: its G0, reference strain and ratio X from top to bottom, the strength in use, and the sources. The ``first`` of several says what X is."""

    def span(values, digits):
        low, high = f"{min(values):.{digits}f}", f"{max(values):.{digits}f}"
        return low if low == high else f"{low} to {high}"

    return (
        f"layer from {top:.2f} to {under:.2f} m: G0 {span([a.G0 / 1e3 for a in places], 0)} MPa, reference strain {span([100 * a.reference_strain for a in places], 3)} %, "
        f"X {span([a.X for a in places], 2)}{X_IS if first else ''}; {span([100 * a.at_rest for a in places], 0)} % of the strength in use at rest, {span([100 * min(a.in_use, 1.0) for a in places], 0)} % "
        f"at a strain of 1 %; {'; '.join(sources(soil))}."
    )


def _stretched(path, soil, places):
    """A typed reference strain used far from the stress to which it belongs."""
    given = soil.stiffness
    if given.strain_at_stress is None or given.strain_power:
        return
    ratio = max(places[len(places) // 2].p, LEAST_PRESSURE) / given.strain_at_stress
    if abs(math.log(ratio)) > math.log(FAR_STRESS):
        yield Doubt(f"{path}.stiffness.strain_at_stress", f"the reference strain belongs to {units.text(given.strain_at_stress, 'kPa')}, but the middle of the layer has {ratio * given.strain_at_stress:.0f} kPa; "
                    "let it grow (strain_power), or divide the layer.")


def _isotropic_doubts(case: Case):
    """Ground that rests with almost no shear stress but was loaded more before: what it remembers lies along the little shear that loads or slopes bring."""
    level = all(len({y for _, y in line}) == 1 for line in (surface(case), *(layer.top for layer in case.layers)))
    if level and not any(load.from_start for load in case.loads):
        return
    for i, soil in enumerate(case.soils):
        if is_small_strain(soil) and soil.drainage != TOTAL_STRESS and abs(soil.at_rest_ratio - 1) < NEARLY_ISOTROPIC:
            yield Doubt(item_path("soils", i, soil.name) + ".at_rest", f"{soil.at_rest_ratio:.3g}: at rest there is almost no shear stress, and what the ground remembers of its first loading lies "
                        "along what loads or slopes bring. Movements have been seen to jump by a tenth between 0.98 and 1.02; run both.")


def _placed_doubts(case: Case):
    placed = {p.soil for s in case.stages for p in s.place} | {b.soil for s in case.stages for b in s.backfill.values()}
    for i, soil in enumerate(case.soils):
        if soil.name in placed and is_small_strain(soil):
            yield Doubt(item_path("soils", i, soil.name), "is placed in a stage: it starts without stress, with the G0 that it has there without stress and its compression modulus from nothing; "
                        "what compaction locks in is not followed.")


def _cohesion_doubts(case: Case):
    """A small cohesion near a toe, which counts there."""
    toes = {wall: toe for step in steps(case) for wall, toe in step.after.toes.items()}
    at = {w.name: w.x for w in case.walls}
    for i, soil in enumerate(case.soils):
        c = soil.strength.effective_cohesion if soil.strength and soil.drainage != TOTAL_STRESS else None
        if not c or c > SMALL_COHESION or soil.strength.friction_angle == 0:
            continue
        for wall, toe in toes.items():
            beside = [layer.soil for layer in case.layers if level_at(layer.top, at[wall]) > toe + 1e-6]
            if beside and beside[-1] == soil.name:
                yield Doubt(item_path("soils", i, soil.name) + ".strength.effective_cohesion", f"{units.text(c, 'kPa')} at the toe of wall '{wall}': on a short toe as little as 1 kPa can add a "
                            "quarter to the passive resistance. Unless it is measured, run the case with 0 as well.")
                break
