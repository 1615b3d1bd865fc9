"""Packing a bay: what is tied to what, what goes in, in which order and how deep, what closes it. Nothing wrapped shut."""

from dataclasses import replace

from loftbook.answer import Answer, Calculator, Check, CheckKind, Later, Output, Step, Value, Working
from loftbook.calculators.folding import FIT_INPUTS, named, slab
from loftbook.drawing import closeups
from loftbook.drawing.bays import Ends, Lengths, Run, Sight, bay_filling, bays_abreast, packed_bay
from loftbook.drawing.closeups import CloseUp, Cover, End, Loaded, Start, Tied
from loftbook.drawing.svg import Drawing
from loftbook.physics.packing import Item, Lying
from loftbook.quantity import CHARGE_MASS, LENGTH, TIME, at_least, at_most, digits
from loftbook.rig.bay_fields import (
    BAG,
    BLANKET,
    GAS,
    MOTOR,
    NOSE_ALONG,
    NOSE_AT_LINES,
    NOTHING,
    POWDER,
    SLEEVE,
    TWO_SECTIONS,
    WADDING,
)
from loftbook.rig.ways import FORWARD, MAIN
from loftbook.tables import cited, known, practice, sentence
from loftbook.worked.bay import FIRST_CORD, WHOLE_CORD, Bay
from loftbook.worked.bundle import Folded
from loftbook.worked.joint import Charge
from loftbook.worked.worked import Worked

BAY_HOLDS_ALL = CheckKind(
    "bay-holds-all", "Bay holds everything", ("bay.depth", "cord.length", "cord.thickness", "canopy.size")
)
SHOULDER_LENGTH = CheckKind("shoulder-length", "Shoulder", ("bay.shoulder",))
CAUTIONS = (
    "Energetic material can blind, deafen, burn or kill. Where a charge is in the rocket: eyes and ears covered, nobody in front "
    "of either end or beside a joint, electronics off until the pad. The range safety officer decides.",
)

_PROTECTS = {
    BLANKET: "which is on the cord by its slit already: spread it over the charge's side like a lid",
    WADDING: "flame-resistant, loosely crumpled round the cord, covering the whole section",
    SLEEVE: "its closed end to the charge, the cord up the wall beside it",
    BAG: "its closed end to the charge, the cord up the wall beside it",
}
_PARTS = {"middle": "middle section"}
_SAFE = (
    "Every switch off, every igniter's leads shunted, bare ends twisted together. Face and hands stay out of line with "
    "the bay and its charge from here on, everybody else's too."
)
_OUT_BY_ITSELF = "under its own weight when you turn the tube over, its mouth away from everybody"
_TRIED = "Its fit was tried before the first charge went in: nothing is turned over or shaken now."
_ALL_TRIED = "Every bay was tried while no charge was in: nothing is turned over or shaken now."
_Words = tuple[str, str, str, str]  # title, what to do, what should be seen, what to do if not


# --- checks --------------------------------------------------------------------------------------------


def _room(worked: Worked, bay: Bay) -> str:
    """How much is too much for a bay, or left over in it."""
    spare = bay.stack.spare
    if spare < 0:
        return f"{worked.show(-spare, at_least(LENGTH))} too much"
    return f"{worked.show(spare, at_most(LENGTH))} left over"


def lengths(worked: Worked) -> Lengths:
    """How lengths are written in the picture of a bay."""
    return worked.writer(LENGTH), worked.writer(at_most(LENGTH))


def room_check(worked: Worked, bay: Bay) -> Check:
    """Whether everything goes in without being pressed, and enough of the bay stays empty."""
    spare = bay.stack.spare
    said, deep = sentence("spare", worked.rig.units), None if bay.roomy else bay.deep_enough()
    deeper = f", or a bay {worked.show(deep, at_least(LENGTH))} deep" if deep is not None else ""
    smaller = ", a smaller canopy" if bay.tenants else ""
    if spare < 0:
        pressed = "the bundle" if bay.tenants else "the cord"
        return BAY_HOLDS_ALL.fail(
            f"{_room(worked, bay)} for a bay of {worked.show(bay.depth, LENGTH)}: closing it would press {pressed} down. A shorter or thinner cord{smaller}{deeper} is the remedy."
        )
    told = f"{_room(worked, bay)} under the shoulder"
    if not bay.roomy:
        return BAY_HOLDS_ALL.warn(
            f"{told}, too little for what never lies as flat as worked out: {said}. A shorter or thinner cord{smaller}{deeper} "
            "is the remedy.",
            source=cited("spare"),
        )
    return BAY_HOLDS_ALL.hold(f"{told}, so that nothing is pressed; {said}.", source=cited("spare"))


