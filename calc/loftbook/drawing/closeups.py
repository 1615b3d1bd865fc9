"""How one thing is done, seen close: beside a bay (a box of 150 × 120 units, mouth on top), or a picture of its own.

Not to scale: they show hands and order. Cord and lines are lines; a pair of finger tips is where you hold, a straight arrow
where you carry. Words are few and never numbers of the rig that another length would change: so most of them are made once.
"""

from dataclasses import dataclass
from typing import Literal

from loftbook.drawing.markup import Markup, circle, joined, number, rectangle, straight, traced
from loftbook.drawing.svg import Drawing, Paper
from loftbook.physics.elementary import PI, cosine, sine
from loftbook.physics.remembered import remembered

BROAD, HIGH = 150.0, 102.0  # of the shapes of a close-up; its words stand below them
_LEAST, _MOST = 4, 8  # lines that are drawn


@dataclass(frozen=True)
class CloseUp:
    """Shapes in a box of their own, and what is said below it, in one row or two, and a caution: eighteen letters each at the most."""

    shapes: Markup
    said: str
    also: str = ""
    caution: str = ""

    @property
    def rows(self) -> tuple[str, ...]:
        """What is said below it, row by row."""
        return tuple(said for said in (self.said, self.also, self.caution) if said)


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
    """Level rows joined by bights, from the lower left upwards (lower right where left > right); the last one stops at `end`."""
    way, turn, side = f"M{number(left)} {number(bottom)}", number(rise / 2), 1 if right > left else -1
    for row in range(rows):
        over = row % 2 == 0
        if row == rows - 1:
            stop = end if end is not None else right if over else left
            return f"{way}H{number(stop)}"
        far = right - side * rise / 2 if over else left + side * rise / 2
        way += f"H{number(far)}a{turn} {turn} 0 0 {0 if over == (side > 0) else 1} 0 {number(-rise)}"
    return way


_DOWN = carried(143, 16, 143, 58)


def charged(x: float, y: float, wide: float, high: float) -> Markup:
    """A charge: a box with slanted stripes, so that no other thing looks like it."""
    stripes = "".join(
        f"M{number(x + share * wide)} {number(y + high)}L{number(x + (share + 0.25) * wide)} {number(y)}" for share in (0.1, 0.4, 0.7)
    )
    return joined((rectangle("charge", (x, y), wide, high), traced("charge-stripe", stripes)))


# --- beside a bay ---

Start = Literal["ring", "beneath", "mouth"]  # where a cord comes from: its ring in the bay's bottom, under another bundle, what closes it
End = Literal["link", "leg", "along", "free"]  # where it goes on the bundle: to the link on top of it, past the link, past a knot, out
Cover = Literal["", "threaded", "beside"]  # how the protector under it lies about the cord

_FLOOR = traced("tube-wall", "M34 100H116")


def _bottom(charge: bool, high: float, x: float = 46.0) -> tuple[Markup, ...]:
    """The bay's bottom: the ring with its cord up to a height, the charge beside the ring."""
    box = (charged(82, 87, 24, 12),) if charge else ()
    return (_FLOOR, *box, traced("cord", f"M{number(x)} 89V{number(high)}"), circle("link", x, 93.5, 4.5))


@remembered(16)
def cord_below(start: Start, cover: Cover, charge: bool, said: str, also: str) -> CloseUp:
    """Cord laid from wall to wall under a bundle, its end held above the mouth."""
    if start == "ring":
        low = 62 if cover else 80
        over = (rectangle("protector", (36, 68), 78, 13), traced("stitch", "M38 71H112")) if cover else ()
        slit = (traced("slit", "M39 74.5H53"),) if cover == "threaded" else ()
        made = (*over, *slit, *_bottom(charge, low), traced("cord", f"{_zigzag(46, 109, low, 4, 9, 75)}V2"))
    elif start == "beneath":
        made = (traced("cord", f"M41 {number(HIGH)}V93{_zigzag(41, 109, 93, 7, 9, 75)}V2"),)
    else:
        made = (traced("cord", f"M41 2V93H49{_zigzag(49, 109, 93, 7, 9, 75)}V2"),)
    return CloseUp(joined((_walls(24), *made, held(73, 77, 12), _DOWN)), said, also)


