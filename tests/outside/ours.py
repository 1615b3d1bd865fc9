"""How the project computes what each row of the reference files gives, and why it does not compute the others.

A row is named by its id ("atmo-066"), a run of ids ("cano-062..064") or its quantity ("atmo: density*"); several
names are divided by " | ". A function takes the row's inputs, SI, and gives the core's value, SI, or the two ends of
a range, None for an end the core does not hold. What is only carried in the tables and constants stands apart from
what is worked out: it shows that a figure was copied rightly, no more. No expected value may stand here.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from math import acos, degrees, sqrt
from operator import attrgetter

from figures import Inputs, si

from loftbook.physics import (
    airframe,
    atmosphere,
    canopy,
    chain,
    cord,
    descent,
    motion,
    opening,
    packing,
    separation,
    wind,
)
from loftbook.physics.atmosphere import STANDARD, Air
from loftbook.physics.elementary import PI
from loftbook.quantity import (
    AIR_DENSITY,
    AREA,
    CLOTH_MASS,
    CORD_MASS,
    ENERGY,
    FORCE,
    LENGTH,
    MASS,
    NUMBER,
    PRESSURE,
    SPEED,
    TEMPERATURE,
    VOLUME,
    WARMER,
    Kind,
    read,
)
from loftbook.rig.bay_fields import MEASURED
from loftbook.rig.fields import FIELDS, ONE_BAY_75, STARTS
from loftbook.rig.parsing import parse
from loftbook.rig.ways import MAIN
from loftbook.tables import CLOTHS, CORDS, ENDS, FAMILIES, LINES, PINS, THREADS, Cloth, Thread, known
from loftbook.worked.bay import NYLON
from loftbook.worked.worked import Worked

Got = float | tuple[float | None, float | None]
Compute = Callable[[Inputs], Got]


@dataclass(frozen=True)
class Uniform(Air):
    """Air of one density at all heights, which some rows suppose."""

    rho: float = 1.0

    def density(self, height: float) -> float:
        return self.rho

    def quick(self, elevation: float) -> Callable[[float], float]:
        return lambda height: self.rho


def root(holds: Callable[[float], bool], low: float, high: float) -> float:
    """The least number between two for which something holds, by halving."""
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (low, middle) if holds(middle) else (middle, high)
    return high


# --- air ------------------------------------------------------------------------------------------


def density_altitude(height: float, warmer: float) -> float:
    found = Air(warmer=warmer).density_altitude(height)
    if found is None:
        raise ValueError(f"no density altitude at {height} m")
    return found


def density_at_station(pressure: float, temperature: float) -> float:
    """At any site: the station's pressure and temperature replace the standard ones."""
    site = 1500.0
    return Air.at_site(site, temperature - atmosphere.temperature(site), pressure).density(site)


def pressure_altitude(pressure: float) -> float:
    """Where our pressure is the one given; a pressure altitude is a geopotential height by definition."""
    height = root(lambda h: atmosphere.pressure(h) < pressure, atmosphere.LOWEST, atmosphere.HIGHEST)
    return atmosphere.geopotential(height)


# --- canopies -------------------------------------------------------------------------------------


def vent_share(shape: canopy.Shape) -> float:
    return 1 - shape.cloth_area / shape.nominal_area


def polygon(i: Inputs) -> canopy.Shape:
    """One metre across flats, or as wide as the row says."""
    return canopy.flat_polygon(int(i.named.get("N", 8)), i.named.get("width across flats", 1.0))


def hemisphere(i: Inputs) -> canopy.Shape:
    return canopy.hemispherical(int(i.named.get("N", 8)), 2 * i.named.get("R", 1.0))


def half_spheroid(i: Inputs) -> canopy.Shape:
    return canopy.semi_ellipsoid(8, 2 * i["base radius"], i["height"] / i["base radius"])


def cone(i: Inputs) -> canopy.Shape:
    return canopy.conical(8, 2 * i["base radius"], i["slope"])


