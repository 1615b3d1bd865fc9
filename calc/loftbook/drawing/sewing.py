"""From cloth to a canopy, as it is done at the table: seams in section, lines at the skirt, one picture for each step of making it.

Not to scale but for a seam's width and what it costs. Words with numbers are given, eighteen letters at the most where nothing
less is said; cloth, hands and lines are drawn as in `closeups`.
"""

from typing import Literal

from loftbook.drawing.closeups import carried, held
from loftbook.drawing.cloth import shade
from loftbook.drawing.markup import Markup, circle, element, joined, number, rectangle, straight, tenth, traced
from loftbook.drawing.svg import LETTER, Drawing, Paper, Point
from loftbook.physics.elementary import PI, cosine, sine, sqrt
from loftbook.physics.remembered import remembered

Seam = Literal["flat felled", "French", "turned twice", "bound edge"]
SEAMS: tuple[Seam, ...] = ("flat felled", "French", "turned twice", "bound edge")
Attachment = Literal["loop", "V-tab", "tape over the seam"]
ATTACHMENTS: tuple[Attachment, ...] = ("loop", "V-tab", "tape over the seam")
Hole = Literal["round", "straight", ""]  # how a gore ends at its hole, if it has one


# --- what all of them are drawn with ---


def _laid(way: str, layers: int = 1) -> Markup:
    """Cloth so many layers thick."""
    return element("path", class_="cloth", d=way, fill_opacity=number(shade(3 * layers)))


def _seam(x0: float, y0: float, x1: float, y1: float) -> str:
    """Two stitched lines side by side."""
    size = sqrt((x1 - x0) * (x1 - x0) + (y1 - y0) * (y1 - y0)) or 1.0
    ox, oy = 1.5 * (y1 - y0) / size, -1.5 * (x1 - x0) / size
    return "".join(f"M{tenth(x0 + s * ox)} {tenth(y0 + s * oy)}L{tenth(x1 + s * ox)} {tenth(y1 + s * oy)}" for s in (-1, 1))


def _zigzag(x0: float, y0: float, x1: float, y1: float, half: float, count: int) -> str:
    """Zigzag stitches along a straight way."""
    size = sqrt((x1 - x0) * (x1 - x0) + (y1 - y0) * (y1 - y0))
    ox, oy = half * (y1 - y0) / size, -half * (x1 - x0) / size
    spots = [(x0 + (x1 - x0) * i / count + ox * (-1) ** i, y0 + (y1 - y0) * i / count + oy * (-1) ** i) for i in range(count + 1)]
    return _open(spots)


def _open(spots: list[Point]) -> str:
    """A line through spots."""
    return "".join(f"{'L' if i else 'M'}{tenth(x)} {tenth(y)}" for i, (x, y) in enumerate(spots))


def _hemmed(way: str) -> Markup:
    """A hem with its stitch."""
    return joined((traced("hem", way), traced("hem-stitch", way)))


def _ply(way: str, kind: str = "") -> Markup:
    """Cloth or tape seen from its cut edge; kind: other, or taped."""
    return joined((traced("ply-edge", way), traced(f"ply {kind}".rstrip(), way)))


def _row(x0: float, y0: float, x1: float, y1: float) -> Markup:
    """One row of stitches, cut across: the thread through the plies, and where it comes out on both sides."""
    return joined((straight("thread", x0, y0, x1, y1), circle("thread-end", x0, y0, 3), circle("thread-end", x1, y1, 3)))


def _corners(sides: int, x: float, y: float, radius: float) -> list[Point]:
    """Corners of a canopy that lies flat, outside up: the first at the right, counted against the clock, as in the folds."""
    turn = PI / sides if sides % 2 == 0 else 0.0
    return [(x + radius * cosine(turn + 2 * PI * i / sides), y - radius * sine(turn + 2 * PI * i / sides)) for i in range(sides)]


def _flat(paper: Paper, spots: list[Point], x: float, y: float) -> None:
    """A canopy that lies flat: cloth, seams, hem and apex."""
    edge = _open(spots) + "Z"
    paper.put(_laid(edge), traced("seam", "".join(_seam(x, y, *spot) for spot in spots)), _hemmed(edge), circle("apex", x, y, 4.5))


def _weight(x: float, y: float) -> Markup:
    return joined((circle("device", x, y, 8), circle("nut", x, y, 2)))


# --- seams ---

_WIDE = 88.0  # of a finished seam, in picture units: what it costs is drawn to the same scale
_COST = {"flat felled": 1.5, "French": 1.75, "turned twice": 2.0, "bound edge": 0.0}  # of that width, in each ply


def _felled(paper: Paper) -> None:
    """Two plies hooked into each other; both rows, each close to a fold, go through all four."""
    paper.put(_ply("M310 73H127a11 11 0 0 1 0 -22H194", "other"), _ply("M10 40H193a11 11 0 0 1 0 22H126"))
    paper.put(_row(129, 33, 129, 80), _row(191, 33, 191, 80))
    paper.measure(((116, 94), (204, 94)), (0, 5))
    paper.words((160, 22), "two rows")


def _french(paper: Paper) -> None:
    """It stands on the inside: raw edges between the plies, the second row past them."""
    paper.put(_ply("M10 34H135q8.5 0 8.5 8.5V132.5a5.5 5.5 0 0 0 11 0V72"))
    paper.put(_ply("M310 34H185q-8.5 0 -8.5 8.5V132.5a5.5 5.5 0 0 1 -11 0V72", "other"))
    paper.put(_row(137, 50, 183, 50), _row(149, 130, 171, 130))
    paper.measure(((200, 50), (200, 138)), (5, 0))
    paper.words((130, 60), "second row", "end")
    paper.words((130, 135), "first row", "end")


def _rolled(paper: Paper) -> None:
    """An edge turned twice; one row through all three plies."""
    paper.put(_ply("M10 40H239a11 11 0 0 1 0 22H167.5a5.5 5.5 0 0 1 0 -11H236"), _row(178, 33, 178, 69))
    paper.measure(((162, 84), (250, 84)), (0, 5))
    paper.words((178, 22), "one row")


