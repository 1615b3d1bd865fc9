"""The MkDocs hook: puts calculators' default cases, generated tables and the starting rigs into the built pages.

Pure functions from text to text, and one adapter at the end. Knows calculators; no page knows it.
"""

import json
import re
import sys
from collections.abc import Callable, Iterable
from functools import cache
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))
sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "calc"))

from loftbook.calculators.making_words import SECTIONS
from loftbook.drawing.markup import Markup, element
from loftbook.drawing.sewing import ATTACHMENTS, attachment, seam_section
from loftbook.drawing.wear import laid_out, worn
from loftbook.faces import flights, glance, handout, logbook
from loftbook.faces.beside import beside
from loftbook.faces.gates import mark_of
from loftbook.faces.live import about, pattern_parts
from loftbook.faces.render import figure, form, html, plan_lead, plan_more, table
from loftbook.plan import Plan, plan
from loftbook.quantity import COUNT, LENGTH, show
from loftbook.rig.bay_fields import BAY_FIELDS, BAY_GROUPS
from loftbook.rig.field import BayField, Field
from loftbook.rig.fields import DEFAULTS, FIELDS, GROUPS, STARTS
from loftbook.rig.parsing import limits
from loftbook.rig.ways import KEYS, WAYS
from loftbook.tables import (
    CLOTHS,
    CORDS,
    ENDS,
    EVENTS,
    FAMILIES,
    HARDWARE,
    HEMS,
    INSPECTIONS,
    LINES,
    PINS,
    PRACTICE,
    SEAMS,
    THREADS,
    Inspection,
    Sourced,
)
from outside_page import outside_table
from searching import passages, without_forms

_CALCULATOR = re.compile(r'<loft-calculator name="([a-z-]+)">\s*</loft-calculator>')
_HANDOUT = re.compile(r'<loft-handout name="(step|card|walk|pattern)">\s*</loft-handout>')
_LOOK = re.compile(r'<loft-(home|begin)>\s*</loft-\1>')
_MEASURED = re.compile(r"<loft-measured>\s*</loft-measured>")
_LOGBOOK = re.compile(r"<loft-logbook>\s*</loft-logbook>")
_BESIDE = re.compile(r"<loft-beside>\s*</loft-beside>")
_TABLE = re.compile(r'<loft-table name="([a-z-]+)">\s*</loft-table>')


@cache
def _demo() -> Plan:
    """The first starting rig, worked through once for all pages."""
    return plan({})


# --- calculators and hand-outs -------------------------------------------------------------------------


def calculator_block(name: str) -> str:
    """A calculator's form and what it answers about the first starting rig. Raises KeyError for one that does not exist."""
    if name == "start":
        result = element("div", *_room(glance.start_parts(_demo())), class_="loft-result")
        return html(element("loft-calculator", glance.start_form(), result, name=name, data_each="rig", data_do="start"))
    if name == "plan":
        (state, lead), typed = _room(plan_lead(_demo())), form(name, FIELDS.values())
        whole = element("div", lead, _rest(plan_more(_demo())), class_="loft-whole")
        return html(element("loft-calculator", state, whole, typed, name=name, data_each="rig"))
    one = about(name, {})
    typed = form(name, [FIELDS[path] for path in one.calculator.inputs], one.calculator.asks, one.key)
    state, lead = _room(one.lead())
    bench = element("div", lead, typed, class_="loft-bench")
    return html(element("loft-calculator", state, bench, _rest(one.more()), name=name, data_each=one.calculator.each))


NOT_LIVE = "Not live: these are the demo rig’s figures, whatever is typed. Load this page again, or wait for a better line."
NO_BOOK = "Not live: nothing can be written down here yet, and what was is not shown. Load this page again, or wait for a better line."


def _room(parts: Iterable[Markup]) -> tuple[Markup, Markup]:
    """Where scripts say how things stand, and the answer that they replace once it is another."""
    made = html(*parts)
    return _state(NOT_LIVE), element("div", made, class_="loft-answer", data_answer="0", data_mark=mark_of(made))


def _state(words: str) -> Markup:
    return element("p", element("span", words), class_="loft-state loft-notlive", role="status")


def _rest(parts: Iterable[Markup]) -> Markup:
    made = html(*parts)
    return element("div", made, class_="loft-more", data_mark=mark_of(made))


def handout_block(name: str) -> str:
    """A hand-out of the first starting rig: the first step, the card without codes, the walk-through."""
    made: dict[str, Callable[[], list[Markup]]] = {
        "step": lambda: handout.step(_demo(), ""),
        "card": lambda: handout.card(_demo()),
        "walk": lambda: handout.walk(_demo()),
        "pattern": lambda: pattern_parts(about("making", {})),
    }
    (state, answer), tools = _room(made[name]()), _TOOLS[name]
    bar = element("div", *tools, class_="loft-row loft-handbar", inert="inert") if tools else None
    return html(element("loft-handout", state, *((answer, bar) if name == "step" else (bar, answer)), name=name))


