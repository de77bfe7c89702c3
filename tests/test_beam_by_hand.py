"""The wall as a beam on springs that yield: closed forms, limiting equilibrium, and what a wall remembers from stage to stage. See the benchmarks 'hand, beam ...' for more."""

from pathlib import Path

import numpy as np
import pytest
from build import CLAY, DRIVE, FRAME, SAND, SHEET, build, mirrored, moved, soil, table, wall
from scipy.optimize import linprog

from fesoil import case_from, read_case
from fesoil.case.sequence import situations
from fesoil.hand.equilibrium import net_pressure, propped
from fesoil.hand.limits import Choice
from fesoil.hand.pressures import wall_pressures
from fesoil.hand.springs import NoBalance, Springs, find_balance, make_beam, pieces, section_forces
from fesoil.hand.springs_staged import PINNED_TOE, slope_of_ground, staged_beam

DEEP = {"bottom_level": -40.0, "right": 60.0}
SMOOTH = soil(SAND, strength={"effective_cohesion": 0, "friction_angle": 30}, wall_friction={"angle": 0})
STRONG = soil(SAND, strength={"effective_cohesion": 300, "friction_angle": 34})
BELOW = {"declared": ["frame below dig"]}
LOCK = {"name": "frame", "fit": ["frame"], "lock": ["frame"]} | BELOW
PUSH = {"name": "push", "fit": ["frame"], "pressurise": {"frame": 20}} | BELOW
DOWN = {"name": "drive", "drive": {"wall": -10.0}}
FLAT = {"name": "wait"}
BY_ROUNDING = 1e-6
"""Of forces of some 100 kN/m: balance is found to 1e-8 of their sum."""


def dig(level, name="dig"):
    return {"name": name, "dig": {"wall": level}}


def stages_of(*stages, soils=(SMOOTH,), sheet=SHEET, factor=1.0, choice=Choice(), frame=FRAME, **more):
    """A wall from level 0, and the stages of it."""
    case = build(stages, soils, walls=[wall(sheet=sheet)], section=DEEP, frames=[frame], **more)
    return staged_beam(case, "wall", choice=choice, stiffness_factor=factor)


def at(line, values, level):
    return np.interp(-level, -line.level, values)


# --- the beam and its springs


def bed(beam, k, limit=np.inf):
    """Springs of a bed on one side [kPa/m] that press and pull up to a limit [kPa]."""
    even = np.ones(beam.depth.size)
    return Springs(beam.shape, even, beam.length.ravel(), k * even, 0 * even, -limit * even, limit * even)


def loaded(EI, length, k, load, place, limit=np.inf):
    """Beam and freedoms under one load [kN/m] at a depth [m]."""
    nodes = pieces([0.0, place, length])
    beam = make_beam(nodes, nodes, EI)
    return beam, find_balance(beam, bed(beam, k, limit), load * beam.at([place])[0], np.zeros(2 * len(nodes)))


def test_a_cantilever_bends_as_the_closed_form():
    """P L^3 / (3 EI) from springs that clamp the top: two very stiff ones 1 m apart give P L and a lever, here a clamp of 1e12 on movement and slope at the top."""
    nodes = pieces([0.0, 5.0])
    beam = make_beam(nodes, nodes, 2e4)
    clamp = np.zeros((2, 2 * len(nodes)))
    clamp[[0, 1], [0, 1]] = 1.0
    two = np.ones(2)
    hold = Springs(clamp, two, two, 1e10 * two, 0 * two, -np.inf * two, np.inf * two)
    move = find_balance(beam, hold, 10.0 * beam.at([5.0])[0], np.zeros(2 * len(nodes)))
    assert move[-2] == pytest.approx(10 * 125 / 3 / 2e4, rel=1e-5)


@pytest.mark.parametrize("place", [1.0, 3.0, 6.0])
def test_a_rigid_beam_turns_and_sinks(place):
    """P / (k L) (1 + 12 (a - L / 2)(x - L / 2) / L^2), and on a bed that yields at half of this nothing holds it."""
    beam, move = loaded(1e8, 6.0, 1e3, 12.0, place)
    assert move[::2] == pytest.approx(12 / 6e3 * (1 + 12 * (place - 3) * (beam.nodes - 3) / 36), rel=1e-3, abs=1e-6)


