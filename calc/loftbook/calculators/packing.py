"""Packing the bay: what goes in, in which order, how deep, and nothing wrapped shut."""

from loftbook.physics import packing
from loftbook.calculators.folding import FOLDING, fit_check
from loftbook.case import FIRST_CORD, REST_CORD, Case
from loftbook.answer import Answer, Calculator, Check, Output, Stage, Value, Verdict, Working
from loftbook.drawing import pictures
from loftbook.fields import BAG, BLANKET, FIELDS
from loftbook.physics.packing import Layer
from loftbook.quantity import LENGTH, digits
from loftbook.tables import practice

CAUTIONS = (
    "Where a charge is in the rocket: nobody in front of it or behind it, eyes and ears protected, electronics off "
    "until the pad. Local law, the range safety officer and certified flyers decide.",
)
_PROTECTS = {
    BLANKET: "spread over the charge's side like a lid, the cord running through its slit",
    "wadding": "loosely crumpled, flame-resistant, covering the whole section",
    "sleeve": "its closed end to the charge",
    BAG: "its closed end to the charge",
}


def room_check(case: Case) -> Check:
    spare, show = case.stack.spare, case.show
    if spare < 0:
        return Check(
            "bay-holds-all",
            "fail",
            "Bay holds everything",
            f"{show(-spare, LENGTH)} too much goes into a bay of {show(case.n('rocket.bay'), LENGTH)}: the nose "
            "would press the bundle down. Shorten or thin the cord, or fly a smaller canopy or a deeper bay.",
        )
    return Check(
        "bay-holds-all",
        "pass",
        "Bay holds everything",
        f"{show(spare, LENGTH)} is left over under the shoulder, so that nothing is pressed.",
    )


def wraps_check(case: Case) -> Check:
    turns, whole = case.n("pack.line_turns"), case.n("lines.length")
    used = packing.line_used(turns, case.bundle.diameter)
    if turns > packing.MOST_LINE_TURNS:
        return Check(
            "line-wraps",
            "fail",
            "Lines round the bundle",
            f"{digits(turns)} turns of line are too many: {practice('wraps')}. A bundle wrapped shut comes down as "
            "a bundle. Unwrap it and stow the lines above the bundle.",
        )
    if used >= whole:
        return Check(
            "line-wraps",
            "fail",
            "Lines round the bundle",
            f"{digits(turns)} turns use {case.show(used, LENGTH)}, all of the line. Never wrap all of the line.",
        )
    return Check(
        "line-wraps",
        "pass",
        "Lines round the bundle",
        f"{digits(turns)} {'turn uses' if turns == 1 else 'turns use'} {case.show(used, LENGTH)} "
        f"of {case.show(whole, LENGTH)}; "
        f"{practice('wraps')}.",
    )


def cord_wraps_check(case: Case) -> Check:
    turns = case.n("pack.cord_turns")
    if turns > 0:
        return Check(
            "cord-wraps",
            "fail",
            "Cord round the bundle",
            "The recovery cord goes round the bundle. It pulls tight as it pays out and the canopy cannot open: "
            "unwrap it and z-fold it below and above the bundle.",
        )
    return Check(
        "cord-wraps", "pass", "Cord round the bundle", "None: the cord is z-folded below and above the bundle."
    )


def shoulder_check(case: Case) -> Check:
    shoulder, tube = case.n("rocket.shoulder"), case.n("rocket.tube")
    verdict: Verdict = "pass" if shoulder >= tube else "warn"
    word = "At least" if verdict == "pass" else "Less than"
    return Check("shoulder-length", verdict, "Shoulder", f"{word} one tube diameter long; {practice('shoulder')}.")


