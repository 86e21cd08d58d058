"""One arc as a receiver records it: direct signal, reflections from all surfaces, noise, step and interval."""
from __future__ import annotations

from dataclasses import dataclass, field
from typing import Callable, NamedTuple

import numpy as np

from ..arrays import Array, ArrayLike
from ..precision.demand import Receiver
from ..precision.noise import DIFFUSE_PART, SHORTEST_S
from ..reflection.coefficients import fresnel
from ..reflection.roughness import phase_roughness, scaled_bessel_i0
from ..sight.refraction import refraction_deg
from ..sky.sampling import SEMIDIURNAL_S
from .field import reflected
from .standing import Material, Standing

NODES = 64
"""Directions of an arc for which the field is computed; between them it is interpolated."""


def waves_law(rms_m: ArrayLike, elevation_deg: ArrayLike, wavelength_m: ArrayLike) -> Array:
    """Return the coherent part of the field over waves, exp(-2g²) I₀(2g²) (see `siting.reflection.roughness`)."""
    return scaled_bessel_i0(2.0 * phase_roughness(rms_m, elevation_deg, wavelength_m)**2)


def ament_law(rms_m: ArrayLike, elevation_deg: ArrayLike, wavelength_m: ArrayLike) -> Array:
    """Return the coherent part of the field over heights of normal distribution, exp(-2g²) (Ament 1953, copied)."""
    return np.exp(-2.0 * phase_roughness(rms_m, elevation_deg, wavelength_m)**2)


LAWS: dict[str, Callable] = {"waves": waves_law, "Ament": ament_law}


class Tide(NamedTuple):
    """A semidiurnal tide.

    Attributes
    ----------
    low_m, high_m : float
        Relative to the zero level [m].
    begins_s : float
        When it rises through its middle [s].
    """

    low_m: float = 0.0
    high_m: float = 0.0
    begins_s: float = 0.0

    @property
    def mean_m(self) -> float:
        """Its middle [m]."""
        return (self.low_m + self.high_m) / 2.0

    def level_m(self, time_s: ArrayLike) -> Array:
        """Return the level [m]."""
        turn = 2.0 * np.pi * (np.asarray(time_s, float) - self.begins_s) / SEMIDIURNAL_S
        return self.mean_m + (self.high_m - self.low_m) / 2.0 * np.sin(turn)

    def rate(self, time_s: ArrayLike) -> Array:
        """Return how fast it rises [m/s]."""
        turn = 2.0 * np.pi * (np.asarray(time_s, float) - self.begins_s) / SEMIDIURNAL_S
        return np.pi * (self.high_m - self.low_m) / SEMIDIURNAL_S * np.cos(turn)


@dataclass(frozen=True)
class Recorder:
    """With what arcs are recorded, and in which air.

    Attributes
    ----------
    receiver : Receiver
        Intervals below a second count as a second (see `siting.precision.noise.SHORTEST_S`).
    wavelength_m : float
    water : Material
        The water; its roughness is that of the waves.
    law : str
        One of `LAWS`: what roughness leaves of the coherent field.
    cross_phase_rad : float
        Phase between the antenna's two polarisations, which nobody knows [rad].
    bends : bool
        Whether the air bends the rays.
    """

    receiver: Receiver
    wavelength_m: float
    water: Material
    law: str = "waves"
    cross_phase_rad: float = 0.0
    bends: bool = False
    tide: Tide = field(default_factory=Tide)


class Series(NamedTuple):
    """What was recorded of an arc; arrays of shape (samples,). Samples without the satellite in view are left out.

    Attributes
    ----------
    time_s : ndarray
    sine : ndarray
        Of the elevation angle, without bending.
    snr_db : ndarray
        Signal to noise of one second, as recorded [dB].
    """

    time_s: Array
    sine: Array
    snr_db: Array

    @property
    def amplitude(self) -> Array:
        """The recorded signal as an amplitude, in units of the noise of one second."""
        return 10.0 ** (self.snr_db / 20.0)


def _between(place, values):
    """Interpolate complex values at evenly spaced places by cubics through four of them (Catmull & Rom)."""
    if len(values) < 4:
        return np.interp(place, np.arange(len(values)), values)
    first = np.clip(np.floor(place).astype(int), 0, len(values) - 2)
    t = place - first
    padded = np.concatenate([[2 * values[0] - values[1]], values, [2 * values[-1] - values[-2]]])
    a, b, c, d = (padded[first + i] for i in range(4))
    return b + 0.5 * t * (c - a + t * (2 * a - 5 * b + 4 * c - d + t * (3 * (b - c) + d - a)))


class Arriving(NamedTuple):
    """What arrives at the antenna during an arc, before the receiver adds its noise; arrays of shape (samples,).

    Attributes
    ----------
    time_s, sine : ndarray
        See `Series`.
    signal : ndarray of complex
        Direct field and coherent reflections, in units of the noise of one second.
    noise : ndarray
        Standard deviation of what is added to it: thermal noise and diffuse reflection.
    """

    time_s: Array
    sine: Array
    signal: Array
    noise: Array