@remembered(16)
def cord_above(end: End, second: bool, said: str, also: str) -> CloseUp:
    """The rest of it laid on bundle and lines: it comes up the wall beside the bundle, its end is held above the mouth.

    second: the cord's other end goes up the other wall, to what closes the bay.
    """
    under = (rectangle("bundle", (47, 84), 56, HIGH - 84, 0.4), traced("line", "M47 80H103M47 77H103"))
    up = f"M109 {number(HIGH)}V70" + (f"M39 {number(HIGH)}V2" if second else "")
    left, grip = 47.0 if second else 41.0, held(73, 77, 12)
    laid, link = _zigzag(109, left, 70, 5, 9, 75), circle("link", 75, 77, 5)
    way: tuple[Markup, ...]
    if end == "link":
        grip = held(70, 80, 20)
        way = (traced("cord", f"{laid}V14"), traced("line", "M71 77L74 14M79 77L76 14"), circle("link", 75, 9, 5))
    elif end == "leg":
        way = (traced("cord", f"M109 70L80 77M70 77L{number(left)} 66{_zigzag(left, 101, 66, 4, 9, 75)}V2"), link)
    elif end == "along":
        way = (traced("cord", f"{laid}V2M75 34V72"), circle("knot", 75, 30, 4), link)
    else:
        way = (traced("cord", f"{laid}V2"),)
    return CloseUp(joined((*under, _walls(24), traced("cord", up), *way, grip, _DOWN)), said, also)


def _passing(cords: int, high: float) -> Markup:
    """Cords that go up the wall beside a bundle."""
    return traced("cord", "".join(f"M{number(109 - 67 * i)} {number(HIGH)}V{number(high)}" for i in range(cords)))


@remembered(8)
def loose_lines(cords: int, said: str, also: str) -> CloseUp:
    """Lines in loose z-folds on a bundle, gathered in the link above the mouth, where the cord ends that comes up the wall."""
    lines = "".join(f"{_zigzag(49 + shift, 101 - shift, 66 - shift, 5, 8, 75 + shift)}V14" for shift in (0, 3))
    under = (rectangle("bundle", (47, 72), 56, HIGH - 72, 0.4), traced("stitch", f"M75 72V{number(HIGH)}"))
    led = traced("cord", f"M109 {number(HIGH)}V9H82")
    other = _passing(cords, 2) if cords > 1 else None
    return CloseUp(joined((*under, led, other, _walls(24), traced("line", lines), circle("link", 76.5, 9, 5), held(71, 82, 21), _DOWN)), said, also)


def _under(above: bool, charge: bool, cords: int, x: float = 46.0) -> tuple[Markup, ...]:
    """What lies under a protector: cord where the charge comes in later from above, else the bottom with ring and charge."""
    if above:
        return (traced("cord pale", _zigzag(45, 105, 97, 3, 8)),)
    return tuple(part for i in range(cords) for part in _bottom(charge and not i, 74, x + 14 * i))


@remembered(8)
def blanket(above: bool, charge: bool, cords: int, said: str, also: str) -> CloseUp:
    """A square of cloth that is on the cord by its slit already, held flat over the tube."""
    cloth = traced("protector", "M14 42L42 12H136L108 42Z")
    seam = traced("stitch", "M23 38.5L45 15.5H127L105 38.5ZM27 36.5L46.5 17.5H122L103 36.5Z")
    spots = [73.0 + 5 * i for i in range(cords)]
    led = "".join(f"M{number(x if above else 46 + 14 * i)} {94 if above else 76}L{number(x)} 42" for i, x in enumerate(spots))
    out = "".join(f"M{number(x)} 27V1" for x in spots)
    threaded = (traced("cord", led), cloth, seam, traced("slit", "M64 27H86"), traced("cord", out))
    return CloseUp(joined((_walls(60), *_under(above, charge, cords), *threaded, held(22, 128, 27), carried(146, 46, 146, 84))), said, also)


