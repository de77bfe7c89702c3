"""Seepage in the stages: what is given where, pore pressure on ground and walls, uplift, wells, leaks, boundaries, and what cannot be.

Closed forms are one-dimensional flow (Darcy) and statics, derived beside the check; flow fields themselves are checked in ``test_flow``.
"""

import numpy as np
import pytest

from build import CLAY, DRIVE, ELASTIC, SAND, build, moved, soil, table, wall
from fesoil.case import case_from
from fesoil.case.plausible import warnings_of
from fesoil.case.sequence import situations
from fesoil.errors import CaseError
from fesoil.mesh import make_mesh
from fesoil.result.store import read_result
from fesoil.solve.analyse import analyse
from fesoil.solve.stages import water_of
from fesoil.solve.system import make_base

WATER = 9.81
WET = soil(SAND, permeability=1e-4)
STIFF = soil(ELASTIC, permeability=1e-4)
GRAVEL = soil(STIFF, name="gravel", permeability=1.0)
SEEP = {"name": "pump", "dig": {"wall": -3.0}, "water": {"inside": -3.0}, "seepage": True}


def flow(case, index=-1):
    """Steady seepage in a situation of a case."""
    return water_of(case, make_base(make_mesh(case)), situations(case)[index])


def fault(**changes):
    """The message of the faults of a case."""
    tables = table(**{"stages": [DRIVE, SEEP], "soils": [WET], "water": {"outside": -1.0}} | changes)
    with pytest.raises(CaseError) as caught:
        case_from({name: value for name, value in tables.items() if value})
    return str(caught.value)


# given and found


def test_one_level_everywhere_is_water_at_rest():
    """Seepage between equal levels is hydrostatics to round-off, in pore pressure, on the walls, and in what moves."""
    dig = {"name": "dig", "dig": {"wall": -3.0}}
    still, seeping = (analyse(build([DRIVE, dig | more], soils=[WET], water={"outside": -1.0})) for more in ({}, {"seepage": True}))
    head = seeping.states[2].head
    assert np.nanmax(np.abs(head + 1.0)) < 1e-9 and np.isnan(still.states[2].head).all()
    a, b = (r.water_on("wall")[1] for r in (still, seeping))
    assert np.abs(a.right - b.right).max() < 1e-8 and np.abs(a.left - b.left).max() < 1e-8
    assert np.abs(still.states[2].u - seeping.states[2].u).max() < 1e-6 * np.abs(still.states[2].u).max()


def upward(level, **more):
    """A plug of sand between walls that reach into gravel of great permeability, with the level in the pit; its gradient is all but even."""
    stages = [{"name": "drive", "drive": {"wall": -6.0}}, SEEP | {"water": {"inside": level}} | more]
    return build(stages, soils=[STIFF, GRAVEL], layers=[("wet sand", 0.0), ("gravel", -6.0)], water={"outside": -1.0}, section={"element_size": 0.5})


STIFF["name"] = "wet sand"


def test_upward_flow_lightens_the_ground_by_its_seepage_force():
    """One-dimensional: 2 m of head over 3 m of plug, sigma'v = (gamma_sat - gamma_w - i gamma_w) z; the ground is elastic and a column of 2 m, so sides that
    hold back take part of it: half-way between the walls within 0.5 kPa of 3 to 15."""
    result = analyse(upward(-3.0))
    water = result.seepage[2]
    assert water.head_at(np.array([0.5, 1.0, 1.5]), np.full(3, -4.5)) == pytest.approx(np.full(3, -2.0), abs=2e-3)
    gradient = water.exit_gradient("wall")
    assert gradient[np.isfinite(gradient)] == pytest.approx(2 / 3, rel=5e-3)
    assert water.out["wall"] == pytest.approx(2.0 * 1e-4 * 2 / 3, rel=5e-3)
    assert water.balance < 1e-8
    base, mesh = make_base(result.mesh), result.mesh
    vertical = result.states[2].stress.sum(axis=1).reshape(-1, 3, 4)[..., 1]
    x, y = np.moveaxis(base.triangles.points + mesh.origin, -1, 0)
    chosen = (x < 2.0) & (y < -3.2) & (y > -5.8)
    by_depth = (20.0 - WATER * (1 + 2 / 3)) * (-3.0 - y[chosen])
    weight = base.triangles.weight[chosen]
    assert weight @ -vertical[chosen] / weight.sum() == pytest.approx(weight @ by_depth / weight.sum(), abs=0.5)


