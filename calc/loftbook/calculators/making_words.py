"""Making a canopy: what is cut, what it takes, how it is sewn, and that the seams hold what the rig asks of them."""

from loftbook.answer import Answer, Check, Later, Offer, Step, Table, Value, Working
from loftbook.calculators.making_checks import (
    LIES_FLAT,
    LINE_HOLDS,
    LOOP_LEFT,
    MARKED,
    ON_CLOTH,
    RING_HOLDS,
    SEAM_HOLDS,
    SIZES,
    WEIGHED,
)
from loftbook.drawing import sewing
from loftbook.drawing.bolt import on_the_bolt, piece_to_cut
from loftbook.drawing.cloth import canopy_plan
from loftbook.drawing.svg import Drawing
from loftbook.physics.atmosphere import G0
from loftbook.physics.form import DISCS, DOMES
from loftbook.quantity import (
    FORCE,
    LENGTH,
    LINE_LOAD,
    MASS,
    NUMBER,
    SHARE,
    SPEED,
    TIME,
    at_least,
    at_most,
    digits,
    read,
    to_mark,
)
from loftbook.rig.making_fields import GORES, LOOP, OTHERWISE, OVER_SEAM, PANELS, SEWN, V_TAB, WHOLE
from loftbook.tables import cited, known, practice, sentence
from loftbook.worked.making import (
    EYE,
    HIGHEST,
    LAPPED,
    NUMBERED,
    PATCH,
    ROD,
    ROD_LONG,
    SCRAP,
    TAB,
    TRUE,
    TURNED,
    TURNS,
    Lot,
    Making,
)
from loftbook.worked.sewn import Sewn
from loftbook.worked.worked import Worked

CAUTIONS = ("A canopy of your own is tried by a pulled seam, a pulled line and a hang before it carries a rocket, and by a drop where one is safe; the range safety officer decides.",)

_ALIKE = 0.002  # how far pieces may differ [m], our choice
_LAYERS = 24  # that shears cut true at once, our choice
_ESTIMATE, _SCALES = 0.9, 0.75  # least share of what is worked out here that the rig's own estimate, and a typed mass, may be; our choice
_AS_TOLD = 0.25  # share by which a drop's time may differ, our choice
_READABLE = 450.0  # what a luggage scale reads at most [N], common practice
_UNWASHED = 0.1  # so much more is bought of cord that was never wet, our choice
_ROOM = 15  # letters beside a picture
_HERE = "write it here: ____________"  # later it is typed: at the table there is paper
_FOLDED = {
    "flat felled": "Every piece inside up, so that you see its marks, all the same way round{away}. On each left edge draw one more line, {half} inside the dashes, "
    "and draw its notches on past that line: what lies in the fold is hidden. Fold the left edge up, the right edge of its neighbour under, each on its line {half} beyond the dashes. Hook the two folds into each other: the neighbour's fold, "
    "which you see, lies on the new line all along, notch on notch (the picture has the outside up). Fold to fold it is {whole}. Sew the first row {row} from the fold you see; turn it over and sew the second {row} from the fold on that side: {between} apart.",
    "French": "First a row {whole} outside them, wrong sides together; fold the edges in between, right sides together, and "
    "sew on the dashes, so that the raw edges are shut in.",
}
_CLIPPED = "Clips, or thin basting tape between the layers, hold it until it is sewn: pins leave holes."
_HOW = {
    LOOP: "laid on the inside over patch and hem, up along {way}, {half} up and folded back beside itself, its cut end at the hem again, both legs side by side, and sewn to the cloth with {zigzag}, once there and once back",
    V_TAB: "tied through a V of tape, {tab} long, that is sewn along both sides of the corner",
    OVER_SEAM: "laid along its seam up to {top} and sewn all the way, with {zigzag}",
}
DASHES = {"flat felled": "middle of the seam, finished edge of the hem", "French": "last row of the seam, finished edge of the hem"}


# --- checks --------------------------------------------------------------------------------------------


def cut_check(made: Making) -> Check:
    """Whether this shape can be cut the way its reader wants."""
    family = made.canopy.family
    if made.angle and made.dart > made.form.radius / 2:
        return LIES_FLAT.fail(
            "So shallow a cone closes with a gap narrower than both allowances over more than half of its seam: they would be cut "
            "out of each other. Cut it from gores."
        )
    if made.wedge and made.wedge.layers > _LAYERS:
        return LIES_FLAT.warn(f"Folded, it is cut through {made.wedge.layers} layers at once, and they slip: mark and cut it unfolded, from the sheets or the bolt.")
    if made.pieces:
        return LIES_FLAT.hold(f"A {family} canopy can be cut from {made.wanted}.")
    if made.wanted == GORES:
        return LIES_FLAT.fail("A cross has no gores: it is two panels across each other, or one piece.")
    return LIES_FLAT.fail(f"A {family} canopy does not lie flat, so it can't be cut from {made.wanted}. Cut it from gores.")


def cloth_check(worked: Worked, made: Making) -> Check:
    """Whether every piece lies on the cloth."""
    width = worked.show(made.bolt, LENGTH)
    if made.cloth.length is not None:
        return ON_CLOTH.hold(f"All pieces lie on cloth {width} wide.")
    across = worked.at_least(max(one.size[0] for one in made.pieces), LENGTH)
    flat, family = made.form.family in (*DISCS, "cross"), made.canopy.family
    others = [
        *(["gores"] if made.wanted == WHOLE and family != "cross" else []),
        *(["panels across"] if flat and made.wanted != PANELS else []),
        *(["more gores"] if made.wanted == GORES else []),
    ]
    return ON_CLOTH.fail(f"A piece is {across} across with its allowances; the cloth is {width} wide. {' or '.join(['Wider cloth', *others])}.")


def seam_check(worked: Worked, made: Making) -> Check:
    """Whether stitches and cloth hold what the opening asks, with the reader's factor."""
    show, holds, factor = worked.at_most, made.seam_strength, worked.at_least(made.factor, NUMBER)
    source = f"{cited('seam_strands')} Pull on the cloth: F/(π·Dp), of a cross over the ends of its arms where those are less; statics."
    pulled = f"the opening pulls {worked.at_least(made.pull, LINE_LOAD)}"
    if holds is None:
        return SEAM_HOLDS.warn(f"The strength of this cloth is not known, and {pulled}. Pull a strip of it, cut across and hemmed.", source=source)
    margin, what = holds / made.pull, "A seam" if made.seam_length else "The cloth beside its stitches"
    told = f"{what} holds {show(holds, LINE_LOAD)}, {pulled}: {worked.at_most(margin, NUMBER)} times. Your factor is {factor}."
    if margin < made.factor:
        weak = "stitches" if made.seam_length and holds == made.stitches else "cloth"
        more = ", or a seam of two rows" if made.seam.rows.value < 2 else ""
        thinner = "Stronger cloth, thinner thread, or a gentler opening." if made.holed > 0.2 else "Stronger cloth, or a gentler opening."
        advice = f"Stronger thread, shorter stitches{more}." if weak == "stitches" else thinner
        return SEAM_HOLDS.fail(f"{told} The {weak} would part first. {advice}", source=source)
    if made.sewn_cloth is None:
        return SEAM_HOLDS.warn(f"{told} Of the stitches alone: the strength of this cloth is not known. Pull a sample.", source=source)
    return SEAM_HOLDS.hold(told, source=source)


