"""What would mend a check, as a reader is told it: each change in words, what it weighs, and a button that puts it into the rig."""

import json
from collections.abc import Mapping

from loftbook.answer import Offer
from loftbook.drawing.markup import Markup, element
from loftbook.errors import Fault, Refusal
from loftbook.faces.gates import title_of
from loftbook.faces.render import capital, offer
from loftbook.mending import FAILURE, FELT, Change, Mend, Search
from loftbook.quantity import MASS
from loftbook.rig.fields import FIELDS
from loftbook.worked.worked import Worked

AT_ONCE = 25  # rigs that are tried for one question, so that others are answered in between
MOST = 3  # that are told
RULE = "The least trouble first: what is set or packed otherwise, then what is bought, sewn, built; then how far it is from what was, and what it weighs. What makes something grave worse comes last."
NOTHING = "Nothing that was tried mends it without failing something else: several changes together, another way down, another day."
ONLY_EASED = "Nothing that was tried makes it hold without failing something else. This makes it no longer fail, and nothing worse:"
TEST = "A ground test rests on this: it is made anew."
UNTESTED = "The ground tests of the bay as it was count no longer"


def search_for(fields: Mapping[str, str], bay: str, check: str) -> Search:
    """Begins to look. Raises `Refusal` of a rig that is refused and of a check or failure that it does not have."""
    try:
        return Search(fields, (bay, check))
    except KeyError:
        raise Refusal(Fault(message="This plan has no such check.", given=f"{bay} {check}".strip()[:60])) from None


def best(search: Search) -> list[Mend]:
    """What is told: what mends it, the least first; once no more is looked for, behind that what leaves it to be looked at again."""
    return [*search.ranked, *(search.eased if search.over else [])][:MOST]


def told(search: Search) -> list[Markup]:
    """How far the search is, and the best of what it has found."""
    worked, found = search.before.worked, best(search)
    count = f"{search.tried} rig{'' if search.tried == 1 else 's'} tried"
    if found and not search.ranked:
        state = f"{count}. {ONLY_EASED}"
    elif found:
        state = f"{count}." if search.over else f"{count}, looking on."
    elif search.over:
        state = f"{count}. {NOTHING}"
    else:
        state = f"{count}, nothing yet."
    title = title_of(search.target[1]) if search.target[0] != FAILURE else ""
    items = [element("li", element("p", sentence(worked, mend, title)), offer(Offer("Take it", mend.texts))) for mend in found]
    listed = [element("ol", *items, class_="loft-mends"), _to_beside(found), element("p", RULE, class_="loft-help")] if items else []
    return [element("p", state, class_="loft-help", role="status"), *listed]


def _to_beside(mends: list[Mend]) -> Markup:
    """A button that puts the rig as it is beside each of them, which the page's script does."""
    said = json.dumps([{"name": name(mend), "texts": mend.texts} for mend in mends], ensure_ascii=False)
    button = element("button", "Put them beside each other", type="button", class_="loft-button", data_beside=said)
    return element("p", button, class_="loft-offer loft-noprint")


def name(mend: Mend) -> str:
    """A mend in short: what is changed, and how many more fields are."""
    first, *others = (one for one in mend.changes if not one.follows)
    field = FIELDS[first.path]
    more = f", and {len(others)} more" if others else ""
    return f"{field.full}: {first.texts[first.path] or 'none'}{more}"


def sentence(worked: Worked, mend: Mend, title: str = "") -> str:
    """One mend in words; title: of the check that it mends."""
    changes = [one for one in mend.changes if not one.follows]
    told = "; ".join(_change(worked, one) for one in changes)
    parts = [f"{capital(told)}."]
    if "rocket.mass" in mend.texts:
        reckoned = ": reckoned, no longer weighed" if "rocket.mass" in worked.rig.measured else ""
        parts.append(f"The rocket then weighs {mend.texts['rocket.mass']}{reckoned}.")
    elif mend.mass < -FELT:
        parts.append(f"It saves {worked.show(-mend.mass, MASS)}.")
    if mend.retested:
        parts.append(TEST)
    if mend.still:
        parts.append(f"It no longer fails then, but does not hold either: then still to look at again: “{title}”.")
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
