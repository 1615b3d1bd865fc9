"""Folding a canopy: every act in order, with what should lie there after it, whether the bundle fits and can open."""

from collections.abc import Iterator

from loftbook.answer import Answer, Calculator, Check, CheckKind, Later, Output, Step, Value, Working
from loftbook.drawing.bays import end_on
from loftbook.drawing.closeups import looked_over
from loftbook.drawing.flaking import Flaked, Said, flaking, stretched
from loftbook.drawing.folds import Names, Side, State, bundle_seen, cleared, fold_step, hung_anew
from loftbook.drawing.svg import Drawing
from loftbook.physics.elementary import PI
from loftbook.physics.folding import MOST_LAYERS, MOST_PARTS, Bundle, Fold, Sheet, grouped
from loftbook.quantity import COUNT, LENGTH, MASS, PACK_DENSITY, VOLUME, at_least, at_most, digits
from loftbook.rig.bay_fields import CANOPY as CANOPY_FIELDS
from loftbook.rig.bay_fields import FLAT
from loftbook.tables import cited, known, practice, sentence
from loftbook.worked.bundle import Folded
from loftbook.worked.worked import Worked

BUNDLE_FITS = CheckKind(
    "bundle-fits", "Bundle fits", ("bay.depth", "bay.tube", "canopy.size", "pack.density", "cord.length", "cord.thickness")
)
DENSITY = CheckKind("pack-density", "Density of the bundle", ("pack.density", "pack.density_most"))
LINE_WRAPS = CheckKind("line-wraps", "Lines round the bundle", ("pack.line_turns",))
CORD_WRAPS = CheckKind("cord-wraps", "Cord round the bundle", ("pack.cord_turns",))

_TIMES = {2: "two", 3: "three", 4: "four", 5: "five", 6: "six", 7: "seven", 8: "eight"}
_BEFORE_FLAKING = ("stretch", "flake-first", "flake-left")
_PARTS = {
    2: ("half", "half"), 4: ("quarter", "a quarter"), 8: ("eighth", "an eighth"), 16: ("1/16", "a sixteenth"), 32: ("1/32", "a thirty-second"),
}
_ANCHORS = {"lay out": "lay-out", "flake": "flake"}
_UNUSED = ("canopy.name", "canopy.rate", "canopy.cd_low", "canopy.cd_high", "canopy.cd_measured_low", "canopy.cd_measured_high", "canopy.cd_measured_from", "canopy.cloth_strength")
_CLEAR = "Draw the lines clear first, straight out beyond the skirt."
_AGAIN = "Open this fold again, pull the lines straight from the skirt outwards, and fold anew."


# --- checks --------------------------------------------------------------------------------------------


def slab(worked: Worked, b: Bundle) -> str:
    """A bundle's section in words."""
    wide = worked.show(b.width, LENGTH)
    return f"{wide} across" if b.round else f"{wide} wide, {worked.show(b.thickness, LENGTH)} thick"


def _across(worked: Worked, b: Bundle) -> str:
    """What goes through the tube."""
    corners = "" if b.round else f", {worked.show(b.diagonal, at_least(LENGTH))} from corner to corner"
    return f"{slab(worked, b)}{corners}"


def fit_check(worked: Worked, key: str) -> Check:
    """Whether a bundle fits tube and bay, and what would make it fit."""
    b = worked.folded(key).bundle
    long, (room, widest) = worked.show(b.length, at_least(LENGTH)), (worked.show(v, at_most(LENGTH)) for v in (b.room, b.widest))
    judged = _judged(worked, key)
    if b.fits:
        told = f"{long} long, {_across(worked, b)}; the bay leaves {room} and the tube {widest}.{judged} The shake test"
        return BUNDLE_FITS.hold(f"{told}: {sentence('shake', worked.rig.units)}.", source=cited("shake"))
    ways = _remedies(worked, key)
    remedy = f"It would fit with {', or '.join(ways)}." if ways else "Nothing short of another bay makes it fit."
    return BUNDLE_FITS.fail(
        f"The bundle would be {long} long, {_across(worked, b)}, where the bay leaves {room} and the tube {widest}.{judged} "
        f"{remedy}"
    )


