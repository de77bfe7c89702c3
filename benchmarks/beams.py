"""Beams alone and on springs: the three-node beam element, joints as a bed that cannot pull, springs that yield, hinges."""

from __future__ import annotations

import numpy as np

from benchmarks.common import NO_JOINTS, NO_PAIRS, Problem, Row, lattice, mesh_of, movement, push
from fesoil.elements import beam as line
from fesoil.elements.beam import at_nodes, make_beams
from fesoil.elements.joint import Joints, simpson
from fesoil.result.state import blank_state
from fesoil.soils.ground import Ground
from fesoil.solve.system import Prop, make_base, make_model

EXACT = "the element is exact at its nodes but for the last digits; 0.1 % is what a designer would not notice"
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


# ------------------------------------------------------------------------------------------------------------------ cantilevers


def cantilever_rows(size):
    L, EI, GA, P, q = 10.0, 50e3, 400e3, 100.0, 20.0
    mesh, nodes = upright(L, 16)
    foot, top = nodes[0], nodes[-1]
    falling = lambda y: -q * y / L  # noqa: E731  the most at the foot
    loads = (
        ("tip load", point(mesh, top, P), P * L**3 / (3 * EI), P * L / GA, P * L),
        ("even load", nodal(mesh, lambda y: q + 0 * y), q * L**4 / (8 * EI), q * L**2 / (2 * GA), q * L**2 / 2),
        ("triangular load", nodal(mesh, falling), q * L**4 / (30 * EI), q * L**2 / (6 * GA), q * L**2 / 6),
    )
    rows = []
    for name, force, bending, shearing, moment in loads:
        for kind, rigidity, expected in (("slender", STIFF, bending), ("with shear", GA, bending + shearing)):
            state = bend(mesh, beam_model(mesh, EI, rigidity, held=clamp(foot)), force)[-1].state
            rows.append(Row(f"{name}, {kind}: movement of the tip [m]", expected, state.w[top, 0], -1e-3, 1e-3, EXACT))
        rows.append(Row(
            f"{name}: moment at the foot [kN m/m]", moment, np.abs(moments(mesh, state)).max(), -5e-3, 5e-3,
            "moments are linear in a piece: they miss q h^2 / 12 of an even load, at most 0.2 % of these",
        ))
    return rows


def propped_rows(size):
    L, EI, q, k = 10.0, 50e3, 20.0, 2e3
    mesh, nodes = upright(L, 16)
    foot, top = nodes[0], nodes[-1]
    force = nodal(mesh, lambda y: q + 0 * y)
    model = beam_model(mesh, EI, held=[*clamp(foot), (top, 0)])
    end = bend(mesh, model, force, read=lambda _, f: -f[model.unknowns.wall[top, 0]])[-1]
    M = moments(mesh, end.state)
    fixing = M[np.argmin(mesh.wall_points[mesh.segments[:, 1], 1]), 1]
    rows = [
        Row("rigid prop: its load [kN/m]", 3 * q * L / 8, end.value, -2e-3, 2e-3, EXACT),
        Row("rigid prop: moment at the foot [kN m/m]", q * L**2 / 8, abs(fixing), -5e-3, 5e-3, "as for the cantilever"),
        Row(
            "rigid prop: moment in the span [kN m/m]", 9 * q * L**2 / 128, np.max(-np.sign(fixing) * M), -1e-2, 1e-2,
            "largest of linear pieces, as long as the cantilever's",
        ),
        Row("rigid prop: largest movement [m]", 0.0216645, np.abs(end.state.w[:, 0]).max(), -2e-3, 2e-3, "largest of the nodes, 0.3 m apart"),
    ]
    sprung = beam_model(mesh, EI, held=clamp(foot), springs=[Prop("prop", ("wall", top, 0), None, k, np.inf, False)])
    state = bend(mesh, sprung, force, state=_with_springs(mesh, ["prop"]))[-1].state
    rows.append(Row("elastic prop: its load [kN/m]", q * L**4 / (8 * EI) / (1 / k + L**3 / (3 * EI)), state.springs["prop"], -1e-3, 1e-3, EXACT))
    return rows


