"""What a failure asks that the plan does not: the speed of a charge that fires early, how far a thing flies on by itself.

SI; the falls themselves are in `strides`.
"""

from loftbook.physics.atmosphere import G0
from loftbook.physics.elementary import logarithm, tangent


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
