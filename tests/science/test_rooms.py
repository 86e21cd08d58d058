"""Rooms, which are the folders that hold one concept each, never import in a circle; read by a parser, no QGIS."""

import ast
from pathlib import Path
from typing import NamedTuple

import pytest
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

ROOT = Path(__file__).resolve().parents[2]
TOPS = ("siting", "processing_algs", "plugin")
DEEPER = ("plugin", "bench")
"""A folder that is no room itself, but holds some."""
BELOW = {
    "widgets": set(), "model": set(), "map": {"model", "widgets"}, "pins": {"model", "widgets"},
    "actions": {"model", "pins", "widgets"}, "dock": {"actions", "map", "model", "pins", "widgets"},
    "window": {"actions", "dock", "map", "model", "pins", "widgets"}}
"""What each room of the bench may import of the others: how they are built upon each other."""


class Edge(NamedTuple):
    """A room imports another one.

    Attributes
    ----------
    room, other : str
    where : str
        File, line and what is imported.
    """

    room: str
    other: str
    where: str


def parts_of(path: Path, root: Path) -> tuple:
    """Return the names of a module below the root; a folder's `__init__` is the folder."""
    parts = path.relative_to(root).with_suffix("").parts
    return parts[:-1] if parts[-1] == "__init__" else parts


def room_of(parts: tuple) -> str:
    """Return the room of a module: a folder, or a file, right below a top folder or below the bench."""
    return ".".join(parts[:len(DEEPER) + 1 if parts[:len(DEEPER)] == DEEPER else 2])


def targets_of(node: ast.ImportFrom, package: tuple, modules: set) -> set:
    """Return the modules that a relative import reads; what it names is a module or stands in one."""
    base = package[:len(package) - (node.level - 1)] + tuple((node.module or "").split(".") if node.module else ())
    return {(*base, one.name) if (*base, one.name) in modules else base for one in node.names}


def edges_below(root: Path) -> list:
    """List which room imports which, wherever in a file it does so."""
    files = {parts_of(path, root): path for top in TOPS for path in sorted((root / top).rglob("*.py"))}
    found = []
    for parts, path in files.items():
        package = parts if path.stem == "__init__" else parts[:-1]
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.ImportFrom) or not node.level:
                continue
            for target in sorted(targets_of(node, package, set(files))):
                if room_of(target) != room_of(parts):
                    where = f"{path.relative_to(root)}:{node.lineno} imports {'.'.join(target)}"
                    found.append(Edge(room_of(parts), room_of(target), where))
    return found


def circles_in(edges: list) -> list:
    """List the circles: for each, the edges within a set of rooms that all reach each other.

    SciPy finds those sets: the strongly connected components of the graph.
    """
    rooms = sorted({room for edge in edges for room in edge[:2]})
    if not rooms:
        return []
    number = {room: i for i, room in enumerate(rooms)}
    ends = [[number[edge.room] for edge in edges], [number[edge.other] for edge in edges]]
    graph = coo_array(([1] * len(edges), ends), shape=(len(rooms), len(rooms)))
    count, member = connected_components(graph, directed=True, connection="strong")
    inside = [[edge for edge in edges if member[number[edge.room]] == one == member[number[edge.other]]]
              for one in range(count)]
    return [circle for circle in inside if circle]


def told(edges: list) -> str:
    """Write edges one below the other."""
    return "\n".join(f"{edge.room} -> {edge.other}: {edge.where}" for edge in edges)


@pytest.fixture(scope="module")
def edges():
    """Read what the rooms of this checkout import."""
    return edges_below(ROOT)


@pytest.mark.parametrize("top", ["siting", "processing_algs", "plugin.bench"])
def test_no_room_imports_in_a_circle(edges, top):
    circles = [circle for circle in circles_in(edges) if any(edge.room.startswith(f"{top}.") for edge in circle)]
    assert not circles, "rooms import in a circle:\n" + "\n\n".join(map(told, circles))


