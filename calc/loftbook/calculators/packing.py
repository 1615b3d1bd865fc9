"""Packing a bay: what is tied to what, what goes in, in which order and how deep, what closes it. Nothing wrapped shut."""

from loftbook.answer import Answer, Calculator, Check, CheckKind, Output, Step, Value, Working
from loftbook.calculators.folding import FIT_INPUTS, named, slab
from loftbook.drawing import closeups
from loftbook.drawing.bays import Seen, bay_filling, bays_abreast, packed_bay
from loftbook.drawing.closeups import CloseUp
from loftbook.drawing.svg import Drawing
from loftbook.physics.packing import Lying
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
from loftbook.tables import known, practice
from loftbook.worked.bay import FIRST_CORD, WHOLE_CORD, Bay
from loftbook.worked.bundle import Folded
from loftbook.worked.joint import Charge
from loftbook.worked.worked import Worked

BAY_HOLDS_ALL = CheckKind(
    "bay-holds-all", "Bay holds everything", ("bay.depth", "cord.length", "cord.thickness", "canopy.size")
)
SHOULDER_LENGTH = CheckKind("shoulder-length", "Shoulder", ("bay.shoulder",))
CAUTIONS = (
    "Where a charge is in the rocket: nobody before or behind it, eyes and ears covered, electronics off until the pad. The "
    "range safety officer decides.",
)

_PROTECTS = {
    BLANKET: "spread over the charge's side like a lid, the cord running through its slit",
    WADDING: "loosely crumpled, flame-resistant, covering the whole section",
    SLEEVE: "its closed end to the charge",
    BAG: "its closed end to the charge",
}
_PARTS = {"middle": "middle section"}
_SAFE = (
    "Every switch off, every igniter's leads shunted, bare ends twisted together. Face and hands stay out of line with "
    "the bay and its charge from here on, everybody else's too."
)
_OUT_BY_ITSELF = "under its own weight when you turn the tube over, its mouth away from everybody"
_Words = tuple[str, str, str, str]  # title, what to do, what should be seen, what to do if not


# --- checks --------------------------------------------------------------------------------------------


def room_check(worked: Worked, bay: Bay) -> Check:
    """Whether everything goes in without being pressed, and enough of the bay stays empty."""
    spare = bay.stack.spare
    said, deep = practice("spare", worked.rig.units), None if bay.roomy else bay.deep_enough()
    deeper = f", or a bay {worked.show(deep, at_least(LENGTH))} deep" if deep is not None else ""
    smaller = ", a smaller canopy" if bay.tenants else ""
    if spare < 0:
        pressed = "the bundle" if bay.tenants else "the cord"
        return BAY_HOLDS_ALL.fail(
            f"{worked.show(-spare, at_least(LENGTH))} too much goes into a bay of {worked.show(bay.depth, LENGTH)}: closing it "
            f"would press {pressed} down. A shorter or thinner cord{smaller}{deeper} is the remedy."
        )
    told = f"{worked.show(spare, at_most(LENGTH))} is left over under the shoulder"
    if not bay.roomy:
        return BAY_HOLDS_ALL.warn(
            f"{told}, too little for what never lies as flat as worked out: {said}. A shorter or thinner cord{smaller}{deeper} "
            "is the remedy."
        )
    return BAY_HOLDS_ALL.hold(f"{told}, so that nothing is pressed; {said}.")


def shoulder_check(worked: Worked, bay: Bay) -> Check:
    """Whether what closes the bay reaches far enough in."""
    held = bay.shoulder_over_tube >= known("shoulder").low
    said = practice("shoulder", worked.rig.units)
    return SHOULDER_LENGTH.holds_if(held, f"{'At least' if held else 'Less than'} one tube diameter long; {said}.")


# --- steps: what is tied to what -----------------------------------------------------------------------


def _sides(worked: Worked, key: str) -> tuple[str, str]:
    """The parts forward and aft of a bay's joint, as readers call them."""
    sections, at = worked.airframe.sections, worked.airframe.joint(key)
    forward, aft = (_PARTS.get(name, name) for name in (sections[at - 1].name, sections[at].name))
    return forward, aft


