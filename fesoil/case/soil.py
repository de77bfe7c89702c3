"""The materials of the ground: unit weight, stiffness, strength, face to the wall."""

from __future__ import annotations

from dataclasses import dataclass
from math import sin

from fesoil.case.keys import key

DRAINED, TOTAL_STRESS, EFFECTIVE_STRESS = "drained", "undrained", "undrained effective"
"""What may be said of drainage: water moves freely; it cannot, with the strength su in total stress; it cannot, with the strength that effective stress gives."""

@dataclass(frozen=True)
class UnitWeight:
    """Bulk unit weights; saturated is used below the water table and in undrained layers."""

    moist: float = key("Unit weight above the water table.", "kN/m3", least=8, most=30, usual=(10, 25))
    saturated: float = key("Unit weight below the water table.", "kN/m3", least=8, most=30, usual=(10, 25))


@dataclass(frozen=True)
class Stiffness:
    """Young's modulus, drained (or undrained in a total-stress layer), constant or growing with depth."""

    E: float = key("Young's modulus at `at_level` and above.", "kPa", least=50, most=1e8, usual=(500, 200e3))
    at_level: float | None = key("Level from which E grows downwards.", "m", None)
    per_metre_depth: float = key("Growth of E for each metre below `at_level`.", "kPa/m", 0.0, least=0, most=1e5)
    smallest: float = key("E is never taken below this.", "kPa", 0.0, name="least", least=0, most=1e8)
    poisson_ratio: float | None = key("Poisson's ratio; 0.3 when left out, 0.495 in total stress (undrained).", None, None, least=0.0, most=0.4999, usual=(0.15, 0.4999))
    compression_modulus: float | None = key("One-dimensional (oedometer) modulus of compression for the settlement by drawdown and the time of dissipation; not used in the analysis.", "kPa", None, least=100, most=1e8, usual=(500, 200e3))


SAND_CURVE, CLAY_CURVE = "Oztoprak and Bolton 2013", "Vardanega and Bolton 2013"
SAND_MODULUS, DENSE_SAND_MODULUS = "Oztoprak and Bolton 2013", "Hardin and Black"


@dataclass(frozen=True)
class SmallStrain:
    """Ground that is stiff at small strain and softer the more it is sheared: shear modulus G0 at very small strain, and the curve
    G / G0 = 1 / (1 + (strain / reference_strain)^curvature), each typed or by a published correlation. Instead of Young's modulus."""

    G0: float | None = key("Shear modulus at very small strain, at the mean effective stress `at_stress` or at `at_level`.", "kPa", None, least=100, most=1e8, usual=(5e3, 500e3))
    at_stress: float | None = key("Mean effective stress (before the works) to which G0 belongs; drained soils.", "kPa", None, above=0, most=5000)
    stress_power: float = key("G0 grows with this power of the mean effective stress; only with `at_stress`.", None, 0.5, least=0, most=1, usual=(0.4, 0.7))
    at_level: float | None = key("Level from which G0 grows downwards.", "m", None)
    per_metre_depth: float = key("Growth of G0 for each metre below `at_level`.", "kPa/m", 0.0, least=0, most=1e6)
    G0_by: str | None = key("Published correlation for G0 instead of a value; needs `void_ratio`. Sands.", None, None, choices=(SAND_MODULUS, DENSE_SAND_MODULUS))
    reference_strain: float | None = key("Shear strain at which G is half of G0.", None, None, least=1e-5, most=0.05, usual=(1e-4, 5e-3))
    strain_at_stress: float | None = key("Mean effective stress to which the reference strain belongs; drained soils.", "kPa", None, above=0, most=5000)
    strain_power: float = key("The reference strain grows with this power of the mean effective stress (in the sand correlation about 0.13 from 25 to 100 kPa).", None, 0.0, least=0, most=1)
    curvature: float | None = key("Exponent of the curve.", None, None, least=0.5, most=1.5, usual=(0.7, 1.1))
    curve_by: str | None = key("Published correlation for reference strain and curvature instead of values; the one for sand needs `void_ratio`, `relative_density` and `uniformity`, the one for clay and silt `plasticity_index`.",
                               None, None, choices=(SAND_CURVE, CLAY_CURVE))
    void_ratio: float | None = key("Void ratio.", None, None, least=0.2, most=4, usual=(0.35, 1.2))
    relative_density: float | None = key("Relative density, 0 to 1.", None, None, least=0, most=1)
    uniformity: float | None = key("Coefficient of uniformity d60 / d10.", None, None, least=1, most=100)
    plasticity_index: float | None = key("Plasticity index as a fraction (0.3 for 30 %).", None, None, above=0, most=2, usual=(0.05, 1.0))
    full_strength_strain: float = key("Shear strain at which the whole strength is used at the latest.", None, 0.02, least=0.002, most=0.2, usual=(0.01, 0.03))
    compression_modulus: float | None = key("One-dimensional (oedometer) modulus of compression beyond the mean stress before the works; needed where a stage fills, loads or draws water down on drained ground.", "kPa", None, least=100, most=1e8, usual=(500, 200e3))
    at_rest_when_loaded_most: float | None = key("At-rest ratio that the ground had when it was loaded most (normally consolidated); the lower of at_rest and 1 - sin(phi') when left out: an at_rest above that means overconsolidated.", None, None, least=0.2, most=1.0)
    poisson_ratio: float | None = key("Poisson's ratio at very small strain; 0.2 when left out, 0.495 in total stress (undrained).", None, None, least=0.0, most=0.4999, usual=(0.1, 0.4999))

