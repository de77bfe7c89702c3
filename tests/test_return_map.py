"""Mohr-Coulomb at single points: returned stress, tangent and element paths.

Expected values come from `oracle.py` (enumeration of all active sets) and from the closed forms named beside each check.
"""

from __future__ import annotations

import numpy as np
import oracle
import pytest

from fesoil.soils import mohr_coulomb
from fesoil.soils.elastic import ELASTIC, SHEAR, TENSION, Elastic, elastic_matrix, elastic_stiffness
from fesoil.soils.mohr_coulomb import RESIDUAL, MohrCoulomb

E, NU, C = 30e3, 0.3, 10.0
PHI = np.radians(30)
INF = np.inf


def law(psi=0.0, t=INF, n=1, phi=30.0, c=C, nu=NU, E=E):
    return MohrCoulomb(nu, np.radians(phi), np.radians(psi), np.full(n, E), c, t)


def returned(material, stress, **kwargs):
    """Update of points whose trial stress is `stress` (n, 4)."""
    stress = np.asarray(stress, float)
    return material.update(np.zeros_like(stress), stress[:, None], **kwargs)


def rotation(angle):
    """Turns a stress `[xx, yy, zz, xy]` by `angle` (n,) about z: (n, 4, 4). Its inverse, transposed, turns a strain."""
    c, s = np.cos(angle), np.sin(angle)
    T = np.zeros((len(angle), 4, 4))
    T[:, 0, 0] = T[:, 1, 1] = c * c
    T[:, 0, 1] = T[:, 1, 0] = s * s
    T[:, 0, 3], T[:, 1, 3] = -2 * c * s, 2 * c * s
    T[:, 2, 2] = 1
    T[:, 3, 0], T[:, 3, 1], T[:, 3, 3] = c * s, -c * s, c * c - s * s
    return T


# ---- returned stress ------------------------------------------------------------------------------------------------------------------------

# Sorted trial, tension limit, and the return for psi = 0, 10, 30 (E irrelevant, nu 0.3, c 10, phi 30): own enumeration.
APEX = (17.3205080757,) * 3  # c cot(phi)
TABLE = [
    ((-20, -100, -250), INF, (-58.839746, -100, -211.160254), (-65.766736, -108.312388, -231.941224), (-73.778110, -117.926037, -255.975346)),
    ((-20, -25, -300), INF, (-62.071797, -62.071797, -220.856406), (-76.443912, -76.443912, -263.972751), (-92.332583, -92.332583, -311.638764)),
    ((-20, -280, -300), INF, (-75.816853, -262.091574, -262.091574), (-82.887593, -283.303795, -283.303795), (-91.085802, -303.695267, -307.898422)),
    ((60, 50, 40), INF, APEX, APEX, APEX),
    ((100, 10, -20), INF, APEX, (12.969317, 4.266936, 4.266936), (1.221890, -22.926037, -30.975346)),
    ((10, -20, -40), 0, (0, -21.392305, -34.641016), (-0.416297, -21.891861, -35.889906), (-2.239648, -24.079883, -41.359961)),
    ((10, 8, -20), 0, (0, 0, -25.4), (0, 0, -25.4), (0, 0, -25.4)),
    ((10, 8, 5), 0, (0, 0, -0.4), (0, 0, -0.4), (0, 0, -0.4)),
    ((20, -60, -120), 0, (-16.339746, -60, -83.660254), (-22.820866, -67.777344, -103.103614), (-30.316571, -76.772190, -125.590730)),
]  # fmt: skip


@pytest.mark.parametrize("psi, trial, t, expected", [(psi, *row[:2], row[2 + k]) for row in TABLE for k, psi in enumerate((0, 10, 30))])
def test_table_of_returns(psi, trial, t, expected):
    s1, s2, s3 = trial
    in_turn = [(s1, s3, s2, 0), (s1, s2, s3, 0), (s3, s2, s1, 0), ((s1 + s3) / 2, (s1 + s3) / 2, s2, (s1 - s3) / 2)]
    update = returned(law(psi, t, n=4), in_turn)
    found = np.sort(np.column_stack([principal(update.stress), update.stress[:, 2]]))[:, ::-1]
    assert np.abs(found - expected).max() < 6e-7  # the digits printed
    exact = oracle.step(np.array([trial], float), NU, PHI, np.radians(psi), C, min(t, APEX[0])).stress
    assert np.abs(found - exact).max() < 1e-9


