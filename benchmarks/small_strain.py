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

from benchmarks.common import FULL, Problem, Row, at_rest_in, flat_part, lattice, mesh_of, movement, one_material, push, straightened
from benchmarks.earth_pressure import GAMMA, H, at_rest, rankine, rough_wall
from benchmarks.footing import bearing_factors, isotropic, surcharged, undrained
from benchmarks.slip_lines import earth_pressure
from fesoil.case.model import SmallStrain, Soil, Strength, UnitWeight
from fesoil.soils.ground import law_of, plain_law

# -------------------------------------------------------------------------------------------------------------------- the soils

P = 100.0
"""Mean stress [kPa] to which the sand's stiffness belongs, and that before the works where it is uniform."""

SAND = (8e4, 4e-4, 0.88)
"""G0 [kPa], reference strain and curvature of a sand, about the average of Oztoprak and Bolton 2013 (from memory)."""

CLAY = (5e3, 1.1e-3, 0.736)
"""The same of a clay with G0 = 500 su; reference strain and curvature of Vardanega and Bolton 2013 for a plasticity index of 0.5 (from memory)."""

SU = 10.0
"""Undrained strength of the clay [kPa], as in footing.py."""


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

LOOP = 1e-3
"""Shear strain at both ends of the loop."""

NOTHING_LEFT = 1e-6
"""What the tolerance of equilibrium may leave of a rule that the law keeps to the last digit."""


def sheared(law, pressure, path):
    """Shear stress [kPa] at each shear strain of a path, of a square metre in simple shear at constant volume, from the same pressure all round.

    Eight triangles: the outer nodes are moved, the inner ones find their place; the stress is the force that the top takes.
    """
    points, triangles = lattice(2, 2)
    points[12] += [0.06, -0.04]  # the one corner inside, so that no triangle is like another
    mesh = mesh_of(straightened(points, triangles), triangles)
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


def curve_rows(size):
    """The same at both sizes: it takes no time."""
    rows = []
    for name, soil, pressure, curve, error in (("sand", sand(30, 0, 1.0, 1.0), P, SAND, 0.072), ("clay", clay(), 0.0, CLAY, 0.059)):
        law, (G0, reference, exponent) = by_points(law_of, soil), curve
        strains = np.array(sorted([1e-5, 1e-4, reference, LOOP, 1e-2]))
        first = sheared(law, pressure, strains)
        reason = f"the least squares by which six parts follow this curve leave {100 * error:.1f} %, known before any element"
        published = 1 / (1 + (strains / reference) ** exponent)
        rows += [Row(f"{name}: G/G0 at a shear strain of {s:g}", e, t / s / G0, -error, error, reason) for s, e, t in zip(strains, published, first)]
        once = strains <= LOOP
        rows += loop_rows(name, law, pressure, strains[once], first[once])
    return rows


def loop_rows(name, law, pressure, strains, first):
    """Masing's rule (1926, from memory): after a turn the curve of first loading, ``first`` at ``strains``, twice as large; so the loop closes."""
    stress, k = sheared(law, pressure, [LOOP, *(LOOP - 2 * strains), *(2 * strains - LOOP)]), len(strains)
    expected, rows = first / strains, []
    for way, turn, found in (("unloading", stress[0], stress[1 : k + 1]), ("reloading", stress[k], stress[k + 1 :])):
        secants = np.abs(found - turn) / (2 * strains)
        worst = np.argmax(np.abs(secants / expected - 1))
        label = f"{name}: secant [kPa], {way} by {2 * strains[worst]:g}, worst of {k}"
        rows.append(Row(label, expected[worst], secants[worst], -NOTHING_LEFT, NOTHING_LEFT, "each part yields at one stress, both ways"))
    reason = "each part remembers only its own stress"
    return [*rows, Row(f"{name}: stress where the loop closes [kPa]", stress[0], stress[-1], -NOTHING_LEFT, NOTHING_LEFT, reason)]


# -------------------------------------------------------------------------------------------------------------------- limit loads

UNIQUE, NOT_UNIQUE = 0.005, 0.02
"""How far the limit loads of the two laws may be apart, as the requirement says: associated, and without dilation."""


def end_of(curve):
    return curve[-1].value if curve[-1].converged else np.nan


def beside(label, exact, both, limits, apart):
    """Rows for curves ``both`` of plain law and parts: each beside ``exact`` (None: left out) with ``limits`` (low, high, reason), and together."""
    named, rows = dict(zip(("plain", "parts"), both)), []
    if exact is not None:
        rows += [Row(f"{label}, {name}", exact, end_of(curve), *limits) for name, curve in named.items()]
    reason = "associated: the limit load is unique" if apart == UNIQUE else "without dilation the limit load depends a little on the way to it"
    rows.append(Row(f"{label}, parts beside plain", *map(end_of, both), -apart, apart, reason + "; required"))
    flat = "flatter than what it shows: half of how far the two may be apart"
    for name, curve in named.items():
        ratio = flat_part(curve) if curve[-1].converged else np.nan
        rows.append(Row(f"{label}, {name}: last third, max/min", 1.0, ratio, -1e-12, apart / 2, flat))
    return rows


