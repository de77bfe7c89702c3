"""The pumped pit in loose sand: the shape of the trough beside records."""

from __future__ import annotations

from benchmarks.pit import LEFT_AT_FOUR, LEFT_AT_TWO, PROFILE, WITHIN, draw, in_sand, inside, moved, run as analysed, trough
from benchmarks.problem import Answer, Graph, Problem
from fesoil.result.records import SETTLEMENT_OVER_WALL


def run(h) -> Answer:
    """``h``: name of a mesh of pit.py."""
    result = analysed(in_sand(h))
    found = moved(result)
    two, four = (v / found.settlement for v in (found.two_depths, found.four_depths))
    rows = [
        inside("settlement over wall movement", found.settlement / found.wall, SETTLEMENT_OVER_WALL, "Long 2001, read at second hand"),
        inside("greatest settlement, dig depths from the wall", found.at / found.depth, WITHIN, "Hsieh and Ou 1998, read at second hand"),
        inside("share of it left at 2 dig depths", two, LEFT_AT_TWO, "Clough and O'Rourke 1990 (from memory): none in sand, a third in stiff clay"),
        inside("share of it left at 4 dig depths", four, LEFT_AT_FOUR, "negligible by Hsieh and Ou 1998: at most what ends their main trough"),
    ]
    distance, shape = PROFILE.T
    records = [(f"records, {ratio:g} at most", distance, ratio * shape) for ratio in SETTLEMENT_OVER_WALL]
    x, y = trough(result)
    graph = Graph("Distance / depth of the dig", "Settlement / wall movement", tuple(records), (("fesoil", x[::3], y[::3]),))
    return Answer(rows, len(result.mesh.triangles), graph)


PROBLEM = Problem(
    "pit, beside records, sand", "The pumped pit of 9 m: settlement over wall movement, and the width of the trough",
    "bands of records; each row has its own source", run, ("2k",), ("2k", "4k"), draw,
)
