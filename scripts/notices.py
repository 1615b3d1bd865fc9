"""Whose work is handed on with the site: name, version, licence of each, and the licence's text where its package holds one.

What runs in a page is joined and made small, and loses its notices; so they stand in one file of the site.
"""

import csv
import json
from importlib import metadata
from pathlib import Path

import runtime
from house import MODULES

FILE = "assets/notices.txt"
PACKAGES = ("pyodide", "idb", "workbox-core", "workbox-precaching", "workbox-routing")  # from npm, that are in what is served
HEAD = """The guide's own text and code are under the MIT licence. It holds work of others, under theirs. Pyodide's program, which holds Python,
is cut down to what the guide calls and its data have their places written in; scripts/program.mjs of the guide's source does that.
Pyodide's own source is published under its name and version.
"""


def _titled(name: str, version: str, licence: str, texts: list[str]) -> str:
    return "\n".join([f"--- {name} {version}: {licence or 'see below'}", "", *(text.strip() + "\n" for text in texts)])


def _of_npm(name: str) -> str:
    folder = MODULES / name
    about = json.loads((folder / "package.json").read_text())
    return _titled(name, about["version"], about["license"], [file.read_text() for file in sorted(folder.glob("LICENSE*"))])


def _of_python(name: str) -> str:
    found = metadata.distribution(name)
    files = [row[0] for row in csv.reader((found.read_text("RECORD") or "").splitlines())]  # `files` looks whether each of thousands is there
    texts = [Path(str(found.locate_file(file))).read_text() for file in sorted(files) if "licen" in file.split("/")[-1].lower() and ".dist-info" in file]
    return _titled(name, found.version, found.metadata.get("License-Expression") or found.metadata.get("License", "").split("\n")[0], texts)


def write(site: Path) -> None:
    """Put the file into a site."""
    parts = [HEAD, *map(_of_npm, PACKAGES), *map(_of_python, ["mkdocs-material", *runtime.libraries()])]
    (site / FILE).write_text("\n".join(parts))
