"""One rig worked through, each intermediate result once: calculators take what they show from here.

The chain of dependence is the order of the properties: air, canopy, rate; then what lies in the bay, the room it
leaves, the folded strip, the bundle, the stack; then the cord.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property

from loftbook import canopy, chain, cord, descent, folding, motion, opening, packing, separation
from loftbook.physics.atmosphere import Air
from loftbook.physics.canopy import Shape
from loftbook.physics.descent import Column, Landing, Phase
from loftbook.physics.elementary import PI, sqrt
from loftbook.fields import (
    CHARGE_ABOVE,
    DROGUE_MAIN,
    HALVING,
    MEASURED,
    NOSE_ALONG,
    NOSE_AT_LINES,
    ONE_CANOPY,
    OWN,
    TWO_PARTS,
    TWO_SECTIONS,
)
from loftbook.physics.folding import Bundle, Step
from loftbook.physics.motion import Opening, Run, Stage
from loftbook.physics.opening import HandbookLoads
from loftbook.physics.packing import Item, Stack
from loftbook.quantity import BAY_PRESSURE, CLOTH_MASS, FORCE, LENGTH, Kind, read, show
from loftbook.rig import Rig
from loftbook.physics.scatter import Field, Spreads
from loftbook.physics.spread import Spread
from loftbook.tables import CANOPY_SOURCES, CLOTHS, CORDS, ENDS, FAMILIES, LINES, PINS, Row
from loftbook.physics.wind import POINTS, Wind, layered_wind, power_wind, read_layers

FIRST_CORD, REST_CORD = "cord, first part", "cord, the rest"
FILLING_SCATTER = 0.25  # of the filling constants, Knacke 1991, Table 5-6 (memory)
NYLON = 1140.0  # kg/m^3, solid nylon 6/6 (Tension Technology International, fibre property table)


def best_of(spread: Spread) -> float:
    return spread.best


@dataclass(frozen=True)
class Canopy:
    """What the loads need to know of a canopy: S0 [m^2], Cd S0 [m^2], lines, its row of the table (None: measured)."""

    name: str
    area: float
    drag_area: Spread
    lines: int
    row: Row | None

    @property
    def diameter(self) -> float:
        return canopy.nominal_diameter(self.area)

    @property
    def cx(self) -> float:
        """Opening-force coefficient; of a measured canopy that of the hardest family carried."""
        return float(self.row["cx"]) if self.row else max(float(row["cx"]) for row in FAMILIES.values())

    @property
    def filling(self) -> float:
        """Filling constant; of a measured canopy the shortest of the families carried."""
        return float(self.row["filling"]) if self.row else min(float(row["filling"]) for row in FAMILIES.values())

    @property
    def inflated_least(self) -> float:
        """Projected diameter while open [m], low end: the safe side for the cloth."""
        return self._inflated(0, min)

    @property
    def inflated_most(self) -> float:
        """Projected diameter while open [m], high end: the safe side for the lines."""
        return self._inflated(1, max)

    def _inflated(self, end: int, of: Callable[[list[float]], float]) -> float:
        rows = [self.row] if self.row else list(FAMILIES.values())
        return of([row["inflated"][end] for row in rows]) * self.diameter

    def opening(self, height: float, pick: Callable[[Spread], float], filling: float) -> Opening:
        return Opening(self.name, height, pick(self.drag_area), self.diameter, self.filling * filling)


@dataclass(frozen=True)
class OpeningLoad:
    """One canopy's opening load [N]: the full run (best and hardest) and the handbook's values."""

    name: str
    stage: Stage
    hardest: float
    book: HandbookLoads

    @property
    def design(self) -> float:
        """The larger credible one: hardest full run, or finite mass with Cx."""
        return max(self.hardest, self.book.finite_cx)


@dataclass(frozen=True)
class Case:
    """A rig and everything computed from it. All values SI."""

    rig: Rig
    scattered_cases: int = 10_000

    def n(self, path: str) -> float:
        return self.rig.number(path)

    def show(self, value: float, kind: Kind) -> str:
        """A number as the reader wants to see it."""
        return show(value, kind, self.rig.units)

    def range(self, value: Spread, kind: Kind) -> str:
        """Best, and the range behind it when there is one."""
        if value.is_point:
            return self.show(value.best, kind)
        return f"{self.show(value.best, kind)} ({self.show(value.low, kind)} to {self.show(value.high, kind)})"

    # --- air and canopy ---

    @cached_property
    def air(self) -> Air:
        return Air.at_site(self.n("site.elevation"), self.n("site.warmer"), self.rig.optional("site.pressure"))

    @cached_property
    def density(self) -> float:
        """Air density at the field [kg/m^3]."""
        return self.air.density(self.n("site.elevation"))

    @cached_property
    def family(self) -> str:
        return self.rig.text("canopy.family")

    @cached_property
    def lines(self) -> int:
        return int(self.n("canopy.sides"))

    @cached_property
    def ratio(self) -> float:
        """The family's own proportion: dome height, panel width or hole; 1 for the others."""
        path = {"semi-ellipsoid": "canopy.height_ratio", "cross": "canopy.panel_ratio", "annular": "canopy.hole_ratio"}
        return self.n(path[self.family]) if self.family in path else 1.0

    @cached_property
    def shape(self) -> Shape | None:
        """The canopy as built; None when only its area is known."""
        return None if self.family == MEASURED else self.shape_of(self.n("canopy.size"))

    def shape_of(self, size: float) -> Shape:
        """The rig's family at another size."""
        vent = self.rig.optional("canopy.vent") or 0.0
        match self.family:
            case "flat polygon":
                return canopy.flat_polygon(self.lines, size, vent)
            case "flat circular":
                return canopy.flat_circular(self.lines, size, vent)
            case "conical":
                return canopy.conical(self.lines, size, self.n("canopy.slope"), vent)
            case "hemispherical":
                return canopy.hemispherical(self.lines, size, vent)
            case "semi-ellipsoid":
                return canopy.semi_ellipsoid(self.lines, size, self.ratio, vent)
            case "cross":
                return canopy.cross(size, self.ratio)
            case "annular":
                return canopy.annular(self.lines, size, self.ratio)
        raise KeyError(self.family)

    @cached_property
    def area(self) -> float:
        """S0 [m^2], the area the drag coefficient is referred to."""
        return self.shape.nominal_area if self.shape else self.n("canopy.area")

    @cached_property
    def cd(self) -> Spread:
        if self.family == MEASURED:
            low, high = self.n("canopy.cd_low"), self.n("canopy.cd_high")
            return Spread(low, (low + high) / 2, high)
        row = FAMILIES[self.family]["cd"]
        return Spread(row["low"], row["best"], row["high"])

    @cached_property
    def cd_source(self) -> str:
        source = CANOPY_SOURCES["reader" if self.family == MEASURED else FAMILIES[self.family]["cd"]["source"]]
        return f"{source['text']} ({source['how']})"

    @cached_property
    def drag_area(self) -> Spread:
        return self.cd.map(lambda cd: cd * self.area)

    @cached_property
    def rate(self) -> Spread:
        """Touchdown rate [m/s]; least drag gives the greatest."""
        return self.drag_area.map(lambda area: canopy.terminal_rate(self.mass, area, self.density))

    @cached_property
    def wanted_size(self) -> Spread | None:
        """Size [m] of this family that would come down at the wanted rate; None for a canopy without a shape."""
        if not self.shape:
            return None
        unit_area = self.shape_of(1.0).nominal_area
        needed = canopy.drag_area_for(self.mass, self.n("canopy.rate"), self.density)
        return self.cd.map(lambda cd: sqrt(needed / cd / unit_area))

    # --- masses ---

    @cached_property
    def cloth_mass_per_area(self) -> float:
        return read(CLOTHS[self.rig.text("canopy.cloth")]["mass"], CLOTH_MASS)

    @cached_property
    def line_mass(self) -> float:
        return self.lines * self.n("lines.length") * self.n("lines.mass")

    @cached_property
    def cloth_mass(self) -> float:
        """Mass of the canopy without its lines [kg]: weighed, or cloth with two turned-in edges along each seam."""
        weighed = self.rig.optional("canopy.mass")
        if weighed is not None:
            return weighed - self.line_mass
        return self._cloth_mass_of(self.shape) if self.shape else self.area * self.cloth_mass_per_area

    def cloth_mass_at(self, size: float) -> float:
        """Mass of the cloth [kg] were the canopy of another size [m]; a weighed one in proportion to its area."""
        if self.rig.optional("canopy.mass") is None:
            return self._cloth_mass_of(self.shape_of(size))
        return self.cloth_mass * self.shape_of(size).nominal_area / self.area

    def _cloth_mass_of(self, shape: Shape) -> float:
        return (shape.cloth_area + 2 * self.n("canopy.seam") * shape.seams) * self.cloth_mass_per_area

    # --- bay and bundle ---

    @cached_property
    def cord_length(self) -> float:
        """All cord that is stowed: anchor to line attachment, and a forward leg if there is one [m]."""
        forward = self.rig.text("cord.layout") == TWO_SECTIONS
        return self.n("cord.length") + (self.n("cord.gap") if forward else 0.0)

    @cached_property
    def cord_bulk(self) -> float:
        """Volume of all stowed cord as it lies flat [m^3]."""
        return self.cord_length * self.n("cord.width") * self.n("cord.thickness")

    @cached_property
    def line_bulk(self) -> float:
        """Volume of all lines [m^3]."""
        line = self.n("lines.diameter")
        return self.lines * self.n("lines.length") * PI * line * line / 4

    @cached_property
    def beside(self) -> float:
        """Diameter of what stands in the bay beside the canopy [m], 0 for nothing."""
        return self.rig.optional("pack.beside") or 0.0

    @cached_property
    def clear_tube(self) -> float:
        """Diameter of the round room the bundle has [m]: the tube, or what a post beside it leaves."""
        return self.n("rocket.tube") - self.beside

    @cached_property
    def section(self) -> float:
        """Free section of the bay [m^2]."""
        return packing.free_section(self.n("rocket.tube"), self.beside)

    @cached_property
    def other_items(self) -> tuple[tuple[Item, ...], tuple[Item, ...]]:
        """What lies below and above the bundle, bottom to top. A protector stands on the charge's side."""
        fill, below = self.n("pack.fill"), self.n("pack.below")
        cord_height = packing.loose_height(self.cord_bulk, self.section, fill)
        protector = Item("protector", self.rig.text("pack.protector"), self.n("pack.protector_depth"))
        first, rest = Item("cord", FIRST_CORD, cord_height * below), Item("cord", REST_CORD, cord_height * (1 - below))
        lines = Item("lines", "lines", packing.loose_height(self.line_bulk, self.section, fill))
        shoulder = Item("shoulder", "shoulder", self.n("rocket.shoulder"))
        if self.rig.text("pack.layout") == CHARGE_ABOVE:
            return (first,), (lines, rest, protector, shoulder)
        return (protector, first), (lines, rest, shoulder)

    @cached_property
    def left_for_bundle(self) -> float:
        """Bay depth less all other items [m]; negative when they alone are too much."""
        lower, upper = self.other_items
        return self.n("rocket.bay") - sum(item.height for item in lower + upper)

    @cached_property
    def room(self) -> float:
        """Height of tube that is left for the bundle [m], never below zero."""
        return max(0.0, self.left_for_bundle)

    @cached_property
    def fold_steps(self) -> tuple[Step, ...]:
        """All acts from laying out to the strip that fits the tube, without the shortening; () without a shape."""
        if not self.shape:
            return ()
        wedge = folding.to_wedge(self.family, self.shape, self.lines, self.ratio)
        return wedge + folding.to_strip(wedge[-1], self.clear_tube * self.n("pack.clearance"))

    @cached_property
    def bundle(self) -> Bundle:
        """The finished bundle; a canopy without a shape is a cylinder as wide as the tube lets it be."""
        tube, share = self.clear_tube, self.n("pack.clearance")
        volume = self.cloth_mass / self.n("pack.density")
        if not self.fold_steps:
            length = 4 * volume / (PI * tube * tube * share * share)
            return folding.bundle(length, 0.0, volume, tube, self.room, share)
        strip = folding.levelled(self.fold_steps[-1])
        return folding.bundle(strip.length, strip.width, volume, tube, self.room, share, self.halving)

    @cached_property
    def shortening(self) -> tuple[Step, ...]:
        """The acts that make the strip as short as the bay wants it; () when it is short enough."""
        if not self.fold_steps or self.bundle.parts == 1:
            return ()
        last = self.fold_steps[-1]
        strip = folding.levelled(last)
        if self.halving:
            return folding.doubled(strip, last.layers, self.bundle.parts)
        return (folding.shortened(strip, last.layers, self.bundle.parts),)

    @cached_property
    def halving(self) -> bool:
        return self.rig.text("pack.shortening") == HALVING

    @cached_property
    def stack(self) -> Stack:
        lower, upper = self.other_items
        return packing.stack(
            (*lower, Item("bundle", "canopy bundle", self.bundle.length), *upper), self.n("rocket.bay")
        )

    # --- cord ---

    @cached_property
    def gap(self) -> float:
        return 0.0 if self.rig.text("cord.layout") == NOSE_AT_LINES else self.n("cord.gap")

    @cached_property
    def least_cord(self) -> float:
        """Least cord, anchor to line attachment; a forward leg is not part of it [m]."""
        along = self.rig.text("cord.layout") == NOSE_ALONG
        return cord.least_length(self.n("lines.length"), self.n("rocket.bay"), self.gap if along else 0.0)

    @cached_property
    def hanging(self) -> cord.Hanging:
        return cord.hanging(self.n("cord.length"), self.n("rocket.bay"), self.gap, self.n("nose.length"))

    # --- coming down ---

    @cached_property
    def recovery(self) -> str:
        return self.rig.text("flight.recovery")

    @cached_property
    def mass(self) -> float:
        """What hangs under the main canopy [kg]."""
        parted = self.n("second.mass") if self.recovery == TWO_PARTS else 0.0
        return self.n("rocket.mass") - parted

    @cached_property
    def main(self) -> Canopy:
        row = FAMILIES.get(self.family)
        return Canopy("main" if self.recovery == DROGUE_MAIN else "canopy", self.area, self.drag_area, self.lines, row)

    @cached_property
    def second(self) -> Canopy | None:
        """The drogue, or the second part's canopy; None for one canopy."""
        if self.recovery == ONE_CANOPY:
            return None
        name = "drogue" if self.recovery == DROGUE_MAIN else "second canopy"
        family, lines = self.rig.text("second.family"), int(self.n("second.lines"))
        if family == MEASURED:
            low, high, area = self.n("second.cd_low"), self.n("second.cd_high"), self.n("second.area")
            return Canopy(name, area, Spread(low * area, (low + high) / 2 * area, high * area), lines, None)
        size, row = self.n("second.size"), FAMILIES[family]
        area = {
            "flat polygon": lambda: canopy.flat_polygon(lines, size),
            "flat circular": lambda: canopy.flat_circular(lines, size),
            "hemispherical": lambda: canopy.hemispherical(lines, size),
            "cross": lambda: canopy.cross(size, 1 / 3),
        }[family]().nominal_area
        cd = row["cd"]
        return Canopy(name, area, Spread(cd["low"] * area, cd["best"] * area, cd["high"] * area), lines, row)

    @cached_property
    def second_mass(self) -> float:
        """What hangs under the second canopy while it is the only one [kg]."""
        return self.n("second.mass") if self.recovery == TWO_PARTS else self.n("rocket.mass")

    @cached_property
    def second_rate(self) -> Spread | None:
        """Rate of the drogue, or of the second part, referred to the air at the field [m/s]."""
        if not self.second:
            return None
        return self.second.drag_area.map(lambda area: canopy.terminal_rate(self.second_mass, area, self.density))

    @cached_property
    def top(self) -> float:
        """Height at which the first canopy opens [m above the field]."""
        return self.n("flight.apogee") if self.recovery == DROGUE_MAIN else self.n("flight.release")

    @cached_property
    def release_speed(self) -> float:
        """Speed when the first canopy opens, the charge early or late [m/s]."""
        return opening.late_release_speed(self.n("flight.forward_speed"), self.n("flight.delay"))

    def openings(self, pick: Callable[[Spread], float], filling: float = 1.0) -> list[Opening]:
        """The openings on the main body's way down; `pick` takes low, best or high of each drag area.

        filling: the filling constants' share of their table value.
        """
        main = self.main.opening(self.n("flight.release"), pick, filling)
        if self.recovery != DROGUE_MAIN or not self.second:
            return [main]
        first = self.second.opening(self.n("flight.apogee"), pick, filling)
        # the drogue stays open beside the main, whose drag area is counted whole on top of it
        return [first, main]

    def way_down(self, pick: Callable[[Spread], float] = best_of, filling: float = 1.0) -> Run:
        """The full run with gravity of what hangs under the main."""
        return motion.run(
            self.mass, self.openings(pick, filling), self.release_speed, self.n("site.elevation"), self.air
        )

    @cached_property
    def run(self) -> Run:
        return self.way_down()

    @cached_property
    def hardest_run(self) -> Run:
        """Largest drag areas, filling a quarter sooner: the scatter handbooks give."""
        return self.way_down(lambda spread: spread.high, 1 - FILLING_SCATTER)

    @cached_property
    def second_runs(self) -> tuple[Run, Run] | None:
        """(best, hardest) run of the second part when two parts come down apart."""
        if self.recovery != TWO_PARTS or not self.second:
            return None
        return tuple(  # type: ignore[return-value]
            motion.run(
                self.second_mass,
                [self.second.opening(self.n("flight.release"), pick, filling)],
                self.release_speed,
                self.n("site.elevation"),
                self.air,
            )
            for pick, filling in ((best_of, 1.0), (lambda spread: spread.high, 1 - FILLING_SCATTER))
        )

    @cached_property
    def wind(self) -> Wind:
        if self.layered:
            return layered_wind(read_layers(self.rig.text("flight.layers")))
        degrees = POINTS.index(self.rig.text("flight.wind_from")) * 45.0
        return power_wind(self.n("flight.wind"), self.n("flight.exponent"), degrees)

    @cached_property
    def layered(self) -> bool:
        """Whether measured layers are given."""
        return bool(self.rig.text("flight.layers").strip())

    @cached_property
    def field(self) -> Field:
        return Field(*(self.n(f"site.{side}") for side in ("north", "east", "south", "west")))

    @cached_property
    def spreads(self) -> Spreads:
        area = self.drag_area
        return Spreads(
            (area.low / area.best, area.high / area.best),
            self.n("scatter.mass"),
            self.n("scatter.wind"),
            self.n("scatter.release"),
            self.n("scatter.direction"),
            self.n("flight.delay"),
        )

    @cached_property
    def column(self) -> Column:
        return descent.column(self.top, self.n("site.elevation"), self.air, self.wind)

    def phases(self, rate: float, second_rate: float) -> list[Phase]:
        """The main body's phases for rates referred to the ground [m/s]."""
        main = Phase(self.n("flight.release"), rate)
        return [Phase(self.n("flight.apogee"), second_rate), main] if self.recovery == DROGUE_MAIN else [main]

    @cached_property
    def landings(self) -> tuple[Landing, Landing, Landing]:
        """Of the main body, sinking steadily: fastest, best, slowest."""
        second = self.second_rate or self.rate
        return (
            descent.landing(self.column, self.phases(self.rate.high, second.high)),
            descent.landing(self.column, self.phases(self.rate.best, second.best)),
            descent.landing(self.column, self.phases(self.rate.low, second.low)),
        )

    # --- loads ---

    @cached_property
    def opening_loads(self) -> tuple[OpeningLoad, ...]:
        """Every canopy's opening, three ways."""
        made = []
        runs: list[tuple[Canopy, float, Stage, Stage]] = []
        if self.recovery == DROGUE_MAIN and self.second:
            runs.append((self.second, self.mass, self.run.stages[0], self.hardest_run.stages[0]))
        runs.append((self.main, self.mass, self.run.stages[-1], self.hardest_run.stages[-1]))
        if self.second_runs and self.second:
            best, hard = self.second_runs
            runs.append((self.second, self.second_mass, best.stages[0], hard.stages[0]))
        for cloth, mass, stage, hardest in runs:
            air = self.air.density(self.n("site.elevation") + stage.opened.height)
            book = opening.handbook_loads(
                mass, air, cloth.drag_area.best, cloth.diameter, max(stage.opened.speed, 0.1), cloth.filling, cloth.cx
            )
            made.append(OpeningLoad(cloth.name, stage, max(stage.peak.drag, hardest.peak.drag), book))
        return tuple(made)

    @cached_property
    def main_load(self) -> OpeningLoad:
        return next(load for load in self.opening_loads if load.name == self.main.name)

    @cached_property
    def line_material(self) -> tuple[float, float]:
        """(strength [N], stretch) of one line."""
        return self._material("lines", LINES)

    @cached_property
    def cord_material(self) -> tuple[float, float]:
        return self._material("cord", CORDS)

    def _material(self, group: str, rows: Mapping[str, Row]) -> tuple[float, float]:
        name = self.rig.text(f"{group}.material")
        if name == OWN:
            return self.n(f"{group}.rating"), self.n(f"{group}.stretch")
        return read(rows[name]["strength"], FORCE), rows[name]["stretch"]

    def end_efficiency(self, group: str) -> float:
        efficiency: float = ENDS[self.rig.text(f"{group}.end")]["efficiency"]
        return efficiency

    @cached_property
    def rest_mass(self) -> float:
        """What the nose parts from [kg]."""
        return self.n("rocket.mass") - self.n("nose.mass")

    @cached_property
    def snatch(self) -> float:
        """Snatch force at line stretch, the packed canopy taken to stop dead in the air: the safe side [N]."""
        strength, stretch = self.line_material
        speed = self.main_load.stage.opened.speed
        return opening.snatch_force(self.cloth_mass, speed, self.lines, strength, stretch, self.n("lines.length"))

    # --- joint ---

    @cached_property
    def pin_loads(self) -> tuple[float, float]:
        """Shear load of one pin, (least, greatest) of its material [N]."""
        row = PINS[self.rig.text("joint.pin")]
        diameter = read(row["diameter"], LENGTH)
        if "pitch" in row:
            area = separation.metric_minor_area(diameter, read(row["pitch"], LENGTH))
        else:
            area = separation.unified_minor_area(diameter, row["threads_per_inch"])
        low, high = (separation.pin_strength(area, read(text, BAY_PRESSURE)) for text in row["shear"])
        return low, high

    @cached_property
    def needed_pressure(self) -> float:
        """Pressure that parts the joint with margin [Pa]."""
        pins = int(self.n("joint.pins"))
        return separation.parting_pressure(self.n("joint.friction"), pins, self.pin_loads[1], self.n("rocket.tube"))

    @cached_property
    def pressure(self) -> float:
        """Pressure the charge is worked out for: what the reader wants, or what the joint needs, at least 10 kPa [Pa]."""
        return self.rig.optional("joint.pressure") or max(separation.LEAST_PRESSURE, self.needed_pressure)

    @cached_property
    def free_volume(self) -> Spread:
        """Air in the packed bay [m^3]: with all bulk taken off as it lies; half of it; only its solid matter taken off."""
        section = self.section
        bay = section * (self.n("rocket.bay") - self.n("rocket.shoulder"))
        bundle_bulk = self.cloth_mass / self.n("pack.density")
        solid = (self.cloth_mass + self.line_mass) / NYLON + self.cord_bulk / 2
        least = bay - self.cord_bulk - self.line_bulk - bundle_bulk - section * self.n("pack.protector_depth")
        most = bay - solid
        least = min(max(least, 0.1 * bay), most)
        return Spread(least, (least + most) / 2, most)

    @cached_property
    def parting_speed(self) -> float:
        """Speed at which nose and rest part, pressure held over one shoulder, at least half a tube: an estimate [m/s]."""
        return separation.parting_speed(
            self.pressure,
            self.n("joint.friction"),
            self.n("rocket.tube"),
            max(self.n("rocket.shoulder"), self.n("rocket.tube") / 2),
            self.n("nose.mass"),
            self.rest_mass,
        )

    @cached_property
    def free_cord(self) -> float:
        """Cord between nose and airframe [m]: all of it, less the gap, or both legs."""
        layout = self.rig.text("cord.layout")
        more = {NOSE_AT_LINES: 0.0, NOSE_ALONG: -self.gap, TWO_SECTIONS: self.gap}[layout]
        return self.n("cord.length") + more

    @cached_property
    def jerk(self) -> float:
        """Force in the cord when it stops the parted nose [N]."""
        strength, stretch = self.cord_material
        return chain.cord_jerk(
            self.parting_speed, self.n("nose.mass"), self.rest_mass, strength, stretch, self.free_cord
        )
