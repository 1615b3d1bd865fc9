"""Folding a canopy: every act in order, with what should lie there after it, whether the bundle fits and can open."""

from loftbook.answer import Answer, Calculator, Check, CheckKind, Output, Step, Value, Working
from loftbook.drawing.bays import end_on
from loftbook.drawing.folds import fold_step, line_order
from loftbook.physics.elementary import PI
from loftbook.physics.folding import Fold, grouped
from loftbook.quantity import COUNT, LENGTH, MASS, PACK_DENSITY, VOLUME, digits
from loftbook.rig.bay_fields import CANOPY as CANOPY_FIELDS
from loftbook.rig.bay_fields import FLAT
from loftbook.tables import known, practice
from loftbook.worked.bundle import Folded
from loftbook.worked.worked import Worked

BUNDLE_FITS = CheckKind(
    "bundle-fits", "Bundle fits", ("bay.depth", "bay.tube", "canopy.size", "pack.density", "cord.length", "cord.thickness")
)
LINE_WRAPS = CheckKind("line-wraps", "Lines round the bundle", ("pack.line_turns",))
CORD_WRAPS = CheckKind("cord-wraps", "Cord round the bundle", ("pack.cord_turns",))

_TIMES = {2: "two", 3: "three", 4: "four", 5: "five", 6: "six", 7: "seven", 8: "eight"}
_ANCHORS = {"lay out": "lay-out", "flake": "flake"}
_UNUSED = ("canopy.rate", "canopy.cd_low", "canopy.cd_high", "canopy.cloth_strength")
_CLEAR = "Draw the lines straight and lay them all to one side first."
_AGAIN = "Open this fold again, pull the lines straight from the skirt outwards, and fold anew."


# --- checks --------------------------------------------------------------------------------------------


def fit_check(worked: Worked, key: str) -> Check:
    """Whether a bundle fits tube and bay, and what would make it fit."""
    b = worked.folded(key).bundle
    long, wide, room, widest = (worked.show(v, LENGTH) for v in (b.length, b.diameter, b.room, b.widest))
    if b.fits:
        shake = practice("shake", worked.rig.units)
        return BUNDLE_FITS.hold(
            f"{long} long and about {wide} across; the bay leaves {room} and the tube {widest}. The shake test: {shake}."
        )
    ways = _remedies(worked, key)
    remedy = f"It would fit with {', or '.join(ways)}." if ways else "Nothing short of another bay makes it fit."
    return BUNDLE_FITS.fail(
        f"The bundle would be {long} long and {wide} across, where the bay leaves {room} and the tube {widest}. {remedy}"
    )


def _remedies(worked: Worked, key: str) -> list[str]:
    """Each change that alone makes a bundle fit, in words."""
    bay, show = worked.home(key), worked.show
    found = (
        (bay.deeper(key), "a bay {} deeper"),
        (bay.wider(key), "a tube of {} inside"),
        (bay.smaller(key), "a canopy of this family no larger than {}"),
    )
    return [words.format(show(value, LENGTH)) for value, words in found if value is not None]


def line_wraps_check(worked: Worked, one: Folded) -> Check:
    """Whether the lines leave the bundle free to open."""
    turns, said = one.line_turns, practice("wraps", worked.rig.units)
    used, whole = worked.show(one.wound, LENGTH), worked.show(one.canopy.line_length, LENGTH)
    if turns > known("wraps").high:
        return LINE_WRAPS.fail(
            f"{digits(turns)} turns of line are too many: {said}. A bundle wrapped shut comes down as a bundle. "
            "Unwrap it and stow the lines above the bundle."
        )
    if one.wound >= one.canopy.line_length:
        return LINE_WRAPS.fail(
            f"{digits(turns)} turns use {used}, all of the line. Never wrap all of the line."
        )
    return LINE_WRAPS.hold(f"{digits(turns)} {'turn uses' if turns == 1 else 'turns use'} {used} of {whole}; {said}.")


