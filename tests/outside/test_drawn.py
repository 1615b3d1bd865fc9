"""What is drawn, read back from the SVG text: every fold's outline, line ends and creases against shapely.

The polygon is folded a second time here, by shapely alone, as a person with a paper octagon would: halve about the middle
of what is left, turn, narrow, shorten. The drawing is taken apart into polygons with their transforms, scaled by its own
extent, and compared with that. So a wrong transform, scale or sign in the drawing shows, not only a wrong fold.
"""

import re
from math import cos, pi, radians, sin
from xml.etree import ElementTree

import numpy as np
import pytest
from shapely import affinity, unary_union
from shapely.geometry import LineString, MultiPoint, Polygon
from shapely.ops import split

from loftbook.calculators import folding
from loftbook.case import Case
from loftbook.rig import parse

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


def drawn(svg: str, class_: str, swung_back: bool = False) -> list[np.ndarray]:
    """Corners of all polygons of a class, in picture units with y up; `swung_back` shows a fold before it is made."""
    found: list[np.ndarray] = []

    def walk(element: ElementTree.Element, place: np.ndarray) -> None:
        turn = element.get("transform")
        if swung_back and element.get("class") == "fold-turn":
            turn = None
        place = place @ matrix(turn)
        if element.tag == f"{SVG}polygon" and element.get("class") == class_:
            corners = np.array([[*map(float, pair.split(",")), 1.0] for pair in element.get("points").split()])  # type: ignore[union-attr]
            found.append((corners @ place.T)[:, :2] * [1, -1])
        for child in element:
            walk(child, place)

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


@pytest.mark.parametrize("tube", ["54 mm", "75 mm", "98 mm", "150 mm"])
def test_every_drawn_outline_of_an_octagon_is_that_of_folded_paper(tube: str) -> None:
    case = Case(parse({"rocket.tube": tube, "canopy.sides": "8", "canopy.size": "1.4 m"}))
    stages = [s for s in folding.stages(case) if s.anchor.startswith(("fold-lay", "fold-halve", "fold-lengthwise"))]
    shapes = paper_octagon(1.4, case.clear_tube * case.n("pack.clearance"))
    assert len(stages) == len(shapes) >= 6
    for stage, shape in zip(stages, shapes, strict=True):
        assert stage.drawing
        picture = matched(outline(drawn(stage.drawing.svg, "cloth")), shape)
        assert picture.symmetric_difference(shape).area < 0.006 * shape.area, stage.anchor


@pytest.mark.parametrize("sides", [4, 5, 6, 7, 8, 12, 16])
@pytest.mark.parametrize("family", ["flat polygon", "flat circular", "annular"])
def test_before_and_after_are_drawn_as_the_step_says(family: str, sides: int) -> None:
    """Shown turned, the picture is the state after; swung back, the state before; the ghosts are the other one."""
    case = Case(parse({"canopy.family": family, "canopy.sides": str(sides), "pack.shortening": "in half, and again"}))
    seen = 0
    for stage, step in zip(folding.stages(case)[3:], folding.acts(case), strict=True):
        if not step.crease:
            continue
        assert stage.drawing
        svg = stage.drawing.svg
        for swung, sheet in ((False, step.after), (True, step.before)):
            model = unary_union([Polygon(f.corners).buffer(0) for f in sheet.facets], grid_size=1e-9)
            picture = matched(outline(drawn(svg, "cloth", swung)), model)
            assert picture.symmetric_difference(model).area < 0.01 * model.area, (stage.anchor, swung)
        ghost = outline(drawn(svg, "ghost"))
        assert ghost.symmetric_difference(outline(drawn(svg, "cloth", True))).area < 0.01 * ghost.area
        coming = outline(drawn(svg, "ghost-next"))
        assert coming.difference(outline(drawn(svg, "cloth")).buffer(0.2)).area < 1e-6
        seen += 1
    assert seen >= 3


@pytest.mark.parametrize("sides", [4, 6, 7, 8, 12])
def test_line_ends_are_drawn_at_the_corners(sides: int) -> None:
    """Every group of lines has a mark, at the place its corners were folded to, on the edge of the cloth."""
    case = Case(parse({"canopy.sides": str(sides)}))
    for stage, step in zip(folding.stages(case)[3:], folding.acts(case), strict=True):
        assert stage.drawing
        root = ElementTree.fromstring(stage.drawing.svg)
        marks = {
            (round(float(c.get("cx")), 1), round(-float(c.get("cy")), 1))  # type: ignore[arg-type]
            for c in root.iter(f"{SVG}circle")
            if c.get("class") == "corner"
        }
        spots = {(round(x, 6), round(y, 6)) for (x, y), _ in step.after.lines}
        assert len(marks) == len(spots)
        cloth = outline(drawn(stage.drawing.svg, "cloth"))
        x0, y0, x1, _ = cloth.bounds
        scale = (x1 - x0) / step.after.length
        sx0, sy0 = step.after.box[:2]
        placed = MultiPoint([((x - sx0) * scale + x0, (y - sy0) * scale + y0) for x, y in spots])
        for mark in marks:
            assert placed.distance(MultiPoint([mark])) < 0.7, stage.anchor
        assert cloth.buffer(0.3).contains(placed)


def test_more_layers_are_drawn_denser() -> None:
    """Opacity grows with the count, and laying two piles on each other gives what one pile of the sum would."""
    case = Case(parse({}))
    stage = next(s for s in folding.stages(case) if s.anchor == "fold-halve-3")
    assert stage.drawing
    opacity = {
        float(p.get("fill-opacity"))  # type: ignore[arg-type]
        for p in ElementTree.fromstring(stage.drawing.svg).iter(f"{SVG}polygon")
        if p.get("class") == "cloth"
    }
    (four,) = opacity
    later = next(s for s in folding.stages(case) if s.anchor == "fold-lengthwise-1")
    assert later.drawing
    (eight,) = {
        float(p.get("fill-opacity"))  # type: ignore[arg-type]
        for p in ElementTree.fromstring(later.drawing.svg).iter(f"{SVG}polygon")
        if p.get("class") == "cloth"
    }
    assert 1 - (1 - four) ** 2 == pytest.approx(eight, abs=0.01)
