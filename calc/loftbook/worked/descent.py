"""Coming down: each body that reaches the ground by itself, its openings, its full run, its steady sinking. SI."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import ceil

from loftbook.physics import airframe, canopy, descent, motion, opening, scatter, strides
from loftbook.physics.descent import Column, Landing, Phase
from loftbook.physics.elementary import sqrt
from loftbook.physics.motion import Instant, Run
from loftbook.physics.opening import HandbookLoads
from loftbook.physics.scatter import Cell, Ground, Scatter, Spreads
from loftbook.physics.spread import Spread
from loftbook.physics.strides import Moment, Opened
from loftbook.physics.wind import Vector, compass_point
from loftbook.rig.rig import Rig
from loftbook.rig.rocket_fields import BROADSIDE, TIMED
from loftbook.rig.ways import FORWARD, MAIN
from loftbook.tables import known
from loftbook.worked.airframe import Airframe
from loftbook.worked.canopy import Canopy
from loftbook.worked.joint import Charge
from loftbook.worked.sky import Sky

FILLING_SCATTER = 0.25  # of the filling constants, Knacke 1991, Table 5-6 (memory)
OPENS_TOO_FAST = 45.0  # m/s at which no canopy that lands a body may open: our limit
FAR_TOO_HARD = 1.5  # times the usual touchdown rate: our limit
TOO_LOW, LOW, SHORT = 50.0, 100.0, 5.0  # m above ground, m, s: a main that settles lower is refused, looked at again
FEW, MANY = 0.01, 0.1  # share that lands outside the field and is warned of, and refused (our choice)
SHOWN = 32  # instants of a run that a chart and its table show, those of its openings besides
Pick = Callable[[Spread], float]


def best_of(spread: Spread) -> float:
    """The best value of a range."""
    return spread.best


def high_of(spread: Spread) -> float:
    """Its high end."""
    return spread.high


def low_of(spread: Spread) -> float:
    """Its low end."""
    return spread.low


def widest(values: Iterable[Spread]) -> Spread:
    """The largest of every end."""
    found = list(values)
    return Spread(max(one.low for one in found), max(one.best for one in found), max(one.high for one in found))


SOONER, LATER = 1 - FILLING_SCATTER, 1 + FILLING_SCATTER


@dataclass(frozen=True)
class OpeningLoad:
    """One canopy's opening in its worst corner [N]: after the fastest way down to it, with the most drag of its own.

    hardest: the greatest pull; speed: at line stretch [m/s]; corner: in words, where that lies; book: the handbook's
    values at that speed, filling a quarter sooner.
    """

    canopy: Canopy
    hardest: float
    speed: float
    corner: str
    book: HandbookLoads

    @property
    def design(self) -> float:
        """The larger credible one: hardest full run, or finite mass with Cx."""
        return max(self.hardest, self.book.finite_cx)

    @property
    def finite_mass(self) -> Spread:
        """The handbook's value without gravity, from a Cx of one to the family's [N]."""
        return Spread(self.book.finite, self.book.finite, self.book.finite_cx)


def opening_load(mass: float, one: Canopy, opened: Opened, sky: Sky, before: Sequence[str]) -> OpeningLoad:
    """A canopy that carries a mass [kg] opens as on the fastest way down; before: in words, the least of what braked it."""

    def filled(share: float) -> tuple[float, Moment]:
        own = one.opening(opened.at.height, high_of, share)
        return strides.filling(mass, own, opened.before, opened.at, sky.elevation, sky.air, opened.below)

    pull, after = filled(SOONER)
    # filling later is harder only where gravity wins while it fills
    late = filled(LATER)[0] if after.speed > opened.at.speed else 0.0
    book = opening.handbook_loads(
        mass,
        sky.air.density(sky.elevation + opened.at.height),
        one.drag_area.high,
        one.diameter,
        max(opened.at.speed, 0.1),
        one.filling * SOONER,
        one.cx,
    )
    sinking = strides.sinking_pull(mass, opened.before + one.drag_area.low, opened.at.height, sky.elevation, sky.air)
    corner = ", ".join((*before, f"most of the {one.name}, filling a quarter {'later' if late > pull else 'sooner'}"))
    return OpeningLoad(one, max(pull, late, sinking), opened.at.speed, corner, book)


@dataclass(frozen=True)
class Touch:
    """A section as it touches down: its mass [kg], that of the canopies that flew in it [kg], its rate [m/s]."""

    name: str
    whole: float
    packed: float
    rate: Spread

    @property
    def mass(self) -> float:
        """Without its canopies [kg]; 0 where they are reckoned to weigh more than it."""
        return max(0.0, self.whole - self.packed)

    @cached_property
    def energy(self) -> Spread:
        """[J]."""
        return self.rate.map(lambda rate: descent.kinetic_energy(self.mass, rate))


@dataclass(frozen=True)
class Landed:
    """Where a body may land: its scattered landings on the field."""

    fall: "Fall"
    scatter: Scatter
    ground: Ground

    @cached_property
    def outside(self) -> float:
        """Share that does not land on the field."""
        return scatter.share_outside(self.scatter.spots, self.ground)

    @cached_property
    def outside_by_direction(self) -> tuple[float, ...]:
        """The same for this wind turned clockwise by no … seven eighths of a circle."""
        return tuple(scatter.directions(self.scatter.spots, self.ground))

    @cached_property
    def towards(self) -> tuple[str, ...]:
        """Which way from the pad it lands, its drag at its best, for the wind turned likewise; empty where it lands at the pad."""
        spot = self.fall.landings[1].spot
        return tuple(compass_point(scatter.turned([spot], i)[0]) for i in range(8))

    @cached_property
    def far(self) -> Vector:
        """The landing that nine in ten lie no farther from the pad than [m]."""
        return scatter.farthest_of(self.scatter.spots, 0.9)

    @property
    def far_walk(self) -> float:
        """How far that is from the pad [m]."""
        return sqrt(self.far[0] * self.far[0] + self.far[1] * self.far[1])

    @property
    def broad(self) -> float:
        """A length [m] of which some forty squares cover where nine in ten land; 0 where nothing scatters."""
        ellipse = self.scatter.ellipse
        return max(sqrt(ellipse.long * ellipse.short) / 3, ellipse.long / 8)

    def levels(self, side: float) -> tuple[tuple[Cell, ...], ...]:
        """Cells of a side [m] that hold half of the landings, with these nine in ten, and all."""
        return scatter.levels(scatter.cells(self.scatter.spots, side))


def minutes(way: float) -> int:
    """How long a walk of a way [m] takes at the slow end of walking [min], whole ones and never too few."""
    return ceil(scatter.walking_time(way, known("walk").low) / 60 - 1e-9)


def shown(run: Run) -> tuple[Instant, ...]:
    """Instants of a run spread evenly over its time, every one of its openings among them."""
    end, instants = run.touchdown.time, run.instants
    kept = {0, len(instants) - 1}
    wanted = 1
    for i, instant in enumerate(instants):
        if instant.time >= end * wanted / SHOWN:
            kept.add(i)
            while wanted <= SHOWN and instant.time >= end * wanted / SHOWN:
                wanted += 1
    chosen = [instants[i] for i in kept]
    for filling in run.fillings:
        filled = filling.opened.time + 2 * filling.duration
        chosen += [filling.peak, *(one for one in instants if filling.opened.time <= one.time <= filled)]
    return tuple(sorted({one.time: one for one in chosen}.values(), key=lambda one: one.time))


@dataclass(frozen=True)
class Fall:
    """A body's whole way down.

    mass [kg]; openings: each canopy and the height above the field at which it opens [m], in falling order; top: where
    it begins [m]; speed: there [m/s]; bare: its drag area while it falls without a canopy [m^2], None where it doesn't.
    """

    name: str
    mass: float
    openings: tuple[tuple[Canopy, float], ...]
    top: float
    speed: float
    bare: Spread | None
    sky: Sky

    @property
    def last(self) -> Canopy:
        """The canopy that carries it to the ground."""
        return self.openings[-1][0]

    # --- in its corners ---

    def down(self, pick: Pick, share: float) -> tuple[tuple[Opened, ...], Moment]:
        """Each opening, and the touchdown, at one end of every range; share: of the filling constants.

        An earlier canopy stays open beside the last, whose drag area is counted whole on top of it.
        """
        made = [one.opening(height, pick, share) for one, height in self.openings]
        return strides.down(self.mass, self._bare(pick), made, self._start, self.sky.elevation, self.sky.air)

    def _bare(self, pick: Pick) -> float:
        return pick(self.bare) if self.bare else 0.0

    @property
    def _start(self) -> Moment:
        return Moment(0.0, self.top, self.speed)

    @cached_property
    def best(self) -> tuple[tuple[Opened, ...], Moment]:
        """The best of every range."""
        return self.down(best_of, 1.0)

    @cached_property
    def fastest(self) -> tuple[tuple[Opened, ...], Moment]:
        """Least drag of everything, filling a quarter later (the scatter handbooks give): the fastest at every height."""
        return self.down(low_of, LATER)

    @cached_property
    def run(self) -> Run:
        """The best way down at every instant, for a curve."""
        made = tuple([one.opening(height, best_of) for one, height in self.openings])
        return motion.run(self.mass, made, self.speed, self.sky.elevation, self.sky.air, self.top, self._bare(best_of))

    @cached_property
    def loads(self) -> dict[str, OpeningLoad]:
        """Every canopy's opening, by its key, in the order of opening."""
        found, before = {}, ["least drag without a canopy"] if self.bare else []
        for (one, _), opened in zip(self.openings, self.fastest[0], strict=True):
            found[one.key] = opening_load(self.mass, one, opened, self.sky, before)
            before = [*before, f"least drag of the {one.name}"]
        return found

    # --- the last canopy in its worst corners ---

    @cached_property
    def settled(self) -> Moment | None:
        """Where the last canopy is the latest to have filled and slowed down to near its steady rate; None for never.

        Filling a quarter later, with its least drag or its most; after the fastest way down or the slowest, on which it
        takes more time to fill.
        """
        before = [self.fastest[0][-1]]
        if len(self.openings) > 1 or self.bare:
            before.append(self.down(high_of, SOONER)[0][-1])
        found = []
        for opened in before:
            for pick in (low_of, high_of):
                own = self.last.opening(opened.at.height, pick, LATER)
                found.append(strides.settled(self.mass, own, opened, self.sky.elevation, self.sky.air))
        return None if None in found else min((one for one in found if one), key=lambda one: one.height)

    @property
    def settled_height(self) -> float:
        """Above ground then [m]; 0 where the ground is first."""
        return self.settled.height if self.settled else 0.0

    @property
    def settled_time(self) -> float:
        """What is left until touchdown then, at that speed or the steady rate at the field [s]; 0 where the ground is first."""
        return self.settled.height / max(self.settled.speed, self.last.rate.high) if self.settled else 0.0

    @property
    def run_touchdown(self) -> Spread:
        """Speed at touchdown by the full run, best and worst [m/s]."""
        best = self.best[1].speed
        settles = self.settled and self.settled.height > self.openings[-1][1] / 2  # soon: then no slow filling is felt at the ground
        return Spread(best, best, max(best, self.fastest[1].speed, 0.0 if settles else self.late_filled))

    @cached_property
    def late_filled(self) -> float:
        """Speed at touchdown where it comes slowest to the last opening, and that canopy, with its least drag, takes longest to fill [m/s]."""
        *before, (last, low) = self.openings
        made = [*(one.opening(height, high_of, SOONER) for one, height in before), last.opening(low, low_of, LATER)]
        return strides.down(self.mass, self._bare(high_of), made, self._start, self.sky.elevation, self.sky.air)[1].speed

    @cached_property
    def touchdown_rate(self) -> Spread:
        """The worse of steady sinking under the last canopy alone and of the full run [m/s]."""
        steady, run = self.last.rate, self.run_touchdown
        best = max(steady.best, run.best)
        return Spread(steady.low, best, max(steady.high, run.high))

    @property
    def slowed(self) -> bool:
        """Whether the full run has slowed down to the steady rate, or nearly, when it touches down."""
        return self.run_touchdown.high <= (1 + strides.NEAR) * self.last.rate.high

    # --- sinking steadily ---

    @cached_property
    def bare_rate(self) -> Spread | None:
        """Steady rate without a canopy, in the air at the field [m/s]."""
        return self.bare and self.bare.map(lambda area: canopy.terminal_rate(self.mass, area, self.sky.density))

    def phases(self, pick: Pick) -> list[Phase]:
        """Its phases at rates referred to the ground; `pick` takes low, best or high rate."""
        fall = [Phase(self.top, pick(self.bare_rate))] if self.bare_rate else []
        return fall + [Phase(height, pick(one.rate)) for one, height in self.openings]

    @cached_property
    def column(self) -> Column:
        """Up to the greatest height that the scatter draws."""
        top, heights = scatter.highest(self.top, self.release_scatter), [height for _, height in self.openings]
        nodes = (*self.sky.bends, self.top, *heights)
        return descent.column(top, self.sky.elevation, self.sky.air, self.sky.wind, nodes)

    @property
    def release_scatter(self) -> float:
        """Half-range of every opening's height, as a share."""
        return self.sky.rig.number("scatter.release")

    @cached_property
    def landings(self) -> tuple[Landing, Landing, Landing]:
        """Sinking steadily: fastest, best, slowest."""
        fast, best, slow = (descent.landing(self.column, self.phases(pick)) for pick in (high_of, best_of, low_of))
        return fast, best, slow

    @property
    def time(self) -> Spread:
        """From the top to the ground, sinking steadily [s]."""
        fast, best, slow = self.landings
        return Spread(fast.time, best.time, slow.time)

    @property
    def drift(self) -> Spread:
        """From the pad to where it lands, over the range of its drag [m]."""
        low, high = sorted((self.landings[0].distance, self.landings[2].distance))
        best = self.landings[1].distance
        return Spread(min(low, best), best, max(high, best))

    @property
    def most_speed(self) -> float:
        """In the full run [m/s]."""
        return max(instant.speed for instant in self.run.instants)

    @cached_property
    def pulls(self) -> dict[str, Spread]:
        """The greatest pull of every canopy by the full run, best and in its worst corner, by its key [N]."""
        return {
            one.key: Spread(opened.pull, opened.pull, max(opened.pull, self.loads[one.key].hardest))
            for (one, _), opened in zip(self.openings, self.best[0], strict=True)
        }


