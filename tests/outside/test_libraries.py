"""The core against general-purpose libraries: an atmosphere, plane geometry, quadrature, differential equations.

Nothing is stored: each case computes both sides. Random cases come from a fixed seed, so a failure can be run again.
Each tolerance says what it leaves room for.
"""

import math
import random
from collections.abc import Callable, Sequence

import numpy as np
import pytest
import scipy.constants
import scipy.stats
from ambiance import Atmosphere
from fluids.atmosphere import ATMOSPHERE_1976
from scipy.integrate import quad, solve_ivp
from scipy.special import ellipe, ellipeinc
from shapely import Polygon, affinity, box, contains_xy, unary_union
from shapely.geometry import LineString
from shapely.geometry import Point as ShapelyPoint
from shapely.ops import split

from loftbook.physics import (
    airframe,
    atmosphere,
    canopy,
    descent,
    elementary,
    folding,
    motion,
    opening,
    packing,
    scatter,
    wind,
)
from loftbook.physics.atmosphere import STANDARD, Air
from loftbook.physics.folding import Fold, Point, Sheet
from loftbook.quantity import ENERGY, FORCE, LENGTH, MASS, PRESSURE, SPEED, TIME, Kind, read

# --- atmosphere -----------------------------------------------------------------------------------

HEIGHTS = [-500.0, -250.0, *range(0, 20_001, 500), 10_999.0, 11_019.0, 11_020.0, 19_999.0]
# This library rounds the gas constant and the base values of the layers: 4 parts in a million at 20 km.
ROUNDED_CONSTANTS = 5e-6
# The other takes the standard's own constants to all digits, as the core does: only rounding is left.
SAME_CONSTANTS = 1e-14


@pytest.mark.parametrize("height", HEIGHTS)
def test_air_agrees_with_ambiance(height: float) -> None:
    theirs = Atmosphere(height)
    assert atmosphere.temperature(height) == pytest.approx(theirs.temperature[0], rel=ROUNDED_CONSTANTS)
    assert atmosphere.pressure(height) == pytest.approx(theirs.pressure[0], rel=ROUNDED_CONSTANTS)
    assert STANDARD.density(height) == pytest.approx(theirs.density[0], rel=ROUNDED_CONSTANTS)
    assert atmosphere.speed_of_sound(height) == pytest.approx(theirs.speed_of_sound[0], rel=ROUNDED_CONSTANTS)
    assert atmosphere.gravity(height) == pytest.approx(theirs.grav_accel[0], rel=ROUNDED_CONSTANTS)


@pytest.mark.parametrize("height", HEIGHTS)
def test_air_agrees_with_fluids(height: float) -> None:
    theirs = ATMOSPHERE_1976(height)
    assert atmosphere.temperature(height) == pytest.approx(theirs.T, rel=SAME_CONSTANTS)
    assert atmosphere.pressure(height) == pytest.approx(theirs.P, rel=SAME_CONSTANTS)
    assert STANDARD.density(height) == pytest.approx(theirs.rho, rel=SAME_CONSTANTS)
    assert atmosphere.speed_of_sound(height) == pytest.approx(theirs.v_sonic, rel=SAME_CONSTANTS)
    assert atmosphere.gravity(height) == pytest.approx(theirs.g, rel=SAME_CONSTANTS)


@pytest.mark.parametrize("offset", [-30.0, -7.5, 12.0, 30.0])
@pytest.mark.parametrize("height", [0.0, 1500.0, 6000.0, 12_000.0])
def test_air_of_a_warm_day_agrees_with_fluids(height: float, offset: float) -> None:
    assert Air(warmer=offset).density(height) == pytest.approx(
        ATMOSPHERE_1976(height, dT=offset).rho, rel=SAME_CONSTANTS
    )


@pytest.mark.parametrize("elevation", [-500.0, 0.0, 130.0, 2800.0])
def test_quick_density_agrees_with_fluids(elevation: float) -> None:
    """It is interpolated, and promises a part in 100,000."""
    quick = STANDARD.quick(elevation)
    for height in np.linspace(0.0, 20_000.0 - elevation, 2000):
        assert quick(float(height)) == pytest.approx(ATMOSPHERE_1976(elevation + float(height)).rho, rel=1e-5)


# --- elementary functions -------------------------------------------------------------------------

_seeded = random.Random(1976)
ARGUMENTS = [_seeded.uniform(-20, 20) for _ in range(300)] + [_seeded.uniform(-1, 1) * 1e-3 for _ in range(50)]
POSITIVE = [10 ** _seeded.uniform(-8, 8) for _ in range(300)] + [1 + _seeded.uniform(-1e-6, 1e-6) for _ in range(50)]


def _ulps(ours: float, theirs: float) -> float:
    return abs(ours - theirs) / math.ulp(theirs)


@pytest.mark.parametrize(
    ("ours", "theirs", "arguments"),
    [
        (elementary.sine, math.sin, ARGUMENTS),
        (elementary.cosine, math.cos, ARGUMENTS),
        (elementary.tangent, math.tan, ARGUMENTS),
        (elementary.arctangent, math.atan, ARGUMENTS),
        (elementary.exponential, math.exp, ARGUMENTS),
        (elementary.logarithm, math.log, POSITIVE),
    ],
    ids=["sine", "cosine", "tangent", "arctangent", "exponential", "logarithm"],
)
def test_elementary_functions_to_one_unit_in_the_last_place(
    ours: Callable[[float], float], theirs: Callable[[float], float], arguments: Sequence[float]
) -> None:
    """The C library may itself be off by one."""
    assert max(_ulps(ours(x), theirs(x)) for x in arguments) <= 1


@pytest.mark.parametrize("quarters", range(-8, 9))
def test_sine_and_cosine_at_quarter_turns(quarters: int) -> None:
    """Where they nearly vanish the series keeps 28 decimals, so what is left is right to 1e-26, not to its last place."""
    x = quarters * math.pi / 2
    assert elementary.sine(x) == pytest.approx(math.sin(x), rel=2.3e-16, abs=1e-26)
    assert elementary.cosine(x) == pytest.approx(math.cos(x), rel=2.3e-16, abs=1e-26)


def test_power_to_one_unit_in_the_last_place() -> None:
    exponents = random.Random(7)
    for base in POSITIVE:
        exponent = exponents.uniform(-6, 6)
        assert _ulps(elementary.power(base, exponent), base**exponent) <= 1