def frustum(i: Inputs) -> canopy.Shape:
    """A cone with a vent: r1 - r2 of the radius lies over the slant given."""
    slope = degrees(acos((i["r1"] - i["r2"]) / i["slant"]))
    return canopy.conical(8, 2 * i["r1"], slope, i["r2"] / i["r1"])


def cross(i: Inputs) -> canopy.Shape:
    return canopy.cross(1.0, float(Fraction(i["width/length"]).limit_denominator(1000)))  # a third is printed 0.333333


def family(name: str, *ends: str) -> Compute:
    """What the table of families holds: one number ("cd.best"), or the ends named, "" for one it does not hold."""

    def compute(i: Inputs) -> Got:
        got = tuple(attrgetter(end)(FAMILIES[name]) if end else None for end in ends)
        return got if len(got) == 2 else got[0]

    return compute


# --- descent --------------------------------------------------------------------------------------

_LEG = re.compile(r"m=(\S+) kg, CdS=(\S+) m\^2, (\d+) to (\d+) m")


def down(height: float, rates: dict[float, float], elevation: float, air: Air, east: wind.Wind) -> descent.Landing:
    """From a height; `rates` by the height from which each holds, referred to the ground."""
    phases = [descent.Phase(from_, rate) for from_, rate in rates.items()]
    return descent.landing(descent.column(height, elevation, air, east), phases)


def legs(i: Inputs) -> descent.Landing:
    """All legs `m=…, CdS=…, from to down` of a row, in a wind that is the same at all heights."""
    found = [tuple(map(float, leg)) for leg in _LEG.findall(i.text)]
    rates = {top: canopy.terminal_rate(mass, area, STANDARD.density(0.0)) for mass, area, top, _ in found}
    return down(found[0][2], rates, 0.0, STANDARD, lambda height: (i.named.get("wind", 0.0), 0.0))


def power_law_drift(i: Inputs, rate: float) -> float:
    height = i.named.get("height") or i["from"]
    blowing = wind.power_wind(i["u10"], i["exponent"], 270.0)
    return down(height, {height: rate}, 0.0, Uniform(), blowing).spot[0]


def fallen(mass: float, drag_area: float, height: float, air: Air) -> motion.Instant:
    """Touchdown of what falls from rest, its canopy open all the way."""
    at_once = motion.Opening("open", height, drag_area, 1e-9, 1.0)
    return motion.run(mass, (at_once,), 0.0, 0.0, air).touchdown


def height_to_reach(i: Inputs) -> float:
    """Height fallen from rest until a share of the terminal rate is reached."""
    wanted = i[""] * canopy.terminal_rate(i["m"], i["CdS"], i["rho"])
    return root(lambda h: fallen(i["m"], i["CdS"], h, Uniform(rho=i["rho"])).speed > wanted, 1.0, 1000.0)


# --- opening --------------------------------------------------------------------------------------


def growth(i: Inputs) -> float:
    return float(i.text.split("tau^")[1])


def handbook(i: Inputs) -> opening.HandbookLoads:
    """By the row's n and D0, or by its filling time (a canopy of 1 m that fills in it).

    A row without Cx wants the force without it, so one is given that would show.
    """
    assert i["j"] == 2, "the core takes solid cloth only"
    speed = i.named.get("v") or i["v0"]
    constant = i.named.get("n") or i["t_f"] * speed
    return opening.handbook_loads(
        i["m"], i["rho"], i["CdS"], i.named.get("D0", 1.0), speed, constant, i.named.get("Cx", 1.7)
    )


def peak_with_gravity(i: Inputs) -> float:
    assert i["j"] == 2
    filling = motion.Opening("main", 500.0, i["CdS"], 1.0, i["t_f"] * i["v0"])
    return motion.run(i["m"], (filling,), i["v0"], 0.0, Uniform(rho=i["rho"])).fillings[0].peak.drag


def snatch(i: Inputs) -> float:
    count = int(re.search(r"(\d+) lines;", i.text)[1])  # type: ignore[index]
    lines = count * chain.cord_stiffness(i["line strength"], i["elongation at break"], i["length"])
    return chain.stopping_force(i["speed difference"], lines, i["canopy mass"])


# --- materials ------------------------------------------------------------------------------------


