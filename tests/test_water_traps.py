"""Water that kills where a check once passed, or said nothing: each found in a review, each with its number by hand."""

import numpy as np
import pytest
from build import CLAY, DRIVE, SAND, build, soil, wall

from fesoil.case.sequence import situations
from fesoil.mesh import make_mesh
from fesoil.result.water_stage import stage_texts, stage_water, water_doubts
from fesoil.solve.stages import water_of
from fesoil.solve.system import make_base
from fesoil.water.pore import at_points

WATER = 9.81
WET = soil(SAND, permeability=1e-4)
GRAVEL = soil(SAND, name="gravel", permeability=1.0)
PUMP = {"name": "pump", "dig": {"wall": -3.0}, "water": {"inside": -3.0}, "seepage": True}
NESTED = [wall("outer", 6.0, top=4.0), wall("inner", 3.0, top=1.0)]
WIDE = {"right": 25.0, "bottom_level": -13.0, "element_size": 0.5}


def found(case, index=-1):
    """Water of a situation of a case."""
    now = situations(case)[index]
    return stage_water(case, now, water_of(case, make_base(make_mesh(case)), now))


def least(water, name="heave of the prism, lumped factor", place=""):
    """Least factor of the checks of a name at a place."""
    return min(f.check.factor for f in water.checks if f.check.name == name and place in f.place)


def nested(digs, levels):
    stages = [{"name": "drive", "drive": {"outer": -9.0, "inner": -9.0}}, {"name": "pump", "dig": digs, "water": levels, "seepage": True}]
    return found(build(stages, soils=[WET, GRAVEL], layers=[("sand", 0.0), ("gravel", -9.0)], water={"outside": 3.0}, walls=NESTED, section=WIDE))


@pytest.mark.parametrize(
    "digs, levels, factor",
    [
        ({"outer": -3.0, "inner": -5.0}, {"inside": -3.0, "inner": -5.0}, 4 * 10.19 / (7.99 * WATER)),
        ({"outer": -3.0, "inner": -5.0}, {"inside": -3.0, "inner": -3.1}, 4 * 10.19 / (6.09 * WATER)),
        ({"outer": -5.0, "inner": -5.0}, {"inside": -5.0}, 4 * 10.19 / (7.99 * WATER)),
    ],
)
def test_an_inner_pit_feels_the_river_not_the_level_in_the_ring(digs, levels, factor):
    """Gravel at the toes has all but the river's level of +3: excess of 8 m (6.1 m) under 4 m of sand, whatever the ring between the walls is pumped to."""
    assert least(nested(digs, levels), place="wall inner") == pytest.approx(factor, rel=0.02)


def test_a_dry_side_does_not_hide_the_water_of_the_other():
    """Water on the left only: the right wall of the pit is checked as well, and it is the toe of the shorter one that governs."""
    walls = [wall("a", -2.0, top=4.0, cofferdam="pit"), wall("b", 2.0, top=4.0, cofferdam="pit")]
    stages = [{"name": "drive", "drive": {"a": -7.0, "b": -5.0}}, PUMP | {"dig": {"pit": -3.0}}]
    section = {"half": False, "left": -14.0, "element_size": 0.5}
    case = build(stages, soils=[WET], walls=walls, section=section, water={"left": 3.0, "right": -2.8, "inside": -2.8})
    now = situations(case)[-1]
    flow = water_of(case, make_base(make_mesh(case)), now)
    excess = flow.head_at(np.linspace(1.001, 1.999, 200), np.full(200, -5.0)).mean() + 3.0  # the water in the pit stands at -3
    assert excess > 0.5  # although the water just behind wall b stands no higher than in the pit
    assert least(stage_water(case, now, flow), place="wall b") == pytest.approx(2 * 10.19 / (excess * WATER), rel=0.01)


def test_free_water_on_the_bed_counts_where_the_ground_lags():
    """A flood of +2 over ground water at -2.5: the cap on the head is that of the flood."""
    stages = [DRIVE, PUMP | {"water": {"inside": -3.0, "outside": 2.0}, "ground_water": {"outside": -2.5}}]
    water = found(build(stages, soils=[WET], walls=[wall(top=3.0, plan_length=4.0)], water={"outside": -1.0}, section={"element_size": 0.5}))
    assert least(water) < 1.5
    assert any("1.00 m above the water outside" in text for text in stage_texts(water))


@pytest.mark.parametrize("dig", [-4.0, -4.5])
def test_a_bare_toe_fails_loudly(dig):
    stages = [{"name": "drive", "drive": {"wall": -4.0}}, PUMP | {"dig": {"wall": dig}, "water": {"inside": dig}, "declared": "dig below toe"}]
    water = found(build(stages, soils=[WET], water={"outside": -0.5}))
    assert least(water) == 0.0 and "wall" in water.inflow
    record = type("Record", (), {"name": "pump"})
    assert water_doubts([record], [water])[0].startswith("WATER IS NOT SATISFIED")