def shoulder_check(worked: Worked, bay: Bay) -> Check:
    """Whether what closes the bay reaches far enough in."""
    said, show = sentence("shoulder", worked.rig.units), worked.show
    long = f"{show(bay.shoulder, LENGTH)} long in a tube of {show(bay.tube, LENGTH)}"
    return SHOULDER_LENGTH.holds_if(bay.shoulder_over_tube >= known("shoulder").low, f"{long}; {said}.", source=cited("shoulder"))


# --- steps: what is tied to what -----------------------------------------------------------------------


def _sides(worked: Worked, key: str) -> tuple[str, str]:
    """The parts forward and aft of a bay's joint, as readers call them."""
    if not worked.rig.way.tied:
        return "forward part", "aft part"
    sections, at = worked.airframe.sections, worked.airframe.joint(key)
    forward, aft = (_PARTS.get(name, name) for name in (sections[at - 1].name, sections[at].name))
    return forward, aft


def _threaded(worked: Worked, key: str) -> str:
    """Where a protector with a slit is on a cord: "cord" between anchor and link, "leg" on what ties the forward part in, or ""."""
    way = worked.rig.way
    bay = worked.bays[way.home(key) if key in way.canopies else key]
    aloft = key not in way.bays and not way.tied
    if bay.said.text("pack.protector") != BLANKET:
        return ""
    if bay.charge_above:
        return "leg" if worked.rigged[key].forward is not None else "cord" if aloft else ""
    return "" if aloft else "cord"


def _thread_first(worked: Worked, key: str, act: str) -> str:
    """What is threaded on before a knot is made, because it cannot be once both ends are tied: said at the last chance."""
    where, canopy = _threaded(worked, key), key in worked.canopies
    if not where or act != ("nose" if where == "leg" or not canopy else "lines"):
        return ""
    on = "the cord" if where == "cord" else "what ties it in"
    return f"First thread the {BLANKET}, by its slit, onto {on}: once both ends are tied it cannot go on. "


def _pointed(worked: Worked, key: str) -> bool:
    """Whether what closes a bay is the nose."""
    return worked.airframe.joint(key) == 1


def _swivels(worked: Worked, key: str) -> bool:
    return worked.rig.of(key).optional("cord.swivel") is not None


def _lines(worked: Worked, key: str) -> _Words:
    n, swivel = worked.canopies[key].lines, _swivels(worked, key)
    between = "then the swivel, then the end of the cord" if swivel else "then the end of the cord"
    return (
        "Lines, link and swivel" if swivel else "Lines and link",
        f"{_thread_first(worked, key, 'lines')}Put the lines of {named(worked, key)} on the link in number order, {between}. Close "
        "the link and turn its nut home.",
        f"Lines 1 to {n} in order on a link that is closed{', the swivel turning freely' if swivel else ''}.",
        "A line out of order, or a link that opens by hand: take the lines off and begin again at line 1.",
    )


def _tied_to(worked: Worked, key: str) -> str:
    """What the anchored end of a cord is tied to, in words."""
    if worked.rigged[key].forward is not None:
        return f"the {_sides(worked, key)[1]}"
    return "its own eye, bolt or loop" if worked.rig.way.tied else {MAIN: "the aft part", FORWARD: "the forward part"}[key]


def _airframe(worked: Worked, key: str) -> _Words:
    rigged, way = worked.rigged[key], worked.rig.way
    where = _tied_to(worked, key)
    there = "bay empty and clean" if key in way.bays else "nothing twisted round the other cord"
    return (
        "Anchor and look",
        "Pull on the anchor knot, look along the cord for burns and worn loops. Igniters and electronics stay safe and "
        "off until the pad.",
        f"Cord of {worked.show(rigged.cord.length, LENGTH)} tied to {where}, {there}.",
        "A singed, glazed or fuzzy cord, or an anchor that moves: do not fly it. Replace it first.",
    )


