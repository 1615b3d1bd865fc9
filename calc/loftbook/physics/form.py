"""What a canopy is to be, and the meridian of a dome.

Knows metres, degrees and radians. The meridian by Gauss-Legendre quadrature with eight nodes (Abramowitz and Stegun, Handbook of
Mathematical Functions, 25.4.30).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from loftbook.physics.elementary import PI, arctangent, cosine, sqrt
from loftbook.physics.remembered import remembered

CHORD = 5e-5  # how far a straight part of an outline may lie from the curve it stands for [m]
DISCS = ("flat polygon", "flat circular", "annular")  # those that lie flat, with a round hem or one of sides
DOMES = ("hemispherical", "semi-ellipsoid")
FAMILIES = ("flat polygon", "flat circular", "conical", *DOMES, "cross", "annular")


@dataclass(frozen=True)
class Form:
    """What a canopy is to be.

    family: one of FAMILIES; gores: how many, three or more; size [m]: a polygon's from flat to flat, the length of a cross's
    panel, the skirt's diameter of the others; vent: diameter of its hole over the size, 0 to below 1 (dimensionless); ratio:
    a semi-ellipsoid's height over radius, above 0, at most 1; a cross's panel width over length, above 0, below 1; an annular one's
    hole over its diameter, above 0, below 1 (dimensionless); slope of a cone's side [degrees], 0 to below 90.
    Raises ValueError outside of these.
    """

    family: str
    gores: int
    size: float
    vent: float = 0.0
    ratio: float = 1.0
    slope: float = 0.0

    def __post_init__(self) -> None:
        if self.family not in FAMILIES:
            raise ValueError(f"no family {self.family!r}")
        if self.gores < 3 or not self.size > 0 or not 0 <= self.vent < 1 or not 0 <= self.slope < 90:
            raise ValueError(f"no such canopy: {self}")
        least_open = self.family in ("cross", "annular")
        if not 0 < self.ratio <= 1 or (least_open and self.ratio == 1):
            raise ValueError(f"no such proportion: {self.ratio}")

    @property
    def radius(self) -> float:
        """Middle to hem along the cloth, on the centre line of a gore [m]; not of a dome."""
        return self.size / 2 / cosine(self.slope * PI / 180) if self.family == "conical" else self.size / 2

    @property
    def hole(self) -> float:
        """Radius of the hole, along the cloth from the apex of a flat one or a cone, seen from above of a dome [m]; 0 without."""
        if self.family == "cross":
            return 0.0
        return (self.ratio if self.family == "annular" else self.vent) * self.radius

    @property
    def hole_across(self) -> float:
        """Diameter of the hole as it is worn, not along the cloth [m]; 0 without."""
        return 2 * self.hole * (cosine(self.slope * PI / 180) if self.family == "conical" else 1.0)

    @property
    def height(self) -> float:
        """A dome's, skirt to apex [m]."""
        return self.size / 2 * (self.ratio if self.family == "semi-ellipsoid" else 1.0)

    @property
    def half_angle(self) -> float:
        """Half of what one gore takes up at the apex, laid flat [radians]; not of a dome."""
        return PI / self.gores * (cosine(self.slope * PI / 180) if self.family == "conical" else 1.0)


# Nodes and weights for -1 to 1, those above 0; the others mirror them.
GAUSS = (
    (0.1834346424956498, 0.3626837833783620),
    (0.5255324099163290, 0.3137066458778873),
    (0.7966664774136267, 0.2223810344533745),
    (0.9602898564975363, 0.1012285362903763),
)
Turn = tuple[float, float]  # sine and cosine of an angle


@dataclass(frozen=True)
class Station:
    """A place on a dome's meridian.

    turn: sine and cosine of t, where r = a sin t and the height is c cos t; step: from this t to the next [radians]; along: from where
    the meridian begins, at the vent or apex [m]; area of one gore [m^2] and length of its edge [m], both from the station before.
    """

    turn: Turn
    step: float
    along: float
    area: float
    seam: float