def _with_springs(mesh, names):
    state = blank_state(mesh)
    return type(state)(**{**state.__dict__, "springs": dict.fromkeys(names, 0.0)})


# --------------------------------------------------------------------------------------------------------------- beams on a bed


def on_bed(mesh, EI, k, pressed):
    """Model and state of a beam on a bed of joints [kN/m2 per m], pressed into it by an even pressure so that it never leaves it."""
    s = len(mesh.segments)
    area = simpson(np.abs(np.diff(mesh.segment_levels, axis=1)).ravel()).ravel()
    n = len(area)
    soil, wall = mesh.face_nodes[:, 1].ravel(), mesh.segments.ravel()
    joints = Joints(soil, wall, np.tile([1.0, 0.0], (n, 1)), area, np.tile([k, 0.0], (n, 1)), np.zeros(n), np.zeros(n), np.zeros(n))
    pairs = ((2 * np.arange(s) + 1)[:, None] * 3 + np.arange(3)).ravel()
    top = int(np.argmax(mesh.wall_points[:, 1]))
    model = beam_model(mesh, EI, held=[(top, 1)], joints=joints, pairs=pairs)
    state = blank_state(mesh)
    state.gap[:, 1], state.traction[:, 1, :, 0] = -pressed, -pressed
    balance = np.zeros((len(mesh.wall_points), 3))
    np.add.at(balance[:, 0], wall, pressed * area)
    return model, state, balance


