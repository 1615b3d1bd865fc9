"""The pattern of a canopy: its pieces with the reader's words on them, on sheets of paper."""

from collections.abc import Mapping, Sequence
from itertools import pairwise

from loftbook.calculators.making import MAKING
from loftbook.drawing.markup import Markup, element
from loftbook.drawing.pattern import FULL, MODEL, Part, full_size
from loftbook.errors import Fault, Refusal
from loftbook.faces.render import DEMO, borrowed
from loftbook.faces.sheets import PAPERS, printed
from loftbook.physics import gores
from loftbook.physics.elementary import PI, arctangent, cosine, sine, sqrt
from loftbook.physics.form import Form
from loftbook.physics.gores import Wedge
from loftbook.physics.outline import Piece, Point
from loftbook.quantity import FORCE, LENGTH, System, to_mark
from loftbook.rig.making_fields import LOOP, ONE_WAY, OVER_SEAM, V_TAB
from loftbook.worked.making import PATCH, Made, Making
from loftbook.worked.worked import Worked

SCALES = {"full": FULL, "model": MODEL}  # at true size, a paper model
_GLUED = 0.002  # how far glued paper may be off [m], our choice: as far as pieces may differ
_LEVEL = 1e-6  # what is as high or as long as something else [m]
_ROUND = 96  # straight lines that a hole is marked by


def parts(worked: Worked, key: str, folding: bool = False) -> tuple[Part, ...]:
    """What a canopy is cut from; () where it has no pattern. folding: of one piece the wedge that is marked on folded cloth."""
    made = worked.makings.get(key)
    if made is None:
        return ()
    if folding and made.wedge and made.pieces:
        return (_folded(worked, made, made.wedge),)
    return tuple([_part(worked, made, one) for one in made.pieces])


def _demo(worked: Worked) -> tuple[str, ...]:
    """Whose rig it is, while nothing of it is the reader's."""
    still, asked = borrowed(worked.rig, ["making"])
    return (DEMO,) if still == asked else ()


def _told(worked: Worked, made: Making, piece: Piece) -> tuple[str, ...]:
    """What stands on a piece: whose rig it is, which canopy, its allowances."""
    show = worked.show
    allowed = {edge.sewn: f"{edge.sewn} {show(made.allowances[edge.sewn], LENGTH)}" for edge in piece.edges if edge.sewn in ("seam", "hem")}
    size = f"{made.canopy.family}, {made.canopy.lines} lines, {show(made.canopy.size, LENGTH)}{_meant(made)}"
    one_way = made.canopy.said.text("make.way") == ONE_WAY
    bare = [*([_BARE] if any(edge.sewn == "vent" for edge in piece.edges) else []), *([_ONE_WAY] if one_way else [])]
    return (*_demo(worked), size, f"dashes: {_dashes(made)}; beyond them: {', '.join(allowed.values())}", *bare)


def _dashes(made: Making) -> str:
    """What the dashes are."""
    from loftbook.calculators.making_words import DASHES  # fetched when somebody asks

    return DASHES[made.seam.name]


def _seamed(worked: Worked, made: Making) -> str:
    """Where lines come on at a gore, whose seam is drawn."""
    up = {LOOP: f"{to_mark(made.sewn_on / 2, worked.rig.units)} up the seam", OVER_SEAM: "all along the seam", V_TAB: "each to a V of tape"}
    return f"lines: at its lower corners, {up[made.fastened]}"


def _meant(made: Making) -> str:
    """How the size is meant, where it could be meant otherwise."""
    return {"flat polygon": " flat to flat", "cross": " end to end"}.get(made.canopy.family, " across")


_LAST = "the circle is cut last"
_LINES = "short dots: where a line lies"
_BARE = "at the hole nothing is added"
_ONE_WAY = "all pieces the same way up the cloth"


