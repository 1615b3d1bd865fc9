"""Sewing patterns at full size: the one file, how a piece lies on sheets, and the drawing for machines, read back by its library."""

import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path

import ezdxf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Polygon, affinity, box, unary_union

from loftbook.drawing.pattern import (
    FULL,
    LARGE,
    LEAD,
    LETTERS,
    MODEL,
    Part,
    Point,
    bounds,
    clipped,
    free_spot,
    full_size,
    inside,
    placed,
    strokes,
    wide,
)
from loftbook.errors import Refusal
from loftbook.faces.dxf import LAYERS, write_dxf
from loftbook.faces.sheets import EDGE, MOST_ACROSS, MOST_SHEETS, PAPERS, pages, printed, tile_name, tiles
from loftbook.physics.elementary import cosine, sine

SVG = "{http://www.w3.org/2000/svg}"
SEAM = 0.012
NUMBER = re.compile(r"-?\d+\.?\d*")


@cache
def gore(wide: float, high: float, folded: bool = False, canopy: str = "main", name: str = "gore") -> Part:
    """A piece with curved sides [m], not the same from left to right, and its true offset."""
    half = [(wide / 2 * cosine(1.5 * at / 60), high * sine(1.5 * at / 60)) for at in range(61)]
    sewn = Polygon([*half, *((-x, y) if folded else (-0.9 * x, y) for x, y in reversed(half))])
    cut = sewn.buffer(SEAM, join_style="mitre")
    if folded:
        sewn, cut = (one.intersection(box(-9, -9, 0, 9)) for one in (sewn, cut))
    corners = [tuple(list(one.exterior.coords)[:-1]) for one in (sewn, cut)]
    notch = (-0.45 * wide, 0.3 * high), (-0.45 * wide + SEAM, 0.3 * high)
    grain = (-0.1 * wide, 0.2 * high), (-0.1 * wide, 0.7 * high)
    return Part(canopy, name, 8, *corners, (notch,), grain, ("seams 12 mm", "hem 20 mm"), layers=1 + folded, folds=(((0.0, 0.0), (0.0, 1.0)),) if folded else ())  # type: ignore[arg-type]


MAIN, DROGUE, HALF = gore(0.91, 1.1), gore(0.12, 0.3, canopy="drogue"), gore(0.8, 0.9, True, name="half gore")


def runs(path: str) -> list[list[Point]]:
    """The rows of points of a path of straight lines; a closed one ends where it began."""
    made = []
    for run in path.split("M")[1:]:
        numbers = [float(number) for number in NUMBER.findall(run)]
        spots = list(zip(numbers[::2], numbers[1::2], strict=True))
        made.append([*spots, spots[0]] if run.endswith("Z") else spots)
    return made


def groups(svg: str, class_: str) -> list[ET.Element]:
    return [one for one in ET.fromstring(svg).iter() if one.get("class") == class_]


# --- one file of true size ----------------------------------------------------------------------------


@pytest.mark.parametrize("per", [FULL, MODEL])
def test_the_file_is_as_large_in_millimetres_as_its_units(per: int) -> None:
    root = ET.fromstring(full_size((MAIN, DROGUE), per))
    across, down = (float(root.get(side, "").removesuffix("mm")) for side in ("width", "height"))
    assert [float(number) for number in (root.get("viewBox") or "").split()] == [0, 0, across, down]
    assert root.get("width", "").endswith("mm")
    assert across > 910 / per
    assert down > (1100 + 300) / per


@pytest.mark.parametrize("per", [FULL, MODEL])
@pytest.mark.parametrize("part", [MAIN, DROGUE], ids=["main", "drogue"])
def test_the_cut_outline_in_the_file_is_the_pieces_own(part: Part, per: int) -> None:
    """Turned over about neither axis, anywhere on the sheet; millimetres to a thousandth."""
    piece = groups(full_size((part,), per), "piece")[0]
    drawn = Polygon(runs(next(one.get("d", "") for one in piece if one.get("class") == "cut"))[0])
    wanted = affinity.scale(Polygon(part.cut), 1000 / per, -1000 / per, origin=(0, 0))
    shift = drawn.bounds[0] - wanted.bounds[0], drawn.bounds[1] - wanted.bounds[1]
    assert drawn.hausdorff_distance(affinity.translate(wanted, *shift)) < 2e-3


