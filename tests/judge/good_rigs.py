"""Plainly good rigs: rockets as an experienced flyer builds, packs and flies them, every way down, family and tube.

Written down before the checks of the whole flight were made harder, and judged by nobody but the trade: not more than
one in twenty of them may fail a check. Each is a few choices; what follows from them by rules of thumb (a canopy for the
mass, cords of about four rocket lengths, a charge for the volume, a bay with room to spare) is worked out here, with
no help from the core, and written as a reader would type it.
"""

from dataclasses import dataclass, field
from math import ceil, cos, pi, radians, tan

ONE_CANOPY = "one canopy at the top"
TWO_BAYS = "drogue, then main from a second bay"
TWO_PARTS = "two parts apart, each under its own"
NO_DROGUE = "no drogue: parts fall until the main opens"
HELD = "main held shut until low, from one bay"
ONE_BAY = "drogue and main from one bay"

POLYGON, CIRCLE, CONE, HALF_BALL = "flat polygon", "flat circular", "conical", "hemispherical"
DOME, CROSS, RING, MINE = "semi-ellipsoid", "cross", "annular", "measured by me"
POWDER, MOTOR = "own black powder", "the motor's own charge"

# Middle drag coefficient of a family, and its area over the square of its size (cone of 25 deg, dome of 0.707, panels of
# a third, hole of half): what a flyer keeps on a slip of paper.
DRAG = {POLYGON: 0.77, CIRCLE: 0.77, CONE: 0.82, HALF_BALL: 0.7, DOME: 0.75, CROSS: 0.72, RING: 0.9}
PLAN = {
    POLYGON: 2 * tan(pi / 8),
    CIRCLE: pi / 4,
    CONE: pi / 4 / cos(radians(25)),
    HALF_BALL: pi / 2,
    DOME: pi / 4 * 1.623,
    CROSS: 2 / 3 - 1 / 9,
    RING: pi / 4 * 0.75,
}
AIR = 1.19  # kg/m^3, a field on an ordinary day
GAS = 219_000.0  # J/kg of black powder: half a gram a litre makes a little more than 100 kPa
RIPSTOP, TIGHT = "ripstop nylon 1.1 oz (MIL-C-7020 type I)", "low-permeability nylon 1.17 oz (MIL-C-44378 type I)"

# Lines: name, thickness [mm], [g/m]. Cords: name, end, width, thickness [mm]. By how heavy the rocket is; between tail and
# middle a softer one is tied, so that the main's pins feel less of it.
LINES = {
    "light": ("nylon cord type I (MIL-C-5040)", 1.6, 1.6),
    "middle": ("nylon cord type II (MIL-C-5040)", 2.5, 3.5),
    "strong": ("nylon cord type III (MIL-C-5040)", 3.2, 6.0),
}
CORDS = {
    "light": ("nylon cord type III (MIL-C-5040)", "figure-eight loop", 4.0, 4.0),
    "soft": ("nylon cord type IV (MIL-C-5040)", "figure-eight loop", 5.0, 5.0),
    "middle": ("tubular nylon webbing 9/16 in (MIL-W-5625)", "bowline", 14.0, 2.5),
    "firm": ("tubular nylon webbing 3/4 in (MIL-W-5625)", "stitched, zigzag", 19.0, 2.7),
    "strong": ("tubular nylon webbing 1 in (MIL-W-5625)", "stitched, zigzag", 25.0, 3.0),
}


