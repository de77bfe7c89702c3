"""The pictures and the step table: what must be on them, whatever the names, and how they reach the disk."""

from __future__ import annotations

import math
import os
import subprocess
import sys
from dataclasses import replace
from types import SimpleNamespace

import matplotlib
import numpy as np
import pytest
from matplotlib.figure import Figure
from matplotlib.text import Text

from fesoil.case import model, sequence, steps
from fesoil.case.soil import Soil, Stiffness, Strength, UnitWeight
from fesoil.errors import ResultError
from fesoil.show import drawing, fields, labels, profiles, results, section, sheets, style

ODD = r"wall_$a_{1}$ 50% \frac ^ & #7 " + "very " * 12 + "long"


@pytest.fixture(autouse=True)
def coarse(monkeypatch):
    """Coarse pictures: the tests look at what is said, not at the dots."""
    monkeypatch.setattr(style, "DPI", 30)


def line(level):
    return ((0.0, level),)


def soil(name):
    strength = Strength(effective_cohesion=2.0, friction_angle=math.radians(28))
    weights, stiffness = UnitWeight(moist=17.0, saturated=18.5), Stiffness(E=9000.0)
    return Soil(name=name, unit_weight=weights, stiffness=stiffness, strength=strength)


def make_case(half=True, wall="sheets", frame="frame"):
    """One cofferdam, one frame, dug in two steps, driven twice, its slab cast and its frame taken out."""
    sheet = model.Sheet(EI=21000.0, EA=2.6e6)
    walls = [model.Wall(name=wall, x=3.0, top_level=0.5, sheet=sheet, cofferdam="pit")]
    walls += [] if half else [model.Wall(name="other wall", x=-3.0, top_level=0.5, sheet=sheet, cofferdam="pit")]
    between = (wall, "axis" if half else "other wall")
    stage = model.Stage
    return model.Case(
        title="Mill pit",
        drawing="TW-1",
        section=model.Section(half=half),
        soils=(soil("sand"), soil("clay")),
        layers=(model.Layer(soil="sand", top=line(0.0)), model.Layer(soil="clay", top=line(-3.0))),
        water=model.Water(levels={"outside": -1.0}),
        walls=tuple(walls),
        frames=(model.Frame(name=frame, between=between, level=-0.8, stiffness=20000.0, capacity=model.Capacity(load=150.0, basis="working load")),),
        slabs=(model.Slab(name="slab", between=between, top_level=-3.6, thickness=0.4, E=2e7),),
        loads=(model.Load(name="plant", start=5.0, end=8.0), model.Load(name="crane", start=9.0, end=10.0, pressure=40.0)),
        stages=(
            stage(name="Drive", drive={"pit": model.Drive(toe=-6.0)}, load=("plant",)),
            stage(name="Dig first", dig={"pit": line(-1.3)}),
            stage(name="Brace", fit=(frame,), pressurise={frame: model.Pressurise(mean_load=30.0)}),
            stage(name="Lock", lock=(frame,), drive={"pit": model.Drive(toe=-8.0)}),
            stage(name="Dig to formation", dig={"pit": line(-4.0)}, water={"inside": -4.5}, load=("crane",)),
            stage(name="Slab", cast=("slab",), remove=(frame,), unload=("crane",)),
        ),
    )