def _bound(paper: Paper) -> None:
    """Tape folded round the raw edge; one row through tape, cloth, tape."""
    paper.put(_ply("M10 51H236"), _ply("M162 40H239a11 11 0 0 1 0 22H162", "taped"), _row(178, 33, 178, 69))
    paper.measure(((162, 84), (250, 84)), (0, 5))
    paper.words((178, 22), "one row")
    paper.words((258, 56), "tape", "start")


_SECTIONS = {"flat felled": (_felled, 94.0, 160.0), "French": (_french, 138.0, 208.0), "turned twice": (_rolled, 84.0, 206.0), "bound edge": (_bound, 84.0, 206.0)}


@remembered(8)
def seam_section(kind: Seam, width: str, allowance: str, description: str) -> Drawing:
    """A seam cut across, outside up, its thread through the plies; under it, to the same scale, one piece as it is cut.

    width, allowance: of the finished seam (twelve letters), and what each piece needs beyond the seam's line.
    """
    draw, low, x = _SECTIONS[kind]
    paper = Paper(0)
    draw(paper)
    paper.words((10, 24), "outside", "start")
    if kind == "French":
        paper.words((x, 99), width, "start", "dim-text")
        paper.words((10, 59), "inside", "start")
    else:
        paper.words((x, low + 17), width, "middle", "dim-text")
        paper.words((10, 96), "inside", "start")
    line, top = 126.0, low + 48
    edge = line + _COST[kind] * _WIDE if _COST[kind] else 206.0
    line = line if _COST[kind] else edge
    paper.put(_laid(f"M10 {number(top)}H{number(edge)}V{number(top + 22)}H10"))
    paper.words((6, top - 6), "one piece as cut" if kind in ("flat felled", "French") else "the edge as cut", "start")
    if _COST[kind]:
        paper.put(traced("sewn", f"M{number(line)} {number(top - 3)}V{number(top + 25)}"))
        paper.measure(((line, top + 36), (edge, top + 36)), (0, 5))
        paper.words((line - 6, top + 41), "seam's middle" if kind == "flat felled" else "last row" if kind == "French" else "finished edge", "end")
    paper.words(((line + edge) / 2, top + (53 if _COST[kind] else 41)), allowance, "middle", "dim-text")
    return paper.drawing({"turned twice": "A hem turned twice", "bound edge": "A bound edge"}.get(kind, f"A {kind} seam"), description)


# --- lines at the skirt ---

_TIP: Point = (186.0, 96.0)  # the corner of the canopy, the line to the right of it


def _corner(paper: Paper, patch: bool) -> None:
    """A corner of the canopy: cloth, patch, seam and hem."""
    paper.put(_laid("M4 12H151L186 96L151 180H4"))
    if patch:
        paper.put(traced("patch", "M164 46L184 96L164 146H96V46Z"), traced("stitch", "M160 51L179 96L160 141H101V51Z"))
    paper.put(traced("seam", _seam(4, 96, *_TIP)), _hemmed("M151 12L186 96L151 180"))
    paper.words((10, 78), "seam", "start")
    paper.words((166, 30), "hem", "start")
    if patch:
        paper.words((100, 38), "patch", "end")
        paper.rule("dim", (102, 36), (122, 54))


def _attached(kind: Attachment) -> tuple[Markup, float, float]:
    """The line on its corner, from where to where it is sewn."""
    if kind == "loop":
        line = traced("line close", "M314 92.5H106a3.5 3.5 0 0 0 0 7H176"), rectangle("sewn-tape", (170, 87), 7, 18), traced("line close", "M166 92.5H182")
        return joined((*line, traced("thread", _zigzag(108, 96, 166, 96, 3.5, 16)))), 102, 178
    if kind == "V-tab":
        tape = "M116 52L224 96L116 140"
        sewn = traced("thread", _zigzag(122, 54.4, 170, 74, 3.5, 12) + _zigzag(122, 137.6, 170, 118, 3.5, 12))
        tied = traced("line close", "M314 96H252L208 91a5 5 0 0 0 0 10L252 96")
        return joined((traced("tape-edge", tape), traced("tape", tape), sewn, tied, circle("knot", 252, 96, 5))), 118, 174
    over = (rectangle("sewn-tape", (4, 84), 180, 24), traced("stitch", "M4 87.5H184M4 104.5H184"))
    return joined((*over, traced("line close", "M314 96H4"), traced("thread", _zigzag(6, 96, 180, 96, 4, 34)))), 4, 184


@remembered(8)
def attachment(kind: Attachment, patch: bool, sewn: str, description: str) -> Drawing:
    """How a line is fixed at a corner of the canopy, seen from above, outside up.

    patch: the corner has one; sewn: how far it is sewn, and how.
    """
    paper = Paper(222)
    _corner(paper, patch)
    made, start, end = _attached(kind)
    paper.put(made)
    paper.words((290, 84), "line")
    if kind == "V-tab":
        paper.words((240, 132), "tape in a V")
        paper.rule("dim", (222, 119), (205, 106))
        paper.words((252, 78), "knot")
    elif kind == "loop":
        paper.words((92, 128), "folded back", "end")
        paper.rule("dim", (78, 117), (100, 100))
        paper.words((204, 128), "cut end, sewn", "start")
        paper.rule("dim", (206, 118), (179, 103))
    else:
        paper.words((10, 126), "on to the apex", "start")
        paper.words((200, 132), "tape", "start")
        paper.rule("dim", (198, 126), (176, 107))
    paper.measure(((start, 194), (end, 194)), (0, 5))
    paper.words(((start + end) / 2, 212), sewn, "middle", "dim-text")
    return paper.drawing({"loop": "A line folded back on the seam", "V-tab": "A line tied to a V of tape", "tape over the seam": "A line sewn along the seam"}[kind], description)


