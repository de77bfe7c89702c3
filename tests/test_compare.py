"""The finite elements beside the simple method: earth pressure against closed forms, statics with hinges, what has no number, the table, the command."""

import csv
import json
from dataclasses import replace

import numpy as np
import pytest
from build import BRACED, CLAY, DRIVE, ELASTIC, FRAME, SAND, WATER, build, mirrored, soil, table, toml, wall

import fesoil
from fesoil.case.sequence import situations
from fesoil.checks.base import bjerrum_eide
from fesoil.cli import CAUTION, main
from fesoil.hand.springs_staged import StageByBeam, staged_beam
from fesoil.hand.staged import StageByHand, staged
from fesoil.result.base_in_clay import base_in_clay
from fesoil.result.beside_hand import ENVELOPE, Base, beside_hand, stage_words, write_table
from fesoil.result.earth import earth_on
from fesoil.result.hand_methods import DEFLECTION, LOAD, METHODS, MOMENT_DUG, MOMENT_SOIL, NOTHING_DRIVES, TOE, Given, by_envelope, hinges, hinges_in_own_water, of_beam, of_stage
from fesoil.result.hand_reasons import Evidence, evidence, reason_for, with_hinges
from fesoil.result.lines import WallLine
from fesoil.show.beside_text import beside_text

LOOSE = soil(SAND, strength={"effective_cohesion": 0, "friction_angle": 30, "dilation_angle": 0}, wall_friction=None)
QUICK = table([DRIVE, {"name": "dig", "dig": {"wall": -2.0}}])
FALLS = table(
    [{"name": "drive", "drive": {"wall": -2.0}}, {"name": "too deep", "dig": {"wall": -1.9}}],
    soils=[soil(LOOSE, strength={"effective_cohesion": 0.0, "friction_angle": 30, "dilation_angle": 0})], section={"element_size": 2.0},
)  # fmt: skip


@pytest.fixture(scope="module")
def braced():
    """A wall with a jacked frame, dug on below it, as tables and result."""
    tables = table(BRACED, frames=[FRAME])
    return tables, fesoil.analyse(fesoil.case_from(tables))


# --- earth pressure by finite elements


def test_earth_pressure_at_rest():
    """K0 gamma z on both faces before anything is dug, half of it z squared as a force (1 %); at the toe itself driving gives the joint the pressure of the place above it."""
    result = fesoil.analyse(build([DRIVE], soils=[soil(ELASTIC, wall_friction=None)]))
    line = earth_on(result, "wall")[0]
    deep = (line.level < -1.0) & (line.level > -6.9)
    assert line.earth[:, deep] == pytest.approx(np.tile(0.5 * 18 * -line.level[deep], (2, 1)), rel=0.02)
    assert [line.force(face) for face in line.earth] == pytest.approx([0.5 * 0.5 * 18 * 49] * 2, rel=0.01)
    assert not line.water.any() and np.abs(line.friction).max() < 1.0


def test_water_alone_is_a_triangle():
    """Free water from 0 to a bed at -1.5: 9.81 x 1.5^2 / 2, whatever the mesh; the force between two ends of pieces is the trapezium."""
    river = table([DRIVE, {"name": "pump", "water": {"wall": -1.5}}], water={"outside": 0.0}, section={"surface": [[0, -1.5], [14, -1.5]]}, layers=[("sand", -1.5)])
    line = earth_on(fesoil.analyse(fesoil.case_from(river)), "wall")[1]
    assert line.force(line.total[1], low=-1.5) == pytest.approx(WATER * 1.5**2 / 2) and line.force(line.total[0], low=-1.5) == pytest.approx(0.0)
    ends = np.unique(line.level[::3])[[-1, -2]]
    assert line.force(line.water[1], *ends) == pytest.approx(WATER * (ends[1] ** 2 - ends[0] ** 2) / 2)


def test_earth_pressure_carries_the_frame(braced):
    """Forces across the wall: pressures of both faces and the frame, to the residual that a stage may keep."""
    _, result = braced
    for line, load in zip(earth_on(result, "wall"), result.frames["frame"]):
        assert line.force(line.total[1] - line.total[0]) == pytest.approx(np.nan_to_num(load), abs=0.1)


