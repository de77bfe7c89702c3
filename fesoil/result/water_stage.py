"""The water of a stage as a whole: what flows, what the checks say, how long until it floods, and what drawdown does to the ground outside."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

import numpy as np

from fesoil.case.column import column_at
from fesoil.case.model import Case
from fesoil.case.sequence import Situation, cofferdams, ground_level, start_of, zone_of, zones
from fesoil.checks import level
from fesoil.checks.drawdown import Settlement, drawdown_settlement
from fesoil.checks.hydraulic import LUMPED, TOTAL, straight_line
from fesoil.result.water import BESIDE, FLAT, Found, Plan, Side, bare, creep, excess_head, feeding_levels, gradients, heave, in_plan, into_drain, lifted, sides, slabs
from fesoil.water.hydrostatic import pore_pressure
from fesoil.water.seepage import Seepage

HOUR = 3600.0
RISE = 1.0
"""Rise of water in a pit [m] whose time is told, should the pumps stop (a choice)."""

DISTANCES = (0.0, 0.5, 1.0, 2.0, 4.0)
"""Distances from the outermost walls, in depths of the dig, at which drawdown settlement is told (a choice)."""

STEP = 0.25
"""Spacing [m] of the levels at which pore pressure is read down a column."""


@dataclass(frozen=True)
class StageWater:
    """Water after a stage with seepage.

    ``inflow`` by pit [m3/s for each metre run of the whole section], ``in_plan`` [m3/s] of the pit with its plan size, None where that is not known; ``wells`` [m3/s per m]; ``balance``;
    ``checks``; ``remarks``; ``drawdown`` (side, distance [m], Settlement).
    """

    inflow: dict[str, float]
    in_plan: dict[str, float | None]
    wells: dict[str, float]
    balance: float
    checks: tuple[Found, ...]
    remarks: tuple[str, ...]
    drawdown: tuple[tuple[str, float, Settlement], ...]


def stage_water(case: Case, now: Situation, water: Seepage) -> StageWater:
    """Water in a situation with its steady seepage."""
    walls = sides(case, now)
    there = [side for side in walls if not side.is_bare]
    plans = {side.wall: in_plan(case, now, side, water) for side in there}
    checks = [found for side in there for check in (heave, gradients) for found in check(case, now, side, water, plans[side.wall])]
    checks += [found for side in there for found in (*creep(case, now, side), *lifted(case, now, side, water))] + slabs(case, now, water)
    checks += [found for side in walls if side.is_bare for found in bare(case, side)]
    times = 2 if case.section.half else 1
    pits = {side.pit: side for side in there}
    inflow = {side.pit: times * water.out[side.pit] for side in walls}
    whole = {pit: _whole(inflow[pit], times * water.through_walls[pit], pits[pit], plans[pits[pit].wall]) if pit in pits else None for pit in inflow}
    rising = {pit: q + times * _of_wells(case, now, water, pit) for pit, q in inflow.items()}
    wells = {name: times * q for name, q in water.out.items() if name in now.wells}
    remarks = [text for side in there for text in (*_remarks(case, now, side, water, plans[side.wall], rising[side.pit]), *_to_act(case, now, side, checks))]
    remarks += _on_the_section(case, now)
    depth = max((side.ground_outside - side.floor for side in there), default=0.0)
    return StageWater(inflow, whole, wells, water.balance, tuple(dict.fromkeys(checks)), tuple(dict.fromkeys(remarks)), tuple(_drawdown(case, now, water, depth)))


def _on_the_section(case: Case, now: Situation):
    """Sentences on what the checks of all walls leave out."""
    levels, pits = feeding_levels(case, now), cofferdams(case)
    outside = max(feeds for feeds, zone in zip(levels, zones(case)) if zone.name not in pits)
    for zone, inside in zip(zones(case), now.water):
        if zone.name in pits and inside is not None and inside > outside + FLAT:
            yield f"Water stands higher in pit {zone.name} than outside: what it does to the ground outside is not checked."
    if case.water.far_boundary == "closed":
        yield "The sides of the section are closed: heads are those of the end, when the ground has drained. They are greatest at first, and heave then is not checked."


def _of_wells(case: Case, now: Situation, water: Seepage, pit) -> float:
    """What wells within a pit take [m3/s per m of the section]: should the pumps stop, it comes into the pit."""
    names = [zones(case)[int(zone_of(case, well.x))].name for well in case.wells]
    return sum(water.out[well.name] for well, name in zip(case.wells, names) if name == pit and well.name in now.wells)


def _whole(inflow, through_walls, side: Side, plan: Plan) -> float | None:
    """Flow into the whole pit [m3/s]: that of the ground by the flow in space, that through the two walls of the section [m3/s per m] by the perimeter."""
    if plan.inflow is None:
        return None
    return (inflow - through_walls) * plan.inflow * max(side.length, side.across) + through_walls * (side.length + side.across)


def _remarks(case: Case, now: Situation, side: Side, water: Seepage, plan: Plan, inflow):
    """Sentences on one wall: the straight-line path, the plan size, the level to act, the time to flood."""
    computed = excess_head(water, side, side.toe)
    if np.isfinite(computed) and side.head > FLAT and side.exit > side.toe and min(side.ground_outside, side.outside) > side.toe:
        path = straight_line(side.head, side.exit - side.toe, min(side.ground_outside, side.outside) - side.toe, computed)
        yield f"Excess head at the toe of wall {side.wall}: {path.words}."
    if side.exit <= side.toe + FLAT:
        yield f"Pit {side.pit} is pumped to {side.inside:.2f} m, at or below the toe of wall {side.wall}: HEAVE IS NOT CHECKED there; the water inside must stand above the toe for these checks."
    gradient = into_drain(case, now, water, side, plan)
    if gradient is not None and gradient > 0:
        yield (f"Pit {side.pit} is pumped to {side.inside:.2f} m, {side.floor - side.inside:.2f} m below its floor: a drain across it is taken to hold that level. Water enters it with a gradient of up to "
               f"{gradient:.2f}: it must be a filter, or the ground washes out.")
    if plan.factors is None:
        yield f"Pit {side.pit}: {plan.why}, so heads are those of a long trench; in a pit that is small in plan they are up to 1.7 times as high, and these checks do not cover it."
    else:
        f = plan.factors
        yield (f"Plan of pit {side.pit}, {side.length:g} m by {side.across:g} m: heads under the prism {f.long_side:.2f} times (long side), {f.short_side:.2f} times (short side) and {f.corner:.2f} times "
               f"(corner) those of the section (\u00b1 {f.error:.2f}).")
    if (leaks := water.through_walls[side.pit]) > 0.05 * water.out[side.pit] > 0:
        yield f"Of the flow into pit {side.pit} {100 * min(leaks / water.out[side.pit], 1.0):.0f} % comes through its walls; whether it carries ground with it is not checked."
    yield f"Top of wall {side.wall} {level.freeboard(_top(case, side), side.outside, 0.0).height:.2f} m above the water outside."
    if inflow > 0:
        area, end = _area(case, side), min(side.inside + RISE, side.highest - FLAT)
        seconds = level.time_at_constant_inflow(side.inside, end, area, inflow * (1.0 if plan.inflow is None else plan.inflow * max(side.length, side.across) / side.length))
        yield f"Should the pumps stop, water rises the first {end - side.inside:.1f} m in pit {side.pit} in {_time(seconds)} at the inflow of now, that of its wells with it (free water; in the pores below the floor faster)."


def _area(case: Case, side: Side) -> float:
    """Area of free water in a pit for each metre run of the whole section [m2]: of all its strips."""
    return (2 if case.section.half else 1) * sum(z.x1 - z.x0 for z in zones(case) if z.name == side.pit)


def _top(case: Case, side: Side) -> float:
    return next(w.top_level for w in case.walls if w.name == side.wall)


def _time(seconds) -> str:
    """A time as a site would say it."""
    for size, unit in ((86400.0, "days"), (HOUR, "hours"), (60.0, "minutes")):
        if seconds >= 2 * size:
            return f"{seconds / size:.0f} {unit}"
    return f"{seconds:.0f} seconds"


def _to_act(case: Case, now: Situation, side: Side, checks: list[Found]):
    """The level outside at which the wall's worst check of heave by its seepage force, or of the exit gradient, is just satisfied; neither changes its resistance with that level.

    The head grows with that level in proportion only where nothing else feeds or drains the ground: not with wells in use, nor where the water comes from further off.
    """
    mine = [f for f in checks if f"wall {side.wall}," in f.place and "total stress" not in f.check.name and f.check.action > 0 and ("heave" in f.check.name or "gradient" in f.check.name)]
    if not mine or now.wells or side.outside < side.highest - FLAT or side.head <= FLAT:
        return
    worst = max(mine, key=lambda f: f.check.utilisation)
    at, top = side.inside + level.head_to_act(worst.check, side.head), _top(case, side)
    said = f"is just satisfied with the water outside at {at:.2f} m" if at < top else f"is satisfied with the water outside at the top of the wall, {top:.2f} m"
    yield (f"Level to act, by the seepage force and the exit gradient alone (total stress, uplift, slabs and the wall itself may ask for a lower one): {worst.check.name} at {worst.place} {said} "
           f"(now {side.outside:.2f} m, inside {side.inside:.2f} m).")


def _drawdown(case: Case, now: Situation, water: Seepage, depth):
    """(side, distance, settlement) outside the outermost walls, at ``DISTANCES`` in terms of a depth [m]."""
    xs = [w.x for w in case.walls] if depth > 0 else []
    for side, edge, sign in (("left", min(xs), -1), ("right", max(xs), 1)) if xs else ():
        if side == "left" and case.section.half:
            continue
        if now.water[0 if sign < 0 else -1] is None or now.water[0 if sign < 0 else -1] > float(ground_level(case, now, np.array([edge + sign * BESIDE]))[0]):
            continue  # the bed of free water: no neighbour stands there
        limit = water.mesh.box[0 if sign < 0 else 1] + water.mesh.origin[0]
        for times in DISTANCES:
            x = edge + sign * max(times * depth, 2e-3)
            if (limit - x) * sign > 0:
                yield side, abs(x - edge), column_settlement(case, now, water, x)


def column_settlement(case: Case, now: Situation, water: Seepage, x) -> Settlement:
    """Settlement by drawdown of the column of ground at x [m], from before the works."""
    first, bottom = start_of(case), water.mesh.box[2] + water.mesh.origin[1]
    top = float(ground_level(case, now, np.array([x]))[0])
    levels, material = column_at(case, now, x).between(top, bottom)
    marks = np.unique(np.concatenate([np.linspace(a, b, max(int(np.ceil((a - b) / STEP)), 1) + 1) for a, b in zip(levels, levels[1:])]))[::-1]
    middle = (marks[1:] + marks[:-1]) / 2
    of = material[np.searchsorted(-levels, -middle) - 1]
    moduli = np.array([_modulus(s) for s in case.soils] + [np.nan])[of]
    zone, places = zone_of(case, np.full(len(marks), x)), np.full(len(marks), x)
    before = pore_pressure(case, first, zone, places, marks)
    inside = np.clip(marks, bottom + FLAT, top - FLAT)
    head = water.head_at(places, inside)
    known = np.isfinite(head)
    fall = before[known] - case.water.unit_weight * np.maximum(head[known] - marks[known], 0.0)
    # ground that does not drain now does so in time: linear from what falls beneath it to what falls above, nothing at the top
    after = before - np.interp(marks, np.append(marks[known][::-1], top + STEP), np.append(fall[::-1], 0.0)) if np.any(known) else before
    after = np.where(np.abs(before - after) < 1e-3 * case.water.unit_weight, before, after)  # a millimetre of head is none
    return drawdown_settlement(marks, before, after, moduli)


def _modulus(soil) -> float:
    value = soil.stiffness.compression_modulus
    return np.nan if value is None else value


def as_plain(found: StageWater) -> dict:
    """The water of a stage for ``summary.json``; flows in m3/h."""
    checks = [
        {"place": f.place, "check": f.check.name, "action": f.check.action, "resistance": f.check.resistance, "unit": f.check.unit, "required": f.check.required,
         "factor": _finite(f.check.factor), "utilisation": _finite(f.check.utilisation), "holds": f.check.holds, "covers_plan": f.is_whole, "words": f.check.words}
        for f in found.checks
    ]  # fmt: skip
    places = {name: {"inflow_m3_per_h_per_m": HOUR * q} for name, q in (found.inflow | found.wells).items()}
    for pit, q in found.in_plan.items():
        places[pit] |= {} if q is None else {"inflow_m3_per_h": HOUR * q}
        if (factor := heave_factor(found, pit)) is not None:
            places[pit]["heave_factor"] = factor
    return {
        "places": places, "balance": found.balance, "checks": checks, "remarks": list(found.remarks),
        "drawdown": [{"side": side, "distance_m": x, "settlement_mm": _finite(1e3 * s.total)} for side, x, s in found.drawdown],
    }  # fmt: skip


def heave_factor(found: StageWater, pit: str) -> float | None:
    """Least lumped factor against heave beside the sheets of a pit; None where nothing heaves."""
    lumped = [f.check.factor for f in found.checks if f.pit == pit and f.check.name == LUMPED and np.isfinite(f.check.factor)]
    return min(lumped, default=None)


def _finite(value) -> float | None:
    return float(value) if np.isfinite(value) else None


def governing(found: StageWater) -> list[Found]:
    """The worst check of each kind in which water acts at all, the worst first."""
    worst = {}
    for f in found.checks:
        if not f.check.utilisation:
            continue
        if f.check.name not in worst or f.check.utilisation > worst[f.check.name].check.utilisation:
            worst[f.check.name] = f
    return sorted(worst.values(), key=lambda f: -f.check.utilisation)


def check_text(found: Found) -> str:
    """One check in a sentence."""
    check = found.check
    if check.required == 1.0:
        share = f"uses {100 * check.utilisation:.0f} %"
    else:
        share = f"factor {check.factor:.2f}, {check.required:g} wanted ({100 * check.utilisation:.0f} %)"
    verdict = "" if check.holds and found.is_whole else ", for a long trench only" if check.holds else " - NOT SATISFIED"
    return f"{check.name} ({found.place}): {share}{verdict}; {check.words}"


def _hourly(q, decimals=2) -> str:
    """A flow [m3/h] in words, no minus sign before nothing."""
    return f"{round(HOUR * q, decimals) + 0.0:.{decimals}f} m3/h"


def stage_texts(found: StageWater, bar=lambda *path: "") -> list[str]:
    """What a stage's water comes to, in sentences: flow, the worst of each kind of check, remarks, drawdown; ``bar`` gives the error bar of a number by its place and key."""
    said = []
    for pit, q in found.inflow.items():
        plan = found.in_plan[pit]
        flow = f"Flow into pit {pit} {_hourly(q)}{bar(pit, 'inflow_m3_per_h_per_m')} for each metre run"
        said.append(flow + (f", {_hourly(plan, 1)} for its plan." if plan is not None else "."))
        if (factor := heave_factor(found, pit)) is not None and (error := bar(pit, "heave_factor")):
            said.append(f"Lumped factor against heave of pit {pit}, at its worst: {factor:.2f}{error}.")
    said += [f"{name} take {_hourly(q)}{bar(name, 'inflow_m3_per_h_per_m')} for each metre run." for name, q in found.wells.items()]
    said += [check_text(f) + "." for f in governing(found)]
    return said + list(found.remarks) + _drawdown_texts(found)


