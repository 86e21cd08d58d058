"""Setting up a run that judges places which are not yet known: a search, or a place that is moved by hand."""
from __future__ import annotations

from ...siting.improve.outermost import outermost_places
from ...siting.improve.search import Heights
from ...siting.improve.searchregion import SearchRegion
from ...siting.live.looker import Looker
from ...siting.setup import Setup
from .criteria import read_criteria, read_limits
from .given import Given
from .look import Asked, read_asked, read_look
from .surface import SurfaceRun, not_looked_at, read_surface_run


def read_setup(given: Given, run: SurfaceRun, criteria: list, asked: Asked) -> Setup:
    """Put together what candidates are judged by, from a run that was set up for them; reads the sky.

    Raises
    ------
    InputError
    Cancelled
    """
    return run.setup(criteria, read_look(given, run, asked), read_limits(given, run.purpose))


def prepare_looker(given: Given, radius_m: float, highest_m: float) -> tuple[Looker, SurfaceRun]:
    """Prepare to look from anywhere around one place, as `stillwater:rankcandidates` would from each.

    Parameters
    ----------
    given : Given
        Parameters of `stillwater:rankcandidates`, without outputs; INPUT holds the one place.
    radius_m : float
        How far from it places may lie [m].
    highest_m : float
        Greatest antenna height that will be looked from, measured as the run measures it [m].

    Returns
    -------
    looker : Looker
    run : SurfaceRun
        Its only candidate is the place.

    Raises
    ------
    InputError
        If the run would be meaningless.
    Cancelled
    """
    criteria, asked = read_criteria(given), read_asked(given)

    def scouts(candidates, resolver):
        candidate, = candidates
        heights = Heights(candidate.height_m, max(highest_m, candidate.height_m))
        return outermost_places(candidate, SearchRegion(radius_m), heights, resolver)

    run = read_surface_run(given, scouts)
    return Looker(read_setup(given, run, criteria, asked), missing=tuple(not_looked_at(run))), run
