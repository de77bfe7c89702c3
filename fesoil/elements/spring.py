"""Springs between two freedoms: frames, struts, slabs and toe supports. Load positive in compression."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Springs:
    """Springs that close when freedom ``a`` increases and ``b`` decreases.

    ``a``, ``b`` (k,) freedoms; ``stiffness`` (k,) [kN/m for each metre]; ``limit`` (k,) load at which the spring yields [kN/m];
    ``two_way`` (k,) True where it pulls as well.
    """

    a: np.ndarray
    b: np.ndarray
    stiffness: np.ndarray
    limit: np.ndarray
    two_way: np.ndarray

    def update(self, closing, elastic):
        """Loads, tangents and memory after an increment of the closing movement.

        Parameters
        ----------
        closing : array (k,)
            Increment of u_a - u_b [m].
        elastic : array (k,)
            Load that the spring would have without its one-sidedness [kN/m]: negative while the gap is open. This is the memory.

        Returns
        -------
        load, tangent, elastic : arrays (k,)
        """
        trial = np.minimum(elastic + self.stiffness * closing, self.limit)
        # a spring that just touches counts as acting: a stiff slab would otherwise be overrun by the first search direction
        acts = self.two_way | (trial >= 0)
        yields = elastic + self.stiffness * closing > self.limit
        tangent = self.stiffness * np.where(~acts, 0.0, np.where(yields, 1e-4, 1.0))
        return np.where(acts, trial, 0.0), tangent, trial

    def touching(self, closing, direction, elastic):
        """Shares (j,) of a further closing movement ``direction`` (k,) at which a one-sided spring begins or ceases to bear."""
        with np.errstate(divide="ignore", invalid="ignore"):
            share = -(elastic / self.stiffness + closing) / direction
        return share[~self.two_way & np.isfinite(share)]
