"""The pictures of the guide, each made from results already computed. Words come from the caller."""

from collections.abc import Callable, Sequence

from loftbook.physics.canopy import Shape, gore_half_width
from loftbook.physics.cord import Hanging
from loftbook.drawing.svg import LETTER, TEXT, WIDTH, Canvas, Drawing
from loftbook.physics.elementary import power, sqrt
from loftbook.physics.folding import Bundle, Sheet, Step, grouped, lay_flat, line_of, mirrored, polygon_area
from loftbook.physics.packing import Stack
from loftbook.physics.scatter import Ellipse, Field
from loftbook.physics.wind import Vector

Length = Callable[[float], str]
FLAT = ("flat polygon", "flat circular", "annular", "cross")


def _shade(layers: int) -> float:
    """Opacity of cloth so many layers thick: each layer hides a twelfth of what is under it, drawn apart or together."""
    return 1 - power(11 / 12, layers)


def _cloth(canvas: Canvas, sheet: Sheet) -> None:
    for facet in sheet.facets:
        canvas.shape("cloth", facet.corners, _shade(facet.layers))


def _middle(sheet: Sheet) -> tuple[float, float]:
    """Centre of the cloth, by area."""
    whole = sum(polygon_area(f.corners) for f in sheet.facets) or 1.0
    x = sum(polygon_area(f.corners) * sum(p[0] for p in f.corners) / len(f.corners) for f in sheet.facets)
    y = sum(polygon_area(f.corners) * sum(p[1] for p in f.corners) / len(f.corners) for f in sheet.facets)
    return x / whole, y / whole


def _numbers(group: tuple[int, ...], total: int) -> str:
    if len(group) == total and total > 2:
        return f"all {total} lines"
    if len(group) > 4:
        return f"{len(group)} lines"
    return "·".join(map(str, group))


def _line_ends(canvas: Canvas, sheet: Sheet, total: int, top: float) -> tuple[float, float]:
    """A mark and a stub of line at each group, with the line numbers; how far words reach left and right of the cloth.

    `top` is the upper edge of the picture in metres: a single group is named above it, out of the way.
    """
    groups = grouped(sheet.lines)
    x0, _, x1, _ = sheet.box
    left = right = 0.0
    for (x, y), group in groups:
        reach = sqrt(x * x + y * y) or 1.0
        ux, uy = x / reach, y / reach
        px, py = canvas.at((x, y))
        canvas.rule("line", (px, py), (px + 10 * ux, py - 10 * uy))
        canvas.dot("corner", (x, y))
        words = _numbers(group, total)
        if len(groups) == 1:
            level = canvas.at((x, top))[1] - 8
            canvas.rule("dim", (px, py - 6), (px, level + 3))
            canvas.words((min(px + 20, WIDTH - 4), level), words, "end")
        else:
            anchor = "start" if ux > 0.5 else "end" if ux < -0.5 else "middle"
            canvas.words((px + 14 * ux, py - 14 * uy + 5 - 3 * uy), words, anchor, optional=True)
            wide = 14 + LETTER * len(words)
            if ux > 0.5:
                right = max(right, px + wide - canvas.at((x1, 0))[0])
            elif ux < -0.5:
                left = max(left, canvas.at((x0, 0))[0] - px + wide)
    return left, right


