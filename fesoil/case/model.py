"""What the engineer wrote: frozen dataclasses, one for each table of the case file.

The ``usual`` ranges and the defaults without a source are common practice, no source. All values are in the internal units (kN, m, kPa, kN/m3, m/s, radians). Each field carries, in its
metadata, the unit of the case file, its meaning and its limits (``keys.key``); the reader, the JSON Schema and the check of ``cases/README.md`` are all driven by it, so a key is described in
one place only.

Signs: x to the right, y up, levels in metres above the datum of the case; loads and frame loads positive in compression.
"""

from __future__ import annotations

from dataclasses import dataclass

from fesoil.case.keys import Line, key
from fesoil.case.soil import Soil

MINIMUM_SURCHARGE = 10.0
"""Pressure [kPa] of a strip load that states none (BS 8002:1994, since superseded)."""


@dataclass(frozen=True)
class Layer:
    """A layer of the ground, from its top down to the top of the next one (the last goes to the bottom of the section)."""

    soil: str = key("Name of the soil.")
    top: Line = key("Level of the layer's top, or a polyline of [x, level] that may step at a wall.", "m", name="top_level")


@dataclass(frozen=True)
class Block:
    """A piece of other material in the ground from the start, such as an old concrete base."""

    name: str = key("Name of the block.")
    soil: str = key("Name of its material.")
    outline: Line = key("Corners [x, level] of the closed outline, in order.", "m")


@dataclass(frozen=True)
class Sheet:
    """Section of a sheet wall, for each metre run."""

    EI: float = key("Bending stiffness.", "kN m2/m", least=50, most=1e7, usual=(1e3, 2e6))
    EA: float = key("Axial stiffness.", "kN/m", least=1e4, most=1e9, usual=(5e5, 5e7))
    GA: float | None = key("Shear stiffness; 0.3 EA / 2.6 when left out (webs about three tenths of the area; common practice, no source).", "kN/m", None, above=0, most=1e9)
    weight: float = key("Weight of each square metre of wall.", "kN/m2", 0.0, least=0, most=50)
    moment_capacity: float | None = key("Bending resistance of the section.", "kN m/m", None, above=0, most=1e5)
    stiffness_factor: float = key("Share of EI left when the clutches slip (1 for none).", None, 1.0, above=0, most=1, usual=(0.3, 1.0))
    hinges: bool = key("Let plastic hinges form at the moment capacity.", None, False)

    @property
    def shear_stiffness(self) -> float:
        """GA as given, or by default [kN/m]."""
        return 0.3 * self.EA / 2.6 if self.GA is None else self.GA


@dataclass(frozen=True)
class Leak:
    """A stretch of a wall that lets more water through."""

    top: float = key("Upper end.", "m", name="from_level")
    bottom: float = key("Lower end.", "m", name="to_level")
    leakage: float = key("Flow through each square metre of it for each metre of difference in head.", "1/s", above=0, most=1)


@dataclass(frozen=True)
class Wall:
    """One vertical sheet wall. Two of them make a cofferdam; in a half section one does, with the axis x = 0."""

    name: str = key("Name of the wall.")
    x: float = key("Centre line.", "m")
    top_level: float = key("Level of the top of the sheets.", "m")
    sheet: Sheet = key("Section for each metre run.")
    cofferdam: str | None = key("Name of the cofferdam that the wall belongs to; the wall's own name when left out.", None, None)
    friction_share: tuple[float, float] = key("Share of the soils' wall friction that acts on the left and on the right face.", None, (1.0, 1.0), least=0, most=1)
    plan_length: float | None = key("Length of the cofferdam's other side in plan, for the drawing of the plan and for water.", "m", None, above=0)
    leakage: float = key("Flow through each square metre of wall for each metre of difference in head, where seepage is asked for: the inverse joint resistance of EN 12063:1999 (from memory) over the spacing of the clutches.", "1/s", 0.0, least=0, most=1, usual=(0, 1e-5))
    leaks: tuple[Leak, ...] = key("Stretches that leak more: a clutch torn open, a window between sheets that stopped short.", None, ())


