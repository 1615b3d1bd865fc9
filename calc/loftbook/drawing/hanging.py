"""The rocket as it hangs: canopies, cords and parts, to scale along their length. Depths are metres below the line
attachment of the canopy that carries it all; words come from the caller.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from loftbook.drawing.svg import Canvas, Drawing, Length

CROWN = 0.3  # height of an open canopy over its width, as drawn
_THIN = 7  # picture units that a part is wide at least, to be seen


@dataclass(frozen=True)
class Hung:
    """A part as it hangs: depths of its upper and lower end, its width [m]; aside: on a leg of its own, beside the cord."""

    name: str
    top: float
    bottom: float
    width: float
    kind: Literal["nose", "airframe"]
    aside: bool = False


@dataclass(frozen=True)
class Opened:
    """An open canopy: depth of its line attachment (0 for the one that carries), length of lines, inflated width [m].

    One tied in deeper stands to the left of the cord, one tied in higher (negative depth) above the first.
    """

    depth: float
    lines: float
    width: float
    name: str


@dataclass(frozen=True)
class Leg:
    """A length of cord between two depths [m]; aside: it leads from the middle to the parts that hang beside."""

    top: float
    bottom: float
    aside: bool = False


def hanging(
    chain: Sequence[Hung],
    canopies: Sequence[Opened],
    legs: Sequence[Leg],
    apart: tuple[Hung, Hung] | None,
    length: Length,
    description: str,
) -> Drawing:
    """Everything as it hangs, to scale along its length; thin things drawn thicker to be seen.

    apart: the part whose lower end must stay above the upper end of the other one; the distance or overlap is told.
    """
    half = max(canopy.width for canopy in canopies) / 2
    left = max([half, *(canopy.width * 1.1 for canopy in canopies if canopy.depth > 0)])
    low = -max([0.0, *(part.bottom for part in chain), *(leg.bottom for leg in legs)])
    high = max(canopy.lines + canopy.width * CROWN - canopy.depth for canopy in canopies)
    canvas = Canvas((-left, low, half, high), left=120, right=100, top=14, bottom=14, tallest=190)
    aside = 1.5 * max((_thick(canvas, part) for part in chain), default=0.0)
    for canopy in canopies:
        _open(canvas, canopy)
    for leg in legs:
        canvas.segment("cord", (0, -leg.top), (aside if leg.aside else 0, -leg.bottom))
    for part in chain:
        _part(canvas, part, aside if part.aside else 0.0)
    for depth in sorted({0.0, *(canopy.depth for canopy in canopies)}):
        canvas.dot("corner", (0, -depth))
    canvas.text((0, 0), "line attachment", "end", shift=(-10, 5))
    for part in chain:
        _name(canvas, part, aside, length)
    if apart:
        _apart(canvas, *apart, half, aside + _thick(canvas, apart[0]), length)
    if len(canopies) > 1:
        for canopy in canopies:
            x = -1.1 * canopy.width if canopy.depth > 0 else -canopy.width / 2
            canvas.text((x, canopy.lines - canopy.depth), canopy.name, "end", shift=(-6, 5))
    return canvas.drawing("Hanging under the canopy, to scale along its length", description)


def _thick(canvas: Canvas, part: Hung) -> float:
    return max(part.width, _THIN / canvas.scale)


def _open(canvas: Canvas, canopy: Opened) -> None:
    """Cloth as an arc over its lines."""
    half, base, skirt = canopy.width / 2, -canopy.depth, canopy.lines - canopy.depth
    middle = -1.2 * half if canopy.depth > 0 else 0.0
    crown = canopy.width * CROWN
    arc = [(middle + half * i / 8, skirt + crown * (1 - (i / 8) * (i / 8))) for i in range(-8, 9)]
    for corner in (arc[0], arc[4], arc[12], arc[-1]):
        canvas.segment("line", corner, (0, base))
    canvas.shape("cloth", arc, 0.5)


def _part(canvas: Canvas, part: Hung, x: float) -> None:
    """An airframe as a box, a nose as it hangs: its shoulder up, its tip down."""
    half = _thick(canvas, part) / 2
    if part.kind == "nose":
        canvas.shape("nose", ((x - half, -part.top), (x + half, -part.top), (x, -part.bottom)))
    else:
        canvas.box("airframe", (x - half, -part.bottom), (x + half, -part.top))


def _name(canvas: Canvas, part: Hung, aside: float, length: Length) -> None:
    """Parts on the cord are named to the left; those beside it with their length to the right."""
    thick = _thick(canvas, part)
    if part.aside:
        words = [part.name, length(part.bottom - part.top)]
        canvas.upright(-part.bottom, -part.top, aside + thick, words, beside=8)
    else:
        shift = (-thick * canvas.scale / 2 - 6, 4)
        canvas.text((0, -(part.top + part.bottom) / 2), part.name, "end", shift=shift)


def _apart(canvas: Canvas, upper: Hung, lower: Hung, half: float, edge: float, length: Length) -> None:
    """The distance between two parts, or how far they overlap, right of both."""
    clearance = lower.top - upper.bottom
    if clearance > 0:
        canvas.upright(-lower.top, -upper.bottom, min(half, edge), ["clear by", length(clearance)], beside=8)
        return
    middle = (lower.top + upper.bottom) / 2
    canvas.text((edge, -middle), f"overlap {length(-clearance)}", "start", "dim-text", (14, 24))