def cloth(specification: str) -> Cloth:
    return next(row for name, row in CLOTHS.items() if specification in name)


def cloth_mass(specification: str) -> Compute:
    return lambda i: cloth(specification).mass.value


def cloth_strength(i: Inputs) -> float:
    strength = cloth(f"({i.text})").strength
    assert strength
    return strength.value


def rated(name: str) -> Compute:
    """Breaking strength of a line or cord of the tables; * stands for the row's inputs."""
    return lambda i: (LINES | CORDS)[name.replace("*", i.text.replace("1-", "1 "))].strength.value


def thread(i: Inputs) -> Thread:
    """The thread of the size that a row names."""
    return THREADS[f"para-aramid thread, tex {i.text.removeprefix('tex size ')} (A-A-55220)"]


def end(name: str) -> Compute:
    """Efficiency of a knot or seam: the tables hold the low end of what is published."""
    return lambda i: (ENDS[name].efficiency.value, None)


def stretch(part: str) -> list[float]:
    """Of all lines and cords whose name begins so."""
    return [row.stretch.value for name, row in (LINES | CORDS).items() if name.startswith(part)]


# --- separation -----------------------------------------------------------------------------------


def powder_per_joule() -> float:
    """Mass over pressure times volume, which is mass over force times length [kg/J]."""
    return separation.gas_mass(1e5, 1e-3) / (1e5 * 1e-3)


def powder_coefficient(pressure: float) -> float:
    """Mass over D^2 L [kg/m^3], by a bay of 0.1 m by 0.3 m."""
    return separation.gas_mass(pressure, PI / 4 * 0.1**2 * 0.3) / (0.1**2 * 0.3)


def minor_area(text: str) -> float:
    """Of the thread a row names, by the table of pins; a number 10 screw, which it does not hold, by ASME B1.1."""
    name = text.partition(";")[0].replace(" x ", " × ")
    if name == "UNC #10-24":
        return separation.unified_minor_area(si(0.190, "in"), 24)
    row = PINS[name]
    if row.pitch:
        return separation.metric_minor_area(row.diameter.value, row.pitch.value)
    assert row.threads_per_inch
    return separation.unified_minor_area(row.diameter.value, row.threads_per_inch.value)


def trapped(i: Inputs) -> float:
    return separation.trapped_pressure(i["closed at"], i["at"], STANDARD)


def pins_for(i: Inputs) -> float:
    assert i["design factor"] == separation.HOLD_FACTOR
    return separation.pins_to_hold(i["F"], i[""])


# --- what is said and typed -------------------------------------------------------------------------

_KINDS: dict[str, Kind] = {
    "m": LENGTH, "kg": MASS, "N": FORCE, "Pa": PRESSURE, "kPa": PRESSURE, "m/s": SPEED, "J": ENERGY, "m^2": AREA,
    "kg/m^2": CLOTH_MASS, "g/m^2": CLOTH_MASS, "kg/m^3": AIR_DENSITY, "kg/m": CORD_MASS, "m^3": VOLUME, "K": WARMER,
    "degC": TEMPERATURE,
}  # fmt: skip


def typed(i: Inputs) -> float:
    """`1 ft in m`: the first part read as if typed into a field of that kind."""
    text, unit = i.text.replace(" (conventional)", "").rsplit(" in ", 1)
    return read(text, _KINDS[unit])


def ends(key: str) -> Compute:
    """Both ends of a fact in the table of practice."""
    return lambda i: (known(key).low, known(key).high)


def worked(**texts: str) -> Worked:
    """The starting rig of one bay with some fields of its bay changed; `canopy__size` is main.canopy.size."""
    changes = {f"{MAIN}.{path.replace('__', '.')}": text for path, text in texts.items()}
    return Worked(parse(STARTS[ONE_BAY_75] | changes))


def bundle_volume(i: Inputs) -> float:
    """Length times section of the bundle of a canopy of that mass; its lines are weighed with it and taken off."""
    whole = worked(
        canopy__family=MEASURED,
        canopy__mass=f"{i['mass'] + worked().canopies[MAIN].line_mass!r} kg",
        pack__density=f"{i['density']!r} kg/m^3",
        bay__depth="4 m",
    )
    bundle = whole.folded(MAIN).bundle
    return bundle.length * PI * bundle.diameter**2 / 4