@dataclass(frozen=True)
class Members:
    """Members of a closed rectangular frame; the stiffness for each metre of the side follows from them."""

    waling_span: float = key("Length of the waling that carries this wall (between corners).", "m", above=0, most=60)
    leg_length: float = key("Length of the legs (the adjacent sides) that carry the waling's ends.", "m", above=0, most=60)
    EI: float = key("Bending stiffness of the waling.", "kN m2", above=0, most=1e8)
    EA: float = key("Axial stiffness of a leg.", "kN", above=0, most=1e9)
    corners: str = key("Corner connection.", None, "pinned", choices=("pinned", "rigid"))
    ram: float | None = key("Stiffness of the oil column of one hydraulic ram.", "kN/m", None, above=0, most=1e7)
    ram_area: float | None = key("Piston area of one ram, needed when a preload is given as oil pressure.", "m2", None, above=0, most=1)
    packing: float | None = key("Stiffness of packing between waling and sheets, for each metre run.", "kN/m2", None, above=0, most=1e8)
    used: str = key("Which movement of the waling the wall feels: the mean of the side or the middle of the span.", None, "mean", choices=("mean", "mid-span"))


@dataclass(frozen=True)
class Struts:
    """Struts at a spacing between two walings; the stiffness for each metre follows from them."""

    EA: float = key("Axial stiffness of one strut.", "kN", above=0, most=1e9)
    length: float = key("Full length of a strut, from wall to wall.", "m", above=0, most=200)
    spacing: float = key("Spacing along the wall.", "m", above=0, most=50)
    ram: float | None = key("Stiffness of a hydraulic ram in line with each strut.", "kN/m", None, above=0, most=1e7)
    packing: float | None = key("Stiffness of packing between waling and sheets, for each metre run.", "kN/m2", None, above=0, most=1e8)


@dataclass(frozen=True)
class Capacity:
    """Resistance of a frame, in any of three measures, and what kind of value it is."""

    load: float | None = key("Load on the wall, for each metre run.", "kN/m", None, above=0)
    moment: float | None = key("Bending moment of the waling.", "kN m", None, above=0)
    axial: float | None = key("Thrust in one leg or strut.", "kN", None, above=0)
    basis: str = key("Kind of value.", choices=("working load", "design resistance"))


@dataclass(frozen=True)
class Frame:
    """A bracing frame or a row of struts between two walls; it pushes only, never pulls."""

    name: str = key("Name of the frame.")
    between: tuple[str, str] = key("The two walls that it acts between; 'axis' for the second in a half section.")
    level: float = key("Level of the centre line.", "m")
    stiffness: float | None = key("Load on one wall for each metre run and metre of that wall's movement; given, or from `members` or `struts`.", "kN/m2", None, above=0, most=1e7, usual=(500, 5e5))
    members: Members | None = key("Members of a closed rectangular frame.", None, None)
    struts: Struts | None = key("Struts at a spacing.", None, None)
    slack: float = key("Movement of one wall before the frame bears (pan depth, lean), when it is locked without preload.", "m", 0.0, least=0, most=0.5, usual=(0, 0.05))
    capacity: Capacity | None = key("Resistance.", None, None)
    limit_load: float | None = key("Load for each metre run at which the frame yields; unlimited when left out.", "kN/m", None, above=0)


@dataclass(frozen=True)
class Slab:
    """A slab or blinding between two walls: a prop in compression only, and a weight on the ground below it."""

    name: str = key("Name of the slab.")
    between: tuple[str, str] = key("The two walls that it acts between; 'axis' for the second in a half section.")
    top_level: float = key("Level of its top.", "m")
    thickness: float = key("Thickness.", "m", above=0, most=20)
    E: float = key("Young's modulus.", "kPa", above=1e4, most=1e8)
    gap: float = key("Gap between each sheet and the slab before it bears.", "m", 0.0, least=0, most=0.5)
    unit_weight: float = key("Unit weight; its load acts on the ground below.", "kN/m3", 24.0, least=0, most=30)
    bond: float | None = key("Design bond between the slab and the sheets, to hold it down against uplift; none is counted when left out.", "kPa", None, above=0, most=1000)
    strength: float | None = key("Compressive strength; a doubt is raised where the mean thrust passes it, and it limits the slab in a strength reduction.", "kPa", None, above=0)


