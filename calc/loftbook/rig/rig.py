"""A `Rig`: every field as its owner typed it, and the SI values read from those texts.

Knows no rule, file or page.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Literal, cast

from loftbook.quantity import System
from loftbook.rig.ways import WAYS, Way

Origin = Literal["start", "typed", "measured"]


@dataclass(frozen=True)
class Rig:
    """`texts`: every field as typed. `values`: SI float, choice or text; None when empty or not relevant.

    `assumed`: paths that were not said and so come from the starting rig.
    """

    texts: Mapping[str, str]
    values: Mapping[str, float | str | None]
    assumed: frozenset[str] = frozenset()

    @property
    def units(self) -> System:
        return cast(System, self.texts["rig.units"])

    @property
    def way(self) -> Way:
        """How it comes down."""
        return WAYS[self.texts["flight.way"]]

    @cached_property
    def measured(self) -> frozenset[str]:
        """Paths of fields that the reader measured."""
        return frozenset(self.texts["rig.measured"].split())

    def origin(self, path: str) -> Origin:
        """Whether a value is the starting rig's, was typed or was measured; equal text is no proof of either."""
        return "start" if path in self.assumed else "measured" if path in self.measured else "typed"

    def number(self, path: str) -> float:
        """The SI value of a field that is filled in."""
        value = self.values[path]
        if not isinstance(value, float):
            raise KeyError(f"{path} has no number")
        return value

    def optional(self, path: str) -> float | None:
        value = self.values[path]
        return value if isinstance(value, float) else None

    def text(self, path: str) -> str:
        return self.texts[path]

    def of(self, key: str) -> "Said":
        """The fields of one bay, canopy or cord, by their paths within it."""
        return Said(self, key)


@dataclass(frozen=True)
class Said:
    """What a rig says of one bay: `Said(rig, "drogue").number("canopy.size")`."""

    rig: Rig
    key: str

    def number(self, path: str) -> float:
        return self.rig.number(f"{self.key}.{path}")

    def optional(self, path: str) -> float | None:
        return self.rig.optional(f"{self.key}.{path}")

    def text(self, path: str) -> str:
        return self.rig.text(f"{self.key}.{path}")

    def chosen(self, path: str) -> str | None:
        """A choice, or None where it does not matter or no rig has it there."""
        value = self.rig.values.get(f"{self.key}.{path}")
        return value if isinstance(value, str) else None
