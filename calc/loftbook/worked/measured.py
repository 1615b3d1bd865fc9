"""Measured by me: what an altimeter's file says of each canopy, beside what the plan said, and what to put into the rig. SI."""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from loftbook.errors import Fault, Refusal
from loftbook.log.altimeter import Log
from loftbook.log.kinds import AT_REST, STEADY, UNKNOWN
from loftbook.physics import canopy, phases
from loftbook.physics.atmosphere import G0, HIGHEST, Air, temperature
from loftbook.physics.barometer import true_heights
from loftbook.physics.elementary import median
from loftbook.physics.fitting import FEWEST, Pooled, Sunk, pooled, sunk
from loftbook.physics.phases import Stretch
from loftbook.physics.spread import Spread
from loftbook.physics.stopwatch import Timing, timed_drag, travelled
from loftbook.quantity import NUMBER, at_least, at_most, counted, show
from loftbook.rig.bay_fields import MEASURED
from loftbook.rig.fields import FIELDS
from loftbook.worked.canopy import UNBELIEVABLE, Canopy
from loftbook.worked.worked import Worked

UNKNOWN_DAY = 20.0  # K either way about the standard, counted where nobody said how warm it was (our choice)
_REST, _REST_SAMPLES, _REST_TIME = 6.0, 10, 0.5  # m that the first samples and s of a file that begins on the pad lie apart at most (our choice)
_LANDED = 5.0  # s after touchdown that tell how high the ground is shown (our choice)
_OVER = 8.0  # s that what happens at the top lasts at most: turning over, falling until something opens (our choice)
_AS_FALLING = 0.15  # share that its mean rate may differ from that of a fall from rest (our choice)
_NEAR_HEIGHT = 2.0  # times that the main may open higher or lower than planned (our choice)
_SLACK = 0.1  # s, of limits as they are shown
_BELOW_SEA = 100.0  # m that heights above the sea may be shown too low (our choice)
# m/s, up or down: a draught that lasts as long as a descent, nineteen times of twenty (our choice). Of so few flights it is counted: more tell by how they differ.
LASTING, FEW = 0.5, 4
# A height judged by eye is known within so much of it, each end of a watch within so much [s], nineteen times of twenty (common practice, no source).
BY_EYE, THUMB = 0.2, 0.3
CLIMB, FALL, TURN, GROUND, UNNAMED = "climb", "fall without a canopy", "over the top", "ground", "not named"


@dataclass(frozen=True)
class Part:
    """A phase of a flight: what it is (a canopy's key, or in words), from when to when [s], its mean rate downward as shown [m/s]."""

    name: str
    stretch: Stretch


@dataclass(frozen=True)
class Once:
    """One canopy measured once, however it was: its drag area Cd S [m^2] with its 95 % interval, the day's unknown warmth counted in.

    sank: about how fast it sank then [m/s]. A draught that lasts as long as the descent is not in the interval: see `lasting`.
    """

    canopy: Canopy
    drag_area: Spread
    sank: float

    @property
    def cd(self) -> Spread:
        """On the canopy's nominal area S0, dimensionless."""
        return cd_of(self.canopy, self.drag_area)

    @property
    def rate(self) -> Spread:
        """What carries the rig's mass down under it in the plan's air at the field [m/s]."""
        return rate_of(self.canopy, self.drag_area)

    @property
    def lasting(self) -> Spread:
        """The drag area [m^2] with what a draught that lasted may have done to it: drag goes as one over the rate's square, physics/canopy.py.

        The rate that was seen is the canopy's own and the draught's: in one that goes up it sank slower, and its drag is less than told.
        """
        share = min(0.9, LASTING / self.sank)
        low, high = 1 / (1 + share), 1 / (1 - share)
        return Spread(self.drag_area.low * low * low, self.drag_area.best, self.drag_area.high * high * high)


@dataclass(frozen=True)
class Found(Once):
    """One canopy in one flight: the phase that was fitted, from when to when [s], and what the fit says."""

    start: float
    end: float
    sunk: Sunk


