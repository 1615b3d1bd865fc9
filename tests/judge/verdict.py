"""An independent judge of a whole flight: which dangers a rig has, whatever its plan says.

Takes nothing but a plan's JSON data. Of it: the rig's texts, the checks' verdicts, and of the results each canopy's masses
and each joint's pressure and least free volume. Everything else is its own: units, air (U.S. Standard Atmosphere, 1976),
tables typed from what is published, the way down integrated by scipy over every corner of the ranges, loads, geometry.
A danger is a rating itself exceeded, no design factor: where a plan keeps one there is room between the two.

Knows no module of the core.
"""

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import product
from math import atanh, cos, exp, inf, pi, radians, sqrt, tan
from typing import Any

from scipy.integrate import LSODA

G = 9.80665
MAIN, DROGUE, FORWARD = "main", "drogue", "forward"

# What is called dangerous.
TOUCHDOWN, ENERGY = 12.0, 75 * 1.3558179  # m/s; J, 75 ft lbf
MAIN_SPEED, SETTLED_HEIGHT, SETTLED = 45.0, 50.0, 0.1  # m/s, m, share

# --- units -------------------------------------------------------------------------------------------

_UNITS = {
    "": 1.0, "m": 1.0, "mm": 1e-3, "cm": 1e-2, "in": 0.0254, "ft": 0.3048, "m²": 1.0, "m^2": 1.0, "ft^2": 0.3048**2, "cm³": 1e-6,
    "cm^3": 1e-6, "m^3": 1.0, "in^3": 0.0254**3, "kg": 1.0, "g": 1e-3, "lb": 0.45359237, "oz": 0.45359237 / 16, "m/s": 1.0,
    "ft/s": 0.3048, "N": 1.0, "kN": 1e3, "lbf": 4.4482216152605, "Pa": 1.0, "kPa": 1e3, "hPa": 100.0, "s": 1.0, "%": 0.01,
    "deg": 1.0, "°C": 1.0, "K": 1.0, "m/s²": 1.0, "m/s^2": 1.0, "g/cm³": 1e3, "g/cm^3": 1e3, "kg/m^3": 1.0, "g/m²": 1e-3,
    "g/m^2": 1e-3, "kg/m^2": 1.0, "g/m": 1e-3, "kg/m": 1.0, "N/m": 1.0, "psi": 6894.757293168, "mi/h": 0.44704, "mph": 0.44704,
    "ft/s^2": 0.3048, "cm^2": 1e-4, "lb/ft^3": 0.45359237 / 0.3048**3, "oz/yd^2": 0.45359237 / 16 / 0.9144**2,
    "oz/yd": 0.45359237 / 16 / 0.9144, "lbf/in": 4.4482216152605 / 0.0254, "N/mm": 1e3, "inHg": 3386.389, "delta_degC": 1.0,
    "delta_degF": 5 / 9,
}  # fmt: skip
_PIECE = re.compile(r"([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*([^\d\s+\-.][^\s]*)?")


def si(text: str) -> float:
    """The SI value of `98 mm`, `2.2 m`, `6 ft 2 in`, `3`; KeyError for a unit that the judge was not taught."""
    pieces = _PIECE.findall(text.strip())
    if not pieces:
        raise ValueError(f"no number in {text!r}")
    return sum(float(number) * _UNITS[unit] for number, unit in pieces)


# --- published values, typed here a second time -------------------------------------------------------

