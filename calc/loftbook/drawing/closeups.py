"""How one thing is done, seen close: beside a bay (a box of 150 × 120 units, mouth on top), or a picture of its own.

Not to scale: they show hands and order. Cord and lines are lines; a pair of finger tips is where you hold, a straight arrow
where you carry. Words are few and never numbers of the rig that another length would change: so most of them are made once.
"""

from dataclasses import dataclass

from loftbook.drawing.markup import Markup, circle, joined, number, rectangle, straight, traced
from loftbook.drawing.svg import Drawing, Paper
from loftbook.physics.elementary import PI, cosine, sine
from loftbook.physics.remembered import remembered

BROAD, HIGH = 150.0, 102.0  # of the shapes of a close-up; its words stand below them
_LEAST, _MOST = 4, 8  # lines that are drawn


@dataclass(frozen=True)
class CloseUp:
    """Shapes in a box of their own, and what is said below it: eighteen letters at the most."""

    shapes: Markup
    said: str


# --- the signs of our hand ---


def _tip(x: float, y: float, way: int) -> str:
    """A finger tip that touches (x, y) from the left (way 1) or from the right (-1), with its nail."""
    back, turn = x - 19 * way, 1 if way > 0 else 0
    end = x - 5 * way
    return (
        f"M{number(back)} {number(y - 5)}H{number(end)}A5 5 0 0 {turn} {number(end)} {number(y + 5)}H{number(back)}"
        f"M{number(end)} {number(y - 2)}V{number(y + 2)}"
    )


def held(left: float, right: float, y: float) -> Markup:
    """A pair of finger tips that hold what lies between two sides."""
    return traced("hold", _tip(left, y, 1) + _tip(right, y, -1))


def _pinched(x: float, y: float) -> Markup:
    """A pair of finger tips that hold something level from above and below."""
    way = ""
    for side, turn in ((-1, 0), (1, 1)):
        back, end = y + 22 * side, y + 8 * side
        way += f"M{number(x - 5)} {number(back)}V{number(end)}A5 5 0 0 {turn} {number(x + 5)} {number(end)}V{number(back)}"
        way += f"M{number(x - 2)} {number(end)}H{number(x + 2)}"
    return traced("hold", way)


def carried(x0: float, y0: float, x1: float, y1: float) -> Markup:
    """A straight arrow, level or upright: so it is carried."""
    size = abs(x1 - x0) + abs(y1 - y0)
    ux, uy = (x1 - x0) / size, (y1 - y0) / size
    bx, by = x1 - 8 * ux, y1 - 8 * uy
    head = f"M{number(bx + 5 * uy)} {number(by + 5 * ux)}L{number(x1)} {number(y1)}L{number(bx - 5 * uy)} {number(by - 5 * ux)}"
    return traced("carry", f"M{number(x0)} {number(y0)}L{number(x1)} {number(y1)}{head}")


def _walls(top: float, left: float = 34.0, right: float = 116.0, bottom: float = HIGH) -> Markup:
    """A piece of tube in section, its mouth on top."""
    return traced("tube-wall", f"M{number(left)} {number(top)}V{number(bottom)}M{number(right)} {number(top)}V{number(bottom)}")


def _zigzag(left: float, right: float, bottom: float, rows: int, rise: float, end: float | None = None) -> str:
    """Level rows joined by bights, from the lower left upwards; the last one stops at `end`."""
    way, turn = f"M{number(left)} {number(bottom)}", number(rise / 2)
    for row in range(rows):
        to_right = row % 2 == 0
        if row == rows - 1:
            stop = end if end is not None else right if to_right else left
            return f"{way}H{number(stop)}"
        way += f"H{number(right - rise / 2 if to_right else left + rise / 2)}a{turn} {turn} 0 0 {0 if to_right else 1} 0 {number(-rise)}"
    return way


_DOWN = carried(143, 16, 143, 58)


# --- beside a bay ---


