"""Someone who only looks at the pictures sews the canopy as it is told: threads go through the plies that they hold together, what a
seam costs is drawn to the seam's own scale, seams close in their order, lines are numbered as in the folds.

Pictures are read back from their text.
"""

import math
import re
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

import pytest
from shapely import LineString, Point, Polygon

from loftbook.calculators.making_words import SECTIONS
from loftbook.drawing import sewing
from loftbook.drawing.svg import LETTER, TEXT, WIDTH, Drawing
from loftbook.physics.canopy import flat_polygon
from loftbook.physics.folding import lay_flat
from loftbook.tables import HEMS, SEAMS

SVG = "{http://www.w3.org/2000/svg}"
STYLE = (Path(__file__).parents[2] / "docs" / "assets" / "style" / "drawing.css").read_text("utf-8")
SIDES = range(4, 33)
TOLD = "Told."
FULL = "eighteen letters  "  # as long as words beside a picture may be


def shapes(drawing: Drawing, tag: str, class_: str) -> list[Element]:
    """Shapes of a kind whose class begins so, in drawing order."""
    found = ElementTree.fromstring(drawing.svg).iter(f"{SVG}{tag}")
    return [shape for shape in found if f"{shape.attrib['class']} ".startswith(f"{class_} ")]


def texts(drawing: Drawing) -> list[str]:
    return [text.text or "" for text in ElementTree.fromstring(drawing.svg).iter(f"{SVG}text")]


def of(shape: Element, *names: str) -> tuple[float, ...]:
    return tuple(float(shape.attrib[name]) for name in names)


def spoken(drawing: Drawing, words: str) -> tuple[float, float]:
    """Where words stand: the middle of their line's foot."""
    (found,) = [text for text in ElementTree.fromstring(drawing.svg).iter(f"{SVG}text") if text.text == words]
    x, y = of(found, "x", "y")
    return x, y


# --- paths, walked along ---


def _round(start: complex, end: complex, r: float, large: bool, clockwise: bool) -> list[complex]:
    """An arc of a circle in 24 pieces."""
    half, way = abs(end - start) / 2, (end - start) / abs(end - start)
    r = max(r, half)
    side = 1 if large != clockwise else -1
    centre = (start + end) / 2 + side * math.sqrt(max(0.0, r * r - half * half)) * way * 1j
    first, last = ((p - centre) for p in (start, end))
    turn = math.atan2((last / first).imag, (last / first).real)
    if clockwise and turn <= 0:
        turn += 2 * math.pi
    if not clockwise and turn >= 0:
        turn -= 2 * math.pi
    return [centre + first * complex(math.cos(turn * i / 24), math.sin(turn * i / 24)) for i in range(1, 25)]


def walked(way: str) -> list[list[tuple[float, float]]]:
    """The lines of a path, as spots; its curves in small pieces."""
    runs: list[list[complex]] = []
    at = begun = 0j
    for letter, rest in re.findall(r"([A-Za-z])([^A-Za-z]*)", way):
        numbers = [float(n) for n in re.findall(r"-?\d*\.?\d+", rest)]
        size = {"m": 2, "l": 2, "h": 1, "v": 1, "q": 4, "a": 7, "z": 0}[letter.lower()]
        base = at if letter.islower() else 0j
        for i in range(0, len(numbers), size) if size else (0,):
            one = numbers[i : i + size]
            if letter in "zZ":
                runs[-1].append(begun)
                at = begun
                continue
            if letter.lower() == "h":
                to = complex(one[0] + base.real, at.imag)
            elif letter.lower() == "v":
                to = complex(at.real, one[0] + base.imag)
            else:
                to = base + complex(*one[-2:])
            if letter.lower() == "m":
                runs.append([to])
                begun = to
            elif letter.lower() == "q":
                bend = base + complex(*one[:2])
                runs[-1] += [(1 - s) ** 2 * at + 2 * s * (1 - s) * bend + s * s * to for s in (j / 24 for j in range(1, 25))]
            elif letter.lower() == "a":
                runs[-1] += _round(at, to, one[0], bool(one[3]), bool(one[4]))
            else:
                runs[-1].append(to)
            at, base = to, to if letter.islower() else 0j
    return [[(p.real, p.imag) for p in run] for run in runs]


def path(shape: Element) -> list[tuple[float, float]]:
    (run,) = walked(shape.attrib["d"])
    return run


def test_paths_are_walked_as_they_are_drawn() -> None:
    (half,) = walked("M0 0h10a5 5 0 0 1 0 10H4")
    assert LineString(half).length == pytest.approx(10 + 5 * math.pi + 6, rel=1e-2)
    assert max(x for x, _ in half) == pytest.approx(15)
    assert min(x for x, _ in walked("M0 10a5 5 0 0 0 0 -10")[0]) == pytest.approx(0), "the other way round"
    (three,) = walked("M10 0A10 10 0 1 1 0 -10")
    assert LineString(three).length == pytest.approx(15 * math.pi, rel=1e-2)


# --- every picture ---