@dataclass(frozen=True)
class Built:
    """What the flyer chose. tube, length, depth in metres, mass in kilograms, heights in metres, rates in m/s.

    parts: shares of the mass that are nose and middle section; pins: number and thread of the joint that must hold
    itself shut; more: anything said in words of its own.
    """

    name: str
    way: str
    tube: float
    mass: float
    length: float
    family: str
    top: float
    other: str = CIRCLE  # the drogue, or the canopy of the forward part
    parts: tuple[float, float] = (0.13, 0.36)
    rate: float = 5.1
    fast: float = 19.0
    kind: str = POWDER
    pins: int = 2
    pin: str = "M2 × 0.4"
    main_height: float = 250.0
    delay: float = 6.0  # s, of a motor
    wind: float = 3.5
    more: dict[str, str] = field(default_factory=dict)

    @property
    def size(self) -> str:
        """Which lines and cords it takes."""
        return "light" if self.mass < 2 else "middle" if self.mass < 9 else "strong"

    @property
    def nose(self) -> float:
        """[kg]."""
        return self.parts[0] * self.mass


def millimetres(length: float) -> str:
    return f"{1000 * length:.0f} mm"


def canopy_for(mass: float, rate: float, family: str) -> tuple[float, float]:
    """Size [m] and area [m^2] of a canopy that brings a mass [kg] down at a rate [m/s], in whole steps up."""
    wanted = 2 * mass * 9.80665 / (AIR * DRAG.get(family, 0.8) * rate**2)
    size = (wanted / PLAN.get(family, pi / 4)) ** 0.5
    step = 0.02 if size < 0.5 else 0.05
    size = ceil(size / step - 0.2) * step
    return size, PLAN.get(family, pi / 4) * size**2


def canopy(key: str, built: Built, mass: float, rate: float, family: str) -> dict[str, str]:
    """A canopy, its lines and how it is packed."""
    size, area = canopy_for(mass, rate, family)
    drogue = key == "drogue"
    line, thick, heavy = LINES["light" if drogue and built.size != "strong" else "middle" if drogue else built.size]
    texts = {
        "canopy.family": family,
        "canopy.sides": "8" if size < 2.6 or family == CROSS else "12",
        "canopy.rate": f"{rate} m/s",
        "canopy.cloth": TIGHT if size < 0.7 else RIPSTOP,
        "canopy.vent": "0 %" if size < 0.7 else "10 %",
        "canopy.seam": "10 mm",
        "lines.length": f"{1.1 * size:.2f} m",
        "lines.material": line,
        "lines.diameter": f"{thick} mm",
        "lines.mass": f"{heavy} g/m",
        "pack.density": "0.2 g/cm³",
        "pack.line_turns": "1",
        "pack.below": "50 %",
        "cord.link": {"light": "4 kN", "middle": "8 kN", "strong": "20 kN"}[built.size],
        "cord.swivel": "2.5 kN" if built.size == "light" else "6.7 kN" if built.mass < 2.5 else "13 kN",
    }
    if family == MINE:
        texts |= {"canopy.area": f"{area:.3f} m²", "canopy.cd_low": "0.76", "canopy.cd_high": "0.84"}
    else:
        texts["canopy.size"] = millimetres(size)
    return {f"{key}.{path}": text for path, text in texts.items()}


def bulk_of(texts: dict[str, str], key: str, area: float) -> tuple[float, float]:
    """Volumes [m^3] of a loosely folded canopy of that area [m^2], and of its lines and cord as they lie flat."""
    sides, length = int(texts[f"{key}.canopy.sides"]), _number(texts[f"{key}.lines.length"])
    thick = _number(texts[f"{key}.lines.diameter"]) / 1000
    cord = (_number(texts[f"{key}.cord.length"]) + _number(texts.get(f"{key}.cord.gap", "0 m"))) * (
        _number(texts[f"{key}.cord.width"]) * _number(texts[f"{key}.cord.thickness"]) / 1e6
    )
    return area * 0.047 / 200, sides * length * pi / 4 * thick**2 + cord


def _number(text: str) -> float:
    return float(text.split()[0])


