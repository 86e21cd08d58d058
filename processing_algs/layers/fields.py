"""Fields of the outputs: one place that builds them, on every QGIS version."""
from __future__ import annotations

import warnings
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from qgis.core import QgsField, QgsFields
from qgis.PyQt.QtCore import QVariant

from ...siting.errors import InputError

MAX_NAME = 10
"""Longest field name: a Shapefile cuts longer ones."""


class Column(NamedTuple):
    """A field of an output: its name, its type and its alias with the unit.

    `kind` is ``text``, ``number``, ``integer``, ``boolean`` or ``time``.
    """

    name: str
    kind: str
    alias: str


SITE = Column("site", "text", "Site")
AZIMUTH = Column("az_deg", "number", "Azimuth [°]")
HEIGHT = Column("height_m", "number", "Height over the surface [m]")


def _field(column: Column) -> QgsField:
    kinds = {"text": QVariant.String, "number": QVariant.Double, "integer": QVariant.LongLong,
             "boolean": QVariant.Bool, "time": QVariant.DateTime}
    with warnings.catch_warnings():
        # newer QGIS prefers QMetaType, which 3.22 refuses
        warnings.simplefilter("ignore", DeprecationWarning)
        length = {"text": 254, "integer": 10}.get(column.kind, 0)
        return QgsField(column.name, kinds[column.kind], "", length)


def fields_of(columns: Iterable[Column]) -> QgsFields:
    """Build QgsFields from columns.

    Raises
    ------
    InputError
        If a name occurs twice.
    """
    fields = QgsFields()
    for column in columns:
        if not fields.append(_field(column)):
            raise InputError(f"The output field “{column.name}” occurs twice.")
    return fields


def with_input_fields(source_fields: QgsFields, columns: Sequence[Column]) -> tuple[QgsFields, list[int], list[str]]:
    """Put INPUT's fields before an output's own, renaming those that clash.

    Parameters
    ----------
    source_fields : QgsFields
    columns : sequence of Column

    Returns
    -------
    fields : QgsFields
    kept : list of int
        Indices of the INPUT fields that are passed on (not `fid`).
    notes : list of str
        What was renamed, for the log.
    """
    taken = {c.name.lower() for c in columns}
    taken |= {f.name().lower() for f in source_fields}
    own = {c.name.lower() for c in columns}
    fields, kept, notes = QgsFields(), [], []
    for index in range(source_fields.count()):
        field = QgsField(source_fields.at(index))
        name = field.name()
        if name.lower() == "fid":
            continue
        if name.lower() in own:
            new = _free_name(name, taken)
            taken.add(new.lower())
            notes.append(f"Field “{name}” of INPUT clashes with an output field and is renamed “{new}”.")
            field.setName(new)
        if not fields.append(field):
            raise InputError(f"Field “{name}” of INPUT cannot be passed on: its name is taken. Rename it.")
        kept.append(index)
    for field in fields_of(columns):
        if not fields.append(field):
            raise InputError(f"The output field “{field.name()}” occurs twice.")
    return fields, kept, notes


def _free_name(name: str, taken: set) -> str:
    new = (name + "_in")[:MAX_NAME]
    number = 1
    while new.lower() in taken:
        number += 1
        new = (name + "_in")[:MAX_NAME - len(str(number))] + str(number)
    return new
