"""The table on the page "Outside checks": every figure from elsewhere beside what the core says, worked out anew.

    python3 scripts/outside_page.py          counts, and every row that does not agree

Reads the same results as tests/outside does. Rows that do not agree are shown with the reason, rows that the core does
not compute with why not. Knows no page: scripts/hook.py puts the table into one.
"""

import sys
from collections import Counter, defaultdict
from collections.abc import Iterable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "calc"))
sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests" / "outside"))

from checks import ROUNDING, Result, carried, checked, left_out, result
from figures import rows

from loftbook.drawing.markup import Markup, element
from loftbook.faces.render import html, table

TITLES = {
    "01-atmosphere": "Atmosphere",
    "02-canopy-families": "Canopy families",
    "03-geometry": "Geometry of canopies",
    "04-descent-and-limits": "Descent and limits",
    "05-opening": "Opening",
    "06-textiles": "Textiles",
    "07-separation": "Separation",
    "08-units": "Units",
    "09-wind": "Wind",
    "10-trade": "Sayings of the trade",
    "11-packing": "Packing",
    "12-elastic-cords": "Elastic cords",
}
HEAD = ("Row", "Quantity", "For", "Figure", "Ours", "Apart", "Allowed", "Source", "How it is known", "Verdict")


def _number(value: float, like: str) -> str:
    """With one digit more than the row's figure has, at least four, at most twelve."""
    digits = sum(c.isdigit() for c in like.lower().partition("e")[0].lstrip("-0."))
    return f"{value:.{min(12, max(4, digits + 1))}g}"


def ours(found: Result) -> str:
    """The core's value; of a range the ends it holds."""
    row, got = found.row, found.got
    if not isinstance(got, tuple):
        return _number(got, row.value or row.low)
    low, high = (None if end is None else _number(end, row.value or row.low) for end in got)
    return f"{low} to {high}" if low and high else f"low end {low}" if low else f"high end {high}"


def verdict(found: Result) -> str:
    if found.agrees:
        return "repeated" if found.row.id in carried() else "agrees"
    return f"differs: {found.explanation.why}" if found.explanation else "FAILS"


def cells(found: Result) -> tuple[str, ...]:
    """One row of the table, in the order of `HEAD`."""
    row = found.row
    unit = "" if row.unit == "-" else f" {row.unit}"
    apart = "0" if found.difference < ROUNDING else f"{found.difference:.3g}"
    if row.tolerance_kind in ("exact", "none"):
        allowed = "the same"
    elif row.tolerance_kind == "range":
        allowed = "inside"
    else:
        allowed = f"{found.allowed:.3g}" + (" of it" if found.relative else unit)
    return (
        row.id,
        row.quantity,
        "" if row.inputs == "-" else row.inputs,
        row.printed + unit,
        ours(found) + unit,
        apart + ("" if found.relative or apart == "0" else unit),
        allowed,
        row.source,
        row.how,
        verdict(found),
    )


def _not_computed() -> Markup:
    reasons: defaultdict[str, list[str]] = defaultdict(list)
    for id_, reason in left_out().items():
        reasons[reason].append(id_)
    lines = [(reason, str(len(ids)), ", ".join(sorted(ids))) for reason, ids in reasons.items()]
    return table(("Why not", "Rows", "Which"), lines, "Figures that the core neither computes nor carries")


def _tally(found: list[Result]) -> str:
    agree = sum(one.agrees for one in found)
    explained = sum(not one.agrees and one.explanation is not None for one in found)
    return f"{agree} agree, {explained} differ for a reason that is given, {len(found) - agree - explained} fail"


def summary(found: Iterable[Result]) -> str:
    """Every row once: by how its figure came here, then by what the core does with it."""
    found = list(found)
    repeated = [one for one in found if one.row.id in carried()]
    worked = [one for one in found if one.row.id not in carried()]
    standing = Counter(row.standing for row in rows().values())
    return (
        f"{len(rows())} figures in {len(TITLES)} files: {standing['read']} read in print, {standing['memory']} recalled from "
        f"print, {standing['worked']} worked out for these files from a formula or definition, "
        f"{standing['unsourced']} sayings of the trade. {len(worked)} are computed: {_tally(worked)}. {len(repeated)} are "
        f"carried in a table and repeated: {_tally(repeated)}. {len(left_out())} are neither."
    )


def outside_table() -> str:
    """The whole content of the page as HTML: the count, one table for each file, and what is left out."""
    found = [result(id_) for id_ in rows() if id_ in checked()]
    parts = [element("p", summary(found), class_="loft-summary")]
    parts += [
        table(HEAD, [cells(one) for one in found if one.row.table == name], title) for name, title in TITLES.items()
    ]
    return html(*parts, _not_computed())


def main() -> None:
    found = [result(id_) for id_ in rows() if id_ in checked()]
    print(summary(found))
    for one in found:
        if not one.agrees:
            print(" | ".join(cells(one)))


if __name__ == "__main__":
    main()
