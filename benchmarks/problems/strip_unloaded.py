"""Flexible strip load taken off a layer: the rebound of the surface."""

from __future__ import annotations

import numpy as np
from scipy.interpolate import CubicSpline

from benchmarks import sketch
from benchmarks.consistency import E, NU, places, staged
from benchmarks.problem import Answer, Graph, Problem, Row

Q, A, DEPTH = 100.0, 5.0, 10.0
"""Pressure [kPa], half-width and thickness of the layer [m]."""

COARSEST_KNOWN = 0.35
"""Size [m] up to which the limits hold as they are; they grow with the size above it."""

INSIDE = "other code at this fineness: 0.05 %; the sides are 10 half-widths away"
EDGE = "the load stops within the element: 0.3 to 0.6 % in another code"
BESIDE = "as good as inside, but the movement is a twentieth: four times the share"
PLACES = (
    ("in the middle", 0.0, 0.005, INSIDE), ("half-way to the edge", 0.5, 0.005, INSIDE), ("at the edge", 1.0, 0.015, EDGE),
    ("two half-widths out", 2.0, 0.02, BESIDE),
)  # fmt: skip
"""Name, distance from the middle in half-widths, limit of the difference, and why."""


def settlement(x):
    """Settlement [m] of the surface under the strip on a layer with a rough rigid base, by its Fourier integral."""
    k = (np.arange(100_000) + 0.5) * (400 / A / 100_000)
    l2, small = 2 * np.minimum(k * DEPTH, 300), np.exp(-2 * np.minimum(k * DEPTH, 300))
    sinh, cosh, poly = (1 - small**2) / 2, (1 + small**2) / 2, small  # all over exp(2 l)
    top = (3 - 4 * NU) * sinh - l2 * poly
    bottom = (3 - 4 * NU) * cosh + (l2**2 / 2 + 5 - 12 * NU + 8 * NU**2) * poly
    integrand = 2 * Q * np.sin(k * A) / k * np.cos(k * x) * 2 * (1 - NU**2) / (E * k) * top / bottom
    return float(integrand.sum() * (k[1] - k[0]) / np.pi)


def rebounded(h):
    """Number of triangles, and places [m] of the surface with their rebound [m]."""
    section = f"half = true\nright = {10 * A}\nbottom_level = {-DEPTH}\nelement_size = {h}"
    load = f'\n[[loads]]\nname = "strip"\nfrom = 0\nto = {A}\npressure = {Q}\n'
    result = staged(section, ['load = ["strip"]', 'unload = ["strip"]'], load)
    _, loaded, unloaded = result.states
    x, y = places(result).T
    surface = np.flatnonzero(np.abs(y) < 1e-6)
    surface = surface[np.argsort(x[surface])]
    return len(result.mesh.triangles), x[surface], (unloaded.u - loaded.u)[surface, 1]


def run(h) -> Answer:
    """``h``: size of the triangles at the edge of the load [m]."""
    triangles, x, rebound = rebounded(h)
    between, coarse = CubicSpline(x, rebound), max(1.0, h / COARSEST_KNOWN)
    rows = [
        Row(f"rebound {name} [m]", settlement(at * A), float(between(at * A)), -coarse * high, coarse * high, reason)
        for name, at, high, reason in PLACES
    ]
    fine, near = np.linspace(0, 3 * A, 60), np.flatnonzero(x < 3 * A)[:: max(1, len(x) // 60)]
    line = ("Fourier integral", fine, [1e3 * settlement(at) for at in fine])
    return Answer(rows, triangles, Graph("Distance from the middle [m]", "Rebound [mm]", (line,), (("fesoil", x[near], 1e3 * rebound[near]),)))


def draw(ax):
    sketch.box(ax, -15, 15, -DEPTH, 0)
    sketch.pressure(ax, -A, A, 0, 2.5, "100 kPa, taken off")
    sketch.measure(ax, (-A, -1.2), (A, -1.2), "10 m")
    sketch.measure(ax, (11, 0), (11, -DEPTH), "10 m")
    ax.plot([-15, 15], [-DEPTH] * 2, color=sketch.INK, linewidth=2.0)


PROBLEM = Problem(
    "strip", "Strip of 100 kPa, 10 m wide, taken off a layer of 10 m (E = 20 MPa, nu = 0.3) on a rough base",
    "Fourier integral, evaluated in the file; checked for the project by a direct solution", run, (0.35,), (0.7, 0.35, 0.15), draw,
)  # fmt: skip
