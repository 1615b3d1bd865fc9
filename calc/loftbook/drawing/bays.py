"""Bays in section and bundles in them, everything to scale. Words come from the caller."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from loftbook.drawing.closeups import BROAD, HIGH, CloseUp, charged
from loftbook.drawing.markup import Markup, circle, group, joined, lettering, number, rectangle, straight, traced
from loftbook.drawing.svg import LETTER, TEXT, WIDTH, Canvas, Drawing, Length, Paper, picture
from loftbook.physics.folding import Bundle
from loftbook.physics.packing import Lying, Stack
from loftbook.physics.remembered import remembered

_ROW = TEXT + 2
_MOUTH = "mouth of the tube"
Lengths = tuple[Length, Length]  # how a length is written, and one that must not be written as more than it is
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
def packed_bay(stack: Stack, tube: float, beside: float, lengths: Lengths, description: str) -> Drawing:
    """The bay in section, mouth on top, everything to scale; what is too much stands out above the mouth.

    beside: diameter of a post standing in the bay [m], drawn at its left wall below the shoulder.
    """
    bay = _Section(stack, tube, beside, lengths, 240, 136)
    bundles = [lying for lying in stack.layers if lying.item.kind == "bundle"]
    parts = [*map(bay.laid, stack.layers), *bay.walls(whole=True)]
    named, _ = bay.names(bay.rows(stack.layers, whole=True))
    parts += [*named, *bay.deep(bundles[-1] if bundles else None, "bundle")]
    return bay.drawn(parts, whole=True, description=description)


@dataclass(frozen=True)
class Run:
    """One cord of a bay. owner: of its layers; aloft: its anchor is in what closes the bay, not at the bottom.

    linked: it ends in a canopy's link; rides: that link lies on top of all of it, else on the lines; tie: what closes the bay hangs
    on the link itself, on a leg that leads there, or not on this cord.
    """

    owner: str
    aloft: bool
    linked: bool
    rides: bool
    tie: Literal["", "link", "leg"]

    @property
    def tied(self) -> bool:
        """Whether what closes the bay hangs on it."""
        return self.tie != ""


@dataclass(frozen=True)
class Ends:
    """What a bay's cords are fast to: name of its tube; whether a charge is at its bottom, or on what closes it; its cords.

    threaded: its protector is on the cord.
    """

    tube: str
    charge: Literal["", "below", "above"]
    runs: tuple[Run, ...]
    threaded: bool


@remembered(8)
def bay_filling(
    stack: Stack, tube: float, beside: float, lengths: Lengths, ends: Ends, closeups: tuple[CloseUp, ...], descriptions: tuple[str, ...]
) -> tuple[Drawing, ...]:
    """The same after each thing that goes in: that one bright and named, what lies under it pale; beside it how it is done.

    closeups, descriptions: of each thing, from the bottom up. Its cords are seen in each, from their rings to where they are then.
    """
    bay = _Section(stack, tube, beside, lengths, 260, BROAD + 26)
    made: list[Drawing] = []
    under, walls, last = "", bay.walls(whole=False), len(stack.layers) - 1
    for i, (lying, closeup, description) in enumerate(zip(stack.layers, closeups, descriptions, strict=True)):
        whole, laid = i == last, bay.laid(lying)
        parts = [group("pale", under), laid, *(bay.walls(whole=True) if whole else walls)]
        fast, links = bay.fast(ends, i)
        rows = sorted([*bay.rows((lying,), whole), *((y, "link", "") for y in links[:1])], reverse=True)
        named, (top, foot) = bay.names(rows)
        parts += [fast, *named, *bay.deep(lying, "its top"), *bay.bottom(ends), *bay.close(closeup, top, foot)]
        made.append(bay.drawn(parts, whole, description))
        under += laid
    return tuple(made)


@dataclass(frozen=True)
class _Strand:
    """Where a cord runs, and how large its rings are [picture units]: up from its ring, beside a bundle, out in the middle."""

    ring: float
    side: float
    middle: float
    size: float


class _Section:
    """A bay in section, its canvas the same whatever is in it already: room for all of it, and for its names on the right."""

    def __init__(self, stack: Stack, tube: float, beside: float, lengths: Lengths, tallest: float, right: float) -> None:
        self.stack, self.half, self.beside, (self.length, self.at_most) = stack, tube / 2, beside, lengths
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
            rows.append((self.ceiling - spare / 2, "left empty", self.at_most(spare)))
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

    def fast(self, ends: Ends, last: int) -> tuple[Markup, list[float]]:
        """Rings, charge and cords when the layers up to `last` are in; and how high each link lies [m]."""
        left, wide = self.left + self.beside * self.canvas.scale, self.edge - self.left - self.beside * self.canvas.scale
        size = min(3.5, 0.14 * wide)
        made: list[Markup] = []
        links: list[float] = []
        closed = self.stack.layers[last].item.kind == "shoulder"
        if ends.charge == "below":
            made.append(charged(left + 0.56 * wide, self.foot - 9, min(16.0, 0.36 * wide), 8))
        if ends.charge == "above" and closed:
            made.append(charged(left + 0.6 * wide, self.level(self.ceiling), min(16.0, 0.34 * wide), 8))
        floored = 0
        for run in ends.runs:
            at = _Strand(left + wide * (0.2 + 0.2 * floored), self.edge - wide * (0.09 + 0.1 * len(links)), left + wide / 2, size)
            drawn, link = self._run(run, at, last, closed)
            made += drawn
            links += [link] if link is not None else []
            floored += not run.aloft
        made += self._slits(ends, last, left, wide)
        return group("fast", joined(made)), links

    def level(self, height: float) -> float:
        """Picture units of a height in the bay [m]."""
        return self.foot - height * self.canvas.scale

    def _slits(self, ends: Ends, last: int, left: float, wide: float) -> list[Markup]:
        """Where a cord runs through the protector."""
        there = [i for i, one in enumerate(self.stack.layers) if one.item.kind == "protector"]
        if not ends.threaded or not there or there[0] > last:
            return []
        lying = self.stack.layers[there[0]]
        y = number(self.level((lying.bottom + lying.top) / 2))
        below = sum(not run.aloft for run in ends.runs)
        spots = [left + wide / 2] if ends.charge == "above" or there[0] else [left + wide * (0.2 + 0.2 * i) for i in range(below)]
        return [traced("slit", "".join(f"M{number(x - 5)} {y}H{number(x + 5)}" for x in spots))]

    def _run(self, run: Run, at: "_Strand", last: int, closed: bool) -> tuple[list[Markup], float | None]:
        """One cord, from its anchor to its end, and how high its link lies [m], None while it has none."""
        layers, out = self.stack.layers, self.mouth - 14
        own = [i for i, one in enumerate(layers) if one.item.owner == run.owner]
        cords = [i for i in own if layers[i].item.kind == "cord"]
        lines = next((i for i in own if layers[i].item.kind == "lines"), cords[-1])
        first, rest = cords[0], cords[-1]
        eye = self.level(self.ceiling) + at.size
        exit_ = eye if closed else out
        cord, made = "", []
        if not run.aloft:
            made.append(circle("link", at.ring, self.foot - at.size - 1, at.size))
            cord = f"M{number(at.ring)} {number(self.foot - 2 * at.size - 1)}V{number(out if last < first else self.level(layers[first].bottom))}"
        elif last >= first:
            cord = f"M{number(at.ring)} {number(self.level(layers[first].top))}V{number(exit_)}"
            made += [circle("link", at.ring, eye, at.size)] if closed else []
        if last < first:
            return [traced("cord", cord), *made] if cord else [], None
        link: float | None = None
        up = f"M{number(at.side)} {number(self.level(layers[first].top))}V"
        middle = f"M{number(at.middle)} {number(self.level(layers[rest].top))}V"
        if first == rest:
            cord += f"{middle}{number(exit_)}"
        elif last < rest:
            linked = run.linked and last >= lines
            cord += up + (f"{number(self.mouth - 8)}H{number(at.middle)}" if linked else number(out))
            if linked:
                link = self.stack.bay + 8 / self.canvas.scale
                made.append(self._lines_to(layers[lines], link, at.middle))
        else:
            cord += f"{up}{number(self.level(layers[rest].bottom))}"
            if run.tie == "link":
                link = self.ceiling - 3 * at.size / self.canvas.scale if closed else self.stack.bay + 8 / self.canvas.scale
                cord += f"{middle}{number(self.level(link))}"
                made.append(self._lines_to(layers[rest], link, at.middle))
            else:
                link = layers[rest if run.rides else lines].top
                cord += f"{middle}{number(exit_)}" if run.tied else ""
        if closed and run.tied:
            made.append(circle("link", at.middle, eye, at.size))
        if link is not None and run.linked:
            y = self.level(link)
            made += [straight("dim", at.middle, y, self.edge + 2, y), circle("link", at.middle, y, at.size)]
        return [traced("cord", cord), *made], link if run.linked else None

    def _lines_to(self, lying: Lying, link: float, x: float) -> Markup:
        """Lines from where they lie to the link [m]."""
        low, high = number(self.level(lying.top)), number(self.level(link))
        return traced("line", f"M{number(x - 4)} {low}L{number(x)} {high}M{number(x + 4)} {low}L{number(x)} {high}")

    def bottom(self, ends: Ends) -> list[Markup]:
        """Names of ring, charge and tube at the closed end, with leaders."""
        made: list[Markup] = []
        wide, low = LETTER * len(ends.tube), self.foot + (34 if ends.charge == "below" else 20)
        left, x = self.left + self.beside * self.canvas.scale, self.left - 8
        across = self.edge - left
        if any(not run.aloft for run in ends.runs):
            made += [straight("dim", x + 2, self.foot - 4, left + 0.2 * across, self.foot - 4), lettering("ring", "text", x, self.foot - 1, "end")]
        if ends.charge == "below":
            spot = (left + 0.7 * across, self.foot - 2)
            made += [straight("dim", x + 2, self.foot + 11, *spot), lettering("charge", "text", x, self.foot + 15, "end")]
        spot_x = max(2.0, min((self.left + self.edge - wide) / 2, WIDTH - BROAD - 12 - wide))
        made.append(lettering(ends.tube, "text", spot_x, low, "start"))
        self.height = max(self.height, low + 6)
        return made

    def close(self, closeup: CloseUp, top: float, foot: float) -> list[Markup]:
        """How it is done, below its name, or above it where there is more room."""
        high = HIGH + len(closeup.rows) * _ROW + 4
        y = foot + 6
        if y + high > self.height and top - 4 >= high:
            y = top - 4 - high
        self.height = max(self.height, y + high)
        x = WIDTH - BROAD - 4
        return [
            group("closeup", closeup.shapes, (x, y)),
            *(
                lettering(said, "text", x + BROAD / 2, y + HIGH + TEXT + i * _ROW, "middle")
                for i, said in enumerate(closeup.rows)
            ),
        ]

    def drawn(self, parts: Sequence[Markup], whole: bool, description: str) -> Drawing:
        """All of it as a picture."""
        name = "The packed bay, to scale" if whole else "The bay so far, to scale"
        return picture(name, description, (WIDTH, self.height), parts)


@dataclass(frozen=True)
class Sight:
    """A bay as it is seen beside another: its name, what lies in it, inner diameter, diameter of a post in it [m]."""

    name: str
    stack: Stack
    tube: float
    beside: float


@remembered(16)
def bays_abreast(bays: tuple[Sight, ...], length: Length, description: str) -> Drawing:
    """Every bay in section, mouths in line, all to one scale; each thing by one word, and how deep the first bundle lies."""
    deepest = max(max([bay.stack.bay, *(lying.top for lying in bay.stack.layers)]) for bay in bays)
    scale = min(_TALL / deepest, _BROAD / max(bay.tube for bay in bays))
    paper, column = Paper(2 * _ROW + deepest * scale + _ROW + 8), WIDTH / len(bays)
    for i, bay in enumerate(bays):
        _one_abreast(paper, bay, 10 + i * column, scale, length)
    return paper.drawing("The packed bays, to scale" if len(bays) > 1 else "The packed bay, to scale", description)


def _one_abreast(paper: Paper, bay: Sight, left: float, scale: float, length: Length) -> None:
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
