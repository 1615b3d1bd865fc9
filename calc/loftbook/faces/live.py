"""The one door a page has to the core: a JSON text in, a JSON text out, never an exception for bad input.

Requests carry a `do`:
  about                                    -> version, names of the calculators
  calculate, calculator, fields [, bay]    -> html of what leads, summary and bay, or faults
  more, calculator, fields [, bay]         -> html of the rest; asked right behind `calculate`, nothing is worked out again
  part, names, fields                      -> parts: html and mark of each of these answers of the plan
  numbers, calculator, fields [, bay]      -> bare SI results, checks, summary and bay, or faults (parity tests use it)
  step, anchor, fields                     -> html of that one step; its page is a link's goal
  card, fields [, link] [, book, today]    -> html of the field card; link: [what stands before a step's anchor in its
                                              address, what stands behind it], for the QR codes; book: entries of the
                                              logbook, lines of JSON, null where there is none; today: the reader's own day
  walk, fields [, book, today]             -> html of the walk-through; what is put aside closes it
  pattern, fields [, bay, paper, scale]    -> html of the sheets of a canopy's pattern
  outline, fields [, bay, scale]           -> the same as one picture in millimetres: its text (SVG)
  mend, fields, check [, bay, tried]       -> html of what would mend a check, so far; tried: how many rigs, found: how many that mend
                                              it, over: whether all were. It goes on from `tried`. Of a failure bay is "failure", check its name
  measured, fields, flights, timed         -> html of what altimeters' files and timed descents say of each canopy, and flights, timed, canopies as
                                              data, each flight with what is wrong with it. flights: [{text [, name, time_unit, height_unit,
                                              time_column, height_column, temperature, when, mass, of, limits: {key: [from, to]}]}];
                                              timed: [{of, high, low, seconds, begun, sure, watch, temperature, mass, when}]. All but `text` in words
  enter, fields, kind, day, made, said [, about, replaces, found] -> an entry of the logbook as it is kept: name, line, told and more, or faults
  entry, lines                             -> entries: html of each by its name
  book, text                               -> entries of a file, each as it is kept, or faults with their lines
  table, lines                             -> text: the same entries as CSV
  known, fields, lines                     -> html of what entries measured of this rig, with what takes it over, and shelf: of what is kept by name
  beside, rigs                             -> html of up to four rigs beside each other; rigs: [{name, fields}, …], all held against the first
  home, fields                             -> html of the rocket at one look
  start, fields                            -> html and summary: the verdict on what is typed so far, or faults
  qr, text, name                           -> html of a QR code
  read, text                               -> fields of a file or link, or faults
  write, fields, format ("toml" | "json")  -> text of a rig file: what is given, and what a file must say

mark, beside every html: the same as a page has that shows it already.

fields: path -> text, only what the reader said; the rest is the starting rig's. bay: the key of a bay, canopy or cord
that a calculator is asked about instead of the one the rig names (`rig.bay`); "" of one that is about the whole rig.
"""

import json
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from loftbook import VERSION
from loftbook.answer import Answer, Calculator
from loftbook.calculators import CALCULATORS
from loftbook.drawing.markup import Markup, element
from loftbook.errors import Fault, Refusal
from loftbook.faces import glance, handout
from loftbook.faces.gates import mark_of
from loftbook.faces.render import (
    answer_lead,
    answer_more,
    figure,
    html,
    plan_lead,
    plan_more,
    plan_part,
    verdict,
    whose,
)
from loftbook.physics.remembered import remembered
from loftbook.plan import Plan, data, plain, plan
from loftbook.rig.fields import DEFAULTS, FIELDS
from loftbook.rig.files import load, to_json, to_toml
from loftbook.rig.parsing import parse
from loftbook.rig.texts import read_json
from loftbook.worked.worked import Worked

if TYPE_CHECKING:
    from loftbook.faces.dues import Logbook
    from loftbook.mending import Search

LONGEST_REQUEST = 1_000_000
LONGEST_SEARCH = 5_000
_WITH_FILES = re.compile(r'\{\s*"do"\s*:\s*"(measured|entry|book|table|known|card|walk)"')  # and may be as long as files, or books, are