@pytest.mark.parametrize(("per", "side"), [(FULL, 100), (MODEL, 10)])
def test_the_file_has_a_test_square_of_its_scale(per: int, side: float) -> None:
    (square,) = groups(full_size((MAIN,), per), "square")
    assert [abs(float(number)) for number in NUMBER.findall(square.get("d", ""))][2:] == [side, side, side]
    (diagonal,) = groups(full_size((MAIN,), per), "diagonal")
    (x0, y0), (x1, y1) = runs(diagonal.get("d", ""))[0]
    assert (x1 - x0, y0 - y1) == pytest.approx((side, side))


def test_each_kind_of_line_has_a_look_of_its_own_in_black() -> None:
    marked = replace(HALF, marks=(((-0.1, 0.1), (-0.05, 0.1)),))
    looks = {}
    for one in groups(full_size((marked,)), "piece")[0].iter(f"{SVG}path"):
        assert one.get("stroke") == ("#fff" if one.get("class") == "fold-middle" else "#000")
        looks[one.get("class")] = one.get("stroke-width"), one.get("stroke-dasharray")
    assert {"cut", "sew", "fold", "notch", "mark", "grain"} <= set(looks)
    assert len(set(looks.values())) == len(looks)


def test_the_file_says_what_every_piece_is() -> None:
    told = " ".join(ET.fromstring(full_size((MAIN, DROGUE, HALF))).itertext()).replace("\u00a0", " ")
    for part in (MAIN, DROGUE, HALF):
        listed = f"{part.title}: {part.cutting}; {'; '.join(part.notes)}"
        assert listed in told
    assert told.count("grain along the arrow") == 3
    assert "cut once through 2 layers" in told


def test_letters_are_three_millimetres_high_at_either_scale() -> None:
    """A capital is at least seven tenths of the size of its letters."""
    for made in (full_size((MAIN, DROGUE)), full_size((MAIN, DROGUE), MODEL), *pages((MAIN, DROGUE), PAPERS["a4"])):
        sizes = [float(size) for size in re.findall(r'font-size="([\d.]+)"', made)]
        assert sizes
        assert min(sizes) * 0.7 >= 3


def test_what_is_laid_on_a_fold_is_not_drawn_as_cut() -> None:
    drawn = strokes(HALF)
    assert {kind for kind, run in drawn if all(abs(x) < 1e-6 for x, _ in run)} == {"fold"}
    whole = unary_union([LineString(run) for kind, run in drawn if kind in ("cut", "fold")])
    wanted = Polygon(placed(HALF.cut)).exterior
    assert whole.hausdorff_distance(wanted) < 1e-9
    assert whole.length == pytest.approx(wanted.length, abs=1e-6)


# --- geometry that the drawings rest on ---------------------------------------------------------------

coordinates = st.floats(-20, 20).map(lambda value: round(value, 3))
points = st.tuples(coordinates, coordinates)


@given(points, points)
def test_what_lies_in_a_box_is_what_shapely_finds(start: Point, end: Point) -> None:
    here, found = LineString((start, end)).intersection(box(-5, -3, 8, 6)), clipped(start, end, (-5, -3, 8, 6))
    length = 0.0 if found is None else LineString(found).length
    assert length == pytest.approx(here.length, abs=1e-9)
    if found is not None:
        assert box(-5, -3, 8, 6).buffer(1e-9).contains(LineString(found))


@given(st.floats(10, 60), st.floats(5, 40))
@settings(max_examples=40)
def test_a_label_lies_within_its_piece_and_on_no_line(across: float, down: float) -> None:
    drawn, outline = strokes(DROGUE), placed(DROGUE.finished)
    spot = free_spot((across, down), bounds(outline), drawn, outline)
    if spot is not None:
        label = box(*spot, spot[0] + across, spot[1] + down)
        assert Polygon(outline).contains(label)
        assert not any(LineString(run).intersects(label) for _, run in drawn)
    assert spot is not None or across > 40 or down > 30


def test_inside_is_inside() -> None:
    outline = placed(MAIN.cut)
    shape = Polygon(outline)
    for x in range(-440, 440, 40):
        for y in range(-1080, 0, 40):
            assert inside((x + 0.5, y + 0.5), outline) == shape.contains(box(x + 0.5, y + 0.5, x + 0.5001, y + 0.5001))


# --- sheets -------------------------------------------------------------------------------------------

sizes = st.floats(0.02, 1.6)