def pit_with_trench(soils, layers):
    walls = [wall("a", -4.0, cofferdam="pit"), wall("b", 4.0, cofferdam="pit")]
    line = [[-4, -2.0], [-2.5, -2.0], [-2.4, -5.0], [2.4, -5.0], [2.5, -2.0], [4, -2.0]]
    stages = [{"name": "drive", "drive": {"pit": -7.0}}, {"name": "dig", "dig": {"pit": line}, "water": {"pit": -5.0}, "seepage": True}]
    section = {"half": False, "left": -20.0, "right": 20.0, "bottom_level": -13.0, "element_size": 0.5}
    return found(build(stages, soils=soils, layers=layers, water={"outside": -1.0}, walls=walls, section=section))


def test_clay_dug_deeper_in_the_middle_is_lifted_there():
    """3 m of clay left over gravel with 7 m of water: 51 over 68.7 kPa, not the 6 m under the berms."""
    water = pit_with_trench([CLAY, GRAVEL], [("clay", 0.0), ("gravel", -8.0)])
    assert least(water, "uplift by weight alone, lumped factor", "over -8.00 m in pit") == pytest.approx(51 / (7 * WATER), rel=0.01)


def test_a_trench_beside_a_berm_takes_its_ground_away():
    """The prism is that of the trench, 2 m down to the toe, not of the berm's 5 m."""
    assert least(pit_with_trench([WET], [("sand", 0.0)])) < 2.6


def test_the_lid_beneath_a_seam_that_is_cut_off_is_looked_at():
    """Clay from -5.5 to -8 over gravel with the water at -0.5: all ground over -8 weighs 2 x 17 + 0.5 x 20 + 2.5 x 17 = 86.5 kPa, over 7.5 x 9.81 = 73.6."""
    layers = [("clay", 0.0), ("sand", -5.0), ("clay", -5.5), ("gravel", -8.0)]
    case = build([DRIVE, PUMP], soils=[CLAY, WET, GRAVEL], layers=layers, water={"outside": -0.5}, section=WIDE)
    assert least(found(case), "uplift by weight alone, lumped factor", "-8.00") == pytest.approx((34 + 52.5) / (7.5 * WATER), rel=0.01)


def test_water_in_a_seam_that_is_cut_off_keeps_its_pressure():
    """Within the pit the seam at -5 holds the pressure of before the works, 4.5 x 9.81 = 44.1 kPa, under 34 kPa of clay: by the level in the pit it would be harmless."""
    layers = [("clay", 0.0), ("sand", -5.0), ("clay", -5.5), ("gravel", -8.0)]
    case = build([DRIVE, PUMP], soils=[CLAY, WET, GRAVEL], layers=layers, water={"outside": -0.5}, section=WIDE)
    base = make_base(make_mesh(case))
    water = water_of(case, base, situations(case)[-1])
    material = np.where(base.mesh.centroids[:, 1] > -3.0, -1, [s.name for s in case.soils].index("sand"))
    x, y = np.moveaxis(base.triangles.points + base.mesh.origin, -1, 0)
    pore = at_points(case, base.mesh, situations(case)[-1], material, water.head)
    seam = (x < 1.9) & (y < -5.0) & (y > -5.5)
    assert pore[seam] == pytest.approx(WATER * (-0.5 - y[seam]), rel=1e-6)


def test_a_slow_layer_below_the_toe_is_a_lid():
    """It drains, but a thousand times slower than the gravel beneath: 4.6 m of 20 and 0.3 m of 19 kN/m3 are 97.7 kPa over 10.4 x 9.81 = 102."""
    slow = soil(SAND, name="slow", permeability=1e-9, unit_weight={"moist": 18.0, "saturated": 19.0})
    fine = soil(SAND, name="fine sand", permeability=1e-5)
    stages = [{"name": "drive", "drive": {"wall": -7.5}}, PUMP]
    section = {"right": 20.0, "bottom_level": -13.0, "element_size": 0.3}
    layers = [("fine sand", 0.0), ("slow", -7.6), ("gravel", -7.9)]
    water = found(build(stages, soils=[fine, slow, GRAVEL], layers=layers, water={"outside": 2.5}, walls=[wall(x=3.0, top=4.0)], section=section))
    assert least(water, "uplift by weight alone, lumped factor", "-7.90") == pytest.approx(97.7 / 102.0, rel=0.01)


def test_wells_that_stop_flood_the_pit_with_all_that_they_took():
    """4 m of pit for each metre run, over floor and wells together."""
    well = {"name": "well", "x": 1.0, "from_level": -4.0, "to_level": -6.5}
    case = build([DRIVE, PUMP | {"pump": {"well": -3.4}}], soils=[WET], walls=[wall(top=3.0)], wells=[well], water={"outside": 1.0}, section={"element_size": 0.5})
    water = found(case)
    minutes = 4.0 / (water.inflow["wall"] + water.wells["well"]) / 60
    text = next(t for t in stage_texts(water) if t.startswith("Should the pumps stop"))
    assert f"in {minutes:.0f} minutes" in text or f"in {minutes / 60:.0f} hours" in text
    assert not any(t.startswith("Level to act") for t in stage_texts(water))  # the head is not in proportion to the level outside


