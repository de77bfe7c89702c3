"""How every picture looks: type, colours, the footer, and how a picture is put on disk.

Colours keep apart for colour-blind eyes and in grey print; nothing is told by colour alone. Text is never read as mathematics, so that
names may hold any character. Figures are made without ``pyplot``: nothing is kept open and no display is needed.
"""

from __future__ import annotations

import os
import re
import textwrap
import warnings
from importlib import metadata
from pathlib import Path

import matplotlib
import numpy as np
from matplotlib import patheffects
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from fesoil.errors import ResultError

CAUTION = "A calculation aid: to be checked by a competent engineer; local codes govern; monitor on site."
DPI = 150
SMALL = 7.0  # [points] the smallest type, at a page's width
FOOT = 0.45  # [inch] room for the footer
PAGE = 10.5  # [inch] width of a page on its side between its margins
NO_EQUILIBRIUM = "no equilibrium"

INK, GREY, FAINT = "#222222", "#6b6b6b", "#b5b5b5"
WALLS = ("#0072b2", "#d55e00", "#00805e", "#7b3f98", "#8c6d1f", "#3b3b3b")
FRAMES = ("#222222", "#d55e00", "#0072b2", "#00805e", "#b0468b", "#8c6d1f", "#56b4e9", "#7b3f98")
MARKERS = "osD^vPX*"
DASHES = ("-", (0, (6, 2)), (0, (2, 1.5)), (0, (6, 2, 1, 2)))
SOILS = ("#efe4cc", "#dbe1cd", "#e9d8cb", "#dadde3", "#f3efd8", "#cfdcd9", "#e6dbe4", "#d8cfbf")
HATCHES = ("", "..", "//", "--", "\\\\", "xx", "||", "++")
CONCRETE, WATER, WATER_LINE, MARKER_PEN = "#c9c9c9", "#d6e8f4", "#2a6f97", "#ffe14d"

PATCH = dict(facecolor="white", edgecolor="none", pad=1.2)  # behind the text of a dimension line
LABEL = dict(facecolor="white", edgecolor="none", pad=1.0, alpha=0.8)  # behind the name of a soil

RC = {
    "font.family": ["DejaVu Sans"],
    "font.size": 8.0,
    "axes.titlesize": 8.5,
    "axes.labelsize": 8.0,
    "axes.titleweight": "normal",
    "xtick.labelsize": 7.0,
    "ytick.labelsize": 7.0,
    "legend.fontsize": 7.0,
    "axes.linewidth": 0.6,
    "lines.linewidth": 1.2,
    "xtick.major.width": 0.6,
    "ytick.major.width": 0.6,
    "xtick.major.size": 2.5,
    "ytick.major.size": 2.5,
    "axes.edgecolor": GREY,
    "xtick.color": GREY,
    "ytick.color": GREY,
    "axes.labelcolor": INK,
    "text.color": INK,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "hatch.linewidth": 0.35,
    "text.parse_math": False,
    "axes.unicode_minus": True,
    "figure.facecolor": "white",
    "axes.facecolor": "white",
    "figure.dpi": 100,
    "savefig.dpi": 150,
    "path.simplify": True,
    "legend.frameon": False,
    "text.usetex": False,
}


def quiet():
    """Context in which pictures are made and saved."""
    return matplotlib.rc_context(RC)


def wall_colour(case, name: str) -> str:
    """Colour of a wall, the same in every picture of a case."""
    names = [wall.name for wall in case.walls]
    return WALLS[names.index(name) % len(WALLS)]


def frame_style(index: int) -> dict:
    """Colour, marker and dash of the frame at an index of the case, as keywords of ``plot``."""
    return dict(color=FRAMES[index % len(FRAMES)], marker=MARKERS[index % len(MARKERS)], linestyle=DASHES[index % len(DASHES)])