def _nose(worked: Worked, key: str) -> _Words:
    cord, (forward, aft) = worked.cords[key], _sides(worked, key)
    gap = worked.show(cord.gap, LENGTH)
    end = "the link, where the lines meet" if key in worked.canopies else "the free end of the cord"
    how = {
        NOSE_AT_LINES: f"to {end}",
        NOSE_ALONG: f"into the cord, {gap} from {end}",
        TWO_SECTIONS: f"by a leg of its own, {gap} long, to {end}",
    }[cord.layout]
    return (
        f"Tie in the {forward}",
        f"{_thread_first(worked, key, 'nose')}Tie the {forward} {how}. Pull on the knot, look at its eye and what the eye sits in.",
        f"{worked.show(cord.free, LENGTH)} of cord between {aft} and {forward}, no loop round either.",
        "An eye that turns, a knot that creeps, a singed loop: mend it before anything goes into the bay.",
    )


_LAYOUTS = (NOSE_AT_LINES, NOSE_ALONG, TWO_SECTIONS)


def _lines_drawn(worked: Worked, key: str, seen: str) -> Drawing:
    on = BLANKET if _threaded(worked, key) == "cord" else ""
    return closeups.lines_on_link(worked.canopies[key].lines, _swivels(worked, key), on, seen)


def _anchor_drawn(worked: Worked, key: str, seen: str) -> Drawing:
    """At the bay's bottom, or on the part that goes forward; a guest's cord lies beside another."""
    way = worked.rig.way
    guest = key not in way.bays
    inside = way.tied or not guest
    on = BLANKET if _threaded(worked, key) == "cord" and key in worked.canopies else ""
    return closeups.anchored(inside, guest and way.tied, _tied_to(worked, key), on, seen)


def _nose_drawn(worked: Worked, key: str, seen: str) -> Drawing:
    cord, (forward, aft), canopy, on = worked.cords[key], _sides(worked, key), key in worked.canopies, _threaded(worked, key)
    long = cord.free if cord.layout == NOSE_ALONG else cord.length
    tied = Tied(
        layout=_LAYOUTS.index(cord.layout),
        forward=forward,
        aft=aft,
        pointed=_pointed(worked, key),
        long=worked.show(long, LENGTH),
        gap="" if cord.layout == NOSE_AT_LINES else worked.show(cord.gap, LENGTH),
        end="" if canopy else "end of the cord",
        swivel=canopy and _swivels(worked, key),
        threaded=BLANKET if on else "",
        leg=on == "leg",
    )
    return closeups.tied_in(tied, seen)


def connections(worked: Worked, bay: str) -> tuple[Step, ...]:
    """The bay's own cord first, then that of each guest."""
    guests = tuple(key for key in worked.rig.way.tenants(bay) if key != bay)
    made = []
    for key in (bay, *guests):
        several = f" ({worked.title(key)})" if guests else ""
        rows = [("lines", _lines(worked, key), _lines_drawn)] if key in worked.canopies else []
        rows.append(("airframe", _airframe(worked, key), _anchor_drawn))
        if worked.rigged[key].forward is not None:
            rows.append(("nose", _nose(worked, key), _nose_drawn))
        made += [
            Step(f"{key}-connect-{act}", f"{title}{several}", text, seen, otherwise, drawn(worked, key, seen))
            for act, (title, text, seen, otherwise), drawn in rows
        ]
    return tuple(made)


# --- steps: charge and pins ----------------------------------------------------------------------------


def _backup(worked: Worked, charge: Charge) -> str:
    if not charge.backed_up:
        return ""
    mass = charge.backup_mass
    told = f"{worked.at_least(mass, CHARGE_MASS)}, as you weighed it" if mass is not None else "weighed first, larger than what was tested"
    return f" The backup: {told}, in a well and on a circuit of its own."


def _powder(worked: Worked, charge: Charge) -> str:
    if charge.tested is None:
        return (
            "Load the mass your ground test showed. Without a ground test that parted this joint cleanly nothing is "
            "loaded, and it does not fly."
        )
    return f"Load {worked.at_least(charge.tested, CHARGE_MASS)}, the mass your ground test showed, packed as it was then."


def live(charge: Charge) -> bool:
    """Whether something that can go off is in the bay while it is packed or closed."""
    return charge.fired or charge.backed_up


def armed(worked: Worked, key: str, closing: bool = False) -> bool:
    """Whether something that can go off may be in the rocket when a bay is packed (or closed): its own, or an earlier bay's."""
    bays, here = worked.rig.way.bays, live(worked.joints[key].charge)
    earlier = any(live(worked.joints[bay].charge) for bay in bays[: bays.index(key)])
    return earlier or (here and (closing or not worked.bays[key].charge_above))


