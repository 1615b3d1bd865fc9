"""Folding the canopy: every act in order, with what should lie there after it, and whether the bundle fits."""

from loftbook.physics import folding
from loftbook.case import Case
from loftbook.answer import Answer, Calculator, Check, Output, Stage, Value, Working
from loftbook.drawing import pictures
from loftbook.physics.elementary import PI
from loftbook.fields import FIELDS, FLAT
from loftbook.physics.folding import Step, grouped
from loftbook.quantity import COUNT, LENGTH, MASS, PACK_DENSITY, VOLUME, digits
from loftbook.tables import practice

_TIMES = {2: "two", 3: "three", 4: "four", 5: "five", 6: "six", 7: "seven", 8: "eight"}


def fit_check(case: Case) -> Check:
    """Whether a bundle fits tube and bay, and what would make it fit."""
    b, show = case.bundle, case.show
    if b.fits:
        return Check(
            "bundle-fits",
            "pass",
            "Bundle fits",
            f"{show(b.length, LENGTH)} long and about {show(b.diameter, LENGTH)} across; the bay leaves "
            f"{show(b.room, LENGTH)} and the tube {show(b.widest, LENGTH)}. {practice('shake').capitalize()}.",
        )
    ways = []
    if b.needs_room is not None and b.needs_room > case.left_for_bundle:
        ways.append(f"a bay {show(b.needs_room - case.left_for_bundle, LENGTH)} deeper")
    if case.room > 0 and b.needs_tube > case.clear_tube:
        ways.append(f"a tube of {show(b.needs_tube + case.beside, LENGTH)} inside")
    smaller = largest_that_fits(case)
    if smaller:
        ways.append(f"a canopy of this family no larger than {show(smaller, LENGTH)}")
    reason = (
        f"The bundle would be {show(b.length, LENGTH)} long and {show(b.diameter, LENGTH)} across, where the bay "
        f"leaves {show(b.room, LENGTH)} and the tube {show(b.widest, LENGTH)}."
    )
    remedy = f" It would fit with {', or '.join(ways)}." if ways else " Nothing short of another bay makes it fit."
    return Check("bundle-fits", "fail", "Bundle fits", reason + remedy)


def largest_that_fits(case: Case) -> float | None:
    """Largest size [m] of the family that fits tube and bay, in steps of 2 %; None when not even a tenth does."""
    if not case.shape or case.room <= 0:
        return None
    strip = folding.levelled(case.fold_steps[-1])
    size = case.n("canopy.size")
    for i in range(1, 46):
        k = 1 - i / 50
        volume = case.cloth_mass_at(size * k) / case.n("pack.density")
        fitted = folding.bundle(
            strip.length * k,
            strip.width * k,
            volume,
            case.clear_tube,
            case.room,
            case.n("pack.clearance"),
            case.halving,
        )
        if fitted.fits:
            return size * k
    return None


def acts(case: Case) -> tuple[Step, ...]:
    """All acts, the shortening included."""
    return case.fold_steps + case.shortening


