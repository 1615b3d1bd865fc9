"""What is said and drawn of what was seen: each fault, its picture, its causes with this rig's numbers. Imported when somebody asks."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from loftbook.answer import Answer, Cause, Figure, Judged, Later, Pair, Seen, Working
from loftbook.calculators import mistakes
from loftbook.calculators.canopy import CANOPY
from loftbook.calculators.cord import CORD
from loftbook.calculators.electronics import ELECTRONICS
from loftbook.calculators.landing import LANDING
from loftbook.calculators.loads import unit_of
from loftbook.calculators.packing import PACKING
from loftbook.calculators.separation import SEPARATION
from loftbook.drawing.faults import at_mouth, torn, twisted
from loftbook.drawing.svg import Drawing
from loftbook.quantity import (
    BAY_PRESSURE,
    CHARGE_MASS,
    COUNT,
    ENERGY,
    FORCE,
    HEIGHT,
    LENGTH,
    LINE_LOAD,
    NUMBER,
    SHARE,
    SPEED,
    TIME,
    WIND,
    Kind,
)
from loftbook.rig.ways import MAIN
from loftbook.tables import OURS
from loftbook.worked.faults import MOST, SEEN, Bearing, Suspect, part_of_rising, possible, suspects
from loftbook.worked.worked import SCATTERED, Worked

CAUTIONS = (
    "Before anything is touched: power off first, one person, from the side, everyone else back.",
    "Every charge counts as unfired until it is seen to have fired, and every motor as hot. A rocket that never parted may hold "
    "a live charge.",
    "Only then photograph everything, before you untangle it.",
)
RULE = (
    "The causes of each fault stand in the order of this rig's numbers: first what fails, then what is to be looked at again, "
    "then what holds, the least to spare first; then numbers that have no limit; causes without a number last, the commoner first. "
    "A number accuses, the wreck proves: look."
)
LIVE = (
    "A charge that has not fired is live: everyone back; wait at least 60 seconds; then one person, from the side, switches "
    "every unit off; then follow your code."
)
_STATES: tuple[Judged, ...] = ("fail", "warn", "pass", "")


@dataclass(frozen=True)
class Told:
    """A cause in words. number: with {has}, {limit}, {times}, {of} and {more} in it; kind: of its number, None without one."""

    title: str
    number: str
    kind: Kind | None
    look: str
    change: str
    page: str


# Current through an igniter may light it (common practice, no source).
LIT = (
    "only with the igniter out of the powder, or everyone out of the way of nose and bay and well back: continuity, by the "
    "altimeter's own test or a meter made for igniters, never by a lamp, a battery or a meter that is not"
)
NO_TEST = "nothing before a new ground test of the very arrangement."

CAUSES: dict[str, Told] = {
    "cord-round": Told("The cord was wound round the bundle", "Turns of cord: {has}; none is right.", COUNT, "cord still round the cloth.", "z-fold it below and above the bundle.", "folding"),
    "wraps": Told("Too many turns of the lines", "Turns of line: {has}; {limit} at most (common practice, no source).", NUMBER, "turns still in place, drawn tight.", "two loose turns at most, the rest of the lines on top.", "folding"),
    "all-wound": Told("All of the line was wound up", "The turns take {has} of {limit} of line.", LENGTH, "no free line between bundle and link.", "fewer turns.", "folding"),
    "tight": Told("The bundle was too tight", "{has} across, where {limit} is right in that tube.", LENGTH, "with every charge seen to have fired or taken out, do the shake test with the pack as it flew.", "another lengthwise fold, a looser pack.", "folding"),
    "long": Told("The bundle was too long", "{has} long, where the bay leaves {limit}.", LENGTH, "creases where it was pressed down.", "a smaller canopy, a deeper bay.", "folding"),
    "overfull": Told("The bay was too full", "{limit} lies in a bay {has} deep.", LENGTH, "the mark of the shoulder on cloth or cord.", "less cord, a deeper bay; the shoulder must press on nothing.", "packing"),
    "cord-short": Told("The cord was too short to let it out", "{has} of cord; the least is {limit}.", LENGTH, "whether the bundle can leave the mouth when the cord is tight.", "a longer cord.", "cord"),
    "throws": Told("The charge parted it and no more", "{has} worked with; {limit} is {of}, by the model.", BAY_PRESSURE, "a shoulder that came out, and cloth that never moved.", NO_TEST, "separation"),
    "nothing-parts": Told("Nothing parts this joint", "No charge of its own is in the rig.", COUNT, "what was to pull it open, and whether that came tight.", "a charge of its own, or a joint that a hand pulls open; then a ground test.", "separation"),
    "too-much": Told("The joint asks for more than a charge may give", "It would take {has}; above {limit} nothing is computed here.", BAY_PRESSURE, "pins marked but whole, a wet or swollen shoulder.", "fewer pins, a longer shoulder, or another way; then a ground test.", "separation"),
    "motor": Told("The motor's own charge did not suit the joint", "{more}", COUNT, "pins marked but whole; the motor's charge, fired or not, from the side.", "no pins, a joint that slides apart by hand; or a charge of your own.", "separation"),
    "tested-low": Told("The charge was small", "Tested with {has}; the estimate begins at {limit}.", CHARGE_MASS, "soot in the bay, a joint that hardly moved.", NO_TEST, "separation"),
    "strong-charge": Told("The charge was large", "Tested with {has}; the estimate ends at {limit}.", CHARGE_MASS, "scorched walls, bent eyes, hardware pulled straight.", "the smallest charge that throws everything clear twice running, found on the ground.", "separation"),
    "protector": Told("The protector was too small, or slipped", "It takes {has} of the bay.", LENGTH, "which side of it is brown, and gaps beside it.", "blanket towards the charge, more wadding; discard cloth that is browned.", "packing"),
    "parts": Told("The joint held more than the charge pushed", "It pushes with {has}, pins and friction may hold {limit}: {times} times.", FORCE, "pins marked but whole, a wet or swollen shoulder.", NO_TEST, "separation"),
    "test-pins": Told("It flew with more pins than were tested", "{has} flew, {limit} were tested.", COUNT, "count the holes and the pins in them.", "fly what was tested.", "separation"),
    "untested": Told("It was not proved on the ground", "{has} ground tests in a row that threw everything clear; {limit} are asked (common practice, no source).", COUNT, "how the bay was packed then, and now.", "test until two in a row throw everything clear, packed as it flies.", "separation"),
    "one-pin": Told("One pin let it tilt and jam", "Pins: {has}; {limit} are the least (common practice, no source).", COUNT, "a shoulder scored on one side.", "two or more, evenly round the tube, and a new ground test.", "separation"),
    "thin-air": Told("Thin air put the powder out", "It fires {has} above the sea; above {limit} powder needs containment (common practice, no source).", HEIGHT, "unburnt grains in the bay.", "contain the charge; test it.", "separation"),
    "trapped": Told("Air shut in the bay pushed it apart", "{has} holds it where {limit} pulls on the way up, {more}: {times} times.", FORCE, "a blocked or missing vent, pins sheared clean.", "a vent, more pins; then a ground test.", "separation"),
    "running": Told("What lies forward ran on and pulled it apart", "{has} holds it where {limit} pulls on the way up, {more}: {times} times.", FORCE, "pins sheared clean, a loose shoulder.", "more pins or a tighter fit; then a ground test.", "separation"),
    "jolted": Told("The event before sheared the pins", "{has} holds it where up to {limit} pulls from the {of}: {times} times.", FORCE, "pins sheared clean, its charge still there: then it is live.", "more pins and a new ground test; a longer or softer cord in the other bay.", "separation"),
    "late-motor": Told("The motor's charge fired early or late", "Its delay may be off by {has}; the rig counts on {limit}.", TIME, "the motor's own delay, as printed and as drilled.", "count on the whole error, or fire by electronics.", "separation"),
    "alone": Told("One part failed that stood alone", "Of altimeters, batteries and switches the fewest: {has} ({of}); {limit} stand in for each other.", COUNT, "the unit's own record, battery voltage, igniter and wire.", "a second unit with its own battery, switch and igniter.", "electronics"),
    "ports": Told("Wind across too few ports misled the unit", "Static ports: {has}; {limit} or more evenly round the tube (common practice, no source).", COUNT, "a port that is blocked, or beside an edge.", "three or four ports, clean and even.", "electronics"),
    "lines-short": Told("The lines were short for the canopy", "{has} × its width; {limit} × at the least (common practice, no source).", NUMBER, "a skirt drawn in, lines rubbed near the link.", "longer lines.", "canopy"),
    "span": Told("The lines could not span the skirt", "{has} long; half the open skirt is {limit}.", LENGTH, "a skirt that never spread.", "longer lines.", "canopy"),
    "swivel": Told("It spun, and no swivel turned", "{more}", FORCE, "turn the swivel by hand, under a pull.", "a new swivel, of no less a rating.", "loads"),
    "weak-cloth": Told("It opened harder than it bears", "Weakest: {of}, bears {has} where {limit} pulls: {times} times.", FORCE, "where the tear began: seam, line joint or middle of a panel.", "a slower opening, a stronger joint.", "loads"),
    "opens-fast": Told("It opened too fast", "At up to {has}; {limit} is our limit.", SPEED, "when the charge fired, by the unit's record: early, late or on time.", "fire nearer the top, or after a larger drogue.", "descent"),
    "weak-cord": Told("The cord was pulled apart", "It bears {has} where {limit} pulls: {times} times.", FORCE, "ends: drawn out, it was pulled; short and even, cut; beads or char, burned.", "a stronger or longer cord; a gentler charge.", "loads"),
    "device": Told("The device that held it let go early", "It bears {has} where {limit} pulls: {times} times.", FORCE, "the device: open, or broken.", "a device of a higher rating; set and try it anew.", "loads"),
    "edge": Told("The cord was narrow for its pull", "{has} of cord on the tube's edge; no limit is published.", LINE_LOAD, "a cut that starts at the mouth, fluff on its edge.", "a wider cord or a sleeve over it at the mouth; a gentler charge.", "loads"),
    "few-lengths": Told("The cord was short, and jerked", "{has} rocket lengths; {limit} at the least (common practice, no source).", NUMBER, "paint of one part on the other, stretched stitches.", "a longer cord.", "cord"),
    "hanging": Told("What hangs can reach what hangs beside it", "{more}", LENGTH, "paint of one on the other.", "a longer cord, or the nose tied in elsewhere.", "cord"),
    "outside": Told("The field was too small for this wind", "{has} of the landings drawn lie outside; above {limit} we look again.", SHARE, "where it came down, and from how high.", "less wind, or open lower.", "landing"),
    "wind": Told("The wind was strong", "{has} at launch; {limit} at most.", WIND, "what the wind was, at the pad and above.", "wait.", "landing"),
    "opens-high": Told("The main opened high", "Set to {has}; {limit} is the upper end of what is usual (common practice, no source).", HEIGHT, "the height in the unit's record.", "open it lower, as far as it still fills in time.", "descent"),
    "slow": Told("The canopy was larger than it needs", "Down at {has}; usual begins at {limit} (common practice, no source).", SPEED, "time it from a recording.", "a smaller canopy, or open it lower.", "canopy"),
    "slow-drogue": Told("The drogue was larger than it needs", "Down at as little as {has}; usual begins at {limit} (common practice, no source).", SPEED, "time it from a recording.", "a smaller drogue.", "canopy"),
    "touchdown": Told("The canopy was small for its load", "Down at up to {has}; {limit} is the upper end of what is usual (common practice, no source).", SPEED, "weigh it as it landed; measure the canopy.", "a larger canopy; then measure your own rate from a logged descent.", "canopy"),
    "energy": Told("A section was heavy for its rate", "The {of}, up to {has}; a published limit is {limit}.", ENERGY, "weigh each section as it landed.", "a larger canopy, less mass in one section.", "descent"),
    "settled": Told("It opened low", "Filled and slowed {has} above ground at the latest; below {limit} we look again.", HEIGHT, "the height of the opening in the unit's record.", "open it higher.", "descent"),
    "late": Told("It had no time to slow down", "Filled and slowed {has} before touchdown at the latest; below {limit} we look again.", TIME, "how long it was open, by the record or a film.", "open it higher.", "descent"),
}
COMMON: dict[str, tuple[Told, ...]] = {
    "seen-wrapped": (Told("A band or tape was left on it", "", None, "what was round it when it was packed.", "nothing stays round the bundle but loose turns of line.", "packing"),),
    "seen-in-tube": (
        Told("The lines lay under the canopy", "", None, "what came out first.", "lines on top, towards the mouth.", "packing"),
        Told("Cloth caught on something in the bay", "", None, "ends of screws, epoxy, a rough coupler.", "smooth it; feel all round with a hand.", "packing"),
    ),
    "seen-lines-twisted": (
        Told("Lines crossed when it was packed", "", None, "the order of the lines at the link.", "clear the lines before every fold.", "folding"),
        Told("It spun all the way down", "", None, "bent fins, a canopy torn on one side.", "mend what spins it.", "canopy"),
    ),
    "seen-burned": (Told("The protector lay the wrong way", "", None, "which of its sides is brown.", "blanket towards the charge, all round.", "packing"),),
    "seen-torn": (Told("An edge cut it", "", None, "a straight cut without stretched threads beside it.", "smooth every edge that cloth or line passes.", "packing"),),
    "seen-tube-slit": (Told("A cord without a sleeve came over a sharp mouth", "", None, "the mouth's edge: sharp, soft, unglassed.", "round the edge, sleeve the cord.", "cord"),),
    "seen-nose-struck": (Told("It was thrown back by a springy cord", "", None, "on which side of the dent the paint lies.", "cord in zigzags, held by bands that break.", "cord"),),
    "seen-not-parted": (
        Told("The unit was off, or its igniter was not lit", "", None, f"power off: switch, battery, wire. {LIT[0].upper()}{LIT[1:]}.", "a check of every circuit before every flight.", "electronics"),
        Told("The gas leaked away", "", None, "soot outside the bay: at wires, bulkhead, vent.", "seal it, and test again.", "separation"),
    ),
    "seen-early": (Told("It was set to fire early", "", None, "the settings, and which charge is on which output.", "set it anew; label wires, charges and bays.", "electronics"),),
    "seen-far": (Told("The main came out at the top", "", None, "the height of its opening in the unit's record.", "read on at that fault: it may have left a live charge.", "descent"),),
    "seen-hard": (Told("It was heavier than the rig says, or the canopy never filled", "", None, "weigh it as it landed, motor case and all.", "the mass in the rig.", "descent"),),
    "seen-tangled": (
        Told("The cord below paid out round the bundle", "", None, "which of them lies on top.", "cord in zigzags, held by bands that break.", "packing"),
        Told("Sections swung at one height", "", None, "marks of one on the other.", "legs of unlike length.", "cord"),
    ),
    "seen-cord-cut": (Told("Hot gas burned it", "", None, "hard beads and brown fibres near the charge.", "a sleeve that does not burn over the first part of the cord.", "packing"),),
    "seen-main-at-top": (
        Told("The two outputs were swapped", "", None, "which wire went where.", "labels on wires, charges and bays.", "electronics"),
        Told("What held it let it slide out", "", None, "a main that lay in reach of the drogue's cord.", "pins, or a device, that hold it until its own event.", "separation"),
    ),
    "seen-main-late": (
        Told("The height was set wrong", "", None, "the unit's settings and its own record.", "set it anew, and read it back.", "electronics"),
        Told("It waited for the drogue to pull it", "", None, "cord between both, tight or slack.", "a charge of its own, tested.", "separation"),
    ),
    "seen-bay-unfired": (Told("A wire, an igniter or an output was dead", "", None, f"{LIT}, each by itself.", "a check of every circuit before every flight.", "electronics"),),
}


@dataclass(frozen=True)
class Fault:
    """title, what it means, caution; before: the anchor that it had once; never: why it cannot happen to some rigs."""

    title: str
    text: str
    before: str = ""
    caution: str = ""
    never: str = ""


FAULTS: dict[str, Fault] = {
    "seen-wrapped": Fault("It came down as a bundle", "Lines or cord were wound round the canopy, and nothing could undo them. Drawn: your bundle, wound six times.", "it-came-down-as-a-bundle"),
    "seen-in-tube": Fault("It parted, but the canopy stayed in the tube", "It was too tight, too deep, held by its own cord, or pushed too little.", "it-parted-but-the-canopy-stayed-in-the-tube"),
    "seen-lines-twisted": Fault("It came out, but the lines were twisted shut", "The skirt could not spread.", "it-came-out-but-the-lines-were-twisted-shut"),
    "seen-burned": Fault("The canopy is burned", "Hot gas reached the cloth. Drawn: your bay packed the wrong way, the protector away from the charge.", "the-canopy-is-burned"),
    "seen-torn": Fault("The canopy or a line is torn", "It opened faster than it could bear, or an edge cut it.", "the-canopy-or-a-line-is-torn"),
    "seen-tube-slit": Fault("The cord slit the tube", "A thin hard cord came tight over the mouth.", "the-cord-slit-the-tube"),
    "seen-nose-struck": Fault("The nose struck the body", "They could reach one another while hanging, or were thrown back by the cord.", "the-nose-struck-the-body", never="its two parts come down apart, on no common cord."),
    "seen-not-parted": Fault("It did not part", "Too little gas, a leak, a tight joint, or nothing fired.", "it-did-not-part", LIVE),
    "seen-early": Fault("It parted too early", "On the way up, or at an event before its own.", "it-parted-too-early", "A joint that came apart early may have left its charge unfired: count it as live."),
    "seen-far": Fault("It drifted too far", "It came down too slowly, from too high, in too much wind.", "it-drifted-too-far"),
    "seen-hard": Fault("It landed too hard", "Heavier, in thinner air, under a smaller canopy than planned, or it never filled.", "it-landed-too-hard"),
    "seen-tangled": Fault("The sections are tangled", "They swung into each other, or cord went round the bundle. Drawn: your bay packed the wrong way, lines under the bundle.", "the-sections-are-tangled"),
    "seen-cord-cut": Fault("The cord was cut or burned at the mouth", "What hung on it fell free: look for it, and for whom it may have hit."),
    "seen-main-at-top": Fault("The main came out at the top", "Its pins sheared, its bay was pushed open, or the wrong charge fired.", "the-main-came-out-at-the-top", "Its own charge may be unfired: count it as live.", "its main opens at the top."),
    "seen-main-late": Fault("The drogue came out, the main late or not at all", "Its charge did not fire or was too weak, its joint held, or it waited for a pull that never came. Drawn: what is still in its bay.", "the-drogue-came-out-the-main-did-not", "Count the main's charge, and every backup, as live.", "its main opens at the top."),
    "seen-bay-unfired": Fault("One bay never fired", "The other did: so power was there, and something of this bay's own failed.", "", LIVE, "it has one bay."),
}


# --- numbers in words ---


def _kind(told: Told, bearing: Bearing) -> Kind:
    """Of cloth both are of its width, of stitches of their length."""
    kind = unit_of(bearing.of)
    return kind if kind is LINE_LOAD else told.kind or NUMBER


def number(worked: Worked, one: Suspect) -> str:
    """The sentence with this rig's number, every figure on its safe side."""
    told, bearing = CAUSES[one.cause], one.bearing
    if one.cause == "protector" and not bearing.has:
        return "There is none in the rig."
    if one.cause == "cord-round" and not bearing.has:
        return "No turns of cord in the rig."
    if one.cause == "settled" and not bearing.has:
        return "The ground comes before it has slowed down."
    kind, sides = _kind(told, bearing), (worked.at_least, worked.at_most)
    has, limit = sides if bearing.less else sides[::-1]
    times = f"{MOST:g} or more" if bearing.times >= MOST else worked.at_most(bearing.times, NUMBER)
    return told.number.format(
        has=has(bearing.has, kind),
        limit=limit(bearing.limit, kind) if bearing.limit is not None else "",
        times=times,
        of=bearing.of,
        more=_MORE[one.cause](worked, one.key) if one.cause in _MORE else "",
    )