def ring_check(worked: Worked, made: Making) -> Check:
    """Whether the edge of the hole holds what the cloth pulls at it, with the reader's factor."""
    holds, pull, factor = made.ring_holds, made.ring_pull, worked.at_least(made.factor, NUMBER)
    source = "A ring that is pulled outwards all round: pull on the cloth × radius of the hole (statics)."
    pulled = f"The opening pulls in the edge of the hole with {worked.at_least(pull, FORCE)}"
    if holds is None:
        return RING_HOLDS.warn(f"{pulled}; neither the strength of the tape nor of this cloth is known.", source=source)
    whose = "its tape" if made.tape_strength is not None else "the cloth under its tape"
    told = f"{pulled}, {whose} holds {worked.at_most(holds, FORCE)}: {worked.at_most(holds / pull, NUMBER)} times. Your factor is {factor}."
    if holds >= pull * made.factor:
        return RING_HOLDS.hold(told, source=source)
    advice = "Stronger tape, or a smaller hole." if made.tape_strength is not None else "Type how strong the tape is that you bind it with."
    return RING_HOLDS.fail(f"{told} {advice}", source=source)


def line_check(worked: Worked, made: Making) -> Check:
    """Whether a line's end at the skirt holds what it is pulled with, with the reader's factor, and enough of it is sewn on."""
    holds, pull, factor = made.line_holds, made.line_pull, worked.at_least(made.factor, NUMBER)
    told = (
        f"A line's end at the skirt holds {worked.at_most(holds, FORCE)}; the hardest pulled line feels "
        f"{worked.at_least(pull, FORCE)}: {worked.at_most(holds / pull, NUMBER)} times. Your factor is {factor}."
    )
    source = (
        f"{cited('sewn_on')} The least of the line with its end, its stitches, one strand each, a tab's tape, and cloth with its patch "
        f"across {worked.show(PATCH, LENGTH)}: our model, tried by a pulled sample."
    )
    if not made.spans:
        radius = worked.at_least(made.canopy.inflated_most / 2, LENGTH)
        return LINE_HOLDS.fail(f"The lines are shorter than the radius of the open skirt, {radius}: it can't open to its size. Longer lines first.", source=source)
    if made.fastened == OVER_SEAM and made.wanted != GORES:
        other = "Fasten them another way" if made.canopy.family == "cross" else "Cut it from gores, or fasten them another way"
        return LINE_HOLDS.fail(f"Lines over the seam want gores: cut from {made.wanted} there is no seam under them. {other}.", source=source)
    if made.fastened == OVER_SEAM and made.canopy.said.number("make.shrink"):
        return LINE_HOLDS.fail("Sewn to the cloth all along, a line that shrinks gathers it: wash the line first and type 0 for what it shrinks by.", source=source)
    weak, advice = min(made.line_ends, key=made.line_ends.__getitem__), _line_advice(made)
    if holds < pull * made.factor:
        return LINE_HOLDS.fail(f"{told} First to part: the {weak}. {advice[weak]}", source=source)
    least = known("sewn_on").low
    if made.canopy.said.number("make.at_skirt") < least:
        return LINE_HOLDS.fail(f"{told} But too little is sewn on to count on it: at least {worked.at_least(least, LENGTH)}.", source=source)
    unknown = [
        *(["the tape"] if made.fastened == V_TAB and made.tape_strength is None else []),
        *(["this cloth"] if made.sewn_cloth is None else []),
    ]
    if unknown:
        return LINE_HOLDS.warn(f"{told} The strength of {' and of '.join(unknown)} is not known and not counted. Pull a sample.", source=source)
    return LINE_HOLDS.hold(told, source=source)


def _line_advice(made: Making) -> dict[str, str]:
    """What helps against each that may give at a line's end."""
    sewn = "Stronger thread, or shorter stitches." if made.fastened == V_TAB else "Sew more of it on, with stronger thread or shorter stitches."
    cloth = "Stronger cloth, more lines, or a gentler opening."
    return {"line with its end": "Stronger line, or more lines.", "stitches": sewn, "tape": "Stronger tape.", "cloth and its patch": cloth}


def loop_check(worked: Worked, made: Making) -> Check:
    """Whether a line is cut long enough for its loop at the link."""
    least, there, source = made.least_at_link, made.canopy.said.number("make.at_link"), cited("sewn_on", "knot_length", "splice_length")
    told = f"{worked.at_most(there, LENGTH)} of each line is left for its loop and tail at the link: {made.canopy.said.text('lines.end')}."
    if there < least:
        return LOOP_LEFT.fail(f"{told} No loop can be made of that: at least {worked.at_least(least, LENGTH)}.", source=source)
    if made.link_stitches is not None and made.link_stitches < made.line_pull * made.factor:
        holds, pull = worked.at_most(made.link_stitches, FORCE), worked.at_least(made.line_pull, FORCE)
        return LOOP_LEFT.fail(f"{told} Sewn, it holds {holds}; the hardest pulled line feels {pull}. Leave more for it, or sew it with stronger thread.", source=source)
    return LOOP_LEFT.hold(told, source=source)


def marks_check(worked: Worked, made: Making) -> Check:
    """Whether lines are measured under a pull that straightens and does not stretch them for good."""
    told = f"Lines are measured under {worked.at_least(made.tension, FORCE)}; {worked.show(known('line_tension').high, SHARE)} of their strength is {worked.at_most(made.most_tension, FORCE)}."
    if made.tension > made.most_tension:
        return MARKED.fail(f"{told} More stretches them: they come out shorter than they are marked.", source=cited("line_tension"))
    if made.tension == 0:
        return MARKED.warn(f"{told} Slack, no two are measured alike: pull each with the same force.", source=cited("line_tension"))
    return MARKED.hold(told, source=cited("line_tension"))


def sizes_check(worked: Worked, made: Making) -> Check:
    """Whether stitches, seams and the hole are of sizes that can be sewn."""
    said, show, strange = made.canopy.said, worked.show, []
    for key, name, value in (
        ("stitch_length", "Stitches", said.number("make.stitch")),
        ("seam_width", "Seams", made.seam_width),
        ("seam_width", "Hems", made.hem_width),
    ):
        usual = known(key)
        if not usual.low * (1 - 1e-9) <= value <= usual.high * (1 + 1e-9):
            strange.append(f"{name} of {show(value, LENGTH)}; {show(usual.low, LENGTH)} to {show(usual.high, LENGTH)} is usual in light nylon.")
    if made.crowded:
        where = f"within {show(made.form.hole_across, LENGTH)}" if made.form.hole else "in a point"
        strange.append(f"{made.canopy.lines} seams meet {where}: they do not lie side by side there. A larger hole, narrower seams, or a patch over the point.")
    source = cited("stitch_length", "seam_width")
    if strange:
        return SIZES.warn(" ".join(strange), source=source)
    return SIZES.hold("Stitches, seams and hem are of usual sizes, and the seams find room at the hole.", source=source)


def mass_check(worked: Worked, made: Making) -> Check:
    """Whether the rig counts with as heavy a canopy as is made here: how hard its lines come tight hangs on it."""
    said, show = made.canopy.said, worked.show
    there, typed, weighed = made.canopy.mass, said.optional("canopy.mass"), said.rig.origin(f"{made.canopy.key}.canopy.mass") == "measured"
    told = f"The rig counts with {show(there, MASS)} for the canopy with its lines; {show(made.mass, MASS)} is worked out here."
    if typed is None and there < _ESTIMATE * made.mass:
        return WEIGHED.warn(f"{told} Put that into the rig, below: it comes tight harder than the rig counts with.")
    if typed is not None and there < _SCALES * made.mass:
        strange = f"{told} Another cloth than the rig says, or a wrong mass: its lines come tight harder than the rig counts with."
        return WEIGHED.warn(f"{strange} Weigh it again.") if weighed else WEIGHED.fail(f"{strange} Weigh it.")
    return WEIGHED.hold(told)


def checks(worked: Worked, made: Making) -> tuple[Check, ...]:
    found = [cut_check(made)]
    if made.pieces:
        ring = (ring_check,) if made.form.hole else ()
        others = (cloth_check, seam_check, *ring, line_check, loop_check, marks_check, sizes_check, mass_check)
        found += [check(worked, made) for check in others]
    return tuple(found)


# --- words ---------------------------------------------------------------------------------------------


