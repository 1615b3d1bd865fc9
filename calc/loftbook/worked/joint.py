"""A joint and the charge that parts it: what resists, what pulls too early, what pressure and gas it takes. SI.

This can hurt someone: every figure is a starting point for a ground test, never a substitute for one.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property

from loftbook.errors import Fault, Refusal
from loftbook.physics import chain, separation
from loftbook.physics.separation import Outside, Rung
from loftbook.physics.spread import Spread
from loftbook.quantity import BAY_PRESSURE, CHARGE_MASS, VOLUME, at_least, show
from loftbook.rig.bay_fields import BACKUP, FIRED, MOTOR, NOTHING, POWDER, THROWN
from loftbook.rig.fields import STARTS
from loftbook.rig.resting import rests_on
from loftbook.rig.rig import Said
from loftbook.tables import PINS, Pin, known
from loftbook.worked.airframe import Section
from loftbook.worked.bay import NYLON, Bay
from loftbook.worked.cord import Cord
from loftbook.worked.sky import Sky

AT_ONCE = (
    0.5  # s; a backup that follows the first sooner may find the bay still shut and its gas still there (our choice)
)
FASTEST = 40.0  # m/s before the main opens, under a drogue or without a canopy: our limit; so long a drop takes at the least
MORE_LOAD = 1.25  # protector, links and swivels beside canopies and cords (our choice)
TWICE = 2  # tests in a row that are no luck, units that stand in for each other (common practice, no source)


@dataclass(frozen=True)
class Charge:
    """What parts one joint, as the rig says, and its ground tests; keys: the bay and the canopies packed in it."""

    said: Said
    keys: tuple[str, ...] = ()

    @property
    def kind(self) -> str:
        return self.said.text("charge.kind")

    @property
    def fired(self) -> bool:
        """Whether electronics fire it."""
        return self.kind in FIRED

    @property
    def low(self) -> bool:
        """Whether it fires at the main height instead of the top."""
        return self.said.key in self.said.rig.way.low

    @property
    def weighed(self) -> bool:
        """Whether a mass of powder is asked for."""
        return self.kind == POWDER

    @property
    def there(self) -> bool:
        """Whether a charge parts it at all."""
        return self.kind != NOTHING

    @property
    def delay_error(self) -> float | None:
        """How early or late a motor's own charge may fire [s]; None for any other."""
        if self.kind != MOTOR:
            return None
        row = known("motor_delay")
        return max(row.number("seconds"), row.number("share") * self.said.number("charge.delay"))

    # --- ground tests ---

    @cached_property
    def borrowed(self) -> bool:
        """Whether what the starting rig says of ground tests is said of another rocket: something they rest on was typed."""
        rig = self.said.rig
        return self._another_way or any(rig.origin(path) != "start" for path in rests_on(self.keys or (self.said.key,)))

    @property
    def _another_way(self) -> bool:
        """Whether it comes down another way than the starting rig."""
        texts = self.said.rig.texts
        return texts["flight.way"] != STARTS[texts["rig.start"]]["flight.way"]

    def _counts(self, name: str) -> bool:
        """Whether one thing said of a test is the reader's, or the rocket is still the starting rig's."""
        return not self.borrowed or not self._start(name)

    def _start(self, name: str) -> bool:
        """Whether one thing said of a test is the starting rig's."""
        return self.said.rig.origin(f"{self.said.key}.charge.{name}") == "start"

    @property
    def tested(self) -> float | None:
        """Mass of the reader's own ground test [kg]; of black powder only. No step tells anybody to load the starting rig's."""
        return None if self._start("tested") else self.said.optional("charge.tested")

    @property
    def entered(self) -> float | None:
        """The same, or the starting rig's while the rocket is still that one [kg]."""
        return self.said.optional("charge.tested") if self._counts("tested") else None

    @property
    def stated(self) -> float | None:
        """The same for loads, which take the larger: the starting rig's as long as the bay is that one [kg]."""
        paths = [f"{self.said.key}.bay.{name}" for name in ("tube", "depth", "shoulder")]
        other = self._another_way or any(self.said.rig.origin(path) != "start" for path in paths)
        return None if other and self._start("tested") else self.said.optional("charge.tested")

    @property
    def repeats(self) -> int:
        """Ground tests in a row that threw everything clear."""
        return int(self.said.optional("charge.repeats") or 0) if self._counts("repeats") else 0

    @property
    def proved(self) -> bool:
        """Whether any ground test was entered."""
        return self.entered is not None if self.weighed else self.repeats > 0

    @property
    def lent(self) -> bool:
        """Whether the ground test that counts is the starting rig's, as the rocket still seems to be that one."""
        return self.fired and self.proved and self._start("tested" if self.weighed else "repeats")

    @property
    def test_day(self) -> str:
        """As typed, empty when not said."""
        return (self.said.chosen("charge.test_date") or "").strip() if self._counts("test_date") else ""

    @property
    def test_pins(self) -> int | None:
        """Pins that the last test sheared; None when not said."""
        pins = self.said.optional("charge.test_pins")
        return None if pins is None or not self._counts("test_pins") else int(pins)

    @property
    def test_result(self) -> str:
        """What the last test did; of one that nobody entered the words mean nothing."""
        return self.said.chosen("charge.test_result") or ""

    @property
    def cleared(self) -> bool:
        """Whether a ground test with the pins that fly threw everything clear, with all said of it that must be."""
        return (
            self.proved
            and self.repeats > 0
            and self.test_result == THROWN
            and bool(self.test_day)
            and self.test_pins == int(self.said.number("joint.pins"))
        )

    # --- the second charge ---

    @property
    def backed_up(self) -> bool:
        return self.there and self.said.text("charge.backup") == BACKUP

    @property
    def backup_mass(self) -> float | None:
        """[kg]; None where it was not weighed or there is none."""
        return self.said.optional("charge.backup_mass")

    @property
    def backup_later(self) -> float:
        """[s], 0 where there is none."""
        return self.said.optional("charge.backup_later") or 0.0

    @property
    def backup_height(self) -> float | None:
        """Height at which the backup of a low opening fires [m]; None where it follows the first by time alone."""
        return self.said.optional("charge.backup_height") if self.low else None

    @property
    def backup_drop(self) -> float:
        """How far below the first charge the backup fires [m]; negative above it: then it is no backup."""
        return 0.0 if self.backup_height is None else self.said.rig.number("flight.main_height") - self.backup_height

    @property
    def at_once(self) -> bool:
        """Whether both may fire into the bay at once: within half a second, or by a motor's charge that keeps no better time.

        A backup set above the first charge counts too: where they meet nobody can say.
        """
        if not self.backed_up:
            return False
        after = self.backup_later + self.backup_drop / FASTEST
        return self.backup_drop < 0 or after < AT_ONCE + (self.delay_error or 0.0)

    @property
    def backup_more(self) -> float | None:
        """By how much the backup is larger than what was tested, as a share; None where one of them was not weighed."""
        if self.backup_mass is None or self.entered is None:
            return None
        return round(self.backup_mass / self.entered - 1, 9)  # what floats leave over is neither larger nor smaller


