"""Answers, forms and tables as HTML fragments, the same at build time and live. Knows no page and no browser.

Everything goes through `element`, so nothing a reader typed can become markup; pictures go in as they were made.
"""

import json
from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType

from loftbook.answer import (
    Answer,
    Calculator,
    Cause,
    Check,
    Figure,
    Offer,
    Output,
    Pair,
    Passage,
    Seen,
    Step,
    Table,
    Value,
    Working,
)
from loftbook.calculators import CALCULATORS
from loftbook.calculators.packing import abreast
from loftbook.drawing.markup import Markup, element, joined
from loftbook.drawing.svg import Drawing
from loftbook.physics.spread import Spread
from loftbook.plan import Plan, parted
from loftbook.quantity import LONGEST, System, ends, show
from loftbook.rig.field import Field
from loftbook.rig.fields import DEFAULTS, FIELDS, GROUPS
from loftbook.rig.parsing import is_relevant
from loftbook.rig.rig import Rig
from loftbook.worked.worked import Worked

_ALL_SEEN = "seen"
_SAFETY = "../safety/"  # beside the page that an answer stands in
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
        return best, " ", element("span", ends(value.low, value.best, value.high, output.kind, system), class_="loft-range")
    return (value if isinstance(value, str) else show(value, output.kind, system) if output.kind else str(value),)


DEMO = "Demo rig, not yours"
_IN_PLAN = frozenset(kind.name for one in CALCULATORS.values() if one.in_plan for kind in one.checks)
LEADING = 2  # numbers that stand large beside the picture


def key_numbers(outputs: Iterable[Output], answer: Answer, system: System, class_: str = "loft-key") -> Markup | None:
    """Numbers with their names; nothing where none of them applies."""
    rows = [
        element(
            "div",
            element("dt", o.label),
            element("dd", *written(answer.outputs[o.name], o, system)),
            data_output=o.name,
        )
        for o in outputs
        if answer.outputs[o.name] is not None
    ]
    return element("dl", *rows, class_=class_) if rows else None


def _leading(calculator: Calculator, answer: Answer) -> list[Output]:
    return [o for o in calculator.outputs if o.leads and answer.outputs[o.name] is not None]


def checks(rows: Iterable[Check], bays: Mapping[str, str] = MappingProxyType({})) -> Markup:
    """A list of checks. bays: what each bay is called, where checks of several stand together."""
    return element("ul", *(_check(row, bays.get(row.bay, "")) for row in rows), class_="loft-checks")


def _check(check: Check, bay: str) -> Markup:
    return element(
        "li",
        element("strong", f"{VERDICTS[check.verdict]}: "),
        element("span", f"{check.title}, {bay}. " if bay else f"{check.title}. "),
        check.reason,
        element("details", element("summary", "Source"), check.source, class_="loft-why") if check.source else None,
        asked_about(check.bay, check.name) if check.verdict == "fail" and check.name in _IN_PLAN else None,
        class_="loft-check",
        data_verdict=check.verdict,
        data_check=check.name,
        data_bay=check.bay or None,
    )


def asked_about(bay: str, name: str) -> Markup:
    """A button that asks what would mend a check, or a failure; the answer comes behind it."""
    said = json.dumps({"bay": bay, "check": name})
    return element("button", "What would mend it?", type="button", class_="loft-button loft-mend loft-noprint", data_mend=said)


def bay_names(whole: Plan) -> dict[str, str]:
    """What each bay, canopy or cord of a plan is called; nothing where there is only one."""
    keys = whole.rig.way.keys
    return {key: whole.worked.title(key) for key in keys} if len(keys) > 1 else {}


def capital(text: str) -> str:
    """The same with a capital in front, all else as it is. Of a text that is not empty."""
    return f"{text[0].upper()}{text[1:]}"


def fails_and_again(fails: int, again: int) -> list[str]:
    """How many fail, how many are to be looked at again; nothing of none."""
    return [*([f"{fails} fail{'' if fails > 1 else 's'}"] if fails else []), *([f"{again} to look at again"] if again else [])]


def figure(drawing: Drawing, class_: str = "loft-drawing") -> Markup:
    """A picture with its caption."""
    return element("figure", drawing.svg, element("figcaption", drawing.name), class_=class_)


def working(rows: Iterable[Working], more: Markup | None = None) -> list[Markup]:
    """How figures come about, folded away; nothing where there is nothing to show."""
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
    if not items and more is None:
        return []
    listed = element("ol", *items) if items else None
    return [element("details", element("summary", "Show the working"), listed, more, class_="loft-working")]


