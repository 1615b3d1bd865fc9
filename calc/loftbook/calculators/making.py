"""One canopy from cloth to a finished mass. What is said of it is imported when somebody asks: few do."""

from dataclasses import replace

from loftbook.answer import Answer, Calculator, Output
from loftbook.calculators.descent import AIR, BARE, FALL, PARTS, WAY
from loftbook.calculators.making_checks import (
    LIES_FLAT,
    LINE_HOLDS,
    LOOP_LEFT,
    MARKED,
    ON_CLOTH,
    RING_HOLDS,
    SEAM_HOLDS,
    SIZES,
    WEIGHED,
)
from loftbook.quantity import ANGLE, FORCE, LENGTH, LINE_LOAD, MASS, NUMBER, SHARE, VOLUME, at_least, at_most, to_mark
from loftbook.rig.bay_fields import CANOPY as FIELDS
from loftbook.worked.worked import Worked


def compute(worked: Worked, key: str) -> Answer:
    """Without a shape there is nothing to cut."""
    if worked.canopies[key].shape is None:
        return Answer(
            dict.fromkeys((one.name for one in MAKING.outputs), None),
            f"The {worked.title(key)} is known by its drag alone: without a shape there is no pattern.",
            notes=("Choose its family on Choose a canopy, and its pattern is drawn here.",),
        )
    from loftbook.calculators.making_words import told

    return told(worked, key)


CUT = replace(LENGTH, write=lambda value, system: to_mark(value, system, up=True), side=1)  # a length that is cut, as it is marked

MAKING = Calculator(
    "making",
    "Make it",
    (
        "rig.units",
        *(field.path for field in FIELDS if field.path not in ("canopy.name", "canopy.rate")),
        "lines.length",
        "lines.diameter",
        "lines.material",
        "lines.rating",
        "lines.stretch",
        "lines.end",
        "lines.mass",
        "make.",
        "pack.density",
        "chain.factor",
        *PARTS,
        "rocket.main_bay",
        "middle.mass",
        "cord.layout",
        "cord.length",
        "cord.gap",
        "cord.material",
        "cord.rating",
        "cord.stretch",
        *BARE,
        *AIR,
        *WAY,
        *FALL,
        "flight.forward_speed",
    ),
    (
        Output("finished_mass", "Finished, with its lines", MASS),
        Output("line_cut", "Each line, cut", CUT),
        Output("cloth_length", "Cloth between squared ends", at_least(LENGTH)),
        Output("waste", "Cloth left over", SHARE, leads=False),
        Output("seam_allowance", "Allowance at seams", LENGTH, leads=False),
        Output("hem_allowance", "Allowance at hems", LENGTH, leads=False),
        Output("line_total", "Line to buy", at_least(LENGTH), leads=False),
        Output("thread_length", "Thread, above and below", at_least(LENGTH), leads=False),
        Output("tape_length", "Tape", at_least(LENGTH), leads=False),
        Output("seam_length", "Seams", LENGTH, leads=False),
        Output("hem_length", "Hem", LENGTH, leads=False),
        Output("vent_length", "Edge of the hole, bound", LENGTH, leads=False),
        Output("seam_strength", "Cloth and seams hold", at_most(LINE_LOAD), leads=False),
        Output("seam_pull", "The opening pulls", at_least(LINE_LOAD), leads=False),
        Output("sample_load", "A seam sample must hold, over its width", at_least(LINE_LOAD), leads=False),
        Output("line_pull", "The hardest pulled line feels", at_least(FORCE), leads=False),
        Output("line_holds", "A line's end at the skirt holds", at_most(FORCE), leads=False),
        Output("packed", "Packed, without its lines", VOLUME, leads=False),
        Output("angle", "The cone laid flat takes up", ANGLE, leads=False),
        Output("cost", "What has a price costs", NUMBER, leads=False),
    ),
    compute,
    (LIES_FLAT, ON_CLOTH, SEAM_HOLDS, RING_HOLDS, LINE_HOLDS, LOOP_LEFT, MARKED, SIZES, WEIGHED),
    each="canopy",
    in_plan=False,
    asks=("canopy.size", "make.cut", "make.bolt", "make.seam"),
)