@dataclass(frozen=True)
class Timed(Once):
    """One canopy by a watch: the rate referred to the air at the field that day [m/s], under the mass that hung then."""

    timed_rate: Spread


def cd_of(one: Canopy, drag_area: Spread) -> Spread:
    """Drag coefficient (dimensionless) of a drag area [m^2], on a canopy's nominal area S0."""
    return drag_area.map(lambda area: area / one.area)


def rate_of(one: Canopy, drag_area: Spread) -> Spread:
    """Steady rate [m/s] of what a canopy carries under a drag area [m^2], in the plan's air at the field. Source: physics/canopy.py."""
    return drag_area.map(lambda area: canopy.terminal_rate(one.carries, area, one.sky.density))


def slowest_planned(worked: Worked, one: Canopy) -> float:
    """The slowest [m/s] that a rig lets what a canopy carries come down: the most drag of its own, and of all that opened before and
    stays open beside it. Source: physics/canopy.py."""
    beside = sum(other.drag_area.high for other in worked.opened_before(one.key))
    return canopy.terminal_rate(one.carries, one.drag_area.high + beside, one.sky.density)


@dataclass(frozen=True)
class Flight:
    """One file flown with one rig. warmer: than standard that day [K], None where nobody said; part: whose altimeter it was, where
    two parts come down apart; mass: what hung under every canopy [kg], None for the rig's."""

    worked: Worked
    log: Log
    warmer: float | None
    part: str | None = None
    mass: float | None = None

    @cached_property
    def air(self) -> Air:
        """Of that day, standard where nobody said."""
        return air_on(self.worked, self.warmer or 0.0)

    def heights(self, shown: Sequence[float], air: Air) -> list[float]:
        """True heights above the field [m] of heights as shown [m]."""
        return true_heights([one - self.zero for one in shown], self.worked.sky.elevation, air)

    @cached_property
    def calm(self) -> tuple[list[float], list[float]]:
        """Times [s] and calmed heights as shown [m] of all that are no spikes."""
        times, shown = self.log.within(self.log.times[0], self.log.times[-1])
        return times, phases.calmed(shown)

    @cached_property
    def touchdown(self) -> float | None:
        """When it came to lie or hang [s]; None where the file ends in the air."""
        return phases.touchdown(*self.calm)

    @cached_property
    def top(self) -> float:
        """When it was highest [s]."""
        times, shown = self.calm
        return times[phases.top_of(shown)]

    @cached_property
    def ground(self) -> float | None:
        """What it showed at rest after it came down [m]; None where the file ends in the air."""
        end = self.touchdown
        return None if end is None else median(self.log.within(end, end + _LANDED)[1])

    @cached_property
    def zeros(self) -> tuple[float, ...]:
        """What it may have shown on the field [m], the likeliest first: at rest on the pad, else where it came down. A file that begins and
        ends in the air tells neither: then heights above the field, and above the sea where they are high enough."""
        times, shown = self.log.within(self.log.times[0], self.log.times[-1])
        count = next((i for i in range(_REST_SAMPLES, len(times)) if times[i] - times[0] >= _REST_TIME), len(times))
        first, top = shown[:count], phases.top_of(shown)
        if top > len(first) and max(first) - min(first) < _REST and shown[top] - max(first) > 2 * _REST:
            return (median(first),)
        if self.ground is not None:
            return (self.ground,)
        sea = self.worked.sky.elevation
        return (0.0, sea) if sea > 0 and min(self.calm[1]) > sea - _BELOW_SEA else (0.0,)

    @property
    def zero(self) -> float:
        """The likeliest of these."""
        return self.zeros[0]

    @cached_property
    def parts(self) -> tuple[Part, ...]:
        """The phases by what they are; where they are not the rig's own, one by one, by none of its canopies' names."""
        times, shown = self.calm
        up, made, names = phases.climbed(times, shown), self._stretches, self._named[0]
        found = [Part(name, stretch) for name, stretch in zip(names, made, strict=True)]
        if self.top > up:
            rise = max(shown) - shown[times.index(up)]
            found.insert(0, Part(CLIMB, Stretch(up, self.top, -rise / (self.top - up))))
        if self.touchdown is not None:
            found.append(Part(GROUND, Stretch(self.touchdown, times[-1], 0.0)))
        return tuple(found)

    @property
    def doubt(self) -> str:
        """Why no phase is called a canopy's; "" where they are."""
        return self._named[1]

    @cached_property
    def _stretches(self) -> tuple[Stretch, ...]:
        return phases.stretches(*self.calm, self.touchdown)

    @cached_property
    def _wanted(self) -> tuple[str, ...]:
        """What this rig comes down under, in turn."""
        way = self.worked.rig.way
        own = (self.part,) if self.part and not way.tied else way.canopies
        return (FALL, *own) if way.falls else own

    @cached_property
    def _named(self) -> tuple[list[str], str]:
        """What each phase is, and why not. A canopy's name goes to a phase only where phases and canopies match one by one: as many,
        each as fast as its canopy may be, the main's from about its height on. Two that may both be one canopy's are given to none."""
        made, wanted = self._stretches, self._wanted
        names = [UNNAMED] * len(made)
        first = next((one for one in wanted if one != FALL), "")
        if len(made) > len(wanted) and made[0].end - made[0].start <= _OVER and (not self._like(first, made[0]) or _still_falling(made[0], made[1])):
            names[0] = TURN
        kept = [i for i, name in enumerate(names) if name == UNNAMED]
        if wanted[0] == FALL and len(kept) == len(wanted) - 1:
            wanted = wanted[1:]  # a fall too short to be a phase
        if len(kept) != len(wanted):
            return names, f"{_count(len(kept), 'stretch', 'stretches')} of steady sinking, where this rig has {_count(len(wanted), 'way', 'ways')} of sinking one after the other"
        if len(kept) == 1 and self.touchdown is None:
            return names, "it ends in the air and sinks at one rate only, so it may be any canopy's"
        for place, one in zip(kept, wanted, strict=True):
            if one != FALL and not self._like(one, made[place]):
                return names, f"no {self.worked.title(one)} of this rig sinks as fast as from {made[place].start:.0f} s to {made[place].end:.0f} s, or as slowly"
        if len(kept) > 1 and not self._near_height(made[kept[-1]].start):
            return names, f"the rate changes at {made[kept[-1]].start:.0f} s, far from the height at which this rig's main opens"
        for place, one in zip(kept, wanted, strict=True):
            names[place] = one
        return names, ""

    def _shown_at(self, time: float) -> float:
        times, shown = self.calm
        return shown[min(bisect_left(times, time), len(times) - 1)]

    def _like(self, key: str, stretch: Stretch) -> bool:
        """Whether a canopy of this rig may have sunk so fast, by its family's table and what may have hung open beside it."""
        one, sky = self.worked.canopies[key], self.worked.sky
        height = max(0.0, self._shown_at((stretch.start + stretch.end) / 2) - self.zero)
        density = sky.air.density(min(sky.elevation + height, HIGHEST - 100))
        area = 2 * (self.mass or one.carries) * G0 / (density * stretch.rate * stretch.rate)
        return stretch.rate >= phases.SLOWEST and self.worked.strangeness(key, area) <= UNBELIEVABLE

    def _near_height(self, time: float) -> bool:
        """Whether it was then about as high as this rig's main opens, over where it started or over where it came down."""
        way = self.worked.rig.way
        if not way.low and not way.held:
            return True
        levels = [*self.zeros, *([self.ground] if self.ground is not None else [])]
        planned, shown = self.worked.descent.main_height, self._shown_at(time)
        return any(planned / _NEAR_HEIGHT <= shown - level <= planned * _NEAR_HEIGHT for level in levels)

    def fitted(self, key: str, start: float, end: float) -> Found:
        """A canopy's drag from its steady phase, from start to end [s].

        Refuses a canopy that this way down has not, limits outside the descent or across a change of rate, and what `sunk` refuses.
        Where nobody said how warm it was, the range also holds the ends of what twenty kelvins either way give; where the file does
        not tell how high the field is shown, what each height that it may have gives.
        """
        canopies = self.worked.canopies
        if key not in canopies:
            raise _no_such_canopy(self.worked, key)
        if (start, end) != self.steady.get(key):
            self._refuse_limits(start, end)
        one = canopies[key]
        times, shown = self.log.within(start, end)
        warmer = (self.warmer,) if self.warmer is not None else (0.0, -UNKNOWN_DAY, UNKNOWN_DAY)
        ends = [self._sunk(one, times, [height - zero for height in shown], air_on(self.worked, off)) for zero in self.zeros for off in warmer]
        low, high = min(each.drag_area.low for each in ends), max(each.drag_area.high for each in ends)
        return Found(one, Spread(low, ends[0].drag_area.best, high), ends[0].rate.best, start, end, ends[0])

    def _refuse_limits(self, start: float, end: float) -> None:
        """Limits by hand: of the descent alone, and of one rate."""
        last = self.touchdown if self.touchdown is not None else self.log.times[-1]
        given, allowed = f"{start:.1f} to {end:.1f} s", f"between {self.top:.1f} and {last:.1f} s, where it came down"
        if start < self.top - _SLACK or end > last + _SLACK:
            raise Refusal(Fault(message=f"limits: {given} is not all of it sinking. Allowed: {allowed}.", label="limits", given=given, allowed=allowed))
        times, shown = self.calm
        here = slice(bisect_left(times, start), bisect_right(times, end))
        bends = phases.stretches(times[here], shown[here])[1:]
        if bends:
            allowed = "a stretch of one rate"
            raise Refusal(Fault(message=f"limits: the rate changes by half or more at {bends[0].start:.1f} s, between them. Allowed: {allowed}.", label="limits", given=given, allowed=allowed))

    def _sunk(self, one: Canopy, times: Sequence[float], shown: Sequence[float], air: Air) -> Sunk:
        """shown: heights as shown, the field's taken off [m]."""
        return sunk(times, true_heights(shown, self.worked.sky.elevation, air), self.mass or one.carries, self.worked.sky.elevation, air)

    @cached_property
    def steady(self) -> dict[str, tuple[float, float]]:
        """From when to when each canopy whose phase was found sank steadily [s], by its key."""
        return {part.name: part.stretch.steady for part in self.parts if part.name in self.worked.canopies}

    @cached_property
    def found(self) -> dict[str, Found]:
        """Every canopy whose phase was found and holds samples enough, by its key. Refuses a file without any."""
        found = {key: self.fitted(key, *when) for key, when in self.steady.items() if len(self.log.within(*when)[0]) >= FEWEST}
        if not found:
            raise self.nothing_found
        return found

    @property
    def nothing_found(self) -> Refusal:
        """Of a file in which no canopy's phase is found, or none is sure."""
        seen = "; ".join(f"{part.stretch.rate:.1f} m/s from {part.stretch.start:.0f} s to {part.stretch.end:.0f} s" for part in self.parts if part.name in (UNNAMED, TURN))
        why = f": {self.doubt} ({seen})" if seen and self.doubt else ""
        return Refusal(
            Fault(
                message=f"file: no canopy's steady sinking is found in it for sure{why}. Look at it, and say from when to when which canopy was open.",
                label="file",
                given=f"{len(self.log.times)} samples over {self.log.times[-1] - self.log.times[0]:.0f} s",
                allowed="say from when to when which canopy was open",
            )
        )


