"""How far off the headline numbers of a result are because of its mesh: the same analysis on a coarser and on a finer mesh.

Meshes of n triangles have the relative size n^(-1/2). From the values on three of them, `error_bar` gives

- the *difference* that refinement makes, finer mesh less this one;
- an *estimate* for an infinitely fine mesh (Richardson 1911): with the order of convergence that the three show, within ``LEAST_ORDER`` and 2, and with order 1
  where they go to and fro. Order 1 is that of limit loads and of what hangs on a toe or an edge;
- a *bar*: how far this mesh may be off, ``SAFETY`` (Roache 1994) times the greater of the corrections that the two differences suggest.

Both sources from memory. A bar says nothing of the soil's parameters or of the model, and it is no bound: three meshes can agree by chance.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from fesoil.case.soil import Soil
from fesoil.case.stiffness import is_small_strain
from fesoil.errors import ResultError

SAFETY = 1.25
LEAST_ORDER = 0.5
UNSETTLED = 0.02
"""Share of a number by which refinement must change it, one way and each time more, for it to be said not to converge (a choice of ours)."""

NEXT_TO_NONE = np.radians(1.0)
"""Dilation [rad] below which bands of shear are taken to form as without any (a choice of ours)."""

LEAST_YIELD = 0.005
"""Share of all ground that must have come to yield for that to matter (a choice of ours)."""

MOSTLY = 0.5
"""Share of what yields that lies in ground without a limit, from which numbers are taken to have none (a choice of ours)."""

HEADLINES = {
    "max_deflection_mm": "deflection", "max_moment_kNm_per_m": "moment", "max_shear_kN_per_m": "shear", "load_kN_per_m": "load", "max_settlement_mm": "settlement",
    "base_heave_mm": "heave", "safety_factor": "safety factor", "inflow_m3_per_h_per_m": "inflow", "heave_factor": "factor against heave",
}  # fmt: skip
"""Keys of the numbers that tables and pictures show, in words."""

SAME = 1e-8
"""Error bar [mm, kN, kN m] below which a number is the same on all meshes: it was prescribed, as a load held constant, or is nothing."""

PLACES = ("_level_m", "_distance_m")
"""Ends of the keys that are places, whose jumps mean nothing."""


class Bar(NamedTuple):
    """``difference`` finer mesh less this one, ``estimate`` for an infinitely fine mesh, ``bar`` either way; the last two None where the number does not converge."""

    difference: float
    estimate: float | None
    bar: float | None


def error_bar(triangles, values, has_limit: bool = True) -> Bar:
    """Error of the middle one of three meshes.

    Parameters
    ----------
    triangles : (3,) numbers of triangles, growing.
    values : (3,) the number on each mesh.
    has_limit : whether refinement can be expected to lead anywhere.
    """
    size = np.asarray(triangles, float) ** -0.5
    first, second = (float(b - a) for a, b in zip(values, values[1:]))
    if first == second == 0:
        return Bar(0.0, float(values[1]), 0.0)
    ratio = size[:2] / size[1:]
    if not has_limit or np.any(ratio <= 1):
        return Bar(second, None, None)
    order = _order(first, second, ratio)
    if order < 0 and abs(second) > UNSETTLED * abs(values[1]):
        return Bar(second, None, None)
    believed = float(np.clip(order, LEAST_ORDER, 2.0))
    steps = np.array([first / (ratio[0] ** believed - 1), second / (1 - ratio[1] ** -believed)])  # what either difference says is left from this mesh on
    return Bar(second, float(values[1] + steps[1]), SAFETY * float(np.abs(steps).max()))


ORDERS = np.linspace(-4.0, 4.0, 1601)[np.arange(1601) != 800]
"""Orders of convergence that are told apart; not 0, which is no law of a power."""


def _order(first, second, ratio) -> float:
    """Order of convergence p of the errors h^p that two differences on end show, for meshes whose sizes fall by ``ratio`` (2,); 1 where they go to and fro or do not
    differ. Negative where the differences grow although the meshes become finer."""
    if first * second <= 0:
        return 1.0
    shares = (ratio[0] ** ORDERS - 1) / (1 - ratio[1] ** -ORDERS)  # first over second of a power law, growing with its order
    return float(np.interp(first / second, shares, ORDERS))


def trust_of(result) -> dict | None:
    """Errors of the headline numbers of a result that has a coarser and a finer companion, with the keys of ``trust`` in ``summary.json``; None without them.

    Each number stands where ``Result.summary`` has it, stage by stage, as ``difference``, ``estimate`` and ``bar`` in its own unit; without them where a companion found no equilibrium.
    ``no_limit_because_of`` names the soils in which refinement has no limit, from the stage on in which they first yield.
    """
    if result.coarser is None or result.finer is None:
        return None
    three = (result.coarser, result, result.finer)
    triangles = [len(r.mesh.triangles) for r in three]
    pieces = [[r.stage_summary(i) for i in range(1, len(r.records))] for r in three]
    stages, loose = [], []
    for i, stage in enumerate(pieces[1]):
        both = [piece[i] if i < len(piece) else {"converged": False} for piece in (pieces[0], pieces[2])]
        lost = [name for name, other in zip(("coarser mesh", "finer mesh"), both) if stage["converged"] and not other["converged"]]
        loose = loose + [name for name in without_limit(result, i + 1) if name not in loose]  # a stage starts from what the one before it left
        found = {} if lost else _bars((both[0], stage, both[1]), triangles, not loose)
        if not lost and "water" in stage:  # the flow does not depend on what yields
            found["water"] = _leaves([s["water"] for s in (both[0], stage, both[1])], triangles, True)
        if not lost and "safety_factor" in stage:
            found["safety_factor"] = _factor_bar((both[0], stage, both[1]), triangles, not without_limit(result, i + 1, searched=True))
        stages.append({"name": stage["name"], "no_equilibrium_on": lost, "no_limit_because_of": loose} | found)
    sizes = [round(r.mesh.size, 4) for r in three]
    return {"triangles": triangles, "element_size_m": sizes, "stages": stages}


def _bars(three, triangles, has_limit) -> dict:
    """Bars of the numbers of a stage's summary on three meshes."""
    return {key: _leaves([t.get(key, {}) for t in three], triangles, has_limit) for key in ("walls", "frames", "ground")}


