"""A canopy measured at the table: both widths of a polygon, its gores, its lines against it, the size that is wanted. SI."""

from dataclasses import dataclass
from functools import cached_property

from loftbook.physics import canopy
from loftbook.physics.spread import Spread
from loftbook.rig.bay_fields import ACROSS_CORNERS
from loftbook.worked.canopy import Canopy


@dataclass(frozen=True)
class Sewn:
    canopy: Canopy

    @property
    def polygon(self) -> bool:
        return self.canopy.family == "flat polygon"

    @property
    def by_corners(self) -> bool:
        """Whether its reader measures it from corner to corner."""
        return self.polygon and self.canopy.said.text("canopy.across") == ACROSS_CORNERS

    @property
    def flats(self) -> float | None:
        """Width of a polygon from flat to flat [m], None for the others."""
        return self.canopy.size if self.polygon else None

    @property
    def corners(self) -> float | None:
        """Width of a polygon from corner to corner [m], None for the others and for an odd number of sides."""
        shape = self.canopy.shape
        return 2 * shape.edge_radius if shape and self.polygon and self.canopy.lines % 2 == 0 else None

    @property
    def gore_length(self) -> float | None:
        """Apex to skirt along the cloth [m]."""
        return self.canopy.shape.gore_length if self.canopy.shape else None

    @property
    def gore_width(self) -> float | None:
        """Of a gore at the skirt [m]; a cross has none."""
        shape = self.canopy.shape
        return shape.skirt / shape.gores if shape and self.canopy.family != "cross" else None

    @property
    def cut_length(self) -> float | None:
        """Of a gore with an allowance at both ends [m]; a cross has none."""
        shape = self.canopy.shape
        if not shape or self.canopy.family == "cross":
            return None
        return shape.gore_length + 2 * self.canopy.said.number("canopy.seam")

    @property
    def line_over_diameter(self) -> float:
        """Length of a line over D0 (dimensionless)."""
        return self.canopy.line_length / self.canopy.diameter

    @property
    def line_over_width(self) -> float:
        """Length of a line over the canopy's size, over D0 where only its area is known (dimensionless)."""
        return self.canopy.line_length / (self.canopy.size if self.canopy.shape else self.canopy.diameter)

    @property
    def wanted_drag_area(self) -> float:
        """Cd S0 [m^2] that would bring it down at the wanted rate."""
        one = self.canopy
        return canopy.drag_area_for(one.carries, one.said.number("canopy.rate"), one.sky.density)

    @cached_property
    def wanted_size(self) -> Spread | None:
        """Size [m] for the wanted rate, as its reader measures it: what to type as the size. None without a shape."""
        one = self.canopy
        if not one.wanted_size or not self.by_corners:
            return one.wanted_size
        typed = one.said.number("canopy.size")
        return one.wanted_size.map(lambda size: size * typed / one.size)