def _still_falling(first: Stretch, then: Stretch) -> bool:
    """Whether a stretch at the top is just the way that what sinks in the next takes from rest to its steady rate: physics/stopwatch.py."""
    lasts = first.end - first.start
    return abs(first.rate * lasts / travelled(then.rate, lasts, 0.0) - 1) < _AS_FALLING


def _count(count: int, one: str, several: str) -> str:
    return f"{count} {one if count == 1 else several}"


def _no_such_canopy(worked: Worked, key: str) -> Refusal:
    allowed = f"one of: {', '.join(worked.canopies)}"
    return Refusal(Fault(message=f"canopy: this rig has no {key} canopy. Allowed: {allowed}.", label="canopy", given=key, allowed=allowed))


def air_on(worked: Worked, warmer: float) -> Air:
    """The air over the rig's field on a day so much warmer than standard [K]; refuses what `Air.at_site` refuses."""
    return Air.at_site(worked.sky.elevation, warmer, worked.rig.optional("site.pressure"))


def warmer_on(worked: Worked, day: float | None) -> float | None:
    """How much warmer than standard a day was [K], of its temperature at the field [K]; without one what the rig's reader typed, None if nothing."""
    if day is not None:
        return day - temperature(worked.sky.elevation)
    return None if worked.rig.origin("site.warmer") == "start" else worked.rig.number("site.warmer")


