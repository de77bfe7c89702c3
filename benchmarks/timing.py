"""The fixed timing case: one wall, two struts, eight stages, psi = 10 and psi = 0, at about 1,000, 4,000 and 16,000 triangles, in ground of one stiffness
and in ground that is stiff at small strain.

    python -m benchmarks.timing [--sizes 1k 4k 16k] [--psi 10 0] [--ground one curve] [--repeat 3]

From the case text to the last VTU; imports and pictures apart; the median of the repeats. One BLAS thread (OPENBLAS_NUM_THREADS=1). Times are of this machine and
this run: read the ratios.
"""

from __future__ import annotations

import argparse
import resource
import tempfile
import time
from contextlib import contextmanager
from pathlib import Path
from statistics import median

import numpy as np
from scipy.sparse.linalg import splu

import fesoil.result.export as export_module
import fesoil.solve.analyse as analyse_module
from fesoil import linear, read_text
from fesoil.mesh import make_mesh
from fesoil.soils.ground import Ground
from fesoil.solve import newton as newton_module
from fesoil.solve import stages
from fesoil.solve.system import Model, make_base

SIZES = {"1k": 1.0, "4k": 0.24, "16k": 0.0552}
"""Element size beside the wall [m] for about so many triangles."""

CURVE = '{{ G0 = "{} MPa", at_stress = 100, reference_strain = 4e-4, strain_at_stress = 100, curvature = 0.88, compression_modulus = "{} MPa" }}'
GROUNDS = {
    "one": dict(fill='{ E = "12 MPa" }', sand='{ E = "30 MPa" }', deep='{ E = "60 MPa" }'),
    "curve": dict(fill=CURVE.format(60, 15), sand=CURVE.format(80, 30), deep=CURVE.format(120, 60)),
}
"""Stiffness of the three layers: one Young's modulus, or stiff at small strain."""

TEXT = """
title = "Timing case"
[section]
half = true
element_size = {size}
right = 70.0
bottom_level = -35.0
[[soils]]
name = "fill"
unit_weight = {{ moist = 17.0, saturated = 18.5 }}
stiffness = {fill}
strength = {{ effective_cohesion = 2.0, friction_angle = 30, dilation_angle = {psi} }}
at_rest = 0.5
wall_friction = {{ angle = 20 }}
[[soils]]
name = "sand"
unit_weight = {{ moist = 18.0, saturated = 20.0 }}
stiffness = {sand}
strength = {{ effective_cohesion = 1.0, friction_angle = 33, dilation_angle = {psi} }}
at_rest = 0.5
wall_friction = {{ angle = 20 }}
[[soils]]
name = "deep sand"
unit_weight = {{ moist = 19.0, saturated = 20.5 }}
stiffness = {deep}
strength = {{ effective_cohesion = 1.0, friction_angle = 35, dilation_angle = {psi} }}
at_rest = 0.45
wall_friction = {{ angle = 22 }}
[[layers]]
soil = "fill"
top_level = 0.0
[[layers]]
soil = "sand"
top_level = -3.0
[[layers]]
soil = "deep sand"
top_level = -12.0
[water]
outside = -3.0
inside = -3.0
[[walls]]
name = "wall"
x = 7.5
top_level = 0.0
sheet = {{ EI = "60 MN m2/m", EA = "3.5 GN/m" }}
[[frames]]
name = "upper"
between = ["wall", "axis"]
level = -1.0
stiffness = "40 MN/m2"
[[frames]]
name = "lower"
between = ["wall", "axis"]
level = -5.0
stiffness = "60 MN/m2"
[[loads]]
name = "plant"
from = 8.5
to = 14.0
[[stages]]
name = "Drive"
drive = {{ wall = -15.0 }}
load = ["plant"]
[[stages]]
name = "Dig 1"
dig = {{ wall = -1.5 }}
[[stages]]
name = "Upper strut"
fit = ["upper"]
pressurise = {{ upper = "30 kN/m" }}
[[stages]]
name = "Lock, dig 2"
lock = ["upper"]
dig = {{ wall = -3.0 }}
[[stages]]
name = "Pump, dig 3"
water = {{ inside = -6.0 }}
dig = {{ wall = -5.5 }}
[[stages]]
name = "Lower strut"
fit = ["lower"]
pressurise = {{ lower = "100 kN/m" }}
[[stages]]
name = "Lock, pump"
lock = ["lower"]
water = {{ inside = -9.5 }}
[[stages]]
name = "Dig 4"
dig = {{ wall = -9.0 }}
"""