def _factor_bar(three, triangles, has_limit) -> dict:
    """Bar of a safety factor, with the bracket of its search in it; none where a search found no factor or came to no end."""
    searches = [t["strength_reduction"] for t in three]
    if any(s["factor"] is None or s["failed"] is None or not s["decided"] for s in searches):
        return Bar(None, None, None)._asdict() | {"search": "without a factor or without an end on one of the meshes"}
    found = error_bar(triangles, [s["factor"] for s in searches], has_limit)
    bracket = max(s["failed"] - s["factor"] for s in searches)
    return found._replace(bar=None if found.bar is None else found.bar + bracket)._asdict()


def _leaves(three, triangles, has_limit) -> dict:
    found = {}
    for key, value in three[1].items():
        values = [t.get(key) for t in three]
        if isinstance(value, dict):
            found[key] = _leaves([v or {} for v in values], triangles, has_limit)
        elif all(isinstance(v, (int, float)) for v in values) and not key.endswith(PLACES):
            found[key] = error_bar(triangles, [float(v) for v in values], has_limit)._asdict()
    return found


def plus_minus(result, stage: int, *path: str) -> str:
    """The bar of a number as text to stand behind it, with its own space before: see `Result.plus_minus`."""
    summary = result.stage_summary(stage)
    if not summary["converged"]:
        return ""
    _number_at(summary, path)
    if result.trust is None:
        return ""
    found = result.trust["stages"][stage - 1]
    if found["no_equilibrium_on"]:
        return " (no error bar)"
    for key in path:
        found = found.get(key, {})
    if "bar" not in found:
        return ""
    return " (no error bar)" if "search" in found else _bar_text(found)


def plus_minus_of(result, stage: int, read) -> str:
    """As `plus_minus`, for a number that is not in the summary: ``read`` takes it from a result."""
    if result.trust is None:
        return ""
    found = result.trust["stages"][stage - 1]
    if found["no_equilibrium_on"]:
        return " (no error bar)"
    values = [read(r) for r in (result.coarser, result, result.finer)]
    return _bar_text(error_bar(result.trust["triangles"], values, not found["no_limit_because_of"])._asdict())


def _bar_text(error: dict) -> str:
    if is_prescribed(error):
        return ""
    return " (does not converge with the mesh)" if error["bar"] is None else f" \u00b1 {rounded(error['bar'])}"


def is_prescribed(error: dict) -> bool:
    """Whether a number with this error is the same on all meshes, so that a bar means nothing."""
    return error.get("bar") is not None and error["bar"] < SAME


def _number_at(summary: dict, path) -> None:
    """Follows keys through the summary of a stage.

    Raises
    ------
    ResultError
        Where they do not end at a number; it names the keys that are there.
    """
    at, where = summary, f'stage "{summary["name"]}"'
    for key in path:
        if not isinstance(at, dict) or key not in at:
            raise ResultError(f"no {key!r} in {where}; {_keys(at)}")
        at, where = at[key], f"{where}, {key!r}"
    if isinstance(at, (dict, str)):
        raise ResultError(f"{where} is no number; {_keys(at)}")


def _keys(found) -> str:
    return f"it has {', '.join(found)}" if isinstance(found, dict) and found else "it has no keys"


def with_bar(value: str, bar: str, unit: str) -> str:
    """A number with its error bar and unit; that it has none is said behind the unit."""
    return f"{value}{bar} {unit}" if "\u00b1" in bar else f"{value} {unit}{bar}"


def rounded(bar: float) -> str:
    """An error rounded up: to a whole number from 10 on, below that to a tenth, below 1 to a hundredth."""
    decimals = 0 if bar >= 10 else 1 if bar >= 1 else 2
    return f"{abs(np.ceil(bar * 10**decimals - 1e-6)) / 10**decimals:.{decimals}f}"


