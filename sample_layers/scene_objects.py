"""Small things in the picture: lane marks, roofs, boats and parked cars. They are in no other layer."""
from __future__ import annotations

import numpy as np
import scene_features as features
import scene_frame as frame
import scene_terrain as terrain
from scene_frame import box, drawn, polygon, strip

PIXEL = 1.0
ROOFS = [(158, 92, 70), (142, 84, 66), (170, 112, 84), (120, 116, 116), (136, 130, 126), (104, 100, 104)]
CARS = [(225, 225, 228), (190, 192, 196), (60, 62, 68), (130, 40, 40), (52, 74, 120), (150, 152, 150), (240, 240, 236)]


def paint(picture: np.ndarray, shapes, colours) -> None:
    """Draw polygons in their colours, in place."""
    number = frame.burn(shapes, PIXEL, range(1, len(shapes) + 1)).astype(int)
    rows, cols = np.nonzero(number)
    picture[rows, cols] = np.asarray(colours, dtype="float32")[number[rows, cols] - 1]


def paint_ways(picture: np.ndarray) -> None:
    """Draw road edges, the bays of the car park, planks and quay edges, in place."""
    land = frame.burn([strip(line, width) for line, width in features.ROADS], PIXEL) > 0
    picture[land] = picture[land] * 0.15 + np.array((116, 114, 113)) * 0.85
    west, south, east, _north = features.CAR_PARK
    bays = [box(x, y, x + 0.9, y + 5) for x in range(west + 2, east - 1, 3) for y in (south + 1, south + 12)]
    paint(picture, [box(*features.CAR_PARK)] + bays, [(98, 97, 99)] + [(140, 139, 138)] * len(bays))
    (start_e, start_n), (end_e, end_n) = terrain.PIER
    steps = np.arange(0, 1, 0.012)
    along_e, along_n = end_e - start_e, end_n - start_n
    planks = [strip([(start_e + along_e * t, start_n + along_n * t),
                     (start_e + along_e * (t + 0.004), start_n + along_n * (t + 0.004))], 5) for t in steps]
    paint(picture, planks, [(150, 138, 122)] * len(planks))


def paint_roofs(picture: np.ndarray) -> None:
    """Draw the roofs: ridged on houses, ribbed with skylights on the warehouse, in place."""
    rng = np.random.default_rng([frame.SEED, 90])
    every = features.buildings()
    colour = np.array([ROOFS[k] for k in rng.integers(0, len(ROOFS), len(every))], dtype="float32")
    colour *= rng.uniform(0.9, 1.1, len(every))[:, None]
    colour[0] = (176, 178, 180)
    paint(picture, [shape for shape, _, _ in every], colour)
    shaded = []
    for shape, _, _ in every[1:]:  # the half away from the sun is darker
        west, east, south, north = shape.GetEnvelope()
        shaded.append(shape.Intersection(box(west, (south + north) / 2, east, north)))
    dim = drawn(shaded, PIXEL)
    picture[dim] *= 0.82
    west, south, east, north = features.WAREHOUSE
    ribs = [box(x, south, x + 1, north) for x in range(west + 8, east, 8)]
    lights = [box(x, y, x + 8, y + 2.2) for x in range(west + 12, east - 10, 24)
              for y in (south + 18, south + 38, south + 58)]
    edge = [box(west, south, east, south + 1.2), box(west, north - 1.2, east, north),
            box(west, south, west + 1.2, north), box(east - 1.2, south, east, north)]
    paint(picture, ribs + lights + edge,
          [(166, 168, 171)] * len(ribs) + [(206, 222, 230)] * len(lights) + [(198, 199, 200)] * 4)


def hull(east: float, north: float, length: float, beam: float, heading: float):
    """Return a boat's outline with a pointed bow."""
    shape = np.array([(-0.5, -0.5), (0.5, -0.5), (0.5, 0.2), (0, 0.5), (-0.5, 0.2)]) * (beam, length)
    c, s = np.cos(np.radians(heading)), np.sin(np.radians(heading))
    return polygon(shape @ np.array([[c, -s], [s, c]]) + (east, north))


