"""How hard a canopy opens: the handbook's closed forms. SI throughout.

Three values stand side by side: infinite mass (F = q CdS Cx), finite mass without gravity (the Pflanz method), and
the full run with gravity, which is in `motion`. Source: Knacke 1991, sec. 5.4, definitions from memory.
"""

from dataclasses import dataclass

from loftbook.physics.atmosphere import G0
from loftbook.physics.elementary import power, sqrt


def dynamic_pressure(density: float, speed: float) -> float:
    """q = rho v^2 / 2 [Pa]; density [kg/m^3], speed [m/s]."""
    return density * speed * speed / 2


def filling_time(constant: float, diameter: float, speed: float) -> float:
    """t_f = n D0 / v [s]; n the family's filling constant, D0 [m], v the speed at line stretch [m/s]."""
    return constant * diameter / speed


def ballistic_parameter(mass: float, density: float, drag_area: float, speed: float, filling: float) -> float:
    """A = 2 m / (CdS rho v t_f), dimensionless (Pflanz method: Knacke 1991, sec. 5.4; memory).

    mass [kg], density [kg/m^3], drag area [m^2], speed [m/s] and filling time [s], all above zero.
    """
    return 2 * mass / (drag_area * density * speed * filling)


def peak_moment(ballistic: float, growth: float) -> float:
    """Moment of the greatest force over the filling time (dimensionless): tau^(j+1) = j (j+1) A / (j+2), at most 1.

    ballistic: A above zero, dimensionless, otherwise ValueError; growth: exponent j of the drag area in time. Follows
    from the closed form in `reduction_factor` by setting the derivative of the drag to zero.
    """
    if not ballistic > 0:
        raise ValueError(f"the ballistic parameter is above zero, not {ballistic!r}")
    return min(1.0, power(growth * (growth + 1) * ballistic / (growth + 2), 1 / (growth + 1)))


def reduction_factor(ballistic: float, growth: float = 2.0) -> float:
    """X1 (dimensionless): greatest drag while filling over q CdS, drag area growing as tau^growth, no gravity.

    Closed form of dv/dtau = -tau^j v^2 / A: 1/v = 1 + tau^(j+1) / (A (j+1)), x = tau^j v^2 at `peak_moment`. Raises
    ValueError unless `ballistic` is above zero.
    """
    tau = peak_moment(ballistic, growth)
    slowed = 1 + power(tau, growth + 1) / (ballistic * (growth + 1))
    return power(tau, growth) / (slowed * slowed)


@dataclass(frozen=True)
class HandbookLoads:
    """Opening force [N]: infinite mass; finite mass with Cx of 1 and with the family's; what they rest on.

    ballistic A and reduction X1 are dimensionless, filling is in [s].
    """

    infinite: float
    finite: float
    finite_cx: float
    ballistic: float
    reduction: float
    filling: float


def handbook_loads(
    mass: float, density: float, drag_area: float, diameter: float, speed: float, filling_constant: float, cx: float
) -> HandbookLoads:
    """Both handbook values for a solid-cloth canopy (growth 2) opening at `speed` [m/s], above zero.

    mass [kg], density [kg/m^3], drag area [m^2], diameter D0 [m]; filling constant and Cx dimensionless. Without
    gravity the finite-mass value is not on the safe side under a large canopy; the full run in `motion` leads.
    """
    filling = filling_time(filling_constant, diameter, speed)
    ballistic = ballistic_parameter(mass, density, drag_area, speed, filling)
    reduction = reduction_factor(ballistic)
    steady = dynamic_pressure(density, speed) * drag_area
    return HandbookLoads(steady * cx, steady * reduction, steady * reduction * cx, ballistic, reduction, filling)


def late_release_speed(horizontal: float, late: float) -> float:
    """Speed [m/s] `late` [s] from apogee, crossed at `horizontal` [m/s]: sqrt(vh^2 + (g t)^2), drag ignored.

    After apogee that is the safe side. Before it the air has slowed the rocket, so it was a little faster than this: a
    tenth more at 3 s for a rocket that would fall at 60 m/s.
    """
    return sqrt(horizontal * horizontal + G0 * late * G0 * late)