LBF, INCH = 4.4482216152605, 0.0254
# Cd low and high on S0, opening-force coefficient, filling constant, inflated over nominal diameter low and high:
# Knacke 1991, tables 5-1 and 5-6; semi-ellipsoid between hemispherical and conical.
FAMILIES = {
    "flat polygon": (0.75, 0.80, 1.7, 8.0, 0.67, 0.70),
    "flat circular": (0.75, 0.80, 1.7, 8.0, 0.67, 0.70),
    "conical": (0.75, 0.90, 1.8, 8.0, 0.70, 0.70),
    "hemispherical": (0.62, 0.77, 1.6, 8.0, 0.66, 0.66),
    "semi-ellipsoid": (0.62, 0.90, 1.8, 8.0, 0.66, 0.70),
    "cross": (0.60, 0.85, 1.2, 11.7, 0.66, 0.72),
    "annular": (0.85, 0.95, 1.4, 8.0, 0.94, 0.94),
    "measured by me": (0.0, 0.0, 1.8, 8.0, 0.66, 0.94),
}
FILLING = (0.75, 1.25)  # scatter of the filling constant, table 5-6
# Least breaking strength [lbf] and stretch at break, by the number in a specification's name.
STRANDS = {
    "nylon cord type I (MIL-C-5040)": (95, 0.3), "nylon cord type IA (MIL-C-5040)": (100, 0.3),
    "nylon cord type II (MIL-C-5040)": (400, 0.3), "nylon cord type III (MIL-C-5040)": (550, 0.3),
    "nylon cord type IV (MIL-C-5040)": (750, 0.3), "polyethylene cord type IA (PIA-C-1200)": (300, 0.035),
    "polyethylene cord type IIA (PIA-C-1200)": (600, 0.035), "polyethylene cord type IIIB (PIA-C-1200)": (700, 0.035),
    "polyethylene cord type IVB (PIA-C-1200)": (800, 0.035), "polyethylene cord type VA (PIA-C-1200)": (1000, 0.035),
    "polyethylene cord type VIB (PIA-C-1200)": (1500, 0.035), "polyethylene cord type VIIB (PIA-C-1200)": (2000, 0.035),
    "polyethylene cord type VIIIB (PIA-C-1200)": (2500, 0.035), "tubular nylon webbing 1/2 in (MIL-W-5625)": (1000, 0.2),
    "tubular nylon webbing 9/16 in (MIL-W-5625)": (1500, 0.2), "tubular nylon webbing 3/4 in (MIL-W-5625)": (2300, 0.2),
    "tubular nylon webbing 1 in (MIL-W-5625)": (4000, 0.2), "flat nylon webbing type I, 9/16 in (MIL-W-4088)": (500, 0.2),
    "flat nylon webbing type II, 1 in (MIL-W-4088)": (600, 0.2), "flat nylon webbing type XVII, 1 in (MIL-W-4088)": (2500, 0.2),
    "flat nylon webbing type VI, 1 23/32 in (MIL-W-4088)": (2500, 0.2),
    "flat nylon webbing type VIII, 1 23/32 in (MIL-W-4088)": (3600, 0.2),
    "flat nylon webbing type VII, 1 23/32 in (MIL-W-4088)": (5500, 0.2),
    "flat nylon webbing type XIII, 1 23/32 in (MIL-W-4088)": (6500, 0.2), "nylon tape type I (MIL-T-8363)": (350, 0.2),
    "nylon webbing type III (MIL-T-8363)": (400, 0.2), "nylon webbing type V (MIL-T-8363)": (1000, 0.2),
    "nylon webbing type IV (MIL-T-8363)": (2600, 0.2),
}  # fmt: skip
ENDS = {
    "bowline": 0.7, "figure-eight loop": 0.75, "overhand loop": 0.5, "water knot in webbing": 0.6, "splice": 0.85,
    "stitched, zigzag": 0.8, "any knot in aramid": 0.35,
}  # fmt: skip
CLOTH_STRENGTH = {  # lbf over an inch of width
    "ripstop nylon 1.1 oz (MIL-C-7020 type I)": 42.0,
    "nylon twill 1.6 oz (MIL-C-7020 type II)": 50.0,
    "low-permeability nylon 1.17 oz (MIL-C-44378 type I)": 45.0,
}
SEWN = 0.8
# Nylon screws: diameter [m], depth that the thread takes off it [m] (ISO 68-1; Shigley, table 8-2).
_ISO, _UNIFIED = 1.226869, 1.299038 * INCH
PINS = {
    "M2 × 0.4": (2e-3, _ISO * 0.4e-3), "M2.5 × 0.45": (2.5e-3, _ISO * 0.45e-3), "M3 × 0.5": (3e-3, _ISO * 0.5e-3),
    "M4 × 0.7": (4e-3, _ISO * 0.7e-3), "UNC #2-56": (0.086 * INCH, _UNIFIED / 56), "UNC #3-48": (0.099 * INCH, _UNIFIED / 48),
    "UNC #4-40": (0.112 * INCH, _UNIFIED / 40), "UNC #6-32": (0.138 * INCH, _UNIFIED / 32), "UNC #8-32": (0.164 * INCH, _UNIFIED / 32),
}  # fmt: skip
NYLON_SHEAR = 66e6  # Pa, polymer data, low end
MOULDED = 0.8  # of it is left where a moulded screw is a weak one
GAS = 22.16 * 0.3048 * G * 3307  # J/kg of black powder, R T of the published gas model [ft lbf/(lb degR) x degR]
UNEVEN = 1.1  # hardest pulled line over the mean (Knacke 1991, ch. 6)
HOLE = 0.6  # discharge of a sharp-edged hole


# --- air ---------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Air:
    """U.S. Standard Atmosphere, 1976, to 20 km, warmer by so much [K], all pressures times `ratio`."""

    warmer: float = 0.0
    ratio: float = 1.0

    def pressure(self, height: float) -> float:
        """[Pa] at a height above sea level [m]."""
        h = 6_356_766.0 * height / (6_356_766.0 + height)
        if h <= 11_000:
            return self.ratio * 101_325.0 * (1 - 0.0065 * h / 288.15) ** 5.2558797
        return self.ratio * 22_632.06 * exp(-(h - 11_000) / 6_341.615)

    def density(self, height: float) -> float:
        """[kg/m^3]."""
        h = 6_356_766.0 * height / (6_356_766.0 + height)
        return self.pressure(height) / (287.05287 * (288.15 - 0.0065 * min(h, 11_000.0) + self.warmer))