def _row_apart(worked: Worked, made: Making) -> dict[str, str]:
    """Where the rows of a felled seam lie, for `_FOLDED`."""
    show = worked.show
    away = ", hem towards you (head to tail they lie on the cloth only)" if made.wanted == GORES else ""
    width, row = made.seam_width, made.row_in
    return {"half": show(width / 2, LENGTH), "whole": show(width, LENGTH), "row": show(row, LENGTH), "between": show(width - 2 * row, LENGTH), "away": away}


def _counted(made: Making) -> str:
    """What is cut: `8 gores`, `2 × panel 1, 1 × panel 2`, or `one piece`."""
    if made.wanted == WHOLE:
        return "one piece"
    named = [(one.piece.count, one.piece.name) for one in made.pieces]
    return ", ".join(f"{count} × {name}" if name[-1].isdigit() else f"{count} {name}s" for count, name in named)


def _summary(worked: Worked, made: Making) -> str:
    who = worked.title(made.canopy.key)
    if not made.pieces:
        return f"The {who} can't be cut from {made.wanted}."
    if made.cloth.length is None:
        return f"The {who} is {_counted(made)}; they do not lie on cloth {worked.show(made.bolt, LENGTH)} wide."
    line = worked.at_least(made.line_total, LENGTH)
    washed = "" if made.canopy.said.number("make.shrink") else f" washed and dried (never washed: buy {_unwashed(worked, made)})"
    return (
        f"The {who}: {_counted(made)}. Buy {_bought(worked, made)} of cloth {worked.show(made.bolt, LENGTH)} clear between its selvages ({worked.at_least(made.cloth.length, LENGTH)} between squared ends), no spoilt piece counted in; {line} of line{washed}. "
        f"Finished it weighs about {worked.show(made.mass, MASS)}."
    )


def _bought(worked: Worked, made: Making) -> str:
    """What is asked for in the shop, rounded up in the core."""
    return worked.show(made.cloth_bought or 0.0, LENGTH)


def _unwashed(worked: Worked, made: Making) -> str:
    """Of line that was never wet."""
    return worked.at_least(made.line_total * (1 + _UNWASHED), LENGTH)


def _outputs(made: Making) -> dict[str, Value | None]:
    return {
        "cloth_length": made.cloth.length,
        "finished_mass": made.mass if made.pieces else None,
        "line_cut": made.line_cut,
        "waste": made.cloth.waste,
        "seam_allowance": made.allowances["seam"],
        "hem_allowance": made.allowances["hem"],
        "line_total": made.line_total,
        "thread_length": made.thread_length,
        "tape_length": made.tape,
        "seam_length": made.seam_length,
        "hem_length": made.hem_length,
        "vent_length": made.vent_length,
        "seam_strength": made.seam_strength,
        "seam_pull": made.pull,
        "sample_load": made.sample_load,
        "line_pull": made.line_pull,
        "line_holds": made.line_holds,
        "packed": made.packed if made.pieces else None,
        "angle": made.angle,
        "cost": made.cost,
    }


# --- steps ---------------------------------------------------------------------------------------------

_Act = tuple[str, str, str, str, str, Drawing | None]  # what its anchor says, title, what to do, to see, if not, picture
_PICTURED: dict[str, sewing.Attachment] = {LOOP: "loop", V_TAB: "V-tab", OVER_SEAM: "tape over the seam"}
SECTIONS: dict[str, sewing.Seam] = {"flat felled": "flat felled", "French": "French", "turned twice": "turned twice", "bound with tape": "bound edge"}


def steps(worked: Worked, made: Making) -> tuple[Step, ...]:
    """From cloth to a canopy in the rig, each with an anchor that never changes."""
    key = made.canopy.key
    acts = [*_cloth(worked, made), *_joining(worked, made), *_edges(worked, made), *_lines(worked, made), *_proved(worked, made)]
    return tuple([Step(f"{key}-make-{act}", title, text, seen, otherwise, drawn) for act, title, text, seen, otherwise, drawn in acts])


def _cloth(worked: Worked, made: Making) -> list[_Act]:
    """What is marked, tried and cut."""
    show, pieces = worked.show, _counted(made)
    allowed, turned = show(made.allowances["seam"], LENGTH), show(made.allowances["hem"], LENGTH)
    curved, gores = any(len(edge.points) > 2 for one in made.pieces for edge in one.piece.edges if edge.sewn == "seam"), made.wanted == GORES
    halves = f"all {2 * made.canopy.lines} halves of its gores" if made.canopy.lines % 2 else f"all {made.canopy.lines} gores"
    fold = f"Fold the cloth until {halves} lie on each other, warp along the middle of one, pin it outside the hem. Lay the wedge on with both long edges on folds, its point on the middle, and mark its hem. " if made.wedge else ""
    marked = f"Each mark lies {turned} outside the hem." if made.wedge else f"Each mark lies {allowed} outside a seam and {turned} outside a hem."
    bare = " At the hole cut on the line: nothing is added." if gores and made.form.hole else ""
    hole: sewing.Hole = "" if not made.form.hole else "straight" if made.canopy.family in DOMES else "round"
    drawn = sewing.gore_marked(curved, hole, f"hem {turned}", DASHES[made.seam.name], f"The first gore at the cloth's squared end, under weights. {marked}{bare}") if gores else None
    return [
        (
            "mark",
            "Mark the pieces",
            fold or _marking(worked, made),
            f"{marked}{bare}",
            f"The square on the print's first sheet is not {show(0.1, LENGTH)}: the printer scaled it. Print again at its true size.",
            drawn or _wedge(worked, made) or _piece(worked, made),
        ),
        _sample(worked, made),
        (
            "cut",
            "Cut them",
            f"Cut once through all {made.wedge.layers} layers, nothing slipping: that is the whole hem."
            if made.wedge
            else f"Cut on the marks with sharp shears, cloth flat on the table. On the inside of each, at its hem, write {f'its number, 1 to {made.canopy.lines}' if gores else 'which piece it is'}.",
            f"Unfolded, every side of its hem is alike to {to_mark(_ALIKE, worked.rig.units)}."
            if made.wedge
            else f"{pieces[0].upper()}{pieces[1:]}; laid on each other those alike are alike to {to_mark(_ALIKE, worked.rig.units)}, notches meet.",
            "One is larger or smaller: lay it on the pattern, trim it or cut another. Never stretch it to fit.",
            (_laid(worked, made.cloth.lots[0]) if gores and made.cloth.length is not None else None) or _wedge(worked, made) or _piece(worked, made),
        ),
    ]


def _marking(worked: Worked, made: Making) -> str:
    """How pieces are marked from the paper: where the first lies, which lines are drawn, which face that is."""
    half = f", and a third line {worked.show(made.seam_width / 2, LENGTH)} outside the dashes of each seam, where it is folded" if made.seam_length and made.seam.rows.value > 1 else ""
    return (
        f"{_first_lies(made)}Lay the pattern on one layer of cloth, its grain line parallel to the selvage, weights on it. Mark where it is cut; fold the paper in along its dashes "
        f"({DASHES[made.seam.name]}) and mark along the fold, too{half}. Draw every notch, never snip it. The face that is marked is the inside of the canopy. "
        f"{_counted(made)[0].upper()}{_counted(made)[1:]}: each lies as “Laid on the cloth” shows, nearly touching: that picture stands on the first sheet, and again under “Cut them”."
    )


def _first_lies(made: Making) -> str:
    """Where the first gore lies, and the one beside it."""
    lot = made.cloth.lots[0] if made.wanted == GORES else None
    if lot is None or lot.layout is None:
        return ""
    square, near, placed = "Square the cloth's end. ", 1e-9, lot.layout.placed
    feet = [[x for x, y in one.outline if y < near] for one in placed[:2]]
    if len(feet[0]) < 2 or min(feet[0]) > near:
        return square
    turned = len(feet) > 1 and feet[1] and max(feet[1]) - min(feet[1]) < max(feet[0]) - min(feet[0]) - near
    beside = "; the second lies beside it, head to tail; then the next two" if turned else ""
    return f"{square}The first gore has its hem along that end and a lower corner at the inner edge of a selvage{beside}. "