def cord(key: str, built: Built, length: float, gap: float = 0.0, layout: str = "") -> dict[str, str]:
    """A cord and what it is tied to, all of it stronger than it needs to be."""
    soft = {"light": "light", "middle": "soft", "strong": "firm"} if key == "drogue" else {}
    material, end, width, thick = CORDS[soft.get(built.size, built.size)]
    anchor = {"light": "1.8 kN", "middle": "6 kN", "strong": "16 kN"}[built.size]
    texts = {
        "cord.material": material,
        "cord.end": end,
        "cord.width": f"{width} mm",
        "cord.thickness": f"{thick} mm",
        "cord.length": f"{length:.1f} m",
        "cord.anchor": anchor,
    }
    if layout:
        texts |= {"cord.layout": layout, "cord.nose_anchor": anchor}
    if gap:
        texts["cord.gap"] = f"{gap:.1f} m"
    return {f"{key}.{path}": text for path, text in texts.items()}


def bay(key: str, built: Built, bundles: float, loose: float, device: float = 0.0) -> dict[str, str]:
    """A bay with room to spare, its joint, and the charge that was tested for it."""
    section = pi / 4 * built.tube**2
    shoulder, protector = 1.15 * built.tube, 0.04
    filled = protector + device + loose / (section * 0.5) + 1.8 * bundles / (section * 0.75) + 0.4 * min(built.tube, 0.1)
    depth = ceil((shoulder + filled) / 0.78 / 0.02) * 0.02
    small = built.tube < 0.07
    volume = section * (depth - shoulder) - 1.2 * bundles / 2 - loose
    texts = {
        "bay.tube": millimetres(built.tube),
        "bay.depth": millimetres(depth),
        "bay.shoulder": millimetres(shoulder),
        "pack.protector_depth": millimetres(protector),
        "pack.layout": "above the canopy" if key == "drogue" else "below the canopy",
        "joint.friction": f"{20 + 250 * built.tube:.0f} N",
        "joint.vent": "2.5 mm" if small else "3.5 mm",
        "cord.bulkhead": {"light": "3 kN", "middle": "6 kN", "strong": "16 kN"}[built.size],
        "charge.kind": built.kind,
    }
    pins = 0 if built.kind != POWDER else built.pins if key == "main" else 2
    texts |= {"joint.pins": str(pins), "joint.pin": built.pin}
    if built.kind == MOTOR:
        return {f"{key}.{path}": text for path, text in (texts | {"charge.delay": f"{built.delay:g} s"}).items()}
    tested = wanted_pressure(built, pins) * volume / GAS
    texts |= {
        "charge.tested": f"{1000 * tested:.2f} g",
        "charge.repeats": "2" if small else "3",
        "charge.test_date": "two weeks before the launch",
        "charge.test_pins": str(pins),
        "charge.backup": "a second charge",
        "charge.backup_mass": f"{1000 * (1.25 if small else 1.33) * tested:.2f} g",
        "charge.backup_later": "1.5 s",
    }
    return {f"{key}.{path}": text for path, text in texts.items()}


def wanted_pressure(built: Built, pins: int) -> float:
    """What parts the joint with authority [Pa]: by the size of the tube, or more where its pins want it."""
    usual = 90e3 if built.tube < 0.06 else 75e3 if built.tube < 0.08 else 62e3 if built.tube < 0.12 else 50e3 if built.tube < 0.18 else 40e3
    shear = {"M2 × 0.4": 155.0, "UNC #2-56": 173.0, "UNC #4-40": 278.0, "M3 × 0.5": 330.0}[built.pin]
    margin = 1.05 if built.tube < 0.07 else 1.25 if built.tube < 0.08 else 1.5  # the small ones are tested nearer to what shears
    return max(usual, margin * (pins * shear + 20 + 250 * built.tube) / (pi / 4 * built.tube**2))


