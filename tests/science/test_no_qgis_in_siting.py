"""Rules of the house that a parser can check, over all Python sources of the repository."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
NOT_OURS = {"build", "dist", ".git", ".qgis-settings", "__pycache__", ".venv", "venv"}
LONGEST_FILE_LINES = 400
QGIS_PACKAGES = {"qgis", "PyQt5", "PyQt6", "processing", "sip"}
FORBIDDEN_NAMES = {"util", "utils", "helper", "helpers", "misc", "common"}

SOURCES = sorted(
    path for path in ROOT.rglob("*.py") if not NOT_OURS.intersection(path.relative_to(ROOT).parts))
SITING = [path for path in SOURCES if path.is_relative_to(ROOT / "siting")]
SHIPPED = [
    path for path in SOURCES
    if path.relative_to(ROOT).parts[0] in {"__init__.py", "siting", "processing_algs", "plugin"}]


def name_of(path: Path) -> str:
    """Give a test the path below the root for a name."""
    return str(path.relative_to(ROOT))


def nodes(path: Path, *kinds: type) -> list:
    """List a file's syntax nodes of some kinds."""
    return [node for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))) if isinstance(node, kinds)]


def is_call_of(node: ast.Call, name: str) -> bool:
    """Tell whether a call is of a plain name."""
    return isinstance(node.func, ast.Name) and node.func.id == name


def test_the_checks_see_the_sources():
    assert ROOT / "tests" / "conftest.py" in SOURCES
    assert len(SITING) >= 5
    assert ROOT / "processing_algs" / "provider.py" in SHIPPED


@pytest.mark.parametrize("path", SITING, ids=name_of)
def test_the_science_names_no_qgis_and_nothing_above_itself(path):
    depth = len(path.relative_to(ROOT).parts) - 1  # dots that still stay inside siting
    for node in nodes(path, ast.Import, ast.ImportFrom):
        if isinstance(node, ast.Import):
            tops = {alias.name.split(".")[0] for alias in node.names}
        elif node.level:
            assert node.level <= depth, f"line {node.lineno} reaches out of siting/"
            continue
        else:
            tops = {node.module.split(".")[0]}
        assert not tops & QGIS_PACKAGES, f"line {node.lineno} imports {tops & QGIS_PACKAGES}"
        assert "stillwater" not in tops, f"line {node.lineno}: imports inside the plugin are relative"


def test_the_science_imports_where_qgis_cannot_be_imported():
    modules = [
        ".".join(["stillwater", *path.relative_to(ROOT).with_suffix("").parts]).removesuffix(".__init__")
        for path in SITING]
    program = f"""
import importlib, importlib.util, sys
class NoQgis:
    def find_spec(self, name, path=None, target=None):
        if name.split(".")[0] in {QGIS_PACKAGES!r}:
            raise ImportError(name + " is not to be had here")
sys.meta_path.insert(0, NoQgis())
spec = importlib.util.spec_from_file_location(
    "stillwater", {str(ROOT / "__init__.py")!r}, submodule_search_locations=[{str(ROOT)!r}])
sys.modules["stillwater"] = importlib.util.module_from_spec(spec)
spec.loader.exec_module(sys.modules["stillwater"])
for name in {modules!r}:
    importlib.import_module(name)
print("imported", len({modules!r}))
"""
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip() == f"imported {len(modules)}"


@pytest.mark.parametrize("path", SOURCES, ids=name_of)
def test_a_file_holds_one_concept(path):
    assert len(path.read_text(encoding="utf-8").splitlines()) <= LONGEST_FILE_LINES
    assert path.stem not in FORBIDDEN_NAMES


@pytest.mark.parametrize("path", SOURCES, ids=name_of)
def test_no_star_import_and_no_bare_except(path):
    for node in nodes(path, ast.ImportFrom, ast.ExceptHandler):
        if isinstance(node, ast.ImportFrom):
            assert all(alias.name != "*" for alias in node.names), f"star import in line {node.lineno}"
        else:
            assert node.type is not None, f"bare except in line {node.lineno}"


@pytest.mark.parametrize("path", SHIPPED, ids=name_of)
def test_shipped_code_neither_prints_nor_asserts_nor_imports_itself_by_name(path):
    for node in nodes(path, ast.Call, ast.Assert, ast.ImportFrom, ast.Import):
        if isinstance(node, ast.Call):
            for name in ("print", "eval", "exec"):
                assert not is_call_of(node, name), f"{name} in line {node.lineno}"
        elif isinstance(node, ast.Assert):
            pytest.fail(f"assert in line {node.lineno}")
        elif isinstance(node, ast.ImportFrom):
            assert node.level or node.module.split(".")[0] != "stillwater", f"line {node.lineno}: import relatively"
        else:
            names = {alias.name.split(".")[0] for alias in node.names}
            assert "stillwater" not in names, f"line {node.lineno}: import relatively"


def private_doors(tree: ast.Module) -> list[str]:
    """List private names of other objects that a file touches, and private names that it imports from another."""
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute) and node.attr.startswith("_") and not node.attr.startswith("__"):
            own = isinstance(node.value, ast.Name) and node.value.id in ("self", "cls")
            inherited = isinstance(node.value, ast.Call) and is_call_of(node.value, "super")
            if not (own or inherited or node.attr in ("_replace", "_asdict", "_fields", "_make", "_exit")):
                found.append(f"line {node.lineno}: {ast.unparse(node)}")
        if isinstance(node, ast.ImportFrom) and node.level:
            found += [f"line {node.lineno}: {alias.name}" for alias in node.names if alias.name.startswith("_")]
    return found


def test_private_doors_are_seen():
    """`_replace` and its like are a named tuple's own, `_exit` is the system's; the rest is private."""
    assert private_doors(ast.parse("from .a import b\nself._c = d._replace(e=1)\nos._exit(0)")) == []
    assert private_doors(ast.parse("from .a import _b")) == ["line 1: _b"]
    assert private_doors(ast.parse("x = other._y")) == ["line 1: other._y"]


@pytest.mark.parametrize("path", SHIPPED, ids=name_of)
def test_nobody_touches_what_is_private_to_another(path):
    assert private_doors(ast.parse(path.read_text(encoding="utf-8"))) == []
