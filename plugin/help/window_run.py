"""What a script needs that photographs the QGIS window: the sample project, a beginning, and an end.

`in_window.sh` puts this folder on Python's path.
"""
from __future__ import annotations

import os
import traceback
from typing import Callable

from qgis.core import QgsProject
from qgis.PyQt.QtCore import QTimer
from qgis.utils import iface

SAMPLES = os.environ["STILLWATER_SAMPLES"]
WINDOW_MS = 2500
"""So long QGIS takes until its window is there."""


def begin(start: Callable[[], None]) -> None:
    """Start as soon as the window is there."""
    QTimer.singleShot(WINDOW_MS, lambda: guarded(start))


def guarded(step: Callable[[], None]) -> None:
    """Do something; where it fails, end QGIS, for its own handler waits for a click."""
    try:
        step()
    except Exception:
        fail(traceback.format_exc())


def open_sample() -> None:
    """Open the sample project."""
    if not iface.addProject(os.path.join(SAMPLES, "sample_project.qgs")):
        fail("the sample project could not be opened")


def leave() -> None:
    """End QGIS without questions."""
    QgsProject.instance().setDirty(False)
    QTimer.singleShot(100, lambda: os._exit(0))


def fail(message: str) -> None:
    """Say what went wrong where `in_window.sh` will show it, and end QGIS."""
    os.write(2, (message + "\n").encode())
    os._exit(1)
