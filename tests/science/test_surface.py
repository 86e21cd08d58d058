"""What a spot is worth, on layers of four by four fields that a person can check: drawn as text, read off as text.

What the words mean is this project's own definition (target, unknown, usable); no source outside it.
"""

import numpy as np
import pytest
from stillwater.siting.assess import assess
from stillwater.siting.errors import InputError
from stillwater.siting.geometry.fresnel import first_zone
from stillwater.siting.ground.classes import parse_classes
from stillwater.siting.ground.polargrid import choose_grid
from stillwater.siting.ground.surface import FLAT_TOLERANCE_M, SurfaceSampler
from stillwater.siting.ground.surfacelayers import SurfaceLayers
from stillwater.siting.settings import Settings
from stillwater.siting.signals import wavelength_m

L1 = wavelength_m("GPS L1")
ANGLES = tuple(float(a) for a in range(5, 21))
GRID = choose_grid(first_zone(5.0, np.array(ANGLES), L1), 1.0, 72)  # from 9 to 102 m, so all fields are seen
FIELD_M, FIELDS = 40.0, 4
MARGIN_M = 3.0  # from a field's edge, where spots may lie across it
SAME = 1e-6
WATER, LAND, HOLE = 80, 20, 255
BED = -3.0


def drawn(text, **meaning):
    """Turn four rows of four letters, north up, into an array of cells of 1 m."""
    fields = np.array([[meaning[letter] for letter in row] for row in text.split()])
    assert fields.shape == (FIELDS, FIELDS)
    return np.kron(fields, np.ones((int(FIELD_M), int(FIELD_M)), fields.dtype))


def fields(*places):
    """Make a square polygon of group 0 for each (row, column) from the north-west, [m] around the site."""
    half = FIELDS * FIELD_M / 2.0
    made = []
    for row, col in places:
        west, north = col * FIELD_M - half, half - row * FIELD_M
        made.append(([(west, north - FIELD_M), (west + FIELD_M, north - FIELD_M),
                      (west + FIELD_M, north), (west, north)], [], 0))
    return made


WEST_HALF = fields(*((row, col) for row in range(4) for col in (0, 1)))


def read_off(layer):
    """Return the value of each field, shape (4, 4), after checking that it is one all over the field."""
    east, north = GRID.east_north()
    half, result = FIELDS * FIELD_M / 2.0, np.full((FIELDS, FIELDS), np.nan)
    for row in range(FIELDS):
        for col in range(FIELDS):
            inside = np.abs(east - (col + 0.5) * FIELD_M + half) < FIELD_M / 2.0 - MARGIN_M
            inside &= np.abs(north + (row + 0.5) * FIELD_M - half) < FIELD_M / 2.0 - MARGIN_M
            assert np.count_nonzero(inside) > 20
            assert np.ptp(layer[inside]) < SAME
            result[row, col] = layer[inside][0]
    return result


def picture(spots):
    """Draw a field as W where it is target, ? where unknown, else as a point."""
    letters = np.where(read_off(spots.target) == 1, "W", np.where(read_off(spots.unknown) == 1, "?", "."))
    # a field that is neither wholly one nor the other would be drawn as a point: that is no answer
    assert set(np.unique(np.concatenate([read_off(spots.target), read_off(spots.unknown)]))) <= {0.0, 1.0}
    return " ".join("".join(row) for row in letters)


@pytest.fixture
def surface(middle_lonlat):
    """Give a function that samples layers around the site."""
    def make(zero_level=0.0, **layers):
        return SurfaceSampler(SurfaceLayers(**layers), *middle_lonlat, GRID.edges_m[-1]).surface(0, GRID, zero_level)
    return make


@pytest.fixture
def cover(array_raster):
    """Give a function that draws land cover, with its target class."""
    def make(text):
        cells = drawn(text, W=WATER, L=LAND, o=HOLE).astype(np.uint8)
        return {"landcover": array_raster(cells, nodata=HOLE, name="cover"), "classes": parse_classes(str(WATER))}
    return make


@pytest.fixture
def ground(array_raster):
    """Give a function that draws an elevation model; its letters are given as heights [m]."""
    def make(text, **heights):
        return array_raster(drawn(text, o=-9999.0, **heights).astype(np.float32), nodata=-9999.0, name="dem")
    return make