def pair(row: Pair, heading: str = "h3") -> Markup:
    """A mistake beside its right way."""
    return element(
        "section",
        element(heading, row.title),
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
    mended = asked_about("failure", row.mended) if row.mended else None
    return element("section", element("h3", row.title), element("p", row.text), mended, class_="loft-passage", id=row.anchor)


def seen(row: Seen) -> Markup:
    """What was seen, with its picture and its causes; the anchor that it had once leads there too."""
    return element(
        "section",
        element("span", id=row.before) if row.before else None,
        element("h3", row.title),
        element("p", element("strong", row.caution), class_="loft-live") if row.caution else None,
        element("p", row.text),
        *map(figure, row.drawings),
        _causes(row.causes) if row.causes else None,
        element("p", element("a", "All that may be seen", href=f"#{_ALL_SEEN}"), class_="loft-noprint"),
        class_="loft-wreck",
        id=row.anchor,
    )


def _causes(rows: Sequence[Cause]) -> Markup:
    """All causes, folded away: a page of pictures is found through more quickly than one of words."""
    count = f"{len(rows)} causes" if len(rows) > 1 else "1 cause"
    first = element("summary", element("strong", f"{count}. "), f"Likeliest by this rig's numbers: {rows[0].title}.")
    return element("details", first, element("ol", *map(_cause, rows), class_="loft-causes"), class_="loft-whys")


def _cause(row: Cause) -> Markup:
    there = element("a", CALCULATORS[row.page].title, href=f"../{row.page}/")
    return element(
        "li",
        element("p", element("strong", row.title)),
        *map(_judged, row.figures),
        element("p", element("strong", "Look: "), row.look),
        element("p", element("strong", "Change: "), row.change, " ", there),
        class_="loft-cause",
    )


def _judged(row: Figure) -> Markup:
    """A number in words, and in words too how it stands to its limit."""
    stands = element("strong", f"{VERDICTS[row.judged]}: ") if row.judged else None
    return element("p", stands, f"{row.whose}: " if row.whose else None, row.told, class_="loft-figure", data_judged=row.judged or None)


def _all_seen(rows: Sequence[Seen]) -> Markup:
    """The way to each, with how many of its numbers fail, or are to be looked at again."""
    return element("ul", *map(_to_seen, rows), class_="loft-wrecks", id=_ALL_SEEN)


def _to_seen(row: Seen) -> Markup:
    judged = [one.judged for cause in row.causes for one in cause.figures]
    fails, again = judged.count("fail"), judged.count("warn")
    worst = "fail" if fails else "warn" if again else None
    said = ", ".join(fails_and_again(fails, again)) if row.causes else "not with this rig"
    return element("li", element("a", row.title, href=f"#{row.anchor}"), element("span", said) if said else None, data_judged=worst)


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
        figure(step.drawing) if step.drawing else None,
        element("p", step.text),
        element("p", element("strong", "You should see: "), step.seen, class_="loft-seen"),
        element("p", element("strong", "If not: "), step.otherwise, class_="loft-otherwise"),
        class_="loft-step",
        id=step.anchor,
    )


def _listed(rows: Sequence[str], class_: str) -> list[Markup]:
    return [element("ul", *(element("li", row) for row in rows), class_=class_)] if rows else []


def _numbers(rows: Table, of: str) -> Markup:
    """A table, folded away unless it is the answer itself; `of` tells it from its like of another bay to who can't see it."""
    inside = table(rows.head, rows.rows, rows.caption, of, narrow=rows.first)
    if rows.shown:
        return inside
    return element("details", element("summary", rows.caption), inside, class_="loft-numbers-table")


def _cautions(rows: Sequence[str]) -> list[Markup]:
    """One in a line with a link to all of them; several, as where there is a charge, in full."""
    if len(rows) != 1:
        return _listed(rows, "loft-cautions")
    return [element("p", rows[0], " ", element("a", "Cautions", href=_SAFETY), class_="loft-caution")]


def answer_lead(calculator: Calculator, answer: Answer, system: System) -> list[Markup]:
    """What a page shows first: cautions, the answer in a sentence, its picture, two numbers; or the first of its pairs, the ways to all that may be seen."""
    numbers = key_numbers(_leading(calculator, answer)[:LEADING], answer, system)
    picture = figure(answer.drawings[0]) if answer.drawings else None
    if answer.seen:
        sight = _all_seen(answer.seen)
    else:
        sight = pair(answer.pairs[0], "h2") if answer.pairs else element("div", picture, numbers, class_="loft-sight")
    return [*_cautions(answer.cautions), element("p", answer.summary, class_="loft-summary"), sight]


