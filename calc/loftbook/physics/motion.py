"""The full run with gravity: m dv/dt = m g - rho(z) v^2 CdS(t) / 2, from release through each opening to the ground.

Integrated by the Dormand-Prince 5(4) pair with a step chosen from its error estimate and events found on the cubic
through the step's ends. SI throughout; heights above the field, speeds downward. The whole release speed is taken
as downward, which is the safe side for the opening load.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from loftbook.physics.atmosphere import G0, Air
from loftbook.physics.elementary import sqrt
from loftbook.physics.remembered import remembered

State = tuple[float, float]  # height above the field [m], speed downward [m/s]
TOLERANCE = 1e-7
MOST_STEPS = 4000
_STIFF = 80.0  # height left x g / v^2 above which a settled canopy is not followed in small steps
_SETTLED = 12.0  # times v/g after filling; a disturbance falls to a third in half of v/g


@dataclass(frozen=True)
class Opening:
    """One canopy's opening: from `height` [m] above the field its drag area grows to `drag_area` [m^2] while it fills.

    filling_constant n (dimensionless) and diameter D0 [m] give t_f = n D0 / v; the drag area grows with the square of
    the time (solid cloth: Knacke 1991, sec. 5.4, from memory). A canopy held shut by a device opens where that lets go.
    """

    name: str
    height: float
    drag_area: float
    diameter: float
    filling_constant: float

    def fills_in(self, speed: float) -> float:
        """t_f = n D0 / v [s] at a speed downward [m/s], but never longer than a free fall over n D0 would take."""
        path = self.filling_constant * self.diameter
        return path / max(speed, sqrt(G0 * path / 2))


@dataclass(frozen=True)
class Instant:
    """time [s], height above the field [m], speed downward [m/s], drag [N]: of the canopies, before them of the body."""

    time: float
    height: float
    speed: float
    drag: float


@dataclass(frozen=True)
class Filling:
    """What one opening did: when and at what speed, how long it filled [s], the greatest drag and its moment.

    before: drag area of the canopies that were open already [m^2].
    """

    name: str
    opened: Instant
    duration: float
    peak: Instant
    before: float


@dataclass(frozen=True)
class Run:
    """The whole way down: every instant, the fall before the first opening too; one filling for each opening."""

    instants: tuple[Instant, ...]
    fillings: tuple[Filling, ...]

    @property
    def touchdown(self) -> Instant:
        """The last instant, at the height of the field [0 m]."""
        return self.instants[-1]


def _step(f: Callable[[float, State], State], t: float, y: State, k1: State, h: float) -> tuple[State, State, State]:
    """One Dormand-Prince step: new state, its slope, error estimate.

    Coefficients: Dormand and Prince, A family of embedded Runge-Kutta formulae, J. Comp. Appl. Math. 6 (1980), table 2.
    Written out, not summed over a table: a run takes thousands of them.
    """
    z, v = y
    z1, v1 = k1
    z2, v2 = f(t + h / 5, (z + h / 5 * z1, v + h / 5 * v1))
    a, b = 3 / 40 * h, 9 / 40 * h
    z3, v3 = f(t + 3 / 10 * h, (z + a * z1 + b * z2, v + a * v1 + b * v2))
    a, b, c = 44 / 45 * h, -56 / 15 * h, 32 / 9 * h
    z4, v4 = f(t + 4 / 5 * h, (z + a * z1 + b * z2 + c * z3, v + a * v1 + b * v2 + c * v3))
    a, b, c, d = 19372 / 6561 * h, -25360 / 2187 * h, 64448 / 6561 * h, -212 / 729 * h
    z5, v5 = f(t + 8 / 9 * h, (z + a * z1 + b * z2 + c * z3 + d * z4, v + a * v1 + b * v2 + c * v3 + d * v4))
    a, b, c, d, e = 9017 / 3168 * h, -355 / 33 * h, 46732 / 5247 * h, 49 / 176 * h, -5103 / 18656 * h
    z6, v6 = f(
        t + h,
        (z + a * z1 + b * z2 + c * z3 + d * z4 + e * z5, v + a * v1 + b * v2 + c * v3 + d * v4 + e * v5),
    )
    a, c, d, e, g = 35 / 384 * h, 500 / 1113 * h, 125 / 192 * h, -2187 / 6784 * h, 11 / 84 * h
    new = (
        z + a * z1 + c * z3 + d * z4 + e * z5 + g * z6,
        v + a * v1 + c * v3 + d * v4 + e * v5 + g * v6,
    )
    z7, v7 = f(t + h, new)
    a, c, d = 71 / 57600 * h, -71 / 16695 * h, 71 / 1920 * h
    e, g, i = -17253 / 339200 * h, 22 / 525 * h, -1 / 40 * h
    error = (
        a * z1 + c * z3 + d * z4 + e * z5 + g * z6 + i * z7,
        a * v1 + c * v3 + d * v4 + e * v5 + g * v6 + i * v7,
    )
    return new, (z7, v7), error


def integrate(
    f: Callable[[float, State], State],
    t: float,
    y: State,
    end: float,
    stop_height: float,
    tolerance: float = TOLERANCE,
) -> list[tuple[float, State]]:
    """Points (time [s], (height [m], speed [m/s])) from (t, y) until `end` [s] or the height falls to `stop_height` [m].

    f gives the rates of height and speed. The last point lies exactly at the event. tolerance: of a step's error, over
    1 + the value (dimensionless). Raises ArithmeticError when it needs more than 4,000 steps.
    """
    points = [(t, y)]
    slope = f(t, y)
    h = min(0.01, end - t)
    for _ in range(MOST_STEPS):
        if t >= end or y[0] <= stop_height:
            return points
        h = min(h, end - t)
        new, new_slope, error = _step(f, t, y, slope, h)
        scale = max(
            abs(error[0]) / (tolerance * (1 + abs(new[0]))), abs(error[1]) / (tolerance * (1 + abs(new[1]))), 1e-8
        )
        if scale <= 1:
            if new[0] < stop_height:
                part = _crossing(y[0], new[0], slope[0], new_slope[0], h, stop_height)
                new, new_slope, _ = _step(f, t, y, slope, h * part)
                points.append((t + h * part, (stop_height, new[1])))
                return points
            t, y, slope = (end if end - t - h < 1e-12 * (1 + abs(end)) else t + h), new, new_slope
            points.append((t, y))
        h *= min(5.0, max(0.2, 0.9 / sqrt(sqrt(scale))))
    raise ArithmeticError("the way down needs more steps than are allowed")


def _crossing(z0: float, z1: float, d0: float, d1: float, h: float, level: float) -> float:
    """Where in the step (0 to 1) the cubic through both ends falls to `level`."""
    low, high = 0.0, 1.0
    for _ in range(50):
        s = (low + high) / 2
        z = (
            z0 * (1 + 2 * s) * (1 - s) * (1 - s)
            + h * d0 * s * (1 - s) * (1 - s)
            + z1 * s * s * (3 - 2 * s)
            + h * d1 * s * s * (s - 1)
        )
        low, high = (s, high) if z > level else (low, s)
    return (low + high) / 2


@remembered(16)
def run(
    mass: float,
    openings: tuple[Opening, ...],
    release_speed: float,
    elevation: float,
    air: Air,
    top: float | None = None,
    bare: float = 0.0,
) -> Run:
    """From `top` [m] above the field at `release_speed` [m/s] downward to the ground.

    mass [kg]; elevation of the field [m]. Openings are in falling order of height; an earlier canopy stays open. Without
    `top` the fall begins where the first canopy opens; from a greater height it falls without a canopy until then,
    slowed by the body's own drag area `bare` [m^2] only (0: a free fall). From the first opening on `bare` is dropped:
    the body then hangs below, in no known attitude, and leaving it out gives the higher rate and load, the safe side.
    Raises ValueError when there is no opening, `top` lies below the first or `bare` is negative.
    """
    if not openings or bare < 0:
        raise ValueError("a run needs an opening, and no drag area below zero")
    first = openings[0].height
    begins = first if top is None else top
    if begins < first:
        raise ValueError(f"the fall begins at {begins:g} m, below the first opening at {first:g} m")
    density = air.quick(elevation)
    instants = _bare_fall(mass, density, bare if begins > first else 0.0, (begins, release_speed), first)
    fillings: list[Filling] = []
    open_area = 0.0
    for opening, floor in zip(openings, [*(later.height for later in openings[1:]), 0.0], strict=True):
        start, state = instants[-1].time, (instants[-1].height, instants[-1].speed)
        duration = opening.fills_in(state[1])
        area = _growing(start, duration, open_area, open_area + opening.drag_area)
        slope = _slope(mass, density, area)
        points = integrate(slope, start, state, start + duration, floor)
        if points[-1][1][0] > floor:
            points += _settling(slope, points[-1], floor, _steady(mass, density, area(points[-1][0])))
        part = [_instant(point, density, area) for point in points]
        fillings.append(Filling(opening.name, part[0], duration, _peak(part, slope, density, area), open_area))
        instants += part[1:]
        open_area = area(points[-1][0])
    return Run(tuple(instants), tuple(fillings))


def _growing(start: float, duration: float, before: float, after: float) -> Callable[[float], float]:
    """Drag area [m^2] by time [s]: `before` and the square of the time's share of the rest, whole once filled."""

    def area(t: float) -> float:
        """Drag area [m^2] at a time [s]."""
        share = (t - start) / duration
        return before + (after - before) * (1.0 if share >= 1 else share * share)

    return area


