"""The MkDocs hook: puts calculators' default cases, generated tables and the demo rig into the built pages.

Pure functions from text to text, and one adapter at the end. Knows calculators; no page knows it.
"""

import json
import re
import sys
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))
sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "calc"))

from loftbook import handout
from loftbook.calculators import CALCULATORS
from loftbook.case import Case
from loftbook.fields import DEFAULTS, FIELDS, GROUPS
from loftbook.plan import plan
from loftbook.quantity import COUNT
from loftbook.faces.render import answer_parts, element, form, html, plan_parts, table
from loftbook.rig import limits, parse
from loftbook.tables import (
    CANOPY_SOURCES,
    CLOTHS,
    CORDS,
    ENDS,
    FAMILIES,
    HARDWARE,
    LINES,
    PINS,
    PRACTICE,
    material_source,
)
from outside_page import outside_table

_CALCULATOR = re.compile(r'<loft-calculator name="([a-z-]+)">\s*</loft-calculator>')
_HANDOUT = re.compile(r'<loft-handout name="(step|card|walk)">\s*</loft-handout>')
_TABLE = re.compile(r'<loft-table name="([a-z-]+)">\s*</loft-table>')


def calculator_block(name: str) -> str:
    """A calculator's form and the demo rig's answer."""
    if name == "plan":
        parts, paths = plan_parts(plan(DEFAULTS), CALCULATORS.values()), tuple(FIELDS)
    else:
        calculator = CALCULATORS[name]
        rig = parse(DEFAULTS)
        parts, paths = answer_parts(calculator, calculator.compute(Case(rig)), rig.units), calculator.inputs
    return html(
        element(
            "loft-calculator",
            form(name, paths),
            element(
                "div",
                element("p", class_="loft-state", role="status"),
                element("div", *parts, class_="loft-answer", data_answer="0"),
                class_="loft-result",
            ),
            name=name,
        )
    )


def _families() -> str:
    rows = [
        (
            name,
            f"{row['cd']['low']} to {row['cd']['high']}, best {row['cd']['best']}",
            str(row["cx"]),
            str(row["filling"]),
            " to ".join(str(end) for end in dict.fromkeys(row["inflated"])),
            row["cd"]["row"],
            "{text} ({how})".format(**CANOPY_SOURCES[row["cd"]["source"]]),
        )
        for name, row in FAMILIES.items()
    ]
    head = ("Family", "Cd on S0", "Cx, infinite mass", "Filling constant n", "Inflated over D0", "Row", "Source")
    return html(table(head, rows, "Canopy families"))


def _materials() -> str:
    parts = [
        table(
            ("Cloth", "Mass per area", "Source"),
            [(n, r["mass"], material_source(r)) for n, r in CLOTHS.items()],
            "Cloth",
        ),
        table(
            ("Line or cord", "Least strength", "Stretch at break", "Source"),
            [(n, r["strength"], f"{r['stretch'] * 100:g} %", material_source(r)) for n, r in (LINES | CORDS).items()],
            "Lines and cords",
        ),
        table(
            ("Knot or end", "Efficiency", "Source"),
            [(n, f"{r['efficiency'] * 100:g} %", material_source(r)) for n, r in ENDS.items()],
            "Knots and ends",
        ),
        table(
            ("Nylon screw", "Diameter", "Shear strength", "Source"),
            [(n, r["diameter"], " to ".join(r["shear"]), material_source(r)) for n, r in PINS.items()],
            "Shear pins",
        ),
        table(
            ("Hardware", "Rating", "Source"),
            [(n, r["rating"], material_source(r)) for n, r in HARDWARE.items()],
            "Hardware by open specification",
        ),
    ]
    return html(*parts)


def _fields() -> str:
    parts = []
    for group, legend in GROUPS.items():
        rows = []
        for path, field in FIELDS.items():
            if not path.startswith(f"{group}."):
                continue
            allowed = "; ".join(field.choices) if field.choices else limits(field, "metric") if field.kind else "text"
            also = (
                f" ({limits(field, 'feet and inches')})"
                if field.kind and field.kind.si and field.kind is not COUNT
                else ""
            )
            rows.append((path, field.label, field.help, allowed + also, field.default or "(empty)"))
        parts.append(table(("Field", "Label", "What it is", "Allowed", "Demo rig"), rows, legend))
    return html(*parts)


def _practice() -> str:
    rows = [(row["text"], row.get("source", "none"), row["how"]) for row in PRACTICE.values()]
    return html(table(("What is said", "Source", "How it is known"), rows, "Facts of the trade and our own choices"))


TABLES: dict[str, Callable[[], str]] = {
    "canopies": _families,
    "materials": _materials,
    "fields": _fields,
    "sources": _practice,
    "outside-checks": outside_table,
}


def default_rig() -> str:
    """The demo rig as a data block for the page's scripts; `<` is escaped so that it cannot end the block."""
    text = json.dumps(DEFAULTS, ensure_ascii=False).replace("<", "\\u003c")
    return f'<script type="application/json" id="loft-default-rig">{text}</script>'


def handout_block(name: str) -> str:
    """A hand-out of the demo rig: the first step, the card without links, the walk-through."""
    whole = plan(DEFAULTS)
    parts = {
        "step": lambda: handout.step(Case(parse(DEFAULTS)), ""),
        "card": lambda: handout.card(whole),
        "walk": lambda: handout.walk(whole),
    }
    answer = element("div", *parts[name](), class_="loft-answer", data_answer="0")
    return html(element("loft-handout", element("p", class_="loft-state", role="status"), answer, name=name))


def fill(content: str) -> str:
    """A page's HTML with every calculator and table in place. Raises KeyError for a name that does not exist."""
    content = _HANDOUT.sub(lambda match: handout_block(match[1]), content)
    content = _CALCULATOR.sub(lambda match: calculator_block(match[1]), content)
    return _TABLE.sub(lambda match: TABLES[match[1]](), content)


def on_page_content(html: str, **_: object) -> str:
    return fill(html)


def on_post_page(output: str, **_: object) -> str:
    return output.replace("</body>", f"{default_rig()}</body>", 1)
