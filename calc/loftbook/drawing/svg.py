"""A small canvas: metres in, SVG text out. Every picture is 320 units wide, so text of 14 units stays readable
on the narrowest phone. Knows nothing of canopies.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

from loftbook.drawing.markup import Markup, circle, element, lettering, number, rectangle, straight, tenth, vector
from loftbook.physics.elementary import sqrt

WIDTH = 320.0
TEXT = 14
_MARK = 5.0

Point = tuple[float, float]
Length = Callable[[float], str]  # metres in the reader's words


@dataclass(frozen=True)
class Drawing:
    """A finished picture: its name, what a reader who cannot see it is told, the SVG."""

    name: str
    description: str
    svg: Markup


def picture(
    name: str, description: str, size: tuple[float, float], parts: Iterable[Markup], class_: str = ""
) -> Drawing:
    """A drawing of parts in a box of that width and height. It stands alone, and in a page as it is."""
    svg = vector(*size, TEXT, class_, f"{name}. {description}", parts)
    return Drawing(name, description, svg)


LETTER = 8.4  # width of a letter in picture units, on the safe side
_SHIFTS = (0, 16, -16, 32, -32, 48, -48)


class Places:
    """Where words lie already: keeps new ones inside the picture's width and off the others."""

    def __init__(self) -> None:
        self._boxes: list[tuple[float, float, float, float]] = []

    @property
    def lowest(self) -> float:
        """Lower edge of the lowest words."""
        return max((box[3] for box in self._boxes), default=0.0)

    def find(
        self, x: float, y: float, words: str, anchor: str, optional: bool = False, more: float = 0.0
    ) -> Point | None:
        """The spot nearest to (x, y), baseline, where the words can stand; None for optional words without room.

        more: width beyond that of the words [picture units].
        """
        wide = LETTER * len(words) + more
        left = {"start": x, "middle": x - wide / 2, "end": x - wide}[anchor]
        aside = max(0.0, -left) - max(0.0, left + wide - WIDTH)
        y = max(y, 0.8 * TEXT)
        for shift in (0,) if optional else _SHIFTS:
            box = (left + aside, y + shift - 0.8 * TEXT, left + aside + wide, y + shift + 0.25 * TEXT)
            if box[1] >= 0 and self._is_free(box):
                break
        else:
            if optional:
                return None
            box = (left + aside, y - 0.8 * TEXT, left + aside + wide, y + 0.25 * TEXT)
        self._boxes.append(box)
        return x + aside, box[3] - 0.25 * TEXT

    def _is_free(self, box: tuple[float, float, float, float]) -> bool:
        """Whether no words lie there; a unit of height may be shared."""
        left, top, right, bottom = box
        for other_left, other_top, other_right, other_bottom in self._boxes:
            beside = right > other_left and other_right > left
            if beside and bottom > other_top + 1 and other_bottom > top + 1:
                return False
        return True


