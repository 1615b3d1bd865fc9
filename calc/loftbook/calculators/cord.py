"""The recovery cord: least length, what is usual, and whether what hangs from it can strike the airframe."""

from loftbook.answer import Answer, Calculator, Check, CheckKind, Later, Output, Value, Working
from loftbook.drawing import hanging
from loftbook.drawing.svg import Drawing
from loftbook.quantity import LENGTH, NUMBER, at_least, at_most, digits
from loftbook.rig.bay_fields import NOSE_ALONG, TWO_SECTIONS
from loftbook.tables import cited, known, practice, sentence
from loftbook.worked.cord import Rigged
from loftbook.worked.hanging import Hung, Picture
from loftbook.worked.worked import Worked

CORD_LENGTH = CheckKind("cord-length", "Cord length", ("cord.length", "cord.layout", "lines.length", "bay.depth"))
HANGING = CheckKind(
    "hanging-clear", "Parts hang clear", ("cord.length", "cord.gap", "cord.layout", "nose.length", "middle.length")
)
PRACTICE = CheckKind("cord-practice", "Rocket lengths", ("cord.length",))

LEAST, LENGTHS = "least length with allowance", "several rocket lengths"


def length_check(worked: Worked, rigged: Rigged) -> Check:
    have = worked.at_most(rigged.cord.length, LENGTH)
    least, wanted = (worked.at_least(length, LENGTH) for length in (rigged.least, rigged.with_allowance))
    if rigged.cord.length < rigged.least:
        return CORD_LENGTH.fail(
            f"{have} is shorter than the least, {least}: the bundle would be held in the bay by its own cord."
        )
    if rigged.cord.length < rigged.with_allowance:
        return CORD_LENGTH.warn(f"{have}; the least is {least}, with the whole allowance {wanted}.")
    return CORD_LENGTH.hold(f"{have}; the least, with its allowance, is {wanted}.")


def hanging_check(worked: Worked, picture: Picture) -> Check:
    """Of a cord that ties two sides."""
    assert picture.pair
    assert picture.clearance is not None
    above, below = (part.section.name for part in picture.pair)
    apart, short = worked.at_most(picture.clearance, LENGTH), worked.at_least(-picture.clearance, LENGTH)
    if picture.in_line:
        if picture.clearance <= 0:
            return HANGING.fail(f"The cord between {above} and {below} is {short} too short to leave its bay.")
        return HANGING.hold(f"The {below} hangs {apart} below the {above}, on this cord.")
    if picture.clearance <= 0:
        return HANGING.fail(
            f"What hangs side by side overlaps by {short}: {above} and {below} strike each other all the way down. "
            "Lengthen the cord, or tie in higher what hangs forward."
        )
    return HANGING.hold(f"The lower end of the {above} hangs {apart} above the upper end of the {below}.")


def practice_check(worked: Worked, rigged: Rigged) -> Check:
    held = rigged.rocket_lengths >= known("cord_lengths").low
    told = "" if held else "Shorter than high-power practice: the parts part with more jerk. "
    usual = sentence("cord_lengths", worked.rig.units).capitalize()
    lengths = worked.at_most(rigged.rocket_lengths, NUMBER)
    return PRACTICE.holds_if(held, f"{lengths} rocket lengths. {told}{usual}.", source=cited("cord_lengths"))


def drawn(worked: Worked, key: str, picture: Picture) -> Drawing:
    """Everything as it hangs, the distance between the two parts of this cord marked."""
    tube = worked.home(key).tube

    def hung(part: Hung) -> hanging.Hung:
        return hanging.Hung(
            part.section.name, part.top, part.bottom, tube, "nose" if part.nose else "airframe", part.beside
        )

    told = [
        f"{part.section.name} from {worked.show(part.top, LENGTH)} to {worked.show(part.bottom, LENGTH)}"
        for part in picture.parts
    ]
    return hanging.hanging(
        [hung(part) for part in picture.parts],
        [
            hanging.Opened(depth, canopy.line_length, canopy.inflated_most, canopy.name)
            for canopy, depth in picture.canopies
        ],
        [hanging.Leg(leg.top, leg.bottom, leg.beside) for leg in picture.legs],
        (hung(picture.pair[0]), hung(picture.pair[1])) if picture.pair else None,
        worked.writer(LENGTH),
        f"Below the line attachment hang: {'; '.join(told)}.",
    )


def working(worked: Worked, rigged: Rigged, picture: Picture) -> tuple[Working, ...]:
    def show(length: float) -> str:
        return worked.show(length, LENGTH)

    units, cord = worked.rig.units, rigged.cord
    along = cord.layout == NOSE_ALONG
    lines = (f"{show(rigged.lines)} + " if rigged.lines else "") + f"2 × {show(rigged.depth)}"
    lines += f" + {show(cord.gap)}" if along else ""
    shortest, allowance = worked.at_least(rigged.least, LENGTH), show(rigged.with_allowance - rigged.least)
    found = [
        Working(
            "Least cord, anchor to line attachment",
            ("lines + " if rigged.lines else "") + "2 × bay depth" + (" + gap" if along else ""),
            f"{lines} = {shortest}",
            practice("cord_minimum", units),
        ),
        Working(
            "With allowance",
            "least + allowance",
            f"{shortest} + {allowance} = {worked.at_least(rigged.with_allowance, LENGTH)}",
            practice("cord_allowance", units),
        ),
    ]
    if rigged.ties_two:
        row = known("cord_lengths")
        least, most = rigged.usual
        formula = f"{digits(row.low)} to {digits(row.high)} × rocket length"
        found.append(
            Working("High-power practice", formula, f"{show(least)} to {show(most)}", practice("cord_lengths", units))
        )
    if picture.sides:
        found.append(hanging_working(worked, rigged, picture))
    return tuple(found)


