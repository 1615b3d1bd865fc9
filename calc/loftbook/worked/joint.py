"""A joint and the charge that parts it: what resists, what pulls too early, what pressure and gas it takes. SI.

This can hurt someone: every figure is a starting point for a ground test, never a substitute for one.
"""

from dataclasses import dataclass
from functools import cached_property

from loftbook.errors import Refusal
from loftbook.physics import separation
from loftbook.physics.spread import Spread
from loftbook.rig.bay_fields import BACKUP, FIRED, NOTHING, POWDER
from loftbook.rig.rig import Said
from loftbook.tables import PINS, Pin
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
    def weighed(self) -> bool:
        """Whether a mass of powder is asked for."""
        return self.kind == POWDER

    @property
    def tested(self) -> float | None:
        """Mass of the ground test that parted the joint [kg]."""
        return self.said.optional("charge.tested")

    @property
    def repeats(self) -> int:
        """Ground tests in a row that threw everything clear."""
        return int(self.said.optional("charge.repeats") or 0)

    @property
    def backed_up(self) -> bool:
        return self.kind != NOTHING and self.said.text("charge.backup") == BACKUP

    @property
    def backup_mass(self) -> float | None:
        """[kg]; None where it was not weighed or there is none."""
        return self.said.optional("charge.backup_mass")


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
    def pin_loads(self) -> tuple[float, float]:
        """Shear load of one pin, (least, greatest) of its material [N]."""
        pin = self.pin
        if pin.pitch:
            area = separation.metric_minor_area(pin.diameter.value, pin.pitch.value)
        else:
            assert pin.threads_per_inch
            area = separation.unified_minor_area(pin.diameter.value, pin.threads_per_inch.value)
        return separation.pin_strength(area, pin.shear.low), separation.pin_strength(area, pin.shear.high)

    @property
    def holds(self) -> float:
        """What it holds at the least [N]: friction and its pins at their weakest."""
        return self.friction + self.pins * self.pin_loads[0] * (1 - separation.PIN_SCATTER)

    # --- what pulls on the way up ---

    @cached_property
    def trapped(self) -> float:
        """Pull of the pressure left in the bay at the top [N]."""
        low = self.sky.elevation
        high, vent = low + self.top, self.said.optional("joint.vent")
        if vent is None:
            left = separation.trapped_pressure(low, high, self.sky.air)
        else:
            climb = self.said.rig.number("flight.climb")
            left = separation.vented_pressure(self.bay.free_volume.high, vent, climb, low, high, self.sky.air)
        return separation.pressure_force(left, self.bay.tube)

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
        return separation.pins_to_hold(rest, self.pin_loads[0] * (1 - separation.PIN_SCATTER))

    # --- what parts it ---

    @cached_property
    def needed_pressure(self) -> float:
        """Pressure that parts the joint with margin [Pa]."""
        return separation.parting_pressure(self.friction, self.pins, self.pin_loads[1], self.bay.tube)

    @property
    def pressure(self) -> float:
        """Pressure worked with [Pa]: what the reader wants, or what the joint needs, at least 10 kPa; 0 without a charge."""
        if self.charge.kind == NOTHING:
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
