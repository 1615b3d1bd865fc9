"""What is drawn, read back from the SVG text: every fold's outline before and after, line ends, hem and creases against shapely.

The polygon is folded a second time here, by shapely alone, as a person with a paper octagon would: halve about the middle
of what is left, turn, narrow, shorten. The drawing is taken apart into polygons with their transforms, scaled by its own
extent, and compared with that. So a wrong transform, scale or sign in the drawing shows, not only a wrong fold.
"""

import re
from itertools import pairwise
from math import cos, hypot, pi, radians, sin
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from shapely import affinity, unary_union
from shapely.geometry import LineString, MultiPoint, Point, Polygon, box
from shapely.ops import split

from loftbook.answer import Step
from loftbook.calculators import CALCULATORS
from loftbook.physics.folding import Fold
from loftbook.rig.fields import ONE_BAY_75
from loftbook.rig.parsing import parse
from loftbook.rig.ways import ONE_CANOPY, TWO_BAYS
from loftbook.worked.worked import Worked

SVG = "{http://www.w3.org/2000/svg}"


def matrix(text: str | None) -> np.ndarray:
    """An SVG transform attribute as a 3 x 3 matrix."""
    if not text:
        return np.eye(3)
    name, numbers = re.fullmatch(r"(\w+)\(([^)]*)\)", text).groups()  # type: ignore[union-attr]
    values = [float(n) for n in numbers.split()]
    if name == "matrix":
        a, b, c, d, e, f = values
        return np.array([[a, c, e], [b, d, f], [0, 0, 1]])
    assert name == "scale"
    return np.diag([values[0], values[1], 1.0])


Parts = list[tuple[ElementTree.Element, np.ndarray, str]]


def parts(svg: str, swung_back: bool = False) -> Parts:
    """Every shape with its place and the picture that it belongs to: "turned" (as it lay), "before" or "after".

    `swung_back` shows the second picture before the fold is made.
    """
    found: Parts = []

    def walk(element: ElementTree.Element, place: np.ndarray, where: str) -> None:
        turn, class_ = element.get("transform"), element.get("class")
        where = {"fold-after": "after", "fold-lay": "turned"}.get(class_ or "", where)
        if swung_back and class_ == "fold-turn":
            turn = None
        if class_ == "film":  # seen only while it swings
            return
        place = place @ matrix(turn)
        if class_ and element.tag != f"{SVG}g":
            found.append((element, place, where))
        for child in element:
            walk(child, place, where)

    walk(ElementTree.fromstring(svg), np.eye(3), "before")
    return found


def placed(place: np.ndarray, spots: list[list[float]]) -> np.ndarray:
    """Spots in picture units, y up."""
    return (np.array([[*spot, 1.0] for spot in spots]) @ place.T)[:, :2] * [1, -1]


def drawn(svg: str, class_: str, swung_back: bool = False, *, before: bool = False, where: str = "") -> list[np.ndarray]:
    """Corners of all polygons of a class in the second picture (`before`: in the first), in picture units with y up."""
    wanted = where or ("before" if before else "after")
    return [
        placed(place, [[*map(float, pair.split(","))] for pair in (element.get("points") or "").split()])
        for element, place, here in parts(svg, swung_back)
        if here == wanted and element.tag == f"{SVG}polygon" and element.get("class") == class_
    ]


def outline(pieces: list[np.ndarray]):
    return unary_union([Polygon(p).buffer(0) for p in pieces], grid_size=1e-4)


def matched(picture, model):
    """The picture's outline scaled and shifted onto the model's extent; the two scales must agree."""
    px0, py0, px1, py1 = picture.bounds
    mx0, my0, mx1, my1 = model.bounds
    across, up = (mx1 - mx0) / (px1 - px0), (my1 - my0) / (py1 - py0)
    assert across == pytest.approx(up, rel=0.01), "not the same scale both ways"
    return affinity.translate(affinity.scale(picture, across, across, origin=(px0, py0)), mx0 - px0, my0 - py0)


