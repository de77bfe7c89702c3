"""Beams alone and on beds: an upright beam without ground, held, loaded, propped, or on joints as a bed that cannot pull."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from benchmarks import sketch
from benchmarks.common import NO_JOINTS, NO_PAIRS, lattice, mesh_of, movement, push
from fesoil.elements import beam as line
from fesoil.elements.beam import at_nodes, make_beams
from fesoil.elements.joint import Joints, simpson
from fesoil.result.state import blank_state
from fesoil.soils.ground import Ground
from fesoil.solve.system import Prop, make_base, make_model

STIFF = 1e8
"""Shear rigidity [kN/m] of a beam that does not shear, next to EI of some 1e4."""


def upright(length, pieces):
    """Mesh of an upright beam from y = -length to 0, whose ground is never used: nodes in order from the foot to the top."""
    points, triangles = lattice(1, pieces)
    mesh = mesh_of((points - [0, 1]) * [1.0, length], triangles, np.array([[0.0, -length, 0.0]]))
    return mesh, np.argsort(mesh.wall_points[:, 1])


def beam_model(mesh, EI, GA=STIFF, capacity=np.inf, held=(), joints=NO_JOINTS, pairs=NO_PAIRS, springs=()):
    """Model of the beam alone; ``held`` are (node, freedom) with prescribed movement."""
    s, no_ground = len(mesh.segments), np.zeros(len(mesh.triangles), bool)
    beams = make_beams(mesh.wall_points, mesh.segments, np.tile([1e7, EI, GA], (s, 1)), np.full(s, capacity))
    fixed = np.zeros((len(mesh.wall_points), 3), bool)
    for node, freedom in held:
        fixed[node, freedom] = True
    nowhere = np.zeros(mesh.points.shape, bool)
    return make_model(make_base(mesh), no_ground, Ground((), 0), np.ones(s, bool), beams, joints, pairs, list(springs), nowhere, fixed)


def clamp(node):
    return [(node, 0), (node, 1), (node, 2)]


def nodal(mesh, pressure):
    """Nodal forces (b, 3) of a distributed load [kN/m] along x, a function of the level."""
    force = np.zeros((len(mesh.wall_points), 3))
    ends = mesh.wall_points[mesh.segments, 1]
    levels = np.einsum("gi,ei->eg", line.shapes(line.POINTS), ends)
    half = np.abs(ends[:, 0] - ends[:, 1])[:, None] / 2
    np.add.at(force[:, 0], mesh.segments, np.einsum("eg,gi->ei", pressure(levels) * half, line.shapes(line.POINTS)))
    return force


def point(mesh, node, value):
    force = np.zeros((len(mesh.wall_points), 3))
    force[node, 0] = value
    return force


def bend(mesh, model, force, move=None, shares=(1.0,), state=None, read=lambda s, f: 0.0):
    """Curve of the beam under nodal forces (b, 3) and prescribed movements (b, 3), in balance to 1e-7."""
    load = model.reduce(np.zeros(mesh.points.shape), force)
    state = blank_state(mesh) if state is None else state
    return push(model, state, load, np.linalg.norm(force) or 100.0, movement(model, wall=move), shares, read, 1e-7)


def moments(mesh, state):
    """Bending moments (s, 2) at the upper and lower end of each piece."""
    return at_nodes(state.section)[..., 1]


def along(mesh, nodes):
    """Distance [m] of wall nodes from the foot of the beam."""
    levels = mesh.wall_points[:, 1]
    return levels[nodes] - levels.min()


def prop(node, stiffness, limit=np.inf, two_way=False, name="prop"):
    """A spring on the right of a node, whose load holds it back from moving on along x."""
    return Prop(name, ("wall", node, 0), None, stiffness, limit, two_way)


def sprung(mesh, loads):
    """Blank state with springs at given loads by name [kN/m]."""
    return replace(blank_state(mesh), springs=dict(loads))


def node_lengths(mesh):
    """Share (s, 3) of the beam's length that goes to the nodes of each piece [m]."""
    return simpson(np.abs(np.diff(mesh.segment_levels, axis=1)).ravel())


def bed_of(mesh, normal, shear=0.0, adhesion=0.0, tan_friction=0.0):
    """Joints, and their places, of firm ground on the right of the beam: normal and shear stiffness [kN/m3], adhesion [kPa]."""
    area, s = node_lengths(mesh).ravel(), len(mesh.segments)
    n = len(area)
    even = [np.full(n, value) for value in (adhesion, tan_friction, 0.0)]
    facing, stiffness = np.tile([1.0, 0.0], (n, 1)), np.tile([normal, shear], (n, 1))
    joints = Joints(mesh.face_nodes[:, 1].ravel(), mesh.segments.ravel(), facing, area, stiffness, *even)
    return joints, ((2 * np.arange(s) + 1)[:, None] * 3 + np.arange(3)).ravel()


def on_bed(mesh, EI, k, pressed):
    """Model, state and balance of a beam on a bed [kN/m2 per m] into which an even pressure presses it, so that it never leaves it."""
    joints, pairs = bed_of(mesh, k)
    top = int(np.argmax(mesh.wall_points[:, 1]))
    state = blank_state(mesh)
    state.gap[:, 1], state.traction[:, 1, :, 0] = -pressed, -pressed
    return beam_model(mesh, EI, held=[(top, 1)], joints=joints, pairs=pairs), state, nodal(mesh, lambda y: pressed + 0 * y)


# ----------------------------------------------------------------------------------------------------------------------- sketches


def draw_cantilever(ax, length, words):
    """An upright cantilever under an even load with its words."""
    sketch.box(ax, -2, 2, -1.2, 0)
    sketch.wall(ax, (0, 0), (0, length))
    for y in np.linspace(0.5, length, 8):
        sketch.arrow(ax, (-1.5, y), (-0.1, y))
    sketch.say(ax, -2.6, 0.5 * length, words)


def draw_bed(ax):
    """A beam on springs under a load in the middle."""
    sketch.box(ax, -6, 6, -2.4, -1.6)
    sketch.wall(ax, (-6, 0), (6, 0))
    for x in np.linspace(-5.5, 5.5, 9):
        sketch.spring(ax, (x, -1.6), (x, 0))
    sketch.arrow(ax, (0, 2.5), (0, 0.1), "P")
