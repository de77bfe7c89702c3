"""A result beside what has been measured at other excavations: how far wall and ground move, and how wide the trough is.

Bands are of records, not limits. Settlement over wall movement 0.5 to 1.0 (usual) and growing above 1 as the ground worsens: a textbook on deep excavations after
Long 2001, read at second hand. Sheet piles in soft clay 0.9 to 2.7: seven cuts of 0.91 to 2.65 in the appendix of Zhang and Liu 2022 (re-read). Wall movement
0.15 to 0.5 % of the dig depth in competent ground, about 1 % in soft clay: common practice, no source. Trough greatest within one dig depth of the wall, a
tenth left at two dig depths and nothing at four: Hsieh and Ou 1998, read at second hand.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from fesoil.case.sequence import drains, ground_level
from fesoil.case.small_strain_checks import agreement_text, layers_of
from fesoil.case.stiffness import is_small_strain
from fesoil.result.reading import Result
from fesoil.result.trust import plus_minus_of, with_bar

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


def formation(result: Result, stage: int | None = None) -> Formation | None:
    """Movements when the dig is first at its deepest, or after a ``stage``, on the side that settles most; None where nothing was dug or no wall stands then."""
    x = result.mesh.points[:, 0] + result.mesh.origin[0]
    ground = [ground_level(result.case, s, x) for s in result.situations[: len(result.records)]]
    depths = [float((ground[0] - now).max()) for now in ground]
    done = [i for i, r in enumerate(result.records) if i and r.converged]
    dug = [i for i in done if depths[i] > 1e-6]
    if not dug:
        return None
    i, before = stage or min(done, key=lambda k: (-round(depths[k], 6), k)), dug[0] - 1
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


def governing(stages: list[dict], *path: str) -> tuple[int, float] | None:
    """Number of the stage (1 is the first) with the greatest value at a path of its summary, and that value; None where no stage has it."""
    found = [(i, value) for i, stage in enumerate(stages, 1) if (value := value_at(stage, path)) is not None]
    return max(found, key=lambda item: abs(item[1]), default=None)


def value_at(stage: dict, path):
    """What stands at a path of a stage's summary, None where nothing does."""
    for key in path:
        stage = stage.get(key) if stage else None
    return stage


def ground_texts(result: Result) -> list[str]:
    """Sentences on each layer that is stiff at small strain: its stiffness, how curve and strength agree, and the sources."""
    layers = enumerate(layers_of(result.case))
    return [f"{soil.name}, {agreement_text(soil, top, under, places, first=i == 0)}" for i, (_, soil, (top, under), places) in layers]


def beside_records(result: Result) -> list[str]:
    """Sentences that set a result beside records; none where nothing was dug."""
    found = formation(result)
    if found is None:
        return []
    clay = any(is_small_strain(s) and s.drainage != "drained" for s in result.case.soils)
    share = 100 * found.wall / found.depth
    low, high = (100 * v for v in WALL_OVER_DEPTH)
    said = [
        f"With the dig at the deepest that stands (stage {found.stage}, {found.depth:.1f} m), since digging began: wall {with_bar(*_wall(result, found), 'mm')}, {share:.2f} % of the depth (records: {low:g} to {high:g} % in competent ground, "
        f"about 1 % in soft clay)."
    ]
    if found.settlement > 0 and found.wall > 0:
        usual, soft = SETTLEMENT_OVER_WALL, SOFT_CLAY_SHEET_PILES
        said.append(
            f"Settlement {with_bar(*_settlement(result, found), 'mm')}, {''.join(_share(result, found))} of the wall's movement (records: {usual[0]:g} to {usual[1]:g}; sheet piles in soft clay {soft[0]:g} to {soft[1]:g}), "
            f"greatest {found.at / found.depth:.1f} dig depths from the wall (records: within 1); of which {_left(found.two_depths, found)} at 2 dig depths (records: about 0.1), "
            f"{_left(found.four_depths, found)} at 4 (records: none), {_left(found.edge, found)} at the boundary."
        )
        if not result.situations[found.stage].seepage and _drawn_down(result, found.stage) and found.two_depths > FAR * found.settlement:
            said.append("Pumping lowers the pore pressure outside too, by the straight-line rule and not by a seepage analysis: much of what settles far from the wall is that, and is rough.")
    if result.deeper is not None and result.deeper.complete and (other := formation(result.deeper)):
        said += [_band(result, found, other), _both(result)]
        if clay:
            soft = SOFT_CLAY_SHEET_PILES
            said.append(f"In undrained ground read the settlement as too low: without volume change the trough comes out wide and shallow; beside sheet piles in soft clay {soft[0]:g} to {soft[1]:g} of the wall's movement has been measured{_times(found, other)}.")
    return said