def fold_step(step: Step, total: int, length: Length, name: str, description: str) -> Drawing:
    """What lies there after a fold, with what it was before as a ghost; swung back, with what it will be."""
    sheet = step.after
    (x0, y0, x1, y1), (gx0, gy0, gx1, gy1) = sheet.box, step.before.box
    ends = step.crease or ()
    x0, y0 = min(x0, gx0, *(x for x, _ in ends)), min(y0, gy0, *(y for _, y in ends))
    x1, y1 = max(x1, gx1, *(x for x, _ in ends)), max(y1, gy1, *(y for _, y in ends))
    groups = grouped(sheet.lines)
    beside = [
        len(_numbers(group, total)) for (x, y), group in groups if len(groups) > 1 and x > 0.5 * sqrt(x * x + y * y)
    ]
    canvas = Canvas(
        (x0, y0, x1, y1),
        left=44,
        right=84 + (14 + LETTER * max(beside) if beside else 0),
        top=40,
        bottom=58,
        tallest=236,
    )
    canvas.words((4, TEXT), f"{step.layers} layer{'s' if step.layers > 1 else ''}", "start")
    if step.after is not step.before:
        for facet in step.before.facets:
            canvas.shape("ghost", facet.corners)
    if step.crease and step.staying and step.moving:
        turned = mirrored(step.moving, *line_of(step.crease))
        _cloth(canvas, step.staying)
        with canvas.turning(*step.crease):
            _cloth(canvas, step.moving)
        canvas.segment("crease", *step.crease)
        canvas.arrow(_middle(step.moving), _middle(turned), 22)
        for facet in turned.facets:  # where it will lie, for the picture before the fold
            canvas.shape("ghost-next", facet.corners)
    else:
        _cloth(canvas, sheet)
        for i in range(1, step.parts):
            at = gx1 - (gx1 - gx0) * i / step.parts
            canvas.segment("crease", (at, gy0), (at, gy1))
    _, right = _line_ends(canvas, sheet, total, y1)
    bx0, by0, bx1, by1 = sheet.box
    canvas.across(bx0, bx1, y0, length(sheet.length), below=26)
    canvas.upright(by0, by1, x1, [length(sheet.width)], beside=14 + right)
    return canvas.drawing(name, description)


def end_on(bundle: Bundle, tube: float, beside: float, length: Length, description: str) -> Drawing:
    """The bundle in the tube, seen from the mouth."""
    radius, half = tube / 2, max(bundle.diameter, tube) / 2
    canvas = Canvas((-half, -half, half, half), left=20, right=110, top=12, bottom=44, tallest=130)
    canvas.disc("tube", (0, 0), radius)
    if beside:
        canvas.disc("airframe", (-radius + beside / 2, 0), beside / 2)
    canvas.disc("bundle" if bundle.diameter <= bundle.widest else "short", (beside / 2, 0), bundle.diameter / 2)
    canvas.across(-radius, radius, -half, f"tube {length(tube)}")
    canvas.upright(-bundle.diameter / 2, bundle.diameter / 2, half, ["bundle", length(bundle.diameter)])
    return canvas.drawing("Bundle in the tube, seen from the mouth", description)


def packed_bay(stack: Stack, tube: float, beside: float, length: Length, description: str) -> Drawing:
    """The bay in section, mouth on top, everything to scale; what is too much stands out above the mouth.

    beside: diameter of a post standing in the bay [m], drawn at its left wall below the shoulder.
    """
    top = max(stack.bay, *(layer.top for layer in stack.layers))
    canvas = Canvas((-tube / 2, 0, tube / 2, top), left=84, right=136, top=20, bottom=20, tallest=400)
    half = tube / 2
    for layer in stack.layers:
        left = -half if layer.item.kind == "shoulder" else beside - half
        canvas.box(layer.item.kind, (left, layer.bottom), (half, layer.top))
    if beside:
        canvas.box("airframe", (-half, 0), (beside - half, stack.bay - stack.layers[-1].item.height))
    if stack.spare > 0:
        shoulder = next(layer for layer in stack.layers if layer.item.kind == "shoulder")
        canvas.box("spare", (beside - half, shoulder.bottom - stack.spare), (half, shoulder.bottom))
    canvas.segment("tube-wall", (-half, 0), (-half, stack.bay))
    canvas.segment("tube-wall", (half, 0), (half, stack.bay))
    canvas.segment("tube-wall", (-half, 0), (half, 0))
    rows = [((layer.bottom + layer.top) / 2, layer.item.name, length(layer.item.height)) for layer in stack.layers]
    if stack.spare > 0:
        rows.append((shoulder.bottom - stack.spare / 2, "left over", length(stack.spare)))
    if stack.spare < 0:
        rows.append((stack.bay, "mouth of the tube", ""))
    _labels(canvas, sorted(rows, reverse=True), half)
    bundle_top = next(layer.top for layer in stack.layers if layer.item.kind == "bundle")
    if bundle_top < stack.bay:
        canvas.upright(
            bundle_top,
            stack.bay,
            -half,
            ["mouth to", "bundle", length(stack.bay - bundle_top)],
            beside=-12,
            anchor="end",
        )
    return canvas.drawing("The packed bay, to scale", description)


