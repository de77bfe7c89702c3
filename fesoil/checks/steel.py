"""What the checks of steel share: partial factors and tables (``steel_factors.toml``), elastic constants, and flexural buckling after EN 1993-1-1:2005."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from fesoil.checks.check import refuse_negative, refuse_zero

E = 210e6
"""Young's modulus [kPa] (EN 1993-1-1:2005, 3.2.6; re-read in public code)."""

EXPANSION = 1.2e-5
"""Thermal expansion [1/K] (EN 1993-1-1:2005, 3.2.6, from memory)."""


@dataclass(frozen=True)
class SteelFactors:
    """Partial factors by which resistances are divided: of sections, of members that buckle, of sections that tear."""

    name: str
    gamma_M0: float
    gamma_M1: float
    gamma_M2: float
    source: str


@cache
def tables() -> dict:
    """All of ``steel_factors.toml``."""
    return tomllib.loads(files("fesoil.checks").joinpath("steel_factors.toml").read_text(encoding="utf-8"))


def steel_sets() -> dict[str, SteelFactors]:
    """Partial factors of steel by the name of the set."""
    return {name: SteelFactors(name, **values) for name, values in tables()["partial"].items()}


def one_of(given, allowed, what):
    """The given word, or ValueError with the words that are allowed."""
    if given not in allowed:
        raise ValueError(f"{what} must be one of {', '.join(map(str, allowed))}: {given}")
    return given


def critical_load(EI, length) -> float:
    """Elastic critical load pi^2 EI / l^2 of a bending stiffness EI [kN m2] (then [kN]) or [kN m2/m] (then [kN/m]) and a buckling length [m]."""
    refuse_zero(EI=EI, buckling_length=length)
    return math.pi**2 * EI / length**2


def slenderness(squash, critical) -> float:
    """Relative slenderness sqrt(A f_y / N_cr) of the squash load A f_y and the critical load, both without partial factors (EN 1993-1-1:2005, 6.3.1.2; re-read)."""
    refuse_zero(squash=squash, critical=critical)
    return math.sqrt(squash / critical)


def chi(relative_slenderness, curve: str) -> float:
    """Share of the squash load at which a member buckles, by the curve 'a0', 'a', 'b', 'c' or 'd' (EN 1993-1-1:2005, (6.49) and Table 6.1; re-read in a public copy)."""
    refuse_negative(relative_slenderness=relative_slenderness)
    alpha = tables()["imperfection"][one_of(curve, tuple(tables()["imperfection"]), "buckling curve")]
    phi = 0.5 * (1 + alpha * (relative_slenderness - 0.2) + relative_slenderness**2)
    return min(1.0, 1 / (phi + math.sqrt(phi**2 - relative_slenderness**2)))


def shear_loss(shear, resistance) -> float:
    """Share rho = (2 V / V_pl - 1)^2 that shear beyond half its resistance takes off the yield strength of the webs; 1 at most (EN 1993-1-1:2005, 6.2.8, from memory; EN 1993-5:2007, (5.10), re-read in public code)."""
    return min(1.0, max(0.0, 2 * shear / resistance - 1) ** 2)
