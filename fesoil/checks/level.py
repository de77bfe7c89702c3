"""Levels and times for the site: at which level to act, how long the water takes to rise, how far the wall stands above a flood."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, log

from fesoil.checks.check import Check, refuse_negative, refuse_zero


def time_at_constant_inflow(start, end, area, inflow) -> float:
    """Time [s] in which water rises from a level to another [m] in a pit of plan area [m2] with an inflow [m3/s] that stays as it is; both for each metre run in plane strain.

    The shorter, so the safer of the two estimates; infinite without inflow. Below the dig level the area is that of the pores.
    """
    refuse_negative(inflow=inflow, rise=end - start)
    refuse_zero(area=area)
    return inf if inflow == 0 else area * (end - start) / inflow


def time_at_falling_inflow(start, end, outside, area, inflow) -> float:
    """As ``time_at_constant_inflow``, with an inflow [m3/s] at the first level that falls linearly to nothing where the water is as high as outside [m]: A h / q ln(h / h_end)."""
    refuse_negative(inflow=inflow, rise=end - start)
    refuse_zero(area=area, head=outside - start)
    if inflow == 0 or end >= outside:
        return inf
    head = outside - start
    return area * head / inflow * log(head / (outside - end))


def head_to_act(check: Check, head) -> float:
    """Head [m] at which a check made at another head [m] is just satisfied, where its action is proportional to the head and its resistance constant."""
    refuse_zero(head=head)
    return inf if check.utilisation == 0 else head / check.utilisation


def level_to_act(levels, checks) -> float:
    """Highest level [m] of the outer water (or of the head in an aquifer) at which a check is satisfied.

    Parameters
    ----------
    levels : (float, float)
        Two levels, the lower first [m].
    checks : (Check, Check)
        The check at each; its margin is taken as linear in the level, as it is in steady flow whose free surface does not move and where the level stays above that inside.

    Returns
    -------
    float
        May lie beyond the two levels; infinite where the level does not matter, minus infinite where it does not and the check fails.

    Raises
    ------
    ValueError
        The levels are not in order, or the margin grows with the level.
    """
    (low, high), (first, last) = levels, (check.margin for check in checks)
    refuse_zero(difference_of_levels=high - low)
    if not first >= last:
        raise ValueError(f"the margin grows with the level, from {first} to {last}: there is no highest level")
    if first == last:
        return inf if first >= 0 else -inf
    return low + (high - low) * first / (first - last)


@dataclass(frozen=True)
class Freeboard:
    """Height [m] of the top of a wall above a flood level, negative where it flows over, and the height wanted (waves, wash, settlement)."""

    height: float
    required: float

    @property
    def holds(self) -> bool:
        return self.height >= self.required

    @property
    def words(self) -> str:
        if self.height < 0:
            return f"flood {-self.height:.2f} m above the top of the wall: water flows over"
        return f"top of the wall {self.height:.2f} m above the flood, {self.required:.2f} m wanted"


def freeboard(top, flood, required) -> Freeboard:
    """Freeboard of a wall's top level above a flood level [m]."""
    refuse_negative(required=required)
    return Freeboard(top - flood, required)
