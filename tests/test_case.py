"""Reading a sound case: every form of a value, what follows by hand, and what is only warned of."""

import hashlib
import math
import re
import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest
from build import DRIVE, ELASTIC, FRAME, SAND, build
from sample import NESTED, README, SAMPLE
from scipy.interpolate import CubicSpline

from fesoil.case import case_sha256, read_case, read_text, warnings_of
from fesoil.case.frames import frame_forces, frame_stiffness
from fesoil.case.model import Drive, Pressurise, StrengthReduction
from fesoil.case.soil import Stiffness
from fesoil.errors import CaseError


def doubts(text):
    return [str(d) for d in warnings_of(read_text(text)) if not d.is_note]


def test_the_sample_is_read_in_internal_units():
    case = read_text(SAMPLE)
    clay = case.soils[0]
    assert (clay.stiffness.E, clay.stiffness.per_metre_depth) == (9000.0, 1500.0)
    assert clay.strength.friction_angle == pytest.approx(math.radians(27))
    assert (case.walls[0].sheet.EI, case.walls[0].sheet.EA) == (21000.0, 2.6e6)
    assert (case.loads[0].start, case.loads[0].end, case.loads[0].pressure) == (3.0, 8.0, 10.0)
    assert case.water.levels == {"outside": -1.8, "inside": -1.8} and case.water.unit_weight == 9.81


def test_short_forms_stand_for_tables():
    case = read_text(SAMPLE)
    assert case.soils[1].stiffness == Stiffness(E=40000.0)
    assert case.stages[0].drive == {"chamber": Drive(toe=-4.6)}
    assert case.stages[2].pressurise == {"upper": Pressurise(mean_load=30.0)}
    assert case.stages[4].strength_reduction == StrengthReduction()
    assert read_text(SAMPLE.replace("strength_reduction = true", "strength_reduction = false")).stages[4].strength_reduction is None
    assert read_text(NESTED).stages[1].fit == ("top",)


def test_a_level_is_a_number_a_text_or_a_polyline():
    assert read_text(SAMPLE.replace("top_level = -5.0", 'top_level = "-500 cm"')).layers[1].top == ((0.0, -5.0),)
    stepped = read_text(SAMPLE.replace("top_level = -5.0", "top_level = [[0, -5], [2.3, -5], [2.3, -6]]"))
    assert stepped.layers[1].top == ((0.0, -5.0), (2.3, -5.0), (2.3, -6.0))


def test_per_metre_depth_needs_no_second_per_metre():
    assert read_text(SAMPLE.replace('"1.5 MPa/m"', '"1.5 MPa"')) == read_text(SAMPLE)


def test_water_may_name_its_unit_weight_beside_the_levels():
    case = read_text(SAMPLE.replace("[water]", '[water]\nunit_weight = "10 kN/m3"'))
    assert case.water.unit_weight == 10.0 and "unit_weight" not in case.water.levels


def test_a_file_is_read_whatever_its_line_ends_and_its_mark(tmp_path):
    path = tmp_path / "case.toml"
    path.write_bytes(b"\xef\xbb\xbf" + SAMPLE.replace("\n", "\r\n").encode())
    assert read_case(path) == read_text(SAMPLE)
    assert case_sha256(path) == hashlib.sha256(path.read_bytes()).hexdigest()


def test_the_samples_have_no_doubts():
    assert doubts(SAMPLE) == []


def test_what_the_page_says_by_hand_is_what_is_computed():
    case = read_text(SAMPLE)
    forces = frame_forces(case.frames[0], 30.0)
    page = README.read_text(encoding="utf-8")
    assert f"= {forces['moment']:.0f} kN m at mid-span" in page and f"= {forces['axial']:.0f} kN in each leg" in page


def test_rigid_corners_share_the_moment():
    frame = read_text(SAMPLE.replace('"pinned"', '"rigid"')).frames[0]
    assert frame_forces(frame, 30.0)["moment"] == pytest.approx(30 * 4.6**2 / 12)
    oblong = replace(frame, members=replace(frame.members, waling_span=5.0, leg_length=8.0))
    assert frame_forces(oblong, 100.0)["moment"] == pytest.approx(100 / 12 * (125 + 512) / 13)  # the corner governs, 408 kN m


