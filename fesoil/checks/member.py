"""Steel members under thrust and bending after EN 1993-1-1:2005: sections of class 1 to 3, flexural buckling, and 6.3.3 with the factors of its Annex B.

Annex B is used with all moment factors C_m = 1 (a moment that is even along the member), which is on the safe side of every distribution. Lateral torsional buckling enters by a factor
that is given, not worked out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

from fesoil.checks.check import Check, refuse_negative, refuse_zero
from fesoil.checks.steel import E, SteelFactors, chi, critical_load, one_of, shear_loss, slenderness, tables


@dataclass(frozen=True)
class Section:
    """Section of a member; y is the strong axis, z the weak one.

    Parameters
    ----------
    A, A_v : float
        Area, and shear area for loads that bend about the strong axis [m2].
    I_y, I_z : float
        Second moments of area [m4].
    W_y, W_z : float
        Section moduli [m3]: plastic ones in class 1 and 2, elastic ones in class 3.
    fy : float
        Yield strength [kPa], of the thickness.
    section_class : int
        1, 2 or 3, under thrust alone to be on the safe side; class 4 is refused.
    shape : str
        'hollow' or 'open'.
    curve_y, curve_z : str
        Buckling curves, by EN 1993-1-1:2005, Table 6.2.
    chi_LT : float
        Factor for lateral torsional buckling over the length that is not held: 1 for hollow sections or where the flange under compression is held.

    Raises
    ------
    ValueError
        A value is not above zero, I_y is below I_z, chi_LT is above 1 (or not 1 in a hollow section), or a word or the class is not known.
    """

    A: float
    A_v: float
    I_y: float
    I_z: float
    W_y: float
    W_z: float
    fy: float
    section_class: int
    shape: str
    curve_y: str
    curve_z: str
    chi_LT: float

    def __post_init__(self):
        refuse_zero(**{name: value for name, value in vars(self).items() if name not in ("shape", "curve_y", "curve_z")})
        one_of(self.section_class, (1, 2, 3), "class of a section")
        one_of(self.shape, ("hollow", "open"), "shape of a section")
        if self.I_y < self.I_z:
            raise ValueError(f"y is the strong axis, but I_y {self.I_y} is below I_z {self.I_z}")
        if self.chi_LT > 1 or (self.shape == "hollow" and self.chi_LT < 1):
            raise ValueError(f"chi_LT {self.chi_LT} of a section that is {self.shape}: at most 1, and 1 for hollow sections")
        for curve in (self.curve_y, self.curve_z):
            one_of(curve, tuple(tables()["imperfection"]), "buckling curve")


@dataclass(frozen=True)
class Forces:
    """Design values of what acts together, without sign: thrust [kN], moments about the strong and the weak axis [kN m], shear along the web [kN]."""

    thrust: float
    M_y: float
    M_z: float
    shear: float

    def __post_init__(self):
        refuse_negative(**vars(self))


class Pair(NamedTuple):
    """Values that go with buckling about the strong and about the weak axis."""

    y: float
    z: float


def slendernesses(section: Section, lengths: Pair) -> Pair:
    """Relative slenderness about both axes over the buckling lengths [m]."""
    return Pair(*(slenderness(section.A * section.fy, critical_load(E * I, length)) for I, length in zip((section.I_y, section.I_z), lengths)))  # noqa: E741


def reductions(section: Section, lengths: Pair) -> Pair:
    """chi about both axes."""
    return Pair(*(chi(lam, curve) for lam, curve in zip(slendernesses(section, lengths), (section.curve_y, section.curve_z))))


def buckling_resistance(section: Section, lengths: Pair, factors: SteelFactors) -> float:
    """N_b,Rd = chi A f_y / gamma_M1 [kN], of the worse axis (6.47)."""
    return min(reductions(section, lengths)) * section.A * section.fy / factors.gamma_M1


def shear_resistance(section: Section, factors: SteelFactors) -> float:
    """V_pl,Rd = A_v f_y / (sqrt(3) gamma_M0) [kN] (6.18)."""
    return section.A_v * section.fy / math.sqrt(3) / factors.gamma_M0


def bending_resistances(section: Section, shear: float, factors: SteelFactors) -> Pair:
    """Moments [kN m] that the section bears about each axis beside a shear force [kN]: all of the strong-axis moment, not that of the web only, is cut down by 1 - rho (safe side of 6.2.8)."""
    yielding = section.fy / factors.gamma_M0
    return Pair((1 - shear_loss(shear, shear_resistance(section, factors))) * section.W_y * yielding, section.W_z * yielding)


class Interaction(NamedTuple):
    """Factors k of (6.61) and (6.62)."""

    yy: float
    yz: float
    zy: float
    zz: float


def interaction_factors(section: Section, lam: Pair, n: Pair) -> Interaction:
    """Factors k from the slendernesses and the shares of the buckling resistances that the thrust uses.

    EN 1993-1-1:2005, Table B.1 with C_m = 1; k_zy of open sections, which may twist or be held against it, is the greater of Tables B.1 and B.2. Those of class 1 and 2 of Table B.1 were
    re-read in a public copy, the rest is from memory.
    """
    plastic, hollow = section.section_class < 3, section.shape == "hollow"
    if plastic:
        bent = min(lam.z - 0.2, 0.8) if hollow else min(2 * lam.z - 0.6, 1.4)
        growth = min(lam.y - 0.2, 0.8), bent
    else:
        growth = tuple(0.6 * min(each, 1.0) for each in lam)
    yy, zz = (1 + max(each, 0.0) * used for each, used in zip(growth, n))
    zy = (0.6 if plastic else 0.8) * yy
    twisting = 1 - (0.1 if plastic else 0.05) / 0.75 * min(lam.z, 1.0) * n.z
    return Interaction(yy, 0.6 * zz if plastic else zz, zy if hollow else max(zy, twisting), zz)


def interaction(section: Section, forces: Forces, lengths: Pair, factors: SteelFactors) -> Pair:
    """Left sides of (6.61) and (6.62), 1 at the limit."""
    squash = section.A * section.fy / factors.gamma_M1
    lam, reduction = slendernesses(section, lengths), reductions(section, lengths)
    n = Pair(*(forces.thrust / (each * squash) for each in reduction))
    m = Pair(forces.M_y / (section.chi_LT * section.W_y * section.fy / factors.gamma_M1), forces.M_z / (section.W_z * section.fy / factors.gamma_M1))
    k = interaction_factors(section, lam, n)
    return Pair(n.y + k.yy * m.y + k.yz * m.z, n.z + k.zy * m.y + k.zz * m.z)


def member_checks(name: str, section: Section, forces: Forces, lengths: Pair, factors: SteelFactors) -> tuple[Check, ...]:
    """Shear, bending, the section under all (the sum of shares, (6.2)), buckling under the thrust alone (6.46), and (6.61) and (6.62).

    Parameters
    ----------
    name : str
        What the member is called in the checks.
    lengths : Pair
        Buckling lengths [m] for buckling about the strong and about the weak axis.
    """
    shear, bending = shear_resistance(section, factors), bending_resistances(section, forces.shear, factors)
    squash = section.A * section.fy / factors.gamma_M0
    parts = [forces.thrust / squash] + [_share(moment, resistance) for moment, resistance in zip((forces.M_y, forces.M_z), bending)]
    lam, reduction = slendernesses(section, lengths), reductions(section, lengths)
    buckling = f"chi {reduction.y:.3f} and {reduction.z:.3f} at slendernesses {lam.y:.2f} and {lam.z:.2f}, {factors.name}"
    about_y, about_z = interaction(section, forces, lengths, factors)
    annex = f"6.3.3 with Annex B, C_m = 1, chi_LT = {section.chi_LT:g}; {buckling}"
    return (
        Check(f"{name}: shear", forces.shear, shear, "kN", 1.0, f"along the web, {factors.name}"),
        Check(f"{name}: bending", forces.M_y, bending.y, "kN m", 1.0, f"strong axis, class {section.section_class}, beside shear {forces.shear:.0f} kN, {factors.name}"),
        Check(f"{name}: section", sum(parts), 1.0, "", 1.0, f"thrust {parts[0]:.2f} + moments {parts[1]:.2f} + {parts[2]:.2f}, sum of shares (6.2), on the safe side"),
        Check(f"{name}: buckling under thrust", forces.thrust, buckling_resistance(section, lengths, factors), "kN", 1.0, buckling),
        Check(f"{name}: thrust and bending, strong axis", about_y, 1.0, "", 1.0, f"(6.61), {annex}"),
        Check(f"{name}: thrust and bending, weak axis", about_z, 1.0, "", 1.0, f"(6.62), {annex}"),
    )


def _share(action, resistance):
    """Share of a resistance that is used, infinite where nothing is left of it."""
    return action / resistance if resistance > 0 else math.inf if action > 0 else 0.0
