"""What was seen when one came down wrong, and its causes in the order of this rig's numbers. Words are imported when somebody asks."""

from loftbook.answer import Answer, Calculator, Output
from loftbook.calculators.canopy import CANOPY
from loftbook.calculators.cord import CORD
from loftbook.calculators.descent import DESCENT
from loftbook.calculators.electronics import ELECTRONICS
from loftbook.calculators.landing import LANDING
from loftbook.calculators.loads import LOADS
from loftbook.calculators.mistakes import MISTAKES
from loftbook.calculators.packing import PACKING
from loftbook.calculators.separation import SEPARATION
from loftbook.quantity import COUNT
from loftbook.worked.worked import Worked

RESTS_ON = (CANOPY, PACKING, MISTAKES, CORD, SEPARATION, ELECTRONICS, DESCENT, LOADS, LANDING)


def compute(worked: Worked, _: str) -> Answer:
    """The whole rig: a wreck does not say which bay it was."""
    from loftbook.calculators.faults_words import told

    return told(worked)


FAULTS = Calculator(
    "faults",
    "Find the fault",
    tuple(dict.fromkeys(path for one in RESTS_ON for path in one.inputs)),
    (
        Output("failing", "Numbers that fail", COUNT, leads=False),
        Output("again", "Numbers to look at again", COUNT, leads=False),
        Output("seen", "Faults that this rig can show", COUNT, leads=False),
    ),
    compute,
    in_plan=False,
    asks=("flight.way", "rocket.mass", "flight.apogee", "flight.wind"),
)