@remembered(8)
def line_sewn(kind: Attachment, patch: bool, tab: str, description: str) -> Drawing:
    """A line on its corner, its measured mark on the skirt's edge, held there; tab: what its tab says."""
    paper = Paper(188)
    _corner(paper, patch)
    made, _, _ = _attached(kind)
    tied = kind == "V-tab"
    x = 208.0 if tied else 187.0
    paper.put(made, traced("mark", f"M{number(x)} 84V108"))
    paper.tab((296, 96), tab)
    paper.fingers([(274 if tied else 210, 99)], (0, -1))
    paper.words((280 if tied else 216, 132), "hold")
    paper.words((174, 50), "mark on the tape" if tied else "mark on the skirt", "start")
    paper.rule("dim", (214, 54), (x + 2, 84))
    return paper.drawing("A line tied at the skirt" if tied else "A line sewn at the skirt", description)


@remembered(8)
def corner_reinforced(size: str, description: str) -> Drawing:
    """A patch on a corner before its line is sewn on, held in place, sewn all round; size: of the patch."""
    paper = Paper(222)
    _corner(paper, True)
    paper.put(held(112, 164, 74))
    paper.measure(((96, 194), (184, 194)), (0, 5))
    paper.words((140, 212), size, "middle", "dim-text")
    paper.words((138, 79), "hold")
    paper.words((206, 120), "sewn all round", "start")
    paper.rule("dim", (204, 116), (173, 111))
    return paper.drawing("A patch on each corner", description)


# --- cloth ---


def _tied_scale(x: float, y: float) -> Markup:
    """A scale with a hook, tied to a fixed hook at the left: its ring there, the hook 84 units to the right of x."""
    wall = traced("tube-wall", f"M{number(x)} {number(y - 26)}V{number(y + 26)}"), traced("link", f"M{number(x)} {number(y)}h6q4 0 4 -4")
    made = traced("cord", f"M{number(x + 8)} {number(y)}H{number(x + 20)}"), rectangle("device", (x + 22, y - 16), 42, 32), circle("vent", x + 43, y, 12)
    return joined((*wall, *made, traced("needle", f"M{number(x + 43)} {number(y)}l6 -8"), traced("link", f"M{number(x + 64)} {number(y)}h10q8 0 8 -5")))


def _rod_held(x: float, y: float, half: float) -> Markup:
    """A rod from above, a hand at both its ends, pulled to the right."""
    hands = traced("hold", "".join(f"M{number(x - 9)} {number(at)}h18a5 5 0 0 1 0 12h-18a5 5 0 0 1 0 -12" for at in (y - half + 1, y + half - 13)))
    return joined((rectangle("device", (x - 4, y - half), 8, 2 * half), hands, carried(x + 18, y, x + 40, y)))


@remembered(8)
def sample_pulled(hung: bool, hold: str, width: str, description: str) -> Drawing:
    """A sample pulled level by a scale that is tied up, seen from above, or hung: a strip with its seam between rods, or a scrap with a line's end on it.

    hung: what no scale reads hangs on it; hold: what it must hold; width: of the strip, "" of a scrap.
    """
    if hung:
        return _sample_hung(hold, width, description)
    paper, y = Paper(214), 76.0
    paper.put(_tied_scale(8, y))
    if width:
        paper.put(traced("cord", f"M130 {number(y - 44)}L88 {number(y - 3)}L130 {number(y + 44)}"), rectangle("device", (126, y - 48), 8, 96))
        paper.put(_laid(f"M130 {number(y - 26)}H262V{number(y + 26)}H130Z"), _laid(f"M130 {number(y - 26)}H142V{number(y + 26)}H130Z", 4), _laid(f"M250 {number(y - 26)}H262V{number(y + 26)}H250Z", 4))
        paper.put(_laid(f"M180 {number(y - 26)}H192V{number(y + 26)}H180Z"), traced("seam", _seam(186, y - 26, 186, y + 26)))
        paper.measure(((226, y - 26), (226, y + 26)), (5, 0))
        paper.words((316, 16), width, "end", "dim-text")
        paper.rule("dim", (290, 20), (228, y - 12))
        paper.words((202, 42), "seam", "start")
        paper.rule("dim", (200, 40), (188, y - 28))
        paper.words((124, 144), "cord on the rod")
        paper.rule("dim", (116, 130), (108, y + 26))
    else:
        paper.put(traced("line close", f"M176 {number(y)}H90q-6 -4 -6 -6"), _laid(f"M150 {number(y - 42)}H262V{number(y + 42)}H150Z"), _hemmed(f"M150 {number(y - 42)}V{number(y + 42)}"))
        paper.put(traced("patch", f"M150 {number(y - 17)}H184V{number(y + 17)}H150Z"), traced("line close", f"M178 {number(y)}H150"), _laid(f"M250 {number(y - 42)}H262V{number(y + 42)}H250Z", 4))
        paper.words((168, 16), "line's end")
        paper.rule("dim", (168, 20), (168, y - 4))
    paper.put(_rod_held(262, y, 56))
    paper.words((4, 38), "fixed hook", "start")
    paper.words((262, 152), "both hands")
    paper.words((4, 172), "level, at waist height; stand beside", "start")
    paper.words((4, 198), f"must hold {hold}", "start", "text strong")
    return paper.drawing("A sample, pulled level from above" if width else "A line's end, pulled level from above", description)


def _sample_hung(hold: str, width: str, description: str) -> Drawing:
    """The same, pulled by what hangs on it: a strip with its seam, or of a scrap no seam."""
    paper, x = Paper(264), 102.0
    paper.put(traced("tube-wall", "M60 14H144"), traced("link", f"M{number(x)} 14v8"), _laid("M72 60H132V180H72Z"))
    if width:
        paper.put(_laid("M72 114H132V126H72Z"), traced("seam", _seam(72, 120, 132, 120)))
        paper.words((156, 125), "seam", "start")
        paper.rule("dim", (153, 120), (134, 120))
        paper.measure(((72, 146), (132, 146)), (0, 5))
        paper.words((x, 166), width, "middle", "dim-text")
    for y, tip in ((58, 22), (176, 212)):
        paper.put(rectangle("device", (54, y), 96, 8), traced("cord", f"M58 {y + 4}L{number(x)} {tip}L146 {y + 4}"))
    paper.put(rectangle("nut", (82, 212), 40, 26), traced("axis", "M4 254H316"))
    paper.words((160, 68), "rod, cord on it", "start")
    paper.words((160, 212), "must hold", "start")
    paper.words((160, 232), hold, "start", "text strong")
    return paper.drawing("A sample, pulled by what hangs on it", description)


