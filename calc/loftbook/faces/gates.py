"""What keeps a rocket on the ground: failed gates, where they are mended, and the marks of words.

A mark says which words a tick was given for: where the words have changed, so has the mark. Computes no figure.
"""

from collections.abc import Iterable
from zlib import crc32

from loftbook.answer import Check, CheckKind
from loftbook.calculators import CALCULATORS
from loftbook.calculators.separation import TEST
from loftbook.plan import Plan
from loftbook.rig.field import Field
from loftbook.rig.fields import FIELDS
from loftbook.rig.parsing import is_relevant

GROUND_TEST = TEST.name
_KINDS: dict[str, CheckKind] = {kind.name: kind for one in CALCULATORS.values() for kind in one.checks}


def title_of(check: str) -> str:
    """The title of a check by its name."""
    return _KINDS[check].title


def mark_of(*words: str) -> str:
    """A short mark of words: the same for the same words, on every machine."""
    return f"{crc32('\n'.join(words).encode()):08x}"


def failed(whole: Plan) -> list[Check]:
    """Every check that fails, in the order in which it is dealt with: ground tests, other gates, the rest."""
    return sorted((one for one in whole.checks if one.verdict == "fail"), key=lambda one: (one.name != GROUND_TEST, not one.gate))


def failed_gates(whole: Plan) -> list[Check]:
    """What no reason clears; ground tests first."""
    return [check for check in failed(whole) if check.gate]


def whole_mark(whole: Plan, more: Iterable[str] = ()) -> str:
    """The mark of all that a plan says, and what else is said of it: who looked at the rocket looked at this."""
    return mark_of(whole.rig.text("rig.name"), *_said(whole), *more)


def _said(whole: Plan) -> Iterable[str]:
    for check in whole.checks:
        yield from (check.bay, check.title, check.verdict, check.reason)
    for answer in whole.answers.values():
        yield answer.summary
    for step in whole.steps:
        yield from (step.title, step.text, step.seen, step.otherwise)


def mended_by(whole: Plan, check: Check) -> list[Field]:
    """The fields of this rig that may mend a check."""
    keys = (check.bay,) if check.bay else whole.rig.way.keys
    names = (name for path in _KINDS[check.name].mends for name in ([path] if path in FIELDS else [f"{key}.{path}" for key in keys]))
    return [FIELDS[name] for name in names if name in FIELDS and is_relevant(FIELDS[name], whole.rig.texts)]
