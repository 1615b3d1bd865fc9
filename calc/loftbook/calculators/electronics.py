"""The electronics: their static ports, what each unit is set to, and whether one failure leaves the other working."""

from collections.abc import Iterable
from textwrap import wrap

from loftbook.answer import Answer, Calculator, Check, CheckKind, Later, Output, Step, Table, Value, Working
from loftbook.drawing.svg import Drawing
from loftbook.drawing.wiring import WIDEST, Unit, wiring
from loftbook.quantity import COUNT, HEIGHT, LENGTH, TIME, VOLUME, counted, digits
from loftbook.tables import known, practice
from loftbook.tables.rows import spanned
from loftbook.worked.electronics import BACKUP, PRIMARY, Electronics, Firing
from loftbook.worked.worked import Worked

REDUNDANT = CheckKind(
    "electronics-redundant",
    "Electronics stand in for each other",
    ("electronics.units", "electronics.batteries", "electronics.switches"),
    gate=True,
)
PORTS = CheckKind("static-ports", "Static ports", ("electronics.ports",))

CAUTIONS = (
    "What is set here fires charges: set and try every unit with no charge connected, and switch it off before one is.",
    "A powered altimeter can fire at any moment. Switches are off and igniter leads shunted whenever a charge is in the "
    "rocket and it does not stand upright on the pad with people back; face and hands stay out of line.",
    "These settings are the rig's own numbers, no more: the maker's manual and the range safety officer come before them.",
)


SAME = "the same charges, by its own igniters"

# --- what is fired when ---


def fired(worked: Worked, firing: Firing) -> str:
    """`the drogue's charge`; the bay is named where there is more than one."""
    return firing.what if len(worked.rig.way.bays) == 1 else f"the {worked.title(firing.key)}'s {firing.what}"


def moment(worked: Worked, firing: Firing) -> str:
    """`at the top`, `at 200 m`, `1 s after the top`."""
    later = worked.show(firing.later, TIME)
    if firing.height is None:
        return f"{later} after the top" if firing.later else "at the top"
    height = worked.show(firing.height, HEIGHT)
    return f"{later} after {height}" if firing.later else f"at {height}"


def settings(worked: Worked, firings: Iterable[Firing]) -> str:
    return "; ".join(f"{fired(worked, one)} {moment(worked, one)}" for one in firings)


def _later(worked: Worked) -> str:
    """When a second unit fires what the first did not."""
    row = known("backup_delay")
    return f"{spanned(worked.show(row.low, TIME), worked.show(row.high, TIME))} later, or lower"


def _second(worked: Worked, electronics: Electronics) -> str:
    """What the second unit is set to; nothing where there is none."""
    if electronics.shares:
        return f"{SAME}, {_later(worked)}"
    return settings(worked, electronics.of_unit(BACKUP))


def settings_table(worked: Worked, electronics: Electronics) -> Table:
    rows = tuple((one.unit, fired(worked, one), moment(worked, one)) for one in electronics.firings)
    if electronics.shares:
        rows += ((BACKUP, SAME, _later(worked)),)
    return Table("What each unit is set to, heights above the field", ("Unit", "Fires or lets go", "When"), rows)


def breathing(worked: Worked, electronics: Electronics) -> tuple[str, ...]:
    """The ports in a few lines."""
    count, diameter = electronics.ports, worked.show(electronics.port_diameter, LENGTH)
    if count == 1:
        return counted(count, "static port"), diameter
    return counted(count, "static port"), f"{diameter} each", f"{digits(360 / count)}° apart"


def units(worked: Worked, electronics: Electronics) -> tuple[Unit, ...]:
    """Those there are, whatever each is for, with what they fire when."""
    count = electronics.units
    names = (PRIMARY, BACKUP, *(f"number {i}" for i in range(3, count + 1)))
    fires = {unit: [f"{fired(worked, one)} {moment(worked, one)}" for one in electronics.of_unit(unit)] for unit in names}
    if electronics.shares:
        fires[BACKUP] = [SAME, _later(worked)]
    return tuple(Unit(name, tuple(line for words in fires[name] for line in wrap(words, WIDEST))) for name in names[:count])


