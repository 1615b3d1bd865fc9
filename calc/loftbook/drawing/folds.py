"""Each fold as it is made, before and after: cloth, sewing, lines to the link, hands; the order of the lines, and what is
wound round the bundle. Words come from the caller.

Lines are drawn shorter than they are; all else is to scale, except where a view from the side says that it is not. A picture keeps
the scale of the one before it where it can, and else says that it does not.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from math import inf

from loftbook.drawing.cloth import draw_apex, draw_back, draw_cloth, draw_grain, draw_hem, draw_seams, named_lines
from loftbook.drawing.markup import number, tenth
from loftbook.drawing.svg import LETTER, TEXT, WIDTH, Canvas, Drawing, Length, Paper, Point
from loftbook.physics.elementary import sqrt
from loftbook.physics.folding import Bundle, Fold, Sheet, Stitch, grouped, levelled, line_of, mirrored, split
from loftbook.physics.remembered import remembered

_SPACE = WIDTH - 6  # for pictures, one or two beside each other with a gap
_GAP = 10.0
_ROW = TEXT + 2
_MEETING = 20.0  # from cloth and tabs to where the lines come together
_RIM = 7.0  # for what reaches over the cloth's edge: ring, hem, fingers
_THIN = 5.0  # the least that a length seen from the side is drawn thick
_ROUND = 0.2  # lines whose middle is nearer to the apex than this part of their reach leave the cloth all round
_ACTS = 2  # acts of one kind that are drawn; of more, the first ones and the last
_BESIDE = 32.0  # room of an arrow beside a link
_KEPT = 0.8  # a picture keeps the scale of the one before it if that is at least so much of what it has room for
_CARRIED = 38.0  # length of the arrow that brings the link to another side [picture units]


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
    """What is called how: the middle of the canopy, its skirt, the link, the states before and after a fold; what is said of a
    picture whose scale is not that of the one before it, of a wedge that is to be turned, and where acts alike are left out.
    """

    middle: str
    skirt: str
    link: str
    before: str
    after: str
    larger: str
    smaller: str
    turn: str
    on: str


@dataclass(frozen=True)
class Side:
    """The lengths that a strip is laid in, seen from the side: how many, how thick in all [m], in words, and what is said over
    it to scale or not; acts: over each view of a strip that is laid back and forth, one for every time the hand carries it;
    middle: what is said where the middle of the canopy is, seen: whether it lies open, ring: whether it is an apex.
    """

    parts: int
    thick: float
    thickness: str
    to_scale: str
    thicker: str
    middle: str
    seen: bool
    ring: bool
    acts: tuple[str, ...] = ()


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
Name = tuple[Point, str, str]  # where it stands, the words, how they are set


def _text_box(spot: Point, words: str, anchor: str) -> Box:
    wide = LETTER * len(words)
    left = spot[0] - {"start": 0.0, "middle": wide / 2, "end": wide}[anchor]
    return left, spot[1] - 0.8 * TEXT, left + wide, spot[1] + 0.25 * TEXT


def _around(boxes: Iterable[Box]) -> Box:
    left, top, right, bottom = zip(*boxes, strict=True)
    return min(left), min(top), max(right), max(bottom)


class _Marks:
    """What is drawn about cloth at a scale: lines, tabs, link and names, in picture units from the metres' origin, y down.

    came: the way to the link in the picture before; where it is another by far, an arrow brings the link from there. alone: no second
    picture stands beside it.
    """

    def __init__(
        self, lying: _Lying, scale: float, total: int, names: Names, room: Box, came: Point | None = None, *, alone: bool = False
    ) -> None:
        self.lying, self.scale = lying, scale
        self.tabs = [self._tab(at, named_lines(group, total)) for at, group in lying.groups]
        self.ways = self._ways()
        self.names = self._named(names, alone)
        (ux, uy), (x, y) = lying.towards, self.link
        self.carried: tuple[Point, Point] | None = None
        if came and came[0] * ux + came[1] * uy < 0.6:
            start = x + _CARRIED * came[0], y - _CARRIED * came[1]
            self.carried = start, (x + 9 * came[0], y - 9 * came[1])
        if self.carried:
            sx, sy = self.carried[0]
            level = abs(sy - y) < 20
            self.names.append(((sx, sy - 8) if level else (sx + 6, sy + 5), names.link, "middle" if level else "start"))
        elif alone and lying.round:
            self.names.append(((x + 9, y + 5), names.link, "start"))
        x0, y0, x1, y1 = room
        self.box = _around(
            [
                (x0 * scale - _RIM, -y1 * scale, x1 * scale + _RIM, 4 - y0 * scale),
                (x - 7, y - 7, x + 7, y + 7),
                *(_text_box((x, y + 5), words, "middle") for (x, y), words in self.tabs),
                *(_text_box(*name) for name in self.names),
                *((x - 6, y - 6, x + 6, y + 6) for x, y in self.carried or ()),
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
        far += 14 if lying.round else _MEETING
        x, y = (0.0, sum(y for _, y in starts) / len(starts)) if lying.strip else (0.0, 0.0)
        far -= x * ux - y * uy
        meet = x + far * ux, y - far * uy
        past = 12 if lying.round else 16
        self.link = meet[0] + past * ux, meet[1] - past * uy
        ways = [[start, meet] if lying.round else [start, tab, meet] for start, (tab, _) in zip(starts, self.tabs, strict=True)]
        return [*ways, [meet, self.link]]

    def _named(self, names: Names, alone: bool) -> list[Name]:
        """Apex and skirt: where they are named, and how that is set; off the cloth where there is room."""
        lying = self.lying
        (x, y), (hx, hy) = self.at(lying.middle), self.at(lying.hem)
        x0, y0, x1, y1 = lying.sheet.box
        left, right, low, high = x0 * self.scale, x1 * self.scale, -y0 * self.scale, -y1 * self.scale
        if lying.round:
            few = len(lying.groups) <= 9
            skirt: Name = ((hx - 5, hy + 15), names.skirt, "end") if few else ((hx + 26, hy - 7), names.skirt, "middle")
            whats = {what for what, _, _ in lying.sheet.sewn}
            if "apex" in whats or "rim" in whats:
                return [((x, y + (16 if "rim" in whats else -9)), names.middle, "middle"), skirt]
            return [((x, y + 5), names.middle, "middle"), skirt] if alone else [skirt]  # the middle panel, where hands need the room
        if lying.strip:
            return self._named_strip(names, x, y, (left, high, right, low))
        if y < low - 2:  # pleats hang below the apex, their pile above it has the skirt at its upper corner
            top = max(lying.corners, key=lambda p: p[1])[0] * self.scale
            return [((x - 7, y + 1), names.middle, "end"), ((max(top, x + 20), high - 8), names.skirt, "middle")]
        middle: Name = ((x - 6, low + 19), names.middle, "start") if x < left + 2 else ((x, low + 19), names.middle, "middle")
        level = low + 19 + (_ROW if _text_box(*middle)[2] > right - LETTER * len(names.skirt) / 2 else 0)
        return [middle, ((right, level), names.skirt, "middle")]

    def _named_strip(self, names: Names, x: float, y: float, box: Box) -> list[Name]:
        """Apex by its ring, skirt below the end that has it; of a short strip in two rows."""
        left, high, right, low = box
        leftmost = x <= (left + right) / 2 + 1
        below = y > (low + high) / 2 + 2
        short = below and (not leftmost or right - left < LETTER * (len(names.middle) + len(names.skirt) + 1))
        bare = not any(what == "apex" for what, _, _ in self.lying.sheet.sewn)
        level = low + 20 if below else high - 6 if bare else y - (20 if y - high > 6 else 9)  # over cloth that rises from the apex
        where: Name = ((left - 5 if leftmost else right + 5, level), names.middle, "start" if leftmost else "end")
        return [where, ((right, low + (20 + _ROW if short else 20)), names.skirt, "end")]


class _Fit:
    """How large pictures of cloth may be, by what lines, tabs and names take up about each: that is the same at any scale."""

    def __init__(self, lyings: tuple[_Lying, ...], room: Box, total: int, names: Names) -> None:
        self.made = lyings, total, names, room
        self.across, self.up = room[2] - room[0], room[3] - room[1]
        self.marks = self._at(120 / max(self.across, self.up))

    def _at(self, scale: float) -> list[_Marks]:
        lyings, total, names, room = self.made
        came = [None, *(lying.towards for lying in lyings)]
        alone = len(lyings) == 1
        return [_Marks(lying, scale, total, names, room, before, alone=alone) for lying, before in zip(lyings, came, strict=False)]

    def largest(self, wide: float, high: float, *, abreast: bool) -> float:
        """The scale at which they go into so many picture units, each by itself or beside each other."""
        now, widths = self.marks[0].scale, [marks.box[2] - marks.box[0] for marks in self.marks]
        taken, count = (sum(widths), len(widths)) if abreast else (max(widths), 1)
        tall = _around(marks.box for marks in self.marks)
        fit = min(now + (wide - taken) / count / self.across, now + (high - tall[3] + tall[1]) / self.up)
        return max(fit, 0.15 * min(wide / self.across, high / self.up))

    def drawn(self, scale: float) -> list[_Marks]:
        """The marks at that scale."""
        if scale != self.marks[0].scale:
            self.marks = self._at(scale)
        return self.marks


@dataclass(frozen=True, eq=False)
class _Plan:
    """How a fold is drawn: what is about the cloth before and after it, beside each other or not; how it lies before it is turned,
    and how much larger it is drawn than the one before.
    """

    marks: tuple[_Marks, ...]
    abreast: bool
    turned: _Marks | None = None
    grown: float = 1.0

    @property
    def scale(self) -> float:
        return self.marks[0].scale


def _planned(lyings: tuple[_Lying, ...], room: Box, total: int, names: Names, aside: float = 0.0, kept: float = 0.0, limit: float = inf) -> _Plan:
    """As large as there is room and the limit lets it, or at the scale that is kept if it is not much less."""
    two, fit = len(lyings) > 1, _Fit(lyings, room, total, names)
    beside = (_SPACE - _GAP, 190.0)
    below = (_SPACE - aside, 100.0 if two else 220.0)
    abreast, whole = fit.largest(*beside, abreast=True) if two else 0.0, fit.largest(*below, abreast=False)
    is_abreast = two and abreast > 0.75 * whole
    most = min(limit, abreast if is_abreast else whole)
    if not _KEPT * most <= kept <= most:
        fit.drawn(most)
        exact = fit.largest(*(beside if is_abreast else below), abreast=is_abreast)
        kept = min(limit, exact) if exact < 0.99 * most else most  # other marks reach farthest at this scale
    space = beside[0] if is_abreast else below[0]
    for _ in range(3):  # at a scale that is kept, marks may reach farther than at the one that was measured
        boxes = [marks.box for marks in fit.drawn(kept)]
        extent = _around(boxes)
        wide = sum(box[2] - box[0] for box in boxes) if is_abreast else extent[2] - extent[0]
        if wide <= space:
            break
        kept *= space / wide
    return _Plan(tuple(fit.drawn(kept)), is_abreast)


def _is_strip(fold: Fold) -> bool:
    return fold.act in ("flake", "lengthwise", "shorten")


@remembered(128)
def _plan(folds: tuple[Fold, ...], total: int, names: Names) -> _Plan:
    """How the last of the folds is drawn; those before it tell its scale, and whether cloth is turned first."""
    fold, earlier = folds[-1], _plan(folds[:-1], total, names).scale if len(folds) > 1 else 0.0
    strip, lying = _is_strip(fold), None
    sheets = (fold.before, fold.after) if fold.after is not fold.before else (fold.after,)
    plan = _planned(tuple(_Lying(sheet, strip) for sheet in sheets), _room(fold), total, names, kept=earlier)
    if strip and len(folds) > 1 and folds[-2].wedge and folds[-2].act in ("halve", "pleat"):
        wedge = _Lying(folds[-2].after, strip=False)
        lying = _Marks(wedge, plan.scale, total, names, folds[-2].after.box)
        if (wide := lying.box[2] - lying.box[0]) > _SPACE - _BESIDE:
            plan = _planned(tuple(_Lying(sheet, strip) for sheet in sheets), _room(fold), total, names, limit=plan.scale * (_SPACE - _BESIDE) / wide)
            lying = _Marks(wedge, plan.scale, total, names, folds[-2].after.box)
    return _Plan(plan.marks, plan.abreast, lying, plan.scale / earlier if earlier else 1.0)


@remembered(64)
def _hems(folds: tuple[Fold, ...]) -> tuple[tuple[Stitch, ...], tuple[Stitch, ...]]:
    """The hem of a strip after the last of the folds that lies on top, and that of its undermost layer: all layers of the wedge that it
    was have theirs at one place, and of two halves the upper one is what was undermost, turned over.
    """
    fold = folds[-1]
    if fold.act == "shorten":
        return (), ()
    if fold.act != "lengthwise" or not fold.crease:
        hem = tuple(stitch for stitch in levelled(fold).sewn if stitch[0] == "hem")
        return hem, hem
    stay, go = split(Sheet((), (), _hems(folds[:-1])[1]), *line_of(fold.crease))
    return mirrored(go, *line_of(fold.crease)).sewn, stay.sewn


class _Picture:
    """Pictures of cloth at one scale under or beside each other, with what is said above and below them."""

    def __init__(self, plan: _Plan, names: Names) -> None:
        self.plan, self.names = plan, names
        self.canvas = Canvas((0, 0, 1, 1), left=0, right=WIDTH - plan.scale, top=0, bottom=0, tallest=plan.scale)
        self.canvas.height = 0.0
        self.across = self.down = self.floor = 0.0

    def begin(self, boxes: Iterable[Box], rows: int, aside: float = 0.0, *, hands: float = 0.0, tight: bool = False) -> None:
        """The next row of pictures: so much is said over it, and hands reach so far out; tight: nothing is said below."""
        boxes = list(boxes)
        self.down = self.canvas.height
        whole, head = _around(boxes), _ROW * rows + 6 + hands
        abreast = self.plan.abreast and len(boxes) > 1
        widths = [box[2] - box[0] for box in boxes]
        wide = sum(widths) + _GAP if abreast else max(widths)
        spare = max(0.0, _SPACE - aside - wide) / (4 if abreast else 2)
        self.floor = self.down + head + whole[3] - whole[1]
        self.level = self.down + head - whole[1]
        self.left = 3 + aside + spare - boxes[0][0]
        self.second = widths[0] + 2 * spare + _GAP
        self.canvas.move(self.left, self.level)
        self.across = 0.0
        self.canvas.height = self.floor + (4 if tight else 3 * _ROW + 6 if abreast else 2 * _ROW)

    def beside(self, marks: _Marks) -> None:
        """The second picture of the row."""
        self.across = self.second
        self.canvas.move(self.left + self.second + self.plan.marks[0].box[0] - marks.box[0], self.level)

    def _place(self, spot: Point) -> Point:
        x, y = self.canvas.at((0.0, 0.0))
        return round(x + spot[0], 1), round(y + spot[1], 1)

    def said(self, word: str, state: State, note: str) -> None:
        """Before or after, layers, which side is up; whether its scale is new."""
        told = f"{state.layers}, {state.up}"
        rows = [word, state.layers, state.up] if self.plan.abreast else [f"{word}: {told}" if word else told[0].upper() + told[1:]]
        for row, words in enumerate([*rows, note] if note else rows):
            self.canvas.words((self.across + 2, self.down + TEXT + row * _ROW), words, "start", "strong" if row == 0 else "text")

    def lines(self, marks: _Marks, class_: str = "line") -> None:
        way = ""
        for points in marks.ways:
            way += "".join(f"{'L' if i else 'M'}{tenth(x)} {tenth(y)}" for i, (x, y) in enumerate(map(self._place, points)))
        self.canvas.add("path", class_, d=way)

    def about(self, marks: _Marks) -> None:
        """Ends of lines, tabs, link and names."""
        canvas = self.canvas
        canvas.spot("link", self._place(marks.link), 5)
        canvas.dots("line-end", (canvas.at(at) for at, _ in marks.lying.groups))
        canvas.tabs((self._place(spot), words) for spot, words in marks.tabs)
        if marks.carried:
            canvas.arrow(*map(self._place, marks.carried))
        for spot, words, anchor in marks.names:
            canvas.words(self._place(spot), words, anchor, "on-cloth")

    def sizes(self, marks: _Marks, state: State) -> None:
        canvas, sheet = self.canvas, marks.lying.sheet
        (left, _), (right, _) = canvas.at((sheet.box[0], 0)), canvas.at((sheet.box[2], 0))
        level = self.floor + 8
        canvas.measure(((left, level), (right, level)), (0, 4))
        if self.plan.abreast:
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
    folds: tuple[Fold, ...],
    total: int,
    states: tuple[State, State],
    names: Names,
    name: str,
    description: str,
    side: Side | None = None,
) -> Drawing:
    """Cloth before the last of the folds, with the hands' way, and after it, able to swing back; for the first act what lies there.

    folds: all up to it; total: of lines; states: before and after; side: the lengths seen from the side, for a strip that is made
    shorter.
    """
    fold, plan = folds[-1], _plan(folds, total, names)
    picture = _Picture(plan, names)
    canvas, marks, abreast = picture.canvas, plan.marks, plan.abreast
    note = names.larger if plan.grown > 1.05 else names.smaller if plan.grown < 0.95 else ""
    rows = (3 if abreast else 1) + (1 if note else 0)
    if plan.turned:
        with canvas.apart("fold-lay"):
            _turn(picture, plan.turned)
    if len(marks) > 1:
        boxes = [one.box for one in marks]
        picture.begin(boxes if abreast else [_around(boxes)], rows, hands=0.0 if not _is_strip(fold) else 8.0 if fold.crease else 16.0)
        _lay(picture, marks[0], names.before, states[0], _hems(folds[:-1])[0], note, fold=fold)
        if side and side.acts:
            _laid_back(picture, fold, side)
        if abreast:
            picture.beside(marks[1])
        else:
            picture.begin([_around(boxes) if fold.crease else boxes[1]], 1)
    else:
        picture.begin([marks[0].box], rows)
    with canvas.apart("fold-after"):
        _lay(picture, marks[-1], names.after if len(marks) > 1 else "", states[1], _hems(folds)[0], folded=fold)
    if side:
        _from_the_side(picture, fold.after, side)
    return canvas.drawing(name, description, _class(fold.after))


def _class(sheet: Sheet) -> str:
    """Cloth of many narrow pieces is drawn without their edges."""
    return "loft-fold loft-ringed" if any(what == "rim" for what, _, _ in sheet.sewn) else "loft-fold"


@remembered(16)
def bundle_seen(
    folds: tuple[Fold, ...], total: int, state: State, names: Names, side: Side, name: str, description: str
) -> Drawing:
    """What a canopy's folds leave, from above and from the side."""
    sheet = folds[-1].after
    plan = _planned((_Lying(sheet, strip=True),), sheet.box, total, names, aside=26)
    picture = _Picture(plan, names)
    picture.begin([plan.marks[0].box], 1, 26)
    _lay(picture, plan.marks[0], "", state, _hems(folds)[0])
    _from_the_side(picture, sheet, side)
    return picture.canvas.drawing(name, description, _class(sheet))


