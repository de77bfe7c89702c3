"""Which way the numbers of a propped pit go when one thing in it is changed, as published or common experience: trends, not values.

The pit is invented: 4 m deep and 4 m wide, one frame a metre below the surface, triangles of a metre beside the wall. That a job
moved, mirrored, written in another order or dug in more stages stays the same is checked in test_stages.py.
"""

import numpy as np
import pytest
from build import CLAY, SAND, build, soil, wall

from fesoil.solve.analyse import analyse

ROUGH = soil(SAND, strength={"effective_cohesion": 1.0, "friction_angle": 30, "dilation_angle": 15})
SOFT = soil(CLAY, strength={"undrained_strength": 20})
SOILS = pytest.mark.parametrize("ground", [ROUGH, SOFT], ids=["sand", "clay"])
FRAME = {"name": "frame", "between": ["wall", "axis"], "level": -1.0, "stiffness": 5e4}
SAFETY = {"strength_reduction": {"tolerance": 0.03}}


def pit(ground, toe=-7.0, EI=3e4, preload=0.0, last=(), **dig):
    """Result of a pit dug to -4 m; ``dig`` adds keys to the stage in which that is done, ``last`` are stages after it."""
    lock = {"name": "lock", "fit": ["frame"], "lock": ["frame"]} | ({"pressurise": {"frame": preload}} if preload else {})
    first = [{"name": "drive", "drive": {"wall": toe}}, {"name": "first dig", "dig": {"wall": -1.5}}]
    stages = [*first, lock, {"name": "dig", "dig": {"wall": -4.0}} | dig, *last]
    result = analyse(build(stages, soils=[ground], frames=[FRAME], walls=[wall(sheet={"EI": EI})]))
    assert result.complete
    return result


def frame_load(result):
    return result.frames["frame"][-1]


def moment(result):
    return np.abs(result.wall("wall").lines[-1].moment).max()


def movement(result):
    """Greatest movement of the wall towards the pit [m]."""
    return result.wall("wall").lines[-1].deflection.max()


def factors(result):
    """Safety factors of the stages that searched one, and the smallest factors that were seen to fail."""
    found = [r.reduction for r in result.records if r.reduction]
    return [f["factor"] for f in found], [f["failed"] for f in found]


def rises(values):
    return np.all(np.diff(values) > 0)


def test_pressure_at_rest_loads_frame_and_wall_but_brings_no_collapse_nearer():
    """Potts and Fourie 1984 and 1985 (from memory): load of the prop and moment of the wall rise with K0, while the depth at which the wall
    fails hardly depends on it. Here the safety factor at one depth stands for that depth: within 5 %, with a bracket of 2 %."""
    results = [pit(soil(ROUGH, at_rest=k0), toe=-4.75, **SAFETY) for k0 in (0.5, 1.0, 2.0)]
    assert rises([frame_load(r) for r in results]) and rises([moment(r) for r in results])
    safe = [factors(r)[0][0] for r in results]
    assert 1.1 < min(safe) and max(safe) < 1.05 * min(safe)


@SOILS
def test_more_preload_brings_less_movement_at_much_the_same_moment(ground):
    """Latapie et al. 2017 (abstract, from memory): rams with preload move less, and the wall's moment changes little, taken as 25 %. The preloads
    stay below the load that the frame takes without any; beyond it the wall is pushed back into the ground."""
    results = [pit(ground, preload=preload) for preload in (0.0, 10.0, 20.0)]
    assert frame_load(results[0]) > 20.0
    assert rises([frame_load(r) for r in results]) and rises([-movement(r) for r in results])
    assert [moment(r) for r in results[1:]] == pytest.approx([moment(results[0])] * 2, rel=0.25)


@SOILS
def test_a_stiffer_wall_moves_less_and_takes_more_moment(ground):
    """Rowe 1952 on anchored sheet piles (from memory): the moment falls with the wall's flexibility."""
    results = [pit(ground, EI=EI) for EI in (5e3, 2e4, 8e4)]
    assert rises([moment(r) for r in results]) and rises([-movement(r) for r in results])


@pytest.mark.parametrize("ground, toes", [(ROUGH, (-4.5, -5.0, -5.5)), (SOFT, (-4.75, -5.5, -6.5))], ids=["sand", "clay"])
def test_a_deeper_toe_never_lowers_the_safety_factor(ground, toes):
    """A wall driven on only bars the way of mechanisms. It is driven on in one job, so that the mesh is the same: what stood with the shorter toe
    must not be seen to fail with the longer, and from first to last the factor rises by more than its bracket."""
    first, *others = toes
    result = pit(ground, toe=first, last=[{"name": f"toe at {toe}", "drive": {"wall": toe}} | SAFETY for toe in others], **SAFETY)
    safe, failed = factors(result)
    assert len(safe) == 3 and safe[0] > 1
    assert np.all(np.array(safe[:-1]) < failed[1:]) and safe[-1] > failed[0]
