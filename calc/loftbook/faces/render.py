"""Answers, forms and tables as HTML fragments, the same at build time and live. Knows no page and no browser.

Everything goes through `element`, so nothing a reader typed can become markup; pictures go in as they were made.
"""

from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType

from loftbook.answer import Answer, Calculator, Check, Output, Pair, Passage, Step, Table, Value, Working
from loftbook.calculators import CALCULATORS
from loftbook.calculators.packing import abreast
from loftbook.drawing.markup import Markup, element, joined
from loftbook.drawing.svg import Drawing
from loftbook.physics.spread import Spread
from loftbook.plan import Plan, parted
from loftbook.quantity import LONGEST, System, show
from loftbook.rig.field import Field
from loftbook.rig.fields import FIELDS, GROUPS
from loftbook.rig.parsing import is_relevant
from loftbook.rig.rig import Rig

VERDICTS = {"pass": "Holds", "warn": "Look again", "fail": "Fails"}


def html(*parts: Markup) -> str:
    return joined(parts)


# --- answers ----------------------------------------------------------------------------------------


def written(value: Value | None, output: Output, system: System) -> Sequence[Markup | str]:
    """An output's value in words, the range behind it."""
    if value is None:
        return ("does not apply",)
    if isinstance(value, Spread):
        assert output.kind
        best = show(value.best, output.kind, system)
        if value.is_point:
            return (best,)
        ends = f"{show(value.low, output.kind, system)} to {show(value.high, output.kind, system)}"
        return best, " ", element("span", ends, class_="loft-range")
    return (value if isinstance(value, str) else show(value, output.kind, system) if output.kind else str(value),)


def key_numbers(calculator: Calculator, answer: Answer, system: System, *, leads: bool) -> Markup:
    rows = [
        element(
            "div",
            element("dt", o.label),
            element("dd", *written(answer.outputs[o.name], o, system)),
            data_output=o.name,
        )
        for o in calculator.outputs
        if o.leads is leads and answer.outputs[o.name] is not None
    ]
    return element("dl", *rows, class_="loft-key")


def checks(rows: Iterable[Check], bays: Mapping[str, str] = MappingProxyType({})) -> Markup:
    """A list of checks. bays: what each bay is called, where checks of several stand together."""
    return element("ul", *(_check(row, bays.get(row.bay, "")) for row in rows), class_="loft-checks")


def _check(check: Check, bay: str) -> Markup:
    return element(
        "li",
        element("strong", f"{VERDICTS[check.verdict]}: "),
        element("span", f"{check.title}, {bay}. " if bay else f"{check.title}. "),
        check.reason,
        class_="loft-check",
        data_verdict=check.verdict,
        data_check=check.name,
        data_bay=check.bay or None,
    )


def bay_names(whole: Plan) -> dict[str, str]:
    """What each bay, canopy or cord of a plan is called; nothing where there is only one."""
    keys = whole.rig.way.keys
    return {key: whole.worked.title(key) for key in keys} if len(keys) > 1 else {}


def figure(drawing: Drawing, class_: str = "loft-drawing") -> Markup:
    """A picture with its caption."""
    return element("figure", drawing.svg, element("figcaption", drawing.name), class_=class_)


def working(rows: Iterable[Working], more: Markup | None = None) -> Markup:
    items = [
        element(
            "li",
            element("strong", w.title),
            element("div", w.formula, class_="loft-formula"),
            element("div", w.numbers, class_="loft-numbers"),
            element("div", w.source, class_="loft-source"),
        )
        for w in rows
    ]
    return element(
        "details", element("summary", "Show the working"), element("ol", *items), more, class_="loft-working"
    )


def pair(row: Pair) -> Markup:
    """A mistake beside its right way."""
    return element(
        "section",
        element("h3", row.title),
        element(
            "div",
            element("div", element("p", element("strong", "Wrong")), figure(row.wrong), class_="loft-wrong"),
            element("div", element("p", element("strong", "Right")), figure(row.right), class_="loft-right"),
            class_="loft-both",
        ),
        element("p", row.reason),
        element("p", element("strong", "Caught by: "), row.caught_by),
        class_="loft-pair",
        id=row.anchor,
    )


