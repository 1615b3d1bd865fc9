"""The rooms of the package: each imports only what stands below it, none in a circle, and no function grows too long.

Imports are read from the text, those inside functions and those for types only too.
"""

import ast
import sys
from collections.abc import Iterator, Mapping
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2] / "calc" / "loftbook"
# From the ground up. A module of the package belongs to the room that its path begins with; its root holds VERSION only.
ROOMS = (
    "errors", "physics", "quantity", "tables", "rig", "log", "worked", "drawing", "answer", "calculators", "plan", "mending", "faces",
)  # fmt: skip
TOLD = ("physics", "worked", "rig", "answer", "plan")  # rooms in which every public function says what it does
SHORT = ("physics", "worked", "calculators")
LONGEST = 60  # lines of a function

Function = ast.FunctionDef | ast.AsyncFunctionDef


def named(file: Path, root: Path) -> str:
    """The dotted name of a module."""
    return ".".join(file.relative_to(root.parent).with_suffix("").parts).removesuffix(".__init__")


FILES = {named(file, ROOT): file for file in sorted(ROOT.rglob("*.py"))}
TREES = {name: ast.parse(file.read_text("utf-8"), str(file)) for name, file in FILES.items()}


def room(name: str) -> str:
    """The room of a module, "" for the root of the package."""
    return [*name.split("."), ""][1]


def imported(name: str, tree: ast.AST, files: Mapping[str, Path]) -> Iterator[str]:
    """The modules of the package that one imports, anywhere in it. A name from a package that is a module is that module."""
    here = name.split(".") if files[name].stem == "__init__" else name.split(".")[:-1]
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom):
            above = ".".join(here[: len(here) - node.level + 1]) if node.level else ""
            module = ".".join(part for part in (above, node.module) if part)
            for alias in node.names:
                whole = f"{module}.{alias.name}"
                yield whole if whole in files else module
        elif isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)


def graph_of(trees: Mapping[str, ast.AST], files: Mapping[str, Path]) -> dict[str, set[str]]:
    return {
        name: {to for to in imported(name, tree, files) if to in files and to != name} for name, tree in trees.items()
    }


GRAPH = graph_of(TREES, FILES)


def circles(graph: Mapping[str, set[str]]) -> list[str]:
    """Every way along imports that comes back to where it began."""
    state: dict[str, str] = {}
    found: list[str] = []

    def visit(name: str, path: list[str]) -> None:
        if state.get(name) == "open":
            found.append(" -> ".join([*path[path.index(name) :], name]))
        if name in state:
            return
        state[name] = "open"
        for to in sorted(graph[name]):
            visit(to, [*path, name])
        state[name] = "done"

    for name in sorted(graph):
        visit(name, [])
    return found


def arrows_up(graph: Mapping[str, set[str]]) -> list[str]:
    """Imports of what stands above."""
    floor = {name: ROOMS.index(room(name)) for name in graph if room(name)}
    return [
        f"{name} imports {to}" for name in floor for to in sorted(graph[name]) if to in floor and floor[to] > floor[name]
    ]


def functions(tree: ast.AST) -> Iterator[Function]:
    return (node for node in ast.walk(tree) if isinstance(node, Function))


def public(tree: ast.Module) -> Iterator[Function]:
    """Functions of a module that others may call: those on its own level, not of a class."""
    return (node for node in tree.body if isinstance(node, Function) and not node.name.startswith("_"))


def in_rooms(rooms: tuple[str, ...]) -> list[str]:
    return [name for name in FILES if room(name) in rooms]


def test_every_module_is_in_a_room_and_every_room_is_there() -> None:
    assert {room(name) for name in FILES} == {"", *ROOMS}


@pytest.mark.parametrize("name", FILES)
def test_what_is_imported_of_the_package_is_there(name: str) -> None:
    """Otherwise an arrow could point at nothing and be counted nowhere."""
    ours = {to for to in imported(name, TREES[name], FILES) if to.split(".")[0] == "loftbook"}
    assert ours <= {*FILES, "loftbook"}