def _lines(worked: Worked, key: str) -> _Words:
    n, swivel = worked.canopies[key].lines, worked.rig.of(key).optional("cord.swivel") is not None
    between = "then the swivel, then the end of the cord" if swivel else "then the end of the cord"
    return (
        "Lines, link and swivel" if swivel else "Lines and link",
        f"Put the lines of {named(worked, key)} on the link in number order, {between}. Close the link and turn its nut "
        "home.",
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
        f"Tie the {forward} {how}. Pull on the knot, look at its eye and what the eye sits in.",
        f"{worked.show(cord.free, LENGTH)} of cord between {aft} and {forward}, no loop round either.",
        "An eye that turns, a knot that creeps, a singed loop: mend it before anything goes into the bay.",
    )


_LAYOUTS = (NOSE_AT_LINES, NOSE_ALONG, TWO_SECTIONS)


def _lines_drawn(worked: Worked, key: str, seen: str) -> Drawing:
    swivel = worked.rig.of(key).optional("cord.swivel") is not None
    return closeups.lines_on_link(worked.canopies[key].lines, swivel, seen)


def _anchor_drawn(worked: Worked, key: str, seen: str) -> Drawing:
    """At the bay's bottom, or on the part that goes forward; a guest's cord lies beside another."""
    way = worked.rig.way
    guest = key not in way.bays
    inside = way.tied or not guest
    return closeups.anchored(inside, guest and way.tied, _tied_to(worked, key), seen)


def _nose_drawn(worked: Worked, key: str, seen: str) -> Drawing:
    cord, (forward, aft) = worked.cords[key], _sides(worked, key)
    gap = "" if cord.layout == NOSE_AT_LINES else worked.show(cord.gap, LENGTH)
    end = "" if key in worked.canopies else "end of the cord"
    return closeups.tied_in(_LAYOUTS.index(cord.layout), forward, forward == "nose", aft, gap, end, seen)


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


def _tried_first(bay: Bay) -> str:
    """What is tried while nothing is loaded yet, because nobody shakes or turns over a bay with a charge in it."""
    bundle = "" if bay.charge_above or not bay.tenants else f"the bundle slides into the empty bay and falls out {_OUT_BY_ITSELF}; "
    return (
        f"Before anything is loaded, try: {bundle}what closes the bay holds its own weight, and slides off with a light "
        f"shake. Then take {'both' if bundle else 'it'} out again."
    )


def charge_step(worked: Worked, bay: str) -> tuple[Step, ...]:
    """How the charge goes in; () where none does. Never a mass that was only worked out."""
    charge, backup = worked.joints[bay].charge, _backup(worked, worked.joints[bay].charge)
    where = f"the {_sides(worked, bay)[0]}, which closes the bay" if worked.bays[bay].charge_above else "the bay's bottom"
    on = "A switch that is on, a lead that is not shunted: stop, keep out of line, and make that safe first."
    if charge.kind == NOTHING:
        return ()
    if charge.kind == MOTOR:
        delay = worked.show(charge.said.number("charge.delay"), TIME)
        first = f"{_tried_first(worked.bays[bay])} {_SAFE} " if backup else ""
        text = (
            f"{first}Nothing to load{' for it' if backup else ''}: the motor brings its own charge "
            f"and goes in last, as its maker says, its delay {delay}. Keep clear of both ends once it is in.{backup}"
        )
        seen = f"The way from the motor to the bay open{', the backup in, leads shunted, switches off' if backup else ''}."
        shut = "The way is shut, or the delay is another one: do not fly it."
        drawn = closeups.charge_in(False, "motor, in last", bool(backup), bool(backup), seen)
        return (Step(f"{bay}-charge", "The motor's own charge", text, seen, f"{shut} {on}" if backup else shut, drawn),)
    load = {POWDER: _powder(worked, charge), GAS: "Fit the gas as its maker says, not pierced, not armed."}[charge.kind]
    seen = f"{'Both charges' if backup else 'The charge'} at {where}, nothing loose, every lead shunted, every switch off."
    first = "gas, not pierced" if charge.kind == GAS else "charge"
    return (
        Step(
            f"{bay}-charge",
            "Charge: switches off, leads shunted",
            f"{_tried_first(worked.bays[bay])} {_SAFE} {load}{backup}",
            seen,
            on,
            closeups.charge_in(worked.bays[bay].charge_above, first, bool(backup), True, seen),
        ),
    )


