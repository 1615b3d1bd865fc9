"""Parting a joint: pressure, pins, and a ground-test ladder. Energetic material: cautions first, refusal outside."""

from typing import Literal

from loftbook.answer import Answer, Calculator, Check, CheckKind, Later, Output, Table, Value, Working
from loftbook.drawing.joints import Force, Joined, When, joint_section
from loftbook.drawing.svg import Drawing
from loftbook.errors import Refusal
from loftbook.physics import separation
from loftbook.physics.spread import Spread
from loftbook.quantity import (
    BAY_PRESSURE,
    CHARGE_MASS,
    COUNT,
    ENERGY,
    FORCE,
    HEIGHT,
    LENGTH,
    MASS,
    NUMBER,
    SHARE,
    SPEED,
    TIME,
    VOLUME,
    Kind,
    at_least,
    at_most,
    counted,
    digits,
)
from loftbook.rig.bay_fields import GAS, MOTOR, THROWN
from loftbook.rig.ways import DROGUE, MAIN
from loftbook.tables import OURS, cited, known, practice, sentence
from loftbook.worked.joint import AT_ONCE, TWICE, Charge, Joint
from loftbook.worked.worked import Worked

CAUTIONS = (
    "Energetic material can blind, deafen, burn or kill: nobody in front of either end or beside a joint. Follow local law on "
    "having, storing and using it.",
    "These figures are where a ground test starts. They are never a substitute for one: start low, step up to the estimate. "
    "What flies is the smallest charge that threw everything clear to the cord's end twice running, never below the estimate.",
    "Test in the open, eyes and ears covered: the rocket's own electronics off and not connected, the charge fired by your own "
    "wire from a distance once everyone is clear.",
    "After a misfire: firing box locked and disconnected first, then at least 60 seconds before anyone goes near.",
    "The range safety officer and certified flyers decide; without such a person beside you, do not do this.",
)
GAS_CAUTION = "Gas under pressure throws parts as hard as powder does: the same distance, the same test, the same care."
NO_CHARGE_CAUTION = (
    "A joint that opens early or late turns the rocket into a falling mass. The range safety officer and certified "
    "flyers decide."
)

HOLDS = CheckKind(
    "joint-holds",
    "Joint holds until its charge fires",
    ("joint.pins", "joint.vent", "joint.friction", "flight.slowing"),
    gate=True,
)
PARTS = CheckKind(
    "joint-parts",
    "Joint parts at the charge",
    ("charge.pressure", "joint.pins", "joint.friction", "bay.shoulder"),
    gate=True,
)
DOMAIN = CheckKind(
    "charge-domain", "Charge", ("charge.pressure", "charge.kind", "charge.tested", "bay.depth", "joint.pins"), gate=True
)
TEST = CheckKind(
    "ground-test",
    "Ground test",
    ("charge.tested", "charge.repeats", "charge.test_date", "charge.test_pins", "charge.test_result"),
    gate=True,
)
BACKUP = CheckKind(
    "backup", "Backup charge", ("charge.backup_mass", "charge.backup_later", "charge.backup_height"), gate=True
)
PINS = CheckKind("pins-two", "Pins", ("joint.pins",))
DELAY = CheckKind("motor-delay", "Delay of the motor", ("flight.delay", "charge.delay"))

FAR = 1.5  # times the estimate: so much more than the model says has a reason (our choice)
BARELY = 0.2  # a backup that is hardly larger than the first: a quarter, and what scales round off (our choice)
DRAWN_WALL = 1.04  # outside over inside of the tube, as drawn


# --- checks ---


def hold_check(worked: Worked, joint: Joint) -> Check:
    pull, holds = worked.at_least(joint.pull, FORCE), worked.at_most(joint.holds, FORCE)
    rising = joint.rising >= joint.jolted
    when = "on the way up" if rising else f"from the {joint.jolts[0].cause}"
    told = f"Up to {pull} pulls at the joint {when}; it holds {holds}."
    needed = f"{counted(joint.pins_needed, "pin")} would hold it with {digits(separation.HOLD_FACTOR)} times margin."
    if joint.holds < joint.pull:
        mend = "vent the bay or add pins" if rising else "add pins, or a longer or softer cord in the other bay"
        return HOLDS.fail(f"{told} It parts early: {mend}. {needed}")
    if joint.holds < separation.HOLD_FACTOR * joint.pull:
        return HOLDS.warn(f"{told} Less than {digits(separation.HOLD_FACTOR)} times. {needed}", source=OURS)
    return HOLDS.hold(told)