def test_land_cover_alone_decides_by_its_classes(surface, cover):
    spots = surface(**cover("WWLL WLLL LLLW WWWW")).at_level(0.0)
    assert picture(spots) == "WW.. W... ...W WWWW"


def test_a_spot_is_target_only_where_every_layer_says_so(surface, cover, ground, local_rings):
    layers = dict(water=local_rings(*WEST_HALF), dem=ground("bbbb bbbb tttt tttt", b=BED, t=2.0), dem_is_bed=True)
    spots = surface(**cover("WLWW LWWW WWWW WWWW"), **layers).at_level(0.0)
    assert picture(spots) == "W... .W.. .... ...."


def test_where_no_layer_covers_a_spot_it_is_unknown_and_not_target(surface, cover):
    spots = surface(**cover("WWoo WLoo WWWW oooo")).at_level(0.0)
    assert picture(spots) == "WW?? W.?? WWWW ????"
    assert np.all(read_off(spots.usable)[3] == 0)


def test_a_hole_in_the_land_cover_is_covered_by_polygons(surface, cover, local_rings):
    spots = surface(**cover("oooo WWWW LLLL oooo"), water=local_rings(*WEST_HALF)).at_level(0.0)
    assert picture(spots) == "WW.. WW.. .... WW.."


def test_a_hole_in_the_land_cover_is_covered_by_a_bed_and_the_other_way_round(surface, cover, ground):
    dem = ground("bbto bbto bbto bbto", b=BED, t=2.0)
    spots = surface(**cover("oooo WWWW LLLL oWoW"), dem=dem, dem_is_bed=True).at_level(0.0)
    assert picture(spots) == "WW.? WW.W .... WW.W"


def test_polygons_of_land_leave_the_rest_as_water(surface, local_rings):
    land = local_rings(*fields((0, 0), (1, 0), (1, 1)))
    assert picture(surface(water=land).at_level(0.0)) == "W... WW.. .... ...."
    assert picture(surface(water=land, water_is_land=True).at_level(0.0)) == ".WWW ..WW WWWW WWWW"


def test_polygons_that_do_not_come_near_say_so_too(surface, local_rings):
    far = local_rings(([(900, 900), (950, 900), (950, 950)], [], 0))
    assert picture(surface(water=far).at_level(0.0)) == ".... .... .... ...."
    assert picture(surface(water=far, water_is_land=True).at_level(0.0)) == "WWWW WWWW WWWW WWWW"


def test_a_dem_of_the_water_surface_never_overrules_other_layers(surface, cover, ground, local_rings):
    dem = ground("tttt tttt oooo bbbb", t=40.0, b=BED)
    told = surface(**cover("WWLL WWLL WWLL WWLL"), dem=dem, dem_is_bed=False)
    assert not told.varies_with_level
    assert picture(told.at_level(0.0)) == "WW.. WW.. WW.. WW.."
    assert picture(surface(water=local_rings(*WEST_HALF), dem=dem).at_level(0.0)) == "WW.. WW.. WW.. WW.."


def test_in_a_hole_of_the_land_cover_a_dem_of_the_water_surface_tells_where_water_goes_on(surface, cover, ground):
    """Flat and joined to water: water. High: land. Low behind a bank: no water reaches it."""
    dem = ground("wtwo wtto wwtl wwto", w=0.0, t=5.0, l=0.0)
    spots = surface(**cover("oooo WWLL WWLo LLLo"), dem=dem).at_level(0.0)
    assert picture(spots) == "W..? WW.. WW.. ...?"


def test_a_bed_is_target_only_where_it_lies_below_the_level(surface, ground, cover):
    dem = ground("abcd abcd abcd abcd", a=-2.0, b=-0.6, c=0.4, d=3.0)
    told = surface(**cover("WWWW WWWW WWWW LLLL"), dem=dem, dem_is_bed=True)
    assert told.varies_with_level
    assert picture(told.at_level(-1.0)) == "W... W... W... ...."
    assert picture(told.at_level(0.0)) == "WW.. WW.. WW.. ...."
    assert picture(told.at_level(1.0)) == "WWW. WWW. WWW. ...."