def _turn(picture: _Picture, marks: _Marks) -> None:
    """A wedge as it lay after the fold before, and the way its link is carried so that it lies level with the middle."""
    canvas, sheet = picture.canvas, marks.lying.sheet
    left, top, right, bottom = marks.box
    picture.begin([(left, top, max(right, marks.link[0] + _BESIDE), bottom)], 1, tight=True)
    canvas.words((2, TEXT), picture.names.turn, "start", "strong")
    picture.lines(marks)
    draw_cloth(canvas, sheet)
    draw_hem(canvas, [stitch for stitch in sheet.sewn if stitch[0] in ("hem", "rim")])
    draw_apex(canvas, sheet)
    picture.about(marks)
    (x, y), (_, level) = canvas.at((0.0, 0.0)), canvas.at(marks.lying.middle)
    x, y = min(x + marks.link[0] + _BESIDE / 2, WIDTH - 8), y + marks.link[1]
    canvas.arrow((x, y), (x, level))


def _lay(
    picture: _Picture,
    marks: _Marks,
    word: str,
    state: State,
    top: tuple[Stitch, ...],
    note: str = "",
    *,
    fold: Fold | None = None,
    folded: Fold | None = None,
) -> None:
    """Lines, cloth, what is sewn and said; with the hands of the fold to come, or with the part that was `folded` over able to
    swing back, while what is said goes. top: the hem of a strip that lies on top.
    """
    canvas, lying = picture.canvas, marks.lying
    on_top = top if lying.strip else None
    with canvas.apart("fold-told"):
        picture.said(word, state, note)
        picture.lines(marks)
    if folded and folded.crease and folded.staying and folded.moving:
        draw_cloth(canvas, folded.staying)
        _sewn(canvas, folded.staying, on_top)
        with canvas.turning(*folded.crease):
            draw_cloth(canvas, folded.moving)
            back = mirrored(Sheet((), (), on_top), *line_of(folded.crease)).sewn if on_top is not None else None
            _sewn(canvas, folded.moving, back)
            _in_hand(canvas, lying, folded)
    else:
        if lying.round:
            draw_back(canvas, lying.sheet)
        draw_cloth(canvas, lying.sheet)
        _sewn(canvas, lying.sheet, on_top)
    with canvas.apart("fold-told"):
        if folded and folded.crease and folded.act == "pleat":  # what is sewn to its two parts is not told apart
            draw_hem(canvas, [stitch for stitch in lying.sheet.sewn if stitch[0] in ("hem", "rim")])
        if lying.round and not fold:
            picture.lines(marks, "line-under")
        if state.outside:
            draw_grain(canvas, lying.sheet)
        draw_seams(canvas, lying.sheet)
        if fold:
            _creased(canvas, fold)
        picture.about(marks)
        picture.sizes(marks, state)
    draw_apex(canvas, lying.sheet)
    if fold and fold.crease:
        _hands(canvas, fold)


