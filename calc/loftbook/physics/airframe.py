"""The airframe itself: how it falls before any canopy opens, and the static ports of its electronics bay. SI.

Knows lengths and diameters of plain cylinders; fins, rings and cord are left out, so the real thing falls no faster
than its low drag says. Cross-flow coefficients: S. F. Hoerner, Fluid-Dynamic Drag, 1965, ch. 3 (values from memory).
"""

from collections.abc import Sequence
from typing import Literal

from loftbook.physics.canopy import terminal_rate
from loftbook.physics.elementary import PI, sqrt
from loftbook.physics.spread import Spread

Attitude = Literal["broadside", "tumbling"]
Body = tuple[float, float]  # length, diameter [m] of one part

# Drag of a cylinder across the flow over length x diameter, below the drag crisis: 0.7 to 0.8 for five to ten
# diameters of length, 1.1 to 1.2 for a very long one, a little less for a stubby one (Hoerner 1965, ch. 3; memory).
ACROSS = Spread(0.6, 0.75, 1.2)
# Above a Reynolds number of 2e5 the flow may close behind a smooth cylinder and drag falls to about 0.3 (same; memory); a
# rough one gets there sooner (E. Achenbach, J. Fluid Mech. 46, 1971; memory). So it falls off from half of that on, with
# the inverse of the number (our choice), and no rig is just short of it.
ROUGH_CRISIS = 1e5
PAST_CRISIS = 0.3
# Drag of a whole finned rocket on its frontal area, pointing into the flow below the speed of sound: 0.3 for a slender
# polished one, about 0.5 for most, 0.8 with thick fins and rough skin, motor burnt out: pressure drag of the base, skin
# friction and fins counted in (Hoerner 1965, ch. 3 and 16; memory).
ALONG = Spread(0.3, 0.5, 0.8)
# Drag of a slanting cylinder goes with the cube of the sine of its slant (same, cross-flow principle; memory). Over
# all directions that is 3 pi / 16 of the broadside drag, on a mean projected area pi / 4 of it: exactly three quarters.
SLANTED = 0.75
_MOST_ROUNDS = 20
VISCOSITY = 1.8e-5  # Pa s, air near 15 degC (any physics table; memory)

PORT_DIAMETER = 0.25 * 0.0254  # m; common practice, no source: the area of one such hole …
PORT_VOLUME = 100 * 0.0254 * 0.0254 * 0.0254  # m^3; … for this volume of the bay


def broadside_drag_area(length: float, diameter: float, coefficient: float) -> float:
    """Drag area [m^2] of a cylinder across the flow: coefficient (dimensionless) x length [m] x diameter [m].

    Raises ValueError unless all three are above zero.
    """
    _above_zero(length=length, diameter=diameter, coefficient=coefficient)
    return coefficient * length * diameter


def mean_projected_area(length: float, diameter: float) -> float:
    """Shadow [m^2] of a cylinder of `length` [m] and `diameter` [m], averaged over all directions.

    A quarter of its surface, ends included: exact for every convex body (Cauchy; any text on integral geometry).
    Raises ValueError unless both are above zero.
    """
    _above_zero(length=length, diameter=diameter)
    return PI * diameter * (length + diameter / 2) / 4


def tumbling_drag_area(length: float, diameter: float, coefficient: float) -> float:
    """Drag area [m^2] of a cylinder that turns through all directions alike: coefficient x mean projected area.

    length, diameter [m]; coefficient dimensionless, on the mean projected area. Raises ValueError unless all three
    are above zero.
    """
    _above_zero(coefficient=coefficient)
    return coefficient * mean_projected_area(length, diameter)


def bare_drag_area(bodies: Sequence[Body], attitude: Attitude, mass: float, density: float) -> Spread:
    """Drag area [m^2] of parts that fall tied together without a canopy: low (fast, the safe side), best, high.

    bodies: (length, diameter) [m] of each part; mass [kg] of them all; density of the air [kg/m^3]. The parts' drag
    areas are added, each as a cylinder broadside or tumbling, as if none fell in another's wake. The low end is in or
    past the drag crisis as far as the widest part may get into it at that rate. A measured rate is better
    than this: `canopy.drag_area_for` turns it into a drag area. Raises ValueError when there is no part or
    anything is not above zero.
    """
    if not bodies:
        raise ValueError("nothing falls: there are no parts")
    _above_zero(mass=mass, density=density)
    if attitude == "broadside":
        share, whole = 1.0, sum(broadside_drag_area(length, diameter, 1.0) for length, diameter in bodies)
    else:
        share, whole = SLANTED, sum(tumbling_drag_area(length, diameter, 1.0) for length, diameter in bodies)
    widest, low = max(diameter for _, diameter in bodies), ACROSS.low
    for _ in range(_MOST_ROUNDS):  # the less drag the faster, and the faster the less drag
        rate = terminal_rate(mass, low * share * whole, density)
        low = min(low, _across_at_least(reynolds(rate, widest, density)))
    return Spread(low * share * whole, ACROSS.best * share * whole, ACROSS.high * share * whole)


def nose_first_drag_area(diameter: float, coefficient: Spread = ALONG) -> Spread:
    """Drag area [m^2] of a whole rocket that falls nose first, fins aft: low (fast, the safe side), best, high.

    coefficient (dimensionless) x frontal area of the widest tube, `diameter` [m]; fins, skin friction and base are in the
    coefficient (Hoerner 1965, ch. 3 and 16; from memory). Slower than sound only: a rocket that falls from far up comes
    near it, and its drag is greater there, so this errs to the fast side. Raises ValueError unless the diameter and the
    low coefficient are above zero.
    """
    _above_zero(diameter=diameter, coefficient=coefficient.low)
    return coefficient.map(lambda one: one * PI * diameter * diameter / 4)


def _across_at_least(number: float) -> float:
    """Least coefficient across the flow at a Reynolds number (both dimensionless)."""
    return max(PAST_CRISIS, ACROSS.low * min(1.0, ROUGH_CRISIS / number))


def reynolds(speed: float, diameter: float, density: float) -> float:
    """Reynolds number (dimensionless) of a cylinder: rho v d / mu; speed [m/s], diameter [m], air [kg/m^3]."""
    return density * speed * diameter / VISCOSITY


def port_diameter(volume: float, count: int) -> float:
    """Diameter [m] of each of `count` equal static ports of an electronics bay of `volume` [m^3].

    Together they have the area of one 1/4 in hole per 100 in^3 (common practice, no source): one litre with three
    holes, 2.9 mm each. Raises ValueError for a volume not above zero or fewer than one hole.
    """
    _above_zero(volume=volume)
    if count < 1:
        raise ValueError(f"a bay has at least one port, not {count}")
    return PORT_DIAMETER * sqrt(volume / (PORT_VOLUME * count))


def _above_zero(**values: float) -> None:
    for name, value in values.items():
        if not value > 0:
            raise ValueError(f"{name} is above zero, not {value!r}")
