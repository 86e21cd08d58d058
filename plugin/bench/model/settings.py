"""What the bench looks with: layers, purpose, levels and signal, remembered with the project."""
from __future__ import annotations

import json
from dataclasses import asdict, dataclass, field
from functools import partial
from typing import ClassVar

from qgis.core import QgsProject

from .parameters import default_of

SCOPE, KEY = "stillwater", "bench"
KINDS = {"str": str, "float": float, "int": int, "list": list}


def as_the_algorithm_has_it(cls):
    """Give each field of a class the default of the parameter that it is named after."""
    for name, kind in cls.__annotations__.items():
        if not kind.startswith("ClassVar"):
            setattr(cls, name, field(default_factory=partial(default_of, name, KINDS[kind])))
    return cls


@dataclass
@as_the_algorithm_has_it
class BenchSettings:
    """Values of the parameters of `stillwater:rankcandidates` that the bench lets the user choose; at first its own.

    PRECISION and CADENCE are 0 where what is usual for the purpose is wanted. Layers are ids of layers of the
    project; empty where none is chosen. What is not here keeps that algorithm's own default. Heights, levels and
    waves are in metres.

    Attributes
    ----------
    DEM … BARRIER_HEIGHT : str
        Layers, and names of their fields.
    CONSTELLATIONS : list of str
    DATE : str
        UTC, ISO 8601.
    DAYS : int
    """

    PURPOSE: str
    PRECISION: float
    CADENCE: float
    HEIGHT_REFERENCE: str
    SURFACE_LEVEL: float
    LEVEL_LOW: float
    LEVEL_HIGH: float
    WAVE_HEIGHT: float
    SIGNAL: str
    CONSTELLATIONS: list
    ORBITS: str
    DATE: str
    DAYS: int
    INTERVAL: float
    MIN_ELEVATION: float
    MAX_ELEVATION: float
    DEM: str
    DEM_WATER: str
    DEM_FAR: str
    GEOID: str
    LANDCOVER: str
    TARGET_CLASSES: str
    WATER: str
    WATER_IS: str
    AVOID: str
    AVOID_FIELD: str
    AVOID_NAME: str
    BARRIERS: str
    BARRIER_HEIGHT: str

    LAYERS = ("DEM", "DEM_FAR", "GEOID", "LANDCOVER", "WATER", "AVOID", "BARRIERS")
    """Which of them are layers."""
    FIELDS_OF: ClassVar[dict[str, str]] = {"AVOID_FIELD": "AVOID", "AVOID_NAME": "AVOID", "BARRIER_HEIGHT": "BARRIERS"}
    """Which of them are fields, and of which layer."""

    USUAL_AT_0 = ("PRECISION", "CADENCE")
    """Which of them are left to the algorithm at 0."""

    def parameters(self) -> dict:
        """Return the parameters that are set, for any Stillwater algorithm that ranks; without INPUT and height.

        Fields of layers that are not chosen are left out, and so are classes without land cover.
        """
        values = {key: value for key, value in asdict(self).items() if value not in ("", None, [])}
        for name in self.USUAL_AT_0:
            if values[name] == 0.0:
                values.pop(name)
        for name, layer in self.FIELDS_OF.items():
            if layer not in values:
                values.pop(name, None)
        if "LANDCOVER" not in values:
            values.pop("TARGET_CLASSES", None)
        return values

    def layer_ids(self) -> list[str]:
        """Return the ids of the layers chosen."""
        return [value for value in (getattr(self, name) for name in self.LAYERS) if value]

    def without(self, layer_id: str) -> BenchSettings:
        """Return the same without a layer."""
        lost = {name: "" for name in self.LAYERS if getattr(self, name) == layer_id}
        return BenchSettings(**{**asdict(self), **lost})

    @classmethod
    def from_project(cls, project: QgsProject) -> BenchSettings:
        """Read what the project remembers; layers that it no longer has are left out."""
        text, _found = project.readEntry(SCOPE, KEY, "")
        try:
            found = dict(json.loads(text or "{}"))
        except (ValueError, TypeError):
            return cls()
        made = cls()
        for name, value in asdict(made).items():
            if name in found and isinstance(found[name], (int, float) if isinstance(value, float) else type(value)):
                setattr(made, name, found[name])
        for name in cls.LAYERS:
            if getattr(made, name) and project.mapLayer(getattr(made, name)) is None:
                setattr(made, name, "")
        return made

    @staticmethod
    def forget(project: QgsProject) -> None:
        """Let the project forget it."""
        if KEY in project.entryList(SCOPE, ""):
            project.removeEntry(SCOPE, KEY)

    def to_project(self, project: QgsProject) -> None:
        """Let the project remember it; nothing is written where nothing has changed."""
        text = json.dumps(asdict(self), sort_keys=True)
        if project.readEntry(SCOPE, KEY, "")[0] != text:
            project.writeEntry(SCOPE, KEY, text)
