"""The scene seen from the air: colours of land and water, sunlight and shadow, at one metre."""
from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import scene_features as features
import scene_frame as frame
import scene_objects as objects
import scene_terrain as terrain
from scene_frame import drawn, noise, ramp
from scipy import ndimage
from scipy.spatial import cKDTree

PIXEL = 1.0
SUN_AZIMUTH, SUN_ELEVATION = 152.0, 42.0  # late morning
FIELD_COLOURS = np.array([(132, 138, 78), (151, 146, 88), (112, 124, 66), (168, 156, 104), (124, 130, 84),
                          (143, 128, 92), (104, 118, 70), (156, 150, 98)], dtype="float32")
BASE = {features.BEACH: (212, 196, 158), features.ROCK: (122, 112, 102), features.GRASS: (124, 128, 78),
        features.FOREST: (52, 66, 40), features.PAVING: (112, 111, 112), features.BUILDING: (150, 120, 104),
        features.PIER: (176, 170, 160), features.SNOW: (238, 241, 246)}


def finer(values: np.ndarray) -> np.ndarray:
    """Interpolate a grid of the scene's cells to the picture's pixels."""
    step = PIXEL / frame.CELL
    at = (np.arange(round(frame.EXTENT / PIXEL)) + 0.5) * step - 0.5
    low = np.clip(np.floor(at).astype(int), 0, values.shape[0] - 2)
    part = np.clip(at - low, 0, 1).astype("float32")
    rows = values[low] * (1 - part[:, None]) + values[low + 1] * part[:, None]
    return rows[:, low] * (1 - part) + rows[:, low + 1] * part


def finer_classes(cover: np.ndarray) -> np.ndarray:
    """Bring classes to the picture's pixels with smooth edges instead of stairs."""
    best = np.full((round(frame.EXTENT / PIXEL),) * 2, 0.12, dtype="float32")
    result = np.zeros(best.shape, dtype="uint8")
    for number in features.CLASSES:
        share = finer(ndimage.gaussian_filter((cover == number).astype("float32"), 0.8))
        ahead = share > best
        result[ahead] = number
        best[ahead] = share[ahead]
    return result


def shadows(height: np.ndarray) -> np.ndarray:
    """Return how much of the sun each pixel gets, 0 to 1, behind walls, trees and cliffs."""
    toward_e, toward_n = np.sin(np.radians(SUN_AZIMUTH)), np.cos(np.radians(SUN_AZIMUTH))
    dark = np.zeros(height.shape, dtype=bool)
    margin = 80
    padded = np.pad(height, margin, mode="edge")
    size = height.shape[0]
    for away in np.r_[np.arange(1, 24, 1.0), np.arange(24, 80, 3.0)]:
        row, col = margin - round(toward_n * away), margin + round(toward_e * away)
        towards = padded[row:row + size, col:col + size]
        dark |= towards > height + away * np.tan(np.radians(SUN_ELEVATION)) + 0.3
    return 1 - ndimage.gaussian_filter(dark.astype("float32"), 0.7)


def sunlight(height: np.ndarray) -> np.ndarray:
    """Return the brightness of each slope in the sun, about 1 on the flat."""
    rise_south, rise_east = np.gradient(height, PIXEL)
    azimuth, elevation = np.radians(SUN_AZIMUTH), np.radians(SUN_ELEVATION)
    sun = (np.sin(azimuth) * np.cos(elevation), np.cos(azimuth) * np.cos(elevation), np.sin(elevation))
    light = (-rise_east * sun[0] + rise_south * sun[1] + sun[2]) / np.sqrt(1 + rise_east**2 + rise_south**2)
    return np.clip(0.30 + 0.70 * light / sun[2], 0.35, 1.35)


def blend(picture: np.ndarray, colour: float | np.ndarray | Sequence, share: float | np.ndarray | Sequence) -> None:
    """Mix a colour (or an array of colours) into the picture, in place."""
    picture += (np.asarray(colour, dtype="float32") - picture) * np.asarray(share, dtype="float32")[..., None]


