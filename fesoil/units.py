"""Units: numbers and quantities with a unit, to the internal system and back.

Inside: kN, m, kPa, kN/m3, s, radians. A bare number is in the documented unit of its key; a string carries its own unit.

    to_internal("15 MPa", "kPa")       15000.0
    to_internal(32, "deg")             0.5585...
    text(0.5585053606381855, "deg")    '32 deg'
"""

from __future__ import annotations

import math
import re
from difflib import get_close_matches
from functools import lru_cache

# Value in the internal system, and powers of force, length, time and angle.
_FORCE, _LENGTH, _TIME, _ANGLE = (1, 0, 0, 0), (0, 1, 0, 0), (0, 0, 1, 0), (0, 0, 0, 1)
_PRESSURE = (1, -2, 0, 0)
UNITS = {
    "N": (1e-3, _FORCE), "kN": (1.0, _FORCE), "MN": (1e3, _FORCE), "GN": (1e6, _FORCE),
    "Pa": (1e-3, _PRESSURE), "kPa": (1.0, _PRESSURE), "MPa": (1e3, _PRESSURE), "GPa": (1e6, _PRESSURE),
    "bar": (100.0, _PRESSURE), "mbar": (0.1, _PRESSURE),
    "mm": (1e-3, _LENGTH), "cm": (1e-2, _LENGTH), "m": (1.0, _LENGTH), "km": (1e3, _LENGTH),
    "s": (1.0, _TIME), "min": (60.0, _TIME), "h": (3600.0, _TIME), "day": (86400.0, _TIME),
    "rad": (1.0, _ANGLE), "deg": (math.pi / 180, _ANGLE), "°": (math.pi / 180, _ANGLE),
}
_NUMBER = re.compile(r"\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)(.*)", re.DOTALL)
_TERM = re.compile(r"\s*([/*·]?)\s*([A-Za-z°]+)\^?(\d?)")
_RAISED = str.maketrans("²³⁴", "234")


@lru_cache(maxsize=256)
def measure(unit: str) -> tuple[float, tuple[int, ...]]:
    """Size of a unit in the internal system and its powers of (force, length, time, angle).

    Parameters
    ----------
    unit : str
        Products and quotients such as ``"MN m2/m"``, ``"kN/m/m"``, ``"m/s"``; a stroke divides by the one unit after it.

    Raises
    ------
    ValueError
        The unit is not known, or is not written so that it can be read.
    """
    size, powers, rest = 1.0, (0, 0, 0, 0), unit.translate(_RAISED).strip().removeprefix("1")  # "1/s"
    while rest:
        term = _TERM.match(rest)
        if not term:
            raise ValueError(f"cannot read the unit '{unit}'; write it like \"kN m2/m\"")
        stroke, name, power = term.groups()
        if name not in UNITS:
            raise ValueError(f"unknown unit '{name}'{_suggestion(name)}")
        exponent = int(power or 1) * (-1 if stroke == "/" else 1)
        size *= UNITS[name][0] ** exponent
        powers = tuple(p + exponent * q for p, q in zip(powers, UNITS[name][1]))
        rest = rest[term.end():].strip()
    return size, powers


def _suggestion(name: str) -> str:
    by_small_letters = {u.lower(): u for u in UNITS}
    near = get_close_matches(name.lower(), by_small_letters, 1)
    return f"; did you mean '{by_small_letters[near[0]]}'?" if near else f"; known are {', '.join(UNITS)}"


def to_internal(value, unit: str | None) -> float:
    """A number (in ``unit``) or a string with its own unit, in the internal system.

    Parameters
    ----------
    value : float or str
        ``12.5`` or ``"12.5 MPa"``.
    unit : str or None
        Documented unit of the key; None for a pure number.

    Raises
    ------
    ValueError
        Not a number, not finite, without a unit in a string, or with a unit of another dimension.
    """
    if isinstance(value, str):
        return _quantity(value, unit)
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise ValueError("not a number")
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    return _finite(number) * (measure(unit)[0] if unit else 1.0)


def _quantity(value: str, unit: str | None) -> float:
    found = _NUMBER.fullmatch(value)
    if not found:
        raise ValueError("not a number with a unit")
    number, own = float(found[1]), found[2].strip()
    if unit is None:
        raise ValueError("a pure number is wanted, without quotes and without a unit")
    if own.startswith(","):
        raise ValueError("write decimals with a point")
    if not own:
        raise ValueError(f'no unit in the quotes; write {found[1]} or "{found[1]} {unit}"')
    size, powers = measure(own)
    if powers != measure(unit)[1]:
        raise ValueError(f"'{own}' does not measure the same as '{unit}'")
    return _finite(number) * size


def _finite(number: float) -> float:
    if not math.isfinite(number):
        raise ValueError("not a finite number")
    return number


def from_internal(value, unit: str | None):
    """A number or array in the internal system, in ``unit``."""
    return value / measure(unit)[0] if unit else value


def text(value: float, unit: str | None) -> str:
    """A value of the internal system for a message, six digits at most: ``'32 deg'``."""
    said = number(from_internal(value, unit))
    return f"{said} {unit}" if unit else said


def number(value: float, digits: int = 6) -> str:
    """A number for a message as an engineer writes it, ``digits`` of it counted: great ones without a power of ten, ``'4610'``, ``'2600000'``."""
    said = f"{value + 0.0:.{digits}g}"
    return f"{float(said):.0f}" if "e+" in said and abs(value) < 1e15 else said