def _sewn(canvas: Canvas, sheet: Sheet, top: Iterable[Stitch] | None) -> None:
    """The hem; of a strip that which lies on top, what is under it pale and broken."""
    hem = [stitch for stitch in sheet.sewn if stitch[0] in ("hem", "rim")]
    if top is None:
        draw_hem(canvas, hem)
        return
    seen = {_ends(stitch) for stitch in top}
    draw_hem(canvas, [stitch for stitch in hem if _ends(stitch) not in seen], under=True)
    draw_hem(canvas, [stitch for stitch in hem if _ends(stitch) in seen])


def _ends(stitch: Stitch) -> frozenset[Point]:
    return frozenset((round(x, 6) + 0.0, round(y, 6) + 0.0) for x, y in stitch[1:])


# --- hands --------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Carried:
    """How hands bring cloth over a crease: the way, one unit long; where it is held, from where to where an arrow goes [m]."""

    way: Point
    held: tuple[Point, ...]
    start: Point
    goal: Point


@remembered(32)  # for the hands before a fold, and for those that go with it
def _over(fold: Fold, scale: float) -> _Carried:
    """Fingers on the edge that is carried, the arrow beside them from that edge to where it comes to lie."""
    assert fold.crease
    assert fold.moving
    (cx, cy), (dx, dy) = line_of(fold.crease)
    pieces = [[(dx * x + dy * y, dx * (y - cy) - dy * (x - cx)) for x, y in f.corners] for f in fold.moving.facets]
    if max(off for piece in pieces for _, off in piece) < -min(off for piece in pieces for _, off in piece):
        dx, dy = -dx, -dy  # every other pleat lies on the other side of its crease
        pieces = [[(-along, -off) for along, off in piece] for piece in pieces]
    base = dx * cx + dy * cy
    spots = [spot for piece in pieces for spot in piece]
    most = max(off for _, off in spots)
    ends = [along for along, off in spots if off > 0.985 * most]
    first, last = min(ends), max(ends)
    apart, middle = (last - first) * scale, (first + last) / 2

    def at(along: float, off: float) -> Point:
        return cx + (along - base) * dx - off * dy, cy + (along - base) * dy + off * dx

    apex = next((dx * x + dy * y for what, (x, y), _ in fold.before.sewn if what == "apex"), base)
    if apart > 64:
        held, where = [first + 0.3 * (last - first), last - 0.2 * (last - first)], middle
        if abs(where - apex) * scale < 19:
            where += 0.15 * (last - first)
    else:  # beside the fingers, clear of the apex but on its side, where enough cloth is; else on the held edge itself
        step = max(20.0, 0.4 * apart) / scale
        held, places = [middle], [along for along in (middle - step, middle + step) if _far(pieces, along) > 0.6 * most]
        places.sort(key=lambda along: (abs(along - apex) * scale < 19, abs(along - apex)))
        where = places[0] if places else last - 0.15 * (last - first)
        if not places:
            held = [first + 0.2 * (last - first)]
        elif any(abs(dx * x + dy * y - middle) * scale < 12 and dx * (y - cy) - dy * (x - cx) > 0.9 * most for (x, y), _ in fold.moving.lines):
            aside = middle + (16 if where < middle else -16) / scale
            held = [aside if _far(pieces, aside) > 0.5 * most else middle]  # beside the line's number
    far = _far(pieces, where)
    return _Carried((dy, -dx), tuple(at(along, _far(pieces, along)) for along in held), at(where, far), at(where, -far))


