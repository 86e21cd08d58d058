"""The shape of the land: coast, sea bed, cliffs, hollow, lake and plateau of Vellmouth.

All heights are metres above mean sea level.
"""
from __future__ import annotations

import numpy as np
import scene_frame as frame
from osgeo import ogr
from scene_frame import box, drawn, ellipse, noise, polygon, ramp, rounded, strip
from scipy import ndimage

LAKE_LEVEL = 18.4
QUAY_HEIGHT = 3.0
PIER_HEIGHT = 3.6
JETTY_HEIGHT = 19.2
LANDING_HEIGHT = 0.7
FLAT_TOP, FLAT_FOOT, FLAT_WIDTH = 0.6, -1.2, 330.0  # the tidal flat [m, m, m]

COAST = [(-200, 1350), (200, 1370), (450, 1350), (640, 1312), (760, 1300), (900, 1300), (1200, 1300), (1500, 1300),
         (1640, 1318), (1720, 1270), (1770, 1150), (1815, 1105), (1880, 1190), (1975, 1385), (2050, 1500),
         (2125, 1385), (2230, 1185), (2290, 1095), (2400, 1050), (2480, 1062), (2560, 1040), (2650, 1010), (2690, 930),
         (2740, 915), (2780, 990), (2815, 1150), (2820, 1380), (2790, 1540), (2700, 1585), (2520, 1585),
         (2410, 1590), (2330, 1650), (2290, 1800), (2330, 2050), (2420, 2250), (2600, 2400), (2800, 2440),
         (3900, 2470), (3900, 4200), (-900, 4200), (-900, 1340)]
POINT = (2722, 938)             # tip of the headland
POINT_RADIUS = 33.0
BASIN = [(1260, 1312), (1406, 1312), (1406, 1280), (1566, 1280), (1566, 1500), (1260, 1500)]
MOLE = (1240, 1180, 1404, 1314)
BREAKWATER = [(1650, 1320), (1575, 1222), (1498, 1192)]
PIER = [(950, 1304), (985, 925)]
PIER_HEAD = (976, 916, 994, 934)
LANDING = (1040, 1290, 1056, 1302)
SHUT_COVE = [(2432, 1305), (2448, 1305), (2457, 1280), (2474, 1250), (2492, 1215), (2488, 1185), (2466, 1166),
             (2436, 1158), (2408, 1166), (2390, 1188), (2386, 1215), (2404, 1250), (2423, 1280)]
SHUT_MOUTH = [(2412, 1196), (2386, 1120), (2380, 1030)]
NORTH_COVE = [(2632, 1440), (2648, 1440), (2716, 1600), (2564, 1600)]
CLIFFS = [(1735, 1310), (1735, 900), (2330, 900), (2610, 900), (2655, 1150), (2630, 1320), (2530, 1400),
          (2380, 1490), (2200, 1640), (1900, 1640), (1790, 1490)]
LEDGE = (2440, 1303, 9, 6)      # rock ledge in the shut cove: east, north, half axes [m]
HOLLOW = (330, 1830)
LAKE = [(660, 2330), (700, 2440), (830, 2470), (900, 2540), (1010, 2520), (1080, 2460), (1190, 2490), (1262, 2400),
        (1200, 2300), (1210, 2200), (1060, 2150), (960, 2200), (830, 2150), (730, 2210)]
JETTY = [(944, 2532), (955, 2432)]
PLATEAU = (1880, 2680)
SKERRIES = [(2610, 880, 16, 9), (2585, 862, 10, 7)]  # east, north, half axes [m]


def harbour_works() -> list:
    """Return the polygons of mole, breakwater, pier, landing and jetty with their deck heights [m]."""
    return [(box(*MOLE), QUAY_HEIGHT), (strip(BREAKWATER, 14), 3.4), (strip(PIER, 7), PIER_HEIGHT),
            (box(*PIER_HEAD), PIER_HEIGHT), (box(*LANDING), LANDING_HEIGHT), (strip(JETTY, 5), JETTY_HEIGHT)]


def lake_shape() -> ogr.Geometry:
    """Return the lake's outline in scene metres."""
    return polygon(rounded(LAKE))


def shore_mask() -> np.ndarray:
    """Return where ground stands above the highest tide, without the works built into the sea."""
    land = drawn([polygon(rounded(COAST)), ellipse(*POINT, POINT_RADIUS, POINT_RADIUS)]
                 + [ellipse(*skerry) for skerry in SKERRIES])
    wet = drawn([polygon(BASIN), polygon(rounded(SHUT_COVE, 2)), strip(SHUT_MOUTH, 34),
                 polygon(rounded(NORTH_COVE, 1))])
    return (land & ~wet) | drawn([ellipse(*LEDGE)])


