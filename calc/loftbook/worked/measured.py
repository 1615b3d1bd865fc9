"""Measured by me: what an altimeter's file says of each canopy, beside what the plan said, and what to put into the rig. SI."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from loftbook.errors import Fault, Refusal
from loftbook.log.altimeter import Log
from loftbook.log.kinds import AT_REST, STEADY, UNKNOWN
from loftbook.physics import canopy, phases
from loftbook.physics.atmosphere import Air, temperature
from loftbook.physics.barometer import true_heights
from loftbook.physics.elementary import median
from loftbook.physics.fitting import FEWEST, Pooled, Sunk, pooled, sunk
from loftbook.physics.phases import Stretch
from loftbook.physics.spread import Spread
from loftbook.physics.stopwatch import Seen, timed_drag
from loftbook.quantity import NUMBER, at_least, at_most, show
from loftbook.rig.bay_fields import MEASURED
from loftbook.rig.fields import FIELDS
from loftbook.worked.canopy import Canopy
from loftbook.worked.worked import Worked

UNKNOWN_DAY = 20.0  # K either way about the standard, counted where nobody said how warm it was (our choice)
_REST, _REST_SAMPLES = 6.0, 10  # m that the first samples of a file that begins on the pad lie apart at most (our choice)
CLIMB, FALL, TURN, GROUND = "climb", "fall without a canopy", "over the top", "ground"


@dataclass(frozen=True)
class Part:
    """A phase of a flight: what it is (a canopy's key, or in words), from when to when [s], its mean rate downward as shown [m/s]."""

    name: str
    stretch: Stretch


@dataclass(frozen=True)
class Once:
    """One canopy measured once, however it was: its drag area Cd S [m^2] with its 95 % interval, the day's unknown warmth counted in."""

    canopy: Canopy
    drag_area: Spread

    @property
    def cd(self) -> Spread:
        """On the canopy's nominal area S0, dimensionless."""
        return cd_of(self.canopy, self.drag_area)

    @property
    def rate(self) -> Spread:
        """What carries the rig's mass down under it in the plan's air at the field [m/s]."""
        return rate_of(self.canopy, self.drag_area)


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
    before = [*worked.canopies][: [*worked.canopies].index(one.key)] if worked.rig.way.tied else []
    beside = sum(worked.canopies[key].drag_area.high for key in before)
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
    def zero(self) -> float:
        """What it showed at rest on the pad [m]: its height above sea level, or a few metres off; 0 where the file begins in flight."""
        shown = self.log.within(self.log.times[0], self.log.times[-1])[1]
        first, top = shown[:_REST_SAMPLES], phases.top_of(shown)
        at_rest = top > len(first) and max(first) - min(first) < _REST and shown[top] - max(first) > 2 * _REST
        return median(first) if at_rest else 0.0

    @cached_property
    def parts(self) -> tuple[Part, ...]:
        """The phases, by their rates and by the rig's way down: the last is the last canopy's, the longest before it the one's before."""
        times, shown = self.log.within(self.log.times[0], self.log.times[-1])
        shown = phases.calmed(shown)
        end = phases.touchdown(times, shown)
        made = phases.stretches(times, shown, end)
        names = self._names(made)
        up, top = phases.climbed(times, shown), times[phases.top_of(shown)]
        found = [Part(name, stretch) for name, stretch in zip(names, made, strict=True)]
        if top > up:
            rise = max(shown) - shown[times.index(up)]
            found.insert(0, Part(CLIMB, Stretch(up, top, -rise / (top - up))))
        if end is not None:
            found.append(Part(GROUND, Stretch(end, times[-1], 0.0)))
        return tuple(found)

    def _names(self, made: tuple[Stretch, ...]) -> list[str]:
        way = self.worked.rig.way
        names = [TURN] * len(made)
        if not made:
            return names
        wanted = [self.part] if self.part and not way.tied else list(way.canopies)
        if way.falls:
            wanted.insert(0, FALL)
        if len(wanted) == 1:
            names[max(range(len(made)), key=lambda i: made[i].end - made[i].start)] = wanted[0]
            return names
        names[-1] = wanted[-1]
        if len(made) > 1:
            names[max(range(len(made) - 1), key=lambda i: made[i].end - made[i].start)] = wanted[-2]
        return names

    def fitted(self, key: str, start: float, end: float) -> Found:
        """A canopy's drag from its steady phase, from start to end [s].

        Refuses a canopy that this way down has not, and what `sunk` refuses. Where nobody said how warm it was, the range
        also holds the ends of what twenty kelvins either way give.
        """
        canopies = self.worked.canopies
        if key not in canopies:
            raise _no_such_canopy(self.worked, key)
        one = canopies[key]
        times, shown = self.log.within(start, end)
        best = self._sunk(one, times, shown, self.air)
        ends = [best] if self.warmer is not None else [best, *(self._sunk(one, times, shown, air_on(self.worked, off)) for off in (-UNKNOWN_DAY, UNKNOWN_DAY))]
        low, high = min(each.drag_area.low for each in ends), max(each.drag_area.high for each in ends)
        return Found(one, Spread(low, best.drag_area.best, high), start, end, best)

    def _sunk(self, one: Canopy, times: Sequence[float], shown: Sequence[float], air: Air) -> Sunk:
        return sunk(times, self.heights(shown, air), self.mass or one.carries, self.worked.sky.elevation, air)

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
        """Of a file in which no canopy's phase is found."""
        return Refusal(
            Fault(
                message="file: no canopy's steady sinking is found in it; say from when to when which canopy was open.",
                label="file",
                given=f"{len(self.log.times)} samples over {self.log.times[-1] - self.log.times[0]:.0f} s",
                allowed="a descent that lasts, or a phase by its start, its end and its canopy",
            )
        )


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
    """A descent by a watch: which canopy, heights above the field [m] and time [s], as `Seen` has them; warmer: as a flight has it [K]; mass [kg]."""

    key: str
    seen: Seen
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
    return Timed(one, Spread(min(area.low for area in areas), areas[0].best, max(area.high for area in areas)), told[0][0])


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


def counted(flights: Sequence[Once]) -> str:
    """How many there are, in words: by altimeter, and by watch."""
    watched = sum(isinstance(one, Timed) for one in flights)
    files = len(flights) - watched
    told = [f"{files} flight{'s' if files > 1 else ''}"] if files else []
    return " and ".join([*told, *([f"{watched} by watch"] if watched else [])])


def taken(worked: Worked, flights: Sequence[Once], when: str = "") -> Taken:
    """Flights and timed descents of one canopy, at least one, as what to plan with. when: their date or dates, for the source that is shown."""
    one = flights[0].canopy
    together = pooled([flight.drag_area for flight in flights])
    cd = cd_of(one, together.planned)
    low, high = show(cd.low, at_most(NUMBER)), show(cd.high, at_least(NUMBER))
    own = one.family == MEASURED
    paths = [f"{one.key}.canopy.{name}" for name in (("cd_low", "cd_high") if own else ("cd_measured_low", "cd_measured_high"))]
    least, most = FIELDS[paths[0]].low, FIELDS[paths[0]].high
    if not least <= float(low) <= float(high) <= most:
        why = (
            f"Cd {low} to {high} on its own area is outside what a rig can say, {least:g} to {most:g}: either the phase is not this canopy's, "
            "or what was measured is mostly something else that hung beside it."
        )
        return Taken(tuple(flights), together, {}, why)
    count = counted(flights)
    fields = dict(zip(paths, (low, high), strict=True))
    if not own:
        path = f"{one.key}.canopy.cd_measured_from"
        dated = f"{count}, {when}" if when else count
        fields[path] = dated if len(dated) <= FIELDS[path].longest and dated.isprintable() else count
    fields["rig.measured"] = " ".join(sorted({*worked.rig.measured, *paths}))
    return Taken(tuple(flights), together, fields, "")