def _far(pieces: list[list[Point]], along: float) -> float:
    """How far cloth reaches from its crease at a place along it."""
    best = 0.0
    for piece in pieces:
        for (a, off), (b, other) in zip(piece, piece[1:] + piece[:1], strict=True):
            if min(a, b) - 1e-9 <= along <= max(a, b) + 1e-9:
                reach = max(off, other) if abs(a - b) < 1e-9 else off + (other - off) * (along - a) / (b - a)
                best = max(best, reach)
    return best


def _creased(canvas: Canvas, fold: Fold) -> None:
    """Where it is creased; a strip's creases in their order."""
    if fold.crease:
        canvas.segment("fold-here", *fold.crease)
        return
    x0, y0, x1, y1 = fold.before.box
    for i in range(1, fold.parts):
        at = x1 - (x1 - x0) * i / fold.parts
        canvas.segment("fold-here", (at, y0), (at, y1))
        canvas.text((at, y1), str(i), shift=(0, -6))


def _hands(canvas: Canvas, fold: Fold) -> None:
    """Fingers on the edge that is carried, and a straight arrow from it to where it comes to lie."""
    carried = _over(fold, canvas.scale)
    canvas.arrow(canvas.at(carried.start), canvas.at(carried.goal))
    _fingers(canvas, carried)


