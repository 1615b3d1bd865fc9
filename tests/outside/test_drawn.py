"""What is drawn, read back from the SVG text: every fold's outline before and after, line ends, hem and creases against shapely.

The polygon is folded a second time here, by shapely alone, as a person with a paper octagon would: halve about the middle
of what is left, turn, narrow, shorten. The drawing is taken apart into polygons with their transforms, scaled by its own
extent, and compared with that. So a wrong transform, scale or sign in the drawing shows, not only a wrong fold.
"""

import re
from math import cos, hypot, pi, radians, sin
from xml.etree import ElementTree

import numpy as np
import pytest
from shapely import affinity, unary_union
from shapely.geometry import LineString, MultiPoint, Polygon
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


def drawn(svg: str, class_: str, swung_back: bool = False, *, before: bool = False) -> list[np.ndarray]:
    """Corners of all polygons of a class in the second picture (`before`: in the first), in picture units with y up.

    `swung_back` shows the second picture before the fold is made.
    """
    found: list[np.ndarray] = []

    def walk(element: ElementTree.Element, place: np.ndarray, after: bool = False) -> None:
        turn = element.get("transform")
        after = after or element.get("class") == "fold-after"
        if swung_back and element.get("class") == "fold-turn":
            turn = None
        place = place @ matrix(turn)
        if element.tag == f"{SVG}polygon" and element.get("class") == class_ and after is not before:
            corners = np.array([[*map(float, pair.split(",")), 1.0] for pair in element.get("points").split()])  # type: ignore[union-attr]
            found.append((corners @ place.T)[:, :2] * [1, -1])
        for child in element:
            walk(child, place, after)

    walk(ElementTree.fromstring(svg), np.eye(3))
    return found


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
        (last,) = [g for g in ElementTree.fromstring(svg).iter(f"{SVG}g") if g.get("class") == "fold-after"]
        marks = {
            (round(float(c.get("cx")), 1), round(-float(c.get("cy")), 1))  # type: ignore[arg-type]
            for c in last.iter(f"{SVG}circle")
            if c.get("class") == "corner"
        }
        spots = {(round(x, 6), round(y, 6)) for (x, y), _ in fold.after.lines}
        assert len(marks) == len(spots)
        cloth = outline(drawn(svg, "cloth"))
        x0, y0, x1, _ = cloth.bounds
        scale = (x1 - x0) / fold.after.length
        sx0, sy0 = fold.after.box[:2]
        placed = MultiPoint([((x - sx0) * scale + x0, (y - sy0) * scale + y0) for x, y in spots])
        for mark in marks:
            assert placed.distance(MultiPoint([mark])) < 0.7, step.anchor
        assert cloth.buffer(0.3).contains(placed)


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


def sewn(svg: str, class_: str) -> list[LineString]:
    """What is sewn in the second picture, piece by piece, y up."""
    (last,) = [g for g in ElementTree.fromstring(svg).iter(f"{SVG}g") if g.get("class") == "fold-after"]
    ways = [p.get("d") or "" for p in last.iter(f"{SVG}path") if p.get("class") == class_]
    pieces = [piece.split("L") for way in ways for piece in way.split("M") if piece]
    return [LineString([[float(n) * s for n, s in zip(spot.split(), (1, -1), strict=True)] for spot in ends]) for ends in pieces]


@pytest.mark.parametrize("sides", [4, 6, 7, 8, 11, 12, 16])
def test_the_hem_is_drawn_where_the_skirt_is_folded_to(sides: int) -> None:
    """Until it is a wedge the skirt stays as far from the apex as it was; sewing lies on cloth, and all folds once on itself."""
    low, high = 0.7, 0.7 / cos(pi / sides)
    worked = one_bay(main__canopy__sides=str(sides), main__canopy__size="1.4 m")
    for step, svg, fold in made(worked, "main"):
        cloth = outline(drawn(svg, "cloth"))
        hem = sewn(svg, "hem")
        assert hem, step.anchor
        assert all(cloth.buffer(0.3).covers(piece) for piece in hem), step.anchor
        assert all(cloth.buffer(2).covers(piece) for piece in sewn(svg, "seam")), step.anchor
        if fold.act not in ("lay out", "halve", "pleat"):
            continue
        scale = (cloth.bounds[2] - cloth.bounds[0]) / fold.after.length
        (apex,) = [
            (float(c.get("cx") or 0), -float(c.get("cy") or 0))
            for g in ElementTree.fromstring(svg).iter(f"{SVG}g") if g.get("class") == "fold-after"
            for c in g.iter(f"{SVG}circle") if c.get("class") == "apex"
        ]  # fmt: skip
        for piece in hem:
            for x, y in piece.coords:
                assert low - 0.01 < hypot(x - apex[0], y - apex[1]) / scale < high + 0.01, step.anchor
        skirt = sides * 2 * (high**2 - low**2) ** 0.5
        shown = sum(piece.length for piece in hem) / scale
        share = fold.wedge / 360 if fold.act != "pleat" or len(fold.after.lines) == 1 else None
        if share:
            assert shown == pytest.approx(skirt * share, rel=0.02), step.anchor
