"""Soils that are undrained in effective stress: the law at a point, excess pore pressure in closed forms, its dissipation, walls beside such ground, and what a case may say.

Closed forms are Hooke's law with and without the stiffness of the pore water, Mohr-Coulomb at constant mean stress, and hydrostatics, derived beside each check.
"""

import numpy as np
import pytest
from build import CLAY, CURVE, DIG, DRIVE, ELASTIC, SAND, WATER, build, soil, wall

import fesoil
from fesoil.case.plausible import warnings_of
from fesoil.case.sequence import situations
from fesoil.case.stiffness import bulk_ratio, implied_strength
from fesoil.mesh import make_mesh
from fesoil.result.doubts import doubts
from fesoil.result.store import read_result
from fesoil.soils.ground import effective, excess, ground_of, merged, without_excess
from fesoil.soils.mohr_coulomb import Principal
from fesoil.soils.pore_fluid import PoreFluid
from fesoil.result.terms import term_texts
from fesoil.solve.analyse import analyse
from fesoil.water.pore import at_points, on_walls

XX, YY, ZZ, XY = range(4)
C, PHI = 5.0, 25.0
NOTHING = 1e-7
WET = soil(CLAY, name="silt", drainage="undrained effective", stiffness={"E": 1e4, "poisson_ratio": 0.3}, at_rest=1.0,
           unit_weight={"moist": 18.0, "saturated": 20.0}, strength={"effective_cohesion": C, "friction_angle": PHI})  # fmt: skip
DRAINED_SPONGE = soil(ELASTIC, name="sponge", unit_weight={"moist": 20.0, "saturated": 20.0})
SPONGE = soil(DRAINED_SPONGE, drainage="undrained effective")
G = 2e4 / 2.6
M, K_SKELETON = 2e4 * 0.7 / (1.3 * 0.4), bulk_ratio(0.3) * G
K_WATER = (bulk_ratio(0.499) - bulk_ratio(0.3)) * G
SMALL = soil(WET, stiffness={**CURVE, "compression_modulus": 2e4}, undrained_poisson_ratio=0.499)


def ground(kind, p, **more):
    """Ground of one soil at points of mean stress p (n,) at level -3."""
    case = build([], soils=[kind], section={"deeper_bottom_level": -14.0})
    return case.soils, ground_of(case.soils, np.zeros(len(p), int), np.asarray(p, float), np.full(len(p), -3.0), **more)


def isotropic(*p):
    return -np.outer(p, [1.0, 1.0, 1.0, 0.0])


def radius(stress):
    principal = Principal.of(stress)
    return (principal.a - principal.b) / 2


# at a point


def test_the_shear_modulus_is_the_soils_and_the_bulk_modulus_that_of_both():
    """nu_u 0.499 and G give K_u = 2 G 1.499 / 0.006 (Hooke's law)."""
    _, law = ground(SPONGE, [100.0])
    D = law.update(np.zeros((1, 4)), law.split(isotropic(100.0))).tangent[0]
    assert D[XY, XY] == pytest.approx(G) and D[XX, XX] - D[XX, YY] == pytest.approx(2 * G)
    assert D[:3, :3].sum() / 9 == pytest.approx(2 * G * 1.499 / 0.006)


def test_excess_pressure_takes_its_share_of_mean_stress_whatever_yields():
    """All volumetric strain is elastic without dilation: excess over the change of mean total stress is K / (K + K')."""
    soils, law = ground(WET, [100.0])
    state = law.split(isotropic(100.0))
    for k in range(20):
        update = law.update(np.array([[1e-3, -1.2e-3, 0.0, 1e-3]]), state)
        state = update.state
    change = -update.stress[0, :3].mean() - 100.0
    assert update.yielded[0] == 1 and change > 50
    assert excess(state, soils)[0] / change == pytest.approx(1 - bulk_ratio(0.3) / bulk_ratio(0.499), rel=1e-9)
    assert update.stress == pytest.approx(effective(state, soils) - excess(state, soils)[:, None] * [1, 1, 1, 0])


