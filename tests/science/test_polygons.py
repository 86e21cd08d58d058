"""Coverage of polar spots by polygons, against point-in-polygon and areas of shapely (general-purpose library)."""

import numpy as np
import pytest
from stillwater.siting.errors import InputError
from stillwater.siting.geometry.fresnel import first_zone
from stillwater.siting.geometry.localframe import LocalFrame, to_lonlat
from stillwater.siting.ground.polargrid import choose_grid
from stillwater.siting.ground.polygons import PolygonLayer, PolygonSampler, Ring
from stillwater.siting.signals import wavelength_m

geometry = pytest.importorskip("shapely.geometry")
ops = pytest.importorskip("shapely.ops")

UTM, MIDDLE = "EPSG:32633", (500_000.0, 4_980_000.0)
GRID = choose_grid(first_zone(5.0, np.arange(5.0, 21.0), wavelength_m("GPS L1")), 0.0, 72)
REACH = float(GRID.edges_m[-1])
POINT_TOLERANCE = 0.02  # part of the spots whose centre lies so near an edge that half coverage decides
ONE_SPOT_IN = 11  # shapely looks at; all of them would take long
AREA_TOLERANCE = 0.01
COVER_TOLERANCE = 1e-4


def spot_area():
    """Return the area of each spot [m²], shape (n_rings, 1)."""
    return (np.pi * np.diff(GRID.edges_m**2) / GRID.rays)[:, None]


def star(rng, middle, least, most, vertices=40):
    """Make a star-shaped ring around a point, [m] east and north of the site."""
    angle = np.sort(rng.uniform(0.0, 2.0 * np.pi, vertices))
    radius = rng.uniform(least, most, vertices)
    return np.asarray(middle) + np.stack([radius * np.cos(angle), radius * np.sin(angle)], axis=-1)


def holed(rng, middle, size):
    """Make a valid polygon with two holes."""
    outline = geometry.Polygon(star(rng, middle, 0.6 * size, size)).buffer(0)
    holes = [geometry.Polygon(star(rng, np.asarray(middle) + rng.uniform(-0.2, 0.2, 2) * size, 0.05 * size, 0.2 * size))
             for _ in range(2)]
    return outline.difference(ops.unary_union([hole.buffer(0) for hole in holes]))


def parts_of(shape):
    return [part for part in getattr(shape, "geoms", [shape]) if part.geom_type == "Polygon" and part.area > 0]


def rings_of(shape):
    """List (outline, holes, group 0) of a shapely polygon or multipolygon for the fixture."""
    return [(list(part.exterior.coords), [list(hole.coords) for hole in part.interiors], 0)
            for part in parts_of(shape)]


def coverage(layer, lonlat, grid=GRID):
    return PolygonSampler(layer, *lonlat, REACH).coverage(0, grid)


def assert_covers(found, shape):
    """Hold coverage to shapely: spot by spot by its centre, and as a whole by area."""
    from shapely.prepared import prep
    east, north = (np.asarray(part, float) for part in GRID.east_north())
    held = prep(shape)
    some = slice(None, None, ONE_SPOT_IN)
    inside = np.array([held.contains(geometry.Point(x, y)) for x, y in zip(east.ravel()[some], north.ravel()[some])])
    assert np.mean((found.ravel()[some] > 0.5) != inside) < POINT_TOLERANCE
    annulus = geometry.Point(0, 0).buffer(REACH, 256).difference(geometry.Point(0, 0).buffer(GRID.edges_m[0], 256))
    wanted = shape.intersection(annulus).area
    assert float(np.sum(found * spot_area())) == pytest.approx(wanted, abs=AREA_TOLERANCE * annulus.area)


@pytest.mark.parametrize("seed", range(12))
def test_random_polygons_with_holes_cover_what_shapely_says(seed, local_rings, middle_lonlat):
    rng = np.random.default_rng(seed)
    shape = holed(rng, rng.uniform(-0.8, 0.8, 2) * REACH, rng.uniform(0.2, 1.2) * REACH)
    found = coverage(local_rings(*rings_of(shape)), middle_lonlat)
    assert_covers(found.get(0, np.zeros((len(GRID.radius_m), GRID.rays))), shape)


