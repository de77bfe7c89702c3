"""A braced wall stage by stage in limiting equilibrium: loads of its frames and its moments by hand.

Each stage is worked out anew from the pressures then acting; the method knows no stiffness, no preload and no movement. Below the lowest frame the wall is one with a single prop, by
free earth support: it rests on passive pressure down to its least toe, no deeper. Above it there are two rules for what frames carry:

``HINGES``  the wall is hinged at each frame but the topmost, so that spans between frames are simple; nothing is remembered of the stages before.
``HELD``    a frame keeps the load that it had in the last stage in which it was the lowest; what comes later goes to those below. Frames that have not yet been the lowest are found by hinges.

Both are the trade's (common practice, no source). ``HELD`` is for digging deeper: where water or loads press anew on what lies above, frames that are held do not answer, and balance may fail.
A frame bears as soon as it is pressurised or locked, with the load that balance asks for, not that of the jacks; slabs count as frames at their middle; what fill has buried does not count.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from fesoil.case.model import Case
from fesoil.case.sequence import Situation, cofferdams, extent, situations
from fesoil.hand.equilibrium import Balance, NetPressure, balance, cantilever, net_pressure, propped
from fesoil.hand.limits import Choice, NoLimits
from fesoil.hand.pressures import wall_pressures
from fesoil.hand.statics import running, simple_spans
from fesoil.hand.water import STRAIGHT_LINE

HINGES, HELD = "hinges at the frames", "upper loads held"

SLIGHT = 1e-3
"""Pull on a frame [kN/m] that is still none: rounding, where the wall already stands without it."""


@dataclass(frozen=True)
class StageByHand:
    """A wall after a stage: ``index`` and ``name`` of the situation; the ``balance``, None where there is none; ``loads`` [kN/m] by frame or slab; ``toe`` the wall's own [m].

    ``words`` say why there is no balance, or what the method cannot bear out; ``doubt`` what it does not see.
    """

    index: int
    name: str
    toe: float
    balance: Balance | None
    loads: dict[str, float]
    words: str
    doubt: str = ""

    @property
    def stands(self) -> bool:
        """Whether the wall is as deep as the least toe that holds it."""
        return self.balance is not None and self.toe <= self.balance.toe + 1e-6


def supports(case: Case, situation: Situation, wall: str, dig: float) -> dict[str, float]:
    """Levels [m] of the frames and slabs that bear on a wall above the ground before it, which is at level ``dig`` [m], from the top down."""
    frames = {f.name: f.level for f in case.frames if situation.frames.get(f.name) in ("pressurised", "locked") and wall in f.between}
    slabs = {s.name: s.top_level - s.thickness / 2 for s in case.slabs if s.name in situation.slabs and wall in s.between}
    return dict(sorted(((name, y) for name, y in {**frames, **slabs}.items() if y > dig), key=lambda item: -item[1]))


def pit_within(case: Case, situation: Situation, wall: str) -> str:
    """What is to be said of numbers for one wall alone where others stand in the pit before it, the dig between which takes ground from its toe; nothing where none do."""
    given = next(w for w in case.walls if w.name == wall)
    x0, x1 = cofferdams(case)[given.cofferdam or wall]
    within = [w.name for w in case.walls if x0 < w.x < x1 and w.name in situation.toes]
    return f"the pit within ({', '.join(within)}) is not felt: moments and loads may be too small" if within else ""


def staged(case: Case, wall: str, rule=HINGES, water=STRAIGHT_LINE, choice: Choice = Choice(), passive_factor=1.0) -> list[StageByHand]:
    """Loads and moments of a wall after each stage in which it stands and something drives it towards the dig.

    Parameters
    ----------
    rule : str
        ``HINGES`` or ``HELD``.
    water, choice
        As for ``wall_pressures``: the toe that is searched changes the path of the water. It may also be a dictionary of these by index of the situation.
    passive_factor : float
        Divides passive earth pressure.

    Raises
    ------
    ValueError
        The rule or the way of the water is unknown. A stage that cannot be borne out raises nothing: it says so.
    """
    if rule not in (HINGES, HELD):
        raise ValueError(f"rule {rule!r}: it is {HINGES!r} or {HELD!r}")
    found, held = [], {}
    for situation in situations(case):
        if wall not in situation.toes:
            continue

        def net_to(toe, situation=situation, water=water[situation.index] if isinstance(water, dict) else water):
            at = replace(situation, toes={**situation.toes, wall: toe})
            return net_pressure(wall_pressures(case, at, wall, water, choice), passive_factor)

        try:
            net = net_to(situation.toes[wall])
        except NoLimits as error:
            found.append(StageByHand(situation.index, situation.name, situation.toes[wall], None, {}, str(error)))
            continue
        if running(*_driving(net))[0][-1] > 0:
            at = supports(case, situation, wall, net.dig)
            stage = _stage(situation, situation.toes[wall], net_to, at, extent(case)[2], held if rule == HELD else None)
            found.append(replace(stage, doubt=pit_within(case, situation, wall)))
    return found


def _driving(net: NetPressure):
    """Levels and net pressure above the dig."""
    above = net.down_to(net.dig)
    return above.level, above.pressure[:, 0]


def _stage(situation: Situation, toe, net_to, at, lowest, held) -> StageByHand:
    """One stage with supports ``at`` levels by name; ``held`` loads by name, which it brings up to date, or None for hinges."""
    known = None if held is None else [held.get(name) for name in list(at)[:-1]]
    try:
        found = braced(net_to, list(at.values()), lowest, known)
    except ValueError as error:
        return StageByHand(situation.index, situation.name, toe, None, {}, str(error))
    loads = dict(zip(at, found.loads.tolist()))
    if held is not None:
        held.update({name: max(load, 0.0) for name, load in loads.items()})
    pulled = [name for name, load in loads.items() if load < -SLIGHT]
    words = f"{', '.join(pulled)} would have to pull, which frames cannot" if pulled else ""
    return StageByHand(situation.index, situation.name, toe, found, loads, words)


def braced(net_to, levels, lowest, held=None) -> Balance:
    """A wall with frames at levels (k,) [m] from the top down; arguments and errors as for ``equilibrium.propped``.

    ``held`` (k - 1,) loads [kN/m] of the upper frames where they are known; all is found by hinges where one of them is None.
    """
    if not levels:
        return cantilever(net_to, lowest)
    upper = list(levels[:-1])
    if not upper:
        return propped(net_to, levels[0], lowest)
    if held is not None and None not in held:
        return propped(net_to, levels[-1], lowest, tuple(zip(upper, held)))
    below = propped(lambda toe: net_to(toe).below(levels[-1]), levels[-1], lowest)
    net = net_to(below.toe)
    loads = simple_spans(net.level, net.pressure[:, 0], np.array(levels), np.array([net.level[0], *levels[1:]]))
    loads[-1] += below.loads[-1]
    return balance(net, levels, loads, "simple spans hinged at the frames, free earth support below the lowest")


def greatest_loads(stages: list[StageByHand]) -> dict[str, float]:
    """Greatest load [kN/m] of each frame or slab over the stages."""
    return {name: max(s.loads[name] for s in stages if name in s.loads) for name in dict.fromkeys(n for s in stages for n in s.loads)}