def principal(stress):
    """In-plane principal stresses (n, 2) from the eigenvalues of the 2 x 2 tensor."""
    return np.linalg.eigvalsh(stress[:, [0, 3, 3, 1]].reshape(-1, 2, 2))


# phi, psi, c, t, nu: every region must be met. The last two are what parts of a small-strain law look like.
MATERIALS = [
    (30, 0, 10, 0, 0.3),
    (30, 10, 10, 0, 0.3),
    (30, 30, 10, 4, 0.3),
    (35, 5, 0, 0, 0.2),
    (25, 8, 5, INF, 0.3),
    (0, 0, 40, INF, 0.495),
    (0, 0, 40, 0, 0.495),
    (40, 12, 0.5, 0, -0.76),
    (30, 0, 3, 1, 0.48),
]
REGIONS = {"", "f13", "f13+f23", "f12+f13", "t1", "f13+t1", "t1+t2", "f12+f13+t1", "f13+t1+t2", "f13+f23+t1", "t1+t2+t3"}


def random_trials(n, t, seed):
    """Principal stresses (n, 3), sorted, over sizes of 1 to 300 kPa on both sides of the tension limit; and (n, 4) with them in random axes."""
    rng = np.random.default_rng(seed)
    size = 10 ** rng.uniform(0, 2.5, (n, 1))
    trial = -np.sort(-size * (rng.normal(size=(n, 3)) + rng.normal(size=(n, 1))) - (t if np.isfinite(t) else 0))
    places = rng.permuted(np.tile(np.arange(3), (n, 1)), axis=1)
    stress = np.column_stack([np.take_along_axis(trial, places, axis=1), np.zeros(n)])
    return trial, np.einsum("nij,nj->ni", rotation(rng.uniform(0, np.pi, n)), stress)


def test_random_trials_against_enumeration():
    met, count = set(), 12000
    for seed, (phi, psi, c, t, nu) in enumerate(MATERIALS):
        limit = min(t, c / np.tan(np.radians(phi))) if phi else t
        trial, stress = random_trials(count, limit, seed)
        exact = oracle.step(trial, nu, np.radians(phi), np.radians(psi), c, limit)
        update = returned(law(psi, t, count, phi, c, nu), stress, tangent=False)
        found = np.sort(np.column_stack([principal(update.stress), update.stress[:, 2]]))[:, ::-1]
        assert exact.miss.max() < 1e-8
        assert np.abs(found - exact.stress).max() < 1e-8
        values = found @ oracle.planes(np.radians(phi)).T - np.array([2 * c * np.cos(np.radians(phi))] * 6 + [limit] * 3)
        assert values.max() < 1e-8
        assert update.tangent is None and np.array_equal((update.yielded == ELASTIC), exact.active == 0)
        met |= {"+".join(oracle.NAMES[plane] for plane in oracle.SETS[k]) for k in np.unique(exact.active)}
    assert REGIONS <= met


@pytest.mark.parametrize("psi", (0, 10, 30))
def test_ties_and_points_on_a_plane_are_finite_and_stay(psi):
    on_plane = (-100 - 2 * C * np.sqrt(3)) / 3  # s1 at yield with s3 = -100, where N = 3
    stress = [[-50, -50, -50, 0], [0, 0, 0, 0], [on_plane, -100, on_plane, 0], [on_plane, -100, -100, 0], [on_plane, -100, -60, 0]]
    material = law(psi, t=0, n=5)
    update = returned(material, stress)
    assert np.allclose(update.stress, stress, rtol=0, atol=1e-12) and np.isfinite(update.tangent).all()
    stretch = np.tile([1e-3, 1e-3, 1e-3, 0], (5, 1))
    for increment in (stretch, -stretch, np.zeros((5, 4))):
        update = material.update(increment, update.state)
        assert np.isfinite(update.tangent).all() and (update.stress[:, :3] <= 1e-9).all()


def test_points_that_no_set_fits_take_the_nearest(monkeypatch):
    """With a tolerance that nothing can meet, every point goes the way that is meant for round-off: same answer."""
    _, stress = random_trials(500, 0, 19)
    stress = stress[returned(law(t=0, n=500), stress).yielded != ELASTIC]
    material = law(t=0, n=len(stress))
    usual = returned(material, stress)
    monkeypatch.setattr(mohr_coulomb, "ROUND_OFF", -1.0)
    assert np.allclose(returned(material, stress).stress, usual.stress, rtol=0, atol=1e-8)


