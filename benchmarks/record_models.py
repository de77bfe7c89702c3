"""Models of published records: what was measured, what is assumed where the source is silent, and the case texts.

What is assumed comes from the habits of the trade and was never adjusted to what was measured; where it can go either way both ways are run.
Lengths in m, forces in kN, pressures in kPa; depths positive down.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from benchmarks import pit

ONE, SMALL = "one stiffness", "stiff at small strain"
LAWS = ONE, SMALL


class Run(NamedTuple):
    """A model to run: record, place in it, law of the ground, words on what else was assumed, case text."""

    record: str
    place: str
    law: str
    assumed: str
    text: str


# ------------------------------------------------------------------------------------------------------------------------- the case

CASE = """title = "{title}"
[section]
half = true
element_size = {size:g}
right = {right:g}
bottom_level = {bottom:g}
deeper_bottom_level = {deeper:g}
{soils}{water}
[[walls]]
name = "wall"
x = {x:g}
top_level = 0.0
sheet = {{ EI = {EI:g}, EA = "3.5 GN/m" }}
{props}[[stages]]
name = "Drive"
drive = {{ wall = {toe:g} }}
{digs}"""

PROP = """[[frames]]
name = "{name}"
between = ["wall", "axis"]
level = {level:g}
{stiffness}
"""


def case_text(title, digs, props, toe, half_width, EI, soils, bottom, size, stiffness, reach, water=None, berm=None) -> str:
    """Case of a pit that is dug to each of ``digs`` [m], with a prop at each depth ``props`` fitted after the dig before it.

    ``water`` is its depth at the start, kept 1 m below the dig; ``berm`` the width [m] of the ground beside the wall that the last dig
    leaves, with a slope of 1 in 1.5.
    """
    named = [f"prop {i + 1}" for i in range(len(props))]
    works = []
    for i, depth in enumerate(digs):
        level = f"{-depth:g}"
        if berm is not None and depth == digs[-1]:
            shoulder, fall = half_width - berm, 1.5 * (depth - digs[-2])
            level = f"[[{shoulder - fall:g}, {level}], [{shoulder:g}, {-digs[-2]:g}]]"
        works.append(f'[[stages]]\nname = "Dig to {depth:g} m"\ndig = {{ wall = {level} }}\n')
        if water is not None:
            works.append(f"water = {{ inside = {-max(depth + 1, water):g} }}\n")
        if 0 < i <= len(props):
            works.append(f'fit = ["{named[i - 1]}"]\nlock = ["{named[i - 1]}"]\n')
    levels = "" if water is None else f"[water]\noutside = {-water:g}\ninside = {-water:g}"
    propped = "".join(PROP.format(name=n, level=-d, stiffness=stiffness) for n, d in zip(named, props))
    return CASE.format(
        title=title, size=size, right=half_width + reach * digs[-1], bottom=-bottom, deeper=-bottom - 10, soils=soils, water=levels,
        x=half_width, EI=EI, props=propped, toe=-toe, digs="".join(works),
    )  # fmt: skip


def soil_text(name, top, gamma, stiffness, rest) -> str:
    """A soil and its layer, from a depth ``top`` down."""
    weights = f"unit_weight = {{ moist = {gamma:g}, saturated = {gamma:g} }}"
    return f'[[soils]]\nname = "{name}"\n{weights}\nstiffness = {stiffness}\n{rest}\n[[layers]]\nsoil = "{name}"\ntop_level = {-top:g}\n'


# --------------------------------------------------------------------------------------------------- cuts with sheet piles in soft clay


class Cut(NamedTuple):
    """A cut: undrained strength [kPa], dig depth [m], depth of the soft clay [m] (None: not tabled), prop spacing [m], base safety factor as tabled,
    EI [kN m2/m], wall movement and settlement [mm] (None: not tabled)."""

    su: float
    H: float
    clay: float | None
    s: float
    safety: float
    EI: float
    wall: float
    settlement: float | None

    @property
    def toe(self) -> float:
        return min(1.5 * self.H, self.base)

    @property
    def base(self) -> float:
        """Depth of the rigid base [m]: of the soft clay, or, where that is not tabled, twice the dig's."""
        return 2 * self.H if self.clay is None else self.clay


