"""A result beside what has been measured at other excavations: how far wall and ground move, and how wide the trough is.

Bands are of records, not limits. Settlement over wall movement 0.5 to 1.0 (usual) and growing above 1 as the ground worsens: a textbook on deep excavations after
Long 2001, read at second hand. Sheet piles in soft clay 0.9 to 2.7: seven cuts of 0.91 to 2.65 in the appendix of Zhang and Liu 2022 (re-read). Wall movement
0.15 to 0.5 % of the dig depth in competent ground, about 1 % in soft clay: common practice, no source. Trough greatest within one dig depth of the wall, a
tenth left at two dig depths and nothing at four: Hsieh and Ou 1998, read at second hand.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from fesoil.case.sequence import ground_level
from fesoil.case.small_strain_checks import agreement_text, layers_of
from fesoil.case.stiffness import is_small_strain
from fesoil.result.reading import Result

SETTLEMENT_OVER_WALL = (0.5, 1.0)
SOFT_CLAY_SHEET_PILES = (0.9, 2.7)
WALL_OVER_DEPTH = (0.0015, 0.005)

FAR = 0.3
"""Share of the settlement left at two dig depths, three times that of records, from which drawdown is named as a cause (a choice of ours)."""


class Formation(NamedTuple):
    """The moment at which the dig first is at its deepest: ``stage`` number; ``depth`` of the dig; and, since just before the first dig so that loads put on before it do not
    count, ``wall`` greatest movement; ``settlement`` greatest outside, ``at`` its distance from the wall, ``two_depths`` and ``four_depths`` what is left there, ``edge`` at the
    boundary; all [m], nan beyond the boundary."""

    stage: int
    depth: float
    wall: float
    settlement: float
    at: float
    two_depths: float
    four_depths: float
    edge: float


def formation(result: Result) -> Formation | None:
    """Movements when the dig is first at its deepest, on the side that settles most; None where nothing was dug or no wall stands then."""
    x = result.mesh.points[:, 0] + result.mesh.origin[0]
    ground = [ground_level(result.case, s, x) for s in result.situations[: len(result.records)]]
    depths = [float((ground[0] - now).max()) for now in ground]
    done = [i for i, r in enumerate(result.records) if i and r.converged]
    dug = [i for i in done if depths[i] > 1e-6]
    if not dug:
        return None
    i, before = min(done, key=lambda k: (-round(depths[k], 6), k)), dug[0] - 1
    moved = [_moved(result.wall(w.name), before, i) for w in result.case.walls if w.name in result.situations[i].toes]
    if not moved:
        return None
    depth, best = depths[i], None
    for side in ("right",) if result.case.section.half else ("left", "right"):
        trough = result.settlement(side)
        settled, distance = trough.settlement[i - 1] - (trough.settlement[before - 1] if before else 0.0), trough.distance
        if len(settled) and (best is None or settled.max() > best.settlement):
            two, four = np.interp([2 * depth, 4 * depth], distance, settled, right=np.nan)
            best = Formation(i, depth, max(moved), float(settled.max()), float(distance[np.argmax(settled)]), float(two), float(four), float(settled[-1]))
    return best


def _moved(wall, before, i) -> float:
    """Greatest movement [m] of a wall from stage ``before`` to stage ``i``, all of it where it was driven later."""
    then, now = wall.lines[before - 1] if before else None, wall.lines[i - 1]
    start = 0.0 if then is None else np.interp(-now.level, -then.level, then.deflection)
    return float(np.abs(now.deflection - start).max())


def ground_texts(result: Result) -> list[str]:
    """Sentences on each layer that is stiff at small strain: its stiffness, how curve and strength agree, and the sources."""
    return [f"{soil.name}, {agreement_text(soil, top, under, places)}" for _, soil, (top, under), places in layers_of(result.case)]


def beside_records(result: Result) -> list[str]:
    """Sentences that set a result beside records; none where nothing was dug."""
    found = formation(result)
    if found is None:
        return []
    clay = any(is_small_strain(s) and s.drainage == "undrained" for s in result.case.soils)
    share = 100 * found.wall / found.depth
    low, high = (100 * v for v in WALL_OVER_DEPTH)
    said = [
        f"With the dig at the deepest that stands (stage {found.stage}, {found.depth:.1f} m), since digging began: wall {1e3 * found.wall:.1f} mm, {share:.2f} % of the depth (records: {low:g} to {high:g} % in competent ground, "
        f"about 1 % in soft clay)."
    ]
    if found.settlement > 0 and found.wall > 0:
        usual, soft = SETTLEMENT_OVER_WALL, SOFT_CLAY_SHEET_PILES
        said.append(
            f"Settlement {1e3 * found.settlement:.1f} mm, {found.settlement / found.wall:.2f} of the wall's movement (records: {usual[0]:g} to {usual[1]:g}; sheet piles in soft clay {soft[0]:g} to {soft[1]:g}), "
            f"greatest {found.at / found.depth:.1f} dig depths from the wall (records: within 1); of which {_left(found.two_depths, found)} at 2 dig depths (records: about 0.1), "
            f"{_left(found.four_depths, found)} at 4 (records: none), {_left(found.edge, found)} at the boundary."
        )
        if _drawn_down(result, found.stage) and found.two_depths > FAR * found.settlement:
            said.append("Pumping lowers the pore pressure outside too, by the straight-line rule and not by a seepage analysis: much of what settles far from the wall is that, and is rough.")
    if result.deeper is not None and result.deeper.complete and (other := formation(result.deeper)):
        said += [_band(result, found, other), _both(result)]
        if clay:
            soft = SOFT_CLAY_SHEET_PILES
            said.append(f"In undrained ground read the settlement as too low: without volume change the trough comes out wide and shallow; beside sheet piles in soft clay {soft[0]:g} to {soft[1]:g} of the wall's movement has been measured{_times(found, other)}.")
    return said


def _drawn_down(result: Result, stage) -> bool:
    """Whether water stands lower than before the works somewhere, in a section with ground that drains."""
    first, now = result.situations[0].water, result.situations[stage].water
    lower = any(b is None or b < a - 1e-6 for a, b in zip(first, now) if a is not None)
    return lower and any(s.drainage == "drained" for s in result.case.soils)


def _left(settlement, found: Formation) -> str:
    return "not reached" if np.isnan(settlement) else f"{settlement / found.settlement:.2f}"


def _band(result: Result, found: Formation, other: Formation) -> str:
    """Movements for both depths of the rigid base."""
    section = result.case.section
    low, high = sorted(1e3 * v.settlement for v in (found, other))
    ratios = sorted(v.settlement / v.wall if v.wall > 0 else 0.0 for v in (found, other))
    return (
        f"Rigid base at {section.bottom_level:g} and at {section.deeper_bottom_level:g} m: wall {1e3 * found.wall:.1f} and {1e3 * other.wall:.1f} mm, settlement {low:.1f} to {high:.1f} mm, "
        f"{ratios[0]:.2f} to {ratios[1]:.2f} of the wall's movement, with {1e3 * found.edge:.1f} and {1e3 * other.edge:.1f} mm left at the boundary. Read it as a band."
    )


def _both(result: Result) -> str:
    """Greatest moments, frame loads and safety factors for both depths of the rigid base."""
    pairs, both = [], (result, result.deeper)
    for wall in result.case.walls:
        values = [max((float(np.abs(line.moment).max()) for line in r.wall(wall.name).lines if line is not None), default=0.0) for r in both]
        pairs.append((f"moment of wall {wall.name}", values, "kN m/m", 0))
    for i, name in enumerate(result.frames.names):
        values = [float(np.nanmax(r.frames.loads[:, i], initial=0.0)) for r in both]
        pairs.append((name, values, "kN/m", 0))
    for records in zip(*(r.records for r in both)):
        if all(r.reduction.get("factor") for r in records):
            pairs.append((f'safety factor of "{records[0].name}"', [r.reduction["factor"] for r in records], "", 2))
    said = "; ".join(f"{name} {a:.{digits}f} and {b:.{digits}f} {unit}".rstrip() for name, (a, b), unit, digits in pairs)
    return f"Likewise: {said}. The tables above are of the first base: take the worse of the two."


def _times(found: Formation, other: Formation) -> str:
    """How many times as much that is, where it is more."""
    ratios = sorted(v.settlement / v.wall for v in (found, other) if v.wall > 0 and v.settlement > 0)
    low, high = SOFT_CLAY_SHEET_PILES
    return f", {low / ratios[-1]:.1f} to {high / ratios[0]:.1f} times as much" if ratios and low > ratios[-1] else ""
