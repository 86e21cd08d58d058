"""Draw what each surface returns by elevation angle: returns.svg and, for viewers without SVG, returns.png.

Usage: ``returns_picture.py [FOLDER]`` (this folder by default), with the Python that QGIS uses.
"""
from __future__ import annotations

import os
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def draw(folder: Path) -> None:
    """Write both pictures into a folder."""
    sys.path.insert(0, str(ROOT))
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    from qgis.PyQt.QtCore import QByteArray
    from qgis.PyQt.QtGui import QGuiApplication, QImage, QPainter
    from qgis.PyQt.QtSvg import QSvgRenderer

    from siting.charts.reflectionchart import HEIGHT, WIDTH, returns_chart

    drawing = (returns_chart().svg("\n") + "\n").encode("utf-8")
    (folder / "returns.svg").write_bytes(drawing)
    application = QGuiApplication.instance() or QGuiApplication(sys.argv[:1])
    image = QImage(WIDTH, HEIGHT, QImage.Format.Format_RGB32)
    image.fill(0xFFFFFFFF)
    painter = QPainter(image)
    QSvgRenderer(QByteArray(drawing)).render(painter)
    painter.end()
    if not image.save(str(folder / "returns.png")):
        raise OSError(f"cannot write {folder / 'returns.png'}")
    application.processEvents()


if __name__ == "__main__":
    draw(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).resolve().parent)