def octagon_mass(i: Inputs) -> float:
    size, mass = i.text.replace(" across flats", "").split("; ")
    return worked(
        canopy__family="flat polygon", canopy__sides="8", canopy__size=size, canopy__seam="0 mm", canopy__vent="0 %",
        canopy__cloth=next(name for name, row in CLOTHS.items() if row.mass.printed == mass.replace("^2", "²")), canopy__mass="",
    ).canopies[MAIN].cloth_mass  # fmt: skip


def lines_mass(i: Inputs) -> float:
    count, length, mass = re.split(" lines of |; ", i.text)
    return worked(canopy__sides=count, lines__length=length, lines__mass=mass).canopies[MAIN].line_mass


def jerk(i: Inputs) -> float:
    return chain.cord_jerk(i["v"], i["m1"], i["m2"], i["strength"], i["elongation at break"], i["length"])


def jerk_of(stretch_: float, length: float) -> float:
    return chain.cord_jerk(10.0, 3.0, 1.0, 5000.0, stretch_, length)


# --- the rows -------------------------------------------------------------------------------------

COMPUTED: dict[str, Compute] = {
    # 01 atmosphere
    "atmo: temperature": lambda i: atmosphere.temperature(i["height"]),
    "atmo: pressure": lambda i: atmosphere.pressure(i["height"]),
    "atmo: density | atmo-078": lambda i: STANDARD.density(i["height"]),
    "atmo: speed of sound": lambda i: atmosphere.speed_of_sound(i["height"]),
    "atmo: acceleration of gravity": lambda i: atmosphere.gravity(i["height"]),
    "atmo-066": lambda i: atmosphere.GAS_CONSTANT,
    "atmo: density, standard pressure and a temperature offset": (
        lambda i: Air(warmer=i["offset"]).density(i["height"])
    ),
    "atmo: density altitude": lambda i: density_altitude(i["height"], i["offset"]),
    "atmo-073": lambda i: density_at_station(i["p"], i["T"]),
    "atmo: descent-rate ratio to sea level*": (
        lambda i: canopy.terminal_rate(1, 1, STANDARD.density(i["height"])) / canopy.terminal_rate(1, 1, 1.225)
    ),
    "atmo-076..077": lambda i: STANDARD.density(0.0),
    "atmo-079": (
        lambda i: density_altitude(i["pressure altitude"], i["air"] - atmosphere.temperature(i["pressure altitude"]))
    ),
    "atmo-080": lambda i: pressure_altitude(i["p"]),
    # 02 canopy families
    "cano: nominal diameter D0": lambda i: canopy.nominal_diameter(i["S0"]),
    "cano-061": lambda i: opening.filling_time(i["n"], i["D0"], i["v"]),
    "cano: share of disc area taken by a round vent": (
        lambda i: vent_share(canopy.flat_circular(8, 1.0, i["vent diameter fraction"]))
    ),
    # 03 geometry
    "geom: regular polygon: area / (width across flats)^2 | geom: octagon area": lambda i: polygon(i).nominal_area,
    "geom: regular polygon: area / (corner to corner)^2": (
        lambda i: polygon(i).nominal_area / (2 * polygon(i).edge_radius) ** 2
    ),
    "geom: regular polygon: side / width across flats": lambda i: polygon(i).skirt / i["N"],
    "geom: regular polygon: side / corner to corner": (
        lambda i: polygon(i).skirt / i["N"] / (2 * polygon(i).edge_radius)
    ),
    "geom: regular polygon: corner to corner / width across flats": lambda i: 2 * polygon(i).edge_radius,
    "geom: regular polygon: nominal diameter / width across flats": lambda i: polygon(i).diameter,
    "geom: regular polygon: nominal diameter / corner to corner": (
        lambda i: polygon(i).diameter / (2 * polygon(i).edge_radius)
    ),
    "geom: octagon perimeter": lambda i: polygon(i).skirt,
    "geom-038": lambda i: vent_share(canopy.flat_polygon(8, 1.0, i["vent diameter"])),
    "geom: hemisphere area / radius^2": lambda i: hemisphere(i).nominal_area,
    "geom: hemisphere nominal diameter / diameter": lambda i: hemisphere(i).diameter / 2,
    "geom: hemisphere gore length*": lambda i: hemisphere(i).gore_length,
    "geom: hemisphere gore width, arc share*": (
        lambda i: 2 * canopy.gore_half_width("hemispherical", hemisphere(i), i["s"])
    ),
    "geom: hemisphere: one gore area, arc share": lambda i: hemisphere(i).nominal_area / hemisphere(i).gores,
    "geom: semi-ellipsoid (oblate) skin area": lambda i: half_spheroid(i).nominal_area,
    "geom: semi-ellipsoid gore length*": lambda i: half_spheroid(i).gore_length,
    "geom: semi-ellipsoid nominal diameter*": lambda i: half_spheroid(i).diameter / (2 * i["base radius"]),
    "geom: cone lateral area": lambda i: cone(i).nominal_area,
    "geom: cone slant length": lambda i: cone(i).gore_length,
    "geom: cone nominal diameter*": lambda i: cone(i).diameter / (2 * i["base radius"]),
    "geom: cone frustum lateral area": lambda i: frustum(i).cloth_area,
    "geom: cross of two equal panels: area*": lambda i: cross(i).nominal_area,
    "geom: cross of two equal panels: nominal diameter*": lambda i: cross(i).diameter,
    "geom: flat annulus*": lambda i: canopy.annular(8, 1.0, i["inner/outer diameter"]).nominal_area,
    "geom-065": lambda i: i["line"] / canopy.line_tension_share(1, i["line"], i["skirt radius"]),  # L cos phi
    "geom-066": lambda i: canopy.line_tension_share(int(i["N"]), i["line"], i["skirt radius"]),
    # 04 descent and limits
    "desc: terminal rate": lambda i: canopy.terminal_rate(i["m"], i["CdS"], STANDARD.density(i["height"])),
    "desc: drag area for a wanted rate": lambda i: canopy.drag_area_for(i["m"], i["v"], STANDARD.density(i["height"])),
    "desc-008": lambda i: canopy.drag_area_for(i.numbers[0], i.numbers[1], STANDARD.density(i.numbers[2])),
    "desc-010": lambda i: sqrt(i["drop height"] / descent.drop_height(1.0)),  # height goes with the rate squared
    "desc: drop height with the same speed": lambda i: descent.drop_height(i["v"]),
    "desc-028": lambda i: known("energy").high,
    "desc: largest rate for 75 ft?lbf": (
        lambda i: sqrt(known("energy").high / descent.kinetic_energy(i["section mass"], 1.0))
    ),
    "desc: kinetic energy at touchdown": lambda i: descent.kinetic_energy(i["m"], i["v"]),
    "desc: descent time, always at terminal rate*": lambda i: legs(i).time,
    "desc: drift in uniform wind": lambda i: legs(i).distance,
    "desc: descent time with the run-up": lambda i: fallen(i["m"], i["CdS"], i["from rest at"], STANDARD).time,
    "desc: rate at touchdown": lambda i: fallen(i["m"], i["CdS"], i["from rest at"], STANDARD).speed,
    "desc-040": height_to_reach,
    "desc-041": lambda i: opening.late_release_speed(i["horizontal"], i[""]),
    # 05 opening
    "open-001": lambda i: opening.handbook_loads(1, 1, i["CdS"], 1, sqrt(2 * i["q"]), 8, i["Cx"]).infinite,
    "open: ballistic parameter A": (
        lambda i: opening.ballistic_parameter(i["m"], i["rho"], i["CdS"], i["v"], i["t_f"])
    ),
    "open: opening force reduction X1*": lambda i: opening.reduction_factor(i["A"], growth(i)),
    "open: moment of peak force*": lambda i: opening.peak_moment(i["A"], growth(i)),
    "open: smallest A for which*": lambda i: root(lambda a: opening.peak_moment(a, i["j"]) == 1, 0.01, 100.0),
    "open: opening force, finite mass, Pflanz": lambda i: handbook(i).finite,
    "open: opening force, infinite mass, same case": lambda i: handbook(i).infinite,
    "open-041": peak_with_gravity,
    "open-049": lambda i: peak_with_gravity(i) / handbook(i).finite,
    "open: snatch force": snatch,
    # 06 textiles: tables in customary units, rows in SI
    "text-018": cloth_mass("(MIL-C-7020 type I)"),
    "text-020": cloth_mass("(MIL-C-7020 type II)"),
    "text-022": cloth_mass("(MIL-C-7020 type III)"),
    # 07 separation
    "sepa-004": lambda i: separation.POWDER_GAS_CONSTANT,
    "sepa-005": lambda i: separation.pressure_of(1.0, 1.0),
    "sepa-006": lambda i: powder_per_joule() * i.numbers[0] * i.numbers[1],
    "sepa-007": lambda i: powder_per_joule(),
    "sepa-008": lambda i: powder_coefficient(si(15, "psi")),
    "sepa-009..012": lambda i: powder_coefficient(i["dp"]),
    "sepa: black-powder mass": lambda i: separation.gas_mass(i["dp"], PI / 4 * i["D"] ** 2 * i["L"]),
    "sepa: black-powder mass, SI": lambda i: separation.gas_mass(i["dp"], i["V"]),
    "sepa: force on the bulkhead": lambda i: separation.pressure_force(i[""], i["D"]),
    "sepa: thread minor-diameter area | sepa: thread minor area": lambda i: minor_area(i.text),
    "sepa: thread minor diameter d3, nominal": lambda i: sqrt(4 * minor_area(i.text) / PI),
    "sepa: nylon screw shear load*": lambda i: separation.pin_strength(minor_area(i.text), i["shear strength"]),
    "sepa: pressure left in a sealed bay": trapped,
    "sepa: force of that pressure": lambda i: separation.pressure_force(trapped(i), i["D"]),
    "sepa-061": pins_for,
    "sepa-062": lambda i: airframe.port_diameter(si(100, "in^3"), 1),
    "sepa-063": lambda i: airframe.port_diameter(i["V"], 1),
    # 08 units
    "unit-001..027 | unit-031..037 | unit-039": typed,
    "unit-038": lambda i: read("1 lb", MASS) / read("225 ft", LENGTH),
    # 09 wind
    "wind: wind by power law": lambda i: wind.power_law(i["z"], i["u10"], i["exponent"]),
    "wind-040": lambda i: power_law_drift(i, 1.0) / i["height"],
    "wind-041": lambda i: power_law_drift(i, i["sink"]),
    # 10 trade
    "trad-001..002": lambda i: cord.least_length(i["lines"], i["bay"], i.named.get("gap", 0.0)),
    # 11 packing
    "pack: pack volume": bundle_volume,
    "pack: length of bundle in a tube": (
        lambda i: packing.loose_height(i["mass"] / i["density"], packing.free_section(i["inner diameter"]), i["fill"])
    ),
    "pack: mass of cloth, flat octagon, no seams": octagon_mass,
    "pack: mass of lines": lines_mass,
    # 12 elastic cords
    "elas: peak cord force at separation": jerk,
    "elas: stretch at the peak": (
        lambda i: jerk(i) / chain.cord_stiffness(i["strength"], i["elongation at break"], i["length"])
    ),
    "elas-009": lambda i: jerk_of(0.3, 8.0) / jerk_of(0.3, 4.0),
    "elas-010": lambda i: jerk_of(0.04, 5.0) / jerk_of(0.30, 5.0),
    "elas-011": lambda i: chain.cord_energy(i["strength"], i["elongation"], i["length"]),
    "elas-012": lambda i: chain.reduced_mass(*(float(part.split()[0]) for part in i.text.split(" and "))),
}

