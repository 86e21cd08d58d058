"""Planes of the ground in footprints: against numpy's least squares on the cells inside each polygon."""

import numpy as np
import pytest
from matplotlib.path import Path
from stillwater.siting.geometry.fresnel import first_zone
from stillwater.siting.ground.kernels import KernelCache, shares
from stillwater.siting.ground.planefit import GroundCells, PlaneFit, cells_around
from stillwater.siting.ground.planes import ground_planes
from stillwater.siting.ground.polargrid import choose_grid
from stillwater.siting.ground.rastersampling import RasterSampler
from stillwater.siting.ground.tiltedzone import tilted_zone
from stillwater.siting.signals import wavelength_m

L1 = wavelength_m("GPS L1")
ANGLES = np.array([5.0, 8.0, 12.0, 18.0, 25.0])
AZIMUTHS = (np.arange(24) + 0.5) * 15.0
TILT_DEG, ROUGH_PART, ROUGH_M = 0.1, 0.05, 0.01  # how near the tilt and the residual have to be
SAME = 1e-6  # where the very same cells are summed: rounding in double precision
SHARE_TOLERANCE = 0.01
VERTICES = 1440


def rough_tilted(rng, cells, cell, slopes, rough_m):
    """Make a tilted plane with patches of many sizes and with noise from cell to cell, half each."""
    place = (np.arange(cells) + 0.5 - cells / 2.0) * cell
    z = np.add.outer(-place * slopes[1], place * slopes[0])
    waves = np.zeros_like(z)
    for size in np.geomspace(3.0 * cell, 40.0, 14):
        heading, turn, other = rng.uniform(0.0, 2.0 * np.pi, 3)
        k = 2.0 * np.pi / size
        waves += np.add.outer(np.sin(k * place * np.cos(heading) + turn),
                              np.sin(k * place * np.sin(heading) + other))
    return z + rough_m * np.sqrt(0.5) * (waves / waves.std() + rng.normal(size=z.shape))


def cells_of(z, valid=None, cell=1.0, off=(0.0, 0.0), turn_deg=0.0, reach=np.inf):
    """Lay cells around a site: its place is `off` cells from the array's middle, its north turned."""
    c, s = np.cos(np.radians(turn_deg)) / cell, np.sin(np.radians(turn_deg)) / cell
    k = np.zeros((2, 6))
    k[:, 0] = z.shape[1] / 2.0 + off[0], z.shape[0] / 2.0 + off[1]
    k[:, 1:3] = [[c, -s], [-s, -c]]
    return GroundCells(z, np.ones(z.shape, bool) if valid is None else valid, k, reach)


def centres(cells):
    """Return east and north of all cell centres [m], each of the cells' shape."""
    row, column = np.indices(cells.values.shape) + 0.5
    k = cells.to_cell
    return np.linalg.solve(k[:, 1:3], np.stack([column.ravel() - k[0, 0], row.ravel() - k[1, 0]])).reshape(
        2, *cells.values.shape)


def by_lstsq(cells, ring):
    """Fit a plane to the cells with data whose centres lie in a polygon: slopes, height at the foot, rms, count."""
    east, north = centres(cells)
    low, high = ring.min(axis=0), ring.max(axis=0)
    inside = cells.valid & (east >= low[0]) & (east <= high[0]) & (north >= low[1]) & (north <= high[1])
    inside[inside] = Path(ring).contains_points(np.stack([east[inside], north[inside]], axis=-1))
    z = cells.values[inside].astype(float)
    design = np.stack([east[inside], north[inside], np.ones(len(z))], axis=-1)
    if len(z) < 3:
        return (np.nan, np.nan, np.nan, np.nan, len(z))
    found, *_ = np.linalg.lstsq(design, z, rcond=None)
    return (*found, np.sqrt(np.mean((z - design @ found) ** 2)), len(z))


