"""A result and its readings: walls, frames, ground surface and fields, as plain arrays with units.

Outside signs, as the trade speaks: deflection positive towards the dig, since driving; settlement positive down, since the start; frame loads positive in
compression; bending moment positive with tension on the dug face; shear is the slope of the moment with depth.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fesoil.case.model import Case
from fesoil.case.sequence import Situation, cofferdams, dug_side, ground_level, material_at, situations
from fesoil.elements.beam import at_nodes
from fesoil.elements.triangle import N_POINTS, POINTS, make_triangles, shapes
from fesoil.mesh.split import Mesh, min_angle
from fesoil.result.state import Record, State
from fesoil.result.trust import plus_minus, trust_of
from fesoil.soils.ground import ground_of
from fesoil.soils.mohr_coulomb import AT_YIELD


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
    ``stress`` (m, 4) mean effective stress ``[xx, yy, zz, xy]`` [kPa], tension positive; ``share_of_strength`` (m,); ``yielded`` (m,) share of points at yield;
    ``stiffness_left`` (m,) tangent shear modulus over that at very small strain (0 or 1 in soils of one stiffness); ``material`` (m,) index of the soil."""

    points: np.ndarray
    triangles: np.ndarray
    displacement: np.ndarray
    stress: np.ndarray
    share_of_strength: np.ndarray
    yielded: np.ndarray
    stiffness_left: np.ndarray
    material: np.ndarray


