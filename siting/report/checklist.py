"""A checklist for one site: what to see to when it is built, why, and who asks for it.

Sources, by their short names: IGS: Guidelines for Continuously Operating
Reference Stations in the IGS, 2023. NGS: Guidelines for New and Existing CORS,
National Geodetic Survey. GLOSS: IOC Manuals and Guides 14. WMO: OSCAR
requirement 699, snow depth.
"""
from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from ..purposes import Purpose

COMMON = "common practice"
IGS, NGS = "IGS CORS guidelines 2023", "NGS CORS guidelines"
GLOSS, WMO = "GLOSS, IOC Manuals and Guides 14", "WMO OSCAR requirement 699"


class Item(NamedTuple):
    """One thing to see to: what, why here, and its source."""

    what: str
    why: str
    source: str


@dataclass(frozen=True)
class Facts:
    """What of a site the checklist speaks of.

    Attributes
    ----------
    purpose : Purpose
    lowest_deg, highest_deg : float
        Lowest and highest angle of any direction that counts [°]; the limits looked at where none does.
    directions : str
        Where the directions lie that count, in words; empty where none does.
    systems : tuple of str
        Satellite systems looked at.
    arcs_day : int
    int_rec_s : float or None
        Recommended interval [s].
    int_max_s : float
        Longest interval that resolves every usable arc [s]; NaN without one.
    greatest_height_m, clearance_m, needed_m : float
        Height over the lowest and the highest level, and the least asked for over the highest [m].
    spoilers : tuple of str
        Areas to avoid that touch the footprints.
    tide_shift_m : float
        Greatest shift of single arcs by the tide [m].
    """

    purpose: Purpose
    lowest_deg: float
    highest_deg: float
    directions: str
    systems: tuple
    arcs_day: int
    int_rec_s: float | None
    int_max_s: float
    greatest_height_m: float
    clearance_m: float
    needed_m: float
    spoilers: tuple
    tide_shift_m: float


def checklist(facts: Facts) -> list[Item]:
    """List what to see to at a site.

    Parameters
    ----------
    facts : Facts

    Returns
    -------
    list of Item
    """
    return [*_receiver(facts), *_place(facts), *_safety(facts)]


def _receiver(f: Facts) -> list[Item]:
    window = f"{f.lowest_deg:g} to {f.highest_deg:g}°"
    items = [
        Item("Set no elevation mask in the receiver; put the mask of this sheet into the processing",
             f"The reflections used here come at {window}. A usual mask of 10 or 15° would "
             + ("throw away all of them." if f.highest_deg <= 10 else "throw away the low ones for good."
                if f.lowest_deg < 15 else "do no harm here, but what lies below may serve later."),
             f"{IGS} (track to 0°, 5° acceptable); {NGS} (5° required, 0° preferred)"),
        Item("Switch off multipath mitigation and smoothing",
             "They suppress the very reflections that are to be measured.", IGS),
        Item("Track all constellations and frequencies that the receiver has",
             f"The {f.arcs_day} usable arcs of the worst day need {', '.join(f.systems)}; each frequency is one more "
             "look at the same surface.", f"{IGS} (GPS, GLONASS, Galileo, BeiDou)"),
        Item("Record SNR (signal strength) for every signal, in RINEX 3 or later, unrounded",
             "The height comes from the SNR of each signal by itself; older formats mix signals or round to whole "
             "steps.", f"{IGS} (SNR per frequency); RINEX 3 and resolution: {COMMON}"),
        _interval(f),
        Item("Archive at the logged rate, not thinned out",
             "Files thinned to 30 s resolve only low antennas; what is thrown away does not come back."
             if f.int_rec_s is not None and f.int_rec_s < 30 else
             "Later work on the sampling needs what was logged.", COMMON)]
    if f.purpose.is_tidal:
        items.append(Item(
            "Keep the clock of the logger on UTC to within a minute; give values at least hourly, better every 6 "
            "or 15 minutes", "A tide is worth what its time is worth.", GLOSS))
    if f.tide_shift_m >= 0.01:
        items.append(Item(
            "Process rising and setting arcs together, or solve for the rate of the level",
            f"The tide shifts single arcs by up to {f.tide_shift_m:.2f} m here.", COMMON))
    return items