def passage(row: Passage) -> Markup:
    """A few sentences that can be linked to."""
    return element("section", element("h3", row.title), element("p", row.text), class_="loft-passage", id=row.anchor)


def steps(rows: Sequence[Step]) -> Markup:
    return element("ol", *(_step(number, step) for number, step in enumerate(rows, 1)), class_="loft-steps")


def _step(number: int, step: Step) -> Markup:
    link = element(
        "a",
        "#",
        href=f"#{step.anchor}",
        class_="loft-steplink",
        aria_label=f"Link to step {number}, {step.title}",
    )
    return element(
        "li",
        element("h3", f"{number}. {step.title} ", link),
        element("p", step.text),
        element("p", element("strong", "You should see: "), step.seen, class_="loft-seen"),
        element("p", element("strong", "If not: "), step.otherwise, class_="loft-otherwise"),
        figure(step.drawing) if step.drawing else None,
        class_="loft-step",
        id=step.anchor,
    )


def _listed(rows: Sequence[str], class_: str) -> list[Markup]:
    return [element("ul", *(element("li", row) for row in rows), class_=class_)] if rows else []


def _numbers(rows: Table, of: str) -> Markup:
    """A table, folded away unless it is the answer itself; `of` tells it from its like of another bay to who can't see it."""
    inside = table(rows.head, rows.rows, rows.caption, of)
    if rows.shown:
        return inside
    return element("details", element("summary", rows.caption), inside, class_="loft-numbers-table")


def answer_parts(calculator: Calculator, answer: Answer, system: System, heading: str = "") -> list[Markup]:
    """An answer by itself; or under a heading of the plan, which has all checks at its top already."""
    return [
        *_listed(answer.cautions, "loft-cautions"),
        element("p", answer.summary, class_="loft-summary"),
        key_numbers(calculator, answer, system, leads=True),
        *([] if heading else [checks(answer.checks)]),
        *map(figure, answer.drawings),
        *(_numbers(rows, heading) for rows in answer.tables),
        *_listed(answer.notes, "loft-notes"),
        *map(passage, answer.passages),
        *map(pair, answer.pairs),
        *([steps(answer.steps)] if answer.steps else []),
        working(answer.working, key_numbers(calculator, answer, system, leads=False)),
    ]


def plan_parts(whole: Plan) -> list[Markup]:
    """The plan at a glance: verdict, the way down, what does not hold, bays, failures; then each answer, folded away."""
    rig = whole.rig
    return [
        element("h2", rig.text("rig.name"), id="plan-of-rig"),
        element("p", _verdict(whole), class_="loft-summary", data_sound="yes" if whole.sound else "no"),
        *whose(rig, (parted(name)[1] for name in whole.answers)),
        *_open_first(whole),
        element("div", figure(whole.answers["descent"].drawings[0]), figure(abreast(whole.worked)), class_="loft-abreast"),
        *_failures(whole),
        element("p", "Each opens at a touch; what is open is printed.", class_="loft-help loft-noprint"),
        element("div", *(_part(whole, name, answer) for name, answer in whole.answers.items()), class_="loft-parts"),
    ]


def _open_first(whole: Plan) -> list[Markup]:
    """Checks that fail or want another look; those that hold in one line."""
    names, held = bay_names(whole), [check for check in whole.checks if check.verdict == "pass"]
    others = [check for check in whole.checks if check.verdict != "pass"]
    made = [checks(others, names)] if others else []
    if held:
        made.append(element("details", element("summary", f"{len(held)} hold"), checks(held, names), class_="loft-held"))
    return made


def borrowed(rig: Rig, names: Iterable[str]) -> tuple[int, int]:
    """Of the measures that answers of these calculators rest on: how many are still the starting rig's, and how many there are."""
    inputs = {path for name in names for path in CALCULATORS[name].inputs if not path.startswith("rig.")}
    asked = {path for path in inputs if is_relevant(FIELDS[path], rig.texts)}
    return len(asked & rig.assumed), len(asked)


def whose(rig: Rig, names: Iterable[str]) -> list[Markup]:
    """The same in a sentence; nothing where every measure is the reader's."""
    still, asked = borrowed(rig, names)
    if not still:
        return []
    said = f"{still} of the {asked} measures that this rests on are still the starting rig's."
    return [element("p", said, class_="loft-whose", data_still=str(still))]