def answer(text: str) -> str:
    """Answer one request. Never raises for what a request holds; faults travel as data."""
    try:
        reply = {"ok": True} | _reply(text)
        if "html" in reply:
            reply["mark"] = mark_of(str(reply["html"]))
    except Refusal as refusal:
        reply = {"ok": False, "faults": [fault.data() for fault in refusal.faults]}
    return json.dumps(reply, ensure_ascii=False, allow_nan=False)


@dataclass(frozen=True)
class About:
    """What a calculator answers about one key of a rig, and the same as it stands in a page."""

    calculator: Calculator
    worked: Worked
    key: str
    answer: Answer

    def lead(self) -> list[Markup]:
        """What leads, the switch between bays first."""
        lead = answer_lead(self.calculator, self.answer, self.worked.rig.units)
        return [*_switch(self.calculator, self.worked, self.key), *lead]

    def more(self) -> list[Markup]:
        """The rest."""
        return answer_more(self.calculator, self.answer, self.worked.rig)


def pattern_parts(asked: About, paper: str = "a4", scale: str = "full") -> list[Markup]:
    """The switch between canopies, whose rig it is, and the sheets of one's pattern. Raises `Refusal`."""
    from loftbook.faces import cutting  # few ask for it

    worked, key = asked.worked, asked.key
    sheets = cutting.pattern(worked, key, paper, scale)
    return [*_switch(asked.calculator, worked, key), *whose(worked.rig, ["making"]), *sheets]


def about(name: str, fields: Mapping[str, str], bay: str = "") -> About:
    """A calculator's answer about a bay, or without one about the bay that pages show. Raises `Refusal`."""
    calculator, worked = CALCULATORS[name], Worked(parse(fields))
    key = key_asked(calculator, worked, bay)
    return About(calculator, worked, key, calculator.answer(worked, key))


# Of one rig two things are asked, one right behind the other: what leads and the rest. The last answer is kept for that.


@remembered(1)
def _last_about(name: str, fields: tuple[tuple[str, str], ...], bay: str) -> About:
    return about(name, dict(fields), bay)


@remembered(1)
def _last_plan(fields: tuple[tuple[str, str], ...]) -> Plan:
    return plan(dict(fields))


# A search is asked about again and again until it is over: the last one goes on where it was, unless it is further already.
_searches: dict[tuple[object, ...], "Search"] = {}


def _search(fields: Mapping[str, str], bay: str, check: str, tried: int) -> "Search":
    from loftbook.faces import remedies

    about = (tuple(fields.items()), bay, check)
    search = _searches.get(about)
    if search is None or search.tried > tried:
        _searches.clear()
        search = _searches[about] = remedies.search_for(fields, bay, check)
    search.go(tried + remedies.AT_ONCE - search.tried)
    return search


def _switch(calculator: Calculator, worked: Worked, shown: str) -> list[Markup]:
    """A button for each canopy, bay or cord that the calculator could show; nothing where there is only one."""
    keys = calculator.keys(worked.rig.way)
    if len(keys) < 2:
        return []
    buttons = (
        element(
            "button",
            worked.title(key).capitalize(),
            type="button",
            data_bay=key,
            aria_pressed="true" if key == shown else "false",
        )
        for key in keys
    )
    return [element("div", *buttons, class_="loft-bays", role="group", aria_label=f"Which {calculator.each}")]


def key_asked(calculator: Calculator, worked: Worked, wanted: str) -> str:
    """The key wanted, or without one the key that pages show. Raises `Refusal` naming what the rig has."""
    keys = calculator.keys(worked.rig.way)
    if not wanted:
        return calculator.shown(worked)
    if wanted not in keys:
        there = ", ".join(filter(None, keys)) or "nothing but the whole rig to ask about"
        raise Refusal(
            Fault(message=f"This rig has no such {calculator.each}. There is: {there}.", given=wanted[:60], allowed=there)
        )
    return wanted


def _longest(text: str) -> int:
    """Characters that a request may have: only one that begins by saying it brings altimeters' files or a book may be longer than others."""
    brings = _WITH_FILES.match(text) if len(text) > LONGEST_REQUEST else None
    if not brings:
        return LONGEST_REQUEST
    from loftbook.faces import flights, logbook

    return flights.LONGEST_REQUEST if brings[1] == "measured" else logbook.LONGEST_REQUEST


