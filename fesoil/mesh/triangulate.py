"""gmsh: from the lines of the section to six-node triangles, graded away from the walls.

The only place that imports gmsh; its state is global, so one mesh at a time in a process.
"""

from __future__ import annotations

import contextlib

import numpy as np

from fesoil.errors import MeshError, MissingLibrary
from fesoil.mesh.section import Plan

GROWTH = 0.1
"""Growth of the size for each metre of distance from a wall."""

COARSEST = 1 / 12
"""Size far away, as a share of the width of the section."""

TRIANGLES = 4500
"""Triangles that the size beside the walls is chosen for, when none is asked for."""


@contextlib.contextmanager
def gmsh_session():
    """gmsh ready for work without reading anybody's settings, and closed again whatever happens."""
    try:
        import gmsh
    except OSError as fault:
        packages = "libglu1-mesa libgl1 libxcursor1 libxft2 libxinerama1 libgomp1"
        raise MissingLibrary(f"gmsh cannot start ({fault}). On Debian: apt-get install -y --no-install-recommends {packages}") from fault
    gmsh.initialize(readConfigFiles=False, interruptible=False)
    try:
        for option, value in (("General.Terminal", 0), ("General.NumThreads", 1)):
            gmsh.option.setNumber(option, value)
        yield gmsh
    finally:
        gmsh.finalize()


def distance(walls, x, y):
    """Distance [m] of points from the nearest wall (rows x, toe, top); without walls, from the origin."""
    if len(walls) == 0:
        return np.hypot(x, y)
    gaps = [np.hypot(x - wx, np.maximum(np.maximum(toe - y, y - top), 0)) for wx, toe, top in walls]
    return np.min(gaps, axis=0)


def size_by_walls(plan: Plan) -> float:
    """Size beside the walls [m] that gives about ``TRIANGLES`` triangles, from the integral of 1/area of an equilateral one."""
    left, right, bottom, top = plan.box
    x, y = np.meshgrid(np.linspace(left, right, 400), np.linspace(bottom, top, 400))
    d = distance(plan.walls, x, y)
    cell = (right - left) * (top - bottom) / d.size
    low, high = 0.02, 5.0
    for _ in range(40):
        h = np.sqrt(low * high)
        size = np.minimum(h + GROWTH * d, COARSEST * (right - left))
        low, high = (h, high) if np.sum(cell / (0.433 * size**2)) > TRIANGLES else (low, h)
    return float(h)


def _size_field(gmsh, plan: Plan, h: float, h_far: float) -> None:
    field = gmsh.model.mesh.field
    numbers = []
    for x, toe, top in plan.walls.tolist() or [(0.0, 0.0, 0.0)]:
        middle, half = (toe + top) / 2, (top - toe) / 2
        beyond = f"(Fabs(y-({middle!r}))-{half!r}+Fabs(Fabs(y-({middle!r}))-{half!r}))/2"
        number = field.add("MathEval")
        field.setString(number, "F", f"{h!r}+{GROWTH}*Sqrt((x-({x!r}))^2+({beyond})^2)")
        numbers.append(number)
    far = field.add("MathEval")
    field.setString(far, "F", repr(h_far))
    least = field.add("Min")
    field.setNumbers(least, "FieldsList", [*numbers, far])
    field.setAsBackgroundMesh(least)


def triangulate_plan(plan: Plan):
    """Mesh the box of a plan.

    Returns
    -------
    points (n, 2) local [m], triangles (m, 6) anticlockwise, size beside the walls [m]

    Raises
    ------
    MeshError
        Where gmsh fails, or a line of the plan did not become mesh edges.
    """
    left, right, bottom, top = plan.box
    h = plan.wanted or size_by_walls(plan)
    with gmsh_session() as gmsh:
        occ = gmsh.model.occ
        box = occ.addRectangle(left, bottom, 0, right - left, top - bottom)
        corner = {}
        for x, y in sorted({(x, y) for s in plan.segments for x, y in (tuple(s[:2]), tuple(s[2:]))}):
            corner[x, y] = occ.addPoint(x, y, 0)
        lines = [(1, occ.addLine(corner[a, b], corner[c, d])) for a, b, c, d in plan.segments]
        occ.fragment([(2, box)], lines)
        occ.synchronize()
        for option, value in (("Mesh.MeshSizeExtendFromBoundary", 0), ("Mesh.MeshSizeFromPoints", 0), ("Mesh.Algorithm", 6)):
            gmsh.option.setNumber(option, value)
        _size_field(gmsh, plan, float(h), float(COARSEST * (right - left)))
        try:
            gmsh.model.mesh.generate(2)
        except Exception as fault:
            raise MeshError(f"gmsh could not mesh the section: {fault}") from fault
        gmsh.model.mesh.setOrder(2)
        points, triangles = _read(gmsh)
    return points, triangles, h


def _read(gmsh):
    """Nodes (n, 2) and triangles (m, 6) of the current model, numbered from 0 in gmsh's order of tags, all anticlockwise."""
    tags, coordinates, _ = gmsh.model.mesh.getNodes()
    _, nodes = gmsh.model.mesh.getElementsByType(9)
    order = np.argsort(tags)
    points = np.round(coordinates.reshape(-1, 3)[order, :2], 12)
    triangles = np.searchsorted(tags[order], nodes).reshape(-1, 6)
    used, triangles = np.unique(triangles, return_inverse=True)
    points, triangles = points[used], triangles.reshape(-1, 6)
    a, b, c = (points[triangles[:, i]] for i in range(3))
    turned = (b - a)[:, 0] * (c - a)[:, 1] < (b - a)[:, 1] * (c - a)[:, 0]
    triangles[turned] = triangles[turned][:, [0, 2, 1, 5, 4, 3]]
    return points, triangles


def partition(points, corners, parts: int):
    """Parts (m,) in recursive bisection order of triangles ``corners`` (m, 3), by the METIS that gmsh carries."""
    with gmsh_session() as gmsh:
        tag = gmsh.model.addDiscreteEntity(2)
        flat = np.column_stack([points, np.zeros(len(points))]).ravel()
        gmsh.model.mesh.addNodes(2, tag, np.arange(1, len(points) + 1), flat)
        gmsh.model.mesh.addElementsByType(tag, 2, np.arange(1, len(corners) + 1), (corners + 1).ravel())
        for option, value in (("Mesh.MetisAlgorithm", 1), ("Mesh.PartitionCreateTopology", 0)):
            gmsh.option.setNumber(option, value)
        gmsh.model.mesh.partition(parts)
        part = np.zeros(len(corners), int)
        for dimension, entity in gmsh.model.getEntities(2):
            found, _ = gmsh.model.mesh.getElementsByType(2, entity)
            numbers = gmsh.model.getPartitions(dimension, entity)
            if len(found) and len(numbers):
                part[found.astype(int) - 1] = numbers[0] - 1
    return part