def folded_over(shape, line):
    """Halves of a shape on both sides of a directed line; the left one mirrored onto the right one."""
    (x0, y0), (x1, y1) = line.coords
    angle = np.degrees(np.arctan2(y1 - y0, x1 - x0))
    pieces = split(shape, affinity.scale(line, 10, 10)).geoms
    left = [p for p in pieces if (x1 - x0) * (p.centroid.y - y0) - (y1 - y0) * (p.centroid.x - x0) > 0]
    right = [p for p in pieces if p not in left]
    over = [
        affinity.rotate(affinity.scale(affinity.rotate(p, -angle, (x0, y0)), 1, -1, origin=(x0, y0)), angle, (x0, y0))
        for p in left
    ]
    return unary_union(right + over, grid_size=1e-9)


def paper_octagon(across: float, tube: float):
    """Outlines after laying out, three halvings and the lengthwise folds that a tube asks for."""
    radius = across / 2 / cos(pi / 8)
    sheet = Polygon([(radius * cos(radians(22.5 + 45 * i)), radius * sin(radians(22.5 + 45 * i))) for i in range(8)])
    shapes = [sheet]
    for line in (
        LineString([(1, 0), (-1, 0)]),
        LineString([(0, 0), (0, 1)]),
        LineString([(0, 0), (1, 1)]),
    ):
        sheet = folded_over(sheet, line)
        shapes.append(sheet)
    sheet = affinity.rotate(sheet, -22.5, (0, 0))
    while sheet.bounds[3] - sheet.bounds[1] > tube:
        middle = (sheet.bounds[1] + sheet.bounds[3]) / 2
        sheet = folded_over(sheet, LineString([(0, middle), (1, middle)]))
        shapes.append(sheet)
    return shapes


def one_bay(**changes: str) -> Worked:
    """The starting rig of one bay; a path's dots are written as two underscores."""
    return Worked(parse({"rig.start": ONE_BAY_75} | {path.replace("__", "."): text for path, text in changes.items()}))


def made(worked: Worked, canopy: str) -> list[tuple[Step, str, Fold]]:
    """Every fold of a canopy: the step that tells it, its picture, what physics says lies there."""
    own = [f"{canopy}-fold-{act}" for act in ("stretch", "flake-first", "flake-left")]  # on the way to one flaked pile
    answer = CALCULATORS["folding"].answer(worked, canopy)
    steps = [s for s in answer.steps if s.anchor.startswith(f"{canopy}-fold-") and s.anchor not in own]
    return [(step, svg_of(step), fold) for step, fold in zip(steps, worked.folded(canopy).folds, strict=True)]


def svg_of(step: Step) -> str:
    assert step.drawing
    return step.drawing.svg


@pytest.mark.parametrize("tube", ["54 mm", "75 mm", "98 mm", "150 mm"])
def test_every_drawn_outline_of_an_octagon_is_that_of_folded_paper(tube: str) -> None:
    thin = {"main__pack__density": "0.7 g/cm³"}  # so that its width alone says how often it is folded
    worked = one_bay(main__bay__tube=tube, main__canopy__sides="8", main__canopy__size="1.4 m", **thin)
    folded = worked.folded("main")
    rows = [row for row in made(worked, "main") if row[2] in folded.to_strip]
    shapes = paper_octagon(1.4, folded.clear * folded.share)
    assert len(rows) == len(shapes) >= 6
    for (step, svg, _), shape in zip(rows, shapes, strict=True):
        picture = matched(outline(drawn(svg, "cloth")), shape)
        assert picture.symmetric_difference(shape).area < 0.006 * shape.area, step.anchor


