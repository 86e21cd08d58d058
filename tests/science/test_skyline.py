"""The skyline from elevation models and barriers, held to closed forms and to every cell along the rays."""

import numpy as np
import pytest
from pyproj import Geod, Transformer
from stillwater.siting.earth import RADIO_K, RADIUS_M
from stillwater.siting.errors import Cancelled, InputError
from stillwater.siting.ground.polygons import PolygonLayer, Ring
from stillwater.siting.ground.rasters import Raster
from stillwater.siting.sight import relief as relief_module
from stillwater.siting.sight.barriers import Barriers
from stillwater.siting.sight.terrain import Terrain
from stillwater.tests.science.terrain_scenes import EAST, MAP_SCALE, NORTH, UTM, add_overviews, fractal, lonlat, tif

GEOD = Geod(ellps="WGS84")
ALL_ROUND = np.arange(2.5, 360.0, 5.0)
EYE = 2.0


def look(dem, azimuth=(90.0,), z=0.0, place=None, far=None, barriers=None, reach=9000.0, floor=None, **options):
    """Return the skyline of one place."""
    lon, lat = lonlat() if place is None else place
    rasters = [None if path is None else Raster(path) for path in (dem, far)]
    terrain = Terrain(*rasters, barriers, reach, [lon], [lat], **options)
    return terrain.skyline(0, z, np.asarray(azimuth, float), floor)


def elevation(height, dist, k=RADIO_K):
    """Return the elevation angle of a height over the eye [m] at a ground distance [m]."""
    return np.degrees(np.arctan((height - dist**2 / (2 * k * RADIUS_M)) / dist))