@dataclass(frozen=True)
class Result:
    """All that an analysis leaves: one state and one record for the start and each stage that was reached.

    ``complete`` is True only when every stage of the case found equilibrium. ``deeper``: the result for the deeper rigid base, where the case states one.
    ``coarser``, ``finer``: the same analysis on other meshes, where they were asked for.
    """

    case: Case
    mesh: Mesh
    states: tuple[State, ...]
    records: tuple[Record, ...]
    version: str
    deeper: Result | None = None
    coarser: Result | None = None
    finer: Result | None = None

    def __repr__(self):
        done = sum(r.converged for r in self.records[1:])
        return f"<fesoil result: {self.case.title!r}, {done} of {len(self.case.stages)} stages in equilibrium>"

    @cached_property
    def trust(self) -> dict | None:
        """Error of each headline number by its mesh (see `fesoil.result.trust`); None without a coarser and a finer companion."""
        return trust_of(self)

    def plus_minus(self, stage: int, *path: str) -> str:
        """Text of the error bar of a number of ``summary()``, by stage (1 is the first) and keys: ``plus_minus(3, "walls", "outer", "max_moment_kNm_per_m")``."""
        return plus_minus(self.trust, stage, *path)

    @property
    def stages(self) -> tuple[Record, ...]:
        """Records of the stages, the start left out."""
        return self.records[1:]

    @property
    def complete(self) -> bool:
        """Whether every stage of the case found equilibrium."""
        return len(self.stages) == len(self.case.stages) and all(r.converged for r in self.records)

    @cached_property
    def situations(self) -> tuple[Situation, ...]:
        """What stands at the start and after each stage."""
        return situations(self.case)

    @property
    def stage_names(self) -> tuple[str, ...]:
        """Names of the stages that were reached."""
        return tuple(r.name for r in self.stages)

    def wall(self, name: str) -> WallReading:
        """Reading of one wall.

        Raises
        ------
        KeyError
            For a name that the case does not have.
        """
        names = [w.name for w in self.case.walls]
        if name not in names:
            raise KeyError(f"no wall {name!r}; the case has {', '.join(names)}")
        side = dug_side(self.case, name)
        lines = tuple(self._line(names.index(name), side, s, t) for s, t in zip(self.situations[1:], self.states[1:]))
        return WallReading(name, side, self.stage_names, lines)

    def _line(self, wall, side, situation, state) -> WallLine | None:
        toe = situation.toes.get(self.case.walls[wall].name)
        if toe is None:
            return None
        mesh = self.mesh
        pieces = np.flatnonzero((mesh.segment_wall == wall) & (mesh.segment_levels[:, 1] > toe - 1e-6))
        nodes = mesh.segments[pieces, :2].ravel()
        axial, moment, shear = at_nodes(state.section[pieces]).reshape(-1, 3).T
        sheet = self.case.walls[wall].sheet
        if sheet.hinges and sheet.moment_capacity:  # between the points of a hinge the moment is not carried on beyond what the sheet can bear
            moment = np.clip(moment, -sheet.moment_capacity, sheet.moment_capacity)
        return WallLine(mesh.wall_points[nodes, 1] + mesh.origin[1], side * state.w[nodes, 0], -side * moment, side * shear, -axial)

    @cached_property
    def frames(self) -> FrameReading:
        """Loads of all frames and slabs."""
        names = tuple(p.name for p in (*self.case.frames, *self.case.slabs))
        loads = np.array([[r.frames.get(n, np.nan) for n in names] for r in self.stages]).reshape(len(self.stages), len(names))
        return FrameReading(names, self.stage_names, loads)

    def settlement(self, side: str = "right") -> Trough:
        """Ground surface outside the outermost wall on the 'left' or the 'right'.

        Raises
        ------
        ValueError
            For another side, or the left of a half section.
        """
        if side not in ("left", "right") or (side == "left" and self.case.section.half):
            raise ValueError(f"there is no ground outside on the {side!r}; a half section has its outside on the 'right'")
        xs = [w.x for w in self.case.walls] or [0.0]
        edge, sign = (max(xs), 1.0) if side == "right" else (min(xs), -1.0)
        nodes = self._surface_nodes(edge, sign)
        u = np.array([s.u[nodes] for s in self.states[1:]]).reshape(-1, len(nodes), 2)
        distance = sign * (self.mesh.points[nodes, 0] + self.mesh.origin[0] - edge)
        return Trough(side, self.stage_names, distance, -u[:, :, 1], -sign * u[:, :, 0])

    def _surface_nodes(self, edge, sign):
        """Nodes of the ground surface beyond ``edge`` at its lowest of all stages (ground that is dug away, or placed, has no movement since the
        start), by distance; at the wall the copy on the outer face."""
        x, y = (self.mesh.points + self.mesh.origin).T
        on = (np.abs(y - self._lowest(x + 1e-6 * sign, len(self.situations))) < 1e-6) & (sign * (x - edge) > -1e-6)
        outer = np.zeros(len(x), bool)
        outer[self.mesh.triangles[sign * (self.mesh.centroids[:, 0] - edge) > 0].ravel()] = True
        nodes = np.flatnonzero(on & outer)
        return nodes[np.argsort(sign * x[nodes], kind="stable")]

    def mechanism(self, index: int):
        """Relative movement (n, 2), its greatest 1, with which stage ``index`` fails: by strength reduction, or under its own load where it found no
        equilibrium; None for neither."""
        record = self.records[index]
        failed = record.failure or (record.reduction if record.reduction.get("failed") is not None else {})
        return np.array(failed["mechanism"], float) if failed else None

    def heave(self, index: int) -> float:
        """Greatest rise [m] since the start of the ground within the cofferdams, after stage ``index`` (1 is the first): at the surface, below a fill at the level
        to which it was dug."""
        x, y = (self.mesh.points + self.mesh.origin).T
        inside = np.zeros(len(x), bool)
        for x0, x1 in cofferdams(self.case).values():
            inside |= (x > x0 + 1e-6) & (x < x1 - 1e-6)
        if self.case.section.half and self.case.walls:
            inside |= x < 1e-6  # the axis is no wall
        on = inside & (np.abs(y - self._lowest(x, index + 1)) < 1e-6)
        return float(self.states[index].u[on, 1].max(initial=0.0))

    def _lowest(self, x, n):
        """Lowest level [m] of the ground surface at x in the first ``n`` situations."""
        return np.min([ground_level(self.case, situation, x) for situation in self.situations[:n]], axis=0)

    def field(self, index: int) -> Field:
        """The ground after stage ``index`` (0: before the first)."""
        state, mesh = self.states[index], self.mesh
        material = material_at(self.case, self.situations[index], *mesh.centroids.T)
        chosen = np.flatnonzero(material >= 0)
        points = (N_POINTS * chosen[:, None] + np.arange(N_POINTS)).ravel()
        level = (shapes(POINTS) @ mesh.points[mesh.triangles[chosen], 1].T).T.ravel() + mesh.origin[1]
        ground = ground_of(self.case.soils, np.repeat(material[chosen], N_POINTS), state.rest[points], level)
        share, left = (values(state.stress[points]).reshape(-1, N_POINTS) for values in (ground.mobilised, ground.stiffness_left))
        stress = state.stress[points].sum(axis=1).reshape(-1, N_POINTS, 4).mean(axis=1)
        return Field(
            mesh.points + mesh.origin, mesh.triangles[chosen], state.u, stress, share.mean(axis=1), (share > AT_YIELD).mean(axis=1), left.mean(axis=1), material[chosen]
        )  # fmt: skip

    def shear_strain(self, index: int) -> np.ndarray:
        """Greatest engineering shear strain in the plane (m,) from the start to the end of stage ``index``, in the triangles of ``field(index)``: the
        diameter of Mohr's circle, mean of the integration points; nan in material placed since the start, whose nodes moved before it was there."""
        mesh = self.mesh
        materials = [material_at(self.case, situation, *mesh.centroids.T) for situation in self.situations[: index + 1]]
        chosen = np.flatnonzero(materials[-1] >= 0)
        operator = make_triangles(mesh.points, mesh.triangles[chosen]).strain_operator()
        xx, yy, _, xy = (operator @ self.states[index].u.ravel()).reshape(-1, N_POINTS, 4).transpose(2, 0, 1)
        there = np.all([material[chosen] == materials[0][chosen] for material in materials], axis=0)
        return np.where(there, np.hypot(xx - yy, xy).mean(axis=1), np.nan)

    def summary(self) -> dict:
        """Headline numbers, with the keys of ``summary.json``."""
        return {
            "title": self.case.title, "drawing": self.case.drawing, "fesoil_version": self.version, "complete": self.complete,
            "mesh": {"nodes": len(self.mesh.points), "triangles": len(self.mesh.triangles), "min_angle_deg": round(min_angle(self.mesh.points, self.mesh.triangles), 2),
                     "element_size_m": round(self.mesh.size, 4)},
            "start": {"movement_mm": 1e3 * self.records[0].start_movement, "out_of_balance": self.records[0].start_residual, "converged": self.records[0].converged},
            "stages": [self.stage_summary(i) for i in range(1, len(self.records))],
            "not_reached": [s.name for s in self.case.stages[len(self.stages):]],
        } | ({} if self.trust is None else {"trust": self.trust})  # fmt: skip

    def stage_summary(self, i) -> dict:
        """Headline numbers of stage ``i`` (1 is the first)."""
        record = self.records[i]
        summary = {
            "name": record.name, "converged": record.converged, "share_of_load": record.share, "equilibrium_error": _number(record.equilibrium_error),
            "residual": record.residual, "iterations": record.iterations, "relaxation_steps": record.relaxations, "load_cuts": record.cuts,
            "stress_correction_kPa": record.stress_correction,
        }  # fmt: skip
        if not record.converged:
            return summary | {"failure": {k: v for k, v in record.failure.items() if k != "mechanism"}}
        walls = {w.name: self._wall_summary(w.name, i) for w in self.case.walls if w.name in self.situations[i].toes}
        summary |= {"walls": walls, "frames": {n: {"load_kN_per_m": load} for n, load in record.frames.items()}, "ground": self._ground_summary(i)}
        if record.reduction:
            details = {k: v for k, v in record.reduction.items() if k != "mechanism"}
            summary |= {"safety_factor": record.reduction["factor"], "strength_reduction": details}
        return summary

    def _wall_summary(self, name, i) -> dict:
        line = self._line([w.name for w in self.case.walls].index(name), dug_side(self.case, name), self.situations[i], self.states[i])
        most, low, high = (int(np.argmax(np.abs(line.deflection))), int(np.argmin(line.moment)), int(np.argmax(line.moment)))
        return {
            "max_deflection_mm": 1e3 * line.deflection[most], "max_deflection_level_m": line.level[most],
            "max_moment_kNm_per_m": float(np.abs(line.moment).max()), "max_shear_kN_per_m": float(np.abs(line.shear).max()),
            "toe_level_m": self.situations[i].toes[name],
            "moment_tension_on_dug_face_kNm_per_m": max(line.moment[high], 0.0), "moment_tension_on_dug_face_level_m": line.level[high],
            "moment_tension_on_soil_face_kNm_per_m": max(-line.moment[low], 0.0), "moment_tension_on_soil_face_level_m": line.level[low],
            "top_deflection_mm": 1e3 * line.deflection[0], "toe_deflection_mm": 1e3 * line.deflection[-1],
            "max_axial_kN_per_m": float(line.axial[np.argmax(np.abs(line.axial))]), "dig_lies": "left" if dug_side(self.case, name) < 0 else "right",
        }  # fmt: skip

    def _ground_summary(self, i) -> dict:
        sides = ("right",) if self.case.section.half else ("left", "right")
        troughs = [self.settlement(side) for side in sides]
        worst = max(troughs, key=lambda t: t.settlement[i - 1].max(initial=-np.inf))
        if not len(worst.distance):
            return {"base_heave_mm": 1e3 * self.heave(i)}
        at = int(np.argmax(worst.settlement[i - 1]))
        return {
            "max_settlement_mm": 1e3 * worst.settlement[i - 1][at], "max_settlement_distance_m": worst.distance[at], "side": worst.side,
            "settlement_at_boundary_mm": 1e3 * worst.settlement[i - 1][-1], "base_heave_mm": 1e3 * self.heave(i),
        }


def _number(value):
    """A float that JSON can carry, None for nan."""
    return None if value != value else value
