"""Earth-pressure coefficients for an upright wall and level ground: horizontal pressure over upright effective stress.

Angles in radians, numbers or arrays; wall friction is positive where the ground goes down along the wall (active) or up (passive), as it does beside a wall that does not itself sink or rise.
"""

from __future__ import annotations

import numpy as np

COULOMB_EXCESS = 0.05
"""Share by which Coulomb's passive coefficient may exceed the closed form before it is refused."""

SMALL = 1e-6
"""Friction angle [rad] below which the limit of none is taken."""


def rankine_active(phi):
    """Rankine's active coefficient (1 - sin phi) / (1 + sin phi), smooth wall."""
    return (1 - np.sin(phi)) / (1 + np.sin(phi))


def rankine_passive(phi):
    """Rankine's passive coefficient (1 + sin phi) / (1 - sin phi), smooth wall."""
    return 1 / rankine_active(phi)


def coulomb_active(phi, delta):
    """Coulomb's active coefficient, horizontal part, from a wedge with a plane slip surface; a little below the exact value (unsafe by up to 5 % with full wall friction)."""
    return _coulomb(phi, delta, 1)


def coulomb_passive(phi, delta):
    """Coulomb's passive coefficient, horizontal part.

    Raises
    ------
    ValueError
        It exceeds the closed form (``closed_passive``) by more than 5 %: a plane slip surface finds more resistance than there is.
    """
    found, safe = _coulomb(phi, delta, -1), closed_passive(phi, delta)
    if np.any(found > (1 + COULOMB_EXCESS) * safe):
        worst = np.max(found / safe)
        raise ValueError(f"Coulomb's passive coefficient is up to {worst:.2f} times the closed form with these angles of friction: it counts on resistance that is not there; use closed_passive")
    return found


def _coulomb(phi, delta, sign):
    phi, delta = _checked(phi, delta)
    return np.cos(phi) ** 2 / (1 + sign * np.sqrt(np.sin(phi + delta) * np.sin(phi) / np.cos(delta))) ** 2


def closed_active(phi, delta):
    """Active coefficient, horizontal part, of a field of stress that turns in a fan (Lancellotta 2002 with the signs of the angles changed).

    For weight an upper bound, 0.2 to 3 % above the exact value; exact for an even surcharge.
    """
    phi, delta = _checked(phi, delta)
    return _fan(-phi, -delta)


def closed_passive(phi, delta):
    """Passive coefficient, horizontal part, of a field of stress that turns in a fan (Lancellotta 2002, re-read).

    The same as annex C.2 of EN 1997-1:2004 for an upright wall and level ground (from memory). For weight a lower bound, 1 to 21 % below the exact value for friction of 20 to 40 deg; exact
    for an even surcharge. Raises ValueError where wall friction is above the friction of the ground or an angle is negative.
    """
    phi, delta = _checked(phi, delta)
    return _fan(phi, delta)


def _fan(phi, delta):
    """Both coefficients in one: with negative angles the root changes its sign as well."""
    sine = np.sin(delta) / np.where(np.abs(phi) < SMALL, 1.0, np.sin(phi))
    root = np.sin(phi) * np.sqrt(np.maximum(1 - sine**2, 0.0))
    return np.cos(delta) * (np.cos(delta) + root) / (1 - np.sin(phi)) * np.exp((np.arcsin(np.clip(sine, -1, 1)) + delta) * np.tan(phi))


def _checked(phi, delta):
    phi, delta = np.broadcast_arrays(np.asarray(phi, float), np.asarray(delta, float))
    if not np.all((phi >= 0) & (phi < np.pi / 2) & (delta >= 0) & (delta <= phi + 1e-12)):
        raise ValueError("angles must be 0 <= wall friction <= friction of the ground < 90 deg")
    return phi, delta


def capped_friction(delta, phi_cv, share):
    """Wall friction [rad], never above a share of the angle at constant volume phi'cv [rad]: at most 2/3 for steel sheets, 1 for concrete cast against ground (EN 1997-1:2004, 9.5.1, from memory)."""
    return np.minimum(delta, share * np.asarray(phi_cv, float))


def cohesion_active(phi, alpha):
    """What cohesion takes off the active pressure, over the cohesion: (1 - K) cot(phi), 1 + asin(alpha) + sqrt(1 - alpha^2) without friction.

    ``alpha`` (0 to 1) adhesion over cohesion. K is ``closed_active`` for the wall friction whose tangent is alpha tan(phi): pressure plus c cot(phi) behaves as in ground without cohesion
    (Caquot's rule), and fields of stress that each keep to the strength do so together, so the sum with weight is on the safe side. In undrained ground it is exact.
    """
    return _cohesion(phi, alpha, -1)


def cohesion_passive(phi, alpha):
    """What cohesion adds to the passive pressure, over the cohesion; see ``cohesion_active``."""
    return _cohesion(phi, alpha, 1)


def _cohesion(phi, alpha, sign):
    phi, alpha = np.broadcast_arrays(np.asarray(phi, float), np.asarray(alpha, float))
    if not np.all((alpha >= 0) & (alpha <= 1)):
        raise ValueError("adhesion over cohesion must be 0 to 1")
    angle = sign * np.maximum(phi, SMALL)
    frictional = (_fan(angle, np.arctan(alpha * np.tan(angle))) - 1) / np.tan(angle)
    return np.where(phi < SMALL, undrained(alpha), frictional)


def undrained(alpha):
    """What undrained strength su takes off the active and adds to the passive total pressure, over su: 1 + asin(alpha) + sqrt(1 - alpha^2), exact; ``alpha`` adhesion over su."""
    return 1 + np.arcsin(alpha) + np.sqrt(1 - np.asarray(alpha, float) ** 2)


def undrained_by_rule(alpha):
    """The trade's form 2 sqrt(1 + alpha) (common practice), for comparison: at full adhesion 10 % above the exact value, so unsafe on both sides of the wall."""
    return 2 * np.sqrt(1 + np.asarray(alpha, float))