@dataclass(frozen=True)
class Strength:
    """Mohr-Coulomb strength: effective cohesion and friction angle, or undrained strength. One of the two; in soils that are undrained in effective stress the undrained
    strength may stand beside the other, to be compared with what that gives."""

    effective_cohesion: float | None = key("Effective cohesion c' (drained, or undrained effective).", "kPa", None, least=0, most=500, usual=(0, 25))
    friction_angle: float | None = key("Effective friction angle (drained, or undrained effective).", "deg", None, least=0, most=50, usual=(15, 45))
    dilation_angle: float = key("Dilation angle, never above the friction angle; 0 in undrained soils.", "deg", 0.0, least=0, most=50, usual=(0, 15))
    undrained_strength: float | None = key("Undrained shear strength su at `at_level` and above (undrained soils); with drainage 'undrained effective' a measured value, for comparison only.", "kPa", None, above=0, most=1000, usual=(5, 400))
    at_level: float | None = key("Level from which c' grows downwards, in undrained soils of both kinds su.", "m", None)
    per_metre_depth: float = key("Growth of c' (undrained: su) for each metre below `at_level`.", "kPa/m", 0.0, least=0, most=100)
    smallest: float = key("c' (undrained: su) is never taken below this.", "kPa", 0.0, name="least", least=0, most=1000)
    tension_limit: float = key("Greatest tension that the soil can carry; never above c' cot(phi').", "kPa", 0.0, least=0, most=5000)


@dataclass(frozen=True)
class WallFriction:
    """Strength of the face between soil and wall."""

    angle: float = key("Angle of wall friction; acts where the soil drains.", "deg", 0.0, least=0, most=50)
    adhesion: float = key("Adhesion between soil and wall; all that holds at the face of an undrained soil.", "kPa", 0.0, least=0, most=500)
    water_filled_gap: bool = key("In undrained soil: water of the side's level stands in a gap that opens at the wall.", None, False)


@dataclass(frozen=True)
class Permeability:
    """Permeability to water, along and across the layer."""

    horizontal: float = key("Permeability along the layer.", "m/s", above=0, least=1e-14, most=1, usual=(1e-11, 1e-1))
    vertical: float | None = key("Permeability across the layer; as along it when left out.", "m/s", None, least=1e-14, most=1, usual=(1e-11, 1e-1))

    @property
    def both(self) -> tuple[float, float]:
        """Along x and y [m/s]."""
        return self.horizontal, self.horizontal if self.vertical is None else self.vertical


@dataclass(frozen=True)
class Soil:
    """One material of the ground, a fill, or old concrete."""

    name: str = key("Name by which layers, blocks and stages call it.")
    drainage: str = key("Whether the soil drains during the works; where it does not, whether its strength is su ('undrained') or follows from c', phi' and the excess pore pressure ('undrained effective').",
                        None, DRAINED, choices=(DRAINED, TOTAL_STRESS, EFFECTIVE_STRESS))
    unit_weight: UnitWeight = key("Unit weights.")
    stiffness: Stiffness | SmallStrain = key("Stiffness: one Young's modulus, or small-strain stiffness with its curve (a table with G0 or G0_by).")
    strength: Strength | None = key("Strength; left out, the material is linear elastic and never yields (old concrete).", None, None)
    permeability: Permeability | None = key("Permeability for seepage (a number, or a table); needed of soils that drain where a stage asks for seepage. A material that never yields is tight without it.", "m/s", None)
    undrained_poisson_ratio: float | None = key("Poisson's ratio of soil and pore water together, which makes the stiffness of the water (drainage 'undrained effective' only); 0.499 when left out.",
                                                None, None, least=0.48, most=0.4995, usual=(0.49, 0.4995))
    creep_ratio: float | None = key("Least weighted path of creep over the head along the sheets (Lane 1935: 8.5 for very fine sand or silt, 7 fine, 6 medium, 5 coarse sand, 4 fine, 3.5 medium gravel; from memory); unchecked when left out.", None, None, above=0, most=30)
    at_rest: float | None = key("At-rest earth pressure ratio K0, effective (total with drainage 'undrained'); 1 - sin(phi') when left out, 1 with drainage 'undrained', 0.5 in elastic soils.", None, None, above=0, most=4, usual=(0.3, 2.0))
    wall_friction: WallFriction = key("Strength of the face between this soil and a wall; smooth when left out.", None, WallFriction())
    declared: tuple[str, ...] = key("Unusual things meant so: 'very soft', 'unusual stiffness', 'unusual strength', 'unusual weight'.", None, ())

    @property
    def poisson_ratio(self) -> float:
        """Poisson's ratio as given, or by default."""
        if self.stiffness.poisson_ratio is not None:
            return self.stiffness.poisson_ratio
        small = isinstance(self.stiffness, SmallStrain)
        return 0.495 if self.drainage == TOTAL_STRESS else 0.2 if small else 0.3

    @property
    def undrained_ratio(self) -> float:
        """Poisson's ratio of soil and pore water together, as given or by default."""
        return 0.499 if self.undrained_poisson_ratio is None else self.undrained_poisson_ratio

    @property
    def at_rest_ratio(self) -> float:
        """K0 as given, or by default: 1 - sin(phi') (Jaky 1944, from memory), 1 in total stress, 0.5 for elastic materials."""
        if self.at_rest is not None:
            return self.at_rest
        if self.strength is None:
            return 0.5
        return 1.0 if self.drainage == TOTAL_STRESS else 1 - sin(self.strength.friction_angle)
