"""Data with a source on every value. All tables are read once, at import, so that they are in memory for good."""

import tomllib
from importlib.resources import files
from typing import Any


def _load(name: str) -> dict[str, Any]:
    table = tomllib.loads(files(__name__).joinpath(f"{name}.toml").read_text("utf-8"))
    sources = table.get("sources", {})
    for key, rows in table.items():
        for row in rows if isinstance(rows, list) else ():
            if (source := row.get("cd", row)["source"]) not in sources:
                raise LookupError(f"{name}.toml: a row of {key} names the unknown source {source!r}")
    return table


_canopies = _load("canopies")
_materials = _load("materials")

Row = dict[str, Any]


def _named(table: dict[str, Any], key: str) -> dict[str, Row]:
    return {row["name"]: row for row in table[key]}


FAMILIES = _named(_canopies, "family")
CANOPY_SOURCES: dict[str, dict[str, str]] = _canopies["sources"]
CLOTHS = _named(_materials, "cloth")
LINES = _named(_materials, "line")
CORDS = _named(_materials, "cord")
ENDS = _named(_materials, "end")
PINS = _named(_materials, "pin")
HARDWARE = _named(_materials, "hardware")
MATERIAL_SOURCES: dict[str, dict[str, str]] = _materials["sources"]
PRACTICE: dict[str, dict[str, str]] = _load("practice")


def practice(key: str) -> str:
    """A fact of the trade with its standing, in one line."""
    row = PRACTICE[key]
    return f"{row['text']} ({row['how'] if 'source' not in row else row['source'] + '; ' + row['how']})"


def material_source(row: Row) -> str:
    """Where a row of the materials was read, and how."""
    source = MATERIAL_SOURCES[row["source"]]
    return f"{source['text']} ({source['how']})"
