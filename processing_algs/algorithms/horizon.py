"""Horizon mask: the skyline of each site, a wedge for each azimuth bin out to what forms it."""
from __future__ import annotations

import numpy as np
from qgis.core import QgsProcessing, QgsProcessingParameterFeatureSink, QgsWkbTypes

from ...siting.candidates import point_values
from ...siting.errors import InputError
from ...siting.geometry.localframe import LocalFrame
from ...siting.geometry.sectors import sector_rings
from ...siting.ground.rasters import bounded_cache
from ...siting.windows import bin_count
from ...siting.words.ends import ends_text
from ..layers.fields import AZIMUTH, SITE, Column
from ..layers.geometries import UNDRAWABLE, drawn
from ..reading import parameters as define
from ..reading.candidates import NAMES_TOLD, read_resolver, read_sites, tell_problems
from ..reading.given import Given
from ..reading.terrain import read_terrain, tell_buried
from .base import StillwaterAlgorithm

COLUMNS = [SITE, AZIMUTH, Column("el_deg", "number", "Elevation angle of the skyline [°]"),
           Column("dist_m", "number", "Distance to what forms it [m]")]
PREPARED_PERCENT = 50.0
CACHE_BYTES = 64 << 20
"""Memory that GDAL may keep decoded blocks in; the cells looked at are kept by the science itself."""


class HorizonAlgorithm(StillwaterAlgorithm):
    """Finds how high the skyline stands around each site."""

    ID = "horizon"
    TITLE = "Horizon mask"
    GROUP = "Ground"
    SUMMARY = (
        "Finds for each site and azimuth bin the elevation angle of the skyline as the antenna sees it, from elevation "
        "models and barriers, over the curved Earth and with the standard refraction of radio waves (effective radius "
        "of the Earth 4/3 of the real one, ITU-R P.526). Each wedge reaches out to what forms the skyline in the "
        "middle of its bin. Near terrain counts cell by cell; far terrain where it can raise the skyline by 0.0002° or "
        "more. Where DEM brings overviews and is large, ground beyond 3 km is first judged by them: a mast or wall "
        "much narrower than their cells may then be missed. What neither model nor barrier tells hides nothing: sea "
        "without data has no skyline, and where DEM shows the bed of the sea, angles below 0 are those of the bed.")
    TAGS = ("horizon", "skyline", "mask", "terrain", "elevation", "viewshed", "obstruction", "dem", "building")

    def initAlgorithm(self, configuration: dict | None = None) -> None:
        for parameter in (
            *define.candidates(), define.dem(), define.geoid(), *define.zero_level(), *define.terrain(),
            define.azimuth_step(5.0, "Width of an azimuth bin; the first begins at north, and 360 must be a multiple "
                                     "of it. The skyline is that in the middle of the bin."),
        ):
            self.addParameter(parameter)
        self.addParameter(define.described(QgsProcessingParameterFeatureSink(
            "OUTPUT", "Horizon mask", QgsProcessing.SourceType.TypeVectorPolygon),
            "A wedge for each site and azimuth bin, out to what forms the skyline there."))

    def compute(self, given: Given) -> dict:
        with bounded_cache(CACHE_BYTES):
            return self._compute(given)

    def _compute(self, given):
        bins = bin_count(given.real("AZIMUTH_STEP"))
        centre = (np.arange(bins) + 0.5) * 360.0 / bins
        sites = read_sites(given)
        candidates, dem = sites.candidates, given.raster("DEM")
        # above the ground, the ground is the zero: land below the sea is land like any other
        is_above_ground = given.choice("HEIGHT_REFERENCE") == "ground"
        read_resolver(given, sites, dem, is_above_ground)(candidates)
        if is_above_ground:
            _refuse_without_ground(candidates, dem)
        _tell_if_none(given, candidates)
        terrain = read_terrain(given, candidates, PREPARED_PERCENT)
        if terrain is None:
            raise InputError("Nothing is given that could form a skyline. Give DEM, DEM_FAR or BARRIERS.")
        tell_buried(given, terrain, candidates)
        tell_problems(given, candidates)
        output = self.open_output(given, "OUTPUT", COLUMNS, QgsWkbTypes.Type.MultiPolygon, sites.source.sourceCrs())
        frame = LocalFrame(*sites.lonlat, sites.crs, terrain.max_distance_m)
        progress, short = given.progress(PREPARED_PERCENT), []
        for index, candidate in enumerate(candidates):
            given.stop_if_cancelled()
            progress(index / len(candidates))
            if candidate.problem:
                continue
            sky = terrain.skyline(index, candidate.zero_level_m + candidate.over_zero_m, centre)
            wedges = _wedges(given, candidate, sky, centre, lambda rings, site=index: drawn(frame, site, rings))
            for shape, row in wedges:
                output.add(shape, [candidate.name, *row])
            ends = ends_text(sky.ends_m, terrain.max_distance_m, 360.0 / bins)
            if ends:
                short.append(f"“{candidate.name}” {ends}")
        if short:
            more = f" and {len(short) - NAMES_TOLD} more sites" if len(short) > NAMES_TOLD else ""
            given.warn(
                f"The elevation models end, or have no more data, before MAX_DISTANCE ({terrain.max_distance_m:g} m), "
                f"so the skyline may be higher than told: {'; '.join(short[:NAMES_TOLD])}{more}.")
        return {"OUTPUT": output.dest_id}


def _refuse_without_ground(candidates, dem):
    """Give candidates on cells without data their problem: their height has nothing to be measured from."""
    _values, valid = point_values(dem, *np.array([(candidate.lon, candidate.lat) for candidate in candidates]).T)
    for candidate, is_known in zip(candidates, valid.tolist()):
        if not candidate.problem and not is_known:
            candidate.problem = "the DEM has no data at the site, so its ground is not known"


def _tell_if_none(given, candidates):
    """End a run without any candidate before files are read."""
    if all(candidate.problem for candidate in candidates):
        tell_problems(given, candidates)


def _wedges(given, one, sky, centre_deg, draw):
    """Return the wedges of a site with their figures, and tell what is not known or cannot be drawn."""
    known = np.isfinite(sky.el_deg)
    rings = sector_rings(centre_deg, 360.0 / len(centre_deg), np.zeros(len(centre_deg)),
                         np.where(known, sky.dist_m, 1.0))
    shapes, drawable = draw(rings)
    shapes[~known] = None
    if np.any(known & ~drawable):
        given.warn(f"{np.count_nonzero(known & ~drawable)} wedge(s) of “{one.name}” {UNDRAWABLE}; their rows have no "
                   "geometry. Reproject INPUT.")
    if not known.all():
        given.warn(f"“{one.name}”: nothing is known of the skyline in {np.count_nonzero(~known)} of "
                   f"{len(known)} directions; their rows have no angle and no geometry.")
    rows = zip(centre_deg.tolist(), np.round(sky.el_deg, 4).tolist(), np.round(sky.dist_m, 2).tolist())
    return [(shape, [azimuth, *((elevation, dist) if is_known else (None, None))])
            for shape, is_known, (azimuth, elevation, dist) in zip(shapes, known.tolist(), rows)]