def pressure_check(worked: Worked, joint: Joint) -> Check:
    wanted, needed = worked.at_most(joint.pressure, BAY_PRESSURE), worked.at_least(joint.needed_pressure, BAY_PRESSURE)
    made = worked.at_least(joint.pressure, BAY_PRESSURE)
    if not joint.charge.there:
        return nothing_check(worked, joint)
    if joint.pressure > separation.MOST_PRESSURE:
        most = worked.at_most(separation.MOST_PRESSURE, BAY_PRESSURE)
        return PARTS.fail(
            f"It would take {made}, more than the {most} computed here ({joint.estimated[1]}): fewer pins, a longer "
            "shoulder, or another way."
        )
    if joint.charge.kind == MOTOR:
        return motor_check(worked, joint)
    if joint.pressure < joint.needed_pressure:
        told = f"{wanted} is less than the {needed} that parts it with margin."
        parts_at_all = joint.pressure >= joint.needed_pressure / separation.SHEAR_FACTOR
        return PARTS.warn(told) if parts_at_all else PARTS.fail(told)
    if joint.pressure < joint.estimated[0]:
        more, why = worked.at_least(joint.estimated[0], BAY_PRESSURE), joint.estimated[1]
        return PARTS.warn(
            f"{wanted} parts the joint, but is less than {why}, {more}: it may part and leave canopy and cord in the bay."
        )
    return PARTS.hold(
        f"{made} parts friction and pins with at least {digits(separation.SHEAR_FACTOR)} times margin, throws "
        "everything clear by the model, and is no less than usual.",
        source=OURS,
    )


def nothing_check(worked: Worked, joint: Joint) -> Check:
    """Of a joint without a charge: only a canopy that is out already can pull it open, and hardly through pins."""
    pull = worked.at_least(joint.resists, FORCE)
    if joint.said.key == worked.rig.way.bays[0]:
        return PARTS.fail("Nothing in this rig parts it, and no canopy is out yet that could pull it open: say what does.")
    if joint.pins:
        return PARTS.fail(
            f"Nothing of its own parts it, and its pins ask for a pull of up to {pull}: take them out, or give it a charge."
        )
    return PARTS.warn(
        f"Nothing of its own parts it: that takes a pull of up to {pull}. What pulls it open is not worked out here: "
        "try it on the ground, packed as it will fly."
    )


def motor_check(worked: Worked, joint: Joint) -> Check:
    """Of a motor's own charge: how hard it pushes is not known here."""
    needed = worked.at_least(joint.needed_pressure, BAY_PRESSURE)
    told = (
        f"The joint needs {needed} in {worked.range(joint.bay.free_volume, VOLUME)} of free volume, margin counted in."
    )
    if joint.charge.low:
        return PARTS.fail("A motor's own charge fires by time, near the top, and this joint must open low down.")
    if joint.pins:
        return PARTS.warn(
            f"{told} A motor's own charge is made to part a friction fit, not pins, and how "
            "hard it pushes is not known here: take the pins out, or use a charge of your own.",
            source=cited("shear_pins"),
        )
    if joint.needed_pressure > known("bay_pressure").high:
        return PARTS.warn(
            f"{told} That is much for a motor's own charge: ease the joint until it slides apart by hand.",
            source=cited("bay_pressure"),
        )
    return PARTS.hold(
        f"{told} How hard the motor's charge pushes is not known here: the joint must slide apart by hand."
    )


def domain_check(worked: Worked, joint: Joint) -> Check:
    """Of a charge that is weighed: whether a mass of it is told, and why not."""
    if isinstance(joint.mass, Refusal):
        why = joint.mass.faults[0].message
        if not joint.thin or not joint.charge.cleared or joint.charge.repeats < TWICE:
            return DOMAIN.fail(f"No figure is given. {why}")
        return DOMAIN.hold(f"{why} It flies on your own ground tests, two or more in a row.")
    high = known("high_charge").high
    if joint.fires_at > high:
        return DOMAIN.warn(
            f"It fires {worked.at_least(joint.fires_at, HEIGHT)} above the sea: {sentence('high_charge', worked.rig.units)}, or "
            "the thin air puts it out half burnt.",
            source=cited("high_charge"),
        )
    return DOMAIN.hold("Inside what is computed here; a starting point for a ground test.")