@pytest.mark.parametrize("seed", range(4))
def test_overlapping_polygons_of_one_group_count_once(seed, local_rings, middle_lonlat):
    rng = np.random.default_rng(100 + seed)
    shapes = [holed(rng, rng.uniform(-0.5, 0.5, 2) * REACH, 0.7 * REACH) for _ in range(3)]
    found = coverage(local_rings(*(ring for shape in shapes for ring in rings_of(shape))), middle_lonlat)
    assert_covers(found[0], ops.unary_union(shapes))
    assert found[0].min() >= 0 and found[0].max() <= 1


def test_groups_are_told_apart(local_rings, middle_lonlat):
    east_square = [(20, -20), (60, -20), (60, 20), (20, 20)]
    west_square = [(-60, -20), (-20, -20), (-20, 20), (-60, 20)]
    far_square = [(5000, 0), (5010, 0), (5010, 10)]
    layer = local_rings((east_square, [], 0), (west_square, [], 1), (far_square, [], 2), groups=3, reach=100.0)
    found = coverage(layer, middle_lonlat)
    assert set(found) == {0, 1}, "a polygon that does not come near is left out"
    assert_covers(found[0], geometry.Polygon(east_square))
    assert_covers(found[1], geometry.Polygon(west_square))


@pytest.mark.parametrize("winding", [1, -1])
@pytest.mark.parametrize("closed", [True, False])
def test_winding_and_closure_of_rings_do_not_matter(winding, closed, local_rings, middle_lonlat):
    outline = [(-50, -50), (50, -50), (50, 50), (-50, 50)][::winding]
    hole = [(-20, -20), (-20, 20), (20, 20), (20, -20)][::winding]
    if closed:
        outline, hole = outline + outline[:1], hole + hole[:1]
    found = coverage(local_rings((outline, [hole], 0)), middle_lonlat)
    assert_covers(found[0], geometry.Polygon(outline, [hole]))


BLOCK = np.array([(-30.0, -40.0), (70.0, -40.0), (70.0, 60.0), (-30.0, 60.0)])


@pytest.mark.parametrize("shift", [
    pytest.param((0, 0), id="site inside"),
    pytest.param((200, 0), id="site outside"),
    pytest.param((30, 0), id="site on an edge"),
    pytest.param((30, 40), id="site on a corner"),
    pytest.param((-70, 0), id="site on the opposite edge"),
])
def test_a_site_inside_outside_or_on_an_edge(shift, local_rings, middle_lonlat):
    block = BLOCK + shift
    found = coverage(local_rings((block, [], 0)), middle_lonlat)
    assert_covers(found.get(0, np.zeros((len(GRID.radius_m), GRID.rays))), geometry.Polygon(block))


def test_a_polygon_around_everything_covers_everything(local_rings, middle_lonlat):
    far = 50 * REACH
    found = coverage(local_rings(([(-far, -far), (far, -far), (far, far), (-far, far)], [], 0)), middle_lonlat)
    assert np.all(found[0] == 1)


def test_an_edge_across_a_ring_covers_the_part_of_it_by_area(local_rings, middle_lonlat):
    ring = len(GRID.radius_m) // 2
    low, high = GRID.edges_m[ring], GRID.edges_m[ring + 1]
    # a fine polygon inside the circle that cuts the ring's area in the ratio 1 to 3
    radius = np.sqrt(low**2 + 0.25 * (high**2 - low**2))
    angle = np.linspace(0, 2 * np.pi, 7200, endpoint=False)
    found = coverage(local_rings((radius * np.stack([np.cos(angle), np.sin(angle)], axis=-1), [], 0)), middle_lonlat)
    assert np.abs(found[0][ring] - 0.25).max() < 1e-3
    assert np.all(found[0][:ring] == 1) and np.all(found[0][ring + 1:] == 0)


@pytest.mark.parametrize("crs, lon, lat", [
    ("EPSG:4326", 14.0, 45.0), ("EPSG:4326", -22.0, 65.0), ("EPSG:3857", -22.0, 65.0), ("EPSG:4326", 33.0, -89.0),
    ("EPSG:3031", 33.0, -89.0),
])
def test_polygons_in_other_reference_systems_cover_the_same_ground(crs, lon, lat):
    rng = np.random.default_rng(5)
    shape = holed(rng, (20.0, -10.0), 0.9 * REACH)
    frame = LocalFrame([lon], [lat], crs, 2 * REACH)
    rings = []
    for outline, holes, _group in rings_of(shape):
        for number, ring in enumerate([outline, *holes]):
            rings.append(Ring(np.stack(frame.place(0, *np.asarray(ring).T), axis=-1), number > 0, 0))
    layer = PolygonLayer(rings, crs, "polygons")
    assert_covers(coverage(layer, (np.array([lon]), np.array([lat])))[0], shape)