def answer_more(calculator: Calculator, answer: Answer, rig: Rig, heading: str = "") -> list[Markup]:
    """The rest: what does not hold, what holds in one line, then steps, further figures, why.

    heading: of a plan, which has all checks at its top already.
    """
    system = rig.units
    support = [o for o in calculator.outputs if not o.leads]
    return [
        *([] if heading else [*open_first(answer.checks), *whose(rig, [calculator.name])]),
        *map(offer, answer.offers),
        *(_numbers(rows, heading) for rows in answer.tables if rows.first),
        *_titled("" if heading else "Step by step", [steps(answer.steps)] if answer.steps else []),
        *filter(None, [key_numbers(_leading(calculator, answer), answer, system, "loft-key loft-key-more")]),
        *map(figure, answer.drawings[1:]),
        *(_numbers(rows, heading) for rows in answer.tables if not rows.first),
        *_listed(answer.notes, "loft-notes"),
        *_titled("" if heading else "One by one", list(map(passage, answer.passages))),
        *map(seen, answer.seen),
        *_titled("" if heading else "Wrong and right", list(map(pair, answer.pairs[1:]))),
        *working(answer.working, key_numbers(support, answer, system)),
    ]


def offer(one: Offer) -> Markup:
    """A button that puts texts into the rig; the page's script does what it says."""
    said = json.dumps(dict(one.texts), ensure_ascii=False)
    return element("p", element("button", one.words, type="button", class_="loft-button", data_take=said), class_="loft-offer loft-noprint")


def _titled(title: str, made: list[Markup]) -> list[Markup]:
    """Parts that have headings of their own, under one; in a plan there is one already."""
    return [element("h2", title), *made] if title and made else made


def answer_parts(calculator: Calculator, answer: Answer, rig: Rig, heading: str = "") -> list[Markup]:
    """A whole answer by itself; or under a heading of the plan."""
    return [*answer_lead(calculator, answer, rig.units), *answer_more(calculator, answer, rig, heading)]


def plan_lead(whole: Plan) -> list[Markup]:
    """The plan at a glance: verdict, the way down, what does not hold, bays, failures."""
    rig = whole.rig
    return [
        element("h2", rig.text("rig.name"), id="plan-of-rig"),
        judged(whole),
        *whose(rig, (parted(name)[1] for name in whole.answers)),
        *_measured(whole.worked),
        *open_first(whole.checks, bay_names(whole)),
        element("div", figure(whole.answers["descent"].drawings[0]), figure(abreast(whole.worked)), class_="loft-abreast"),
        *_failures(whole),
    ]


def plan_more(whole: Plan) -> list[Markup]:
    """The heads of a plan's answers, folded away; what is inside is asked for when it is opened."""
    return [
        element("p", "Each opens at a touch; what is open is printed.", class_="loft-help loft-noprint"),
        element("div", *(_head(whole, name) for name in whole.answers), class_="loft-parts"),
    ]


def plan_part(whole: Plan, name: str) -> list[Markup]:
    """One answer of a plan under its heading."""
    return answer_parts(CALCULATORS[parted(name)[1]], whole.answers[name], whole.rig, whole.title(name))


def open_first(found: Sequence[Check], names: Mapping[str, str] = MappingProxyType({})) -> list[Markup]:
    """Checks that fail or want another look; those that hold in one line."""
    held = [check for check in found if check.verdict == "pass"]
    others = sorted((check for check in found if check.verdict != "pass"), key=lambda check: check.verdict != "fail")
    made = [checks(others, names)] if others else []
    if held:
        said = f"{len(held)} hold" if len(held) > 1 else "1 holds"
        made.append(element("details", element("summary", said), checks(held, names), class_="loft-held"))
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
    demo = still == asked
    said = f"{still} of the {asked} measures that this rests on are still the starting rig's."
    said = f"{DEMO}: {said}" if demo else said
    return [element("p", said, class_="loft-whose", data_still=str(still), data_demo=DEMO if demo else None)]


_MEASURED = (("canopy.cd_measured_low", "canopy.cd_measured_from", "drag"), ("pack.density", "pack.density_from", "packing"), ("joint.friction", "joint.friction_from", "pull of the joint"))


def measured_by_reader(worked: Worked) -> str:
    """What of a rig rests on its reader's own flights, bundles and pulls, and how many: `drag, main: 2 flights, last 2026-05-09`."""
    rig, told = worked.rig, []
    for key in rig.way.keys:
        for path, source, name in _MEASURED:
            if f"{key}.{path}" in FIELDS and rig.origin(f"{key}.{path}") == "measured":
                counted = rig.texts[f"{key}.{source}"].strip()
                title = worked.title(key) if len(rig.way.keys) > 1 else ""
                told.append(f"{', '.join(filter(None, (name, title)))}{f': {counted}' if counted else ''}")
    return "; ".join(told)


def _measured(worked: Worked) -> list[Markup]:
    told = measured_by_reader(worked)
    return [element("p", element("strong", "Measured by you: "), f"{told}.", class_="loft-measuredby")] if told else []


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