def test_a_slab_in_the_ring_does_not_weigh_on_the_inner_floor():
    slab = {"name": "ring", "between": ["outer", "inner"], "top_level": -2.5, "thickness": 0.5, "E": 2e7}
    stages = [{"name": "drive", "drive": {"outer": -9.0, "inner": -9.0}},
              {"name": "pump", "dig": {"outer": -3.0, "inner": -5.0}, "water": {"inside": -3.0, "inner": -5.0}, "seepage": True}, {"name": "cast", "cast": "ring"}]
    case = build(stages, soils=[WET], water={"outside": 0.0}, walls=NESTED, section=WIDE, slabs=[slab])
    before, after = (next(f.check.resistance for f in found(case, i).checks if f.pit == "inner" and "lumped" in f.check.name) for i in (2, 3))
    assert before == pytest.approx(4 * 10.19) and after == pytest.approx(before)


def test_a_slab_that_is_dug_beneath_hangs_on_its_walls():
    """It no longer seals the floor nor weighs on it."""
    slab = {"name": "plug", "between": ["wall", "axis"], "top_level": -1.0, "thickness": 0.5, "E": 2e7}
    stages = [DRIVE, {"name": "dig", "dig": {"wall": -1.5}}, {"name": "cast", "cast": "plug"}, PUMP | {"dig": {"wall": -4.0}, "water": {"inside": -4.0}}]
    water = found(build(stages, soils=[WET], slabs=[slab], water={"outside": -1.0}, section={"element_size": 0.5}))
    assert water.inflow["wall"] > 1e-5
    assert next(f.check.resistance for f in water.checks if "lumped" in f.check.name) == pytest.approx(3 * 10.19)


def test_drawdown_compresses_the_clay_over_the_sand():
    """4 m of clay over sand whose head falls by some 2 m: half of that fall over 4 m of 1.5 MPa is far more than what the sand does."""
    clay = soil(CLAY, stiffness={"E": 3e3, "compression_modulus": 1500.0})
    sand = soil(WET, stiffness={"E": 2e4, "poisson_ratio": 0.3, "compression_modulus": 3e4})
    stages = [{"name": "drive", "drive": {"wall": -9.0}}, PUMP | {"dig": {"wall": -5.0}, "water": {"inside": -5.0}}]
    case = build(stages, soils=[clay, sand], layers=[("clay", 0.0), ("sand", -4.0)], water={"outside": -0.5}, section={"bottom_level": -14.0, "right": 30.0})
    now = situations(case)[-1]
    water = water_of(case, make_base(make_mesh(case)), now)
    fall = -0.5 - water.head_at(np.array([2.1]), np.array([-4.1]))[0]
    settled = stage_water(case, now, water).drawdown[0][2].total
    assert settled == pytest.approx(WATER * fall / 2 * 4 / 1500 + 0.0075, rel=0.15)


def test_water_in_the_pit_is_taken_off_the_pressure_and_that_is_said():
    """3 m of clay with 3.5 m of water on it over 7.5 m of pressure, UK set: 1.1 x 4 x 9.81 / (0.9 x 51) = 0.94. It counts on the water in the pit."""
    stages = [DRIVE, {"name": "dig", "dig": {"wall": -5.0}, "water": {"inside": -1.5}, "seepage": True}]
    water = found(build(stages, soils=[CLAY, GRAVEL], layers=[("clay", 0.0), ("gravel", -8.0)], water={"outside": -0.5}, section={"bottom_level": -13.0}))
    worst = max((f.check for f in water.checks if "partial" in f.check.name and "sides" not in f.place), key=lambda c: c.utilisation)
    assert worst.utilisation == pytest.approx(1.1 * 4 * WATER / (0.9 * 51), rel=0.01)
    assert all("less that of the water in the pit" in f.place for f in water.checks if "uplift" in f.check.name)


def test_closed_sides_are_no_pass():
    water = found(build([DRIVE, PUMP], soils=[WET], walls=[wall(plan_length=4.0)], water={"outside": -1.0, "far_boundary": "closed"}))
    assert not any(f.is_whole for f in water.checks if "heave" in f.check.name)
    assert any("greatest at first" in text for text in stage_texts(water))


def test_a_pit_pumped_below_the_toe_says_that_heave_is_not_checked():
    water = found(build([DRIVE, PUMP | {"water": {"inside": -8.0}}], soils=[WET], water={"outside": -1.0}))
    assert any("HEAVE IS NOT CHECKED" in text for text in stage_texts(water))
