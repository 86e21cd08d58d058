"""Setting up a run that judges places which are not yet known: a search, or a place that is moved by hand."""
from __future__ import annotations

from qgis.core import QgsProcessingContext

from ...siting.improve.judge import World
from ...siting.improve.room import Room
from ...siting.improve.scouts import stand_ins
from ...siting.improve.search import Heights
from ...siting.live.looker import Looker
from ..algorithms.rankcandidates import RankCandidatesAlgorithm
from .candidates import wkt_of
from .criteria import read_clearance, read_criteria
from .look import Asked, read_asked, read_look
from .surface import SurfaceRun, not_looked_at, set_up


def world_of(algorithm, parameters, context, feedback, run: SurfaceRun, criteria: list, asked: Asked) -> World:
    """Put together what places are judged by, from a run that was set up for them; reads the sky.

    Raises
    ------
    InputError
    Cancelled
    """
    look = read_look(algorithm, parameters, context, feedback, run, asked)
    return World(run.layers, run.settings, criteria, wkt_of(run.source.sourceCrs()), run.settle, look, run.sight,
                 read_clearance(algorithm, parameters, context, run.purpose))


def prepare_looker(parameters: dict, context: QgsProcessingContext, feedback, radius_m: float,
                   highest_m: float) -> tuple[Looker, SurfaceRun]:
    """Prepare to look from anywhere around one place, as `stillwater:rankcandidates` would from each.

    Parameters
    ----------
    parameters : dict
        Of `stillwater:rankcandidates`, without outputs; INPUT holds the one place.
    context : QgsProcessingContext
    feedback : QgsProcessingFeedback
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
    algorithm = RankCandidatesAlgorithm()
    algorithm.initAlgorithm({})
    criteria = read_criteria(algorithm, parameters, context)
    asked = read_asked(algorithm, parameters, context, feedback)
    crs = wkt_of(algorithm.parameterAsSource(parameters, "INPUT", context).sourceCrs())

    def scouts(candidates, settle):
        one, = candidates
        return stand_ins(one, Room(radius_m), Heights(one.height_m, max(highest_m, one.height_m)), crs, settle)

    run = set_up(algorithm, parameters, context, feedback, scouts)
    world = world_of(algorithm, parameters, context, feedback, run, criteria, asked)
    return Looker(world, missing=tuple(not_looked_at(run))), run