@remembered(8)
def wadding(above: bool, charge: bool, cords: int, said: str, also: str) -> CloseUp:
    """Crumpled loosely, over the whole section, round the cord."""
    balls = [(52, 70), (66, 74), (82, 70), (98, 73), (104, 60), (88, 57), (70, 59), (54, 56)]
    crumpled = "".join(
        f"M{x - 10} {y}Q{x - 9} {y - 10} {x} {y - 8}Q{x + 11} {y - 9} {x + 9} {y + 2}Q{x + 6} {y + 10} {x - 3} {y + 7}"
        f"Q{x - 12} {y + 8} {x - 10} {y}ZM{x - 4} {y - 4}L{x} {y + 1}L{x + 5} {y - 3}"
        for x, y in (*balls, (84, 16))
    )
    ups = "".join(f"M{number(46 + 14 * i)} {97 if above else 76}V2" for i in range(cords))
    made = (_walls(34), *_under(above, charge, cords), traced("protector", crumpled), traced("cord", ups), held(73, 95, 16), _DOWN)
    return CloseUp(joined(made), said, also)


def _pocket(top: float, bottom: float, closed_above: bool) -> str:
    """A sleeve or bag in outline, one end closed."""
    shut, open_ = (top, bottom) if closed_above else (bottom, top)
    turn = 8 if closed_above else -8
    return f"M49 {number(open_)}V{number(shut + turn)}Q49 {number(shut)} 57 {number(shut)}H93Q101 {number(shut)} 101 {number(shut + turn)}V{number(open_)}"


def _seamed(top: float, bottom: float, closed_above: bool) -> tuple[Markup, Markup]:
    """The same as cloth, its seams two stitched lines."""
    low, high = (top + 9, bottom) if closed_above else (top, bottom - 9)
    seams = "".join(f"M{x} {number(low)}V{number(high)}" for x in (53, 56, 94, 97))
    return traced("protector", _pocket(top, bottom, closed_above)), traced("stitch", seams)


@remembered(8)
def pocket(above: bool, charge: bool, cords: int, said: str, also: str) -> CloseUp:
    """A sleeve or bag that goes in, its closed end to the charge, the cord up the wall beside it."""
    ups = "".join(f"M{number(42 + 66 * i)} {95 if above else 90}V2" for i in range(cords))
    rings = () if above else tuple(circle("link", 42 + 66 * i, 93.5, 4.5) for i in range(cords))
    under = (
        (traced("cord pale", _zigzag(45, 105, 97, 2, 6)),) if above else (_FLOOR, charged(63, 87, 24, 12)) if charge else (_FLOOR,)
    )
    made = (_walls(40), *under, traced("cord", ups), *rings, *_seamed(14, 80, above), held(49, 101, 26), _DOWN)
    return CloseUp(joined(made), said, also)


_TURNS = 4  # turns that are drawn, at the most


def _turned(turns: int) -> str:
    """The lines, gathered, which leave the top of a bundle, go round it loosely and return to the top, on to the mouth."""
    way = ""
    for aside in (0, 4):
        way += f"M{57 + aside} 20V{30 - aside}Q{58 + aside} {42 - aside} 105 {46 - aside}"
        for i in range(1, turns):
            y = 48 + 8 * i - aside
            way += f"M45 {y}L105 {y + 4}"
        y = 48 + 8 * turns - aside
        way += f"M45 {y}Q{86 - aside} {y - 2} {86 - aside} {y - 18}V20V2"
    return way