def ground_check(worked: Worked, joint: Joint) -> Check:
    """What the ground tests say, of a charge that electronics fire: no flight without one."""
    charge = joint.charge
    missing = lacking(charge)
    if missing and charge.borrowed and not charge.proved:
        return TEST.fail(
            "No test of yours is entered. The starting rig's own test was another rocket's, and no longer counts once anything of "
            f"that bay is yours. No flight without one: {missing}."
        )
    if missing:
        return TEST.fail(f"Not entered: {missing}. No flight without a ground test and all that it must say.")
    if charge.test_result != THROWN:
        return TEST.fail(
            f"The last test {charge.test_result}. Only one counts that threw everything clear: step up, test again, and "
            "enter that."
        )
    if charge.test_pins != joint.pins:
        return TEST.fail(
            f"It was done with {counted(charge.test_pins or 0, "pin")}, and {counted(joint.pins, "pin")} will fly: test that."
        )
    told, doubts = compared(worked, joint)
    told.append(f"Day of the last test: {charge.test_day}.")
    if charge.repeats < TWICE:
        doubts.append("Once may be luck: repeat it until two in a row threw everything clear.")
    else:
        told.append(f"{charge.repeats} in a row.")
    if doubts:
        return TEST.warn(" ".join((*told, *doubts)))
    return TEST.hold(" ".join((*told, "Fly what was tested, packed the same way.")))


def lacking(charge: Charge) -> str:
    """What a ground test must say and does not, in words; empty where nothing is missing."""
    said = {
        "the mass that threw everything clear": charge.entered is not None or not charge.weighed,
        "how many in a row": charge.repeats > 0,
        "its day": bool(charge.test_day),
        "the pins in it": charge.test_pins is not None,
    }
    return ", ".join(what for what, there in said.items() if not there)


def compared(worked: Worked, joint: Joint) -> tuple[list[str], list[str]]:
    """A tested mass beside the estimate: what is told, and what is to be looked at again."""
    tested = joint.charge.entered
    if tested is None:
        return [], []
    least, most = joint.model_pressure(tested)
    told = [
        f"{powder(worked, tested)} threw it clear; by the model that is {worked.ends(Spread(least, least, most), BAY_PRESSURE)} "
        "in the bay."
    ]
    if most > separation.MOST_PRESSURE:
        return told, ["More than is computed here: ask a certified flyer."]
    if joint.tested_share is None or isinstance(joint.mass, Refusal):
        return told, []
    told.append(f"It is {worked.show(joint.tested_share, NUMBER)} times the estimate.")
    if joint.tested_share > FAR:
        return told, [
            "That is far above it: a leak or a tight joint would explain it, and so would a wrong volume or pull."
        ]
    if tested < joint.mass.low:
        return told, [
            f"That is below all of it, {worked.range(joint.mass, at_least(CHARGE_MASS))}. It did its work on the ground; what flies is never below "
            "the estimate."
        ]
    return told, []


def powder(worked: Worked, mass: float) -> str:
    """A mass of powder, never below it: what flies is no smaller than what was found."""
    return worked.at_least(mass, CHARGE_MASS)


def pins_check(worked: Worked, joint: Joint) -> Check:
    if not joint.pins:
        return PINS.hold("No pins: friction alone holds it until its charge fires.")
    if joint.pins < known("shear_pins").low:
        usual = sentence("shear_pins", worked.rig.units)
        return PINS.warn(
            f"One pin holds the joint on one side, and it can tilt and jam: {usual}.", source=cited("shear_pins")
        )
    return PINS.hold(f"{counted(joint.pins, "pin")}, evenly spaced round the tube.")


def backup_timing(worked: Worked, charge: Charge) -> str:
    """When the second charge fires, seen from the first."""
    later = f"{worked.show(charge.backup_later, TIME)} later" if charge.backup_later else ""
    lower = f"{worked.show(charge.backup_drop, HEIGHT)} lower" if charge.backup_drop > 0 else ""
    return " and ".join(part for part in (lower, later) if part)


