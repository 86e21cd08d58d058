"""What the bench's settings are called: as the algorithm's parameters are."""
from __future__ import annotations

from html import escape

from ....processing_algs.algorithms.rankcandidates import RankCandidatesAlgorithm


class ParameterTexts:
    """Labels, help and limits of the parameters of `stillwater:rankcandidates`: their one source."""

    def __init__(self):
        # kept, for definitions end with their algorithm
        self._algorithm = RankCandidatesAlgorithm()
        self._algorithm.initAlgorithm({})

    def definition(self, name: str):
        """Return the definition of a parameter."""
        return self._algorithm.parameterDefinition(name)

    def label(self, name: str) -> str:
        """Return what a parameter is called."""
        return self._algorithm.tr(self.definition(name).description())

    def tip(self, name: str) -> str:
        """Return a parameter's help, wrapped by the window."""
        return f"<p>{escape(self._algorithm.tr(self.definition(name).help()))}</p>"
