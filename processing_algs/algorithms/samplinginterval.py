"""Sampling interval: how often a receiver must log to resolve the height of each site."""
from __future__ import annotations

import numpy as np
from qgis.core import QgsProcessing, QgsProcessingParameterFeatureSink, QgsWkbTypes

from ...siting.purposes import purpose_of
from ...siting.signals import wavelength_m
from ...siting.sky.sampling import (
    MARGIN,
    greatest_height_m,
    greatest_level_rate,
    longest_interval_s,
    recommended_s,
    tide_shift_m,
)
from ...siting.windows import oscillations
from ..layers.fields import SITE, Column
from ..reading import parameters as define
from ..reading.candidates import listed
from ..reading.given import Given
from ..reading.skysites import over_sites, read_sky_sites, tell_without_arcs
from .base import StillwaterAlgorithm, fields_beside_input

HEIGHTS = ((30.0, "h_30s_m"), (15.0, "h_15s_m"), (5.0, "h_5s_m"), (1.0, "h_1s_m"))
"""Logging intervals [s] and the field with the greatest height that each resolves."""
COLUMNS = [
    SITE, Column("height_m", "number", "Greatest height over the surface [m]"),
    Column("int_max_s", "number", "Longest interval that resolves every arc [s]"),
    Column("int_rec_s", "number", "Recommended interval [s]"),
    *(Column(name, "number", f"Greatest height resolved at {interval:g} s [m]") for interval, name in HEIGHTS),
    Column("tide_err_m", "number", "Shift of single arcs by the tide, at most [m]"),
]
LEAST_CYCLES = 3.0
"""Oscillations from which an arc is looked at for `tide_err_m`; a shorter one gives no height to be shifted."""


class SamplingIntervalAlgorithm(StillwaterAlgorithm):
    """Tells the longest logging interval that still resolves each site's height."""

    ID = "samplinginterval"
    TITLE = "Sampling interval"
    GROUP = "Sky"
    SUMMARY = (
        "Tells for each site how often the receiver must log: at least two samples an oscillation of the interference "
        "pattern, on every arc of the time looked at, at the greatest height (the lowest level). The recommended "
        f"interval leaves a margin of {MARGIN:g}. For sea level the surface is taken to move between LEVEL_LOW and "
        "LEVEL_HIGH as fast as one semidiurnal tide does at mid-tide (where shallow-water tides are strong it can be "
        "15 % faster), which asks for a shorter interval and shifts the height that single arcs show, rising ones to "
        "one side and setting ones to the other (tide_err_m, over "
        f"arcs of at least {LEAST_CYCLES:g} oscillations). For a lake, snow and soil the surface is taken for still. "
        "Surface and terrain are not looked at: arcs over land count too.")
    TAGS = ("sampling", "interval", "rate", "logging", "nyquist", "height", "tide", "receiver", "sky")

    def initAlgorithm(self, configuration: dict | None = None) -> None:
        for parameter in (*define.candidates(), define.signal(), define.purpose(), *define.levels(),
                          *define.elevation_limits(), *define.sky(), define.interval(),
                          define.dem(), define.geoid(), *define.zero_level()):
            self.addParameter(parameter)
        self.addParameter(define.described(QgsProcessingParameterFeatureSink(
            "OUTPUT", "Sampling intervals", QgsProcessing.SourceType.TypeVectorPoint),
            "The candidates with the longest interval that still resolves their height."))

    def compute(self, given: Given) -> dict:
        purpose = purpose_of(given.choice("PURPOSE"))
        wavelength = wavelength_m(given.choice("SIGNAL"))
        interval = given.real("INTERVAL", 0.001, 3600.0)
        run = read_sky_sites(given, not purpose.is_water)
        fields, kept = fields_beside_input(given, run, COLUMNS)
        output = self.open_output(given, "OUTPUT", fields, QgsWkbTypes.Type.Point, run.source.sourceCrs())
        without, too_slow, unmet, worst = [], [], [], (0.0, 0.0, "")
        for index, candidate, arcs in over_sites(given, run):
            values = [None] * (len(COLUMNS) - 1)
            if arcs is not None:
                height = float(candidate.heights_m.max())
                rate = greatest_level_rate(candidate.low_m, candidate.high_m) if purpose.is_tidal else 0.0
                values[0] = height
                if not arcs:
                    without.append(candidate.name)
                else:
                    longest, shift, values[1:] = self._look(arcs, height, wavelength, rate)
                    worst = max(worst, (max(shift), min(shift), candidate.name))
                    if longest < interval:
                        too_slow.append((candidate.name, f"{longest:.3g} s"))
                    if values[2] is None:
                        unmet.append(candidate.name)
            output.add(run.points[index], [*kept(index), candidate.name, *values])
        tell_without_arcs(given, without, run)
        if too_slow:
            given.warn(
                f"INTERVAL is {interval:g} s: {len(too_slow)} of {len(run.candidates)} candidates cannot be resolved "
                f"with this receiver on every arc (longest interval in brackets): {listed(*zip(*too_slow))}.")
        if unmet:
            given.warn(f"No usual interval leaves a margin of {MARGIN:g}, so none is recommended: "
                                 f"{listed(unmet)}.")
        if worst[0] >= 0.005:
            given.note(
                "A tide that moves as fast as a semidiurnal one between the levels shifts the height of single arcs by "
                f"up to {worst[0]:.2f} m (“{worst[2]}”, the most). Rising and setting arcs err to opposite sides: "
                "use both, or solve for the rate.")
        return {"OUTPUT": output.dest_id}

    @staticmethod
    def _look(arcs, height, wavelength, rate):
        """Return the longest interval, the shifts by the tide, and the values from `int_max_s` on."""
        longest = float(longest_interval_s(arcs, height, wavelength, rate).min())
        first, last = arcs.sine[arcs.first].astype(float), arcs.sine[arcs.last].astype(float)
        width = np.abs(last - first)
        chosen = oscillations(height, width, wavelength) >= LEAST_CYCLES
        shift = tide_shift_m(((first + last) / 2.0)[chosen], width[chosen],
                             (arcs.time_s[arcs.last] - arcs.time_s[arcs.first])[chosen], arcs.is_rising[chosen], rate)
        heights = [greatest_height_m(arcs, least_s, wavelength, rate) for least_s, _name in HEIGHTS]
        return longest, shift, [longest, recommended_s(longest), *heights, max(shift)]