@remembered(4)
def zigzag(said: str) -> CloseUp:
    """Cord laid from wall to wall, its end held above the mouth."""
    laid = traced("cord", f"M41 {number(HIGH)}V93{_zigzag(41, 109, 93, 7, 9, 75)}V2")
    return CloseUp(joined((_walls(24), laid, held(73, 77, 12), _DOWN)), said)


@remembered(4)
def loose_lines(said: str) -> CloseUp:
    """Lines in loose z-folds on a bundle, gathered in the link above the mouth."""
    lines = "".join(f"{_zigzag(43 + shift, 107 - shift, 66 - shift, 5, 8, 75 + shift)}V14" for shift in (0, 3))
    under = (rectangle("bundle", (40, 72), 70, HIGH - 72, 0.4), traced("stitch", f"M75 72V{number(HIGH)}"))
    return CloseUp(joined((*under, _walls(24), traced("line", lines), circle("link", 76.5, 9, 5), held(71, 82, 21), _DOWN)), said)


def _charge(above: bool) -> tuple[Markup, ...]:
    """Where the charge fires from; one above is not in yet, so there is only what lies under it."""
    if above:
        return (traced("cord pale", _zigzag(45, 105, 97, 3, 8)),)
    return (rectangle("charge", (64, 90), 22, 10), traced("tube-wall", "M34 102H116"))


@remembered(8)
def blanket(above: bool, said: str) -> CloseUp:
    """A square of cloth threaded on the cord by its slit, held flat over the tube."""
    cloth = traced("protector", "M14 42L42 12H136L108 42Z")
    seam = traced("stitch", "M23 38.5L45 15.5H127L105 38.5ZM27 36.5L46.5 17.5H122L103 36.5Z")
    threaded = (traced("cord", f"M75 {94 if above else 90}V42"), cloth, seam, traced("slit", "M66 27H84"), traced("cord", "M75 27V1"))
    return CloseUp(joined((_walls(60), *_charge(above), *threaded, held(22, 128, 27), carried(146, 46, 146, 84))), said)


@remembered(8)
def wadding(above: bool, said: str) -> CloseUp:
    """Crumpled loosely, over the whole section."""
    balls = [(46, 76), (63, 79), (80, 75), (98, 78), (104, 64), (88, 61), (70, 63), (52, 60)]
    crumpled = "".join(
        f"M{x - 10} {y}Q{x - 9} {y - 10} {x} {y - 8}Q{x + 11} {y - 9} {x + 9} {y + 2}Q{x + 6} {y + 10} {x - 3} {y + 7}"
        f"Q{x - 12} {y + 8} {x - 10} {y}ZM{x - 4} {y - 4}L{x} {y + 1}L{x + 5} {y - 3}"
        for x, y in (*balls, (75, 16))
    )
    return CloseUp(joined((_walls(34), *_charge(above), traced("protector", crumpled), held(64, 86, 16), _DOWN)), said)


def _pocket(top: float, bottom: float, closed_above: bool) -> str:
    """A sleeve or bag in outline, one end closed."""
    shut, open_ = (top, bottom) if closed_above else (bottom, top)
    turn = 8 if closed_above else -8
    return f"M45 {number(open_)}V{number(shut + turn)}Q45 {number(shut)} 53 {number(shut)}H97Q105 {number(shut)} 105 {number(shut + turn)}V{number(open_)}"


def _seamed(top: float, bottom: float, closed_above: bool) -> tuple[Markup, Markup]:
    """The same as cloth, its seams two stitched lines."""
    low, high = (top + 9, bottom) if closed_above else (top, bottom - 9)
    seams = "".join(f"M{x} {number(low)}V{number(high)}" for x in (49, 52, 98, 101))
    return traced("protector", _pocket(top, bottom, closed_above)), traced("stitch", seams)


@remembered(8)
def pocket(above: bool, said: str) -> CloseUp:
    """A sleeve or bag that goes in, its closed end to the charge."""
    return CloseUp(joined((_walls(40), *_charge(above), *_seamed(14, 84, above), held(45, 105, 26), _DOWN)), said)