DASHES = "middle of the seam, finished edge of the hem"
MARKED: tuple[tuple[bool, sewing.Hole], ...] = ((False, "round"), (True, "straight"), (False, ""), (True, ""))


def pictures() -> Iterator[tuple[str, tuple[str, ...], Drawing]]:
    """Each picture with the words that it was given, as long as they may be."""
    for kind in sewing.SEAMS:
        yield f"{kind} in section", (FULL[:12], FULL), sewing.seam_section(kind, FULL[:12], FULL, TOLD)
    for attached in sewing.ATTACHMENTS:
        for patch in (True, False):
            yield f"{attached}, {patch}", (FULL,), sewing.attachment(attached, patch, FULL, TOLD)
            yield f"{attached} sewn, {patch}", ("32",), sewing.line_sewn(attached, patch, "32", TOLD)
    yield "corner", (FULL,), sewing.corner_reinforced(FULL, TOLD)
    for hung in (True, False):
        yield f"sample, {hung}", (FULL if hung else f"must hold {FULL}", FULL[:17]), sewing.sample_pulled(hung, FULL, FULL[:17], TOLD)
        yield f"line's sample, {hung}", (FULL if hung else f"must hold {FULL}",), sewing.sample_pulled(hung, FULL, "", TOLD)
    yield "hem", (FULL[:10],), sewing.hem_turned(FULL[:10], TOLD)
    yield "weighed", (FULL[:13],), sewing.weighed(FULL[:13], TOLD)
    yield "dropped", (FULL[:15], FULL[:14], FULL[:13], FULL[:12]), sewing.dropped(FULL[:15], FULL[:14], FULL[:13], FULL[:12], TOLD)
    for sewn in (True, False):
        for must in ("", FULL[:14]):
            given = (FULL, FULL[:17], FULL[:16], *((FULL[:15],) if sewn else ()), *((must,) if must else ()))
            yield f"loop, {sewn}, {must}", given, sewing.loop_made(sewn, FULL[:15] if sewn else "", FULL, must, FULL[:17], FULL[:16], TOLD)
    yield "jig", (FULL, FULL[:17], FULL[:16], FULL[:15]), sewing.lines_measured(FULL, FULL[:17], FULL[:16], FULL[:15], TOLD)
    for curved, hole in MARKED:
        yield f"marked, {curved}, {hole}", (FULL, *DASHES.split(", ")), sewing.gore_marked(curved, hole, FULL, DASHES, TOLD)
    for sides in SIDES:
        yield f"vent {sides}", (FULL[:11],), sewing.vent_bound(sides, FULL[:11], TOLD)
        for done in range(len(sewing.seam_order(sides)) + 1):
            yield f"{sides} sewn, {done}", (FULL,), sewing.halves_sewn(sides, done, FULL, TOLD)
        yield f"{sides} numbered", (), sewing.lines_numbered(sides, TOLD)
        yield f"{sides} on the link", (), sewing.lines_on_link(sides, TOLD)
        yield f"{sides} hung", (), sewing.hung_up(sides, TOLD)
        yield f"{sides} flat", (FULL, *((FULL[:17],) if sides % 2 == 0 else ())), sewing.measured_flat(sides, FULL, FULL[:17] if sides % 2 == 0 else "", TOLD)
        yield f"{sides} replaced", (FULL, FULL[:17]), sewing.line_replaced(sides, sides, FULL, FULL[:17], TOLD)


DRAWN = {name: (given, drawing) for name, given, drawing in pictures()}


def boxes(drawing: Drawing) -> list[tuple[float, float, float, float, str]]:
    """Left, top, right, bottom of all words, estimated."""
    made = []
    for text in ElementTree.fromstring(drawing.svg).iter(f"{SVG}text"):
        x, y, wide = *of(text, "x", "y"), LETTER * len(text.text or "")
        left = {"start": x, "middle": x - wide / 2, "end": x - wide}[text.attrib.get("text-anchor", "start")]
        made.append((left, y - 0.8 * TEXT, left + wide, y + 0.25 * TEXT, text.text or ""))
    return made


@pytest.mark.parametrize("name", DRAWN)
def test_what_is_said_stands_in_the_picture_and_apart(name: str) -> None:
    given, drawing = DRAWN[name]
    root = ElementTree.fromstring(drawing.svg)
    _, _, wide, high = map(float, root.attrib["viewBox"].split())
    assert wide == WIDTH
    assert (root.findtext(f"{SVG}title") or "").endswith(TOLD)
    said = boxes(drawing)
    for words in given:
        assert [box[4] for box in said].count(words) >= 1, words
    for i, (left, top, right, bottom, words) in enumerate(said):
        assert left >= -0.5, words
        assert top >= -0.5, words
        assert right <= WIDTH + 0.5, words
        assert bottom <= high + 0.5, words
        for other in said[i + 1 :]:
            assert right <= other[0] or other[2] <= left or bottom <= other[1] + 3 or other[3] <= top + 3, (words, other[4])