def test_pore_pressure_jumps_at_the_wall_and_nowhere_else():
    """On the two faces of the wall the heads differ, at its toe they are one; on the outer face the head falls from the level outside to that of the toe."""
    result = analyse(build([DRIVE, SEEP], soils=[WET], water={"outside": -1.0}, section={"element_size": 0.5}))
    line = result.water_on("wall")[1]
    inside, outside = line.left / WATER + line.level, line.right / WATER + line.level
    below = line.level < -3.01
    assert np.all(outside[below][:-1] - inside[below][:-1] > 0)
    assert outside[-1] == pytest.approx(inside[-1], abs=1e-9) and -3.0 < inside[-1] < -1.0
    assert np.all(np.diff(outside[below]) < 1e-9) and np.all(np.diff(inside[below]) > -1e-9)
    assert np.all(line.left[line.level > -3.0] == 0.0)
    assert result.records[2].equilibrium_error < 1e-4


def test_the_same_job_elsewhere_and_mirrored_has_the_same_water():
    """Heads move with the datum; a mirrored section with two walls has mirrored flow."""
    tables = table([DRIVE, SEEP], soils=[WET], water={"outside": -1.0})
    here, there = flow(case_from(tables)), flow(case_from(moved(tables, 0.0, 512.5)))
    assert np.nanmax(np.abs(there.head - here.head - 512.5)) < 1e-9
    assert there.out["wall"] == pytest.approx(here.out["wall"], rel=1e-9)
    walls = [wall("a", -2.0, cofferdam="pit"), wall("b", 2.0, cofferdam="pit")]
    whole = {"half": False, "left": -14.0}
    pit = [{"name": "drive", "drive": {"pit": -7.0}}, SEEP | {"dig": {"pit": -3.0}}]
    sides = [flow(build(pit, soils=[WET], walls=walls, section=whole, water={"outside": -1.0, side: 0.0})) for side in ("left", "right")]
    mirrored = [sides[0].out[a] / sides[1].out[b] for a, b in (("left", "right"), ("right", "left"))]
    assert mirrored == pytest.approx([1.0, 1.0], rel=0.01)  # the triangles are not mirrored: two coarse meshes
    assert -sides[0].out["left"] > -sides[0].out["right"] > 0


def test_half_of_a_section_carries_half_of_its_water():
    walls = [wall("a", -2.0, cofferdam="wall"), wall("b", 2.0, cofferdam="wall")]
    whole = flow(build([DRIVE, SEEP], soils=[WET], walls=walls, section={"half": False, "left": -14.0, "element_size": 0.5}, water={"outside": -1.0}))
    half = flow(build([DRIVE, SEEP], soils=[WET], section={"element_size": 0.5}, water={"outside": -1.0}))
    assert whole.out["wall"] == pytest.approx(2 * half.out["wall"], rel=5e-3)


# boundaries, wells, leaks


def test_closed_sides_feed_nothing():
    """Nothing comes in: in time the whole ground has the level that is held in the pit."""
    found = flow(build([DRIVE, SEEP], soils=[WET], water={"outside": -1.0, "far_boundary": "closed"}))
    assert np.nanmax(np.abs(np.minimum(found.head, -3.0) + 3.0)) < 1e-6
    assert abs(found.out["wall"]) < 1e-12


def test_a_level_below_the_dig_is_held_by_a_drain():
    """The pumped level lies 1 m below the dig: no pressure there, dry ground above, more water than at the level of the dig."""
    deeper, shallow = (flow(build([DRIVE, SEEP | {"water": {"inside": level}}], soils=[WET], water={"outside": -1.0})) for level in (-4.0, -3.0))
    y = deeper.mesh.points[:, 1] + deeper.mesh.origin[1]
    on = deeper.conditions.places["wall"] & (np.abs(y + 4.0) < 1e-6)
    assert np.any(on) and np.nanmax(np.abs(deeper.head[on] + 4.0)) < 1e-9
    assert np.nanmax(deeper.head_at(np.array([1.0]), np.array([-3.5])) + 3.5) <= 1e-9
    assert deeper.out["wall"] > 1.2 * shallow.out["wall"]