def flown(worked: Worked, log: Log, day: float | None = None, part: str | None = None, mass: float | None = None) -> Flight:
    """A file with the rig that flew it. day: temperature at the field [K]; part: whose altimeter it was, where two parts come down apart;
    mass: what hung under the canopies [kg], if it was not the rig's.

    Without a day the rig's own `site.warmer` holds, if its reader typed it. Refuses a rig of two parts without the part.
    """
    rig = worked.rig
    if not rig.way.tied and part not in rig.way.canopies:
        allowed = " or ".join(rig.way.canopies)
        raise Refusal(
            Fault(message=f"canopy: two parts come down apart; say whose altimeter this is. Allowed: {allowed}.", label="canopy", given=part or "", allowed=allowed)
        )
    return Flight(worked, log, warmer_on(worked, day), part, mass)


@dataclass(frozen=True)
class Watched:
    """A descent by a watch: which canopy, heights above the field [m] and time [s], as `Timing` has them; warmer: as a flight has it [K]; mass [kg]."""

    key: str
    seen: Timing
    warmer: float | None
    mass: float | None = None


# How many times its steady rate it sank as the watch was started. Of a canopy that fills on its way down from rest the way that it
# lags behind is between none and that of one open from the start; eight times is a drogue's rate over a main's, and more (our choice).
BEGUN = {UNKNOWN: Spread(0.0, 1.0, 8.0), AT_REST: Spread(0.0, 0.0, 1.0), STEADY: Spread(0.9, 1.0, 1.1)}