CARRIED: dict[str, Compute] = {
    # 02 canopy families
    "cano-001": family("flat circular", "cd.low", "cd.high"),
    "cano-002": family("flat circular", "inflated.low", "inflated.high"),
    "cano-003": family("flat circular", "", "cx.value"),
    "cano-005": family("conical", "cd.low", "cd.high"),
    "cano-006": family("conical", "inflated.low", "inflated.high"),
    "cano-007": family("conical", "", "cx.value"),
    "cano-021": family("hemispherical", "cd.low", "cd.high"),
    "cano-022": family("hemispherical", "inflated.low", "inflated.high"),
    "cano-023": family("hemispherical", "", "cx.value"),
    "cano-029": family("annular", "cd.low", "cd.high"),
    "cano-030": family("annular", "inflated.low", "inflated.high"),
    "cano-031": family("annular", "", "cx.value"),
    "cano-033": family("cross", "cd.low", "cd.high"),
    "cano-034": family("cross", "inflated.low", "inflated.high"),
    "cano-035": family("cross", "", "cx.value"),
    "cano-049": family("flat circular", "cd.best"),
    "cano-055": family("flat circular", "filling.best"),
    "cano-057": family("cross", "filling.best"),
    # 04 descent and limits
    "desc-013": lambda i: known("energy").high,
    "desc-019 | desc-021": lambda i: known("launch_wind").high,
    "desc-022": lambda i: known("misfire").low,
    # 05 opening
    "open-042": lambda i: chain.UNEVEN,
    "open-043": ends("design_factor"),
    "open-044": lambda i: ENDS["stitched, zigzag"].efficiency.value,
    # 06 textiles
    "text-001 | text-004 | text-007 | text-010 | text-013": rated("nylon cord * (MIL-C-5040)"),
    "text-016": lambda i: min(stretch("nylon cord type")),
    "text-017": cloth_mass("(MIL-C-7020 type I)"),
    "text-019": cloth_mass("(MIL-C-7020 type II)"),
    "text-021": cloth_mass("(MIL-C-7020 type III)"),
    "text-023 | text-026 | text-029": cloth_strength,
    "text-032": cloth_mass("(MIL-C-44378 type I)"),
    "text-033": cloth_mass("(PIA-C-498 types D, G)"),
    "text-036..039": rated("tubular nylon webbing * (MIL-W-5625)"),
    "text-040..046": rated("flat nylon webbing * (MIL-W-4088)"),
    "text-047": rated("nylon tape type I (MIL-T-8363)"),
    "text-048": rated("nylon webbing type III (MIL-T-8363)"),
    "text-049": rated("nylon webbing type IV (MIL-T-8363)"),
    "text-050": rated("nylon webbing type V (MIL-T-8363)"),
    "text-051 | text-053 | text-055 | text-057 | text-059": lambda i: thread(i).strength.value,
    "text-052 | text-054 | text-056 | text-058 | text-060": lambda i: 1 / thread(i).mass.value,
    "text-061..068": rated("polyethylene cord * (PIA-C-1200)"),
    "text-070": end("bowline"),
    "text-071": end("figure-eight loop"),
    "text-073": end("splice"),
    "text-074": end("overhand loop"),
    "text-075": end("water knot in webbing"),
    "text-077": end("any knot in aramid"),
    "text-078": end("stitched, zigzag"),
    # 07 separation
    "sepa-001..002": lambda i: separation.POWDER_GAS_CONSTANT,
    "sepa-003": lambda i: separation.BURN_TEMPERATURE,
    "sepa-053": lambda i: (PINS["UNC #4-40"].shear.low, PINS["UNC #4-40"].shear.high),
    "sepa-064": ends("vent"),
    # 08 units
    "unit: standard gravity": lambda i: atmosphere.G0,
    # 09 wind
    "wind-006": lambda i: read(FIELDS["flight.exponent"].default, NUMBER),
    # 10 trade
    "trad-003": ends("cord_allowance"),
    "trad-004": lambda i: known("wraps").high,
    "trad-005": ends("depth"),
    "trad-006": ends("cord_lengths"),
    "trad-009": ends("touchdown"),
    "trad-010": ends("drogue"),
    "trad-011": lambda i: known("shoulder").low,
    "trad-013": ends("main_height"),
    "trad-018": ends("bay_pressure"),
    "trad-019": lambda i: (1 + known("backup_charge").low, 1 + known("backup_charge").high),
    "trad-020": lambda i: (known("shear_pins").low, None),
    # 11 packing
    "pack-001..002": ends("pack_density"),
    "pack-010": lambda i: NYLON,
    # 12 elastic cords
    "elas-019": lambda i: (min(stretch("tubular nylon webbing")), None),
}

