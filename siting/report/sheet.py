"""What a site sheet says of one site, as blocks: every figure as the ranking has it."""
from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from ..assessment import Assessment
from ..candidates import Candidate
from ..charts.levelchart import Levels, levels_chart
from ..charts.passchart import Passes, passes_chart
from ..charts.rosechart import rose_chart
from ..charts.windowchart import Outlook, window_chart
from ..geometry.fresnel import Ellipse, first_zone, outline
from ..geometry.sectors import sector_rings
from ..ranking.rows import RankRow
from ..ranking.whatif import ChangedOutcome, widest_change
from ..setup import Setup
from ..sky.clock import DAY_S, iso_text
from ..verdict.causes import find_causes
from ..verdict.mask import mask_rows
from ..words.limits import names_of_avoided, roughness_words
from ..words.skywording import seconds
from ..words.wording import azimuth_words, degrees, plain_text, precision_text
from .blocks import Chart, Heading, MapFigure, Paragraph, Section, Table
from .checklist import Facts, checklist
from .reportedrun import ReportedRun

DATUM = {"surface": "measured above the zero level of the reflecting surface",
         "ground": "measured above what the DEM shows at the site",
         "datum": "an elevation in the DEM's vertical datum",
         "ellipsoid": "measured above the WGS 84 ellipsoid and converted by GEOID"}
NEVER = "This sheet is geometry on the layers given, no survey. Not for navigation."


def number(value: float | None, form: str = ".2f") -> str:
    """Write a figure with a true minus; a dash where there is none."""
    return "–" if value is None or not math.isfinite(value) else format(value, form).replace("-", "−")


def position_words(candidate: Candidate, run: ReportedRun) -> str:
    """Write a position in the CRS of the candidates and as longitude and latitude."""
    decimals = 6 if run.is_geographic else 2
    north, east = "N" if candidate.lat >= 0 else "S", "E" if candidate.lon >= 0 else "W"
    side = f"{abs(candidate.lat):.6f}° {north}, {abs(candidate.lon):.6f}° {east}"
    return f"{candidate.x:.{decimals}f}, {candidate.y:.{decimals}f} in {run.crs_name}; WGS 84: {side}"


