"""Why the analysis and hinges at the frames differ for a wall after a stage, worked out from the results.

A number by hand is brought to that of the analysis in three steps: the water of the analysis in place of the straight line; its ground; its wall, which is continuous over the frames. The middle
one needs no new analysis: the moment of a wall with hinges under the same pressures is that of the analysis less what runs linearly between its values at the frames. The step that does
most towards the difference is the reason. Where it is the ground, forces say on which side: by equilibrium the frames carry what presses above the dig and what below it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fesoil.case.sequence import cofferdams, ground_level
from fesoil.hand.pressures import WallPressures, wall_pressures
from fesoil.hand.staged import supports
from fesoil.hand.statics import force_between
from fesoil.result.earth import EarthLine
from fesoil.result.hand_methods import LOAD, MOMENT_DUG, MOMENT_SOIL, Given
from fesoil.result.lines import WallLine
from fesoil.result.reading import Result

EXPLAINED = 0.5
"""Share of the difference from which the load of the jacks is called its reason (a choice of ours)."""

REMEMBERED = 0.8
"""Share of a number that stood already in an earlier stage from which it is called history, where the method has fallen by as much since (a choice of ours)."""

ARCHED, UNARCHED = 1.5, 1.1
"""Pressure over active from which near frames, and up to which elsewhere, it is called arching (a choice of ours)."""

NEAR_FRAME = 0.5
"""Distance [m] from a frame within which pressure is taken as that at the frame."""


@dataclass(frozen=True)
class Reason:
    """``kind`` by which stages are put together; ``text`` with the figures of one stage."""

    kind: str
    text: str


@dataclass(frozen=True)
class Evidence:
    """A wall after a stage: what the analysis finds (``line``, ``earth``), the limits of the ground in the water of the analysis (``hand``), ``supports`` levels [m] by name from the top down,
    ``side`` -1 or +1 where the dig lies, ``deeper`` lowest level [m] of the ground within the cofferdam where a pit in it is deeper than the dig at the wall, else None."""

    line: WallLine
    earth: EarthLine
    hand: WallPressures
    supports: dict[str, float]
    preload: dict[str, float]
    side: int
    deeper: float | None

    def behind(self, high=np.inf, low=-np.inf) -> tuple[float, float, float]:
        """Force [kN/m] of ground and water on the retained face between two levels, down to the dig: of the analysis, active, at rest."""
        high, low = min(high, self.earth.level[0]), max(low, self.hand.dig)
        face = self.hand.retained
        limits = (float(force_between(face.level, face.water + earth, [high], [low])[0]) for earth in (face.active, face.at_rest))
        return self.earth.force(self.earth.total[self._face(-self.side)], high, low), *limits

    def before(self) -> tuple[float, float]:
        """Force [kN/m] of the ground on the dug face below the dig: of the analysis, passive to the driven toe."""
        face = self.hand.dug
        passive = float(force_between(face.level, face.passive, [self.hand.dig], [self.hand.toe])[0])
        return self.earth.force(self.earth.earth[self._face(self.side)], self.hand.dig), passive

    def friction(self) -> float:
        """Friction over pressure of the ground on the retained face above the dig, 0 where nothing presses."""
        face = self._face(-self.side)
        pressed = self.earth.force(self.earth.earth[face], low=self.hand.dig)
        return self.earth.force(self.earth.friction[face], low=self.hand.dig) / pressed if pressed > 0 else 0.0

    def net_above(self) -> float:
        """Force [kN/m] towards the dig of all that presses on the wall above the dig by the analysis."""
        behind, front = (self.earth.total[self._face(s)] for s in (-self.side, self.side))
        return self.earth.force(behind - front, low=self.hand.dig)

    def at_frames(self) -> tuple[float, float]:
        """Pressure of the analysis over active pressure on the retained face above the dig: near frames, and elsewhere; nan where there is no place of one kind."""
        total, face = self.earth.total[self._face(-self.side)], self.hand.retained
        active = np.interp(-self.earth.level, -face.level, face.water + face.active)
        near = np.any(np.abs(self.earth.level[:, None] - np.array([*self.supports.values()])) < NEAR_FRAME, axis=1)
        above = self.earth.level > self.hand.dig
        shares = [float((total * self.earth.length)[k].sum() / (active * self.earth.length)[k].sum()) if np.any(active[k] > 0) else np.nan for k in (near & above, ~near & above)]
        return shares[0], shares[1]

    @staticmethod
    def _face(side: int) -> int:
        return 0 if side < 0 else 1


def evidence(result: Result, wall: str, stage: int, earth: EarthLine) -> Evidence | None:
    """What there is to reason from; None where the ground beside the wall has no limits by hand."""
    case, situation, reading, water = result.case, result.situations[stage], result.wall(wall), earth.water
    try:
        hand = wall_pressures(case, situation, wall, ((earth.level, water[0]), (earth.level, water[1])))
    except ValueError:
        return None
    sheet = next(w for w in case.walls if w.name == wall)
    x0, x1 = cofferdams(case)[sheet.cofferdam or wall]
    lowest = float(ground_level(case, situation, np.linspace(x0, x1, 201)[1:-1]).min())
    deeper = lowest if lowest < hand.dig - 0.1 else None
    return Evidence(reading.lines[stage - 1], earth, hand, supports(case, situation, wall, hand.dig), situation.preload, reading.side, deeper)


# ---------------------------------------------------------------------------------------------------------------------------------- with hinges


def with_hinges(found: Evidence, numbers: dict[str, float]) -> dict[str, float]:
    """Moments and loads that the wall would have with hinges at its frames but the topmost, under the pressures of the analysis; ``numbers`` of the analysis itself.

    Below the lowest frame the wall is a span down to its toe, so that its moment stays nothing there. The moment with tension on the soil face is that where the analysis has its greatest.
    """
    names, levels = list(found.supports), np.array([*found.supports.values(), found.line.level[-1]])
    if len(names) < 2:
        return numbers
    depth = -found.line.level
    at_frames = np.interp(-levels, depth, found.line.moment)
    at_frames[[0, -1]] = 0.0  # no hinge at the topmost, and no moment at the toe
    moment = found.line.moment - np.interp(depth, -levels, at_frames)
    slope = np.concatenate([[0.0], np.diff(at_frames) / -np.diff(levels)])
    moments = {MOMENT_DUG: max(float(moment.max()), 0.0), MOMENT_SOIL: max(-float(moment[np.argmin(found.line.moment)]), 0.0)}
    return numbers | moments | {LOAD + n: numbers[LOAD + n] - jump for n, jump in zip(names, np.diff(slope)) if LOAD + n in numbers}


# -------------------------------------------------------------------------------------------------------------------------------------- reasons


def reason_for(quantity: str, stage: int, fe: dict[int, Given], hand: dict[int, Given], own: dict[int, Given], found: Evidence) -> Reason:
    """The reason for a moment or the load of a frame in a stage in which both have a number; numbers ``by stage`` of the analysis, by hand, and by hand in its own water."""
    by_fe, by_hand = fe[stage].numbers[quantity], hand[stage].numbers[quantity]
    in_water = own[stage].numbers.get(quantity, by_hand)
    hinged = with_hinges(found, fe[stage].numbers)[quantity]
    more = np.sign(by_fe - by_hand)
    if quantity == MOMENT_SOIL and more > 0 and found.supports and (level := _level_of(found.line)) < found.hand.dig:
        return Reason("clamped", f"the wall is clamped in the ground at {level:.2f} m, below the dig; by hand it rests free on its least toe and has no such moment")
    if more < 0 and (reason := _late(quantity, stage, fe, found)):
        return reason
    steps = {"water": in_water - by_hand, "ground": hinged - in_water, "hinges": by_fe - hinged}
    step = max(steps, key=lambda name: more * steps[name])
    if step == "water":
        return Reason("water", f"water: with that of the finite elements the method itself gives {in_water:.0f} instead of {by_hand:.0f}")
    if step == "hinges":
        return Reason("hinges", f"the wall is continuous over its frames: with hinges there the same pressures would give {round(hinged)} in place of {by_fe:.0f}")
    return _history(quantity, stage, fe, hand, more, bool(found.supports)) or _preload(quantity, fe[stage], hand[stage], found, more) or _ground(quantity, own[stage], fe[stage], found, more)


def _level_of(line: WallLine) -> float:
    """Level [m] of the greatest moment with tension on the soil face."""
    return float(line.level[np.argmin(line.moment)])


def _late(quantity, stage, fe, found: Evidence) -> Reason | None:
    """A frame or slab that bears for the first time: it has what the jacks put in, and no more."""
    if not quantity.startswith(LOAD) or any(quantity in fe[j].numbers for j in fe if j < stage):
        return None
    jacked = found.preload.get(quantity.removeprefix(LOAD), 0.0)
    has = f"it has what the jacks put in, {jacked:.0f} kN/m" if jacked else "it bears only what presses anew from then on"
    return Reason("late", f"it came in when the wall had found its balance without it: {has}")


def _history(quantity, stage, fe, hand, more, braced) -> Reason | None:
    """What stood already in an earlier stage, and has not gone although by hand it has; where no frame bears any more the wall is merely as bent as it was."""
    earlier = [j for j in fe if j < stage and quantity in fe[j].numbers and quantity in hand[j].numbers]
    if more < 0 or not earlier:
        return None
    j = max(earlier, key=lambda k: fe[k].numbers[quantity])
    then, now = fe[j].numbers[quantity], fe[stage].numbers[quantity]
    if then < REMEMBERED * now or (braced and hand[stage].numbers[quantity] > REMEMBERED * hand[j].numbers[quantity]):
        return None
    return Reason("history", f"stage history: {then:.0f} stood in stage {j} ({hand[j].numbers[quantity]:.0f} by hand) and is {now:.0f} still; by hand each stage begins anew")


def _preload(quantity, fe: Given, hand: Given, found: Evidence, more) -> Reason | None:
    """A frame that was jacked to so much more than what the ground asks for by hand that it makes most of the difference: itself for its load, any for a moment."""
    if more < 0:
        return None
    for name in found.supports:
        by_fe, by_hand, jacked = fe.numbers.get(LOAD + name, np.nan), hand.numbers.get(LOAD + name, np.nan), found.preload.get(name, 0.0)
        if (not quantity.startswith(LOAD) or quantity == LOAD + name) and jacked - by_hand > EXPLAINED * (by_fe - by_hand) > 0:
            return Reason("preload", f"preload: {name} was jacked to {jacked:.0f} kN/m, more than the {max(by_hand, 0.0):.0f} that the method asks of it")
    return None


def _ground(quantity, own: Given, fe: Given, found: Evidence, more) -> Reason:
    """Which side of the wall makes the difference: the ground behind it above the dig, or that below the dig."""
    high, low, is_lowest = _span(quantity, found)
    behind, active, rest = found.behind(high, low)
    loads = (sum(v for n, v in g.numbers.items() if n.startswith(LOAD)) for g in (fe, own))
    whole, active_whole, _ = found.behind()
    below = np.subtract(*loads) - (whole - active_whole) if own.numbers and is_lowest else 0.0
    if more * below > more * (behind - active):
        return _below(found, below, more)
    at, between = found.at_frames()
    if more * (behind - active) <= 0 or (at > ARCHED and between < UNARCHED):
        return Reason("arching", f"arching: ground and water behind the wall press with {at:.1f} times the active pressure near frames and {between:.1f} times elsewhere above the dig")
    words = f"ground and water behind the wall {_where(high, low, found)}press with {behind:.0f} kN/m"
    if more < 0:
        return Reason("below active", f"{words}, less than active ({active:.0f}); friction on it is {found.friction():.2f} of the pressure")
    if behind > max(rest, active):
        return Reason("beyond rest", f"{words}, more than at rest ({rest:.0f}; active {active:.0f})")
    return Reason("at rest", f"{words}, {100 * (behind - active) / (rest - active):.0f} % of the way from active ({active:.0f}) to at rest ({rest:.0f})")


def _below(found: Evidence, below, more) -> Reason:
    used, passive = found.before()
    share = f"{100 * used / passive:.0f} % of the passive pressure down to the toe is used" if passive > 0 else "there is no passive pressure"
    if more > 0 and found.deeper is not None:
        return Reason("inner pit", f"the pit within goes down to {found.deeper:.2f} m, which the method does not see: the ground below the dig holds {below:.0f} kN/m less ({share})")
    if more > 0:
        return Reason("passive", f"passive pressure is not reached: {share}, and the ground below the dig holds {below:.0f} kN/m less than the method counts on")
    return Reason("long toe", f"the wall is longer than its least toe: the ground below the dig holds {-below:.0f} kN/m more ({share})")


def _span(quantity, found: Evidence) -> tuple[float, float, bool]:
    """Levels between which pressure goes to a frame, half way to its neighbours, and whether what lies below the dig goes to it as well; all of the wall for a moment, but what overhangs the topmost
    frame for one with tension on the soil face there."""
    name, top = quantity.removeprefix(LOAD), max(found.supports.values(), default=np.inf)
    if quantity == MOMENT_SOIL and _level_of(found.line) > top - NEAR_FRAME:
        return np.inf, top, False
    if not quantity.startswith(LOAD) or name not in found.supports:
        return np.inf, -np.inf, True
    levels = [*found.supports.values()]
    k = list(found.supports).index(name)
    high = (levels[k - 1] + levels[k]) / 2 if k else np.inf
    low = (levels[k] + levels[k + 1]) / 2 if k + 1 < len(levels) else -np.inf
    return high, low, k + 1 == len(levels)


def _where(high, low, found: Evidence) -> str:
    if np.isinf(high) and np.isinf(low):
        return "above the dig "
    return f"from {min(high, found.earth.level[0]):.1f} to {max(low, found.hand.dig):.1f} m "