def test_a_rigid_beam_falls_at_the_limit_of_its_bed():
    """In its middle at p L; at its end at p L (sqrt 2 - 1): it turns about a point L / sqrt 2 from the load."""
    for place, most in ((3.0, 6.0), (6.0, 6 * (np.sqrt(2) - 1))):
        beam, move = loaded(1e8, 6.0, 1e4, 5.0 * most * 0.999, place, limit=5.0)
        assert np.abs(move).max() < 1
        with pytest.raises(NoBalance):
            loaded(1e8, 6.0, 1e4, 5.0 * most * 1.002, place, limit=5.0)


def test_the_tangent_is_the_slope_of_the_forces():
    beam = make_beam(pieces([0.0, 3.0]), pieces([0.0, 3.0]), 2e4)
    springs, move = bed(beam, 1e3, 2.0), np.random.default_rng(1).uniform(-4e-3, 4e-3, len(beam.stiffness))
    trial = np.abs(springs.trial(move))
    assert trial.min() < 2 < trial.max()
    step = 1e-7 * np.eye(len(move))
    by_difference = [(springs.forces(springs.press(move + d)) - springs.forces(springs.press(move - d))) / 2e-7 for d in step]
    assert springs.tangent(move) == pytest.approx(np.array(by_difference), abs=1e-4)


def test_section_forces_of_a_simple_span():
    """5 m under 8 kPa on props at its ends: w L / 2 and w L^2 / 8."""
    nodes = pieces([0.0, 2.5, 5.0])
    beam = make_beam(nodes, nodes, 1.0)
    shear, moment = section_forces(beam, np.full(beam.depth.shape, 8.0), np.array([0.0, 5.0]), np.array([20.0, 20.0]))
    assert shear[0, 0] == 20 and shear[-1, 1] == pytest.approx(-20) and moment.max() == pytest.approx(25) and moment[-1, 1] == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize("seed", range(40))
def test_balance_is_found_where_limits_leave_room_and_only_there(seed):
    """A beam that carries any moment is held where some pressures within the limits balance force and moment: asked of a linear programme."""
    rng = np.random.default_rng(seed)
    nodes = pieces([0.0, 4.0])
    beam = make_beam(nodes, nodes, 10 ** rng.uniform(3, 6))
    many = beam.depth.size
    low, start, more = np.sort(rng.uniform(-20, 20, (3, many)), axis=0)
    springs = Springs(beam.shape, rng.choice([-1.0, 1.0], many), beam.length.ravel(), 10 ** rng.uniform(2, 5, many), start, low, more)
    push = rng.uniform(-60, 60) * beam.at([rng.uniform(0, 4)])[0]
    as_one = np.zeros((len(push), 2))
    as_one[::2, 0], as_one[::2, 1], as_one[1::2, 1] = 1, nodes, 1
    room = linprog(np.zeros(many), A_eq=as_one.T @ (springs.rows.T * springs.toward * springs.length), b_eq=as_one.T @ push, bounds=np.column_stack([low, more])).status == 0
    try:
        move = find_balance(beam, springs, push, 0 * push)
        assert as_one.T @ springs.forces(springs.press(move)) == pytest.approx(as_one.T @ push, abs=1e-4)
    except NoBalance:
        move = None
    assert (move is not None) == room


def test_nothing_holds_a_beam_in_the_air():
    beam = make_beam(pieces([0.0, 3.0]), pieces([0.0, 3.0]), 2e4)
    with pytest.raises(NoBalance):
        find_balance(beam, bed(beam, 0.0), beam.at([0.0])[0], np.zeros(len(beam.stiffness)))