def _lives_by(electronics: Electronics) -> str:
    battery, switch = counted(electronics.batteries, "battery"), counted(electronics.switches, "switch")
    return f"{counted(electronics.units, 'altimeter')} with {battery} and {switch}."


def picture(worked: Worked, electronics: Electronics) -> Drawing:
    """Ports, and units with what they live by and fire."""
    lines = breathing(worked, electronics)
    told = f"{', '.join(lines)}; {_lives_by(electronics)}"
    both = (electronics.batteries, electronics.switches)
    return wiring(electronics.ports, lines, units(worked, electronics), *both, "Static ports, and what each altimeter lives by", told)


def _ports_seen(worked: Worked, electronics: Electronics) -> Drawing:
    lines = breathing(worked, electronics)
    return wiring(electronics.ports, lines, (), 0, 0, "Static ports, from the tube's end", f"{', '.join(lines)}.")


def _units_seen(worked: Worked, electronics: Electronics, *, fires: bool, name: str) -> Drawing:
    """Units with battery and open switch; with what they fire or without."""
    shown = units(worked, electronics)
    shown = shown if fires else tuple(Unit(unit.name, ()) for unit in shown)
    return wiring(0, (), shown, electronics.batteries, electronics.switches, name, _lives_by(electronics))


# --- checks ---


def redundant_check(electronics: Electronics) -> Check:
    units = electronics.units
    if not units:
        return REDUNDANT.fail(f"{len(electronics.firings)} to be fired or let go, and no altimeter to do it.")
    have = (
        f"{counted(units, 'altimeter')}, {counted(electronics.batteries, 'battery')}, "
        f"{counted(electronics.switches, 'switch')}."
    )
    doubts = []
    if electronics.backup_wanted and units < 2:
        doubts.append("A second charge wants an altimeter of its own: one that fails takes both charges with it.")
    if electronics.batteries < units:
        doubts.append("An altimeter that shares its battery fails with it: one battery for each.")
    if electronics.switches < units:
        doubts.append("An altimeter that shares its switch fails with it: one switch for each.")
    if doubts:
        return REDUNDANT.warn(f"{have} {' '.join(doubts)}")
    if electronics.shares:
        have += " No second charge is in the rig: each unit has an igniter of its own in the same charge."
    if units == 1 and electronics.alone:
        have += " If it fails, nothing opens."
    return REDUNDANT.hold(have)


def ports_check(worked: Worked, electronics: Electronics) -> Check:
    count = electronics.ports
    told = f"{count} of {worked.show(electronics.port_diameter, LENGTH)}."
    row = known("static_ports")
    if count < row.low:
        usual = f"{digits(row.low)} or {digits(row.high)} evenly round the tube"
        return PORTS.warn(f"{told} Wind across so few is taken for height: {usual} are usual.")
    return PORTS.hold(f"{told} Evenly round the tube, away from shoulders and fins.")


# --- steps ---


def steps(worked: Worked, electronics: Electronics) -> tuple[Step, ...]:
    """Nothing to do where there is no unit to do it with."""
    if not electronics.units:
        return ()
    return (
        power_step(worked, electronics),
        ports_step(worked, electronics),
        set_step(worked, electronics),
        off_step(worked, electronics),
    )


def power_step(worked: Worked, electronics: Electronics) -> Step:
    each = "the altimeter" if electronics.units == 1 else f"each of the {electronics.units} altimeters"
    return Step(
        "electronics-power",
        "Fresh batteries, measured",
        f"No charge, igniter or motor near. Give {each} a fresh battery, measure its voltage with the unit running, and "
        "tie it down so that no jolt pulls a wire off.",
        "Each voltage is at least what the unit's maker asks for, written down; no wire moves when you tug at it.",
        "A battery that sags is not flown. A unit that restarts when you shake it has a loose contact: mend it first.",
        _units_seen(worked, electronics, fires=False, name="A battery for each"),
    )


