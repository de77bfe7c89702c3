"""Sheet pile walls after EN 1993-5:2007: class, bending, shear, thrust, all together, buckling, and loss of thickness. All for each metre run of wall.

Left out: differences of water pressure of more than about 5 m of head on Z and 20 m on U piles, which bend the flanges across the wall and take off yield strength (5.2.4, from memory);
the local effect of walings and anchors (7.4.3); fatigue; clutches.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from fesoil.checks.check import Check, refuse_negative, refuse_zero
from fesoil.checks.steel import E, SteelFactors, chi, critical_load, one_of, shear_loss, slenderness, tables

SHAPES = ("Z", "U")

BUCKLES = 0.04
"""Share of the critical load up to which buckling need not be looked at (EN 1993-5:2007, 5.2.3(2), from memory)."""

CURVE = "d"
"""Buckling curve of sheet piles (EN 1993-5:2007, 5.2.3(4), from memory)."""


@dataclass(frozen=True)
class SheetSection:
    """Section of a sheet pile wall, for each metre run unless said otherwise.

    Parameters
    ----------
    shape : str
        'Z' or 'U'.
    fy : float
        Yield strength [kPa].
    flange_slenderness : float
        b / t_f of the flange, b as in EN 1993-5:2007, Table 5-1.
    t_f, t_w : float
        Thickness of flange and web [m].
    depth : float
        Height between the middles of the flanges, h - t_f [m].
    web_angle : float
        Inclination of the web to the line of the wall [degrees].
    width : float
        Width of a single pile [m]; one web of full height belongs to it (of a U pile two halves).
    A, W_el, W_pl, I : float
        Area [m2/m], elastic and plastic section modulus [m3/m], second moment of area [m4/m], of the wall as if its clutches held.
    beta_B, beta_D : float
        Shares of the bending resistance and of the stiffness that slip in the clutches leaves (6.4; national annexes): 1 for Z piles; no default for U piles.

    Raises
    ------
    ValueError
        A value is not above zero, a share is above 1, W_pl is below W_el, the web leans more than upright, a Z pile has a share below 1 (that is no Z pile), or the section is of class 4.
    """

    shape: str
    fy: float
    flange_slenderness: float
    t_f: float
    t_w: float
    depth: float
    web_angle: float
    width: float
    A: float
    W_el: float
    W_pl: float
    I: float  # noqa: E741
    beta_B: float
    beta_D: float

    def __post_init__(self):
        one_of(self.shape, SHAPES, "shape of a sheet pile")
        refuse_zero(**{name: value for name, value in vars(self).items() if name != "shape"})
        if max(self.beta_B, self.beta_D) > 1 or (self.shape == "Z" and min(self.beta_B, self.beta_D) < 1):
            raise ValueError(f"beta_B and beta_D of a {self.shape} pile: {self.beta_B}, {self.beta_D}; they are 1 for Z piles and at most 1 for U piles")
        if self.W_pl < self.W_el or self.web_angle > 90:
            raise ValueError(f"W_pl {self.W_pl} below W_el {self.W_el}, or a web that leans beyond the upright: {self.web_angle} degrees")
        if self.section_class == 4:
            limit = tables()["sheet"][self.shape]["class_3"]
            raise ValueError(f"b / t_f = {self.flange_slenderness:.1f} is beyond class 3 ({limit:g} eps = {limit * self.eps:.1f}): class 4 needs an effective section, which is not covered")

    @property
    def eps(self) -> float:
        """sqrt(235 MPa / f_y)."""
        return math.sqrt(235e3 / self.fy)

    @property
    def section_class(self) -> int:
        """Class 2, 3 or 4 by the slenderness of the flange; class 1 has the limits of class 2 but also needs a check of how far it turns, which is not made here."""
        limits, share = tables()["sheet"][self.shape], self.flange_slenderness / self.eps
        return 2 if share <= limits["class_2"] else 3 if share <= limits["class_3"] else 4

    @property
    def A_v(self) -> float:
        """Shear area, webs projected across the wall (5.2.2(5); re-read in public code) [m2/m]."""
        return self.t_w * self.depth / self.width

    @property
    def web_modulus(self) -> float:
        """Plastic modulus of the webs, the part of ``W_pl`` that shear may take away [m3/m]."""
        return self.t_w * self.depth**2 / (4 * math.sin(math.radians(self.web_angle))) / self.width


@dataclass(frozen=True)
class WallForces:
    """Design values of moment [kN m/m], shear [kN/m] and thrust (compression) [kN/m] that act together at one level, without sign."""

    moment: float
    shear: float
    thrust: float

    def __post_init__(self):
        refuse_negative(**vars(self))


def corroded(sheet: SheetSection, loss: float) -> SheetSection:
    """The section after a loss of thickness [m], the two faces added up.

    An approximation on the safe side: area and moduli, and with them I, fall by the share that the thinner of flange and web loses, as if all of the section were as thin; the height
    between the flanges stays, b / t_f grows, and the class follows. Give the properties of the maker for the thickness that is left where they are known.
    """
    refuse_negative(loss=loss)
    left = 1 - loss / min(sheet.t_f, sheet.t_w)
    refuse_zero(thickness_left=left)
    flange = sheet.t_f - loss
    return replace(sheet, A=left * sheet.A, W_el=left * sheet.W_el, W_pl=left * sheet.W_pl, I=left * sheet.I, t_f=flange, t_w=sheet.t_w - loss,
                   flange_slenderness=sheet.flange_slenderness * sheet.t_f / flange)  # fmt: skip


def bending_resistance(sheet: SheetSection, factors: SteelFactors) -> float:
    """M_c,Rd [kN m/m]: beta_B W f_y / gamma_M0 with the plastic modulus in class 2, the elastic one in class 3 (5.2.2(2); re-read in public code)."""
    return sheet.beta_B * (sheet.W_pl if sheet.section_class < 3 else sheet.W_el) * sheet.fy / factors.gamma_M0


def shear_resistance(sheet: SheetSection, factors: SteelFactors) -> float:
    """The lesser of V_pl,Rd = A_v f_y / (sqrt(3) gamma_M0) (5.5) and of the web's resistance to buckling in shear (5.7) [kN/m].

    The shear stress at which an unstiffened web buckles is from EN 1993-1-3:2006, Table 6.1 (from memory), at the slenderness 0.346 c / t_w sqrt(f_y / E) (5.8; re-read in public code).
    """
    web = sheet.depth / math.sin(math.radians(sheet.web_angle))
    lam = 0.346 * web / sheet.t_w * math.sqrt(sheet.fy / E)
    share = 0.58 if lam <= 0.83 else 0.48 / lam if lam < 1.4 else 0.67 / lam**2
    return sheet.A_v * min(1 / math.sqrt(3), share) * sheet.fy / factors.gamma_M0


def axial_resistance(sheet: SheetSection, factors: SteelFactors) -> float:
    """N_pl,Rd = A f_y / gamma_M0 (5.16; re-read in public code) [kN/m]."""
    return sheet.A * sheet.fy / factors.gamma_M0


def moment_with_shear(sheet: SheetSection, shear: float, factors: SteelFactors) -> float:
    """M_V,Rd [kN m/m] beside a shear force [kN/m]: beyond half the shear resistance rho of the webs' plastic modulus is lost (5.9; re-read in public code), never above M_c,Rd."""
    rho = shear_loss(shear, shear_resistance(sheet, factors))
    left = (sheet.beta_B * sheet.W_pl - rho * sheet.web_modulus) * sheet.fy / factors.gamma_M0
    return max(0.0, min(left, bending_resistance(sheet, factors)))


