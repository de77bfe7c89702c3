"""Cuts and slopes without support: the safety factor by strength reduction."""

from __future__ import annotations

import numpy as np

from benchmarks.common import FULL, Problem, Row, boxed, mohr_coulomb, no_wall_force, one_material, plain_mesh, weight
from fesoil.result.state import blank_state
from fesoil.solve.newton import equilibrate
from fesoil.solve.strength import safety_factor

BRACKET = 0.005
"""Width of the last bracket of the search; the largest factor found stable is the one reported."""


def reduced(mesh, law, gamma):
    """Safety factor of ground that gets its weight [kN/m3] all at once on rollers and a rough base; nan where it cannot carry that."""
    model = one_material(mesh, law, boxed(mesh))
    load = model.reduce(weight(model.base, gamma), no_wall_force(mesh))
    scale = float(np.linalg.norm(weight(model.base, gamma)))
    start = equilibrate(model, blank_state(mesh), load, scale)
    return safety_factor(model, start.state, load, scale, tolerance=BRACKET).factor if start.converged else np.nan


# ------------------------------------------------------------------------------------------------------------- vertical cut in clay


def cut_mesh(height, size):
    """Ground right of x = 0 up to y = 0, left of it up to -height; finest at the toe."""
    box = (-1.5 * height, 2.5 * height, -2 * height, 0.0)
    lines = [(0.0, -height, 0.0, 0.0), (box[0], -height, 0.0, -height)]
    return plain_mesh(box, size, [(0.0, -height, -height)], lines, keep=lambda p: (p[:, 0] > 0) | (p[:, 1] < -height))


def vertical_rows(size):
    su, gamma, height = 30.0, 18.0, 5.0
    rows = []
    for h in (0.1, 0.04) if size == FULL else (0.1,):
        mesh = cut_mesh(height, h)
        factor = reduced(mesh, mohr_coulomb(300 * su, 0.49, 0, 0, su), gamma)
        rows.append(Row(
            f"safety factor, {len(mesh.triangles)} triangles", 3.776 * su / (gamma * height), factor, -0.005, 0.02,
            "bracket of 0.4 %; displacement elements err high",
        ))
    return rows


# ----------------------------------------------------------------------------------------------------------- slope on a firm base


def slope_mesh(height, size):
    """Slope 2:1 from the crest at (0, height) down to its toe at (2 height, 0), on a firm base at the toe's level; 1.2 heights of crest."""
    box = (-1.2 * height, 2 * height, 0.0, height)
    line = [(0.0, height, 2 * height, 0.0)]
    return plain_mesh(box, size, [(2 * height, 0.0, 0.0), (0.0, height, height)], line, keep=lambda p: p[:, 0] < 2 * (height - p[:, 1]))


def slope_rows(size):
    height, gamma, phi = 10.0, 20.0, 20.0
    mesh = slope_mesh(height, 0.2 if size == FULL else 0.4)
    rows = []
    for psi, expected, low, high, reason in (
        (
            20.0, 1.379, -0.005, 0.022,
            "limit analysis, computed for the project, brackets it by 1.3748 and 1.3834; displacement elements err high, up to 1.41",
        ),
        (0.0, 1.380, -0.0145, 0.022, "published finite elements 1.4 and chart 1.380; without dilation 1.36 to 1.41 holds all known solutions"),
    ):
        if psi == 0.0 and size != FULL:
            continue
        factor = reduced(mesh, mohr_coulomb(1e5, 0.3, phi, psi, 0.05 * gamma * height), gamma)
        rows.append(Row(f"safety factor, dilation {psi:.0f} deg, {len(mesh.triangles)} triangles", expected, factor, low, high, reason))
    return rows


PROBLEMS = (
    Problem(
        "vertical cut", "Vertical cut of 5 m in clay that stands in tension, su = 30 kPa, 18 kN/m3",
        "gamma H / su between 3.7752 and 3.7776: Kammoun, Pastor, Smaoui & Pastor 2010 (abstract)", vertical_rows,
    ),
    Problem(
        "slope", "Slope 2:1, 10 m, friction 20 deg, c = 0.05 gamma H, firm base at the toe",
        "Griffiths & Lane 1999, example 1 (1.4) and Bishop & Morgenstern 1960 (1.380), both from memory", slope_rows,
    ),
)
