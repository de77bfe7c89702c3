"""Pictures of ground that is stiff at small strain, and the shear strains that they show: what is on them, and that nothing lies over anything."""

from __future__ import annotations

import os
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from build import CLAY, DRIVE, SAND, build, soil
from matplotlib.text import Text

from fesoil.mesh import make_mesh
from fesoil.result.lines import Field
from fesoil.result.reading import Result
from fesoil.result.state import Record, blank_state
from fesoil.show import curves, ground, results, style
from fesoil.soils.ground import parts_of

STIFF = {"G0": 6e4, "at_stress": 100, "reference_strain": 4e-4, "strain_at_stress": 100, "curvature": 0.88, "compression_modulus": 5e4}
STIFF_CLAY = {"G0": 2e4, "at_level": 0, "per_metre_depth": 1000, "reference_strain": 6.6e-4, "curvature": 0.736}
STIFF_SAND = soil(SAND, name="stiff sand", stiffness=STIFF)
DIG = {"name": "dig", "dig": {"wall": -2.0}}


@pytest.fixture(autouse=True)
def coarse(monkeypatch):
    """Coarse pictures: the tests look at what is said, not at the dots."""
    monkeypatch.setattr(style, "DPI", 30)


@pytest.fixture
def saved(monkeypatch):
    """Words of each figure at the moment of saving, by file name."""
    seen, real = {}, style.save

    def save(figure, path):
        seen[os.path.basename(path)] = " ".join(t.get_text().replace("\n", " ") for t in figure.findobj(Text) if t.get_visible())
        return real(figure, path)

    monkeypatch.setattr(style, "save", save)
    return seen


def moved(case, gradient, failed=()):
    """A result that was never analysed: no stress, and in every stage the displacements ``gradient`` (2, 2) times place."""
    mesh = make_mesh(case)
    blank = blank_state(mesh)
    blank = replace(blank, stress=np.zeros((len(blank.stress), parts_of(case.soils), 4)))
    after = replace(blank, u=mesh.points @ np.asarray(gradient, float).T)
    names = ["Before the works", *(stage.name for stage in case.stages)]
    loads = {f.name: 0.0 for f in case.frames}
    records = tuple(Record(name, i not in failed, 1.0, 1, 1, 0, 0, 0.0, 0.0, 0.0, loads) for i, name in enumerate(names))
    return Result(case, mesh, (blank, *[after] * len(case.stages)), records, "9.9")


def layered(names, stages=(DRIVE, DIG), **more):
    """Layers of small-strain soils of these names, 1.5 m each, from the top down, over plain sand."""
    soils = [soil(STIFF_SAND, name=name) for name in names]
    layers = [(name, -1.5 * i) for i, name in enumerate(names)]
    return build(stages, soils=[*soils, SAND], layers=[*layers, ("sand", -1.5 * len(names))], **more)


def figure_of(result):
    with style.quiet():
        figure = curves.curves_figure(result, curves.curve_places(result.case, result.field(0)))
        return style.footer(figure, result.case, result.version)


def panels_of(figure):
    return [ax for ax in figure.axes if ax.axison]


SHEAR, SQUASH, TURN, SHRINK = ((0, 2e-3), (0, 0)), ((1e-3, 0), (0, -1e-3)), ((0, -3e-3), (3e-3, 0)), ((-1e-3, 0), (0, -1e-3))


@pytest.mark.parametrize(
    ("gradient", "strain"),
    [(SHEAR, 2e-3), (SQUASH, 2e-3), (((0, 0), (0, -4e-3)), 4e-3), (TURN, 0.0), (SHRINK, 0.0), (np.add(SQUASH, ((0, 1.5e-3), (0, 0))), 2.5e-3)],
    ids=["simple shear", "pure shear", "one-dimensional", "turned", "shrunk", "both"],
)
def test_shear_strain_of_a_known_movement(gradient, strain):
    result = moved(build([DRIVE, DIG]), gradient)
    found = result.shear_strain(2)
    assert found.shape == (len(result.field(2).triangles),) and np.allclose(found, strain, rtol=1e-9, atol=1e-15)
    assert np.all(result.shear_strain(0) == 0)


def test_placed_material_has_no_strain():
    fill = {"name": "fill", "backfill": {"wall": {"soil": "sand", "to": -1.0}}}
    result = moved(build([DRIVE, DIG, fill]), SHEAR)
    data, strain = result.field(3), result.shear_strain(3)
    x, y = data.points[data.triangles[:, :3]].mean(axis=1).T
    filled = (x < 2.0) & (y > -2.0)
    assert filled.any() and np.array_equal(np.isnan(strain), filled) and np.allclose(strain[~filled], 2e-3)


