"""Flow to a well, about its axis: confined in two layers, with a free surface, through a leaking ring of sheets; and up through a round opening above deep ground."""

from __future__ import annotations

import numpy as np

from benchmarks.common import plain_mesh
from benchmarks.problem import Answer, Graph, Problem, Row
from benchmarks.seepage import flow, given
from benchmarks.sketch import INK, LOAD, STEEL, box, measure
from fesoil.water.flow import outflow_gradient

WELL, REACH, HIGH, TOP, BORDER = 1.0, 20.0, 8.0, 10.0, 4.0
"""Radius of the well and of the ring on which the head is given, that head, top of the ground, border of the layers [m]."""

GROUNDS = {"uniform": ((1.0, 1.0), (1.0, 1.0)), "poor over good": ((1.0, 1.0), (10.0, 10.0)), "good over poor": ((10.0, 10.0), (1.0, 1.0))}
"""Permeabilities along x and y [m/s] above and below the border, relative."""

TAILS = (0.0, 2.0, 5.0)
"""Water in the well [m]."""

RING, LEAKAGE = 4.0, 0.05
"""Radius [m] and leakage [1/s] of a ring of sheets."""

OPENING, DEEP = 3.0, 30.0
"""Radius of the opening, and how far the ground is looked at [m]."""

CONFINED = "0.2 % with triangles of a quarter of the radius at the well, by the square of their size: the logarithm by parabolas; approximate heads give too much"
SURFACE = "1 %, whatever the mesh: the triangles that the surface cuts keep only a share of their permeability"
FLOW = "1 % with triangles of a twelfth of the radius at its edge, by the size above that: too great by a share of the size at an edge"
GRADIENT = "2 % half-way to the edge: what leaves at a node over its share of the area"


def stored(ground, level):
    """Permeability times pressure head over the height, which falls with the logarithm of the radius, under a water level."""
    over, under = ground[0][0], ground[1][0]
    return under * level**2 / 2 + (over - under) * max(level - BORDER, 0.0) ** 2 / 2


def exact(ground, tail):
    """Discharge with a free surface."""
    return 2 * np.pi * (stored(ground, HIGH) - stored(ground, tail)) / np.log(REACH / WELL)


def exact_through_ring(tail):
    """Discharge through uniform ground with the ring: what leaks is in proportion to the pressure heads on its faces, which the discharge also fixes on both sides."""
    return np.pi * (HIGH**2 - tail**2) / (np.log(REACH / WELL) + 1 / (RING * LEAKAGE))


def exact_confined(ground):
    """Discharge under ``TOP`` with the heads of HIGH + TOP outside and TOP in the well."""
    return 2 * np.pi * HIGH * (ground[0][0] * (TOP - BORDER) + ground[1][0] * BORDER) / np.log(REACH / WELL)


def far_head(x, y):
    """Share of the head that is left at places in deep ground with none on the opening at its top: oblate spheroids."""
    return 1 - 2 / np.pi * np.arcsin(2 * OPENING / (np.hypot(x - OPENING, y) + np.hypot(x + OPENING, y)))


def solved(ground, tail, h, confined=False, leakage=None):
    """Mesh, flow and discharge by finite elements, with the ring of sheets if its leakage is given."""
    marks, walls = [(REACH, HIGH)] + [(WELL, tail)] * (tail > 0), np.array([[RING, 0.0, TOP]] * (leakage is not None)).reshape(-1, 3)
    mesh = plain_mesh((WELL, REACH, 0.0, TOP), h, [(WELL, 0.0, TOP)], [(WELL, BORDER, REACH, BORDER)], marks, walls)
    x, y = mesh.points.T
    k, inner, outer = np.where(mesh.centroids[:, 1:] > BORDER, *ground), np.abs(x - WELL) < 1e-9, np.abs(x - REACH) < 1e-9
    heads = [(outer, TOP + HIGH), (inner, TOP)] if confined else [(outer, HIGH), (inner & (y < tail + 1e-9), tail)]
    found = flow(mesh, given(mesh, *heads), k, inner & (y > tail + 1e-9), leakage, about_axis=True)
    return mesh, found, found.inflow[outer].sum()