# --- the way down ------------------------------------------------------------------------------------

Point = tuple[float, float, float]  # time [s], height above the field [m], speed downward [m/s]


@dataclass(frozen=True)
class Opens:
    """One canopy in one corner: key, height above the field where it opens [m], drag area [m^2], D0 [m], filling constant, Cx."""

    key: str
    height: float
    area: float
    diameter: float
    constant: float
    cx: float


@dataclass(frozen=True)
class Opened:
    """What one opening did: speed when it began [m/s], its own greatest pull in the full run, the handbook's [N]."""

    key: str
    speed: float
    pull: float
    book: float


@dataclass(frozen=True)
class Down:
    """One way down: its openings, speed at touchdown [m/s], height at which it had settled [m], 0 for never."""

    opened: tuple[Opened, ...]
    touchdown: float
    settled: float


@dataclass(frozen=True)
class Body:
    """What reaches the ground by itself: mass [kg], openings in falling order, bare drag area [m^2], top [m], speed there [m/s]."""

    mass: float
    opens: tuple[Opens, ...]
    bare: float
    top: float
    speed: float
    elevation: float
    air: Air

    def falls(self) -> Down:
        """The full run with gravity: m dv/dt = m g - rho(z) v^2 CdS(t) / 2; CdS grows with the square of the time of filling."""
        start = Track([(0.0, self.top, self.speed)])
        if self.opens[0].height < self.top:
            start = self.track(start.last, self.opens[0].height, lambda _: self.bare)
        before, opened, settled = 0.0, [], 0.0
        for one, floor in zip(self.opens, [*(later.height for later in self.opens[1:]), 0.0], strict=True):
            time, height, speed = start.last
            path = one.constant * one.diameter
            filling = min(path / max(speed, 1e-9), sqrt(2 * path / G))

            def area(now: float, time: float = time, filling: float = filling, before: float = before, one: Opens = one) -> float:
                return before + one.area * min(1.0, max(0.0, now - time) / filling) ** 2

            fills = self.track(start.last, floor, area, time + filling)
            sinks = self.track(fills.last, floor, area, whole=before + one.area)
            pull = max(self.force(point, area(point[0]) - before) for point in (*fills.points, *sinks.points))
            air = self.air.density(self.elevation + height)
            opened.append(Opened(one.key, speed, pull, handbook(self.mass, air, one, speed, filling)))
            settled, before, start = sinks.settled, area(sinks.last[0]), sinks
        return Down(tuple(opened), start.last[2], settled)

    def force(self, point: Point, area: float) -> float:
        """Drag [N] of an area [m^2] at a point of the way."""
        _, height, speed = point
        return self.air.density(self.elevation + height) * speed * speed / 2 * area

    def steady(self, height: float, area: float) -> float:
        """Speed at which drag is weight [m/s]."""
        return sqrt(2 * self.mass * G / (self.air.density(self.elevation + height) * area))

    def track(self, start: Point, floor: float, area: Callable[[float], float], end: float = inf, whole: float = 0.0) -> "Track":
        """On from a point until a time or down to a height; whole: drag area that it settles under, 0 while it fills."""
        if start[1] <= floor or end <= start[0]:
            return Track([start])

        def rates(now: float, y: Any) -> tuple[float, float]:
            drag = self.air.density(self.elevation + y[0]) * y[1] * abs(y[1]) / 2 * area(now)
            return -y[1], G - drag / self.mass

        def settled(point: Point) -> bool:
            return whole > 0 and abs(point[2] / self.steady(point[1], whole) - 1) <= SETTLED

        steps = (end - start[0]) / 60 if end < inf else inf
        solver = LSODA(rates, start[0], start[1:], min(end, start[0] + 1e5), rtol=1e-7, atol=1e-7, max_step=steps)
        found = Track([start], start[1] if settled(start) else 0.0)
        while solver.status == "running" and found.last[1] > floor:
            solver.step()
            between, before = solver.dense_output(), found.last
            point: Point = (float(solver.t), *map(float, solver.y))
            if point[1] <= floor:
                time, _, speed = _when(between, before[0], point[0], lambda p: p[1] <= floor)
                point = (time, floor, speed)
            if not found.settled and settled(point):
                found.settled = _when(between, before[0], point[0], settled)[1]
            found.points.append(point)
        return found


@dataclass
class Track:
    """A piece of the way, step by step; settled: height at which it first was within a tenth of steady [m], 0 for not yet."""

    points: list[Point]
    settled: float = 0.0

    @property
    def last(self) -> Point:
        return self.points[-1]


