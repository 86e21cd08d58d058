"""Draw the README's close-up: pier head and promenade with sectors and footprints, from the demo's GeoPackage.

Usage: ``closeup_picture.py GEOPACKAGE PICTURE``; `make_pictures.sh` calls it.
"""
from __future__ import annotations

import sys
from pathlib import Path

from qgis.core import (
    QgsApplication,
    QgsLayoutExporter,
    QgsLayoutSize,
    QgsPrintLayout,
    QgsProject,
    QgsRasterLayer,
    QgsRectangle,
    QgsUnitTypes,
    QgsVectorLayer,
)

SAMPLES = Path(__file__).resolve().parents[2] / "sample_layers"
PAGE_MM = (210.0, 150.0)
DPI = 127
EXTENT = QgsRectangle(498946, 4982233, 499926, 4982933)   # as wide to its height as the page
SITES = "\"site\" IN ('Pier head', 'Promenade')"


def draw(geopackage: str, picture: str) -> None:
    """Draw the page to a PNG file."""
    sys.path.insert(0, str(SAMPLES))
    import demo_map

    project = QgsProject.instance()
    layers = [QgsVectorLayer(f"{geopackage}|layername={name}", name, "ogr")
              for name in ("candidates", "footprints", "sectors")]
    for layer in layers:
        layer.setSubsetString(SITES)
    layers.append(QgsRasterLayer(str(SAMPLES / "aerial.tif"), "aerial"))
    for layer in layers:
        if not layer.isValid():
            raise SystemExit(f"{layer.source()} cannot be read")
        project.addMapLayer(layer, False)
    layout = QgsPrintLayout(project)
    layout.initializeDefaults()
    layout.pageCollection().page(0).setPageSize(
        QgsLayoutSize(*PAGE_MM, QgsUnitTypes.LayoutUnit.LayoutMillimeters))
    shown = demo_map.add_map(layout, layers, EXTENT, 0, 0, *PAGE_MM)
    demo_map.add_scale_bar(layout, shown, 50, 4, PAGE_MM[1] - 13)
    if not QgsLayoutExporter(layout).renderPageToImage(0, dpi=DPI).save(picture):
        raise SystemExit(f"{picture} could not be written")
    project.clear()


if __name__ == "__main__":
    application = QgsApplication([], True)
    application.initQgis()
    draw(sys.argv[1], sys.argv[2])
    application.exitQgis()