@pytest.mark.parametrize("kind", [WET, SMALL], ids=["one stiffness", "stiff at small strain"])
@pytest.mark.parametrize("factor", [1.0, 1.4])
def test_strength_at_constant_volume(kind, factor):
    """c' cos(phi') + p' sin(phi') with c' and tan(phi') divided by the factor; mean effective stress stays. The strength of the parts of ground that is stiff at
    small strain is reached only by degrees, and their stress of rest need not be isotropic in each."""
    soils, law = ground(kind, [80.0, 200.0])
    state = law.split(isotropic(80.0, 200.0))
    law = law.reduced(factor)
    for k in range(40):
        state = law.update(np.tile([2e-3, -2e-3, 0.0, 0.0], (2, 1)), state).state
    phi = np.arctan(np.tan(np.radians(PHI)) / factor)
    expected = C / factor * np.cos(phi) + np.array([80.0, 200.0]) * np.sin(phi)
    assert radius(effective(state, soils)) == pytest.approx(expected, rel=1e-6 if kind is WET else 5e-3)
    assert np.all(law.mobilised(state) > 0.995)


@pytest.mark.parametrize("kind", [WET, SMALL], ids=["one stiffness", "stiff at small strain"])
@pytest.mark.parametrize("theta", [0.0, 0.03])
def test_tangent_against_central_differences(kind, theta):
    """In ground pressed so hard, and strained with so little change of volume, that no point comes to its tension limit, where the tangent keeps a share of stiffness."""
    random, n, h, size = np.random.default_rng(3), 40, 1e-9, 5e-2 if kind is WET else 5e-3
    _, law = ground(kind, np.full(n, 1000.0))
    first, step = random.normal(0, size, (2, n, 4))
    for strain in (first, step):
        strain[:, :3] -= 0.99 * strain[:, :3].mean(axis=1, keepdims=True)
    state = law.update(first, law.split(isotropic(*np.full(n, 1000.0)))).state
    exact = law.update(step, state, theta)
    assert set(exact.yielded) == {0, 1}
    for j, unit in enumerate(h * np.eye(4)):
        up, down = (law.update(step + sign * unit, state, theta, tangent=False).stress for sign in (1, -1))
        slope = (up - down) / (2 * h)
        close = np.abs(slope - exact.tangent[:, :, j]).max(axis=1) < 1e-4 * np.abs(exact.tangent).max(axis=(1, 2))
        assert np.all(close)


def test_water_takes_no_shear_and_no_relaxation():
    soils, law = ground(WET, [100.0])
    state = law.split(isotropic(100.0))
    step = np.array([[0.0, -1e-3, 0.0, 0.05]])
    plain, relaxed = (law.update(step, state, theta) for theta in (0.0, 0.5))
    assert excess(plain.state, soils) == excess(relaxed.state, soils) == pytest.approx(1e-3 * K_WATER / 2)  # E is half that of the sponge
    assert np.all(plain.state[:, -1, XY] == 0)


def test_states_of_ground_with_and_without_water_side_by_side():
    """The water of one soil has a place of its own behind all parts; other soils leave it empty, and one that drains forgets it."""
    case = build([], soils=[WET, SAND, soil(SMALL, name="small")], section={"deeper_bottom_level": -14.0})
    names, material = [s.name for s in case.soils], np.array([0, 1, 2, -1])
    whole = ground_of(case.soils, material[:3], np.full(3, 100.0), np.full(3, -3.0))
    state = whole.split(isotropic(100.0, 100.0, 100.0))
    assert state.shape == (3, 7, 4) and effective(state, case.soils) == pytest.approx(isotropic(100, 100, 100))
    state = whole.update(np.tile([0, -1e-4, 0, 0], (3, 1)), state).state
    water, dry = excess(state, case.soils), names.index("sand")
    assert water[dry] == 0 and np.all(np.delete(water, dry) > 1)
    one = merged(state, case.soils)
    assert one.shape == (3, 2, 4) and one.sum(axis=1) == pytest.approx(state.sum(axis=1))
    assert whole.whole().update(np.zeros((3, 4)), one).stress == pytest.approx(state.sum(axis=1), rel=1e-6)
    gone = without_excess(np.concatenate([state, state[:1]]), case.soils, material, {"silt"})
    assert excess(gone, case.soils)[names.index("silt")] == 0 and excess(gone, case.soils)[names.index("small")] == water[names.index("small")]
    drained = ground_of(case.soils, material[:3], np.full(3, 100.0), np.full(3, -3.0), {"silt"})
    assert [isinstance(law, PoreFluid) for _, law in drained.groups] == [name == "small" for name in names]