_TRIED, _TRIED_LINE = "Try a seam and a line", "Try a line"
_SEAM_STEP = {GORES: "The seam", PANELS: "Sew panel to panel"}


def _sample(worked: Worked, made: Making) -> _Act:
    """A seam and a line's end, pulled before anything is sewn."""
    show, seam, units = worked.show, worked.show(made.seam_width, LENGTH), worked.rig.units
    sample, must, line = show(made.sample, LENGTH), worked.at_least(made.sample_pull, FORCE), worked.at_least(made.line_sample_pull, FORCE)
    rolled = f"{TURNS} times round a rod, the first turn over its own end"
    strips = (
        f"Two strips {sample} wide and {show(made.strip, LENGTH)} long, sewn together across their width with your cloth, thread and stitch: a {made.seam.name} seam {seam} wide "
        f"(as under “{_SEAM_STEP.get(made.wanted, 'Close the cone')}”). Roll each end {rolled}. {_pulled_to(worked, made.sample_pull, must, 'one rod')}. "
    )
    both = f"The seam holds {must}, the line {line}" if made.seam_length else f"It holds {line}"
    wash = "" if made.canopy.said.number("make.shrink") else "Wash and dry all the cord first, if it was never wet. "
    return (
        "sample",
        _TRIED if made.seam_length else _TRIED_LINE,
        f"{wash}Samples come from outside the marks. {strips if made.seam_length else ''}{'Then hem' if made.seam_length else 'Hem'} a short edge of a scrap {to_mark(SCRAP, units)} × {to_mark(made.scrap, units)}, sew a patch on it "
        f"and on that one end of {to_mark(made.line_sample, units, up=True)} of cord (as under “Strengthen where lines come on” and “Sew the lines on”); make a loop in its other end (as under “The loops”). "
        f"Roll the scrap's far edge {rolled}. {_pulled_to(worked, made.line_sample_pull, line, 'the loop')}. Eyes covered, hands clear of the hook.",
        f"{both}: {digits(made.factor)} times what the opening asks of it, or {show(known('sample_share').low, SHARE)} of what it should hold, whichever is more.",
        "It opens or tears: another row of stitches, stronger thread or cloth, and another sample. Cut and sew nothing before one holds.",
        sewing.sample_pulled(made.sample_pull > _READABLE, _shown(must, worked, 1), sample, f"A strip {sample} wide with a seam across it, pulled to {must}.")
        if made.seam_length
        else sewing.sample_pulled(made.line_sample_pull > _READABLE, _shown(line, worked, 1), "", f"A scrap with a line's end on it, pulled to {line}."),
    )


def _weighs(told: str, worked: Worked, side: int = 0) -> str:
    """What a scale shows under a force as it was written; side: never below it (1), never above it (-1)."""
    kilos = read(told, FORCE) / G0 * (1 - 1e-9 * side)  # pounds are pounds-force: the same digits
    return worked.show(kilos, at_least(MASS) if side > 0 else at_most(MASS) if side < 0 else MASS)


def _scaled(told: str, worked: Worked, side: int = 0) -> str:
    """The force with that beside it."""
    return f"{told} ({_weighs(told, worked, side)} on a scale)"


def _shown(told: str, worked: Worked, side: int = 0) -> str:
    """The same for a picture, where there is room."""
    both = f"{told} = {_weighs(told, worked, side)}"
    return both if len(both) <= _ROOM else told


def _pulled_to(worked: Worked, pull: float, told: str, end: str) -> str:
    """How a sample is pulled: level, by a scale that is tied up, or where none reads so far by what is hung on it; end: what the scale has hold of."""
    if pull <= _READABLE:
        hooked = "Tie a cord from end to end of one rod and hook it into the scale" if end == "one rod" else f"Hook {end} into the scale"
        return (
            f"{hooked}, the scale tied to a fixed hook at waist height. Hold the {'other ' if end == 'one rod' else ''}rod at both sides of the cloth and pull it level and slowly to {told} "
            f"({_weighs(told, worked, 1)} on the scale), beside the line of the pull, your face out of it; a helper reads the scale from the side"
        )
    hung = "Tie a cord from end to end of each rod; hang one on a fixed hook and on the other" if end == "one rod" else f"Hang {end} on a fixed hook and, by a cord from end to end of the rod,"
    return f"{hung} {_weighs(told, worked, 1)}, a hand's breadth above the floor, feet clear: that is {told}, more than a luggage scale reads"


def _wedge(worked: Worked, made: Making) -> Drawing | None:
    """What is marked on folded cloth."""
    if not made.wedge:
        return None
    piece, said = made.wedge.piece, f"both long edges on folds: {made.wedge.layers} layers"
    return piece_to_cut(piece.outline, piece.cut(made.allowances), piece.grain, None, said, DASHES[made.seam.name], worked.writer(LENGTH), f"The wedge, {said}.")


def _piece(worked: Worked, made: Making) -> Drawing:
    """The first piece as it is cut."""
    first = made.pieces[0]
    told = f"{first.piece.name}, cut {first.piece.count}"
    hole = (made.whole.middle, made.hole) if made.wanted == WHOLE and made.whole and made.hole else None
    return piece_to_cut(first.piece.outline, first.cut, first.piece.grain, hole, told, DASHES[made.seam.name], worked.writer(LENGTH), f"{told}; {_counted(made)} in all.")


def _whole(worked: Worked, made: Making) -> Drawing | None:
    """What is sewn, laid flat, with its hole."""
    if not made.whole:
        return None
    piece, said = made.whole.piece, "the hole, cut last"
    return piece_to_cut(piece.outline, piece.cut(made.allowances), piece.grain, (made.whole.middle, made.whole.hole), said, DASHES[made.seam.name], worked.writer(LENGTH), f"Laid flat, with {said}.")


def _joining(worked: Worked, made: Making) -> list[_Act]:
    """How pieces become one cloth."""
    width, allowed = worked.show(made.seam_width, LENGTH), worked.show(made.allowances["seam"], LENGTH)
    count, seam = sum(one.piece.count for one in made.pieces), f"a {made.seam.name} seam {width} wide"
    ease = "Notches meet first, then what lies between them; never cut off what is too long."
    folded = f"Dashes: {DASHES[made.seam.name].partition(',')[0]}. {_FOLDED[made.seam.name].format(**_row_apart(worked, made))} {_CLIPPED}"
    top, ends = ("hole", "edges of the hole") if made.form.hole else ("apex", "apex")
    section = sewing.seam_section(SECTIONS[made.seam.name], width, allowed, f"{seam[2].upper()}{seam[3:]}, cut across; each edge takes {allowed}.")
    if made.wanted == GORES:
        layers = " Held against a light: four layers under both rows all along." if made.seam.rows.value > 1 else ""
        left, right, stages = (count + 1) // 2, count // 2, len(sewing.seam_order(count))
        halves, whole = f"a half of {left} and one of {right}", f"{count} gores, {count} seams"
        return [
            ("seam", "The seam", f"All seams of this canopy: {seam}. {folded}", f"Raw edges are inside, both sides flat.{layers}", "A raw edge shows: fold again; it frays.", section),
            (
                "halves",
                "Sew two halves",
                f"Gore to gore, notch to notch, from the skirt to the {top}: first two and two, then those, until there are {halves}.",
                f"Two halves, {count - 2} seams, all folded to the same side.",
                ease,
                sewing.halves_sewn(count, stages - 1, "two halves", f"Gores laid round: {halves}, two seams still open."),
            ),
            (
                "close",
                "Close it",
                f"Bring both halves together as in every seam before, skirts and {ends} level; sew one of the two seams that are left, then the other.",
                f"{whole}; round the {top} the cloth lies flat.",
                "It puckers there: unpick the last hand's breadth and take every seam in by the same hair.",
                sewing.halves_sewn(count, stages, "closed", f"{whole}, all sewn."),
            ),
        ]
    if made.wanted == PANELS:
        across = "Panels of each arm together, then both arms across each other, sewn round the square in the middle."
        how = across if made.canopy.family == "cross" else "From the middle outwards, notch to notch."
        return [("panels", "Sew panel to panel", f"{how} {seam[0].upper()}{seam[1:]}. {folded}", "One cloth of the finished outline; no seam draws in.", ease, section)]
    if made.canopy.family == "conical":
        dart = f"Within {worked.at_least(made.dart, LENGTH)} of the apex the allowances lie on each other: leave the cloth whole there and sew it like a dart."
        return [("cone", "Close the cone", f"Edge to edge, notch to notch: {seam}. {dart}", "A cone that stands by itself, its skirt even.", ease, section)]
    return []


