"""Bays in section and bundles in them, everything to scale. Words come from the caller."""

from collections.abc import Sequence
from dataclasses import dataclass

from loftbook.drawing.closeups import BROAD, HIGH, CloseUp
from loftbook.drawing.markup import Markup, group, lettering, number, rectangle, straight
from loftbook.drawing.svg import LETTER, TEXT, WIDTH, Canvas, Drawing, Length, Paper, picture
from loftbook.physics.folding import Bundle
from loftbook.physics.packing import Lying, Stack
from loftbook.physics.remembered import remembered

_ROW = TEXT + 2
_MOUTH = "mouth of the tube"
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
    bay = _Section(stack, tube, beside, length, 240, 136)
    bundles = [lying for lying in stack.layers if lying.item.kind == "bundle"]
    parts = [*map(bay.laid, stack.layers), *bay.walls(whole=True)]
    named, _ = bay.names(bay.rows(stack.layers, whole=True))
    parts += [*named, *bay.deep(bundles[-1] if bundles else None, "bundle")]
    return bay.drawn(parts, whole=True, description=description)


@remembered(8)
def bay_filling(
    stack: Stack, tube: float, beside: float, length: Length, closeups: tuple[CloseUp, ...], descriptions: tuple[str, ...]
) -> tuple[Drawing, ...]:
    """The same after each thing that goes in: that one bright and named, what lies under it pale; beside it how it is done.

    closeups, descriptions: of each thing, from the bottom up.
    """
    bay = _Section(stack, tube, beside, length, 260, BROAD + 26)
    made: list[Drawing] = []
    under, walls, last = "", bay.walls(whole=False), len(stack.layers) - 1
    for i, (lying, closeup, description) in enumerate(zip(stack.layers, closeups, descriptions, strict=True)):
        whole, laid = i == last, bay.laid(lying)
        parts = [group("pale", under), laid, *(bay.walls(whole=True) if whole else walls)]
        named, (top, foot) = bay.names(bay.rows((lying,), whole))
        parts += [*named, *bay.deep(lying, "its top"), *bay.close(closeup, top, foot)]
        made.append(bay.drawn(parts, whole, description))
        under += laid
    return tuple(made)


