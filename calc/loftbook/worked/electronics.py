"""What electronics fire, with what and when: the settings of a primary and a backup, and the ports they breathe through. SI."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Final, Literal

from loftbook.physics import airframe
from loftbook.rig.rig import Rig
from loftbook.worked.joint import Charge

PRIMARY: Final = "primary"
BACKUP: Final = "backup"
CHARGE: Final = "charge"
SECOND_CHARGE: Final = "second charge"
DEVICE: Final = "release device"
Unit = Literal["primary", "backup"]


@dataclass(frozen=True)
class Firing:
    """One thing that a unit fires or lets go. height: above the field [m], None for the top; later: seconds after that."""

    unit: Unit
    key: str
    what: Literal["charge", "second charge", "release device"]
    height: float | None
    later: float = 0.0


@dataclass(frozen=True)
class Electronics:
    """charges: what parts each joint, by its bay."""

    rig: Rig
    charges: Mapping[str, Charge]

    def _count(self, name: str) -> int:
        return int(self.rig.number(f"electronics.{name}"))

    @property
    def units(self) -> int:
        """Altimeters that can fire something."""
        return self._count("units")

    @property
    def batteries(self) -> int:
        return self._count("batteries")

    @property
    def switches(self) -> int:
        return self._count("switches")

    @property
    def ports(self) -> int:
        """Static ports."""
        return self._count("ports")

    @property
    def volume(self) -> float:
        """Air in the closed bay of the units [m^3]."""
        return self.rig.number("electronics.volume")

    @property
    def port_diameter(self) -> float:
        """Of each port [m]."""
        return airframe.port_diameter(self.volume, self.ports)

    @cached_property
    def firings(self) -> tuple[Firing, ...]:
        """All that must be fired or let go, in the order of the flight; () where no electronics are needed."""
        found = [firing for key, charge in self.charges.items() for firing in self._of(key, charge)]
        found += [Firing(PRIMARY, key, DEVICE, self._main_height) for key in self.rig.way.held]
        return tuple(sorted(found, key=lambda one: (-self._height(one), one.later)))

    def _of(self, key: str, charge: Charge) -> list[Firing]:
        """What is fired at one joint. Where the motor fires the first, the second is a primary unit's own."""
        height = self._main_height if charge.low else None
        found = [Firing(PRIMARY, key, CHARGE, height)] if charge.fired else []
        if charge.backed_up:
            unit: Unit = BACKUP if charge.fired else PRIMARY
            lower = charge.backup_height if charge.backup_height is not None else height
            found.append(Firing(unit, key, SECOND_CHARGE, lower, charge.backup_later))
        return found

    @property
    def _main_height(self) -> float:
        return self.rig.number("flight.main_height")

    def _height(self, firing: Firing) -> float:
        return float("inf") if firing.height is None else firing.height

    def of_unit(self, unit: str) -> tuple[Firing, ...]:
        return tuple(firing for firing in self.firings if firing.unit == unit)

    @property
    def needed(self) -> bool:
        """Whether anything is fired by electronics at all."""
        return bool(self.firings)

    @property
    def backup_wanted(self) -> bool:
        """Whether a second unit has something of its own to fire."""
        return bool(self.of_unit(BACKUP))

    @property
    def shares(self) -> bool:
        """Whether a second unit has nothing of its own to fire and stands in for the first at the same charges."""
        return self.units > 1 and self.fires_first and not self.backup_wanted

    @property
    def alone(self) -> bool:
        """Whether anything opens by electronics alone, no motor's charge before it."""
        return any(firing.what != SECOND_CHARGE for firing in self.firings)

    @property
    def fires_first(self) -> bool:
        """Whether the first charge of any joint is fired by electronics."""
        return any(firing.what == CHARGE for firing in self.firings)
