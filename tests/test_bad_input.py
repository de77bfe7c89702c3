"""Every mistake is answered with the key's path and the remedy, and never with a traceback of another kind."""

import pytest

from fesoil.case import read_case, read_text
from fesoil.errors import CaseError
from sample import NESTED, SAMPLE


def faults(text):
    with pytest.raises(CaseError) as caught:
        read_text(text, "invented.toml")
    return [str(f) for f in caught.value.faults]


def changed(base, *pairs):
    for old, new in zip(pairs[::2], pairs[1::2]):
        assert old in base, old
        base = base.replace(old, new, 1)
    return base


def check(found, path, word):
    assert any(f.startswith(path) and word in f for f in found), "\n".join(found)


STAGE = 'stages[{}] "{}"'.format
DIG1, LOCK, DIG2 = STAGE(1, "Dig for the upper frame"), STAGE(3, "Lock the upper frame, drive on, lower the water"), STAGE(4, "Dig to formation")
FIT, DRIVE = STAGE(2, "Fit the upper frame and pressurise its rams"), STAGE(0, "Drive the sheets, plant arrives")
PULL = STAGE(8, "Plant leaves, pull the sheets")
ALLUVIUM, GRAVEL, UPPER, CHAMBER = 'soils[0] "alluvium"', 'soils[1] "gravel"', 'frames[0] "upper"', 'walls[0] "chamber"'
PHI, LOADS = "friction_angle = 27", "from = 3.0\nto = 8.0"