# one dimension: load, dissipation, water


def one_dimensional(stages, soils=(SPONGE,), **more):
    return analyse(build(stages, soils=soils, walls=[], **more))


def settlement(result, index, level=0.0):
    y = result.mesh.points[:, 1] + result.mesh.origin[1]
    return -result.states[index].u[np.abs(y - level) < 1e-6, 1]


def test_a_wide_load_goes_into_the_water_and_then_into_the_soil():
    """Settlement q H / (M + K) at first and q H / M in the end; excess q K / (M + K) and then none."""
    load = {"name": "fill", "from": 0.0, "to": 14.0, "pressure": 30.0}
    stages = [{"name": "on", "load": ["fill"]}, {"name": "wait", "dissipate": ["sponge"]}, {"name": "off", "unload": ["fill"]}]
    result = one_dimensional(stages, loads=[load], water={"outside": -2.0})
    assert settlement(result, 1) == pytest.approx(30 * 11 / (M + K_WATER), rel=1e-9)
    assert result.field(1).excess == pytest.approx(30 * K_WATER / (M + K_WATER), rel=1e-9)
    assert settlement(result, 2) == pytest.approx(30 * 11 / M, rel=1e-9)
    assert np.all(result.field(2).excess == 0)
    assert np.abs(settlement(result, 3)).max() < NOTHING and np.abs(result.field(3).excess).max() == 0  # it drains from then on
    assert np.abs(result.field(3).stress - result.field(0).stress).max() < 1e-6


def test_the_start_is_that_of_drained_ground():
    wet, dry = (one_dimensional([{"name": "nothing"}], soils=[kind], water={"outside": -3.0}) for kind in (WET, soil(WET, drainage="drained", unit_weight={"moist": 20.0, "saturated": 20.0})))
    assert wet.records[0].start_residual < 1e-9 and wet.records[0].start_movement < NOTHING
    assert wet.field(0).stress == pytest.approx(dry.field(0).stress, abs=1e-6)  # saturated above the water table as well
    assert np.all(wet.field(0).excess == 0)


def test_water_lowered_beside_a_sealed_layer():
    """Water goes from 0 to -3 in sand above: there the effective stress grows by (9.81 - 2) z. The layer below keeps its steady pressure; it loses 2 x 3 kPa of total stress, which
    the pore water takes: a rise of 6 x 8 / (M + K). Once it drains all is as if it always had, but for its weight."""
    stages = [{"name": "pump", "water": {"outside": -3.0}}, {"name": "wait", "dissipate": ["sponge"]}]
    layers = [("top", 0.0), ("sponge", -3.0)]
    result = one_dimensional(stages, soils=[soil(ELASTIC, name="top"), soil(ELASTIC, name="sponge", drainage="undrained effective")], layers=layers, water={"outside": 0.0})
    assert settlement(result, 1) == pytest.approx((WATER - 2) * 4.5 / M - 6 * 8 / (M + K_WATER), rel=1e-9)
    low = result.field(1).material == [s.name for s in result.case.soils].index("sponge")
    assert result.field(1).excess[low] == pytest.approx(-6 * K_WATER / (M + K_WATER), rel=1e-9)
    assert settlement(result, 2) == pytest.approx((WATER - 2) * (4.5 + 3 * 8) / M, rel=1e-9)


# walls


def cut(kind):
    """A slope dug in two stages below the water table in ground without a wall, and what comes after."""
    digs = [{"name": f"dig {d}", "dig": {"everywhere": [[0, -d], [3, -d], [3 + d, 0], [14, 0]]}, "water": {"outside": -d}} for d in (1.5, 3.0)]
    return analyse(build([*digs, after(kind)], soils=[kind], walls=[], layers=[(kind["name"], y) for y in (0.0, -1.5, -3.0)], water={"outside": -1.0}))


