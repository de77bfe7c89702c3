"""How far off the headline numbers of a result are because of its mesh: the same analysis on a coarser and on a finer mesh.

Meshes of n triangles have the relative size n^(-1/2). From the values on three of them, `error_bar` gives

- the *difference* that refinement makes, finer mesh less this one;
- an extrapolated *estimate* of what ever finer meshes lead to (Richardson 1911): with the order of convergence that the three show, within 1 and 2,
  where they go one way by ever smaller steps, and with order 1 otherwise. Order 1 is that of limit loads and of what hangs on a toe or an edge;
- a *bar*: how far this mesh may be off, ``SAFETY`` (Roache 1994) times the greater of the corrections that the two differences suggest.

All three sources from memory. A bar says nothing of the soil's parameters or of the model, and it is no bound: three meshes can agree by chance.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from fesoil.case.model import Soil
from fesoil.case.stiffness import is_small_strain

SAFETY = 1.25
UNSETTLED = 0.02
"""Share of a number by which refinement must change it, one way and each time more, for it to be said not to converge (a choice of ours)."""

MOSTLY = 0.5
"""Share of what yields that lies in ground without a limit, from which numbers are taken to have none (a choice of ours)."""

PLACES = ("_level_m", "_distance_m")
"""Ends of the keys that are places, whose jumps mean nothing."""


class Bar(NamedTuple):
    """``difference`` finer mesh less this one, ``estimate`` on ever finer meshes, ``bar`` either way; the last two None where the number does not converge."""

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
    first, second = values[1] - values[0], values[2] - values[1]
    ratio = size[:2] / size[1:]
    grows = first * second > 0 and abs(second) > abs(first) and abs(second) > UNSETTLED * abs(values[1])
    if not has_limit or grows:
        return Bar(second, None, None)
    order = _order(first, second, ratio)
    steps = np.array([first / (ratio[0] ** order - 1), second * (1 + 1 / (ratio[1] ** order - 1))])  # what either difference says is left from this mesh on
    return Bar(second, values[1] + steps[1], SAFETY * float(np.abs(steps).max()))


def _order(first, second, ratio) -> float:
    """Order of convergence within 1 and 2 of two differences on end, for meshes whose sizes fall by ``ratio`` (2,); 1 where they do not shrink one way."""
    if first * second <= 0 or abs(second) >= abs(first):
        return 1.0
    return float(np.clip(np.log(first / second) / np.log(np.sqrt(ratio[0] * ratio[1])), 1.0, 2.0))


def trust_of(result) -> dict | None:
    """Errors of the headline numbers of a result that has a coarser and a finer companion, with the keys of ``trust`` in ``summary.json``; None without them.

    Each number stands where ``Result.summary`` has it, stage by stage, as ``difference``, ``estimate`` and ``bar`` in its own unit; without them where a companion found no equilibrium.
    """
    if result.coarser is None or result.finer is None:
        return None
    three = (result.coarser, result, result.finer)
    triangles = [len(r.mesh.triangles) for r in three]
    pieces = [[r.stage_summary(i) for i in range(1, len(r.records))] for r in three]
    stages = []
    for i, stage in enumerate(pieces[1]):
        both = [piece[i] if i < len(piece) else {"converged": False} for piece in (pieces[0], pieces[2])]
        lost = [name for name, other in zip(("coarser mesh", "finer mesh"), both) if stage["converged"] and not other["converged"]]
        loose = without_limit(result, i + 1)
        found = {} if lost else _bars((both[0], stage, both[1]), triangles, not loose)
        stages.append({"name": stage["name"], "no_equilibrium_on": lost, "no_limit_because_of": loose} | found)
    sizes = [round(r.mesh.size, 4) for r in three]
    return {"triangles": triangles, "element_size_m": sizes, "stages": stages}


def _bars(three, triangles, has_limit) -> dict:
    """Bars of the numbers of a stage's summary on three meshes."""
    found = {key: _leaves([t.get(key, {}) for t in three], triangles, has_limit) for key in ("walls", "frames", "ground")}
    if all(t.get("safety_factor") for t in three):
        found["safety_factor"] = error_bar(triangles, [t["safety_factor"] for t in three], has_limit)._asdict()
    return found


def _leaves(three, triangles, has_limit) -> dict:
    found = {}
    for key, value in three[1].items():
        values = [t.get(key) for t in three]
        if isinstance(value, dict):
            found[key] = _leaves([v or {} for v in values], triangles, has_limit)
        elif all(isinstance(v, (int, float)) for v in values) and not key.endswith(PLACES):
            found[key] = error_bar(triangles, [float(v) for v in values], has_limit)._asdict()
    return found


def plus_minus(trust: dict | None, stage: int, *path: str) -> str:
    """The bar of a number as text to stand behind it, with its own space before; nothing where no companions were run. ``stage`` from 1, ``path`` as in the summary."""
    if trust is None:
        return ""
    found = trust["stages"][stage - 1]
    if found["no_equilibrium_on"]:
        return " (no error bar)"
    for key in path:
        found = found.get(key, {})
    if "bar" not in found:
        return ""
    return " (does not converge with the mesh)" if found["bar"] is None else f" \u00b1 {rounded(found['bar'])}"


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
    said = [f"Behind \u00b1 stand the same analysis on three meshes ({n} triangles): how far the mesh alone may put a number off (\u00b1?: not known). Soil parameters and the model itself have errors of their own."]
    loose = {name: [] for stage in trust["stages"] for name in stage["no_limit_because_of"]}
    for i, stage in enumerate(trust["stages"], 1):
        for name in stage["no_limit_because_of"]:
            loose[name].append(i)
    said += [
        f"From stage {stages[0]} on NUMBERS DO NOT CONVERGE WITH THE MESH: what yields is mostly {name}, which has one stiffness, friction and no dilation. Give it a stiffness at small strain, or some dilation."
        for name, stages in loose.items()
    ]
    lost = [(i, name) for i, stage in enumerate(trust["stages"], 1) for name in stage["no_equilibrium_on"]]
    said += [f"Stage {i} found NO EQUILIBRIUM on the {name}: no error bar, and a reason to doubt the stage." for i, name in lost]
    return said


def without_limit(result, stage) -> list[str]:
    """Soils that make up at least half of what yields by the end of a stage, and did not at rest, and in which refinement has no limit: one stiffness,
    friction and no dilation. Bands of shear there become as thin as the triangles (Rudnicki and Rice 1975, from memory)."""
    suspects = [i for i, soil in enumerate(result.case.soils) if not is_small_strain(soil) and _bands(soil)]
    if not suspects or not result.records[stage].converged:
        return []
    new = np.maximum(_yielding(result, stage) - _yielding(result, 0), 0.0)
    return [result.case.soils[i].name for i in suspects if new[i] > 0 and new[suspects].sum() >= MOSTLY * new.sum()]


def _bands(soil: Soil) -> bool:
    return bool(soil.strength and soil.strength.friction_angle and not soil.strength.dilation_angle)


def _yielding(result, stage):
    """Area [m2] at yield of each soil (soils,) at the end of a stage."""
    field = result.field(stage)
    a, b, c = (field.points[field.triangles[:, k]] for k in range(3))
    area = 0.5 * np.abs((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0])
    return np.bincount(field.material, area * field.yielded, len(result.case.soils))