def _zigzag(worked: Worked, made: Making, into: str) -> str:
    """How a line is sewn on."""
    said = made.canopy.said
    return f"a zigzag {worked.show(said.number('lines.diameter'), LENGTH)} wide, as the line is thick, stitches of {worked.show(said.number('make.stitch'), LENGTH)} {into}"


def _loop(worked: Worked, made: Making, end: str, link: str) -> str:
    """How the loop at the link is made."""
    if made.link_stitches is not None:
        return (
            f"Fold each line back at its second mark: {link} lies beside it. Leave the first {to_mark(EYE, worked.rig.units)} from the fold open, both sides flat on each other: a long, narrow loop. "
            f"Sew the rest to the line with {_zigzag(worked, made, 'from the middle of one into the middle of the other')}, there and back."
        )
    made_so = "Splice a loop into" if end == "splice" else "Tie a loop into"
    return f"{made_so} each line ({end}), its inner end at the second mark; {link} is there for it and its tail."


def _edges(worked: Worked, made: Making) -> list[_Act]:
    """Hole, hem, vent and the places where lines come on."""
    one, show, width = made.canopy, worked.show, worked.show(made.hem_width, LENGTH)
    found: list[_Act] = []
    if made.hole:
        found.append(
            (
                "hole",
                "Cut the hole",
                f"Strike a circle of radius {show(made.hole, LENGTH)} about the apex and cut it; bound, the hole is {show(made.form.hole_across, LENGTH)} across.",
                "Its edge is the same distance from every seam or corner.",
                "Off the middle: sew a patch over it and strike it again; a canopy with its hole aside glides away.",
                _whole(worked, made),
            )
        )
    bound, corners = made.hem.allowance is None, one.family == "flat polygon"
    tips = "Where tips of folded seams stand out beyond the edge, cut them level with it. " if made.wanted != WHOLE or one.family == "conical" else ""
    turned = sewing.seam_section("bound edge", width, "none", f"Tape folded round the edge, {width} wide.") if bound else sewing.hem_turned(width, f"The edge turned twice, {width} each time, and sewn.")
    found.append(
        (
            "hem",
            "Hem the skirt",
            f"{tips}{'Fold tape round the edge' if bound else 'Turn the edge twice'}, {width} wide, and sew it all round, a few stitches back where the ends meet."
            f"{' At each corner fold what is too much into one flat mitre; the patch will lie over it.' if corners else ''}",
            f"The skirt lies flat; {show(made.hem_length, LENGTH)} of hem{', a small mitre at each corner and no other pleat' if corners else ', no pleat in it'}.",
            "It draws in: the thread is too tight. Ease it and sew it anew, or the canopy flies smaller than it is.",
            turned,
        )
    )
    if made.form.hole:
        across = show(made.form.hole_across, LENGTH)
        found.append(
            (
                "vent",
                "Bind the hole",
                f"Sew one row close round the edge first, so that it does not stretch. Then fold the tape round the edge, soft and woven straight (tape cut on the bias gives; common practice, no source), "
                f"a clip at every finger's breadth, and sew it: its ends lapped {to_mark(LAPPED, worked.rig.units)}, every seam caught in it. It is {across} across.",
                f"Round, flat, {across} across.",
                "The tape cockles: unpick it there and lay a small tuck at each seam. What tears there opens the canopy to its skirt.",
                sewing.vent_bound(one.lines if made.wanted == GORES else 0, across, f"The hole from above, tape laid round its edge, {across} across."),
            )
        )
    patch = show(PATCH, LENGTH)
    found.append(
        (
            "corners",
            "Strengthen where lines come on",
            f"Cut {one.lines} patches {to_mark(made.patch, worked.rig.units)} square from what is left over, by a ruler, along the weave. At each of the {one.lines} places lay one on the "
            f"inside over {'hem and seam, its middle on the seam, its weave along it' if made.seam_length else 'the hem'}; turn {to_mark(TURNED, worked.rig.units)} in on three sides, which stay straight, and "
            f"the outer side in along the hem{', on both sides of the corner' if one.family == 'flat polygon' else ''}, so that nothing hangs over. Sew it all round.",
            f"{one.lines} patches, evenly round the skirt.",
            "A patch is missing: a line pulls its stitches through one layer of light cloth.",
            sewing.corner_reinforced(patch, f"A patch of {patch} over hem and seam, sewn all round."),
        )
    )
    return found


def _lines(worked: Worked, made: Making) -> list[_Act]:
    """The lines: measured, sewn on, numbered, their loops, onto the link."""
    units, count, tied = worked.rig.units, made.canopy.lines, made.fastened == V_TAB
    finished, pull = to_mark(made.pegs, units), worked.show(made.tension, FORCE)
    skirt, link = to_mark(made.at_skirt, units), to_mark(made.at_link, units)
    kind, along = _PICTURED[made.fastened], "the seam" if made.seam_length else "the middle of the patch"
    into = "from the middle of one into the middle of the other, through the cloth" if made.fastened == LOOP else "into the line and the cloth, never only over it"
    zigzag = _zigzag(worked, made, into)
    how = _HOW[made.fastened].format(half=to_mark(made.sewn_on / 2, units), way=along, tab=to_mark(TAB, units), top="the hole" if made.form.hole else "the apex", zigzag=zigzag)
    edge = "where it goes round the tape" if tied else "at the edge of the skirt"
    numbered = to_mark(made.at_link + NUMBERED, units)
    return [
        (
            "lines-cut",
            "Measure and cut the lines",
            f"Two pegs {finished} apart. Clamp the cord beyond the first, pull it past the second with {_scaled(pull, worked)} and mark it at both: so {count + made.spare} lines; there is cord to hold both ends of the last one by. "
            f"Then let it go and cut it, slack, {skirt} beyond the first mark and {link} beyond the second. From end to end it is about "
            f"{to_mark(made.line_cut, units, up=True)} long then: less than all three together, for the pull had stretched it. Cut through a turn of paper tape, so that no end frays.",
            f"Side by side under the same pull all marks meet, none off by more than {to_mark(_ALIKE, units)}: {finished} between them.",
            "One is off: cut it again. Lines of unequal length are the most usual reason why a canopy spins or sits crooked.",
            sewing.lines_measured(finished, skirt, link, _shown(pull, worked), f"A line on two pegs {finished} apart, pulled with {pull}, marked at both."),
        ),
        (
            "lines-sew",
            "Sew the lines on",
            f"Each line is {how}, its first mark {edge}.{'' if tied else ' A few stitches across its cut end, at the hem; then the paper tape comes off.'}",
            f"{count} lines, every mark {'on its tape' if tied else "at the skirt's edge, stitches through patch and hem"}.",
            "A mark lies off it: unpick and sew it again; it is length that this line has more or less than its neighbours.",
            sewing.line_sewn(kind, True, "mark", f"A line on its corner, its mark {edge}."),
        ),
        (
            "number",
            "Number the lines",
            f"Outside up, the canopy flat: number 1 furthest to the right (of two alike the upper one), then on against the clock to {count}. Mark each number in permanent rings on its line, a broad one is five, {to_mark(NUMBERED, units)} from the skirt and {numbered} inside the second mark: there no stitch hides it.",
            "The numbers run round without a gap; the folds of this guide count the same way.",
            "Two alike or one missing: begin again at 1.",
            sewing.lines_numbered(count, f"The canopy from above, outside up: line 1 at the right, counted against the clock to {count}."),
        ),
        _loops(worked, made, finished, link, pull),
        (
            "link",
            "Onto the link",
            f"Lines 1 to {count} in order onto the link: {_link(worked, made)}. Screw its sleeve shut, by hand and then tight with a spanner.",
            f"The sleeve covers the whole gap; the second mark of each line, where it is folded, lies at the link's inside; the numbers {numbered} from there are in order; no line crosses another from skirt to link.",
            "One crosses: open the link, take them off to there and put them on in order.",
            sewing.lines_on_link(count, f"Lines 1 to {count} from the skirt onto an open link, in order."),
        ),
    ]


