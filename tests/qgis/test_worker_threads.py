"""Runs in QGIS's worker threads, as its dialogs start them: one thread serves several runs."""

import threading
import time

import scenes
from qgis.core import QgsProcessingContext
from qgis.PyQt.QtCore import QRunnable, QThreadPool


class Run(QRunnable):
    """One run of an algorithm in a worker thread; like there, Python meets the thread anew at each run."""

    def __init__(self, algorithm, parameters, results):
        super().__init__()
        self.setAutoDelete(False)
        self._algorithm, self._parameters, self._results = algorithm, parameters, results

    def run(self):
        context = QgsProcessingContext()
        found, ok = self._algorithm.run(self._parameters, context, scenes.Feedback())
        layer = context.takeResultLayer(found["OUTPUT"]) if ok else None
        middles = None if layer is None else [f.geometry().centroid().asPoint().x() for f in layer.getFeatures()]
        self._results.append((threading.get_ident(), middles))


def test_a_thread_can_run_an_algorithm_again_and_again(provider, tmp_path):
    """PROJ's context of the first run must not be used by the next after it has been freed (pyproj 3.7)."""
    path = tmp_path / "sites.geojson"
    path.write_text('{"type":"FeatureCollection","features":[{"type":"Feature","properties":{},'
                    '"geometry":{"type":"Point","coordinates":[-39.0,45.0]}}]}')
    pool, results = QThreadPool(), []
    pool.setMaxThreadCount(1)
    pool.setExpiryTimeout(-1)
    jobs = []
    for number, height in enumerate((4, 5, 6), 1):
        jobs.append(Run(provider.algorithm("footprints").create(), {
            "INPUT": str(path), "ANTENNA_HEIGHT": height, "OUTPUT": "TEMPORARY_OUTPUT"}, results))
        pool.start(jobs[-1])
        # waitForDone would end the thread, and the next run would get a new one
        deadline = time.monotonic() + 60
        while (len(results) < number or pool.activeThreadCount()) and time.monotonic() < deadline:
            time.sleep(0.02)
    assert len({thread for thread, _x in results}) == 1, "the runs must share a thread"
    results = [x for _thread, x in results]
    assert [None if r is None else len(r) for r in results] == [96, 96, 96]
    assert all(abs(x + 39.0) < 0.01 for r in results for x in r)