def _part(worked: Worked, made: Making, one: Made) -> Part:
    out, whole = made.allowances["seam"], made.whole
    hole = (_arc(whole.middle, whole.hole, 0.0, 2 * PI),) if whole and whole.hole and one.piece == whole.piece else ()
    told = _told(worked, made, one.piece)
    gore = one.piece.name == "gore"  # there a line lies on the seam, which is drawn
    places = [*hole, *([] if gore else _lines_come_on(made.form, one.piece, whole.middle if whole else (0.0, 0.0)))]
    return Part(
        worked.title(made.canopy.key),
        one.piece.name,
        one.piece.count,
        one.piece.outline,
        one.cut,
        tuple([(notch.point, (notch.point[0] + out * notch.normal[0], notch.point[1] + out * notch.normal[1])) for notch in one.notches]),
        one.piece.grain,
        (*told, _seamed(worked, made) if gore else _LINES, *([_LAST] if hole else [])),
        marks=tuple(places),
        dashes=f"{_dashes(made)}: fold the paper in here and trace it",
    )


def _lines_come_on(form: Form, piece: Piece, middle: Point) -> list[tuple[Point, ...]]:
    """A short mark from each place where a line comes on, a patch's length along its seam, or without one towards the middle."""
    found: list[tuple[Point, ...]] = []
    seams = [ends for edge in piece.edges if edge.sewn in ("seam", "fold") for ends in (edge.points[:2], edge.points[: -3 : -1])]
    for x, y in gores.line_places(form, piece):
        towards = next((second for first, second in seams if first == (x, y)), middle) if piece.name in ("gore", "wedge") else middle
        dx, dy = towards[0] - x, towards[1] - y
        long = sqrt(dx * dx + dy * dy)
        share = min(1.0, PATCH / long) if long else 0.0
        found.append(((x, y), (x + dx * share, y + dy * share)))
    return found


def _folded(worked: Worked, made: Making, wedge: Wedge) -> Part:
    piece = wedge.piece
    folds = tuple([(edge.points[0], edge.points[-1]) for edge in piece.edges if edge.sewn == "fold"])
    apex = folds[0][1]
    ends = sorted({end for fold in folds for end in fold if end != apex})
    turns = [arctangent((x - apex[0]) / (apex[1] - y)) for x, y in ends]
    hole = (_arc(apex, wedge.hole, turns[0] - PI / 2, turns[-1] - PI / 2),) if wedge.hole else ()
    told = _told(worked, made, piece)
    return Part(
        worked.title(made.canopy.key),
        piece.name,
        1,
        piece.outline,
        piece.cut(made.allowances),
        (),
        piece.grain,
        (*told, _LINES, _LAST) if hole else (*told, _LINES),
        marks=(*hole, *_lines_come_on(made.form, piece, apex)),
        layers=wedge.layers,
        folds=folds,
        dashes=f"{_dashes(made)}: trace it",
    )


def _arc(middle: Point, radius: float, start: float, end: float) -> tuple[Point, ...]:
    """Points on a circle from one angle to another [radians]."""
    turns = [start + (end - start) * i / _ROUND for i in range(_ROUND + 1)]
    return tuple([(middle[0] + radius * cosine(turn), middle[1] + radius * sine(turn)) for turn in turns])


def _glued(worked: Worked, found: tuple[Part, ...]) -> str:
    """What the paper of each piece measures when it is glued, between its cut edges."""
    units = worked.rig.units
    sizes = "; ".join(_measured(part, units) for part in found)
    return f"Measure the glued paper from cut edge to cut edge before you cut any cloth: {sizes}. More than {to_mark(_GLUED, units)} off: glue it again."