class Paper:
    """Shapes and words in picture units, x right, y down. Grows downwards when words need it."""

    def __init__(self, height: float) -> None:
        self.height = height
        self._parts: list[Markup] = []
        self._places = Places()

    def add(self, tag: str, class_: str, **attributes: str | None) -> None:
        self._parts.append(element(tag, class_=class_, **attributes))

    def rule(self, class_: str, start: Point, end: Point) -> None:
        """A straight line."""
        self._parts.append(straight(class_, *start, *end))

    def put(self, *made: Markup) -> None:
        """What was made already."""
        self._parts += made

    def measure(self, ends: tuple[Point, Point], tick: Point) -> None:
        """A line of a dimension with a tick across it at both ends, `tick` picture units to either side."""
        (x0, y0), (x1, y1) = ends
        (wide, high), way = tick, f"M{number(x0)} {number(y0)}L{number(x1)} {number(y1)}"
        for x, y in ends:
            way += f"M{number(x - wide)} {number(y - high)}L{number(x + wide)} {number(y + high)}"
        self._parts.append(Markup(f'<path class="dim" d="{way}"/>'))

    def spot(self, class_: str, centre: Point, size: float) -> None:
        """A round mark."""
        self._parts.append(circle(class_, *centre, size))

    def words(
        self, spot: Point, words: str, anchor: str = "middle", class_: str = "text", optional: bool = False
    ) -> None:
        """Words at a spot, moved aside where there is no room; optional ones are then left out."""
        place = self._places.find(spot[0], spot[1], words, anchor, optional)
        if place:
            self._parts.append(lettering(words, class_, *place, anchor))

    def arrow(self, start: Point, end: Point) -> None:
        """A plain straight arrow: the way that something is carried."""
        (x0, y0), (x1, y1) = start, end
        size = sqrt((x1 - x0) * (x1 - x0) + (y1 - y0) * (y1 - y0)) or 1.0
        ux, uy = (x1 - x0) / size, (y1 - y0) / size
        long = min(11.0, 0.7 * size)
        wide = 5 / 11 * long
        self.rule("arrow", (x0, y0), (x1 - 0.7 * long * ux, y1 - 0.7 * long * uy))
        bx, by = x1 - long * ux, y1 - long * uy
        tips = ((x1, y1), (bx + wide * uy, by - wide * ux), (bx - wide * uy, by + wide * ux))
        self.add("polygon", "arrow-head", points=" ".join(f"{tenth(x)},{tenth(y)}" for x, y in tips))

    def fingers(self, spots: Iterable[Point], way: Point) -> None:
        """A pair of finger tips at each spot, pointing the way it is drawn: `way`, one unit long; outlines with their nails."""
        (ux, uy), made = way, ""

        def gone(along: float, aside: float) -> str:
            return f"{tenth(along * ux + aside * uy)} {tenth(along * uy - aside * ux)}"

        tip = f"l{gone(12, 0)}a4 4 0 0 1 {gone(0, -8)}l{gone(-12, 0)}m{gone(12, 5.5)}l{gone(0, -3)}"
        for x, y in spots:
            for aside in (-4.2, 4.2):
                back = 4 - aside
                made += f"M{tenth(x - 10 * ux + back * uy)} {tenth(y - 10 * uy - back * ux)}{tip}"
        self.add("path", "finger", d=made)

    def dots(self, class_: str, spots: Iterable[Point]) -> None:
        """Small round marks, as large as their class says."""
        self.add("path", class_, d="".join(f"M{tenth(x)} {tenth(y)}h0" for x, y in spots))

    def tab(self, centre: Point, words: str) -> None:
        """Words on a small tab, like one that is sewn to a line; nothing where there is no room."""
        self.tabs([(centre, words)])

    def tabs(self, tabs: Iterable[tuple[Point, str]]) -> None:
        """Words on small tabs about their middles, each where there is room."""
        way, said = "", []
        for centre, words in tabs:
            place = self._places.find(centre[0], centre[1] + 5, words, "middle", optional=True, more=5)
            if place is not None:
                wide = LETTER * len(words) + 3
                way += f"M{tenth(place[0] - wide / 2)} {tenth(place[1] - 0.87 * TEXT)}h{tenth(wide)}v{TEXT + 1}h{tenth(-wide)}z"
                said.append(lettering(words, "text", *place, "middle"))
        if way:
            self.add("path", "tab", d=way)
            self._parts += said

    def drawing(self, name: str, description: str, class_: str = "") -> Drawing:
        self.height = max(self.height, self._places.lowest + 2)
        return picture(name, description, (WIDTH, self.height), self._parts, class_)