def _loops(worked: Worked, made: Making, finished: str, link: str, pull: str) -> _Act:
    """The loops at the link: made, pulled, and every line measured once more."""
    tied, must = made.fastened == V_TAB, worked.at_least(made.line_sample_pull, FORCE)
    sewn, eye = made.link_stitches is not None, to_mark(EYE, worked.rig.units)
    edge = "where it goes round its tape" if tied else "the edge of the skirt"
    measured = f"from {edge} to the inside of its loop it is {finished}"
    return (
        "loops",
        "The loops",
        f"{_loop(worked, made, made.canopy.said.text('lines.end'), link)} Melt no end against cloth. Pull each loop once to {_scaled(must, worked, 1)}, as the line was under “{_TRIED if made.seam_length else _TRIED_LINE}”: "
        f"{_loop_pulled(made)}, the line wound {TURNS} times round a rod at the same place on every line, never the cloth pulled and never line round a hand. "
        f"Then measure each once more: a helper holds its {'tape' if tied else 'patch'}, or it is clamped between two boards; you pull the loop with {_scaled(pull, worked)}: {measured}.",
        f"Loops alike; every line {finished}, none off by more than {worked.at_most(TRUE, LENGTH)}.",
        "One is off: unpick its loop and make it where the line measures right, or sew on another line. Nothing goes onto the link before all are right.",
        sewing.loop_made(sewn, eye if sewn else "", link, _shown(must, worked, 1) if made.line_sample_pull <= _READABLE else "", finished, _shown(pull, worked), f"The loop in a line's end, and what is measured when it was pulled: {measured}."),
    )


def _loop_pulled(made: Making) -> str:
    """What the loop is pulled by."""
    return "its loop on the hook of the scale that is tied up" if made.line_sample_pull <= _READABLE else "what is hung up in its loop, nobody beneath"


def _link(worked: Worked, made: Making) -> str:
    """What link is bought: what it must hold is its working load, which it breaks far above."""
    must = worked.at_least(made.link_needed, FORCE)
    return f"a screw link of steel, marked for a working load of {_weighs(must, worked, 1)} ({must}) or more"


def _proved(worked: Worked, made: Making) -> list[_Act]:
    """What is looked at, measured and tried before it carries a rocket; and one line replaced, later."""
    one, show = made.canopy, worked.show
    finished, pull, mass = to_mark(made.pegs, worked.rig.units), show(made.tension, FORCE), show(made.mass, MASS)
    size, flat = show(one.said.number("canopy.size"), LENGTH), Sewn(one)
    measured = sewing.measured_flat(one.lines, show(flat.flats, LENGTH), show(flat.corners, LENGTH) if flat.corners else "", f"Laid flat and measured: {size}.") if flat.flats else _measured(worked, made, size)
    skirt, link = to_mark(made.at_skirt, worked.rig.units), to_mark(made.at_link, worked.rig.units)
    spare = "Take a spare that was cut with the others. " if made.spare else "Cut one of the same reel. "
    replaced = "between its neighbours, the old one beside it"
    return [
        (
            "hang",
            "Hang it up",
            f"Hang the canopy by its link from a hook {worked.at_least(made.hook, LENGTH)} up or more, put on from the floor with a long pole, not off a ladder, or lower with its crown on a clean sheet. It hangs as a bundle: gather all {one.lines} places where lines come on in one hand and pull lightly down.",
            f"No line is slack, and in your hand all {one.lines} lie level to {worked.at_most(TRUE, LENGTH)}.",
            "One line is slack, or its place lies lower: it is too long; higher: too short. Measure it under the same pull as the others.",
            sewing.hung_up(one.lines, "The canopy hung by its link, its corners gathered in a hand and pulled down: every line straight, all corners level."),
        ),
        (
            "measure",
            "Measure it",
            f"{_measure(made)} The rig says {size}. What you measure, {_HERE}; later type it into the rig.",
            "The size in the rig is the one that was measured.",
            "More than a fiftieth off: look for a hem that draws in or a piece cut too narrow; the rig gets what you measured.",
            measured,
        ),
        (
            "weigh",
            "Weigh it",
            f"Canopy with its lines on the kitchen scales, without its link: {mass} is worked out. What it weighs, {_HERE}; later type it into the rig.",
            "The weighed mass is in the rig, in place of the estimate.",
            "A quarter more or less: another cloth than the rig says, or wider hems. The weighed mass counts.",
            sewing.weighed(mass, f"The canopy with its lines on a scale: about {mass}."),
        ),
        _drop(worked, made),
        (
            "replace-line",
            "Later: replace one line",
            f"Cut the old line's stitches one by one, a seam ripper on the line's side and never against the cloth; take its loop off the link. {spare}Pull it three times with {_scaled(worked.at_most(made.most_tension, FORCE), worked, -1)}: before it is marked no more. "
            f"Then mark it anew on the pegs, {finished} apart under {_scaled(pull, worked)}: these marks count, strike out older ones. Slack, {skirt} or more is left beyond the first and {link} or more beyond the second; cut off what is more. Sew it on as the others are; pull and measure its loop as theirs.",
            "Hung up, it is as straight as both its neighbours.",
            "It is longer after the next flight: new line gives more than old. Replace both neighbours too, or all.",
            sewing.line_replaced(2, one.lines, _shown(pull, worked), "a spare", f"A new line {replaced}, all under {pull}."),
        ),
    ]


_RIG = (
    "Its line goes over a pulley on {arm}, {size} or more clear of all else; nobody climbs. The line ends in a ring with a strap of cord tied on. Fold a hand's breadth of the gathered crown back on itself, "
    "lead the strap once tightly round it, its looped end up through the ring, and a smooth pin through that loop, over the ring: the pin alone holds it. To the pin a light cord {cord} long, to the link a bag of {bag}, sand or rice, nothing hard. "
    "Try it at head height: it hangs a minute and comes free at one pull (our way, not tried). Hang a second line beside it, a canopy's width off, with a ribbon at both marks. "
)