def compare(cells, zones, planes):
    """Hold all planes to numpy's; return how many there were, and the greatest misses of tilt and residual."""
    rings, number, worst = zones.outline(VERTICES), 0, np.zeros(2)
    for place in np.ndindex(*planes.cells.shape):
        east, north, _foot, rough, count = by_lstsq(cells, rings[place])
        assert abs(planes.cells[place] - count) <= 1 + 0.002 * count, "a centre on the very outline at most"
        if not planes.is_found[place]:
            continue
        tilt = np.degrees(np.arctan(np.hypot(east, north)))
        miss = abs(planes.tilt_deg[place] - tilt), abs(planes.rough_m[place] - rough)
        assert miss[0] < TILT_DEG
        assert miss[1] < max(ROUGH_PART * rough, ROUGH_M)
        number, worst = number + 1, np.maximum(worst, miss)
    return number, worst


@pytest.mark.parametrize("cell", [0.5, 1.0, 2.0])
@pytest.mark.parametrize("height, seed", [(2.0, 1), (5.0, 2), (10.0, 3)])
def test_tilt_and_roughness_are_those_of_the_cells_inside_the_polygon(cell, height, seed):
    rng = np.random.default_rng(seed)
    slopes, rough = rng.uniform(-0.12, 0.12, 2), rng.uniform(0.03, 0.4)
    zones = tilted_zone(height, 0.0, 0.0, AZIMUTHS, ANGLES[:, None], L1)
    size = 2 * int(zones.far_m.max() / cell + 3)
    cells = cells_of(rough_tilted(rng, size, cell, slopes, rough), cell=cell, off=rng.uniform(-0.5, 0.5, 2),
                     turn_deg=rng.uniform(-3.0, 3.0))
    planes = PlaneFit(cells).fit(zones)
    number, _worst = compare(cells, zones, planes)
    assert number == np.sum(planes.is_found) > 40


def test_the_sums_are_those_of_the_same_cells_to_rounding():
    """Where no centre lies on an outline the cells are the same, and so is everything that follows from them."""
    rng = np.random.default_rng(12)
    cells = cells_of(400.0 + rough_tilted(rng, 260, 1.0, (0.08, -0.3), 0.1), turn_deg=30.0, off=(0.21, 0.13))
    zones = tilted_zone(5.0, 0.05, 0.02, AZIMUTHS, ANGLES[:, None], L1)
    planes, same = PlaneFit(cells).fit(zones), 0
    for place in np.ndindex(*planes.cells.shape):
        east, north, foot, rough, count = by_lstsq(cells, zones.outline(VERTICES)[place])
        if count == planes.cells[place] and planes.is_found[place]:
            same += 1
            got = [planes.slope_east[place], planes.slope_north[place], planes.foot_m[place], planes.rough_m[place]]
            assert got == pytest.approx([east, north, foot, rough], abs=SAME)
    assert same > 80


def test_a_plane_is_found_as_it_is_and_falls_where_it_falls():
    east, north = centres(cells_of(np.zeros((300, 300))))
    zones = tilted_zone(5.0, 0.0, 0.0, AZIMUTHS, ANGLES[:, None], L1)
    for tilt, downhill in ((3.0, 0.0), (10.0, 90.0), (7.0, 215.0)):
        fall, azimuth = np.tan(np.radians(tilt)), np.radians(downhill)
        planes = PlaneFit(cells_of(1500.0 - fall * (east * np.sin(azimuth) + north * np.cos(azimuth)))).fit(zones)
        found = planes.is_found
        assert found.mean() > 0.75
        assert planes.tilt_deg[found] == pytest.approx(tilt, abs=SAME)
        assert np.cos(np.radians(planes.downhill_deg[found] - downhill)) == pytest.approx(1.0, abs=SAME)
        assert planes.foot_m[found] == pytest.approx(1500.0, abs=SAME)
        assert planes.rough_m[found] == pytest.approx(0.0, abs=1e-5)
    level = PlaneFit(cells_of(np.full((300, 300), 7.0, np.float32))).fit(zones)
    assert np.all(level.tilt_deg[level.is_found] == 0) and np.all(np.isnan(level.downhill_deg))