def opening(h):
    """Discharge through the opening and gradient half-way to its edge, for a head of 1 m far away."""
    half = (OPENING / 2, 0.0)
    mesh = plain_mesh((0.0, DEEP, -DEEP, 0.0), h, [(OPENING, 0.0, 0.0)], points=[half, (OPENING, 0.0)])
    x, y = mesh.points.T
    out, far = (y > -1e-9) & (x < OPENING + 1e-9), (x > DEEP - 1e-9) | (y < 1e-9 - DEEP)
    found = flow(mesh, given(mesh, (far, far_head(x[far], y[far])), (out, 0.0)), about_axis=True)
    gradient = outflow_gradient(mesh, found, np.ones((len(mesh.triangles), 2)), out)
    return -found.inflow[out].sum(), gradient[np.argmin(np.hypot(x - half[0], y))]


def run(h) -> Answer:
    """``h``: size of the triangles at the well and at the edge of the opening [m]."""
    rows, marks, share = [], {}, max(1.0, 4 * h)
    for name, ground in GROUNDS.items():
        rows.append(Row(f"discharge, confined, {name} [m3/s]", exact_confined(ground), solved(ground, 0.0, h, confined=True)[2], -1e-6, 0.002 * share**2, CONFINED))
        for tail in TAILS:
            mesh, _, ours = solved(ground, tail, h)
            rows.append(Row(f"discharge, {name}, {tail:g} m in the well [m3/s]", exact(ground, tail), ours, -0.01, 0.01, SURFACE))
            marks.setdefault(name, []).append(ours)
    for tail in TAILS:
        _, _, ours = solved(GROUNDS["uniform"], tail, h, leakage=LEAKAGE)
        rows.append(Row(f"discharge, ring of sheets, {tail:g} m in the well [m3/s]", exact_through_ring(tail), ours, -0.01, 0.01, SURFACE))
    through, gradient = opening(h)
    rows += [
        Row("discharge through an opening [m3/s]", 4 * OPENING, through, -0.001, 0.01 * share, FLOW),
        Row("exit gradient in an opening [1/m]", 2 / np.pi / np.sqrt(0.75) / OPENING, gradient, -0.02, 0.02, GRADIENT),
    ]
    fine = np.linspace(0.0, HIGH, 81)
    lines = tuple((name, fine, [exact(ground, tail) for tail in fine]) for name, ground in GROUNDS.items())
    return Answer(rows, len(mesh.triangles), Graph("Water in the well [m]", "Discharge [m3/s]", lines, tuple((f"fesoil, {n}", TAILS, q) for n, q in marks.items())))


def draw(ax):
    """Half the ground round the well."""
    box(ax, WELL, REACH, 0, TOP)
    ax.plot([0, 0], [-0.5, TOP + 1], color=INK, linewidth=0.6, linestyle="-.")
    ax.plot([0, WELL], [2.0] * 2, color=LOAD)
    ax.plot([REACH, REACH + 2], [HIGH] * 2, color=LOAD)
    ax.plot([WELL, REACH], [BORDER] * 2, "k--", linewidth=0.6)
    ax.plot([RING] * 2, [0, TOP], color=STEEL, linewidth=1.2, linestyle=":")
    measure(ax, (REACH + 1.5, 0), (REACH + 1.5, HIGH), "8 m")
    measure(ax, (0, TOP + 0.8), (REACH, TOP + 0.8), "20 m")


PROBLEM = Problem(
    "seepage to a well", "Water flows to a well of 1 m radius from a head given at 20 m: confined, with a free surface and 0, 2 and 5 m of water in the well, in uniform and layered ground, "
    "and through a leaking ring of sheets; and from deep ground up through a round opening of 3 m radius",
    "Thiem 1906; Dupuit's discharge pi k (H^2 - h^2) / ln(R / r), exact with a free surface and a seepage face (Charny 1951); with layers by the potential of Girinsky 1946; the opening by "
    "Weber 1873 (all from memory); the potentials and the ring derived afresh",
    run, (0.25,), (0.25, 0.125, 0.0625), draw,
)  # fmt: skip