def make_result(case, failed=()):
    """A result of smooth invented numbers with the interface that ``draw_result`` reads."""
    walk = sequence.situations(case)
    n, level = len(case.stages), np.linspace(0.5, -6.0, 30)
    shape = np.sin(np.pi * np.linspace(0, 1, 30))
    lines = [
        SimpleNamespace(level=level, deflection=0.002 * (i + 1) * shape, moment=10 * (i + 1) * shape, shear=np.gradient(shape), axial=0 * shape)
        for i in range(n)
    ]
    trough = SimpleNamespace(
        distance=np.linspace(0, 20, 15), settlement=0.001 * np.outer(np.arange(n) + 1, np.linspace(1, 0, 15)), horizontal=np.zeros((n, 15))
    )
    x, y = np.meshgrid(np.linspace(0, 10, 9), np.linspace(-10, 0, 9))
    points = np.column_stack([x.ravel(), y.ravel()])
    quads = np.array(
        [[i + 9 * j, i + 2 + 9 * j, i + 18 + 9 * j, i + 1 + 9 * j, i + 10 + 9 * j, i + 9 + 9 * j] for i in range(0, 8, 2) for j in range(0, 8, 2)]
    )
    ground = SimpleNamespace(
        points=points,
        triangles=quads,
        displacement=0.001 * points,
        share_of_strength=np.linspace(0, 1, len(quads)),
        yielded=np.arange(len(quads)) > 12,
        material=np.zeros(len(quads), int),
    )
    frames = SimpleNamespace(names=[f.name for f in case.frames], loads=np.array([[np.nan], [np.nan], [30.0], [30.0], [80.0], [np.nan]]))
    return SimpleNamespace(
        case=case,
        situations=walk,
        stages=[SimpleNamespace(name=s.name, converged=i not in failed, share=0.5) for i, s in enumerate(case.stages)],
        mechanism=lambda i: None,
        trust=None,
        plus_minus=lambda stage, *path: "",
        stage_summary=lambda i: {"ground": {"side": "right"}},
        version="9.9",
        wall=lambda name: SimpleNamespace(lines=[None, *lines[1:]]),
        frames=frames,
        settlement=lambda side: trough,
        field=lambda i: ground,
    )


def words(figure):
    """All text of a figure in one string, with line breaks as spaces."""
    return " ".join(t.get_text().replace("\n", " ") for t in figure.findobj(Text) if t.get_visible())


@pytest.fixture
def saved(monkeypatch):
    """Words of each figure at the moment of saving, by file name."""
    seen, real = {}, style.save

    def save(figure, path):
        seen[os.path.basename(path)] = words(figure)
        return real(figure, path)

    monkeypatch.setattr(style, "save", save)
    return seen


@pytest.mark.parametrize("half", [True, False])
def test_drawing_names_all_that_is_built(half, saved, tmp_path):
    paths = drawing.draw_case(make_case(half), tmp_path)
    assert [p.name for p in paths] == ["section.png", "plan.png", "stages.png", "steps.png"]
    assert all(p.read_bytes().startswith(b"\x89PNG") for p in paths)
    for part in (
        "sand",
        "clay",
        "sheets",
        "+0.50 to −8.00",
        "8.50 m",
        "frame  −0.80",
        "formation −4.00",
        "plant  10 kPa",
        "crane  40 kPa",
        "pit  6.00 m",
        "x [m]",
        "Level [m]",
    ):
        assert part in saved["section.png"], part
    assert ("axis of symmetry" in saved["section.png"]) is half
    for picture in saved.values():
        assert style.CAUTION in picture and "Mill pit · TW-1" in picture and "fesoil " in picture


def test_every_stage_and_its_actions_are_on_the_sheet(saved, tmp_path):
    case = make_case()
    drawing.draw_case(case, tmp_path)
    for number, stage in enumerate(case.stages, 1):
        assert f"{number}  {stage.name}" in saved["stages.png"] and stage.name in saved["steps.png"]
    assert "pressurise frame to 30 kN/m" in saved["stages.png"] and "drive pit to −8.00 m" in saved["stages.png"]


def test_half_section_is_drawn_from_the_axis_and_mirrored():
    ax = Figure().add_subplot()
    drawing.dimensioned_section(ax, make_case(half=True))
    left, right = ax.get_xlim()
    assert left == -right and ax.get_aspect() == 1.0
    low, high = ax.get_ylim()
    assert low < -8.0 and high > 0.5 and low > -16.0  # zoomed to the pit, not the whole domain


def test_wall_has_one_colour_in_every_picture():
    case = make_case(half=False)
    colours = {w.name: style.wall_colour(case, w.name) for w in case.walls}
    assert len(set(colours.values())) == 2
    ax = Figure().add_subplot()
    section.draw_walls(section.Pen(ax), case, sequence.situations(case)[-1])
    assert {drawn.get_color() for drawn in ax.lines} == set(colours.values())
    figure = profiles.wall_figure(case, "other wall", [None])
    assert colours["other wall"] in {drawn.get_color() for drawn in figure.axes[0].lines}


