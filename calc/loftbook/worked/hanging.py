"""How everything hangs: depths of parts, cords and open canopies below the line attachment that carries them. SI."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from loftbook.physics import cord
from loftbook.rig.bay_fields import NOSE_ALONG, TWO_SECTIONS
from loftbook.rig.ways import FORWARD, Way
from loftbook.worked.airframe import Airframe, Section, joined
from loftbook.worked.bay import Bay
from loftbook.worked.canopy import Canopy
from loftbook.worked.cord import Cord, Rigged


@dataclass(frozen=True)
class Hung:
    """A part: depths of its upper and lower end [m]; beside: it hangs next to the cord that leads further down."""

    section: Section
    top: float
    bottom: float
    nose: bool
    beside: bool = False


@dataclass(frozen=True)
class Leg:
    """A length of cord between two depths [m]; beside: it leads to the parts that hang beside."""

    top: float
    bottom: float
    beside: bool = False


@dataclass(frozen=True)
class Picture:
    """What hangs where; canopies: each open one with the depth of its line attachment [m], the carrying one first.

    sides: the parts forward and aft of the cord, the upper one first where they hang in line; None where it ties one
    part only. pair: the two that come nearest to each other, the upper one first: the sides, or one of them and what hangs
    on from the other.
    """

    parts: tuple[Hung, ...]
    legs: tuple[Leg, ...]
    canopies: tuple[tuple[Canopy, float], ...]
    sides: tuple[Hung, Hung] | None = None
    pair: tuple[Hung, Hung] | None = None

    @property
    def in_line(self) -> bool:
        """Whether the sides hang one under the other, not next to each other."""
        return self.sides is not None and self.sides[0].beside == self.sides[1].beside

    @property
    def clearance(self) -> float | None:
        """How far the nearest pair stays apart [m], negative when they can meet."""
        return self.pair and _apart(self.pair)

    @property
    def tip_to_mouth(self) -> float | None:
        """The same of the two sides alone [m]."""
        return self.sides and _apart(self.sides)


def _apart(pair: tuple[Hung, Hung]) -> float:
    """Upper end of the lower one above the lower end of the upper one [m]."""
    return pair[1].top - pair[0].bottom


@dataclass(frozen=True)
class Hangs:
    """How it hangs once a bay or canopy has opened; `picture(key)` is about that one's cord."""

    way: Way
    airframe: Airframe
    bays: Mapping[str, Bay]
    rigged: Mapping[str, Rigged]
    canopies: Mapping[str, Canopy]

    def picture(self, key: str) -> Picture:
        """Under the canopy of that cord, or under the one that carries it all where the cord has none."""
        if not self.rigged[key].ties_two:
            return self._alone(key)
        carrying = key if key in self.canopies else self.way.home(self.way.canopies[-1])
        return _Tied(self, carrying).picture(key)

    @property
    def shoulders(self) -> float:
        """What is hidden in the joints while the rocket is whole [m]: the tail is longer by it than the rest of the length."""
        return sum(bay.shoulder for bay in self.bays.values())

    def _alone(self, key: str) -> Picture:
        """One part on one cord: a part that comes down by itself, or the airframe under a canopy packed as a guest."""
        rigged, first = self.rigged[key], key == FORWARD
        section = self.airframe.sections[0 if first else -1]
        top = rigged.cord.length - (0.0 if first else rigged.depth)
        hung = Hung(section, top, top + section.length + (0.0 if first else self.shoulders), first)
        return Picture((hung,), (Leg(0.0, top),), ((self.canopies[key], 0.0),))


@dataclass(frozen=True)
class _Tied:
    """All parts tied together, under the canopy of one bay."""

    hangs: Hangs
    carrying: str

    @property
    def canopy(self) -> Canopy:
        """The one that carries it."""
        return self.hangs.canopies[self.carrying]

    @property
    def _cord(self) -> Cord:
        return self.hangs.rigged[self.carrying].cord

    @cached_property
    def _other(self) -> str | None:
        """The bay that has opened before, if any."""
        bays = self.hangs.way.bays
        return next(iter(bays[: bays.index(self.carrying)]), None)

    @cached_property
    def _forward_parted(self) -> bool:
        """Whether the other joint lies forward of this one."""
        airframe = self.hangs.airframe
        return self._other is not None and airframe.joint(self._other) < airframe.joint(self.carrying)

    @cached_property
    def _sections(self) -> tuple[Section, ...]:
        """From the nose aft, what is still joined as one."""
        airframe = self.hangs.airframe
        here, other = airframe.joint(self.carrying), airframe.joint(self._other) if self._other else 0
        cuts = sorted({0, here, other, len(airframe.sections)})
        return tuple(joined(airframe.sections[a:b]) for a, b in pairwise(cuts))

    @cached_property
    def _hung(self) -> tuple[Hung, ...]:
        """The same as they hang: forward of the joint, aft of it, and last what hangs on from one of them."""
        rigged = self.hangs.rigged[self.carrying]
        at = 1 if self._forward_parted else 0
        fore, aft = self._sections[at], self._sections[at + 1]
        place = cord.hanging(self._cord.length, rigged.depth, self._cord.gap, fore.length)
        first = Hung(fore, place.nose_top, place.nose_tip, at == 0, beside=not self._forward_parted)
        second = Hung(aft, place.mouth, place.mouth + self._length(aft), nose=False, beside=self._forward_parted)
        if not self._other:
            return first, second
        upper, further = (first, self._sections[0]) if self._forward_parted else (second, self._sections[-1])
        top = upper.bottom + self._between(self._other)
        return first, second, Hung(further, top, top + self._length(further), nose=self._forward_parted)

    def _length(self, section: Section) -> float:
        """As it hangs [m]: the tail with what is hidden in the joints."""
        return section.length + (self.hangs.shoulders if section == self._sections[-1] else 0.0)

    def _between(self, key: str) -> float:
        """Cord between the two parts that it ties in line [m]; the rest lies in its bay."""
        return self.hangs.rigged[key].cord.free - self.hangs.rigged[key].depth

    def picture(self, key: str) -> Picture:
        """All of it, about one cord: the carrying canopy's own, or the one between the parts that hang in line."""
        first, second, *further = self._hung
        legs = [Leg(0.0, first.top, first.beside), Leg(0.0, second.top, second.beside)]
        canopies = [(self.canopy, 0.0)]
        for hung in further:
            assert self._other
            upper = first if self._forward_parted else second
            legs.append(Leg(upper.bottom, hung.top))
            if self._other in self.hangs.canopies:
                canopies.append((self.hangs.canopies[self._other], upper.bottom + self._tied_in(self._other)))
            if key == self._other:
                return Picture(self._hung, tuple(legs), tuple(canopies), (upper, hung), (upper, hung))
        return Picture(self._hung, tuple(legs), tuple(canopies), (first, second), self._nearest)

    def _tied_in(self, key: str) -> float:
        """Where on the cord between two parts in line its canopy is tied in, seen from the upper one [m]."""
        rope = self.hangs.rigged[key].cord
        if self._forward_parted:
            return rope.length - self.hangs.rigged[key].depth
        return {TWO_SECTIONS: rope.gap, NOSE_ALONG: -rope.gap}.get(rope.layout, 0.0)

    @property
    def _nearest(self) -> tuple[Hung, Hung]:
        """The tip forward and the mouth aft; or, where more hangs on from the forward side, that and the aft part."""
        first, second, *further = self._hung
        found = [(first, second)]
        for hung in further if self._forward_parted else ():
            found.append(max((hung, second), (second, hung), key=_apart))
        return min(found, key=_apart)
