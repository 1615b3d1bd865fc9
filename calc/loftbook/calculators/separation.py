"""Parting a joint: pressure, pins, and a ground-test ladder. Energetic material: cautions first, refusal outside."""

from loftbook.answer import Answer, Calculator, Check, CheckKind, Output, Table, Value, Working
from loftbook.drawing.joints import joint_section
from loftbook.drawing.svg import Drawing
from loftbook.errors import Refusal
from loftbook.physics import separation
from loftbook.physics.spread import Spread
from loftbook.quantity import BAY_PRESSURE, COUNT, FORCE, HEIGHT, LENGTH, MASS, NUMBER, SHARE, TIME, VOLUME, digits
from loftbook.rig.bay_fields import GAS, MOTOR
from loftbook.tables import known, practice
from loftbook.worked.joint import Charge, Joint
from loftbook.worked.worked import Worked

CAUTIONS = (
    "Black powder is energetic material: it burns, deafens and blinds. Follow local law on having, storing and using it.",
    "These figures are where a ground test starts. They are never a substitute for one: start low, step up, stop at the "
    "first that parts it with authority.",
    "Test in the open with remote firing, eyes and ears covered, nobody in front of or behind the rocket, electronics "
    "disarmed until everyone is clear; after a misfire wait at least 60 seconds before anyone goes near.",
    "The range safety officer and certified flyers decide; without such a person beside you, do not do this.",
)
GAS_CAUTION = "Gas under pressure throws parts as hard as powder does: the same distance, the same test, the same care."
NO_CHARGE_CAUTION = (
    "A joint that opens early or late turns the rocket into a falling mass. The range safety officer and certified "
    "flyers decide."
)

HOLDS = CheckKind(
    "joint-holds", "Joint holds on the way up", ("joint.pins", "joint.vent", "joint.friction", "flight.slowing"), gate=True
)
PARTS = CheckKind("joint-parts", "Joint parts at the charge", ("charge.pressure", "joint.pins", "joint.friction"), gate=True)
DOMAIN = CheckKind("charge-domain", "Charge", ("charge.pressure", "bay.depth", "joint.pins"), gate=True)
TEST = CheckKind("ground-test", "Ground test", ("charge.tested", "charge.repeats", "charge.test_pins"), gate=True)
BACKUP = CheckKind("backup", "Backup charge", ("charge.backup_mass", "charge.backup_later", "charge.backup_height"), gate=True)
PINS = CheckKind("pins-two", "Pins", ("joint.pins",), gate=True)
DELAY = CheckKind("motor-delay", "Delay of the motor", ("flight.delay", "charge.delay"), gate=True)

NEARBY = (0.5, 1.5)  # a test between these shares of the estimate bears it out (our choice)
DRAWN_WALL = 1.04  # outside over inside of the tube, as drawn


# --- checks ---


def hold_check(worked: Worked, joint: Joint) -> Check:
    pull, holds = worked.show(joint.pull, FORCE), worked.show(joint.holds, FORCE)
    told = f"Up to {pull} pulls at the joint on the way up; it holds {holds}."
    if joint.holds < joint.pull:
        return HOLDS.fail(f"{told} It parts early: vent the bay or add pins.")
    if joint.holds < separation.HOLD_FACTOR * joint.pull:
        return HOLDS.warn(f"{told} Less than {digits(separation.HOLD_FACTOR)} times (our choice).")
    return HOLDS.hold(told)


def pressure_check(worked: Worked, joint: Joint) -> Check:
    chosen, needed = (worked.show(pressure, BAY_PRESSURE) for pressure in (joint.pressure, joint.needed_pressure))
    if not joint.charge.there:
        pull = worked.show(joint.resists, FORCE)
        return PARTS.warn(
            f"Nothing of its own parts it: that takes a pull of up to {pull}. What pulls it open is not worked out here: "
            "try it on the ground, packed as it will fly."
        )
    if joint.pressure > separation.MOST_PRESSURE:
        most = worked.show(separation.MOST_PRESSURE, BAY_PRESSURE)
        return PARTS.fail(f"It would take {chosen}, more than the {most} computed here: fewer pins, or another way.")
    if joint.charge.kind == MOTOR:
        return motor_check(worked, joint)
    if joint.pressure < joint.needed_pressure:
        told = f"{chosen} is less than the {needed} that parts it with margin."
        parts_at_all = joint.pressure >= joint.needed_pressure / separation.SHEAR_FACTOR
        return PARTS.warn(told) if parts_at_all else PARTS.fail(told)
    return PARTS.hold(
        f"{chosen} is at least the {needed} that parts friction and pins with {digits(separation.SHEAR_FACTOR)} times "
        "margin (our choice)."
    )