@given(sizes, sizes, st.sampled_from(sorted(PAPERS)), st.booleans())
@settings(max_examples=40, deadline=None)
def test_every_line_lies_on_a_sheet_whatever_the_size(across: float, down: float, paper: str, folded: bool) -> None:
    part = gore(across, down, folded)
    tiling = tiles(part, PAPERS[paper])
    pieces = []
    for sheet in tiling.sheets:
        x, y = sheet.column * tiling.step[0], sheet.row * tiling.step[1]
        for kind, run in sheet.strokes:
            assert box(0, 0, *tiling.window).buffer(1e-6).contains(LineString(run))
            pieces += [LineString([(x + px, y + py) for px, py in run])] if kind in ("cut", "fold") else []
    outline = LineString((*tiling.outline, tiling.outline[0]))
    assert outline.difference(unary_union(pieces).buffer(1e-6)).length < 1e-9
    assert unary_union(pieces).difference(outline.buffer(1e-6)).length < 1e-9


def test_sheets_without_anything_of_the_piece_are_left_out_and_named() -> None:
    tiling = tiles(MAIN, PAPERS["a4"])
    assert tiling.left_out
    for row in range(tiling.rows):
        for column in range(tiling.columns):
            x, y = column * tiling.step[0], row * tiling.step[1]
            last = column == tiling.columns - 1, row == tiling.rows - 1
            ends = (size + tiling.overlap * end for size, end in zip(tiling.step, last, strict=True))
            own = box(x, y, x + next(ends), y + next(ends))
            lies = Polygon(tiling.outline).intersects(own)
            assert lies == (tile_name(row, column) not in tiling.left_out)
    told = "".join(pages((MAIN,), PAPERS["a4"])[:1]).replace("\u00a0", " ")
    assert all(name in told for name in tiling.left_out)


def test_a_piece_is_turned_where_that_takes_fewer_sheets() -> None:
    def strip(wide: float, high: float) -> Part:
        corners = ((0, 0), (wide, 0), (wide, high), (0, high))
        return Part("main", "strip", 1, corners, corners, (), ((0.05, 0.05), (0.05, 0.1)), ())

    long, tall = strip(1.1, 0.15), strip(0.15, 1.1)
    assert tiles(long, PAPERS["a4"]).turned
    assert not tiles(tall, PAPERS["a4"]).turned
    assert len(tiles(long, PAPERS["a4"]).sheets) == len(tiles(tall, PAPERS["a4"]).sheets)


def test_turning_a_piece_does_not_turn_it_over() -> None:
    area = sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in pairwise((*placed(MAIN.cut), placed(MAIN.cut)[0])))
    turned = placed(MAIN.cut, turned=True)
    assert sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in pairwise((*turned, turned[0]))) == pytest.approx(area, rel=1e-9)


@pytest.mark.parametrize("size", [(15.0, 15.0), (15.0, 0.5), (0.4, 8.0)])
def test_what_no_one_can_glue_true_is_refused_with_its_limit(size: tuple[float, float]) -> None:
    with pytest.raises(Refusal, match=f"up to {MOST_SHEETS} sheets, {MOST_ACROSS} in a row"):
        tiles(gore(*size), PAPERS["a4"])


def test_a_paper_model_of_a_main_takes_one_sheet() -> None:
    assert [sheet.name for sheet in tiles(MAIN, PAPERS["letter"], per=MODEL).sheets] == ["A1"]


@pytest.mark.parametrize("paper", PAPERS)
def test_neighbours_name_each_other_and_their_crosses_meet(paper: str) -> None:
    """On the glued whole, every cross lies on that of the neighbour."""
    tiling = tiles(MAIN, PAPERS[paper])
    opposite = {"left": "right", "right": "left", "up": "down", "down": "up"}
    sheets = {sheet.name: sheet for sheet in tiling.sheets}
    pictures = dict(zip(sheets, pages((MAIN,), PAPERS[paper])[-len(sheets) :], strict=True))
    rings: dict[str, set[Point]] = {}
    for name, sheet in sheets.items():
        x, y = sheet.column * tiling.step[0] - EDGE, sheet.row * tiling.step[1] - EDGE
        joints = [one.get("d", "") for one in groups(pictures[name], "joint")]
        assert len(joints) == len(sheet.neighbours)
        spots = [runs(path.split("a")[0])[-1][0] for path in joints]
        rings[name] = {(round(px + x, 2), round(py + y, 2)) for px, py in spots}
    for name, sheet in sheets.items():
        for side, other in sheet.neighbours.items():
            assert sheets[other].neighbours[opposite[side]] == name  # type: ignore[index]
            assert rings[name] & rings[other]


