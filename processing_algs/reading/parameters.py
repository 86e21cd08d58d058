"""Definitions of the parameters that several algorithms share, each with its help."""
from __future__ import annotations

from qgis.core import (
    QgsProcessing,
    QgsProcessingParameterDateTime,
    QgsProcessingParameterDefinition,
    QgsProcessingParameterEnum,
    QgsProcessingParameterFeatureSource,
    QgsProcessingParameterField,
    QgsProcessingParameterFile,
    QgsProcessingParameterMatrix,
    QgsProcessingParameterNumber,
    QgsProcessingParameterRasterLayer,
    QgsProcessingParameterString,
    QgsPropertyDefinition,
)

from ...siting.heights import REFERENCES
from ...siting.precision.demand import Demand, Receiver
from ...siting.purposes import PURPOSES, SEA_LEVEL
from ...siting.settings import Settings
from ...siting.sight.terrain import USUAL_DISTANCE_M
from ...siting.signals import DEFAULT_SIGNAL, SIGNALS
from ...siting.sky.orbits import SYSTEMS
from .owncriteria import COLUMNS as OWN_COLUMNS

DOUBLE = QgsProcessingParameterNumber.Type.Double
POLYGONS = [QgsProcessing.SourceType.TypeVectorPolygon]
DEM_WATER = ["surface", "bed"]
WATER_IS = ["target", "land"]


def number(name: str, text: str, default: float | None, tip: str, low: float | None = None, high: float | None = None,
           advanced: bool = False) -> QgsProcessingParameterDefinition:
    """Define a number; without a default it is optional."""
    limits = {}
    if low is not None:
        limits["minValue"] = low
    if high is not None:
        limits["maxValue"] = high
    definition = QgsProcessingParameterNumber(name, text, DOUBLE, default, default is None, **limits)
    return described(definition, tip, advanced)


def whole_number(name: str, text: str, default: int | None, tip: str, low: int | None = None,
                 advanced: bool = False) -> QgsProcessingParameterDefinition:
    """Define a whole number; without a default it is optional."""
    definition = QgsProcessingParameterNumber(name, text, QgsProcessingParameterNumber.Type.Integer, default,
                                       default is None, **({} if low is None else {"minValue": low}))
    return described(definition, tip, advanced)


def choice(name: str, text: str, options: list[str], default: str | list[str], tip: str, advanced: bool = False,
           several: bool = False) -> QgsProcessingParameterDefinition:
    """Define an enum of static strings."""
    definition = QgsProcessingParameterEnum(name, text, options, several, default, False, True)
    return described(definition, tip, advanced)


def column(name: str, text: str, parent: str, tip: str, advanced: bool = False,
           kind: QgsProcessingParameterField.DataType | None = None) -> QgsProcessingParameterDefinition:
    """Define an optional field of a layer."""
    kind = QgsProcessingParameterField.DataType.Any if kind is None else kind
    definition = QgsProcessingParameterField(name, text, None, parent, kind, False, True)
    return described(definition, tip, advanced)


def numeric_column(name: str, text: str, parent: str, tip: str,
                   advanced: bool = False) -> QgsProcessingParameterDefinition:
    """Define an optional numeric field of a layer."""
    return column(name, text, parent, tip, advanced, QgsProcessingParameterField.DataType.Numeric)


def raster(name: str, text: str, tip: str) -> QgsProcessingParameterDefinition:
    """Define an optional raster layer."""
    return described(QgsProcessingParameterRasterLayer(name, text, None, True), tip)


def polygons(name: str, text: str, tip: str) -> QgsProcessingParameterDefinition:
    """Define an optional polygon layer."""
    return described(QgsProcessingParameterFeatureSource(name, text, POLYGONS, None, True), tip)


def described(parameter: QgsProcessingParameterDefinition, tip: str,
              advanced: bool = False) -> QgsProcessingParameterDefinition:
    """Give a parameter its help, and put it under “Advanced” where asked."""
    parameter.setHelp(tip)
    if advanced:
        parameter.setFlags(parameter.flags() | QgsProcessingParameterDefinition.Flag.FlagAdvanced)
    return parameter