def _fingers(canvas: Canvas, carried: _Carried) -> None:
    ux, uy = carried.way
    canvas.fingers(map(canvas.at, carried.held), (ux, -uy))


def _in_hand(canvas: Canvas, lying: _Lying, fold: Fold) -> None:
    """What goes with the part that swings: the beginnings of its lines, and the fingers that carry it."""
    assert fold.moving
    way = ""
    for at, _ in grouped(fold.moving.lines):
        (x, y), (ux, uy) = canvas.at(at), lying.outwards(at)
        way += f"M{tenth(x)} {tenth(y)}L{tenth(x + 16 * ux)} {tenth(y - 16 * uy)}"
    with canvas.apart("film"):
        if way:
            canvas.add("path", "line", d=way)
        _fingers(canvas, _over(fold, canvas.scale))


# --- from the side ------------------------------------------------------------------------------------


def _laid_back(picture: _Picture, fold: Fold, side: Side) -> None:
    """A strip laid back and forth from its skirt, seen from the side: each time the hand carries its next length but one, or its end,
    over the skirt's, and what is left lies back again.
    """
    canvas = picture.canvas
    x0, _, x1, _ = fold.before.box
    (start, _), (right, _) = canvas.at((x0, 0)), canvas.at((x1, 0))
    length, thick = (right - start) / side.parts, _thick(canvas, side)
    left, grip = right - length, right - 2 * length + 6
    acts = list(enumerate(side.acts))
    skipped = len(acts) > _ACTS
    for i, words in [*acts[: _ACTS - 1], acts[-1]] if skipped else acts:
        lying = 2 * i + 1
        top = canvas.height + TEXT
        canvas.words((2, top), words, "start", "strong")
        if skipped and i == _ACTS - 2:
            top += _ROW
            canvas.words((2, top), picture.names.on, "start")
        table = top + 34 + thick * lying
        end = right - length * (side.parts - lying + 1)
        high = table - thick * (lying - 1)
        canvas.add("path", "length", d=_lengths(left, right, table, thick, lying - 1) + _trailing(end, left, right, high, table, thick))
        _turns(canvas, left, right, table, thick, lying - 1)
        _ended(picture, (end, table - thick / 2), right, table, thick, side)
        canvas.fingers([(grip, table - thick - 1)], (0.0, 1.0))
        canvas.arrow((grip + 12, high - thick - 8), (right, high - thick - 8))
        canvas.height = table + _ROW + 6