def pit(kind):
    """A pit beside a smooth wall, in ground of high lateral pressure. Wall and frame come before all else, in ground without excess pressure."""
    frame = {"name": "frame", "between": ["wall", "axis"], "level": -0.3, "stiffness": 4e5}
    hold = {"name": "hold", "fit": ["frame"], "lock": ["frame"], "declared": ["frame below dig"]}
    digs = [{"name": f"dig {d}", "dig": {"wall": -d}, "water": {"inside": -d}} for d in (2.0, 3.0)]
    return analyse(build([DRIVE, hold, *digs, after(kind)], soils=[soil(kind, at_rest=1.5)], layers=[(kind["name"], y) for y in (0.0, -1.0, -2.0, -3.0)],
                         frames=[frame], walls=[wall(sheet={"EI": 2e6})], water={"outside": -1.0}))  # fmt: skip


def after(kind):
    return {"name": "wait", "dissipate": [kind["name"]] if kind is SPONGE else []}


@pytest.mark.parametrize("job, tolerance", [(cut, 1e-8), (pit, 1e-3)], ids=["no wall", "smooth wall"])
def test_elastic_ground_does_not_know_when_its_water_left(job, tolerance):
    """Linear ground has one answer (path independence): dug without drainage and drained afterwards, or drained all the time, all movements and stresses are the same.

    Faces of a smooth wall may open but remember nothing of it; they take the search to its limit of 1e-4 of the weights, 1e-3 of the largest movement. How high such a wall stands
    is left out: it has no weight, and stays where the ground under its toe has lifted it.
    """
    wet, dry = (job(kind) for kind in (SPONGE, DRAINED_SPONGE))
    assert wet.complete and dry.complete and len(wet.records) == len(dry.records)
    before, known = (r.field(len(r.records) - 2) for r in (wet, dry))
    nodes = np.unique(known.triangles)
    assert np.abs(before.excess).max() > 10  # the water has worked
    assert np.abs(before.displacement - known.displacement)[nodes].max() > 0.05 * np.abs(known.displacement[nodes]).max()
    last = [(r.states[-1].u[nodes], r.states[-1].w[:, [0, 2]], r.states[-1].section, r.field(len(r.records) - 1).stress) for r in (wet, dry)]
    for ours, expected in zip(*last):
        assert np.abs(ours - expected).max(initial=0.0) <= tolerance * np.abs(expected).max(initial=0.0)


def test_driving_moves_nothing():
    """Through a boundary of layers, at once and in two strokes, and below a water table."""
    stages = [{"name": "drive", "drive": {"wall": -5.0}}, {"name": "deeper", "drive": {"wall": -7.5}}]
    result = analyse(build(stages, soils=[SAND, WET], layers=[("sand", 0.0), ("silt", -3.0)], water={"outside": -3.0}))
    assert max(np.abs(s.u).max() for s in result.states) < NOTHING and max(np.abs(s.w).max() for s in result.states) < NOTHING


def on_outer_face(result, index):
    """Total pressure (s, 3) [kPa] of the ground, one soil, on the right face of a wall, and the part of it beyond the steady pore pressure."""
    state, mesh = result.states[index], result.mesh
    beyond = -state.traction[:, 1, :, 0]
    return beyond + on_walls(result.case, mesh, result.situations[index], np.zeros(len(mesh.triangles), int), state.head)[:, 1], beyond