def test_with_a_flattened_dem_alone_the_flat_is_the_water(surface, ground):
    flat = 12.0
    dem = ground("wwnh wwnh wwnh ooll", w=flat, n=flat + 0.9 * FLAT_TOLERANCE_M, h=flat + 1.5 * FLAT_TOLERANCE_M,
                 l=30.0)
    assert picture(surface(flat, dem=dem).at_level(flat)) == "WWW. WWW. WWW. ??.."


@pytest.mark.parametrize("is_open, wanted", [(False, 0.0), (True, 1.0)])
def test_low_ground_behind_a_bank_is_water_only_where_the_bank_is_open(is_open, wanted, surface, array_raster):
    """A basin 20 m across, east of the site; the water comes from beyond the fields."""
    cells = np.full((240, 240), 2.0, np.float32)
    cells[:40] = cells[-40:] = cells[:, :40] = cells[:, -40:] = BED
    cells[110:130, 140:160] = BED
    if is_open:
        cells[115:125, 160:] = BED
    target = surface(dem=array_raster(cells), dem_is_bed=True).at_level(0.0).target
    east, north = GRID.east_north()
    assert np.all(target[np.hypot(east - 30.0, north) < 8.0] == wanted)
    assert np.all(target[np.maximum(np.abs(east), np.abs(north)) > 82.0] == 1)
    assert np.all(target[np.hypot(east + 40.0, north) < 30.0] == 0)


@pytest.mark.parametrize("is_bed", [False, True])
def test_for_snow_and_soil_a_dem_alone_is_target_wherever_it_has_data(is_bed, surface, ground):
    dem = ground("abab oaob abab bboo", a=120.0, b=-4.0)
    told = surface(120.0, dem=dem, is_water=False, dem_is_bed=is_bed)
    assert not told.varies_with_level
    assert picture(told.at_level(121.0)) == "WWWW ?W?W WWWW WW??"


def test_for_snow_and_soil_a_dem_beside_land_cover_decides_nothing(surface, cover, ground):
    told = surface(**cover("WLWL oooo WWWW LLLL"), dem=ground("aaaa aaaa oooo oooo", a=3.0), is_water=False,
                   dem_is_bed=True)
    assert picture(told.at_level(0.0)) == "W.W. ???? WWWW ...."


def test_the_largest_share_counts_where_areas_to_avoid_overlap(surface, local_rings):
    berths = [(outline, [], 0) for outline, _holes, _group in WEST_HALF]
    fairway = [(outline, [], 1) for outline, _holes, _group in fields(*((1, col) for col in range(4)))]
    told = surface(water=local_rings(*fields(*((row, col) for row in range(3) for col in range(4)))),
                   avoid=local_rings(*berths, *fairway, groups=2), avoid_names=["berths", "fairway"],
                   avoid_shares=np.array([0.7, 0.4]))
    spots = told.at_level(0.0)
    assert np.allclose(read_off(spots.avoid), [[.7, .7, 0, 0], [.7, .7, .4, .4], [.7, .7, 0, 0], [.7, .7, 0, 0]])
    # what spoils part of the time takes time, not ground; the southernmost row is land
    assert np.allclose(read_off(spots.usable), [[1, 1, 1, 1], [1, 1, 1, 1], [1, 1, 1, 1], [0, 0, 0, 0]])
    always = surface(water=local_rings(*fields(*((row, col) for row in range(3) for col in range(4)))),
                     avoid=local_rings(*berths, *fairway, groups=2), avoid_names=["berths", "fairway"],
                     avoid_shares=np.array([1.0, 0.4]))
    assert np.allclose(read_off(always.at_level(0.0).usable), [[0, 0, 1, 1], [0, 0, 1, 1], [0, 0, 1, 1], [0, 0, 0, 0]])