def _reply(text: str) -> dict[str, object]:
    try:
        request = read_json(text) if len(text) <= _longest(text) else None
    except (ValueError, RecursionError):
        request = None
    act = request.get("do") if isinstance(request, dict) else None
    if not isinstance(request, dict) or not isinstance(act, str) or act not in _DOES:
        raise Refusal(Fault(message=f"A request says what to do: {', '.join(_DOES)}.", given=text[:60]))
    return _DOES[act](request)


def _about(request: dict[str, Any]) -> dict[str, object]:
    return {"version": VERSION, "calculators": [*CALCULATORS, "plan"]}


def _calculate(request: dict[str, Any]) -> dict[str, object]:
    asked = _asked(request)
    if isinstance(asked, Plan):
        return {"html": html(*plan_lead(asked)), "summary": verdict(asked), "bay": ""}
    return {"html": html(*asked.lead()), "summary": asked.answer.summary, "bay": asked.key}


def _more(request: dict[str, Any]) -> dict[str, object]:
    asked = _asked(request)
    return {"html": html(*(plan_more(asked) if isinstance(asked, Plan) else asked.more()))}


def _part(request: dict[str, Any]) -> dict[str, object]:
    whole, names = _last_plan(tuple(_fields(request).items())), request.get("names")
    if not isinstance(names, list) or not all(isinstance(name, str) for name in names):
        raise Refusal(Fault(message="The parts of a plan are named in a list of texts."))
    for name in names:
        if name not in whole.answers:
            said = ", ".join(whole.answers)
            raise Refusal(Fault(message=f"There is no such part of this plan. There are: {said}.", given=name[:60], allowed=said))
    made = [html(*plan_part(whole, name)) for name in names]
    return {"parts": [{"html": text, "mark": mark_of(text)} for text in made]}


def _asked(request: dict[str, Any]) -> Plan | About:
    name, fields = _calculator(request), tuple(_fields(request).items())
    return _last_plan(fields) if name == "plan" else _last_about(name, fields, _text(request, "bay"))


def _numbers(request: dict[str, Any]) -> dict[str, object]:
    name, fields = _calculator(request), _fields(request)
    if name == "plan":
        return {"plan": data(plan(fields))}
    one = about(name, fields, _text(request, "bay"))
    return {
        "outputs": {output: plain(value) for output, value in one.answer.outputs.items()},
        "checks": {check.name: check.verdict for check in one.answer.checks},
        "summary": one.answer.summary,
        "bay": one.key,
    }


def _step(request: dict[str, Any]) -> dict[str, object]:
    return {"html": html(*handout.step(plan(_fields(request)), _text(request, "anchor")))}


def _card(request: dict[str, Any]) -> dict[str, object]:
    link = request.get("link")
    if link is None:
        whole = plan(_fields(request))
        return {"html": html(*handout.card(whole, book=_book(whole, request)))}
    if not isinstance(link, list) or len(link) != 2 or not all(isinstance(part, str) for part in link):
        raise Refusal(Fault(message="The link of a card is a pair of texts, before and behind a step's anchor."))
    whole = plan(_fields(request))
    return {"html": html(*handout.card(whole, (link[0], link[1]), _book(whole, request)))}


def _walk(request: dict[str, Any]) -> dict[str, object]:
    whole = plan(_fields(request))
    return {"html": html(*handout.walk(whole, _book(whole, request)))}


def _book(whole: Plan, request: dict[str, Any]) -> "Logbook | None":
    """What a logbook says is due; None where the request says nothing of one."""
    if "book" not in request:
        return None
    from loftbook.faces import dues

    return dues.asked(whole.rig, request["book"], request.get("today"))


def _pattern(request: dict[str, Any]) -> dict[str, object]:
    asked = about("making", _fields(request), _text(request, "bay"))
    paper, scale = _text(request, "paper") or "a4", _text(request, "scale") or "full"
    return {"html": html(*pattern_parts(asked, paper, scale)), "bay": asked.key}


def _outline(request: dict[str, Any]) -> dict[str, object]:
    from loftbook.faces import cutting

    asked = about("making", _fields(request), _text(request, "bay"))
    return {"text": cutting.outline(asked.worked, asked.key, _text(request, "scale") or "full"), "bay": asked.key}