def _head(whole: Plan, name: str) -> Markup:
    """The heading of one answer, the way to its own page, and the place for the answer."""
    key, calculator = parted(name)
    title = element("summary", element("h2", whole.title(name), id=f"plan-{name.replace('.', '-')}"))
    page = element("p", element("a", "On a page of its own", href=f"../{calculator}/"), class_="loft-noprint")
    return element("details", title, page, element("div"), class_="loft-part", data_part=name, data_bay=key or None)


def judged(whole: Plan) -> Markup:
    """The verdict as it leads a page: that nothing stops it is no permission."""
    said = f"{verdict(whole)} That is no permission to fly." if whole.sound else verdict(whole)
    return element("p", said, class_="loft-summary", data_sound="yes" if whole.sound else "no")


def stopped(whole: Plan) -> str:
    """How many checks stop it."""
    count = sum(check.verdict == "fail" for check in whole.checks)
    return f"{count or 'No'} check{'s stop' if count > 1 else ' stops'} it"


def verdict(whole: Plan) -> str:
    """That no check stops it, or how many do, and the first of them."""
    first = next((check for check in whole.checks if check.verdict == "fail"), None)
    if first is None:
        again = sum(check.verdict == "warn" for check in whole.checks)
        return f"{stopped(whole)}.{f' {again} to look at again.' if again else ''}"
    of = f", {whole.worked.title(first.bay)}" if first.bay and len(whole.rig.way.keys) > 1 else ""
    return f"{stopped(whole)}: do not fly it like this. First: “{first.title}”{of}, does not hold."


# --- forms --------------------------------------------------------------------------------------------


def form(name: str, fields: Iterable[Field], asks: Sequence[str] = (), shown: str = "") -> Markup:
    """A form filled with the defaults: what is asked first stands open, the rest by group, folded. `name` begins every id.

    Each group is a form of its own: at every key a browser looks through the whole form that the field stands in, to fill it in by itself.
    It is sent nowhere (a dialog's form, and in none), not by the enter key either, which sends a form of one field.
    shown: the bay that the answer is about; what is asked of another, or says nothing about the first starting rig, is hidden.
    """
    every = {field.path: field for field in fields}
    first = _by_group([every.pop(path) for path in asks])
    alone = {"novalidate": "novalidate", "method": "dialog"}
    groups = [element("form", _group(name, group, inside), **alone) for group, inside in _by_group(every.values()).items()]
    words = "Everything else it depends on" if asks else "Change the rig: every field"
    asked = element("form", *(_asked(name, group, inside, shown) for group, inside in first.items()), class_="loft-first", **alone)
    title = element("summary", words, element("span", "unchanged", class_="loft-whosegroup"))
    rest = element("details", title, *groups, class_="loft-change")
    return element("div", asked if asks else None, rest, class_="loft-form")


def _by_group(fields: Iterable[Field]) -> dict[str, list[Field]]:
    """Fields by group, in the order of the groups."""
    rows: dict[str, list[Field]] = {group: [] for group in GROUPS}
    for field in fields:
        rows[field.group].append(field)
    return {group: inside for group, inside in rows.items() if inside}


def _asked(form_name: str, group: str, fields: Sequence[Field], shown: str) -> Markup:
    elsewhere = bool(shown and fields[0].bay) and fields[0].bay != shown
    return element(
        "div",
        *(field_row(form_name, field, hidden=not is_relevant(field, DEFAULTS)) for field in fields),
        class_="loft-group loft-asked",
        role="group",
        aria_label=GROUPS[group],
        data_group=group,
        data_bay=fields[0].bay or None,
        hidden="hidden" if elsewhere else None,
    )


def _group(form_name: str, group: str, fields: Sequence[Field]) -> Markup:
    return element(
        "fieldset",
        element("legend", GROUPS[group]),
        *(field_row(form_name, field) for field in fields),
        class_="loft-group",
        data_group=group,
        data_bay=fields[0].bay or None,
    )


def field_row(form_name: str, field: Field, *, hidden: bool = False) -> Markup:
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
        hidden="hidden" if hidden else None,
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


def table(head: Sequence[str], rows: Iterable[Sequence[str]], caption: str, heading: str = "", *, narrow: bool = False) -> Markup:
    return element(
        "div",
        element(
            "table",
            element("caption", caption),
            element("thead", element("tr", *(element("th", cell, scope="col") for cell in head))),
            element("tbody", *(element("tr", *(element("td", cell) for cell in row)) for row in rows)),
            class_="loft-table loft-narrow" if narrow else "loft-table",
        ),
        class_="loft-scroll",
        tabindex="0",
        role="region",
        aria_label=f"{heading}. {caption}" if heading else caption,
    )
