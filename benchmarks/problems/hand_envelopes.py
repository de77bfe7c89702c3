"""Loads of struts from envelopes of apparent pressure beside two worked examples of braced cuts."""

from __future__ import annotations

import numpy as np

from benchmarks import sketch
from benchmarks.problem import Answer, Graph, Problem, Row
from fesoil.hand.envelopes import hinged_loads, sand, stiff_clay

PRINTED = "the example prints its steps to four or five digits"

PRESSURE = 26.95
"""Pressure of the first example [kPa]; its unit weight follows from it, and the places of the struts of both from the moments that they print."""


def run(h) -> Answer:
    first = sand(9.0, PRESSURE / (0.65 * 0.271 * 9.0), np.radians(35))
    second = stiff_clay(7.0, 18.0, 35.0, 0.3)
    rows = rows_of("sand", (112.29, 22.46 + 35.93, 71.87), hinged_loads(first, [2, 5, 8])) + rows_of("stiff clay", (54.02, 90.4, 54.02), hinged_loads(second, [1, 3.5, 6]))
    example = ("example, stiff clay", 37.8 * np.array([0, 1, 1, 0]), -7 * np.array([0, 0.25, 0.75, 1]))
    return Answer(rows, graph=Graph("Apparent pressure [kPa]", "Level [m]", (example,), (("fesoil", second.pressure, -second.depth),)))


def rows_of(ground, expected, loads) -> list[Row]:
    """Loads of the three struts, from the top down."""
    return [Row(f"{ground}: strut {name} [kN/m]", *pair, -5e-4, 5e-4, PRINTED) for name, *pair in zip("ABC", expected, loads)]


def draw(ax):
    sketch.box(ax, 3, 7, -9, 0)
    sketch.box(ax, -3, 3, -9, -7)
    sketch.wall(ax, (3, -7), (3, 0))
    for depth in (1, 3.5, 6):
        sketch.arrow(ax, (0, -depth), (3, -depth))
    sketch.measure(ax, (4, -7), (4, 0), "7 m")


PROBLEM = Problem(
    "hand, envelopes", "Struts of a cut of 9 m in sand (35 deg) and of one of 7 m in stiff clay (18 kN/m3, 35 kPa), three levels each",
    "worked examples of a course on braced cuts (re-read), by Peck's envelopes with simple spans", run, (None,), (None,), draw,
)  # fmt: skip
