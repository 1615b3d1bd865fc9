"""Parting the joint: pressure, pins, and a ground-test ladder. Energetic material: cautions first, refusal outside."""

from loftbook.physics import separation
from loftbook.case import Case
from loftbook.answer import Answer, Calculator, Check, Output, Table, Value, Working
from loftbook.errors import Refusal
from loftbook.fields import DROGUE_MAIN, FIELDS
from loftbook.quantity import BAY_PRESSURE, COUNT, FORCE, LENGTH, MASS, NUMBER, VOLUME, digits
from loftbook.physics.spread import Spread
from loftbook.tables import PINS, material_source

CAUTIONS = (
    "Black powder is energetic material: it burns, deafens and blinds. Follow local law on having, storing and using it.",
    "These figures are where a ground test starts. They are never a substitute for one: start low, step up, stop at the "
    "first that parts it with authority.",
    "Test in the open with remote firing, eyes and ears covered, nobody in front of or behind the rocket, electronics "
    "disarmed until everyone is clear; after a misfire wait at least 60 seconds before anyone goes near.",
    "The range safety officer and certified flyers decide; without such a person beside you, do not do this.",
)


def ascent_pull(case: Case) -> tuple[float, float]:
    """What tries to part the joint before time [N]: pressure left in the bay, and the nose running on after burnout."""
    low = case.n("site.elevation")
    high = low + case.top
    vent = case.rig.optional("joint.vent")
    left = (
        separation.trapped_pressure(low, high, case.air)
        if vent is None
        else separation.vented_pressure(case.free_volume.high, vent, case.n("flight.climb"), low, high, case.air)
    )
    return separation.pressure_force(left, case.n("rocket.tube")), case.n("nose.mass") * case.n("flight.slowing")


def hold_check(case: Case) -> Check:
    pull = sum(ascent_pull(case))
    holds = case.n("joint.friction") + case.n("joint.pins") * case.pin_loads[0] * (1 - separation.PIN_SCATTER)
    needs = separation.HOLD_FACTOR * pull
    told = f"Up to {case.show(pull, FORCE)} pulls at the joint on the way up; it holds {case.show(holds, FORCE)}."
    if holds < pull:
        return Check(
            "joint-holds", "fail", "Joint holds on the way up", f"{told} It parts early: vent the bay or add pins."
        )
    if holds < needs:
        return Check(
            "joint-holds",
            "warn",
            "Joint holds on the way up",
            f"{told} Less than {digits(separation.HOLD_FACTOR)} times (our choice).",
        )
    return Check("joint-holds", "pass", "Joint holds on the way up", told)


def pressure_check(case: Case) -> Check:
    chosen, needed, show = case.pressure, case.needed_pressure, case.show
    title = "Joint parts at the charge"
    if chosen > separation.MOST_PRESSURE:
        most = show(separation.MOST_PRESSURE, BAY_PRESSURE)
        return Check(
            "joint-parts",
            "fail",
            title,
            f"It would take {show(chosen, BAY_PRESSURE)}, more than the {most} computed here: fewer pins, or another way.",
        )
    if chosen < needed:
        parts_at_all = chosen >= needed / separation.SHEAR_FACTOR
        told = f"{show(chosen, BAY_PRESSURE)} is less than the {show(needed, BAY_PRESSURE)} that parts it with margin."
        return Check("joint-parts", "warn" if parts_at_all else "fail", title, told)
    return Check(
        "joint-parts",
        "pass",
        title,
        f"{show(chosen, BAY_PRESSURE)} is at least the {show(needed, BAY_PRESSURE)} that parts friction "
        f"and pins with {digits(separation.SHEAR_FACTOR)} times margin (our choice).",
    )


def mass_of(case: Case) -> tuple[Spread | None, Check]:
    """Starting mass over the range of free volumes, or None with the refusal as a failed check."""
    try:
        mass = case.free_volume.map(lambda volume: separation.gas_mass(case.pressure, volume))
    except Refusal as refusal:
        return None, Check("charge-domain", "fail", "Charge", f"No figure is given. {refusal.faults[0].message}")
    return mass, Check(
        "charge-domain", "pass", "Charge", "Inside what is computed here; a starting point for a ground test."
    )


def tested_check(case: Case, mass: Spread | None) -> Check:
    """What a measured ground test says about the estimate."""
    tested = case.rig.optional("joint.tested")
    if tested is None:
        return Check("ground-test", "warn", "Ground test", "None entered yet. No flight without one.")
    least = separation.pressure_of(tested, case.free_volume.high)
    most = separation.pressure_of(tested, case.free_volume.low)
    told = (
        f"{case.show(tested, MASS)} parted it; by the model that is {case.show(least, BAY_PRESSURE)} to "
        f"{case.show(most, BAY_PRESSURE)} in the bay."
    )
    if mass is None or most > separation.MOST_PRESSURE:
        return Check(
            "ground-test", "warn", "Ground test", f"{told} Outside what is computed here: ask a certified flyer."
        )
    told += f" It is {digits(tested / mass.best)} times the estimate."
    if not 0.5 * mass.best <= tested <= 1.5 * mass.best:
        return Check(
            "ground-test",
            "warn",
            "Ground test",
            f"{told} Far from it: look for a leak, a tight joint, a wrong volume. Fly what was tested.",
        )
    return Check("ground-test", "pass", "Ground test", f"{told} Fly what was tested, packed the same way.")