def test_ground_behind_goes_down_along_the_wall(braced):
    """Friction is positive behind a wall that moves to the dig and its ground down, and no more than the joint bears: tan 18 deg."""
    _, result = braced
    line = earth_on(result, "wall")[-1]
    share = line.force(line.friction[1], low=-4.0) / line.force(line.earth[1], low=-4.0)
    assert 0.05 < share <= np.tan(np.radians(18)) + 1e-9
    assert np.all(np.abs(line.friction) <= line.earth * np.tan(np.radians(18)) + 1e-6)


def test_no_line_for_a_wall_that_does_not_stand_or_is_not_there(braced):
    late = build([{"name": "wait"}, DRIVE], section={"element_size": 2.0})
    assert earth_on(fesoil.analyse(late), "wall")[0] is None
    with pytest.raises(KeyError, match="wall"):
        earth_on(braced[1], "nowhere")


# --- where both must agree


def near_the_least_toe(EI, prop):
    """Smooth wall in stiff ground, one prop, toe a tenth of the embedment deeper than the least one; the least toe, and the wall beside the method. (Without any cohesion, or with a toe 3 % deeper, the search for
    equilibrium may come to no end.)"""
    stages = [{"name": "drive", "drive": {"wall": -7.0}}, {"name": "prop", "dig": {"wall": -0.6}, "fit": ["frame"], "lock": ["frame"]}, {"name": "dig", "dig": {"wall": -4.0}}]
    ground = soil(LOOSE, stiffness={"E": 2e5, "poisson_ratio": 0.25}, strength={"effective_cohesion": 1, "friction_angle": 30, "dilation_angle": 4})
    sheet = [wall(sheet={"EI": EI})]
    least = staged(build(stages, [ground], walls=sheet, frames=[FRAME], section={"bottom_level": -16.0}), "wall")[-1].balance.toe
    stages[0]["drive"]["wall"] = round(-4.0 + 1.1 * (least + 4.0), 3)
    result = fesoil.analyse(build(stages, [ground], walls=sheet, frames=[FRAME | {"stiffness": prop}], section={"element_size": 0.4}))
    assert result.complete
    return least, beside_hand(result)[0]


def test_near_the_least_toe_both_agree():
    """A stiff wall and a prop that gives way, so that all of the ground behind is active and that before the toe nearly passive: Rankine's limits and statics. 15 % for the load and 20 % for the moment were
    set before the first run, for triangles of 0.4 m and a wall a little longer than it need be."""
    least, found = near_the_least_toe(EI=1e6, prop=1e4)
    row = {r.quantity: r for r in found.rows if r.stage == 3}
    assert row[LOAD + "frame"].ratios[0] == pytest.approx(1.0, abs=0.15)
    assert row[MOMENT_DUG].ratios[0] == pytest.approx(1.0, abs=0.20)
    assert row[TOE].hand[0] == pytest.approx(least) and np.isnan(row[TOE].ratios[0])
    assert not [q for q, stages, _, _ in found.reasons if 3 in stages]


def test_a_prop_that_does_not_give_way_draws_load_by_arching():
    """The same with a slender wall and a rigid prop: the top of the wall turns back into the ground, more comes to the prop than by hand, and that is the reason given."""
    _, found = near_the_least_toe(EI=2e4, prop=1e6)
    row = next(r for r in found.rows if r.stage == 3 and r.quantity == LOAD + "frame")
    assert row.is_far and row.ratios[0] > 1
    assert next(text for q, stages, _, text in found.reasons if q == LOAD + "frame" and 3 in stages).startswith("arching")


def two_spans(q=10.0, span=4.0):
    """A beam over three props under an even load, as the analysis would read it: -q L^2 / 8 over the middle one, loads 3/8, 10/8 and 3/8 of q L."""
    x = np.linspace(0, 2 * span, 801)
    local = np.where(x <= span, x, 2 * span - x)
    moment = q * local * (3 * span / 8 - local / 2)
    zero = np.zeros(len(x))
    line = WallLine(-x, zero, moment, zero, zero)
    numbers = {MOMENT_DUG: moment.max(), MOMENT_SOIL: -moment.min(), LOAD + "a": 0.375 * q * span, LOAD + "b": 1.25 * q * span}
    return Evidence(line, None, None, {"a": 0.0, "b": -span}, {}, -1, None), numbers


