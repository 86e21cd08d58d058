"""Print, as Python that pylupdate5 reads, the labels and helps of the parameters that the bench shows."""
from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "styles"))
from checkout import package


def main() -> None:
    """Write one line for each text."""
    algorithm = package("processing_algs.algorithms.rankcandidates").RankCandidatesAlgorithm()
    algorithm.initAlgorithm({})
    names = ["ANTENNA_HEIGHT", *package("plugin.bench.model.settings").BenchSettings().__dict__]
    lines = ["from PyQt5.QtCore import QCoreApplication"]
    for name in names:
        definition = algorithm.parameterDefinition(name)
        lines += [f'QCoreApplication.translate("Stillwater", {ascii_safe(text)})'
                  for text in (definition.description(), definition.help())]
    sys.stdout.write("\n".join(lines) + "\n")


def ascii_safe(text: str) -> str:
    """Quote a text on one line, in double quotes."""
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


main()
