"""What candidates are judged by: limits, antennas below the ground, and a terrain seen from other places."""

import numpy as np
import pytest
from stillwater.siting.errors import InputError
from stillwater.siting.ground.arrayraster import ArrayRaster
from stillwater.siting.ground.surfacelayers import SurfaceLayers
from stillwater.siting.purposes import PURPOSES, SEA_LEVEL, SNOW_DEPTH, SOIL_MOISTURE, purpose_of
from stillwater.siting.setup import Limits, Setup, find_buried
from stillwater.siting.sight.barriers import Barriers
from stillwater.siting.sight.looking import SightLayers
from stillwater.siting.sight.terrain import Terrain
from stillwater.tests.science.shore_scenes import EAST, NORTH, SETTINGS, UTM, box, layer, sea


@pytest.fixture
def ground():
    """Give ground of 2 m with a hill of 12 m from 50 to 90 m east, and no data beyond 150 m east."""
    cells = np.full((400, 400), 2.0, np.float32)
    cells[:, 250:290] = 12.0
    cells[:, 350:] = -9999.0
    return ArrayRaster(cells, (EAST - 200.0, 1.0, 0.0, NORTH + 200.0, 0.0, -1.0), UTM, -9999.0)


@pytest.fixture
def at(candidate):
    """Give a function that makes a site of a height over the zero level, so far east."""
    def make(east_m, height_m=5.0, **levels):
        return candidate(height_m, x=EAST + east_m, name=f"{east_m:g}", **levels)
    return make


def terrain_of(dem, sites):
    return Terrain(dem, max_distance_m=300.0, lon=[c.lon for c in sites], lat=[c.lat for c in sites])


@pytest.mark.parametrize("height_m, is_broken", [(3.9, True), (3.9994, True), (3.9996, False), (4.0, False)])
def test_the_clearance_counts_from_the_highest_level_and_to_the_millimetre(height_m, is_broken, at):
    assert Limits(3.0).are_broken_by(at(0.0, height_m, low_m=-1.0, high_m=1.0)) == is_broken
    assert not Limits().are_broken_by(at(0.0, height_m, high_m=1.0))


def test_antennas_below_the_ground_say_how_deep_and_unknown_ground_is_told(ground, at):
    sites = [at(0.0), at(70.0), at(170.0), at(70.0, 15.0)]
    sites[1].zero_level_m = 1.5
    unknown = find_buried(terrain_of(ground, sites), sites)
    assert [one.problem for one in (sites[0], sites[2], sites[3])] == [""] * 3
    # 12 m of ground, an antenna at 1.5 + 5 m
    assert sites[1].problem == ("the antenna is 5.50 m below the ground that the elevation model shows there "
                                "(12.00 m)")
    assert unknown == [sites[2]]


def test_a_problem_that_stands_already_is_kept(ground, at):
    one = at(70.0)
    one.problem = "it has no geometry"
    assert find_buried(terrain_of(ground, [one]), [one]) == [] and one.problem == "it has no geometry"


def test_barriers_alone_bury_nobody(at):
    sites = [at(0.0)]
    wall = Barriers(layer(box(-5, -5, 5, 5)), np.array([30.0]))
    terrain = Terrain(None, barriers=wall, lon=[sites[0].lon], lat=[sites[0].lat])
    assert find_buried(terrain, sites) == [] and sites[0].problem == ""


def test_a_setup_sees_from_any_place_that_its_terrain_was_prepared_for(ground, at, look_at):
    """The skyline of each place is that of a terrain made for it alone."""
    first, others = at(0.0), [at(-60.0), at(70.0), at(20.0)]
    others[2].problem = "it has no geometry"
    setup = Setup(sea(), SETTINGS, look_at(("GPS",)), sight=SightLayers(None, None, terrain_of(ground, [first])))
    seen = setup.seen_from(others)
    assert "below the ground" in others[1].problem and others[0].problem == ""
    azimuth = SETTINGS.bin_centre_deg
    alone = terrain_of(ground, others[:1]).skyline(0, 5.0, azimuth)
    told = seen.sight.terrain.skyline(0, 5.0, azimuth)
    np.testing.assert_allclose(told.el_deg, alone.el_deg)
    assert np.nanmax(told.el_deg) > 3.0 and setup.sight.terrain is not seen.sight.terrain


def test_without_a_terrain_a_setup_is_its_own(at, look_at):
    for sight in (None, SightLayers(None, None, None)):
        setup = Setup(sea(), SETTINGS, look_at(("GPS",)), sight=sight)
        assert setup.seen_from([at(0.0)]) is setup


def test_where_the_sea_reaches_in_is_found_once(ground, look_at):
    setup = Setup(SurfaceLayers(dem=ground, dem_is_bed=True, is_sea=True), SETTINGS, look_at(("GPS",)))
    found = setup.with_inflow()
    assert setup.layers.inflow is None and found.layers.inflow is not None
    assert found.with_inflow().layers.inflow is found.layers.inflow
    # with polygons nothing has to be found
    assert Setup(sea(), SETTINGS, look_at(("GPS",))).with_inflow().layers.inflow is None


def test_purposes_are_found_by_the_name_of_the_dialog():
    assert [purpose_of(name) for name in PURPOSES] == list(PURPOSES.values())
    assert [str(one) for one in PURPOSES.values()] == ["sea level", "lake level", "snow depth", "soil moisture"]
    with pytest.raises(InputError, match="PURPOSE “tides” is not known. Choose one of: sea level, lake level, snow"):
        purpose_of("tides")


def test_what_a_purpose_is_follows_from_its_physics():
    """Only the sea has tides; depth is counted from the ground; a phase needs no separation of heights."""
    assert [one for one in PURPOSES.values() if one.is_tidal] == [SEA_LEVEL]
    assert [one for one in PURPOSES.values() if one.is_depth] == [SNOW_DEPTH]
    assert [one for one in PURPOSES.values() if not one.needs_separation] == [SOIL_MOISTURE]
    for one in PURPOSES.values():
        assert one.is_water == one.level_names[0].endswith("water") and one.precision > 0 and one.cadence_h > 0
        # a surface reflects the better the more it differs from air, of permittivity 1
        assert abs(one.substance.permittivity(1575.42e6)) > 1.0
