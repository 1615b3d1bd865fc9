"""The figures that others printed or worked out: reference/*.csv, one row each, read as they stand.

Knows rows, their inputs and their units; knows nothing of what the project computes.
"""

import csv
import re
from collections.abc import Mapping
from dataclasses import dataclass
from fnmatch import fnmatchcase
from functools import cache
from pathlib import Path

from loftbook.quantity import units

REFERENCE = Path(__file__).parent / "reference"
_WORKED = re.compile(r"\b(computed|converted|exact|\d+ digits)\b")


@dataclass(frozen=True)
class Row:
    """One figure, every cell as it stands in the file."""

    table: str
    id: str
    quantity: str
    inputs: str
    value: str
    low: str
    high: str
    unit: str
    tolerance: str
    tolerance_kind: str
    source: str
    how: str
    note: str

    @property
    def printed(self) -> str:
        return self.value or (f"{self.low} to {self.high}" if self.low else "")

    @property
    def ends(self) -> tuple[float, float]:
        """The printed range; of one figure, the figure twice."""
        return (float(self.value), float(self.value)) if self.value else (float(self.low), float(self.high))

    @property
    def standing(self) -> str:
        """How the figure came here, in one word.

        unsourced (common practice), worked (nobody printed it: it follows from a formula or definition, worked out for this
        file, with another library where `how` names one), memory (recalled, not read), read.
        """
        if "no source" in self.how + self.source or "common practice" in self.how + self.source:
            return "unsourced"
        if _WORKED.search(self.how):
            return "worked"
        return "memory" if "memory" in self.how else "read"


@cache
def rows() -> Mapping[str, Row]:
    """Every row of every file by its id."""
    found: dict[str, Row] = {}
    for file in sorted(REFERENCE.glob("*.csv")):
        with file.open(encoding="utf-8", newline="") as lines:
            for cells in csv.DictReader(lines, strict=True):
                row = Row(table=file.stem, **cells)
                if row.id in found:
                    raise LookupError(f"{row.id} stands twice")
                found[row.id] = row
    return found


def matching(pattern: str) -> list[Row]:
    """Rows of an id ("atmo-066"), a run of ids ("cano-010..015"), or a quantity ("atmo: density*"); never none."""
    if ": " in pattern:
        prefix, quantity = pattern.split(": ", 1)
        found = [r for r in rows().values() if r.id.startswith(f"{prefix}-") and fnmatchcase(r.quantity, quantity)]
        if not found:
            raise LookupError(f"no row is called {pattern}")
        return found
    first, _, last = pattern.partition("..")
    last = last or first[-3:]
    return [rows()[f"{first[:-3]}{number:03}"] for number in range(int(first[-3:]), int(last) + 1)]


# --- inputs and units -----------------------------------------------------------------------------

_NUMBER = r"[-+]?\d[\d.]*(?:e[-+]?\d+)?"
_INPUT = re.compile(rf"(?:(?P<name>[^=]+?)\s*=\s*|(?P<words>[^=\d]*?)\s*)(?P<number>{_NUMBER})(?:\s+(?P<unit>\S+).*)?")


@dataclass(frozen=True)
class Inputs:
    """What a row is for: `name=number unit; …` as SI (angles in degrees), by name ("" for a bare one) and in order."""

    text: str
    named: Mapping[str, float]
    numbers: tuple[float, ...]

    def __getitem__(self, name: str) -> float:
        return self.named[name]


def si(number: float, unit: str) -> float:
    """In the base unit of the SI; degrees of angle stay degrees, as in the core."""
    if unit in ("", "-", "deg"):
        return number
    return float(units.Quantity(number, unit).to_base_units().magnitude)


def in_unit(value: float, unit: str) -> float:
    """An SI value in the unit of a row."""
    if unit in ("", "-", "deg"):
        return value
    base = units.Quantity(1.0, unit).to_base_units().units
    return float(units.Quantity(value, base).to(unit).magnitude)


def inputs(text: str) -> Inputs:
    named: dict[str, float] = {}
    numbers: list[float] = []
    for part in re.split(r";|,(?!\d)", text):
        if match := _INPUT.fullmatch(part.strip()):
            try:
                number = si(float(match["number"]), match["unit"] or "")
            except Exception:  # words follow the number, such as "of gore length"; pint raises unrelated types
                number = float(match["number"])
            named[match["name"] or match["words"]] = number
            numbers.append(number)
    return Inputs(text, named, tuple(numbers))