@pytest.mark.parametrize("name", DRAWN)
def test_what_is_drawn_stays_in_the_picture_and_has_a_look(name: str) -> None:
    """Every class has its rule; arrows are straight; nothing is dashed outside what is sewn."""
    root = ElementTree.fromstring(DRAWN[name][1].svg)
    high = float(root.attrib["viewBox"].split()[3])
    for shape in root.iter():
        for class_ in shape.attrib.get("class", "").split():
            assert re.search(rf"\.{class_}\b", STYLE) or class_ == "text", class_
    for one in root.iter(f"{SVG}path"):
        if "class" in one.attrib and one.attrib["class"] == "carry":
            assert not re.search("[AaCcQq]", one.attrib["d"]), "a straight arrow"
        for run in walked(one.attrib["d"]):
            for x, y in run:
                assert -1 <= x <= WIDTH + 1, one.attrib
                assert -1 <= y <= high + 1, one.attrib
    for line in root.iter(f"{SVG}line"):
        x0, y0, x1, y1 = of(line, "x1", "y1", "x2", "y2")
        assert 0 <= min(x0, x1) <= max(x0, x1) <= WIDTH
        assert 0 <= min(y0, y1) <= max(y0, y1) <= high


def test_no_picture_is_the_same_as_another() -> None:
    """But for a canopy hung up, of which eight lines are drawn at the most."""
    told = [drawing.svg for name, (_, drawing) in DRAWN.items() if "hung" not in name or int(name.split()[0]) <= 8]
    assert len(set(told)) == len(told)


def test_words_that_look_like_markup_are_words() -> None:
    assert "must hold <b>1</b>" in texts(sewing.sample_pulled(False, "<b>1</b>", "2", TOLD))


# --- seams ---

COST = {"flat felled": 1.5, "French": 1.75, "turned twice": 2.0, "bound edge": 0.0}
CROSSED = {"flat felled": [4, 4], "French": [2, 2], "turned twice": [3], "bound edge": [3]}  # plies, row by row


def section(kind: sewing.Seam) -> Drawing:
    return sewing.seam_section(kind, "wide", "allowed", TOLD)


def plies(drawing: Drawing) -> list[LineString]:
    return [LineString(path(ply)) for ply in shapes(drawing, "path", "ply")]


@pytest.mark.parametrize("kind", sewing.SEAMS)
def test_each_row_of_stitches_goes_through_the_plies_that_it_holds(kind: sewing.Seam) -> None:
    drawing = section(kind)
    rows = [LineString([of(row, "x1", "y1"), of(row, "x2", "y2")]) for row in shapes(drawing, "line", "thread")]
    crossings = []
    for row in rows:
        met = [ply.intersection(row) for ply in plies(drawing)]
        crossings.append(sum(len(getattr(one, "geoms", [one])) for one in met if not one.is_empty))
    assert crossings == CROSSED[kind]
    ends = {of(end, "cx", "cy") for end in shapes(drawing, "circle", "thread-end")}
    assert ends == {spot for row in rows for spot in row.coords}, "it comes out on both sides"
    for x, y in ends:
        assert all(ply.distance(Point(x, y)) > 3.5 for ply in plies(drawing)), "clear of the cloth"


@pytest.mark.parametrize("kind", sewing.SEAMS)
def test_raw_edges_lie_between_plies_and_plies_do_not_touch(kind: sewing.Seam) -> None:
    """Every end of cloth that is not at the picture's edge is inside the fold of another ply, or of its own."""
    drawing = section(kind)
    laid = plies(drawing)
    ends = [(i, Point(ply.coords[j])) for i, ply in enumerate(laid) for j in (0, -1)]
    raw = [(i, end) for i, end in ends if 20 < end.x < 300]
    cloth = [(i, end) for i, end in raw if not (kind == "bound edge" and i == 1)]  # a tape's own edges do not fray
    assert len(cloth) == (2 if kind in ("flat felled", "French") else 1)
    for _, end in cloth:
        across = ((0, 30), (0, -30)) if kind != "French" else ((30, 0), (-30, 0))
        for dx, dy in across:
            look = LineString([(end.x + dx / 6, end.y + dy / 6), (end.x + dx, end.y + dy)])
            assert any(ply.intersects(look) for ply in laid), "covered on both sides"
    for a, b in pairwise(laid):
        assert a.distance(b) >= 7.4, "a gap between plies"


@pytest.mark.parametrize("kind", sewing.SEAMS)
def test_what_a_seam_costs_is_drawn_to_the_scale_of_its_width(kind: sewing.Seam) -> None:
    """Told by its two measures, and by the length of the ply that is drawn beyond the seam's line or the finished edge."""
    drawing = section(kind)
    measures = [walked(dim.attrib["d"])[0] for dim in shapes(drawing, "path", "dim")]
    sizes = [LineString(run).length for run in measures]
    assert sizes[0] == pytest.approx(88, abs=0.01)
    assert (sizes[1] if len(sizes) > 1 else 0.0) == pytest.approx(COST[kind] * sizes[0], abs=0.01)
    (spots,) = [path(ply) for ply in shapes(drawing, "path", "ply") if ply.attrib["class"] == "ply"]
    whole = LineString(spots)
    if kind == "flat felled":
        beyond = whole.length - 150  # the seam's middle lies there
    elif kind == "French":
        beyond = whole.length - whole.project(Point(143.5, 50))  # the second row
    else:
        beyond = whole.length - whole.project(Point(250, 51)) if kind == "turned twice" else 0.0
    assert beyond == pytest.approx(COST[kind] * 88, rel=0.06)