def test_parameters_may_differ_from_point_to_point():
    rng, n = np.random.default_rng(2), 60
    _, stress = random_trials(n, 0, 5)
    moduli, cohesion, limit = rng.uniform(1e4, 5e4, n), rng.uniform(0, 20, n), rng.uniform(0, 5, n)
    material = MohrCoulomb(NU, PHI, 0.1, moduli, cohesion, limit)
    together = returned(material, stress)
    for i in range(n):
        alone = returned(MohrCoulomb(NU, PHI, 0.1, moduli[i : i + 1], cohesion[i], limit[i]), stress[i : i + 1])
        assert np.allclose(alone.stress[0], together.stress[i], rtol=0, atol=1e-10)
        assert np.allclose(alone.tangent[0], together.tangent[i], rtol=0, atol=1e-6)


# ---- tangent --------------------------------------------------------------------------------------------------------------------------------


def true_tangent(update):
    """The tangent without the elastic share that tension points are given on purpose."""
    D, share = update.tangent.copy(), RESIDUAL
    tension = update.yielded == TENSION
    D[tension] = (D[tension] - share * elastic_stiffness(np.full(tension.sum(), E), NU)) / (1 - share)
    return D


@pytest.mark.parametrize("psi, t", [(0, 0), (10, 0), (30, 0), (10, INF)])
def test_tangent_against_central_differences(psi, t):
    """Left out beforehand: trials whose active set or order of principal stresses is not the same at all eight neighbours used (they straddle a
    kink), and circles smaller than 1 kPa, where the differences themselves are not accurate."""
    n, h = 1500, 1e-4 / E
    material = law(psi, t, n)
    limit = min(t, APEX[0])
    _, stress = random_trials(n, limit, 7)
    update = returned(material, stress)
    differences, kinds = np.zeros((n, 4, 4)), []
    for column in range(4):
        ends = []
        for sign in (1, -1):
            increment = np.zeros((n, 4))
            increment[:, column] = sign * h
            ends.append(material.update(increment, stress[:, None]).stress)
            neighbour = stress + E * increment @ elastic_matrix(NU)
            unsorted = np.column_stack([principal(neighbour), neighbour[:, 2]])
            kinds.append(np.column_stack([oracle.step(unsorted, NU, PHI, np.radians(psi), C, limit).active, np.argsort(unsorted, axis=1)]))
        differences[:, :, column] = (ends[0] - ends[1]) / (2 * h)
    smooth = (np.array(kinds) == kinds[0]).all(axis=(0, 2)) & (np.ptp(principal(stress), axis=1) > 2)
    assert smooth.mean() > 0.8 and set(update.yielded[smooth]) == {ELASTIC, SHEAR, TENSION}
    assert np.abs(true_tangent(update) - differences)[smooth].max() < 1e-6 * E


def test_tangent_symmetric_only_if_associated():
    _, stress = random_trials(2000, 0, 3)
    for psi in (0, 10, 30):
        update = returned(law(psi, t=0, n=2000), stress)
        skew = np.abs(update.tangent - update.tangent.transpose(0, 2, 1)).max(axis=(1, 2)) / E
        assert skew[update.yielded == ELASTIC].max() < 1e-12
        assert skew.max() < 1e-12 if psi == 30 else np.median(skew[update.yielded == SHEAR]) > 1e-2


def test_tangent_where_the_circle_is_a_point():
    """In-plane tie on the tension plane: the returned circle stays a point whichever way it is strained, up to the elastic share."""
    update = returned(law(t=0), [[5, 5, -30, 0]])
    assert np.allclose(true_tangent(update)[0][[0, 1, 3]], 0, atol=1e-6)
    assert np.allclose(true_tangent(update)[0, 2], [0, 0, E, 0], atol=1e-6)  # uniaxial stress along z


def test_turning_the_axes_changes_nothing():
    n, rng = 500, np.random.default_rng(11)
    _, stress = random_trials(n, 0, 13)
    increment, T = 1e-3 * rng.normal(size=(n, 4)), rotation(rng.uniform(0, np.pi, n))
    strains = np.linalg.inv(T).transpose(0, 2, 1)
    material = law(10, t=0, n=n)
    here = material.update(increment, stress[:, None])
    there = material.update(np.einsum("nij,nj->ni", strains, increment), np.einsum("nij,nj->ni", T, stress)[:, None])
    assert np.abs(np.einsum("nij,nj->ni", T, here.stress) - there.stress).max() < 1e-10
    assert np.abs(T @ here.tangent @ T.transpose(0, 2, 1) - there.tangent).max() < 1e-6 * E