class _Section:
    """A bay in section, its canvas the same whatever is in it already: room for all of it, and for its names on the right."""

    def __init__(self, stack: Stack, tube: float, beside: float, length: Length, tallest: float, right: float) -> None:
        self.stack, self.half, self.beside, self.length = stack, tube / 2, beside, length
        top = max([stack.bay, *(lying.top for lying in stack.layers)])
        names = [lying.item.name for lying in stack.layers] + [_MOUTH] * (stack.spare < 0)
        box, right = (-self.half, 0, self.half, top), max(right, 24 + LETTER * max(map(len, names), default=0))
        self.canvas = Canvas(box, left=88, right=right, top=20, bottom=20, tallest=tallest)
        self.left, self.foot = self.canvas.at((-self.half, 0))
        self.edge, self.mouth = self.canvas.at((self.half, stack.bay))
        shoulders = [lying.bottom for lying in stack.layers if lying.item.kind == "shoulder"]
        self.ceiling = shoulders[0] if shoulders else stack.bay
        self.height = self.canvas.height

    def laid(self, lying: Lying) -> Markup:
        """One thing from wall to wall, or from the post to the wall, or as wide as it is; a shoulder closes the whole tube."""
        kind, wide = lying.item.kind, lying.item.width
        left, right = -self.half if kind == "shoulder" else self.beside - self.half, self.half
        if wide:
            left, right = (left + right - wide) / 2, (left + right + wide) / 2
        return self.canvas.boxed(kind, (left, lying.bottom), (right, lying.top))

    def walls(self, whole: bool) -> list[Markup]:
        """The tube and the post in it; of the whole bay what is left over, too."""
        canvas, half, bay, spare = self.canvas, self.half, self.stack.bay, self.stack.spare
        made: list[Markup] = []
        ceiling = self.ceiling if whole else bay
        if self.beside:
            made.append(canvas.boxed("airframe", (-half, 0), (self.beside - half, ceiling)))
        if whole and spare > 0:
            made.append(canvas.boxed("spare", (self.beside - half, ceiling - spare), (half, ceiling)))
        spots = f"{number(self.left)},{number(self.mouth)} {number(self.left)},{number(self.foot)} "
        spots += f"{number(self.edge)},{number(self.foot)} {number(self.edge)},{number(self.mouth)}"
        return [*made, Markup(f'<polyline class="tube-wall" points="{spots}"/>')]

    def rows(self, named: Sequence[Lying], whole: bool) -> list[tuple[float, str, str]]:
        """What is said right of the bay, from top to bottom: height [m], name and size."""
        rows = [((one.bottom + one.top) / 2, one.item.name, self.length(one.item.height)) for one in named]
        spare = self.stack.spare
        if whole and spare > 0:
            rows.append((self.ceiling - spare / 2, "left over", self.length(spare)))
        if whole and spare < 0:
            rows.append((self.stack.bay, _MOUTH, ""))
        return sorted(rows, reverse=True)

    def names(self, rows: Sequence[tuple[float, str, str]]) -> tuple[list[Markup], tuple[float, float]]:
        """The same beside the bay, kept apart, each with a leader to its own height; top and foot of it all."""
        made: list[Markup] = []
        free = float(TEXT)  # the highest line on which words may stand
        top = 0.0
        for y, name, size in rows:
            at = self.foot - y * self.canvas.scale
            line = max(at, free)
            top = top or line - TEXT
            made.append(straight("dim", self.edge + 2, at, self.edge + 16, line))
            made.append(lettering(name, "text", self.edge + 20, line - 1, "start"))
            if size:
                made.append(lettering(size, "dim-text", self.edge + 20, line - 1 + _ROW, "start"))
            free = line + (2 if size else 1) * _ROW + 3
            self.height = max(self.height, line + 2 * TEXT + 4)
        return made, (top, free - _ROW)

    def deep(self, lying: Lying | None, what: str) -> list[Markup]:
        """How deep `what`, the top of a thing, lies below the mouth: nothing of what closes it, or stands out."""
        if not lying or lying.item.kind == "shoulder" or lying.top >= self.stack.bay:
            return []
        x, top = number(self.left - 12), self.foot - lying.top * self.canvas.scale
        ticks = "".join(f"M{number(self.left - 17)} {number(y)}h10" for y in (self.mouth, top))
        middle = max((self.mouth + top) / 2 - TEXT + 5, 0.8 * TEXT)
        said = ("mouth to", what, self.length(self.stack.bay - lying.top))
        self.height = max(self.height, middle + 2 * _ROW + 6)
        return [
            Markup(f'<path class="dim" d="M{x} {number(self.mouth)}V{number(top)}{ticks}"/>'),
            *(
                lettering(words, "dim-text", max(self.left - 18, LETTER * len(words)), middle + i * _ROW, "end")
                for i, words in enumerate(said)
            ),
        ]

    def close(self, closeup: CloseUp, top: float, foot: float) -> list[Markup]:
        """How it is done, below its name, or above it where there is more room."""
        high = HIGH + _ROW + 4
        y = foot + 6
        if y + high > self.height and top - 4 >= high:
            y = top - 4 - high
        self.height = max(self.height, y + high)
        x = WIDTH - BROAD - 4
        return [
            group("closeup", closeup.shapes, (x, y)),
            lettering(closeup.said, "text", x + BROAD / 2, y + HIGH + TEXT, "middle"),
        ]

    def drawn(self, parts: Sequence[Markup], whole: bool, description: str) -> Drawing:
        """All of it as a picture."""
        name = "The packed bay, to scale" if whole else "The bay so far, to scale"
        return picture(name, description, (WIDTH, self.height), parts)


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
