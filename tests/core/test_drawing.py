"""Markup is written once and safely, and the pictures of bays, cords, landings and joints show what they are told.

Pictures are read back from their text; sizes in it are compared with the metres they were made from.
"""

import random
import re
from dataclasses import replace
from html import unescape
from html.parser import HTMLParser
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

import pytest
import segno
from hypothesis import given
from hypothesis import strategies as st

from loftbook.calculators import CALCULATORS, folding
from loftbook.drawing import closeups
from loftbook.drawing.bays import Ends, Run, Sight, bay_filling, bays_abreast, packed_bay
from loftbook.drawing.chart import Line, chart
from loftbook.drawing.folds import fold_step
from loftbook.drawing.hanging import Hung, Leg, Opened, hanging
from loftbook.drawing.joints import Force, Joined, When, joint_section
from loftbook.drawing.maps import Landing, Walk, landing_map, round_length
from loftbook.drawing.markup import LEAVES, VOID, Markup, element, escape, joined
from loftbook.drawing.qr import QUIET, qr_code
from loftbook.drawing.svg import TEXT, WIDTH, Drawing
from loftbook.physics.folding import levelled, shortened
from loftbook.physics.packing import Item, Stack, stack
from loftbook.physics.scatter import Ground, cells, levels
from loftbook.rig.bay_fields import SHAPED
from loftbook.rig.parsing import parse
from loftbook.rig.ways import WAYS
from loftbook.worked.worked import Worked

SVG = "{http://www.w3.org/2000/svg}"
TUBE = 0.098


SIDES = range(4, 33)
FOLD_NAMES = {"annular": "rim", "cross": "middle"}


def words(metres: float) -> str:
    return f"{metres * 1000:.0f} mm"


def shapes(drawing: Drawing, tag: str, class_: str) -> list[Element]:
    """Shapes of a kind with a class among theirs, in drawing order."""
    found = ElementTree.fromstring(drawing.svg).iter(f"{SVG}{tag}")
    return [shape for shape in found if class_ in shape.attrib["class"].split()]


def texts(drawing: Drawing) -> list[str]:
    return [text.text or "" for text in ElementTree.fromstring(drawing.svg).iter(f"{SVG}text")]


def of(shape: Element, *names: str) -> tuple[float, ...]:
    return tuple(float(shape.attrib[name]) for name in names)


# --- markup -------------------------------------------------------------------------------------------

# Characters that XML can hold; others never pass a rig's reader.
any_text = st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs"), exclude_characters="￾￿"), max_size=40)


class _Read(HTMLParser):
    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []
        self.said = ""
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += attrs

    def handle_data(self, data: str) -> None:
        self.said += data


@given(said=any_text, value=any_text)
def test_text_and_attributes_come_back_as_they_were(said: str, value: str) -> None:
    made = element("p", said, element("b", said), title=value)
    read = _Read(made)
    assert read.tags == ["p", "b"]
    assert read.attributes == [("title", value)]
    assert read.said == said * 2
    tree = ElementTree.fromstring(made)
    assert "".join(tree.itertext()) == said * 2
    assert tree.attrib == {"title": value}


@given(st.lists(any_text, max_size=5))
def test_joining_escapes_each_piece_once(pieces: list[str]) -> None:
    whole = joined(pieces)
    assert unescape(whole) == "".join(pieces) or "&" in "".join(pieces)
    assert whole == "".join(map(escape, pieces))
    assert joined([whole]) == whole


def test_only_the_builder_makes_markup() -> None:
    """What is added to markup or formatted from it is plain text again, and is escaped when it is used."""
    bold = element("b", "x")
    for touched in (bold + "<i>", f"{bold}", bold.upper(), "<i>" + bold, bold[:3], "".join([bold])):
        assert not isinstance(touched, Markup)
        assert "<" not in element("p", touched)[3:-4]
    assert element("p", bold) == "<p><b>x</b></p>"
    assert element("p", title=bold) == '<p title="&lt;b&gt;x&lt;/b&gt;"></p>'


def test_names_of_attributes() -> None:
    made = element("label", "x", class_="a", for_="b", data_a_b="c", viewBox="d", aria_label=None)
    assert made == '<label class="a" for="b" data-a-b="c" viewBox="d">x</label>'


def test_empty_elements() -> None:
    assert [element(tag) for tag in sorted(VOID)] == [f"<{tag}>" for tag in sorted(VOID)]
    assert [element(tag) for tag in sorted(LEAVES)] == [f"<{tag}/>" for tag in sorted(LEAVES)]
    assert element("p", None, "", None) == "<p></p>"
    assert element("line", element("title", "x")) == "<line><title>x</title></line>"
    with pytest.raises(ValueError, match="input"):
        element("input", "x")


# --- the packed bay -----------------------------------------------------------------------------------


def two_canopies(device: bool = True) -> Stack:
    items = [
        Item("protector", "blanket", 0.04),
        Item("cord", "cord, first part", 0.05, "main"),
        Item("bundle", "bundle of the main", 0.2, "main"),
        Item("lines", "lines of the main", 0.04, "main"),
        *([Item("device", "release device", 0.03)] if device else []),  # type: ignore[arg-type]
        Item("bundle", "bundle of the drogue", 0.08),
        Item("lines", "lines of the drogue", 0.02),
        Item("shoulder", "shoulder", 0.098),
    ]
    return stack(items, 0.7)


