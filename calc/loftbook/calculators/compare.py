"""One canopy in several tubes, several canopies in one tube: the same fold engine, side by side."""

import re
from collections.abc import Sequence
from dataclasses import replace

from loftbook.answer import Answer, Calculator, Check, CheckKind, Later, Output, Table, Value
from loftbook.calculators.folding import FIT_INPUTS, fit_check, slab
from loftbook.drawing.bays import bundle_in_room
from loftbook.drawing.svg import Drawing
from loftbook.errors import Fault, Refusal
from loftbook.quantity import COUNT, LENGTH, at_most, read
from loftbook.rig.fields import FIELDS
from loftbook.rig.parsing import parse
from loftbook.worked.worked import Worked

TUBES_READ = CheckKind("tubes-read", "Cannot be compared", ("compare.tubes",))
SIZES_READ = CheckKind("sizes-read", "Cannot be compared", ("compare.sizes",))
MOST = 6
_HEAD = ("Fits", "Lengthwise folds", "Lengths", "Bundle, long × wide × thick", "Room, or what would make it fit")
_BETWEEN = re.compile(r"[;\n]|,(?!\d)")  # a comma before a digit may be a decimal one
_Row = tuple[str, Worked | Refusal]  # what is tried, and the rig with it or why that cannot be


def _entries(worked: Worked, listed: str) -> list[str]:
    """What a list field names, as typed. Raises `Refusal` naming each entry that is no length, and a list that is too long."""
    field, typed = FIELDS[listed], worked.rig.text(listed)
    texts = [text.strip() for text in _BETWEEN.split(typed) if text.strip()]
    faults = []
    for i, text in enumerate(texts):
        try:
            read(text, LENGTH, field.path, field.full, worked.rig.units)
        except Refusal as refusal:
            meant = [_joined(texts[:i], one, texts[i + 1 :]) for fault in refusal.faults for one in fault.readings]
            faults += [replace(fault, given=text, readings=tuple(meant)) for fault in refusal.faults]
    if len(texts) > MOST:
        told = f"{field.full}: {len(texts)} are listed; at most {MOST} are compared at a time."
        faults.append(Fault(message=told, field=field.path, label=field.full, given=typed, allowed=f"1 to {MOST}"))
    if faults:
        raise Refusal(*faults)
    return texts


def _joined(before: Sequence[str], one: str, after: Sequence[str]) -> str:
    """A list as it may have been meant."""
    return "; ".join([*before, one, *after])


def _rows(worked: Worked, listed: str, path: str) -> list[_Row]:
    """The rig with one field changed to each entry of a list field; what nobody typed is told in the reader's units."""
    untyped = listed in worked.rig.assumed
    names = {text: worked.show(read(text, LENGTH), LENGTH) if untyped else text for text in _entries(worked, listed)}
    return [(name, _variant(worked, path, text)) for text, name in names.items()]


def _variant(worked: Worked, path: str, text: str) -> Worked | Refusal:
    try:
        return Worked(parse(dict(worked.rig.texts) | {path: text}))
    except Refusal as refusal:
        return refusal


def _told(row: _Row, key: str) -> tuple[str, ...]:
    """A row in words."""
    text, one = row
    if isinstance(one, Refusal):
        return (text, "refused", "", "", "", one.faults[0].message)
    folded, show = one.folded(key), one.show
    b = folded.bundle
    lengthwise = sum(fold.act == "lengthwise" for fold in folded.to_strip)
    return (
        text,
        "fits" if b.fits else "does not fit",
        str(lengthwise),
        str(b.parts),
        " × ".join(show(v, LENGTH) for v in ((b.length, b.width) if b.round else (b.length, b.width, b.thickness))),
        f"{show(b.room, at_most(LENGTH))} × {show(b.widest, at_most(LENGTH))}" if b.fits else fit_check(one, key).reason,
    )


def _picture(name: str, one: Worked, key: str) -> Drawing:
    b, show = one.folded(key).bundle, one.show
    fits = "fits" if b.fits else "does not fit"
    told = f"{name}: {fits}, {show(b.length, LENGTH)} long, {slab(one, b)}."
    return bundle_in_room(b, one.folded(key).clear, one.writer(LENGTH), name, told)


def _refused(kind: CheckKind, rows: list[_Row]) -> tuple[Check, ...]:
    """What could not be read, with the reason; () where all could."""
    refused = [f"{text}: {one.faults[0].message}" for text, one in rows if isinstance(one, Refusal)]
    return (kind.warn(" ".join(refused)),) if refused else ()


def _fitting(rows: list[_Row], key: str) -> int:
    return sum(isinstance(one, Worked) and one.folded(key).bundle.fits for _, one in rows)


def compute(worked: Worked, key: str) -> Answer:
    """One canopy: its bay's tube varied, then its own size."""
    tubes = _rows(worked, "compare.tubes", f"{worked.rig.way.home(key)}.bay.tube")
    shaped = worked.canopies[key].shape is not None
    sizes = _rows(worked, "compare.sizes", f"{key}.canopy.size") if shaped else []
    fitting = _fitting(tubes, key)
    outputs: dict[str, Value | None] = {
        "tubes": len(tubes),
        "tubes_fitting": fitting,
        "sizes": len(sizes),
        "sizes_fitting": _fitting(sizes, key),
        "steps": len(worked.folded(key).folds),
    }
    return Answer(
        outputs,
        f"The canopy fits {fitting} of {len(tubes)} tubes.",
        (*_refused(TUBES_READ, tubes), *_refused(SIZES_READ, sizes)),
        drawings=Later(
            lambda: (
                _picture(f"{kind} {text}", one, key)
                for kind, rows in (("Tube", tubes), ("Canopy", sizes))
                for text, one in rows
                if isinstance(one, Worked)
            )
        ),
        tables=Later(
            lambda: (
                Table(caption, (first, *_HEAD), tuple(_told(row, key) for row in rows))
                for caption, first, rows in (
                    ("This canopy in each tube", "Tube", tubes),
                    *([("Each canopy in this tube", "Canopy", sizes)] if shaped else []),
                )
            )
        ),
        notes=("Bay depth, cord and lines stay as in this rig; only the tube, or the canopy's size, changes.",),
    )


COMPARE = Calculator(
    "compare",
    "Side by side",
    ("compare.tubes", "compare.sizes", *FIT_INPUTS),
    (
        Output("tubes_fitting", "Tubes it fits", COUNT),
        Output("tubes", "Tubes compared", COUNT),
        Output("sizes_fitting", "Canopies that fit this tube", COUNT),
        Output("sizes", "Canopies compared", COUNT),
        Output("steps", "Folds in this rig", COUNT, leads=False),
    ),
    compute,
    (TUBES_READ, SIZES_READ),
    each="canopy",
    in_plan=False,
    asks=("compare.tubes", "compare.sizes"),
)
