"""One step of Mohr-Coulomb: stresses returned to planes, edges and the apex by closed form, and random steps by their defining conditions."""

from __future__ import annotations

from itertools import permutations

import numpy as np
from scipy.optimize import nnls

from benchmarks import sketch
from benchmarks.common import mohr_coulomb
from benchmarks.problem import Answer, Graph, Problem, Row

E, NU, PHI, C = 30e3, 0.3, 30.0, 10.0
"""Young's modulus [kPa], Poisson's ratio, friction [deg], cohesion [kPa]. Tension is positive here."""

COMPLIANCE = (1 + NU) * np.eye(3) - NU * np.ones((3, 3))
STIFFNESS = np.linalg.inv(COMPLIANCE)
"""Hooke's law between principal stresses and strains, for E = 1."""

APEX = C / np.tan(np.radians(PHI))
PLANE, BOTH_LARGEST, BOTH_SMALLEST, TIP = "main plane", "edge s1 = s2", "edge s2 = s3", "apex"
LIMIT, EDGE_OF_LIMIT = "limit of tension twice", "plane and limit"

TABLE = (
    ((-20, -100, -250), np.inf, (0, PLANE), (10, PLANE), (30, PLANE)),
    ((-20, -25, -300), np.inf, (0, BOTH_LARGEST), (10, BOTH_LARGEST), (30, BOTH_LARGEST)),
    ((-20, -280, -300), np.inf, (0, BOTH_SMALLEST), (10, BOTH_SMALLEST), (30, PLANE)),
    ((60, 50, 40), np.inf, (10, TIP), (30, TIP)),
    ((100, 10, -20), np.inf, (10, BOTH_SMALLEST), (30, PLANE)),
    ((10, -20, -40), 0.0, (0, EDGE_OF_LIMIT), (10, PLANE), (30, PLANE)),
    ((10, 8, -20), 0.0, (0, LIMIT), (10, LIMIT), (30, LIMIT)),
    ((10, 8, 5), 0.0, (0, LIMIT), (10, LIMIT), (30, LIMIT)),
    ((20, -60, -120), 0.0, (0, PLANE), (10, PLANE), (30, PLANE)),
)
"""Trial stress (s1, s2, s3), limit of tension [kPa], and where the return ends for angles of dilation [deg]."""

SAME = 1e-9
REASON = "algebra: only round-off may differ"
COUNT = 600


def plane(i, j, angle):
    """Normal of the plane on which s_i is the largest and s_j the smallest; its flow direction when ``angle`` [deg] is the dilation."""
    normal = np.zeros(3)
    normal[[i, j]] = 1 + np.sin(np.radians(angle)), np.sin(np.radians(angle)) - 1
    return normal


SURFACES = {
    PLANE: ((0, 2),), BOTH_LARGEST: ((0, 2), (1, 2)), BOTH_SMALLEST: ((0, 2), (0, 1)), LIMIT: (0, 1), EDGE_OF_LIMIT: ((0, 2), 0),
}  # fmt: skip
"""Planes that meet where a return ends: pairs (largest, smallest) of shear planes, and stresses at the limit of tension."""


def returned(trial, psi, limit, place):
    """Closed form: trial less elastic stress of flow along the surfaces' directions, so much that all of them hold (Koiter 1953, from memory)."""
    if place == TIP:
        return np.full(3, APEX)
    surfaces = SURFACES[place]
    normals, flows = (np.array([np.eye(3)[s] if np.isscalar(s) else plane(*s, angle) for s in surfaces]) for angle in (PHI, psi))
    beyond = normals @ trial - [limit if np.isscalar(s) else 2 * C * np.cos(np.radians(PHI)) for s in surfaces]
    return trial - STIFFNESS @ flows.T @ np.linalg.solve(normals @ STIFFNESS @ flows.T, beyond)


def by_law(trials, psi, limit):
    """Principal stresses (n, 3), s1 >= s2 >= s3, that the law returns from trials (n, 3): s1 along x, s3 along y, s2 out of the plane."""
    trials = np.asarray(trials, float)
    state = np.column_stack([trials[:, 0], trials[:, 2], trials[:, 1], np.zeros(len(trials))])[:, None]
    law = mohr_coulomb(E, NU, PHI, psi, C, limit)(np.zeros((len(trials), 2)))
    return np.sort(law.update(np.zeros((len(trials), 4)), state, tangent=False).stress[:, :3], axis=1)[:, ::-1]


