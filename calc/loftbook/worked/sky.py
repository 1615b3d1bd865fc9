"""The air of the day over the field: its density, its wind, and the edges of the field below it. SI."""

from dataclasses import dataclass
from functools import cached_property

from loftbook.physics.atmosphere import Air
from loftbook.physics.elementary import sqrt
from loftbook.physics.scatter import Ground
from loftbook.physics.wind import POINTS, REFERENCE, Wind, layered_wind, power_wind
from loftbook.rig.layers import read_layers
from loftbook.rig.rig import Rig


@dataclass(frozen=True)
class Sky:
    """What the air does at one field on one day."""

    rig: Rig

    @property
    def elevation(self) -> float:
        """Height of the field above sea level [m]."""
        return self.rig.number("site.elevation")

    @cached_property
    def air(self) -> Air:
        return Air.at_site(self.elevation, self.rig.number("site.warmer"), self.rig.optional("site.pressure"))

    @cached_property
    def density(self) -> float:
        """Air density at the field [kg/m^3]."""
        return self.air.density(self.elevation)

    @cached_property
    def layered(self) -> bool:
        """Whether measured layers of wind are given."""
        return bool(self.rig.text("flight.layers").strip())

    @cached_property
    def wind(self) -> Wind:
        if self.layered:
            return layered_wind(read_layers(self.rig.text("flight.layers")))
        degrees = POINTS.index(self.rig.text("flight.wind_from")) * 45.0
        return power_wind(self.rig.number("flight.wind"), self.rig.number("flight.exponent"), degrees)

    @cached_property
    def bends(self) -> tuple[float, ...]:
        """Heights at which the measured wind bends [m]; none of a power law."""
        return tuple(layer.height for layer in read_layers(self.rig.text("flight.layers"))) if self.layered else ()

    @cached_property
    def launch_wind(self) -> float:
        """Wind at ten metres [m/s]: what was typed, or the measured layers there if they blow harder."""
        typed = self.rig.number("flight.wind")
        if not self.layered:
            return typed
        east, north = self.wind(REFERENCE)
        return max(typed, sqrt(east * east + north * north))

    @cached_property
    def ground(self) -> Ground:
        """The edges of the field."""
        return Ground(*(self.rig.number(f"site.{side}") for side in ("north", "east", "south", "west")))