def _interval(f: Facts) -> Item:
    if f.int_rec_s is None:
        return Item("Settle the logging interval once there are usable arcs",
                    "No usable arc, or none slow enough, so no interval can be recommended.", COMMON)
    source = f"sampling theorem (Shannon 1949); {IGS} ask for 30 s or shorter"
    return Item(f"Log every {f.int_rec_s:g} s or faster",
                f"{f.greatest_height_m:.1f} m over the lowest level needs at most {f.int_max_s:.2g} s; the rest is a "
                "margin of 1.5.", source)


def _place(f: Facts) -> list[Item]:
    surface = f.purpose.clearance_from
    where = f"most of all {f.directions}" if f.directions else "all around"
    items = [
        Item("Take photographs from the antenna in the eight compass directions, dated, at low and at high level",
             f"They show what no layer knows, {where}.", f"{NGS} (photographs); low and high level: {COMMON}"),
        Item("Build a firm, stable monument, not on what settles, sways or is rebuilt",
             "A millimetre that the antenna sinks is a millimetre of false level; ask for stable surroundings for "
             "15 years.", f"{NGS} (15 years)"),
        Item(f"Keep the antenna {max(f.needed_m, 0.0):g} m or more above the {surface}" if f.needed_m > 0 else
             f"Keep the antenna well above the {surface}",
             f"Here it stands {f.clearance_m:.2f} m above it"
             + (", which is too little." if f.clearance_m + 1e-9 < f.needed_m else ".")
             + " Waves, spray, drift and ice reach higher than the ordinary level.", COMMON)]
    if f.purpose.is_water:
        told = ", ".join(f.spoilers[:5]) + (f" and {len(f.spoilers) - 5} more" if len(f.spoilers) > 5 else "")
        items.append(Item(
            "Look for ships, moorings and surf in the directions used",
            f"Known to touch the footprints: {told}." if f.spoilers else
            "No area to avoid that was given touches the footprints; traffic that no layer knows still may.", COMMON))
        often = (f"{GLOSS} (about once a year, to a few mm; better than 1 cm)" if f.purpose.is_tidal else COMMON)
        items.append(Item(
            "Level the antenna to at least three bench marks, and again every year",
            "Only levelling ties the reflections to a datum and shows whether the monument moves.", often))
    elif f.purpose.is_depth:
        items.append(Item(
            "Measure the bare ground before the first snow, by survey and by a month of data",
            "Snow depth is the difference to it; it is wanted to 2 cm at least, better 0.5 cm.", WMO))
    else:
        items.append(Item(
            "Take soil samples in the footprints for calibration, and note plants and tillage",
            "Reflections tell of the uppermost centimetres, changed by plants and roughness.", COMMON))
    return items


def _safety(f: Facts) -> list[Item]:
    items = [
        Item("Plan work at height: fall protection, rescue, tools secured, no work alone",
             f"The antenna stands {f.greatest_height_m:.1f} m over the lowest surface.",
             f"{COMMON}; local codes come first")]
    if f.purpose.is_water:
        items.append(Item("Plan work by the water: life jackets, tide and weather watched, a way out",
                          "The site stands at the water's edge.", f"{COMMON}; local codes come first"))
    elif f.purpose.is_depth:
        items.append(Item("Look into avalanches, roof loads and access in winter",
                          "The site is visited in snow.", f"{COMMON}; local codes come first"))
    items += [
        Item("Keep masts away from power lines; earth and protect them against lightning, by a licensed electrician",
             "A mast that falls or a cable that lies open kills.", f"{COMMON}; local codes come first"),
        Item("Get the owner's leave, permits and licensed design for structure, power and radio",
             "This sheet is geometry on maps: no survey, no structural or electrical design, not for navigation.",
             f"{COMMON}; local codes come first")]
    return items
