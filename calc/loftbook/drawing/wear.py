"""What gear looks like that is worn: each picture sound at the left, bad at the right, with what is bad in words.

Not to scale. A fault is a shape, never a colour alone: black on white says all.
"""

from collections.abc import Callable

from loftbook.drawing.markup import Markup, circle, joined, number, rectangle, traced
from loftbook.drawing.svg import WIDTH, Drawing, Paper
from loftbook.physics.elementary import PI, cosine, sine

_HALF = 160.0  # of a picture, in picture units
_LOW = 112.0  # where gear ends and words begin


# --- what all of them are drawn with ---


def _cloth(way: str) -> Markup:
    return joined((traced("cloth-back", way), traced("cloth", way)))


def _stitched(*ways: str) -> Markup:
    return traced("seam", "".join(ways))


def _fluff(x: float, y: float, way: float, count: int = 7) -> Markup:
    """Ends of thread that stand out of a spot; way: where their middle points, from the right, against the clock [rad]."""
    ends = ""
    for i in range(count):
        turn, long = way + (i - (count - 1) / 2) * 0.32, 9 + 4 * (i % 3)
        bend = turn + 0.25 * (-1) ** i
        ends += f"M{number(x)} {number(y)}q{number(0.6 * long * cosine(bend))} {number(-0.6 * long * sine(bend))} "
        ends += f"{number(long * cosine(turn))} {number(-long * sine(turn))}"
    return traced("fluff", ends)


def _band(way: str) -> Markup:
    """Webbing."""
    return joined((traced("tape-edge", way), traced("tape", way)))


def _bite(x: float, y: float, wide: float, deep: float) -> Markup:
    """What is missing from an edge that runs level there; deep: how far down it goes, up where negative."""
    return traced("bite", f"M{number(x - wide)} {number(y)}Q{number(x)} {number(y + 2 * deep)} {number(x + wide)} {number(y)}")


def _steel(way: str) -> Markup:
    return traced("steel", way)


def _crack(way: str) -> Markup:
    return traced("crack", way)


# --- canopy ---


def _burn(x: float, bad: bool) -> list[Markup]:
    made = [_cloth(f"M{x + 14} 14H{x + 146}V104H{x + 14}Z"), _stitched(f"M{x + 22} 14V104M{x + 25} 14V104M{x + 135} 14V104M{x + 138} 14V104")]
    if bad:
        made.append(traced("glazed", f"M{x + 88} 36q14 -12 26 -2q8 12 -6 18q-20 4 -20 -16z"))
        made.append(traced("burnt", f"M{x + 48} 40q8 -10 17 -3q10 6 3 15q-6 11 -16 5q-11 -6 -4 -17zM{x + 98} 78q6 -5 11 1q5 7 -3 10q-11 1 -8 -11zM{x + 60} 82q4 -4 8 0q3 6 -4 7q-7 -1 -4 -7z"))
    return made


def _seam(x: float, bad: bool) -> list[Markup]:
    if not bad:
        made = [_cloth(f"M{x + 14} 14H{x + 80}V104H{x + 14}Z"), _cloth(f"M{x + 80} 14H{x + 146}V104H{x + 80}Z")]
        return [*made, _stitched(f"M{x + 77} 14V104M{x + 83} 14V104")]
    made = [_cloth(f"M{x + 14} 14H{x + 80}V30Q{x + 60} 59 {x + 80} 88V104H{x + 14}Z"), _cloth(f"M{x + 146} 14H{x + 80}V30Q{x + 100} 59 {x + 80} 88V104H{x + 146}Z")]
    made.append(_stitched(f"M{x + 77} 14V30M{x + 83} 14V30M{x + 77} 88V104M{x + 83} 88V104"))
    made.append(traced("thread", "".join(f"M{x + 80 - w} {y}l{2 * w} 3" for y, w in ((38, 5), (47, 8), (57, 9), (67, 8), (77, 6)))))
    made += [circle("hole", x + 80 + side * w, y, 1.8) for side in (-1, 1) for y, w in ((37, 11), (47, 15), (59, 16), (71, 15), (81, 11))]
    return made


