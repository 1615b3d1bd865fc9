"""One canopy in several tubes, several canopies in one tube: the same fold engine, side by side."""

import re
from collections.abc import Mapping

from loftbook.calculators.folding import FOLDING, acts, fit_check
from loftbook.case import Case
from loftbook.answer import Answer, Calculator, Check, Output, Table, Value
from loftbook.drawing import pictures
from loftbook.drawing.svg import Drawing
from loftbook.errors import Refusal
from loftbook.quantity import COUNT, LENGTH
from loftbook.rig import parse

MOST = 6


def texts_of(case: Case, path: str) -> list[str]:
    """The entries of a list field, at most six."""
    return [text.strip() for text in re.split(r"[;\n]", case.rig.text(path)) if text.strip()][:MOST]


def variant(case: Case, changes: Mapping[str, str]) -> Case | Refusal:
    """The same rig with some fields changed, or why that cannot be."""
    try:
        return Case(parse(dict(case.rig.texts) | dict(changes)))
    except Refusal as refusal:
        return refusal


def _row(name: str, one: Case | Refusal) -> tuple[str, ...]:
    if isinstance(one, Refusal):
        return (name, "refused", "", "", "", one.faults[0].message)
    b, show = one.bundle, one.show
    lengthwise = sum(step.act == "lengthwise" for step in one.fold_steps)
    return (
        name,
        "fits" if b.fits else "does not fit",
        str(lengthwise),
        str(b.parts),
        f"{show(b.length, LENGTH)} × {show(b.diameter, LENGTH)}",
        f"{show(b.room, LENGTH)} × {show(b.widest, LENGTH)}" if b.fits else fit_check(one).reason,
    )


def _picture(name: str, one: Case) -> Drawing:
    b, show = one.bundle, one.show
    told = f"{name}: {'fits' if b.fits else 'does not fit'}, {show(b.length, LENGTH)} long, {show(b.diameter, LENGTH)} across."
    return pictures.bundle_in_room(b, one.clear_tube, lambda v: show(v, LENGTH), f"{name}", told)


def compute(case: Case) -> Answer:
    tubes = [(text, variant(case, {"rocket.tube": text})) for text in texts_of(case, "compare.tubes")]
    sizes = [(text, variant(case, {"canopy.size": text})) for text in texts_of(case, "compare.sizes")]
    if not case.shape:
        sizes = []
    head = ("", "Fits", "Lengthwise folds", "Lengths", "Bundle, long × across", "Room, or what would make it fit")
    tables = (
        Table("This canopy in each tube", ("Tube", *head[1:]), tuple(_row(*pair) for pair in tubes)),
        Table("Each canopy in this tube", ("Canopy", *head[1:]), tuple(_row(*pair) for pair in sizes)),
    )
    drawings = tuple(
        _picture(f"{kind} {text}", one)
        for kind, rows in (("Tube", tubes), ("Canopy", sizes))
        for text, one in rows
        if isinstance(one, Case)
    )
    fitting = sum(isinstance(one, Case) and one.bundle.fits for _, one in tubes)
    outputs: dict[str, Value | None] = {
        "tubes": len(tubes),
        "tubes_fitting": fitting,
        "sizes": len(sizes),
        "sizes_fitting": sum(isinstance(one, Case) and one.bundle.fits for _, one in sizes),
        "steps": len(acts(case)),
    }
    checks = tuple(
        Check(f"compared-{i}", "warn", "Not read", f"{text}: {one.faults[0].message}")
        for i, (text, one) in enumerate(tubes + sizes, 1)
        if isinstance(one, Refusal)
    )
    summary = f"The canopy fits {fitting} of {len(tubes)} tubes."
    return Answer(
        outputs,
        summary,
        checks,
        drawings=drawings,
        tables=tables,
        notes=("Bay depth, cord and lines stay as in this rig; only the tube, or the canopy's size, changes.",),
    )


COMPARE = Calculator(
    "compare",
    "Side by side",
    ("compare.tubes", "compare.sizes", *FOLDING.inputs),
    (
        Output("tubes_fitting", "Tubes it fits", COUNT),
        Output("tubes", "Tubes compared", COUNT),
        Output("sizes_fitting", "Canopies that fit this tube", COUNT),
        Output("sizes", "Canopies compared", COUNT),
        Output("steps", "Folds in this rig", COUNT, main=False),
    ),
    compute,
    in_plan=False,
)