def arriving(standing: Standing, recorder: Recorder, time_s: Array, sine: Array, azimuth_deg: Array) -> Arriving:
    """Compute what arrives during an arc.

    Parameters
    ----------
    standing : Standing
        What stands around during the arc.
    recorder : Recorder
    time_s, sine, azimuth_deg : ndarray, shape (vertices,)
        The satellite's track: times [s], rising, sin e, and azimuth without jumps [°].

    Returns
    -------
    Arriving
    """
    receiver = recorder.receiver
    step = max(receiver.interval_s, SHORTEST_S)
    time = np.arange(np.ceil(time_s[0] / step), np.floor(time_s[-1] / step) + 1) * step
    x = np.interp(time, time_s, sine)
    azimuth = np.interp(time, time_s, azimuth_deg)
    elevation = np.degrees(np.arcsin(x))
    clear = standing.is_clear(azimuth, elevation)
    time, x, azimuth, elevation = (value[clear] for value in (time, x, azimuth, elevation))
    if len(time) < 2:
        return Arriving(time, x, np.zeros(len(time), complex), np.zeros(len(time)))
    seen = elevation + refraction_deg(elevation) if recorder.bends else elevation
    scale = 10.0 ** (receiver.cn0_dbhz / 20.0)
    direct = scale * receiver.pattern.co_polar(elevation)
    echo, diffuse = _echo(standing, recorder, time, seen, azimuth)
    return Arriving(time, x, direct + scale * echo, np.sqrt((1.0 + scale**2 * diffuse) / 2.0))


def record(arrives: Arriving, receiver: Receiver, rng: np.random.Generator) -> Series:
    """Record what arrives.

    Parameters
    ----------
    arrives : Arriving
    receiver : Receiver
    rng : numpy.random.Generator
        For noise and scatter.

    Returns
    -------
    Series
    """
    number = len(arrives.time_s)
    if number < 2:
        return Series(arrives.time_s, arrives.sine, np.zeros(number))
    noise = rng.normal(size=(2, number)) * arrives.noise
    signal = np.abs(arrives.signal + noise[0] + 1j * noise[1])
    recorded = 20.0 * np.log10(np.maximum(signal, 1e-6)) + receiver.scatter_db * rng.normal(size=number)
    if receiver.step_db > 0:
        recorded = np.round(recorded / receiver.step_db) * receiver.step_db
    return Series(arrives.time_s, arrives.sine, recorded)


def _echo(standing, recorder, time, elevation, azimuth):
    """Sum up the coherent reflections, relative to the direct field at the zenith, and the diffuse power."""
    # evenly spaced directions in sin e, for that is what the fields follow
    level = recorder.tide.level_m(time)
    sine = np.sin(np.radians(elevation))
    nodes = min(NODES, len(time))
    at = np.linspace(0.0, len(time) - 1.0, nodes)
    place = np.arange(len(time)) / (len(time) - 1.0) * (nodes - 1.0)
    node = tuple(np.interp(at, np.arange(len(time)), value) for value in (elevation, azimuth, level))
    pattern = recorder.receiver.pattern
    co, cross = pattern.co_polar(-elevation), pattern.cross_polar(-elevation)
    echo, diffuse = np.zeros(len(time), complex), np.zeros(len(time))
    middle = float(level.mean())
    for piece in standing.surfaces(middle):
        material = recorder.water if piece is None else piece.material
        depth = standing.antenna_m - (level if piece is None else piece.top_m)
        depth_at = standing.antenna_m - (node[2] if piece is None else piece.top_m)
        part = reflected(depth_at, node[0], node[1], recorder.wavelength_m, standing.worth_of(piece, middle))
        if not part.any():
            continue
        smooth = fresnel(material.permittivity, elevation)
        turned = np.exp(1j * recorder.cross_phase_rad)
        gained = co * smooth.co_polar + cross * turned * smooth.cross_polar
        coherent = LAWS[recorder.law](material.rms_m, elevation, recorder.wavelength_m)
        strength = _between(place, part)
        echo += (gained * coherent * strength
                 * np.exp(-4j * np.pi / recorder.wavelength_m * depth * sine))
        power = (co * np.abs(smooth.co_polar))**2 + (cross * np.abs(smooth.cross_polar))**2
        diffuse += DIFFUSE_PART * power * (1.0 - coherent**2) * np.minimum(np.abs(strength), 1.0)**2
    return echo, diffuse


def open_water_arc(sine: Array, height_m: float, amplitude: Array, scatter: Array, wavelength_m: float, draws: int,
                   rng: np.random.Generator) -> Array:
    """Draw the oscillation over open water with noise, and nothing else, for checks of predicted errors.

    Parameters
    ----------
    sine : ndarray, shape (samples,)
        sin e.
    height_m : float
    amplitude, scatter : ndarray, shape (samples,)
        Amplitude of the oscillation, and standard deviation of a sample.
    wavelength_m : float
    draws : int
    rng : numpy.random.Generator

    Returns
    -------
    ndarray, shape (draws, samples)
        Each with a phase of its own.
    """
    phase = rng.uniform(0.0, 2.0 * np.pi, (draws, 1))
    wave = np.cos(4.0 * np.pi * height_m / wavelength_m * np.asarray(sine) + phase)
    return amplitude * wave + scatter * rng.normal(size=wave.shape)
