"""The same things in a bay, put in wrongly: what the pictures of mistakes are drawn from. SI."""

from collections.abc import Callable
from dataclasses import replace

from loftbook.physics import packing
from loftbook.physics.folding import Bundle
from loftbook.physics.packing import Item, Stack
from loftbook.worked.bay import Bay, depth_for
from loftbook.worked.bundle import Folded


def right(bay: Bay) -> Stack:
    """Everything as it is to lie, where there is room for it: of a bay that no depth helps, no bundle wider than the tube."""
    items = [replace(lying.item, width=min(lying.item.width, bay.clear_tube)) for lying in bay.stack.layers]
    if bay.stack.spare >= 0:
        return packing.stack(items, bay.depth)
    filled = sum(item.height for item in items)
    return packing.stack(items, depth_for(filled))


def _moved(bay: Bay, which: Callable[[Item], bool], place: Callable[[list[Item]], int]) -> Stack:
    """One thing put elsewhere: `place` finds its index among the others."""
    stack = right(bay)
    items = [lying.item for lying in stack.layers]
    moved = next(item for item in items if which(item))
    others = [item for item in items if item is not moved]
    at = place(others)
    return packing.stack([*others[:at], moved, *others[at:]], stack.bay)


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
    return b if b.diagonal <= b.widest else _swollen(b, (1 - 1e-9) * b.widest)


def _swollen(bundle: Bundle, diagonal: float) -> Bundle:
    """The same as wide and thick as makes its diagonal so long [m]."""
    more = diagonal / bundle.diagonal
    return replace(bundle, width=more * bundle.width, thickness=more * bundle.thickness)