def backup_check(worked: Worked, joint: Joint) -> Check:
    """Of a second charge: later or lower than the first, and larger than what was tested."""
    charge, units = joint.charge, worked.rig.units
    if charge.backup_drop < 0:
        return BACKUP.warn("It would fire above the first charge, which then is the backup: set it lower.")
    if charge.at_once:
        return BACKUP.warn(
            f"Both may fire at once, into the same bay, and loads count on it (less than {worked.show(AT_ONCE, TIME)} apart, "
            f"or no better than a motor keeps time). Later or lower: {sentence('backup_delay', units)}.",
            source=f"{OURS} {cited('backup_delay')}",
        )
    told = [f"It fires {backup_timing(worked, charge)}."]
    usual, source = f"usual: {sentence('backup_charge', units)}", f"{cited('backup_charge')} {OURS}"
    if charge.backup_mass is None:
        return BACKUP.warn(f"{told[0]} Not weighed yet; {usual}.", source=source)
    _, most = joint.model_pressure(charge.backup_mass)
    if most > separation.MOST_PRESSURE:
        pressures = (
            f"{worked.at_least(most, BAY_PRESSURE)}, above the {worked.at_most(separation.MOST_PRESSURE, BAY_PRESSURE)}"
        )
        return BACKUP.fail(f"{told[0]} By the model it gives up to {pressures} computed here: ask a certified flyer.")
    if charge.backup_more is None:
        return BACKUP.hold(f"{told[0]} {powder(worked, charge.backup_mass)}; {usual}.", source=source)
    # too little and too much are told on their own side of what is usual
    side = worked.at_least if not 0 <= charge.backup_more <= known("backup_charge").high else worked.at_most
    more = side(abs(charge.backup_more), SHARE)
    told.append(f"It is {more} {'larger' if charge.backup_more >= 0 else 'smaller'} than what was tested; {usual}.")
    if charge.backup_more < 0:
        return BACKUP.warn(f"{' '.join(told)} What did not part it will not be parted by less.", source=source)
    if charge.backup_more < BARELY:
        advice = "What did not part it will hardly be parted by so little more."
        return BACKUP.warn(f"{' '.join(told)} {advice}", source=source)
    if charge.backup_more > known("backup_charge").high:
        return BACKUP.warn(f"{' '.join(told)} See that bulkhead, cord and anchors bear so much.", source=source)
    return BACKUP.hold(" ".join(told), source=source)


def delay_check(worked: Worked, joint: Joint) -> Check:
    """Of a motor's own charge: whether the plan counts on its tolerance."""
    assert joint.charge.delay_error is not None
    planned = worked.rig.number("flight.delay")
    error, taken = worked.at_least(joint.charge.delay_error, TIME), worked.at_most(planned, TIME)
    told, source = f"It may fire {error} early or late: {sentence('motor_delay', worked.rig.units)}.", cited("motor_delay")
    if planned < joint.charge.delay_error:
        return DELAY.warn(f"{told} The rig says {taken}: loads and drift count on {error} all the same.", source=source)
    return DELAY.hold(f"{told} The rig counts on {worked.at_least(planned, TIME)}.", source=source)


def checks(worked: Worked, joint: Joint) -> tuple[Check, ...]:
    charge = joint.charge
    found = [hold_check(worked, joint), pressure_check(worked, joint), pins_check(worked, joint)]
    if charge.weighed:
        found.append(domain_check(worked, joint))
    if charge.fired:
        found.append(ground_check(worked, joint))
    if charge.kind == MOTOR:
        found.append(delay_check(worked, joint))
    if charge.backed_up:
        found.append(backup_check(worked, joint))
    return tuple(found)


# --- what else is said ---


def ladder_table(worked: Worked, joint: Joint) -> Table:
    return Table(
        "Ground-test ladder: start low, one step at a time. What flies threw everything clear to the cord's end twice running",
        ("Test", "Share of the estimate", "Black powder", "Pressure by the model"),
        tuple(
            (
                str(i),
                worked.show(rung.share, SHARE),
                powder(worked, rung.mass),
                worked.ends(Spread(rung.least, rung.least, rung.most), BAY_PRESSURE),
            )
            for i, rung in enumerate(joint.ladder, 1)
        ),
    )


