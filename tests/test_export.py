"""Tables and fields for other programs, and whether the numbers in them agree with each other and with equilibrium."""

import csv
import json
import xml.etree.ElementTree as ET

import meshio
import numpy as np
import pytest
from build import DRIVE, SAND, WATER, soil, table, toml

from fesoil import read_result
from fesoil.cli import main
from fesoil.solve.actions import OUTWARD, actions, face_areas, face_material
from fesoil.solve.system import make_base

STAGES = [
    DRIVE | {"load": ["plant"]}, {"name": "first", "dig": {"wall": -1.0}}, {"name": "lock", "fit": ["frame"], "lock": ["frame"]},
    {"name": "deep", "dig": {"wall": -3.0}, "water": {"wall": -3.0}, "strength_reduction": {"largest": 1.15}}, {"name": "slab, cast", "cast": ["slab"]},
]  # fmt: skip
TABLES = table(
    STAGES, frames=[{"name": "frame", "between": ["wall", "axis"], "level": -0.5, "stiffness": 2e4}], water={"outside": -1.5}, section={"element_size": 0.5},
    slabs=[{"name": "slab", "between": ["wall", "axis"], "top_level": -2.7, "thickness": 0.3, "E": 1e7}],
    loads=[{"name": "plant", "from": 3.0, "to": 6.0, "pressure": 10.0}], soils=[soil(SAND, name="sand, silty")],
)  # fmt: skip


@pytest.fixture(scope="module")
def out(tmp_path_factory):
    path = tmp_path_factory.mktemp("export")
    (path / "case.toml").write_text(toml(TABLES))
    assert main(["run", str(path / "case.toml"), "--out", str(path / "out"), "--no-pictures", "--quiet"]) == 0
    return path / "out"


@pytest.fixture(scope="module")
def result(out):
    return read_result(out)


@pytest.fixture(scope="module")
def summary(out):
    return json.loads((out / "summary.json").read_text())