WELL = {"name": "well", "x": 1.0, "from_level": -4.0, "to_level": -9.0}


def test_a_well_takes_the_water_that_the_floor_took():
    stages = [DRIVE, SEEP, {"name": "well", "pump": {"well": -3.5}}, {"name": "shut", "shut": "well"}]
    case = build(stages, soils=[WET], water={"outside": -1.0}, wells=[WELL])
    before, pumped, shut = (flow(case, i) for i in (2, 3, 4))
    assert pumped.out["well"] > 0.9 * -pumped.out["right"] and pumped.out["wall"] < 0.1 * before.out["wall"]
    assert pumped.balance < 1e-8
    assert pumped.head_at(np.array([1.9]), np.array([-6.9])) < before.head_at(np.array([1.9]), np.array([-6.9])) - 0.3
    assert shut.out["wall"] == pytest.approx(before.out["wall"], rel=1e-9) and "well" not in shut.out


def test_a_well_does_not_feed_the_ground():
    """A relief well that would flow over above the water around it stays as it is: nothing."""
    case = build([DRIVE, SEEP, {"name": "well", "pump": {"well": -0.5}}], soils=[WET], water={"outside": -1.0}, wells=[WELL])
    assert flow(case, 3).out["wall"] == pytest.approx(flow(case, 2).out["wall"], rel=1e-9)
    assert flow(case, 3).out.get("well", 0.0) == 0.0


def test_a_leak_lets_in_what_its_conductance_says():
    """A window of 0.5 m far above the toe, so tight that it does not change the heads beside it: flow = leakage x area x difference of head, within 3 %."""
    case = build([DRIVE, SEEP], soils=[WET], water={"outside": 1.0}, walls=[wall(top=1.5)], section={"element_size": 0.4})
    tight = flow(case)
    window = {"from_level": -4.0, "to_level": -4.5, "leakage": 1e-7}
    leaking = flow(build([DRIVE, SEEP], soils=[WET], water={"outside": 1.0}, walls=[wall(top=1.5, leaks=[window])], section={"element_size": 0.4}))
    y = np.linspace(-4.0, -4.5, 21)
    difference = (tight.head_at(np.full(21, 2.001), y) - tight.head_at(np.full(21, 1.999), y)).mean()
    assert difference > 1.0
    # part of the leak's water is spared at the toe, hence the difference is taken of what passes the window itself
    through = leaking.flow.inflow.sum()  # what enters leaves
    assert abs(through) < 1e-12
    more = leaking.out["wall"] - tight.out["wall"]
    assert 0 < more <= 1e-7 * 0.5 * difference


TIGHT = 1e-9
"""Leakage [1/s] that disturbs no head beside it by more than 1e-4 of itself in ground of 1e-4 m/s: 1e-9 / 1e-4 over some metres."""


def torn_case(top, bottom, **changes):
    """Case of a pit with a window in its wall between two levels, in a river 1 m above the ground unless changed."""
    leak = {"from_level": top, "to_level": bottom, "leakage": TIGHT}
    tables = {"stages": [DRIVE, SEEP], "soils": [WET], "water": {"outside": 1.0}, "walls": [wall(top=1.5, leaks=[leak])], "section": {"element_size": 0.4}}
    return build(**tables | changes)


def torn(top, bottom, **changes):
    """Seepage in the last stage of ``torn_case``."""
    return flow(torn_case(top, bottom, **changes))


