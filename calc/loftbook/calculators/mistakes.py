"""What goes wrong, drawn from the reader's own rig, each beside its right way, with the check that catches it."""

from loftbook.answer import Answer, Calculator, Output, Pair
from loftbook.calculators.folding import BUNDLE_FITS, CORD_WRAPS, LINE_WRAPS
from loftbook.calculators.packing import BAY_HOLDS_ALL, STACK_INPUTS, lengths
from loftbook.drawing.bays import end_on, packed_bay
from loftbook.drawing.folds import wrapped
from loftbook.drawing.svg import Drawing
from loftbook.physics.folding import Bundle
from loftbook.physics.packing import Stack
from loftbook.quantity import COUNT, LENGTH, at_least, digits
from loftbook.tables import known
from loftbook.worked import mispacked
from loftbook.worked.worked import Worked

_UNSEEN = "the picture of step “{}”, and your eyes: no calculation sees it"


def _wound(worked: Worked, key: str, turns: float, what: str, name: str, told: str) -> Drawing:
    return wrapped(worked.folded(key).bundle, turns, what, worked.writer(LENGTH), name, told)


def _bay(worked: Worked, key: str, stack: Stack, told: str) -> Drawing:
    bay = worked.home(key)
    return packed_bay(stack, bay.tube, bay.beside, lengths(worked), told)


def _end(worked: Worked, key: str, bundle: Bundle, told: str) -> Drawing:
    bay = worked.home(key)
    return end_on(bundle, bay.tube, bay.beside, worked.writer(LENGTH), told)


def wound_pairs(worked: Worked, key: str) -> tuple[Pair, ...]:
    """What goes round the bundle and must not."""
    most = known("wraps").high
    turns = min(most, worked.folded(key).line_turns)
    named = f"{digits(most)} turn{'' if most == 1 else 's'}"
    return (
        Pair(
            f"{key}-wrong-wrapped-shut",
            "Wrapped shut",
            _wound(worked, key, 6, "line", "Six turns of line", "Six turns of line hold the bundle shut."),
            _wound(
                worked, key, turns, "line", f"{named} at most", f"At most {named}, loose; the rest lies on top."
            ),
            f"A bundle wrapped shut comes down as a bundle, after a perfect separation. {named} at most, never all of the line.",
            LINE_WRAPS.title,
        ),
        Pair(
            f"{key}-wrong-cord-round",
            "Cord round the bundle",
            _wound(worked, key, 3, "cord", "Cord wound round it", "The recovery cord is wound round the bundle."),
            _wound(worked, key, 0, "cord", "No cord round it", "The cord is z-folded below and above the bundle."),
            "The cord pulls tight as it pays out, and the canopy cannot open. Z-fold it below and above.",
            CORD_WRAPS.title,
        ),
    )


def tight_pair(worked: Worked, key: str) -> Pair:
    """A bundle that fills the tube."""
    folded = worked.home(key).deepened().folded[key]
    return Pair(
        f"{key}-wrong-too-tight",
        "Too tight",
        _end(worked, key, mispacked.tight(folded), "The bundle fills the tube from wall to wall."),
        _end(worked, key, mispacked.loose(folded), "There is clearance all round."),
        "A bundle that must be pushed in must be pushed out. It has to fall out under its own weight.",
        f"{BUNDLE_FITS.title}, and the shake test of step “The bundle”",
    )


def laid_pairs(worked: Worked, key: str) -> tuple[Pair, ...]:
    """What lies in the wrong place of the bay."""
    bay = worked.home(key)
    roomy = bay.deepened()
    stack, room = mispacked.right(roomy), ""
    if stack.bay > bay.depth:
        room = f" The right one is drawn in a bay {worked.show(stack.bay, at_least(LENGTH))} deep: yours is too short for it."
    elif stack != bay.stack:
        room = " The right one is drawn as if the bundle were narrow enough: yours does not go into the tube."
    right = _bay(
        worked,
        key,
        stack,
        "Protector to the charge, bundle above the first cord, lines and the rest of the cord on top.",
    )
    return (
        Pair(
            f"{key}-wrong-lines-under",
            "Lines under the canopy",
            _bay(worked, key, mispacked.lines_under(roomy, key), "Lines lie under the bundle."),
            right,
            f"Lines under the bundle are pulled out past it and take it with them in a knot. They belong on top, towards the mouth.{room}",
            _UNSEEN.format("The lines"),
        ),
        Pair(
            f"{key}-wrong-too-shallow",
            "Too shallow",
            _bay(
                worked,
                key,
                mispacked.raised(bay),
                "The bundle stands so high that the shoulder presses on it.",
            ),
            right,
            f"The shoulder presses on the bundle: the nose is held, or pushed off early, and the canopy is crushed.{room}",
            BAY_HOLDS_ALL.title,
        ),
        Pair(
            f"{key}-wrong-protector-side",
            "Protector on the wrong side",
            _bay(worked, key, mispacked.protector_away(roomy), "The protector lies away from the charge."),
            right,
            f"Hot gas reaches the cloth before it reaches the protector. The protector faces the charge.{room}",
            _UNSEEN.format("Protector"),
        ),
    )


def pairs(worked: Worked, key: str) -> tuple[Pair, ...]:
    """All, the commonest first."""
    shut, cord = wound_pairs(worked, key)
    lines, shallow, protector = laid_pairs(worked, key)
    return shut, lines, cord, tight_pair(worked, key), shallow, protector


def compute(worked: Worked, key: str) -> Answer:
    """One canopy's mistakes in its own bay."""
    found = pairs(worked, key)
    return Answer({"pairs": len(found)}, f"{digits(len(found))} ways to spoil a good pack, drawn with your own measures.", pairs=found)


MISTAKES = Calculator(
    "mistakes",
    "What goes wrong",
    STACK_INPUTS,
    (Output("pairs", "Mistakes drawn", COUNT, leads=False),),
    compute,
    each="canopy",
    in_plan=False,
    asks=("bay.tube", "canopy.size"),
)