def _slope(
    mass: float, density: Callable[[float], float], area: Callable[[float], float]
) -> Callable[[float, State], State]:
    """Rates of height and speed by time and state."""

    def slope(t: float, y: State) -> State:
        """Rates of height [m/s] and of speed [m/s^2]."""
        drag = density(y[0]) * y[1] * abs(y[1]) / 2 * area(t)
        return -y[1], G0 - drag / mass

    return slope


def _instant(point: tuple[float, State], density: Callable[[float], float], area: Callable[[float], float]) -> Instant:
    t, (height, speed) = point
    return Instant(t, height, speed, density(height) * speed * speed / 2 * area(t))


def _bare_fall(
    mass: float, density: Callable[[float], float], bare: float, state: State, floor: float
) -> list[Instant]:
    """Down to the first opening without a canopy; the first instant alone when it begins there.

    In sixteen parts of equal height, so that a line drawn through the instants is round where the steps are long.
    """

    def area(t: float) -> float:
        """The same drag area [m^2] at every time [s]."""
        return bare

    points = [(0.0, state)]
    height = state[0] - floor
    for left in range(15, -1, -1) if height > 0 else ():
        points += integrate(_slope(mass, density, area), *points[-1], 1e6, floor + height * left / 16)[1:]
    return [_instant(point, density, area) for point in points]