def test_dig_is_painted_over_the_ground_in_the_order_of_the_work():
    case = make_case()
    for situation in sequence.situations(case):
        x, y = section.ground_line(case, situation, 0.0, 10.0)
        assert y[x < 2.99].max() == y[x < 2.99].min() == steps.dig_levels(case, situation)["pit"] and y[x > 3.01].min() == 0.0


def wall_axes(failed=()):
    level = np.linspace(0, -8, 41)
    bulge = np.exp(-((level + 5.0) ** 2))
    lines = [
        None,
        ("one", level, 3 * bulge, -20 * bulge, 0 * bulge),
        ("two", level, 7 * bulge, -50 * bulge, 0 * bulge),
        ("three", level, 90 * bulge, 5 * bulge, bulge),
    ]
    axes = Figure(figsize=(9, 5)).subplots(1, 3)
    return results.wall_lines(axes, lines, failed=failed)


def test_wall_lines_have_units_and_mark_the_greatest():
    axes = wall_axes()
    assert [ax.get_xlabel().split("\n")[0] for ax in axes] == ["Deflection [mm]", "Bending moment [kN m/m]", "Shear force [kN/m]"]
    assert "dig face" in axes[1].get_xlabel() and "towards the dig" in axes[0].get_xlabel() and axes[0].get_ylabel() == "Level [m]"
    assert axes[0].get_ylim()[0] < axes[0].get_ylim()[1]
    assert any("90.0 mm\nat −5.00 m\nstage 3" == t.get_text() for t in axes[0].texts)


def test_stage_without_equilibrium_is_dashed_and_never_governs():
    axes = wall_axes(failed=(3,))
    assert any(t.get_text().startswith("7.0 mm") for t in axes[0].texts)
    assert all(any(style.NO_EQUILIBRIUM in t.get_text() for t in ax.texts) for ax in axes)
    assert sum(drawn.is_dashed() for drawn in axes[0].lines) == 1


def test_frame_loads_show_each_frame_its_most_and_its_capacity():
    ax = Figure(figsize=(8, 5)).add_subplot()
    loads = [[np.nan, np.nan], [30.0, np.nan], [80.0, 10.0], [70.0, 44.0]]
    results.frame_loads(ax, ["top", "low"], ["a", "b", "c", "d"], loads, capacities=[(100.0, "working load"), None], failed=(3,))
    said = " | ".join(t.get_text() for t in ax.texts)
    assert "top\nmost 80 kN/m, stage 3" in said and "low\nmost 10 kN/m, stage 3" in said  # stage 4 has no equilibrium
    assert "capacity 100 kN/m, working load: top" in said and style.NO_EQUILIBRIUM in said
    assert "[kN/m]" in ax.get_ylabel() and [t.get_text() for t in ax.get_xticklabels()] == ["1  a", "2  b", "3  c", "4  d"] and ax.get_ylim()[1] > 100


def test_settlement_is_drawn_downwards():
    ax = Figure(figsize=(8, 5)).add_subplot()
    x = np.linspace(0, 20, 21)
    curves = [("first", x, 2 * np.exp(-x / 5), 0 * x), ("second", x, 9 * np.exp(-((x - 4) ** 2) / 20), 3 * np.exp(-x / 5))]
    results.settlement_trough(ax, curves, loads=[("house", 6.0, 12.0)])
    low, high = ax.get_ylim()
    assert low > 9 > 0 > high  # positive settlement lies below the ground line
    said = " | ".join(t.get_text() for t in ax.texts)
    assert "9.0 mm at 4.0 m\nsecond" in said and "house" in said and "[mm]" in ax.get_ylabel() and "[m]" in ax.get_xlabel()


