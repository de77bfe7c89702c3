"""Tables and fields of a result for other programs: CSV with units in the headers, VTU by stage with a PVD, and ``summary.json``."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np

from fesoil.result.doubts import doubts
from fesoil.result.reading import Result
from fesoil.result.records import beside_records, ground_texts
from fesoil.result.store import DEEPER, atomic, write_json
from fesoil.result.terms import term_texts
from fesoil.result.trust import is_prescribed


def export(result: Result, directory, case_sha256: str, seconds: float) -> None:
    """Write all tables and fields of a result into a directory; those for a deeper rigid base into one within."""
    path = Path(directory)
    (path / "fields").mkdir(exist_ok=True)
    _table(path / "walls.csv", ["stage", "wall", "level [m]", "deflection [mm]", "moment [kN m/m]", "shear [kN/m]", "axial [kN/m]"], _wall_rows(result))
    errors = [] if result.trust is None else ["error by the mesh [kN/m]"]
    _table(path / "frames.csv", ["stage", "frame", "load [kN/m]", *errors], _frame_rows(result))
    _table(path / "surface.csv", ["stage", "side", "distance [m]", "settlement [mm]", "towards the dig [mm]"], _surface_rows(result))
    _table(path / "water.csv", ["stage", "wall", "level [m]", "left [kPa]", "right [kPa]"], _water_rows(result))
    export_fields(result, path / "fields")
    if result.deeper is not None:
        export(result.deeper, path / DEEPER, case_sha256, seconds)
    write_json(path / "summary.json", result.summary() | {"ground": ground_texts(result), "short_and_long_term": term_texts(result), "beside_records": beside_records(result), "doubts": doubts(result), "case_sha256": case_sha256, "wall_seconds": round(seconds, 3)})


def _table(path, header, rows) -> None:
    with atomic(path) as temporary, open(temporary, "w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow(header)
        writer.writerows([value if isinstance(value, str) else f"{0.0 if abs(value) < 1e-9 else value:.6g}" for value in row] for row in rows)


def _labels(result: Result):
    """Number and name of each stage, so that stages of one name stay apart; a stage without equilibrium says so."""
    return [f"{i} {r.name}" + ("" if r.converged else " (no equilibrium)") for i, r in enumerate(result.stages, 1)]


def _wall_rows(result: Result):
    for wall in result.case.walls:
        for label, line in zip(_labels(result), result.wall(wall.name).lines):
            if line is not None:
                for row in zip(line.level, 1e3 * line.deflection, line.moment, line.shear, line.axial):
                    yield (label, wall.name, *row)


def _water_rows(result: Result):
    """Water pressure on both faces of the walls; none in a case without water."""
    for wall in result.case.walls if result.case.water is not None else ():
        for label, line in zip(_labels(result), result.water_on(wall.name)):
            if line is not None:
                for row in zip(line.level, line.left, line.right):
                    yield (label, wall.name, *row)


def _frame_rows(result: Result):
    frames = result.frames
    for i, (label, loads) in enumerate(zip(_labels(result), frames.loads)):
        for name, load in zip(frames.names, loads):
            if np.isfinite(load):
                yield label, name, load, *_frame_error(result, i, name)


def _frame_error(result: Result, i, name):
    """Error bar of a frame's load as the rest of its row, a dash where it has none or is held constant; nothing without companions on other meshes."""
    if result.trust is None:
        return ()
    error = result.trust["stages"][i].get("frames", {}).get(name, {}).get("load_kN_per_m", {})
    return ("-" if error.get("bar") is None or is_prescribed(error) else error["bar"],)


def _surface_rows(result: Result):
    for side in ("right",) if result.case.section.half else ("left", "right"):
        trough = result.settlement(side)
        for label, down, towards in zip(_labels(result), trough.settlement, trough.horizontal):
            for row in zip(trough.distance, 1e3 * down, 1e3 * towards):
                yield (label, side, *row)


def export_fields(result: Result, directory) -> None:
    """One VTU a stage (quadratic triangles) and ``stages.pvd`` that lists them by stage number."""
    import meshio

    path, files = Path(directory), []
    for index, record in enumerate(result.records):
        field = result.field(index)
        used, cells = np.unique(field.triangles, return_inverse=True)
        cells = cells.reshape(-1, 6)
        points = np.column_stack([field.points[used], np.zeros(len(used))])
        moved = np.column_stack([field.displacement[used], np.zeros(len(used))])
        data = {
            "effective stress xx yy zz xy [kPa]": field.stress, "pore pressure [kPa]": field.steady + field.excess,
            "excess pore pressure [kPa]": field.excess,
            "share of strength": field.share_of_strength, "share of points at yield": field.yielded, "stiffness left": field.stiffness_left,
            "shear strain": result.shear_strain(index), "soil": field.material.astype(np.int32),
        }  # fmt: skip
        nodal = {"displacement [m]": moved}
        if any(situation.seepage for situation in result.situations):
            nodal["head [m]"] = result.states[index].head[used]  # nan where it is not by seepage
        if (mechanism := result.mechanism(index)) is not None:
            nodal["failure mechanism"] = np.column_stack([mechanism[used], np.zeros(len(used))])
        mesh = meshio.Mesh(points, [("triangle6", cells)], nodal, {k: [v] for k, v in data.items()})
        name = f"stage-{index:02d}.vtu"
        with atomic(path / name) as temporary:
            mesh.write(temporary, file_format="vtu")
        files.append((index, name, record))
    rows = "\n".join(f'    <DataSet timestep="{index}" part="0" file="{name}"/>' for index, name, _ in files)
    with atomic(path / "stages.pvd") as temporary:
        temporary.write_text(f'<?xml version="1.0"?>\n<VTKFile type="Collection" version="0.1">\n  <Collection>\n{rows}\n  </Collection>\n</VTKFile>\n')