def test_relaxation_keeps_a_share_of_the_trial():
    _, stress = random_trials(500, 0, 17)
    material = law(n=500, t=0)
    true, kept = returned(material, stress), returned(material, stress, theta=0.03)
    elastic = elastic_stiffness(material.E, NU)
    assert np.allclose(kept.stress, 0.97 * true.stress + 0.03 * stress, rtol=0, atol=1e-10)
    assert np.allclose(kept.tangent, 0.97 * true.tangent + 0.03 * elastic, rtol=0, atol=1e-8 * E)
    assert np.array_equal(kept.state[:, 0], kept.stress) and np.array_equal(true.state[:, 0], true.stress)
    finished = material.update(np.zeros((500, 4)), kept.state)
    assert np.allclose(finished.stress, true.stress, rtol=0, atol=1e-9)


# ---- element paths --------------------------------------------------------------------------------------------------------------------------


def drive(material, stress, strain, held, steps):
    """Strain one point from `stress` (4,) by `strain` (4,) in equal steps, keeping the stress components in `held` by Newton's method.

    Returns stresses and total strains (steps + 1, 4). Least squares, because on an edge the split of strain between equal stresses is open.
    """
    state, total = np.array(stress, float)[None, None], np.zeros(4)
    stresses, strains = [state[0, 0]], [total]
    target, held = state[0, 0, held], list(held)
    for _ in range(steps):
        increment = np.array(strain, float) / steps
        for _ in range(30):
            update = material.update(increment[None], state)
            out_of_balance = target - update.stress[0, held]
            if np.abs(out_of_balance).max(initial=0) < 1e-10:
                break
            increment[held] += np.linalg.lstsq(update.tangent[0][np.ix_(held, held)], out_of_balance)[0]
        else:
            raise AssertionError("no equilibrium")
        state, total = update.state, total + increment
        stresses.append(state[0, 0])
        strains.append(total)
    return np.array(stresses), np.array(strains)


XX, YY, ZZ, XY = range(4)
STRENGTH = 3 * 100 + 2 * C * np.sqrt(3)  # N s3 + 2 c sqrt(N)


def test_drained_biaxial():
    """Plane strain compression at a cell pressure of 100 kPa, psi 10: s1 = N s3 + 2 c sqrt(N), Hooke's law to yield, d eps_x = -K d eps_y after it."""
    K = (1 + np.sin(np.radians(10))) / (1 - np.sin(np.radians(10)))
    stress, strain = drive(law(10), [-100, -100, -100, 0], [0, -0.00711744, 0, 0], [XX], 4)
    assert stress[-1, YY] == pytest.approx(-STRENGTH, abs=2e-4)
    assert strain[-1, XX] == pytest.approx(0.00305033, abs=1e-8)
    assert stress[-1, ZZ] == pytest.approx(-170.392, abs=1e-3)
    stress, strain = drive(law(10), [-100, -100, -100, 0], [0, -0.05, 0, 0], [XX], 20)
    assert stress[-1, YY] == pytest.approx(-STRENGTH, abs=1e-8)
    assert strain[-1, XX] == pytest.approx(0.0639554, abs=1e-7)
    assert np.diff(strain[:, XX])[-5:] == pytest.approx(-K * np.diff(strain[:, YY])[-5:], abs=1e-10)


def test_triaxial_compression():
    """Both lateral stresses held (edge s1 = s2), psi 10: yield at (s1 - s3)/E, then d eps_v / d eps_1 = -2 sin psi / (1 - sin psi)."""
    at_yield = (STRENGTH - 100) / E
    stress, strain = drive(law(10), [-100, -100, -100, 0], [0, -at_yield, 0, 0], [XX, ZZ], 1)
    assert at_yield == pytest.approx(0.00782137, abs=1e-8)
    assert strain[-1, [XX, ZZ]] == pytest.approx([0.00234641] * 2, abs=1e-8)
    stress, strain = drive(law(10), [-100, -100, -100, 0], [0, -0.05, 0, 0], [XX, ZZ], 20)
    last = np.diff(strain, axis=0)[-1]
    assert stress[-1, YY] == pytest.approx(-STRENGTH, abs=1e-8)
    assert last[:3].sum() / last[YY] == pytest.approx(-0.420277, abs=1e-6)


