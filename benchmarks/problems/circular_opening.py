"""Circular opening whose support falls: movement of its wall and the zone at yield, with three dilation angles."""

from __future__ import annotations

import numpy as np

from benchmarks.common import mohr_coulomb, movement, no_wall_force, one_material, pressed, push
from benchmarks.opening import Friction, at_radius, draw_ring, even, radial, ring, square_cells, symmetric
from benchmarks.problem import Answer, Graph, Problem, Row

BEFORE, AFTER, FAR = 100.0, 20.0, 30.0
"""Pressure in the ground and support at the end [kPa], and the radius [m] at which the exact movement is prescribed; the opening has a radius of 1 m.

Below a support of 15.5 kPa the stress along the opening would no longer be between the others, and the closed form would not hold."""

DILATIONS = (0.0, 10.0, 30.0)
STEPS = 16

WALL = "1 % with cells of 1/16 (elastic rings of such triangles reach 0.1 %), by the size elsewhere, since the border of yield cuts triangles"
ZONE = "the outermost point at yield lies within one element"


def plastic(soil: Friction, support):
    """Plastic radius (1 where none) and radial stress at it [kPa] under a support pressure."""
    N, Y, H = soil.yielding
    first = (2 * BEFORE - Y) / (1 + N)
    return (1.0, support) if support >= first else (((first + H) / (support + H)) ** (1 / (N - 1)), first)


def elastic(soil: Friction, r, support):
    """Inward movement [m] at a radius r in the elastic ground."""
    rp, stress = plastic(soil, support)
    return (BEFORE - stress) * rp**2 / (2 * soil.G * r)


def inward(soil: Friction, support):
    """Inward movement [m] of the wall, with elastic strains kept in the plastic zone."""
    (N, _, H), K, nu, (rho, first) = soil.yielding, soil.flow, soil.nu, plastic(soil, support)
    A1, A0 = (1 - nu) * (1 + K * N) - nu * (N + K), -(H + BEFORE) * (1 - 2 * nu) * (1 + K)
    whole = (BEFORE - first) * rho ** (K + 1)
    return (whole - A1 * (support + H) * (rho ** (K + N) - 1) / (K + N) - A0 * (rho ** (K + 1) - 1) / (K + 1)) / (2 * soil.G)


def relieved(soil: Friction, mesh):
    """Supports [kPa], curve of the wall's inward movement [m], and the radius that yield reaches [m], by finite elements."""
    (inner, _), (outer, outward) = at_radius(mesh, 1.0), at_radius(mesh, FAR)
    model = one_material(mesh, mohr_coulomb(*soil[:2], soil.phi, soil.psi, soil.c), symmetric(mesh) | outer[:, None])
    unit = model.reduce(pressed(mesh, inner, 1.0), no_wall_force(mesh))
    shares = np.linspace(0, 1, STEPS + 1)[1:]
    support = lambda share: BEFORE + share * (AFTER - BEFORE)  # noqa: E731
    far = lambda share: movement(model, -elastic(soil, FAR, support(share)) * outward)  # noqa: E731
    curve = push(model, even(model, BEFORE), AFTER * unit, BEFORE, far, shares, lambda s, _: -radial(mesh, s, 1.0), 1e-6, BEFORE * unit)
    full = model.ground.mobilised(curve[-1].state.stress) > 1 - 1e-6
    return support(shares), curve, np.hypot(*model.triangles.points.reshape(-1, 2).T)[full].max()


def run(h) -> Answer:
    """``h``: share of the quarter round that a cell takes."""
    around = round(1 / h)
    mesh, radii = ring(1.0, FAR, around, square_cells(1.0, FAR, around))
    rows, lines, marks, fine = [], [], [], np.linspace(BEFORE, AFTER, 81)
    for psi in DILATIONS:
        soil, name = Friction(psi=psi), f"dilation {psi:.0f} deg"
        supports, curve, reached = relieved(soil, mesh)
        rp, _ = plastic(soil, AFTER)
        element, high = np.diff(radii)[np.searchsorted(radii, rp) - 1] / rp, 0.01 * 16 * h
        moved = curve[-1].value if curve[-1].converged else np.nan
        rows.append(Row(f"movement of the wall, {name} [m]", inward(soil, AFTER), moved, -high, high, WALL))
        rows.append(Row(f"plastic radius, {name} [m]", rp, reached, -element, element, ZONE))
        lines.append((f"closed form, {name}", [1e3 * inward(soil, p) for p in fine], fine))
        marks.append((f"fesoil, {name}", [1e3 * p.value for p in curve], supports[: len(curve)]))
    return Answer(rows, len(mesh.triangles), Graph("Inward movement of the wall [mm]", "Support pressure [kPa]", tuple(lines), tuple(marks)))


PROBLEM = Problem(
    "opening", "Support of a circular opening in Mohr-Coulomb ground falls from 100 to 20 kPa (E = 50 MPa, nu = 0.3, c = 5 kPa, 30 deg)",
    "closed form with elastic strains in the plastic zone, after Salencon 1969 (from memory); derived afresh for the project",
    run, (1 / 16,), (1 / 8, 1 / 16, 1 / 32), lambda ax: draw_ring(ax, 1.0, 5.0, ("1 m", "endless ground, 100 kPa"), endless=True),
)  # fmt: skip