@remembered(16)
def sliding_bundle(turns: int, bag: bool, sleeve: bool, above: bool, cords: int, said: str, also: str) -> CloseUp:
    """The bundle on its way in: lines leave it towards the mouth; turns of them round it, or a bag with the lines outside.

    bag, sleeve: what it is in, or slides into; above: the charge lies towards the mouth, so a closed end does too; cords: how
    many go up the wall beside it.
    """
    body: tuple[Markup, ...] = (rectangle("bundle", (51, 20), 48, 66), traced("stitch", "M58 20V86M61 20V86M89 20V86M92 20V86"))
    if sleeve and not above:  # it stands in the tube already
        body = (traced("protector", _pocket(64, HIGH - 2, False)), *body)
    if bag:
        body = (*_seamed(18, 86, above), traced("line", f"{_zigzag(57, 93, 70, 4, 8, 75)}V4"))
    elif turns:
        body = (*body, traced("line", _turned(min(turns, _TURNS))))
    else:
        body = (*body, traced("line", "M57 20L74 2M69 20L75 2M81 20L75 2M93 20L76 2"))
    side = 2.0 if bag else 0.0
    return CloseUp(joined((_passing(cords, 2), *body, _walls(60), held(51 - side, 99 + side, 26), _DOWN)), said, also)


@remembered(8)
def held_shut(cords: int, said: str, also: str) -> CloseUp:
    """The device that holds a bundle shut, tied in; you pull on it."""
    made = (
        rectangle("bundle", (48, 56), 54, HIGH - 56, 0.5),
        _passing(cords, 2),
        traced("cord", "M48 78H102M90 42Q98 40 99 4"),
        rectangle("device", (58, 38), 34, 18),
        traced("link", "M64 56V78M86 56V78"),
        _walls(30),
        held(57, 93, 47),
        carried(143, 58, 143, 16),
    )
    return CloseUp(joined(made), said, also)


def upright(x: float, y: float, wide: float, high: float, pointed: bool, up: bool = True) -> Markup:
    """What lies forward of a joint, without its shoulder, y: where the shoulder begins: a nose with its point, or a tube that goes on."""
    way = -1 if up else 1
    if pointed:
        half, tip = wide / 2, y + way * high
        side = f"Q{number(x)} {number(y + way * 0.6 * high)} {number(x + half)} {number(tip)}Q{number(x + wide)} {number(y + way * 0.6 * high)} {number(x + wide)} {number(y)}"
        return traced("nose", f"M{number(x)} {number(y)}{side}Z")
    far = y + way * high
    body = rectangle("airframe", (x, min(y, far)), wide, high)
    return joined((body, traced("tube-wall", f"M{number(x)} {number(y)}V{number(far)}M{number(x + wide)} {number(y)}V{number(far)}")))


@remembered(16)
def closing(pointed: bool, eye: bool, link: bool, charge: bool, said: str, also: str) -> CloseUp:
    """What closes the bay: its shoulder on its way into the mouth, held from both sides.

    eye: what lies in the bay is tied to it; link: by the link itself; charge: one sits on it.
    """
    tied = ()
    if eye:
        ends = (circle("link", 75, 87, 4.5),) if link else ()
        tied = (traced("cord", f"M75 {91 if link else 83}V{number(HIGH)}"), circle("link", 75, 79, 4.5), *ends)
    made = (
        upright(33, 34, 84, 32, pointed),
        rectangle("shoulder", (37, 34), 76, 40),
        *((charged(88, 74, 18, 10),) if charge else ()),
        *tied,
        traced("tube-wall", "M34 62V102M116 62V102"),
        held(37 if pointed else 33, 113 if pointed else 117, 24 if pointed else 19),
        carried(144, 26, 144, 66),
    )
    return CloseUp(joined(made), said, also)


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
        traced("line", "M20 112L96 164M160 112V164M300 112L272 164"),
        traced("fault", "M160 132l-7 -4M160 137l8 -4M160 142l-8 -3M160 147l7 -4"),
        held(20, 300, 44),
    )
    paper.words((75, 92), "hole")
    paper.words((160, 20), "seam pulled")
    paper.words((252, 92), "stiff, glazed")
    paper.words((172, 158), "fuzzy line", "start")
    return paper.drawing("What to look for", description)


