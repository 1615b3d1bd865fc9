"""A canopy folded: to a strip that the tube lets through, then to a bundle for the room its bay leaves it. SI."""

from dataclasses import dataclass
from functools import cached_property

from loftbook.physics import folding, packing
from loftbook.physics.elementary import PI
from loftbook.physics.folding import Bundle, Fold, Sheet
from loftbook.rig.bay_fields import HALVING
from loftbook.worked.canopy import Canopy

_HAIR = 1e-9  # by so much a bundle that is to be just as wide as it may is narrower, that no last digit decides


@dataclass(frozen=True)
class Strip:
    """A canopy folded narrow enough for the tube, whatever its room. clear: diameter of the round room it has there [m]."""

    canopy: Canopy
    clear: float

    @property
    def share(self) -> float:
        """The part of the tube's diameter that the bundle may take."""
        return self.canopy.said.number("pack.clearance")

    @property
    def halving(self) -> bool:
        return self.canopy.said.text("pack.shortening") == HALVING

    @cached_property
    def folds(self) -> tuple[Fold, ...]:
        """From laying out to the strip; () without a shape."""
        shape = self.canopy.shape
        if not shape:
            return ()
        wedge = folding.to_wedge(self.canopy.family, shape, self.canopy.lines, self.canopy.ratio)
        return wedge + folding.to_strip(wedge[-1], self.clear * self.share)

    @cached_property
    def sheet(self) -> Sheet:
        """What lies there after them."""
        return folding.levelled(self.folds[-1])

    def volume(self, scale: float = 1.0) -> float:
        """Bulk of the cloth [m^3], were the canopy `scale` times as wide."""
        one = self.canopy
        mass = one.cloth_mass if scale == 1.0 else one.cloth_mass_at(scale * one.size)
        return mass / one.said.number("pack.density")

    def bundle(self, room: float, scale: float = 1.0) -> Bundle:
        """The bundle in a room of that length [m], were the canopy and so its strip `scale` times as wide.

        A canopy without a shape is a cylinder as wide as the tube lets it be.
        """
        volume = self.volume(scale)
        if not self.folds:
            widest = self.clear * self.share * (1 - _HAIR)
            return folding.bundle(4 * volume / (PI * widest * widest), 0.0, volume, self.clear, room, self.share)
        long, wide = self.sheet.length * scale, self.sheet.width * scale
        return folding.bundle(long, wide, volume, self.clear, room, self.share, self.halving)


@dataclass(frozen=True)
class Folded:
    """A strip made a bundle. left: the length that the bay leaves for it [m], negative where all else is too much."""

    strip: Strip
    left: float

    @property
    def canopy(self) -> Canopy:
        return self.strip.canopy

    @property
    def clear(self) -> float:
        """Diameter of the round room the tube has for it [m]."""
        return self.strip.clear

    @property
    def share(self) -> float:
        """The part of that which the bundle may take."""
        return self.strip.share

    @property
    def room(self) -> float:
        """Length of tube for the bundle [m], never below zero."""
        return max(0.0, self.left)

    @cached_property
    def volume(self) -> float:
        """Bulk of the cloth [m^3]."""
        return self.strip.volume()

    @property
    def to_strip(self) -> tuple[Fold, ...]:
        """All folds from laying out to the strip, without the shortening; () without a shape."""
        return self.strip.folds

    @cached_property
    def bundle(self) -> Bundle:
        return self.strip.bundle(self.room)

    @cached_property
    def shortening(self) -> tuple[Fold, ...]:
        """The folds that make the strip as short as the bay wants it; () when it is short enough."""
        if not self.to_strip or self.bundle.parts == 1:
            return ()
        layers = self.to_strip[-1].layers
        if self.strip.halving:
            return folding.doubled(self.strip.sheet, layers, self.bundle.parts)
        return (folding.shortened(self.strip.sheet, layers, self.bundle.parts),)

    @cached_property
    def folds(self) -> tuple[Fold, ...]:
        """All folds, the shortening included."""
        return self.to_strip + self.shortening

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
        return packing.line_used(self.line_turns, self.bundle.diameter)
