"""Pictures and tables of water: which stages have them, what they say, and flow nets against closed forms.

Closed forms: flow through squares of a flow net, q = k h (channels / drops) (Darcy; Casagrande 1937, from memory); water at rest; uniform upward flow.
"""

import csv
import os

import numpy as np
import pytest
from matplotlib.figure import Figure
from matplotlib.text import Text

from fesoil.case import steps
from fesoil.case.sequence import situations
from fesoil.mesh import make_mesh
from fesoil.result.export import export
from fesoil.result.lines import WaterLine
from fesoil.show import drawing, style, wall_water, water
from fesoil.show.results import draw_result
from fesoil.solve.analyse import analyse
from fesoil.solve.stages import water_of
from fesoil.solve.system import make_base
from tests.build import DRIVE, ELASTIC, build, soil, wall

WEIGHT = 9.81
WET = soil(ELASTIC, name="wet sand", permeability=1e-4)
GRAVEL = soil(WET, name="gravel", permeability=1.0)
DIG = {"name": "dig", "dig": {"wall": -3.0}}
SEEP = {"name": "pump", "water": {"inside": -3.0}, "seepage": True}
WELL = {"name": "deep wells", "x": 1.0, "from_level": -5.0, "to_level": -8.0}
FINE = {"element_size": 0.5}


def flow(case, index=-1):
    """A situation of a case and its steady seepage."""
    now = situations(case)[index]
    return now, water_of(case, make_base(make_mesh(case)), now)


def upward(**more):
    """Uniform flow through a plug of sand 3 m thick, from gravel 2 m of head above the floor at -3: all of it in the pit, between walls down to the gravel."""
    stages = [{"name": "drive", "drive": {"wall": -6.0}}, DIG, SEEP]
    return build(stages, soils=[WET, GRAVEL], layers=[("wet sand", 0.0), ("gravel", -6.0)], water={"outside": -1.0}, section=FINE, **more)


@pytest.fixture(scope="module")
def pumped():
    """A result with stages without seepage, with it, and with wells."""
    stages = [DRIVE, DIG, SEEP, {"name": "wells", "pump": {"deep wells": -4.0}}]
    walls = [wall(leaks=[{"from_level": -4.0, "to_level": -5.0, "leakage": 1e-6}])]
    return analyse(build(stages, soils=[WET], water={"outside": -1.0}, wells=[WELL], walls=walls))


@pytest.fixture(scope="module")
def drawn(pumped, tmp_path_factory):
    """Words of each picture of the result, by file name."""
    seen, real = {}, style.save

    def save(figure, path):
        seen[os.path.basename(path)] = words(figure)
        return real(figure, path)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(style, "DPI", 30)
        patch.setattr(style, "save", save)
        draw_result(pumped, tmp_path_factory.mktemp("pictures"))
    return seen


def words(figure):
    """All text of a figure in one string."""
    return " ".join(t.get_text().replace("\n", " ") for t in figure.findobj(Text) if t.get_visible())


# flow nets


@pytest.mark.parametrize("outside", [-1.0, 0.0])
def test_channels_over_drops_give_the_discharge(outside):
    """q = k h (channels / drops) in isotropic ground; channels are whole, so within half a channel."""
    case = build([DRIVE, DIG, SEEP], soils=[WET], water={"outside": outside}, section=FINE)
    _, found = flow(case)
    net = water.net_of(case, found)
    q, h = found.out["wall"], outside + 3.0
    assert net.drops * net.step == pytest.approx(h, rel=1e-9)
    assert abs(1e-4 * h * net.channels / net.drops - q) <= 1e-4 * h / net.drops / 2 * 1.001
    assert net.channels * net.each == pytest.approx(q, rel=1e-9)


def test_each_channel_carries_the_same_water():
    """Between two neighbouring flow lines, across the floor of the pit, leaves what one channel carries. Within 3 %: heads at the toe are good to about 1 % on this mesh
    (``test_flow``), and a line cuts elements."""
    case = build([DRIVE, DIG, SEEP], soils=[WET], water={"outside": -1.0}, section={"element_size": 0.25})
    _, found = flow(case)
    net = water.net_of(case, found)
    (x, y) = (found.mesh.points + found.mesh.origin).T
    floor = np.flatnonzero(found.conditions.places["wall"] & (np.abs(y + 3.0) < 1e-6))
    floor = floor[np.argsort(x[floor])]
    at = np.interp(net.flows, *(v[floor][np.argsort(net.stream[floor])] for v in (net.stream, x)))
    gradient = found.exit_gradient("wall")[floor]
    left = np.concatenate([[0.0], np.cumsum(np.diff(x[floor]) * 1e-4 * (gradient[1:] + gradient[:-1]) / 2)])
    carried = np.diff(np.interp(np.sort([0.0, *at, 2.0]), x[floor], left))
    assert len(carried) == net.channels and carried == pytest.approx(np.full(net.channels, net.each), rel=0.03)


