"""The beam of the simple method on springs that do not yield: Hetenyi's closed forms, and the moment on an elastic half-plane with the slope of springs that the method takes."""

from __future__ import annotations

import numpy as np

from benchmarks import sketch
from benchmarks.beams import draw_bed
from benchmarks.problem import Answer, Graph, Problem, Row
from benchmarks.problems.beam_on_bed import EI, K, L, LAM, P, end_loaded, endless, middle_loaded
from fesoil.hand.springs import Springs, find_balance, make_beam, section_forces
from fesoil.hand.springs_staged import slope_of_ground

ENDLESS = 40.0
"""Length [m] that stands for an endless beam: its ends are nearly twelve times 1 / lambda from the load, and feel less than 1e-5 of it."""

E, NU = 20e3, 0.3
"""Ground of the half-plane [kPa]."""

USUAL = 0.25

REASON = "cubic pieces, springs by Simpson's rule three times in each: 1e-4 with pieces of 0.25 m, by the square of the piece elsewhere; the endless beam is cut off at 1e-5"


def on_bed(length, piece, place, k, load, limit=np.inf):
    """Beam and its freedoms under a load [kN/m] at a depth [m], on springs [kPa/m] that press and pull up to a limit [kPa], and the greatest moment [kN m/m]."""
    nodes = np.linspace(0, length, round(length / piece) + 1)
    beam = make_beam(nodes, np.unique(np.concatenate([nodes, *(nodes[:-1] + share * piece for share in (1 / 3, 2 / 3))])), EI)
    even = np.ones(beam.depth.size)
    bed = Springs(beam.shape, even, beam.length.ravel(), k * even, 0 * even, -limit * even, limit * even)
    move = find_balance(beam, bed, load * beam.at([place])[0], np.zeros(2 * len(nodes)))
    _, moment = section_forces(beam, -bed.press(move).reshape(beam.depth.shape), np.array([place]), np.array([-load]))
    return beam, move, np.abs(moment).max()


def run(piece) -> Answer:
    """``piece``: length of a piece of the beam [m]."""
    beam, wide, M = on_bed(ENDLESS, piece, ENDLESS / 2, K, P)
    _, middle, M_middle = on_bed(L, piece, L / 2, K, P)
    _, end, _ = on_bed(L, piece, L, K, P)
    plane = E / (1 - NU**2)
    c = (2 * EI / plane) ** (1 / 3)
    M_plane = on_bed(ENDLESS, piece, ENDLESS / 2, slope_of_ground(plane, EI), P)[2]
    at_middle, at_ends, moment = middle_loaded()
    at_end, at_other = end_loaded()
    found = [
        ("endless beam: movement under the load [m]", endless(0), (beam.at([ENDLESS / 2]) @ wide)[0]),
        ("endless beam: moment there [kN m/m]", P / (4 * LAM), M),
        ("free beam, load in the middle: movement there [m]", at_middle, middle[len(middle) // 4 * 2]),
        ("free beam, load in the middle: movement of the ends [m]", at_ends, middle[0]),
        ("free beam, load in the middle: moment there [kN m/m]", moment, M_middle),
        ("free beam, load at an end: movement there [m]", at_end, end[-2]),
        ("free beam, load at an end: movement of the other [m]", at_other, end[0]),
        ("endless beam on a half-plane (E = 20 MPa, nu = 0.3): moment under the load [kN m/m]", 2 * P * c / (3 * np.sqrt(3)), M_plane),
    ]
    high, fine = 1e-4 * max(piece / USUAL, 1.0) ** 2, np.linspace(-8, 8, 120)
    places = np.linspace(-8, 8, 33)
    graph = Graph("Distance from the load [m]", "Movement [mm]", (("Hetenyi", fine, 1e3 * endless(fine)),), (("fesoil", places, 1e3 * beam.at(places + ENDLESS / 2) @ wide),))
    return Answer([Row(name, expected, value, -high, high, REASON) for name, expected, value in found], graph=graph)


def draw(ax):
    draw_bed(ax)
    sketch.say(ax, 4, 0.9, "EI")
    sketch.say(ax, 4, -3.2, "springs")


PROBLEM = Problem(
    "hand, beam on a bed", "Beam EI = 20,000 kN m2/m of the simple method on springs of 10,000 kPa/m, load 100 kN/m: endless, and of 6 m with free ends; and on springs for a half-plane",
    "Hetenyi 1946, closed form, and Biot 1937 for the half-plane (both from memory)", run, (USUAL,), (0.5, USUAL, 0.125), draw,
)  # fmt: skip
