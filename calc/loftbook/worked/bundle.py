"""A canopy folded for the room its bay leaves it: every fold, the bundle, and what would make it fit. SI."""

from dataclasses import dataclass
from functools import cached_property

from loftbook.physics import folding
from loftbook.physics.elementary import PI
from loftbook.physics.folding import Bundle, Fold
from loftbook.rig.bay_fields import HALVING
from loftbook.worked.canopy import Canopy


@dataclass(frozen=True)
class Folded:
    """canopy; clear: diameter of the round room the tube has for it [m]; left: length the bay leaves it [m], negative if none."""

    canopy: Canopy
    clear: float
    left: float

    @property
    def room(self) -> float:
        """Length of tube for the bundle [m], never below zero."""
        return max(0.0, self.left)

    @property
    def share(self) -> float:
        """The part of the tube's diameter that the bundle may take."""
        return self.canopy.said.number("pack.clearance")

    @cached_property
    def volume(self) -> float:
        """Bulk of the cloth [m^3]."""
        return self.canopy.cloth_mass / self.canopy.said.number("pack.density")

    @property
    def halving(self) -> bool:
        return self.canopy.said.text("pack.shortening") == HALVING

    @cached_property
    def to_strip(self) -> tuple[Fold, ...]:
        """All folds from laying out to the strip that fits the tube, without the shortening; () without a shape."""
        shape = self.canopy.shape
        if not shape:
            return ()
        wedge = folding.to_wedge(self.canopy.family, shape, self.canopy.lines, self.canopy.ratio)
        return wedge + folding.to_strip(wedge[-1], self.clear * self.share)

    @cached_property
    def bundle(self) -> Bundle:
        """The finished bundle; a canopy without a shape is a cylinder as wide as the tube lets it be."""
        if not self.to_strip:
            widest = self.clear * self.share
            length = 4 * self.volume / (PI * widest * widest)
            return folding.bundle(length, 0.0, self.volume, self.clear, self.room, self.share)
        strip = folding.levelled(self.to_strip[-1])
        return folding.bundle(
            strip.length, strip.width, self.volume, self.clear, self.room, self.share, self.halving
        )

    @cached_property
    def shortening(self) -> tuple[Fold, ...]:
        """The folds that make the strip as short as the bay wants it; () when it is short enough."""
        if not self.to_strip or self.bundle.parts == 1:
            return ()
        last = self.to_strip[-1]
        strip = folding.levelled(last)
        if self.halving:
            return folding.doubled(strip, last.layers, self.bundle.parts)
        return (folding.shortened(strip, last.layers, self.bundle.parts),)

    @property
    def folds(self) -> tuple[Fold, ...]:
        """All folds, the shortening included."""
        return self.to_strip + self.shortening

    @cached_property
    def largest_that_fits(self) -> float | None:
        """Largest size [m] of the family that fits tube and bay, in steps of 2 %; None when not even a tenth does."""
        if not self.canopy.shape or self.room <= 0:
            return None
        strip = folding.levelled(self.to_strip[-1])
        for i in range(1, 46):
            k = 1 - i / 50
            size = self.canopy.size * k
            volume = self.canopy.cloth_mass_at(size) / self.canopy.said.number("pack.density")
            fitted = folding.bundle(
                strip.length * k, strip.width * k, volume, self.clear, self.room, self.share, self.halving
            )
            if fitted.fits:
                return size
        return None