def _strip(x: float, y: float, half: float, level: bool = False) -> Markup:
    """A protector seen from its edge on a cord that runs through its slit: upright, or level."""
    box = rectangle("protector", (x - half, y - 3.5), 2 * half, 7) if level else rectangle("protector", (x - 3.5, y - half), 7, 2 * half)
    slit = f"M{number(x)} {number(y - 6)}V{number(y + 6)}" if level else f"M{number(x - 6)} {number(y)}H{number(x + 6)}"
    return joined((box, traced("slit", slit)))


def _swivel(x: float, y: float, ux: float, uy: float, size: float) -> Markup:
    """A swivel that begins at a spot and points along (ux, uy): two rings on a barrel."""
    spots = [(x + way * size * ux, y + way * size * uy) for way in (1.0, 3.0)]
    nut = (x + 2 * size * ux - 0.4 * size, y + 2 * size * uy - 0.4 * size)
    return joined((*(circle("link", *spot, size) for spot in spots), rectangle("nut", nut, 0.8 * size, 0.8 * size)))


@remembered(16)
def lines_on_link(lines: int, swivel: bool, threaded: str, description: str) -> Drawing:
    """Lines from the skirt to a closed link in order, each with its sewn tab; then swivel and cord.

    threaded: what is on the cord before it is tied, "" for nothing.
    """
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
        paper.put(_swivel(214, 75, 1, 0, 10))
        paper.words((234, 106), "swivel")
    paper.put(traced("cord", f"M{end} 75H316"))
    if threaded:
        paper.put(_strip(280, 75, 22))
        paper.words((280, 126), threaded)
        paper.rule("dim", (280, 98), (280, 114))
    paper.words((30, 16), "line 1", "start")
    paper.words((30, 144), f"line {lines}", "start")
    paper.words((195, 50), "link, shut")
    paper.words((300, 46), "cord")
    return paper.drawing("Lines, link and cord", description)


@remembered(8)
def anchored(inside: bool, other: bool, name: str, threaded: str, description: str) -> Drawing:
    """A cord on its anchor, pulled at and looked along.

    inside: at the bottom of the bay, else at the part that closes it; other: a second cord has an eye of its own beside it;
    threaded: what is on the cord already.
    """
    paper = Paper(140)
    if inside:
        paper.put(traced("tube-wall", "M208 26H22V94H208"), rectangle("shoulder", (22, 28), 12, 64))
        eye, knot = 42.0, 50.0
    else:
        paper.put(rectangle("nose", (6, 28), 62, 64), rectangle("shoulder", (68, 32), 44, 56))
        eye, knot = 120.0, 128.0
    if other:
        paper.put(circle("link", eye, 70, 7), traced("cord pale", f"M{number(knot)} 70H236"))
    paper.put(circle("link", eye, 44, 8), traced("cord", f"M{number(knot)} 38h10v12h-10M{number(knot + 10)} 44H314"))
    if threaded:
        paper.put(_strip(160, 44, 14))
        paper.words((168, 82), threaded)
        paper.rule("dim", (160, 59), (162, 70))
    paper.put(_pinched(244, 44), carried(262, 62, 308, 62))
    paper.words((22 if inside else 6, 16), f"tied to {name}", "start")
    paper.words((285, 84), "pull")
    paper.words((200, 130), "look along all of it")
    return paper.drawing("The anchor of the cord", description)


@dataclass(frozen=True)
class Tied:
    """layout: 0 where the lines meet, 1 part-way along, 2 by a leg of its own; forward, aft: what the parts are called.

    pointed: forward is the nose; long: the cord from anchor to link, up to the knot where it is tied in part-way; gap: how far
    from there the link is, or how long the leg is; end: what the cord ends in, "" where it is a canopy's link; swivel: one sits
    in that link; threaded: what is on the cord already, "" for nothing; leg: it is on what ties the forward part in.
    """

    layout: int
    forward: str
    aft: str
    pointed: bool
    long: str
    gap: str
    end: str
    swivel: bool
    threaded: str
    leg: bool


