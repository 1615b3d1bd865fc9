"""All calculators, in the order of the plan. Adding one is a file here, a line here and a line in a page."""

from loftbook.answer import Calculator
from loftbook.calculators.canopy import CANOPY
from loftbook.calculators.compare import COMPARE
from loftbook.calculators.cord import CORD
from loftbook.calculators.descent import DESCENT
from loftbook.calculators.electronics import ELECTRONICS
from loftbook.calculators.failures import FAILURES
from loftbook.calculators.faults import FAULTS
from loftbook.calculators.folding import FOLDING
from loftbook.calculators.landing import LANDING
from loftbook.calculators.loads import LOADS
from loftbook.calculators.making import MAKING
from loftbook.calculators.mistakes import MISTAKES
from loftbook.calculators.packing import PACKING
from loftbook.calculators.separation import SEPARATION

CALCULATORS: dict[str, Calculator] = {
    c.name: c
    for c in (
        CANOPY,
        MAKING,
        FOLDING,
        PACKING,
        CORD,
        SEPARATION,
        ELECTRONICS,
        DESCENT,
        LOADS,
        LANDING,
        FAILURES,
        COMPARE,
        MISTAKES,
        FAULTS,
    )
}
