"""A canopy as built: its shape, area, drag, cloth, lines and mass, and how fast what it carries sinks under it. SI."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

from loftbook.physics import canopy
from loftbook.physics.canopy import Shape
from loftbook.physics.elementary import PI, sqrt
from loftbook.physics.motion import Opening
from loftbook.physics.spread import Spread
from loftbook.rig.bay_fields import ACROSS_CORNERS, MEASURED, OWN, OWN_CLOTH
from loftbook.rig.rig import Said
from loftbook.tables import CLOTHS, ENDS, FAMILIES, LINES, Cloth, Family
from loftbook.tables import MEASURED as BY_READER
from loftbook.worked.sky import Sky

# How many times faster or slower than its family's table lets it a measured canopy may sink: beyond the first it is looked at again,
# beyond the second it is not believed (our choice: bodies that hang broadside, lines and cloth change a rate by a tenth or so).
STRANGE, UNBELIEVABLE = 1.15, 1.3
_RATIOS = {"semi-ellipsoid": "canopy.height_ratio", "cross": "canopy.panel_ratio", "annular": "canopy.hole_ratio"}


@dataclass(frozen=True)
class Canopy:
    """said: what the rig says of it; name: what readers call it; carries: mass that hangs under it [kg]."""

    said: Said
    name: str
    sky: Sky
    carries: float

    @property
    def key(self) -> str:
        return self.said.key

    # --- shape and drag ---

    @property
    def family(self) -> str:
        return self.said.text("canopy.family")

    @property
    def lines(self) -> int:
        return int(self.said.number("canopy.sides"))

    @cached_property
    def ratio(self) -> float:
        """The family's own proportion: dome height, panel width or hole; 1 for the others."""
        return self.said.number(_RATIOS[self.family]) if self.family in _RATIOS else 1.0

    @property
    def vent(self) -> float:
        """Diameter of the hole at the apex over the size."""
        return self.said.optional("canopy.vent") or 0.0

    @cached_property
    def size(self) -> float:
        """Size as the family measures it [m], a polygon's from flat to flat."""
        typed = self.said.number("canopy.size")
        return self.size_of(typed)

    def size_of(self, typed: float) -> float:
        """The size [m] that a width measured the reader's way stands for."""
        corners = self.family == "flat polygon" and self.said.text("canopy.across") == ACROSS_CORNERS
        return canopy.across_flats(typed, self.lines) if corners else typed

    @cached_property
    def shape(self) -> Shape | None:
        """The canopy as built; None when only its area is known."""
        return None if self.family == MEASURED else self.shape_of(self.size)

    def shape_of(self, size: float) -> Shape:
        """The same family at another size [m]."""
        match self.family:
            case "flat polygon":
                return canopy.flat_polygon(self.lines, size, self.vent)
            case "flat circular":
                return canopy.flat_circular(self.lines, size, self.vent)
            case "conical":
                return canopy.conical(self.lines, size, self.said.number("canopy.slope"), self.vent)
            case "hemispherical":
                return canopy.hemispherical(self.lines, size, self.vent)
            case "semi-ellipsoid":
                return canopy.semi_ellipsoid(self.lines, size, self.ratio, self.vent)
            case "cross":
                return canopy.cross(size, self.ratio)
            case "annular":
                return canopy.annular(self.lines, size, self.ratio)
        raise KeyError(self.family)

    @cached_property
    def area(self) -> float:
        """S0 [m^2], the area the drag coefficient is referred to."""
        return self.shape.nominal_area if self.shape else self.said.number("canopy.area")

    @property
    def diameter(self) -> float:
        """D0 [m]."""
        return canopy.nominal_diameter(self.area)

    @property
    def row(self) -> Family | None:
        """Its row of the table; None when the reader measured it."""
        return FAMILIES.get(self.family)

    @cached_property
    def measured(self) -> Spread | None:
        """Cd of a known shape as its reader measured it, instead of the table's; None where nobody did."""
        low, high = self.said.optional("canopy.cd_measured_low"), self.said.optional("canopy.cd_measured_high")
        return None if low is None or high is None else Spread(low, (low + high) / 2, high)

    @cached_property
    def cd(self) -> Spread:
        """On S0, dimensionless."""
        if self.row:
            return self.measured or self.row.cd.spread
        low, high = self.said.number("canopy.cd_low"), self.said.number("canopy.cd_high")
        return Spread(low, (low + high) / 2, high)

    @cached_property
    def usual_drag(self) -> Spread:
        """Cd S0 [m^2] by the table of its family, whatever its reader measured; of an area of the reader's own by those of all families."""
        if self.row:
            return self.row.cd.spread.map(lambda cd: cd * self.area)
        low, high = min(row.cd.low for row in self._rows), max(row.cd.high for row in self._rows)
        return Spread(low, (low + high) / 2, high).map(lambda cd: cd * self.area)

    def strangeness(self, drag_area: float, beside: float) -> float:
        """How many times faster or slower a drag area [m^2] lets it sink than its family's table does anywhere, at least 1 (dimensionless).

        beside: drag area of what may have been open with it [m^2]. Rates go as one over the root of it: physics/canopy.py.
        """
        usual = self.usual_drag
        return max(1.0, sqrt(usual.low / drag_area), sqrt(drag_area / (usual.high + beside)))

    @property
    def cd_source(self) -> str:
        if self.row and not self.measured:
            return self.row.cd.cited
        flights = self.said.text("canopy.cd_measured_from").strip() if self.row else ""
        return f"{BY_READER.text}, {flights}" if flights else BY_READER.cited

    @cached_property
    def drag_area(self) -> Spread:
        """Cd S0 [m^2]."""
        return self.cd.map(lambda cd: cd * self.area)

    @cached_property
    def rate(self) -> Spread:
        """Steady rate of what it carries, in the air at the field [m/s]; least drag gives the greatest."""
        return self.drag_area.map(lambda area: canopy.terminal_rate(self.carries, area, self.sky.density))

    @cached_property
    def wanted_size(self) -> Spread | None:
        """Size [m] of this family that would come down at the wanted rate; None for a canopy without a shape."""
        if not self.shape:
            return None
        unit_area = self.shape_of(1.0).nominal_area
        needed = canopy.drag_area_for(self.carries, self.said.number("canopy.rate"), self.sky.density)
        return self.cd.map(lambda cd: sqrt(needed / cd / unit_area))

    # --- opening ---

    @property
    def cx(self) -> float:
        """Opening-force coefficient; of a measured canopy that of the hardest family carried."""
        return max(row.cx.high for row in self._rows)

    @property
    def filling(self) -> float:
        """Filling constant; of a measured canopy the shortest of the families carried."""
        return min(row.filling.value for row in self._rows)

    @property
    def filling_most(self) -> float:
        """The same at the upper end of its range: how long it may take."""
        return max(row.filling.high for row in self._rows)

    @property
    def inflated_least(self) -> float:
        """Projected diameter while open [m], low end: the safe side for the cloth."""
        return min(row.inflated.low for row in self._rows) * self.diameter

    @property
    def pulled_edge(self) -> float:
        """How much cloth the whole pull goes through [m], low end: round its widest place, of a cross the ends of its four arms."""
        around = PI * self.inflated_least
        return min(around, 4 * self.ratio * self.size) if self.family == "cross" else around

    @property
    def inflated_most(self) -> float:
        """Projected diameter while open [m], high end: the safe side for the lines."""
        return max(row.inflated.high for row in self._rows) * self.diameter

    @property
    def _rows(self) -> tuple[Family, ...]:
        return (self.row,) if self.row else tuple(FAMILIES.values())

    def opening(self, height: float, pick: Callable[[Spread], float], filling: float = 1.0) -> Opening:
        """Its opening at a height [m]; `pick` takes low, best or high drag, `filling` is a share of the constant."""
        return Opening(self.name, height, pick(self.drag_area), self.diameter, self.filling * filling)

    # --- cloth and lines ---

    @property
    def cloth(self) -> Cloth | None:
        """Its row of the table; None for a cloth of the reader's own."""
        return CLOTHS.get(self.said.text("canopy.cloth"))

    @property
    def cloth_mass_per_area(self) -> float:
        """[kg/m^2]."""
        return self.cloth.mass.value if self.cloth else self.said.number("canopy.cloth_mass")

    @property
    def cloth_strength(self) -> float | None:
        """Breaking strength over width [N/m]; None where it is not known."""
        if self.cloth:
            return self.cloth.strength.value if self.cloth.strength else None
        return self.said.optional("canopy.cloth_strength")

    @property
    def cloth_source(self) -> str:
        return self.cloth.mass.cited if self.cloth else f"{OWN_CLOTH}, weighed by you"

    @property
    def line_length(self) -> float:
        """[m]."""
        return self.said.number("lines.length")

    @property
    def line_strength(self) -> float:
        """Breaking strength of one line [N]."""
        own = self.said.text("lines.material") == OWN
        return self.said.number("lines.rating") if own else LINES[self.said.text("lines.material")].strength.value

    @property
    def line_stretch(self) -> float:
        """Stretch of a line at break, as a share."""
        own = self.said.text("lines.material") == OWN
        return self.said.number("lines.stretch") if own else LINES[self.said.text("lines.material")].stretch.value

    @property
    def line_source(self) -> str:
        row = LINES.get(self.said.text("lines.material"))
        return row.strength.cited if row else OWN

    @property
    def line_end(self) -> float:
        """Efficiency of the line's ends."""
        return ENDS[self.said.text("lines.end")].efficiency.value

    @cached_property
    def line_mass(self) -> float:
        """Of all lines [kg]."""
        return self.lines * self.line_length * self.said.number("lines.mass")

    @cached_property
    def line_bulk(self) -> float:
        """Volume of all lines [m^3]."""
        line = self.said.number("lines.diameter")
        return self.lines * self.line_length * PI * line * line / 4

    @cached_property
    def cloth_mass(self) -> float:
        """Mass of the canopy without its lines [kg]: weighed, or cloth with two turned-in edges along each seam."""
        weighed = self.said.optional("canopy.mass")
        if weighed is not None:
            return weighed - self.line_mass
        return self._cloth_mass_of(self.shape) if self.shape else self.area * self.cloth_mass_per_area

    @property
    def mass(self) -> float:
        """With its lines [kg]."""
        return self.cloth_mass + self.line_mass

    def cloth_mass_at(self, size: float) -> float:
        """Mass of the cloth [kg] were the canopy of another size [m]; a weighed one in proportion to its area."""
        if self.said.optional("canopy.mass") is None:
            return self._cloth_mass_of(self.shape_of(size))
        return self.cloth_mass * self.shape_of(size).nominal_area / self.area

    def _cloth_mass_of(self, shape: Shape) -> float:
        return (shape.cloth_area + 2 * self.said.number("canopy.seam") * shape.seams) * self.cloth_mass_per_area