def every_cell(heights, cell, azimuth, z, reach, place=(EAST, NORTH), k=RADIO_K):
    """Look at every point along rays, a fifth of a cell apart, each at the distance of its cell's centre."""
    lon, lat = lonlat(*place)
    rows, cols = heights.shape
    to_map = Transformer.from_crs("EPSG:4326", UTM, always_xy=True)
    found = []
    for one in azimuth:
        dist = np.arange(0.7 * cell, reach, 0.2 * cell)
        x, y = to_map.transform(*GEOD.fwd(*(np.full(len(dist), v) for v in (lon, lat, one)), dist)[:2])
        col = (np.array(x) - EAST) / cell + cols / 2
        row = rows / 2 - (np.array(y) - NORTH) / cell
        inside = (col >= 0) & (col < cols) & (row >= 0) & (row < rows)
        col, row, dist = col[inside], row[inside], dist[inside]
        ahead = (np.floor(col) + 0.5 - col) * np.sin(np.radians(one)) - (np.floor(row) + 0.5 - row) * np.cos(
            np.radians(one))
        centre = np.where(dist > 2.83 * cell, dist + ahead * cell / MAP_SCALE, dist)
        own = (np.floor(col) == cols // 2) & (np.floor(row) == rows // 2)
        angle = elevation(heights[row.astype(int), col.astype(int)] - z, centre, k)
        found.append(np.nanmax(np.where(own | (heights[row.astype(int), col.astype(int)] < -1e4), np.nan, angle)))
    return np.array(found)


@pytest.mark.parametrize("dist, wanted", [(2000.0, 5.701689), (4000.0, 2.844463), (7500.0, 1.493824)])
def test_a_wall_of_200_m_one_cell_thick_stands_at_the_published_angles(tmp_path, dist, wanted):
    """The angles are the closed form with k = 1; GRASS r.horizon in raster mode gives the same."""
    cell, cells = 4.0, 5000
    heights = np.zeros((cells, cells), np.float32)
    column = int(round(dist / cell)) + cells // 2
    heights[:, column] = 200.0
    eye = lonlat(EAST + (column - cells // 2 + 0.5) * cell - dist * MAP_SCALE, NORTH)
    sky = look(tif(tmp_path / "wall.tif", heights, cell), [90.0, 60.0, 270.0], place=eye, refraction_k=1.0)
    assert sky.el_deg[0] == pytest.approx(wanted, abs=0.001)
    assert sky.dist_m[0] == pytest.approx(dist, abs=2.0)
    slant = dist / np.cos(np.radians(30))
    if slant < 9000:
        assert sky.el_deg[1] == pytest.approx(elevation(200.0, slant, 1.0), abs=0.003)
    assert sky.el_deg[2] == pytest.approx(0.0, abs=0.001)


def test_a_cone_stands_as_high_as_its_top_and_a_ridge_at_every_azimuth(tmp_path):
    cell, cells = 5.0, 3200
    x, y = (np.arange(cells) + 0.5 - cells / 2) * cell, (cells / 2 - 0.5 - np.arange(cells)) * cell
    cone = np.maximum(300.0 - 0.25 * np.hypot(x[None] - 3000.0, y[:, None] - 4000.0), 0.0)
    sky = look(tif(tmp_path / "cone.tif", cone, cell), [np.degrees(np.arctan2(3000, 4000)), 220.0], z=10.0)
    assert sky.el_deg[0] == pytest.approx(elevation(290.0, 5000.0 / MAP_SCALE), abs=0.01)
    assert sky.dist_m[0] == pytest.approx(5000.0 / MAP_SCALE, abs=25.0)
    # a ridge along the line north = 3002.5, through centres of cells, whose flanks fall by a third
    ridge = np.maximum(250.0 - np.abs(y - 3002.5)[:, None] / 3.0, 0.0) * np.ones((1, cells))
    azimuth = np.arange(-50.0, 51.0, 10.0)
    sky = look(tif(tmp_path / "ridge.tif", ridge, cell), azimuth, z=10.0)
    away = 3002.5 / MAP_SCALE / np.cos(np.radians(azimuth))
    np.testing.assert_allclose(sky.el_deg, elevation(240.0, away), atol=0.01)


@pytest.mark.parametrize("k", [1.0, RADIO_K])
def test_flat_ground_dips_by_the_curvature_of_the_earth(tmp_path, k):
    """Tangent to a sphere: the dip is sqrt(2 h / (k R)), at the distance sqrt(2 h k R)."""
    heights = np.zeros((2000, 2000), np.float32)
    sky = look(tif(tmp_path / "flat.tif", heights, 20.0), ALL_ROUND, z=8.0, reach=19_000.0, refraction_k=k)
    np.testing.assert_allclose(sky.el_deg, -np.degrees(np.sqrt(2 * 8.0 / (k * RADIUS_M))), atol=0.0005)
    np.testing.assert_allclose(sky.dist_m, np.sqrt(2 * 8.0 * k * RADIUS_M), rtol=0.2)
    assert (sky.ends_m == 19_000.0).all()


@pytest.mark.parametrize("seed, relief, z", [(1, 300.0, 60.0), (2, 800.0, 20.0), (3, 30.0, 40.0)])
def test_what_is_left_out_costs_nothing_on_fractal_ground(tmp_path, seed, relief, z):
    heights = fractal(1500, seed, relief)
    path = tif(tmp_path / "fractal.tif", heights)
    z += float(heights[750, 750])
    sky = look(path, ALL_ROUND, z)
    truth = every_cell(heights, 10.0, ALL_ROUND, z, 7400.0)
    # rays end at the corner of the file or at 9 km; within 7.4 km both see all
    short = look(path, ALL_ROUND, z, reach=7400.0)
    # the reference steps more finely: each may catch the corner of a cell that the other passes by
    missed = np.abs(truth - short.el_deg)
    assert missed.max() < 0.1 and np.quantile(missed, 0.9) < 0.01 and np.median(missed) < 0.001
    assert (sky.el_deg >= short.el_deg - 0.0003).all()


@pytest.mark.parametrize("crs, place, cell", [
    (UTM, lonlat(), 10.0), ("EPSG:4326", (15.0, 65.0), 0.0002), ("EPSG:3857", (15.0, 65.0), 20.0),
    ("EPSG:3413", (15.0, 89.98), 10.0), ("EPSG:4326", (179.99, -17.0), 0.0001)])
def test_blocks_give_the_same_as_reading_every_stretch(tmp_path, monkeypatch, crs, place, cell):
    heights = fractal(1500, 5, 300.0)
    x, y = Transformer.from_crs("EPSG:4326", crs, always_xy=True).transform(*place)
    path = tif(tmp_path / "fractal.tif", heights, cell, x - 750.5 * cell, y + 750.5 * cell, crs)
    z = float(heights[750, 750]) + 10.0
    pruned = look(path, ALL_ROUND, z, place, reach=8000.0)
    assert np.isfinite(pruned.el_deg).all()
    monkeypatch.setattr(relief_module.Relief, "upper", lambda self, size, col, row: np.full(np.shape(col), 1e6))
    complete = look(path, ALL_ROUND, z, place, reach=8000.0)
    np.testing.assert_allclose(pruned.el_deg, complete.el_deg, atol=0.0002)


def test_a_floor_changes_nothing_above_it(tmp_path):
    heights = fractal(1500, 7, 500.0)
    path = tif(tmp_path / "fractal.tif", heights)
    z = float(heights[750, 750]) + 5.0
    free = look(path, ALL_ROUND, z)
    above = free.el_deg > 4.0
    assert 5 < above.sum() < 70
    floored = look(path, ALL_ROUND, z, floor=4.0)
    np.testing.assert_allclose(floored.el_deg[above], free.el_deg[above], atol=0.0003)
    assert (floored.el_deg[~above] <= 4.0 + 0.0003).all()
    np.testing.assert_array_equal(floored.ends_m, free.ends_m)


def test_the_cell_of_the_antenna_hides_nothing_and_its_neighbour_does(tmp_path):
    heights = np.zeros((400, 400), np.float32)
    heights[200, 200] = 50.0
    place = lonlat(EAST + 5.0, NORTH - 5.0)
    path = tif(tmp_path / "own.tif", heights)
    assert look(path, ALL_ROUND, 2.0, place, reach=1500.0).el_deg.max() < 0.0
    heights[200, 201] = 12.0
    sky = look(tif(tmp_path / "next.tif", heights), [90.0, 270.0], 2.0, place, reach=1500.0)
    assert 40.0 < sky.el_deg[0] < 56.0 and sky.dist_m[0] < 12.0 and sky.el_deg[1] < 0.0


def test_web_mercator_at_65_north_is_placed_by_geodesic(tmp_path):
    """A post at 18 km: with one scale for the whole map it would stand 60 m off and 0.19° aside."""
    lon, lat = 15.0, 65.0
    x0, y0 = Transformer.from_crs("EPSG:4326", "EPSG:3857", always_xy=True).transform(lon, lat)
    cell, cells = 20.0, 5000
    heights = np.zeros((cells, cells), np.float32)
    to_map = Transformer.from_crs("EPSG:4326", "EPSG:3857", always_xy=True)
    azimuth, dist = np.array([20.0, 75.0, 160.0, 301.0]), 18_000.0
    for one in azimuth:
        x, y = to_map.transform(*GEOD.fwd(lon, lat, one, dist)[:2])
        heights[int(cells / 2 - (y - y0) / cell), int((x - x0) / cell + cells / 2)] = 400.0
    path = tif(tmp_path / "mercator.tif", heights, cell, x0 - cells / 2 * cell, y0 + cells / 2 * cell, "EPSG:3857")
    sky = look(path, azimuth, 0.0, (lon, lat), reach=20_000.0)
    np.testing.assert_allclose(sky.el_deg, elevation(400.0, dist), atol=0.001)
    np.testing.assert_allclose(sky.dist_m, dist, atol=6.0)
    beside = look(path, azimuth + 0.19, 0.0, (lon, lat), reach=20_000.0)
    assert beside.el_deg.max() < 0.1


def test_a_geographic_model_across_180_degrees_and_one_around_the_world(tmp_path):
    lon, lat = 179.99, -17.0
    cell = 0.0005
    heights = np.zeros((400, 800), np.float32)
    east = GEOD.fwd(lon, lat, 90.0, 5000.0)[:2]
    assert east[0] < -179.0
    turned = east[0] + 360.0
    west, north = lon - 400 * cell, lat + 200 * cell
    heights[int((north - east[1]) / cell), int((turned - west) / cell)] = 150.0
    path = tif(tmp_path / "beyond.tif", heights, cell, west, north, "EPSG:4326")
    sky = look(path, [90.0, 270.0], 0.0, (lon, lat))
    assert sky.el_deg[0] == pytest.approx(elevation(150.0, 5000.0), abs=0.02) and sky.el_deg[1] < 0.0
    world = np.zeros((1800, 3600), np.float32)
    world[int((90 + 17.0) * 10), 4] = 1500.0
    path = tif(tmp_path / "world.tif", world, 0.1, -180.0, 90.0, "EPSG:4326")
    sky = look(path, [90.0, 270.0], 0.0, (179.95, -17.05), reach=60_000.0)
    away = GEOD.inv(179.95, -17.05, -179.55, -17.05)[2]
    assert sky.el_deg[0] == pytest.approx(elevation(1500.0, away), abs=0.005) and sky.el_deg[1] < 0.0
    assert (sky.ends_m == 60_000.0).all()


def test_the_seam_of_the_world_hides_nothing_behind_it(tmp_path):
    """1210 columns are no whole number of blocks: the last one before the seam is a part of one."""
    cell, lat = 360.0 / 1210, 10.0
    for column in (0, 1, 2, 3, 6, 12, 20):
        world = np.zeros((600, 1210), np.float32)
        world[:, column] = 9000.0
        path = tif(tmp_path / f"world{column}.tif", world, cell, -180.0, 90.0, "EPSG:4326")
        for start in (3.5, 11.5, 24.5, 25.5, 26.5, 27.5):
            place = (180.0 - start * cell, lat)
            sky = look(path, [90.0], 0.0, place, reach=1_600_000.0, floor=0.1, refraction_k=100.0)
            away = GEOD.inv(*place, -180.0 + (column + 0.5) * cell, lat)[2]
            assert sky.dist_m[0] == pytest.approx(away, rel=0.05)


def test_near_a_pole_rays_go_on_beyond_it(tmp_path):
    heights = np.zeros((2000, 2000), np.float32)
    heights[1000 + 300:1000 + 302, 995:1005] = 200.0
    path = tif(tmp_path / "polar.tif", heights, 20.0, -20_000.0, 20_000.0, "EPSG:3413")
    lon, lat = Transformer.from_crs("EPSG:3413", "EPSG:4326", always_xy=True).transform(0.0, 2000.0)
    toward = GEOD.inv(lon, lat, *Transformer.from_crs("EPSG:3413", "EPSG:4326", always_xy=True).transform(0.0, -6020.0))
    sky = look(path, [toward[0], toward[0] + 90.0], 0.0, (lon, lat), reach=15_000.0)
    assert sky.el_deg[0] == pytest.approx(elevation(200.0, toward[2]), abs=0.01) and sky.el_deg[1] < 0.0


def test_the_far_model_counts_only_where_the_near_one_has_nothing(tmp_path):
    near = np.zeros((400, 400), np.float32)
    near[:, 380:] = -9999.0
    dem = tif(tmp_path / "near.tif", near, nodata=-9999.0)
    lon, lat = lonlat()
    far = np.zeros((400, 400), np.float32)
    column = np.arange(400)
    dist = (column + 0.5 - 200) * 0.001 * 111_320 * np.cos(np.radians(lat))
    far[:, (dist > 1000) & (dist < 1100)] = 500.0    # under the near model: does not count
    far[:, (dist > 1810) & (dist < 1980)] = 60.0     # in its hole: counts
    wide = tif(tmp_path / "far.tif", far, 0.001, lon - 0.2, lat + 0.2, "EPSG:4326")
    sky = look(dem, [90.0, 270.0], EYE, far=wide)
    assert 1800 < sky.dist_m[0] < 1990 and sky.el_deg[0] == pytest.approx(elevation(58.0, sky.dist_m[0]), abs=0.001)
    assert sky.el_deg[1] < 0.0 and (sky.ends_m == 9000.0).all()
    alone = look(dem, [90.0, 270.0], EYE)
    assert alone.el_deg[0] < 0.0
    np.testing.assert_allclose(alone.ends_m, [1800.0, 2000.0], atol=600.0)
    swapped = look(None, [90.0], EYE, far=wide)
    assert 1000 < swapped.dist_m[0] < 1110


def square(x, y, half, group=0):
    """Make a square ring around map coordinates."""
    return Ring(np.array([[x - half, y - half], [x + half, y - half], [x + half, y + half], [x - half, y + half]]),
                False, group)


def test_barriers_stand_on_the_ground_at_their_nearest_edge(tmp_path):
    rings = [square(EAST + 300.0, NORTH, 20.0), square(EAST - 100.0, NORTH, 5.0, 1),
             square(EAST - 900.0, NORTH, 5.0, 1)]
    barriers = Barriers(PolygonLayer(rings, UTM, "blocks", 2), [15.0, 40.0], base_m=1.0)
    azimuth = [90.0, 270.0, 0.0, 90.0 + np.degrees(np.arctan2(19.9, 280.0)), 93.9]
    sky = look(None, azimuth, 3.0, barriers=barriers)
    dist = np.array([280.0, 95.0]) / MAP_SCALE
    np.testing.assert_allclose(sky.dist_m[:2], dist, rtol=1e-5)
    np.testing.assert_allclose(sky.el_deg[:2], elevation(np.array([13.0, 38.0]), dist), atol=1e-4)
    assert sky.el_deg[2] == -np.inf and np.isnan(sky.dist_m[2]) and (sky.ends_m == 9000.0).all()
    assert sky.dist_m[3] == pytest.approx(np.hypot(280.0, 19.9) / MAP_SCALE, rel=1e-4)
    assert sky.dist_m[4] == pytest.approx(280.0 / MAP_SCALE / np.cos(np.radians(3.9)), rel=1e-4)
    dem = tif(tmp_path / "raised.tif", np.full((200, 200), 30.0))
    on_ground = look(dem, [90.0], 32.0, barriers=barriers)
    assert on_ground.el_deg[0] == pytest.approx(elevation(13.0, dist[0]), abs=1e-4)
    floored = look(dem, [90.0, 0.0], 32.0, barriers=barriers, floor=1.0)
    assert floored.el_deg[0] == on_ground.el_deg[0] and floored.el_deg[1] <= 1.0


def test_an_antenna_on_a_roof_looks_down_over_its_edge():
    barriers = Barriers(PolygonLayer([square(EAST, NORTH, 30.0)], UTM, "roof"), [10.0])
    sky = look(None, [0.0, 45.0], 12.0, barriers=barriers)
    dist = np.array([30.0, 30.0 * np.sqrt(2)]) / MAP_SCALE
    np.testing.assert_allclose(sky.dist_m, dist, rtol=1e-4)
    np.testing.assert_allclose(sky.el_deg, np.degrees(np.arctan(-2.0 / dist)), atol=0.001)


def test_a_barrier_below_the_antenna_is_told_by_its_farther_edge():
    barriers = Barriers(PolygonLayer([square(EAST + 100.0, NORTH, 20.0)], UTM, "low"), [5.0])
    sky = look(None, [90.0], 9.0, barriers=barriers)
    assert sky.dist_m[0] == pytest.approx(120.0 / MAP_SCALE, rel=1e-4)


@pytest.mark.parametrize("heights", [[np.nan], [-1.0], []])
def test_a_barrier_without_a_height_is_refused(heights):
    with pytest.raises(InputError, match="blocks.*missing or negative"):
        Barriers(PolygonLayer([square(EAST, NORTH, 5.0)], UTM, "blocks"), heights)


def test_where_a_model_ends_is_told_by_azimuth(tmp_path):
    heights = np.zeros((600, 600), np.float32)
    path = tif(tmp_path / "small.tif", heights, 10.0, EAST - 1000.0, NORTH + 3000.0)
    sky = look(path, [0.0, 90.0, 180.0, 270.0], 5.0, reach=4000.0)
    np.testing.assert_allclose(sky.ends_m, [3000.0, 4000.0, 3000.0, 1000.0], atol=600.0)
    assert sky.ends_m[1] == 4000.0
    outside = look(path, [0.0, 90.0], 5.0, lonlat(EAST + 80_000.0, NORTH), reach=4000.0)
    assert (outside.el_deg == -np.inf).all() and (outside.ends_m == 0.0).all()
    nowhere = look(path, [0.0, 90.0], 5.0, (np.nan, np.nan), reach=4000.0)
    assert (nowhere.el_deg == -np.inf).all()


def test_overviews_serve_far_off_and_lose_little(tmp_path, monkeypatch):
    heights = fractal(4096, 11, 500.0, 2.0)
    path = tif(tmp_path / "fractal.tif", heights, 5.0, options=["TILED=YES"])
    z = float(heights[2048, 2048]) + 4.0
    truth = look(path, ALL_ROUND, z)
    monkeypatch.setattr(relief_module, "OVERVIEW_FROM_CELLS", 1_000_000)
    # averaging lowers ridges; nearest leaves out cells; neither may cost more than this
    for resampling in ("AVERAGE", "NEAREST"):
        add_overviews(path, [2, 4, 8, 16], resampling)
        terrain = Terrain(Raster(path), None, None, 9000.0, *([v] for v in lonlat()))
        assert terrain.near.is_estimated
        sky = terrain.skyline(0, z, ALL_ROUND)
        assert np.abs(sky.el_deg - truth.el_deg).max() < 0.002


def test_what_stands_within_3_km_is_never_lost_by_an_overview(tmp_path, monkeypatch):
    heights = np.zeros((4096, 4096), np.float32)
    heights[2048 - 500, :] = 40.0
    path = tif(tmp_path / "thin.tif", heights, 5.0, options=["TILED=YES"])
    add_overviews(path, [8])
    monkeypatch.setattr(relief_module, "OVERVIEW_FROM_CELLS", 1_000_000)
    sky = look(path, [0.0, 20.0], 0.0)
    away = 499.5 * 5.0 / MAP_SCALE / np.cos(np.radians([0.0, 20.0]))
    np.testing.assert_allclose(sky.el_deg, elevation(40.0, away), atol=0.003)


def test_many_sites_share_what_is_read_and_each_gets_its_own_skyline(tmp_path):
    heights = fractal(1500, 13, 200.0)
    path = tif(tmp_path / "fractal.tif", heights)
    places = [lonlat(EAST + x, NORTH + y) for x, y in ((-2000.0, 500.0), (0.0, 0.0), (1500.0, -2500.0))]
    terrain = Terrain(Raster(path), None, None, 4000.0, *np.array(places).T)
    reads = []
    read = terrain.near.tiles._read
    terrain.near.tiles._read = lambda tile, slot: reads.append(tile) or read(tile, slot)
    together = [terrain.skyline(site, 120.0, ALL_ROUND) for site in range(3)]
    assert len(reads) == len(set(reads))
    for place, sky in zip(places, together):
        alone = look(path, ALL_ROUND, 120.0, place, reach=4000.0)
        np.testing.assert_allclose(alone.el_deg, sky.el_deg, atol=1e-9)


def test_few_slots_give_the_same_as_many(tmp_path, monkeypatch):
    from stillwater.siting.sight import tiles
    heights = fractal(1500, 17, 200.0)
    path = tif(tmp_path / "fractal.tif", heights)
    many = look(path, ALL_ROUND, 50.0)
    monkeypatch.setattr(tiles, "SLOTS", 2)
    np.testing.assert_array_equal(look(path, ALL_ROUND, 50.0).el_deg, many.el_deg)


def test_nothing_given_and_no_distance_are_refused():
    with pytest.raises(InputError, match="DEM, DEM_FAR or BARRIERS"):
        Terrain(None, lon=[0.0], lat=[0.0])
    barriers = Barriers(PolygonLayer([square(EAST, NORTH, 5.0)], UTM, "blocks"), [1.0])
    with pytest.raises(InputError, match="MAX_DISTANCE"):
        Terrain(None, None, barriers, 0.0, [0.0], [0.0])


def test_progress_rises_and_cancel_stops_the_reading(tmp_path):
    path = tif(tmp_path / "flat.tif", np.zeros((2000, 2000), np.float32), 5.0)
    said = []
    place = {"lon": [lonlat()[0]], "lat": [lonlat()[1]]}
    Terrain(Raster(path), None, None, 5000.0, progress=lambda part, message: said.append((part, message)), **place)
    parts = [part for part, _message in said]
    assert parts == sorted(parts) and parts[0] >= 0.0 and parts[-1] <= 1.0 and len(parts) > 5
    assert "flat.tif" in said[0][1]
    with pytest.raises(Cancelled):
        Terrain(Raster(path), None, None, 5000.0, is_cancelled=lambda: True, **place)