def test_the_slope_of_the_ground_gives_the_moment_on_a_half_plane():
    """EI 20e3, E 20e3, nu 0.3, P 100: 2 P c / (3 sqrt 3) = 46.99 (Biot's problem in the plane), with P / (4 lambda) on springs."""
    plane = 20e3 / (1 - 0.09)
    k = slope_of_ground(plane, 20e3)
    assert 100 / 4 / (k / 80e3) ** 0.25 == pytest.approx(46.9936, rel=1e-5) and plane / k == pytest.approx(2.81 * 1.22093, rel=1e-3)


# --- stages


def test_a_wall_in_level_ground_stays_where_it_is():
    (stage,) = stages_of(DRIVE)
    line = stage.balance
    assert stage.stands and not stage.words and not stage.loads and np.abs(line.deflection).max() < 1e-12 and np.abs(line.moment).max() < BY_ROUNDING
    assert line.earth[0] == pytest.approx(-0.5 * 18 * line.level) and line.earth[1] == pytest.approx(line.earth[0])


ALL = [DOWN, dig(-1.5, "first"), PUSH, {"name": "on", "lock": ["frame"], "dig": {"wall": -4.5}, "water": {"inside": -4.5}}, {"name": "fill", "backfill": {"wall": {"soil": "sand", "to": -2.0}}},
       {"name": "out", "remove": ["frame"]}]  # fmt: skip
WET = {"outside": -2.0}


def test_every_stage_is_in_balance():
    for stage in stages_of(*ALL, water=WET):
        line = stage.balance
        assert stage.stands and abs(line.shear[-1]) < BY_ROUNDING * 10 and abs(line.moment[-1]) < BY_ROUNDING * 100 and line.shear[0] == line.moment[0] == 0


def test_work_of_the_forces_is_that_of_bending():
    """Virtual work: pressure and props on the movement do twice the energy of bending, the integral of M^2 / EI. Moments by statics against movements of the beam: 0.5 % for pieces of 0.25 m.
    Movement as one does no work and is left out: it would do so in the sums of this test."""
    for stage in stages_of(*ALL[:4], water=WET)[1:]:
        line = stage.balance
        depth, net = -line.level, -np.subtract(*(line.earth + line.water))  # the dig is on the left
        bent = line.deflection - np.polyval(np.polyfit(depth, line.deflection, 1), depth)
        done = np.trapezoid(net * bent, depth) - sum(load * at(line, bent, FRAME["level"]) for load in stage.loads.values())
        assert done == pytest.approx(np.trapezoid(line.moment**2, depth) / SHEET["EI"], rel=5e-3)


def test_pressures_stay_between_the_limits_of_now():
    case = build(ALL, (SMOOTH,), section=DEEP, frames=[FRAME], water=WET)
    for situation, stage in zip(situations(case)[1:], staged_beam(case, "wall")):
        found, line = wall_pressures(case, situation, "wall"), stage.balance
        for face, earth, water in zip((found.left, found.right), line.earth, line.water):
            middle = (line.level[1::2] + line.level[::2]) / 2
            low, high, still = (np.interp(-middle, -face.level, values) for values in (face.active, face.passive, face.water))
            inside = (earth[::2] + earth[1::2]) / 2
            assert np.all(inside > low - 1e-6) and np.all(inside < high + 1e-6) and (water[::2] + water[1::2]) / 2 == pytest.approx(still, abs=1e-6)


def test_one_stage_or_ten_are_the_same_while_nothing_yields():
    """Strong ground, a shallow dig, and a surcharge that keeps the face behind pressed."""
    more = dict(soils=(STRONG,), loads=[{"name": "wide", "from": 2.0, "to": 58.0, "pressure": 150.0, "from_start": True}])
    once = stages_of(DOWN, dig(-0.8), **more)[-1]
    often = stages_of(DOWN, *(dig(-0.08 * k, f"dig {k}") for k in range(1, 11)), **more)[-1]
    line = once.balance
    assert line.earth[1].min() > 1 and line.deflection.max() > 1e-3
    assert often.balance.deflection[[0, -1]] == pytest.approx(line.deflection[[0, -1]], rel=1e-6) and often.balance.greatest[0] == pytest.approx(line.greatest[0], rel=1e-5)


