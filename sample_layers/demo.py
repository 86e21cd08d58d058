"""Put the demo's outputs into one styled GeoPackage, draw its map and print its ranking; `demo.sh` calls it.

Usage: ``demo.py PARTS FOLDER``: from the GeoPackages in PARTS it writes ``stillwater_demo.gpkg`` and ``map.png``
to FOLDER.
"""
from __future__ import annotations

import os
import shutil
import sys
import textwrap
from pathlib import Path

from demo_map import export_map
from osgeo import gdal, ogr
from qgis.core import QgsApplication, QgsProject, QgsSettings, QgsVectorLayer

HERE = Path(__file__).resolve().parent
STYLES = HERE.parent / "plugin" / "styles"
GEOPACKAGE = "stillwater_demo.gpkg"
PURPOSES = ["sea level", "lake level", "snow depth"]
LAYERS = {"footprints": "footprints.qml", "sectors": "surfacequality.qml", "candidates": "rankcandidates.qml"}


def merge(parts: Path, target: Path) -> None:
    """Write the outputs of all purposes to one GeoPackage, a layer for each kind."""
    target.unlink(missing_ok=True)
    for name in LAYERS:
        for purpose in PURPOSES:
            source = parts / f"{name}_{purpose.replace(' ', '_')}.gpkg"
            options = gdal.VectorTranslateOptions(
                format="GPKG", layerName=name, accessMode="append" if target.exists() else None)
            if gdal.VectorTranslate(str(target), str(source), options=options) is None:
                raise SystemExit(f"demo: {source.name} could not be added to {target.name}: {gdal.GetLastErrorMsg()}")


def save_styles(target: Path) -> list[QgsVectorLayer]:
    """Save each layer's style in the GeoPackage and return the layers, the lowest first."""
    layers = []
    for name, style in LAYERS.items():
        layer = QgsVectorLayer(f"{target}|layername={name}", name, "ogr")
        message, loaded = layer.loadNamedStyle(str(STYLES / style))
        if not (layer.isValid() and loaded):
            raise SystemExit(f"demo: {style} could not be loaded: {message}")
        error = layer.saveStyleToDatabase(name, "Stillwater", True, "")
        if error:
            raise SystemExit(f"demo: the style of {name} could not be saved: {error}")
        layers.append(layer)
    return layers


def ranking(target: Path) -> dict[str, list[dict]]:
    """Read the ranked candidates of each purpose, best first."""
    source = ogr.Open(str(target))
    layer = source.GetLayerByName("candidates")
    rows = sorted((feature.items() for feature in layer),
                  key=lambda row: (row["rank"] is None, row["rank"], row["site"]))
    return {purpose: [row for row in rows if row["purpose"] == purpose] for purpose in PURPOSES}


def table(rows: list[dict], width: int) -> list[str]:
    """Lay out the ranking of one purpose for a terminal."""
    lines = [f"{'rank':>4}  {'site':<18}{'score':>5}  {'verdict':<13}{'precision':>9}  {'azimuths':>8}  in words"]
    for row in rows:
        precision = "-" if row["height_cm"] is None else f"{row['height_cm']:.1f} cm"
        span = "-" if not row["az_span"] else f"{row['az_span']:.0f}°"
        score = "-" if row["score"] is None else f"{row['score']:.0f}"
        head = (f"{row['rank'] or '-':>4}  {row['site']:<18}{score:>5}  {row['verdict']:<13}{precision:>9}  "
                f"{span:>8}  ")
        wrapped = textwrap.wrap(row["advice"], max(width - len(head), 30)) or [""]
        lines += [head + wrapped[0]] + [" " * len(head) + line for line in wrapped[1:]]
    return lines


def tell(ranked: dict[str, list[dict]], folder: Path) -> None:
    """Print the ranking and where to look."""
    width = max(shutil.get_terminal_size((120, 24)).columns, 100)
    for purpose, rows in ranked.items():
        print(f"\n{purpose.capitalize()}")
        print("\n".join(table(rows, width)))
    here = os.path.relpath(folder)
    folder_name = str(folder) if here.startswith("..") else here
    print(f"""
Where to look, in {folder_name}:
  {GEOPACKAGE:<28}candidates, sectors and footprints; opens styled in QGIS
  {'ranking.html':<28}why each site ranks where it does (lake and snow: ranking_*.html)
  {'map.png':<28}the map over the aerial image
  {'site_sheet.pdf, .html':<28}from the bare shoreline to a sheet for the best place; mask: site_mask.csv
The coast is invented. This is geometry on layers, no survey; not for navigation.""")


def main(parts: Path, folder: Path) -> None:
    """Make everything."""
    partial = parts / GEOPACKAGE
    merge(parts, partial)
    layers = save_styles(partial)
    picture = parts / "map.png"
    export_map(QgsProject.instance(), layers, HERE / "aerial.tif", picture)
    QgsProject.instance().clear()
    # in one piece: a reader never sees a half-written file
    for made in (partial, picture):
        shutil.copyfile(made, folder / (made.name + ".part"))
        os.replace(folder / (made.name + ".part"), folder / made.name)
    tell(ranking(folder / GEOPACKAGE), folder)


if __name__ == "__main__":
    gdal.UseExceptions()
    ogr.UseExceptions()
    application = QgsApplication([], True)
    application.initQgis()
    QgsSettings().setValue("qgis/walForSqlite3", False)  # one file, without a log beside it
    main(Path(sys.argv[1]), Path(sys.argv[2]))
    application.exitQgis()
