"""What the bench's settings are called and what they are at first: as the algorithm's parameters have it."""
from __future__ import annotations

from functools import lru_cache
from html import escape
from typing import Any

from qgis.core import QgsProcessingParameterDefinition

from ....processing_algs.algorithms.rankcandidates import RankCandidatesAlgorithm


class ParameterTexts:
    """Labels, help and limits of the parameters of `stillwater:rankcandidates`: their one source."""

    def __init__(self):
        # kept, for definitions end with their algorithm
        self._algorithm = RankCandidatesAlgorithm()
        self._algorithm.initAlgorithm({})

    def definitions(self) -> list:
        """Return the definitions of all parameters."""
        return self._algorithm.parameterDefinitions()

    def definition(self, name: str) -> QgsProcessingParameterDefinition:
        """Return the definition of a parameter."""
        return self._algorithm.parameterDefinition(name)

    def label(self, name: str) -> str:
        """Return what a parameter is called."""
        return self._algorithm.tr(self.definition(name).description())

    def tip(self, name: str) -> str:
        """Return a parameter's help, wrapped by the window."""
        return f"<p>{escape(self._algorithm.tr(self.definition(name).help()))}</p>"


@lru_cache(maxsize=1)
def _defaults() -> dict:
    texts = ParameterTexts()
    return {definition.name(): definition.defaultValue() for definition in texts.definitions()}


def default_of(name: str, kind: type) -> Any:
    """Return what a parameter is where nobody has chosen.

    Parameters
    ----------
    name : str
    kind : type
        Of the value; of a parameter without a default its empty value, such as 0.0 or "".
    """
    found = _defaults()[name]
    return kind() if found is None else kind(found)