def winkler_rows(size):
    EI, k, P, L = 20e3, 10e3, 100.0, 6.0
    lam = (k / (4 * EI)) ** 0.25
    b, sinh, cosh, sin, cos = lam * L, np.sinh, np.cosh, np.sin, np.cos
    reason = "exact bed, cubic and finer beam: five parts in a thousand is far above its error"

    def loaded(length, pieces, where):
        mesh, nodes = upright(length, pieces)
        model, state, balance = on_bed(mesh, EI, k, 100.0)
        node = nodes[round(where * (len(nodes) - 1))]
        state = bend(mesh, model, balance + point(mesh, node, P), state=state)[-1].state
        return state.w[nodes, 0], np.abs(moments(mesh, state)).max()

    w, M = loaded(40.0, 160, 0.5)
    rows = [
        Row("endless beam: movement under the load [m]", P * lam / (2 * k), w[len(w) // 2], -5e-3, 5e-3, reason),
        Row("endless beam: moment there [kN m/m]", P / (4 * lam), M, -5e-3, 5e-3, reason),
    ]
    w, M = loaded(L, 24, 0.5)
    d = sinh(b) + sin(b)
    rows += [
        Row("free beam, load in the middle: movement there [m]", P * lam / (2 * k) * (cosh(b) + cos(b) + 2) / d, w[len(w) // 2], -5e-3, 5e-3, reason),
        Row("free beam, load in the middle: movement of the ends [m]", 2 * P * lam / k * cosh(b / 2) * cos(b / 2) / d, w[0], -5e-3, 5e-3, reason),
        Row("free beam, load in the middle: moment there [kN m/m]", P / (4 * lam) * (cosh(b) - cos(b)) / d, M, -5e-3, 5e-3, reason),
    ]
    w, _ = loaded(L, 24, 1.0)
    d = sinh(b) ** 2 - sin(b) ** 2
    return rows + [
        Row("free beam, load at an end: movement there [m]", 2 * P * lam / k * (sinh(b) * cosh(b) - sin(b) * cos(b)) / d, w[-1], -5e-3, 5e-3, reason),
        Row(
            "free beam, load at an end: movement of the other [m]", 2 * P * lam / k * (sinh(b) * cos(b) - cosh(b) * sin(b)) / d, w[0], -5e-3, 5e-3,
            reason,
        ),
    ]


def yielding_rows(size):
    """Endless beam on springs that yield at pu; half of the yielded length is alpha/lam (closed form computed for the project)."""
    EI, k, pu, rows = 20e3, 10e3, 20.0, []
    lam = (k / (4 * EI)) ** 0.25
    mesh, nodes = upright(40.0, 320)
    area = np.zeros(len(nodes))
    np.add.at(area, mesh.segments, simpson(np.abs(np.diff(mesh.segment_levels, axis=1)).ravel()))
    names = [f"bed {i}" for i in range(len(nodes))]
    springs = [Prop(name, ("wall", i, 0), None, k * area[i], pu * area[i], True) for i, name in enumerate(names)]
    model = beam_model(mesh, EI, held=[(nodes[-1], 1)], springs=springs)
    for al in (1.0, 2.0):
        be = (1 + 2 * al + 2 * al**2 + 2 * al**3 / 3) / (1 + al) ** 2
        P, M0, a = be * 2 * pu / lam, pu / lam**2 * (be * al - al**2 / 2 + be - al - 0.5), al / lam
        w0 = pu / k - (-M0 * a**2 / 2 + P * a**3 / 12 - pu * a**4 / 24) / EI
        middle = nodes[len(nodes) // 2]
        state = bend(mesh, model, point(mesh, middle, P), state=_with_springs(mesh, names))[-1].state
        reason = "the end of the yielded length falls within a piece of 0.125 m"
        rows.append(Row(f"yielded length {2 * al:.0f}/lambda: movement under the load [m]", w0, state.w[middle, 0], -1e-2, 1e-2, reason))
        rows.append(Row(f"yielded length {2 * al:.0f}/lambda: moment there [kN m/m]", M0, np.abs(moments(mesh, state)).max(), -1e-2, 1e-2, reason))
    return rows


# ----------------------------------------------------------------------------------------------------------------------- hinges


def hinge_rows(size):
    L, EI, q, Mp, pieces = 10.0, 50e3, 20.0, 200.0, 80
    mesh, nodes = upright(L, pieces)
    foot, top, middle = nodes[0], nodes[-1], nodes[len(nodes) // 2]
    offset = (1 - 1 / np.sqrt(3)) / 2 * L / pieces  # a hinge sits at an integration point, so far from the end of its piece
    why = f"a hinge sits {offset * 1e3:.0f} mm from the end of its piece"
    model = beam_model(mesh, EI, capacity=Mp, held=[*clamp(foot), (top, 0)])
    curve = bend(mesh, model, nodal(mesh, lambda y: q + 0 * y), shares=np.linspace(0.1, 1, 10), read=lambda _, f: -f[model.unknowns.wall[top, 0]])
    held = beam_model(mesh, EI, capacity=Mp, held=[*clamp(foot), *clamp(top), (middle, 0)])
    move = np.zeros((len(nodes), 3))
    move[middle, 0] = 0.4
    plastic = bend(mesh, held, np.zeros((len(nodes), 3)), move, np.linspace(0.05, 1, 20), read=lambda _, f: f[held.unknowns.wall[middle, 0]])
    return [
        Row("propped cantilever, hinge at its foot: load of the prop [kN/m]", q * L / 2 - Mp / L, curve[-1].value, -5e-3, 5e-3, why),
        Row(
            "beam fixed at both ends: central load at collapse [kN/m]", 8 * Mp / L, plastic[-1].value, 0.0, 1.5 * 4 * offset / L,
            why + ", which shortens both halves and errs high",
        ),
        Row("the same, load at the end over load before", 1.0, plastic[-1].value / plastic[-2].value, -1e-3, 1e-3, "a mechanism"),
    ]


PROBLEMS = (
    Problem("cantilever", "Cantilever of 10 m, EI = 50,000, kGA = 400,000 (also slender)", "beam theory, closed form", cantilever_rows),
    Problem("propped cantilever", "Cantilever of 10 m under 20 kN/m with a prop at its top", "beam theory, closed form", propped_rows),
    Problem("beam on a bed", "Beam EI = 20,000 on a bed of 10,000 kN/m2, load 100 kN/m", "Hetenyi 1946, closed form (from memory)", winkler_rows),
    Problem("beam on a bed that yields", "The same bed with a limit of 20 kN/m", "closed form computed for the project, in the file", yielding_rows),
    Problem("hinges", "Beam of 10 m with a moment capacity of 200 kN m/m", "plastic theory of beams, closed form", hinge_rows),
)