@pytest.mark.parametrize("outside, top, bottom", [(1.0, -1.0, -2.0), (1.0, -2.5, -3.0), (-1.0, -1.5, -2.5)])
def test_a_window_above_the_floor_drips_into_the_pit(outside, top, bottom):
    """Leakage x area x mean pressure head beside it: within 1 %, for heads read 1 mm off the wall at 41 places between corners of triangles."""
    found = torn(top, bottom, water={"outside": outside})
    y = np.linspace(top, bottom, 41)[1:-1]
    pressed = np.maximum(found.head_at(np.full(39, 2.001), y) - y, 0.0).mean()
    drips = TIGHT * (top - bottom) * pressed
    assert pressed > 0.1 and found.through_walls["wall"] == pytest.approx(drips, rel=0.01)
    risen = -found.flow.inflow[found.conditions.places["wall"]].sum()
    assert found.out["wall"] - risen == pytest.approx(drips, rel=0.01)  # what the pump lifts
    assert found.through_walls["right"] == 0.0 and found.balance < 1e-8
    assert sum(found.out.values()) == pytest.approx(0.0, abs=1e-8 * found.out["wall"])


def test_a_window_under_the_free_water_of_a_pit_drips_less():
    """Water 1 m above the floor: out of the ground by the difference of the two heads; with the pit fuller than the ground outside it is the pit that loses water."""
    y = np.linspace(-2.0, -2.8, 41)[1:-1]
    for inside, outside, more in ((-1.9, 1.0, {}), (-1.0, -1.5, {"declared": ["water inside above outside"]})):
        found = torn(-2.0, -2.8, water={"outside": outside}, stages=[DRIVE, SEEP | {"water": {"inside": inside}} | more])
        drop = (found.head_at(np.full(39, 2.001), y) - inside).mean()
        assert found.through_walls["wall"] == pytest.approx(TIGHT * 0.8 * drop, rel=0.01) and drop * (outside - inside) > 0.01
        assert found.balance < 1e-8


@pytest.mark.parametrize("inside, passes", [(-3.0, (0.8**2 - 0.2**2) / 2), (0.5, (0.8**2 - 0.2**2 - 0.3**2) / 2)])
def test_a_river_runs_through_a_window_above_its_bed(inside, passes):
    """No ground on either face: leakage times the pressure head of the river at 1 m, less that of the pit, over the window from 0.8 to 0.2 m."""
    found = torn(0.8, 0.2, stages=[DRIVE, SEEP | {"water": {"inside": inside}}])
    assert found.through_walls == pytest.approx({"wall": TIGHT * passes, "right": -TIGHT * passes}, rel=1e-9)
    assert sum(found.out.values()) == pytest.approx(0.0, abs=1e-8 * found.out["wall"]) and not np.any(found.flow.drips)


def test_what_stands_against_a_window_seals_it():
    """A plug beside it, tight ground on the one face or the other."""
    slab = {"name": "plug", "between": ["wall", "axis"], "top_level": -2.0, "thickness": 1.0, "E": 2e7}
    plugged = [DRIVE, {"name": "dig", "dig": {"wall": -3.0}}, {"name": "cast", "cast": "plug"}, {"name": "pump", "water": {"inside": -3.0}, "seepage": True}]
    bare = torn(-2.1, -2.9).through_walls["wall"]
    clayey = [("sand", 0.0), ("clay", -2.0), ("sand", -5.0)]
    for top, bottom, changes in ((-2.1, -2.9, {"stages": plugged, "slabs": [slab]}), (-2.1, -2.9, {"soils": [WET, CLAY], "layers": clayey}), (-3.2, -4.0, {"soils": [WET, CLAY], "layers": clayey})):
        assert torn(top, bottom, **changes).through_walls == pytest.approx({"wall": 0.0, "right": 0.0}, abs=1e-9 * bare)


def test_windows_in_both_walls_of_a_pit_count_twice():
    walls = [wall(name, x, top=1.5, cofferdam="wall", leaks=[{"from_level": 0.5, "to_level": -2.0, "leakage": TIGHT}]) for name, x in (("a", -2.0), ("b", 2.0))]
    whole, half = torn(0, 0, walls=walls, section={"half": False, "left": -14.0, "element_size": 0.4}), torn(0.5, -2.0)
    assert whole.through_walls["wall"] == pytest.approx(2 * half.through_walls["wall"], rel=5e-3)
    assert whole.through_walls["left"] == pytest.approx(half.through_walls["right"], rel=1e-9) and half.through_walls["right"] < 0


