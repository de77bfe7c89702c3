"""Small cases for tests: level ground, one wall, half a section, coarse triangles, so that a run takes about a second.

Invented: no name, level or soil describes a real place.
"""

import copy
import json

from fesoil import case_from

WATER = 9.81  # kN/m3
SHEET = {"EI": 2e4, "EA": 2e6}
ELASTIC = {"name": "elastic", "unit_weight": {"moist": 18.0, "saturated": 20.0}, "stiffness": {"E": 2e4, "poisson_ratio": 0.3}, "at_rest": 0.5}
SAND = {
    "name": "sand", "unit_weight": {"moist": 18.0, "saturated": 20.0}, "stiffness": {"E": 2e4, "poisson_ratio": 0.3},
    "strength": {"effective_cohesion": 1.0, "friction_angle": 34, "dilation_angle": 4}, "at_rest": 0.5, "wall_friction": {"angle": 18},
}  # fmt: skip
CLAY = {
    "name": "clay", "drainage": "undrained", "unit_weight": {"moist": 17.0, "saturated": 17.0}, "stiffness": {"E": 1e4},
    "strength": {"undrained_strength": 30}, "at_rest": 0.9, "wall_friction": {"adhesion": 10},
}  # fmt: skip
DRIVE = {"name": "drive", "drive": {"wall": -7.0}}
FRAME = {"name": "frame", "between": ["wall", "axis"], "level": -0.5, "stiffness": 2e4}
HALF = {"half": True, "right": 14.0, "bottom_level": -11.0, "element_size": 1.0}


def soil(base, **changes):
    """A soil with some keys changed; None takes a key away."""
    return {k: v for k, v in {**base, **changes}.items() if v is not None}


DIG = [DRIVE, {"name": "dig", "dig": {"wall": -1.5}}]
BRACED = [*DIG, {"name": "frame", "fit": ["frame"], "pressurise": {"frame": 20}, "lock": ["frame"]}, {"name": "dig on", "dig": {"wall": -4.0}}]
CURVE = {"G0": 8e4, "at_stress": 100.0, "reference_strain": 4e-4, "strain_at_stress": 100.0, "curvature": 0.88}
STIFF_SAND = soil(SAND, stiffness=CURVE | {"compression_modulus": 3e4}, strength={"effective_cohesion": 0, "friction_angle": 34})


def wall(name="wall", x=2.0, top=0.0, **more):
    sheet = {**SHEET, **more.pop("sheet", {})}
    return {"name": name, "x": x, "top_level": top, "sheet": sheet, **more}


def table(stages, soils=(SAND,), layers=None, walls=None, section=None, **more):
    """Tables of a case: the first soil from level 0 down unless ``layers`` (soil, top) says otherwise; half a section unless told."""
    layers = layers or [(soils[0]["name"], 0.0)]
    return copy.deepcopy({
        "title": "test", "section": HALF | (section or {}), "soils": list(soils), "layers": [{"soil": s, "top_level": y} for s, y in layers],
        "walls": [wall()] if walls is None else list(walls), "stages": list(stages) or [{"name": "nothing yet"}], **more,
    })  # fmt: skip


def build(*args, **kwargs):
    """The case of ``table``."""
    return case_from(table(*args, **kwargs))


def toml(tables) -> str:
    """Text of a case file, one line for each key at the top."""
    return "".join(f"{name} = {_value(value)}\n" for name, value in tables.items())


def _value(value):
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{json.dumps(k)} = {_value(v)}" for k, v in value.items()) + " }"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(map(_value, value)) + "]"
    return json.dumps(value)


def moved(tables, dx=0.0, dy=0.0):
    """The same job at another place: every x and every level moved (half sections cannot move in x)."""
    return _moved(copy.deepcopy(tables), dx, dy)


LEVELS = {"top_level", "level", "bottom_level", "toe", "at_level", "dig", "drive", "water", "ground_water", "pump", "flood", "from_level", "to_level"}
PLACES = {"x", "from", "left", "right"}


def _moved(node, dx, dy, key=None):
    if isinstance(node, dict):
        is_load = "pressure" in node
        is_side = key in LEVELS
        out = {}
        for k, v in node.items():
            if k == "unit_weight":
                out[k] = v
            elif is_side and not isinstance(v, (dict, list)):
                out[k] = v + dy
            elif k in PLACES and isinstance(v, (int, float)) or k == "to" and is_load:
                out[k] = v + dx
            elif k in LEVELS and isinstance(v, (int, float)) or k == "to" and isinstance(v, (int, float)):
                out[k] = v + dy
            else:
                out[k] = _moved(v, dx, dy, k)
        return out
    if isinstance(node, list):
        if key in ("outline", "surface", "top_level", "dig", "to") and node and isinstance(node[0], (list, tuple)):
            return [[x + dx, y + dy] for x, y in node]
        return [_moved(v, dx, dy, key) for v in node]
    return node


def mirrored(tables):
    """A half section as the full one: each wall twice, as one cofferdam of the wall's name; frames and slabs between the two."""
    full = copy.deepcopy(tables)
    full["section"] |= {"half": False, "left": -full["section"]["right"]}
    full["walls"] = [w | {"name": f"{w['name']} {side}", "cofferdam": w["name"], "x": sign * w["x"]} for w in full["walls"] for side, sign in (("left", -1), ("right", 1))]
    for prop in full.get("frames", []) + full.get("slabs", []):
        prop["between"] = [f"{prop['between'][0]} left", f"{prop['between'][0]} right"]
    full["loads"] = [l | ({"name": f"{l['name']} {s}"} | ({} if s == "right" else {"from": -l["to"], "to": -l["from"]})) for l in full.get("loads", []) for s in ("left", "right")]
    for stage in full["stages"]:
        for verb in ("load", "unload"):
            if verb in stage:
                stage[verb] = [f"{n} {s}" for n in stage[verb] for s in ("left", "right")]
    return full