def _caution(worked: Worked, key: str, closing: bool = False) -> str:
    """What a picture says while something can go off."""
    return "nobody in line" if armed(worked, key, closing) else ""


def _bays_named(worked: Worked, bays: tuple[str, ...]) -> str:
    if len(worked.rig.way.bays) == 1:
        return "the bay"
    return " and ".join(f"{worked.title(key).removesuffix(' bay')} bay" for key in bays)


def try_step(worked: Worked, key: str) -> tuple[Step, ...]:
    """In the bay that is packed first: every bay is tried, for nobody shakes or turns over a rocket with a charge in it."""
    way = worked.rig.way
    if key != way.bays[0] or not any(live(joint.charge) for joint in worked.joints.values()):
        return ()
    full = tuple(bay for bay in way.bays if worked.bays[bay].tenants)
    every, several = _bays_named(worked, way.bays), len(way.bays) > 1
    shut = tuple(dict.fromkeys(f"the {_sides(worked, bay)[0]}" for bay in way.bays))
    now = f"every bay is tried now, {every}, and none" if several else "the bay is tried now, and not"
    bundle = "Each bundle" if len(way.canopies) > 1 else "The bundle"
    slides = f" {bundle} slides into its empty bay and falls out {_OUT_BY_ITSELF}." if full else ""
    on, stays = " and ".join(shut), "each stays" if len(shut) > 1 else "it stays"
    seen = (
        f"{bundle} falls out by itself; {on} {'stay' if len(shut) > 1 else 'stays'} on when lifted, off when "
        "shaken. Then all of it is out again."
    )
    return (
        Step(
            f"{key}-try",
            "Try every bay, no charge in" if several else "Try the fit, no charge in",
            f"No charge is in the rocket yet: {now} once a charge is in.{slides} Then put on {on}, without pins: {stays} on when you "
            "lift the rocket by it, and comes off with a light shake. Take all of it out again.",
            seen,
            "A bundle sticks: fold it narrower and looser. A joint too loose: tape; too tight: sand it. Neither is done once a "
            "charge is in.",
            closeups.tried(_bays_named(worked, full) if full else "", every, _pointed(worked, way.bays[-1]), seen),
        ),
    )


def _loaded(worked: Worked, key: str, above: bool, first: str, switched: bool) -> Loaded:
    """What is seen of a bay while its charge goes in."""
    (forward, aft), runs = _sides(worked, key), _runs(worked, key)
    protector = worked.bays[key].said.text("pack.protector")
    through = sum(run.tied or run.aloft for run in runs) if above else sum(not run.aloft for run in runs)
    backup = worked.joints[key].charge.backed_up
    return Loaded(above, first, backup, switched, aft, forward, _pointed(worked, key), protector, protector == BLANKET, through)


def charge_step(worked: Worked, bay: str) -> tuple[Step, ...]:
    """How the charge goes in; () where none does. Never a mass that was only worked out."""
    charge, backup = worked.joints[bay].charge, _backup(worked, worked.joints[bay].charge)
    where = f"the {_sides(worked, bay)[0]}, which closes the bay" if worked.bays[bay].charge_above else "the bay's bottom"
    on = "A switch that is on, a lead that is not shunted: stop, keep out of line, and make that safe first."
    if charge.kind == NOTHING:
        return ()
    if charge.kind == MOTOR:
        delay = worked.show(charge.said.number("charge.delay"), TIME)
        first = f"{_ALL_TRIED} {_SAFE} " if backup else ""
        text = (
            f"{first}Nothing to load{' for it' if backup else ''}: the motor brings its own charge "
            f"and goes in last, as its maker says, its delay {delay}. Keep clear of both ends once it is in.{backup}"
        )
        seen = f"The way from the motor to the bay open{', the backup in, leads shunted, switches off' if backup else ''}."
        shut = "The way is shut, or the delay is another one: do not fly it."
        drawn = closeups.charge_in(_loaded(worked, bay, False, "motor, in last", bool(backup)), seen)
        return (Step(f"{bay}-charge", "The motor's own charge", text, seen, f"{shut} {on}" if backup else shut, drawn),)
    load = {POWDER: _powder(worked, charge), GAS: "Fit the gas as its maker says, not pierced, not armed."}[charge.kind]
    seen = f"{'Both charges' if backup else 'The charge'} at {where}, nothing loose, every lead shunted, every switch off."
    first = "gas, not pierced" if charge.kind == GAS else "charge"
    return (
        Step(
            f"{bay}-charge",
            "Charge: switches off, leads shunted",
            f"{_ALL_TRIED} {_SAFE} {load}{backup}",
            seen,
            on,
            closeups.charge_in(_loaded(worked, bay, worked.bays[bay].charge_above, first, True), seen),
        ),
    )