def _hem(x: float, bad: bool) -> list[Markup]:
    made = [_cloth(f"M{x + 14} 14H{x + 146}V86H{x + 14}Z"), _stitched(f"M{x + 78} 14V86M{x + 82} 14V86")]
    whole = [f"M{x + 14} 86H{x + 48}", f"M{x + 112} 86H{x + 146}"] if bad else [f"M{x + 14} 86H{x + 146}"]
    made += [joined((traced("hem", way), traced("hem-stitch", way))) for way in whole]
    made.append(traced("line close", f"M{x + 80} 86V110"))
    if bad:
        made.append(_crack(f"M{x + 48} 86l6 4l4 -8l7 9l5 -10l6 7l4 -30l5 30l6 -7l5 10l6 -9l5 8l5 -4"))
        made += [_fluff(x + at, 88, -PI / 2, 4) for at in (58, 72, 94, 104)]
    return made


# --- lines ---


def _rope(x: float, y0: float, start: float, end: float) -> Markup:
    """A line close up, level, with its braid."""
    braid = "".join(f"M{x + at} {y0 + 6}l7 -12M{x + at} {y0 - 6}l7 12" for at in range(int(start), int(end) - 6, 9))
    return joined((rectangle("tab", (x + start, y0 - 7), end - start, 14), traced("line", braid)))


def _frayed(x: float, bad: bool) -> list[Markup]:
    made = [_steel(f"M{x + 138} 58m-18 0a18 18 0 1 0 36 0a18 18 0 1 0 -36 0"), traced("line close", f"M{x + 96} 52q20 -16 32 2M{x + 96} 64q20 16 32 -2")]
    if not bad:
        made.append(_rope(x, 58, 8, 92))
    else:
        made += [_rope(x, 58, 8, 58), traced("line close", f"M{x + 56} 58H{x + 92}"), _fluff(x + 58, 54, PI * 0.42), _fluff(x + 58, 62, -PI * 0.42), _fluff(x + 74, 58, PI * 0.5, 4)]
    made.append(joined((rectangle("tab", (x + 84, 44), 16, 28), traced("line", f"M{x + 84} 54l16 -6M{x + 84} 66l16 -6M{x + 84} 70l16 -1"))))
    return made


def _glazed(x: float, bad: bool) -> list[Markup]:
    if not bad:
        return [_rope(x, 58, 8, 152)]
    thin = f"M{x + 52} 51q28 8 56 0v14q-28 -8 -56 0z"
    return [_rope(x, 58, 8, 52), _rope(x, 58, 108, 152), traced("tab", thin), traced("glazed", thin)]


def _uneven(x: float, bad: bool) -> list[Markup]:
    spots = [x + 22 + 29 * i for i in range(5)]
    made = [circle("link", x + 80, 14, 7), _cloth(f"M{x + 16} 88H{x + 144}L{x + 128} 110H{x + 32}Z"), joined((traced("hem", f"M{x + 16} 88H{x + 144}"), traced("hem-stitch", f"M{x + 16} 88H{x + 144}")))]
    made.append(traced("line close", "".join(f"M{x + 80} 21L{spot} 86" for i, spot in enumerate(spots) if not (bad and i == 3))))
    if bad:
        made.append(_crack(f"M{x + 80} 21Q{x + 152} 22 {spots[3]} 86"))
    return made


# --- cord ---


def _mouth(x: float, bad: bool) -> list[Markup]:
    made = [rectangle("airframe", (x + 16, 50), 74, 60), _band(f"M{x + 78} 108V58q0 -16 18 -16H{x + 152}")]
    if bad:
        made += [_bite(x + 106, 49.6, 12, -8), _fluff(x + 106, 47, -PI / 2), _fluff(x + 122, 49, -PI * 0.4, 4), _bite(x + 118, 34.4, 8, 6), _fluff(x + 118, 34, PI / 2, 5)]
    return made