def cord_wraps_check(one: Folded) -> Check:
    """Whether the recovery cord stays off the bundle."""
    if one.cord_turns > 0:
        return CORD_WRAPS.fail(
            "The recovery cord goes round the bundle. It pulls tight as it pays out and the canopy cannot open: "
            "unwrap it and z-fold it below and above the bundle."
        )
    return CORD_WRAPS.hold("None: the cord is z-folded below and above the bundle.")


# --- steps ---------------------------------------------------------------------------------------------


def named(worked: Worked, key: str) -> str:
    """A canopy in a sentence; which one is said where there is more than one."""
    way = worked.rig.way
    if len(way.canopies) == 1:
        return "the canopy"
    return f"the {worked.title(key)}" if way.tied else f"the canopy of the {worked.title(key)}"


def preparations(worked: Worked, key: str) -> tuple[Step, ...]:
    """Before any fold: inspect, clear a tangle, rig lines anew."""
    one, which = worked.canopies[key], named(worked, key)
    n = one.lines
    picture = "Lines in number order from the skirt at the left to the link at the right;"
    return (
        Step(
            f"{key}-prep-inspect",
            "Inspect it",
            f"Hold {which} against the sky, gore by gore: holes, glazed or stiff spots, pulled seams. Run every line "
            "through your fingers from skirt to end.",
            f"Whole cloth, {n} sound lines of {worked.show(one.line_length, LENGTH)}, no knot that was not tied on purpose.",
            "A hole, a melted spot, a stretched or fuzzy line: mend it or leave it on the ground.",
        ),
        Step(
            f"{key}-prep-clear-lines",
            "Find a tangle and clear it",
            "Hold all line ends in one hand, in number order. Start at line 1 and follow each to the skirt with the other "
            "hand. Where one goes over a neighbour, pass the canopy's skirt between the two lines; do not untie anything.",
            f"Lines 1 to {n} run side by side from hand to skirt, none across another.",
            "Still crossed after one turn of the canopy: it went the other way. Turn it back and once more.",
            line_order(
                n,
                (3, 4) if n > 4 else (2, 3),
                "Two lines crossed, to be cleared",
                f"{picture} two neighbours cross.",
            ),
        ),
        Step(
            f"{key}-prep-rig-lines",
            "Rig lines anew, one at a time",
            "Only if lines came off. Lay the canopy out, begin at line 1, and hang the lines on the link one after another in "
            "number order, each drawn straight from its corner before the next. Close the link last.",
            f"Lines 1 to {n} on the link in order, all equally long when pulled.",
            "One hangs slack: it passes over a neighbour, or it was tied shorter. Take it off and hang it again.",
            line_order(n, None, "Lines in order on the link", f"{picture} none cross."),
        ),
    )


def folds(worked: Worked, key: str) -> tuple[Step, ...]:
    """The folds, each with an anchor that names the act and so never changes."""
    made, lines = [], worked.canopies[key].lines
    for fold in worked.folded(key).folds:
        title, text, seen, otherwise = _words(worked, key, fold)
        anchor = f"{key}-fold-{_ANCHORS.get(fold.act, f'{fold.act}-{fold.number}')}"
        picture = fold_step(fold, lines, lambda v: worked.show(v, LENGTH), title, seen)
        made.append(Step(anchor, title, text, seen, otherwise, picture))
    return tuple(made)


def _words(worked: Worked, key: str, fold: Fold) -> tuple[str, str, str, str]:
    """Title, what to do, what should be seen, what to do if not."""
    size = f"{worked.show(fold.after.length, LENGTH)} long, {worked.show(fold.after.width, LENGTH)} wide"
    groups = len(grouped(fold.after.lines))
    gather = "all lines in one group" if groups == 1 else f"the lines in {groups} groups"
    match fold.act:
        case "lay out":
            return _laid_out(named(worked, key), worked.canopies[key].lines, size)
        case "halve":
            return _halved(fold, size, gather)
        case "pleat":
            return _pleated(fold, "gore" if worked.canopies[key].lines % 2 == 0 else "half gore", size, gather)
        case "flake":
            return _flaked(named(worked, key), fold, size)
        case "lengthwise":
            return _narrowed(fold, size)
        case "shorten":
            return _shortened(fold, worked.folded(key), size)


