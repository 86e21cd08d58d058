"""Stand-ins for QGIS on Qt 6: `qgis.PyQt` as QGIS 4 makes it, any name of the rest of QGIS."""
from __future__ import annotations

import importlib
import importlib.machinery
import sys
import types

MOVED = {"QtWidgets": (("QtGui", ("QAction", "QActionGroup", "QShortcut")),)}
"""What the qgis.PyQt of QGIS 4 puts back where Qt 5 had it. Nothing else: QUndoStack stays in QtGui."""
TYPES = {"Bool": "Bool", "Int": "Int", "LongLong": "LongLong", "Double": "Double", "String": "QString",
         "Date": "QDate", "DateTime": "QDateTime"}
"""Types that the qgis.PyQt of QGIS 4 names in QVariant: their names in QMetaType.Type."""


class _AnyName(type):
    """Classes that have every public attribute and can be combined as flags."""

    def __getattr__(cls, name):
        if name.startswith("__"):
            raise AttributeError(name)
        made = _AnyName(name, (Anything,), {})
        setattr(cls, name, made)
        return made

    def __or__(cls, other):
        return cls

    __and__ = __ror__ = __rand__ = __or__

    def __invert__(cls):
        return cls


class Anything(metaclass=_AnyName):
    """An object of QGIS: takes any arguments, has any method."""

    def __init__(self, *arguments, **named):
        pass

    def __getattr__(self, name):
        return getattr(type(self), name)


class _AnyModule(types.ModuleType):
    """A module that has a class for every public name."""

    __path__ = ()

    def __getattr__(self, name):
        if name.startswith("__"):
            raise AttributeError(name)
        made = _AnyName(name, (Anything,), {"__module__": self.__name__})
        setattr(self, name, made)
        return made


def pyqt_module(name: str) -> types.ModuleType:
    """Return a module of qgis.PyQt, by its name below it, with the names that it has on QGIS 4.

    Raises
    ------
    ImportError
        If PyQt6 has no such module.
    """
    module = types.ModuleType(f"qgis.PyQt.{name}")
    home = importlib.import_module(f"PyQt6.{name}")
    vars(module).update({key: value for key, value in vars(home).items() if not key.startswith("_")})
    for other, names in MOVED.get(name, ()):
        origin = importlib.import_module(f"PyQt6.{other}")
        vars(module).update({key: getattr(origin, key) for key in names})
    if name == "QtCore":
        for old, new in TYPES.items():
            setattr(module.QVariant, old, getattr(module.QMetaType.Type, new))
    return module


class _Finder:
    """Finds stand-ins before the real QGIS, and refuses Qt 5."""

    def find_spec(self, name, path=None, target=None):
        top = name.partition(".")[0]
        if top in ("PyQt5", "sip", "PySide2", "PySide6"):
            raise ImportError(f"{name} is asked for, but only qgis.PyQt is the same on Qt 5 and Qt 6")
        if top in ("qgis", "processing"):
            return importlib.machinery.ModuleSpec(name, self, is_package=not name.startswith("qgis.PyQt."))
        return None

    def create_module(self, spec):
        if spec.name.startswith("qgis.PyQt."):
            return pyqt_module(spec.name[len("qgis.PyQt."):])
        if spec.name in ("qgis", "qgis.PyQt"):
            module = types.ModuleType(spec.name)
            module.__path__ = []
            return module
        return _AnyModule(spec.name)

    def exec_module(self, module):
        pass


def install() -> None:
    """Put the stand-ins before everything else that could be imported."""
    sys.meta_path.insert(0, _Finder())