def test_hinges_make_simple_spans_of_a_continuous_beam():
    """q L^2 / 8 in each span; the end prop gets q L / 2, the middle one q L; nothing over the hinge."""
    found = with_hinges(*two_spans())
    assert found[MOMENT_DUG] == pytest.approx(10 * 16 / 8) and found[MOMENT_SOIL] == pytest.approx(0.0, abs=1e-9)
    assert found[LOAD + "a"] == pytest.approx(20.0) and found[LOAD + "b"] == pytest.approx(40.0)


def test_the_topmost_frame_has_no_hinge():
    """10 kPa on an overhang of 1 m and two spans of 4 m, with -20 kN m/m over the middle prop: the top prop has 10 + 20 + (5 - 20) / 4, and with a hinge over the middle one 10 + 20 + 5 / 4."""
    x = np.linspace(-1, 8, 901)
    ends = np.interp(x, [0, 4, 8], [-5.0, -20.0, 0.0]) + 5 * np.mod(x, 4) * (4 - np.mod(x, 4))
    moment = np.where(x < 0, -5 * (x + 1) ** 2, ends)
    line = WallLine(-x, 0 * x, moment, 0 * x, 0 * x)
    setting = Evidence(line, None, None, {"a": 0.0, "b": -4.0}, {}, -1, None)
    found = with_hinges(setting, {MOMENT_DUG: moment.max(), MOMENT_SOIL: 20.0, LOAD + "a": 26.25, LOAD + "b": 48.75})
    assert found[LOAD + "a"] == pytest.approx(31.25) and found[MOMENT_SOIL] == pytest.approx(0.0, abs=1e-9)
    assert found[LOAD + "b"] == pytest.approx(20 - 5 / 4 + 20)


def test_one_frame_has_no_hinge():
    setting, numbers = two_spans()
    assert with_hinges(Evidence(setting.line, None, None, {"a": 0.0}, {}, -1, None), numbers) == numbers


B = LOAD + "b"


def reason(fe, hand, own, preload=None):
    """Reason for the load of the middle prop of ``two_spans``, from its loads by stage (dictionaries) by finite elements, by hand, and by hand in own water."""
    setting, _ = two_spans()
    setting = replace(setting, supports={"b": -4.0}, preload=preload or {})
    given = [{i: Given({B: load}) for i, load in loads.items()} for loads in (fe, hand, own)]
    return reason_for(B, max(fe), *given, setting)


def test_reason_water():
    found = reason({1: 18.0, 2: 20.0}, {1: 18.0, 2: 10.0}, {1: 18.0, 2: 19.0})
    assert found.kind == "water" and "gives 19 instead of 10" in found.text
    assert reason({1: 9.0, 2: 10.0}, {1: 9.0, 2: 20.0}, {1: 9.0, 2: 12.0}).kind == "water"  # downwards as well


def test_reason_history():
    """50 stood before, by hand as well; by hand it has gone since."""
    found = reason({1: 50.0, 2: 45.0}, {1: 48.0, 2: 20.0}, {1: 48.0, 2: 20.0})
    assert found.kind == "history" and "50 stood in stage 1 (48 by hand) and is 45 still" in found.text


def test_reason_late():
    """A slab that bears for the first time has nothing to bear, a jacked frame what the jacks put in."""
    found = reason({2: 1.0}, {2: 30.0}, {2: 30.0})
    assert found.kind == "late" and "presses anew" in found.text
    assert "40 kN/m" in reason({2: 40.0}, {2: 67.0}, {2: 67.0}, {"b": 40.0}).text


def test_reason_preload():
    """Jacked to 30 where 10 are asked for: most of the 22 between 32 and 10. Not so where the ground has added most of it: then the ground is asked, for which this setting has no pressures."""
    assert reason({2: 32.0}, {2: 10.0}, {2: 10.0}, {"b": 30.0}).kind == "preload"
    with pytest.raises(AttributeError):
        reason({2: 80.0}, {2: 10.0}, {2: 10.0}, {"b": 30.0})