def test_cells_without_data_do_not_count():
    rng = np.random.default_rng(5)
    z = rough_tilted(rng, 300, 1.0, (0.05, 0.02), 0.1).astype(np.float32)
    valid = np.ones(z.shape, bool)
    valid[100:140, 60:180] = False
    valid &= rng.random(z.shape) > 0.1
    z[~valid] = np.where(rng.random(np.sum(~valid)) > 0.5, -9999.0, np.nan)
    zones = tilted_zone(6.0, 0.0, 0.0, AZIMUTHS, ANGLES[:, None], L1)
    planes = PlaneFit(cells_of(z, valid)).fit(zones)
    number, _worst = compare(cells_of(z, valid), zones, planes)
    full = PlaneFit(cells_of(np.nan_to_num(z))).fit(zones)
    assert 30 < number < np.sum(full.is_found)


def test_too_few_cells_give_nothing_never_zero():
    zones = tilted_zone(2.0, 0.0, 0.0, AZIMUTHS, 25.0, L1)  # 7 m²
    for cell, is_found in ((0.5, True), (2.0, False), (10.0, False)):
        planes = PlaneFit(cells_of(np.zeros((200, 200)), cell=cell)).fit(zones)
        assert np.all(planes.is_found == is_found)
        assert np.all(np.isnan(planes.tilt_deg) != is_found) and np.all(np.isnan(planes.rough_m) != is_found)
    five = np.zeros((200, 200), bool)
    five[87:90, 99:101] = True
    north = tilted_zone(5.0, 0.0, 0.0, 0.0, 25.0, L1)
    assert PlaneFit(cells_of(np.zeros((200, 200)), five)).fit(north).cells == 6
    assert PlaneFit(cells_of(np.zeros((200, 200)), five)).fit(north).is_found
    five[89, 100] = False
    assert not PlaneFit(cells_of(np.zeros((200, 200)), five)).fit(north).is_found


@pytest.mark.parametrize("line", ["row", "column", "diagonal"])
def test_cells_on_one_line_define_no_plane(line):
    valid = np.zeros((400, 400), bool)
    row = np.arange(400)
    valid[{"row": (104, row), "column": (row, 200), "diagonal": (row, 304 - row)}[line]] = True
    z = np.random.default_rng(0).normal(size=(400, 400))
    planes = PlaneFit(cells_of(z, valid)).fit(tilted_zone(20.0, 0.0, 0.0, 0.0, 12.0, L1))
    assert planes.cells >= 6
    assert not planes.is_found


def test_a_raster_that_ends_or_lies_elsewhere_gives_nothing_there(write_raster, middle_lonlat):
    raster = write_raster(np.zeros((60, 60), np.float32))
    sampler = RasterSampler(raster, *middle_lonlat, 200.0)
    planes = PlaneFit(cells_around(sampler, 0, 200.0)).fit(tilted_zone(5.0, 0.0, 0.0, AZIMUTHS, ANGLES[:, None], L1))
    assert planes.is_found[3].all() and planes.data_share[3] == pytest.approx(1.0, abs=0.2)
    assert not planes.is_found[0].all() and np.all(planes.data_share[0] < 0.3)
    away = RasterSampler(raster, middle_lonlat[0] + 1.0, middle_lonlat[1], 200.0)
    for one in (away, RasterSampler(raster, np.array([np.nan]), np.array([np.nan]), 200.0)):
        empty = PlaneFit(cells_around(one, 0, 200.0)).fit(tilted_zone(5.0, 0.0, 0.0, AZIMUTHS, 10.0, L1))
        assert not empty.is_found.any() and not empty.cells.any()


