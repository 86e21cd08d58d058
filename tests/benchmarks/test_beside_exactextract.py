"""Time a site beside exact polygon overlay in one run: ratios, printed; nothing asserts a time.

Peer: exactextract, fed with the same footprints as well-known binary from memory (made outside the clock) and
the same GeoTIFF.
"""

import sys
import time
from pathlib import Path

import numpy as np
import pytest
from stillwater.siting.assess import assess
from stillwater.siting.candidates import Candidate, resolve
from stillwater.siting.ground.classes import parse_classes
from stillwater.siting.ground.rasters import Raster
from stillwater.siting.ground.surfacelayers import SurfaceLayers
from stillwater.siting.settings import Settings
from stillwater.siting.signals import wavelength_m

sys.path.insert(0, str(Path(__file__).parents[1] / "peers"))
import overlay

L1 = wavelength_m("GPS L1")
ANGLES = tuple(float(a) for a in range(5, 26))
CELL_M, CELLS = 2.0, 2000
PEER_SITES, OUR_SITES, WRITTEN_SITES = 12, 300, 1000
WEST, NORTH = 498_000.0, 4_982_000.0


@pytest.fixture
def scene(tmp_path):
    rng = np.random.default_rng(3)
    values = overlay.patchy(rng, CELLS, patches=40)
    return overlay.write_geotiff(tmp_path / "cover.tif", values, WEST, NORTH, CELL_M), rng


def draw_sites(rng, heights):
    sites = [Candidate(f"site {i}", WEST + rng.uniform(600, 3400), NORTH - rng.uniform(600, 3400), float(h))
             for i, h in enumerate(heights)]
    resolve(sites, overlay.UTM, "surface", False)
    return sites


def time_peer(path, sites, settings):
    spent, shares = [], []
    from exactextract import exact_extract
    for one in sites:
        rings = overlay.footprint_rings(one.lon, one.lat, one.over_zero_m, ANGLES, settings.bin_centre_deg, L1)
        footprints = overlay.as_features(rings)
        begin = time.perf_counter()
        result = exact_extract(path, footprints, "mean")
        spent.append(time.perf_counter() - begin)
        shares.append([row["properties"]["mean"] for row in result])
    return float(np.median(spent)), np.array(shares)


def test_the_engine_beside_exact_overlay(scene):
    path, rng = scene
    settings = Settings(L1, ANGLES)
    layers = SurfaceLayers(landcover=Raster(path), classes=parse_classes("1"))
    print()
    for label, heights in (("height 5 m", np.full(OUR_SITES, 5.0)),
                           ("heights 3 to 15 m, each another", rng.uniform(3, 15, OUR_SITES))):
        sites = draw_sites(rng, heights)
        peer, exact = time_peer(path, sites[:PEER_SITES], settings)
        begin = time.perf_counter()
        found = [one.share for _i, one in assess(sites, layers, settings)]
        ours = (time.perf_counter() - begin) / len(sites)
        off = np.abs(np.array(found[:PEER_SITES]).reshape(PEER_SITES, -1) - exact)
        print(f"{label}: 72 azimuths x 21 angles: exactextract {1e3 * peer:.1f} ms, engine {1e3 * ours:.2f} ms a site, "
              f"ratio {peer / ours:.0f}; they differ by {off.mean():.4f} in the mean, "
              f"{np.percentile(off, 99):.4f} at the 99th percentile")
        assert off.mean() <= 0.005
        assert np.percentile(off, 99) <= 0.03


def test_the_whole_algorithm_beside_exact_overlay(scene, tmp_path, qgis_processing):
    import processing
    from qgis.core import QgsApplication, QgsFeature, QgsGeometry, QgsPointXY, QgsVectorLayer
    from stillwater.processing_algs.provider import StillwaterProvider
    registry = QgsApplication.processingRegistry()
    provider = StillwaterProvider()
    registry.addProvider(provider)
    try:
        path, rng = scene
        sites = draw_sites(rng, np.full(WRITTEN_SITES, 5.0))
        layer = QgsVectorLayer("Point?crs=EPSG:32624", "sites", "memory")
        for one in sites:
            feature = QgsFeature()
            feature.setGeometry(QgsGeometry.fromPointXY(QgsPointXY(one.x, one.y)))
            layer.dataProvider().addFeature(feature)
        peer, _exact = time_peer(path, sites[:PEER_SITES], Settings(L1, ANGLES))
        begin = time.perf_counter()
        processing.run("stillwater:surfacequality", {
            "INPUT": layer, "ANTENNA_HEIGHT": 5.0, "LANDCOVER": path, "TARGET_CLASSES": "1",
            "MAX_ELEVATION": 25.0, "OUTPUT": str(tmp_path / "sectors.gpkg")})
        ours = (time.perf_counter() - begin) / len(sites)
        print("\nsurfacequality with 72 sectors a site written to a GeoPackage: "
              f"exactextract alone {1e3 * peer:.1f} ms, "
              f"the algorithm {1e3 * ours:.2f} ms a site, ratio {peer / ours:.0f}")
    finally:
        registry.removeProvider(provider)