def table_rows():
    rows = []
    for trial, limit, *ends in TABLE:
        for psi, place in ends:
            expected, found = returned(np.array(trial, float), psi, limit, place), by_law([trial], psi, limit)[0]
            far = np.linalg.norm(expected - trial)
            label = f"from {trial}, psi {psi} deg, {place}: length of the return with its miss [kPa]"
            rows.append(Row(label, far, far + np.linalg.norm(found - expected), -SAME, SAME, REASON))
    return rows


def answers(trial, stress, psi, limit):
    """Whether a return meets the conditions that define it.

    No plane is overstepped, and the strain taken is a sum of the flow directions, none of them negative, of planes that the stress lies on; of all
    such sums the nearest is found by non-negative least squares. All nine planes count, in any order of stresses.
    """
    pairs, size = list(permutations(range(3), 2)), max(1.0, np.abs(trial).max())
    normals, flows = (np.vstack([[plane(i, j, angle) for i, j in pairs], np.eye(3)]) for angle in (PHI, psi))
    room = normals @ stress - [*[2 * C * np.cos(np.radians(PHI))] * 6, *[min(limit, APEX)] * 3]
    on = np.abs(room) < 1e-9 * size
    strain = COMPLIANCE @ (trial - stress)
    left = nnls(flows[on].T, strain)[1] if on.any() else np.linalg.norm(strain)
    return bool(room.max() < 1e-9 * size and left < 1e-9 * size)


def random_rows():
    rows, rng = [], np.random.default_rng(1)
    for limit in (np.inf, 0.0, 5.0):
        for psi in (0.0, 10.0, PHI):
            trials = np.sort(-40.0 + rng.normal(0.0, 1.0, (COUNT, 3)) * rng.choice([10.0, 60.0, 200.0], (COUNT, 1)), axis=1)[:, ::-1]
            held = sum(answers(*pair, psi, limit) for pair in zip(trials, by_law(trials, psi, limit)))
            name = "no limit of tension" if np.isinf(limit) else f"limit of tension {limit:g} kPa"
            rows.append(Row(f"random steps, psi {psi:g} deg, {name}: returns that meet all conditions", COUNT, held, 0.0, 0.0, "every one"))
    return rows


def run(_) -> Answer:
    return Answer(table_rows() + random_rows(), graph=compared())


def by_any_place(trial, psi):
    """The closed form that meets all conditions, of a trial that is far from the apex."""
    ends = [returned(trial, psi, np.inf, place) for place in (PLANE, BOTH_LARGEST, BOTH_SMALLEST)]
    return next(end for end in ends if answers(trial, end, psi, np.inf))


def compared() -> Graph:
    """The stress returned as the middle stress of the trial goes from the largest to the smallest."""
    middle, lines, marks = np.linspace(-299, -21, 100), [], []
    trials = np.column_stack([np.full(100, -20.0), middle, np.full(100, -300.0)])
    for psi in (0.0, 10.0, PHI):
        lines.append((f"closed form, psi {psi:g} deg", middle, [-by_any_place(trial, psi)[2] for trial in trials]))
        marks.append((f"fesoil, psi {psi:g} deg", middle[::5], -by_law(trials[::5], psi, np.inf)[:, 2]))
    return Graph("Middle stress of the trial (-20, s2, -300) [kPa]", "Returned -s3 [kPa]", tuple(lines), tuple(marks))


def draw(ax):
    """The hexagon of Mohr-Coulomb across the line of equal stresses, with a return to a side and one to a corner."""
    turn = np.radians(30 + 60 * np.arange(6))
    sides = np.where(np.arange(6) % 2, 1.0, 0.7)
    corners = np.column_stack([sides * np.cos(turn), sides * np.sin(turn)])
    sketch.ground(ax, corners)
    middle, corner = (corners[0] + corners[1]) / 2, corners[3]
    sketch.arrow(ax, 1.7 * middle, middle, "trial")
    sketch.arrow(ax, 1.4 * corner, corner)
    sketch.say(ax, 0, 0, "elastic")


PROBLEM = Problem(
    "return map", "Single steps of Mohr-Coulomb ground, nu = 0.3, 30 deg, c = 10 kPa, from trial stresses outside it",
    "Koiter's rule (1953, from memory), closed form; random steps: its conditions, by non-negative least squares of scipy",
    run, (None,), (None,), draw,
)