def test_uniform_flow_has_level_lines_and_their_heads():
    """One-dimensional: the line of head h lies (3 + h) / (2 / 3) below the floor at -3; the gradient on the floor is 2 / 3."""
    case = upward()
    now, found = flow(case)
    with style.quiet():
        ax = Figure(figsize=(8, 8)).add_subplot()
        net = water.flow_net(ax, case, now, found, water.flow_window(case))
    lines = [line.get_xydata() for line in ax.lines if line.get_color() == water.EQUAL["color"] and line.get_linewidth() == water.EQUAL["linewidth"]]
    inside = [line[line[:, 0] < 1.9] for line in lines if np.any(line[:, 0] < 1.9)]
    expected = -3.0 - (net.heads[(net.heads > -3.0) & (net.heads < -1.01)] + 3.0) * 1.5
    found_levels = sorted({round(float(np.median(line[:, 1])), 2) for line in inside if np.median(line[:, 1]) > -5.9})
    assert found_levels == pytest.approx(sorted(expected[expected > -5.9]), abs=0.02)
    assert "i = 0.67" in {text.get_text() for text in ax.texts}


def test_no_flow_is_said():
    case = build([DRIVE, {"name": "still", "seepage": True}], soils=[WET], water={"outside": -1.0})
    net = water.net_of(case, flow(case)[1])
    assert not len(net.heads) and net.channels == 0
    with style.quiet():
        figure = water.flow_picture(analyse(case), 2)
    assert "No flow" in words(figure) and "free surface" in words(figure)


def test_wells_that_draw_water_have_no_flow_lines():
    stages = [DRIVE, DIG, SEEP, {"name": "wells", "pump": {"deep wells": -4.0}}]
    case = build(stages, soils=[WET], water={"outside": -1.0}, wells=[WELL])
    (_, before), (_, after) = flow(case, 3), flow(case, 4)
    assert not water.in_wells(case, before) and water.in_wells(case, after)
    assert water.net_of(case, before).channels > 0
    net = water.net_of(case, after)
    assert net.stream is None and net.channels == 0 and len(net.heads) > 0


def test_the_free_surface_is_drawn_where_ground_is_dry():
    """Outside, the water table starts 1 m below the surface and falls towards the pit: the line lies between the level outside and that in the pit."""
    case = build([DRIVE, DIG, SEEP], soils=[WET], water={"outside": -1.0}, section=FINE)
    now, found = flow(case)
    with style.quiet():
        ax = Figure(figsize=(8, 8)).add_subplot()
        water.flow_net(ax, case, now, found, water.flow_window(case))
    surface = np.concatenate([line.get_xydata() for line in ax.lines if line.get_label() == water.FREE])
    outside = surface[(surface[:, 0] > 2.01) & np.isfinite(surface[:, 1])]
    order = np.argsort(outside[:, 0])
    assert len(outside) > 5 and -3.0 < outside[:, 1].min() and outside[:, 1].max() < -1.0
    assert np.all(np.diff(outside[order, 1]) > -0.02)


# pictures


def test_every_stage_with_seepage_has_its_picture_and_no_other(drawn):
    assert {name for name in drawn if name.startswith("flow")} == {"flow-03.png", "flow-04.png"}
    assert {name for name in drawn if name.startswith("water")} == {"water-1-wall.png"}


def test_without_seepage_there_are_none(tmp_path, monkeypatch):
    monkeypatch.setattr(style, "DPI", 30)
    result = analyse(build([DRIVE, DIG], soils=[WET], water={"outside": -1.0}))
    assert not [p.name for p in draw_result(result, tmp_path) if p.name.startswith(("flow", "water"))]
    assert wall_water.water_stages(result, "wall") == []


