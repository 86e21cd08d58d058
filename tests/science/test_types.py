"""Every public function says what it takes and what it gives; read by a parser, no QGIS."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
TOPS = ("siting", "processing_algs", "plugin", "sample_layers")


def functions_in(node: ast.AST, owner: str = "") -> list:
    """List the functions below a node, each with the class it stands in; those inside a function are its own affair."""
    found = []
    for child in ast.iter_child_nodes(node):
        if isinstance(child, (ast.FunctionDef, ast.AsyncFunctionDef)):
            found.append((owner, child))
        elif isinstance(child, ast.ClassDef):
            found += functions_in(child, f"{owner}{child.name}.")
        else:
            found += functions_in(child, owner)
    return found


def untyped(owner: str, function: ast.FunctionDef) -> list:
    """List what a function does not tell the type of: parameters but `self` and `cls`, and its return."""
    takes = function.args
    named = takes.posonlyargs + takes.args
    is_static = any(isinstance(one, ast.Name) and one.id == "staticmethod" for one in function.decorator_list)
    rest = [one for one in (takes.vararg, takes.kwarg) if one is not None]
    told = named[1 if owner and not is_static else 0:] + takes.kwonlyargs + rest
    missing = [one.arg for one in told if one.annotation is None]
    return missing if function.returns is not None else [*missing, "its return"]


def missing_in(text: str, name: str) -> list:
    """List the public functions of a file that leave a type out, as file:line name: what."""
    return [f"{name}:{function.lineno} {owner}{function.name}: {', '.join(left_out)}"
            for owner, function in functions_in(ast.parse(text)) if not function.name.startswith("_")
            for left_out in [untyped(owner, function)] if left_out]


@pytest.mark.parametrize("top", TOPS)
def test_public_functions_have_types(top):
    files = sorted((ROOT / top).rglob("*.py"))
    assert files
    missing = [line for path in files
               for line in missing_in(path.read_text(encoding="utf-8"), str(path.relative_to(ROOT)))]
    assert not missing, "types are missing:\n" + "\n".join(missing)


# -- whether a missing type would be seen ---------------------------------------------------------------------------

@pytest.mark.parametrize("text, what", [
    ("def f(a: int, b) -> int: ...", "f: b"),
    ("def f(a: int): ...", "f: its return"),
    ("async def f(a): ...", "f: a, its return"),
    ("def f(*rest, **named) -> int: ...", "f: rest, named"),
    ("def f(a: int, /, b=1, *, c=2) -> int: ...", "f: b, c"),
    ("if True:\n try:\n  pass\n except OSError:\n  def f(a) -> int: ...", "f: a"),
    ("class C:\n def f(self, a) -> int: ...", "C.f: a"),
    ("class C:\n class D:\n  @staticmethod\n  def f(a) -> int: ...", "C.D.f: a"),
    ("class C:\n @classmethod\n def f(cls, a) -> int: ...", "C.f: a"),
    # what is QGIS's own by name has types too: a reader sees only this file
    ("class C(QWidget):\n def paintEvent(self, event): ...", "C.paintEvent: event, its return"),
])
def test_what_is_left_out_is_found(text, what):
    found, = missing_in(text, "x.py")
    place, _, told = found.partition(" ")
    assert place == f"x.py:{next(i for i, line in enumerate(text.splitlines(), 1) if 'def ' in line)}" and told == what


@pytest.mark.parametrize("text", [
    "def f(a: int, *rest: int, b: str = '', **named: int) -> None: ...",
    "def _f(a): ...",
    "class C:\n def __init__(self, a): ...\n def f(self) -> None: ...\n @staticmethod\n def g() -> None: ...",
    "def f() -> None:\n def inner(a): ...",
])
def test_what_is_whole_or_private_is_not_told(text):
    assert missing_in(text, "x.py") == []