def test_ground_that_may_run_out_of_a_window_is_a_doubt():
    doubts = [[str(d) for d in warnings_of(torn_case(top, bottom)) if "leaks[0]" in d.path] for top, bottom in ((-2.0, -2.5), (-2.5, -3.5), (-3.5, -4.0), (1.0, 0.5))]
    assert [len(said) for said in doubts] == [1, 1, 0, 0]
    assert 'opens from ground into the clear in stage "pump"' in doubts[0][0]


def test_ground_water_lags_behind_the_tide():
    """Low water outside, the ground still at the level before: the head at the sides is that of the ground, free water on the bed that of the river."""
    stages = [DRIVE, SEEP, {"name": "ebb", "water": {"outside": 0.5}, "ground_water": {"outside": 1.2}}, {"name": "low", "water": {"outside": 0.0}}]
    case = build(stages, soils=[WET], water={"outside": 1.5}, walls=[wall(top=2.0)])
    ebb, low = situations(case)[3:]
    assert ebb.water == (-3.0, 0.5) and ebb.ground_water == (-3.0, 1.2) and low.ground_water == (-3.0, 0.0)
    found = flow(case, 3)
    x, y = (found.mesh.points + found.mesh.origin).T
    assert found.head[(np.abs(x - 14.0) < 1e-6) & (y < -1)] == pytest.approx(1.2)
    assert found.head[(np.abs(y) < 1e-6) & (x > 2.5) & (x < 13.5)] == pytest.approx(0.5)


# with the rest of the analysis


def test_water_lifts_a_slab_that_seals_the_pit():
    """A plug on the floor, cast under water and pumped out: what the water presses more than the plug weighs hangs on the sheets."""
    slab = {"name": "plug", "between": ["wall", "axis"], "top_level": -2.4, "thickness": 0.6, "E": 2e7}
    stages = [DRIVE, {"name": "dig", "dig": {"wall": -3.0}}, {"name": "cast", "cast": "plug"}, {"name": "pump", "water": {"inside": -3.0}, "seepage": True}]
    rough = soil(STIFF, wall_friction={"angle": 30, "adhesion": 50})  # the sheets hang in it
    result = analyse(build(stages, soils=[rough], slabs=[slab], water={"outside": -1.0}))
    assert result.complete and result.records[4].equilibrium_error < 1e-4
    uplift = WATER * (result.seepage[4].head_at(np.linspace(0.1, 1.9, 10), np.full(10, -3.0 - 1e-9)).mean() + 3.0)
    weight = 24.0 * 0.6
    assert uplift == pytest.approx(WATER * 2.0, rel=1e-3)  # the plug and the sheets seal: the head beneath is that outside
    lines = result.wall("wall").lines
    jump = [np.diff(line.axial[np.abs(line.level + 2.7) < 1e-6])[0] for line in lines[2:]]  # from above to below the middle of the plug
    assert jump == pytest.approx([0.0, (weight - uplift) * 2.0], abs=1.0)  # what friction takes over a piece of wall stays in doubt


def test_a_run_with_seepage_is_kept_and_read_again(tmp_path):
    result = analyse(build([DRIVE, SEEP], soils=[WET], water={"outside": -1.0}), tmp_path / "run")
    again = read_result(tmp_path / "run")
    assert np.array_equal(result.states[2].head, again.states[2].head, equal_nan=True)
    assert again.records[2].water["out"] == pytest.approx(result.seepage[2].out) and again.records[1].water == {}


def test_clay_over_water_keeps_what_it_holds():
    """Clay in total stress carries no pore pressure and lets none through; sand beneath it that is open only to the outside keeps the level there."""
    stages = [DRIVE, SEEP | {"dig": {"wall": -3.0}}]
    case = build(stages, soils=[WET, CLAY], layers=[("sand", 0.0), ("clay", -2.0), ("sand", -6.0)], water={"outside": -1.0})
    found = flow(case)
    assert found.head_at(np.array([1.0, 5.0]), np.array([-8.0, -8.0])) == pytest.approx([-1.0, -1.0], abs=1e-9)
    assert np.isnan(found.head_at(np.array([1.0]), np.array([-4.0])))[0]