def _drop(worked: Worked, made: Making) -> _Act:
    """The drop: whether it is for this canopy, how it is hung and let go, how high, where nobody stands, what it should take."""
    one, show, far = made.canopy, worked.show, worked.show(made.timed, LENGTH)
    opens, clear, whole, crown = (show(height, LENGTH) for height in (made.opens, made.clear, made.dropped, made.crown))  # rounded up in the core
    flown = "Its first rate is then that of its first flight, by an altimeter or a watch, as under “Measured by you”."
    reach = show(HIGHEST[worked.rig.units], LENGTH)
    lead = (
        f"You may leave it out. {flown}"
        if made.in_reach
        else f"Leave it out: its crown would hang {crown} up, and more than {reach} is not rigged from the ground (our choice). {flown} Only where a mast that high stands, and those who run it rig it, it is dropped like this."
    )
    rate, takes = worked.range(made.sinks, SPEED), worked.range(made.sinks.map(lambda v: made.timed / v), TIME)
    arm = "a mast's arm, or over a high branch that a thrown line reaches" if made.in_reach else "the mast's arm"
    rig = _RIG.format(arm=arm, size=worked.at_least(one.size, LENGTH), cord=show(2 * made.crown, LENGTH), bag=show(made.bag, MASS))
    return (
        "drop",
        "Drop it, or leave it out",
        f"{lead} Two people, outdoors, no wind, where you may, no cable within {show(2 * made.crown, LENGTH)}. {rig}"
        f"Hoist it, tie its line off, walk off: nobody is nearer than {crown} when the pin is pulled. The skirt hangs {whole} up or more: {opens} above the first mark, {far} from there to the second, "
        f"{clear} from there to the ground; of the first it may need {worked.at_least(made.filling, LENGTH)} to fill. Film it from the side, three times: full, it sinks at {rate} and its skirt takes {takes} from mark to mark. The times, {_HERE}.",
        f"It comes free at one pull, is full above the first mark, does not spin, and takes what is told within {show(_AS_TOLD, SHARE)}: a first rate, no more, for a draught is in it. What goes into the rig is measured in flight.",
        "It hangs on: lower it by its line, nobody beneath. It is full late, spins or takes less: no time of it counts. Look at line lengths and hole before it carries a rocket.",
        sewing.dropped(opens, far, clear, crown, "A canopy hung by its crown from a strap, a ring and a pin, its bag below; let go, full before the upper mark, timed until its skirt passes the lower one, its bag still in the air; everybody far off."),
    )


# --- the rest ------------------------------------------------------------------------------------------


def _measure(made: Making) -> str:
    """How the size that the rig has is measured of a finished canopy of each family."""
    one = made.canopy
    if one.family in (*DOMES, "conical"):
        return "It does not lie flat: lay a tape all round its skirt, not pulled, and divide what you read by 3.14."
    if one.family == "cross":
        return "Lay it flat, not pulled, and measure a panel from end to end."
    if one.family == "flat polygon" and one.lines % 2:
        return "Lay it flat, not pulled, and measure from the middle to the middle of a side: twice that is its size from flat to flat."
    if one.family == "flat polygon":
        return f"Lay it flat, not pulled, and measure it {one.said.text('canopy.across')}."
    return "Lay it flat, not pulled, and measure it through its middle."


def _measured(worked: Worked, made: Making, size: str) -> Drawing | None:
    """What is measured of a canopy that is no polygon."""
    one = made.canopy
    if not one.shape:
        return None
    return canopy_plan(one.family, one.shape, one.lines, one.ratio, one.vent, one.size, 0.0, (size, ""), worked.writer(LENGTH), f"What is measured: {size}.")


def _tables(worked: Worked, made: Making) -> tuple[Table, ...]:
    show, least = worked.show, worked.at_least
    cut = [
        (one.piece.name, f"{count} {lot.colour}".strip(), " × ".join(to_mark(size, worked.rig.units) for size in one.size))
        for lot in made.cloth.lots
        for one, count in lot.pieces
    ]
    cut.append(("patch", f"{made.canopy.lines} and 1 for the sample", f"{to_mark(made.patch, worked.rig.units)} square, grain along the seam"))
    masses, cloth = made.masses, made.canopy.said.text("canopy.cloth")
    heavy = {name: least(mass, MASS) for name, mass in masses.items()}
    bought = [
        (f"{cloth}, {show(made.bolt, LENGTH)} clear between its selvages: measure it in the shop", f"{', '.join(f'{_long(worked, made, lot)} {lot.colour}'.strip() for lot in made.cloth.lots)}{_spoilt(worked, made)}", heavy["cloth"]),
        (made.canopy.said.text("lines.material"), _cord(worked, made), heavy["lines"]),
        (made.canopy.said.text("make.thread"), f"{least(made.thread_length, LENGTH)}, and some for samples", heavy["thread"] if masses["thread"] else "not known"),
        (_link(worked, made), "1", "not counted"),
        *([(_tape(worked, made), f"{least(made.tape, LENGTH)}, laps counted in", heavy["tape"])] if made.tape else []),
    ]
    widths = [
        (show(one.width, LENGTH), "too narrow" if one.length is None else least(one.length, LENGTH), "" if one.waste is None else show(one.waste, SHARE))
        for one in made.widths
    ]
    found = [
        Table("Pieces", ("Piece", "How many", "With allowances"), tuple(cut), shown=True, first=True),
        Table("To buy, and its mass when sewn", ("What", "How much", "Weighs"), tuple(bought), shown=True, first=True),
        Table("To have at hand", ("What", "For"), _tools(worked, made), shown=True, first=True),
        Table("Before you sew, pull or drop", ("When", "Take care"), _CARE, shown=True, first=True),
        Table("The same from cloth of other widths", ("Cloth", "Between squared ends", "Left over"), tuple(widths)),
    ]
    if made.wanted == GORES and made.offsets:
        marks = [tuple(to_mark(length, worked.rig.units) for length in (one.along, one.half, 2 * one.half)) for one in made.offsets]
        caption = f"To mark a gore without a printer: every {show(made.sample, LENGTH)} up its middle line from the hem, without allowances"
        found.append(Table(caption, ("Up from the hem", "To each side", "Whole width"), tuple(marks), shown=True))
        found.append(Table("On the same gore", ("What", "Where"), _on_gore(worked, made), shown=True))
    return tuple(found)


_CARE = (
    ("Sew", "The machine is off while you change its needle or reach under its foot. Count needles, pins and clips: none stays in the canopy. No flame near cloth: nylon drips and burns skin."),
    ("Pull", "Scale tied to a fixed hook, pull level at waist height. Eyes covered, gloves on; hold rods, no line round a hand. Stand beside the pull and turn your face out of its line; nobody behind it: what parts flies. Pull slowly."),
    ("Drop", "Leave it out where you are not sure. Outdoors, where you may, with no wind and no cable near. Nobody climbs, nobody nearer than it is high, nobody catches it. A soft, light bag only."),
    ("Fly", "After a pulled seam, a pulled line and a hang, and when the range safety officer says so."),
)


def _spoilt(worked: Worked, made: Making) -> str:
    """What a piece that goes wrong takes on top."""
    if made.spoilt is None:
        return ""
    name = "gore" if made.wanted == GORES else "piece"
    return f", none to spare: one wrong {name} needs {worked.at_least(made.spoilt, LENGTH)} more" if made.spoilt else f"; one wrong {name} comes out of what is left over"


def _cord(worked: Worked, made: Making) -> str:
    """Line to buy, piece by piece, and more of what was never washed."""
    units, least = worked.rig.units, worked.at_least
    pieces = f"{made.canopy.lines + made.spare} × {to_mark(made.line_cut, units, up=True)}, a sample of {to_mark(made.line_sample, units, up=True)}, some to hold the last by"
    if made.canopy.said.number("make.shrink"):
        return f"{pieces}: {least(made.line_total, LENGTH)}, not washed"
    return f"{pieces}: {least(made.line_total, LENGTH)} washed and dried; never washed it shrinks: buy a tenth more, {_unwashed(worked, made)}"


def _tape(worked: Worked, made: Making) -> str:
    """What tape is bought."""
    return f"soft nylon tape woven straight, not cut on the bias, {worked.show(2 * made.hem_width, LENGTH)} wide, holds {_scaled(worked.at_least(made.tape_needed, FORCE), worked, 1)} or more"