def _share(worked: Worked, key: str, part: float, name: str) -> str:
    """What a part of the pull on the way up is of it; of one that is judged by itself, that the rest is not in it."""
    if part_of_rising(worked, key, part) <= part:
        return f"{name} alone"
    return f"{worked.at_least(part, FORCE)} of it {name}"


def _trapped(worked: Worked, key: str) -> str:
    return _share(worked, key, worked.joints[key].trapped, "that air")


def _running(worked: Worked, key: str) -> str:
    return _share(worked, key, worked.joints[key].running_on, "the part forward running on")


def _swivel(worked: Worked, key: str) -> str:
    rating = worked.rig.of(key).optional("cord.swivel")
    return "There is none in the rig." if rating is None else f"The rig has one that bears {worked.at_most(rating, FORCE)}."


def _hanging(worked: Worked, key: str) -> str:
    picture = worked.hangs.picture(key)
    if picture.pair is None or picture.clearance is None:
        return ""
    above, below = (part.section.name for part in picture.pair)
    if picture.clearance <= 0:
        return f"The lower end of the {above} hangs {worked.at_least(-picture.clearance, LENGTH)} below the upper end of the {below}."
    return f"The lower end of the {above} hangs {worked.at_most(picture.clearance, LENGTH)} above the upper end of the {below}."


