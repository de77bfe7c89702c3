"""Ground whose pore water cannot leave: a law of the soil's own skeleton, and beside it water that takes part in every change of volume.

What the skeleton carries is effective stress, what the water carries is excess pore pressure; their sum is total stress less the steady pore pressure. Water has no shear
stiffness, and its bulk modulus is so great that the volume hardly changes: the mean effective stress of elastic ground stays, and all of a change of mean total stress but the share
K' / (K' + K) goes into the water (Skempton 1954, from memory: B = K / (K' + K) in ground without drainage).

Strength is the skeleton's. It must not dilate: ground that wants to grow and cannot draws suction without end, and with it strength. At the tension limit it does
dilate, until no principal stress is tension any more: near a surface without load the strength rises so from c' cos(phi') to c' cos(phi') / (1 - sin(phi')) at the most.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from fesoil.soils.elastic import Update


@dataclass(frozen=True, eq=False)
class PoreFluid:
    """A skeleton and its pore water at n points: ``skeleton`` any law, ``K`` (n,) bulk modulus of the water in the pores [kPa].

    The last part of a state is the water's: minus the excess pore pressure in xx, yy and zz. The skeleton has those before it.
    """

    skeleton: object
    K: np.ndarray

    def update(self, increment, state, theta=0.0, tangent=True) -> Update:
        """Stress of skeleton and water, tangent and state after the strain `increment` (n, 4) from `state` (n, parts, 4); `theta` is the skeleton's alone."""
        part = self.skeleton.update(increment, state[:, :-1], theta, tangent)
        new = np.zeros_like(state)
        new[:, : part.state.shape[1]] = part.state
        new[:, -1] = state[:, -1]
        new[:, -1, :3] += (self.K * increment[:, :3].sum(axis=1))[:, None]
        if tangent:
            part.tangent[:, :3, :3] += self.K[:, None, None]
        return part._replace(stress=part.stress + new[:, -1], state=new)

    def split(self, stress):
        """State (n, parts, 4) in an effective stress of rest (n, 4), without excess pressure."""
        parts = self.skeleton.split(stress)
        return np.concatenate([parts, np.zeros((len(parts), 1, 4))], axis=1)

    def mobilised(self, state):
        """Share of the skeleton's strength in use (n,)."""
        return self.skeleton.mobilised(state[:, :-1])

    def stiffness_left(self, state):
        """Share of the shear stiffness that is left (n,)."""
        return self.skeleton.stiffness_left(state[:, :-1])

    @property
    def whole(self) -> PoreFluid:
        """The same ground with one stiffness."""
        return replace(self, skeleton=getattr(self.skeleton, "whole", self.skeleton))

    def reduced(self, factor) -> PoreFluid:
        """The same ground with the skeleton's strength divided by a factor; the water keeps its stiffness."""
        return replace(self, skeleton=self.skeleton.reduced(factor))
