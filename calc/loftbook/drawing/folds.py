"""Each fold as it is made, the order of the lines, and what is wound round the bundle. Words come from the caller."""

from loftbook.drawing.cloth import draw_cloth, line_ends, numbers
from loftbook.drawing.svg import LETTER, TEXT, WIDTH, Canvas, Drawing, Length
from loftbook.physics.elementary import sqrt
from loftbook.physics.folding import Bundle, Fold, Sheet, grouped, line_of, mirrored, polygon_area
from loftbook.physics.remembered import remembered


def _middle(sheet: Sheet) -> tuple[float, float]:
    """Centre of the cloth, by area."""
    whole = sum(polygon_area(f.corners) for f in sheet.facets) or 1.0
    x = sum(polygon_area(f.corners) * sum(p[0] for p in f.corners) / len(f.corners) for f in sheet.facets)
    y = sum(polygon_area(f.corners) * sum(p[1] for p in f.corners) / len(f.corners) for f in sheet.facets)
    return x / whole, y / whole


def _room_for(fold: Fold, total: int) -> Canvas:
    """A canvas that holds cloth and crease before and after the fold, and the words beside them."""
    (x0, y0, x1, y1), (gx0, gy0, gx1, gy1) = fold.after.box, fold.before.box
    ends = fold.crease or ()
    box = (
        min(x0, gx0, *(x for x, _ in ends)),
        min(y0, gy0, *(y for _, y in ends)),
        max(x1, gx1, *(x for x, _ in ends)),
        max(y1, gy1, *(y for _, y in ends)),
    )
    groups = grouped(fold.after.lines)
    beside = [
        14 + LETTER * len(numbers(group, total))
        for (x, y), group in groups
        if len(groups) > 1 and x > 0.5 * sqrt(x * x + y * y)
    ]
    return Canvas(box, left=44, right=84 + max(beside, default=0), top=40, bottom=58, tallest=236)


@remembered(64)
def fold_step(fold: Fold, total: int, length: Length, name: str, description: str, thick: float = 0.0) -> Drawing:
    """What lies there after a fold, with what it was before as a ghost; swung back, with what it will be.

    thick: of the bundle [m], where this fold ends in it.
    """
    canvas, sheet = _room_for(fold, total), fold.after
    _, y0, x1, y1 = canvas.area
    slab = f", a slab {length(thick)} thick" if thick else ""
    canvas.words((4, TEXT), f"{fold.layers} layer{'s' if fold.layers > 1 else ''}{slab}", "start")
    if fold.after is not fold.before:
        for facet in fold.before.facets:
            canvas.shape("ghost", facet.corners)
    if fold.crease and fold.staying and fold.moving:
        _swing(canvas, fold.crease, fold.staying, fold.moving)
    else:
        draw_cloth(canvas, sheet)
        gx0, gy0, gx1, gy1 = fold.before.box
        for i in range(1, fold.parts):
            at = gx1 - (gx1 - gx0) * i / fold.parts
            canvas.segment("crease", (at, gy0), (at, gy1))
    right = line_ends(canvas, sheet, total, y1)
    left_end, low, right_end, high = sheet.box
    canvas.across(left_end, right_end, y0, length(sheet.length), below=26)
    canvas.upright(low, high, x1, [length(sheet.width)], beside=14 + right)
    return canvas.drawing(name, description)


def _swing(
    canvas: Canvas, crease: tuple[tuple[float, float], tuple[float, float]], staying: Sheet, moving: Sheet
) -> None:
    """The part that is folded over, able to swing back, and where it will lie."""
    turned = mirrored(moving, *line_of(crease))
    draw_cloth(canvas, staying)
    with canvas.turning(*crease):
        draw_cloth(canvas, moving)
    canvas.segment("crease", *crease)
    canvas.arrow(_middle(moving), _middle(turned), 22)
    for facet in turned.facets:  # for the picture before the fold
        canvas.shape("ghost-next", facet.corners)


@remembered(16)
def line_order(total: int, crossed: tuple[int, int] | None, name: str, description: str) -> Drawing:
    """Lines from the skirt (left) to the link (right) in number order, two of them crossed or none. Not to scale."""
    rows = min(total, 12)
    canvas = Canvas((0, 0, 10, rows - 1), left=40, right=40, top=22, bottom=22, tallest=18.0 * rows)
    canvas.segment("cloth-edge", (0, -0.4), (0, rows - 0.6))
    canvas.segment("tube-wall", (10, -0.4), (10, rows - 0.6))
    for i in range(1, rows + 1):
        y = float(rows - i)
        end = y
        if crossed and i in crossed:
            end = float(rows - (crossed[1] if i == crossed[0] else crossed[0]))
        canvas.shape("line", ((0, y), (4, y), (6, end), (10, end)), closed=False)
        canvas.dot("corner", (0, y), 2.5)
        canvas.text((0, y), str(i), "end", shift=(-8, 5))
        canvas.text((10, end), str(i), "start", shift=(8, 5))
    if rows < total:
        canvas.words((WIDTH / 2, canvas.height - 4), f"and so on to line {total}")
    return canvas.drawing(name, description)


def wrapped(bundle: Bundle, turns: float, what: str, length: Length, name: str, description: str) -> Drawing:
    """The bundle from the side, lines to the right, with turns of line (class line) or cord round it."""
    half = bundle.width / 2
    canvas = Canvas((0, -half, bundle.length * 1.5, half), left=16, right=16, top=26, bottom=40, tallest=110)
    canvas.box("bundle", (0, -half), (bundle.length, half))
    count = int(turns)
    pitch = bundle.length / (count + 1)
    for i in range(count):
        x = bundle.length - pitch * (i + 0.6)
        canvas.segment(what, (x, -half), (x - pitch * 0.35, half))
    last = bundle.length - pitch * (count - 0.4) if count else bundle.length
    canvas.shape(
        what,
        ((last, -half if count else 0.0), (bundle.length, -half if count else 0.0), (bundle.length * 1.5, 0.0)),
        closed=False,
    )
    canvas.across(0, bundle.length, -half, length(bundle.length), below=12)
    canvas.words((4, TEXT), f"{count} turn{'s' if count != 1 else ''} of {what}", "start")
    return canvas.drawing(name, description)