def _thick(canvas: Canvas, side: Side) -> float:
    return max(_THIN, side.thick * canvas.scale / side.parts)


def _lengths(left: float, right: float, foot: float, thick: float, count: int) -> str:
    """So many lengths on each other, from below."""
    made = ""
    for i in range(count):
        y = foot - thick * (i + 0.5)
        made += f"M{number(left)} {number(y - thick / 2 + 0.8)}H{number(right)}V{number(y + thick / 2 - 0.8)}H{number(left)}z"
    return made


def _turns(canvas: Canvas, left: float, right: float, foot: float, thick: float, count: int) -> None:
    """Where one length goes over into the next."""
    turns = ""
    for i in range(count):
        x, bulge = (left, -1) if i % 2 == 0 else (right, 1)
        turns += f"M{tenth(x)} {tenth(foot - thick * (i + 0.5))}q{7 * bulge} {tenth(-thick / 2)} 0 {tenth(-thick)}"
    if turns:
        canvas.add("path", "length-turn", d=turns)


def _trailing(end: float, left: float, right: float, high: float, table: float, thick: float) -> str:
    """The topmost length, and all that is left of the strip beyond it, on the table."""
    down = max(end, left - 0.4 * (right - left))
    above = [(right, high - thick), (left, high - thick), (down, table - thick), (end, table - thick)]
    below = [(end, table), (down, table), (left, high), (right, high)]
    spots = [*above, *((x, y - 0.8) for x, y in below)]
    return "".join(f"{'L' if i else 'M'}{tenth(x)} {tenth(y)}" for i, (x, y) in enumerate(spots)) + "z"