def density_check(worked: Worked, key: str) -> Check:
    """Whether the bundle is taken to be so loose that it slides out: one that fits only when it is pressed stays in."""
    laid, loose = worked.folded(key).laid, known("loose_density")
    densest = laid.own.high if laid.own else laid.density.low
    units, told = worked.rig.units, worked.show(densest, PACK_DENSITY)
    usual = sentence("loose_density", units)
    usual = f"{usual[0].upper()}{usual[1:]}"
    if densest <= loose.high * (1 + 1e-9):
        how = "at the loosest" if not laid.own else "by your figure" if laid.own.is_point else "the densest of your bundles"
        return DENSITY.hold(f"{told} {how}. {usual}.", source=cited("loose_density"))
    if densest > known("pack_density").high * (1 + 1e-9):
        return DENSITY.fail(
            f"{told} is pressed, and does not slide out. Weigh and measure a loose bundle again. {usual}; by hand, into a container, "
            f"{sentence('pack_density', units)}.",
            source=cited("loose_density", "pack_density"),
        )
    return DENSITY.warn(
        f"{told} is pressed. {usual}. It flies only if the packed bundle falls out by its own weight: "
        f"{sentence('shake', units)}.",
        source=cited("loose_density", "shake"),
    )


def _judged(worked: Worked, key: str) -> str:
    """At which density, where it was not measured."""
    laid = worked.folded(key).laid
    if laid.own and laid.own.is_point:
        return ""
    least = worked.show(laid.density.low, PACK_DENSITY)
    return f" That is at {least}, the loosest of your bundles." if laid.own else f" That is at {least}, the loosest; measure your own."


def _remedies(worked: Worked, key: str) -> list[str]:
    """Each change that alone makes a bundle fit, in words; typed back as it stands here it does."""
    bay = worked.home(key)
    found = (
        (bay.deep_enough(key), "a bay {} deep", at_least(LENGTH)),
        (bay.wide_enough(key), "a tube of {} inside", at_least(LENGTH)),
        (bay.small_enough(key), "a canopy of this family no larger than {}", at_most(LENGTH)),
    )
    return [words.format(worked.show(value, kind)) for value, words, kind in found if value is not None]


def own_bundles(one: Folded) -> str:
    """Where a density of the reader's own comes from."""
    counted = one.canopy.said.text("pack.density_from").strip()
    return f"your own bundle{f': {counted}' if counted else ''}"


def line_wraps_check(worked: Worked, one: Folded) -> Check:
    """Whether the lines leave the bundle free to open."""
    turns, said = one.line_turns, sentence("wraps", worked.rig.units)
    used, whole = worked.show(one.wound, LENGTH), worked.show(one.canopy.line_length, LENGTH)
    if turns > known("wraps").high:
        return LINE_WRAPS.fail(
            f"{digits(turns)} turns of line are too many. A bundle wrapped shut comes down as a bundle. Unwrap it and stow the lines "
            f"above the bundle: {said}.",
            source=cited("wraps"),
        )
    if one.wound >= one.canopy.line_length:
        return LINE_WRAPS.fail(
            f"{digits(turns)} turns use {used}, all of the line. Never wrap all of the line."
        )
    return LINE_WRAPS.hold(f"{digits(turns)} {'turn uses' if turns == 1 else 'turns use'} {used} of {whole}; {said}.", source=cited("wraps"))


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


def _glossary(worked: Worked, key: str) -> str:
    """The words of its steps, for who hears them first: only those that its own cut has."""
    whole = worked.folded(key).folds
    told = ["Skirt: the lower edge.", "Link: the metal loop where all lines meet."]
    if _middle(worked, key)[1] == "apex":
        told.insert(0, "Gore: one segment of cloth from apex to skirt. Apex: the middle, at the top.")
    if any(fold.act == "flake" for fold in whole):
        told.append("Flaked: laid in layers, one gore on the other.")
    return f"{' '.join(told)} "