def fields(picture: np.ndarray, where: np.ndarray) -> None:
    """Lay a patchwork of fields with furrows and hedges over the grass, in place."""
    rng = np.random.default_rng([frame.SEED, 60])
    east, north = frame.axes(PIXEL)
    seeds = rng.uniform(-100, frame.EXTENT + 100, (420, 2))
    rows, cols = np.nonzero(where)
    wobble_e, wobble_n = noise(60, 61, PIXEL)[rows, cols] * 4, noise(60, 62, PIXEL)[rows, cols] * 4
    e, n = east[0, cols], north[rows, 0]
    away, nearest = cKDTree(seeds).query(np.c_[e + wobble_e, n + wobble_n], k=2)
    field = nearest[:, 0]
    colour = FIELD_COLOURS[rng.integers(0, len(FIELD_COLOURS), 420)][field]
    angle = rng.uniform(0, np.pi, 420)[field]
    furrow = np.sin((e * np.cos(angle) + n * np.sin(angle)) * 2 * np.pi / 5.5)
    colour = colour * (1 + 0.035 * furrow * rng.uniform(0, 1.6, 420)[field])[:, None]
    apart = np.hypot(*(seeds[nearest[:, 1]] - seeds[field]).T)
    to_edge = (away[:, 1] ** 2 - away[:, 0] ** 2) / (2 * apart)
    hedge = ramp(to_edge, 2.6, 1.4) * (noise(25, 63, PIXEL)[rows, cols] > -0.9)
    colour = colour + (np.array((62, 72, 44)) - colour) * hedge[:, None]
    picture[rows, cols] = colour


def water(picture: np.ndarray, cover: np.ndarray, bed: np.ndarray, shore: np.ndarray) -> None:
    """Colour sea, tidal flat and lake by depth, with swell and surf, in place.

    Parameters
    ----------
    picture, cover : ndarray
    bed : ndarray
        Height of the bed, also where decks cover it [m].
    shore : ndarray
        Distance to the shore [m].
    """
    east, north = frame.axes(PIXEL)
    sea = (cover == features.SEA) | (cover == features.FLAT)
    lake = cover == features.LAKE
    depth = np.where(lake, terrain.LAKE_LEVEL - bed, -bed)
    tint = np.empty(picture.shape, dtype="float32")
    steps, colours = [-0.6, 0.0, 0.5, 1.3, 3.5, 8, 16], np.array(
        [(188, 174, 142), (166, 158, 132), (140, 150, 134), (96, 136, 134), (52, 110, 122), (34, 84, 106),
         (25, 64, 90)])
    for band in range(3):
        tint[..., band] = np.interp(depth, steps, colours[:, band])
    tint[lake] = tint[lake] * 0.55 + np.array((30, 66, 72)) * 0.45
    mottle = 4.5 * noise(220, 64, PIXEL) + 2.5 * noise(45, 65, PIXEL)
    phase = (north * 0.93 + east * 0.37) * 2 * np.pi / 34 + 2.2 * noise(150, 66, PIXEL)
    swell = np.sin(phase) * ramp(depth, 0.4, 3) * ramp(shore, 5, 60)
    chop = noise(3.2, 67, PIXEL)
    calm = np.where(lake, 0.35, 1.0)
    tint += ((mottle + 2.6 * swell + 1.8 * chop) * calm)[..., None]
    ripple = np.sin((north + 3 * noise(40, 68, PIXEL)) * 2 * np.pi / 4.5) * 3.5
    tint += (ripple * ramp(depth, 0.3, -0.1) * sea)[..., None]
    pool = ramp(noise(48, 69, PIXEL) + 0.6 * noise(14, 70, PIXEL), 1.1, 1.5) * ramp(depth, 0.9, 0.1)
    blend(tint, (112, 134, 138), 0.7 * pool)

    foam = np.zeros(depth.shape, dtype="float32")
    west = ramp(east, 800, 700)
    patchy = ramp(noise(26, 71, PIXEL) + 0.5 * noise(6, 72, PIXEL), -0.2, 1.0)
    for offshore, strength in [(395, 0.95), (368, 0.7), (346, 0.8), (424, 0.4)]:
        band = np.exp(-(((shore - offshore + 7 * noise(120, 73, PIXEL)) / 3.5) ** 2))
        foam = np.maximum(foam, west * band * strength * patchy)
    water_line = np.exp(-((depth - 0.06) / 0.05) ** 2) * west * 0.35
    rocky = (east > 1620) & (north < 1500) | (east > 2250)
    wash = ramp(shore, 13, 2) * rocky * ramp(noise(14, 74, PIXEL) + 0.7 * noise(5, 75, PIXEL), -0.5, 1.0)
    blend(tint, (232, 238, 238), np.clip(np.maximum(np.maximum(foam, wash * 0.9), water_line), 0, 1) * sea)
    wet = sea | lake
    picture[wet] = tint[wet]