def _ended(picture: _Picture, free: Point, right: float, foot: float, thick: float, side: Side) -> None:
    """The skirt's end undermost with its lines, and the middle of the canopy where its end is."""
    _skirt_end(picture, right, foot, thick)
    if side.ring:
        picture.canvas.spot("apex", free, 3.5)
    picture.canvas.words((free[0] - 5, foot + 13), side.middle, "start")


def _skirt_end(picture: _Picture, right: float, foot: float, thick: float) -> None:
    canvas, y, end = picture.canvas, foot - thick / 2, min(right + 34, WIDTH - 12)
    canvas.rule("line", (right, y), (end, y))
    canvas.spot("link", (end + 5, y), 5)
    canvas.rule("hem", (right - 1, foot - thick), (right - 1, foot))
    canvas.words((right - 10, foot + 13), picture.names.skirt, "start")


def _from_the_side(picture: _Picture, sheet: Sheet, side: Side) -> None:
    """The lengths on each other, the skirt's undermost, its lines free."""
    canvas, thick = picture.canvas, _thick(picture.canvas, side)
    (left, _), (right, _) = canvas.at((sheet.box[0], 0)), canvas.at((sheet.box[2], 0))
    scaled = side.thick * canvas.scale / side.parts >= _THIN
    top = canvas.height + TEXT
    canvas.words((2, top), side.to_scale if scaled else side.thicker, "start", "strong")
    top += 22
    foot = top + thick * side.parts
    canvas.add("path", "length", d=_lengths(left, right, foot, thick, side.parts))
    _turns(canvas, left, right, foot, thick, side.parts - 1)
    _skirt_end(picture, right, foot, thick)
    at_right = not side.seen or side.parts % 2 == 0
    canvas.words((right + 8 if at_right else left - 5, top + 5 if at_right else top - 5), side.middle, "start")
    if side.ring and side.seen:
        canvas.spot("apex", (right if at_right else left, top + thick / 2), 3.5)
    canvas.measure(((left - 14, top), (left - 14, foot)), (4, 0))
    canvas.words((right - 18, foot + 13), side.thickness, "end", "dim-text")
    canvas.height = foot + _ROW + 4


