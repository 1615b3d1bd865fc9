"""How fast something sank, from two heights and a watch: one number, and all that makes it unsure.

Sinking at constant drag is dv/dt = g (1 - v^2 / v0^2), v0 the steady rate. Begun at k times that rate it comes in t seconds

    s = v0^2 / g  ln( cosh(g t / v0) + k sinh(g t / v0) )

far: k = 0 let go at rest, 1 steady from the start, more after something faster. It is the textbook fall with quadratic drag,
v0^2 / g ln cosh(g t / v0), with any beginning; checked by putting it into the equation. s is along the path P of
`fitting.straightened`, in which steady sinking through thinner and thicker air is a straight line.
"""

from collections.abc import Callable
from dataclasses import dataclass

from loftbook.errors import Fault, Refusal
from loftbook.physics.atmosphere import G0, Air
from loftbook.physics.elementary import exponential, logarithm, sqrt
from loftbook.physics.fitting import drag_of, straightened
from loftbook.physics.spread import Spread

GUST, MEMORY = 0.7, 2.5  # m/s, s: of the draughts that a single descent is taken to have met, which no watch can tell (our choice)
MOST_UNSURE = 0.5  # share of the rate


def travelled(rate: float, time: float, begun: float) -> float:
    """How far something comes [m] whose steady rate is a rate [m/s], in a time [s], begun at so many times that rate (0 or more, dimensionless)."""
    steep = G0 * time / rate
    return rate * rate / G0 * (steep + logarithm((1 + begun + (1 - begun) * exponential(-2 * steep)) / 2))


def steady_rate(way: float, time: float, begun: float) -> float:
    """The steady rate [m/s] of what comes a way [m] in a time [s], begun at so many times that rate (dimensionless), all above zero but `begun`.

    By halving. As fast as a free fall it has none that can be told: then the greatest tried, a thousand times the mean rate.
    """
    low, high = 0.0, 1000.0 * way / time
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if travelled(middle, time, begun) < way else (low, middle)
    return (low + high) / 2


def slowed(rate: float, begun: float, near: float) -> float:
    """After what way [m] something sinks within a share of its steady rate [m/s], begun at so many times that rate; 0 where it does from the start.

    begun: 0 or more, near: above 0 (dimensionless). v^2 nears v0^2 as exp(-2 g s / v0^2): the equation above, with the way in place of the time.
    """
    left = (begun * begun - 1) / ((1 + near) * (1 + near) - 1)
    return rate * rate / (2 * G0) * logarithm(left) if left > 1 else 0.0


def adrift(time: float) -> float:
    """How far draughts carry it up or down in a time [s], standard deviation [m]: an Ornstein-Uhlenbeck wind, integrated.

    Exact variance 2 s^2 T^2 (t/T - 1 + exp(-t/T)), spread s, memory T: Pope 2000, Turbulent Flows, sec. 12.3 (from memory).
    """
    share = time / MEMORY
    return GUST * MEMORY * sqrt(2 * (share - 1 + exponential(-share)))


@dataclass(frozen=True)
class Timing:
    """What was seen: heights above the field where the watch was started and stopped [m], the time on it [s], how many times
    its steady rate it sank at the start (dimensionless); and within how much each is known, nineteen times of twenty [m, s]."""

    high: float
    low: float
    time: float
    begun: Spread
    sure_high: float
    sure_low: float
    watch: float


def unsure(seen: Timing, way: float) -> float:
    """Half of the rate's interval as a share of it (dimensionless), what is not known of its beginning left out: heights, both ends
    of the watch and draughts, as they add where none hangs on another, over the way [m]."""
    rate = way / seen.time
    parts = (seen.sure_high, seen.sure_low, rate * seen.watch, rate * seen.watch, 2 * adrift(seen.time))
    return sqrt(sum(part * part for part in parts)) / way


def timed_drag(seen: Timing, mass: float, elevation: float, air: Air) -> tuple[Spread, Spread]:
    """The steady rate referred to the air at the field [m/s] and the drag area Cd S [m^2] of what was seen, each with its 95 % interval.

    mass [kg]; elevation of the field [m]; the air of the day. The ends of what is not known of the beginning go to the ends of
    the interval. Raises Refusal of heights that do not fall, and where all together are unsure of half the rate or more. How often the
    interval holds the truth is counted by tests/core/test_timed.py: more often than it says.
    """
    top, bottom = straightened([seen.high, seen.low], elevation, air)
    way = top - bottom
    if way <= 0 or seen.time <= 0:
        allowed = "a height where it was started above that where it was stopped, and more than no time"
        raise Refusal(Fault(message=f"heights: it did not come down between them. Allowed: {allowed}.", field="high", label="heights", given=f"{seen.high:g} m to {seen.low:g} m in {seen.time:g} s", allowed=allowed))
    share = unsure(seen, way)
    if share >= MOST_UNSURE:
        allowed = "a longer way and time, or heights that are better known"
        raise Refusal(Fault(message=f"heights and watch: together they leave {share * 100:.0f} % of the rate unsure, which says nothing of a canopy. Allowed: {allowed}.", field="sure", label="heights and watch", given=f"{share * 100:.0f} %", allowed=allowed))
    begun = seen.begun
    rate = Spread(steady_rate(way * (1 - share), seen.time, begun.high), steady_rate(way, seen.time, begun.best), steady_rate(way / (1 - share), seen.time, begun.low))
    return rate, rate.map(_drag(mass, elevation, (seen.high + seen.low) / 2, air))


def _drag(mass: float, elevation: float, middle: float, air: Air) -> Callable[[float], float]:
    return lambda rate: drag_of(rate, mass, elevation, middle, air)