def _laid_out(which: str, lines: int, size: str) -> tuple[str, str, str, str]:
    return (
        "Lay it out",
        f"Spread {which} flat, line 1 to your right, no line across the cloth. {_CLEAR}",
        f"One layer, {size}, lines 1 to {lines} in order round the edge.",
        "A number out of order means a line goes over or under its neighbour: clear the tangle before you fold.",
    )


def _halved(fold: Fold, size: str, gather: str) -> tuple[str, str, str, str]:
    how = {1: "Bring the near half up over the far half", 2: "Bring the left half over the right half"}.get(
        fold.number, "Bring the upper edge down onto the lower edge, the apex staying where it is"
    )
    return (
        f"Fold {fold.number}: in half through the centre",
        f"{_CLEAR} {how}, corner on corner.",
        f"{fold.layers} layers, a wedge of {digits(fold.wedge)}°, {size}, {gather}.",
        _AGAIN,
    )


def _pleated(fold: Fold, unit: str, size: str, gather: str) -> tuple[str, str, str, str]:
    towards = "towards you" if fold.number % 2 else "away from you"
    return (
        f"Pleat {fold.number}: one {unit} back",
        f"Hold the apex and the first {unit}; lay all the rest back {towards} on the crease, like a fan. "
        "Keep the lines together at the skirt.",
        f"Up to {fold.layers} layers at the pile, {size} in all, {gather}.",
        _AGAIN,
    )


def _flaked(which: str, fold: Fold, size: str) -> tuple[str, str, str, str]:
    return (
        "Flake it gore by gore",
        f"Hang {which} by its apex, all lines drawn clear. Lay the gores on one pile, half of them to "
        "the left and half to the right, lines together along the middle.",
        f"{fold.layers} layers each side, {size} at the skirt, all lines in one group.",
        "Cloth caught between two lines: lift the gores one by one and draw it out.",
    )


def _narrowed(fold: Fold, size: str) -> tuple[str, str, str, str]:
    turn = "Turn it so that the apex points left and the skirt right. " if fold.number == 1 else ""
    return (
        f"Lengthwise {fold.number}: narrow it",
        f"{turn}Fold the upper half down over the lower, apex to skirt. Keep the lines straight at the skirt end.",
        f"{fold.layers} layers, a strip {size}.",
        "Wider than that: open it and fold nearer the middle.",
    )


def _shortened(fold: Fold, whole: Folded, size: str) -> tuple[str, str, str, str]:
    how = (
        "Bring the apex end over onto the skirt end."
        if fold.parts == 2
        else f"Lay the strip back and forth in {_TIMES.get(fold.parts, fold.parts)} equal lengths, the skirt end "
        "staying outside with its lines free."
    )
    last = ": this is the bundle" if fold is whole.folds[-1] else ""
    return (
        f"Shorten {fold.number}: in half" if whole.strip.halving else "Shorten it",
        f"{how} Do not roll it.",
        f"{fold.layers} layers at most, {size}{last}.",
        "Thicker than the tube lets it be: shake it out and fold again from the strip, looser.",
    )


# --- the answer ----------------------------------------------------------------------------------------


def _outputs(one: Folded) -> dict[str, Value | None]:
    b = one.bundle
    return {
        "bundle_length": b.length,
        "bundle_diameter": b.diameter,
        "bundle_room": b.room,
        "bundle_widest": b.widest,
        "layers": one.folds[-1].layers if one.folds else None,
        "parts": b.parts,
        "folds": len(one.folds),
        "volume": one.volume,
        "fits": "yes" if b.fits else "no",
    }


