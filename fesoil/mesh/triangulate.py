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

SLENDER = 2.5
"""Size along a narrow strip, in terms of its width."""

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


def distance(segment, x, y):
    """Distance [m] of points from a segment x1, y1, x2, y2 (which may be a point)."""
    x1, y1, x2, y2 = segment
    length = np.hypot(x2 - x1, y2 - y1)
    tx, ty = ((x2 - x1) / length, (y2 - y1) / length) if length else (1.0, 0.0)
    along, across = (x - x1) * tx + (y - y1) * ty, (x - x1) * ty - (y - y1) * tx
    return np.hypot(np.maximum(np.maximum(-along, along - length), 0.0), across)


def size_at(sources, far, x, y, growth=GROWTH):
    """Size [m] at points: the least that any source (segment and size at it) allows, growing with the distance, and ``far`` at most."""
    return np.min([size + growth * distance(segment, x, y) for segment, size in sources] + [np.full(np.shape(x), far)], axis=0)


def fine_places(plan: Plan):
    """Segments at which the mesh is finest: walls and corners of earthworks; the origin of the local system where there are none."""
    return [(x, toe, x, top) for x, toe, top in plan.walls.tolist()] + [(x, y, x, y) for x, y in plan.corners.tolist()] or [(0.0, 0.0, 0.0, 0.0)]


def narrow_places(plan: Plan):
    """Segments with the size (segment, size) that keeps triangles from becoming slivers: short pieces of line, strips between two
    pieces, and ends that lie close to another piece."""
    pieces, found = plan.segments, []
    for piece in pieces:
        ends = piece.reshape(2, 2)
        joined = np.any(np.all(np.abs(pieces.reshape(-1, 2, 1, 2) - ends) < 1e-9, axis=3), axis=(1, 2))
        places = np.array([ends[0], ends.mean(axis=0), ends[1]])
        gaps = np.min([distance(other, *places.T) for other in pieces[~joined]], axis=0)
        length = float(np.hypot(*(ends[1] - ends[0])))
        found.append((tuple(piece.tolist()), SLENDER * min(length, float(gaps.max()))))
        found += [((*place, *place), SLENDER * float(gap)) for place, gap in zip(places.tolist(), gaps)]
    return found


def size_by_walls(plan: Plan, narrow, far: float) -> float:
    """Size at the fine places [m] that gives about ``TRIANGLES`` triangles, from the integral of 1/area of an equilateral one."""
    left, right, bottom, top = plan.box
    x, y = np.meshgrid(np.linspace(left, right, 160), np.linspace(bottom, top, 160))
    d = np.min([distance(place, x, y) for place in fine_places(plan)], axis=0)
    elsewhere = size_at([source for source in narrow if source[1] < far], far, x, y)
    cell = (right - left) * (top - bottom) / d.size
    low, high = 0.02, 5.0
    for _ in range(40):
        h = np.sqrt(low * high)
        size = np.minimum(h + GROWTH * d, elsewhere)
        low, high = (h, high) if np.sum(cell / (0.433 * size**2)) > TRIANGLES else (low, h)
    return float(h)


def _size_field(gmsh, plan: Plan, narrow, h: float, far: float) -> None:
    field, growth = gmsh.model.mesh.field, plan.coarseness * GROWTH
    sources = [(place, h) for place in fine_places(plan)]
    needed = [(piece, size) for piece, size in narrow if size < size_at(sources, far, (piece[0] + piece[2]) / 2, (piece[1] + piece[3]) / 2, growth)]
    numbers = [_source(field, *source, growth) for source in sources + needed]
    everywhere = field.add("MathEval")
    field.setString(everywhere, "F", repr(far))
    least = field.add("Min")
    field.setNumbers(least, "FieldsList", [*numbers, everywhere])
    field.setAsBackgroundMesh(least)


def _source(field, segment, size, growth) -> int:
    """A field of gmsh with the size at a segment, growing with the distance from it."""
    x1, y1, x2, y2 = (float(v) for v in segment)
    length = float(np.hypot(x2 - x1, y2 - y1))
    tx, ty = ((x2 - x1) / length, (y2 - y1) / length) if length else (1.0, 0.0)
    along = f"((x-({x1!r}))*({tx!r})+(y-({y1!r}))*({ty!r})-{length / 2!r})"
    across = f"((x-({x1!r}))*({ty!r})-(y-({y1!r}))*({tx!r}))"
    beyond = f"((Fabs({along})-{length / 2!r}+Fabs(Fabs({along})-{length / 2!r}))/2)"
    number = field.add("MathEval")
    field.setString(number, "F", f"{size!r}+{growth!r}*Sqrt({beyond}^2+{across}^2)")
    return number


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
    far, narrow = float(COARSEST * (right - left)), narrow_places(plan)
    h = plan.coarseness * (plan.wanted or size_by_walls(plan, narrow, far))
    far, narrow = plan.coarseness * far, [(piece, min(plan.coarseness, 1.0) * size) for piece, size in narrow]  # strips stay as full of triangles as they were
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
        _size_field(gmsh, plan, narrow, float(h), far)
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