def closed_frame(span, leg, EI, EA, corners, pieces=8):
    """Mean and mid-span inward movement of the side ``span`` [m] of a closed rectangle under 1 kN/m on all sides: a quarter of it in cubic beam elements,
    by symmetry with no rotation in the middle of each side. Independent of the package's formulae."""
    n = 2 * pieces + 1
    points = [(span / 2 * (1 - i / pieces), 0.0) for i in range(pieces)] + [(0.0, leg / 2 * i / pieces) for i in range(pieces + 1)]
    points = np.array(points)  # from the middle of the span to the corner, then up half a leg
    extra = 1 if corners == "pinned" else 0  # a rotation of its own for the leg's end
    K, F = np.zeros((3 * n + extra,) * 2), np.zeros(3 * n + extra)
    for e in range(2 * pieces):
        d = points[e + 1] - points[e]
        L, (c, s) = np.hypot(*d), d / np.hypot(*d)
        a, b = EA / L, EI / L**3
        k = np.array([[a, 0, 0, -a, 0, 0], [0, 12 * b, 6 * b * L, 0, -12 * b, 6 * b * L], [0, 6 * b * L, 4 * b * L * L, 0, -6 * b * L, 2 * b * L * L],
                      [-a, 0, 0, a, 0, 0], [0, -12 * b, -6 * b * L, 0, 12 * b, -6 * b * L], [0, 6 * b * L, 2 * b * L * L, 0, -6 * b * L, 4 * b * L * L]])
        T = np.kron(np.eye(2), [[c, s, 0], [-s, c, 0], [0, 0, 1]])
        load = np.array([0, L / 2, L * L / 12, 0, L / 2, -L * L / 12]) * (-1.0)
        dofs = np.r_[3 * e : 3 * e + 6]
        if extra and e == pieces:
            dofs[2] = 3 * n
        K[np.ix_(dofs, dofs)] += T.T @ k @ T
        F[dofs] += T.T @ load
    held = [0, 2, 3 * (n - 1) + 1, 3 * (n - 1) + 2]
    free = np.setdiff1d(np.arange(len(F)), held)
    u = np.zeros(len(F))
    u[free] = np.linalg.solve(K[np.ix_(free, free)], F[free])
    down = u[1 : 3 * (pieces + 1) : 3]
    x = np.linspace(0, 1, pieces + 1)
    return np.trapezoid(CubicSpline(x, down)(np.linspace(0, 1, 2001)), np.linspace(0, 1, 2001)), down[0]


@pytest.mark.parametrize("corners", ["pinned", "rigid"])
@pytest.mark.parametrize("span, leg", [(5.0, 5.0), (8.0, 4.0), (12.0, 5.0)])
def test_frame_stiffness_is_that_of_a_closed_rectangle(span, leg, corners):
    """Against a frame of cubic beams; the mean is integrated through a spline of nine nodes, so to a thousandth."""
    frame = read_text(SAMPLE).frames[0]
    members = replace(frame.members, waling_span=span, leg_length=leg, EI=30e3, EA=2.4e6, corners=corners, ram=None)
    mean, middle = closed_frame(span, leg, 30e3, 2.4e6, corners)
    assert frame_stiffness(replace(frame, members=members)) == pytest.approx((1 / abs(mean), 1 / abs(middle)), rel=1e-3)


def test_a_side_that_is_pushed_outwards_is_no_spring():
    with pytest.raises(CaseError, match="pushes this short one outwards"):
        read_text(SAMPLE.replace('"pinned"', '"rigid"').replace("waling_span = 4.6", "waling_span = 4").replace("leg_length = 4.6", "leg_length = 8"))


def test_the_frame_stiffness_is_told_by_mean_and_mid_span():
    soft = SAMPLE.replace('EA = "2.3 GN"', 'EA = "900 GN"').replace(', ram = "20 MN/m"', "")
    said = next(str(d) for d in warnings_of(read_text(soft)) if "mid-span" in str(d))
    assert "1.56 times softer" in said
    rigid = next(str(d) for d in warnings_of(read_text(soft.replace('"pinned"', '"rigid"'))) if "mid-span" in str(d))
    assert "1.87" in rigid or "1.88 times" in rigid


@pytest.mark.parametrize("old, new, path, word", [
    ('stiffness = "40 MPa"', 'stiffness = "400 MPa"', 'soils[1] "gravel".stiffness.E', "usual"),
    ("moist = 19, saturated = 20.5", "moist = 9, saturated = 10.5", 'soils[1] "gravel".unit_weight.moist', "usual"),
    ("moist = 17.5, saturated = 18.5", "moist = 17.5, saturated = 10", 'soils[0] "alluvium".unit_weight', "lighter"),
    ('EI = "21 MN m2/m"', 'EI = "210 kN m2/m"', 'walls[0] "chamber".sheet.EI', "slip"),
    ("dilation_angle = 4", "dilation_angle = 8", 'soils[1] "gravel".strength.dilation_angle', "rule"),
    ("at_rest = 0.55", "at_rest = 0.3", 'soils[0] "alluvium".at_rest', "active"),
    ("wall_friction = { angle = 16 }", "wall_friction = { angle = 20 }", 'soils[0] "alluvium".wall_friction.angle', "two thirds"),
    ("wall_friction = { angle = 16 }", "wall_friction = { angle = 16, adhesion = 5 }", 'soils[0] "alluvium".wall_friction.adhesion', "cohesion"),
    ("dig = { chamber = -1.3 }", "dig = { chamber = -2.0 }", '.dig', "before it is locked"),
    ("dig = { chamber = -3.2 }", "dig = { chamber = -5.5 }", '.dig', "toe"),
    ("dig = { chamber = -3.2 }", "dig = { chamber = -4.5 }", '.dig', "water"),
    ('pressurise = { upper = "30 kN/m" }', "", ".lock", "slack"),
    ('"30 kN/m"', '"80 kN/m"', ".pressurise.upper", "capacity"),
    ('moment = "190 kN m"', 'moment = "190 kN m", axial = 60', ".pressurise.upper", "axial"),
    ('moment = "190 kN m"', "load = 25", ".pressurise.upper", "load"),
    ('capacity = {', 'limit_load = 20\ncapacity = {', ".pressurise.upper", "limit_load"),
    ("leg_length = 4.6", "leg_length = 2.3", 'frames[0] "upper".members.leg_length', "apart"),
    ("to = -1.3 }", "to = -3.2 }", ".backfill.chamber", "raise"),
    ("half = true", "half = true\nright = 8", "section.right", "three"),
    ("half = true", "half = true\nbottom_level = -7", "section.bottom_level", "below the deepest"),
    ("to = -1.3 }", "to = -2.5 }", ".remove", "bare wall"),
])
def test_the_unusual_is_told_and_goes_on(old, new, path, word):
    assert old in SAMPLE
    found = doubts(SAMPLE.replace(old, new))
    assert any(path in f and word in f for f in found), found


