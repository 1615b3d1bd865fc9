"""The ways a rocket comes down: which bays open, which canopies fill, in what order, and what lives where.

One row is one way. Fields, steps, checks and cords of a bay or canopy belong to a rig when its way names that bay or canopy.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

MAIN, DROGUE, FORWARD = "main", "drogue", "forward"
KEYS = (MAIN, DROGUE, FORWARD)  # what the groups of a bay are stamped for; a further bay is a name here and a row below

ONE_CANOPY = "one canopy at the top"
TWO_BAYS = "drogue, then main from a second bay"
TWO_PARTS = "two parts apart, each under its own"
NO_DROGUE = "no drogue: parts fall until the main opens"
HELD = "main held shut until low, from one bay"
ONE_BAY = "drogue and main from one bay"

Belongs = Literal["bay", "canopy", "either", "ties", "held", "low"]


@dataclass(frozen=True)
class Way:
    """One way down.

    bays: those that open, in the order in which they do; canopies likewise, the last one carries it to the ground;
    lives: the bay that a canopy is packed in, where that is not its own; held: canopies that a device holds shut until
    low; low: bays or canopies that open at the main height instead of the top; falls: it falls without a canopy at first;
    tied: the parts stay tied together.
    """

    name: str
    bays: tuple[str, ...]
    canopies: tuple[str, ...]
    lives: Mapping[str, str] = field(default_factory=dict)
    held: tuple[str, ...] = ()
    low: tuple[str, ...] = ()
    falls: bool = False
    tied: bool = True

    @property
    def keys(self) -> tuple[str, ...]:
        """Everything that has a cord: each bay and each canopy once, in the order of opening."""
        more, less = (self.bays, self.canopies) if set(self.canopies) < set(self.bays) else (self.canopies, self.bays)
        return tuple(dict.fromkeys((*more, *less)))

    def home(self, canopy: str) -> str:
        """The bay that a canopy is packed in."""
        return self.lives.get(canopy, canopy)

    def tenants(self, bay: str) -> tuple[str, ...]:
        """The canopies packed in a bay, the deepest first: the bay's own, then its guests."""
        return tuple(sorted((c for c in self.canopies if self.home(c) == bay), key=lambda c: c != bay))

    def has(self, key: str, belongs: Belongs) -> bool:
        """Whether a field matters here that belongs to a bay, a canopy, either, a cord that ties two sides, a device, a low opening."""
        bay, canopy = key in self.bays, key in self.canopies
        match belongs:
            case "bay":
                return bay
            case "canopy":
                return canopy
            case "either":
                return bay or canopy
            case "ties":
                return bay and self.tied
            case "held":
                return key in self.held
            case "low":
                return bay and key in self.low
        raise KeyError(belongs)


WAYS: dict[str, Way] = {
    way.name: way
    for way in (
        Way(ONE_CANOPY, (MAIN,), (MAIN,)),
        Way(TWO_BAYS, (DROGUE, MAIN), (DROGUE, MAIN), low=(MAIN,)),
        Way(TWO_PARTS, (MAIN,), (MAIN, FORWARD), {FORWARD: MAIN}, tied=False),
        Way(NO_DROGUE, (DROGUE, MAIN), (MAIN,), low=(MAIN,), falls=True),
        Way(HELD, (MAIN,), (MAIN,), held=(MAIN,), falls=True),
        Way(ONE_BAY, (MAIN,), (DROGUE, MAIN), {DROGUE: MAIN}, held=(MAIN,)),
    )
}


def shown(way: Way, wanted: str, among: tuple[str, ...]) -> str:
    """Which of a way's bays or canopies a page shows: the one wanted if it is there, else the main's."""
    return wanted if wanted in among else MAIN if MAIN in among else among[0]


def titled(way: Way, key: str) -> str:
    """What a bay or canopy is called where readers see it."""
    if not way.tied:
        return {MAIN: "aft part", FORWARD: "forward part"}[key]
    if way.falls and key not in way.canopies:
        return "first bay"
    return {FORWARD: "forward part"}.get(key, key)
