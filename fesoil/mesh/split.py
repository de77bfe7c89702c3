"""The mesh opened along its walls: every wall node gets a copy for each fan of triangles between walls, and a node of the wall itself.

Which copies move together is asked anew at each stage (``sharing``): where no wall stands, the two faces share their unknowns.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import sparse
from scipy.sparse.csgraph import connected_components

from fesoil.elements.triangle import SIDES
from fesoil.errors import MeshError

LEFT, RIGHT = 0, 1


@dataclass(frozen=True)
class Mesh:
    """Arrays of the mesh, in local coordinates.

    ``origin`` (2,) of the local system [m]; ``points`` (n, 2) soil nodes with their copies; ``triangles`` (m, 6);
    ``rank`` (n,) elimination order; ``wall_points`` (b, 2) nodes of the walls and ``wall_rank`` (b,) theirs;
    ``segments`` (s, 3) wall nodes of each piece of wall: upper end, lower end, middle; ``segment_wall`` (s,) wall;
    ``faces`` (s, 2) triangle on the left and on the right, -1 for none; ``face_nodes`` (s, 2, 3) soil nodes there, -1 for none;
    ``edges`` (k, 2) triangles on both sides of each edge (-1 for none) with ``edge_sides`` (k, 2) their local sides and ``edge_segment`` (k,) the
    piece of wall on it (-1 for none); ``box`` left, right, bottom, top; ``size`` beside the walls [m].
    """

    origin: np.ndarray
    points: np.ndarray
    triangles: np.ndarray
    rank: np.ndarray
    wall_points: np.ndarray
    wall_rank: np.ndarray
    segments: np.ndarray
    segment_wall: np.ndarray
    faces: np.ndarray
    face_nodes: np.ndarray
    edges: np.ndarray
    edge_sides: np.ndarray
    edge_segment: np.ndarray
    box: tuple[float, float, float, float]
    size: float

    @property
    def centroids(self):
        """Centroids (m, 2) in the case's coordinates [m]."""
        return self.points[self.triangles[:, :3]].mean(axis=1) + self.origin

    @property
    def segment_levels(self):
        """Upper and lower end (s, 2) of each piece of wall, levels of the case [m]."""
        return self.wall_points[self.segments[:, :2], 1] + self.origin[1]


def min_angle(points, triangles):
    """Smallest angle [deg] of any triangle."""
    p = points[triangles[:, :3]]
    angles = []
    for i in range(3):
        a, b = p[:, (i + 1) % 3] - p[:, i], p[:, (i + 2) % 3] - p[:, i]
        angles.append(np.degrees(np.arctan2(np.abs(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]), (a * b).sum(axis=1))))
    return float(np.min(angles))


def edge_table(triangles):
    """Unique edges of triangles (m, 6): nodes (k, 3) end, end, middle; triangles (k, 2) and their local sides (k, 2), -1 for none."""
    m = len(triangles)
    uses = triangles[:, SIDES]  # (m, 3, 3)
    ends = np.sort(uses[:, :, :2].reshape(-1, 2), axis=1)
    unique, first, inverse = np.unique(ends, axis=0, return_index=True, return_inverse=True)
    inverse = inverse.ravel()
    k = len(unique)
    owner, side = np.repeat(np.arange(m), 3), np.tile(np.arange(3), m)
    order = np.argsort(inverse, kind="stable")
    starts = np.searchsorted(inverse[order], np.arange(k))
    counts = np.diff(np.append(starts, len(order)))
    neighbours, sides = np.full((k, 2), -1), np.full((k, 2), -1)
    neighbours[:, 0], sides[:, 0] = owner[order[starts]], side[order[starts]]
    two = counts == 2
    neighbours[two, 1], sides[two, 1] = owner[order[starts[two] + 1]], side[order[starts[two] + 1]]
    return np.column_stack([unique, uses[:, :, 2].ravel()[first]]), neighbours, sides


def wall_edges(points, edge_nodes, walls):
    """Wall (k,) on which each edge lies, -1 for none; walls are rows x, toe, top.

    Raises
    ------
    MeshError
        Where the edges found do not add up to the length of the wall.
    """
    wall = np.full(len(edge_nodes), -1)
    ends = points[edge_nodes[:, :2]]
    for i, (x, toe, top) in enumerate(walls):
        on = np.all(np.abs(ends[:, :, 0] - x) < 1e-6, axis=1)
        on &= np.all((ends[:, :, 1] > toe - 1e-6) & (ends[:, :, 1] < top + 1e-6), axis=1)
        length = np.abs(ends[on, 1, 1] - ends[on, 0, 1]).sum()
        if abs(length - (top - toe)) > 1e-6:
            raise MeshError(f"the mesh follows only {length:.3f} m of the {top - toe:.3f} m of the wall at local x = {x:.3f}")
        wall[on] = i
    return wall