@dataclass(frozen=True)
class Descent:
    """The flight from the top to the ground: one body, or two that part."""

    rig: Rig
    sky: Sky
    airframe: Airframe
    canopies: dict[str, Canopy]

    @property
    def top(self) -> float:
        """Height of the top above the field [m]."""
        return self.rig.number("flight.apogee")

    @property
    def main_height(self) -> float:
        """Height at which the main opens [m]: low, or at the top."""
        return self.rig.optional("flight.main_height") or self.top

    @property
    def motor_error(self) -> float | None:
        """How early or late the motor's own charge may fire that opens the first bay [s]; None where none does."""
        return Charge(self.rig.of(self.rig.way.bays[0])).delay_error

    @property
    def late(self) -> float:
        """How early or late the first charge may fire [s]: as typed, of a motor's own charge at least its error."""
        return max(self.rig.number("flight.delay"), self.motor_error or 0.0)

    @property
    def release_speed(self) -> float:
        """Speed when the first charge fires, early or late [m/s]."""
        return opening.late_release_speed(self.rig.number("flight.forward_speed"), self.late)

    @cached_property
    def bare(self) -> Spread | None:
        """Drag area of the parts while they fall without a canopy [m^2]; None where one opens at the top."""
        if not self.rig.way.falls:
            return None
        if self.rig.text("flight.fall") == TIMED:
            low, high = self.rig.number("flight.fall_low"), self.rig.number("flight.fall_high")
            rates = Spread(low, (low + high) / 2, high)
            return rates.map(lambda rate: canopy.drag_area_for(self.airframe.mass, rate, self.sky.density))
        wide = self.rig.number("rocket.diameter")
        bodies = [(section.length, wide) for section in self.airframe.sections]
        attitude: airframe.Attitude = "broadside" if self.rig.text("flight.fall") == BROADSIDE else "tumbling"
        return airframe.bare_drag_area(bodies, attitude, self.airframe.mass, self.sky.density)

    def _fall(self, name: str, keys: tuple[str, ...]) -> Fall:
        low = (*self.rig.way.low, *self.rig.way.held)
        openings = tuple((self.canopies[key], self.main_height if key in low else self.top) for key in keys)
        return Fall(name, openings[-1][0].carries, openings, self.top, self.release_speed, self.bare, self.sky)

    @cached_property
    def falls(self) -> tuple[Fall, ...]:
        """Each body that reaches the ground by itself, the main's first."""
        way = self.rig.way
        if way.tied:
            return (self._fall("rocket", way.canopies),)
        return tuple(self._fall(self.canopies[key].name, (key,)) for key in way.canopies)

    @property
    def main(self) -> Fall:
        return self.falls[0]

    def fall_of(self, canopy: str) -> Fall:
        """The body that hangs under a canopy."""
        return next(fall for fall in self.falls if any(one.key == canopy for one, _ in fall.openings))

    @cached_property
    def loads(self) -> dict[str, OpeningLoad]:
        """Every canopy's opening in its worst corner, by its key, in the order of opening."""
        return {key: load for fall in self.falls for key, load in fall.loads.items()}

    @cached_property
    def opened(self) -> dict[str, Opened]:
        """The same at the best of every range."""
        return {one.key: opened for fall in self.falls for (one, _), opened in zip(fall.openings, fall.best[0], strict=True)}

    def spreads(self, fall: Fall) -> Spreads:
        """What is not known exactly about a body's way down."""
        areas = [*([fall.bare] if fall.bare else []), *(one.drag_area for one, _ in fall.openings)]
        return Spreads(
            tuple((area.low / area.best, area.high / area.best) for area in areas),
            self.rig.number("scatter.mass"),
            self.rig.number("scatter.wind"),
            fall.release_scatter,
            self.rig.number("scatter.direction"),
            self.late,
        )

    def landed(self, count: int) -> tuple[Landed, ...]:
        """`count` landings of each body drawn about its best one, the main's first."""
        made = []
        for seed, fall in enumerate(self.falls, start=1):
            drawn = scatter.scattered(fall.column, tuple(fall.phases(best_of)), self.spreads(fall), count, seed)
            made.append(Landed(fall, drawn, self.sky.ground))
        return tuple(made)

    # --- touching down ---

    @cached_property
    def touching(self) -> dict[str, Touch]:
        """Each section by "nose", "middle", "body"; of two parts apart "forward", "aft". Canopies are not in their masses."""
        nose, *middle, tail = self.airframe.sections
        rate = self.main.touchdown_rate
        if not self.rig.way.tied:
            ahead, behind = self.canopies[FORWARD], self.canopies[MAIN]
            return {
                "forward": Touch(ahead.name, nose.mass, ahead.mass, self.fall_of(FORWARD).touchdown_rate),
                "aft": Touch(behind.name, tail.mass, behind.mass, rate),
            }
        found = {"nose": Touch(nose.name, nose.mass, 0.0, rate)}
        for one in middle:
            found["middle"] = Touch(one.name, one.mass, 0.0, rate)
        packed = sum(one.mass for one in self.canopies.values())
        return found | {"body": Touch(tail.name, tail.mass, packed, rate)}

    # --- in time ---

    @property
    def latest(self) -> Fall:
        """The body whose last canopy has settled lowest."""
        return min(self.falls, key=lambda fall: (fall.settled_height, fall.settled_time))

    @property
    def pulls(self) -> dict[str, Spread]:
        """The greatest pull of every canopy by the full run, by its key [N]."""
        return {key: pull for fall in self.falls for key, pull in fall.pulls.items()}

    @property
    def most_drag(self) -> Spread:
        """The largest pull of any canopy [N]."""
        return widest(self.pulls.values())

    @property
    def fastest_opening(self) -> OpeningLoad:
        """Of the canopies that carry a body to the ground, the one that opens at the greatest speed."""
        return max((fall.loads[fall.last.key] for fall in self.falls), key=lambda load: load.speed)

    @property
    def hardest(self) -> Touch:
        """The section that touches down with the most energy."""
        return max(self.touching.values(), key=lambda touch: touch.energy.high)