CUTS = {
    "Oslo, Enerhaugen": Cut(20, 8.0, 17, 2.50, 1.34, 45000, 40, 106),
    "Oslo, Telecom": Cut(20, 8.5, 10, 2.25, 0.90, 35850, 80, 93),
    "Oslo, Gronland 2": Cut(25, 11.5, 26, 3.75, 1.30, 73800, 100, 178),
    "Oslo, Vaterland 3": Cut(34, 12.0, 26, 2.00, 1.26, 73800, 125, 114),
    "Oslo, Gunnerus": Cut(35, 10.5, 18, 2.00, 1.21, 82350, 320, 600),
    "Vasteras": Cut(30, 6.3, 12.5, 2.10, 1.50, 17000, 100, 175),
    "Chicago A": Cut(35, 9.4, None, 3.05, 1.67, 55250, 64, None),
    "Chicago C": Cut(35, 8.8, None, 1.98, 1.18, 55250, 56, None),
    "Gothenburg": Cut(17, 4.0, 10, 2.00, 1.60, 17000, 400, 410),
}
"""Long 2001 as reprinted in the appendix of Zhang and Liu 2022 (Design of Deep Braced Excavation and Earth Retaining Systems Under Complex Built
Environment), first rows, read at second hand where its columns run together; split by plausibility. EI is headed N m2/m there; it can
only be kN m2/m."""

CUTS_TOLD = (
    "Source: Long 2001, as reprinted in the appendix of Zhang and Liu 2022 (Design of Deep Braced Excavation and Earth Retaining Systems Under "
    "Complex Built Environment), first rows, read at second hand where its columns run together, and split by plausibility. Not "
    "tabled, so assumed: 10 and 20 m wide; undrained, unit weight 18 kN/m\u00b3, total pressure at rest as great as the weight; adhesion half "
    "of su; su constant, or as tabled at half the depth of the dig and rising by 2 kPa/m, a quarter of the growth of effective stress; Eu of "
    "300 and 600 su, or G0 of 500 su with a plasticity index of 0.5 and of 1000 su with 0.3 (the latter by Andersen 2015, read at second hand; "
    "curve by Vardanega and Bolton 2013, from memory); props of 50 MN/m\u00b2 at the tabled spacing without preload or slack, anchors taken as "
    "props; the first dig half a spacing, each prop 0.5 m above the dig; toe at 1.5 times the depth of the dig, or on hard ground below the "
    "clay (at twice the depth where that is not tabled); no surcharge, no water in gaps."
)
"""Source and assumptions, in words for the page; likewise below."""

NEAR_FAILURE = "Gothenburg"
"""Shown, not counted: a single anchor, and movement of a tenth of the depth."""

GAMMA, ADHESION, GROWTH_OF_SU = 18.0, 0.5, 2.0
"""Unit weight [kN/m3]; adhesion over su; growth of su [kPa/m]: a quarter of the growth of effective vertical stress, about 8 kPa/m. All assumed."""

OVERDIG = 0.5
"""Depth of the dig below a prop when it is fitted [m] (a stage table of a pit in Suzhou, Zhao and others 2021, does so in every stage)."""

IP_CURVE = 'curve_by = "Vardanega and Bolton 2013", plasticity_index'
CLAYS = (
    (ONE, "Eu = 300 su", "E", 300, ""),
    (ONE, "Eu = 600 su", "E", 600, ""),
    (SMALL, "G0 = 500 su, plasticity 0.5", "G0", 500, f", {IP_CURVE} = 0.5"),
    (SMALL, "G0 = 1000 su, plasticity 0.3", "G0", 1000, f", {IP_CURVE} = 0.3"),
)
"""Law, words, key, multiple of su, further keys. G0 = 1000 su: the clay correlation of Andersen 2015 (read at second hand) for a plasticity index of
0.3 and su of a quarter of the effective vertical stress; half of that as the soft end (assumed)."""

PROP_STIFFNESS = 'stiffness = "50 MN/m2"'
"""Of struts at 4 to 5 m with half of it lost in packing (assumed); anchors stand as props."""


def levels_of(cut: Cut):
    """Depths of the digs, and of the props: the first dig s / 2 below ground, then one more after s while more than s is left below the prop."""
    digs, props = [cut.s / 2], [cut.s / 2 - OVERDIG]
    while cut.H - props[-1] > cut.s and digs[-1] + cut.s < cut.H:
        digs.append(digs[-1] + cut.s)
        props.append(digs[-1] - OVERDIG)
    return [*digs, cut.H], props