def working(worked: Worked, joint: Joint) -> tuple[Working, ...]:
    found = []
    if joint.charge.there:
        found += [pressure_working(worked, joint), throwing_working(worked, joint), usual_working(worked, joint)]
        found += [volume_working(worked, joint), greatest_working(worked, joint)]
    if joint.charge.weighed:
        found.append(mass_working(worked, joint))
    found.append(
        Working(
            "Pull on the way up",
            "pressure left in the bay × area + mass of what lies forward × slowing",
            f"{worked.at_least(joint.trapped, FORCE)} + {worked.at_least(joint.running_on, FORCE)}",
            "US Standard Atmosphere, 1976; a vented bay by steady flow through a sharp-edged hole, discharge 0.6",
        )
    )
    if joint.jolts:
        found.append(jolts_working(worked, joint))
    found.append(pins_working(worked, joint))
    return tuple(found)


def jolts_working(worked: Worked, joint: Joint) -> Working:
    """What another bay's opening does to this joint."""
    told = "; ".join(f"{one.cause}: {worked.at_least(one.pull, FORCE)}" for one in joint.jolts)
    return Working(
        "Pull from the bay that opens before",
        "jerk of its cord × m beyond this joint / m it brings up short; opening × 2 × m beyond / whole mass",
        f"{told}; with {worked.at_least(joint.trapped, FORCE)} of pressure left",
        "Newton's second law: what lies beyond is slowed as the rest is; an opening put on at once counts double (mechanics)",
    )


def pins_working(worked: Worked, joint: Joint) -> Working:
    pull, friction = worked.at_least(joint.pull, FORCE), worked.show(joint.friction, FORCE)
    pin, factor = worked.at_most(joint.weakest_pin, FORCE), digits(separation.HOLD_FACTOR)
    scatter = worked.show(separation.PIN_SCATTER, SHARE)
    return Working(
        "Pins that hold it",
        f"n = {factor} × (largest pull − pull to part / {factor}) / weakest pin, whole ones up, two or none",
        f"{factor} × ({pull} − {friction} / {factor}) / {pin}: {counted(joint.pins_needed, "pin")}",
        f"statics; factor our choice; scatter of {scatter} taken off; {practice('shear_pins', worked.rig.units)}",
    )


def throwing_working(worked: Worked, joint: Joint) -> Working:
    show = worked.show
    energy, lost = show(joint.clearing_energy, ENERGY), show(joint.lost, ENERGY)
    stroke, volume = show(joint.stroke, LENGTH), show(joint.bay.free_volume.low, VOLUME)
    clear = show(separation.CLEAR_SPEED, SPEED)
    behind = "picked up at one blow" if joint.bay.charge_above else "driven out by the gas behind them"
    return Working(
        "Pressure that throws everything clear",
        "(p0 + Δp)·V·(1 − (V / (V + A·s))^0.4) / 0.4 − p0·A·s = energy of parting + friction × s + pins × their thickness",
        f"{energy} + {lost} over s = {stroke} from V = {volume}: {worked.at_least(joint.throwing_pressure, BAY_PRESSURE)}",
        f"our model: gas that grows without heat (ratio 1.4, less work than at constant temperature); {show(joint.contents, MASS)} "
        f"of contents {behind}, dragged out against their own weight over the bay's depth, and then still {clear} apart. No work "
        "is counted after the shoulder has left",
    )


def usual_working(worked: Worked, joint: Joint) -> Working:
    force = joint.usual_force
    tube = worked.show(joint.bay.tube, LENGTH)
    return Working(
        "Least pressure that is usual",
        practice("pressure_floor", worked.rig.units),
        f"{worked.at_least(joint.usual_pressure, BAY_PRESSURE)} in {tube}, {worked.at_least(force, FORCE)} on the bulkhead",
        f"falls as 1/D between the two diameters; between rules of thumb: {practice('bay_pressure', worked.rig.units)}",
    )


