"""Record the horizons that GRASS GIS finds on fractal ground, for the tests to compare with.

Run ``/usr/bin/python3 tests/peers/make_grass_horizon.py`` where GRASS 8 (Debian package grass-core) and GDAL's Python
bindings are installed; it writes ``grass_horizon.json`` beside itself. GRASS is not needed to run the tests.

r.horizon works in raster mode here, on a region of one cell with a buffer around it; its mode for a single point is
another code, which missed walls beyond 2 km. It counts angles counter-clockwise from east, knows the curvature of the
Earth but no refraction, and looks from the height of the cell itself: so each site stands on a pillar of one cell.
"""

import datetime
import importlib.util
import json
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np

HERE = Path(__file__).resolve().parent
RECORD = HERE / "grass_horizon.json"
SEED, CELLS, CELL_M, RELIEF_M, PILLAR_M = 41, 1400, 20.0, 600.0, 10.0
BUFFER_M = 10_000.0
STEP_DEG = 5.0
# rows and columns of the sites: away from the rim by more than the buffer
SITES = [(row, col) for row in (560, 700, 840) for col in (550, 690, 850)]


def scenes():
    """Import the module with the fractal ground, without pytest."""
    spec = importlib.util.spec_from_file_location("terrain_scenes", HERE.parent / "science" / "terrain_scenes.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def ground() -> np.ndarray:
    """Make the ground, to the centimetre, with a pillar at each site."""
    heights = scenes().fractal(CELLS, SEED, RELIEF_M)
    for row, col in SITES:
        heights[row, col] += PILLAR_M
    return np.round(heights, 2)


def centre(row, col) -> tuple:
    """Return the map coordinates of a cell's centre."""
    place = scenes()
    return (place.EAST + (col + 0.5 - CELLS / 2) * CELL_M, place.NORTH - (row + 0.5 - CELLS / 2) * CELL_M)


def command_of(row, col) -> list:
    """Return the commands that find the horizon of one cell, and the maps' names by azimuth from north."""
    east, north = centre(row, col)
    half = CELL_M / 2
    return [["g.region", f"n={north + half}", f"s={north - half}", f"e={east + half}", f"w={east - half}",
             f"res={CELL_M}"],
            ["r.horizon", "-d", "elevation=dem", f"step={STEP_DEG:g}",
             f"bufferzone={BUFFER_M:g}", f"maxdistance={BUFFER_M:g}", "output=horizon", "--overwrite"]]


def main() -> None:
    """Run GRASS and write the record."""
    with tempfile.TemporaryDirectory() as folder:
        place = scenes()
        dem = place.tif(Path(folder) / "dem.tif", ground(), CELL_M)
        location = Path(folder) / "location"
        subprocess.run(["grass", "-c", place.UTM, str(location), "-e"], check=True, capture_output=True)

        def grass(*command):
            done = subprocess.run(["grass", str(location / "PERMANENT"), "--exec", *command], check=True,
                                  capture_output=True, text=True)
            return done.stdout

        grass("r.in.gdal", f"input={dem}", "output=dem")
        found = []
        for row, col in SITES:
            for command in command_of(row, col):
                grass(*command)
            names = sorted(grass("g.list", "type=raster", "pattern=horizon_*").split())
            angles = {}
            for name in names:
                counted = float(name[len("horizon_"):].replace("_", "."))
                angles[(90.0 - counted) % 360.0] = float(grass("r.stats", "-n", "-1", f"input={name}").split()[0])
            grass("g.remove", "-f", "type=raster", "pattern=horizon_*")
            found.append({"row": row, "col": col, "azimuth_deg": sorted(angles),
                          "el_deg": [round(angles[a], 5) for a in sorted(angles)]})
            sys.stderr.write(f"{row} {col}: {len(angles)} azimuths\n")
        version = grass("g.version")
    RECORD.write_text(json.dumps({
        "made_by": version.splitlines()[0], "date": f"{datetime.date.today()}",
        "commands": [" ".join(command) for command in command_of(*SITES[0])],
        "ground": {"seed": SEED, "cells": CELLS, "cell_m": CELL_M, "relief_m": RELIEF_M, "pillar_m": PILLAR_M},
        "sites": found}, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