@remembered(16)
def sliding_bundle(turns: int, bag: bool, sleeve: bool, above: bool, said: str) -> CloseUp:
    """The bundle on its way in: lines leave it towards the mouth; turns of them round it, or a bag with the lines outside.

    bag, sleeve: what it is in, or slides into; above: the charge lies towards the mouth, so a closed end does too.
    """
    body: tuple[Markup, ...] = (rectangle("bundle", (51, 20), 48, 64), traced("stitch", "M63 20V84M66 20V84M84 20V84M87 20V84"))
    if sleeve and not above:  # it stands in the tube already
        body = (traced("protector", _pocket(58, HIGH - 2, False)), *body)
    if bag:
        body = (*_seamed(18, 86, above), traced("line", f"{_zigzag(57, 93, 70, 4, 8, 75)}V4"))
    else:
        wound = "".join(f"M51 {number(70 - 16 * i)}L99 {number(63 - 16 * i)}" for i in range(turns))
        body = (*body, traced("line", f"{wound}M57 20L74 2M69 20L75 2M81 20L75 2M93 20L76 2"))
    return CloseUp(joined((*body, _walls(60), held(44 if bag else 51, 106 if bag else 99, 34), _DOWN)), said)


@remembered(4)
def held_shut(said: str) -> CloseUp:
    """The device that holds a bundle shut, tied in; you pull on it."""
    made = (
        rectangle("bundle", (46, 56), 58, HIGH - 56, 0.5),
        traced("cord", "M46 78H104M90 42Q112 34 108 4"),
        rectangle("device", (58, 38), 34, 18),
        traced("link", "M64 56V78M86 56V78"),
        _walls(30),
        held(57, 93, 47),
        carried(143, 58, 143, 16),
    )
    return CloseUp(joined(made), said)


@remembered(4)
def closing(said: str) -> CloseUp:
    """What closes the bay: its shoulder on its way into the mouth, held from both sides."""
    made = (
        rectangle("shoulder", (37, 34), 76, 46),
        rectangle("nose", (33, 4), 84, 30),
        traced("tube-wall", "M34 58V102M116 58V102"),
        held(33, 117, 19),
        carried(144, 26, 144, 66),
    )
    return CloseUp(joined(made), said)


# --- pictures of their own ---


@remembered(4)
def looked_over(description: str) -> Drawing:
    """Held against the light: cloth with a hole, a glazed spot and a pulled seam, and a line with a fuzzy place."""
    paper = Paper(184)
    paper.put(
        rectangle("cloth", (20, 30), 280, 82, 0.23),
        traced("hem", "M20 112H300"),
        traced("seam", "M158 30V62M161 30V62M158 96V112M161 96V112"),
        traced("fault", "M158 62q-9 8 -3 16q-7 8 3 18M161 62q9 8 3 16q7 8 -3 18"),
        traced("vent", "M70 58l7 -4 5 6 -3 9 -8 2 -6 -6Z"),
        traced("glazed", "M236 56a16 11 0 1 0 32 0a16 11 0 1 0 -32 0Z"),
        traced("line", "M20 112L96 164M160 112V164M300 112L224 164"),
        traced("fault", "M160 132l-7 -4M160 137l8 -4M160 142l-8 -3M160 147l7 -4"),
        held(20, 300, 44),
    )
    paper.words((75, 92), "hole")
    paper.words((160, 20), "seam pulled")
    paper.words((252, 92), "stiff, glazed")
    paper.words((172, 158), "fuzzy line", "start")
    return paper.drawing("What to look for", description)