def test_what_spoils_a_spot_and_what_is_usable_make_a_whole(surface, cover, ground, local_rings):
    """Every spot, and those on the edges of fields too: nothing is lost twice, nothing without a cause."""
    avoid = local_rings(([(-50, -50), (55, -45), (40, 60)], [], 0), ([(-10, -90), (70, 5), (0, 70)], [], 1), groups=2)
    layers = dict(dem=ground("abbo abbo abao oooo", a=-2.0, b=0.6), dem_is_bed=True,
                  water=local_rings(([(-70, -33), (61, -75), (75, 40), (-20, 77)], [], 0)),
                  avoid=avoid, avoid_names=["berths", ""], avoid_shares=np.array([0.7, 1.0]))
    told = surface(**cover("WLWL oWWW WWWo LLWo"), **layers, class_names={LAND: "grass"})
    for level in (-3.0, 0.0, 2.0):
        spots, causes = told.at_level(level), told.causes(level)
        total = spots.usable + sum(cause.share for cause in causes)
        assert np.abs(total - 1.0).max() < 1e-5
        assert all(cause.share.min() >= 0 and cause.share.max() > 0 for cause in causes)
    assert {cause.name for cause in told.causes(0.0)} == {
        "grass", "land (outside the water polygons)", "ground that is dry at this level", "an area to avoid"}


def test_dry_ground_outside_the_water_polygons_is_land_and_not_drying_ground(surface, ground, local_rings):
    told = surface(water=local_rings(*WEST_HALF), dem=ground("btbt btbt btbt btbt", b=BED, t=2.0), dem_is_bed=True)
    causes = {cause.kind: read_off(cause.share)[0].tolist() for cause in told.causes(0.0)}
    assert causes == {"dry": [0, 1, 0, 0], "land": [0, 0, 1, 1]}


def test_a_class_without_a_name_is_called_by_its_number(surface, cover):
    cause, unknown = surface(**cover("WWWW LLLL WWWW oooo")).causes(0.0)
    assert (cause.name, cause.kind) == ("land-cover class 20", "class")
    assert (unknown.name, unknown.kind) == ("no data", "unknown")


def test_a_footprint_is_only_as_good_as_at_its_worst_level(candidate, array_raster):
    """A flat that dries at half tide: at the highest and at the zero level all is water, at the lowest none."""
    layers = SurfaceLayers(dem=array_raster(np.full((500, 500), -0.6, np.float32)), dem_is_bed=True)
    one = candidate(5.0, low_m=-1.0, high_m=1.0)
    (_index, found), = assess([one], layers, Settings(L1, ANGLES))
    wet = found.usable.mean(axis=(1, 2))
    assert np.allclose(wet[one.levels_m < -0.6], 0) and np.allclose(wet[one.levels_m > -0.6], 1, atol=1e-4)
    assert np.all(found.share == 0) and np.all(found.worst == 0) and not found.good.any()
    assert found.least_height_m == pytest.approx(4.0)


def test_a_footprints_share_is_the_mean_over_its_area_of_what_is_usable(candidate, local_rings):
    """Avoided half of the time all around: every footprint is busy for half of the time, and its ground is whole."""
    everywhere = [(-900, -900), (900, -900), (900, 900), (-900, 900)]
    layers = SurfaceLayers(water=local_rings((everywhere, [], 0)), avoid=local_rings((everywhere, [], 0)),
                           avoid_names=["fairway"], avoid_shares=np.array([0.5]))
    (_index, found), = assess([candidate(5.0)], layers, Settings(L1, ANGLES, min_share=0.4))
    assert np.allclose(found.usable, 1, atol=1e-4) and np.allclose(found.share_of("target"), 1, atol=1e-4)
    assert np.allclose(found.share_of("avoid"), 0.5, atol=1e-4) and np.all(found.share_of("unknown") == 0)
    assert np.all(found.busy == 0.5)
    # the whole range, at its whole share
    assert np.allclose(found.windows.quality, 1, atol=1e-4)


def test_without_any_layer_nothing_can_be_told():
    with pytest.raises(InputError, match="Neither LANDCOVER nor WATER nor DEM is given.*Give at least one"):
        SurfaceLayers().check()


def test_land_cover_needs_its_classes(array_raster):
    with pytest.raises(InputError, match="without TARGET_CLASSES"):
        SurfaceLayers(landcover=array_raster(np.ones((4, 4), np.uint8))).check()
