"""A result: states and records of all stages, and what is read from them (see ``lines`` for the signs)."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fesoil.case.model import Case
from fesoil.case.sequence import Situation, cofferdams, dug_side, ground_level, material_at, situations
from fesoil.elements.beam import at_nodes
from fesoil.elements.triangle import N_POINTS, POINTS, make_triangles, shapes
from fesoil.errors import ResultError
from fesoil.mesh.sides import standing_pieces
from fesoil.mesh.split import Mesh, min_angle
from fesoil.result.lines import Field, FrameReading, Trough, WallLine, WallReading, WaterLine
from fesoil.result.state import Record, State
from fesoil.result.trust import plus_minus, trust_of
from fesoil.result.water_stage import StageWater, as_plain, stage_water
from fesoil.soils.ground import effective, excess, ground_of
from fesoil.soils.mohr_coulomb import AT_YIELD
from fesoil.water.pore import at_points, on_walls
from fesoil.water.seepage import Seepage, seepage


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
        """Text of the error bar of a number of ``summary()``, by stage (1 is the first) and keys: ``plus_minus(3, "walls", "outer", "max_moment_kNm_per_m")``.

        Empty where there is none: without companions, for a place or a number that is prescribed, and in a stage without equilibrium.

        Raises
        ------
        ResultError
            For a stage that was not reached, or keys that lead to no number of it.
        """
        return plus_minus(self, stage, *path)

    def _reached(self, index, first: int = 0) -> int:
        """The index of a stage, when it was reached; ``first`` is 0 where the start counts as one."""
        if index not in range(first, len(self.records)):
            there = ["0 (the start)"] * (first == 0) + [f"1 to {len(self.stages)}"] * bool(self.stages)
            raise ResultError(f"no stage {index!r}; the result has {' and '.join(there) or 'none'}")
        return index

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
        index, side = self._wall_index(name), dug_side(self.case, name)
        lines = tuple(self._line(index, side, s, t) for s, t in zip(self.situations[1:], self.states[1:]))
        return WallReading(name, side, self.stage_names, lines)

    def _wall_index(self, name):
        names = [w.name for w in self.case.walls]
        if name not in names:
            raise KeyError(f"no wall {name!r}; the case has {', '.join(names)}")
        return names.index(name)

    @cached_property
    def seepage(self) -> tuple[Seepage | None, ...]:
        """Steady seepage at the start and after each stage reached, None where the stage did not ask for it; found anew from the mesh when first asked for."""
        walk = self.situations[: len(self.states)]
        triangles = make_triangles(self.mesh.points, self.mesh.triangles)
        return tuple(seepage(self.case, self.mesh, triangles, now) if now.seepage else None for now in walk)

    @cached_property
    def water(self) -> tuple[StageWater | None, ...]:
        """Flow, checks and drawdown at the start and after each stage reached, None where the stage did not ask for seepage."""
        return tuple(None if found is None else stage_water(self.case, now, found) for now, found in zip(self.situations, self.seepage))

    def water_on(self, name: str) -> tuple[WaterLine | None, ...]:
        """Water pressure on both faces of a wall, by stage, None where it does not stand.

        Raises
        ------
        KeyError
            For a name that the case does not have.
        """
        index = self._wall_index(name)
        return tuple(self._water_line(index, now, state) for now, state in zip(self.situations[1:], self.states[1:]))

    def _water_line(self, wall, situation, state) -> WaterLine | None:
        if self.case.walls[wall].name not in situation.toes:
            return None
        mesh, material = self.mesh, material_at(self.case, situation, *self.mesh.centroids.T)
        pieces = standing_pieces(self.case, mesh, situation) & (mesh.segment_wall == wall)
        nodes = mesh.segments[pieces][:, [0, 2, 1]].ravel()
        left, right = on_walls(self.case, mesh, situation, material, state.head)[pieces][:, :, [0, 2, 1]].swapaxes(0, 1).reshape(2, -1)
        return WaterLine(mesh.wall_points[nodes, 1] + mesh.origin[1], left, right)

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
        equilibrium; None for neither. ResultError for a stage that was not reached, here and in the readings below."""
        record = self.records[self._reached(index)]
        failed = record.failure or (record.reduction if record.reduction.get("failed") is not None else {})
        return np.array(failed["mechanism"], float) if failed else None

    def heave(self, index: int) -> float:
        """Greatest rise [m] since the start of the ground within the cofferdams, after stage ``index`` (1 is the first): at the surface, below a fill at the level
        to which it was dug. Negative where all of it has settled; nan where there is no ground within cofferdams."""
        self._reached(index)
        x, y = (self.mesh.points + self.mesh.origin).T
        inside = np.zeros(len(x), bool)
        for x0, x1 in cofferdams(self.case).values():
            inside |= (x > x0 + 1e-6) & (x < x1 - 1e-6)
        if self.case.section.half and self.case.walls:
            inside |= x < 1e-6  # the axis is no wall
        on = inside & (np.abs(y - self._lowest(x, index + 1)) < 1e-6)
        return float(self.states[index].u[on, 1].max()) if np.any(on) else float("nan")

    def _lowest(self, x, n):
        """Lowest level [m] of the ground surface at x in the first ``n`` situations."""
        return np.min([ground_level(self.case, situation, x) for situation in self.situations[:n]], axis=0)

    def field(self, index: int) -> Field:
        """The ground after stage ``index`` (0: before the first)."""
        state, mesh = self.states[self._reached(index)], self.mesh
        material = material_at(self.case, self.situations[index], *mesh.centroids.T)
        chosen = np.flatnonzero(material >= 0)
        points = (N_POINTS * chosen[:, None] + np.arange(N_POINTS)).ravel()
        level = (shapes(POINTS) @ mesh.points[mesh.triangles[chosen], 1].T).T.ravel() + mesh.origin[1]
        ground = ground_of(self.case.soils, np.repeat(material[chosen], N_POINTS), state.rest[points], level, self.situations[index].drained)
        share, left = (values(state.stress[points]).reshape(-1, N_POINTS) for values in (ground.mobilised, ground.stiffness_left))
        stress, water = (values(state.stress[points], self.case.soils) for values in (effective, excess))
        steady = at_points(self.case, mesh, self.situations[index], material, state.head)[chosen].mean(axis=1)
        return Field(
            mesh.points + mesh.origin, mesh.triangles[chosen], state.u, stress.reshape(-1, N_POINTS, 4).mean(axis=1), steady, water.reshape(-1, N_POINTS).mean(axis=1), share.mean(axis=1), (share > AT_YIELD).mean(axis=1), left.mean(axis=1), material[chosen]
        )  # fmt: skip

    def shear_strain(self, index: int) -> np.ndarray:
        """Greatest engineering shear strain in the plane (m,) from the start to the end of stage ``index``, in the triangles of ``field(index)``: the
        diameter of Mohr's circle, mean of the integration points; nan in material placed since the start, whose nodes moved before it was there."""
        mesh = self.mesh
        self._reached(index)
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
            "stages": list(self._summaries),
            "not_reached": [s.name for s in self.case.stages[len(self.stages):]],
        } | ({} if self.trust is None else {"trust": self.trust})  # fmt: skip

    def stage_summary(self, i) -> dict:
        """Headline numbers of stage ``i`` (1 is the first)."""
        return self._summaries[self._reached(i, first=1) - 1]

    @cached_property
    def _summaries(self) -> tuple[dict, ...]:
        return tuple(self._summary(i) for i in range(1, len(self.records)))

    def _summary(self, i) -> dict:
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
        if (water := self.water[i]) is not None:
            summary |= {"water": as_plain(water)}
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
            return {"base_heave_mm": _number(1e3 * self.heave(i))}
        at = int(np.argmax(worst.settlement[i - 1]))
        return {
            "max_settlement_mm": 1e3 * worst.settlement[i - 1][at], "max_settlement_distance_m": worst.distance[at], "side": worst.side,
            "settlement_at_boundary_mm": 1e3 * worst.settlement[i - 1][-1], "base_heave_mm": _number(1e3 * self.heave(i)),
        }


def _number(value):
    """A float that JSON can carry, None for nan."""
    return None if value != value else value