@pytest.mark.parametrize("nodes", [3, 6])
@pytest.mark.parametrize("at", ["points", "triangles"])
def test_field_leaves_out_what_is_no_ground(nodes, at):
    ground = make_result(make_case()).field(0)
    triangles = ground.triangles[:, :nodes]
    active = np.arange(len(triangles)) >= 4
    values = np.hypot(*ground.displacement.T) if at == "points" else ground.share_of_strength
    figure = Figure()
    ax = results.field(
        figure.add_subplot(),
        ground.points,
        triangles,
        values,
        label="Movement",
        unit="mm",
        active=active,
        displacement=ground.displacement,
        magnification=50,
    )
    assert figure.axes[1].get_ylabel() == "Movement [mm]" and any("× 50" in t.get_text() for t in ax.texts) and ax.get_aspect() == 1.0
    if at == "triangles":
        assert len(ax.collections[0].get_array()) == active.sum()


def test_outline_follows_edges_of_one_triangle_only():
    edges = fields._boundary(np.array([[0, 1, 2], [1, 3, 2]]))
    assert sorted(map(tuple, edges.tolist())) == [(0, 1), (0, 2), (1, 3), (2, 3)]


@pytest.mark.parametrize("half", [True, False])
def test_result_pictures_say_where_there_was_no_equilibrium(half, saved, tmp_path):
    case = make_case(half)
    paths = results.draw_result(make_result(case, failed={5}), tmp_path)
    assert len(paths) == len(set(paths)) == len(case.walls) + 1 + (1 if half else 2) + len(case.stages)
    failing = [name for name in saved if not name.startswith("stage-") or name == "stage-06.png"]
    assert all(style.NO_EQUILIBRIUM in saved[name] for name in failing)
    assert style.NO_EQUILIBRIUM not in saved["stage-05.png"] and all(style.CAUTION in said and "fesoil 9.9" in said for said in saved.values())


def test_greatest_values_have_their_error_bars(saved, tmp_path):
    case, result = make_case(True), make_result(make_case(True))
    result.trust, result.plus_minus = {"stages": []}, lambda stage, *path: f" \u00b1 {len(path)}.5"
    results.draw_result(result, tmp_path)
    wall = next(said for name, said in saved.items() if name.startswith("wall-1"))
    assert wall.count(" \u00b1 3.5") == 3
    assert " \u00b1 3.5 kN/m" in saved["frames.png"] and " \u00b1 2.5 mm" in saved["settlement-right.png"]
    assert all(("error by the mesh" in said) == (not name.startswith("stage-")) for name, said in saved.items()) and len(saved) > len(case.stages)


def test_odd_names_are_written_as_they_are(tmp_path):
    case = replace(make_case(wall=ODD, frame="$x_{"), title="$\\frac{1}$ 100 % _a^b", drawing="{$}")
    assert drawing.draw_case(case, tmp_path)
    result = make_result(case)
    del result.stages[1:]  # one stage's pictures are enough
    result.frames.loads = result.frames.loads[:1]
    assert results.draw_result(result, tmp_path)
    with matplotlib.rc_context({"text.parse_math": True}):  # nor does it hang on the settings in force
        ax = Figure().add_subplot()
        drawing.dimensioned_section(ax, case)
        ax.figure.canvas.draw()
    assert "$x_{ pressurised 30" in steps.step_text(case)


def test_bare_cases_are_drawn(tmp_path):
    bare = model.Case(title="Bare", soils=(soil("sand"),), layers=(model.Layer(soil="sand", top=line(0.0)),), stages=())
    assert [p.name for p in drawing.draw_case(bare, tmp_path)] == ["section.png", "stages.png", "steps.png"]
    assert "Before the works" in steps.step_text(bare)


def test_half_written_picture_never_takes_the_place_of_a_good_one(tmp_path, monkeypatch):
    target = tmp_path / "deep" / "picture.png"
    style.save(Figure(), target)
    good = target.read_bytes()

    def fails(self, path, **_):
        path.write_bytes(b"half")
        raise OSError("disk full")

    monkeypatch.setattr(Figure, "savefig", fails)
    with pytest.raises(ResultError, match="cannot be written"):
        style.save(Figure(), target)
    assert target.read_bytes() == good and os.listdir(target.parent) == ["picture.png"]


def test_no_figure_stays_open():
    code = "import sys, fesoil.show.drawing, fesoil.show.results; sys.exit('matplotlib.pyplot' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}).returncode == 0