def _labels(canvas: Canvas, rows: Sequence[tuple[float, str, str]], x: float) -> None:
    """Two-row labels beside a stack, kept apart, each with a leader to its own height (rows from top to bottom)."""
    pitch = 2 * (TEXT + 2) + 3
    wanted = [canvas.at((x, y))[1] for y, _, _ in rows]
    placed: list[float] = []
    for y in wanted:
        placed.append(max(y, placed[-1] + pitch) if placed else max(y, TEXT))
    canvas.height = max(canvas.height, placed[-1] + 2 * TEXT + 4)
    edge = canvas.at((x, 0))[0]
    for (_, name, size), y_from, y_to in zip(rows, wanted, placed, strict=True):
        canvas.rule("dim", (edge + 2, y_from), (edge + 16, y_to))
        canvas.words((edge + 20, y_to - 1), name, "start")
        if size:
            canvas.words((edge + 20, y_to + TEXT + 1), size, "start", "dim-text")


def hanging(
    state: Hanging, lines: float, tube: float, body: float, canopy_width: float, length: Length, description: str
) -> Drawing:
    """Everything as it hangs under the canopy, to scale along its length; thin things drawn thicker to be seen."""
    low = -max(state.mouth + body, state.nose_tip)
    canvas = Canvas(
        (-canopy_width / 2, low, canopy_width / 2, lines + canopy_width * 0.3),
        left=120,
        right=100,
        top=14,
        bottom=14,
        tallest=400,
    )
    arc = [(canopy_width / 2 * i / 8, lines + canopy_width * 0.3 * (1 - (i / 8) * (i / 8))) for i in range(-8, 9)]
    for x, y in (arc[0], arc[4], arc[12], arc[-1]):
        canvas.segment("line", (x, lines), (0, 0)) if abs(x) > canopy_width / 3 else canvas.segment(
            "line", (x, y), (0, 0)
        )
    canvas.shape("cloth", arc, 0.5)
    canvas.segment("cord", (0, 0), (0, -state.mouth))
    thick = max(tube, 7 / canvas.scale)
    canvas.box("airframe", (-thick / 2, -state.mouth - body), (thick / 2, -state.mouth))
    x = 1.5 * thick
    canvas.segment("cord", (0, -state.nose_top), (x, -state.nose_top))
    canvas.shape("nose", ((x - thick / 2, -state.nose_top), (x + thick / 2, -state.nose_top), (x, -state.nose_tip)))
    canvas.dot("corner", (0, 0))
    right = canopy_width / 2
    canvas.text((0, 0), "line attachment", "end", shift=(-10, 5))
    canvas.upright(
        -state.nose_tip, -state.nose_top, x + thick, ["nose", length(state.nose_tip - state.nose_top)], beside=8
    )
    middle = (state.nose_tip + state.mouth) / 2
    if state.clearance > 0:
        canvas.upright(
            -state.mouth, -state.nose_tip, min(right, x + thick), ["clear by", length(state.clearance)], beside=8
        )
    else:
        canvas.text((x + thick, -middle), f"overlap {length(-state.clearance)}", "start", "dim-text", (8, 24))
    canvas.text((0, -state.mouth - body / 2), "airframe", "end", shift=(-thick * canvas.scale / 2 - 6, 4))
    return canvas.drawing("Hanging under the canopy, to scale along its length", description)