class Canvas(Paper):
    """Maps a box in metres (x right, y up) onto the picture, same scale both ways."""

    def __init__(
        self,
        box: tuple[float, float, float, float],
        *,
        left: float = 12,
        right: float = 12,
        top: float = 24,
        bottom: float = 24,
        tallest: float = 300,
    ) -> None:
        self.area = box
        x0, y0, x1, y1 = box
        wide, high = max(x1 - x0, 1e-9), max(y1 - y0, 1e-9)
        self.scale = min((WIDTH - left - right) / wide, tallest / high)
        super().__init__(high * self.scale + top + bottom)
        spare = WIDTH - left - right - wide * self.scale
        self._x, self._y = left + spare / 2 - x0 * self.scale, top + y1 * self.scale

    def at(self, point: Point) -> Point:
        """Metres to picture units."""
        return self._x + point[0] * self.scale, self._y - point[1] * self.scale

    def move(self, x: float, y: float) -> None:
        """The metres' origin lies there from now on: another picture beside or under the first."""
        self._x, self._y = x, y

    @contextmanager
    def apart(self, class_: str) -> Iterator[None]:
        """What is drawn inside is a group of that class."""
        kept, self._parts = self._parts, []
        yield
        self._parts = [*kept, element("g", *self._parts, class_=class_)]

    @contextmanager
    def turning(self, start: Point, end: Point) -> Iterator[None]:
        """What is drawn inside is turned over about a crease: shown turned, and able to swing back (class fold-turn)."""
        (x0, y0), (x1, y1) = self.at(start), self.at(end)
        size = sqrt((x1 - x0) * (x1 - x0) + (y1 - y0) * (y1 - y0))
        c, s = (x1 - x0) / size, (y1 - y0) / size
        frame = " ".join(f"{value:.6f}" for value in (c, s, -s, c)) + f" {number(x0)} {number(y0)}"
        back = " ".join(f"{value:.6f}" for value in (c, -s, s, c))
        back += f" {number(-c * x0 - s * y0)} {number(s * x0 - c * y0)}"
        kept, self._parts = self._parts, []
        yield
        inner = element("g", *self._parts, transform=f"matrix({back})")
        turn = element("g", inner, class_="fold-turn", transform="scale(1 -1)")
        self._parts = [*kept, element("g", turn, transform=f"matrix({frame})")]

    def shape(self, class_: str, points: Iterable[Point], opacity: float | None = None, closed: bool = True) -> None:
        """A filled outline, or an open line."""
        spots = " ".join(f"{number(x)},{number(y)}" for x, y in map(self.at, points))
        extra = {} if opacity is None else {"fill_opacity": number(opacity)}
        self.add("polygon" if closed else "polyline", class_, points=spots, **extra)

    def segment(self, class_: str, start: Point, end: Point) -> None:
        self.rule(class_, self.at(start), self.at(end))

    def disc(self, class_: str, centre: Point, radius: float) -> None:
        """A circle of a radius in metres."""
        self.spot(class_, self.at(centre), radius * self.scale)

    def dot(self, class_: str, centre: Point, size: float = 3.5) -> None:
        """A mark of fixed size in picture units."""
        self.spot(class_, self.at(centre), size)

    def box(self, class_: str, low: Point, high: Point) -> None:
        self._parts.append(self.boxed(class_, low, high))

    def boxed(self, class_: str, low: Point, high: Point, opacity: float | None = None) -> Markup:
        """A box that is not put into the picture yet."""
        (x0, y1), (x1, y0) = self.at(low), self.at(high)
        return rectangle(class_, (x0, y0), x1 - x0, max(0.0, y1 - y0), opacity)

    def text(
        self, spot: Point, words: str, anchor: str = "middle", class_: str = "text", shift: Point = (0, 0)
    ) -> None:
        """Words at a spot in metres, shifted in picture units (y down)."""
        x, y = self.at(spot)
        self.words((x + shift[0], y + shift[1]), words, anchor, class_)

    def across(self, x0: float, x1: float, y: float, words: str, below: float = 16) -> None:
        """A horizontal dimension from x0 to x1, `below` picture units under y."""
        (left, at), (right, _) = self.at((x0, y)), self.at((x1, y))
        level = at + below
        self.measure(((left, level), (right, level)), (0, _MARK))
        middle = min(max((left + right) / 2, 60), WIDTH - 60)
        self.words((middle, level + TEXT + 2), words, class_="dim-text")

    def upright(
        self, y0: float, y1: float, x: float, words: Sequence[str], beside: float = 14, anchor: str = "start"
    ) -> None:
        """A vertical dimension from y0 to y1, `beside` picture units right of x (negative: left), words in rows."""
        (at, low), (_, high) = self.at((x, y0)), self.at((x, y1))
        level = at + beside
        self.measure(((level, low), (level, high)), (_MARK, 0))
        shift = 6 if anchor == "start" else -6
        first = (low + high) / 2 - (len(words) - 1) * TEXT / 2 + 5
        for row, line in enumerate(words):
            self.words((level + shift, first + row * (TEXT + 2)), line, anchor, "dim-text")