def compare_with_model(worked: Worked, canopy: str) -> int:
    """The first picture is the state before; the second the state after and, swung back, that before; both of one scale.

    How many swing.
    """
    seen = 0
    for step, svg, fold in made(worked, canopy):
        if not fold.crease:
            continue
        first, last = outline(drawn(svg, "cloth", before=True)), outline(drawn(svg, "cloth"))
        back = outline(drawn(svg, "cloth", swung_back=True))
        for picture, sheet in ((first, fold.before), (last, fold.after), (back, fold.before)):
            model = unary_union([Polygon(f.corners).buffer(0) for f in sheet.facets], grid_size=1e-9)
            assert matched(picture, model).symmetric_difference(model).area < 0.01 * model.area, step.anchor
        aside = [a - b for a, b in zip(back.bounds, first.bounds, strict=True)]
        assert aside[:2] == pytest.approx(aside[2:], abs=0.05), "not the same scale before and after"
        assert max(map(abs, aside)) > 50, "one picture on the other"
        seen += 1
    return seen


@pytest.mark.parametrize("sides", [4, 5, 6, 7, 8, 12, 16])
@pytest.mark.parametrize("family", ["flat polygon", "flat circular", "annular"])
def test_before_and_after_are_drawn_as_the_step_says(family: str, sides: int) -> None:
    changes = {"main__canopy__family": family, "main__canopy__sides": str(sides), "main__pack__shortening": "in half, and again"}
    assert compare_with_model(one_bay(**changes), "main") >= 3


@pytest.mark.parametrize("shortening", ["back and forth", "in half, and again"])
@pytest.mark.parametrize("way", [ONE_CANOPY, TWO_BAYS])
def test_the_folds_end_in_the_slab_that_is_told_and_seen_in_the_tube(way: str, shortening: str) -> None:
    """The last picture is as long and wide as the bundle, the view from the mouth as wide and thick, in the same tube."""
    worked = Worked(parse({"flight.way": way, "main.pack.shortening": shortening}))
    answer = CALCULATORS["folding"].answer(worked, "main")
    told, (lead, seen) = answer.outputs, answer.drawings
    _, svg, _ = made(worked, "main")[-1]
    x0, y0, x1, y1 = outline(drawn(svg, "cloth")).bounds
    assert (x1 - x0) / (y1 - y0) == pytest.approx(told["bundle_length"] / told["bundle_width"], rel=0.01)  # type: ignore[operator]
    x0, y0, x1, y1 = outline(drawn(lead.svg, "cloth", before=True)).bounds
    assert (x1 - x0) / (y1 - y0) == pytest.approx(told["bundle_length"] / told["bundle_width"], rel=0.01)  # type: ignore[operator]
    (slab,) = [box for box in ElementTree.fromstring(seen.svg).iter(f"{SVG}rect") if box.get("class") == "bundle"]
    (tube,) = [disc for disc in ElementTree.fromstring(seen.svg).iter(f"{SVG}circle") if disc.get("class") == "tube"]
    scale = 2 * float(tube.get("r")) / worked.home("main").tube  # type: ignore[arg-type]
    sides = [float(slab.get(side)) / scale for side in ("width", "height")]  # type: ignore[arg-type]
    assert sides == pytest.approx([told["bundle_width"], told["bundle_thickness"]], rel=0.01)
    assert hypot(*sides) <= 0.92 * worked.home("main").tube * 1.01
    assert sides[0] * sides[1] * told["bundle_length"] == pytest.approx(told["volume"], rel=0.02)  # type: ignore[operator]


@pytest.mark.parametrize("canopy", ["main", "drogue"])
def test_both_canopies_of_two_bays_are_drawn_as_their_steps_say(canopy: str) -> None:
    assert compare_with_model(Worked(parse({})), canopy) >= 3