def test_flow_picture_says_what_flows(pumped, drawn):
    told, net = pumped.water[3], water.net_of(pumped.case, pumped.seepage[3])
    said = drawn["flow-03.png"]
    assert "3  pump" in said and f"every {net.step:g} m" in said and "Level [m]" in said and "x [m]" in said
    assert f"{3600 * told.inflow['wall']:.3g} m³/h for each metre run" in said.replace("\n", " ")
    assert f"{net.channels} channels" in said and "wet sand  1·10⁻⁴" in said and "free surface" in said
    gradient = pumped.seepage[3].exit_gradient("wall")
    assert f"i = {np.nanmax(gradient):.2f}" in said
    assert "There are no flow lines" in drawn["flow-04.png"].replace("\n", " ") and "deep wells water −4.00" in drawn["flow-04.png"]


def test_wall_picture_says_the_greatest_net_pressure(pumped, drawn):
    line = pumped.water_on("wall")[2]
    net = line.right - line.left
    assert f"net {np.abs(net).max():.1f} kPa" in drawn["water-1-wall.png"]
    assert "Wall wall" in drawn["water-1-wall.png"] and "3  pump" in drawn["water-1-wall.png"] and "2  dig" not in drawn["water-1-wall.png"]


def test_water_at_rest_on_a_wall_is_a_triangle():
    """Free water 2 m deep on the right, none on the left: 2 gamma_w at its foot."""
    line = WaterLine(np.array([0.0, -2.0]), np.zeros(2), np.array([0.0, 2 * WEIGHT]))
    with style.quiet():
        ax = Figure().add_subplot()
        ax.set(xlim=(-30, 30), ylim=(-3, 1))
        wall_water.water_lines(ax, line)
    assert "net 19.6 kPa\nat −2.00 m" in {text.get_text() for text in ax.texts}


def test_drawing_names_wells_and_leaks(pumped, monkeypatch, tmp_path):
    monkeypatch.setattr(style, "DPI", 30)
    seen = {}
    monkeypatch.setattr(style, "save", lambda figure, path: seen.update({os.path.basename(path): words(figure)}))
    drawing.draw_case(pumped.case, tmp_path)
    assert "deep wells open −5.00 to −8.00 water −4.00" in seen["section.png"] and "leak −4.00 to −5.00" in seen["section.png"]
    assert "water in deep wells kept at −4.00 m" in seen["stages.png"] and "pore pressure by steady seepage from now on" in seen["stages.png"]
    assert "deep wells −4.00" in seen["steps.png"] and "seepage" in seen["steps.png"]


# tables


def test_step_table_says_wells_and_seepage():
    stages = [DRIVE, DIG, SEEP, {"name": "wells", "pump": {"deep wells": -4.0}}, {"name": "off", "shut": ["deep wells"], "seepage": False}]
    case = build(stages, soils=[WET], water={"outside": -1.0}, wells=[WELL])
    rows = steps.step_table(case)
    assert [row["seepage"] for row in rows] == [False, False, False, True, True, False]
    assert [row["wells"] for row in rows] == [{}, {}, {}, {}, {"deep wells": -4.0}, {}]
    assert steps.actions(case, case.stages[3]) == ["water in deep wells kept at -4.00 m"]
    assert steps.actions(case, case.stages[4]) == ["shut deep wells", "pore pressure by levels from now on"]
    text = steps.step_text(case, 200)
    assert "> deep wells -4.00" in text and "deep wells shut" in text and "> seepage" in text and "> levels" in text


def test_a_case_without_wells_or_seepage_has_no_columns_for_them():
    text = steps.step_text(build([DRIVE, DIG], soils=[WET], water={"outside": -1.0}), 200)
    assert "Wells" not in text and "Pore pressure" not in text


def test_water_table_and_heads_are_written(pumped, tmp_path):
    meshio = pytest.importorskip("meshio")
    export(pumped, tmp_path, "0", 1.0)
    with open(tmp_path / "water.csv", newline="", encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if row["stage"] == "3 pump"]
    line = pumped.water_on("wall")[2]
    assert [float(row["level [m]"]) for row in rows] == pytest.approx(line.level, abs=1e-4)
    for face, values in (("left [kPa]", line.left), ("right [kPa]", line.right)):
        assert [float(row[face]) for row in rows] == pytest.approx(values, rel=1e-4, abs=1e-4)
    before, after = (meshio.read(tmp_path / "fields" / f"stage-0{i}.vtu").point_data["head [m]"] for i in (2, 3))
    assert np.isnan(before).all()
    assert np.nanmin(after) == pytest.approx(-3.0, abs=0.01) and np.nanmax(after) == pytest.approx(-1.0, abs=0.05)