def _loop(x: float, bad: bool) -> list[Markup]:
    made = [_band(f"M{x + 152} 44H{x + 56}q-28 0 -28 16q0 16 28 16H{x + 130}"), circle("steel", x + 22, 60, 15)]
    ends, count = (84, 4) if bad else (128, 12)
    zig = "".join(f"{'L' if i else 'M'}{x + 62 + (ends - 62) * i / count:.1f} {48 if i % 2 else 72}" for i in range(count + 1))
    made.append(traced("thread", zig))
    if bad:
        made += [traced("thread", f"M{x + 98} 40l3 6M{x + 112} 40l3 6M{x + 126} 40l3 6M{x + 98} 72l3 7M{x + 112} 72l3 7M{x + 124} 73l3 6"), _fluff(x + 30, 50, PI * 0.75, 5), _fluff(x + 30, 70, -PI * 0.75, 5)]
    return made


# --- links and anchors ---


def _link(x: float, bad: bool) -> list[Markup]:
    if not bad:
        return [_steel(f"M{x + 54} 34H{x + 106}a24 24 0 0 1 0 48H{x + 54}a24 24 0 0 1 0 -48Z"), rectangle("nut", (x + 64, 75), 32, 14)]
    made = [_steel(f"M{x + 66} 92L{x + 48} 94a26 26 0 0 1 -8 -50L{x + 110} 26a22 22 0 0 1 16 40L{x + 112} 78"), rectangle("nut", (x + 42, 86), 26, 14)]
    return [*made, traced("steel fine", f"M{x + 106} 76l6 6M{x + 101} 78l6 7"), traced("burnt", f"M{x + 116} 30q5 5 10 4")]


def _swivel(x: float, bad: bool) -> list[Markup]:
    lower = 86 if bad else 80
    made = [circle("steel", x + 80, 26, 14), rectangle("nut", (x + 64, 40), 32, 14)]
    if bad:
        made += [_steel(f"M{x + 80} 54q-2 8 8 16"), rectangle("nut", (x + 72, 68), 32, 8), circle("steel", x + 92, lower + 6, 14), traced("crack", f"M{x + 66} 58l6 4l-4 4M{x + 96} 56l-4 5l6 3")]
    else:
        made += [_steel(f"M{x + 80} 54V58"), rectangle("nut", (x + 64, 58), 32, 8), circle("steel", x + 80, lower, 14)]
    return made


def _eye(x: float, bad: bool) -> list[Markup]:
    wall = rectangle("airframe", (x + 76, 12), 16, 98)
    if not bad:
        return [wall, _steel(f"M{x + 56} 60H{x + 122}"), circle("steel", x + 40, 60, 16), rectangle("nut", (x + 92, 44), 5, 32), rectangle("nut", (x + 97, 50), 14, 20)]
    made = [wall, _steel(f"M{x + 124} 60H{x + 70}Q{x + 56} 60 {x + 52} 48A16 16 0 1 1 {x + 24} 54"), rectangle("nut", (x + 88, 44), 5, 32), rectangle("nut", (x + 104, 50), 14, 20)]
    return [*made, _crack(f"M{x + 76} 52l6 -8l-3 -8l5 -8M{x + 76} 68l6 8l-3 8l5 8")]


# --- protector, joint ---


def _protector(x: float, bad: bool) -> list[Markup]:
    made = [traced("cord", f"M{x + 12} 28H{x + 40}"), traced("protector", f"M{x + 40} 14H{x + 142}V106H{x + 40}Z"), traced("stitch", f"M{x + 45} 19H{x + 137}V101H{x + 45}Z"), circle("vent", x + 48, 28, 4)]
    if bad:
        made += [traced("burnt", f"M{x + 78} 44l12 -8l14 6l8 -4l6 14l-6 10l4 12l-14 8l-10 -6l-12 4l-8 -14l6 -10z"), _crack(f"M{x + 118} 52l12 -6l6 4M{x + 104} 82l6 12l-4 8M{x + 74} 60l-14 4")]
    return made