def preparations(worked: Worked, key: str) -> tuple[Step, ...]:
    """Before any fold: inspect, clear a tangle, rig lines anew."""
    one, which = worked.canopies[key], named(worked, key)
    n = one.lines
    picture = "Lines in number order from the skirt at the left to the link at the right;"
    crossed, further = (3, 4) if n > 4 else (2, 3), f"and so on to line {n}"
    return (
        Step(
            f"{key}-prep-inspect",
            "Inspect it",
            f"{_glossary(worked, key)}Hold {which} against the sky, all of its cloth: holes, glazed or stiff spots, pulled seams. Run every line "
            "through your fingers from skirt to end.",
            f"Whole cloth, {n} sound lines of {worked.show(one.line_length, LENGTH)}, no knot that was not tied on purpose.",
            "A hole, a melted spot, a stretched or fuzzy line: mend it or leave it on the ground.",
            looked_over("A hole, a stiff glazed spot, a seam pulled apart, a line with a fuzzy place."),
        ),
        Step(
            f"{key}-prep-clear-lines",
            "Find a tangle and clear it",
            "Hold all line ends in one hand, in number order. Start at line 1 and follow each to the skirt with the other "
            "hand. Where one goes over a neighbour, pass the canopy's skirt between the two lines; do not untie anything.",
            f"Lines 1 to {n} run side by side from hand to skirt, none across another.",
            "Still crossed after one turn of the canopy: it went the other way. Turn it back and once more.",
            cleared(
                n,
                crossed,
                ("Before", "After"),
                f"skirt through between lines {crossed[0]} and {crossed[1]}",
                further,
                "Two crossed lines cleared",
                f"{picture} two neighbours cross, and the skirt is passed between them; then none cross.",
            ),
        ),
        Step(
            f"{key}-prep-rig-lines",
            "Rig lines anew, one at a time",
            "Only if lines came off. Lay the canopy out, begin at line 1, and hang the lines on the link one after another in "
            "number order, each drawn straight from its corner before the next. Close the link last.",
            f"Lines 1 to {n} on the link in order, all equally long when pulled.",
            "One hangs slack: it passes over a neighbour, or it was tied shorter. Take it off and hang it again.",
            hung_anew(
                n,
                "Only if lines came off",
                further,
                "Lines hung anew, one after another",
                f"{picture} the first ones hang on it, the next one is brought to it, the others are still loose.",
            ),
        ),
    )


def folds(worked: Worked, key: str) -> tuple[Step, ...]:
    """The folds, each with an anchor that names the act and so never changes."""
    made: list[Step] = []
    whole = worked.folded(key)
    state = None
    for i, fold in enumerate(whole.folds):
        if fold.act == "flake":
            made += _before_flaking(worked, key, fold)
        turned = i > 0 and fold.act in ("lengthwise", "shorten") and whole.folds[i - 1].wedge > 0
        title, text, seen, otherwise = _words(worked, key, fold, turned=turned)
        if fold is whole.folds[-1]:
            seen += f" This is the bundle, a slab {slab(worked, whole.bundle)}: press nothing thinner."
        anchor = f"{key}-fold-{_ANCHORS.get(fold.act, f'{fold.act}-{fold.number}')}"
        after = _state(worked, key, fold)
        layers = state.layers.partition(",")[0] if state and fold.act in ("lengthwise", "shorten") else state.layers if state else ""
        before = _lying(worked, layers, state.up, state.outside, fold.before) if state else after
        side = _side(worked, key, fold) if fold.act == "shorten" else None
        picture = fold_step(
            whole.folds[: i + 1], worked.canopies[key].lines, (before, after), _names(worked, key), title, seen, side
        )
        made.append(Step(anchor, title, text, seen, otherwise, picture))
        state = after
    return tuple(made)


# What the middle of a canopy is called in a sentence, in a picture, and the end of a strip that it lies at.
_MIDDLES = {"annular": ("the rim of the hole", "rim"), "cross": ("the middle", "middle")}


def _middle(worked: Worked, key: str) -> tuple[str, str]:
    return _MIDDLES.get(worked.canopies[key].family, ("the apex", "apex"))


def _names(worked: Worked, key: str) -> Names:
    middle = _middle(worked, key)[1]
    turn = f"First turn it: link level with {middle}"
    return Names(middle, "skirt", "link", "Before", "After", "drawn larger", "drawn smaller", turn, "and so on")