def motor_check(worked: Worked, joint: Joint) -> Check:
    """Of a motor's own charge: how hard it pushes is not known here."""
    needed = worked.show(joint.needed_pressure, BAY_PRESSURE)
    told = (
        f"The joint needs {needed} in {worked.range(joint.bay.free_volume, VOLUME)} of free volume, margin counted in."
    )
    if joint.charge.low:
        return PARTS.fail("A motor's own charge fires by time, near the top, and this joint must open low down.")
    if joint.pins:
        return PARTS.warn(
            f"{told} A motor's own charge is made to part a friction fit, not pins (common practice, no source), and how "
            "hard it pushes is not known here: take the pins out, or use a charge of your own."
        )
    if joint.needed_pressure > known("bay_pressure").high:
        return PARTS.warn(
            f"{told} That is much for a motor's own charge: ease the joint until it slides apart by hand."
        )
    return PARTS.hold(
        f"{told} How hard the motor's charge pushes is not known here: the joint must slide apart by hand."
    )


def domain_check(joint: Joint) -> Check:
    if isinstance(joint.mass, Refusal):
        return DOMAIN.fail(f"No figure is given. {joint.mass.faults[0].message}")
    return DOMAIN.hold("Inside what is computed here; a starting point for a ground test.")


def ground_check(worked: Worked, joint: Joint) -> Check:
    """What the ground tests say, of a charge that electronics fire."""
    charge = joint.charge
    if not charge.proved:
        return TEST.warn("None entered yet. No flight without one.")
    told, doubts = [], []
    if charge.tested is not None:
        least, most = joint.model_pressure(charge.tested)
        told.append(
            f"{worked.show(charge.tested, MASS)} parted it; by the model that is {worked.show(least, BAY_PRESSURE)} to "
            f"{worked.show(most, BAY_PRESSURE)} in the bay."
        )
        if joint.tested_share is None or most > separation.MOST_PRESSURE:
            doubts.append("Outside what is computed here: ask a certified flyer.")
        else:
            told.append(f"It is {digits(joint.tested_share)} times the estimate.")
            if not NEARBY[0] <= joint.tested_share <= NEARBY[1]:
                doubts.append("Far from it: look for a leak, a tight joint, a wrong volume. Fly what was tested.")
    if charge.test_day:
        told.append(f"Day of the last test: {charge.test_day}.")
    if charge.test_pins is not None and charge.test_pins != joint.pins:
        doubts.append(f"It sheared {counted(charge.test_pins)}, and {counted(joint.pins)} will fly: test that.")
    if charge.repeats < 2:
        doubts.append("Once may be luck: repeat it until two in a row threw everything clear.")
    else:
        told.append(f"{charge.repeats} in a row.")
    if doubts:
        return TEST.warn(" ".join((*told, *doubts)))
    return TEST.hold(" ".join((*told, "Fly what was tested, packed the same way.")))


def counted(pins: int) -> str:
    return f"{pins} pin{'' if pins == 1 else 's'}" if pins else "no pins"


def pins_check(worked: Worked, joint: Joint) -> Check:
    if not joint.pins:
        return PINS.hold("No pins: friction alone holds it on the way up.")
    if joint.pins == 1:
        usual = practice("shear_pins", worked.rig.units)
        return PINS.warn(f"One pin holds the joint on one side, and it can tilt and jam: {usual}.")
    return PINS.hold(f"{counted(joint.pins)}, evenly spaced round the tube.")


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
            f"Both fire at the same instant, into the same bay. Later or lower: {practice('backup_delay', units)}."
        )
    told = [f"It fires {backup_timing(worked, charge)}."]
    usual = f"usual: {practice('backup_charge', units)}"
    if charge.backup_mass is None:
        return BACKUP.warn(f"{told[0]} Not weighed yet; {usual}.")
    _, most = joint.model_pressure(charge.backup_mass)
    if most > separation.MOST_PRESSURE:
        pressures = (
            f"{worked.show(most, BAY_PRESSURE)}, above the {worked.show(separation.MOST_PRESSURE, BAY_PRESSURE)}"
        )
        return BACKUP.fail(f"{told[0]} By the model it gives up to {pressures} computed here: ask a certified flyer.")
    if charge.backup_more is None:
        return BACKUP.hold(f"{told[0]} {worked.show(charge.backup_mass, MASS)}; {usual}.")
    more = worked.show(abs(charge.backup_more), SHARE)
    told.append(f"It is {more} {'larger' if charge.backup_more >= 0 else 'smaller'} than what was tested; {usual}.")
    if charge.backup_more < 0:
        return BACKUP.warn(f"{' '.join(told)} What did not part it will not be parted by less.")
    if charge.backup_more > known("backup_charge").high:
        return BACKUP.warn(f"{' '.join(told)} See that bulkhead, cord and anchors bear so much.")
    return BACKUP.hold(" ".join(told))


