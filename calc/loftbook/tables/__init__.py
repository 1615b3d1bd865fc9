"""Data with a source on every number. All tables are read once, at import, so that they are in memory for good."""

import tomllib
from importlib.resources import files
from typing import Any

from loftbook.quantity import (
    BAY_PRESSURE,
    CLOTH_MASS,
    CORD_MASS,
    COUNT,
    FORCE,
    LENGTH,
    LINE_LOAD,
    NUMBER,
    SHARE,
    System,
)
from loftbook.tables import loading
from loftbook.tables.rows import (
    Cloth,
    End,
    Family,
    Hardware,
    Inspection,
    Pin,
    Practice,
    Seam,
    Source,
    Sourced,
    Strand,
    Thread,
)

__all__ = [
    "CLOTHS",
    "CORDS",
    "ENDS",
    "EVENTS",
    "FAMILIES",
    "HARDWARE",
    "HEMS",
    "INSPECTIONS",
    "LINES",
    "MEASURED",
    "OURS",
    "PINS",
    "PRACTICE",
    "SEAMS",
    "SOURCES",
    "THREADS",
    "Cloth",
    "End",
    "Family",
    "Hardware",
    "Inspection",
    "Pin",
    "Practice",
    "Seam",
    "Source",
    "Sourced",
    "Strand",
    "Thread",
    "cited",
    "known",
    "practice",
    "sentence",
]


def _text(name: str) -> str:
    return files(__name__).joinpath(f"{name}.toml").read_text("utf-8")


_canopies: dict[str, Any] = tomllib.loads(_text("canopies"))
_materials: dict[str, Any] = tomllib.loads(_text("materials"))
_sewing: dict[str, Any] = tomllib.loads(_text("sewing"))
_STRAND = {"strength": FORCE, "stretch": SHARE}
_PIN = {"diameter": LENGTH, "shear": BAY_PRESSURE, "pitch": LENGTH, "threads_per_inch": COUNT}

SOURCES: dict[str, Source] = loading.sources(_text("sources"))
MEASURED = SOURCES["reader"]  # of a number that the reader measured
OURS = "The limits are our choice."  # what a check says of limits that nobody published

FAMILIES: dict[str, Family] = loading.rows(
    Family, _canopies, "family", SOURCES, {"cd": NUMBER, "cx": NUMBER, "filling": NUMBER, "inflated": NUMBER}
)
CLOTHS: dict[str, Cloth] = loading.rows(
    Cloth, _materials, "cloth", SOURCES, {"mass": CLOTH_MASS, "strength": LINE_LOAD}, optional=("strength",)
)
LINES: dict[str, Strand] = loading.rows(Strand, _materials, "line", SOURCES, _STRAND)
CORDS: dict[str, Strand] = loading.rows(Strand, _materials, "cord", SOURCES, _STRAND)
ENDS: dict[str, End] = loading.rows(End, _materials, "end", SOURCES, {"efficiency": SHARE})
PINS: dict[str, Pin] = loading.rows(Pin, _materials, "pin", SOURCES, _PIN, optional=("pitch", "threads_per_inch"))
HARDWARE: dict[str, Hardware] = loading.rows(Hardware, _materials, "hardware", SOURCES, {"rating": FORCE})
_SEAM = {"allowance": NUMBER, "layers": COUNT, "rows": COUNT}
SEAMS: dict[str, Seam] = loading.rows(Seam, _sewing, "seam", SOURCES, _SEAM)
HEMS: dict[str, Seam] = loading.rows(Seam, _sewing, "hem", SOURCES, _SEAM, optional=("allowance",))
THREADS: dict[str, Thread] = loading.rows(Thread, _sewing, "thread", SOURCES, {"strength": FORCE, "mass": CORD_MASS})
PRACTICE: dict[str, Practice] = loading.practices(_text("practice"), SOURCES)
EVENTS, INSPECTIONS = loading.inspections(_text("inspection"), SOURCES)
del _canopies, _materials, _sewing


def known(key: str) -> Practice:
    """A fact of the trade, a published limit or a choice of ours, with its numbers; LookupError for one not carried."""
    if key not in PRACTICE:
        raise LookupError(f"practice.toml holds no {key!r}")
    return PRACTICE[key]


def practice(key: str, system: System) -> str:
    """The same in one line, in the reader's units, with its standing."""
    return f"{sentence(key, system)} ({known(key).cited})"


def sentence(key: str, system: System) -> str:
    """The same without its standing."""
    return known(key).sentence(system)


def cited(*keys: str) -> str:
    """The standing of such facts by itself, what a check gives as its source."""
    told = dict.fromkeys(known(key).cited for key in keys)
    return " ".join(f"{one[0].upper()}{one[1:]}." for one in told)
