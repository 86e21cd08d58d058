"""Another surface at nearly the same height, in words."""
from __future__ import annotations

from ..verdict.competing import Competitor


def competitor_words(competitor: Competitor, separation_m: float) -> str:
    """Say which surface competes in a direction.

    Parameters
    ----------
    one : Competitor
    separation_m : float
        What the direction's window tells apart [m].

    Returns
    -------
    str
        Such as “pier or quay 0.6 m higher fills 70 % of the footprint at 18°, within the 0.79 m that this window
        tells apart”.
    """
    side = "higher" if competitor.above_m > 0 else "lower"
    return (f"{competitor.name} {abs(competitor.above_m):.1f} m {side} fills {100 * competitor.part:.0f} % of the "
            f"footprint at {competitor.elevation_deg:g}°, within the {separation_m:.2f} m that this window tells apart")


def directions_words(number: int) -> str:
    """Say in how many directions another surface competes."""
    return f"in {number} direction{'s' if number > 1 else ''} another surface reflects at nearly the same height"