def pins_step(worked: Worked, bay: str) -> tuple[Step, ...]:
    """The shear pins; () where there are none."""
    joint, (forward, aft) = worked.joints[bay], _sides(worked, bay)
    if not joint.pins:
        return ()
    pins = f"{joint.pins} nylon screw{'' if joint.pins == 1 else 's'} {joint.pin.name}"
    seen = f"{pins}, heads on the tube all round, the joint without play."
    return (
        Step(
            f"{bay}-pins",
            "Shear pins",
            f"Turn the joint until its marks meet. Put {pins} through it, evenly spaced and only hand-tight; "
            f"{digits(known('shear_pins').low)} are the least that is usual.",
            seen,
            "A hole that does not line up: turn the joint. Never drill, ream or hammer with a charge in the bay.",
            closeups.pins_through(joint.pins, aft, forward, f"{joint.pins} pin{'' if joint.pins == 1 else 's'}", _caution(worked, bay, closing=True), seen),
        ),
    )


# --- steps: what goes in -------------------------------------------------------------------------------


def _protector(bay: Bay, lies: str) -> _Words:
    protector = bay.said.text("pack.protector")
    return (
        f"Protector: {protector}",
        f"Put in the {protector}, {_PROTECTS[protector]}.",
        f"It takes {lies}",
        "A gap at the wall lets hot gas past: take it out and lay it again.",
    )


def _cord(length: str, name: str, on: str, lies: str) -> _Words:
    """on: where it goes on from there, or comes from."""
    pays = " This part pays out first." if name == FIRST_CORD else ""
    return (
        name[0].upper() + name[1:],
        f"Z-fold {length} of the cord into the tube. No knots, no coils.{on}",
        f"It takes {lies}{pays}",
        "Higher than that: fold it flatter, do not press it down.",
    )


def _bundle(worked: Worked, one: Folded, bay: Bay, loaded: bool, lies: str) -> _Words:
    turns, widest = one.line_turns, one.bundle.widest
    count = f"{digits(turns)} {'turn' if turns == 1 else 'turns'}"
    wrap = f"Wrap the lines {count} round the bundle, loosely and tied to nothing, not more." if turns else "Leave the lines unwrapped."
    if bay.said.text("pack.protector") == BAG:
        wrap = "Put the bundle into its bag, lines stowed outside it, closed end of the bag to the charge."
    slid = (
        f"Slide it in from the side, lines towards the mouth, face and hands out of line with it. {_TRIED}"
        if loaded
        else f"Slide it in, lines towards the mouth. It must fall out again {_OUT_BY_ITSELF}: try it now."
    )
    return (
        "The bundle",
        f"{wrap} No cord goes round it: the cord goes up the wall beside it. {slid}",
        f"About {slab(worked, one.bundle)}, where the tube leaves {worked.show(widest, at_most(LENGTH))}. Its length takes {lies}",
        "It sticks: take it out, fold it narrower and looser. Never push it.",
    )


def _device(lies: str) -> _Words:
    return (
        "The release device",
        "It holds the bundle shut until low: closed as its maker says, no cloth and no line caught in it, tied so that "
        "it stays with the rocket. Pull on it. Off until the pad.",
        f"It takes {lies} It does not let go by hand.",
        "It opens when you pull, or something is caught: take the bundle out and close the device again.",
    )


def _rest_of_lines(lies: str) -> _Words:
    return (
        "The lines",
        "Lay the rest of the lines on the bundle in loose z-folds, none under it. The link stays in your hand, above the mouth.",
        f"They take {lies}",
        "A line under the bundle, or a knot: lift the bundle out and clear it.",
    )


def _close(worked: Worked, key: str) -> _Words:
    bay, show = worked.bays[key], worked.show
    forward = _sides(worked, key)[0]
    closes = f"{forward} in" if worked.airframe.two_joints else "nose (or coupler) in"
    left = f"{_room(worked, bay)} {'beneath it.' if bay.stack.spare >= 0 else 'in the bay: do not close it.'}"
    how = (
        f"Hold it from the side, nobody in line with it. {_TRIED}"
        if armed(worked, key, closing=True)
        else "It holds its own weight, and slides off with a light shake. Then shake the closed tube gently: nothing is "
        "pressed hard."
    )
    return (
        "Close it",
        f"Set the {closes}. {how}",
        f"Shoulder {show(bay.shoulder, LENGTH)} in the mouth, {left}",
        "It springs back or needs a push: something is too high. Open it and find what.",
    )


