"""What would mend a check, as a reader is told it: each change in words, what it weighs, and a button that puts it into the rig."""

from collections.abc import Mapping

from loftbook.answer import Offer
from loftbook.drawing.markup import Markup, element
from loftbook.errors import Fault, Refusal
from loftbook.faces.gates import title_of
from loftbook.faces.render import offer
from loftbook.mending import FAILURE, FELT, Change, Mend, Search
from loftbook.quantity import MASS
from loftbook.rig.fields import FIELDS
from loftbook.worked.worked import Worked

AT_ONCE = 25  # rigs that are tried for one question, so that others are answered in between
MOST = 3  # that are told
RULE = "The least trouble first: what is set or packed otherwise, then what is bought, sewn, built; then how far it is from what was, and what it weighs. What makes something grave worse comes last."
NOTHING = "Nothing that was tried mends it without failing something else: several changes together, another way down, another day."
TEST = "A ground test rests on this: it is made anew."
UNTESTED = "The ground tests of the bay as it was count no longer"


def search_for(fields: Mapping[str, str], bay: str, check: str) -> Search:
    """Begins to look. Raises `Refusal` of a rig that is refused and of a check or failure that it does not have."""
    try:
        return Search(fields, (bay, check))
    except KeyError:
        raise Refusal(Fault(message="This plan has no such check.", given=f"{bay} {check}".strip()[:60])) from None


def told(search: Search) -> list[Markup]:
    """How far the search is, and the best of what it has found."""
    worked, best = search.before.worked, search.ranked[:MOST]
    count = f"{search.tried} rig{'' if search.tried == 1 else 's'} tried"
    if best:
        state = f"{count}." if search.over else f"{count}, looking on."
    elif search.over:
        state = f"{count}. {NOTHING}"
    else:
        state = f"{count}, nothing yet."
    items = [element("li", element("p", sentence(worked, mend)), offer(Offer("Take it", mend.texts))) for mend in best]
    found = [element("ol", *items, class_="loft-mends"), element("p", RULE, class_="loft-help")] if items else []
    return [element("p", state, class_="loft-help", role="status"), *found]


def sentence(worked: Worked, mend: Mend) -> str:
    """One mend in words."""
    changes = [one for one in mend.changes if not one.follows]
    told = "; ".join(_change(worked, one) for one in changes)
    parts = [f"{told[0].upper()}{told[1:]}."]
    if "rocket.mass" in mend.texts:
        reckoned = ": reckoned, no longer weighed" if "rocket.mass" in worked.rig.measured else ""
        parts.append(f"The rocket then weighs {mend.texts['rocket.mass']}{reckoned}.")
    elif mend.mass < -FELT:
        parts.append(f"It saves {worked.show(-mend.mass, MASS)}.")
    if mend.retested:
        parts.append(TEST)
    if untested := [FIELDS[one.path].bay for one in mend.changes if one.path.endswith(".charge.repeats")]:
        parts.append(f"{UNTESTED}: {', '.join(worked.title(bay) for bay in untested)}.")
    return " ".join([*parts, *_worse(worked, mend)])


def _worse(worked: Worked, mend: Mend) -> list[str]:
    """What is to be looked at again after it, how bad it is where that is grave, and what the gear does not survive any more."""
    names = ", ".join(dict.fromkeys(f"“{title_of(name)}”" for (_, name), told in mend.again.items() if not told))
    grave = [
        f"“{title_of(name)}”{f', {worked.title(key)}' if key else ''}, gets worse: {told}"
        for (key, name), told in mend.again.items()
        if told and key != FAILURE
    ]
    failed = "; ".join(told for (key, _), told in mend.again.items() if key == FAILURE)
    return [
        *([f"To look at again then: {names}."] if names else []),
        *grave,
        *([f"What the gear survives now and not then: {failed}."] if failed else []),
    ]


def _change(worked: Worked, one: Change) -> str:
    """`cord you have (drogue): 8 m instead of 6 m`, and what follows from it."""
    field = FIELDS[one.path]
    said = f"{field.full[0].lower()}{field.full[1:]}: {one.texts[one.path]} instead of {worked.rig.texts[one.path] or 'none'}"
    others = [f"{FIELDS[path].label.lower()} about {text}" for path, text in one.texts.items() if path != one.path and text]
    gone = [FIELDS[path].label.lower() for path, text in one.texts.items() if not text]
    told = [*([f"{', '.join(others)}: measure it"] if others else []), *([f"no longer yours to count on: {', '.join(gone)}"] if gone else [])]
    if anew := [FIELDS[path].label.lower() for path in one.texts if path in worked.rig.measured and one.texts[path]]:
        told.append(f"no longer measured: {', '.join(anew)}")
    return f"{said} ({'; '.join(told)})" if told else said
