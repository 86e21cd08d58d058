"""Check the plugin's use of Qt against PyQt6; run by .ci/qt6, one line for each finding."""
from __future__ import annotations

import ast
import importlib
import importlib.util
import sys
import time
import traceback
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))
import qt6_standins

ROOT = Path(__file__).resolve().parents[1]
NAMED = ("processing_algs", "plugin", "sample_layers")
"""Folders whose files may use Qt."""
IMPORTED = ("siting", "processing_algs", "plugin/main.py", "plugin/bench")
"""What QGIS imports, all of it; the rest are scripts."""
PREFIX = "qgis.PyQt"


def files_below(names) -> list:
    """List Python files, of folders and as they are named, in order."""
    paths = [ROOT / name for name in names]
    return [found for path in paths for found in (sorted(path.rglob("*.py")) if path.is_dir() else [path])]


class Names:
    """The names that one file takes from qgis.PyQt, looked up in PyQt6.

    Attributes
    ----------
    findings : dict
        Text of each finding, by line number and name.
    known : dict
        Module or class that each name of the file stands for.
    """

    def __init__(self, path: Path):
        self.path, self.known, self.findings, self.looked_up = path, {}, {}, 0
        self.tree = ast.parse(path.read_text(encoding="utf-8"), str(path))
        spared = self._alternatives()
        for node in ast.walk(self.tree):
            if isinstance(node, (ast.Import, ast.ImportFrom)) and node not in spared:
                self._take(node)
        for node in ast.walk(self.tree):
            if isinstance(node, ast.Attribute):
                self._follow(node)

    def _alternatives(self) -> set:
        """Return imports that need not succeed, for another one stands by: of each try, all but the first that does."""
        spared = set()
        for node in ast.walk(self.tree):
            if isinstance(node, ast.Try) and any(_catches_import_errors(handler) for handler in node.handlers):
                ways = [_imports(node.body)] + [_imports(handler.body) for handler in node.handlers]
                if not all(ways):
                    continue
                works = [not any(missing for one in way for _name, missing in self._look_up(one)) for way in ways]
                kept = works.index(True) if True in works else 0
                spared.update(one for way in ways if way is not ways[kept] for one in way)
        return spared

    def _look_up(self, node) -> list:
        """Return (name in the file, None) and (name, what is missing) for an import of Qt, and keep what was found."""
        told = []
        if isinstance(node, ast.Import):
            names = [(alias.name, "", alias.asname) for alias in node.names if alias.name.startswith(PREFIX)]
        elif node.level or not (node.module or "").startswith(PREFIX):
            names = []
        else:
            names = [(node.module, alias.name, alias.asname or alias.name) for alias in node.names]
        for given, part, called in names:
            module, name = (f"{PREFIX}.{part}", "") if given == PREFIX and part else (given, part)
            missing = None
            try:
                found = importlib.import_module(module)
            except ImportError:
                missing = f"{module} does not exist"
            else:
                if name and not hasattr(found, name):
                    missing = f"{module} has no {name}"
                elif called:
                    self.known[called] = getattr(found, name) if name else found
            told.append((name or module, missing))
        return told

    def _take(self, node) -> None:
        for name, missing in self._look_up(node):
            self.looked_up += 1
            if missing:
                self.findings[node.lineno, name] = missing

    def _follow(self, node: ast.Attribute) -> None:
        """Follow Name.One.Two… as far as it goes through modules and classes."""
        chain = []
        while isinstance(node, ast.Attribute):
            chain.append(node.attr)
            node = node.value
        if not isinstance(node, ast.Name) or node.id not in self.known:
            return
        here, said = self.known[node.id], node.id
        for name in reversed(chain):
            if not isinstance(here, (type, type(ast))):
                return
            self.looked_up += 1
            if not hasattr(here, name):
                self.findings[node.lineno, f"{said}.{name}"] = f"{said} has no {name}"
                return
            here, said = getattr(here, name), f"{said}.{name}"


def _catches_import_errors(handler: ast.ExceptHandler) -> bool:
    kinds = handler.type.elts if isinstance(handler.type, ast.Tuple) else [handler.type]
    return any(isinstance(kind, ast.Name) and kind.id in ("ImportError", "ModuleNotFoundError") for kind in kinds)


def _imports(body) -> list:
    return [node for node in body if isinstance(node, (ast.Import, ast.ImportFrom))]


def look_up_names() -> tuple:
    """Return the findings in all files that may use Qt, and how many names were looked up."""
    findings, count = [], 0
    for path in files_below(NAMED):
        names = Names(path)
        count += names.looked_up
        findings += [f"{path.relative_to(ROOT)}:{line}: {text}" for (line, _), text in sorted(names.findings.items())]
    return findings, count


def import_all() -> tuple:
    """Return the findings on importing all that QGIS imports, and how many modules there are."""
    spec = importlib.util.spec_from_file_location(
        "stillwater", ROOT / "__init__.py", submodule_search_locations=[str(ROOT)])
    package = importlib.util.module_from_spec(spec)
    sys.modules["stillwater"] = package
    spec.loader.exec_module(package)
    stopped, paths = {}, files_below(IMPORTED)
    for path in paths:
        parts = path.relative_to(ROOT).with_suffix("").parts
        name = ".".join(("stillwater", *(part for part in parts if part != "__init__")))
        try:
            importlib.import_module(name)
        except Exception as error:  # whatever it is, QGIS 4 would stop at it
            stopped.setdefault(f"{_place_of(error, path)}: {type(error).__name__}: {error}", []).append(name)
    findings = [f"{text}; so {len(names)} modules do not import: {', '.join(names)}" for text, names in stopped.items()]
    return findings, len(paths)


def _place_of(error: Exception, path: Path) -> str:
    """Return the last line of the plugin in a traceback."""
    frames = [(Path(frame.filename), frame.lineno) for frame in traceback.extract_tb(error.__traceback__)]
    ours = [(name, line) for name, line in frames if ROOT in name.parents and Path(__file__).parent != name.parent]
    name, line = ours[-1] if ours else (path, 1)
    return f"{name.relative_to(ROOT)}:{line}"


def main() -> int:
    """Print what was found; 1 where anything was."""
    began = time.monotonic()
    qt6_standins.install()
    named, names = look_up_names()
    imported, modules = import_all()
    qt5 = sorted(name for name in sys.modules if name.partition(".")[0] == "PyQt5")
    findings = named + imported + [f"{name} was imported" for name in qt5]
    if not names or not modules:
        findings.append("nothing was looked at")
    from PyQt6.QtCore import PYQT_VERSION_STR, QT_VERSION_STR
    for text in findings:
        sys.stdout.write(f"{text}\n")
    sys.stdout.write(f"qt6: PyQt {PYQT_VERSION_STR}, Qt {QT_VERSION_STR}: {names} names looked up, {modules} modules "
                     f"imported, {len(findings)} findings, {time.monotonic() - began:.0f} s\n")
    return bool(findings)


if __name__ == "__main__":
    sys.exit(main())