def compute(case: Case) -> Answer:
    show = case.show
    mass, domain = mass_of(case)
    trapped, running_on = ascent_pull(case)
    low, high = case.pin_loads
    pins_needed = separation.pins_to_hold(
        max(0.0, trapped + running_on - case.n("joint.friction") / separation.HOLD_FACTOR),
        low * (1 - separation.PIN_SCATTER),
    )
    tested_mass = case.rig.optional("joint.tested")
    outputs: dict[str, Value | None] = {
        "needed_pressure": case.needed_pressure,
        "pressure": case.pressure if mass else None,
        "free_volume": case.free_volume,
        "mass": mass,
        "force": separation.pressure_force(case.pressure, case.n("rocket.tube")) if mass else None,
        "trapped": trapped,
        "running_on": running_on,
        "pins_needed": pins_needed,
        "pin_load": Spread(low, (low + high) / 2, high),
        "tested_share": tested_mass / mass.best if mass and tested_mass else None,
    }
    checks = (hold_check(case), pressure_check(case), domain, tested_check(case, mass))
    tables: tuple[Table, ...] = ()
    if mass:
        rungs = separation.ladder(mass.low, case.free_volume.low, case.free_volume.high)
        tables = (
            Table(
                "Ground-test ladder: start low, one step at a time, stop at the first that parts it with authority",
                ("Test", "Share of the low estimate", "Black powder", "Pressure by the model"),
                tuple(
                    (
                        str(i),
                        f"{digits(rung.share * 100)} %",
                        show(rung.mass, MASS),
                        f"{show(rung.least, BAY_PRESSURE)} to {show(rung.most, BAY_PRESSURE)}",
                    )
                    for i, rung in enumerate(rungs, 1)
                ),
            ),
        )
    pin = PINS[case.rig.text("joint.pin")]
    pins = int(case.n("joint.pins"))
    working = (
        Working(
            "Pressure that parts the joint",
            "Δp = 1.5 × (pull to part + pins × shear load × 1.2) / (π·D²/4)",
            f"1.5 × ({show(case.n('joint.friction'), FORCE)} + {pins} × {show(high, FORCE)} × 1.2) / "
            f"({show(case.n('rocket.tube'), LENGTH)} tube) = {show(case.needed_pressure, BAY_PRESSURE)}",
            f"statics; factor our choice; pin {pin['name']}: {material_source(pin)}; scatter 20 % or more, test your own",
        ),
        Working(
            "Free volume",
            "tube volume without shoulder, less what is packed",
            f"{show(case.free_volume.low, VOLUME)} with all bulk taken off to {show(case.free_volume.high, VOLUME)} with only "
            "solid matter taken off: gas fills the gaps between folds",
            "from the packing stack",
        ),
        Working(
            "Mass of black powder",
            "m = Δp·V / (R·T)",
            (f"{show(mass.low, MASS)} to {show(mass.high, MASS)}" if mass else "refused, outside what is computed here")
            + f", R·T = {digits(separation.GAS_ENERGY / 1000)} kJ/kg",
            "the gas model of published amateur guidance, 22.16 ft·lbf/(lb·°R) at 3307 °R (memory, one rounded form read): an "
            "effective gas, not a measured one",
        ),
        Working(
            "Pull on the way up",
            "pressure left in the bay × area + nose mass × slowing",
            f"{show(trapped, FORCE)} + {show(running_on, FORCE)}",
            "US Standard Atmosphere, 1976; a vented bay by steady flow through a sharp-edged hole, discharge 0.6",
        ),
    )
    notes = ["The pressure acts in the bay that was described under Rocket; a second bay is a second rig."]
    if case.recovery == DROGUE_MAIN:
        notes.append(
            "With a drogue at apogee the trapped pressure is that of the apogee; enter the bay you are working on."
        )
    summary = (
        f"{show(case.pressure, BAY_PRESSURE)} parts the joint; the estimate a ground test starts from is "
        f"{case.range(mass, MASS)} of black powder."
        if mass
        else "Outside what is computed here: no mass is given."
    )
    return Answer(
        outputs,
        summary,
        checks,
        working,
        notes=tuple(notes),
        tables=tables,
        cautions=CAUTIONS,
    )


SEPARATION = Calculator(
    "separation",
    "Part the joint",
    (
        "rig.units",
        "rocket.tube",
        "rocket.bay",
        "rocket.shoulder",
        "nose.mass",
        *(p for p in FIELDS if p.startswith("canopy.") and p not in ("canopy.rate", "canopy.cd_low", "canopy.cd_high")),
        *(p for p in FIELDS if p.startswith(("lines.length", "lines.diameter", "lines.mass", "joint."))),
        "pack.density",
        "pack.beside",
        "pack.protector_depth",
        "cord.layout",
        "cord.length",
        "cord.gap",
        "cord.width",
        "cord.thickness",
        "site.elevation",
        "site.warmer",
        "site.pressure",
        "flight.recovery",
        "flight.apogee",
        "flight.release",
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
        Output("trapped", "Pull of pressure left in the bay", FORCE, main=False),
        Output("running_on", "Pull of the nose running on", FORCE, main=False),
        Output("pin_load", "Shear load of one pin", FORCE, main=False),
    ),
    compute,
)