@dataclass(frozen=True)
class Load:
    """A strip load or a line load, downwards."""

    name: str = key("Name of the load.")
    start: float | None = key("Left end of a strip.", "m", None, name="from")
    end: float | None = key("Right end of a strip.", "m", None, name="to")
    pressure: float | None = key("Pressure of a strip; the trade's minimum surcharge of 10 kPa when left out (BS 8002:1994, since superseded).", "kPa", None, least=0, most=2000, usual=(0, 300))
    x: float | None = key("Place of a line load.", "m", None)
    force: float | None = key("Line load for each metre run.", "kN/m", None, least=0, most=1e5)
    level: float | None = key("Level at which it acts; the ground surface of the moment when left out.", "m", None)
    from_start: bool = key("Acts before the first stage; its settlement is not counted.", None, False)

    @property
    def amount(self) -> float:
        """Force of a line load [kN/m] or pressure of a strip [kPa]."""
        if self.force is not None:
            return self.force
        return MINIMUM_SURCHARGE if self.pressure is None else self.pressure


@dataclass(frozen=True)
class Water:
    """Levels of the water at the start. A side that is not named has the level of `outside`; without any the ground is dry."""

    levels: dict[str, float] = key("Level by side: 'outside', 'left', 'right', 'inside' or a cofferdam's name.", "m", dict)
    unit_weight: float = key("Unit weight of water.", "kN/m3", 9.81, least=9, most=11)
    far_boundary: str = key("Whether water comes in at the sides of the section with the level there, or not at all (in seepage).", None, "recharge", choices=("recharge", "closed"))


@dataclass(frozen=True)
class Well:
    """A line of wells along the works, open to the ground over a length; in a plane section it acts as a trench, so its level is that between the wells."""

    name: str = key("Name of the well.")
    x: float = key("Place.", "m")
    top: float = key("Upper end of the open length.", "m", name="from_level")
    bottom: float = key("Lower end of the open length.", "m", name="to_level")


@dataclass(frozen=True)
class Section:
    """The plane that is analysed, and its mesh."""

    half: bool = key("Symmetric about x = 0: only x >= 0 is analysed.", None, False)
    surface: Line | None = key("Level of the ground surface, or a polyline of [x, level]; the top of the first layer when left out.", "m", None)
    left: float | None = key("Left boundary; placed by rule when left out (0 in a half).", "m", None)
    right: float | None = key("Right boundary; placed by rule when left out.", "m", None)
    bottom_level: float | None = key("Bottom boundary (rigid); placed by rule when left out.", "m", None)
    deeper_bottom_level: float | None = key("A second, deeper level of the rigid bottom: the whole job is analysed for both, since movements in undrained ground depend on it.", "m", None)
    element_size: float | None = key("Size of the triangles beside the walls; from the geometry when left out.", "m", None, above=0.01, most=20)
    start: str | None = key("Initial stress: at-rest ratios, or gravity turned on; gravity when left out and the ground is not level.", None, None, choices=("at rest", "gravity"))


@dataclass(frozen=True)
class Drive:
    """Where a wall is driven to, when more than the toe level is to be said."""

    toe: float = key("Toe level.", "m")
    stopped_short: str | None = key("The sheets stopped short on something hard: the toe rests on it (as any toe rests on the ground below), or is pinned to it and held both ways.", None, None, choices=("resting", "pinned"))


@dataclass(frozen=True)
class Pressurise:
    """Preload of a frame, in one of three measures."""

    mean_load: float | None = key("Mean load along the side.", "kN/m", None, least=0, most=1e4)
    ram_force: float | None = key("Force in each ram (or in each strut).", "kN", None, least=0, most=1e5)
    ram_pressure: float | None = key("Oil pressure; needs `ram_area` of the members.", "kPa", None, least=0, most=1e6)


@dataclass(frozen=True)
class Cure:
    """Properties of a slab from this stage on."""

    E: float = key("Young's modulus.", "kPa", above=1e4, most=1e8)
    strength: float | None = key("Compressive strength; a doubt is raised where the mean thrust passes it, and it limits the slab in a strength reduction.", "kPa", None, above=0)


@dataclass(frozen=True)
class Place:
    """Material placed on or in the ground, stress-free but for its own weight."""

    soil: str = key("Name of the material.")
    outline: Line = key("Corners [x, level] of the closed outline, in order.", "m")