def test_strains_are_counted_by_area_near_the_pit():
    case = layered(["a"])
    corners = np.array([[0, 0], [1, 0], [0, 1]])
    sizes = np.sqrt([2.0, 1.0, 2.0, 0.2, 1.0, 1.0])
    places = np.array([[3.0, -1.0]] * 4 + [[13.0, -1.0], [3.0, -1.0]])  # the fifth is far from the pit
    points = (places[:, None] + 1e-3 * sizes[:, None, None] * corners).reshape(-1, 2)
    none, (mine,) = np.zeros(6), [k for k, s in enumerate(case.soils) if s.name == "a"]
    data = Field(points, np.arange(18).reshape(6, 3), 0 * points, None, none, none, none, none, none, np.full(6, mine))
    strain = np.array([2e-3, 1e-4, 1e-3, 8e-3, 0.5, np.nan])
    assert curves.strains_reached(case, data, strain, mine) == (1e-3, 2e-3, 8e-3)  # areas 1, 2, 2, 0.2 in the order of the strains
    assert curves.strains_reached(case, data, strain, 1 - mine) is None


@pytest.mark.parametrize("n", [1, 2, 3, 4, 5])
def test_a_panel_for_each_small_strain_soil(n):
    names = ["upper", "a soil with a name that is longer than its picture is wide", "lower", "fourth", "fifth"][:n]
    figure = figure_of(moved(layered(names), SHEAR))
    titles = [ax.get_title(loc="left") for ax in panels_of(figure)]
    assert len(titles) == n and titles[::2] == names[::2] and "sand" not in titles
    for i, ax in enumerate(panels_of(figure)):
        assert ax.get_xscale() == "log" and ax.get_xlim() == pytest.approx((1e-4, 10)) and "[%]" in ax.get_xlabel()
        said = " | ".join(t.get_text() for t in ax.texts)
        assert f"at {style.level(-0.75 - 1.5 * i)} m, mean stress p\u2032" in said  # the middle of the layer
        assert "half below 0.2 %" in said and "95 % below 0.2 %" in said and "greatest 0.2 %" in said


def test_curve_and_parts_are_drawn_as_they_are():
    (ax,) = panels_of(figure_of(moved(layered(["a"]), SHEAR)))
    curve, parts, corners = ax.lines[:3]
    assert np.interp(0.04, *curve.get_data()) == pytest.approx(0.5, abs=2e-3)  # the reference strain, in per cent
    assert np.abs(parts.get_ydata() - curve.get_ydata()).max() < 0.15 and np.all(np.diff(parts.get_ydata()) <= 1e-12)
    assert np.allclose(np.interp(corners.get_xdata(), *parts.get_data()), corners.get_ydata(), atol=5e-3)
    marks = [drawn for drawn in ax.lines if drawn.get_marker() in ("o", "s", "D")]
    assert len(marks) == 3 and all(drawn.get_ydata()[0] == pytest.approx(np.interp(0.2, *parts.get_data()), abs=2e-3) for drawn in marks)


def test_undrained_ground_is_told_by_its_total_stress():
    clay = soil(CLAY, name="stiff clay", stiffness=STIFF_CLAY)
    case = build([DRIVE, DIG], soils=[clay], section={"deeper_bottom_level": -13.0})
    (ax,) = panels_of(figure_of(moved(case, SHEAR)))
    assert any("mean stress p " in t.get_text() and "25.5 MPa" in t.get_text() for t in ax.texts)  # 5.5 m below level 0


def test_soil_that_is_only_a_block_or_far_away_has_its_panel():
    block = {"name": "old fill", "soil": "stiff sand", "outline": [[8.0, -4.0], [10.0, -4.0], [10.0, -6.0], [8.0, -6.0]]}
    case = build([DRIVE, DIG], soils=[SAND, STIFF_SAND], blocks=[block])
    (place,) = curves.curve_places(case, moved(case, SHEAR).field(0))
    assert 8 < place.x < 10 and -6 < place.level < -4
    deep = build([DRIVE, DIG], soils=[SAND, STIFF_SAND], layers=[("sand", 0.0), ("stiff sand", -9.5)])
    (ax,) = panels_of(figure_of(moved(deep, SHEAR)))
    assert any("none of it near the pit" in t.get_text() for t in ax.texts) and not any("greatest" in t.get_text() for t in ax.texts)


def test_last_stage_in_equilibrium_counts():
    case = layered(["a"], stages=[DRIVE, DIG, {"name": "too deep", "dig": {"wall": -5.0}}])
    words = " ".join(t.get_text().replace("\n", " ") for t in figure_of(moved(case, SHEAR, failed={3})).findobj(Text))
    assert "after stage 2  dig:" in words and f"stage 3: {style.NO_EQUILIBRIUM}" in words
    words = " ".join(t.get_text() for t in figure_of(moved(case, SHEAR, failed={1, 2, 3})).findobj(Text))
    assert "greatest" not in words and f"stage 1: {style.NO_EQUILIBRIUM}" in words


