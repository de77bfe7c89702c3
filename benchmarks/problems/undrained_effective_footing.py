"""Smooth strip footing on clay that is undrained in effective stress: Nc with the strength that c', phi' and the state of rest make, and no locking by the pore water."""

from __future__ import annotations

import numpy as np

from benchmarks.common import end_of, mohr_coulomb, pressed
from benchmarks.footing import HALF, bearing_factors, draw_footing, flat_row, footing_mesh, isotropic, load_graph, over, press_down
from benchmarks.problem import Answer, Problem, Row
from benchmarks.undrained import C, E, NU, PHI, apparent_angle, sealed, strength

BEFORE, SETTLEMENT, STEPS = 50.0, 0.25, 15
"""Stress all round before, and load beside the footing [kPa]; settlement [m]."""

RATIOS = (0.495, 0.499)
MESH = "displacement elements err high; such a mesh is known to reach +1.5 % in total stress (800 triangles)"
SAME = "water that gives way less must not make the elements stiffer: locking would"


def known(nu_u):
    """(pressure - BEFORE) / su at the limit: Prandtl's for the small angle phi* with which strength grows with total stress."""
    angle = apparent_angle(nu_u)
    return bearing_factors(angle)[1] / np.cos(np.radians(angle))


def pressed_down(h, nu_u):
    """Curve of (pressure - BEFORE) / su, and the number of triangles."""
    mesh = footing_mesh(0, h)
    x, y = mesh.points.T
    outside = (np.abs(y) < 1e-9) & (x > HALF - 1e-9)
    law, su = sealed(mohr_coulomb(E, NU, PHI, 0.0, C, 0.0), nu_u), strength(BEFORE)
    curve = press_down(mesh, law, isotropic(BEFORE), lambda base: pressed(mesh, outside, BEFORE), SETTLEMENT, STEPS, su * HALF * 5)
    return over([p._replace(value=p.value - BEFORE) for p in curve], su), len(mesh.triangles)


def run(h) -> Answer:
    """``h``: size at the edge of the footing, in half-widths."""
    rows, exact, found, excess, triangles = [], {}, {}, [], None
    for nu_u in RATIOS:
        curve, triangles = pressed_down(h, nu_u)
        label = f"nu_u {nu_u:g}"
        exact[f"closed form, {label}"], found[label] = known(nu_u), (SETTLEMENT, curve)
        rows += [Row(f"Nc, {label}", known(nu_u), end_of(curve), -0.002, 0.02, MESH), flat_row(f"Nc, {label}", curve)]
        excess.append(end_of(curve) / known(nu_u))
    rows.append(Row(f"Nc over its closed form, nu_u {RATIOS[1]:g} beside {RATIOS[0]:g}", 1.0, excess[1] / excess[0], -0.005, 0.005, SAME))
    return Answer(rows, triangles, load_graph("(Pressure - 50 kPa) / su", exact, found))


PROBLEM = Problem(
    "footing on clay, undrained by effective stress",
    "Smooth rigid strip between loads of 50 kPa on weightless clay at rest under 50 kPa all round: E' = 10 MPa, nu' = 0.3, 25 deg, c' = 5 kPa, no dilation, no drainage",
    "Prandtl 1920 (from memory) with su = c' cos phi' + s' sin phi', and with the small friction that water of finite stiffness leaves",
    run, (0.06,), (0.06, 0.03, 0.015), lambda ax: draw_footing(ax, "c', phi', no drainage", "50 kPa"),
)  # fmt: skip
