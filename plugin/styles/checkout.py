"""Importing what this checkout holds, whatever its folder is called."""
from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

ROOT = Path(__file__).resolve().parents[2]


def package(name: str) -> ModuleType:
    """Import a module of the package whatever the checkout's folder is called."""
    if "stillwater" not in sys.modules:
        spec = importlib.util.spec_from_file_location(
            "stillwater", ROOT / "__init__.py", submodule_search_locations=[str(ROOT)])
        sys.modules["stillwater"] = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(sys.modules["stillwater"])
    return importlib.import_module(f"stillwater.{name}")


palette = package("siting.charts.palette")
