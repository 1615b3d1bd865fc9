"""Sinking under one open canopy: how long, how far, how hard. SI throughout.

The canopy is taken to sink at its steady rate from the moment of release: v(z) = sqrt(2 m g / (rho(z) Cd S0)).
"""

from dataclasses import dataclass
from functools import lru_cache

from loftbook.atmosphere import G0, Air
from loftbook.elementary import PI, cosine, power, sqrt

WIND_REFERENCE = 10.0  # m above ground
ENERGY_LIMIT = 75 * 1.3558179483314004  # J; 75 ft*lbf, NASA Student Launch Handbook (memory)
LAUNCH_WIND_LIMIT = 20 * 0.44704  # m/s; 20 mi/h, NAR High Power Rocket Safety Code (read second-hand)
USUAL_RATE = (15 * 0.3048, 20 * 0.3048)  # m/s; common practice, no source


def power_law_wind(height: float, at_ten: float, exponent: float) -> float:
    """Mean wind [m/s] at `height` [m] above ground: u10 (z/10)^alpha (Manwell et al., Wind Energy Explained, 2.3)."""
    return at_ten * power(height / WIND_REFERENCE, exponent)


def kinetic_energy(mass: float, rate: float) -> float:
    """m v^2 / 2 [J]."""
    return mass * rate * rate / 2


def drop_height(rate: float) -> float:
    """Height [m] of a free drop that ends at the same speed: v^2 / 2 g."""
    return rate * rate / (2 * G0)


@lru_cache(maxsize=8)
def gauss_legendre(count: int) -> tuple[tuple[float, float], ...]:
    """Nodes and weights on (0, 1) by Newton's method on the Legendre recurrence (Abramowitz and Stegun, 25.4.29)."""
    rule = []
    for i in range(1, count + 1):
        x = cosine(PI * (i - 0.25) / (count + 0.5))
        for _ in range(8):
            before, here = 1.0, x
            for k in range(2, count + 1):
                before, here = here, ((2 * k - 1) * x * here - (k - 1) * before) / k
            slope = count * (x * here - before) / (x * x - 1)
            x -= here / slope
        rule.append(((1 - x) / 2, 1 / ((1 - x * x) * slope * slope)))
    return tuple(rule)


@dataclass(frozen=True)
class Sinking:
    """From release to ground: time [s] and drift with the wind [m]."""

    time: float
    drift: float


@lru_cache(maxsize=256)
def _per_rate(
    elevation: float, release: float, air: Air, wind: float, exponent: float, nodes: int
) -> tuple[float, float]:
    """(metres, metres of wind) that, divided by the rate at the ground, give time and drift.

    z = H s^4 makes the power law smooth at the ground, so that 24 nodes reach a part in 10^9.
    """
    ground = air.density(elevation)
    path = drift = 0.0
    for s, weight in gauss_legendre(nodes):
        height = release * s * s * s * s
        piece = weight * 4 * release * s * s * s * sqrt(air.density(elevation + height) / ground)
        path += piece
        drift += piece * power_law_wind(height, wind, exponent)
    return path, drift


def sink(
    ground_rate: float, elevation: float, release: float, air: Air, wind: float, exponent: float, nodes: int = 24
) -> Sinking:
    """Time and drift for a canopy that touches down at `ground_rate` [m/s].

    elevation, release: site above sea level, release above the field [m]; wind at 10 m [m/s]. The rate aloft
    follows the air, v(z) = v_ground sqrt(rho_ground / rho(z)), so one integral serves every drag area.
    """
    path, drift = _per_rate(elevation, release, air, wind, exponent, nodes)
    return Sinking(path / ground_rate, drift / ground_rate)
