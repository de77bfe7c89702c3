"""Slip-line solution beside a corner: limit pressure on a straight boundary below or beside level ground with weight.

Level ground lies to the right of the corner, the boundary (a wall going down, the base of a footing going left) starts there. With s = sin(phi),
H = c cot(phi), mean stress plus H called m, and t the direction of the major principal stress, compression positive and y upwards,

    along the direction t + e:    dm + 2 m tan(phi) dt = -gamma (dy + tan(phi) dx)
    along the direction t - e:    dm - 2 m tan(phi) dt = -gamma (dy - tan(phi) dx),        e = pi/4 - phi/2

(Sokolovskii 1965, from memory; the signs were checked against Rankine's states). The march begins at the surface, turns through a fan at the corner
and ends on the boundary. A negative angle of friction (and cohesion) gives the active state.
"""

from __future__ import annotations

import math
from functools import cache
from itertools import count

import numpy as np


def boundary_pressure(phi, delta, gamma, c, q, length, direction, lines=50, fan=20):
    """Resultant force normal to the boundary [kN/m].

    Parameters
    ----------
    phi, delta : float
        Friction of the ground and of the boundary [rad]; both negative, and ``c`` too, for the active state.
    gamma, c, q : float
        Unit weight [kN/m3], cohesion and surcharge [kPa]; not both of the last may be zero.
    length, direction : float
        Length of the boundary [m] and its direction from the corner [rad]: -pi/2 down, pi left.
    lines, fan : int
        Slip lines from the surface over about the length of the boundary (closer near the corner), and through the corner.
    """
    s, H, e = np.sin(phi), c / np.tan(phi), np.pi / 4 - phi / 2
    # on the boundary, whose outward normal is a quarter turn back from its direction, shear = tan(delta) x (normal stress + H)
    inclination = -(delta + np.arcsin(np.sin(delta) / s)) / 2
    end = direction + np.pi / 2 + inclination if direction < 0 else direction - 3 * np.pi / 2 + inclination
    normal = 1 + s * np.cos(2 * inclination)
    along = (math.cos(direction), math.sin(direction))
    meet = lambda b: _meet(b, along, end, phi, e, gamma)  # noqa: E731
    ends, pressures = [], []
    for x, y, m, _ in _march(phi, gamma, c, q, length, end, lines, fan, meet):
        ends.append(x * along[0] + y * along[1])
        pressures.append(m * normal - H)
        if ends[-1] >= length:
            break
    places = np.append([e for e in ends if e < length], length)
    return float(np.trapezoid(np.interp(places, ends, pressures), places))


def _march(phi, gamma, c, q, length, end, lines, fan, meet, n=math.inf):
    """Points x, y, m, t, one after the other from the corner, where the fan ends with t = ``end``.

    ``n`` slip lines end on the boundary, in the point that ``meet`` finds from the one before it; those after them end on the other slip line
    through the last such point.
    """
    H, e = c / np.tan(phi), np.pi / 4 - phi / 2
    first = (q + H) / (1 - np.sin(phi))
    row = [(0.0, 0.0, first * np.exp(-2 * t * np.tan(phi)), t) for t in np.linspace(0, end, fan + 1)]
    yield row[-1]
    layer, x = (q + H) / gamma, 0.0  # depth at which weight overtakes cohesion and surcharge
    for k in count():
        x += min(length / lines, (layer + x) * 8 / lines)
        new = [(x, 0.0, first, 0.0)]
        for other in row:
            new.append(_cross(other, new[-1], phi, e, gamma))
        row = [*new, meet(new[-1])] if k < n else new
        yield row[-1]


