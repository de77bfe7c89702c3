"""Short and long term of ground that is undrained in effective stress: the two ends between which the truth lies, and how long it takes from one to the other."""

from __future__ import annotations

import numpy as np

from fesoil.case.model import Case
from fesoil.case.overburden import beside_walls, layers_at, mean_pressure
from fesoil.case.soil import DRAINED, Soil
from fesoil.case.stiffness import working_modulus
from fesoil.checks.drawdown import dissipation_time
from fesoil.result.reading import Result
from fesoil.result.trust import with_bar

DAY = 86400.0

COMPARED = (("deflection", "max_deflection_mm", "mm"), ("moment", "max_moment_kNm_per_m", "kN m/m"))
"""Numbers of a wall that are set side by side."""


def term_texts(result: Result) -> list[str]:
    """Sentences for each stage that lets excess pore pressure go: the numbers before and after it, and the time scale of each layer."""
    said = []
    for i, stage in enumerate(result.case.stages, 1):
        if stage.dissipate and i > 1 and i < len(result.records) and result.records[i].converged:
            said.append(f"Short term (stage {i - 1}) and long term (stage {i}): {_both(result, i)}. The truth lies between: {'; '.join(_times(result.case, stage.dissipate))}.")
    return said


def _both(result: Result, i) -> str:
    """Numbers of a stage and of the one before it, in words."""
    before, after = (result.stage_summary(k) for k in (i - 1, i))
    numbers = [(f"wall {name} {words}", ("walls", name, key), unit) for name in after["walls"] for words, key, unit in COMPARED]
    numbers += [(f"frame {name}", ("frames", name, "load_kN_per_m"), "kN/m") for name in after["frames"]]
    numbers += [("settlement", ("ground", "max_settlement_mm"), "mm"), ("heave", ("ground", "base_heave_mm"), "mm")]
    told = []
    for words, path, unit in numbers:
        values = [_text(result, k, summary, path, unit) for k, summary in ((i - 1, before), (i, after))]
        if None not in values:
            told.append(f"{words} {values[0]} and {values[1]}")
    return ", ".join(told)


def _text(result: Result, stage, summary, path, unit) -> str | None:
    for key in path:
        summary = summary.get(key) if summary else None
    return None if summary is None else with_bar(f"{summary:.1f}", result.plus_minus(stage, *path), unit)


def _times(case: Case, names):
    """Time scale of each layer of the named soils."""
    for name in names:
        soil = next(s for s in case.soils if s.name == name)
        if soil.permeability is None:
            yield f"{name}, how long is not known without its permeability"
            continue
        slowest = max((_time(case, soil, x, top, under) for x in beside_walls(case) for s, top, under in layers_at(case, x) if s == soil), default=None)
        if slowest is not None:
            yield f"{name}, of the order of {_words(slowest)} (d2/cv)"


def _time(case: Case, soil: Soil, x, top, under) -> float:
    """d2 / cv [s] of a layer; it drains upwards and downwards where what lies there drains, the bottom of the section never."""
    column = list(layers_at(case, x))
    k = next(i for i, (_, a, _) in enumerate(column) if a == top)
    opens = (k == 0 or column[k - 1][0].drainage == DRAINED) + (k + 1 < len(column) and column[k + 1][0].drainage == DRAINED)
    middle = np.array([(top + under) / 2])
    modulus = soil.stiffness.compression_modulus or _one_dimensional(soil, mean_pressure(case, np.array([x]), middle), middle)
    return dissipation_time((top - under) / max(opens, 1), soil.permeability.both[1], modulus, case.water.unit_weight if case.water else 9.81)


def _one_dimensional(soil: Soil, p, level) -> float:
    """Elastic modulus of the skeleton in one-dimensional compression [kPa]."""
    nu = soil.poisson_ratio
    return float(working_modulus(soil, p, level)[0]) * (1 - nu) / ((1 + nu) * (1 - 2 * nu))


def _words(seconds) -> str:
    days = seconds / DAY
    return f"{days / 365:.1f} years" if days > 730 else f"{days:.0f} days" if days >= 2 else f"{24 * days:.0f} hours"