def test_forces_behind_and_before(braced):
    """What presses behind lies between nothing and far beyond rest, and by equilibrium the frame carries the difference of the two faces."""
    _, result = braced
    line = earth_on(result, "wall")[-1]
    setting = evidence(result, "wall", 4, line)
    behind, active, rest = setting.behind()
    assert behind == pytest.approx(line.force(line.total[1], low=-4.0)) and 0 < active < rest
    assert rest == pytest.approx(0.5 * 0.5 * 18 * 16)  # K0 gamma H^2 / 2, dry
    front, passive = setting.before()
    assert front == pytest.approx(line.force(line.earth[0])) and 0 < front < passive
    assert setting.net_above() == pytest.approx(behind)
    assert list(setting.supports) == ["frame"] and setting.preload == {"frame": 20.0} and setting.deeper is None


def test_a_pit_within_is_seen():
    """A wide pit dug to -2 holds a frame; then a narrow one within it goes to -5.5, close to the wall. By hand nothing changes for the outer wall; the analysis' load grows, for the reason that there is less ground before it."""
    walls = [wall("inner", x=2.0), wall("outer", x=3.5)]
    stages = [
        {"name": "drive", "drive": {"outer": -6.0, "inner": -9.0}}, {"name": "dig", "dig": {"outer": -1.0}}, {"name": "frame", "fit": ["frame"], "lock": ["frame"]},
        {"name": "dig on", "dig": {"outer": -2.5}}, {"name": "deeper", "dig": {"inner": -5.5}},
    ]  # fmt: skip
    result = fesoil.analyse(build(stages, walls=[walls[0] | {"top_level": -2.0}, walls[1]], frames=[FRAME | {"between": ["outer", "axis"]}]))
    lines = earth_on(result, "outer")
    assert evidence(result, "outer", 4, lines[3]).deeper is None and evidence(result, "outer", 5, lines[4]).deeper == pytest.approx(-5.5)
    assert evidence(result, "inner", 5, earth_on(result, "inner")[4]).deeper is None
    found = next(w for w in beside_hand(result) if w.name == "outer")
    loads = {r.stage: r for r in found.rows if r.quantity == LOAD + "frame"}
    assert loads[5].hand[0] == pytest.approx(loads[4].hand[0]) and loads[5].fe > 1.1 * loads[4].fe
    assert any("pit within goes down to -5.50 m" in text for q, stages, _, text in found.reasons if q == LOAD + "frame" and 5 in stages)
    text = " ".join(beside_text(result, (found,)).split())
    assert "To bear in mind: - hinges and FE water, stages 2 to 5: the pit within (inner) is not felt: moments and loads may be too small." in text
    assert "envelope: envelopes of" in text and "not felt" not in beside_text(result, tuple(w for w in beside_hand(result) if w.name == "inner"))


# --- no number


def test_no_number_where_the_method_has_none():
    """A stage without balance, one whose frames would pull, and one whose wall is too short, which keeps only the least toe."""
    case = build([DRIVE, {"name": "dig", "dig": {"wall": -2.0}}])
    found = staged(case, "wall")[-1]
    assert found.stands and set(of_stage(found).numbers) == {MOMENT_DUG, MOMENT_SOIL, "shear", TOE}
    none = StageByHand(2, "dig", -7.0, None, {}, "no toe holds")
    assert of_stage(none).numbers == {} and of_stage(none).words == "no toe holds" and not of_stage(none).curves
    pulled = StageByHand(2, "dig", -7.0, found.balance, {"frame": -5.0}, "frame would have to pull")
    assert of_stage(pulled).numbers == {} and not of_stage(pulled).curves
    short = of_stage(StageByHand(2, "dig", -2.5, found.balance, {}, ""))
    assert short.numbers == {TOE: found.balance.toe} and "-2.50" in short.words and not short.curves


def test_springs_give_deflections_and_say_where_there_is_no_balance(braced):
    stage = staged_beam(braced[1].case, "wall")[-1]
    given = of_beam(stage)
    assert given.numbers[DEFLECTION] == pytest.approx(1e3 * stage.balance.deflection.max()) and given.numbers[LOAD + "frame"] == stage.loads["frame"]
    assert set(given.curves) == {"moment", "deflection"}
    none = of_beam(StageByBeam(2, "dig", -7.0, None, {}, "no balance"))
    assert none.numbers == {} and none.words == "no balance"


