"""Frames by hand: stiffness, moments and resistance of a closed rectangle of members or of struts at a spacing. Elementary beam theory, derived afresh."""

from __future__ import annotations

from fesoil.case.model import Frame, Members, Pressurise


def corner_moment(members: Members) -> float:
    """Moment in the corners of a closed rectangle of one section under a uniform load of 1 kN/m on all its sides [kN m]: (L1^3 + L2^3) / (12 (L1 + L2))
    where they are rigid (L^2/12 for a square), nothing where they are pinned."""
    span, leg = members.waling_span, members.leg_length
    return (span**3 + leg**3) / (12 * (span + leg)) if members.corners == "rigid" else 0.0


def frame_stiffness(frame: Frame) -> tuple[float, float]:
    """Load for each metre run and metre of one wall's movement [kN/m2]: of the side's mean, and at mid-span.

    Notes
    -----
    Closed rectangle under a uniform load w, in series: the waling as a simple span less what its corner moments M take back (mean L^4/(120 EI) - M L^2/(12 EI),
    mid-span 5 L^4/(384 EI) - M L^2/(8 EI)), half the shortening of the legs w L1 L2/(4 EA), oil columns w L1/(4 k), packing. The short side of a
    rigid rectangle may be pushed outwards by the long one: its stiffness is then negative, and no spring describes it.
    Struts: half of the strut's length belongs to each wall.
    """
    if frame.stiffness is not None:
        return frame.stiffness, frame.stiffness
    if frame.struts is not None:
        s = frame.struts
        soft = s.length * s.spacing / (2 * s.EA) + (s.spacing / (2 * s.ram) if s.ram else 0.0) + (1 / s.packing if s.packing else 0.0)
        return 1 / soft, 1 / soft
    m, corner = frame.members, corner_moment(frame.members)
    mean = (m.waling_span**4 / 120 - corner * m.waling_span**2 / 12) / m.EI
    middle = (5 * m.waling_span**4 / 384 - corner * m.waling_span**2 / 8) / m.EI
    rest = m.waling_span * m.leg_length / (4 * m.EA)
    rest += (m.waling_span / (4 * m.ram) if m.ram else 0.0) + (1 / m.packing if m.packing else 0.0)
    return 1 / (mean + rest), 1 / (middle + rest)


def support_stiffness(frame: Frame) -> float:
    """Stiffness that the analysis uses [kN/m2], one wall's movement."""
    mean, middle = frame_stiffness(frame)
    return middle if frame.members is not None and frame.members.used == "mid-span" else mean


def frame_forces(frame: Frame, load: float) -> dict[str, float]:
    """Forces in a frame under a uniform load on its walls, by hand.

    Parameters
    ----------
    load : float
        Load for each metre run of wall [kN/m], positive in compression.

    Returns
    -------
    dict
        ``axial``: thrust in one leg (w L1/2) or strut [kN]; ``moment``: greatest bending moment of the waling [kN m] (with members only), without sign: in
        the corner, or at mid-span w L^2/8 less that.
    """
    if frame.members is None:
        return {"axial": load * frame.struts.spacing} if frame.struts else {}
    span, corner = frame.members.waling_span, corner_moment(frame.members)
    return {"axial": load * span / 2, "moment": load * max(corner, abs(span**2 / 8 - corner))}


def frame_resistance(frame: Frame) -> float | None:
    """Load for each metre run [kN/m] at which a frame reaches the least of its stated resistances; None where none is stated."""
    unit, stated = frame_forces(frame, 1.0), frame.capacity
    found = [frame.limit_load] if frame.limit_load else []
    if stated and stated.load:
        found.append(stated.load)
    found += [getattr(stated, kind) / force for kind, force in unit.items() if stated and getattr(stated, kind)]
    return min(found) if found else None


def preload(frame: Frame, given: Pressurise) -> float:
    """Mean load along the side [kN/m]: two rams push the ends of each side, w = 2F/L; a strut row F/spacing."""
    if given.mean_load is not None:
        return given.mean_load
    force = given.ram_force if given.ram_force is not None else given.ram_pressure * frame.members.ram_area
    return 2 * force / frame.members.waling_span if frame.members else force / frame.struts.spacing
