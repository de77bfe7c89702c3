"""What a reader of a result should know before believing it: steel over its capacity, boundaries too near, stages that needed help."""

from __future__ import annotations

import numpy as np

from fesoil import units
from fesoil.case.frames import frame_resistance
from fesoil.case.sequence import ground_level, material_at, surface
from fesoil.case.stiffness import ATMOSPHERE, LEAST_PRESSURE, is_small_strain
from fesoil.elements.triangle import N_POINTS
from fesoil.result.reading import Result
from fesoil.result.records import governing
from fesoil.result.trust import with_bar
from fesoil.result.water_stage import water_doubts
from fesoil.soils.ground import holds_water

EQUILIBRIUM_LIMIT = 1e-4
SEARCHED = 1e-4
"""Nodal forces left over the weights at which the search for equilibrium ends."""

FAR_SHARE = 0.1
"""Share of the greatest settlement at the side boundary from which the boundary is too near (common practice, no source)."""

LARGE = 0.05
"""Movement, as a share of the greatest dig depth, beyond which small-strain analysis is stretched (common practice, no source)."""

START_MOVEMENT = 0.005
"""Movement [m] of the start from which the initial stress deserves a look (common practice, no source)."""


COMPRESSED = 0.02
"""Share of a layer's points whose mean stress rises, from which it is told (common practice, no source)."""


def doubts(result: Result) -> list[str]:
    """Sentences, the gravest first; none for a result without doubts."""
    done = [i for i, r in enumerate(result.records) if i and r.converged]
    found = _not_reached(result) + water_doubts(result.records, result.water) + _steel(result, done) + _props(result, done) + _slabs(result, done) + _reductions(result)
    if result.case.section.deeper_bottom_level is not None and result.complete and result.deeper is None:
        found.append("The deeper rigid base that the case states was not analysed: run it again, these results are half of the band.")
    if result.deeper is not None:
        found += [f"With the rigid base at {result.case.section.deeper_bottom_level:g} m: {doubt}" for doubt in doubts(result.deeper)]
    return found + _equilibrium(result) + _compressed(result, done) + _cavitation(result, done) + _boundaries(result, done) + _large(result, done) + _start(result) + _relaxed(result) + _stalled(result)


def _not_reached(result: Result) -> list[str]:
    if result.complete:
        return []
    last = result.records[-1]
    where = last.failure
    place = f"x = {where['x']:.1f} m, level {where['level']:.1f} m, with {100 * where['yielded']:.0f} % of its points at yield" if where else ""
    moves = f" The ground moves most near {place}." if where else ""
    unknown = f'No equilibrium in "{last.name}" beyond {100 * last.share:.0f} % of its load: nothing is known of this stage and those after it.{moves}'
    if seen_to_fail(last):
        return [f"{unknown} Support earlier, dig less, or look at the strengths there."]
    return [f"{unknown} Movement was not seen to go on, the search came to no end: that the ground fails is not decided, nor that it stands. Another mesh size may get through."]


def seen_to_fail(record) -> bool:
    """Whether a stage without equilibrium was seen to move on under its load, rather than its search to come to no end."""
    return record.failure.get("goes_on", True)


def _name(result: Result, i) -> str:
    return f'stage {i} "{result.records[i].name}"'


def _said_of(result: Result, i, text) -> str:
    return f'Stage {i} "{result.records[i].name}": {text}'


def _steel(result: Result, done) -> list[str]:
    """Walls whose moment passes the stated capacity, in their worst stage."""
    found = []
    for wall in result.case.walls:
        capacity, lines = wall.sheet.moment_capacity, result.wall(wall.name).lines
        moments = {i: float(np.abs(lines[i - 1].moment).max()) for i in done if lines[i - 1] is not None}
        if capacity and moments:
            worst = max(moments, key=moments.get)
            if moments[worst] > capacity * (1 + 1e-6):
                moment = with_bar(f"{moments[worst]:.0f}", result.plus_minus(worst, "walls", wall.name, "max_moment_kNm_per_m"), "kN m/m")
                found.append(f'Wall "{wall.name}": moment {moment} passes its capacity of {capacity:.0f} in {_name(result, worst)}.')
    return found


