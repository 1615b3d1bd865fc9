"""Small pictures beside words: where to put the rule or the scales, the outline of a rocket, the four jobs. Shapes alone."""

from collections.abc import Iterable

from loftbook.drawing.markup import Markup, circle, element, number, rectangle, straight
from loftbook.drawing.rocket import signpost
from loftbook.drawing.svg import Point
from loftbook.physics.elementary import PI, cosine, sine

_SIDES = 8


def _polygon(class_: str, points: Iterable[Point]) -> Markup:
    return element("polygon", class_=class_, points=" ".join(f"{number(x)},{number(y)}" for x, y in points))


def _octagon(centre: Point, across: float) -> list[Point]:
    """A canopy laid flat: width from flat to flat."""
    radius = across / 2 / cosine(PI / _SIDES)
    turns = [(2 * i + 1) * PI / _SIDES for i in range(_SIDES)]
    return [(centre[0] + radius * cosine(turn), centre[1] + radius * sine(turn)) for turn in turns]


def _rule(a: Point, b: Point, tick: Point) -> list[Markup]:
    """A rule laid along something: a bold line with an end mark at both ends."""
    (x, y), made = tick, [straight("measure", *a, *b)]
    return [*made, *(straight("measure", end[0] - x, end[1] - y, end[0] + x, end[1] + y) for end in (a, b))]


def weighed() -> Markup:
    """The whole rocket lying on scales."""
    return signpost(
        (
            _polygon("nose", [(4, 20), (14, 15), (14, 25)]),
            rectangle("airframe", (14, 15), 32, 10),
            _polygon("airframe", [(46, 15), (52, 8), (52, 32), (46, 25)]),
            rectangle("tube", (12, 28), 32, 5),
            _polygon("device", [(16, 33), (40, 33), (46, 50), (10, 50)]),
            circle("spare", 28, 42, 6),
            straight("measure", 28, 42, 31, 38),
        ),
        "Lay the whole rocket on the scales",
    )


def across_tube() -> Markup:
    """The mouth of a tube, a rule from inner wall to inner wall."""
    return signpost(
        (circle("airframe", 28, 28, 22), circle("spare", 28, 28, 17), *_rule((11, 28), (45, 28), (0, 5))),
        "Measure inside the tube, from wall to wall",
    )


def down_bay() -> Markup:
    """A bay cut open, a rule from its mouth to what stops things."""
    return signpost(
        (
            rectangle("spare", (16, 6), 24, 38),
            rectangle("airframe", (14, 44), 28, 6),
            straight("tube-wall", 15, 6, 15, 46),
            straight("tube-wall", 41, 6, 41, 46),
            *_rule((28, 7), (28, 43), (6, 0)),
        ),
        "Measure from the mouth down to what stops things",
    )


def across_canopy() -> Markup:
    """A canopy laid flat, a rule from flat to flat."""
    return signpost(
        (_polygon("cloth", _octagon((28, 28), 44)), circle("vent", 28, 28, 3), *_rule((6, 28), (50, 28), (0, 5))),
        "Lay it flat and measure from flat to flat",
    )


def counted_lines() -> Markup:
    """A canopy with the ends of its lines to be counted."""
    corners = _octagon((28, 28), 30)
    lines = [straight("line", x, y, 28 + 1.6 * (x - 28), 28 + 1.6 * (y - 28)) for x, y in corners]
    tabs = [circle("corner", 28 + 1.6 * (x - 28), 28 + 1.6 * (y - 28), 2.6) for x, y in corners]
    return signpost((_polygon("cloth", corners), *lines, *tabs), "Count the lines")


def along_cord() -> Markup:
    """A cord pulled straight from its anchor to where the lines meet."""
    return signpost(
        (
            rectangle("airframe", (2, 16), 8, 16),
            straight("cord", 10, 24, 44, 24),
            *(straight("line", 44, 24, 54, y) for y in (12, 20, 28, 36)),
            circle("corner", 44, 24, 3),
            *_rule((10, 42), (44, 42), (0, 5)),
        ),
        "Pull it straight, from its anchor to where the lines meet",
    )


def rocket_sign(long: float, tube: float, bays: int) -> Markup:
    """A rocket and its bays, as long and as wide as others beside it: 3.4 m fill the picture; thick enough to be seen."""
    scale = 52 / 3.4
    wide, high = max(3.0, 3 * tube * scale), long * scale
    top, middle = 54 - high, 28.0
    made = [
        _polygon("nose", [(middle, top), (middle + wide / 2, top + high * 0.2), (middle - wide / 2, top + high * 0.2)]),
        rectangle("airframe", (middle - wide / 2, top + high * 0.2), wide, high * 0.8),
        *(
            _polygon("airframe", [(middle + s * wide / 2, 46), (middle + s * (wide / 2 + 5), 50), (middle + s * (wide / 2 + 5), 54), (middle + s * wide / 2, 54)])
            for s in (-1, 1)
        ),
        *(rectangle("bundle", (middle - wide / 2, top + high * (0.26 + 0.3 * i)), wide, high * 0.16) for i in range(bays)),
    ]
    return element("svg", *made, viewBox="14 0 28 56", aria_hidden="true", class_="loft-tiny")


# --- the four jobs ------------------------------------------------------------------------------------------


def _tile(*made: Markup) -> Markup:
    return element("svg", *made, viewBox="0 0 96 64", aria_hidden="true", class_="loft-tilesign")


def sized() -> Markup:
    """The canopy that is needed round the one there is, each with its seam."""
    return _tile(
        _polygon("cloth pale", _octagon((48, 32), 58)),
        _polygon("cloth", _octagon((48, 32), 38)),
        *_rule((19, 32), (77, 32), (0, 5)),
    )


def folded() -> Markup:
    """Layers of cloth laid on each other, the lines to one side."""
    return _tile(
        _polygon("cloth pale", [(14, 14), (60, 14), (60, 50), (14, 50)]),
        _polygon("cloth", [(14, 14), (37, 14), (37, 50), (14, 50)]),
        straight("seam", 17, 14, 17, 50),
        straight("seam", 20, 14, 20, 50),
        *(straight("line", 60, y, 90, 32) for y in (20, 28, 36, 44)),
        circle("corner", 90, 32, 2.6),
    )


def packed() -> Markup:
    """A bay cut open on its side, what lies in it in order."""
    return _tile(
        rectangle("spare", (8, 18), 68, 28),
        rectangle("protector", (8, 18), 10, 28),
        rectangle("cord", (18, 18), 12, 28),
        rectangle("bundle", (30, 18), 28, 28),
        rectangle("cord", (58, 18), 8, 28),
        element("polyline", class_="tube-wall", points="78,18 8,18 8,46 78,46"),
        rectangle("shoulder", (70, 20), 10, 24),
        _polygon("nose", [(80, 16), (94, 32), (80, 48)]),
    )


def ticked() -> Markup:
    """A card with acts, the first ones done."""
    made = [rectangle("tube", (26, 4), 44, 56)]
    for i, y in enumerate((12, 26, 40)):
        made.append(rectangle("spare", (32, y), 9, 9))
        made.append(straight("line", 46, y + 4.5, 64, y + 4.5))
        if i < 2:
            made += [straight("measure", 33, y + 5, 36, y + 8), straight("measure", 36, y + 8, 42, y)]
    return _tile(*made)