def rows(path):
    with open(path, newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def column(table, name):
    return np.array([float(row[name]) for row in table])


def test_headers_carry_units(out):
    heads = {p.name: p.read_text(encoding="utf-8").splitlines()[0].split(",") for p in out.glob("*.csv")}
    assert heads["walls.csv"] == ["stage", "wall", "level [m]", "deflection [mm]", "moment [kN m/m]", "shear [kN/m]", "axial [kN/m]"]
    assert heads["frames.csv"] == ["stage", "frame", "load [kN/m]"]
    assert heads["surface.csv"] == ["stage", "side", "distance [m]", "settlement [mm]", "towards the dig [mm]"]


def test_walls_table_has_two_rows_for_each_piece_from_the_top_down(out, result):
    found = rows(out / "walls.csv")
    pieces = (result.mesh.segment_levels[:, 1] > -7 - 1e-6).sum()
    for i, name in enumerate(result.stage_names, 1):
        part = [row for row in found if row["stage"] == f"{i} {name}"]
        assert len(part) == 2 * pieces
        assert np.all(np.diff(column(part, "level [m]")) <= 1e-9)
        line = result.wall("wall").lines[i - 1]
        assert column(part, "deflection [mm]") == pytest.approx(1e3 * line.deflection, rel=1e-5, abs=1e-12)
        assert column(part, "moment [kN m/m]") == pytest.approx(line.moment, rel=1e-5, abs=1e-12)


def test_frames_table_lists_what_bears(out, result):
    found = {(row["stage"], row["frame"]): float(row["load [kN/m]"]) for row in rows(out / "frames.csv")}
    assert set(found) == {("3 lock", "frame"), ("4 deep", "frame"), ("5 slab, cast", "frame"), ("5 slab, cast", "slab")}
    assert found["4 deep", "frame"] == pytest.approx(result.frames["frame"][3], rel=1e-5)


def test_surface_table_starts_at_the_wall_and_ends_at_the_boundary(out, result):
    part = [row for row in rows(out / "surface.csv") if row["stage"] == "4 deep"]
    x = column(part, "distance [m]")
    assert {row["side"] for row in part} == {"right"}
    assert x[0] == 0.0 and x[-1] == pytest.approx(12.0) and np.all(np.diff(x) > 0)
    assert column(part, "settlement [mm]") == pytest.approx(1e3 * result.settlement("right").settlement[3], rel=1e-5, abs=1e-12)


def test_settlement_is_positive_down_and_movement_positive_towards_the_dig(result):
    """Beside a dig the ground goes down and towards it; the node of the surface at the outer face moves with the wall to within the joint's give."""
    trough = result.settlement("right")
    assert trough.settlement[3].max() > 0.5e-3 and trough.horizontal[3].max() > 0.5e-3
    assert result.wall("wall").lines[3].deflection.max() > 0.5e-3
    assert result.heave(4) > 0.5e-3


def test_fields_open_elsewhere(out, result):
    files = sorted(out.glob("fields/*.vtu"))
    assert [f.name for f in files] == [f"stage-{i:02d}.vtu" for i in range(6)]
    for index, path in enumerate(files):
        mesh = meshio.read(path)
        assert [block.type for block in mesh.cells] == ["triangle6"]
        field = result.field(index)
        assert len(mesh.cells[0].data) == len(field.triangles)
        assert mesh.points[mesh.cells[0].data][..., :2] == pytest.approx(field.points[field.triangles])
        assert mesh.point_data["displacement [m]"][mesh.cells[0].data][..., :2] == pytest.approx(field.displacement[field.triangles])
        assert set(mesh.cell_data) == {
            "effective stress xx yy zz xy [kPa]", "pore pressure [kPa]", "excess pore pressure [kPa]", "share of strength", "share of points at yield", "stiffness left", "shear strain", "soil",
        }  # fmt: skip
        assert all(np.isfinite(values[0]).all() for values in mesh.cell_data.values())
    assert len(meshio.read(files[4]).cells[0].data) < len(meshio.read(files[0]).cells[0].data)  # dug ground is gone


def test_fields_hold_stress_and_pore_pressure_of_the_start(out):
    """At rest: sigma'_v from the column above, K0 = 0.5, u hydrostatic below -1.5 (a triangle across the table is left out)."""
    mesh = meshio.read(out / "fields" / "stage-00.vtu")
    cells = mesh.cells[0].data
    y = mesh.points[cells[:, :3]].mean(axis=1)[:, 1]
    stress, pore = (mesh.cell_data[k][0] for k in ("effective stress xx yy zz xy [kPa]", "pore pressure [kPa]"))
    wet = mesh.points[cells][:, :, 1].max(axis=1) < -2.5
    vertical = 18 * 1.5 + (20 - WATER) * (-1.5 - y)
    assert wet.sum() > 50
    assert -stress[wet, 1] == pytest.approx(vertical[wet], rel=0.02)  # the kink of the table spreads a little
    assert -stress[wet, 0] == pytest.approx(0.5 * vertical[wet], rel=0.02)
    assert pore[wet] == pytest.approx(WATER * (-1.5 - y[wet]), rel=1e-6)


def test_collection_lists_all_stages_in_order(out):
    sets = ET.parse(out / "fields" / "stages.pvd").getroot().findall("./Collection/DataSet")
    assert [(float(s.get("timestep")), s.get("file")) for s in sets] == [(i, f"stage-{i:02d}.vtu") for i in range(6)]
    assert all((out / "fields" / s.get("file")).exists() for s in sets)


def test_summary_has_its_keys(summary):
    assert {"title", "fesoil_version", "case_sha256", "mesh", "stages", "wall_seconds"} <= set(summary)
    assert {"nodes", "triangles", "min_angle_deg"} <= set(summary["mesh"]) and summary["title"] == "test" and len(summary["case_sha256"]) == 64
    assert [s["name"] for s in summary["stages"]] == [s["name"] for s in STAGES]
    for stage in summary["stages"]:
        assert stage["converged"] is True and stage["equilibrium_error"] < 1e-4 and isinstance(stage["iterations"], int)
        assert {"max_deflection_mm", "max_deflection_level_m", "max_moment_kNm_per_m", "max_shear_kN_per_m", "toe_level_m"} <= set(stage["walls"]["wall"])
        assert {"max_settlement_mm", "max_settlement_distance_m", "base_heave_mm"} <= set(stage["ground"])
        assert all(set(frame) >= {"load_kN_per_m"} for frame in stage["frames"].values())
    assert [("safety_factor" in s) for s in summary["stages"]] == [False, False, False, True, False]
    assert 1 <= summary["stages"][3]["safety_factor"] <= 1.15
    assert summary["wall_seconds"] > 0


def test_summary_agrees_with_the_tables(out, summary):
    walls, surface = rows(out / "walls.csv"), rows(out / "surface.csv")
    for i, stage in enumerate(summary["stages"], 1):
        part = [row for row in walls if row["stage"] == f"{i} {stage['name']}"]
        said, deflection, level = stage["walls"]["wall"], column(part, "deflection [mm]"), column(part, "level [m]")
        worst = np.argmax(np.abs(deflection))
        assert said["max_deflection_mm"] == pytest.approx(deflection[worst], rel=1e-5, abs=1e-12)
        assert said["max_deflection_level_m"] == pytest.approx(level[worst], rel=1e-5)  # six digits in the table
        assert said["max_moment_kNm_per_m"] == pytest.approx(np.abs(column(part, "moment [kN m/m]")).max(), rel=1e-5, abs=1e-12)
        assert said["max_shear_kN_per_m"] == pytest.approx(np.abs(column(part, "shear [kN/m]")).max(), rel=1e-5, abs=1e-12)
        assert said["toe_level_m"] == -7.0
        trough = [row for row in surface if row["stage"] == f"{i} {stage['name']}"]
        assert stage["ground"]["max_settlement_mm"] == pytest.approx(column(trough, "settlement [mm]").max(), rel=1e-5, abs=1e-12)


# consistency of the wall's line


def test_shear_is_the_slope_of_the_moment(result):
    """Within a piece the moment is linear and the shear constant as far as equilibrium goes: no couple acts along a wall, so dM/ds = V for the
    integrals. Held to 2 % of the largest shear: the pieces carry V linear and M linear, exact only on average."""
    for index in (2, 4):
        line = result.wall("wall").lines[index - 1]
        level, moment, shear = (v.reshape(-1, 2) for v in (line.level, line.moment, line.shear))
        slope = np.diff(moment, axis=1)[:, 0] / -np.diff(level, axis=1)[:, 0]  # with depth
        assert slope == pytest.approx(shear.mean(axis=1), abs=0.02 * np.abs(shear).max())


def test_moment_and_shear_vanish_at_the_ends(result):
    """Free ends; the values carried on from the integration points miss zero by what a piece's load varies: 3 % of the largest."""
    line = result.wall("wall").lines[3]
    assert abs(line.moment[0]) < 0.03 * np.abs(line.moment).max() and abs(line.moment[-1]) < 0.03 * np.abs(line.moment).max()


def pushes(result, index):
    """Forces towards positive x (k, 3) at the nodes of the standing pieces from soil and water on both faces, and the levels of these nodes."""
    mesh, state = result.mesh, result.states[index]
    acting = actions(result.case, make_base(mesh), result.situations[index], result.states[index].head)
    push = np.zeros((len(mesh.segments), 3))
    for face in (0, 1):
        soil_there = face_material(mesh, acting.material, face) >= 0
        pressure = acting.face_pore[:, face] - np.where(soil_there[:, None], state.traction[:, face, :, 0], 0.0)
        push -= OUTWARD[face, 0] * pressure * face_areas(mesh)
    return push[acting.standing], mesh.wall_points[mesh.segments[acting.standing], 1] + mesh.origin[1]


def test_the_wall_is_in_balance_under_soil_water_and_frame(result):
    """Sum of everything across the wall, from tractions, pressures and the frame's load: within the residual that a stage may keep (1e-4 of the norm of
    nodal weights, some 1e2 kN/m, over a few dozen nodes)."""
    push, _ = pushes(result, 4)
    frame = result.frames["frame"][3]
    assert frame > 5 and np.abs(push).sum() > 2 * frame
    assert push.sum() + frame == pytest.approx(0.0, abs=0.2)


def test_moment_agrees_with_statics(result):
    """Moment at a level from all that acts above it, lever by lever. What pushes right (away from the dig) above a cut puts the left, dug face into
    tension below a prop. A piece carries its moment linearly; the load q on its length h bends it by q h^2 / 8
    more or less (the moment of a simple span)."""
    push, level = pushes(result, 4)
    line = result.wall("wall").lines[3]
    bottom, moment = line.level.reshape(-1, 2)[:, 1], line.moment.reshape(-1, 2)[:, 1]
    length = -np.diff(line.level.reshape(-1, 2), axis=1)[:, 0]
    bulge = np.max(np.abs(push.sum(axis=1)) * length) / 8
    assert bulge < 0.1 * np.abs(moment).max()
    statics = []
    for k, y in enumerate(bottom):
        above = np.arange(len(bottom)) <= k
        statics.append((push * (level - y))[above].sum() + result.frames["frame"][3] * max(-0.5 - y, 0.0))
    assert moment == pytest.approx(np.array(statics), abs=bulge)