def cut_text(name, cut: Cut, key, multiple, keys, growth, width) -> str:
    """Case of a cut whose strength at half its depth is the tabled one and grows by ``growth`` [kPa/m]; below the clay 2 m of hard ground."""
    top = cut.su - growth * cut.H / 2
    stiffness = f"{{ {key} = {multiple * top:g}, at_level = 0, per_metre_depth = {multiple * growth:g}{keys} }}"
    rest = (
        f'drainage = "undrained"\nstrength = {{ undrained_strength = {top:g}, at_level = 0, per_metre_depth = {growth:g} }}\n'
        f"wall_friction = {{ adhesion = {ADHESION * cut.su:g} }}"
    )
    soils = soil_text("clay", 0, GAMMA, stiffness, rest) + soil_text("hard ground", cut.base, 20, '"500 MPa"', "")
    return case_text(name, *levels_of(cut), cut.toe, width / 2, cut.EI, soils, cut.base + 2, cut.H / 10, PROP_STIFFNESS, reach=8)


def cut_runs():
    """All cuts with every stiffness, both profiles of su and both widths."""
    for name, cut in CUTS.items():
        for law, words, *stiffness in CLAYS:
            for growth, profile in ((0.0, "su constant"), (GROWTH_OF_SU, "su rising")):
                for width in (10.0, 20.0):
                    yield Run("cuts", name, law, f"{words}, {profile}, {width:g} m wide", cut_text(name, cut, *stiffness, growth, width))


# ---------------------------------------------------------------------------------------------------------- two pits in Shanghai


class Layer(NamedTuple):
    """A layer: depth of its top [m], unit weight [kN/m3], Young's modulus [MPa], Poisson's ratio, c [kPa], phi [deg]."""

    top: float
    gamma: float
    E: float
    nu: float
    c: float
    phi: float


SHANGHAI = {
    "fill": Layer(0.0, 18.0, 4.2, 0.32, 2, 18),
    "silty clay": Layer(2.0, 18.9, 5.4, 0.30, 5, 25),
    "muddy silty clay": Layer(8.4, 17.4, 6.0, 0.39, 12.5, 10),
    "fine sand": Layer(14.0, 19.0, 20.0, 0.25, 5, 30),
    "silty sand with silty clay": Layer(18.4, 18.7, 18.0, 0.27, 6, 28),
    "fine sand with silty clay": Layer(28.1, 18.5, 19.0, 0.30, 6, 27.5),
}
"""Rao and others 2017 (Journal of Information Technology in Civil Engineering and Architecture 9(3), 52-57; preprint ChinaXiv 201712.01443);
full text re-read, not the figures."""

SHANGHAI_WALL = 8.9
"""Measured greatest wall movement at the end [mm] there."""

GROWTH = {
    "CX2": ((6.89, 6.5), (11.80, 7.0), (14.42, 7.5), (22.49, 9.0)),
    "CX8": ((3.93, 6.5), (11.32, 7.0), (13.99, 7.5), (19.54, 8.0)),
    "CX11": ((7.69, 7.0), (12.80, 7.0), (15.60, 7.5), (20.26, 8.0)),
}
"""Greatest wall movement [mm] and its depth [m] by tube after each dig: Cao Yan, preprint ChinaXiv 201808.00158;
full text re-read, not the figures."""

GROWTH_DIGS = (1.0, 5.2, 8.6, 11.6)
GROWTH_RATIO = (0.40, 0.46)
"""Settlement at the end, about 9 mm, over wall movement there."""