def _motor(worked: Worked, key: str) -> str:
    joint = worked.joints[key]
    if joint.charge.low:
        return "It fires by time, near the top, and this joint must open low down."
    if joint.pins:
        return f"Pins: {joint.pins}; it is made to part a friction fit, none."
    return f"The joint needs {worked.at_least(joint.needed_pressure, BAY_PRESSURE)}; how hard the motor's charge pushes is not known here."


_MORE: Mapping[str, Callable[[Worked, str], str]] = {"motor": _motor, "trapped": _trapped, "running": _running, "swivel": _swivel, "hanging": _hanging}


def _figure(worked: Worked, one: Suspect) -> Figure:
    whose = worked.title(one.key) if one.key and len(worked.rig.way.keys) > 1 else ""
    return Figure(f"{whose[:1].upper()}{whose[1:]}", number(worked, one), _STATES[one.bearing.state])


def causes(worked: Worked, seen: str, found: tuple[Suspect, ...]) -> tuple[Cause, ...]:
    """Those with a number as they are ranked, each once, by the bay that is worst; then those without; none where it cannot happen."""
    if not possible(worked, seen):
        return ()
    figures: dict[str, tuple[Figure, ...]] = {}
    for one in found:
        figures[one.cause] = (*figures.get(one.cause, ()), _figure(worked, one))
    numbered = [(CAUSES[cause], made) for cause, made in figures.items()]
    return tuple(Cause(told.title, made, told.look, told.change, told.page) for told, made in (*numbered, *((told, ()) for told in COMMON[seen])))