@remembered(16)
def tied_in(it: Tied, description: str) -> Drawing:
    """What lies forward of the joint in its place on the cord."""
    paper = Paper(196)
    ux, uy = -0.926, 0.377  # from the link towards the anchor
    paper.put(traced("tube-wall", "M62 118H6V158H62"))
    link, anchor = (206.0, 41.0), (14.0, 134.0)
    knot = (140.0, 73.0)
    begins = (link[0] + 27 * ux, link[1] + 27 * uy) if it.swivel else link
    paper.put(straight("cord", *anchor, *begins), circle("link", 10, 136, 4.5))
    if not it.end:
        paper.put(
            traced("line", "M210 38L300 8M210 40L306 20M210 42L310 32M210 44L314 46"), traced("cloth", "M296 4Q320 16 318 50L312 48L298 8Z")
        )
    if it.swivel:
        paper.put(_swivel(link[0] + 6 * ux, link[1] + 6 * uy, ux, uy, 5.5))
        paper.words((link[0] - 26, 26), "swivel", "end")
        paper.rule("dim", (link[0] - 24, 27), (link[0] - 15, 40))
    hung = {0: (link[0], link[1] + 12), 1: (knot[0], knot[1] + 5), 2: (link[0], link[1] + 58)}[it.layout]
    short = it.leg and it.layout != 2  # what ties it in must pass the protector
    eye = (hung[0], hung[1] + (20 if short else 0))
    paper.put(upright(eye[0] - 16, eye[1] + 26, 32, 196 - eye[1] - 32, it.pointed, up=False))
    paper.put(rectangle("shoulder", (eye[0] - 14, eye[1] + 5), 28, 21))
    if short or it.layout == 2:
        paper.put(straight("cord", hung[0], link[1] if it.layout != 1 else knot[1], eye[0], eye[1]))
    paper.put(circle("link", *eye, 5))
    paper.put(circle("link", *link, 7))
    if it.layout == 1:
        paper.put(circle("knot", *knot, 4))
    if it.threaded:
        at = ((hung[0], (hung[1] + eye[1]) / 2) if short else (link[0], 66.0)) if it.leg else (60.0, 111.7)
        paper.put(_strip(*at, 17, level=True) if it.leg else _strip(*at, 17))
        spot = (at[0] + 22, at[1] + 5) if it.leg else (4.0, 88.0)
        paper.words(spot, it.threaded, "start")
        if not it.leg:
            paper.rule("dim", (46, 91), (56, 97))
    paper.words((link[0], 20), it.end or "link", "middle" if not it.end else "end")
    if it.layout == 1:
        paper.words((170, 48), it.gap, "end", "dim-text")
    paper.words((100, 74), it.long, "end", "dim-text")
    if it.layout == 2:
        paper.words((link[0] + 10, 92), it.gap, "start", "dim-text")
    paper.words((6, 176), it.aft, "start")
    right = it.layout == 1
    paper.words((eye[0] + (22 if right else -22), 150), it.forward, "start" if right else "end")
    return paper.drawing("Where it is tied in", description)


@dataclass(frozen=True)
class Loaded:
    """first: what the charge is called; backup: a second one; switched: electronics fire them; above: on what closes the bay.

    aft, forward: what the parts are called; pointed: forward is the nose; protector: what lies in the bay or is on the cord;
    threaded: the cord runs through it; cords: how many are tied to the bay's bottom, or run to the forward part.
    """

    above: bool
    first: str
    backup: bool
    switched: bool
    aft: str
    forward: str
    pointed: bool
    protector: str
    threaded: bool
    cords: int


