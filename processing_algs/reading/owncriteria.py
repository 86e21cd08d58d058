"""The analyst's own criteria: numeric fields of the candidates that enter the score."""
from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from qgis.core import NULL, QgsFeature, QgsProcessingFeatureSource

from ...siting.errors import InputError

if TYPE_CHECKING:
    from .given import Given

COLUMNS = ["Field", "Worth nothing at", "Worth all from", "Weight"]


class OwnCriterion(NamedTuple):
    """One row of OWN_CRITERIA; its direction is that from `worst` to `best`."""

    field: str
    worst: float
    best: float
    weight: float


def read_own_rows(given: Given) -> list[OwnCriterion]:
    """Read OWN_CRITERIA; an empty list where it is not given or the algorithm does not take it.

    Raises
    ------
    InputError
        If a row is incomplete, no number, or a field stands twice.
    """
    if not (given.takes("OWN_CRITERIA") and given.is_given("OWN_CRITERIA")):
        return []
    given_cells = given.algorithm.parameterAsMatrix(given.parameters, "OWN_CRITERIA", given.context)
    cells = [str(cell).strip() for cell in given_cells]
    if not any(cells):
        return []
    if len(cells) % len(COLUMNS):
        raise InputError(f"OWN_CRITERIA has {len(cells)} cells; each row needs {len(COLUMNS)}: {', '.join(COLUMNS)}.")
    found = []
    for start in range(0, len(cells), len(COLUMNS)):
        name, *texts = cells[start:start + len(COLUMNS)]
        try:
            worst, best, weight = (float(text) for text in texts)
        except ValueError:
            raise InputError(f"OWN_CRITERIA, row {start // len(COLUMNS) + 1} ({name}): {', '.join(texts)} are no "
                             "three numbers. Give what is worth nothing, what is worth all, and the weight.") from None
        if not all(math.isfinite(number) for number in (worst, best, weight)):
            raise InputError(f"OWN_CRITERIA, row {start // len(COLUMNS) + 1} ({name}): {', '.join(texts)} must all be "
                             "finite numbers.")
        if worst == best or weight <= 0:
            raise InputError(f"OWN_CRITERIA, row {start // len(COLUMNS) + 1} ({name}): {worst:g} and {best:g} must "
                             f"differ, and the weight {weight:g} must be above 0.")
        if any(criterion.field.lower() == name.lower() for criterion in found):
            raise InputError(f"OWN_CRITERIA names the field “{name}” twice.")
        found.append(OwnCriterion(name, worst, best, weight))
    return found


def own_figures(rows: list[OwnCriterion], source: QgsProcessingFeatureSource, feature: QgsFeature) -> dict[str, float]:
    """Read a candidate's own properties.

    Parameters
    ----------
    rows : list of OwnCriterion
    source : QgsProcessingFeatureSource
    feature : QgsFeature

    Returns
    -------
    dict of str to float
        NaN where a value is missing or no number.

    Raises
    ------
    InputError
        If the layer has no such field.
    """
    values = {}
    for row in rows:
        index = source.fields().lookupField(row.field)
        if index < 0:
            raise InputError(f"OWN_CRITERIA: layer “{source.sourceName()}” has no field “{row.field}”. It has: "
                             f"{', '.join(f.name() for f in source.fields())}.")
        value = feature.attribute(index)
        try:
            number = math.nan if value is None or value == NULL else float(value)
        except (TypeError, ValueError):
            number = math.nan
        values[row.field] = number if math.isfinite(number) else math.nan
    return values