def paint_craft(picture: np.ndarray) -> None:
    """Draw pontoons, moored boats, ships at their berths and one vessel with its wake, in place."""
    rng = np.random.default_rng([frame.SEED, 91])
    shapes, colours = [], []

    def add(shape, colour):
        shapes.append(shape)
        colours.append(colour)

    wake = polygon([(1660, 960), (1684, 830), (1688, 800), (1678, 828), (1654, 958)])
    rows, cols = np.nonzero(drawn([wake], PIXEL))
    picture[rows, cols] += (np.array((200, 215, 215)) - picture[rows, cols]) * 0.35
    add(box(1498, 1332, 1501, 1466), (170, 160, 146))
    for north in range(1344, 1466, 20):
        add(box(1501, north, 1556, north + 2), (170, 160, 146))
        for east in range(1506, 1554, 5):
            for side in (-6.0, 8.0):
                if rng.uniform() < 0.8:
                    add(hull(east, north + side, rng.uniform(7, 10), 3, 0 if side > 0 else 180),
                        rng.choice([(236, 238, 240), (222, 226, 232), (70, 84, 120), (196, 186, 160)]))
    moorings = dict((name, shape) for name, _, shape in features.AVOID)["small-craft moorings"]
    west, east, south, north = moorings.GetEnvelope()
    for x in np.arange(west + 12, east - 8, 21):
        for y in np.arange(south + 14, north - 8, 24):
            dx, dy, keep = rng.uniform(-5, 5), rng.uniform(-5, 5), rng.uniform()
            spot = hull(x + dx, y + dy, rng.uniform(6, 10), 3, 20 + rng.uniform(-12, 12))
            if keep < 0.62 and spot.Within(moorings):
                add(spot, rng.choice([(238, 240, 242), (226, 228, 232), (90, 104, 136), (160, 74, 60)]))
    for place, colours_of in [((1270, 1400, 74, 15, 0), ((94, 56, 52), (186, 178, 164))),
                              ((1420, 1488, 52, 12, 90), ((60, 78, 96), (222, 224, 226))),
                              ((1350, 1322, 48, 13, 270), ((232, 234, 236), (180, 196, 206))),
                              ((1652, 975, 40, 9, 345), ((70, 76, 84), (226, 226, 224))),
                              ((400, 390, 86, 16, 250), ((86, 62, 58), (170, 164, 152)))]:
        e, n, length, beam, heading = place
        add(hull(e, n, length, beam, heading), colours_of[0])
        add(hull(e, n, length * 0.82, beam * 0.62, heading), colours_of[1])
        s, c = np.sin(np.radians(heading)), np.cos(np.radians(heading))
        add(hull(e - s * length * 0.28, n - c * length * 0.28, length * 0.16, beam * 0.6, heading), (244, 244, 242))
    for row in range(8):
        for col in range(5):
            x, y = 2436 + col * 24 + row * 3, 1774 + row * 23
            add(box(x, y, x + 12, y + 12, 8), (98, 92, 84))
    paint(picture, shapes, colours)


def paint_cars(picture: np.ndarray) -> None:
    """Park cars on the car park, along the quay and on the roads, in place."""
    rng = np.random.default_rng([frame.SEED, 92])
    west, south, east, _north = features.CAR_PARK
    shapes = [box(x + 1.0, y, x + 3.0, y + 4.4) for x in range(west + 2, east - 3, 3) for y in (south + 1, south + 12)
              if rng.uniform() < 0.66]
    shapes += [box(x, 1275, x + 2, 1279.5) for x in range(1266, 1380, 4) if rng.uniform() < 0.4]
    for line, _ in features.ROADS:
        for (e0, n0), (e1, n1) in zip(line[:-1], line[1:]):
            length = np.hypot(e1 - e0, n1 - n0)
            for along in np.arange(20, length - 10, 46):
                if rng.uniform() < 0.28:
                    t = along / length
                    e, n = e0 + (e1 - e0) * t + 1.4, n0 + (n1 - n0) * t - 1.4
                    shapes.append(box(e - 1, n - 2.2, e + 1, n + 2.2, np.degrees(np.arctan2(e1 - e0, n1 - n0))))
    paint(picture, shapes, [CARS[k] for k in rng.integers(0, len(CARS), len(shapes))])