def _mend(request: dict[str, Any]) -> dict[str, object]:
    from loftbook.faces import remedies

    tried = request.get("tried", 0)
    if not isinstance(tried, int) or not 0 <= tried <= LONGEST_SEARCH:
        raise Refusal(Fault(message=f"“tried” is a whole number, 0 to {LONGEST_SEARCH}."))
    search = _search(_fields(request), _text(request, "bay"), _text(request, "check"), tried)
    return {"html": html(*remedies.told(search)), "tried": search.tried, "over": search.over, "found": len(search.found)}


def _measured(request: dict[str, Any]) -> dict[str, object]:
    from loftbook.faces import flights  # few ask for it

    return flights.reply(parse(_fields(request)), request)


def _enter(request: dict[str, Any]) -> dict[str, object]:
    from loftbook.faces import logbook  # few ask for it

    fields = _fields(request)
    return dict(logbook.record(logbook.entry_of(Worked(parse(fields)), fields, request)))


def _of_book(act: str) -> Callable[[dict[str, Any]], dict[str, object]]:
    def answer(request: dict[str, Any]) -> dict[str, object]:
        from loftbook.faces import logbook

        return {"entry": logbook.told, "book": logbook.brought, "table": logbook.as_table}[act](request)

    return answer


def _known(request: dict[str, Any]) -> dict[str, object]:
    from loftbook.faces import logbook

    return logbook.of_rig(Worked(parse(_fields(request))), request)


def _beside(request: dict[str, Any]) -> dict[str, object]:
    from loftbook.faces.beside import beside

    rigs = request.get("rigs")
    if not isinstance(rigs, list) or not all(isinstance(one, dict) and one.get("name") and "fields" in one for one in rigs):
        raise Refusal(Fault(message="Rigs that stand beside each other are a list; each has a name and fields."))
    return {"html": html(*beside([(_text(one, "name"), _fields(one)) for one in rigs]))}


def _home(request: dict[str, Any]) -> dict[str, object]:
    return {"html": html(*glance.home_parts(plan(_fields(request))))}


def _start(request: dict[str, Any]) -> dict[str, object]:
    whole = plan(_fields(request))
    return {"html": html(*glance.start_parts(whole)), "summary": glance.start_verdict(whole)}


def _qr(request: dict[str, Any]) -> dict[str, object]:
    from loftbook.drawing.qr import qr_code

    return {"html": html(figure(qr_code(_text(request, "text"), _text(request, "name"))))}


def _text(request: dict[str, Any], key: str) -> str:
    text = request.get(key, "")
    if not isinstance(text, str):
        raise Refusal(Fault(message=f"“{key}” is a text."))
    return text


def _read(request: dict[str, Any]) -> dict[str, object]:
    fields = load(_text(request, "text"))
    parse(fields)
    return {"fields": fields}


def _write(request: dict[str, Any]) -> dict[str, object]:
    """What was said, and the starting rig that the rest comes from."""
    said = {path: text for path, text in _fields(request).items() if path in FIELDS}
    fields = {"rig.start": DEFAULTS["rig.start"]} | said
    return {"text": to_json(fields) if request.get("format") == "json" else to_toml(fields)}


def _calculator(request: dict[str, Any]) -> str:
    name = str(request.get("calculator"))
    if name != "plan" and name not in CALCULATORS:
        raise Refusal(
            Fault(message=f"There is no such calculator. There are: {', '.join(CALCULATORS)}, plan.", given=name[:60])
        )
    return name


def _fields(request: dict[str, Any]) -> dict[str, str]:
    fields = request.get("fields", {})
    if not isinstance(fields, dict) or not all(isinstance(v, str) for v in fields.values()):
        raise Refusal(Fault(message="The fields of a rig are texts by path."))
    return fields


_DOES: dict[str, Callable[[dict[str, Any]], dict[str, object]]] = {
    "about": _about,
    "calculate": _calculate,
    "more": _more,
    "part": _part,
    "numbers": _numbers,
    "read": _read,
    "write": _write,
    "step": _step,
    "card": _card,
    "walk": _walk,
    "pattern": _pattern,
    "outline": _outline,
    "mend": _mend,
    "measured": _measured,
    "enter": _enter,
    **{act: _of_book(act) for act in ("entry", "book", "table")},
    "known": _known,
    "beside": _beside,
    "home": _home,
    "start": _start,
    "qr": _qr,
}
