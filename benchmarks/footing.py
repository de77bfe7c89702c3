"""Rigid strip footing on level ground, driven to collapse and far beyond it.

Half of it, by symmetry. What sets the mesh is the footing's edge, a singular point: sizes in half-widths grow from there, by a tenth of the distance.
"""

from __future__ import annotations

import numpy as np

from benchmarks import sketch
from benchmarks.common import at_rest_in, boxed, end_of, flat_part, mohr_coulomb, movement, no_wall_force, one_material, plain_mesh, pressed, push, weight
from benchmarks.problem import Answer, Graph, Row
from fesoil.soils.mohr_coulomb import MohrCoulomb

HALF = 4.0
"""Half-width [m]."""

SU = 10.0
"""Undrained strength of the clay [kPa]."""

NU = 0.45
"""Poisson's ratio of frictional ground. The limit load does not depend on it; nearly incompressible ground comes there in fewer steps."""

ERRS_HIGH = "displacement elements err high; a default mesh must stay within this"
FLAT = "a mechanism carries no more load however far it moves (0.2 % where there is friction, set after trial runs)"


def bearing_factors(phi):
    """Nq (Reissner 1924) and Nc (Prandtl 1920, both from memory) of an angle in degrees."""
    phi = np.radians(phi)
    n_q = np.tan(np.pi / 4 + phi / 2) ** 2 * np.exp(np.pi * np.tan(phi))
    return n_q, (n_q - 1) / np.tan(phi)


def lowered(phi, psi):
    """Friction angle [deg] with which ground that dilates too little fails at least (Davis 1968, from memory); angles in degrees."""
    phi, psi = np.radians([phi, psi])
    return np.degrees(np.arctan(np.cos(psi) * np.sin(phi) / (1 - np.sin(psi) * np.sin(phi))))


# ------------------------------------------------------------------------------------------------------------------------ runs


def reach(phi):
    """How far from the middle Prandtl's mechanism comes out, in half-widths; angle in degrees. That under a smooth base may stay nearer."""
    phi = np.radians(phi)
    return 1 + 2 * np.tan(np.pi / 4 + phi / 2) * np.exp(np.pi / 2 * np.tan(phi))


def footing_mesh(phi, size, fine=(1.0,)):
    """Mesh that a mechanism at an angle [deg] does not fill: ``size`` and the places of the surface with it, in half-widths."""
    width = np.ceil(1.3 * reach(phi)) + 2
    box = (0.0, width * HALF, -np.ceil(0.6 * width) * HALF, 0.0)
    return plain_mesh(box, size * HALF, [(x * HALF, 0.0, 0.0) for x in fine], points=[(HALF, 0.0)])


def press_down(mesh, law, stress, load, settlement, steps, scale, rough=False):
    """Mean pressure under the footing by settlement, from the stress (points (k, 2) to (k, 4)) at the start; a curve of `push`.

    A smooth base lets the ground slide along it, a rough one holds it.
    """
    x, y = mesh.points.T
    under = (np.abs(y) < 1e-9) & (x < HALF + 1e-9)
    fixed = boxed(mesh)
    fixed[under, 1] = True
    fixed[under, 0] |= rough
    model = one_material(mesh, law, fixed)
    move = movement(model, np.where(under[:, None], [0.0, -settlement], 0.0))
    numbers = np.unique(model.unknowns.soil[under, 1])
    force = model.reduce(load(model.base), no_wall_force(mesh))
    read = lambda _, held: -held[numbers].sum() / HALF  # noqa: E731
    return push(model, at_rest_in(model, stress), force, scale, move, np.linspace(0, 1, steps + 1)[1:], read)


def isotropic(value):
    """Stress at points: the same pressure [kPa] all round."""
    return lambda points: np.tile([-value, -value, -value, 0.0], (len(points), 1))


def nothing(base):
    return np.zeros(base.mesh.points.shape)


def over(curve, unit):
    """A curve with its values divided by a unit."""
    return [p._replace(value=p.value / unit) for p in curve]


def undrained(size, settlement=0.30, steps=30, law=mohr_coulomb(1e3 * SU, 0.3, 0, 0, SU), rough=False):
    """Curve of Nc without friction, E = 1000 su unless another law is given; settlement [m]. Also the number of triangles."""
    mesh = footing_mesh(0, size)
    curve = press_down(mesh, law, isotropic(0.0), nothing, settlement, steps, SU * HALF * 5, rough)
    return over(curve, SU), len(mesh.triangles)


def surcharged(phi, size, settlement, steps, law=None, q=10.0):
    """Curve of Nq: weightless, cohesionless ground under q [kPa], stress all round q at the start.

    Associated with E = 1e5 unless another law is given.
    """
    mesh, law = footing_mesh(phi, size), law or mohr_coulomb(1e5, NU, phi, phi, 0.0)
    x, y = mesh.points.T
    outside = (np.abs(y) < 1e-9) & (x > HALF - 1e-9)
    n_q, _ = bearing_factors(phi)
    load, scale = lambda base: pressed(mesh, outside, q), q * n_q * HALF
    return over(press_down(mesh, law, isotropic(q), load, settlement, steps, scale), q), len(mesh.triangles)