def test_where_ground_yields_the_path_matters():
    """The other side of the test above: a wall that was dug and filled again does not come back."""
    stages = stages_of(DOWN, dig(-3.5), {"name": "fill", "backfill": {"wall": {"soil": "sand", "to": 0.0}}})
    assert stages[1].balance.deflection[0] > stages[2].balance.deflection[0] > 1e-3


def test_a_frame_locked_after_movement_carries_only_what_comes_later():
    stages = stages_of(DOWN, dig(-2.0), LOCK, FLAT, dig(-3.0, "on"))
    before, after = (at(s.balance, s.balance.deflection, FRAME["level"]) for s in stages[3:])
    assert before > 1e-3 and [s.loads.get("frame") for s in stages[:2]] == [None, None] and [s.loads["frame"] for s in stages[2:4]] == pytest.approx([0, 0], abs=1e-4)
    assert stages[4].loads["frame"] == pytest.approx(2e4 * (after - before), rel=1e-5) and stages[4].loads["frame"] > 5


def test_a_frame_with_slack_bears_late_and_never_pulls():
    frame = FRAME | {"slack": 0.002}
    stages = stages_of(DOWN, dig(-2.0), LOCK, dig(-2.1, "little"), dig(-4.0, "much"), {"name": "fill", "backfill": {"wall": {"soil": "sand", "to": 0.0}}}, frame=frame)
    start, little, much = (at(s.balance, s.balance.deflection, FRAME["level"]) for s in stages[2:5])
    assert 0 < little - start < 0.002 and stages[3].loads["frame"] == 0 and stages[5].loads["frame"] >= 0
    assert stages[4].loads["frame"] == pytest.approx(2e4 * (much - start - 0.002), rel=1e-5) and stages[4].loads["frame"] > 5


def test_a_frame_yields_at_its_limit_and_keeps_the_loss():
    stages = stages_of(DOWN, LOCK, dig(-4.0), {"name": "fill", "backfill": {"wall": {"soil": "sand", "to": -1.0}}}, frame=FRAME | {"limit_load": 15.0})
    assert stages[2].loads["frame"] == 15.0
    back = at(stages[2].balance, stages[2].balance.deflection, -0.5) - at(stages[3].balance, stages[3].balance.deflection, -0.5)
    assert back > 0 and stages[3].loads["frame"] == pytest.approx(max(15.0 - 2e4 * back, 0.0), abs=1e-4)


def test_a_preload_is_constant_and_then_held():
    stages = stages_of(DOWN, dig(-1.5), PUSH, FLAT, {"name": "lock", "lock": ["frame"]}, dig(-3.0, "on"))
    pushed, locked, dug = stages[2], stages[4], stages[5]
    assert pushed.loads == stages[3].loads == {"frame": 20.0} and locked.loads["frame"] == pytest.approx(20, abs=1e-4)
    assert pushed.balance.deflection[0] < stages[1].balance.deflection[0] and locked.balance.deflection == pytest.approx(pushed.balance.deflection, abs=1e-9)
    more = at(dug.balance, dug.balance.deflection, FRAME["level"]) - at(locked.balance, locked.balance.deflection, FRAME["level"])
    assert dug.loads["frame"] == pytest.approx(20 + 2e4 * more, rel=1e-5)


def test_a_frame_taken_out_gives_its_load_to_the_ground():
    held, out = stages_of(DOWN, LOCK, dig(-3.0), {"name": "out", "remove": ["frame"]})[2:]
    assert held.loads["frame"] > 5 and out.loads == {} and out.balance.deflection[0] > held.balance.deflection[0] + 1e-3


def test_slabs_are_props_with_a_gap():
    slab = {"name": "slab", "between": ["wall", "axis"], "top_level": -2.8, "thickness": 0.4, "E": 2e6, "gap": 0.001}
    stages = stages_of(DOWN, LOCK, dig(-3.2), {"name": "cast", "cast": ["slab"]}, {"name": "out", "remove": ["frame"]}, slabs=[slab])
    cast, out = stages[3:]
    closed = at(out.balance, out.balance.deflection, -3.0) - at(cast.balance, cast.balance.deflection, -3.0)
    assert cast.loads["slab"] == 0 and out.loads["slab"] == pytest.approx(max(2e6 * 0.4 / 2.0 * (closed - 0.001), 0), abs=1e-3)