def pins_step(worked: Worked, bay: str) -> tuple[Step, ...]:
    """The shear pins; () where there are none."""
    joint, least = worked.joints[bay], practice("shear_pins", worked.rig.units)
    if not joint.pins:
        return ()
    pins = f"{joint.pins} nylon screw{'' if joint.pins == 1 else 's'} {joint.pin.name}"
    seen = f"{pins}, heads on the tube all round, the joint without play."
    return (
        Step(
            f"{bay}-pins",
            "Shear pins",
            f"Turn the joint until its marks meet. Put {pins} through it, evenly spaced and only hand-tight. "
            f"Usual is: {least}.",
            seen,
            "A hole that does not line up: turn the joint. Never drill, ream or hammer with a charge in the bay.",
            closeups.pins_through(joint.pins, f"{joint.pins} pin{'' if joint.pins == 1 else 's'}", seen),
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


def _cord(length: str, name: str, lies: str) -> _Words:
    pays = " This part pays out first." if name == FIRST_CORD else ""
    return (
        name[0].upper() + name[1:],
        f"Z-fold {length} of the cord into the tube. No knots, no coils.",
        f"It takes {lies}{pays}",
        "Higher than that: fold it flatter, do not press it down.",
    )


def _bundle(worked: Worked, one: Folded, bay: Bay, loaded: bool, lies: str) -> _Words:
    turns, widest = one.line_turns, one.bundle.widest
    count = f"{digits(turns)} {'turn' if turns == 1 else 'turns'}"
    wrap = f"Wrap the lines {count} round the bundle, not more." if turns else "Leave the lines unwrapped."
    if bay.said.text("pack.protector") == BAG:
        wrap = "Put the bundle into its bag, lines stowed outside it, closed end of the bag to the charge."
    slid = (
        "Slide it in from the side, lines towards the mouth, face and hands out of line with it. That it falls out by "
        "itself was tried before the charge went in: the tube is not turned over now."
        if loaded
        else f"Slide it in, lines towards the mouth. It must fall out again {_OUT_BY_ITSELF}: try it now."
    )
    return (
        "The bundle",
        f"{wrap} No cord goes round it. {slid}",
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
        "Lay the rest of the lines on the bundle in loose z-folds, none under it.",
        f"They take {lies}",
        "A line under the bundle, or a knot: lift the bundle out and clear it.",
    )


def _close(worked: Worked, key: str) -> _Words:
    bay, show, charge = worked.bays[key], worked.show, worked.joints[key].charge
    forward = _sides(worked, key)[0]
    closes = f"{forward} in" if worked.airframe.two_joints else "nose (or coupler) in"
    spare = bay.stack.spare
    left = (
        f"{show(spare, at_most(LENGTH))} left over beneath it."
        if spare >= 0
        else f"{show(-spare, at_least(LENGTH))} too much in the bay: do not close it."
    )
    how = (
        "Hold it from the side, nobody in line with it. Its fit was tried before the charge went in: no shaking now."
        if live(charge)
        else "It holds its own weight, and slides off with a light shake. Then shake the closed tube gently: nothing is "
        "pressed hard."
    )
    return (
        "Close it",
        f"Set the {closes}. {how}",
        f"Shoulder {show(bay.shoulder, LENGTH)} in the mouth, {left}",
        "It springs back or needs a push: something is too high. Open it and find what.",
    )


def _put_in(worked: Worked, key: str, lying: Lying) -> tuple[str, _Words]:
    """The act that puts a thing into a bay, as its anchor names it, and the words for it."""
    bay, item, show = worked.bays[key], lying.item, worked.show
    lies = f"{show(item.height, LENGTH)}. Its top lies {show(bay.below_mouth(lying), LENGTH)} below the mouth."
    match item.kind:
        case "protector":
            return "pack-protector", _protector(bay, lies)
        case "cord":
            act = {FIRST_CORD: "pack-cord-first", WHOLE_CORD: "pack-cord"}.get(item.name, "pack-cord-rest")
            return act, _cord(show(bay.cord_in(item), LENGTH), item.name, lies)
        case "bundle":
            loaded = live(worked.joints[key].charge) and not bay.charge_above
            return "pack-bundle", _bundle(worked, bay.folded[item.owner], bay, loaded, lies)
        case "device":
            return "pack-device", _device(lies)
        case "lines":
            return "pack-lines", _rest_of_lines(lies.replace("Its top lies", "Their top lies"))
        case "shoulder":
            return "pack-close", _close(worked, key)
    raise KeyError(item.kind)


def _close_up(bay: Bay, lying: Lying, loaded: bool) -> CloseUp:
    """How that thing goes in, by its kind; loaded: something that can go off is in the bay already."""
    protector, above = bay.said.text("pack.protector"), bay.charge_above
    towards = "above" if above else "below"
    match lying.item.kind:
        case "cord":
            return closeups.zigzag("zigzags, no coils")
        case "lines":
            return closeups.loose_lines("on the bundle")
        case "device":
            return closeups.held_shut("pull: it holds")
        case "shoulder":
            return closeups.closing("nobody in line" if loaded else "nothing pressed")
        case "bundle":
            turns = bay.folded[lying.item.owner].line_turns
            return closeups.sliding_bundle(int(turns), protector == BAG, protector == SLEEVE, above, "lines to the mouth")
    if protector == BLANKET:
        return closeups.blanket(above, f"charge {towards} it")
    if protector == WADDING:
        return closeups.wadding(above, f"charge {towards} it")
    return closeups.pocket(above, f"closed end {'up' if above else 'down'}")


def packing_steps(worked: Worked, key: str) -> tuple[Step, ...]:
    """The charge and everything else in the order it goes in, each with an anchor that names it and so never changes."""
    bay, charge = worked.bays[key], charge_step(worked, key)
    made = [] if bay.charge_above else [*charge]
    acts = [_put_in(worked, key, lying) for lying in bay.stack.layers]
    loaded = live(worked.joints[key].charge)
    near = tuple([_close_up(bay, lying, loaded) for lying in bay.stack.layers])
    told = tuple([seen for _, (_, _, seen, _) in acts])
    drawn = bay_filling(bay.stack, bay.tube, bay.beside, worked.writer(LENGTH), near, told)
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
    show, spare = worked.show, bay.stack.spare
    layers = ", ".join(f"{one.item.name} {show(one.item.height, LENGTH)}" for one in bay.stack.layers)
    left = f"left over {show(spare, at_most(LENGTH))}" if spare >= 0 else f"{show(-spare, at_least(LENGTH))} too much"
    return f"Bottom to top: {layers}; {left}."


def _summary(worked: Worked, key: str) -> str:
    bay, show = worked.bays[key], worked.show
    spare = bay.stack.spare
    if spare < 0:
        return f"{show(-spare, at_least(LENGTH))} too much for this bay."
    if key not in bay.folded:
        return f"Everything in, {show(spare, at_most(LENGTH))} is left over."
    depth = show(bay.stack.depth_below_mouth("bundle", key), LENGTH)
    return f"Everything in, the bundle's top lies {depth} below the mouth and {show(spare, at_most(LENGTH))} is left over."


def abreast(worked: Worked) -> Drawing:
    """Every bay of a rig in section, beside each other."""
    several = len(worked.bays) > 1
    seen = tuple([Seen(worked.title(key) if several else "", bay.stack, bay.tube, bay.beside) for key, bay in worked.bays.items()])
    told = " ".join(f"{worked.title(key).capitalize()}: {_described(worked, bay)}" for key, bay in worked.bays.items())
    return bays_abreast(seen, worked.writer(LENGTH), told)


def compute(worked: Worked, key: str) -> Answer:
    """One bay, from the first knot to the last pin."""
    bay, said = worked.bays[key], practice("protector", worked.rig.units)
    return Answer(
        _outputs(worked, key),
        _summary(worked, key),
        (room_check(worked, bay), shoulder_check(worked, bay)),
        _working(worked, key),
        (packed_bay(bay.stack, bay.tube, bay.beside, worked.writer(LENGTH), _described(worked, bay)),),
        (*connections(worked, key), *packing_steps(worked, key), *pins_step(worked, key)),
        (f"{said[0].upper()}{said[1:]}.",),
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
        Output("room", "Length the bay leaves for it", LENGTH, leads=False),
        Output("below_height", "Everything below the bundle", LENGTH, leads=False),
        Output("turns_used", "Line used by the turns", LENGTH, leads=False),
    ),
    compute,
    (BAY_HOLDS_ALL, SHOULDER_LENGTH),
    each="bay",
    asks=("bay.depth", "pack.protector", "pack.shortening"),
)
