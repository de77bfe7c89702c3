"""What is read from a result, as plain arrays with units: a wall, its water, the frames, the ground surface, the ground.

Outside signs, as the trade speaks: deflection positive towards the dig, since driving; settlement positive down, since the start; frame loads and water pressure positive in
compression; bending moment positive with tension on the dug face; shear is the slope of the moment with depth.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class WallLine:
    """A wall after one stage, from the top down; each piece gives its upper and its lower end.

    ``level`` (k,) [m]; ``deflection`` (k,) [m]; ``moment`` (k,) [kN m/m]; ``shear`` (k,) [kN/m]; ``axial`` (k,) [kN/m], compression positive.
    """

    level: np.ndarray
    deflection: np.ndarray
    moment: np.ndarray
    shear: np.ndarray
    axial: np.ndarray


@dataclass(frozen=True)
class WaterLine:
    """Water pressure on a wall after one stage, from the top down; each piece gives its upper end, middle and lower end: ``level`` (k,) [m]; ``left`` and ``right`` (k,) [kPa]
    of pore water where there is ground on that face, else of free water."""

    level: np.ndarray
    left: np.ndarray
    right: np.ndarray


@dataclass(frozen=True)
class WallReading:
    """A wall through all stages: ``lines`` one a stage, None where it does not stand; ``side`` -1 or +1, where its dig lies."""

    name: str
    side: int
    stages: tuple[str, ...]
    lines: tuple[WallLine | None, ...]

    def plot(self, axes=None):
        """Draw deflection, moment and shear by stage into three axes (made when not given); gives them back."""
        import matplotlib.pyplot as plt

        from fesoil.show.results import wall_lines

        axes = plt.subplots(1, 3, sharey=True, layout="constrained")[1] if axes is None else axes
        rows = [(n, w.level, 1e3 * w.deflection, w.moment, w.shear) if w else None for n, w in zip(self.stages, self.lines)]
        axes = wall_lines(axes, rows, shown=range(1, len(rows) + 1))
        axes[0].set_title(f"Wall {self.name}", loc="left", parse_math=False)
        return axes

    def __repr__(self):
        standing = sum(line is not None for line in self.lines)
        return f"<wall {self.name!r}: stands in {standing} of {len(self.lines)} stages; .lines by stage, .plot()>"


@dataclass(frozen=True)
class FrameReading:
    """Loads of frames and slabs: ``loads`` (stages, names) [kN/m], nan where one does not act."""

    names: tuple[str, ...]
    stages: tuple[str, ...]
    loads: np.ndarray

    def __getitem__(self, name):
        """Loads (stages,) of one frame or slab [kN/m]; KeyError for a name that the case does not have."""
        if name not in self.names:
            raise KeyError(f"no frame {name!r}; the case has {', '.join(self.names) or 'none'}")
        return self.loads[:, self.names.index(name)]

    def __repr__(self):
        return f"<frames {', '.join(self.names)}: [name] for loads by stage in kN/m, .plot()>"

    def plot(self, ax=None):
        """Draw the loads by stage."""
        import matplotlib.pyplot as plt

        from fesoil.show.results import frame_loads

        ax = plt.subplots(layout="constrained")[1] if ax is None else ax
        return frame_loads(ax, self.names, self.stages, self.loads)


@dataclass(frozen=True)
class Trough:
    """Ground surface on one side: ``distance`` (n,) from the outermost wall [m]; ``settlement`` and ``horizontal`` (stages, n) [m], the latter
    positive towards the dig."""

    side: str
    stages: tuple[str, ...]
    distance: np.ndarray
    settlement: np.ndarray
    horizontal: np.ndarray

    def __repr__(self):
        return f"<ground surface on the {self.side}: {len(self.distance)} places, {len(self.stages)} stages; .distance, .settlement, .horizontal, .plot()>"

    def plot(self, ax=None):
        """Draw the trough by stage."""
        import matplotlib.pyplot as plt

        from fesoil.show.results import settlement_trough

        ax = plt.subplots(layout="constrained")[1] if ax is None else ax
        return settlement_trough(ax, [(n, self.distance, 1e3 * s, 1e3 * h) for n, s, h in zip(self.stages, self.settlement, self.horizontal)])


@dataclass(frozen=True)
class Field:
    """The ground after one stage: ``points`` (n, 2) [m]; ``triangles`` (m, 6) that are ground; ``displacement`` (n, 2) since the start [m];
    ``stress`` (m, 4) mean effective stress ``[xx, yy, zz, xy]`` [kPa], tension positive; ``steady`` (m,) mean steady pore pressure [kPa]; ``excess`` (m,) mean excess pore pressure [kPa], positive above the steady one, in soils that
    are undrained in effective stress, 0 in all others; ``share_of_strength`` (m,) by effective stress; ``yielded`` (m,) share of points at yield;
    ``stiffness_left`` (m,) tangent shear modulus over that at very small strain (0 or 1 in soils of one stiffness); ``material`` (m,) index of the soil."""

    points: np.ndarray
    triangles: np.ndarray
    displacement: np.ndarray
    stress: np.ndarray
    steady: np.ndarray
    excess: np.ndarray
    share_of_strength: np.ndarray
    yielded: np.ndarray
    stiffness_left: np.ndarray
    material: np.ndarray