_SILTY, _MUDDY, _SANDY = (SHANGHAI[name] for name in ("silty clay", "muddy silty clay", "silty sand with silty clay"))
CHANGNING = {
    "fill": SHANGHAI["fill"],
    "brown-yellow clay": _SILTY._replace(top=2.0, gamma=19.0, c=32, phi=15.5),
    "grey-yellow clay": _SILTY._replace(top=4.0, gamma=17.8, c=18, phi=15),
    "grey muddy silty clay": _MUDDY._replace(top=6.0, gamma=17.3, c=12, phi=15.5),
    "grey muddy clay": _MUDDY._replace(top=10.0, gamma=17.0, c=12, phi=12),
    "grey clay": _MUDDY._replace(top=18.0, gamma=17.5, c=15, phi=12.5),
    "grey silty sand with silty clay": _SANDY._replace(top=23.0, gamma=18.4, c=3, phi=32.5),
    "grey silty clay with sand": _SANDY._replace(top=28.0, gamma=18.0, c=14, phi=21.5),
}
"""Weights and strengths as published by Cao Yan; depths of the layers assumed, stiffness borrowed from the like layers of `SHANGHAI`."""

SHANGHAI_TOLD = (
    "Source: Rao and others 2017, Journal of Information Technology in Civil Engineering and Architecture 9(3), 52\u201357 (preprint ChinaXiv "
    "201712.01443); full text re-read, not its figures. Layers, unit weights, E, \u03bd, c and \u03c6 as published; 65 m wide, a rectangle of "
    "the published area and perimeter. Assumed: piles 0.8 m across at 1.0 m (EI 603 MN m\u00b2/m), toe at 19 m, concrete struts 0.8 by 0.8 m at "
    "9 m, at depths of 1.0 and 5.5 m; water 1 m below ground, kept 1 m below the dig; c and \u03c6 as drained strength, no dilation, wall "
    "friction of two thirds of \u03c6; E as tabled, times 3 and times 5; or G0 ten times the tabled shear modulus, half of it left at a strain "
    "of 0.066 %."
)

GROWTH_TOLD = (
    "Source: Cao Yan, preprint ChinaXiv 201808.00158; full text re-read, not its figures. Digs, unit weights, c and \u03c6 as published; 88 m "
    "wide, a rectangle of the published area and perimeter. Assumed: tops of the layers at 0, 2, 4, 6, 10, 18, 23 and 28 m; stiffness borrowed "
    "from the like layers of the pit of 9.7 m; the same piles and struts, struts at 0.5 and 4.7 m (inferred), toe at 21 m, water as there. The "
    "last dig is of a sunken court, run as wide as the pit and with a shoulder 10 m off the wall. Left out: the base slab, and the cement-mixed "
    "blocks before the wall, whose size and strength are not published."
)

PILES = 603e3
"""EI [kN m2/m] of bored piles 0.8 m across at 1.0 m in concrete of 30 GPa: section and spacing assumed."""

CONCRETE_STRUT = 'struts = {{ EA = "19.2 GN", length = {length:g}, spacing = 9 }}'
"""Struts 0.8 by 0.8 m of the same concrete at 9 m from wall to wall (assumed)."""

STIFFENINGS = (1, 3, 5)
"""Multiples of the tabled E, which are of the size of one-dimensional compression."""

SMALL_STRAIN_TIMES, REFERENCE_STRAIN, CURVATURE = 10, 6.6e-4, 0.8
"""G0 over the tabled shear modulus; strain at half of G0 and exponent, between those of sand and of clay. Assumed."""


def layer_text(name, layer: Layer, law, times) -> str:
    """A drained layer; one stiffness, or a curve whose G0 is ``times`` the tabled shear modulus, with the tabled modulus in compression."""
    E, nu = 1e3 * layer.E, layer.nu
    oedometer = E * (1 - nu) / ((1 + nu) * (1 - 2 * nu))
    curve = (
        f"{{ G0 = {times * E / (2 + 2 * nu):.0f}, at_stress = 100, stress_power = 0, reference_strain = {REFERENCE_STRAIN}, strain_at_stress = 100, "
        f"curvature = {CURVATURE}, compression_modulus = {oedometer:.0f} }}"
    )
    stiffness = f"{{ E = {times * E:g}, poisson_ratio = {nu} }}" if law == ONE else curve
    rest = f"strength = {{ effective_cohesion = {layer.c}, friction_angle = {layer.phi} }}\nwall_friction = {{ angle = {2 * layer.phi / 3:.1f} }}"
    return soil_text(name, layer.top, layer.gamma, stiffness, rest)