def _cross(a, b, phi, e, gamma):
    """Point where the (t - e) line through ``a`` meets the (t + e) line through ``b``; each x, y, m, t."""
    p, k = [(u + v) / 2 for u, v in zip(a, b)], math.tan(phi)
    for _ in range(4):
        sa, ca, sb, cb = *_unit((a[3] + p[3]) / 2 - e), *_unit((b[3] + p[3]) / 2 + e)
        across_a, across_b = sa * a[0] - ca * a[1], sb * b[0] - cb * b[1]
        turn = ca * sb - cb * sa
        x, y = (ca * across_b - cb * across_a) / turn, (sa * across_b - sb * across_a) / turn
        ka, kb = k * (a[2] + p[2]), k * (b[2] + p[2])
        ra = a[2] - ka * a[3] - gamma * ((y - a[1]) - k * (x - a[0]))
        rb = b[2] + kb * b[3] - gamma * ((y - b[1]) + k * (x - b[0]))
        t = (rb - ra) / (ka + kb)
        p = (x, y, ra + ka * t, t)
    return p


def _meet(b, along, end, phi, e, gamma):
    """Point where the (t + e) line through ``b`` meets the boundary."""
    k, m = math.tan(phi), b[2]
    sin, cos = _unit((b[3] + end) / 2 + e)
    reach = (sin * b[0] - cos * b[1]) / (sin * along[0] - cos * along[1])
    x, y = reach * along[0], reach * along[1]
    for _ in range(4):
        m = b[2] - k * (b[2] + m) * (end - b[3]) - gamma * ((y - b[1]) + k * (x - b[0]))
    return x, y, m, end


def _unit(angle):
    return math.sin(angle), math.cos(angle)


def earth_pressure(phi, delta, passive=True, lines=50):
    """Horizontal coefficient K of self-weight on a vertical wall, angles in degrees, with a vanishing surcharge."""
    sign = 1 if passive else -1
    return 2 * boundary_pressure(sign * np.radians(phi), sign * np.radians(delta), 1.0, 0.0, 1e-6, 1.0, -np.pi / 2, lines, lines // 4)


def smooth_footing(phi, gamma, c, half, lines=50):
    """Mean pressure [kPa] under a smooth rigid strip of half-width ``half`` [m] on the ground's surface, angle in degrees."""
    return boundary_pressure(np.radians(phi), 0.0, gamma, c, 0.0, half, np.pi, lines, lines // 2) / half


def rough_footing(phi, gamma, c, half, lines=50):
    """The same under a rough strip on ground that weighs much more than it coheres.

    Such ground slips along the base near the edge. Further in it goes down with the base, as a wedge above the slip line from the point where
    slipping ends, and the middle is where the major stress on that line is upright (Martin 2005, IACMAG, Turin, from memory). The further in it
    slips, the wider is the strip.
    """
    phi = np.radians(phi)
    least, most = 0, lines // 2
    while _rough(phi, gamma, c, half, most, lines)[0] < half:
        least, most = most, most + lines // 2
    while most - least > 1:
        n = (least + most) // 2
        least, most = (n, most) if _rough(phi, gamma, c, half, n, lines)[0] < half else (least, n)
    widths, pressures = zip(*(_rough(phi, gamma, c, half, n, lines) for n in (least, most)))
    return float(np.interp(half, widths, pressures))


@cache
def _rough(phi, gamma, c, length, n, lines):
    """Half-width [m] of the rough strip of which ``n`` slip lines meet the base, and the mean pressure [kPa]; slip lines as for a ``length`` [m]."""
    e = np.pi / 4 - phi / 2
    end = e - np.pi  # a slip line lies along the base
    meet = lambda b: _meet(b, (-1.0, 0.0), end, phi, e, gamma)  # noqa: E731
    points = []
    for point in _march(phi, gamma, c, 0.0, length, end, lines, lines // 2, meet, n):
        points.append(point)
        if point[3] > -np.pi / 2:
            break
    points = np.array(points)
    share = (-np.pi / 2 - points[-2, 3]) / (points[-1, 3] - points[-2, 3])
    points[-1] = points[-2] + share * (points[-1] - points[-2])
    x, y, m, t = points.T
    mean, radius = m - c / np.tan(phi), m * np.sin(phi)
    carried = np.trapezoid(radius * np.sin(2 * t), y) - np.trapezoid(mean - radius * np.cos(2 * t), x)
    return -x[-1], (carried - gamma * np.trapezoid(y, x)) / -x[-1]