def test_nothing_drives_a_wall_in_level_ground(braced):
    given = hinges(braced[1], "wall")
    assert given[1].numbers == {} and given[1].words == NOTHING_DRIVES
    own = hinges_in_own_water(braced[1], "wall")  # no water: the same method
    assert {i: (g.numbers, g.words) for i, g in own.items()} == {i: (g.numbers, g.words) for i, g in given.items()}


def test_ground_without_limits_has_no_number_by_hand_and_no_reason():
    tables = table([DRIVE, {"name": "dig", "dig": {"wall": -2.0}}], soils=[ELASTIC], section={"element_size": 2.0})
    result = fesoil.analyse(fesoil.case_from(tables))
    found = beside_hand(result)[0]
    assert all(np.isnan(row.hand[0]) and np.isnan(row.ratios[0]) for row in found.rows) and found.reasons == ()
    assert "no strength" in found.hand[0][2].words and "no strength" in found.hand[1][2].words
    text = beside_text(result, (found,))
    assert "no number" in text and "no strength" in text


def test_a_method_without_the_governing_stage_has_no_ratio_over_all_stages(braced):
    found = beside_hand(braced[1])[0]
    deflection = next(r for r in found.envelope if r.quantity == DEFLECTION)
    assert np.isnan(deflection.hand[:2]).all() and np.isnan(deflection.ratios[:2]).all() and deflection.words[1] == "the method does not give it"
    load = next(r for r in found.envelope if r.quantity == LOAD + "frame")
    assert load.at == 4 and load.fe == pytest.approx(braced[1].frames["frame"].max(initial=0.0, where=np.isfinite(braced[1].frames["frame"])))
    assert load.ratios[0] == pytest.approx(load.fe / load.hand[0])


def test_words_for_stages():
    assert [stage_words(s) for s in ([3], [3, 4], [1, 3, 4, 5, 8])] == ["stage 3", "stages 3, 4", "stages 1, 3 to 5, 8"]


# --- envelopes and the base


BRACE = {"name": "all", "fit": ["upper", "lower"], "lock": ["upper", "lower"], "dig": {"wall": -8.0}}
DEEP = [{"name": "drive", "drive": {"wall": -14.0}}, BRACE]
PROPS = [FRAME | {"name": "upper", "level": -2.0}, FRAME | {"name": "lower", "level": -5.0}]


def deep(ground, last=BRACE, **more):
    case = build([DEEP[0], last], [ground], frames=PROPS, section={"bottom_level": -25.0, "right": 40.0}, **more)
    return case, situations(case)[-1]


def test_envelope_of_dry_sand():
    """0.65 / 3 x 18 x 8 kPa over 3.5 and 3 m (0 to half way; half way to half way to the dig)."""
    found = by_envelope(*deep(LOOSE), "wall")
    assert found.numbers == pytest.approx({LOAD + "upper": 31.2 * 3.5, LOAD + "lower": 31.2 * 3.0}) and "sand" in found.words


def test_envelope_of_sand_in_water():
    """Water outside at 0, inside at -8: by the straight line the head falls by 8 m over 14 + 6 m round the toe, so water presses with 0.6 of its weight by depth, and the rest weighs on the sand."""
    case, situation = deep(LOOSE, BRACE | {"water": {"inside": -8.0}}, water={"outside": 0.0})
    found, gone = by_envelope(case, situation, "wall"), 8.0 / 20.0
    water = WATER * (1 - gone)
    even = 0.65 / 3 * (20 - water) * 8
    assert found.numbers == pytest.approx({LOAD + "upper": even * 3.5 + water * 3.5**2 / 2, LOAD + "lower": even * 3.0 + water * (6.5**2 - 3.5**2) / 2})


def test_envelope_of_clay():
    """Soft: gamma H = 136 against su 20: 136 - 80 = 56 kPa over three quarters, and the base moves (136 > 5.14 x 20): Henkel's with d = 8 m is 1 - 4/6.8 + 2 sqrt 2 (1 - 5.14/6.8) = 1.102,
    force 0.5 x 1.102 x 136 x 8, which governs. Stiff: su 100, 0.4 x 136 over the middle half."""
    weak = soil(CLAY, strength={"undrained_strength": 20}, wall_friction=None)
    case, situation = deep(weak)
    pressure = (1 - 4 / 6.8 + 2 * np.sqrt(2) * (1 - 5.14 / 6.8)) * 136 / 1.75
    assert by_envelope(case, situation, "wall").numbers[LOAD + "upper"] == pytest.approx(pressure * (3.5 - 1.0))
    stiff = by_envelope(*deep(soil(CLAY, strength={"undrained_strength": 100}, wall_friction=None)), "wall")
    assert stiff.numbers[LOAD + "upper"] == pytest.approx(0.4 * 136 * 2.5) and "stiff" in stiff.words