def greatest_working(worked: Worked, joint: Joint) -> Working:
    pressure, why = joint.greatest
    return Working(
        "Greatest pressure that may come up",
        "largest of: wanted or estimated; high end of its mass, tested mass and backup, each in the least volume; both at once",
        f"{worked.at_least(pressure, BAY_PRESSURE)}, {why}: {worked.at_least(joint.push, FORCE)} on the bulkhead",
        f"m·R·T / V; both count together when less than {worked.show(AT_ONCE, TIME)} apart (our choice)",
    )


def pressure_working(worked: Worked, joint: Joint) -> Working:
    def show(force: float) -> str:
        return worked.at_least(force, FORCE)

    factor, scatter = digits(separation.SHEAR_FACTOR), digits(1 + separation.PIN_SCATTER)
    resists = f"{show(joint.grip)} + {joint.pins} × {show(joint.pin_load.high)} × {scatter}"
    tube, needed = worked.show(joint.bay.tube, LENGTH), worked.at_least(joint.needed_pressure, BAY_PRESSURE)
    return Working(
        "Pressure that parts the joint",
        f"Δp = {factor} × (pull to part + pins × shear load × {scatter}) / (π·D²/4)",
        f"{factor} × ({resists}) / ({tube} tube) = {needed}",
        f"statics; factor our choice; pin {joint.pin.name}: {joint.pin.shear.cited}; scatter "
        f"{worked.show(separation.PIN_SCATTER, SHARE)} or more, test your own",
    )


def volume_working(worked: Worked, joint: Joint) -> Working:
    volume = joint.bay.free_volume
    return Working(
        "Free volume",
        "tube volume without shoulder, less what is packed",
        f"{worked.show(volume.low, VOLUME)} with all bulk taken off to {worked.show(volume.high, VOLUME)} with only solid "
        "matter taken off: gas fills the gaps between folds",
        "from the packing stack",
    )


def mass_working(worked: Worked, joint: Joint) -> Working:
    told = (
        "withheld, so small a pinch loses most of its heat to the wall"
        if joint.thin
        else "refused, outside what is computed here"
        if isinstance(joint.mass, Refusal)
        else worked.ends(joint.mass, at_least(CHARGE_MASS))
    )
    return Working(
        "Mass of black powder",
        "m = Δp·V / (R·T)",
        f"{told}, R·T = {digits(separation.GAS_ENERGY / 1000)} kJ/kg",
        "the gas model of published amateur guidance, 22.16 ft·lbf/(lb·°R) at 3307 °R (memory, one rounded form read): an "
        "effective gas, not a measured one",
    )


def notes(worked: Worked, key: str) -> tuple[str, ...]:
    joint, told = worked.joints[key], []
    if joint.charge.weighed and not isinstance(joint.mass, Refusal):
        told.append(
            "The primary is the smallest charge that threw everything clear to the cord's end twice running, never below the "
            f"estimate. The backup is larger: {practice('backup_charge', worked.rig.units)}. Where the top of the ladder does "
            "not throw everything clear, stop: a leak, a tight joint or a wrong volume is looked for, not more powder."
        )
    unknown = [one for one in worked.rig.way.bays[: worked.rig.way.bays.index(key)] if worked.joints[one].jerk is None]
    if unknown and worked.rig.way.tied:
        told.append(
            f"No charge parts the {worked.title(unknown[0])}'s joint, so how hard its cord comes tight, and pulls at this joint, "
            "is not worked out here."
        )
    if joint.charge.kind == MOTOR:
        told.append("No mass of powder is given for a motor's own charge: nobody measures it out.")
    if joint.charge.kind == GAS:
        told.append("No mass is given for another gas: its maker says what gives that pressure in that volume.")
    return tuple(told)


def summary(worked: Worked, joint: Joint) -> str:
    charge, pressure = joint.charge, worked.at_least(joint.pressure, BAY_PRESSURE)
    if not charge.there:
        return f"A pull of up to {worked.at_least(joint.resists, FORCE)} opens it; no charge of its own does."
    if charge.kind == MOTOR:
        error = worked.at_least(charge.delay_error or 0.0, TIME)
        return f"The motor's own charge must give {pressure}; it may fire {error} early or late."
    if charge.kind == GAS:
        volume = worked.range(joint.bay.free_volume, VOLUME)
        return f"{pressure} in {volume} of free volume parts the joint and throws everything clear."
    if joint.thin:
        return f"It takes {pressure}, in so small a volume that no mass of black powder is given: only a ground test tells."
    if isinstance(joint.mass, Refusal):
        return "Outside what is computed here: no mass is given."
    return (
        f"{pressure} parts the joint and throws everything clear; the estimate a ground test starts from is, in black powder, "
        f"{worked.range(joint.mass, at_least(CHARGE_MASS))}."
    )


