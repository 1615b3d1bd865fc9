"""Cloth as it lies: layers as density, what is sewn, how lines are named, a canopy laid flat or one gore of it."""

from collections.abc import Iterable
from dataclasses import dataclass

from loftbook.drawing.markup import tenth
from loftbook.drawing.svg import LETTER, TEXT, WIDTH, Canvas, Drawing, Length, Point
from loftbook.physics.canopy import Shape, gore_half_width
from loftbook.physics.elementary import power, sqrt
from loftbook.physics.folding import Sheet, Stitch, lay_flat
from loftbook.physics.remembered import remembered

FLAT = ("flat polygon", "flat circular", "annular", "cross")
_PERSON, _RULE = 1.75, 0.3  # a person, and the rule beside a small canopy [m]
_LAID = 3  # a canopy that only lies there is drawn as dense as so many layers, to be seen


def shade(layers: int) -> float:
    """Opacity of cloth so many layers thick: each layer hides a twelfth of what is under it, drawn apart or together."""
    return 1 - power(11 / 12, layers)


def draw_cloth(canvas: Canvas, sheet: Sheet) -> None:
    for facet in sheet.facets:
        canvas.shape("cloth", facet.corners, shade(facet.layers))


def draw_back(canvas: Canvas, sheet: Sheet) -> None:
    """What lies under cloth hidden by it: paper as large as the cloth, which is drawn over it."""
    way = ""
    for facet in sheet.facets:
        way += "".join(f"{'L' if i else 'M'}{tenth(x)} {tenth(y)}" for i, (x, y) in enumerate(map(canvas.at, facet.corners))) + "z"
    canvas.add("path", "cloth-back", d=way)


def numbers(group: tuple[int, ...], total: int) -> str:
    """The lines of a group as they are named in a picture."""
    if len(group) == total and total > 2:
        return f"all {total} lines"
    if len(group) > 4:
        return f"{len(group)} lines"
    return "·".join(map(str, group))


_GRAIN = 18.0  # picture units between the threads that are drawn


def draw_grain(canvas: Canvas, sheet: Sheet) -> None:
    """The weave of the outside: short threads, by turns along and across."""
    shapes = [[canvas.at(p) for p in facet.corners] for facet in sheet.facets]
    (left, low), (right, high) = canvas.at(sheet.box[:2]), canvas.at(sheet.box[2:])
    made, rows = "", max(1, int((low - high) / _GRAIN))
    for row in range(rows):
        y = high + (row + 0.5) * (low - high) / rows
        spans = [found for corners in shapes if (found := _met(corners, y))]
        for column in range(int((right - left) / _GRAIN)):
            x = left + (column + 0.5) * _GRAIN
            if any(a + 4 < x < b - 4 for a, b in spans):
                made += f"M{tenth(x - 2)} {tenth(y)}h5" if (row + column) % 2 else f"M{tenth(x)} {tenth(y - 2)}v5"
    if made:
        canvas.add("path", "grain", d=made)


def _met(corners: list[Point], y: float) -> Point | None:
    """From where to where a level line runs through a convex outline; None when it misses it."""
    found = [
        x0 + (x1 - x0) * (y - y0) / (y1 - y0)
        for (x0, y0), (x1, y1) in zip(corners, corners[1:] + corners[:1], strict=True)
        if (y0 > y) != (y1 > y)
    ]
    return (min(found), max(found)) if found else None


def draw_sewing(canvas: Canvas, sheet: Sheet) -> None:
    """What is sewn: seams, the hem, the ring at the apex; of many narrow pieces only the outline."""
    draw_seams(canvas, sheet)
    draw_hem(canvas, [stitch for stitch in sheet.sewn if stitch[0] in ("hem", "rim")])
    draw_apex(canvas, sheet)


def draw_seams(canvas: Canvas, sheet: Sheet) -> None:
    """Seams as two stitched lines; of many narrow pieces the outline."""
    seams = ""
    if any(what == "rim" for what, _, _ in sheet.sewn):
        canvas.add("path", "outline", d=_outline(canvas, sheet))
    for what, start, end in sheet.sewn:
        if what != "seam":
            continue
        (x0, y0), (x1, y1) = canvas.at(start), canvas.at(end)
        size = sqrt((x1 - x0) * (x1 - x0) + (y1 - y0) * (y1 - y0)) or 1.0
        ox, oy = 1.5 * (y1 - y0) / size, -1.5 * (x1 - x0) / size
        seams += f"M{tenth(x0 - ox)} {tenth(y0 - oy)}L{tenth(x1 - ox)} {tenth(y1 - oy)}"
        seams += f"M{tenth(x0 + ox)} {tenth(y0 + oy)}L{tenth(x1 + ox)} {tenth(y1 + oy)}"
    if seams:
        canvas.add("path", "seam", d=seams)


def draw_hem(canvas: Canvas, sewn: Iterable[Stitch], *, under: bool = False) -> None:
    """The hem, thick along the edge with its stitch; under: where cloth lies on it, pale and broken."""
    hems, last = "", None
    for _, start, end in sewn:
        (x0, y0), (x1, y1) = canvas.at(start), canvas.at(end)
        first = f"{tenth(x0)} {tenth(y0)}"
        hems += f"{'' if first == last else f'M{first}'}L{(last := f'{tenth(x1)} {tenth(y1)}')}"
    if hems and under:
        canvas.add("path", "hem-under", d=hems)
    elif hems:
        canvas.add("path", "hem", d=hems)
        canvas.add("path", "hem-stitch", d=hems)


def draw_apex(canvas: Canvas, sheet: Sheet) -> None:
    for what, at, _ in sheet.sewn:
        if what == "apex":
            canvas.dot("apex", at, 4.5)