def test_same_case_gives_the_same_bytes(tmp_path):
    first, second = (style.save(drawing.section_figure(make_case()), tmp_path / name).read_bytes() for name in "ab")
    assert first == second


def test_step_table_by_hand():
    rows = steps.step_table(make_case())
    assert [row["step"] for row in rows] == list(range(7)) and rows[0]["name"] == "Before the works"
    assert [row["dig"]["pit"] for row in rows] == [0.0, 0.0, -1.3, -1.3, -1.3, -4.0, -4.0]
    assert [row["toe"].get("sheets") for row in rows] == [None, -6.0, -6.0, -6.0, -8.0, -8.0, -8.0]
    assert [round(row["below_dig"].get("sheets", 0.0), 6) for row in rows] == [0.0, 6.0, 4.7, 4.7, 6.7, 4.0, 4.0]
    assert rows[3]["frames"] == {"frame": ("pressurised", 30.0)} and rows[4]["frames"] == {"frame": ("locked", 30.0)} and rows[6]["frames"] == {}
    assert rows[5]["water"] == {"pit": -4.5, "outside": -1.0} and rows[5]["loads"] == {"plant": 10.0, "crane": 40.0}
    assert ("loads", "plant") in rows[0]["defaults"] and ("loads", "crane") not in rows[0]["defaults"]
    stated = replace(make_case(), loads=(model.Load(name="plant", start=5.0, end=8.0, pressure=10.0), make_case().loads[1]))
    assert ("loads", "plant") not in steps.step_table(stated)[0]["defaults"]  # stated, though it is the very value


def test_step_text_marks_changes_and_defaults():
    text = steps.step_text(make_case())
    assert (
        "plant 10*" in text
        and "crane 40*" not in text
        and "> crane 40" in text
        and "> -4.00" in text
        and "> frame out" in text
        and steps.NOTE in text
    )
    assert max(map(len, text.splitlines())) <= 130
    narrow = steps.step_text(make_case(), width=60)
    assert narrow.count("Dig to formation") == 2  # in both parts of the table


def test_step_text_needs_no_matplotlib():
    code = "import sys, fesoil.case.steps; sys.exit(any(m.startswith('matplotlib') for m in sys.modules))"
    assert subprocess.run([sys.executable, "-c", code], env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}).returncode == 0


def test_spread_keeps_order_and_distance():
    places = style.spread([3.0, 1.0, 1.1, 1.2], 0.5)
    assert np.all(np.diff(np.sort(places)) >= 0.5 - 1e-12) and list(np.argsort(places, kind="stable")) == [1, 2, 3, 0]
    assert places[0] == 3.0 and abs(np.mean(places[1:]) - 1.1) < 1e-12


def test_stage_changes_are_marked():
    case = make_case()
    walk, window = sequence.situations(case), section.pit_window(case)

    def marked(i):
        ax = Figure().add_subplot()
        sheets.mark_changes(ax, case, walk[max(i - 1, 0)], walk[i], window)
        return [drawn for drawn in ax.lines if drawn.get_color() == style.MARKER_PEN]

    assert len(marked(0)) == 0
    assert [list(drawn.get_ydata()) for drawn in marked(4)] == [[-6.0, -8.0], [-0.8, -0.8]]  # only the metres driven now, and the frame


def test_trough_of_a_stage_without_numbers_is_left_out():
    ax = Figure(figsize=(8, 5)).add_subplot()
    x = np.linspace(0, 20, 21)
    none = np.full(21, np.nan)
    results.settlement_trough(ax, [("first", x, 2 * np.exp(-x / 5), 0 * x), ("lost", x, none, none)], failed=(1,))
    assert any(t.get_text().startswith("2.0 mm at 0.0 m") for t in ax.texts)


def drawn_box(text):
    """Extent of a text as drawn, in pixels, without the line that leads to it."""
    text.figure.draw_without_rendering()
    return Text.get_window_extent(text)