def _pin(x: float, bad: bool) -> list[Markup]:
    made = [rectangle("shoulder", (x + 96, 24), 54, 76), rectangle("airframe", (x + 10, 14), 104, 96)]
    if bad:
        made += [traced("vent", f"M{x + 64} 46H{x + 84}a16 16 0 0 1 0 32H{x + 64}a16 16 0 0 1 0 -32Z"), _crack(f"M{x + 100} 62l5 -4l4 6l5 -4"), circle("pin", x + 64, 62, 11)]
    else:
        made += [circle("vent", x + 74, 62, 14), circle("pin", x + 74, 62, 11.5)]
    return made


# --- electronics ---


def _well(x: float, bad: bool) -> list[Markup]:
    made = [rectangle("airframe", (x + 14, 88), 132, 18), traced("shoulder", f"M{x + 50} 88V26H{x + 60}V80H{x + 100}V26H{x + 110}V88Z")]
    if bad:
        made += [traced("glazed", f"M{x + 61} 80v-14l8 4l6 -7l9 6l7 -5l8 6v10z"), _crack(f"M{x + 105} 26l-3 14l5 10l-5 12l4 12l-4 14"), _crack(f"M{x + 34} 88l8 -3l8 3")]
    return made


def _wire(x: float, bad: bool) -> list[Markup]:
    made = [rectangle("device", (x + 76, 26), 58, 72), circle("vent", x + 104, 44, 9), circle("vent", x + 104, 80, 9), traced("steel fine", f"M{x + 98} 44h12M{x + 98} 80h12")]
    made += [rectangle("tab", (x + 8, 39), 46, 10), traced("line close", f"M{x + 54} 44H{x + 94}")]
    if not bad:
        return [*made, rectangle("tab", (x + 8, 75), 46, 10), traced("line close", f"M{x + 54} 80H{x + 94}")]
    return [*made, rectangle("tab", (x + 8, 75), 46, 10), _fluff(x + 54, 80, 0.1, 6), traced("crack", f"M{x + 54} 78Q{x + 72} 70 {x + 94} 48")]


def _battery(x: float, bad: bool) -> list[Markup]:
    posts = [rectangle("nut", (x + 54, 18), 14, 10), rectangle("nut", (x + 92, 18), 14, 10)]
    if not bad:
        return [*posts, rectangle("device", (x + 44, 28), 72, 76), _band(f"M{x + 36} 66H{x + 124}")]
    swollen = f"M{x + 44} 28Q{x + 80} 20 {x + 116} 28Q{x + 138} 66 {x + 116} 104Q{x + 80} 112 {x + 44} 104Q{x + 22} 66 {x + 44} 28Z"
    return [*posts, traced("device", swollen), _crack(f"M{x + 90} 28l-5 10l8 6l-6 10l7 8"), traced("glazed", f"M{x + 92} 62q8 12 0 16q-9 -3 0 -16z")]


# --- airframe, release device ---


def _slit(x: float, bad: bool) -> list[Markup]:
    made = [rectangle("airframe", (x + 36, 22), 88, 88), traced("shoulder", f"M{x + 36} 22q0 -9 44 -9q44 0 44 9q0 9 -44 9q-44 0 -44 -9Z")]
    if bad:
        made += [traced("bite", f"M{x + 84} 30L{x + 88} 74L{x + 92} 30Z"), _crack(f"M{x + 84} 30L{x + 88} 74l-3 10l3 8M{x + 92} 30L{x + 88} 74")]
    return made