def _settling(
    slope: Callable[[float, State], State],
    filled: tuple[float, State],
    floor: float,
    steady: Callable[[float], float],
) -> list[tuple[float, State]]:
    """From a filled canopy down to `floor`: followed until it has settled, then sinking steadily if that is long."""
    time, state = filled
    slow = steady(floor)
    stiff = (state[0] - floor) * G0 > _STIFF * slow * slow
    points = integrate(slope, time, state, time + _SETTLED * slow / G0 if stiff else 1e6, floor)[1:]
    if points[-1][1][0] > floor:
        points += _sinking(points[-1][0], points[-1][1][0], floor, steady)
    return points


def _steady(mass: float, density: Callable[[float], float], area: float) -> Callable[[float], float]:
    """Speed [m/s] by height once settled: v_t with the slow change of density kept, v^2 = v_t^2 (1 - a/g)."""

    def speed(height: float) -> float:
        """Steady speed [m/s] at a height above the field [m]."""
        here = density(height)
        square = 2 * mass * G0 / (here * area)
        thinning = (density(height + 1.0) - density(height - 1.0)) / (2 * here)
        return sqrt(square * (1 - square * thinning / (2 * G0)))

    return speed


def _sinking(time: float, top: float, floor: float, steady: Callable[[float], float]) -> list[tuple[float, State]]:
    """Thirty-two steps of settled sinking from `top` to `floor`, each by Simpson's rule."""
    points, step, upper, before = [], (top - floor) / 32, top, steady(top)
    for left in range(31, -1, -1):
        lower = floor + left * step
        after = steady(lower)
        time += (upper - lower) / 6 * (1 / before + 4 / steady((upper + lower) / 2) + 1 / after)
        points.append((time, (lower, after)))
        upper, before = lower, after
    return points


def _peak(
    part: Sequence[Instant],
    slope: Callable[[float, State], State],
    density: Callable[[float], float],
    area: Callable[[float], float],
) -> Instant:
    """The greatest drag: the largest of the steps, refined by small steps on both sides of it."""
    best = max(range(len(part)), key=lambda i: part[i].drag)
    peak = part[best]
    for left in range(max(0, best - 1), min(best + 1, len(part) - 1)):
        t, y = part[left].time, (part[left].height, part[left].speed)
        h, rates = (part[left + 1].time - t) / 8, slope(t, y)
        for _ in range(8):
            y, rates, _ = _step(slope, t, y, rates, h)
            t += h
            drag = density(y[0]) * y[1] * y[1] / 2 * area(t)
            if drag > peak.drag:
                peak = Instant(t, y[0], y[1], drag)
    return peak