@pytest.mark.parametrize("sides", [4, 6, 7, 8, 12])
def test_line_ends_are_drawn_at_the_corners(sides: int) -> None:
    """Every group of lines has a mark, at the place its corners were folded to, on the edge of the cloth."""
    for step, svg, fold in made(one_bay(main__canopy__sides=str(sides)), "main"):
        ends = [e.get("d") or "" for e, _, here in parts(svg) if here == "after" and e.get("class") == "line-end"]
        marks = {(float(x), -float(y)) for way in ends for x, y in re.findall(r"M(\S+) (\S+?)h0", way)}
        spots = {(round(x, 6), round(y, 6)) for (x, y), _ in fold.after.lines}
        assert len(marks) == len(spots)
        cloth = outline(drawn(svg, "cloth"))
        x0, y0, x1, _ = cloth.bounds
        scale = (x1 - x0) / fold.after.length
        sx0, sy0 = fold.after.box[:2]
        expected = MultiPoint([((x - sx0) * scale + x0, (y - sy0) * scale + y0) for x, y in spots])
        for mark in marks:
            assert expected.distance(MultiPoint([mark])) < 0.7, step.anchor
        assert cloth.buffer(0.3).contains(expected)


def test_more_layers_are_drawn_denser() -> None:
    """Opacity grows with the count, and laying two piles on each other gives what one pile of the sum would."""
    steps = {step.anchor: svg for step, svg, _ in made(one_bay(), "main")}

    def opacity(anchor: str) -> float:
        (found,) = {
            float(p.get("fill-opacity"))  # type: ignore[arg-type]
            for p in ElementTree.fromstring(steps[anchor]).iter(f"{SVG}polygon")
            if p.get("class") == "cloth"
        }
        return found

    four, eight = opacity("main-fold-halve-3"), opacity("main-fold-lengthwise-1")
    assert 1 - (1 - four) ** 2 == pytest.approx(eight, abs=0.01)


def sewn(svg: str, class_: str, where: str = "after") -> list[LineString]:
    """What is sewn in a picture, piece by piece, y up; of the views from the side nothing."""
    pieces = [
        (place, piece) for element, place, here in parts(svg) if here == where and element.tag == f"{SVG}path"
        if element.get("class") == class_ for piece in (element.get("d") or "").split("M") if piece
    ]  # fmt: skip
    return [LineString(placed(place, [[*map(float, spot.split())] for spot in piece.split("L")])) for place, piece in pieces]


@pytest.mark.parametrize("sides", [4, 6, 7, 8, 11, 12, 16])
def test_the_hem_is_drawn_where_the_skirt_is_folded_to(sides: int) -> None:
    """Until it is a wedge the skirt stays as far from the apex as it was; sewing lies on cloth, and all folds once on itself."""
    low, high = 0.7, 0.7 / cos(pi / sides)
    worked = one_bay(main__canopy__sides=str(sides), main__canopy__size="1.4 m")
    for step, svg, fold in made(worked, "main"):
        cloth = outline(drawn(svg, "cloth"))
        hem = sewn(svg, "hem")
        assert bool(hem) is (fold.act != "shorten"), f"{step.anchor}: hidden by the lengths on it"
        hem += sewn(svg, "hem-under")
        assert hem, step.anchor
        assert all(cloth.buffer(0.3).covers(piece) for piece in hem), step.anchor
        assert all(cloth.buffer(2).covers(piece) for piece in sewn(svg, "seam")), step.anchor
        if fold.act not in ("lay out", "halve", "pleat"):
            continue
        scale = (cloth.bounds[2] - cloth.bounds[0]) / fold.after.length
        (apex,) = [(float(e.get("cx") or 0), -float(e.get("cy") or 0)) for e, _, here in parts(svg) if here == "after" and e.get("class") == "apex"]
        for piece in hem:
            for x, y in piece.coords:
                assert low - 0.01 < hypot(x - apex[0], y - apex[1]) / scale < high + 0.01, step.anchor
        skirt = sides * 2 * (high**2 - low**2) ** 0.5
        shown = unary_union(hem, grid_size=0.5).length / scale
        share = fold.wedge / 360 if fold.act != "pleat" or len(fold.after.lines) == 1 else None
        if share:
            assert shown == pytest.approx(skirt * share, rel=0.02), step.anchor


