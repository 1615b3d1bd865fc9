"""What if one thing fails: each single failure of a rig, taken through the same motion and the same chain. SI.

Which failures there are follows from the rig's row in `rig.ways`: its bays, canopies, cords, and what fires them.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache
from itertools import pairwise
from typing import Final, Literal

from loftbook.physics import airframe, descent, failing, opening, scatter, strides
from loftbook.physics.atmosphere import G0
from loftbook.physics.canopy import terminal_rate
from loftbook.physics.chain import Part
from loftbook.physics.descent import Landing, Phase
from loftbook.physics.elementary import sqrt
from loftbook.physics.spread import Spread
from loftbook.physics.strides import NEAR, Moment, Opened
from loftbook.physics.wind import Vector
from loftbook.rig.bay_fields import NOTHING
from loftbook.rig.ways import WAYS, Way
from loftbook.tables import known
from loftbook.worked.airframe import Section, joined
from loftbook.worked.canopy import Canopy
from loftbook.worked.descent import LATER, OpeningLoad, Pick, best_of, high_of, low_of, opening_load
from loftbook.worked.electronics import BACKUP, DEVICE, Electronics
from loftbook.worked.joint import FASTEST, Charge
from loftbook.worked.loads import Chain
from loftbook.worked.worked import Worked

TANGLED = Spread(0.1, 0.2, 1 / 3)  # share of its drag that a tangled drogue keeps (our choice)
LANDS_TOO_FAST = 12.0  # m/s at touchdown: above it nothing is said to survive (our choice)
Verdict = Literal["holds", "lands hard", "breaks", "falls"]
HOLDS: Final = "holds"
HARD: Final = "lands hard"
BREAKS: Final = "breaks"
FALLS: Final = "falls"
Openings = tuple[tuple[Canopy, float], ...]  # each canopy and the height above the field at which it opens [m]


def stays_in(way: Way) -> tuple[str, ...]:
    """Canopies that may fail by themselves, another one still opening."""
    return way.canopies if len(way.canopies) > 1 else ()


def tangles(way: Way) -> tuple[str, ...]:
    """Canopies that slow the rocket down for a later one."""
    return tuple(key for key in stays_in(way) if way.tied and key not in (*way.low, *way.held))


def too_soon(way: Way) -> tuple[str, ...]:
    """Canopies that open low, and so may open too high."""
    return tuple(key for key in way.canopies if key in (*way.low, *way.held))


def pinned(way: Way) -> tuple[str, ...]:
    """Those of them that pins hold while another bay opens."""
    return tuple(key for key in too_soon(way) if key in way.bays[1:])


def cord_ends(way: Way, key: str) -> tuple[str, ...]:
    """Where a cord may part so that it matters: "aft" or "fore" of its canopy, "" where only one thing can come of it."""
    return ("aft", "fore") if key in way.bays and way.tied and way.tenants(key) else ("",)


def _cord_name(key: str, end: str) -> str:
    return f"{key}-cord-{end}" if end else f"{key}-cord"


def names(way: Way) -> tuple[str, ...]:
    """Every failure that a way down may have, by its permanent name."""
    return (
        "nothing",
        "early",
        "late",
        *(f"{key}-in" for key in stays_in(way)),
        *(f"{key}-tangled" for key in tangles(way)),
        *(f"{key}-pins" for key in pinned(way)),
        *(f"{key}-at-top" for key in too_soon(way)),
        *(("first-bay-shut",) if len(way.bays) > 1 else ()),
        "backup-only",
        *(_cord_name(key, end) for key in way.keys for end in cord_ends(way, key)),
        "thrust",
        "nothing-opens",
        "never-parted",
    )


NAMES = tuple(dict.fromkeys(name for way in WAYS.values() for name in names(way)))


@dataclass(frozen=True)
class Body:
    """One thing that comes to the ground by itself.

    sections: their masses as they land [kg], each by itself; mass: of all that hangs together [kg]; openings in falling
    order, every canopy carrying that mass; bare: its drag area while none is open [m^2]; top [m], speed [m/s]: where and how
    fast its own way begins; onward: its speed across while it falls without a canopy [m/s]; before: heights [m] and rates
    [m/s] of the way until then, shared with others.
    """

    among: "Failures" = field(repr=False, compare=False)
    name: str
    sections: tuple[tuple[str, float], ...]
    mass: float
    openings: Openings
    bare: Spread
    top: float
    speed: float
    onward: float = 0.0
    before: tuple[tuple[float, Spread], ...] = ()
    already: tuple[str, ...] = ()  # canopies that had opened before

    @property
    def falls(self) -> bool:
        """Whether it comes to the ground without a canopy."""
        return not self.openings

    def _fall(self, drag_area: float, start: Moment, floor: float) -> Moment:
        sky = self.among.worked.sky
        return strides.fall(self.mass, drag_area, start, floor, sky.elevation, sky.air)

    @cached_property
    def _fast(self) -> tuple[tuple[Opened, ...], Moment]:
        """Each opening on the fastest way down, and its touchdown."""
        return self._down(low_of)

    def _down(self, pick: Pick) -> tuple[tuple[Opened, ...], Moment]:
        """With one end of every drag area, each canopy filling a quarter later."""
        sky, made = self.among.worked.sky, [one.opening(height, pick, LATER) for one, height in self.openings]
        return strides.down(self.mass, pick(self.bare), made, Moment(0.0, self.top, self.speed), sky.elevation, sky.air)

    @cached_property
    def way(self) -> tuple[tuple[float, float], ...]:
        """Times [s] and heights [m] from the top of the flight to the ground, on its fastest way down: every opening a corner."""
        time, made = 0.0, list[tuple[float, float]]()
        ends = [*(height for height, _ in self.before), self.top][1:]
        for (height, rate), end in zip(self.before, ends, strict=True):
            made.append((time, height))
            time += max(0.0, height - end) / rate.high
        opened, landed = self._fast
        spots = [(0.0, self.top), *((one.at.time, one.at.height) for one in opened), (landed.time, 0.0)]
        return (*made, *((time + after, height) for after, height in spots))

    # --- openings ---

    @cached_property
    def loads(self) -> dict[str, OpeningLoad]:
        """Every opening in its worst corner: after the least drag before it, with the most of its own."""
        return {
            one.key: opening_load(self.mass, one, opened, self.among.worked.sky, ["least drag before it"])
            for (one, _), opened in zip(self.openings, self._fast[0], strict=True)
            if one.key not in self.already
        }

    # --- touching down ---

    @cached_property
    def rate(self) -> Spread:
        """At touchdown [m/s]: steady under the last canopy or faster where it has not slowed down; or of the fall without one."""
        if self.falls:
            start = Moment(0.0, self.top, self.speed)
            slow, best, fast = (self._fall(pick(self.bare), start, 0.0).speed for pick in (high_of, best_of, low_of))
            return Spread(*sorted((slow, best, fast)))
        steady, fast = self.openings[-1][0].rate, self._fast[1].speed
        if self.slowed:
            return Spread(steady.low, steady.best, max(steady.high, fast))
        best = max(steady.best, min(fast, self._down(best_of)[1].speed))
        return Spread(min(steady.low, best), best, max(steady.high, fast))

    @property
    def slowed(self) -> bool:
        """Whether it has slowed down to the steady rate of its last canopy, or nearly, when it touches down."""
        return not self.falls and self._fast[1].speed <= (1 + NEAR) * self.openings[-1][0].rate.high

    @cached_property
    def energy(self) -> Spread:
        """Of its heaviest section at touchdown [J]."""
        heaviest = max(mass for _, mass in self.sections)
        return self.rate.map(lambda rate: descent.kinetic_energy(heaviest, rate))

    # --- time and place ---

    @cached_property
    def _phases(self) -> list[tuple[float, Spread]]:
        """Heights from which it sinks at which steady rate."""
        bare = [(self.top, self.bare.map(self._steady))] if self._first < self.top else []
        return [*self.before, *bare, *((height, one.rate) for one, height in self.openings)]

    def _steady(self, drag_area: float) -> float:
        """Rate without a canopy, in the air at the field [m/s]."""
        return terminal_rate(self.mass, drag_area, self.among.worked.sky.density)

    @cached_property
    def _landings(self) -> tuple[Landing, Landing, Landing]:
        """Sinking steadily: fastest, best, slowest."""
        fast, best, slow = (
            descent.landing(self.among.column, [Phase(height, pick(rate)) for height, rate in self._phases])
            for pick in (high_of, best_of, low_of)
        )
        return fast, best, slow

    @property
    def _first(self) -> float:
        """Height at which the first canopy opens, or the ground [m]."""
        return self.openings[0][1] if self.openings else 0.0

    @cached_property
    def _bare_time(self) -> float:
        """That it falls without a canopy, at the most [s]: slowest, and from rest."""
        return self._fall(self.bare.high, Moment(0.0, self.top, 0.0), self._first).time

    @cached_property
    def _longer(self) -> float:
        """What a fall without a canopy takes longer than at its steady rate, because it begins slowly [s]."""
        if self._first >= self.top:
            return 0.0
        column, rate = self.among.column, self._steady(self.bare.high)
        steady = descent.landing(column, [Phase(self.top, rate), Phase(self._first, rate)]).time
        steady -= descent.landing(column, [Phase(self._first, rate)]).time
        return max(0.0, self._bare_time - steady)

    @cached_property
    def time(self) -> Spread:
        """From the top of the flight to the ground [s]."""
        fast, best, slow = (one.time for one in self._landings)
        if not self.before:
            fast = max(fast, self._fast[1].time)
        return Spread(min(fast, best), best, max(slow, best) + self._longer)

    @cached_property
    def _across(self) -> float:
        """How far it flies on by itself while it falls without a canopy, at the most [m]."""
        if not self.onward or self._first >= self.top:
            return 0.0
        return failing.carried_on(self.onward, self._bare_time, self.mass, self.bare.low, self.among.thinnest)

    @cached_property
    def spots(self) -> tuple[Vector, Vector]:
        """Where the wind sets it down, seen from the pad: fastest and slowest [m]; what it flies on by itself is not in it."""
        return self._landings[0].spot, self._landings[2].spot

    @cached_property
    def within(self) -> Spread:
        """Distance from the pad to where it may land [m]: wind, at the far end what it flies on by itself as well."""
        fast, best, slow = (one.distance for one in self._landings)
        far = max(fast, best, slow) + self._longer * self.among.strongest + self._across
        return Spread(max(0.0, min(fast, best, slow) - self._across), best, far)


def _hung(one: Body) -> str:
    """A body and what it hangs under."""
    canopies = " and ".join(canopy.name for canopy, _ in one.openings)
    return f"{one.name} under the {canopies}" if canopies else f"{one.name} without a canopy"


@lru_cache(64)  # the same few parts come loose in many failures
def _loose(length: float, width: float, mass: float, density: float) -> Spread:
    across = airframe.bare_drag_area([(length, width)], "broadside", mass, density)
    tumbling = airframe.bare_drag_area([(length, width)], "tumbling", mass, density)
    straight = airframe.nose_first_drag_area(width)
    return Spread(min(straight.low, tumbling.low), tumbling.best, max(across.high, tumbling.high))


@dataclass(frozen=True)
class Need:
    """A part that is too weak for a failure, and what it would have to be rated for [N] to bear it."""

    part: Part
    whose: str
    rating: float

    @property
    def factor(self) -> float:
        """How many times as strong as it is."""
        return self.rating / self.part.rating


@dataclass(frozen=True)
class Failure:
    """One thing that fails. name: permanent, as in `fails-name`; thrown: it flies on under thrust, at this speed [m/s]."""

    among: "Failures" = field(repr=False, compare=False)
    name: str
    title: str
    what: str
    helps: str
    bodies: tuple[Body, ...]
    thrown: float = 0.0

    @cached_property
    def loads(self) -> dict[str, OpeningLoad]:
        """Of every canopy that opens, the harder one where bodies differ."""
        found: dict[str, OpeningLoad] = {}
        for body in self.bodies:
            for key, load in body.loads.items():
                if key not in found or load.design > found[key].design:
                    found[key] = load
        return found

    @cached_property
    def hardest(self) -> OpeningLoad | None:
        """The fastest opening."""
        return max(self.loads.values(), key=lambda one: one.speed, default=None)

    # --- the chain ---

    @cached_property
    def chains(self) -> dict[str, Chain]:
        """Every cord that a canopy pulls at, under these openings; snatches grow with the speed."""
        known_loads, known_snatches = self.among.worked.descent.loads, self.among.worked.snatches
        snatches = {
            key: known_snatches[key] * load.speed / known_loads[key].speed if known_loads[key].speed else known_snatches[key]
            for key, load in self.loads.items()
        }
        found = {}
        for key, one in self.among.worked.chains.items():
            pulls = tuple((self.loads[o.canopy.key], share) for o, share in one.openings if o.canopy.key in self.loads)
            if pulls:
                before = tuple(self.loads[o.canopy.key] for o in one.before if o.canopy.key in self.loads)
                found[key] = replace(one, openings=pulls, before=before, snatches=snatches)
        return found

    @cached_property
    def parts(self) -> tuple[tuple[Part, str], ...]:
        """Every part of every such chain with whose it is, the weakest first."""
        found = [(part, key) for key, one in self.chains.items() for part in one.parts]
        return tuple(sorted(found, key=lambda one: one[0].margin))

    @property
    def margin(self) -> float | None:
        """Strength of the weakest part over its load; None where nothing opens."""
        return self.parts[0][0].margin if self.parts else None

    @property
    def breaks(self) -> bool:
        """Whether a part gives."""
        return self.margin is not None and self.margin < 1

    @cached_property
    def needs(self) -> tuple[Need, ...]:
        """What each part that is too weak would have to be rated for, the weakest first.

        A stronger cord of the same stretch is stiffer, so snatch and jerk grow with the root of its strength: counted in, for
        itself and for what is tied to it.
        """
        found = []
        for part, key in self.parts:
            if part.margin >= 1:
                break
            rating = self._rated(part, key)
            found.append(Need(part, key, rating))
        return tuple(found)

    def _rated(self, part: Part, key: str) -> float:
        """Rating with which a part bears its load, its cord strong enough [N]; of the cloth over its width [N/m]."""
        one, stiffer = self.chains[key], self._cord_factor(key)
        if part.name == "cord":
            return one.cord.strength * stiffer
        sudden = part.load * sqrt(stiffer) if not part.cause.startswith("opening") else 0.0
        if part.name == "link" or part.name.startswith(("anchor", "swivel", "bulkhead", "release")):
            sudden = max(sudden, max(one.snatch_pull, one.jerk or 0.0) * sqrt(stiffer)) if stiffer > 1 else sudden
        return max(part.load, sudden) / part.efficiency

    def _cord_factor(self, key: str) -> float:
        """How many times as strong the cord would have to be, never below one."""
        one = self.chains[key]
        bears = one.cord.strength * one.cord.end
        steady, sudden = one.opening_pull / bears, max(one.snatch_pull, one.jerk or 0.0) / bears
        return max(1.0, steady, sudden * sudden)

    @property
    def bearable(self) -> tuple[OpeningLoad, float] | None:
        """The opening that pulls hardest at the weakest part, and the speed at which that could be borne [m/s].

        Loads grow at least with the speed. None where nothing gives, or what gives does so when the charge fires.
        """
        if not self.breaks or self.parts[0][0].cause.startswith("cord"):
            return None
        part, key = self.parts[0]
        load = max(self.chains[key].openings, key=lambda one: one[0].design * one[1])[0]
        return load, load.speed * part.margin

    # --- touching down ---

    @cached_property
    def worst(self) -> Body:
        """The body that lands with most energy."""
        return max(self.bodies, key=lambda one: one.energy.high)

    @cached_property
    def rate(self) -> Spread:
        """The fastest touchdown [m/s]; where a part gives, its far end is what falls then."""
        if self.thrown:
            return Spread(self.thrown, self.thrown, self.thrown)
        fastest = max((one.rate for one in self.bodies), key=lambda one: one.high)
        return self._raised(fastest, self.among.loose_rate if self.breaks else 0.0)

    @cached_property
    def energy(self) -> Spread:
        """The hardest touchdown of a section [J]; likewise."""
        if self.thrown:
            heaviest = max(mass for one in self.bodies for _, mass in one.sections)
            return self.rate.map(lambda rate: descent.kinetic_energy(heaviest, rate))
        return self._raised(self.worst.energy, self.among.loose_energy if self.breaks else 0.0)

    def _raised(self, value: Spread, high: float) -> Spread:
        return Spread(value.low, value.best, max(value.high, high))

    @cached_property
    def within(self) -> Spread:
        """Distance to where the farthest of it may land [m]; of what flies on under thrust v^2/g, without air, at 45 degrees."""
        if self.thrown:
            reach = self.thrown * self.thrown / G0
            return Spread(0.0, reach, reach)
        far = max((one.within for one in self.bodies), key=lambda one: one.high)
        return Spread(min(one.within.low for one in self.bodies), far.best, far.high)

    @cached_property
    def time(self) -> Spread:
        """Until all of it is down [s]; of what flies on under thrust straight up and down without air, and no less than that."""
        if self.thrown:
            longest = 2 * self.thrown / G0
            return Spread(0.0, longest, longest)
        times = [one.time for one in self.bodies]
        return Spread(min(t.low for t in times), max(t.best for t in times), max(t.high for t in times))

    @cached_property
    def leaves(self) -> tuple[bool, ...]:
        """Whether this wind, turned clockwise by no … seven eighths of a circle, takes any of it off the field."""
        ground, spots = self.among.worked.sky.ground, [spot for one in self.bodies for spot in one.spots]
        return tuple(not all(ground.holds(spot) for spot in scatter.turned(spots, i)) for i in range(8))

    @property
    def soft(self) -> bool:
        """Whether every touchdown is slow and of little energy even at its worst."""
        return self.rate.high <= LANDS_TOO_FAST and self.energy.high <= known("energy").high

    @property
    def wider(self) -> float | None:
        """How many times as wide the last canopy of its worst body would have to be for a soft touchdown; None without one.

        The rate falls as the width grows; for one that has not slowed down yet that is no remedy.
        """
        if not self.worst.openings or not self.worst.slowed:
            return None
        return max(self.worst.rate.high / LANDS_TOO_FAST, sqrt(self.worst.energy.high / known("energy").high))

    @property
    def verdict(self) -> Verdict:
        """What the gear makes of it."""
        if self.thrown or (any(one.falls for one in self.bodies) and not self.soft):
            return FALLS
        if self.breaks:
            return BREAKS
        return HOLDS if self.soft else HARD


@dataclass(frozen=True)
class Failures:
    """All single failures of a rig."""

    worked: Worked = field(repr=False, compare=False)

    # --- what all share ---

    @cached_property
    def column(self) -> descent.Column:
        """Air and wind up to the top."""
        sky, down = self.worked.sky, self.worked.descent
        return descent.column(down.top, sky.elevation, sky.air, sky.wind, (*sky.bends, down.main_height))

    @cached_property
    def thinnest(self) -> float:
        """Air density at the top [kg/m^3]."""
        sky = self.worked.sky
        return sky.air.density(sky.elevation + self.worked.descent.top)

    @cached_property
    def strongest(self) -> float:
        """The strongest wind up to the top [m/s]; of measured layers between two of which it is never stronger."""
        heights = (self.worked.descent.top, 10.0, *(z for z in self.worked.sky.bends if z <= self.worked.descent.top))
        winds = [self.worked.sky.wind(height) for height in heights]
        return sqrt(max(x * x + y * y for x, y in winds))

    @cached_property
    def width(self) -> float:
        """Outer diameter, or where the rig does not say it the widest bay's inner one: narrower falls faster [m]."""
        if self.worked.rig.way.falls:
            return self.worked.rig.number("rocket.diameter")
        return max(bay.tube for bay in self.worked.bays.values())

    def loose(self, part: Section) -> Spread:
        """Drag area of one stick of the airframe that nothing is tied to [m^2]: nose first (fins keep a tail straight), tumbling,
        across the air."""
        return _loose(part.length, self.width, part.mass, self.worked.sky.density)

    @cached_property
    def tied(self) -> Spread:
        """Drag area of all parts tied together [m^2]: as the rig says or was timed; else from tumbling to across the air."""
        if (told := self.worked.descent.bare) is not None:
            return told
        frame, density = self.worked.airframe, self.worked.sky.density
        bodies = [(section.length, self.width) for section in frame.sections]
        across = airframe.bare_drag_area(bodies, "broadside", frame.mass, density)
        tumbling = airframe.bare_drag_area(bodies, "tumbling", frame.mass, density)
        return Spread(min(across.low, tumbling.low), tumbling.best, max(across.high, tumbling.high))

    @cached_property
    def whole(self) -> Spread:
        """Drag area of the rocket that never parted, nose first [m^2]."""
        return airframe.nose_first_drag_area(self.width)

    def rates(self, drag_area: Spread) -> Spread:
        """Steady rates of the whole rocket with a drag area [m^2] in the air at the field [m/s]."""
        return drag_area.map(lambda area: terminal_rate(self.worked.airframe.mass, area, self.worked.sky.density))

    @cached_property
    def early_speed(self) -> float:
        """Speed upward by which a first charge is early [m/s]."""
        return failing.early_speed(self.worked.descent.late, self.rates(self.whole).low, self.fastest_up)

    @cached_property
    def _loosened(self) -> list[Body]:
        """Every section by itself from the top."""
        down = self.worked.descent
        return [
            self._body(s.name, (s,), (), self.loose(s), down.top, down.release_speed) for s in self.worked.airframe.sections
        ]

    @cached_property
    def loose_rate(self) -> float:
        """The fastest touchdown of any section that nothing is tied to [m/s]."""
        return max(one.rate.high for one in self._loosened)

    @cached_property
    def loose_energy(self) -> float:
        """The hardest of them [J]."""
        return max(one.energy.high for one in self._loosened)

    # --- making bodies ---

    def _body(
        self,
        name: str,
        sections: tuple[Section, ...],
        openings: Openings,
        bare: Spread,
        top: float,
        speed: float,
        onward: float = 0.0,
        before: tuple[tuple[float, Spread], ...] = (),
    ) -> Body:
        mass = sum(section.mass for section in sections)
        carried = tuple((self._carrying(one, mass), min(height, top)) for one, height in openings)
        landing = tuple((s.name, self._landing_mass(s) if carried else s.mass) for s in sections)
        order = tuple(sorted(carried, key=lambda one: -one[1]))
        return Body(self, name, landing, mass, order, bare, top, speed, onward, before)

    def _pieces(self, bays: set[str]) -> tuple[Section, ...]:
        """What lands by itself where these bays have parted and the others are still shut."""
        sections, found = self.worked.airframe.sections, list[Section]()
        cuts = sorted({self.worked.airframe.joint(bay) for bay in bays})
        for first, last in pairwise((0, *cuts, len(sections))):
            found.append(joined(sections[first:last]))
        return tuple(found)

    def _landing_mass(self, section: Section) -> float:
        """Of a section under a canopy, or of several joined, canopies not counted in."""
        packed = {
            one.name: touch.whole - touch.mass
            for one, touch in zip(self.worked.airframe.sections, self.worked.descent.touching.values(), strict=True)
        }
        return section.mass - sum(packed[name] for name in section.name.split(" and "))

    def _carrying(self, one: Canopy, mass: float) -> Canopy:
        """The same canopy with another mass under it [kg]."""
        return one if abs(one.carries - mass) <= 1e-12 * mass else replace(one, carries=mass)

    @cached_property
    def _planned(self) -> dict[str, float]:
        """Each canopy's height of opening [m]."""
        return {one.key: height for fall in self.worked.descent.falls for one, height in fall.openings}

    def _flown(self, opened: Mapping[str, float], speed: float, drop: float = 0.0, parted: bool = True) -> tuple[Body, ...]:
        """All that comes down when these canopies open at these heights [m] and the first bay parts `drop` [m] below the top.

        parted: whether the first bay does part; otherwise it falls nose first until a canopy opens.
        """
        worked, top = self.worked, self.worked.descent.top
        start, canopies = top - drop, worked.canopies
        before = ((top, self.rates(self.whole)),) if drop else ()
        if worked.rig.way.tied or not parted:
            bare = self.tied if parted else self.whole
            openings = tuple((canopies[key], height) for key, height in opened.items())
            onward = worked.rig.number("flight.forward_speed")
            bays = {*(worked.rig.way.bays[:1] if parted else ()), *(worked.rig.way.home(key) for key in opened)}
            return (self._body("rocket", self._pieces(bays), openings, bare, start, speed, onward, before),)
        fore, *rest = worked.airframe.sections
        found = []
        for key in worked.rig.way.canopies:
            mine = (fore,) if key != worked.rig.way.bays[0] else tuple(rest)
            openings = ((canopies[key], opened[key]),) if key in opened else ()
            onward = 0.0 if openings else worked.rig.number("flight.forward_speed")
            found.append(
                self._body(worked.title(key), mine, openings, self.loose(joined(mine)), start, speed, onward, before)
            )
        return tuple(found)

    def _made(self, name: str, title: str, what: str, helps: str, bodies: tuple[Body, ...]) -> Failure:
        return Failure(self, name, title, what, helps, bodies)

    # --- speeds ---

    @cached_property
    def fastest_up(self) -> float:
        """The greatest speed on the way up [m/s]: as typed, or what coasts to the top without drag, whichever is more."""
        return max(self.worked.rig.number("flight.climb"), sqrt(2 * G0 * self.worked.descent.top))

    def _late(self, late: float) -> tuple[float, float]:
        """(speed [m/s], metres below the top) so long after the top [s], without drag; the ground where it comes first."""
        across, top = self.worked.rig.number("flight.forward_speed"), self.worked.descent.top
        drop = G0 * late * late / 2
        return opening.late_release_speed(across, late), min(drop, top)

    # --- the failures ---

    @cached_property
    def all(self) -> tuple[Failure, ...]:
        """In the order in which things happen."""
        return tuple(self._all())

    def _all(self) -> Iterator[Failure]:
        yield from self._errors()
        yield from self._canopies()
        if len(self.worked.rig.way.bays) > 1:
            yield self._first_bay()
        if self.electronics.needed:
            yield self._backup()
        yield from self._cords()
        yield self._thrust()
        yield self._nothing_opens()
        yield self._never_parts()

    @cached_property
    def pulled(self) -> tuple[tuple[Part, str, Failure], ...]:
        """Every part of every chain with whose it is, in the failure that pulls hardest at it; the weakest first."""
        found: dict[tuple[str, str], tuple[Part, str, Failure]] = {}
        for one in self.all:
            for part, key in one.parts:
                if (key, part.name) not in found or part.margin < found[key, part.name][0].margin:
                    found[key, part.name] = part, key, one
        return tuple(sorted(found.values(), key=lambda row: row[0].margin))

    def of(self, name: str) -> Failure | None:
        """By its name; None where this rig has no such failure."""
        return next((one for one in self.all if one.name == name), None)

    def _errors(self) -> Iterator[Failure]:
        """As planned, and the first charge early and late by its error."""
        down, planned = self.worked.descent, self._planned
        across, late = self.worked.rig.number("flight.forward_speed"), down.late
        yield self._made(
            "nothing", "As planned", "Everything works, and the first bay opens just at the top.", "", self._flown(planned, across)
        )
        if not late:
            return
        yield self._made(
            "early",
            "First charge early",
            "It opens before the top by the error of the charge, still climbing.",
            "A straighter flight, a delay or unit that keeps better time.",
            self._flown(planned, sqrt(across * across + self.early_speed * self.early_speed)),
        )
        speed, drop = self._late(late)
        yield self._made(
            "late",
            "First charge late",
            "It opens after the top by the error of the charge, falling."
            if drop < down.top
            else "The ground comes before the charge fires.",
            "A delay or unit that keeps better time.",
            self._flown(planned, speed, drop) if drop < down.top else self._flown({}, across, parted=False),
        )

    def _canopies(self) -> Iterator[Failure]:
        """Each canopy by itself: not open, tangled, or too soon."""
        way, planned, speed = self.worked.rig.way, self._planned, self.worked.descent.release_speed
        for key in stays_in(way):
            rest = {one: height for one, height in planned.items() if one != key}
            name = self.worked.title(key)
            stays = f"Its bay parts as planned; the {name if way.tied else 'canopy'} stays in, or comes out and never fills."
            bodies = self._flown(rest, speed)
            yield self._made(f"{key}-in", f"The {name} stays in" if way.tied else f"{name.capitalize()}: no canopy", stays, "A looser pack, and the shake test.", bodies)
            if key in tangles(way):
                yield self._made(
                    f"{key}-tangled",
                    f"The {name} tangles",
                    "It stands with a tenth to a third of its drag (our choice), beside that of the tumbling parts.",
                    "A swivel that turns, lines cleared before every fold.",
                    (self._tangled(bodies[0], key),),
                )
        for key in too_soon(way):
            yield from self._too_soon(key)

    def _tangled(self, body: Body, key: str) -> Body:
        area = self.worked.canopies[key].drag_area
        more = Spread(area.low * TANGLED.low, area.best * TANGLED.best, area.high * TANGLED.high)
        own = body.bare
        return replace(body, bare=Spread(own.low + more.low, own.best + more.best, own.high + more.high))

    def _too_soon(self, key: str) -> Iterator[Failure]:
        """A canopy that should open low: with the first bay, or at any height above its own."""
        way, down, top = self.worked.rig.way, self.worked.descent, self.worked.descent.top
        name = self.worked.title(key)
        alone = {key: top}
        if key in pinned(way):
            yield self._made(
                f"{key}-pins",
                f"The {name}'s pins shear",
                f"The jerk of the first bay shears them: the {name} opens with it, at the speed of that moment.",
                "More or thicker pins, a longer cord in the first bay, and a new ground test.",
                self._flown(alone, down.release_speed),
            )
        falling = self._rate_before(key)
        vacuum = sqrt(down.release_speed * down.release_speed + 2 * G0 * max(0.0, top - self._planned[key]))
        yield self._made(
            f"{key}-at-top",
            f"{name.capitalize()} opens at the top",
            f"Outputs swapped, a device that lets go, or a wrong setting: the {name} opens at the top, or anywhere above its "
            "height, as fast as it falls there.",
            "Labels on wires, charges and bays; a tug at the device before every flight.",
            self._flown(alone, max(down.release_speed, min(falling, vacuum))),
        )

    def _rate_before(self, key: str) -> float:
        """The greatest steady rate before a canopy opens, in the thin air of the top [m/s]."""
        earlier = [one for one in self.worked.canopies.values() if self._planned[one.key] > self._planned[key]]
        area = earlier[-1].drag_area.low if earlier else self.tied.low
        return terminal_rate(self.worked.airframe.mass, area, self.thinnest)

    def _first_bay(self) -> Failure:
        way, planned = self.worked.rig.way, self._planned
        first = way.bays[0]
        rest = {key: height for key, height in planned.items() if way.home(key) != first}
        return self._made(
            "first-bay-shut",
            "First bay stays shut",
            "No charge of the first bay parts it: it falls nose first, all in one piece, until the next bay opens.",
            "A second charge with a unit, a battery and a switch of its own; ground tests.",
            self._flown(rest, self.worked.rig.number("flight.forward_speed"), parted=False),
        )

    # --- the electronics ---

    @cached_property
    def electronics(self) -> Electronics:
        """What fires what."""
        way, rig = self.worked.rig.way, self.worked.rig
        return Electronics(rig, {key: Charge(rig.of(key), (key, *way.tenants(key))) for key in way.bays})

    @property
    def stands_in(self) -> bool:
        """Whether a second unit with a battery of its own is there."""
        return self.electronics.units > 1 and self.electronics.batteries > 1

    def _backup(self) -> Failure:
        """The first unit is dead from the start: what is left fires as it is set."""
        opened, late, parted = self._left_over()
        down, planned = self.worked.descent, self._planned
        low = {key: min(height, self._height_of_backup(key)) for key, height in planned.items() if key in opened}
        speed, drop = self._late(down.late + late)
        if drop >= down.top:
            low, parted = {}, False
        if not parted:
            speed, drop = self.worked.rig.number("flight.forward_speed"), 0.0
        none = not low
        return self._made(
            "backup-only",
            "One altimeter dead",
            "The first unit does nothing, and nothing stands in for it with a battery of its own: nothing opens."
            if none
            else "The first unit does nothing; what its stand-in fires opens later, or lower, as it is set.",
            "A second unit, battery and switch, and a second charge in each bay."
            if none
            else "A stand-in set closer to the first, never at the same moment.",
            self._flown(low, speed, drop, parted),
        )

    def _left_over(self) -> tuple[frozenset[str], float, bool]:
        """(canopies that still open, how much later the first bay parts [s], whether it does)."""
        way, open_bays, late = self.worked.rig.way, set[str](), 0.0
        if self.stands_in and not self.electronics.backup_wanted:
            return self._same_charge()
        stand_in = {one.key: one for one in self.electronics.of_unit(BACKUP)} if self.stands_in else {}
        for number, (key, charge) in enumerate(self.electronics.charges.items()):
            if charge.kind == NOTHING and number and open_bays:
                open_bays.add(key)  # it is pulled open
            elif not charge.fired and charge.kind != NOTHING:
                open_bays.add(key)  # by the motor
            elif key in stand_in:
                open_bays.add(key)
                late = stand_in[key].later if not number else late
        lets_go = {one.key for one in self.electronics.firings if one.what == DEVICE}
        left = frozenset(one for one in way.canopies if way.home(one) in open_bays and one not in lets_go)
        return left, late, way.bays[0] in open_bays

    def _same_charge(self) -> tuple[frozenset[str], float, bool]:
        """The same where no second charge is in the rig: each unit has an igniter of its own in the same charge.

        The second is set later by what is usual. What a device holds, only the first unit lets go.
        """
        lets_go = {one.key for one in self.electronics.firings if one.what == DEVICE}
        return frozenset(self.worked.rig.way.canopies) - lets_go, known("backup_delay").high, True

    def _height_of_backup(self, key: str) -> float:
        """Height at which a canopy's second charge opens it at the lowest [m]: as set, and what it falls in the time set."""
        charge = self.electronics.charges[self.worked.rig.way.home(key)]
        height = self._planned[key]
        if not charge.low or not charge.backed_up:
            return height
        set_at = charge.backup_height if charge.backup_height is not None else height
        falls = max(FASTEST, self._rate_before(key))
        return max(1.0, min(height, set_at) - charge.backup_later * falls)

    # --- cords ---

    def _cords(self) -> Iterator[Failure]:
        """Each cord at each of its ends; of one that a canopy alone hangs on, the canopy is gone."""
        way = self.worked.rig.way
        helps = "Cords, knots and anchors without wear, stronger than the design factor asks; retire what is singed."
        told = {"aft": ", aft", "fore": ", fore", "": ""}
        for key in way.keys:
            for end in cord_ends(way, key):
                title = f"{self.worked.title(key).capitalize()} cord parts{told[end]}"
                if key in way.bays and way.tied:
                    bodies: tuple[Body, ...] = self._parted(key, end)
                    what = f"It comes apart in two when that cord is first pulled: {'; '.join(map(_hung, bodies))}."
                else:
                    what = "Its canopy flies off alone."
                    left = {one: height for one, height in self._planned.items() if one != key}
                    bodies = self._flown(left, self.worked.descent.release_speed)
                yield self._made(_cord_name(key, end), title, what, helps, bodies)

    def _parted(self, key: str, end: str) -> tuple[Body, Body]:
        """What lies forward and aft of a cord that parts at one end when its bay opens."""
        worked, way, down = self.worked, self.worked.rig.way, self.worked.descent
        joint, frame = worked.airframe.joint(key), worked.airframe
        low = key in way.low
        top = down.main_height if low else down.top
        speed = max((self._opening_speed(one) for one in way.tenants(key)), default=down.release_speed) if low else down.release_speed
        before = tuple(phase for phase in self._before if phase[0] > top)
        found = []
        for side, sections in (("fore", frame.sections[:joint]), ("aft", frame.sections[joint:])):
            mine: dict[str, float] = {}
            for one in way.canopies:
                home = way.home(one)
                if side != end if home == key else (frame.joint(home) < joint) == (side == "fore"):
                    mine[one] = self._planned[one]
            openings = tuple((worked.canopies[one], min(height, top)) for one, height in mine.items())
            stick = joined(sections)
            onward = 0.0 if openings or low else worked.rig.number("flight.forward_speed")
            already = tuple(one for one in mine if mine[one] > top)
            body = self._body(stick.name, sections, openings, self.loose(stick), top, speed, onward, before)
            found.append(replace(body, already=already))
        return found[0], found[1]

    def _opening_speed(self, canopy: str) -> float:
        """At which a canopy opens when all goes well, at the most [m/s]."""
        return self.all_well.loads[canopy].speed

    @cached_property
    def all_well(self) -> Failure:
        """The planned way, opened late."""
        return self._made("", "", "", "", self._flown(self._planned, self.worked.descent.release_speed))

    @cached_property
    def _before(self) -> tuple[tuple[float, Spread], ...]:
        """Heights and rates of the planned way."""
        return tuple(self.all_well.bodies[0]._phases)

    # --- the worst ---

    def _thrust(self) -> Failure:
        """A joint parts while the motor burns: every canopy opens at the greatest speed, low, where the air is densest."""
        way, speed = self.worked.rig.way, self.fastest_up
        filling = max(one.filling * LATER * one.diameter for one in self.worked.canopies.values())
        low = max(2 * filling, 1.0)
        free = [key for key in way.canopies if key not in way.held] or list(way.canopies)
        made = self._flown(dict.fromkeys(free, low), speed)
        bodies = tuple(replace(one, top=low, openings=tuple((c, low) for c, _ in one.openings)) for one in made)
        return Failure(
            self,
            "thrust",
            "Parts under thrust",
            "A joint opens while the motor burns: canopies come out at the greatest speed, the half with the motor flies on, unguided.",
            "Pins that hold the way up, a vent that breathes, no loose shoulder.",
            bodies,
            speed,
        )

    def _nothing_opens(self) -> Failure:
        return self._made(
            "nothing-opens",
            "Parted, nothing opens",
            "The first bay parts, no canopy fills: "
            + ("the parts fall tied together." if self.worked.rig.way.tied else "each part falls by itself."),
            "Pack loosely, shake it out, two turns of line at most.",
            self._flown({}, self.worked.descent.release_speed),
        )

    def _never_parts(self) -> Failure:
        return self._made(
            "never-parted",
            "Never parted",
            "All power is lost: it falls nose first in one piece, and keeps its speed over the top.",
            "Fresh batteries, a second unit, a motor's charge as a stand-in.",
            self._flown({}, self.worked.rig.number("flight.forward_speed"), parted=False),
        )