@pytest.mark.parametrize("start, su", [((-100, -100, -100, 0), 58.6603), ((-50, -100, -50, 0), 46.1603)])
def test_undrained_biaxial(start, su):
    """Constant volume with psi = 0 keeps the mean of the circle: su = c cos phi + (sv + sh)/2 sin phi."""
    stress, _ = drive(law(), start, [0.05, -0.05, 0, 0], [], 50)
    assert (stress[-1, XX] - stress[-1, YY]) / 2 == pytest.approx(su, abs=5e-5)
    assert (stress[-1, XX] + stress[-1, YY]) / 2 == pytest.approx((start[XX] + start[YY]) / 2, abs=1e-8)


@pytest.mark.parametrize("psi, tau", [(30, 67.7350), (10, 63.2617), (0, 58.6603)])
def test_simple_shear(psi, tau):
    """Sheared at sv = 100 kPa until stress and strain rate are coaxial: tau = cos psi (sv sin phi + c cos phi)/(1 - sin phi sin psi) (Davis 1968,
    "Theories of plasticity and the failure of soil masses", from memory)."""
    stress, strain = drive(law(psi), [-50, -100, -50, 0], [0, 0, 0, 0.3], [YY], 300)
    exact = np.cos(np.radians(psi)) * (100 * np.sin(PHI) + C * np.cos(PHI)) / (1 - np.sin(PHI) * np.sin(np.radians(psi)))
    assert stress[-1, XY] == pytest.approx(exact, abs=1e-6) and exact == pytest.approx(tau, abs=5e-5)
    assert np.diff(strain[:, YY])[-1] == pytest.approx(np.tan(np.radians(psi)) * 0.001, abs=1e-9)


def test_oedometer_stays_elastic():
    """nu 0.3: K0 = nu/(1 - nu) is inside Mohr-Coulomb even without cohesion, stiffness E (1 - nu)/((1 + nu)(1 - 2 nu))."""
    stress, _ = drive(law(c=0), [0, 0, 0, 0], [0, -0.01, 0, 0], [], 5)
    assert stress[-1] == pytest.approx([-403.846154 * 0.42857143, -403.846154, -403.846154 * 0.42857143, 0], abs=1e-5)


def test_isotropic_elastic_law():
    """Uniaxial strain and pure shear by Hooke's law; relaxation and strength reduction do nothing."""
    material = Elastic(NU, np.array([E]))
    update = material.update(np.array([[0, 1e-3, 0, 2e-3]]), np.zeros((1, 1, 4)), theta=0.5)
    assert update.stress[0] == pytest.approx([17.3076923, 40.3846154, 17.3076923, 23.0769231])
    assert np.allclose(update.tangent[0] @ [0, 1e-3, 0, 2e-3], update.stress[0]) and update.yielded[0] == ELASTIC
    assert material.reduced(2.0) is material and material.mobilised(update.state)[0] == 0


# ---- strength -------------------------------------------------------------------------------------------------------------------------------


def test_mobilised_share():
    """Radius over radius at failure: isotropic 0, half the biaxial deviator at constant centre 0.5, on the surface and beyond the apex 1."""
    centre, radius = -100.0, 100 * np.sin(PHI) + C * np.cos(PHI)
    points = np.array([[centre, centre, centre, 0], [centre, centre, centre, radius / 2], [centre, centre, centre, radius], [50, 50, 50, 0]])
    assert law(n=4).mobilised(points[:, None]) == pytest.approx([0, 0.5, 1, 1])
    assert law(n=4, phi=0, c=40).mobilised(np.array([[[0, -40, -20, 0]]] * 4)) == pytest.approx([0.5] * 4)
    assert law(n=1, c=0).mobilised(np.zeros((1, 1, 4))) == 1  # no stress, no strength


def test_reduced_strength():
    """c, tan(phi) and t by the factor; dilation kept until friction falls to it."""
    half = law(psi=20, t=3).reduced(2.0)
    assert [half.c[0], np.tan(half.phi), half.t[0]] == pytest.approx([5, np.tan(PHI) / 2, 1.5])
    assert half.psi == half.phi and law(psi=5).reduced(2.0).psi == np.radians(5)
    undrained = law(phi=0, c=40, t=INF).reduced(1.6)
    assert undrained.c[0] == 25 and returned(undrained, [[100, 20, 60, 0]]).stress[0, :2] == pytest.approx([85, 35])


def test_parameters_are_checked():
    assert law(t=50).t[0] == pytest.approx(APEX[0])  # never above the apex
    with pytest.raises(ValueError, match="dilation"):
        law(psi=31)
