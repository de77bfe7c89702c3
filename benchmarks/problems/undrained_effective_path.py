"""Compression without drainage by effective stress: strength and excess pore pressure follow from c', phi', the state of rest and the stiffness of the water."""

from __future__ import annotations

import numpy as np

from benchmarks import sketch
from benchmarks.common import at_rest_in, mohr_coulomb, movement, no_wall_force, one_material, pressed, push
from benchmarks.paths import ALGEBRA, HOLDS, TIGHT, square
from benchmarks.problem import Answer, Graph, Problem, Row
from benchmarks.undrained import C, E, NU, PHI, modulus, strength, sealed, share_of_water

BEFORE, END = 100.0, 0.02
"""Stress all round before [kPa], shortening at the end."""

RATIOS = (0.495, 0.499)


def at_yield(nu_u):
    """Upright stress beyond that before [kPa], and excess pressure, at yield, with side stress held.

    Until then soil and water together are elastic, nu_u in plane strain: of the added stress q the mean grows by (1 + nu_u) q / 3, of which the water takes its share b. The
    circle of effective stress has the radius q / 2 about BEFORE + q / 2 - b (1 + nu_u) q / 3. Beyond yield nothing changes any more: without dilation the mean of the plane
    follows volume alone, and a radius that does not grow leaves no change of volume.
    """
    water = share_of_water(nu_u) * (1 + nu_u) / 3
    q = 2 * strength(BEFORE) / (1 - np.sin(np.radians(PHI)) * (1 - 2 * water))
    return q, water * q


def compressed(nu_u, steps=20):
    """Upright total stress beyond that before, and excess pressure, after each step of shortening, with side stress held: (steps + 1,) each [kPa]."""
    mesh = square()
    x, y = mesh.points.T
    right, top = x > 1 - 1e-9, y > 1 - 1e-9
    model = one_material(mesh, sealed(mohr_coulomb(E, NU, PHI, 0.0, C, 0.0), nu_u), np.column_stack([x < 1e-9, (y < 1e-9) | top]))
    load = model.reduce(pressed(mesh, right, BEFORE), no_wall_force(mesh))
    start = at_rest_in(model, lambda points: np.tile([-BEFORE, -BEFORE, -BEFORE, 0.0], (len(points), 1)))
    down = movement(model, -END * np.outer(top, [0.0, 1.0]))
    curve = push(model, start, load, BEFORE, down, np.arange(1, steps + 1) / steps, lambda s, _: np.nan, TIGHT)
    stress = [state.stress.mean(axis=0) for state in (start, *(p.state for p in curve))]
    return np.array([-s.sum(axis=0)[1] - BEFORE for s in stress]), np.array([-s[-1, 0] for s in stress])


def run(_) -> Answer:
    rows, lines, marks, shortening = [], [], [], np.linspace(0, END, 21)
    for nu_u in RATIOS:
        q, u = at_yield(nu_u)
        found, water = compressed(nu_u)
        label = f"nu_u {nu_u:g}"
        rows += [
            Row(f"{label}: added stress at the end [kPa]", q, found[-1], -HOLDS, HOLDS, ALGEBRA),
            Row(f"{label}: excess pressure at the end [kPa]", u, water[-1], -HOLDS, HOLDS, ALGEBRA),
            Row(f"{label}: excess over added mean stress while elastic", share_of_water(nu_u), water[1] / (found[1] * (1 + nu_u) / 3), -HOLDS, HOLDS, ALGEBRA),
        ]
        kink = q / modulus(nu_u)
        lines += [(f"added stress, {label}", [0, 100 * kink, 100 * END], [0, q, q]), (f"excess pressure, {label}", [0, 100 * kink, 100 * END], [0, u, u])]
        marks += [(f"fesoil, {label}", 100 * shortening, found), (f"fesoil, excess, {label}", 100 * shortening, water)]
    return Answer(rows, graph=Graph("Shortening [%]", "Stress [kPa]", tuple(lines), tuple(marks)))


def draw(ax):
    sketch.box(ax, 0, 1, 0, 1)
    sketch.arrow(ax, (0.5, 1.5), (0.5, 1.03), "driven down")
    for y in (0.25, 0.75):
        sketch.arrow(ax, (1.45, y), (1.03, y))
    sketch.say(ax, 0.5, 0.5, "no drainage")


PROBLEM = Problem(
    "path, undrained by effective stress",
    "A square metre with its side stress of 100 kPa held, shortened without drainage: E' = 10 MPa, nu' = 0.3, 25 deg, c' = 5 kPa, no dilation",
    "Hooke's law of soil and water together, strength line at the mean effective stress, closed form", run, (None,), (None,), draw,
)  # fmt: skip
