"""Stiffness and strength of a soil as numbers: by depth, by stress, and along the curve of ground that is stiff at small strain.

The curve is G / G0 = 1 / (1 + (strain / reference strain)^curvature) (Darendeli 2001 for the form, from memory; Oztoprak and Bolton 2013 and Vardanega and
Bolton 2013 fit it to databases of tests). ``p`` is the mean effective stress before the works [kPa] (total in total-stress soils), at which G0 and the reference strain
are frozen. Whether curve and strength agree is told by one number, the ratio X = reference strain * G0 / shear strength: the strength in use at a
strain is x / (1 + (x / X)^curvature) with x = strain * G0 / shear strength.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fesoil.case.soil import CLAY_CURVE, DENSE_SAND_MODULUS, EFFECTIVE_STRESS, SAND_CURVE, SAND_MODULUS, TOTAL_STRESS, SmallStrain, Soil

ATMOSPHERE = 101.3
"""Pressure [kPa] by which the correlations of Oztoprak and Bolton make stress dimensionless."""

LEAST_PRESSURE = 10.0
"""Mean stress [kPa] below which G0 does not fall (25 in its place changed a pit by 0.3 %)."""

WORKING_STRAIN = 1e-3
"""Shear strain at which the stiffness of springs, faces and the start is read off the curve: that of ground beside walls (common practice, no source)."""


def growing(value, profile, level):
    """A parameter [kPa] that grows by ``profile.per_metre_depth`` below ``profile.at_level`` and is never below ``profile.smallest``, where it has one."""
    top, level = profile.at_level, np.asarray(level, float)
    depth = np.zeros(level.shape) if top is None else np.maximum(top - level, 0.0)
    return np.maximum(value + profile.per_metre_depth * depth, getattr(profile, "smallest", 0.0))


def is_small_strain(soil: Soil) -> bool:
    """Whether a soil has a curve of stiffness rather than one Young's modulus."""
    return isinstance(soil.stiffness, SmallStrain) and soil.strength is not None


def small_strain_modulus(soil: Soil, p, level):
    """G0 [kPa] at mean stresses ``p`` (n,) and levels (n,)."""
    given, p = soil.stiffness, np.maximum(p, LEAST_PRESSURE) + 0 * np.asarray(level, float)
    if given.G0_by == SAND_MODULUS:  # read at second hand
        return 5760 * ATMOSPHERE * (p / ATMOSPHERE) ** 0.49 / (1 + given.void_ratio) ** 3
    if given.G0_by == DENSE_SAND_MODULUS:  # B = 875 at 100 kPa, read at second hand in the documentation of an open library of soil correlations
        return 875 * 100.0 / (0.3 + 0.7 * given.void_ratio**2) * np.sqrt(p / 100.0)
    if given.at_stress is not None:
        return given.G0 * (p / given.at_stress) ** given.stress_power
    return growing(given.G0, given, level)


def reference_strain(soil: Soil, p):
    """Shear strain at which G is half of G0, at mean stresses ``p``."""
    given, p = soil.stiffness, np.maximum(p, LEAST_PRESSURE)
    if given.curve_by == SAND_CURVE:
        percent = 0.01 * given.uniformity**-0.3 * p / ATMOSPHERE + 0.08 * given.void_ratio * given.relative_density
        return percent / 100
    if given.curve_by == CLAY_CURVE:
        return 2.2e-3 * given.plasticity_index + 0 * p
    grown = 1.0 if given.strain_at_stress is None else (p / given.strain_at_stress) ** given.strain_power
    return given.reference_strain * grown + 0 * p


def curvature(soil: Soil) -> float:
    """Exponent of the curve."""
    given = soil.stiffness
    return {SAND_CURVE: lambda: given.uniformity**-0.075, CLAY_CURVE: lambda: 0.736}.get(given.curve_by, lambda: given.curvature)()


def cohesion(soil: Soil, level):
    """Effective cohesion [kPa] at levels (n,); the same at all of them in a soil that is undrained in effective stress, where growth is that of su."""
    if soil.drainage == EFFECTIVE_STRESS:
        return np.full(np.shape(level), soil.strength.effective_cohesion)
    return growing(soil.strength.effective_cohesion, soil.strength, level)


def undrained_strength(soil: Soil, level):
    """Undrained strength su [kPa], as stated, at levels (n,)."""
    return growing(soil.strength.undrained_strength, soil.strength, level)


def implied_strength(soil: Soil, p, level):
    """Undrained strength [kPa] that effective stress gives in ground that rests at mean stresses ``p`` (n,) [kPa]: c' cos(phi') + s' sin(phi').

    Without dilation and without change of volume the mean s' of the upright and the sideways pressure stays what it was at rest: the circle of stress grows about it until
    it touches the strength line.
    """
    K, phi = soil.at_rest_ratio, soil.strength.friction_angle
    return cohesion(soil, level) * np.cos(phi) + 1.5 * (1 + K) / (1 + 2 * K) * p * np.sin(phi)


