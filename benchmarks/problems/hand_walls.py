"""Cantilever and propped wall by the simple method, from a case, beside the same balance written out by hand for dry sand."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from scipy.optimize import brentq

from benchmarks.earth_pressure import lower_bound
from benchmarks.embedment import draw, full_depth, propped_depth, propped_load
from benchmarks.problem import Answer, Graph, Problem, Row
from fesoil import read_text
from fesoil.case.sequence import situations
from fesoil.hand.equilibrium import cantilever, cantilever_simple, net_pressure, propped
from fesoil.hand.limits import Choice
from fesoil.hand.pressures import wall_pressures

JOB = """
title = "Wall by hand"
[section]
half = true
right = 200.0
bottom_level = -60.0
[[soils]]
name = "sand"
unit_weight = {{ moist = {gamma}, saturated = {gamma} }}
stiffness = "80 MPa"
strength = {{ effective_cohesion = 0, friction_angle = {phi} }}
wall_friction = {{ angle = {delta} }}
[[layers]]
soil = "sand"
top_level = 0.0
[[walls]]
name = "wall"
x = 10.0
top_level = 0.0
sheet = {{ EI = "50 MN m2/m", EA = "5 GN/m" }}
[[stages]]
name = "drive"
drive = {{ wall = {toe} }}
[[stages]]
name = "dig"
dig = {{ wall = {dig} }}
"""

LENGTH, HEIGHT, PROP, FREE = 20.0, 6.0, 1.0, 4.0
"""Length of the wall with a prop at its top; dig and depth of the prop of the second wall; dig of the cantilever [m]."""

SAME = "the same balance written out: rounding, and the width of the search (1e-9 m)"


class Ground(NamedTuple):
    """Unit weight [kN/m3], friction of the ground and of the wall [deg]."""

    gamma: float
    phi: float
    delta: float = 0.0


def net_of(ground: Ground, dig, toe=-45.0, factor=1.0):
    """Net pressure on the wall dug down to a depth [m]."""
    case = read_text(JOB.format(**ground._asdict(), toe=toe, dig=-dig))
    return net_pressure(wall_pressures(case, situations(case)[-1], "wall", choice=Choice(factor)))


def greatest_dig(ground: Ground):
    """Depth of the dig [m] for which ``LENGTH`` just holds the wall with a prop at its top, and its balance."""

    def balance(dig):
        return propped(net_of(ground, dig).down_to, 0.0, -45.0)

    dig = brentq(lambda dig: balance(dig).toe + LENGTH, 0.4 * LENGTH, 0.9 * LENGTH, xtol=1e-9)
    return dig, balance(dig)


def by_hand(ground: Ground):
    """The same, and the greatest moment, by Ka L^3 / 3 = Kp d^2 (L - d / 3) / 2 about the top, with the embedment d."""
    active, passive = (lower_bound(ground.phi, ground.delta, side) if ground.delta else (1 + sign * s) / (1 - sign * s)
                       for side, sign in ((False, -1), (True, 1)) for s in [np.sin(np.radians(ground.phi))])  # fmt: skip
    d = brentq(lambda d: active * LENGTH**3 / 3 - passive * d**2 * (LENGTH - d / 3) / 2, 1e-6, LENGTH)
    load = ground.gamma * (active * LENGTH**2 - passive * d**2) / 2
    level = np.sqrt(2 * load / (active * ground.gamma))
    return LENGTH - d, load, load * level - active * ground.gamma * level**3 / 6


def run(h) -> Answer:
    rows = []
    for ground in (Ground(20, 25), Ground(20, 25, 25)):
        (dig, found), (depth, load, moment) = greatest_dig(ground), by_hand(ground)
        name = f"20 m, prop at the top, delta {ground.delta:g}"
        rows += [Row(f"{name}: dig [m]", depth, dig, -1e-6, 1e-6, SAME), Row(f"{name}: prop [kN/m]", load, found.loads[0], -1e-6, 1e-6, SAME)]
        rows.append(Row(f"{name}: moment [kN m/m]", moment, found.greatest[0], -1e-6, 1e-6, SAME))
    sand, graph = Ground(18, 30), None
    for factor in (1.0, 1.25):
        depth = propped_depth(HEIGHT, PROP, factor)
        held = propped(net_of(sand, HEIGHT, factor=factor).down_to, -PROP, -45.0)
        name = f"prop at 1 m, factor {factor:g} on tan(phi)"
        rows += [Row(f"{name}: embedment [m]", depth, -held.toe - HEIGHT, -1e-6, 1e-6, SAME)]
        rows += [Row(f"{name}: prop [kN/m]", propped_load(HEIGHT, depth, factor), held.loads[0], -1e-6, 1e-6, SAME)]
        free = net_of(sand, FREE, factor=factor).down_to
        name = f"cantilever, factor {factor:g} on tan(phi)"
        rows += [Row(f"{name}: embedment, full method [m]", full_depth(FREE, factor), -cantilever(free, -45.0).toe - FREE, -1e-6, 1e-6, SAME)]
        rows += simple_rows(name, factor, cantilever_simple(free, -45.0))
        graph = graph or moments(held)
    return Answer(rows, graph=graph)


def simple_rows(name, factor, found) -> list[Row]:
    """Cubic of the simplified cantilever: Ka (H + d)^3 = Kp d^3, greatest moment where Ka z^2 = Kp (z - H)^2."""
    ratio = np.tan(np.pi / 4 + np.arctan(np.tan(np.pi / 6) / factor) / 2) ** 2
    z = FREE * ratio / (ratio - 1)
    moment = -18 * (z**3 / ratio - ratio * (z - FREE) ** 3) / 6
    return [
        Row(f"{name}: embedment, simplified [m]", 1.2 * FREE / (ratio ** (2 / 3) - 1), -found.toe - FREE, -1e-6, 1e-6, SAME),
        Row(f"{name}: greatest moment [kN m/m]", moment, found.greatest[0], -1e-6, 1e-6, SAME),
    ]


def moments(found) -> Graph:
    """Moments of the wall with a prop at 1 m, factor 1."""
    z = np.linspace(0, -found.toe, 80)
    exact = propped_load(HEIGHT, -found.toe - HEIGHT, 1.0) * np.maximum(z - PROP, 0) - 18 * (z**3 / 3 - 3 * np.maximum(z - HEIGHT, 0) ** 3) / 6
    return Graph("Moment [kN m/m]", "Level [m]", (("by hand", exact, -z),), (("fesoil", found.moment[::8], found.level[::8]),))


PROBLEM = Problem(
    "hand, walls", "Dry sand: cantilever over a dig of 4 m, wall with a prop at 1 m over one of 6 m, and a wall of 20 m with a prop at its top dug to its limit",
    "moments and forces of triangles of pressure, closed form", run, (None,), (None,), lambda ax: draw(ax, HEIGHT, propped_depth(HEIGHT, PROP, 1.0), PROP),
)  # fmt: skip