def candidates() -> list[QgsProcessingParameterDefinition]:
    """Define INPUT, SITE_FIELD and the antenna's height."""
    height = number(
        "ANTENNA_HEIGHT", "Antenna height [m]", 5.0,
        "Height of the antenna's phase centre in metres, measured from HEIGHT_REFERENCE. Can be data-defined.")
    height.setIsDynamic(True)
    height.setDynamicPropertyDefinition(QgsPropertyDefinition(
        "ANTENNA_HEIGHT", "Antenna height [m]", QgsPropertyDefinition.StandardPropertyTemplate.Double))
    height.setDynamicLayerParameterName("INPUT")
    return [
        described(QgsProcessingParameterFeatureSource(
            "INPUT", "Candidate positions", [QgsProcessing.SourceType.TypeVectorPoint]),
            "Points where an antenna could stand, in any coordinate reference system. Multipoints are taken apart."),
        column("SITE_FIELD", "Name of each site", "INPUT",
               "Field that names the sites; without it the feature id does. A name that occurs twice gets its "
               "feature id appended."),
        height,
        numeric_column("HEIGHT_FIELD", "Height field [m]", "INPUT",
                       "A height for each site instead of ANTENNA_HEIGHT; where it is NULL, ANTENNA_HEIGHT serves."),
        choice("HEIGHT_REFERENCE", "Height is measured from", REFERENCES, "surface",
               "surface: above the zero level of the reflecting surface. ground: above the ground or roof that the "
               "DEM shows at the site. datum: elevation in the DEM's vertical datum. ellipsoid: above the WGS 84 "
               "ellipsoid, as station lists give it (needs GEOID)."),
    ]


def signal() -> QgsProcessingParameterDefinition:
    """Define SIGNAL."""
    return choice("SIGNAL", "Signal", SIGNALS, DEFAULT_SIGNAL,
                  "The carrier whose wavelength serves every satellite of the run. GLONASS FDMA carriers stand for "
                  "channel 0.")


def dem() -> QgsProcessingParameterDefinition:
    """Define DEM."""
    return raster("DEM", "Elevation model (DEM)",
                  "Elevation of the ground in metres, with or without structures; its vertical datum is the one that "
                  "SURFACE_LEVEL refers to.")


def geoid() -> QgsProcessingParameterDefinition:
    """Define GEOID."""
    return raster("GEOID", "Geoid: height of the DEM's zero above the ellipsoid",
                  "Raster in metres; needed for HEIGHT_REFERENCE ellipsoid. A geoid that is missing or zero at every "
                  "site ends the run.")


def zero_level() -> list[QgsProcessingParameterDefinition]:
    """Define SURFACE_LEVEL and SURFACE_FIELD."""
    return [
        number("SURFACE_LEVEL", "Zero level of the water [m]", 0.0,
               "Zero level of the water in the DEM's vertical datum, which chart datum is not. For snow and soil the "
               "zero level is the DEM's ground below the antenna, and this is not used."),
        numeric_column("SURFACE_FIELD", "Zero level field [m]", "INPUT",
                       "A zero level for each site instead of SURFACE_LEVEL (NULL: SURFACE_LEVEL)."),
    ]


def levels() -> list[QgsProcessingParameterDefinition]:
    """Define the ordinary lowest and highest level."""
    return [
        number("LEVEL_LOW", "Lowest level [m]", 0.0,
               "Ordinary lowest level relative to the zero level, such as low water of spring tides, or bare ground "
               "(0) for snow. An elevation angle is only as good as at its worst level."),
        number("LEVEL_HIGH", "Highest level [m]", 0.0,
               "Ordinary highest level relative to the zero level, such as high water of spring tides, or the "
               "greatest snow depth."),
        numeric_column("LOW_FIELD", "Lowest level field [m]", "INPUT",
                       "A lowest level for each site instead of LEVEL_LOW (NULL: LEVEL_LOW).", True),
        numeric_column("HIGH_FIELD", "Highest level field [m]", "INPUT",
                       "A highest level for each site instead of LEVEL_HIGH (NULL: LEVEL_HIGH).", True),
    ]


def roughness() -> list[QgsProcessingParameterDefinition]:
    """Define what makes the surface rough."""
    return [
        number("WAVE_HEIGHT", "Significant wave height [m]", 0.0,
               "Ordinary significant wave height of the water, for sea and lake level; a quarter of it is the rms "
               "height that scatters the reflection. 0: waves are not looked at.", 0.0),
        numeric_column("WAVE_FIELD", "Wave height field [m]", "INPUT",
                       "A significant wave height for each site instead of WAVE_HEIGHT (NULL: WAVE_HEIGHT).", True),
        numeric_column("WATER_WAVE", "Wave height of the water polygons [m]", "WATER",
                       "Field of WATER with the significant wave height of each polygon, where sheltered basins and "
                       "surf lie side by side; it goes before the site's own (NULL: the site's own counts there).",
                       True),
        number("DEM_NOISE", "Noise of the elevation model [m]", Settings.noise_m,
               "Rms error of the DEM from cell to cell, which is not the ground's roughness: for snow and soil it is "
               "taken off the residuals, and what stands out by less hides nothing.", 0.0, None, True),
    ]