def _when(between: Callable[[float], Any], early: float, late: float, so: Callable[[Point], bool]) -> Point:
    """The first moment, to a hair, between an early one at which it is not so and a late one at which it is."""
    for _ in range(60):
        middle = (early + late) / 2
        if so((middle, *map(float, between(middle)))):
            late = middle
        else:
            early = middle
    return (late, *map(float, between(late)))


def handbook(mass: float, air: float, one: Opens, speed: float, filling: float) -> float:
    """Opening load [N] without gravity, times Cx: q CdS Cx X1, X1 from the same growth of the drag area, in closed form.

    1/v = 1/v0 + rho CdS t_f s^3 / (6 m), s = t/t_f: greatest s^2 / (1 + s^3/(3 B))^2 with B = 2 m / (rho CdS v0 t_f).
    """
    if speed <= 0:
        return 0.0
    ballistic = 2 * mass / (air * one.area * speed * filling)
    s = min(1.0, (1.5 * ballistic) ** (1 / 3))
    return air * speed * speed / 2 * one.area * one.cx * s * s / (1 + s**3 / (3 * ballistic)) ** 2


# --- the rig as the judge reads it ---------------------------------------------------------------------


@dataclass(frozen=True)
class Danger:
    """What can hurt, its number and the limit that it passes (SI), and where."""

    name: str
    number: float
    limit: float
    where: str

    def __str__(self) -> str:
        return f"{self.name} ({self.where}): {self.number:.4g}, limit {self.limit:.4g}"