# --- lines at the skirt ---


@pytest.mark.parametrize("kind", sewing.ATTACHMENTS)
def test_an_attachment_is_sewn_on_cloth_and_its_line_goes_where_it_says(kind: sewing.Attachment) -> None:
    drawing = sewing.attachment(kind, True, "sewn", TOLD)
    cloth = Polygon(path(shapes(drawing, "path", "cloth")[0]))
    (sewn,) = shapes(drawing, "path", "thread")
    assert all(cloth.contains(Point(*spot)) for run in walked(sewn.attrib["d"]) for spot in run)
    lines = [run for line in shapes(drawing, "path", "line") for run in walked(line.attrib["d"])]
    assert max(x for run in lines for x, _ in run) > 310, "it leads away"
    whole = lines[0]
    if kind == "loop":
        (bar,) = shapes(drawing, "rect", "sewn-tape")
        left, top, wide, high = of(bar, "x", "y", "width", "height")
        fold, end = min(x for x, _ in whole), whole[-1][0]
        assert left < end < left + wide, "a few stitches over its cut end, which is at the hem"
        legs = sorted({round(y, 1) for x, y in whole if x > fold + 5})
        assert len(legs) == 2, "folded back beside itself"
        assert all(top < y < top + high for y in legs)
        spots = path(sewn)
        assert [min(y for _, y in spots), max(y for _, y in spots)] == legs, "from the middle of one leg to the middle of the other"
        assert fold < min(x for x, _ in spots) < max(x for x, _ in spots) <= left
    elif kind == "V-tab":
        tip = max(path(shapes(drawing, "path", "tape")[0]))
        assert not cloth.contains(Point(*tip))
        assert min(x for x, _ in whole) < tip[0] < 252, "through the V, knotted beyond"
        assert of(shapes(drawing, "circle", "knot")[0], "cx") == (252,)
    else:
        assert min(x for x, _ in whole) < 5, "on along the seam"


@pytest.mark.parametrize("kind", sewing.ATTACHMENTS)
def test_a_patch_is_drawn_where_there_is_one(kind: sewing.Attachment) -> None:
    assert len(shapes(sewing.attachment(kind, True, "", TOLD), "path", "patch")) == 1
    bare = sewing.attachment(kind, False, "", TOLD)
    assert shapes(bare, "path", "patch") == []
    assert "patch" not in texts(bare)


@pytest.mark.parametrize("kind", sewing.ATTACHMENTS)
def test_a_line_is_sewn_with_its_mark_on_the_edge_and_wears_its_number(kind: sewing.Attachment) -> None:
    drawing = sewing.line_sewn(kind, True, "7", TOLD)
    (mark,) = shapes(drawing, "path", "mark")
    ((x, top), (_, low)) = path(mark)
    assert top < 96 < low
    edge = path(shapes(drawing, "path", "hem")[0])
    edge = path(shapes(drawing, "path", "tape")[0]) if kind == "V-tab" else edge
    within = 20 if kind == "V-tab" else 2  # a tape's tip is as long as the line's loop round it
    assert max(edge)[0] - within < x < max(edge)[0] + 2
    assert "7" in texts(drawing)
    assert len(shapes(drawing, "path", "finger")) == 1


def test_a_patch_lies_on_its_corner_sewn_all_round() -> None:
    drawing = sewing.corner_reinforced("60 mm", TOLD)
    cloth, patch = (Polygon(path(shapes(drawing, "path", class_)[0])) for class_ in ("cloth", "patch"))
    (stitch,) = shapes(drawing, "path", "stitch")
    assert cloth.buffer(0.5).contains(patch)
    assert patch.contains(Polygon(path(stitch)))
    assert len(shapes(drawing, "path", "hold")) == 1


# --- cloth ---


def test_a_sample_is_pulled_level_across_its_seam_by_a_scale_that_is_tied_up() -> None:
    """A cord from end to end of the one rod is in the scale's hook, hands are at both ends of the other, outside the cloth."""
    drawing = sewing.sample_pulled(False, "41 N", "50 mm", TOLD)
    strip = Polygon(path(shapes(drawing, "path", "cloth")[0])).bounds
    for run in walked(shapes(drawing, "path", "seam")[0].attrib["d"]):
        (x0, y0), (x1, y1) = run
        assert x0 == x1
        assert (min(y0, y1), max(y0, y1)) == (strip[1], strip[3])
        assert strip[0] < x0 < strip[2]
    scale, first, second = (of(one, "x", "y", "width", "height") for one in shapes(drawing, "rect", "device"))
    assert scale[0] + scale[2] < first[0] < strip[0] < strip[2] - 1 < second[0] + second[2]
    cord = [run for one in shapes(drawing, "path", "cord") for run in walked(one.attrib["d"]) if len(run) == 3]
    assert len(cord) == 1
    (low, hook, high) = cord[0]
    assert first[1] < low[1] < strip[1]
    assert strip[3] < high[1] < first[1] + first[3]
    (hooked,) = [run for one in shapes(drawing, "path", "link") for run in walked(one.attrib["d"]) if run[0][0] > 50]
    assert LineString(hooked).distance(Point(*hook)) < 4, "in the scale's hook"
    (hands,) = shapes(drawing, "path", "hold")
    for run in walked(hands.attrib["d"]):
        assert max(y for _, y in run) < strip[1] or min(y for _, y in run) > strip[3], "beside the cloth, not on it"
    (arrow,) = shapes(drawing, "path", "carry")
    (start, end), _ = walked(arrow.attrib["d"])
    assert start[1] == end[1], "level"
    assert end[0] > start[0] > second[0], "away from the scale"