PARTS = (
    ("mesh", analyse_module, "make_mesh"), ("model and pattern", stages, "make_model"), ("actions", stages, "actions"), ("assembly", Model, "matrix"),
    ("return mapping", Ground, "update"), ("factorisation", linear, "factor"), ("solution", linear, "_refined"), ("forces, all", Model, "evaluate"),
    ("fields (VTU)", export_module, "export_fields"),
)  # fmt: skip


@contextmanager
def stopwatch():
    """Seconds and calls by part while the block runs."""
    spent = {name: [0.0, 0] for name, _, _ in PARTS}
    kept = []
    for name, owner, attribute in PARTS:
        function = getattr(owner, attribute)
        kept.append((owner, attribute, function))
        setattr(owner, attribute, _timed(function, spent[name]))
    try:
        yield spent
    finally:
        for owner, attribute, function in kept:
            setattr(owner, attribute, function)


def _timed(function, record):
    def timed(*args, **kwargs):
        began = time.perf_counter()
        try:
            return function(*args, **kwargs)
        finally:
            record[0] += time.perf_counter() - began
            record[1] += 1

    return timed


def text_of(size, psi, ground="one"):
    """Text of the case at one of ``SIZES``, with a dilation angle [deg] and one of ``GROUNDS``."""
    return TEXT.format(size=SIZES[size], psi=psi, **GROUNDS[ground])


def run(size, psi, ground="one"):
    """One run from text to VTU: seconds, result, seconds and calls by part."""
    with tempfile.TemporaryDirectory() as directory, stopwatch() as spent:
        began = time.perf_counter()
        case = read_text(text_of(size, psi, ground))
        result = analyse_module.analyse(case, Path(directory) / "out")
        export_module.export(result, Path(directory) / "out", "", 0.0)
        return time.perf_counter() - began, result, spent


def default_factor_ratio(size, repeat=3):
    """Time of ``splu`` with default ordering over ours on the tangent of the last stage, and the default's own time [s]."""
    case = read_text(text_of(size, 10))
    base = make_base(make_mesh(case))
    matrices = []
    original = newton_module.linear.solve

    def keep(K, rhs):
        matrices[:] = [K]
        return original(K, rhs)

    newton_module.linear.solve = keep
    try:
        state, _, step = stages.start(case, base)
        for situation in stages.situations(case)[1:5]:
            state, _, step = stages.run_stage(case, base, step, situation, state)
    finally:
        newton_module.linear.solve = original
    K = matrices[0]
    shuffled = _plain_order(step, K)
    ours = median(_seconds(linear.factor, K) for _ in range(repeat))
    default = median(_seconds(splu, shuffled) for _ in range(repeat))
    return default / ours, default


def _plain_order(step, K):
    """The matrix with unknowns in the order of the nodes, as a solver without our numbering would have it."""
    unknowns = step.model.unknowns
    order = np.concatenate([unknowns.soil.ravel(), unknowns.wall.ravel()])
    order = order[order < unknowns.free]
    _, first = np.unique(order, return_index=True)
    order = order[np.sort(first)]
    return K[order][:, order].tocsc()


def _seconds(function, *args):
    began = time.perf_counter()
    function(*args)
    return time.perf_counter() - began


