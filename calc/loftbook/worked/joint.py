"""A joint and the charge that parts it: what resists, what pulls too early, what pressure and gas it takes. SI.

This can hurt someone: every figure is a starting point for a ground test, never a substitute for one.
"""

from dataclasses import dataclass
from functools import cached_property

from loftbook.errors import Refusal
from loftbook.physics import separation
from loftbook.physics.separation import Rung
from loftbook.physics.spread import Spread
from loftbook.rig.bay_fields import BACKUP, FIRED, MOTOR, NOTHING, POWDER
from loftbook.rig.rig import Said
from loftbook.tables import PINS, Pin, known
from loftbook.worked.airframe import Section
from loftbook.worked.bay import Bay
from loftbook.worked.sky import Sky


@dataclass(frozen=True)
class Charge:
    """What parts one joint, as the rig says, and its ground tests."""

    said: Said

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

    @property
    def tested(self) -> float | None:
        """Mass of the ground test that parted the joint [kg]; of black powder only."""
        return self.said.optional("charge.tested")

    @property
    def repeats(self) -> int:
        """Ground tests in a row that threw everything clear."""
        return int(self.said.optional("charge.repeats") or 0)

    @property
    def proved(self) -> bool:
        """Whether any ground test was entered."""
        return self.tested is not None if self.weighed else self.repeats > 0

    @property
    def test_day(self) -> str:
        """As typed, empty when not said."""
        return (self.said.chosen("charge.test_date") or "").strip()

    @property
    def test_pins(self) -> int | None:
        """Pins that the last test sheared; None when not said."""
        pins = self.said.optional("charge.test_pins")
        return None if pins is None else int(pins)

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
        """Whether both fire at the same instant."""
        return self.backed_up and not self.backup_later and not self.backup_drop

    @property
    def backup_more(self) -> float | None:
        """By how much the backup is larger than what was tested, as a share; None where one of them was not weighed."""
        if self.backup_mass is None or self.tested is None:
            return None
        return self.backup_mass / self.tested - 1


@dataclass(frozen=True)
class Joint:
    """bay: what it closes; charge: what parts it; forward, aft: what lies on both sides; top: of the flight, above the field [m]."""

    said: Said
    bay: Bay
    charge: Charge
    forward: Section
    aft: Section
    sky: Sky
    top: float

    # --- what holds ---

    @property
    def friction(self) -> float:
        """Pull that parts it without pins [N]."""
        return self.said.number("joint.friction")

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
        return self.friction + self.pins * self.weakest_pin

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

    @property
    def pull(self) -> float:
        """All that tries to part it before time [N]."""
        return self.trapped + self.running_on

    @property
    def pins_needed(self) -> int:
        """Pins that hold that pull with the hold factor, friction counted in."""
        rest = max(0.0, self.pull - self.friction / separation.HOLD_FACTOR)
        return separation.pins_to_hold(rest, self.weakest_pin)

    # --- what parts it ---

    @property
    def resists(self) -> float:
        """The greatest pull that may be needed to part it [N]: friction and all pins at their strongest."""
        return self.friction + self.pins * self.pin_load.high * (1 + separation.PIN_SCATTER)

    @cached_property
    def needed_pressure(self) -> float:
        """Pressure that parts the joint with margin [Pa]."""
        return separation.parting_pressure(self.friction, self.pins, self.pin_load.high, self.bay.tube)

    @property
    def pressure(self) -> float:
        """Pressure worked with [Pa]: what the reader wants, or what the joint needs, at least 10 kPa; 0 without a charge."""
        if not self.charge.there:
            return 0.0
        return self.said.optional("charge.pressure") or max(separation.LEAST_PRESSURE, self.needed_pressure)

    @property
    def push(self) -> float:
        """Force of that pressure on the bulkhead [N]."""
        return separation.pressure_force(self.pressure, self.bay.tube)

    @cached_property
    def mass(self) -> Spread | Refusal:
        """Black powder over the range of free volumes [kg], a first estimate; or why no figure is given."""
        try:
            return self.bay.free_volume.map(lambda volume: separation.gas_mass(self.pressure, volume))
        except Refusal as refusal:
            return refusal

    def model_pressure(self, mass: float) -> tuple[float, float]:
        """What a mass of black powder [kg] gives by the model, (least, most) over the range of free volumes [Pa]."""
        volume = self.bay.free_volume
        return separation.pressure_of(mass, volume.high), separation.pressure_of(mass, volume.low)

    @property
    def tested_share(self) -> float | None:
        """What was tested over the best estimate; None where there is no such figure."""
        if self.charge.tested is None or isinstance(self.mass, Refusal):
            return None
        return self.charge.tested / self.mass.best

    @property
    def ladder(self) -> tuple[Rung, ...]:
        """Ground tests from low to high; none where no mass is given."""
        if isinstance(self.mass, Refusal):
            return ()
        return separation.ladder(self.mass.low, self.bay.free_volume.low, self.bay.free_volume.high)

    @cached_property
    def parting_speed(self) -> float:
        """Speed at which both sides part, pressure held over one shoulder, at least half a tube: an estimate [m/s]."""
        return separation.parting_speed(
            self.pressure,
            self.friction,
            self.bay.tube,
            max(self.bay.shoulder, self.bay.tube / 2),
            self.forward.mass,
            self.aft.mass,
        )
