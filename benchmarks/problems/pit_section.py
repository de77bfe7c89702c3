"""The pumped pit in larger sections: how far the boundaries must be."""

from __future__ import annotations

from benchmarks.pit import LARGE, NEAR, REQUIRED, SETTLEMENT_APART, WIDE, draw, in_sand, moved, run as analysed, trough
from benchmarks.problem import Answer, Graph, Problem, Row


def run(h) -> Answer:
    """``h``: name of a mesh of pit.py."""
    near, far = analysed(in_sand(h)), {section: analysed(in_sand(h, section)) for section in (WIDE, LARGE)}
    rows = []
    for section, result in far.items():
        label = "settlement [mm], right {:g}, bottom {:g}".format(*NEAR) + " beside {:g}, {:g}".format(*section)
        expected, found = moved(result).settlement, moved(near).settlement
        rows.append(Row(label, 1e3 * expected, 1e3 * found, -SETTLEMENT_APART, SETTLEMENT_APART, REQUIRED))
    (x, y), (x0, y0) = trough(far[LARGE]), trough(near)
    graph = Graph("Distance / depth of the dig", "Settlement / wall movement", (("largest section", x, y),), (("usual section", x0[::4], y0[::4]),))
    return Answer(rows, len(near.mesh.triangles), graph)


PROBLEM = Problem("pit, size of the section", "The pumped pit of 9 m in larger sections", "the computation itself", run, ("1k",), ("4k",), draw)
