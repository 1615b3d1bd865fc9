"""The recovery cord: least length, what is usual, and whether what hangs from it can strike the airframe."""

from loftbook.physics import cord
from loftbook.case import Case
from loftbook.answer import Answer, Calculator, Check, Output, Value, Verdict, Working
from loftbook.drawing import pictures
from loftbook.fields import NOSE_ALONG, TWO_SECTIONS
from loftbook.quantity import LENGTH, NUMBER, digits
from loftbook.tables import practice


def length_check(case: Case) -> Check:
    have, least, show = case.n("cord.length"), case.least_cord, case.show
    wanted = least + case.n("cord.allowance")
    if have < least:
        return Check(
            "cord-length",
            "fail",
            "Cord length",
            f"{show(have, LENGTH)} is shorter than the least, {show(least, LENGTH)}: the bundle would be held in "
            "the bay by its own cord.",
        )
    if have < wanted:
        return Check(
            "cord-length",
            "warn",
            "Cord length",
            f"{show(have, LENGTH)} is above the least, {show(least, LENGTH)}, but without the whole allowance "
            f"({show(wanted, LENGTH)}).",
        )
    return Check(
        "cord-length",
        "pass",
        "Cord length",
        f"{show(have, LENGTH)} is at least {show(wanted, LENGTH)}, the least with its allowance.",
    )


def hanging_check(case: Case) -> Check:
    state, show = case.hanging, case.show
    if state.clearance <= 0:
        return Check(
            "hanging-clear",
            "fail",
            "Nose hangs clear",
            f"The nose reaches {show(-state.clearance, LENGTH)} past the mouth of the airframe: they strike each "
            "other all the way down. Lengthen the cord below the nose, or tie the nose in higher.",
        )
    return Check(
        "hanging-clear",
        "pass",
        "Nose hangs clear",
        f"The tip of the nose hangs {show(state.clearance, LENGTH)} above the mouth of the airframe.",
    )


def practice_check(case: Case) -> Check:
    lengths = case.n("cord.length") / case.n("rocket.length")
    verdict: Verdict = "pass" if lengths >= cord.FEWEST_ROCKET_LENGTHS else "warn"
    told = "Shorter than high-power practice: the parts part with more jerk. " if verdict == "warn" else ""
    return Check(
        "cord-practice",
        verdict,
        "Rocket lengths",
        f"{digits(lengths)} rocket lengths. {told}{practice('cord_lengths').capitalize()}.",
    )


def compute(case: Case) -> Answer:
    show = case.show
    lines, bay, layout = case.n("lines.length"), case.n("rocket.bay"), case.rig.text("cord.layout")
    allowed = case.least_cord + case.n("cord.allowance")
    usual = cord.FEWEST_ROCKET_LENGTHS * case.n("rocket.length")
    most = cord.MOST_ROCKET_LENGTHS * case.n("rocket.length")
    governs = "several rocket lengths" if usual > allowed else "least length with allowance"
    outputs: dict[str, Value | None] = {
        "least": case.least_cord,
        "with_allowance": allowed,
        "usual_least": usual,
        "usual_most": most,
        "suggested": max(usual, allowed),
        "governs": governs,
        "clearance": case.hanging.clearance,
        "rocket_lengths": case.n("cord.length") / case.n("rocket.length"),
        "mouth_depth": case.hanging.mouth,
        "nose_tip_depth": case.hanging.nose_tip,
    }
    along = layout == NOSE_ALONG
    formula = "lines + 2 × bay depth" + (" + gap" if along else "")
    numbers = f"{show(lines, LENGTH)} + 2 × {show(bay, LENGTH)}" + (f" + {show(case.gap, LENGTH)}" if along else "")
    working = (
        Working(
            "Least cord, anchor to line attachment",
            formula,
            f"{numbers} = {show(case.least_cord, LENGTH)}",
            practice("cord_minimum"),
        ),
        Working(
            "With allowance",
            "least + allowance",
            f"{show(case.least_cord, LENGTH)} + {show(case.n('cord.allowance'), LENGTH)} = {show(allowed, LENGTH)}",
            practice("cord_allowance"),
        ),
        Working(
            "High-power practice",
            "3 to 5 × rocket length",
            f"{show(usual, LENGTH)} to {show(most, LENGTH)}",
            practice("cord_lengths"),
        ),
        Working(
            "Hanging",
            "clearance = (cord − bay depth) − (gap + nose length)",
            f"({show(case.n('cord.length'), LENGTH)} − {show(bay, LENGTH)}) − ({show(case.gap, LENGTH)} + "
            f"{show(case.n('nose.length'), LENGTH)}) = {show(case.hanging.clearance, LENGTH)}",
            "geometry",
        ),
    )
    why = (
        "The least length only lets the canopy out of the tube. Several rocket lengths govern here: a longer cord lets "
        "the parts slow down before it comes tight."
        if usual > allowed
        else "The least length with its allowance is longer than three rocket lengths here and governs: shorter, the "
        "canopy does not clear the tube."
    )
    body = case.n("rocket.length") - case.n("nose.length") + case.n("rocket.shoulder")
    described = (
        f"The mouth of the airframe hangs {show(case.hanging.mouth, LENGTH)} below the line attachment, the tip of "
        f"the nose {show(case.hanging.nose_tip, LENGTH)}."
    )
    drawing = pictures.hanging(
        case.hanging,
        lines,
        case.n("rocket.tube"),
        body,
        case.main.inflated_most,
        lambda v: show(v, LENGTH),
        described,
    )
    notes = [why]
    if layout == TWO_SECTIONS:
        notes.append(
            "Two sections: the forward leg is tied at the line attachment, beside the cord to the airframe. The "
            "least length is that of the cord to the airframe."
        )
    summary = (
        f"At least {show(case.least_cord, LENGTH)}, {show(allowed, LENGTH)} with allowance; "
        f"{show(max(usual, allowed), LENGTH)} is suggested because {governs} governs."
    )
    return Answer(
        outputs,
        summary,
        (length_check(case), hanging_check(case), practice_check(case)),
        working,
        (drawing,),
        notes=tuple(notes),
        cautions=(
            "A cord that parts turns a section into a falling mass: look along it before every flight, and keep people "
            "well back under anything that hangs or falls.",
        ),
    )


CORD = Calculator(
    "cord",
    "Recovery cord",
    (
        "rig.units",
        "rocket.length",
        "rocket.tube",
        "rocket.bay",
        "rocket.shoulder",
        "nose.length",
        "lines.length",
        "cord.layout",
        "cord.length",
        "cord.gap",
        "cord.allowance",
        "canopy.family",
        "canopy.sides",
        "canopy.size",
        "canopy.slope",
        "canopy.height_ratio",
        "canopy.panel_ratio",
        "canopy.hole_ratio",
        "canopy.area",
    ),
    (
        Output("least", "Least length", LENGTH),
        Output("with_allowance", "With allowance", LENGTH),
        Output("suggested", "Suggested cord", LENGTH),
        Output("governs", "Governed by", None),
        Output("clearance", "Nose hangs clear by", LENGTH),
        Output("rocket_lengths", "Yours, in rocket lengths", NUMBER),
        Output("usual_least", "Three rocket lengths", LENGTH, main=False),
        Output("usual_most", "Five rocket lengths", LENGTH, main=False),
        Output("mouth_depth", "Line attachment to mouth", LENGTH, main=False),
        Output("nose_tip_depth", "Line attachment to nose tip", LENGTH, main=False),
    ),
    compute,
)
