"""The one door a page has to the core: a JSON text in, a JSON text out, never an exception for bad input.

Requests carry a `do`:
  about                                    -> version
  calculate, calculator, fields            -> html and summary, or faults
  numbers, calculator, fields              -> bare SI results and checks, or faults (parity tests use it)
  read, text                               -> fields of a file or link, or faults
  write, fields, format ("toml" | "json")  -> text of a rig file
"""

import json
from collections.abc import Callable
from typing import Any

from loftbook import VERSION
from loftbook.calculators import CALCULATORS
from loftbook.case import Case
from loftbook.errors import Fault, Refusal
from loftbook.fields import FIELDS
from loftbook.plan import data, plain, plan
from loftbook.render import answer_parts, html, plan_parts
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
    if not isinstance(request, dict) or request.get("do") not in _DOES:
        raise Refusal(Fault(message=f"A request says what to do: {', '.join(_DOES)}.", given=text[:60]))
    return _DOES[request["do"]](request)


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


def _read(request: dict[str, Any]) -> dict[str, object]:
    text = request.get("text")
    if not isinstance(text, str):
        raise Refusal(Fault(message="A rig is read from a text."))
    fields = load(text)
    parse(fields)
    return {"fields": fields}


def _write(request: dict[str, Any]) -> dict[str, object]:
    fields = {path: text for path, text in _fields(request).items() if path in FIELDS}
    return {"text": to_json(fields) if request.get("format") == "json" else to_toml(fields)}


def _calculator(request: dict[str, Any]) -> str:
    name = request.get("calculator")
    if name != "plan" and name not in CALCULATORS:
        raise Refusal(
            Fault(
                message=f"There is no such calculator. There are: {', '.join(CALCULATORS)}, plan.", given=str(name)[:60]
            )
        )
    return str(name)


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
}