def timed(worked: Worked, watched: Watched) -> Timed:
    """A canopy's drag from a descent that was timed by a watch. Where nobody said how warm it was twenty kelvins either way are counted.

    Refuses a canopy that this way down has not, and what `timed_drag` refuses.
    """
    one = worked.canopies.get(watched.key)
    if one is None:
        raise _no_such_canopy(worked, watched.key)
    days = (watched.warmer,) if watched.warmer is not None else (0.0, -UNKNOWN_DAY, UNKNOWN_DAY)
    told = [timed_drag(watched.seen, watched.mass or one.carries, worked.sky.elevation, air_on(worked, warmer)) for warmer in days]
    areas = [area for _, area in told]
    return Timed(one, Spread(min(area.low for area in areas), areas[0].best, max(area.high for area in areas)), told[0][0].best, told[0][0])


@dataclass(frozen=True)
class Taken:
    """One canopy over all its flights: the pooled drag area [m^2], and the fields that would put it into the rig.

    fields is empty, and `why` says why, where the rig cannot carry it.
    """

    flights: tuple[Once, ...]
    pooled: Pooled
    fields: dict[str, str]
    why: str

    @property
    def canopy(self) -> Canopy:
        return self.flights[0].canopy

    @property
    def cd(self) -> Spread:
        """What to plan with, on S0, dimensionless."""
        return cd_of(self.canopy, self.pooled.planned)

    @property
    def rate(self) -> Spread:
        """Under the plan's air at the field [m/s]."""
        return rate_of(self.canopy, self.pooled.planned)