NOT_COMPUTED: dict[str, str] = {
    "cano: average angle of oscillation* | open-048 | pack-011..012 | text-079..099 | wind: Beaufort* | wind-032"
    " | wind-042 | geom: *volume* | geom: cone flat development*": "no answer of the guide needs it",
    "cano-009..011 | cano-013..015 | cano-017..019 | cano-025..027 | cano-037..039 | cano-041..043 | cano-045..047"
    " | cano-052 | cano-056 | cano-058..060 | desc-009": "a family that is not carried",
    "cano-053..054 | trad-007..008": "the reader's own: lines and vent are measured, not assumed",
    "geom: hemisphere gore width, chord*": "another construction; our gore, the arc share, is checked beside it",
    "desc-014..018 | desc-020 | desc-024..027": "a limit of a competition or safety code that no check uses",
    "desc-023 | trad-014..017 | trad-024..026": "advice in words; there is nothing to compute",
    "trad-012 | trad-021..023": "no check uses it",
    "open-045..047 | elas-022..023": "the reader's own factor",
    "text-002..003 | text-005..006 | text-008..009 | text-011..012 | text-014..015": (
        "the mass of a cord is weighed, not looked up"
    ),
    "text-069 | pack-009": "no figure is known",
    "text-024..025 | text-027..028 | text-030..031 | text-034..035": "of a cloth the tables hold mass and strength only",
    "text-072 | text-076": "a knot that the tables do not carry",
    "sepa: thread tensile-stress area": "pins are sheared, not pulled: the minor area is used",
    "sepa-035..039 | sepa-043..044 | sepa-048..049": "another definition of the root; ours is checked beside it",
    "unit-028": "no field takes inches of water",
    "wind-001..005 | wind-007": "the reader's own exponent; the one the form starts with is checked",
    "wind: roughness length | wind-036..039": "the wind follows a power law here, not a roughness",
    "pack-003..008": "for presses; a bundle that must slide out is packed by hand",
    "pack-022..023": "a canopy for people",
    "elas-013..018 | elas-020..021": "a fibre or rope; the tables hold made-up cords",
}