def _gore(curved: bool, tip: float) -> list[Point]:
    """Upper edge of a gore from its narrow end, half as wide as `tip`, to the skirt: length from 0, half width from its middle."""
    steps = 12
    return [(222 * i / steps, tip + (48 - tip) * (sine(PI / 2 * i / steps) if curved else i / steps)) for i in range(steps + 1)]


_BEYOND = 10.0  # how far the line to cut lies outside the finished one, in picture units


def _gore_cut(edge: list[Point], narrow: float) -> list[Point]:
    """The same edge as it is cut, from where it is cut at its narrow end to beyond the hem."""
    made, last = [], len(edge) - 1
    for i, (x, half) in enumerate(edge):
        (x0, h0), (x1, h1) = edge[max(0, i - 1)], edge[min(last, i + 1)]
        size = sqrt((x1 - x0) * (x1 - x0) + (h1 - h0) * (h1 - h0))
        made.append((x - _BEYOND * (h1 - h0) / size, half + _BEYOND * (x1 - x0) / size))

    def level(at: float, one: Point, other: Point) -> Point:
        return at, one[1] + (at - one[0]) * (other[1] - one[1]) / (other[0] - one[0])

    first, end = level(narrow, made[0], made[1]), level(edge[-1][0] + _BEYOND, made[-2], made[-1])
    return [first, *(spot for spot in made if first[0] < spot[0] < end[0]), end]


@remembered(8)
def gore_marked(curved: bool, hole: Hole, allowance: str, dashes: str, description: str) -> Drawing:
    """The first gore's pattern under weights, its hem at the cloth's squared end, a corner on the selvage; the line to cut outside
    the finished one, but one and the same at the hole.

    curved: its edges are; allowance: how far outside at the hem; dashes: what they are, two parts with a comma.
    """
    paper, x, y = Paper(282), 298.0, 98.0  # narrow end at the right: `a` from there to the hem is drawn at x - a
    inner = _gore(curved, 7.0 if hole else 0.0)
    apex = -inner[1][0] * 7 / (inner[1][1] - 7) if hole == "round" else 0.0  # where straight edges would meet
    narrow = 0.0 if hole else -_BEYOND
    if hole == "round":  # the arc about the apex, as far aside as the cut edges come to it
        half = _gore_cut(inner, narrow)[0][1]
        narrow = apex + sqrt(apex * apex + 49 - half * half)
    outer = _gore_cut(inner, narrow)
    radius = sqrt((narrow - apex) * (narrow - apex) + outer[0][1] * outer[0][1])
    upper, lower = [(x - a, y - h) for a, h in outer], [(x - a, y + h) for a, h in reversed(outer)]
    end = f"A{tenth(radius)} {tenth(radius)} 0 0 1 {tenth(upper[0][0])} {tenth(upper[0][1])}" if hole == "round" else ""
    cut, low = f"{_open([*upper, *lower])}{end}Z", lower[0][1]
    edge = number(x - 222 - _BEYOND)
    paper.put(_laid(f"M316 20H{edge}V{number(low + 6)}H316Z"), traced("outline", f"M316 {number(low)}H{edge}"))
    paper.put(traced("pattern", cut), traced("cut", cut))
    paper.put(traced("sewn", _open([*((x - a, y - h) for a, h in inner), *((x - a, y + h) for a, h in reversed(inner))])))
    notches = ""
    for i in (3, 6, 9):
        (x0, h0), (along, half), (x1, h1) = inner[i - 1 : i + 2]
        slope = (h1 - h0) / (x1 - x0)
        out = half + _BEYOND * sqrt(1 + slope * slope)
        notches += "".join(f"M{tenth(x - along)} {tenth(y + s * half)}V{tenth(y + s * out)}" for s in (-1, 1))
    paper.put(traced("notch", notches))
    paper.put(traced("grain-line", f"M{x - 96} {y}H{x - 196}m8 -5l-8 5l8 5M{x - 104} {y - 5}l8 5l-8 5"))
    paper.put(_weight(x - 66, y), _weight(x - 208, y - 24), _weight(x - 208, y + 24))
    paper.words((x - 148, y - 9), "grain")
    paper.words((310, 40), "weight", "end")
    paper.rule("dim", (264, 44), (x - 61, y - 7))
    paper.words((310, 148), "notch", "end")
    paper.rule("dim", (266, 142), (x - inner[3][0] + 3, y + inner[3][1] + 7))
    paper.words((60, 96), "squared", "end")
    paper.words((60, 114), "end", "end")
    paper.words((314, low + 24), "selvage", "end")
    paper.measure(((x - 222 - _BEYOND, low + 16), (x - 222, low + 16)), (0, 5))
    paper.words((6, low + 38), allowance, "start", "dim-text")
    paper.put(traced("cut", "M6 225H30"), traced("sewn", "M6 249H30"))
    paper.words((36, 230), "cut here", "start")
    for row, said in enumerate(dashes.split(", ")):
        paper.words((36, 254 + 18 * row), said, "start")
    return paper.drawing("The first gore on the cloth", description)