def test_every_sheet_says_what_it_is_of() -> None:
    made = pages((MAIN, HALF, DROGUE), PAPERS["a4"])
    at = len(made) - sum(len(tiles(part, PAPERS["a4"]).sheets) for part in (MAIN, HALF, DROGUE))
    for part in (MAIN, HALF, DROGUE):
        tiling = tiles(part, PAPERS["a4"])
        for number, sheet in enumerate(tiling.sheets, 1):
            told = " ".join(ET.fromstring(made[at]).itertext()).replace("\u00a0", " ")
            at += 1
            band = ("; ".join((part.title, part.cutting, "grain along the arrow", *part.notes, "paper A4")))
            assert band in told
            assert f"sheet {number} of {len(tiling.sheets)} · page {at} of {len(made)}" in told
            assert sheet.name in told.split()
            for side in sheet.neighbours.values():
                assert f"lay on {side}" in told or f"glue: {side} lies here" in told
    assert at == len(made)


def text_boxes(svg: str) -> list[tuple[str, tuple[float, float, float, float]]]:
    """Words that are not of a map, each with its room on the page; some read from below upwards."""
    found = []

    def walk(one: ET.Element, size: float, x: float, y: float, upright: bool) -> None:
        size, turn = float(one.get("font-size", size)), one.get("transform", "")
        if one.get("class") == "map":
            return
        if turn:
            assert not upright
            dx, dy, *angle = map(float, NUMBER.findall(turn))
            x, y, upright = x + dx, y + dy, bool(angle)
            assert angle in ([], [-90])
        if one.tag == f"{SVG}text":
            tx, ty, said = float(one.get("x", 0)), float(one.get("y", 0)), one.text or ""
            left, top, right, bottom = tx, ty - 0.75 * size, tx + wide(said, size), ty + 0.2 * size
            level = x + left, y + top, x + right, y + bottom
            found.append((said, (x + top, y - right, x + bottom, y - left) if upright else level))
        for child in one:
            walk(child, size, x, y, upright)

    walk(ET.fromstring(svg), LETTERS, 0, 0, False)
    return found


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("per", [FULL, MODEL])
def test_words_leave_no_page_and_lie_on_no_others(paper: str, per: int) -> None:
    long = replace(DROGUE, name="band along the skirt", notes=("seams 12 mm, flat felled", "hem 20 mm, rolled", "vent bound with tape"))
    for page in pages((MAIN, HALF, DROGUE, long), PAPERS[paper], per):
        across, down = map(float, (ET.fromstring(page).get("viewBox") or "").split()[2:])
        boxes = text_boxes(page)
        for at, (said, (left, top, right, bottom)) in enumerate(boxes):
            assert left >= 0, said
            assert top >= 0, said
            assert right <= across, said
            assert bottom <= down, said
            for other, (l2, t2, r2, b2) in boxes[:at]:
                assert right <= l2 or r2 <= left or bottom <= t2 or b2 <= top, (said, other)


def test_maps_that_the_first_sheet_cannot_hold_follow_on_others() -> None:
    parts = [replace(DROGUE, name=f"strip {number}") for number in range(12)]
    made = pages(parts, PAPERS["a4"])
    maps = [len(groups(page, "map")) for page in made]
    assert sum(maps) == 12
    assert maps[0] > 0
    told = "".join(made).replace("\u00a0", " ")
    assert f"{len(made)} pages with this one" in told


def test_the_callers_sentences_stand_on_the_first_sheet() -> None:
    said = ("This is the rig “North Field”.", "Figures here are where a ground test starts, never a substitute for one.")
    first = " ".join(ET.fromstring(pages((DROGUE,), PAPERS["a4"], said=said)[0]).itertext())
    assert all(sentence in first for sentence in said)


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("per", [FULL, MODEL])
def test_sentences_that_the_first_sheet_cannot_hold_follow_on_another(paper: str, per: int) -> None:
    said = [f"Sentence {number} is one of many that somebody who has only these sheets must read before cutting cloth." for number in range(20)]
    made = pages((MAIN,), PAPERS[paper], per, said)
    told = " ".join("".join(ET.fromstring(page).itertext()) for page in made).replace("\u00a0", " ")
    assert "Sentence 0 is" in told  # whose rig it is: on every sheet of words
    for number in range(1, 20):
        assert told.count(f"Sentence {number} is") == 1
    for page in made:
        high = float((ET.fromstring(page).get("viewBox") or "").split()[3])
        assert all(bottom <= high for _, (_, _, _, bottom) in text_boxes(page))