def test_rooms_of_the_bench_import_only_what_is_below_them(edges):
    bench = ".".join(DEEPER) + "."
    names = [(edge, edge.room.removeprefix(bench), edge.other.removeprefix(bench)) for edge in edges
             if edge.room.startswith(bench) and edge.other.startswith(bench)]
    assert {room for _edge, room, _other in names} == {room for room, below in BELOW.items() if below}
    wrong = [edge for edge, room, other in names if other not in BELOW[room]]
    assert not wrong, "against the order of the rooms:\n" + told(wrong)


def test_the_rooms_are_those_of_the_folders(edges):
    rooms = {room for edge in edges for room in edge[:2]}
    # files right below a top folder are rooms of their own
    assert {"siting.heights", "processing_algs.provider", "processing_algs.folders", "plugin.bench.window"} <= rooms
    for folder in ("siting", "processing_algs", "plugin/bench"):
        inner = {path.name for path in (ROOT / folder).iterdir() if (path / "__init__.py").exists()}
        # nobody reads a room that is missing here, and it reads none
        assert {f"{folder.replace('/', '.')}.{name}" for name in inner} <= rooms


# -- whether a circle would be seen ---------------------------------------------------------------------------------

def tree(root: Path, files: dict) -> Path:
    """Write a made-up checkout."""
    for name, text in files.items():
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        (root / name).write_text(text, encoding="utf-8")
    return root


STRAIGHT = {
    "siting/__init__.py": "", "siting/ground/__init__.py": "", "siting/ground/planes.py": "from ..units import METRE\n",
    "siting/units.py": "METRE = 1.0\n", "siting/sky/__init__.py": "",
    "siting/sky/arcs.py": "from ..ground import planes\nfrom ..ground.planes import METRE\nfrom .orbits import A\n",
    "siting/sky/orbits.py": "from .arcs import METRE\nimport ground\n",
    "plugin/bench/map/item.py": "from ....siting.sky.arcs import METRE\nfrom ..model.place import Place\n",
    "plugin/bench/model/place.py": "Place = None\n"}


def test_a_circle_inside_one_room_and_rooms_in_a_row_are_none(tmp_path):
    edges = edges_below(tree(tmp_path, STRAIGHT))
    assert {edge[:2] for edge in edges} == {
        ("siting.ground", "siting.units"), ("siting.sky", "siting.ground"), ("plugin.bench.map", "siting.sky"),
        ("plugin.bench.map", "plugin.bench.model")} and circles_in(edges) == []


@pytest.mark.parametrize("closing, circle", [
    # of two rooms, in a function; of three by way of a file right below the top; of a folder's own file
    ({"plugin/bench/model/place.py": "def f():\n    from ..map.item import Item\n    return Item\n"},
     {("plugin.bench.map", "plugin.bench.model"), ("plugin.bench.model", "plugin.bench.map")}),
    ({"siting/units.py": "from .sky.arcs import LENGTH\n"},
     {("siting.ground", "siting.units"), ("siting.units", "siting.sky"), ("siting.sky", "siting.ground")}),
    ({"siting/ground/__init__.py": "from ..sky import arcs\n"},
     {("siting.ground", "siting.sky"), ("siting.sky", "siting.ground")})])
def test_a_made_up_circle_is_found_with_all_its_edges(tmp_path, closing, circle):
    found, = circles_in(edges_below(tree(tmp_path, {**STRAIGHT, **closing})))
    assert {edge[:2] for edge in found} == circle
    name, = closing
    assert f"{name}:" in told(found) and told(found).count("->") == len(found)


def test_two_circles_are_told_apart():
    edges = [Edge(one, other, "") for one, other in ("ab", "ba", "bc", "cd", "de", "ec", "ef")]
    assert [{edge[:2] for edge in circle} for circle in circles_in(edges)] in (
        [{("a", "b"), ("b", "a")}, {("c", "d"), ("d", "e"), ("e", "c")}],
        [{("c", "d"), ("d", "e"), ("e", "c")}, {("a", "b"), ("b", "a")}])