@remembered(16)
def charge_in(it: Loaded, description: str) -> Drawing:
    """Where the charge sits: at the bay's bottom beside the cord's ring, or on what closes it; leads twisted, its switch open."""
    paper = Paper(170)
    wells = [66.0, 86.0] if it.backup else [76.0]
    named = [it.first, "backup"] if it.backup else [it.first]
    if it.above:
        paper.put(traced("tube-wall", "M104 28H6M104 104H6"), traced("cord pale", _zigzag(14, 66, 94, 7, 9)))
        paper.put(rectangle("protector", (76, 30), 14, 72))
        paper.put(rectangle("shoulder", (176, 32), 52, 68), _forward(it, 228, 66))
        for i in range(it.cords):
            y = 44.0 + 9 * i
            paper.put(straight("cord", 56, y, 166, y), circle("link", 170, y, 5))
            if it.threaded:
                paper.put(traced("slit", f"M76 {number(y)}H90"))
        paper.words((6, 18), it.aft, "start")
        paper.words((314, 18), it.forward, "end")
        leads, well, back, clear = 1, 156.0, 176.0, (6.0, "start")
        paper.words((76, 120), it.protector)
        paper.rule("dim", (83, 103), (80, 109))
        tags = [(132.0 - 8.4 * len(name), 138.0 + 16 * i) for i, name in enumerate(named)]
        if not it.backup:
            tags = [(max(6.0, 140 - 8.4 * len(it.first)), 138.0)]
    else:
        paper.put(traced("tube-wall", "M206 28H76V104H206"), rectangle("shoulder", (64, 28), 12, 76), rectangle("airframe", (6, 28), 58, 76))
        for i in range(it.cords):
            y = 44.0 + 9 * i
            paper.put(straight("cord", 88, y, 314, y), circle("link", 84, y, 5))
        if it.threaded:
            paper.put(_strip(240, 44 + 4.5 * (it.cords - 1), 24))
            paper.words((240, 92), it.protector)
            paper.rule("dim", (240, 70), (240, 80))
        paper.words((130, 122), it.aft, "start")
        leads, well, back, clear = -1, 76.0, 64.0, (314.0, "end")
        tags = [(116.0, y + 5) for y in wells]
    for i, y in enumerate(wells):
        paper.put(charged(well, y - 8, 20, 16))
        if it.switched:
            paper.put(traced("lead", _twisted(back, y, leads, 12 if i else 26)))
    for name, (x, at), y in zip(named, tags, wells, strict=True):
        paper.words((x, at), name, "start")
        if it.above:
            paper.rule("dim", (x + 8.4 * len(name) * 0.9, at - 11), (well + 8, y + 8))
        else:
            paper.rule("dim", (x - 3, y), (well + 21, y))
    if it.switched:
        x = 156.0 if it.above else 10.0
        paper.put(
            traced("lead", f"M{number(x)} 138h14l18 -10M{number(x + 34)} 138h14"), circle("knot", x + 14, 138, 2.5), circle("knot", x + 34, 138, 2.5)
        )
        paper.words((x + 54, 143), "switch off", "start")
        paper.words((314, 120) if it.above else (6, 122), "leads shorted", "end" if it.above else "start")
    paper.words((clear[0], 164), "nobody in line", clear[1])
    return paper.drawing("The charge", description)


def _forward(it: Loaded, x: float, y: float) -> Markup:
    """The part forward of a joint lying on its side, from its shoulder on to the right."""
    if not it.pointed:
        return rectangle("airframe", (x, y - 38), 86, 76)
    return traced("nose", f"M{number(x)} {number(y - 38)}Q{number(x + 62)} {number(y - 30)} {number(x + 86)} {number(y)}Q{number(x + 62)} {number(y + 30)} {number(x)} {number(y + 38)}Z")


