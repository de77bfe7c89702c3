"""What all checks share: the outcome that a report prints, the weight of layers, and what is refused."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Check:
    """Outcome of a check: what acts against what resists, both in ``unit``.

    ``required`` is the factor that resistance over action must reach: a lumped factor of safety, or 1 where partial factors are in the two values already.
    ``words`` say what was compared and what the check leaves out.
    """

    name: str
    action: float
    resistance: float
    unit: str
    required: float
    words: str

    @property
    def factor(self) -> float:
        """Resistance over action; infinite where nothing acts."""
        return math.inf if self.action <= 0 else self.resistance / self.action

    @property
    def margin(self) -> float:
        """Resistance less the action times the required factor, in ``unit``."""
        return self.resistance - self.required * self.action

    @property
    def utilisation(self) -> float:
        """Share of the resistance that the action uses, 1 at the limit; 0 where nothing acts, infinite where something acts and nothing resists."""
        if self.action <= 0 and self.resistance >= 0:
            return 0.0
        return math.inf if self.resistance <= 0 else self.required * self.action / self.resistance

    @property
    def holds(self) -> bool:
        """Whether the check is satisfied; never where a value is not a number."""
        return self.utilisation <= 1.0


def refuse_negative(**values) -> None:
    """Raise ValueError for each value, number or array, that is negative or not a number."""
    wrong = [f"{name} must not be negative: {value}" for name, value in values.items() if not np.all(np.asarray(value, float) >= 0)]
    if wrong:
        raise ValueError("; ".join(wrong))


def refuse_zero(**values) -> None:
    """Raise ValueError for each value, number or array, that is not above zero."""
    wrong = [f"{name} must be above zero: {value}" for name, value in values.items() if not np.all(np.asarray(value, float) > 0)]
    if wrong:
        raise ValueError("; ".join(wrong))


def weight(thickness, unit_weight) -> float:
    """Weight of layers [kPa] from their thicknesses [m] and unit weights [kN/m3], arrays (n,) or numbers.

    Raises ValueError where one is negative or the arrays differ in length.
    """
    thickness, unit_weight = np.atleast_1d(thickness).astype(float), np.atleast_1d(unit_weight).astype(float)
    refuse_negative(thickness=thickness, unit_weight=unit_weight)
    if thickness.shape != unit_weight.shape:
        raise ValueError(f"{len(thickness)} thicknesses but {len(unit_weight)} unit weights")
    return float(thickness @ unit_weight)