def flights_told(flights: Sequence[Once]) -> str:
    """How many there are, in words: by altimeter, and by watch."""
    watched = sum(isinstance(one, Timed) for one in flights)
    files = len(flights) - watched
    told = [counted(files, "flight")] if files else []
    return " and ".join([*told, *([f"{watched} by watch"] if watched else [])])


def distinct(flights: Sequence[Once]) -> list[Once]:
    """Each once: what altimeters' files say of one canopy to the last digit is one file, opened or written down twice. A watch may show the
    same twice."""
    kept: list[Once] = []
    for one in flights:
        if isinstance(one, Timed) or not any(one.drag_area == other.drag_area for other in kept if not isinstance(other, Timed)):
            kept.append(one)
    return kept


def taken(worked: Worked, flights: Sequence[Once], when: str = "") -> Taken:
    """Flights and timed descents of one canopy, at least one, as what to plan with. when: their date or dates, for the source that is shown.

    What is told twice is counted once. Of four or fewer, which cannot tell how much flights differ, the range is all that each says, and a
    draught that lasted counted in: drag too high tells a landing too slow, drag too low an opening too soft, so both ends move.
    """
    flights = distinct(flights)
    one = flights[0].canopy
    together = pooled([flight.drag_area for flight in flights])
    if len(flights) <= FEW:
        each = [flight.lasting for flight in flights]
        planned = Spread(min(one.low for one in each), together.mean.best, max(one.high for one in each))
        together = replace(together, planned=planned)
    cd = cd_of(one, together.planned)
    shown = show(cd.low, at_most(NUMBER)), show(cd.high, at_least(NUMBER))
    own = one.family == MEASURED
    paths = [f"{one.key}.canopy.{name}" for name in (("cd_low", "cd_high") if own else ("cd_measured_low", "cd_measured_high"))]
    if why := _why_not(worked, flights, together, shown, paths):
        return Taken(tuple(flights), together, {}, why)
    count = flights_told(flights)
    fields = dict(zip(paths, shown, strict=True))
    if not own:
        path = f"{one.key}.canopy.cd_measured_from"
        dated = f"{count}, {when}" if when else count
        fields[path] = dated if len(dated) <= FIELDS[path].longest and dated.isprintable() else count
    fields["rig.measured"] = " ".join(sorted({*worked.rig.measured, *paths}))
    return Taken(tuple(flights), together, fields, "")


def _why_not(worked: Worked, flights: Sequence[Once], together: Pooled, shown: tuple[str, str], paths: Sequence[str]) -> str:
    """Why the rig cannot carry what was measured, or cannot believe it; "" where it can."""
    one, (low, high) = flights[0].canopy, shown
    least, most = FIELDS[paths[0]].low, FIELDS[paths[0]].high
    odd = sum(worked.strangeness(one.key, flight.drag_area.best) > UNBELIEVABLE for flight in flights)
    which = f" {odd} of {len(flights)} {'is' if odd == 1 else 'are'} so far off: look there, or take it away." if odd and len(flights) > 1 else ""
    other = f"either the phase is not this canopy's, or what was measured is mostly something else that hung beside it, or size or mass is wrong.{which}"
    if not least <= float(low) <= float(high) <= most:
        return f"Cd {low} to {high} on its own area is outside what a rig can say, {least:g} to {most:g}: {other}"
    middle = (together.planned.low + together.planned.high) / 2  # what the rig will take for the best
    factor = max(worked.strangeness(one.key, area) for area in (middle, *(flight.drag_area.best for flight in flights)))
    if factor > UNBELIEVABLE:
        other = other if odd else "the range is so wide that its middle, which the rig would take for the best, lies there."
        whose = "the families' tables and the Cd in the rig" if one.family == MEASURED else f"the table of the family, {one.family},"
        return (
            f"With Cd {low} to {high} on its own area it sinks {factor:.2f} times as fast or as slowly as {whose} and what hangs open beside it make it; "
            f"more than {UNBELIEVABLE:g} times is not believed (our choice): {other}"
        )
    return ""