def cohesive(phi, size, settlement, steps, c=10.0):
    """Curve of Nc: weightless, associated ground with cohesion c [kPa], no stress at the start, E = 1e5."""
    mesh = footing_mesh(phi, size)
    _, n_c = bearing_factors(phi)
    curve = press_down(mesh, mohr_coulomb(1e5, NU, phi, phi, c), isotropic(0.0), nothing, settlement, steps, c * n_c * HALF)
    return over(curve, c), len(mesh.triangles)


def heavy(phi, size, settlement, steps, c, expected, rough=False, gamma=20.0):
    """Curve of 2 p / (gamma B): associated ground with its weight and a little cohesion c [kPa], at rest with the same stress all round.

    E grows from 5 MPa by 100 MPa for each half-width of depth: so ground near the surface, which is weak, yields no sooner than that below,
    and steps may be a tenth as many as with a uniform E. The limit load is the same. ``expected`` only sets the scale of the residual.
    """
    mesh, angle = footing_mesh(phi, size, (0.0, 0.5, 1.0)), np.radians(phi)
    each = lambda points, value: np.full(len(points), value)  # noqa: E731
    law = lambda points: MohrCoulomb(NU, angle, angle, 5e3 - 1e5 * points[:, 1] / HALF, each(points, c), each(points, np.inf))  # noqa: E731
    at_rest = lambda points: gamma * points[:, 1:] * np.array([1.0, 1.0, 1.0, 0.0])  # noqa: E731
    curve = press_down(mesh, law, at_rest, lambda base: weight(base, gamma), settlement, steps, expected * gamma * HALF**2, rough)
    return over(curve, gamma * HALF), len(mesh.triangles)


# ------------------------------------------------------------------------------------------------------------------------ rows


def flat_row(label, curve, most=2e-3, reason=FLAT) -> Row:
    """How flat a curve is in its last third."""
    ratio = flat_part(curve)
    return Row(f"{label}: last third, largest/smallest load", 1.0, ratio, 0.0, most, reason)


def at_angles(angles, settlements, exact, run, factor, axis) -> Answer:
    """A bearing factor at friction angles [deg], which have their own settlements [m]; ``exact`` and ``run`` (angle, settlement) give its value and a curve. Triangles are
    counted for the last angle."""
    rows, known, found, triangles = [], {}, {}, None
    for phi in angles:
        curve, triangles = run(phi, settlements[phi])
        label = f"{factor}, {phi} deg"
        rows += [Row(label, exact(phi), end_of(curve), -0.002, 0.03, ERRS_HIGH), flat_row(label, curve)]
        known[f"exact, {phi} deg"], found[f"{phi} deg"] = exact(phi), (settlements[phi], curve)
    return Answer(rows, triangles, load_graph(axis, known, found))


def load_graph(what, known, ours, along="Settlement [mm]") -> Graph:
    """Load by settlement, or by another movement ``along``.

    Parameters
    ----------
    what : str
        The load's words on the axis.
    known : dict
        Names and limit loads.
    ours : dict
        Names, and for each the whole settlement [m] and the curve.
    """
    far = 1e3 * max(settlement for settlement, _ in ours.values())
    lines = tuple((name, [0, far], [value] * 2) for name, value in known.items())
    marks = tuple(
        (f"fesoil, {name}", [1e3 * settlement * p.share for p in curve], [p.value for p in curve]) for name, (settlement, curve) in ours.items()
    )
    return Graph(along, what, lines, marks)


def fullest(answers) -> Graph:
    """The finest of the graphs that show most."""
    return max((answer.graph for answer in reversed(answers) if answer.graph), key=lambda graph: len(graph.marks))


# ---------------------------------------------------------------------------------------------------------------------- sketch


def draw_footing(ax, words, surcharge="", width=6, depth=2):
    """Half the footing on ground of width x depth half-widths, with the words of the ground, and of a surcharge if there is one."""
    sketch.box(ax, 0, width, -depth, 0)
    sketch.rigid(ax, 0, 1, 0, 0.35)
    sketch.arrow(ax, (0.5, 1.2), (0.5, 0.38), "driven down")
    sketch.measure(ax, (0, -0.3), (1, -0.3), "B/2")
    ax.plot([0, 0], [-depth, 1.3], color=sketch.INK, linewidth=0.6, linestyle="-.")
    if surcharge:
        sketch.pressure(ax, 1.1, width, 0.05, 0.5, surcharge)
    sketch.say(ax, 0.6 * width, -0.6 * depth, words)