def test_notes_lie_on_no_curve_and_within_their_axes():
    ax = Figure(figsize=(6, 4)).add_subplot()
    x = np.linspace(0, 10, 200)
    curves = [(x, np.sin(x)), (x, np.sin(x) + 2)]
    for curve in curves:
        ax.plot(*curve)
    for px, py in ((0.0, 2.0), (10.0, np.sin(10.0)), (7.85, 3.0), (4.7, -1.0)):
        box = drawn_box(labels.write_free(ax, px, py, "12.3 mm at 4.0 m\nthe stage", curves))
        frame = ax.get_window_extent()
        assert frame.x0 <= box.x0 and box.x1 <= frame.x1 and frame.y0 <= box.y0 and box.y1 <= frame.y1
        at = np.concatenate([ax.transData.transform(np.column_stack(c)) for c in curves])
        assert not np.any((at[:, 0] > box.x0) & (at[:, 0] < box.x1) & (at[:, 1] > box.y0) & (at[:, 1] < box.y1))


def test_notes_lie_on_no_other_note():
    ax = Figure(figsize=(6, 4)).add_subplot()
    x = np.linspace(0, 10, 200)
    ax.plot(x, np.sin(x))
    boxes = [drawn_box(labels.write_free(ax, 5.0, np.sin(5.0), f"12.3 mm at 4.0 m\nstage {i}", [(x, np.sin(x))])) for i in range(3)]
    assert not any(a.overlaps(b) for i, a in enumerate(boxes) for b in boxes[:i])


def test_what_is_dashed_is_said_above_the_curves_and_the_key_stays_on_the_page():
    level, name = np.linspace(0, -10, 41), "dig to formation although no frame has been fitted, and far deeper than was meant"
    lines = [(name, level, 9 * np.cos(level / 7), level, level), (name, level, 20 * np.cos(level / 7), level, level)]
    figure = profiles.wall_figure(make_case(), "sheets", lines, failed={1})
    for ax in figure.axes[1:4]:
        told = next(t for t in ax.texts if style.NO_EQUILIBRIUM in t.get_text())
        assert drawn_box(told).y0 >= ax.get_window_extent().y1
    assert all(drawn_box(t).x1 <= figure.bbox.x1 for t in figure.axes[4].texts)


def test_neighbours_hide_no_settlement():
    ax = Figure(figsize=(8, 5)).add_subplot()
    x = np.linspace(0, 20, 21)
    curves = [("first", x, -4 * np.exp(-x / 5), 0 * x), ("second", x, 9 * np.exp(-((x - 4) ** 2) / 20), -6 * np.exp(-x / 5))]
    results.settlement_trough(ax, curves, loads=[("house", 1.0, 12.0), ("crane", 4.0, 8.0), ("depot", 13.0, 90.0)])
    bars = [path for c in ax.collections for path in c.get_paths()]
    assert len(bars) == 3
    lowest = min(path.vertices[:, 1].min() for path in bars)  # in shares of the height
    highest = (ax.transData.transform((0, -6.0)) - ax.transAxes.transform((0, 0)))[1] / ax.get_window_extent().height
    assert highest < lowest < 1


def test_names_of_frames_stay_within_the_wall_sheet():
    case = make_case(frame="a frame with quite a long name")
    figure = profiles.wall_figure(case, "sheets", [None])
    (named,) = [t for t in figure.axes[0].texts if t.get_text().startswith("a frame")]
    box, frame = drawn_box(named), figure.axes[0].get_window_extent()
    assert frame.x0 <= box.x0 and box.x1 <= frame.x1 and "\u22120.80" in named.get_text()


def test_governing_stages_stand_out_on_the_curves_and_in_the_key():
    assert profiles.governing_stages([None, *([("s", np.zeros(2), k * np.ones(2), np.ones(2) / k, 0 * np.ones(2)) for k in (1, 3, 2)])]) == [2, 1, 1]
    widths = [drawn.get_linewidth() for drawn in wall_axes()[0].lines if len(drawn.get_xdata()) == 41]
    assert widths[2] > 2 * widths[0]  # stage 3 deflects most, stage 1 governs nothing
    key = profiles.stage_key(Figure().add_subplot(), ["a", "b"], strong=[1])
    assert key.lines[1].get_linewidth() > 2 * key.lines[0].get_linewidth()


