"""Walls in limiting equilibrium by hand: a cantilever, and a wall with one prop that is free at its toe (free earth support).

Gross pressures: active earth pressure and water behind the wall, passive earth pressure and water before it, whole down to the least toe that holds (CIRIA report 104, from memory). The loads and
moments are those of that toe: what a longer wall adds is taken not to be called upon. Arching, stiffness, preload and what stages leave in the ground are no part of the method.
Signs: pressure positive towards the dig, loads of props positive in compression, moment positive with tension on the dug face, shear the slope of the moment with depth.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Callable

import numpy as np
from scipy.optimize import brentq

from fesoil.hand.pressures import WallPressures
from fesoil.hand.statics import cut, from_level, running, with_levels

SIMPLE = 1.2
"""Embedment of the simplified cantilever over the one found by moments about the toe (common practice, no source)."""

SEARCH = 0.25
"""Step [m] of the search for the shallowest toe that holds."""

CLOSE = 1e-9
"""Width [m] to which a toe or a pivot is found."""

LEVER = 1e-3
"""Moment about a prop over the greatest pressure [m2] that is still none."""


@dataclass(frozen=True)
class NetPressure:
    """Net pressure (n, 2) [kPa] at levels (n,) [m] from the top down: where the wall moves towards the dig, and where it moves back; ``dig`` level of the dig [m]."""

    level: np.ndarray
    pressure: np.ndarray
    dig: float

    def down_to(self, toe: float) -> NetPressure:
        """The part above a toe."""
        return NetPressure(*cut(self.level, self.pressure, toe), self.dig)

    def below(self, start: float) -> NetPressure:
        """The part below a level."""
        return NetPressure(*from_level(self.level, self.pressure, start), self.dig)


@dataclass(frozen=True)
class Balance:
    """A wall in equilibrium: levels (n,) [m], net pressure (n,) [kPa], shear (n,) [kN/m] and moment (n,) [kN m/m]; ``toe`` least toe that holds [m]; ``loads`` (k,) of props [kN/m] at
    ``props`` (k,) [m]; ``rule`` says by what method."""

    level: np.ndarray
    pressure: np.ndarray
    shear: np.ndarray
    moment: np.ndarray
    toe: float
    props: np.ndarray
    loads: np.ndarray
    rule: str

    @property
    def greatest(self) -> tuple[float, float]:
        """Moment that is greatest without regard to sign [kN m/m], and its level [m]."""
        k = int(np.argmax(np.abs(self.moment)))
        return float(self.moment[k]), float(self.level[k])


def net_pressure(found: WallPressures, passive_factor=1.0) -> NetPressure:
    """Net pressure on a wall, the passive earth pressure divided by a factor (water never is)."""
    front, back = found.dug, found.retained
    water = back.water - front.water
    moving = back.active - front.passive / passive_factor + water
    returning = back.passive / passive_factor - front.active + water
    return NetPressure(front.level, np.column_stack([moving, returning]), found.dig)


def balance(net: NetPressure, props=(), loads=(), rule="") -> Balance:
    """Shear and moment of a wall under the net pressure of its first column and given loads (k,) [kN/m] of props at levels (k,) [m]; exact, with a level wherever the moment is greatest or least."""
    props, loads = np.asarray(props, float), np.asarray(loads, float)
    level, pressure = with_levels(net.level, net.pressure[:, 0], props)
    shear, _ = _carried(level, pressure, props, loads)
    level, pressure = with_levels(level, pressure, _without_shear(level, pressure, shear))
    return Balance(level, pressure, *_carried(level, pressure, props, loads), float(level[-1]), props, loads, rule)


def _carried(level, pressure, props, loads):
    """Shear and moment (n,); of the entries at one level, the load of a prop counts from the last one on."""
    force, moment = running(level, pressure)
    last = np.append(level[:-1] > level[1:], True)[:, None]
    held = np.where((level[:, None] < props) | ((level[:, None] == props) & last), loads, 0.0)
    arms = np.maximum(props - level[:, None], 0.0)
    return held.sum(1) - force, (loads * arms).sum(1) - moment


def _without_shear(level, pressure, shear):
    """Levels within intervals at which the shear, a parabola in each, changes its sign."""
    change = np.flatnonzero((shear[:-1] * shear[1:] < 0) & (level[:-1] > level[1:]))
    depth, at, slope = level[change] - level[change + 1], shear[change], -pressure[change]
    bend = (pressure[change] - pressure[change + 1]) / (2 * depth)
    root = np.sqrt(np.maximum(slope**2 - 4 * bend * at, 0.0))
    return level[change] - 2 * at / (-slope + np.sign(at) * root)  # the root that lies within; so written it holds where the bend is nothing


def least_toe(excess: Callable[[float], float], highest: float, lowest: float) -> float:
    """Shallowest toe [m] at which what drives the wall no longer exceeds what holds it: ``excess`` of a toe is positive where it does.

    ``highest`` where nothing ever drives the wall. Raises ValueError where no toe from there on down to ``lowest`` holds it.
    """
    driven_at = None
    for toe in np.append(np.arange(highest, lowest, -SEARCH), lowest):
        if excess(toe) > 0:
            driven_at = toe
        elif driven_at is not None:
            return brentq(excess, toe, driven_at, xtol=CLOSE)
    if driven_at is not None:
        raise ValueError(f"no toe between the levels {highest:.2f} and {lowest:.2f} m holds the wall")
    return highest


def propped(net_to: Callable[[float], NetPressure], prop: float, lowest: float, forces=()) -> Balance:
    """Free earth support: moments about the prop give the least toe, forces its load.

    Parameters
    ----------
    net_to : callable
        Net pressure on the wall if its toe is at a level [m]; ``NetPressure.down_to`` where the toe changes no pressure.
    prop, lowest : float
        Level of the prop, and lowest toe to be tried [m].
    forces : sequence of (level, load)
        Props whose load is known [m, kN/m].

    Raises
    ------
    ValueError
        No toe holds the wall, or it tips over its prop: then its loads are not known either.
    """
    levels, known = (np.array([f[k] for f in forces], float) for k in (0, 1))

    def turning(toe):
        net = net_to(toe)
        force, moment = (at[-1] for at in running(net.level, net.pressure[:, 0]))
        about_prop = force * (prop - net.level[-1]) - moment
        return about_prop - (known * (prop - levels)).sum()

    toe = least_toe(turning, min(net_to(lowest).dig, prop), lowest)
    net = net_to(toe)
    if turning(toe) < -LEVER * np.abs(net.pressure[:, 0]).max():
        raise ValueError(f"the ground above the prop at {prop:.2f} m outweighs that below: the wall tips over it, and is no case for free earth support")
    load = running(net.level, net.pressure[:, 0])[0][-1] - known.sum()
    return balance(net, np.append(levels, prop), np.append(known, load), "free earth support, moments about the prop")


def cantilever(net_to: Callable[[float], NetPressure], lowest: float) -> Balance:
    """Full method: the wall turns about a pivot above its toe, below which the two sides change parts; forces and moments in balance. Arguments and errors as for ``propped``."""
    start = _tipping(net_to, lowest)

    def tipping(toe):
        net = net_to(toe)
        force = running(net.level, net.pressure[:, 0])[0][-1]
        return 1 + force if force > 0 else _moment(_turned(net))  # where even the whole passive side does not hold the force there is no pivot

    toe = least_toe(tipping, start, lowest)
    return balance(_turned(net_to(toe)), rule="cantilever about a pivot, sides changed below it")


def cantilever_simple(net_to: Callable[[float], NetPressure], lowest: float) -> Balance:
    """Simplified method: moments about the toe, where all that presses back below is one force; the embedment so found is made a fifth longer. Arguments and errors as for ``propped``.

    ``toe`` of the outcome is the longer one; pressure, shear and moment go down to the point of moments.
    """
    toe = _tipping(net_to, lowest)
    net = net_to(toe)
    found = balance(net, rule=f"cantilever by moments about the toe, {SIMPLE:g} times the embedment")
    return Balance(found.level, found.pressure, found.shear, found.moment, net.dig - SIMPLE * (net.dig - toe), found.props, found.loads, found.rule)


def _tipping(net_to, lowest) -> float:
    """Toe at which the moment about it is nothing."""
    return least_toe(lambda toe: _moment(net_to(toe)), net_to(lowest).dig, lowest)


def _moment(net: NetPressure) -> float:
    """Moment about the toe of the pressure of the first column [kN m/m]."""
    return running(net.level, net.pressure[:, 0])[1][-1]


def _turned(net: NetPressure) -> NetPressure:
    """The net pressure with the sides changed below the pivot that makes forces balance."""

    def unbalanced(pivot):
        above, below = net.down_to(pivot), net.below(pivot)
        return running(above.level, above.pressure[:, 0])[0][-1] + running(below.level, below.pressure[:, 1])[0][-1]

    pivot = brentq(unbalanced, net.level[-1], net.level[0], xtol=CLOSE)
    level, pressure = with_levels(net.level, net.pressure, [pivot])
    first = int(np.searchsorted(-level, -pivot)) + 1
    return NetPressure(level, np.concatenate([pressure[:first], pressure[first:, ::-1]]), net.dig)