def hanging_working(worked: Worked, rigged: Rigged, picture: Picture) -> Working:
    """Of a cord that ties two sides."""
    assert picture.sides
    assert picture.clearance is not None
    assert picture.tip_to_mouth is not None

    def show(length: float) -> str:
        return worked.show(length, LENGTH)

    cord, depth = rigged.cord, show(rigged.depth)
    if picture.in_line:
        numbers = f"{show(cord.free)} − {depth} = {worked.at_most(picture.clearance, LENGTH)}"
        return Working("Hanging", "clearance = cord between the two − bay depth", numbers, "geometry")
    forward = f"{show(cord.gap)} + {show(picture.sides[0].section.length)}"
    numbers = f"({show(cord.length)} − {depth}) − ({forward}) = {worked.at_most(picture.tip_to_mouth, LENGTH)}"
    if picture.clearance < picture.tip_to_mouth:
        numbers += f"; with what hangs on below {worked.at_most(picture.clearance, LENGTH)}"
    return Working("Hanging", "clearance = (cord − bay depth) − (gap + length forward)", numbers, "geometry")


def notes(worked: Worked, rigged: Rigged) -> tuple[str, ...]:
    if not rigged.ties_two:
        return ("This cord ties one part only: it must let the canopy out of the bay, and nothing hangs beside it.",)
    told = [
        "The least length only lets out what the bay holds. Several rocket lengths govern here: a longer cord lets "
        "the parts slow down before it comes tight."
        if rigged.practice_governs
        else "The least length with its allowance is longer than what practice gives in rocket lengths and governs: "
        "shorter, what the bay holds does not clear the tube."
    ]
    if rigged.cord.layout == TWO_SECTIONS:
        told.append(
            "Two sections: the forward leg is tied at the line attachment, beside the cord to the airframe. The "
            "least length is that of the cord to the airframe."
        )
    if rigged.cord.layout == NOSE_ALONG:
        told.append(f"{practice('nose_along', worked.rig.units).capitalize()}.")
    return tuple(told)


def _meeting(worked: Worked, picture: Picture) -> str:
    """Whether what hangs on both its ends can meet."""
    if not picture.pair or picture.clearance is None:
        return "one part hangs on it, and nothing beside it"
    both = " and ".join(part.section.name for part in picture.pair)
    if picture.clearance <= 0:
        return f"{both} strike each other"
    return f"{both} cannot meet, {worked.at_most(picture.clearance, LENGTH)} apart"


def compute(worked: Worked, key: str) -> Answer:
    rigged = worked.rigged[key]
    picture = worked.hangs.picture(key)
    governs = LENGTHS if rigged.practice_governs else LEAST
    usual = rigged.usual if rigged.ties_two else None
    outputs: dict[str, Value | None] = {
        "least": rigged.least,
        "with_allowance": rigged.with_allowance,
        "suggested": rigged.suggested,
        "governs": governs,
        "clearance": picture.clearance,
        "rocket_lengths": rigged.rocket_lengths,
        "usual_least": usual[0] if usual else None,
        "usual_most": usual[1] if usual else None,
        "mouth_depth": picture.sides[1].top if picture.sides else None,
        "nose_tip_depth": picture.sides[0].bottom if picture.sides and not picture.in_line else None,
    }
    least, suggested = (worked.at_least(length, LENGTH) for length in (rigged.with_allowance, rigged.suggested))
    checks = [length_check(worked, rigged)]
    if rigged.ties_two:
        checks += [hanging_check(worked, picture), practice_check(worked, rigged)]
    return Answer(
        outputs,
        f"{worked.at_most(rigged.cord.length, LENGTH)}: {_meeting(worked, picture)}. Suggested: {suggested} ({governs}), never under {least}.",
        tuple(checks),
        Later(lambda: working(worked, rigged, picture)),
        Later(lambda: (drawn(worked, key, picture),)),
        notes=Later(lambda: notes(worked, rigged)),
        cautions=("A cord that parts drops a section: look along it before every flight, people well back.",),
    )


CORD = Calculator(
    "cord",
    "Recovery cord",
    (
        "rig.units",
        "flight.way",
        "rocket.length",
        "rocket.main_bay",
        "nose.length",
        "middle.length",
        "bay.",
        "lines.length",
        "cord.layout",
        "cord.length",
        "cord.gap",
        "cord.allowance",
        "canopy.family",
        "canopy.sides",
        "canopy.across",
        "canopy.size",
        "canopy.slope",
        "canopy.height_ratio",
        "canopy.panel_ratio",
        "canopy.hole_ratio",
        "canopy.area",
    ),
    (
        Output("clearance", "Parts hang clear by", at_most(LENGTH)),
        Output("suggested", "Suggested cord", at_least(LENGTH)),
        Output("least", "Least length", at_least(LENGTH)),
        Output("with_allowance", "With allowance", at_least(LENGTH)),
        Output("governs", "Governed by", None),
        Output("rocket_lengths", "Yours, in rocket lengths", at_most(NUMBER)),
        Output("usual_least", "Usual, at least", at_least(LENGTH), leads=False),
        Output("usual_most", "Usual, at most", LENGTH, leads=False),
        Output("mouth_depth", "Line attachment to mouth", LENGTH, leads=False),
        Output("nose_tip_depth", "Line attachment to nose tip", LENGTH, leads=False),
    ),
    compute,
    (CORD_LENGTH, HANGING, PRACTICE),
    each="cord",
    asks=("cord.length", "cord.layout", "cord.gap"),
)