# what cannot be


def test_what_seepage_lacks_is_said():
    assert 'soils[0] "sand".permeability: found nothing; expected a permeability' in fault(soils=[SAND])
    assert "seepage: found no water" in fault(water={})


@pytest.mark.parametrize(
    "changes, said",
    [
        ({"soils": [soil(SAND, permeability=1e3)]}, "permeability"),
        ({"soils": [soil(SAND, permeability=0)]}, "permeability"),
        ({"soils": [soil(SAND, permeability="1e-4 m")]}, "permeability"),
        ({"soils": [soil(SAND, permeability={"horizontal": 1.0, "vertical": 1e-14})]}, "slip in its power of ten"),
        ({"wells": [WELL | {"to_level": -3.0}]}, "below from_level"),
        ({"wells": [WELL | {"x": 2.0}]}, "at wall 'wall'"),
        ({"wells": [WELL | {"x": 200.0}]}, "within the section"),
        ({"stages": [DRIVE, SEEP | {"pump": {"wel": -5.0}}], "wells": [WELL]}, "Did you mean 'well'?"),
        ({"stages": [DRIVE, SEEP | {"pump": {"well": -12.0}}], "wells": [WELL]}, "within the well"),
        ({"stages": [DRIVE, SEEP | {"shut": "well"}], "wells": [WELL]}, "not in use"),
        ({"stages": [DRIVE, {"name": "pump", "pump": {"well": -5.0}}], "wells": [WELL]}, "seepage = true"),
        ({"walls": [wall(leaks=[{"from_level": -3.0, "to_level": -2.0, "leakage": 1e-6}])]}, "below from_level"),
        ({"stages": [DRIVE, SEEP | {"ground_water": {"inside": -2.0}}]}, "'outside', 'left' or 'right'"),
        ({"stages": [DRIVE, SEEP | {"dissipate": "sand"}]}, "undrained effective"),
        ({"stages": [DRIVE, SEEP | {"water": {"inside": -0.5}}]}, "not above the water outside"),
        ({"water": {"outside": 0.5}}, "above the top of wall"),
    ],
)
def test_water_that_cannot_be_is_refused(changes, said):
    assert said in fault(**changes)


def test_water_at_rest_has_no_balance_to_miss():
    """Nothing flows but round-off, whose balance would be round-off over round-off."""
    found = flow(build([DRIVE, {"name": "dig", "dig": {"wall": -3.0}, "seepage": True}], soils=[WET], water={"outside": -1.0}))
    assert found.balance == 0.0 and found.flow.enters < found.least


def test_water_comes_through_the_window_below_sheets_that_stopped_short():
    """An old base of concrete is tight without a permeability of its own. With the sheets on it some water passes their toe, as under a gap of about the size of the triangles, which is
    doubted; through a window of 0.5 m left above the base comes more. Sheets within the base let nothing through."""
    base = {"name": "old base", "soil": "concrete", "outline": [[0.0, -6.0], [5.0, -6.0], [5.0, -7.0], [0.0, -7.0]]}
    concrete = {"name": "concrete", "unit_weight": {"moist": 24.0, "saturated": 24.0}, "stiffness": {"E": 1e7, "poisson_ratio": 0.2}}
    taken, doubted = {}, {}
    for toe in (-5.5, -6.0, -6.5):
        drive = {"name": "drive", "drive": {"wall": {"toe": toe, "stopped_short": "resting"}}}
        case = build([drive, SEEP], soils=[WET, concrete], layers=[("sand", 0.0)], blocks=[base], water={"outside": -1.0}, section={"element_size": 0.4})
        taken[toe] = flow(case).out["wall"]
        doubted[toe] = any("just on tight ground" in doubt.message for doubt in warnings_of(case))
    assert taken[-5.5] > 1.5 * taken[-6.0] and abs(taken[-6.5]) < 1e-12
    assert doubted == {-5.5: False, -6.0: True, -6.5: False}