# --- the order of lines -------------------------------------------------------------------------------


@remembered(16)
def cleared(
    total: int, crossed: tuple[int, int], heads: tuple[str, str], act: str, further: str, name: str, description: str
) -> Drawing:
    """Two neighbours crossed on their way from the skirt (left) to the hand (right), and no more; heads: over each; act: what is done, at
    the arrow between the two; further: of the lines that are not drawn. Not to scale.
    """
    rows = min(total, 12)
    paper, (one, other) = _orderly(rows), crossed
    for left, words, swapped in ((0.0, heads[0], {one: other, other: one}), (162.0, heads[1], {})):
        paper.words((left + 2, TEXT), words, "start", "strong")
        _ranged(paper, left + 26, left + 128, {i: swapped.get(i, i) for i in range(1, rows + 1)})
    y = (_level(one) + _level(other)) / 2
    paper.fingers([(29, y)], (-1.0, 0.0))
    paper.arrow((43, y), (80, y))
    paper.words((2, _level(rows + 1) + 4), act, "start")
    if rows < total:
        paper.words((2, _level(rows + 2) + 4), further, "start")
    return paper.drawing(name, description, "loft-fold")


@remembered(16)
def hung_anew(total: int, head: str, further: str, name: str, description: str) -> Drawing:
    """Half of the lines hang on the link, the next is brought to it, the others hang loose; head: when it is done. Not to scale."""
    rows = min(total, 12)
    paper, next_one = _orderly(rows), rows // 2 + 1
    paper.words((2, TEXT), head, "start", "strong")
    _ranged(paper, 40, 280, {i: i for i in range(1, next_one)})
    way = "".join(f"M40 {tenth(_level(i))}H{120 if i == next_one else 70}" for i in range(next_one, rows + 1))
    paper.add("path", "line", d=way)
    paper.dots("line-end", [(40, _level(i)) for i in range(next_one, rows + 1)])
    paper.tabs([((24, _level(i)), str(i)) for i in range(next_one, rows + 1)])
    paper.rule("cloth-edge", (40, _level(next_one) - 8), (40, _level(rows) + 8))
    paper.rule("tube-wall", (280, _level(next_one) - 8), (280, _level(rows) + 8))
    paper.fingers([(122, _level(next_one))], (-1.0, 0.0))
    paper.arrow((140, _level(next_one)), (276, _level(next_one)))
    if rows < total:
        paper.words((2, _level(rows + 1) + 4), further, "start")
    return paper.drawing(name, description, "loft-fold")


def _level(row: int) -> float:
    return 20 + 18.0 * row


def _orderly(rows: int) -> Paper:
    return Paper(_level(rows) + 14)


def _ranged(paper: Paper, left: float, right: float, ends: dict[int, int]) -> None:
    """Lines from the skirt to where they are held: which of them ends where another should."""
    way = ""
    for i, end in ends.items():
        y, level = _level(i), _level(end)
        bend = "" if end == i else f"H{tenth(left + 0.5 * (right - left))}L{tenth(left + 0.8 * (right - left))} {tenth(level)}"
        way += f"M{tenth(left)} {tenth(y)}{bend}H{tenth(right)}"
    paper.add("path", "line", d=way)
    paper.rule("cloth-edge", (left, _level(1) - 8), (left, _level(len(ends)) + 8))
    paper.rule("tube-wall", (right, _level(1) - 8), (right, _level(len(ends)) + 8))
    paper.dots("line-end", [(left, _level(i)) for i in ends])
    paper.tabs([((left - 14, _level(i)), str(i)) for i in ends] + [((right + 14, _level(end)), str(i)) for i, end in ends.items()])


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
