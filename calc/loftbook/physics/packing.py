"""The packed bay as a stack, bottom to top, and the wraps round the bundle.

Knows metres; knows nothing of words or pictures. Order of the bay: common practice, no source.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from loftbook.physics.elementary import PI

ItemKind = Literal["protector", "cord", "bundle", "device", "lines", "shoulder", "spare"]


@dataclass(frozen=True)
class Item:
    """One thing in the bay and the height of tube it takes [m]; owner: the canopy it belongs to, "" for the bay itself.

    width: of what does not reach from wall to wall [m], 0 for what does.
    """

    kind: ItemKind
    name: str
    height: float
    owner: str = ""
    width: float = 0.0


@dataclass(frozen=True)
class Lying:
    """An item where it lies: bottom and top above the bay's floor [m]."""

    item: Item
    bottom: float
    top: float


@dataclass(frozen=True)
class Stack:
    """All layers; spare: what is left between the top of the stack and the shoulder [m], negative if too much."""

    layers: tuple[Lying, ...]
    bay: float
    spare: float

    def depth_below_mouth(self, kind: ItemKind, owner: str) -> float:
        """Depth of the top of an owner's first item of that kind below the mouth, everything resting on the floor [m]."""
        found = (lying.top for lying in self.layers if lying.item.kind == kind and lying.item.owner == owner)
        return self.bay - next(found)


def free_section(tube: float, beside: float = 0.0) -> float:
    """Section [m^2] of a tube of inner diameter `tube`, less that of a round post `beside` standing in it [m]."""
    return PI * (tube * tube - beside * beside) / 4


def loose_height(volume: float, section: float, fill: float) -> float:
    """Height [m] that loose cord or line of solid `volume` [m^3] takes in a tube of free `section` [m^2].

    volume / (section x fill), fill being the share of the section really filled.
    """
    return volume / (section * fill)


def stack(items: Sequence[Item], bay: float) -> Stack:
    """Lay `items` (bottom first, shoulder last) into a bay of depth `bay` [m]. The shoulder hangs from the mouth."""
    layers, top = [], 0.0
    for item in items:
        bottom = bay - item.height if item.kind == "shoulder" else top
        layers.append(Lying(item, bottom, bottom + item.height))
        top = bottom + item.height
    return Stack(tuple(layers), bay, bay - sum(item.height for item in items))


def line_used(turns: float, girth: float) -> float:
    """Length of line [m] that `turns` round a bundle take up; girth: once round it [m]."""
    return turns * girth


def to_stay_empty(bay: float, share: float, least: float) -> float:
    """How much of a bay's depth [m] is to stay empty: a share of it, and so much [m] at least (our choice)."""
    return max(share * bay, least)


def deep_enough(filled: float, share: float, least: float) -> float:
    """The least depth [m] of a bay for things that fill `filled` of it [m] and leave as much empty as they are to."""
    return max(filled / (1 - share), filled + least)