@dataclass(frozen=True)
class Backfill:
    """Material filled into a cofferdam up to a level."""

    soil: str = key("Name of the material.")
    to: Line = key("Level, or polyline of [x, level], filled up to.", "m")


@dataclass(frozen=True)
class StrengthReduction:
    """Safety factor by reduction of the strength of soils and of the faces to the walls (never of water)."""

    largest: float = key("Search ends here.", None, 3.0, above=1, most=20)
    tolerance: float = key("Width of the last bracket.", None, 0.01, above=0.0005, most=0.2)


@dataclass(frozen=True)
class Stage:
    """One step of the work. All verbs of a stage act together, before equilibrium is sought."""

    name: str = key("Name of the stage.")
    drive: dict[str, Drive] = key("Toe level by wall or cofferdam (a number, or a table).", "m", dict)
    extract: tuple[str, ...] = key("Walls or cofferdams pulled out.", None, ())
    dig: dict[str, Line] = key("By cofferdam ('everywhere' for the whole section): level, or polyline of [x, level], dug down to.", "m", dict)
    place: tuple[Place, ...] = key("Materials placed within an outline.", None, ())
    backfill: dict[str, Backfill] = key("By cofferdam ('everywhere' for the whole section): material filled up to a level.", None, dict)
    fit: tuple[str, ...] = key("Frames put in place; they do not bear yet.", None, ())
    pressurise: dict[str, Pressurise] = key("By frame: preload held constant until it is locked (a number is the mean load).", "kN/m", dict)
    lock: tuple[str, ...] = key("Frames locked: from now on a spring with the force that it holds.", None, ())
    cast: tuple[str, ...] = key("Slabs cast.", None, ())
    cure: dict[str, Cure] = key("By slab: properties from now on.", None, dict)
    remove: tuple[str, ...] = key("Frames or slabs taken out.", None, ())
    water: dict[str, float] = key("Water level by side, as in [water].", "m", dict)
    flood: dict[str, float] = key("Water level inside a cofferdam raised on purpose, above the outside one if need be.", "m", dict)
    ground_water: dict[str, float] = key("By side outside: level of the water in the ground far from the works, where it lags behind free water (tide, flood, rapid drawdown); as free water when left out, and again with the next change of water.", "m", dict)
    seepage: bool | None = key("From this stage on: pore pressure by steady seepage (true) or by levels (false).", None, None)
    pump: dict[str, float] = key("By well: level of the water kept in it from this stage on, by a pump or as a relief well that flows over.", "m", dict)
    shut: tuple[str, ...] = key("Wells out of use from this stage on.", None, ())
    dissipate: tuple[str, ...] = key("Soils of drainage 'undrained effective' whose excess pore pressure has gone, and which drain from this stage on.", None, ())
    load: tuple[str, ...] = key("Loads put on.", None, ())
    unload: tuple[str, ...] = key("Loads taken off.", None, ())
    strength_reduction: StrengthReduction | None = key("Search the safety factor at the end of the stage (true, or a table).", None, None)
    declared: tuple[str, ...] = key("Unusual things meant so: 'dig below toe', 'water inside above outside', 'load inside', 'unsupported removal', 'frame below dig', 'dig before lock'.", None, ())


@dataclass(frozen=True)
class Case:
    """The whole case file."""

    title: str = key("Title of the job.")
    drawing: str = key("Drawing number and revision.", None, "")
    section: Section = key("The plane that is analysed.", None, Section())
    soils: tuple[Soil, ...] = key("Materials.")
    layers: tuple[Layer, ...] = key("Layers from the top down.")
    blocks: tuple[Block, ...] = key("Blocks of other material.", None, ())
    water: Water | None = key("Water at the start; left out, the ground is dry.", None, None)
    walls: tuple[Wall, ...] = key("Sheet walls.", None, ())
    frames: tuple[Frame, ...] = key("Frames.", None, ())
    slabs: tuple[Slab, ...] = key("Slabs.", None, ())
    wells: tuple[Well, ...] = key("Lines of wells, for stages with seepage.", None, ())
    loads: tuple[Load, ...] = key("Loads.", None, ())
    stages: tuple[Stage, ...] = key("Stages, in the order of the work.")