@dataclass(frozen=True)
class Explanation:
    """Why a row and the core do not agree, and how far apart they may be all the same (in the row's own measure)."""

    within: float
    why: str


_TABLE_OF_HEIGHTS = (
    "The core sums the way down over a table of heights so that thousands of descents cost little; the power law is "
    "steep in the lowest metres, which leaves a few parts in a million."
)
_METRIC_SAYING = (
    "The same saying, carried as round metric figures; the row has it in round customary ones. Neither is exact to the last "
    "few per cent."
)
EXPLAINED: dict[str, Explanation] = {
    "atmo-079": Explanation(
        255.0,
        "The row is a pilots' rule of thumb: 120 ft of density altitude for each °C above standard, the standard rounded "
        "to 5 °C (it is 5.6 °C). Ours is the height at which the standard atmosphere has the same density, which comes "
        "to 113 ft for each °C here.",
    ),
    "unit-032": Explanation(
        5e-5, "The row is rounded to four decimals, coarser than the tolerance it carries. Ours is 243.888… to the end."
    ),
    "trad-010": Explanation(0.02, _METRIC_SAYING),
    "trad-013": Explanation(0.02, _METRIC_SAYING),
    "trad-018": Explanation(0.04, _METRIC_SAYING),
    "trad-019": Explanation(
        0.05,
        "Ours begins at a quarter more instead of a fifth: a backup that is too small does not part the joint either.",
    ),
    "wind-040": Explanation(3e-6, _TABLE_OF_HEIGHTS),
    "wind-041": Explanation(3e-6, _TABLE_OF_HEIGHTS),
}