def _props(result: Result, done) -> list[str]:
    """Frames whose load passes their stated resistance, in their worst stage."""
    found = []
    for frame in result.case.frames:
        resistance, loads = frame_resistance(frame), result.frames[frame.name]
        acting = [i for i in done if np.isfinite(loads[i - 1])]
        if resistance and acting:
            worst = max(acting, key=lambda i: loads[i - 1])
            if loads[worst - 1] > resistance * (1 + 1e-6):
                basis = f" ({frame.capacity.basis})" if frame.capacity else ""
                load = with_bar(f"{loads[worst - 1]:.0f}", result.plus_minus(worst, "frames", frame.name, "load_kN_per_m"), "kN/m")
                found.append(f'Frame "{frame.name}": load {load} passes its resistance of {resistance:.0f}{basis} in {_name(result, worst)}.')
    return found


def _slabs(result: Result, done) -> list[str]:
    """Slabs whose mean stress passes their stated strength, in their worst stage."""
    found = []
    for slab in result.case.slabs:
        for i in done:
            made, load = result.situations[i].slabs.get(slab.name), result.frames[slab.name][i - 1]
            if made and made.strength and np.isfinite(load) and load > made.strength * slab.thickness:
                said = with_bar(f"{load:.0f}", result.plus_minus(i, "frames", slab.name, "load_kN_per_m"), "kN/m")
                found.append(f'Slab "{slab.name}": load {said}, {load / slab.thickness / 1e3:.1f} MPa, passes its strength of {made.strength / 1e3:.1f} MPa in {_name(result, i)}.')
                break
    return found


def _reductions(result: Result) -> list[str]:
    """Safety factors that rest on something, or were not decided."""
    found = []
    for i, record in enumerate(result.records):
        r = record.reduction
        if not r:
            continue
        if r["factor"] is None:
            found.append(_said_of(result, i, "with the stated capacities in force it was not found stable even without reduction: there is no safety factor."))
        elif r["failed"] and not r["decided"]:
            found.append(_said_of(result, i, f"the search of the safety factor came to no end at F = {r['failed']:.2f}; it may be higher than given."))
        if r["unlimited_members"]:
            members = ", ".join(r["unlimited_members"])
            found.append(_said_of(result, i, f"the safety factor takes {members} as unlimited (no capacity is stated, or the load is held constant): state one."))
    return found


def _equilibrium(result: Result) -> list[str]:
    return [
        f'{r.name}: global equilibrium is off by {r.equilibrium_error:.1e} of the weight (limit {EQUILIBRIUM_LIMIT:g}): do not use its numbers.'
        for r in result.records if r.converged and not r.equilibrium_error < EQUILIBRIUM_LIMIT
    ]  # fmt: skip


def _compressed(result: Result, done) -> list[str]:
    """Drained ground that is stiff at small strain, has no compression modulus, and was compressed all the same."""
    found = []
    for i, soil in enumerate(result.case.soils):
        if not is_small_strain(soil) or soil.drainage != "drained" or soil.stiffness.compression_modulus is not None:
            continue
        rises = {k: _rise(result, i, k) for k in done}
        worst = max(rises, key=rises.get, default=None)
        if worst is not None and rises[worst] > 0:
            found.append(f'Mean stress in "{soil.name}" rises by more than a tenth, {rises[worst]:.0f} kPa at most, in {_name(result, worst)}: it has no compression modulus, so its movement there is too small.')
    return found


def _rise(result: Result, soil, stage) -> float:
    """Greatest rise of mean stress [kPa] above that before the works in a soil, 0 where less than ``COMPRESSED`` of its points rise by more than a tenth."""
    material = material_at(result.case, result.situations[stage], *result.mesh.centroids.T)
    points = (N_POINTS * np.flatnonzero(material == soil)[:, None] + np.arange(N_POINTS)).ravel()
    state = result.states[stage]
    rise, rest = -state.stress[points, :, :3].sum(axis=(1, 2)) / 3 - state.rest[points], state.rest[points]
    much = rise > 0.1 * np.maximum(rest, LEAST_PRESSURE)
    return float(rise[much].max()) if np.mean(much) > COMPRESSED else 0.0


def _cavitation(result: Result, done) -> list[str]:
    """Stages in which the pore water of undrained ground would have to be under more tension than it bears at atmospheric pressure."""
    if not holds_water(result.case.soils):
        return []
    fields = {i: result.field(i) for i in done}
    low = {i: float((f.steady + f.excess)[f.excess < 0].min(initial=0.0)) for i, f in fields.items()}
    worst = min(low, key=low.get, default=None)
    if worst is None or low[worst] > -ATMOSPHERE:
        return []
    return [f"In {_name(result, worst)} the pore pressure of undrained ground falls to {low[worst]:.0f} kPa, below what water bears: its strength there is too high. Look at the share of the dig and at drainage."]