def along_180(x_west, x_east, crs="EPSG:4326"):
    """Make a box from x_west to x_east [°] and ±0.01° of latitude."""
    return Ring(np.array([(x_west, -0.01), (x_east, -0.01), (x_east, 0.01), (x_west, 0.01)]), False, 0)


@pytest.mark.parametrize("rings", [
    pytest.param([along_180(179.9995, 180.0), along_180(-180.0, -179.9995)], id="split at 180"),
    pytest.param([along_180(179.9995, 180.0005)], id="running on to the east"),
    pytest.param([along_180(-180.0005, -179.9995)], id="running on to the west"),
])
@pytest.mark.parametrize("lon", [179.9999, -179.9999])
def test_a_polygon_across_180_degrees_is_whole(rings, lon):
    layer = PolygonLayer(rings, "EPSG:4326", "strait")
    found = coverage(layer, (np.array([lon]), np.array([0.0])))[0]
    metres = 6_378_137.0 * np.radians(1.0)  # a degree of longitude on the equator, WGS 84 (from memory)
    side = 180.0 if lon > 0 else -180.0
    west, east = (side - 0.0005 - lon) * metres, (side + 0.0005 - lon) * metres
    assert_covers(found, geometry.box(west, -1200.0, east, 1200.0))


def test_a_long_edge_straight_on_the_map_is_followed_where_it_bends_on_the_ground():
    """A parallel at 65° N, 40 km long on the map: at the site it lies where the map says, not on the chord."""
    lon, lat = 10.0, 65.0
    height = 30.0
    grid = choose_grid(first_zone(height, np.array([5.0]), wavelength_m("GPS L1")), 0.0, 72)
    reach = float(grid.edges_m[-1])
    south = lat - 350.0 / 111_500.0
    ring = Ring(np.array([(lon - 0.4, south), (lon + 0.4, south), (lon + 0.4, 66.0), (lon - 0.4, 66.0)]), False, 0)
    layer = PolygonLayer([ring], "EPSG:4326", "coast")
    found = PolygonSampler(layer, [lon], [lat], reach).coverage(0, grid)[0]
    frame = LocalFrame([lon], [lat], "EPSG:4326", reach)
    _x, y = frame.place(0, *grid.east_north())
    assert np.mean((found > 0.5) != (y > south)) < 0.002


def test_a_layer_without_polygons_covers_nothing(middle_lonlat):
    layer = PolygonLayer([], UTM, "empty")
    assert len(layer) == 0 and coverage(layer, middle_lonlat) == {}
    line = PolygonLayer([Ring(np.array([(0.0, 0.0), (1.0, 1.0)]), False, 0)], UTM, "a line of two points")
    assert coverage(line, middle_lonlat) == {}


def test_a_site_without_a_position_is_covered_by_nothing(local_rings):
    layer = local_rings((BLOCK, [], 0))
    assert coverage(layer, (np.array([np.nan]), np.array([np.nan]))) == {}


def test_a_vertex_that_is_no_number_is_refused_by_the_layers_name():
    with pytest.raises(InputError, match="Layer “harbour” has a vertex without finite coordinates"):
        PolygonLayer([Ring(np.array([(0, 0), (1, np.nan), (1, 1)]), False, 0)], UTM, "harbour")


def test_many_sites_share_one_layer(local_rings):
    layer = local_rings((BLOCK, [], 0))
    x = MIDDLE[0] + np.array([0.0, 300.0, 5000.0])
    lonlat = to_lonlat(x, np.full(3, MIDDLE[1]), UTM)
    sampler = PolygonSampler(layer, *lonlat, REACH)
    assert set(sampler.coverage(0, GRID)) == {0}
    assert sampler.coverage(2, GRID) == {}
    alone = PolygonSampler(layer, lonlat[0][:1], lonlat[1][:1], REACH).coverage(0, GRID)[0]
    assert np.abs(sampler.coverage(0, GRID)[0] - alone).max() < COVER_TOLERANCE
