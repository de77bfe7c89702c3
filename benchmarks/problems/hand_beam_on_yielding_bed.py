"""The endless beam of the simple method on springs that yield at a limit: movement and moment under the load, and a load beyond what a short beam's springs can bear."""

from __future__ import annotations

import numpy as np
from scipy.optimize import brentq

from benchmarks import sketch
from benchmarks.beams import draw_bed
from benchmarks.problem import Answer, Graph, Problem, Row
from benchmarks.problems.beam_on_yielding_bed import K, LIMIT, exact
from benchmarks.problems.hand_beam_on_bed import ENDLESS, on_bed
from fesoil.hand.springs import NoBalance

USUAL, SHORT = 0.25, 4.0
"""Usual piece, and length of the short beam [m]."""

REASON = "the end of the yielded length falls within an interval of a third of a piece: 0.05 % with pieces of 0.25 m, in proportion to the piece elsewhere"

AT_THE_LIMIT = "limit on all of the beam; the load is found to 1e-4 of it, and just below it the beam has to move far for the last spring to yield: 0.05 %"


def greatest_load(place) -> float:
    """Load [kN/m] up to which balance is found on the short beam, by halving, between half and twice what one half of it bears."""

    def held(load):
        try:
            on_bed(SHORT, USUAL, place, K, load, LIMIT)
        except NoBalance:
            return -1.0
        return 1.0

    return brentq(held, 0.2 * LIMIT * SHORT, 2 * LIMIT * SHORT, xtol=1e-4 * LIMIT * SHORT, rtol=1e-4)


def run(piece) -> Answer:
    """``piece``: length of a piece of the beam [m]."""
    rows, high, loads, moved = [], 5e-4 * piece / USUAL, [], []
    for al in (0.5, 1.0, 1.5, 2.0):
        P, w, M = exact(al)
        beam, move, moment = on_bed(ENDLESS, piece, ENDLESS / 2, K, P, LIMIT)
        under = (beam.at([ENDLESS / 2]) @ move)[0]
        label = f"yielded length {2 * al:g}/lambda"
        rows += [Row(f"{label}: movement under the load [m]", w, under, -high, high, REASON), Row(f"{label}: moment there [kN m/m]", M, moment, -high, high, REASON)]
        loads.append(P), moved.append(1e3 * under)
    for name, place, share in (("in the middle", SHORT / 2, 1.0), ("at an end", SHORT, np.sqrt(2) - 1)):
        rows.append(Row(f"beam of 4 m, load {name}: greatest load [kN/m]", share * LIMIT * SHORT, greatest_load(place), -5e-4, 5e-4, AT_THE_LIMIT))
    P, w, _ = np.array([exact(al) for al in np.linspace(0, 2.2, 40)]).T
    return Answer(rows, graph=Graph("Movement under the load [mm]", "Load [kN/m]", (("closed form", [0, *(1e3 * w)], [0, *P]),), (("fesoil", moved, loads),)))


def draw(ax):
    draw_bed(ax)
    sketch.measure(ax, (-3, -3.4), (3, -3.4), "yielded")


PROBLEM = Problem(
    "hand, beam on a bed that yields",
    "Beam EI = 20,000 kN m2/m of the simple method on springs of 10,000 kPa/m that yield at 20 kPa, both ways: endless, and of 4 m loaded until nothing holds it",
    "closed forms computed for the project: the endless beam as in 'beam on a bed that yields'; the short one turns about a point length / sqrt(2) from a load at its end",
    run, (USUAL,), (0.5, USUAL, 0.125), draw,
)  # fmt: skip