def bay(made: Stack, bright: int | None = None, beside: float = 0.0) -> Drawing:
    if bright is None:
        return packed_bay(made, TUBE, beside, (words, words), "Told.")
    count = len(made.layers)
    near = closeups.cord_below("ring", "", False, "zigzags, no coils", "below the bundle")
    runs = tuple(Run(owner, False, True, True, "link" if owner == "main" else "") for owner in dict.fromkeys(one.item.owner for one in made.layers if one.item.kind == "cord"))
    return bay_filling(made, TUBE, beside, (words, words), Ends("tail", "below", runs, True), (near,) * count, ("Told.",) * count)[bright]


def tube_wall(drawing: Drawing) -> list[list[float]]:
    """Corners of the tube's wall: left mouth, left foot, right foot, right mouth."""
    (wall,) = shapes(drawing, "polyline", "tube-wall")
    return [[float(part) for part in spot.split(",")] for spot in wall.attrib["points"].split()]


def test_everything_in_a_bay_is_drawn_to_scale() -> None:
    made = two_canopies()
    drawing = bay(made)
    (_, mouth), (_, foot), *_ = tube_wall(drawing)
    scale = (foot - mouth) / made.bay
    for lying in made.layers:
        boxes = [of(box, "y", "height", "width") for box in shapes(drawing, "rect", lying.item.kind)]
        expected = (foot - lying.top * scale, lying.item.height * scale, TUBE * scale)
        assert any(box == pytest.approx(expected, abs=0.03) for box in boxes), lying.item.name
        assert lying.item.name in texts(drawing)
        assert words(lying.item.height) in texts(drawing)
    (spare,) = shapes(drawing, "rect", "spare")
    assert of(spare, "height")[0] == pytest.approx(made.spare * scale, abs=0.03)


def test_the_depth_told_is_that_of_the_topmost_bundle() -> None:
    made = two_canopies()
    top = next(lying.top for lying in made.layers if lying.item.name == "bundle of the drogue")
    assert words(made.bay - top) in texts(bay(made))


@pytest.mark.parametrize("bright", range(8))
def test_a_step_shows_and_names_what_went_in_last_and_the_rest_pale(bright: int) -> None:
    made = two_canopies()
    drawing = bay(made, bright)
    boxes = [box for kind in {lying.item.kind for lying in made.layers} for box in shapes(drawing, "rect", kind)]
    (under,) = [group for group in ElementTree.fromstring(drawing.svg) if group.attrib.get("class") == "pale"]
    pale = [box.attrib["class"] for box in under]
    assert pale == [lying.item.kind for lying in made.layers[:bright]]
    assert sorted(box.attrib["class"] for box in boxes) == sorted([*pale, made.layers[bright].item.kind])
    said = texts(drawing)
    last = made.layers[bright]
    assert {lying.item.name for lying in made.layers} & set(said) == {last.item.name}
    assert words(last.item.height) in said
    if last.item.kind != "shoulder":
        assert words(made.bay - last.top) in said
    assert ("left empty" in said) == (bright == len(made.layers) - 1)


@pytest.mark.parametrize("bright", range(8))
def test_a_step_shows_how_it_is_done_beside_the_bay_and_clear_of_its_words(bright: int) -> None:
    """Its words are told apart from the bay's by standing under the close-up, which no word of the bay lies on."""
    drawing = bay(two_canopies(), bright)
    (near,) = [group for group in ElementTree.fromstring(drawing.svg) if group.attrib.get("class") == "closeup"]
    left, top = map(float, re.findall(r"[\d.]+", near.attrib["transform"]))
    right, low = left + closeups.BROAD, top + closeups.HIGH
    _, _, wide, high = map(float, ElementTree.fromstring(drawing.svg).attrib["viewBox"].split())
    assert left > max(spot[0] for spot in tube_wall(drawing))
    assert right <= wide
    assert low + TEXT <= high
    for text in ElementTree.fromstring(drawing.svg).iter(f"{SVG}text"):
        x, y, size = float(text.attrib["x"]), float(text.attrib["y"]), 0.6 * TEXT * len(text.text or "")
        start = {"start": x, "middle": x - size / 2, "end": x - size}[text.attrib.get("text-anchor", "start")]
        assert start >= right or start + size <= left or y - 0.8 * TEXT >= low or y + 0.25 * TEXT <= top, text.text


def close_ups() -> dict[str, closeups.CloseUp]:
    return {
        **{f"cord from {start}, {cover}, {charge}": closeups.cord_below(start, cover, charge, "said", "also") for start, cover, charge in BELOW},
        **{f"cord to {end}, {two}": closeups.cord_above(end, two, "said", "also") for end in ("link", "leg", "along", "free") for two in (True, False)},
        "lines": closeups.loose_lines(1, "said", "also"),
        "lines, two cords": closeups.loose_lines(2, "said", "also"),
        "device": closeups.held_shut(1, "said", "also"),
        "nose": closeups.closing(True, True, True, False, "said", "also"),
        "tube with a charge": closeups.closing(False, True, False, True, "said", "also"),
        **{
            f"{name}, charge {where}, {cords}": make(where == "above", where == "below", cords, "said", "also")
            for name, make in PROTECTED.items()
            for where in ("above", "below")
            for cords in (1, 2)
        },
        **{f"{turns} turns, {cords}": closeups.sliding_bundle(turns, False, False, True, cords, "said", "also") for turns in range(5) for cords in (1, 2)},
        "in a bag": closeups.sliding_bundle(0, True, False, False, 1, "said", "also"),
        "in a bag, charge above": closeups.sliding_bundle(0, True, False, True, 1, "said", "also"),
        "into a sleeve": closeups.sliding_bundle(0, False, True, False, 1, "said", "also"),
    }