def purpose() -> QgsProcessingParameterDefinition:
    """Define PURPOSE."""
    return choice("PURPOSE", "What is to be measured", list(PURPOSES), SEA_LEVEL.name,
                  "Sea and lake levels need water in the footprints. For snow depth and soil moisture the DEM's "
                  "ground below the antenna is the zero level, and with a DEM alone every spot with data counts.")


def surface() -> list[QgsProcessingParameterDefinition]:
    """Define the layers that tell where the surface is, and what spoils it."""
    return [
        dem(),
        choice("DEM_WATER", "Over water the DEM shows", DEM_WATER, "surface",
               "surface: a water surface or nothing, so where WATER or LANDCOVER says target the DEM never overrules "
               "it, and drying out is not checked. bed: the ground goes on under water, and a spot is target only "
               "where it lies below the level."),
        raster("LANDCOVER", "Land cover",
               "Raster of land-cover classes. Where it has no data and no other layer covers a spot, the spot is "
               "unknown, and unknown counts as not target."),
        described(QgsProcessingParameterString("TARGET_CLASSES", "Land-cover classes that are the surface", "",
                                               False, True),
                  "Classes of LANDCOVER that are the surface to be measured: numbers and ranges, such as 80, 90-95."),
        polygons("WATER", "Polygons of the surface (or of land)",
                 "Polygons of the surface to be measured, or of everything else (see WATER_IS). Invalid polygons are "
                 "repaired, and the log says so."),
        choice("WATER_IS", "The polygons are", WATER_IS, "target",
               "target: the polygons are the surface to be measured. land: they are everything else."),
        polygons("AVOID", "Areas to avoid",
                 "Polygons where reflections are spoiled: berths, fairways, car parks, surf."),
        numeric_column("AVOID_FIELD", "Share of the time that they spoil", "AVOID",
                       "Field with the share of the time, 0 to 1, that an area is spoiled; without it, or where it "
                       "is NULL, always (1). Where areas overlap the largest share counts."),
        column("AVOID_NAME", "Name of the areas to avoid", "AVOID",
               "Field with the names by which reasons mention the areas."),
        geoid(),
    ]


def angles() -> list[QgsProcessingParameterDefinition]:
    """Define the elevation angles looked at."""
    return [
        number("MIN_ELEVATION", "Lowest elevation angle [°]", 5.0,
               "Lowest elevation angle of the satellites that is looked at; above 0.", 0.0, 90.0),
        number("MAX_ELEVATION", "Highest elevation angle [°]", 20.0,
               "Highest elevation angle looked at; it is always one of them.", 0.0, 90.0),
        number("ELEVATION_STEP", "Step of elevation angles [°]", 1.0,
               "Distance of the elevation angles between.", 0.0, 90.0, True),
    ]


def azimuth_step(default: float, tip: str) -> QgsProcessingParameterDefinition:
    """Define AZIMUTH_STEP."""
    return number("AZIMUTH_STEP", "Step of azimuths [°]", default, tip, 0.0, 360.0)


def bins() -> list[QgsProcessingParameterDefinition]:
    """Define AZIMUTH_STEP as a width of bins, and MIN_SHARE."""
    return [
        azimuth_step(360.0 / Settings.bins,
                     "Width of an azimuth bin; the first begins at north, and 360 must be a multiple of it."),
        number("MIN_SHARE", "Least usable share of a footprint", Settings.min_share,
               "An elevation angle is good where at least this share of its first Fresnel zone is usable.", 0.0, 1.0),
    ]


def arcs() -> list[QgsProcessingParameterDefinition]:
    """Define what a bin must reach to count."""
    return [
        number("MIN_CYCLES", "Least oscillations", Settings.min_cycles,
               "A bin counts if the interference pattern oscillates at least so often over its window.", 0.0,
               None, True),
        number("MAX_RES", "Greatest separation [m]", Settings.max_res_m,
               "A bin counts if its window tells surfaces this far apart. Not used for soil moisture.", 0.0,
               None, True),
    ]


def elevation_limits() -> list[QgsProcessingParameterDefinition]:
    """Define the lowest and highest elevation angle, without a step between."""
    return angles()[:2]