def moment_with_all(sheet: SheetSection, forces: WallForces, factors: SteelFactors) -> float:
    """Moment that the section bears [kN m/m] beside the shear and the thrust: M_V,Rd, cut down by the thrust as M_N,Rd is (5.17 to 5.22; re-read in public code).

    Where shear is high the webs bear thrust with 1 - rho of their yield strength.
    """
    rho = shear_loss(forces.shear, shear_resistance(sheet, factors))
    kind = tables()["sheet"][sheet.shape if sheet.section_class < 3 else "class_3"]
    share = forces.thrust / (axial_resistance(sheet, factors) * (1 - rho * sheet.A_v / sheet.A))
    left = 1.0 if share <= kind["axial_free"] else min(1.0, kind["axial_factor"] * (1 - share))
    return max(0.0, left * moment_with_shear(sheet, forces.shear, factors))


def sheet_buckling(sheet: SheetSection, forces: WallForces, length: float, factors: SteelFactors) -> Check:
    """Buckling of the wall under its thrust, with a buckling length [m] after 5.2.3(5) to (7): N / (chi N_pl) + 1.15 M / M_c, both resistances divided by gamma_M1 (5.13; re-read in public
    code), where the thrust is above 0.04 of the critical load; the ends are taken to be held in place."""
    critical = critical_load(sheet.beta_D * E * sheet.I, length)
    squash = sheet.A * sheet.fy
    if forces.thrust <= BUCKLES * critical:
        words = f"thrust {forces.thrust:.0f} kN/m against {BUCKLES:g} of the critical load {critical:.0f} kN/m over {length:.2f} m: buckling need not be looked at"
        return Check("buckling of the wall", forces.thrust, BUCKLES * critical, "kN/m", 1.0, words)
    reduction = chi(slenderness(squash, critical), CURVE)
    bending = bending_resistance(sheet, factors) * factors.gamma_M0 / factors.gamma_M1
    used = forces.thrust * factors.gamma_M1 / (reduction * squash) + 1.15 * forces.moment / bending
    words = f"(5.13), {factors.name}: chi = {reduction:.3f} over {length:.2f} m, ends held in place; critical load {critical:.0f} kN/m"
    return Check("buckling of the wall", used, 1.0, "", 1.0, words)


def sheet_checks(sheet: SheetSection, forces: WallForces, length: float, factors: SteelFactors) -> tuple[Check, ...]:
    """Bending, shear, thrust, the three together, and buckling over a length [m], with design values of the forces.

    Parameters
    ----------
    forces : WallForces
        What acts at one level; envelopes of moment, shear and thrust put together are on the safe side.
    length : float
        Buckling length [m].
    """
    kind = f"class {sheet.section_class}, {factors.name}"
    shear = shear_resistance(sheet, factors)
    together = f"beside shear {forces.shear:.0f} (half of {shear:.0f} is free) and thrust {forces.thrust:.0f} kN/m, {kind}"
    return (
        Check("bending of the wall", forces.moment, bending_resistance(sheet, factors), "kN m/m", 1.0, f"{kind}, beta_B = {sheet.beta_B:g}; bending of the flanges by water is not counted"),
        Check("shear of the wall", forces.shear, shear, "kN/m", 1.0, f"webs {1e4 * sheet.A_v:.0f} cm2/m, {factors.name}"),
        Check("thrust in the wall", forces.thrust, axial_resistance(sheet, factors), "kN/m", 1.0, f"section only, {factors.name}"),
        Check("bending with shear and thrust", forces.moment, moment_with_all(sheet, forces, factors), "kN m/m", 1.0, together),
        sheet_buckling(sheet, forces, length, factors),
    )