def _boundaries(result: Result, done) -> list[str]:
    """Sides at which ground still settles, or yields, in the last stage that was reached."""
    if not done:
        return []
    found, last = [], done[-1]
    for side in ("right",) if result.case.section.half else ("left", "right"):
        settled = np.abs(result.settlement(side).settlement[last - 1])
        if len(settled) and settled.max() > 1e-3 and settled[-1] > FAR_SHARE * settled.max():
            share = 100 * settled[-1] / settled.max()
            found.append(f"The ground at the {side} boundary still settles {share:.0f} % of the greatest settlement: set `section.{side}` farther out and compare.")
    field = result.field(last)
    x = field.points[field.triangles[:, :3], 0].mean(axis=1)
    left, right = (b + result.mesh.origin[0] for b in result.mesh.box[:2])
    margin = 0.05 * (right - left)
    near = (x > right - margin) | ((x < left + margin) & (not result.case.section.half))
    fresh = field.yielded - _yielded_at_start(result, field.triangles)
    if np.any(near & (fresh > 0.5)):
        found.append("Ground at a side boundary yields: set the boundaries farther out and compare.")
    return found


def _yielded_at_start(result: Result, triangles):
    """Share of points at yield before the works (m,) of the triangles that are ground now."""
    field = result.field(0)
    known = {tuple(t): y for t, y in zip(field.triangles[:, :3].tolist(), field.yielded.tolist())}
    return np.array([known.get(tuple(t), 1.0) for t in triangles[:, :3].tolist()])


def _large(result: Result, done) -> list[str]:
    top = max(y for _, y in surface(result.case))
    x = result.mesh.points[:, 0] + result.mesh.origin[0]
    depth = max((top - float(ground_level(result.case, result.situations[i], x).min()) for i in done), default=0.0)
    paths = [("walls", wall.name, "max_deflection_mm") for wall in result.case.walls]
    found = [(abs(value[1]), value[0], path) for path in paths if (value := governing(result.summary()["stages"], *path))]
    moved, stage, path = max(found, default=(0.0, None, None))
    if not moved > 1e3 * LARGE * depth > 0:
        return []
    wall = with_bar(f"{moved:.0f}", result.plus_minus(stage, *path), "mm")
    return [f"A wall moves {wall}, over {100 * LARGE:.0f} % of the dig depth of {depth:.1f} m: small-strain analysis is stretched."]


def _start(result: Result) -> list[str]:
    first = result.records[0]
    if first.converged and first.start_movement > START_MOVEMENT:
        moved = f"moved {1e3 * first.start_movement:.0f} mm to come to rest (not counted)"
        if any(load.from_start for load in result.case.loads):
            return [f"The ground with the loads that act from the start {moved}: with heavy loads that is their settlement; else look at at_rest and the ground's strength."]
        return [f"The initial stress was out of balance by {100 * first.start_residual:.1f} % of the weight and {moved}: look at at_rest and the ground's strength."]
    return []


def _relaxed(result: Result) -> list[str]:
    helped = [(i, r) for i, r in enumerate(result.records) if r.converged and r.relaxations]
    if not helped:
        return []
    worst = max(r.stress_correction for _, r in helped)
    stages = ", ".join("the start" if i == 0 else str(i) for i, _ in helped)
    where = f"stage{'s' * (len(helped) > 1)} {stages}"
    said = f"In {where} equilibrium was found by relaxation (at most {units.number(worst, 2)} kPa of stress still moved)"
    return [f"{said}: with little dilation, movement beside the wall depends on the mesh."]


def _stalled(result: Result) -> list[str]:
    """Stages whose search stalled just above its tolerance and was let count."""
    short = {i: r.residual for i, r in enumerate(result.records) if r.converged and not r.relaxations and r.residual > SEARCHED}
    if not short:
        return []
    stages = ", ".join("the start" if i == 0 else str(i) for i in short)
    return [f"In stage{'s' * (len(short) > 1)} {stages} the search for equilibrium stalled with {1e4 * max(short.values()):.2f} ten-thousandths of the weights out of balance instead of {1e4 * SEARCHED:.0f}, which still counts (limit 2); another mesh size usually gets through."]