def _bulkhead(x: float, bad: bool) -> list[Markup]:
    made = [circle("airframe", x + 80, 61, 47), circle("shoulder", x + 80, 61, 40), traced("steel", f"M{x + 80} 51a10 10 0 1 0 0.1 0Z")]
    if bad:
        made.append(_crack(f"M{x + 42} 48l12 6l8 -7l9 6M{x + 89} 66l9 8l6 -5l8 12l4 2"))
        made.append(traced("burnt", f"M{x + 60} 96A40 40 0 0 0 {x + 100} 96"))
    return made


def _crease(x: float, bad: bool) -> list[Markup]:
    if not bad:
        return [rectangle("airframe", (x + 8, 36), 144, 50)]
    made = [traced("airframe", f"M{x + 8} 36H{x + 70}L{x + 80} 44L{x + 152} 30V80L{x + 82} 92L{x + 74} 86H{x + 8}Z")]
    return [*made, _crack(f"M{x + 80} 44q-10 12 2 22q8 10 -4 24"), traced("glazed", f"M{x + 20} 52q16 -10 26 2q2 16 -14 16q-18 -2 -12 -18z")]


def _release(x: float, bad: bool) -> list[Markup]:
    made = [rectangle("device", (x + 20, 30), 66, 62), traced("cord", f"M{x + 152} 40H{x + 108}a21 21 0 0 0 0 42H{x + 152}")]
    pin = f"M{x + 56} 61H{x + 84}q4 5 8 0q4 5 8 0H{x + 116}" if bad else f"M{x + 56} 61H{x + 116}"
    made.append(_steel(pin))
    if bad:
        made += [_fluff(x + 88, 52, PI * 0.8, 6), _fluff(x + 88, 72, -PI * 0.8, 6), _crack(f"M{x + 30} 30l6 12l-5 8l7 10")]
    return made


_DRAWN: dict[str, tuple[Callable[[float, bool], list[Markup]], str, str, str]] = {
    "burn": (_burn, "Burns in a panel", "burnt and glazed", "A panel of cloth between two seams. Bad: three holes with a dark hard rim and a glazed patch."),
    "seam": (_seam, "A seam pulled open", "pulled open", "A seam with two rows of stitches. Bad: the cloth gapes between them, threads show, needle holes are torn."),
    "hem": (_hem, "The skirt's edge at a line", "hem open, frayed", "The hem with a line at a seam. Bad: the hem is open on both sides of the line, its edge hangs in threads and is torn up the seam."),
    "frayed": (_frayed, "A line at its knot", "frayed at the knot", "A braided line knotted to a link. Bad: the braid is open in front of the knot, strands stand out, only the core carries."),
    "glazed": (_glazed, "A line along its length", "flat and glazed", "A braided line. Bad: it is thin and smooth for a stretch, the braid cannot be seen."),
    "uneven": (_uneven, "Lines hung by their link", "one is slack", "A canopy hung by its link. Bad: one line of five hangs slack."),
    "mouth": (_mouth, "Cord over the mouth", "cut and fluffy", "Webbing that leaves the tube over its edge. Bad: an edge is cut in, threads stand out where it bends."),
    "loop": (_loop, "A sewn loop", "stitches gone", "A loop of webbing round a ring, sewn in zigzag. Bad: only the first stitches are left, the loop is fluffy at the ring."),
    "link": (_link, "A screw link", "bent and open", "A screw link, its nut closed. Bad: it is bent, its nut has turned back, the gap is open, a groove is worn into it."),
    "swivel": (_swivel, "A swivel", "pin bent, gritty", "Two eyes that turn on a pin. Bad: the pin is bent, the halves stand apart, there is grit between them."),
    "eye": (_eye, "An eye bolt in its wall", "open, nut is off", "An eye bolt through a wall with washer and nut. Bad: the eye is bent open, the nut stands off, the washer is drawn into the wall, which is cracked."),
    "protector": (_protector, "A blanket", "burnt through", "A blanket on its tether. Bad: a ragged hole with a dark rim, cracks run from it."),
    "pin": (_pin, "A shear pin in its hole", "hole worn, cracked", "A pin that fills its hole close to the mouth. Bad: the hole is drawn out, the pin is loose in it, a crack runs to the mouth."),
    "well": (_well, "A charge well in section", "cracked, not clean", "A cup on its bulkhead. Bad: a crack down its wall, residue on its floor, its foot is loose."),
    "wire": (_wire, "Wires in a terminal", "strands bridge over", "Two wires in a terminal. Bad: one has come out, its strands are splayed and one reaches the other pole."),
    "battery": (_battery, "A battery under its strap", "swollen, strap off", "A battery held by a strap. Bad: it bulges on all sides, is cracked and leaks, and the strap is gone."),
    "slit": (_slit, "The mouth of a tube", "slit from the rim", "The mouth of a tube. Bad: a slit runs down from its rim and on as a crack."),
    "bulkhead": (_bulkhead, "A bulkhead from above", "cracked, glue gone", "A bulkhead with its eye, glued into the tube. Bad: a crack runs across it, the glue is gone along one side."),
    "crease": (_crease, "A tube along its length", "kinked and soft", "A tube from the side. Bad: it is kinked in the middle, with a soft dull place beside that."),
    "release": (_release, "A release device", "pin worn, loop too", "A device whose pin holds a loop of cord. Bad: the pin is grooved, the loop is fluffy, the body is cracked."),
}  # fmt: skip
PICTURES = tuple(_DRAWN)