@dataclass(frozen=True)
class Case:
    """A plan's JSON data."""

    data: Mapping[str, Any]

    def text(self, path: str) -> str:
        return str(self.data["rig"][path])

    def si(self, path: str) -> float:
        return si(self.text(path))

    def maybe(self, path: str) -> float | None:
        """None where the field is empty or no rig has it."""
        text = str(self.data["rig"].get(path, "")).strip()
        return si(text) if text else None

    def result(self, answer: str, output: str) -> float:
        """The greatest value of an output of the plan, 0 where it gives none."""
        value = self.data["results"].get(answer, {}).get(output)
        return float((value["high"] if isinstance(value, Mapping) else value) or 0.0)

    # --- how it comes down ---

    @property
    def way(self) -> str:
        return self.text("flight.way")

    @property
    def tied(self) -> bool:
        return self.way != "two parts apart, each under its own"

    @property
    def two_joints(self) -> bool:
        return self.way in ("drogue, then main from a second bay", "no drogue: parts fall until the main opens")

    @property
    def falls(self) -> bool:
        return self.way in ("no drogue: parts fall until the main opens", "main held shut until low, from one bay")

    @property
    def canopies(self) -> tuple[str, ...]:
        if not self.tied:
            return (MAIN, FORWARD)
        drogue = ("drogue, then main from a second bay", "drogue and main from one bay")
        return (DROGUE, MAIN) if self.way in drogue else (MAIN,)

    @property
    def bays(self) -> tuple[str, ...]:
        """In the order in which they open."""
        return (DROGUE, MAIN) if self.two_joints else (MAIN,)

    @property
    def low(self) -> bool:
        """Whether the main opens low down instead of at the top."""
        return self.two_joints or self.way in ("main held shut until low, from one bay", "drogue and main from one bay")

    # --- parts ---

    @cached_property
    def sections(self) -> tuple[tuple[str, float, float], ...]:
        """Name, mass [kg] with the canopies in it, length [m], from the nose aft; the tail is the rest."""
        names = ("nose", "middle") if self.two_joints else ("nose",)
        found = [(name, self.si(f"{name}.mass"), self.si(f"{name}.length")) for name in names]
        mass = self.si("rocket.mass") - sum(one[1] for one in found)
        hidden = sum(self.si(f"{key}.bay.shoulder") for key in self.bays)
        return (*found, ("tail", mass, self.si("rocket.length") - sum(one[2] for one in found) + hidden))

    def joint(self, bay: str) -> int:
        """Sections forward of a bay's joint."""
        if not self.two_joints:
            return 1
        main = 1 if self.text("rocket.main_bay") == "forward of the other bay" else 2
        return main if bay == MAIN else 3 - main

    def mass_of(self, first: int, last: int) -> float:
        return sum(one[1] for one in self.sections[first:last])

    def canopy_mass(self, key: str) -> float:
        """[kg], as weighed, or as the plan estimates it."""
        weighed = self.maybe(f"{key}.canopy.mass")
        return weighed if weighed is not None else self.result(f"{key}.canopy", "canopy_mass")

    # --- canopies ---

    def area(self, key: str) -> float:
        """S0 [m^2]."""
        family = self.text(f"{key}.canopy.family")
        if family == "measured by me":
            return self.si(f"{key}.canopy.area")
        size, sides = self.si(f"{key}.canopy.size"), int(self.si(f"{key}.canopy.sides"))
        match family:
            case "flat polygon":
                corners = self.text(f"{key}.canopy.across") == "corner to corner"
                return sides / 4 * (size * cos(pi / sides) if corners else size) ** 2 * tan(pi / sides)
            case "flat circular":
                return pi / 4 * size**2
            case "conical":
                return pi / 4 * size**2 / cos(radians(self.si(f"{key}.canopy.slope")))
            case "hemispherical":
                return pi / 2 * size**2
            case "semi-ellipsoid":
                ratio = self.si(f"{key}.canopy.height_ratio")
                e = sqrt(1 - ratio * ratio)
                return pi / 4 * size**2 * (1 + (ratio * ratio / e * atanh(e) if e > 1e-6 else 1.0))
            case "cross":
                ratio = self.si(f"{key}.canopy.panel_ratio")
                return size**2 * (2 * ratio - ratio * ratio)
            case "annular":
                return pi / 4 * size**2 * (1 - self.si(f"{key}.canopy.hole_ratio") ** 2)
        raise KeyError(family)

    def cds(self, key: str) -> tuple[float, float]:
        """Drag area, least and greatest [m^2]."""
        family = self.text(f"{key}.canopy.family")
        low, high = FAMILIES[family][:2]
        if family == "measured by me":
            low, high = self.si(f"{key}.canopy.cd_low"), self.si(f"{key}.canopy.cd_high")
        elif own := self.maybe(f"{key}.canopy.cd_measured_low"):
            low, high = own, self.si(f"{key}.canopy.cd_measured_high")
        return low * self.area(key), high * self.area(key)

    def diameter(self, key: str) -> float:
        """D0 [m]."""
        return sqrt(4 * self.area(key) / pi)

    # --- air, release, fall without a canopy ---

    @cached_property
    def air(self) -> Air:
        station, site = self.maybe("site.pressure"), self.si("site.elevation")
        ratio = station / Air().pressure(site) if station else 1.0
        return Air(self.si("site.warmer"), ratio)

    @property
    def release(self) -> float:
        """Speed when the first charge fires [m/s]; a motor's delay is at least 1.5 s or a fifth off."""
        late = self.si("flight.delay")
        first = self.bays[0]
        if self.text(f"{first}.charge.kind") == "the motor's own charge":
            late = max(late, 1.5, 0.2 * self.si(f"{first}.charge.delay"))
        return sqrt(self.si("flight.forward_speed") ** 2 + (G * late) ** 2)

    @cached_property
    def bare(self) -> tuple[float, ...]:
        """Drag area of the parts tied together, least and greatest [m^2]; (0,) where a canopy opens at the top.

        Cylinder across the flow, 0.6 to 1.2 on its length x diameter, 0.3 past the drag crisis; tumbling three quarters
        of it on the mean shadow (Hoerner 1965, ch. 3).
        """
        if not self.falls:
            return (0.0,)
        mass, density = self.si("rocket.mass"), self.air.density(self.si("site.elevation"))
        if self.text("flight.fall") == "timed by me":
            rates = (self.si("flight.fall_high"), self.si("flight.fall_low"))
            return tuple(2 * mass * G / (density * rate * rate) for rate in rates)
        wide = self.si("rocket.diameter")
        long = self.si("rocket.length")
        shadow = long * wide
        if self.text("flight.fall") == "tumbling":
            shadow = 0.75 * pi * wide * (long + wide / 2) / 4
        fastest = sqrt(2 * mass * G / (density * 0.6 * shadow))
        return (0.3 if density * fastest * wide / 1.8e-5 > 2e5 else 0.6) * shadow, 1.2 * shadow

    # --- every corner ---

    def bodies(self) -> Iterator[tuple[str, tuple[str, ...], float]]:
        """Each body that reaches the ground by itself: name, canopies, mass."""
        if self.tied:
            yield "rocket", self.canopies, self.si("rocket.mass")
        else:
            yield "aft part", (MAIN,), self.mass_of(1, 2)
            yield "forward part", (FORWARD,), self.mass_of(0, 1)

    @cached_property
    def downs(self) -> dict[str, list[Down]]:
        """Every body in every corner of its ranges."""
        return {name: [self._down(mass, keys, *one) for one in self._corners(keys)] for name, keys, mass in self.bodies()}

    def _corners(self, keys: tuple[str, ...]) -> Iterator[tuple[tuple[float, ...], tuple[float, ...], float]]:
        areas = [self.cds(key) for key in keys]
        yield from product(product(*areas), product(*(FILLING for _ in keys)), self.bare)

    def _down(self, mass: float, keys: tuple[str, ...], areas: tuple[float, ...], fillings: tuple[float, ...], bare: float) -> Down:
        top, opens = self.si("flight.apogee"), []
        for key, area, share in zip(keys, areas, fillings, strict=True):
            row = FAMILIES[self.text(f"{key}.canopy.family")]
            height = self.si("flight.main_height") if key == MAIN and self.low else top
            opens.append(Opens(key, height, area, self.diameter(key), row[3] * share, row[2]))
        return Body(mass, tuple(opens), bare, top, self.release, self.si("site.elevation"), self.air).falls()

    def worst(self, key: str) -> tuple[float, float]:
        """Of one canopy over every corner: greatest pull of its opening [N], greatest speed at which it opens [m/s]."""
        opened = [one for downs in self.downs.values() for down in downs for one in down.opened if one.key == key]
        return max(max(one.pull, one.book) for one in opened), max(one.speed for one in opened)


