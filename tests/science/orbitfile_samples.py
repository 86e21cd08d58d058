"""Orbit files of every format, written from one set of mean elements, and real elements from Debian.

The satellites are invented: eight in six planes, with the height, inclination and eccentricity of GPS.
"""

import csv
import json
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache
from pathlib import Path
from xml.sax.saxutils import escape

import numpy as np
from scipy.optimize import least_squares
from scipy.spatial.transform import Rotation
from skyfield.api import EarthSatellite, load
from skyfield.framelib import itrs

EPOCH = datetime(2026, 6, 1)
"""UTC, and the epoch of the elements in every format."""
EPOCH_S = 1_780_272_000.0
"""The same in seconds since 1970: 20605 days, from Python's calendar."""
GPS_WEEK, IN_WEEK_S = 2421, 86_418
"""The same in GPS time: 2421 weeks and a day after 1980-01-06, and 18 s of leap seconds (IERS Bulletin C)."""
GM = 3.986005e14
EARTH_RATE = 7.2921151467e-5
"""Both as IS-GPS-200 sets them, m³/s² and rad/s (from memory)."""
J2, EARTH_RADIUS_M = 1.08263e-3, 6_378_137.0
"""WGS 84 (from memory)."""
SATDATA = Path("/usr/share/gpredict/data/satdata")
"""Real two-line elements in Debian's package gpredict: of January 2018 in Debian 12, of January 2021 in Debian 13."""


@dataclass(frozen=True)
class Elements:
    """Mean elements of one satellite, with the digits that two lines hold."""

    prn: int
    node_deg: float
    anomaly_deg: float
    perigee_deg: float
    eccentricity: float
    inclination_deg: float = 55.0
    revs_per_day: float = 2.00561923

    @property
    def name(self):
        return f"GPS TEST-{self.prn} (PRN {self.prn:02d})"

    @property
    def number(self):
        return 90_000 + self.prn


SATELLITES = [
    Elements(1, 12.3456, 10.5, 40.0, 0.0052345), Elements(2, 72.1, 130.25, 250.1234, 0.0101),
    Elements(5, 132.75, 200.0, 10.0, 0.0006), Elements(9, 192.5, 310.1, 120.0, 0.0083, 55.9),
    Elements(13, 252.0, 75.0, 300.0, 0.0031, 54.2, 2.0056), Elements(17, 312.25, 0.0, 0.0, 0.0),
    Elements(24, 12.3, 240.0, 95.5, 0.0112), Elements(32, 132.6, 20.0, 182.0, 0.0045, 55.4)]


def gpredict_sets(catalogue):
    """Return name and both lines of each satellite that a catalogue such as `gps-ops` names.

    Where the package is not installed, the tests that need it fail; none is skipped.
    """
    wanted = [line for line in (SATDATA / f"{catalogue}.cat").read_text().split("\n")[1:] if line.strip()]
    sets, number = {}, None
    for line in (SATDATA / "satellites.dat").read_text().splitlines():
        if line.startswith("["):
            number = line[1:-1]
            sets[number] = {}
        elif "=" in line:
            key, _, value = line.partition("=")
            sets[number][key] = value
    return [(sets[one]["NAME"], sets[one]["TLE1"], sets[one]["TLE2"]) for one in wanted]


