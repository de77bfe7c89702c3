"""Pressure of loads on the ground against a wall that does not yield: twice that of the elastic half-plane, as if the load had a mirror image behind the wall."""

from __future__ import annotations

import numpy as np

NEAR = 0.4
"""Distance over height below which a line load presses as if it were this far (Terzaghi 1954)."""


def strip_pressure(q, near, far, depth):
    """Pressure [kPa] at depths [m] below a strip load q [kPa] between distances ``near`` and ``far`` [m] from the wall.

    (2 q / pi)(b - sin b cos 2a) with the angle b under which the strip is seen and the angle a of its middle from the plumb line (Flamant's line load summed, doubled; NAVFAC DM 7.2, from
    memory). Nothing above the load.
    """
    first, last = (np.arctan2(x, depth) for x in (near, far))
    seen = last - first
    return np.where(np.asarray(depth) > 0, 2 * q / np.pi * (seen - np.sin(seen) * np.cos(first + last)), 0.0)


def strip_thrust(q, near, far, depth):
    """Force [kN/m] of ``strip_pressure`` from the load down to a depth [m]: (2 q / pi) depth times the angle under which the strip is seen from there (Jarquio 1981, from memory)."""
    return 2 * q / np.pi * depth * (np.arctan2(far, depth) - np.arctan2(near, depth))


def line_pressure(force, distance, height, depth):
    """Pressure [kPa] at depths [m] below a line load [kN/m] at a distance [m] from a wall of a height [m].

    With m = distance / height and n = depth / height: 1.28 m^2 n / (m^2 + n^2)^2 force / height, and with m = 0.4, rounded to 0.20 n / (0.16 + n^2)^2, for all that are nearer
    (Terzaghi 1954, NAVFAC DM 7.2, from memory). Nothing above the load.
    """
    m, n = distance / height, np.maximum(depth, 0.0) / height
    shape = 0.20 * n / (0.16 + n**2) ** 2 if m <= NEAR else 1.28 * m**2 * n / (m**2 + n**2) ** 2
    return force / height * shape
