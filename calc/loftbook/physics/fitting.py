"""How fast something sank, from heights over time: a straight line through noise that remembers; and several flights put together.

Steady sinking is dz/dt = -v0 sqrt(rho0 / rho(z)), v0 = sqrt(2 m g / (rho0 CdS)), as in descent.py. Measured along the path
P(z) = integral of sqrt(rho / rho0) from the field up it is a straight line, P = P0 - v0 t: two unknowns, and no search for them.

What lies about that line is of two kinds: the instrument's own noise, new with every sample, and gusts, whose up and down
draughts add up to a wandering height. Ordinary least squares takes all of it for the first kind and gives intervals several
times too narrow. Here the noise is white noise plus the integral of an Ornstein-Uhlenbeck wind, a gust of a spread s that is
forgotten with a time tau (the simplest model of what a thing adrift in turbulence feels: Pope 2000, Turbulent Flows, sec. 12.3,
the Langevin equation; from memory). How strong and how long the gusts were nobody knows, so the line is fitted by generalized
least squares for every row of a grid of both, each weighted by its restricted likelihood, and the interval is that of the
mixture of Student's distributions. Sources: Rasmussen and Williams 2006, Gaussian Processes for Machine Learning, sec. 2.7
and ch. 5; Harvey 1989, Forecasting, Structural Time Series Models and the Kalman Filter, sec. 3.4 (both from memory).
A draught that lasts as long as the phase looks like drag, and no single flight can tell: that is what `pooled` is for.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from loftbook.errors import Fault, Refusal
from loftbook.physics.atmosphere import G0, Air
from loftbook.physics.descent import column
from loftbook.physics.elementary import PI, arctangent, exponential, logarithm, median, sqrt
from loftbook.physics.spread import Spread

SURE = 0.95  # of the intervals here hold the true value
FEWEST = 16  # samples of one phase
_BLOCKS, _FEWEST_BLOCKS = 32, 8  # even numbers: Student's distribution of even degrees is a short sum
_MEMORIES = (0.7, 1.5, 3.0, 6.0)  # s, of gusts: eddies of tens of metres, sunk through or drifted with (our choice)
_STRENGTHS = (0.1, 0.2, 0.4, 0.8, 1.6, 3.2)  # m/s, spread of the gusts up and down: air is never taken for calmer (our choice)
_QUIETEST = 0.01  # m, what a mean of several samples is unsure of at least (our choice)
_NORMAL, _MANY = 1.959964, 100  # what Student's reach comes to, and of how many degrees on it is taken for that
_ROW = 50.0  # m between rows of the table of the path


# --- Student's distribution ---------------------------------------------------------------------


def student(t: float, degrees: int) -> float:
    """Share (dimensionless) of Student's distribution below t (dimensionless), of 1 degree of freedom or more.

    Abramowitz and Stegun 1964, 26.7.3 (odd) and 26.7.4 (even), both exact sums.
    """
    root = sqrt(degrees + t * t)
    sine, cosine = t / root, sqrt(degrees) / root
    odd = degrees % 2
    term = total = cosine if odd else 1.0
    for i in range(2 + odd, degrees - 1, 2):
        term *= cosine * cosine * (i - 1) / i
        total += term
    if not odd:
        return (1 + sine * total) / 2
    angle = arctangent(t / sqrt(degrees))
    return 0.5 + (angle + (sine * total if degrees > 1 else 0.0)) / PI


def student_reach(share: float, degrees: int) -> float:
    """How many standard errors (dimensionless) either way hold a share (dimensionless, above 0, below 1) of Student's distribution."""
    return _where(lambda t: student(t, degrees), (1 + share) / 2, 0.0, 1000.0)


def _where(rising: Callable[[float], float], wanted: float, low: float, high: float) -> float:
    """Where a rising function has a value [any], by halving."""
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if rising(middle) < wanted else (low, middle)
    return (low + high) / 2


# --- one line through noise that remembers ---------------------------------------------------------


