"""Parting the joint with gas pressure: how much, from how much energetic material, and what pins must hold. SI.

This can hurt someone. Every figure is a starting point for a ground test, never a substitute for one. Outside the
stated domain `gas_mass` refuses and no mass is given. The gas model is that of published amateur guidance for black powder: an effective
gas of 22.16 ft*lbf/(lb*degR) at 3307 degR (values from memory, one rounded form read).
"""

from dataclasses import dataclass
from math import ceil

from loftbook.physics.atmosphere import G0, Air
from loftbook.physics.chain import reduced_mass
from loftbook.physics.elementary import PI, power, sqrt
from loftbook.physics.remembered import remembered
from loftbook.physics.spread import Spread

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
CLEAR_SPEED = 3.5  # m/s at which both sides still part once the bay's contents are out (our choice, 3 to 4 m/s)
RATIO_OF_HEATS = (
    1.4  # of air; gas of powder about 1.2 (memory). The larger falls faster and does less work: the safe side
)
OUTSIDE = 101_325.0  # Pa, the thickest air there is at a field by the standard: against it the gas does least


class Outside(ValueError):
    """A quantity lies outside what is computed here: what it is, its value, the least and the most allowed [SI]."""

    def __init__(self, what: str, value: float, low: float, high: float) -> None:
        super().__init__(f"{what}: {value:g} is outside {low:g} to {high:g}")
        self.what, self.value, self.low, self.high = what, value, low, high


def _inside(value: float, low: float, high: float, what: str) -> None:
    if not low <= value <= high:
        raise Outside(what, value, low, high)


def gas_mass(pressure: float, volume: float) -> float:
    """Black powder [kg] that raises a free volume [m^3] by `pressure` [Pa]: m = dp V / (R T).

    Raises `Outside` for pressures outside 10 to 250 kPa, volumes outside 10 cm^3 to 20 L, and answers above 10 g.
    """
    _inside(pressure, LEAST_PRESSURE, MOST_PRESSURE, "separation pressure")
    _inside(volume, LEAST_VOLUME, MOST_VOLUME, "free volume of the bay")
    mass = pressure * volume / GAS_ENERGY
    _inside(mass, 0.0, MOST_MASS, "mass of black powder")
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


@remembered(64)
def vented_pressure(volume: float, vent_diameter: float, climb: float, closed_at: float, top: float, air: Air) -> float:
    """Greatest pressure [Pa] by which a vented bay lags behind outside on the way up at `climb` [m/s] throughout.

    Steady flow through a sharp-edged hole (discharge 0.6): Q = V rho g v / p, dp = rho/2 (Q / (0.6 A))^2, never more
    than the sealed value, anywhere between closing and top (above sea level) [m]. What is sealed in grows with height, the
    lag (rho^3/p^2) shrinks, so the worst is where they meet: found by halving, the larger of both sides given.
    """
    hole = 0.6 * PI * vent_diameter * vent_diameter / 4

    def lag(height: float) -> float:
        """[Pa] at a height above sea level [m]."""
        density = air.density(height)
        flow = volume * density * G0 * climb / (air.pressure(height) * hole)
        return density / 2 * flow * flow

    low, high = closed_at, top
    if lag(top) >= trapped_pressure(closed_at, top, air):
        return trapped_pressure(closed_at, top, air)
    for _ in range(24):  # 20 km / 2^24 is about a millimetre
        middle = (low + high) / 2
        low, high = (middle, high) if lag(middle) >= trapped_pressure(closed_at, middle, air) else (low, middle)
    return lag(low)


def pins_to_hold(pull: float, pin: float) -> int:
    """Pins needed to hold `pull` [N] with the hold factor, each of strength `pin` [N]."""
    return ceil(HOLD_FACTOR * pull / pin - 1e-9)


def share_of_pull(pull: float, beyond: float, pulled: float) -> float:
    """Pull [N] at a joint when `pull` [N] brings masses `pulled` [kg] up short, of which `beyond` [kg] lies past that joint.

    All of them are slowed alike, so the joint passes on the share of what it holds back (Newton's second law).
    """
    return pull * beyond / pulled


def parting_pressure(friction: float, pins: int, pin: float, diameter: float) -> float:
    """Pressure [Pa] that parts the joint with margin: (friction + all pins at their strongest) x factor / area.

    friction [N], strength of one pin [N], inner diameter of the tube [m].
    """
    resists = friction + pins * pin * (1 + PIN_SCATTER)
    return SHEAR_FACTOR * resists / (PI * diameter * diameter / 4)


def pressure_for_work(work: float, volume: float, diameter: float, stroke: float) -> float:
    """Pressure [Pa] above the air outside, in a free volume [m^3], of gas that does `work` [J] on a joint.

    It grows by the tube's section over the stroke [m], inner diameter of the tube [m], no heat going in or out (adiabatic,
    p V^1.4: less work than at constant temperature), against the air outside. Nothing is counted after the stroke, when it
    blows out. Volume and stroke above zero.
    """
    grown, more = PI * diameter * diameter / 4 * stroke, RATIO_OF_HEATS - 1
    each = (1 - power(volume / (volume + grown), more)) / more  # work over absolute pressure and volume at the beginning
    return (work + OUTSIDE * grown) / (volume * each) - OUTSIDE


def clearing_energy(one: float, other: float, contents: float, depth: float, driven: bool) -> float:
    """Energy [J] in which two sides [kg] part at the mouth, enough for the contents [kg] to leave a bay of `depth` [m].

    driven: the gas is behind the contents, which leave with the lighter side from the start; otherwise that side picks them
    up at one blow (momentum). Either way it drags them out against a friction of their own weight (a bundle that slides out
    by itself has less), and then still leaves at `CLEAR_SPEED`. contents are counted in the heavier side until then.
    """
    light, heavy = min(one, other), max(one, other)
    rest = max(heavy - contents, heavy / 10)
    moving = reduced_mass(light + contents, rest)
    after = moving * CLEAR_SPEED * CLEAR_SPEED / 2 + contents * G0 * depth
    return after if driven else after * heavy / rest * (light + contents) / light


def usual_pressure(diameter: float, most: float, narrow: float, wide: float) -> float:
    """Least pressure [Pa] by common practice in a tube [m]: `most` [Pa] up to `narrow` [m], less in wider ones.

    It falls with the diameter, so that the force on the bulkhead grows with it, up to `wide` [m]; from there on that force
    stays what it is.
    """
    return most * min(1.0, narrow / diameter) * min(1.0, wide / diameter)


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


LADDER = (0.6, 0.8, 1.0)  # of the low end of the estimate; then its best value and its high end


def ladder(mass: Spread, least_volume: float, most_volume: float) -> tuple[Rung, ...]:
    """Ground tests from 60 per cent of the low end of an estimate [kg] up to its high end, shares of its best value.

    Never above the domain even in the least volume [m^3]. The lowest rungs may lie below the 10 kPa at which a mass is
    computed: that is what starting low means.
    """
    masses = dict.fromkeys((*(mass.low * share for share in LADDER), mass.best, mass.high))
    rungs = [
        Rung(one / mass.best, one, pressure_of(one, most_volume), pressure_of(one, least_volume)) for one in masses
    ]
    return tuple(rung for rung in rungs if rung.most <= MOST_PRESSURE and rung.mass <= MOST_MASS)