@remembered(16)
def lines_on_link(lines: int, swivel: bool, description: str) -> Drawing:
    """Lines from the skirt to a closed link in order, each with its sewn tab; then swivel and cord."""
    paper, seen = Paper(150), max(_LEAST, min(lines, _MOST))
    paper.put(rectangle("cloth", (2, 24), 20, 102), traced("stitch", "M14 24V126M17.5 24V126"))
    tabs = ""
    for i in range(seen):
        y = 30 + 90 * i / (seen - 1)
        x, at = 50.0, y + (75 - y) * (50 - 22) / (178 - 22)
        paper.put(straight("line", 22, y, 178, 75))
        tabs += f"M{number(x - 5)} {number(at - 3)}h10v6h-10z"
    paper.put(traced("tab", tabs), traced("link", "M184 63h22q8 0 8 8v8q0 8 -8 8h-22q-8 0 -8 -8v-8q0 -8 8 -8z"))
    paper.put(rectangle("nut", (188, 59), 14, 8))
    end = 256 if swivel else 216
    if swivel:
        paper.put(circle("link", 224, 75, 10), circle("link", 244, 75, 10), rectangle("nut", (230, 71), 8, 8))
        paper.words((234, 106), "swivel")
    paper.put(traced("cord", f"M{end} 75H316"))
    paper.words((30, 16), "line 1", "start")
    paper.words((30, 144), f"line {lines}", "start")
    paper.words((195, 50), "link, shut")
    paper.words((290, 65), "cord")
    return paper.drawing("Lines, link and cord", description)


@remembered(8)
def anchored(inside: bool, other: bool, name: str, description: str) -> Drawing:
    """A cord on its anchor, pulled at and looked along.

    inside: at the bottom of the bay, else at the part that closes it; other: a second cord has an eye of its own beside it.
    """
    paper = Paper(140)
    if inside:
        paper.put(traced("tube-wall", "M208 26H22V94H208"), rectangle("shoulder", (22, 28), 12, 64))
        eye, knot = 42.0, 50.0
    else:
        paper.put(rectangle("nose", (6, 28), 62, 64), rectangle("shoulder", (68, 32), 44, 56))
        eye, knot = 120.0, 128.0
    if other:
        paper.put(circle("link", eye, 78, 7), traced("cord pale", f"M{number(knot)} 78H236"))
    paper.put(circle("link", eye, 50, 8), traced("cord", f"M{number(knot)} 44h10v12h-10M{number(knot + 10)} 50H314"))
    paper.put(_pinched(244, 50), carried(262, 68, 308, 68))
    paper.words((30 if inside else 6, 18), f"tied to {name}", "start")
    paper.words((285, 88), "pull")
    paper.words((200, 130), "look along all of it")
    return paper.drawing("The anchor of the cord", description)


@remembered(16)
def tied_in(layout: int, forward: str, pointed: bool, aft: str, gap: str, end: str, description: str) -> Drawing:
    """What lies forward of the joint in its place on the cord: 0 where the lines meet, 1 part-way along, 2 by a leg of its own.

    pointed: it is the nose; gap: how far from there, or how long the leg is, in words; end: what the cord ends in, "" where
    it is a canopy's link.
    """
    paper = Paper(176)
    paper.put(traced("tube-wall", "M62 96H6V136H62"), traced("cord", "M14 116L196 42"), circle("link", 10, 116, 4))
    if not end:
        paper.put(traced("line", "M204 38L300 8M204 40L306 20M204 42L310 32M204 44L314 46"), traced("cloth", "M296 4Q320 16 318 50L312 48L298 8Z"))
    paper.put(circle("link", 200, 41, 7))
    paper.words((196, 24), end or "link", "end")
    x, y = (186.0, 108.0) if layout != 1 else (150.0, 112.0)
    nose = f"H{x + 62}Q{x + 96} {y + 2} {x + 116} {y + 14}Q{x + 96} {y + 26} {x + 62} {y + 31}H{x + 22}Z"
    body = f"H{x + 112}V{y + 31}H{x + 22}Z"
    paper.put(rectangle("shoulder", (x, y), 22, 28), traced("nose", f"M{x + 22} {y - 3}{nose if pointed else body}"))
    eye = (x - 4, y + 14)
    paper.put(circle("link", *eye, 4))
    start = (113.0, 75.7) if layout == 1 else (197.0, 47.0)
    paper.put(straight("cord", *start, eye[0] - 2, eye[1] - 3), circle("knot", *start, 4))
    if layout == 1:
        paper.measure(((107, 62), (190, 28)), (2, 5))
        paper.words((144, 40), gap, "end", "dim-text")
    if layout == 2:
        paper.words((206, 86), gap, "start", "dim-text")
    paper.words((6, 156), aft, "start")
    paper.words((x + 60, y + 56), forward)
    return paper.drawing("Where it is tied in", description)


