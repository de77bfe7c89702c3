"""Walls that stand by their embedment: how deep they go by hand, and the safety factor of the same walls by strength reduction.

Dry sand, smooth walls, gross pressures (free earth support and the cantilever, as in Padfield and Mair 1984, CIRIA report 104, from memory). The
factor divides tan(phi), in the hand calculation as in strength reduction.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from scipy.optimize import brentq, fsolve

from benchmarks import sketch
from benchmarks.cuts import friction_at
from benchmarks.problem import Graph
from fesoil import read_text
from fesoil.case.sequence import situations
from fesoil.solve.analyse import analyse
from fesoil.solve.stages import prepare
from fesoil.solve.strength import safety_factor
from fesoil.solve.system import make_base

GAMMA, PHI, FACTOR = 18.0, 30.0, 1.25
"""Unit weight [kN/m3], friction [deg], and the factor for which the walls are made."""

BRACKET = 0.005
"""Width of the last bracket of the search; the largest factor found stable is the one reported."""

# -------------------------------------------------------------------------------------------------------------------------- by hand


def coefficients(factor):
    """Rankine's active and passive coefficient with tan(phi) divided by a factor."""
    active = np.tan(np.pi / 4 - np.radians(friction_at(PHI, factor)) / 2) ** 2
    return active, 1 / active


def thrust(surface, start, end):
    """Force, and moment about level 0, of a pressure that grows by one a metre below a surface, from one depth to another."""
    return np.array([((end - surface) ** 2 - (start - surface) ** 2) / 2, (end**3 - start**3) / 3 - surface * (end**2 - start**2) / 2])


def propped_depth(height, prop, factor):
    """Embedment [m] below a dig of a height [m] with which a wall just does not turn about its prop, ``prop`` [m] below the top."""
    active, passive = coefficients(factor)

    def turning(d):
        force, moment = active * thrust(0, 0, height + d) - passive * thrust(height, height, height + d)
        return moment - prop * force

    return brentq(turning, 0.01 * height, 10 * height)


def propped_load(height, embedment, factor):
    """Load of the prop [kN/m] that balances active and passive thrust."""
    active, passive = coefficients(factor)
    return GAMMA * (active * thrust(0, 0, height + embedment) - passive * thrust(height, height, height + embedment))[0]


def simple_depth(height, factor):
    """Embedment [m] of a cantilever by moments about the point below which all is put as one force, and a fifth more for that force."""
    active, passive = coefficients(factor)
    return 1.2 * height / ((passive / active) ** (1 / 3) - 1)


def full_depth(height, factor):
    """Embedment [m] of a cantilever that turns about a pivot above its toe, where the sides change parts: forces and moments in balance."""
    active, passive = coefficients(factor)

    def balance(depths):
        pivot, end = depths
        behind = active * thrust(0, 0, pivot) + passive * thrust(0, pivot, end)
        return behind - passive * thrust(height, height, pivot) - active * thrust(height, pivot, end)

    start = height + simple_depth(height, factor)
    return fsolve(balance, [0.95 * start, start])[1] - height


def full_factor(height, embedment):
    """Factor at which ``full_depth`` is an embedment [m]."""
    return brentq(lambda factor: full_depth(height, factor) - embedment, 1.0, 2.0)


# ----------------------------------------------------------------------------------------------------------- by strength reduction

JOB = """
title = "Wall at collapse"
[section]
half = true
element_size = {size}
right = {right}
bottom_level = {bottom}
[[soils]]
name = "sand"
unit_weight = {{ moist = 18, saturated = 20 }}
stiffness = "80 MPa"
strength = {{ effective_cohesion = 0, friction_angle = 30, dilation_angle = 30 }}
at_rest = 0.5
[[layers]]
soil = "sand"
top_level = 0.0
[[walls]]
name = "wall"
x = {x}
top_level = 0.0
sheet = {{ EI = "5 GN m2/m", EA = "10 GN/m" }}
{frames}
[[stages]]
name = "drive"
drive = {{ wall = {toe} }}
{stages}
[[stages]]
name = "dig"
dig = {{ wall = {formation} }}
"""

PROP = """
[[frames]]
name = "prop"
between = ["wall", "axis"]
level = {level}
stiffness = "1 GN/m2"
{limit}
"""

FIT = """
[[stages]]
name = "dig for the prop"
dig = {{ wall = {level} }}
[[stages]]
name = "fit"
fit = ["prop"]
lock = ["prop"]
"""


class Prop(NamedTuple):
    """Depth of a prop below the top [m], and the load at which it yields [kN/m] (None: never)."""

    depth: float
    limit: float | None = None


class Found(NamedTuple):
    """Safety factor (nan where there is none), factors found stable, movement there of the wall into the dig [m], and the number of triangles."""

    factor: float
    factors: np.ndarray
    movements: np.ndarray
    triangles: int


def case_of(height, embedment, size, prop: Prop | None):
    """Case of a stiff smooth wall; the dig reaches two and a half times the embedment to the axis, further than the passive wedge."""
    x, length, frames, stages = 2.5 * embedment, height + embedment, "", ""
    if prop:
        limit = "" if prop.limit is None else f"limit_load = {prop.limit}"
        frames, stages = PROP.format(level=-prop.depth, limit=limit), FIT.format(level=-prop.depth - 0.5)
    box = dict(x=x, right=x + 2 * length, bottom=-1.5 * length)
    return read_text(JOB.format(size=size, toe=-length, formation=-height, frames=frames, stages=stages, **box))


def reduced(height, embedment, size, prop=None) -> Found:
    """Strength reduction after the dig; movement of the toe of a wall with a prop, of the top of one without."""
    case = case_of(height, embedment, size, prop)
    result = analyse(case)
    mesh, state, seen = result.mesh, result.states[-1], []
    step = prepare(case, make_base(mesh), situations(case)[-1], state)
    chosen = np.argmin(mesh.wall_points[:, 1]) if prop else np.argmax(mesh.wall_points[:, 1])

    def watch(model, at):
        seen.append(-at.w[chosen, 0])
        return ()

    found = safety_factor(step.model, state, step.load, step.scale, 2.0, BRACKET, watch)
    stable = [factor for factor, stands, _ in found.trials if stands]
    return Found(np.nan if found.factor is None else found.factor, np.array(stable), np.array(seen), len(mesh.triangles))


# ------------------------------------------------------------------------------------------------------------------------- pictures


def against_factor(known, found, where):
    """Graph of the wall's movement at the factors found stable (names to ``Found``), and of the factors by hand (names to numbers)."""
    most = 1e3 * max(f.movements.max() for f in found.values())
    lines = tuple((name, [factor] * 2, [0.0, most]) for name, factor in known.items())
    marks = tuple((name, f.factors, 1e3 * f.movements) for name, f in found.items())
    return Graph("Factor on tan(phi)", f"Movement of the wall's {where} [mm]", lines, marks)


def draw(ax, height, embedment, prop=None):
    """Ground, dig, wall, and prop where there is one."""
    length, wide = height + embedment, 2.0 * embedment
    outline = [(-wide, -1.4 * length), (length, -1.4 * length), (length, 0), (0, 0), (0, -height), (-wide, -height)]
    sketch.ground(ax, outline)
    sketch.wall(ax, (0, -length), (0, 0))
    sketch.measure(ax, (1.2, -height), (1.2, 0), f"{height:g} m")
    sketch.measure(ax, (1.2, -length), (1.2, -height), "d")
    if prop:
        sketch.arrow(ax, (-0.6 * wide, -prop), (0, -prop), "prop")
