"""Bays in section and bundles in them, everything to scale. Words come from the caller."""

from collections.abc import Sequence
from dataclasses import dataclass

from loftbook.drawing.markup import Markup, number, rectangle
from loftbook.drawing.svg import LETTER, TEXT, WIDTH, Canvas, Drawing, Length, Paper
from loftbook.physics.folding import Bundle
from loftbook.physics.packing import Lying, Stack
from loftbook.physics.remembered import remembered

_PALE = 0.4  # opacity of what lay there before
_ROW = TEXT + 2
_TALL, _BROAD = 190.0, 62.0  # of bays beside each other, picture units


@remembered(16)
def end_on(bundle: Bundle, tube: float, beside: float, length: Length, description: str) -> Drawing:
    """The bundle in the tube, seen from the mouth: a slab, or round where it is gathered."""
    middle, wide, thick = beside / 2, bundle.width / 2, bundle.thickness / 2
    radius, half = tube / 2, max(middle + wide, thick, tube / 2)
    canvas = Canvas((-half, -half, half, half), left=20, right=110, top=12, bottom=62, tallest=130)
    canvas.disc("tube", (0, 0), radius)
    if beside:
        canvas.disc("airframe", (-radius + beside / 2, 0), beside / 2)
    class_ = "bundle" if bundle.diagonal <= bundle.widest else "short"
    if bundle.round:
        canvas.disc(class_, (middle, 0), wide)
    else:
        canvas.box(class_, (middle - wide, -thick), (middle + wide, thick))
    canvas.across(middle - wide, middle + wide, -half, f"bundle {length(bundle.width)}", below=10)
    canvas.across(-radius, radius, -half, f"tube {length(tube)}", below=38)
    canvas.upright(-thick, thick, half, ["bundle", length(bundle.thickness)])
    return canvas.drawing("Bundle in the tube, seen from the mouth", description)


@remembered(16)
def packed_bay(stack: Stack, tube: float, beside: float, length: Length, description: str) -> Drawing:
    """The bay in section, mouth on top, everything to scale; what is too much stands out above the mouth.

    beside: diameter of a post standing in the bay [m], drawn at its left wall below the shoulder.
    """
    bay = _Section(stack, tube, beside, length, 400)
    bay.canvas.put(*map(bay.laid, stack.layers))
    bundles = [lying for lying in stack.layers if lying.item.kind == "bundle"]
    return bay.finished(stack.layers, "bundle", bundles[-1] if bundles else None, description)


@remembered(8)
def bay_filling(
    stack: Stack, tube: float, beside: float, length: Length, descriptions: tuple[str, ...]
) -> tuple[Drawing, ...]:
    """The same after each thing that goes in, each with its description: that one bright and named, what lies under it pale."""
    made: list[Drawing] = []
    under: list[Markup] = []
    for lying, description in zip(stack.layers, descriptions, strict=True):
        bay = _Section(stack, tube, beside, length, 260)
        bay.canvas.put(*under, bay.laid(lying))
        made.append(bay.finished((lying,), "its top", lying, description))
        under.append(bay.laid(lying, pale=True))
    return tuple(made)


class _Section:
    """A bay in section, its canvas the same whatever is in it already: room for all of it, and for its names on the right."""

    def __init__(self, stack: Stack, tube: float, beside: float, length: Length, tallest: float) -> None:
        self.stack, self.half, self.beside, self.length = stack, tube / 2, beside, length
        top = max([stack.bay, *(lying.top for lying in stack.layers)])
        names = max((LETTER * len(lying.item.name) for lying in stack.layers), default=0.0)
        box, right = (-self.half, 0, self.half, top), max(136.0, 24 + names)
        self.canvas = Canvas(box, left=84, right=right, top=20, bottom=20, tallest=tallest)

    def laid(self, lying: Lying, pale: bool = False) -> Markup:
        """One thing from wall to wall, or from the post to the wall, or as wide as it is; a shoulder closes the whole tube."""
        kind, wide = lying.item.kind, lying.item.width
        left, right = -self.half if kind == "shoulder" else self.beside - self.half, self.half
        if wide:
            left, right = (left + right - wide) / 2, (left + right + wide) / 2
        class_, seen = (f"{kind} pale", _PALE) if pale else (kind, None)
        return self.canvas.boxed(class_, (left, lying.bottom), (right, lying.top), seen)

    def finished(self, named: Sequence[Lying], what: str, deep: Lying | None, description: str) -> Drawing:
        """The picture with walls and words: names of some things, and how deep `what`, the top of one of them, lies."""
        whole = not self.stack.layers or named[-1] is self.stack.layers[-1]
        closed = whole or any(lying.item.kind == "shoulder" for lying in named)
        rows = [((one.bottom + one.top) / 2, one.item.name, self.length(one.item.height)) for one in named]
        rows += self._walls(whole, closed)
        self._labels(sorted(rows, reverse=True))
        if deep and deep.item.kind != "shoulder" and deep.top < self.stack.bay:
            words = ["mouth to", what, self.length(self.stack.bay - deep.top)]
            self.canvas.upright(deep.top, self.stack.bay, -self.half, words, beside=-12, anchor="end")
        return self.canvas.drawing("The packed bay, to scale" if whole else "The bay so far, to scale", description)

    def _walls(self, whole: bool, closed: bool) -> list[tuple[float, str, str]]:
        """The tube, the post in it, what is left over; returns what is to be said of that."""
        canvas, half, bay, spare = self.canvas, self.half, self.stack.bay, self.stack.spare
        shoulders = [lying.bottom for lying in self.stack.layers if lying.item.kind == "shoulder"]
        ceiling = shoulders[0] if closed and shoulders else bay
        if self.beside:
            canvas.box("airframe", (-half, 0), (self.beside - half, ceiling))
        if whole and spare > 0:
            canvas.box("spare", (self.beside - half, ceiling - spare), (half, ceiling))
        canvas.shape("tube-wall", ((-half, bay), (-half, 0), (half, 0), (half, bay)), closed=False)
        if whole and spare > 0:
            return [(ceiling - spare / 2, "left over", self.length(spare))]
        return [(bay, "mouth of the tube", "")] if whole and spare < 0 else []

    def _labels(self, rows: Sequence[tuple[float, str, str]]) -> None:
        """Labels beside the stack, kept apart, each with a leader to its own height (rows from top to bottom)."""
        canvas, edge = self.canvas, self.canvas.at((self.half, 0))[0]
        free = float(TEXT)  # the highest line on which words may stand
        for y, name, size in rows:
            at = canvas.at((self.half, y))[1]
            line = max(at, free)
            canvas.rule("dim", (edge + 2, at), (edge + 16, line))
            canvas.words((edge + 20, line - 1), name, "start")
            if size:
                canvas.words((edge + 20, line - 1 + _ROW), size, "start", "dim-text")
            free = line + (2 if size else 1) * _ROW + 3
            canvas.height = max(canvas.height, line + 2 * TEXT + 4)


