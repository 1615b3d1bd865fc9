"""What a failure asks that the plan does not: falls between two heights in closed form, a filling in few steps, the speed of
a charge that fires early, how far a thing flies on by itself. SI; heights above the field, speeds downward.

The equations of motion are those of `motion`: m dv/dt = m g - rho(z) v^2 CdS / 2. With a drag area that does not change they
are linear in v^2 and solved exactly through layers of even air, thin near the end, so that twenty failures cost less than a few long runs.
"""

from dataclasses import dataclass

from loftbook.physics import motion
from loftbook.physics.atmosphere import G0, Air
from loftbook.physics.elementary import exponential, logarithm, sqrt, tangent
from loftbook.physics.motion import Opening

LAYER = 250.0  # m: the thickest; the lowest, in which the last speed is made, is far thinner
LEAST_LAYERS = 4
LOOSE = 1e-4  # tolerance of a step of a filling: loads to a part in two thousand
_SPENT = 700.0  # beyond it e^-x is nothing


@dataclass(frozen=True)
class Moment:
    """time [s], height above the field [m], speed downward [m/s]."""

    time: float
    height: float
    speed: float


def fall(mass: float, drag_area: float, start: Moment, floor: float, elevation: float, air: Air) -> Moment:
    """Where a mass [kg] with an unchanging drag area [m^2] (0: none) is when it comes down to `floor` [m], from `start`.

    elevation of the field [m]. In a layer of even air, terminal rate V: v1^2 = V^2 + (v0^2 - V^2) e^(-2 g dz / V^2) and
    t = dz/V + V/g ln((V + v1) / (V + v0)) (both follow from the equation of motion; without air v1^2 = v0^2 + 2 g dz).
    A start at or below the floor is given back. Raises ValueError unless mass > 0 and the drag area is not negative.
    """
    if not mass > 0 or drag_area < 0:
        raise ValueError("a fall needs a mass above zero, and no drag area below zero")
    way = start.height - floor
    if way <= 0:
        return start
    density, count = air.quick(elevation), max(LEAST_LAYERS, int(2 * way / LAYER) + 1)
    upper, time, speed = start.height, start.time, start.speed
    for i in range(count - 1, -1, -1):
        lower = floor + way * (i / count) * (i / count)
        step, middle, upper = upper - lower, (upper + lower) / 2, lower
        if not drag_area:
            after = sqrt(speed * speed + 2 * G0 * step)
            time, speed = time + (after - speed) / G0, after
            continue
        square = 2 * mass * G0 / (density(middle) * drag_area)
        steady, path = sqrt(square), 2 * G0 * step / square
        left = exponential(-path) if path < _SPENT else 0.0
        after = sqrt(square + (speed * speed - square) * left)
        time += step / steady + steady / G0 * logarithm((steady + after) / (steady + speed))
        speed = after
    return Moment(time, floor, speed)


def filling(
    mass: float, opening: Opening, before: float, start: Moment, elevation: float, air: Air, floor: float = 0.0
) -> tuple[float, Moment]:
    """(greatest drag [N] while a canopy fills, the moment when it has filled or the floor [m] is reached).

    mass [kg]; it opens at `start`, beside a drag area [m^2] that is open `before`; elevation of the field [m]. The same
    motion as in `motion.run`, in fewer steps; the greatest drag is looked for on the cubics between them.
    """
    density, duration = air.quick(elevation), opening.fills_in(start.speed)
    here, growth = density(start.height), (density(start.height - LAYER) - density(start.height)) / LAYER
    begun, top, whole = start.time, start.height, opening.drag_area

    def half_drag_area(t: float, height: float) -> float:
        """rho CdS / 2 [kg/m] at a time [s] and height [m]; over so little height the density is a straight line."""
        share = (t - begun) / duration
        area = before + whole * (share * share if share < 1 else 1.0)
        return (here + growth * (top - height)) * area / 2

    def slope(t: float, y: motion.State) -> motion.State:
        """Rates of height [m/s] and of speed [m/s^2]."""
        return -y[1], G0 - half_drag_area(t, y[0]) * y[1] * abs(y[1]) / mass

    points = motion.integrate(slope, start.time, (start.height, start.speed), start.time + duration, floor, LOOSE)

    def drag(t: float, height: float, speed: float) -> float:
        """Drag [N] in a state."""
        return half_drag_area(t, height) * speed * speed

    pulls = [drag(t, *y) for t, y in points]
    best = max(range(len(points)), key=pulls.__getitem__)
    most = pulls[best]
    for i in range(max(0, best - 1), min(best + 1, len(points) - 1)):
        (t0, (z0, v0)), (t1, (z1, v1)) = points[i], points[i + 1]
        h, a0, a1 = t1 - t0, slope(t0, (z0, v0))[1], slope(t1, (z1, v1))[1]
        for k in range(1, 8):
            s = k / 8
            r = 1 - s
            speed = v0 * (1 + 2 * s) * r * r + h * a0 * s * r * r + v1 * s * s * (3 - 2 * s) - h * a1 * s * s * r
            most = max(most, drag(t0 + s * h, z0 + s * (z1 - z0), speed))
    time, (height, speed) = points[-1]
    return most, Moment(time, height, speed)


def early_speed(early: float, steady: float, fastest: float) -> float:
    """Speed upward [m/s] so long [s] before the top: V tan(g t / V), at most the `fastest` it ever was [m/s].

    steady: V [m/s], the rate at which it would fall nose first; the least of its range is the safe side, because more drag
    takes more speed to climb as long. Exact for a straight way up in even air (from the equation of motion).
    """
    turn = G0 * early / steady
    return min(fastest, steady * tangent(turn)) if turn < 1.5 else fastest


def carried_on(speed: float, time: float, mass: float, drag_area: float, density: float) -> float:
    """How far [m] a mass [kg] flies on across in a time [s] from a speed [m/s], at the most: L ln(1 + v t / L).

    L = 2 m / (rho CdS): quadratic drag of that drag area [m^2] in air of that density [kg/m^3], the speed downward left out,
    which would brake it more (mechanics). Without drag v t.
    """
    if not drag_area:
        return speed * time
    reach = 2 * mass / (density * drag_area)
    return reach * logarithm(1 + speed * time / reach)
