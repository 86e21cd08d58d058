"""The layers that tell the surface, and which of them has a say."""
from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Callable

from ..arrays import Array
from ..errors import InputError
from .classes import TargetClasses
from .inflow import Inflow
from .polygons import PolygonLayer
from .rasters import Raster


@dataclass
class SurfaceLayers:
    """The layers that tell the surface; each may be missing, but not all.

    Attributes
    ----------
    landcover, classes : Raster and TargetClasses, or None
    class_names : dict of int to str
        Names of land-cover classes, for the words.
    water : PolygonLayer or None
        `water_is_land` when it holds everything that is not the surface.
    water_waves : ndarray or None
        Significant wave height of each group of `water` [m]; None where the candidates' own serve.
    avoid : PolygonLayer or None
        Groups with a name and the share of the time [0 to 1] that they spoil.
    avoid_names, avoid_shares : list of str, ndarray
        Of each group.
    dem : Raster or None
    dem_is_bed : bool
        Whether the DEM goes on under water.
    is_water : bool
        Sea or lake (True), snow or soil (False).
    is_sea : bool
        Whether the water is the sea, which reaches the DEM's rim.
    inflow : Inflow or None
        From which level on the sea reaches in; needed when only the DEM tells (see `with_inflow`).
    """

    landcover: Raster | None = None
    classes: TargetClasses | None = None
    class_names: dict = field(default_factory=dict)
    water: PolygonLayer | None = None
    water_is_land: bool = False
    water_waves: Array | None = None
    avoid: PolygonLayer | None = None
    avoid_names: list = field(default_factory=list)
    avoid_shares: Array | None = None
    dem: Raster | None = None
    dem_is_bed: bool = False
    is_water: bool = True
    is_sea: bool = False
    inflow: Inflow | None = None

    def check(self) -> None:
        """Refuse a set of layers that can tell nothing.

        Raises
        ------
        InputError
        """
        if self.landcover is None and self.water is None and self.dem is None:
            raise InputError(
                "Neither LANDCOVER nor WATER nor DEM is given, so nothing tells where the surface to be "
                "measured is. Give at least one of them.")
        if self.landcover is not None and self.classes is None:
            raise InputError("LANDCOVER is given without TARGET_CLASSES. Say which classes are the surface.")

    @property
    def dem_is_alone(self) -> bool:
        """Whether nothing but the DEM tells the surface."""
        return self.dem is not None and self.landcover is None and self.water is None

    @property
    def dem_decides(self) -> bool:
        """Whether the DEM has a say in what is target."""
        return self.dem is not None and (self.dem_is_alone or (self.is_water and self.dem_is_bed))

    @property
    def dem_fills_holes(self) -> bool:
        """Whether the DEM tells where water is on spots without land cover."""
        return self.dem is not None and self.is_water and self.landcover is not None and self.water is None

    @property
    def needs_inflow(self) -> bool:
        """Whether it must be found out where the sea reaches, for only the DEM tells."""
        return self.dem_is_alone and self.is_sea

    def with_inflow(self, is_cancelled: Callable[[], bool] = lambda: False) -> SurfaceLayers:
        """Return layers that know where the sea reaches in, if that is needed; these, where they do already.

        Raises
        ------
        Cancelled
        """
        if not self.needs_inflow or self.inflow is not None:
            return self
        return replace(self, inflow=Inflow(self.dem, is_cancelled))
