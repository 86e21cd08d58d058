"""Horizon mask: the skyline of each site, a wedge for each azimuth bin out to what forms it."""
from __future__ import annotations

import numpy as np
from qgis.core import QgsProcessing, QgsProcessingParameterFeatureSink, QgsWkbTypes

from ...siting.candidates import point_values, resolve
from ...siting.errors import Cancelled, InputError
from ...siting.geometry.localframe import LocalFrame
from ...siting.geometry.sectors import sector_rings
from ...siting.ground.rasters import bounded_cache
from ...siting.windows import bin_count
from ...siting.words.ends import ends_text
from ..layers.fields import AZIMUTH, SITE, Column, fields_of
from ..layers.geometries import multipolygons, unwrapped
from ..reading import parameters as define
from ..reading.candidates import open_raster, read_candidates, tell_problems, wkt_of
from ..reading.given import finite
from ..reading.skysites import NAMES_TOLD
from ..reading.terrain import find_buried, read_terrain
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

    def initAlgorithm(self, configuration=None):
        for parameter in (
            *define.candidates(), define.dem(), define.geoid(), *define.zero_level(), *define.terrain(),
            define.azimuth_step(5.0, "Width of an azimuth bin; the first begins at north, and 360 must be a multiple "
                                     "of it. The skyline is that in the middle of the bin."),
        ):
            self.addParameter(parameter)
        self.addParameter(define.described(QgsProcessingParameterFeatureSink(
            "OUTPUT", "Horizon mask", QgsProcessing.SourceType.TypeVectorPolygon),
            "A wedge for each site and azimuth bin, out to what forms the skyline there."))

    def compute(self, parameters, context, feedback):
        with bounded_cache(CACHE_BYTES):
            return self._compute(parameters, context, feedback)

    def _compute(self, parameters, context, feedback):
        bins = bin_count(finite(self, parameters, "AZIMUTH_STEP", context))
        centre = (np.arange(bins) + 0.5) * 360.0 / bins
        source, candidates, _features, _points = read_candidates(self, parameters, context, feedback, False)
        reference = self.parameterAsEnumString(parameters, "HEIGHT_REFERENCE", context)
        # above the ground, the ground is the zero: land below the sea is land like any other
        dem = open_raster(self, parameters, "DEM", context)
        resolve(candidates, wkt_of(source.sourceCrs()), reference, reference == "ground", dem,
                open_raster(self, parameters, "GEOID", context))
        if reference == "ground":
            _refuse_without_ground(candidates, dem)
        _tell_if_none(candidates, feedback)
        terrain = read_terrain(self, parameters, context, feedback, candidates, PREPARED_PERCENT)
        if terrain is None:
            raise InputError("Nothing is given that could form a skyline. Give DEM, DEM_FAR or BARRIERS.")
        find_buried(terrain, candidates, feedback)
        tell_problems(candidates, feedback)
        crs = source.sourceCrs()
        fields = fields_of(COLUMNS)
        output = self.open_output(parameters, "OUTPUT", context, fields, QgsWkbTypes.Type.MultiPolygon, crs)
        frame = LocalFrame([c.lon for c in candidates], [c.lat for c in candidates], wkt_of(crs),
                           terrain.max_distance_m)
        short = []
        for index, one in enumerate(candidates):
            if feedback.isCanceled():
                raise Cancelled("stopped by the user")
            feedback.setProgress(PREPARED_PERCENT + (100.0 - PREPARED_PERCENT) * index / len(candidates))
            if one.problem:
                continue
            sky = terrain.skyline(index, one.zero_level_m + one.over_zero_m, centre)
            _write(output, fields, one, index, sky, centre, frame, feedback)
            ends = ends_text(sky.ends_m, terrain.max_distance_m, 360.0 / bins)
            if ends:
                short.append(f"“{one.name}” {ends}")
        if short:
            more = f" and {len(short) - NAMES_TOLD} more sites" if len(short) > NAMES_TOLD else ""
            feedback.pushWarning(
                f"The elevation models end, or have no more data, before MAX_DISTANCE ({terrain.max_distance_m:g} m), "
                f"so the skyline may be higher than told: {'; '.join(short[:NAMES_TOLD])}{more}.")
        return {"OUTPUT": output.dest_id}


def _refuse_without_ground(candidates, dem):
    """Give candidates on cells without data their problem: their height has nothing to be measured from."""
    _values, valid = point_values(dem, *np.array([(one.lon, one.lat) for one in candidates]).T)
    for one, is_known in zip(candidates, valid.tolist()):
        if not one.problem and not is_known:
            one.problem = "the DEM has no data at the site, so its ground is not known"


def _tell_if_none(candidates, feedback):
    """End a run without any candidate before files are read."""
    if all(one.problem for one in candidates):
        tell_problems(candidates, feedback)


def _write(output, fields, one, index, sky, centre_deg, frame, feedback):
    known = np.isfinite(sky.el_deg)
    rings = sector_rings(centre_deg, 360.0 / len(centre_deg), np.zeros(len(centre_deg)),
                         np.where(known, sky.dist_m, 1.0))
    x, y = frame.place(index, rings[..., 0], rings[..., 1])
    x = unwrapped(x, frame.edges)
    drawable = np.isfinite(x).all(axis=1) & np.isfinite(y).all(axis=1)
    shapes = np.full(len(centre_deg), None, object)
    draw = drawable & known
    if draw.any():
        shapes[draw] = multipolygons(np.stack([x, y], axis=-1)[draw], frame.edges)
    if np.any(known & ~drawable):
        feedback.pushWarning(
            f"{np.count_nonzero(known & ~drawable)} wedge(s) of “{one.name}” cannot be drawn in this coordinate "
            "reference system (too near its edge or a pole); their rows have no geometry. Reproject INPUT.")
    if not known.all():
        feedback.pushWarning(f"“{one.name}”: nothing is known of the skyline in {np.count_nonzero(~known)} of "
                             f"{len(known)} directions; their rows have no angle and no geometry.")
    rows = zip(centre_deg.tolist(), np.round(sky.el_deg, 4).tolist(), np.round(sky.dist_m, 2).tolist())
    for shape, is_known, (azimuth, elevation, dist) in zip(shapes, known.tolist(), rows):
        output.add(fields, shape, [one.name, azimuth, *((elevation, dist) if is_known else (None, None))])
