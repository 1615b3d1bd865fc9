"""Parting the joint with gas pressure: how much, from how much energetic material, and what pins must hold. SI.

This can hurt someone. Every figure is a starting point for a ground test, never a substitute for one. Outside the
stated domain `gas_mass` refuses and no mass is given. The gas model is that of published amateur guidance for black powder: an effective
gas of 22.16 ft*lbf/(lb*degR) at 3307 degR (values from memory, one rounded form read).
"""

from dataclasses import dataclass
from math import ceil

from loftbook.errors import Fault, Refusal
from loftbook.physics.atmosphere import G0, Air
from loftbook.physics.chain import reduced_mass
from loftbook.physics.elementary import PI, sqrt

POWDER_GAS_CONSTANT = 22.16 * 0.3048 * G0 * 1.8  # J/(kg K), from ft*lbf/(lb*degR)
BURN_TEMPERATURE = 3307 / 1.8  # K
GAS_ENERGY = POWDER_GAS_CONSTANT * BURN_TEMPERATURE  # J/kg, R T of the model

LEAST_PRESSURE, MOST_PRESSURE = 10e3, 250e3  # Pa above ambient; above it, another way of parting is needed
LEAST_VOLUME, MOST_VOLUME = 10e-6, 20e-3  # m^3
MOST_MASS = 10e-3  # kg
HOLD_FACTOR, SHEAR_FACTOR = (
    1.5,
    1.5,
)  # pins hold 1.5 times what pulls; the charge gives 1.5 times what resists (our choice)
PIN_SCATTER = 0.2  # moulded nylon screws scatter by 20 per cent or more


def _inside(value: float, low: float, high: float, label: str, unit: str, scale: float) -> None:
    if not low <= value <= high:
        allowed = f"{low / scale:g} to {high / scale:g} {unit}"
        raise Refusal(
            Fault(
                message=f"{label}: {value / scale:.3g} {unit} is outside what is computed here, {allowed}. "
                "Ask a certified flyer.",
                label=label,
                given=f"{value / scale:.3g} {unit}",
                allowed=allowed,
            )
        )


def gas_mass(pressure: float, volume: float) -> float:
    """Black powder [kg] that raises a free volume [m^3] by `pressure` [Pa]: m = dp V / (R T).

    Refuses pressures outside 10 to 250 kPa, volumes outside 10 cm^3 to 20 L, and answers above 10 g.
    """
    _inside(pressure, LEAST_PRESSURE, MOST_PRESSURE, "separation pressure", "kPa", 1e3)
    _inside(volume, LEAST_VOLUME, MOST_VOLUME, "free volume of the bay", "cm³", 1e-6)
    mass = pressure * volume / GAS_ENERGY
    _inside(mass, 0.0, MOST_MASS, "mass of black powder", "g", 1e-3)
    return mass


def pressure_of(mass: float, volume: float) -> float:
    """The model turned round: pressure [Pa] of a measured mass [kg] in a free volume [m^3], above zero. Refuses nothing."""
    return mass * GAS_ENERGY / volume


def pressure_force(pressure: float, diameter: float) -> float:
    """F = dp pi D^2 / 4 [N] of a pressure [Pa] on a bulkhead of inner `diameter` [m]."""
    return pressure * PI * diameter * diameter / 4


def unified_minor_area(diameter: float, threads_per_inch: float) -> float:
    """Minor-diameter area [m^2] of a unified thread, d_r = d - 1.299038/n (Shigley, Table 8-2); d in metres."""
    root = diameter - 1.299038 * 0.0254 / threads_per_inch
    return PI * root * root / 4


def metric_minor_area(diameter: float, pitch: float) -> float:
    """Minor area [m^2] of an ISO metric thread, d3 = d - 1.226869 P (ISO 68-1 profile; memory); metres."""
    root = diameter - 1.226869 * pitch
    return PI * root * root / 4


def pin_strength(area: float, shear_strength: float) -> float:
    """Load [N] that shears one pin in one plane: area [m^2] x shear strength [Pa] (statics)."""
    return area * shear_strength


def trapped_pressure(closed_at: float, height: float, air: Air) -> float:
    """Pressure [Pa] left in a sealed bay closed at one height and carried to another (above sea level) [m]."""
    return max(0.0, air.pressure(closed_at) - air.pressure(height))


def vented_pressure(volume: float, vent_diameter: float, climb: float, closed_at: float, top: float, air: Air) -> float:
    """Greatest pressure [Pa] by which a vented bay lags behind outside on the way up at `climb` [m/s] throughout.

    Steady flow through a sharp-edged hole (discharge 0.6): Q = V rho g v / p, dp = rho/2 (Q / (0.6 A))^2, never more
    than the sealed value; the greatest of seventeen heights between closing and top (above sea level) [m].
    """
    hole = 0.6 * PI * vent_diameter * vent_diameter / 4
    worst = 0.0
    for i in range(17):
        height = closed_at + (top - closed_at) * i / 16
        density, outside = air.density(height), air.pressure(height)
        flow = volume * density * G0 * climb / outside
        lag = density / 2 * (flow / hole) * (flow / hole)
        worst = max(worst, min(trapped_pressure(closed_at, height, air), lag))
    return worst


def pins_to_hold(pull: float, pin: float) -> int:
    """Pins needed to hold `pull` [N] with the hold factor, each of strength `pin` [N]."""
    return ceil(HOLD_FACTOR * pull / pin - 1e-9)


def parting_pressure(friction: float, pins: int, pin: float, diameter: float) -> float:
    """Pressure [Pa] that parts the joint with margin: (friction + all pins at their strongest) x factor / area.

    friction [N], strength of one pin [N], inner diameter of the tube [m].
    """
    resists = friction + pins * pin * (1 + PIN_SCATTER)
    return SHEAR_FACTOR * resists / (PI * diameter * diameter / 4)


def parting_speed(pressure: float, friction: float, diameter: float, stroke: float, one: float, other: float) -> float:
    """Speed [m/s] at which two parts [kg] leave each other if the pressure holds over the whole shoulder: upper bound.

    mu v^2 / 2 = (dp A - friction) x stroke (any mechanics text); pressure [Pa], friction [N], inner diameter of the tube
    and length of the stroke [m].
    """
    work = max(0.0, pressure_force(pressure, diameter) - friction) * stroke
    return sqrt(2 * work / reduced_mass(one, other))


@dataclass(frozen=True)
class Rung:
    """One step of a ground-test ladder: share of the estimate, mass of black powder [kg], pressures of the model [Pa]."""

    share: float
    mass: float
    least: float
    most: float


LADDER = (0.6, 0.8, 1.0, 1.2, 1.4)


def ladder(mass: float, least_volume: float, most_volume: float) -> tuple[Rung, ...]:
    """Ground tests from low to high: 60 to 140 per cent of `mass` [kg], never above the domain even in the least volume [m^3].

    The lowest rungs may lie below the 10 kPa at which a mass is computed: that is what starting low means.
    """
    rungs = [
        Rung(share, mass * share, pressure_of(mass * share, most_volume), pressure_of(mass * share, least_volume))
        for share in LADDER
    ]
    return tuple(rung for rung in rungs if rung.most <= MOST_PRESSURE and rung.mass <= MOST_MASS)
