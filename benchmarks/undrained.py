"""Clay that is undrained in effective stress: its numbers, its law by points, and the strength that follows.

Water in the pores gives way a little: of a change of total stress in the plane the skeleton keeps ``kept`` beside the share of the water, because without dilation all volumetric
strain is elastic. So the undrained strength grows with the total mean stress s of the plane as in ground of a friction angle phi* of less than a degree:

    radius at failure = su + (s - s before) sin(phi*),    sin(phi*) = kept sin(phi')

and a limit load is known where it is known for such an angle. It is exact for associated flow; here nothing dilates, which for such an angle lowers it by less than a ten-thousandth.
"""

from __future__ import annotations

import numpy as np

from fesoil.case.stiffness import bulk_ratio
from fesoil.soils.pore_fluid import PoreFluid

E, NU, PHI, C = 10e3, 0.3, 25.0, 5.0
"""Young's modulus [kPa] and Poisson's ratio of the skeleton, effective angle of friction [deg] and cohesion [kPa]."""


def sealed(law, nu_u):
    """Law by points of a skeleton that ``law`` gives by points, with pore water that makes Poisson's ratio ``nu_u``."""

    def of(points):
        skeleton = law(points)
        return PoreFluid(skeleton, (bulk_ratio(nu_u) - bulk_ratio(skeleton.nu)) * skeleton.E / (2 * (1 + skeleton.nu)))

    return of


def share_of_water(nu_u):
    """Share of a change of mean total stress that the pore water takes."""
    return 1 - bulk_ratio(NU) / bulk_ratio(nu_u)


def modulus(nu_u):
    """Modulus [kPa] of soil and water in plane strain with side stress held."""
    return 2 * E / (2 * (1 + NU)) / (1 - nu_u)


def strength(mean, factor=1.0):
    """Undrained strength [kPa] at a mean effective stress of the plane [kPa], with c' and tan(phi') divided by a factor."""
    phi = np.arctan(np.tan(np.radians(PHI)) / factor)
    return C / factor * np.cos(phi) + mean * np.sin(phi)


def apparent_angle(nu_u, factor=1.0):
    """Friction angle phi* [deg] by which strength grows with total stress."""
    phi = np.arctan(np.tan(np.radians(PHI)) / factor)
    kept = (bulk_ratio(NU) + 1 / 3) / (bulk_ratio(nu_u) + 1 / 3)  # K + G / 3 is what mean stress of the plane has for a change of area
    return float(np.degrees(np.arcsin(kept * np.sin(phi))))
