"""Canopy shapes: areas, diameters and edges of the families carried, and the drag law that uses them.

Knows lengths in metres and angles in degrees; knows nothing of units, tables or pages. Each family is a
function to a `Shape`. Drag coefficients are always referred to the nominal area S0, holes included
(Potvin, notes on round canopies; Knacke 1991, sec. 5.1).
"""

from dataclasses import dataclass

from loftbook.physics.atmosphere import G0
from loftbook.physics.elementary import PI, cosine, logarithm, sine, sqrt, tangent
from loftbook.physics.form import Form, dome_radius, meridian_length


@dataclass(frozen=True)
class Shape:
    """A constructed canopy, all SI.

    nominal_area: S0 [m^2], with the vent counted in; diameter: D0 = sqrt(4 S0/pi) [m];
    cloth_area: finished cloth without vent or seams [m^2]; skirt: length of the lower edge [m];
    edge_radius: centre to a line's corner, laid flat or as built [m]; gore_length: apex to skirt along the
    cloth [m]; gores: number of gores; seams: total length of seams and hems [m].
    """

    nominal_area: float
    cloth_area: float
    skirt: float
    edge_radius: float
    gore_length: float
    gores: int
    seams: float

    @property
    def diameter(self) -> float:
        """Nominal diameter D0 [m]."""
        return nominal_diameter(self.nominal_area)


def nominal_diameter(area: float) -> float:
    """D0 [m] = sqrt(4 S0 / pi) of an area S0 [m^2] (Knacke 1991, sec. 5.1)."""
    return sqrt(4 * area / PI)


def regular_polygon_area(sides: int, across_flats: float) -> float:
    """Area [m^2] of a regular polygon from its width across flats [m]: N/4 w^2 tan(pi/N), three sides or more."""
    return sides / 4 * across_flats * across_flats * tangent(PI / sides)


def across_flats(corners: float, sides: int) -> float:
    """Width across flats [m] of a regular polygon with an even number of sides from its width across corners [m].

    w = c cos(pi/N) (plane geometry). Raises ValueError for an odd number: it has no corner opposite a corner.
    """
    if sides < 4 or sides % 2:
        raise ValueError(f"a width across corners needs an even number of sides from four on, not {sides}")
    return corners * cosine(PI / sides)


def flat_polygon(sides: int, across_flats: float, vent: float = 0.0) -> Shape:
    """Regular polygon of three sides or more; `across_flats` [m] is twice the distance centre to side (for odd N too).

    vent: diameter of its hole over the width across flats, 0 to below 1 (dimensionless), as in all shapes here.
    """
    area = regular_polygon_area(sides, across_flats)
    side = across_flats * tangent(PI / sides)
    radius = across_flats / (2 * cosine(PI / sides))
    return Shape(
        area,
        area - _vent(vent * across_flats),
        sides * side,
        radius,
        across_flats / 2,
        sides,
        sides * radius + sides * side,
    )


def flat_circular(gores: int, across: float, vent: float = 0.0) -> Shape:
    """Circle of diameter `across` [m] with a round vent of `vent` x that (dimensionless); plane geometry."""
    area = PI * across * across / 4
    return Shape(
        area, area - _vent(vent * across), PI * across, across / 2, across / 2, gores, gores * across / 2 + PI * across
    )


def conical(gores: int, across: float, slope: float, vent: float = 0.0) -> Shape:
    """Cone of base diameter `across` [m], its side `slope` [degrees] above the skirt plane, 0 to below 90.

    vent: over the base diameter, seen from above (dimensionless). Area pi r x slant (solid geometry).
    """
    slant = across / 2 / cosine(slope * PI / 180)
    area = PI * across / 2 * slant
    return Shape(
        area,
        area - _vent(vent * across) / cosine(slope * PI / 180),
        PI * across,
        across / 2,
        slant,
        gores,
        gores * slant + PI * across,
    )


def hemispherical(gores: int, across: float, vent: float = 0.0) -> Shape:
    """Half a sphere of diameter `across` [m], its vent a cap of `vent` x that across (dimensionless).

    Area 2 pi r^2, cap 2 pi r h (solid geometry).
    """
    radius = across / 2
    length = PI * radius / 2
    area = 2 * PI * radius * radius
    cap = radius * (1 - sqrt(1 - vent * vent))
    return Shape(area, area - 2 * PI * radius * cap, PI * across, radius, length, gores, gores * length + PI * across)


