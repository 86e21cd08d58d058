"""A chart of what each surface returns by elevation angle, as SVG: readable in grey."""
from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..arrays import Array
from ..reflection.coefficients import decibels, fresnel
from ..reflection.surfaces import ICE, LAKE, SEA, SNOW, SOIL, Substance
from ..signals import CARRIER_MHZ, DEFAULT_SIGNAL, wavelength_m
from . import palette
from .drawing import Drawing, Mark
from .marks import line, mark, text, upright
from .palette import INK, PALE
from .placing import apart

WIDTH, HEIGHT = 1120, 540
TOP, BOTTOM = 106.0, 452.0
PANEL_WIDTH = 300.0
LEFT = (66.0, 636.0)
ANGLES_DEG = 30.0 * np.linspace(0.0, 1.0, 121)**2  # closer where the curves are steep
LOWEST_DB = -30.0
LINE_SPACING, TEXT_PX = 17.0, 13
FONT = "DejaVu Sans, sans-serif"


class Curve(NamedTuple):
    """A surface as it is drawn."""

    label: str
    surface: Substance
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


def _height(decibel) -> Array:
    """Place decibels on the page [px]."""
    return TOP + (BOTTOM - TOP) * np.asarray(decibel) / LOWEST_DB


def _panel(left: float, heading: tuple, levels_db: list) -> list[Mark]:
    """Draw one panel: grid, axes, curves, and a label at each curve's end."""
    right, middle = left + PANEL_WIDTH, (TOP + BOTTOM) / 2.0
    marks = [text(left, TOP - 36, heading[0], size=15, is_bold=True), text(left, TOP - 17, heading[1], size=TEXT_PX)]
    for level in range(int(LOWEST_DB), 1, 5):
        y = float(_height(level))
        marks += [line(left, y, right, y, PALE),
                  text(left - 7, y + 4.5, f"{level}".replace("-", "−"), "end", TEXT_PX)]
    for angle in range(0, 31, 5):
        x = left + PANEL_WIDTH * angle / 30.0
        marks += [line(x, TOP, x, BOTTOM, PALE), text(x, BOTTOM + 18, f"{angle}", "middle", TEXT_PX)]
    marks += [mark("path", d=f"M{left:.1f} {TOP:.1f}V{BOTTOM:.1f}H{right:.1f}", fill="none", stroke=INK),
              text(left + PANEL_WIDTH / 2.0, BOTTOM + 40, "elevation angle [°]", "middle", TEXT_PX),
              upright(left - 42, middle, "reflected over incident field [dB]", TEXT_PX)]
    ends = [float(_height(level[-1])) for level in levels_db]
    for curve, level, end, label_y in zip(CURVES, levels_db, ends, apart(ends, LINE_SPACING)):
        shown = level >= LOWEST_DB
        x = left + PANEL_WIDTH * ANGLES_DEG[shown] / ANGLES_DEG[-1]
        points = " ".join(f"{a:.1f},{b:.1f}" for a, b in zip(x, _height(level[shown])))
        dash = {"stroke_dasharray": curve.dash} if curve.dash else {}
        marks += [mark("polyline", points=points, fill="none", stroke=curve.colour, stroke_width="2.2", **dash),
                  line(right + 1, end, right + 15, label_y, curve.colour),
                  text(right + 18, label_y + 4.5, curve.label, size=TEXT_PX)]
    return marks


def returns_chart(signal: str = DEFAULT_SIGNAL) -> Drawing:
    """Draw what each surface returns, co-polar and cross-polar, from 0 to 30° of elevation angle.

    Parameters
    ----------
    signal : str
        The carrier, one of `signals.SIGNALS`.

    Returns
    -------
    Drawing
        The same for the same signal.

    Raises
    ------
    InputError
        If the signal is not known.
    """
    wavelength_m(signal)  # tells politely of a signal that is not known
    megahertz = CARRIER_MHZ[signal]
    fields = [fresnel(curve.surface.permittivity(megahertz * 1e6, **curve.given), ANGLES_DEG) for curve in CURVES]
    title = f"What a smooth surface returns at {signal}, {megahertz:g} MHz"
    note = ("The antenna takes right-hand circular polarisation. Waves and uneven ground cost more, "
            "most at great angles. Ice and dry snow let the rest through to what lies below.")
    marks = [text(24, 34, title, size=19, is_bold=True),
             *_panel(LEFT[0], PANELS[0], [decibels(field.co_polar) for field in fields]),
             *_panel(LEFT[1], PANELS[1], [decibels(field.cross_polar) for field in fields]),
             text(24, HEIGHT - 12, note)]
    return Drawing("", WIDTH, HEIGHT, title, "", tuple(marks), font=FONT)
