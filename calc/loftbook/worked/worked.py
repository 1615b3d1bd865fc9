"""One rig, all its parts put together: what a calculator takes what it shows from. Each part is made once."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property, partial
from typing import TYPE_CHECKING

from loftbook.physics.chain import Part
from loftbook.physics.separation import share_of_pull
from loftbook.physics.spread import Spread
from loftbook.quantity import Kind, at_least, at_most, ends, show, writer
from loftbook.rig.making_fields import SEWN
from loftbook.rig.rig import Rig
from loftbook.rig.ways import titled
from loftbook.worked.airframe import Airframe
from loftbook.worked.bay import NYLON, Bay, Tenant
from loftbook.worked.bundle import Folded
from loftbook.worked.canopy import Canopy
from loftbook.worked.cord import Cord, Rigged
from loftbook.worked.descent import Descent, OpeningLoad
from loftbook.worked.electronics import Electronics
from loftbook.worked.hanging import Hangs
from loftbook.worked.joint import Charge, Joint, Jolt
from loftbook.worked.loads import SUDDEN, Chain, snatch
from loftbook.worked.sky import Sky

if TYPE_CHECKING:
    from loftbook.worked.making import Making


SCATTERED = 1_000  # descents drawn for a plan, so that it keeps up with typing; the landing page draws ten times as many


@dataclass(frozen=True)
class Worked:
    """A rig and its parts by their keys: canopies, bays, cords, joints, chains; and its one descent."""

    rig: Rig
    scattered_cases: int = 10_000

    # --- words ---

    def show(self, value: float, kind: Kind) -> str:
        """A number as the reader wants to see it."""
        return show(value, kind, self.rig.units)

    def at_least(self, value: float, kind: Kind) -> str:
        """The same, never below it: of speeds, loads, energies, distances, times that must pass, what is needed."""
        return show(value, at_least(kind), self.rig.units)

    def at_most(self, value: float, kind: Kind) -> str:
        """The same, never above it: of strengths, margins, heights and times that are left."""
        return show(value, at_most(kind), self.rig.units)

    def writer(self, kind: Kind) -> Callable[[float], str]:
        """What does that, for pictures."""
        return writer(kind, self.rig.units)

    def range(self, value: Spread, kind: Kind) -> str:
        """Best, and the range behind it when there is one."""
        if value.is_point:
            return self.show(value.best, kind)
        if kind.beside:  # no brackets behind brackets
            return f"{self.show(value.best, kind)}, {self.ends(value, kind)}"
        return f"{self.show(value.best, kind)} ({self.ends(value, kind)})"

    def title(self, key: str) -> str:
        """What readers call a bay or canopy: "canopy" where there is only one."""
        way = self.rig.way
        return "canopy" if way.keys == (key,) else titled(way, key)

    def ends(self, value: Spread, kind: Kind) -> str:
        """A range from its low to its high end."""
        return ends(value.low, value.best, value.high, kind, self.rig.units)

    # --- parts ---

    @cached_property
    def sky(self) -> Sky:
        return Sky(self.rig)

    @cached_property
    def airframe(self) -> Airframe:
        return Airframe(self.rig)

    @cached_property
    def canopies(self) -> dict[str, Canopy]:
        """In the order of opening."""
        return {
            key: Canopy(self.rig.of(key), self.title(key), self.sky, self._carried(key))
            for key in self.rig.way.canopies
        }

    @cached_property
    def makings(self) -> dict[str, "Making"]:
        """Every canopy whose shape is known, as it is made. Imported when somebody asks: few do."""
        from loftbook.worked.making import Making

        factor = self.rig.number("chain.factor")
        return {
            key: Making(one, self.descent.loads[key], self.snatches[key], factor) for key, one in self.canopies.items() if one.shape
        }

    def _carried(self, canopy: str) -> float:
        """Mass that hangs under a canopy [kg]: everything, or its own part where they part."""
        whole, fore = self.airframe.mass, self.airframe.sections[0].mass
        return whole if self.rig.way.tied else whole - fore if canopy == self.rig.way.bays[0] else fore

    @cached_property
    def gear(self) -> float:
        """Mass of canopies with their lines and of cords [kg], cords as if of solid nylon."""
        cords = sum(cord.width * cord.thickness * cord.length for cord in self.cords.values()) * NYLON
        return sum(one.mass for one in self.canopies.values()) + cords

    def opened_before(self, canopy: str) -> tuple[Canopy, ...]:
        """The canopies that opened before one and stay open beside it; none where the parts come down apart."""
        keys = [*self.canopies]
        return tuple(self.canopies[key] for key in keys[: keys.index(canopy)]) if self.rig.way.tied else ()

    def strangeness(self, canopy: str, drag_area: float) -> float:
        """How far a drag area [m^2] of a canopy, with what was open beside it, lies from its family's table: `Canopy.strangeness`."""
        beside = sum(one.usual_drag.high for one in self.opened_before(canopy))
        return self.canopies[canopy].strangeness(drag_area, beside)

    @cached_property
    def cords(self) -> dict[str, Cord]:
        return {key: Cord(self.rig.of(key)) for key in self.rig.way.keys}

    @cached_property
    def bays(self) -> dict[str, Bay]:
        """In the order of opening."""
        way = self.rig.way
        return {
            key: Bay(self.rig.of(key), tuple(self._tenant(one) for one in way.tenants(key)), self.cords[key])
            for key in way.bays
        }

    def _tenant(self, canopy: str) -> Tenant:
        device = self.rig.of(canopy).number("pack.device") if canopy in self.rig.way.held else 0.0
        return Tenant(self.canopies[canopy], self.cords[canopy], device)

    def home(self, canopy: str) -> Bay:
        """The bay that a canopy is packed in."""
        return self.bays[self.rig.way.home(canopy)]

    def folded(self, canopy: str) -> Folded:
        return self.home(canopy).folded[canopy]

    @cached_property
    def rigged(self) -> dict[str, Rigged]:
        """Every cord with what hangs from it."""
        made = {}
        for key, cord in self.cords.items():
            one = self.canopies.get(key)
            ties_two = key in self.rig.way.bays and self.rig.way.tied
            forward = self.airframe.forward(key).length if ties_two else None
            made[key] = Rigged(cord, one.line_length if one else 0.0, self.home(key).depth, forward)
        return made

    @cached_property
    def joints(self) -> dict[str, Joint]:
        way = self.rig.way
        return {
            key: Joint(
                self.rig.of(key),
                bay,
                Charge(self.rig.of(key), (key, *way.tenants(key))),
                self.airframe.forward(key),
                self.airframe.aft(key),
                self.sky,
                self.descent.top,
                self.cords[key] if way.tied else None,
                partial(self._jolts, key),
            )
            for key, bay in self.bays.items()
        }

    def _jolts(self, key: str) -> tuple[Jolt, ...]:
        """What pulls at a joint when a bay that opened before it stops what lies past it: its cord's jerk, its canopies' openings."""
        way, airframe = self.rig.way, self.airframe
        found: list[Jolt] = []
        for other in way.bays[: way.bays.index(key)] if way.tied else ():
            here, there = airframe.joint(key), airframe.joint(other)
            forward = here < there
            beyond = (airframe.forward if forward else airframe.aft)(key).mass
            pulled = (airframe.forward if forward else airframe.aft)(other).mass
            name = self.title(other)
            jerk = self.joints[other].jerk
            if jerk is not None:
                found.append(Jolt(f"cord of the {name} coming tight", share_of_pull(jerk, beyond, pulled)))
            for canopy in way.tenants(other):
                load = self.descent.loads[canopy]
                share = min(1.0, SUDDEN * share_of_pull(1.0, beyond, airframe.mass))
                found.append(
                    Jolt(f"opening of the {load.canopy.name}", share * max(load.design, self.snatches[canopy]))
                )
        return tuple(found)

    @cached_property
    def snatches(self) -> dict[str, float]:
        """Force when the lines of each canopy come tight [N]."""
        way, found = self.rig.way, {}
        for key, load in self.descent.loads.items():
            fore = self.airframe.forward(key).mass if key in way.bays else self.airframe.mass
            found[key] = snatch(load.canopy, load, self.cords[key], self._carried(key), fore)
        return found

    @cached_property
    def descent(self) -> Descent:
        return Descent(self.rig, self.sky, self.airframe, self.canopies)

    @cached_property
    def hangs(self) -> Hangs:
        """How all of it hangs."""
        return Hangs(self.rig.way, self.airframe, self.bays, self.rigged, self.canopies)

    @cached_property
    def electronics(self) -> Electronics:
        """The altimeters and all that they fire or let go."""
        return Electronics(self.rig, {key: joint.charge for key, joint in self.joints.items()})

    @cached_property
    def chains(self) -> dict[str, Chain]:
        """Every cord and what is tied to it."""
        way = self.rig.way
        return {
            key: Chain(
                self.rig.of(key),
                self.canopies.get(key),
                cord,
                self.joints.get(key),
                self._pulls(key),
                self.snatches,
                tuple(self.descent.loads[one] for one in way.canopies if one not in way.held),
                key in way.held,
                not way.tied,
                self.airframe.mass,
                self._sewn(key),
            )
            for key, cord in self.cords.items()
        }

    def _sewn(self, key: str) -> tuple[Part, ...]:
        """Seams and lines' ends of a canopy that its reader sews; of another's nobody here knows them."""
        one = self.canopies.get(key)
        return self.makings[key].links if one and one.shape and one.said.text("make.sewn") == SEWN else ()

    def _pulls(self, key: str) -> tuple[tuple[OpeningLoad, float], ...]:
        """The openings that a cord feels, each with the share that comes through it.

        Its own canopy's and those packed with it: whole. Of a canopy that opens later, what hangs beyond this cord,
        put on at once.
        """
        way, found = self.rig.way, []
        for one, load in self.descent.loads.items():
            if one == key or (key in way.bays and way.tied and way.home(one) == key):
                found.append((load, 1.0))
            elif way.tied and key in way.bays and way.bays.index(way.home(one)) > way.bays.index(key):
                hanging = min(self.airframe.forward(key).mass, self.airframe.aft(key).mass)
                found.append((load, min(1.0, SUDDEN * hanging / self.airframe.mass)))
        return tuple(found)
