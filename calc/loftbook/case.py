"""One rig worked through, each intermediate result once: calculators take what they show from here.

The chain of dependence is the order of the properties: air, canopy, rate; then what lies in the bay, the room it
leaves, the folded strip, the bundle, the stack; then the cord.
"""

from dataclasses import dataclass
from functools import cached_property

from loftbook import canopy, cord, descent, folding, packing
from loftbook.atmosphere import Air
from loftbook.canopy import Shape
from loftbook.elementary import PI, sqrt
from loftbook.fields import MEASURED, NOSE_ALONG, NOSE_AT_LINES, TWO_SECTIONS
from loftbook.folding import Bundle, Step
from loftbook.packing import Item, Stack
from loftbook.quantity import CLOTH_MASS, Kind, read, show
from loftbook.rig import Rig
from loftbook.spread import Spread
from loftbook.tables import CANOPY_SOURCES, CLOTHS, FAMILIES


@dataclass(frozen=True)
class Case:
    """A rig and everything computed from it. All values SI."""

    rig: Rig

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
        return self.drag_area.map(lambda area: canopy.terminal_rate(self.n("rocket.mass"), area, self.density))

    @cached_property
    def wanted_size(self) -> Spread | None:
        """Size [m] of this family that would come down at the wanted rate; None for a canopy without a shape."""
        if not self.shape:
            return None
        unit_area = self.shape_of(1.0).nominal_area
        needed = canopy.drag_area_for(self.n("rocket.mass"), self.n("canopy.rate"), self.density)
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

    def _cloth_mass_of(self, shape: Shape) -> float:
        return (shape.cloth_area + 2 * self.n("canopy.seam") * shape.seams) * self.cloth_mass_per_area

    # --- bay and bundle ---

    @cached_property
    def cord_length(self) -> float:
        """All cord that is stowed: anchor to line attachment, and a forward leg if there is one [m]."""
        forward = self.rig.text("cord.layout") == TWO_SECTIONS
        return self.n("cord.length") + (self.n("cord.gap") if forward else 0.0)

    def other_items(self, line_length: float) -> tuple[tuple[Item, ...], tuple[Item, ...]]:
        """What lies below and above the bundle."""
        tube, fill = self.n("rocket.tube"), self.n("pack.fill")
        section = self.n("cord.width") * self.n("cord.thickness")
        cord_height = packing.loose_height(self.cord_length * section, tube, fill)
        line_section = PI * self.n("lines.diameter") * self.n("lines.diameter") / 4
        below = self.n("pack.below")
        lower = (
            Item("protector", self.rig.text("pack.protector"), self.n("pack.protector_depth")),
            Item("cord", "cord, first part", cord_height * below),
        )
        upper = (
            Item("lines", "lines", packing.loose_height(self.lines * line_length * line_section, tube, fill)),
            Item("cord", "cord, the rest", cord_height * (1 - below)),
            Item("shoulder", "shoulder", self.n("rocket.shoulder")),
        )
        return lower, upper

    @cached_property
    def room(self) -> float:
        """Height of tube that is left for the bundle [m], never below zero."""
        lower, upper = self.other_items(self.n("lines.length"))
        return max(0.0, self.n("rocket.bay") - sum(item.height for item in lower + upper))

    @cached_property
    def fold_steps(self) -> tuple[Step, ...]:
        """All acts from laying out to the strip that fits the tube, without the shortening; () without a shape."""
        if not self.shape:
            return ()
        wedge = folding.to_wedge(self.family, self.shape, self.lines, self.ratio)
        return wedge + folding.to_strip(wedge[-1], self.n("rocket.tube") * self.n("pack.clearance"))

    @cached_property
    def bundle(self) -> Bundle:
        """The finished bundle; a canopy without a shape is a cylinder as wide as the tube lets it be."""
        tube, share = self.n("rocket.tube"), self.n("pack.clearance")
        volume = self.cloth_mass / self.n("pack.density")
        if not self.fold_steps:
            length = 4 * volume / (PI * tube * tube * share * share)
            return folding.bundle(length, 0.0, volume, tube, self.room, share)
        strip = folding.levelled(self.fold_steps[-1])
        return folding.bundle(strip.length, strip.width, volume, tube, self.room, share)

    @cached_property
    def shortening(self) -> Step | None:
        if not self.fold_steps or self.bundle.parts == 1:
            return None
        last = self.fold_steps[-1]
        return folding.shortened(folding.levelled(last), last.layers, self.bundle.parts)

    @cached_property
    def stack(self) -> Stack:
        lower, upper = self.other_items(self.n("lines.length"))
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

    def sinking(self, rate: float, release: float | None = None, nodes: int = 24) -> descent.Sinking:
        """Time and drift from the release height, or from another one, at a touchdown rate."""
        return descent.sink(
            rate,
            self.n("site.elevation"),
            self.n("flight.release") if release is None else release,
            self.air,
            self.n("flight.wind"),
            self.n("flight.exponent"),
            nodes,
        )
