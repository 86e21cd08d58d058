"""What people built and what grows: buildings, roads, car park, land cover, and where reflections are spoiled."""
from __future__ import annotations

import numpy as np
import scene_frame as frame
import scene_terrain as terrain
from osgeo import ogr
from scene_frame import box, drawn, ellipse, noise, polygon, ramp, strip
from scipy import ndimage

# Land-cover classes: number, name, colour. The numbers are this scene's own; gaps leave room.
SEA, FLAT, LAKE, BEACH, ROCK, GRASS, FOREST, PAVING, BUILDING, PIER, SNOW = 1, 2, 3, 11, 12, 21, 22, 31, 32, 33, 41
CLASSES = {
    SEA: ("sea", (46, 92, 138)), FLAT: ("tidal flat", (141, 152, 156)), LAKE: ("lake", (96, 152, 196)),
    BEACH: ("beach", (232, 214, 160)), ROCK: ("rock", (128, 118, 110)), GRASS: ("grass", (188, 200, 130)),
    FOREST: ("forest", (74, 96, 66)), PAVING: ("road or car park paving", (88, 88, 92)),
    BUILDING: ("building", (186, 110, 78)), PIER: ("pier or quay", (206, 200, 192)), SNOW: ("snow", (246, 248, 252)),
}

WAREHOUSE = (1262, 1190, 1382, 1270)
CAR_PARK = (784, 1303, 906, 1322)
ROADS = [
    ([(-40, 1560), (180, 1568), (420, 1560), (640, 1480), (760, 1400), (850, 1362), (1235, 1362)], 7.0),
    ([(1235, 1362), (1246, 1530), (1400, 1545), (1590, 1530), (1640, 1440)], 7.0),
    ([(1050, 1362), (1052, 1640), (1010, 1800), (930, 1960), (890, 2130), (640, 2180), (590, 2400), (700, 2560),
      (950, 2590), (1200, 2580), (1380, 2430), (1540, 2250)], 6.5),
    ([(1052, 1700), (1240, 1760), (1500, 1740), (1700, 1800), (2000, 1740), (2240, 1580), (2420, 1470),
      (2560, 1380), (2690, 1240), (2730, 1050)], 5.5),
    ([(1010, 1800), (700, 1790), (520, 1760), (200, 1980), (-40, 2020)], 5.5),
    ([(860, 1362), (862, 1620), (1180, 1624), (1190, 1362)], 5.5), ([(862, 1450), (1186, 1452)], 5.0),
    ([(862, 1536), (1188, 1538)], 5.0), ([(960, 1362), (962, 1622)], 5.0), ([(944, 2532), (945, 2588)], 4.0),
    ([(1250, 1362), (1250, 1200)], 8.0),
]
NAMED_BUILDINGS = [
    (box(*WAREHOUSE), 8.5, "Long Warehouse"), (box(1268, 1516, 1330, 1532), 7.0, "Fish Hall"),
    (box(1420, 1516, 1480, 1531), 6.5, "Net Store"), (box(1582, 1350, 1604, 1440), 9.0, "Boatyard Shed"),
    (box(930, 1330, 944, 1346), 5.0, "Pier Cafe"), (box(1076, 1480, 1102, 1500), 14.0, "Town Hall"),
    (box(1000, 1556, 1014, 1582), 18.0, "Chapel of the Crossing"), (box(920, 2556, 936, 2568), 5.0, "Lake Boathouse"),
    (box(1972, 2744, 1980, 2750), 3.0, "Plateau Hut"), (box(790, 1336, 812, 1350), 4.5, "Changing Rooms"),
    (ellipse(2704, 985, 4, 4, 24), 16.0, "Lanternhead Light"), (box(2716, 990, 2728, 1000), 4.5, "Keeper's House"),
]
AVOID = [  # name, share of the time it is occupied, shape
    ("berths, west quay", 0.80, box(1260, 1318, 1288, 1500)), ("berths, north quay", 0.70, box(1288, 1472, 1540, 1500)),
    ("marina pontoons", 0.90, box(1500, 1330, 1566, 1472)), ("ferry berth", 0.45, box(1300, 1312, 1402, 1336)),
    ("turning basin", 0.30, box(1330, 1345, 1470, 1450)),
    ("visitors' pontoon", 0.40, polygon([(1480, 1330), (1470, 1215), (1500, 1206), (1562, 1236), (1566, 1330)])),
    ("fairway", 0.25, strip([(1442, 1345), (1442, 1190), (1496, 1126), (1590, 1072), (1656, 975), (1704, 720),
                             (1720, 0)], 72)),
    ("small-craft moorings", 0.55, polygon([(1104, 1276), (1092, 1100), (1160, 1070), (1300, 1056),
                                            (1272, 1140), (1242, 1164), (1230, 1276)])),
    ("car park", 0.60, box(*CAR_PARK)),
    ("surf zone, west beach", 0.50, polygon([(0, 930), (330, 955), (620, 935), (620, 1005), (330, 1020), (0, 1005)])),
    ("surf zone, Gullet cliffs", 0.40, polygon([(1955, 1368), (1975, 1360), (2050, 1474), (2125, 1360), (2145, 1368),
                                                (2050, 1508)])),
    ("anchorage", 0.30, ellipse(380, 380, 230, 170)), ("mussel rafts", 1.00, box(2420, 1760, 2560, 1960, 8)),
    ("bathing area, lake", 0.10, box(1085, 2425, 1185, 2478)),
]