def delay_check(worked: Worked, joint: Joint) -> Check:
    """Of a motor's own charge: whether the plan counts on its tolerance."""
    assert joint.charge.delay_error is not None
    planned = worked.rig.number("flight.delay")
    error, taken = (worked.show(time, TIME) for time in (joint.charge.delay_error, planned))
    told = f"It may fire {error} early or late: {practice('motor_delay', worked.rig.units)}."
    if planned < joint.charge.delay_error:
        return DELAY.warn(f"{told} The rig says {taken}: put in at least {error}, so that loads and drift count on it.")
    return DELAY.hold(f"{told} The rig counts on {taken}.")


def checks(worked: Worked, joint: Joint) -> tuple[Check, ...]:
    charge = joint.charge
    found = [hold_check(worked, joint), pressure_check(worked, joint), pins_check(worked, joint)]
    if charge.weighed:
        found.append(domain_check(joint))
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
        "Ground-test ladder: start low, one step at a time, stop at the first that parts it with authority",
        ("Test", "Share of the low estimate", "Black powder", "Pressure by the model"),
        tuple(
            (
                str(i),
                f"{digits(rung.share * 100)} %",
                worked.show(rung.mass, MASS),
                f"{worked.show(rung.least, BAY_PRESSURE)} to {worked.show(rung.most, BAY_PRESSURE)}",
            )
            for i, rung in enumerate(joint.ladder, 1)
        ),
    )


def working(worked: Worked, joint: Joint) -> tuple[Working, ...]:
    found = []
    if joint.charge.there:
        found += [pressure_working(worked, joint), volume_working(worked, joint)]
    if joint.charge.weighed:
        found.append(mass_working(worked, joint))
    found.append(
        Working(
            "Pull on the way up",
            "pressure left in the bay × area + mass of what lies forward × slowing",
            f"{worked.show(joint.trapped, FORCE)} + {worked.show(joint.running_on, FORCE)}",
            "US Standard Atmosphere, 1976; a vented bay by steady flow through a sharp-edged hole, discharge 0.6",
        )
    )
    return tuple(found)


def pressure_working(worked: Worked, joint: Joint) -> Working:
    def show(force: float) -> str:
        return worked.show(force, FORCE)

    resists = f"{show(joint.friction)} + {joint.pins} × {show(joint.pin_load.high)} × 1.2"
    tube, needed = worked.show(joint.bay.tube, LENGTH), worked.show(joint.needed_pressure, BAY_PRESSURE)
    return Working(
        "Pressure that parts the joint",
        "Δp = 1.5 × (pull to part + pins × shear load × 1.2) / (π·D²/4)",
        f"1.5 × ({resists}) / ({tube} tube) = {needed}",
        f"statics; factor our choice; pin {joint.pin.name}: {joint.pin.shear.cited}; scatter 20 % or more, test your own",
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
        "refused, outside what is computed here"
        if isinstance(joint.mass, Refusal)
        else f"{worked.show(joint.mass.low, MASS)} to {worked.show(joint.mass.high, MASS)}"
    )
    return Working(
        "Mass of black powder",
        "m = Δp·V / (R·T)",
        f"{told}, R·T = {digits(separation.GAS_ENERGY / 1000)} kJ/kg",
        "the gas model of published amateur guidance, 22.16 ft·lbf/(lb·°R) at 3307 °R (memory, one rounded form read): an "
        "effective gas, not a measured one",
    )


def notes(worked: Worked, key: str) -> tuple[str, ...]:
    joint, units, told = worked.joints[key], worked.rig.units, []
    if joint.charge.weighed:
        thin, high = known("thin_charge"), known("high_charge")
        if not isinstance(joint.mass, Refusal) and joint.mass.low < thin.low:
            told.append(f"So small a charge may need more than the model says: {practice('thin_charge', units)}.")
        if joint.highest > high.high:
            told.append(f"{practice('high_charge', units).capitalize()}.")
    if key != worked.rig.way.bays[0]:
        told.append(
            "This joint opens last. When an earlier cord comes tight, and while the rocket hangs under a first canopy, what "
            "lies beyond this joint pulls at it, too; that is not in these figures."
        )
    if joint.charge.kind == MOTOR:
        told.append("No mass of powder is given for a motor's own charge: nobody measures it out.")
    if joint.charge.kind == GAS:
        told.append("No mass is given for another gas: its maker says what gives that pressure in that volume.")
    return tuple(told)