def times(worked: Worked, joint: Joint) -> str:
    """How well it holds before and parts then, in a sentence."""
    rising, held, parted = joint.rising >= joint.jolted, joint.hold_times, joint.part_times
    when = "what pulls at it on the way up" if rising else "the jolt from the bay that opens before"
    told = f"Holds {worked.at_most(held, NUMBER)} times {when}" if held is not None else "Nothing pulls at it before"
    then = f", parts with {worked.at_most(parted, NUMBER)} times what may resist" if parted is not None else ""
    return f"{told}{then}."


def acting(worked: Worked, joint: Joint) -> tuple[When, ...]:
    """What holds and what pulls before it is to part, and what resists and pushes then."""

    def force(name: str, newtons: float, acts: Literal["holds", "pulls", "pushes"], kind: Kind) -> Force:
        return Force(name, worked.show(newtons, kind), newtons, acts)

    least, most = at_least(FORCE), at_most(FORCE)
    before = [force("friction", joint.friction, "holds", most)]
    if joint.pins:
        before.append(force(f"{counted(joint.pins, "pin")}, weakest", joint.pins_hold, "holds", most))
    before.append(force("runs on forward", joint.running_on, "pulls", least))
    if joint.trapped > 0:
        before.append(force("air shut in", joint.trapped, "pulls", least))
    if joint.jolts:
        before.append(force("jolt before", joint.jolts[0].pull, "pulls", least))
    then = [force("resists at most", joint.resists, "holds", least)]
    if joint.charge.there and joint.pressure <= separation.MOST_PRESSURE:
        by_motor = joint.charge.kind == MOTOR
        name, kind = ("it must push", least) if by_motor else ("gas pushes", most)
        then.append(force(name, joint.pressed, "pushes", kind))
    return When("before it is to part", tuple(before)), When("when it parts", tuple(then))


def drawn(worked: Worked, joint: Joint) -> Drawing:
    bay, groups = joint.bay, acting(worked, joint)
    told = f"{worked.show(bay.tube, LENGTH)} inside, {worked.show(bay.shoulder, LENGTH)} of shoulder"
    forces = "; ".join(f"{one.name} {one.acts} {one.size}" for when in groups for one in when.forces)
    return joint_section(
        Joined(DRAWN_WALL * bay.tube, bay.tube, bay.shoulder, joint.pins, joint.pin.diameter.value),
        groups,
        worked.writer(LENGTH),
        f"The mouth of the bay, {told}, {counted(joint.pins, "pin")}. {times(worked, joint)} Forces: {forces}.",
    )


def compute(worked: Worked, key: str) -> Answer:
    joint = worked.joints[key]
    charge = joint.charge
    mass = joint.mass if charge.weighed and isinstance(joint.mass, Spread) else None
    pushed = charge.there and (isinstance(joint.model_mass, Spread) or not charge.weighed)
    outputs: dict[str, Value | None] = {
        "needed_pressure": joint.needed_pressure if charge.there else None,
        "throwing_pressure": joint.throwing_pressure if charge.there else None,
        "usual_pressure": joint.usual_pressure if charge.there else None,
        "pressure": joint.pressure if pushed else None,
        "greatest_pressure": joint.greatest[0] if charge.there else None,
        "free_volume": joint.bay.free_volume,
        "mass": mass,
        "force": joint.push if charge.there else None,
        "pins_needed": joint.pins_needed,
        "tested_share": joint.tested_share,
        "backup_more": charge.backup_more,
        "delay_error": charge.delay_error,
        "holds": joint.holds,
        "trapped": joint.trapped,
        "running_on": joint.running_on,
        "jolted": joint.jolted if joint.jolts else None,
        "pin_load": joint.pin_load,
    }
    cautions = (*CAUTIONS, GAS_CAUTION) if charge.kind == GAS else CAUTIONS if charge.there else (NO_CHARGE_CAUTION,)
    return Answer(
        outputs,
        f"{times(worked, joint)} {summary(worked, joint)}",
        Later(lambda: checks(worked, joint)),
        Later(lambda: working(worked, joint)),
        Later(lambda: (drawn(worked, joint),)),
        notes=Later(lambda: notes(worked, key)),
        tables=Later(lambda: (ladder_table(worked, joint),)) if mass else (),
        cautions=cautions,
    )