@dataclass(frozen=True)
class _Row:
    """The line for one kind of gusts: its slope [m/s], that slope's standard error [m/s], its likelihood's logarithm."""

    slope: float
    error: float
    likelihood: float


def _row(times: Sequence[float], values: Sequence[float], memory: float, spread: float) -> _Row:
    """Generalized least squares by a Kalman filter over (wandering, gust) that whitens value, one and time alike.

    times [s]; values [m]; memory of the gusts [s]; spread: their variance over that of a value's own noise [1/s^2].
    """
    levels, gusts = [0.0, 0.0, 0.0], [0.0, 0.0, 0.0]
    a, b, c = 0.0, 0.0, spread  # covariance of wandering with itself, with the gust, of the gust with itself
    sums = [0.0] * 6  # of whitened products: value value, value one, value time, one one, one time, time time
    volume, product, before, fade = 0.0, 1.0, times[0], {}
    for time, value in zip(times, values, strict=True):
        step, before = time - before, time
        if step and spread:
            if step not in fade:
                fade[step] = exponential(-step / memory)
            f = fade[step]
            g, h = memory * (1 - f), step / memory
            levels = [u + g * w for u, w in zip(levels, gusts, strict=True)]
            gusts = [f * w for w in gusts]
            a += 2 * g * b + g * g * c + spread * memory * memory * max(0.0, 2 * h - 3 + 4 * f - f * f)
            b = f * (b + g * c) + spread * memory * (1 - f) * (1 - f)
            c = f * f * c + spread * (1 - f * f)
        whole = a + 1.0
        product *= whole
        if product > 1e200:
            volume, product = volume + logarithm(product), 1.0
        v, one, t = (value - levels[0], 1.0 - levels[1], time - levels[2])
        p, q = a / whole, b / whole
        levels = [levels[0] + p * v, levels[1] + p * one, levels[2] + p * t]
        gusts = [gusts[0] + q * v, gusts[1] + q * one, gusts[2] + q * t]
        a, b, c = a - p * a, b - p * b, c - q * b
        for i, pair in enumerate((v * v, v * one, v * t, one * one, one * t, t * t)):
            sums[i] += pair / whole
    vv, v1, vt, s11, s1t, stt = sums
    square = s11 * stt - s1t * s1t
    slope = (s11 * vt - s1t * v1) / square
    level = (v1 - slope * s1t) / s11
    degrees = len(times) - 2
    left = max(vv - level * v1 - slope * vt, 1e-12 * vv + 1e-300)
    likelihood = -(volume + logarithm(product) + logarithm(square) + degrees * logarithm(left)) / 2
    return _Row(slope, sqrt(left / degrees * s11 / square), likelihood)


@dataclass(frozen=True)
class Line:
    """A slope [m/s]: its best value and the ends of its interval; its standard error [m/s].

    plain: the error that ordinary least squares would have claimed [m/s].
    """

    slope: Spread
    error: float
    plain: float