def _drawdown_texts(found: StageWater) -> list[str]:
    """Settlement by drawdown on each side, where there is any."""
    said = []
    for side in dict.fromkeys(s for s, _, _ in found.drawdown):
        rows = [(x, s) for which, x, s in found.drawdown if which == side]
        if any(np.isnan(s.total) for _, s in rows):
            said.append(f"The water table falls on the {side}: settlement by drawdown is not known; give compression_modulus in the stiffness of the soils there.")
        elif any(s.total > 5e-4 for _, s in rows):
            said.append(f"Settlement by drawdown on the {side}, beside that of the digging: " + ", ".join(f"{1e3 * s.total:.0f} mm at {x:.0f} m" for x, s in rows) + ".")
    return said


def water_texts(records, waters, bar=lambda *path: "") -> list[str]:
    """What the water of all stages comes to: the stage in which a check comes off worst in full, a line on the others. ``records`` and ``waters`` by stage, the start first; ``bar`` gives
    the error bar of a number by stage, place and key."""
    told = [(i, found) for i, found in enumerate(waters) if found is not None]
    if not told:
        return []
    worst, found = max(told, key=lambda item: (_worst(item[1]), sum(item[1].inflow.values())))
    said = [f'Water, stage {worst} "{records[worst].name}", in which it comes off worst:', *stage_texts(found, partial(bar, worst))]
    for i, other in told:
        if i != worst:
            flows = ", ".join(f"{name} {_hourly(q)}" for name, q in (other.inflow | other.wells).items())
            carried = f"{flows} for each metre run" if flows else "no flow into a pit"
            first = next(iter(governing(other)), None)
            said.append(f"Water, stage {i}: {carried}" + (f"; worst {first.check.name}, {100 * first.check.utilisation:.0f} %." if first else "."))
    return said