# --- pictures ---


def _wrong(worked: Worked, key: str, name: str) -> Drawing:
    """The wrong side of a pair of mistakes, in words of its own."""
    made: Mapping[str, Callable[[], tuple[Pair, ...]]] = {
        "wrapped-shut": lambda: mistakes.wound_pairs(worked, key),
        "lines-under": lambda: mistakes.laid_pairs(worked, key),
        "protector-side": lambda: mistakes.laid_pairs(worked, key),
    }
    return next(pair.wrong for pair in made[name]() if pair.anchor == f"{key}-wrong-{name}")


def _mouth(worked: Worked, key: str, cut: bool) -> Drawing:
    cord, tube, show = worked.cords[key], worked.home(key).tube, worked.show
    told = f"A cord {show(cord.width, LENGTH)} wide at a mouth {show(tube, LENGTH)} inside; {'the cord is cut' if cut else 'the wall is slit from the mouth down'}."
    return at_mouth(tube, cord.width, cut, worked.writer(LENGTH), told)


def _open(worked: Worked, key: str) -> Drawing:
    one, show = worked.canopies[key], worked.show
    told = f"The {one.name}, up to {show(one.inflated_most, LENGTH)} across while open, on lines of {show(one.line_length, LENGTH)}: a panel is torn, a line is off."
    return torn(one.inflated_most, one.line_length, worked.writer(LENGTH), told)