RIGS = [
    *({"main__canopy__family": "flat polygon", "main__canopy__sides": str(n)} for n in (4, 5, 6, 7, 8, 11, 12, 16, 24, 32)),
    *({"main__canopy__family": name, "main__canopy__sides": "8"} for name in ("flat circular", "annular", "cross", "conical", "hemispherical")),
    {"main__pack__shortening": "in half, and again"}, {"main__bay__tube": "150 mm"},
]  # fmt: skip


def tagged(svg: str, class_: str, where: str) -> list[ElementTree.Element]:
    return [element for element, _, here in parts(svg) if here == where and element.get("class") == class_]


@pytest.mark.parametrize("changes", RIGS, ids=str)
def test_every_arrow_starts_at_the_edge_that_is_carried_and_ends_where_it_comes_to_lie(changes: dict[str, str]) -> None:
    """Its start lies on the rim of what moves, its tip on that same place mirrored about the drawn crease."""
    seen = 0
    for step, svg, fold in made(one_bay(**changes), "main"):
        if not (fold.crease and fold.moving):
            continue
        (arrow,), (head,), (crease,) = (tagged(svg, name, "before") for name in ("arrow", "arrow-head", "fold-here"))
        fingers = tagged(svg, "finger", "before")
        x, y = (float(arrow.get(name) or 0) for name in ("x1", "y1"))
        tip = [*map(float, (head.get("points") or "").split()[0].split(","))]
        line = LineString([[float(crease.get(a) or 0), -float(crease.get(b) or 0)] for a, b in (("x1", "y1"), ("x2", "y2"))])
        cloth = outline(drawn(svg, "cloth", before=True))
        moving = unary_union([Polygon(f.corners).buffer(0) for f in fold.moving.facets], grid_size=1e-9)
        whole = unary_union([Polygon(f.corners).buffer(0) for f in fold.before.facets], grid_size=1e-9)
        scale = (cloth.bounds[2] - cloth.bounds[0]) / (whole.bounds[2] - whole.bounds[0])
        own = affinity.scale(moving, scale, scale, origin=(0, 0))
        own = affinity.translate(own, cloth.bounds[0] - whole.bounds[0] * scale, cloth.bounds[1] - whole.bounds[1] * scale)
        start, end = Point(x, -y), Point(tip[0], -tip[1])
        assert own.exterior.distance(start) < 0.6, step.anchor
        (x0, y0), (x1, y1) = line.coords
        dx, dy = (x1 - x0) / line.length, (y1 - y0) / line.length
        off = 2 * (dx * (start.y - y0) - dy * (start.x - x0))
        assert Point(start.x + off * dy, start.y - off * dx).distance(end) < 0.6, step.anchor
        assert abs(off) > 8, f"{step.anchor}: an arrow that can be seen"
        assert len(fingers) == 1
        grip = [Point(float(a), -float(b)) for a, b in re.findall(r"M(\S+) (\S+?)l", fingers[0].get("d") or "")]
        assert min(own.distance(spot) for spot in grip) < 14, step.anchor
        names = [element.get("class") for element, _, here in parts(svg) if here == "before"]
        assert names.index("finger") > max(i for i, name in enumerate(names) if name in ("hem-stitch", "hem-under")), "hands over the hem"
        seen += 1
    assert seen >= 2