def _button(words: str, **attributes: str) -> Markup:
    return element("button", words, type="button", class_="loft-button", **attributes)


def _choice(what: str, choices: dict[str, str]) -> Markup:
    """One of a few, the first at the start."""
    first = next(iter(choices))
    buttons = (_button(words, data_choice=what, data_value=value, aria_pressed=str(value == first).lower()) for value, words in choices.items())
    return element("div", *buttons, class_="loft-row loft-choice", role="group", aria_label=what)


_TOOLS: dict[str, list[Markup]] = {  # what can be done with a hand-out; stands where it will be, and does nothing until its script is there
    "step": [
        _button("Copy link to this step", data_act="copy"),
        _button("Show it as a QR code", data_act="code"),
        _button("Share", data_act="share", hidden="hidden"),  # not every browser can
    ],
    "card": [_button(f"Print on {name}", data_print=size) for size, name in (("a4", "A4"), ("letter", "Letter"), ("half", "half a sheet"))],
    "walk": [],
    "pattern": [
        _choice("paper", {"a4": "A4", "letter": "Letter", "a3": "A3"}),
        _choice("scale", {"full": "True size", "model": "A tenth, of paper"}),
        _button("Print the sheets", data_act="print"),
        _button("Save as one picture", data_act="save"),
    ],
}


def look_block(name: str) -> str:
    """The demo rig's picture for the home page, or the choice of starting rigs."""
    if name == "begin":
        return html(element("loft-begin", glance.start_rigs()))
    return html(element("loft-home", *_room(glance.home_parts(_demo()))), glance.tiles())


def measured_block() -> str:
    """The ways to bring a flight, and an example that is nobody's."""
    return html(element("loft-measured", flights.opener(), *_room(flights.parts(flights.example()))))


def logbook_block() -> str:
    """The forms of the logbook, and an example that is nobody's."""
    example = element("div", *logbook.example(), class_="loft-logexample")
    written = element("div", element("h2", "What is written down"), class_="loft-loglist")
    answer = element("div", element("div", class_="loft-knownof"), written, example, class_="loft-answer")
    return html(element("loft-logbook", _state(NO_BOOK), *logbook.opener(), answer))


def beside_block() -> str:
    """The demo rig beside the second starting rig, under the names that the page's script gives them."""
    first, second = list(STARTS)[:2]
    made = html(*beside([(f"As it is: {STARTS[first]['rig.name']}", {}), (f"Starting rig: {second}", {"rig.start": second})]))
    state = element("p", class_="loft-sides-state loft-help", role="status")
    return html(element("loft-beside", state, element("div", Markup(made), class_="loft-sides-place", data_mark=mark_of(made))))


# --- tables --------------------------------------------------------------------------------------------


def _sources(**numbers: Sourced | None) -> str:
    """Where the numbers of a row come from: each source once, with what it is the source of where there are several."""
    by_source: dict[str, list[str]] = {}
    for name, number in numbers.items():
        if number:
            by_source.setdefault(number.cited, []).append(name.replace("_", " "))
    if len(by_source) == 1:
        return next(iter(by_source))
    return "; ".join(f"{', '.join(names)}: {cited}" for cited, names in by_source.items())


def _families() -> str:
    rows = [
        (
            row.name,
            row.cd.printed,
            row.cx.printed,
            row.filling.printed,
            row.inflated.printed,
            _sources(Cd=row.cd, Cx=row.cx, n=row.filling, inflated=row.inflated),
        )
        for row in FAMILIES.values()
    ]
    head = ("Family", "Cd on S0", "Cx, infinite mass", "Filling constant n", "Inflated over D0", "Source")
    return html(table(head, rows, "Canopy families"))