def canopy_plan(
    family: str, shape: Shape, lines: int, ratio: float, vent: float, size: float, length: Length, description: str
) -> Drawing:
    """A flat canopy as it lies; for a shaped one the outline of one gore without allowance."""
    if family in FLAT:
        sheet = lay_flat(family, shape, lines, ratio)
        canvas = Canvas(sheet.box, left=40, right=104, top=34, bottom=56, tallest=230)
        for facet in sheet.facets:
            canvas.shape("cloth", facet.corners, _shade(3))
        if vent:
            canvas.disc("vent", (0, 0), vent * size / 2)
        x0, y0, x1, y1 = sheet.box
        _, right = _line_ends(canvas, sheet, lines, y1)
        canvas.across(x0, x1, y0, length(x1 - x0), below=30)
        if family == "flat polygon" and lines % 2 == 0:
            side = shape.skirt / lines
            canvas.upright(-side / 2, side / 2, x1, ["side", length(side)], beside=14 + right)
        return canvas.drawing("The canopy laid flat, to scale", description)
    edge = [(shape.gore_length * i / 24, gore_half_width(family, shape, i / 24, ratio)) for i in range(25)]
    outline = edge + [(x, -y) for x, y in reversed(edge)]
    widest = max(y for _, y in edge)
    canvas = Canvas((0, -widest, shape.gore_length, widest), left=24, right=90, top=20, bottom=46, tallest=180)
    canvas.shape("cloth", outline, _shade(3))
    canvas.segment("axis", (0, 0), (shape.gore_length, 0))
    canvas.across(0, shape.gore_length, -widest, f"apex to skirt {length(shape.gore_length)}")
    canvas.upright(-edge[-1][1], edge[-1][1], shape.gore_length, ["skirt", length(2 * edge[-1][1])])
    return canvas.drawing("One gore, to scale, without allowance", description)


def landing_map(
    spots: Sequence[Vector],
    ellipse: Ellipse,
    field: Field,
    best: Vector,
    height: Length,
    unit: float,
    description: str,
) -> Drawing:
    """Seen from above, north up, to scale: pad, field, landings, the ellipse that holds nine in ten.

    unit: SI of the reader's unit, for a round scale bar.
    """
    outline = ellipse.outline()
    xs = [x for x, _ in outline] + [-field.west, field.east, -10.0, 10.0]
    ys = [y for _, y in outline] + [-field.south, field.north, -10.0, 10.0]
    canvas = Canvas((min(xs), min(ys), max(xs), max(ys)), left=20, right=20, top=30, bottom=46, tallest=280)
    corners = (
        (-field.west, -field.south),
        (field.east, -field.south),
        (field.east, field.north),
        (-field.west, field.north),
    )
    canvas.shape("field", corners)
    for spot in spots:
        canvas.dot("spot" if field.holds(spot) else "spot outside", spot, 1.5)
    canvas.shape("ellipse", outline)
    canvas.segment("path", (0, 0), best)
    canvas.dot("pad", (0, 0), 5)
    canvas.text((0, 0), "pad", "end", shift=(-8, 5))
    canvas.text((field.west * -1, field.north), "field, north up", "start", shift=(2, -6))
    bar = _round_length((max(xs) - min(xs)) / 4 / unit) * unit
    canvas.across(min(xs), min(xs) + bar, min(ys), height(bar), below=14)
    return canvas.drawing("Where it may land, seen from above, to scale", description)


def _round_length(value: float) -> float:
    """The largest 1, 2 or 5 times a power of ten not above a value."""
    step = 1e-3
    while step * 10 <= value:
        step *= 10
    return step * next(k for k in (5, 2, 1) if step * k <= value)


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
    half = bundle.diameter / 2
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


def bundle_in_room(bundle: Bundle, tube: float, length: Length, name: str, description: str) -> Drawing:
    """The bundle from the side in the room it has: length of bay left for it by the tube's inner diameter, to scale."""
    room, half = max(bundle.room, 0.0), tube / 2
    long = max(room, bundle.length)
    high = max(half, bundle.diameter / 2)
    canvas = Canvas((0, -high, long, high), left=14, right=14, top=26, bottom=40, tallest=110)
    canvas.box("spare", (0, -half), (room, half))
    canvas.box("bundle" if bundle.fits else "short", (0, -bundle.diameter / 2), (bundle.length, bundle.diameter / 2))
    canvas.segment("tube-wall", (0, half), (long, half))
    canvas.segment("tube-wall", (0, -half), (long, -half))
    canvas.words((4, TEXT), f"{name}: {'fits' if bundle.fits else 'does not fit'}", "start")
    canvas.across(0, bundle.length, -high, f"{length(bundle.length)}, {length(bundle.diameter)} across", below=12)
    return canvas.drawing(name, description)