def _worst(found: StageWater) -> float:
    return max((f.check.utilisation for f in found.checks if f.check.name != TOTAL), default=0.0)


def water_doubts(records, waters) -> list[str]:
    """Checks that are not satisfied, each where it comes off worst, and those that do not cover the plan of the pit."""
    told = [(i, f) for i, found in enumerate(waters) if found is not None for f in governing(found)]
    worst = {f.check.name: (i, f) for i, f in sorted(told, key=lambda item: item[1].check.utilisation)}
    failed = {name: f"{name}, {100 * f.check.utilisation:.0f} % (stage {i}, {f.place})" for name, (i, f) in reversed(worst.items()) if not f.check.holds}
    strict = failed.pop(TOTAL, None)
    said = [f"WATER IS NOT SATISFIED: {'; '.join(failed.values())}."] if failed else []
    if strict:
        said.append(f"Form (2.9a) of EN 1997-1:2004 with its factor on the whole pore pressure, which few deep pits satisfy, is not satisfied: {strict}. Agree which reading holds.")
    partly = sorted({i for i, f in told if not f.is_whole})
    if partly:
        said.append(f"Water: heave and exit gradient in stages {', '.join(map(str, partly))} are checked for a long trench only; in a pit that is small in plan heads are up to 1.7 times as high.")
    return said
