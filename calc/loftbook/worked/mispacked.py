"""The same things in a bay, put in wrongly: what the pictures of mistakes are drawn from. SI."""

from collections.abc import Callable
from dataclasses import replace

from loftbook.physics import packing
from loftbook.physics.folding import Bundle
from loftbook.physics.packing import Item, Stack
from loftbook.tables import known
from loftbook.worked.bay import Bay
from loftbook.worked.bundle import Folded


def depth(bay: Bay) -> float:
    """Depth of a bay in which all that lies in this one has room and enough stays empty [m]: its own where that is so."""
    if bay.roomy:
        return bay.depth
    filled = sum(lying.item.height for lying in bay.stack.layers)
    return max(bay.depth, packing.deep_enough(filled, known("spare").number("share"), known("spare").low))


def right(bay: Bay) -> Stack:
    """Everything as it is to lie, where there is room for it."""
    return packing.stack([lying.item for lying in bay.stack.layers], depth(bay))


def _moved(bay: Bay, which: Callable[[Item], bool], place: Callable[[list[Item]], int]) -> Stack:
    """One thing put elsewhere: `place` finds its index among the others."""
    items = [lying.item for lying in bay.stack.layers]
    moved = next(item for item in items if which(item))
    others = [item for item in items if item is not moved]
    at = place(others)
    return packing.stack([*others[:at], moved, *others[at:]], depth(bay))


def lines_under(bay: Bay, canopy: str) -> Stack:
    """A canopy's lines under its bundle."""

    def own(kind: str) -> Callable[[Item], bool]:
        return lambda item: item.kind == kind and item.owner == canopy

    return _moved(bay, own("lines"), lambda others: next(i for i, item in enumerate(others) if own("bundle")(item)))


def protector_away(bay: Bay) -> Stack:
    """The protector at the end away from the charge: at the bottom, or right under the shoulder."""
    return _moved(
        bay, lambda item: item.kind == "protector", lambda others: 0 if bay.charge_above else len(others) - 1
    )


def raised(bay: Bay) -> Stack:
    """So much below everything that it would end at the mouth without its lines, where the shoulder belongs."""
    items = [lying.item for lying in bay.stack.layers]
    lift = bay.depth - sum(item.height for item in items if item.kind not in ("lines", "shoulder"))
    return packing.stack([Item("spare", "too much below", max(0.0, lift)), *items], bay.depth)


def tight(folded: Folded) -> Bundle:
    """A bundle from wall to wall."""
    return _swollen(folded.bundle, folded.clear)


def loose(folded: Folded) -> Bundle:
    """A bundle no wider than it may be."""
    b = folded.bundle
    return _swollen(b, min(b.diagonal, b.widest))


def _swollen(bundle: Bundle, diagonal: float) -> Bundle:
    """The same as wide and thick as makes its diagonal so long [m]."""
    more = diagonal / bundle.diagonal
    return replace(bundle, width=more * bundle.width, thickness=more * bundle.thickness)