def test_soil_looks_the_same_whatever_the_order_of_the_soils():
    case = make_case()
    turned = replace(case, soils=case.soils[::-1])
    assert [style.soil_style(case, i) for i in (0, 1)] == [style.soil_style(turned, i) for i in (1, 0)]
    assert style.soil_style(case, 0) != style.soil_style(case, 1)


def test_what_is_taken_away_is_crossed_out():
    case = make_case()
    walk = sequence.situations(case)
    ax = Figure().add_subplot()
    sheets.mark_changes(ax, case, walk[5], walk[6], section.pit_window(case))
    crosses = [drawn for drawn in ax.lines if drawn.get_marker() == "x"]
    assert len(crosses) == 2 and list(crosses[0].get_ydata()) == [-0.8, -0.8]  # the frame and the crane


def test_toe_that_stands_on_a_block_is_named_above_it():
    case = make_case()
    base = model.Block(name="old base", soil="clay", outline=((2.0, -8.0), (4.0, -8.0), (4.0, -9.5), (2.0, -9.5)))
    for given, above in ((case, False), (replace(case, blocks=(base,)), True)):
        ax = Figure(figsize=(10, 7)).add_subplot()
        drawing.dimensioned_section(ax, given)
        (named,) = [t for t in ax.texts if t.get_text().startswith("sheets\n")]
        assert (drawn_box(named).y0 > ax.transData.transform((3.0, -8.0))[1]) == above


def test_placed_ground_is_told_from_the_ground_that_was_there():
    case = make_case()
    fill = model.Backfill(soil="sand", to=line(-1.0))
    case = replace(case, stages=(*case.stages, model.Stage(name="Fill", backfill={"pit": fill})))
    points = np.array([[x, y] for y in (-0.5, -2.0, -3.5, -5.0) for x in (0.5, 1.5, 1.0, 4.5, 5.5, 5.0)])
    triangles = np.arange(24).reshape(8, 3)
    walk = sequence.situations(case)
    assert fields.placed(case, walk, points, triangles).tolist() == [False, False, True, False, True, False, False, False]
    assert not fields.placed(case, walk[:1], points, triangles).any()


def test_movement_of_placed_ground_is_left_blank(saved, tmp_path):
    case = make_case()
    fill = model.Backfill(soil="sand", to=line(-1.0))
    case = replace(case, stages=(*case.stages[:5], model.Stage(name="Fill", backfill={"pit": fill})))
    results.draw_result(make_result(case, failed={5}), tmp_path)
    assert "placed material, not shown" in saved["stage-06.png"] and "placed material" not in saved["stage-05.png"]
    assert "no equilibrium beyond 50 % of its load" in saved["stage-06.png"]


def test_faces_that_move_as_one_are_no_outline():
    triangles, points = np.array([[0, 1, 2], [3, 5, 4]]), np.array([[0, 0], [1, 0], [0, 1], [1, 0], [0, 1], [1, 1]], float)
    assert len(fields._boundary(triangles, points)) == 4
    moved = points + np.array([[0.0, 0.0]] * 3 + [[0.1, 0.0]] * 3)
    assert len(fields._boundary(triangles, moved)) == 6


def test_capacity_far_above_the_loads_does_not_press_them_flat():
    ax = Figure(figsize=(8, 5)).add_subplot()
    results.frame_loads(ax, ["top"], ["a", "b"], [[20.0], [30.0]], capacities=[(900.0, "working load")])
    assert ax.get_ylim()[1] < 60 and any("900 kN/m" in t.get_text() and "above" in t.get_text() for t in ax.texts)


def test_type_is_large_enough_at_the_width_of_a_page(monkeypatch, tmp_path):
    seen, real = {}, style.save

    def save(figure, path):
        sizes = [t.get_fontsize() for t in figure.findobj(Text) if t.get_text() and t.get_visible()]
        seen[os.path.basename(path)] = (figure.get_figwidth(), min(sizes))
        return real(figure, path)

    monkeypatch.setattr(style, "save", save)
    case = make_case()
    drawing.draw_case(case, tmp_path)
    results.draw_result(make_result(case), tmp_path)
    assert all(size * min(1.0, style.PAGE / width) >= 7.0 for width, size in seen.values()), seen
