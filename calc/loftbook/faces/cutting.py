"""The pattern of a canopy: its pieces with the reader's words on them, on sheets of paper."""

from loftbook.drawing.markup import Markup, element
from loftbook.drawing.pattern import FULL, Part
from loftbook.errors import Fault, Refusal
from loftbook.faces.render import DEMO, borrowed
from loftbook.faces.sheets import PAPERS, printed
from loftbook.physics.elementary import PI, cosine, sine
from loftbook.physics.outline import Point
from loftbook.quantity import LENGTH
from loftbook.worked.making import Made, Making
from loftbook.worked.worked import Worked

SCALES = {"full": FULL, "model": 10}  # at true size, a paper model
_NOTCH = 0.008  # length of a notch's line beyond the finished edge [m], no longer than the allowance
_ROUND = 96  # straight lines that a hole is marked by


def parts(worked: Worked, key: str) -> tuple[Part, ...]:
    """What a canopy is cut from; () where it has no pattern."""
    made = worked.makings.get(key)
    return tuple([_part(worked, made, one) for one in made.pieces]) if made else ()


def _part(worked: Worked, made: Making, one: Made) -> Part:
    show, out = worked.show, min(_NOTCH, made.allowances["seam"])
    allowed = {edge.sewn: f"{edge.sewn} {show(made.allowances[edge.sewn], LENGTH)}" for edge in one.piece.edges}
    notes: tuple[str, ...] = (f"{made.canopy.family}, {made.canopy.lines} lines, {show(made.canopy.size, LENGTH)}", f"beyond the dashes: {', '.join(allowed.values())}")
    still, asked = borrowed(worked.rig, ["making"])
    notes = (DEMO, *notes) if still == asked else notes
    hole = (_circle((0.0, 0.0), made.hole),) if made.hole and made.whole and one.piece == made.whole.piece else ()
    return Part(
        worked.title(made.canopy.key),
        one.piece.name,
        one.piece.count,
        one.piece.outline,
        one.cut,
        tuple([(notch.point, (notch.point[0] + out * notch.normal[0], notch.point[1] + out * notch.normal[1])) for notch in one.notches]),
        one.piece.grain,
        (*notes, "the circle is cut last") if hole else notes,
        marks=hole,
    )


def _circle(middle: Point, radius: float) -> tuple[Point, ...]:
    turns = [2 * PI * i / _ROUND for i in range(_ROUND + 1)]
    return tuple([(middle[0] + radius * cosine(turn), middle[1] + radius * sine(turn)) for turn in turns])


def pattern(worked: Worked, key: str, paper: str, scale: str) -> list[Markup]:
    """Sheets of a canopy's pattern. Raises `Refusal` for a paper or a scale that is not carried."""
    for given, known, what in ((paper, PAPERS, "paper"), (scale, SCALES, "scale")):
        if given not in known:
            raise Refusal(Fault(message=f"There is no such {what}. There are: {', '.join(known)}.", label=what, given=given[:60], allowed=", ".join(known)))
    found = parts(worked, key)
    if not found:
        return [element("p", f"The {worked.title(key)} has no pattern: without a shape that can be cut as the rig says there is nothing to draw.")]
    return [printed(found, PAPERS[paper], SCALES[scale])]
