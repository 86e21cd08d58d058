"""Shares of footprints by exact polygon overlay with exactextract, a general-purpose zonal-statistics library."""

import struct

import numpy as np
from stillwater.siting.geometry.fresnel import Ellipse, first_zone, outline
from stillwater.siting.geometry.localframe import LocalFrame

UTM = "EPSG:32624"
VERTICES = 72


def footprint_rings(lon, lat, height_m, elevation_deg, bin_centre_deg, wavelength_m, crs=UTM):
    """Trace all footprints of a site on the map, shape (angles × bins, VERTICES + 1, 2)."""
    zones = first_zone(height_m, np.asarray(elevation_deg), wavelength_m)
    ring = outline(Ellipse(*(part[:, None] for part in zones)), bin_centre_deg, VERTICES)
    frame = LocalFrame([lon], [lat], crs, float(zones.far_m.max()))
    return np.stack(frame.place(0, ring[..., 0], ring[..., 1]), axis=-1).reshape(-1, VERTICES + 1, 2)


def as_features(rings):
    """Hand rings to exactextract as well-known binary, straight from memory.

    Of the ways it can be fed this is the quickest: 45 ms for 1512 footprints where an OGR layer in memory takes 51.
    """
    from exactextract.feature import Feature, FeatureSource

    class Footprint(Feature):
        def __init__(self, wkb):
            super().__init__()
            self.wkb = wkb

        def geometry(self):
            return self.wkb

        def fields(self):
            return []

    class Footprints(FeatureSource):
        def __init__(self, shapes):
            super().__init__()
            self.shapes = shapes

        def count(self):
            return len(self.shapes)

        def __iter__(self):
            return map(Footprint, self.shapes)

        def srs_wkt(self):
            return None

    head = struct.pack("<BIII", 1, 3, 1, rings.shape[1])
    return Footprints([head + ring.astype("<f8").tobytes() for ring in rings])


def overlay_shares(raster, rings):
    """Return the mean of a raster (0 and 1) over each ring, weighted by covered area."""
    from exactextract import exact_extract
    result = exact_extract(raster, as_features(rings), "mean")
    return np.array([row["properties"]["mean"] for row in result])


def patchy(rng, cells, patches=12):
    """Make an array of 0 and 1 with patches of many sizes, edges at all angles."""
    place = np.arange(cells, dtype=np.float32) / cells
    height = np.zeros((cells, cells), np.float32)
    for wave in rng.normal(0.0, patches, (10, 2)):
        turn = rng.uniform(0.0, 2.0 * np.pi, 2)
        height += np.outer(np.cos(2 * np.pi * wave[0] * place + turn[0]),
                           np.cos(2 * np.pi * wave[1] * place + turn[1])).astype(np.float32)
    return (height > 0).astype(np.uint8)


def write_geotiff(path, values, west, north, cell, crs=UTM):
    """Write a tiled GeoTIFF and return its path."""
    import rasterio
    with rasterio.open(path, "w", driver="GTiff", width=values.shape[1], height=values.shape[0], count=1,
                       dtype=values.dtype.name, crs=crs, tiled=True, compress="deflate", zlevel=1,
                       transform=rasterio.Affine(cell, 0, west, 0, -cell, north)) as file:
        file.write(values, 1)
    return str(path)