def _layers(count: int) -> str:
    return f"{count} layer{'' if count == 1 else 's'}"


def _lying(worked: Worked, layers: str, up: str, outside: bool, sheet: Sheet) -> State:
    return State(layers, up, outside, f"{worked.show(sheet.length, LENGTH)} long", f"{worked.show(sheet.width, LENGTH)} wide")


def _state(worked: Worked, key: str, fold: Fold) -> State:
    """What a picture says of the cloth after a fold. Laid out and flaked its outside is up; the first fold brings it inside."""
    outside = worked.canopies[key].family not in FLAT or fold.act == "lay out"
    layers = _layers(fold.layers)
    if fold.act == "flake" and fold.layers % 2:
        layers = f"{fold.layers - 1} and {fold.layers + 1} layers"
    elif fold.act == "halve" and worked.canopies[key].family != "cross":
        layers = f"{layers}, {_PARTS[round(360 / fold.wedge)][0]}"
    elif fold.act == "shorten" or (fold.act == "pleat" and len(grouped(fold.after.lines)) > 1):
        layers = f"up to {layers}"
    return _lying(worked, layers, "outside up" if outside else "inside up", outside, fold.after)


def _side(worked: Worked, key: str, fold: Fold) -> Side:
    whole, middle = worked.folded(key), _middle(worked, key)[1]
    thick = whole.thickness(fold.after)
    told = f"{worked.show(thick, LENGTH)} thick"
    seen = fold.number == 1  # of a strip folded in two again and again the end with the middle comes to lie inside
    where = middle if seen else f"{middle} inside"
    acts = () if fold.crease else tuple(_act(i, fold.parts - 1) for i in range(1, fold.parts, 2))
    return Side(fold.parts, thick, told, "From the side, to scale", "From the side, drawn thicker", where, seen, worked.canopies[key].family not in _MIDDLES, acts)


def _act(first: int, last: int) -> str:
    """What one sweep of the hand folds, seen from the side."""
    return f"Fold {first}, from the side" if first == last else f"Folds {first} and {first + 1}, from the side"


def _words(worked: Worked, key: str, fold: Fold, *, turned: bool) -> tuple[str, str, str, str]:
    """Title, what to do, what should be seen, what to do if not."""
    size = f"{worked.show(fold.after.length, LENGTH)} long, {worked.show(fold.after.width, LENGTH)} wide"
    groups = len(grouped(fold.after.lines))
    gather = "all lines in one group" if groups == 1 else f"the lines in {groups} groups"
    family, middle = worked.canopies[key].family, _middle(worked, key)[0]
    match fold.act:
        case "lay out":
            return _laid_out(named(worked, key), worked.canopies[key].lines, size)
        case "halve":
            return _halved(fold, _shape(family, fold), middle, f"{size}, {gather}")
        case "pleat":
            unit = "gore" if worked.canopies[key].lines % 2 == 0 else "half gore"
            return _pleated(fold, unit, middle, f"{size} in all, {gather}")
        case "flake":
            return _flaked(fold, size)
        case "lengthwise":
            return _narrowed(fold, middle, size, turned)
        case "shorten":
            return _shortened(fold, worked.folded(key), middle, size, turned)


def _shape(family: str, fold: Fold) -> str:
    """What lies there after a fold in half through the centre."""
    if family == "cross":
        return {1: "half the cross", 2: "a corner of two half arms"}.get(fold.number, "one half arm")
    part, wedge = _PARTS[round(360 / fold.wedge)][1], f"a wedge of {digits(fold.wedge)}°"
    if family == "annular":
        return f"{part} of the ring"
    return part if fold.number == 1 else f"{part}, {wedge}"


def _laid_out(which: str, lines: int, size: str) -> tuple[str, str, str, str]:
    return (
        "Lay it out",
        f"Spread {which} flat, outside up, line 1 to your right. Draw the lines out to your right beneath the cloth: "
        "those of the near half under the near half, those of the far half under the far half.",
        f"One layer, outside up, {size}, lines 1 to {lines} in order round the edge, none on top of the cloth.",
        "A number out of order means a line goes over or under its neighbour: clear the tangle before you fold.",
    )