KEYS = [
    ("title = ", "titel = ", "titel", "Did you mean 'title'"),
    ('title = "Quillow Lane inlet chamber"', "", "title", "Add the key"),
    ("half = true", "half = 1", "section.half", "true or false"),
    (PHI, "friction_angel = 27", f"{ALLUVIUM}.strength.friction_angel", "Did you mean 'friction_angle'"),
    (PHI, "friction_angle = 55", f"{ALLUVIUM}.strength.friction_angle", "at most 50 deg"),
    (PHI, "friction_angle = true", f"{ALLUVIUM}.strength.friction_angle", "number"),
    (PHI, "friction_angle = nan", f"{ALLUVIUM}.strength.friction_angle", "finite"),
    (PHI, 'friction_angle = "27"', f"{ALLUVIUM}.strength.friction_angle", "no unit"),
    (PHI, 'friction_angle = "27 kPa"', f"{ALLUVIUM}.strength.friction_angle", "'deg'"),
    (PHI, "friction_angle = 1979-05-27", f"{ALLUVIUM}.strength.friction_angle", "number"),
    ('E = "9 MPa"', "E = 9", f"{ALLUVIUM}.stiffness.E", "bare number is in kPa"),
    ('stiffness = "40 MPa"', 'stiffness = "40 mpa"', f"{GRAVEL}.stiffness.E", "did you mean 'MPa'"),
    ("unit_weight = { moist = 19, saturated = 20.5 }", "unit_weight = 19", f"{GRAVEL}.unit_weight", "saturated"),
    ("moist = 19", "moist = 19000", f"{GRAVEL}.unit_weight.moist", "unit"),
    ("outside = -1.8", "outside = inf", "water.outside", "finite"),
    ("outside = -1.8", "outsid = -1.8", "water", "Did you mean 'outside'"),
    ("outside = -1.8", "left = -1.8", "water", "Known"),
    ("[[frames]]", "[frames]", "frames", "[[frames]]"),
    ("[[soils]]\nname = \"gravel\"", "[[soil]]\nname = \"gravel\"", "soil", "Did you mean 'soils'"),
    ('corners = "pinned"', 'corners = "hinged"', f"{UPPER}.members.corners", "'pinned'"),
    ('between = ["chamber", "axis"]', 'between = "chamber"', f"{UPPER}.between", "brackets"),
    ('between = ["chamber", "axis"]', 'between = ["chamber"]', f"{UPPER}.between", "2 values"),
    ("top_level = -5.0", "top_level = [-5.0]", "layers[1].top_level", "[[x1, level1]"),
    ("top_level = -5.0", "top_level = [[3, -5], [1, -5]]", "layers[1].top_level", "left to right"),
    ("dig = { chamber = -1.3 }", "dig = -1.3", f"{DIG1}.dig", "{ name = value }"),
    ('"30 kN/m"', "true", f"{FIT}.pressurise.upper", "mean_load"),
    ('name = "Dig to formation"', "", "stages[4].name", "Add the key"),
    ('name = "Dig to formation"', 'name = " "', 'stages[4] " ".name', "quotes"),
    ("strength_reduction = true", "strength_reduction = 2", f"{DIG2}.strength_reduction", "table"),
]
NAMES = [
    ('soil = "gravel"\ntop_level', 'soil = "gravle"\ntop_level', "layers[1].soil", "Did you mean 'gravel'"),
    ('name = "gravel"', 'name = "alluvium"', 'soils[1] "alluvium"', "another name"),
    ('name = "Dig to formation"', 'name = "Dig for the upper frame"', "stages[", "another name"),
    ('name = "chamber"', 'name = "inside"', "walls[0]", "another name"),
    ("drive = { chamber = -4.6 }", "drive = { chambre = -4.6 }", f"{DRIVE}.drive", "Did you mean 'chamber'"),
    ('fit = ["upper"]', 'fit = ["uper"]', f"{FIT}.fit", "Did you mean 'upper'"),
    ('load = ["plant"]', 'load = ["plants"]', f"{DRIVE}.load", "Did you mean 'plant'"),
    ("dig = { chamber = -3.2 }", "dig = { left = -3.2 }", f"{DIG2}.dig", "everywhere"),
    ("strength_reduction = true", 'declared = "dig below toes"', f"{DIG2}.declared", "Did you mean 'dig below toe'"),
    ('between = ["chamber", "axis"]', 'between = ["axis", "chamber"]', f"{UPPER}.between", "axis as the second"),
]
GROUND = [
    (PHI, f"{PHI}, dilation_angle = 28", f"{ALLUVIUM}.strength.dilation_angle", "Lower it"),
    (PHI, "friction_angle = 0.47", f"{ALLUVIUM}.strength.friction_angle", "radians"),
    (f"effective_cohesion = 2.0, {PHI}", "effective_cohesion = 0, friction_angle = 0", f"{ALLUVIUM}.strength", "both 0"),
    (f"effective_cohesion = 2.0, {PHI}", PHI, f"{ALLUVIUM}.strength.effective_cohesion", "Add it"),
    (PHI, f"{PHI}, undrained_strength = 20", f"{ALLUVIUM}.strength.undrained_strength", "undrained"),
    (PHI, f"{PHI}, tension_limit = 20", f"{ALLUVIUM}.strength.tension_limit", "cot"),
    (PHI, f"{PHI}, per_metre_depth = 1", f"{ALLUVIUM}.strength.at_level", "which level"),
    (", at_level = -2.0", "", f"{ALLUVIUM}.stiffness.at_level", "which level"),
    ('name = "gravel"', 'name = "gravel"\ndrainage = "undrained"', f"{GRAVEL}.strength.undrained_strength", "Add it"),
    ('name = "gravel"', 'name = "gravel"\ndrainage = "undrained"', f"{GRAVEL}.wall_friction.angle", "adhesion"),
    ("top_level = -5.0", "top_level = 1.0", "layers[1].top_level", "order"),
    ("top_level = -5.0", "top_level = [[0, -5], [9, -5], [9, 1]]", "layers[1].top_level", "order"),
    ("top_level = -5.0", "top_level = 0.0", "layers[1].top_level", "thickness"),
    ("half = true", "half = true\nsurface = 0.5", "layers[0].top_level", "surface"),
]
TABLES = [
    ("half = true", "half = false", f"{CHAMBER}.cofferdam", "section.half"),
    ("half = true", "half = false", f"{UPPER}.between", "'axis'"),
    ("half = true", "half = true\nleft = -5", "section.left", "Leave it out"),
    ("half = true", "half = true\nright = 2", f"{CHAMBER}.x", "section"),
    ("half = true", "half = true\nright = 6", 'loads[0] "plant".to', "section"),
    ("half = true", "half = true\nright = -3", "section.right", "boundaries"),
    ("half = true", "half = true\nsurface = [[-3, -0.1], [3, 0]]", "section.surface", "right half"),
    ("half = true", "half = true\nbottom_level = -6", f"{LOCK}.drive.chamber", "bottom_level"),
    ("x = 2.3", "x = -2.3", f"{CHAMBER}.x", "x > 0"),
    ("level = -0.8", "level = 0.9", f"{UPPER}.level", "top of the wall"),
    ("level = -0.8", "level = -0.8\nstiffness = 5000", UPPER, "exactly one"),
    ("members = {", "#", UPPER, "exactly one"),
    ('moment = "190 kN m", ', "", f"{UPPER}.capacity", "at least one"),
    ('"30 kN/m"', '{ ram_pressure = "100 bar" }', f"{FIT}.pressurise.upper.ram_pressure", "ram_area"),
    ('"30 kN/m"', "{ ram_force = 3, mean_load = 2 }", f"{FIT}.pressurise.upper", "Keep the one"),
    ('"30 kN/m"', "{}", f"{FIT}.pressurise.upper", "Keep the one"),
    (LOADS, "from = 3", 'loads[0] "plant"', "one kind"),
    (LOADS, f"{LOADS}\nx = 3\nforce = 2", 'loads[0] "plant"', "one kind"),
    (LOADS, "from = 8\nto = 3", 'loads[0] "plant".to', "Exchange"),
]
STAGES = [
    ("drive = { chamber = -4.6 }", "drive = { chamber = 1 }", f"{DRIVE}.drive.chamber", "below the top"),
    ("drive = { chamber = -4.6 }", "drive = { chamber = 0.1 }", f"{DRIVE}.drive.chamber", "in the ground"),
    ("drive = { chamber = -6.2 }", "drive = { chamber = -3 }", f"{LOCK}.drive.chamber", "downwards only"),
    ("drive = { chamber = -4.6 }", "", f"{DIG1}.dig.chamber", "everywhere"),
    ("drive = { chamber = -4.6 }", "", f"{FIT}.fit", "Drive the wall first"),
    ("dig = { chamber = -3.2 }", "dig = { chamber = -6.5 }", f"{DIG2}.dig.chamber", "dig below toe"),
    ("dig = { chamber = -3.2 }", "dig = { chamber = -1.0 }", f"{DIG2}.dig.chamber", "backfill"),
    ("dig = { chamber = -1.3 }", "dig = { chamber = -0.5 }", f"{FIT}.fit", "frame below dig"),
    ("dig = { chamber = -3.2 }", "dig = { chamber = -3.2 }\nfit = \"upper\"", f"{DIG2}.fit", "fitted twice"),
    ('fit = ["upper"]', "", f"{FIT}.pressurise.upper", "fit ="),
    ('fit = ["upper"]\npressurise = { upper = "30 kN/m" }', "", f"{LOCK}.lock", "fit ="),
    ("dig = { chamber = -3.2 }", 'dig = { chamber = -3.2 }\nlock = "upper"', f"{DIG2}.lock", "locked twice"),
    ("dig = { chamber = -3.2 }", "dig = { chamber = -3.2 }\npressurise = { upper = 40 }", f"{DIG2}.pressurise.upper", "locked already"),
    ('lock = ["upper"]', 'lock = ["upper"]\npressurise = { upper = 40 }\ndig = { chamber = -1.5 }', f"{LOCK}.dig", "stage after"),
    ("dig = { chamber = -1.3 }", 'dig = { chamber = -1.3 }\nremove = "upper"', f"{DIG1}.remove", "fit it first"),
    ('fit = ["upper"]', 'fit = ["upper"]\nremove = "upper"', f"{FIT}.remove", "two stages"),
    ('extract = ["chamber"]', 'extract = ["chamber"]\ndrive = { chamber = -7 }', f"{PULL}.extract", "two stages"),
    ('remove = ["upper"]', "", f"{PULL}.extract", "remove ="),
    ("drive = { chamber = -4.6 }", 'extract = "chamber"', f"{DRIVE}.extract", "Drive it first"),
    ("inside = -1.8", "inside = -3", "water", "stage that does it"),
    ("drive = { chamber = -4.6 }", "drive = { chamber = -4.6 }\nwater = { inside = -1 }", f"{DRIVE}.water", "flood ="),
    ("drive = { chamber = -4.6 }", "drive = { chamber = -4.6 }\nflood = { inside = 0.4 }", f"{DRIVE}.flood", "top_level"),
    ("drive = { chamber = -4.6 }", "drive = { chamber = -4.6 }\nflood = true", f"{DRIVE}.flood", "name = value"),
    ("water = { inside = -1.8 }", "", f"{PULL}.extract", "bring the levels together"),
    ('load = ["plant"]', "", f"{PULL}.unload", "load it first"),
    ('unload = ["plant"]', 'load = ["plant"]', f"{PULL}.load", "twice"),
    (LOADS, f"{LOADS}\nlevel = 2", f"{DRIVE}.load", "Mend its level"),
    (LOADS, "from = 0\nto = 8", f"{DIG1}.load", "load inside"),
    ("level = -0.8", "level = -4.7", f"{FIT}.fit", "drive deeper"),
]
FULL = [
    ("x = 5", "x = -5", "walls[3]", "Move one"),
    ("x = 5", "x = 1", "walls", "one inside the other"),
    ("undrained_strength = 40", "undrained_strength = 40, friction_angle = 20", 'soils[0] "clay".strength.friction_angle', "Remove it"),
    ("undrained_strength = 40", "effective_cohesion = 4", 'soils[0] "clay".strength.undrained_strength', "Add it"),
    ("[1, -1], [1, -2]", "[1, -2], [1, -1]", 'blocks[0] "old base".outline', "in order"),
    ("[1, -1], [1, -2]", "[1, 3], [1, -2]", 'blocks[0] "old base".outline', "place"),
    ("outline = [[-1, -1], [1, -1], [1, -2], [-1, -2]]", "outline = [[-1, -1], [1, -1]]", 'blocks[0] "old base".outline', "corners"),
    ("top_level = -3.8", "top_level = -4.5", 'stages[5] "cast".cast', "Dig to its underside"),
    ("x = 7", "x = 0", 'stages[1] "dig outer".load', "load inside"),
    ('name = "outer right"', 'name = "outer"', 'walls[3] "outer".name', "Rename"),
    ('name = "blinding"', 'name = "top"', "slabs[0]", "another name"),
    ('fit = "top"', 'fit = "top"\ncure = { blinding = { E = "20 GPa" } }', 'stages[1] "dig outer".cure.blinding', "cast ="),
    ("struts = {", 'capacity = { moment = 5, basis = "working load" }\nstruts = {', 'frames[0] "top".capacity.moment', "members"),
]