# --- dangers -------------------------------------------------------------------------------------------


def coming_down(case: Case) -> Iterator[Danger]:
    """Touchdown, the main's opening and its height."""
    for name, _, _ in case.bodies():
        downs = case.downs[name]
        touch = max(down.touchdown for down in downs)
        if touch > TOUCHDOWN:
            yield Danger("touchdown speed", touch, TOUCHDOWN, name)
        for part, mass in _landing(case, name):
            if mass * touch * touch / 2 > ENERGY:
                yield Danger("touchdown energy", mass * touch * touch / 2, ENERGY, part)
        last = FORWARD if name == "forward part" else MAIN
        speed = max(one.speed for down in downs for one in down.opened if one.key == last)
        if speed > MAIN_SPEED:
            yield Danger("main opens fast", speed, MAIN_SPEED, name)
        settled = min(down.settled for down in downs)
        if settled < SETTLED_HEIGHT:
            yield Danger("main not settled", settled, SETTLED_HEIGHT, name)


def _landing(case: Case, body: str) -> list[tuple[str, float]]:
    """Parts that touch down with a body and their masses without canopies [kg]."""
    if not case.tied:
        at, key = (0, FORWARD) if body == "forward part" else (1, MAIN)
        return [(body, max(0.0, case.sections[at][1] - case.canopy_mass(key)))]
    packed = sum(case.canopy_mass(key) for key in case.canopies)
    *others, (tail, mass, _) = case.sections
    return [*((name, heavy) for name, heavy, _ in others), (tail, max(0.0, mass - packed))]


def strand(case: Case, path: str) -> tuple[float, float]:
    """Breaking strength [N] and stretch at break of lines or a cord."""
    material = case.text(f"{path}.material")
    if material == "my own rating":
        return case.si(f"{path}.rating"), case.si(f"{path}.stretch")
    strength, stretch = STRANDS[material]
    return strength * LBF, stretch


def pressure(case: Case, bay: str) -> float:
    """The greatest pressure that what is asked for, reckoned, tested or held as a backup can make in a bay [Pa]."""
    kind = case.text(f"{bay}.charge.kind")
    if kind == "none":
        return 0.0
    worked = case.result(f"{bay}.separation", "pressure")
    wanted = 0.0 if kind == "the motor's own charge" else case.maybe(f"{bay}.charge.pressure") or 0.0
    if kind != "own black powder":
        return max(worked, wanted)
    volume = case.data["results"][f"{bay}.separation"]["free_volume"]
    least, most = volume["low"], volume["high"]
    tested = case.maybe(f"{bay}.charge.tested")
    backed = case.text(f"{bay}.charge.backup") == "a second charge"
    backup = case.maybe(f"{bay}.charge.backup_mass") if backed else None
    reckoned = max(worked, wanted) * most / GAS
    masses = [reckoned, tested or 0.0, backup or 0.0]
    height = case.maybe(f"{bay}.charge.backup_height") if bay == MAIN and case.two_joints else None
    later = case.si(f"{bay}.charge.backup_later")
    if backup and not later and (height is None or height >= case.si("flight.main_height")):
        masses.append((tested or reckoned) + backup)
    return max(masses) * GAS / least


def free_cord(case: Case, bay: str) -> float:
    """Cord between the two parts that it ties together [m]."""
    length, layout = case.si(f"{bay}.cord.length"), case.text(f"{bay}.cord.layout")
    if layout == "nose where the lines meet":
        return length
    gap = case.si(f"{bay}.cord.gap")
    return length + gap if layout == "two sections, two legs" else length - gap


def jerk(case: Case, bay: str) -> float:
    """Pull of a cord [N] that stops the two sides a charge threw apart: F = v sqrt(k mu), v from the gas's work on the joint.

    mu v^2 / 2 = (p A - friction) stroke, so F = sqrt(2 k W) whatever the masses; the stroke is the shoulder, at least the
    quarter of a tube at which the gap is as wide as the bore.
    """
    if not case.tied or case.text(f"{bay}.charge.kind") == "none":
        return 0.0
    tube = case.si(f"{bay}.bay.tube")
    force = pressure(case, bay) * pi / 4 * tube * tube - case.si(f"{bay}.joint.friction")
    work = max(0.0, force) * max(case.si(f"{bay}.bay.shoulder"), tube / 4)
    strength, stretch = strand(case, f"{bay}.cord")
    return sqrt(2 * work * strength / (stretch * free_cord(case, bay)))


