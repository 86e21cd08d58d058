"""Reading rasters by windows, the same with rasterio and with GDAL's own bindings."""

import sys
import warnings
from pathlib import Path

import numpy as np
import pytest
from stillwater.siting.errors import InputError
from stillwater.siting.ground import rasters
from stillwater.siting.ground.rasters import HeldRaster, Raster

pytest.importorskip("rasterio")
VALUES = np.arange(20 * 30, dtype=np.int16).reshape(20, 30)


@pytest.fixture(params=["rasterio", "gdal"])
def backend(request, monkeypatch):
    """Run a test with rasterio, and again as where rasterio is not installed."""
    if request.param == "gdal":
        pytest.importorskip("osgeo.gdal")
        monkeypatch.setitem(sys.modules, "rasterio", None)
    return request.param


def is_with(raster, backend):
    return type(raster._source).__name__ == {"rasterio": "_Rasterio", "gdal": "_Gdal"}[backend]


@pytest.fixture
def reopen(write_raster, backend):
    """Give a function that writes a raster and opens it with the backend of the test."""
    written = []

    def write(values, **options):
        # rasterio writes, whatever reads
        kept = sys.modules.pop("rasterio")
        if kept is None:
            import rasterio  # noqa: F401
        path = write_raster(values, opened=False, name=f"{len(written)}.tif", **options)
        sys.modules["rasterio"] = kept
        written.append(path)
        raster = Raster(path)
        assert is_with(raster, backend)
        return raster
    return write


@pytest.mark.parametrize("box", [(0, 20, 0, 30), (3, 7, 5, 29), (19, 20, 29, 30), (0, 1, 0, 1)])
def test_a_window_holds_the_cells_of_the_whole(box, reopen):
    window = reopen(VALUES, tiled=True, blockxsize=16, blockysize=16).read(*box)
    assert np.array_equal(window.values, VALUES[box[0]:box[1], box[2]:box[3]])
    assert window.valid.all() and (window.row, window.col) == (box[0], box[2])
    assert window.values.dtype == np.int16


def test_a_window_ends_where_the_raster_does(reopen):
    raster = reopen(VALUES)
    window = raster.read(-5, 3, 28, 99)
    assert np.array_equal(window.values, VALUES[:3, 28:])
    assert (window.row, window.col) == (0, 28)
    assert raster.read(-9, -2, 0, 5).values.shape == (0, 0)
    assert raster.read(0, 5, 30, 40).values.shape == (0, 0)


@pytest.mark.parametrize("strip_cells", [10**7, 60, 1])
@pytest.mark.parametrize("thinning", [2, 3, 7])
def test_thinning_keeps_every_kth_row_and_column_whatever_the_strips(thinning, strip_cells, reopen, monkeypatch):
    monkeypatch.setattr(rasters, "STRIP_CELLS", strip_cells)
    window = reopen(VALUES).read(1, 20, 2, 30, thinning)
    assert np.array_equal(window.values, VALUES[1:20:thinning, 2:30:thinning])
    assert window.thinning == thinning and window.valid.shape == window.values.shape


def test_nodata_of_whole_numbers_is_no_data(reopen):
    window = reopen(np.array([[1, 255], [0, 7]], np.uint8), nodata=255).read(0, 2, 0, 2)
    assert window.valid.tolist() == [[True, False], [True, True]]


@pytest.mark.parametrize("nodata", [-9999.0, -3.4028234663852886e38, 0.0, np.nan])
def test_nodata_and_nan_of_floating_numbers_are_no_data(nodata, reopen):
    values = np.array([[1.5, nodata], [np.nan, -2.0]], np.float32)
    window = reopen(values, nodata=nodata).read(0, 2, 0, 2)
    assert window.valid.tolist() == [[True, False], [False, True]]


def test_nan_and_infinity_are_no_data_where_no_nodata_value_is_set(reopen):
    window = reopen(np.array([[np.nan, 1.0], [np.inf, -np.inf]])).read(0, 2, 0, 2)
    assert window.valid.tolist() == [[False, True], [False, False]]


def test_zero_is_data_where_no_nodata_value_is_set(reopen):
    assert reopen(np.zeros((2, 2), np.uint8)).read(0, 2, 0, 2).valid.all()


def test_scale_and_offset_are_applied_but_not_to_nodata(reopen):
    raster = reopen(np.array([[0, 100], [250, -32768]], np.int16), nodata=-32768, scale=0.01, offset=-1.0)
    window = raster.read(0, 2, 0, 2)
    assert window.valid.tolist() == [[True, True], [True, False]]
    assert np.allclose(window.values[window.valid], [-1.0, 0.0, 1.5], atol=1e-6)


def test_a_band_is_chosen_by_number_from_1(write_raster):
    path = write_raster(np.stack([VALUES, VALUES + 1000]), opened=False)
    assert Raster(path).read(0, 1, 0, 1).values[0, 0] == 0
    assert Raster(path, band=2).read(0, 1, 0, 1).values[0, 0] == 1000
    for band in (0, 3):
        with pytest.raises(InputError, match=f"raster.tif” cannot be opened.*2 band.*band {band} was asked for"):
            Raster(path, band=band)


def test_a_mask_of_the_whole_dataset_is_honoured(write_raster, tmp_path):
    import rasterio
    path = write_raster(np.full((2, 2), 9, np.uint8), opened=False)
    with rasterio.Env(GDAL_TIFF_INTERNAL_MASK=True), rasterio.open(path, "r+") as file:
        file.write_mask(np.array([[True, False], [True, True]]))
    for source in (rasters._Rasterio(str(path), 1), rasters._Gdal(str(path), 1)):
        assert source.block(0, 2, 0, 2)[1].tolist() == [[True, False], [True, True]]