def _failures(whole: Plan) -> list[Markup]:
    """What if one thing fails, a line each; the rest stands in its own answer."""
    first = whole.answers["failures"].tables[0]
    rows = [
        element("tr", element("th", row[0], scope="row"), element("td", row[1]), element("td", row[4]), data_fails=row[1])
        for row in first.rows
    ]
    head = element("tr", *(element("th", words, scope="col") for words in (first.head[0], first.head[1], "Lands, up to")))
    caption = element("caption", "One thing fails at a time")
    table_ = element("table", caption, element("thead", head), element("tbody", *rows), class_="loft-fails-table")
    return [table_]


def _part(whole: Plan, name: str, answer: Answer) -> Markup:
    """One answer under its heading, folded away."""
    key, calculator = parted(name)
    heading = whole.title(name)
    inside = answer_parts(CALCULATORS[calculator], answer, whole.rig.units, heading)
    title = element("summary", element("h2", heading, id=f"plan-{name.replace('.', '-')}"))
    return element("details", title, *inside, class_="loft-part", data_part=name, data_bay=key or None)


def _verdict(whole: Plan) -> str:
    failed = sum(check.verdict == "fail" for check in whole.checks)
    if not failed:
        return "Every check holds or asks for a second look."
    return f"{failed} check{'s fail' if failed > 1 else ' fails'}: do not fly it like this."


# --- forms --------------------------------------------------------------------------------------------


def form(name: str, fields: Iterable[Field]) -> Markup:
    """A form of fields by group, filled with the defaults. `name` begins every id."""
    rows: dict[str, list[Field]] = {group: [] for group in GROUPS}
    for field in fields:
        rows[field.group].append(field)
    groups = [_group(name, group, inside) for group, inside in rows.items() if inside]
    return element("form", *groups, class_="loft-form", novalidate="novalidate")


def _group(form_name: str, group: str, fields: Sequence[Field]) -> Markup:
    return element(
        "fieldset",
        element("legend", GROUPS[group]),
        *(_field(form_name, field) for field in fields),
        class_="loft-group",
        data_group=group,
        data_bay=fields[0].bay or None,
    )


def _field(form_name: str, field: Field) -> Markup:
    """Label, control, help, and room for a fault. `data-when` says when it matters: path=value|value&path=value."""
    id_ = f"{form_name}-{field.path}"
    return element(
        "div",
        element("label", field.label + (" (may be empty)" if field.optional else ""), for_=id_),
        element("span", class_="loft-origin", hidden="hidden"),
        _control(id_, field),
        element("p", field.help, class_="loft-help", id=f"{id_}-help"),
        element("div", class_="loft-fault", id=f"{id_}-fault", hidden="hidden"),
        class_="loft-field",
        data_field=field.path,
        data_when="&".join(f"{path}={'|'.join(values)}" for path, values in field.when) or None,
    )


def _control(id_: str, field: Field) -> Markup:
    """A list for choices, an area for long texts, else a line of text."""
    common = {"id": id_, "name": field.path, "aria_describedby": f"{id_}-help {id_}-fault"}
    if field.choices:
        options = (
            element("option", choice, value=choice, selected="selected" if choice == field.default else None)
            for choice in field.choices
        )
        return element("select", *options, **common)
    typed = {"autocomplete": "off", "spellcheck": "false"}
    if field.longest > LONGEST:
        return element("textarea", field.default, rows="3", **typed, **common)
    return element("input", type="text", value=field.default, **typed, autocapitalize="off", **common)


def table(head: Sequence[str], rows: Iterable[Sequence[str]], caption: str, heading: str = "") -> Markup:
    return element(
        "div",
        element(
            "table",
            element("caption", caption),
            element("thead", element("tr", *(element("th", cell, scope="col") for cell in head))),
            element("tbody", *(element("tr", *(element("td", cell) for cell in row)) for row in rows)),
            class_="loft-table",
        ),
        class_="loft-scroll",
        tabindex="0",
        role="region",
        aria_label=f"{heading}. {caption}" if heading else caption,
    )
