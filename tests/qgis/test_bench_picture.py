"""What the bench paints on the map, and that it paints nothing else."""

from dataclasses import replace

import pytest
from bench_hands import alpha, middle_of_a_good_sector, painted
from bench_scene import CRS, LONLAT, PIER, looked, pump
from qgis.core import QgsPointXY
from qgis.PyQt.QtCore import QPoint, QPointF, QRectF
from stillwater.plugin.bench.model.bench import SHAPES

pytest_plugins = ["bench_hands_fixtures"]


def test_a_sector_is_painted_where_it_is_unless_hidden(bench, hands, canvas, item, on_pier):
    at = hands.pixel(middle_of_a_good_sector(bench.spot))
    shown = canvas.grab().toImage().pixelColor(at)
    assert alpha(painted(item, canvas), at) > 100
    bench.show_shapes({"skyline"})
    assert alpha(painted(item, canvas), at) == 0
    assert canvas.grab().toImage().pixelColor(at) != shown
    assert alpha(painted(item, canvas), on_pier) == 255, "the antenna itself is always shown"
    bench.clear()
    assert alpha(painted(item, canvas), on_pier) == 0


@pytest.mark.parametrize("kind", SHAPES)
def test_each_kind_of_shape_is_painted_alone(bench, canvas, item, on_pier, kind):
    bench.show_shapes(set())
    bare = painted(item, canvas)
    bench.show_shapes({kind})
    assert painted(item, canvas) != bare


def inked(picture, margin):
    """Give the box of all painted pixels."""
    box = QRectF()
    for y in range(0, picture.height(), 2):
        for x in range(0, picture.width(), 2):
            if picture.pixelColor(x, y).alpha():
                box |= QRectF(x - margin, y - margin, 1, 1)
    return box


@pytest.mark.parametrize("change", [lambda c: None, lambda c: c.setRotation(33), lambda c: c.zoomByFactor(2.5),
                                    lambda c: c.setCenter(QgsPointXY(PIER.x() + 150, PIER.y() - 90))])
def test_nothing_is_painted_outside_of_the_bounds(bench, hands, canvas, item, on_pier, change):
    bench.pin()
    bench.move_to(QgsPointXY(PIER.x() - 8, PIER.y()), CRS, True)
    change(canvas)
    pump(20)
    box, bounds = inked(painted(item, canvas, 300), 300), item.boundingRect()
    assert box.width() > 60 and bounds.contains(box)
    assert bounds.width() < 1500 and bounds.height() < 1500
    there = canvas.getCoordinateTransform().transform(bench.place.point)
    assert bounds.contains(QPointF(there.x(), there.y()))


def test_the_picture_follows_the_antenna_before_it_has_been_looked_at(bench, hands, canvas, item, on_pier,
                                                                      monkeypatch):
    at = hands.pixel(middle_of_a_good_sector(bench.spot))
    before = painted(item, canvas)
    monkeypatch.setattr(bench.engine, "look_at", lambda *_args: None)
    step = 25 * canvas.mapUnitsPerPixel()
    bench.move_to(QgsPointXY(PIER.x() + step, PIER.y()), CRS, True)
    after = painted(item, canvas)
    assert alpha(after, on_pier + QPoint(25, 0)) == 255
    moved = after.pixelColor(at + QPoint(25, 0))
    assert moved == before.pixelColor(at) and moved.alpha() > 100


def test_passes_stay_away_while_it_moves(bench, canvas, item, on_pier):
    assert any(one.kind == "passes" for one in item._shown())
    bench.move_to(QgsPointXY(PIER.x() - 1, PIER.y()), CRS, True)
    kinds = {one.kind for one in item._shown()}
    assert bench.spot.is_rough and "sectors" in kinds and "passes" not in kinds


def test_what_could_not_be_assessed_is_crossed_out(bench, hands, canvas, item, on_pier):
    assessed = painted(item, canvas).pixelColor(on_pier + QPoint(0, 5))
    bench.set_settings(replace(bench.settings, LEVEL_HIGH=9.0))
    looked(bench)
    refused = painted(item, canvas)
    assert refused.pixelColor(on_pier + QPoint(0, 5)) != assessed and alpha(refused, on_pier) == 255
    box = inked(refused, 0)
    assert box.width() < 150 and box.height() < 60, "only the marker and its height are left"


def test_on_the_way_over_what_cannot_be_assessed_it_is_crossed_out_at_every_step(bench, hands, canvas, item, on_pier):
    assert not item._is_refused
    for step in (20.0, 30.0, 40.0):
        bench.move_to(QgsPointXY(PIER.x() + step, PIER.y()), CRS, True)
        assert bench.spot.is_rough and bench.spot.shapes is None
        box = inked(painted(item, canvas), 0)
        assert box.width() < 150 and item._is_refused
    bench.move_to(PIER, CRS, True)
    assert not item._is_refused and inked(painted(item, canvas), 0).width() > 200


def test_while_layers_are_read_it_is_not_crossed_out(bench, hands, canvas, item):
    bench.move_to(PIER, CRS)
    assert bench.engine.is_busy()
    pixel = hands.pixel(PIER) + QPoint(0, 5)
    waiting = painted(item, canvas).pixelColor(pixel)
    looked(bench)
    assert painted(item, canvas).pixelColor(pixel) == waiting


def test_pins_are_marked_in_the_map_s_crs(bench, hands, canvas, item, on_pier):
    bench.pin()
    bench.clear()
    above = QPoint(0, -23)
    assert alpha(painted(item, canvas), on_pier + above) > 200
    canvas.setDestinationCrs(LONLAT)
    pump(20)
    canvas.setCenter(QgsPointXY(bench.pins[0].spot.candidate.lon, bench.pins[0].spot.candidate.lat))
    pump(20)
    assert alpha(painted(item, canvas), hands.pixel(canvas.center()) + above) > 200
    bench.unpin(0)
    assert item.boundingRect().isEmpty()