@dataclass(frozen=True)
class Seen:
    """A bay as it is seen beside another: its name, what lies in it, inner diameter, diameter of a post in it [m]."""

    name: str
    stack: Stack
    tube: float
    beside: float


@remembered(16)
def bays_abreast(bays: tuple[Seen, ...], length: Length, description: str) -> Drawing:
    """Every bay in section, mouths in line, all to one scale; each thing by one word, and how deep the first bundle lies."""
    deepest = max(max([bay.stack.bay, *(lying.top for lying in bay.stack.layers)]) for bay in bays)
    scale = min(_TALL / deepest, _BROAD / max(bay.tube for bay in bays))
    paper, column = Paper(2 * _ROW + deepest * scale + _ROW + 8), WIDTH / len(bays)
    for i, bay in enumerate(bays):
        _one_abreast(paper, bay, 10 + i * column, scale, length)
    return paper.drawing("The packed bays, to scale" if len(bays) > 1 else "The packed bay, to scale", description)


def _one_abreast(paper: Paper, bay: Seen, left: float, scale: float, length: Length) -> None:
    """One of them, from its left wall on [picture units]."""
    mouth, wide = 2 * _ROW + 4, bay.tube * scale
    foot, free = mouth + bay.stack.bay * scale, float(mouth - 4)
    paper.words((left, TEXT), bay.name, "start")
    for lying in reversed(bay.stack.layers):
        item, y = lying.item, foot - lying.top * scale
        own = item.width * scale or wide - bay.beside * scale
        x = left + wide - own - (wide - bay.beside * scale - own) / 2 if item.width else left + wide - own
        paper.put(rectangle(item.kind, (x, y), own, (lying.top - lying.bottom) * scale))
        at = y + (lying.top - lying.bottom) * scale / 2
        line = max(at + 5, free + _ROW)
        paper.rule("dim", (left + wide + 2, at), (left + wide + 12, line - 5))
        paper.words((left + wide + 15, line), item.kind, "start", "dim-text")
        free = line
    paper.add("polyline", "tube-wall", points=" ".join(f"{number(x)},{number(y)}" for x, y in ((left, mouth), (left, foot), (left + wide, foot), (left + wide, mouth))))
    depths = [bay.stack.bay - one.top for one in bay.stack.layers if one.item.kind == "bundle"]
    if depths and depths[-1] > 0:  # of several the one that lies nearest to the mouth
        paper.words((left, max(foot, free) + _ROW + 2), f"{length(depths[-1])} to bundle", "start", "dim-text")


def bundle_in_room(bundle: Bundle, tube: float, length: Length, name: str, description: str) -> Drawing:
    """The bundle from the side in the room it has: length of bay left for it by the tube's inner diameter, to scale."""
    room, half = max(bundle.room, 0.0), tube / 2
    long = max(room, bundle.length)
    high = max(half, bundle.width / 2)
    canvas = Canvas((0, -high, long, high), left=14, right=14, top=26, bottom=40, tallest=110)
    canvas.box("spare", (0, -half), (room, half))
    canvas.box("bundle" if bundle.fits else "short", (0, -bundle.width / 2), (bundle.length, bundle.width / 2))
    canvas.segment("tube-wall", (0, half), (long, half))
    canvas.segment("tube-wall", (0, -half), (long, -half))
    canvas.words((4, TEXT), f"{name}: {'fits' if bundle.fits else 'does not fit'}", "start")
    size = f"{length(bundle.width)} across" if bundle.round else f"{length(bundle.width)} × {length(bundle.thickness)}"
    canvas.across(0, bundle.length, -high, f"{length(bundle.length)}, {size}", below=12)
    return canvas.drawing(name, description)