def either(run):
    """Curves of plain law and parts, from ``run`` (law to curve and number of triangles), and that number."""
    (plain, n), (parts, _) = run(plain_law), run(law_of)
    return (plain, parts), n


def clay_rows(size):
    """Nc with the limits of footing.undrained_rows. The fine mesh is coarser than there, where the parts need relaxation even in steps of 0.01 m."""
    rows, reason = [], "displacement elements err high; limits of the plain problem"
    coarse, fine = (0.060, 0.02, 0.6, 12), (0.020, 0.008, 0.5, 20)
    for h, high, settlement, steps in (coarse, fine) if size == FULL else (coarse,):
        both, n = either(lambda law: undrained(h, settlement, steps, by_points(law, clay())))
        rows += beside(f"Nc, {n} triangles", 2 + np.pi, both, (-0.002, high, reason), UNIQUE)
    return rows


def lowered(phi):
    """Friction angle [deg] with which ground without dilation fails at least (Davis 1968, from memory): tan phi* = cos phi tan phi."""
    return np.degrees(np.arctan(np.sin(np.radians(phi))))


BETWEEN = "between the closed forms for the friction lowered by Davis 1968 (from memory) and for the whole, which elements overstep"


def sand_rows(size):
    """Nq at 20 deg; quick on a mesh so coarse that it oversteps the closed form by 7 %, which the ratio of the laws does not feel."""
    rows, phi = [], 20
    exact, least = (bearing_factors(angle)[0] for angle in (phi, lowered(phi)))
    for psi, settlement, steps, apart in ((phi, 0.5, 20, UNIQUE), (0, 1.2, 12, NOT_UNIQUE)):
        soil, h = sand(phi, psi, 1.0), 0.1 if size == FULL else 0.3
        both, n = either(lambda law: surcharged(phi, h, settlement, steps, by_points(law, soil), P, 0.0))
        limits = (-0.002, 0.03, "displacement elements err high; limits of the plain problem") if psi else (least / exact - 1, 0.03, BETWEEN)
        rows += beside(f"Nq, psi {psi} deg, {n} triangles", exact if size == FULL else None, both, limits, apart)
    return rows


def before_wall(points):
    """Mean stress at rest [kPa] beside the walls of earth_pressure.py."""
    return -at_rest(points, 0.5)[:, :3].mean(axis=1)


def thrust_rows(size):
    """Passive thrust; the rough wall at the full size only."""
    rows, phi, friction = [], 30, 20
    for psi, apart in ((phi, UNIQUE), (0, NOT_UNIQUE)):
        soil = sand(phi, psi, 0.5)
        both = [rankine(by_points(law, soil, before_wall), 1.5, (10, 4), steps=15) for law in (plain_law, law_of)]
        limits = (-0.02, 0.02, "the whole block yields; limits of the plain problem")
        rows += beside(f"smooth [kN/m], psi {psi} deg", 1.5 * GAMMA * H**2, both, limits, apart)
    exact, least = (GAMMA * H**2 / 2 * earth_pressure(angle, friction, True) for angle in (phi, lowered(phi)))
    for psi, move, steps, apart in ((phi, 0.25, 25, UNIQUE), (0, 0.6, 12, NOT_UNIQUE)) if size == FULL else ():
        soil = sand(phi, psi, 0.5)
        run = lambda law: rough_wall(friction, move, 0.12, steps=steps, law=by_points(law, soil, before_wall), settled=0.0)  # noqa: E731
        both, n = either(run)
        limits = (-0.01, 0.04, "displacement elements err high; limits of the plain problem") if psi else (least / exact - 1, 0.04, BETWEEN)
        rows += beside(f"rough [kN/m], psi {psi} deg, {n} triangles", exact, both, limits, apart)
    return rows


PROBLEMS = (
    Problem(
        "small strain, curve", "A square of sand (p = 100 kPa) or clay in simple shear at constant volume: first loading, then a loop of +-0.001",
        "G/G0 = 1 / (1 + (strain / reference)^exponent): Darendeli 2001; Oztoprak and Bolton 2013, Vardanega and Bolton 2013 (all from memory)",
        curve_rows,
    ),
    Problem(
        "small strain, footing on clay", "The smooth rigid strip of footing.py, su = 10 kPa, G0 = 500 su: parts and plain law",
        "Nc = 2 + pi: Prandtl 1920 (from memory)", clay_rows,
    ),
    Problem(
        "small strain, footing on sand", "The smooth rigid strip of footing.py, 20 deg, surcharge 100 kPa, no weight: parts and plain law",
        "Nq: Reissner 1924 (from memory)", sand_rows,
    ),
    Problem(
        "small strain, passive thrust", "The walls of earth_pressure.py pushed into sand of 30 deg: parts and plain law",
        "smooth: Rankine; rough (20 deg): slip lines computed for the project (slip_lines.py)", thrust_rows,
    ),
)
