"""Make the sample scene: an invented stretch of coast called Vellmouth.

Run ``python3 sample_layers/make_scene.py [FOLDER]``. It needs numpy, scipy and GDAL's Python bindings, takes about a
minute and gives the same data each time. Without FOLDER the files are written beside this script.
"""
from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import scene_features as features
import scene_files as files
import scene_frame as frame
import scene_image as image
import scene_terrain as terrain


def rounded_height(height: np.ndarray, trees: np.ndarray) -> np.ndarray:
    """Round heights so that they compress: 5 cm, trees 0.5 m, deep water 10 cm."""
    fine = np.round(height * 20) / 20
    fine = np.where(height < -4, np.round(height * 10) / 10, fine)
    return np.where(trees, np.round(height * 2) / 2, fine).astype("float32")


def main(folder: Path) -> None:
    """Make every file of the scene in `folder`."""
    folder.mkdir(parents=True, exist_ok=True)
    ground, masks = terrain.elevation_without_buildings()
    trees = features.forest(ground, masks)
    surface = features.with_buildings(ground)
    surface = rounded_height(np.where(trees, ground + features.canopy(), surface), trees)
    cover = features.land_cover(surface, ground, trees, masks)
    bed = np.where(masks["works"], terrain.sea_bed(masks["offshore"]), ground)

    files.write_elevation(folder / "elevation.tif", surface)
    files.write_land_cover(folder / "landcover.tif", cover)
    files.write_geoid(folder / "geoid.tif")
    files.write_vectors(folder / "coast.gpkg", surface, masks, folder / "geoid.tif")
    files.write_aerial(folder / "aerial.tif", image.aerial(surface, ground, bed, cover, masks))
    total = sum(path.stat().st_size for path in folder.iterdir() if path.suffix in (".tif", ".gpkg", ".xml"))
    sys.stdout.write(f"{folder}: {total / 1e6:.1f} MB, EPSG:{frame.EPSG}\n")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).resolve().parent)