@pytest.mark.parametrize("changes", RIGS, ids=str)
def test_a_picture_takes_up_where_the_one_before_it_left_off(changes: dict[str, str]) -> None:
    """Of the same scale, or it says which way that changed; never turned, except from a picture of how it lay."""
    rows = made(one_bay(**changes), "main")
    for (_, svg, _), (step, following, _) in pairwise(rows):
        last, turned = outline(drawn(svg, "cloth")), drawn(following, "cloth", where="turned")
        first = outline(drawn(following, "cloth", before=True))
        lay = outline(turned) if turned else first
        grown = (lay.bounds[2] - lay.bounds[0]) / (last.bounds[2] - last.bounds[0])
        said = [e.text for e, _, _ in parts(following) if e.tag == f"{SVG}text"]
        assert ("drawn larger" in said) is (grown > 1.05), (step.anchor, grown)
        assert ("drawn smaller" in said) is (grown < 0.95), (step.anchor, grown)
        shape = matched(last, lay)
        assert shape.symmetric_difference(lay).area < 0.015 * lay.area, f"{step.anchor}: turned unsaid"
        assert bool(turned) is any(str(words).startswith("First turn it") for words in said)
        if turned:
            assert lay.area == pytest.approx(first.area, rel=0.02), "one scale in one step"
            (ring,) = tagged(following, "arrow", "turned")
            assert ring.get("x1") == ring.get("x2"), "an upright arrow to the level of the apex"


@pytest.mark.parametrize("changes", RIGS, ids=str)
def test_what_runs_under_cloth_is_under_it(changes: dict[str, str]) -> None:
    """Lines are drawn before cloth; laid out, paper as large as the cloth hides them, and what is seen of them is pale and broken."""
    flat = one_bay(**changes).canopies["main"].family in ("flat polygon", "flat circular", "annular", "cross")
    for step, svg, _ in made(one_bay(**changes), "main"):
        for where in ("before", "after"):
            names = [e.get("class") or "" for e, _, here in parts(svg) if here == where]
            if "cloth" not in names:
                continue
            assert names.index("line") < names.index("cloth"), step.anchor
            spread = flat and step.anchor in ("main-fold-lay-out", "main-fold-halve-1") and (where == "before" or step.anchor.endswith("out"))
            assert ("cloth-back" in names) is spread, (step.anchor, where)
            if not spread:
                continue
            assert names.index("line") < names.index("cloth-back") < names.index("cloth")
            (back,) = tagged(svg, "cloth-back", where)
            pieces = [[[*map(float, spot.split())] for spot in piece.strip("z").split("L")] for piece in (back.get("d") or "").split("M") if piece]
            cloth = outline(drawn(svg, "cloth", where=where))
            hidden = affinity.scale(outline([np.array(piece) for piece in pieces]), 1, -1, origin=(0, 0))
            assert hidden.symmetric_difference(cloth).area < 0.01 * cloth.area
            assert ("line-under" in names) is step.anchor.endswith("out")
    style = (Path(__file__).parents[2] / "docs/assets/style/drawing.css").read_text()
    assert re.search(r"\.cloth-back \{\s*fill: var\(--loft-paper\)", style)
    assert re.search(r"\.line-under \{[^}]*stroke-dasharray", style)


@pytest.mark.parametrize("sides", [8, 12, 16])
def test_of_a_narrowed_strip_only_the_uppermost_hem_is_whole(sides: int) -> None:
    """Folded a second time here by shapely: every layer of the wedge alike, the upper of two halves is what lay undermost."""
    worked = one_bay(main__canopy__sides=str(sides), main__bay__tube="54 mm")
    undermost = None
    for step, svg, fold in made(worked, "main"):
        if fold.act != "lengthwise":
            continue
        assert fold.crease
        if undermost is None:
            undermost = unary_union([LineString(ends) for what, *ends in fold.before.sewn if what == "hem"])
        level = fold.crease[0][1]
        below, above = (undermost.intersection(box(-9, low, 9, high)) for low, high in ((-9, level), (level, 9)))
        top, undermost = affinity.scale(above, 1, -1, origin=(0, level)), below
        cloth, sheet = outline(drawn(svg, "cloth")), fold.after.box
        scale = (cloth.bounds[2] - cloth.bounds[0]) / fold.after.length
        expected = affinity.scale(top, scale, scale, origin=(0, 0))
        expected = affinity.translate(expected, cloth.bounds[0] - sheet[0] * scale, cloth.bounds[1] - sheet[1] * scale)
        assert unary_union(sewn(svg, "hem")).hausdorff_distance(expected) < 0.6, step.anchor
    assert undermost is not None
