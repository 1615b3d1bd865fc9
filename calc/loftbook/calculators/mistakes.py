"""What goes wrong, drawn from the reader's own rig, each beside its right way, with the check that catches it."""

from collections.abc import Callable
from dataclasses import replace

from loftbook.physics import packing
from loftbook.calculators.packing import PACKING
from loftbook.case import Case
from loftbook.answer import Answer, Calculator, Output, Pair, Value
from loftbook.drawing import pictures
from loftbook.drawing.svg import Drawing
from loftbook.fields import CHARGE_ABOVE
from loftbook.physics.packing import Item, ItemKind, Stack
from loftbook.quantity import COUNT, LENGTH


def _bay(case: Case, stack: Stack, told: str) -> Drawing:
    return pictures.packed_bay(stack, case.n("rocket.tube"), case.beside, lambda v: case.show(v, LENGTH), told)


def _moved(case: Case, kind: ItemKind, place: Callable[[list[Item]], int]) -> Stack:
    """The same things in the bay, one of them put elsewhere: `place` finds the index among the others."""
    items = [layer.item for layer in case.stack.layers]
    moved = next(item for item in items if item.kind == kind)
    others = [item for item in items if item is not moved]
    at = place(others)
    return packing.stack([*others[:at], moved, *others[at:]], case.n("rocket.bay"))


def _below_bundle(others: list[Item]) -> int:
    return next(i for i, item in enumerate(others) if item.kind == "bundle")


def _far_from_charge(case: Case) -> Callable[[list[Item]], int]:
    """The end of the stack away from the charge: under the shoulder, or at the bottom."""
    above = case.rig.text("pack.layout") == CHARGE_ABOVE
    return lambda others: 0 if above else len(others) - 1


def _shallow(case: Case) -> Stack:
    """A bay with so much below the bundle that it stands at the mouth."""
    items = [layer.item for layer in case.stack.layers]
    lift = case.n("rocket.bay") - sum(i.height for i in items if i.kind in ("protector", "cord", "bundle"))
    return packing.stack([Item("spare", "too much below", max(0.0, lift)), *items], case.n("rocket.bay"))


def pairs(case: Case) -> tuple[Pair, ...]:
    b = case.bundle

    def length(value: float) -> str:
        return case.show(value, LENGTH)

    turns = min(2, int(case.n("pack.line_turns")))
    right_bay = _bay(
        case, case.stack, "Protector to the charge, bundle above the first cord, lines and the rest of the cord on top."
    )
    tight = replace(b, diameter=case.clear_tube)
    loose = replace(b, diameter=min(b.diameter, b.widest))
    beside = case.beside
    return (
        Pair(
            "wrong-wrapped-shut",
            "Wrapped shut",
            pictures.wrapped(b, 6, "line", length, "Six turns of line", "Six turns of line hold the bundle shut."),
            pictures.wrapped(
                b, turns, "line", length, "Two turns at most", "At most two loose turns; the rest lies on top."
            ),
            "A bundle wrapped shut comes down as a bundle, after a perfect separation. Two turns at most, never all of the line.",
            "Lines round the bundle",
        ),
        Pair(
            "wrong-lines-under",
            "Lines under the canopy",
            _bay(
                case,
                _moved(case, "lines", _below_bundle),
                "Lines lie under the bundle.",
            ),
            right_bay,
            "Lines under the bundle are pulled out past it and take it with them in a knot. They belong on top, towards the mouth.",
            "the picture of step “The lines”, and your eyes: no calculation sees it",
        ),
        Pair(
            "wrong-cord-round",
            "Cord round the bundle",
            pictures.wrapped(
                b, 3, "cord", length, "Cord wound round it", "The recovery cord is wound round the bundle."
            ),
            pictures.wrapped(
                b, 0, "cord", length, "No cord round it", "The cord is z-folded below and above the bundle."
            ),
            "The cord pulls tight as it pays out, and the canopy cannot open. Z-fold it below and above.",
            "Cord round the bundle",
        ),
        Pair(
            "wrong-too-tight",
            "Too tight",
            pictures.end_on(
                tight, case.n("rocket.tube"), beside, length, "The bundle fills the tube from wall to wall."
            ),
            pictures.end_on(loose, case.n("rocket.tube"), beside, length, "There is clearance all round."),
            "A bundle that must be pushed in must be pushed out. It has to fall out under its own weight.",
            "Bundle fits, and the shake test of step “The bundle”",
        ),
        Pair(
            "wrong-too-shallow",
            "Too shallow",
            _bay(case, _shallow(case), "The bundle stands so high that the shoulder presses on it."),
            right_bay,
            "The shoulder presses on the bundle: the nose is held, or pushed off early, and the canopy is crushed.",
            "Bay holds everything",
        ),
        Pair(
            "wrong-protector-side",
            "Protector on the wrong side",
            _bay(
                case,
                _moved(case, "protector", _far_from_charge(case)),
                "The protector lies away from the charge.",
            ),
            right_bay,
            "Hot gas reaches the cloth before it reaches the protector. The protector faces the charge.",
            "the picture of step “Protector”, and your eyes: no calculation sees it",
        ),
    )


def compute(case: Case) -> Answer:
    found = pairs(case)
    outputs: dict[str, Value | None] = {"pairs": len(found)}
    return Answer(outputs, "Six ways to spoil a good pack, drawn with your own measures.", pairs=found)


MISTAKES = Calculator(
    "mistakes",
    "What goes wrong",
    tuple(path for path in PACKING.inputs if path != "pack.cord_turns"),
    (Output("pairs", "Mistakes drawn", COUNT, main=False),),
    compute,
    in_plan=False,
)