@pytest.mark.parametrize("old, new, path, word", KEYS + NAMES + GROUND + TABLES + STAGES)
def test_a_mistake_in_the_sample_is_named(old, new, path, word):
    check(faults(changed(SAMPLE, old, new)), path, word)


@pytest.mark.parametrize("old, new, path, word", FULL)
def test_a_mistake_in_the_full_section_is_named(old, new, path, word):
    check(faults(changed(NESTED, old, new)), path, word)


@pytest.mark.parametrize("pairs", [
    ("dig = { chamber = -3.2 }", 'dig = { chamber = -6.5 }\ndeclared = "dig below toe"'),
    ("dig = { chamber = -1.3 }", "dig = { chamber = -0.5 }", 'fit = ["upper"]', 'fit = ["upper"]\ndeclared = "frame below dig"'),
    (LOADS, "from = 0\nto = 8", "dig = { chamber = -1.3 }", 'dig = { chamber = -1.3 }\ndeclared = "load inside"'),
    ("drive = { chamber = -4.6 }", 'drive = { chamber = -4.6 }\nwater = { inside = -1 }\ndeclared = "water inside above outside"'),
    ("drive = { chamber = -4.6 }", "drive = { chamber = -4.6 }\nflood = { inside = -1 }"),
])
def test_what_is_declared_is_accepted(pairs):
    read_text(changed(SAMPLE, *pairs))