BELOW: tuple[tuple[closeups.Start, closeups.Cover, bool], ...] = (
    ("ring", "", False), ("ring", "threaded", True), ("ring", "beside", True), ("beneath", "", False), ("mouth", "", False),
)  # fmt: skip
PROTECTED = {"blanket": closeups.blanket, "wadding": closeups.wadding, "pocket": closeups.pocket}


@pytest.mark.parametrize("name", close_ups())
def test_a_close_up_stays_in_its_box_and_shows_hands_and_where_they_go(name: str) -> None:
    """Numbers in paths that are absolute lie in the box; every one has finger tips and one straight arrow."""
    made = close_ups()[name].shapes
    tree = ElementTree.fromstring(f"<g>{made}</g>")
    assert [path.attrib["class"] for path in tree].count("hold") == 1
    arrows = [path.attrib["d"] for path in tree if path.attrib["class"] == "carry"]
    assert len(arrows) == 1
    assert not re.search("[AaCcQq]", arrows[0]), "a straight arrow"
    for path in tree.iter("path"):
        for x, y in re.findall(r"[MLQ](-?[\d.]+) (-?[\d.]+)", path.attrib["d"]):
            assert -1 <= float(x) <= closeups.BROAD + 1, path.attrib
            assert -1 <= float(y) <= closeups.HIGH + 1, path.attrib
    for box in tree.iter("rect"):
        assert float(box.attrib["x"]) >= 0
        assert float(box.attrib["y"]) + float(box.attrib["height"]) <= closeups.HIGH


def test_no_close_up_is_the_same_as_another() -> None:
    assert len({made.shapes for made in close_ups().values()}) == len(close_ups())