def _materials() -> str:
    parts = [
        table(
            ("Cloth", "Mass per area", "Breaking strength", "Source"),
            [
                (
                    r.name,
                    r.mass.printed,
                    r.strength.printed if r.strength else "not known",
                    _sources(mass=r.mass, strength=r.strength),
                )
                for r in CLOTHS.values()
            ],
            "Cloth",
        ),
        table(
            ("Line or cord", "Least strength", "Stretch at break", "Source"),
            [
                (r.name, r.strength.printed, r.stretch.show("metric"), _sources(strength=r.strength, stretch=r.stretch))
                for r in (LINES | CORDS).values()
            ],
            "Lines and cords",
        ),
        table(
            ("Knot or end", "Efficiency", "Source"),
            [(r.name, r.efficiency.show("metric"), r.efficiency.cited) for r in ENDS.values()],
            "Knots and ends",
        ),
        table(
            ("Nylon screw", "Diameter", "Thread", "Shear strength", "Source"),
            [
                (
                    r.name,
                    r.diameter.printed,
                    f"{r.pitch.printed} pitch" if r.pitch else f"{r.threads_per_inch.printed} to the inch",
                    r.shear.printed,
                    _sources(diameter=r.diameter, thread=r.pitch or r.threads_per_inch, shear_strength=r.shear),
                )
                for r in PINS.values()
            ],
            "Shear pins",
        ),
        table(
            ("Hardware", "Rating", "Source"),
            [(r.name, r.rating.printed, r.rating.cited) for r in HARDWARE.values()],
            "Hardware by open specification",
        ),
        table(
            ("Thread", "Least strength", "Mass per length", "Source"),
            [(r.name, r.strength.printed, r.mass.printed, _sources(strength=r.strength, mass=r.mass)) for r in THREADS.values()],
            "Sewing threads",
        ),
    ]
    return html(*parts)


def _seams() -> str:
    """Every seam and hem in section, as they are ten millimetres wide; every way to fasten a line."""
    width, shown = 0.01, []
    for one in (*SEAMS.values(), *HEMS.values()):
        takes = show(one.allowed(width), LENGTH, "metric") if one.allowance else "no cloth"
        said = f"{one.name[0].upper()}{one.name[1:]}, 10 mm wide: takes {takes} beyond its {'middle' if one.name in SEAMS else 'edge'}."
        shown.append(figure(seam_section(SECTIONS[one.name], "10 mm", takes, said)))
    shown += [figure(attachment(kind, True, "sewn on", f"A line fastened: {kind}.")) for kind in ATTACHMENTS]
    return html(element("div", *shown, class_="loft-seams"))


def _fields() -> str:
    """Every field by group; the groups that each bay has stand once, where the first bay's are."""
    parts, told = [], set()
    for group, legend in GROUPS.items():
        name = group.rpartition(".")[2]
        if group == name:
            rows = [_row(path, field, field.default) for path, field in FIELDS.items() if field.group == group]
            parts.append(table(_FIELD_HEAD, rows, f"{legend}: [{group}]"))
        elif name not in told:
            told.add(name)
            parts.append(_bay_fields(name))
    return html(*parts)


_FIELD_HEAD = ("Field", "Label", "What it is", "Allowed", "Starting rig")


def _bay_fields(group: str) -> Markup:
    """The fields of a group that every bay has, with what the first starting rig says for each of them."""
    rows = []
    for one in BAY_FIELDS:
        if one.group == group:
            said = {key: DEFAULTS[f"{key}.{one.path}"] for key in _keys_of(one)}
            rows.append(_row(one.path, one, _by_key(said)))
    before = ", ".join(f"{key}." for key in KEYS)
    return table(_FIELD_HEAD, rows, f"{BAY_GROUPS[group]}, of each bay: {before} stands before the name")


def _keys_of(one: BayField) -> list[str]:
    return [key for key in KEYS if f"{key}.{one.path}" in FIELDS]


def _by_key(said: dict[str, str]) -> str:
    """Once where every bay that has the field says the same, else bay by bay."""
    words = {key: text or "(empty)" for key, text in said.items()}
    if len(set(words.values())) == 1 and len(words) == len(KEYS):
        return next(iter(words.values()))
    return "; ".join(f"{key}: {text}" for key, text in words.items())


def _row(path: str, field: Field, start: str) -> tuple[str, ...]:
    allowed = "; ".join(field.choices) if field.choices else limits(field, "metric") if field.kind else "text"
    if field.kind and field.kind.si and field.kind is not COUNT:
        allowed += f" ({limits(field, 'feet and inches')})"
    return path, field.label, field.help, allowed, start or "(empty)"


def _inspection() -> str:
    """What is looked over, part by part, each row at its anchor with its picture."""
    parts: dict[str, list[Markup]] = {}
    for row in INSPECTIONS.values():
        parts.setdefault(row.part, []).append(_looked_at(row))
    made = [piece for part, rows in parts.items() for piece in (element("h2", part.capitalize(), id=_part(part)), *rows)]
    return html(element("div", *made, class_="loft-wear"))


def _part(part: str) -> str:
    return f"part-{part.replace(' ', '-')}"


def _laid_out() -> str:
    """All parts as they lie on a table, and the way to each."""
    parts = dict.fromkeys(row.part for row in INSPECTIONS.values())
    links = (element("li", element("a", part.capitalize(), href=f"#{_part(part)}")) for part in parts)
    return html(figure(laid_out()), element("ul", *links, class_="loft-wrecks loft-noprint"))