def _halved(fold: Fold, shape: str, middle: str, rest: str) -> tuple[str, str, str, str]:
    how = {
        1: "Bring the near half up over the far half, skirt on skirt.",
        2: "Bring the left end of the straight edge over onto its right end.",
        3: f"Bring the left straight edge down onto the bottom edge, {middle} staying where it is.",
    }.get(fold.number, f"Bring the upper straight edge down onto the bottom edge, {middle} staying where it is.")
    text = f"{how} Then draw all lines out beyond the skirt, off the cloth." if fold.number == 1 else f"{_CLEAR} {how}"
    return (
        f"Fold {fold.number}: in half through the centre",
        text,
        f"{_layers(fold.layers)}, inside up, {shape}, {rest}.",
        _AGAIN,
    )


def _pleated(fold: Fold, unit: str, middle: str, rest: str) -> tuple[str, str, str, str]:
    towards = "towards you" if fold.number % 2 else "away from you"
    held = f"the first {unit} at the right" if fold.number == 1 else "the pile"
    return (
        f"Pleat {fold.number}: one {unit} back",
        f"{_CLEAR} Hold {middle} and {held}; lay all the rest back {towards} on the crease, like a fan, its lines with it.",
        f"Up to {fold.layers} layers at the pile, {rest}.",
        _AGAIN,
    )


def _before_flaking(worked: Worked, key: str, fold: Fold) -> tuple[Step, ...]:
    """A shaped canopy stretched, its first gore laid to the left, then the first half of them."""
    which, lines = named(worked, key), worked.canopies[key].lines
    half, wide = lines // 2, worked.show(fold.after.width / 2, LENGTH)
    said = ("apex", "skirt", "link")
    tight = f"{which[0].upper()}{which[1:]} straight between apex and link, its gores hanging together, no line over another."
    first = f"One gore on the left, folded at its middle: 2 layers, {wide} wide at the skirt, lines 1 and 2 together in the middle."
    most = (
        f"{half} gores on the left, each on the one before: {2 * half} layers, {wide} wide at the skirt, lines 1 to {half + 1} "
        "together in the middle."
    )
    caught = "Cloth caught between two lines: lift the gores one by one and draw it out."
    one = Flaked(1, 2, "1·2", f"3–{lines}")
    rest = f"{half + 2}–{lines}" if half + 2 < lines else str(lines)
    many = Flaked(half, 2 * half, f"1–{half + 1}", rest)
    title = ("Stretch it between apex and link", "Lay the first gore to the left", f"Lay {half} gores to the left")

    def step(act: str, title: str, text: str, seen: str, otherwise: str, picture: Drawing) -> Step:
        return Step(f"{key}-fold-{act}", title, text, seen, otherwise, picture)

    return (
        step(
            _BEFORE_FLAKING[0],
            title[0],
            f"Lay {which} out long, hold or hook its apex, and draw the link away until every line is straight. Sit at the "
            "link, the apex away from you.",
            tight,
            "A line over its neighbour: clear the tangle before you fold.",
            stretched(fold.after, Said(("Stretched, outside up",), *said), ("1", str(lines)), title[0], tight),
        ),
        step(
            _BEFORE_FLAKING[1],
            title[1],
            "Take the hem half-way between lines 1 and 2, draw it out to the left and lay the gore flat from apex to skirt, both its "
            "lines together in the middle.",
            first,
            caught,
            flaking(fold.after, one, Said(("1 gore, 2 layers, outside up", f"{wide} wide"), *said), title[1], first),
        ),
        step(
            _BEFORE_FLAKING[2],
            title[2],
            f"Do the same with the next gores, one on the other, until {half} lie on the left. Keep the lines straight in the middle.",
            most,
            caught,
            flaking(
                fold.after, many, Said((f"{half} gores, {2 * half} layers, outside up", f"{wide} wide"), *said), title[2], most
            ),
        ),
    )