@pytest.mark.parametrize("filled", [False, True])
def test_a_gap_opens_where_total_pressure_would_be_tension(filled):
    """The ground may press with less than the steady pore pressure of before the works (suction), but never with less than nothing, or than the water in the gap."""
    firm = soil(WET, strength={"effective_cohesion": 40, "friction_angle": PHI}, wall_friction={"adhesion": 5, "water_filled_gap": filled})
    result = analyse(build([DRIVE, {"name": "dig", "dig": {"wall": -3.0}, "water": {"inside": -3.0}}], soils=[firm], water={"outside": -0.5}))
    assert result.complete
    stand = result.mesh.segment_levels[:, 1] > -7.0 - 1e-6
    total, beyond = (values[stand] for values in on_outer_face(result, 2))
    level = result.mesh.wall_points[result.mesh.segments[stand], 1] + result.mesh.origin[1]
    gap = WATER * np.maximum(-0.5 - level, 0.0) if filled else 0 * level
    assert np.all(total > gap - 1e-6) and np.any(np.abs(total - gap) < 1e-6)
    assert np.any(beyond < -1.0) or filled


def test_undrained_ground_presses_as_clay_of_the_strength_that_follows(monkeypatch):
    """A wall in ground of uniform strength by su, and of one that c' and phi' make: without friction su = c' at any depth. Joints are made so stiff that the difference of theirs,
    which follows the drained stiffness here and the undrained one there, counts for nothing; E is that of the same shear modulus."""
    monkeypatch.setattr("fesoil.solve.stages.JOINT_STIFFNESS", 200.0)
    clay = soil(CLAY, name="silt", unit_weight={"moist": 18.0, "saturated": 18.0}, stiffness={"E": 1e4 * 1.495 / 1.3}, strength={"undrained_strength": 30, "tension_limit": 1000}, at_rest=1.0)
    wet = soil(WET, unit_weight=clay["unit_weight"], undrained_poisson_ratio=0.495, strength={"effective_cohesion": 30, "friction_angle": 0, "tension_limit": 1000})
    both = [analyse(build(DIG, soils=[kind])).wall("wall").lines[1] for kind in (clay, wet)]
    assert both[1].deflection == pytest.approx(both[0].deflection, rel=0.02, abs=1e-5)
    assert both[1].moment == pytest.approx(both[0].moment, rel=0.02, abs=0.05)


def test_strength_reduction_divides_what_effective_stress_gives():
    """Without friction su = c': the factor of a dig is that of the same dig in clay of that su, but for the width of the last bracket."""
    search = {"strength_reduction": {"largest": 3.0, "tolerance": 0.02}}
    stages = [DRIVE, {"name": "dig", "dig": {"wall": -3.5}, **search}]
    clay = soil(CLAY, name="silt", unit_weight={"moist": 18.0, "saturated": 18.0}, strength={"undrained_strength": 15, "tension_limit": 1000}, at_rest=1.0)
    wet = soil(WET, unit_weight=clay["unit_weight"], strength={"effective_cohesion": 15, "friction_angle": 0, "tension_limit": 1000})
    factors = [analyse(build(stages, soils=[kind])).records[2].reduction["factor"] for kind in (clay, wet)]
    assert factors[1] == pytest.approx(factors[0], abs=0.021)


def test_ground_that_is_stiff_at_small_strain_holds_its_water_as_well():
    """Dug without drainage, drained, and searched for its factor on the way: excess pressure comes and goes, and the ground moves on into the pit."""
    search = {"strength_reduction": {"largest": 1.5, "tolerance": 0.1}}
    stages = [DRIVE, {"name": "dig", "dig": {"wall": -2.0}, **search}, {"name": "wait", "dissipate": ["silt"]}]
    result = analyse(build(stages, soils=[SMALL], section={"deeper_bottom_level": -14.0}, water={"outside": -1.0}))
    assert result.complete and result.states[-1].stress.shape[1] == 7
    assert result.records[2].reduction["factor"] > 1
    assert np.abs(result.field(2).excess).max() > 5 and not result.field(3).excess.any()
    assert result.heave(3) > 1.2 * result.heave(2)


def test_a_run_goes_on_and_is_read_again(tmp_path):
    stages = [*DIG, {"name": "wait", "dissipate": ["silt"]}]
    case = build(stages, soils=[WET], water={"outside": -1.0})
    whole = analyse(case, tmp_path / "a")
    again = read_result(tmp_path / "a")
    assert all(np.array_equal(a.stress, b.stress) for a, b in zip(whole.states, again.states))
    for kept in (tmp_path / "a" / "states").glob("03.*"):
        kept.unlink()
    resumed = analyse(case, tmp_path / "a")
    assert np.array_equal(resumed.states[3].u, whole.states[3].u)
    assert np.abs(whole.field(2).excess).max() > 1 and not whole.field(3).excess.any()