@remembered(8)
def tried(bundles: str, joints: str, pointed: bool, description: str) -> Drawing:
    """What is tried while no charge is in: a bundle falls out of the tube, what closes it stays on lifted and comes off shaken.

    bundles, joints: the bays whose bundle, and whose closing part, is tried; bundles "" where no bay holds one.
    """
    paper = Paper(262)
    if bundles in ("", joints):
        paper.words((6 if bundles else 130, 16), joints, "start")
    else:
        paper.words((6, 16), bundles, "start")
        paper.words((130, 16), joints, "start")
    if bundles:
        paper.put(traced("tube-wall", "M24 108V34H84V108"), rectangle("bundle", (34, 92), 40, 62), traced("stitch", "M42 92V154M66 92V154"))
        paper.put(held(24, 84, 56), carried(54, 162, 54, 188))
        paper.words((54, 208), "falls out")
    for x, off in ((144.0, 0.0), (240.0, 26.0)):
        paper.put(upright(x, 76, 48, 44, pointed), rectangle("shoulder", (x + 3, 76), 42, 30))
        top = 77 + off + (off and 10)
        paper.put(traced("tube-wall", f"M{number(x)} {number(top)}V{number(top + 86)}H{number(x + 48)}V{number(top)}"))
        paper.put(held(x + 4, x + 44, 66))
    paper.put(carried(216, 96, 216, 56), carried(302, 120, 302, 96), carried(302, 120, 302, 146))
    paper.words((168, 190), "lifted:")
    paper.words((168, 206), "stays on")
    paper.words((268, 222), "shaken:")
    paper.words((268, 238), "comes off")
    paper.put(charged(14, 234, 24, 16), traced("crossed", "M8 228L44 256M44 228L8 256"))
    paper.words((52, 247), "no charge in, no pins", "start")
    return paper.drawing("Tried before any charge is in", description)


def _twisted(x: float, y: float, way: int, long: float) -> str:
    """Two bare ends twisted together, led away from a charge."""
    made = f"M{number(x)} {number(y - 2)}h{number(way * long)}M{number(x)} {number(y + 2)}h{number(way * long)}"
    for side in (-1, 1):
        made += f"M{number(x + way * long)} {number(y + 2 * side)}"
        made += "".join(f"l{number(way * 4)} {number(-4 * side * (-1) ** i)}" for i in range(4))
    return made


@remembered(16)
def pins_through(pins: int, tube: str, forward: str, said: str, caution: str, description: str) -> Drawing:
    """A joint, the tube's left half cut open: shoulder in the tube, a pin through both, marks that meet; and all pins round the tube.

    Seen from below the round picture: pins on the near side are heads, those on the far side dashed and pale.
    """
    paper = Paper(208)
    paper.put(rectangle("nose", (34, 36), 100, 40), rectangle("airframe", (84, 76), 50, 90), rectangle("shoulder", (40, 76), 44, 62))
    paper.put(rectangle("tube-cut", (34, 76), 6, 90), traced("axis", "M84 76V166"))
    spots = [(cosine(PI + 2 * PI * i / pins), sine(PI + 2 * PI * i / pins)) for i in range(pins)]
    for c, s in spots:
        if abs(s) < 1e-6:  # at the edge: its shank goes through both
            out = 1 if c > 0 else -1
            edge = 84 + 50 * out
            shank = "pin" if out < 0 else "pin-far"
            paper.put(rectangle(shank, (min(edge + 3 * out, edge - 23 * out), 104), 26, 6))
            paper.put(rectangle("pin", (min(edge + 3 * out, edge + 7 * out), 101), 4, 12))
        elif s < 0:
            paper.put(circle("pin-far", 84 + 50 * c, 107, 8))
    for c, s in spots:
        if s > 1e-6:
            paper.put(circle("pin", 84 + 50 * c, 107, 4.5))
    paper.put(traced("mark", "M112 60V75M112 77V92"))
    paper.words((112, 16), "marks meet")
    paper.rule("dim", (112, 19), (112, 56))
    paper.words((6, 32), forward, "start")
    paper.words((6, 184), tube, "start")
    if caution:
        paper.words((6, 202), caution, "start")
    x, y, r = 238.0, 102.0, 44.0
    paper.put(circle("airframe", x, y, r), circle("shoulder", x, y, r - 7))
    heads = ""
    for c, s in spots:
        heads += f"M{number(x + (r + 4) * c)} {number(y + (r + 4) * s)}L{number(x + (r - 16) * c)} {number(y + (r - 16) * s)}"
    paper.put(traced("pin-line", heads), carried(x, 170, x, 154))
    paper.words((x, 184), "view at left")
    paper.words((x, 202), said)
    paper.words((x, 38), "from the mouth")
    return paper.drawing("The joint and its pins", description)
