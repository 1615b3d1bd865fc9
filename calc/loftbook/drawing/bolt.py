"""What is cut, to scale: one piece with its allowance, and pieces laid on the bolt. Words come from the caller."""

from collections.abc import Sequence

from loftbook.drawing.svg import TEXT, Canvas, Drawing, Length
from loftbook.physics.outline import Point
from loftbook.physics.remembered import remembered

_LAID = 0.35  # opacity of cloth that lies there
Outline = tuple[Point, ...]


def _box(points: Sequence[Point]) -> tuple[float, float, float, float]:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), min(ys), max(xs), max(ys)


@remembered(16)
def piece_to_cut(
    finished: Outline,
    cut: Outline,
    grain: tuple[Point, Point],
    hole: tuple[Point, float] | None,
    said: str,
    dashes: str,
    length: Length,
    description: str,
) -> Drawing:
    """One piece: where it is cut, where it is sewn (dashes: what they are), its grain line, its size with allowance; hole: its middle and radius [m]."""
    x0, y0, x1, y1 = _box(cut)
    canvas = Canvas((x0, y0, x1, y1), left=20, right=96, top=TEXT + 14, bottom=44, tallest=240)
    canvas.shape("cloth", cut, _LAID)
    canvas.shape("outline", cut)
    canvas.shape("sewn", finished)
    if hole:
        canvas.disc("vent", *hole)
    canvas.segment("axis", *grain)
    canvas.words((4, TEXT), said, "start")
    canvas.across(x0, x1, y0, length(x1 - x0), below=10)
    canvas.upright(y0, y1, x1, [length(y1 - y0)])
    return canvas.drawing(f"What is cut, to scale; dashes: {dashes}", description)


@remembered(16)
def on_the_bolt(width: float, long: float, placed: tuple[Outline, ...], said: str, length: Length, description: str) -> Drawing:
    """Pieces as they are laid on cloth of a width [m], `long` of it [m]; outlines: x across the bolt, y along it, which lies to the right."""
    canvas = Canvas((0, 0, long, width), left=14, right=86, top=TEXT + 14, bottom=44, tallest=260)
    canvas.box("bolt", (0, 0), (long, width))
    for outline in [tuple([(y, x) for x, y in one]) for one in placed]:
        canvas.shape("cloth", outline, _LAID)
        canvas.shape("outline", outline)
    canvas.segment("selvage", (0, 0), (long, 0))
    canvas.segment("selvage", (0, width), (long, width))
    canvas.words((4, TEXT), said, "start")
    canvas.across(0, long, 0, length(long), below=10)
    canvas.upright(0, width, long, ["cloth", length(width)])
    return canvas.drawing("Laid on the cloth, to scale", description)