def test_pictures_of_small_strain_ground_are_written(saved, tmp_path):
    case = layered(["a", "b"])
    names = {path.name for path in results.draw_result(moved(case, SHEAR), tmp_path)}
    assert {"stiffness-01.png", "stiffness-02.png", "stiffness-curves.png", "stage-01.png", "stage-02.png"} <= names
    assert "2  dig" in saved["stiffness-02.png"] and "grey: soil of one stiffness" in saved["stiffness-02.png"]
    assert "Shear stiffness left, G / G\u2080 [\u2013]" in saved["stiffness-02.png"]
    assert "a, b: share of the strength carried by those of the model's parallel parts that yield" in saved["stage-02.png"]
    assert all(style.CAUTION in said and "fesoil 9.9" in said for said in saved.values())


def test_plain_ground_has_neither_picture_nor_words(saved, tmp_path):
    results.draw_result(moved(build([DRIVE, DIG]), SHEAR), tmp_path)
    assert not [name for name in saved if "stiffness" in name] and "parts" not in saved["stage-02.png"]


def test_small_strain_ground_only_as_fill_has_no_curve_to_show(saved, tmp_path):
    fill = {"name": "fill", "backfill": {"wall": {"soil": "stiff sand", "to": -1.0}}}
    case = build([DRIVE, DIG, fill], soils=[SAND, STIFF_SAND])
    results.draw_result(moved(case, SHEAR), tmp_path)
    assert "stiffness-03.png" in saved and "stiffness-curves.png" not in saved


def test_stage_without_equilibrium_says_so_over_its_stiffness(saved, tmp_path):
    results.draw_result(moved(layered(["a"]), SHEAR, failed={2}), tmp_path)
    assert style.NO_EQUILIBRIUM in saved["stiffness-02.png"] and style.NO_EQUILIBRIUM not in saved["stiffness-01.png"]


def test_only_soils_of_one_stiffness_are_grey():
    result = moved(layered(["a", "b"]), SHEAR)
    with style.quiet():
        ax, bar = curves.stiffness_picture(result, 1).axes
    coloured, grey = ax.collections[0], ax.collections[1]
    data = result.field(1)
    top = data.points[data.triangles[:, :3]].mean(axis=1)[:, 1] > -3.0
    plain = [path.vertices[:-1, 1].mean() for path in grey.get_paths()]
    assert 0 < len(coloured.get_array()) <= top.sum() and np.all(np.array(plain) < -3.0)
    assert [t.get_text() for t in bar.get_yticklabels()] == ["0", "0.02", "0.05", "0.1", "0.2", "0.5", "1"]


def boxes(figure):
    """Texts of a figure as drawn, with their extents in pixels, without the lines that lead to them."""
    figure.draw_without_rendering()
    seen = [t for t in figure.findobj(Text) if t.get_text().strip() and t.get_visible()]
    return [(t, Text.get_window_extent(t)) for t in seen]


@pytest.mark.parametrize("n", [1, 3, 4])
@pytest.mark.parametrize("strain", [1e-8, 3e-6, 2e-5, 1e-3, 0.5])
def test_words_lie_on_no_words_no_curve_and_within_the_figure(n, strain, monkeypatch):
    spread = (strain, 1.7 * strain, 8 * strain)
    monkeypatch.setattr(curves, "strains_reached", lambda *_: spread)
    stages = [DRIVE, {**DIG, "name": "dig to the level at which the second frame is to be fitted"}]
    figure = figure_of(moved(layered([f"{i}: sand with a long name, dense" for i in range(n)], stages=stages), SHEAR))
    found = boxes(figure)
    for (one, a), (other, b) in combinations(found, 2):
        assert not (a.x0 < b.x1 and b.x0 < a.x1 and a.y0 < b.y1 and b.y0 < a.y1), (one.get_text(), other.get_text())
    frame = figure.bbox
    assert all(frame.x0 <= b.x0 and b.x1 <= frame.x1 and frame.y0 <= b.y0 and b.y1 <= frame.y1 for _, b in found)
    for ax in panels_of(figure):
        top = ax.transData.transform((1e-3, 1.0))[1]
        assert all(b.y0 > top for t, b in found if t in ax.texts)
        marks = [line.get_xdata()[0] for line in ax.lines if line.get_marker() in ("o", "s", "D")]
        assert len(marks) == 3 and all(0.999e-4 < x < 10.01 for x in marks)
        for line in (line for line in ax.lines if len(line.get_xdata()) == 2):  # what leads to a note meets no note
            x, high = ax.transData.transform(np.column_stack(line.get_data())).max(axis=0)
            assert not any(b.x0 < x < b.x1 and b.y0 < high for t, b in found if t in ax.texts)
    assert all(size >= style.SMALL for size in (t.get_fontsize() for t, _ in found))


def test_note_on_the_share_of_strength_stays_within_its_picture():
    names = ["a stiff sand", "another sand", "and yet another one"]
    figure = ground.stage_picture(moved(layered(names), SHEAR), 2)
    ax = figure.axes[2]
    (note,) = [b for t, b in boxes(figure) if "parallel parts" in t.get_text()]
    frame = ax.get_window_extent()
    assert frame.x0 <= note.x0 and note.x1 <= frame.x1 and "ground stiff at small strain: share" in " ".join(t.get_text() for t in ax.texts)