def ports_step(worked: Worked, electronics: Electronics) -> Step:
    diameter, volume = worked.show(electronics.port_diameter, LENGTH), worked.show(electronics.volume, VOLUME)
    return Step(
        "electronics-ports",
        "Static ports open",
        f"{counted(electronics.ports, 'hole')} of {diameter}, for {volume} of air in the bay: evenly round the tube, away "
        "from shoulders, fins and anything that stands out. Clear of burrs, paint and tape; the bay closed towards every charge.",
        "You see light through every port, and no gas of a charge can reach the bay.",
        "A port that is too small is drilled out, all of them alike. One that is much too large lets wind in: close it and "
        "drill a new one.",
        _ports_seen(worked, electronics),
    )


def set_step(worked: Worked, electronics: Electronics) -> Step:
    both = ((PRIMARY, settings(worked, electronics.of_unit(PRIMARY))), (BACKUP, _second(worked, electronics)))
    told = [f"{unit}: {words}" for unit, words in both if words]
    return Step(
        "electronics-set",
        "Set, and read back",
        f"Set the units. {'. '.join(part[0].upper() + part[1:] for part in told)}. Heights are above the field.",
        "Each unit, switched off and on again without a charge, tells you these very numbers.",
        "A number that differs is set again and read again. Never from memory, never on the pad.",
        _units_seen(worked, electronics, fires=True, name="What each is set to"),
    )


def off_step(worked: Worked, electronics: Electronics) -> Step:
    return Step(
        "electronics-off",
        "Everything off, leads shunted",
        f"Every switch off ({electronics.switches}), before anything is folded or packed near a charge. The bare ends of every igniter's leads are "
        "twisted together and stay so until they are connected.",
        "No light, no sound from any unit; every pair of leads twisted.",
        "A unit that cannot be switched off from outside does not fly: it would be live while you pack.",
        _units_seen(worked, electronics, fires=False, name="Every switch open"),
    )


def working(worked: Worked, electronics: Electronics) -> tuple[Working, ...]:
    row = known("static_ports")
    hole, volume = worked.show(row.number("hole"), LENGTH), worked.show(row.number("volume"), VOLUME)
    numbers = f"{hole} × √({worked.show(electronics.volume, VOLUME)} / ({electronics.ports} × {volume}))"
    return (
        Working(
            "Each static port",
            f"d = {hole} × √(V / (n × {volume}))",
            f"{numbers} = {worked.show(electronics.port_diameter, LENGTH)}",
            practice("static_ports", worked.rig.units),
        ),
    )


def compute(worked: Worked, key: str) -> Answer:
    electronics = worked.electronics
    if not electronics.needed:
        return Answer(
            dict.fromkeys(output.name for output in OUTPUTS),
            "Nothing on this rig is fired or let go by electronics: there is nothing to set.",
        )
    backup = _second(worked, electronics)
    primary = settings(worked, electronics.of_unit(PRIMARY))
    outputs: dict[str, Value | None] = {
        "port_diameter": electronics.port_diameter,
        "ports": electronics.ports,
        "units": electronics.units,
        "primary": primary,
        "backup": backup or None,
    }
    diameter = worked.show(electronics.port_diameter, LENGTH)
    return Answer(
        outputs,
        f"{counted(electronics.ports, 'static port')} of {diameter}. Primary: {primary}. Backup: {backup or 'none'}.",
        (redundant_check(electronics), ports_check(worked, electronics)),
        Later(lambda: working(worked, electronics)),
        Later(lambda: (picture(worked, electronics),)),
        steps=Later(lambda: steps(worked, electronics)),
        notes=(f"{practice('backup_delay', worked.rig.units).capitalize()}.",) if backup else (),
        tables=Later(lambda: (settings_table(worked, electronics),)),
        cautions=CAUTIONS,
    )


OUTPUTS = (
    Output("port_diameter", "Each static port", LENGTH),
    Output("ports", "Static ports", COUNT),
    Output("units", "Altimeters", COUNT),
    Output("primary", "Primary set to", None),
    Output("backup", "Backup set to", None),
)

ELECTRONICS = Calculator(
    "electronics",
    "Electronics",
    (
        "rig.units",
        "electronics.",
        "flight.way",
        "flight.main_height",
        "charge.kind",
        "charge.backup",
        "charge.backup_later",
        "charge.backup_height",
    ),
    OUTPUTS,
    compute,
    (REDUNDANT, PORTS),
    asks=("electronics.volume", "electronics.ports"),
)
