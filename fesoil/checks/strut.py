"""Struts at a spacing between two walls: thrust, bending by their weight, by eccentricity and by what strikes them, temperature, and what is left of a preload."""

from __future__ import annotations

import math
from dataclasses import dataclass

from fesoil.checks.check import refuse_negative, refuse_zero
from fesoil.checks.frame import Ram
from fesoil.checks.member import Forces, Pair
from fesoil.checks.steel import EXPANSION


@dataclass(frozen=True)
class Strut:
    """A strut between two walls.

    Parameters
    ----------
    length : float
        From wall to wall [m].
    spacing : float
        Along the wall [m].
    weight : float
        Design self-weight and what lies on it [kN/m].
    EA : float
        Axial stiffness of the steel [kN].
    wall_stiffness : float
        Of what is behind each end, ground, wall, waling and packing, for one strut [kN/m]; infinite where it does not give way.
    ram : Ram or None
        Hydraulic ram in line, locked with its oil.
    """

    length: float
    spacing: float
    weight: float
    EA: float
    wall_stiffness: float
    ram: Ram | None = None

    def __post_init__(self):
        refuse_zero(length=self.length, spacing=self.spacing, EA=self.EA, wall_stiffness=self.wall_stiffness)
        refuse_negative(weight=self.weight)

    @property
    def flexibility(self) -> float:
        """Approach of the two walls' backs for each kN of thrust [m/kN]: steel, oil and both ends in series."""
        return self.length / self.EA + (1 / self.ram.stiffness if self.ram else 0.0) + 2 / self.wall_stiffness


def strut_forces(strut: Strut, load: float, eccentricity: Pair, struck: Pair, thermal: float) -> Forces:
    """Design forces of a strut whose strong axis takes its weight.

    Parameters
    ----------
    load : float
        Design load of the wall for each metre run [kN/m].
    eccentricity : Pair
        Of the thrust, in the upright and in the level plane [m].
    struck : Pair
        Accidental transverse load in the upright and in the level plane [kN]: for bending in the middle of the strut, for shear at its end. It belongs to an accidental situation with its own
        factors, and in one direction at a time.
    thermal : float
        Design thrust by temperature [kN] (see ``thermal_thrust`` and ``thermal_thrust_between``).

    Returns
    -------
    Forces
        For ``fesoil.checks.member.member_checks``. Moments of first order: what the thrust adds by bowing is in the interaction of 6.3.3.
    """
    refuse_negative(load=load, eccentricity=eccentricity, struck=struck, thermal=thermal)
    thrust = load * strut.spacing + thermal
    upright = strut.weight * strut.length**2 / 8 + struck.y * strut.length / 4 + thrust * eccentricity.y
    level = struck.z * strut.length / 4 + thrust * eccentricity.z
    return Forces(thrust, upright, level, strut.weight * strut.length / 2 + struck.y + struck.z)


def thermal_thrust(restraint: float, rise: float, EA: float, expansion: float = EXPANSION) -> float:
    """Thrust [kN] by a rise of temperature [K] of a steel strut: restraint x alpha x dT x EA.

    ``restraint`` is the share of the free expansion that the ends prevent, 0 to 1, and must be given; it is never a share of the force that the strut was set to. A fall takes as much off. Forces and temperatures
    measured on nine steel struts with jacks (Di and others 2019, Table 3 re-read) make it 0.20 to 0.43 if the struts were tubes of 609 x 16 mm, which is assumed.
    """
    refuse_negative(restraint=restraint, rise=rise, expansion=expansion)
    refuse_zero(EA=EA)
    if restraint > 1:
        raise ValueError(f"restraint is a share between 0 and 1: {restraint}")
    return restraint * expansion * rise * EA


def thermal_thrust_between(strut: Strut, rise: float, oil_expansion: float | None = None, expansion: float = EXPANSION) -> float:
    """Thrust [kN] by a rise of temperature [K] of a strut, with its trapped oil, between walls that give way: free expansion over the flexibility of steel, oil and both ends in series.

    Parameters
    ----------
    oil_expansion : float or None
        Cubical expansion of the oil [1/K], which all goes along the bore; must be given where there is a ram. Public tables have 7.9e-4 to 8.5e-4 for mineral and synthetic oils (re-read); the
        steel around it expands less than a twentieth of that, which is left out.

    Raises
    ------
    ValueError
        A ram without the expansion of its oil: the oil expands some sixty times as much as steel does, so that to leave it out is unsafe.
    """
    refuse_negative(rise=rise, expansion=expansion)
    free = expansion * rise * strut.length
    if strut.ram is not None:
        if oil_expansion is None:
            raise ValueError("a strut with a ram: the cubical expansion of the trapped oil [1/K] must be given")
        refuse_negative(oil_expansion=oil_expansion)
        free += oil_expansion * rise * strut.ram.oil_length
    return free / strut.flexibility


def retained_preload(strut: Strut, force: float, slip: Pair) -> float:
    """Preload [kN] that is left of the set force once it is locked and the wedges or pins at the two ends have given way by a slip each [m]: the set force less slip over flexibility, not
    below nothing.

    A strut held by oil, with no slip, keeps all of it but what leaks. Ordinary preloaded steel struts were measured to lose up to 86.7 % (Di and others 2019, abstract re-read). Check
    strength with all of it and movement with what is left.
    """
    refuse_negative(force=force, slip=slip)
    return max(0.0, force - math.fsum(slip) / strut.flexibility)
