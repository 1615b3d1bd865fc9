"""What a barometric altimeter shows, and the true height behind it.

It measures pressure and shows the height that has this pressure in the standard atmosphere, less that of the field where it
was set to zero. Air that is warmer than standard is thinner and stands higher: between the same two pressures lie
T / T_std as many metres. Hydrostatic (hypsometric) equation dz = -(R T / g) dp / p, taken once with the day's temperature and
once with the standard's: dz = (T / T_std) (g0 / g) dH, H geopotential height of the standard atmosphere. Sources: U.S. Standard
Atmosphere 1976, equations 16 to 18 and 33; Wallace and Hobbs 2006, Atmospheric Science, eq. 3.29 (the second from memory).
"""

from collections.abc import Sequence

from loftbook.errors import Fault, Refusal
from loftbook.physics.atmosphere import (
    EARTH_RADIUS,
    G0,
    HIGHEST,
    LAPSE,
    LOWEST,
    SEA_TEMPERATURE,
    TROPOPAUSE,
    Air,
    gravity,
    temperature,
)

_STEP = 25.0  # m of height shown between rows of the table


def pressure_height(air: Air, height: float) -> float:
    """Geopotential height [m] at which the standard atmosphere has the pressure of the day's at a height above sea level [m].

    By halving, to a millimetre; refuses heights outside -500 m to 20 km, and pressures of none of them (as `pressure` does).
    """
    wanted = air.pressure(height)
    low, high = LOWEST, HIGHEST
    standard = Air()
    for _ in range(25):
        middle = (low + high) / 2
        low, high = (middle, high) if standard.pressure(middle) > wanted else (low, middle)
    found = (low + high) / 2
    return EARTH_RADIUS * found / (EARTH_RADIUS + found)


def _standard_temperature(geopotential: float) -> float:
    """Of the standard atmosphere [K] at a geopotential height [m]."""
    return SEA_TEMPERATURE + LAPSE * min(geopotential, TROPOPAUSE)


def true_heights(shown: Sequence[float], elevation: float, air: Air) -> list[float]:
    """True heights above a field at an elevation [m] for heights that an altimeter set to zero there shows [m].

    The day's temperature is the standard's at each height and `air.warmer` more. A table in steps of 25 m, each by the middle
    of the step, straight between them: good to three centimetres in a kilometre. Refuses what would lie above 20 km or below -500 m.
    """
    if not shown:
        return []
    start = pressure_height(air, elevation)
    up = _table(max(0.0, *shown), _STEP, elevation, start, air.warmer)
    down = _table(max(0.0, *(-one for one in shown)), -_STEP, elevation, start, air.warmer)

    def true(one: float) -> float:
        """Of one height shown [m], above the field [m]."""
        rows, place = (up, one / _STEP) if one >= 0 else (down, -one / _STEP)
        row = min(int(place), len(rows) - 2)
        return rows[row] + (place - row) * (rows[row + 1] - rows[row])

    return [true(one) for one in shown]


def _table(reach: float, step: float, elevation: float, start: float, warmer: float) -> list[float]:
    """True heights above the field [m] at every step [m] shown, up or down, as far as reach [m] and one row beyond."""
    rows = [0.0]
    while abs(step) * (len(rows) - 1) < reach or len(rows) < 2:
        z, shown = rows[-1], start + step * (len(rows) - 1)
        middle = elevation + z + step / 2
        if not LOWEST <= middle <= HIGHEST:
            raise Refusal(
                Fault(
                    message=f"height shown: {step * (len(rows) - 1):g} m over this field is outside the air used here, -500 m to 20 km above sea level.",
                    label="height shown",
                    given=f"{step * (len(rows) - 1):g} m",
                    allowed="-500 m to 20 km above sea level",
                )
            )
        here = (temperature(middle) + warmer) / _standard_temperature(shown + step / 2) * G0 / gravity(middle)
        rows.append(z + step * here)
    return rows