class SheetRun:
    """What all sections of a run share: the run as told, what sites were judged by, and how heights were given."""

    def __init__(self, run: ReportedRun, setup: Setup, reference: str):
        self.run, self.look, self.criteria = run, setup.look, setup.criteria
        self.clearance_m, self.reference = setup.limits.min_clearance_m, reference

    def section(self, index: int, assessment: Assessment, row: RankRow, outcomes: Sequence[ChangedOutcome]) -> Section:
        """Write the section of a site that was assessed."""
        candidate = self.run.candidates[index]
        site = f"site{index + 1}"
        blocks = [Heading(2, candidate.name), *self._verdict(candidate, assessment, row),
                  self._map(site, assessment, row)]
        blocks += [Heading(3, "Quality by azimuth"),
                   Chart(rose_chart(f"{site}-rose", f"Quality by azimuth at {candidate.name}", row.bin_quality,
                                    row.bin_counts)),
                   Heading(3, "Usable elevation angles by azimuth"),
                   Chart(window_chart(f"{site}-window", f"Usable elevation angles by azimuth at {candidate.name}",
                                      Outlook(assessment.windows, row.bin_counts,
                                              np.array(assessment.settings.elevation_deg), assessment.skyline_deg)))]
        blocks += self._passes(site, candidate, row)
        blocks += self._levels(site, candidate)
        blocks += [*self._mask(assessment, row), *self._interval(row), *self._reach(row, outcomes),
                   *self._checklist(assessment, row), *self._data(assessment, row)]
        return Section(candidate.name, blocks)

    def unassessed(self, index: int, row: RankRow) -> Section:
        """Write the section of a site that could not be assessed."""
        candidate = self.run.candidates[index]
        blocks = [Heading(2, candidate.name), Paragraph(f"Verdict: {row.verdict}.", is_strong=True),
                  Paragraph(f"Reason: {candidate.problem}.")]
        if math.isfinite(candidate.lon):
            blocks.append(Paragraph(f"Position: {position_words(candidate, self.run)}."))
        blocks.append(Paragraph("There is no map, chart or mask of it. Correct its entry and run again."))
        return Section(candidate.name, blocks)

    def _verdict(self, candidate, a, row):
        demand = self.look.demand
        score = (f"Verdict: {row.verdict}; {precision_text(row.sky.precision)}{demand.unit} every {demand.cadence_h:g} "
                 f"h ({demand.precision:g}{demand.unit} wanted), score {row.result.score:.0f} of 100.")
        said = [Paragraph(score, is_strong=True), Paragraph(row.advice[:1].upper() + row.advice[1:] + ".")]
        if self.run.missing:
            said.append(Paragraph(f"Not looked at: {'; '.join(self.run.missing)}.", is_small=True))
        names = self.run.purpose.level_names
        unit = "vertical datum of the DEM" if self.run.has_dem else "vertical datum of SURFACE_LEVEL"
        facts = [
            ["Position", position_words(candidate, self.run)],
            ["Purpose", self.run.purpose.name],
            ["Limited by", row.limit_by or "nothing"],
            ["Antenna over the zero level", f"{number(candidate.over_zero_m)} m; the height given, "
             f"{number(candidate.height_m)} m, is {DATUM[self.reference]}"],
            ["Zero level", f"{number(candidate.zero_level_m)} m in the {unit}"],
            [f"{names[2].capitalize()}, {names[0]}",
             f"{number(candidate.low_m, '+.2f')} m, {number(candidate.high_m, '+.2f')} m relative to the zero level"],
            ["Antenna over them", f"{number(row.h_low_m)} m over the lowest, {number(row.h_high_m)} m over the "
             "highest"],
            *self._precision(a, row.sky),
            ["Mean quality, azimuth span", f"{number(row.quality)}, {number(row.az_span_deg, '.0f')}°"],
            ["Separation of the best direction", "–" if row.res_m is None else f"{number(row.res_m)} m"],
            *self._own(row),
        ]
        said.append(Table("The site in figures", ["Property", "Value"], facts, [0.27, 0.73]))
        return said

    def _own(self, row):
        """Write the analyst's own properties."""
        told = zip(self.criteria, row.own, row.result.desirability[1:])
        return [[criterion.label, f"{plain_text(value) + criterion.unit if math.isfinite(value) else 'no value'}, "
                                  f"desirability {desirability:.2f}"] for criterion, value, desirability in told]

    def _precision(self, a, sky) -> list:
        """Say what the precision is made of, and what nobody must forget to correct."""
        unit = self.look.demand.unit
        if not sky.has_arcs:
            return [["Predicted precision", f"{precision_text(sky.precision)}{unit}: no arc counts, so this is how far "
                                            "the surface strays by itself"]]
        facts = [["Predicted precision", f"{precision_text(sky.precision)}{unit}, which 95 % of the times keep to; a "
                                         f"single arc {precision_text(sky.arc_error)}{unit}, of it noise "
                                         f"{precision_text(sky.arc_noise)}{unit} (medians)"],
                 ["Arcs", f"{sky.arcs_day:.0f} on the worst day; spoiled {100 * sky.busy:.0f} % of the time"]]
        if math.isfinite(sky.bend_cm):
            facts.append(["Bending in the air",
                          f"heights come out {precision_text(sky.bend_cm)} cm too small if nobody corrects it"])
        if a.loss_db.max() > 0.0:
            facts.append(["Roughness", f"{roughness_words(a)}; how much of the reflection they leave is disputed: by "
                                       "Ament's law, which leaves less, the precision would be "
                                       f"{precision_text(self.look.precision_by_ament(a))}{unit}"])
        return facts

    def _map(self, site, a, row):
        """Gather what the map shows: ground of the directions that count, and footprints at the window's ends."""
        s, chosen = a.settings, np.flatnonzero(row.bin_counts)
        near, far = a.ground_of_window()
        sectors = sector_rings(s.bin_centre_deg[chosen], s.bin_width_deg, near[chosen], far[chosen])
        angle = np.array(s.elevation_deg)
        # thinned, so that ellipses stay apart on paper
        shown = chosen[::max(1, int(round(30.0 / s.bin_width_deg)))]
        rings = []
        for end in (a.windows.first, a.windows.last):
            zones = first_zone(a.candidate.over_zero_m, angle[end[shown]], s.wavelength_m)
            rings.append(outline(Ellipse(*(np.atleast_1d(part) for part in zones)), s.bin_centre_deg[shown]))
        reach = float(far[chosen].max()) if len(chosen) else float(a.zones.far_m.max())
        where = azimuth_words(row.bin_counts, s.bin_width_deg, 6) if len(chosen) else "in no direction"
        return MapFigure(
            f"Map around {a.candidate.name}",
            f"Ground of the directions that count lies {where}; it reaches {reach:.0f} m from the antenna. North is "
            "up; first Fresnel zones are drawn about every 30°.",
            f"{site}-map", a.candidate.lon, a.candidate.lat, 1.08 * reach, sectors, np.concatenate(rings))

    def _passes(self, site, candidate, row):
        sky, worth = self.look.sky, row.sky
        passes = Passes.of(worth, sky)
        hour, system, first = passes.hour, np.array(passes.system, dtype=object), passes.first_hour
        start = sky.start_s + int(np.argmin(worth.per_day)) * DAY_S
        chart = passes_chart(f"{site}-passes", f"Usable passes through the day at {candidate.name}", passes)
        systems = passes.systems
        which = f"The worst of {sky.days} days looked at" if sky.days > 1 else "The day looked at"
        gap = "no arc" if not len(worth.middle_s) else (
            f"{'at least ' if worth.gap_is_least else ''}{worth.gap_h:.1f} h between two arcs at most")
        rows = [[f"{(first + block) % 24:.4g} to {(first + block + 3) % 24 or 24:.4g}",
                 *(f"{int(np.sum((system == name) & (hour >= block) & (hour < block + 3)))}" for name in systems)]
                for block in range(0, 24, 3)]
        width = 0.7 / max(len(systems), 1)
        return [Heading(3, "Passes through the day"),
                Paragraph(f"{which} begins at {iso_text(start)}: {worth.arcs_day:.0f} usable arcs, {gap}."),
                Chart(chart),
                Table("Usable arcs by time of day (figures of the chart)", ["Hours [UTC]", *systems], rows,
                      [0.3, *[width] * len(systems)], tuple(range(1, len(systems) + 1)), is_data=True)]

    def _levels(self, site, candidate):
        words = self.run.purpose.level_names
        chart = levels_chart(f"{site}-levels", f"Antenna and levels at {candidate.name}",
                             Levels(candidate.over_zero_m, candidate.low_m, candidate.high_m, words, self.clearance_m))
        rows = [[name, number(level, "+.2f") if level else "0.00", number(candidate.over_zero_m - level),
                 number(candidate.zero_level_m + level)]
                for name, level in zip(words, (candidate.high_m, 0.0, candidate.low_m))]
        rows.insert(0, ["antenna", number(candidate.over_zero_m, "+.2f"), number(0.0),
                        number(candidate.zero_level_m + candidate.over_zero_m)])
        return [Heading(3, "Heights and levels"), Chart(chart),
                Table("Heights and levels (figures of the sketch)",
                      ["What", "Over the zero level [m]", "Below the antenna [m]", "In the vertical datum [m]"], rows,
                      [0.28, 0.24, 0.24, 0.24], (1, 2, 3), is_data=True)]

    def _mask(self, a, row):
        mask = mask_rows(a.windows, row.bin_counts, a.settings.elevation_deg)
        blocks = [Heading(3, "Observation mask for the processing")]
        if not mask:
            return blocks + [Paragraph("No direction counts, so there is nothing to observe here.")]
        rows = [[degrees(window.az_from), degrees(window.az_to), degrees(window.el_from), degrees(window.el_to)]
                for window in mask]
        return blocks + [
            Paragraph(f"Use only reflections within these ranges, and look for heights between {number(row.h_high_m)} "
                      f"and {number(row.h_low_m)} m. Ranges are split at north."),
            Table("Observation mask", ["Azimuth from [°]", "Azimuth to [°]", "Elevation from [°]", "Elevation to [°]"],
                  rows, [0.25] * 4, (0, 1, 2, 3), head_column=False)]

    def _interval(self, row):
        worth = row.sky
        if not math.isfinite(worth.int_max_s):
            text = "No usable arc, so no interval can be recommended."
        elif worth.int_rec_s is None:
            text = (f"No usual interval is short enough: every usable arc is resolved only at "
                    f"{seconds(worth.int_max_s)} s or faster.")
        else:
            text = (f"Log every {worth.int_rec_s:g} s. The antenna's greatest height, {number(row.h_low_m)} m, makes "
                    f"the interference pattern so fast that {seconds(worth.int_max_s)} s is the longest interval that "
                    "still resolves every usable arc (sampling theorem"
                    f"{', the moving tide included' if max(worth.shift_m) > 0 else ''}). The recommended one is the "
                    "longest usual interval that leaves a margin of 1.5 and costs at most a tenth of the precision.")
        return [Heading(3, "Recommended interval"), Paragraph(text)]

    def _reach(self, row, outcomes):
        def told(value):
            return "–" if value is None else precision_text(value)

        score = row.result.score

        rows = [["as given", told(row.sky.precision), number(score, ".0f"), row.verdict, row.limit_by or "nothing"]]
        rows += [[outcome.label, told(outcome.precision), number(outcome.score, ".0f"), outcome.verdict,
                  outcome.note or "nothing"]
                 for outcome in outcomes]
        turned = [outcome.label for outcome in outcomes if outcome.verdict != row.verdict]
        widest = widest_change(score, outcomes)
        text = (f"If one assumption is wrong, the score changes by up to {number(widest, '.0f')}. "
                + ("The verdict stays the same in all of these cases." if not turned else
                   f"The verdict would be another with: {'; '.join(turned)}."))
        return [Heading(3, "Reach of wrong assumptions"), Paragraph(text),
                Table("Precision, score and verdict under other assumptions",
                      ["Assumption", f"Precision [{self.look.demand.unit.strip()}]", "Score", "Verdict", "Limited by"],
                      rows, [0.27, 0.12, 0.08, 0.13, 0.40], (1, 2))]

    def _checklist(self, a, row):
        s, worth = a.settings, row.sky
        spoiled = find_causes(a)
        touching = (*names_of_avoided(spoiled), *(f"{name} ({100 * share:.0f} % of the time)"
                                                  for name, share in a.partly_names))
        some = row.bin_counts.any()
        facts = Facts(
            self.run.purpose, row.el_from_deg if some else s.elevation_deg[0],
            row.el_to_deg if some else s.elevation_deg[-1],
            azimuth_words(row.bin_counts, s.bin_width_deg) if some else "",
            tuple(dict.fromkeys(self.look.sky.orbits.systems)), round(worth.arcs_day), worth.int_rec_s, worth.int_max_s,
            row.h_low_m, row.h_high_m, self.clearance_m, touching, max(worth.shift_m))
        rows = [[f"☐ {item.what}", item.why, item.source] for item in checklist(facts)]
        return [Heading(3, "Checklist for this site"),
                Table("Checklist", ["What", "Why here", "Source"], rows, [0.37, 0.38, 0.25])]

    def _data(self, a, row):
        angle, skyline = np.array(a.settings.elevation_deg), a.skyline_deg
        rows = []
        for i, (first, last) in enumerate(zip(a.windows.first, a.windows.last)):
            window = ("–", "–") if first < 0 else (degrees(angle[first]), degrees(angle[last]))
            sky = "–" if skyline is None or not np.isfinite(skyline[i]) else f"{skyline[i]:.1f}"
            rows.append([f"{degrees(i * a.settings.bin_width_deg)} to {degrees((i + 1) * a.settings.bin_width_deg)}",
                         f"{row.bin_quality[i]:.2f}", *window, "yes" if row.bin_counts[i] else "no", sky])
        return [Heading(3, "Figures behind the rose and the windows"),
                Table("Quality, window and skyline by azimuth; a dash: none",
                      ["Azimuth [°]", "Quality", "From [°]", "To [°]", "Counts", "Skyline [°]"],
                      rows, [0.22, 0.15, 0.15, 0.13, 0.14, 0.21], (1, 2, 3, 5), is_data=True)]