def _runs(worked: Worked, key: str) -> tuple[Run, ...]:
    """The cords of a bay, the lowest first."""
    made, way = [], worked.rig.way
    for owner in way.tenants(key) or (key,):
        tied = worked.rigged[owner].forward is not None
        rides = not tied or worked.cords[owner].layout == NOSE_AT_LINES
        under = not rides or worked.bays[key].charge_above  # a link under the protector stays in the bay
        made.append(Run(owner, owner != key and not way.tied, owner in worked.canopies, rides, "" if not tied else "leg" if under else "link"))
    return tuple(made)


def _goes_on(worked: Worked, key: str, item: Item) -> str:
    """Where a cord goes on from what lies there, or comes from; "" for all of a cord."""
    if item.name == WHOLE_CORD:
        return ""
    if item.name == FIRST_CORD:
        return " The rest of it goes up the wall, past the bundle."
    forward = _sides(worked, key)[0]
    run = next(run for run in _runs(worked, key) if run.owner == item.owner)
    on = "on top of it" if run.rides else "under it, on the lines"
    where = {
        "": f" The link lies {on}.",
        "link": f" The link stays above the mouth, the {forward} tied to it.",
        "leg": f" The link lies {on}; what leads to the {forward} stays above the mouth.",
    }[run.tie]
    return f" It comes up the wall beside the bundle.{where}"


def _put_in(worked: Worked, key: str, lying: Lying) -> tuple[str, _Words]:
    """The act that puts a thing into a bay, as its anchor names it, and the words for it."""
    bay, item, show = worked.bays[key], lying.item, worked.show
    lies = f"{show(item.height, LENGTH)}. Its top lies {show(bay.below_mouth(lying), LENGTH)} below the mouth."
    match item.kind:
        case "protector":
            return "pack-protector", _protector(bay, lies)
        case "cord":
            act = {FIRST_CORD: "pack-cord-first", WHOLE_CORD: "pack-cord"}.get(item.name, "pack-cord-rest")
            return act, _cord(show(bay.cord_in(item), LENGTH), item.name, _goes_on(worked, key, item), lies)
        case "bundle":
            return "pack-bundle", _bundle(worked, bay.folded[item.owner], bay, armed(worked, key), lies)
        case "device":
            return "pack-device", _device(lies)
        case "lines":
            return "pack-lines", _rest_of_lines(lies.replace("Its top lies", "Their top lies"))
        case "shoulder":
            return "pack-close", _close(worked, key)
    raise KeyError(item.kind)


def _passing(runs: tuple[Run, ...], owner: str) -> int:
    """How many strands of cord go past what belongs to a canopy: its own, and what other cords lead past it."""
    at = next(i for i, run in enumerate(runs) if run.owner == owner)
    own = 2 if runs[at].aloft else 1
    others = sum(run.tied if i < at else not run.aloft for i, run in enumerate(runs) if i != at)
    return min(2, own + others)


def _ends(worked: Worked, key: str) -> Ends:
    """What is fast at both ends of a bay."""
    bay, charge = worked.bays[key], worked.joints[key].charge
    above = bay.charge_above and charge.kind != MOTOR
    threaded = bay.said.text("pack.protector") == BLANKET
    return Ends(_sides(worked, key)[1], ("above" if above else "below") if live(charge) else "", _runs(worked, key), threaded)


def _cord_up(worked: Worked, key: str, item: Item, ends: Ends) -> CloseUp:
    """How a cord goes in, with how much of it."""
    bay, long = worked.bays[key], f"cord {worked.show(worked.bays[key].cord_in(item), LENGTH)}"
    at = next(i for i, run in enumerate(ends.runs) if run.owner == item.owner)
    run = ends.runs[at]
    cover: Cover = "" if bay.charge_above else "threaded" if ends.threaded else "beside"
    if item.name == WHOLE_CORD:
        return closeups.cord_below("ring", cover, ends.charge == "below", long, "zigzags, no coils")
    if item.name == FIRST_CORD:
        start: Start = "mouth" if run.aloft else "beneath" if at else "ring"
        return closeups.cord_below(start, "" if at else cover, ends.charge == "below", long, "below the bundle")
    along = worked.cords[item.owner].layout == NOSE_ALONG
    end: End = "link" if run.rides else "along" if along else "leg"
    return closeups.cord_above(end, _passing(ends.runs, item.owner) > 1, long, "above the bundle")