def gpredict_start_s():
    """Return the middle of the epochs of the GPS elements, to the hour, UTC [s]."""
    epochs = []
    for _name, first, _second in gpredict_sets("gps-ops"):
        year = datetime(2000 + int(first[18:20]), 1, 1)
        epochs.append((year - datetime(1970, 1, 1)).total_seconds() + 86_400 * (float(first[20:32]) - 1))
    return float(np.median(epochs) // 3600 * 3600)


def write_gpredict(path, *catalogues):
    """Write real elements as a file of three-line sets."""
    sets = [one for catalogue in catalogues for one in gpredict_sets(catalogue)]
    path.write_text("".join(f"{name}\n{first}\n{second}\n" for name, first, second in sets))
    return path


def closed(line):
    """Add the checksum to a line of two-line elements: digits and minus signs, modulo 10."""
    return line + str(sum(int(one) if one.isdigit() else one == "-" for one in line) % 10)


def two_lines(one, drag=" 00000+0", day="26152.00000000"):
    """Return both lines of a satellite; 2026-06-01 is the 152nd day."""
    return (closed(f"1 {one.number:05d}U 24001A   {day}  .00000000  00000+0 {drag} 0    1"),
            closed(f"2 {one.number:05d} {one.inclination_deg:8.4f} {one.node_deg:8.4f} "
                   f"{round(one.eccentricity * 1e7):07d} {one.perigee_deg:8.4f} {one.anomaly_deg:8.4f} "
                   f"{one.revs_per_day:11.8f}    1"))


def decaying():
    """Return elements with so much drag that SGP4 gives up after a day: B* of 0.1e9 Earth radii⁻¹."""
    return two_lines(Elements(3, 57.0, 0.0, 57.0, 0.2, 57.0, 2.0), drag=" 10000+9")


def omm_fields(one):
    """Return the keywords of an OMM."""
    return {"OBJECT_NAME": one.name, "OBJECT_ID": "2024-001A", "EPOCH": EPOCH.isoformat() + ".000000",
            "MEAN_MOTION": one.revs_per_day, "ECCENTRICITY": one.eccentricity, "INCLINATION": one.inclination_deg,
            "RA_OF_ASC_NODE": one.node_deg, "ARG_OF_PERICENTER": one.perigee_deg, "MEAN_ANOMALY": one.anomaly_deg,
            "EPHEMERIS_TYPE": 0, "CLASSIFICATION_TYPE": "U", "NORAD_CAT_ID": one.number, "ELEMENT_SET_NO": 1,
            "REV_AT_EPOCH": 1, "BSTAR": 0, "MEAN_MOTION_DOT": 0, "MEAN_MOTION_DDOT": 0}


def omm_xml(satellites):
    """Return an XML document after CCSDS 502.0-B and 505.0-B (from memory)."""
    def tags(fields, *names):
        return "".join(f"<{name}>{escape(str(fields[name]))}</{name}>" for name in names)
    messages = ""
    for one in satellites:
        fields = {**omm_fields(one), "CENTER_NAME": "EARTH", "REF_FRAME": "TEME", "TIME_SYSTEM": "UTC",
                  "MEAN_ELEMENT_THEORY": "SGP4"}
        messages += (
            '<omm id="CCSDS_OMM_VERS" version="2.0">\n<header/><body><segment><metadata>'
            + tags(fields, "OBJECT_NAME", "OBJECT_ID", "CENTER_NAME", "REF_FRAME", "TIME_SYSTEM", "MEAN_ELEMENT_THEORY")
            + "</metadata>\n<data><meanElements>"
            + tags(fields, "EPOCH", "MEAN_MOTION", "ECCENTRICITY", "INCLINATION", "RA_OF_ASC_NODE", "ARG_OF_PERICENTER",
                   "MEAN_ANOMALY")
            + "</meanElements><tleParameters>"
            + tags(fields, "EPHEMERIS_TYPE", "CLASSIFICATION_TYPE", "NORAD_CAT_ID", "ELEMENT_SET_NO", "REV_AT_EPOCH",
                   "BSTAR", "MEAN_MOTION_DOT", "MEAN_MOTION_DDOT")
            + "</tleParameters></data></segment></body></omm>\n")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n<ndm>\n{messages}</ndm>\n'


def secular_values(one):
    """Return what an almanac would say of the mean orbit: angles [rad], rate [rad/s], root of the axis [√m].

    Kozai's mean motion counts from perigee to perigee; an almanac's argument of latitude has no turning perigee,
    so its mean motion is that and the perigee's. Secular rates by J2 to first order: Vallado, Fundamentals of
    Astrodynamics and Applications (from memory). The node is counted from Greenwich at the beginning of the week,
    IS-GPS-200 table 20-IV; sidereal time of 1982 (Aoki and others 1982).
    """
    motion = one.revs_per_day * 2 * np.pi / 86_400
    inclination = np.radians(one.inclination_deg)
    rate = 1.5 * J2 * (EARTH_RADIUS_M / np.cbrt(GM / motion**2)) ** 2 * motion
    perigee_rate = rate * (2 - 2.5 * np.sin(inclination) ** 2)
    centuries = (EPOCH_S - 946_728_000) / 86_400 / 36_525
    sidereal_s = 67_310.54841 + 3_164_400_184.812866 * centuries + 0.093104 * centuries**2
    return {"eccentricity": one.eccentricity, "inclination": inclination, "rate": -rate * np.cos(inclination),
            "root": np.sqrt(np.cbrt(GM / (motion + perigee_rate) ** 2)),
            "node": np.radians((one.node_deg - sidereal_s / 240) % 360) + EARTH_RATE * IN_WEEK_S,
            "perigee": np.radians(one.perigee_deg), "anomaly": np.radians(one.anomaly_deg)}


def kepler_positions_m(value, since_s, in_week_s=IN_WEEK_S):
    """Return where almanac values put a satellite, `since_s` after their time, Earth-fixed [m].

    A solver of the tests' own: Kepler's equation by repeated substitution, then rotations one after the other.
    """
    mean = value["anomaly"] + np.sqrt(GM) / value["root"] ** 3 * since_s
    anomaly = mean
    for _ in range(60):
        anomaly = mean + value["eccentricity"] * np.sin(anomaly)
    plane = np.stack([np.cos(anomaly) - value["eccentricity"],
                      np.sqrt(1 - value["eccentricity"] ** 2) * np.sin(anomaly), 0 * anomaly], axis=-1)
    node = value["node"] + value["rate"] * since_s - EARTH_RATE * (in_week_s + since_s)
    turned = Rotation.from_euler("ZXZ", [[0, value["inclination"], value["perigee"]]]).apply(plane)
    return value["root"] ** 2 * Rotation.from_euler("Z", node[:, None]).apply(turned)  # SciPy 1.17 asks for the axis


@cache
def almanac_values(one):
    """Fit an almanac to where skyfield has the satellite in the day after the epoch, as its publishers do.

    The mean elements of SGP4 leave out what the oblate Earth, Moon and Sun do to an orbit once a revolution: put
    into an almanac as they are, they are 36 km off. Fitted, it is the eccentricity that takes most of that in.
    """
    start = secular_values(one)
    since_s = np.arange(0, 86_401, 900.0)
    truth = skyfield_positions_m(*two_lines(one), EPOCH_S + since_s)
    scale = np.array([1, 1, 1, 1, 1e-5, 100, 1])  # so that each moves the satellite alike in a day

    def values(change):
        # e cos ω, e sin ω and ω + M stay defined on a circle, where ω alone is not
        x, y, latitude, inclination, rate, root, node = change * scale
        x += start["eccentricity"] * np.cos(start["perigee"])
        y += start["eccentricity"] * np.sin(start["perigee"])
        perigee = np.arctan2(y, x)
        return {"eccentricity": np.hypot(x, y), "inclination": start["inclination"] + inclination,
                "rate": start["rate"] + rate, "root": start["root"] + root, "node": start["node"] + node,
                "perigee": perigee, "anomaly": start["perigee"] + start["anomaly"] + latitude - perigee}

    fit = least_squares(lambda change: (kepler_positions_m(values(change), since_s) - truth).ravel() / 1000,
                        np.zeros(7), x_scale="jac", xtol=1e-12)
    value = values(fit.x)
    for angle in ("node", "perigee", "anomaly"):
        value[angle] = (value[angle] + np.pi) % (2 * np.pi) - np.pi
    return value


def yuma(satellites, week=GPS_WEEK, health=0, in_week_s=IN_WEEK_S):
    """Return a YUMA almanac, with the digits that are published (from memory)."""
    text = ""
    for one in satellites:
        value = almanac_values(one)
        text += (f"******** Week {week % 1024} almanac for PRN-{one.prn:02d} ********\n"
                 f"ID:                         {one.prn:02d}\nHealth:                     {health:03d}\n"
                 f"Eccentricity:               {value['eccentricity']:.10E}\n"
                 f"Time of Applicability(s):  {in_week_s:.4f}\n"
                 f"Orbital Inclination(rad):   {value['inclination']:.10f}\n"
                 f"Rate of Right Ascen(r/s):  {value['rate']:.10E}\n"
                 f"SQRT(A)  (m 1/2):           {value['root']:.6f}\n"
                 f"Right Ascen at Week(rad):  {value['node']:.10E}\n"
                 f"Argument of Perigee(rad):   {value['perigee']:.9f}\n"
                 f"Mean Anom(rad):            {value['anomaly']:.10E}\nAf0(s):                     0.0000000000E+00\n"
                 f"Af1(s/s):                   0.0000000000E+00\nweek:                        {week}\n\n")
    return text


def sem(satellites, week=GPS_WEEK % 1024, health=0):
    """Return a SEM almanac, with the digits that are published (from memory)."""
    text = f"{len(satellites):2d}  CURRENT.ALM\n{week:5d} {IN_WEEK_S:6d}\n\n"
    for one in satellites:
        value = almanac_values(one)
        text += (f"{one.prn}\n{one.prn + 40}\n0\n"
                 f"{value['eccentricity']: .14E} {value['inclination'] / np.pi - 0.3: .14E} "
                 f"{value['rate'] / np.pi: .14E}\n"
                 f"{value['root']: .14E} {value['node'] / np.pi: .14E} {value['perigee'] / np.pi: .14E}\n"
                 f"{value['anomaly'] / np.pi: .14E} {0: .14E} {0: .14E}\n{health}\n11\n\n")
    return text


def sp3(positions_m, first, step_s, version="d", system="GPS", velocity=False, ended=True):
    """Return an SP3 file of positions {satellite: array (epochs, 3) [m]}, epochs from `first` in its time system.

    NaN is written as 0.000000. Columns after Hilla 2010 and 2016 (from memory).
    """
    names = list(positions_m)
    count = len(positions_m[names[0]])
    lines = [f"#{version}P{first:%Y %m %d %H %M %S}.00000000 {count:7d} ORBIT IGS20 FIT TEST",
             "## 2421  86418.00000000 " + f"{step_s:14.8f} 61192 0.0000000000000"]
    for begin in range(0, max(len(names), 85), 17):
        part = names[begin:begin + 17]
        lines.append(f"+  {len(names) if begin == 0 else '':>3}   " + "".join(f"{name:>3}" for name in part)
                     + "  0" * (17 - len(part)))
    lines += ["++         " + "  0" * 17] * 5
    lines += [f"%c M  cc {system} ccc cccc cccc cccc cccc ccccc ccccc ccccc ccccc",
              "%c cc cc ccc ccc cccc cccc cccc cccc ccccc ccccc ccccc ccccc",
              "%f  1.2500000  1.025000000  0.00000000000  0.000000000000000",
              "%i    0    0    0    0      0      0      0      0         0", "/* INVENTED, FOR A TEST"]
    for index in range(count):
        moment = first + timedelta(seconds=index * step_s)
        lines.append(f"*  {moment:%Y} {moment.month:2d} {moment.day:2d} {moment.hour:2d} {moment.minute:2d} "
                     f"{moment.second:2d}.00000000")
        for name in names:
            x, y, z = np.nan_to_num(positions_m[name][index]) / 1000
            lines.append(f"P{name}{x:14.6f}{y:14.6f}{z:14.6f} 999999.999999")
            if velocity:
                lines.append(f"V{name}{1:14.6f}{2:14.6f}{3:14.6f} 999999.999999")
                lines.append("EP  55  55  55     222")
    return "\n".join(lines + ["EOF"] * ended) + "\n"


def skyfield_positions_m(first, second, utc_s):
    """Return where skyfield has a satellite, in ITRS without polar motion [m], shape (times, 3)."""
    scale = load.timescale(builtin=True)
    days, seconds = np.divmod(np.asarray(utc_s, float), 86_400.0)
    moment = scale.utc(1970, 1, 1 + days, 0, 0, seconds)
    return EarthSatellite(first, second, ts=scale).at(moment).frame_xyz(itrs).m.T


def write_all(folder, satellites=SATELLITES, before_s=21_600, after_s=108_000, step_s=900):
    """Write the same satellites in every format.

    SP3 is tabulated by skyfield from the two-line elements, from `before_s` before the epoch to `after_s` after it.

    Returns
    -------
    dict
        Path by format: `tle`, `omm_xml`, `omm_json`, `omm_csv`, `yuma`, `sem`, `sp3c`, `sp3d`.
    """
    folder = Path(folder)
    fields = [omm_fields(one) for one in satellites]
    utc_s = EPOCH_S + np.arange(-before_s, after_s + 1, step_s)
    table = {f"G{one.prn:02d}": skyfield_positions_m(*two_lines(one), utc_s) for one in satellites}
    first = EPOCH + timedelta(seconds=18 - before_s)
    texts = {
        "tle": "".join(f"{one.name}\n{a}\n{b}\n" for one in satellites for a, b in [two_lines(one)]),
        "omm_xml": omm_xml(satellites), "omm_json": json.dumps(fields, indent=1),
        "yuma": yuma(satellites), "sem": sem(satellites),
        "sp3c": sp3(table, first, step_s, "c"), "sp3d": sp3(table, first, step_s, "d", velocity=True)}
    paths = {}
    for kind, text in texts.items():
        paths[kind] = folder / f"{kind}.txt"  # the name tells nothing, so that the content must
        paths[kind].write_text(text, encoding="utf-8")
    paths["omm_csv"] = folder / "omm_csv.txt"
    with open(paths["omm_csv"], "w", newline="", encoding="utf-8") as file:
        table_writer = csv.DictWriter(file, list(fields[0]))
        table_writer.writeheader()
        table_writer.writerows(fields)
    return paths