def _shut(worked: Worked, key: str) -> Drawing:
    one = worked.canopies[key]
    told = f"The {one.name} hangs shut on {worked.show(one.line_length, LENGTH)} of lines, twisted round each other."
    return twisted(one.line_length, one.inflated_most, worked.writer(LENGTH), told)


def _electronics(worked: Worked, bay: str) -> Drawing:
    """What each altimeter lives by; where nothing is fired by one, the joint."""
    return (ELECTRONICS.answer(worked, "") if worked.electronics.needed else SEPARATION.answer(worked, bay)).drawings[0]


def _sized(worked: Worked, key: str) -> Drawing:
    """The canopy beside the one that is needed; without a shape, how all of it hangs."""
    return (CANOPY.answer(worked, key).drawings or CORD.answer(worked, key).drawings)[0]


def picture(worked: Worked, seen: str, found: tuple[Suspect, ...]) -> Drawing:
    """Of the bay, canopy or cord that the first cause is about, else the main's."""
    first = next((one.key for one in found if one.key), MAIN)
    canopy = first if first in worked.canopies else next(iter(worked.canopies)) if MAIN not in worked.canopies else MAIN
    bay = first if first in worked.bays else worked.rig.way.home(first)
    drawn: Mapping[str, Callable[[], Drawing]] = {
        "seen-wrapped": lambda: _wrong(worked, canopy, "wrapped-shut"),
        "seen-in-tube": lambda: PACKING.answer(worked, bay).drawings[0],
        "seen-lines-twisted": lambda: _shut(worked, canopy),
        "seen-burned": lambda: _wrong(worked, canopy, "protector-side"),
        "seen-torn": lambda: _open(worked, canopy),
        "seen-tube-slit": lambda: _mouth(worked, first, cut=False),
        "seen-nose-struck": lambda: CORD.answer(worked, first).drawings[0],
        "seen-not-parted": lambda: SEPARATION.answer(worked, bay).drawings[0],
        "seen-early": lambda: SEPARATION.answer(worked, bay).drawings[0],
        "seen-far": lambda: LANDING.answer(Worked(worked.rig, min(SCATTERED, worked.scattered_cases)), "").drawings[0],
        "seen-hard": lambda: _sized(worked, canopy),
        "seen-tangled": lambda: _wrong(worked, canopy, "lines-under"),
        "seen-cord-cut": lambda: _mouth(worked, first, cut=True),
        "seen-main-at-top": lambda: SEPARATION.answer(worked, bay).drawings[0],
        "seen-main-late": lambda: PACKING.answer(worked, worked.rig.way.home(MAIN)).drawings[0],
        "seen-bay-unfired": lambda: _electronics(worked, bay),
    }
    return drawn[seen]()


