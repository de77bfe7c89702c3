"""Endless beam under one load, smooth on an elastic half-plane, and bonded within an elastic plane; the beam stands upright, the load is level."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from scipy.integrate import quad

from benchmarks import sketch
from benchmarks.beams import STIFF, moments, nodal, point
from benchmarks.common import at_rest_in, movement, plain_mesh, push
from benchmarks.consistency import NU, E, G
from benchmarks.plates import Bond, bonded
from benchmarks.problem import Answer, Graph, Problem, Row
from fesoil.elements.beam import make_beams
from fesoil.soils.elastic import Elastic
from fesoil.soils.ground import Ground
from fesoil.solve.system import make_base, make_model

EI, P, FAR = 20e3, 100.0, 40.0
"""Rigidity of the beam [kN m2/m], load [kN/m], distance of the fixed border [m].

The border is more than thirty times the length c away: longer waves have less than 0.1 % of the moment, (c / FAR)^2 / 2.4."""

PRESSED = 1000.0
"""Pressure [kPa] under which the joints are before the load, so that they need not pull; elastic ground does not feel it."""

JOINT = 1000 * E
"""Stiffness of the joints [kN/m3]: they give less than a thousandth of what the ground does over c, and raise the moment by a third of that."""

LIMITS = "2 % with triangles of 0.4 m, a third of c, and by the size elsewhere; 0.5 % at least for border and joints"


class Bed(NamedTuple):
    """Where the beam is: the ground's left border [m], joints, and the length c [m] over which the beam spreads its load."""

    left: float
    bond: Bond
    c: float

    def moment(self, x):
        """Moment [kN m/m] at a distance from the load [m]."""
        if x == 0:
            return 2 * P * self.c / (3 * np.sqrt(3))
        return P * self.c / np.pi * quad(lambda s: s / (1 + s**3), 0, np.inf, weight="cos", wvar=x / self.c)[0]

    @property
    def pressure(self):
        """Pressure of the ground against the beam under the load [kPa]."""
        return 2 * P / (3 * np.sqrt(3) * self.c)


BEDS = {
    "on the half-plane": Bed(0.0, Bond(JOINT, 0.0), (EI * (1 - NU) / G) ** (1 / 3)),
    "within the plane": Bed(-FAR, Bond(JOINT, JOINT, adhesion=1e6), (EI * (3 - 4 * NU) / (8 * G * (1 - NU))) ** (1 / 3)),
}


def assembled(mesh, bed: Bed):
    """Model of the beam along x = 0, kept from moving along itself, and its state under the pressure before the load."""
    base, (joints, pairs) = make_base(mesh), bonded(mesh, bed.bond)
    n, s = base.triangles.weight.size, len(mesh.segments)
    ground = Ground(((np.arange(n), Elastic(NU, np.full(n, E))),), n)
    beams = make_beams(mesh.wall_points, mesh.segments, np.tile([1e7, EI, STIFF], (s, 1)), np.full(s, np.inf))
    along = np.tile([False, True, False], (len(mesh.wall_points), 1))
    far = np.abs(mesh.points).max(axis=1) > FAR - 1e-9
    everything, standing, fixed = np.ones(len(mesh.triangles), bool), np.ones(s, bool), np.column_stack([far, far])
    model = make_model(base, everything, ground, standing, beams, joints, pairs, [], fixed, along)
    start = at_rest_in(model, lambda points: np.tile([-PRESSED, 0.0, 0.0, 0.0], (len(points), 1)))
    start.gap.reshape(-1)[pairs] = start.traction.reshape(-1, 2)[pairs, 0] = -PRESSED
    return model, start


def loaded(bed: Bed, h):
    """Number of triangles, levels [m] and moments [kN m/m] of the pieces' upper ends, and pressure [kPa] of the ground under the load."""
    mesh = plain_mesh((bed.left, FAR, -FAR, FAR), h, [(0.0, -1.0, 1.0)], points=[(0.0, 0.0)], walls=[(0.0, -FAR, FAR)])
    model, start = assembled(mesh, bed)
    one_sided = bed.left == 0
    force = point(mesh, int(np.argmin(np.abs(mesh.wall_points[:, 1]))), P) + one_sided * nodal(mesh, lambda y: PRESSED + 0 * y)
    end = push(model, start, model.reduce(np.zeros(mesh.points.shape), force), P, movement(model), (1.0,), lambda s, f: 0.0, 1e-8)[-1].state
    joints = model.joints
    under = np.abs(mesh.points[joints.soil, 1]) < 1e-9
    # one value on each face of each of the two pieces that meet under the load
    push_back = -(end.traction.reshape(-1, 2)[model.pairs, 0] + PRESSED) * joints.normal[:, 0]
    return len(mesh.triangles), mesh.wall_points[mesh.segments[:, 0], 1], moments(mesh, end)[:, 0], push_back[under].sum() / 2


def run(h) -> Answer:
    """``h``: size of the triangles near the load [m]."""
    rows, lines, marks, total, high = [], [], [], 0, max(0.005, 0.02 * h / 0.4)
    for name, bed in BEDS.items():
        triangles, y, M, q = loaded(bed, h)
        total += triangles
        at = np.argmin(np.abs(y))
        rows.append(Row(f"moment under the load, {name} [kN m/m]", bed.moment(0), abs(M[at]), -high, high, LIMITS))
        rows.append(Row(f"pressure under the load, {name} [kPa]", bed.pressure, q, -high, high, LIMITS))
        near, fine = np.abs(y) < 6, np.linspace(0, 6, 50)
        lines.append((f"Fourier integral, {name}", fine, [bed.moment(x) for x in fine]))
        marks.append((f"fesoil, {name}", np.abs(y[near]), M[near] * np.sign(M[at])))
    return Answer(rows, total // len(BEDS), Graph("Distance from the load [m]", "Moment [kN m/m]", tuple(lines), tuple(marks)))


def draw(ax):
    sketch.box(ax, 0, 6, -5, 5)
    sketch.wall(ax, (0, -5), (0, 5))
    sketch.arrow(ax, (-2.5, 0), (-0.1, 0), "P")
    sketch.say(ax, 3, -3.5, "E, nu")
    sketch.say(ax, -0.9, 3.5, "EI")


PROBLEM = Problem(
    "beam on a half-plane",
    "Endless beam (EI = 20,000 kN m2/m) under 100 kN/m, smooth on an elastic half-plane, and bonded within an elastic plane (E = 20 MPa, nu = 0.3)",
    "Fourier integral of the beam's equation, derived for the project; the problem is the plane version of Biot's of 1937 (from memory)",
    run, (0.4,), (0.4, 0.2, 0.1), draw,
)  # fmt: skip
