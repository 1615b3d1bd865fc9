"""Each fold as it is made, before and after: cloth, sewing, lines to the link, hands; the order of the lines, and what is
wound round the bundle. Words come from the caller.

Lines are drawn shorter than they are; all else is to scale, except where a view from the side says that it is not.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from loftbook.drawing.cloth import draw_cloth, draw_grain, draw_sewing, named_lines
from loftbook.drawing.markup import number
from loftbook.drawing.svg import LETTER, TEXT, WIDTH, Canvas, Drawing, Length, Point
from loftbook.physics.elementary import sqrt
from loftbook.physics.folding import Bundle, Fold, Sheet, grouped, line_of
from loftbook.physics.remembered import remembered

_SPACE = WIDTH - 6  # for pictures, one or two beside each other with a gap
_GAP = 10.0
_ROW = TEXT + 2
_MEETING = 20.0  # from cloth and tabs to where the lines come together
_RIM = 7.0  # for what reaches over the cloth's edge: ring, hem, fingers
_THIN = 5.0  # the least that a length seen from the side is drawn thick
_ROUND = 0.2  # lines whose middle is nearer to the apex than this part of their reach leave the cloth all round


@dataclass(frozen=True)
class State:
    """What is said of the cloth as it lies: layers, which side is up and whether that is the outside, sizes."""

    layers: str
    up: str
    outside: bool
    long: str
    wide: str


@dataclass(frozen=True)
class Names:
    """What is called how: the middle of the canopy, its skirt, the states before and after a fold."""

    middle: str
    skirt: str
    before: str
    after: str


@dataclass(frozen=True)
class Side:
    """The lengths that a strip is laid in, seen from the side: how many, how thick in all [m], in words, and what is said over
    it to scale or not.
    """

    parts: int
    thick: float
    thickness: str
    to_scale: str
    thicker: str


def _unit(x: float, y: float) -> Point:
    size = sqrt(x * x + y * y)
    return (x / size, y / size) if size > 1e-9 else (1.0, 0.0)


class _Lying:
    """Cloth as it lies: where its middle is, which way its lines leave it."""

    def __init__(self, sheet: Sheet, strip: bool) -> None:
        self.sheet, self.strip, self.groups = sheet, strip, grouped(sheet.lines)
        count = sum(len(group) for _, group in self.groups)
        x = sum(at[0] * len(group) for at, group in self.groups) / count
        y = sum(at[1] * len(group) for at, group in self.groups) / count
        reach = max(sqrt(at[0] * at[0] + at[1] * at[1]) for at, _ in self.groups)
        self.round = not strip and x * x + y * y < _ROUND * _ROUND * reach * reach
        self.towards = (1.0, 0.0) if strip or self.round else _unit(x, y)
        self.middle, self.hem = self._middle(), self._hem()
        self.corners = {p for f in sheet.facets for p in f.corners}

    def _middle(self) -> Point:
        """The apex, or where the middle of the canopy lies that has none: the hole's rim, the middle panel."""
        apex = next((at for what, at, _ in self.sheet.sewn if what == "apex"), None)
        rim = [at for what, at, _ in self.sheet.sewn if what == "rim"]
        if apex or not rim:
            return apex or ((self.sheet.box[0], self.sheet.box[3]) if self.strip else (0.0, 0.0))
        if self.strip:
            return min(rim)
        return max(rim, key=lambda p: p[1] - abs(p[0])) if self.round else (0.0, 0.0)

    def _hem(self) -> Point:
        """The middle of the hem that is farthest along the lines; of cloth laid out, of the nearest."""
        ux, uy = (-0.7, -0.7) if self.round else self.towards
        spots = [((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) for what, a, b in self.sheet.sewn if what == "hem"]
        return max(spots, key=lambda p: p[0] * ux + p[1] * uy)

    def outwards(self, at: Point) -> Point:
        """The way a line leaves the cloth there."""
        return (1.0, 0.0) if self.strip else _unit(*at)


Box = tuple[float, float, float, float]


def _text_box(spot: Point, words: str, anchor: str) -> Box:
    wide = LETTER * len(words)
    left = spot[0] - {"start": 0.0, "middle": wide / 2, "end": wide}[anchor]
    return left, spot[1] - 0.8 * TEXT, left + wide, spot[1] + 0.25 * TEXT


def _around(boxes: Iterable[Box]) -> Box:
    left, top, right, bottom = zip(*boxes, strict=True)
    return min(left), min(top), max(right), max(bottom)


class _Marks:
    """What is drawn about cloth at a scale: lines, tabs, link and names, in picture units from the metres' origin, y down."""

    def __init__(self, lying: _Lying, scale: float, total: int, names: Names, room: Box) -> None:
        self.lying, self.scale = lying, scale
        self.tabs = [self._tab(at, named_lines(group, total)) for at, group in lying.groups]
        self.ways = self._ways()
        self.names = self._named(names)
        x0, y0, x1, y1 = room
        self.box = _around(
            [
                (x0 * scale - _RIM, -y1 * scale, x1 * scale + _RIM, -y0 * scale),
                (self.link[0] - 7, self.link[1] - 7, self.link[0] + 7, self.link[1] + 7),
                *(_text_box((x, y + 5), words, "middle") for (x, y), words in self.tabs),
                *(_text_box(*name) for name in self.names),
            ]
        )

    def at(self, spot: Point) -> Point:
        """Metres to picture units."""
        return spot[0] * self.scale, -spot[1] * self.scale

    def _tab(self, at: Point, words: str) -> tuple[Point, str]:
        (x, y), (rx, ry) = self.at(at), self.lying.outwards(at)
        off = 6 + abs(rx) * (LETTER * len(words) + 3) / 2 + abs(ry) * TEXT / 2
        return (x + off * rx, y - off * ry), words

    def _ways(self) -> list[list[Point]]:
        """Each group's line from the cloth to where all meet, and on to the link."""
        lying, (ux, uy) = self.lying, self.lying.towards
        starts = [self.at(at) for at, _ in lying.groups]
        if len(starts) == 1:
            (tab, words), *_ = self.tabs
            off = 12 + abs(ux) * LETTER * len(words) / 2 + abs(uy) * TEXT / 2
            self.link = tab[0] + off * ux, tab[1] - off * uy
            return [[starts[0], self.link]]
        far = max(self.scale * max(x * ux + y * uy for x, y in lying.corners), max(x * ux - y * uy for (x, y), _ in self.tabs))
        far += _MEETING
        x, y = (0.0, sum(y for _, y in starts) / len(starts)) if lying.strip else (0.0, 0.0)
        far -= x * ux - y * uy
        meet = x + far * ux, y - far * uy
        self.link = meet[0] + 16 * ux, meet[1] - 16 * uy
        ways = [[start, meet] if lying.round else [start, tab, meet] for start, (tab, _) in zip(starts, self.tabs, strict=True)]
        return [*ways, [meet, self.link]]

    def _named(self, names: Names) -> list[tuple[Point, str, str]]:
        """Apex and skirt: where they are named, and how that is set."""
        lying, (ux, uy) = self.lying, self.lying.towards
        (x, y), (hx, hy) = self.at(lying.middle), self.at(lying.hem)
        if lying.round:
            return [((x, y - 9), names.middle, "middle"), ((hx + 26, hy - 7), names.skirt, "middle")]
        if lying.strip:
            x0, _, x1, y1 = lying.sheet.box
            left, above = x <= (x0 + x1) / 2 * self.scale + 1, -y1 * self.scale - 6
            short = not left or (x1 - x0) * self.scale < LETTER * (len(names.middle) + len(names.skirt) + 1)
            return [
                (((x0 if left else x1) * self.scale, above), names.middle, "start" if left else "end"),
                ((x1 * self.scale, above - (_ROW if short else 0)), names.skirt, "end"),
            ]
        beside = "start" if ux > 0.5 else "middle"
        return [
            ((x - (5 if ux > 0.5 else 0), y + 20), names.middle, beside),
            ((hx - 28 * ux, hy + 16 * uy + 5), names.skirt, "middle"),
        ]


class _Fit:
    """How large pictures of cloth may be, by what lines, tabs and names take up about each: that is the same at any scale."""

    def __init__(self, lyings: tuple[_Lying, ...], room: Box, total: int, names: Names) -> None:
        self.made = lyings, total, names, room
        self.across, self.up = room[2] - room[0], room[3] - room[1]
        self.marks = self._at(120 / max(self.across, self.up))

    def _at(self, scale: float) -> list[_Marks]:
        lyings, total, names, room = self.made
        return [_Marks(lying, scale, total, names, room) for lying in lyings]

    def largest(self, wide: float, high: float, *, abreast: bool) -> float:
        """The scale at which they go into so many picture units, each by itself or beside each other."""
        now, widths = self.marks[0].scale, [marks.box[2] - marks.box[0] for marks in self.marks]
        taken, count = (sum(widths), len(widths)) if abreast else (max(widths), 1)
        tall = _around(marks.box for marks in self.marks)
        fit = min(now + (wide - taken) / count / self.across, now + (high - tall[3] + tall[1]) / self.up)
        return max(fit, 0.15 * min(wide / self.across, high / self.up))

    def drawn(self, scale: float) -> list[_Marks]:
        """The marks at that scale."""
        self.marks = self._at(scale)
        return self.marks


class _Picture:
    """One or two pictures of cloth at one scale, with what is said above and below them."""

    def __init__(self, lyings: tuple[_Lying, ...], room: Box, total: int, names: Names, aside: float = 0.0) -> None:
        two, fit = len(lyings) > 1, _Fit(lyings, room, total, names)
        beside = (_SPACE - _GAP, 190.0)
        below = (_SPACE - aside, 100.0 if two else 220.0)
        abreast, whole = fit.largest(*beside, abreast=True) if two else 0.0, fit.largest(*below, abreast=False)
        self.abreast = two and abreast > 0.75 * whole
        self.marks = fit.drawn(abreast if self.abreast else whole)
        exact = fit.largest(*(beside if self.abreast else below), abreast=self.abreast)
        if exact < 0.99 * self.marks[0].scale:  # other marks reach farthest at this scale
            self.marks = fit.drawn(exact)
        _, top, _, bottom = _around(marks.box for marks in self.marks)
        scale, (x0, y0, x1, y1) = self.marks[0].scale, room
        widths = [marks.box[2] - marks.box[0] for marks in self.marks]
        spare = max(0.0, _SPACE - aside - (sum(widths) + _GAP if self.abreast else max(widths))) / (4 if self.abreast else 2)
        head = _ROW * (3 if self.abreast else 1) + 4
        start = 3 + aside + spare - (self.marks[0].box[0] - x0 * scale)
        self.floor = head + bottom - top
        self.canvas = Canvas(
            room,
            left=start,
            right=WIDTH - start - (x1 - x0) * scale,
            top=head - y1 * scale - top,
            bottom=bottom + y0 * scale + 3 * _ROW + (6 if self.abreast else -4),
            tallest=(y1 - y0) * scale,
        )
        if self.abreast:
            self.second = widths[0] + 2 * spare + _GAP, 0.0
            self.onward = self.second[0] + self.marks[0].box[0] - self.marks[1].box[0], 0.0
        else:
            self.second = self.onward = 0.0, self.canvas.height
        self.across, self.down = 0.0, 0.0

    def next(self) -> None:
        """What is drawn from now on stands beside or below what was drawn."""
        self.canvas.shift(*self.onward)
        self.across, self.down = self.second
        self.canvas.height += self.down

    def _place(self, spot: Point) -> Point:
        x, y = self.canvas.at((0.0, 0.0))
        return x + spot[0], y + spot[1]

    def said(self, word: str, state: State) -> None:
        """Before or after, layers, which side is up."""
        told = f"{state.layers}, {state.up}"
        rows = (word, state.layers, state.up) if self.abreast else (f"{word}: {told}" if word else told[0].upper() + told[1:],)
        for row, words in enumerate(rows):
            self.canvas.words((self.across + 2, self.down + TEXT + row * _ROW), words, "start", "strong" if row == 0 else "text")

    def lines(self, marks: _Marks) -> None:
        way = ""
        for points in marks.ways:
            way += "".join(f"{'L' if i else 'M'}{number(x)} {number(y)}" for i, (x, y) in enumerate(map(self._place, points)))
        self.canvas.add("path", "line", d=way)

    def told(self, marks: _Marks, state: State) -> None:
        """Sewing, tabs, link, names and sizes."""
        canvas, sheet = self.canvas, marks.lying.sheet
        if state.outside:
            draw_grain(canvas, sheet)
        draw_sewing(canvas, sheet)
        canvas.spot("link", self._place(marks.link), 5)
        for at, _ in marks.lying.groups:
            canvas.dot("corner", at, 2.5)
        for spot, words in marks.tabs:
            canvas.tab(self._place(spot), words)
        for spot, words, anchor in marks.names:
            canvas.words(self._place(spot), words, anchor, "on-cloth")
        (left, _), (right, _) = canvas.at((sheet.box[0], 0)), canvas.at((sheet.box[2], 0))
        level = self.down + self.floor + 10
        canvas.measure(((left, level), (right, level)), (0, 4))
        if self.abreast:
            canvas.words((self.across + 2, level + _ROW), state.long, "start", "dim-text")
            canvas.words((self.across + 2, level + 2 * _ROW), state.wide, "start", "dim-text")
        else:
            canvas.words(((left + right) / 2, level + _ROW), f"{state.long}, {state.wide}", "middle", "dim-text")


def _room(fold: Fold) -> Box:
    """Cloth before and after the fold, and its crease [m]."""
    ends = fold.crease or ()
    return _around([fold.before.box, fold.after.box, *((x, y, x, y) for x, y in ends)])


@remembered(64)
def fold_step(
    fold: Fold, total: int, states: tuple[State, State], names: Names, name: str, description: str, side: Side | None = None
) -> Drawing:
    """Cloth before a fold, with the hands' way, and after it, able to swing back; for the first act what lies there.

    total: of lines; states: before and after; side: the lengths seen from the side, for a strip that is made shorter.
    """
    strip = fold.act in ("flake", "lengthwise", "shorten")
    moves = fold.after is not fold.before
    sheets = (fold.before, fold.after) if moves else (fold.after,)
    picture = _Picture(tuple(_Lying(sheet, strip) for sheet in sheets), _room(fold), total, names)
    canvas = picture.canvas
    if moves:
        _lay(picture, picture.marks[0], names.before, states[0], fold, hands=True)
        picture.next()
    with canvas.apart("fold-after"):
        _lay(picture, picture.marks[-1], names.after if moves else "", states[1], fold)
    if side:
        _from_the_side(picture, fold.after, side)
    return canvas.drawing(name, description, _class(fold.after))


def _class(sheet: Sheet) -> str:
    """Cloth of many narrow pieces is drawn without their edges."""
    return "loft-fold loft-ringed" if any(what == "rim" for what, _, _ in sheet.sewn) else "loft-fold"


@remembered(16)
def bundle_seen(
    fold: Fold, total: int, state: State, names: Names, side: Side, name: str, description: str
) -> Drawing:
    """What a canopy's last fold leaves, from above and from the side."""
    picture = _Picture((_Lying(fold.after, strip=True),), fold.after.box, total, names, aside=26)
    _lay(picture, picture.marks[0], "", state)
    _from_the_side(picture, fold.after, side)
    return picture.canvas.drawing(name, description, _class(fold.after))


def _lay(
    picture: _Picture, marks: _Marks, word: str, state: State, fold: Fold | None = None, *, hands: bool = False
) -> None:
    """Lines, cloth, what is sewn and said; with the hands of the fold to come, or with the part that was folded over able to
    swing back, while what is said goes.
    """
    canvas = picture.canvas
    with canvas.apart("fold-told"):
        picture.lines(marks)
    if fold and fold.crease and fold.staying and fold.moving and not hands:
        draw_cloth(canvas, fold.staying)
        with canvas.turning(*fold.crease):
            draw_cloth(canvas, fold.moving)
    else:
        draw_cloth(canvas, marks.lying.sheet)
    with canvas.apart("fold-told"):
        if fold and hands:
            _hands(canvas, fold)
        picture.told(marks, state)
        picture.said(word, state)


def _hands(canvas: Canvas, fold: Fold) -> None:
    """Where it is creased, fingers where it is held, and a straight arrow the way it is carried."""
    x0, y0, x1, y1 = fold.before.box
    if not (fold.crease and fold.moving):
        for i in range(1, fold.parts):
            at = x1 - (x1 - x0) * i / fold.parts
            canvas.segment("fold-here", (at, y0), (at, y1))
        x, y = canvas.at((x0, (y0 + y1) / 2))
        tip = min(((cx, cy) for f in fold.before.facets for cx, cy in f.corners), key=lambda p: p[0])
        canvas.fingers([(x + 2, canvas.at(tip)[1])], (1.0, 0.0))
        canvas.arrow((x + 18, y), (x + (x1 - x0) * canvas.scale / fold.parts, y))
        return
    (cx, cy), (dx, dy) = line_of(fold.crease)
    canvas.segment("fold-here", *fold.crease)
    corners = [p for f in fold.moving.facets for p in f.corners]
    off = [dx * (y - cy) - dy * (x - cx) for x, y in corners]
    if max(off) < -min(off):  # every other pleat lies on the other side of its crease
        dx, dy, off = -dx, -dy, [-far for far in off]
    most = max(off)
    held = sorted((dx * x + dy * y, (x, y)) for (x, y), far in zip(corners, off, strict=True) if far > 0.985 * most)
    (ax, ay), (bx, by) = held[0][1], held[-1][1]
    x, y = (ax + bx) / 2, (ay + by) / 2
    apart = (held[-1][0] - held[0][0]) * canvas.scale
    inwards = min(0.25, 9 / apart) if apart else 0.0
    two = ((ax + inwards * (bx - ax), ay + inwards * (by - ay)), (bx - inwards * (bx - ax), by - inwards * (by - ay)))
    ends = two if apart > 44 else ((x, y),)
    way = dy, -dx  # from the part that moves over the crease
    canvas.fingers([(x + 8 * way[0], y - 8 * way[1]) for x, y in map(canvas.at, ends)], (way[0], -way[1]))
    near, far = (18 if len(ends) == 1 else 3) / canvas.scale, 2 * most - 8 / canvas.scale
    if far - near < 22 / canvas.scale:
        near, far = -16 / canvas.scale, max(most, 6 / canvas.scale)
    canvas.arrow(canvas.at((x + near * way[0], y + near * way[1])), canvas.at((x + far * way[0], y + far * way[1])))


def _from_the_side(picture: _Picture, sheet: Sheet, side: Side) -> None:
    """The lengths on each other, the skirt's undermost, its lines free."""
    canvas, thick = picture.canvas, max(_THIN, side.thick * picture.canvas.scale / side.parts)
    (left, _), (right, _) = canvas.at((sheet.box[0], 0)), canvas.at((sheet.box[2], 0))
    scaled = side.thick * canvas.scale / side.parts >= _THIN
    top = canvas.height + TEXT
    canvas.words((2, top), side.to_scale if scaled else side.thicker, "start", "strong")
    top += 10
    foot = top + thick * side.parts
    made, turns = "", ""
    for i in range(side.parts):
        y = foot - thick * (i + 0.5)
        made += f"M{number(left)} {number(y - thick / 2 + 0.8)}H{number(right)}V{number(y + thick / 2 - 0.8)}H{number(left)}z"
        if i < side.parts - 1:
            x, bulge = (left, -1) if i % 2 == 0 else (right, 1)
            turns += f"M{number(x)} {number(y)}q{number(bulge * 7)} {number(-thick / 2)} 0 {number(-thick)}"
    canvas.add("path", "length", d=made)
    canvas.add("path", "length-turn", d=turns)
    y = foot - thick / 2
    end = min(right + 34, WIDTH - 12)
    canvas.rule("line", (right, y), (end, y))
    canvas.spot("link", (end + 5, y), 5)
    canvas.measure(((left - 14, top), (left - 14, foot)), (4, 0))
    canvas.words(((left + right) / 2, foot + _ROW), side.thickness, "middle", "dim-text")
    canvas.height = foot + 2 * _ROW - 8


@remembered(16)
def line_order(total: int, crossed: tuple[int, int] | None, name: str, description: str) -> Drawing:
    """Lines from the skirt (left) to the link (right) in number order, two of them crossed or none. Not to scale."""
    rows = min(total, 12)
    canvas = Canvas((0, 0, 10, rows - 1), left=40, right=40, top=22, bottom=22, tallest=18.0 * rows)
    canvas.segment("cloth-edge", (0, -0.4), (0, rows - 0.6))
    canvas.segment("tube-wall", (10, -0.4), (10, rows - 0.6))
    for i in range(1, rows + 1):
        y = float(rows - i)
        end = y
        if crossed and i in crossed:
            end = float(rows - (crossed[1] if i == crossed[0] else crossed[0]))
        canvas.shape("line", ((0, y), (4, y), (6, end), (10, end)), closed=False)
        canvas.dot("corner", (0, y), 2.5)
        for (x, level), aside in ((canvas.at((0, y)), -16), (canvas.at((10, end)), 16)):
            canvas.tab((x + aside, level), str(i))
    if rows < total:
        canvas.words((WIDTH / 2, canvas.height - 4), f"and so on to line {total}")
    return canvas.drawing(name, description, "loft-fold")


def wrapped(bundle: Bundle, turns: float, what: str, length: Length, name: str, description: str) -> Drawing:
    """The bundle from the side, lines to the right, with turns of line (class line) or cord round it."""
    half = bundle.width / 2
    canvas = Canvas((0, -half, bundle.length * 1.5, half), left=16, right=16, top=26, bottom=40, tallest=110)
    canvas.box("bundle", (0, -half), (bundle.length, half))
    count = int(turns)
    pitch = bundle.length / (count + 1)
    for i in range(count):
        x = bundle.length - pitch * (i + 0.6)
        canvas.segment(what, (x, -half), (x - pitch * 0.35, half))
    last = bundle.length - pitch * (count - 0.4) if count else bundle.length
    canvas.shape(
        what,
        ((last, -half if count else 0.0), (bundle.length, -half if count else 0.0), (bundle.length * 1.5, 0.0)),
        closed=False,
    )
    canvas.across(0, bundle.length, -half, length(bundle.length), below=12)
    canvas.words((4, TEXT), f"{count} turn{'s' if count != 1 else ''} of {what}", "start")
    return canvas.drawing(name, description, "loft-fold")
