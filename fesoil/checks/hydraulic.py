"""Ground that water flowing upwards lifts or boils: Terzaghi's prism, the two forms of EN 1997-1:2004, the exit gradient, the straight-line path, creep.

All heads are those of plane strain as they come from the flow. In a pit that is square in plan the head under the prism is greater, by about 1.3 in the middle of a side to 1.7 in a
corner (rules of guides, from memory): the caller multiplies the excess head.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fesoil.checks.check import Check, refuse_negative, refuse_zero, weight
from fesoil.checks.factors import PartialFactors


LUMPED = "heave of the prism, lumped factor"
TOTAL = "hydraulic heave, total stress"


def prism_width(depth, pit_width) -> float:
    """Width [m] of the prism that heaves beside a wall: half its depth [m] below the dig (Terzaghi 1943, from memory), never more than the pit is wide [m]."""
    refuse_negative(depth=depth, pit_width=pit_width)
    return min(depth / 2, pit_width)


@dataclass(frozen=True)
class Column:
    """Column of ground beside a wall from the dig level down to a level (that of the toe; in layered ground each contact above it as well).

    Parameters
    ----------
    thickness, unit_weight : array (n,)
        Layers from the dig level down [m], and their total unit weights [kN/m3].
    excess_head : float
        Mean head on the base of the column, over its width, above the level of the water inside [m].
    gamma_w : float
        Unit weight of water [kN/m3].
    surcharge : float
        Effective weight of a filter or slab on the dig level [kPa].
    water : float
        Level of the water inside above the dig level [m], negative below it.

    Raises
    ------
    ValueError
        A thickness, unit weight, head or surcharge is negative or not a number, or the water stands below the base.
    """

    thickness: np.ndarray
    unit_weight: np.ndarray
    excess_head: float
    gamma_w: float = 9.81
    surcharge: float = 0.0
    water: float = 0.0

    def __post_init__(self):
        weight(self.thickness, self.unit_weight)
        refuse_negative(excess_head=self.excess_head, surcharge=self.surcharge, water_above_the_base=self.depth + self.water)
        refuse_zero(gamma_w=self.gamma_w)

    @property
    def depth(self) -> float:
        """Depth of the base below the dig level [m]."""
        return float(np.sum(self.thickness))

    @property
    def total(self) -> float:
        """Total vertical stress on the base [kPa], with the water that stands above the dig level."""
        return weight(self.thickness, self.unit_weight) + self.surcharge + self.gamma_w * max(self.water, 0.0)

    @property
    def hydrostatic(self) -> float:
        """Pressure on the base of water at rest at the level inside [kPa]."""
        return self.gamma_w * (self.depth + self.water)

    @property
    def effective(self) -> float:
        """Effective weight [kPa]: submerged below the water inside."""
        return self.total - self.hydrostatic

    @property
    def seepage(self) -> float:
        """Seepage force on the column, for each square metre of its base [kPa]."""
        return self.gamma_w * self.excess_head


def heave_lumped(column: Column, required: float) -> Check:
    """Effective weight over seepage force: gamma' d / (gamma_w h_m) in one layer (Terzaghi 1943, from memory)."""
    words = f"effective weight {column.effective:.1f} kPa over seepage force {column.seepage:.1f} kPa of a mean excess head of {column.excess_head:.2f} m"
    return Check(LUMPED, column.seepage, column.effective, "kPa", required, words)


def heave_effective(column: Column, factors: PartialFactors) -> Check:
    """EN 1997-1:2004, (2.9b): design seepage force against design submerged weight. The lumped factor need reach destabilising over stabilising factor, 1.5 with 1.35 and 0.9."""
    sizes = f"seepage force {factors.destabilising:g} x {column.seepage:.1f} against submerged weight {factors.stabilising:g} x {column.effective:.1f} kPa"
    words = f"(2.9b), {factors.name}: {sizes}"
    return Check("hydraulic heave, effective stress", factors.destabilising * column.seepage, factors.stabilising * column.effective, "kPa", 1.0, words)