# --- units ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "kind", "factor"),
    [
        ("1 ft", LENGTH, scipy.constants.foot),
        ("1 in", LENGTH, scipy.constants.inch),
        ("1 yd", LENGTH, scipy.constants.yard),
        ("1 mi", LENGTH, scipy.constants.mile),
        ("1 lb", MASS, scipy.constants.pound),
        ("1 oz", MASS, scipy.constants.ounce),
        ("1 lbf", FORCE, scipy.constants.pound_force),
        ("1 psi", PRESSURE, scipy.constants.psi),
        ("1 atm", PRESSURE, scipy.constants.atm),
        ("1 mi/h", SPEED, scipy.constants.mph),
        ("1 kn", SPEED, scipy.constants.knot),
        ("1 km/h", SPEED, scipy.constants.kmh),
        ("1 ft*lbf", ENERGY, scipy.constants.foot * scipy.constants.pound_force),
        ("1 min", TIME, scipy.constants.minute),
    ],
)
def test_units_agree_with_scipy(text: str, kind: Kind, factor: float) -> None:
    """Both are exact by definition; rounding of products may differ in the last bits."""
    assert read(text, kind) == pytest.approx(factor, rel=4e-16)


def test_standard_gravity_agrees_with_scipy() -> None:
    assert scipy.constants.g == atmosphere.G0


# --- shapes ---------------------------------------------------------------------------------------


def _ring(sides: int, radius: float, turn: float = 0.0) -> Polygon:
    angles = [turn + 2 * math.pi * k / sides for k in range(sides)]
    return Polygon([(radius * math.cos(a), radius * math.sin(a)) for a in angles])


@pytest.mark.parametrize("sides", range(4, 17))
def test_polygon_agrees_with_shapely(sides: int) -> None:
    shape = canopy.flat_polygon(sides, 1.4, 0.1)
    theirs = _ring(sides, 0.7 / math.cos(math.pi / sides))
    assert shape.nominal_area == pytest.approx(theirs.area, rel=1e-14)
    assert shape.skirt == pytest.approx(theirs.length, rel=1e-14)
    assert shape.edge_radius == pytest.approx(theirs.hausdorff_distance(ShapelyPoint(0, 0)), rel=1e-14)


@pytest.mark.parametrize("sides", range(4, 17, 2))
def test_width_across_flats_agrees_with_shapely(sides: int) -> None:
    """A side to the right, so that the ring is as wide as its flats are apart; the corners 1.4 m apart."""
    least_x, _, greatest_x, _ = _ring(sides, 0.7, math.pi / sides).bounds
    assert canopy.across_flats(1.4, sides) == pytest.approx(greatest_x - least_x, rel=1e-14)


@pytest.mark.parametrize("ratio", [0.15, 0.264, 1 / 3, 0.6])
def test_cross_agrees_with_shapely(ratio: float) -> None:
    shape, half = canopy.cross(2.0, ratio), ratio
    theirs = unary_union([box(-1, -half, 1, half), box(-half, -1, half, 1)])
    assert shape.nominal_area == pytest.approx(theirs.area, rel=1e-14)


def _spheroid_area(a: float, c: float, upper: float) -> float:
    """Area of revolution of r = a sin t, z = c cos t from the apex to t = upper."""
    return (
        2
        * math.pi
        * quad(
            lambda t: a * math.sin(t) * math.hypot(a * math.cos(t), c * math.sin(t)), 0, upper, epsabs=0, epsrel=1e-13
        )[0]
    )


RATIOS = [0.2, 0.35, 0.5, 0.707, 0.9, 0.99, 0.999]


@pytest.mark.parametrize("ratio", RATIOS)
def test_semi_ellipsoid_agrees_with_quadrature_and_elliptic_integral(ratio: float) -> None:
    shape = canopy.semi_ellipsoid(12, 2.6, ratio)
    assert shape.nominal_area == pytest.approx(_spheroid_area(1.3, 1.3 * ratio, math.pi / 2), rel=1e-13)
    assert shape.gore_length == pytest.approx(1.3 * ellipe(1 - ratio * ratio), rel=1e-14)


@pytest.mark.parametrize("vent", [0.05, 0.1, 0.3])
def test_vent_of_hemisphere_agrees_with_quadrature(vent: float) -> None:
    shape = canopy.hemispherical(8, 2.0, vent)
    assert shape.nominal_area - shape.cloth_area == pytest.approx(_spheroid_area(1, 1, math.asin(vent)), rel=1e-12)


@pytest.mark.parametrize("vent", [0.05, 0.1, 0.3])
@pytest.mark.parametrize("slope", [5.0, 25.0, 50.0])
def test_vent_of_cone_agrees_with_quadrature(vent: float, slope: float) -> None:
    shape = canopy.conical(8, 2.0, slope, vent)
    theirs = quad(lambda r: 2 * math.pi * r / math.cos(math.radians(slope)), 0, vent)[0]
    assert shape.nominal_area - shape.cloth_area == pytest.approx(theirs, rel=1e-12)


@pytest.mark.parametrize("ratio", RATIOS)
@pytest.mark.parametrize("vent", [0.05, 0.1, 0.3])
def test_cloth_of_vented_semi_ellipsoid_agrees_with_quadrature(ratio: float, vent: float) -> None:
    """The core takes the vent for a flat hole; the cap it leaves out is at most 1.2 parts in a thousand of the cloth."""
    shape = canopy.semi_ellipsoid(12, 2.0, ratio, vent)
    theirs = _spheroid_area(1, ratio, math.pi / 2) - _spheroid_area(1, ratio, math.asin(vent))
    assert shape.cloth_area == pytest.approx(theirs, rel=1.2e-3)


@pytest.mark.parametrize("ratio", RATIOS)
def test_gore_of_semi_ellipsoid_agrees_with_elliptic_integral(ratio: float) -> None:
    """Exact but for rounding: the length is inverted, not read off chords."""
    shape, m = canopy.semi_ellipsoid(10, 2.0, ratio), 1 - ratio * ratio
    for t in np.linspace(0.05, math.pi / 2, 30):
        share = min(1.0, float(ellipeinc(t, m) / ellipe(m)))
        ours = canopy.gore_half_width("semi-ellipsoid", shape, share, ratio)
        assert ours == pytest.approx(math.pi / 10 * math.sin(t), rel=1e-12)