def _measured(part: Part, units: System) -> str:
    """What a piece measures across, and along where a tape is laid: on its grain line, or as it reaches furthest."""
    xs, ys = [x for x, _ in part.cut], [y for _, y in part.cut]
    across, along = to_mark(max(xs) - min(xs), units), to_mark(max(ys) - min(ys), units)
    feet = [x for x, y in part.cut if y - min(ys) < _LEVEL]
    hem = f"{part.name} {across} {'along its hem' if max(feet) - min(feet) > max(xs) - min(xs) - _LEVEL else 'across, where it is widest'}"
    if part.name not in ("gore", "wedge"):
        return f"{hem}, and {along} along its grain, each between its furthest edges"
    grain = _on_line(part.cut, part.grain[0][0])
    if max(ys) - min(ys) - grain < _LEVEL:
        return f"{hem}, and {along} on its grain line"
    return f"{hem}; {to_mark(grain, units)} on its grain line, from hem to hole; {along} from the middle of the hem, square to it, to a ruler laid across both tips beside the hole"


def _on_line(outline: Sequence[Point], x: float) -> float:
    """How long an upright line at x is within an outline [m], from where it first meets it to where it last does."""
    met = [
        y0 + (y1 - y0) * (x - x0) / (x1 - x0) if x1 != x0 else y0
        for (x0, y0), (x1, y1) in pairwise([*outline, outline[0]])
        if min(x0, x1) <= x <= max(x0, x1)
    ]
    return max(met) - min(met)


def _said(worked: Worked, key: str, found: tuple[Part, ...], scale: str) -> tuple[str, ...]:
    """What stands on the first sheet, so that someone who has nothing but the sheets can cut and sew."""
    made, answer, show = worked.makings[key], MAKING.answer(worked, key), worked.show
    whose = [f"{demo}." for demo in _demo(worked)]
    lines = (
        f"{made.canopy.lines} lines (and {made.spare} spare) {to_mark(made.line_cut, worked.rig.units, up=True)} long as cut, slack; {to_mark(made.pegs, worked.rig.units)} "
        f"between their marks under {show(made.tension, FORCE)}. {made.canopy.lines} patches, and 1 for the sample, {to_mark(made.patch, worked.rig.units)} square, grain along the seam, from what is left over: no pattern."
    )
    said = made.canopy.said
    seam = (
        f"Seams: {made.seam.name}, {show(made.seam_width, LENGTH)} wide. Hem: {made.hem.name}, {show(made.hem_width, LENGTH)}. "
        f"{said.text('make.thread')}, stitches of {show(said.number('make.stitch'), LENGTH)}. Lines {made.fastened}."
    )
    more = "Print the page Make it, too: it has every step with its picture, what to have at hand, and the cautions."
    fails = [f"Fails: {check.reason}" for check in answer.checks if check.verdict == "fail"]
    glued = [_glued(worked, found)] if scale == "full" else []
    sewn = (seam, lines) if scale == "full" else ()  # of a paper model nothing is sewn
    return (*whose, f"{worked.rig.text('rig.name')}.", *fails, *answer.cautions, *glued, answer.summary, *sewn, more)


def outline(worked: Worked, key: str, scale: str) -> str:
    """Every piece in one picture, an SVG in millimetres. Raises `Refusal` for a scale that is not carried, or without a pattern."""
    _known(scale, SCALES, "scale")
    found = parts(worked, key)
    if not found:
        raise Refusal(Fault(message=_NONE.format(worked.title(key)), field=f"{key}.make.cut", label="Cut from"))
    return full_size(found, SCALES[scale])


_NONE = "The {} has no pattern: without a shape that can be cut as the rig says there is nothing to draw."


def _known(given: str, known: Mapping[str, object], what: str) -> None:
    if given not in known:
        allowed = ", ".join(known)
        raise Refusal(Fault(message=f"There is no such {what}. There are: {allowed}.", label=what, given=given[:60], allowed=allowed))


def pattern(worked: Worked, key: str, paper: str, scale: str) -> list[Markup]:
    """Sheets of a canopy's pattern. Raises `Refusal` for a paper or a scale that is not carried, and for too many sheets."""
    _known(paper, PAPERS, "paper")
    _known(scale, SCALES, "scale")
    found = parts(worked, key, folding=True)
    if not found:
        return [element("p", _NONE.format(worked.title(key)))]
    return [printed(found, PAPERS[paper], SCALES[scale], _said(worked, key, found, scale))]