def test_effective_stress_makes_more_strength_than_is_measured():
    """(1 + K0) / 2 sin(phi') of 22 and 28 deg with K0 = 1 - sin(phi'): 0.304 and 0.359 of the upright stress; p of K0 ground is (1 + 2 K0) / 3 of it."""
    for angle, ratio in ((22.0, 0.304), (28.0, 0.359)):
        case = build([], soils=[soil(WET, at_rest=None, strength={"effective_cohesion": 0, "friction_angle": angle})])
        K0 = 1 - np.sin(np.radians(angle))
        assert implied_strength(case.soils[0], 100.0 * (1 + 2 * K0) / 3, np.zeros(1)) == pytest.approx([100 * ratio], abs=0.1)


def test_short_and_long_term_stand_side_by_side_with_their_time():
    """11 m of ground that drains upwards only: d2 gamma_w / (k M) = 121 x 9.81 / (1e-9 x 26,923) = 4.41e7 s, 510 days; through gravel below it, a quarter of that."""
    stages = [DRIVE, {"name": "dig", "dig": {"wall": -3.0}}, {"name": "wait", "dissipate": ["sponge"]}]
    tight = soil(SPONGE, permeability=1e-9)
    result = analyse(build(stages, soils=[tight]))
    (text,) = term_texts(result)
    assert text.startswith("Short term (stage 2) and long term (stage 3): wall wall deflection") and "510 days" in text
    for stage in (2, 3):
        assert f"{result.stage_summary(stage)['ground']['base_heave_mm']:.1f}" in text
    open_below = build(stages, soils=[tight, soil(ELASTIC, name="gravel")], layers=[("sponge", 0.0), ("gravel", -8.0)])
    assert "67 days" in term_texts(analyse(open_below))[0]  # d = 4 m
    assert "not known without its permeability" in term_texts(analyse(build(stages, soils=[SPONGE])))[0]


# what a case may say


@pytest.mark.parametrize(
    "change, where, said",
    [
        ({"strength": {"effective_cohesion": 5, "friction_angle": 25, "dilation_angle": 3}}, "dilation_angle", "without end"),
        ({"strength": {"effective_cohesion": 5, "friction_angle": 25, "per_metre_depth": 2, "at_level": 0}}, "undrained_strength", "does not grow"),
        ({"strength": {"undrained_strength": 25}}, "effective_cohesion", "Add it"),
        ({"stiffness": {"E": 1e4, "poisson_ratio": 0.4992}}, "poisson_ratio", "skeleton"),
        ({"drainage": "drained", "undrained_poisson_ratio": 0.499}, "undrained_poisson_ratio", "Remove it"),
        ({"undrained_poisson_ratio": 0.4999}, "undrained_poisson_ratio", "0.4995"),
    ],
)
def test_faults(change, where, said):
    with pytest.raises(fesoil.CaseError) as error:
        build([], soils=[soil(WET, **change)])
    assert where in str(error.value) and said in str(error.value)


def test_such_ground_is_not_placed_and_only_such_ground_dissipates():
    fill = {"name": "fill", "backfill": {"everywhere": {"soil": "silt", "to": 1.0}}}
    for stages, soils, said in (([fill], [SAND, WET], "in a soil that is placed"), ([{"name": "wait", "dissipate": ["sand"]}], [SAND], "undrained effective")):
        with pytest.raises(fesoil.CaseError, match=said):
            build(stages, soils=soils)