def aerial(height: np.ndarray, ground: np.ndarray, bed: np.ndarray, cover: np.ndarray, masks: dict) -> np.ndarray:
    """Return the picture.

    Parameters
    ----------
    height, ground, bed : ndarray
        Surface with buildings and trees; ground; ground with the bed below decks [m].
    cover : ndarray of uint8
    masks : dict

    Returns
    -------
    ndarray of uint8, shape (3, 3000, 3000)
    """
    east, north = frame.axes(PIXEL)
    classes = finer_classes(cover)
    picture = np.zeros(classes.shape + (3,), dtype="float32")
    for number, colour in BASE.items():
        picture[classes == number] = colour
    fine_ground, inland = finer(ground), finer(masks["inland"])
    shade = finer(height)
    grass = classes == features.GRASS
    farmed = grass & ((inland > 150) | (north > 1800)) & (fine_ground < 60) & ((east < 2300) | (north > 1700))
    fields(picture, farmed)
    town = ramp(np.hypot((east - 1040) / 235, (north - 1500) / 195) ** 3 + 0.3 * noise(40, 89, PIXEL), 1.15, 0.75)
    blend(picture, (118, 122, 86), town * grass)
    moor = grass & (fine_ground >= 55)
    picture[moor] = (130, 122, 84)
    blend(picture, (156, 146, 100), 0.55 * grass * (east < 800) * ramp(inland, 230, 60))
    speckle = noise(2.6, 80, PIXEL)
    picture += (3.2 * noise(70, 81, PIXEL) + 2.6 * noise(9, 82, PIXEL) + 2.0 * speckle)[..., None]
    trees = classes == features.FOREST
    picture += (trees * (7 * noise(7, 83, PIXEL) + 5 * speckle))[..., None]
    rock = classes == features.ROCK
    picture += (rock * (9 * noise(5, 84, PIXEL) + 7 * noise(22, 85, PIXEL)))[..., None]
    blend(picture, (150, 138, 112), 0.7 * (classes == features.BEACH) * ramp(inland, 16, 2))
    blend(picture, (242, 245, 249), (0.55 * ramp(fine_ground, 70, 100) * ramp(noise(30, 86, PIXEL), -0.3, 0.8))
          * masks_finer(masks["land"]))
    snow = classes == features.SNOW
    picture[snow] += (1.5 * noise(18, 87, PIXEL)[snow])[:, None]

    water(picture, classes, finer(bed), finer(masks["offshore"]) + 99 * (classes == features.LAKE))
    objects.paint_ways(picture)
    light = sunlight(ndimage.gaussian_filter(np.where(trees, shade + 0.8 * noise(6, 88, PIXEL), shade), 0.6))
    wet = (classes == features.SEA) | (classes == features.FLAT) | (classes == features.LAKE)
    light[wet | drawn([s for s, _, _ in features.buildings()], PIXEL)] = 1.0
    dark = shadows(np.where(wet, np.where(classes == features.LAKE, terrain.LAKE_LEVEL, 0), shade))
    picture *= light[..., None]
    objects.paint_roofs(picture)
    objects.paint_craft(picture)
    objects.paint_cars(picture)
    gain = 0.48 + 0.52 * dark
    picture *= np.stack([gain, gain * 0.985 + 0.015, gain * 0.95 + 0.05], axis=-1)
    return np.clip(picture + 2, 0, 255).astype("uint8").transpose(2, 0, 1)


def masks_finer(mask: np.ndarray) -> np.ndarray:
    """Bring a mask to the picture's pixels."""
    return np.kron(mask, np.ones((2, 2), dtype=bool))
