"""What a stage leaves behind: the state of ground, walls and props, and the record of how it was found."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from fesoil.elements.triangle import N_POINTS
from fesoil.mesh.split import Mesh


@dataclass(frozen=True)
class State:
    """State on the whole mesh.

    ``u`` (n, 2) and ``w`` (b, 3) movements of soil and wall nodes [m, rad]; ``stress`` (3 m, parts, 4) effective [kPa], of which the
    parts add up (where a soil is undrained in effective stress the last part is its pore water's); ``rest`` (3 m,) mean effective stress before the works [kPa], compression positive, zero in material placed since;
    ``section`` (s, 2, 3) N, M, V of the walls; ``gap`` (s, 2, 3) memory of the joints' normal law [kPa] and ``traction`` (s, 2, 3, 2) of left and right
    face at upper end, lower end, middle [kPa]; ``head`` (n,) of steady seepage [m, level of the case], nan where there is none; ``springs`` memory of each spring by name [kN/m].
    """

    u: np.ndarray
    w: np.ndarray
    stress: np.ndarray
    rest: np.ndarray
    section: np.ndarray
    gap: np.ndarray
    traction: np.ndarray
    head: np.ndarray
    springs: dict[str, float]


def blank_state(mesh: Mesh) -> State:
    """Nothing moved, nothing stressed."""
    s, n = len(mesh.segments), N_POINTS * len(mesh.triangles)
    return State(
        np.zeros((len(mesh.points), 2)), np.zeros((len(mesh.wall_points), 3)), np.zeros((n, 1, 4)), np.zeros(n),
        np.zeros((s, 2, 3)), np.zeros((s, 2, 3)), np.zeros((s, 2, 3, 2)), np.full(len(mesh.points), np.nan), {},
    )  # fmt: skip


@dataclass(frozen=True)
class Record:
    """How a stage ended.

    ``share`` of its load that was reached; ``residual`` norm of the nodal forces left over the weights; ``stress_correction`` [kPa] that the last relaxation
    took off; ``frames`` load by acting frame or slab [kN/m]; ``equilibrium_error`` sums of force and moment over the total weight;
    ``start_movement`` [m] and ``start_residual`` (first record only): what the initial stress needed to come into balance, not counted as movement;
    ``failure`` (no equilibrium only): where the ground moves on, ``x`` and ``level`` [m] of the greatest movement, ``yielded`` share of points at yield, ``goes_on`` whether movement was seen to go on (else the search came to no end),
    ``mechanism`` relative movement (n, 2);
    ``water`` (steady seepage only): what leaves the ground by place ``out`` [m3/s for each metre run], ``balance`` what enters less what leaves over what enters, ``iterations``;
    ``reduction``: safety factor and what belongs to it, where it was asked for; ``hash`` of all that the stage depends on; ``seconds`` it took.
    """

    name: str
    converged: bool
    share: float
    iterations: int
    factorisations: int
    relaxations: int
    cuts: int
    residual: float
    stress_correction: float
    equilibrium_error: float
    frames: dict[str, float]
    start_movement: float = 0.0
    start_residual: float = 0.0
    failure: dict = field(default_factory=dict)
    reduction: dict = field(default_factory=dict)
    water: dict = field(default_factory=dict)
    hash: str = ""
    seconds: float = 0.0
