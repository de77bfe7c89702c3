"""Loads against the capacity that a supplier states, which may be a working load or a design resistance: like is set against like, or nothing is."""

from __future__ import annotations

from dataclasses import dataclass

from fesoil.checks.check import Check, refuse_negative, refuse_zero
from fesoil.checks.steel import one_of

PARTNER = {"working load": "unfactored", "design resistance": "factored"}
"""By the kind of a stated capacity the kind of load that it is set against."""


@dataclass(frozen=True)
class Stated:
    """Capacity that a supplier states.

    ``basis`` is 'working load' (the supplier's margin of safety is inside; set against the load as it is) or 'design resistance' (divided by partial factors; set against a factored
    load). ``conditions`` repeat on what it depends: extension, eccentricity, pins, pressure of a relief valve.
    """

    value: float
    unit: str
    basis: str
    conditions: str

    def __post_init__(self):
        refuse_zero(stated_capacity=self.value)
        one_of(self.basis, tuple(PARTNER), "kind of a stated capacity")


def against_stated(name: str, action: float, kind: str, stated: Stated) -> Check:
    """A load, 'factored' or 'unfactored', against a stated capacity in the same unit.

    Raises ValueError where the kinds do not match. A factored load against a working load counts safety twice, and what is made up to even it out (capacities times 1.5, say) is nobody's
    statement; an unfactored load against a design resistance has no safety on the load at all.
    """
    refuse_negative(action=action)
    one_of(kind, tuple(PARTNER.values()), "kind of load")
    if kind != PARTNER[stated.basis]:
        raise ValueError(f"{name}: a {kind} load cannot be set against a {stated.basis}; give the {PARTNER[stated.basis]} load, or ask the supplier for the other kind of capacity")
    words = f"{kind} load {action:.0f} against the {stated.basis} of {stated.value:.0f} {stated.unit} that the supplier states ({stated.conditions})"
    return Check(name, action, stated.value, stated.unit, 1.0, words)