def semi_ellipsoid(gores: int, across: float, ratio: float, vent: float = 0.0) -> Shape:
    """Half an oblate spheroid: base diameter `across` [m], height = ratio x base radius, 0 < ratio <= 1.

    Area pi a^2 (1 + (1-e^2)/e artanh e); gore length a E(e^2) by the arithmetic-geometric mean
    (Abramowitz and Stegun, Handbook of Mathematical Functions, 17.6.3-17.6.4).
    """
    if ratio == 1:
        return hemispherical(gores, across, vent)
    a = across / 2
    e = sqrt(1 - ratio * ratio)
    area = PI * a * a * (1 + (1 - e * e) / e * logarithm((1 + e) / (1 - e)) / 2)
    length = a * _complete_elliptic_e(ratio)
    return Shape(
        area, area - _spheroid_cap(a, ratio * a, vent), PI * across, a, length, gores, gores * length + PI * across
    )


def cross(length: float, ratio: float) -> Shape:
    """Two equal panels `length` [m] long and `ratio` x that wide, crossing at the middle: S0 = 2 L W - W^2.

    ratio: above 0, at most 1 (dimensionless). Plane geometry; the middle is counted once.
    """
    width = ratio * length
    area = 2 * length * width - width * width
    return Shape(
        area, area, 4 * width, sqrt(length * length + width * width) / 2, length / 2, 4, 4 * length + 4 * width
    )


def annular(gores: int, across: float, ratio: float) -> Shape:
    """Flat ring of outer diameter `across` [m], inner = `ratio` x outer, 0 to below 1; S0 is the ring's own area [m^2]."""
    area = PI / 4 * across * across * (1 - ratio * ratio)
    length = across / 2 * (1 - ratio)
    return Shape(area, area, PI * across, across / 2, length, gores, gores * length + PI * across * (1 + ratio))


def _spheroid_cap(a: float, c: float, share: float) -> float:
    """Area [m^2] of an oblate half-spheroid (radius a, height c) within `share` of its radius from the axis.

    2 pi a times the integral of sqrt(1 + k z^2), k = (a^2 - c^2)/c^4, from the cap's rim to the apex.
    """
    root = sqrt(a * a - c * c) / (c * c)

    def upto(z: float) -> float:
        """The integral from the skirt's plane to a height z [m]."""
        s = sqrt(1 + root * root * z * z)
        return (z * s + logarithm(root * z + s) / root) / 2

    return 2 * PI * a * (upto(c) - upto(c * sqrt(1 - share * share)))


def _vent(diameter: float) -> float:
    return PI * diameter * diameter / 4


def _complete_elliptic_e(k_prime: float) -> float:
    """E(m) for m = 1 - k_prime^2, 0 < k_prime < 1, by the arithmetic-geometric mean."""
    a, g, weight = 1.0, k_prime, 1.0
    excess = (1 - k_prime * k_prime) / 2
    while abs(a - g) > 1e-15 * a:
        a, g, difference = (a + g) / 2, sqrt(a * g), (a - g) / 2
        excess += weight * difference * difference
        weight *= 2
    return PI / (2 * a) * (1 - excess)


def gore_half_width(family: str, shape: Shape, share: float, ratio: float = 1.0) -> float:
    """Half of a gore's width [m] at `share` (0 to 1) of its length from the apex, the skin taken as round in section.

    Straight taper for the flat families and the cone; the true meridian for hemisphere and semi-ellipsoid.
    """
    whole = shape.skirt / shape.gores / 2
    if family == "hemispherical":
        return whole * sine(share * PI / 2)
    if family == "semi-ellipsoid":
        unit = Form(family, shape.gores, 2.0, ratio=ratio)
        return whole * dome_radius(unit, share * meridian_length(unit))
    return whole * share


# --- drag ----------------------------------------------------------------------------------------


def terminal_rate(mass: float, drag_area: float, density: float) -> float:
    """Steady sink rate [m/s] of `mass` [kg] under Cd S0 = `drag_area` [m^2] in air of `density` [kg/m^3].

    v = sqrt(2 m g / (rho Cd S0)): Knacke 1991, sec. 4.4.
    """
    return sqrt(2 * mass * G0 / (density * drag_area))


def drag_area_for(mass: float, rate: float, density: float) -> float:
    """Cd S0 [m^2] that lets `mass` [kg] sink at `rate` [m/s]: the same law turned round."""
    return 2 * mass * G0 / (density * rate * rate)


def line_tension_share(lines: int, length: float, skirt_radius: float) -> float:
    """Tension in each of `lines` equal lines over the axial load (dimensionless): 1/(N cos phi), sin phi = r/L (statics).

    length L of a line and radius r of the inflated skirt [m], r < L.
    """
    return 1 / (lines * sqrt(1 - (skirt_radius / length) * (skirt_radius / length)))