PARTS_OF_IT = ("rocket.mass", "nose.mass")
CANOPY_FIELDS = (
    *("family", "sides", "across", "size", "slope", "height_ratio", "panel_ratio", "hole_ratio", "vent", "area"),
    *("cloth", "cloth_mass", "seam", "mass"),
)
# Of a bay, whatever it comes out of: a ground test of the starting rig counts only while none of it is the reader's.
RESTS = (
    *(
        "canopy.rate",
        "lines.material",
        "lines.end",
        "pack.density_most",
        "pack.clearance",
        "pack.shortening",
        "pack.protector",
        "pack.below",
    ),
    *("pack.fill", "pack.line_turns", "pack.cord_turns", "cord.material", "cord.end", "cord.allowance", "cord.link"),
    *("cord.swivel", "cord.anchor", "cord.nose_anchor", "cord.bulkhead"),
)

SEPARATION = Calculator(
    "separation",
    "Part the joint",
    (
        "rig.units",
        *PARTS_OF_IT,
        "rocket.main_bay",
        "middle.mass",
        "bay.",
        *(f"canopy.{name}" for name in CANOPY_FIELDS),
        *("drogue.canopy.cd_high", "drogue.canopy.cd_measured_low", "drogue.canopy.cd_measured_high"),  # what the bay that opens first does to the other joint
        "lines.length",
        "lines.diameter",
        "lines.mass",
        "drogue.lines.rating",
        "drogue.lines.stretch",
        "pack.density",
        "pack.layout",
        "pack.beside",
        "pack.protector_depth",
        "pack.device",
        "cord.layout",
        "cord.length",
        "cord.gap",
        "cord.width",
        "cord.thickness",
        "drogue.cord.rating",
        "drogue.cord.stretch",
        *(f"{key}.{name}" for key in (MAIN, DROGUE) for name in RESTS),
        "joint.",
        "charge.",
        "site.elevation",
        "site.warmer",
        "site.pressure",
        "flight.way",
        "flight.apogee",
        "flight.main_height",
        "flight.delay",
        "flight.climb",
        "flight.slowing",
        "flight.forward_speed",
    ),
    (
        Output("needed_pressure", "Pressure that parts it, with margin", at_least(BAY_PRESSURE)),
        Output("throwing_pressure", "Pressure that throws all clear", at_least(BAY_PRESSURE), leads=False),
        Output("usual_pressure", "Least pressure that is usual", at_least(BAY_PRESSURE), leads=False),
        Output("pressure", "Pressure worked with", at_least(BAY_PRESSURE)),
        Output("greatest_pressure", "Greatest pressure that may come up", at_least(BAY_PRESSURE)),
        Output("free_volume", "Free volume", VOLUME),
        Output("mass", "Black powder, first estimate", at_least(CHARGE_MASS)),
        Output("force", "Greatest force on the bulkhead", at_least(FORCE)),
        Output("pins_needed", "Pins that hold it", COUNT),
        Output("tested_share", "Your test over the estimate", NUMBER),
        Output("backup_more", "Backup larger than the test by", at_most(SHARE)),
        Output("delay_error", "Motor fires early or late by", at_least(TIME)),
        Output("holds", "Joint holds", at_most(FORCE), leads=False),
        Output("trapped", "Pull of pressure left in the bay", at_least(FORCE), leads=False),
        Output("running_on", "Pull of what runs on forward", at_least(FORCE), leads=False),
        Output("jolted", "Pull from the bay that opens before", at_least(FORCE), leads=False),
        Output("pin_load", "Shear load of one pin", FORCE, leads=False),
    ),
    compute,
    (HOLDS, PARTS, PINS, DOMAIN, TEST, DELAY, BACKUP),
    each="bay",
    asks=("joint.pins", "joint.friction", "charge.tested"),
)
