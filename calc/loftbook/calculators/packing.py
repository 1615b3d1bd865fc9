"""Packing the bay: what goes in, in which order, how deep, and nothing wrapped shut."""

from loftbook import packing
from loftbook.calculators.folding import fit_check
from loftbook.case import Case
from loftbook.declare import Answer, Calculator, Check, Output, Stage, Value, Verdict, Working
from loftbook.drawing import pictures
from loftbook.fields import FIELDS
from loftbook.quantity import LENGTH, digits
from loftbook.tables import practice


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
    """Steps with permanent anchors pack-1 … pack-7."""
    show, stack = case.show, case.stack
    heights = {(layer.item.kind, layer.item.name): layer for layer in stack.layers}
    lower, upper = heights["cord", "cord, first part"], heights["cord", "cord, the rest"]
    protector = next(layer for layer in stack.layers if layer.item.kind == "protector")
    lines = next(layer for layer in stack.layers if layer.item.kind == "lines")
    bay, below = case.n("rocket.bay"), case.n("pack.below")
    name = protector.item.name
    turn = (
        "spread over the charge side like a lid, the cord running through its slit"
        if name == "blanket"
        else (
            "loosely crumpled, flame-resistant, covering the whole section"
            if name == "wadding"
            else "its closed end to the charge, the bundle going into it later"
        )
    )

    def depth(top: float) -> str:
        return f"Its top lies {show(max(0.0, bay - top), LENGTH)} below the mouth."

    turns = case.n("pack.line_turns")
    wrap = (
        "Leave the lines unwrapped."
        if turns == 0
        else (f"Wrap the lines {digits(turns)} {'turn' if turns == 1 else 'turns'} round the bundle, not more.")
    )
    return (
        Stage(
            "pack-1",
            "Anchor and look",
            "Pull on the anchor knot, look along the cord for burns and worn loops, close the link. Igniters and "
            "electronics stay safe and off until the pad.",
            f"Cord of {show(case.cord_length, LENGTH)} tied in at the bottom, bay empty and clean.",
        ),
        Stage(
            "pack-2",
            f"Protector: {name}",
            f"Put in the {name}, {turn}.",
            f"It takes {show(protector.item.height, LENGTH)}. {depth(protector.top)}",
        ),
        Stage(
            "pack-3",
            "First part of the cord",
            f"Z-fold {show(case.cord_length * below, LENGTH)} of the cord into the tube. No knots, no coils.",
            f"It takes {show(lower.item.height, LENGTH)}. {depth(lower.top)} This part pays out first.",
        ),
        Stage(
            "pack-4",
            "The bundle",
            f"{wrap} No cord goes round it. Slide it in, lines towards the mouth. It must fall out again under its own "
            "weight when you turn the tube over: try it now.",
            f"{show(case.bundle.length, LENGTH)} long. {depth(stack.bay - stack.depth_below_mouth('bundle'))}",
        ),
        Stage(
            "pack-5",
            "The lines",
            "Lay the rest of the lines on the bundle in loose z-folds, none under it.",
            f"They take {show(lines.item.height, LENGTH)}. {depth(lines.top)}",
        ),
        Stage(
            "pack-6",
            "The rest of the cord",
            f"Z-fold the other {show(case.cord_length * (1 - below), LENGTH)} on top.",
            f"It takes {show(upper.item.height, LENGTH)}. {depth(upper.top)}",
        ),
        Stage(
            "pack-7",
            "Close it",
            "Set the nose (or coupler) in. It holds its own weight, and slides off with a light shake. Then shake the "
            "closed tube gently: you should hear or feel nothing pressed hard.",
            f"Shoulder {show(case.n('rocket.shoulder'), LENGTH)} in the mouth, "
            + (
                f"{show(stack.spare, LENGTH)} left over beneath it."
                if stack.spare >= 0
                else f"{show(-stack.spare, LENGTH)} too much in the bay: do not close it."
            ),
        ),
    )


def compute(case: Case) -> Answer:
    stack, show = case.stack, case.show
    lower, upper = case.other_items(case.n("lines.length"))
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
            f"{show(case.n('cord.thickness'), LENGTH)} / ({show(case.n('rocket.tube'), LENGTH)} tube, "
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
    drawing = pictures.packed_bay(stack, case.n("rocket.tube"), lambda v: show(v, LENGTH), described)
    summary = (
        f"Everything in, the bundle's top lies {show(depth, LENGTH)} below the mouth and {show(stack.spare, LENGTH)} "
        "is left over."
        if stack.spare >= 0
        else f"{show(-stack.spare, LENGTH)} too much for this bay."
    )
    notes = (
        f"{practice('protector').capitalize()}.",
        "Where a charge is in the rocket: nobody in front of it or behind it, eyes and ears protected, electronics off "
        "until the pad. Local law, the range safety officer and certified flyers decide.",
    )
    checks = (fit_check(case), room_check(case), wraps_check(case), cord_wraps_check(case), shoulder_check(case))
    return Answer(outputs, summary, checks, working, (drawing,), stages(case), notes)


PACKING = Calculator(
    "packing",
    "Pack it",
    (
        "rig.units",
        "rocket.tube",
        "rocket.bay",
        "rocket.shoulder",
        *(p for p in FIELDS if p.startswith("canopy.") and p not in ("canopy.rate", "canopy.cd_low", "canopy.cd_high")),
        *(p for p in FIELDS if p.startswith(("lines.", "pack."))),
        "cord.layout",
        "cord.length",
        "cord.gap",
        "cord.width",
        "cord.thickness",
    ),
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