@pytest.mark.parametrize(
    "strength, K0, loud, said",
    [
        ({"undrained_strength": 60}, 1.0, False, "beside 60 to 60 kPa as stated"),
        ({"undrained_strength": 10, "at_level": 0, "per_metre_depth": 1.5}, 1.0, True, "unsafe side"),
        ({}, 0.6, True, "has 0.19 to 0.27"),
        ({"effective_cohesion": 0, "friction_angle": 18}, 0.69, False, "0.26 to 0.26"),
    ],
)
def test_the_strength_that_follows_is_told(strength, K0, loud, said):
    """c' cos(phi') + (1 + K0) / 2 x upright stress x sin(phi'): the second of 5, 25 deg and K0 1 makes 4.5 + 0.42 s, above 10 + 1.5 z from the start; 0.845 sin 18 = 0.26."""
    case = build([], soils=[soil(WET, at_rest=K0, strength={"effective_cohesion": C, "friction_angle": PHI, **strength})], water={"outside": 0.0})
    found = [d for d in warnings_of(case) if d.path.endswith(".strength") and "undrained strength" in str(d)]
    assert len(found) == 1 and found[0].is_note is not loud
    top = 0.1 * 11 * (20 - WATER)
    least = strength.get("effective_cohesion", C) * np.cos(np.radians(strength.get("friction_angle", PHI))) + (1 + K0) / 2 * top * np.sin(np.radians(strength.get("friction_angle", PHI)))
    assert f"{least:.3g} to" in str(found[0])
    assert said in str(found[0])


def test_the_long_term_and_the_face_are_mentioned():
    rough = soil(WET, wall_friction={"angle": 12, "adhesion": 8})
    texts = [str(d) for d in warnings_of(build(DIG, soils=[rough]))]
    assert any("dissipate" in t for t in texts) and any("only once the soil drains" in t for t in texts)
    texts = [str(d) for d in warnings_of(build([*DIG, {"name": "wait", "dissipate": ["silt"]}], soils=[rough]))]
    assert not any("long term" in t for t in texts) and any("beside friction" in t for t in texts)


def test_loaded_ground_that_is_stiff_at_small_strain_needs_its_compression_to_drain():
    kind = soil(SMALL, stiffness=CURVE)
    load = {"name": "fill", "from": 4.0, "to": 9.0, "pressure": 30.0}
    on, wait = {"name": "on", "load": ["fill"]}, {"name": "wait", "dissipate": ["silt"]}
    more = dict(soils=[kind], loads=[load], section={"deeper_bottom_level": -14.0}, walls=[])
    build([on], **more)
    with pytest.raises(fesoil.CaseError, match="compression_modulus"):
        build([on, wait], **more)


def test_seals_the_path_of_water_until_it_drains():
    """Head in sand below such a layer beside a pumped pit: that of the outside while the layer seals, less once water flows."""
    stages = [DRIVE, {"name": "pump", "water": {"inside": -2.0}}, {"name": "wait", "dissipate": ["silt"]}]
    case = build(stages, soils=[WET, SAND], layers=[("silt", 0.0), ("sand", -4.0)], water={"outside": 0.0})
    mesh = make_mesh(case)
    sand = [s.name for s in case.soils].index("sand")
    material = np.where(mesh.centroids[:, 1] + mesh.origin[1] < -4.0, sand, 1 - sand)
    inside = (mesh.centroids[:, 0] + mesh.origin[0] < 2.0) & (material == sand)
    centre = mesh.centroids[:, 1] + mesh.origin[1]
    sealed, open_ = (at_points(case, mesh, situations(case)[i], material, np.full(len(mesh.points), np.nan)).mean(axis=1) / WATER + centre for i in (2, 3))
    assert np.all(sealed[inside] > open_[inside] + 0.1)
    silt = material != sand
    assert sealed[silt] == pytest.approx(0.0, abs=1e-9)  # what it had before the works


def test_suction_that_water_does_not_bear_is_doubted():
    """8 m of 20 kN/m3 taken off everywhere leave -160 kPa in the pore water (one-dimensional, all but 0.3 % of it); 3 m leave -60."""
    strong = soil(SPONGE, strength={"effective_cohesion": 400, "friction_angle": 0, "tension_limit": 1000})
    for depth, said in ((8.0, True), (3.0, False)):
        result = analyse(build([{"name": "dig", "dig": {"everywhere": -depth}}], soils=[strong], walls=[], section={"bottom_level": -14.0}))
        assert any("below what water bears" in doubt for doubt in doubts(result)) == said