def _flaked(fold: Fold, size: str) -> tuple[str, str, str, str]:
    even = fold.layers % 2 == 0
    layers = f"{fold.layers} layers each side" if even else f"{fold.layers - 1} layers on the left, {fold.layers + 1} on the right"
    return (
        "Flake the other half to the right",
        "Lay the gores that are left to the right in the same way, all lines together along the middle. Turn it so that the apex "
        "points left and the skirt right.",
        f"A long pile, outside up: {layers}, {size} at the skirt, all lines in one group.",
        "Cloth caught between two lines: lift the gores one by one and draw it out.",
    )


def _turned(middle: str) -> str:
    return f"Turn it so that {middle} points left and the skirt right. "


def _narrowed(fold: Fold, middle: str, size: str, turned: bool) -> tuple[str, str, str, str]:
    return (
        f"Lengthwise {fold.number}: narrow it",
        f"{_turned(middle) if turned else ''}Bring the upper edge down onto the lower edge, all the way from {middle} to the skirt. Keep "
        "the lines straight at the skirt end.",
        f"{fold.layers} layers, a strip {size}.",
        "Wider than that: open it and fold nearer the middle.",
    )


def _shortened(fold: Fold, whole: Folded, middle: str, size: str, turned: bool) -> tuple[str, str, str, str]:
    where = f", where {middle} is," if fold.number == 1 else ""
    how = (
        f"Bring the left end{where} over onto the right end, the skirt staying below with its lines free."
        if fold.parts == 2
        else f"Lay the strip back and forth in {_TIMES.get(fold.parts, fold.parts)} equal lengths, the skirt's undermost, its lines "
        "free: take it two lengths from the skirt's end and bring it over onto that end, the rest pointing left again. Go on like that to "
        f"{middle}."
    )
    return (
        f"Shorten {fold.number}: in half" if whole.laid.halving else "Shorten it",
        f"{_turned(middle) if turned else ''}{how} Do not roll it.",
        f"{fold.layers} layers at most, {size}.",
        "Thicker than the tube lets it be: shake it out and fold again from the strip, looser.",
    )


# --- the answer ----------------------------------------------------------------------------------------


def _steps(one: Folded) -> int:
    """How many steps `folds` makes."""
    return len(one.folds) + (len(_BEFORE_FLAKING) if any(fold.act == "flake" for fold in one.folds) else 0)


def _drawings(worked: Worked, key: str) -> Iterator[Drawing]:
    """The bundle where folds lead to it, and the same in the tube, end on."""
    one, bay = worked.folded(key), worked.home(key)
    if one.folds:
        yield _lead(worked, key)
    told = f"The bundle is {slab(worked, one.bundle)}, the tube {worked.show(bay.tube, LENGTH)}."
    yield end_on(one.bundle, bay.tube, bay.beside, worked.writer(LENGTH), told)


def _lead(worked: Worked, key: str) -> Drawing:
    """The bundle that the folds end in."""
    one = worked.folded(key)
    last, lines = one.folds[-1], worked.canopies[key].lines
    told = f"{_gives(one)} The bundle is {worked.show(one.bundle.length, LENGTH)} long, {slab(worked, one.bundle)}."
    names, side = _names(worked, key), _side(worked, key, last)
    return bundle_seen(one.folds, lines, _state(worked, key, last), names, side, "The bundle, from above and from the side", told)


def _gives(one: Folded) -> str:
    """What the folds give, in short."""
    most = " at most" if one.folds[-1].act == "shorten" else ""
    return f"{one.folds[-1].layers} layers{most}, all lines together."


def _outputs(one: Folded) -> dict[str, Value | None]:
    b = one.bundle
    return {
        "bundle_length": b.length,
        "bundle_width": b.width,
        "bundle_thickness": b.thickness,
        "diagonal": b.diagonal,
        "bundle_diameter": b.diameter,
        "bundle_room": b.room,
        "bundle_widest": b.widest,
        "layers": one.folds[-1].layers if one.folds else None,
        "parts": b.parts,
        "folds": _steps(one),
        "volume": one.volume,
        "fits": "yes" if b.fits else "no",
    }


