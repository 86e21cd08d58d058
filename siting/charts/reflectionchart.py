"""A chart of what each surface returns by elevation angle, as SVG: readable in grey."""
from __future__ import annotations

from html import escape
from typing import NamedTuple

import numpy as np

from ..reflection.coefficients import decibels, fresnel
from ..reflection.surfaces import ICE, LAKE, SEA, SNOW, SOIL, Surface
from ..signals import CARRIER_MHZ, DEFAULT_SIGNAL, wavelength_m
from . import palette
from .palette import INK, PALE, PAPER

WIDTH, HEIGHT = 1120, 540
TOP, BOTTOM = 106.0, 452.0
PANEL_WIDTH = 300.0
LEFT = (66.0, 636.0)
ANGLES_DEG = 30.0 * np.linspace(0.0, 1.0, 121)**2  # closer where the curves are steep
LOWEST_DB = -30.0
LINE_SPACING = 17.0


class Curve(NamedTuple):
    """A surface as it is drawn."""

    label: str
    surface: Surface
    given: dict
    colour: str
    dash: str


CURVES = [
    Curve("sea, 35 psu, 15 °C", SEA, {}, palette.CURVES[0], ""),
    Curve("fresh water, 10 °C", LAKE, {}, palette.CURVES[1], "2 4"),
    Curve("wet soil, 0.40 m³/m³", SOIL, {"moisture_m3_m3": 0.4}, palette.CURVES[2], "14 4"),
    Curve("moist soil, 0.20 m³/m³", SOIL, {}, palette.CURVES[3], "7 4"),
    Curve("ice, −5 °C", ICE, {}, palette.CURVES[4], "10 3 2 3"),
    Curve("dry snow, 0.30 g/cm³", SNOW, {}, palette.CURVES[5], "4 3"),
]
PANELS = [("Same circular polarisation", "what the antenna receives beside the direct signal"),
          ("Opposite circular polarisation", "what the antenna largely rejects")]


def _spread(wanted: np.ndarray) -> np.ndarray:
    """Move label positions [px] apart where they would overlap, keeping their order and their middle."""
    order = np.argsort(wanted, kind="stable")
    placed = wanted[order].astype(float)
    for _ in range(200):
        overlap = LINE_SPACING - np.diff(placed)
        if (overlap <= 1e-6).all():
            break
        push = np.maximum(overlap, 0.0) / 2.0
        placed[:-1] -= push
        placed[1:] += push
    result = np.empty_like(placed)
    result[order] = placed
    return result


def _text(x: float, y: float, text: str, size: int = 13, anchor: str = "start", more: str = "") -> str:
    return (f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size}" text-anchor="{anchor}" fill="{INK}"{more}>'
            f"{escape(text)}</text>")


def _line(x1: float, y1: float, x2: float, y2: float, colour: str, width: float) -> str:
    return (f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="{colour}" '
            f'stroke-width="{width:g}"/>')


def _height(decibel) -> np.ndarray:
    """Place decibels on the page [px]."""
    return TOP + (BOTTOM - TOP) * np.asarray(decibel) / LOWEST_DB


def _panel(left: float, heading: tuple, levels_db: list) -> list:
    """Draw one panel: grid, axes, curves, and a label at each curve's end."""
    right = left + PANEL_WIDTH
    parts = [_text(left, TOP - 36, heading[0], 15, more=' font-weight="bold"'), _text(left, TOP - 17, heading[1])]
    for level in range(int(LOWEST_DB), 1, 5):
        y = float(_height(level))
        parts.append(_line(left, y, right, y, PALE, 1))
        parts.append(_text(left - 7, y + 4.5, f"{level}".replace("-", "−"), anchor="end"))
    for angle in range(0, 31, 5):
        x = left + PANEL_WIDTH * angle / 30.0
        parts.append(_line(x, TOP, x, BOTTOM, PALE, 1))
        parts.append(_text(x, BOTTOM + 18, f"{angle}", anchor="middle"))
    parts.append(f'<path d="M{left:.1f} {TOP:.1f}V{BOTTOM:.1f}H{right:.1f}" fill="none" stroke="{INK}"/>')
    middle = (TOP + BOTTOM) / 2.0
    parts.append(_text(left + PANEL_WIDTH / 2.0, BOTTOM + 40, "elevation angle [°]", anchor="middle"))
    parts.append(_text(left - 42, middle, "reflected over incident field [dB]", anchor="middle",
                       more=f' transform="rotate(-90 {left - 42:.1f} {middle:.1f})"'))
    ends = np.array([float(_height(level[-1])) for level in levels_db])
    for curve, level, end, label_y in zip(CURVES, levels_db, ends, _spread(ends)):
        shown = level >= LOWEST_DB
        x = left + PANEL_WIDTH * ANGLES_DEG[shown] / ANGLES_DEG[-1]
        points = " ".join(f"{a:.1f},{b:.1f}" for a, b in zip(x, _height(level[shown])))
        dash = f' stroke-dasharray="{curve.dash}"' if curve.dash else ""
        parts.append(f'<polyline points="{points}" fill="none" stroke="{curve.colour}" stroke-width="2.2"{dash}/>')
        parts.append(_line(right + 1, end, right + 15, label_y, curve.colour, 1))
        parts.append(_text(right + 18, label_y + 4.5, curve.label))
    return parts


def returns_svg(signal: str = DEFAULT_SIGNAL) -> str:
    """Draw what each surface returns, co-polar and cross-polar, from 0 to 30° of elevation angle.

    Parameters
    ----------
    signal : str
        The carrier, one of `signals.SIGNALS`.

    Returns
    -------
    str
        An SVG document, the same for the same signal.

    Raises
    ------
    InputError
        If the signal is not known.
    """
    wavelength_m(signal)  # tells politely of a signal that is not known
    megahertz = CARRIER_MHZ[signal]
    fields = [fresnel(curve.surface.permittivity(megahertz * 1e6, **curve.given), ANGLES_DEG) for curve in CURVES]
    title = f"What a smooth surface returns at {signal}, {megahertz:g} MHz"
    parts = [f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}" height="{HEIGHT}" '
             f'viewBox="0 0 {WIDTH} {HEIGHT}" role="img" aria-label="{escape(title)}" '
             'font-family="DejaVu Sans, sans-serif">',
             f"<title>{escape(title)}</title>", f'<rect width="{WIDTH}" height="{HEIGHT}" fill="{PAPER}"/>',
             _text(24, 34, title, 19, more=' font-weight="bold"')]
    parts += _panel(LEFT[0], PANELS[0], [decibels(field.co_polar) for field in fields])
    parts += _panel(LEFT[1], PANELS[1], [decibels(field.cross_polar) for field in fields])
    note = ("The antenna takes right-hand circular polarisation. Waves and uneven ground cost more, "
            "most at great angles. Ice and dry snow let the rest through to what lies below.")
    parts.append(_text(24, HEIGHT - 12, note, 12))
    parts.append("</svg>")
    return "\n".join(parts) + "\n"