def texts_of(built: Built) -> dict[str, str]:
    """The whole rig as path -> text."""
    low = built.way in (TWO_BAYS, NO_DROGUE, HELD, ONE_BAY)
    units = 2 if built.kind == POWDER else 1 if low else 0
    edge = f"{max(500.0, 1.6 * built.top if not low else 1.3 * built.top + 400):.0f} m"
    texts = {
        "rig.name": built.name,
        "rig.start": "two bays, 98 mm" if built.way in (TWO_BAYS, NO_DROGUE) else "one bay, 75 mm",
        "flight.way": built.way,
        "rocket.mass": f"{built.mass:g} kg",
        "rocket.length": f"{built.length:g} m",
        "rocket.diameter": millimetres(1.04 * built.tube),
        "nose.mass": f"{built.nose:.3f} kg",
        "nose.length": millimetres(max(0.18 * built.length, 3 * built.tube)),
        "flight.apogee": f"{built.top:.0f} m",
        "flight.climb": f"{1.3 * (2 * 9.81 * built.top) ** 0.5:.0f} m/s",
        "flight.wind": f"{built.wind:g} m/s",
        "flight.forward_speed": "8 m/s",
        "flight.delay": "1 s" if built.kind == POWDER else f"{max(1.5, 0.2 * built.delay):g} s",
        "electronics.units": str(units),
        "electronics.batteries": str(units),
        "electronics.switches": str(units),
        "electronics.volume": f"{1e6 * pi / 4 * built.tube**2 * 0.2:.0f} cm³",
    } | {f"site.{side}": edge for side in ("north", "east", "south", "west")}
    if low:
        texts["flight.main_height"] = f"{built.main_height:.0f} m"
    if built.way in (TWO_BAYS, NO_DROGUE):
        middle = {"middle.mass": f"{built.parts[1] * built.mass:.3f} kg", "middle.length": millimetres(0.3 * built.length)}
        texts |= middle | two_bays(built)
    elif built.way == TWO_PARTS:
        texts |= two_parts(built)
    else:
        texts |= one_bay(built)
    return texts | built.more


def two_bays(built: Built) -> dict[str, str]:
    """The tail's bay opens at the top, the nose's low down."""
    mass, long = built.mass, built.length
    texts = canopy("main", built, mass, built.rate, built.family)
    texts |= cord("main", built, 4 * long, 1.3 * long, "nose part-way along")
    texts |= cord("drogue", built, 3.3 * long, 1.4 * long, "two sections, two legs")
    texts |= {"main.charge.backup_height": f"{built.main_height - 50:.0f} m"}
    bundle, loose = bulk_of(texts, "main", canopy_for(mass, built.rate, built.family)[1])
    texts |= bay("main", built, bundle, loose)
    if built.way == TWO_BAYS:
        texts |= canopy("drogue", built, mass, built.fast, built.other)
        bundle, loose = bulk_of(texts, "drogue", canopy_for(mass, built.fast, built.other)[1])
    else:
        width, thick = (_number(texts[f"drogue.cord.{path}"]) / 1000 for path in ("width", "thickness"))
        bundle, loose = 0.0, 4.7 * long * width * thick
    texts |= bay("drogue", built, bundle, loose)
    return texts


def one_bay(built: Built) -> dict[str, str]:
    """One joint; where it opens high and the main low, a device holds the main shut."""
    texts = canopy("main", built, built.mass, built.rate, built.family)
    texts |= cord("main", built, 4 * built.length, 1.2 * built.length, "nose part-way along")
    bundle, loose = bulk_of(texts, "main", canopy_for(built.mass, built.rate, built.family)[1])
    device = 0.0 if built.way == ONE_CANOPY else 0.07
    if device:
        strong = {"light": "1.2 kN", "middle": "4 kN", "strong": "9 kN"}[built.size]
        texts |= {"main.pack.device": millimetres(device), "main.cord.device": strong}
    if built.way == ONE_BAY:
        texts |= canopy("drogue", built, built.mass, built.fast, built.other)
        area = canopy_for(built.mass, built.fast, built.other)[1]
        return with_guest(texts, "drogue", built, area, (bundle, loose, device))
    return texts | bay("main", built, bundle, loose, device)