def _working(worked: Worked, one: Folded) -> tuple[Working, ...]:
    show, b, units = worked.show, one.bundle, worked.rig.units
    mass, density = one.canopy.cloth_mass, one.laid.density
    judged = "" if density.is_point else f", {show(mass / density.high, VOLUME)} at {show(density.high, PACK_DENSITY)}"
    bulk = Working(
        "Bulk of the cloth",
        "V = m / pack density",
        f"V = {show(mass, MASS)} / {show(density.low, PACK_DENSITY)} = {show(one.volume, VOLUME)}{judged}",
        own_bundles(one) if one.laid.own else f"judged at the least of: {practice('loose_density', units)}",
    )
    long, wide = show(b.length, LENGTH), show(b.width, LENGTH)
    clearance = f"geometry; {practice('clearance', units)}"
    if b.round:
        numbers = f"l = 4 × {show(one.volume, VOLUME)} / ({digits(PI, 4)} × ({wide})²) = {long}"
        return bulk, Working("Bundle's length", "l = 4·V / (π·d²), gathered as wide as the tube lets it be", numbers, clearance)
    thick = show(b.thickness, LENGTH)
    return (
        bulk,
        Working(
            "Bundle's thickness",
            "t = V / (w·l), w the width of the folded strip: the slab that the folds end in",
            f"t = {show(one.volume, VOLUME)} / ({wide} × {long}) = {thick}",
            "geometry",
        ),
        Working(
            "Corner to corner",
            "d = √(w² + t²)",
            f"d = √(({wide})² + ({thick})²) = {show(b.diagonal, at_least(LENGTH))}",
            clearance,
        ),
    )


def _notes(one: Folded) -> tuple[str, ...]:
    before = "Before every fold: lines drawn clear, none where the fold closes, none across the cloth."
    if not one.canopy.shape:
        shapeless = (
            "Of a canopy measured by you only the area is known, not the shape: no folds are shown. Gather it round; the "
            "bundle is its bulk as wide as the tube allows."
        )
        return shapeless, before
    capped = (
        f"No strip is folded thicker than it is wide, no bundle thicker than it is long, none in more than {MOST_PARTS} lengths or "
        f"{MOST_LAYERS} layers: hands do not hold it (our choice)."
    )
    if one.canopy.family not in FLAT:
        round_one = "This canopy is not flat: the flat sequence would trap a fold of cloth. It is flaked gore by gore."
        return round_one, before, capped
    return before, capped


def compute(worked: Worked, key: str) -> Answer:
    """One canopy, folded for the room its bay has for it."""
    one, show = worked.folded(key), worked.show
    b = one.bundle
    gives = f"{_gives(one)} " if one.folds else ""
    return Answer(
        _outputs(one),
        f"{gives}The bundle is {show(b.length, LENGTH)} long, {slab(worked, b)}{'' if b.fits else ', and does not fit'}.",
        (fit_check(worked, key), density_check(worked, key), line_wraps_check(worked, one), cord_wraps_check(one)),
        Later(lambda: _working(worked, one)),
        Later(lambda: _drawings(worked, key)),
        Later(lambda: (*preparations(worked, key), *folds(worked, key))),
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
    "pack.density_most",
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
    (*FIT_INPUTS, "pack.density_from", "pack.line_turns", "pack.cord_turns"),
    (
        Output("bundle_length", "Bundle, length", LENGTH),
        Output("bundle_width", "Bundle, width", LENGTH),
        Output("bundle_thickness", "Bundle, thickness", LENGTH),
        Output("diagonal", "Bundle, corner to corner", at_least(LENGTH)),
        Output("bundle_room", "Length the bay leaves for it", at_most(LENGTH)),
        Output("bundle_widest", "Width the tube leaves for it", at_most(LENGTH)),
        Output("layers", "Layers at the thickest", COUNT),
        Output("fits", "Fits", None),
        Output("bundle_diameter", "As much in the round, across", LENGTH, leads=False),
        Output("parts", "Lengths it is laid in", COUNT, leads=False),
        Output("folds", "Steps in all", COUNT, leads=False),
        Output("volume", "Bulk of the cloth", VOLUME, leads=False),
    ),
    compute,
    (BUNDLE_FITS, DENSITY, LINE_WRAPS, CORD_WRAPS),
    each="canopy",
    asks=("canopy.size", "canopy.sides", "bay.tube", "canopy.family"),
)