def heave_total(column: Column, factors: PartialFactors) -> Check:
    """EN 1997-1:2004, (2.9a): design pore pressure against design total stress on the base of the column.

    The standard does not say to what part of the pore pressure the factor belongs. Here it is put on the whole pressure, so on its hydrostatic part too, which (2.9b) leaves out on both
    sides: with 1.35 and 0.9 its margin is always smaller, by 0.45 times the water at rest. ``heave_total_excess`` is the other reading.
    """
    pressure = column.hydrostatic + column.seepage
    sizes = f"{factors.destabilising:g} x {pressure:.1f} against total stress {factors.stabilising:g} x {column.total:.1f} kPa"
    words = f"(2.9a), {factors.name}, factor on the whole pore pressure: {sizes}"
    return Check(TOTAL, factors.destabilising * pressure, factors.stabilising * column.total, "kPa", 1.0, words)


def heave_total_excess(column: Column, factors: PartialFactors) -> Check:
    """EN 1997-1:2004, (2.9a), read with the factor on the excess pore pressure only; that on the total stress stays. Lies between ``heave_effective`` and ``heave_total``."""
    pressure = column.hydrostatic + factors.destabilising * column.seepage
    sizes = f"{column.hydrostatic:.1f} + {factors.destabilising:g} x {column.seepage:.1f} against total stress {factors.stabilising:g} x {column.total:.1f} kPa"
    words = f"(2.9a), {factors.name}, factor on the excess pressure only: {sizes}"
    return Check("hydraulic heave, total stress, other reading", pressure, factors.stabilising * column.total, "kPa", 1.0, words)


def critical_gradient(unit_weight, gamma_w=9.81) -> float:
    """Upward gradient at which ground of a saturated unit weight [kN/m3] has no effective stress: gamma' / gamma_w."""
    refuse_negative(unit_weight=unit_weight)
    refuse_zero(gamma_w=gamma_w)
    return unit_weight / gamma_w - 1


def exit_gradient(gradient, unit_weight, required, gamma_w=9.81) -> Check:
    """Upward gradient where water leaves the ground against the critical one of its saturated unit weight [kN/m3]; downward (negative) gradients are none."""
    critical = critical_gradient(unit_weight, gamma_w)
    words = f"gradient {gradient:.3f} against critical {critical:.3f}"
    return Check("exit gradient", float(np.maximum(gradient, 0.0)), critical, "", required, words)


@dataclass(frozen=True)
class StraightLine:
    """Excess head at the toe [m] if the head were lost evenly along the wall, beside the one computed; ``unsafe`` where that is higher."""

    head: float
    computed: float

    @property
    def unsafe(self) -> bool:
        return not self.head >= self.computed

    @property
    def words(self) -> str:
        tail = "unsafe: it is too low, use the computed head" if self.unsafe else "not below the computed head"
        return f"straight-line path {self.head:.2f} m, computed {self.computed:.2f} m: {tail}"


def straight_line(head, inner, outer, computed) -> StraightLine:
    """Rough estimate of the excess head at the toe [m]: head h [m] lost evenly down one face and up the other, h d_i / (d_i + d_o), of the path inside and outside [m].

    It ignores that the flow narrows between two walls, so it is often unsafe: it is set beside the computed mean excess head [m]. Common practice, no source.
    """
    refuse_negative(head=head, inner=inner, outer=outer)
    refuse_zero(path=inner + outer)
    return StraightLine(head * inner / (inner + outer), computed)


def creep_bligh(head, vertical, horizontal, least) -> Check:
    """Length of the path of creep along a contact [m], steep and flat parts alike, over the head [m]; must reach ``least`` (Bligh 1910, from memory)."""
    return _creep("Bligh", head, vertical, horizontal, 1.0, least)


def creep_lane(head, vertical, horizontal, least) -> Check:
    """Weighted length of the path of creep [m], flat parts (under 45 deg) counted by a third, over the head [m]; must reach ``least`` (Lane 1935, from memory)."""
    return _creep("Lane", head, vertical, horizontal, 1 / 3, least)


def _creep(rule, head, vertical, horizontal, share, least) -> Check:
    refuse_negative(head=head, vertical=vertical, horizontal=horizontal)
    refuse_zero(least=least)
    length = vertical + share * horizontal
    words = f"path of {length:.2f} m for a head of {head:.2f} m, {least:g} times the head wanted; a rule of experience"
    return Check(f"creep along a contact, {rule}", head, length, "m", least, words)