@pytest.mark.parametrize(
    ("family", "shape", "ratio", "tolerance"),
    [
        ("conical", canopy.conical(9, 2.0, 30.0), 1.0, 1e-12),
        ("hemispherical", canopy.hemispherical(9, 2.0), 1.0, 1e-12),
        ("semi-ellipsoid", canopy.semi_ellipsoid(9, 2.0, 0.6), 0.6, 1e-12),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_gores_sewn_together_have_the_canopy_s_area(
    family: str, shape: canopy.Shape, ratio: float, tolerance: float
) -> None:
    area = (
        2
        * shape.gore_length
        * quad(
            lambda s: canopy.gore_half_width(family, shape, s, ratio), 0, 1, limit=400, epsabs=0, epsrel=tolerance / 10
        )[0]
    )
    assert area * shape.gores == pytest.approx(shape.nominal_area, rel=tolerance)


# --- folding --------------------------------------------------------------------------------------
#
# The same sheet of cloth, folded a second time without anything of the core but the creases it draws: pieces are cut
# along the crease by shapely and the moving ones reflected by a matrix.

Pieces = list[Polygon]


def _crossing_line(crease: tuple[Point, Point]) -> LineString:
    (x0, y0), (x1, y1) = crease
    far = 100.0 / math.hypot(x1 - x0, y1 - y0)
    dx, dy = (x1 - x0) * far, (y1 - y0) * far
    return LineString([(x0 - dx, y0 - dy), (x1 + dx, y1 + dy)])


def _is_left(piece: Polygon, crease: tuple[Point, Point]) -> bool:
    (x0, y0), (x1, y1) = crease
    p = piece.representative_point()
    return (x1 - x0) * (p.y - y0) - (y1 - y0) * (p.x - x0) > 0


def _cut(pieces: Pieces, crease: tuple[Point, Point]) -> Pieces:
    line = _crossing_line(crease)
    return [part for piece in pieces for part in split(piece, line).geoms if part.area > 1e-15]


def _reflected(piece: Polygon, crease: tuple[Point, Point]) -> Polygon:
    (x0, y0), (x1, y1) = crease
    angle = 2 * math.atan2(y1 - y0, x1 - x0)
    c, s = math.cos(angle), math.sin(angle)
    return affinity.affine_transform(piece, [c, s, s, -c, x0 - c * x0 - s * y0, y0 - s * x0 + c * y0])


def _parted(pieces: Pieces, crease: tuple[Point, Point]) -> tuple[Pieces, Pieces]:
    """What stays (right of the crease) and what moves (left of it)."""
    cut = _cut(pieces, crease)
    return [p for p in cut if not _is_left(p, crease)], [p for p in cut if _is_left(p, crease)]


def _folded(pieces: Pieces, step: Fold) -> Pieces:
    """The fold of a step done again; what the core says stays and moves must be what stays and moves here."""
    assert step.crease
    stay, go = _parted(pieces, step.crease)
    _same_place(step.staying, stay)
    _same_place(step.moving, go)
    return stay + [_reflected(p, step.crease) for p in go]


def _same_place(sheet: Sheet | None, pieces: Pieces) -> None:
    assert sheet
    ours, theirs = _outline(_facets(sheet)), _outline(pieces)
    assert ours.symmetric_difference(theirs).area < 1e-9 * theirs.area


def _outline(pieces: Pieces) -> Polygon:
    """Corners are drawn to a grid of 1e-11: without it the library can lose pieces whose edges all but coincide."""
    with np.errstate(all="ignore"):  # slivers make it divide by zero on its way to a sound answer
        return unary_union(pieces, grid_size=1e-11)


def _facets(sheet: Sheet) -> Pieces:
    return [Polygon(facet.corners) for facet in sheet.facets]


def _compare(sheet: Sheet, pieces: Pieces, area: float, seed: int) -> None:
    """Cloth conserved, the same outline, and as many layers at each of many points."""
    assert sheet.area == pytest.approx(area, rel=1e-9)
    assert sum(piece.area for piece in pieces) == pytest.approx(area, rel=1e-9)
    _same_place(sheet, pieces)
    draw = random.Random(seed)
    x0, y0, x1, y1 = _outline(pieces).bounds
    xs = np.array([draw.uniform(x0, x1) for _ in range(200)])
    ys = np.array([draw.uniform(y0, y1) for _ in range(200)])
    counted = sum(f.layers * contains_xy(Polygon(f.corners), xs, ys).astype(int) for f in sheet.facets)
    expected = sum(contains_xy(piece, xs, ys).astype(int) for piece in pieces)
    assert (counted == expected).all()
    assert expected.max() > 0


def _thickest(pieces: Pieces) -> int:
    """Most layers at any place: tried in the middle of every piece and near each of its corners."""
    spots = []
    for piece in pieces:
        inside = piece.representative_point()
        spots.append((inside.x, inside.y))
        spots += [(x + 1e-4 * (inside.x - x), y + 1e-4 * (inside.y - y)) for x, y in piece.exterior.coords[:-1]]
    xs, ys = np.array(sorted({(round(x, 9), round(y, 9)) for x, y in spots})).T
    return int(sum(contains_xy(piece, xs, ys).astype(int) for piece in pieces).max())


def _counted(pieces: Pieces) -> int:
    """The same, tried besides at every place of a fine grid."""
    x0, y0, x1, y1 = _outline(pieces).bounds
    grid = np.meshgrid(np.linspace(x0, x1, 402)[1:-1], np.linspace(y0, y1, 102)[1:-1])
    xs, ys = (axis.ravel() for axis in grid)
    return max(_thickest(pieces), int(sum(contains_xy(piece, xs, ys).astype(int) for piece in pieces).max()))


def _flat(family: str, lines: int) -> tuple[canopy.Shape, float, Pieces]:
    """The core's shape of a flat canopy, its ratio, and its cloth from the definition."""
    turn = math.pi / lines if lines % 2 == 0 else 0.0
    if family == "flat polygon":
        return canopy.flat_polygon(lines, 1.4), 1.0, [_ring(lines, 0.7 / math.cos(math.pi / lines), turn)]
    if family == "cross":
        half = 0.7 / 3
        arms = unary_union([box(-0.7, -half, 0.7, half), box(-half, -0.7, half, 0.7)])
        return canopy.cross(1.4, 1 / 3), 1 / 3, [arms]
    # A circle is drawn with straight sides; how many is the core's choice and is taken from it
    count = len(folding.lay_flat("flat circular", canopy.flat_circular(lines, 1.4), lines, 1.0).facets[0].corners)
    disc = _ring(count, 0.7)
    if family == "flat circular":
        return canopy.flat_circular(lines, 1.4), 1.0, [disc]
    return canopy.annular(lines, 1.4, 0.4), 0.4, [disc.difference(_ring(count, 0.28))]


def _fold_to_wedge(steps: Sequence[Fold], pieces: Pieces, lines: int, check: Callable[[Fold, Pieces], None]) -> Pieces:
    """Repeat every act of `to_wedge` on our own pieces."""
    units: list[tuple[Polygon, int]] = []
    unit = 360 / lines if lines % 2 == 0 else 180 / lines
    for step in steps:
        if step.act == "halve":
            pieces = _folded(pieces, step)
        elif step.act == "pleat":
            if step.number == 1:
                for i in range(1, round(180 / unit)):
                    a = math.radians(i * unit)
                    pieces = _cut(pieces, ((0.0, 0.0), (math.cos(a), math.sin(a))))
                middles = [p.representative_point() for p in pieces]
                units = [
                    (piece, int(math.degrees(math.atan2(m.y, m.x)) // unit))
                    for piece, m in zip(pieces, middles, strict=True)
                ]
            assert step.crease
            _same_place(step.staying, [p for p, u in units if u < step.number])
            _same_place(step.moving, [p for p, u in units if u >= step.number])
            units = [(_reflected(p, step.crease) if u >= step.number else p, u) for p, u in units]
            pieces = [p for p, _ in units]
        check(step, pieces)
    return pieces


FLAT = [
    *(("flat polygon", n) for n in range(4, 17)),
    *(("flat circular", n) for n in range(4, 17)),
    *(("annular", n) for n in range(4, 17)),
    *(("cross", n) for n in (8, 12, 16)),
]


@pytest.mark.parametrize(("family", "lines"), FLAT, ids=lambda value: str(value).replace(" ", "-"))
def test_folds_agree_with_shapely(family: str, lines: int) -> None:
    """Every step of laying out, halving, pleating and narrowing: cloth, outline, layers and the thickest place."""
    shape, ratio, pieces = _flat(family, lines)
    area = sum(piece.area for piece in pieces)
    steps = folding.to_wedge(family, shape, lines, ratio)
    seen: list[str] = []

    def check(step: Fold, pieces: Pieces) -> None:
        _compare(step.after, pieces, area, len(seen))
        assert _thickest(pieces) == step.layers
        seen.append(step.act)

    pieces = _fold_to_wedge(steps, pieces, lines, check)
    if wedge := steps[-1].wedge:
        pieces = [affinity.rotate(piece, -wedge / 2, origin=(0, 0)) for piece in pieces]
    narrowing = _narrowed(steps[-1], 0.07)
    for step in narrowing:
        assert step.crease
        x0, y0, x1, y1 = _outline(pieces).bounds
        middle = (y0 + y1) / 2
        assert np.allclose(step.crease, ((x0, middle), (x1, middle)), rtol=0, atol=1e-9)
        pieces = _folded(pieces, step)
        check(step, pieces)
    assert narrowing
    assert narrowing[-1].after.width <= 0.07 < narrowing[-1].before.width
    assert len(seen) == len(steps) + len(narrowing)
    assert set(seen) >= {"lay out", "halve", "lengthwise"}


def _narrowed(wedge: Fold, widest: float) -> tuple[Fold, ...]:
    """Halved lengthwise until it is no wider than that."""
    return folding.to_strip(wedge, math.ceil(math.log2(folding.levelled(wedge).width / widest)))


def _strip(family: str, lines: int) -> tuple[Fold, Pieces]:
    """The last lengthwise fold, and every layer of what lies there then."""
    shape, ratio, _ = _flat(family, lines)
    strip = _narrowed(folding.to_wedge(family, shape, lines, ratio)[-1], 0.1)[-1]
    return strip, [Polygon(facet.corners) for facet in strip.after.facets for _ in range(facet.layers)]


STRIPS = [("flat polygon", 6), ("flat polygon", 8), ("annular", 8), ("cross", 8)]


@pytest.mark.parametrize("parts", [2, 4, 8])
@pytest.mark.parametrize(("family", "lines"), STRIPS)
def test_doubling_agrees_with_shapely(family: str, lines: int, parts: int) -> None:
    """Halved again and again across its length."""
    strip, pieces = _strip(family, lines)
    area = sum(piece.area for piece in pieces)
    steps = folding.doubled(strip.after, parts)
    assert 2 ** len(steps) == parts
    for step in steps:
        pieces = _folded(pieces, step)
        _compare(step.after, pieces, area, step.number)
        assert step.after.length == pytest.approx(step.before.length / 2, rel=1e-9)
        assert step.layers == _counted(pieces)


@pytest.mark.parametrize("parts", [2, 3, 4, 5])
@pytest.mark.parametrize(("family", "lines"), STRIPS)
def test_shortening_agrees_with_shapely(family: str, lines: int, parts: int) -> None:
    """Back and forth: crease after crease at one end and the other, only what is not yet laid moves."""
    strip, pieces = _strip(family, lines)
    step = folding.shortened(strip.after, parts)
    area = sum(piece.area for piece in pieces)
    x0, _, x1, _ = _outline(pieces).bounds
    length = (x1 - x0) / parts
    laid: Pieces = []
    for i in range(1, parts):
        at = x1 - length if i % 2 else x1
        crease = ((at, 0.0), (at, 1.0)) if i % 2 else ((at, 1.0), (at, 0.0))
        stay, go = _parted(pieces, crease)
        laid += stay
        pieces = [_reflected(piece, crease) for piece in go]
    pieces += laid
    _compare(step.after, pieces, area, parts)
    assert step.after.length == pytest.approx(length, rel=1e-9)
    assert step.layers == _counted(pieces)


@pytest.mark.parametrize("lines", range(4, 17))
@pytest.mark.parametrize("family", ["flat polygon", "flat circular", "annular"])
def test_all_lines_come_together_on_the_cloth(family: str, lines: int) -> None:
    """At every step each line is there once and leaves the cloth inside its outline; at the end all in one place."""
    shape, ratio, pieces = _flat(family, lines)
    steps = folding.to_wedge(family, shape, lines, ratio)
    for step in steps:
        outline = _outline(_facets(step.after)).buffer(1e-9)
        numbers = sorted(number for _, group in step.after.lines for number in group)
        assert numbers == list(range(1, lines + 1))
        for (x, y), _ in step.after.lines:
            assert contains_xy(outline, x, y)
    assert len(steps[-1].after.lines) == 1
    (x, y), _ = steps[-1].after.lines[0]
    assert math.hypot(x, y) == pytest.approx(max(math.hypot(*c) for c in pieces[0].exterior.coords), rel=1e-9)


@pytest.mark.parametrize(
    ("family", "shape", "ratio", "tolerance"),
    [
        ("conical", canopy.conical(5, 1.2, 25.0), 1.0, 1e-12),
        (
            "hemispherical",
            canopy.hemispherical(10, 1.2),
            1.0,
            2e-3,
        ),  # each gore is drawn with 12 straight pieces a side
        ("semi-ellipsoid", canopy.semi_ellipsoid(5, 1.2, 0.6), 0.6, 2e-3),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_flaked_gores_hold_all_the_cloth(family: str, shape: canopy.Shape, ratio: float, tolerance: float) -> None:
    (step,) = folding.to_wedge(family, shape, shape.gores, ratio)
    pieces = _facets(step.after)
    assert _outline(pieces).area * shape.gores == pytest.approx(shape.nominal_area, rel=tolerance)
    assert _thickest(pieces) == 1
    assert {facet.layers for facet in step.after.facets} == {step.layers} == {shape.gores}
    strip = _narrowed(step, 0.06)
    whole = [piece for piece in pieces for _ in range(shape.gores)]
    for fold in strip:
        whole = _folded(whole, fold)
        _compare(fold.after, whole, step.after.area, fold.number)
        assert _thickest(whole) == fold.layers


@pytest.mark.parametrize("fill", [0.2, 0.5, 0.9])
def test_loose_cord_fills_its_share_of_the_tube(fill: float) -> None:
    """Its solid volume, spread over a ring between tube and post as high as the core says, is the share asked for."""
    section = (
        ShapelyPoint(0, 0).buffer(0.04, quad_segs=4096).difference(ShapelyPoint(0, 0).buffer(0.01, quad_segs=4096))
    )
    height = packing.loose_height(3e-4, packing.free_section(0.08, 0.02), fill)
    assert 3e-4 / (section.area * height) == pytest.approx(fill, rel=1e-6)  # circles drawn with 16,384 sides


# --- descent --------------------------------------------------------------------------------------


@pytest.mark.parametrize("count", [1, 2, 3, 4, 7, 16, 24, 48])
def test_gauss_legendre_agrees_with_numpy(count: int) -> None:
    nodes, weights = np.polynomial.legendre.leggauss(count)
    ours = sorted(descent.gauss_legendre(count))
    assert [x for x, _ in ours] == pytest.approx(list((nodes + 1) / 2), abs=1e-15)
    assert [w for _, w in ours] == pytest.approx(list(weights / 2), rel=1e-13)


def _theirs(top: float, elevation: float, air: Air, component: Callable[[float], float]) -> float:
    """Integral of component(z) sqrt(rho/rho0) from the ground up, z = s^4 to tame the power law at the ground."""
    ground = air.density(elevation)
    end = top**0.25
    return quad(
        lambda s: 4 * s**3 * component(s**4) * math.sqrt(air.density(elevation + s**4) / ground),
        0, end, limit=400, epsabs=0, epsrel=1e-10,
        points=[(11_019.067 - elevation) ** 0.25] if top + elevation > 11_019.067 > elevation else None,
    )[0]  # fmt: skip


_cases = random.Random(20)
FALLS = [
    (
        _cases.uniform(0, 2500),
        10 ** _cases.uniform(1.5, 4.1),
        _cases.uniform(-15, 25),
        _cases.uniform(2, 12),
        _cases.uniform(0.1, 0.4),
    )
    for _ in range(20)
]


@pytest.mark.parametrize(("elevation", "top", "warmer", "at_ten", "exponent"), FALLS)
def test_way_down_agrees_with_quadrature(
    elevation: float, top: float, warmer: float, at_ten: float, exponent: float
) -> None:
    """Quick density, and a sum of three points in each of 32 rows: a few parts in a million of the drift are left."""
    air = Air(warmer=warmer)
    table = descent.column(top, elevation, air, wind.power_wind(at_ten, exponent, 250.0))
    ours = descent.landing(table, [descent.Phase(top, 5.0)])
    time = _theirs(top, elevation, air, lambda z: 1.0) / 5
    drift = _theirs(top, elevation, air, lambda z: at_ten * (z / 10) ** exponent) / 5
    assert ours.time == pytest.approx(time, rel=1e-6)
    assert ours.distance == pytest.approx(drift, rel=4e-6)
    east, north = math.cos(math.radians(20)) * drift, math.sin(math.radians(20)) * drift  # towards 70 degrees
    assert ours.spot == pytest.approx((east, north), rel=4e-6)


@pytest.mark.parametrize(("elevation", "top", "warmer", "at_ten", "exponent"), FALLS)
def test_two_phases_agree_with_quadrature(
    elevation: float, top: float, warmer: float, at_ten: float, exponent: float
) -> None:
    """The second opening lies between rows of the table, which is read straight there: a part in 2000."""
    air, low = Air(warmer=warmer), top * 0.37
    table = descent.column(top, elevation, air, wind.power_wind(at_ten, exponent, 270.0))
    ours = descent.landing(table, [descent.Phase(top, 20.0), descent.Phase(low, 5.0)])

    def whole(component: Callable[[float], float]) -> float:
        lower = _theirs(low, elevation, air, component)
        return (_theirs(top, elevation, air, component) - lower) / 20 + lower / 5

    assert ours.time == pytest.approx(whole(lambda z: 1.0), rel=5e-4)
    assert ours.spot[0] == pytest.approx(whole(lambda z: at_ten * (z / 10) ** exponent), rel=5e-4)


@pytest.mark.parametrize("low", [100.0, 137.0, 450.0, 703.0, 980.0])
def test_a_thin_jet_is_not_missed(low: float) -> None:
    """Twenty metres of gale in still air, wherever it lies between the rows: scipy integrates it piece by piece."""
    layers = [(low - 1, 0.0), (low, 20.0), (low + 20, 20.0), (low + 21, 0.0)]
    air, jet = STANDARD, wind.layered_wind([wind.WindLayer(height, speed, 270.0) for height, speed in layers])
    table = descent.column(1000.0 * 1.05, 200.0, air, jet, [height for height, _ in layers])
    ours = descent.landing(table, [descent.Phase(1000.0, 5.0)])
    theirs = scipy.integrate.quad(
        lambda z: jet(z)[0] * math.sqrt(air.density(200 + z) / air.density(200)) / 5,
        0, min(1000, low + 21), points=[height for height, _ in layers if height < 1000], limit=200, epsabs=1e-9)[0]  # fmt: skip
    assert ours.spot[0] == pytest.approx(theirs, rel=1e-3 if low + 21 > 1000 else 1e-5)


def test_layered_wind_agrees_with_numpy() -> None:
    measured = ((10.0, 3.0, 270.0), (150.0, 6.0, 300.0), (600.0, 9.0, 10.0), (1200.0, 4.0, 80.0))
    layers = [wind.WindLayer(*row) for row in measured]
    blowing = wind.layered_wind(layers)
    heights = [10.0, 150.0, 600.0, 1200.0]
    east = [-s * math.sin(math.radians(b)) for s, b in ((3, 270), (6, 300), (9, 10), (4, 80))]
    north = [-s * math.cos(math.radians(b)) for s, b in ((3, 270), (6, 300), (9, 10), (4, 80))]
    for height in np.linspace(0, 1500, 61):
        theirs = float(np.interp(height, heights, east)), float(np.interp(height, heights, north))
        assert blowing(float(height)) == pytest.approx(theirs, abs=1e-12)


# --- opening and the full run -----------------------------------------------------------------------


@pytest.mark.parametrize("growth", [0.5, 1.0, 2.0, 3.0])
@pytest.mark.parametrize("ballistic", [0.013, 0.08, 0.4, 0.66, 0.67, 1.6, 30.0])
def test_opening_force_factor_agrees_with_ode(ballistic: float, growth: float) -> None:
    """dv/dtau = -tau^j v^2 / A, greatest tau^j v^2; the maximum of 20,001 points is good to a part in a million."""
    taus = np.linspace(0, 1, 20_001)
    run = solve_ivp(
        lambda tau, v: -(tau**growth) * v * v / ballistic, (0, 1), [1.0], t_eval=taus, rtol=1e-10, atol=1e-12
    )
    drag = taus**growth * run.y[0] ** 2
    assert opening.reduction_factor(ballistic, growth) == pytest.approx(drag.max(), rel=1e-6)
    assert opening.peak_moment(ballistic, growth) == pytest.approx(taus[drag.argmax()], abs=2e-3)


RUNS = [
    # mass, CdS, D0, n, height, speed at release, elevation, warmer
    (2.2, 1.2, 1.4, 8.0, 300.0, 5.0, 0.0, 0.0),
    (2.2, 1.2, 1.4, 8.0, 300.0, 22.0, 1200.0, 15.0),
    (10.0, 0.3, 0.7, 8.0, 1500.0, 30.0, 0.0, -10.0),
    (0.3, 0.5, 0.9, 11.7, 150.0, 12.0, 300.0, 5.0),
    (25.0, 6.0, 3.2, 8.0, 2500.0, 45.0, 700.0, 20.0),
]


@pytest.mark.parametrize("case", RUNS, ids=lambda case: f"{case[0]}kg-{case[5]}m/s")
def test_full_run_agrees_with_solve_ivp(case: tuple[float, ...]) -> None:
    """m dv/dt = m g - rho v^2 CdS(t)/2 by another integrator and the exact density: a part in a million.

    The peak is the greatest of 3000 instants there, good to a part in 10,000.
    """
    mass, area, diameter, constant, height, speed, elevation, warmer = case
    air = Air(warmer=warmer)
    path = constant * diameter
    filling = path / max(speed, (9.80665 * path / 2) ** 0.5)  # never longer than a free fall over n D0

    def drag_area(t: float) -> float:
        return area * min(1.0, t / filling) ** 2

    def slope(t: float, y: Sequence[float]) -> list[float]:
        drag = air.density(elevation + max(y[0], 0.0)) * y[1] * abs(y[1]) / 2 * drag_area(t)
        return [-y[1], scipy.constants.g - drag / mass]

    def ground(t: float, y: Sequence[float]) -> float:
        return y[0]

    ground.terminal = True  # type: ignore[attr-defined]
    theirs = solve_ivp(
        slope, (0, 5000), [height, speed], events=ground, rtol=1e-9, atol=1e-9, max_step=0.2, dense_output=True
    )
    main = motion.Opening("main", height, area, diameter, constant)
    ours = motion.run(mass, (main,), speed, elevation, air)
    assert ours.touchdown.time == pytest.approx(theirs.t_events[0][0], rel=1e-6)
    assert ours.touchdown.speed == pytest.approx(theirs.y_events[0][0][1], rel=1e-6)
    times = np.linspace(0, min(3 * filling, theirs.t_events[0][0]), 3000)
    heights, speeds = theirs.sol(times)
    drags = [
        air.density(elevation + max(z, 0.0)) * v * v / 2 * drag_area(t)
        for t, z, v in zip(times, heights, speeds, strict=True)
    ]
    (found,) = ours.fillings
    assert found.duration == pytest.approx(filling, rel=1e-12)
    assert found.peak.drag == pytest.approx(max(drags), rel=1e-4)
    for instant in ours.instants[1 :: max(1, len(ours.instants) // 20)]:
        z, v = theirs.sol(min(instant.time, theirs.t_events[0][0]))
        assert instant.height == pytest.approx(z, abs=1e-6 * height)
        assert instant.speed == pytest.approx(v, rel=1e-6)


def test_two_stage_run_agrees_with_solve_ivp() -> None:
    """A drogue, then a main canopy at 200 m above the field: times of both and the second peak."""
    air, mass, elevation = STANDARD, 5.0, 400.0
    drogue = motion.Opening("drogue", 1000.0, 0.12, 0.45, 8.0)
    main = motion.Opening("main", 200.0, 1.6, 1.6, 8.0)
    ours = motion.run(mass, (drogue, main), 10.0, elevation, air)

    def stage(start: float, top: float, v: float, low: float, before: float, canopy_: motion.Opening) -> tuple:
        filling = canopy_.filling_constant * canopy_.diameter / v

        def area(t: float) -> float:
            return before + canopy_.drag_area * min(1.0, (t - start) / filling) ** 2

        def slope(t: float, y: Sequence[float]) -> list[float]:
            drag = air.density(elevation + max(y[0], -1.0)) * y[1] * abs(y[1]) / 2 * area(t)
            return [-y[1], scipy.constants.g - drag / mass]

        def event(t: float, y: Sequence[float]) -> float:
            return y[0] - low

        event.terminal = True  # type: ignore[attr-defined]
        run = solve_ivp(
            slope, (start, start + 500), [top, v], events=event, rtol=1e-9, atol=1e-9, max_step=0.2, dense_output=True
        )
        times = np.linspace(start, min(start + 2 * filling, run.t[-1]), 3000)
        drags = [
            air.density(elevation + z) * s * s / 2 * area(t) for t, (z, s) in zip(times, run.sol(times).T, strict=True)
        ]
        return run.t_events[0][0], run.y_events[0][0][1], max(drags)

    t1, v1, _ = stage(0.0, 1000.0, 10.0, 200.0, 0.0, drogue)
    t2, v2, peak = stage(t1, 200.0, v1, 0.0, 0.12, main)
    assert ours.fillings[1].opened.time == pytest.approx(t1, rel=1e-6)
    assert ours.fillings[1].opened.speed == pytest.approx(v1, rel=1e-6)
    assert ours.touchdown.time == pytest.approx(t2, rel=1e-6)
    assert ours.touchdown.speed == pytest.approx(v2, rel=1e-6)
    assert ours.fillings[1].peak.drag == pytest.approx(peak, rel=1e-4)


BARE = [
    # mass, drag area of the body, top, first opening, speed at the top, elevation
    (5.0, 0.02, 1500.0, 200.0, 0.0, 100.0),
    (1.2, 0.06, 600.0, 150.0, 12.0, 1200.0),
    (9.0, 0.11, 9000.0, 300.0, 30.0, 0.0),
]


@pytest.mark.parametrize("case", BARE, ids=lambda case: f"{case[0]}kg-{case[2]}m")
def test_fall_without_a_canopy_agrees_with_solve_ivp(case: tuple[float, ...]) -> None:
    """From the top to the first opening with the body's own drag area; from there the run is as without the fall."""
    mass, bare, top, low, speed, elevation = case

    def slope(t: float, y: Sequence[float]) -> list[float]:
        return [-y[1], scipy.constants.g - STANDARD.density(elevation + y[0]) * y[1] * abs(y[1]) / 2 * bare / mass]

    def opens(t: float, y: Sequence[float]) -> float:
        return y[0] - low

    opens.terminal = True  # type: ignore[attr-defined]
    theirs = solve_ivp(
        slope, (0, 5000), [top, speed], events=opens, rtol=1e-9, atol=1e-9, max_step=0.2, dense_output=True
    )
    main = motion.Opening("main", low, 1.6, 1.6, 8.0)
    ours = motion.run(mass, (main,), speed, elevation, STANDARD, top=top, bare=bare)
    (found,) = ours.fillings
    assert found.opened.time == pytest.approx(theirs.t_events[0][0], rel=1e-6)
    assert found.opened.speed == pytest.approx(theirs.y_events[0][0][1], rel=1e-6)
    before = [instant for instant in ours.instants if instant.time < found.opened.time]
    assert before[0] == motion.Instant(0.0, top, speed, before[0].drag)
    for instant in before:
        z, v = theirs.sol(instant.time)
        drag = STANDARD.density(elevation + z) * v * v / 2 * bare
        assert instant.height == pytest.approx(z, abs=1e-6 * top)
        assert instant.speed == pytest.approx(v, rel=1e-6)
        assert instant.drag == pytest.approx(drag, rel=2e-5, abs=1e-9)  # quick density is good to a part in 100,000
    heights = [instant.height for instant in before]
    assert max(a - b for a, b in zip(heights, [*heights[1:], low], strict=True)) <= (top - low) / 16 * (1 + 1e-9)
    after = motion.run(mass, (main,), found.opened.speed, elevation, STANDARD)
    assert after.fillings[0].peak.drag == pytest.approx(found.peak.drag, rel=1e-9)
    assert after.touchdown.time + found.opened.time == pytest.approx(ours.touchdown.time, rel=1e-9)


def test_free_fall_is_that_of_any_mechanics_text() -> None:
    main = motion.Opening("main", 250.0, 1.6, 1.6, 8.0)
    (found,) = motion.run(3.0, (main,), 7.0, 0.0, STANDARD, top=900.0).fillings
    speed = math.sqrt(7.0**2 + 2 * scipy.constants.g * 650.0)
    assert found.opened.speed == pytest.approx(speed, rel=1e-9)
    assert found.opened.time == pytest.approx((speed - 7.0) / scipy.constants.g, rel=1e-9)


def test_a_run_that_begins_at_the_first_opening_has_no_fall() -> None:
    main = motion.Opening("main", 250.0, 1.6, 1.6, 8.0)
    plain = motion.run(3.0, (main,), 7.0, 0.0, STANDARD)
    assert motion.run(3.0, (main,), 7.0, 0.0, STANDARD, top=250.0, bare=0.05) == plain


@pytest.mark.parametrize(
    ("openings", "top", "bare"),
    [((), None, 0.0), ((motion.Opening("main", 250.0, 1.6, 1.6, 8.0),), 249.0, 0.0),
     ((motion.Opening("main", 250.0, 1.6, 1.6, 8.0),), 300.0, -0.01)],
)  # fmt: skip
def test_a_run_that_makes_no_sense_is_refused(
    openings: tuple[motion.Opening, ...], top: float | None, bare: float
) -> None:
    with pytest.raises(ValueError, match=r"opening|drag area"):
        motion.run(3.0, openings, 7.0, 0.0, STANDARD, top=top, bare=bare)


# --- airframe -------------------------------------------------------------------------------------

CYLINDERS = [(0.3, 0.3), (0.6, 0.054), (1.4, 0.1), (0.1, 0.5)]


@pytest.mark.parametrize(("length", "diameter"), CYLINDERS)
def test_mean_projected_area_agrees_with_quadrature(length: float, diameter: float) -> None:
    """The shadow of a cylinder at t from its axis, over the sphere of directions (weight sin t)."""
    ends = math.pi * diameter * diameter / 4
    theirs = quad(
        lambda t: (length * diameter * math.sin(t) + ends * math.cos(t)) * math.sin(t), 0, math.pi / 2, epsabs=1e-14
    )[0]
    assert airframe.mean_projected_area(length, diameter) == pytest.approx(theirs, rel=1e-12)
    assert airframe.tumbling_drag_area(length, diameter, 0.6) == pytest.approx(0.6 * theirs, rel=1e-12)


def test_share_of_drag_when_slanted_agrees_with_quadrature() -> None:
    """Drag with the cube of the sine over shadow with the sine, both over the sphere; a thin cylinder's ends left out."""
    cubes = quad(lambda t: math.sin(t) ** 3 * math.sin(t), 0, math.pi / 2)[0]
    shadows = quad(lambda t: math.sin(t) * math.sin(t), 0, math.pi / 2)[0]
    assert pytest.approx(cubes / shadows, rel=1e-12) == airframe.SLANTED


@pytest.mark.parametrize("attitude", ["broadside", "tumbling"])
@pytest.mark.parametrize("diameter", [0.038, 0.054, 0.1, 0.2])
def test_bare_drag_area_counts_every_part(attitude: airframe.Attitude, diameter: float) -> None:
    """Two halves of a tube weigh and fall as the whole, but for the two ends that a tumbling part shows more."""
    whole = airframe.bare_drag_area([(1.2, diameter)], attitude, 2.0, 1.2)
    halves = airframe.bare_drag_area([(0.5, diameter), (0.7, diameter)], attitude, 2.0, 1.2)
    assert 0 < whole.low < whole.best < whole.high
    more = 0.0 if attitude == "broadside" else airframe.ACROSS.best * airframe.SLANTED * math.pi * diameter**2 / 8
    assert halves.best == pytest.approx(whole.best + more, rel=1e-12)


def test_low_drag_is_past_the_crisis_for_a_wide_fast_part_only() -> None:
    narrow = airframe.bare_drag_area([(1.2, 0.054)], "broadside", 1.0, 1.2)
    wide = airframe.bare_drag_area([(1.8, 0.15)], "broadside", 12.0, 1.2)
    assert narrow.low == pytest.approx(0.6 * 1.2 * 0.054, rel=1e-12)
    assert wide.low == pytest.approx(0.3 * 1.8 * 0.15, rel=1e-12)


def test_reynolds_number_agrees_with_fluids() -> None:
    """The viscosity is one round value; that of standard air at sea level is within a per cent."""
    theirs = ATMOSPHERE_1976(0.0)
    assert airframe.reynolds(30.0, 0.1, theirs.rho) == pytest.approx(theirs.rho * 3.0 / theirs.mu, rel=0.01)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: airframe.broadside_drag_area(0.0, 0.1, 0.75),
        lambda: airframe.tumbling_drag_area(1.0, -0.1, 0.75),
        lambda: airframe.tumbling_drag_area(1.0, 0.1, math.nan),
        lambda: airframe.bare_drag_area([], "broadside", 1.0, 1.2),
        lambda: airframe.bare_drag_area([(1.0, 0.1)], "broadside", 0.0, 1.2),
        lambda: airframe.port_diameter(0.0, 3),
        lambda: airframe.port_diameter(1e-3, 0),
        lambda: canopy.across_flats(1.0, 7),
        lambda: canopy.across_flats(1.0, 2),
    ],
)
def test_what_is_no_airframe_and_no_canopy_is_refused(wrong: Callable[[], object]) -> None:
    with pytest.raises(ValueError, match=r"above zero|no parts|at least one port|even number"):
        wrong()


@pytest.mark.parametrize("count", [1, 3, 4])
@pytest.mark.parametrize("litres", [0.2, 1.0, 3.5])
def test_ports_have_the_area_the_rule_gives(litres: float, count: int) -> None:
    inch = scipy.constants.inch
    wanted = math.pi * (inch / 4) ** 2 / 4 * litres * scipy.constants.liter / (100 * inch**3)
    assert count * math.pi * airframe.port_diameter(litres / 1000, count) ** 2 / 4 == pytest.approx(wanted, rel=1e-12)


def test_ports_of_a_litre() -> None:
    assert airframe.port_diameter(1e-3, 3) == pytest.approx(2.9e-3, abs=0.05e-3)


def test_nose_first_is_between_a_streamlined_body_and_a_flat_disc() -> None:
    """0.05 to 0.1 on the frontal area of a teardrop, about 1.15 of a disc across the flow (any text on fluid dynamics)."""
    found = airframe.nose_first_drag_area(0.1)
    frontal = math.pi * 0.1**2 / 4
    assert 0.1 * frontal < found.low < found.best < found.high < 1.15 * frontal
    assert airframe.nose_first_drag_area(0.2).best == pytest.approx(4 * found.best, rel=1e-12)
    with pytest.raises(ValueError, match="diameter"):
        airframe.nose_first_drag_area(0.0)


def test_a_whole_rocket_falls_much_faster_nose_first_than_broadside() -> None:
    """A 1.5 kg, 54 mm model: it comes in at 80 to 140 m/s (common practice, no source), several times the rate across."""
    rates = airframe.nose_first_drag_area(0.054).map(lambda area: math.sqrt(2 * 1.5 * 9.80665 / (1.225 * area)))
    assert 80 < rates.best < 180
    across = airframe.bare_drag_area([(1.2, 0.054)], "broadside", 1.5, 1.225)
    assert airframe.nose_first_drag_area(0.054).high < across.low / 3


# --- scatter --------------------------------------------------------------------------------------


def test_ellipse_agrees_with_numpy() -> None:
    """Centre and axes of the landings: mean, and eigenvectors of the covariance times chi-squared for nine in ten."""
    table = descent.column(660.0, 100.0, STANDARD, wind.power_wind(5.0, 1 / 7, 235.0))
    spreads = scatter.Spreads(((0.95, 1.02), (0.9, 1.15)), 0.05, 0.3, 0.1, 20.0, 1.0)
    phases = (descent.Phase(600.0, 18.0), descent.Phase(150.0, 5.0))
    found = scatter.scattered(table, phases, spreads, 4000)
    spots = np.array(found.spots)
    assert found.ellipse.east == pytest.approx(spots[:, 0].mean(), rel=1e-9)
    assert found.ellipse.north == pytest.approx(spots[:, 1].mean(), rel=1e-9)
    values, vectors = np.linalg.eigh(np.cov(spots.T, bias=True))
    size = math.sqrt(scipy.stats.chi2.ppf(0.9, 2))
    assert found.ellipse.long == pytest.approx(size * math.sqrt(values[1]), rel=1e-9)
    assert found.ellipse.short == pytest.approx(size * math.sqrt(values[0]), rel=1e-9)
    assert abs(np.dot(vectors[:, 1], found.ellipse.axis)) == pytest.approx(1, rel=1e-9)
    assert found.farthest == pytest.approx(np.hypot(*spots.T).max(), rel=1e-12)