def summary(worked: Worked, joint: Joint) -> str:
    charge, needed = joint.charge, worked.show(joint.needed_pressure, BAY_PRESSURE)
    if not charge.there:
        return f"A pull of up to {worked.show(joint.resists, FORCE)} opens it; no charge of its own does."
    if charge.kind == MOTOR:
        error = worked.show(charge.delay_error or 0.0, TIME)
        return f"The motor's own charge must give {needed}; it may fire {error} early or late."
    if charge.kind == GAS:
        volume = worked.range(joint.bay.free_volume, VOLUME)
        return f"{worked.show(joint.pressure, BAY_PRESSURE)} in {volume} of free volume parts the joint."
    if isinstance(joint.mass, Refusal):
        return "Outside what is computed here: no mass is given."
    return (
        f"{worked.show(joint.pressure, BAY_PRESSURE)} parts the joint; the estimate a ground test starts from is "
        f"{worked.range(joint.mass, MASS)} of black powder."
    )


def drawn(worked: Worked, joint: Joint) -> Drawing:
    bay, pin = joint.bay, joint.pin.diameter.value
    told = f"{worked.show(bay.tube, LENGTH)} inside, {worked.show(bay.shoulder, LENGTH)} of shoulder"
    return joint_section(
        DRAWN_WALL * bay.tube,
        bay.tube,
        bay.shoulder,
        joint.pins,
        pin,
        lambda length: worked.show(length, LENGTH),
        f"The mouth of the bay, {told}, {counted(joint.pins)}.",
    )


def compute(worked: Worked, key: str) -> Answer:
    joint = worked.joints[key]
    charge = joint.charge
    mass = joint.mass if charge.weighed and isinstance(joint.mass, Spread) else None
    pushed = charge.there and (mass is not None or not charge.weighed)
    outputs: dict[str, Value | None] = {
        "needed_pressure": joint.needed_pressure if charge.there else None,
        "pressure": joint.pressure if pushed else None,
        "free_volume": joint.bay.free_volume,
        "mass": mass,
        "force": joint.push if pushed else None,
        "pins_needed": joint.pins_needed,
        "tested_share": joint.tested_share,
        "backup_more": charge.backup_more,
        "delay_error": charge.delay_error,
        "holds": joint.holds,
        "trapped": joint.trapped,
        "running_on": joint.running_on,
        "pin_load": joint.pin_load,
    }
    cautions = (*CAUTIONS, GAS_CAUTION) if charge.kind == GAS else CAUTIONS if charge.there else (NO_CHARGE_CAUTION,)
    return Answer(
        outputs,
        summary(worked, joint),
        checks(worked, joint),
        working(worked, joint),
        (drawn(worked, joint),),
        notes=notes(worked, key),
        tables=(ladder_table(worked, joint),) if mass else (),
        cautions=cautions,
    )


SEPARATION = Calculator(
    "separation",
    "Part the joint",
    (
        "rig.units",
        "rocket.main_bay",
        "nose.mass",
        "middle.mass",
        "bay.",
        "canopy.family",
        "canopy.sides",
        "canopy.across",
        "canopy.size",
        "canopy.slope",
        "canopy.height_ratio",
        "canopy.panel_ratio",
        "canopy.hole_ratio",
        "canopy.vent",
        "canopy.area",
        "canopy.cloth",
        "canopy.cloth_mass",
        "canopy.seam",
        "canopy.mass",
        "lines.length",
        "lines.diameter",
        "lines.mass",
        "pack.density",
        "pack.beside",
        "pack.protector_depth",
        "pack.device",
        "cord.layout",
        "cord.length",
        "cord.gap",
        "cord.width",
        "cord.thickness",
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
    ),
    (
        Output("needed_pressure", "Pressure that parts it, with margin", BAY_PRESSURE),
        Output("pressure", "Pressure worked with", BAY_PRESSURE),
        Output("free_volume", "Free volume", VOLUME),
        Output("mass", "Black powder, first estimate", MASS),
        Output("force", "Force on the bulkhead", FORCE),
        Output("pins_needed", "Pins to hold on the way up", COUNT),
        Output("tested_share", "Your test over the estimate", NUMBER),
        Output("backup_more", "Backup larger than the test by", SHARE),
        Output("delay_error", "Motor fires early or late by", TIME),
        Output("holds", "Joint holds", FORCE, leads=False),
        Output("trapped", "Pull of pressure left in the bay", FORCE, leads=False),
        Output("running_on", "Pull of what runs on forward", FORCE, leads=False),
        Output("pin_load", "Shear load of one pin", FORCE, leads=False),
    ),
    compute,
    (HOLDS, PARTS, PINS, DOMAIN, TEST, DELAY, BACKUP),
    each="bay",
)
