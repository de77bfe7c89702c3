"""Ground that is stiff at small strain: its curve through the elements, and limit loads that must be those of plain Mohr-Coulomb ground.

The parts of the law add up to the soil's own strength: they may change how far a footing or a wall moves before the ground fails, but not what
it carries then. So each limit load is found twice, with both laws of one soil, on one mesh and with one pushing, which leaves the error of the mesh
out of their ratio; and each is held against the closed form too. The pushes go several times as far as with plain ground, because the last part
yields only at a shear strain of 0.02, and later where the mean stress has grown. That this was far enough is a row of its own.

Steps are short enough for the exact Newton wherever the ground is associated: a step that only relaxation finds ends in equilibrium below the limit
load (by up to 1.5 % at the footings, 5 % at the rough wall, the longer the step the more; the next exact step carries the whole load again).
Without dilation most steps near failure are such.
"""

from __future__ import annotations

import numpy as np

from benchmarks.common import at_rest_in, end_of, flat_part, movement, one_material, push
from benchmarks.footing import SU, isotropic
from benchmarks.paths import square
from benchmarks.problem import Row
from fesoil.case.soil import SmallStrain, Soil, Strength, UnitWeight
from fesoil.soils.ground import law_of, plain_law

# -------------------------------------------------------------------------------------------------------------------- the soils

P = 100.0
"""Mean stress [kPa] to which the sand's stiffness belongs, and that before the works where it is uniform."""

SAND = (8e4, 4e-4, 0.88)
"""G0 [kPa], reference strain and curvature of a sand, about the average of Oztoprak and Bolton 2013 (from memory)."""

CLAY = (5e3, 1.1e-3, 0.736)
"""The same of a clay with G0 = 500 su; reference strain and curvature of Vardanega and Bolton 2013 for a plasticity index of 0.5 (from memory)."""


def sand(phi, psi, ratio, when_loaded_most=None):
    """Sand without cohesion: angles in degrees, at-rest ratio today and when the ground was loaded most."""
    G0, reference, exponent = SAND
    stiffness = SmallStrain(G0=G0, at_stress=P, reference_strain=reference, curvature=exponent, at_rest_when_loaded_most=when_loaded_most)
    strength = Strength(effective_cohesion=0.0, friction_angle=np.radians(phi), dilation_angle=np.radians(psi))
    return _soil("drained", stiffness, strength, ratio)


def clay():
    """Undrained clay without a limit of tension."""
    G0, reference, exponent = CLAY
    stiffness = SmallStrain(G0=G0, at_level=0.0, reference_strain=reference, curvature=exponent)
    return _soil("undrained", stiffness, Strength(undrained_strength=SU, tension_limit=np.inf), 1.0)


def _soil(drainage, stiffness, strength, ratio):
    weight = UnitWeight(moist=18.0, saturated=20.0)
    return Soil(name="ground", drainage=drainage, unit_weight=weight, stiffness=stiffness, strength=strength, at_rest=ratio)


def uniform(points):
    return np.full(len(points), P)


def by_points(law, soil, before=uniform):
    """Law by points: ``law`` (`law_of` for the parts, `plain_law`) of a soil with mean stress ``before`` the works [kPa], by points (k, 2) too."""
    return lambda points: law(soil, before(points), points[:, 1])


# --------------------------------------------------------------------------------------------------------------------- the curve

def sheared(law, pressure, path):
    """Shear stress [kPa] at each shear strain of a path, of a square metre in simple shear at constant volume, from the same pressure all round.

    Eight triangles: the outer nodes are moved, the inner ones find their place; the stress is the force that the top takes.
    """
    mesh = square()
    x, y = mesh.points.T
    outer, top = np.maximum(np.abs(x - 0.5), np.abs(y - 0.5)) > 0.5 - 1e-9, y > 1 - 1e-9
    model = one_material(mesh, law, np.repeat(outer[:, None], 2, axis=1))
    numbers = np.unique(model.unknowns.soil[top, 0])
    shape = movement(model, np.column_stack([y, np.zeros(len(y))]))
    shares = np.arange(len(path) + 1) / len(path)
    move = lambda share: np.interp(share, shares, [0.0, *path]) * shape  # noqa: E731
    load = np.zeros(model.unknowns.zero + 1)
    curve = push(model, at_rest_in(model, isotropic(pressure)), load, 1.0, move, shares[1:], lambda _, held: held[numbers].sum(), 1e-9)
    return np.array([p.value if p.converged else np.nan for p in curve] + [np.nan] * (len(path) - len(curve)))


# -------------------------------------------------------------------------------------------------------------------- limit loads

UNIQUE, NOT_UNIQUE = 0.005, 0.02
"""How far the limit loads of the two laws may be apart, as the requirement says: associated, and without dilation."""

BETWEEN = "between the closed forms for the friction lowered by Davis 1968 (from memory) and for the whole, which elements overstep"


def beside(label, exact, both, limits, apart):
    """Rows for curves ``both`` of plain law and parts: each beside ``exact`` (None: left out) with ``limits`` (low, high, reason), and together."""
    named, rows = dict(zip(("plain", "parts"), both)), []
    if exact is not None:
        rows += [Row(f"{label}, {name}", exact, end_of(curve), *limits) for name, curve in named.items()]
    reason = "associated: the limit load is unique" if apart == UNIQUE else "without dilation the limit load depends a little on the way to it"
    rows.append(Row(f"{label}, parts beside plain", *map(end_of, both), -apart, apart, reason + "; required"))
    flat = "flatter than what it shows: half of how far the two may be apart"
    for name, curve in named.items():
        ratio = flat_part(curve)
        rows.append(Row(f"{label}, {name}: last third, max/min", 1.0, ratio, -1e-12, apart / 2, flat))
    return rows


def either(run):
    """Curves of plain law and parts, from ``run`` (law to curve and number of triangles), and that number."""
    (plain, n), (parts, _) = run(plain_law), run(law_of)
    return (plain, parts), n


def both_laws(settlement, both) -> dict:
    """Names of the laws with their movement [m] and curve, as graphs want them."""
    return {name: (settlement, curve) for name, curve in zip(("plain", "parts"), both)}