def seam_order(gores: int) -> tuple[tuple[int, ...], ...]:
    """Seams in the order they are sewn, stage by stage: pairs, pairs of those, until there are two halves; last the long seam.

    Seam i bears line i: it joins gore i and the one after it; the last one joins the last gore and the first.
    """
    half = -(-gores // 2)
    groups = [[[gore] for gore in range(1, half + 1)], [[gore] for gore in range(half + 1, gores + 1)]]
    stages = []
    while any(len(side) > 1 for side in groups):
        sewn: list[int] = []
        for which, side in enumerate(groups):
            sewn += [side[i][-1] for i in range(0, len(side) - 1, 2)]
            groups[which] = [[gore for run in side[i : i + 2] for gore in run] for i in range(0, len(side), 2)]
        stages.append(tuple(sewn))
    return (*stages, (half, gores))


@remembered(8)
def halves_sewn(gores: int, done: int, said: str, description: str) -> Drawing:
    """Gores laid round, outside up: sewn seams stitched, those of this stage bright, pieces that are still open apart.

    done: stages of `seam_order` that are; said: what is joined by now.
    """
    stages = seam_order(gores)
    sewn, new = {seam for stage in stages[:done] for seam in stage}, set(stages[done - 1] if done else ())
    x, y, radius = 160.0, 122.0, 102.0
    paper, whole = Paper(262), len(sewn) == gores
    step = 2 * PI / gores
    turn = -step / 2 if gores % 2 == 0 else -step  # seam i lies at `turn` and i steps, where line i is in every picture
    starts = [gore for gore in range(1, gores + 1) if (gore - 1 or gores) not in sewn] or [1]
    for start, after in zip(starts, [*starts[1:], starts[0] + gores], strict=True):
        middle, away = turn + (start + after - 2) / 2 * step, 0.0 if whole else 9.0
        cx, cy = x + away * cosine(middle), y - away * sine(middle)
        rim = [(cx + radius * cosine(turn + i * step), cy - radius * sine(turn + i * step)) for i in range(start - 1, after)]
        paper.put(_laid(_open(rim[:-1] if whole else [(cx, cy), *rim]) + "Z"))
        for gore in range(start, after if whole else after - 1):
            which = (gore - 1) % gores + 1
            paper.put(traced("seam new" if which in new else "seam", _seam(cx, cy, *rim[gore - start + 1])))
        for gore in range(start, after):
            which, at, out = (gore - 1) % gores + 1, turn + (gore - 0.5) * step, 0.78 * radius * cosine(step / 2)
            if gores <= 20 or which % 4 == 1:
                paper.words((cx + out * cosine(at), cy - out * sine(at) + 5), str(which))
    if whole:
        paper.put(circle("apex", x, y, 4.5))
    paper.words((160, 256), said)
    return paper.drawing("Which seams are sewn by now", description)


@remembered(8)
def hem_turned(width: str, description: str) -> Drawing:
    """The skirt's edge, inside up, three times along: as cut, turned once, turned again and sewn; width: of each turn (ten letters)."""
    paper = Paper(176)
    paper.put(_laid("M6 30H104V126H6Z"), _laid("M110 30H208V104H110Z"), _laid("M214 30H314V82H214Z"))
    paper.put(traced("finished", "M6 104H104M6 82H104M110 82H208"))
    paper.put(_laid("M110 82H208V104H110Z"), _laid("M214 60H314V82H214Z", 2))
    paper.put(traced("hem", "M214 82H314"), traced("stitch", "M214 63.5H314"), held(132, 186, 93))
    paper.words((159, 76), "hold")
    paper.measure(((96, 82), (96, 104)), (4, 0))
    paper.words((92, 98), width, "end", "dim-text")
    paper.words((6, 22), "inside up", "start")
    paper.words((55, 146), "as cut")
    paper.words((159, 146), "turn once")
    paper.words((264, 146), "turn again")
    paper.words((264, 164), "and sew")
    return paper.drawing("The hem, turned twice", description)


@remembered(8)
def vent_bound(seams: int, across: str, description: str) -> Drawing:
    """The vent from above: tape laid round its edge and sewn for three quarters, its end held.

    seams: that run into it, 0 or more; across: its size (eleven letters).
    """
    paper, x, y, inner = Paper(238), 150.0, 106.0, 56.0
    paper.put(_laid(f"M{x - 96} {y}a96 96 0 1 0 192 0a96 96 0 1 0 -192 0Z"), traced("vent", f"M{x - inner} {y}a{inner} {inner} 0 1 0 {2 * inner} 0a{inner} {inner} 0 1 0 {-2 * inner} 0Z"))
    rays = [(2 * i + 1) * PI / seams for i in range(seams)]
    if rays:  # one piece has none
        paper.put(traced("seam", "".join(_seam(x + inner * cosine(a), y - inner * sine(a), x + 96 * cosine(a), y - 96 * sine(a)) for a in rays)))
    middle, row = inner + 5, inner + 8
    laid = f"M{x + middle} {y}A{middle} {middle} 0 1 1 {x} {y - middle}"
    paper.put(traced("tape-edge", f"{laid}H{x + 106}"), traced("tape", f"{laid}H{x + 106}"))
    paper.put(traced("thread row", f"M{x + row} {y}A{row} {row} 0 1 1 {x} {y - row}"), held(x + 62, x + 78, y - middle))
    paper.words((x + 70, y - middle + 26), "hold")
    paper.measure(((x - inner, y), (x + inner, y)), (0, 5))
    paper.words((x, y + 18), across, "middle", "dim-text")
    paper.words((x + 84, y - inner - 18), "tape", "start")
    paper.words((160, 226), "no edge left bare")
    return paper.drawing("The vent, bound with tape", description)


# --- lines ---


@remembered(8)
def lines_measured(finished: str, first: str, second: str, pull: str, description: str) -> Drawing:
    """A line on two pegs, pulled by a scale and marked at both; beyond each what its end needs.

    finished: from peg to peg; first, second: beyond them, at the skirt and at the link; pull: what the scale shows.
    """
    paper = Paper(182)
    paper.put(rectangle("airframe", (34, 84), 224, 26), traced("line close", "M14 96H264"), rectangle("nut", (8, 89), 10, 14))
    paper.put(circle("device", 62, 104, 6), circle("device", 216, 104, 6), traced("mark", "M62 88V103M216 88V103"))
    paper.put(rectangle("device", (272, 82), 26, 28), circle("vent", 285, 96, 9), traced("needle", "M285 96l5 -6"), traced("link", "M272 96h-6"))
    paper.put(carried(300, 96, 318, 96))
    paper.measure(((62, 128), (216, 128)), (0, 5))
    paper.words((139, 146), finished, "middle", "dim-text")
    paper.measure(((20, 70), (62, 70)), (0, 5))
    paper.words((4, 60), first, "start", "dim-text")
    paper.measure(((216, 70), (258, 70)), (0, 5))
    paper.words((316, 60), second, "end", "dim-text")
    paper.words((4, 38), "to the skirt", "start")
    paper.words((316, 38), "to the link", "end")
    paper.words((139, 76), "mark at pegs")
    paper.words((316, 146), pull, "end", "text strong")
    paper.words((6, 172), "every line on the same pegs", "start")
    return paper.drawing("Lines measured on two pegs", description)


@remembered(8)
def loop_made(sewn: bool, eye: str, rest: str, must: str, finished: str, pull: str, description: str) -> Drawing:
    """The loop in a line's end, long and narrow, sewn or knotted; how it is pulled; under it the whole line as it is measured then.

    eye: of the loop, left open, "" of a knot; rest: what lies beside the line; must: what it is pulled to by a scale, "" where none
    reads so far; finished: skirt to the inside of the loop; pull: on it.
    """
    paper = Paper(308 if must else 214)
    paper.put(traced("line close", "M4 58.5H222q66 0 66 4.5q0 4.5 -66 4.5H72"), circle("thread-end", 288, 63, 2.5))
    if sewn:
        paper.put(traced("thread", _zigzag(78, 63, 222, 63, 4.5, 30)))
    else:
        paper.put(circle("knot", 222, 63, 8))
    paper.measure(((222, 84), (288, 84)), (0, 5))
    paper.words((316, 102), eye or "the loop", "end", "dim-text")
    paper.measure(((72, 40), (288, 40)), (0, 5))
    paper.words((180, 30), rest, "middle", "dim-text")
    paper.words((316, 14), "second mark", "end")
    paper.rule("dim", (300, 18), (289, 56))
    paper.words((6, 88), "to the skirt", "start")
    if must:
        paper.put(_tied_scale(8, 148), traced("line close", "M262 145H92q-8 0 -8 3q0 3 8 3H150"), traced("thread", _zigzag(106, 148, 148, 148, 3, 10)))
        paper.put(*(rectangle("nut", (257, y), 10, 3) for y in (140, 145, 150, 155)), _rod_held(262, 148, 40))
        paper.words((6, 206), "pull once, level", "start")
        paper.words((316, 206), must, "end", "text strong")
    y = 94.0 if must else 0.0
    paper.put(_laid(f"M4 {y + 122}H40V{y + 168}H4Z"), _hemmed(f"M40 {y + 122}V{y + 168}"), traced("patch", f"M14 {y + 132}H40V{y + 158}H14Z"))
    paper.put(traced("line close", f"M18 {y + 145}H246q22 0 22 4q0 4 -22 4H226"), circle("device", 264, y + 149, 4), carried(276, y + 149, 314, y + 149))
    paper.measure(((40, y + 176), (268, y + 176)), (0, 5))
    paper.words((154, y + 194), finished, "middle", "dim-text")
    paper.words((316, y + 136), pull, "end", "text strong")
    paper.words((6, y + 208), "skirt's edge", "start")
    paper.words((316, y + 208), "inside of the loop", "end")
    return paper.drawing("The loop, and the line measured again", description)


@remembered(8)
def lines_numbered(lines: int, description: str) -> Drawing:
    """The canopy from above, outside up: line 1 at the right, counted against the clock, as in the folds."""
    paper, x, y = Paper(284), 160.0, 138.0
    paper.words((4, 14), "outside up", "start")
    spots = _corners(lines, x, y, 92)
    _flat(paper, spots, x, y)
    tabs, ways = [], ""
    for i, (cx, cy) in enumerate(spots):
        ux, uy = (cx - x) / 92, (cy - y) / 92
        out = 118 if lines <= 20 or i % 2 == 0 else 70
        ways += f"M{tenth(cx)} {tenth(cy)}L{tenth(x + 118 * ux)} {tenth(y + 118 * uy)}"
        tabs.append(((x + out * ux, y + out * uy), str(i + 1)))
    paper.put(traced("line", ways))
    paper.tabs(tabs)
    (x0, y0), (x1, y1) = ((x + 0.46 * (cx - x), y + 0.46 * (cy - y)) for cx, cy in (spots[0], spots[max(1, lines // 8)]))
    paper.put(_slanted(x0, y0, x1, y1))
    paper.words((316, 282), "count against the clock", "end")
    return paper.drawing("Lines numbered, from above", description)


def _slanted(x0: float, y0: float, x1: float, y1: float) -> Markup:
    """A straight arrow, whichever way."""
    size = sqrt((x1 - x0) * (x1 - x0) + (y1 - y0) * (y1 - y0))
    ux, uy = (x1 - x0) / size, (y1 - y0) / size
    bx, by = x1 - 8 * ux, y1 - 8 * uy
    return traced("carry", _open([(x0, y0), (x1, y1)]) + _open([(bx - 5 * uy, by + 5 * ux), (x1, y1), (bx + 5 * uy, by - 5 * ux)]))


_MOST = 12  # lines that are drawn side by side


def _seen(lines: int) -> list[int]:
    """Numbers of the lines that are drawn: all, or the first and the last ones; 0 stands for those between."""
    if lines <= _MOST:
        return list(range(1, lines + 1))
    half = _MOST // 2
    return [*range(1, half + 1), 0, *range(lines - half + 1, lines + 1)]


@remembered(8)
def lines_on_link(lines: int, description: str) -> Drawing:
    """Lines from the skirt onto an open link, one after another, each with its number."""
    shown = _seen(lines)
    step = 19.0
    paper, foot = Paper(30 + step * len(shown)), 26 + step * (len(shown) - 1)
    middle = (26 + foot) / 2
    paper.put(_laid(f"M2 16H26V{number(foot + 10)}H2Z"), _hemmed(f"M26 16V{number(foot + 10)}"))
    tabs = []
    for i, line in enumerate(shown):
        y, at = 26 + step * i, middle + (i - (len(shown) - 1) / 2) * 4.2
        if line:
            paper.put(traced("line", f"M26 {number(y)}H112L222 {number(at)}H244"))
            tabs.append(((78.0, y), str(line)))
        else:
            paper.words((52, y + 5), "and so on", "start")
    paper.tabs(tabs)
    half = max(26.0, 2.1 * len(shown) + 8)
    side = 2 * half - 16
    paper.put(traced("link", f"M286 {number(middle - half + 14)}v-6q0 -8 -8 -8h-30q-8 0 -8 8v{number(side)}q0 8 8 8h30q8 0 8 -8V{number(middle)}"))
    paper.put(rectangle("nut", (280, middle), 12, 18))
    paper.words((316, middle + half + 20), "in order", "end")
    paper.words((316, middle - half - 10), "link, open", "end")
    return paper.drawing("Lines on the link, in order", description)


@remembered(8)
def hung_up(lines: int, description: str) -> Drawing:
    """The canopy hung by its link, cloth below, its corners gathered in a hand and pulled lightly: every line taut, all corners level."""
    paper, x, top, skirt = Paper(262), 132.0, 34.0, 156.0
    seen = min(lines, 8)
    spots = [x - 28 + 56 * i / (seen - 1) for i in range(seen)]
    paper.put(traced("tube-wall", "M92 8H172"), traced("link", "M132 9v8"), circle("link", x, top - 8, 7))
    paper.put(_laid(f"M104 {number(skirt)}H160Q176 204 150 250H114Q88 204 104 {number(skirt)}Z", 2))
    paper.put(traced("seam", "".join(_seam(spot, skirt, x + (spot - x) * 0.5, 249) for spot in spots)), _hemmed(f"M104 {number(skirt)}H160"))
    paper.put(traced("line", "".join(f"M{number(x)} {number(top)}L{number(spot)} {number(skirt)}" for spot in spots)))
    paper.put(held(100, 164, skirt + 8), carried(60, skirt + 14, 60, skirt + 48))
    paper.words((4, skirt + 66), "pull lightly", "start")
    paper.words((194, skirt + 2), "all corners", "start")
    paper.words((194, skirt + 20), "in one hand,", "start")
    paper.words((194, skirt + 38), "level", "start")
    paper.words((180, 250), "apex", "start")
    paper.words((150, 32), "link", "start")
    paper.words((170, 84), "every line taut", "start")
    return paper.drawing("Hung by its link", description)


def _gauge(x0: float, y0: float, x1: float, y1: float) -> Markup:
    """A tape measure laid straight."""
    way = _open([(x0, y0), (x1, y1)])
    return joined((traced("gauge-edge", way), traced("gauge", way), traced("gauge-tick", way)))


@remembered(8)
def measured_flat(sides: int, flat: str, corner: str, description: str) -> Drawing:
    """The canopy laid flat, measured: side to side and corner to corner; of an odd number of sides from a corner to the side opposite.

    flat, corner: what is to be read; an odd one has no corner opposite a corner, and `flat` is its only measure.
    """
    paper, x, y, radius = Paper(264), 160.0, 122.0, 100.0
    spots = _corners(sides, x, y, radius)
    _flat(paper, spots, x, y)
    inner = radius * cosine(PI / sides)
    if sides % 2:
        paper.put(_gauge(x - inner, y, x + radius, y))
        paper.words((160, 258), flat)
        return paper.drawing("Measured flat, corner to side", description)
    half = sides // 2
    second = max(1, sides // 4)
    (x0, y0), (x1, y1) = spots[second], spots[second + half]
    paper.put(_gauge(x - inner, y, x + inner, y), _gauge(x0, y0, x1, y1))
    paper.words((316, 258), flat, "end")
    paper.words((4, 14), corner, "start")
    paper.rule("dim", (4 + LETTER * len(corner) * 0.7, 18), (x0 - 4, y0 - 2))
    paper.rule("dim", (290, 244), (x + inner - 4, y + 8))
    return paper.drawing("Measured flat, side to side and corner to corner", description)


@remembered(8)
def weighed(mass: str, description: str) -> Drawing:
    """The canopy with its lines and link on a scale; mass: what to compare it with (thirteen letters)."""
    paper = Paper(184)
    paper.put(_laid("M104 104Q92 70 128 62Q140 36 174 50Q206 40 214 68Q240 82 226 104Z", 2))
    paper.put(traced("seam", "M132 102Q128 78 146 58M135 102Q131 79 149 58M188 102Q196 78 184 54M191 102Q199 78 187 54"))
    paper.put(traced("line", "M100 100Q80 92 92 84Q108 82 104 98M98 100Q74 88 90 80Q114 80 108 98M226 100Q244 92 250 98"), circle("link", 256, 98, 6))
    paper.put(rectangle("airframe", (64, 106), 208, 9), rectangle("airframe", (80, 115), 160, 52), rectangle("scale", (104, 126), 112, 28))
    paper.words((160, 145), mass, "middle", "text strong")
    paper.words((6, 22), "cloth and lines", "start")
    paper.rule("dim", (140, 26), (152, 46))
    return paper.drawing("The finished canopy on a scale", description)


def _falling(x: float, y: float, pale: str) -> tuple[Markup, ...]:
    """A full canopy with its weight, its skirt at that height."""


    def at(across: float, down: float) -> str:
        return f"{tenth(x + across)} {tenth(y + down)}"

    skin = f"M{at(-46, 0)}Q{at(-42, -54)} {at(0, -56)}Q{at(42, -54)} {at(46, 0)}Q{at(0, -10)} {at(-46, 0)}Z"
    lines = "".join(f"M{at(across, down)}L{at(0, 60)}" for across, down in ((-46, 0), (-22, -4), (22, -4), (46, 0)))
    cloth = element("path", class_=f"cloth{pale}", d=skin, fill_opacity=number(shade(3)))
    return cloth, traced(f"line{pale}", lines), rectangle(f"nut{pale}", (x - 8, y + 60), 16, 20)


def _let_go(x: float, y: float) -> Markup:
    """How the crown is held, seen close: a strap round it, its end up through a ring, a pin through that end over the ring."""


    def at(across: float, down: float) -> str:
        return f"{tenth(x + 1.35 * across)} {tenth(y + 1.35 * down)}"

    crown = f"M{at(-16, 34)}Q{at(0, 22)} {at(16, 34)}L{at(9, 52)}L{at(22, 84)}L{at(-22, 84)}L{at(-9, 52)}Z"
    strap = f"M{at(-6, 18)}L{at(-13, 50)}Q{at(0, 58)} {at(13, 50)}L{at(3, 14)}V{tenth(y)}Q{at(0, -7)} {at(-3, 0)}V{tenth(y + 19)}"
    line = traced("cord", f"M{at(-7, -26)}V{tenth(y + 16)}")
    return joined((_laid(crown, 2), line, circle("link", x, y + 19, 10), traced("cord", strap), rectangle("device", (x - 16, y - 2), 44, 5)))


@remembered(8)
def dropped(opens: str, timed: str, clear: str, off: str, description: str) -> Drawing:
    """The canopy hung by its crown with a bag, let go by a pin, full before the upper mark, timed to the lower one: its bag still hangs.

    opens, timed, clear: from where the skirt hangs to the upper mark, from there to the lower one, from there to the ground; off: how far
    everybody stands (fifteen letters each).
    """
    paper, x, skirt, start, stop, ground = Paper(430), 160.0, 74.0, 214.0, 290.0, 384.0
    paper.put(traced("tube-wall", f"M40 {number(skirt)}V{number(ground)}"), traced("axis", f"M4 {number(ground)}H316"))
    paper.put(traced("mark", "".join(f"M30 {number(at)}H56" for at in (start, stop))))
    for (top, low), said in (((start, stop), timed), ((skirt, start), opens), ((stop, ground), clear)):
        paper.measure(((66, top), (66, low)), (5, 0))
        paper.words((74, (top + low) / 2 + 5), said, "start", "dim-text")
    paper.words((4, skirt - 6), "skirt", "start")
    paper.words((74, start + 5), "full", "start")
    paper.words((74, stop + 5), "stop", "start")
    hanging = f"M{number(x - 5)} 24L{number(x - 11)} {number(skirt)}H{number(x + 11)}L{number(x + 5)} 24Z"
    paper.put(traced("tube-wall", f"M{number(x - 40)} 6H{number(x + 30)}"), traced("cord", f"M{number(x)} 7V24"), circle("link", x, 20, 3.5), element("path", class_="cloth", d=hanging, fill_opacity=number(shade(6))))
    paper.put(traced("line", "".join(f"M{number(x + across)} {number(skirt)}L{number(x)} 118" for across in (-9, 0, 9))), rectangle("nut", (x - 7, 118), 14, 14))
    paper.put(*_falling(x, start, ""), *_falling(x, stop, " pale"), carried(x + 62, start + 10, x + 62, stop - 24))
    paper.put(traced("line", f"M{number(x + 4)} 20L{number(x + 124)} {number(ground - 30)}"), *_person(x + 128, ground))
    paper.put(_let_go(280, 44))
    for at, said, end in ((30, "pin", (262, 43)), (72, "ring", (269, 64)), (116, "strap", (263, 114))):
        paper.words((246, at), said, "end")
        paper.rule("dim", (248, at - 5), end)
    paper.measure(((x, ground + 16), (x + 128, ground + 16)), (0, 5))
    paper.words((316, ground + 38), off, "end", "dim-text")
    paper.words((4, ground + 38), "nobody nearer", "start")
    return paper.drawing("Dropped and timed", description)


def _person(x: float, foot: float) -> tuple[Markup, ...]:
    """Somebody who stands there and holds a cord."""
    body = f"M{tenth(x - 5)} {tenth(foot)}L{tenth(x)} {tenth(foot - 16)}L{tenth(x + 5)} {tenth(foot)}M{tenth(x)} {tenth(foot - 16)}V{tenth(foot - 30)}M{tenth(x)} {tenth(foot - 26)}L{tenth(x - 5)} {tenth(foot - 29)}"
    return circle("person", x, foot - 36, 5), traced("limb", body)


@remembered(8)
def line_replaced(line: int, lines: int, pull: str, said: str, description: str) -> Drawing:
    """A new line between its neighbours, bright, the old one laid beside it; all knots set under the same pull.

    pull: on each of them; said: what the new one's length is taken from.
    """
    paper = Paper(206)
    paper.put(_laid("M2 22H30V176H2Z"), _hemmed("M30 22V176"))
    paper.put(traced("link", "M254 26h22q8 0 8 8v98q0 8 -8 8h-22q-8 0 -8 -8v-98q0 -8 8 -8z"))
    before, after = (line - 2) % lines + 1, line % lines + 1
    levels = ((38.0, before), (82.0, line), (126.0, after))
    tabs = []
    for y, which in levels:
        new = which == line
        paper.put(traced("line close" + (" new" if new else ""), f"M14 {number(y)}H246"), traced("thread", _zigzag(9, y, 25, y, 5, 6)), circle("knot", 246, y, 4))
        tabs.append(((70.0, y), str(which)))
    paper.tabs(tabs)
    paper.put(traced("line pale", "M34 104H112M124 104H246"), traced("slit", "M112 100V108M124 100V108"), circle("knot", 246, 104, 3))
    for y, _ in levels:
        paper.put(carried(290, y, 314, y))
    paper.words((150, 72), "new")
    paper.words((190, 100), "old")
    paper.words((316, 160), pull, "end", "text strong")
    paper.words((316, 178), "on each, alike", "end")
    paper.words((6, 200), said, "start")
    paper.words((6, 14), "skirt", "start")
    paper.words((316, 14), "link", "end")
    return paper.drawing("One line made new", description)