@remembered(64)
def meridian(form: Form) -> tuple[Station, ...]:
    """Stations from vent or apex to skirt, close enough that the gore's edge stays within CHORD of straight between them.

    Even in t: then the edge leaves its chord by at most pi a/N dt^2/8 as dt goes to 0; a fifth is kept for dt that is not 0.
    """
    a, c, share = form.size / 2, form.height, PI / form.gores
    first = arctangent(form.vent / sqrt(1 - form.vent * form.vent))
    count = max(24, ceil((PI / 2 - first) * sqrt(share * a / (8 * 0.8 * CHORD))))
    half = (PI / 2 - first) / count / 2
    onward, nodes = _small(half), _turns(half)
    turn = (form.vent, sqrt(1 - form.vent * form.vent))
    found = [Station(turn, 2 * half, 0.0, 0.0, 0.0)]
    along = 0.0
    for i in range(count):
        middle = turned(turn, onward)
        turn = turned(middle, onward) if i + 1 < count else (1.0, 0.0)
        length = surface = seam = 0.0
        for (s, k), weight in _nodes(middle, nodes):
            speed = sqrt(a * a * k * k + c * c * s * s)
            length += weight * speed
            surface += weight * speed * s
            seam += weight * sqrt(speed * speed + share * a * k * share * a * k)
        along += length
        found.append(Station(turn, 2 * half, along, 2 * share * a * surface, seam))
    return tuple(found)


def turned(turn: Turn, by: Turn) -> Turn:
    """A turn, turned on."""
    return turn[0] * by[1] + turn[1] * by[0], turn[1] * by[1] - turn[0] * by[0]


def _small(angle: float) -> Turn:
    """Sine and cosine of at most a tenth of a radian, by the first terms of their series: what is left out is below 1e-18."""
    x = angle * angle
    return (
        angle * (1 - x / 6 * (1 - x / 20 * (1 - x / 42 * (1 - x / 72 * (1 - x / 110))))),
        1 - x / 2 * (1 - x / 12 * (1 - x / 30 * (1 - x / 56 * (1 - x / 90 * (1 - x / 132))))),
    )


def _turns(half: float) -> tuple[tuple[Turn, float], ...]:
    """The nodes of an interval `half` each way as turns from its middle, with their weights."""
    return tuple((_small(half * node), half * weight) for node, weight in GAUSS)


def _nodes(middle: Turn, turns: Sequence[tuple[Turn, float]]) -> list[tuple[Turn, float]]:
    """Sine and cosine at each node, and its weight."""
    return [(turned(middle, (sign * s, k)), weight) for (s, k), weight in turns for sign in (1.0, -1.0)]


def seam_over_meridian(form: Form) -> float:
    """Length of a dome's gore edge over the meridian it is sewn to follow (dimensionless); 1 for what is cut exactly.

    With N gores the edge is 1/2 (pi/N)^2 times the mean of cos^2 of the skin's slope longer; it is eased in while sewing.
    """
    if form.family not in DOMES:
        return 1.0
    steps = meridian(form)
    return sum(step.seam for step in steps[1:]) / steps[-1].along


def meridian_length(form: Form) -> float:
    """From a dome's skirt to its vent, or to the apex without, along the skin [m]."""
    return meridian(form)[-1].along


def dome_radius(form: Form, along: float) -> float:
    """Radius [m] of a dome at a length [m] along the meridian from its vent, or from the apex without: exact.

    The angle there by Newton's rule from the station before it; from the skirt on it is the skirt's.
    """
    steps, a, c = meridian(form), form.size / 2, form.height
    if along >= steps[-1].along:
        return a
    after = next(i for i, step in enumerate(steps) if step.along > along)
    start, wanted = steps[after - 1], along - steps[after - 1].along
    angle = start.step * wanted / (steps[after].along - start.along)
    for _ in range(9):
        nodes = _nodes(turned(start.turn, _small(angle / 2)), _turns(angle / 2))
        reached = sum(weight * sqrt(a * a * k * k + c * c * s * s) for (s, k), weight in nodes)
        s, k = turned(start.turn, _small(angle))
        change = (wanted - reached) / sqrt(a * a * k * k + c * c * s * s)
        angle += change
        if abs(change) < 1e-9:  # its square is what is still missing
            break
    return a * turned(start.turn, _small(angle))[0]