def houses() -> list:
    """Return houses along the town's streets: polygon, height above ground [m], name."""
    rng = np.random.default_rng([frame.SEED, 50])
    taken = drawn([shape for shape, _, _ in NAMED_BUILDINGS] + [strip(line, width + 7) for line, width in ROADS])
    found = []
    for north in (1376, 1404, 1432, 1464, 1492, 1520, 1550, 1578, 1606, 1640):
        for east in range(872, 1216, 24):
            wide, deep = rng.uniform(9, 16), rng.uniform(8, 12)
            shift, tall, keep = rng.uniform(-3, 3), rng.uniform(5, 9.5), rng.uniform()
            shape = box(east + shift, north, east + shift + wide, north + deep, rng.uniform(-4, 4))
            if keep > 0.84 or (drawn_window(taken, shape)):
                continue
            found.append((shape, round(tall * 2) / 2, "house"))
    for east, north in [(210, 1990), (232, 2004), (560, 1700), (1290, 1790), (1560, 1700), (1840, 1740), (640, 2300),
                        (1250, 2590), (1130, 2600), (2560, 1346), (1480, 2330)]:
        found.append((box(east, north, east + 16, north + 10, rng.uniform(-40, 40)), 5.5, "farm"))
    return found


def drawn_window(taken: np.ndarray, shape: ogr.Geometry) -> bool:
    """Tell whether a polygon's bounding box touches a taken cell."""
    west, east, south, north = shape.GetEnvelope()
    rows = slice(int((frame.EXTENT - north) / frame.CELL) - 1, int((frame.EXTENT - south) / frame.CELL) + 2)
    return bool(taken[rows, int(west / frame.CELL) - 1:int(east / frame.CELL) + 2].any())


def buildings() -> list:
    """Return all buildings: polygon, height above ground [m], name."""
    return NAMED_BUILDINGS + houses()


def with_buildings(ground: np.ndarray) -> np.ndarray:
    """Return the ground with flat roofs: each stands its height above the mean ground under it [m]."""
    shapes = [shape for shape, _, _ in buildings()]
    label = frame.burn(shapes, values=range(1, len(shapes) + 1)).astype(int)
    under = ndimage.mean(ground, label, np.arange(1, len(shapes) + 1))
    roof = np.r_[0.0, np.round((under + [height for _, height, _ in buildings()]) * 10) / 10]
    return np.where(label > 0, roof[label], ground).astype("float32")


def forest(ground: np.ndarray, masks: dict) -> np.ndarray:
    """Return where trees grow: in patches on the hills, away from roads, houses and the snow."""
    east, north = frame.axes()
    built = drawn([shape for shape, _, _ in buildings()] + [strip(line, width) for line, width in ROADS])
    room = ndimage.distance_transform_edt(~built) * frame.CELL > 12
    cover = noise(170, 20) + 0.45 * noise(45, 21) + 0.35 * noise(18, 22)
    wanted = cover > 0.75 - 1.1 * ramp(ground, 28, 50) * ramp(north, 1900, 2200)
    allowed = (north > 1690) & (ground > 7) & (ground < 97) & masks["land"] & ~masks["lake"] & ~masks["works"]
    calm = np.hypot(east - terrain.HOLLOW[0], north - terrain.HOLLOW[1]) > 250
    from_lake = ndimage.distance_transform_edt(~masks["lake"]) * frame.CELL > 55
    return wanted & allowed & calm & room & from_lake


def canopy() -> np.ndarray:
    """Return the height of the trees above ground, where there are any [m], in half metres."""
    return np.round((9 + 2.0 * noise(14, 23) + 1.5 * noise(80, 24)) * 2) / 2


def land_cover(height: np.ndarray, ground: np.ndarray, trees: np.ndarray, masks: dict) -> np.ndarray:
    """Return the class of each cell.

    Parameters
    ----------
    height : ndarray
        Surface with buildings and trees [m].
    ground : ndarray
        Ground, bed and decks [m].
    trees : ndarray of bool
    masks : dict
        As ``scene_terrain.elevation_without_buildings`` returns them.
    """
    east, north = frame.axes()
    cover = np.full(height.shape, GRASS, dtype="uint8")
    rise_n, rise_e = np.gradient(ground, frame.CELL)
    steep = ndimage.uniform_filter(np.hypot(rise_n, rise_e), 3)
    cover[masks["land"] & ((steep > 0.75) | ((east > 1650) & (north < 1720) & (masks["inland"] < 7)))] = ROCK
    point = np.hypot(east - terrain.POINT[0], north - terrain.POINT[1] + 6) < terrain.POINT_RADIUS + 8
    cover[masks["land"] & point] = ROCK
    cover[masks["land"] & (east < 770) & (masks["inland"] < 38 + 7 * noise(40, 30))] = BEACH
    bay = masks["land"] & (east > 2250) & (north > 1620) & (masks["inland"] < 12)
    cover[bay] = BEACH
    cover[(ground > 101 + 5 * noise(60, 31)) & masks["land"]] = SNOW
    cover[trees] = FOREST
    sea = ~masks["land"] & ~masks["works"]
    cover[sea] = SEA
    cover[sea & (east < 840) & (ground > terrain.FLAT_FOOT) & (ground <= terrain.FLAT_TOP + 0.2)] = FLAT
    cover[masks["lake"]] = LAKE
    on_land = masks["land"] & ~masks["lake"]
    cover[drawn([strip(line, width) for line, width in ROADS] + [box(*CAR_PARK)]) & on_land] = PAVING
    around_basin = drawn([polygon(terrain.BASIN).Buffer(14)]) & on_land
    promenade = on_land & (east > 762) & (east < 1262) & (masks["inland"] < 4)
    cover[around_basin | promenade | masks["works"]] = PIER
    cover[drawn([shape for shape, _, _ in buildings()])] = BUILDING
    return cover
