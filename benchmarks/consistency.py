"""Elastic ground with exact answers: from case file to result, where stages take part, and on plain meshes."""

from __future__ import annotations

import numpy as np

from benchmarks.common import movement, no_wall_force, one_material, push
from fesoil.case import read_text
from fesoil.result.state import blank_state
from fesoil.soils.elastic import Elastic
from fesoil.solve.analyse import analyse

E, NU, GAMMA = 20e3, 0.3, 20.0
"""Young's modulus [kPa], Poisson's ratio, unit weight [kN/m3]."""

G, LAME = E / (2 * (1 + NU)), E * NU / ((1 + NU) * (1 - 2 * NU))
M = LAME + 2 * G
"""Shear modulus, Lame's constant and one-dimensional modulus [kPa]."""

GROUND = f"""
[[soils]]
name = "elastic"
unit_weight = {{ moist = {GAMMA}, saturated = {GAMMA} }}
stiffness = {{ E = {E}, poisson_ratio = {NU} }}

[[layers]]
soil = "elastic"
top_level = 0
"""


def staged(section, stages, loads=""):
    """Result of elastic ground: keys of the section, those of each stage, and tables of loads."""
    steps = "".join(f'\n[[stages]]\nname = "Stage {k}"\n{keys}\n' for k, keys in enumerate(stages, 1))
    return analyse(read_text(f'title = "Elastic ground"\n[section]\n{section}\n{GROUND}{loads}{steps}'))


def places(result):
    """Nodes (n, 2) in the case's coordinates [m]."""
    return result.mesh.points + result.mesh.origin


def held(mesh, fixed, force, moves=None):
    """Model of a plain mesh with fixed freedoms (n, 2), and its state under nodal forces (n, 2) and movements (n, 2) of these, exact to rounding."""
    model = one_material(mesh, lambda points: Elastic(NU, np.full(len(points), E)), fixed)
    load, moves = model.reduce(force, no_wall_force(mesh)), np.zeros(mesh.points.shape) if moves is None else moves
    scale = max(np.linalg.norm(load), E * np.abs(moves).max())
    return model, push(model, blank_state(mesh), load, scale, movement(model, moves), (1.0,), lambda s, f: 0.0, 1e-11)[-1].state


def stress_of(xx, yy, xy):
    """Stresses (..., 4) of in-plane strains, with the engineering shear strain [kPa]."""
    mean = LAME * (xx + yy)
    return np.stack([mean + 2 * G * xx, mean + 2 * G * yy, mean, G * xy], axis=-1)


def border(mesh):
    """Mask (n,) of the nodes on the box of a mesh."""
    left, right, bottom, top = mesh.box
    x, y = mesh.points.T
    return np.min(np.abs([x - left, x - right, y - bottom, y - top]), axis=0) < 1e-9


def furthest_off(ours, known):
    """Largest difference over the largest value."""
    return float(np.abs(ours - known).max() / np.abs(known).max())
