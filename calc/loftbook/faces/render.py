"""Answers, forms and tables as HTML fragments, the same at build time and live. Knows no page and no browser.

Everything goes through ElementTree, so nothing a reader typed can become markup.
"""

from collections.abc import Iterable, Sequence
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

from loftbook.answer import Answer, Calculator, Check, Field, Output, Pair, Stage, Value, Working
from loftbook.drawing.svg import Drawing
from loftbook.fields import FIELDS, GROUPS
from loftbook.plan import Plan
from loftbook.quantity import LONGEST, System, show
from loftbook.physics.spread import Spread

VERDICTS = {"pass": "Holds", "warn": "Look again", "fail": "Fails"}


def element(tag: str, *children: "Element | str | None", **attributes: str) -> Element:
    """An element; `class_` and `for_` lose their underscore, other underscores become hyphens."""
    made = Element(tag, {k.rstrip("_").replace("_", "-"): v for k, v in attributes.items()})
    for child in children:
        if isinstance(child, Element):
            made.append(child)
        elif child:
            if len(made):
                made[-1].tail = (made[-1].tail or "") + child
            else:
                made.text = (made.text or "") + child
    return made


def html(*parts: Element) -> str:
    return "".join(ElementTree.tostring(part, encoding="unicode", method="html") for part in parts)


# --- answers ----------------------------------------------------------------------------------------


def written(value: Value | None, output: Output, system: System) -> Sequence[Element | str]:
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


def key_numbers(calculator: Calculator, answer: Answer, system: System, *, main: bool) -> Element:
    rows = [
        element(
            "div",
            element("dt", o.label),
            element("dd", *written(answer.outputs[o.name], o, system)),
            data_output=o.name,
        )
        for o in calculator.outputs
        if o.main is main and answer.outputs[o.name] is not None
    ]
    return element("dl", *rows, class_="loft-key")


def checks(rows: Iterable[Check]) -> Element:
    return element(
        "ul",
        *(
            element(
                "li",
                element("strong", f"{VERDICTS[c.verdict]}: "),
                element("span", f"{c.title}. "),
                c.reason,
                class_="loft-check",
                data_verdict=c.verdict,
                data_check=c.name,
            )
            for c in rows
        ),
        class_="loft-checks",
    )


def figure(drawing: Drawing) -> Element:
    """A picture with its caption; names lose their namespace, which HTML does without."""
    picture = ElementTree.fromstring(drawing.svg)
    for part in picture.iter():
        part.tag = part.tag.rpartition("}")[2]
    return element("figure", picture, element("figcaption", drawing.name), class_="loft-drawing")


def working(rows: Iterable[Working], more: Element | None = None) -> Element:
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


def pair(row: Pair) -> Element:
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


def steps(rows: Sequence[Stage]) -> Element:
    items = []
    for number, stage in enumerate(rows, 1):
        link = element(
            "a",
            "#",
            href=f"#{stage.anchor}",
            class_="loft-steplink",
            aria_label=f"Link to step {number}, {stage.title}",
        )
        items.append(
            element(
                "li",
                element("h3", f"{number}. {stage.title} ", link),
                element("p", stage.text),
                element("p", element("strong", "You should see: "), stage.seen, class_="loft-seen"),
                element("p", element("strong", "If not: "), stage.otherwise, class_="loft-otherwise"),
                figure(stage.drawing) if stage.drawing else None,
                class_="loft-step",
                id=stage.anchor,
            )
        )
    return element("ol", *items, class_="loft-steps")


def answer_parts(calculator: Calculator, answer: Answer, system: System, *, with_checks: bool = True) -> list[Element]:
    parts = []
    if answer.cautions:
        items = (element("li", caution) for caution in answer.cautions)
        parts.append(element("ul", *items, class_="loft-cautions"))
    parts += [element("p", answer.summary, class_="loft-summary"), key_numbers(calculator, answer, system, main=True)]
    if with_checks:
        parts.append(checks(answer.checks))
    parts += [figure(drawing) for drawing in answer.drawings]
    for rows in answer.tables:
        summary = element("summary", rows.caption)
        parts.append(
            element("details", summary, table(rows.head, rows.rows, rows.caption), class_="loft-numbers-table")
        )
    if answer.notes:
        parts.append(element("ul", *(element("li", note) for note in answer.notes), class_="loft-notes"))
    parts += [pair(row) for row in answer.pairs]
    if answer.stages:
        parts.append(steps(answer.stages))
    parts.append(working(answer.working, key_numbers(calculator, answer, system, main=False)))
    return parts


def plan_parts(whole: Plan, calculators: Iterable[Calculator]) -> list[Element]:
    """The whole plan: verdict and every check first, then each calculator's answer under its own heading."""
    rig = whole.rig
    failed = sum(check.verdict == "fail" for check in whole.checks)
    verdict = (
        "Every check holds or asks for a second look."
        if not failed
        else (
            f"{failed} check{'s' if failed > 1 else ''} {'fail' if failed > 1 else 'fails'}: do not fly it like this."
        )
    )
    parts = [
        element("h2", rig.text("rig.name"), id="plan-of-rig"),
        element("p", verdict, class_="loft-summary", data_sound="yes" if whole.sound else "no"),
        checks(whole.checks),
    ]
    for calculator in (c for c in calculators if c.in_plan):
        parts.append(element("h2", calculator.title, id=f"plan-{calculator.name}"))
        parts += answer_parts(calculator, whole.answers[calculator.name], rig.units, with_checks=False)
    return parts


# --- forms --------------------------------------------------------------------------------------------


def form(name: str, paths: Iterable[str]) -> Element:
    """The form of a calculator: its fields by group, filled with the defaults."""
    chosen = set(paths)
    groups = []
    for group, legend in GROUPS.items():
        rows = [_field(name, f) for p, f in FIELDS.items() if p in chosen and p.startswith(f"{group}.")]
        if rows:
            groups.append(element("fieldset", element("legend", legend), *rows, class_="loft-group"))
    return element("form", *groups, class_="loft-form", novalidate="novalidate")


def _field(calculator: str, field: Field) -> Element:
    id_ = f"{calculator}-{field.path}"
    common = {"id": id_, "name": field.path, "aria_describedby": f"{id_}-help {id_}-fault"}
    if field.choices:
        options = [
            element("option", c, value=c, **({"selected": "selected"} if c == field.default else {}))
            for c in field.choices
        ]
        control = element("select", *options, **common)
    elif field.longest > LONGEST:
        control = element("textarea", field.default, rows="3", autocomplete="off", spellcheck="false", **common)
    else:
        control = element(
            "input",
            type="text",
            value=field.default,
            autocomplete="off",
            spellcheck="false",
            autocapitalize="off",
            **common,
        )
    when = {"data_when": f"{field.when[0]}={'|'.join(field.when[1])}"} if field.when else {}
    return element(
        "div",
        element("label", field.label + (" (may be empty)" if field.optional else ""), for_=id_),
        control,
        element("p", field.help, class_="loft-help", id=f"{id_}-help"),
        element("div", class_="loft-fault", id=f"{id_}-fault", hidden="hidden"),
        class_="loft-field",
        data_field=field.path,
        **when,
    )


def table(head: Sequence[str], rows: Iterable[Sequence[str]], caption: str) -> Element:
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
        aria_label=caption,
    )