def test_water_may_be_given_stage_by_stage():
    """Water outside alone, 2 m more of it in the second stage: the wall moves in that one only."""
    still, rising = ((np.array([-10.0, 0.0]), 9.81 * np.array([10.0, 0.0])), (np.array([-10.0, 0.0]), 9.81 * np.array([12.0, 2.0])))
    case = build([DOWN, FLAT], (SMOOTH,), section=DEEP, water={"outside": 0.0})
    first, second = staged_beam(case, "wall", water={1: (still, still), 2: (still, rising)})
    assert np.abs(first.balance.deflection).max() < 1e-9 and second.balance.deflection.max() > 1e-3 and np.ptp(second.balance.water, axis=0) == pytest.approx(2 * 9.81)


def test_a_wall_driven_on_goes_on_straight():
    """Pushed by a frame in level ground, then driven on: what is above stays, what is new carries on straight, at rest."""
    before, after = stages_of(DRIVE, PUSH, {"name": "drive on", "drive": {"wall": -10.0}})[1:]
    old, new = before.balance, after.balance
    assert np.abs(old.deflection).max() > 1e-3 and new.deflection[: len(old.level)] == pytest.approx(old.deflection, abs=1e-9) and after.toe == -10.0
    below = slice(len(old.level), None)
    slope = (new.deflection[-1] - old.deflection[-1]) / 3.0
    assert new.deflection[below] == pytest.approx(old.deflection[-1] + slope * (-7 - new.level[below]), abs=1e-9) and new.earth[:, below] == pytest.approx(np.tile(-9 * new.level[below], (2, 1)))


def test_excess_pressure_that_goes_moves_no_wall_in_level_ground():
    """Total pressure at rest becomes effective pressure and water, which are the same together."""
    silt = soil(SMOOTH, drainage="undrained effective")
    early, late = stages_of(DRIVE, {"name": "wait", "dissipate": ["sand"]}, soils=(silt,), water={"outside": 0.0})
    assert not early.balance.water.any() and late.balance.water.max() == pytest.approx(9.81 * 7)
    assert early.balance.earth == pytest.approx(late.balance.earth + late.balance.water) and np.abs(late.balance.deflection).max() < 1e-9


def test_a_wall_pulled_and_driven_anew_has_forgotten():
    stages = stages_of(DOWN, dig(-2.0), {"name": "fill", "backfill": {"wall": {"soil": "sand", "to": 0.0}}}, {"name": "pull", "extract": ["wall"]}, DRIVE | {"name": "again"})
    assert [s.name for s in stages] == ["drive", "dig", "fill", "again"] and stages[2].balance.deflection[0] > 1e-3
    assert np.abs(stages[3].balance.deflection).max() < 1e-9 and stages[3].toe == -7.0


def test_a_pinned_toe_does_not_move():
    free, pinned = (stages_of({"name": "drive", "drive": {"wall": {"toe": -4.5, "stopped_short": how}}}, LOCK, dig(-3.4))[-1] for how in ("resting", "pinned"))
    assert PINNED_TOE not in free.loads and (not free.stands or free.balance.deflection[-1] > 1e-3)
    assert pinned.balance.deflection[-1] == pytest.approx(pinned.loads[PINNED_TOE] / 1e6) and pinned.loads[PINNED_TOE] > 1


def test_a_mirror_image_and_another_datum_change_nothing():
    tables = table(ALL, (SAND, CLAY), [("sand", 0.0), ("clay", -6.0)], section=DEEP, frames=[FRAME], water=WET)
    plain, up = staged_beam(case_from(tables), "wall"), staged_beam(case_from(moved(tables, dy=87.3)), "wall")
    whole = case_from(mirrored(tables))
    for one, other, left, right in zip(plain, up, staged_beam(whole, "wall left"), staged_beam(whole, "wall right")):
        for stage in (other, left, right):
            assert stage.loads == pytest.approx(one.loads, rel=1e-5) and stage.balance.deflection == pytest.approx(one.balance.deflection, abs=1e-7)
            assert stage.balance.moment == pytest.approx(one.balance.moment, abs=1e-3)
        assert left.balance.earth[::-1] == pytest.approx(right.balance.earth, abs=1e-3)


