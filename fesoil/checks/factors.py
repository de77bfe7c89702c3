"""The factors that the checks ask for, read from ``factor_sets.toml``: a set of a national annex is added there, not in code."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files


@dataclass(frozen=True)
class PartialFactors:
    """Partial factors of EN 1997-1:2004 against water: on what destabilises, on weight that stabilises, and by which undrained strength is divided (None for heave)."""

    name: str
    destabilising: float
    stabilising: float
    source: str
    undrained_strength: float | None = None


@cache
def _data() -> dict:
    return tomllib.loads(files("fesoil.checks").joinpath("factor_sets.toml").read_text(encoding="utf-8"))


def _sets(kind) -> dict[str, PartialFactors]:
    return {name: PartialFactors(name, **values) for name, values in _data()[kind].items()}


def heave_sets() -> dict[str, PartialFactors]:
    """Partial factors for hydraulic heave (HYD) by the name of the set; the first is the recommended one."""
    return _sets("heave")


def uplift_sets() -> dict[str, PartialFactors]:
    """Partial factors for uplift (UPL) by the name of the set; the first is the recommended one."""
    return _sets("uplift")


def lumped_factor(kind: str) -> float:
    """Factor of safety that the trade asks for: of 'heave', 'exit_gradient' or 'uplift' (common practice, no source)."""
    return _data()["lumped"][kind]


def least_creep(rule: str) -> dict[str, float]:
    """Least ratio of the path of creep to the head by kind of ground, of the rule 'Bligh' or 'Lane'."""
    return dict(_data()["creep"][rule]["least"])
