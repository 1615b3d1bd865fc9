"""Every public function and shape of physics/ says what it is and in which units its floats are; none is long.

Read from the sources, so it needs nothing that imports.
"""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

PHYSICS = Path(__file__).parents[2] / "calc" / "loftbook" / "physics"
UNITS = re.compile(r"\[[^\]]+\]|dimensionless|radians")
LONGEST = 60
Node = ast.FunctionDef | ast.ClassDef


def _named(tree: ast.AST) -> Iterator[Node]:
    """Functions, those within others too, and classes."""
    return (node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.ClassDef))


def _has_floats(node: Node) -> bool:
    """Whether it takes, gives or holds a float, alone or within a tuple, a sequence, an option or a function."""
    if isinstance(node, ast.ClassDef):
        said = [part.annotation for part in node.body if isinstance(part, ast.AnnAssign)]
    else:
        taken = node.args
        said = [a.annotation for a in (*taken.posonlyargs, *taken.args, *taken.kwonlyargs, taken.vararg) if a]
        said.append(node.returns)
    return any(isinstance(name, ast.Name) and name.id == "float" for a in said if a for name in ast.walk(a))


def faults(source: str) -> list[str]:
    """What is wrong with the public functions and classes of a module."""
    found = []
    for node in _named(ast.parse(source)):
        text = ast.get_docstring(node) or ""
        if node.name.startswith("_"):
            continue
        if not text:
            found.append(f"{node.name} has no docstring")
        elif _has_floats(node) and not UNITS.search(text):
            found.append(f"{node.name} has floats and names no unit")
    return found


@pytest.mark.parametrize("module", sorted(PHYSICS.glob("*.py")), ids=lambda path: path.stem)
def test_public_functions_of_physics_say_their_units(module: Path) -> None:
    source = module.read_text()
    assert ast.get_docstring(ast.parse(source))
    assert faults(source) == []


@pytest.mark.parametrize("module", sorted(PHYSICS.glob("*.py")), ids=lambda path: path.stem)
def test_no_function_of_physics_is_long(module: Path) -> None:
    nodes = _named(ast.parse(module.read_text()))
    lines = [
        (node.name, (node.end_lineno or 0) - node.lineno + 1) for node in nodes if isinstance(node, ast.FunctionDef)
    ]
    assert [(name, count) for name, count in lines if count > LONGEST] == []


def test_there_is_physics_to_read() -> None:
    assert len(list(PHYSICS.glob("*.py"))) > 10


@pytest.mark.parametrize(
    ("source", "said"),
    [
        ("def f(x: float) -> int: ...", ["f has no docstring"]),
        ("def f(x: float) -> int: 'An x.'", ["f has floats and names no unit"]),
        ("def f(x: int, *, y: float | None) -> int: 'A y.'", ["f has floats and names no unit"]),
        ("def f(*x: float) -> int: 'Some x.'", ["f has floats and names no unit"]),
        ("def f() -> tuple[int, float]: 'Both.'", ["f has floats and names no unit"]),
        ("def f() -> Callable[[float], int]: 'One of another.'", ["f has floats and names no unit"]),
        ("class A:\n  'Held.'\n  x: float", ["A has floats and names no unit"]),
        ("class A:\n  'Held.'\n  def f(self) -> float: ...", ["f has no docstring"]),
        ("def f():\n  'Outer.'\n  def g(x: float): ...", ["g has no docstring"]),
        ("def f(x: float) -> float: 'Length [m].'", []),
        ("def f(x: float) -> float: 'A share, dimensionless.'", []),
        ("def f(x: int) -> str: 'A name.'", []),
        ("def _f(x: float) -> float: ...", []),
    ],
)
def test_what_is_missing_is_found(source: str, said: list[str]) -> None:
    assert faults(source) == said
