"""The same motion as `motion`, in long strides, for ways down that are asked for their ends and not for a curve.

m dv/dt = m g - rho(z) v^2 CdS / 2. With a drag area that does not change this is linear in v^2 and solved exactly through
layers of even air, thin near the end; a filling is integrated in few steps. SI; heights above the field, speeds downward.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from loftbook.physics import motion
from loftbook.physics.atmosphere import G0, Air
from loftbook.physics.elementary import exponential, logarithm, sqrt
from loftbook.physics.motion import Opening
from loftbook.physics.remembered import remembered

LAYER = 500.0  # m: the thickest; the lowest, in which the last speed is made, is far thinner
LEAST_LAYERS = 2
LOOSE = 1e-4  # tolerance of a step of a filling: loads to a part in a thousand
NEAR = 0.1  # of the steady rate: nearer than this a canopy has settled (our choice)
_NEARLY = 1e-3  # so much too far off is near enough
_SPENT = 40.0  # beyond it e^-x is nothing beside one


@dataclass(frozen=True)
class Moment:
    """time [s], height above the field [m], speed downward [m/s]."""

    time: float
    height: float
    speed: float


@dataclass(frozen=True)
class Opened:
    """A canopy opens: when, where and how fast, beside a drag area that is open `before` [m^2]; what comes of it.

    below: height at which the next one opens, or of the ground [m]; fills: in how long [s]; pull: the greatest of all
    canopies meanwhile [N].
    """

    at: Moment
    before: float
    below: float
    fills: float
    pull: float


@remembered(4096)
def fall(mass: float, drag_area: float, start: Moment, floor: float, elevation: float, air: Air) -> Moment:
    """Where a mass [kg] with an unchanging drag area [m^2] (0: none) is when it comes down to `floor` [m], from `start`.

    elevation of the field [m]. In even air, terminal rate V: v1^2 = V^2 + (v0^2 - V^2) e^-x with x = 2 g dz / V^2, and
    t = dz/V + V/g ln((V + v1) / (V + v0)) (both follow from the equation of motion; without air v1^2 = v0^2 + 2 g dz).
    Where V^2 falls evenly by d through a layer, v^2 stays behind it by d / x once settled. A start at or below the floor is
    given back. Raises ValueError unless mass > 0 and the drag area is not negative.
    """
    if not mass > 0 or drag_area < 0:
        raise ValueError("a fall needs a mass above zero, and no drag area below zero")
    way = start.height - floor
    if way <= 0:
        return start
    if not drag_area:
        after = sqrt(start.speed * start.speed + 2 * G0 * way)
        return Moment(start.time + (after - start.speed) / G0, floor, after)
    density, count = air.quick(elevation), max(LEAST_LAYERS, int(way / LAYER + 1e-6) + 1)  # as many for a way that is a whole number of layers but for rounding
    weight = 2 * mass * G0 / drag_area
    upper, time, speed = start.height, start.time, start.speed
    above = weight / density(upper)
    for i in range(count - 1, -1, -1):
        lower = floor + way * (i / count) * (i / count)
        step, upper, here = upper - lower, lower, weight / density(lower)
        square = (above + here) / 2
        path = 2 * G0 * step / square
        behind, left = (above - here) / path, exponential(-path) if path < _SPENT else 0.0
        steady, after = sqrt(square), sqrt(here + behind + (speed * speed - above - behind) * left)
        time += step / steady + steady / G0 * logarithm((steady + after) / (steady + speed))
        speed, above = after, here
    return Moment(time, floor, speed)


@remembered(1024)
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


def down(
    mass: float, bare: float, openings: Sequence[Opening], start: Moment, elevation: float, air: Air
) -> tuple[tuple[Opened, ...], Moment]:
    """Each opening, and the touchdown: the ends of `motion.run`.

    mass [kg]; bare: its drag area until the first opening [m^2]; openings in falling order of height, an earlier canopy
    stays open; start: where and how fast it begins; elevation of the field [m].
    """
    now, area, before, found = start, bare, 0.0, list[Opened]()
    below = [*(later.height for later in openings[1:]), 0.0]
    for one, floor in zip(openings, below, strict=False):  # without a canopy only the ground is below
        at = fall(mass, area, now, one.height, elevation, air)
        duration = one.fills_in(at.speed)
        pull, now = filling(mass, one, before, at, elevation, air, floor)
        found.append(Opened(at, before, floor, duration, pull))
        share = (now.time - at.time) / duration
        area = before = before + one.drag_area * min(1.0, share * share)
    return tuple(found), fall(mass, area, now, 0.0, elevation, air)


def sinking_pull(mass: float, drag_area: float, height: float, elevation: float, air: Air) -> float:
    """The greatest drag [N] of a mass [kg] from a height [m] down once it sinks: m g / (1 - V^2 / 2gH), at most twice the weight.

    V: the steady rate there, the greatest of the way; H: the height over which the air thins to 1/e. It sinks into thicker
    air a little faster than is steady in it, and where v^2 / V^2 is greatest its rate of change is zero (from the equation of
    motion). drag_area of all that is open [m^2], elevation of the field [m].
    """
    density = air.quick(elevation)
    here = density(height)
    thins = (density(height - LAYER) / here - 1) / LAYER
    return mass * G0 / max(0.5, 1 - mass / (here * drag_area) * thins)


def settled(mass: float, opening: Opening, opened: Opened, elevation: float, air: Air) -> Moment | None:
    """The first moment at which a last canopy has filled and the speed is within a tenth of the steady rate V under all
    that is open; None where the ground comes first.

    It opens where another way down did. mass [kg]; elevation of the field [m]. In even air v^2 comes as near as that after
    dz = V^2 / 2g ln(far), far how many times as far from V^2 it is (from the equation of motion); gone again until it is
    so in the air that is there.
    """
    _, now = filling(mass, opening, opened.before, opened.at, elevation, air)
    density, weight = air.quick(elevation), 2 * mass * G0 / (opened.before + opening.drag_area)
    while now.height > 0:
        square = weight / density(now.height)
        off = now.speed * now.speed / square - 1
        far = off / ((1 + NEAR) ** 2 - 1) if off > 0 else off / ((1 - NEAR) ** 2 - 1)
        if far <= 1 + _NEARLY:
            return now
        drop = square / (2 * G0) * logarithm(far)
        now = fall(mass, opened.before + opening.drag_area, now, max(0.0, now.height - drop), elevation, air)
    return None