def _tools(worked: Worked, made: Making) -> tuple[tuple[str, str], ...]:
    """What is at hand before it begins."""
    pulls = [pull for pull in ((made.sample_pull if made.seam_length else 0.0), made.line_sample_pull, made.tension) if pull <= _READABLE]
    hung = max(made.sample_pull if made.seam_length else 0.0, made.line_sample_pull)
    weights = [(f"weights of {_weighs(worked.at_least(hung, FORCE), worked, 1)} in a bag", "what no luggage scale reads")] if hung > _READABLE else []
    show, rod, long = worked.show, to_mark(ROD, worked.rig.units), to_mark(ROD_LONG, worked.rig.units)
    longest = max(made.line_cut, made.pegs, Sewn(made.canopy).corners or made.canopy.size)
    return (
        ("glue and scissors for the pattern", "its sheets"),
        (f"luggage scale, to {_weighs(worked.at_least(max(pulls), FORCE), worked, 1)} or more", "samples, loops, measuring the lines"),
        *weights,
        (f"a helper, a fixed hook at waist height, strong cord, two smooth rods {rod} thick and {long} long or longer, gloves, cover for the eyes", "whatever is pulled"),
        (f"two pegs {to_mark(made.pegs, worked.rig.units)} apart on a board, a clamp, paper tape", "lines"),
        (f"tape measure, {worked.at_least(longest, LENGTH)} or longer; long ruler, set square, weights, a marker that washes off a scrap of the cloth, sharp shears", "marking and cutting"),
        (_needle(worked, made), "a new one for each canopy"),
        ("clips or thin basting tape, seam ripper", "seams and hems"),
        (f"kitchen scale, to {worked.at_least(made.mass, MASS)} or more", "the finished canopy"),
        ("spanner; permanent marker", "the link; the lines"),
        (f"hook {worked.at_least(made.hook, LENGTH)} up or more; a long pole", "hanging it up"),
        (f"only if you drop it: pulley, line, cord, a ring, a smooth pin, a bag of {show(made.bag, MASS)} of sand, two ribbons, a camera", "the drop"),
    )


def _needle(worked: Worked, made: Making) -> str:
    """Which needle this thread wants; of the reader's own thread what each wants."""
    if made.tex is None:
        return sentence("needle", worked.rig.units)
    told = f"sharp needle of size {digits(made.needle)}" if made.needle else "the needle of a heavy machine"
    return f"{told}, for this thread of up to tex {digits(made.tex)} (common practice, no source)"


def _on_gore(worked: Worked, made: Making) -> tuple[tuple[str, str], ...]:
    """What a table of widths does not tell of a gore: its arcs and its notches."""
    units, form, (gore, *_) = worked.rig.units, made.form, made.pieces
    marks = sorted({(round(notch.point[1], 9), round(abs(notch.point[0]), 9)) for notch in gore.notches})
    notched = ", ".join(f"{to_mark(up, units)} up and {to_mark(half, units)} aside" for up, half in marks)
    found = [("notches, on both edges", f"{notched}: on the edge, from the finished line outwards")]
    if form.family in DOMES:
        return (*found, ("hem and hole" if form.hole else "hem", "straight across"))
    apex = f"about the point {to_mark(form.radius, units)} up the middle line"
    if form.family != "flat polygon":
        found.append(("hem", f"an arc of radius {to_mark(form.radius, units)} {apex}"))
    if form.hole:
        found.append(("hole", f"an arc of radius {to_mark(form.hole, units)} {apex}; nothing is added there"))
    return tuple(found)


def _working(worked: Worked, made: Making) -> tuple[Working, ...]:
    show, one = worked.show, made.canopy
    return (
        Working(
            "Stitches of a seam",
            "rows × strands × thread / stitch length",
            f"{digits(made.seam.rows.value)} × {digits(known('seam_strands').low)} × {worked.at_most(made.thread_strength, FORCE)} / {show(one.said.number('make.stitch'), LENGTH)} = {worked.at_most(made.stitches, LINE_LOAD)}",
            practice("seam_strands", worked.rig.units),
        ),
        Working(
            "Pull on the cloth",
            "F / L, all round its widest place (π·Dp), of a cross the ends of its arms where those are less",
            f"{worked.at_least(made.opening.design, FORCE)} / {worked.at_most(one.pulled_edge, LENGTH)} = {worked.at_least(made.pull, LINE_LOAD)}",
            "statics; the opening load of this rig",
        ),
        Working(
            "A line as cut",
            "pegs / (1 + give) + both ends, what will shrink counted in",
            f"{show(made.pegs, LENGTH)} / (1 + {digits(made.give)}) + {show(made.at_skirt, LENGTH)} + {show(made.at_link, LENGTH)} = {worked.at_least(made.line_cut, LENGTH)}",
            "give: stretch at break × pull / strength, in proportion up to the break (an assumption)",
        ),
        Working(
            "Mass of the finished canopy",
            "cloth as cut + tape + thread + lines",
            " + ".join(show(mass, MASS) for mass in made.masses.values() if mass) + f" = {show(made.mass, MASS)}",
            f"{one.cloth_source}; {sentence('thread_use', worked.rig.units)}",
        ),
    )


def _drawings(worked: Worked, made: Making) -> tuple[Drawing, ...]:
    if not made.pieces:
        return ()
    laid = [_laid(worked, lot) for lot in made.cloth.lots if lot.layout]
    return (*laid[:1], _piece(worked, made), *laid[1:])


def _laid(worked: Worked, lot: Lot) -> Drawing:
    """One lot on its cloth."""
    assert lot.layout
    said = ", ".join(f"{count} × {one.piece.name}" for one, count in lot.pieces)
    said = f"{lot.colour}: {said}" if lot.colour else said
    left = f"{worked.show(lot.layout.waste, SHARE)} left over"
    count = sum(count for _, count in lot.pieces)
    placed = tuple([one.outline for one in lot.layout.placed])
    told = f"{count} piece{'' if count == 1 else 's'}, {left}"
    return on_the_bolt(lot.layout.width, lot.layout.length, placed, told, worked.writer(LENGTH), f"{said} on the cloth, {left}.")


def _long(worked: Worked, made: Making, lot: Lot) -> str:
    """What is bought of a lot, and how much of it lies between squared ends."""
    if not lot.layout:
        return "does not lie on it"
    return f"{worked.show(made.bought(lot.layout.length), LENGTH)}: {worked.at_least(lot.layout.length, LENGTH)} between squared ends"


def _notes(made: Making) -> tuple[str, ...]:
    excess = made.edge_excess
    notes = ["Pieces lie on the cloth with no room to spare, between its selvages: cloth for a piece that goes wrong comes on top of what is told here; patches and samples come out of what is left over."]
    if excess > 1:
        notes.insert(0, f"The edges of these gores are {digits(100 * (excess - 1))} % longer than the curve they follow, so the skin sits slightly scalloped between its seams; its area is that of the smooth dome.")
    return tuple(notes)


def _offers(worked: Worked, made: Making) -> tuple[Offer, ...]:
    """The finished mass for the rig, or back to what the rig works out itself."""
    path, said = f"{made.canopy.key}.canopy.mass", made.canopy.said
    if not made.pieces:
        return ()
    mass, there = worked.show(made.mass, MASS), said.optional("canopy.mass")
    sewn = f"{made.canopy.key}.make.sewn"
    take = Offer(f"Put {mass} into the rig as its mass, its seams into the chain", {path: mass, sewn: SEWN})
    if there is None:
        return (take,)
    kept = worked.show(there, MASS)
    back = Offer(f"Take {kept} out of the rig again", {path: "", sewn: OTHERWISE})
    return (back,) if kept == mass else (take, back)


def told(worked: Worked, key: str) -> Answer:
    """One canopy of a known shape, from cloth to a finished mass."""
    made = worked.makings[key]
    return Answer(
        _outputs(made),
        _summary(worked, made),
        checks(worked, made),
        Later(lambda: _working(worked, made)),
        Later(lambda: _drawings(worked, made)),
        Later(lambda: steps(worked, made) if made.pieces else ()),
        notes=_notes(made),
        tables=Later(lambda: _tables(worked, made)),
        offers=_offers(worked, made),
        cautions=CAUTIONS,
    )