def _outline(canvas: Canvas, sheet: Sheet) -> str:
    """The edges that only one piece of cloth has."""
    edges: dict[object, tuple[Point, Point] | None] = {}
    for facet in sheet.facets:
        spots = [canvas.at(p) for p in facet.corners]
        for (x0, y0), (x1, y1) in zip(spots, spots[1:] + spots[:1], strict=True):
            one, other = (round(x0, 1), round(y0, 1)), (round(x1, 1), round(y1, 1))
            key = (one, other) if one < other else (other, one)
            edges[key] = None if key in edges else ((x0, y0), (x1, y1))
    return "".join(f"M{tenth(a[0])} {tenth(a[1])}L{tenth(b[0])} {tenth(b[1])}" for a, b in filter(None, edges.values()))


def named_lines(group: tuple[int, ...], total: int) -> str:
    """The lines of a group as a tab bears them: all of them from first to last."""
    words = f"1–{total}" if len(group) == total and total > 2 else numbers(group, total)
    return words if len(words) < 8 else f"{len(group)} lines"


@remembered(16)
def canopy_plan(
    family: str,
    shape: Shape,
    lines: int,
    ratio: float,
    vent: float,
    size: float,
    needed: float,
    words: tuple[str, str],
    length: Length,
    description: str,
) -> Drawing:
    """A flat canopy as it lies; for a shaped one the outline of one gore without allowance. A person or a rule beside it.

    needed: the size that is wanted [m], its outline drawn over the other; 0: none is. words: of yours, and of what is needed.
    """
    grown = needed / size
    if family not in FLAT:
        return _gore(family, shape, ratio, grown, words, length, description)
    sheet = lay_flat(family, shape, lines, ratio)
    x0, y0, x1, y1 = sheet.box
    most = max(1.0, grown)
    beside = _Beside.at(x1 * most, y0 * most, x1 - x0)
    box = (x0 * most, y0 * most, beside.right, max(y1 * most, beside.top))
    canvas = Canvas(box, left=14, right=14, top=30, bottom=36, tallest=130)
    for facet in sheet.facets:
        canvas.shape("cloth", facet.corners, shade(_LAID))
    if vent:
        canvas.disc("vent", (0, 0), vent * size / 2)
    if needed:
        for facet in sheet.facets:
            canvas.shape("wanted", [(x * grown, y * grown) for x, y in facet.corners])
    beside.draw(canvas, length)
    _key(canvas, *words)
    canvas.across(x0, x1, y0 * most, length(x1 - x0), below=12)
    return canvas.drawing("Yours laid flat, and the size you need over it" if needed else "The canopy laid flat, to scale", description)


def _key(canvas: Canvas, yours: str, needed: str) -> None:
    """What is drawn how, over the picture; what is needed only where that is known."""
    canvas.words((4, TEXT), yours, "start")
    if needed:
        left = WIDTH - 4 - LETTER * len(needed)
        canvas.rule("wanted", (left - 30, TEXT - 5), (left - 5, TEXT - 5))
        canvas.words((left, TEXT), needed, "start")


@dataclass(frozen=True)
class _Beside:
    """Something of a known size that stands beside a canopy, its foot at (left, foot) [m]: a person, or a rule by a small one."""

    left: float
    foot: float
    tall: float

    @classmethod
    def at(cls, edge: float, foot: float, wide: float) -> "_Beside":
        return cls(edge + 0.12 * wide, foot, _PERSON if wide >= _PERSON / 2 else _RULE)

    @property
    def right(self) -> float:
        return self.left + 0.36 * self.tall

    @property
    def top(self) -> float:
        return self.foot + self.tall

    def draw(self, canvas: Canvas, length: Length) -> None:
        middle, tall = self.left + 0.18 * self.tall, self.tall
        if tall == _RULE:
            canvas.box("scale", (self.left, self.foot), (self.left + 0.1 * tall, self.top))
            for i in range(1, 10):
                canvas.segment("dim", (self.left, self.foot + tall * i / 10), (self.left + 0.05 * tall, self.foot + tall * i / 10))
        else:
            canvas.disc("person", (middle, self.foot + 0.92 * tall), 0.08 * tall)
            for side in (-1, 1):
                canvas.shape("limb", [(middle + side * 0.09 * tall, self.foot), (middle, self.foot + 0.46 * tall), (middle, self.foot + 0.84 * tall)], closed=False)
                canvas.segment("limb", (middle, self.foot + 0.78 * tall), (middle + side * 0.15 * tall, self.foot + 0.5 * tall))
        canvas.text((middle, self.foot), length(tall), "middle", "dim-text", shift=(0, 27))


def _gore(
    family: str, shape: Shape, ratio: float, grown: float, words: tuple[str, str], length: Length, description: str
) -> Drawing:
    edge = [(shape.gore_length * i / 24, gore_half_width(family, shape, i / 24, ratio)) for i in range(25)]
    outline = edge + [(x, -y) for x, y in reversed(edge)]
    widest = max(y for _, y in edge)
    most = max(1.0, grown)
    box = (0, -widest * most, shape.gore_length * most, widest * most)
    canvas = Canvas(box, left=24, right=90, top=36, bottom=46, tallest=180)
    canvas.shape("cloth", outline, shade(_LAID))
    if grown:
        canvas.shape("wanted", [(x * grown, y * grown) for x, y in outline])
    _key(canvas, *words)
    canvas.segment("axis", (0, 0), (shape.gore_length, 0))
    canvas.across(0, shape.gore_length, -widest * most, f"apex to skirt {length(shape.gore_length)}")
    canvas.upright(-edge[-1][1], edge[-1][1], shape.gore_length * most, ["skirt", length(2 * edge[-1][1])])
    return canvas.drawing("One gore, to scale, without allowance", description)
