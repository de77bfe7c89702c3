"""Two case texts that the tests change: the sample of cases/README.md, and a full section with a cofferdam inside another."""

import re
from pathlib import Path

README = Path(__file__).parents[1] / "cases" / "README.md"
SAMPLE = re.search(r"```toml\n(.*?)```", README.read_text(encoding="utf-8"), re.DOTALL)[1]

SHEET = '{ EI = "21 MN m2/m", EA = "2.6 GN/m" }'
NESTED = f"""
title = "Invented pit in a pit"

[[soils]]
name = "clay"
drainage = "undrained"
unit_weight = {{ moist = 18, saturated = 18 }}
stiffness = "12 MPa"
strength = {{ undrained_strength = 40 }}
wall_friction = {{ adhesion = 15 }}

[[soils]]
name = "old concrete"
unit_weight = {{ moist = 24, saturated = 24 }}
stiffness = "25 GPa"

[[layers]]
soil = "clay"
top_level = 0

[[blocks]]
name = "old base"
soil = "old concrete"
outline = [[-1, -1], [1, -1], [1, -2], [-1, -2]]

[water]
outside = -1

{"".join(f'''
[[walls]]
name = "{name}"
cofferdam = "{pit}"
x = {x}
top_level = 0.5
sheet = {SHEET}
''' for name, pit, x in (("outer left", "outer", -5), ("inner left", "inner", -2), ("inner right", "inner", 2), ("outer right", "outer", 5)))}
[[frames]]
name = "top"
between = ["outer left", "outer right"]
level = -0.5
struts = {{ EA = "2 GN", length = 10, spacing = 2.5 }}

[[slabs]]
name = "blinding"
between = ["inner left", "inner right"]
top_level = -3.8
thickness = 0.2
E = "8 GPa"

[[loads]]
name = "crane"
x = 7
force = 40

[[loads]]
name = "store"
from = -9
to = -6

[[stages]]
name = "drive outer"
drive = {{ outer = -7 }}
load = ["crane", "store"]

[[stages]]
name = "dig outer"
dig = {{ outer = -1.2 }}
fit = "top"

[[stages]]
name = "lock"
pressurise = {{ top = {{ ram_force = "50 kN" }} }}
lock = "top"

[[stages]]
name = "drive inner"
drive = {{ inner = {{ toe = -8, stopped_short = "resting" }} }}
water = {{ inside = -3, inner = -5 }}

[[stages]]
name = "dig inner"
dig = {{ outer = -2.5, inner = -4 }}

[[stages]]
name = "cast"
cast = "blinding"
"""
