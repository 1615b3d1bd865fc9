"""Coming down: each body that reaches the ground by itself, its openings, its full run, its steady sinking. SI."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

from loftbook.physics import airframe, canopy, descent, motion, opening, scatter
from loftbook.physics.atmosphere import G0
from loftbook.physics.descent import Column, Landing, Phase
from loftbook.physics.motion import Instant, Opening, Run
from loftbook.physics.opening import HandbookLoads
from loftbook.physics.scatter import Ground, Scatter, Spreads
from loftbook.physics.spread import Spread
from loftbook.rig.rig import Rig
from loftbook.rig.rocket_fields import BROADSIDE, TIMED
from loftbook.rig.ways import FORWARD, MAIN
from loftbook.worked.airframe import Airframe
from loftbook.worked.canopy import Canopy
from loftbook.worked.joint import Charge
from loftbook.worked.sky import Sky

FILLING_SCATTER = 0.25  # of the filling constants, Knacke 1991, Table 5-6 (memory)
FASTEST = 40.0  # m/s before the main opens, under a drogue or without a canopy: our limit
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


SOONER, LATER = 1 - FILLING_SCATTER, 1 + FILLING_SCATTER


@dataclass(frozen=True)
class OpeningLoad:
    """One canopy's opening [N]: the full run (best, and hardest of all corners) and the handbook's values.

    speed: the greatest at line stretch over the corners [m/s]; corner: in words, where the hardest lies; book: of the
    handbook at that speed, with its greatest drag, filling a quarter sooner.
    """

    canopy: Canopy
    filling: motion.Filling
    hardest: float
    speed: float
    corner: str
    book: HandbookLoads

    @property
    def design(self) -> float:
        """The larger credible one: hardest full run, or finite mass with Cx."""
        return max(self.hardest, self.book.finite_cx)

    @property
    def full_run(self) -> Spread:
        """Greatest drag in the full run, from the best to the hardest [N]."""
        best = self.filling.peak.drag
        return Spread(best, best, self.hardest)

    @property
    def finite_mass(self) -> Spread:
        """The handbook's value without gravity, from a Cx of one to the family's [N]."""
        return Spread(self.book.finite, self.book.finite, self.book.finite_cx)


@dataclass(frozen=True)
class Touch:
    """A section as it touches down: its mass without canopies [kg], its rate [m/s]."""

    name: str
    mass: float
    rate: Spread

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

    def run_at(self, bare: Pick, corner: Sequence[tuple[Pick, float]]) -> Run:
        """The full run with gravity at one end of every range: `bare` picks the drag area without a canopy, `corner` that
        of each canopy and the share of its filling constant.

        An earlier canopy stays open beside the last, whose drag area is counted whole on top of it.
        """
        made: list[Opening] = [
            one.opening(height, *end) for (one, height), end in zip(self.openings, corner, strict=True)
        ]
        drag = bare(self.bare) if self.bare else 0.0
        return motion.run(self.mass, made, self.speed, self.sky.elevation, self.sky.air, self.top, drag)

    @cached_property
    def run(self) -> Run:
        return self.run_at(best_of, [(best_of, 1.0)] * len(self.openings))

    @cached_property
    def fastest_run(self) -> Run:
        """Least drag of everything, filling a quarter later (the scatter handbooks give): the fastest at every height."""
        return self.run_at(low_of, [(low_of, LATER)] * len(self.openings))

    @cached_property
    def loads(self) -> dict[str, OpeningLoad]:
        """Every canopy's opening, by its key."""
        return {one.key: self._load(i, one) for i, (one, _) in enumerate(self.openings)}

    def _load(self, number: int, one: Canopy) -> OpeningLoad:
        """One opening, in the order of opening. It is hardest after the fastest run down to it, with the most drag of its own.

        Only the filling is followed: once filled it pulls less and less, or in the end what hangs there weighs.
        """
        best, fast = self.run.fillings[number], self.fastest_run.fillings[number]
        floor = self.openings[number + 1][1] if number + 1 < len(self.openings) else 0.0
        tried = []
        for share in (SOONER, LATER):
            own = one.opening(fast.opened.height, high_of, share)
            tried.append((motion.greatest_pull(self.mass, own, fast, self.sky.elevation, self.sky.air, floor).drag, share))
        hardest, share = max(tried)
        book = opening.handbook_loads(
            self.mass,
            self.sky.air.density(self.sky.elevation + best.opened.height),
            one.drag_area.high,
            one.diameter,
            max(fast.opened.speed, 0.1),
            one.filling * SOONER,
            one.cx,
        )
        corner = self._in_words(number, "sooner" if share < 1 else "later")
        hardest = max(best.peak.drag, fast.peak.drag, hardest, self.mass * G0)
        return OpeningLoad(one, best, hardest, fast.opened.speed, corner, book)

    def _in_words(self, number: int, soon: str) -> str:
        """The corner at which an opening is hardest."""
        least = [f"least drag of the {one.name}" for one, _ in self.openings[:number]]
        bare = ["least drag without a canopy"] if self.bare else []
        return ", ".join((*bare, *least, f"most of the {self.openings[number][0].name}, filling a quarter {soon}"))

    # --- the last canopy in its worst corners ---

    @cached_property
    def settled(self) -> Instant | None:
        """Where the last canopy is the latest to have filled and slowed down to near its steady rate; None for never.

        Filling a quarter later, with its least drag or its most; after the fastest way down or the slowest, on which it
        takes more time to fill.
        """
        before = [self.fastest_run.fillings[-1]]
        if len(self.openings) > 1 or self.bare:
            before.append(self.run_at(high_of, [(high_of, SOONER)] * len(self.openings)).fillings[-1])
        found = []
        for at in before:
            for pick in (low_of, high_of):
                own = self.last.opening(at.opened.height, pick, LATER)
                found.append(motion.settled(self.mass, own, at, self.sky.elevation, self.sky.air))
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
        """Speed at touchdown by the full run, best and fastest [m/s]."""
        best = self.run.touchdown.speed
        return Spread(best, best, max(best, self.fastest_run.touchdown.speed))

    @cached_property
    def touchdown_rate(self) -> Spread:
        """The worse of steady sinking under the last canopy alone and of the full run [m/s]."""
        steady, run = self.last.rate, self.run_touchdown
        best = max(steady.best, run.best)
        return Spread(steady.low, best, max(steady.high, run.high))

    @property
    def slowed(self) -> bool:
        """Whether the full run has slowed down to the steady rate, or nearly, when it touches down."""
        return self.run_touchdown.high <= (1 + motion.NEAR) * self.last.rate.high

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

    @property
    def most_drag(self) -> float:
        """The largest pull of a canopy in the full run [N]."""
        return max(filling.peak.drag for filling in self.run.fillings)


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
        """Every canopy's opening, by its key, in the order of opening."""
        return {key: load for fall in self.falls for key, load in fall.loads.items()}

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
            drawn = scatter.scattered(fall.column, fall.phases(best_of), self.spreads(fall), count, seed)
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
                "forward": Touch(ahead.name, max(0.0, nose.mass - ahead.mass), self.fall_of(FORWARD).touchdown_rate),
                "aft": Touch(behind.name, max(0.0, tail.mass - behind.mass), rate),
            }
        found = {"nose": Touch(nose.name, nose.mass, rate)}
        for one in middle:
            found["middle"] = Touch(one.name, one.mass, rate)
        packed = sum(one.mass for one in self.canopies.values())
        return found | {"body": Touch(tail.name, max(0.0, tail.mass - packed), rate)}

    # --- in time ---

    @property
    def latest(self) -> Fall:
        """The body whose last canopy has settled lowest."""
        return min(self.falls, key=lambda fall: (fall.settled_height, fall.settled_time))

    @property
    def fastest_opening(self) -> OpeningLoad:
        """Of the canopies that carry a body to the ground, the one that opens at the greatest speed."""
        return max((fall.loads[fall.last.key] for fall in self.falls), key=lambda load: load.speed)

    @property
    def hardest(self) -> Touch:
        """The section that touches down with the most energy."""
        return max(self.touching.values(), key=lambda touch: touch.energy.high)