def pile_runs(record, layers, digs, props, toe, half_width, bottom, said="", berm=None):
    """Runs of a pit within bored piles: multiples of the tabled E, and the curve."""
    stiffness = CONCRETE_STRUT.format(length=2 * half_width)
    for law, times in [(ONE, k) for k in STIFFENINGS] + [(SMALL, SMALL_STRAIN_TIMES)]:
        soils = "".join(layer_text(name, layer, law, times) for name, layer in layers.items())
        words = (f"E x {times}" if law == ONE else f"G0 = {times} G") + said
        yield Run(record, record, law, words, case_text(record, digs, props, toe, half_width, PILES, soils, bottom, 1.5, stiffness, 5, 1.0, berm))


def shanghai_runs():
    """Depths of digs and props, toe and water assumed; width of a rectangle of the published area and perimeter."""
    return pile_runs("pit-9.7", SHANGHAI, (1.5, 6.0, 9.7), (1.0, 5.5), 19.0, 32.5, 36.5)


def growth_runs():
    """Digs as published; width of a rectangle of the published area and perimeter; depths of the struts inferred, toe assumed; the deeper court as
    wide as the pit, or beginning 10 m from the wall; the slab and the cement-mixed blocks before the wall are left out."""
    for berm, said in ((None, ", court to the wall"), (10.0, ", court 10 m off")):
        yield from pile_runs("pit-11.6", CHANGNING, GROWTH_DIGS, (0.5, 4.7), 21.0, 44.0, 36.0, said, berm)


# ---------------------------------------------------------------------------------------------------------------------- steel struts


class Strut(NamedTuple):
    """A strut over one warm period: force set, highest temperature [C], least and greatest force, kN for each degree as tabled."""

    set: float
    warmest: float
    least: float
    most: float
    per_degree: float


COLDEST = 30.75
"""Lowest temperature [C] where one is given."""

STRUTS = (
    Strut(1300, 45.44, 2131.5, 2563.9, 29.4), Strut(1320, 45.75, 1999.4, 2291.3, 19.5), Strut(1120, 45.62, 1360.2, 1753.1, 26.4),
    Strut(1160, 45.44, 1596.8, 2007.4, 28.0), Strut(1080, 45.62, 1328.7, 1696.4, 24.7), Strut(760, 46.19, 878.2, 1200.0, 20.8),
    Strut(1040, 45.44, 1174.8, 1638.2, 31.5), Strut(1020, 45.75, 1038.3, 1285.3, 16.5), Strut(696, 45.62, 687.0, 908.4, 14.9),
)  # fmt: skip
"""Di and others 2019 (Advances in Civil Engineering 5476354), Table 3 and abstract re-read, the rest not; preloads of ordinary struts fell by up to
86.7 % there."""

STRUTS_TOLD = (
    "Source: Di and others 2019, Advances in Civil Engineering 5476354; Table 3 and abstract re-read, the rest not. Assumed: tubes 609 by 16 "
    "mm, 15 m long, at 3 and 6 m. Our pit is that of benchmarks.pit, 9 m deep in loose sand, with preloads of 30 and 100 kN/m: the whole of "
    "them, and 0.13 (ordinary preloaded struts lost up to 86.7 %)."
)

RETAINED = (1.0, 0.13)
"""Share of the preload that is left."""

PRELOADED, PRELOAD, PRELOAD_LEVEL = 6, 100.0, -5.0
"""In the pit of ``benchmarks.pit``: number of the stage that preloads the lower strut, its load [kN/m] and level [m]."""

STEEL_EA, EXPANSION = 29.8e-3 * 210e6, 1.17e-5
"""Of a tube 609 by 16 mm, assumed [kN], and thermal expansion of steel for each degree."""

STRUT_LENGTH, STRUT_SPACINGS = 15.0, (3.0, 6.0)


def weakened(text, share) -> str:
    """Case text with all preloads times a share."""
    return re.sub(r'= "([\d.]+) kN/m" }', lambda m: f'= "{share * float(m[1]):g} kN/m" }}', text)


def strut_runs():
    """The pit in loose sand with both laws, its preloads whole and lost."""
    for law, text in ((ONE, pit.in_plain_sand("1k")), (SMALL, pit.in_sand("1k"))):
        for share in RETAINED:
            yield Run("struts", "pit in sand", law, f"{share:g} of the preload retained", weakened(text, share))


RECORDS = {"cuts": cut_runs, "pit-9.7": shanghai_runs, "pit-11.6": growth_runs, "struts": strut_runs}