def snatch(case: Case, key: str) -> float:
    """Pull when lines come tight on a packed canopy that stops dead in the air [N]: lines in series with the cord."""
    strength, stretch = strand(case, f"{key}.lines")
    lines = int(case.si(f"{key}.canopy.sides")) * strength / (stretch * case.si(f"{key}.lines.length"))
    rope, give = strand(case, f"{key}.cord")
    cloth = case.result(f"{key}.canopy", "cloth_mass") or case.canopy_mass(key)
    speed, whole = case.worst(key)[1], case.si("rocket.mass")
    legs = [(case.si(f"{key}.cord.length"), whole)]
    if key in case.bays and case.tied and case.text(f"{key}.cord.layout") == "two sections, two legs":
        at = case.joint(key)
        legs = [(case.si(f"{key}.cord.length"), case.mass_of(at, 3)), (case.si(f"{key}.cord.gap"), case.mass_of(0, at))]
    pulls = []
    for length, mass in legs:
        soft = 1 / lines + (give * length / rope)
        pulls.append(speed * sqrt(cloth * mass / (cloth + mass) / soft))
    return max(pulls)


@dataclass(frozen=True)
class Part:
    name: str
    bears: float
    pulled: float


def canopy_parts(case: Case, key: str) -> Iterator[Part]:
    """Cloth, lines and what ties them to the cord."""
    opening, _ = case.worst(key)
    pulled = max(opening, snatch(case, key))
    *_, least, most = FAMILIES[case.text(f"{key}.canopy.family")]
    wide = case.diameter(key)
    cloth = CLOTH_STRENGTH.get(case.text(f"{key}.canopy.cloth"), 0.0) * LBF / INCH
    if case.text(f"{key}.canopy.cloth") == "my own cloth":
        cloth = case.maybe(f"{key}.canopy.cloth_strength") or 0.0
    if cloth:
        edge = pi * least * wide
        if case.text(f"{key}.canopy.family") == "cross":  # all of it goes through the ends of four arms
            edge = min(edge, 4 * case.si(f"{key}.canopy.panel_ratio") * case.si(f"{key}.canopy.size"))
        yield Part("cloth", cloth * SEWN, opening / edge)
    length, slant = case.si(f"{key}.lines.length"), most * wide / 2
    if slant < length:
        share = UNEVEN / (int(case.si(f"{key}.canopy.sides")) * sqrt(1 - (slant / length) ** 2))
        yield Part("line", strand(case, f"{key}.lines")[0] * ENDS[case.text(f"{key}.lines.end")], pulled * share)
    yield Part("link", case.si(f"{key}.cord.link"), pulled)
    swivel = case.maybe(f"{key}.cord.swivel")
    if swivel is not None:
        yield Part("swivel", swivel, pulled)
    if key == DROGUE and case.way == "drogue and main from one bay":
        yield Part("release device", case.si("main.cord.device"), opening)


def cord_parts(case: Case, key: str) -> Iterator[Part]:
    """A cord, what it is tied to at both ends, and the bulkhead that the charge pushes on."""
    bay = key in case.bays
    thrown = jerk(case, key) if bay else 0.0
    own = max(case.worst(key)[0], snatch(case, key)) if key in case.canopies else 0.0
    pulled = max(thrown, own, beyond(case, key))
    yield Part("cord", strand(case, f"{key}.cord")[0] * ENDS[case.text(f"{key}.cord.end")], pulled)
    yield Part("anchor", case.si(f"{key}.cord.anchor"), pulled)
    if bay and case.tied:
        ahead = case.mass_of(0, case.joint(key)) / case.si("rocket.mass")
        opening = case.worst(key)[0] if key in case.canopies else 0.0
        yield Part("nose anchor", case.si(f"{key}.cord.nose_anchor"), max(thrown, opening * ahead, beyond(case, key)))
    if bay:
        push = pressure(case, key) * pi / 4 * case.si(f"{key}.bay.tube") ** 2
        yield Part("bulkhead", case.si(f"{key}.cord.bulkhead"), max(push, pulled))


def beyond(case: Case, key: str) -> float:
    """What the main's opening pulls at the cord of the bay that opened before it: the share that hangs beyond [N]."""
    if not case.two_joints or key != DROGUE:
        return 0.0
    at = case.joint(DROGUE)
    hangs = case.mass_of(0, at) if case.joint(MAIN) > at else case.mass_of(at, 3)
    return case.worst(MAIN)[0] * hangs / case.si("rocket.mass")


def strength(case: Case) -> Iterator[Danger]:
    """Every part past its rating."""
    for key in dict.fromkeys((*case.bays, *case.canopies)):
        parts = [*cord_parts(case, key), *(canopy_parts(case, key) if key in case.canopies else ())]
        for part in parts:
            if part.pulled > part.bears:
                yield Danger(f"{part.name} breaks", part.pulled, part.bears, key)