def trust_texts(result) -> list[str]:
    """Sentences on the meshes behind the error bars and on numbers that have none."""
    trust = result.trust
    if trust is None:
        return []
    n = " / ".join(f"{n:,}" for n in trust["triangles"])
    said = [f"\u00b1 comes from the same analysis on three meshes ({n} triangles): it is the error of the mesh alone. \u00b1? is a number without a bar. Soil parameters and the model itself have errors of their own."]
    said += _reservations(result)
    if result.deeper is not None:
        base = f"With the rigid base at {result.case.section.deeper_bottom_level:g} m"
        said += [f"{base} there are NO ERROR BARS."] if result.deeper.trust is None else [f"{base}: {text}" for text in _reservations(result.deeper)]
    return said


def _reservations(result) -> list[str]:
    """Sentences on numbers of a result with companions that have no error bars, and on stages that other meshes doubt."""
    trust, said = result.trust, []
    first = {name: i for i, stage in reversed(list(enumerate(trust["stages"], 1))) for name in stage["no_limit_because_of"]}
    said += [
        f"From stage {i} on NUMBERS DO NOT CONVERGE WITH THE MESH: what yields is mostly {name}, which has one stiffness, friction and next to no dilation. Give it a stiffness at small strain."
        for name, i in first.items()
    ]
    away = [f"{words} in stage {i}" for i, stage in enumerate(trust["stages"], 1) if not stage["no_limit_because_of"] for words in _without_bar(stage)]
    if away:
        said.append(f"DO NOT CONVERGE WITH THE MESH, each refinement changes them more than the one before (\u00b1?): {', '.join(away)}.")
    unsearched = [str(i) for i, stage in enumerate(trust["stages"], 1) if "search" in stage.get("safety_factor", {})]
    if unsearched:
        said.append(f"The safety factor of stage {', '.join(unsearched)} has no bar: on one of the meshes its search found no factor or came to no end.")
    lost = [(i, name) for i, stage in enumerate(trust["stages"], 1) for name in stage["no_equilibrium_on"]]
    said += [f"Stage {i} found NO EQUILIBRIUM on the {name}: no error bar, and a reason to doubt the stage." for i, name in lost]
    return said + _collapse_elsewhere(result)


def _collapse_elsewhere(result) -> list[str]:
    """What the other meshes say of the stage in which a result found no equilibrium."""
    if result.complete or not result.stages:
        return []
    found, number = [], len(result.records) - 1
    for name, other in (("coarser", result.coarser), ("finer", result.finer)):
        record = other.records[min(number, len(other.records) - 1)]
        where = "" if len(other.records) > number else f" as early as stage {len(other.records) - 1}"
        found.append(f"the {name} mesh FINDS equilibrium: doubt the collapse" if record.converged else f"the {name} mesh finds none either{where} ({100 * record.share:.0f} % of the load)")
    return [f"In stage {number}, without equilibrium here ({100 * result.records[-1].share:.0f} % of its load), {'; '.join(found)}."]


def _without_bar(part, where="") -> list[str]:
    """Headline numbers in a part of a stage that were found to run away, in words."""
    found = []
    for key, value in part.items() if isinstance(part, dict) else ():
        if key in HEADLINES and value["bar"] is None and "search" not in value:
            found.append(f"{where}{HEADLINES[key]}")
        elif key not in HEADLINES:
            found += _without_bar(value, where if key in ("walls", "frames", "ground", "water", "places") else f"{key} ")
    return found


def without_limit(result, stage, searched=False) -> list[str]:
    """Soils that make up at least half of what yields by the end of a stage, and did not at rest, and in which refinement has no limit: one stiffness,
    friction and next to no dilation. Bands of shear there become as thin as the triangles (Rudnicki and Rice 1975, from memory); a little dilation only hides that.

    ``searched``: for a safety factor, which is searched in ground of one stiffness whatever the soil has.
    """
    suspects = [i for i, soil in enumerate(result.case.soils) if (searched or not is_small_strain(soil)) and _bands(soil)]
    if not suspects or not result.records[stage].converged:
        return []
    (now, ground), (before, _) = _yielding(result, stage), _yielding(result, 0)
    new = np.maximum(now - before, 0.0)
    if new[suspects].sum() < max(MOSTLY * new.sum(), (0.0 if searched else LEAST_YIELD) * ground):
        return []
    return [result.case.soils[i].name for i in suspects if new[i] > 0]


def _bands(soil: Soil) -> bool:
    return bool(soil.strength and soil.strength.friction_angle and soil.strength.dilation_angle < NEXT_TO_NONE)


def _yielding(result, stage):
    """Area [m2] at yield of each soil (soils,) at the end of a stage, and of all ground."""
    field = result.field(stage)
    a, b, c = (field.points[field.triangles[:, k]] for k in range(3))
    area = 0.5 * np.abs((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0])
    return np.bincount(field.material, area * field.yielded, len(result.case.soils)), float(area.sum())