def test_what_no_scale_reads_hangs_on_the_sample() -> None:
    drawing = sewing.sample_pulled(True, "700 N", "50 mm", TOLD)
    (strip, *_) = [Polygon(path(one)).bounds for one in shapes(drawing, "path", "cloth")]
    (top, low) = (of(one, "x", "y") for one in shapes(drawing, "rect", "device"))
    assert top[1] < strip[1] + 10 < strip[3] - 10 < low[1]
    (weight,) = (of(one, "y", "height") for one in shapes(drawing, "rect", "nut"))
    floor = path(shapes(drawing, "path", "axis")[0])[0][1]
    assert low[1] < weight[0] < sum(weight) < floor, "clear of the floor"


def turned(spots: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """From right to left: the first gore's hem lies at the left end, as where all pieces are laid on the cloth."""
    return [(WIDTH - x, y) for x, y in spots]


@pytest.mark.parametrize(("curved", "hole"), MARKED)
def test_cloth_is_cut_outside_the_finished_line_by_the_allowance_but_at_the_hole(curved: bool, hole: sewing.Hole) -> None:
    """At the hole nothing is added: one line to cut, and nothing dashed beside it; a flat one's is an arc about the apex."""
    drawing = sewing.gore_marked(curved, hole, "10 mm", DASHES, TOLD)
    (finished,), (cut,), (cloth,) = ([LineString(turned(path(one))) for one in shapes(drawing, "path", class_)][:1] for class_ in ("sewn", "cut", "cloth"))
    outer = Polygon(cut.coords)
    assert outer.buffer(0.2).contains(finished)
    assert Polygon(cloth.coords).buffer(0.2).contains(outer)
    ends = [Point(*finished.coords[0]), Point(*finished.coords[-1])]
    if hole:
        assert not finished.is_ring, "no finished line across the hole"
        assert all(end.distance(cut) < 1.0 for end in ends)
    for i in range(201):
        spot = finished.interpolate(i / 200, normalized=True)
        if not hole or min(spot.distance(end) for end in ends) > 12:
            assert spot.distance(cut) == pytest.approx(10, abs=0.6)
    tip = [spot for spot in cut.coords if spot[0] < min(end.x for end in ends) + (1 if hole else -9)]
    if hole == "round":
        assert len(tip) > 10
        middle = max(spot[0] for spot in tip)
        assert middle - min(spot[0] for spot in tip) > 2, "hollow: its middle is nearest to the hem"
        assert tip[len(tip) // 2][0] == pytest.approx(middle, abs=0.1)
    assert max(x for x, _ in cut.coords) == pytest.approx(max(x for x, _ in cloth.coords), abs=0.1), "its hem along the squared end"
    (notches,) = shapes(drawing, "path", "notch")
    runs = [LineString(turned(run)) for run in walked(notches.attrib["d"])]
    assert len(runs) == 6
    for run in runs:
        assert Point(run.coords[0]).distance(finished) < 0.2
        assert Point(run.coords[1]).distance(cut) < 0.4
    y = finished.bounds[1] / 2 + finished.bounds[3] / 2
    mirrored = {(round(run.coords[0][0], 1), round(abs(run.coords[0][1] - y), 1)) for run in runs}
    assert len(mirrored) == 3, "both edges have them at the same places, so neighbours meet"
    (grain,), (selvage,) = (shapes(drawing, "path", class_) for class_ in ("grain-line", "outline"))
    for run in (walked(grain.attrib["d"])[0], *walked(selvage.attrib["d"])):
        assert len({y for _, y in run}) == 1, "parallel to the selvage"
    assert max(y for _, y in cut.coords) == pytest.approx(path(selvage)[0][1], abs=0.1), "a corner on the selvage's inner edge"
    weights = turned([(x, y) for x, y in (of(one, "cx", "cy") for one in shapes(drawing, "circle", "device"))])
    assert len(weights) == 3
    assert all(Polygon(finished.coords).contains(Point(*spot)) for spot in weights)


@pytest.mark.parametrize("gores", SIDES)
def test_seams_close_once_each_pieces_double_and_the_long_one_is_last(gores: int) -> None:
    order = sewing.seam_order(gores)
    assert sorted(seam for stage in order for seam in stage) == list(range(1, gores + 1))
    assert order[-1] == (-(-gores // 2), gores)
    assert len(order) == math.ceil(math.log2(-(-gores // 2))) + 1
    assert len(order[0]) == -(-gores // 2) // 2 + gores // 2 // 2, "pairs first"
    if gores == 8:
        assert order == ((1, 3, 5, 7), (2, 6), (4, 8))


@pytest.mark.parametrize("gores", SIDES)
def test_sewn_seams_are_stitched_and_open_ones_apart(gores: int) -> None:
    order = sewing.seam_order(gores)
    for done in range(len(order) + 1):
        drawing = sewing.halves_sewn(gores, done, "said", TOLD)
        pieces = [Polygon(path(one)) for one in shapes(drawing, "path", "cloth")]
        sewn = sum(map(len, order[:done]))
        assert len(pieces) == max(1, gores - sewn)
        assert len(shapes(drawing, "path", "seam")) == sewn
        assert len(shapes(drawing, "path", "seam new")) == (len(order[done - 1]) if done else 0)
        for i, one in enumerate(pieces):
            assert all(one.disjoint(other) for other in pieces[i + 1 :])
        for seam in shapes(drawing, "path", "seam"):
            assert any(piece.buffer(2).contains(LineString(run)) for piece in pieces for run in walked(seam.attrib["d"]))
        for gore in [words for words in texts(drawing) if words.isdigit()]:
            x, y = spoken(drawing, gore)
            assert sum(piece.contains(Point(x, y - 5)) for piece in pieces) == 1


@pytest.mark.parametrize("gores", [5, 8, 12, 15])
def test_the_last_seam_runs_where_its_lines_are(gores: int) -> None:
    drawing = sewing.halves_sewn(gores, len(sewing.seam_order(gores)), "said", TOLD)
    last = [walked(seam.attrib["d"]) for seam in shapes(drawing, "path", "seam new")]
    corners = {seam: (x, y) for seam, (x, y) in enumerate(sewing._corners(gores, 160, 122, 102), 1)}
    for seam, runs in zip(sewing.seam_order(gores)[-1], sorted(last, key=lambda runs: runs[0][1][0]), strict=True):
        assert any(math.dist(run[1], corners[seam]) < 2 for run in runs)


def test_a_hem_is_turned_twice_and_then_sewn() -> None:
    """Each turn takes the same width off the edge; the stitch runs along the inner turn."""
    drawing = sewing.hem_turned("10 mm", TOLD)
    laid = [Polygon(path(one)).bounds for one in shapes(drawing, "path", "cloth")]
    edges = [bounds[3] for bounds in laid[:3]]
    assert edges[0] - edges[1] == edges[1] - edges[2] == 22
    once, twice = laid[3], laid[4]
    assert once[3] - once[1] == twice[3] - twice[1] == 22
    opacity = [float(one.attrib["fill-opacity"]) for one in shapes(drawing, "path", "cloth")]
    assert opacity[4] > opacity[3], "thicker"
    ((_, y), _) = path(shapes(drawing, "path", "stitch")[0])
    assert twice[1] < y < twice[1] + 6


@pytest.mark.parametrize("seams", [4, 8, 11])
def test_a_vent_is_bound_for_three_quarters_its_tape_held(seams: int) -> None:
    drawing = sewing.vent_bound(seams, "120 mm", TOLD)
    edge = Polygon(path(shapes(drawing, "path", "vent")[0]))
    r = edge.bounds[2] - edge.centroid.x
    (row,) = [LineString(path(one)) for one in shapes(drawing, "path", "thread")]
    assert row.length == pytest.approx(1.5 * math.pi * (r + 8), rel=0.01)
    assert row.distance(edge) == pytest.approx(8, abs=0.3), "on the cloth, through the tape round its edge"
    assert len(walked(shapes(drawing, "path", "seam")[0].attrib["d"])) == 2 * seams
    assert len(shapes(drawing, "path", "hold")) == 1


# --- lines ---


def test_a_line_is_marked_at_both_pegs_and_cut_beyond_them() -> None:
    drawing = sewing.lines_measured("1.9 m", "60 mm", "80 mm", "10 N", TOLD)
    pegs = [of(one, "cx")[0] for one in shapes(drawing, "circle", "device")]
    marks = [run[0][0] for run in walked(shapes(drawing, "path", "mark")[0].attrib["d"])]
    assert marks == pegs
    sizes = [[x for x, _ in walked(dim.attrib["d"])[0]] for dim in shapes(drawing, "path", "dim")]
    assert sizes[0] == pegs
    (near, first), (second, far) = sizes[1], sizes[2]
    assert [first, second] == pegs
    (line,) = shapes(drawing, "path", "line")
    (start, _), (end, _) = path(line)
    assert start < near < first
    assert second < far < end
    ((x0, y0), (x1, y1)), _ = walked(shapes(drawing, "path", "carry")[0].attrib["d"])
    assert y0 == y1
    assert x1 > x0, "away from the pegs"


@pytest.mark.parametrize("lines", SIDES)
def test_lines_are_numbered_from_the_right_against_the_clock_as_in_the_folds(lines: int) -> None:
    drawing = sewing.lines_numbered(lines, TOLD)
    sheet = lay_flat("flat polygon", flat_polygon(lines, 1.0), lines, 0.0)
    folds = {name: math.atan2(y, x) for (x, y), (name,) in sheet.lines}
    (x, y) = of(shapes(drawing, "circle", "apex")[0], "cx", "cy")
    turns = {}
    for line in range(1, lines + 1):
        left, foot = spoken(drawing, str(line))
        turns[line] = math.atan2(y - (foot - 5), left - x)
    for line, turn in turns.items():
        assert math.remainder(turn - folds[line], 2 * math.pi) == pytest.approx(0, abs=0.03), line
    assert abs(turns[1]) < math.pi / 4 + 0.03
    corners = path(shapes(drawing, "path", "hem")[0])[:-1]
    assert len(corners) == lines
    ((start, end), _) = walked(shapes(drawing, "path", "carry")[0].attrib["d"])
    first, then = (math.atan2(y - spot[1], spot[0] - x) for spot in (start, end))
    assert 0 < then - first <= math.pi / 2 + 0.01, "against the clock"


@pytest.mark.parametrize("lines", SIDES)
def test_lines_come_onto_the_open_link_in_order(lines: int) -> None:
    drawing = sewing.lines_on_link(lines, TOLD)
    numbers = [words for words in texts(drawing) if words.isdigit()]
    shown = list(range(1, lines + 1)) if lines <= 12 else [*range(1, 7), *range(lines - 5, lines + 1)]
    assert numbers == list(map(str, shown))
    assert ("and so on" in texts(drawing)) is (lines > 12)
    runs = [path(line) for line in shapes(drawing, "path", "line")]
    assert len(runs) == len(shown)
    assert [run[0][1] for run in runs] == sorted(run[0][1] for run in runs)
    assert [run[-1][1] for run in runs] == sorted({run[-1][1] for run in runs}), "none crosses another"
    for run, line in zip(runs, shown, strict=True):
        assert spoken(drawing, str(line))[1] - 5 == pytest.approx(run[0][1], abs=0.1)
    (link,) = [path(one) for one in shapes(drawing, "path", "link")]
    low, high = min(y for _, y in link), max(y for _, y in link)
    assert all(low < run[-1][1] < high for run in runs)
    assert math.dist(link[0], link[-1]) > 8, "open"


@pytest.mark.parametrize("lines", SIDES)
def test_a_canopy_hangs_with_its_corners_level_in_one_hand(lines: int) -> None:
    drawing = sewing.hung_up(lines, TOLD)
    (taut,) = shapes(drawing, "path", "line")
    runs = walked(taut.attrib["d"])
    assert len(runs) == min(lines, 8)
    assert len({run[0] for run in runs}) == 1, "all from the link"
    (level,) = {run[1][1] for run in runs}
    ends = [run[1][0] for run in runs]
    assert max(ends) - min(ends) < 60, "in one hand"
    (hand,) = shapes(drawing, "path", "hold")
    assert all(abs(y - level) < 15 for run in walked(hand.attrib["d"]) for _, y in run)
    ((start, end), _) = walked(shapes(drawing, "path", "carry")[0].attrib["d"])
    assert end[1] > start[1], "pulled down"
    assert spoken(drawing, "apex")[1] > level, "below: it hangs by its link"


@pytest.mark.parametrize("sides", SIDES)
def test_a_canopy_is_measured_through_its_apex(sides: int) -> None:
    drawing = sewing.measured_flat(sides, "flat", "corner" if sides % 2 == 0 else "", TOLD)
    x, y = of(shapes(drawing, "circle", "apex")[0], "cx", "cy")
    corners = path(shapes(drawing, "path", "hem")[0])[:-1]
    tapes = [LineString(path(one)) for one in shapes(drawing, "path", "gauge")]
    assert all(tape.distance(Point(x, y)) < 0.2 for tape in tapes)
    edge = LineString([*corners, corners[0]])
    for tape in tapes:
        assert all(Point(*end).distance(edge) < 0.2 for end in tape.coords)
    at_corner = [sum(min(math.dist(end, corner) for corner in corners) < 0.2 for end in tape.coords) for tape in tapes]
    assert at_corner == ([1] if sides % 2 else [0, 2])
    if sides % 2 == 0:
        assert tapes[0].length / tapes[1].length == pytest.approx(math.cos(math.pi / sides), abs=1e-3)


def test_a_drop_is_timed_between_two_marks_and_its_weight_still_hangs_at_the_second() -> None:
    drawing = sewing.dropped("24 m", "3 m", "3.2 m", "31 m", TOLD)
    marks = [run[0][1] for run in walked(shapes(drawing, "path", "mark")[0].attrib["d"])]
    sizes = [[y for _, y in walked(dim.attrib["d"])[0]] for dim in shapes(drawing, "path", "dim")]
    ground = path(shapes(drawing, "path", "axis")[0])[0][1]
    hung, *opened = (path(one) for one in shapes(drawing, "path", "cloth"))
    skirt = max(y for _, y in hung)
    assert sizes[:3] == [marks, [skirt, marks[0]], [marks[1], ground]], "all of it is told, from where the skirt hangs"
    assert [spoken(drawing, words)[1] for words in ("full", "stop")] == pytest.approx(marks, abs=6)
    assert [one[0][1] for one in opened[:2]] == marks, "it is the skirt that is timed"
    weights = [of(one, "y", "height") for one in shapes(drawing, "rect", "nut")]
    assert [y > low for (y, _), low in zip(weights, (skirt, *marks), strict=True)] == [True] * 3
    assert max(y + high for y, high in weights) < ground - 10, "the weight has not landed"
    ((start, end), _) = walked(shapes(drawing, "path", "carry")[0].attrib["d"])
    assert end[1] > start[1]
    (person,) = (of(one, "cx", "cy") for one in shapes(drawing, "circle", "person"))
    away = [x for x, _ in walked(shapes(drawing, "path", "dim")[3].attrib["d"])[0]]
    assert away[0] == pytest.approx(sum(x for x, _ in hung[:-1]) / (len(hung) - 1), abs=1), "from under it"
    assert away[1] == person[0]
    assert person[0] - max(x for one in opened[:2] for x, _ in one) > 60, "nobody beneath"


def test_the_pin_alone_holds_the_crown() -> None:
    """The strap's loop stands up through the ring, and the pin through the loop, over the ring: drawn out, all of it slips down."""
    drawing = sewing.dropped("24 m", "3 m", "3.2 m", "31 m", TOLD)
    (ring,) = (of(one, "cx", "cy", "r") for one in shapes(drawing, "circle", "link") if of(one, "r")[0] > 5)
    (pin,) = (of(one, "x", "y", "width", "height") for one in shapes(drawing, "rect", "device"))
    (strap,) = (run for one in shapes(drawing, "path", "cord") for run in walked(one.attrib["d"]) if len(run) > 20)
    assert pin[1] + pin[3] < ring[1] - ring[2] + 4, "over the ring"
    assert pin[0] < ring[0] - ring[2] < ring[0] + ring[2] < pin[0] + pin[2], "wider than the ring"
    assert min(y for _, y in strap) < pin[1], "through the loop"
    assert max(y for _, y in strap) > ring[1] + 30, "which goes round the crown"


def test_a_loop_is_open_at_the_fold_and_sewn_into_both_of_its_sides() -> None:
    drawing = sewing.loop_made(True, "20 mm", "150 mm", "", "2200 mm", "20 N", TOLD)
    (loop, whole) = [path(one) for one in shapes(drawing, "path", "line")]
    fold = max(x for x, _ in loop)
    stitches = path(shapes(drawing, "path", "thread")[0])
    eye, rest, measured = ([x for x, _ in walked(dim.attrib["d"])[0]] for dim in shapes(drawing, "path", "dim"))
    assert eye == [max(x for x, _ in stitches), fold], "what is left open"
    assert rest[1] == fold
    assert rest[0] < min(x for x, _ in stitches)
    levels = sorted({y for x, y in loop if x < 223})
    assert min(y for _, y in stitches) <= levels[0] < levels[-1] <= max(y for _, y in stitches), "through both sides"
    assert measured[1] == pytest.approx(max(x for x, _ in whole)), "to the inside of the loop"


@pytest.mark.parametrize(("line", "lines"), [(1, 8), (8, 8), (4, 8), (1, 4), (24, 24)])
def test_a_new_line_lies_between_its_neighbours_the_old_one_beside_it(line: int, lines: int) -> None:
    drawing = sewing.line_replaced(line, lines, "10 N", "said", TOLD)
    before, after = line - 1 or lines, line + 1 if line < lines else 1
    assert [words for words in texts(drawing) if words.isdigit()] == [str(before), str(line), str(after)]
    drawn = [(one.attrib["class"], path(one)) for one in shapes(drawing, "path", "line close")]
    assert [class_ for class_, _ in drawn] == ["line close", "line close new", "line close"]
    assert len({(run[0][0], run[-1][0]) for _, run in drawn}) == 1, "all from the same edge to the same link"
    (old,) = [one for one in shapes(drawing, "path", "line") if "pale" in one.attrib["class"]]
    runs = walked(old.attrib["d"])
    assert len(runs) == 2, "cut"
    assert drawn[1][1][0][1] < runs[0][0][1] < drawn[2][1][0][1]
    arrows = [walked(one.attrib["d"])[0] for one in shapes(drawing, "path", "carry")]
    assert [run[0][1] for run in arrows] == [run[0][1] for _, run in drawn], "each is pulled"
    assert len({run[1][0] - run[0][0] for run in arrows}) == 1, "alike"


def test_what_a_section_costs_is_what_the_tables_say() -> None:
    shares = {SECTIONS[name]: row.allowance.value if row.allowance else 0.0 for name, row in (SEAMS | HEMS).items()}
    assert shares == sewing._COST
