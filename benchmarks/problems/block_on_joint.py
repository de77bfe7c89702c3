"""Rigid block on a joint: pulled along until it slides, and loaded so far from its middle that the joint opens."""

from __future__ import annotations

import numpy as np

from benchmarks import sketch
from benchmarks.beams import along, beam_model, bed_of, bend, nodal, point, upright
from benchmarks.common import flat_part
from benchmarks.problem import Answer, Graph, Problem, Row

B, N, ADHESION, FRICTION, OFF = 2.0, 100.0, 10.0, 20.0, 0.5
"""Length of the block [m], load across the joint [kN/m], adhesion [kPa], friction [deg], distance of the load from the middle [m]."""

NORMAL, SHEAR = 1e5, 1e5
"""Stiffness of the joint [kN/m3]."""

RIGID = 1e10
"""Rigidities of the block: it must bend and shear by less than a ten-thousandth of what the joint gives."""

MOST = ADHESION * B + N * np.tan(np.radians(FRICTION))
SLIP = MOST / (SHEAR * B)
"""Pull that the joint carries [kN/m] and movement at which it is reached [m]."""

SHARP = "each pair of nodes yields at its own strength, and the pressure is even"
EDGE = "the joint opens between two nodes, with little pressure there: 3 % with 8 pieces, in proportion to the piece elsewhere"


def pulled(mesh, nodes):
    """Curves of the pull [kN/m] to twice the slip at which it is largest, and back by the same."""
    joints, pairs = bed_of(mesh, NORMAL, SHEAR, ADHESION, np.tan(np.radians(FRICTION)))
    model = beam_model(mesh, RIGID, RIGID, held=[(node, 1) for node in nodes], joints=joints, pairs=pairs)
    across = nodal(mesh, lambda y: N / B + 0 * y)
    move = np.tile([0.0, 2 * SLIP, 0.0], (len(nodes), 1))
    read, shares = lambda _, f: f[model.unknowns.wall[:, 1]].sum(), np.linspace(0.1, 1, 10)  # noqa: E731
    pressed = bend(mesh, model, across)[-1].state
    there = bend(mesh, model, across, move, shares, pressed, read)
    back = bend(mesh, model, across, -move, shares, there[-1].state, read)
    return there, back


def tilted(mesh, nodes):
    """Movement into the joint [m] and pressure [kPa] at the nodes, from foot to top, under a load off the middle (as two at the ends)."""
    joints, pairs = bed_of(mesh, NORMAL)
    model = beam_model(mesh, RIGID, RIGID, held=[(nodes[-1], 1)], joints=joints, pairs=pairs)
    ends = sum(point(mesh, node, share * N) for node, share in ((nodes[0], 0.5 - OFF / B), (nodes[-1], 0.5 + OFF / B)))
    state = bend(mesh, model, ends)[-1].state
    pressure = np.zeros(len(nodes))
    pressure[mesh.segments] = -state.traction[:, 1, :, 0]
    return state.w[nodes, 0], pressure[nodes]


def run(pieces) -> Answer:
    """``pieces``: how many the block's length is cut into; odd, so that the joint opens between two nodes."""
    mesh, nodes = upright(B, pieces)
    there, back = pulled(mesh, nodes)
    rows = [
        Row(name, expected, found, -1e-6, 1e-6, SHARP)
        for name, expected, found in (
            ("pull at 0.8 of the slip at yield [kN/m]", 0.8 * MOST, there[3].value),
            ("largest pull [kN/m]", MOST, there[-1].value),
            ("last third: largest over smallest pull", 1.0, flat_part(there)),
            ("pull when it is moved back by 0.8 of that slip [kN/m]", 0.2 * MOST, back[3].value),
            ("pull the other way at the end [kN/m]", -MOST, back[-1].value),
        )
    ]
    w, pressure = tilted(mesh, nodes)
    contact, high = 3 * (B / 2 - OFF), 0.03 * 8 / pieces
    rows += [
        Row("load off the middle: length in contact [m]", contact, B * w[-1] / (w[-1] - w[0]), -high, high, EDGE),
        Row("load off the middle: largest pressure [kPa]", 2 * N / contact, pressure.max(), -high, high, EDGE),
    ]
    known = (("rigid block", [0, B - contact, B], [0, 0, 2 * N / contact]),)
    return Answer(rows, graph=Graph("Distance along the block [m]", "Pressure [kPa]", known, (("fesoil", along(mesh, nodes), pressure),)))


def draw(ax):
    sketch.box(ax, -0.6, 2.6, -0.6, 0)
    sketch.rigid(ax, 0, B, 0.04, 0.5)
    sketch.arrow(ax, (1.5, 1.2), (1.5, 0.5), "N")
    sketch.arrow(ax, (2.0, 0.2), (2.6, 0.2), "T")
    sketch.measure(ax, (0, -0.25), (B, -0.25), "B = 2 m")
    sketch.measure(ax, (1, 0.7), (1.5, 0.7), "e")


PROBLEM = Problem(
    "block on a joint",
    "Rigid block of 2 m under 100 kN/m on a joint of 100 MN/m3: pulled (10 kPa, 20 deg), or loaded 0.5 m off its middle; cut into pieces",
    "Coulomb's friction; a rigid block on a bed that cannot pull, closed form", run, (15,), (7, 15, 31), draw,
)