def test_a_stiff_wall_turns_as_one():
    line = stages_of(DOWN, LOCK, dig(-3.0), sheet={"EI": 1e7, "EA": 1e8})[-1].balance
    straight = line.deflection[0] + (line.deflection[-1] - line.deflection[0]) * line.level / line.level[-1]
    assert np.abs(line.deflection - straight).max() < 0.02 * np.ptp(line.deflection)


# --- at the limit


def test_in_very_stiff_ground_a_wall_falls_when_free_earth_support_does():
    """Prop at the top, so that no ground above it helps: 2 cm more than the least toe stands, 2 cm less does not."""
    top = FRAME | {"level": 0.0}
    case = build([{"name": "drive", "drive": {"wall": -30.0}}, dig(-6.0)], (SMOOTH,), section=DEEP)
    least = propped(net_pressure(wall_pressures(case, situations(case)[-1], "wall")).down_to, 0.0, -30.0)
    stands, falls = (stages_of({"name": "drive", "drive": {"wall": least.toe - more}}, LOCK, dig(-6.0), frame=top, factor=1e3)[-1] for more in (0.02, -0.02))
    assert stands.stands and stands.loads["frame"] == pytest.approx(least.loads[0], rel=0.02) and stands.balance.moment.max() == pytest.approx(least.greatest[0], rel=0.02)
    assert not falls.stands and falls.loads == {} and falls.words


def test_a_stage_without_balance_says_so_and_so_do_those_after_it():
    stages = stages_of(DRIVE, dig(-1.0, "shallow"), dig(-6.8, "too deep"), FLAT)
    assert [s.stands for s in stages] == [True, True, False, False] and "holds the wall" in stages[2].words and "'too deep'" in stages[3].words


def test_less_strength_moves_the_wall_more():
    plain, weak = (stages_of(DOWN, LOCK, dig(-4.5), choice=Choice(factor))[-1] for factor in (1.0, 1.25))
    assert weak.balance.deflection.max() > 1.05 * plain.balance.deflection.max() and weak.loads["frame"] > plain.loads["frame"]


def test_stiffer_springs_move_less():
    half, one, double = (stages_of(DOWN, LOCK, dig(-4.5), factor=factor)[-1].balance.deflection.max() for factor in (0.5, 1.0, 2.0))
    assert half > one > double > one / 2


# --- doubts


def test_much_movement_is_said():
    stages = stages_of(DOWN, dig(-2.0, "shallow"), dig(-4.6, "deep"))
    assert stages[2].stands and np.abs(stages[2].balance.deflection).max() > 0.2 and not stages[1].words and "near its limit" in stages[2].words


def test_a_pit_within_is_not_felt_and_that_is_said():
    case = read_case(Path(__file__).parent.parent / "cases" / "nested.toml")
    outer, inner = staged_beam(case, "outer"), staged_beam(case, "inner")
    assert all(s.stands for s in outer + inner) and [("pit within" in s.words) for s in outer] == [s.index >= 5 for s in outer] and not any(s.words for s in inner)
    assert inner[0].index == 5 and inner[0].toe == -7.6 and inner[-1].toe == -12.2


def test_a_moment_beyond_the_sheets_is_said():
    stage = stages_of(DOWN, LOCK, dig(-4.5), sheet=SHEET | {"moment_capacity": 10.0})[-1]
    assert abs(stage.balance.greatest[0]) > 10 and "bending resistance" in stage.words


def test_a_wall_that_the_case_does_not_have_is_refused():
    with pytest.raises(ValueError, match="no wall 'other'"):
        staged_beam(build([DRIVE]), "other")