@pytest.mark.parametrize("stages, soils, layers, why", [
    ([DEEP[0], DEEP[1] | {"dig": {"wall": -6.0}}], [LOOSE], None, "deeper than 6 m"),
    ([DEEP[0], {"name": "dig", "dig": {"wall": -8.0}}], [LOOSE], None, "no frame bears"),
    (DEEP, [LOOSE, CLAY], [("sand", 0.0), ("clay", -4.0)], "not of both"),
])  # fmt: skip
def test_where_no_envelope_applies(stages, soils, layers, why):
    case = build(stages, soils, layers, frames=PROPS, section={"bottom_level": -25.0, "right": 40.0})
    with pytest.raises(ValueError, match=why):
        by_envelope(case, situations(case)[-1], "wall")


def test_base_in_clay_of_a_case():
    """Pit 4 m wide, 5 m deep, su 30, 17 kN/m3, B1 = 2.8 m: 171 / (85 - 150 / 2.8); 5 (1 + 0.2 x 1.25) x 30 / 85, 5 (1 + 0.2 x 1.25)(1 + 0.2 x 4 / 8) with a plan 8 m long."""
    stages = [DRIVE, {"name": "dig", "dig": {"wall": -5.0}}]
    for more, shape in (({}, 1.0), ({"plan_length": 8.0}, 1.1)):
        case = build(stages, [CLAY], walls=[{"name": "wall", "x": 2.0, "top_level": 0.0, "sheet": {"EI": 2e4, "EA": 2e6}, **more}])
        by_terzaghi, by_factor = base_in_clay(case, situations(case)[-1], "wall")
        assert by_terzaghi.factor == pytest.approx(171 / (85 - 150 / 2.8)) and by_factor.factor == pytest.approx(6.25 * shape * 30 / 85)
    assert base_in_clay(case, situations(case)[1], "wall") is None  # not dug


def test_base_fails_at_the_worst_depth():
    """Softer clay between 1 and 2 m below the floor, firm sand below that: the mean down to 2 m, with firm ground there."""
    layers = [("clay", 0.0), ("soft", -6.0), ("sand", -7.0)]
    case = build([DRIVE, {"name": "dig", "dig": {"wall": -5.0}}], [SAND, CLAY, soil(CLAY, name="soft", strength={"undrained_strength": 10})], layers)
    by_terzaghi, by_factor = base_in_clay(case, situations(case)[-1], "wall")
    assert by_factor.factor == pytest.approx(6.25 * 20 / 85)
    assert by_terzaghi.factor == pytest.approx(5.7 * 20 / (85 - 150 / 2.0))  # with firm ground at 1 m the sides alone would hold: 150 > 85


def test_no_base_in_sand_or_below_a_flooded_floor():
    case = build([DRIVE, {"name": "dig", "dig": {"wall": -5.0}}])
    assert base_in_clay(case, situations(case)[-1], "wall") is None
    case = build([DRIVE, {"name": "dig", "dig": {"wall": -1.0}}], [CLAY], water={"outside": 1.0})
    wet = base_in_clay(case, situations(case)[-1], "wall")[1]
    assert wet.action == pytest.approx(17.0 + WATER - 2 * WATER)  # water stands on both


# --- table, text and picture