# --- together ---


def _seen(worked: Worked, anchor: str, found: tuple[Suspect, ...]) -> Seen:
    told = FAULTS[anchor]
    never = "" if possible(worked, anchor) else f" Not with this rig: {told.never}"
    return Seen(
        anchor,
        told.title,
        f"{told.text}{never}",
        Later(lambda: (picture(worked, anchor, found),)),
        causes(worked, anchor, found),
        told.caution,
        told.before,
    )


def told(worked: Worked) -> Answer:
    """All that may be seen, in one order that never changes; of each its causes, ranked."""
    found = {seen: suspects(worked, seen) for seen in SEEN}
    once = {(one.cause, one.key): one.bearing.state for ranked in found.values() for one in ranked}
    states = list(once.values())
    return Answer(
        {"failing": states.count(0), "again": states.count(1), "seen": sum(possible(worked, seen) for seen in SEEN)},
        "What did you see? Each leads to its causes, in the order of this rig's numbers.",
        working=(
            Working(
                "The order of causes",
                "number / limit where more is safer, limit / number where less is, over what it must keep",
                "fails: what its check refuses; look again: what its check looks at again; holds: neither",
                f"limits are those of each page's own check; the order: {OURS}",
            ),
        ),
        notes=(RULE, "What to look at, what to change and the causes without a number are common practice, no source.",),
        seen=tuple(_seen(worked, anchor, ranked) for anchor, ranked in found.items()),
        cautions=CAUTIONS,
    )