def with_guest(
    texts: dict[str, str], key: str, built: Built, area: float, own: tuple[float, float, float]
) -> dict[str, str]:
    """The bay of the main with a second canopy of that area [m^2] in it, its cord long enough for the bay it comes out of."""
    bundle, loose, device = own
    length = 1.5
    for _ in range(6):
        texts = texts | cord(key, built, length)
        more, lines = bulk_of(texts, key, area)
        texts = texts | bay("main", built, bundle + 1.5 * more + 0.03 * pi / 4 * built.tube**2, loose + lines, device)
        length = _number(texts[f"{key}.lines.length"]) + 2 * _number(texts["main.bay.depth"]) / 1000 + 0.8
    return texts


def two_parts(built: Built) -> dict[str, str]:
    """Nose and tail come down by themselves; both canopies lie in one bay."""
    fore, aft = built.nose, built.mass - built.nose
    texts = canopy("main", built, aft, built.rate, built.family) | canopy("forward", built, fore, built.rate, built.other)
    texts |= cord("main", built, 2.4 * built.length)
    bundle, loose = bulk_of(texts, "main", canopy_for(aft, built.rate, built.family)[1])
    area = canopy_for(fore, built.rate, built.other)[1]
    return with_guest(texts, "forward", built, area, (bundle, loose, 0.0))