def test_no_room_imports_one_above_it() -> None:
    assert arrows_up(GRAPH) == []


def test_nothing_is_imported_in_a_circle() -> None:
    assert circles(GRAPH) == []


@pytest.mark.parametrize("name", in_rooms(("physics",)))
def test_physics_knows_only_itself_and_errors(name: str) -> None:
    """Neither units, tables, rigs nor pictures; of the world outside only the standard library."""
    assert {to for to in GRAPH[name] if room(to) not in ("physics", "errors")} == set()
    assert {to.split(".")[0] for to in imported(name, TREES[name], FILES)} <= {"loftbook", *sys.stdlib_module_names}


@pytest.mark.parametrize("name", in_rooms(TOLD))
def test_a_public_function_says_what_it_does(name: str) -> None:
    assert [function.name for function in public(TREES[name]) if not ast.get_docstring(function)] == []


@pytest.mark.parametrize("name", FILES)
def test_a_module_says_what_it_is(name: str) -> None:
    assert ast.get_docstring(TREES[name])


@pytest.mark.parametrize("name", in_rooms(SHORT))
def test_no_function_is_longer_than_a_screen(name: str) -> None:
    lengths = {one.name: (one.end_lineno or 0) - one.lineno + 1 for one in functions(TREES[name])}
    assert {one: lines for one, lines in lengths.items() if lines > LONGEST} == {}


# --- the reader of imports itself -------------------------------------------------------------------

HOUSE = {
    "errors.py": "",
    "physics/__init__.py": "",
    "physics/air.py": "from loftbook.errors import Fault\n",
    "physics/fall.py": "from . import air\n",
    "rig/__init__.py": "",
    "rig/rig.py": "from loftbook.physics import air\nfrom ..physics.fall import x\n",
    "plan.py": "import loftbook.rig.rig\nimport json\n",
}


def built(tmp_path: Path, **more: str) -> dict[str, set[str]]:
    """The imports of a small house; `more` replaces a file of it, dots in its name written as two underscores."""
    root = tmp_path / "loftbook"
    for path, text in (HOUSE | {f"{name.replace('__', '/')}.py": text for name, text in more.items()}).items():
        (root / path).parent.mkdir(parents=True, exist_ok=True)
        (root / path).write_text(text)
    files = {named(file, root): file for file in sorted(root.rglob("*.py"))}
    return graph_of({name: ast.parse(file.read_text()) for name, file in files.items()}, files)


def test_imports_are_read_however_they_are_written(tmp_path: Path) -> None:
    graph = built(tmp_path)
    assert graph["loftbook.physics.fall"] == {"loftbook.physics.air"}
    assert graph["loftbook.rig.rig"] == {"loftbook.physics.air", "loftbook.physics.fall"}
    assert graph["loftbook.plan"] == {"loftbook.rig.rig"}
    assert arrows_up(graph) == circles(graph) == []


@pytest.mark.parametrize("text", [
    "from loftbook.rig.rig import Rig\n",
    "import loftbook.rig.rig as r\n",
    "def f():\n    from ..rig import rig\n    return rig\n",
    "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    from loftbook.rig.rig import Rig\n",
])  # fmt: skip
def test_an_import_of_what_stands_above_is_seen(tmp_path: Path, text: str) -> None:
    graph = built(tmp_path, physics__air=text)
    assert arrows_up(graph) == ["loftbook.physics.air imports loftbook.rig.rig"]
    assert "loftbook.physics.air -> loftbook.rig.rig -> loftbook.physics.air" in circles(graph)


def test_a_circle_within_a_room_is_seen(tmp_path: Path) -> None:
    graph = built(tmp_path, physics__air="def f():\n    import loftbook.physics.fall\n")
    assert arrows_up(graph) == []
    assert circles(graph) == ["loftbook.physics.air -> loftbook.physics.fall -> loftbook.physics.air"]
