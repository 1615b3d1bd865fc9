"""Pictures of worn gear: sound at the left, bad at the right; what is bad is a shape, so that black on white says it.

Pictures are read back from their text.
"""

import re
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

import pytest
from test_sewing_pictures import STYLE, SVG, boxes, of, walked

from loftbook.drawing.svg import WIDTH
from loftbook.drawing.wear import PICTURES, laid_out, worn
from loftbook.log.kinds import PARTS
from loftbook.tables import INSPECTIONS

ALL = {name: worn(name) for name in PICTURES} | {"laid out": laid_out()}


def spots(shape: Element) -> list[tuple[float, float]]:
    """Where a shape reaches."""
    match shape.tag.removeprefix(SVG):
        case "path":
            return [spot for run in walked(shape.attrib["d"]) for spot in run]
        case "circle":
            x, y, r = of(shape, "cx", "cy", "r")
            return [(x - r, y - r), (x + r, y + r)]
        case "rect":
            x, y, wide, high = of(shape, "x", "y", "width", "height")
            return [(x, y), (x + wide, y + high)]
        case "line":
            return [of(shape, "x1", "y1"), of(shape, "x2", "y2")]  # type: ignore[list-item]
    return []


def halves(name: str) -> tuple[list[Element], list[Element]]:
    """Shapes of the left and of the right half, without the line between them."""
    found: tuple[list[Element], list[Element]] = ([], [])
    for shape in ElementTree.fromstring(ALL[name].svg).iter():
        if (there := spots(shape)) and shape.attrib["class"] != "dim":
            xs = [x for x, _ in there]
            assert max(xs) <= WIDTH / 2 or min(xs) >= WIDTH / 2, "on one side"
            found[min(xs) >= WIDTH / 2].append(shape)
    return found


def outline(shape: Element, moved: float) -> str:
    """What is drawn whatever its colour."""
    return " ".join(f"{x - moved:.0f},{y:.0f}" for x, y in spots(shape))


def test_every_picture_is_of_a_row_and_every_row_s_is_there() -> None:
    assert sorted(row.picture for row in INSPECTIONS.values() if row.picture) == sorted(PICTURES)
    with pytest.raises(KeyError):
        worn("rumour")


@pytest.mark.parametrize("name", ALL)
def test_words_stand_in_the_picture_and_apart(name: str) -> None:
    root = ElementTree.fromstring(ALL[name].svg)
    _, _, wide, high = map(float, root.attrib["viewBox"].split())
    assert wide == WIDTH
    assert (root.findtext(f"{SVG}title") or "").endswith(f"{ALL[name].description}")
    said = boxes(ALL[name])
    assert len(said) >= 2
    for i, (left, top, right, bottom, words) in enumerate(said):
        assert left >= -0.5, words
        assert top >= -0.5, words
        assert right <= WIDTH + 0.5, words
        assert bottom <= high + 0.5, words
        for other in said[i + 1 :]:
            assert right <= other[0] or other[2] <= left or bottom <= other[1] + 3 or other[3] <= top + 3, (words, other[4])


@pytest.mark.parametrize("name", ALL)
def test_what_is_drawn_stays_in_the_picture_and_has_a_look(name: str) -> None:
    root = ElementTree.fromstring(ALL[name].svg)
    high = float(root.attrib["viewBox"].split()[3])
    for shape in root.iter():
        for class_ in shape.attrib.get("class", "").split():
            assert re.search(rf"\.{class_}\b", STYLE) or class_ == "text", class_
        for x, y in spots(shape):
            assert -1 <= x <= WIDTH + 1, shape.attrib
            assert -1 <= y <= high + 1, shape.attrib


@pytest.mark.parametrize("name", PICTURES)
def test_bad_differs_from_sound_by_a_shape_not_by_a_colour(name: str) -> None:
    sound, bad = halves(name)
    drawn = {outline(shape, 0) for shape in sound}
    other = [shape for shape in bad if outline(shape, WIDTH / 2) not in drawn]
    assert other, "another shape"
    assert {outline(shape, WIDTH / 2) for shape in bad} != drawn


@pytest.mark.parametrize("name", PICTURES)
def test_each_half_says_what_it_is(name: str) -> None:
    sound, bad = list(ElementTree.fromstring(ALL[name].svg).iter(f"{SVG}text"))
    assert sound.text == "sound"
    assert of(sound, "x")[0] < WIDTH / 2 < of(bad, "x")[0]
    assert bad.attrib["class"] == "text strong"


def test_every_part_that_every_rocket_has_lies_on_the_table() -> None:
    said = {box[4] for box in boxes(ALL["laid out"])}
    assert said == set(PARTS) - {"release device"}
