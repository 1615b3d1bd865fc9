"""Bays in section and bundles in them, everything to scale. Words come from the caller."""

from collections.abc import Sequence

from loftbook.drawing.svg import LETTER, TEXT, Canvas, Drawing, Length
from loftbook.physics.folding import Bundle
from loftbook.physics.packing import Lying, Stack

_PALE = 0.4  # opacity of what lay there before
_ROW = TEXT + 2


def end_on(bundle: Bundle, tube: float, beside: float, length: Length, description: str) -> Drawing:
    """The bundle in the tube, seen from the mouth."""
    radius, half = tube / 2, max(bundle.diameter, tube) / 2
    canvas = Canvas((-half, -half, half, half), left=20, right=110, top=12, bottom=44, tallest=130)
    canvas.disc("tube", (0, 0), radius)
    if beside:
        canvas.disc("airframe", (-radius + beside / 2, 0), beside / 2)
    canvas.disc("bundle" if bundle.diameter <= bundle.widest else "short", (beside / 2, 0), bundle.diameter / 2)
    canvas.across(-radius, radius, -half, f"tube {length(tube)}")
    canvas.upright(-bundle.diameter / 2, bundle.diameter / 2, half, ["bundle", length(bundle.diameter)])
    return canvas.drawing("Bundle in the tube, seen from the mouth", description)


def packed_bay(
    stack: Stack, tube: float, beside: float, length: Length, description: str, bright: int | None = None
) -> Drawing:
    """The bay in section, mouth on top, everything to scale; what is too much stands out above the mouth.

    beside: diameter of a post standing in the bay [m], drawn at its left wall below the shoulder.
    bright: index of the thing that was just put in, the only one that is named then; what lies under it is pale, what
    comes after it is not there yet.
    """
    step = bright is not None
    canvas = _room_for(stack, tube, 260 if step else 400)
    shown = stack.layers if bright is None else stack.layers[: bright + 1]
    whole = len(shown) == len(stack.layers)
    shoulder = next((lying for lying in shown if lying.item.kind == "shoulder"), None)
    ceiling = shoulder.bottom if shoulder else stack.bay
    for i, lying in enumerate(shown):
        _lay(canvas, lying, tube, beside, pale=step and i != bright)
    if beside:
        canvas.box("airframe", (-tube / 2, 0), (beside - tube / 2, ceiling))
    if whole and stack.spare > 0:
        canvas.box("spare", (beside - tube / 2, ceiling - stack.spare), (tube / 2, ceiling))
    _walls(canvas, tube, stack.bay)
    named = shown[-1:] if step else shown
    rows = [((lying.bottom + lying.top) / 2, lying.item.name, length(lying.item.height)) for lying in named]
    if whole and stack.spare > 0:
        rows.append((ceiling - stack.spare / 2, "left over", length(stack.spare)))
    if whole and stack.spare < 0:
        rows.append((stack.bay, "mouth of the tube", ""))
    _labels(canvas, sorted(rows, reverse=True), tube / 2)
    _depth(canvas, stack, tube, length, shown[-1] if step and shown else None)
    return canvas.drawing("The bay so far, to scale" if step and not whole else "The packed bay, to scale", description)


def _room_for(stack: Stack, tube: float, tallest: float) -> Canvas:
    """The same canvas whatever is in the bay already: room for all of it, and for its names on the right."""
    top = max([stack.bay, *(lying.top for lying in stack.layers)])
    names = max((LETTER * len(lying.item.name) for lying in stack.layers), default=0.0)
    right = max(136.0, 24 + names)
    return Canvas((-tube / 2, 0, tube / 2, top), left=84, right=right, top=20, bottom=20, tallest=tallest)


def _lay(canvas: Canvas, lying: Lying, tube: float, beside: float, pale: bool) -> None:
    """One thing from wall to wall, or from the post to the wall; a shoulder closes the whole tube."""
    kind = lying.item.kind
    left = -tube / 2 if kind == "shoulder" else beside - tube / 2
    class_ = f"{kind} pale" if pale else kind
    canvas.box(class_, (left, lying.bottom), (tube / 2, lying.top), _PALE if pale else None)


def _walls(canvas: Canvas, tube: float, bay: float) -> None:
    half = tube / 2
    canvas.segment("tube-wall", (-half, 0), (-half, bay))
    canvas.segment("tube-wall", (half, 0), (half, bay))
    canvas.segment("tube-wall", (-half, 0), (half, 0))


def _depth(canvas: Canvas, stack: Stack, tube: float, length: Length, last: Lying | None) -> None:
    """How deep below the mouth the thing just put in ends, or in a packed bay the topmost bundle."""
    bundles = [lying for lying in stack.layers if lying.item.kind == "bundle"]
    lying = last or (bundles[-1] if bundles else None)
    if lying is None or lying.item.kind == "shoulder" or lying.top >= stack.bay:
        return
    words = ["mouth to", "its top" if last else "bundle", length(stack.bay - lying.top)]
    canvas.upright(lying.top, stack.bay, -tube / 2, words, beside=-12, anchor="end")


def _labels(canvas: Canvas, rows: Sequence[tuple[float, str, str]], x: float) -> None:
    """Labels beside a stack, kept apart, each with a leader to its own height (rows from top to bottom)."""
    edge = canvas.at((x, 0))[0]
    free = float(TEXT)  # the highest line on which words may stand
    for y, name, size in rows:
        at = canvas.at((x, y))[1]
        line = max(at, free)
        canvas.rule("dim", (edge + 2, at), (edge + 16, line))
        canvas.words((edge + 20, line - 1), name, "start")
        if size:
            canvas.words((edge + 20, line - 1 + _ROW), size, "start", "dim-text")
        free = line + (2 if size else 1) * _ROW + 3
        canvas.height = max(canvas.height, line + 2 * TEXT + 4)


def bundle_in_room(bundle: Bundle, tube: float, length: Length, name: str, description: str) -> Drawing:
    """The bundle from the side in the room it has: length of bay left for it by the tube's inner diameter, to scale."""
    room, half = max(bundle.room, 0.0), tube / 2
    long = max(room, bundle.length)
    high = max(half, bundle.diameter / 2)
    canvas = Canvas((0, -high, long, high), left=14, right=14, top=26, bottom=40, tallest=110)
    canvas.box("spare", (0, -half), (room, half))
    canvas.box("bundle" if bundle.fits else "short", (0, -bundle.diameter / 2), (bundle.length, bundle.diameter / 2))
    canvas.segment("tube-wall", (0, half), (long, half))
    canvas.segment("tube-wall", (0, -half), (long, -half))
    canvas.words((4, TEXT), f"{name}: {'fits' if bundle.fits else 'does not fit'}", "start")
    canvas.across(0, bundle.length, -high, f"{length(bundle.length)}, {length(bundle.diameter)} across", below=12)
    return canvas.drawing(name, description)
