"""The pit in undrained clay: settlement that comes out too low, said as a band of two depths of the rigid base."""

from __future__ import annotations

from benchmarks.pit import LARGE, LOW_CLAY, NEAR, REQUIRED, draw, in_clay, inside, moved, run as analysed, trough
from benchmarks.problem import Answer, Graph, Problem, Row
from fesoil.result.records import SOFT_CLAY_SHEET_PILES, beside_records

REASON = "lowest of seven sheet-pile cuts in soft clay, 0.9, over five to two: a known defect"


def run(h) -> Answer:
    """``h``: name of a mesh of pit.py."""
    result = analysed(in_clay(h))
    both = {NEAR[1]: result, LARGE[1]: result.deeper}
    ratios = {base: moved(r).settlement / moved(r).wall for base, r in both.items()}
    rows = [inside(f"settlement over wall, rigid base at {base:g}", ratio, LOW_CLAY, REASON) for base, ratio in ratios.items()]
    low, high = sorted(ratios.values())
    said = [s for s in beside_records(result) if f"{low:.2f} to {high:.2f} of the wall's movement" in s and "as a band" in s]
    rows.append(Row("sentences of the output that give both as a band", 1, len(said), 0.0, 0.0, REQUIRED))
    records = [(f"records, {ratio:g}", [0, 1], [ratio, ratio]) for ratio in SOFT_CLAY_SHEET_PILES]
    marks = [(f"rigid base at {base:g} m", *(v[::3] for v in trough(r))) for base, r in both.items()]
    return Answer(rows, len(result.mesh.triangles), Graph("Distance / depth of the dig", "Settlement / wall movement", tuple(records), tuple(marks)))


PROBLEM = Problem(
    "pit, beside records, clay",
    "The pit of 9 m in undrained clay, two depths of the rigid base: low by a factor of two to five against sheet-pile records (seven cuts, 0.91 to 2.65)",
    "appendix of Zhang and Liu 2022, after Long 2001", run, ("1k",), ("4k",), draw,
)