def stages(case: Case) -> tuple[Stage, ...]:
    """Steps in the order things go in, each with an anchor that names it and so never changes."""
    show, stack, bay = case.show, case.stack, case.n("rocket.bay")
    protector = case.rig.text("pack.protector")

    def lies(layer: Layer, size: str = "It takes {}") -> str:
        depth = show(max(0.0, bay - layer.top), LENGTH)
        return f"{size.format(show(layer.item.height, LENGTH))}. Its top lies {depth} below the mouth."

    turns = case.n("pack.line_turns")
    wrap = (
        "Leave the lines unwrapped."
        if turns == 0
        else (f"Wrap the lines {digits(turns)} {'turn' if turns == 1 else 'turns'} round the bundle, not more.")
    )
    if protector == BAG:
        wrap = "Put the bundle into its bag, lines stowed outside it, closed end of the bag to the charge."
    below = case.n("pack.below")
    length = {FIRST_CORD: case.cord_length * below, REST_CORD: case.cord_length * (1 - below)}
    made = [
        (
            "pack-anchor",
            "Anchor and look",
            "Pull on the anchor knot, look along the cord for burns and worn loops, close the link. Igniters and "
            "electronics stay safe and off until the pad.",
            f"Cord of {show(case.cord_length, LENGTH)} tied in at the bottom, bay empty and clean.",
            "A singed, glazed or fuzzy cord, or an anchor that moves: do not fly it. Replace it first.",
        )
    ]
    for layer in stack.layers:
        match layer.item.kind:
            case "protector":
                made.append(
                    (
                        "pack-protector",
                        f"Protector: {protector}",
                        f"Put in the {protector}, {_PROTECTS[protector]}.",
                        lies(layer),
                        "A gap at the wall lets hot gas past: take it out and lay it again.",
                    )
                )
            case "cord":
                pays = " This part pays out first." if layer.item.name == FIRST_CORD else ""
                made.append(
                    (
                        "pack-cord-first" if layer.item.name == FIRST_CORD else "pack-cord-rest",
                        layer.item.name.capitalize(),
                        f"Z-fold {show(length[layer.item.name], LENGTH)} of the cord into the tube. No knots, no coils.",
                        lies(layer) + pays,
                        "Higher than that: fold it flatter, do not press it down.",
                    )
                )
            case "bundle":
                made.append(
                    (
                        "pack-bundle",
                        "The bundle",
                        f"{wrap} No cord goes round it. Slide it in, lines towards the mouth. It must fall out again "
                        "under its own weight when you turn the tube over: try it now.",
                        lies(layer, "{} long"),
                        "It sticks: take it out, fold it narrower and looser. Never push it.",
                    )
                )
            case "lines":
                made.append(
                    (
                        "pack-lines",
                        "The lines",
                        "Lay the rest of the lines on the bundle in loose z-folds, none under it.",
                        lies(layer, "They take {}"),
                        "A line under the bundle, or a knot: lift the bundle out and clear it.",
                    )
                )
            case "shoulder":
                left = (
                    f"{show(stack.spare, LENGTH)} left over beneath it."
                    if stack.spare >= 0
                    else f"{show(-stack.spare, LENGTH)} too much in the bay: do not close it."
                )
                made.append(
                    (
                        "pack-close",
                        "Close it",
                        "Set the nose (or coupler) in. It holds its own weight, and slides off with a light shake. Then "
                        "shake the closed tube gently: nothing is pressed hard.",
                        f"Shoulder {show(layer.item.height, LENGTH)} in the mouth, {left}",
                        "It springs back or needs a push: something is too high. Open it and find what.",
                    )
                )
    return tuple(Stage(*row) for row in made)


def compute(case: Case) -> Answer:
    stack, show = case.stack, case.show
    lower, upper = case.other_items
    least_depth = sum(item.height for item in upper)
    depth = stack.depth_below_mouth("bundle")
    outputs: dict[str, Value | None] = {
        "bundle_depth": depth,
        "least_depth": least_depth,
        "spare": stack.spare,
        "room": case.room,
        "bundle_length": case.bundle.length,
        "turns_used": packing.line_used(case.n("pack.line_turns"), case.bundle.diameter),
        "below_height": sum(item.height for item in lower),
    }
    cord_height = sum(layer.item.height for layer in stack.layers if layer.item.kind == "cord")
    working = (
        Working(
            "Height of the cord",
            "h = length × width × thickness / (tube area × fill)",
            f"h = {show(case.cord_length, LENGTH)} × {show(case.n('cord.width'), LENGTH)} × "
            f"{show(case.n('cord.thickness'), LENGTH)} / ({show(case.n('rocket.tube'), LENGTH)} tube"
            f"{' less what stands in it' if case.beside else ''}, "
            f"{digits(case.n('pack.fill') * 100)} % filled) = "
            f"{show(cord_height, LENGTH)}",
            practice("fill"),
        ),
        Working(
            "Least depth of the bundle",
            "shoulder + lines + cord above it",
            f"{' + '.join(show(item.height, LENGTH) for item in reversed(upper))} = {show(least_depth, LENGTH)}",
            practice("depth"),
        ),
    )
    described = (
        "Bottom to top: "
        + ", ".join(f"{layer.item.name} {show(layer.item.height, LENGTH)}" for layer in stack.layers)
        + (
            f"; left over {show(stack.spare, LENGTH)}."
            if stack.spare >= 0
            else f"; {show(-stack.spare, LENGTH)} too much."
        )
    )
    drawing = pictures.packed_bay(stack, case.n("rocket.tube"), case.beside, lambda v: show(v, LENGTH), described)
    summary = (
        f"Everything in, the bundle's top lies {show(depth, LENGTH)} below the mouth and {show(stack.spare, LENGTH)} "
        "is left over."
        if stack.spare >= 0
        else f"{show(-stack.spare, LENGTH)} too much for this bay."
    )
    notes = (f"{practice('protector').capitalize()}.",)
    checks = (fit_check(case), room_check(case), wraps_check(case), cord_wraps_check(case), shoulder_check(case))
    return Answer(outputs, summary, checks, working, (drawing,), stages(case), notes, cautions=CAUTIONS)


PACKING = Calculator(
    "packing",
    "Pack it",
    (*FOLDING.inputs, *(p for p in FIELDS if p.startswith("pack.") and p not in FOLDING.inputs)),
    (
        Output("bundle_depth", "Mouth to top of bundle", LENGTH),
        Output("least_depth", "Least it may be", LENGTH),
        Output("spare", "Left over", LENGTH),
        Output("bundle_length", "Bundle, length", LENGTH),
        Output("room", "Length the bay leaves for it", LENGTH, main=False),
        Output("below_height", "Everything below the bundle", LENGTH, main=False),
        Output("turns_used", "Line used by the turns", LENGTH, main=False),
    ),
    compute,
)
