"""US Standard Atmosphere 1976 from -500 m to 20 km, and the day's departure from it.

Source: U.S. Standard Atmosphere, 1976 (NOAA/NASA/USAF, NOAA-S/T 76-1562): constants in Table 2, layers in
Table 4, equations 17-19 (gravity, geopotential), 23 and 33 (temperature, pressure), 42 (density).
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

from loftbook.errors import Fault, Refusal
from loftbook.physics.elementary import exponential, power, sqrt
from loftbook.physics.remembered import remembered

G0 = 9.80665  # m/s^2, standard gravity
EARTH_RADIUS = 6_356_766.0  # m, the standard's effective radius
GAS_CONSTANT = 8314.32 / 28.9644  # J/(kg K), the standard's R* over its molar mass of air
LOWEST, HIGHEST = -500.0, 20_000.0  # m, geometric height

SEA_TEMPERATURE, SEA_PRESSURE = 288.15, 101_325.0
LAPSE = -0.0065  # K per geopotential metre, to the tropopause
TROPOPAUSE = 11_000.0  # geopotential m
_TOP_TEMPERATURE = SEA_TEMPERATURE + LAPSE * TROPOPAUSE
_EXPONENT = -G0 / (GAS_CONSTANT * LAPSE)
_TOP_PRESSURE = SEA_PRESSURE * power(_TOP_TEMPERATURE / SEA_TEMPERATURE, _EXPONENT)


def geopotential(height: float) -> float:
    """Geopotential height [m] of a geometric height [m] (equation 18). Refuses outside -500 m to 20 km."""
    if not LOWEST <= height <= HIGHEST:
        raise Refusal(
            Fault(
                message=f"height above sea level: {height:g} m is outside the atmosphere used here, -500 m to 20 km.",
                label="height above sea level",
                given=f"{height:g} m",
                allowed="-500 m to 20 km",
            )
        )
    return EARTH_RADIUS * height / (EARTH_RADIUS + height)


def gravity(height: float) -> float:
    """Acceleration of gravity [m/s^2] at a geometric height [m] (equation 17)."""
    geopotential(height)
    ratio = EARTH_RADIUS / (EARTH_RADIUS + height)
    return G0 * ratio * ratio


def temperature(height: float) -> float:
    """Air temperature [K] at a geometric height [m] (equation 23). Refuses outside -500 m to 20 km, as do all here."""
    return SEA_TEMPERATURE + LAPSE * min(geopotential(height), TROPOPAUSE)


@remembered(1024)  # the field's and the top's are asked for again and again
def pressure(height: float) -> float:
    """Air pressure [Pa] at a geometric height [m] (equations 33a and 33b)."""
    h = geopotential(height)
    if h <= TROPOPAUSE:
        return SEA_PRESSURE * power((SEA_TEMPERATURE + LAPSE * h) / SEA_TEMPERATURE, _EXPONENT)
    return _TOP_PRESSURE * exponential(-G0 * (h - TROPOPAUSE) / (GAS_CONSTANT * _TOP_TEMPERATURE))


def speed_of_sound(height: float) -> float:
    """Speed of sound [m/s] at a geometric height [m] (equation 50, ratio of heats 1.4)."""
    return sqrt(1.4 * GAS_CONSTANT * temperature(height))


@dataclass(frozen=True)
class Air:
    """The air of one day: the standard profile, `warmer` [K], pressures times `pressure_ratio` (dimensionless).

    The offset changes temperature, not pressure, as a pilot's density altitude does; the pressure ratio is that
    of the measured station pressure to the standard one at the site, kept at all heights. Both are
    simplifications, good to well under a per cent of sink rate.
    """

    warmer: float = 0.0
    pressure_ratio: float = 1.0

    @classmethod
    def at_site(cls, elevation: float, warmer: float, station_pressure: float | None) -> "Air":
        """Air over a site at `elevation` [m], `warmer` [K] than standard, with its measured pressure [Pa] if there is one.

        Refuses an elevation outside -500 m to 20 km when a pressure is given.
        """
        ratio = 1.0 if station_pressure is None else station_pressure / pressure(elevation)
        return cls(warmer, ratio)

    def density(self, height: float) -> float:
        """Density [kg/m^3] at a geometric height above sea level [m]: ideal gas law (equation 42)."""
        return self.pressure(height) / (GAS_CONSTANT * (temperature(height) + self.warmer))

    def pressure(self, height: float) -> float:
        """Pressure [Pa] at a geometric height above sea level [m]."""
        return self.pressure_ratio * pressure(height)

    def density_altitude(self, height: float) -> float | None:
        """Height [m] in the standard atmosphere with the same density; None when outside -500 m to 20 km."""
        wanted = self.density(height)
        low, high = LOWEST, HIGHEST
        if not STANDARD.density(high) <= wanted <= STANDARD.density(low):
            return None
        for _ in range(24):  # 20.5 km / 2^24 is about a millimetre
            middle = (low + high) / 2
            low, high = (middle, high) if STANDARD.density(middle) > wanted else (low, middle)
        return (low + high) / 2

    def quick(self, elevation: float) -> Callable[[float], float]:
        """Density by height above a field at `elevation` [m], for use in long runs: about ten times faster.

        The pressure is a cubic between points 250 m apart with the exact slope dp/dz = -rho g at each; it differs
        from `density` by less than a part in 10^5 (most at the tropopause, where the slope bends). Heights outside the air are taken at its edge.
        """
        scale = self.pressure_ratio / GAS_CONSTANT
        warmer, points, last = self.warmer, _points(), len(_points()) - 2

        def density(height: float) -> float:
            """Density [kg/m^3] at a height above the field [m]."""
            z = elevation + height
            if not LOWEST <= z <= HIGHEST:
                z = LOWEST if z < LOWEST else HIGHEST
            place = (z - LOWEST) / _SPACING
            i = int(place)
            if i > last:
                i = last
            s = place - i
            (p0, d0), (p1, d1) = points[i], points[i + 1]
            r = 1 - s
            p = r * r * ((1 + 2 * s) * p0 + s * d0) + s * s * ((3 - 2 * s) * p1 - r * d1)
            h = EARTH_RADIUS * z / (EARTH_RADIUS + z)
            t = SEA_TEMPERATURE + LAPSE * (h if h < TROPOPAUSE else TROPOPAUSE)
            return scale * p / (t + warmer)

        return density


_SPACING = 250.0  # m


@cache
def _points() -> tuple[tuple[float, float], ...]:
    """(pressure, slope x spacing) every 250 m from the lowest to the highest height."""
    made = []
    for i in range(int((HIGHEST - LOWEST) / _SPACING) + 1):
        z = LOWEST + i * _SPACING
        p = pressure(z)
        made.append((p, -p / (GAS_CONSTANT * temperature(z)) * gravity(z) * _SPACING))
    return tuple(made)


STANDARD = Air()