@pytest.mark.parametrize("crs, cell", [("EPSG:32633", 1.0), ("EPSG:4326", 1e-5), ("EPSG:3857", 1.5)])
@pytest.mark.parametrize("most", [10**7, 4000])
def test_true_metres_and_true_north_whatever_the_rasters_crs(write_raster, middle_lonlat, crs, cell, most):
    """A plane in true metres comes back with its own slopes, thinned or not."""
    from stillwater.siting.geometry.localframe import LocalFrame, from_lonlat
    x, y = (float(v[0]) for v in from_lonlat(*middle_lonlat, crs))
    rows, columns = np.indices((401, 403)) + 0.5
    corner = (x - 201.3 * cell, y + 199.8 * cell)
    frame = LocalFrame(*middle_lonlat, crs, 200.0)
    east, north = np.moveaxis(frame.locate(0, corner[0] + columns * cell, corner[1] - rows * cell), -1, 0)
    raster = write_raster((100.0 + 0.04 * east - 0.07 * north), cell=cell, corner=corner, crs=crs)
    sampler = RasterSampler(raster, *middle_lonlat, 140.0)
    cells = cells_around(sampler, 0, 140.0, most)
    assert cells.values.size <= most
    planes = PlaneFit(cells).fit(tilted_zone(5.0, 0.0, 0.0, AZIMUTHS, ANGLES[:3, None], L1))
    assert planes.is_found[0].all()
    found = planes.is_found
    assert planes.slope_east[found] == pytest.approx(0.04, abs=1e-5)
    assert planes.slope_north[found] == pytest.approx(-0.07, abs=1e-5)
    assert planes.foot_m[found] == pytest.approx(100.0, abs=1e-3)


def test_a_raster_that_counts_longitudes_to_360_is_found(write_raster):
    z = np.tile(np.arange(400) * 0.01, (400, 1))
    raster = write_raster(z, cell=1e-5, corner=(338.0 - 200e-5, 45.0 + 200e-5), crs="EPSG:4326")
    sampler = RasterSampler(raster, np.array([-22.0]), np.array([45.0]), 140.0)
    assert cells_around(sampler, 0, 100.0).to_cell[0, 0] == pytest.approx(
        sampler.pixels(0, np.zeros(1), np.zeros(1))[0][0] - cells_around(sampler, 0, 100.0).values[0, 0] / 0.01, abs=1)


# fit, move, fit once more

def ground_of(slopes, cell=1.0, size=900, rough=0.0, level=20.0):
    """Give the cells of a plane through the site's foot, as `ground_planes` asks for them."""
    rng = np.random.default_rng(8)
    z = level + rough_tilted(rng, size, cell, slopes, rough)

    def within(reach_m, most=10**7):
        return cells_of(z, cell=cell, off=(0.3, -0.2))._replace(reach_m=reach_m)
    # the site lies beside the array's middle: what the plane is there
    return within, level + 0.3 * cell * slopes[0] + 0.2 * cell * slopes[1]


