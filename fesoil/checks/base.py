"""Base of a cut in clay by its undrained strength: bearing capacity against the weight of the ground beside the cut, as plain numbers.

Short term, total stress, level ground; what the wall's embedment adds is left out, so a wall that goes well below the dig stands better than both forms say.
"""

from __future__ import annotations

from math import inf

from fesoil.checks.check import Check, refuse_negative, refuse_zero

REQUIRED = 1.5
"""Factor of safety that is usual against failure of the base (common practice, no source)."""

TERZAGHI_FACTOR = 5.7
"""Bearing-capacity factor of a strip with a rough base (Terzaghi 1943, from memory)."""

TERZAGHI_REACH = 0.7
"""Width of the ground that sinks beside the cut over the width of the cut, about 1 / sqrt 2 (Terzaghi 1943, from memory)."""

DEEPEST = 2.5
"""Depth over width beyond which the bearing-capacity factor grows no more (Skempton 1951, from memory)."""


def reach(width, firm_depth=inf) -> float:
    """Width [m] of the strip that sinks beside the cut, and depth to which the ground below it moves: 0.7 of the width of the cut, or the depth to firm ground where that is less."""
    refuse_zero(width=width, firm_depth=firm_depth)
    return min(TERZAGHI_REACH * width, firm_depth)


def terzaghi(load, height, strength_above, strength_below, width, firm_depth=inf, required=REQUIRED) -> Check:
    """Terzaghi 1943 (from memory): 5.7 su over the load less what the strength on the upright side of the strip that sinks takes off, su H / B1 with B1 of ``reach``.

    Parameters
    ----------
    load : float
        Total upright stress beside the cut at the level of its floor, with surcharge, less the pressure of water that stands on the floor [kPa].
    height : float
        Depth of the cut [m].
    strength_above, strength_below : float
        Mean undrained strength [kPa] over the depth of the cut, and of the clay below it down to ``reach``.
    width, firm_depth : float
        Width of the cut, and depth from its floor to firm ground [m].
    """
    refuse_negative(load=load, height=height, strength_above=strength_above, strength_below=strength_below)
    held = strength_above * height / reach(width, firm_depth)
    words = f"{TERZAGHI_FACTOR:g} x su {strength_below:.1f} over load {load:.1f} less {held:.1f} kPa by the strength beside the cut"
    return Check("base in clay, Terzaghi 1943", load - held, TERZAGHI_FACTOR * strength_below, "kPa", required, words)


def bearing_factor(height, width, length=inf) -> float:
    """Bearing-capacity factor 5 (1 + 0.2 H / B)(1 + 0.2 B / L) with H / B at most 2.5 (Skempton 1951, Bjerrum and Eide 1956, from memory): 5 to 7.5 of a long cut, 9 of a deep square one."""
    refuse_negative(height=height)
    refuse_zero(width=width, length=length)
    short, long = sorted((width, length))
    return 5 * (1 + 0.2 * min(height / short, DEEPEST)) * (1 + 0.2 * short / long)


def bjerrum_eide(load, height, strength_below, width, length=inf, required=REQUIRED) -> Check:
    """Bjerrum and Eide 1956 (from memory): ``bearing_factor`` times su over the load. Arguments as for ``terzaghi``; ``length`` of the cut in plan [m], infinite where it is long."""
    refuse_negative(load=load, strength_below=strength_below)
    factor = bearing_factor(height, width, length)
    return Check("base in clay, Bjerrum and Eide 1956", load, factor * strength_below, "kPa", required, f"{factor:.2f} x su {strength_below:.1f} over load {load:.1f} kPa")