def test_the_full_section_itself_is_sound():
    assert len(read_text(NESTED).walls) == 4


def test_all_faults_come_together():
    found = faults(changed(SAMPLE, "half = true", "half = 1", PHI, "friction_angle = 55", "x = 2.3", 'x = "2.3 kN"'))
    assert len(found) == 3


@pytest.mark.parametrize("base, old, new", [
    (SAMPLE, "chamber = -4.6", "chamber = 4.6"), (SAMPLE, "chamber = -6.2", "chamber = 6.2"), (SAMPLE, "dig = { chamber = -3.2 }", "dig = { chamber = 3.2 }"),
    (NESTED, "outer = -7", "outer = 7"), (NESTED, "toe = -8", "toe = 8"),
])  # fmt: skip
def test_a_wrong_sign_is_told_once(base, old, new):
    (found,) = faults(changed(base, old, new))
    assert "deeper is more negative" in found


def test_broken_toml_names_the_line():
    assert "line 2" in faults('title = "a"\nhalf = \n')[0]


@pytest.mark.parametrize("text", ["", "title = 1", "[" * 3000, 'soils = []\nlayers = []\nstages = []\ntitle = "x"', "a.b.c = 1", "\x00"])
def test_nonsense_is_refused_with_a_message(text):
    assert faults(text)


def test_what_cannot_be_opened_is_named(tmp_path):
    (tmp_path / "latin.toml").write_bytes(b'title = "\xe9"')
    for path, word in ((tmp_path / "none.toml", "Check the path"), (tmp_path, "Check the path"), (tmp_path / "latin.toml", "UTF-8")):
        with pytest.raises(CaseError, match=word) as caught:
            read_case(path)
        assert str(path) in str(caught.value)