def _looked_at(row: Inspection) -> Markup:
    """A row: what to look at, what is bad, what retires it, when it is due."""
    told = (("Look", row.look), ("Bad", row.bad), ("Retire", row.retire), ("Due", _when(row) + (f" ({row.source.cited})" if row.source.text else "") + "."))
    link = element("a", "§", href=f"#{row.name}", class_="headerlink", title="Link to this section")
    return element(
        "section",
        element("h3", element("span", "☐ ", class_="loft-box loft-printonly", aria_hidden="true"), row.title, link),
        figure(worn(row.picture)) if row.picture else None,
        *(element("p", element("strong", f"{word}: "), text) for word, text in told),
        class_="loft-passage loft-worn",
        id=row.name,
    )


def _when(row: Inspection) -> str:
    """`after every flight, after 365 days without a look; at once after a hard landing`."""
    flown = [] if row.flights is None else ["after every flight"] if row.flights == 1 else [f"after {row.flights} flights"]
    regular = ", ".join((*flown, f"after {row.days} days without a look"))
    events = [EVENTS[name] for name in row.after]
    *most, last = events or [""]
    listed = f"{', '.join(most)} or {last}" if most else last
    return f"{regular}; at once after {listed}" if events else regular


def _practice() -> str:
    rows = [(row.sentence("metric"), row.source.text or "none", row.source.how) for row in PRACTICE.values()]
    return html(table(("What is said", "Source", "How it is known"), rows, "Facts of the trade and our own choices"))


TABLES: dict[str, Callable[[], str]] = {
    "canopies": _families,
    "materials": _materials,
    "seams": _seams,
    "fields": _fields,
    "inspection": _inspection,
    "laid-out": _laid_out,
    "sources": _practice,
    "outside-checks": outside_table,
}


# --- what scripts want to know -------------------------------------------------------------------------


@cache
def starts_block() -> str:
    """Starting rigs and ways down as a data block for the page's scripts; `<` is escaped so that it cannot end the block.

    starts: the first in full, of the others what differs from it; ways: the keys of each by what a calculator is about.
    """
    told = {
        "starts": {
            name: {path: text for path, text in texts.items() if texts is DEFAULTS or text != DEFAULTS[path]}
            for name, texts in STARTS.items()
        },
        "ways": {name: {"canopy": way.canopies, "bay": way.bays, "cord": way.keys, "part": ("?", "", *way.keys) if len(way.keys) > 1 else ("",)} for name, way in WAYS.items()},
    }
    text = json.dumps(told, ensure_ascii=False, separators=(",", ":")).replace("<", "\\u003c")
    return f'<script type="application/json" id="loft-starts">{text}</script>'


def fill(content: str) -> str:
    """A page's HTML with every calculator and table in place. Raises KeyError for a name that does not exist."""
    content = _HANDOUT.sub(lambda match: handout_block(match[1]), content)
    content = _LOOK.sub(lambda match: look_block(match[1]), content)
    content = _MEASURED.sub(lambda match: measured_block(), content)
    content = _LOGBOOK.sub(lambda match: logbook_block(), content)
    content = _CALCULATOR.sub(lambda match: calculator_block(match[1]), content)
    content = _BESIDE.sub(lambda match: beside_block(), content)
    return _TABLE.sub(lambda match: TABLES[match[1]](), content)


_HANDED_ON = frozenset(("step.md", "card.md", "field.md", "plan.md", "pattern.md"))  # what they show is another page's own
_CARDS = "field/#card-"  # the walk's cards, steps of other pages
_found: dict[str, list[dict[str, object]]] = {}


def on_page_content(html: str, page: object, **_: object) -> str:
    filled = fill(html)
    if page.file.src_uri not in _HANDED_ON:  # type: ignore[attr-defined]
        url = page.url  # type: ignore[attr-defined]
        _found[url] = [entry | {"location": f"{url}{entry['location']}"} for entry in passages(filled)]
    return without_forms(filled)


def on_post_build(config: dict[str, str], **_: object) -> None:
    """After the theme's search has written its index: the passages with it."""
    index = Path(config["site_dir"], "search", "search_index.json")
    told = json.loads(index.read_text())
    there = {entry["location"] for entry in told["docs"]}
    told["docs"] = [entry for entry in told["docs"] if not entry["location"].startswith(_CARDS)]
    told["docs"] += [entry for entries in _found.values() for entry in entries if entry["location"] not in there]
    index.write_text(json.dumps(told, separators=(",", ":")))


def on_post_page(output: str, **_: object) -> str:
    return output.replace("</body>", f"{starts_block()}</body>", 1)