def shear_strength(soil: Soil, p, level):
    """Shear strength [kPa] that makes the curve dimensionless: p sin(phi') + c' cos(phi'), su in total stress."""
    if soil.drainage == TOTAL_STRESS:
        return undrained_strength(soil, level) + 0 * p
    phi = soil.strength.friction_angle
    return np.maximum(p, LEAST_PRESSURE) * np.sin(phi) + cohesion(soil, level) * np.cos(phi)


def modulus_ratio(strain, reference, exponent):
    """G / G0 of the curve at a shear strain."""
    return 1 / (1 + (np.asarray(strain, float) / reference) ** exponent)


def working_modulus(soil: Soil, p, level):
    """Young's modulus [kPa]: the one given, or that of the curve at ``WORKING_STRAIN``."""
    if not isinstance(soil.stiffness, SmallStrain):
        return growing(soil.stiffness.E, soil.stiffness, level)
    G0 = small_strain_modulus(soil, p, level)
    return 2 * (1 + soil.poisson_ratio) * G0 * modulus_ratio(WORKING_STRAIN, reference_strain(soil, p), curvature(soil))


def bulk_ratio(nu):
    """Bulk modulus over shear modulus at a Poisson's ratio (Hooke's law)."""
    return 2 * (1 + nu) / (3 * (1 - 2 * nu))


def pore_fluid_modulus(soil: Soil, p, level):
    """Bulk modulus [kPa] that pore water adds to that of the soil, at mean stresses ``p`` (n,) and levels (n,).

    The one that brings soil and water together from the soil's Poisson's ratio to the undrained one, with the same shear modulus (at very small strain where there is a curve).
    """
    E = working_modulus(soil, p, level)
    G = small_strain_modulus(soil, p, level) if is_small_strain(soil) else E / (2 * (1 + soil.poisson_ratio))
    return G * (bulk_ratio(soil.undrained_ratio) - bulk_ratio(soil.poisson_ratio))


@dataclass(frozen=True)
class Agreement:
    """How curve, strength and state of rest of a soil fit together at one place.

    ``X`` ratio of curve to strength; ``in_use`` share of the strength in use at a shear strain of 1 %, by the curve alone; ``at_rest`` share in use in the state of rest;
    ``at_full`` share at ``full_strength_strain``, by the curve alone.
    """

    p: float
    level: float
    G0: float
    reference_strain: float
    X: float
    in_use: float
    at_rest: float
    at_full: float


def agreement(soil: Soil, p: float, level: float) -> Agreement:
    """Agreement at a mean stress [kPa] and level."""
    G0, reference, strength = (float(v) for v in (small_strain_modulus(soil, p, level), reference_strain(soil, p), shear_strength(soil, p, level)))

    def in_use(strain):
        return float(strain * G0 * modulus_ratio(strain, reference, curvature(soil)) / strength)

    return Agreement(float(p), float(level), G0, reference, reference * G0 / strength, in_use(0.01), rest_in_use(soil, p, level), in_use(soil.stiffness.full_strength_strain))


def rest_in_use(soil: Soil, p: float, level: float) -> float:
    """Share of the strength in use in the state of rest: deviator over its limit in triaxial compression (or extension) at the same mean stress."""
    K = soil.at_rest_ratio
    q = 3 * (1 - K) / (1 + 2 * K) * p
    if soil.drainage == TOTAL_STRESS:
        return float(abs(q) / (2 * shear_strength(soil, p, level)))
    phi, c = soil.strength.friction_angle, float(cohesion(soil, level))
    return float(abs(q) * (3 - np.copysign(np.sin(phi), q)) / (6 * (p * np.sin(phi) + c * np.cos(phi))))


def sources(soil: Soil) -> list[str]:
    """Where G0 and the curve come from, with their scatter; what nobody has re-read is marked."""
    given, said = soil.stiffness, []
    said.append({SAND_MODULUS: f"G0 by {SAND_MODULUS} (sands; a factor of 1.6 either way at one standard deviation; constants read at second hand)",
                 DENSE_SAND_MODULUS: f"G0 by {DENSE_SAND_MODULUS} (as used for a dense marine sand; scatter not known; constants read at second hand)"}.get(given.G0_by, "G0 as given"))
    said.append({SAND_CURVE: f"curve by {SAND_CURVE} (sands; G/G0 a factor of 1.13 either way at one standard deviation; constants from memory)",
                 CLAY_CURVE: f"curve by {CLAY_CURVE} (clays and silts, static; G/G0 within 30 % in about nine of ten tests; constants from memory)"}.get(given.curve_by, "curve as given"))
    return said