def _wall(result: Result, found: Formation) -> tuple[str, str]:
    """Movement of the wall [mm] at formation, and its error bar."""
    return f"{1e3 * found.wall:.1f}", plus_minus_of(result, found.stage, lambda r: 1e3 * formation(r, found.stage).wall)


def _settlement(result: Result, found: Formation) -> tuple[str, str]:
    """Settlement [mm] at formation, and its error bar."""
    return f"{1e3 * found.settlement:.1f}", plus_minus_of(result, found.stage, lambda r: 1e3 * formation(r, found.stage).settlement)


def _share(result: Result, found: Formation) -> tuple[str, str]:
    """Settlement over the wall's movement at formation, and its error bar: none where either of the two has none."""
    lacking = [bar for _, bar in (_wall(result, found), _settlement(result, found)) if bar and "\u00b1" not in bar]
    return f"{_ratio(found):.2f}", lacking[0] if lacking else plus_minus_of(result, found.stage, lambda r: _ratio(formation(r, found.stage)))


def _ratio(found: Formation) -> float:
    return found.settlement / found.wall if found.wall > 0 else 0.0


def _drawn_down(result: Result, stage) -> bool:
    """Whether water stands lower than before the works somewhere, in a section with ground that drains."""
    first, now = result.situations[0].water, result.situations[stage].water
    lower = any(b is None or b < a - 1e-6 for a, b in zip(first, now) if a is not None)
    return lower and any(drains(s, result.situations[stage]) for s in result.case.soils)


def _left(settlement, found: Formation) -> str:
    return "not reached" if np.isnan(settlement) else f"{settlement / found.settlement:.2f}"


def _band(result: Result, found: Formation, other: Formation) -> str:
    """Movements for both depths of the rigid base."""
    section, both = result.case.section, [(result, found), (result.deeper, other)]
    rising = sorted(both, key=lambda pair: pair[1].settlement)
    walls, settlements, ratios = (["".join(text(*pair)) for pair in pairs] for text, pairs in ((_wall, both), (_settlement, rising), (_share, rising)))
    return (
        f"Rigid base at {section.bottom_level:g} and at {section.deeper_bottom_level:g} m: wall {' and '.join(walls)} mm, settlement {' to '.join(settlements)} mm, "
        f"{' to '.join(ratios)} of the wall's movement, with {1e3 * found.edge:.1f} and {1e3 * other.edge:.1f} mm left at the boundary. Read it as a band."
    )


def _both(result: Result) -> str:
    """Greatest moments, frame loads and safety factors for both depths of the rigid base."""
    both = (result, result.deeper)
    numbers = [(f"moment of wall {wall.name}", ("walls", wall.name, "max_moment_kNm_per_m"), "kN m/m") for wall in result.case.walls]
    numbers += [(name, ("frames", name, "load_kN_per_m"), "kN/m") for name in result.frames.names]
    pairs = [(name, [_greatest(r, path, unit) for r in both]) for name, path, unit in numbers]
    for i, records in enumerate(zip(*(r.stages for r in both)), 1):
        if all(r.reduction.get("factor") for r in records):
            factors = [f"{r.stages[i - 1].reduction['factor']:.2f}{r.plus_minus(i, 'safety_factor')}" for r in both]
            pairs.append((f'safety factor of "{records[0].name}"', factors))
    said = "; ".join(f"{name} {a} and {b}" for name, (a, b) in pairs)
    return f"Likewise: {said}. The tables above are of the first base: take the worse of the two."


def _greatest(result: Result, path, unit) -> str:
    """The greatest of a headline number over all stages with its error bar."""
    i, value = governing(result.summary()["stages"], *path) or (None, 0.0)
    return with_bar(f"{value:.0f}", result.plus_minus(i, *path) if i else "", unit)


def _times(found: Formation, other: Formation) -> str:
    """How many times as much that is, where it is more."""
    ratios = sorted(_ratio(v) for v in (found, other) if v.wall > 0 and v.settlement > 0)
    low, high = SOFT_CLAY_SHEET_PILES
    return f", {low / ratios[-1]:.1f} to {high / ratios[0]:.1f} times as much" if ratios and low > ratios[-1] else ""