def _blocks(times: Sequence[float], values: Sequence[float]) -> tuple[list[float], list[float]]:
    """Means of equally many samples in turn, an even number of blocks; times from the middle of the phase."""
    count = len(times)
    blocks = max(_FEWEST_BLOCKS, min(_BLOCKS, count // 2 // 2 * 2))
    ends = [count * i // blocks for i in range(blocks + 1)]
    middle = (times[0] + times[-1]) / 2

    def mean(of: Sequence[float], first: int, last: int) -> float:
        """Of a part of them, in their unit [any]."""
        return sum(of[first:last]) / (last - first)

    return [mean(times, *pair) - middle for pair in pairwise(ends)], [mean(values, *pair) for pair in pairwise(ends)]


def _noise(values: Sequence[float], means: Sequence[float]) -> float:
    """Variance [m^2] of a block's mean about a smooth way: by second differences of the means or of single values, whichever is less."""

    def about(of: Sequence[float]) -> float:
        """Their own variance [m^2], by the median: of white noise a second difference has six times as much."""
        return median([(a - 2 * b + c) * (a - 2 * b + c) for a, b, c in zip(of, of[1:], of[2:], strict=False)]) / (6 * 0.4549)

    return max(_QUIETEST * _QUIETEST, min(about(means), about(values) * len(means) / len(values)))


def line(times: Sequence[float], values: Sequence[float]) -> Line:
    """The straight line through values [m] over rising times [s], of which there are at least 16 over more than no time.

    How often its interval holds the truth is counted by scripts/trials.py, and told there. Source: this module's first lines.
    Raises Refusal for fewer samples.
    """
    if len(times) < FEWEST or not times[-1] > times[0]:
        raise Refusal(
            Fault(
                message=f"samples of this phase: {len(times)} are too few to tell how fast it sank and how surely; at least {FEWEST}.",
                label="samples of this phase",
                given=str(len(times)),
                allowed=f"at least {FEWEST}",
            )
        )
    at, means = _blocks(times, values)
    base, noise = means[0], _noise(values, means)
    means = [value - base for value in means]
    cases = [(memory, strength) for memory in _MEMORIES for strength in _STRENGTHS]
    rows = [_row(at, means, memory, strength * strength / noise) for memory, strength in cases]
    best = max(row.likelihood for row in rows)
    weights = [exponential(max(-600.0, row.likelihood - best)) for row in rows]
    total, degrees = sum(weights), len(at) - 2
    mixed = [(weight / total, row) for weight, row in zip(weights, rows, strict=True) if weight > 1e-9 * total]

    def below(slope: float) -> float:
        """Share of the mixture below a slope [m/s], dimensionless."""
        return sum(weight * student((slope - row.slope) / row.error, degrees) for weight, row in mixed)

    low = min(row.slope - 12 * row.error for _, row in mixed)
    high = max(row.slope + 12 * row.error for _, row in mixed)
    ends = [_where(below, share, low, high) for share in ((1 - SURE) / 2, 0.5, (1 + SURE) / 2)]
    mean = sum(weight * row.slope for weight, row in mixed)
    variance = sum(weight * (row.error * row.error * degrees / (degrees - 2) + (row.slope - mean) * (row.slope - mean)) for weight, row in mixed)
    return Line(Spread(*ends), sqrt(variance), _row(at, means, 1.0, 0.0).error)


# --- one phase of a flight -------------------------------------------------------------------------


def straightened(heights: Sequence[float], elevation: float, air: Air) -> list[float]:
    """The path P [m] of true heights above the field [m] at an elevation [m]: steady sinking is a straight line in it."""
    top = max([1.0, *heights])
    rows = [_ROW * i for i in range(1, int(top / _ROW) + 1)]
    table = column(top, elevation, air, lambda height: (0.0, 0.0), rows)
    return [table.at(height)[0] if height > 0 else height for height in heights]


def _thinning(height: float, air: Air) -> float:
    """By what share density falls with each metre [1/m], at a height above sea level [m]."""
    return (air.density(height - 50) - air.density(height + 50)) / (100 * air.density(height))


def drag_of(rate: float, mass: float, elevation: float, height: float, air: Air) -> float:
    """Drag area Cd S [m^2] that lets a mass [kg] sink at a rate [m/s] referred to the air at the field, an elevation [m] above the sea.

    height: where about it sank [m above the field]. Sources: physics/descent.py; that it slows down as the air grows thicker, by
    v^2 thinning / 2, takes drag beside its weight.
    """
    here = elevation + height
    return mass * (2 * G0 / (air.density(elevation) * rate * rate) + _thinning(here, air) / air.density(here))


@dataclass(frozen=True)
class Sunk:
    """One phase: steady rate referred to the air at the field [m/s], and the drag area Cd S [m^2] with its 95 % interval.

    error: standard error of the drag area [m^2]; line: the fit behind it; left: what each sample lies above it [m].
    """

    rate: Spread
    drag_area: Spread
    error: float
    line: Line
    left: tuple[float, ...]


def sunk(times: Sequence[float], heights: Sequence[float], mass: float, elevation: float, air: Air) -> Sunk:
    """What let a mass [kg] sink so: true heights above the field [m] over rising times [s], while it sank steadily.

    elevation of the field [m]; the air of the day. Gravity is standard at all heights, as in descent.py; that the fall slows
    down on its way, 0.4 % of the drag at 25 m/s, is counted. Raises Refusal when there are too few samples, or when it may
    just as well not have sunk at all.
    """
    path = straightened(heights, elevation, air)
    found = line(times, path)
    rate = found.slope.map(lambda slope: -slope)
    if rate.low <= 0:
        raise Refusal(
            Fault(
                message="rate of this phase: it does not sink steadily, as far as these samples tell.",
                label="rate of this phase",
                given=f"{rate.low:.2f} to {rate.high:.2f} m/s",
                allowed="sinking all the time",
            )
        )
    middle_height = max(0.0, sum(heights) / len(heights))
    drag_area = rate.map(lambda v: drag_of(v, mass, elevation, middle_height, air))
    middle = sum(path) / len(path) - found.slope.best * sum(times) / len(times)
    left = tuple(value - middle - found.slope.best * time for time, value in zip(times, path, strict=True))
    return Sunk(rate, drag_area, 2 * drag_area.best * found.error / rate.best, found, left)


# --- several flights -------------------------------------------------------------------------------


@dataclass(frozen=True)
class Pooled:
    """Several flights together: the mean with its 95 % interval, and the range to plan with [all any].

    planned holds the mean's interval and every flight's best. Of few flights, which cannot tell how much flights differ,
    `worked.measured.taken` plans with another range.

    between: standard deviation between flights beside what each is unsure of, as a share (dimensionless); birge: Birge's
    ratio (dimensionless), about 1 where the flights differ no more than they are unsure of; odd: places of flights that lie
    more than three of their own standard deviations away. They are counted all the same. weights: the share of the mean's logarithm
    that is each flight's (dimensionless), one in all.
    """

    mean: Spread
    planned: Spread
    between: float
    birge: float
    odd: tuple[int, ...]
    weights: tuple[float, ...]


def pooled(flights: Sequence[Spread]) -> Pooled:
    """One value out of at least one, each with its 95 % interval, all above zero [any].

    Logarithms weighted by the inverse of variance, with DerSimonian and Laird's term between flights (1986, Controlled
    Clinical Trials 7, 177); degrees of freedom after Welch and Satterthwaite, the part between flights having one less than
    there are flights; Birge's ratio: Birge 1932, Physical Review 40, 207 (all from memory).
    """
    logs = [logarithm(one.best) for one in flights]
    errors = [max(1e-9, logarithm(one.high / one.low) / (2 * _NORMAL)) for one in flights]
    if len(flights) == 1:
        return Pooled(flights[0], flights[0], 0.0, 1.0, (), (1.0,))
    weights = [1 / (error * error) for error in errors]
    total, free = sum(weights), len(flights) - 1
    fixed = sum(w * x for w, x in zip(weights, logs, strict=True)) / total
    excess = sum(w * (x - fixed) * (x - fixed) for w, x in zip(weights, logs, strict=True))
    between = max(0.0, (excess - free) / (total - sum(w * w for w in weights) / total))
    shares = [1 / (error * error + between) for error in errors]
    mean = sum(w * x for w, x in zip(shares, logs, strict=True)) / sum(shares)
    variance = 1 / sum(shares)
    part = 1 - 1 / total / variance
    degrees = int(free / (part * part)) if part > 0.1 * sqrt(free) else _MANY
    reach = (student_reach(SURE, max(free, degrees)) if degrees < _MANY else _NORMAL) * sqrt(variance)
    inner = Spread(exponential(mean - reach), exponential(mean), exponential(mean + reach))
    bests = [one.best for one in flights]
    planned = Spread(min(inner.low, *bests), inner.best, max(inner.high, *bests))
    odd = tuple(i for i, (x, error) in enumerate(zip(logs, errors, strict=True)) if abs(x - mean) > 3 * sqrt(error * error + between))
    return Pooled(inner, planned, sqrt(between), sqrt(excess / free), odd, tuple(share / sum(shares) for share in shares))