def _words(case: Case, step: Step) -> tuple[str, str, str, str]:
    """Title, what to do, what should be seen, what to do if not."""
    show, sheet = case.show, step.after
    size = f"{show(sheet.length, LENGTH)} long, {show(sheet.width, LENGTH)} wide"
    groups = len(grouped(sheet.lines))
    gather = "all lines in one group" if groups == 1 else f"the lines in {groups} groups"
    clear = "Draw the lines straight and lay them all to one side first."
    again = "Open this fold again, pull the lines straight from the skirt outwards, and fold anew."
    match step.act:
        case "lay out":
            return (
                "Lay it out",
                f"Spread the canopy flat, line 1 to your right, no line across the cloth. {clear}",
                f"One layer, {size}, lines 1 to {case.lines} in order round the edge.",
                "A number out of order means a line goes over or under its neighbour: clear the tangle before you fold.",
            )
        case "halve":
            how = {1: "Bring the near half up over the far half", 2: "Bring the left half over the right half"}.get(
                step.number, "Bring the upper edge down onto the lower edge, the apex staying where it is"
            )
            return (
                f"Fold {step.number}: in half through the centre",
                f"{clear} {how}, corner on corner.",
                f"{step.layers} layers, a wedge of {digits(step.wedge)}°, {size}, {gather}.",
                again,
            )
        case "pleat":
            unit = "gore" if case.lines % 2 == 0 else "half gore"
            way = "towards you" if step.number % 2 else "away from you"
            return (
                f"Pleat {step.number}: one {unit} back",
                f"Hold the apex and the first {unit}; lay all the rest back {way} on the crease, like a fan. "
                "Keep the lines together at the skirt.",
                f"Up to {step.layers} layers at the pile, {size} in all, {gather}.",
                again,
            )
        case "flake":
            return (
                "Flake it gore by gore",
                "Hang the canopy by its apex, all lines drawn clear. Lay the gores on one pile, half of them to "
                "the left and half to the right, lines together along the middle.",
                f"{step.layers} layers each side, {size} at the skirt, all lines in one group.",
                "Cloth caught between two lines: lift the gores one by one and draw it out.",
            )
        case "lengthwise":
            return (
                f"Lengthwise {step.number}: narrow it",
                ("Turn it so that the apex points left and the skirt right. " if step.number == 1 else "")
                + "Fold the upper half down over the lower, apex to skirt. Keep the lines straight at the skirt end.",
                f"{step.layers} layers, a strip {size}.",
                "Wider than that: open it and fold nearer the middle.",
            )
    how = (
        "Bring the apex end over onto the skirt end."
        if step.parts == 2
        else f"Lay the strip back and forth in {_TIMES.get(step.parts, step.parts)} equal lengths, the skirt end "
        "staying outside with its lines free."
    )
    name = f"Shorten {step.number}: in half" if case.halving else "Shorten it"
    last = ": this is the bundle" if step is acts(case)[-1] else ""
    return (
        name,
        f"{how} Do not roll it.",
        f"{step.layers} layers at most, {size}{last}.",
        "Thicker than the tube lets it be: shake it out and fold again from the strip, looser.",
    )


_ANCHORS = {"lay out": "fold-lay-out", "flake": "fold-flake"}


def preparations(case: Case) -> tuple[Stage, ...]:
    """Before any fold: inspect, clear a tangle, rig lines anew."""
    n = case.lines
    return (
        Stage(
            "prep-inspect",
            "Inspect it",
            "Hold the canopy against the sky, gore by gore: holes, glazed or stiff spots, pulled seams. Run every line "
            "through your fingers from skirt to end.",
            f"Whole cloth, {n} sound lines of {case.show(case.n('lines.length'), LENGTH)}, no knot that was not tied on purpose.",
            "A hole, a melted spot, a stretched or fuzzy line: mend it or leave it on the ground.",
        ),
        Stage(
            "prep-clear-lines",
            "Find a tangle and clear it",
            "Hold all line ends in one hand, in number order. Start at line 1 and follow each to the skirt with the other "
            "hand. Where one goes over a neighbour, pass the canopy's skirt between the two lines; do not untie anything.",
            f"Lines 1 to {n} run side by side from hand to skirt, none across another.",
            "Still crossed after one turn of the canopy: it went the other way. Turn it back and once more.",
            pictures.line_order(
                n,
                (3, 4) if n > 4 else (2, 3),
                "Two lines crossed, to be cleared",
                "Lines in number order from the skirt at the left to the link at the right; two neighbours cross.",
            ),
        ),
        Stage(
            "prep-rig-lines",
            "Rig lines anew, one at a time",
            "Only if lines came off. Lay the canopy out, begin at line 1, and hang the lines on the link one after another in "
            "number order, each drawn straight from its corner before the next. Close the link last.",
            f"Lines 1 to {n} on the link in order, all equally long when pulled.",
            "One hangs slack: it passes over a neighbour, or it was tied shorter. Take it off and hang it again.",
            pictures.line_order(
                n,
                None,
                "Lines in order on the link",
                "Lines in number order from the skirt at the left to the link at the right; none cross.",
            ),
        ),
    )


