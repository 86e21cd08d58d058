"""What is drawn over a map of a site: frame, north arrow, scale bar and key; or the map itself within them."""
from __future__ import annotations

from .drawing import WIDTH, Drawing, Mark
from .marks import box, line, mark, shape, text
from .palette import INK, PAPER, WEDGE
from .placing import tick_step

HEIGHT = 500
KEY = 30
"""Height of the strip below the map that holds the key [px]."""


def map_chart(chart_id: str, title: str, description: str, metres_per_px: float, image: str = "") -> Drawing:
    """Draw the frame of a map whose site stands in its middle.

    Parameters
    ----------
    chart_id, title, description : str
    metres_per_px : float
        Scale at the site [m/px].
    image : str
        The map as a data URI; empty: only what is drawn over it, on a transparent ground.

    Returns
    -------
    Drawing
        `WIDTH` × (`HEIGHT` + `KEY`).
    """
    marks = [mark("image", x="0", y="0", width=f"{WIDTH}", height=f"{HEIGHT}", href=image)] if image else []
    marks.append(box(0.5, 0.5, WIDTH - 1, HEIGHT - 1, "none", INK, 1.0))
    marks += _north() + _scale_bar(metres_per_px) + _key()
    return Drawing(chart_id, WIDTH, HEIGHT + KEY, title, description, tuple(marks), PAPER if image else "")


def _north() -> list[Mark]:
    x, y = WIDTH - 34.0, 20.0
    return [mark("circle", cx=f"{x:g}", cy=f"{y + 22:g}", r="26", fill=PAPER, fill_opacity="0.85"),
            shape([(x, y), (x + 8, y + 26), (x, y + 20)], INK),
            shape([(x, y), (x - 8, y + 26), (x, y + 20)], PAPER, INK),
            text(x, y + 40, "N", "middle", 14, is_bold=True)]


def _scale_bar(metres_per_px: float) -> list[Mark]:
    metres = tick_step(150.0 * metres_per_px, 1)
    if metres / metres_per_px > 220.0:
        metres /= 2.0
    length = metres / metres_per_px
    x, y = 16.0, HEIGHT - 18.0
    ground = mark("rect", x=f"{x - 8:g}", y=f"{y - 22:g}", width=f"{length + 60:.1f}", height="32", fill=PAPER,
                  fill_opacity="0.85")
    return [ground, box(x, y - 5, length / 2.0, 5, INK, INK),
            box(x + length / 2.0, y - 5, length / 2.0, 5, PAPER, INK),
            text(x, y - 9, "0", "middle" if metres >= 1000 else "start", 11),
            text(x + length, y - 9, f"{metres:g} m", "middle", 11)]


def _key() -> list[Mark]:
    y = HEIGHT + 19.0
    wedge = [(14, y - 12), (34, y - 12), (28, y + 1), (20, y + 1)]
    return [shape(wedge, WEDGE, INK, 1.6), text(42, y, "ground of the directions that count"),
            line(292, y - 4, 316, y - 4, INK, 2.0),
            text(322, y, "first Fresnel zone at the lowest and highest angle"),
            mark("circle", cx="656", cy=f"{y - 4:g}", r="5", fill=INK, stroke=PAPER), text(668, y, "antenna")]