def sea_bed(offshore: np.ndarray) -> np.ndarray:
    """Return the bed's height from the distance to the shore [m]; shallow and drying in the west."""
    east, _ = frame.axes()
    steep = -2.6 - 13 * (1 - np.exp(-offshore / 380)) + 0.25 * noise(90, 1) * np.minimum(1, offshore / 40)
    flat = FLAT_TOP + (FLAT_FOOT - FLAT_TOP) * offshore / FLAT_WIDTH
    flat = np.where(offshore > FLAT_WIDTH, FLAT_FOOT - 0.03 * (offshore - FLAT_WIDTH), flat)
    flat = flat + 0.05 * noise(60, 2) * ramp(offshore, 20, 80)
    end = east + 0.25 * offshore + 22 * noise(110, 14)
    return flat + (steep - flat) * ramp(end, 670, 830)


def bare_ground(inland: np.ndarray) -> np.ndarray:
    """Return the ground's height without buildings and trees from the distance to the shore [m]."""
    east, north = frame.axes()
    hills = noise(420, 3)
    base = 3.9 + 19 * ramp(north, 1720, 2260) + 2.2 * ramp(north, 1700, 2100) * hills
    base = base + 14 * ramp(east, 1500, 2000) * ramp(north, 1300, 1500) + 8 * ramp(north, 2500, 2950)
    west = ramp(east, 800, 660)
    beach = 0.7 + 0.055 * inland
    dunes = 5.5 * ramp(inland, 35, 75) * ramp(inland, 190, 110) * (1 + 0.18 * noise(45, 4))
    rocky = 1.6 + 0.18 * inland + 0.35 * noise(18, 5) * ramp(inland, 4, 16)
    town = QUAY_HEIGHT + 0.012 * np.maximum(0, inland - 180) + 0.07 * np.maximum(0, inland - 330)
    rise = np.where(east < 800, beach + (town - beach) * (1 - west), town)
    rise = rise + (rocky - rise) * ramp(east, 1600, 1760)
    ground = np.minimum(base + 0.25 * hills, rise) + dunes * west
    head = ramp(east, 2300, 2500) * ramp(north, 1750, 1600)      # the headland is lower than the hills inland
    ground = ground + (np.minimum(ground, 15 + 1.5 * noise(120, 6)) - ground) * head

    cliff = ndimage.gaussian_filter(drawn([polygon(CLIFFS)]).astype("float32"), 22)
    top = 62 + 1.8 * noise(160, 7) + 5 * ramp(east, 2200, 2330)
    ground = ground + cliff * (top - ground) * ramp(inland, 0, 9)

    away = np.hypot(east - HOLLOW[0], north - HOLLOW[1]) + 22 * noise(130, 13)
    ground = ground + (-2.6 + 0.08 * noise(70, 8) - ground) * ramp(away, 330, 205)

    rim = np.sqrt(((east - PLATEAU[0]) / 410) ** 2 + ((north - PLATEAU[1]) / 310) ** 2)
    high = 121 + 0.0016 * (east - PLATEAU[0]) + 0.0009 * (north - PLATEAU[1]) + 0.03 * noise(50, 9)
    flank = ramp(rim + 0.05 * noise(110, 10) * ramp(rim, 0.9, 1.1), 1.75, 0.93)
    return ground + flank * (high - ground)


def elevation_without_buildings() -> tuple[np.ndarray, dict]:
    """Return the ground with sea and lake bed, quays and decks [m], and the masks that made it.

    Returns
    -------
    height : ndarray of float32, shape (1500, 1500)
    masks : dict of ndarray
        ``land`` (bool), ``lake`` (bool), ``works`` (bool), ``inland`` and ``offshore`` (distance to the shore [m]).
    """
    land = shore_mask()
    inland = (ndimage.distance_transform_edt(land) * frame.CELL).astype("float32")
    offshore = (ndimage.distance_transform_edt(~land) * frame.CELL).astype("float32")
    height = np.where(land, bare_ground(inland), sea_bed(offshore))

    basin = drawn([polygon(BASIN), box(1380, 1120, 1640, 1330)]) & ~land
    height = np.where(basin, np.minimum(height, -5.2 + 0.12 * noise(40, 11)), height)
    coves = drawn([polygon(rounded(SHUT_COVE, 2)), strip(SHUT_MOUTH, 40), polygon(NORTH_COVE)]) & ~land
    height = np.where(coves, np.minimum(height, -3.4), height)
    ledge = drawn([ellipse(*LEDGE), ellipse(2640, 1434, 9, 8)]) & land
    height = np.where(ledge, 2.2, height)

    lake = drawn([lake_shape()])
    depth = (ndimage.distance_transform_edt(lake) * frame.CELL).astype("float32")
    around = (ndimage.distance_transform_edt(~lake) * frame.CELL).astype("float32")
    bank = LAKE_LEVEL + 0.75 + 0.05 * around + 0.25 * noise(60, 12) * ramp(around, 10, 60)
    height = np.where(around < 260, bank + (height - bank) * ramp(around, 60, 260), height)
    height = np.where(lake, LAKE_LEVEL - 1.4 - 7 * (1 - np.exp(-depth / 60)), height)

    shapes, decks = zip(*harbour_works())
    deck = frame.burn(shapes, values=decks)
    works = deck > 0
    height = np.where(works, deck, height).astype("float32")
    return height, {"land": land, "lake": lake & ~works, "works": works, "inland": inland, "offshore": offshore}
