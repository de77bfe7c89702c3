"""What lowering the water does to the ground: one-dimensional settlement, and how long it takes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fesoil.checks.check import refuse_negative, refuse_zero

SHORT = 0.05
"""Time factor below which 2 sqrt(T / pi) gives the degree of consolidation to better than 1e-8."""


@dataclass(frozen=True)
class Settlement:
    """Settlement [m], positive down, and what each layer (n - 1,) adds; not a number where a modulus is missing."""

    total: float
    layers: np.ndarray

    @property
    def words(self) -> str:
        missing = int(np.isnan(self.layers).sum())
        if missing:
            return f"not known: no one-dimensional modulus in {missing} of {len(self.layers)} layers that are compressed"
        return f"{1e3 * self.total:.0f} mm by one-dimensional compression"


def drawdown_settlement(levels, before, after, modulus) -> Settlement:
    """Settlement of a column whose pore pressure falls: the integral of the rise of effective vertical stress over the one-dimensional modulus.

    Parameters
    ----------
    levels : array (n,)
        Levels of points down (or up) the column [m]; the pressures are linear between them, which makes the sum exact.
    before, after : array (n,)
        Pore pressure [kPa].
    modulus : array (n - 1,)
        One-dimensional (oedometer) modulus of compression [kPa] between the points for this range of stress; nan where it is not known. A stiffness at small strain has no place here.

    Returns
    -------
    Settlement
        Total stress is taken as it was (ground that drains gets lighter: on the safe side). Where the pressure rises the ground would swell, by another modulus: not counted.

    Raises
    ------
    ValueError
        Lengths do not fit, the levels are not in order, or a modulus is not above zero.
    """
    levels, before, after, modulus = (np.asarray(values, float) for values in (levels, before, after, modulus))
    if not levels.shape == before.shape == after.shape == (len(modulus) + 1,):
        raise ValueError(f"{len(levels)} levels, {len(before)} and {len(after)} pressures, {len(modulus)} moduli between them")
    steps = np.diff(levels)
    if not (np.all(steps > 0) or np.all(steps < 0)):
        raise ValueError("the levels are not in order down or up the column")
    refuse_zero(modulus=modulus[~np.isnan(modulus)])
    rise = _mean_of_positive(before - after)
    shortening = np.where(rise == 0, 0.0, rise * np.abs(steps) / modulus)
    return Settlement(float(shortening.sum()), shortening)


def _mean_of_positive(values):
    """Mean (n - 1,), between points, of the positive part of what is linear between values (n,)."""
    start, end = values[:-1], values[1:]
    crossing = start * end < 0
    width = np.where(crossing, np.abs(start - end), 1.0)
    up, down = np.maximum(start, 0.0), np.maximum(end, 0.0)
    return np.where(crossing, (up**2 + down**2) / (2 * width), (up + down) / 2)


def dissipation_time(path, permeability, modulus, gamma_w=9.81) -> float:
    """Time scale d^2 / c_v [s] of excess pore pressure, from the drainage path d [m] (half a layer that drains both ways), with c_v = k M / gamma_w of the permeability k [m/s]
    and the one-dimensional modulus M [kPa]. About nine tenths have gone after 0.85 of it (``consolidated``)."""
    refuse_zero(path=path, permeability=permeability, modulus=modulus, gamma_w=gamma_w)
    return path**2 * gamma_w / (permeability * modulus)


def consolidated(time_factor):
    """Degree of consolidation at time factors t / (d^2 / c_v), numbers or arrays, of a layer with even excess pressure (Terzaghi's one-dimensional theory; series from memory)."""
    T = np.asarray(time_factor, float)
    refuse_negative(time_factor=T)
    M = (2 * np.arange(8) + 1) * np.pi / 2
    late = 1 - np.sum(2 / M**2 * np.exp(-(M**2) * np.maximum(T, SHORT)[..., None]), axis=-1)
    return np.where(T < SHORT, 2 * np.sqrt(T / np.pi), late)[()]