@pytest.mark.parametrize("gone, path, word", [
    (r"\[water\]\noutside.*\ninside.*|water = \{.*|seepage = .*", "water", "dry"), (r"(un)?load = \[.*", "loads:", "10 kPa"), (r"(un)?load = \[.*",
                                                                                                                  'loads[0] "plant"', "never put on"),
    (r"(remove|extract) = .*", "stages", "still in place"),
])
def test_what_is_left_out_is_told(gone, path, word):
    found = doubts(re.sub(gone, "", SAMPLE))
    assert any(f.startswith(path) and word in f for f in found), found


@pytest.mark.parametrize("old, new, silenced", [
    ('stiffness = "40 MPa"', 'declared = "unusual stiffness"\nstiffness = "400 MPa"', "stiffness.E"),
    ("dig = { chamber = -1.3 }", 'dig = { chamber = -2.0 }\ndeclared = "dig before lock"', "before it is locked"),
    ('remove = ["upper"]', 'remove = ["upper"]\ndeclared = ["unsupported removal"]', "bare wall"),
])
def test_what_is_declared_is_silent(old, new, silenced):
    text = SAMPLE.replace("to = -1.3 }", "to = -2.5 }").replace(old, new)
    assert not any(silenced in d for d in doubts(text))


def test_sheets_through_concrete_and_a_hanging_slab():
    block = '\n[[blocks]]\nname = "footing"\nsoil = "old concrete"\noutline = [[4, -3], [6, -3], [6, -4], [4, -4]]\n\n[water]'
    assert any("footing" in d and "drive" in d for d in doubts(NESTED.replace("\n[water]", block)))
    assert any("hangs" in d for d in doubts(NESTED.replace("top_level = -3.8", "top_level = -3")))


def test_frames_too_close():
    second = SAMPLE.replace("[[loads]]", '[[frames]]\nname = "lower"\nbetween = ["chamber", "axis"]\nlevel = -1.2\nstiffness = 5000\n\n[[loads]]', 1)
    assert any("lower" in d and "0.40 m" in d for d in doubts(second))


@pytest.mark.parametrize("dig, braced, said", [(-3.0, False, False), (-3.1, False, True), (-3.1, True, False)])
def test_a_deep_dig_without_a_frame(dig, braced, said):
    bracing = [{"name": "brace", "dig": {"wall": -1.0}, "fit": ["frame"], "lock": ["frame"]}] if braced else []
    found = [str(d) for d in warnings_of(build([DRIVE, *bracing, {"name": "dig", "dig": {"wall": dig}}], frames=[FRAME])) if "without a frame" in str(d)]
    assert len(found) == said and all(text.startswith('stages[1] "dig".dig: wall \'wall\' holds 3.10 m') for text in found)


@pytest.mark.parametrize("level, soil, said", [(-1.0, SAND, False), (-1.1, SAND, True), (-1.1, ELASTIC, False)])
def test_an_upright_face_without_a_sheet(level, soil, said):
    """At a sheet there is none, whatever the depth; what never yields may stand."""
    stages = [DRIVE, {"name": "trench", "dig": {"wall": -2.5, "everywhere": [[6.0, 0.0], [6.0, level], [7.0, level], [7.0, 0.5]]}}]
    found = [str(d) for d in warnings_of(build(stages, [soil])) if "upright face" in str(d)]
    assert len(found) == 2 * said and all("stands 1.10 m high" in text for text in found)


def test_great_numbers_are_told_as_an_engineer_writes_them():
    found = doubts(SAMPLE.replace('stiffness = "40 MPa"', 'stiffness = "4 GPa"'))
    assert any("4000000 kPa is outside the usual" in text for text in found), found


def test_reading_imports_nothing_heavy():
    code = "import sys, fesoil.case; sys.exit(any(m in sys.modules for m in ('gmsh', 'matplotlib', 'meshio', 'scipy.optimize')))"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
