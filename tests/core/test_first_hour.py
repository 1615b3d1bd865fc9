"""The first hour of a developer: what DEVELOPERS.md tells to add is added to a copy of the repository, word by word, and what
it tells to run is run there. Types nothing of it a second time: a comment before each block says where the block goes.
"""

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
BLOCK = re.compile(r"<!-- first hour: (?P<where>[^\n]+) -->\n```\w*\n(?P<text>.*?)```\n", re.DOTALL)
PLACE = re.compile(r'(?P<file>[\w./-]+)(?:, (?P<how>before|instead of) "(?P<mark>[^"]+)"|, (?P<end>at the end))?')


def told() -> list[tuple[str, str]]:
    """Each block of DEVELOPERS.md that is to be followed: where it goes, and its text."""
    return [(match["where"], match["text"]) for match in BLOCK.finditer((ROOT / "DEVELOPERS.md").read_text())]


def add(folder: Path, where: str, text: str) -> None:
    place = PLACE.fullmatch(where)
    assert place, where
    file = folder / place["file"]
    if place["end"]:
        file.write_text(file.read_text() + text)
    elif place["mark"]:
        before = file.read_text()
        assert before.count(place["mark"]) == 1, (where, before.count(place["mark"]))
        new = text.rstrip("\n") if place["how"] == "instead of" else text + place["mark"]
        file.write_text(before.replace(place["mark"], new))
    else:
        assert not file.exists(), where
        file.write_text(text)


@pytest.fixture(scope="module")
def followed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the repository in which everything told was added."""
    folder = tmp_path_factory.mktemp("first-hour")
    for name in ("calc", "docs", "scripts", "tests"):
        shutil.copytree(ROOT / name, folder / name, ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("pyproject.toml", "mkdocs.yml", "DEVELOPERS.md", "README.md"):
        shutil.copy(ROOT / name, folder / name)
    if (ROOT / ".mypy_cache").is_dir():  # what was found out of all that is the same here
        shutil.copytree(ROOT / ".mypy_cache", folder / ".mypy_cache")
    steps = [(where, text) for where, text in told() if where != "run"]
    assert len(steps) >= 6
    for where, text in steps:
        add(folder, where, text)
    return folder


def here(folder: Path) -> dict[str, str]:
    return os.environ | {"PYTHONPATH": str(folder / "calc"), "PYTHONDONTWRITEBYTECODE": "1"}


def test_what_it_tells_to_run_passes(followed: Path) -> None:
    (commands,) = [text for where, text in told() if where == "run"]
    for command in commands.strip().splitlines():
        first, *rest = command.split()
        assert first == "python"
        extra = ["-p", "no:cacheprovider"] if "pytest" in rest else []
        done = subprocess.run([sys.executable, *rest, *extra], cwd=followed, env=here(followed), capture_output=True, text=True)
        assert done.returncode == 0, f"{command}\n{done.stdout[-3000:]}\n{done.stderr[-3000:]}"


def test_the_new_field_and_calculator_are_there(followed: Path) -> None:
    """In the terminal, in a rig file, and on the page with its form."""
    asked = [sys.executable, "-m", "loftbook.faces.command", "ballast", "--rocket.ballast", "200 g"]
    done = subprocess.run(asked, cwd=followed, env=here(followed), capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    assert "850 g" in done.stdout  # the starting rig's nose of 650 g and what was asked for
    demo = [sys.executable, "-m", "loftbook.faces.command", "demo"]
    assert "ballast" in subprocess.run(demo, cwd=followed, env=here(followed), capture_output=True, text=True).stdout
    page = "import sys; sys.path.insert(0, 'scripts'); import hook; print(hook.fill(open('docs/plan.md').read()))"
    done = subprocess.run([sys.executable, "-c", page], cwd=followed, env=here(followed), capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    assert 'name="rocket.ballast"' in done.stdout
    assert "Nose with ballast" in done.stdout