def soil_style(case, index: int) -> dict:
    """Pale fill and hatch of a soil, as keywords of a patch, by its name whatever the order of the soils; one that never yields is grey."""
    if case.soils[index].strength is None:
        return dict(facecolor=CONCRETE, hatch="xx", edgecolor="#8f8f8f", linewidth=0)
    rank = sorted(soil.name for soil in case.soils).index(case.soils[index].name)
    return dict(facecolor=SOILS[rank % len(SOILS)], hatch=HATCHES[(rank + rank // len(SOILS)) % len(HATCHES)], edgecolor="#a89f8b", linewidth=0)


def level_ticks(axis) -> None:
    """Ticks at whole steps of 1, 2 or 5."""
    axis.set_major_locator(MaxNLocator(nbins=9, steps=[1, 2, 5, 10]))


def stage_colours(n: int):
    """Colours of n stages, shape (n, 4), from early (pale) to late (dark)."""
    return matplotlib.colormaps["viridis_r"](np.linspace(0.12, 0.95, n) if n > 1 else [0.8])


def stage_line(colour, rank: int, failed: bool = False) -> dict:
    """How a stage's curve is drawn, as keywords of ``plot``: rank 2 is the greatest here, 1 the greatest in another picture, 0 the rest, paler."""
    if failed:
        return dict(color=colour, linestyle=(0, (4, 2)), linewidth=1.3, zorder=5)
    faded = np.append(0.55 * np.asarray(colour)[:3] + 0.45, 1.0)
    return dict(color=colour if rank else faded, linewidth=(0.9, 1.4, 2.4)[rank], zorder=3 + 0.5 * rank)


def halo(width: float = 2.6, colour: str = "white") -> list:
    """Outline that keeps text legible on hatches."""
    return [patheffects.withStroke(linewidth=width, foreground=colour)]


def level(value: float) -> str:
    """A level as written on a drawing: sign and two decimals [m]."""
    return "0.00" if abs(value) < 0.005 else f"{value:+.2f}".replace("-", "\u2212")


def true_minus(text: str) -> str:
    """Words with the hyphens before digits made into minus signs."""
    return re.sub(r"(?<![\w\u2212])-(?=\d)", "\u2212", text)


def number(value: float, decimals: int = 1) -> str:
    """A number with a true minus sign."""
    text = f"{value:.{decimals}f}".replace("-", "\u2212")
    return text[1:] if text.startswith("\u2212") and not text.strip("\u22120.") else text


def write(ax, x, y, text: str, offset=(0, 0), **kw):
    """Put text at a data point, ``offset`` in points away from it; never read as mathematics."""
    kw = {"fontsize": 7, "color": INK, "ha": "center", "va": "center", "zorder": 8, "path_effects": halo(), "annotation_clip": False, **kw}
    note = ax.annotate(text, (x, y), xytext=offset, textcoords="offset points", parse_math=False, **kw)
    note.set_in_layout(False)
    return note


def title(ax, text: str, **kw):
    """A quiet title on the left."""
    return ax.set_title(text, **{"loc": "left", "fontsize": 8.5, "color": INK, "parse_math": False, **kw})


def shorten(text: str, width: int) -> str:
    """Text cut at a word with an ellipsis where it is longer than ``width`` characters."""
    return (
        textwrap.shorten(text, width, placeholder=" \u2026")
        if " " in text[:width]
        else (text if len(text) <= width else text[: width - 1] + "\u2026")
    )


def wrap(text: str, width: int, lines: int = 9) -> str:
    """Text broken at words; cut off with an ellipsis after ``lines`` lines."""
    return "\n".join(textwrap.wrap(text, width, max_lines=lines, placeholder=" \u2026") or [""])


def spread(wanted, gap: float):
    """Places nearest to those wanted, in the same order, at least ``gap`` apart; shape (n,)."""
    wanted = np.asarray(wanted, float)
    order = np.argsort(wanted, kind="stable")
    blocks: list[list[float]] = []  # [centre of the block's first place, number of places]
    for value in wanted[order]:
        blocks.append([value, 1])
        while len(blocks) > 1 and blocks[-2][0] + gap * blocks[-2][1] > blocks[-1][0]:
            (a, n), (b, m) = blocks[-2:]
            blocks[-2:] = [[(n * a + m * (b - n * gap)) / (n + m), n + m]]
    places = np.empty_like(wanted)
    places[order] = [start + gap * i for start, n in blocks for i in range(n)]
    return places


def version() -> str:
    """Version of the installed package."""
    try:
        return metadata.version("fesoil")
    except metadata.PackageNotFoundError:
        return "(not installed)"


def new_figure(width: float, height: float) -> Figure:
    """An empty figure [inch] that leaves room for the footer."""
    figure = Figure(figsize=(width, height), layout="constrained")
    figure.get_layout_engine().set(w_pad=0.04, h_pad=0.04)
    set_height(figure, height)
    return figure


def set_height(figure: Figure, height: float) -> None:
    """Change the height [inch] of a figure from ``new_figure`` before its footer is written."""
    foot = FOOT / height
    figure.set_size_inches(figure.get_figwidth(), height)
    figure.get_layout_engine().set(rect=(0.008, foot, 0.984, 1 - foot - 0.12 / height))


def footer(figure: Figure, case, release: str | None = None, note: str = "") -> Figure:
    """Job, drawing, a note, version and the caution in small type along the bottom."""
    height = figure.get_figheight()
    job = " \u00b7 ".join(part for part in (shorten(case.title, 90), shorten(case.drawing, 40), note) if part)
    small = dict(fontsize=SMALL, color=GREY, va="bottom", parse_math=False)
    figure.text(0.012, 0.23 / height, job, **small)
    figure.text(0.988, 0.23 / height, f"fesoil {release or version()}", ha="right", **small)
    figure.text(0.012, 0.08 / height, CAUTION, **small)
    return figure


def save(figure: Figure, path) -> Path:
    """Write a PNG at 150 dpi under a temporary name and move it into place, so that no half-written picture is ever seen.

    Raises
    ------
    ResultError
        Where the place cannot be written.
    """
    path = Path(path)
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with quiet(), warnings.catch_warnings():
            warnings.filterwarnings("ignore", message="Glyph .* missing from font")
            figure.savefig(part, format="png", dpi=DPI, metadata={"Software": None}, pil_kwargs={"compress_level": 4})
        os.replace(part, path)
    except OSError as fault:
        raise ResultError(f"{path}: cannot be written ({fault.strerror}); choose another place with --out") from fault
    finally:
        if part.exists():
            part.unlink()
        figure.clear()
    return path