def stages(case: Case) -> tuple[Stage, ...]:
    """Preparations and folds, each with an anchor that names the act and so never changes."""
    made = []
    for step in acts(case):
        title, text, seen, otherwise = _words(case, step)
        anchor = _ANCHORS.get(step.act, f"fold-{step.act}-{step.number}")
        picture = pictures.fold_step(step, case.lines, lambda v: case.show(v, LENGTH), title, seen)
        made.append(Stage(anchor, title, text, seen, otherwise, picture))
    return (*preparations(case), *made)


def compute(case: Case) -> Answer:
    b, show = case.bundle, case.show
    volume = case.cloth_mass / case.n("pack.density")
    last = acts(case)[-1] if case.shape else None
    outputs: dict[str, Value | None] = {
        "bundle_length": b.length,
        "bundle_diameter": b.diameter,
        "bundle_room": b.room,
        "bundle_widest": b.widest,
        "layers": last.layers if last else None,
        "parts": b.parts,
        "folds": len(acts(case)),
        "volume": volume,
        "fits": "yes" if b.fits else "no",
    }
    working = (
        Working(
            "Bulk of the cloth",
            "V = m / pack density",
            f"V = {show(case.cloth_mass, MASS)} / {show(case.n('pack.density'), PACK_DENSITY)} "
            f"= {show(volume, VOLUME)}",
            practice("pack_density"),
        ),
        Working(
            "Bundle's diameter",
            "d = √(4·V / (π·l)), the bundle taken as a cylinder",
            f"d = √(4 × {show(volume, VOLUME)} / ({digits(PI, 4)} × {show(b.length, LENGTH)})) "
            f"= {show(b.diameter, LENGTH)}",
            f"geometry; {practice('clearance')}",
        ),
    )
    drawing = pictures.end_on(
        b,
        case.n("rocket.tube"),
        case.beside,
        lambda v: show(v, LENGTH),
        f"The bundle is {show(b.diameter, LENGTH)} across, the tube {show(case.n('rocket.tube'), LENGTH)}.",
    )
    notes = []
    if not case.shape:
        notes.append(
            "Of a canopy measured by you only the area is known, not the shape: no folds are shown, the bundle "
            "is its bulk as wide as the tube allows."
        )
    elif case.family not in FLAT:
        notes.append(
            "This canopy is not flat: the flat sequence would trap a fold of cloth. It is flaked gore by gore."
        )
    notes.append("Before every fold: lines drawn clear and to one side, none under the cloth, none across it.")
    summary = (
        f"The bundle is {show(b.length, LENGTH)} long and {show(b.diameter, LENGTH)} across"
        f"{'' if b.fits else ' and does not fit'}."
    )
    return Answer(outputs, summary, (fit_check(case),), working, (drawing,), stages(case), tuple(notes))


FOLDING = Calculator(
    "folding",
    "Fold it",
    (
        "rig.units",
        "rocket.tube",
        "rocket.bay",
        "rocket.shoulder",
        *(p for p in FIELDS if p.startswith("canopy.") and p not in ("canopy.rate", "canopy.cd_low", "canopy.cd_high")),
        "lines.length",
        "lines.diameter",
        "lines.mass",
        "pack.density",
        "pack.clearance",
        "pack.beside",
        "pack.shortening",
        "pack.protector_depth",
        "pack.fill",
        "cord.layout",
        "cord.length",
        "cord.gap",
        "cord.width",
        "cord.thickness",
    ),
    (
        Output("bundle_length", "Bundle, length", LENGTH),
        Output("bundle_diameter", "Bundle, across", LENGTH),
        Output("bundle_room", "Length the bay leaves for it", LENGTH),
        Output("bundle_widest", "Width the tube leaves for it", LENGTH),
        Output("layers", "Layers at the thickest", COUNT),
        Output("fits", "Fits", None),
        Output("parts", "Lengths it is laid in", COUNT, main=False),
        Output("folds", "Steps in all", COUNT, main=False),
        Output("volume", "Bulk of the cloth", VOLUME, main=False),
    ),
    compute,
)