def test_table_carries_units_and_every_number(braced, tmp_path):
    _, result = braced
    walls = beside_hand(result)
    write_table(walls, result.case, tmp_path / "compare.csv")
    with open(tmp_path / "compare.csv", newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert list(rows[0]) == ["wall", "stage", "quantity", "unit", "method", "finite elements", "by hand", "finite elements / by hand", "words"]
    assert {row["quantity"]: row["unit"] for row in rows} == {MOMENT_DUG: "kN m/m", MOMENT_SOIL: "kN m/m", "shear": "kN/m", DEFLECTION: "mm", TOE: "m", LOAD + "frame": "kN/m"}
    last = next(r for r in rows if r["stage"] == "4 dig on" and r["quantity"] == LOAD + "frame" and r["method"] == "hinges")
    assert float(last["finite elements"]) == pytest.approx(result.frames["frame"][3], rel=1e-5)
    assert float(last["by hand"]) == pytest.approx(staged(result.case, "wall")[-1].loads["frame"], rel=1e-5)
    assert float(last["finite elements / by hand"]) == pytest.approx(float(last["finite elements"]) / float(last["by hand"]), rel=1e-4)
    assert len(rows) == len(METHODS) * (len(walls[0].rows) + len(walls[0].envelope))
    assert all(row["by hand"] == "" and row["words"] for row in rows if row["method"] == "envelope" and row["stage"] != "envelope")
    assert not any(row[key] == "nan" for row in rows for key in list(row)[5:8])


def test_a_safety_factor_below_one_is_said(braced):
    """A stage that stands only by what strength reduction does not count (factor None), beside clay, and without clay."""
    wall = beside_hand(braced[1])[0]
    check = bjerrum_eide(100.0, 5.0, 20.0, 4.0)
    text = beside_text(braced[1], (replace(wall, bases=(Base(3, (check, check), True, None), Base(4, None, True, 1.2))),))
    assert "strength reduction below 1" in text and "strength reduction 1.20; no clay" in text and f"{check.factor:.2f}" in text


def test_base_stands_beside_strength_reduction(tmp_path):
    """Clay, dug 2 m with strength reduction up to 1.3: a row for each form, with the same factor by finite elements."""
    case = build([DRIVE, {"name": "dig", "dig": {"wall": -2.0}, "strength_reduction": {"largest": 1.3}}], [CLAY])
    result = fesoil.analyse(case)
    walls = beside_hand(result)
    base = walls[0].bases[-1]
    assert base.stage == 2 and base.is_reduced and base.factor == result.records[2].reduction["factor"] and len(base.checks) == 2
    write_table(walls, case, tmp_path / "compare.csv")
    with open(tmp_path / "compare.csv", newline="", encoding="utf-8") as file:
        found = [row for row in csv.DictReader(file) if row["quantity"] == "safety factor"]
    assert [float(row["finite elements"]) for row in found] == pytest.approx([base.factor] * 2, rel=1e-5) and [row["unit"] for row in found] == ["-", "-"]
    assert [float(row["by hand"]) for row in found] == pytest.approx([check.factor for check in base.checks], rel=1e-5)


def test_every_ratio_far_from_one_has_a_reason(braced):
    wall = beside_hand(braced[1])[0]
    far = {(r.quantity, r.stage) for r in wall.rows if r.is_far and (r.quantity.startswith(LOAD) or r.quantity in (MOMENT_DUG, MOMENT_SOIL))}
    assert far and far <= {(q, stage) for q, stages, _, _ in wall.reasons for stage in stages}
    jacked = next(text for q, stages, _, text in wall.reasons if q == LOAD + "frame" and 3 in stages)
    assert "jacked to 20 kN/m" in jacked
    assert not {r.stage for r in wall.rows} - {1, 2, 3, 4} and all(r.stage == ENVELOPE for r in wall.envelope)


def test_text_is_narrow_and_honest(braced, monkeypatch):
    monkeypatch.setenv("COLUMNS", "100")
    _, result = braced
    text = beside_text(result, beside_hand(result))
    assert max(map(len, text.split("\n"))) <= 100 and "nan" not in text and "inf " not in text
    assert "Without a number" in text and NOTHING_DRIVES in text and "FE" in text


def test_both_halves_are_the_same():
    """The whole section of the half one: by hand the two walls are the same to rounding, by finite elements to 3 % on meshes that are not mirrored."""
    tables = table(BRACED, frames=[FRAME])
    left, right = beside_hand(fesoil.analyse(fesoil.case_from(mirrored(tables))))
    for one, other in zip(left.rows, right.rows):
        assert (one.stage, one.quantity) == (other.stage, other.quantity)
        assert one.hand == pytest.approx(other.hand, rel=1e-6, abs=1e-9, nan_ok=True)
        if one.stage == 4 and one.quantity in (MOMENT_DUG, LOAD + "frame"):
            assert one.fe == pytest.approx(other.fe, rel=0.03)


# --- the command


@pytest.fixture
def case(tmp_path):
    (tmp_path / "case.toml").write_text(toml(QUICK))
    return tmp_path / "case.toml"


def flat(text):
    return " ".join(text.split())


def test_compare_runs_first_and_then_uses_what_is_there(case, capsys, monkeypatch):
    out = case.parent / "out"
    assert main(["compare", str(case), "--out", str(out)]) == 0
    said = capsys.readouterr().out
    assert "beside the simple method" in said and CAUTION in flat(said) and f"Written to {out}." in said
    assert {"compare.csv", "summary.json", "walls.csv", "pictures"} <= {p.name for p in out.iterdir()}
    assert (out / "pictures" / "compare-1-wall.png").stat().st_size > 1000
    monkeypatch.setattr("fesoil.solve.analyse.analyse", lambda *_: pytest.fail("a finished run was run again"))
    (out / "compare.csv").unlink()
    assert main(["compare", str(case), "--out", str(out), "--no-pictures"]) == 0
    assert (out / "compare.csv").exists() and capsys.readouterr().out == said


def test_compare_goes_on_with_a_run_that_was_cut_short(case, capsys):
    out = case.parent / "out"
    assert main(["run", str(case), "--out", str(out), "--no-pictures"]) == 0
    manifest = json.loads((out / "manifest.json").read_text())
    (out / "manifest.json").write_text(json.dumps(manifest | {"finished": False}))
    (out / "states" / "02.json").unlink()
    assert main(["compare", str(case), "--out", str(out), "--no-pictures"]) == 0
    assert json.loads((out / "manifest.json").read_text())["finished"] and (out / "states" / "02.json").exists()


def test_compare_refuses_the_run_of_another_case(case, capsys):
    out = case.parent / "out"
    assert main(["run", str(case), "--out", str(out), "--no-pictures"]) == 0
    other = case.parent / "other.toml"
    other.write_text(toml(table([DRIVE, {"name": "dig", "dig": {"wall": -1.0}}])))
    before = (out / "summary.json").read_bytes()
    capsys.readouterr()
    assert main(["compare", str(other), "--out", str(out)]) == 2
    said = capsys.readouterr()
    assert "another case or version" in said.err and "--out" in said.err and said.out == ""
    assert (out / "summary.json").read_bytes() == before and not (out / "compare.csv").exists()


@pytest.mark.parametrize("place", ["file", "full"])
def test_compare_in_a_bad_place(place, case, capsys):
    (case.parent / "file").write_text("mine")
    (case.parent / "full").mkdir()
    (case.parent / "full" / "notes.txt").write_text("mine")
    assert main(["compare", str(case), "--out", str(case.parent / place)]) == 2
    said = capsys.readouterr()
    assert "--out" in said.err and "Traceback" not in said.err and said.out == ""
    assert (case.parent / "file").read_text() == (case.parent / "full" / "notes.txt").read_text() == "mine"


def test_compare_of_a_bad_case(tmp_path, capsys):
    assert main(["compare", str(tmp_path / "none.toml"), "--out", str(tmp_path / "out")]) == 2
    assert capsys.readouterr().err.startswith("fesoil: ") and not (tmp_path / "out").exists()


def test_a_collapse_has_no_numbers(tmp_path, capsys):
    """The stage without equilibrium has no number on either side of the table that could be taken for one, and the exit code says so."""
    (tmp_path / "case.toml").write_text(toml(FALLS))
    assert main(["compare", str(tmp_path / "case.toml"), "--out", str(tmp_path / "out"), "--no-pictures"]) == 3
    said = capsys.readouterr().out
    assert "NO EQUILIBRIUM in stage 2" in said and "finite elements, stage 2: no equilibrium" in flat(said)
    with open(tmp_path / "out" / "compare.csv", newline="", encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if row["stage"] == "2 too deep"]
    assert all(row["finite elements"] == row["finite elements / by hand"] == "" and "no equilibrium" in row["words"] for row in rows)


def test_help_of_compare(capsys):
    with pytest.raises(SystemExit) as end:
        main(["compare", "--help"])
    assert end.value.code == 0 and CAUTION in flat(capsys.readouterr().out)