def _protector_up(bay: Bay, ends: Ends) -> CloseUp:
    protector, above, charge = bay.said.text("pack.protector"), bay.charge_above, ends.charge == "below"
    cords = sum(run.tied or run.aloft if above else not run.aloft for run in ends.runs)
    towards = f"{'under' if above else 'over'} the charge"
    if protector == BLANKET:
        return closeups.blanket(above, charge, cords, "threaded already", towards)
    if protector == WADDING:
        return closeups.wadding(above, charge, cords, "round the cord", towards)
    return closeups.pocket(above, charge, cords, "cord beside it", f"closed end {'up' if above else 'down'}")


def _bundle_up(worked: Worked, bay: Bay, owner: str, cords: int) -> CloseUp:
    protector, turns = bay.said.text("pack.protector"), bay.folded[owner].line_turns
    wound = protector != BAG and turns > 0
    said = f"{digits(turns)} turn{'' if turns == 1 else 's'}, loose" if wound else "lines to the mouth"
    drawn = max(1, int(turns)) if wound else 0
    return closeups.sliding_bundle(drawn, protector == BAG, protector == SLEEVE, bay.charge_above, cords, said, "cord up the wall")


def _close_up(worked: Worked, key: str, lying: Lying, ends: Ends) -> CloseUp:
    """How that thing goes in, by its kind."""
    item, bay = lying.item, worked.bays[key]
    cords = _passing(ends.runs, item.owner) if item.owner else 0
    match item.kind:
        case "cord":
            return _cord_up(worked, key, item, ends)
        case "lines":
            return closeups.loose_lines(cords, "on the bundle", "cord to the link")
        case "device":
            return closeups.held_shut(cords, "pull: it holds", "tied in")
        case "shoulder":
            forward, led = _sides(worked, key)[0], [run for run in ends.runs if run.tied or run.aloft]
            how = _caution(worked, key, closing=True) or "nothing pressed"
            link = bool(led) and led[0].linked and led[0].tie == "link"
            return closeups.closing(_pointed(worked, key), bool(led), link, ends.charge == "above", f"{forward} in", how)
        case "bundle":
            return _bundle_up(worked, bay, item.owner, cords)
    return _protector_up(bay, ends)


def packing_steps(worked: Worked, key: str) -> tuple[Step, ...]:
    """The charge and everything else in the order it goes in, each with an anchor that names it and so never changes."""
    bay, charge = worked.bays[key], charge_step(worked, key)
    made = [] if bay.charge_above else [*charge]
    acts = [_put_in(worked, key, lying) for lying in bay.stack.layers]
    ends = _ends(worked, key)
    caution = _caution(worked, key)  # what closes a bay says so itself
    near = tuple([_close_up(worked, key, lying, ends) for lying in bay.stack.layers])
    near = tuple([one if lying.item.kind == "shoulder" else replace(one, caution=caution) for lying, one in zip(bay.stack.layers, near, strict=True)])
    told = tuple([seen for _, (_, _, seen, _) in acts])
    drawn = bay_filling(bay.stack, bay.tube, bay.beside, lengths(worked), ends, near, told)
    for lying, (act, (title, text, seen, otherwise)), picture in zip(bay.stack.layers, acts, drawn, strict=True):
        if bay.charge_above and lying.item.kind == "shoulder":
            made += charge
        owner = lying.item.owner
        which = f" ({worked.title(owner)})" if owner and len(bay.tenants) > 1 else ""
        made.append(Step(f"{owner or key}-{act}", title + which, text, seen, otherwise, picture))
    return tuple(made)


# --- the answer ----------------------------------------------------------------------------------------


def _outputs(worked: Worked, key: str) -> dict[str, Value | None]:
    """Of the bay's own canopy; without one only of the bay."""
    bay = worked.bays[key]
    one = bay.folded.get(key)
    return {
        "bundle_depth": bay.stack.depth_below_mouth("bundle", key) if one else None,
        "least_depth": bay.above(key) if one else None,
        "spare": bay.stack.spare,
        "room": one.room if one else None,
        "bundle_length": one.bundle.length if one else None,
        "turns_used": one.wound if one else None,
        "below_height": bay.below(key) if one else None,
    }