def sky() -> list[QgsProcessingParameterDefinition]:
    """Define the satellites and the time looked at."""
    return [
        choice("CONSTELLATIONS", "Satellite systems", SYSTEMS, SYSTEMS[:4],
               "Systems whose satellites are looked at. QZSS only with ORBITS.", several=True),
        described(QgsProcessingParameterFile("ORBITS", "Real orbits", optional=True),
                  "File with orbits: two-line elements, CCSDS OMM (XML, JSON or CSV), YUMA or SEM almanac, SP3-c or "
                  "SP3-d; recognised from its content. Without it the published nominal constellations, whose clock "
                  "times are indicative. Two-line elements and OMM need the Python package skyfield."),
        described(QgsProcessingParameterDateTime("DATE", "Start of the time looked at (UTC)",
                                                 defaultValue="2026-06-01T00:00:00"),
                  "Date and time in UTC; with an offset it is converted. The time zone of this computer never "
                  "enters."),
        whole_number("DAYS", "Days looked at", 1,
                     "Length of the time looked at. A rank takes the worst day.", 1),
    ]


def own_criteria() -> QgsProcessingParameterDefinition:
    """Define OWN_CRITERIA."""
    return described(QgsProcessingParameterMatrix(
        "OWN_CRITERIA", "Own criteria", 1, False, OWN_COLUMNS, [], True),
        "Numeric fields of the candidates that enter the score, such as the distance to power or the cost: a row for "
        "each with the field, the value that is worth nothing, the value from which it is worth all (smaller, where "
        "less is better), and the weight. A missing value is worth nothing.", True)


def precision() -> list[QgsProcessingParameterDefinition]:
    """Define what is asked of the values."""
    return [
        number("PRECISION", "Precision wanted [cm; soil moisture: °]", None,
               "The standard error that a value may have. Empty: 5 cm for sea level, 2 cm for lake level and snow "
               "depth, 2° of phase for soil moisture (common practice). A score of 50 just meets it."),
        number("CADENCE", "A value every so many hours [h]", None,
               "A value is made of the arcs within half of this before and after its time. Empty: 3 h for sea level, "
               "else 24 h.", None, None, True),
        number("ARC_ERROR", "Error of an arc beside noise [cm; soil moisture: °]", Demand.arc_error,
               "What waves, the rest of the tide and other reflections leave as the error of an arc that is used from "
               "5 to 20°; it grows as the window shrinks. Published single arcs: 5 to 12 cm.", None, None, True),
    ]


def receiver() -> list[QgsProcessingParameterDefinition]:
    """Define antenna and receiver."""
    return [
        number("CN0", "Carrier-to-noise density at the zenith [dB-Hz]", Receiver.cn0_dbhz,
               "How strong the direct signal is recorded high up; 45 to 52 are usual (common practice).", None, None,
               True),
        number("SNR_STEP", "Step in which the signal strength is recorded [dB]", Receiver.step_db,
               "0.1 or finer in good formats, 1 or more where values are rounded.", None, None, True),
        described(QgsProcessingParameterFile("ANTENNA_PATTERN", "Antenna pattern", optional=True),
                  "Gain by elevation angle from -90 to 90°: a CSV file with the columns elevation, rhcp_db, lhcp_db, "
                  "or one of a pair of .msi files whose names differ in rhcp and lhcp. Without it a common geodetic "
                  "antenna with choke rings serves.", True),
    ]


def interval() -> QgsProcessingParameterDefinition:
    """Define INTERVAL."""
    return number("INTERVAL", "Shortest interval that the receiver can log [s]", Receiver.interval_s,
                  "The height of a site can only be resolved if the receiver logs often enough.", 0.001, 3600.0)


def terrain() -> list[QgsProcessingParameterDefinition]:
    """Define what else may stand in the way, and how far it is looked for."""
    return [
        raster("DEM_FAR", "Wider elevation model",
               "Coarser and wider elevation in metres, same vertical datum as DEM, in any coordinate reference "
               "system. Looked at where DEM has no data or ends."),
        polygons("BARRIERS", "Barriers",
                 "Polygons of buildings, walls or woods that hide what is behind them. They stand on the DEM's ground; "
                 "where no elevation model tells it, on the zero level. Leave them out where DEM is a surface model "
                 "that holds them already."),
        numeric_column("BARRIER_HEIGHT", "Height of the barriers [m]", "BARRIERS",
                       "Field with the height of each barrier above the ground in metres. Each must have one, 0 or "
                       "more."),
        number("MAX_DISTANCE", "Greatest distance looked at [m]", USUAL_DISTANCE_M,
               "How far out ground and barriers are looked at; above 0.", 0.0, None, True),
    ]


def shore_snap() -> QgsProcessingParameterDefinition:
    """Define SNAP."""
    return number("SNAP", "Ends so near each other are one [m]", 1.0,
                  "Lines whose ends lie so near each other are joined. Gaps up to ten times as wide are bridged too, "
                  "but named in the log.", 0.0, None, True)


def dem_for_shore(tip: str) -> QgsProcessingParameterDefinition:
    """Define DEM for an algorithm without levels."""
    return raster("DEM", "Elevation model (DEM)", tip)