_BUILT = (
    # --- one canopy at the top ---
    Built("Slim trainer, 38 mm", ONE_CANOPY, 0.038, 0.32, 0.95, POLYGON, 250, kind=MOTOR, delay=5, wind=2),
    Built("School club's workhorse", ONE_CANOPY, 0.054, 0.75, 1.25, CIRCLE, 300, kind=MOTOR, delay=6, wind=3),
    Built("Short fat one for small fields", ONE_CANOPY, 0.066, 0.85, 1.1, CROSS, 220, kind=MOTOR, delay=5, wind=2.5),
    Built("First certification, 75 mm", ONE_CANOPY, 0.075, 1.5, 1.6, HALF_BALL, 350, kind=MOTOR, delay=7, wind=3),
    Built("First certification, 98 mm", ONE_CANOPY, 0.098, 2.4, 1.7, CONE, 320, kind=MOTOR, delay=6, wind=3.5),
    Built("Sunday heron, altimeter at the top", ONE_CANOPY, 0.075, 2.0, 1.8, DOME, 400, pins=2, wind=3),
    Built("Wide drum with a ring", ONE_CANOPY, 0.15, 5.5, 1.9, RING, 280, parts=(0.2, 0.3), pins=3, wind=2.5),
    Built("Pinned four inch, one bay", ONE_CANOPY, 0.102, 3.6, 2.0, POLYGON, 380, pins=2, wind=3,
          more={"main.bay.tube": "4 in"}),
    Built("Own canopy, timed over the meadow", ONE_CANOPY, 0.066, 1.1, 1.4, MINE, 300, kind=MOTOR, delay=6, wind=3),
    # --- drogue, then main from a second bay ---
    Built("Moorhen, slim two-bay", TWO_BAYS, 0.054, 1.9, 2.1, POLYGON, 1200, pins=2, wind=3.5),
    Built("Three inch for the lake bed", TWO_BAYS, 0.075, 3.4, 2.2, CIRCLE, 1500, CROSS, pins=2, wind=3),
    Built("Four inch, the usual way", TWO_BAYS, 0.098, 5.2, 2.5, DOME, 1300, CIRCLE, pins=3, wind=4),
    Built("Four inch, nylon screws in threes", TWO_BAYS, 0.102, 6.4, 2.6, POLYGON, 1600, CIRCLE, pins=3, wind=3,
          more={"site.elevation": "900 m", "site.warmer": "8 °C"}),
    Built("Six inch for certification", TWO_BAYS, 0.15, 11.5, 2.9, CONE, 1100, CROSS, rate=4.9, pins=4, pin="UNC #4-40",
          wind=3),
    Built("Eight inch slow mover", TWO_BAYS, 0.2, 10.0, 2.9, HALF_BALL, 800, CIRCLE, rate=4.8, pins=4, pin="UNC #4-40",
          parts=(0.12, 0.38), main_height=300, wind=3),
    Built("Ring over cross, 98 mm", TWO_BAYS, 0.098, 4.6, 2.3, RING, 1400, CROSS, pins=3, wind=3.5),
    Built("Cross main, cross drogue", TWO_BAYS, 0.098, 4.2, 2.4, CROSS, 1000, CROSS, pins=3, wind=4.5),
    Built("Measured main over the plain", TWO_BAYS, 0.075, 3.0, 2.1, MINE, 1100, MINE, pins=2, wind=3),
    Built("Sandhill, cold morning", TWO_BAYS, 0.102, 5.8, 2.5, CONE, 1200, CONE, pins=3, wind=3,
          more={"site.warmer": "-15 °C", "site.elevation": "40 m"}),
    # --- two parts apart ---
    Built("Payload apart, 66 mm", TWO_PARTS, 0.066, 1.1, 1.5, POLYGON, 260, POLYGON, (0.35, 0.3), kind=MOTOR, wind=2.5),
    Built("Egg and ship by themselves", TWO_PARTS, 0.075, 1.4, 1.6, CIRCLE, 280, CIRCLE, (0.4, 0.3), kind=MOTOR, wind=3),
    Built("Camera nose apart, 98 mm", TWO_PARTS, 0.098, 3.0, 2.0, CONE, 330, HALF_BALL, (0.35, 0.3), pins=2, wind=3),
    Built("Two domes, 75 mm", TWO_PARTS, 0.075, 1.8, 1.8, DOME, 350, DOME, (0.4, 0.3), pins=2, wind=3),
    Built("Crosses apart, 54 mm", TWO_PARTS, 0.054, 0.7, 1.3, CROSS, 250, CROSS, (0.4, 0.3), kind=MOTOR, delay=5, wind=2),
    Built("Six inch with a science nose", TWO_PARTS, 0.15, 7.0, 2.3, RING, 320, POLYGON, (0.42, 0.3), pins=3, wind=2.5),
    Built("Half balls apart, 102 mm", TWO_PARTS, 0.102, 3.4, 1.9, HALF_BALL, 300, CIRCLE, (0.38, 0.3), pins=2, wind=3),
    # --- no drogue ---
    Built("Feather two-bay, tumbling", NO_DROGUE, 0.054, 1.0, 1.7, CIRCLE, 500, wind=3, parts=(0.16, 0.38)),
    Built("Light three inch, tumbling", NO_DROGUE, 0.075, 1.9, 2.3, POLYGON, 700, wind=3.5, parts=(0.15, 0.4)),
    Built("Drogueless four inch, timed", NO_DROGUE, 0.098, 3.8, 2.5, CONE, 900, wind=3,
          more={"flight.fall": "timed by me", "flight.fall_low": "19 m/s", "flight.fall_high": "26 m/s"}),
    Built("Drogueless cross, broadside", NO_DROGUE, 0.075, 1.7, 2.2, CROSS, 600, wind=3,
          more={"flight.fall": "broadside"}),
    Built("Drogueless ring, 66 mm", NO_DROGUE, 0.066, 1.4, 2.0, RING, 650, wind=3, parts=(0.16, 0.38)),
    Built("Drogueless half ball, timed", NO_DROGUE, 0.102, 3.2, 2.4, HALF_BALL, 800, wind=4,
          more={"flight.fall": "timed by me", "flight.fall_low": "18 m/s", "flight.fall_high": "24 m/s"}),
    Built("Big and slow, fins broadside, timed", NO_DROGUE, 0.15, 7.5, 2.8, DOME, 700, wind=3, pins=3,
          more={"flight.fall": "timed by me", "flight.fall_low": "17 m/s", "flight.fall_high": "25 m/s"}),
    # --- main held shut until low ---
    Built("Pocket rocket with a release", HELD, 0.038, 0.32, 1.1, POLYGON, 450, kind=MOTOR, delay=7, main_height=200, wind=3),
    Built("54 with a release, motor's charge", HELD, 0.054, 0.7, 1.5, CIRCLE, 600, kind=MOTOR, delay=7, main_height=200, wind=3),
    Built("66 with a release", HELD, 0.066, 0.95, 1.6, CONE, 500, kind=MOTOR, delay=7, main_height=200, wind=4),
    Built("75 with a release, altimeters", HELD, 0.075, 1.5, 2.0, HALF_BALL, 700, pins=2, main_height=220, wind=3),
    Built("98 with a release, timed", HELD, 0.098, 2.6, 2.1, DOME, 800, kind=MOTOR, delay=9, main_height=230, wind=3,
          more={"flight.fall": "timed by me", "flight.fall_low": "18 m/s", "flight.fall_high": "25 m/s"}),
    Built("Cross held by a release", HELD, 0.075, 1.4, 1.9, CROSS, 550, kind=MOTOR, delay=7, main_height=220, wind=3),
    Built("Ring held by a release, broadside", HELD, 0.066, 1.0, 1.7, RING, 500, kind=MOTOR, delay=6, main_height=220,
          wind=3, more={"flight.fall": "broadside"}),
    # --- drogue and main from one bay ---
    Built("Streamer's successor, 38 mm", ONE_BAY, 0.038, 0.38, 1.45, POLYGON, 500, CIRCLE, kind=MOTOR, delay=7,
          main_height=200, wind=3),
    Built("54, drogue and release", ONE_BAY, 0.054, 0.9, 1.5, CIRCLE, 700, POLYGON, kind=MOTOR, delay=8, main_height=220, wind=3),
    Built("75, drogue and release", ONE_BAY, 0.075, 2.1, 1.9, CONE, 900, CIRCLE, pins=2, wind=3.5),
    Built("98, drogue and release", ONE_BAY, 0.098, 3.6, 2.2, POLYGON, 1000, CROSS, pins=2, wind=3),
    Built("102, dome over a cone", ONE_BAY, 0.102, 4.2, 2.2, DOME, 900, CONE, pins=3, wind=3),
    Built("Six inch, one joint only", ONE_BAY, 0.15, 7.5, 2.4, CROSS, 800, CIRCLE, rate=4.8, pins=3, parts=(0.22, 0.3), wind=3),
    Built("Half ball and half ball", ONE_BAY, 0.098, 3.0, 2.0, HALF_BALL, 700, HALF_BALL, pins=2, wind=3),
    Built("Measured pair, 66 mm", ONE_BAY, 0.066, 1.4, 1.7, MINE, 650, MINE, kind=MOTOR, delay=8, main_height=220, wind=3),
    Built("Ring after cross, 75 mm", ONE_BAY, 0.075, 1.8, 1.8, RING, 700, CROSS, kind=MOTOR, delay=8, wind=3),
    Built("Eight inch drum, release at 300", ONE_BAY, 0.2, 7.0, 2.3, CIRCLE, 600, POLYGON, pins=2, pin="UNC #4-40",
          rate=4.9, parts=(0.25, 0.3), main_height=300, wind=2.5,
          more={"main.cord.device": "9 kN", "main.cord.material": "tubular nylon webbing 3/4 in (MIL-W-5625)",
                "main.cord.width": "19 mm", "main.cord.thickness": "2.7 mm", "main.cord.end": "stitched, zigzag",
                "main.cord.anchor": "12 kN", "main.cord.nose_anchor": "12 kN", "main.cord.bulkhead": "12 kN"}),
)  # fmt: skip

GOOD: dict[str, dict[str, str]] = {built.name: texts_of(built) for built in _BUILT}
