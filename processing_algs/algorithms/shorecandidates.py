"""Candidates along a shoreline: points at a spacing, set back, with the direction that they face."""
from __future__ import annotations

import numpy as np
from qgis.core import (
    QgsGeometry,
    QgsPointXY,
    QgsProcessing,
    QgsProcessingParameterBoolean,
    QgsProcessingParameterFeatureSink,
    QgsProcessingParameterFeatureSource,
    QgsWkbTypes,
)

from ...siting.candidates import point_values
from ...siting.errors import InputError
from ...siting.geometry.localframe import from_lonlat
from ...siting.ground.checks import check_dem_unit
from ...siting.shore.along import Walk
from ...siting.shore.setback import along_shore, on_polygons
from ...siting.shore.sides import slopes_deg
from ..layers.fields import SITE, Column
from ..reading import parameters as define
from ..reading.given import Given
from ..reading.shorelines import LINE_SIDES, is_polygons, read_shore
from ..reading.shorerules import access_m, kept_out
from ..reading.sources import wkt_of
from .base import StillwaterAlgorithm

COLUMNS = [SITE, Column("face_deg", "number", "Faces the water at azimuth [°]"),
           Column("ground_m", "number", "Ground in the DEM [m]"), Column("kind", "text", "Shore, edge or corner"),
           Column("access_m", "number", "Distance to access [m]")]
POLYGON_SIDES = ["inside", "outside"]
MOST = 1_000_000


class ShoreCandidatesAlgorithm(StillwaterAlgorithm):
    """Sets candidates along shorelines and on roofs and piers."""

    ID = "shorecandidates"
    TITLE = "Candidates along a shoreline"
    GROUP = "Shore"
    SUMMARY = (
        "Sets points along a shoreline at a spacing, set back by an offset, each with the azimuth in which it faces "
        "the water, smoothed over the spacing. With CORNERS it takes polygons such as roofs and piers instead: points "
        "at their corners, because from a roof only the corner sees much water, and along their edges, facing out. "
        "Points that would stand in water or behind other water are dropped, and so are those that break a rule; the "
        "log counts them. The way to roads and masts is measured straight. Whether a roof or pier may be used, its "
        "owner tells.")
    TAGS = ("shore", "shoreline", "coastline", "candidates", "points", "roof", "pier", "spacing")

    def initAlgorithm(self, configuration: dict | None = None) -> None:
        for parameter in (
            define.described(QgsProcessingParameterFeatureSource(
                "SHORE", "Shoreline, or roofs and piers",
                [QgsProcessing.SourceType.TypeVectorLine, QgsProcessing.SourceType.TypeVectorPolygon]),
                "Lines between water and land, or polygons of water, land, roofs or piers, in any coordinate reference "
                "system."),
            define.choice("SIDE", "The water is on the side", [*LINE_SIDES, *POLYGON_SIDES], "left",
                          "For lines: left or right as seen along them, or lower ground, the side that the DEM shows "
                          "lower. For polygons: inside or outside. With CORNERS always outside, whatever is given."),
            define.number("SPACING", "Spacing [m]", 50.0,
                          "Distance of the points along the shore in true metres; above 0, not longer than the shore.",
                          0.0),
            define.number("OFFSET", "Set back from the shore [m]", 5.0,
                          "How far the points stand back from the water's edge, or in from the edges of a roof or "
                          "pier; 0 or more."),
            define.described(QgsProcessingParameterBoolean("CORNERS", "Corners and edges of polygons", False),
                             "Take the polygons for roofs or piers: a point at each corner sharper than 30°, and "
                             "points along the edges, facing out."),
            define.dem_for_shore("Elevation in metres: it gives ground_m, the slope, and the lower side."),
            define.polygons("KEEP_OUT", "Areas kept free", "Points inside these polygons are dropped."),
            define.described(QgsProcessingParameterFeatureSource(
                "ACCESS", "Roads or masts", [QgsProcessing.SourceType.TypeVectorAnyGeometry], None, True),
                "Layer of any geometry; each point gets its distance to the nearest feature, access_m. "
                "Water polygons serve too: MAX_ACCESS then keeps the roofs near the water."),
            define.number("MAX_ACCESS", "Farthest from a road or mast [m]", None,
                          "Points farther from ACCESS are dropped.", 0.0),
            define.number("MAX_SLOPE", "Steepest slope [°]", None,
                          "Points where the DEM is steeper, over 3 × 3 cells, are dropped. Where it has no data they "
                          "stay.", 0.0, 90.0),
            define.shore_snap(),
        ):
            self.addParameter(parameter)
        self.addParameter(define.described(QgsProcessingParameterFeatureSink(
            "OUTPUT", "Shore candidates", QgsProcessing.SourceType.TypeVectorPoint),
            "Points with the direction they face."))

    def compute(self, given: Given) -> dict:
        spacing = given.real("SPACING")
        offset = given.real("OFFSET")
        corners = given.is_on("CORNERS")
        if not spacing > 0:
            raise InputError(f"SPACING is {spacing:g} m; it must be above 0.")
        if not offset >= 0:
            raise InputError(f"OFFSET is {offset:g} m; it must be 0 or more. To move the points to the other side, "
                             "change SIDE.")
        _refuse_rules_without_layers(given)
        side = _side(given, corners)
        shore = read_shore(given, side)
        given.feedback.setProgress(10)
        places, count = _places(given, shore, spacing, offset, corners)
        given.feedback.setProgress(60)
        lon, lat = shore.plane.lonlat(places.xy)
        keep, ground, access = _apply_rules(given, shore.plane, lon, lat, count)
        if not keep.any():
            raise InputError(f"No candidate is left: {_counted(count)}. Loosen that rule, or change SPACING or OFFSET.")
        taken = {rule: number for rule, number in count.items() if number}
        if taken:
            given.note(f"{int(keep.sum())} candidates are left; {_counted(taken)}.")
        given.feedback.setProgress(90)
        crs = shore.source.sourceCrs()
        output = self.open_output(given, "OUTPUT", COLUMNS, QgsWkbTypes.Type.Point, crs)
        x, y = from_lonlat(lon, lat, wkt_of(crs))
        digits = max(len(str(int(keep.sum()))), 4)
        for number, k in enumerate(np.flatnonzero(keep).tolist()):
            if number % 100 == 0:
                given.stop_if_cancelled()
            output.add(QgsGeometry.fromPointXY(QgsPointXY(float(x[k]), float(y[k]))), [
                f"s{number + 1:0{digits}d}", round(float(places.face_deg[k]), 3) % 360.0, _or_null(ground[k]),
                places.kind[k], _or_null(access[k])])
        return {"OUTPUT": output.dest_id}