@pytest.mark.parametrize("turns", [0, 1, 2, 3, 4, 5, 20])
def test_turns_leave_the_top_and_return_to_it_four_at_the_most_and_none_leaves_the_picture(turns: int) -> None:
    tree = ElementTree.fromstring(f"<g>{closeups.sliding_bundle(turns, False, False, True, 1, 'said', 'also').shapes}</g>")
    (lines,) = [path.attrib["d"] for path in tree if path.attrib["class"] == "line"]
    (box,) = [rect for rect in tree.iter("rect") if rect.attrib["class"] == "bundle"]
    left, top, wide, high = of(box, "x", "y", "width", "height")
    spots = [(float(x), float(y)) for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", lines)]
    assert all(0 <= x <= closeups.BROAD and 0 <= y <= top + high for x, y in spots)
    strands = lines.count(f" {top:.0f}V")
    rounds = sum(x < left for x, _ in spots)
    assert strands == (2 if turns else 0)
    assert rounds == strands * min(turns, 4)  # each time round comes out again at the left
    assert sum(x > left + wide for x, _ in spots) == rounds
    if turns:
        assert lines.count(f"V{top:.0f}V2") == strands, "and goes on to the mouth"


@pytest.mark.parametrize("lines", [4, 6, 8, 12])
def test_lines_are_drawn_to_the_link_each_with_its_tab(lines: int) -> None:
    drawing = closeups.lines_on_link(lines, True, "", "Told.")
    drawn = shapes(drawing, "line", "line")
    assert len(drawn) == min(lines, 8)
    assert {of(one, "x2", "y2") for one in drawn} == {(178.0, 75.0)}
    (tabs,) = shapes(drawing, "path", "tab")
    assert tabs.attrib["d"].count("M") == len(drawn)
    assert {"line 1", f"line {lines}", "swivel"} <= set(texts(drawing))
    assert "swivel" not in texts(closeups.lines_on_link(lines, False, "", "Told."))


@pytest.mark.parametrize("pins", [1, 2, 3, 4, 5, 6, 8])
def test_both_views_of_a_joint_show_the_same_pins(pins: int) -> None:
    """Round the tube each has its stroke; seen from below that picture each stands at its share of the radius, near or far."""
    drawing = closeups.pins_through(pins, "tail", "nose", "said", "", "Told.")
    (heads,) = shapes(drawing, "path", "pin-line")
    ends = [(float(x) - 238, float(y) - 102) for x, y in re.findall(r"M([\d.]+) ([\d.]+)", heads.attrib["d"])]
    assert len(ends) == pins
    assert [sum(one[i] for one in ends) / pins for i in (0, 1)] == pytest.approx([0 if pins > 1 else -48, 0], abs=0.1)
    near = sorted(of(one, "cx")[0] for one in shapes(drawing, "circle", "pin"))
    far = sorted(of(one, "cx")[0] for one in shapes(drawing, "circle", "pin-far"))
    assert near == pytest.approx(sorted(84 + 50 * x / 48 for x, y in ends if y > 0.01), abs=0.05)
    assert far == pytest.approx(sorted(84 + 50 * x / 48 for x, y in ends if y < -0.01), abs=0.05)
    edges = sum(abs(y) < 0.01 for _, y in ends)
    assert sum(of(box, "height") == (12,) for box in shapes(drawing, "rect", "pin")) == edges
    assert len(near) + len(far) + edges == pins


def test_steps_of_a_bay_have_one_scale() -> None:
    made = two_canopies()
    walls = {tube_wall(bay(made, i))[1][1] for i in range(len(made.layers))}
    assert len(walls) == 1


def test_a_bay_without_a_canopy() -> None:
    drawing = bay(stack([Item("cord", "cord", 0.1, "drogue"), Item("shoulder", "coupler", 0.098)], 0.3))
    assert shapes(drawing, "rect", "bundle") == []
    assert not any("mouth to" in said for said in texts(drawing))
    assert len(shapes(drawing, "rect", "shoulder")) == 1


def test_a_bay_with_too_much_names_its_mouth() -> None:
    made = stack([Item("bundle", "bundle", 0.4), Item("shoulder", "shoulder", 0.1)], 0.45)
    assert made.spare < 0
    assert "mouth of the tube" in texts(bay(made))
    assert shapes(bay(made), "rect", "spare") == []


def test_a_post_narrows_the_bay() -> None:
    narrow, wide = (shapes(bay(two_canopies(), beside=b), "rect", "bundle")[0] for b in (0.03, 0.0))
    assert of(narrow, "width")[0] == pytest.approx(of(wide, "width")[0] * (TUBE - 0.03) / TUBE, abs=0.03)


# --- hanging ------------------------------------------------------------------------------------------

NOSE = Hung("nose", 0.3, 0.8, 0.1, "nose", aside=True)
MIDDLE = Hung("middle section", 6, 6.9, 0.1, "airframe")
AFT = Hung("aft part", 14, 15.5, 0.1, "airframe")
LEGS = (Leg(0, 6), Leg(0, 0.3, aside=True), Leg(6.9, 14))
MAIN, DROGUE = Opened(0, 2.2, 1.6, "main"), Opened(9, 0.9, 0.5, "drogue")


def hung(apart: tuple[Hung, Hung] | None = (NOSE, MIDDLE), *canopies: Opened) -> Drawing:
    return hanging((NOSE, MIDDLE, AFT), canopies or (MAIN, DROGUE), LEGS, apart, words, "Told.")


def test_depths_are_to_scale() -> None:
    drawing = hung()
    dots = sorted(of(dot, "cy")[0] for dot in shapes(drawing, "circle", "corner"))
    attachment, deeper = dots
    scale = (deeper - attachment) / DROGUE.depth
    boxes = [of(box, "y", "height") for box in shapes(drawing, "rect", "airframe")]
    for part, (top, height) in zip((MIDDLE, AFT), boxes, strict=True):
        assert (top - attachment, height) == pytest.approx((part.top * scale, (part.bottom - part.top) * scale), abs=0.05)
    (nose,) = shapes(drawing, "polygon", "nose")
    levels = [float(corner.split(",")[1]) - attachment for corner in nose.attrib["points"].split()]
    assert levels == pytest.approx([NOSE.top * scale, NOSE.top * scale, NOSE.bottom * scale], abs=0.05)
    legs = [tuple(y - attachment for y in of(leg, "y1", "y2")) for leg in shapes(drawing, "line", "cord")]
    assert legs == [pytest.approx((leg.top * scale, leg.bottom * scale), abs=0.05) for leg in LEGS]


def test_each_canopy_hangs_from_its_own_attachment() -> None:
    drawing = hung()
    cloths = shapes(drawing, "polygon", "cloth")
    ends = {of(line, "x2", "y2") for line in shapes(drawing, "line", "line")}
    assert len(cloths) == 2
    assert ends == {of(dot, "cx", "cy") for dot in shapes(drawing, "circle", "corner")}
    widths = []
    for cloth in cloths:
        across = [float(corner.split(",")[0]) for corner in cloth.attrib["points"].split()]
        widths.append(max(across) - min(across))
    assert widths[0] / widths[1] == pytest.approx(MAIN.width / DROGUE.width, rel=0.02)
    cord = of(shapes(drawing, "line", "cord")[0], "x1")[0]
    assert max(float(corner.split(",")[0]) for corner in cloths[1].attrib["points"].split()) < cord
    assert {"main", "drogue"} <= set(texts(drawing))


def test_one_canopy_is_not_named() -> None:
    assert "main" not in texts(hung((NOSE, MIDDLE), MAIN))


def test_the_distance_between_the_named_parts_is_told() -> None:
    assert words(MIDDLE.top - NOSE.bottom) in texts(hung())
    assert words(AFT.top - NOSE.bottom) in texts(hung((NOSE, AFT)))
    low = Hung("nose", 5.9, 6.2, 0.1, "nose", aside=True)
    drawing = hanging((low, MIDDLE), (MAIN,), LEGS, (low, MIDDLE), words, "Told.")
    assert "overlap 200 mm" in texts(drawing)
    assert not any(said.startswith("clear") for said in texts(drawing))
    assert not {"clear by", "overlap"} & set(texts(hung(None)))


# --- landings, joints, charts, codes ------------------------------------------------------------------


FIELD, SIDE = Ground(450, 450, 450, 450), 20.0


def landed(*middles: float, wind: tuple[float, float] = (4.0, 0.0)) -> Drawing:
    draw = random.Random(1)
    made = []
    for i, x in enumerate(middles, 1):
        spots = [(draw.gauss(x, 40), draw.gauss(0, 25)) for _ in range(500)]
        parted = levels(cells(spots, SIDE))
        made.append(Landing(f"part {i}", parted, Walk((x, 0), "likeliest 999 m, 20 min"), Walk((x + 60, 0), "9 in 10 within 1234 m, 20 min")))
    return landing_map(made, SIDE, FIELD, (wind, "wind 4 m/s"), words, 1.0, "Told.")


def squares(drawing: Drawing, class_: str) -> list[tuple[float, float, float]]:
    """Left, top and side of every cell that has a class among its own and lies in the map."""
    ways = [path.attrib["d"] for path in shapes(drawing, "path", class_)]
    return [(float(x), float(y), float(side)) for way in ways for x, y, side in re.findall(r"M([\d.]+) ([\d.]+)h([\d.]+)", way)]


def scale_of(drawing: Drawing) -> float:
    field = shapes(drawing, "polygon", "field")[0].attrib["points"].split()
    return (float(field[1].split(",")[0]) - float(field[0].split(",")[0])) / (FIELD.west + FIELD.east)


def test_each_part_has_its_own_landings_shaded_by_share() -> None:
    drawing = landed(150, 430)
    scale, pad = scale_of(drawing), of(shapes(drawing, "circle", "pad")[0], "cx")[0]
    second = {cell for cell in squares(drawing, "share") if cell in squares(drawing, "second")}
    first = set(squares(drawing, "share")) - second
    for cells_, middle, side in ((first, 150, SIDE), (second, 430, SIDE * 0.56)):
        assert [cell[2] for cell in cells_] == pytest.approx([side * scale] * len(cells_), abs=0.02)
        mean = sum(x + long / 2 for x, _, long in cells_) / len(cells_)
        assert (mean - pad) / scale == pytest.approx(middle, abs=20)
    assert {"part 1", "part 2"} <= set(texts(drawing))
    for path in shapes(drawing, "path", "outside"):
        lefts = [float(x) for x in re.findall(r"M([\d.]+) ", path.attrib["d"])]
        assert all((left - pad) / scale > FIELD.east - SIDE for left in lefts)
    assert shapes(drawing, "path", "outside")


@pytest.mark.parametrize("wind", [(4.0, 0.0), (0.0, -3.0), (-2.0, 2.0)])
def test_the_walks_begin_at_the_pad_and_the_wind_blows_its_way(wind: tuple[float, float]) -> None:
    drawing = landed(150, wind=wind)
    pad, scale = of(shapes(drawing, "circle", "pad")[0], "cx", "cy"), scale_of(drawing)
    for name, mark, far in (("path", "likely", 150), ("path-edge", "far", 210)):
        walk = shapes(drawing, "line", name)[0]
        assert of(walk, "x1", "y1") == pad
        assert (of(walk, "x2")[0] - pad[0]) / scale == pytest.approx(far, abs=0.1)
        assert of(shapes(drawing, "circle", mark)[0], "cx", "cy") == of(walk, "x2", "y2")
    (arrow,) = shapes(drawing, "path", "wind")
    (x0, y0), (x1, y1), *_ = [tuple(map(float, spot)) for spot in re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", arrow.attrib["d"])]
    assert ((x1 - x0) * wind[0] - (y1 - y0) * wind[1]) == pytest.approx(26 * (wind[0] ** 2 + wind[1] ** 2) ** 0.5, rel=0.01)
    (north,) = shapes(drawing, "path", "north")
    assert re.match(r"M308 33L308 7", north.attrib["d"])


def test_without_wind_there_is_no_arrow_of_it() -> None:
    assert shapes(landed(0, wind=(0.0, 0.0)), "path", "wind") == []


def test_one_part_is_not_named() -> None:
    drawing = landed(150)
    assert "part 1" not in texts(drawing)
    assert shapes(drawing, "path", "second") == []
    assert {"half", "9 in 10", "all"} <= set(texts(drawing))


@given(st.floats(0.002, 1e6))
def test_round_lengths_are_round_and_not_too_long(value: float) -> None:
    made = round_length(value)
    assert made <= value < 2.51 * made
    assert re.fullmatch(r"[125]\.0*e[+-]\d+", f"{made:.3e}")


JOINT = Joined(0.102, 0.098, 0.098, 4, 0.003)
ACTING = (
    When("before", (Force("friction", "30 N", 30, "holds"), Force("3 pins, weakest", "283 N", 283, "holds"), Force("runs on", "70 N", 70, "pulls"))),
    When("then", (Force("resists at most", "494 N", 494, "holds"), Force("gas pushes", "741 N", 741, "pushes"))),
)  # fmt: skip


@pytest.mark.parametrize(("pins", "met", "said"), [(0, 0, "no pins"), (1, 1, "1 pin, 3 mm"), (2, 2, "2 pins, 3 mm"), (4, 2, "4 pins, 3 mm")])  # fmt: skip
def test_the_cut_through_a_joint_meets_at_most_two_pins(pins: int, met: int, said: str) -> None:
    drawing = joint_section(replace(JOINT, pins=pins), ACTING, words, "Told.")
    assert len(shapes(drawing, "rect", "pin")) == met
    assert said in texts(drawing)
    (shoulder,) = shapes(drawing, "rect", "shoulder")
    assert of(shoulder, "width")[0] == pytest.approx(of(shoulder, "height")[0], abs=0.02)
    walls = [of(wall, "y", "height") for wall in shapes(drawing, "rect", "airframe")]
    for pin in shapes(drawing, "rect", "pin"):  # through a wall of the tube and into the shoulder
        top, high = of(pin, "y", "height")
        assert any(top <= y + 0.02 and y + deep <= top + high + 0.02 for y, deep in walls)
        inside = min(top + high, sum(of(shoulder, "y", "height"))) - max(top, of(shoulder, "y")[0])
        assert inside > 3


def arrows(drawing: Drawing) -> list[tuple[str, float]]:
    """Every force: how it acts, and how far its tip lies right of the seam in picture units."""
    made = []
    for arrow in shapes(drawing, "polygon", "force"):
        spots = [float(spot.split(",")[0]) for spot in arrow.attrib["points"].split()]
        made.append((arrow.attrib["class"].split()[1], spots[3] - WIDTH / 2))
    return made


def test_all_forces_at_a_joint_are_drawn_to_one_scale_and_to_their_side() -> None:
    drawing = joint_section(JOINT, ACTING, words, "Told.")
    forces = [force for when in ACTING for force in when.forces]
    scale = max(abs(long) for _, long in arrows(drawing)) / 741
    assert [acts for acts, _ in arrows(drawing)] == [force.acts for force in forces]
    for (acts, long), force in zip(arrows(drawing), forces, strict=True):
        assert abs(long) == pytest.approx(force.newtons * scale, abs=0.02)
        assert (long < 0) == (acts == "holds")
        assert {force.name, force.size} <= set(texts(drawing))


def test_a_joint_at_which_nothing_acts_is_drawn_all_the_same() -> None:
    drawing = joint_section(JOINT, (When("before", (Force("friction", "0 N", 0, "holds"),)),), words, "Told.")
    assert arrows(drawing) == [("holds", 0)]


def test_a_chart_goes_through_its_points() -> None:
    line = Line("force", [(0, 0), (1, 10), (2, 5)])
    drawing = chart("A chart", "Told.", "time", "force", [line], str, str, told=[(0, "a <b>"), (1, "b"), (2, "c")])
    (drawn,) = shapes(drawing, "polyline", "line-1")
    (x0, y0), (x1, y1), (x2, y2) = (map(float, spot.split(",")) for spot in drawn.attrib["points"].split())
    assert (x2 - x0) == pytest.approx(2 * (x1 - x0), abs=0.02)
    assert (y0 - y2) == pytest.approx((y0 - y1) / 2, abs=0.02)
    bands = shapes(drawing, "rect", "chart-band")
    assert [band.attrib["data-told"] for band in bands] == ["a <b>", "b", "c"]
    assert sum(of(band, "width")[0] for band in bands) == pytest.approx(x2 - x0, abs=0.03)


def test_a_code_is_dark_where_the_symbol_is() -> None:
    drawing = qr_code("https://example.org/#x", "a link")
    rows = [list(row) for row in segno.make_qr("https://example.org/#x", error="l", boost_error=True).matrix]
    (path,) = [e.attrib["d"] for e in ElementTree.fromstring(drawing.svg).iter(f"{SVG}path")]
    painted = [[0] * len(rows) for _ in rows]
    for x, y, run in re.findall(r"M(\d+) (\d+)h(\d+)v1h-\d+z", path):
        for column in range(int(x), int(x) + int(run)):
            painted[int(y) - QUIET][column - QUIET] += 1
    assert painted == rows


DRAWINGS = {
    "bay": bay(two_canopies()),
    "bay of steps": bay(two_canopies(), 5, 0.02),
    "hanging": hung(),
    "one canopy": hung((NOSE, MIDDLE), MAIN),
    "lines on the link": closeups.lines_on_link(12, True, "blanket", "Told."),
    "anchor inside": closeups.anchored(True, True, "its own eye, bolt or loop", "blanket", "Told."),
    "anchor on a part": closeups.anchored(False, False, "the forward part", "blanket", "Told."),
    **{
        f"tied in, {layout}, {pointed}, {end}, {leg}": closeups.tied_in(
            closeups.Tied(layout, "middle section", "middle section", pointed, "33 ft 11.5 in", "23 ft 7.5 in", end, not end, "blanket", leg), "Told."
        )
        for layout in (0, 1, 2) for pointed in (True, False) for end in ("", "end of the cord") for leg in (True, False)
    },
    **{
        f"charge, {above}, {backup}, {switched}, {first}": closeups.charge_in(
            closeups.Loaded(above, first, backup, switched, "middle section", "middle section", False, "blanket", True, 2), "Told."
        )
        for above in (True, False) for backup in (True, False) for switched in (True, False) for first in ("gas, not pierced", "charge")
    },
    "tried": closeups.tried("main bay", "first bay and main bay", True, "Told."),
    "pins": closeups.pins_through(4, "middle section", "middle section", "4 pins", "nobody in line", "Told."),
    "two landings": landed(150, 430),
    "joint": joint_section(JOINT, ACTING, words, "Told."),
}


@pytest.mark.parametrize("name", DRAWINGS)
def test_words_are_inside_and_clear_of_each_other(name: str) -> None:
    words_have_room(DRAWINGS[name])


def words_have_room(drawing: Drawing) -> None:
    root = ElementTree.fromstring(drawing.svg)
    _, _, wide, high = map(float, root.attrib["viewBox"].split())
    assert wide == WIDTH
    boxes = []
    for text in root.iter(f"{SVG}text"):
        x, y, size = float(text.attrib["x"]), float(text.attrib["y"]), 0.6 * TEXT * len(text.text or "")
        left = {"start": x, "middle": x - size / 2, "end": x - size}[text.attrib.get("text-anchor", "start")]
        assert left >= -0.5, text.text
        assert left + size <= wide + 0.5, text.text
        assert y <= high, text.text
        boxes.append((left, y - 0.8 * TEXT, left + size, y + 0.25 * TEXT, text.text))
    for i, a in enumerate(boxes):
        for b in boxes[i + 1 :]:
            shared = max(0, min(a[2], b[2]) - max(a[0], b[0])) * max(0, min(a[3], b[3]) - max(a[1], b[1]))
            assert shared < 0.34 * min((c[2] - c[0]) * (c[3] - c[1]) for c in (a, b)), (a[4], b[4])


@pytest.mark.parametrize("name", ["bay", "bay of steps"])
def test_words_of_a_bay_do_not_lie_on_it(name: str) -> None:
    root = ElementTree.fromstring(DRAWINGS[name].svg)
    left, *_, right = (spot[0] for spot in tube_wall(DRAWINGS[name]))
    foot = tube_wall(DRAWINGS[name])[1][1]
    for text in root.iter(f"{SVG}text"):
        if float(text.attrib["y"]) - 0.8 * TEXT >= foot:  # the name of the tube stands under it
            continue
        x, size = float(text.attrib["x"]), 0.6 * TEXT * len(text.text or "")
        anchor = text.attrib.get("text-anchor", "start")
        starts = x if anchor == "start" else x - size / 2
        assert x <= left if anchor == "end" else starts >= right, (text.text, size)


@pytest.mark.parametrize("name", DRAWINGS)
def test_a_picture_is_the_same_text_alone_and_in_a_page(name: str) -> None:
    drawing = DRAWINGS[name]
    assert isinstance(drawing.svg, Markup)
    assert element("figure", drawing.svg) == f"<figure>{drawing.svg}</figure>"
    assert 'xmlns="http://www.w3.org/2000/svg"' in drawing.svg


def test_of_two_bundles_in_a_bay_the_nearer_one_is_told_beside_the_picture() -> None:
    """What is too near the mouth is the upper one; both pictures of a bay tell of the same."""
    made = two_canopies()
    upper = [lying for lying in made.layers if lying.item.kind == "bundle"][-1]
    drawing = bays_abreast((Sight("", made, TUBE, 0.0),), words, "Told.")
    assert f"{words(made.bay - upper.top)} to bundle" in drawing.svg


# --- folds --------------------------------------------------------------------------------------------

SHORTENED = ("back and forth", "in half, and again")


def fold_pictures(key: str = "main", **texts: str) -> dict[str, Drawing]:
    """The picture of each folding step, by its anchor, and that of the bundle; a path's dots are written as two underscores."""
    answer = CALCULATORS["folding"].answer(Worked(parse({path.replace("__", "."): text for path, text in texts.items()})), key)
    made = {step.anchor: step.drawing for step in answer.steps if step.anchor.startswith(f"{key}-fold-")}
    bare = [anchor for anchor, drawing in made.items() if drawing is None]
    assert made, texts
    assert not bare, (texts, bare)
    return {"bundle": answer.drawings[0]} | {anchor: drawing for anchor, drawing in made.items() if drawing}


def tells_all(drawing: Drawing, family: str, anchor: str) -> None:
    """Cloth, hem, middle, which side is up, lines from the skirt to the link, each group's tab, and nothing that is not there."""
    said = texts(drawing)
    root = ElementTree.fromstring(drawing.svg)
    pictures = 2 if {"Before", "After"} <= {words.partition(":")[0] for words in said} else 1
    views = sum("from the side" in words.casefold() for words in said)
    turned = sum(words.startswith("First turn it") for words in said)
    hems = [*shapes(drawing, "path", "hem"), *shapes(drawing, "path", "hem-under")]
    assert shapes(drawing, "polygon", "cloth"), anchor
    assert len(hems) >= pictures, anchor
    assert said.count("skirt") == pictures + views + turned, anchor
    bare = family == "cross" and "halve-1" in anchor  # hands need the room of its middle panel
    middles = [words for words in said if words.startswith(FOLD_NAMES.get(family, "apex"))]
    assert len(middles) == pictures + views + turned - bare, anchor
    assert any(words.startswith("apex") for words in said) is (family not in FOLD_NAMES), anchor
    assert len([words for words in said if words.endswith(("outside up", "inside up"))]) == pictures, anchor
    assert len(shapes(drawing, "circle", "link")) >= pictures + views + turned, anchor
    assert [*shapes(drawing, "path", "line"), *shapes(drawing, "line", "line")], anchor
    assert len(shapes(drawing, "path", "tab")) >= pictures + turned, anchor
    assert not any(re.search(r"(?<![\d.])0°|None|nan", words) for words in said), anchor
    assert (pictures == 2) is bool(shapes(drawing, "path", "finger")) or "stretch" in anchor or "flake" in anchor, anchor
    assert not {"ghost", "ghost-next"} & {e.attrib.get("class") for e in root.iter()}
    for path in root.iter(f"{SVG}path"):
        if path.attrib["class"] != "length-turn" and path.attrib["class"] != "finger":
            assert not re.search("[AaCcQqSsTt]", path.attrib["d"]), (anchor, path.attrib["class"])


def sides_of(family: str) -> list[int]:
    """A cross has as many lines on each arm, and at least two."""
    return [sides for sides in SIDES if family != "cross" or (sides % 4 == 0 and sides >= 8)]


@pytest.mark.parametrize("family", SHAPED)
def test_every_fold_of_every_canopy_is_drawn_and_tells_all(family: str) -> None:
    for sides in sides_of(family):
        for shortening in SHORTENED if sides in (8, 9, 12) else SHORTENED[:1]:
            changes = {"main__canopy__family": family, "main__canopy__sides": str(sides), "main__pack__shortening": shortening}
            for anchor, drawing in fold_pictures(**changes).items():
                tells_all(drawing, family, f"{family} {sides} {shortening} {anchor}")
                words_have_room(drawing)


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("family", SHAPED)
def test_every_canopy_of_every_way_has_its_folds_drawn(way: str, family: str) -> None:
    for key in WAYS[way].canopies:
        units = {"flight__way": way, f"{key}__canopy__family": family, "rig__units": "feet and inches"}
        for anchor, drawing in fold_pictures(key, **units).items():
            tells_all(drawing, family, f"{way} {anchor}")
            words_have_room(drawing)


@pytest.mark.parametrize("family", ["conical", "hemispherical", "semi-ellipsoid"])
def test_a_dome_is_flaked_in_four_pictures(family: str) -> None:
    anchors = list(fold_pictures(main__canopy__family=family))
    acts = ["stretch", "flake-first", "flake-left", "flake"]
    assert anchors[1:5] == [f"main-fold-{act}" for act in acts]
    assert anchors[5] == "main-fold-lengthwise-1"


def test_before_wears_the_words_of_before() -> None:
    """Layers, sizes and lines of the state before stand with the first picture, those after it with the second."""
    drawing = fold_pictures(main__canopy__size="2 m")["main-fold-halve-2"]
    root = ElementTree.fromstring(drawing.svg)
    (after,) = [g for g in root.iter(f"{SVG}g") if g.attrib.get("class") == "fold-after"]
    later = [text.text or "" for text in after.iter(f"{SVG}text")]
    earlier = [text.text or "" for text in root.iter(f"{SVG}text") if text not in list(after.iter(f"{SVG}text"))]
    assert {"Before", "2 layers, half", "2 m long", "1 m wide", "1·8", "2·7", "3·6", "4·5"} <= set(earlier)
    assert {"After", "4 layers, quarter", "1 m long", "1 m wide", "1·4·5·8", "2·3·6·7"} <= set(later)
    assert "2 m long" not in later
    assert "1·4·5·8" not in earlier


def test_lengths_laid_back_and_forth_are_seen_from_the_side() -> None:
    answer = CALCULATORS["folding"].answer(Worked(parse({})), "main")
    drawing = fold_pictures()["bundle"]
    (lengths,) = shapes(drawing, "path", "length")
    assert lengths.attrib["d"].count("z") == answer.outputs["parts"]
    assert "From the side, to scale" in texts(drawing)
    spots = [tuple(map(float, spot.split(","))) for cloth in shapes(drawing, "polygon", "cloth") for spot in cloth.attrib["points"].split()]
    scale = (max(x for x, _ in spots) - min(x for x, _ in spots)) / answer.outputs["bundle_length"]  # type: ignore[operator]
    levels = [float(level) for level in re.findall(r"M\S+ (\S+?)H", lengths.attrib["d"])]
    lows = [float(level) for level in re.findall(r"V(\S+?)H", lengths.attrib["d"])]
    assert max(lows) - min(levels) == pytest.approx(answer.outputs["bundle_thickness"] * scale, abs=2)  # type: ignore[operator]


@pytest.mark.parametrize("parts", range(2, 9))
def test_a_strip_laid_back_and_forth_is_drawn_once_for_each_time_it_is_carried(parts: int) -> None:
    """Its folds are named in order, of many the first ones and the last; every view has one length more or two, one arrow over
    all that lies, one pair of hands."""
    worked = Worked(parse({}))
    folds = worked.folded("main").to_strip
    whole = (*folds, shortened(levelled(folds[-1]), parts))
    state, side = folding.State("layers", "inside up", False, "long", "wide"), folding._side(worked, "main", whole[-1])
    drawing = fold_step(whole, 8, (state, state), folding._names(worked, "main"), "Name", "Told.", side)
    heads = [words for words in texts(drawing) if words.startswith("Fold")]
    told = [int(n) for words in heads for n in re.findall(r"\d+", words)]
    pairs = [[n for n in (first, first + 1) if n < parts] for first in range(1, parts, 2)]
    drawn = pairs if len(pairs) < 3 else [pairs[0], pairs[-1]]
    assert told == [n for pair in drawn for n in pair]
    assert ("and so on" in texts(drawing)) == (drawn != pairs)
    assert len(shapes(drawing, "polygon", "arrow-head")) == len(shapes(drawing, "path", "finger")) == len(heads) == len(drawn)
    views = [path.attrib["d"].count("z") for path in shapes(drawing, "path", "length")]
    assert views == [*(pair[0] for pair in drawn), parts]
    skirt, free = shapes(drawing, "line", "hem"), shapes(drawing, "circle", "apex")[-len(views):]
    assert len(skirt) == len(views)
    right = of(skirt[0], "x1")[0] + 1
    for arrow in shapes(drawing, "polygon", "arrow-head"):
        assert float(arrow.attrib["points"].partition(",")[0]) == pytest.approx(right, abs=0.1), "onto the skirt's end"
    assert of(free[-1], "cx")[0] == pytest.approx(right if parts % 2 == 0 else right - whole[-1].after.length * drawn_scale(drawing), abs=1.5)
    assert [words for words in texts(drawing) if words.isdigit()] == [str(i) for i in range(1, parts)]


def drawn_scale(drawing: Drawing) -> float:
    """Picture units of a metre, by what is told to be its length and drawn as it: the strip before."""
    worked = Worked(parse({}))
    strip = worked.folded("main").to_strip[-1].after.length
    before = [float(x) for cloth in shapes(drawing, "polygon", "cloth") for x in re.findall(r"([\d.]+),", cloth.attrib["points"])]
    return (max(before) - min(before)) / strip


@pytest.mark.parametrize("total", [4, 5, 8, 24])
def test_a_tangle_is_drawn_before_and_after_and_lines_are_hung_anew_only_when_they_came_off(total: int) -> None:
    steps = {step.anchor: step for step in CALCULATORS["folding"].answer(Worked(parse({"main.canopy.sides": str(total)})), "main").steps}
    tangle, anew = steps["main-prep-clear-lines"].drawing, steps["main-prep-rig-lines"].drawing
    assert tangle
    assert anew
    (crossed, clear), seen = shapes(tangle, "path", "line"), min(total, 12)
    assert (crossed.attrib["d"].count("L"), clear.attrib["d"].count("L")) == (2, 0)
    assert crossed.attrib["d"].count("M") == clear.attrib["d"].count("M") == seen
    assert {"Before", "After"} <= set(texts(tangle))
    assert any(words.startswith("skirt through between lines") for words in texts(tangle))
    assert texts(anew)[0] == "Only if lines came off"
    for drawing in (tangle, anew):
        assert len(shapes(drawing, "path", "finger")) == len(shapes(drawing, "polygon", "arrow-head")) == 1
        assert (f"and so on to line {total}" in texts(drawing)) is (total > 12)
        words_have_room(drawing)
