"""Long sweeps of the tests: a seeded share of each in the suite, all of it with `python3 scripts/check.py --whole` (LOFTBOOK_WHOLE=1)."""

import os
import random
from collections.abc import Sequence

WHOLE = os.environ.get("LOFTBOOK_WHOLE") == "1"


def share[T](cases: Sequence[T], of: int = 10) -> list[T]:
    """One in `of` of them, at least one, always the same ones, in their order; all of them in a whole run."""
    if WHOLE:
        return list(cases)
    count = max(1, round(len(cases) / of))
    return [cases[place] for place in sorted(random.Random(len(cases)).sample(range(len(cases)), count))]