@remembered(16)
def charge_in(above: bool, first: str, backup: bool, switched: bool, description: str) -> Drawing:
    """Where the charge sits: at the bay's bottom, or on what closes it; leads twisted together, its switch open.

    switched: electronics fire it, or a backup: then it has leads and a switch.
    """
    paper = Paper(150 if switched else 104)
    wells = [44.0, 72.0] if backup else [58.0]
    if above:
        paper.put(traced("tube-wall", "M116 28H6M116 96H6"), traced("cord pale", _zigzag(30, 94, 86, 6, 9)))
        paper.put(rectangle("shoulder", (176, 32), 52, 60), rectangle("nose", (228, 28), 86, 68))
        leads, well, back = 1, 156.0, 176.0
        paper.words((134, 118), "nobody in line")
    else:
        paper.put(traced("tube-wall", "M206 28H76V96H206"), rectangle("shoulder", (64, 28), 12, 68))
        leads, well, back = -1, 76.0, 64.0
        paper.put(rectangle("airframe", (6, 28), 58, 68))
        paper.words((262, 58), "nobody")
        paper.words((262, 76), "in line")
    for i, y in enumerate(wells):
        paper.put(rectangle("charge", (well, y - 7), 20, 14))
        if switched:
            paper.put(traced("lead", _twisted(back, y, leads, 12 if i else 26)))
    spot = (6.0, "start") if not above else (314.0, "end")
    paper.words((spot[0], 18), f"{first}, backup" if backup else first, spot[1])
    if switched:
        x = 20.0 if not above else 176.0
        paper.put(traced("lead", f"M{x} 138h14l18 -10M{x + 34} 138h14"), circle("knot", x + 14, 138, 2.5), circle("knot", x + 34, 138, 2.5))
        paper.words((x + 54, 143), "switch off", "start")
        paper.words((6 if not above else 314, 118), "twisted leads", spot[1])
    return paper.drawing("The charge", description)


def _twisted(x: float, y: float, way: int, long: float) -> str:
    """Two bare ends twisted together, led away from a charge."""
    made = f"M{number(x)} {number(y - 2)}h{number(way * long)}M{number(x)} {number(y + 2)}h{number(way * long)}"
    for side in (-1, 1):
        made += f"M{number(x + way * long)} {number(y + 2 * side)}"
        made += "".join(f"l{number(way * 4)} {number(-4 * side * (-1) ** i)}" for i in range(4))
    return made


@remembered(16)
def pins_through(pins: int, said: str, description: str) -> Drawing:
    """A joint, its left half cut open: shoulder in the tube, a pin through both, marks that meet; and all pins round the tube."""
    paper = Paper(172)
    paper.put(rectangle("nose", (34, 22), 100, 40), rectangle("shoulder", (40, 62), 44, 62), rectangle("airframe", (84, 62), 50, 94))
    paper.put(rectangle("tube-cut", (34, 62), 6, 94), traced("axis", "M84 62V156"))
    paper.put(rectangle("pin", (31, 90), 26, 6), rectangle("pin", (28, 87), 4, 12))
    if pins > 1:
        paper.put(circle("pin", 118, 93, 5))
    paper.put(traced("mark", "M100 46V61M100 63V78"))
    paper.words((84, 16), "marks meet")
    paper.rule("dim", (100, 19), (100, 42))
    x, y, r = 238.0, 88.0, 44.0
    paper.put(circle("airframe", x, y, r), circle("shoulder", x, y, r - 7))
    heads = ""
    for i in range(pins):
        c, s = cosine(PI + 2 * PI * i / pins), sine(PI + 2 * PI * i / pins)
        heads += f"M{number(x + (r + 4) * c)} {number(y + (r + 4) * s)}L{number(x + (r - 16) * c)} {number(y + (r - 16) * s)}"
    paper.put(traced("pin-line", heads))
    paper.words((x, 158), said)
    paper.words((x, 24), "from the mouth")
    return paper.drawing("The joint and its pins", description)
