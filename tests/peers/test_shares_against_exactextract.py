"""The engine's shares against exact polygon overlay: 200 random sites on real GeoTIFFs.

Peer: exactextract (package index), the weighted mean over each polygon of the same footprints. It cuts every
cell by the polygon exactly, so where the two differ the engine's polar sampling is what errs.
"""

import sys
from pathlib import Path

import numpy as np
import pytest
from stillwater.siting.assess import assess
from stillwater.siting.candidates import Candidate, resolve
from stillwater.siting.geometry.fresnel import first_zone
from stillwater.siting.ground.classes import parse_classes
from stillwater.siting.ground.rasters import Raster
from stillwater.siting.ground.surfacelayers import SurfaceLayers
from stillwater.siting.settings import Settings
from stillwater.siting.signals import wavelength_m

sys.path.insert(0, str(Path(__file__).parent))
import overlay

pytest.importorskip("exactextract")

L1 = wavelength_m("GPS L1")
SITES = 200
ANGLES = tuple(float(a) for a in range(5, 21, 3))
BINS = 24
MEAN_TOLERANCE, P99_TOLERANCE = 0.005, 0.03
HEIGHTS_M, CELLS_M = (2.0, 100.0), (0.5, 30.0)


def log_uniform(rng, limits):
    return float(np.exp(rng.uniform(*np.log(limits))))


def differences(rng, folder, number):
    """Compare one random site; return |engine - overlay| of all its footprints."""
    height, cell = log_uniform(rng, HEIGHTS_M), log_uniform(rng, CELLS_M)
    reach = float(first_zone(height, ANGLES[0], L1).far_m)
    cells = int(2.1 * reach / cell) + 6
    values = overlay.patchy(rng, cells)
    x, y = 500_000.0 + rng.uniform(-0.5, 0.5) * cell, 4_980_000.0 + rng.uniform(-0.5, 0.5) * cell
    path = overlay.write_geotiff(folder / f"{number}.tif", values,
                                 500_000.0 - cells * cell / 2, 4_980_000.0 + cells * cell / 2, cell)
    one = Candidate("site", x, y, height)
    resolve([one], overlay.UTM, "surface", False)
    layers = SurfaceLayers(landcover=Raster(path), classes=parse_classes("1"))
    settings = Settings(L1, ANGLES, BINS)
    (_index, assessed), = assess([one], layers, settings)
    rings = overlay.footprint_rings(one.lon, one.lat, height, ANGLES, settings.bin_centre_deg, L1)
    exact = overlay.overlay_shares(path, rings)
    Path(path).unlink()
    return np.abs(assessed.usable[0].ravel() - exact)


def test_shares_agree_with_exact_overlay_over_random_sites(tmp_path):
    rng = np.random.default_rng(20260601)
    found = np.concatenate([differences(rng, tmp_path, number) for number in range(SITES)])
    assert len(found) == SITES * len(ANGLES) * BINS
    assert found.mean() <= MEAN_TOLERANCE
    assert np.percentile(found, 99) <= P99_TOLERANCE
    # the two are computed differently: were they the same to the last bit, one would be comparing a thing with itself
    assert found.max() > 1e-4


def test_a_share_of_polygons_is_the_area_of_their_intersection():
    """Peer: shapely's intersection of a footprint with the same polygons, in the plane of the map."""
    shapely_geometry = pytest.importorskip("shapely.geometry")
    from stillwater.siting.ground.polygons import PolygonLayer, Ring
    rng = np.random.default_rng(7)
    worst = []
    for _ in range(20):
        height = log_uniform(rng, (2.0, 60.0))
        reach = float(first_zone(height, ANGLES[0], L1).far_m)
        angle = np.sort(rng.uniform(0, 2 * np.pi, 40))
        radius = rng.uniform(0.4, 1.0, 40) * reach
        middle = np.array([500_000.0, 4_980_000.0]) + rng.uniform(-0.4, 0.4, 2) * reach
        xy = middle + np.stack([radius * np.cos(angle), radius * np.sin(angle)], axis=-1)
        polygon = shapely_geometry.Polygon(xy)
        one = Candidate("site", 500_000.0, 4_980_000.0, height)
        resolve([one], overlay.UTM, "surface", False)
        layers = SurfaceLayers(water=PolygonLayer([Ring(xy, False, 0)], overlay.UTM, "star"))
        settings = Settings(L1, ANGLES, BINS)
        (_index, assessed), = assess([one], layers, settings)
        rings = overlay.footprint_rings(one.lon, one.lat, height, ANGLES, settings.bin_centre_deg, L1)
        shapes = [shapely_geometry.Polygon(ring) for ring in rings]
        exact = np.array([shape.intersection(polygon).area / shape.area for shape in shapes])
        worst.append(np.abs(assessed.usable[0].ravel() - exact))
    worst = np.concatenate(worst)
    assert worst.mean() <= MEAN_TOLERANCE
    assert np.percentile(worst, 99) <= P99_TOLERANCE
