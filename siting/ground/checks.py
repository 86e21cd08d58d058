"""Checks of layers against candidates before the work begins, so that a hopeless run ends at once."""
from __future__ import annotations

from typing import Callable

import numpy as np

from ..errors import InputError
from ..geometry.localframe import crs_from_text
from .classes import TargetClasses
from .rasters import Raster
from .rastersampling import RasterSampler

LOOK_AT = 200
"""Candidates whose surroundings are looked at; more of them leave the check to the run's own log."""

STEP_PART = 1.0 / 150.0
"""Step at which they are looked at, as a part of the reach; a window stays below 600 × 600 cells."""
METRES = ("m", "metre", "metres", "meter", "meters", "[m]")


def check_raster(raster: Raster, parameter: str, lon, lat, reach_m, narrowest_m: float,
                 classes: TargetClasses | None = None) -> list[str]:
    """Refuse a raster that tells nothing about any candidate, and warn of one that is coarse.

    Parameters
    ----------
    raster : Raster
    parameter : str
        Its parameter's name, for messages.
    lon, lat, reach_m : ndarray, shape (n,)
        The candidates [°], and how far from each ground is looked at [m].
    narrowest_m : float
        Width of the narrowest footprint [m].
    classes : TargetClasses, optional
        Classes of which at least one cell must be near a candidate.

    Returns
    -------
    list of str
        Warnings.

    Raises
    ------
    InputError
        If the raster covers no candidate, has no data near any, or holds none of the classes
        (where it holds them only far from the candidates, that is a finding and a warning).
    """
    if not len(lon):
        return []
    sampler = RasterSampler(raster, lon, lat, reach_m)
    chosen = np.unique(np.linspace(0, len(lon) - 1, LOOK_AT).astype(int))
    covered = matched = False
    warnings: list[str] = []
    seen: set = set()
    cells = []
    for site in chosen:
        cells.append(sampler.cell_m(int(site)))
        if covered and (matched or classes is None):
            continue
        value, valid = sampler.surroundings(int(site), reach_m[site] * STEP_PART)
        covered |= bool(valid.any())
        if classes is not None and valid.any():
            matched |= bool(classes.contains(value[valid]).any())
            seen.update(np.unique(value[valid]).tolist()[:50])
    everyone = len(chosen) == len(lon)
    if not covered:
        extent = _extent_text(raster)
        text = (f"{parameter} “{raster.name}” has no data around any of the {len(chosen)} candidates looked at "
                f"({extent}). Check that it covers them and that its coordinate reference system is right.")
        if everyone:
            raise InputError(text)
        warnings.append(text)
    elif classes is not None and not matched:
        found = ", ".join(f"{v:g}" for v in sorted(seen)[:20])
        text = (f"TARGET_CLASSES “{classes.text}” matches no cell of {parameter} “{raster.name}” near the "
                f"{len(chosen)} candidates looked at; classes found there: {found}.")
        elsewhere = raster.thin_overview()
        if everyone and not classes.contains(elsewhere.values[elsewhere.valid]).any():
            raise InputError(text + " Choose among those.")
        warnings.append(text)
    coarse = np.nanmax(cells) if np.isfinite(cells).any() else 0.0
    if coarse > narrowest_m:
        warnings.append(f"{parameter} “{raster.name}” has cells of {coarse:.3g} m, wider than the narrowest footprints "
                        f"({narrowest_m:.2g} m): what they lie on is only as well known as its cells.")
    return warnings


def check_dem_unit(raster: Raster, parameter: str, tell: Callable[[str], None] = lambda text: None) -> None:
    """Refuse an elevation model whose heights are not metres.

    The unit is that of the band; where it names none, that of the vertical axis of the CRS.

    Parameters
    ----------
    raster : Raster
    parameter : str
        Its parameter's name, for messages.
    tell : callable
        Told where neither names a unit, so that metres are taken for granted.

    Raises
    ------
    InputError
        If the unit is another one.
    """
    unit, where = raster.unit.strip(), "by the unit of its band"
    if not unit:
        unit, where = _vertical_unit(raster.crs), "by the vertical axis of its coordinate reference system"
    if not unit:
        tell(f"{parameter} “{raster.name}” names no unit of height; its values are taken for metres.")
    elif unit.lower() not in METRES:
        raise InputError(
            f"{parameter} “{raster.name}” holds heights in “{unit}” ({where}), but metres are needed. Convert it to "
            "metres, for instance with the raster calculator, or set the band's unit right if it is wrong.")


def _vertical_unit(wkt: str) -> str:
    """Return the unit's name of a CRS's vertical axis; empty where it has none."""
    crs = crs_from_text(wkt)
    for part in crs.sub_crs_list or [crs]:
        for axis in part.axis_info:
            if axis.direction in ("up", "down"):
                return axis.unit_name
    return ""


def _extent_text(raster: Raster) -> str:
    rows, cols = raster.shape
    a, b, c, d, e, f = raster.affine
    x = [a + b * col + c * row for col in (0, cols) for row in (0, rows)]
    y = [d + e * col + f * row for col in (0, cols) for row in (0, rows)]
    return (f"its extent is {min(x):.10g} to {max(x):.10g} east and {min(y):.10g} to {max(y):.10g} north "
            "in its own units")