@pytest.mark.parametrize("downhill", [0.0, 130.0, 270.0])
def test_a_tilted_plane_moves_its_footprints_to_where_it_reflects(downhill):
    azimuth, fall = np.radians(downhill), np.tan(np.radians(5.0))
    slopes = -fall * np.sin(azimuth), -fall * np.cos(azimuth)
    within, foot = ground_of(slopes)
    found = ground_planes([5.0, 4.0], [6.0, 10.0, 20.0], 36, L1, within, foot)
    bins = (np.arange(36) + 0.5) * 10.0
    wanted = tilted_zone(np.array([5.0, 4.0])[:, None, None], *slopes, bins, np.array([6.0, 10.0, 20.0])[:, None], L1)
    assert found.tilt_deg.shape == found.rough_m.shape == found.is_lit.shape == (2, 3, 36)
    assert found.is_moved.mean() > 0.8
    for name in ("centre_m", "major_m", "minor_m", "reflection_m", "elevation_deg"):
        got, told = (getattr(z, name)[found.is_moved] for z in (found.zones, wanted))
        assert got == pytest.approx(told, rel=1e-6, abs=1e-5)
    assert found.tilt_deg[found.planes.is_found] == pytest.approx(5.0, abs=1e-6)
    # uphill at 6° and 10° the plane of 5° lies 1° and 5° below the satellite: as far away as it gets
    uphill = int((downhill + 180.0) % 360.0 // 10)
    assert found.far_m[0, 1, uphill] > 1.5 * first_zone(5.0, 10.0, L1).far_m
    assert not found.is_moved[0, 0, uphill] and found.is_lit[0, 0, uphill], "beyond reach it stays, and says so"
    assert found.is_beyond[0, 0, uphill] and not (found.is_beyond & found.is_moved).any()


def test_the_second_fit_is_that_of_the_cells_in_the_moved_polygon():
    within, foot = ground_of((0.05, -0.03), cell=0.5, rough=0.15)
    found = ground_planes([4.0], ANGLES, 24, L1, within, foot)
    assert found.is_moved.mean() > 0.9
    number, _worst = compare(within(0.0), found.zones, found.planes)
    assert number > 100


def test_ground_that_is_turned_away_or_above_the_antenna_reflects_nothing():
    north = np.tan(np.radians(8.0))
    within, foot = ground_of((0.0, north))
    found = ground_planes([5.0], [5.0, 12.0], 8, L1, within, foot)
    assert list(found.is_lit[0, 0]) == [False] + [True] * 6 + [False], "rising by 8° where the satellite is 5° high"
    assert found.is_lit[0, 1].all()
    level = first_zone(5.0, 5.0, L1)
    assert found.far_m[0, 0, 0] == pytest.approx(float(level.far_m)) and not found.is_moved[0, 0, 0]
    assert found.tilt_deg[0, 0, 0] == pytest.approx(8.0, abs=1e-6)
    # a mast in a pit 6 m below the plane around it
    pit = ground_planes([5.0], [5.0, 12.0], 8, L1, ground_of((0.0, 0.0))[0], 14.0)
    assert not pit.is_lit.any() and not pit.is_moved.any() and np.all(pit.tilt_deg < 1e-6)


def test_the_height_over_the_plane_counts_not_that_over_the_foot():
    """A mast on a knoll of 3 m in level country stands 8 m over what reflects."""
    within, foot = ground_of((0.0, 0.0))
    found = ground_planes([5.0], ANGLES, 24, L1, within, foot + 3.0)
    high = first_zone(8.0, ANGLES, L1)
    assert found.is_moved[0, :3].all()
    assert found.far_m[0, :3] == pytest.approx(np.repeat(high.far_m[:3, None], 24, axis=1), rel=1e-6)


def test_where_nothing_is_known_footprints_stay_and_have_no_tilt():
    empty = GroundCells(np.zeros((0, 0)), np.zeros((0, 0), bool), np.zeros((2, 6)), 1000.0)
    holes = cells_of(np.full((300, 300), np.nan), np.zeros((300, 300), bool))
    for cells in (empty, holes):
        found = ground_planes([5.0], ANGLES, 24, L1, lambda *_, cells=cells: cells, 0.0)
        assert np.all(np.isnan(found.tilt_deg)) and np.all(np.isnan(found.rough_m))
        assert found.is_lit.all() and not found.is_moved.any()
        assert found.far_m[0, :, 0] == pytest.approx(first_zone(5.0, ANGLES, L1).far_m)


# shares of the moved footprints

def patches(grid, size, seed):
    east, north = (part.astype(float) for part in grid.east_north())
    rng = np.random.default_rng(seed)
    waves = [np.sin((east * np.sin(h) + north * np.cos(h)) * 2 * np.pi / (size * s) + p)
             for h, s, p in zip(*rng.uniform([[0], [0.5], [0]], [[6.3], [2], [6.3]], (3, 12)))]
    return (np.sum(waves, axis=0) > 0).astype(np.float32)


@pytest.mark.parametrize("heights", [[2.0], [5.0, 4.2], [10.0]])
def test_level_ground_gives_the_shares_of_level_ground(heights):
    kernels = KernelCache(ANGLES, L1, 72).get(heights, 1.0)
    within, foot = ground_of((0.0, 0.0))
    spots = ground_planes(heights, ANGLES, 72, L1, within, foot).spots_on(kernels.grid)
    for seed in range(3):
        layer = patches(kernels.grid, 8.0 * heights[0], seed)
        wanted = shares(kernels, layer[None])[0].reshape(len(heights), len(ANGLES), 72)
        got = spots.share_of(layer)
        assert wanted.std() > 0.1, "a layer without contrast would agree with anything"
        assert np.abs(got - wanted).mean() < SHARE_TOLERANCE / 3
        assert np.abs(got - wanted).max() < SHARE_TOLERANCE
    assert np.all(spots.share_of(np.ones_like(layer)) > 1 - 1e-4), "no point of a level footprint is off the grid"


def test_moved_footprints_average_what_lies_where_they_are():
    within, foot = ground_of((0.0, -np.tan(np.radians(3.0))))
    found = ground_planes([5.0], [10.0, 20.0], 36, L1, within, foot)
    grid = choose_grid(found.zones_to_cover(), 0.5, 36, refine=3.0)
    spots = found.spots_on(grid)
    assert np.all(spots.share_of(np.ones((len(grid.edges_m) - 1, grid.rays))) > 0.999)
    east, north = (part.astype(float) for part in grid.east_north())
    for line in (15.0, 25.0, -12.0):
        got = spots.share_of(north > line)
        # beyond a straight line lies a circular segment of the unit disc (derived)
        zones = found.zones
        t = (line - zones.centre_m[..., 1]) / np.hypot(zones.major_m[..., 1], zones.minor_m[..., 1])
        t = np.clip(t, -1.0, 1.0)
        assert got == pytest.approx((np.arccos(t) - t * np.sqrt(1 - t**2)) / np.pi, abs=2 * SHARE_TOLERANCE)


def test_layers_by_level_and_angle_go_to_their_own_footprints():
    within, foot = ground_of((0.02, 0.0))
    found = ground_planes([5.0, 4.0], ANGLES, 12, L1, within, foot)
    grid = choose_grid(found.zones_to_cover(), 1.0, 12)
    spots, rng = found.spots_on(grid), np.random.default_rng(2)
    layers = rng.random((2, len(ANGLES), len(grid.edges_m) - 1, grid.rays), np.float32)
    whole = spots.share_of(layers)
    assert whole.shape == (2, len(ANGLES), 12)
    assert whole[1, 3] == pytest.approx(spots.share_of(layers[1, 3])[1, 3], abs=1e-6)
    assert spots.share_of(layers[:, :1])[1, 2] == pytest.approx(spots.share_of(layers[1, 0])[1, 2], abs=1e-6)


def test_spots_beyond_the_grid_count_as_nothing():
    within, foot = ground_of((0.0, 0.0))
    found = ground_planes([5.0], ANGLES, 12, L1, within, foot)
    small = choose_grid(first_zone(3.0, ANGLES, L1), 1.0, 12)
    covered = found.spots_on(small).share_of(np.ones((len(small.edges_m) - 1, small.rays)))
    assert np.all(covered[0, 0] < 0.9) and np.all(covered[0, 3] > 0.9)


@pytest.mark.parametrize("most", [10**7, 400_000])
def test_a_wide_read_serves_the_footprints_that_moved_out(most, write_raster, middle_lonlat):
    """Footprints beyond those of level ground ask for more cells; thinned, the ground is found all the same."""
    size = 1400
    z = rough_tilted(np.random.default_rng(3), size, 0.5, (0.0, np.tan(np.radians(2.5))), 0.1)
    raster = write_raster(z.astype(np.float32), cell=0.5)
    sampler, asked = RasterSampler(raster, *middle_lonlat, 300.0), []

    def within(reach_m):
        asked.append(reach_m)
        return cells_around(sampler, 0, reach_m, most)
    found = ground_planes([5.0], [5.0, 10.0], 24, L1, within, 0.0)
    assert len(asked) == 2 and asked[1] > asked[0]
    beyond = found.far_m > asked[0]
    assert beyond.any() and found.planes.is_found[beyond].all()
    whole = PlaneFit(cells_around(sampler, 0, found.far_m.max(), 10**8)).fit(found.zones.at(beyond))
    assert found.tilt_deg[beyond] == pytest.approx(whole.tilt_deg, abs=TILT_DEG if most > 10**6 else 5 * TILT_DEG)
    assert found.rough_m[beyond] == pytest.approx(whole.rough_m, abs=ROUGH_M)
    assert np.all(found.planes.data_share[beyond] > 0.9)
    assert np.all(whole.cells >= (1.0 if most > 10**6 else 3.0) * found.planes.cells[beyond])