def _working(worked: Worked, one: Folded) -> tuple[Working, ...]:
    show, b, units = worked.show, one.bundle, worked.rig.units
    mass, density = one.canopy.cloth_mass, one.canopy.said.number("pack.density")
    return (
        Working(
            "Bulk of the cloth",
            "V = m / pack density",
            f"V = {show(mass, MASS)} / {show(density, PACK_DENSITY)} = {show(one.volume, VOLUME)}",
            practice("pack_density", units),
        ),
        Working(
            "Bundle's diameter",
            "d = √(4·V / (π·l)), the bundle taken as a cylinder",
            f"d = √(4 × {show(one.volume, VOLUME)} / ({digits(PI, 4)} × {show(b.length, LENGTH)})) "
            f"= {show(b.diameter, LENGTH)}",
            f"geometry; {practice('clearance', units)}",
        ),
    )


def _notes(one: Folded) -> tuple[str, ...]:
    before = "Before every fold: lines drawn clear and to one side, none under the cloth, none across it."
    if not one.canopy.shape:
        shapeless = (
            "Of a canopy measured by you only the area is known, not the shape: no folds are shown, the bundle "
            "is its bulk as wide as the tube allows."
        )
        return shapeless, before
    if one.canopy.family not in FLAT:
        round_one = "This canopy is not flat: the flat sequence would trap a fold of cloth. It is flaked gore by gore."
        return round_one, before
    return (before,)


def compute(worked: Worked, key: str) -> Answer:
    """One canopy, folded for the room its bay has for it."""
    one, bay = worked.folded(key), worked.home(key)
    b, show = one.bundle, worked.show
    told = f"The bundle is {show(b.diameter, LENGTH)} across, the tube {show(bay.tube, LENGTH)}."
    long, wide = show(b.length, LENGTH), show(b.diameter, LENGTH)
    return Answer(
        _outputs(one),
        f"The bundle is {long} long and {wide} across{'' if b.fits else ' and does not fit'}.",
        (fit_check(worked, key), line_wraps_check(worked, one), cord_wraps_check(one)),
        _working(worked, one),
        (end_on(b, bay.tube, bay.beside, lambda v: show(v, LENGTH), told),),
        (*preparations(worked, key), *folds(worked, key)),
        _notes(one),
    )


FIT_INPUTS = (  # what a bundle and its room depend on
    "rig.units",
    "flight.way",
    "bay.tube",
    "bay.depth",
    "bay.shoulder",
    *(field.path for field in CANOPY_FIELDS if field.path not in _UNUSED),
    "lines.length",
    "lines.diameter",
    "lines.mass",
    "pack.density",
    "pack.clearance",
    "pack.beside",
    "pack.shortening",
    "pack.protector_depth",
    "pack.fill",
    "pack.device",
    "cord.layout",
    "cord.length",
    "cord.gap",
    "cord.width",
    "cord.thickness",
)

FOLDING = Calculator(
    "folding",
    "Fold it",
    (*FIT_INPUTS, "pack.line_turns", "pack.cord_turns"),
    (
        Output("bundle_length", "Bundle, length", LENGTH),
        Output("bundle_diameter", "Bundle, across", LENGTH),
        Output("bundle_room", "Length the bay leaves for it", LENGTH),
        Output("bundle_widest", "Width the tube leaves for it", LENGTH),
        Output("layers", "Layers at the thickest", COUNT),
        Output("fits", "Fits", None),
        Output("parts", "Lengths it is laid in", COUNT, leads=False),
        Output("folds", "Steps in all", COUNT, leads=False),
        Output("volume", "Bulk of the cloth", VOLUME, leads=False),
    ),
    compute,
    (BUNDLE_FITS, LINE_WRAPS, CORD_WRAPS),
    each="canopy",
)