def worn(name: str) -> Drawing:
    """Sound at the left, bad at the right. Raises KeyError for a picture that there is not."""
    draw, title, bad, description = _DRAWN[name]
    paper = Paper(_LOW + 24)
    paper.put(*draw(0.0, False), *draw(_HALF, True))
    paper.rule("dim", (WIDTH / 2, 8), (WIDTH / 2, _LOW))
    paper.words((_HALF / 2, _LOW + 18), "sound")
    paper.words((1.5 * _HALF, _LOW + 18), bad, "middle", "text strong")
    return paper.drawing(title, description)


def laid_out() -> Drawing:
    """All of it as it lies on a table to be looked over, every part by the logbook's name for it."""
    paper = Paper(226)
    paper.put(rectangle("airframe", (150, 160), 160, 36), traced("shoulder", "M270 160l36 -22v22zM270 196l36 22v-22z"))
    paper.put(traced("nose", "M16 178Q36 161 88 161V195Q36 195 16 178Z"), rectangle("shoulder", (88, 164), 16, 28))
    paper.put(rectangle("slit", (198, 161), 4, 34), rectangle("device", (206, 165), 44, 26), traced("cord", "M64 140Q66 152 90 150H112Q128 150 128 164V178M104 178H198"), rectangle("protector", (180, 163), 12, 30))
    paper.put(traced("line close", "".join(f"M64 128L{x} 62" for x in (16, 40, 64, 88, 112))))
    paper.put(_cloth("M14 62Q14 14 64 14Q114 14 114 62Z"), _stitched("M40 62Q44 26 64 14M88 62Q84 26 64 14M64 62V14"))
    paper.put(joined((traced("hem", "M14 62H114"), traced("hem-stitch", "M14 62H114"))), circle("link", 64, 134, 6), circle("knot", 200, 178, 4))
    paper.words((124, 40), "canopy", "start")
    paper.words((104, 96), "lines", "start")
    paper.words((78, 134), "links and anchors", "start")
    paper.words((46, 154), "cord", "end")
    paper.rule("dim", (48, 150), (62, 144))
    paper.words((128, 218), "joint")
    paper.rule("dim", (128, 206), (128, 184))
    paper.words((188, 154), "protector")
    paper.words((218, 214), "electronics")
    paper.rule("dim", (226, 202), (226, 186))
    paper.words((316, 132), "airframe", "end")
    return paper.drawing("Laid out to be looked over", "Canopy, lines, link, cord, nose with its shoulder, tube with protector, bulkhead and electronics, each by its name.")
