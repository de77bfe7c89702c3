"""From a case to its mesh."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from fesoil.case.model import Case
from fesoil.case.sequence import material_at, situations
from fesoil.mesh.order import elimination_rank
from fesoil.mesh.section import plan
from fesoil.mesh.split import Mesh, open_walls
from fesoil.mesh.triangulate import triangulate_plan

__all__ = ["Mesh", "make_mesh"]


def make_mesh(case: Case, coarseness: float = 1.0) -> Mesh:
    """Mesh of a case that serves all its stages; ``coarseness`` is a factor on the size of all triangles.

    Raises
    ------
    MeshError
        Where lines nearly coincide or gmsh fails.
    MissingLibrary
        Where gmsh cannot start.
    """
    section = replace(plan(case), coarseness=coarseness)
    points, triangles, size = triangulate_plan(section)
    centroids = points[triangles[:, :3]].mean(axis=1) + section.origin
    ground = np.any([material_at(case, s, *centroids.T) >= 0 for s in situations(case)], axis=0)
    return open_walls(section.origin, section.box, size, points, triangles, section.walls, ground, elimination_rank)