def lag(case: Case, bay: str) -> float:
    """Greatest pressure left in a bay on the way up [Pa]: steady flow through its vent, sealed if it has none."""
    low, air = case.si("site.elevation"), case.air
    top = low + case.si("flight.apogee")
    closed, vent = air.pressure(low), case.maybe(f"{bay}.joint.vent")
    if vent is None:
        return closed - air.pressure(top)
    volume, hole = case.result(f"{bay}.separation", "free_volume"), HOLE * pi / 4 * vent * vent
    worst, climb = 0.0, case.si("flight.climb")
    for i in range(401):
        height = low + (top - low) * i / 400
        density, outside = air.density(height), air.pressure(height)
        flow = volume * density * G * climb / outside
        worst = max(worst, min(closed - outside, density / 2 * (flow / hole) ** 2))
    return worst


def joints(case: Case) -> Iterator[Danger]:
    """Joints that part before their time: on the way up, or when an earlier cord comes tight."""
    for bay in case.bays:
        wide, depth = PINS[case.text(f"{bay}.joint.pin")]
        pin = pi / 4 * (wide - depth) ** 2 * NYLON_SHEAR * MOULDED
        holds = case.si(f"{bay}.joint.friction") + int(case.si(f"{bay}.joint.pins")) * pin
        at = case.joint(bay)
        runs_on = case.mass_of(0, at) * case.si("flight.slowing")
        rising = lag(case, bay) * pi / 4 * case.si(f"{bay}.bay.tube") ** 2 + runs_on
        if rising > holds:
            yield Danger("joint parts on the way up", rising, holds, bay)
        shaken = earlier(case) if bay == MAIN and case.two_joints else 0.0
        if shaken > holds:
            yield Danger("joint parts when the first cord comes tight", shaken, holds, bay)


def earlier(case: Case) -> float:
    """Pull at the main's joint when the first bay's cord stops what it ties, and what lies beyond that joint runs on [N]."""
    first, main = case.joint(DROGUE), case.joint(MAIN)
    if main < first:
        runs_on, stopped = case.mass_of(0, main), case.mass_of(0, first)
    else:
        runs_on, stopped = case.mass_of(main, 3), case.mass_of(first, 3)
    opening = case.worst(DROGUE)[0] * runs_on / case.si("rocket.mass") if DROGUE in case.canopies else 0.0
    return max(jerk(case, DROGUE) * runs_on / stopped, opening)


def hanging(case: Case) -> Iterator[Danger]:
    """Parts that hang side by side at the same depth, or in line with no cord between them."""
    if not case.tied:
        return
    for key in case.bays:
        if key not in case.canopies and key != MAIN:
            continue  # falling without a canopy they meet or not: nobody can say
        room, between = _apart(case, key)
        if room < 0:
            yield Danger("parts can meet", room, 0.0, key)
        if between < 0:
            yield Danger("parts can meet in line", between, 0.0, key)


def _apart(case: Case, key: str) -> tuple[float, float]:
    """How far the parts on both sides of a cord hang apart under its canopy, and those in line on a cord that opened before [m]."""
    at, other = case.joint(key), case.joint(DROGUE) if key == MAIN and case.two_joints else 0
    gap = 0.0 if case.text(f"{key}.cord.layout") == "nose where the lines meet" else case.si(f"{key}.cord.gap")
    mouth, sections = case.si(f"{key}.cord.length") - case.si(f"{key}.bay.depth"), case.sections
    between = free_cord(case, DROGUE) - case.si("drogue.bay.depth") if other else inf
    fore = sum(one[2] for one in sections[other if other < at else 0 : at])
    tail = sum(one[2] for one in sections[at : other if other > at else len(sections)])
    left, right = [(gap, gap + fore)], [(mouth, mouth + tail)]
    if other and other < at:
        left.append((gap + fore + between, gap + fore + between + sections[0][2]))
    elif other:
        right.append((mouth + tail + between, mouth + tail + between + sections[-1][2]))
    return min(max(b[0] - a[1], a[0] - b[1]) for a, b in product(left, right)), between


def dangers(data: Mapping[str, Any]) -> list[Danger]:
    """Everything dangerous about a rig, whatever its plan's checks say."""
    case = Case(data)
    return [*coming_down(case), *strength(case), *joints(case), *hanging(case)]


def judged(data: Mapping[str, Any]) -> list[Danger]:
    """What is left of it once a hard touchdown that a check names, failed or to be looked at, is taken out."""
    noted = {(check["name"], check["bay"]) for check in data["checks"] if check["verdict"] != "pass"}

    def named(one: Danger) -> bool:
        if one.name == "touchdown energy":
            return any(name == "touchdown-energy" for name, _ in noted)
        key = FORWARD if one.where == "forward part" else MAIN
        return one.name == "touchdown speed" and any(name == "touchdown-rate" and bay in ("", key) for name, bay in noted)

    return [one for one in dangers(data) if not named(one)]