def assembly_ratio(size, repeat=5):
    """Seconds of our tangent assembly and of the same in scikit-fem: same triangles, three points each, a full tangent at each point."""
    from skfem import Basis, BilinearForm, ElementTriP2, ElementVector, MeshTri
    from skfem.helpers import sym_grad

    case = read_text(text_of(size, 10))
    base = make_base(make_mesh(case))
    state, _, step = stages.start(case, base)
    trial = step.model.evaluate(state, np.zeros(len(step.load)))
    ours = median(_seconds(step.model.matrix, trial) for _ in range(repeat))
    corners, nodes = np.unique(base.mesh.triangles[:, :3], return_inverse=True)
    mesh = MeshTri(base.mesh.points[corners].T.copy(), nodes.reshape(-1, 3).T.copy())
    basis = Basis(mesh, ElementVector(ElementTriP2()), intorder=2)
    plane = trial.ground.tangent[:, [0, 1, 3]][:, :, [0, 1, 3]].reshape(-1, 3, 3, 3)
    D = {f"d{i}{j}": plane[: mesh.nelements, :, i, j] for i in range(3) for j in range(3)}

    @BilinearForm
    def stiffness(u, v, w):
        e, f = sym_grad(u), sym_grad(v)
        strain, test = (e[0, 0], e[1, 1], 2 * e[0, 1]), (f[0, 0], f[1, 1], 2 * f[0, 1])
        return sum(test[i] * w[f"d{i}{j}"] * strain[j] for i in range(3) for j in range(3))

    theirs = median(_seconds(lambda: stiffness.assemble(basis, **D)) for _ in range(repeat))
    return ours, theirs


def main() -> None:
    """Print the table of times."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--sizes", nargs="+", default=list(SIZES), choices=list(SIZES))
    parser.add_argument("--psi", nargs="+", type=float, default=[10.0, 0.0])
    parser.add_argument("--ground", nargs="+", default=["one"], choices=list(GROUNDS))
    parser.add_argument("--repeat", type=int, default=3)
    chosen, growth = parser.parse_args(), {}
    kinds = [(ground, psi) for ground in chosen.ground for psi in chosen.psi]
    for size in chosen.sizes:
        ratio, default = default_factor_ratio(size)
        ours, theirs = assembly_ratio(size)
        print(f"\n{size}: default splu {default:.3f} s, {ratio:.2f} times ours; assembly {1e3 * ours:.1f} ms, scikit-fem {theirs / ours:.1f} times that")
        for ground, psi in kinds:
            growth[size, ground, psi] = _report(ground, psi, default, [run(size, psi, ground) for _ in range(chosen.repeat)])
    for ground, psi in kinds:
        counts = [growth[s, ground, psi] for s in chosen.sizes]
        print(f"{ground}, psi {psi:g}: seconds by triangles {', '.join(f'{n}: {t:.1f}' for n, t in counts)}", end="")
        (n0, t0), (n1, t1) = counts[0], counts[-1]
        print(f"; growth as triangles to the power {np.log(t1 / t0) / np.log(n1 / n0):.2f}" if n1 > n0 else "")
    print(f"largest memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MiB")


def _report(ground, psi, default, runs):
    """Print one block; gives triangles and median seconds."""
    seconds = median(r[0] for r in runs)
    _, result, spent = min(runs, key=lambda r: abs(r[0] - seconds))
    factorisations, triangles = spent["factorisation"][1], len(result.mesh.triangles)
    wall = result.summary()["stages"][-1].get("walls", {}).get("wall", {})
    print(f"  {ground}, psi {psi:g}: {triangles} triangles, {seconds:.2f} s (all: {', '.join(f'{r[0]:.2f}' for r in runs)}), complete {result.complete}, ", end="")
    print(f"{factorisations} factorisations, run / (factorisations x default splu) {seconds / (factorisations * default):.2f}; wall {wall.get('max_deflection_mm', float('nan')):.2f} mm")
    for name, (part, calls) in spent.items():
        print(f"    {name:<20}{part:8.2f} s {100 * part / seconds:5.1f} %  {calls:5d} calls")
    return triangles, seconds


if __name__ == "__main__":
    main()