def _copies(triangles, neighbours, sides, is_wall, on_wall):
    """Copy number (m, 6) of each use of a node: uses are joined across every edge that is not a wall."""
    m = len(triangles)
    joined = (neighbours[:, 1] >= 0) & ~is_wall
    t1, t2 = neighbours[joined].T
    s1, s2 = SIDES[sides[joined, 0]], SIDES[sides[joined, 1]][:, [1, 0, 2]]  # the neighbour runs along the edge the other way
    a, b = (6 * t1[:, None] + s1).ravel(), (6 * t2[:, None] + s2).ravel()
    # away from walls, triangles that touch in one node only keep sharing it
    flat = triangles.ravel()
    plain = np.flatnonzero(~on_wall[flat])
    _, first = np.unique(flat[plain], return_index=True)
    leader = np.full(flat.max() + 1, -1)
    leader[flat[plain][first]] = plain[first]
    a, b = np.concatenate([a, plain]), np.concatenate([b, leader[flat[plain]]])
    graph = sparse.coo_matrix((np.ones(len(a), bool), (a, b)), shape=(6 * m, 6 * m))
    return connected_components(graph, directed=False)[1].reshape(m, 6)


def open_walls(origin, box, size, points, triangles, walls, keep, rank_of) -> Mesh:
    """Open a mesh along its walls.

    Parameters
    ----------
    points, triangles : arrays (n, 2), (m, 6)
        Mesh of the whole box; ``keep`` (m,) tells which triangles are ground at some stage (the rest is air).
    walls : array (w, 3)
        x, deepest toe, top of each wall.
    rank_of : callable
        From points (n, 2) and triangles to elimination ranks (n,).
    """
    edge_nodes, _, _ = edge_table(triangles)
    every_wall = wall_edges(points, edge_nodes, walls)
    lined = edge_nodes[every_wall >= 0]
    wall_nodes, segments = np.unique(lined, return_inverse=True)
    segments = segments.reshape(-1, 3)
    upper = points[lined[:, 0], 1] < points[lined[:, 1], 1]
    segments[upper] = segments[upper][:, [1, 0, 2]]
    segment_wall = every_wall[every_wall >= 0]
    order = np.lexsort((-points[wall_nodes[segments[:, 2]], 1], segment_wall))
    segments, segment_wall = segments[order], segment_wall[order]

    ground = triangles[keep]
    edge_nodes, neighbours, sides = edge_table(ground)
    on_wall = np.zeros(len(points), bool)
    on_wall[wall_nodes] = True
    is_wall = wall_edges_among(edge_nodes, wall_nodes[segments]) >= 0
    copies = _copies(ground, neighbours, sides, is_wall, on_wall)
    label, first, nodes = np.unique(copies, return_index=True, return_inverse=True)
    nodes = nodes.reshape(-1, 6)
    new_points = points[ground.ravel()[first]]
    place = ground.ravel()[first]

    edge_segment = wall_edges_among(edge_nodes, wall_nodes[segments])
    faces, face_nodes = _faces(new_points, nodes, neighbours, sides, edge_segment, wall_nodes[segments], place)
    # ranked before opening: copies of a place are coupled through the wall or each other, so they go together
    ranks = rank_of(points, ground)
    ranks[np.setdiff1d(wall_nodes, ground)] = len(points)  # above ground: eliminated last, a handful of nodes
    return Mesh(origin, new_points, nodes, ranks[place], points[wall_nodes], ranks[wall_nodes], segments, segment_wall, faces, face_nodes, neighbours, sides, edge_segment, box, size)


def wall_edges_among(edge_nodes, lined):
    """Index into ``lined`` (s, 3) of each edge (k, 3), -1 for none; an edge is known by its middle node."""
    index = np.full(max(edge_nodes.max(), lined.max() if len(lined) else 0) + 1, -1)
    index[lined[:, 2]] = np.arange(len(lined))
    return index[edge_nodes[:, 2]]


def _faces(points, nodes, neighbours, sides, edge_segment, lined, place):
    """Triangles (s, 2) on both faces of each piece of wall and their soil nodes (s, 2, 3) in the order of the wall's."""
    faces, face_nodes = np.full((len(lined), 2), -1), np.full((len(lined), 2, 3), -1)
    for which in range(2):
        edges = np.flatnonzero((edge_segment >= 0) & (neighbours[:, which] >= 0))
        triangle, segment = neighbours[edges, which], edge_segment[edges]
        local = SIDES[sides[edges, which]]
        soil = nodes[triangle[:, None], local]
        turned = place[soil[:, 0]] != lined[segment, 0]
        soil[turned] = soil[turned][:, [1, 0, 2]]
        centre = points[nodes[triangle, :3]].mean(axis=1)
        face = np.where(centre[:, 0] < points[soil[:, 2], 0], LEFT, RIGHT)
        faces[segment, face], face_nodes[segment, face] = triangle, soil
    return faces, face_nodes


def sharing(mesh: Mesh, standing):
    """Leader (n,) of each soil node: copies joined by pieces of wall that do not stand (``standing`` (s,) mask) move together."""
    both = ~standing & np.all(mesh.faces >= 0, axis=1)
    a, b = mesh.face_nodes[both, LEFT].ravel(), mesh.face_nodes[both, RIGHT].ravel()
    n = len(mesh.points)
    graph = sparse.coo_matrix((np.ones(len(a), bool), (a, b)), shape=(n, n))
    label = connected_components(graph, directed=False)[1]
    _, first = np.unique(label, return_index=True)
    return first[label]
