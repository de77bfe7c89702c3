"""Vertical cut in clay that is undrained in effective stress and stands by suction: strength reduction divides c' and tan phi', and the excess pressure answers."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from scipy.optimize import brentq

from benchmarks.common import at_rest_in, boxed, mohr_coulomb, no_wall_force, one_material, weight
from benchmarks.cuts import BRACKET, Slope, spiral_bound
from benchmarks.problem import Answer, Graph, Problem, Row
from benchmarks.problems.vertical_cut import KINEMATIC, STATIC
from benchmarks.undrained import C, E, NU, PHI, apparent_angle, sealed, strength
from fesoil.solve.newton import equilibrate
from fesoil.solve.strength import safety_factor

BEFORE, GAMMA, HEIGHT = 80.0, 18.0, 5.0
"""Suction that holds the clay before its weight comes on [kPa], unit weight [kN/m3], height [m]."""

RATIOS = (0.495, 0.499)
CUT = Slope(90, HEIGHT, 1.5 * HEIGHT, HEIGHT, 0.5 * HEIGHT, finest=(0.0,))
REASON = "last bracket of 0.2 %; displacement elements err high; 0.5 % for the log spiral that carries the known number over to the small angle phi*"


def number(angle):
    """gamma H / c of a vertical cut at a small friction angle [deg]: the known one without friction, raised as log spirals are."""
    return (STATIC + KINEMATIC) / 2 * spiral_bound(90, angle) / spiral_bound(90, 0.0)


def known(nu_u):
    """Safety factor: at F the cohesion in total stress is su(F) / cos(phi*), with su(F) and phi* of what is left of c' and tan phi'."""

    def spare(factor):
        angle = apparent_angle(nu_u, factor)
        return number(angle) * strength(BEFORE, factor) / np.cos(np.radians(angle)) - GAMMA * HEIGHT

    return brentq(spare, 0.5, 3.0)


def reduced(mesh, nu_u):
    """Safety factor, with the factors at which the cut stood and the movement there [m]. Total stress is zero before the weight comes on: effective stress against suction."""
    model = one_material(mesh, sealed(mohr_coulomb(E, NU, PHI, 0.0, C, 0.0), nu_u), boxed(mesh))
    rest = at_rest_in(model, lambda points: np.tile([-BEFORE, -BEFORE, -BEFORE, 0.0], (len(points), 1)))
    stress = rest.stress.copy()
    stress[:, -1] = -stress[:, 0]
    forces = weight(model.base, GAMMA)
    load, scale, moved = model.reduce(forces, no_wall_force(mesh)), float(np.linalg.norm(forces)), []
    start = equilibrate(model, replace(rest, stress=stress), load, scale)
    if not start.converged:
        return np.nan, np.zeros(0), np.zeros(0)

    def note(_, state):
        moved.append(float(np.abs(state.u - start.state.u).max()))
        return []

    found = safety_factor(model, start.state, load, scale, tolerance=BRACKET, members=note)
    stood = np.array([factor for factor, stable, _ in found.trials if stable])
    return np.nan if found.factor is None else found.factor, stood, np.array(moved)


def run(h) -> Answer:
    """``h``: mesh size at the toe [m]."""
    mesh, rows, lines, marks = CUT.mesh(h), [], [], []
    for nu_u in RATIOS:
        factor, stood, moved = reduced(mesh, nu_u)
        label = f"nu_u {nu_u:g}"
        rows.append(Row(f"safety factor, {label}", known(nu_u), factor, -0.01, 0.025, REASON))
        lines.append((f"known, {label}", [known(nu_u)] * 2, [0, 1e3 * moved.max(initial=0)]))
        marks.append((f"fesoil, standing, {label}", stood, 1e3 * moved))
    return Answer(rows, len(mesh.triangles), Graph("Factor F", "Movement [mm]", tuple(lines), tuple(marks)))


PROBLEM = Problem(
    "vertical cut, undrained by effective stress",
    "Vertical cut of 5 m, 18 kN/m3, in clay held by a suction of 80 kPa: E' = 10 MPa, nu' = 0.3, 25 deg, c' = 5 kPa, no dilation, no drainage",
    "gamma H / su between 3.7752 and 3.7776: Kammoun, Pastor, Smaoui & Pastor 2010 (abstract), with su = c' cos phi' + s' sin phi' of the factor; "
    "log spirals (Chen 1975, from memory) for what water of finite stiffness adds",
    run, (), (0.1, 0.05), CUT.draw,
)  # fmt: skip