def _refuse_rules_without_layers(given):
    for rule, layer in (("MAX_ACCESS", "ACCESS"), ("MAX_SLOPE", "DEM")):
        if given.is_given(rule) and not given.is_given(layer):
            raise InputError(f"{rule} is given without {layer}. Give {layer}, or leave {rule} empty.")


def _side(given, corners) -> str:
    """Return the side as `read_shore` takes it."""
    source = given.source("SHORE")
    side = given.choice("SIDE")
    if corners:
        if not is_polygons(source):
            raise InputError(f"CORNERS needs polygons, and SHORE “{source.sourceName()}” holds none. Give roofs or "
                             "piers as polygons, or switch CORNERS off.")
        return "outside"
    if is_polygons(source) != (side in POLYGON_SIDES):
        raise InputError(f"SIDE is “{side}”, but SHORE “{source.sourceName()}” holds " + (
            "polygons: choose “inside” where they are water, “outside” where they are land." if is_polygons(source)
            else "lines: choose “left”, “right” or “lower ground”."))
    return side


def _places(given, shore, spacing, offset, corners):
    tell = given.progress(10.0, 60.0)

    def pulse(share):
        given.stop_if_cancelled()
        tell(share)

    lengths = [Walk(chain, shore.plane).length_m for chain in shore.chains]
    if sum(lengths) / spacing > MOST:
        raise InputError(f"SPACING is {spacing:g} m: that would make {sum(lengths) / spacing:.3g} candidates, more "
                         f"than {MOST}. Give a longer spacing, or clip SHORE.")
    if corners:
        outer = [chain for chain in shore.chains if chain.area_m2 < 0]
        places, dropped = on_polygons(outer, shore.plane, spacing, offset, pulse)
        if not len(places.xy) and not dropped:
            raise InputError(f"SPACING ({spacing:g} m) is longer than every edge, and there is no corner. Give a "
                             "shorter one.")
        return places, {"off the polygon, because OFFSET is too large there": dropped}
    if spacing > max(lengths):
        raise InputError(f"SPACING ({spacing:g} m) is longer than the coast: the longest joined line has "
                         f"{max(lengths):.1f} m. Give a shorter one.")
    places, dropped = along_shore(shore.chains, shore.plane, spacing, offset, pulse)
    return places, {"in water or behind other water (OFFSET)": dropped}


def _apply_rules(given, plane, lon, lat, count):
    """Return which candidates stay, their ground and their way to ACCESS; fill in the counts."""
    keep, ground, access = np.ones(len(lon), bool), np.full(len(lon), np.nan), np.full(len(lon), np.nan)
    if not len(lon):
        return keep, ground, access
    if given.is_given("KEEP_OUT"):
        bad = kept_out(given, lon, lat)
        count["inside KEEP_OUT"], keep = int(np.count_nonzero(bad)), keep & ~bad
    given.feedback.setProgress(70)
    if given.is_given("ACCESS"):
        access[keep] = access_m(given, plane, lon[keep], lat[keep])
        if given.is_given("MAX_ACCESS"):
            bad = keep & (access > given.real("MAX_ACCESS"))
            count["farther than MAX_ACCESS from ACCESS"], keep = int(np.count_nonzero(bad)), keep & ~bad
    given.feedback.setProgress(80)
    dem = given.raster("DEM")
    if dem is None:
        return keep, ground, access
    check_dem_unit(dem, "DEM", given.note)
    if given.is_given("MAX_SLOPE"):
        slope = np.full(len(lon), np.nan)
        slope[keep] = slopes_deg(dem, lon[keep], lat[keep], given.stop_if_cancelled)
        unknown = int(np.count_nonzero(keep & np.isnan(slope)))
        bad = keep & (slope > given.real("MAX_SLOPE"))
        count["steeper than MAX_SLOPE"], keep = int(np.count_nonzero(bad)), keep & ~bad
        if unknown:
            given.warn(f"DEM “{dem.name}”: the slope at {unknown} candidates is not known, because cells "
                                 "have no data; they stay.")
    values, valid = point_values(dem, lon[keep], lat[keep])
    ground[keep] = np.where(valid, values, np.nan)
    if not valid.all():
        given.warn(f"DEM “{dem.name}” has no data at {np.count_nonzero(~valid)} of {len(valid)} "
                             "candidates; their ground_m is NULL.")
    return keep, ground, access


def _or_null(value) -> float | None:
    return round(float(value), 3) if np.isfinite(value) else None


def _counted(count) -> str:
    return "; ".join(f"{number} dropped as {rule}" for rule, number in count.items() if number) or "there was none"
