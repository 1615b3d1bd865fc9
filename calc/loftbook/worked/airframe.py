"""The airframe as its parts, and which of them lie forward and aft of each joint. SI.

With one joint: nose (or forward section) and tail. With two: nose, middle, tail. The tail is the rest.
"""

from dataclasses import dataclass
from functools import cached_property

from loftbook.rig.rig import Rig
from loftbook.rig.rocket_fields import MAIN_FORWARD, TWO_JOINTS
from loftbook.rig.ways import MAIN


@dataclass(frozen=True)
class Section:
    """A part, or several joined: mass [kg], length [m]."""

    name: str
    mass: float
    length: float


@dataclass(frozen=True)
class Airframe:
    rig: Rig

    @cached_property
    def sections(self) -> tuple[Section, ...]:
        """From the nose aft. The tail's mass counts canopies and cords in."""
        fore = [Section("nose", self.rig.number("nose.mass"), self.rig.number("nose.length"))]
        if self.two_joints:
            fore.append(Section("middle", self.rig.number("middle.mass"), self.rig.number("middle.length")))
        mass = self.mass - sum(section.mass for section in fore)
        length = self.rig.number("rocket.length") - sum(section.length for section in fore)
        return (*fore, Section("tail" if self.two_joints else "airframe", mass, length))

    @property
    def two_joints(self) -> bool:
        return self.rig.way.name in TWO_JOINTS

    @property
    def mass(self) -> float:
        """All that comes down [kg]."""
        return self.rig.number("rocket.mass")

    def joint(self, bay: str) -> int:
        """How many sections lie forward of a bay's joint."""
        if not self.two_joints:
            return 1
        main = 1 if self.rig.text("rocket.main_bay") == MAIN_FORWARD else 2
        return main if bay == MAIN else 3 - main

    def forward(self, bay: str) -> Section:
        """What lies forward of a bay's joint and hangs on its forward leg, as one."""
        return joined(self.sections[: self.joint(bay)])

    def aft(self, bay: str) -> Section:
        """What lies aft of a bay's joint, as one."""
        return joined(self.sections[self.joint(bay) :])


def joined(sections: tuple[Section, ...]) -> Section:
    """Several sections as one: masses and lengths added."""
    name = " and ".join(section.name for section in sections)
    return Section(name, sum(section.mass for section in sections), sum(section.length for section in sections))