ROTATED = (500_000.0, 1.6, 1.2, 4_980_000.0, 1.2, -1.6)  # cells of 2 m, turned by 36.87°


def test_a_rotated_raster_finds_its_cells(reopen):
    raster = reopen(VALUES, affine=ROTATED)
    assert raster.affine == pytest.approx(ROTATED)
    x = 500_000.0 + 1.6 * 4.5 + 1.2 * 2.5
    y = 4_980_000.0 + 1.2 * 4.5 - 1.6 * 2.5
    assert np.allclose(raster.pixel_of(x, y), (4.5, 2.5), atol=1e-6)


def test_both_backends_say_the_same_of_a_file(write_raster):
    path = str(write_raster(VALUES, nodata=5, scale=0.5, offset=2.0, opened=False))
    one, other = rasters._Rasterio(path, 1), rasters._Gdal(path, 1)
    assert one.affine == pytest.approx(other.affine) and one.shape == other.shape == (20, 30)
    from pyproj import CRS
    assert CRS.from_wkt(one.crs) == CRS.from_wkt(other.crs)
    for values, wanted in zip(one.block(2, 9, 1, 20), other.block(2, 9, 1, 20)):
        assert np.array_equal(values, wanted) and values.dtype == wanted.dtype


def test_a_raster_without_a_reference_system_is_refused(reopen):
    with pytest.raises(InputError, match="“0.tif” has no coordinate reference system. Assign it one"):
        reopen(VALUES, crs=None)


def test_a_reference_system_set_by_the_user_takes_the_place_of_the_files(write_raster):
    path = write_raster(VALUES, crs=None, opened=False)
    assert Raster(path, crs="EPSG:32633").crs == "EPSG:32633"


def test_a_raster_without_a_georeference_is_refused(write_raster):
    path = write_raster(VALUES, opened=False)
    import rasterio
    with warnings.catch_warnings(), rasterio.open(path, "r+") as file:
        warnings.simplefilter("ignore", rasterio.errors.NotGeoreferencedWarning)
        file.transform = rasterio.Affine.identity()
    with pytest.raises(InputError, match="not georeferenced"):
        Raster(path)


@pytest.mark.parametrize("content", [b"", b"this is no raster at all", b"II*\0\x08\0\0\0\xff\xff"])
def test_a_file_that_is_no_raster_is_refused_by_name(content, tmp_path, backend):
    path = tmp_path / "broken.tif"
    path.write_bytes(content)
    with pytest.raises(InputError, match="Raster “broken.tif” cannot be opened"):
        Raster(path)


def test_a_missing_file_is_refused_by_name(tmp_path, backend):
    with pytest.raises(InputError, match="“absent.tif” cannot be opened.*Check the path"):
        Raster(tmp_path / "absent.tif")


def test_a_file_damaged_inside_is_told_when_it_is_read(tmp_path, reopen, write_raster):
    noise = np.random.default_rng(1).integers(0, 255, (256, 256)).astype(np.uint8)
    path = reopen(noise, compress="deflate", tiled=True, blockxsize=64, blockysize=64).path
    content = bytearray(Path(path).read_bytes())
    content[len(content) // 4:] = b"\0" * (len(content) - len(content) // 4)
    with open(path, "wb") as file:
        file.write(content)
    with pytest.raises(InputError, match="0.tif” cannot be .*(damaged|Check the path)"):
        Raster(path).read(0, 256, 0, 256)


def test_a_layer_is_named_by_its_name_and_else_by_its_file(write_raster):
    path = write_raster(VALUES, opened=False)
    assert Raster(path).name == "raster.tif"
    assert Raster(path, "My cover").name == "My cover"


def test_the_cache_for_decoded_blocks_is_bounded_and_given_back():
    gdal = pytest.importorskip("osgeo.gdal")
    before = gdal.GetCacheMax()
    with rasters.bounded_cache():
        assert gdal.GetCacheMax() <= rasters.CACHE_BYTES
    assert gdal.GetCacheMax() == before


@pytest.mark.parametrize("held_cells", [rasters.HELD_CELLS, 900, 10])
def test_a_raster_that_holds_what_it_read_gives_the_same_windows(held_cells, reopen, monkeypatch):
    monkeypatch.setattr(rasters, "HELD_CELLS", held_cells)
    rng = np.random.default_rng(5)
    cells = rng.normal(size=(90, 70)).astype(np.float32)
    cells[rng.random(cells.shape) < 0.1] = np.nan
    plain = reopen(cells)
    held, asked = HeldRaster(plain), []
    read = Raster._block

    def counted(self, *box):
        asked.append(self is held)
        return read(self, *box)
    monkeypatch.setattr(Raster, "_block", counted)
    row, col = 30, 20
    for _ in range(60):
        # windows that move a little, also over the rim, and thinned
        row, col = row + int(rng.integers(-3, 4)), col + int(rng.integers(-3, 4))
        thinning = int(rng.integers(1, 3))
        one, other = (r.read(row, row + 25, col, col + 20, thinning) for r in (plain, held))
        np.testing.assert_array_equal(one.valid, other.valid)
        np.testing.assert_array_equal(one.values, other.values)
        assert one[2:] == other[2:]
    assert (sum(asked) < 15) == (held_cells > 10_000), "files are read seldom, if there is room to hold"
    assert sum(one[1].size for one in held._held) <= held_cells
