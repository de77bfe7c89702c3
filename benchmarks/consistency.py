"""Staged elastic cases with an exact answer: case file, mesh, stages and result all take part."""

from __future__ import annotations

import numpy as np

from benchmarks.common import FULL, Problem, Row
from fesoil.case import read_text
from fesoil.solve.analyse import analyse

GROUND = """
[[soils]]
name = "elastic"
unit_weight = { moist = 20, saturated = 20 }
stiffness = { E = "20 MPa", poisson_ratio = 0.3 }

[[layers]]
soil = "elastic"
top_level = 0
"""

# ------------------------------------------------------------------------------------------------------------- wide excavation


def dug(levels):
    """Heave [m] of the formation, mean and scatter, of ground of 15 m dug everywhere to levels one after another."""
    stages = "".join(f'[[stages]]\nname = "Dig {k}"\ndig = {{ everywhere = {y} }}\n' for k, y in enumerate(levels))
    head = 'title = "Wide dig"\n[section]\nleft = 0\nright = 10\nbottom_level = -15\nelement_size = 1\n'
    result = analyse(read_text(head + GROUND + stages))
    on = np.abs(result.mesh.points[:, 1] + result.mesh.origin[1] - levels[-1]) < 1e-6
    heave = result.states[-1].u[on, 1]
    return heave.mean(), np.ptp(heave)


def heave_rows(size):
    E, nu = 20e3, 0.3
    M = E * (1 - nu) / ((1 + nu) * (1 - 2 * nu))
    once, scatter = dug([-5.0])
    steps, _ = dug([-1.0, -2.0, -3.0, -4.0, -5.0])
    exact = 100 * 10 / M
    reason = "a quadratic field is exact for these elements; what remains is the tolerance of equilibrium, 1e-4"
    return [
        Row("heave of the formation in one stage [m]", exact, once, -2e-4, 2e-4, reason),
        Row("heave in one stage: largest less smallest, over the mean", 1.0, 1 + scatter / once, -1e-6, 2e-4, reason),
        Row("heave in five stages [m]", exact, steps, -2e-4, 2e-4, reason),
        Row("heave in five stages over that in one", 1.0, steps / once, -2e-4, 2e-4, "elastic ground remembers no order (Ishihara 1970, from memory)"),
    ]


# -------------------------------------------------------------------------------------------------------------- strip taken off


def settlement(x, q, a, depth, E, nu):
    """Settlement [m] under a flexible strip q, half-width a, on a layer with a rough rigid base, by its Fourier integral."""
    k = (np.arange(400_000) + 0.5) * (400 / a / 400_000)
    l2, small = 2 * np.minimum(k * depth, 300), np.exp(-2 * np.minimum(k * depth, 300))
    sinh, cosh, poly = (1 - small**2) / 2, (1 + small**2) / 2, small  # all over exp(2 l)
    top = (3 - 4 * nu) * sinh - l2 * poly
    bottom = (3 - 4 * nu) * cosh + (l2**2 / 2 + 5 - 12 * nu + 8 * nu**2) * poly
    integrand = 2 * q * np.sin(k * a) / k * np.cos(k * x) * 2 * (1 - nu**2) / (E * k) * top / bottom
    return float(integrand.sum() * (k[1] - k[0]) / np.pi)


def strip_rows(size):
    q, a, depth = 100.0, 5.0, 10.0
    text = f"""
title = "Strip on a layer"
[section]
half = true
right = {10 * a}
bottom_level = {-depth}
element_size = {0.15 if size == FULL else 0.35}
{GROUND}
[[loads]]
name = "strip"
from = 0
to = {a}
pressure = {q}

[[stages]]
name = "Load"
load = ["strip"]

[[stages]]
name = "Unload"
unload = ["strip"]
"""
    result = analyse(read_text(text))
    _, loaded, unloaded = result.states
    x, y = (result.mesh.points + result.mesh.origin).T
    rebound = lambda at: (unloaded.u - loaded.u)[np.argmin(np.hypot(x - at, y)), 1]  # noqa: E731
    return [
        Row(
            "rebound in the middle [m]", settlement(0.0, q, a, depth, 20e3, 0.3), rebound(0.0), -0.005, 0.005,
            "other code at this fineness: 0.05 %; the sides are 10 half-widths away",
        ),
        Row(
            "rebound at the edge [m]", settlement(a, q, a, depth, 20e3, 0.3), rebound(a), -0.015, 0.015,
            "the load stops within the element: 0.3 to 0.6 % in another code",
        ),
    ]


PROBLEMS = (
    Problem(
        "wide dig", "Five metres taken off 15 m of elastic ground, 20 kN/m3, E = 20 MPa, nu = 0.3", "one-dimensional elasticity, closed form",
        heave_rows,
    ),
    Problem(
        "strip", "Strip of 100 kPa, 10 m wide, taken off a layer of 10 m on a rough base",
        "Fourier integral, evaluated in the file; checked for the project by a direct solution", strip_rows,
    ),
)