def _working(worked: Worked, key: str) -> tuple[Working, ...]:
    bay, show, units = worked.bays[key], worked.show, worked.rig.units
    less = " less what stands in it" if bay.beside else ""
    several = len(bay.cords) > 1
    made = [
        Working(
            f"Height of the cord{f' ({worked.title(cord.said.key)})' if several else ''}",
            "h = length × width × thickness / (tube area × fill)",
            f"h = {show(cord.stowed, LENGTH)} × {show(cord.width, LENGTH)} × {show(cord.thickness, LENGTH)} / "
            f"({show(bay.tube, LENGTH)} tube{less}, {digits(bay.fill * 100)} % filled) = "
            f"{show(bay.loose(cord.bulk), LENGTH)}",
            practice("fill", units),
        )
        for cord in bay.cords
    ]
    if key in bay.folded:
        heights = " + ".join(show(item.height, LENGTH) for item in reversed(bay.over(key)))
        made.append(
            Working(
                "Least depth of the bundle",
                "shoulder + everything else above it",
                f"{heights} = {show(bay.above(key), LENGTH)}",
                practice("depth", units),
            )
        )
    return tuple(made)


def _described(worked: Worked, bay: Bay) -> str:
    layers = ", ".join(f"{one.item.name} {worked.show(one.item.height, LENGTH)}" for one in bay.stack.layers)
    return f"Bottom to top: {layers}; {_room(worked, bay)}."


def _summary(worked: Worked, key: str) -> str:
    bay = worked.bays[key]
    if bay.stack.spare < 0:
        return f"{_room(worked, bay)} for this bay."
    if key not in bay.folded:
        return f"Everything in, with {_room(worked, bay)}."
    depth = worked.show(bay.stack.depth_below_mouth("bundle", key), LENGTH)
    return f"Everything in, the bundle's top lies {depth} below the mouth, with {_room(worked, bay)}."


def abreast(worked: Worked) -> Drawing:
    """Every bay of a rig in section, beside each other."""
    several = len(worked.bays) > 1
    seen = tuple([Sight(worked.title(key) if several else "", bay.stack, bay.tube, bay.beside) for key, bay in worked.bays.items()])
    told = " ".join(f"{worked.title(key).capitalize()}: {_described(worked, bay)}" for key, bay in worked.bays.items())
    return bays_abreast(seen, worked.writer(LENGTH), told)


def compute(worked: Worked, key: str) -> Answer:
    """One bay, from the first knot to the last pin."""
    bay, units = worked.bays[key], worked.rig.units
    facts = [practice("protector", units), *([practice("shear_pins", units)] if worked.joints[key].pins else [])]
    return Answer(
        _outputs(worked, key),
        _summary(worked, key),
        (room_check(worked, bay), shoulder_check(worked, bay)),
        Later(lambda: _working(worked, key)),
        Later(lambda: (packed_bay(bay.stack, bay.tube, bay.beside, lengths(worked), _described(worked, bay)),)),
        Later(lambda: (*connections(worked, key), *try_step(worked, key), *packing_steps(worked, key), *pins_step(worked, key))),
        tuple([f"{said[0].upper()}{said[1:]}." for said in facts]),
        cautions=CAUTIONS,
    )


STACK_INPUTS = (*FIT_INPUTS, "pack.layout", "pack.protector", "pack.below", "pack.line_turns")  # of a packed bay

PACKING = Calculator(
    "packing",
    "Pack it",
    (
        *STACK_INPUTS,
        "rocket.main_bay",
        "cord.swivel",
        "joint.pins",
        "joint.pin",
        "charge.kind",
        "charge.delay",
        "charge.tested",
        "charge.backup",
        "charge.backup_mass",
    ),
    (
        Output("bundle_depth", "Mouth to top of bundle", LENGTH),
        Output("least_depth", "Least it may be", at_least(LENGTH)),
        Output("spare", "Left over", at_most(LENGTH)),
        Output("bundle_length", "Bundle, length", LENGTH),
        Output("room", "Length the bay leaves for it", at_most(LENGTH), leads=False),
        Output("below_height", "Everything below the bundle", LENGTH, leads=False),
        Output("turns_used", "Line used by the turns", LENGTH, leads=False),
    ),
    compute,
    (BAY_HOLDS_ALL, SHOULDER_LENGTH),
    each="bay",
    asks=("bay.depth", "pack.protector", "pack.shortening"),
)
