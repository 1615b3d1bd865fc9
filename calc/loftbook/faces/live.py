"""The one door a page has to the core: a JSON text in, a JSON text out, never an exception for bad input.

Requests carry a `do`:
  about                                    -> version
  calculate, calculator, fields            -> html and summary, or faults
  numbers, calculator, fields              -> bare SI results and checks, or faults (parity tests use it)
  step, anchor, fields                     -> html of that one step; its page is a link's goal
  card, fields, links ([[name, address]])  -> html of the field card with QR codes of the links
  walk, fields                             -> html of the walk-through
  qr, text, name                           -> html of a QR code
  read, text                               -> fields of a file or link, or faults
  write, fields, format ("toml" | "json")  -> text of a rig file
"""

import json
from collections.abc import Callable
from typing import Any

from loftbook import VERSION, handout
from loftbook.calculators import CALCULATORS
from loftbook.case import Case
from loftbook.drawing.qr import qr_code
from loftbook.errors import Fault, Refusal
from loftbook.fields import FIELDS
from loftbook.plan import data, plain, plan
from loftbook.faces.render import answer_parts, figure, html, plan_parts
from loftbook.rig import load, parse, to_json, to_toml

LONGEST_REQUEST = 1_000_000


def answer(text: str) -> str:
    """Answer one request. Never raises for what a request holds; faults travel as data."""
    try:
        reply = {"ok": True} | _reply(text)
    except Refusal as refusal:
        reply = {"ok": False, "faults": [fault.data() for fault in refusal.faults]}
    return json.dumps(reply, ensure_ascii=False, allow_nan=False)


def _reply(text: str) -> dict[str, object]:
    try:
        request = json.loads(text) if len(text) <= LONGEST_REQUEST else None
    except (ValueError, RecursionError):
        request = None
    act = request.get("do") if isinstance(request, dict) else None
    if not isinstance(request, dict) or not isinstance(act, str) or act not in _DOES:
        raise Refusal(Fault(message=f"A request says what to do: {', '.join(_DOES)}.", given=text[:60]))
    return _DOES[act](request)


def _about(request: dict[str, Any]) -> dict[str, object]:
    return {"version": VERSION, "calculators": [*CALCULATORS, "plan"]}


def _calculate(request: dict[str, Any]) -> dict[str, object]:
    name, fields = _calculator(request), _fields(request)
    if name == "plan":
        whole = plan(fields)
        return {"html": html(*plan_parts(whole, CALCULATORS.values())), "summary": _plan_summary(whole.sound)}
    rig = parse(fields)
    result = CALCULATORS[name].compute(Case(rig))
    return {"html": html(*answer_parts(CALCULATORS[name], result, rig.units)), "summary": result.summary}


def _plan_summary(sound: bool) -> str:
    return "The plan has no failing check." if sound else "The plan has failing checks."


def _numbers(request: dict[str, Any]) -> dict[str, object]:
    name, fields = _calculator(request), _fields(request)
    if name == "plan":
        return {"plan": data(plan(fields))}
    result = CALCULATORS[name].compute(Case(parse(fields)))
    return {
        "outputs": {key: plain(value) for key, value in result.outputs.items()},
        "checks": {check.name: check.verdict for check in result.checks},
        "summary": result.summary,
    }


def _step(request: dict[str, Any]) -> dict[str, object]:
    return {"html": html(*handout.step(Case(parse(_fields(request))), _text(request, "anchor")))}


def _card(request: dict[str, Any]) -> dict[str, object]:
    links = request.get("links", [])
    if not isinstance(links, list) or not all(
        isinstance(link, list) and len(link) == 2 and all(isinstance(part, str) for part in link) for link in links
    ):
        raise Refusal(Fault(message="The links of a card are pairs of a name and an address."))
    return {"html": html(*handout.card(plan(_fields(request)), [(link[0], link[1]) for link in links]))}


def _walk(request: dict[str, Any]) -> dict[str, object]:
    return {"html": html(*handout.walk(plan(_fields(request))))}


def _qr(request: dict[str, Any]) -> dict[str, object]:
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
    fields = {path: text for path, text in _fields(request).items() if path in FIELDS}
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
    "numbers": _numbers,
    "read": _read,
    "write": _write,
    "step": _step,
    "card": _card,
    "walk": _walk,
    "qr": _qr,
}