@dataclass(frozen=True)
class Jolt:
    """A pull at a joint from what happened at another one [N], and in words what it was."""

    cause: str
    pull: float


@dataclass(frozen=True)
class Joint:
    """bay: what it closes; charge: what parts it; forward, aft: what lies on both sides; top: of the flight, above the field [m].

    cord: that ties both sides, None where none does; jolts: what pulls at it when another bay has opened before.
    """

    said: Said
    bay: Bay
    charge: Charge
    forward: Section
    aft: Section
    sky: Sky
    top: float
    cord: Cord | None
    jolts_of: Callable[[], tuple[Jolt, ...]] = field(repr=False, compare=False)

    # --- what holds ---

    @property
    def friction(self) -> float:
        """Pull that parts it without pins, the least of several [N]."""
        return self.said.number("joint.friction")

    @property
    def grip(self) -> float:
        """The same, the most of several [N]."""
        return self.said.optional("joint.friction_most") or self.friction

    @property
    def pins(self) -> int:
        return int(self.said.number("joint.pins"))

    @property
    def pin(self) -> Pin:
        return PINS[self.said.text("joint.pin")]

    @cached_property
    def pin_load(self) -> Spread:
        """Shear load of one pin over the range of its material [N]."""
        pin = self.pin
        if pin.pitch:
            area = separation.metric_minor_area(pin.diameter.value, pin.pitch.value)
        else:
            assert pin.threads_per_inch
            area = separation.unified_minor_area(pin.diameter.value, pin.threads_per_inch.value)
        low, high = (separation.pin_strength(area, shear) for shear in (pin.shear.low, pin.shear.high))
        return Spread(low, (low + high) / 2, high)

    @property
    def weakest_pin(self) -> float:
        """What one pin bears at the least, its scatter taken off [N]."""
        return self.pin_load.low * (1 - separation.PIN_SCATTER)

    @property
    def holds(self) -> float:
        """What it holds at the least [N]: friction and its pins at their weakest."""
        return self.friction + self.pins_hold

    @property
    def pins_hold(self) -> float:
        """What its pins hold at their weakest [N]."""
        return self.pins * self.weakest_pin

    # --- what pulls on the way up ---

    @cached_property
    def trapped(self) -> float:
        """Pull of the pressure left in the bay at the top [N]."""
        low, high = self.sky.elevation, self.highest
        vent = self.said.optional("joint.vent")
        if vent is None:
            left = separation.trapped_pressure(low, high, self.sky.air)
        else:
            climb = self.said.rig.number("flight.climb")
            left = separation.vented_pressure(self.bay.free_volume.high, vent, climb, low, high, self.sky.air)
        return separation.pressure_force(left, self.bay.tube)

    @property
    def highest(self) -> float:
        """The top above sea level [m]."""
        return self.sky.elevation + self.top

    @property
    def running_on(self) -> float:
        """Pull of what lies forward, running on after burnout [N]."""
        return self.forward.mass * self.said.rig.number("flight.slowing")

    @cached_property
    def jolts(self) -> tuple[Jolt, ...]:
        """What pulls at it when another bay has opened before, the hardest first."""
        return tuple(sorted(self.jolts_of(), key=lambda one: -one.pull))

    @property
    def rising(self) -> float:
        """All that tries to part it on the way up [N]."""
        return self.trapped + self.running_on

    @property
    def jolted(self) -> float:
        """The hardest pull from another bay's opening, with what is still left of the pressure [N]; 0 where it opens first."""
        return self.trapped + self.jolts[0].pull if self.jolts else 0.0

    @property
    def pull(self) -> float:
        """The hardest pull that tries to part it before time [N]."""
        return max(self.rising, self.jolted)

    @property
    def hold_times(self) -> float | None:
        """How many times that pull it holds at the least (dimensionless); None where nothing pulls."""
        return self.holds / self.pull if self.pull > 0 else None

    @property
    def pins_needed(self) -> int:
        """Pins that hold that pull with the hold factor, friction counted in; two at the least where any are needed."""
        rest = max(0.0, self.pull - self.friction / separation.HOLD_FACTOR)
        least = int(known("shear_pins").low)
        needed = separation.pins_to_hold(rest, self.weakest_pin)
        return max(least, needed) if needed else 0

    # --- what parts it ---

    @property
    def resists(self) -> float:
        """The greatest pull that may be needed to part it [N]: friction and all pins at their strongest."""
        return self.grip + self.pins * self.pin_load.high * (1 + separation.PIN_SCATTER)

    @cached_property
    def needed_pressure(self) -> float:
        """Pressure that parts the joint with margin [Pa]."""
        return separation.parting_pressure(self.grip, self.pins, self.pin_load.high, self.bay.tube)

    @property
    def least_volume(self) -> float:
        """The least free volume [m^3], never less than what is computed here: a bay that holds nothing fails elsewhere."""
        return max(self.bay.free_volume.low, separation.LEAST_VOLUME)

    @property
    def stroke(self) -> float:
        """Way over which the gas pushes [m]: the shoulder, at least a quarter of a tube; till then the gap is narrower than it."""
        return max(self.bay.shoulder, self.bay.tube / 4)

    @cached_property
    def contents(self) -> float:
        """Mass of what must come out of the bay [kg]: canopies and cords, the rest as a share."""
        cords = sum(one.bulk for one in self.bay.cords) / 2 * NYLON
        return MORE_LOAD * (cords + sum(one.canopy.mass for one in self.bay.tenants))

    @cached_property
    def clearing_energy(self) -> float:
        """In which both sides must part to drag the bay's contents out and still leave [J]."""
        behind = not self.bay.charge_above
        return separation.clearing_energy(self.forward.mass, self.aft.mass, self.contents, self.bay.depth, behind)

    @cached_property
    def lost(self) -> float:
        """Work that friction over the stroke and pins over their thickness take at the most [J]."""
        return self.grip * self.stroke + (self.resists - self.grip) * self.pin.diameter.value

    @cached_property
    def throwing_pressure(self) -> float:
        """Pressure that throws everything clear [Pa], by the work of gas that begins in the least free volume."""
        work = self.clearing_energy + self.lost
        return separation.pressure_for_work(work, self.least_volume, self.bay.tube, self.stroke)

    @cached_property
    def usual_pressure(self) -> float:
        """Least pressure by common practice in such a tube [Pa]."""
        row = known("pressure_floor")
        return separation.usual_pressure(self.bay.tube, row.number("most"), row.number("narrow"), row.number("wide"))

    @property
    def usual_force(self) -> float:
        """Its force on what closes the bay [N]."""
        return separation.pressure_force(self.usual_pressure, self.bay.tube)

    @property
    def estimated(self) -> tuple[float, str]:
        """The largest of what the joint needs, what throws clear and what is usual [Pa], and which of them it is."""
        return max(
            (self.needed_pressure, "what parts it with margin"),
            (self.throwing_pressure, "what throws everything clear"),
            (self.usual_pressure, "what is usual in such a tube"),
        )

    @property
    def wanted(self) -> float | None:
        """Pressure that the reader asks for [Pa]."""
        return self.said.optional("charge.pressure")

    @property
    def pressure(self) -> float:
        """Pressure worked with [Pa]: what the reader wants, or the largest estimate, at least 10 kPa; 0 without a charge."""
        if not self.charge.there:
            return 0.0
        return self.wanted or max(separation.LEAST_PRESSURE, self.estimated[0])

    @property
    def pressed(self) -> float:
        """Force of the pressure worked with on what closes the bay [N]."""
        return separation.pressure_force(self.pressure, self.bay.tube)

    @property
    def part_times(self) -> float | None:
        """How many times that force is what may have to be overcome (dimensionless); None without a charge whose push is known.

        None as well where nothing resists.
        """
        known_push = self.charge.there and self.charge.kind != MOTOR and self.pressure <= separation.MOST_PRESSURE
        return round(self.pressed / self.resists, 9) if known_push and self.resists > 0 else None

    @cached_property
    def greatest(self) -> tuple[float, str]:
        """The greatest pressure that may come up in the bay [Pa], and what makes it; 0 without a charge.

        Of what is wanted, estimated (the high end of its mass in the least volume), tested and held ready as a backup; and
        of both charges together where they may fire at once.
        """
        if not self.charge.there:
            return 0.0, ""
        least = self.least_volume
        most = max(least, self.bay.free_volume.high)
        first = self.pressure, "pressure of the charge"
        if self.charge.weighed:
            estimate = self.pressure * most / least, "estimated charge in the least volume"
            tested = separation.pressure_of(self.charge.stated or 0.0, least), "tested charge"
            first = max(first, estimate, tested)
        if not self.charge.backed_up:
            return first
        second = self._backup_mass / least * separation.GAS_ENERGY
        if self.charge.at_once:
            return first[0] + second, "both charges at once"
        return max(first, (second, "backup charge"))

    @property
    def _backup_mass(self) -> float:
        """Of the second charge [kg]; where it was not weighed, half larger than what it stands in for."""
        if self.charge.backup_mass is not None:
            return self.charge.backup_mass
        estimate = self.pressure * max(self.least_volume, self.bay.free_volume.high) / separation.GAS_ENERGY
        return max(self.charge.stated or 0.0, estimate) * (1 + known("backup_charge").high)

    @property
    def push(self) -> float:
        """Force of that greatest pressure on the bulkhead [N]."""
        return separation.pressure_force(self.greatest[0], self.bay.tube)

    @cached_property
    def model_mass(self) -> Spread | Refusal:
        """Black powder by the model over the range of free volumes [kg], however little; or why it is outside."""
        try:
            return self.bay.free_volume.map(lambda volume: separation.gas_mass(self.pressure, volume))
        except Outside as fault:
            kind = {"separation pressure": BAY_PRESSURE, "free volume of the bay": VOLUME}.get(fault.what, CHARGE_MASS)
            given, low, high = (show(value, kind, self.said.rig.units) for value in (fault.value, fault.low, fault.high))
            allowed = f"{low} to {high}"
            told = f"{fault.what}: {given} is outside what is computed here, {allowed}. Ask a certified flyer."
            return Refusal(Fault(message=told, label=fault.what, given=given, allowed=allowed))

    @property
    def thin(self) -> bool:
        """Whether the model gives so little powder that its figure is withheld."""
        mass = self.model_mass
        return not isinstance(mass, Refusal) and mass.low < known("thin_charge").low

    @cached_property
    def mass(self) -> Spread | Refusal:
        """Black powder over the range of free volumes [kg], a first estimate; or why no figure is given."""
        if not self.thin:
            return self.model_mass
        least = show(known("thin_charge").low, at_least(CHARGE_MASS), self.said.rig.units)
        return Refusal(
            Fault(
                message=f"By the model it would be less than {least} of black powder. So small a pinch loses most of its heat to "
                "the wall, so no figure is given: what parts it and throws everything clear is found on the ground alone, "
                "with someone certified beside you, or done by another means.",
                label="mass of black powder",
                given=f"less than {least}",
                allowed=f"at least {least}",
            )
        )

    @property
    def fires_at(self) -> float:
        """Height above sea level at which its charge fires [m]."""
        return self.sky.elevation + self.said.rig.number("flight.main_height") if self.charge.low else self.highest

    def model_pressure(self, mass: float) -> tuple[float, float]:
        """What a mass of black powder [kg] gives by the model, (least, most) over the range of free volumes [Pa]."""
        most = max(self.least_volume, self.bay.free_volume.high)
        return separation.pressure_of(mass, most), separation.pressure_of(mass, self.least_volume)

    @property
    def tested_share(self) -> float | None:
        """What was tested over the best estimate; None where there is no such figure."""
        if self.charge.entered is None or isinstance(self.mass, Refusal):
            return None
        return self.charge.entered / self.mass.best

    @property
    def ladder(self) -> tuple[Rung, ...]:
        """Ground tests from low to high; none where no mass is given."""
        if isinstance(self.mass, Refusal):
            return ()
        return separation.ladder(self.mass, self.bay.free_volume.low, self.bay.free_volume.high)

    @cached_property
    def parting_speed(self) -> float:
        """Speed at which both sides part, the greatest pressure held over one shoulder, at least half a tube: upper bound [m/s]."""
        return separation.parting_speed(
            self.greatest[0],
            self.friction,
            self.bay.tube,
            max(self.bay.shoulder, self.bay.tube / 2),
            self.forward.mass,
            self.aft.mass,
        )

    # --- what it does to the cord ---

    @cached_property
    def jerk(self) -> float | None:
        """Force in the cord when it stops the two sides that the charge parts [N]; None where none does, or nothing parts."""
        return self.jerk_at(self.cord.free, self.cord.stretch) if self.cord and self.charge.there else None

    def jerk_at(self, length: float, stretch: float) -> float:
        """The same for another length [m] and stretch at break of the cord."""
        assert self.cord
        return chain.cord_jerk(
            self.parting_speed, self.forward.mass, self.aft.mass, self.cord.strength, stretch, length
        )