@pytest.mark.parametrize("wide", [0.91, 0.3], ids=["turned", "upright"])
def test_the_grain_is_named_on_every_sheet_that_it_crosses_and_no_words_lie_on_it(wide: float) -> None:
    """Beside the line to cut off it looked like one; on a strip that is glued over it is said by the sheet that comes there."""
    straight = replace(gore(wide, 1.1), grain=((0.0, 0.1), (0.0, 0.9)))
    tiling = tiles(straight, PAPERS["a4"])
    assert tiling.turned is (wide == 0.91)
    made, named = pages((straight,), PAPERS["a4"])[-len(tiling.sheets) :], 0
    for sheet, page in zip(tiling.sheets, made, strict=True):
        lines = [affinity.translate(LineString(run), EDGE, EDGE) for kind, run in sheet.strokes if kind == "grain" and len(run) == 2]
        words = {said: box(*spot) for said, spot in text_boxes(page)}
        assert not any(spot.intersects(line) for spot in words.values() for line in lines)
        own = box(EDGE, EDGE, EDGE + tiling.window[0] - tiling.overlap, EDGE + tiling.window[1] - tiling.overlap)
        if any(line.intersection(own).length > 120 for line in lines):
            named += 1
            assert min(words["grain, do not cut"].distance(line) for line in lines) < 3
    assert named >= 3


def test_a_notch_is_drawn_in_the_key_as_on_a_piece() -> None:
    """From the line to cut inwards, never across it."""
    first = pages((MAIN,), PAPERS["a4"])[0]
    (notch,) = [runs(one.get("d", ""))[0] for one in groups(first, "notch")]
    level = {y for one in groups(first, "cut") for run in runs(one.get("d", "")) for _, y in run}
    assert notch[0][1] in level
    assert notch[1][1] > notch[0][1]


def test_html_carries_neither_style_nor_script() -> None:
    made = printed((MAIN, DROGUE), PAPERS["letter"])
    assert "style" not in made
    assert "<script" not in made
    assert re.findall(r' on\w+="', made) == []
    assert 'data-paper="letter"' in made
    assert made.count('<svg width="194.9mm" height="258.4mm"') == made.count('class="loft-sheet"')


def test_lines_of_words_are_apart() -> None:
    assert LEAD > 1.2 * LETTERS
    assert LARGE > LETTERS


# --- for machines -------------------------------------------------------------------------------------


def test_a_drawing_read_back_has_the_outline_in_millimetres(tmp_path: Path) -> None:
    write_dxf((MAIN, HALF, DROGUE), tmp_path / "pattern.dxf")
    drawing = ezdxf.readfile(tmp_path / "pattern.dxf")
    assert drawing.header["$INSUNITS"] == 4  # millimetres
    assert not drawing.audit().has_errors
    assert {layer.dxf.name for layer in drawing.layers} >= set(LAYERS)
    for layer, name in (("cut", "cut"), ("sew", "finished")):
        lines = list(drawing.modelspace().query(f'LWPOLYLINE[layer=="{layer}"]'))
        assert len(lines) == 3
        for line, part in zip(lines, (MAIN, HALF, DROGUE), strict=True):
            assert line.closed
            wanted, got = getattr(part, name), [(x, y) for x, y, *_ in line.get_points()]
            shift = got[0][0] - 1000 * wanted[0][0], got[0][1] - 1000 * wanted[0][1]
            assert len(got) == len(wanted)
            for (x, y), (px, py) in zip(got, wanted, strict=True):
                assert (x, y) == pytest.approx((1000 * px + shift[0], 1000 * py + shift[1]), abs=1e-6)
    shapes = [Polygon([(x, y) for x, y, *_ in line.get_points()]) for line in drawing.modelspace().query('LWPOLYLINE[layer=="cut"]')]
    assert not any(a.intersects(b) for at, a in enumerate(shapes) for b in shapes[:at])
    assert len(drawing.modelspace().query('LINE[layer=="notch"]')) == sum(len(part.notches) for part in (MAIN, HALF, DROGUE))
    assert len(drawing.modelspace().query('LINE[layer=="grain"]')) == 3
    told = [one.dxf.text for one in drawing.modelspace().query('TEXT[layer=="text"]')]
    for part in (MAIN, HALF, DROGUE):
        assert part.title in told


def test_the_browser_never_imports_what_is_for_machines() -> None:
    root = Path(__file__).parents[2]
    assert '"loftbook/faces/dxf.py"' in (root / "scripts" / "runtime.py").read_text()
    assert '"loftbook/faces/measuring.py"' in (root / "scripts" / "runtime.py").read_text()  # it prints, by a library for terminals
    importing = [file for file in (root / "calc" / "loftbook").rglob("*.py") if "ezdxf" in file.read_text()]
    assert [file.name for file in importing] == ["dxf.py"]
