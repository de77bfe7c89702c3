"""A closed rectangular frame of walings that are each other's legs, under the same load for each metre run on all four sides; and the hydraulic rams that press it against the walls.

Elementary beam theory, derived afresh. By symmetry the corners of a side move alike, so a rigid corner turns by bending alone and the corner moment does not depend on the axial stiffness.
The stiffness that the walls feel is in ``fesoil.case.frames``, from the same formulae.
"""

from __future__ import annotations

from dataclasses import dataclass

from fesoil.checks.check import Check, refuse_negative, refuse_zero
from fesoil.checks.member import Forces, Pair, Section, member_checks
from fesoil.checks.steel import SteelFactors, one_of


@dataclass(frozen=True)
class Rectangle:
    """Closed rectangular frame, two pairs of like sides.

    Parameters
    ----------
    lengths : (float, float)
        Lengths of the sides between the corners [m].
    EI, EA : (float, float)
        Bending stiffness in the plane of the frame [kN m2] and axial stiffness [kN] of each.
    corners : str
        'pinned' (as legs on rams usually are) or 'rigid'.
    """

    lengths: tuple[float, float]
    EI: tuple[float, float]
    EA: tuple[float, float]
    corners: str

    def __post_init__(self):
        refuse_zero(lengths=self.lengths, EI=self.EI, EA=self.EA)
        one_of(self.corners, ("pinned", "rigid"), "kind of corner")


@dataclass(frozen=True)
class Side:
    """What a load on all sides does in one of them.

    Moments [kN m] are positive with tension on the inner face, the dig's: ``corner`` is at most 0, ``span`` (middle) may be negative too. ``shear`` at the corners [kN]; ``thrust`` [kN].
    Movements [m] towards the dig: ``mean`` over the side and ``middle``, from the line between its corners; ``shortening`` of the legs, by which the corners move.
    """

    corner: float
    span: float
    shear: float
    thrust: float
    mean: float
    middle: float
    shortening: float

    @property
    def moment(self) -> float:
        """Greatest moment, without sign [kN m]: along a parabola it is at the corner or in the middle."""
        return max(abs(self.corner), abs(self.span))

    @property
    def bows_outwards(self) -> bool:
        """Whether the longer side bends this one back into the ground. No uniform spring stands for it, and the load on it is not that on the others: the ground pushes back."""
        return min(self.mean, self.middle) < 0


def corner_moment(frame: Rectangle, load: float) -> float:
    """Moment that rigid corners share under a load [kN/m], without sign [kN m]: (w / 12) (L1^3 / EI1 + L2^3 / EI2) / (L1 / EI1 + L2 / EI2), at which the two sides turn alike at the corner."""
    if frame.corners == "pinned":
        return 0.0
    (L1, L2), (EI1, EI2) = frame.lengths, frame.EI
    return load / 12 * (L1**3 / EI1 + L2**3 / EI2) / (L1 / EI1 + L2 / EI2)


def frame_sides(frame: Rectangle, load: float) -> tuple[Side, Side]:
    """Both kinds of side under a load for each metre run on all four [kN/m].

    A side is a beam of span L with end moments M: middle w L^2 / 8 - M, deflection w L^4 / (120 EI) - M L^2 / (12 EI) on average and 5 w L^4 / (384 EI) - M L^2 / (8 EI) in the middle.
    Each end bears on a leg, the adjacent side, with w L / 2; half of the leg's shortening belongs to each end.
    """
    refuse_negative(load=load)
    M, found = corner_moment(frame, load), []
    for here, there in ((0, 1), (1, 0)):
        L, leg, EI = frame.lengths[here], frame.lengths[there], frame.EI[here]
        mean, middle = load * L**4 / 120 - M * L**2 / 12, 5 * load * L**4 / 384 - M * L**2 / 8
        found.append(Side(-M, load * L**2 / 8 - M, load * L / 2, load * leg / 2, mean / EI, middle / EI, load * L * leg / (4 * frame.EA[there])))
    return found[0], found[1]


def side_forces(side: Side, length: float, weight: float, eccentricity: Pair) -> Forces:
    """Design forces of a side that bends about its strong axis in the plane of the frame.

    Parameters
    ----------
    side : Side
        Under the design load.
    length : float
        Span of the self-weight, between what hangs or bears the frame [m].
    weight : float
        Design self-weight and what lies on it [kN/m]; it bends about the weak axis.
    eccentricity : Pair
        Of the thrust, in and out of the plane of the frame [m]; adds to the moments.
    """
    refuse_zero(length=length)
    refuse_negative(weight=weight, eccentricity=eccentricity)
    return Forces(side.thrust, side.moment + side.thrust * eccentricity.y, weight * length**2 / 8 + side.thrust * eccentricity.z, side.shear)


def side_checks(name: str, side: Side, section: Section, forces: Forces, lengths: Pair, factors: SteelFactors) -> tuple[Check, ...]:
    """Checks of a side as a member (see ``member_checks``) with buckling lengths [m] in and out of the plane of the frame; and where the side bows outwards one more, which never holds.

    A frame with pinned corners does not hold its shape by itself: that the ground keeps it from swaying is taken for granted.
    """
    checks = member_checks(name, section, forces, lengths, factors)
    if not side.bows_outwards:
        return checks
    words = "the longer sides push this one into the ground, whose resistance adds to its load: neither an even load nor a uniform spring stands for it; work its forces out with that"
    return (*checks, Check(f"{name}: bows outwards", -min(side.mean, side.middle), 0.0, "m", 1.0, words))


@dataclass(frozen=True)
class Ram:
    """Hydraulic ram.

    Parameters
    ----------
    area : float
        Piston area [m2].
    oil_length : float
        Length of the column of trapped oil when it is locked [m].
    bulk_modulus : float
        Of the oil, with hoses and what air is in it [kPa]; some 1.5e6 without air (from memory).
    stroke : float
        Length that the piston can travel [m].
    """

    area: float
    oil_length: float
    bulk_modulus: float
    stroke: float

    def __post_init__(self):
        refuse_zero(**vars(self))

    @property
    def stiffness(self) -> float:
        """Of the column of oil [kN/m]."""
        return self.bulk_modulus * self.area / self.oil_length


def in_series(*stiffnesses: float) -> float:
    """Stiffness of parts one behind the other (any unit); an infinite one changes nothing."""
    refuse_zero(stiffnesses=stiffnesses)
    return 1 / sum(1 / each for each in stiffnesses)


def ram_force(pressure: float, ram: Ram) -> float:
    """Force [kN] with which each of the two rams pushes on the ends of a side, from the oil pressure [kPa]."""
    refuse_negative(pressure=pressure)
    return pressure * ram.area


def pump_pressure(load: float, span: float, ram: Ram) -> float:
    """Oil pressure [kPa] for a preload of a mean [kN/m] along a side of a span [m] whose ends two rams push: F = w L / 2.

    The force enters at the corners and reaches the middle by bending of the waling only: the even load is an idealisation.
    """
    refuse_negative(load=load)
    refuse_zero(span=span)
    return load * span / 2 / ram.area


def stroke_left(ram: Ram, extended: float, further: float) -> Check:
    """Travel of the piston that is needed, as it stands (extended) and further, by walls that give way under the preload and by shortening, against its stroke [m]."""
    refuse_negative(extended=extended, further=further)
    words = f"extended {1e3 * extended:.0f} mm, {1e3 * further:.0f} mm further, stroke {1e3 * ram.stroke:.0f} mm"
    return Check("stroke of the ram", extended + further, ram.stroke, "m", 1.0, words)
