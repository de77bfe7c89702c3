"""Active, at-rest and passive earth pressure of the ground in a column beside a wall."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from fesoil.case.column import Column
from fesoil.case.overburden import mean_pressure
from fesoil.case.soil import EFFECTIVE_STRESS, Soil
from fesoil.case.stiffness import cohesion, implied_strength, undrained_strength
from fesoil.hand.coefficients import capped_friction, closed_active, closed_passive, cohesion_active, cohesion_passive


class NoLimits(ValueError):
    """Ground beside a wall has no strength stated, and so no active or passive pressure."""


@dataclass(frozen=True)
class Choice:
    """What the engineer chooses.

    ``strength_factor`` divides tan(phi'), c', su and what holds at the face; wall friction is never above ``friction_share`` of the (divided) friction of the ground, nor of ``phi_cv``
    [rad] where that is given; ``least_fluid`` unit weight [kN/m3] of the fluid whose pressure undrained ground never falls below (5: CIRIA report 104, from memory).
    """

    strength_factor: float = 1.0
    friction_share: float = 1.0
    phi_cv: float = np.inf
    least_fluid: float = 5.0


class Stress(NamedTuple):
    """Stress at points (n,) of a column [kPa]: levels [m], index of the soil, total upright stress, wide surcharge on top of it, pore pressure."""

    level: np.ndarray
    material: np.ndarray
    total: np.ndarray
    surcharge: np.ndarray
    pore: np.ndarray

    def at(self, here) -> Stress:
        """The points of a mask."""
        return Stress(*(values[here] for values in self))


class Limits(NamedTuple):
    """Earth pressure at points (n,) [kPa], and the water on the wall beside it. ``pull`` is the active pressure before it is kept from falling below ``floor``."""

    pull: np.ndarray
    floor: np.ndarray
    at_rest: np.ndarray
    passive: np.ndarray
    water: np.ndarray

    @property
    def active(self):
        """Active earth pressure (n,) [kPa]."""
        return np.maximum(self.pull, self.floor)


def earth_limits(column: Column, share: float, choice: Choice, stress: Stress) -> Limits:
    """Limits at the points of a column; nothing but water where there is no ground. ``share`` of the wall friction of the soils that this face has.

    Raises ``NoLimits`` where the ground has no strength stated (it is elastic).
    """
    found = Limits(*(np.zeros(stress.level.shape) for _ in range(4)), stress.pore.copy())
    for i in np.unique(stress.material[stress.material >= 0]):
        soil, here = column.case.soils[i], stress.material == i
        if soil.strength is None:
            raise NoLimits(f"{soil.name!r} beside the wall has no strength: by hand its pressure has no limits")
        law = _drained if column.drains(soil) else _undrained
        for values, part in zip(found, law(column, soil, share, choice, stress.at(here))):
            values[here] = part
    return found


def _drained(column: Column, soil: Soil, share, choice: Choice, stress: Stress) -> Limits:
    """K times the effective upright stress, with cohesion; the passive side counts on no surcharge."""
    factor, given = choice.strength_factor, soil.strength
    phi = np.arctan(np.tan(given.friction_angle) / factor)
    delta = np.arctan(share * np.tan(min(soil.wall_friction.angle, given.friction_angle)) / factor)
    delta = float(capped_friction(delta, min(phi, choice.phi_cv), choice.friction_share))
    c = cohesion(soil, stress.level) / factor
    alpha = _adhesion(share * soil.wall_friction.adhesion / factor, c, np.tan(delta) / np.tan(phi) if phi > 0 else 1.0)
    own = np.maximum(stress.total - stress.pore, 0.0)
    loaded = np.maximum(stress.total + stress.surcharge - stress.pore, 0.0)
    pull = closed_active(phi, delta) * loaded - cohesion_active(phi, alpha) * c
    push = closed_passive(phi, delta) * own + cohesion_passive(phi, alpha) * c
    return Limits(pull, np.zeros(pull.shape), soil.at_rest_ratio * loaded, push, stress.pore)


def _undrained(column: Column, soil: Soil, share, choice: Choice, stress: Stress) -> Limits:
    """Total upright stress less or more than the strength; never below a fluid's pressure, nor below that of water in a crack where it can stand."""
    implied = soil.drainage == EFFECTIVE_STRESS
    if implied:
        x = np.full(stress.level.shape, column.x)
        su = implied_strength(soil, mean_pressure(column.case, x, stress.level), stress.level)
    else:
        su = undrained_strength(soil, stress.level)
    su = su / choice.strength_factor
    part = cohesion_active(0.0, _adhesion(share * soil.wall_friction.adhesion / choice.strength_factor, su)) * su
    loaded = stress.total + stress.surcharge
    floor = choice.least_fluid * np.maximum(column.ground - stress.level, 0.0)
    if soil.wall_friction.water_filled_gap or column.free > column.ground:
        floor = np.maximum(floor, column.gamma_w * np.maximum(column.free - stress.level, 0.0))
    rest = stress.pore if implied else 0.0
    return Limits(loaded - part, floor, soil.at_rest_ratio * (loaded - rest) + rest, stress.total + part, np.zeros(su.shape))


def _adhesion(adhesion, strength, most=1.0):
    """Adhesion over strength (n,), at most 1 or what is given; 0 where there is no strength."""
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.where(strength > 0, adhesion / strength, 0.0)
    return np.minimum(ratio, min(most, 1.0))
