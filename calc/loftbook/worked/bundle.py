"""A canopy folded: to a strip, then to a slab for the room its bay leaves it, as large as it may get. SI."""

from dataclasses import dataclass, replace
from functools import cached_property

from loftbook.physics import folding, packing
from loftbook.physics.folding import Bundle, Fold, Sheet
from loftbook.physics.spread import Spread
from loftbook.rig.bay_fields import HALVING
from loftbook.tables import known
from loftbook.worked.canopy import Canopy


@dataclass(frozen=True)
class Laid:
    """A canopy's cloth as it is to be folded, whatever its room. clear: diameter of the round room it has there [m]."""

    canopy: Canopy
    clear: float

    @cached_property
    def share(self) -> float:
        """The part of the tube's diameter that the bundle may take."""
        return self.canopy.said.number("pack.clearance")

    @cached_property
    def halving(self) -> bool:
        return self.canopy.said.text("pack.shortening") == HALVING

    @cached_property
    def density(self) -> Spread:
        """Of the folded cloth [kg/m^3]: the reader's own, or the range of what is packed loosely."""
        own, row = self.own, known("loose_density")
        return own or Spread(row.low, (row.low + row.high) / 2, row.high)

    @cached_property
    def own(self) -> Spread | None:
        """The same as the reader measured it [kg/m^3], of one bundle or of several; None where they did not."""
        least, most = self.canopy.said.optional("pack.density"), self.canopy.said.optional("pack.density_most")
        return None if least is None else Spread(least, (least + (most or least)) / 2, most or least)

    def volume(self, scale: float = 1.0) -> float:
        """Bulk of the cloth [m^3] at the least density, were the canopy `scale` times as wide."""
        return self._volume if scale == 1.0 else self.canopy.cloth_mass_at(scale * self.canopy.size) / self.density.low

    @cached_property
    def _volume(self) -> float:
        return self.canopy.cloth_mass / self.density.low

    @cached_property
    def wedge(self) -> tuple[float, float, int] | None:
        """Length and width of what the first folds make of it [m], and its layers; None without a shape."""
        one = self.canopy
        if not one.shape:
            return None
        long, wide, layers = folding.measures(one.family, one.shape_of(1.0), one.lines, one.ratio)  # it only grows with the size
        return long * one.size, wide * one.size, layers

    def bundle(self, room: float, scale: float = 1.0) -> Bundle:
        """The bundle in a room of that length [m], were the canopy `scale` times as wide; without a shape gathered round."""
        volume = self.volume(scale)
        if not self.wedge:
            return folding.gathered(volume, self.clear, room, self.share)
        long, wide, layers = self.wedge
        return folding.bundle((long * scale, wide * scale, layers), volume, self.clear, room, self.share, self.halving)


@dataclass(frozen=True)
class Folded:
    """Cloth made a bundle.

    left: the length that the bay leaves for it [m], negative where all else is too much; used: as much of that as it was
    folded for, so that some of the bay stays empty.
    """

    laid: Laid
    left: float
    used: float

    @property
    def canopy(self) -> Canopy:
        return self.laid.canopy

    @property
    def clear(self) -> float:
        """Diameter of the round room the tube has for it [m]."""
        return self.laid.clear

    @property
    def share(self) -> float:
        """The part of that which the bundle may take."""
        return self.laid.share

    @property
    def room(self) -> float:
        """Length of tube for the bundle [m], never below zero."""
        return max(0.0, self.left)

    @cached_property
    def volume(self) -> float:
        """Bulk of the cloth [m^3], the most it may be."""
        return self.laid.volume()

    @cached_property
    def bundle(self) -> Bundle:
        return replace(self.laid.bundle(max(0.0, self.used)), room=self.room)

    @cached_property
    def _made(self) -> tuple[tuple[Fold, ...], tuple[Fold, ...]]:
        one, b = self.canopy, self.bundle
        if not one.shape:
            return (), ()
        return folding.folded(one.family, one.shape, one.lines, one.ratio, (b.lengthwise, b.parts), self.laid.halving)

    @property
    def to_strip(self) -> tuple[Fold, ...]:
        """All folds from laying out to the strip, without the shortening; () without a shape."""
        return self._made[0]

    @property
    def shortening(self) -> tuple[Fold, ...]:
        """The folds that make the strip as short as the bay wants it; () when it is short enough."""
        return self._made[1]

    @property
    def folds(self) -> tuple[Fold, ...]:
        """All folds, the shortening included."""
        return self.to_strip + self.shortening

    def thickness(self, strip: Sheet) -> float:
        """Of the pile when it lies as a strip or a bundle [m]: the bulk of the cloth spread over it."""
        return self.volume / (strip.length * strip.width)

    # --- what is wound round it ---

    @property
    def line_turns(self) -> float:
        return self.canopy.said.number("pack.line_turns")

    @property
    def cord_turns(self) -> float:
        return self.canopy.said.number("pack.cord_turns")

    @property
    def wound(self) -> float:
        """Length of line that the turns take up [m]."""
        return packing.line_used(self.line_turns, self.bundle.girth)
