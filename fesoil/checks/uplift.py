"""Impervious ground, a slab or a plug that water under it lifts as a whole."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

import numpy as np

from fesoil.checks.check import Check, refuse_negative, refuse_zero, weight
from fesoil.checks.factors import PartialFactors


@dataclass(frozen=True)
class Plan:
    """Inside of a pit in plan [m]; without a length it is long, in plane strain. Raises ValueError where a side is not above zero."""

    width: float
    length: float = inf

    def __post_init__(self):
        refuse_zero(width=self.width, length=self.length)

    @property
    def perimeter_by_area(self) -> float:
        """2 / B in plane strain, 2 (B + L) / (B L) of a rectangle [1/m]."""
        return 2 / self.width + 2 / self.length


def side_resistance(thickness, strength, plan: Plan) -> float:
    """Resistance of the sides for each square metre of plan [kPa] from a shear strength or bond [kPa] over thicknesses [m]: 2 s t / B in plane strain."""
    refuse_negative(strength=strength)
    return weight(thickness, strength) * plan.perimeter_by_area


def uplift_lumped(weights, pressure, required, sides=0.0) -> Check:
    """Weight and resistance of the sides over the water pressure on the underside, all [kPa] of plan."""
    refuse_negative(weights=weights, pressure=pressure, sides=sides)
    words = f"weight {weights:.1f} and sides {sides:.1f} over pressure {pressure:.1f} kPa"
    return Check(_name("lumped factor", sides), pressure, weights + sides, "kPa", required, words)


def uplift_partial(weights, pressure, factors: PartialFactors, sides=0.0, sides_factor=1.0) -> Check:
    """EN 1997-1:2004, (2.8): design water pressure against design weight and the resistance of the sides divided by its own factor, all [kPa] of plan."""
    refuse_negative(weights=weights, pressure=pressure, sides=sides)
    refuse_zero(sides_factor=sides_factor)
    resistance = factors.stabilising * weights + sides / sides_factor
    sizes = f"{factors.destabilising:g} x {pressure:.1f} against {factors.stabilising:g} x {weights:.1f} + sides {sides:.1f} / {sides_factor:g} kPa"
    return Check(_name("partial factors", sides), factors.destabilising * pressure, resistance, "kPa", 1.0, f"(2.8), {factors.name}: {sizes}")


def _name(form, sides):
    return f"uplift {'with the sides' if sides else 'by weight alone'}, {form}"


def uplift_of_layers(thickness, unit_weight, pressure, factors: PartialFactors, required, plan: Plan | None = None, strength=None) -> tuple[Check, ...]:
    """Uplift of the layers between the dig level and an aquifer.

    Parameters
    ----------
    thickness, unit_weight : array (n,)
        Layers [m] and total unit weights [kN/m3].
    pressure : float
        Pressure of the aquifer on its top [kPa].
    factors, required
        Partial factors and lumped factor.
    plan, strength : Plan and array (n,), or None
        With both: undrained strength [kPa] of each layer on the sides of the block, divided in the partial form by the set's factor. It counts on the whole clay failing at once, and on
        no gap or softening at the sheets.

    Returns
    -------
    tuple of Check
        By weight alone, lumped and partial; then both with the sides.
    """
    weights = weight(thickness, unit_weight)
    checks = (uplift_lumped(weights, pressure, required), uplift_partial(weights, pressure, factors))
    if plan is None or strength is None:
        return checks
    sides = side_resistance(thickness, np.broadcast_to(strength, np.shape(np.atleast_1d(thickness))), plan)
    return *checks, uplift_lumped(weights, pressure, required, sides), uplift_partial(weights, pressure, factors, sides, factors.undrained_strength)


def uplift_of_plug(thickness, unit_weight, pressure, plan: Plan, bond, factors: PartialFactors) -> tuple[Check, Check]:
    """Uplift of a placed concrete plug or slab, without and with bond to the sheets, by partial factors.

    Parameters
    ----------
    thickness, unit_weight : float
        Thickness [m] and total unit weight [kN/m3].
    pressure : float
        Water pressure on the underside, less that of water standing on the plug [kPa].
    bond : float
        Design bond strength between concrete and sheets [kPa] on the whole perimeter. No default: it depends on how the sheets were cleaned; what it carries the sheets must hold down.
    """
    refuse_zero(thickness=thickness)
    weights, sides = weight(thickness, unit_weight), side_resistance(thickness, bond, plan)
    return uplift_partial(weights, pressure, factors), uplift_partial(weights, pressure, factors, sides)
